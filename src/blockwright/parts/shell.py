"""A cylinder wall as a thin shell held by the deck: kernels on plain floats and arrays.

Each circumferential order of a cylindrical shell bends along its length like a beam on an
elastic foundation.  For order 0 (breathing) the foundation is hoop stretch and the beam the
wall's own bending.  For orders n >= 2 without hoop stretch the foundation is the ring's
bending and the beam the wall's axial stretch.  One solution serves both: a uniform patch of
load on a half-infinite beam whose end is clamped in the deck.

Order 2 reaches far (an oval wall of usual size is held round by the deck over its whole
length); order 0 forgets the deck within some 25 mm.  A load as short as a skirt needs the
full shell equation: `skirt.py`.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
Real: TypeAlias = "float | Array"

#: Ring fronts looked at below a place, in decay lengths.
_FRONTS = np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.35])


def breathing_rate(radius: Real, thickness: Real, poisson: Real) -> Real:
    """Decay rate of order 0 [1/m]: beta = (3 (1 - nu^2))^(1/4)/sqrt(a t).

    `radius` is that of the middle surface [m].  Source: Timoshenko & Woinowsky-Krieger,
    Theory of Plates and Shells, ch. 15 (from memory).
    """
    rate: Array = np.power(3.0 * (1.0 - np.square(poisson)), 0.25) / np.sqrt(np.multiply(radius, thickness))
    return rate


def ring_rate(order: int, radius: Real, thickness: Real, poisson: Real) -> Real:
    """Decay rate of order n >= 2 [1/m].

    beta^4 = k/(4 D) with k = E t^3 (n^2 - 1)^2/(12 (1 - nu^2) a^4) of the ring and D = E t a^2/n^4 of
    the axial stretch; from the energies of a shell without hoop or shear strain.
    """
    stiff = np.square(thickness) * (order**2 - 1) ** 2 * order**4
    rate: Array = np.power(stiff / (48.0 * (1.0 - np.square(poisson)) * np.power(radius, 6)), 0.25)
    return rate


def _cosine(s: Real) -> Array:
    return np.asarray(np.exp(-s) * np.cos(s))


def _sum(s: Real) -> Array:
    return np.asarray(np.exp(-s) * (np.cos(s) + np.sin(s)))


def clamped_patch(rate: Real, place: Real, start: Real, end: Real) -> Array:
    """Deflection under a uniform patch over its value far from any end, k w/q [-].

    Parameters
    ----------
    rate : float
        Decay rate beta [1/m].
    place, start, end : float
        Where it is asked, and the patch's ends, from the clamped end of a half-infinite
        beam on an elastic foundation [m], 0 <= start <= end.

    Notes
    -----
    The infinite beam's answer and the end force and moment that clamp it:
    w/w_free = (s(end) - s(start))/2 + exp(-b x)(A cos b x + B sin b x).
    """
    x, a, b = np.multiply(rate, place), np.multiply(rate, start), np.multiply(rate, end)
    free = 0.5 * (_side(b - x) - _side(a - x))
    lift = -0.5 * (_cosine(a) - _cosine(b))
    turn = lift - 0.5 * (_sum(a) - _sum(b))
    return np.asarray(free + np.exp(-x) * (lift * np.cos(x) + turn * np.sin(x)))


def _side(distance: Real) -> Array:
    return np.asarray(np.sign(distance) * (1.0 - _cosine(np.abs(distance))))


def front_factor(rate: float, depth: float, ring_at_top: float, chamber: float, expansion: float) -> float:
    """Hoop stretch as the rings pass, over that of the pressure at their passing all around [-].

    Only the wall above the rings is loaded, and the pressure falls as they go on: the
    largest over all later ring positions of (patch factor) times (V_pass/V)^n.

    Parameters
    ----------
    rate : float
        Decay rate of order 0 [1/m].
    depth : float
        Of the place, below the deck [m].
    ring_at_top : float
        Depth of the top ring at top dead centre [m].
    chamber : float
        Clearance volume over the bore's area [m].
    expansion : float
        Exponent n of the pressure's fall.
    """
    first = max(depth, ring_at_top)
    front = first + _FRONTS / rate
    height = chamber + first - ring_at_top
    fall = (1.0 + (front - first) / height) ** -expansion
    return float(np.max(fall * np.asarray(clamped_patch(rate, depth, 0.0, front))))


def second_order(angle: Array) -> Array:
    """Matrix that takes readings around a bore to their second circumferential order there.

    Parameters
    ----------
    angle : ndarray, shape (m,)
        Angles of the readings [rad].

    Returns
    -------
    ndarray, shape (m, m)
        Least squares of t = t_0 + orders 1 and 2, evaluated for order 2 alone; zero with
        fewer than four readings.  Order 1 (the core set to one side) moves the middle
        surface as a whole and bends nothing.
    """
    if angle.size < 4:
        return np.zeros((angle.size, angle.size))
    columns = [np.ones_like(angle), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)]
    basis = np.stack(columns, axis=1)
    fit: Array = np.linalg.pinv(basis, rcond=1e-9)
    return np.asarray(basis[:, 3:] @ fit[3:])
