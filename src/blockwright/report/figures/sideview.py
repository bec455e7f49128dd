"""The engine from the side, to scale: one section a bank through its bores, crank and caps below."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from markupsafe import Markup

from ...life.verdict import Drawing, Limit, WallMap
from .. import svg, words
from .engine import (
    Dimensions,
    edge,
    fill,
    legend,
    scale_bar,
    told,
    wall_thickness,
    worst_cap,
    worst_wall,
    worst_web,
)

_WIDTH = 776.0


def main_positions(drawing: Drawing) -> tuple[float, ...]:
    """Where the mains stand along the crank [m], from the cylinders' places.

    Throws are put at the middle of the cylinders that share one; mains stand
    half-way between throws, the outer ones as far out as the next is in.
    """
    order = sorted(drawing.cylinder_position)
    throws = max(len(drawing.throw_angles), 1)
    if len(order) % throws or len(order) < throws:
        throws = len(order)
    share = len(order) // throws
    centres = [sum(order[k * share : (k + 1) * share]) / share for k in range(throws)]
    pitch = (
        (centres[-1] - centres[0]) / (throws - 1)
        if throws > 1
        else drawing.dimensions.get("bore_spacing", 0.1)
    )
    edges = [centres[0] - pitch / 2]
    edges += [(a + b) / 2 for a, b in itertools.pairwise(centres)]
    edges.append(centres[-1] + pitch / 2)
    if drawing.mains == len(edges):
        return tuple(edges)
    if drawing.mains < 2:
        return (sum(edges) / len(edges),)
    step = (edges[-1] - edges[0]) / (drawing.mains - 1)
    return tuple(edges[0] + k * step for k in range(drawing.mains))


def side_view(
    drawing: Drawing, limits: Sequence[Limit], walls: Sequence[WallMap], accepted: float
) -> svg.Figure | None:
    """Sections with fills by margin; None when bore, deck height or cylinder places are not known."""
    d = Dimensions(drawing)
    if not (d.has_bores and drawing.cylinder_position):
        return None
    mains = main_positions(drawing)
    half = d.get("bore") / 2
    margin = max(d.get("cap_length"), d.get("web_thickness"), 0.02)
    low = min(*drawing.cylinder_position, mains[0]) - max(half * 0.2, margin)
    high = max(*drawing.cylinder_position, mains[-1]) + max(half * 0.2, margin)
    low, high = (
        min(low, min(drawing.cylinder_position) - half * 1.25),
        max(high, max(drawing.cylinder_position) + half * 1.25),
    )
    scale = min((_WIDTH - 32) / (high - low), 1250.0)
    left = (_WIDTH - (high - low) * scale) / 2

    def x(position: float) -> float:
        return left + (position - low) * scale

    parts: list[Markup] = [svg.hatches("sideview")]
    banks = sorted(set(drawing.banks)) or [0]
    y = 30.0
    described: list[str] = []
    for bank in reversed(banks):
        lowest = bank == banks[0]
        y += 40
        deck = y
        crank = deck + d.get("deck_height") * scale
        if len(banks) > 1:
            parts.append(
                svg.text(f"bank {'ABCDEFGH'[bank % 8]}, section through its bores", 0, deck - 40, "label")
            )
        else:
            parts.append(svg.text("section through the bores", 0, deck - 40, "label"))
        foot = deck + d.bore_length * scale
        if lowest:
            parts += _crank(d, drawing, mains, x, crank, scale)
            for j, at in enumerate(mains, start=1):
                parts += _main(d, j, x(at), foot, crank, scale, limits, accepted)
                described.append(f"main {j} cap {told(worst_cap(limits, j), accepted)}")
        for c, (b, position) in enumerate(
            zip(drawing.banks, drawing.cylinder_position, strict=True), start=1
        ):
            if b == bank:
                wall = wall_thickness(walls, c, d.get("bore"))
                parts += _cylinder(d, c, x(position), deck, scale, wall, worst_wall(limits, c), accepted)
        y = crank + (_below(d) * scale + 66 if lowest else -(crank - foot) + 28)
    height = y + 72
    parts += [legend("sideview", 0, height - 14), scale_bar(_WIDTH - 130 - 0.1 * scale, height - 14, scale)]
    caps = [(j, worst_cap(limits, j)) for j in range(1, drawing.mains + 1)]
    named = [f"{j}" for j, cap in caps if cap is not None and words.state(cap, accepted).word == "breaks"]
    return svg.Figure(
        key="sideview",
        title="Side view",
        drawing=svg.picture(
            "sideview", _WIDTH, height, "Side view to scale", "; ".join(described) + ".", *parts
        ),
        caption="Front at the left, to scale along the crank and up the bores. The number on each "
        "wall, web and cap is the margin of its likeliest limit; "
        "fill and outline give the state. Look whether trouble gathers at certain mains, and "
        "whether the web above stands better than its cap.",
        reading=("main " if len(named) == 1 else "mains ") + ", ".join(named) if named else "none",
        reading_words="its cap breaks"
        if len(named) == 1
        else "their caps break"
        if named
        else "of the caps breaks",
        table=svg.Table(
            ("place", "margin", "state", "likeliest limit"),
            tuple(
                (
                    place,
                    words.ratio(found.margin.value),
                    words.state(found, accepted).word,
                    words.one_line(found.name),
                )
                for place, found in (
                    [(f"main {j}, cap", worst_cap(limits, j)) for j in range(1, drawing.mains + 1)]
                    + [(f"main {j}, web", worst_web(limits, j)) for j in range(1, drawing.mains + 1)]
                    + [
                        (f"cylinder {c}, wall", worst_wall(limits, c))
                        for c in range(1, drawing.cylinders + 1)
                    ]
                )
                if found is not None
            ),
        ),
    )


def _below(d: Dimensions) -> float:
    """From the crank's centre to the lowest thing drawn: cap or pin at the bottom [m]."""
    return max(d.cap_depth, d.get("stroke") / 2 + d.get("pin_journal") / 2)


