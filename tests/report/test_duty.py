"""The gas at the points of the duty: the page's table, the terminal's lines, and what they say of knock."""

from __future__ import annotations

import dataclasses
import html
import re

import pytest

from blockwright.life.verdict import Quantity, Verdict
from blockwright.report import duty
from blockwright.report.page import render
from blockwright.report.text import judge_text

from .fixture import degrees, engine, point


@pytest.mark.parametrize(
    ("margin", "state"),
    [
        (degrees(-0.1), duty.KNOCKS),
        (degrees(3.9), duty.MAY_KNOCK),
        (degrees(4.0), duty.CLEAR),
        (Quantity(0.5, "deg"), duty.CLEAR),
        (None, duty.NOT_KNOWN),
    ],
)
def test_knock_is_told_by_the_margin_and_the_lower_end_of_its_spread(
    margin: Quantity | None, state: object
) -> None:
    assert duty.knock_state(point(6000.0, knock=margin)) is state


def with_points(*margins: Quantity | None) -> Verdict:
    points = tuple(point(5000.0 + 500.0 * k, cycles=1e5, knock=m) for k, m in enumerate(margins))
    return dataclasses.replace(engine()[0], points=points)


def gas_part(verdict: Verdict) -> str:
    page = render(verdict, engine()[1])
    found = re.search(r'<section class="flow gas">.*?</section>', page, flags=re.S)
    assert found is not None
    return html.unescape(found[0]).replace("\u00a0", " ")


def test_the_page_has_a_column_for_each_point_and_a_row_for_each_figure() -> None:
    part = gas_part(with_points(degrees(-2.3), degrees(1.4), degrees(6.0)))
    rows = dict(re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', part))
    assert len(re.findall(r'<th scope="col">[\d,]+ rpm</th>', part)) == 3
    for name, first in (
        ("spark left before knock", "-2° (-6 to 2)"),
        ("octane asked", "96 (88 to 104)"),
        ("octane offered", "99"),
        ("hardest cylinder, over the mean", "no. 3, +3.7 %"),
        ("pressure in the exhaust", "15.9 psi"),
        ("half burned after top dead centre", "11.2°"),
        ("from 10 to 90 % burned", "31.0°"),
        ("engine cycles", "100,000"),
    ):
        cells = re.findall(r"<td>(.*?)</td>", rows[name])
        assert len(cells) == 3
        assert cells[0] == first


def test_what_knocks_is_marked_and_what_stands_clear_is_not() -> None:
    part = gas_part(with_points(degrees(-2.3), degrees(1.4), degrees(6.0), None))
    row = re.search(r'<th scope="row">knock</th>(.*?)</tr>', part)
    assert row is not None
    assert re.findall(r"<td>(.*?)</td>", row[1]) == [
        '<strong class="warn">knocks</strong>',
        '<strong class="warn">may knock</strong>',
        "clear",
        "not known",
    ]


def test_cylinders_that_are_alike_have_no_hardest() -> None:
    alike = dataclasses.replace(point(6000.0), hardest_share=1.0 + 1e-6)
    assert duty.hardest_words(alike) == "all alike"


def test_the_page_draws_the_pipes_and_the_power_with_the_dutys_points() -> None:
    verdict, evidence = engine()
    page = render(verdict, evidence)
    for key in ("pipes", "curve", "pressure", "indicator"):
        assert page.count(f'<figure id="{key}"') == 1
    picture = re.search(r'<figure id="curve".*?</svg>', page, flags=re.S)
    assert picture is not None
    # Two strokes a cross, a cross in each of two panels for each point of the duty.
    assert picture[0].count('class="cross"') == 2 * 2 * len(verdict.points)
    assert '<figure id="pipes"' not in render(verdict, dataclasses.replace(evidence, pipework=None))


@pytest.mark.parametrize("width", [72, 100])
def test_the_terminal_has_a_line_for_each_point(width: int) -> None:
    text = judge_text(with_points(degrees(-2.3), degrees(1.4), degrees(6.0), None), width=width)
    part = text[text.index("Gas at the points") :].partition("\n\n")[0].splitlines()
    lines = [line for line in part if " rpm " in line]
    assert len(lines) == 4
    assert max(map(len, part)) <= width
    for line, told in zip(lines, ("knocks", "may knock", "clear", "not known"), strict=True):
        assert line.endswith(told)
        assert "no. 3, +3.7 %" in line
        assert ("1,240 psi (1,091 to 1,419)" if width == 100 else "1,240 psi  ") in line
    assert ("-2° (-6 to 2)" if width == 100 else " -2° ") in lines[0]


def test_no_points_no_part() -> None:
    bare = dataclasses.replace(engine()[0], points=())
    assert "Gas at the points" not in judge_text(bare)
    assert "Where the pressures come from" not in render(bare, engine()[1])
