"""What the end and the side view share: dimensions, margins by place, fills, the key and the scale bar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from ...life.verdict import Drawing, Limit, WallMap
from .. import svg, words

_METRES = {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "in": 0.0254, "inch": 0.0254, "thou": 2.54e-5}


@dataclass(frozen=True)
class Dimensions:
    """Dimensions of the drawing with what is missing left out, never invented.

    `get` gives 0 for a missing or unusable one; callers draw only what is above 0.
    """

    drawing: Drawing

    def get(self, name: str) -> float:
        """Dimension in metres, 0 where it is not known."""
        value = self.drawing.dimensions.get(name, 0.0)
        return value if math.isfinite(value) and value > 0 else 0.0

    @property
    def has_bores(self) -> bool:
        """Whether there is enough to draw a cylinder."""
        return bool(self.get("bore") and self.get("deck_height"))

    @property
    def cap_half_width(self) -> float:
        """Half the width of a two-bolt cap: main bore and one foot, or the bolts and their seats."""
        if self.get("main_bore") and self.get("cap_foot_width"):
            return self.get("main_bore") / 2 + self.get("cap_foot_width")
        return self.get("cap_span") / 2 + self.get("bolt_diameter")

    @property
    def cap_depth(self) -> float:
        """From the split line to the bottom of the cap."""
        return self.get("main_bore") / 2 + self.get("cap_crown")

    @property
    def bore_length(self) -> float:
        """Length of the bore below the deck; two thirds of the deck height where not given."""
        return self.get("bore_length") or 0.62 * self.get("deck_height")


def bank_tilts(drawing: Drawing) -> tuple[float, ...]:
    """Angle of banks A and B from upright [rad], clockwise seen from the front.

    Bank A lies left where `lead` is +1 and right where it is -1.
    """
    if drawing.kind == "flat":
        half = math.pi / 2
    else:
        half = math.radians(drawing.dimensions.get("bank_angle_deg", 0.0)) / 2
    tilted = drawing.kind.upper() == "V" or drawing.kind == "flat"
    return (-half * drawing.lead, half * drawing.lead) if tilted and half > 0 else (0.0,)


def wall_thickness(walls: Sequence[WallMap], cylinder: int, bore: float) -> float:
    """Mean wall of one cylinder [m] from its map, 6 % of the bore where there is none."""
    for found in walls:
        values = [v for row in found.thickness for v in row if math.isfinite(v)]
        if found.cylinder == cylinder and values and found.unit in _METRES:
            return sum(values) / len(values) * _METRES[found.unit]
    return 0.06 * bore


def worst_cap(limits: Sequence[Limit], main: int) -> Limit | None:
    """The cap of one main at its worst."""
    return words.worst_at(limits, "main", main, "cap ", " cap", "cap,")


def worst_web(limits: Sequence[Limit], main: int) -> Limit | None:
    """The iron above one main at its worst."""
    return words.worst_at(limits, "main", main, "web", "saddle", "bulkhead", "bolt hole")


def worst_wall(limits: Sequence[Limit], cylinder: int) -> Limit | None:
    """The wall of one cylinder at its worst."""
    return words.worst_at(limits, "cylinder", cylinder, "wall")


def fill(key: str, limit: Limit | None, accepted: float) -> str:
    """Pattern that shows how a place stands."""
    return f"url(#{key}-{words.state(limit, accepted).css if limit else 'plain'})"


def edge(limit: Limit | None, accepted: float) -> str:
    """Class of the outline that goes with `fill`."""
    return f"part {words.state(limit, accepted).css}" if limit else "part"


def legend(key: str, x: float, y: float) -> Markup:
    """The three fills, in words."""
    parts: list[Markup] = []
    for k, (css, name) in enumerate(
        (("breaks", "breaks"), ("doubtful", "doubtful"), ("lives", "lives"), ("plain", "not judged"))
    ):
        at = x + 104 * k
        parts.append(svg.rect(at, y - 12, 24, 14, f"part {css}", fill=f"url(#{key}-{css})"))
        parts.append(svg.text(name, at + 32, y, "place"))
    return svg.group(*parts)


def scale_bar(x: float, y: float, per_metre: float) -> Markup:
    """Graduated bar of 100 mm or 4 in, whichever is wanted: both are marked."""
    length = 0.1 * per_metre
    ticks = [
        svg.line(x + length * k / 10, y, x + length * k / 10, y - (8 if k % 5 == 0 else 5), "axis")
        for k in range(11)
    ]
    return svg.group(
        svg.line(x, y, x + length, y, "axis"),
        *ticks,
        svg.text("100 mm (3.94 in)", x + length + 10, y, "place"),
    )


def told(limit: Limit | None, accepted: float) -> str:
    """Margin and state in words."""
    return f"{words.ratio(limit.margin.value)} {words.state(limit, accepted).word}" if limit else "not judged"
