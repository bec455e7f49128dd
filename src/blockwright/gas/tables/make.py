"""Make the property tables of the working gases with Cantera.

Run by hand when a fuel or a grid changes::

    python -m blockwright.gas.tables.make [FUEL ...]

It needs Cantera, which the shipped package never imports.  Each fuel gives one
``<fuel>.npz`` beside this file, with its provenance inside.

All energies are absolute: they contain the enthalpy of formation at 298.15 K, so
that burning changes species and leaves the internal energy alone.

Notes
-----
* Air: O2 + 3.7284 N2 + 0.0446 Ar by mole (Heywood 1988, table 3.1: 3.773 N2* a
  mole of O2, argon shown apart).
* Burned gas: chemical equilibrium at (T, p) above the freezing temperature, and the
  composition of that temperature (at 5 bar) below it, blended over one step of the grid.
  True equilibrium of a rich gas at 300-1200 K would form methane and soot, which an engine has
  no time for; Heywood (1988, ch. 4.5)
  freezes near 1700 K for the same reason.
* Nitrogen of a fuel (nitromethane) takes part like that of the air: a table burns its own fuel in air.
* Fuels are surrogates of species of ``nasa_gas.yaml``; no enthalpy of formation is
  adjusted: the calorific value that follows from the surrogate is stored and used.
"""

from __future__ import annotations

import datetime
import json
import sys
from pathlib import Path

import cantera as ct
import numpy as np
from numpy.typing import NDArray

from . import nitromethane

Array = NDArray[np.float64]

MECHANISM = "nasa_gas.yaml"
AIR = {"O2": 1.0, "N2": 3.7284, "Ar": 0.0446}
PRODUCTS = ("N2", "O2", "Ar", "H2O", "CO2", "CO", "H2", "OH", "O", "H", "NO", "N", "NO2", "HO2")
FREEZE = 1600.0  # K, a node of the grid
FREEZE_PRESSURE = 5e5  # Pa
REFERENCE = 298.15  # K

#: Temperature grid [K] and the natural logarithm of the pressure grid [Pa].
T_GRID = np.arange(200.0, 4000.1, 25.0)
LNP_GRID = np.linspace(np.log(0.1e5), np.log(500e5), 18)

ISO_OCTANE, TOLUENE, ETHANOL, METHANOL = "C8H18,isooctane", "C7H8", "C2H5OH", "CH3OH"
NITROMETHANE = nitromethane.NAME

#: Enthalpy of evaporation at 298.15 K [J/mol]: iso-octane, toluene, ethanol, methanol
#: (NIST WebBook values as recomputed in the project's notes, check value A27), nitromethane (from memory).
EVAPORATION = {
    ISO_OCTANE: 35.1e3,
    TOLUENE: 38.0e3,
    ETHANOL: 42.3e3,
    METHANOL: 37.4e3,
    NITROMETHANE: nitromethane.EVAPORATION,
}
MOLAR_MASS = {
    ISO_OCTANE: 114.232,
    TOLUENE: 92.141,
    ETHANOL: 46.069,
    METHANOL: 32.042,
    NITROMETHANE: nitromethane.MOLAR_MASS,
}
#: Atoms of carbon, hydrogen, oxygen of the parts that petrols are mixed from.
_ATOMS = {ISO_OCTANE: (8, 18, 0), TOLUENE: (7, 8, 0), ETHANOL: (2, 6, 1)}


def _petrol(hydrogen: float, oxygen: float) -> dict[str, float]:
    """Moles of iso-octane, toluene and ethanol with given atoms of hydrogen and oxygen per carbon."""
    atoms = np.array([_ATOMS[s] for s in _ATOMS], dtype=float)
    c, h, o = atoms.T
    moles = np.linalg.solve(np.stack([np.ones(3), h - hydrogen * c, o - oxygen * c]), [1.0, 0.0, 0.0])
    return {s: round(float(n), 5) for s, n in zip(_ATOMS, moles, strict=True) if n > 1e-9}


def _by_volume(parts: list[tuple[float, float, dict[str, float]]]) -> dict[str, float]:
    """Moles of a blend: for each part its share by volume, density [kg/l] and composition.

    Volumes add: mixing shrinks such blends by less than 1 %.
    """
    blend: dict[str, float] = {}
    for share, density, fuel in parts:
        mass = sum(n * MOLAR_MASS[s] for s, n in fuel.items())
        for s, n in fuel.items():
            blend[s] = blend.get(s, 0.0) + n * share * density / mass
    total = sum(blend.values())
    return {s: n / total for s, n in blend.items()}


