"""The spread that follows where none is given."""

from __future__ import annotations

import math

import pytest

from blockwright.build.spread import CATALOGUE, FLOORS, GAUGES, gauge_spread, spread
from blockwright.unit_table import DIMENSIONS
from blockwright.units import parse_spread

from .helpers import build

INCH = 0.0254


@pytest.mark.parametrize(
    ("given", "u"),
    [
        ("4.030 in", 0.001 * INCH / math.sqrt(3.0)),
        ("4.03 in", 0.01 * INCH / math.sqrt(3.0)),
        ("102.36 mm", 0.01e-3 / math.sqrt(3.0)),
        ("4 1/32 in", INCH / 64.0 / math.sqrt(3.0)),
        ({"value": "4.0300 in", "gauge": "bore gauge"}, 0.0002 * INCH),
        ({"value": "4.03 in", "gauge": "bore gauge"}, 0.01 * INCH / math.sqrt(12.0)),
        ({"value": "4.030 in", "gauge": "Micrometer, 4-5 in"}, 0.001 * INCH / math.sqrt(12.0)),
        ({"value": "4.030 in", "gauge": "grandfather's eye"}, 0.001 * INCH / math.sqrt(3.0)),
        ({"value": "4.030 in", "by": "catalogue"}, 0.001 * 4.030 * INCH),
        ({"value": "4.030 in", "by": "assumed"}, 0.1 * 4.030 * INCH),
        ({"value": "4.030 in", "u": "0.0003 in"}, 0.0003 * INCH),
        ({"value": "4.030 in", "u": "1 %"}, 0.0403 * INCH),
        ({"value": "4.030 in", "u": "0 in"}, 0.0),
    ],
)
def test_spread_of_a_bore(given, u):
    assert build({"casting.bore": given}).u("casting.bore") == pytest.approx(u)


@pytest.mark.parametrize(
    ("path", "given", "u"),
    [
        ("casting.hardness", "200 HB", 8.0),
        ("casting.hardness", {"value": "200 HB", "gauge": "Brinell"}, 6.0),
        ("casting.hardness", {"value": "200 HB", "gauge": "rebound tester"}, 10.0),
        ("spark.advance", "34 deg", math.radians(1.0)),
        ("spark.advance", {"value": "34 deg", "gauge": "pressure trace"}, math.radians(0.5)),
        ("target.power", "450 hp", 0.0),
        ("target.power", {"value": "450 hp", "u": "2 %"}, 9.0 * 745.6998715822701),
        ("casting.deck_thickness", {"value": "0.45 in", "by": "assumed"}, 0.12 * 0.45 * INCH),
    ],
)
def test_spread_of_other_kinds(path, given, u):
    assert build({path: given}).u(path) == pytest.approx(u)


def test_wide_spreads_of_positive_values_are_lognormal():
    made = build({"casting.deck_thickness": {"value": "0.45 in", "u": "11 %"}})
    assert made.value("casting.deck_thickness").distribution == "lognormal"
    assert made.value("casting.bore").distribution == "normal"
    fit = build({"caps.register_fit": {"value": "0.001 in", "u": "0.001 in"}}).value("caps.register_fit")
    assert fit.distribution == "normal"  # it may well be a clearance


def test_walls_carry_their_gauge():
    walls = {"depths": ["1 in"], "thickness": {"1": ["0.200 0.180 0.200 0.180 in"]}}
    plain = build({"casting.walls": walls}).value("casting.walls.1.0.0")
    assert plain.u == pytest.approx(0.002 * INCH)
    stated = build({"casting.walls": {**walls, "u": "1 %", "gauge": "ultrasonic"}}).value(
        "casting.walls.1.0.0"
    )
    assert (stated.u, stated.gauge) == (pytest.approx(0.002 * INCH), "ultrasonic")


def test_longest_gauge_name_counts():
    assert gauge_spread("depth gauge with rule", "length") == GAUGES["depth gauge"]["length"]
    assert gauge_spread("caliper", "mass") is None


def test_tables_hold_spreads_of_their_kind():
    rows = [*FLOORS.items(), *CATALOGUE.items()]
    rows += [(kind, u) for kinds in GAUGES.values() for kind, u in kinds.items()]
    for kind, u in rows:
        assert kind in DIMENSIONS
        assert parse_spread(u, kind, 1.0) > 0.0


def test_nothing_chosen_is_uncertain():
    assert spread("chosen", "power", 1e5, 1e3) == 0.0
