"""The engine from the front, to scale: one cylinder of each bank, the crank, the worst main's cap."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from markupsafe import Markup

from ...life.verdict import Drawing, Limit, WallMap
from .. import svg, words
from .engine import (
    Dimensions,
    bank_tilts,
    edge,
    fill,
    legend,
    scale_bar,
    told,
    wall_thickness,
    worst_cap,
    worst_wall,
)

_WIDTH, _ROOM, _PAST_TDC = 560.0, 384.0, 40.0
Place = Callable[[float, float], tuple[float, float]]


def end_view(
    drawing: Drawing, limits: Sequence[Limit], walls: Sequence[WallMap], accepted: float
) -> svg.Figure | None:
    """End view with fills by margin; None when the bore or the deck height is not known."""
    d = Dimensions(drawing)
    if not d.has_bores:
        return None
    tilts = bank_tilts(drawing)
    main, cap = _worst_main(drawing, limits)
    reach = d.get("deck_height") + 0.02
    across = d.get("bore") * 0.72
    xs = [0.09, -0.09] + [
        reach * math.sin(t) + s * across * math.cos(t) for t in sorted(tilts) for s in (-1, 1)
    ]
    ys = [reach * math.cos(t) - s * across * math.sin(t) for t in sorted(tilts) for s in (-1, 1)]
    low = min(-d.cap_depth, -d.get("stroke") / 2 - 0.035, *ys) - 0.004
    high = max(0.06, d.get("cam_height") + d.get("cam_bore") / 2, *ys)
    scale = min((_WIDTH - 112) / (2 * max(xs)), _ROOM / (high - low))
    height = (high - low) * scale + 160
    cx, cy = _WIDTH / 2, 58 + high * scale

    def place(x: float, y: float) -> tuple[float, float]:
        return cx + x * scale, cy - y * scale

    parts = [svg.hatches("endview"), _bulkhead(d, tilts, place)]
    judged: list[tuple[str, Limit | None]] = []
    for bank, tilt in enumerate(tilts):
        cylinders = [c + 1 for c, b in enumerate(drawing.banks) if b == bank] or [1]
        worst = min(
            (w for w in (worst_wall(limits, c) for c in cylinders) if w is not None),
            key=words.severity,
            default=None,
        )
        parts += _bank(
            d, tilt, _pin_angle(drawing, tilts, bank), place, scale, worst, walls, cylinders[0], accepted
        )
        judged.append((f"bank {'AB'[bank]}, worst wall" if len(tilts) > 1 else "worst wall", worst))
    parts += _shaft(d, drawing, tilts, place, scale)
    if d.cap_depth and d.cap_half_width:
        parts += _cap(d, main in drawing.four_bolt_mains, place, scale, cap, accepted)
        judged.append((f"cap of main {main}", cap))
    parts += _labels(d, judged, tilts, place, low, accepted)
    parts += [legend("endview", 24, height - 14), scale_bar(24, height - 44, scale)]
    return svg.Figure(
        key="endview",
        title="End view",
        drawing=svg.picture(
            "endview",
            _WIDTH,
            height,
            "End view to scale",
            "; ".join(f"{name} {told(found, accepted)}" for name, found in judged) + ".",
            *parts,
        ),
        caption=f"From the front, to scale from the dimensions of the build, {_PAST_TDC:.0f}° after "
        f"dead centre; the cap is that of main {main}, "
        "the worst. Fill, outline and word say how cap and walls stand. Thin dashed lines join parts "
        "whose outline is not known; rod and "
        "cap corners are schematic.",
        reading=words.ratio(cap.margin.value) if cap else "",
        reading_words=f"margin of the cap of main {main}" if cap else "",
    )


def _bulkhead(d: Dimensions, tilts: tuple[float, ...], place: Place) -> Markup:
    """Iron between the bores and the split line; its true outline is not known."""
    rail = max(d.cap_half_width * 1.2, d.get("outer_span") / 2 + 0.012)
    half, foot = d.get("bore") / 2 * 1.12, d.get("deck_height") - d.bore_length
    feet = [
        (u * math.cos(t) + foot * math.sin(t), foot * math.cos(t) - u * math.sin(t))
        for t in sorted(tilts)
        for u in (-half, half)
    ]
    if abs(tilts[0]) > 1.0:  # flat: the feet of both banks stand upright, one each side
        return svg.path([place(x, y) for x, y in feet], "guess iron", closed=True)
    return svg.path([place(x, y) for x, y in [(-rail, 0.0), *feet, (rail, 0.0)]], "guess iron", closed=True)


def _worst_main(drawing: Drawing, limits: Sequence[Limit]) -> tuple[int, Limit | None]:
    found = [(j, worst_cap(limits, j)) for j in range(1, drawing.mains + 1)]
    judged = [(j, cap) for j, cap in found if cap is not None]
    return min(judged, key=lambda pair: words.severity(pair[1])) if judged else (1, None)


def _pin_angle(drawing: Drawing, tilts: tuple[float, ...], bank: int) -> float:
    """Angle of the pin that works this bank, clockwise from upright [rad]."""
    first = tilts[0] + math.radians(_PAST_TDC)
    own_throws = len(drawing.throw_angles) >= drawing.cylinders > 1 and len(tilts) > 1
    if bank and own_throws:
        return first + drawing.lead * math.radians(drawing.throw_angles[1] - drawing.throw_angles[0])
    return first


def _bank(
    d: Dimensions,
    tilt: float,
    pin: float,
    place: Place,
    scale: float,
    worst: Limit | None,
    walls: Sequence[WallMap],
    cylinder: int,
    accepted: float,
) -> list[Markup]:
    def at(u: float, v: float) -> tuple[float, float]:
        return place(u * math.cos(tilt) + v * math.sin(tilt), -u * math.sin(tilt) + v * math.cos(tilt))

    def box(u1: float, u2: float, v1: float, v2: float, css: str, **more: object) -> Markup:
        return svg.path([at(u1, v1), at(u2, v1), at(u2, v2), at(u1, v2)], css, closed=True, **more)

    half, deck = d.get("bore") / 2, d.get("deck_height")
    wall, foot = wall_thickness(walls, cylinder, d.get("bore")), deck - d.bore_length
    out = [svg.path([at(0, -0.02), at(0, deck + 0.012)], "centre")]
    outline = fill("endview", worst, accepted)
    for side in (-1.0, 1.0):
        out.append(box(side * half, side * (half + wall), foot, deck, edge(worst, accepted), fill=outline))
    out.append(box(-half, half, foot, deck, "bore"))
    if thick := d.get("deck_thickness"):
        for side in (-1.0, 1.0):
            out.append(
                box(
                    side * (half + wall),
                    side * half * 1.42,
                    deck - thick,
                    deck,
                    "part",
                    fill="url(#endview-plain)",
                )
            )
    out += _piston(d, at, scale, pin - tilt)
    return out


def _piston(d: Dimensions, at: Place, scale: float, alpha: float) -> list[Markup]:
    """Piston and rod, the pin `alpha` past this cylinder's dead centre."""
    r, rod, half = d.get("stroke") / 2, d.get("rod_length"), d.get("bore") / 2
    if not (r and rod and rod > r):
        return []
    wrist = r * math.cos(alpha) + math.sqrt(rod**2 - (r * math.sin(alpha)) ** 2)
    crown = wrist + (d.get("compression_height") or 0.4 * d.get("bore"))
    skirt, side = wrist - 0.28 * d.get("bore"), half * 0.985
    out = [
        svg.path(
            [at(-side, crown), at(side, crown), at(side, skirt), at(-side, skirt)], "piston", closed=True
        )
    ]
    for k in (0.06, 0.1, 0.15):
        y = crown - k * d.get("bore")
        out.append(svg.path([at(-side, y), at(side, y)], "fine"))
    pin_x, pin_y = r * math.sin(alpha), r * math.cos(alpha)
    lean = math.atan2(pin_x, wrist - pin_y)
    big, small = (d.get("pin_journal") or 0.5 * d.get("bore")) * 0.34, 0.1 * d.get("bore")
    cos, sin = math.cos(lean), math.sin(lean)
    shank = [
        (pin_x - big * cos, pin_y - big * sin),
        (-small * cos, wrist - small * sin),
        (small * cos, wrist + small * sin),
        (pin_x + big * cos, pin_y + big * sin),
    ]
    out.append(svg.path([at(u, v) for u, v in shank], "rod", closed=True))
    out.append(svg.circle(*at(0, wrist), 0.11 * d.get("bore") * scale, "pin"))
    out.append(
        svg.circle(*at(pin_x, pin_y), (d.get("pin_journal") or 0.5 * d.get("bore")) * 0.66 * scale, "rod")
    )
    return out


