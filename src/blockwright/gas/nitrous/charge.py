"""The charge that nitrous oxide makes in the manifold: temperature, share evaporated, displaced air."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...build import catalogue
from ...errors import InputError
from ...trace import Value, formula
from ..evaporation import Saturation, evaporate
from ..fuels import WorkingGas, working_gas
from .inlet import liquid
from .root import root
from .saturation import COLDEST, coldest_pressure, critical_temperature, saturated, saturation_pressure
from .saturation import saturation_temperature as boiling
from .state import REFERENCE, gas_enthalpy_reference

Array = NDArray[np.float64]

# Places in the packed constants of a working gas (`gas.kernels.jit`; a test holds them together).
_R_FIRST, _AIR_OF_NITROUS = 9, 15
#: Columns of the frozen table.
_AIR, _FUEL, _NITROUS = 0, 1, 2
_NITROUS_MOLAR_MASS = 44.013e-3
#: Heat of sublimation below the triple point: evaporation 376 and melting 149 kJ/kg (6.54 kJ/mol, from
#: memory) [J/kg].
SUBLIMATION = 525e3
_GAS_CONSTANT = 188.91


@dataclass(frozen=True)
class Charge:
    """One kilogram of dry air with its fuel and nitrous oxide, on its way to the valve.

    Attributes
    ----------
    temperature : float
        [K]
    vapour_share : float
        Share of the nitrous oxide that has evaporated [-].
    limited : bool
        Whether it is as cold as it can get: no more evaporates at its own vapour's pressure.
    without : float
        Temperature of the same air and its fuel without nitrous oxide [K].
    displaced : float
        Share of the volume that nitrous vapour and its fuel's vapour take [-].
    air_filling : float
        Air in a volume of the charge over that without nitrous oxide [-]: cooling against displacement.
    """

    temperature: float
    vapour_share: float
    limited: bool
    without: float
    displaced: float
    air_filling: float

    @property
    def cooling(self) -> float:
        """Degrees that nitrous oxide and its fuel take off [K]."""
        return self.without - self.temperature


def air_equivalent(fuel: str) -> float:
    """Air that carries as much oxygen as a kilogram of nitrous oxide [-]."""
    return float(working_gas(fuel).constants[_AIR_OF_NITROUS])


def stoichiometric_ratio(fuel: str) -> float:
    """Nitrous oxide that just burns a kilogram of fuel, without air [-]."""
    return working_gas(fuel).air_fuel_ratio / air_equivalent(fuel)


def _enthalpy(gas: WorkingGas, column: int, temperature: float) -> float:
    """Absolute enthalpy of a column [J/kg]; a straight line goes on below the table's 200 K."""
    t, u = gas.temperature, gas.frozen[:, column]
    i = min(max(int((temperature - t[0]) / (t[1] - t[0])), 0), t.size - 2)
    energy = u[i] + (u[i + 1] - u[i]) * (temperature - t[i]) / (t[i + 1] - t[i])
    return float(energy + gas.constants[_R_FIRST + column] * temperature)


def decomposition_energy(fuel: str = "iso-octane") -> float:
    """Heat that nitrous oxide gives when it falls apart into its elements at 25 C [J/kg].

    It is the enthalpy of formation inside the gas tables, so that no burn law needs a source for it.
    """
    return _enthalpy(working_gas(fuel), _NITROUS, REFERENCE)


@formula(
    symbol="f",
    unit="1",
    equation="f = (1 + a n)/(AFR lambda)",
    source="definition",
)
def fuel_per_air(
    nitrous_per_air: Value, lambda_: Value, air_fuel_ratio: Value, air_of_nitrous: Value
) -> Value:
    """Fuel per dry air when the oxygen of the nitrous oxide counts.

    Parameters
    ----------
    nitrous_per_air : array_like
        By mass [-].
    lambda_ : array_like
        Of the whole charge [-].
    air_fuel_ratio : array_like
        Stoichiometric air per fuel by mass [-].
    air_of_nitrous : array_like
        Air with as much oxygen as a kilogram of nitrous oxide [-].

    Returns
    -------
    ndarray
        [-]
    """
    return (1.0 + air_of_nitrous * nitrous_per_air) / (air_fuel_ratio * lambda_)


