"""Changes compared: how far each one lifts the ceiling, or why that is not known."""

from __future__ import annotations

from collections.abc import Sequence

from ...life.verdict import Quantity, Reinforcement
from .. import svg, words

_WIDTH, _LEFT, _RIGHT, _ROW, _TOP = 776.0, 264.0, 656.0, 52.0, 40.0


def changes(today: Quantity | None, options: Sequence[Reinforcement]) -> svg.Figure | None:
    """Bars from today's ceiling to the new one, best first; None when no change has a ceiling."""
    known = sorted(
        (
            (o, o.ceiling)
            for o in options
            if o.ceiling is not None and (today is None or o.ceiling.unit == today.unit)
        ),
        key=lambda pair: -pair[1].value,
    )
    if not known:
        return None
    unit = known[0][1].unit
    bounds = [v for _, c in known for v in _ends(c)] + ([today.value] if today else [])
    low, high = min(bounds), max(bounds)
    pad = max(0.12 * (high - low), 0.04 * high)
    frame = svg.Frame(
        _LEFT, _TOP, _RIGHT - _LEFT, _ROW * len(known), max(low - pad, 0.0), high + pad, 0.0, 1.0
    )
    bottom = frame.top + frame.height
    parts = []
    for t in svg.nice_ticks(frame.x_low, frame.x_high, 6):
        parts += [
            svg.line(frame.x(t), _TOP, frame.x(t), bottom, "grid"),
            svg.text(words.tick(t), frame.x(t), bottom + 18, "tick", "middle"),
        ]
    start = frame.x(today.value) if today else _LEFT
    for k, (option, new) in enumerate(known):
        y = _TOP + _ROW * (k + 0.5)
        name = svg.wrap(words.one_line(option.name), _LEFT - 24, 15.0, 2)
        first = y + 5 if len(name) == 1 else y - 4
        parts += [svg.text(part, 0, first + 17 * j, "name") for j, part in enumerate(name)]
        gain = today is None or new.value >= today.value
        if today is not None:
            long = frame.x(new.value) - start
            parts.append(svg.rect(start, y - 9, long, 18, f"bar {'gain' if gain else 'loss'}"))
        s_low, s_high = _ends(new)
        parts.append(svg.path([(frame.x(s_low), y), (frame.x(s_high), y)], "whisker"))
        parts += [svg.line(frame.x(v), y - 5, frame.x(v), y + 5, "whisker") for v in (s_low, s_high)]
        parts.append(svg.line(frame.x(new.value), y - 13, frame.x(new.value), y + 13, "edge"))
        parts.append(svg.text(words.quantity(new), _WIDTH, y - 2, "figure", "end"))
        parts.append(svg.text(_gain(today, new), _WIDTH, y + 15, "place", "end"))
        parts.append(svg.line(0, y + _ROW / 2, _WIDTH, y + _ROW / 2, "rung"))
    if today:
        parts += [
            svg.line(start, _TOP - 10, start, bottom + 4, "one"),
            svg.text(
                f"as it stands {words.quantity(today)}",
                start,
                _TOP - 16,
                "label",
                "start" if start < 460 else "end",
            ),
        ]
    parts.append(svg.text(f"ceiling, {words.unit_words(unit)}", _RIGHT, bottom + 38, "label", "end"))
    best, most = known[0]
    how = (
        "Each bar runs from the ceiling as it stands to the ceiling with that one change."
        if today
        else "The upright mark is the ceiling with that one change; as it stands there is none to start from."
    )
    return svg.Figure(
        key="changes",
        title="Changes compared",
        drawing=svg.picture(
            "changes",
            _WIDTH,
            bottom + 46,
            "Ceiling after each change",
            "; ".join(f"{o.name}: {words.quantity(c)}" for o, c in known) + ".",
            *parts,
        ),
        caption=(
            f"{how} The thin line is how far the drawing of samples alone may put it off; a difference "
            "within it says nothing. The table names what goes first then."
        ),
        reading=words.quantity(most),
        reading_words=f"highest ceiling of the changes computed: {words.one_line(best.name)}",
    )


def _ends(q: Quantity) -> tuple[float, float]:
    return (q.spread.low, q.spread.high) if q.spread else (q.value, q.value)


def _gain(today: Quantity | None, new: Quantity) -> str:
    if today is None:
        return ""
    step = new.value - today.value
    size = f"{abs(step):,.0f}" if abs(new.value) >= 100 else words.number(abs(step))
    return f"{'+' if step >= 0 else '−'}{size}"


def _no_ceiling(option: Reinforcement) -> str:
    """Computed but beyond the powers looked at, or not computed."""
    return "none yet" if option.survival is None else "none found"


def table(options: Sequence[Reinforcement]) -> svg.Table:
    """Every change, with its ceiling or the reason why there is none."""
    return svg.Table(
        ("change", "ceiling", "chance at today's power", "goes first then", "remark"),
        tuple(
            (
                words.one_line(o.name),
                words.quantity_with_spread(o.ceiling) if o.ceiling else _no_ceiling(o),
                words.chance(o.survival) if o.survival is not None else "",
                words.one_line(o.governing),
                words.one_line(o.reason or o.remark),
            )
            for o in options
        ),
    )
