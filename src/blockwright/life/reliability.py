"""FORM on one limit at the wanted power: its reliability index and what drives it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..trace import Array
from . import evaluate
from .draw import Coordinates, Draw
from .form import DesignPoint, design_point
from .leaves import SampleLeaves
from .operate import closed_at
from .study import Study

#: Quantities whose share at the origin is below this stay at their best estimates.
_SMALLEST_SHARE = 1e-4


@dataclass(frozen=True)
class Failure:
    """The most likely way in which one limit fails at the wanted power.

    Attributes
    ----------
    point : DesignPoint
    names : tuple of str
        Its coordinates, quantities of the draw.
    surface_error : float
        Pressure surface over the gas model's closed cycle, run again at the design point, less 1: the
        largest over the duty's points, of the peak [-].
    """

    point: DesignPoint
    names: tuple[str, ...]
    surface_error: float


def likely_failure(study: Study, limit: evaluate.Evaluated, draw: Draw) -> Failure | None:
    """Design point of one limit, with the gas model run again there.

    The limit state is the log of the margin.  One gradient over every quantity that the
    samples used finds those that matter; the search then runs in these alone.

    Returns
    -------
    Failure or None
        None when the search did not settle.
    """
    level = study.levels[study.wanted]

    def log_margin(at: Draw) -> Array:
        ctx = SampleLeaves(study.build, at, study.kernels(level, at))
        return np.asarray(np.log(evaluate.evaluate_one(ctx, study.build, at.rows, limit).margin))

    names = tuple(draw.used)
    d = len(names)
    step = 0.05
    everywhere = Coordinates(names, log_margin)
    values = everywhere(step * np.vstack([np.eye(d), -np.eye(d)]))
    gradient = (values[:d] - values[d:]) / (2.0 * step)
    total = float(gradient @ gradient)
    if total == 0.0:
        return None
    kept = tuple(name for name, g in zip(names, gradient, strict=True) if g * g > _SMALLEST_SHARE * total)
    found = design_point(Coordinates(kept, log_margin), len(kept), step=step, tolerance=1e-3, max_steps=25)
    if found is None:
        return None
    there = Draw(0, 0, {name: np.array([u]) for name, u in zip(kept, found.u, strict=True)})
    return Failure(found, kept, _surface_error(study, there))


def _surface_error(study: Study, there: Draw) -> float:
    """Largest relative error of the surfaces' peak against the closed cycle itself at one draw."""
    errors = []
    for operation in study.levels[study.wanted].operations:
        pressure = closed_at(operation.cycle, operation.inputs(there))
        errors.append(float(operation.at(there).peak[0] / np.nanmax(pressure[0]) - 1.0))
    return max(errors, key=abs)
