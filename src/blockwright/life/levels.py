"""Which charge levels are looked at: as far down as the engine must go to live, as far up as it can fail.

Starts with one level below and one above the wanted power and goes on by the same ratio until the
ceiling, and the power at which 9 in 10 would have failed, lie between levels.  The full model is
then run at the ceiling itself.
"""

from __future__ import annotations

import numpy as np

from ..errors import NotSettled
from . import ceiling as ceilings
from .charge import PRESSURE_RANGE
from .study import Outcome, Sampled, Study, charge_at, outcome, with_level

#: Charge of a level over its neighbour's.
RATIO = 1.6
#: Lowest charge looked at over the wanted one; near it an engine makes no power at the brake.
LOWEST = 0.2
#: Share of sampled engines that may still live at the highest level.
FEW = 0.1
#: Levels nearer than this (log power) to the ceiling serve as its own.
_NEAR = 0.01
#: Runs at the ceiling after which it counts as not settling.
_MOST_REFINED = 6


def over_levels(sampled: Sampled, accepted: float) -> tuple[Outcome, float | None]:
    """Outcome over all levels needed, and the chance found by the full model at the ceiling.

    Parameters
    ----------
    sampled : Sampled
        With the level of the wanted power; the others are added to its study.
    accepted : float
        Accepted chance of living.

    Returns
    -------
    Outcome
    checked : float or None
        None when there is no ceiling among the powers looked at.
    """
    _add(sampled, 1.0 / RATIO)
    _add(sampled, RATIO)
    found = outcome(sampled)
    while found.lives_at(0) < accepted and _add(sampled, sampled.study.levels[0].charge / RATIO):
        found = outcome(sampled, found)
    while (found.lives_at(-1) > FEW or found.lives_at(-1, without="mains") >= accepted) and _add(
        sampled, sampled.study.levels[-1].charge * RATIO
    ):
        found = outcome(sampled, found)
    return _refined(sampled, found, accepted)


def _add(sampled: Sampled, charge: float) -> bool:
    """Add a level unless it lies outside what can be computed; whether it was added.

    A charger at its end makes no more power of more charge: the levels stop there.
    """
    study = sampled.study
    if charge < LOWEST or charge * study.base > PRESSURE_RANGE[1]:
        return False
    more = with_level(study, charge)
    if min(more.powers) <= 0.0 or np.any(np.diff(more.powers) <= 0.0):
        return False
    sampled.extend(more)
    return True


def _refined(sampled: Sampled, found: Outcome, accepted: float) -> tuple[Outcome, float | None]:
    """The outcome with the full model run at the ceiling too, and the chance found there.

    The first ceiling is interpolated between levels; the run there joins the levels, so that the
    ceiling told is interpolated over a short way only.  Where to run is guessed by parabolas through
    three levels, which is mostly near enough at once.
    """
    for _ in range(_MOST_REFINED):
        top = ceilings.power_at_chance(found.system[1:], 1.0 - accepted)
        if top is None:
            return found, None
        if min(abs(np.log(found.powers / top))) <= _NEAR:
            return found, found.survival(top)
        sampled.extend(with_level(sampled.study, _charge_near(sampled.study, found, top, accepted)))
        found = outcome(sampled, found)
    raise NotSettled(f"the ceiling moved each of the {_MOST_REFINED} times that the full model was run at it")


def _charge_near(study: Study, found: Outcome, top: float, accepted: float) -> float:
    """Charge at which the ceiling, linear between levels at `top` [W], is likely to lie."""
    margins = np.stack([m[:, 1:] for m in found.margins.values()])
    guess = ceilings.charge_at_chance(margins, study.charges, 1.0 - accepted)
    if guess is None or np.min(np.abs(np.log(study.charges / guess))) < 0.3 * _NEAR:
        return charge_at(study, top)
    return guess
