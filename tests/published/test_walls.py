"""Cylinder-wall formulas against textbook closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.parts import shell
from blockwright.parts.wall_stress import hoop_inside, hoop_outside, thermal_stress


def test_lame_thick_cylinder():
    """A85, Timoshenko, exact, recomputed: a 50, b 75 mm, 60 MPa: 156.0 at the bore, 96.0 outside."""
    assert_allclose(60.0 * hoop_inside(0.100, 0.025), 156.0, rtol=1e-12)
    assert_allclose(60.0 * hoop_outside(0.100, 0.025), 96.0, rtol=1e-12)


@pytest.mark.parametrize("distance", [0.0, 0.3, 1.0, 2.0, np.pi, 6.0])
def test_pressurised_cylinder_with_a_built_in_edge(distance):
    """Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, ch. 15 (from memory):
    w = (p a^2/E t) (1 - exp(-bx)(cos bx + sin bx))."""
    rate = 70.0
    expected = 1.0 - np.exp(-distance) * (np.cos(distance) + np.sin(distance))
    assert_allclose(shell.clamped_patch(rate, distance / rate, 0.0, 50.0), expected, atol=1e-12)


def test_long_cylinder_under_a_band_of_pressure():
    """The same book (from memory): under the middle of a band of half length c far from any edge
    w = (q a^2/E t)(1 - exp(-bc) cos bc)."""
    rate, half, deep = 70.0, 0.011, 2.0
    ours = shell.clamped_patch(rate, deep, deep - half, deep + half)
    assert_allclose(ours, 1.0 - np.exp(-rate * half) * np.cos(rate * half), atol=1e-12)


def test_decay_rate_of_steel_tube():
    """The same book (from memory): b = 1.285/sqrt(a t) at nu = 0.3."""
    assert_allclose(shell.breathing_rate(1.0, 1.0, 0.3), 1.285, atol=5e-4)


def test_pinched_ring():
    """Ring formulas of Roark and Timoshenko (from memory): under two opposite forces P per length the
    moment at the load is P a/pi = 0.318 P a.  Our orders: q_n = 2 P/(pi a) for even n,
    M = q_n a^2/(n^2 - 1)."""
    orders = np.arange(2, 20001, 2)
    assert_allclose(np.sum(2.0 / np.pi / (orders**2 - 1.0)), 0.318, atol=5e-4)


def test_thermal_stress_of_a_plate_held_flat():
    """Timoshenko (from memory): E alpha dT/(2(1-nu)); 110 GPa, 10.8e-6/K, 40 K, nu .26: 32.1 MPa."""
    stress = thermal_stress(40.0 * 46.0 / 0.005, 0.005, 46.0, 110e9, 10.8e-6, 0.26, True)
    assert_allclose(stress / 1e6, 32.1, atol=0.05)
