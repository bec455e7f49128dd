"""Cooling by evaporation: heat balance, saturation, and vapour pressures against CoolProp."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.errors import InputError
from blockwright.gas.evaporation import CP_AIR, CP_FUEL, evaporate, vapour_pressure
from blockwright.gas.fuels import working_gas


@pytest.mark.parametrize(("fuel", "name"), [("methanol", "Methanol"), ("ethanol", "Ethanol")])
def test_vapour_pressure_against_coolprop(fuel, name):
    """CoolProp's equations of state, computed in the test: 15 % from 250 to 330 K, 3 % at 25 C."""
    props = pytest.importorskip("CoolProp.CoolProp").PropsSI
    row, gas = catalogue.row("fuel", fuel), working_gas(fuel)
    for t, within in ((250.0, 0.15), (275.0, 0.06), (298.15, 0.03), (330.0, 0.06)):
        ours = vapour_pressure(t, row.si("vapour_pressure"), gas.latent_heat, gas.molar_mass)
        assert_allclose(ours, props("P", "T", t, "Q", 0, name), rtol=within)


def test_petrol_is_not_held_by_saturation():
    gas = working_gas("petrol-98")
    per_air = 1.0 / (0.88 * gas.air_fuel_ratio)
    found = evaporate("petrol-98", 300.0, 1e5, per_air, 0.4, 10.0)
    assert not found.saturated
    by_hand = 310.0 - 0.4 * gas.latent_heat * per_air / (CP_AIR + per_air * CP_FUEL)
    assert_allclose(found.temperature, by_hand)


@pytest.mark.parametrize("fuel", ["methanol", "nitro-50", "nitro-90", "ethanol"])
def test_rich_alcohol_and_nitro_stop_at_saturation(fuel):
    gas = working_gas(fuel)
    per_air = 1.0 / (0.7 * gas.air_fuel_ratio)
    found = evaporate(fuel, 300.0, 1e5, per_air, 1.0)
    assert found.saturated
    assert 0.0 < found.share < 1.0
    # No charge in an intake is colder than this; the bare heat balance goes to 150 K and below.
    assert 255.0 < found.temperature < 300.0
    moles = found.share * per_air / gas.molar_mass
    partial = 1e5 * moles / (moles + 1.0 / 28.962e-3)
    at_25 = catalogue.row("fuel", fuel).si("vapour_pressure")
    assert_allclose(
        partial, vapour_pressure(found.temperature, at_25, gas.latent_heat, gas.molar_mass), rtol=1e-6
    )


def test_more_pressure_less_evaporates_and_more_heat_more():
    per_air = 1.0 / (0.8 * 6.47)
    plain = evaporate("methanol", 300.0, 1e5, per_air, 1.0)
    assert evaporate("methanol", 300.0, 2e5, per_air, 1.0).share < plain.share
    assert evaporate("methanol", 340.0, 1e5, per_air, 1.0).share > plain.share
    shares = np.linspace(0.0, 0.2, 5)
    assert_allclose(
        [evaporate("methanol", 330.0, 1e5, per_air, float(s)).share for s in shares], shares, atol=1e-12
    )


def test_a_share_beyond_one_is_refused():
    with pytest.raises(InputError, match=r"1\.2"):
        evaporate("methanol", 300.0, 1e5, 0.15, 1.2)
