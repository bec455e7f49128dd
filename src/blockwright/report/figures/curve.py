"""Power and torque against speed, one above the other: two scales, two plots."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from markupsafe import Markup

from ...life.verdict import Point, Quantity
from .. import svg, words

_WIDTH, _LEFT, _PLOT, _GAP = 776.0, 64.0, 190.0, 70.0


def curve(points: Sequence[Point], duty: Sequence[Point]) -> svg.Figure | None:
    """Curves with their best points and the duty's points; None with fewer than two points."""
    line = sorted(points, key=lambda p: p.speed.value)
    if len(line) < 2:
        return None
    speeds = [p.speed.value for p in [*line, *duty]]
    low, high = min(speeds), max(speeds)
    pad = 0.03 * (high - low)
    parts: list[Markup] = []
    best: list[tuple[Quantity, Quantity]] = []
    getters: tuple[tuple[str, str, Callable[[Point], Quantity]], ...] = (
        ("power", "s1", lambda p: p.power),
        ("torque", "s2", lambda p: p.torque),
    )
    for k, (name, css, get) in enumerate(getters):
        values = [get(p).value for p in [*line, *duty]]
        unit = words.unit_words(get(line[0]).unit)
        frame = svg.Frame(
            _LEFT,
            40 + k * (_PLOT + _GAP),
            _WIDTH - _LEFT - 16,
            _PLOT,
            low - pad,
            high + pad,
            0,
            svg.nice_top(values, 4),
        )
        ticks = svg.nice_ticks(low, high, 8)
        parts.append(
            frame.axes(
                ticks,
                svg.nice_ticks(0, frame.y_high, 4),
                f"speed, {words.unit_words(line[0].speed.unit)}" if k else "",
                f"{name}, {unit}",
            )
        )
        parts += _band(frame, line, get)
        parts.append(
            svg.path(
                [(frame.x(p.speed.value), frame.y(get(p).value)) for p in line],
                f"curve {css}" + (" dashed" if k else ""),
            )
        )
        parts += [_tick(frame.x(p.speed.value), frame.y(get(p).value)) for p in duty]
        top = max(line, key=lambda p: get(p).value)
        best.append((get(top), top.speed))
        x, y = frame.x(top.speed.value), frame.y(get(top).value)
        anchor = "end" if x > _WIDTH - 180 else "start" if x < 180 else "middle"
        parts += [
            svg.circle(x, y, 4, f"mark {css}"),
            svg.text(f"{words.quantity(get(top))} at {words.quantity(top.speed)}", x, y + 36, "name", anchor),
        ]
    power, at = best[0]
    return svg.Figure(
        key="curve",
        title="Power and torque",
        drawing=svg.picture(
            "curve",
            _WIDTH,
            40 + 2 * _PLOT + _GAP + 46,
            "Power and torque against speed",
            f"Best power {words.quantity(power)} at {words.quantity(at)}; "
            f"best torque {words.quantity(best[1][0])} at {words.quantity(best[1][1])}.",
            *parts,
        ),
        caption="Full load at the manifold pressure that makes the power asked for; upright crosses are the "
        "points of the duty. Pipes are not tuned in this model, so a real curve is less flat. "
        "Set these against a dyno sheet first: if torque is off, so is every load in this report.",
        reading=words.quantity(power),
        reading_words=f"best power, at {words.quantity(at)}",
        table=svg.Table(
            ("speed", "power", "torque", "mean effective pressure", "peak pressure"),
            tuple(
                (
                    words.quantity(p.speed),
                    words.quantity(p.power),
                    words.quantity(p.torque),
                    words.quantity(p.bmep),
                    words.quantity(p.peak_pressure),
                )
                for p in line
            ),
        ),
    )


def _band(frame: svg.Frame, line: Sequence[Point], get: Callable[[Point], Quantity]) -> list[Markup]:
    spreads = [(p.speed.value, get(p).spread) for p in line]
    known = [(x, s) for x, s in spreads if s is not None]
    if len(known) < 2:
        return []
    edge = [(frame.x(x), frame.y(s.high)) for x, s in known] + [
        (frame.x(x), frame.y(s.low)) for x, s in reversed(known)
    ]
    return [svg.path(edge, "band", closed=True)]


def _tick(x: float, y: float) -> Markup:
    return svg.group(svg.line(x - 7, y, x + 7, y, "cross"), svg.line(x, y - 7, x, y + 7, "cross"))
