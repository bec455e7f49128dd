"""How one figure came about, printed: every formula, its source, and every value that went in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

import numpy as np

from ..trace import Array, FormulaInfo, Leaf, Node
from . import words
from .sheet import WIDTH, Sheet, sheet

#: SI units that read better with a prefix: (from this size, factor, unit).
_PREFIXED: Mapping[str, tuple[tuple[float, float, str], ...]] = {
    "Pa": ((1e9, 1e-9, "GPa"), (1e5, 1e-6, "MPa"), (1e3, 1e-3, "kPa")),
    "N": ((1e3, 1e-3, "kN"),),
    "W": ((1e3, 1e-3, "kW"),),
    "m": ((1.0, 1.0, "m"), (1e-4, 1e3, "mm"), (0.0, 1e6, "um")),
    "m^2": ((1.0, 1.0, "m2"), (0.0, 1e6, "mm2")),
    "m2": ((1.0, 1.0, "m2"), (0.0, 1e6, "mm2")),
    "m**2": ((1.0, 1.0, "m2"), (0.0, 1e6, "mm2")),
}
#: Axes of every array of the limits (trace and kernels): samples first, of which only the nominal is shown.
_AXES = ("samples", "duty points", "strengths of cycle", "crank angles")
_ORIGIN = {
    "build": "build",
    "catalogue": "catalogue",
    "model": "model constant",
    "kernel": "numerical solution",
}


def explain_text(
    roots: Node | Mapping[str, Node],
    *,
    title: str = "",
    notes: Iterable[str] = (),
    width: int = WIDTH,
    ascii_only: bool | None = None,
) -> str:
    """What `blockwright explain` prints: trees of formulas.

    Parameters
    ----------
    roots : Node, or mapping of name to Node
        The traced result, or several of them ("demand", "capacity") that share inputs.
    title : str
        First line; the result's own title when empty.
    notes : iterable of str
        Printed at the end, one paragraph each.
    width : int
        Columns at most; at least 72.
    ascii_only : bool
        As in `text.judge_text`.

    Returns
    -------
    str
        Results first; then every formula once, numbered, each naming its inputs by number;
        then every value that came from outside, once.

    Notes
    -----
    Arrays (sample, point, cycle, angle) are shown at sample 0, the nominal engine, by their
    entry of largest size, with their smallest and largest and how many there are beside it.
    """
    paper = sheet(width, ascii_only)
    named = {"": roots} if isinstance(roots, Node) else dict(roots)
    book = _Numbers(named.values())
    lines: list[str] = []
    if title:
        lines += [*paper.paragraph(title), ""]
    for name, node in named.items():
        what = name or (
            words.one_line(node.formula.title)
            if node.formula
            else words.one_line(node.leaf.name if node.leaf else "")
        )
        lines += paper.paragraph(
            f"{what} = {value_text(node.value, _unit(node))}  {book.of(node)}", hang="  "
        )
    if book.formulas:
        lines += ["", "How, step by step"]
        for node in book.formulas:
            lines += _formula(node, book, paper)
    if book.leaves:
        lines += ["", "What went in"]
        for node in book.leaves:
            lines += _leaf(node, book, paper)
    for note in notes:
        lines += ["", *paper.paragraph(note)]
    return paper.finish("\n".join(lines))


class _Numbers:
    """Numbers of the nodes: formulas [1], [2] from the result down, outer values [a1], [a2]."""

    def __init__(self, roots: Iterable[Node]) -> None:
        self.formulas: list[Node] = []
        self.leaves: list[Node] = []
        self._names: dict[object, str] = {}
        given = list(roots)
        ordered: list[Node] = []
        seen: set[int] = set()
        for root in reversed(given):
            ordered += [n for n in root.walk() if id(n) not in seen]
            seen.update(id(n) for n in ordered)
        # `walk` gives inputs first; read backwards, each result stands before what it is made of.
        for node in reversed(ordered):
            key = self._key(node)
            if key in self._names:
                continue
            if node.formula is not None:
                self.formulas.append(node)
                self._names[key] = f"[{len(self.formulas)}]"
            else:
                self.leaves.append(node)
                self._names[key] = f"[a{len(self.leaves)}]"

    @staticmethod
    def _key(node: Node) -> object:
        """A formula's node is itself; two leaves are one when origin and values agree."""
        if node.leaf is None:
            return id(node)
        return (node.leaf, node.value.shape, node.value.tobytes())

    def of(self, node: Node) -> str:
        return self._names[self._key(node)]