def _shaft(
    d: Dimensions, drawing: Drawing, tilts: tuple[float, ...], place: Place, scale: float
) -> list[Markup]:
    """Cam bore, main bore and journal, pin, and the circle the pin runs on."""
    out: list[Markup] = []
    if d.get("cam_bore") and d.get("cam_height"):
        out.append(svg.circle(*place(0, d.get("cam_height")), d.get("cam_bore") / 2 * scale, "bore"))
        out.append(svg.circle(*place(0, d.get("cam_height")), 1.5, "dot-ink"))
    if r := d.get("stroke") / 2:
        out.append(svg.circle(*place(0, 0), r * scale, "centre"))
    if journal := d.get("main_journal"):
        out.append(svg.circle(*place(0, 0), journal / 2 * scale, "pin"))
    seen = sorted({round(_pin_angle(drawing, tilts, bank), 6) for bank in range(len(tilts))})
    for angle in seen if d.get("pin_journal") and d.get("stroke") else []:
        x, y = d.get("stroke") / 2 * math.sin(angle), d.get("stroke") / 2 * math.cos(angle)
        out.append(svg.circle(*place(x, y), d.get("pin_journal") / 2 * scale, "pin"))
    out.append(svg.circle(*place(0, 0), 2, "dot-ink"))
    return out


