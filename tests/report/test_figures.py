"""Pictures: true to scale, on their axes, and readable."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
import xml.etree.ElementTree as ET

import pytest

from blockwright.life.verdict import Quantity
from blockwright.report import svg, words
from blockwright.report.figures.changes import changes
from blockwright.report.figures.endview import end_view
from blockwright.report.figures.ladder import ladder
from blockwright.report.figures.polar import polar
from blockwright.report.figures.sideview import main_positions, side_view
from blockwright.report.figures.split import split
from blockwright.report.figures.walls import _depth, colour, walls

from .fixture import FLAT4, INLINE4, V8, V12, Shape, engine, limit


def points(d: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", d)]


def test_plain_text_cannot_become_markup() -> None:
    made = svg.text('<b>&"', 1, 2, 'x" y="')
    assert ET.fromstring(made).text == '<b>&"'
    assert ET.fromstring(made).get("class") == 'x" y="'


def test_a_margin_of_one_sits_on_the_line() -> None:
    one = limit("a", "cap", "main 1", 1.0, 0.2, 0.96, 500)
    root = ET.fromstring(ladder([one], 0.95).drawing)
    ring = next(e for e in root.iter("circle") if "lives" in e.get("class", ""))
    one_line = next(e for e in root.iter("line") if e.get("class") == "one")
    assert float(ring.get("cx", "0")) == pytest.approx(float(one_line.get("x1", "1")))


def test_the_ladder_is_logarithmic() -> None:
    three = [limit(f"n{m}", "cap", "main 1", m, 0.0, 0.99, 500) for m in (1.0, 2.0, 4.0)]
    root = ET.fromstring(ladder(three, 0.95).drawing)
    a, b, c = sorted(float(e.get("cx", "0")) for e in root.iter("circle"))
    assert b - a == pytest.approx(c - b, abs=0.1)
    assert b > a


@pytest.mark.parametrize("shape", [V8, INLINE4, FLAT4, V12])
def test_the_end_view_is_to_scale(shape: Shape) -> None:
    """Bore, bore length and the piston's throw measured off the drawing agree with the dimensions."""
    verdict, evidence = engine(shape)
    figure = end_view(evidence.drawing, verdict.limits, evidence.walls, 0.95)
    assert figure is not None
    root = ET.fromstring(figure.drawing)
    d = evidence.drawing.dimensions
    bar = next(e for e in root.iter("text") if "100 mm" in (e.text or ""))
    scale = (float(bar.get("x", "0")) - 24 - 10) / 0.1
    bores = [points(e.get("d", "")) for e in root.iter("path") if e.get("class") == "bore"]
    assert len(bores) == (1 if shape.kind == "inline" else 2)
    for corners in bores:
        assert math.dist(corners[0], corners[1]) / scale == pytest.approx(d["bore"], abs=0.3e-3)
        assert math.dist(corners[1], corners[2]) / scale == pytest.approx(d["bore_length"], abs=0.3e-3)
    rings = [float(e.get("r", "0")) / scale for e in root.iter("circle")]
    for size in (d["stroke"] / 2, d["main_journal"] / 2, d["pin_journal"] / 2):
        assert any(r == pytest.approx(size, abs=0.05e-3) for r in rings)


def test_the_drawn_pistons_obey_the_rod() -> None:
    """Pin to pin is one rod length, in every bank."""
    for shape in (V8, INLINE4, FLAT4):
        verdict, evidence = engine(shape)
        figure = end_view(evidence.drawing, verdict.limits, evidence.walls, 0.95)
        assert figure is not None
        root = ET.fromstring(figure.drawing)
        bar = next(e for e in root.iter("text") if "100 mm" in (e.text or ""))
        scale = (float(bar.get("x", "0")) - 34) / 0.1
        d = evidence.drawing.dimensions
        small = [
            e for e in root.iter("circle") if abs(float(e.get("r", "0")) / scale - 0.11 * d["bore"]) < 1e-4
        ]
        big = [e for e in root.iter("circle") if e.get("class") == "rod"]
        assert len(small) == len(big) == (1 if shape.kind == "inline" else 2)
        for a, b in zip(small, big, strict=True):
            there, here = ((float(e.get("cx", "0")), float(e.get("cy", "0"))) for e in (a, b))
            assert math.dist(there, here) / scale == pytest.approx(d["rod_length"], abs=0.3e-3)


