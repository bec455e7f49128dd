"""Nitrous oxide against figures from outside the project.

Numbers (A28 ...) are those of the project's list of check values.  "Read": seen in the source; "computed":
by an independent script with the named open library; "from memory": recalled, not opened.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.gas.nitrous.bottle import Bottle, drawn_down
from blockwright.gas.nitrous.charge import (
    air_equivalent,
    bottle_enthalpy,
    decomposition_energy,
    flashed_share,
    stoichiometric_ratio,
)
from blockwright.gas.nitrous.contents import contents
from blockwright.gas.nitrous.inlet import liquid, vapour
from blockwright.gas.nitrous.isentrope import homogeneous
from blockwright.gas.nitrous.jet import Jet, jet_flow
from blockwright.gas.nitrous.saturation import (
    BOILING,
    critical_temperature,
    fluid,
    saturated,
    saturation_temperature,
)
from blockwright.gas.nitrous.state import gas_enthalpy_reference

ROOM = 293.15
ATMOSPHERE = 101_325.0
#: One hole of 1.000 mm with a discharge coefficient of 1.
HOLE = Jet(1e-3, discharge=1.0)


def test_critical_and_boiling_point() -> None:
    """Lemmon and Span 2006 (read in CoolProp): 309.52 K, 72.45 bar; A30: boils at 184.68 K."""
    assert_allclose(critical_temperature(), 309.52, atol=0.005)
    assert_allclose(fluid().critical_pressure / 1e5, 72.45, atol=0.005)
    assert_allclose(float(saturation_temperature(ATMOSPHERE)), 184.68, atol=0.005)
    assert BOILING == 184.68
    assert_allclose(float(saturated(BOILING).latent_heat) / 1e3, 374.3, atol=0.05)


@pytest.mark.parametrize(
    ("celsius", "bar", "latent", "density"),
    [(0.0, 31.22, 232.7, 907.0), (20.0, 50.53, 169.9, 785.0), (25.0, 56.52, 147.6, 743.0)],
)
def test_saturation(celsius: float, bar: float, latent: float, density: float) -> None:
    """A30, computed with CoolProp from Lemmon and Span's equation."""
    both = saturated(celsius + 273.15)
    assert_allclose(float(both.pressure) / 1e5, bar, atol=0.005)
    assert_allclose(float(both.latent_heat) / 1e3, latent, atol=0.05)
    assert_allclose(float(both.liquid_density), density, atol=0.5)


def test_widely_copied_pressure_belongs_to_another_temperature() -> None:
    """58.5 bar "at 20 C" stands in many tables; it is the pressure at about 26.6 C (computed)."""
    assert_allclose(float(saturation_temperature(58.5e5)) - 273.15, 26.6, atol=0.05)


def test_older_correlation_of_measurements() -> None:
    """ESDU 91022 (1991), coefficients from memory: an independent fit to measurements before 1991.

    Its pressure, liquid and vapour densities for -40 to 30 C; such fits differ by 0.5 % (densities of
    vapour near the critical point by 2 %).
    """
    t = np.linspace(-40.0, 30.0, 15) + 273.15
    tr = t / 309.57
    x, y = 1.0 - tr, 1.0 / tr - 1.0
    pressure = 7251e3 * np.exp((-6.71893 * x + 1.35966 * x**1.5 - 1.3779 * x**2.5 - 4.051 * x**5) / tr)
    dense = 1.72328 * x ** (1 / 3) - 0.83950 * x ** (2 / 3) + 0.51060 * x - 0.10412 * x ** (4 / 3)
    thin = -1.00900 * y ** (1 / 3) - 6.28792 * y ** (2 / 3) + 7.50332 * y
    thin += -7.90463 * y ** (4 / 3) + 0.629427 * y ** (5 / 3)
    both = saturated(t)
    assert_allclose(both.pressure, pressure, rtol=5e-3)
    assert_allclose(both.liquid_density, 452.0 * np.exp(dense), rtol=6e-3)
    assert_allclose(both.vapour_density, 452.0 * np.exp(thin), rtol=2e-2)


@pytest.mark.parametrize(
    ("back", "liquid_only", "mixed"),
    [(1.0, 69.3, 46.1), (2.0, 68.6, 45.7), (5.0, 66.4, 44.6), (30.0, 44.6, 33.7), (45.0, 23.1, 21.2)],
)
def test_flow_of_saturated_liquid(back: float, liquid_only: float, mixed: float) -> None:
    """A 1 mm hole from 20 C, g/s: project list 8.2, computed with CoolProp by an independent script."""
    found = jet_flow(liquid(ROOM), HOLE, back * 1e5)
    assert_allclose(float(found.liquid) * 1e3, liquid_only, atol=0.05)
    assert_allclose(float(found.flow) * 1e3, mixed, atol=0.05)


