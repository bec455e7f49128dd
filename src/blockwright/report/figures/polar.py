"""Main-bearing loads as polar curves, looking at the engine from the front, cap below."""

from __future__ import annotations

import dataclasses
import math

from markupsafe import Markup

from ...life.verdict import Limit, Trace
from .. import svg, words

_CELL, _BIG, _WIDTH = 150.0, 384.0, 776.0


def _peak(trace: Trace, j: int) -> tuple[int, float]:
    """Index and size of the largest resultant of main `j`."""
    sizes = [math.hypot(v, h) for v, h in zip(trace.main_vertical[j], trace.main_lateral[j], strict=True)]
    k = max(range(len(sizes)), key=sizes.__getitem__)
    return k, sizes[k]


def polar(trace: Trace, governing: Limit, lead: int = 1) -> svg.Figure | None:
    """Every main at one scale, and the governing main larger; None without loads."""
    mains = len(trace.main_vertical)
    if mains == 0:
        return None
    # + is towards bank B, which lies right seen from the front only where `lead` is +1.
    seen = tuple(tuple(lead * h for h in row) for row in trace.main_lateral)
    trace = dataclasses.replace(trace, main_lateral=seen)
    peaks = [_peak(trace, j) for j in range(mains)]
    number = words.place_number(governing.place, "main")
    chosen = (
        number - 1
        if number is not None and 1 <= number <= mains
        else max(range(mains), key=lambda j: peaks[j][1])
    )
    scale = svg.nice_top([p for _, p in peaks], 3)
    unit = words.unit_words(trace.force_unit)
    columns = 2 if mains <= 6 else 3
    cell = _CELL if columns == 2 else 112.0
    rows = math.ceil(mains / columns)
    height = max(_BIG + 64, rows * (cell + 34) + 20)
    parts = [
        _one(
            trace, chosen, scale, _BIG / 2 + 8, _BIG / 2 + 36, _BIG / 2 - 12, peaks[chosen][0], unit, big=True
        )
    ]
    for j in range(mains):
        cx = _WIDTH - columns * (cell + 16) + (j % columns + 0.5) * (cell + 16)
        cy = 20 + (j // columns) * (cell + 34) + cell / 2 + 14
        parts.append(_one(trace, j, scale, cx, cy, cell / 2 - 6, peaks[j][0], unit, big=False))
        parts.append(
            svg.text(
                f"main {j + 1}", cx - cell / 2, cy - cell / 2 - 2, "name strong" if j == chosen else "name"
            )
        )
        parts.append(svg.text(words.number(peaks[j][1]), cx + cell / 2, cy - cell / 2 - 2, "figure", "end"))
    k, most = peaks[chosen]
    down, side = trace.main_vertical[chosen][k], trace.main_lateral[chosen][k]
    rows_table = tuple(
        (
            f"main {j + 1}",
            words.number(p),
            f"{trace.angle[i]:.0f}",
            words.number(trace.main_vertical[j][i]),
            words.number(trace.main_lateral[j][i]),
            words.number(max(trace.main_vertical[j])),
            words.number(max(abs(h) for h in trace.main_lateral[j])),
        )
        for j, (i, p) in enumerate(peaks)
    )
    return svg.Figure(
        key="polar",
        title="Loads on the mains",
        drawing=svg.picture(
            "polar",
            _WIDTH,
            height,
            "Polar diagrams of the main loads",
            f"Main {chosen + 1} at {words.number(trace.speed_rpm)} rpm: largest "
            f"{words.with_unit(most, trace.force_unit)}, "
            f"{words.number(down)} into the cap and {words.number(abs(side))} sideways.",
            *parts,
        ),
        caption="Force of the shaft on each main through two turns at "
        f"{words.number(trace.speed_rpm)} rpm, seen from the front; down is into "
        f"the cap, the outer ring is {words.tick(scale)} {unit} in all. Dots mark every 90°, larger "
        "ones 0° and 360°. What lies below the "
        "level line pulls on the bolts; what lies far to a side makes the feet slip.",
        reading=words.with_unit(most, trace.force_unit),
        reading_words=f"largest load on main {chosen + 1}, at {trace.angle[k]:.0f}° of the shaft",
        table=svg.Table(
            (
                "main",
                f"largest, {unit}",
                "at, °",
                "into cap then",
                "sideways then",
                "largest into cap",
                "largest sideways",
            ),
            rows_table,
        ),
    )


def _one(
    trace: Trace, j: int, scale: float, cx: float, cy: float, radius: float, k: int, unit: str, *, big: bool
) -> Markup:
    """One main's curve about (cx, cy)."""
    per = radius / scale

    def at(i: int) -> tuple[float, float]:
        return cx + trace.main_lateral[j][i] * per, cy + trace.main_vertical[j][i] * per

    steps = range(0, len(trace.angle), 2 if big else 4)
    parts = [
        svg.line(cx - radius, cy, cx + radius, cy, "axis"),
        svg.line(cx, cy - radius, cx, cy + radius, "grid"),
    ]
    for t in svg.nice_ticks(0, scale, 3)[1:]:
        parts.append(svg.circle(cx, cy, t * per, "ring"))
        if big:
            parts.append(
                svg.text(
                    f"{words.tick(t)} {unit}" if t == scale else words.tick(t),
                    cx + t * per * 0.7071 + 3,
                    cy - t * per * 0.7071 - 3,
                    "tick",
                )
            )
    parts.append(svg.path([at(i) for i in steps], "curve s1" if big else "curve s1 thin", closed=True))
    for i in range(0, len(trace.angle), 90):
        parts.append(
            svg.circle(
                *at(i), (4.5 if i % 360 == 0 else 3.0) if big else (2.5 if i % 360 == 0 else 0.0), "dot-ink"
            )
        )
    x, y = at(k)
    parts += [
        svg.line(cx, cy, x, y, "ray"),
        svg.path([(x - 5, y - 4), (x + 5, y - 4), (x, y + 5)], "mark breaks solid", closed=True),
    ]
    if big:
        parts += [
            svg.text(f"main {j + 1}", cx - radius, cy - radius - 8, "name strong"),
            svg.text("towards the block", cx, cy - radius - 8, "label", "middle"),
            svg.text("into the cap", cx, cy + radius + 20, "label", "middle"),
        ]
    return svg.group(*parts)
