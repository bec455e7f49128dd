"""From a build to what is set anew between engine cycles: turbocharger, blower, nitrous oxide."""

from __future__ import annotations

import math

from ..build import catalogue
from ..build.model import Build
from .boost.blower import Displacer, DrivenWheel
from .boost.compressor import Compressor, Cooler, Surroundings
from .boost.driven import BlowerSteering
from .boost.generic import generic_map
from .boost.map import CompressorMap
from .boost.reading import read_map
from .boost.shaft import Turbocharger
from .boost.sizes import air_flow_for
from .boost.steering import TurboSteering
from .boost.turbine import Turbine, Wastegate
from .from_build import constant, operating_point
from .fuels import working_gas
from .model import OperatingPoint
from .nitrous.charge import bottle_enthalpy
from .nitrous.feed import JetFeed, Line
from .nitrous.inlet import Inlet, liquid
from .nitrous.jet import Jet
from .nitrous.sizing import jet_for_flow
from .nitrous.steering import NitrousFeed, nitrous_feed
from .steering import Steering

#: Heat set free when nitrous oxide decomposes [J/kg]: 82.05 kJ/mol, its enthalpy of formation (tables).
DECOMPOSITION = 82.05e3 / 44.013e-3
#: Bore of the line [m]; with the loss of the line given as a whole it bounds the jets only.
_LINE_BORE = 0.020


def boost_constant(name: str) -> float:
    """A constant from ``models/boost.toml`` [SI]."""
    return catalogue.row("model", f"boost.{name}").si("value")


def steering(build: Build, speed: float | None = None) -> Steering | None:
    """What steers a build between cycles at full load, or None when nothing does.

    Parameters
    ----------
    build : Build
    speed : float or None
        [rad/s]; the target's when None.  Nitrous oxide flows from its activation speed upwards.

    Notes
    -----
    The charger comes first: it sets the charge that the nitrous oxide then meets.
    """
    charger = charger_of(build)
    if not nitrous_flows(build, speed):
        return charger
    return nitrous_of(build, operating_point(build, speed), charger)


def charger_of(build: Build) -> TurboSteering | BlowerSteering | None:
    """The build's turbocharger or blower as a machine, or None where only its boost is told."""
    if build.has("turbo"):
        return turbo_of(build)
    return blower_of(build) if build.has("blower") else None


def nitrous_flows(build: Build, speed: float | None = None) -> bool:
    """Whether nitrous oxide is fitted and flows at a speed [rad/s]; at the target's when None."""
    if not build.has("nitrous"):
        return False
    return (build.si("target.speed") if speed is None else speed) >= build.si("nitrous.activation_speed")


# --- boost -------------------------------------------------------------------------------------------


def wanted_pressure(build: Build) -> float:
    """Plenum pressure wanted, absolute [Pa]."""
    return build.si("conditions.pressure") + build.si("boost.pressure")


def _surroundings(build: Build) -> Surroundings:
    return Surroundings(build.si("conditions.pressure"), build.si("conditions.temperature"))


def target_air(build: Build) -> float:
    """Air flow that the target's power is likely to take, at which drops are told [kg/s]."""
    return air_flow_for(build.si("target.power"), build.word("fuel.kind"), build.si("fuel.lambda"))


def _cooler(build: Build, machine: str) -> Cooler:
    effectiveness = build.si(f"{machine}.cooler_effectiveness")
    if effectiveness == 0.0:
        return Cooler(0.0, 0.0, target_air(build), build.si("conditions.temperature"))
    drop, medium = build.si(f"{machine}.cooler_drop"), build.si(f"{machine}.cooling_temperature")
    return Cooler(effectiveness, drop, target_air(build), medium)


def _map(build: Build, machine: str, diameter: float) -> CompressorMap:
    """The map that the build names, or the one scaled by size."""
    path = f"{machine}.compressor_map"
    if build.has(path):
        return read_map(build.file(path))
    return generic_map(diameter, build.si(f"{machine}.trim"))


def _compressor(build: Build, machine: str, diameter_path: str, tip_limit: float) -> Compressor:
    """The compressor; a wheel that is only assumed gives way to the one that a map states."""
    diameter = build.value(diameter_path)
    table = _map(build, machine, diameter.si)
    stated = table.diameter is not None and diameter.by == "assumed"
    return Compressor(table, None if stated else diameter.si, tip_limit)


def turbo_of(build: Build) -> TurboSteering:
    """The turbocharger of a build, steered to its boost."""
    turbine = Turbine(
        diameter=build.si("turbo.turbine_diameter"),
        throat_area=build.si("turbo.turbine_area"),
        discharge=boost_constant("turbine_discharge"),
        stator_share=boost_constant("stator_share"),
        best_efficiency=build.si("turbo.turbine_efficiency"),
        best_speed_ratio=boost_constant("best_speed_ratio"),
        swallowing_fall=boost_constant("swallowing_fall"),
    )
    machine = Turbocharger(
        surroundings=_surroundings(build),
        compressor=_compressor(build, "turbo", "turbo.compressor_diameter", build.si("turbo.tip_limit")),
        turbine=turbine,
        wastegate=Wastegate(build.si("turbo.wastegate_diameter"), boost_constant("wastegate_discharge")),
        cooler=_cooler(build, "turbo"),
        evaporation_share=constant("evaporation_share"),
        charge_heating=constant("charge_heating"),
        back_loss=build.si("turbo.back_loss"),
        back_diameter=build.si("turbo.back_diameter"),
        inertia=build.si("turbo.inertia"),
        inlet_drop=build.si("turbo.inlet_drop"),
        inlet_flow=target_air(build),
        count=build.count("turbo.count"),
        mechanical_efficiency=build.si("turbo.mechanical_efficiency"),
    )
    return TurboSteering(wanted_pressure(build), machine)


