"""The working gas of a fuel: property tables read from the package's data, ready for kernels."""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError

Array = NDArray[np.float64]

_FOLDER = Path(__file__).parent / "tables"

#: Fuels with a table of their own, by their names in the catalogue; iso-octane serves checks only.
FUELS = (
    "petrol-95",
    "petrol-98",
    "race-petrol",
    "race-petrol-oxygenated",
    "e85",
    "ethanol",
    "methanol",
    "iso-octane",
    "nitro-20",
    "nitro-50",
    "nitro-90",
)
#: Which table serves which fuel.
TABLE_OF = {name: name for name in FUELS}

#: Oxygen of nitrous oxide by mass [-]: 15.999 / 44.013.
NITROUS_OXYGEN = 15.999 / 44.013


@dataclass(frozen=True)
class WorkingGas:
    """Air, fuel vapour, nitrous oxide, water vapour and burned gas of one fuel.

    Attributes
    ----------
    name : str
        Table the data come from.
    frozen : ndarray, shape (T, 5)
        Absolute internal energy of air, fuel vapour, nitrous oxide, water vapour and nitrogen [J/kg].
    burned : ndarray, shape (phi, p, T, 2)
        Absolute internal energy [J/kg] and gas constant [J/(kg K)] of burned gas.
    constants : ndarray, shape (17,)
        Grids and gas constants as the kernels want them (`gas.kernels.jit`).
    air_fuel_ratio : float
        Mass of dry air that just burns a kilogram of fuel [-].
    heating_value, latent_heat : float
        Lower heating value of the liquid and heat of evaporation, both at 298.15 K [J/kg].
    hydrogen_carbon, oxygen_carbon, nitrogen_carbon : float
        Atoms per atom of carbon [-].
    molar_mass : float
        Of the fuel's vapour [kg/mol].
    temperature, log_pressure, phi : ndarray
        The grids: [K], ln of [Pa], equivalence ratio [-].
    provenance : str
        Cantera's version, mechanism and composition, as JSON text.
    """

    name: str
    frozen: Array
    burned: Array
    constants: Array
    air_fuel_ratio: float
    heating_value: float
    latent_heat: float
    hydrogen_carbon: float
    oxygen_carbon: float
    nitrogen_carbon: float
    molar_mass: float
    temperature: Array
    log_pressure: Array
    phi: Array
    provenance: str

    @property
    def lambda_range(self) -> tuple[float, float]:
        """Smallest and largest relative air-fuel ratio the burned-gas table covers [-]."""
        return 1.0 / float(self.phi[-1]), 1.0 / float(self.phi[0])


@functools.lru_cache(maxsize=16)
def _table(name: str) -> WorkingGas:
    with np.load(_FOLDER / f"{name}.npz", allow_pickle=False) as data:
        t, lnp, phi = data["temperature"], data["log_pressure"], data["phi"]
        r = data["frozen_gas_constant"]
        afr = float(data["air_fuel_ratio"])
        constants = np.array(
            [
                *(t[0], 1.0 / (t[1] - t[0]), t.size),
                *(lnp[0], 1.0 / (lnp[1] - lnp[0]), lnp.size),
                *(phi[0], 1.0 / (phi[1] - phi[0]), phi.size),
                *r,
                *(afr, NITROUS_OXYGEN / float(data["oxygen_share_air"])),
                json.loads(str(data["provenance"]))["frozen below [K]"] - (t[1] - t[0]),
            ]
        )
        return WorkingGas(
            name=name,
            frozen=np.ascontiguousarray(data["frozen_energy"]),
            burned=np.ascontiguousarray(data["burned"], dtype=np.float64),
            constants=constants,
            air_fuel_ratio=afr,
            heating_value=float(data["heating_value"]),
            latent_heat=float(data["latent_heat"]),
            hydrogen_carbon=float(data["hydrogen_carbon"]),
            oxygen_carbon=float(data["oxygen_carbon"]),
            nitrogen_carbon=float(data["nitrogen_carbon"]),
            molar_mass=float(data["molar_mass"]),
            temperature=t,
            log_pressure=lnp,
            phi=phi,
            provenance=str(data["provenance"]),
        )


def working_gas(fuel: str) -> WorkingGas:
    """Property tables of a fuel by its catalogue name."""
    if fuel not in TABLE_OF:
        known = ", ".join(TABLE_OF)
        raise InputError(f"there is no gas table for the fuel {fuel!r}; there is one for: {known}")
    return _table(TABLE_OF[fuel])


def provenance(fuel: str) -> dict[str, object]:
    """How the table of a fuel was made."""
    told: dict[str, object] = json.loads(working_gas(fuel).provenance)
    return told


@dataclass(frozen=True)
class Accuracy:
    """How far a table's interpolation lies from Cantera at random states, each figure a share [-].

    Attributes
    ----------
    energy, energy_rms : float
        Largest and root mean square error of the burned gas's energy, over 950 J/(kg K) (T - 300 K) and
        never less than 900 K of it.
    constant : float
        Largest relative error of its gas constant.
    frozen : float
        What freezing the composition below 1600 K leaves out: largest change of energy that equilibrium
        of the same species would bring at 1300 to 1600 K, on the same scale.
    states : int
        Random states measured.
    """

    energy: float
    energy_rms: float
    constant: float
    frozen: float
    states: int


def accuracy(fuel: str) -> Accuracy:
    """Measured interpolation error of a fuel's table (``python -m blockwright.gas.tables.measure``)."""
    gas = working_gas(fuel)
    told = json.loads((_FOLDER / "accuracy.json").read_text(encoding="utf-8"))
    return Accuracy(**told[gas.name])
