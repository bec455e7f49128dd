"""What the verdict says of knock."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from blockwright.gas.spark import Limit, SparkMargin
from blockwright.life.knocking import Knock, knock_of, knocks

CYCLE = SimpleNamespace(point=SimpleNamespace(speed=6000.0 * np.pi / 30.0))


def margin(degrees, u=2.0, found="inside", caution=""):
    return SparkMargin(
        spark=30.0, best=Limit(28.0, "inside"), limited=Limit(30.0 + degrees, found), best_work=1.0, work=1.0,
        limited_work=1.0, required=97.0, index=98.0, octane_margin=1.0, octane_u=2.0, degrees_margin=degrees,
        degrees_u=u, slope=1.0, onset=15.0, retard=0.0, caution=caution,
    )  # fmt: skip


def test_silent_when_clear_and_when_unknown():
    assert knocks(CYCLE, Knock(margin(3.4))) == ""
    assert knocks(CYCLE, Knock(None, "no octane number")) == ""


def test_near_the_limit_it_may_knock_and_beyond_it_knocks():
    near, beyond = knocks(CYCLE, Knock(margin(3.0))), knocks(CYCLE, Knock(margin(-4.0)))
    assert near.startswith("At 6000 rpm it may knock")
    assert "3 deg (+-3) left" in near
    assert beyond.startswith("At 6000 rpm it knocks")
    assert "4 deg (+-3) too many" in beyond
    assert "octane 97 (+-3), the fuel offers 98" in beyond


def test_a_limit_outside_the_search_and_a_caution_are_said():
    text = knocks(CYCLE, Knock(margin(-12.0, found="later", caution="Outside the range.")))
    assert "more than 12 deg" in text
    assert text.endswith("Outside the range.")


def test_margin_falls_degree_by_degree_with_the_spark(study):
    """The knock-limited spark is a property of the charge: a spark moved moves the margin by as much."""
    cycle = study.cycle
    own = knock_of(cycle).margin
    assert own is not None
    later = replace(cycle, point=replace(cycle.point, spark=cycle.point.spark + 5.0))
    assert knock_of(later).margin.degrees_margin == pytest.approx(own.degrees_margin + 5.0, abs=0.2)
    assert knock_of(later).margin.required < own.required


def test_nitromethane_is_not_rated(study):
    point = replace(study.cycle.point, fuel="nitro-90")
    found = knock_of(replace(study.cycle, point=point))
    assert found.margin is None
    assert "nitro-90 has no octane number" in found.reason
