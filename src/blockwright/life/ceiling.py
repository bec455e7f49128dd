"""At what power it stops being safe: where each sampled engine's margin falls through 1.

Every sampled engine is followed from a low charge to a high one.  The power at which
its first limit gives way is that engine's *breaking power*; the share of engines whose
breaking power lies above P is the chance that the whole engine lives at P.  One set of
samples thus gives the survival at every power, per limit and for the system, without
ever multiplying chances of limits that share their causes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..trace import Array
from .verdict import FailurePowers


def breaking_power(margins: Array, powers: Array, charges: Array) -> Array:
    """Power at which each engine's margin first falls below 1.

    Parameters
    ----------
    margins : ndarray, shape (levels, rows)
        Capacity over demand at each level.
    powers : ndarray, shape (levels,)
        Rising brake power of the levels [W].
    charges : ndarray, shape (levels,)
        Their manifold pressures over one of them [-].

    Returns
    -------
    ndarray, shape (rows,)
        ``-inf`` when it fails at the lowest level, ``inf`` when it lives at the highest.
        Between levels log margin is taken as linear in log charge (loads by gas grow with charge, not
        with brake power, from which friction is gone), and power as linear in charge.
    """
    m = np.log(np.clip(margins, 1e-6, 1e6))
    failed = m < 0.0
    first = np.argmax(failed, axis=0)
    never = ~failed.any(axis=0)
    at_once = failed[0]
    upper = np.maximum(first, 1)
    column = np.arange(m.shape[1])
    above, below = m[upper - 1, column], m[upper, column]
    part = np.where(above > below, above / np.where(above > below, above - below, 1.0), 1.0)
    log_charge = np.log(charges)
    crossing = np.exp(log_charge[upper - 1] + np.clip(part, 0.0, 1.0) * np.diff(log_charge)[upper - 1])
    crossing = np.interp(crossing, charges, powers)
    return np.where(never, np.inf, np.where(at_once, -np.inf, crossing))


def charge_at_chance(margins: Array, charges: Array, chance_of_failing: float) -> float | None:
    """Charge at which a chance of failing is likely to be reached, to run the full model there.

    Parameters
    ----------
    margins : ndarray, shape (limits, levels, rows)
        Capacity over demand at each level.
    charges : ndarray, shape (levels,)
        Rising, three or more [-].
    chance_of_failing : float

    Returns
    -------
    float or None
        None when no two neighbouring levels have the chance between them.

    Notes
    -----
    Log margins as parabolas in log charge through the two levels and the next nearest one.
    """
    failing = np.mean(np.min(margins, axis=0) < 1.0, axis=1) > chance_of_failing
    between = np.flatnonzero(~failing[:-1] & failing[1:])
    if between.size == 0 or charges.size < 3:
        return None
    i, x = int(between[0]), np.log(charges)
    ends = [k for k in (i - 1, i + 2) if 0 <= k < x.size]
    third = min(ends, key=lambda k: min(abs(x[k] - x[i]), abs(x[k] - x[i + 1])))
    kept = np.array([i, i + 1, third])
    m, at = np.log(np.clip(margins[:, kept], 1e-6, 1e6)), x[kept]
    low, high = float(x[i]), float(x[i + 1])
    for _ in range(12):
        middle = 0.5 * (low + high)
        weight = [
            (middle - at[(k + 1) % 3]) * (middle - at[(k + 2) % 3])
            / ((at[k] - at[(k + 1) % 3]) * (at[k] - at[(k + 2) % 3]))
            for k in range(3)
        ]  # fmt: skip
        worst = np.min(sum(w * m[:, k] for k, w in enumerate(weight)), axis=0)
        if np.mean(worst < 0.0) > chance_of_failing:
            high = middle
        else:
            low = middle
    return float(np.exp(0.5 * (low + high)))


def power_at_chance(breaking: Array, chance_of_failing: float) -> float | None:
    """Power at which a chance of failing is reached; None outside the levels looked at.

    The empirical quantile of the breaking powers (linear between order statistics); at the edge of
    the levels looked at, the nearest finite one.
    """
    ordered = np.sort(breaking)
    place = chance_of_failing * (ordered.size - 1)
    low, high = ordered[int(np.floor(place))], ordered[int(np.ceil(place))]
    if not np.isfinite(low) and not np.isfinite(high):
        return None
    if not (np.isfinite(low) and np.isfinite(high)):
        return float(high if np.isfinite(high) else low)
    return float(low + (place - np.floor(place)) * (high - low))


def early_power(breaking: Array) -> float:
    """Power at which 5 % have failed; -inf if they do at the lowest level, inf if not even at the highest."""
    ordered = np.sort(breaking)
    return float(ordered[int(np.floor(0.05 * (ordered.size - 1)))])


def failure_powers(breaking: Array, unit: str, factor: float) -> FailurePowers:
    """Powers of 5, 50 and 90 % failing, in `unit` (= W times `factor`)."""
    found = [power_at_chance(breaking, chance) for chance in (0.05, 0.50, 0.90)]
    p05, p50, p90 = (None if power is None else power * factor for power in found)
    return FailurePowers(p05, p50, p90, unit)


def survival_at(breaking: Array, power: float) -> float:
    """Share of engines that live at `power` [W]."""
    return float(np.mean(breaking > power))


def system(breaking_powers: Sequence[Array]) -> Array:
    """Breaking power of the whole engine: the lowest of its limits', engine by engine."""
    return np.asarray(np.min(np.stack(list(breaking_powers)), axis=0))


def standard_error(survival: float, samples: int) -> float:
    """Standard error of a sampled chance [-]; that of one lost engine when none was lost."""
    p = min(max(survival, 1.0 / samples), 1.0 - 1.0 / samples)
    return float(np.sqrt(p * (1.0 - p) / samples))
