"""Flow of nitrous oxide through jets and lines: independent routes, limits, order and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.nitrous.feed import JetFeed, Line, Tabulated, fuel_jet_flow, through
from blockwright.gas.nitrous.inlet import behind_line, gas, liquid, vapour
from blockwright.gas.nitrous.isentrope import homogeneous
from blockwright.gas.nitrous.jet import Jet, jet_flow
from blockwright.gas.nitrous.saturation import saturated, saturation_pressure
from blockwright.gas.nitrous.state import vapour_density

ROOM = 293.15
FLUID = "NitrousOxide"
ONE = Jet(1e-3, discharge=1.0)


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 20.0, 34.0])
@pytest.mark.parametrize("wet", [True, False])
def test_flow_in_balance_is_the_largest_on_coolprops_isentrope(celsius: float, wet: bool) -> None:
    cp = pytest.importorskip("CoolProp.CoolProp")
    t = celsius + 273.15
    q = 0 if wet else 1
    s, h = cp.PropsSI("S", "T", t, "Q", q, FLUID), cp.PropsSI("H", "T", t, "Q", q, FLUID)
    p1 = cp.PropsSI("P", "T", t, "Q", q, FLUID)
    p = np.linspace(0.35 * p1, 0.999 * p1, 1500)
    rho = np.array([cp.PropsSI("D", "P", x, "S", s, FLUID) for x in p])
    drop = h - np.array([cp.PropsSI("H", "P", x, "S", s, FLUID) for x in p])
    flux = rho * np.sqrt(2.0 * np.maximum(drop, 0.0))
    found, critical = homogeneous(liquid(t) if wet else vapour(t), np.array(1e5))
    assert_allclose(found, flux.max(), rtol=2e-4)
    # Near the critical point the maximum is so flat that its place is known to a percent at best.
    assert_allclose(critical, p[flux.argmax()], rtol=0.01)
    back = 0.97 * p1  # not choked
    at = np.interp(back, p, flux)
    assert_allclose(homogeneous(liquid(t) if wet else vapour(t), np.array(back))[0], at, rtol=2e-3)


def test_dry_vapour_at_low_pressure_flows_as_an_ideal_gas() -> None:
    """Textbook nozzle with the gas's own ratio of heats: ideal cp at 380 K 0.956 kJ/(kg K), from CoolProp."""
    t, p = 380.0, 2e5
    inlet = gas(t, vapour_density(t, p))
    r, heat = 188.91, 956.0
    k = heat / (heat - r)
    ideal = p / np.sqrt(r * t) * np.sqrt(k) * (2 / (k + 1)) ** ((k + 1) / 2 / (k - 1))
    found, critical = homogeneous(inlet, np.array(2e4))
    assert_allclose(found, ideal, rtol=0.01)
    assert_allclose(critical / p, (2 / (k + 1)) ** (k / (k - 1)), rtol=0.01)


def test_vapour_just_dry_flows_like_saturated_vapour() -> None:
    dry = gas(ROOM, 0.99999 * float(saturated(ROOM).vapour_density))
    assert_allclose(jet_flow(dry, ONE, 1e5).flow, jet_flow(vapour(ROOM), ONE, 1e5).flow, rtol=2e-3)


@given(st.floats(233.0, 309.0), st.floats(0.01, 0.999))
def test_mixed_flow_lies_between_its_bounds(temperature: float, share: float) -> None:
    inlet = liquid(temperature)
    found = jet_flow(inlet, ONE, share * float(inlet.pressure))
    assert 0.0 < float(found.homogeneous) <= float(found.flow) * (1 + 1e-9)
    assert float(found.flow) <= float(found.liquid) * (1 + 1e-9)


@given(st.floats(233.0, 309.0))
def test_flow_never_rises_with_the_manifolds_pressure(temperature: float) -> None:
    inlet = liquid(temperature)
    back = np.linspace(0.02, 0.9999, 60) * float(inlet.pressure)
    found = jet_flow(inlet, ONE, back)
    assert np.all(np.diff(found.flow) < 1e-12)
    assert np.all(np.diff(found.homogeneous) <= 2e-5 * found.homogeneous.max())
    assert found.flow[-1] < 0.05 * found.flow[0]


def test_pressed_liquid_that_cannot_boil_flows_as_a_liquid() -> None:
    inlet = liquid(273.15, 60e5)
    back = 40e5  # above the 31 bar at which it boils
    wanted = np.sqrt(2.0 * 907.4 * 20e5) * ONE.area
    assert_allclose(jet_flow(inlet, ONE, back).flow, wanted, rtol=1e-3)