def _unit(node: Node) -> str:
    if node.formula is not None:
        return node.formula.unit
    return node.leaf.unit if node.leaf is not None else "1"


def _formula(node: Node, book: _Numbers, paper: Sheet) -> list[str]:
    info = node.formula
    assert info is not None
    lines = ["", *paper.paragraph(f"{book.of(node)} {_title(info)}", hang="    ")]
    lines += paper.paragraph(f"{info.symbol} = {value_text(node.value, info.unit)}", "    ", "      ")
    lines += paper.paragraph(info.equation, "    ", "      ")
    lines += paper.paragraph(f"source: {info.source}", "    ", "      ")
    if info.valid:
        lines += paper.paragraph(f"holds for: {info.valid}", "    ", "      ")
    for name, given in node.inputs.items():
        lines += paper.paragraph(
            f"{name} = {value_text(given.value, _unit(given))}  {book.of(given)}", "      ", "        "
        )
    for name, setting in node.settings.items():
        lines += paper.paragraph(f"{name}: {_setting(setting)}", "      ", "        ")
    return lines


def _setting(setting: object) -> str:
    """A plain argument of a formula: numbers shortened, arrays as values are."""
    if isinstance(setting, (float, np.ndarray, np.floating)):
        return value_text(np.asarray(setting), "1")
    return str(setting)


def _leaf(node: Node, book: _Numbers, paper: Sheet) -> list[str]:
    leaf = node.leaf or Leaf("", "value", "1")
    text = f"{book.of(node)} {leaf.name}"
    text += f", {leaf.place}" if leaf.place else ""
    text += f" = {value_text(node.value, leaf.unit)}"
    text += (
        f", standard uncertainty {value_text(np.asarray(leaf.spread), leaf.unit)}"
        if leaf.spread
        else ", no spread"
    )
    origin = _ORIGIN.get(leaf.kind, leaf.kind)
    origin += f", {leaf.provenance}" if leaf.provenance else ""
    origin += f"; source: {leaf.source}" if leaf.source else ""
    origin += f"; key {leaf.key}" if leaf.key else ""
    return [*paper.paragraph(text, "", "     "), *paper.paragraph(origin, "     ")]


def value_text(value: Array, unit: str) -> str:
    """A value with its unit; an array by its entry of largest size at the nominal sample."""
    nominal = np.asarray(value, dtype=float)
    nominal = nominal[:1] if nominal.ndim == 4 else nominal
    known = nominal[np.isfinite(nominal)]
    if known.size == 0:
        return words.number(float(nominal.flat[0])) if nominal.size else "empty"
    worst = float(known.flat[int(np.argmax(np.abs(known)))])
    text = _scaled(worst, unit)
    if nominal.size > 1:
        least, most = _scaled(float(known.min()), unit), _scaled(float(known.max()), unit)
        spread = f"largest of {_shape(nominal)}; {least} to {most}"
        text += f" ({f'at each of {_shape(nominal)}' if least == most else spread})"
    return text


def _shape(value: Array) -> str:
    """Sizes of an array in words, where its axes are those of the engine."""
    if value.ndim != len(_AXES):
        return " x ".join(str(n) for n in value.shape)
    return " x ".join(f"{n} {axis}" for n, axis in zip(value.shape, _AXES, strict=True) if n > 1)


def _title(info: FormulaInfo) -> str:
    """What a formula gives, without the remarks for programmers in its docstring."""
    return re.sub(r",? shape \([^)]*\)|,? from `\w+`| \[[^\]]*\]", "", info.title).replace("`", "")


def _scaled(value: float, unit: str) -> str:
    """Five figures, with the prefix that suits the size."""
    for least, factor, better in _PREFIXED.get(unit, ()):
        if abs(value) >= least and value != 0.0:
            return f"{value * factor:.5g}{words.FIXED}{better}"
    word = words.unit_words(unit)
    return f"{value:.5g}{words.FIXED}{word}" if word else f"{value:.5g}"
