"""Damage over a duty: independent routes and properties."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq
from scipy.special import ndtr

from blockwright.errors import InputError
from blockwright.life.damage import NO_DAMAGE
from blockwright.life.fatigue import (
    case_demand,
    cycle_nodes,
    equivalent_amplitude,
    largest_normal,
    load_factor_to_failure,
)
from blockwright.parts.cases import Fatigue, Identity
from blockwright.parts.mean_stress import RULES, fkm_ductile, goodman, smith

IDENTITY = Identity("x", "X", "part", "place", "source", "group")


def column(value):
    return np.reshape(np.asarray(value, dtype=float), (-1, 1, 1, 1))


def factor(levels, counts, slope=5.0, knee=1e6, strength=1.0):
    """One sample with levels as operating points."""
    shape = (1, -1, 1, 1)
    return load_factor_to_failure(
        np.reshape(np.asarray(levels, dtype=float), shape),
        column(strength),
        np.reshape(np.asarray(counts, dtype=float), shape),
        np.ones((1, 1, 1, 1)),
        column(slope),
        column(knee),
    ).item()


def damage(scale, levels, counts, slope, knee):
    r = scale * np.asarray(levels, dtype=float)
    return float(np.sum(np.asarray(counts) / knee * np.where(r >= 1.0, r**slope, r ** (2 * slope - 1))))


def test_single_level_above_and_below_the_knee():
    """Closed form: N cycles of one amplitude; above the knee k, below it 2k - 1."""
    assert_allclose(factor([2.0], [1e4]), 100.0**0.2 / 2.0, rtol=1e-14)
    assert_allclose(factor([2.0], [1e8]), (1e-2) ** (1 / 9) / 2.0, rtol=1e-14)
    assert_allclose(factor([2.0], [1e6]), 0.5, rtol=1e-14)


levels = st.lists(st.floats(0.05, 5.0), min_size=1, max_size=15)


@settings(max_examples=60, deadline=None)
@given(levels=levels, slope=st.floats(2.0, 20.0), cycles=st.floats(1e2, 1e9))
def test_agrees_with_brentq_on_the_damage_sum(levels, slope, cycles):
    """Independent route: a bracketing root finder on ln D."""
    counts = np.full(len(levels), cycles)
    ours = factor(levels, counts, slope)
    root = brentq(lambda y: np.log(damage(np.exp(y), levels, counts, slope, 1e6)), -12, 12, xtol=1e-13)
    assert_allclose(ours, np.exp(root), rtol=1e-10)
    assert_allclose(damage(ours, levels, counts, slope, 1e6), 1.0, rtol=1e-10)


@settings(max_examples=30, deadline=None)
@given(levels=levels, more=st.floats(1.0, 3.0), slope=st.floats(2.0, 12.0))
def test_load_factor_falls_with_load_and_with_cycles(levels, more, slope):
    counts = np.full(len(levels), 1e5)
    base = factor(levels, counts, slope)
    assert_allclose(factor(np.multiply(levels, more), counts, slope), base / more, rtol=1e-10)
    assert factor(levels, counts * more, slope) <= base * (1 + 1e-12)


def test_no_load_is_no_damage_and_a_broken_load_is_refused():
    assert factor([0.0], [1e6]) == NO_DAMAGE
    with pytest.raises(InputError, match="not finite"):
        factor([np.nan], [1e6])
    with pytest.raises(InputError, match="exponent"):
        factor([1.0], [1e6], slope=0.5)


def test_samples_points_and_nodes_are_one_sum():
    """Shape (n, P, Z, 1) in, (n, 1, 1, 1) out; the same as levels listed flat."""
    rng = np.random.default_rng(0)
    n, p, z = 7, 3, 5
    equivalent = rng.uniform(0.3, 2.0, (n, p, z, 1))
    cycles = np.array([1e5, 3e5, 1e6]).reshape(1, p, 1, 1)
    _, weights = cycle_nodes(z)
    strength, slope, knee = rng.uniform(0.8, 1.2, n), rng.uniform(4, 8, n), rng.uniform(5e5, 2e6, n)
    ours = load_factor_to_failure(
        equivalent, column(strength), cycles, weights.reshape(1, 1, z, 1), column(slope), column(knee)
    )
    assert ours.shape == (n, 1, 1, 1)
    for i in range(n):
        flat = (cycles * weights.reshape(1, 1, z, 1)).ravel()
        single = factor(equivalent[i].ravel() / strength[i], flat, slope[i], knee[i])
        assert_allclose(ours[i].item(), single, rtol=1e-12)


def test_demand_of_a_case_is_what_just_uses_up_its_strength():
    shape = (1, 1, 1, 1)
    case = Fatigue(
        IDENTITY,
        stress_max=np.full(shape, 90e6),
        stress_min=np.full(shape, -30e6),
        strength=np.full(shape, 70e6),
        tensile=np.full(shape, 250e6),
        slope=np.full(shape, 5.0),
        knee=np.full(shape, 1e6),
        mean_rule="smith",
    )
    one = np.full(shape, 1e6)
    x = 30 / 250
    assert_allclose(equivalent_amplitude(case), 60e6 * (1 + x) / (1 - x), rtol=1e-14)
    assert_allclose(case_demand(case, one, np.ones(shape)), equivalent_amplitude(case), rtol=1e-12)
    with pytest.raises(InputError, match="mean rule"):
        equivalent_amplitude(Fatigue(**{**case.__dict__, "mean_rule": "none"}))


@pytest.mark.parametrize("name", list(RULES))
def test_rules_are_continuous_finite_and_rise_with_mean_and_amplitude(name):
    rule, tensile = RULES[name], 250e6
    mean = np.linspace(-2.0, 2.0, 40001) * tensile
    for amplitude in (1e5, 40e6, 120e6):
        value = rule(amplitude, mean, tensile)
        assert np.all(np.isfinite(value))
        assert np.all(np.diff(value) >= -1e-6 * amplitude)
        # No step: at most the tangent's slope near R, or M times the mean's own step in compression.
        step = tensile * 1e-4
        assert np.max(np.diff(value)) < 0.5 * step + 810.0 * amplitude * step / tensile
        assert np.all(rule(1.01 * amplitude, mean, tensile) > value)
    assert_allclose(rule(40e6, 0.0, tensile), 40e6, rtol=1e-12)


def test_mean_beyond_tensile_strength_is_a_large_finite_demand():
    for rule in (smith, goodman, fkm_ductile):
        assert 20 < rule(1.0, 1.0 * 250e6, 250e6) < 1e3
        assert rule(1.0, 1.5 * 250e6, 250e6) > rule(1.0, 250e6, 250e6)


def test_compression_helps_iron_but_not_beyond_its_cap():
    assert smith(50e6, -50e6, 250e6) == pytest.approx(50e6 / 1.3)
    assert smith(50e6, -10e6, 250e6) == pytest.approx(45e6)
    assert goodman(50e6, -50e6, 250e6) == 50e6


def test_cycle_nodes_integrate_a_high_power_of_the_pressure():
    """E[(1 + v z)^k] against a fine trapezium: damage exponent 9 at 8 % variation."""
    nodes, weights = cycle_nodes(5)
    z = np.linspace(-10, 10, 200001)
    density = np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)
    exact = np.trapezoid((1 + 0.08 * z) ** 9 * density, z)
    assert_allclose(weights.sum(), 1.0, rtol=1e-14)
    assert_allclose(weights @ (1 + 0.08 * nodes) ** 9, exact, rtol=1e-9)
    with pytest.raises(InputError):
        cycle_nodes(0)


def test_largest_of_many_normals():
    """Its distribution is Phi^N; and against drawn maxima."""
    for count in (1.0, 10.0, 1e4):
        assert_allclose(ndtr(largest_normal(0.3, count)) ** count, 0.3, rtol=1e-9)
    rng = np.random.default_rng(3)
    drawn = rng.standard_normal((20000, 50)).max(axis=1)
    assert_allclose(np.median(drawn), largest_normal(0.5, 50.0), atol=0.01)
    assert largest_normal(0.5, 1e9) == pytest.approx(6.06, abs=0.05)