def test_mains_stand_between_the_throws() -> None:
    _, evidence = engine(V8)
    mains = main_positions(evidence.drawing)
    assert len(mains) == 5
    assert [b - a for a, b in itertools.pairwise(mains)] == pytest.approx([V8.spacing] * 4)
    throw = (evidence.drawing.cylinder_position[0] + evidence.drawing.cylinder_position[1]) / 2
    assert (mains[0] + mains[1]) / 2 == pytest.approx(throw)
    three = dataclasses.replace(engine(INLINE4)[1].drawing, mains=3)
    assert len(main_positions(three)) == 3


def test_state_shows_in_fill_outline_and_word() -> None:
    verdict, evidence = engine(V8)
    figure = side_view(evidence.drawing, verdict.limits, evidence.walls, 0.95)
    assert figure is not None
    root = ET.fromstring(figure.drawing)
    caps = [
        e
        for e in root.iter("rect")
        if e.get("fill") == "url(#sideview-breaks)" and "part breaks" in e.get("class", "")
    ]
    assert len(caps) == 2  # main 3, and the key
    assert [e.text for e in root.iter("text")].count("breaks") == 2
    assert figure.reading == "main 3"


def test_polar_points_keep_sign_and_scale() -> None:
    """+ lateral lies to the right, + vertical (into the cap) below the centre."""
    verdict, evidence = engine(V8)
    trace = evidence.traces[0]
    flat = tuple(0.0 for _ in trace.angle)
    pull = tuple(30.0 if k == 10 else 0.0 for k in range(720))
    push = tuple(40.0 if k == 10 else 0.0 for k in range(720))
    made = dataclasses.replace(trace, main_vertical=(pull, flat), main_lateral=(push, flat))
    figure = polar(made, dataclasses.replace(verdict.governing, place="main 1"))
    assert figure is not None
    assert figure.reading.replace("\u00a0", " ") == "50.0 kN"
    root = ET.fromstring(figure.drawing)
    ray = next(e for e in root.iter("line") if e.get("class") == "ray")
    dx, dy = (float(ray.get(f"{a}2", "0")) - float(ray.get(f"{a}1", "0")) for a in "xy")
    assert dx > 0
    assert dy > 0
    assert dy / dx == pytest.approx(0.75, abs=0.01)


def test_split_adds_up_and_claims_only_what_it_may() -> None:
    one = limit("a", "cap", "main 1", 1.2, 0.2, 0.9, 500)
    figure = split(one)
    assert figure is not None
    assert "They add up to the demand." in figure.caption
    other = split(dataclasses.replace(one, demand=Quantity(70.0, "MPa")))
    assert other is not None
    assert "add up to the demand" not in other.caption
    assert "capacity" not in other.drawing.split("</desc>")[1]
    assert split(dataclasses.replace(one, split=())) is None


def test_changes_without_a_ceiling_make_no_bar() -> None:
    verdict, _ = engine()
    figure = changes(verdict.ceiling.power, verdict.reinforcements)
    assert figure is not None
    root = ET.fromstring(figure.drawing)
    assert len([e for e in root.iter("rect") if e.get("class", "").startswith("bar")]) == 4
    assert changes(None, [r for r in verdict.reinforcements if r.ceiling is None]) is None


def test_wall_figures_read_on_every_colour() -> None:
    """Contrast at least 4.5 to 1 (WCAG 2.2, 1.4.3, from memory), and lightness that only rises."""

    def luminance(code: str) -> float:
        parts = [int(code[k : k + 2], 16) / 255 for k in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    inks = {"on-dark": luminance("#ffffff"), "on-light": luminance("#000000")}
    last = -1.0
    for k in range(101):
        paint, ink = colour(k / 100)
        here = luminance(paint)
        low, high = sorted((here, inks[ink]))
        assert (high + 0.05) / (low + 0.05) >= 4.5
        assert here >= last
        last = here


def test_wall_maps_name_the_thinnest_and_the_assumed() -> None:
    _, evidence = engine()
    figure = walls(evidence.walls)
    assert figure is not None
    least = min(v for m in evidence.walls for row in m.thickness for v in row)
    assert figure.reading == f"{least:.3f} in"
    assert "Assumed, not measured: cylinder 3." in figure.caption
    root = ET.fromstring(figure.drawing)
    printed = [e.text for e in root.iter("text") if e.get("class", "").startswith("cell-figure")]
    assert printed == [f"{v:.3f}" for m in evidence.walls for row in m.thickness for v in row]
    unread = dataclasses.replace(evidence.walls[0], thickness=((math.nan,) * 4,) * 4)
    assert walls([unread]) is None


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (0.0, 1240.0), (3.2, 3.3), (-5.0, 7.0), (0.0, 1e-9)])
def test_ticks_are_round_and_inside(low: float, high: float) -> None:
    ticks = svg.nice_ticks(low, high)
    assert 2 <= len(ticks) <= 11
    assert all(low - 1e-12 <= t <= high + 1e-12 for t in ticks)
    assert svg.nice_top([high]) >= high * (1 - 1e-12)


