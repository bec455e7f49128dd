"""Sections of the build file: boost, turbocharger, blower and nitrous oxide."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from .fields import Line, Section
from .quantity import Quantity

Q = Quantity
_EFFECTIVENESS = Q(
    "number", "0", "0.98", "Share of the rise in temperature that the cooler takes out.", "0.7"
)
_COOLER_DROP = Q("pressure", "0 psi", "8 psi", "Pressure lost in cooler and pipes at the target.", "1.0 psi")
_COOLING = Q("temperature", "220 K", "370 K", "Of the air or water that cools the cooler.", "70 degF")
_IMPELLER = Q("length", "0.8 in", "20 in", "Largest diameter of the compressor's wheel.", "2.5 in")
_TRIM = Q(
    "number", "0.3", "0.8", "Area of the wheel at its inlet over that at its rim; for the scaled map.", "0.55"
)
_INLET_DROP = Q("pressure", "0 psi", "5 psi", "Lost in filter and pipe before it at the target.", "0.3 psi")
_MAP = Field(description="A digitised map (CSV), named relative to this file; without it one scaled by size.")


class Boost(Section):
    """Charge pressure, as the state of the plenum."""

    kind: Annotated[Literal["none", "turbo", "blower"] | None, Field(description="What makes it.")] = None
    pressure: Annotated[
        Any, Q("pressure", "0 psi", "150 psi", "Wanted in the plenum, above the surroundings.", "12 psi")
    ] = None
    temperature: Annotated[
        Any,
        Q(
            "temperature",
            "220 K",
            "480 K",
            "Of the charge in the plenum, where no machine is told.",
            "110 degF",
        ),
    ] = None
    exhaust_pressure: Annotated[
        Any,
        Q(
            "pressure",
            "0 psi",
            "200 psi",
            "In the exhaust, above the surroundings, where no machine is told.",
            "14 psi",
        ),
    ] = None


class Turbo(Section):
    """The turbocharger: present, temperature and back-pressure are computed from the machine."""

    count: Annotated[int | None, Field(description="How many alike, side by side.", ge=1, le=4)] = None
    compressor_map: Annotated[Line | None, _MAP] = None
    compressor_diameter: Annotated[Any, _IMPELLER] = None
    trim: Annotated[Any, _TRIM] = None
    tip_limit: Annotated[
        Any, Q("speed", "200 m/s", "700 m/s", "Fastest that the rim of the compressor may run.", "520 m/s")
    ] = None
    turbine_diameter: Annotated[
        Any, Q("length", "0.8 in", "12 in", "Wheel of the turbine where the gas enters it.", "2.3 in")
    ] = None
    turbine_area: Annotated[
        Any, Q("area", "0.05 in^2", "30 in^2", "Throat of the housing of one turbine.", "1.2 in^2")
    ] = None
    turbine_efficiency: Annotated[
        Any, Q("number", "0.3", "0.85", "Best isentropic efficiency, total to static.", "0.68")
    ] = None
    mechanical_efficiency: Annotated[
        Any, Q("number", "0.7", "1", "Of the bearings of the rotor.", "0.96")
    ] = None
    inertia: Annotated[
        Any, Q("moment of inertia", "1e-7 kg*m^2", "0.1 kg*m^2", "Of one rotor.", "80 kg*mm^2")
    ] = None
    wastegate_diameter: Annotated[
        Any, Q("length", "0 in", "6 in", "Of one turbine's wastegate; 0 for none.", "1.5 in")
    ] = None
    cooler_effectiveness: Annotated[Any, _EFFECTIVENESS] = None
    cooler_drop: Annotated[Any, _COOLER_DROP] = None
    cooling_temperature: Annotated[Any, _COOLING] = None
    inlet_drop: Annotated[Any, _INLET_DROP] = None
    back_loss: Annotated[
        Any, Q("number", "0", "100", "Loss coefficient of the pipe behind one turbine.", "4")
    ] = None
    back_diameter: Annotated[Any, Q("length", "0.5 in", "12 in", "Of that pipe.", "3.0 in")] = None


class Blower(Section):
    """The blower: present, temperature and the power that it takes are computed from the machine."""

    principle: Annotated[
        Literal["lobe", "screw", "centrifugal"],
        Field(description="How it moves the air.", examples=["lobe"]),
    ]
    displacement: Annotated[
        Any,
        Q("volume", "0.05 l", "40 l", "Air moved in one turn of its driven shaft (lobe, screw).", "6.7 l"),
    ] = None
    impeller_diameter: Annotated[Any, _IMPELLER] = None
    compressor_map: Annotated[Line | None, _MAP] = None
    trim: Annotated[Any, _TRIM] = None
    drive_ratio: Annotated[
        Any,
        Q(
            "number",
            "0.3",
            "30",
            "Turns of the driven shaft or impeller for one of the crank; left out, what the boost needs.",
            "1.3",
            chosen=True,
        ),
    ] = None
    bypass_diameter: Annotated[
        Any,
        Q("length", "0 in", "6 in", "Valve that holds the boost to what is wanted; 0 for none.", "1.5 in"),
    ] = None
    mechanical_efficiency: Annotated[Any, Q("number", "0.7", "1", "Of belt, gears and bearings.", "0.96")] = (
        None
    )
    cooler_effectiveness: Annotated[Any, _EFFECTIVENESS] = None
    cooler_drop: Annotated[Any, _COOLER_DROP] = None
    cooling_temperature: Annotated[Any, _COOLING] = None
    inlet_drop: Annotated[Any, _INLET_DROP] = None


class Nitrous(Section):
    """Nitrous oxide: present only when a system is fitted."""

    mode: Annotated[
        Literal["wet", "dry"] | None,
        Field(description="With its own fuel jet (wet), or the engine's fuel system enriches (dry)."),
    ] = None
    place: Annotated[
        Literal["plate", "port"] | None, Field(description="Sprayed in before the plenum, or at each port.")
    ] = None
    jets: Annotated[int | None, Field(description="Nitrous jets in all.", ge=1, le=96)] = None
    jet: Annotated[
        Any, Q("length", "0.005 in", "0.5 in", "Bore of one nitrous jet; instead of power.", "0.062 in")
    ] = None
    fuel_jet: Annotated[
        Any, Q("length", "0.005 in", "0.5 in", "Bore of one fuel jet, as many as nitrous jets.", "0.055 in")
    ] = None
    fuel_pressure: Annotated[
        Any, Q("pressure", "1 psi", "250 psi", "At the fuel jet, above the plenum.", "6 psi")
    ] = None
    power: Annotated[
        Any, Q("power", "1 hp", "5000 hp", "Wanted from it; instead of jet.", "150 hp", chosen=True)
    ] = None
    bottle_mass: Annotated[
        Any, Q("mass", "0.2 kg", "200 kg", "Nitrous oxide in one full bottle.", "10 lb", chosen=True)
    ]
    bottle_volume: Annotated[Any, Q("volume", "0.2 l", "300 l", "Inside of one bottle.", "6.7 l")] = None
    bottle_temperature: Annotated[
        Any, Q("temperature", "250 K", "309 K", "At the start of a pass.", "86 degF")
    ] = None
    bottles: Annotated[int | None, Field(description="Open at the same time.", ge=1, le=12)] = None
    retard: Annotated[
        Any, Q("angle", "0 deg", "40 deg", "Spark later than spark.advance while it flows.", "6 deg")
    ] = None
    activation_speed: Annotated[
        Any,
        Q("turning speed", "500 rpm", "20000 rpm", "From which it may flow.", "3000 rpm", chosen=True),
    ] = None
    line_loss: Annotated[
        Any, Q("pressure", "0 psi", "500 psi", "Lost between bottle and jets while it flows.", "30 psi")
    ] = None
