"""Run the gas model: the whole engine until its cycles repeat."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, NotSettled
from .closed import closed as closed
from .closed import motored as motored
from .combustion import burn_row
from .friction import friction_mean_pressure
from .model import PLACES, Breathing, Cycle, OperatingPoint, Trapped

Array = NDArray[np.float64]

#: Largest relative change of trapped mass, energy and work from cycle to cycle that counts as repeated.
TOLERANCE = 5e-5
#: Change above which the cycles run with half the steps: they only wash out the first guess.
COARSE_UNTIL = 1e-3
#: Cycles after which the engine counts as not settling.
MOST_CYCLES = 80


def _first_guess(breathing: Breathing, point: OperatingPoint) -> Array:
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


def _own_axis(values: Array, firing: Array) -> Array:
    """Traces on the crank's axis, shape (n, 720), moved onto each cylinder's own axis."""
    out = np.empty_like(values)
    for c, start in enumerate(firing):
        whole = math.floor(start)
        moved = np.roll(values[c], -whole)
        share = start - whole
        out[c] = moved if share == 0.0 else (1.0 - share) * moved + share * np.roll(moved, -1)
    return out


def _peaks(pressure: Array) -> tuple[Array, Array]:
    """Largest pressure and its angle, by a parabola through the highest degree and its neighbours."""
    at = pressure.argmax(axis=1)
    rows = np.arange(pressure.shape[0])
    before, top, after = (pressure[rows, (at + k) % 720] for k in (-1, 0, 1))
    curve = before - 2.0 * top + after
    shift = np.where(curve < 0.0, 0.5 * (before - after) / np.where(curve < 0.0, curve, 1.0), 0.0)
    angle = (at + shift + 360.0) % 720.0 - 360.0
    return np.asarray(top - 0.25 * (before - after) * shift), np.asarray(angle)


class _Engine:
    """Arrays of a running engine, advanced in place by the kernel."""

    def __init__(self, breathing: Breathing, point: OperatingPoint, start: Array | None) -> None:
        from .kernels.properties import fill_energy
        from .kernels.zones import NZ

        self.breathing, self.point = breathing, point
        n = breathing.cylinders
        packed = _first_guess(breathing, point) if start is None else start
        if packed.shape != (n + 2, 16 + NZ):
            raise InputError(f"the start state has shape {packed.shape}; this engine needs {(n + 2, 16 + NZ)}")
        gas = point.gas
        self.tables = (gas.frozen, gas.burned, gas.constants)
        self.y, self.s = np.zeros((n + 4, 8)), np.zeros((n + 4, 6))
        self.y[: n + 2], self.s[: n + 2, :2] = packed[:, :8], packed[:, 8:10]
        self.s[n : n + 2, 5] = breathing.plenum_volume, breathing.exhaust_volume
        self.reference, self.shut = packed[:n, 10:15].copy(), packed[:n, 15].copy()
        self.zones = packed[:n, 16:].copy()
        self.y[n + 2, :7], self.y[n + 3, :7] = point.charge(), point.ash()
        self.s[n + 2, :2] = point.plenum_temperature, point.plenum_pressure
        self.s[n + 3, :2] = point.exhaust_temperature, point.exhaust_pressure
        for q in (n + 2, n + 3):
            self.y[q, 7] = fill_energy(self.y[q], self.s[q, 0], self.s[q, 1], *self.tables)
        self.traces = np.zeros((5, n + 2, 720))
        self.sums, self.outside, self.trapped = np.zeros((n, 2)), np.zeros((3, 8)), np.zeros((n, 11))
        self.room = np.zeros((5, max(n + 4, 3), max(n + 4, 16)))
        self.ends = _links(breathing)

    def advance(self, coarse: bool = False) -> None:
        """One cycle; with half the steps when coarse."""
        from .kernels.network import one_cycle

        b, n = self.breathing, self.breathing.cylinders
        steps = one_cycle(
            self.y, self.s, self.reference, self.shut, self.zones, b.firing, np.full(n, b.clearance_volume),
            n + 2, self.point.speed, b.geometry, np.tile(burn_row(b, self.point), (n, 1)), *self.ends, *self.tables,
            self.traces, self.sums, self.outside, self.trapped, self.room, coarse,
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

    def stored(self) -> Array:
        """What all volumes hold: air, fuel, nitrous (burned or not), vapour [kg] and energy [J]."""
        held = self.y[: self.breathing.cylinders + 2].sum(axis=0)
        return _pairs(held)


def _pairs(state: Array) -> Array:
    return np.array([state[0] + state[4], state[1] + state[5], state[2] + state[6], state[3], state[7]])


def solve(
    breathing: Breathing,
    point: OperatingPoint,
    start: Array | None = None,
    tolerance: float = TOLERANCE,
) -> Cycle:
    """Run an engine until its cycles repeat.

    Parameters
    ----------
    breathing : Breathing
    point : OperatingPoint
    start : ndarray or None
        `Cycle.restart` of a near point of an engine with as many cylinders.
    tolerance : float
        Largest relative change of trapped mass, stored energy and work from one cycle to the next.

    Returns
    -------
    Cycle

    Raises
    ------
    NotSettled
        When the cycles do not repeat; says what did not.
    """
    engine = _Engine(breathing, point, start)
    gas = point.gas
    scale = max(gas.heating_value * point.fuel_per_air * point.combustion_efficiency / 275.0 / 300.0, 1.0) * (
        point.plenum_pressure * breathing.displacement
    )
    mass_scale = point.plenum_pressure * breathing.displacement / (275.0 * point.plenum_temperature)
    changes: dict[str, float] = {}
    coarse = start is None
    last_mass, last_work = np.zeros(breathing.cylinders), np.zeros(breathing.cylinders)
    cycles = 0
    while cycles < MOST_CYCLES:
        cycles += 1
        before, node_energy = engine.stored(), engine.y[: breathing.cylinders + 2, 7].copy()
        engine.advance(coarse)
        after = engine.stored()
        mass = engine.trapped[:, :7].sum(axis=1)
        work = engine.sums[:, 0].copy()
        moved = np.abs(engine.y[: breathing.cylinders + 2, 7] - node_energy)
        changes = {
            "mass": float(np.max(np.abs(mass - last_mass) / np.maximum(mass, 1e-12))),
            "energy": float(moved.sum() / scale),
            "work": float(np.max(np.abs(work - last_work)) / (scale / breathing.cylinders) * 3.0),
        }
        if max(changes.values()) < tolerance and not coarse:
            break
        coarse = coarse and max(changes.values()) > COARSE_UNTIL
        last_mass, last_work = mass, work
    else:
        worst = max(changes, key=lambda name: changes[name])
        raise NotSettled(
            f"the gas model did not settle: after {MOST_CYCLES} cycles at "
            f"{point.speed * 30 / math.pi:.0f} rpm the {worst} still changes by {changes[worst]:.1e} from "
            f"cycle to cycle ({tolerance:.0e} is wanted), with {point.plenum_pressure / 1e5:.2f} bar in the "
            "manifold. Look for flow tables, cams or volumes that choke it"
        )
    received = _pairs(engine.outside.sum(axis=0))
    open_balance = after - before + received
    open_balance[4] += engine.sums.sum()
    return _report(
        engine, cycles, changes,
        float(np.max(np.abs(open_balance[:4])) / mass_scale), float(abs(open_balance[4]) / scale),
    )  # fmt: skip


def _report(
    engine: _Engine, cycles: int, changes: dict[str, float], mass_residual: float, energy_residual: float
) -> Cycle:
    b, point, n = engine.breathing, engine.point, engine.breathing.cylinders
    pressure = _own_axis(engine.traces[0, :n], b.firing)
    peak, peak_angle = _peaks(pressure)
    displacement = b.displacement
    imep = float(engine.sums[:, 0].sum()) / displacement
    f = b.friction
    piston_speed = b.stroke * point.speed / math.pi
    fmep = float(
        friction_mean_pressure(
            peak.mean(), piston_speed, f.constant, f.pressure_share, f.speed_term, f.square_term, f.factor
        )
    )
    drawn = -engine.outside[0]
    charger = point.charger_work * float(drawn[0])
    bmep = imep - fmep - charger / displacement
    per_second = point.speed / (4.0 * math.pi)
    gas_constant = float(engine.point.gas.constants[9])
    filling = point.plenum_pressure * displacement / (gas_constant * point.plenum_temperature)
    trapped = engine.trapped.mean(axis=0)
    return Cycle(
        angle=np.arange(720.0),
        pressure=pressure,
        temperature=_own_axis(engine.traces[1, :n], b.firing),
        mass=_own_axis(engine.traces[2, :n], b.firing),
        plenum_pressure=engine.traces[0, n].copy(),
        exhaust_pressure=engine.traces[0, n + 1].copy(),
        exhaust_temperature=engine.traces[1, n + 1].copy(),
        indicated_work=engine.sums[:, 0].copy(),
        wall_heat=engine.sums[:, 1].copy(),
        friction_work=fmep * displacement,
        charger_work=charger,
        brake_torque=bmep * displacement / (4.0 * math.pi),
        brake_power=bmep * displacement * per_second,
        imep=imep,
        fmep=fmep,
        bmep=bmep,
        volumetric_efficiency=float(drawn[0]) / filling,
        air_flow=float(drawn[0]) * per_second,
        fuel_flow=float(drawn[1]) * per_second,
        trapped=Trapped(float(trapped[10]), float(trapped[9]), float(trapped[8]), trapped[:7].copy()),
        trapped_mass=engine.trapped[:, :7].sum(axis=1),
        peak_pressure=peak,
        peak_angle=peak_angle,
        cycles_run=cycles,
        mass_residual=mass_residual,
        energy_residual=energy_residual,
        settled=changes,
        restart=engine.packed(),
    )
