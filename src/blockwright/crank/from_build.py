"""The crank train of a build: from its words and values to `Layout`, `LoadModel` and `Travel`."""

from __future__ import annotations

from math import pi

from ..build import catalogue
from ..build.model import Build
from .exposure import Travel
from .layout import Layout, layout
from .loads import LoadModel


def layout_of(build: Build) -> Layout:
    """Where the cylinders, throws and mains of a build are, and when they fire."""
    throws = build.array("layout.throws")
    return layout(
        kind=build.word("layout.kind"),
        cylinders=build.count("layout.cylinders"),
        order=build.numbers("layout.firing_order"),
        bore_spacing=build.si("casting.bore_spacing"),
        bank_angle=_length_or_angle(build, "layout.bank_angle"),
        throws=throws if throws.size else None,
        split=_length_or_angle(build, "layout.split"),
        numbering=build.word("layout.numbering") if build.has("layout.numbering") else "alternating",
        bank_offset=_length_or_angle(build, "layout.bank_offset"),
    )


def load_model(build: Build) -> LoadModel:
    """Masses and dimensions of a build's crank train.

    Reciprocating: piston, pin, rings and the rod's small end.  Rotating: the rod's big end.
    """
    where = layout_of(build)
    recip = sum(build.si(f"pistons.{part}") for part in ("mass", "pin_mass", "ring_mass"))
    return LoadModel(
        layout=where,
        radius=0.5 * build.si("crank.stroke"),
        rod_length=build.si("rods.length"),
        pin_offset=build.si("pistons.pin_offset"),
        piston_area=0.25 * pi * build.si("casting.bore") ** 2,
        recip_mass=recip + build.si("rods.small_end_mass"),
        rot_mass=build.si("rods.big_end_mass"),
        throw_moment=build.si("crank.throw_moment"),
        balance=build.si("crank.balance"),
        counterweight=build.word("crank.counterweight"),
    )


def travel_of(build: Build) -> Travel:
    """Path and heights of a build's piston.

    The build does not ask for the skirt: it is taken to bear from a share of the compression
    height above the pin to a share of the bore below it (``piston.skirt_above`` and
    ``piston.skirt_below`` of the model constants).
    """
    height = build.si("pistons.compression_height")
    above = catalogue.row("model", "piston.skirt_above").si("value")
    below = catalogue.row("model", "piston.skirt_below").si("value")
    return Travel(
        radius=0.5 * build.si("crank.stroke"),
        rod_length=build.si("rods.length"),
        pin_offset=build.si("pistons.pin_offset"),
        deck_clearance=build.si("pistons.deck_clearance"),
        top_ring=build.si("pistons.top_ring"),
        skirt_top=height * (1.0 - above),
        skirt_bottom=height + below * build.si("casting.bore"),
    )


def _length_or_angle(build: Build, path: str) -> float:
    """A value that an engine of another kind does not have; 0 there."""
    return build.si(path) if path in build.values else 0.0
