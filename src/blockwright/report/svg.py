"""Pictures as SVG text: a safe element builder, axes, ticks and paths.

Every element is a `Markup`; plain strings given as children or attributes are
escaped, so that a name out of a build file can never become markup.  Lengths are
in the picture's own pixels, y downwards.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from .words import clean, tick

#: Mean advance of the page's face [em], a little generous; used to fit words into a picture.
_ADVANCE = 0.56
_NARROW, _WIDE = frozenset("ijlI.,:;'|!()[] ft-r"), frozenset("mwMW%@")


def _attribute(name: str) -> str:
    return name.rstrip("_").replace("_", "-") if name not in ("viewBox", "refX", "refY") else name


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".") if math.isfinite(value) else "0"
    return clean(str(value))


def el(tag: str, *children: str | Markup, **attributes: object) -> Markup:
    """One element; children that are plain strings are escaped, ``class_`` is ``class``, None is left out."""
    given = Markup("").join(
        Markup(' {}="{}"').format(Markup(_attribute(name)), _value(value))
        for name, value in attributes.items()
        if value is not None
    )
    inner = Markup("").join(
        child if isinstance(child, Markup) else escape(clean(child)) for child in children
    )
    return Markup("<{}{}>{}</{}>").format(Markup(tag), given, inner, Markup(tag))


def group(*children: Markup, **attributes: object) -> Markup:
    """A ``<g>`` of the children."""
    return el("g", *children, **attributes)


def text(words: str, x: float, y: float, css: str = "", anchor: str = "start", **more: object) -> Markup:
    """Words at a point; `anchor` is start, middle or end."""
    return el(
        "text", words, x=x, y=y, class_=css or None, text_anchor=None if anchor == "start" else anchor, **more
    )


def line(x1: float, y1: float, x2: float, y2: float, css: str = "", **more: object) -> Markup:
    """A straight stroke."""
    return el("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=css or None, **more)


def rect(x: float, y: float, width: float, height: float, css: str = "", **more: object) -> Markup:
    """A rectangle; negative sizes are turned round."""
    left, top = min(x, x + width), min(y, y + height)
    return el("rect", x=left, y=top, width=abs(width), height=abs(height), class_=css or None, **more)


def circle(x: float, y: float, radius: float, css: str = "", **more: object) -> Markup:
    """A circle."""
    return el("circle", cx=x, cy=y, r=radius, class_=css or None, **more)


def points_path(points: Iterable[tuple[float, float]], closed: bool = False) -> str:
    """Path data through the points; a non-finite point breaks the line."""
    out: list[str] = []
    pen = "M"
    for x, y in points:
        if not (math.isfinite(x) and math.isfinite(y)):
            pen = "M"
            continue
        out.append(f"{pen}{x:.1f} {y:.1f}")
        pen = "L"
    return "".join(out) + ("Z" if closed and out else "")


def path(points: Iterable[tuple[float, float]], css: str, closed: bool = False, **more: object) -> Markup:
    """A stroke or area through the points."""
    return el("path", d=points_path(points, closed), class_=css, **more)


def marker(x: float, y: float, css: str, size: float = 6.0) -> Markup:
    """Marker of a state: breaks is a solid triangle, doubtful a half-filled diamond, lives a ring."""
    s = size
    if css == "breaks":
        return path(
            [(x - s, y - 0.8 * s), (x + s, y - 0.8 * s), (x, y + s)], "mark breaks solid", closed=True
        )
    if css == "doubtful":
        diamond = [(x, y - 1.15 * s), (x + 1.15 * s, y), (x, y + 1.15 * s), (x - 1.15 * s, y)]
        half = [(x, y - 1.15 * s), (x, y + 1.15 * s), (x - 1.15 * s, y)]
        return group(
            path(diamond, "mark doubtful", closed=True), path(half, "mark doubtful solid", closed=True)
        )
    return circle(x, y, 0.9 * s, "mark lives")


def width_of(words: str, size: float) -> float:
    """Estimated width of the words [px] at a font size, for fitting only."""
    em = sum(
        0.33 if sign in _NARROW else 0.86 if sign in _WIDE else 0.7 if sign.isupper() else _ADVANCE
        for sign in words
    )
    return em * size


def fit(words: str, room: float, size: float) -> str:
    """The words, cut with an ellipsis where they would be wider than `room`."""
    if width_of(words, size) <= room:
        return words
    while words and width_of(words + "…", size) > room:
        words = words[:-1]
    return words.rstrip() + "…"


def wrap(words: str, room: float, size: float, lines: int = 2) -> list[str]:
    """The words broken at blanks into at most `lines` lines of at most `room`."""
    out: list[str] = []
    rest = [word for word in words.split(" ") if word]
    while rest and len(out) < lines:
        if len(out) == lines - 1:
            out.append(fit(" ".join(rest), room, size))
            break
        taken = rest.pop(0)
        while rest and width_of(f"{taken} {rest[0]}", size) <= room:
            taken += f" {rest.pop(0)}"
        out.append(fit(taken, room, size))
    return out or [""]


def nice_ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round values (1, 2, 2.5 or 5 times a power of ten) from `low` to `high`."""
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        return [low] if math.isfinite(low) else [0.0]
    rough = (high - low) / max(about, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * power >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def nice_top(values: Iterable[float], about: int = 5) -> float:
    """Smallest round tick at or above the largest finite value."""
    top = max((v for v in values if math.isfinite(v)), default=1.0)
    if top <= 0:
        return 1.0
    ticks = nice_ticks(0.0, top, about)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else top
    return math.ceil(top / step - 1e-9) * step


@dataclass(frozen=True)
class Frame:
    """A plotting rectangle [px] and the values at its edges."""

    left: float
    top: float
    width: float
    height: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, value: float) -> float:
        """Pixel of a value along x."""
        return self.left + (value - self.x_low) / ((self.x_high - self.x_low) or 1.0) * self.width

    def y(self, value: float) -> float:
        """Pixel of a value along y."""
        return (
            self.top + self.height - (value - self.y_low) / ((self.y_high - self.y_low) or 1.0) * self.height
        )

    def curve(self, xs: Sequence[float], ys: Sequence[float]) -> list[tuple[float, float]]:
        """Pixels of a curve."""
        return [(self.x(a), self.y(b)) for a, b in zip(xs, ys, strict=True)]

    def axes(self, x_ticks: Sequence[float], y_ticks: Sequence[float], x_label: str, y_label: str) -> Markup:
        """Grid lines, tick numbers and labels; labels are written level, never turned."""
        bottom, right = self.top + self.height, self.left + self.width
        parts = [line(self.left, self.y(t), right, self.y(t), "grid") for t in y_ticks]
        parts += [text(tick(t), self.left - 8, self.y(t) + 4, "tick", "end") for t in y_ticks]
        for t in x_ticks:
            parts += [
                line(self.x(t), bottom, self.x(t), bottom + 6, "axis"),
                text(tick(t), self.x(t), bottom + 20, "tick", "middle"),
            ]
        parts.append(line(self.left, bottom, right, bottom, "axis"))
        if x_label:
            parts.append(text(x_label, right, bottom + 38, "label", "end"))
        if y_label:
            parts.append(text(y_label, self.left, self.top - 12, "label"))
        return group(*parts)