def test_line_keeps_the_enthalpy_and_flashes() -> None:
    start = liquid(ROOM)
    after = behind_line(start, 5e5)
    both = saturated(after.temperature)
    assert_allclose(both.pressure, start.pressure - 5e5, rtol=1e-9)
    assert_allclose(both.liquid_enthalpy + after.quality * both.latent_heat, start.enthalpy, rtol=1e-9)
    assert after.entropy > start.entropy  # throttling
    assert 0.0 < after.quality < after.void < 1.0


def test_line_drop_is_what_its_flow_makes() -> None:
    line, jet = Line(6e-3, 4.0, 6.0), Jet(1.6e-3, 2)
    flow, before = through(liquid(ROOM), jet, 1e5, line)
    start = liquid(ROOM)
    flux = flow / (0.25 * np.pi * line.diameter**2)
    v1, v2 = 1.0 / float(start.density), 1.0 / float(before.density)
    by_hand = flux**2 * (0.5 * (0.02 * 4.0 / 6e-3 + 6.0) * 0.5 * (v1 + v2) + v2 - v1)
    assert_allclose(float(start.pressure - before.pressure), by_hand, rtol=1e-4)
    assert flow < through(start, jet, 1e5)[0]


def test_feeding_vapour_gives_much_less() -> None:
    wet, dry = (float(jet_flow(i, ONE, 1e5).flow) for i in (liquid(ROOM), vapour(ROOM)))
    assert 0.2 < dry / wet < 0.45


def test_tabulated_flow_is_the_flow() -> None:
    line = Line(8e-3, 4.5, 3.0)
    table = Tabulated(Jet(1.6e-3, 2), 1.2e5, line)
    for make in (liquid, vapour):
        for t in (251.3, 280.9, 296.7):
            assert_allclose(table(make(t)), through(make(t), table.jet, 1.2e5, line)[0], rtol=2e-4)


def test_fuel_jet_against_the_manifold() -> None:
    jet = Jet(0.8e-3, 2, discharge=0.8)
    by_hand = 0.8 * jet.area * np.sqrt(2 * 750.0 * 3e5)
    assert_allclose(fuel_jet_flow(jet, "petrol-98", 4e5, 1e5), by_hand, rtol=1e-12)
    assert fuel_jet_flow(jet, "petrol-98", 1e5, 2e5) == 0.0
    feed = JetFeed(liquid(ROOM), ONE, None, jet, "petrol-98", 4e5)
    nitrous, fuel = feed.at(1e5)
    assert_allclose([nitrous, fuel], [float(jet_flow(liquid(ROOM), ONE, 1e5).flow), by_hand])
    boosted = feed.at(2.5e5)
    assert boosted[0] / nitrous > 0.98  # choked: boost hardly matters
    assert_allclose(boosted[1] / fuel, np.sqrt(0.5))  # but it does to the fuel: leaner


def test_feed_between_its_steps_is_the_flow() -> None:
    line = Line(8e-3, 4.5, 3.0)
    feed = JetFeed(liquid(ROOM), Jet(1.6e-3, 2), line)
    for back in (4e4, 0.973e5, 1.011e5, 2.4877e5):
        assert_allclose(feed.at(back)[0], through(liquid(ROOM), feed.jet, back, line)[0], rtol=1e-4)


def test_refuses_what_cannot_be() -> None:
    with pytest.raises(OutsideValidity, match=r"36\.4 C there is no liquid"):
        liquid(312.0)
    with pytest.raises(InputError, match="would boil"):
        liquid(ROOM, 30e5)
    with pytest.raises(InputError, match="at least one hole"):
        Jet(0.0)
    with pytest.raises(InputError, match="shape of the jet"):
        Jet(1e-3, shape="square")
    with pytest.raises(InputError, match="discharge coefficient"):
        Jet(1e-3, discharge=1.4)
    with pytest.raises(InputError, match="behind the jet"):
        jet_flow(liquid(ROOM), ONE, 0.0)
    with pytest.raises(OutsideValidity, match="nothing is left"):
        behind_line(liquid(ROOM), 60e5)
    with pytest.raises(InputError, match="line needs a diameter"):
        Line(0.0, 1.0)


def test_no_flow_backwards() -> None:
    p = float(saturation_pressure(ROOM))
    assert float(jet_flow(liquid(ROOM), ONE, 1.1 * p).flow) == 0.0
