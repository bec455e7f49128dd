"""The power curve as an illustrated page: one HTML file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from ..build.model import Build
from ..gas.curve import Curve as Found
from ..gas.network import Network
from ..life.shop_units import shop_units
from . import svg, words
from .curve_record import Curve
from .curve_text import corrected_words, doubt_words
from .curve_units import CurveUnits
from .figures.breathing_curve import filling, hardship, pressures, supply
from .figures.pipes import Cylinder, pipes
from .figures.power import power
from .page import _environment, _face, _read


@dataclass(frozen=True)
class Pipework:
    """What the drawing of the pipes needs: the network, what stands in its middle, and the shop's units."""

    network: Network
    cylinder: Cylinder
    units: CurveUnits


def pipework(build: Build, found: Found) -> Pipework | None:
    """The pipes behind a curve; None where it was run without a network."""
    breathing = found.points[0].ran.breathing
    network = breathing.network
    if network is None:
        return None

    def across(area: float) -> float:
        return 2.0 * math.sqrt(area / math.pi)

    return Pipework(
        network,
        Cylinder(
            breathing.bore,
            across(float(breathing.intake_area.max())),
            across(float(breathing.exhaust_area.max())),
        ),
        CurveUnits(shop_units(build)),
    )


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
    style, script = _read("templates/style.css"), _read("templates/script.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        _environment()
        .get_template("curve.html.j2")
        .render(
            c=curve,
            figures=figures(curve, drawn),
            top=max(curve.points, key=lambda p: p.power.value),
            corrected_words=corrected_words,
            doubt_words=doubt_words,
            style=Markup(style.replace("@FACE@", _face())),
            script=Markup(script),
            script_hash=digest,
            w=words,
        )
    )


def figures(curve: Curve, drawn: Pipework | None = None) -> Mapping[str, svg.Figure]:
    """Every picture that can be drawn, by key."""
    found = [
        power(curve), filling(curve), hardship(curve), pressures(curve), supply(curve),
        None if drawn is None else pipes(drawn.network, drawn.units, drawn.cylinder),
    ]  # fmt: skip
    return {figure.key: figure for figure in found if figure is not None}
