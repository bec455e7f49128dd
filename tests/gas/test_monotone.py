"""The shape-keeping cubic against SciPy's PCHIP, its general-purpose twin."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from blockwright.gas.monotone import monotone_cubic

# Coarse values: SciPy overflows (and warns) on slopes of a denormal size.
values = st.lists(st.integers(-400, 400).map(lambda n: n / 40.0), min_size=2, max_size=12)
steps = st.lists(st.floats(0.01, 5), min_size=12, max_size=12)


@given(values, steps)
def test_same_curve_as_scipy(y, gaps):
    x = np.cumsum(gaps[: len(y)])
    at = np.linspace(x[0], x[-1], 101)
    wanted = PchipInterpolator(x, y)(at)
    assert monotone_cubic(x, np.array(y), at) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


def test_held_at_its_ends_and_never_overshoots():
    x, y = np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 0.0, 1.0, 1.0])
    at = np.linspace(-1.0, 4.0, 501)
    curve = monotone_cubic(x, y, at)
    assert curve.min() >= 0.0
    assert curve.max() <= 1.0
    assert np.all(np.diff(curve) >= -1e-15)