def _cap(
    d: Dimensions, four: bool, place: Place, scale: float, cap: Limit | None, accepted: float
) -> list[Markup]:
    """The main cap below the split line, with its bolts."""
    outer = d.get("outer_span")
    w = max(d.cap_half_width, outer / 2 + d.get("bolt_diameter") if four else 0.0)
    h, r = d.cap_depth, d.get("main_bore") / 2
    points = [(-w, 0.0), (-w, -0.5 * h), (-0.7 * w, -h), (0.7 * w, -h), (w, -0.5 * h), (w, 0.0), (r, 0.0)]
    start = svg.points_path([place(x, y) for x, y in points])
    end_x, end_y = place(-r, 0.0)
    arc = f"{start}A{r * scale:.1f} {r * scale:.1f} 0 0 1 {end_x:.1f} {end_y:.1f}Z"
    out = [svg.el("path", d=arc, class_=edge(cap, accepted), fill=fill("endview", cap, accepted))]
    bolts = [(d.get("cap_span") / 2, h * 0.98)] + ([(outer / 2, h * 0.6)] if four and outer else [])
    thick = d.get("bolt_diameter") or 0.012
    for x, seat in bolts if d.get("cap_span") else []:
        for side in (-1.0, 1.0):
            x1, y1 = place(side * x - thick / 2, thick * 2.6)
            out.append(svg.rect(x1, y1, thick * scale, (seat + thick * 2.6) * scale, "bolt"))
            x2, y2 = place(side * x - thick * 0.8, -seat)
            out.append(svg.rect(x2, y2, thick * 1.6 * scale, thick * 0.6 * scale, "bolt"))
    out.append(svg.path([place(-1.3 * w, 0), place(1.3 * w, 0)], "axis"))
    return out


def _labels(
    d: Dimensions,
    judged: list[tuple[str, Limit | None]],
    tilts: tuple[float, ...],
    place: Place,
    lowest: float,
    accepted: float,
) -> list[Markup]:
    out: list[Markup] = []
    for bank, tilt in enumerate(tilts):
        name, found = judged[bank]
        deck, half = d.get("deck_height"), d.get("bore") * 0.71
        top = max(v * math.cos(tilt) + half * abs(math.sin(tilt)) for v in (deck, deck - d.bore_length))
        x, y = place((deck if abs(tilt) < 1.0 else 0.75 * deck) * math.sin(tilt), top)
        x = min(max(x, 84.0), _WIDTH - 84.0)
        out += [
            svg.text(name, x, y - 32, "place", "middle"),
            svg.text(told(found, accepted), x, y - 14, "name strong", "middle"),
        ]
    if len(judged) > len(tilts):
        name, found = judged[-1]
        x, y = place(0.0, lowest)
        out += [
            svg.text(name, x - 8, y + 24, "place", "end"),
            svg.text(told(found, accepted), x, y + 24, "name strong"),
        ]
    return out
