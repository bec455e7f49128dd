"""Intake and exhaust of a group of cylinders drawn to scale along the flow."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from ...gas.network import INTAKE_AIR, Duct, Network, Orifice, Volume, valves_of
from ...life.pipework import Cylinder
from .. import svg, words
from ..curve_units import CurveUnits
from .pipes_layout import Placed, Side, group_of_first, lay, width_of

_WIDTH, _EDGE, _TOP = 800.0, 44.0, 24.0
#: Diameters are drawn so many times as large as lengths, the least that shows the thinnest pipe.
_STRETCHES = (1, 2, 3, 4, 5)
_THINNEST, _TALLEST = 14.0, 74.0
_LEGEND_LINE = 20.0


@dataclass(frozen=True)
class _Scale:
    """x : [px] of the valves on the intake side; along, across : [px/m]; pitch : between rows [px]."""

    intake_x: float
    exhaust_x: float
    along: float
    across: float
    pitch: float

    def y(self, row: float) -> float:
        return _TOP + (row + 0.5) * self.pitch

    def x(self, side: str, way: float) -> float:
        return self.intake_x - way * self.along if side == "intake" else self.exhaust_x + way * self.along


def pipes(network: Network, units: CurveUnits, cylinder: Cylinder) -> svg.Figure | None:
    """The pipes of the group of cylinder 1; None where no pipe leads anywhere.

    Parameters
    ----------
    network : Network
    units : CurveUnits
    cylinder : Cylinder
    """
    joined: list[Duct | Orifice] = [*network.ducts, *network.orifices]
    ends = [place for part in joined for place in (part.start, part.end)]
    numbers = sorted({found[0] + 1 for place in ends if (found := valves_of(place)) is not None})
    group = group_of_first(network, numbers)
    if not group:
        return None
    sides = {name: lay(network, name, group) for name in ("intake", "exhaust")}
    scale, stretch = _scale(sides, cylinder, len(group))
    entries = _entries(sides, units)
    parts = [
        *(_volumes(sides[name], name, scale) for name in sides),
        *(_joints(sides[name], name, scale) for name in sides),
        *(_part(p, name, scale) for name in sides for p in sides[name].placed),
        *(_middle(row, number, cylinder, scale) for row, number in enumerate(group)),
        *(_air(sides[name], name, scale) for name in sides),
    ]
    bottom = scale.y(len(group) - 1) + 0.5 * scale.pitch
    parts.append(_chain(entries, scale, bottom + 26.0, units))
    parts.append(_ruler(scale, units, bottom + 62.0))
    legend, height = _legend(entries, bottom + 104.0)
    drawn = {p.part.name for side in sides.values() for p in side.placed}
    told = f"Cylinders {', '.join(map(str, group))}" if len(group) > 1 else f"Cylinder {group[0]}"
    return svg.Figure(
        key="pipes",
        title="Intake and exhaust along the flow",
        drawing=svg.picture(
            "pipes", _WIDTH, height, "The pipes to scale",
            f"{told}: intake on the left, exhaust on the right, lengths true to scale.", *parts, legend,
        ),
        caption=_caption(told, stretch, network, drawn),
        table=svg.Table(
            ("part", "from", "to", "length", "diameter at its start", "at its end"),
            tuple(_row(duct, units) for duct in network.ducts),
        ),
    )  # fmt: skip


def _caption(told: str, stretch: int, network: Network, drawn: set[str]) -> str:
    times = "true" if stretch == 1 else f"{stretch} times as large"
    left = [d.name for d in network.ducts if d.name not in drawn and not _twin(d.name, drawn)]
    beside = f" Not drawn: {', '.join(left)}." if left else ""
    return (
        f"{told}: every length from valve to open end is true to one scale, every diameter {times} on it. "
        "Upright strokes are joints without a length; a vessel is as wide as a cube of its volume, with a "
        "dashed line from part to part where others stand between. Compare the primaries: one that is "
        "longer than its neighbours is tuned to another speed."
        f"{beside}"
    )


def _twin(name: str, drawn: set[str]) -> bool:
    """Whether a part is one of a row of which another is drawn ("primary 7" beside "primary 1")."""
    return _stem(name) in {_stem(other) for other in drawn}


def _stem(name: str) -> str:
    return re.sub(r"\s+(\d+(-\d+)*|[A-Z]\d*)$", "", name)


def _widest(part: Duct | Orifice) -> float:
    if isinstance(part, Duct):
        return float(part.diameter.max())
    return 2.0 * math.sqrt(part.area / math.pi)


def _scale(sides: dict[str, Side], cylinder: Cylinder, rows: int) -> tuple[_Scale, int]:
    total = sides["intake"].length + sides["exhaust"].length + cylinder.bore
    along = (_WIDTH - 2.0 * _EDGE) / total
    every = [p for side in sides.values() for p in side.placed]
    alone = [_widest(p.part) for p in every if len(p.serves) == 1]
    shared = [_widest(p.part) for p in every if len(p.serves) > 1]
    thin = [float(p.part.diameter.min()) for p in every if isinstance(p.part, Duct)]
    thinnest, tall = min(thin, default=cylinder.intake_valve), max([*alone, cylinder.bore])
    stretch = next((s for s in _STRETCHES if s * along * thinnest >= _THINNEST), _STRETCHES[-1])
    while stretch > 1 and stretch * along * tall > _TALLEST:
        stretch -= 1
    across = stretch * along
    pitch = max(across * tall + 14.0, (across * max(shared, default=0.0) + 14.0) / rows, 40.0)
    left = _EDGE + sides["intake"].length * along
    return _Scale(left, left + cylinder.bore * along, along, across, pitch), stretch


def _outline(duct: Duct, placed: Placed, side: str, scale: _Scale) -> list[tuple[float, float]]:
    """The wall of a duct above and below its axis, cones as they are."""
    forward = duct.start == placed.inner
    way = [placed.at + (float(d) if forward else duct.length - float(d)) for d in duct.distance]
    xs = [scale.x(side, w) for w in way]
    half = [0.5 * float(d) * scale.across for d in duct.diameter]
    y = scale.y(placed.row)
    return [(x, y - h) for x, h in zip(xs, half, strict=True)] + [
        (x, y + h) for x, h in zip(xs[::-1], half[::-1], strict=True)
    ]


def _part(placed: Placed, side: str, scale: _Scale) -> Markup:
    css = "s1" if side == "intake" else "s2"
    if isinstance(placed.part, Duct):
        return svg.path(_outline(placed.part, placed, side, scale), f"part tint {css}", closed=True)
    # An opening: a plate with a hole of the effective area.
    x, y = scale.x(side, placed.at + 0.5 * placed.length), scale.y(placed.row)
    half = 0.5 * _widest(placed.part) * scale.across
    lip = half + 12.0
    return svg.group(
        svg.line(x, y - lip, x, y - half, "edge"), svg.line(x, y + half, x, y + lip, "edge"),
    )  # fmt: skip


def _volumes(side: Side, name: str, scale: _Scale) -> Markup:
    """Vessels: as wide as a cube of the volume, as high as the rows they serve; parts of one are joined."""
    made = []
    for volume in side.volumes:
        near, far = side.reach[volume.name], side.reach[volume.name] + width_of(volume)
        x0, x1 = sorted((scale.x(name, near), scale.x(name, far)))
        runs = _runs(side.rows[volume.name])
        for first, last in runs:
            top, low = scale.y(first) - 0.5 * scale.pitch + 4.0, scale.y(last) + 0.5 * scale.pitch - 4.0
            made.append(svg.rect(x0, top, x1 - x0, low - top, "iron part"))
        middle = 0.5 * (x0 + x1)
        made += [
            svg.line(middle, scale.y(above[1]), middle, scale.y(below[0]), "link")
            for above, below in pairwise(runs)
        ]
    return svg.group(*made)


def _runs(rows: Sequence[int]) -> list[tuple[int, int]]:
    """First and last of each run of rows without a gap."""
    runs: list[tuple[int, int]] = []
    for row in sorted(set(rows)):
        if runs and row == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], row)
        else:
            runs.append((row, row))
    return runs


def _joints(side: Side, name: str, scale: _Scale) -> Markup:
    """Where pipes of several rows meet: an upright stroke, and level strokes to those that end before it."""
    vessels = {v.name for v in side.volumes}
    made = []
    for p in side.placed:
        at = side.reach[p.outer]
        y, end = scale.y(p.row), p.at + p.length
        if at - end > 1e-6:
            made.append(svg.line(scale.x(name, end), y, scale.x(name, at), y, "link"))
    for place in side.rows:
        feeding = [p for p in side.placed if p.outer == place]
        leaving = [p.row for p in side.placed if p.inner == place]
        if place in vessels or len(feeding) < 2 or not leaving:
            continue
        ys = [scale.y(row) for row in [*(p.row for p in feeding), *leaving]]
        x = scale.x(name, side.reach[place])
        made.append(svg.line(x, min(ys), x, max(ys), "fine"))
    return svg.group(*made)


def _middle(row: int, number: int, cylinder: Cylinder, scale: _Scale) -> Markup:
    """A cylinder from above, with its valves where the gas enters and leaves."""
    y, middle = scale.y(row), 0.5 * (scale.intake_x + scale.exhaust_x)
    round_ = svg.el(
        "ellipse", cx=middle, cy=y, class_="piston",
        rx=0.5 * cylinder.bore * scale.along, ry=0.5 * cylinder.bore * scale.across,
    )  # fmt: skip
    made = [round_, svg.text(str(number), middle, y + 5.0, "name", "middle")]
    for x, size in ((scale.intake_x, cylinder.intake_valve), (scale.exhaust_x, cylinder.exhaust_valve)):
        half = 0.5 * size * scale.across
        made.append(svg.line(x, y - half, x, y + half, "edge"))
    return svg.group(*made)


def _air(side: Side, name: str, scale: _Scale) -> Markup:
    """Arrows where the gas comes in and goes out."""
    made = []
    goal = INTAKE_AIR if name == "intake" else "open air"
    for p in side.placed:
        if p.outer != goal:
            continue
        x, y = scale.x(name, p.at + p.length), scale.y(p.row)
        tip, tail = (x - 4.0, x - 26.0) if name == "intake" else (x + 28.0, x + 6.0)
        made += [
            svg.line(tail, y, tip, y, "fine"),
            svg.path([(tip - 7, y - 4), (tip, y), (tip - 7, y + 4)], "leader ink"),
        ]
    return svg.group(*made)


@dataclass(frozen=True)
class _Entry:
    """What one letter stands for: parts that are alike; way from the valves to where the longest lies [m]."""

    letter: str
    side: str
    begin: float
    end: float
    words: str


def _entries(sides: dict[str, Side], units: CurveUnits) -> list[_Entry]:
    """Parts and vessels from the intake's mouth to the last open end, those that are alike together."""
    found: list[tuple[str, float, float, str]] = []
    for name, side in sides.items():
        alike: dict[str, list[Placed]] = {}
        for p in side.placed:
            alike.setdefault(_stem(p.part.name), []).append(p)
        for parts in alike.values():
            longest = max(parts, key=lambda p: p.at + p.length)
            found.append((name, longest.at, longest.at + longest.length, _described(parts, units)))
        vessels: dict[str, list[Volume]] = {}
        for v in side.volumes:
            vessels.setdefault(_stem(v.name), []).append(v)
        for stem, same in vessels.items():
            at = max(side.reach[v.name] for v in same)
            shown = _span([v.volume for v in same], units, "m3")
            each = " each" if len(same) > 1 else ""
            found.append((name, at, at + max(map(width_of, same)), f"{stem}{_many(same)}: {shown}{each}"))
    found.sort(key=lambda item: -item[1] if item[0] == "intake" else item[1] + 1e3)
    return [_Entry(chr(ord("A") + k), *item) for k, item in enumerate(found)]


