"""How far fuel cools the charge by evaporating: its heat of evaporation, and saturation as the end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..build import catalogue
from ..errors import InputError
from ..trace import Value, formula
from .fuels import working_gas

R = 8.314462618
M_AIR = 28.962e-3
REFERENCE = 298.15
#: Heat capacities of dry air and fuel vapour near 300 K [J/(kg K)].
CP_AIR, CP_FUEL = 1005.0, 1650.0


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
    row, gas = catalogue.row("fuel", fuel), working_gas(fuel)
    drop = gas.latent_heat * fuel_per_air / (CP_AIR + fuel_per_air * CP_FUEL)
    at_25 = row.si("vapour_pressure")

    def state(s: float) -> tuple[float, float]:
        temperature = max(air_temperature + heating - s * drop, 100.0)
        moles = s * fuel_per_air / gas.molar_mass
        partial = pressure * moles / (moles + 1.0 / M_AIR)
        return temperature, partial - float(
            vapour_pressure(temperature, at_25, gas.latent_heat, gas.molar_mass)
        )

    temperature, over = state(share)
    if over <= 0.0:
        return Evaporated(temperature, share, False)
    low, high = 0.0, share
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if state(middle)[1] < 0.0 else (low, middle)
    return Evaporated(state(low)[0], low, True)
