"""The page of a power curve and its pictures."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from numpy.testing import assert_allclose

from blockwright.life.pipework import Cylinder, Pipework
from blockwright.life.shop_units import ShopUnits
from blockwright.report import svg
from blockwright.report.curve_page import figures, render
from blockwright.report.curve_units import CurveUnits
from blockwright.report.figures.breathing_curve import hardship, pressures
from blockwright.report.figures.over_speed import Panel, drawable
from blockwright.report.figures.pipes import pipes
from blockwright.report.figures.pipes_layout import group_of_first, lay, width_of
from blockwright.report.figures.power import power

from .curve_fixture import curve, network, point, q, target, unknown_knock

SHOP = ShopUnits(False, "kW")
UNITS = CurveUnits(SHOP)
CYLINDER = Cylinder(0.10, 0.04, 0.034)


def drawn(**more):
    return Pipework(network(**more), CYLINDER, SHOP)


def tree(figure: svg.Figure) -> ET.Element:
    return ET.fromstring(str(figure.drawing))


class Balanced(HTMLParser):
    """Every element that opens closes, in order."""

    void = frozenset({"meta", "link", "br", "img", "hr"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in self.void:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


# --- page ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("made", [curve(), curve(target=target()), unknown_knock(curve())])
def test_page_is_whole_and_needs_nothing_else(made):
    page = render(made, drawn())
    parser = Balanced()
    parser.feed(page)
    assert parser.open == []
    assert not re.search(r"""(?:src|href)\s*=\s*["']?(?!#)""", page)
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "default-src 'none'" in page


def test_names_are_escaped():
    page = render(curve(), None)
    assert "Test &lt;engine&gt; &amp; sons" in page
    assert "<engine>" not in page


def test_page_tells_what_is_missing_and_what_forbids():
    page = render(curve(target=target()), None)
    assert "the gas model did not settle" in page.lower() or "The gas model did not settle" in page
    assert "that is forbidden: it knocks" in page
    assert "INVENTED" in page


def test_ids_are_unique():
    page = render(curve(target=target()), drawn())
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_every_picture_is_well_formed_and_says_what_it_shows():
    made = figures(curve(), drawn())
    assert list(made) == ["power", "filling", "hardship", "pressures", "supply", "pipes"]
    for figure in made.values():
        root = tree(figure)
        title, description = root.find("title"), root.find("desc")
        assert title is not None
        assert title.text
        assert description is not None
        assert description.text
        assert figure.caption.strip().endswith(".")
        assert figure.table is not None
        assert all(len(row) == len(figure.table.heads) for row in figure.table.rows)


def test_all_that_is_drawn_lies_within_its_picture():
    for figure in figures(curve(), drawn(pairs=True)).values():
        root = tree(figure)
        _, _, width, height = map(float, root.attrib["viewBox"].split())
        for element in root.iter("path"):
            for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", element.attrib["d"]):
                assert -1.0 <= float(x) <= width + 1.0
                assert -1.0 <= float(y) <= height + 1.0


# --- figures over speed ----------------------------------------------------------------------------


def test_curves_pass_through_their_points():
    """The path of the power: y falls in proportion as power rises, x goes with speed."""
    root = tree(power(curve()))
    path = next(p for p in root.iter("path") if p.attrib["class"].startswith("curve s1"))
    xy = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path.attrib["d"])]
    values = [p.power.value for p in curve().points]
    assert len(xy) == len(values)
    (x0, y0), (x1, y1) = xy[0], xy[-1]
    for (x, y), value, rpm in zip(xy, values, range(3000, 7001, 1000), strict=True):
        assert_allclose((x - x0) / (x1 - x0), (rpm - 3000) / 4000, atol=2e-3)
        assert_allclose((y - y0) / (y1 - y0), (value - values[0]) / (values[-1] - values[0]), atol=5e-3)


def test_one_point_draws_nothing():
    single = replace(curve(), points=(point(3000.0),))
    assert figures(single, None) == {}


def test_figures_without_a_value_are_left_out():
    made = hardship(unknown_knock(curve()))
    assert made.title == "Peak pressure"
    assert "not followed" in made.caption
    assert "knock" in hardship(curve()).title
    assert drawable(curve().points, [Panel("boost", lambda p: p.boost)]) == []


def test_boost_joins_back_pressure_where_there_is_one():
    boosted = replace(curve(), points=tuple(replace(p, boost=q(12.0, "psi")) for p in curve().points))
    assert pressures(boosted).title == "Back pressure and boost"
    assert pressures(curve()).title == "Back pressure"


