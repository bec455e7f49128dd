"""The power curve as an illustrated page: one HTML file that needs nothing else."""

from __future__ import annotations

from collections.abc import Mapping

from ..life.pipework import Pipework
from . import svg
from .curve_record import Curve
from .curve_text import doubt_words
from .curve_units import CurveUnits
from .figures.breathing_curve import filling, hardship, pressures, supply
from .figures.pipes import pipes
from .figures.power import power
from .html import fill


def render(curve: Curve, drawn: Pipework | None = None) -> str:
    """The whole page as text.

    Parameters
    ----------
    curve : Curve
    drawn : Pipework or None
        The pipes to draw; None for an engine told without them.

    Returns
    -------
    str
        HTML5 with style, script, face and pictures inside; no address outside it is used.
    """
    return fill(
        "curve.html.j2",
        c=curve,
        figures=figures(curve, drawn),
        top=max(curve.points, key=lambda p: p.power.value),
        doubt_words=doubt_words,
    )


def figures(curve: Curve, drawn: Pipework | None = None) -> Mapping[str, svg.Figure]:
    """Every picture that can be drawn, by key."""
    found = [
        power(curve), filling(curve), hardship(curve), pressures(curve), supply(curve),
        None if drawn is None else pipes(drawn.network, CurveUnits(drawn.units), drawn.cylinder),
    ]  # fmt: skip
    return {figure.key: figure for figure in found if figure is not None}
