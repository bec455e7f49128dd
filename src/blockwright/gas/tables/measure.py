"""Measure the property tables against Cantera at random states and store the errors beside them.

Run by hand after `make`::

    python -m blockwright.gas.tables.measure
"""

from __future__ import annotations

import functools
import json
import math
from pathlib import Path

import cantera as ct
import numpy as np

from ..fuels import WorkingGas, working_gas
from ..kernels.properties import mixture
from . import make

#: Heat capacity and least rise of temperature that scale an error of energy.
SCALE, LEAST_RISE = 950.0, 900.0


@functools.cache
def _mixtures(table: str) -> tuple[ct.Solution, ct.Solution]:
    """Fresh and burned gas of a fuel; building them costs far more than using them."""
    return make.solution(make.FUELS[table]), make.products()


def _start(table: str, phi: float) -> tuple[ct.Solution, dict[str, float]]:
    """Burned gas and a composition with the atoms of the fuel in air at phi."""
    source, gas = _mixtures(table)
    source.set_equivalence_ratio(phi, make.FUELS[table], make.AIR)
    atoms = {e: source.elemental_mole_fraction(e) for e in gas.element_names}
    others = {e: atoms[e] for e in ("H", "N", "Ar")}
    return gas, {"CO": atoms["C"], "O": atoms["O"] - atoms["C"], **others}


def reference(table: str, temperature: float, pressure: float, phi: float) -> tuple[float, float]:
    """Energy [J/kg] and gas constant [J/(kg K)] of burned gas by Cantera, frozen as the tables are."""
    gas, start = _start(table, phi)
    frozen = temperature < make.FREEZE
    gas.TPX = (make.FREEZE, make.FREEZE_PRESSURE, start) if frozen else (temperature, pressure, start)
    gas.equilibrate("TP", rtol=1e-10)
    gas.TP = temperature, pressure
    return gas.int_energy_mass, ct.gas_constant / gas.mean_molecular_weight


def by_table(gas: WorkingGas, temperature: float, pressure: float, phi: float) -> tuple[float, float]:
    """Energy [J/kg] and gas constant [J/(kg K)] of burned gas as the kernels interpolate it."""
    y = np.zeros(8)
    y[4], y[5] = 1.0, phi / gas.air_fuel_ratio
    y[:7] /= y[:7].sum()
    tables = (gas.frozen, gas.burned, gas.constants)
    energy, constant, _, _ = mixture(y, temperature, math.log(pressure), *tables)
    return energy, constant


def scale(temperature: float) -> float:
    """Energy that an error is counted in [J/kg]."""
    return SCALE * max(temperature - 300.0, LEAST_RISE)


def _unfrozen(table: str, temperature: float, pressure: float, phi: float) -> float:
    """Energy of equilibrium less that of the frozen composition, both by Cantera [J/kg]."""
    gas, start = _start(table, phi)
    gas.TPX = make.FREEZE, make.FREEZE_PRESSURE, start
    gas.equilibrate("TP", rtol=1e-10)
    gas.TP = temperature, pressure
    frozen = gas.int_energy_mass
    gas.equilibrate("TP", rtol=1e-10)
    return float(gas.int_energy_mass - frozen)


def measure(table: str, states: int = 1500, seed: int = 11) -> dict[str, float]:
    """Errors of one table, as `gas.fuels.Accuracy` names them."""
    gas = working_gas(table)
    rng = np.random.default_rng(seed)
    energy, constant, frozen = [], [], []
    for _ in range(states):
        t, p = rng.uniform(320.0, 3300.0), float(np.exp(rng.uniform(np.log(0.5e5), np.log(250e5))))
        phi = rng.uniform(gas.phi[0], gas.phi[-1])
        ours, theirs = by_table(gas, t, p, phi), reference(table, t, p, phi)
        energy.append(abs(ours[0] - theirs[0]) / scale(t))
        constant.append(abs(ours[1] / theirs[1] - 1.0))
    for _ in range(states // 3):
        t, phi = rng.uniform(1300.0, make.FREEZE), rng.uniform(gas.phi[0], gas.phi[-1])
        frozen.append(abs(_unfrozen(table, t, make.FREEZE_PRESSURE, phi)) / scale(t))
    return {
        "energy": max(energy),
        "energy_rms": float(np.sqrt(np.mean(np.square(energy)))),
        "constant": max(constant),
        "frozen": max(frozen),
        "states": states,
    }


if __name__ == "__main__":
    found = {}
    for name in make.FUELS:
        told = measure(name)
        found[name] = {k: float(f"{v:.2g}") if k != "states" else int(v) for k, v in told.items()}
        print(name, found[name], flush=True)
    target = Path(__file__).parent / "accuracy.json"
    target.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
