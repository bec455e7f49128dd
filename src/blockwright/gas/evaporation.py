"""How far fuel cools the charge by evaporating: its heat of evaporation, and saturation as the end."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from ..build import catalogue
from ..errors import InputError
from ..trace import Value, formula
from .crossing import crossing
from .fuels import WorkingGas, working_gas

R = 8.314462618
M_AIR = 28.962e-3
REFERENCE = 298.15
#: Heat capacities of dry air and fuel vapour near 300 K [J/(kg K)].
CP_AIR, CP_FUEL = 1005.0, 1650.0
#: No charge is looked at below this [K].
COLDEST = 100.0


@formula(
    symbol="p_s",
    unit="Pa",
    equation="p_s = p_25 exp(-(L M/R) (1/T - 1/298.15 K))",
    source="Clausius and Clapeyron, heat of evaporation constant",
    valid="220 to 340 K within 15 % for the alcohols; petrol boils over a range: only its order",
)
def vapour_pressure(temperature: Value, at_25: Value, latent: Value, molar_mass: Value) -> Value:
    """Pressure at which fuel vapour over its liquid is saturated.

    Parameters
    ----------
    temperature : array_like
        [K]
    at_25 : array_like
        Vapour pressure at 25 C [Pa].
    latent : array_like
        Heat of evaporation [J/kg].
    molar_mass : array_like
        Of the vapour [kg/mol].
    """
    slope = np.asarray(latent) * molar_mass / R
    return at_25 * np.exp(-slope * (1.0 / np.asarray(temperature) - 1.0 / REFERENCE))


@dataclass(frozen=True)
class Evaporated:
    """Charge after its fuel has cooled it.

    Attributes
    ----------
    temperature : float
        [K]
    share : float
        Share of the fuel's heat of evaporation that the charge itself gave [-].
    saturated : bool
        Whether saturation, and not the share asked for, set the end.
    """

    temperature: float
    share: float
    saturated: bool


class Saturation:
    """How much of its fuel a charge can hold as vapour.

    Parameters
    ----------
    fuel : str
        Name in the catalogue.
    pressure : float
        Of the charge, absolute [Pa].
    fuel_per_air : float
        By mass [-].
    others : float
        Gas beside air and fuel vapour, per mass of air [mol/kg].
    """

    def __init__(self, fuel: str, pressure: float, fuel_per_air: float, others: float = 0.0) -> None:
        gas = working_gas(fuel)
        if not (pressure > 0.0 and fuel_per_air >= 0.0):
            raise InputError(
                f"a charge at {pressure:g} Pa with {fuel_per_air:g} of fuel per air: neither may be negative"
            )
        self._fuel, self._pressure = fuel, pressure
        self._moles = (1.0 / M_AIR + others) * gas.molar_mass / max(fuel_per_air, 1e-12)
        #: By which all of the heat of evaporation would cool the charge [K].
        self.drop = gas.latent_heat * fuel_per_air / (CP_AIR + fuel_per_air * CP_FUEL)

    def share(self, temperature: float) -> float:
        """Largest share of the fuel that is vapour at a temperature [K]; may exceed 1 [-]."""
        row, gas = _figures(self._fuel)
        vapour = float(vapour_pressure(temperature, row, gas.latent_heat, gas.molar_mass))
        if vapour >= self._pressure:
            return math.inf
        return self._moles * vapour / (self._pressure - vapour)


@functools.cache
def _figures(fuel: str) -> tuple[float, WorkingGas]:
    """Vapour pressure at 25 C [Pa], and the gas that the vapour is."""
    return catalogue.row("fuel", fuel).si("vapour_pressure"), working_gas(fuel)


def evaporate(
    fuel: str,
    air_temperature: float,
    pressure: float,
    fuel_per_air: float,
    share: float,
    heating: float = 0.0,
) -> Evaporated:
    """Cool a charge by a share of its fuel's heat of evaporation, held where the vapour saturates.

    Parameters
    ----------
    fuel : str
        Name in the catalogue.
    air_temperature, pressure : float
        Of the air, absolute [K], [Pa].
    fuel_per_air : float
        By mass [-].
    share : float
        Share of the fuel that may evaporate from the air's heat, 0..1 [-].
    heating : float
        What the walls add [K].

    Notes
    -----
    ``T = T_air + heating - s L F/(cp_air + F cp_fuel)`` with the vapour's partial pressure
    ``p n_f/(n_f + n_air)``, ``n_f = s F/M``, at most `vapour_pressure` of T.  T falls and the partial
    pressure rises with s, so there is one s at which both meet.
    """
    if not 0.0 <= share <= 1.0:
        raise InputError(f"the share that evaporates is {share:g}; it must lie in 0..1")
    limit = Saturation(fuel, pressure, fuel_per_air)
    warm = air_temperature + heating
    temperature = max(warm - share * limit.drop, COLDEST)
    if limit.share(temperature) >= share:
        return Evaporated(temperature, share, False)

    def short(t: float) -> float:
        """Above 0 where less could evaporate than it takes to come down to `t`."""
        return (warm - t) / limit.drop - min(limit.share(t), share)

    # Where all of the share would be vapour it is warmer than the heat balance: they meet below that.
    low, high = temperature, max(warm, COLDEST + 1.0)
    found = crossing(short, low, high, short(low), short(high), 1e-14)
    return Evaporated(found, min(limit.share(found), share), True)


def air_before(
    charge: float, fuel: str, pressure: float, fuel_per_air: float, share: float, heating: float = 0.0
) -> float:
    """Temperature of the air [K] that `evaporate` cools to `charge` [K]; the inverse, in closed form."""
    limit = Saturation(fuel, pressure, fuel_per_air)
    return charge - heating + min(limit.share(charge), share) * limit.drop
