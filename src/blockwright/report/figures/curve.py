"""Power and torque of a judged build against speed, with the points of its duty."""

from __future__ import annotations

from collections.abc import Sequence

from ...life.verdict import Point
from .. import svg, words
from .over_speed import Get, Panel, draw, drawable, table

_PANELS: tuple[Panel[Point], ...] = (
    Panel("power", lambda p: p.power, "s1", 190.0),
    Panel("torque", lambda p: p.torque, "s2", 150.0),
)
_COLUMNS: tuple[tuple[str, Get[Point]], ...] = (
    ("power", lambda p: p.power),
    ("torque", lambda p: p.torque),
    ("mean effective pressure", lambda p: p.bmep),
    ("peak pressure", lambda p: p.peak_pressure),
    ("back pressure, absolute", lambda p: p.back_pressure),
)


def curve(points: Sequence[Point], duty: Sequence[Point]) -> svg.Figure | None:
    """Curves with their best points and the duty's points; None with fewer than two points."""
    line = sorted(points, key=lambda p: p.speed.value)
    panels = drawable(line, _PANELS)
    if not panels:
        return None
    best = max(line, key=lambda p: p.power.value)
    return svg.Figure(
        key="curve",
        title="Power and torque",
        drawing=draw("curve", "Power and torque against speed", line, panels, crosses=duty),
        caption="Full load at the manifold pressure that makes the power asked for, through the pipes drawn "
        "below. The pipes are cut more coarsely than for the duty's points (crosses; one below the line is "
        "of part load); blockwright curve runs them in full. Set it against a dyno sheet first: if torque is "
        "off, so is every load in this report.",
        reading=words.quantity(best.power),
        reading_words=f"best power, at {words.quantity(best.speed)}",
        table=table(line, _COLUMNS),
    )