@formula(
    symbol="lambda",
    unit="1",
    equation="lambda = (1 + a n)/(AFR f)",
    source="definition",
)
def charge_lambda(nitrous_per_air: Value, fuel: Value, air_fuel_ratio: Value, air_of_nitrous: Value) -> Value:
    """Oxygen over what the fuel needs, for a whole charge with nitrous oxide.

    Parameters
    ----------
    nitrous_per_air, fuel : array_like
        Nitrous oxide and fuel per dry air, by mass [-].
    air_fuel_ratio, air_of_nitrous : array_like
        As in `fuel_per_air` [-].

    Returns
    -------
    ndarray
        [-]
    """
    return (1.0 + air_of_nitrous * nitrous_per_air) / (air_fuel_ratio * fuel)


def bottle_enthalpy(temperature: float, from_liquid: bool = True) -> float:
    """Enthalpy that the feed carries out of the bottle [J/kg]; neither line nor jet changes it."""
    if from_liquid:
        return float(liquid(temperature).enthalpy)
    return float(saturated(temperature).vapour_enthalpy)


def flashed_share(enthalpy: float, pressure: float) -> float:
    """Share that is vapour when the feed has come down to a pressure [Pa] and nothing warmed it [-]."""
    both = saturated(boiling(max(pressure, coldest_pressure())))
    return float(np.clip(both.quality(enthalpy), 0.0, 1.0))


def vapour_limit(temperature: float) -> float:
    """Largest pressure of nitrous vapour at a temperature [Pa]: over liquid, below -90 C over snow."""
    if temperature >= critical_temperature():
        return math.inf
    if temperature >= COLDEST:
        return float(saturation_pressure(temperature))
    # Clausius and Clapeyron from the table's end.
    power = SUBLIMATION / _GAS_CONSTANT * (1.0 / temperature - 1.0 / COLDEST)
    return coldest_pressure() * math.exp(-power)


def default_evaporation(place: str = "plate") -> float:
    """Share of the nitrous oxide evaporated at the valve [-], for jets in a plate or at the ports."""
    if place not in ("plate", "port"):
        raise InputError(f"the jets' place is {place!r}; it is plate or port")
    name = "evaporation_share" if place == "plate" else "evaporation_share_port"
    return catalogue.row("model", f"nitrous.{name}").si("value")


