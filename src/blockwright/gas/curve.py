"""The power curve: a build at full load over its speeds, each figure with its doubt."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..build.model import Build
from ..errors import BlockwrightError, InputError, NotSettled, OutsideValidity
from . import from_build
from .corrections import STANDARDS, Air, Correction, correct
from .curve_spread import Spread, doubts, parts, spread_of
from .mesh import FINE, LUMPED, Mesh
from .readings import Reading, read
from .run_point import AS_BUILT, RanPoint, Setting, boost_is_held, nitrous_oxygen_share, run_point

Array = NDArray[np.float64]

#: Points of a curve when nobody says how many, and the most that are run.
POINTS, MOST_POINTS = 15, 200
#: Where the curve begins and ends, over the target's speed.
_FROM, _TO = 0.4, 1.1
#: Mean piston speed at which a curve that nobody asked further ends [m/s].
_PISTON_SPEED = 30.0
#: Speeds that are run at all [rad/s]: 300 to 20 000 rpm.
SPEED_RANGE = (300.0 * math.pi / 30.0, 20_000.0 * math.pi / 30.0)
#: Mean piston speeds for which the friction formula is known [m/s].
_FRICTION_RANGE = (4.0, 25.0)
_WORKERS = 2


@dataclass(frozen=True)
class CurvePoint:
    """One speed of a curve.

    Attributes
    ----------
    speed : Reading
    readings : mapping
        Every quantity of `readings.KINDS` by its key.
    corrected : mapping
        `Correction` by the key of the standard.
    remarks : tuple of str
        Ranges of models that this point leaves.
    ran : RanPoint
        The settled run behind it.
    """

    speed: Reading
    readings: Mapping[str, Reading]
    corrected: Mapping[str, Correction]
    remarks: tuple[str, ...]
    ran: RanPoint

    def value(self, key: str) -> float:
        """A figure in SI; NaN where there is none."""
        found = self.readings[key].value
        return math.nan if found is None else found


@dataclass(frozen=True)
class Missing:
    """A speed that gave no figure.  speed : [rad/s]; reason : what the run said."""

    speed: float
    reason: str


@dataclass(frozen=True)
class Curve:
    """A build's figures over speed at full load.

    Attributes
    ----------
    points : tuple of CurvePoint
        By rising speed; all of them settled.
    missing : tuple of Missing
        Speeds that did not settle or lie outside a model's range.
    setting : Setting
    mesh : Mesh
    air : Air
    standards : tuple of str
    spread : Spread or None
    notes : tuple of str
        What the figures rest on and what they leave out.
    """

    points: tuple[CurvePoint, ...]
    missing: tuple[Missing, ...]
    setting: Setting
    mesh: Mesh
    air: Air
    standards: tuple[str, ...]
    spread: Spread | None
    notes: tuple[str, ...]

    def best(self, key: str) -> CurvePoint:
        """The point with the largest figure of a kind."""
        return max(self.points, key=lambda p: -math.inf if math.isnan(p.value(key)) else p.value(key))


def air_of(build: Build) -> Air:
    """The air that the engine draws."""
    return Air(
        build.si("conditions.pressure"), build.si("conditions.temperature"), build.si("conditions.humidity")
    )


def usual_speeds(build: Build) -> list[float]:
    """Speeds from about 0.4 to 1.1 of the target's, the target's among them, in round steps [rad/s]."""
    target = build.si("target.speed") * 30.0 / math.pi
    step = 25.0 * max(round(target * (_TO - _FROM) / (POINTS - 1) / 25.0), 1)
    top = min(_TO * target, max(_PISTON_SPEED * 30.0 / build.si("crank.stroke"), target))
    low = max(_FROM * target, SPEED_RANGE[0] * 30.0 / math.pi)
    below, above = math.floor((target - low) / step + 1e-6), math.floor((top - target) / step + 1e-6)
    return [(target + k * step) * math.pi / 30.0 for k in range(-below, above + 1)]


def even_speeds(first: float, last: float, step: float | None) -> list[float]:
    """Speeds from the first to the last in steps; without a step in as many points as usual [rad/s].

    Raises
    ------
    InputError
        When the steps are so small that there are too many of them.
    """
    if step is not None and (last - first) / step > MOST_POINTS:
        raise InputError(
            f"steps of {step * 30.0 / math.pi:g} rpm make more than {MOST_POINTS} speeds; give larger ones"
        )
    if step is None:
        return [float(s) for s in np.linspace(first, last, POINTS if last > first else 1)]
    return [first + k * step for k in range(math.floor((last - first) / step + 1e-6) + 1)]


def check_speeds(speeds: Iterable[float]) -> tuple[float, ...]:
    """The speeds in rising order, each once.

    Raises
    ------
    InputError
        When there is none, there are too many, or one is none an engine runs at.
    """
    found = sorted(set(speeds))
    low, high = SPEED_RANGE
    if not 1 <= len(found) <= MOST_POINTS:
        raise InputError(f"a curve has from 1 to {MOST_POINTS} speeds; {len(found)} were asked for")
    for speed in found:
        if not low <= speed <= high:
            raise InputError(
                f"a speed of {speed * 30.0 / math.pi:g} rpm was asked for; give one from "
                f"{low * 30.0 / math.pi:.0f} to {high * 30.0 / math.pi:.0f} rpm"
            )
    return tuple(found)


def _halves(speeds: Sequence[float]) -> int:
    """Where to part the speeds so that both parts take as long: a cycle costs time steps, so 1/speed."""
    cost = np.cumsum(1.0 / np.asarray(speeds))
    return int(np.searchsorted(cost, 0.5 * cost[-1])) + 1


@dataclass(frozen=True)
class _Run:
    """A speed that was tried."""

    speed: float
    ran: RanPoint | None
    error: BlockwrightError | None


def _chain(build: Build, speeds: Sequence[float], mesh: Mesh, setting: Setting,
           known: Mapping[float, RanPoint]) -> list[_Run]:  # fmt: skip
    """Speeds one after another, each from the state of the one before."""
    breathing = from_build.breathing(build)
    near: RanPoint | None = None
    made = []
    for speed in speeds:
        near = known.get(speed, near)
        try:
            ran = run_point(build, speed, mesh=mesh, setting=setting, near=near, breathing=breathing)
        except (NotSettled, OutsideValidity) as error:
            made.append(_Run(speed, None, error))
            near = None
            continue
        made.append(_Run(speed, ran, None))
        near = ran
    return made


def run_speeds(build: Build, speeds: Sequence[float], mesh: Mesh, setting: Setting,
               near: Mapping[float, RanPoint] | None = None) -> list[_Run]:  # fmt: skip
    """All speeds, on two threads from the middle outwards; the same figures whatever the threads do."""
    cut = _halves(speeds)
    chains = [list(speeds[:cut])[::-1], list(speeds[cut:])]
    with ThreadPoolExecutor(_WORKERS) as pool:
        waiting = [pool.submit(_chain, build, chain, mesh, setting, near or {}) for chain in chains if chain]
        found = [run for future in waiting for run in future.result()]
    return sorted(found, key=lambda run: run.speed)


def _spread(build: Build, runs: Sequence[RanPoint], setting: Setting) -> Spread:
    """The doubts at the first, the middle and the last speed, on the fast mesh."""
    picked = sorted({0, (len(runs) - 1) // 2, len(runs) - 1})
    known = doubts(build)
    breathing = from_build.breathing(build)

    def at(index: int) -> Array:
        base = runs[index]
        if not base.mesh.lumped:
            base = run_point(
                build, base.speed, mesh=LUMPED, setting=setting, breathing=breathing, knock=False
            )
        return parts(build, base, setting, known)

    with ThreadPoolExecutor(_WORKERS) as pool:
        found = list(pool.map(at, picked))
    return spread_of([runs[i].speed for i in picked], found, known)


def _remarks(ran: RanPoint) -> tuple[str, ...]:
    mean = ran.breathing.stroke * ran.speed / math.pi
    low, high = _FRICTION_RANGE
    if low <= mean <= high:
        return ran.cautions
    return (
        f"mean piston speed {mean:.1f} m/s; the friction formula holds from {low:.0f} to {high:.0f} m/s",
        *ran.cautions,
    )


def _corrected(ran: RanPoint, build: Build, air: Air, standards: Sequence[str]) -> dict[str, Correction]:
    held = boost_is_held(build)
    share = nitrous_oxygen_share(ran)
    return {
        name: correct(ran.cycle.brake_power, air, name, controlled_boost=held, nitrous_share=share)
        for name in standards
    }


def curve(
    build: Build,
    speeds: Iterable[float] | None = None,
    *,
    mesh: Mesh = FINE,
    setting: Setting = AS_BUILT,
    standards: Sequence[str] = tuple(STANDARDS),
    spread: bool = True,
    near: Curve | None = None,
) -> Curve:
    """Run a build at full load over its speeds.

    Parameters
    ----------
    build : Build
    speeds : iterable of float or None
        [rad/s]; None for some fifteen about the target's.
    mesh : Mesh
        How fine the pipes are cut.
    setting : Setting
        Charge, throttle and nitrous where they differ from the build's.
    standards : sequence of str
        Keys of `corrections.STANDARDS` to correct the power to.
    spread : bool
        Whether the doubts are moved too.
    near : Curve or None
        The same build's at another setting, to start from.

    Raises
    ------
    InputError
        A speed or a standard that cannot be.
    NotSettled, OutsideValidity
        When not one speed gave a figure.
    """
    wanted = check_speeds(usual_speeds(build) if speeds is None else speeds)
    air = air_of(build)
    for name in standards:
        correct(1.0, air, name)
    states = {p.ran.speed: p.ran for p in near.points} if near is not None else {}
    runs = run_speeds(build, wanted, mesh, setting, states)
    good = [run.ran for run in runs if run.ran is not None]
    bad = [(run.speed, run.error) for run in runs if run.error is not None]
    if not good:
        kind = NotSettled if any(isinstance(error, NotSettled) for _, error in bad) else OutsideValidity
        raise kind(f"no speed of the curve gave a figure. The first, {_rpm(bad[0][0])}: {bad[0][1]}")
    doubt = _spread(build, good, setting) if spread else None
    points = tuple(
        CurvePoint(
            Reading(ran.speed, "rad/s"),
            read(ran, build, doubt.at(ran.speed) if doubt else None),
            _corrected(ran, build, air, standards),
            _remarks(ran),
            ran,
        )
        for ran in good
    )
    return Curve(
        points, tuple(Missing(speed, str(error)) for speed, error in bad), setting, mesh, air,
        tuple(standards), doubt, (*_notes(build, mesh, setting, doubt), *_knock_notes(good)),
    )  # fmt: skip


def _rpm(speed: float) -> str:
    return f"{speed * 30.0 / math.pi:.0f} rpm"


def _notes(build: Build, mesh: Mesh, setting: Setting, doubt: Spread | None) -> list[str]:
    """What the figures rest on."""
    made = ["Full load in the air that the build names; accessories as the friction formula has them."]
    if setting.plenum_pressure is not None:
        gauge = (setting.plenum_pressure - build.si("conditions.pressure")) / 1e5
        made.append(f"Run at {gauge:.2f} bar of boost, which the target takes, in place of the build's own.")
    if setting.nitrous is not None:
        made.append(
            f"Run with {1e3 * setting.nitrous:.1f} g/s of nitrous oxide, which the target takes, in place of "
            "the build's own."
        )
    if mesh.lumped:
        made.append(
            "Plenum and exhaust are two volumes without pipes here: no length is tuned, and an engine with "
            "pipes cut to length makes more near the speed they are cut for. That is not in the spread."
        )
    if doubt is not None:
        at = ", ".join(_rpm(speed) for speed in doubt.speeds)
        made.append(
            f"Spread: each of {len(doubt.shares)} doubts (fields of the build, constants of the gas model) "
            f"was moved by one standard uncertainty at {at}, without pipes; between those speeds it is "
            "interpolated. It holds what is unknown of the inputs, not what the model leaves out."
        )
        if doubt.silent:
            made.append(f"Not in the spread, since no moved run settled: {', '.join(doubt.silent)}.")
    return made


def _knock_notes(runs: Sequence[RanPoint]) -> list[str]:
    """What must be said beside the knock margins, each once."""
    told = [text for ran in runs if ran.knock is not None for text in ran.knock.caution.split("; ") if text]
    return [f"Knock: {text}." for text in dict.fromkeys(told)]
