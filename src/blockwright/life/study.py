"""Everything computed for one build before it is put into words: runs, samples, margins, ceilings."""

from __future__ import annotations

import functools
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from ..build import catalogue
from ..build.model import Build
from ..crank.from_build import travel_of
from ..gas.model import Cycle
from ..trace import Array
from . import ceiling, evaluate, fatigue
from .charge import LEVELS, Engine, Level, engine_of, full_pressure, run_level
from .draw import Draw
from .kernels import Masses, Mechanism, Running, kernel_set, mechanism, reading
from .leaves import Kernels, SampleLeaves
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
    """

    build: Build
    engine: Engine
    parts: Mechanism
    base: float
    cycle: Cycle
    levels: tuple[Level, ...]

    @functools.cached_property
    def wanted(self) -> int:
        """Index of the level of the wanted power."""
        return next(i for i, level in enumerate(self.levels) if level.charge == 1.0)

    @functools.cached_property
    def powers(self) -> Array:
        """Brake power of each level at the target speed [W]."""
        return np.array([level.power for level in self.levels])

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
            variation=column("spark.variation"),
            nodes=nodes,
            weights=weights,
            extreme=ndtr(draw.z("largest cycle of the duty")),
            pressure_error=draw.sample(model_variable("life.pressure_error")),
        )
        return kernel_set(self.parts, level.operations, draw, masses, running)

    def evaluate(
        self, build: Build, level: Level, draw: Draw, groups: Collection[str] = evaluate.GROUPS
    ) -> list[evaluate.Evaluated]:
        """Limits of `build` (the study's own, or it with a reinforcement) under a level's loads."""
        ctx = SampleLeaves(build, draw, self.kernels(level, draw))
        return evaluate.evaluate(ctx, build, draw.rows, groups)


def run(build: Build, say: Say = silent) -> Study:
    """Run the gas model at every charge level.

    Raises
    ------
    InputError, OutsideValidity, NotSettled
        From the gas model, when the wanted power or a level cannot be computed.
    """
    engine = engine_of(build)
    base, cycle = full_pressure(build, engine.breathing)
    say(f"Running the gas model at {len(LEVELS)} charge levels")
    levels: dict[float, Level] = {}
    near: Level | None = None
    middle = LEVELS.index(1.0)
    for charge in (*LEVELS[middle:], *reversed(LEVELS[:middle])):
        if charge == LEVELS[middle - 1]:
            near = levels[1.0]
        starts = [o.cycle.restart if near else None for o in (near.operations if near else engine.points)]  # type: ignore[union-attr]
        near = run_level(engine, charge, base, starts, near.cycle.restart if near else cycle.restart)
        levels[charge] = near
    return Study(
        build=build,
        engine=engine,
        parts=_mechanism(build, engine),
        base=base,
        cycle=cycle,
        levels=tuple(levels[charge] for charge in LEVELS),
    )


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
    """Margins of a build over all levels on common samples.

    Attributes
    ----------
    limits : list of Evaluated
        At the wanted power, all of them, guides too.
    margins : dict of str to ndarray, shape (levels, rows)
        Of the limits that break the engine.
    breaking : dict of str to ndarray, shape (rows,)
        Breaking power by limit [W].
    system : ndarray, shape (rows,)
        Breaking power of the whole engine [W].
    """

    limits: list[evaluate.Evaluated]
    margins: dict[str, Array]
    breaking: dict[str, Array]
    system: Array

    def survival(self, level: int) -> float:
        """Share of sampled engines all of whose limits hold at a level (the nominal row left out)."""
        worst = np.min(np.stack([m[level, 1:] for m in self.margins.values()]), axis=0)
        return float(np.mean(worst >= 1.0))


def outcome(study: Study, build: Build, draw: Draw, known: Outcome | None = None) -> Outcome:
    """Evaluate a build at every level.

    Parameters
    ----------
    study : Study
    build : Build
        The study's build, or it with a change of the mains.
    known : Outcome or None
        Outcome of the study's own build: its limits outside the mains are taken over.
    """
    groups = evaluate.GROUPS if known is None else ("mains",)
    per_level: list[dict[str, Array]] = []
    limits: list[evaluate.Evaluated] = []
    for index, level in enumerate(study.levels):
        found = study.evaluate(build, level, draw, groups)
        per_level.append(evaluate.margins(found))
        if index == study.wanted:
            limits = found
    margins = {key: np.stack([found[key] for found in per_level]) for key in per_level[0]}
    if known is not None:
        others = [limit for limit in known.limits if limit.identity.group != "mains"]
        limits = others + limits
        margins |= {o.identity.id: known.margins[o.identity.id] for o in others if o.breaks}
    breaking = {key: ceiling.breaking_power(m, study.powers) for key, m in margins.items()}
    return Outcome(limits, margins, breaking, ceiling.system(list(breaking.values())))


def rerun_at(study: Study, power: float) -> Level:
    """The full model at the charge that makes `power` [W] at the target speed."""
    logs = np.log(study.powers)
    charge = float(np.exp(np.interp(np.log(power), logs, np.log([level.charge for level in study.levels]))))
    near = min(study.levels, key=lambda level: abs(np.log(level.power / power)))
    starts = [operation.cycle.restart for operation in near.operations]
    return run_level(study.engine, charge, study.base, starts, near.cycle.restart)


__all__: Sequence[str] = ["Outcome", "Say", "Study", "outcome", "rerun_at", "run", "silent"]
