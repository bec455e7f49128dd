"""The oil film's pressure on a half bore: a cosine about the load, and its integral.

Angles are measured at the bore's centre from the middle of the half bore [rad].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def film_pressure(theta: Array, direction: float, film: float) -> Array:
    """Film pressure times radius per unit of load [1/rad], a cosine over +- `film` about the load.

    ``p r L/F = cos(k (theta - direction))/c``, ``k = pi/(2 film)``, zero outside; c makes
    the load itself the resultant.  `film` = 90 degrees is the classic half bearing.
    """
    k = 0.5 * np.pi / film
    off = np.abs(theta - direction)
    return np.asarray(np.where(off < film, np.cos(k * off), 0.0) / _film_norm(film))


def _film_norm(film: float) -> float:
    k = 0.5 * np.pi / film
    return float(np.sin((k + 1.0) * film) / (k + 1.0) + film * np.sinc((k - 1.0) * film / np.pi))


def film_force(theta: Array, direction: Array, film: float) -> tuple[Array, Array]:
    """Film force between each `theta` and the right foot, shape (directions, theta).

    Closed form of the integral of `film_pressure` times (sin t, -cos t) from theta to 90 degrees.
    """
    d = direction[:, None]
    k = 0.5 * np.pi / film
    m = 1.0 - k

    def primitive(off: Array) -> tuple[Array, Array]:
        # sin(m off)/m and (1 - cos(m off))/m, both sound at m = 0
        sine = off * np.sinc(m * off / np.pi)
        versed = 0.5 * m * off**2 * np.sinc(0.5 * m * off / np.pi) ** 2
        fast = (1.0 + k) * off + d
        x = np.sin(d) * sine + np.cos(d) * versed - np.cos(fast) / (1.0 + k)
        y = np.cos(d) * sine - np.sin(d) * versed + np.sin(fast) / (1.0 + k)
        return 0.5 * x, -0.5 * y

    high = np.maximum(np.minimum(film, 0.5 * np.pi - d), -film)
    low = np.minimum(np.maximum(theta[None, :] - d, -film), high)
    (x1, y1), (x0, y0) = primitive(high), primitive(low)
    norm = _film_norm(film)
    return (x1 - x0) / norm, (y1 - y0) / norm
