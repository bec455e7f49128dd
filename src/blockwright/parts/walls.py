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
from .strength import bending_gradient, fatigue_strength, material, support_of, tensile_strength
from .wall_places import Place, bores_of, governing

if TYPE_CHECKING:
    from ..build.model import Build

_SOURCE = "thin shell held by the deck, Lame, FKM guideline 2012 and Smith's mean-stress line"
_SHELL = "thin cylindrical shell clamped in the deck, docs/models/walls.md"
_NOTES = (
    "The causes act at different times of the cycle; their stresses do not add up to the largest.",
    "Not modelled: the corner of wall and deck, wall vibration, cavitation pitting on the water side.",
    "The deck is taken as closed and stiff; an open deck holds the wall less near the top.",
)


class _Common:
    """Leaves and stresses that many readings share, made once a call."""

    def __init__(self, ctx: Leaves, build: Build) -> None:
        self.ctx = ctx
        self.build = build
        self.metal = material(build, "casting")
        self.bore = ctx.build("casting.bore")
        self.calibration = ctx.build("casting.walls.calibration")
        self.error = ctx.model("wall.model_error")
        self.thrust_error = ctx.model("wall.thrust_error")
        self.distortion = ctx.model("wall.bolt_distortion")
        self.tensile = ctx.catalogue("metal", self.metal, "tensile")
        self.modulus, self.poisson, self.conductivity, self.expansion = (
            ctx.catalogue("metal", self.metal, name)
            for name in ("modulus", "poisson", "conductivity", "expansion")
        )
        self._flux: dict[int, Value] = {}

    def flux(self, depth_index: int) -> Value:
        """Heat flux through the wall at one depth."""
        if depth_index not in self._flux:
            self._flux[depth_index] = stress.heat_flux(
                self.ctx.model("wall.heat_flux"),
                self.ctx.kernel("peak_pressure"),
                self.ctx.kernel("piston_speed"),
                self.ctx.build(f"casting.walls.depth.{depth_index}"),
                self.ctx.build("crank.stroke"),
                self.ctx.model("wall.heat_reach"),
            )
        return self._flux[depth_index]

    def shell(self, name: str, place: Place, value: float, unit: str = "1") -> Value:
        """A shell coefficient of one place as a leaf."""
        spot = f"{kernel_place(place)} angle {place.angle_index + 1}"
        key = f"shell {place.mean:.9g} {place.depth:.9g} {place.angle:.9g}"
        return self.ctx.constant(name, spot, np.full((1, 1, 1, 1), value), unit, _SHELL, key)


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
    common, bores = _Common(ctx, build), bores_of(build)
    for water_side, bore_side in zip(governing(bores, True), governing(bores, False), strict=True):
        if not water_side:
            continue
        outside = [_reading(common, place, True) for place in water_side]
        inside = [_reading(common, place, False) for place in bore_side]
        found.append(_fatigue(common, inside, "bore"))
        found.append(_fatigue(common, outside, "water"))
        found.append(_burst(common, outside))
    return found


def kernel_place(place: Place) -> str:
    """Place of the gas and side-force kernels of a reading."""
    return f"cylinder {place.cylinder} depth {place.depth_index + 1}"


def _words(build: Build, place: Place) -> str:
    """Where a reading is, in the unit in which the bore was written."""
    metric = build.values["casting.bore"].unit in ("mm", "cm", "m")
    depth = f"{place.depth * 1e3:.0f} mm" if metric else f"{place.depth / 0.0254:.2f} in"
    return f"cylinder {place.cylinder}, {depth} below deck, {round(np.degrees(place.angle)) % 360:d} deg"


