"""The turbulent flame of a cylinder: what the builder knows of it, and its packing for the kernels."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..build import catalogue
from ..errors import InputError, OutsideValidity
from .flame_speed import laminar

Array = NDArray[np.float64]


@functools.cache
def constant(name: str) -> float:
    """A constant of the flame model from ``models/flame.toml`` [SI]."""
    return catalogue.row("model", f"flame.{name}").si("value")


@dataclass(frozen=True)
class Flame:
    """A flame from one plug.

    Attributes
    ----------
    spark : float
        [deg after firing top dead centre], negative before it.
    plug_offset : float
        Of the plug from the bore's axis [m].
    turbulence : float
        Turbulence intensity at the spark over the mean piston speed [-]; ``flame.turbulence``: 0.5,
        0.35-0.5 in quiet chambers, up to about 1 with strong tumble.
    speed_factor : float
        Multiplies the laminar speed [-]: error of the fit, nitrous, doubtful fuels.
    anchor : float
        Multiplies the turbulence so that the flame takes a measured time, see `anchored_factor` [-].
    length_scale : float
        Integral length at the spark over the chamber's mean height [-].
    kernel_radius : float
        Of the burned kernel that the spark leaves [m].
    burn_up : float
        Time in which what was entrained burns, over the Taylor length by the laminar speed [-].
    quench_share : float
        Share of the bore's area under quench pads, where no gas to speak of lies at top dead centre [-].
    """

    spark: float
    plug_offset: float = 0.0
    turbulence: float = 0.5
    speed_factor: float = 1.0
    anchor: float = 1.0
    length_scale: float = 0.2
    kernel_radius: float = 1.0e-3
    burn_up: float = 1.0
    quench_share: float = 0.0

    def __post_init__(self) -> None:
        for name in ("turbulence", "speed_factor", "anchor", "length_scale", "kernel_radius", "burn_up"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise InputError(f"{name} is {value:g}; it must be positive and finite")
        if not 0.0 <= self.quench_share <= 0.7:
            raise InputError(f"quench_share is {self.quench_share:g}; it lies in 0..0.7 of the bore's area")
        if not self.plug_offset >= 0.0:
            raise InputError(f"plug_offset is {self.plug_offset:g} m; it is a distance, 0 or more")
        if not -90.0 <= self.spark <= 40.0:
            raise OutsideValidity(f"a spark at {self.spark:g} deg; the flame model holds from -90 to 40")


def catalogued(
    spark: float, turbulence: float = 1.0, plug_offset: float = 0.0, quench_share: float = 0.0
) -> Flame:
    """A flame with the constants of ``models/flame.toml``.

    Parameters
    ----------
    spark : float
        [deg after firing top dead centre]
    turbulence : float
        Multiplies the catalogue's turbulence intensity [-].
    plug_offset : float
        [m]
    quench_share : float
        [-]
    """
    return Flame(
        spark,
        plug_offset,
        turbulence=constant("turbulence"),
        speed_factor=constant("speed_factor"),
        anchor=turbulence,
        length_scale=constant("length_scale"),
        kernel_radius=constant("kernel_radius"),
        burn_up=constant("burn_up"),
        quench_share=quench_share,
    )


def flame_constants(flame: Flame, fuel: str) -> Array:
    """A flame's constants as `kernels.flame` lays them out, shape (20,)."""
    row = laminar(fuel)
    return np.array(
        [
            *(flame.kernel_radius, flame.plug_offset, flame.turbulence * flame.anchor, flame.length_scale),
            *(flame.burn_up, flame.speed_factor, float(row.bell), row.s0, row.s1, row.s2),
            *(*row.alpha, *row.beta, row.temperature, row.pressure, row.residual, *row.phi),
            1.0 - flame.quench_share,
        ]
    )