def hatches(key: str) -> Markup:
    """Fill patterns of the three states and of a plain section, with ids that begin with `key`."""
    return el(
        "defs",
        el(
            "pattern",
            rect(0, 0, 6, 6, "tint breaks"),
            path([(0, 0), (6, 6)], "hatch breaks"),
            path([(6, 0), (0, 6)], "hatch breaks"),
            id=f"{key}-breaks",
            width=6,
            height=6,
            patternUnits="userSpaceOnUse",
        ),
        el(
            "pattern",
            rect(0, 0, 7, 7, "tint doubtful"),
            path([(-1, 8), (8, -1)], "hatch doubtful"),
            id=f"{key}-doubtful",
            width=7,
            height=7,
            patternUnits="userSpaceOnUse",
        ),
        el(
            "pattern",
            rect(0, 0, 8, 8, "tint lives"),
            circle(4, 4, 1, "dot lives"),
            id=f"{key}-lives",
            width=8,
            height=8,
            patternUnits="userSpaceOnUse",
        ),
        el(
            "pattern",
            rect(0, 0, 8, 8, "tint plain"),
            id=f"{key}-plain",
            width=8,
            height=8,
            patternUnits="userSpaceOnUse",
        ),
    )


def picture(key: str, width: float, height: float, title: str, description: str, *parts: Markup) -> Markup:
    """The whole drawing with its title and description for a screen reader."""
    return el(
        "svg",
        el("title", title, id=f"{key}-title"),
        el("desc", description, id=f"{key}-desc"),
        *parts,
        viewBox=f"0 0 {width:g} {height:g}",
        role="img",
        aria_labelledby=f"{key}-title {key}-desc",
        style=f"max-width:{width * 1.14:.0f}px",
        class_="picture",
    )


@dataclass(frozen=True)
class Table:
    """A picture's figures for those who want to read them."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Figure:
    """A picture, its one large reading, what to look for in it, and its table.

    Attributes
    ----------
    key : str
        Stem of every id in the picture.
    reading, reading_words : str
        The large figure and what it is; empty where the picture has none.
    """

    key: str
    title: str
    drawing: Markup
    caption: str
    reading: str = ""
    reading_words: str = ""
    table: Table | None = None
