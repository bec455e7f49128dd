"""The illustrated report: one HTML file that needs nothing else."""

from __future__ import annotations

import base64
import functools
import hashlib
import os
import tempfile
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup

from ..errors import Fault, InputError
from ..life.verdict import Evidence, Trace, Verdict
from . import svg, words
from .figures.ceiling import ceiling
from .figures.changes import changes
from .figures.changes import table as changes_table
from .figures.curve import curve
from .figures.endview import end_view
from .figures.ladder import ladder
from .figures.polar import polar
from .figures.pressure import indicator, pressure
from .figures.sideview import side_view
from .figures.split import split
from .figures.walls import walls

if TYPE_CHECKING:
    from jinja2 import Environment

_HERE = "blockwright.report"


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
    style, script = _read("templates/style.css"), _read("templates/script.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        _environment()
        .get_template("page.html.j2")
        .render(
            v=verdict,
            figures=_figures(verdict, evidence),
            all_limits=sorted(verdict.limits, key=words.is_guide),
            changes_table=changes_table(verdict.reinforcements),
            without_ceiling=[o for o in verdict.reinforcements if o.ceiling is None],
            style=Markup(style.replace("@FACE@", _face())),
            script=Markup(script),
            script_hash=digest,
            w=words,
        )
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


def _read(name: str) -> str:
    return resources.files(_HERE).joinpath(name).read_text(encoding="utf-8")


@functools.cache
def _face() -> str:
    """The page's typeface as a data address."""
    data = resources.files(_HERE).joinpath("assets/archivo-latin-wdth-normal.woff2").read_bytes()
    return "data:font/woff2;base64," + base64.b64encode(data).decode()


@functools.cache
def _environment() -> Environment:
    """Jinja with escaping on, undefined names refused, and unprintable characters taken out."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(
        loader=FunctionLoader(lambda name: _read(f"templates/{name}")),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda x: words.clean(x) if isinstance(x, str) and not isinstance(x, Markup) else x,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def write(path: str | os.PathLike[str], html: str) -> None:
    """Write the page whole or not at all.

    Raises
    ------
    InputError
        The folder does not exist or cannot be written; nothing is left behind.
    """
    target = Path(path)
    folder = target.parent
    if not folder.is_dir():
        raise InputError(
            Fault("--report", str(target), f"the folder {folder} does not exist; make it or name another")
        )
    if target.is_dir():
        raise InputError(
            Fault("--report", str(target), "this is a folder; name a file, for instance report.html")
        )
    temporary = ""
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=folder, prefix=".report-", suffix=".part", delete=False
        ) as part:
            temporary = part.name
            part.write(html)
        # A temporary file is private to its maker; a report has the rights of any new file.
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
        os.replace(temporary, target)
    except OSError as wrong:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        why = wrong.strerror or str(wrong)
        raise InputError(
            Fault("--report", str(target), f"it could not be written ({why}); name another place")
        ) from wrong
