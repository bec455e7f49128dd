"""Which cranks are common, and how an order fires on the crank of a draft."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .draft import Draft
from .firing import Firing, firing

#: Usual angle between the banks by number of cylinders [deg].
BANK_ANGLES = {6: 60.0, 8: 90.0, 10: 72.0, 12: 60.0}
_WIDEST_SPLIT = 60.0


def _same(a: float, b: float) -> bool:
    return abs((a - b + 180.0) % 360.0 - 180.0) < 0.1


def _distinct(throws: Sequence[float]) -> bool:
    return not any(_same(a, b) for k, a in enumerate(throws) for b in throws[:k])


def is_common(kind: str, cylinders: int, throws: Sequence[float]) -> bool:
    """Whether such a crank is made: the halves of an even inline crank mirror each other,
    those of a V8 mirror each other or cross, and an odd number of pins are spread evenly.

    Without this test any order would find a crank that fires it.
    """
    n = len(throws)
    mirrored = all(_same(throws[k], throws[n - 1 - k]) for k in range(n))
    if n < 3 or (kind == "flat" and n == cylinders):
        return True
    if n % 2:
        return _distinct(throws)
    if kind == "inline":
        return mirrored
    opposed = all(_same(throws[k], throws[n - 1 - k] + 180.0) for k in range(n))
    return mirrored or (opposed and _distinct(throws))


def phase(d: Draft, numbering: str, split: float | None = None) -> Firing | str:
    """Phases of the draft's cylinders, or what is wrong with the order.

    Parameters
    ----------
    d : Draft
        With kind, cylinders, firing order and bank angle; throws when given.
    numbering : str
        ``"alternating"`` or ``"by-bank"``.
    split : float or None
        Setback of split pins [deg]; None takes the default for that numbering.
    """
    kind, cylinders = d.word("layout.kind"), d.count("layout.cylinders")
    order = d.numbers("layout.firing_order")
    between = math.degrees(d.si("layout.bank_angle"))
    throws = [math.degrees(angle) for angle in d.series("layout.throws")] or None
    if split is None:
        split = default_split(d, numbering)
    found = firing(kind, cylinders, order, between, throws, split, numbering)
    if isinstance(found, str) or throws is not None or is_common(kind, cylinders, found.throws):
        return found
    return (
        f"no common crank of {cylinders} cylinders fires in that order; check the order and the numbering, "
        "or give layout.throws as they are"
    )


def default_split(d: Draft, numbering: str) -> float:
    """Setback of split pins [deg]: 0, or the least that lets a V of shared pins fire evenly."""
    kind, cylinders = d.word("layout.kind"), d.count("layout.cylinders")
    if kind != "V" or cylinders < 6 or d.series("layout.throws"):
        return 0.0
    between = math.degrees(d.si("layout.bank_angle"))
    interval = 720.0 / cylinders
    steps = {round(k * interval - between, 6) for k in range(4)}
    splits = sorted((s for s in steps if abs(s) <= _WIDEST_SPLIT), key=lambda s: (abs(s), -s))
    for split in splits:
        if isinstance(phase(d, numbering, split), Firing):
            return split
    return 0.0
