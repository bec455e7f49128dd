"""Injectors, pump, line and jets."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.fuelling import (
    injector_duty,
    injector_flow,
    injector_flow_needed,
    injector_pressure,
    injector_rating,
    jet_area_ratio,
    jet_diameter_ratio,
    line_drop,
    pump_flow,
    pump_flow_needed,
    specific_consumption,
)

POUND_HOUR = 0.45359237 / 3600.0
CC_MINUTE = 1e-6 / 60.0


def test_rule_of_ten_and_a_half():
    """Common practice, no source: 1 lb/h of petrol is about 10.5 cc/min (at 0.72 kg/l)."""
    rating = injector_rating(POUND_HOUR, 720.0, 3e5, 3e5, 720.0)
    assert_allclose(rating / CC_MINUTE, 10.5, rtol=2e-3)


def test_rated_at_45_psi_run_at_60():
    """Root law: 60/43.5 psi gives 17 % more; and rating is the inverse of flow, whatever the fluids."""
    grown = injector_flow(1e-5, 740.0, 60.0, 43.5, 740.0) / injector_flow(1e-5, 740.0, 43.5, 43.5, 740.0)
    assert_allclose(grown, np.sqrt(60.0 / 43.5))
    flow = injector_flow(8e-6, 796.0, 4e5, 3e5, 684.0)
    assert_allclose(injector_rating(flow, 796.0, 4e5, 3e5, 684.0), 8e-6, rtol=1e-12)


def test_heavier_fuel_gives_more_mass_and_less_volume():
    mass = [float(injector_flow(1e-5, rho, 3e5, 3e5, 745.0)) for rho in (745.0, 1104.0)]
    assert mass[1] > mass[0]
    assert mass[1] / 1104.0 < mass[0] / 745.0


def test_fixed_rail_pressure_loses_the_boost():
    assert_allclose(injector_pressure(300e3, 100e3), 200e3)
    assert injector_flow(1e-5, 745.0, injector_pressure(100e3, 200e3), 3e5, 745.0) == 0.0


def test_duty_closes_the_circle():
    """Common practice's sum by hand: 500 hp at 0.50 lb/(hp h), eight injectors, 85 %: 36.8 lb/h each."""
    engine = 250.0 * POUND_HOUR
    each = injector_flow_needed(engine, 8, 0.85)
    assert_allclose(each / POUND_HOUR, 36.8, atol=0.05)
    assert_allclose(injector_duty(engine, 8, each), 0.85)
    assert injector_duty(engine, 8, 25.0 * POUND_HOUR) > 1.0


def test_specific_consumption():
    """0.50 lb/(hp h) is 84.5 ug/J (304 g/kWh), by the units."""
    assert_allclose(specific_consumption(250.0 * POUND_HOUR, 500 * 745.69987), 304.1e-3 / 3.6e6, rtol=1e-3)


def test_pump_on_its_curve():
    pressures, flows = np.array([0.0, 3e5, 5e5]), np.array([75e-6, 60e-6, 40e-6])
    assert_allclose(pump_flow(pressures, flows, 4e5), 50e-6)
    with pytest.raises(OutsideValidity, match=r"0.00 to 5.00 bar; 6.00 bar"):
        pump_flow(pressures, flows, 6e5)
    for bad in (flows[::-1], -flows):
        with pytest.raises(InputError, match="pump's curve"):
            pump_flow(pressures, bad, 1e5)
    assert_allclose(pump_flow_needed(0.0745, 745.0, 1.2), 1.2e-4)


def test_line_by_hand():
    """Laminar: 32 mu L w/d2 (Hagen and Poiseuille).  Turbulent: Colebrook's equation solved, 2 %."""
    d, length, rho, mu = 8e-3, 3.0, 745.0, 5e-4
    area = 0.25 * np.pi * d**2
    slow = 0.05
    assert_allclose(
        line_drop(rho * area * slow, rho, mu, length, d, losses=0.0),
        32 * mu * length * slow / d**2,
        rtol=1e-9,
    )
    fast = 2.0
    reynolds = rho * fast * d / mu
    root = 8.0
    for _ in range(50):
        root = -2.0 * np.log10(1.5e-6 / (3.7 * d) + 2.51 * root / reynolds)
    by_colebrook = root**-2.0 * length / d * 0.5 * rho * fast**2
    assert_allclose(line_drop(rho * area * fast, rho, mu, length, d, losses=0.0), by_colebrook, rtol=0.02)


def test_line_drop_rises_with_the_flow_through_the_change_of_regime():
    flows = np.linspace(1e-3, 0.08, 400)
    assert np.all(np.diff(line_drop(flows, 745.0, 5e-4, 3.0, 8e-3)) > 0.0)


def test_jets_for_altitude_and_alcohol():
    """Thin air runs rich on one jet, by the root of the densities; methanol needs a jet twice as large."""
    thin = float(jet_area_ratio(1.0, 1.0, 0.8))
    assert_allclose(thin, np.sqrt(0.8))
    methanol = float(jet_area_ratio((1 / 6.47) / (1 / 14.4), 796.0 / 745.0, 1.0))
    assert_allclose(methanol, 14.4 / 6.47 / np.sqrt(796.0 / 745.0))
    assert 2.0 < methanol < 2.3
    assert_allclose(jet_diameter_ratio(methanol), np.sqrt(methanol))


def test_jet_against_the_flow_it_meters():
    """Independent route: a venturi's depression and a jet's flow in figures."""
    area_v, area_j, rho_f = 1e-3, 2e-6, 745.0

    def mixture(air: float, rho_a: float, jet: float, rho: float) -> float:
        depression = air**2 / (2.0 * rho_a * area_v**2)
        return jet * np.sqrt(2.0 * rho * depression) / air

    old = mixture(0.1, 1.2, area_j, rho_f)
    new_jet = area_j * float(jet_area_ratio(1.3, 796.0 / rho_f, 0.9 / 1.2))
    assert_allclose(mixture(0.07, 0.9, new_jet, 796.0) / old, 1.3, rtol=1e-12)
