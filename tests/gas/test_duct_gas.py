"""The duct's energy terms against the tables that they were fitted to."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.gas.duct_gas import AT_PRESSURE, duct_thermo, energy_terms, heat_terms
from blockwright.gas.fuels import working_gas
from blockwright.gas.kernels.jit import (
    AIR,
    BURNED_AIR,
    BURNED_FUEL,
    BURNED_NITROUS,
    FUEL,
    G_AIR_OF_NITROUS,
    NITROUS,
    VAPOUR,
)
from blockwright.gas.kernels.properties import mixture

FUELS = ("petrol-98", "methanol", "e85")


@pytest.mark.parametrize("fuel", FUELS)
@pytest.mark.parametrize(
    # Largest error in kelvin between 220 and 1900 K.
    ("species", "column", "within"),
    [(AIR, 0, 0.2), (FUEL, 1, 1.3), (NITROUS, 2, 0.8), (VAPOUR, 3, 2.0)],
)
def test_unburned_species(fuel: str, species: int, column: int, within: float) -> None:
    gas = working_gas(fuel)
    line = duct_thermo(gas, 1.0 / gas.air_fuel_ratio)[species]
    t = np.arange(220.0, 1900.1, 5.0)
    true = np.interp(t, gas.temperature, gas.frozen[:, column])
    capacity = np.gradient(true, t)
    wrong = (energy_terms(t) @ line[:5] - true) / capacity
    # Between the nodes the table itself is a chord below a curve: up to 0.1 K.
    assert np.max(np.abs(wrong)) < within, np.max(np.abs(wrong))


@pytest.mark.parametrize("fuel", FUELS)
@pytest.mark.parametrize("phi", [0.7, 0.85, 1.0, 1.15, 1.4])
def test_burned_gas(fuel: str, phi: float) -> None:
    """Within 1.25 K up to 1500 K and 3.6 K up to 1900 K, where at 3 bar some of it is already split."""
    gas = working_gas(fuel)
    thermo = duct_thermo(gas, phi / gas.air_fuel_ratio)
    for nitrous in (0.0, 0.2):
        y = np.zeros(8)
        y[BURNED_AIR], y[BURNED_NITROUS] = 1.0 - nitrous * gas.constants[G_AIR_OF_NITROUS], nitrous
        y[BURNED_FUEL] = phi / gas.air_fuel_ratio
        t = np.arange(225.0, 1900.1, 25.0)
        tables = [
            mixture(y, x, np.log(AT_PRESSURE), gas.frozen, gas.burned, gas.constants) for x in t
        ]  # fmt: skip
        energy, constant, capacity = (np.array([row[k] for row in tables]) for k in range(3))
        wrong = np.abs(energy_terms(t) @ (y[:7] @ thermo[:, :5]) - energy) / capacity
        assert np.max(wrong[t <= 1500.0]) < 1.25, np.max(wrong[t <= 1500.0])
        assert np.max(wrong) < 3.6, np.max(wrong)
        below = t < 1500.0
        assert_allclose(y[:7] @ thermo[:, 5], constant[below], rtol=1e-9)


@pytest.mark.parametrize("fuel", FUELS)
def test_heat_capacity_stays_positive_and_rises_far_outside_the_range(fuel: str) -> None:
    """So that the search for the temperature has one answer and finds it; mixtures are sums of these."""
    gas = working_gas(fuel)
    t = np.arange(60.0, 6000.0, 20.0)
    for phi in (0.7, 1.0, 1.4):
        thermo = duct_thermo(gas, phi / gas.air_fuel_ratio)
        burned = thermo[BURNED_AIR] + phi / gas.air_fuel_ratio * thermo[BURNED_FUEL]
        for line in (*thermo[[AIR, FUEL, NITROUS, VAPOUR]], burned):
            capacity = heat_terms(t) @ line[:5]
            assert np.all(capacity > 300.0)
            assert np.all(np.diff(capacity)[t[1:] > 400.0] > 0.0)


def test_heat_terms_are_the_slopes_of_the_energy_terms() -> None:
    t = np.array([150.0, 300.0, 900.0, 2500.0])
    by_difference = (energy_terms(t + 0.01) - energy_terms(t - 0.01)) / 0.02
    assert_allclose(heat_terms(t), by_difference, rtol=1e-7)
