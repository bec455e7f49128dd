"""Bending of a cylinder wall where the skirt bears on it: the shell equation, order by order.

Morley's equation of a thin cylindrical shell, half-infinite and clamped in the deck, under a
patch of pressure.  For circumferential order n, with m = n/a, L = d^2/dx^2 - m^2 and F the
stress function over E t/a:

    D (L + 1/a^2)^2 W + (E t/a^2) F'' = q,    L^2 F = W''.

Each order has four decaying exponentials exp(l x) with
(l^2 - m^2)(l^2 - m^2 + 1/a^2) = +-i k l^2, k^2 = 12 (1 - nu^2)/(a t)^2.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .shell import Array

Complex = NDArray[np.complex128]

#: Orders that bend the wall.  Order 1 moves it as a whole tube; beyond 12 nothing is left.
ORDERS = np.arange(2, 13)


def thrust_moment(
    angle: Array,
    depth: float,
    radius: float,
    thickness: float,
    poisson: float,
    skirt_angle: float,
    skirt_length: float,
) -> Array:
    """Hoop bending moment per length over the side force [-], positive: water side in tension.

    Parameters
    ----------
    angle : ndarray, shape (m,)
        From the side on which the skirt bears [rad].
    depth : float
        Of the place and of the middle of the skirt, below the deck [m].
    radius, thickness : float
        Middle radius and thickness of the wall [m].
    skirt_angle, skirt_length : float
        Half the angle on which the skirt bears [rad] and its bearing length [m].

    Returns
    -------
    ndarray, shape (m,)

    Notes
    -----
    Uniform pressure q_0 on the skirt's area: q_n = 2 q_0 sin(n theta)/(pi n).
    """
    pressure = 1.0 / (2.0 * radius * np.sin(skirt_angle) * skirt_length)
    start, end = max(depth - 0.5 * skirt_length, 0.0), depth + 0.5 * skirt_length
    shares = 2.0 * pressure * np.sin(ORDERS * skirt_angle) / (np.pi * ORDERS)
    moments = np.array([patch_moment(int(n), depth, start, end, radius, thickness, poisson) for n in ORDERS])
    return np.asarray(np.cos(np.multiply.outer(angle, ORDERS)) @ (shares * moments))


def patch_moment(
    order: int, place: float, start: float, end: float, radius: float, thickness: float, poisson: float
) -> float:
    """Hoop moment of one order at `place` for unit pressure q_n cos(n theta) on a patch [m2]."""
    roots = _roots(order, radius, thickness, poisson)
    one = np.ones_like(roots)
    m2 = (order / radius) ** 2
    stretch = roots**2 / (roots**2 - m2) ** 2
    rows = np.array([one, roots**2, stretch, stretch * roots**2])
    step = np.linalg.solve(rows, np.array([1.0, 0.0, 0.0, 0.0], dtype=complex))

    def free(at: float, factor: Complex, derivative: int) -> complex:
        """Derivative of the endless shell's answer to the patch, over q/k; `factor` is `one` for W."""
        total = 0.0 + 0.0j
        for edge, sign in ((start, 0.5), (end, -0.5)):
            side = 1.0 if at >= edge else -1.0
            wave = step * factor * (side * roots) ** derivative * np.exp(roots * abs(at - edge))
            total -= sign * side * np.sum(wave)
            if derivative == 0 and factor is one:
                total += sign * side
        return total

    edge_terms = np.array(
        [one, roots, stretch * (roots**2 + poisson * m2), stretch * (roots**3 - (2.0 + poisson) * m2 * roots)]
    )
    found = np.array(
        [
            free(0.0, one, 0),
            free(0.0, one, 1),
            free(0.0, stretch, 2) + poisson * m2 * free(0.0, stretch, 0),
            free(0.0, stretch, 3) - (2.0 + poisson) * m2 * free(0.0, stretch, 1),
        ]
    )
    clamp = np.linalg.solve(edge_terms, -found)
    wave = clamp * np.exp(roots * place)
    deflection = free(place, one, 0) + np.sum(wave)
    curvature = free(place, one, 2) + np.sum(wave * roots**2)
    ring = (order**2 - 1) / radius**2
    # D (ring W - nu W'') with W over q/k and k = D ring^2
    return float(np.real(ring * deflection - poisson * curvature)) / ring**2


def _roots(order: int, radius: float, thickness: float, poisson: float) -> Complex:
    """The four decaying exponents of one order [1/m]."""
    m2, g = (order / radius) ** 2, 1.0 / radius**2
    k = np.sqrt(12.0 * (1.0 - poisson**2)) / (radius * thickness)
    squares: list[complex] = []
    for sign in (1.0, -1.0):
        middle = 2.0 * m2 - g + sign * 1j * k
        spread = np.sqrt(middle**2 - 4.0 * m2 * (m2 - g))
        squares += [0.5 * (middle + spread), 0.5 * (middle - spread)]
    decaying: Complex = -np.sqrt(np.array(squares, dtype=complex))
    return decaying