def test_flow_in_balance_and_of_vapour() -> None:
    """Same list: 22.9 g/s and 29,124 kg/(m2 s), choked at 36.3 bar; 19.2 at 45 bar; saturated vapour 13.3."""
    flux, critical = homogeneous(liquid(ROOM), np.array(1e5))
    assert_allclose(float(flux), 29_124.0, atol=3.0)
    assert_allclose(float(critical) / 1e5, 36.3, atol=0.1)
    assert_allclose(float(jet_flow(liquid(ROOM), HOLE, 45e5).homogeneous) * 1e3, 19.2, atol=0.05)
    assert_allclose(float(jet_flow(vapour(ROOM), HOLE, 1e5).flow) * 1e3, 13.3, atol=0.05)


def test_omega_method_lies_near_the_flow_in_balance() -> None:
    """Leung 1986 (read in part on a relief-valve page): 20.4 g/s, w 3.29; low near the critical point."""
    both = saturated(ROOM)
    t, p, rho = ROOM, float(both.pressure), float(both.liquid_density)
    dv = 1.0 / float(both.vapour_density) - 1.0 / rho
    w = float(both.liquid_heat) * t * p * rho * (dv / float(both.latent_heat)) ** 2
    assert_allclose(w, 3.29, atol=0.005)
    low, high = 0.5, 0.99
    for _ in range(60):
        e = 0.5 * (low + high)
        left = e**2 + (w * w - 2 * w) * (1 - e) ** 2 + 2 * w * w * math.log(e) + 2 * w * w * (1 - e)
        low, high = (e, high) if left < 0.0 else (low, e)
    omega = low * math.sqrt(p * rho / w) * HOLE.area
    assert_allclose(omega * 1e3, 20.4, atol=0.05)
    ours = float(jet_flow(liquid(ROOM), HOLE, 1e5).homogeneous)
    assert 0.85 < omega / ours < 1.0


SHARES = np.array([0.18, 0.36, 0.54, 0.72, 0.81])


@pytest.mark.parametrize(
    ("wall", "from_liquid", "bar"),
    [
        (0.0, True, [46.8, 43.1, 39.3, 35.4, 33.4]),
        (5400.0, True, [48.1, 45.6, 43.2, 40.8, 39.5]),
        (5400.0, False, [37.9, 25.2, 13.7, 4.9, 2.1]),
    ],
)
def test_bottle_drawn_down(wall: float, from_liquid: bool, bar: list[float]) -> None:
    """4.54 kg at 0.67 kg/l and 20 C: list 8.3, computed with CoolProp.

    Printed to 0.1 bar; its larger steps in mass leave another 0.1.
    """
    bottle = Bottle(4.54 / 670.0, 4.54, ROOM, wall, math.inf, from_liquid=from_liquid)
    found = drawn_down(bottle, SHARES)
    assert_allclose([c.pressure / 1e5 for c in found], bar, atol=0.11)
    last = 2.6 if wall == 0.0 else 9.5
    if from_liquid:
        assert_allclose(found[-1].temperature - 273.15, last, atol=0.15)


def test_liquid_ends_where_the_list_says() -> None:
    """List 8.3: with 5.4 kJ/K of wall the liquid is gone at 0.833 drawn; then vapour's pressure collapses."""
    bottle = Bottle(4.54 / 670.0, 4.54, ROOM, 5400.0, math.inf)
    before, after = drawn_down(bottle, np.array([0.825, 0.84]))
    assert before.quality < 1.0 <= after.quality


def test_decomposition() -> None:
    """A28: 82.05 kJ/mol, 1.864 MJ/kg (NIST WebBook, from memory; computed), to 1 %."""
    for fuel in ("iso-octane", "methanol", "petrol-98"):
        assert_allclose(decomposition_energy(fuel), 1.864e6, rtol=0.01)


def test_oxygen_and_stoichiometry() -> None:
    """A29: 0.36352 of oxygen, 1.571 times air's share; list 8.4: nitrous oxide per fuel."""
    assert_allclose(air_equivalent("iso-octane"), 1.571, rtol=1e-3)
    for fuel, ratio in (("iso-octane", 9.63), ("ethanol", 5.73), ("methanol", 4.12)):
        assert_allclose(stoichiometric_ratio(fuel), ratio, rtol=1e-3)


def test_cooling_from_the_bottle() -> None:
    """List 8.4, computed: 254 kJ/kg from liquid at 20 C to gas at 25 C and 1 atm; 57 % flashes to vapour."""
    assert_allclose((gas_enthalpy_reference() - bottle_enthalpy(ROOM)) / 1e3, 254.0, atol=1.5)
    assert_allclose(flashed_share(bottle_enthalpy(ROOM), ATMOSPHERE), 0.57, atol=0.005)


def test_closed_bottle_at_the_trades_working_range() -> None:
    """Common practice, no source: bottles are brought to 60 to 69 bar, 28 to 34 C."""
    low, high = (contents(t + 273.15, 640.0).pressure / 1e5 for t in (28.0, 33.0))
    assert 59.0 < low < 61.0
    assert 66.0 < high < 69.0
