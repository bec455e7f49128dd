"""The ladder of limits: every way to break on one scale of margin."""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup

from ...life.verdict import Limit
from .. import svg, words

_WIDTH, _LEFT, _RIGHT, _ROW, _TOP = 776.0, 240.0, 612.0, 48.0, 44.0
#: Rungs drawn; more where more than that do not live, at most what a sheet of paper holds.
_RUNGS, _MOST = 14, 17
_GAP = 36.0
_SMALLEST, _LARGEST = 0.05, 20.0
_TICKS = (0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0, 20.0)


def _range(shown: Sequence[Limit]) -> tuple[float, float]:
    """Ends of the axis: ticks that hold every finite margin and spread, within 0.05 to 20."""
    values = [v for limit in shown for v in _ends(limit) if math.isfinite(v) and v > 0]
    low = min([0.7, *values]) * 0.97
    high = max([1.5, *values]) * 1.03
    return (
        max((t for t in _TICKS if t <= low), default=_SMALLEST),
        min((t for t in _TICKS if t >= high), default=_LARGEST),
    )


def _ends(limit: Limit) -> tuple[float, float, float]:
    m, s = limit.margin.value, limit.margin.spread
    return (m, s.low, s.high) if s is not None else (m, m, m)


def _row(limit: Limit, y: float, low: float, high: float, state: words.State, more: int) -> Markup:
    def x(value: float) -> float:
        inside = min(max(value if value > 0 else low, low), high)
        return _LEFT + (_RIGHT - _LEFT) * math.log(inside / low) / math.log(high / low)

    name = svg.wrap(words.one_line(limit.name), _LEFT - 16, 13.5, 2)
    place = words.place(limit)
    if more and svg.width_of(counted := f"{place}, worst of {more + 1}", 13.0) < _LEFT - 12:
        place = counted
    first = y - 5.0 if len(name) == 1 else y - 11.0
    parts = [svg.text(part, 0, first + 15 * k, "name") for k, part in enumerate(name)]
    parts.append(svg.text(svg.fit(place, _LEFT - 12, 12.5), 0, first + 15 * len(name), "place"))
    parts.append(svg.el("title", f"{words.one_line(limit.name)}, {words.one_line(limit.place)}"))
    margin, s_low, s_high = _ends(limit)
    if not math.isnan(margin):
        if limit.margin.spread is not None:
            parts.append(svg.rect(x(s_low), y - 5, max(x(s_high) - x(s_low), 1.0), 10, f"spread {state.css}"))
            parts += [_beyond(x(v), y, v, low, high, state.css) for v in (s_low, s_high)]
        parts.append(svg.marker(x(margin), y, state.css, 8.0))
        parts.append(_beyond(x(margin), y, margin, low, high, state.css))
    css = "figure" if math.isfinite(margin) else "place"
    parts.append(svg.text(words.ratio(margin), _RIGHT + 72, y + 5, css, "end"))
    parts.append(svg.text(state.word, _RIGHT + 84, y - 3, f"state {state.css}"))
    parts.append(svg.text(words.chance(limit.survival), _RIGHT + 84, y + 14, "place"))
    return svg.group(*parts)


def _beyond(x: float, y: float, value: float, low: float, high: float, css: str) -> Markup:
    """An arrow head where a spread runs off the scale."""
    if low <= value <= high or math.isnan(value):
        return Markup("")
    out = 1 if value > high else -1
    return svg.path(
        [(x + 9 * out, y - 6), (x + 16 * out, y), (x + 9 * out, y + 6)], f"mark {css} solid", closed=True
    )