def _reading(common: _Common, place: Place, outside: bool) -> _Reading:
    """All stresses of one place at one face."""
    ctx, bore, error = common.ctx, common.bore, common.error
    path = f"casting.walls.{place.cylinder}.{place.depth_index}.{place.angle_index}"
    thickness = stress.true_thickness(ctx.build(path), common.calibration)
    hoop = (stress.hoop_outside if outside else stress.hoop_inside)(bore, thickness)
    front = stress.with_thickness(
        common.shell("wall_front", place, place.front), thickness, place.mean, place.front_slope
    )
    uneven = stress.uneven_bending(common.shell("wall_uneven", place, place.uneven, "m"), bore, thickness)
    ratio = stress.gas_ratio(error, front, hoop, uneven, outside)
    gas = stress.gas_stress(ratio, ctx.kernel("wall_pressure", kernel_place(place)))
    moment = common.shell("wall_thrust_moment", place, place.thrust)
    support = support_of(ctx, common.metal, bending_gradient(thickness, 0.0), common.tensile)
    push = stress.thrust_ratio(error, common.thrust_error, moment, thickness, support, outside)
    thrust = stress.thrust_stress(push, ctx.kernel("side_thrust", kernel_place(place)))
    thermal = stress.thermal_stress(
        common.flux(place.depth_index),
        thickness,
        common.conductivity,
        common.modulus,
        common.expansion,
        common.poisson,
        outside,
    )
    fade = common.shell("wall_fade", place, place.fade)
    bolts = stress.bolt_distortion_stress(
        common.distortion, fade, common.modulus, common.poisson, bore, thickness
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


def _fatigue(common: _Common, readings: list[_Reading], side: str) -> Fatigue:
    """Fatigue of one face, the worst of its readings in every sample and cycle."""
    ctx, build, worst = common.ctx, common.build, readings[0]
    largest, smallest = worst.largest, worst.smallest
    for other in readings[1:]:
        pair = (largest, smallest, other.largest, other.smallest)
        largest, smallest = stress.worse_largest(*pair), stress.worse_smallest(*pair)
    cylinder = worst.place.cylinder
    return Fatigue(
        identity=Identity(
            id=f"wall-{side}-side-cylinder-{cylinder}",
            name=f"Cylinder wall fatigue, {side} side",
            part="cylinder wall",
            place=_words(build, worst.place),
            source=_SOURCE,
            group="bores",
            notes=_notes(build),
        ),
        stress_max=largest,
        stress_min=smallest,
        strength=fatigue_strength(
            ctx,
            build,
            "casting",
            thickness=worst.thickness,
            skin=side == "water",
            loading="axial",
            temperature=ctx.model("wall.temperature"),
        ),
        tensile=tensile_strength(ctx, build, "casting", worst.thickness),
        slope=ctx.catalogue("metal", common.metal, "slope"),
        knee=ctx.catalogue("metal", common.metal, "knee"),
        mean_rule=catalogue.row("metal", common.metal).text("mean_rule"),
        split={
            "gas pressure": stress.peak_of(worst.gas),
            "side thrust": stress.peak_of(worst.thrust),
            "head bolts": stress.peak_of(worst.bolts),
            "heat through the wall": stress.peak_of(worst.thermal),
        },
    )


def _burst(common: _Common, readings: list[_Reading]) -> SingleEvent:
    """Bursting of the wall by the largest pressure of the duty, knock bursts included."""
    ctx, worst = common.ctx, readings[0]
    extreme, peak = ctx.kernel("cylinder_pressure_extreme"), ctx.kernel("peak_pressure")
    demand: Value = None
    for reading in readings:
        wall = ctx.kernel("wall_pressure", kernel_place(reading.place))
        burst = stress.bursting_stress(reading.gas_ratio, extreme, wall, peak, reading.steady)
        demand = burst if demand is None else stress.larger(demand, burst)
    return SingleEvent(
        identity=Identity(
            id=f"wall-burst-cylinder-{worst.place.cylinder}",
            name="Cylinder wall bursting",
            part="cylinder wall",
            place=_words(common.build, worst.place),
            source="Lame and thin shell held by the deck against tensile strength",
            group="bores",
            notes=_notes(common.build),
        ),
        unit="Pa",
        demand=demand,
        capacity=tensile_strength(ctx, common.build, "casting", worst.thickness),
        split={
            "head bolts": stress.peak_of(worst.bolts),
            "heat through the wall": stress.peak_of(worst.thermal),
        },
    )


def _notes(build: Build) -> tuple[str, ...]:
    if build.choices.get("casting.siamesed", False):
        return (*_NOTES, "Siamesed bores: readings within 30 degrees of a neighbouring bore are not judged.")
    return _NOTES
