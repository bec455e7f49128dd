"""Wall maps: each cylinder unrolled, every reading in its place.

The colours are seventeen samples of "lapaz" (F. Crameri, Scientific colour maps,
doi 10.5281/zenodo.1243862, MIT; licence text in ../assets/lapaz-LICENSE.txt),
perceptually uniform and readable with any colour vision.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup

from ...life.verdict import WallMap
from .. import svg, words

_WIDTH, _CELL_H = 776.0, 27.0
_LAPAZ = (
    (26, 12, 100), (32, 32, 113), (36, 50, 126), (40, 66, 137), (45, 83, 147), (51, 98, 155), (61, 113, 160),
    (75, 128, 163), (92, 140, 163), (111, 150, 161), (133, 158, 156), (155, 164, 150), (179, 172, 150),
    (208, 186, 160), (234, 206, 185), (249, 225, 214), (254, 242, 243),
)  # fmt: skip


def colour(share: float) -> tuple[str, str]:
    """Fill at `share` (0 thin, 1 thick) of the scale, and the class of the ink that reads on it."""
    at = min(max(share, 0.0), 1.0) * (len(_LAPAZ) - 1)
    k = min(int(at), len(_LAPAZ) - 2)
    r, g, b = (round(a + (c - a) * (at - k)) for a, c in zip(_LAPAZ[k], _LAPAZ[k + 1], strict=True))
    linear = [(c / 255 / 12.92 if c <= 10 else ((c / 255 + 0.055) / 1.055) ** 2.4) for c in (r, g, b)]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    # The ink with the larger contrast ratio of the two; they tie at a luminance of 0.18.
    return f"#{r:02x}{g:02x}{b:02x}", "on-dark" if luminance < 0.179 else "on-light"


def _least(found: WallMap) -> tuple[float, int, int]:
    """Thinnest reading with its depth and angle index; infinite when there is none."""
    return min(
        ((v, i, k) for i, row in enumerate(found.thickness) for k, v in enumerate(row) if math.isfinite(v)),
        default=(math.inf, 0, 0),
    )


def walls(maps: Sequence[WallMap]) -> svg.Figure | None:
    """Small multiples at one colour scale; None without readings."""
    known = [m for m in maps if math.isfinite(_least(m)[0]) and m.angles and m.depths]
    if not known:
        return None
    values = [v for m in known for row in m.thickness for v in row if math.isfinite(v)]
    low, high = min(values), max(values)
    unit = words.unit_words(known[0].unit)
    digits = 3 if unit == "in" else 2 if unit == "mm" else 4
    most_angles = max(len(m.angles) for m in known)
    columns = 4 if most_angles <= 4 else 2 if most_angles <= 9 else 1
    room = _WIDTH / columns
    rows = max(len(m.depths) for m in known)
    block = rows * _CELL_H + 76
    parts = []
    for k, found in enumerate(known):
        parts.append(_map(found, (k % columns) * room, (k // columns) * block, room - 12, low, high, digits))
    height = math.ceil(len(known) / columns) * block
    parts.append(_scale(low, high, height + 8, digits, unit))
    thin, i, a = min(_least(m) for m in known)
    where = next(m for m in known if _least(m)[0] == thin)
    assumed = [m.cylinder for m in known if not m.measured]
    note = f" Assumed, not measured: cylinder {', '.join(map(str, assumed))}." if assumed else ""
    return svg.Figure(
        key="walls",
        title="Cylinder walls",
        drawing=svg.picture(
            "walls",
            _WIDTH,
            height + 52,
            "Wall thickness of each cylinder, unrolled",
            f"Thinnest {thin:.{digits}f} {unit} in cylinder {where.cylinder}, {where.depths[i]:g} {unit} "
            "below the deck at "
            f"{where.angles[a]:g} degrees; thickest {high:.{digits}f}.",
            *parts,
        ),
        caption="Each bore unrolled: angles across (0° is the major thrust side, clockwise from "
        "above), depth below the deck downwards. The frame marks the "
        "thinnest reading of each bore. Thin sides that agree from bore to bore point to a shifted "
        f"core.{note}",
        reading=f"{thin:.{digits}f} {unit}",
        reading_words=f"thinnest: cylinder {where.cylinder}, {where.depths[i]:g} {unit} below the deck at "
        f"{where.angles[a]:g}°",
    )


def _map(found: WallMap, x: float, y: float, room: float, low: float, high: float, digits: int) -> Markup:
    left = x + 36
    width = (room - 36) / len(found.angles)
    _, i_thin, k_thin = _least(found)
    state = "measured" if found.measured else "assumed"
    parts = [
        svg.text(f"cylinder {found.cylinder}", left, y + 16, "name strong"),
        svg.text(state, x + room, y + 16, "place", "end"),
    ]
    for k, angle in enumerate(found.angles):
        parts.append(svg.text(f"{angle:g}°", left + width * (k + 0.5), y + 36, "tick", "middle"))
    for i, (depth, row) in enumerate(zip(found.depths, found.thickness, strict=True)):
        top = y + 42 + i * _CELL_H
        parts.append(svg.text(_depth(depth, digits), left - 8, top + 18, "tick", "end"))
        for k, value in enumerate(row):
            paint, ink = colour((value - low) / ((high - low) or 1.0))
            known = math.isfinite(value)
            parts.append(
                svg.rect(left + k * width, top, width, _CELL_H, "cell", fill=paint if known else "none")
            )
            said = f"{value:.{digits}f}" if known else "?"
            parts.append(
                svg.text(
                    said,
                    left + (k + 0.5) * width,
                    top + 18,
                    f"cell-figure {ink}" if known else "cell-figure",
                    "middle",
                )
            )
    parts.append(
        svg.rect(left + k_thin * width - 1, y + 41 + i_thin * _CELL_H, width + 2, _CELL_H + 2, "thinnest")
    )
    return svg.group(*parts)


def _depth(depth: float, digits: int) -> str:
    """A depth below the deck, short enough for the margin: one digit less than a thickness."""
    text = f"{depth:.{digits - 1}f}"
    return text if len(text) < 5 else f"{depth:.3g}"


def _scale(low: float, high: float, y: float, digits: int, unit: str) -> Markup:
    """The colour scale with its ends."""
    steps, width = 32, 10.0
    cells = [
        svg.rect(40 + k * width, y, width + 0.5, 14, "", fill=colour(k / (steps - 1))[0])
        for k in range(steps)
    ]
    return svg.group(
        *cells,
        svg.text(f"thin {low:.{digits}f}", 40, y + 32, "tick"),
        svg.text(f"thick {high:.{digits}f} {unit}", 40 + steps * width, y + 32, "tick", "end"),
    )
