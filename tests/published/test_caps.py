"""Main caps and bulkhead against published closed forms; each says where from and whether read."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.parts.cap_film import film_pressure
from blockwright.parts.cap_frame import CapDims, influence
from blockwright.parts.web import hole_factor


@pytest.mark.parametrize("film", [0.1, 0.6, 0.5 * np.pi])
@pytest.mark.parametrize(("station", "angle"), [(0, -25.0), (1, 0.0), (2, 25.0)])
def test_thin_ring_pulled_across_a_diameter(film, station, angle):
    """Roark, circular rings, case 1 (from memory): M = W R (1/pi - |sin x|/2), N = W |sin x|/2.

    A half ring with feet free to slide is half of a ring pulled both ways; a film is a
    row of such pairs of forces.  Thin ring (depth 1/250 of its radius), so 1 % is left.
    """
    h, radius, length = 0.2e-3, 50e-3, 20e-3
    dims = CapDims(2 * radius - h, h, h, 2 * radius, length, 100e9, film=film)
    unit = influence(dims, direction=np.zeros(1))
    ours = unit.stress[station, 0] + unit.release[station] * unit.closing[0]
    at = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 40001)
    weight, away = film_pressure(at, 0.0, film), np.abs(np.sin(np.radians(angle) - at))
    moment = radius * np.trapezoid(weight * (1 / np.pi - away / 2), at)
    normal = np.trapezoid(weight * away / 2, at)
    expected = moment / (length * h**2 / 6) + normal / (length * h)
    assert_allclose(ours, expected, rtol=0.01)


@pytest.mark.parametrize(
    ("ratio", "gross"), [(0.0, 3.00), (0.1, 3.03), (0.2, 3.14), (0.3, 3.36), (0.4, 3.74), (0.5, 4.32)]
)
def test_hole_in_a_plate_of_finite_width(ratio, gross):
    """Howland 1930, stress at the hole over that far away (from memory); the cubic fit is good to 0.6 %."""
    net = float(hole_factor(np.array(ratio), np.array(1.0)))
    assert_allclose(net / (1.0 - ratio), gross, rtol=0.006)


def test_hole_factor_limits_and_heywood():
    """3 for a small hole, 2 for a thin ligament; Heywood's 2 + (1 - q)^3 (from memory) within 4 %."""
    q = np.linspace(0.0, 1.0, 21)
    ours = hole_factor(q, np.ones_like(q))
    assert_allclose(ours[[0, -1]], [3.0, 2.0], atol=1e-12)
    assert_allclose(ours, 2.0 + (1.0 - q) ** 3, rtol=0.04)
