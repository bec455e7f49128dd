"""Parts of the verdict made from a study's arrays: limits in order, ceiling, what to measure next, method."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..build.model import Build
from ..trace import Array
from . import ceiling as ceilings
from . import present
from .measure import advice
from .ranges import outside
from .reliability import Failure
from .shop_units import ShopUnits
from .study import Outcome, Study
from .verdict import Ceiling, FailurePowers, Limit, Measurement
from .words import exactly, percent

#: Chance from which a limit counts as living for certain.
_SURELY = 0.995
#: Inputs listed under "what to measure next".
_MOST_MEASUREMENTS = 6
#: Shares of the verdict's variance below this are not worth a measurement.
_SMALLEST_SHARE = 0.01


def power_text(units: ShopUnits, power: float) -> str:
    """A power as text."""
    shown = units.quantity(power, "W")
    return f"{shown.value:,.0f} {shown.unit}"


def _failure_powers(breaking: Array, units: ShopUnits) -> FailurePowers:
    return ceilings.failure_powers(breaking[1:], units.power, units.factor("W"))


def limits_in_order(found: Outcome, units: ShopUnits, build: Build) -> tuple[Limit, ...]:
    """Limits, the one most likely to break within the duty first; guides last.

    Those that live for certain at the wanted power come in the order in which they go as power rises
    (by the power at which 5 % would have failed); of those that no power looked at reaches, the lower
    margin comes first.
    """
    ranges = outside(build, units)
    made = [
        present.limit(limit, units, _breaking(found, limit.identity.id, units), ranges)
        for limit in found.limits
    ]
    early = {key: ceilings.early_power(breaking[1:]) for key, breaking in found.breaking.items()}

    def order(limit: Limit) -> tuple[bool, float, float, float]:
        # Chances that the samples cannot tell from 1 count as 1.
        chance = limit.survival if limit.survival < _SURELY else 1.0
        return limit.kind == "guide", chance, early.get(limit.id, 0.0), _low(limit)

    return tuple(sorted(made, key=order))


def _low(limit: Limit) -> float:
    return limit.margin.spread.low if limit.margin.spread else limit.margin.value


def _breaking(found: Outcome, key: str, units: ShopUnits) -> FailurePowers | None:
    return _failure_powers(found.breaking[key], units) if key in found.breaking else None


def ceiling_record(
    study: Study, found: Outcome, units: ShopUnits, accepted: float, checked: float | None
) -> Ceiling:
    """The ceiling with its sampling doubt, or why there is none."""
    powers = _failure_powers(found.system, units)
    top = ceilings.power_at_chance(found.system[1:], 1.0 - accepted)
    if top is None:
        return Ceiling(None, accepted, no_ceiling(study, found, units, accepted), None, powers)
    quantity = present.between(top, *band(found, accepted, top), units)
    return Ceiling(quantity, accepted, "", checked, powers)


def _fails_at_once(found: Outcome, accepted: float) -> bool:
    return float(np.mean(found.system[1:] == -np.inf)) > 1.0 - accepted


def no_ceiling(study: Study, found: Outcome, units: ShopUnits, accepted: float) -> str:
    """In a sentence why there is no ceiling among the powers looked at."""
    lowest, highest = power_text(units, study.powers[0]), power_text(units, study.powers[-1])
    if _fails_at_once(found, accepted):
        return (
            f"Even at {lowest}, the lowest power looked at, its chance is below the {exactly(accepted)} "
            "asked: something other than power is too much for it (speed, or a joint as it is)."
        )
    return (
        f"Up to {highest}, the highest power looked at, its chance stays above the {exactly(accepted)} asked."
    )


def why_none(study: Study, found: Outcome, units: ShopUnits, accepted: float) -> str:
    """The same in few words."""
    if _fails_at_once(found, accepted):
        return f"below {power_text(units, study.powers[0])}, the lowest power looked at"
    return f"above {power_text(units, study.powers[-1])}, the highest power looked at"


def band(found: Outcome, accepted: float, top: float, like: float = 0.9) -> tuple[float, float]:
    """Powers at the accepted chance two standard errors of the sampling either way.

    Where one falls outside the levels looked at, `like` times the ceiling (or the ceiling over it)
    stands in for it.
    """
    slack = 2.0 * ceilings.standard_error(accepted, found.system.size - 1)
    low = ceilings.power_at_chance(found.system[1:], max(1.0 - accepted - slack, 0.0))
    high = ceilings.power_at_chance(found.system[1:], min(1.0 - accepted + slack, 1.0))
    broken_at_once = float(np.mean(found.system[1:] == -np.inf))
    broken_at_last = float(np.mean(found.system[1:] < np.inf))
    if low is None or broken_at_once >= 1.0 - accepted - slack:
        low = like * top
    if high is None or broken_at_last <= 1.0 - accepted + slack:
        high = top / like
    return low, high


def likely_lines(failure: Failure | None) -> dict[str, str]:
    """How the governing limit most likely fails, for the method's lines."""
    if failure is None:
        return {"FORM on the governing limit": "did not settle; no reliability index is given"}
    order = np.argsort(-failure.point.importance)[:4]
    shares = ", ".join(f"{failure.names[i]} {100 * failure.point.importance[i]:.0f} %" for i in order)
    return {
        "FORM on the governing limit": f"reliability index {failure.point.beta:.2f}; shares: {shares}",
        "pressure surface at the design point against the gas model": f"{100 * failure.surface_error:+.2f} %",
    }


#: Share of the models' own errors in a limit's failure from which the verdict says so.
_MOSTLY_MODELS = 0.6


def model_doubt(failure: Failure | None, first: Limit) -> tuple[str, ...]:
    """A warning when the first limit to go is ruled by what the models do not know."""
    if failure is None:
        return ()
    shares = zip(failure.names, failure.point.importance, strict=True)
    share = sum(float(alpha) for name, alpha in shares if name.startswith("model "))
    if share < _MOSTLY_MODELS:
        return ()
    return (
        f"{percent(share)} of the doubt about the limit likeliest to go first ({first.name}, {first.place}) "
        "is the models' own, not your measurements': measuring more will narrow it little, blocks with a "
        "known outcome would.",
    )


def trade_note(first: Limit, build: Build) -> tuple[str, ...]:
    """A warning where this version is known to be harder on a part than builders find it to be."""
    grey = build.word("caps.material").startswith(("grey", "gjl"))
    if not (grey and first.id.startswith("cap-crown")):
        return ()
    return (
        "Builders run grey-iron caps at more power than this ceiling. This version's oil-film width and size "
        "effect are on the careful side, and in a ceiling at a high chance doubt counts like weakness; the "
        "middle of the range is nearer to what the trade sees (docs/limits.md has it factor by factor). "
        "Judge a block whose outcome you know before you trust either.",
    )


def measure_next(build: Build, shares: Mapping[str, float]) -> tuple[Measurement, ...]:
    """Inputs whose doubt makes most of the verdict's doubt, largest share first."""
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