def blower_of(build: Build) -> BlowerSteering:
    """The blower of a build, steered to its boost by bypass, drive ratio, or not at all."""
    principle = build.word("blower.principle")
    tip_limit = boost_constant("tip_limit")
    machine: Displacer | DrivenWheel
    if principle == "centrifugal":
        machine = DrivenWheel(_compressor(build, "blower", "blower.impeller_diameter", tip_limit))
    else:
        machine = Displacer(
            displacement=build.si("blower.displacement"),
            internal_ratio=1.0 if principle == "lobe" else boost_constant("screw_internal"),
            efficiency=boost_constant(f"{principle}_efficiency"),
            leak=boost_constant(f"{principle}_leak"),
            filling_loss=boost_constant("filling_loss"),
        )
    bypass = build.si("blower.bypass_diameter")
    given = build.has("blower.drive_ratio")
    return BlowerSteering(
        wanted=wanted_pressure(build),
        machine=machine,
        surroundings=_surroundings(build),
        cooler=_cooler(build, "blower"),
        drive_ratio=build.si("blower.drive_ratio") if given else 1.0,
        evaporation_share=constant("evaporation_share"),
        charge_heating=constant("charge_heating"),
        inlet_drop=build.si("blower.inlet_drop"),
        inlet_flow=target_air(build),
        control="drive" if not given else "bypass" if bypass > 0.0 else "none",
        bypass_area=boost_constant("bypass_discharge") * 0.25 * math.pi * bypass**2,
        drive_efficiency=build.si("blower.mechanical_efficiency"),
        tip_limit=tip_limit if principle == "centrifugal" else math.nan,
    )


# --- nitrous oxide -----------------------------------------------------------------------------------


def bottle_outlet(build: Build) -> Inlet:
    """Liquid at the bottle's temperature, as a dip tube gives it."""
    return liquid(build.si("nitrous.bottle_temperature"))


def nitrous_line(build: Build) -> Line:
    """The line to the jets, by the pressure that it loses."""
    return Line(_LINE_BORE, 0.0, drop=build.si("nitrous.line_loss"))


def flow_for_wanted_power(build: Build, fuel: str, lambda_: float) -> float:
    r"""Nitrous oxide that a power wanted from it is likely to take [kg/s]: a first sizing, good to 20 %.

    .. math:: \dot m = \frac{P}{\eta\,(h_d + a\,H_u \min(1, 1/\lambda)/L)}

    with the air that a kilogram stands for, a, its heat of decomposition h_d, the fuel's heating value H_u
    and stoichiometric air L, and the brake efficiency eta of ``boost.design_efficiency``.  `nitrous.sizing`
    solves the same with the engine itself.
    """
    gas = working_gas(fuel)
    fuel_heat = float(gas.constants[15]) * gas.heating_value * min(1.0, 1.0 / lambda_) / gas.air_fuel_ratio
    return build.si("nitrous.power") / (boost_constant("design_efficiency") * (DECOMPOSITION + fuel_heat))


def nitrous_jet(build: Build, point: OperatingPoint) -> Jet:
    """The jets given, or those for the power wanted."""
    count = build.count("nitrous.jets")
    if build.has("nitrous.jet"):
        return Jet(build.si("nitrous.jet"), count)
    flow = flow_for_wanted_power(build, point.fuel, point.lambda_)
    return jets_passing(build, flow, point.plenum_pressure)


def jets_passing(build: Build, flow: float, plenum_pressure: float) -> Jet:
    """As many jets as the build has, of the bore that passes a flow of nitrous oxide [kg/s].

    Raises
    ------
    OutsideValidity
        When the line lets no such flow through, whatever the jets.
    """
    outlet, line, count = bottle_outlet(build), nitrous_line(build), build.count("nitrous.jets")
    return jet_for_flow(flow, outlet, plenum_pressure, count=count, line=line)


def nitrous_of(
    build: Build, point: OperatingPoint, charger: TurboSteering | BlowerSteering | None
) -> NitrousFeed:
    """The nitrous feed of a build.

    Notes
    -----
    With a fuel jet that is given the mixture follows from it and from the engine's own fuel; otherwise the
    fuel (jet or injectors) is what holds `fuel.lambda`.
    """
    fuel_jet = None
    if build.has("nitrous.fuel_jet"):
        fuel_jet = Jet(build.si("nitrous.fuel_jet"), build.count("nitrous.jets"))
    fuel_pressure = 0.0
    if fuel_jet is not None:
        fuel_pressure = point.plenum_pressure + build.si("nitrous.fuel_pressure")
    feed = JetFeed(
        bottle=bottle_outlet(build),
        jet=nitrous_jet(build, point),
        line=nitrous_line(build),
        fuel_jet=fuel_jet,
        fuel=point.fuel,
        fuel_pressure=fuel_pressure,
    )
    return nitrous_feed(
        feed,
        bottle_enthalpy(build.si("nitrous.bottle_temperature")),
        point.plenum_temperature,
        own_lambda=None if fuel_jet is None else build.si("fuel.lambda"),
        place=build.word("nitrous.place"),
        charger=charger,
    )
