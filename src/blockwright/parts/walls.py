"""Cylinder walls: fatigue at both faces of every cylinder, and bursting in the hardest cycle.

Every reading of the wall map is a place.  Hoop stress comes from the gas once the rings have
passed (the deck and the unloaded wall below the rings carry part), from the skirt's side
force, from an uneven wall, and steadily from heat and the head bolts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from ..trace import Value
from . import wall_stress as stress
from .cases import Fatigue, Identity, Leaves, SingleEvent
from .strength import fatigue_strength, material, tensile_strength
from .wall_places import Place, bores_of, governing

if TYPE_CHECKING:
    from ..build.model import Build

_SOURCE = "thin shell held by the deck, Lame, FKM guideline 2012 and Smith's mean-stress line"
_SHELL = "half-infinite beam on an elastic foundation for each circumferential order"
_NOTES = (
    "The causes act at different times of the cycle; their stresses do not add up to the largest.",
    "Not modelled: the corner of wall and deck, wall vibration, cavitation pitting on the water side.",
    "The deck is taken as closed and stiff; an open deck holds the wall less near the top.",
)


@dataclass(frozen=True)
class _Reading:
    """Stresses of one place at one face."""

    place: Place
    gas_ratio: Value
    gas: Value
    thrust: Value
    thermal: Value
    bolts: Value
    steady: Value
    largest: Value
    smallest: Value
    thickness: Value


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """Limits of every cylinder's wall: bore side, water side, bursting."""
    found: list[Fatigue | SingleEvent] = []
    bores = bores_of(build)
    for water_side, bore_side in zip(governing(bores, True), governing(bores, False), strict=True):
        if not water_side:
            continue
        outside = [_reading(ctx, build, place, True) for place in water_side]
        inside = [_reading(ctx, build, place, False) for place in bore_side]
        found.append(_fatigue(ctx, build, inside, "bore"))
        found.append(_fatigue(ctx, build, outside, "water"))
        found.append(_burst(ctx, build, outside))
    return found


def _words(place: Place) -> str:
    return (
        f"cylinder {place.cylinder}, {place.depth / 0.0254:.2f} in below deck, "
        f"{round(np.degrees(place.angle)) % 360:d} deg"
    )


def _reading(ctx: Leaves, build: Build, place: Place, outside: bool) -> _Reading:
    """All stresses of one place at one face."""
    metal = material(build, "casting")
    where = f"cylinder {place.cylinder} depth {place.depth_index + 1}"
    spot = f"{where} angle {place.angle_index + 1}"
    path = f"casting.walls.{place.cylinder}.{place.depth_index}.{place.angle_index}"
    key = f"shell {place.thickness:.6g} {place.depth:.6g} {place.angle:.6g}"
    bore = ctx.build("casting.bore")
    thickness = stress.true_thickness(ctx.build(path), ctx.build("casting.walls.calibration"))

    def shell(name: str, value: float, unit: str = "1") -> Value:
        return ctx.constant(name, spot, np.full((1, 1, 1, 1), value), unit, _SHELL, key)

    hoop = (stress.hoop_outside if outside else stress.hoop_inside)(bore, thickness)
    front = stress.with_thickness(shell("wall_front", place.front), thickness, place.mean, place.front_slope)
    uneven = stress.uneven_bending(shell("wall_uneven", place.uneven, "m"), bore, thickness)
    error = ctx.model("wall.model_error")
    ratio = stress.gas_ratio(error, front, hoop, uneven, outside)
    gas = stress.gas_stress(ratio, ctx.kernel("wall_pressure", where))
    moment = shell("wall_thrust_moment", place.thrust)
    push = stress.thrust_ratio(error, ctx.model("wall.thrust_error"), moment, thickness, outside)
    thrust = stress.thrust_stress(push, ctx.kernel("side_thrust", where))
    thermal = _thermal(ctx, metal, place, thickness, outside)
    bolts = stress.bolt_distortion_stress(
        ctx.model("wall.bolt_distortion"),
        shell("wall_fade", place.fade),
        ctx.catalogue("metal", metal, "modulus"),
        ctx.catalogue("metal", metal, "poisson"),
        bore,
        thickness,
    )
    steady = stress.steady_stress(thermal, bolts)
    return _Reading(
        place=place,
        gas_ratio=ratio,
        gas=gas,
        thrust=thrust,
        thermal=thermal,
        bolts=bolts,
        steady=steady,
        largest=stress.largest_stress(gas, thrust, steady),
        smallest=stress.smallest_stress(gas, thrust, steady),
        thickness=thickness,
    )


