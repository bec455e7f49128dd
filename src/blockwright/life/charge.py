"""Run the gas model over the duty: at the charge that makes the wanted power, and below and above it.

The *charge level* is the absolute manifold pressure over the one that makes the target
power at the target speed.  For an atmospheric engine that pressure should come out near
the weather's; by how much it does not is said in the verdict.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..build.model import Build
from ..crank.from_build import load_model
from ..crank.loads import Influence, LoadModel, Loads, influence, main_loads
from ..errors import InputError, NotSettled
from ..gas import from_build
from ..gas.mesh import COARSE, FINE, Mesh
from ..gas.model import Breathing, Cycle
from ..gas.solve import TOLERANCE, WAVE_TOLERANCE, solve
from ..gas.wave_state import WaveState
from ..trace import Array
from .crank_angles import DIRECTIONS, LOADED, extreme_angles
from .feeding import feeding
from .operate import Operation, closed_surface
from .pressure_search import next_pressure, past_best, short_of_boost, unreachable
from .pulses import equal_pulses
from .shaping import burn_move, shaping

#: Change from cycle to cycle that is allowed away from the wanted power, between interpolated levels.
_AWAY = 5e-4
#: Relative error of the power that the search leaves; with pipes a cycle repeats less exactly.
_CLOSE, _CLOSE_WITH_PIPES = 1e-4, 8e-4
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
    mesh: Mesh


def run_at(
    engine: Engine,
    speed: float,
    load: float,
    pressure: float,
    start: Array | WaveState | None = None,
    like: Cycle | None = None,
    *,
    mesh: Mesh | None = None,
    away: bool = False,
) -> Cycle:
    """The settled cycle at a speed, load and full-load manifold pressure [Pa].

    Parameters
    ----------
    start : restart state of a near cycle, or None.
    like : Cycle or None
        Whose share of nitrous oxide is kept; see `feeding`.
    mesh : Mesh or None
        The engine's own when None.
    away : bool
        Whether the level lies away from the wanted power, between interpolated levels.
    """
    mesh = engine.mesh if mesh is None else mesh
    fed = feeding(engine.build, engine.breathing, speed, load, pressure, like)
    usual = TOLERANCE if mesh.lumped else WAVE_TOLERANCE
    tolerance = max(usual, _AWAY) if away else usual
    return solve(fed.breathing, fed.point, start, tolerance, mesh, fed.steering)


def full_pressure(engine: Engine) -> tuple[float, Cycle]:
    """Manifold pressure at which the engine makes the target power at the target speed, and its cycle there.

    Secant steps on brake mean pressure, which is nearly linear in manifold pressure; with pipes first on
    the coarse mesh, where a step costs a tenth.

    Raises
    ------
    InputError
        When no pressure in `PRESSURE_RANGE` makes it.
    NotSettled
        When the steps do not close in.
    """
    pressure = from_build.operating_point(engine.build, engine.build.si("target.speed")).plenum_pressure
    pressure = min(max(pressure, PRESSURE_RANGE[0]), PRESSURE_RANGE[1])
    start: Array | WaveState | None = None
    if not engine.mesh.lumped and engine.mesh.intake < COARSE.intake:
        pressure, cycle = _secant(engine, pressure, None, COARSE)
        start = cycle.restart
    return _secant(engine, pressure, start, engine.mesh)


def _secant(
    engine: Engine, pressure: float, start: Array | WaveState | None, mesh: Mesh
) -> tuple[float, Cycle]:
    """`full_pressure` on one mesh from a first pressure."""
    build = engine.build
    power, speed = build.si("target.power"), build.si("target.speed")
    low, high = PRESSURE_RANGE
    seen: list[tuple[float, float]] = []
    for _ in range(14):
        cycle = run_at(engine, speed, 1.0, pressure, start, mesh=mesh)
        if abs(cycle.brake_power / power - 1.0) < (_CLOSE if mesh.lumped else _CLOSE_WITH_PIPES):
            return pressure, cycle
        if (short := short_of_boost(build, cycle, pressure)) is not None:
            raise InputError(short, build.source)
        seen.append((pressure, cycle.brake_power))
        step: float | None
        if len(seen) == 1:
            friction = (cycle.imep - cycle.bmep) * cycle.brake_power / max(cycle.bmep, 1.0)
            step = pressure * (power + abs(friction)) / max(cycle.brake_power + abs(friction), 0.1 * power)
        else:
            step = next_pressure(seen, power)
        if step is None:
            raise InputError(past_best(build, seen), build.source)
        step = min(max(step, 0.5 * pressure), 2.0 * pressure)
        if not low < step < high:
            if pressure in (low, high):
                tried = "most" if pressure == high else "least"
                raise InputError(unreachable(build, cycle, pressure, tried), build.source)
            step = min(max(step, low), high)
        start = scaled_start(cycle, step / pressure)
        pressure = step
    raise NotSettled("the manifold pressure that makes the target power was not found in 14 steps")


def scaled_start(cycle: Cycle, ratio: float) -> Array | WaveState:
    """A cycle's restart state with all masses, energies and pressures times `ratio`: a near start."""
    if isinstance(cycle.restart, WaveState):
        return cycle.restart.scaled(ratio)
    start = cycle.restart.copy()
    start[:, :8] *= ratio
    start[:, 9] *= ratio
    return start


