"""Turbine, pipe behind it, and blowers: by other routes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import InputError
from blockwright.gas.boost import Cooler, Displacer, Turbine, kernels
from blockwright.gas.boost.blower import indicated_work
from blockwright.gas.boost.turbine import exhaust_gas, pressure_behind
from blockwright.gas.crossing import crossing
from blockwright.gas.kernels.flow import flow_function, rounded_flow_function

from .boosting import lobe, point, turbo, wheel

GAMMA, R = 1.32, 289.0


def pulse() -> tuple[np.ndarray, np.ndarray]:
    angle = np.radians(np.arange(720.0))
    return 1.6e5 + 0.9e5 * np.sin(2.0 * angle), 1100.0 + 120.0 * np.sin(2.0 * angle)


def test_pulsating_turbine_is_the_mean_of_steady_ones():
    """Independent route: NumPy over the 720 instants, each a steady nozzle and an isentropic drop."""
    p, t = pulse()
    behind, blade, best = 1.1e5, 380.0, 0.65
    found = kernels.exhaust_sums(1.0, behind, behind, blade, best, R, GAMMA, p, t)
    running = p > behind
    p, t = p[running], t[running]
    cp = R * GAMMA / (GAMMA - 1.0)
    flow = p / np.sqrt(R * t) * np.array([rounded_flow_function(behind / x, GAMMA) for x in p])
    drop = cp * t * (1.0 - (behind / p) ** ((GAMMA - 1.0) / GAMMA))
    x = blade / np.sqrt(2.0 * drop) / best
    assert_allclose(found[0], flow.sum() / 720.0, rtol=1e-12)
    assert_allclose(found[1], (flow * drop).sum() / 720.0, rtol=1e-12)
    assert_allclose(found[2], (flow * drop * x * (2.0 - x)).sum() / 720.0, rtol=1e-10)
    assert_allclose(found[3], (flow * t).sum() / 720.0, rtol=1e-12)


def test_work_is_isentropic_at_the_best_speed_and_an_efficiency_of_one():
    p, t = np.full(720, 2.2e5), np.full(720, 1150.0)
    cp = R * GAMMA / (GAMMA - 1.0)
    drop = cp * 1150.0 * (1.0 - (1.0 / 2.2) ** ((GAMMA - 1.0) / GAMMA))
    flow, isentropic, work, _, _ = kernels.exhaust_sums(
        1.0, 1e5, 1e5, 0.65 * math.sqrt(2.0 * drop), 0.65, R, GAMMA, p, t
    )
    assert_allclose(work, isentropic, rtol=1e-12)
    assert_allclose(isentropic / flow, drop, rtol=1e-12)


def test_drop_with_one_heat_capacity_against_the_gas_tables():
    """Real expansion in the burned-gas tables (Cantera's), in 400 small steps of constant entropy."""
    own = point(6000.0)
    gas = own.gas
    state = np.append(own.ash(), 0.0)
    t, p0, p1 = 1250.0, 2.6e5, 1.1e5
    first = _enthalpy(state, t, gas)
    for p in np.geomspace(p0, p1, 401)[:-1]:
        step = (p1 / p0) ** (1.0 / 400.0)
        gamma = exhaust_gas(own, t, p).gamma
        t *= step ** ((gamma - 1.0) / gamma)
    real = first - _enthalpy(state, t, gas)
    hot = exhaust_gas(own, 1250.0, p0)
    ours = hot.cp * 1250.0 * (1.0 - (p1 / p0) ** ((hot.gamma - 1.0) / hot.gamma))
    assert_allclose(ours, real, rtol=5e-3)


def _enthalpy(state: np.ndarray, t: float, gas: object) -> float:
    from blockwright.gas.kernels.properties import mixture

    energy, constant, _, _ = mixture(state, t, math.log(1.5e5), gas.frozen, gas.burned, gas.constants)
    return energy + constant * t


@settings(deadline=None)
@given(st.floats(1.01, 4.0), st.floats(0.2, 1.0))
def test_swallowing_follows_two_nozzles_in_a_row(expansion, share):
    """Mass flow through the first nozzle, which sees the share of the expansion, by the plain nozzle law."""
    turbine = Turbine(0.06, 1e-3, 0.85, share, 0.7, 0.65, 0.1)
    area = turbine.effective_area(expansion, 0.65, GAMMA)
    whole = area * flow_function(1.0 / expansion, GAMMA)
    first = 0.85e-3 * flow_function(expansion**-share, GAMMA)
    assert_allclose(whole, first, rtol=1e-12)


def test_a_turbine_swallows_more_when_choked_and_less_when_fast():
    turbine = turbo().turbine
    by_expansion = [turbine.effective_area(x, 0.66, GAMMA) for x in (1.05, 1.3, 1.8, 2.5, 3.6, 5.0)]
    assert np.all(np.diff(by_expansion) >= 0.0)
    assert_allclose(by_expansion[-1], turbine.throat_area * turbine.discharge, rtol=1e-3)
    assert turbine.effective_area(2.0, 0.8, GAMMA) < turbine.effective_area(2.0, 0.5, GAMMA)


def test_turbine_efficiency_is_best_where_it_says():
    turbine = turbo().turbine
    x = np.linspace(0.0, 1.32, 200)
    values = [turbine.efficiency(float(u)) for u in x]
    assert_allclose(max(values), turbine.best_efficiency, rtol=1e-4)
    assert_allclose(x[int(np.argmax(values))], turbine.best_speed_ratio, atol=0.01)
    assert turbine.efficiency(0.0) == 0.0


@given(st.floats(1e-3, 1.0), st.floats(0.0, 20.0))
def test_pressure_behind_solves_its_own_equation(flow, loss):
    p = pressure_behind(flow, 1000.0, R, 1e5, loss, 0.08)
    area = 0.25 * math.pi * 0.08**2
    assert_allclose(p - 1e5, loss * flow**2 * R * 1000.0 / (2.0 * p * area**2), rtol=1e-9, atol=1e-6)


def test_screw_matched_to_its_pressure_is_isentropic():
    ratio = 1.7
    kappa = 2.0 / 7.0
    assert_allclose(indicated_work(ratio, ratio), (ratio**kappa - 1.0) / kappa, rtol=1e-14)
    assert indicated_work(ratio, 1.3) < indicated_work(ratio, 1.0)
    assert indicated_work(1.2, 1.7) > indicated_work(1.2, 1.2)


def test_indicated_work_is_the_area_of_the_diagram():
    """Independent route: p dV inside by quadrature, then discharge, less the filling."""
    ratio, internal = 2.0, 1.4
    v = np.linspace(1.0, internal ** (-1.0 / 1.4), 20001)
    inside = -np.trapezoid(v**-1.4, v)
    assert_allclose(inside + ratio * v[-1] - 1.0, indicated_work(ratio, internal), rtol=1e-7)


def test_a_perfect_displacer_delivers_its_displacement():
    """No leakage, no losses: volume flow is displacement by speed, and the gas takes all the work."""
    ideal = Displacer(2e-3, 1.0, 1.0, 0.0, 0.0)
    found = ideal.deliver(1000.0, 1e5, 300.0, 1.6)
    volume = 2e-3 * 1000.0 / (2.0 * math.pi)
    assert_allclose(found.flow, volume * 1e5 / (287.05 * 300.0), rtol=1e-12)
    assert_allclose(found.power, volume * 0.6e5, rtol=1e-12)
    assert_allclose(found.outlet_temperature, 300.0 + found.power / (found.flow * 1005.0), rtol=1e-12)
    assert found.volumetric == pytest.approx(1.0)


def test_blowers_lie_in_the_ranges_of_practice():
    """Lobe: volumetric 0.75-0.92, isentropic 0.45-0.65; common practice, findings 9.5 (from memory)."""
    machine = lobe(2.3e-3).machine
    for rpm, ratio in ((8000.0, 1.5), (12000.0, 1.5), (12000.0, 1.8), (14000.0, 1.8)):
        found = machine.deliver(rpm * math.pi / 30.0, 1e5, 298.0, ratio)
        assert 0.75 < found.volumetric < 0.92
        assert 0.45 < found.efficiency < 0.68


@given(st.floats(1.0, 2.5), st.floats(1.0, 2.5), st.floats(100.0, 1800.0))
def test_displacers_deliver_less_against_more(first, second, speed):
    machine = lobe().machine
    low, high = sorted((first, second))
    a, b = machine.deliver(speed, 1e5, 298.0, low), machine.deliver(speed, 1e5, 298.0, high)
    assert b.flow <= a.flow * (1.0 + 1e-9)
    assert b.power >= a.power - 1e-9


@settings(max_examples=40, deadline=None)
@given(st.floats(1.0, 4.5), st.floats(1.0, 4.5), st.floats(3000.0, 14000.0))
def test_driven_wheels_deliver_less_against_more(first, second, speed):
    machine = wheel().machine
    low, high = sorted((first, second))
    a, b = machine.deliver(speed, 1e5, 298.0, low), machine.deliver(speed, 1e5, 298.0, high)
    assert b.flow <= a.flow * (1.0 + 1e-6)
    assert a.outlet_temperature >= 298.0
    assert 0.0 <= b.efficiency < 0.9


@given(st.floats(0.01, 50.0), st.floats(0.1, 5.0))
def test_root_between_bounds(root, power):
    def falling(x: float) -> float:
        return 1.0 - (x / root) ** power

    assert_allclose(crossing(falling, 1e-3, 100.0, falling(1e-3), falling(100.0)), root, rtol=1e-7)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Cooler(1.2, 0.0, 1.0, 300.0),
        lambda: Cooler(0.7, -1.0, 1.0, 300.0),
        lambda: Turbine(0.06, 0.0, 0.85, 0.5, 0.7, 0.65, 0.1),
        lambda: Turbine(0.06, 1e-3, 0.85, 0.5, 1.2, 0.65, 0.1),
        lambda: Turbine(0.06, 1e-3, 0.85, 1.5, 0.7, 0.65, 0.1),
        lambda: Displacer(0.0, 1.0, 0.85, 0.01, 0.0),
        lambda: Displacer(1e-3, 0.5, 0.85, 0.01, 0.0),
        lambda: Displacer(1e-3, 1.0, 1.5, 0.01, 0.0),
        lambda: Displacer(1e-3, 1.0, 0.9, -0.01, 0.0),
        lambda: lobe(control="guess"),
        lambda: lobe(drive_ratio=0.0),
        lambda: lobe(wanted=math.nan),
        lambda: lobe(drive_efficiency=0.0),
    ],
)
def test_machines_that_cannot_be_are_refused(make):
    with pytest.raises(InputError):
        make()
