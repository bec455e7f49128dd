"""Threads and press fits: closed forms against independent routes, shapes and limits."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.joints import press, thread


def test_reproduces_the_worked_strip_of_the_notes():
    """Formula notes sec. 2.3: M11x1.5, 22 mm in GJL-250: 665 and 486 mm2, 149.7 kN, 134 kN with .897."""
    d, p, engaged = 11e-3, 1.5e-3, 22e-3
    d2, d1 = d - 0.649519 * p, d - 1.082532 * p
    tapped = thread.tapped_shear_area(d, p, d2, engaged)
    own = thread.fastener_shear_area(d1, p, d2, engaged)
    assert_allclose([tapped * 1e6, own * 1e6], [665, 486], atol=0.5)
    bare = thread.tapped_strip_load(tapped, 250e6, 0.9, 1.0, 1.0)
    weak = thread.tapped_strip_load(tapped, 250e6, 0.9, 1.0, 0.897)
    assert_allclose([bare / 1e3, weak / 1e3], [149.7, 134.0], atol=0.5)


def test_shear_areas_are_those_of_the_profile():
    """Independent route: width of the 60 degree tooth where the other thread's crest cuts it."""
    d, p = 12.7e-3, 25.4e-3 / 13
    d2, d1 = d - 0.649519 * p, d - 1.082532 * p
    turns = 20e-3 / p
    # At the pitch diameter a tooth is p/2 wide; it widens by 2 tan 30 per unit of radius.
    width_tapped = 0.5 * p + 2 * np.tan(np.pi / 6) * 0.5 * (d - d2)
    width_own = 0.5 * p + 2 * np.tan(np.pi / 6) * 0.5 * (d2 - d1)
    assert_allclose(thread.tapped_shear_area(d, p, d2, 20e-3), turns * np.pi * d * width_tapped, rtol=1e-12)
    assert_allclose(thread.fastener_shear_area(d1, p, d2, 20e-3), turns * np.pi * d1 * width_own, rtol=1e-12)


@given(st.floats(0.0, 3.0))
def test_bending_and_dilation_are_continuous_and_bounded(x):
    step = 1e-6
    for factor in (thread.tapped_bending_factor, lambda v: thread.dilation_factor(v, 1.0)):
        assert abs(float(factor(x + step)) - float(factor(x))) < 1e-4
        assert 0.5 < float(factor(x)) < 1.1
    assert float(thread.dilation_factor(x, 1.0)) <= 1.0 + 1e-12
    assert_allclose(thread.tapped_bending_factor(1.0 + x), 0.897, atol=5e-4)
    assert_allclose(thread.dilation_factor(1.9 + x, 1.0), 1.0, atol=1e-9)


def test_engagement_loses_its_ends_but_keeps_a_pitch():
    assert_allclose(thread.effective_engagement(np.array([20e-3, 1e-3]), 2e-3, 1.5), [17e-3, 2e-3])


@given(st.floats(5e-6, 200e-6), st.floats(0.3, 0.9), st.floats(0.0, 0.9))
def test_fit_pressure_agrees_with_both_rings_solved_at_once(interference, wall, bore):
    """Independent route: u = a r + b/r in each ring, four conditions, one linear system."""
    radius = 40e-3
    outer, inner = radius / wall, bore * radius
    modulus, nu = (100e9, 205e9), (0.26, 0.29)

    def radial(ring, r):  # stress from (a, b), plane stress
        e, v = modulus[ring], nu[ring]
        return np.array([e / (1 - v), -e / ((1 + v) * r**2)])

    system, right = np.zeros((4, 4)), np.zeros(4)
    system[0, :2] = radial(0, outer)  # hub free outside
    if inner > 1e-4:
        system[1, 2:] = radial(1, inner)  # core free inside
    else:
        inner = 0.0
        system[1, 3] = 1.0  # solid: no 1/r
    system[2, :2], system[2, 2:] = radial(0, radius), -radial(1, radius)
    system[3] = [radius, 1 / radius, -radius, -1 / radius]
    right[3] = 0.5 * interference
    scale = np.abs(system).max(axis=1)
    scaled = np.linalg.solve(system / scale[:, None], right / scale)
    by_system = -radial(0, radius) @ scaled[:2]
    ours = press.ring_fit_pressure(
        interference, 2 * radius, 2 * outer, 2 * inner, modulus[0], nu[0], modulus[1], nu[1]
    )
    assert_allclose(ours, by_system, rtol=1e-6)


def test_a_clearance_presses_nothing():
    assert press.ring_fit_pressure(-20e-6, 0.1, 0.12, 0.09, 1e11, 0.26, 1e11, 0.26) == 0.0
    assert press.register_preload(-20e-6, 0.1, 5e-4, 1e11, 1e-9) == 0.0
    assert press.effective_interference(10e-6, 20e-6) == 0.0


def test_register_squeeze_is_two_springs_sharing_the_interference():
    force = press.register_preload(40e-6, 0.13, 480e-6, 100e9, 2e-9)
    assert_allclose(force * 0.13 / (480e-6 * 100e9) + force * 2e-9, 40e-6, rtol=1e-12)
    assert_allclose(press.friction_capacity(force, 0.15, faces=2), 0.3 * force)
