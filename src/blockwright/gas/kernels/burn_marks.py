"""Angles at which parts of a burn are done, from the burned share at whole degrees."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .jit import kernel

Array = NDArray[np.float64]

#: Parts of what burns in the end whose angles are wanted [-].
MARKS = (0.02, 0.1, 0.5, 0.9)
#: Less than this share burned is no burn [-].
NOTHING = 1e-6
#: From this part of what burns in the end a burn counts as over [-].
OVER = 1.0 - 1e-4
#: Degrees of the cycle from -360, and after which nothing is looked at: the exhaust is open.
DEGREES, UNTIL = 720, 300.0


@kernel
def rising(share: Array, start: float, places: Array, values: Array) -> tuple[int, float]:
    """The burn as rising points from `start` on, at -360..359 deg after firing top dead centre.

    Fills `places` [deg] and `values`, shape (721,), parts of what burns in the end, of which the first is
    (`start`, 0).  Returns the number of points and the share that burned [-].
    """
    places[0], values[0] = start, 0.0
    count, most = 1, 0.0
    for k in range(DEGREES):
        angle = k - 360.0
        if not angle > start:
            continue
        x = share[(k + 360) % DEGREES]
        if angle < UNTIL and x > most:  # never true of NaN
            most = x
        places[count], values[count] = angle, most
        count += 1
    if most >= NOTHING:
        for k in range(1, count):
            values[k] /= most
    return count, most


@kernel
def slope(x: Array, y: Array, n: int, i: int) -> float:
    """Slope of the monotone cubic through the first n >= 3 points at point i, as `gas.monotone.slopes`."""
    if 0 < i < n - 1:
        h0, h1 = x[i] - x[i - 1], x[i + 1] - x[i]
        d0, d1 = (y[i] - y[i - 1]) / h0, (y[i + 1] - y[i]) / h1
        if d0 * d1 <= 0.0:
            return 0.0
        w0, w1 = 2.0 * h1 + h0, h1 + 2.0 * h0
        return float((w0 + w1) / (w0 / d0 + w1 / d1))
    a, b, c = (0, 1, 2) if i == 0 else (n - 1, n - 2, n - 3)
    h0, h1 = abs(x[b] - x[a]), abs(x[c] - x[b])
    d0, d1 = (y[b] - y[a]) / (x[b] - x[a]), (y[c] - y[b]) / (x[c] - x[b])
    end = float(((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1))
    if end * d0 <= 0.0:
        return 0.0
    if d0 * d1 <= 0.0 and abs(end) > 3.0 * abs(d0):
        return float(3.0 * d0)
    return end


@kernel
def burn_marks(share: Array, start: Array, angles: Array) -> None:
    """Angles of `MARKS` of many burns, on the monotone cubic through the whole degrees.

    Parameters
    ----------
    share : ndarray, shape (B, 720)
        Burned share of the mass [-] at whole degrees after firing top dead centre.
    start : ndarray, shape (B,)
        Where burning starts [deg].
    angles : ndarray, shape (B, 4)
        Filled [deg]; NaN where nothing burned.
    """
    x, y = np.empty(DEGREES + 1), np.empty(DEGREES + 1)
    for b in range(share.shape[0]):
        count, most = rising(share[b], start[b], x, y)
        angles[b, :] = np.nan
        if most < NOTHING:
            continue
        n = 1
        while y[n] < OVER:
            n += 1
        n = min(n + 2, count)
        i = 0
        for k in range(4):
            part = MARKS[k]
            while y[i + 1] < part:
                i += 1
            # Inside the degree: halving, of a cubic that never falls.
            h, low, high = x[i + 1] - x[i], 0.0, 1.0
            left, right = h * slope(x, y, n, i), h * slope(x, y, n, i + 1)
            while high - low > 1e-9:
                t = 0.5 * (low + high)
                s = 1.0 - t
                found = (1.0 + 2.0 * t) * s * s * y[i] + t * s * s * left
                found += t * t * (3.0 - 2.0 * t) * y[i + 1] - t * t * s * right
                if found < part:
                    low = t
                else:
                    high = t
            angles[b, k] = x[i] + 0.5 * (low + high) * h
