"""Power and torque against speed, and power in the air of the standards."""

from __future__ import annotations

from ...life.verdict import Quantity
from .. import svg, words
from ..curve_record import Curve, CurvePoint
from .over_speed import Get, Panel, draw, drawable, table

_PANELS: tuple[Panel[CurvePoint], ...] = (
    Panel("power", lambda p: p.power, "s1", 200.0),
    Panel("torque", lambda p: p.torque, "s2", 150.0),
)


def power(curve: Curve) -> svg.Figure | None:
    """Power above torque, with their spread; None with fewer than two points."""
    panels = drawable(curve.points, _PANELS)
    if not panels:
        return None
    best = curve.best_power
    return svg.Figure(
        key="power",
        title="Power and torque",
        drawing=draw(
            "power",
            "Power and torque against speed",
            curve.points,
            panels,
            ((curve.wanted_speed.value, "target speed"),),
        ),
        caption=(
            "Full load, at the crank's end, uncorrected: what the block feels. The shaded band holds nine "
            "in ten of what the inputs leave open. Look at torque first: where it falls, the engine no "
            "longer fills; where power still rises at the right edge, the speed was set too low."
        ),
        reading=words.quantity(best.value),
        reading_words=f"best power, at {words.quantity(best.speed)}",
        table=table(curve.points, (*_COLUMNS, *_corrected(curve))),
    )


_COLUMNS: tuple[tuple[str, Get[CurvePoint]], ...] = (
    ("power", lambda p: p.power),
    ("torque", lambda p: p.torque),
)


def _corrected(curve: Curve) -> list[tuple[str, Get[CurvePoint]]]:
    """A column for each standard."""

    def get(index: int) -> Get[CurvePoint]:
        def found(point: CurvePoint) -> Quantity | None:
            power = point.corrected[index].power
            return None if power is None else Quantity(power.value, power.unit)

        return found

    return [(standard.name, get(k)) for k, standard in enumerate(curve.standards)]
