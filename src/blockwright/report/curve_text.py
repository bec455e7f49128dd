"""The power curve for a terminal: one sentence, one table, what to know beside it; a hundred columns wide."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeAlias

from ..life.verdict import Quantity
from . import words
from .curve_record import Corrected, Curve, CurvePoint, Doubt
from .sheet import WIDTH, Sheet, sheet

_Column: TypeAlias = tuple[str, Callable[[CurvePoint], Quantity | None]]

#: Columns of the table: head, figure.
_COLUMNS: tuple[_Column, ...] = (
    ("speed", lambda p: p.speed),
    ("power", lambda p: p.power),
    ("torque", lambda p: p.torque),
    ("bmep", lambda p: p.bmep),
    ("vol. eff.", lambda p: p.volumetric_efficiency),
    ("peak", lambda p: p.peak_pressure),
    ("knock", lambda p: p.knock_margin),
    ("back", lambda p: p.back_pressure),
    ("fuel", lambda p: p.fuel_flow),
    ("exhaust", lambda p: p.exhaust_temperature),
)
#: Stands behind the table's first column where a remark touches the point.
_MARK = "*"


def curve_text(curve: Curve, *, width: int = WIDTH, ascii_only: bool | None = None) -> str:
    """What `blockwright curve` prints.

    Parameters
    ----------
    curve : Curve
    width : int
        Columns at most; at least 72.
    ascii_only : bool, optional
        For an output that cannot take UTF-8; by default as standard output is.
    """
    paper = sheet(width, ascii_only)
    parts = [
        _head(curve, paper),
        _target(curve, paper),
        _table(curve, paper),
        _missing(curve, paper),
        _standards(curve, paper),
        _unknown(curve, paper),
        _listed("What moves the power most (share of its doubt)", _doubts(curve), paper),
        _listed("To know", curve.notes, paper),
    ]
    return paper.finish("\n\n".join("\n".join(part) for part in parts if part))


def _head(curve: Curve, paper: Sheet) -> list[str]:
    power, torque = curve.best_power.value, curve.best_torque.value
    told = (
        f"Uncorrected, in air of {words.quantity(curve.air_pressure)}, "
        f"{words.quantity(curve.air_temperature)} and {words.quantity(curve.humidity)} humidity. "
        f"Best power {words.quantity_with_spread(power)}, best torque {words.quantity_with_spread(torque)}, "
        f"5 to 95 %. Wanted: {words.quantity(curve.wanted)} at {words.quantity(curve.wanted_speed)}."
    )
    if curve.invented:
        told += f" {curve.name} is INVENTED."
    return [*paper.paragraph(curve.sentence), "", *paper.paragraph(told)]


def _target(curve: Curve, paper: Sheet) -> list[str]:
    found = curve.target
    if found is None:
        return []
    text = f"Target: {found.sentence} Peak pressure there {words.quantity(found.peak_pressure)}."
    if found.unchecked:
        text += f" Not looked at: {'; '.join(found.unchecked)}."
    return paper.paragraph(text, hang="  ")


def _table(curve: Curve, paper: Sheet) -> list[str]:
    """Heads, units, and one line a speed; the power with its spread; standards asked for at the end."""
    known = [(head, get) for head, get in _COLUMNS if any(get(p) is not None for p in curve.points)]
    heads, units = [], []
    for head, get in known:
        unit = next(words.unit_words(q.unit) for p in curve.points if (q := get(p)) is not None)
        heads.append(head)
        units.append(unit)
        if head == "power":
            heads.append("5 to 95 %")
            units.append(unit)
    decimals = {head: _decimals(get(p) for p in curve.points) for head, get in known}
    rows = [_row(point, known, decimals) for point in curve.points]
    sizes = [max(len(paper.words(row[k])) for row in [heads, units, *rows]) for k in range(len(heads))]
    lines = []
    for row in [heads, units, *rows]:
        cells = [paper.words(cell).rjust(size) for cell, size in zip(row, sizes, strict=True)]
        lines.append("  ".join(cells).rstrip())
    remarks = dict.fromkeys(remark for p in curve.points for remark in p.remarks)
    for remark in remarks:
        lines += paper.paragraph(f"{_MARK} {remark}", hang="  ")
    return lines


def _row(point: CurvePoint, known: Sequence[_Column], decimals: Mapping[str, int]) -> list[str]:
    row = []
    for head, get in known:
        figure = get(point)
        row.append("" if figure is None else f"{figure.value:,.{decimals[head]}f}")
        if head == "speed" and point.remarks:
            row[-1] = f"{_MARK} {row[-1]}"
        if head == "power":
            row.append(words.spread_words(figure))
    return row


def _decimals(figures: Iterable[Quantity | None]) -> int:
    """Decimals that show three figures of the largest of a column, so that the points stand in line."""
    largest = max((abs(q.value) for q in figures if q is not None), default=0.0)
    return 0 if largest >= 100.0 else 1 if largest >= 10.0 else 2 if largest >= 1.0 else 3


def _missing(curve: Curve, paper: Sheet) -> list[str]:
    return _listed("No figure at", (f"{words.quantity(m.speed)}: {m.reason}" for m in curve.missing), paper)


def _standards(curve: Curve, paper: Sheet) -> list[str]:
    """Best power in the air of each standard, or why not."""
    top = max(curve.points, key=lambda p: p.power.value)
    if top.corrected and all(found.power is None for found in top.corrected):
        names = ", ".join(standard.name for standard in curve.standards)
        return paper.paragraph(f"Not corrected to {names}: {'; '.join(top.corrected[0].reasons)}.", hang="  ")
    told = [
        f"{standard.name} ({standard.reference}): {corrected_words(found)}; {standard.remark}"
        for standard, found in zip(curve.standards, top.corrected, strict=True)
    ]
    return _listed("Best power in the air of a standard", told, paper)


def corrected_words(found: Corrected) -> str:
    """A corrected power with its factor, and whether it may carry the standard's name."""
    if found.power is None or found.factor is None:
        return f"not corrected: {'; '.join(found.reasons)}"
    text = f"{words.quantity(found.power)}, factor {found.factor:.3f}"
    return text if found.within else f"{text}, outside the standard: {'; '.join(found.reasons)}"


def _unknown(curve: Curve, paper: Sheet) -> list[str]:
    """Columns that are empty throughout, once each, with the reason."""
    told = {}
    for name in curve.points[0].unknown:
        reasons = {p.unknown.get(name) for p in curve.points}
        if len(reasons) == 1 and None not in reasons and name in _WANTED:
            told[name] = f"{name.replace('_', ' ')}: {curve.points[0].unknown[name]}"
    return _listed("Not known", told.values(), paper)


#: Figures whose absence is told: boost and nitrous that an engine does not have are not missed.
_WANTED = frozenset({"knock_margin", "fuel_consumption"})


def _doubts(curve: Curve) -> list[str]:
    return [f"{words.chance(d.share)} {doubt_words(d)}" for d in curve.doubts if d.share >= 0.02]


def doubt_words(doubt: Doubt) -> str:
    """A doubt's name for people: the field of the build, or the model's constant and what it is."""
    kind, _, name = doubt.name.partition(" ")
    return name if kind == "build" else f"{name.partition('.')[2].replace('_', ' ')} of the gas model"


def _listed(title: str, items: Iterable[str], paper: Sheet) -> list[str]:
    lines = [line for item in items for line in paper.paragraph(item, "  - ", "    ")]
    return [title, *lines] if lines else []
