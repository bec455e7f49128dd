"""The standard normal distribution on arrays, by the standard library.

`statistics.NormalDist` inverts by Wichura's AS 241 to full double precision; `math.erfc`
gives the tail without cancellation.  (`scipy.special` would do as well, at a fifth of a
second more at every start; the tests hold the two together.)
"""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np

from ..trace import Array

_STANDARD = NormalDist()
_inverse = np.vectorize(_STANDARD.inv_cdf, otypes=[float])
_erfc = np.vectorize(math.erfc, otypes=[float])


def cdf(x: Array | float) -> Array:
    """Chance that a standard normal value is below x."""
    return np.asarray(0.5 * _erfc(-np.asarray(x, dtype=float) / math.sqrt(2.0)))


def quantile(p: Array | float) -> Array:
    """Standard normal value with a chance p below it, 0 < p < 1."""
    return np.asarray(_inverse(p))
