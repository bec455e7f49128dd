"""First-order reliability: the most likely way to fail, and what makes it likely.

Works in independent standard-normal space, where every quantity of ours already
lives.  The search is the improved Hasofer-Lind-Rackwitz-Fiessler iteration with
a merit function and step halving (Zhang and Der Kiureghian 1995, from memory);
a plain iteration oscillates on strongly curved limit states.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..trace import Array
from .normal import cdf

#: Takes points (m, d) in standard-normal space, gives g (m,); failure is g <= 0.
LimitState = Callable[[Array], Array]


@dataclass(frozen=True)
class DesignPoint:
    """The most likely failure.

    Attributes
    ----------
    beta : float
        Reliability index, negative when the nominal engine fails [-].
    u : ndarray, shape (d,)
        Design point in standard-normal space.
    importance : ndarray, shape (d,)
        alpha_i^2, share of each quantity in the failure chance; sums to 1.
    failure_chance : float
        Phi(-beta), first order.
    calls : int
        Evaluations of the limit state.
    """

    beta: float
    u: Array
    importance: Array
    failure_chance: float
    calls: int


def _gradient(g: LimitState, u: Array, step: float) -> tuple[float, Array]:
    """g and its central-difference gradient at `u`, in one batch of 2 d + 1 points."""
    d = u.size
    points = np.tile(u, (2 * d + 1, 1))
    points[1 : d + 1] += step * np.eye(d)
    points[d + 1 :] -= step * np.eye(d)
    values = g(points)
    return float(values[0]), (values[1 : d + 1] - values[d + 1 :]) / (2.0 * step)


def design_point(
    g: LimitState,
    d: int,
    start: Array | None = None,
    tolerance: float = 1e-4,
    max_steps: int = 60,
    step: float = 1e-3,
) -> DesignPoint | None:
    r"""Find the point of the failure surface nearest to the origin.

    .. math:: u_{k+1} = u_k + s\,d_k,\quad
       d_k = \frac{\nabla g\cdot u_k - g}{|\nabla g|^2}\nabla g - u_k

    with the step s halved until the merit 0.5|u|^2 + c|g| falls, c > |u|/|grad g|.

    Parameters
    ----------
    g : callable
        Limit state on rows of standard-normal points.
    d : int
        Number of dimensions.
    start : ndarray, shape (d,), optional
        First guess; the origin by default.
    tolerance : float
        On |g| relative to its first value and on the direction of u.
    max_steps : int
        After which None is returned: a design point that was not found is not reported.
    step : float
        Half-width of the difference quotient.

    Returns
    -------
    DesignPoint or None
        None when the iteration did not settle or the surface is flat.

    References
    ----------
    Hasofer & Lind 1974; Rackwitz & Fiessler 1978; Zhang & Der Kiureghian 1995 (from memory).
    """
    u = np.zeros(d) if start is None else np.asarray(start, dtype=float).copy()
    value, gradient = _gradient(g, u, step)
    at_origin = value if start is None else float(g(np.zeros((1, d)))[0])
    scale = max(abs(at_origin), 1e-12)
    calls = 2 * d + 1
    for _ in range(max_steps):
        size = float(np.linalg.norm(gradient))
        if not np.isfinite(size) or size < 1e-12 * scale:
            return None
        radius = float(np.linalg.norm(u))
        off_axis = float(np.linalg.norm(u - (gradient @ u) * gradient / size**2))
        if abs(value) <= tolerance * scale and off_axis <= tolerance * max(1.0, radius):
            sign = 1.0 if at_origin > 0.0 else -1.0
            alpha = -gradient / size
            return DesignPoint(
                beta=sign * radius,
                u=u,
                importance=alpha**2,
                failure_chance=float(cdf(-sign * radius)),
                calls=calls,
            )
        direction = (gradient @ u - value) / size**2 * gradient - u
        c = 2.0 * radius / size
        if abs(value) > tolerance * scale:
            c = max(c, float(np.sum((u + direction) ** 2)) / abs(value))
        merit = 0.5 * radius**2 + c * abs(value)
        fractions = 0.5 ** np.arange(12)
        trials = u + fractions[:, None] * direction
        found = g(trials)
        calls += fractions.size
        merits = 0.5 * np.sum(trials**2, axis=1) + c * np.abs(found)
        merits = np.where(np.isfinite(merits), merits, np.inf)
        better = np.flatnonzero(merits < merit)
        best = int(better[0]) if better.size else int(np.argmin(merits))
        u = trials[best]
        value, gradient = _gradient(g, u, step)
        calls += 2 * d + 1
    return None
