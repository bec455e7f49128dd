"""Nitrous oxide's shipped table and equation of state against CoolProp, which made the table."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import NotSettled, OutsideValidity
from blockwright.gas.nitrous.root import root
from blockwright.gas.nitrous.saturation import (
    COLDEST,
    critical_temperature,
    liquid_full_temperature,
    saturated,
    saturation_pressure,
    saturation_temperature,
)
from blockwright.gas.nitrous.state import gas_at_enthalpy, state, vapour_density

FLUID = "NitrousOxide"
#: Error of the table at random temperatures: relative, but enthalpy [J/kg] and entropy [J/(kg K)].
ERRORS = {
    ("pressure", "P", 0): (2e-7, 0.0),
    ("liquid_density", "D", 0): (2e-4, 0.0),
    ("vapour_density", "D", 1): (2e-4, 0.0),
    ("liquid_enthalpy", "H", 0): (0.0, 20.0),
    ("vapour_enthalpy", "H", 1): (0.0, 20.0),
    ("liquid_entropy", "S", 0): (0.0, 0.07),
    ("vapour_entropy", "S", 1): (0.0, 0.07),
}


@pytest.fixture(scope="module")
def coolprop():
    return pytest.importorskip("CoolProp.CoolProp")


@pytest.fixture(scope="module")
def temperatures() -> np.ndarray:
    """Random, half of them within a degree to a hundredth of the critical point."""
    rng = np.random.default_rng(3)
    return np.concatenate([rng.uniform(COLDEST, 309.0, 60), 309.52 - 10.0 ** rng.uniform(-2, 0, 60)])


@pytest.mark.parametrize("what", ERRORS, ids=lambda what: what[0])
def test_table_holds_to_its_stated_error(coolprop, temperatures, what) -> None:
    name, key, quality = what
    theirs = [coolprop.PropsSI(key, "T", t, "Q", quality, FLUID) for t in temperatures]
    rtol, atol = ERRORS[what]
    assert_allclose(getattr(saturated(temperatures), name), theirs, rtol=rtol, atol=atol)


def test_away_from_the_critical_point_the_table_is_far_better(coolprop) -> None:
    t = np.random.default_rng(4).uniform(COLDEST, 308.0, 80)
    own = saturated(t)
    for name, key, quality in (
        ("liquid_density", "D", 0),
        ("vapour_density", "D", 1),
        ("liquid_heat", "C", 0),
        ("vapour_heat", "C", 1),
    ):
        theirs = [coolprop.PropsSI(key, "T", x, "Q", quality, FLUID) for x in t]
        assert_allclose(getattr(own, name), theirs, rtol=2e-5, err_msg=name)


def test_temperature_and_pressure_undo_each_other() -> None:
    t = np.linspace(COLDEST, 309.5, 300)
    assert_allclose(saturation_temperature(saturation_pressure(t)), t, atol=1e-9)


def test_equation_of_state_is_the_one_of_coolprop(coolprop) -> None:
    rng = np.random.default_rng(5)
    for t, p in zip(rng.uniform(190.0, 420.0, 60), 10.0 ** rng.uniform(4.5, 7.3, 60), strict=True):
        if t < critical_temperature() and p > 0.99 * float(saturation_pressure(t)):
            continue
        rho = vapour_density(t, p)
        at = state(t, rho)
        assert_allclose(rho, coolprop.PropsSI("D", "T", t, "P", p, FLUID), rtol=1e-8)
        for key, ours in (("H", at.enthalpy), ("U", at.energy), ("S", at.entropy)):
            assert_allclose(ours, coolprop.PropsSI(key, "T", t, "P", p, FLUID), rtol=1e-7, atol=1e-3)


def test_table_and_equation_of_state_agree_on_the_dew_line() -> None:
    """Independent of CoolProp: both phases have one pressure and one Gibbs energy."""
    t = np.linspace(190.0, 305.0, 24)
    both = saturated(t)
    liquid, vapour = state(t, both.liquid_density), state(t, both.vapour_density)
    assert_allclose(vapour.pressure, both.pressure, rtol=1e-5)
    gibbs = [s.enthalpy - t * s.entropy for s in (liquid, vapour)]
    assert_allclose(gibbs[0], gibbs[1], atol=1.0)  # of some 1e5 J/kg
    assert_allclose(both.latent_heat, t * (both.vapour_entropy - both.liquid_entropy), rtol=1e-6)


def test_clausius_clapeyron_holds_along_the_table() -> None:
    t = np.linspace(190.0, 305.0, 24)
    slope = (saturation_pressure(t + 0.01) - saturation_pressure(t - 0.01)) / 0.02
    both = saturated(t)
    volume = 1.0 / both.vapour_density - 1.0 / both.liquid_density
    assert_allclose(slope, both.latent_heat / (t * volume), rtol=2e-5)


@given(st.floats(180.0, 500.0), st.floats(1e4, 5e6))
def test_gas_is_found_again_from_pressure_and_enthalpy(temperature: float, pressure: float) -> None:
    if temperature < critical_temperature() + 1.0 and pressure > 0.95 * float(
        saturation_pressure(min(max(temperature, COLDEST), 309.0))
    ):
        return
    at = state(temperature, vapour_density(temperature, pressure))
    found = gas_at_enthalpy(pressure, float(at.enthalpy), min(temperature + 7.0, 520.0))
    assert_allclose(float(found.temperature), temperature, atol=1e-4)


def test_liquid_fills_the_bottle_where_its_density_says() -> None:
    for density in (550.0, 670.0, 750.0, 1000.0):
        t = liquid_full_temperature(density)
        assert_allclose(float(saturated(t).liquid_density), density, rtol=1e-6)
    assert liquid_full_temperature(300.0) == critical_temperature()


@pytest.mark.parametrize(
    ("temperature", "word"),
    [(310.0, "no liquid"), (400.0, "no liquid"), (150.0, "-90 C"), (np.nan, "finite")],
)
def test_refuses_what_has_no_liquid(temperature: float, word: str) -> None:
    with pytest.raises(OutsideValidity, match=word):
        saturated(temperature)


def test_refuses_pressures_at_which_nothing_boils() -> None:
    for pressure in (1e4, 8e6, np.nan):
        with pytest.raises(OutsideValidity, match="boils between"):
            saturation_temperature(pressure)
    with pytest.raises(OutsideValidity, match="equation of state"):
        vapour_density(600.0, 1e5)


def test_root_refuses_without_a_sign_change_and_finds_with_one() -> None:
    with pytest.raises(NotSettled, match="nothing between"):
        root(lambda x: x * x + 1.0, -1.0, 1.0, 1e-9, "nothing")
    assert_allclose(root(lambda x: x**9 - 0.001, 0.0, 5.0, 1e-13, "ninth root"), 0.001 ** (1 / 9), rtol=1e-9)
