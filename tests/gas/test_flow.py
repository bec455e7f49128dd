"""Flow through one end."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.gas.kernels.flow import ROUNDED, flow_function, rounded_flow_function
from blockwright.gas.kernels.network import flow_rates
from blockwright.gas.valves import flow_coefficient

GAMMAS = st.floats(1.05, 1.67)


@given(st.floats(0.0, 3.0), GAMMAS)
def test_flow_is_never_negative_never_above_choked_and_finite(ratio, gamma):
    flow = rounded_flow_function(ratio, gamma)
    choked = flow_function(0.0, gamma)
    assert 0.0 <= flow <= choked * (1.0 + 1e-12)
    if ratio >= 1.0:
        assert flow == 0.0


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), GAMMAS)
def test_less_back_pressure_never_means_less_flow(first, second, gamma):
    low, high = sorted((first, second))
    assert flow_function(low, gamma) >= flow_function(high, gamma) - 1e-12


@given(GAMMAS)
def test_choked_flow_meets_the_subsonic_branch(gamma):
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
    assert_allclose(
        flow_function(critical * (1 + 1e-9), gamma), flow_function(critical * 0.999, gamma), rtol=1e-6
    )


def test_rounding_near_rest_joins_in_value_and_slope():
    gamma, step = 1.35, 1e-7
    joint = 1.0 - ROUNDED
    assert_allclose(rounded_flow_function(joint + step, gamma), flow_function(joint, gamma), rtol=1e-4)
    inside = (
        rounded_flow_function(joint + 2 * step, gamma) - rounded_flow_function(joint + step, gamma)
    ) / step
    outside = (flow_function(joint - step, gamma) - flow_function(joint - 2 * step, gamma)) / step
    assert_allclose(inside, outside, rtol=1e-2)


@given(st.floats(0.01, 1.0), GAMMAS)
def test_kernel_and_bench_formula_agree(ratio, gamma):
    """Two separately written forms of the same nozzle."""
    assert_allclose(flow_function(ratio, gamma), float(flow_coefficient(ratio, gamma)), rtol=1e-9, atol=1e-7)


@given(
    st.floats(0.05e5, 300e5), st.floats(0.05e5, 300e5), st.floats(250.0, 3000.0), st.floats(250.0, 3000.0)
)  # fmt: skip
def test_an_end_moves_gas_from_high_to_low_pressure_and_loses_none(p0, p1, t0, t1):
    s = np.array([[t0, p0, 287.0, 1.38, 2e-3, 1e-3], [t1, p1, 295.0, 1.27, 3e-3, 1e-3]])
    y = np.array([[1.5e-3, 1e-4, 0, 0, 4e-4, 0, 0, 700.0], [0, 0, 0, 0, 2.8e-3, 2e-4, 0, -900.0]])
    rates, room = np.zeros((2, 8)), np.zeros(2)
    areas = np.full((1, 2880), 3e-4)
    links = np.array([[0, 1, 0]], dtype=np.int64)
    fastest = flow_rates(0.0, y, s, 2, links, np.zeros(1), np.full(1, 0.9), areas, rates, room)
    assert np.all(np.isfinite(rates))
    assert math.isfinite(fastest)
    assert_allclose(rates.sum(axis=0), 0.0, atol=1e-9 * np.abs(rates).max() + 1e-300)
    into_second = rates[1, :7].sum()
    assert into_second * (p0 - p1) >= 0.0
    up = 0 if p0 > p1 else 1
    if into_second != 0.0:  # the upstream gas alone flows
        share = rates[1 - up, :7] / abs(into_second)
        assert_allclose(share, y[up, :7] / y[up, :7].sum(), atol=1e-12)
