"""Everything computed for one build before it is put into words: runs, samples, margins, ceilings."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from ..build import catalogue
from ..build.model import Build
from ..crank.from_build import travel_of
from ..gas import from_build
from ..gas.mesh import FINE, Mesh
from ..gas.model import Cycle
from ..gas.spread import peak_spread
from ..trace import Array, Memory, remembering
from . import ceiling, evaluate, fatigue
from .ahead import compile_ahead, wait_for
from .charge import Engine, Level, engine_of, full_pressure, run_level, scaled_start
from .draw import Draw, Uncertain
from .kernels import Masses, Mechanism, Running, kernel_set, mechanism, reading
from .leaves import Kernels, SampleLeaves
from .normal import cdf
from .parallel import run_all
from .shaping import build_variable, model_variable

#: Nodes of the cycle-to-cycle variation inside the damage sum.
CYCLE_NODES = 3

Say = Callable[[str], None]


def silent(_: str) -> None:
    """No progress lines."""


@dataclass(frozen=True)
class Study:
    """A build with its runs at every charge level.

    Attributes
    ----------
    build : Build
    engine : Engine
    parts : Mechanism
    base : float
        Manifold pressure at the wanted power [Pa].
    cycle : Cycle
        At the target speed and the wanted power.
    levels : tuple of Level
        Rising charge.
    scatter : float
        Cycle-to-cycle variation of the peak pressure by the flame, over the one that the build assumes [-];
        1 where the build gives it.
    """

    build: Build
    engine: Engine
    parts: Mechanism
    base: float
    cycle: Cycle
    levels: tuple[Level, ...]
    scatter: float = 1.0

    @cached_property
    def wanted(self) -> int:
        """Index of the level of the wanted power."""
        return next(i for i, level in enumerate(self.levels) if level.charge == 1.0)

    @cached_property
    def powers(self) -> Array:
        """Brake power of each level at the target speed [W]."""
        return np.array([level.power for level in self.levels])

    @cached_property
    def charges(self) -> Array:
        """Charge of each level [-]."""
        return np.array([level.charge for level in self.levels])

    def kernels(self, level: Level, draw: Draw) -> Kernels:
        """Kernels of a level on the rows of a draw."""
        build = self.build

        def column(path: str) -> Array:
            return draw.sample(build_variable(build, path))

        recip = sum(column(f"pistons.{part}") for part in ("mass", "pin_mass", "ring_mass"))
        masses = Masses(
            recip=np.asarray(recip + column("rods.small_end_mass")),
            rot=column("rods.big_end_mass"),
            throw_moment=column("crank.throw_moment"),
        )
        nodes, weights = fatigue.cycle_nodes(CYCLE_NODES)
        running = Running(
            variation=self.scatter * column("spark.variation"),
            nodes=nodes,
            weights=weights,
            extreme=cdf(draw.z("largest cycle of the duty")),
            pressure_error=draw.sample(model_variable("life.pressure_error")),
        )
        return kernel_set(self.parts, level.operations, draw, masses, running)

    def evaluate(
        self, build: Build, level: Level, draw: Draw, groups: Collection[str] = evaluate.GROUPS
    ) -> list[evaluate.Evaluated]:
        """Limits of `build` (the study's own, or it with a reinforcement) under a level's loads."""
        ctx = SampleLeaves(build, draw, self.kernels(level, draw))
        return evaluate.evaluate(ctx, build, draw.rows, groups)


def run(build: Build, say: Say = silent, mesh: Mesh = FINE) -> Study:
    """Run the gas model over the duty at the charge that makes the wanted power.

    Raises
    ------
    InputError, OutsideValidity, NotSettled
        From the gas model, when the wanted power or a duty point cannot be computed.
    """
    say("Running the gas model over the duty (the first run of all compiles it, about 15 s)")
    engine = engine_of(build, mesh)
    speed = build.si("target.speed")
    child = compile_ahead(engine.breathing, from_build.operating_point(build, speed))
    try:
        base, cycle = full_pressure(engine)
    finally:
        wait_for(child)
    first = run_level(engine, 1.0, base, [cycle.restart] * len(engine.points), cycle.restart)
    return Study(build, engine, _mechanism(build, engine), base, cycle, (first,), _scatter(build, cycle))


def _scatter(build: Build, cycle: Cycle) -> float:
    """How much more the flame lets the peak vary than the build assumes."""
    if build.value("spark.variation").by != "assumed":
        return 1.0
    found, _ = peak_spread(cycle.breathing, cycle.trapped, cycle.point)
    return found / build.si("spark.variation")


def with_level(study: Study, charge: float) -> Study:
    """The study with one more charge level, started from the nearest."""
    near = min(study.levels, key=lambda level: abs(np.log(level.charge / charge)))
    ratio = charge / near.charge
    starts = [scaled_start(operation.cycle, ratio) for operation in near.operations]
    level = run_level(study.engine, charge, study.base, starts, scaled_start(near.cycle, ratio), near)
    levels = tuple(sorted((*study.levels, level), key=lambda one: one.charge))
    return replace(study, levels=levels)


def charge_at(study: Study, power: float) -> float:
    """Charge level that makes `power` [W] at the target speed, between the levels run."""
    return float(np.interp(power, study.powers, study.charges))


def _mechanism(build: Build, engine: Engine) -> Mechanism:
    travel = travel_of(build)
    depths = build.array("casting.walls.depth")
    fastest = max(duty.speed for duty in engine.points)
    if _happens(build, "missed_shift"):
        fastest = max(fastest, build.si("duty.events.missed_shift.speed"))
    knock = 1.0
    if _happens(build, "knock_burst"):
        knock = build.si("duty.events.knock_burst.pressure_ratio")
    return mechanism(
        engine.loads,
        engine.forms,
        tuple(reading(travel, float(depth)) for depth in depths),
        bolt_share=catalogue.row("model", "rod_bolt.big_end_share").si("value"),
        overspeed=fastest,
        knock_ratio=max(knock, 1.0),
    )


def _happens(build: Build, event: str) -> bool:
    path = f"duty.events.{event}.count"
    return path in build.values and build.si(path) > 0.0


@dataclass(frozen=True)
class Outcome:
    """Margins of a build over charge levels on common samples.

    Attributes
    ----------
    limits : list of Evaluated
        At the wanted power, all of them, guides too; empty where that level was not asked for.
    powers : ndarray, shape (levels,)
        Brake power of the levels [W].
    margins : dict of str to ndarray, shape (levels, rows)
        Of the limits that break the engine.
    breaking : dict of str to ndarray, shape (rows,)
        Breaking power by limit [W].
    system : ndarray, shape (rows,)
        Breaking power of the whole engine [W].
    """

    limits: list[evaluate.Evaluated]
    powers: Array
    margins: dict[str, Array]
    breaking: dict[str, Array]
    system: Array

    def survival(self, power: float) -> float:
        """Share of sampled engines all of whose limits hold at a level's power (the nominal row left out)."""
        return self.lives_at(int(np.argmin(np.abs(self.powers - power))))

    def lives_at(self, level: int, without: str = "") -> float:
        """Share of sampled engines that live at a level, all limits or those outside a group."""
        left_out = {limit.identity.id for limit in self.limits if limit.group == without}
        kept = [m[level, 1:] for key, m in self.margins.items() if key not in left_out]
        return float(np.mean(np.min(np.stack(kept), axis=0) >= 1.0))


class Sampled:
    """A study's kernels on one draw, kept so that every change of the build meets the same loads."""

    def __init__(self, study: Study, draw: Draw) -> None:
        self.study, self.draw = study, draw
        self._kernels: dict[float, Kernels] = {}
        self._memory = Memory()

    def extend(self, study: Study) -> None:
        """Take over a study with more levels."""
        self.study = study

    def kernels(self, level: Level) -> Kernels:
        """Kernels of a level, made once."""
        if level.charge not in self._kernels:
            self._kernels[level.charge] = self.study.kernels(level, self.draw)
        return self._kernels[level.charge]

    def evaluate(self, build: Build, level: Level, groups: Collection[str]) -> list[evaluate.Evaluated]:
        """Limits of a build at a level."""
        ctx = SampleLeaves(build, self.draw, self.kernels(level))
        with remembering(self._memory):
            return evaluate.evaluate(ctx, build, self.draw.rows, groups)


def outcome(sampled: Sampled, known: Outcome | None = None) -> Outcome:
    """Evaluate the study's own build at every level not in `known`."""
    study = sampled.study
    done: dict[float, dict[str, Array]] = {}
    if known is not None:
        done = {
            float(power): {key: m[i] for key, m in known.margins.items()}
            for i, power in enumerate(known.powers)
        }
    missing = [level for level in study.levels if level.power not in done]
    for level in missing:
        sampled.kernels(level)
    # The largest group first, so that both processor cores end together.
    tasks = [(group, level) for group in reversed(evaluate.GROUPS) for level in missing]
    used = dict(sampled.draw.used)
    parts = run_all([partial(_part, sampled, level, group) for group, level in tasks])
    limits: list[evaluate.Evaluated] = [] if known is None else known.limits
    more: dict[str, Uncertain] = {}
    for (_, level), part in reversed(list(zip(tasks, parts, strict=True))):
        done[level.power] = done.get(level.power, {}) | part.margins
        more |= part.used
        if known is None:
            limits = limits + part.limits
    # In one order, whichever process did what.
    sampled.draw.used = used | {name: more[name] for name in sorted(more.keys() - used.keys())}
    per_level = [done[level.power] for level in study.levels]
    return _outcome(study, limits, list(range(len(study.levels))), per_level)


@dataclass(frozen=True)
class _Part:
    """One group of limits at one level: `limits` at the wanted power only, and what was drawn for them."""

    limits: list[evaluate.Evaluated]
    margins: dict[str, Array]
    used: dict[str, Uncertain]


def _part(sampled: Sampled, level: Level, group: str) -> _Part:
    """One group of the study's own build at a level."""
    found = sampled.evaluate(sampled.study.build, level, (group,))
    return _Part(found if level.charge == 1.0 else [], evaluate.margins(found), dict(sampled.draw.used))


def changed_outcome(sampled: Sampled, build: Build, own: Outcome, accepted: float) -> Outcome:
    """Outcome of the build with a change of its mains, at the levels around its own ceiling only.

    Limits outside the mains are taken over.  Starting at the wanted power the levels are walked
    up, or down, until two neighbours have the accepted chance between them.
    """
    study = sampled.study
    others = {o.identity.id for o in own.limits if o.breaks and o.group != "mains"}
    found: dict[int, dict[str, Array]] = {}
    limits: list[evaluate.Evaluated] = []

    def lives(index: int) -> bool:
        level = study.levels[index]
        cases = sampled.evaluate(build, level, ("mains",))
        margins = evaluate.margins(cases) | {key: own.margins[key][index] for key in others}
        found[index] = margins
        if level.charge == 1.0:
            limits.extend([o for o in own.limits if o.group != "mains"] + cases)
        worst = np.min(np.stack([m[1:] for m in margins.values()]), axis=0)
        return bool(np.mean(worst >= 1.0) >= accepted)

    used = dict(sampled.draw.used)
    index = study.wanted
    step = 1 if lives(index) else -1
    while 0 <= index + step < len(study.levels):
        index += step
        if lives(index) != (step > 0):
            break
    # What only the change has in it is no doubt of this build.
    sampled.draw.used = used
    kept = sorted(found)
    return _outcome(study, limits, kept, [found[i] for i in kept])


def _outcome(
    study: Study, limits: list[evaluate.Evaluated], levels: list[int], per_level: Sequence[dict[str, Array]]
) -> Outcome:
    powers, charges = study.powers[levels], study.charges[levels]
    margins = {key: np.stack([found[key] for found in per_level]) for key in per_level[0]}
    breaking = {key: ceiling.breaking_power(m, powers, charges) for key, m in margins.items()}
    return Outcome(limits, powers, margins, breaking, ceiling.system(list(breaking.values())))
