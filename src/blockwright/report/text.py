"""The answer for a terminal: the verdict in words and one table, a hundred columns wide."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..life.verdict import Limit, Measurement, Reinforcement, Verdict
from . import words

WIDTH = 100
_WORST, _ASSUMED = 10, 5
#: Stands for an unbreakable blank while lines are broken; a private character no file holds.
_GLUE = "\ue000"


def judge_text(verdict: Verdict, *, width: int = WIDTH, ascii_only: bool = False) -> str:
    """What `blockwright judge` prints.

    Parameters
    ----------
    verdict : Verdict
        What is told.
    width : int
        Columns at most; at least 72.
    ascii_only : bool
        For an output that cannot take UTF-8: signs become words.

    Returns
    -------
    str
        Lines of at most `width` columns, ending in a line break.
    """
    sheet = Sheet(max(width, 72), ascii_only)
    parts: list[list[str]] = [
        _head(verdict, sheet),
        _limits(verdict, sheet),
        _ceiling(verdict, sheet),
        _changes(verdict.reinforcements, sheet),
        _measure(verdict.measure_next, sheet),
        _assumed(verdict, sheet),
        _listed("Not modelled", verdict.not_modelled, sheet),
        _listed("Outside a model's range", verdict.warnings, sheet),
        _listed("Cautions", verdict.cautions, sheet),
    ]
    return sheet.finish("\n\n".join("\n".join(part) for part in parts if part))


@dataclass(frozen=True)
class Sheet:
    """What is printed on: so many columns, of UTF-8 or of plain ASCII."""

    width: int
    ascii_only: bool

    def words(self, text: str) -> str:
        """The text on one line, in signs that the sheet takes."""
        text = words.one_line(text.replace(words.FIXED, _GLUE)).replace(_GLUE, words.FIXED)
        if not self.ascii_only:
            return text
        return words.FIXED.join(words.ascii_only(part) for part in text.split(words.FIXED))

    def paragraph(self, text: str, indent: str = "", hang: str | None = None) -> list[str]:
        """The text in lines that fit; later lines begin with `hang`."""
        lines = textwrap.wrap(
            self.words(text).replace(words.FIXED, _GLUE),
            self.width,
            initial_indent=indent,
            subsequent_indent=indent if hang is None else hang,
        )
        return [line.replace(_GLUE, " ") for line in lines]

    def cell(self, text: str, room: int) -> str:
        """The text in one table cell, cut with dots where it is too long."""
        text = self.words(text)
        return text if len(text) <= room else text[: room - 3].rstrip() + "..."

    def finish(self, text: str) -> str:
        """Text as it goes out: ordinary blanks, none at a line's end, one line break last."""
        text = words.clean(text.replace(words.FIXED, " "))
        if self.ascii_only:
            text = "\n".join(words.ascii_only(line) for line in text.split("\n"))
        return "\n".join(line.rstrip() for line in text.split("\n")) + "\n"


def _head(v: Verdict, sheet: Sheet) -> list[str]:
    name = sheet.paragraph(v.name + (" (INVENTED)" if v.invented else ""))
    told = (
        f"Chance of living through the duty: {words.chance(v.survival)} ({words.chance(v.accepted)} "
        "is asked). "
        f"Power {words.quantity_with_spread(v.power)}, peak pressure "
        f"{words.quantity_with_spread(v.peak_pressure)}."
    )
    return [*sheet.paragraph(v.sentence), "", *name, *sheet.paragraph(told)]


