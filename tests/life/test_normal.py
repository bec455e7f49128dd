"""The normal distribution against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from blockwright.life import normal


def test_agrees_with_scipy_far_into_the_tails():
    x = np.linspace(-8.0, 8.0, 401)
    assert normal.cdf(x) == pytest.approx(ndtr(x), rel=1e-13)
    p = np.concatenate(
        [np.logspace(-300, -1, 200), np.linspace(0.1, 0.9, 33), 1.0 - np.logspace(-15, -1, 40)]
    )
    assert normal.quantile(p) == pytest.approx(ndtri(p), rel=1e-11, abs=1e-14)


def test_keeps_shape():
    assert normal.quantile(np.full((2, 3, 1), 0.5)).shape == (2, 3, 1)
    assert float(normal.cdf(0.0)) == 0.5
