"""What the mixture in a plenum can do when it burns there: an intake backfire."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ...errors import InputError, OutsideValidity
from ..fuels import working_gas
from .charge import air_equivalent, fuel_per_air

#: Pressure at which the tables of burned gas end [Pa].
_TABLE_END = 500e5


@dataclass(frozen=True)
class Backfire:
    """A plenum whose mixture burns all at once, closed: the upper bound.

    Attributes
    ----------
    pressure, temperature : float
        After burning [Pa], [K].
    ratio : float
        Pressure after over before [-].
    energy : float
        Heat that the burning mixture gives, fuel and nitrous oxide together [J].
    fuel, nitrous : float
        In the plenum [kg].
    force : float
        On the lid's area against the surroundings; 0 where no area is given [N].
    formula, caution : str
    """

    pressure: float
    temperature: float
    ratio: float
    energy: float
    fuel: float
    nitrous: float
    force: float
    formula: str
    caution: str


FORMULA = "u(fresh, T1, p1) = u(burned, T2, p2), V fixed; energy = m_f LHV min(1, lambda) + m_n 1.85 MJ/kg"
CAUTION = (
    "Fuel or nitrous oxide standing in the manifold can light from an open intake valve and burst it. "
    "Light manifolds, hats and ducting give way at a few bar; a burst panel or blow-off valve must open "
    "before they do. Nobody looks into an intake that may hold fuel and nitrous oxide."
)


def backfire(
    volume: float,
    pressure: float,
    temperature: float,
    fuel: str,
    lambda_: float,
    nitrous_per_air: float,
    *,
    lid_area: float = 0.0,
    surroundings: float = 101_325.0,
) -> Backfire:
    """Constant-volume explosion of the mixture in a plenum.

    Parameters
    ----------
    volume : float
        Of plenum and runners that hold the mixture [m3].
    pressure, temperature : float
        Before it lights [Pa], [K].
    fuel : str
        Name in `gas.fuels.TABLE_OF`.
    lambda_ : float
        Of the vapour in the mixture [-]; the worst is near 0.9.
    nitrous_per_air : float
        By mass [-]; large (20 and more) for a manifold filled by a valve that stuck open.
    lid_area : float
        Area the pressure lifts [m2].
    surroundings : float
        [Pa]

    Returns
    -------
    Backfire

    Raises
    ------
    OutsideValidity
        For a lambda outside the tables of burned gas.

    Notes
    -----
    No heat loss, no venting, equilibrium burned gas: an upper bound for a deflagration.  Detonation
    in long ducts gives about twice that and is not modelled.
    """
    from ..kernels.properties import fill_energy, settle

    gas = working_gas(fuel)
    low, high = gas.lambda_range
    if not low <= lambda_ <= high:
        raise OutsideValidity(
            f"lambda of the mixture in the plenum is {lambda_:g}; burned gas is known from {low:.2f} "
            f"to {high:.2f}"
        )
    for name, value in (("volume", volume), ("pressure", pressure), ("temperature", temperature)):
        if not (math.isfinite(value) and value > 0.0):
            raise InputError(f"the plenum's {name} is {value:g}; it must be positive and finite")
    if not (math.isfinite(nitrous_per_air) and nitrous_per_air >= 0.0):
        raise InputError(f"nitrous per air is {nitrous_per_air:g}; it must be finite and cannot be negative")
    f = float(fuel_per_air(nitrous_per_air, lambda_, gas.air_fuel_ratio, air_equivalent(fuel)))
    tables = (gas.frozen, gas.burned, gas.constants)
    masses = np.array([1.0, f, nitrous_per_air])
    r = float(masses @ gas.constants[9:12])
    masses *= pressure * volume / (r * temperature)
    fresh, burned = np.zeros(8), np.zeros(8)
    fresh[:3], burned[4:7] = masses, masses
    burned[7] = fill_energy(fresh, temperature, pressure, *tables)
    t, p, _, _ = settle(burned, volume, 2800.0, min(9.0 * pressure, _TABLE_END), *tables)
    heat = float(masses[1] * gas.heating_value * min(1.0, lambda_))
    from .charge import decomposition_energy

    heat += float(masses[2]) * decomposition_energy(fuel)
    return Backfire(
        float(p), float(t), float(p) / pressure, heat, float(masses[1]), float(masses[2]),
        max(float(p) - surroundings, 0.0) * lid_area, FORMULA, CAUTION,
    )  # fmt: skip
