"""A quadratic surface through a small composite design: a cheap stand-in for a costly run.

The design is a central composite one: the centre, two axial points for each input
and a two-level factorial (half of it from six inputs on, with the last input the
product of the others).  The surface's error on its own design points is kept, to be
added to the spread.

Along one direction, in which the samples spread far and the outputs bend more than a parabola
does, the surface may be set right by runs on that line: its *ridge*.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ..trace import Array

#: From this many inputs on, half of the factorial is enough for a full quadratic.
HALF_FROM = 6


def composite_design(d: int) -> Array:
    """Central composite design in coded units, shape (runs, d): 0, +-1.

    Axial points sit at +-1.5 so that curvature is seen beyond the factorial's corners.
    Runs: 1 + 2 d + 2^d (or 2^(d-1) for d >= 6): 43 for five inputs, 45 for six.
    """
    free = d - 1 if d >= HALF_FROM else d
    grid = np.array(np.meshgrid(*[[-1.0, 1.0]] * free, indexing="ij")).reshape(free, -1).T
    if free < d:
        grid = np.column_stack([grid, np.prod(grid, axis=1)])
    axial = 1.5 * np.vstack([np.eye(d), -np.eye(d)])
    return np.vstack([np.zeros((1, d)), axial, grid])


def _terms(x: Array) -> Array:
    """Terms 1, x_i, x_i x_j (i <= j), shape (rows, 1 + d + d (d + 1) / 2)."""
    rows, d = x.shape
    i, j = np.triu_indices(d)
    return np.hstack([np.ones((rows, 1)), x, x[:, i] * x[:, j]])


@dataclass(frozen=True)
class Ridge:
    """A line through the centre, and the places on it where the surface is set right.

    Attributes
    ----------
    direction : ndarray, shape (d,)
        Move of the inputs from one place to the next whole one, in coded units.
    places : ndarray, shape (k,)
        Rising, 0 among them.
    """

    direction: Array
    places: Array

    def hats(self, coded: Array) -> Array:
        """Weight of each place at rows of coded inputs, by their projection on the line, shape (rows, k)."""
        along = coded @ self.direction / (self.direction @ self.direction)
        at = np.clip(along, self.places[0], self.places[-1])
        upper = np.clip(np.searchsorted(self.places, at), 1, self.places.size - 1)
        part = (at - self.places[upper - 1]) / (self.places[upper] - self.places[upper - 1])
        made = np.zeros((at.size, self.places.size))
        row = np.arange(at.size)
        made[row, upper - 1], made[row, upper] = 1.0 - part, part
        return made


@dataclass(frozen=True)
class Surface:
    """Quadratic surface of several outputs over d inputs in coded units.

    Attributes
    ----------
    coefficients : ndarray, shape (terms, outputs)
        Of the quadratic's terms, then of the ridge's places.
    centre, scale : ndarray, shape (d,)
        Coded = (x - centre) / scale.
    error : ndarray, shape (outputs,)
        Root mean square of the surface minus the runs, on the design.
    ridge : Ridge or None
    """

    coefficients: Array
    centre: Array
    scale: Array
    error: Array
    ridge: Ridge | None = None

    def at(self, x: Array, columns: Array | slice = slice(None)) -> Array:
        """Outputs at rows of `x`, shape (rows, d) -> (rows, outputs)."""
        return np.asarray(self.terms(x) @ self.coefficients[:, columns])

    def terms(self, x: Array) -> Array:
        """Terms at rows of `x`, to be multiplied by any columns of the coefficients."""
        coded = (x - self.centre) / self.scale
        if self.ridge is None:
            return _terms(coded)
        return np.hstack([_terms(coded), self.ridge.hats(coded)])

    def set_right(self, ridge: Ridge, x: Array, outputs: Array) -> Surface:
        """The surface that meets `outputs` (k, m) at inputs `x` (k, d), a row for each place of the ridge."""
        missing = outputs - self.at(x)
        return replace(self, coefficients=np.vstack([self.coefficients, missing]), ridge=ridge)


@lru_cache(maxsize=8)
def _design_terms(d: int) -> tuple[Array, Array]:
    """Terms of the design without the constant, and the least-squares inverse of all but its centre."""
    terms = _terms(composite_design(d))[:, 1:]
    return terms, np.asarray(np.linalg.pinv(terms[1:]), dtype=np.float64)


def fit(outputs: Array, centre: Array, scale: Array) -> Surface:
    """Fit the surface to `outputs` (runs, m) at the composite design's runs, centre + scale * coded.

    The centre run is met exactly, so that the nominal engine's figures are the solver's own;
    the other terms are least squares.
    """
    terms, inverse = _design_terms(centre.size)
    at_centre = outputs[:1]
    rest = inverse @ (outputs[1:] - at_centre)
    coefficients = np.vstack([at_centre, rest])
    residual = terms @ rest + at_centre - outputs
    return Surface(coefficients, centre, scale, np.sqrt(np.mean(residual**2, axis=0)))
