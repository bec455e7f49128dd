"""Shape-keeping cubic through points: no overshoot between measurements.

SciPy's `PchipInterpolator` gives the same curve, but importing `scipy.interpolate` takes
a quarter of a second at every start; the test holds the two together.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    """Slope at an end: three-point formula, held to the shape of the data."""
    slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0.0:
        return 0.0
    if d0 * d1 <= 0.0 and abs(slope) > 3.0 * abs(d0):
        return 3.0 * d0
    return slope


def slopes(x: Array, y: Array) -> Array:
    """Slopes at the points: weighted harmonic mean of the neighbours' slopes, 0 at a turning point.

    Parameters
    ----------
    x, y : ndarray, shape (n,), n >= 2
        Rising places, and values there.

    References
    ----------
    Fritsch & Butland 1984 (from memory), as SciPy's PCHIP.
    """
    h, d = np.diff(x), np.diff(y) / np.diff(x)
    if x.size == 2:
        return np.full(2, d[0])
    found = np.zeros(x.size)
    same = d[:-1] * d[1:] > 0.0
    w1, w2 = 2.0 * h[1:] + h[:-1], h[1:] + 2.0 * h[:-1]
    before, after = np.where(same, d[:-1], 1.0), np.where(same, d[1:], 1.0)
    found[1:-1] = np.where(same, (w1 + w2) / (w1 / before + w2 / after), 0.0)
    found[0] = _end_slope(h[0], h[1], d[0], d[1])
    found[-1] = _end_slope(h[-1], h[-2], d[-1], d[-2])
    return found


def monotone_cubic(x: Array, y: Array, at: Array) -> Array:
    """The curve at places `at`, held at its end values outside the points.

    Parameters
    ----------
    x, y : ndarray, shape (n,), n >= 2
        Rising places, and values there.
    at : ndarray
        Where the curve is wanted.
    """
    m = slopes(x, y)
    place = np.clip(at, x[0], x[-1])
    i = np.clip(np.searchsorted(x, place, side="right") - 1, 0, x.size - 2)
    h = (x[1:] - x[:-1])[i]
    t = (place - x[i]) / h
    s = 1.0 - t
    return np.asarray(
        (1.0 + 2.0 * t) * s * s * y[i]
        + t * s * s * h * m[i]
        + t * t * (3.0 - 2.0 * t) * y[i + 1]
        - t * t * s * h * m[i + 1]
    )
