"""Things that go wrong with nitrous oxide, as figures with their formula and a caution."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ...build import catalogue
from ...errors import InputError
from ...trace import Value, formula
from ..fuels import working_gas
from .charge import air_equivalent, charge_lambda
from .mixture import direction

ACTIVATION = (
    "A fixed jet gives the same flow at every speed, so each cylinder gets more of it the slower the "
    "engine turns. Switch it on only at full throttle and above the lowest speed, and let a speed window, a "
    "throttle switch and a fuel-pressure switch stand in series."
)
STUCK = (
    "A valve that stays open fills a standing engine. Close the bottle, do not crank, take out the plugs, "
    "turn the engine over by hand and let it air before anything can spark."
)
LOCK = (
    "Liquid does not compress: fuel or liquid nitrous oxide in a cylinder bends the rod or splits the "
    "block. Never arm the system with the engine standing, and never crank against a valve that leaks."
)
LEAN = (
    "Nitrous oxide without its fuel burns hot and lean and melts pistons and plugs within seconds. Cut "
    "the nitrous oxide when the fuel pressure drops, and weigh what both jets pass before the first run."
)


@formula(
    symbol="m_s",
    unit="kg",
    equation="m_s = m 4 pi/(omega z)",
    source="definition, four-stroke",
)
def mass_per_stroke(flow: Value, speed: Value, cylinders: Value) -> Value:
    """Nitrous oxide for each inlet stroke.

    Parameters
    ----------
    flow : array_like
        [kg/s]
    speed : array_like
        [rad/s]
    cylinders : array_like
        [-]

    Returns
    -------
    ndarray
        [kg]
    """
    return flow * 4.0 * math.pi / (speed * cylinders)


@formula(
    symbol="eps",
    unit="1",
    equation="eps = (V_s + V_c - V_l)/(V_c - V_l)",
    source="definition, incompressible liquid",
    valid="liquid volume below the clearance volume; above it the piston cannot pass top dead centre",
)
def ratio_with_liquid(swept: Value, clearance: Value, liquid: Value) -> Value:
    """Compression ratio of a cylinder that holds liquid.

    Parameters
    ----------
    swept, clearance, liquid : array_like
        Volumes [m3].

    Returns
    -------
    ndarray
        [-]
    """
    return (swept + clearance - liquid) / (clearance - liquid)


@dataclass(frozen=True)
class Activation:
    """A fixed jet switched on at a speed.

    Attributes
    ----------
    speed : float
        [rad/s]
    per_stroke : float
        Nitrous oxide for each inlet stroke [kg].
    per_air : float
        Over the air of each stroke [-].
    more : float
        Times what each stroke gets at the speed the jet was chosen for [-].
    volume_share : float
        Volume of its vapour at the manifold's state over the swept volume [-]; above 1 it blows back
        out of the intake.
    lowest : float
        Below this the trade does not switch on: common practice, no source [rad/s].
    allowed : bool
        Whether the speed is above `lowest` and the vapour leaves room for air.
    formula, caution : str
    """

    speed: float
    per_stroke: float
    per_air: float
    more: float
    volume_share: float
    lowest: float
    allowed: bool
    formula: str
    caution: str


def activation(
    flow: float,
    speed: float,
    chosen_speed: float,
    cylinders: int,
    swept: float,
    air_per_stroke: float,
    pressure: float,
    temperature: float,
) -> Activation:
    """What each cylinder gets when a fixed jet is switched on at a speed.

    Parameters
    ----------
    flow : float
        [kg/s]
    speed, chosen_speed : float
        Of switching on, and the one the jet was chosen for [rad/s].
    cylinders : int
    swept : float
        Of one cylinder [m3].
    air_per_stroke : float
        Air that a cylinder draws without nitrous oxide [kg].
    pressure, temperature : float
        In the manifold [Pa], [K].

    Returns
    -------
    Activation
    """
    if not (flow > 0.0 and speed > 0.0 and chosen_speed > 0.0 and swept > 0.0 and air_per_stroke > 0.0):
        raise InputError("flow, speeds, swept volume and air of a stroke must be above 0")
    mass = float(mass_per_stroke(flow, speed, cylinders))
    lowest = catalogue.row("model", "nitrous.lowest_speed").si("value")
    share = mass * 188.91 * temperature / (pressure * swept)
    return Activation(
        speed, mass, mass / air_per_stroke, chosen_speed / speed, share, lowest,
        speed >= lowest and share < 1.0, "m_s = m 4 pi/(omega z); share = m_s R T/(p V_s)", ACTIVATION,
    )  # fmt: skip


@dataclass(frozen=True)
class StuckOpen:
    """A nitrous valve, and a fuel valve, open while the engine stands.

    Attributes
    ----------
    nitrous, fuel : float
        Let in [kg].
    vapour_volume : float
        Of the nitrous oxide once it is as warm as the manifold [m3].
    share : float
        Share of the manifold's gas that is nitrous oxide by volume, well mixed [-].
    nitrous_per_air : float
        Of what stands in the manifold, by mass [-]; feeds `explosion.backfire`.
    puddle : float
        Fuel left on the floor as liquid if none evaporates [m3].
    formula, caution : str
    """

    nitrous: float
    fuel: float
    vapour_volume: float
    share: float
    nitrous_per_air: float
    puddle: float
    formula: str
    caution: str


def stuck_open(
    flow: float,
    fuel_flow: float,
    duration: float,
    volume: float,
    pressure: float,
    temperature: float,
    fuel: str,
) -> StuckOpen:
    """A manifold filled by valves that stay open.

    Parameters
    ----------
    flow, fuel_flow : float
        [kg/s]
    duration : float
        [s]
    volume : float
        Of the manifold [m3].
    pressure, temperature : float
        Of the manifold [Pa], [K].
    fuel : str
        Catalogue name.

    Returns
    -------
    StuckOpen

    Notes
    -----
    Well mixed, overflowing: the share of air falls as exp(-V_n/V).
    """
    if not (flow >= 0.0 and fuel_flow >= 0.0 and duration > 0.0 and volume > 0.0):
        raise InputError("flows cannot be negative; duration and volume must be above 0")
    nitrous, liquid_fuel = flow * duration, fuel_flow * duration
    vapour = nitrous * 188.91 * temperature / pressure
    air = math.exp(-min(vapour / volume, 60.0))
    per_air = (1.0 - air) / air * 44.013 / 28.96
    density = catalogue.row("fuel", fuel).si("density")
    return StuckOpen(
        nitrous, liquid_fuel, vapour, 1.0 - air, per_air, liquid_fuel / density,
        "share = 1 - exp(-m R T/(p V))", STUCK,
    )  # fmt: skip


@dataclass(frozen=True)
class HydraulicLock:
    """Liquid in a cylinder.

    Attributes
    ----------
    liquid : float
        [m3]
    share : float
        Over the clearance volume [-]; from 1 the piston cannot pass.
    locked : bool
    ratio : float
        Compression ratio with the liquid; inf when locked [-].
    seconds : float
        Until one cylinder with an open intake valve has gathered its clearance volume [s].
    formula, caution : str
    """

    liquid: float
    share: float
    locked: bool
    ratio: float
    seconds: float
    formula: str
    caution: str


def hydraulic_lock(
    flow: float,
    density: float,
    duration: float,
    swept: float,
    clearance: float,
    *,
    liquid_share: float = 1.0,
    into_one: float = 1.0,
) -> HydraulicLock:
    """Liquid that gathers in a cylinder with its intake valve open.

    Parameters
    ----------
    flow, density, duration : float
        Of the liquid that leaks or is sprayed in [kg/s], [kg/m3], [s].
    swept, clearance : float
        Of the cylinder [m3].
    liquid_share : float
        Share that stays liquid [-]: 1 for fuel, 1 - `charge.flashed_share` for nitrous oxide, until
        warm walls boil it.
    into_one : float
        Share that runs into this cylinder [-].

    Returns
    -------
    HydraulicLock
    """
    if not (flow >= 0.0 and density > 0.0 and duration >= 0.0 and swept > 0.0 and clearance > 0.0):
        raise InputError("flow and duration cannot be negative; density and volumes must be above 0")
    if not (0.0 <= liquid_share <= 1.0 and 0.0 <= into_one <= 1.0):
        raise InputError("the shares that stay liquid and run into one cylinder lie in 0..1")
    rate = flow * liquid_share * into_one / density
    volume = rate * duration
    locked = volume >= clearance
    ratio = math.inf if locked else float(ratio_with_liquid(swept, clearance, volume))
    return HydraulicLock(
        volume, volume / clearance, locked, ratio, clearance / rate if rate > 0.0 else math.inf,
        "V_l = m x t/rho against V_c; eps = (V_s + V_c - V_l)/(V_c - V_l)", LOCK,
    )  # fmt: skip


@dataclass(frozen=True)
class LeanOut:
    """The charge before and after a flow has changed.

    Attributes
    ----------
    before, after : float
        Lambda of the whole charge [-].
    way : str
        ``"lean"``, ``"rich"`` or ``"steady"``.
    lost_fuel : float
        Fuel gone over the fuel before [-]; negative when there is more of it.
    formula, caution : str
        The caution is empty unless the charge has become leaner.
    """

    before: float
    after: float
    way: str
    lost_fuel: float
    formula: str
    caution: str


def lean_out(
    fuel: str,
    air: float,
    before: tuple[float, float],
    after: tuple[float, float],
) -> LeanOut:
    """Charge before and after nitrous or fuel flow has changed.

    Parameters
    ----------
    fuel : str
        Name in `gas.fuels.TABLE_OF`.
    air : float
        Dry air [kg/s].
    before, after : tuple of float
        Nitrous oxide and all fuel [kg/s].

    Returns
    -------
    LeanOut
    """
    if not (air > 0.0 and before[1] > 0.0 and after[1] > 0.0 and before[0] >= 0.0 and after[0] >= 0.0):
        raise InputError("air and fuel must flow, and nitrous oxide cannot flow backwards")
    afr, a = working_gas(fuel).air_fuel_ratio, air_equivalent(fuel)
    was, now = (float(charge_lambda(n / air, f / air, afr, a)) for n, f in (before, after))
    way = direction(was, now)
    return LeanOut(
        was, now, way, 1.0 - after[1] / before[1], "lambda = (1 + a n)/(AFR f)", LEAN if way == "lean" else ""
    )
