"""The answer for a terminal: the verdict in words and one table, a hundred columns wide."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from ..life.verdict import Limit, Measurement, Point, Reinforcement, Verdict
from . import duty, words
from .sheet import WIDTH, Sheet, sheet

_MARK = " *"
_WORST, _ASSUMED = 10, 5


def judge_text(verdict: Verdict, *, width: int = WIDTH, ascii_only: bool | None = None) -> str:
    """What `blockwright judge` prints.

    Parameters
    ----------
    verdict : Verdict
        What is told.
    width : int
        Columns at most; at least 72.
    ascii_only : bool, optional
        For an output that cannot take UTF-8: signs become words.  By default as standard output is.

    Returns
    -------
    str
        Lines of at most `width` columns, without a last line break.
    """
    paper = sheet(width, ascii_only)
    parts: list[list[str]] = [
        _head(verdict, paper),
        _limits(verdict, paper),
        _how(verdict, paper),
        _duty(verdict.points, paper),
        _ceiling(verdict, paper),
        _changes(verdict.reinforcements, paper),
        _measure(verdict.measure_next, words.rest_of_doubt(verdict), paper),
        _assumed(verdict, paper),
        _listed("Not modelled", verdict.not_modelled, paper),
        _listed("Warnings", verdict.warnings, paper),
        _listed("Cautions", verdict.cautions, paper),
    ]
    return paper.finish("\n\n".join("\n".join(part) for part in parts if part))


def _head(v: Verdict, paper: Sheet) -> list[str]:
    name = paper.paragraph(v.name + (" (INVENTED)" if v.invented else ""))
    told = (
        f"Chance of living through the duty: {words.chance(v.survival)} ({words.chance(v.accepted)} "
        "is asked). "
        f"Power {words.quantity_with_spread(v.power)}, peak pressure "
        f"{words.quantity_with_spread(v.peak_pressure)}."
    )
    return [*paper.paragraph(v.sentence), "", *name, *paper.paragraph(told)]


def _limits(v: Verdict, paper: Sheet) -> list[str]:
    """The worst limits: name, place, demand, capacity, margin with spread, chance, state."""
    found = words.groups(v.limits)
    if not found:
        return []
    cells = [_cells(g.worst, v.accepted) for g in found[:_WORST]]
    heads = ("limit", "place", "demand", "capacity", "margin (5 to 95 %)", "chance", "state")
    sizes = [max(len(row[k]) for row in [heads, *cells]) for k in range(len(heads))]
    spare = paper.width - (sum(sizes) + 2 * (len(sizes) - 1))
    while spare < 0 and sizes[0] + sizes[1] > 24:
        longer = 0 if sizes[0] >= sizes[1] + 4 else 1
        sizes[longer] -= 1
        spare += 1
    more = f", the {_WORST} worst of {len(found)}" if len(found) > _WORST else ""
    lines = [f"Limits, each at its worst place{more}"]
    for row in [heads, *cells]:
        # Words to the left, on as many lines as they need; figures to the right.
        blocks = [
            paper.block(cell, size) if k < 2 else [paper.words(cell)]
            for k, (cell, size) in enumerate(zip(row, sizes, strict=True))
        ]
        for parts in itertools.zip_longest(*blocks, fillvalue=""):
            texts = [
                part.ljust(size) if k in (0, 1, 6) else part.rjust(size)
                for k, (part, size) in enumerate(zip(parts, sizes, strict=True))
            ]
            lines.append("  ".join(texts).rstrip()[: paper.width])
    if any(_strays(g.worst) for g in found[:_WORST]):
        lines.append(f"{_MARK.strip()} a value lies outside the range of a formula: see below")
    return lines


def _how(v: Verdict, paper: Sheet) -> list[str]:
    """The command that shows where the first figure of the table comes from."""
    found = words.groups(v.limits)[:1]
    told = [f"How the first came about: blockwright explain BUILD.toml {g.worst.id}" for g in found]
    return [line for text in told for line in paper.paragraph(text)]


def _duty(points: Sequence[Point], paper: Sheet) -> list[str]:
    """A line for each point of the duty."""
    if not points:
        return []
    told = "Gas at the points of the duty (5 to 95 %); spark left before knock, below 0 it knocks"
    lines = paper.paragraph(told)
    for spread in (True, False):
        rows = [duty.HEADS, *(duty.cells(p, spread) for p in points)]
        rows = [tuple(paper.words(cell) for cell in row) for row in rows]
        sizes = [max(map(len, column)) for column in zip(*rows, strict=True)]
        if sum(sizes) + 2 * (len(sizes) - 1) <= paper.width:
            break
    for row in rows:
        texts = [cell.rjust(size) for cell, size in zip(row[:-1], sizes[:-1], strict=True)]
        lines.append("  ".join([*texts, row[-1]]).rstrip()[: paper.width])
    return lines


def _cells(limit: Limit, accepted: float) -> tuple[str, ...]:
    same = limit.demand.unit == limit.capacity.unit
    return (
        limit.name,
        words.place(limit),
        words.number(limit.demand.value) if same else words.quantity(limit.demand),
        words.quantity(limit.capacity),
        words.margin(limit.margin),
        words.chance(limit.survival),
        words.state(limit, accepted).word + (_MARK if _strays(limit) else ""),
    )


def _strays(limit: Limit) -> bool:
    """Whether a value that the limit rests on lies outside a formula's range."""
    return any(" outside " in note for note in limit.notes)


