"""Fuels: the catalogue's rows and the gas tables say the same; nitro blends; how tables are read."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.flame_speed import laminar
from blockwright.gas.fuels import FUELS, TABLE_OF, accuracy, provenance, working_gas
from blockwright.gas.kernels.properties import fill_energy, mixture, settle
from tests.gas.engines import point

SOLD = catalogue.names("fuel")
#: Densities [kg/l] that the catalogue gives methanol and nitromethane.
METHANOL, NITROMETHANE = 0.796, 1.138


def test_every_fuel_of_the_catalogue_has_its_own_table():
    assert set(SOLD) <= set(FUELS)
    assert all(TABLE_OF[name] == name for name in FUELS)


@pytest.mark.parametrize("name", SOLD)
def test_table_and_catalogue_describe_one_fuel(name):
    """Two routes: the table's from a surrogate's molecules, the catalogue's from handbooks and atoms."""
    row, gas = catalogue.row("fuel", name), working_gas(name)
    assert_allclose(gas.air_fuel_ratio, row.si("afr_stoich"), rtol=3e-3)
    assert_allclose(gas.heating_value, row.si("lhv"), rtol=0.01)
    assert abs(gas.latent_heat - row.si("latent")) < 1.05 * row.u("latent")
    assert_allclose(gas.hydrogen_carbon, row.si("h_c"), rtol=3e-3)
    assert_allclose(gas.oxygen_carbon, row.si("o_c"), rtol=3e-3, atol=1e-6)
    assert_allclose(gas.nitrogen_carbon, row.si("n_c"), rtol=3e-3, atol=1e-9)
    assert abs(gas.molar_mass - row.si("molar_mass")) < max(row.u("molar_mass"), 1e-5)


@pytest.mark.parametrize(("name", "share"), [("nitro-20", 0.2), ("nitro-50", 0.5), ("nitro-90", 0.9)])
def test_nitro_blends_mix_by_volume(name, share):
    """Energy, heat of evaporation, density and air from the two parts by mass; nitromethane by hand."""
    row, methanol = catalogue.row("fuel", name), catalogue.row("fuel", "methanol")
    density = share * NITROMETHANE + (1.0 - share) * METHANOL
    mass = share * NITROMETHANE / density
    # CH3NO2 + 0.75 O2 -> CO2 + 1.5 H2O + 0.5 N2, gas -74.7, liquid 38.3 kJ/mol below it, 61.04 g/mol.
    energy = (393.51 + 1.5 * 241.83 - 74.7 - 38.3) / 61.04
    parts = {
        "lhv": mass * energy * 1e6 + (1.0 - mass) * methanol.si("lhv"),
        "latent": mass * 38.3e3 / 0.06104 + (1.0 - mass) * methanol.si("latent"),
        "afr_stoich": mass * 0.75 * 4.773 * 28.962 / 61.04 + (1.0 - mass) * methanol.si("afr_stoich"),
    }
    assert_allclose(row.si("density") / 1e3, density, rtol=1e-3)
    for field, value in parts.items():
        assert_allclose(row.si(field), value, rtol=2e-3, err_msg=field)


def test_nitro_says_that_it_is_not_rated():
    for name in ("nitro-20", "nitro-50", "nitro-90"):
        row = catalogue.row("fuel", name)
        assert not row.has("ron")
        assert not row.has("mon")
    assert all(catalogue.row("fuel", n).has("ron") for n in SOLD if not n.startswith("nitro"))


def test_flame_sets_are_those_the_flame_knows():
    for name in SOLD:
        row = catalogue.row("fuel", name)
        assert row.text("flame") in ("petrol", "iso-octane", "methanol", "ethanol", "propane")
        assert 0.5 < row.si("flame_factor") < 1.5