def charge_with_nitrous(
    air_temperature: float,
    pressure: float,
    fuel: str,
    fuel_per_air: float,
    nitrous_per_air: float,
    nitrous_enthalpy: float,
    *,
    fuel_without: float | None = None,
    evaporation: float = 1.0,
    fuel_evaporation: float = 0.4,
    heating: float = 0.0,
) -> Charge:
    """State of air, fuel and nitrous oxide mixed at the manifold's pressure.

    Parameters
    ----------
    air_temperature : float
        Of the air before fuel and nitrous oxide [K].
    pressure : float
        Of the manifold, absolute [Pa].
    fuel : str
        Name in `gas.fuels.TABLE_OF`.
    fuel_per_air, nitrous_per_air : float
        Of the whole charge, by mass of dry air [-].
    nitrous_enthalpy : float
        `bottle_enthalpy` [J/kg].
    fuel_without : float or None
        Fuel per air without nitrous oxide, to compare with [-]; `fuel_per_air` when None.
    evaporation : float
        Share of the nitrous oxide that evaporates in the charge [-]; the rest goes on as liquid at its
        boiling point and cools the cylinder instead.
    fuel_evaporation : float
        Share of the fuel's heat of evaporation that the charge gives [-] (``gas.evaporation_share``), as
        far as the vapour does not saturate.
    heating : float
        Warming by the walls of the charge without nitrous oxide [K]; the heat is the same with it.

    Returns
    -------
    Charge

    Notes
    -----
    Enthalpy per kilogram of air, all vapour ideal:

    .. math:: h_a(T_a) + f (h_f(T_a) - x_f L) + n h_b + q =
        h_a(T) + f h_f(T) + n (y h_n(T) + (1 - y) h_l)

    The share x_f is at most what saturates at T.  Without nitrous oxide the charge is that of
    `gas.evaporation.evaporate`; the walls' heat q is what makes it so.
    """
    gas = working_gas(fuel)
    for name, value in (("fuel per air", fuel_per_air), ("nitrous per air", nitrous_per_air)):
        if not (math.isfinite(value) and value >= 0.0):
            raise InputError(f"{name} is {value:g}; it must be finite and cannot be negative")
    if not (0.0 <= evaporation <= 1.0 and 0.0 <= fuel_evaporation <= 1.0):
        raise InputError("shares that evaporate lie in 0..1")
    base = fuel_per_air if fuel_without is None else fuel_without
    shift = gas_enthalpy_reference() - _enthalpy(gas, _NITROUS, REFERENCE)
    rest = float(saturated(boiling(max(pressure, coldest_pressure()))).liquid_enthalpy)

    def need(t: float, f: float, n: float, share: float, limit: Saturation) -> float:
        """Enthalpy of a charge at `t` above what went in, without the walls' heat [J per kg of air]."""
        own = _enthalpy(gas, _AIR, t) - _enthalpy(gas, _AIR, air_temperature)
        own += f * (_enthalpy(gas, _FUEL, t) - _enthalpy(gas, _FUEL, air_temperature))
        own += f * min(limit.share(t), fuel_evaporation) * gas.latent_heat
        vapour = _enthalpy(gas, _NITROUS, t) + shift
        return own + n * (share * vapour + (1.0 - share) * rest - nitrous_enthalpy)

    def settled(f: float, n: float, share: float, warmed: float) -> float:
        limit = Saturation(fuel, pressure, f, share * n / _NITROUS_MOLAR_MASS)
        hottest = air_temperature + heating + 60.0 + n * max(nitrous_enthalpy - rest, 0.0) / 900.0
        return root(
            lambda t: need(t, f, n, share, limit) - warmed, 20.0, hottest, 1e-6,
            "temperature of the charge with nitrous oxide",
        )  # fmt: skip

    dry = evaporate(fuel, air_temperature, pressure, base, fuel_evaporation, heating).temperature
    warmed = need(dry, base, 0.0, 1.0, Saturation(fuel, pressure, base))
    r = gas.constants[_R_FIRST : _R_FIRST + 3]

    def vapour_pressure(share: float) -> float:
        moles = share * nitrous_per_air * r[_NITROUS]
        return float(pressure * moles / (r[_AIR] + fuel_per_air * r[_FUEL] + moles))

    share, limited = evaporation, False
    t = settled(fuel_per_air, nitrous_per_air, share, warmed) if nitrous_per_air > 0.0 else dry
    if nitrous_per_air > 0.0 and vapour_pressure(share) > vapour_limit(t):
        limited = True

        def excess(y: float) -> float:
            at = settled(fuel_per_air, nitrous_per_air, y, warmed)
            return math.log(max(vapour_pressure(y), 1e-9)) - math.log(min(max(vapour_limit(at), 1e-250), 1e9))

        share = root(excess, 1e-6, share, 1e-9, "share of nitrous oxide that evaporates")
        t = settled(fuel_per_air, nitrous_per_air, share, warmed)
    before = float(r[_AIR] + base * r[_FUEL])
    after = float(r[_AIR] + fuel_per_air * r[_FUEL] + share * nitrous_per_air * r[_NITROUS])
    return Charge(t, share, limited, dry, 1.0 - before / after, before * dry / (after * t))
