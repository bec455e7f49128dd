"""Wheels for a target of which nothing but the air flow is known: generic sizes, with wide spreads."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..fuels import working_gas
from .generic import REFERENCE_PRESSURE, REFERENCE_TEMPERATURE, constant
from .map import AIR_CONSTANT, CP, KAPPA

#: State of the exhaust for which a turbine's throat is chosen: temperature [K], gas constant, flow function
#: when choked, share of the gas that goes through the turbine.
_HOT, _R_HOT, _CHOKED, _THROUGH = 1200.0, 289.0, 0.673, 0.8


@dataclass(frozen=True)
class Sizes:
    """Generic sizes of one turbocharger.

    Attributes
    ----------
    compressor, turbine, wastegate, back : float
        Diameters [m]: wheel outlet, wheel inlet, seat, pipe behind the turbine.
    turbine_area : float
        Throat of the housing [m2].
    inertia : float
        Of the rotor [kg m2].
    """

    compressor: float
    turbine: float
    turbine_area: float
    wastegate: float
    back: float
    inertia: float


def air_flow_for(power: float, fuel: str, lambda_: float) -> float:
    """Air flow [kg/s] that a brake power [W] is likely to need: a first guess.

    A brake efficiency (``boost.design_efficiency``) of the fuel that finds oxygen.
    """
    gas = working_gas(fuel)
    energy = gas.heating_value / gas.air_fuel_ratio * min(1.0, 1.0 / lambda_)
    return power / (constant("design_efficiency") * energy)


def compressor_diameter(air_flow: float, pressure_ratio: float) -> float:
    """Wheel [m] that gives an air flow [kg/s] at a pressure ratio right of the generic map's middle."""
    tip = math.sqrt(2.0 * CP * REFERENCE_TEMPERATURE * (pressure_ratio**KAPPA - 1.0))
    density = REFERENCE_PRESSURE / (AIR_CONSTANT * REFERENCE_TEMPERATURE)
    return math.sqrt(air_flow / (constant("design_flow") * density * 0.25 * math.pi * max(tip, 200.0)))


def turbo_sizes(air_flow: float, pressure_ratio: float, count: int = 1, fuel_per_air: float = 0.08) -> Sizes:
    """Generic turbocharger for a target.

    Parameters
    ----------
    air_flow : float
        Of the whole engine at the target [kg/s].
    pressure_ratio : float
        Of the compressor there [-].
    count : int
        Alike, in parallel.
    fuel_per_air : float
        [-]

    Notes
    -----
    The throat passes 80 % of the exhaust, choked, at a pressure before the turbine as high as the
    charge's: common practice for racing, no source.
    """
    each = air_flow / count
    compressor = compressor_diameter(each, pressure_ratio)
    turbine = constant("turbine_size") * compressor
    before = REFERENCE_PRESSURE * pressure_ratio
    through = _THROUGH * each * (1.0 + fuel_per_air)
    effective = through * math.sqrt(_R_HOT * _HOT) / (before * _CHOKED)
    return Sizes(
        compressor=compressor,
        turbine=turbine,
        turbine_area=effective / constant("turbine_discharge"),
        wastegate=constant("wastegate_size") * turbine,
        back=constant("back_size") * turbine,
        inertia=constant("inertia_shape") * turbine**5,
    )