def _ceiling(v: Verdict, paper: Sheet) -> list[str]:
    c = v.ceiling
    found = words.quantity_with_spread(c.power) if c.power else "none found"
    text = f"Ceiling: {found}. {words.sentence(c.reason)}"
    if c.checked is not None:
        text += f" The full model run again there gives {words.chance(c.checked)}."
    powers = [
        f"{per}{words.FIXED}% at {words.with_unit(power, c.fails_at.unit)}"
        for per, power in ((5, c.fails_at.p05), (50, c.fails_at.p50), (90, c.fails_at.p90))
        if power is not None
    ]
    if powers:
        text += f" Would have failed: {', '.join(powers)}."
    return paper.paragraph(text, hang="  ")


def _changes(options: Sequence[Reinforcement], paper: Sheet) -> list[str]:
    if not options:
        return []
    lines = ["Changes"]
    for o in options:
        text = f"{o.name}: "
        if o.ceiling is not None:
            text += f"ceiling {words.quantity_with_spread(o.ceiling)}"
        else:
            text += o.reason if o.survival is None else f"no ceiling found ({o.reason})"
        text += f", chance at today's power {words.chance(o.survival)}" if o.survival is not None else ""
        text += f", first to go then: {o.governing}" if o.governing else ""
        lines += paper.paragraph(text, "  ", "    ")
    return lines


def _measure(wanted: Sequence[Measurement], rest: str, paper: Sheet) -> list[str]:
    if not wanted:
        return []
    lines = ["Measure next (share of the doubt)"]
    for m in wanted:
        now = words.quantity_with_spread(m.now)
        text = f"{words.chance(m.share)} {m.name}, {m.path}, now {now}, {m.by}: {m.advice}"
        lines += paper.paragraph(text, "  ", "    ")
    lines += paper.paragraph(rest, "  ", "    ") if rest else []
    return lines


def _assumed(v: Verdict, paper: Sheet) -> list[str]:
    """How many values are assumed, those first that are also worth measuring."""
    count = len(v.assumptions)
    if not count:
        return []
    wanted = [m.path for m in v.measure_next]
    order = sorted(v.assumptions, key=lambda a: wanted.index(a.path) if a.path in wanted else len(wanted))
    named = "; ".join(f"{a.path} = {a.value}" for a in order[:_ASSUMED])
    more = f"; and {count - _ASSUMED} more (--report lists all)" if count > _ASSUMED else ""
    return paper.paragraph(f"Assumed, {count} value{'' if count == 1 else 's'}: {named}{more}.", hang="  ")


def _listed(title: str, items: Iterable[str], paper: Sheet) -> list[str]:
    lines = [line for item in items for line in paper.paragraph(item, "  - ", "    ")]
    return [title, *lines] if lines else []
