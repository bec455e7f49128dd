"""Run the gas model over the duty: at the charge that makes the wanted power, and below and above it.

The *charge level* is the absolute manifold pressure over the one that makes the target
power at the target speed.  Without ducts there is no wave tuning yet, so for an
atmospheric engine that pressure may come out a little above the weather's: it stands for
what tuned pipes do, and the verdict says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..build.model import Build
from ..crank.from_build import load_model
from ..crank.loads import Influence, LoadModel, Loads, influence, main_loads
from ..errors import Fault, InputError, NotSettled
from ..gas import from_build
from ..gas.model import Breathing, Cycle, OperatingPoint
from ..gas.solve import TOLERANCE, solve
from ..trace import Array
from ..units import dimension_of, to_unit
from .crank_angles import DIRECTIONS, LOADED, extreme_angles
from .operate import Operation, Shaping, closed_surface
from .pulses import equal_pulses
from .shaping import shaping

#: Change from cycle to cycle that is allowed away from the wanted power, between interpolated levels.
_AWAY = 5e-4
#: Manifold pressures between which the wanted power is sought [Pa].
PRESSURE_RANGE = (0.25e5, 6.0e5)
#: Standard uncertainties by which combustion is early where the hardest angles are looked for again.
_EARLY = 1.5
_WORKERS = 2


@dataclass(frozen=True)
class DutyPoint:
    """One operating point of the duty.

    speed : [rad/s]; load : share of the full manifold pressure [-]; cycles : engine cycles spent there.
    """

    speed: float
    load: float
    cycles: float


@dataclass(frozen=True)
class Level:
    """The duty at one charge level.

    power, torque : brake figures at the target speed, nominal [W, N m].
    cycle : Cycle at the target speed.
    operations : one for each duty point.
    """

    charge: float
    power: float
    cycle: Cycle
    operations: tuple[Operation, ...]


@dataclass(frozen=True)
class Engine:
    """What the runs need of the build."""

    build: Build
    breathing: Breathing
    points: tuple[DutyPoint, ...]
    crankcase: float
    loads: LoadModel
    forms: Influence
    shaping: tuple[tuple[Shaping, Array], ...]


def point_at(build: Build, speed: float, load: float, pressure: float) -> OperatingPoint:
    """How the build runs at a full-load manifold pressure [Pa].

    A turbine's back pressure rises in step with the boost from the build's own figures; a
    driven blower's work follows the pressure.
    """
    point = from_build.operating_point(build, speed, load, plenum_pressure=pressure)
    outside = build.si("conditions.pressure")
    given = outside + (build.si("boost.pressure") if build.has("boost.pressure") else 0.0)
    back = point.exhaust_pressure - outside
    if back > 0.0 and given > 1.02 * outside:
        back *= max(pressure - outside, 0.0) / (given - outside)
    return replace(point, exhaust_pressure=outside + back)


def full_pressure(build: Build, breathing: Breathing) -> tuple[float, Cycle]:
    """Manifold pressure at which the engine makes the target power at the target speed, and its cycle there.

    Secant steps on brake mean pressure, which is nearly linear in manifold pressure.

    Raises
    ------
    InputError
        When no pressure in `PRESSURE_RANGE` makes it.
    NotSettled
        When the steps do not close in.
    """
    power, speed = build.si("target.power"), build.si("target.speed")
    low, high = PRESSURE_RANGE
    pressure = from_build.operating_point(build, speed).plenum_pressure
    pressure = min(max(pressure, low), high)
    start: Array | None = None
    seen: list[tuple[float, float]] = []
    for _ in range(12):
        cycle = solve(breathing, point_at(build, speed, 1.0, pressure), start)
        if abs(cycle.brake_power / power - 1.0) < 1e-4:
            return pressure, cycle
        seen.append((pressure, cycle.brake_power))
        if len(seen) == 1:
            friction = (cycle.imep - cycle.bmep) * cycle.brake_power / max(cycle.bmep, 1.0)
            step = pressure * (power + abs(friction)) / max(cycle.brake_power + abs(friction), 0.1 * power)
        else:
            (p0, w0), (p1, w1) = seen[-2:]
            if w1 == w0:
                break
            step = p1 + (power - w1) * (p1 - p0) / (w1 - w0)
        step = min(max(step, 0.5 * pressure), 2.0 * pressure)
        if step >= high or step <= low:
            if pressure in (low, high):
                raise InputError(_unreachable(build, power, cycle, pressure), build.source)
            step = min(max(step, low), high)
        start = scaled_start(cycle, step / pressure)
        pressure = step
    raise NotSettled("the manifold pressure that makes the target power was not found in 12 steps")


def _unreachable(build: Build, power: float, cycle: Cycle, pressure: float) -> Fault:
    value = build.values["target.power"]
    dimension = dimension_of(value.unit)
    rpm = build.si("target.speed") * 30.0 / np.pi
    made = to_unit(cycle.brake_power, value.unit, dimension)
    tried = "most" if pressure == PRESSURE_RANGE[1] else "least"
    return Fault(
        "target.power",
        f"{to_unit(power, value.unit, dimension):.6g} {value.unit} at {rpm:.0f} rpm",
        f"at {pressure / 1e5:.2f} bar in the manifold, the {tried} tried, the gas model makes {made:.0f} "
        f"{value.unit}; check power, speed, bore, stroke, cams and flow tables",
        value.line,
    )


def scaled_start(cycle: Cycle, ratio: float) -> Array:
    """A cycle's restart state with all masses, energies and pressures times `ratio`: a near start."""
    start = cycle.restart.copy()
    start[:, :8] *= ratio
    start[:, 9] *= ratio
    return start