def test_flame_sets_agree_with_the_flame_model():
    """The row the flame model holds for a fuel is that of the set the catalogue names."""
    of_set = {"petrol": "petrol-95", "methanol": "methanol", "ethanol": "ethanol"}
    for name in SOLD:
        named = laminar(of_set[catalogue.row("fuel", name).text("flame")])
        assert replace(laminar(name), doubtful=False) == named


@pytest.mark.parametrize(("name", "richest"), [("methanol", 0.5), ("nitro-50", 0.42), ("nitro-90", 0.36)])
def test_rich_running_of_alcohol_and_nitro_is_inside_the_table(name, richest):
    point(fuel=name, lambda_=richest)
    with pytest.raises(OutsideValidity, match="the burned-gas tables hold from"):
        point(fuel=name, lambda_=0.8 * richest)


def test_a_fuel_without_table_is_refused_by_name():
    with pytest.raises(InputError, match=r"'kerosene'.*petrol-98"):
        working_gas("kerosene")


@pytest.mark.parametrize("name", FUELS)
def test_grids_are_even_and_hold_the_stoichiometric_mixture(name):
    gas = working_gas(name)
    for grid in (gas.temperature, gas.log_pressure, gas.phi):
        assert_allclose(np.diff(grid), np.diff(grid)[0], rtol=1e-6)
    assert np.abs(gas.phi - 1.0).min() < 1e-9
    assert gas.burned.shape == (gas.phi.size, gas.log_pressure.size, gas.temperature.size, 2)


@pytest.mark.parametrize("name", FUELS)
def test_burning_keeps_the_energy_and_heats_the_gas(name):
    """Shut in a vessel from 350 K and 1 bar: hotter with more heat per charge, pressure by the gas law."""
    gas = working_gas(name)
    tables = (gas.frozen, gas.burned, gas.constants)
    y = np.array([1.0, 1.0 / gas.air_fuel_ratio, 0, 0, 0, 0, 0, 0.0])
    y[7] = fill_energy(y, 350.0, 1e5, *tables)
    _, before, _, _ = mixture(y, 350.0, math.log(1e5), *tables)
    volume = before * 350.0 / 1e5
    burnt = np.array([0, 0, 0, 0, y[0], y[1], 0, y[7]])
    t, p, r, _ = settle(burnt, volume, 2500.0, 8e5, *tables)
    assert 2500.0 < t < 3100.0
    assert_allclose(p * volume, r * t * y[:7].sum(), rtol=1e-9)
    assert_allclose(fill_energy(burnt, t, p, *tables), y[7], rtol=2e-3, atol=500.0)


def test_nitro_brings_more_energy_to_a_kilogram_of_air():
    """Why it is used: energy per air, and more moles out than in."""
    per_air = {n: working_gas(n).heating_value / working_gas(n).air_fuel_ratio for n in FUELS}
    assert per_air["petrol-95"] < per_air["methanol"] < per_air["nitro-20"] < per_air["nitro-50"]
    assert 5.2e6 < per_air["nitro-90"] < 6.2e6


@pytest.mark.parametrize("name", FUELS)
def test_stored_accuracy_is_good_and_measured_again(name):
    """Other random states than those of the stored figures: no state much beyond the worst one stored."""
    measure = pytest.importorskip("blockwright.gas.tables.measure")
    stored = accuracy(name)
    assert stored.states >= 1000
    assert stored.energy < 0.008
    assert stored.energy_rms < 0.0011
    assert stored.constant < 1e-3
    assert stored.frozen < 0.03
    again = measure.measure(name, states=60, seed=5)
    assert again["energy"] < 1.2 * stored.energy
    assert again["energy_rms"] < 2.0 * stored.energy_rms
    assert again["constant"] < 1.2 * stored.constant
    assert again["frozen"] < 1.2 * stored.frozen


def test_provenance_names_the_composition():
    assert set(provenance("nitro-50")["fuel"]) == {"CH3NO2", "CH3OH"}  # type: ignore[call-overload]
    assert provenance("petrol-98")["fuel"] != provenance("petrol-95")["fuel"]
