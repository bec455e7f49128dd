"""Cylinder walls: the shell by other routes, the limits' behaviour, and facts of the trade."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad, solve_bvp

from blockwright.life.fatigue import case_demand
from blockwright.life.leaves import TracedLeaves
from blockwright.parts import shell, skirt
from blockwright.parts.cases import Fatigue
from blockwright.parts.wall_places import bores_of, governing, places
from blockwright.parts.walls import limits

from .wall_bench import DEPTHS, INCH, bench, bench_build, bench_kernels

A, T, NU = 0.0535, 0.005, 0.26


def margins(build, kernels, samples=0):
    """Margin of every limit by the first words of its id, all samples."""
    found = {}
    for limit in limits(bench(build, kernels, samples), build):
        if isinstance(limit, Fatigue):
            demand = case_demand(limit, kernels["duty_cycles", ""], kernels["cycle_weights", ""])
            found[limit.identity.id] = (limit.strength / demand).ravel()
        else:
            found[limit.identity.id] = (limit.capacity / limit.demand).ravel()
    return found


# The shell -----------------------------------------------------------------------------------


@pytest.mark.parametrize("place", [0.0, 0.01, 0.03, 0.06])
def test_patch_on_a_clamped_beam_against_a_boundary_value_solver(place):
    """Independent route: w'''' + 4 b^4 w = 4 b^4 on a patch, clamped at 0, far end at rest."""
    rate, start, end, far = 60.0, 0.012, 0.045, 0.35

    def slope(x, y):  # lengths in 1/rate
        load = 0.25 * (1 + np.tanh((x - rate * start) / 0.02)) * (1 - np.tanh((x - rate * end) / 0.02))
        return np.array([y[1], y[2], y[3], 4 * (load - y[0])])

    def ends(left, right):
        return np.array([left[0], left[1], right[0], right[1]])

    grid = np.linspace(0, rate * far, 1500)
    found = solve_bvp(slope, ends, grid, np.zeros((4, grid.size)), tol=1e-5, max_nodes=20000)
    assert found.success
    ours = shell.clamped_patch(rate, place, start, end)
    assert_allclose(ours, found.sol(rate * place)[0], atol=2e-3)


def test_order_of_ring_and_breathing_decay():
    """Energies by hand: ring stiffness against axial stretch, and hoop stretch against bending."""
    d = 1.0 * T**3 / (12 * (1 - NU**2))  # E = 1
    assert_allclose(shell.breathing_rate(A, T, NU) ** 4, (T / A**2) / (4 * d), rtol=1e-12)
    for n in (2, 4):
        ring, beam = d * (n**2 - 1) ** 2 / A**4, T * A**2 / n**4
        assert_allclose(shell.ring_rate(n, A, T, NU) ** 4, ring / (4 * beam), rtol=1e-12)


@pytest.mark.parametrize("order", [2, 3, 4, 7])
def test_skirt_moment_far_from_the_deck_by_fourier_integral(order):
    """Independent route: the endless shell's transfer function integrated over wave number."""
    half, deep = 0.023, 3.0
    ours = skirt.patch_moment(order, deep, deep - half, deep + half, A, T, NU)
    m2, g = (order / A) ** 2, 1 / A**2
    k2 = 12 * (1 - NU**2) / (A * T) ** 2

    def integrand(k):
        lap = k * k + m2
        stiff = (lap - g) ** 2 + k2 * k**4 / lap**2  # D = 1
        return 2 * np.sin(k * half) / k * ((m2 - g) + NU * k * k) / stiff / (2 * np.pi)

    expected = 2 * quad(integrand, 1e-9, 4e4, limit=4000)[0]
    assert_allclose(ours, expected, rtol=1e-4)


@pytest.mark.parametrize("order", [2, 3, 5])
def test_skirt_moment_beside_the_deck_against_a_boundary_value_solver(order):
    """Independent route: the coupled equations in deflection and stress function on a grid, clamped."""
    start, end, place, far = 0.02, 0.066, 0.043, 0.6
    unit = A  # lengths over the radius keep the solver well scaled
    m2 = float(order**2)
    k2 = 12 * (1 - NU**2) * (A / T) ** 2

    def slope(x, y):
        w, w1, w2, w3, f, f1, f2, f3 = y
        load = 0.25 * (1 + np.tanh((x - start / unit) / 0.004)) * (1 - np.tanh((x - end / unit) / 0.004))
        w4 = load - k2 * f2 + 2 * (m2 - 1) * w2 - (m2 - 1) ** 2 * w
        f4 = w2 + 2 * m2 * f2 - m2**2 * f
        return np.array([w1, w2, w3, w4, f1, f2, f3, f4])

    def ends(p, q):
        clamp = [p[0], p[1], p[6] + NU * m2 * p[4], p[7] - (2 + NU) * m2 * p[5]]
        return np.array([*clamp, q[0], q[1], q[4], q[5]])

    grid = np.unique(
        np.round(np.concatenate([np.linspace(0, far / unit, 400), np.linspace(0.2, 1.5, 500)]), 6)
    )
    found = solve_bvp(slope, ends, grid, np.zeros((8, grid.size)), tol=1e-5, max_nodes=40000)
    assert found.success, found.message
    w, _, w2, *_ = found.sol(place / unit)
    expected = ((m2 - 1) * w - NU * w2) * A**2
    assert_allclose(skirt.patch_moment(order, place, start, end, A, T, NU), expected, rtol=0.01)


@pytest.mark.parametrize("order", [2, 3])
def test_long_loads_agree_with_the_simpler_beam_solution(order):
    """The beam on an elastic foundation of `shell.ring_rate` is the long-wave limit of the shell equation."""
    rate = shell.ring_rate(order, A, T, NU)
    for depth in (0.06, 0.12):
        beam = shell.clamped_patch(rate, depth, 0.0, 100.0)
        ours = skirt.patch_moment(order, depth, 0.0, 100.0, A, T, NU) * (order**2 - 1) / A**2
        assert_allclose(ours, beam, atol=0.1)
    free = skirt.patch_moment(order, 3.0, 0.0, 100.0, A, T, NU)
    assert_allclose(free, A**2 / (order**2 - 1), rtol=1e-6)  # a plain ring


def test_second_order_of_readings():
    angle = np.radians(np.arange(0, 360, 45.0))
    thickness = 5.0 + 0.8 * np.cos(angle - 0.3) + 0.4 * np.cos(2 * angle - 1.0)
    assert_allclose(shell.second_order(angle) @ thickness, 0.4 * np.cos(2 * angle - 1.0), atol=1e-12)
    four = np.radians([0.0, 90.0, 180.0, 270.0])
    assert_allclose(
        shell.second_order(four) @ (5 + 0.4 * np.cos(2 * four)), [0.4, -0.4, 0.4, -0.4], atol=1e-12
    )
    assert not shell.second_order(four[:3]).any()


def test_front_factor_stays_between_half_and_full_support():
    """Deep in the bore: between one half (the load ends here) and 1 + exp(-3 pi/4) cos(pi/4)/2 = 1.034."""
    rate = float(shell.breathing_rate(A, T, NU))
    deep = shell.front_factor(rate, 0.08, 0.007, 0.008, 1.27)
    assert 0.5 < deep < 1.034
    assert shell.front_factor(rate, 0.08, 0.007, 0.008, 0.0) == pytest.approx(1.0335, abs=0.003)
    assert shell.front_factor(rate, 0.010, 0.007, 0.008, 1.27) < 0.35


# The limits ----------------------------------------------------------------------------------


def test_three_limits_a_cylinder_with_unique_names():
    build = bench_build(cylinders=4)
    found = limits(bench(build, bench_kernels(cylinders=4)), build)
    ids = [limit.identity.id for limit in found]
    assert len(ids) == len(set(ids)) == 12
    assert {limit.identity.group for limit in found} == {"bores"}
    assert "cylinder 3, 0.75 in below deck" in next(
        limit.identity.place for limit in found if limit.identity.id == "wall-water-side-cylinder-3"
    )


@settings(max_examples=15, deadline=None)
@given(
    wall=st.floats(0.09, 0.28),
    thinner=st.floats(0.75, 0.98),
    peak=st.floats(6e6, 16e6),
    more=st.floats(1.02, 1.6),
)
def test_margins_fall_with_pressure_and_with_a_thinner_wall(wall, thinner, peak, more):
    base = margins(bench_build(wall * INCH), bench_kernels(peak))
    harder = margins(bench_build(wall * INCH), bench_kernels(peak * more))
    assert all(harder[name][0] < base[name][0] for name in base)
    thin = margins(bench_build(wall * thinner * INCH), bench_kernels(peak))
    # Bursting counts the steady heat stress, which a thin wall has less of: fatigue is what must fall.
    for name in ("wall-bore-side-cylinder-1", "wall-water-side-cylinder-1"):
        if wall * thinner < 0.15:
            assert thin[name][0] < base[name][0]


def test_a_thin_spot_governs_its_cylinder_and_no_other():
    wall = np.full((2, 3, 4), 0.200 * INCH)
    wall[1, 1, 2] = 0.090 * INCH
    build = bench_build(wall, cylinders=2)
    kernels = bench_kernels(cylinders=2)
    found = {limit.identity.id: limit for limit in limits(bench(build, kernels), build)}
    assert found["wall-bore-side-cylinder-2"].identity.place == "cylinder 2, 2.00 in below deck, 180 deg"
    by_id = margins(build, kernels)
    assert by_id["wall-bore-side-cylinder-2"][0] < 0.8 * by_id["wall-bore-side-cylinder-1"][0]


def test_candidates_hold_the_worst_reading_of_all():
    """Against judging every reading: random walls, both faces, the nominal margin is the same."""
    from blockwright.parts import wall_places

    rng = np.random.default_rng(11)
    kernels = bench_kernels()
    for _ in range(6):
        build = bench_build(rng.uniform(0.11, 0.24, (1, 3, 4)) * INCH)
        few = margins(build, kernels)
        wall_places.governing.cache_clear()
        kept, wall_places.CANDIDATES = wall_places.CANDIDATES, 12
        try:
            every = margins(build, kernels)
        finally:
            wall_places.CANDIDATES = kept
            wall_places.governing.cache_clear()
        for name in few:
            # Strength is that of the first candidate's thickness, hence not exactly equal.
            assert few[name][0] == pytest.approx(every[name][0], rel=0.03), name


def test_joined_walls_of_siamesed_bores_are_left_out():
    build = bench_build(siamesed=True)
    angles = {round(float(np.degrees(place.angle))) for place in places(bores_of(build))[0]}
    assert angles == {0, 180}
    notes = limits(bench(build, bench_kernels()), build)[0].identity.notes
    assert any("Siamesed" in note for note in notes)


def test_stresses_by_hand_at_one_reading():
    """Water side at the top reading, steady and gas parts from plain statics."""
    build, kernels = bench_build(0.200 * INCH), bench_kernels(8.5e6)
    found = next(f for f in limits(bench(build, kernels), build) if "water" in f.identity.id)
    place = governing(bores_of(build), True)[0][0]
    a, t = 0.051, 0.200 * INCH
    pressure = kernels["wall_pressure", f"cylinder 1 depth {place.depth_index + 1}"].max()
    gas = place.front * pressure * 2 * a**2 / ((a + t) ** 2 - a**2)
    assert_allclose(found.split["gas pressure"].item(), gas, rtol=1e-9)
    peak = np.array([0.9, 1.0, 1.0]) * 8.5e6
    flux = 550e3 * ((peak / 8.5e6) * np.array([12, 15, 17]) / 18) ** 0.8 * np.exp(-DEPTHS[0] / (0.4 * 0.076))
    modulus, expansion = 14.7e6 * 6894.757293168, 10.8e-6
    heat = modulus * expansion * flux.max() * t / 46.0 / (2 * (1 - 0.26))
    assert_allclose(found.split["heat through the wall"].item(), heat, rtol=1e-6)


def test_explanation_replays_every_limit():
    build, kernels = bench_build(cylinders=2), bench_kernels(cylinders=2)
    sampled = limits(bench(build, kernels), build)
    traced = limits(TracedLeaves(build, kernels, "key"), build)
    for ours, told in zip(sampled, traced, strict=True):
        for name in ("stress_max", "stress_min", "strength", "tensile", "demand", "capacity"):
            if hasattr(ours, name):
                assert_allclose(getattr(told, name).value, getattr(ours, name), rtol=1e-12)
        first = told.stress_max if isinstance(told, Fatigue) else told.demand
        assert all(node.leaf or node.formula for node in first.node.walk())


# Common practice, no source -------------------------------------------------------------------


def test_two_hundred_thou_is_a_good_wall_and_ninety_is_not():
    """Common practice, no source: 0.200 in is a good wall, 0.090 in is not one for a performance engine.

    Eight class 30 cylinders of an invented 4-inch bore, gas pressure at the first reading set by hand to
    0.45 of the peak.  "Good": 99 % that no wall fails; "not one": under 95 %; at the 110 and 150 bar
    of tuned and boosted engines.  At 85 bar the model still gives the 0.090 in wall about 98 %: it is
    kinder there than the trade (docs/models/walls.md).  Nothing was tuned to this.
    """
    for peak in (11.0e6, 15.0e6):
        alive = {}
        for wall in (0.200, 0.090):
            build = bench_build(wall * INCH, cylinders=8)
            found = margins(build, bench_kernels(peak, rows=801, cylinders=8), samples=800)
            alive[wall] = np.mean(np.all([value[1:] > 1.0 for value in found.values()], axis=0))
        assert alive[0.200] > 0.99
        assert alive[0.090] < 0.95