def ladder(limits: Sequence[Limit], accepted: float) -> svg.Figure:
    """Worst place of each limit, worst first, margin on a log scale with its 5-95 % spread."""
    every = words.groups(limits)
    can_break = [g for g in every if not words.is_guide(g.worst)]
    guides = [g for g in every if words.is_guide(g.worst)]
    bad = sum(words.state(g.worst, accepted) is not words.LIVES for g in can_break)
    found = [*can_break[: min(max(_RUNGS - len(guides), bad), _MOST)], *guides]
    left = len(every) - len(found)
    first_guide = len(found) - len(guides)
    shown = [g.worst for g in found]
    low, high = _range(shown)
    bottom = _TOP + _ROW * len(found) + (_GAP if guides else 0.0)

    def x(value: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * math.log(value / low) / math.log(high / low)

    parts = [svg.rect(_LEFT, _TOP - 8, x(1.0) - _LEFT, bottom - _TOP + 8, "below-one")]
    for t in (t for t in _TICKS if low <= t <= high):
        parts += [
            svg.line(x(t), _TOP - 8, x(t), bottom, "grid"),
            svg.text(f"{t:g}", x(t), bottom + 18, "tick", "middle"),
        ]
    parts += [
        svg.line(x(1.0), _TOP - 16, x(1.0), bottom + 4, "one"),
        svg.text("breaks within the duty", x(1.0) - 10, _TOP - 18, "label", "end"),
        svg.text("holds", x(1.0) + 10, _TOP - 18, "label"),
        svg.text("margin", _RIGHT + 72, _TOP - 18, "label", "end"),
        svg.text("chance", _RIGHT + 84, _TOP - 18, "label"),
        svg.text("margin: capacity over demand, logarithmic", _RIGHT, bottom + 38, "label", "end"),
    ]
    for k, g in enumerate(found):
        y = _TOP + _ROW * (k + 0.5) + (_GAP if k >= first_guide else 0.0)
        if k == first_guide:
            told = "Service and good practice: exceeding one of these breaks nothing by itself"
            parts.append(svg.text(told, 0, y - _ROW / 2 - 10, "label"))
        parts.append(svg.line(0, y + _ROW / 2, _WIDTH, y + _ROW / 2, "rung"))
        parts.append(_row(g.worst, y, low, high, words.state(g.worst, accepted), len(g.others)))
    counts = {
        s: sum(words.state(g.worst, accepted).word == s for g in found)
        for s in ("breaks", "doubtful", "lives", "exceeded", "kept")
    }
    told = ", ".join(f"{n} {word}" for word, n in counts.items() if n)
    worst = found[0].worst
    return svg.Figure(
        key="ladder",
        title="Ladder of limits",
        drawing=svg.picture(
            "ladder",
            _WIDTH,
            bottom + 46,
            "Ladder of limits",
            f"{len(found)} limits, worst first: {told}. Lowest chance: {worst.name} at {worst.place}, "
            f"margin {words.ratio(worst.margin.value)}.",
            *parts,
        ),
        caption=(
            "Each rung is one way to break, at its worst place. The mark is the margin at best-estimate "
            "inputs, the bar holds nine chances in ten. Look for bars that cross the line at 1: measuring "
            "can still move those. Solid triangle: breaks; half-filled diamond: doubtful, under the "
            f"{words.chance(accepted)} asked; ring: lives."
            + (f" {left} more, further up, are in the table." if left else "")
        ),
        reading=words.ratio(worst.margin.value),
        reading_words=f"margin of the likeliest to go first: {words.one_line(worst.name)}, "
        f"{words.one_line(worst.place)}",
        table=svg.Table(
            ("limit", "place", "demand", "capacity", "margin (5 to 95 %)", "chance", "state"),
            tuple(_cells(limit, accepted) for limit in sorted(limits, key=words.is_guide)),
        ),
    )


def _cells(limit: Limit, accepted: float) -> tuple[str, ...]:
    return (
        words.one_line(limit.name),
        words.one_line(limit.place),
        words.quantity(limit.demand),
        words.quantity(limit.capacity),
        words.margin(limit.margin),
        words.chance(limit.survival),
        words.state(limit, accepted).word,
    )