def _cylinder(
    d: Dimensions,
    number: int,
    x: float,
    deck: float,
    scale: float,
    wall: float,
    worst: Limit | None,
    accepted: float,
) -> list[Markup]:
    half, depth, thick = d.get("bore") / 2 * scale, d.bore_length * scale, max(wall * scale, 3.0)
    css, pattern = edge(worst, accepted), fill("sideview", worst, accepted)
    out = [svg.rect(x - half, deck, 2 * half, depth, "bore")]
    out += [svg.rect(x + side * half, deck, side * thick, depth, css, fill=pattern) for side in (-1, 1)]
    if top := d.get("deck_thickness") * scale:
        out.append(svg.rect(x - half - thick, deck, thick, top, "part deck"))
        out.append(svg.rect(x + half, deck, thick, top, "part deck"))
    out.append(svg.path([(x, deck - 6), (x, deck + depth)], "centre"))
    out.append(svg.text(f"cylinder {number}" if half > 40 else str(number), x, deck - 12, "place", "middle"))
    if worst:
        state = words.state(worst, accepted)
        out.append(
            svg.text(words.ratio(worst.margin.value), x, deck + depth * 0.42, "figure plate", "middle")
        )
        out.append(svg.text(state.word, x, deck + depth * 0.42 + 18, "place plate", "middle"))
    return out


def _main(
    d: Dimensions,
    j: int,
    x: float,
    foot: float,
    crank: float,
    scale: float,
    limits: Sequence[Limit],
    accepted: float,
) -> list[Markup]:
    out: list[Markup] = []
    web, cap = worst_web(limits, j), worst_cap(limits, j)
    bore = d.get("main_bore") / 2 * scale
    if width := d.get("web_thickness") * scale:
        top = foot + 6
        out.append(
            svg.rect(
                x - width / 2,
                top,
                width,
                crank - bore - top,
                edge(web, accepted),
                fill=fill("sideview", web, accepted),
            )
        )
        if web and crank - bore - top > 16:
            out.append(
                svg.text(
                    words.ratio(web.margin.value), x, (top + crank - bore) / 2 + 6, "figure plate", "middle"
                )
            )
    if (length := d.get("cap_length") * scale) and d.cap_depth:
        depth = d.cap_depth * scale
        out.append(
            svg.rect(
                x - length / 2,
                crank + bore,
                length,
                depth - bore,
                edge(cap, accepted),
                fill=fill("sideview", cap, accepted),
            )
        )
        depth = _below(d) * scale
        out.append(svg.text(f"main {j}", x, crank + depth + 18, "place", "middle"))
        if cap:
            out.append(svg.text(words.ratio(cap.margin.value), x, crank + depth + 37, "figure", "middle"))
            out.append(svg.text(words.state(cap, accepted).word, x, crank + depth + 54, "place", "middle"))
    return out


def _crank(
    d: Dimensions, drawing: Drawing, mains: Sequence[float], x: object, crank: float, scale: float
) -> list[Markup]:
    """Journals, pins and cheeks of the shaft, each throw at its own angle."""
    assert callable(x)
    out: list[Markup] = []
    journal, pin, r = d.get("main_journal") * scale, d.get("pin_journal") * scale, d.get("stroke") / 2 * scale
    if not (journal and pin and r) or len(mains) != len(drawing.throw_angles) + 1:
        return [svg.path([(x(mains[0]) - 20, crank), (x(mains[-1]) + 20, crank)], "centre")]
    half = max(d.get("web_thickness"), d.get("cap_length")) * scale / 2
    # Throws are given from upright; this section is seen in the plane of bank A.
    half_bank = 90.0 if drawing.kind == "flat" else d.get("bank_angle_deg") / 2
    for k, angle in enumerate(drawing.throw_angles):
        a, b = x(mains[k]) + half, x(mains[k + 1]) - half
        cheek = 0.2 * (b - a)
        rise = r * math.cos(math.radians(angle + half_bank))
        y1, y2 = (
            min(crank - journal / 2, crank - rise - pin / 2),
            max(crank + journal / 2, crank - rise + pin / 2),
        )
        out.append(svg.rect(a + cheek, crank - rise - pin / 2, b - a - 2 * cheek, pin, "pin"))
        out += [svg.rect(left, y1, cheek, y2 - y1, "rod") for left in (a, b - cheek)]
    out += [svg.rect(x(m) - half, crank - journal / 2, 2 * half, journal, "pin") for m in mains]
    out.append(svg.path([(x(mains[0]) - half - 8, crank), (x(mains[-1]) + half + 8, crank)], "centre"))
    return out
