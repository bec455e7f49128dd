"""The verdict of the hill-climb demo as a whole."""

from __future__ import annotations

import dataclasses
import math

import pytest

from blockwright.gas.mesh import LUMPED
from blockwright.life import judge as judging
from blockwright.life.draw import Draw
from blockwright.life.options import options
from blockwright.life.study import Sampled, silent


def judged(build, seed):
    """The verdict without pipes: how it is put together does not depend on them."""
    return judging._judged(build, 200, seed, silent, LUMPED)[0]


@pytest.fixture(scope="module")
def verdict(build):
    return judged(build, 1)


def test_same_seed_same_answer_another_seed_a_near_one(build, verdict):
    again = judged(build, 1)
    assert dataclasses.asdict(again) == dataclasses.asdict(verdict)
    other = judged(build, 2)
    assert other.governing.margin.value == verdict.governing.margin.value
    assert other.survival == pytest.approx(verdict.survival, abs=0.15)


def test_governing_limit_leads_and_breaks(verdict):
    assert verdict.governing == verdict.limits[0]
    assert verdict.governing.kind != "guide"
    guides = [limit.kind == "guide" for limit in verdict.limits]
    assert guides == sorted(guides), "guides come last"


def test_whole_engine_lives_no_better_than_its_worst_limit(verdict):
    worst = min(limit.survival for limit in verdict.limits if limit.kind != "guide")
    assert verdict.survival <= worst


def test_margin_is_capacity_over_demand(verdict):
    for limit in verdict.limits:
        if limit.margin.value < 900.0:
            assert limit.margin.value == pytest.approx(limit.capacity.value / limit.demand.value, rel=1e-9)


def test_ceiling_is_found_again_by_the_full_model(verdict, build):
    """The survival at the ceiling from the run there: within three standard errors of what is accepted."""
    assert verdict.ceiling.power is not None
    accepted = build.si("target.survival")
    error = math.sqrt(accepted * (1.0 - accepted) / 200)
    assert verdict.ceiling.checked == pytest.approx(accepted, abs=3.0 * error)
    powers = verdict.ceiling.fails_at
    assert powers.p05 < powers.p50 < powers.p90


def test_stronger_caps_raise_the_ceiling(verdict):
    by_id = {option.id: option for option in verdict.reinforcements}
    today = verdict.ceiling.power.value
    for name in ("ductile-caps", "steel-caps", "four-bolt-straight"):
        assert by_id[name].ceiling.value > 1.2 * today, name
    for name in ("grout", "top-plate", "keyed-caps"):
        assert by_id[name].ceiling is None
        assert "not modelled yet" in by_id[name].reason


def test_changes_of_the_mains_leave_bulkheads_walls_and_rods_alone(build, study):
    """The other limits are taken over from the build as it is: true only if no change touches them."""
    draw = Draw(50, seed=3)
    sampled = Sampled(study, draw)
    groups = ("bores", "head", "rods", "bulkheads")
    level = study.levels[study.wanted]
    own = {e.identity.id: e.margin for e in sampled.evaluate(build, level, groups)}
    for option in options(build):
        if option.reason:
            continue
        changed = build.with_changes(option.changes)
        for found in sampled.evaluate(changed, level, groups):
            assert found.margin == pytest.approx(own[found.identity.id], rel=1e-12), (
                option.id,
                found.identity.id,
            )


def test_figures_are_finite_and_chances_are_chances(verdict):
    def walk(value):
        if dataclasses.is_dataclass(value):
            for field in dataclasses.fields(value):
                yield from walk(getattr(value, field.name))
        elif isinstance(value, (tuple, list)):
            for item in value:
                yield from walk(item)
        elif isinstance(value, float):
            yield value

    assert all(math.isfinite(x) for x in walk(verdict))
    assert all(0.0 <= limit.survival <= 1.0 for limit in verdict.limits)
    assert 0.0 <= verdict.survival <= 1.0