def test_long_words_are_cut_to_fit() -> None:
    lines = svg.wrap("Saddle iron beside the oil gallery that feeds the rear main bearing", 200, 15, 2)
    assert len(lines) == 2
    assert all(svg.width_of(line, 15) <= 200 for line in lines)
    assert lines[1].endswith("…")
    assert svg.wrap("x" * 90, 200, 15, 2)[0].endswith("…")


def test_bank_a_stands_right_when_bank_b_leads() -> None:
    """Seen from the front; the pin has passed its dead centre clockwise either way."""
    verdict, evidence = engine(V8)
    for lead, order in (
        (1, ["bank A, worst wall", "bank B, worst wall"]),
        (-1, ["bank B, worst wall", "bank A, worst wall"]),
    ):
        drawing = dataclasses.replace(evidence.drawing, lead=lead)
        figure = end_view(drawing, verdict.limits, evidence.walls, 0.95)
        assert figure is not None
        root = ET.fromstring(figure.drawing)
        named = {e.text: float(e.get("x", "0")) for e in root.iter("text") if "bank" in (e.text or "")}
        assert sorted(named, key=named.__getitem__) == order
        pin = next(e for e in root.iter("circle") if e.get("class") == "rod")
        first = math.radians(-45 * lead + 40)
        assert math.copysign(1, float(pin.get("cx", "0")) - 280) == math.copysign(1, math.sin(first))


def test_polar_is_mirrored_with_the_banks() -> None:
    verdict, evidence = engine(V8)
    drawn = [polar(evidence.traces[0], verdict.governing, lead) for lead in (1, -1)]
    rays = []
    for figure in drawn:
        assert figure is not None
        root = ET.fromstring(figure.drawing)
        ray = next(e for e in root.iter("line") if e.get("class") == "ray")
        rays.append([float(ray.get(f"{a}2", "0")) - float(ray.get(f"{a}1", "0")) for a in "xy"])
    assert rays[0][0] == pytest.approx(-rays[1][0])
    assert rays[0][1] == pytest.approx(rays[1][1])


def test_the_ladder_keeps_to_a_page_but_shows_all_that_do_not_live() -> None:
    living = [limit(f"fine {k}", "cap", "main 1", 2.0, 0.1, 0.99, 500) for k in range(20)]
    figure = ladder(living, 0.95)
    assert len(list(ET.fromstring(figure.drawing).iter("circle"))) == 14
    assert "6 more" in figure.caption
    assert figure.table is not None
    assert len(figure.table.rows) == 20
    bad = [limit(f"bad {k}", "cap", "main 1", 0.5, 0.1, 0.1, 500) for k in range(16)]
    root = ET.fromstring(ladder([*bad, *living], 0.95).drawing)
    assert [e.text for e in root.iter("text")].count("breaks") == 16


def test_without_a_ceiling_today_there_are_marks_and_no_bars() -> None:
    verdict, _ = engine()
    figure = changes(None, verdict.reinforcements)
    assert figure is not None
    root = ET.fromstring(figure.drawing)
    assert not [e for e in root.iter("rect") if e.get("class", "").startswith("bar")]
    assert len([e for e in root.iter("line") if e.get("class") == "edge"]) == 4


def test_a_guide_never_claims_to_break() -> None:
    """Foot slip far below 1 stands apart, and does not colour the cap."""
    verdict, evidence = engine(V8)
    slip = dataclasses.replace(limit("Cap foot slip", "main cap", "main 1", 0.2, 0.1, 0.0, 500), kind="guide")
    limits = (slip, *sorted(verdict.limits, key=words.severity))
    figure = ladder(limits, 0.95)
    root = ET.fromstring(figure.drawing)
    words_in_order = [e.text for e in root.iter("text") if e.get("class", "").startswith("state")]
    assert words_in_order[-1] == "exceeded"
    assert figure.reading == "0.93"
    side = side_view(evidence.drawing, limits, evidence.walls, 0.95)
    assert side is not None
    assert side.reading == "main 3"


@pytest.mark.parametrize(
    ("depth", "digits", "shown"),
    [(0.748, 3, "0.75"), (12.25, 3, "12.2"), (90.0, 2, "90.0"), (142.0, 2, "142")],
)
def test_depths_beside_a_wall_map_fit_its_margin(depth: float, digits: int, shown: str) -> None:
    assert _depth(depth, digits) == shown
