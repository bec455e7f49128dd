"""A running engine whose pipes are two volumes: the arrays that the quasi-steady kernel advances."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, NotSettled
from .combustion import burn_row
from .model import PLACES, Breathing, OperatingPoint
from .valves import flow_coefficient
from .wave_engine import pairs, passed

Array = NDArray[np.float64]


def first_guess(breathing: Breathing, point: OperatingPoint) -> Array:
    """A rough state at the firing top dead centre of cylinder 1, packed as `Cycle.restart`."""
    from .kernels.properties import fill_energy
    from .kernels.zones import HOT, NZ, Z_STATE, Z_X

    gas = point.gas
    tables = (gas.frozen, gas.burned, gas.constants)
    n = breathing.cylinders
    packed = np.zeros((n + 2, 16 + NZ))
    r_fresh, r_burned = 275.0, 290.0
    p0, t0 = point.plenum_pressure, point.plenum_temperature
    at_shut = float(breathing.volume(np.array(breathing.intake_closes)))
    mass_shut = p0 * at_shut / (r_fresh * (t0 + 40.0))

    def put(row: int, masses: Array, temperature: float, pressure: float) -> None:
        packed[row, :7] = masses
        packed[row, 7] = fill_energy(packed[row, :8], temperature, pressure, *tables)
        packed[row, 8], packed[row, 9] = temperature, pressure

    for c in range(n):
        own = (-float(breathing.firing[c])) % 720.0
        room = float(breathing.volume(np.array(own)))
        if own >= 720.0 + breathing.intake_closes:  # compression
            t = (t0 + 40.0) * (at_shut / room) ** 0.33
            put(c, mass_shut * point.charge(), t, mass_shut * r_fresh * t / room)
        elif own >= 360.0:
            put(c, p0 * room / (r_fresh * t0) * point.charge(), t0, p0)
        elif own < breathing.exhaust_opens:
            hot = point.ash() if point.combustion_efficiency > 0.0 else point.charge()
            start = 2600.0 if point.combustion_efficiency > 0.0 else 800.0
            t = start * (breathing.clearance_volume / room) ** 0.28
            put(c, mass_shut * hot, t, mass_shut * r_burned * t / room)
            packed[c, 16 + Z_STATE], packed[c, 16 + Z_X] = HOT, 1.0
        else:
            p = point.exhaust_pressure
            put(c, p * room / (r_burned * 1000.0) * point.ash(), 1000.0, p)
        packed[c, 10:15] = (p0, t0 + 40.0, at_shut, p0 * 15.0, 2.0 * breathing.clearance_volume)
        packed[c, 15] = 1.0
    put(n, p0 * breathing.plenum_volume / (r_fresh * t0) * point.charge(), t0, p0)
    p, t = point.exhaust_pressure, point.exhaust_temperature
    put(n + 1, p * breathing.exhaust_volume / (r_burned * t) * point.ash(), t, p)
    return packed


def _links(breathing: Breathing) -> tuple[NDArray[np.int64], Array, Array, Array]:
    """Ends of the network: which nodes they join, phase, reverse factor and table of areas."""
    n = breathing.cylinders
    plenum, exhaust, intake_outside, exhaust_outside = n, n + 1, n + 2, n + 3
    ends = [(plenum, c, 0) for c in range(n)] + [(c, exhaust, 1) for c in range(n)]
    ends += [(intake_outside, plenum, 2), (exhaust, exhaust_outside, 3)]
    phase = np.concatenate([breathing.firing, breathing.firing, [0.0, 0.0]])
    reverse = np.concatenate([np.full(2 * n, breathing.reverse_flow), [1.0, 1.0]])
    areas = np.stack(
        [
            breathing.intake_area,
            breathing.exhaust_area,
            np.full(PLACES, breathing.throttle_area),
            np.full(PLACES, breathing.outlet_area),
        ]
    )
    return np.array(ends, dtype=np.int64), phase.astype(float), reverse, areas


class LumpedEngine:
    """Arrays of a running engine, advanced in place by the kernel."""

    def __init__(self, breathing: Breathing, point: OperatingPoint, start: Array | None) -> None:
        from .kernels.zones import NZ

        n = breathing.cylinders
        packed = first_guess(breathing, point) if start is None else start
        if packed.shape != (n + 2, 16 + NZ):
            needed = (n + 2, 16 + NZ)
            raise InputError(f"the start state has shape {packed.shape}; this engine needs {needed}")
        self.y, self.s = np.zeros((n + 4, 8)), np.zeros((n + 4, 6))
        self.y[: n + 2], self.s[: n + 2, :2] = packed[:, :8], packed[:, 8:10]
        self.s[n : n + 2, 5] = breathing.plenum_volume, breathing.exhaust_volume
        self.reference, self.shut = packed[:n, 10:15].copy(), packed[:n, 15].copy()
        self.zones = packed[:n, 16:].copy()
        self.traces = np.zeros((5, n + 2, 720))
        self.sums, self.outside, self.trapped = np.zeros((n, 2)), np.zeros((3, 8)), np.zeros((n, 11))
        self.room = np.zeros((5, max(n + 4, 3), max(n + 4, 16)))
        self.steer(breathing, point)

    def steer(self, breathing: Breathing, point: OperatingPoint) -> None:
        """Take new surroundings: the state of the reservoirs, steered areas, the charge's make-up."""
        from .kernels.properties import fill_energy

        self.breathing, self.point = breathing, point
        n, gas = breathing.cylinders, point.gas
        self.tables = (gas.frozen, gas.burned, gas.constants)
        self.y[n + 2, :7], self.y[n + 3, :7] = point.charge(), point.ash()
        self.s[n + 2, :2] = point.plenum_temperature, point.plenum_pressure
        self.s[n + 3, :2] = point.exhaust_temperature, point.exhaust_pressure
        for q in (n + 2, n + 3):
            self.y[q, 7] = fill_energy(self.y[q], self.s[q, 0], self.s[q, 1], *self.tables)
        self.ends = _links(breathing)

    def advance(self, coarse: bool = False) -> None:
        """One cycle; with half the steps when coarse."""
        from .kernels.network import one_cycle

        b, n = self.breathing, self.breathing.cylinders
        steps = one_cycle(
            self.y, self.s, self.reference, self.shut, self.zones, b.firing, np.full(n, b.clearance_volume),
            n + 2, self.point.speed, b.geometry, np.tile(burn_row(b, self.point), (n, 1)), *self.ends,
            *self.tables, self.traces, self.sums, self.outside, self.trapped, self.room, coarse,
        )  # fmt: skip
        if steps < 0:
            raise NotSettled(
                f"the gas in a cylinder left every physical state at "
                f"{self.point.speed * 30 / math.pi:.0f} rpm; look for a valve area, a volume "
                "or a timing that cannot be"
            )

    def packed(self) -> Array:
        """State as `Cycle.restart`."""
        n = self.breathing.cylinders
        packed = np.zeros((n + 2, 16 + self.zones.shape[1]))
        packed[:, :8] = self.y[: n + 2]
        packed[:, 8:10] = self.s[: n + 2, :2]
        packed[:n, 10:15], packed[:n, 15], packed[:n, 16:] = self.reference, self.shut, self.zones
        return packed

    def parts(self) -> Array:
        """Mass and energy of every volume, shape (parts, 8): what must repeat."""
        held: Array = self.y[: self.breathing.cylinders + 2]
        return held

    def stored(self) -> Array:
        """What all volumes hold together, as `pairs`."""
        return pairs(self.parts().sum(axis=0))

    @property
    def duct_heat(self) -> float:
        """There are no pipes to take heat [J]."""
        return 0.0

    @property
    def plenum(self) -> Array:
        """Pressure in the plenum, shape (720,) [Pa]."""
        pressure: Array = self.traces[0, self.breathing.cylinders].copy()
        return pressure

    @property
    def before_outlet(self) -> tuple[Array, Array, Array]:
        """Pressure [Pa] and temperature [K] before the outlet, flow through it [kg/s], shape (720,)."""
        n, b = self.breathing.cylinders, self.breathing
        pressure, temperature = self.traces[0, n + 1].copy(), self.traces[1, n + 1].copy()
        gas_constant, gamma = float(self.s[n + 1, 2]), float(self.s[n + 1, 3])
        ideal = flow_coefficient(self.point.exhaust_pressure / pressure, gamma)
        flow = b.outlet_area * pressure / np.sqrt(gas_constant * temperature) * ideal
        return pressure, temperature, passed(flow, self.outside[1], self.point.speed)
