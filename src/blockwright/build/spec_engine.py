"""Sections of the build file: layout, target, the rotating assembly, heads and cam."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from .fields import CatalogueRow, Section
from .quantity import Pairs, Quantity, Series
from .spec_block import RodBolts

Q = Quantity
_LIFT = Q("length", "0 in", "2 in", floor="0.002 in")
_FLOW = Q("flow", "0 cfm", "3000 cfm")
_TURN = Q("angle", "-720 deg", "1440 deg")
_CURVE = "Lift of the valve against crank angle after the firing dead centre: [[angle, lift], ...]."


class Layout(Section):
    """Cylinders, banks and crankpins."""

    kind: Annotated[
        Literal["inline", "V", "flat"], Field(description="Arrangement of the cylinders.", examples=["V"])
    ]
    cylinders: Annotated[int, Field(description="How many.", ge=1, le=24, examples=[8])]
    firing_order: Annotated[
        list[Annotated[int, Field(ge=1, le=24)]],
        Field(
            description="Cylinder numbers as they fire.",
            min_length=1,
            max_length=24,
            examples=[[1, 5, 4, 2, 6, 3, 7, 8]],
        ),
    ]
    bank_angle: Annotated[
        Any, Q("angle", "2 deg", "180 deg", "Between the banks of a V.", "90 deg", chosen=True)
    ] = None
    throws: Annotated[
        Any,
        Series(
            Q("angle", "-720 deg", "720 deg", chosen=True),
            "Crankpins front to rear, ahead of the first in the turning sense.",
        ),
    ] = None
    split: Annotated[
        Any,
        Q(
            "angle",
            "-120 deg",
            "120 deg",
            "Setback of the second half of each split pin; a pair then comes to the top bank angle plus "
            "split apart.",
            "0 deg",
            chosen=True,
        ),
    ] = None
    numbering: Annotated[
        Literal["alternating", "by-bank"] | None,
        Field(description="Odd numbers in bank A and even in B (alternating), or bank A first (by-bank)."),
    ] = None
    bank_offset: Annotated[Any, Q("length", "-6 in", "6 in", "Bank B behind bank A.", "0.95 in")] = None


class Target(Section):
    """What the customer wants."""

    power: Annotated[Any, Q("power", "1 hp", "10000 hp", "At the crank.", "450 hp", chosen=True)]
    speed: Annotated[
        Any, Q("turning speed", "500 rpm", "25000 rpm", "At which it is made.", "6500 rpm", chosen=True)
    ]
    survival: Annotated[
        Any,
        Q(
            "number",
            "0.5",
            "0.9999",
            "Least chance of lasting the duty that is accepted.",
            "0.95",
            chosen=True,
        ),
    ] = None


class Crank(Section):
    """The crankshaft."""

    stroke: Annotated[Any, Q("length", "0.8 in", "20 in", "Stroke.", "3.480 in")]
    main_journal: Annotated[Any, Q("length", "0.6 in", "12 in", "Main journal.", "2.500 in")] = None
    pin_journal: Annotated[Any, Q("length", "0.5 in", "12 in", "Crankpin.", "2.100 in")] = None
    main_width: Annotated[Any, Q("length", "0.2 in", "6 in", "Main bearing, along.", "0.88 in")] = None
    throw_moment: Annotated[
        Any,
        Q(
            "mass moment",
            "0 kg*m",
            "50 kg*m",
            "Mass times radius of pin and webs of one throw, without counterweights.",
            "0.075 kg*m",
        ),
    ] = None
    balance: Annotated[
        Any, Q("number", "0", "1", "Share of the reciprocating mass that counterweights balance.", "0.5")
    ] = None
    counterweight: Annotated[
        Literal["full", "none"] | None, Field(description="Counterweights at every throw (full), or none.")
    ] = None


class Rods(Section):
    """Connecting rods."""

    length: Annotated[Any, Q("length", "1.5 in", "40 in", "Between centres.", "5.700 in")]
    big_end_mass: Annotated[Any, Q("mass", "10 g", "50 kg", "Weighed at the big end.", "450 g")] = None
    small_end_mass: Annotated[Any, Q("mass", "5 g", "30 kg", "Weighed at the small end.", "180 g")] = None
    material: Annotated[str | None, CatalogueRow("metal"), Field(description="A row of the catalogue.")] = (
        None
    )
    beam_area: Annotated[
        Any, Q("area", "10 mm^2", "20000 mm^2", "Least section of the beam.", "220 mm^2")
    ] = None
    beam_inertia: Annotated[
        Any,
        Q(
            "second moment of area",
            "20 mm^4",
            "1e8 mm^4",
            "Least second moment of that section.",
            "3600 mm^4",
        ),
    ] = None
    big_end_bore: Annotated[Any, Q("length", "0.5 in", "14 in", "Housing without shells.", "2.225 in")] = None


class Pistons(Section):
    """Pistons, pins and rings."""

    mass: Annotated[Any, Q("mass", "15 g", "60 kg", "Bare piston.", "505 g")] = None
    pin_mass: Annotated[Any, Q("mass", "3 g", "30 kg", "Pin with its locks.", "150 g")] = None
    ring_mass: Annotated[Any, Q("mass", "1 g", "5 kg", "Rings of one piston.", "43 g")] = None
    pin_offset: Annotated[
        Any, Q("length", "-0.5 in", "0.5 in", "Towards the major thrust side.", "0.000 in")
    ] = None
    compression_height: Annotated[
        Any, Q("length", "0.3 in", "12 in", "Pin centre to flat of the crown.", "1.55 in")
    ] = None
    deck_clearance: Annotated[
        Any,
        Q("length", "-0.5 in", "1 in", "Crown below the deck at the top; above it is negative.", "0.010 in"),
    ] = None
    dish: Annotated[
        Any, Q("volume", "-200 cc", "500 cc", "Dish and valve reliefs; a dome is negative.", "5.0 cc")
    ] = None
    top_ring: Annotated[
        Any, Q("length", "0.02 in", "3 in", "Top of the first ring below the crown.", "0.28 in")
    ] = None


class Port(Section):
    """Valves of one side of one cylinder."""

    valves: Annotated[int | None, Field(description="In one cylinder.", ge=1, le=3)] = None
    diameter: Annotated[Any, Q("length", "0.3 in", "6 in", "Head of one valve.", "1.94 in")] = None
    flow: Annotated[
        Any,
        Pairs(
            _LIFT,
            _FLOW,
            ("lift", "flow"),
            "Flow bench of one cylinder with all its valves of this side open: [[lift, flow], ...].",
            2,
        ),
    ] = None
    depression: Annotated[Any, Q("pressure", "1 inH2O", "100 inH2O", "Of the flow bench.", "28 inH2O")] = None
    port_length: Annotated[
        Any, Q("length", "0.2 in", "20 in", "Port in the head, valve seat to flange.", "5.0 in")
    ] = None
    port_diameter: Annotated[
        Any, Q("length", "0.3 in", "6 in", "Round port of the same mean area, of one cylinder.", "1.65 in")
    ] = None


class Heads(Section):
    """Cylinder heads."""

    chamber_volume: Annotated[Any, Q("volume", "2 cc", "5000 cc", "In the head, valves shut.", "64 cc")]
    gasket_bore: Annotated[Any, Q("length", "1 in", "17 in", "Of the compressed gasket.", "4.100 in")] = None
    gasket_thickness: Annotated[Any, Q("length", "0.005 in", "0.5 in", "Compressed.", "0.040 in")] = None
    quench_share: Annotated[
        Any, Q("number", "0", "0.7", "Share of the bore's area that quench pads cover.", "0.35")
    ] = None
    tumble: Annotated[
        Any,
        Q(
            "number",
            "0.2",
            "2",
            "Turbulence at the top over the mean piston speed; tumble and swirl raise it.",
            "0.5",
        ),
    ] = None
    intake: Annotated[Port | None, Field(description="Intake valves.")] = None
    exhaust: Annotated[Port | None, Field(description="Exhaust valves.")] = None


class Cam(Section):
    """Valve events at the valve: seat to seat, or the whole curve."""

    intake_opens: Annotated[
        Any, Q("angle", "-60 deg", "140 deg", "Before top dead centre.", "35 deg", floor="2 deg")
    ] = None
    intake_closes: Annotated[
        Any, Q("angle", "-60 deg", "150 deg", "After bottom dead centre.", "75 deg", floor="2 deg")
    ] = None
    intake_lift: Annotated[
        Any, Q("length", "0.05 in", "2 in", "Highest, at the valve.", "0.520 in", floor="0.003 in")
    ] = None
    exhaust_opens: Annotated[
        Any, Q("angle", "-60 deg", "150 deg", "Before bottom dead centre.", "80 deg", floor="2 deg")
    ] = None
    exhaust_closes: Annotated[
        Any, Q("angle", "-60 deg", "140 deg", "After top dead centre.", "35 deg", floor="2 deg")
    ] = None
    exhaust_lift: Annotated[
        Any, Q("length", "0.05 in", "2 in", "Highest, at the valve.", "0.480 in", floor="0.003 in")
    ] = None
    intake_curve: Annotated[Any, Pairs(_TURN, _LIFT, ("angle", "lift"), _CURVE, 5)] = None
    exhaust_curve: Annotated[Any, Pairs(_TURN, _LIFT, ("angle", "lift"), _CURVE, 5)] = None


__all__ = [
    "Cam",
    "Crank",
    "Heads",
    "Layout",
    "Pistons",
    "Port",
    "RodBolts",
    "Rods",
    "Target",
]
