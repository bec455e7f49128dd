"""Sections of the build file: intake, exhaust, fuel, spark, and the surrounding air."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from .fields import CatalogueRow, Section
from .quantity import Quantity

Q = Quantity

#: Lists of cylinders, one list a group.
Groups = list[Annotated[list[Annotated[int, Field(ge=1, le=24)]], Field(min_length=1, max_length=24)]]


class Intake(Section):
    """From the air inlet to the heads."""

    layout: Annotated[
        Literal["plenum", "individual"] | None,
        Field(description="Runners from a common plenum, or each from the open with its own throttle."),
    ] = None
    plenums: Annotated[
        int | None,
        Field(
            description="How many; of two each feeds every other cylinder of the firing order.", ge=1, le=2
        ),
    ] = None
    plenum_volume: Annotated[
        Any, Q("volume", "0.05 l", "200 l", "Of the plenum that the runners share, or of both.", "3.0 l")
    ] = None
    throttle_diameter: Annotated[
        Any, Q("length", "0.3 in", "20 in", "One round throttle of the same area as all.", "4.0 in")
    ] = None
    entry: Annotated[
        Literal["bell", "flush", "plain"] | None,
        Field(
            description="Mouths of the runners: rounded, sharp in the plenum's wall, or standing out of it."
        ),
    ] = None
    runner_length: Annotated[
        Any, Q("length", "0.2 in", "80 in", "Plenum (or bell mouth) to the flange of the head.", "7.0 in")
    ] = None
    runner_diameter: Annotated[
        Any, Q("length", "0.3 in", "8 in", "Round runner of the same area, at the head.", "1.65 in")
    ] = None
    runner_entry_diameter: Annotated[
        Any, Q("length", "0.3 in", "10 in", "The same at the plenum or behind the bell mouth.", "1.80 in")
    ] = None
    inlet_length: Annotated[
        Any, Q("length", "0 in", "200 in", "Pipe before the throttle; 0 for none.", "20 in")
    ] = None
    inlet_diameter: Annotated[Any, Q("length", "0.3 in", "20 in", "Of that pipe.", "4.0 in")] = None


class Exhaust(Section):
    """From the heads to the outlet."""

    layout: Annotated[
        Literal["collectors", "log"] | None,
        Field(description="Long primaries into collectors, or stubs into a log manifold."),
    ] = None
    volume: Annotated[
        Any, Q("volume", "0.05 l", "500 l", "Of the whole system, for the model without pipes.", "7.0 l")
    ] = None
    outlet_diameter: Annotated[
        Any, Q("length", "0.3 in", "20 in", "One round outlet of the same area as all.", "4.2 in")
    ] = None
    groups: Annotated[
        Groups | None,
        Field(description="Cylinders that meet in one collector or log.", min_length=1, max_length=24),
    ] = None
    primary_length: Annotated[
        Any, Q("length", "0.5 in", "5 m", "Flange of the head to the collector, secondary or log.", "31 in")
    ] = None
    primary_diameter: Annotated[Any, Q("length", "0.3 in", "8 in", "Inside.", "1.75 in")] = None
    secondary_groups: Annotated[
        Groups | None,
        Field(description="Cylinders whose primaries meet first, as in 4-2-1.", min_length=1, max_length=24),
    ] = None
    secondary_length: Annotated[Any, Q("length", "0.5 in", "5 m", "Up to the collector.", "18 in")] = None
    secondary_diameter: Annotated[Any, Q("length", "0.3 in", "10 in", "Inside.", "2.1 in")] = None
    collector_length: Annotated[
        Any, Q("length", "0.5 in", "5 m", "From where the pipes meet to the tail (or turbine).", "15 in")
    ] = None
    collector_diameter: Annotated[Any, Q("length", "0.3 in", "15 in", "Inside.", "3.0 in")] = None
    tail_length: Annotated[
        Any, Q("length", "0 in", "15 m", "Behind the collector; 0 for an open collector.", "24 in")
    ] = None
    tail_diameter: Annotated[Any, Q("length", "0.3 in", "15 in", "Inside, of one.", "3.0 in")] = None
    crossover_diameter: Annotated[
        Any, Q("length", "0 in", "10 in", "Pipe between two tails; 0 for none.", "2.5 in")
    ] = None
    silencer_loss: Annotated[
        Any,
        Q("number", "0", "100", "Loss coefficient of one tail on its dynamic head.", "0.5"),
    ] = None
    momentum_kept: Annotated[
        Any,
        Q("number", "0", "1", "Share of their momentum that the pulses keep where pipes meet.", "0.9"),
    ] = None


class Fuel(Section):
    """Fuel and mixture."""

    kind: Annotated[str | None, CatalogueRow("fuel"), Field(description="A row of the catalogue.")] = None
    lambda_: Annotated[
        Any,
        Q("number", "0.3", "1.6", "Air over what the fuel needs; below 1 is rich.", "0.87"),
        Field(alias="lambda"),
    ] = None
    injectors: Annotated[Literal["port", "carburettor"] | None, Field(description="What meters it.")] = None
    pressure: Annotated[
        Any, Q("pressure", "0.5 psi", "250 psi", "Of the fuel, above the plenum (or the bowl).", "43.5 psi")
    ] = None


class Spark(Section):
    """Spark and burning at full load."""

    advance: Annotated[
        Any, Q("angle", "-20 deg", "70 deg", "Before top dead centre, at full load.", "34 deg", floor="1 deg")
    ]
    law: Annotated[
        Literal["flame", "wiebe"] | None,
        Field(description="Burning as a turbulent flame, or by a curve of given angles."),
    ] = None
    ca50: Annotated[Any, Q("angle", "-15 deg", "50 deg", "Half burned, after top dead centre.", "8 deg")] = (
        None
    )
    burn_duration: Annotated[Any, Q("angle", "8 deg", "100 deg", "From 10 to 90 % burned.", "35 deg")] = None
    ca10_delay: Annotated[Any, Q("angle", "3 deg", "70 deg", "Spark to 10 % burned.", "24 deg")] = None
    variation: Annotated[
        Any,
        Q(
            "number",
            "0.01",
            "0.4",
            "Standard deviation of peak pressure from cycle to cycle over its mean.",
            "0.07",
        ),
    ] = None
    plug: Annotated[
        Literal["central", "side"] | None, Field(description="Where the plug stands in the chamber.")
    ] = None
    plug_offset: Annotated[
        Any, Q("length", "0 in", "6 in", "Plug gap off the axis of the bore.", "0.75 in")
    ] = None


class Conditions(Section):
    """Surrounding air."""

    pressure: Annotated[
        Any,
        Q("pressure", "40 kPa", "115 kPa", "Absolute, at the track, not reduced to sea level.", "14.5 psi"),
    ] = None
    temperature: Annotated[Any, Q("temperature", "230 K", "335 K", "Of the air.", "68 degF")] = None
    humidity: Annotated[Any, Q("number", "0", "1", "Relative.", "0.50")] = None