def run_level(
    engine: Engine,
    charge: float,
    base: float,
    starts: Sequence[Array | WaveState | None],
    own: Array | WaveState | None,
    like: Level | None = None,
) -> Level:
    """The whole engine at every duty point and at the target speed, at one charge level.

    Parameters
    ----------
    engine : Engine
    charge, base : float
        Level, and manifold pressure of level 1 [Pa].
    starts, own : restart states of a near level for the duty points and the target speed, or None.
    like : Level or None
        The near level.
    """
    away = charge != 1.0

    def at_target() -> Cycle:
        speed = engine.build.si("target.speed")
        kept = None if like is None else like.cycle
        return run_at(engine, speed, 1.0, charge * base, own, kept, away=away)

    def one(index: int) -> Operation:
        duty = engine.points[index]
        kept = None if like is None else like.operations[index].cycle
        cycle = run_at(engine, duty.speed, duty.load, charge * base, starts[index], kept, away=away)
        return _operation(engine, duty, cycle)

    with ThreadPoolExecutor(_WORKERS) as pool:
        waiting = [pool.submit(one, index) for index in range(len(engine.points))]
        same = next((i for i, d in enumerate(engine.points) if _is_target(engine, d)), None)
        cycle = at_target() if same is None else waiting[same].result().cycle
        operations = tuple(future.result() for future in waiting)
    return Level(charge, cycle.brake_power, cycle, operations)


def _is_target(engine: Engine, duty: DutyPoint) -> bool:
    return abs(duty.speed / engine.build.si("target.speed") - 1.0) < 1e-6 and duty.load == 1.0


def _operation(engine: Engine, duty: DutyPoint, cycle: Cycle) -> Operation:
    shape, widths = shaping(engine.build, duty.speed, cycle)
    surface, nominal, still = closed_surface(cycle, widths, burn_move(shape))
    # How much harder or softer than the mean each cylinder is filled, and so pressed.
    share = cycle.peak_pressure / cycle.peak_pressure.mean()
    gauge = share[:, None] * nominal - engine.crankcase
    nominal_loads = main_loads(engine.loads, gauge, duty.speed)
    early = surface.centre.copy()
    early[2] -= _EARLY * widths[2]
    early_gauge = share[:, None] * np.exp(surface.at(early[None, :])[0, :720]) - engine.crankcase
    early_loads = main_loads(engine.loads, early_gauge, duty.speed)
    closed_work = float(np.exp(surface.coefficients[0, 721]))
    total = float(cycle.indicated_work.mean())
    nominal_work = closed_work * engine.breathing.cylinders
    return Operation(
        speed=duty.speed,
        duty_cycles=duty.cycles,
        cycle=cycle,
        cycle_pressure=nominal,
        motored=still,
        surface=surface,
        crankcase=engine.crankcase,
        cylinder_share=share,
        main_angles=_kept_angles(nominal_loads, early_loads),
        pulses=np.array([equal_pulses(load) for load in nominal_loads.vertical]),
        open_work=total / closed_work - 1.0,
        friction_share=cycle.friction_work / nominal_work,
        charger_share=cycle.charger_work / nominal_work,
        shaping=shape,
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


def engine_of(build: Build, mesh: Mesh = FINE) -> Engine:
    """What the runs need, made once a build."""
    loads = load_model(build)
    return Engine(
        build=build,
        breathing=from_build.breathing(build),
        points=tuple(duty_points(build)),
        crankcase=build.si("conditions.pressure"),
        loads=loads,
        forms=influence(loads),
        mesh=mesh,
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
