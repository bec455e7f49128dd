"""Figures over speed, one panel under another on one speed axis: each quantity has its own scale."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeAlias, TypeVar

from markupsafe import Markup

from ...life.verdict import Quantity
from .. import svg, words

_WIDTH, _LEFT, _TOP, _GAP = 776.0, 64.0, 44.0, 64.0


class AtSpeed(Protocol):
    """Anything found at one speed."""

    @property
    def speed(self) -> Quantity:
        """Of the crank."""
        ...


P = TypeVar("P", bound=AtSpeed)
Get: TypeAlias = Callable[[P], Quantity | None]


@dataclass(frozen=True)
class Panel(Generic[P]):
    """One quantity against speed.

    Attributes
    ----------
    name : str
    get : callable
    css : str
        ``"s1"`` or ``"s2"``.
    height : float
        Of the plot [px].
    from_zero : bool
        Whether the scale begins at 0.
    best : str
        ``"high"``, ``"low"`` or ``""``: which extreme is marked and named.
    level : float or None
        A value that is drawn as a line across, in the shown unit.
    """

    name: str
    get: Get[P]
    css: str = "s1"
    height: float = 150.0
    from_zero: bool = True
    best: str = "high"
    level: float | None = None


def _known(points: Sequence[P], get: Get[P]) -> list[tuple[float, Quantity]]:
    return [(p.speed.value, q) for p in points if (q := get(p)) is not None]


def drawable(points: Sequence[P], panels: Sequence[Panel[P]]) -> list[Panel[P]]:
    """The panels that have at least two points to join."""
    return [panel for panel in panels if len(_known(points, panel.get)) >= 2]


def draw(key: str, title: str, points: Sequence[P], panels: Sequence[Panel[P]],
         marks: Sequence[tuple[float, str]] = (), crosses: Sequence[P] = ()) -> Markup:  # fmt: skip
    """The panels one above the other.

    Parameters
    ----------
    key : str
        Stem of the ids.
    title : str
        For a screen reader.
    points : sequence
        By rising speed.
    panels : sequence of Panel
        All `drawable`.
    marks : sequence of (speed, name)
        Speeds that are marked by an upright dashed line, named at its head.
    crosses : sequence
        Found by another run: a cross each.
    """
    speeds = [p.speed.value for p in [*points, *crosses]]
    low, high = min(speeds), max(speeds)
    pad = 0.03 * ((high - low) or high)
    ticks = svg.nice_ticks(low, high, 8)
    parts: list[Markup] = []
    told: list[str] = []
    top = _TOP
    for k, panel in enumerate(panels):
        known = _known(points, panel.get)
        beside = _known(crosses, panel.get)
        frame = _frame(panel, [*known, *beside], top, low - pad, high + pad)
        last = k == len(panels) - 1
        unit = words.unit_words(known[0][1].unit)
        speed_label = f"speed, {words.unit_words(points[0].speed.unit)}" if last else ""
        parts.append(
            frame.axes(
                ticks, svg.nice_ticks(frame.y_low, frame.y_high, 4), speed_label,
                f"{panel.name}, {unit}" if unit else panel.name,
            )
        )  # fmt: skip
        parts += [_mark(frame, at, name if k == 0 else "") for at, name in marks if low <= at <= high]
        parts += _band(frame, known)
        if panel.level is not None and frame.y_low <= panel.level <= frame.y_high:
            y = frame.y(panel.level)
            parts.append(svg.line(frame.left, y, frame.left + frame.width, y, "capacity"))
        line = [(frame.x(x), frame.y(q.value)) for x, q in known]
        parts.append(svg.path(line, f"curve {panel.css}" + (" dashed" if panel.css == "s2" else "")))
        parts += [_cross(frame.x(x), frame.y(q.value)) for x, q in beside]
        if panel.best:
            parts.append(_extreme(frame, known, panel))
            told.append(f"{panel.name}: {_range(known)}")
        top += panel.height + _GAP
    height = top - _GAP + 46.0
    return svg.picture(key, _WIDTH, height, title, "; ".join(told) + ".", *parts)


def _frame(
    panel: Panel[P], known: Sequence[tuple[float, Quantity]], top: float, low: float, high: float
) -> svg.Frame:
    values = [v for _, q in known for v in _extent(q)]
    values += [] if panel.level is None else [panel.level]
    least, most = min(values), max(values)
    if panel.from_zero and least >= 0.0:
        bottom, ceiling = 0.0, svg.nice_top(values, 4)
    else:
        ticks = svg.nice_ticks(least, most if most > least else least + 1.0, 4)
        step = ticks[1] - ticks[0] if len(ticks) > 1 else (most - least) or 1.0
        bottom = ticks[0] if ticks[0] <= least else ticks[0] - step
        ceiling = ticks[-1] if ticks[-1] >= most else ticks[-1] + step
    return svg.Frame(_LEFT, top, _WIDTH - _LEFT - 16, panel.height, low, high, bottom, ceiling)


def _extent(q: Quantity) -> tuple[float, ...]:
    return (q.value,) if q.spread is None else (q.value, q.spread.low, q.spread.high)


def _range(known: Sequence[tuple[float, Quantity]]) -> str:
    low, high = (pick(known, key=lambda item: item[1].value) for pick in (min, max))
    return f"{words.quantity(low[1])} to {words.quantity(high[1])}, largest at {words.number(high[0])}"


def _extreme(frame: svg.Frame, known: Sequence[tuple[float, Quantity]], panel: Panel[P]) -> Markup:
    """Ring on the extreme point, its figure below the curve where there is room."""
    pick = max if panel.best == "high" else min
    speed, q = pick(known, key=lambda item: item[1].value)
    x, y = frame.x(speed), frame.y(q.value)
    anchor = "end" if x > _WIDTH - 150 else "start" if x < 190 else "middle"
    label = f"{words.quantity(q)} at {words.number(speed)}"
    below = y + 34.0 < frame.top + frame.height - 4.0
    at = y + 34.0 if below else y - 16.0
    return svg.group(svg.circle(x, y, 4, f"mark {panel.css}"), svg.text(label, x, at, "name plate", anchor))


def _band(frame: svg.Frame, known: Sequence[tuple[float, Quantity]]) -> list[Markup]:
    spreads = [(x, q.spread) for x, q in known if q.spread is not None]
    if len(spreads) < 2:
        return []
    upper = [(frame.x(x), frame.y(s.high)) for x, s in spreads]
    lower = [(frame.x(x), frame.y(s.low)) for x, s in reversed(spreads)]
    return [svg.path(upper + lower, "band", closed=True)]


def _mark(frame: svg.Frame, speed: float, name: str) -> Markup:
    x = frame.x(speed)
    stroke = svg.line(x, frame.top, x, frame.top + frame.height, "link")
    if not name:
        return stroke
    return svg.group(stroke, svg.text(name, x, frame.top - 12, "place", "middle"))


def _cross(x: float, y: float) -> Markup:
    return svg.group(svg.line(x - 7, y, x + 7, y, "cross"), svg.line(x, y - 7, x, y + 7, "cross"))


def table(points: Sequence[P], columns: Sequence[tuple[str, Get[P]]]) -> svg.Table:
    """The figures under a picture; columns with no figure at all are left out."""
    kept = [(head, get) for head, get in columns if _known(points, get)]
    return svg.Table(
        ("speed", *(head for head, _ in kept)),
        tuple(
            (words.quantity(p.speed), *(_cell(get(p)) for _, get in kept))
            for p in points
        ),
    )  # fmt: skip


def _cell(q: Quantity | None) -> str:
    return "" if q is None else words.quantity_with_spread(q)
