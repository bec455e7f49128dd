"""Limits of the main fasteners on the bench engine."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from blockwright.build import catalogue
from blockwright.joints import clamp
from blockwright.parts import fasteners
from blockwright.parts.cases import Fatigue, SingleEvent
from blockwright.trace import Traced

from ..joints.bench import BenchBuild, BenchLeaves, BenchTracer, loads


def judged(pattern="two-bolt", top=27e3, n=1, **kinds):
    build = BenchBuild()
    build.choices["caps.pattern"] = pattern
    build.choices.update({key.replace("__", "."): word for key, word in kinds.items()})
    leaves = BenchLeaves(build, n, loads(n, top=top))
    return {limit.identity.id: limit for limit in fasteners.limits(leaves, build)}, leaves, build


def test_each_main_has_its_limits_and_their_shapes():
    limits, _, _ = judged(n=40)
    assert len(limits) == 5 * 4
    assert {limit.identity.group for limit in limits.values()} == {"mains"}
    for limit in limits.values():
        if isinstance(limit, SingleEvent):
            assert np.shape(limit.demand) == np.shape(limit.capacity) == (40, 1, 1, 1)
        else:
            assert limit.stress_max.shape == (40, 3, 5, 1)
            assert limit.stress_min.shape == (40, 1, 1, 1)
            assert np.all(limit.stress_max >= limit.stress_min)
            assert limit.strength.shape == (40, 1, 1, 1)
            total = sum(limit.split.values())
            assert_allclose(total, limit.stress_max.max(axis=(1, 2, 3), keepdims=True), rtol=1e-12)


@pytest.mark.parametrize("pattern", ["two-bolt", "four-bolt-straight", "four-bolt-splayed"])
def test_explanations_replay_the_nominal_row(pattern):
    limits, _, build = judged(pattern)
    traced = fasteners.limits(BenchTracer(build, 1, loads(1)), build)
    assert len(traced) == len(limits)
    for limit in traced:
        known = limits[limit.identity.id]
        names = ("demand", "capacity") if isinstance(limit, SingleEvent) else ("stress_max", "stress_min")
        for name in names:
            value = getattr(limit, name)
            assert isinstance(value, Traced)
            assert_allclose(value.value, getattr(known, name), rtol=1e-12)
            assert any(node.leaf and node.leaf.kind == "build" for node in value.node.walk())


def test_opening_agrees_with_springs_solved_for_zero_clamp():
    """Independent route: raise the load on one side until its two springs leave no clamp."""
    limits, leaves, build = judged()
    opening = limits["main-joint-opening-main-3"]
    preload = clamp.fastener_preload(leaves, build, "main_fasteners").item()
    factor = clamp.load_factor(leaves, build, "main_fasteners").item()
    k_bolt, k_member = factor, 1.0 - factor  # any pair in this ratio

    def clamp_left(side):
        return preload - k_member * side / (k_bolt + k_member)

    vertical = leaves.kernel("main_vertical_extreme", "main 3")
    lateral = leaves.kernel("main_lateral_extreme", "main 3")
    depth, span = leaves.build("caps.register_depth").item(), leaves.build("caps.span").item()
    side = max(float((0.5 * vertical + sign * lateral * 0.5 * depth / span).max()) for sign in (1.0, -1.0))
    margin = brentq(lambda s: clamp_left(s * side), 0.1, 100.0)
    assert_allclose(opening.capacity.item() / opening.demand.item(), margin, rtol=1e-10)


def test_an_open_joint_gives_its_whole_load_to_the_bolt():
    peak = fasteners.fastener_stress_peak(50e3, 0.2, np.array([10e3, 80e3]), 1e-4, 1.0, 1.0)
    assert_allclose(peak * 1e-4, [52e3, 80e3])
    assert_allclose(fasteners.thread_pull(50e3, 0.2, np.full((1, 1, 1, 1), 80e3), 1.0), 80e3)


def test_margins_fall_with_load_and_rise_with_clamp():
    low, _, _ = judged(top=20e3)
    high, _, _ = judged(top=40e3)
    tight, _, _ = judged(top=20e3, main_fasteners__grade="sae-8", main_fasteners__kind="stud")
    name = "main-joint-opening-main-2"
    margin = {
        k: v[name].capacity.item() / v[name].demand.item()
        for k, v in {"low": low, "high": high, "tight": tight}.items()
    }
    assert margin["high"] < margin["low"] < margin["tight"]
    for name in ("main-bolt-fatigue-main-2", "bolt-hole-bottom-main-2"):
        assert high[name].stress_max.max() > low[name].stress_max.max()
        assert_allclose(high[name].stress_min, low[name].stress_min)


def test_outer_fasteners_relieve_the_inner_ones_and_get_a_limit_of_their_own():
    two, _, _ = judged()
    straight, _, _ = judged("four-bolt-straight")
    splayed, _, _ = judged("four-bolt-splayed", caps__four_bolt_mains=(2, 3, 4))
    assert "outer-thread-strip-main-3" in straight
    assert "outer-thread-strip-main-1" not in splayed
    assert "outer-thread-strip-main-3" in splayed

    def swing(limits, main):
        limit = limits[f"main-bolt-fatigue-main-{main}"]
        return float((limit.stress_max - limit.stress_min).max())

    assert swing(straight, 3) < swing(splayed, 3) < swing(two, 3)
    assert_allclose(swing(splayed, 1), swing(two, 1))
    opening = "main-joint-opening-main-3"
    assert two[opening].capacity < splayed[opening].capacity < straight[opening].capacity


def test_web_of_stronger_iron_lasts_longer():
    weak, _, _ = judged()
    strong, _, _ = judged(casting__material="grey-40")
    hole = "bolt-hole-bottom-main-4"
    assert strong[hole].strength > weak[hole].strength
    assert strong[hole].mean_rule == catalogue.row("metal", "grey-40").text("mean_rule")
    strip = "main-thread-strip-main-4"
    assert strong[strip].capacity > weak[strip].capacity
    assert isinstance(strong[hole], Fatigue)
