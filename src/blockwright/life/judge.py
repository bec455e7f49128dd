"""Judge a build: run it, sample what is unknown, find what breaks first and where it stops being safe."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from .. import __version__
from ..build.model import Build
from ..cache import prepare_compile_cache
from ..errors import InputError
from ..trace import Array
from . import ceiling as ceilings
from . import evidence, present, quick
from .draw import Draw
from .measure import advice, variance_shares
from .options import Option, options
from .reliability import Failure, likely_failure
from .shop_units import ShopUnits, shop_units
from .study import (
    Outcome,
    Sampled,
    Say,
    Study,
    changed_outcome,
    charge_at,
    outcome,
    run,
    silent,
    with_level,
)
from .verdict import (
    SCHEMA,
    Assumption,
    Ceiling,
    Evidence,
    FailurePowers,
    Limit,
    Measurement,
    Quantity,
    Reinforcement,
    Verdict,
)
from .words import CAUTIONS, not_modelled, percent, sentence

#: Inputs listed under "what to measure next".
_MOST_MEASUREMENTS = 6
#: Shares of the verdict's variance below this are not worth a measurement.
_SMALLEST_SHARE = 0.01


def judge(build: Build, samples: int = 1000, seed: int = 1) -> Verdict:
    """Will this block live for its duty, what goes first, and at what power does it stop being safe?

    Parameters
    ----------
    build : Build
        From `load`.
    samples : int
        Draws of what is unknown.
    seed : int
        The same seed gives the same verdict.

    Returns
    -------
    Verdict

    Raises
    ------
    InputError, OutsideValidity
        When the build cannot be computed as described.
    NotSettled
        When an iteration did not settle; no figure of it is used.
    """
    return _judged(build, samples, seed, silent)[0]


def judge_with_evidence(
    build: Build, samples: int = 1000, seed: int = 1, say: Say = silent
) -> tuple[Verdict, Evidence]:
    """The verdict, and the curves and dimensions that its report draws."""
    verdict, sampled = _judged(build, samples, seed, say)
    return verdict, evidence.evidence(sampled.study, sampled.draw, shop_units(build))


def judge_aloud(build: Build, samples: int = 1000, seed: int = 1, say: Say = silent) -> Verdict:
    """The verdict alone, with progress lines."""
    return _judged(build, samples, seed, say)[0]


def _judged(build: Build, samples: int, seed: int, say: Say) -> tuple[Verdict, Sampled]:
    prepare_compile_cache()
    units = shop_units(build)
    study = run(build, say)
    say("Sampling what is unknown")
    draw = Draw(samples, seed)
    sampled = Sampled(study, draw)
    found = outcome(sampled)
    accepted = build.si("target.survival")
    wanted = study.levels[study.wanted].power
    survival = found.survival(wanted)
    found, checked = _refined(sampled, found, accepted)
    study = sampled.study
    limits, failure = _limits(study, found, draw, units)
    ceiling = _ceiling(study, found, units, accepted, checked)
    shares = variance_shares(draw, found.system)
    governing = limits[0]
    lives = survival >= accepted
    power = units.quantity(build.si("target.power"), "W")
    surface_error = present.surface_error(study)
    verdict = Verdict(
        schema=SCHEMA,
        name=build.name,
        invented=build.invented,
        sentence=sentence(power, survival, accepted, governing, ceiling, lives),
        lives=lives,
        accepted=accepted,
        survival=survival,
        power=_power(build, units),
        peak_pressure=present.peak_pressure(sampled, units),
        points=present.points(study, draw, units),
        limits=limits,
        governing=governing,
        ceiling=ceiling,
        reinforcements=_reinforcements(sampled, found, units, accepted, say),
        measure_next=_measure_next(build, shares.inputs, units),
        assumptions=tuple(Assumption(a.path, a.value, a.why) for a in build.assumptions),
        not_modelled=not_modelled(build),
        warnings=present.warnings(study, found, units),
        quick_numbers=quick.quick_numbers(study, units),
        cautions=CAUTIONS,
        method={
            "samples": str(samples),
            "seed": str(seed),
            "standard error of the chance": f"{ceilings.standard_error(survival, samples):.4f}",
            "charge levels": ", ".join(f"{level.charge:g}" for level in study.levels),
            "power at those levels": ", ".join(units_text(units, level.power) for level in study.levels),
            "share of the doubt from models": percent(min(shares.models, 1.0)),
            "share of the doubt from catalogue figures": percent(min(shares.catalogue, 1.0)),
            "largest error of a pressure surface on its design": f"{100 * surface_error:.2f} %",
        }
        | _likely(failure),
        version=__version__,
    )
    return verdict, sampled


def _likely(failure: Failure | None) -> dict[str, str]:
    """How the governing limit most likely fails, for the method's lines."""
    if failure is None:
        return {"FORM on the governing limit": "did not settle; no reliability index is given"}
    order = np.argsort(-failure.point.importance)[:4]
    shares = ", ".join(f"{failure.names[i]} {100 * failure.point.importance[i]:.0f} %" for i in order)
    return {
        "FORM on the governing limit": f"reliability index {failure.point.beta:.2f}; shares: {shares}",
        "pressure surface at the design point against the gas model": f"{100 * failure.surface_error:+.2f} %",
    }