def test_constant_figures_can_be_drawn():
    """A flat curve has no range of its own."""
    flat = replace(
        curve(), points=tuple(replace(p, volumetric_efficiency=q(0.8, "1")) for p in curve().points)
    )
    assert "filling" in figures(flat, None)


# --- pipes -----------------------------------------------------------------------------------------


def test_lengths_add_up_from_the_valves():
    net = network()
    side = lay(net, "exhaust", (1, 2, 3, 4))
    assert side.reach["merge"] == pytest.approx(0.78)
    assert side.length == pytest.approx(0.78 + 1.2)
    intake = lay(net, "intake", (1, 2, 3, 4))
    assert intake.reach["plenum"] == pytest.approx(0.28)
    assert intake.reach["intake air"] > 0.28 + width_of(net.volumes[0])


def test_pairs_meet_before_they_merge():
    side = lay(network(pairs=True), "exhaust", (1, 2, 3, 4))
    assert side.reach["pair A"] == pytest.approx(0.78)
    assert side.reach["merge"] == pytest.approx(0.78 + 0.4)
    assert side.rows["pair A"] == (0, 3)


def test_cylinders_of_one_tail_are_a_group():
    assert group_of_first(network(), [1, 2, 3, 4]) == (1, 2, 3, 4)
    assert group_of_first(network(), []) == ()


def test_pipes_are_drawn_to_one_scale():
    """Horizontal extent of every pipe over its length is the same; vertical over diameter too."""
    net = network()
    root = tree(pipes(net, UNITS, CYLINDER))
    outlines = [p for p in root.iter("path") if p.attrib["class"].startswith("part tint")]
    sizes = {}
    for p in outlines:
        xy = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", p.attrib["d"])]
        xs, ys = zip(*xy, strict=True)
        sizes[round(max(xs) - min(xs), 1)] = max(ys) - min(ys)
    spans = sorted(sizes)
    lengths = sorted([0.28, 0.72, 0.74, 0.76, 0.78, 1.2])
    assert_allclose(spans, [x * spans[-1] / 1.2 for x in lengths], atol=0.25)
    tail, runner = sizes[spans[-1]], sizes[spans[0]]
    assert_allclose(tail / runner, 0.08 / 0.06, atol=0.01)
    stretch = (tail / 0.08) / (spans[-1] / 1.2)
    assert stretch == pytest.approx(round(stretch), abs=0.02)
    told = "every diameter true" if round(stretch) == 1 else f"{round(stretch)} times as large"
    assert told in pipes(net, UNITS, CYLINDER).caption


def test_what_is_not_drawn_is_named():
    assert "Not drawn: balance." in pipes(network(crossover=True), UNITS, CYLINDER).caption


def test_parts_that_are_alike_share_a_letter():
    """Two secondaries and two plenums: one letter each, and the plenum between parts the other's box."""
    net = network(pairs=True)
    split = [
        replace(d, start=f"plenum {'A' if d.name[-1] in '14' else 'B'}") if "runner" in d.name else d
        for d in net.ducts
    ]
    throttles = tuple(replace(net.orifices[0], name=f"throttle {x}", end=f"plenum {x}") for x in "AB")
    volumes = tuple(replace(net.volumes[0], name=f"plenum {x}") for x in "AB")
    root = tree(pipes(replace(net, ducts=tuple(split), orifices=throttles, volumes=volumes), UNITS, CYLINDER))
    told = [(t.text or "").replace("\u00a0", " ") for t in root.iter("text")]
    for start in ("throttle (2): opening", "plenum (2): 4.00 L each", "secondary (2): ", "primary (4): "):
        assert len([t for t in told if t.startswith(start)]) == 1
    assert {t for t in told if t in tuple("ABCDEFGH")} == set("ABCDEF")
    boxes = [r for r in root.iter("rect") if r.attrib["class"] == "iron part"]
    assert len(boxes) == 3
    ends = sorted((float(r.attrib["y"]), float(r.attrib["y"]) + float(r.attrib["height"])) for r in boxes)
    assert all(low <= top for (_, low), (top, _) in pairwise(ends))


def test_every_pipe_is_in_the_table_in_the_shops_units():
    table = pipes(network(), CurveUnits(ShopUnits(True, "hp")), CYLINDER).table
    rows = {row[0]: row for row in table.rows}
    assert rows["tail"][3].replace("\u00a0", " ") == "47.2 in"
    assert set(rows) == {d.name for d in network().ducts}


def test_eight_cylinders_fit():
    figure = pipes(network(cylinders=8), UNITS, CYLINDER)
    assert "Cylinders 1, 2, 3, 4, 5, 6, 7, 8" in figure.caption