def _chain(entries: Sequence[_Entry], scale: _Scale, y: float, units: CurveUnits) -> Markup:
    """Dimension line under the picture: the longest way through, letter and length of each part."""
    made = []
    written = -math.inf
    for e in entries:
        x0, x1 = sorted((scale.x(e.side, e.begin), scale.x(e.side, e.end)))
        made += [svg.line(x, y - 6.0, x, y + 6.0, "fine") for x in (x0, x1)]
        made.append(svg.line(x0, y, x1, y, "fine"))
        full = f"{e.letter}  {words.quantity(units.quantity(e.end - e.begin, 'm'))}"
        label = full if " long" in e.words and svg.width_of(full, 15.0) < x1 - x0 else e.letter
        # Letters of narrow parts step aside for each other.
        half = 0.5 * svg.width_of(label, 14.0)
        at = max(0.5 * (x0 + x1), written + 3.0 + half)
        written = at + half
        made.append(svg.text(label, at, y + 20.0, "strong", "middle"))
    return svg.group(*made)


def _ruler(scale: _Scale, units: CurveUnits, y: float) -> Markup:
    """A scale of round lengths."""
    factor = units.quantity(1.0, "m").value
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if s * scale.along / factor > 60.0)
    unit = words.unit_words(units.quantity(1.0, "m").unit)
    x1 = _EDGE + step * scale.along / factor
    return svg.group(
        svg.line(_EDGE, y, x1, y, "edge"),
        svg.line(_EDGE, y - 5, _EDGE, y + 5, "fine"), svg.line(x1, y - 5, x1, y + 5, "fine"),
        svg.text(f"{step} {unit} along the flow", x1 + 10.0, y + 5.0, "place"),
    )  # fmt: skip


