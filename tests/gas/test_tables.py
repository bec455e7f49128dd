"""The shipped property tables against Cantera: error of storing and interpolating them."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.gas.fuels import TABLE_OF, accuracy, provenance, working_gas
from blockwright.gas.kernels.properties import fill_energy, mixture, settle

ct = pytest.importorskip("cantera")
make = pytest.importorskip("blockwright.gas.tables.make")

FUELS = sorted(set(TABLE_OF.values()))


def fuel_name(table: str) -> str:
    return next(name for name, used in TABLE_OF.items() if used == table)


@functools.cache
def cantera_mixtures(table: str):
    return make.solution(make.FUELS[table]), make.products()


def cantera_burned(table: str, temperature: float, pressure: float, phi: float) -> tuple[float, float]:
    source, gas = cantera_mixtures(table)
    source.set_equivalence_ratio(phi, make.FUELS[table], make.AIR)
    atoms = {e: source.elemental_mole_fraction(e) for e in gas.element_names}
    start = {"CO": atoms["C"], "O": atoms["O"] - atoms["C"], **{e: atoms[e] for e in ("H", "N", "Ar")}}
    frozen = temperature < make.FREEZE
    gas.TPX = (make.FREEZE, make.FREEZE_PRESSURE, start) if frozen else (temperature, pressure, start)
    gas.equilibrate("TP", rtol=1e-10)
    gas.TP = temperature, pressure
    return gas.int_energy_mass, ct.gas_constant / gas.mean_molecular_weight


@pytest.mark.parametrize("table", FUELS)
def test_burned_gas_between_the_nodes(table):
    """Cantera's equations written again, apart from the script that measured the stored errors."""
    gas, stored = working_gas(fuel_name(table)), accuracy(table)
    rng = np.random.default_rng(7)
    for _ in range(40):
        t, p = rng.uniform(320.0, 3300.0), np.exp(rng.uniform(np.log(0.5e5), np.log(250e5)))
        phi = rng.uniform(gas.phi[0], gas.phi[-1])
        y = np.zeros(8)
        y[4], y[5] = 1.0, phi / gas.air_fuel_ratio
        y[:7] /= y[:7].sum()
        energy, constant, _, _ = mixture(y, t, np.log(p), gas.frozen, gas.burned, gas.constants)
        expected, expected_constant = cantera_burned(table, t, p, phi)
        # A share of the sensible energy: about 950 J/kg a kelvin from 300 K, and never less than 900 K's.
        assert abs(energy - expected) < stored.energy * 950.0 * max(t - 300.0, 900.0), (t, p, phi)
        assert_allclose(constant, expected_constant, rtol=stored.constant)


@pytest.mark.parametrize("table", FUELS)
def test_frozen_gases_between_the_nodes(table):
    gas = working_gas(fuel_name(table))
    fuel = make.FUELS[table]
    reference = make.solution(fuel)
    for column, composition in enumerate((make.AIR, fuel, {"N2O": 1.0}, {"H2O": 1.0})):
        for t in (263.0, 388.0, 712.5, 1211.0, 2987.0):
            y = np.zeros(8)
            y[column] = 1.0
            energy, constant, capacity, _ = mixture(y, t, np.log(1e5), gas.frozen, gas.burned, gas.constants)
            reference.TPX = t, 1e5, composition
            assert abs(energy - reference.int_energy_mass) < 1.5e-3 * capacity * t
            assert_allclose(constant, ct.gas_constant / reference.mean_molecular_weight, rtol=1e-9)


def test_burned_nitrous_counts_as_air_less_nitrogen():
    """Iso-octane burned in air with 25 % nitrous oxide by mass, against full equilibrium: 0.5 %."""
    gas = working_gas("iso-octane")
    fuel = make.FUELS["iso-octane"]
    nitrous, phi = 0.25, 1.05
    per_air = (1.0 + gas.constants[15] * nitrous) * phi / gas.air_fuel_ratio
    y = np.zeros(8)
    y[4:7] = 1.0, per_air, nitrous
    y[:7] /= y[:7].sum()
    source, burned = make.solution(fuel), make.products()
    source.X = make.AIR
    air = source.Y.copy()
    source.X = fuel
    vapour = source.Y.copy()
    source.X = {"N2O": 1.0}
    mix = air + per_air * vapour + nitrous * source.Y
    for t, p in ((2000.0, 20e5), (2800.0, 80e5), (3100.0, 120e5)):
        source.TPY = t, p, mix
        atoms = {e: source.elemental_mole_fraction(e) for e in burned.element_names}
        start = {"CO": atoms["C"], "O": atoms["O"] - atoms["C"], **{e: atoms[e] for e in ("H", "N", "Ar")}}
        burned.TPX = t, p, start
        burned.equilibrate("TP")
        energy, constant, capacity, _ = mixture(y, t, np.log(p), gas.frozen, gas.burned, gas.constants)
        assert abs(energy - burned.int_energy_mass) < 0.005 * capacity * t
        assert_allclose(constant, ct.gas_constant / burned.mean_molecular_weight, rtol=0.005)


@pytest.mark.parametrize("temperature", [250.0, 611.0, 1599.0, 1601.0, 2345.0, 3210.0])
def test_temperature_is_found_again_from_the_energy(temperature):
    gas = working_gas("petrol-95")
    y = np.array([3e-4, 2e-5, 1e-5, 4e-6, 3e-4, 2.2e-5, 1e-5, 0.0])
    tables = (gas.frozen, gas.burned, gas.constants)
    pressure = 30e5
    y[7] = fill_energy(y, temperature, pressure, *tables)
    _, constant, _, _ = mixture(y, temperature, np.log(pressure), *tables)
    volume = constant * temperature / pressure
    for start in (300.0, 1500.0, 3500.0):
        found, p, r, gamma = settle(y, volume, start, 1e5, *tables)
        assert_allclose(found, temperature, rtol=1e-5)
        assert_allclose(p, pressure, rtol=2e-5)
        assert 1.1 < gamma < 1.45
        assert_allclose(r * y[:7].sum(), constant, rtol=1e-5)


@pytest.mark.parametrize("table", FUELS)
def test_tables_say_how_they_were_made(table):
    told = provenance(fuel_name(table))
    assert told["mechanism"] == "nasa_gas.yaml"
    assert told["cantera"]
    assert told["fuel"] == make.FUELS[table]


def test_the_package_never_imports_cantera_to_run():
    import subprocess
    import sys

    code = (
        "import sys, blockwright.gas; from blockwright.gas.fuels import working_gas; working_gas('e85');"
        "print([m for m in ('cantera', 'numba', 'scipy') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
