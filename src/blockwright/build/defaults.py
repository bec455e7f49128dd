"""Every field that need not be given, by a rule in the order in which they depend on each other.

The rules give a believable production-based engine of ordinary proportions: common
practice and proportions of the trade, no source, except where a rule names one.
Each shows among the assumptions of the verdict, with a spread that owns up to it.
"""

from __future__ import annotations

from .defaults_block import BLOCK
from .defaults_breathing import BREATHING
from .defaults_charge import CHARGE
from .defaults_duty import DUTY
from .defaults_layout import LAYOUT
from .defaults_moving import MOVING
from .draft import Draft
from .model import Assumption
from .rules import Many, Rule, apply_all

RULES: tuple[Rule | Many, ...] = (*LAYOUT, *MOVING, *BLOCK, *BREATHING, *CHARGE, *DUTY)

#: Spread of each field's default rule, which also serves a value that the user calls assumed.
SPREADS: dict[str, str] = {
    rule.path: rule.spread for rule in RULES if isinstance(rule, Rule) and rule.figure is not None
}


def complete(draft: Draft) -> tuple[tuple[Assumption, ...], list[str]]:
    """Give every field of the draft that has none its default, in place.

    Returns
    -------
    assumptions : tuple of Assumption
        What was assumed.
    lacking : list of str
        Fields whose default lacked an input, because the file has a fault.
    """
    draft.choices.setdefault("invented", False)
    made, lacking = apply_all(RULES, draft)
    return tuple(made), lacking
