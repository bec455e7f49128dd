"""What each change that can be computed does to the ceiling: one independent task a change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from ..errors import InputError
from . import ceiling as ceilings
from . import present
from .answer import band, why_none
from .options import Option, options
from .shop_units import ShopUnits
from .study import Outcome, Sampled, changed_outcome
from .verdict import Reinforcement


def change_tasks(
    sampled: Sampled, found: Outcome, units: ShopUnits, accepted: float
) -> list[Callable[[], Reinforcement]]:
    """One task for every change of the build, computed or with the reason why not."""
    study = sampled.study
    own = ceilings.power_at_chance(found.system[1:], 1.0 - accepted)
    # A change is looked at around its own ceiling only; its band may need the base's as a measure.
    like = 0.9 if own is None else band(found, accepted, own)[0] / own

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
            ceiling=None if top is None else present.between(top, *band(changed, accepted, top, like), units),
            reason="" if top is not None else why_none(study, changed, units, accepted),
            survival=changed.survival(study.levels[study.wanted].power),
            governing=_first_to_go(changed, accepted),
            changes={
                path: "as the default" if text is None else text for path, text in option.changes.items()
            },
            remark=option.remark,
        )

    return [partial(tried, option) for option in options(study.build)]


def _first_to_go(found: Outcome, accepted: float) -> str:
    """The limit that most often gives way among the engines that fail up to the ceiling."""
    keys: Sequence[str] = list(found.breaking)
    stacked = np.stack([found.breaking[key][1:] for key in keys])
    first = np.argmin(stacked, axis=0)
    weakest = np.argsort(found.system[1:])[: max(int((1.0 - accepted) * stacked.shape[1]), 10)]
    winner = keys[int(np.bincount(first[weakest], minlength=len(keys)).argmax())]
    identity = next(limit.identity for limit in found.limits if limit.identity.id == winner)
    return f"{identity.name} ({identity.place})"
