"""Slopes of what shapes the pressure, against the whole engine run again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from blockwright.life import charge as charges
from blockwright.life.draw import Draw, uncertain
from blockwright.life.shaping import _moved, burn_move, shaping


@pytest.fixture(scope="module")
def operation(lumped):
    return lumped.levels[0].operations[1]


@pytest.mark.parametrize(
    ("path", "step"),
    [
        ("spark.burn_duration", np.radians(3.0)),
        ("spark.ca10_delay", np.radians(2.0)),
        ("spark.advance", np.radians(3.0)),
    ],
)
def test_slopes_are_those_of_the_engine_run_again(lumped, operation, path, step):
    """Build changed both ways, engine settled anew: its own 10 % burned and burn duration.

    Anchored to delay and duration the flame moves 10 % burned with the one and its length with the
    other; a third of a degree may be left of what each does to the other.
    """
    build = lumped.build
    shape = operation.shaping
    name = f"build {path}"
    if name not in shape.slopes:
        value = build.values[path]
        build = replace(build, values={**build.values, path: replace(value, u=abs(step))})
        shape, _ = shaping(build, operation.speed, operation.cycle)
    seen = []
    for sign in (1.0, -1.0):
        engine = charges.engine_of(_moved(build, path, sign * step), lumped.engine.mesh)
        burn = charges.run_at(engine, operation.speed, 1.0, lumped.base).burn
        seen.append([burn.ca10, np.log(burn.burn_10_90)])
    by_engine = (np.array(seen[0]) - np.array(seen[1])) / (2.0 * step)
    assert shape.slopes[name][2] == pytest.approx(by_engine[0], rel=0.1, abs=0.3 / abs(step))
    assert shape.slopes[name][3] == pytest.approx(by_engine[1], rel=0.1, abs=0.01 / abs(step))


def test_log_normal_quantities_move_the_inputs_by_their_logs():
    wide, narrow = uncertain("a", 2.0, 1.5, "normal"), uncertain("b", 2.0, 0.1, "normal")
    draw = Draw(500, seed=1)
    values = draw.sample(wide)
    assert wide.lognormal
    assert not narrow.lognormal
    assert wide.moved(values) == pytest.approx(2.0 * np.log(values / 2.0))
    assert narrow.moved(np.array([2.0, 2.3])) == pytest.approx([0.0, 0.3])


def test_an_early_burn_is_a_short_one(operation):
    move = burn_move(operation.shaping)
    assert np.count_nonzero(move) == 2
    assert move[2] * move[3] > 0.0
    total = sum((s * operation.shaping.variables[n].sd) ** 2 for n, s in operation.shaping.slopes.items())
    # Delay and duration are told apart, so that no one direction holds all of either.
    for k in (2, 3):
        assert 0.3 < abs(move[k]) / np.sqrt(total[k]) <= 1.0