def _nitro(share: float) -> dict[str, float]:
    """Nitromethane (1.138 kg/l) in methanol (0.796 kg/l), share by volume."""
    return _by_volume([(share, 1.138, {NITROMETHANE: 1.0}), (1.0 - share, 0.796, {METHANOL: 1.0})])


#: H/C and O/C as the rows of the catalogue have them.
PETROL_95, PETROL_98 = _petrol(1.87, 0.010), _petrol(1.86, 0.012)
FUELS: dict[str, dict[str, float]] = {
    "petrol-95": PETROL_95,
    "petrol-98": PETROL_98,
    "race-petrol": _petrol(1.95, 0.0),
    "race-petrol-oxygenated": _petrol(2.00, 0.08),
    "e85": _by_volume([(0.85, 0.794, {ETHANOL: 1.0}), (0.15, 0.745, PETROL_95)]),
    "ethanol": {ETHANOL: 1.0},
    "methanol": {METHANOL: 1.0},
    "iso-octane": {ISO_OCTANE: 1.0},
    "nitro-20": _nitro(0.20),
    "nitro-50": _nitro(0.50),
    "nitro-90": _nitro(0.90),
}
#: Richest mixture of a table: what burns with oxygen of its own is run far richer.
RICHEST = {"methanol": 2.0, "nitro-20": 2.0, "nitro-50": 2.4, "nitro-90": 2.8}
LEANEST = 0.6


def phi_grid(name: str) -> Array:
    """Equivalence ratios of a fuel's table; stoichiometric is a node, because frozen gas has a kink there."""
    richest = RICHEST.get(name, 1.7)
    step = 0.025 if richest < 2.2 else 0.04
    nodes = LEANEST + step * np.arange(round((richest - LEANEST) / step) + 1)
    return np.asarray(nodes, dtype=np.float64)


def solution(fuel: dict[str, float] | None = None) -> ct.Solution:
    """Ideal-gas mixture of the burned-gas species, N2O and the components of a fuel."""
    every = {s.name: s for s in ct.Species.list_from_file(MECHANISM)}
    every[NITROMETHANE] = nitromethane.species()
    names = [*PRODUCTS, "N2O", *(fuel or {})]
    return ct.Solution(thermo="ideal-gas", species=[every[n] for n in names])


def products() -> ct.Solution:
    """Ideal-gas mixture of the burned-gas species alone."""
    every = {s.name: s for s in ct.Species.list_from_file(MECHANISM)}
    return ct.Solution(thermo="ideal-gas", species=[every[n] for n in PRODUCTS])


def frozen_energy(gas: ct.Solution, composition: dict[str, float]) -> tuple[Array, float]:
    """Internal energy [J/kg] on `T_GRID` and gas constant [J/(kg K)] of a frozen mixture."""
    energy = np.empty_like(T_GRID)
    for i, temperature in enumerate(T_GRID):
        gas.TPX = temperature, ct.one_atm, composition
        energy[i] = gas.int_energy_mass
    return energy, ct.gas_constant / gas.mean_molecular_weight


def stoichiometric_air(gas: ct.Solution, fuel: dict[str, float]) -> float:
    """Mass of air that just burns one kilogram of fuel [-]."""
    oxygen = air_mass = fuel_mass = 0.0
    for name, moles in fuel.items():
        species = gas.species(name).composition
        c, h, o = species.get("C", 0.0), species.get("H", 0.0), species.get("O", 0.0)
        oxygen += moles * (c + h / 4.0 - o / 2.0)
        fuel_mass += moles * gas.molecular_weights[gas.species_index(name)]
    for name, moles in AIR.items():
        air_mass += moles * gas.molecular_weights[gas.species_index(name)]
    return oxygen * air_mass / fuel_mass


