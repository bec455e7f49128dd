"""Kernel of the damage sum: the load factor at which a duty uses up the whole life.

Compiled once and cached.  No classes, no units.
"""

from __future__ import annotations

import math

import numpy as np

from ..compiled import kernel
from ..trace import Array

#: Factor returned for a duty that does no damage at any load worth naming.
NO_DAMAGE = 1.0e6


@kernel
def load_factors(ratio: Array, share: Array, slope: Array) -> Array:
    """Factor on every amplitude at which the damage sum is 1.

    Parameters
    ----------
    ratio : ndarray, shape (n, m)
        Equivalent amplitude over the fatigue limit of each load level [-], >= 0.
    share : ndarray, shape (n, m)
        Cycles of the level over the cycles at the knee [-], >= 0.
    slope : ndarray, shape (n,)
        S-N exponent k above the knee; 2 k - 1 below it [-].

    Returns
    -------
    ndarray, shape (n,)
        Load factor, at most `NO_DAMAGE`.

    Notes
    -----
    Solves ln D(y) = 0, y = ln(factor).  ln D rises with a slope between k and 2 k - 1, which
    gives a bracket at once; it holds no level that alone would do more than the whole damage, so no
    term exceeds 1.  Halley steps; one that leaves the bracket becomes a bisection.
    """
    n, m = ratio.shape
    out = np.empty(n)
    logs = np.empty(m)
    weights = np.empty(m)
    top = math.log(NO_DAMAGE)
    for i in range(n):
        k = slope[i]
        k2 = 2.0 * k - 1.0
        count = 0
        for j in range(m):
            if ratio[i, j] > 0.0 and share[i, j] > 0.0:
                logs[count] = math.log(ratio[i, j])
                weights[count] = math.log(share[i, j])
                count += 1
        if count == 0:
            out[i] = NO_DAMAGE
            continue
        # The root lies below the y at which the worst level alone would do it, and near it.
        y = 1.0e300
        for j in range(count):
            y = min(y, -logs[j] - weights[j] / (k if weights[j] <= 0.0 else k2))
        low, high = -1.0e300, y
        for _ in range(200):
            total = 0.0
            gradient = 0.0
            curvature = 0.0
            for j in range(count):
                r = y + logs[j]
                s = k if r >= 0.0 else k2
                part = math.exp(weights[j] + s * r)
                total += part
                gradient += s * part
                curvature += s * s * part
            f = math.log(total)
            if f > 0.0:
                high = min(high, y)
                low = max(low, y - f / k)
            else:
                low = max(low, y)
                high = min(high, y - f / k)
            rise = gradient / total
            newton = -f / rise
            bend = (curvature / total - rise * rise) / rise
            step = newton / (1.0 + 0.5 * newton * bend)
            trial = y + step
            if not (low <= trial <= high):
                trial = 0.5 * (low + high)
            moved = abs(trial - y)
            same = True
            for j in range(count):
                same = same and (y + logs[j] >= 0.0) == (trial + logs[j] >= 0.0)
            y = trial
            # The error left is of the third power of the step, unless a level crossed its knee on the way.
            if moved <= 1e-14 * max(1.0, abs(y)) or (same and abs(step) == moved and moved * k2 <= 1e-6):
                break
        out[i] = math.exp(min(y, top))
    return out