def _thermal(ctx: Leaves, metal: str, place: Place, thickness: Value, outside: bool) -> Value:
    flux = stress.heat_flux(
        ctx.model("wall.heat_flux"),
        ctx.kernel("peak_pressure"),
        ctx.kernel("piston_speed"),
        ctx.build(f"casting.walls.depth.{place.depth_index}"),
        ctx.build("crank.stroke"),
        ctx.model("wall.heat_reach"),
    )
    conductivity, modulus, expansion, poisson = (
        ctx.catalogue("metal", metal, name) for name in ("conductivity", "modulus", "expansion", "poisson")
    )
    return stress.thermal_stress(flux, thickness, conductivity, modulus, expansion, poisson, outside)


def _fatigue(ctx: Leaves, build: Build, readings: list[_Reading], side: str) -> Fatigue:
    """Fatigue of one face, the worst of its readings in every sample and cycle."""
    worst = readings[0]
    largest, smallest = worst.largest, worst.smallest
    for other in readings[1:]:
        pair = (largest, smallest, other.largest, other.smallest)
        largest, smallest = (
            stress.of_the_worse(*pair, largest, other.largest),
            stress.of_the_worse(*pair, smallest, other.smallest),
        )
    metal = material(build, "casting")
    shares = {
        "gas pressure": stress.peak_of(worst.gas),
        "side thrust": stress.peak_of(worst.thrust),
        "head bolts": stress.peak_of(worst.bolts),
        "heat through the wall": stress.peak_of(worst.thermal),
    }
    strength = fatigue_strength(
        ctx,
        build,
        "casting",
        thickness=worst.thickness,
        gradient=stress.wall_gradient(shares["gas pressure"], shares["side thrust"], worst.thickness),
        skin=side == "water",
        loading="axial",
        temperature=ctx.model("wall.temperature"),
    )
    cylinder = worst.place.cylinder
    return Fatigue(
        identity=Identity(
            id=f"wall-{side}-side-cylinder-{cylinder}",
            name=f"Cylinder wall fatigue, {side} side",
            part="cylinder wall",
            place=_words(worst.place),
            source=_SOURCE,
            group="bores",
            notes=_notes(build),
        ),
        stress_max=largest,
        stress_min=smallest,
        strength=strength,
        tensile=tensile_strength(ctx, build, "casting", worst.thickness),
        slope=ctx.catalogue("metal", metal, "slope"),
        knee=ctx.catalogue("metal", metal, "knee"),
        mean_rule=catalogue.row("metal", metal).text("mean_rule"),
        split=shares,
    )


def _burst(ctx: Leaves, build: Build, readings: list[_Reading]) -> SingleEvent:
    """Bursting of the wall by the largest pressure of the duty, knock bursts included."""
    worst = readings[0]
    demands = [
        stress.bursting_stress(
            reading.gas_ratio,
            ctx.kernel("cylinder_pressure_extreme"),
            ctx.kernel(
                "wall_pressure", f"cylinder {reading.place.cylinder} depth {reading.place.depth_index + 1}"
            ),
            ctx.kernel("peak_pressure"),
            reading.steady,
        )
        for reading in readings
    ]
    demand = demands[0]
    for other in demands[1:]:
        demand = stress.larger(demand, other)
    return SingleEvent(
        identity=Identity(
            id=f"wall-burst-cylinder-{worst.place.cylinder}",
            name="Cylinder wall bursting",
            part="cylinder wall",
            place=_words(worst.place),
            source="Lame and thin shell held by the deck against tensile strength",
            group="bores",
            notes=_notes(build),
        ),
        unit="Pa",
        demand=demand,
        capacity=tensile_strength(ctx, build, "casting", worst.thickness),
        split={
            "head bolts": stress.peak_of(worst.bolts),
            "heat through the wall": stress.peak_of(worst.thermal),
        },
    )


def _notes(build: Build) -> tuple[str, ...]:
    if build.choices.get("casting.siamesed", False):
        return (*_NOTES, "Siamesed bores: readings within 30 degrees of a neighbouring bore are not judged.")
    return _NOTES