def _limits(v: Verdict, sheet: Sheet) -> list[str]:
    """The worst limits: name, place, demand, capacity, margin with spread, chance, state."""
    found = words.groups(v.limits)
    if not found:
        return []
    cells = [_cells(g.worst, v.accepted) for g in found[:_WORST]]
    heads = ("limit", "place", "demand", "capacity", "margin (5 to 95 %)", "chance", "state")
    sizes = [max(len(row[k]) for row in [heads, *cells]) for k in range(len(heads))]
    spare = sheet.width - (sum(sizes) + 2 * (len(sizes) - 1))
    while spare < 0 and sizes[0] + sizes[1] > 24:
        longer = 0 if sizes[0] >= sizes[1] + 4 else 1
        sizes[longer] -= 1
        spare += 1
    more = f", the {_WORST} worst of {len(found)}" if len(found) > _WORST else ""
    lines = [f"Limits, each at its worst place{more}"]
    for row in [heads, *cells]:
        # Words to the left, figures to the right, as they are read.
        texts = [
            sheet.cell(cell, size).ljust(size) if k in (0, 1, 6) else cell.rjust(size)
            for k, (cell, size) in enumerate(zip(row, sizes, strict=True))
        ]
        lines.append("  ".join(texts).rstrip()[: sheet.width])
    return lines


def _cells(limit: Limit, accepted: float) -> tuple[str, ...]:
    same = limit.demand.unit == limit.capacity.unit
    return (
        limit.name,
        limit.place,
        words.number(limit.demand.value) if same else words.quantity(limit.demand),
        words.quantity(limit.capacity),
        words.margin(limit.margin),
        words.chance(limit.survival),
        words.state(limit, accepted).word,
    )


def _ceiling(v: Verdict, sheet: Sheet) -> list[str]:
    c = v.ceiling
    text = f"Ceiling: {words.quantity_with_spread(c.power) if c.power else 'none found'}; {c.reason}."
    if c.checked is not None:
        text += f" The full model run again there gives {words.chance(c.checked)}."
    powers = [
        f"{per} % at {words.with_unit(power, c.fails_at.unit)}"
        for per, power in ((5, c.fails_at.p05), (50, c.fails_at.p50), (90, c.fails_at.p90))
        if power is not None
    ]
    if powers:
        text += f" Would have failed: {', '.join(powers)}."
    return sheet.paragraph(text, hang="  ")


def _changes(options: Sequence[Reinforcement], sheet: Sheet) -> list[str]:
    if not options:
        return []
    lines = ["Changes"]
    for o in options:
        text = f"{o.name}: "
        if o.ceiling is None:
            text += f"no ceiling yet; {o.reason}"
        else:
            text += f"ceiling {words.quantity_with_spread(o.ceiling)}"
            text += f", chance at today's power {words.chance(o.survival)}" if o.survival is not None else ""
            text += f", then {o.governing} governs" if o.governing else ""
        lines += sheet.paragraph(text, "  ", "    ")
    return lines


def _measure(wanted: Sequence[Measurement], sheet: Sheet) -> list[str]:
    if not wanted:
        return []
    lines = ["Measure next (share of the doubt)"]
    for m in wanted:
        now = words.quantity_with_spread(m.now)
        text = f"{words.chance(m.share)} {m.name}, {m.path}, now {now}, {m.by}: {m.advice}"
        lines += sheet.paragraph(text, "  ", "    ")
    return lines


def _assumed(v: Verdict, sheet: Sheet) -> list[str]:
    """How many values are assumed, those first that are also worth measuring."""
    count = len(v.assumptions)
    if not count:
        return []
    wanted = [m.path for m in v.measure_next]
    order = sorted(v.assumptions, key=lambda a: wanted.index(a.path) if a.path in wanted else len(wanted))
    named = "; ".join(f"{a.path} = {a.value}" for a in order[:_ASSUMED])
    more = f"; and {count - _ASSUMED} more (--report lists all)" if count > _ASSUMED else ""
    return sheet.paragraph(f"Assumed, {count} value{'' if count == 1 else 's'}: {named}{more}.", hang="  ")


def _listed(title: str, items: Iterable[str], sheet: Sheet) -> list[str]:
    lines = [line for item in items for line in sheet.paragraph(item, "  - ", "    ")]
    return [title, *lines] if lines else []
