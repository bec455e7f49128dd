"""FORM on one limit at the wanted power: its reliability index and what drives it."""

from __future__ import annotations

import numpy as np

from ..trace import Array
from . import evaluate
from .draw import Coordinates, Draw
from .form import DesignPoint, design_point
from .leaves import SampleLeaves
from .study import Study

#: Quantities whose share at the origin is below this stay at their best estimates.
_SMALLEST_SHARE = 1e-4


def limit_design_point(
    study: Study, limit: evaluate.Evaluated, draw: Draw
) -> tuple[DesignPoint, tuple[str, ...]] | None:
    """Design point of one limit, and the names of its coordinates.

    The limit state is the log of the margin.  One gradient over every quantity that the
    samples used finds those that matter; the search then runs in these alone.

    Returns
    -------
    (DesignPoint, names) or None
        None when the search did not settle.
    """
    level = study.levels[study.wanted]

    def log_margin(at: Draw) -> Array:
        ctx = SampleLeaves(study.build, at, study.kernels(level, at))
        return np.asarray(np.log(evaluate.evaluate_one(ctx, study.build, at.rows, limit.identity).margin))

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
    return None if found is None else (found, kept)
