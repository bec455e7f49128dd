"""Burn law and phasing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.gas import combustion
from blockwright.gas.kernels.cylinder import NB, burn_step, burned_share


def law(start: float, length: float, share: float) -> np.ndarray:
    """A packed Wiebe law."""
    row = np.zeros(NB)
    row[:4] = start, length, share, 1.0
    return row


ANGLES, LENGTHS = st.floats(-40.0, 30.0), st.floats(8.0, 100.0)


@given(ANGLES, LENGTHS)
def test_window_holds_the_angles_it_was_made_from(ca10, length):
    start, total = combustion.wiebe_window(ca10, length)
    assert_allclose(combustion.wiebe(ca10, start, total), 0.1, rtol=1e-9)
    assert_allclose(combustion.wiebe(ca10 + length, start, total), 0.9, rtol=1e-9)
    middle = combustion.ca50_from_ca10(ca10, length)
    assert_allclose(combustion.wiebe(middle, start, total), 0.5, rtol=1e-9)
    assert_allclose(combustion.ca10_from_ca50(middle, length), ca10, atol=1e-9)


@given(ANGLES, LENGTHS, st.floats(-90.0, 120.0))
def test_kernel_and_formula_agree(ca10, length, angle):
    start, total = combustion.wiebe_window(ca10, length)
    burn = law(float(start), float(total), 1.0)
    assert_allclose(burned_share(angle, burn), combustion.wiebe(angle, start, total), atol=1e-12)


def test_steps_of_any_width_burn_the_same_share():
    burn = law(-20.0, 60.0, 0.97)
    left = []
    for steps in (1, 7, 200):
        y = np.array([1e-3, 7e-5, 1e-4, 0.0, 5e-5, 3e-6, 0.0, 123.0])
        for a, b in zip(*(np.linspace(-40.0, 80.0, steps + 1)[k:][:steps] for k in (0, 1)), strict=True):
            burn_step(y, a, b, burn)
        assert y[7] == 123.0
        assert_allclose(y[:7].sum(), 1e-3 + 7e-5 + 1e-4 + 5.3e-5, rtol=1e-12)
        left.append(y[0] / 1e-3)
    assert_allclose(left, 1.0 - 0.97 * (1.0 - np.exp(-5.0)), rtol=1e-9)


def test_burning_takes_more_crank_angle_at_speed():
    """Findings 2.4: 3000 to 7500 rpm stretches the burn 1.36 times (cube root of 2.5)."""
    assert combustion.burn_angle(30.0, 7500.0, 3000.0) / 30.0 == pytest.approx(1.36, abs=0.005)