def units_text(units: ShopUnits, power: float) -> str:
    """A power as text."""
    shown = units.quantity(power, "W")
    return f"{shown.value:.0f} {shown.unit}"


def _power(build: Build, units: ShopUnits) -> Quantity:
    value = build.values["target.power"]
    return units.normal(value.si, value.u, "W")


def _failure_powers(breaking: Array, units: ShopUnits) -> FailurePowers:
    return ceilings.failure_powers(breaking[1:], units.power, units.factor("W"))


def _limits(
    study: Study, found: Outcome, draw: Draw, units: ShopUnits
) -> tuple[tuple[Limit, ...], Failure | None]:
    """Limits in the order in which they go as power rises: by the power at which 5 % would have failed.

    Guides come last.  Of limits that even the highest power does not reach, the lower margin first.
    """
    made = [present.limit(limit, units, _breaking(found, limit.identity.id, units)) for limit in found.limits]
    early = {key: ceilings.early_power(breaking[1:]) for key, breaking in found.breaking.items()}
    ordered = sorted(made, key=lambda limit: (limit.kind == "guide", early.get(limit.id, 0.0), _low(limit)))
    by_id = {limit.identity.id: limit for limit in found.limits}
    first = ordered[0]
    failure = likely_failure(study, by_id[first.id], draw)
    if failure is not None:
        ordered[0] = present.with_beta(first, failure.point.beta)
    return tuple(ordered), failure


def _low(limit: Limit) -> float:
    return limit.margin.spread.low if limit.margin.spread else limit.margin.value


def _breaking(found: Outcome, key: str, units: ShopUnits) -> FailurePowers | None:
    return _failure_powers(found.breaking[key], units) if key in found.breaking else None


def _refined(sampled: Sampled, found: Outcome, accepted: float) -> tuple[Outcome, float | None]:
    """The outcome with the full model run at the ceiling too, and the chance found there.

    The first ceiling is interpolated between charge levels; the run there joins the levels, so that
    the ceiling told is interpolated over a short way only.
    """
    top = ceilings.power_at_chance(found.system[1:], 1.0 - accepted)
    if top is None:
        return found, None
    if min(abs(np.log(found.powers / top))) > 0.005:
        sampled.extend(with_level(sampled.study, charge_at(sampled.study, top)))
        found = outcome(sampled, found)
    return found, found.survival(top)


def _ceiling(
    study: Study, found: Outcome, units: ShopUnits, accepted: float, checked: float | None
) -> Ceiling:
    powers = _failure_powers(found.system, units)
    top = ceilings.power_at_chance(found.system[1:], 1.0 - accepted)
    if top is None:
        return Ceiling(None, accepted, _no_ceiling(study, found, units, accepted), None, powers)
    quantity = present.between(top, *_band(found, accepted, top), units)
    return Ceiling(quantity, accepted, "", checked, powers)


