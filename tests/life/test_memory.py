"""Formulas remembered: the same figures, each computed once, nothing kept beyond the room given."""

from __future__ import annotations

import numpy as np

from blockwright.life.draw import Draw
from blockwright.life.study import Sampled
from blockwright.trace import Memory, formula, leaf_array, remembering

calls = []


@formula(symbol="y", unit="1", equation="y = k x", source="test")
def scaled(x, k=2.0):
    """Scaled."""
    calls.append(k)
    return k * x


def column(n=100, angles=1):
    return np.linspace(1.0, 2.0, n * angles).reshape(n, 1, 1, angles)


def test_a_known_array_is_computed_once_and_by_every_setting():
    calls.clear()
    with remembering(Memory()):
        x = leaf_array(column())
        first = scaled(x)
        assert scaled(x) is first
        assert scaled(scaled(x)) is scaled(first)
        assert np.array_equal(scaled(x, 3.0), 3.0 * x)
    assert calls == [2.0, 2.0, 3.0]


def test_an_unknown_array_and_what_follows_from_it_is_not_kept():
    calls.clear()
    with remembering(Memory()):
        x = column()
        assert scaled(x) is not scaled(x)
        x *= 2.0  # a working array may change: its results must follow
        assert np.array_equal(scaled(x), 2.0 * x)


def test_crank_angles_and_a_full_memory_are_not_kept():
    with remembering(Memory()):
        wide = leaf_array(column(angles=7))
        assert scaled(wide) is not scaled(wide)
    with remembering(Memory(room=100)):
        x = leaf_array(column())
        assert scaled(x) is not scaled(x)


def test_nothing_is_remembered_outside():
    x = column()
    with remembering(Memory()):
        leaf_array(x)
        inside = scaled(x)
    assert scaled(x) is not inside


def test_limits_are_the_same_with_and_without(build, study):
    draw = Draw(100)
    kept = Sampled(study, draw)
    level = study.levels[0]
    groups = ("bores", "head", "rods", "bulkheads", "mains")
    kept.evaluate(build, level, groups)
    again = kept.evaluate(build, level, groups)
    plain = study.evaluate(build, level, Draw(100), groups)
    for one, other in zip(again, plain, strict=True):
        assert one.identity == other.identity
        np.testing.assert_array_equal(one.margin, other.margin)
        np.testing.assert_array_equal(one.demand, other.demand)
