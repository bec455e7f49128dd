"""How a default is written down: a rule for one field, with its reason and its spread."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from ..errors import InputError
from ..units import parse, parse_spread, scale, show
from .draft import Draft
from .model import Assumption, Choice, Value

Figure: TypeAlias = Callable[[Draft], float]
Word: TypeAlias = Callable[[Draft], Choice]
When: TypeAlias = Callable[[Draft], bool]


#: Unit and digits of a default in an inch and in a metric shop.
_SYSTEM = {"length": (("in", 3), ("mm", 2)), "torque": (("lbf*ft", 0), ("N*m", 0))}


def always(_: Draft) -> bool:
    """The rule holds for every build."""
    return True


@dataclass(frozen=True)
class Rule:
    """Default of one field.

    Attributes
    ----------
    path : str
        The field.
    why : str
        The rule in words: shown beside the assumption and in the documentation.
    figure : callable or None
        Value in SI from the fields above; of a quantity.
    word : callable or None
        Choice from the fields above.
    unit, dimension, digits : str, str, int
        How it is shown; the value used is the one shown.
    spread : str
        Standard uncertainty: ``"3 %"`` or ``"4 deg"``; ``"0 %"`` for what is chosen.
    when : callable
        Whether the field has a default in this build.
    """

    path: str
    why: str
    figure: Figure | None = None
    word: Word | None = None
    unit: str = ""
    dimension: str = ""
    digits: int = 3
    spread: str = "0 %"
    when: When = field(default=always)

    def apply(self, draft: Draft) -> Assumption | None:
        """Put the default into the draft when the field has none; what was assumed."""
        if self.path in draft.values or self.path in draft.choices or not self.when(draft):
            return None
        if self.word is not None:
            choice = self.word(draft)
            draft.choices[self.path] = choice
            return Assumption(self.path, written(choice), self.why)
        if self.figure is None:
            return None
        unit, digits = self._shown_in(draft)
        text = show(self.figure(draft), unit, digits)
        put(draft, self.path, text, self.dimension, self.spread, self.why)
        return Assumption(self.path, text, self.why)

    def _shown_in(self, draft: Draft) -> tuple[str, int]:
        """Unit and digits: of the shop's own system, told by the unit of the bore, when none is set."""
        if self.unit or self.dimension not in _SYSTEM:
            return self.unit, self.digits
        inch, metric = _SYSTEM[self.dimension]
        return metric if draft.values["casting.bore"].unit in ("mm", "cm", "m", "um") else inch


@dataclass(frozen=True)
class Many:
    """Default of a list: texts by path, and one line that tells them all."""

    path: str
    why: str
    make: Callable[[Draft], Sequence[tuple[str, str]]]
    told: Callable[[Draft], str]
    dimensions: tuple[str, ...]
    spread: str = "0 %"
    when: When = field(default=always)
    prefix: str = ""
    partial: bool = False

    def apply(self, draft: Draft) -> Assumption | None:
        """Put the members into the draft when the list has none; what was assumed.

        A `partial` list is completed even when some members are given.
        """
        if (draft.lists(self.prefix or self.path) and not self.partial) or not self.when(draft):
            return None
        members = self.make(draft)
        if not members:
            return None
        for path, text in members:
            put(draft, path, text, self._dimension(text), self.spread, self.why)
        return Assumption(self.path, self.told(draft), self.why)

    def _dimension(self, text: str) -> str:
        unit = text.partition(" ")[2]
        return next(name for name in self.dimensions if scale(unit, name) is not None)


def written(choice: Choice) -> str:
    """A choice as the file would hold it."""
    if isinstance(choice, bool):
        return "true" if choice else "false"
    if not isinstance(choice, tuple):
        return str(choice)
    return ", ".join(f"[{written(item)}]" if isinstance(item, tuple) else str(item) for item in choice)


def put(draft: Draft, path: str, text: str, dimension: str, spread: str, why: str) -> None:
    """Put an assumed quantity, as its text says, into the draft."""
    found = parse(text, dimension, path)
    u = parse_spread(spread, dimension, found.si) if spread else 0.0
    skewed = found.si > 0.0 and u > 0.1 * found.si and dimension != "temperature"
    draft.values[path] = Value(
        path,
        found.si,
        found.unit,
        u,
        "assumed",
        note=why,
        distribution="lognormal" if skewed else "normal",
    )


def quantity(
    path: str,
    unit: str,
    digits: int,
    spread: str,
    why: str,
    figure: Figure,
    when: When = always,
    dimension: str = "length",
) -> Rule:
    """Rule for a quantity."""
    return Rule(path, why, figure, None, unit, dimension, digits, spread, when)


def word(path: str, why: str, choose: Word, when: When = always) -> Rule:
    """Rule for a word, a count or a list."""
    return Rule(path, why, None, choose, when=when)


def apply_all(rules: Sequence[Rule | Many], draft: Draft) -> tuple[list[Assumption], list[str]]:
    """Apply rules in order; what was assumed, and the fields whose rules lacked an input.

    A rule lacks an input only where the file has a fault, which the checks name.
    """
    made, lacking = [], []
    for rule in rules:
        try:
            found = rule.apply(draft)
        except (KeyError, ZeroDivisionError, ValueError, InputError):
            lacking.append(rule.path)
            continue
        if found is not None:
            made.append(found)
    return made, lacking