def _legend(entries: Sequence[_Entry], top: float) -> tuple[Markup, float]:
    """What each letter is; the height it ends at."""
    room = _WIDTH - 2.0 * _EDGE - 22.0
    made = []
    for k, e in enumerate(entries):
        y = top + _LEGEND_LINE * k
        made += [
            svg.text(e.letter, _EDGE, y, "strong"),
            svg.text(svg.fit(e.words, room, 14.0), _EDGE + 22.0, y),
        ]
    return svg.group(*made), top + _LEGEND_LINE * len(entries)


def _described(found: Sequence[Placed], units: CurveUnits) -> str:
    name = _stem(found[0].part.name)
    ducts = [p.part for p in found if isinstance(p.part, Duct)]
    if not ducts:
        size = words.quantity(units.quantity(_widest(found[0].part), "m"))
        return f"{name}{_many(found)}: opening, effective {size} across"
    lengths = _span([d.length for d in ducts], units)
    diameters = _span([float(x) for d in ducts for x in d.diameter], units)
    return f"{name}{_many(found)}: {lengths} long, {diameters} across"


def _many(found: Sequence[object]) -> str:
    """How many parts stand behind a letter."""
    return f" ({len(found)})" if len(found) > 1 else ""


def _span(values: Sequence[float], units: CurveUnits, unit: str = "m") -> str:
    low, high = units.quantity(min(values), unit), units.quantity(max(values), unit)
    if words.quantity(low) == words.quantity(high):
        return words.quantity(low)
    return f"{words.number(low.value)} to {words.quantity(high)}"


def _row(duct: Duct, units: CurveUnits) -> tuple[str, ...]:
    sizes = (duct.length, float(duct.diameter[0]), float(duct.diameter[-1]))
    return (duct.name, duct.start, duct.end, *(words.quantity(units.quantity(size, "m")) for size in sizes))