def run_level(
    engine: Engine, charge: float, base: float, starts: Sequence[Array | None], own: Array | None
) -> Level:
    """The whole engine at every duty point and at the target speed, at one charge level.

    Parameters
    ----------
    engine : Engine
    charge, base : float
        Level, and manifold pressure of level 1 [Pa].
    starts, own : restart states of a near level for the duty points and the target speed, or None.
    """

    tolerance = TOLERANCE if charge == 1.0 else _AWAY

    def at_target() -> Cycle:
        speed = engine.build.si("target.speed")
        return solve(engine.breathing, point_at(engine.build, speed, 1.0, charge * base), own, tolerance)

    def one(index: int) -> Operation:
        return _operation(engine, index, charge * base, starts[index], tolerance)

    with ThreadPoolExecutor(_WORKERS) as pool:
        waiting = [pool.submit(one, index) for index in range(len(engine.points))]
        same = next((i for i, d in enumerate(engine.points) if _is_target(engine, d)), None)
        cycle = at_target() if same is None else waiting[same].result().cycle
        operations = tuple(future.result() for future in waiting)
    return Level(charge, cycle.brake_power, cycle, operations)


def _is_target(engine: Engine, duty: DutyPoint) -> bool:
    return abs(duty.speed / engine.build.si("target.speed") - 1.0) < 1e-6 and duty.load == 1.0


def _operation(
    engine: Engine, index: int, pressure: float, start: Array | None, tolerance: float
) -> Operation:
    duty = engine.points[index]
    shaping, widths = engine.shaping[index]
    point = point_at(engine.build, duty.speed, duty.load, pressure)
    cycle = solve(engine.breathing, point, start, tolerance)
    surface, nominal, still = closed_surface(engine.breathing, point, cycle, widths)
    gauge = np.tile(nominal - engine.crankcase, (engine.breathing.cylinders, 1))
    nominal_loads = main_loads(engine.loads, gauge, duty.speed)
    early = surface.centre.copy()
    early[2] -= _EARLY * widths[2]
    early_gauge = np.exp(surface.at(early[None, :])[0, :720]) - engine.crankcase
    early_loads = main_loads(engine.loads, np.tile(early_gauge, (len(gauge), 1)), duty.speed)
    closed_work = float(np.exp(surface.coefficients[0, 721]))
    total = float(cycle.indicated_work.mean())
    losses = (cycle.friction_work + cycle.charger_work) / engine.breathing.cylinders
    return Operation(
        speed=duty.speed,
        duty_cycles=duty.cycles,
        cycle=cycle,
        cycle_pressure=nominal,
        motored=still,
        surface=surface,
        crankcase=engine.crankcase,
        main_angles=_kept_angles(nominal_loads, early_loads),
        pulses=np.array([equal_pulses(load) for load in nominal_loads.vertical]),
        open_work=total / closed_work - 1.0,
        friction_share=losses / closed_work,
        shaping=shaping,
    )


def _kept_angles(nominal: Loads, early: Loads) -> NDArray[np.intp]:
    """Angles of the outline of every main's polar load, nominal and with combustion early."""
    found = []
    for j in range(nominal.vertical.shape[0]):
        outline = extreme_angles(nominal.vertical[j], nominal.lateral[j], DIRECTIONS)
        fast = extreme_angles(early.vertical[j], early.lateral[j], LOADED)
        found.append(np.unique(np.concatenate([outline, fast])))
    most = max(angles.size for angles in found)
    return np.array([np.pad(angles, (0, most - angles.size), mode="edge") for angles in found])


def engine_of(build: Build) -> Engine:
    """What the runs need, made once a build."""
    loads = load_model(build)
    points = tuple(duty_points(build))
    return Engine(
        build=build,
        breathing=from_build.breathing(build),
        points=points,
        crankcase=build.si("conditions.pressure"),
        loads=loads,
        forms=influence(loads),
        shaping=tuple(shaping(build, duty.speed) for duty in points),
    )


def duty_points(build: Build) -> list[DutyPoint]:
    """Operating points of the duty with the engine cycles spent at each."""
    if build.word("duty.kind") == "passes":
        seconds = build.count("duty.passes") * build.si("duty.pass_time")
    else:
        seconds = build.si("duty.hours")
    table = build.array("duty.points", "speed", "load", "share")
    return [
        DutyPoint(float(speed), float(load), float(seconds * share * speed / (4.0 * np.pi)))
        for speed, load, share in table
    ]
