"""Writes ``docs/catalogue.md`` from the data, so that the page cannot differ from them.

Run ``python -m blockwright.build.catalogue.page > docs/catalogue.md`` after a change.
"""

from __future__ import annotations

from collections.abc import Iterable

from . import rows
from .entry import Figure, Row
from .plain_units import unit as scale
from .reading import FILES

_TITLES = {
    "grey_iron": "Grey irons",
    "ductile_iron": "Ductile irons",
    "steel": "Steels",
    "aluminium": "Aluminium alloys",
    "thread": "Threads",
    "grade": "Fastener grades",
    "fuel": "Fuels",
}

_HEAD = """\
# Catalogue

Written from the data in `src/blockwright/build/catalogue/`; do not edit by hand.

Each figure is followed by its standard uncertainty. The mark after it says how well it is known:
P published and read, C computed from the row, M from memory, T common practice of the trade,
A assumed here. Figures marked M to A are leads, not proof: a measured value in the build file
goes before any of them.
"""

_MARKS = {"published": "P", "computed": "C", "from memory": "M", "common practice": "T", "assumed": "A"}


def markdown() -> str:
    """The whole page."""
    parts = [_HEAD, *(_section(name) for name in FILES), _models()]
    return "\n".join(part for part in parts if part)


def _section(table: str) -> str:
    known = list(rows(table).values())
    fields = list(known[0].figures)
    lines = [f"## {_TITLES[table]}", ""]
    lines += _grid(
        ["row", *fields], ([f"`{r.name}`", *(_cell(r.figures.get(f)) for f in fields)] for r in known)
    )
    lines += ["", "Sources:", ""]
    lines += [f"- {words}: {', '.join(who)}" for words, who in _sources(known).items()]
    notes = _notes(known)
    if notes:
        lines += ["", "Notes:", "", *notes]
    return "\n".join(lines) + "\n"


def _grid(head: list[str], body: Iterable[list[str]]) -> list[str]:
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    return lines + ["| " + " | ".join(cells) + " |" for cells in body]


def _cell(figure: Figure | None) -> str:
    if figure is None:
        return "none"
    unit = "" if figure.unit == "1" else f" {figure.unit}"
    size = f"{figure.value:.6g}{unit}"
    if figure.u:
        size += f" ± {figure.u / scale(figure.unit).factor:.2g}"
    return f"{size} {_MARKS[figure.status]}"


def _sources(known: list[Row]) -> dict[str, list[str]]:
    """Every source with the fields it serves, in the order met."""
    found: dict[str, list[str]] = {}
    for row in known:
        for field, figure in row.figures.items():
            fields = found.setdefault(figure.source, [])
            if field not in fields:
                fields.append(field)
    return found


def _notes(known: list[Row]) -> list[str]:
    found: dict[str, str] = {}
    for row in known:
        for field, figure in row.figures.items():
            if figure.note:
                found.setdefault(f"- {field}: {figure.note}", "")
    return list(found)


def _models() -> str:
    """Constants and errors of the models; the text of a row goes with its figure."""
    known = rows("model")
    if not known:
        return ""
    body = ([f"`{r.name}`", _cell(r.figure("value")), r.text("meaning"), r.source] for r in known.values())
    lines = ["## Model constants", "", *_grid(["name", "value", "meaning", "source"], body)]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(markdown(), end="")
