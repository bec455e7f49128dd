"""Sections of the build file: the casting, its caps and its fasteners."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from .fields import CatalogueRow, Line, Section
from .quantity import Quantity, Series, WallRows

Q = Quantity
_THICK = Q("length", "0.01 in", "3 in")
_AROUND = Q("angle", "0 deg", "359.999 deg", chosen=True)
_DEEP = Q("length", "0 in", "20 in", chosen=True)


class Walls(Section):
    """Readings of the cylinder walls: one line a depth, one figure an angle."""

    gauge: Annotated[Line | None, Field(description="What measured them, for all readings.")] = None
    u: Annotated[
        Line | None,
        Field(description="Standard uncertainty of each reading, for instance 0.002 in or 2 %."),
    ] = None
    angles: Annotated[
        Any,
        Series(
            _AROUND,
            "Where around the bore: 0 deg is the major thrust side, clockwise seen from above.",
            1,
            True,
        ),
    ] = None
    depths: Annotated[Any, Series(_DEEP, "How far below the deck, one a line.", 1, True)] = None
    thickness: Annotated[
        Any, WallRows(_THICK, "By cylinder number: one line a depth, readings in the order of the angles.")
    ] = None
    calibration: Annotated[
        Any,
        Q(
            "number",
            "0.7",
            "1.3",
            "Factor on all readings for the sound speed of this iron; its spread is shared by all.",
            "1.00",
        ),
    ] = None


class Casting(Section):
    """The bare block."""

    material: Annotated[
        str | None, CatalogueRow("metal"), Field(description="Iron of the block, a row of the catalogue.")
    ] = None
    hardness: Annotated[
        Any, Q("hardness", "80 HB", "450 HB", "Brinell hardness at the bulkheads.", "200 HB")
    ] = None
    bore: Annotated[Any, Q("length", "1 in", "16 in", "Finished bore.", "4.030 in")]
    bore_spacing: Annotated[
        Any, Q("length", "1 in", "24 in", "Between neighbouring bores of a bank.", "4.400 in")
    ] = None
    deck_height: Annotated[
        Any, Q("length", "2 in", "48 in", "Crank centre to deck, along the bore.", "9.000 in")
    ] = None
    deck_thickness: Annotated[Any, Q("length", "0.1 in", "4 in", "Top deck.", "0.450 in")] = None
    bore_length: Annotated[
        Any, Q("length", "1 in", "36 in", "Length of the cylinder below the deck.", "5.40 in")
    ] = None
    main_bore: Annotated[
        Any, Q("length", "1 in", "14 in", "Main bearing housing, without shells.", "2.691 in")
    ] = None
    web_thickness: Annotated[Any, Q("length", "0.15 in", "6 in", "Bulkhead, along the crank.", "0.75 in")] = (
        None
    )
    web_width: Annotated[
        Any, Q("length", "0.5 in", "30 in", "Bulkhead at the height of the cam bore, across.", "4.0 in")
    ] = None
    cam_bore: Annotated[
        Any, Q("length", "0 in", "6 in", "Cam bearing bore in the bulkheads; 0 in for none.", "2.0 in")
    ] = None
    cam_height: Annotated[Any, Q("length", "1 in", "24 in", "Cam centre above crank centre.", "4.50 in")] = (
        None
    )
    valley_thickness: Annotated[
        Any, Q("length", "0.08 in", "3 in", "Floor of the lifter valley.", "0.35 in")
    ] = None
    saddle_depth: Annotated[
        Any,
        Q(
            "length",
            "0.1 in",
            "20 in",
            "Iron above the main bore in the bulkhead, up to the next hole.",
            "2.1 in",
        ),
    ] = None
    bolt_boss_diameter: Annotated[
        Any, Q("length", "0.3 in", "6 in", "Iron around the hole of a main fastener.", "1.1 in")
    ] = None
    head_boss_diameter: Annotated[
        Any, Q("length", "0.3 in", "6 in", "Iron around the hole of a head fastener.", "1.0 in")
    ] = None
    mass: Annotated[Any, Q("mass", "3 kg", "3000 kg", "Bare casting.", "150 lb")] = None
    walls: Annotated[Walls | None, Field(description="Wall readings.")] = None


class Caps(Section):
    """The main caps."""

    material: Annotated[
        str,
        CatalogueRow("metal"),
        Field(
            description="Grey iron, ductile iron or steel, a row of the catalogue.",
            examples=["grey-30", "ductile-65-45-12", "steel-1045"],
        ),
    ]
    hardness: Annotated[Any, Q("hardness", "80 HB", "450 HB", "Of the caps themselves.", "190 HB")] = None
    pattern: Annotated[
        Literal["two-bolt", "four-bolt-straight", "four-bolt-splayed"] | None,
        Field(description="Fasteners that hold a cap."),
    ] = None
    four_bolt_mains: Annotated[
        list[Annotated[int, Field(ge=1, le=40)]] | None,
        Field(description="Mains that have four, counted from 1 at the front.", min_length=1, max_length=40),
    ] = None
    splay: Annotated[
        Any, Q("angle", "0 deg", "45 deg", "Lean of the outer fasteners from the inner ones.", "20 deg")
    ] = None
    span: Annotated[
        Any, Q("length", "1 in", "20 in", "Between the inner fasteners' centres, across.", "3.55 in")
    ] = None
    outer_span: Annotated[
        Any, Q("length", "1.5 in", "30 in", "Between the outer fasteners at the joint face.", "5.3 in")
    ] = None
    length: Annotated[Any, Q("length", "0.2 in", "6 in", "Along the crank.", "0.88 in")] = None
    crown: Annotated[Any, Q("length", "0.2 in", "6 in", "Radial thickness under the bore.", "0.86 in")] = None
    foot_width: Annotated[
        Any, Q("length", "0.2 in", "8 in", "Of one foot at the joint face, across.", "0.87 in")
    ] = None
    register_fit: Annotated[
        Any,
        Q(
            "length",
            "-0.05 in",
            "0.02 in",
            "In its register, over both sides: interference above 0, clearance below.",
            "0.001 in",
        ),
    ] = None
    register_depth: Annotated[
        Any, Q("length", "0 in", "2 in", "Height of the register faces.", "0.20 in")
    ] = None
    surface: Annotated[
        Literal["as-cast", "machined"] | None, Field(description="Skin at the crown, as-cast or machined.")
    ] = None
    notch_radius: Annotated[
        Any, Q("length", "0.005 in", "2 in", "At the worst notch or spot face of the crown.", "0.12 in")
    ] = None


class Fasteners(Section):
    """Bolts or studs of one joint."""

    kind: Annotated[Literal["bolt", "stud"] | None, Field(description="Bolt or stud.")] = None
    thread: Annotated[
        str | None, CatalogueRow("thread"), Field(description="Thread in the block, a row of the catalogue.")
    ] = None
    grade: Annotated[
        str | None, CatalogueRow("grade"), Field(description="Strength, a row of the catalogue.")
    ] = None
    grip: Annotated[
        Any, Q("length", "0.2 in", "20 in", "Clamped length, head or nut to the joint's thread.", "2.0 in")
    ] = None
    engagement: Annotated[
        Any, Q("length", "0.15 in", "6 in", "Length of thread in the block.", "0.90 in")
    ] = None
    tighten: Annotated[
        Literal["torque", "angle", "stretch"] | None, Field(description="How it is tightened.")
    ] = None
    torque: Annotated[Any, Q("torque", "1 lbf*ft", "2000 lbf*ft", "Final torque.", "100 lbf*ft")] = None
    snug: Annotated[Any, Q("torque", "0 lbf*ft", "500 lbf*ft", "Torque before the angle.", "30 lbf*ft")] = (
        None
    )
    angle: Annotated[Any, Q("angle", "1 deg", "400 deg", "Turn after the snug torque.", "90 deg")] = None
    stretch: Annotated[Any, Q("length", "0.0005 in", "0.1 in", "Lengthening when tightened.", "0.006 in")] = (
        None
    )
    thread_friction: Annotated[
        Any, Q("number", "0.03", "0.5", "Friction coefficient in the thread.", "0.13")
    ] = None
    head_friction: Annotated[
        Any, Q("number", "0.03", "0.5", "Friction coefficient under head or nut.", "0.13")
    ] = None


class HeadFasteners(Fasteners):
    """Bolts or studs of the head."""

    count: Annotated[int | None, Field(description="Around one bore.", ge=2, le=16)] = None
    share: Annotated[
        Any,
        Q(
            "number",
            "0.2",
            "1",
            "Share of one fastener that serves this bore; neighbours use the rest.",
            "0.62",
        ),
    ] = None


class RodBolts(Fasteners):
    """Bolts of the connecting rod's cap."""

    count: Annotated[int | None, Field(description="In one rod.", ge=2, le=8)] = None


class Girdle(Section):
    """A plate that ties the caps together; leave the section out when none is fitted."""

    material: Annotated[str | None, CatalogueRow("metal"), Field(description="A row of the catalogue.")] = (
        None
    )
    thickness: Annotated[Any, Q("length", "0.05 in", "4 in", "Of the plate.", "0.50 in")]
    width: Annotated[
        Any, Q("length", "0.2 in", "20 in", "Along the crank of the section that ties one cap.", "1.5 in")
    ]
    fit: Annotated[
        Any,
        Q("length", "-0.02 in", "0.05 in", "Clearance to the caps; below 0 it is pulled tight.", "0.000 in"),
    ] = None
