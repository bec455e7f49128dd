"""Which cylinder is where, and when it fires: banks, throws, dead centres, firing angles.

Pure functions of the layout's words and angles (degrees here, because firing
angles are sums of simple fractions of a turn and must wrap exactly).

Turning sense.  All angles are counted in the direction in which the crank turns.
The `lead` is +1 when the crank turns from bank A towards bank B (bank A's piston
on a shared pin reaches the top first) and -1 when it turns from B towards A.
Both exist among engines that turn clockwise seen from the front, because makers
differ in the bank they call first; the firing order tells which one it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

#: Two dead centres nearer than this are the same angle [deg].
_SAME = 0.05


@dataclass(frozen=True)
class Firing:
    """Phase of every cylinder; sequences run over cylinders 1..n in order.

    Attributes
    ----------
    bank : tuple of int
        0 for bank A (or the only bank), 1 for bank B.
    row : tuple of int
        Place of the cylinder in its bank, 0 at the front.
    throw : tuple of int
        Throw that carries its rod, 0 at the front.
    lead : int
        +1 when the crank turns from bank A towards bank B, -1 the other way.
    throws : tuple of float
        Angle of bank A's half of each crankpin, ahead of throw 1 in the turning sense [deg].
    pin : tuple of float
        Angle of each cylinder's own crankpin (half), same datum [deg].
    tdc : tuple of float
        Crank angle of top dead centre after that of cylinder 1, 0..360 [deg].
    firing : tuple of float
        Crank angle at which it fires after cylinder 1, 0..720 [deg].
    """

    bank: tuple[int, ...]
    row: tuple[int, ...]
    throw: tuple[int, ...]
    lead: int
    throws: tuple[float, ...]
    pin: tuple[float, ...]
    tdc: tuple[float, ...]
    firing: tuple[float, ...]

    @property
    def even(self) -> bool:
        """Whether the cylinders fire at equal intervals."""
        steps = sorted(self.firing)
        each = 720.0 / len(steps)
        return all(abs(angle - k * each) < _SAME for k, angle in enumerate(steps))


def _wrap(angle: float, turn: float) -> float:
    """Angle in [0, turn), with rounding dust removed so that 359.9999999 is 0."""
    return round(angle % turn, 9) % turn


def banks_and_rows(kind: str, cylinders: int, numbering: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Bank (0 A, 1 B) and place in the bank (0 at the front) of cylinders 1..n.

    ``alternating``: odd numbers in bank A, even ones in bank B, from the front;
    ``by-bank``: bank A from the front first, then bank B.  An inline engine has bank A only.
    """
    if kind == "inline":
        return (0,) * cylinders, tuple(range(cylinders))
    if numbering == "by-bank":
        half = cylinders // 2
        return (0,) * half + (1,) * half, tuple(range(half)) * 2
    return tuple(c % 2 for c in range(cylinders)), tuple(c // 2 for c in range(cylinders))


def throw_of(bank: Sequence[int], row: Sequence[int], n_throws: int) -> tuple[int, ...]:
    """Throw of each cylinder: shared by a pair when there are half as many throws as cylinders."""
    if n_throws == len(bank):
        both = max(bank) + 1
        return tuple(r * both + b for b, r in zip(bank, row, strict=True))
    return tuple(row)


def default_throw_count(kind: str, cylinders: int) -> int:
    """One throw a cylinder inline and in a flat engine of up to six (pistons opposed), else one a pair."""
    if kind == "inline" or (kind == "flat" and cylinders <= 6):
        return cylinders
    return cylinders // 2


def _between_banks(kind: str, bank_angle: float) -> float:
    return {"inline": 0.0, "flat": 180.0}.get(kind, bank_angle)


def throws_from_order(
    kind: str, cylinders: int, order: Sequence[int], bank_angle: float, numbering: str, lead: int
) -> tuple[float, ...]:
    """Crankpin angles that make the order fire at equal intervals, from bank A's cylinders [deg].

    With one throw a cylinder, from every cylinder.
    """
    n_throws = default_throw_count(kind, cylinders)
    bank, row = banks_and_rows(kind, cylinders, numbering)
    throw = throw_of(bank, row, n_throws)
    between = _between_banks(kind, bank_angle)
    interval = 720.0 / cylinders
    angles = [0.0] * n_throws
    start = list(order).index(1)
    for cylinder in range(cylinders):
        if n_throws == cylinders or bank[cylinder] == 0:
            fires = interval * (list(order).index(cylinder + 1) - start)
            angles[throw[cylinder]] = lead * between * bank[cylinder] - fires
    first = angles[0]
    return tuple(_wrap(angle - first, 360.0) for angle in angles)


def _assign(order: Sequence[int], tdc: Sequence[float]) -> tuple[tuple[float, ...], float] | None:
    """Firing angles on the given dead centres in the given order, nearest to equal intervals.

    Each cylinder may fire at its dead centre of either turn.  Dynamic programme over the
    order: angles must rise strictly; the least sum of squared departures from equal
    intervals wins, the earlier turn on a tie.  None when no assignment rises.
    """
    n = len(order)
    start = list(order).index(1)
    turned = [*order[start:], *order[:start]]
    best: dict[float, tuple[float, tuple[float, ...]]] = {0.0: (0.0, (0.0,))}
    for place, cylinder in enumerate(turned[1:], start=1):
        ideal = 720.0 * place / n
        following: dict[float, tuple[float, tuple[float, ...]]] = {}
        for angle in (tdc[cylinder - 1], tdc[cylinder - 1] + 360.0):
            before = [entry for last, entry in best.items() if last < angle - _SAME]
            if before:
                cost, path = min(before)
                following[angle] = (cost + (angle - ideal) ** 2, (*path, angle))
        best = following
    if not best:
        return None
    cost, path = min(best.values())
    firing = [0.0] * n
    for cylinder, angle in zip(turned, path, strict=True):
        firing[cylinder - 1] = angle
    return tuple(firing), cost


def firing(
    kind: str,
    cylinders: int,
    order: Sequence[int],
    bank_angle: float = 0.0,
    throws: Sequence[float] | None = None,
    split: float = 0.0,
    numbering: str = "alternating",
) -> Firing | str:
    """Phase of every cylinder, or in words why the order cannot be.

    Parameters
    ----------
    kind : str
        ``"inline"``, ``"V"`` or ``"flat"``.
    cylinders : int
        Number of cylinders.
    order : sequence of int
        Firing order, cylinder numbers from 1.
    bank_angle : float
        Angle between the banks of a V [deg]; 0 inline and 180 flat whatever is given.
    throws : sequence of float or None
        Angle of each crankpin (bank A's half) ahead of throw 1 in the turning sense [deg];
        one a cylinder, or one a pair.  None: those that make the order fire evenly.
    split : float
        Angle by which the half pin of the bank that comes second stands back [deg], so that
        a pair on one throw reaches the top ``bank_angle + split`` apart.
    numbering : str
        ``"alternating"`` or ``"by-bank"``.

    Returns
    -------
    Firing or str
        The phases, or what is wrong, ready to follow "read ...; ".
    """
    if sorted(order) != list(range(1, cylinders + 1)):
        return f"the firing order must name each of the cylinders 1 to {cylinders} once"
    if kind != "inline" and cylinders % 2:
        return f"a {kind} engine needs an even number of cylinders"
    if throws is not None and len(throws) != cylinders and (kind == "inline" or 2 * len(throws) != cylinders):
        need = f"{cylinders}" if kind == "inline" else f"{cylinders // 2} or {cylinders}"
        return f"give {need} throws, one for each crankpin from the front"
    between = _between_banks(kind, bank_angle)
    bank, row = banks_and_rows(kind, cylinders, numbering)
    found: list[tuple[float, int, Firing]] = []
    for lead in (1, -1):
        pins = (
            tuple(throws)
            if throws is not None
            else throws_from_order(kind, cylinders, order, bank_angle, numbering, lead)
        )
        throw = throw_of(bank, row, len(pins))
        pin = [pins[t] - lead * split * b for t, b in zip(throw, bank, strict=True)]
        raw = [lead * between * b - p for b, p in zip(bank, pin, strict=True)]
        tdc = tuple(_wrap(angle - raw[0], 360.0) for angle in raw)
        assigned = _assign(order, tdc)
        if assigned is not None:
            fires, cost = assigned
            found.append(
                (round(cost, 3), -lead, Firing(bank, row, throw, lead, pins, tuple(pin), tdc, fires))
            )
    if not found:
        return (
            "no turn of this crank fires the cylinders in that order: the pins reach the top in another "
            "sequence; check the order, the throws and the numbering of the cylinders"
        )
    best = min(found, key=lambda entry: entry[:2])[2]
    if throws is None and not best.even:
        return (
            "this order cannot fire evenly with one crankpin for each pair at this bank angle; "
            "give the throws (and the split of the pins) as they are"
        )
    return best
