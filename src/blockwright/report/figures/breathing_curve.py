"""What stands behind the power: filling, peak pressure and knock, back pressure and boost, fuel and heat."""

from __future__ import annotations

from collections.abc import Sequence

from .. import svg
from ..curve_record import Curve, CurvePoint
from .over_speed import Get, Panel, draw, drawable, table


def _figure(
    curve: Curve,
    key: str,
    title: str,
    panels: Sequence[Panel[CurvePoint]],
    caption: str,
    columns: Sequence[tuple[str, Get[CurvePoint]]],
) -> svg.Figure | None:
    drawn = drawable(curve.points, panels)
    if not drawn:
        return None
    return svg.Figure(
        key=key,
        title=title,
        drawing=draw(key, f"{title} against speed", curve.points, drawn),
        caption=caption,
        table=table(curve.points, columns),
    )


def filling(curve: Curve) -> svg.Figure | None:
    """Brake mean pressure and volumetric efficiency."""
    return _figure(
        curve, "filling", "Mean pressure and filling",
        (
            Panel("brake mean pressure", lambda p: p.bmep, "s1"),
            Panel("volumetric efficiency", lambda p: p.volumetric_efficiency, "s2", from_zero=False),
        ),
        "Mean pressure is torque without the engine's size, so it compares engines. Filling is counted on "
        "the charge in the plenum: what boost brings stands in the mean pressure, not there. Look for the "
        "speed at which the two part: from there on friction and pumping take what filling gives.",
        (
            ("brake mean pressure", lambda p: p.bmep),
            ("indicated", lambda p: p.imep),
            ("friction", lambda p: p.fmep),
            ("volumetric efficiency", lambda p: p.volumetric_efficiency),
            ("burned gas left", lambda p: p.residual),
        ),
    )  # fmt: skip


def hardship(curve: Curve) -> svg.Figure | None:
    """Peak pressure and the margin to knock."""
    known = any(p.knock_margin is not None for p in curve.points)
    told = (
        " Below the dashed line at 0 it knocks: draw the spark back by so many degrees, or buy octane."
        if known
        else f" Knock margin: {curve.points[0].unknown.get('knock_margin', 'not known')}."
    )
    return _figure(
        curve, "hardship", "Peak pressure" + (" and knock" if known else ""),
        (
            Panel("peak pressure", lambda p: p.peak_pressure, "s1"),
            Panel("knock margin", lambda p: p.knock_margin, "s2", from_zero=False, best="low", level=0.0),
        ),
        "Peak pressure of the mean cycle, absolute: what head, caps and rods hold. "
        "Low speeds load the block hardest when the spark is not drawn back there." + told,
        (
            ("peak pressure", lambda p: p.peak_pressure),
            ("at", lambda p: p.peak_angle),
            ("knock margin", lambda p: p.knock_margin),
            ("spark", lambda p: p.spark),
            ("10 % burned", lambda p: p.ca10),
            ("50 % burned", lambda p: p.ca50),
            ("10 to 90 %", lambda p: p.burn_duration),
        ),
    )  # fmt: skip


def pressures(curve: Curve) -> svg.Figure | None:
    """Back pressure and boost."""
    boosted = any(p.boost is not None for p in curve.points)
    told = (
        "Both above the surroundings. Where back pressure stands above boost, the exhaust pushes into the "
        "cylinder through the overlap: a larger turbine gives the same power at less of both."
        if boosted
        else "Above the surroundings, mean over the cycle. It grows with the square of the flow: "
        "a pipe that costs little at low speed may cost much at the top."
    )
    return _figure(
        curve, "pressures", "Back pressure and boost" if boosted else "Back pressure",
        (
            Panel("back pressure", lambda p: p.back_pressure, "s1"),
            Panel("boost", lambda p: p.boost, "s2"),
        ),
        told,
        (
            ("back pressure", lambda p: p.back_pressure),
            ("boost", lambda p: p.boost),
            ("plenum, absolute", lambda p: p.plenum_pressure),
        ),
    )  # fmt: skip


def supply(curve: Curve) -> svg.Figure | None:
    """Fuel flow and exhaust temperature."""
    return _figure(
        curve, "supply", "Fuel and exhaust heat",
        (
            Panel("fuel flow", lambda p: p.fuel_flow, "s1"),
            Panel("exhaust temperature", lambda p: p.exhaust_temperature, "s2", from_zero=False),
        ),
        "Fuel that pump and injectors must bring at the rail's pressure, with something in hand. The exhaust "
        "temperature is the gas's own behind the valves, weighted by the flow; a probe there reads less.",
        (
            ("fuel flow", lambda p: p.fuel_flow),
            ("air flow", lambda p: p.air_flow),
            ("nitrous flow", lambda p: p.nitrous_flow),
            ("lambda", lambda p: p.lambda_),
            ("fuel per work", lambda p: p.fuel_consumption),
            ("exhaust temperature", lambda p: p.exhaust_temperature),
        ),
    )  # fmt: skip