def burned(fuel: dict[str, float], phi_nodes: Array) -> Array:
    """Internal energy [J/kg] and gas constant [J/(kg K)] of burned gas, shape (phi, p, T, 2)."""
    source, gas = solution(fuel), products()
    table = np.empty((phi_nodes.size, LNP_GRID.size, T_GRID.size, 2))
    hot = np.flatnonzero(T_GRID >= FREEZE)
    cold = np.flatnonzero(T_GRID < FREEZE)
    moles = dict.fromkeys(gas.element_names, 0.0)
    for i, phi in enumerate(phi_nodes):
        source.set_equivalence_ratio(phi, fuel, AIR)
        for element in moles:
            moles[element] = source.elemental_mole_fraction(element)
        start = {"C": "CO", "H": "H", "O": "O", "N": "N", "Ar": "Ar"}
        atoms = {start[e]: n for e, n in moles.items()}
        atoms["O"] -= moles["C"]
        for j, lnp in enumerate(LNP_GRID):
            gas.TPX = 3000.0, np.exp(lnp), {k: max(v, 0.0) for k, v in atoms.items()}
            gas.equilibrate("TP")
            for k in hot[::-1]:
                gas.TP = T_GRID[k], np.exp(lnp)
                gas.equilibrate("TP", rtol=1e-10)
                table[i, j, k] = gas.int_energy_mass, ct.gas_constant / gas.mean_molecular_weight
        # Frozen gas does not depend on the pressure: the composition is that of one pressure.
        gas.TP = FREEZE, FREEZE_PRESSURE
        gas.equilibrate("TP", rtol=1e-10)
        for k in cold:
            gas.TP = T_GRID[k], FREEZE_PRESSURE
            table[i, :, k] = gas.int_energy_mass, ct.gas_constant / gas.mean_molecular_weight
    return table


def heating_value(fuel: dict[str, float], gas: ct.Solution) -> tuple[float, float]:
    """Lower heating value of the vapour and heat of evaporation at 298.15 K [J/kg]."""
    gas.TPX = REFERENCE, ct.one_atm, fuel
    mass = gas.mean_molecular_weight * sum(fuel.values())
    before = gas.enthalpy_mass * mass
    carbon = sum(n * gas.n_atoms(s, "C") for s, n in fuel.items())
    hydrogen = sum(n * gas.n_atoms(s, "H") for s, n in fuel.items())
    after = 0.0
    for name, amount in (("CO2", carbon), ("H2O", hydrogen / 2.0)):
        gas.TPX = REFERENCE, ct.one_atm, {name: 1.0}
        after += gas.enthalpy_mole * amount
    latent = sum(n * EVAPORATION[s] for s, n in fuel.items())
    return (before - after) / mass, latent * 1e3 / mass


def make(name: str, folder: Path) -> Path:
    """Make and store the table of one fuel."""
    fuel, phi = FUELS[name], phi_grid(name)
    gas = solution(fuel)
    columns = [frozen_energy(gas, x) for x in (AIR, fuel, {"N2O": 1.0}, {"H2O": 1.0}, {"N2": 1.0})]
    lhv_vapour, latent = heating_value(fuel, gas)
    air_mass = sum(n * gas.molecular_weights[gas.species_index(s)] for s, n in AIR.items())
    provenance = {
        "fuel": fuel,
        "cantera": ct.__version__,
        "mechanism": MECHANISM,
        "air": AIR,
        "products": list(PRODUCTS),
        "frozen below [K]": FREEZE,
        "frozen at [Pa]": FREEZE_PRESSURE,
        "made": datetime.date.today().isoformat(),
    }
    carbon = sum(n * gas.n_atoms(s, "C") for s, n in fuel.items())
    path = folder / f"{name}.npz"
    np.savez_compressed(
        path,
        temperature=T_GRID,
        log_pressure=LNP_GRID,
        phi=phi,
        frozen_energy=np.stack([c[0] for c in columns], axis=1),
        frozen_gas_constant=np.array([c[1] for c in columns]),
        burned=burned(fuel, phi).astype(np.float32),
        air_fuel_ratio=stoichiometric_air(gas, fuel),
        heating_value=lhv_vapour - latent,
        latent_heat=latent,
        hydrogen_carbon=sum(n * gas.n_atoms(s, "H") for s, n in fuel.items()) / carbon,
        oxygen_carbon=sum(n * gas.n_atoms(s, "O") for s, n in fuel.items()) / carbon,
        nitrogen_carbon=sum(n * gas.n_atoms(s, "N") for s, n in fuel.items()) / carbon,
        molar_mass=1e-3 * sum(n * MOLAR_MASS[s] for s, n in fuel.items()) / sum(fuel.values()),
        oxygen_share_air=2 * 15.999 * AIR["O2"] / air_mass,
        provenance=json.dumps(provenance),
    )
    return path


if __name__ == "__main__":
    for each in sys.argv[1:] or FUELS:
        print(make(each, Path(__file__).parent), flush=True)
