"""Many closed cycles at once: from the shut intake to the opening exhaust, burned and unburned gas apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .combustion import burn_marks, burn_rows
from .model import SPECIES, Breathing, OperatingPoint, Trapped

Array = NDArray[np.float64]
Given = Array | float | None


@dataclass(frozen=True)
class ClosedCycles:
    """Closed cycles of a batch; traces at whole degrees after firing top dead centre, NaN with a valve open.

    Attributes
    ----------
    pressure, temperature, unburned_temperature, burned_share : ndarray, shape (B, 720)
        Pressure [Pa], mean temperature p V/(m R) [K], of the end gas [K], share of the mass burned [-].
    work, heat, leaked : ndarray, shape (B,)
        Work on the piston [J], heat to the walls [J], mass that blew by the rings [kg].
    knock, knock_angle : ndarray, shape (B,)
        Knock integral with the point's octane number when the end gas is gone [-], and the angle at which
        it reached 1 [deg], NaN where it never did.
    start : ndarray, shape (B,)
        Spark, or where the burn law starts [deg].
    """

    pressure: Array
    temperature: Array
    unburned_temperature: Array
    burned_share: Array
    work: Array
    heat: Array
    leaked: Array
    knock: Array
    knock_angle: Array
    start: Array

    @property
    def peak_pressure(self) -> Array:
        """Largest pressure, by the parabola through the highest degree and its neighbours (B,) [Pa]."""
        order = np.concatenate([np.arange(540, 720), np.arange(0, 180)])
        p = np.where(np.isfinite(self.pressure), self.pressure, 0.0)[:, order]
        at = np.clip(p.argmax(axis=1), 1, order.size - 2)
        row = np.arange(len(p))
        left, top, right = p[row, at - 1], p[row, at], p[row, at + 1]
        bend = np.minimum(left - 2.0 * top + right, -1e-9)
        return np.asarray(top - (right - left) ** 2 / (8.0 * bend))

    def burn_angles(self) -> Array:
        """Angles of 2, 10, 50 and 90 % of what burned, shape (B, 4) [deg]."""
        return burn_marks(self.burned_share, self.start)


def closed(
    breathing: Breathing,
    trapped: Trapped,
    point: OperatingPoint,
    *,
    speed: Given = None,
    compression_ratio: Given = None,
    ca10: Given = None,
    burn_10_90: Given = None,
    heat_factor: Given = None,
    combustion_efficiency: Given = None,
    spark: Given = None,
    turbulence: Given = None,
    flame_speed: Given = None,
    burn_up: Given = None,
    length_scale: Given = None,
    leak: Given = None,
    steps: int = 2,
) -> Array:
    """Cylinder pressure of many closed cycles, from the shut intake to the opening exhaust.

    Parameters
    ----------
    breathing : Breathing
    trapped : Trapped
        Charge; scalars, or arrays of the batch, shape (B,) and masses (B, 7).
    point : OperatingPoint
        Gives the fuel, the burn law, and whatever is not given below.
    speed, compression_ratio, ca10, burn_10_90, heat_factor, combustion_efficiency : array_like
        Shape (B,) or scalar; [rad/s], [-], [deg], [deg], [-], [-].
    spark, turbulence, flame_speed, burn_up, length_scale : array_like
        Of the flame law: [deg after TDC], factors on the turbulence, the laminar speed, the burning time
        and the turbulence's length [-].
    leak : array_like
        Effective leak area past the rings [m2].
    steps : int
        Steps in a degree.

    Returns
    -------
    ndarray, shape (B, 720)
        Pressure [Pa] at whole degrees after firing top dead centre; NaN where a valve is open.
    """
    return closed_details(
        breathing, trapped, point, speed=speed, compression_ratio=compression_ratio, ca10=ca10,
        burn_10_90=burn_10_90, heat_factor=heat_factor, combustion_efficiency=combustion_efficiency,
        spark=spark, turbulence=turbulence, flame_speed=flame_speed, burn_up=burn_up,
        length_scale=length_scale, leak=leak, steps=steps,
    ).pressure  # fmt: skip


def closed_details(
    breathing: Breathing,
    trapped: Trapped,
    point: OperatingPoint,
    *,
    speed: Given = None,
    compression_ratio: Given = None,
    ca10: Given = None,
    burn_10_90: Given = None,
    heat_factor: Given = None,
    combustion_efficiency: Given = None,
    spark: Given = None,
    turbulence: Given = None,
    flame_speed: Given = None,
    burn_up: Given = None,
    length_scale: Given = None,
    leak: Given = None,
    steps: int = 2,
) -> ClosedCycles:
    """As `closed`, with everything that can be seen of the cycles."""
    from .kernels.cylinder import NZ, closed_cycles
    from .kernels.zones import Z_KNOCK, Z_KNOCK_ANGLE, Z_OUT

    given: dict[str, Given] = {
        "ca10": ca10, "burn_10_90": burn_10_90, "heat_factor": heat_factor,
        "combustion_efficiency": combustion_efficiency, "spark": spark, "turbulence": turbulence,
        "flame_speed": flame_speed, "burn_up": burn_up, "length_scale": length_scale, "leak": leak,
    }  # fmt: skip
    state = {
        "temperature": trapped.temperature,
        "pressure": trapped.pressure,
        "speed": point.speed if speed is None else speed,
        "ratio": breathing.compression_ratio if compression_ratio is None else compression_ratio,
    }
    law = {k: np.atleast_1d(np.asarray(v, dtype=float)) for k, v in given.items() if v is not None}
    arrays = {k: np.atleast_1d(np.asarray(v, dtype=float)) for k, v in state.items()}
    masses = np.atleast_2d(np.asarray(trapped.masses, dtype=float))
    if masses.shape[1] != len(SPECIES):
        raise InputError(f"masses have shape {masses.shape}; the last axis must be {', '.join(SPECIES)}")
    shapes = [a.shape for a in (*arrays.values(), *law.values())]
    batch = np.broadcast_shapes(*shapes, masses.shape[:1])[0]
    # Copies: a view that cannot be written to is another type to the compiler.
    full = {name: np.broadcast_to(a, batch).copy() for name, a in arrays.items()}
    if np.any(full["ratio"] <= 1.0):
        raise InputError(f"compression_ratio is {full['ratio'].min():g}; it must be above 1")
    burn = burn_rows(breathing, point, {name: np.broadcast_to(a, batch).copy() for name, a in law.items()})
    if burn.shape[0] != batch:
        burn = np.tile(burn, (batch, 1))
    traces = np.full((4, batch, 720), np.nan)
    sums, zones = np.zeros((batch, 2)), np.zeros((batch, NZ))
    gas = point.gas
    closed_cycles(
        np.broadcast_to(masses, (batch, len(SPECIES))).copy(),
        full["temperature"], full["pressure"], float(trapped.angle),
        math.floor(breathing.exhaust_opens), steps,
        breathing.swept_volume / (full["ratio"] - 1.0), full["speed"], breathing.geometry, burn,
        gas.frozen, gas.burned, gas.constants, traces, sums, zones,
    )  # fmt: skip
    angle = zones[:, Z_KNOCK_ANGLE]
    return ClosedCycles(
        traces[0], traces[1], traces[2], traces[3], sums[:, 0], sums[:, 1],
        zones[:, Z_OUT : Z_OUT + 7].sum(axis=1), zones[:, Z_KNOCK],
        np.where(angle < 900.0, angle, np.nan), burn[:, 0],
    )  # fmt: skip


def motored(breathing: Breathing, trapped: Trapped, point: OperatingPoint) -> Array:
    """Cylinder pressure of the closed cycle without burning, shape (720,) [Pa]; NaN where a valve is open."""
    pressure: Array = closed(breathing, trapped, point, combustion_efficiency=0.0)[0]
    return pressure
