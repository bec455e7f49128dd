"""The illustrated report: one HTML file that needs nothing else."""

from __future__ import annotations

from collections.abc import Mapping

from ..life.verdict import Evidence, Trace, Verdict
from . import svg, words
from .curve_units import CurveUnits
from .duty import table as duty_table
from .figures.ceiling import ceiling
from .figures.changes import changes
from .figures.changes import table as changes_table
from .figures.curve import curve
from .figures.endview import end_view
from .figures.ladder import ladder
from .figures.pipes import pipes
from .figures.polar import polar
from .figures.pressure import indicator, pressure
from .figures.sideview import side_view
from .figures.split import split
from .figures.walls import walls
from .html import fill


def render(verdict: Verdict, evidence: Evidence) -> str:
    """The whole page as text.

    Parameters
    ----------
    verdict : Verdict
        What is told; its units are shown as they are.
    evidence : Evidence
        What is drawn.  A picture whose data are missing is left out.

    Returns
    -------
    str
        HTML5 with style, script, face and pictures inside; no address outside it is used.
    """
    return fill(
        "page.html.j2",
        v=verdict,
        figures=_figures(verdict, evidence),
        changes_table=changes_table(verdict.reinforcements),
        duty_table=duty_table(verdict.points),
    )


def _figures(verdict: Verdict, evidence: Evidence) -> Mapping[str, svg.Figure]:
    """Every picture that can be drawn, by key."""
    drawing, accepted = evidence.drawing, verdict.accepted
    found: list[svg.Figure | None] = [
        ceiling(verdict),
        ladder(verdict.limits, accepted) if verdict.limits else None,
        changes(verdict.ceiling.power, verdict.reinforcements),
        split(verdict.governing) or _other_split(verdict),
        curve(evidence.curve, verdict.points),
        end_view(drawing, verdict.limits, evidence.walls, accepted),
        side_view(drawing, verdict.limits, evidence.walls, accepted),
        walls(evidence.walls),
    ]
    if (drawn := evidence.pipework) is not None:
        found.append(pipes(drawn.network, CurveUnits(drawn.units), drawn.cylinder))
    if evidence.traces:
        hardest = max(evidence.traces, key=lambda t: max(t.pressure, default=0.0))
        found += [pressure(hardest), indicator(hardest)] if hardest.pressure else []
        found.append(polar(max(evidence.traces, key=_largest_load), verdict.governing, drawing.lead))
    return {figure.key: figure for figure in found if figure is not None}


def _other_split(verdict: Verdict) -> svg.Figure | None:
    """Split of the worst limit that has one, where the governing limit has none."""
    ranked = sorted(verdict.limits, key=words.severity)
    return next((made for made in map(split, ranked) if made is not None), None)


def _largest_load(trace: Trace) -> float:
    """Square of the largest main load of a trace."""
    return max(
        (
            v * v + h * h
            for down, side in zip(trace.main_vertical, trace.main_lateral, strict=True)
            for v, h in zip(down, side, strict=True)
        ),
        default=0.0,
    )