def _fails_at_once(found: Outcome, accepted: float) -> bool:
    return float(np.mean(found.system[1:] == -np.inf)) > 1.0 - accepted


def _no_ceiling(study: Study, found: Outcome, units: ShopUnits, accepted: float) -> str:
    lowest, highest = units_text(units, study.powers[0]), units_text(units, study.powers[-1])
    if _fails_at_once(found, accepted):
        return (
            f"Even at {lowest}, the lowest power looked at, its chance is below the {percent(accepted)} "
            "asked: something other than power is too much for it (speed, or a joint as it is)."
        )
    return (
        f"Up to {highest}, the highest power looked at, its chance stays above the {percent(accepted)} asked."
    )


def _why_none(study: Study, found: Outcome, units: ShopUnits, accepted: float) -> str:
    if _fails_at_once(found, accepted):
        return f"below {units_text(units, study.powers[0])}, the lowest power looked at"
    return f"above {units_text(units, study.powers[-1])}, the highest power looked at"


def _reinforcements(
    sampled: Sampled, found: Outcome, units: ShopUnits, accepted: float, say: Say
) -> tuple[Reinforcement, ...]:
    study = sampled.study
    say("Trying the changes that can be computed")

    def tried(option: Option) -> Reinforcement:
        if option.reason:
            return Reinforcement(option.id, option.name, None, option.reason)
        try:
            build = study.build.with_changes(option.changes)
        except InputError as error:
            return Reinforcement(option.id, option.name, None, f"does not fit this build as it is: {error}")
        changed = changed_outcome(sampled, build, found, accepted)
        top = ceilings.power_at_chance(changed.system[1:], 1.0 - accepted)
        return Reinforcement(
            id=option.id,
            name=option.name,
            ceiling=None if top is None else present.between(top, *_band(changed, accepted, top), units),
            reason="" if top is not None else _why_none(study, changed, units, accepted),
            survival=changed.survival(study.levels[study.wanted].power),
            governing=_first_to_go(changed, accepted),
            changes={
                path: "as the default" if text is None else text for path, text in option.changes.items()
            },
        )

    with ThreadPoolExecutor(2) as pool:
        return tuple(pool.map(tried, options(study.build)))


def _band(found: Outcome, accepted: float, top: float) -> tuple[float, float]:
    """Powers at the accepted chance two standard errors of the sampling either way."""
    slack = 2.0 * ceilings.standard_error(accepted, found.system.size - 1)
    low = ceilings.power_at_chance(found.system[1:], max(1.0 - accepted - slack, 0.0))
    high = ceilings.power_at_chance(found.system[1:], min(1.0 - accepted + slack, 1.0))
    return low or float(found.powers[0]), high or float(found.powers[-1])


def _first_to_go(found: Outcome, accepted: float) -> str:
    """The limit that most often gives way among the engines that fail up to the ceiling."""
    keys: Sequence[str] = list(found.breaking)
    stacked = np.stack([found.breaking[key][1:] for key in keys])
    first = np.argmin(stacked, axis=0)
    weakest = np.argsort(found.system[1:])[: max(int((1.0 - accepted) * stacked.shape[1]), 10)]
    winner = keys[int(np.bincount(first[weakest], minlength=len(keys)).argmax())]
    identity = next(limit.identity for limit in found.limits if limit.identity.id == winner)
    return f"{identity.name} ({identity.place})"


def _measure_next(build: Build, shares: Mapping[str, float], units: ShopUnits) -> tuple[Measurement, ...]:
    made: list[Measurement] = []
    for path, share in shares.items():
        if share < _SMALLEST_SHARE or len(made) == _MOST_MEASUREMENTS:
            break
        if path not in build.values:
            continue
        value = build.values[path]
        made.append(
            Measurement(path, present.field_name(path), present.field(value), value.by, share, advice(path))
        )
    return tuple(made)
