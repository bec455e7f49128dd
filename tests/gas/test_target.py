"""The search for a wanted power, on levers that are formulas and on the demo engines."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import blockwright as bw
from blockwright.errors import InputError, NotSettled, OutsideValidity
from blockwright.gas.answer import curve_for
from blockwright.gas.mesh import LUMPED
from blockwright.gas.target import Lever, back_pressure_forbids, solve_target, target

DEMOS = Path(__file__).parents[2] / "examples"
RPM = math.pi / 30.0


def lever(power: Any, low: float = 0.0, high: float = 10.0) -> Lever:
    """A lever whose engine is a formula."""

    def run(value: float, start: Any) -> Any:
        return SimpleNamespace(cycle=SimpleNamespace(brake_power=power(value), restart=None), value=value)

    return Lever("lever", "1", low, high, run, lambda value, ran: value, "the end is reached")


@given(wanted=st.floats(1.0, 900.0), shape=st.floats(0.3, 3.0))
def test_finds_the_place_of_any_rising_power(wanted, shape):
    found = solve_target(None, wanted, 1.0, lever(lambda x: 1000.0 * (x / 10.0) ** shape))
    assert found.reached
    assert found.found == pytest.approx(wanted, rel=6e-4)
    assert found.value == pytest.approx(10.0 * (wanted / 1000.0) ** (1.0 / shape), rel=3e-3)


def test_too_much_is_told_with_what_there_is():
    found = solve_target(None, 1200.0, 1.0, lever(lambda x: 100.0 * x))
    assert not found.reached
    assert found.value is None
    assert found.found == 1000.0
    assert found.reason == "the end is reached"


def test_too_little_is_told():
    found = solve_target(None, 50.0, 1.0, lever(lambda x: 100.0 + x))
    assert not found.reached
    assert found.found == 100.0
    assert "least" in found.reason


def test_power_exactly_at_an_end_counts_as_reached():
    assert solve_target(None, 1000.0, 1.0, lever(lambda x: 100.0 * x)).value == 10.0
    assert solve_target(None, 100.0, 1.0, lever(lambda x: 100.0 + x)).value == 0.0


@pytest.mark.parametrize("error", [NotSettled, OutsideValidity])
def test_where_the_model_ends_the_lever_ends(error):
    """Beyond 6 nothing settles: a power below that end is found, one above it is refused with the reason."""

    def power(x: float) -> float:
        if x > 6.0:
            raise error("it swings")
        return 100.0 * x

    assert solve_target(None, 400.0, 1.0, lever(power)).value == pytest.approx(4.0, rel=1e-3)
    found = solve_target(None, 900.0, 1.0, lever(power))
    assert not found.reached
    assert "it swings" in found.reason


def test_what_forbids_is_asked_at_the_answer_only():
    asked = []

    def forbids(ran, build):
        asked.append(ran.value)
        return "the fuel ends" if ran.value > 5.0 else None

    found = solve_target(None, 700.0, 1.0, lever(lambda x: 100.0 * x), hindrances=(forbids,))
    assert found.reached
    assert not found.allowed
    assert found.forbidden == ("the fuel ends",)
    assert len(asked) == 1
    assert solve_target(None, 300.0, 1.0, lever(lambda x: 100.0 * x), hindrances=(forbids,)).allowed


@pytest.mark.parametrize("power", [0.0, -1.0, math.nan, math.inf])
def test_powers_that_cannot_be_are_refused(power):
    with pytest.raises(InputError, match="power"):
        solve_target(None, power, 1.0, lever(lambda x: x))


def test_high_back_pressure_forbids():
    import numpy as np

    def ran(ratio: float) -> Any:
        return SimpleNamespace(
            cycle=SimpleNamespace(
                exhaust_pressure=np.full(720, ratio * 2e5), plenum_pressure=np.full(720, 2e5)
            )
        )

    assert back_pressure_forbids(ran(1.5), None) is None
    assert "2.5" in back_pressure_forbids(ran(2.5), None)


# --- engines ---------------------------------------------------------------------------------------


def given_burn(name: str) -> Any:
    """A demo build whose burn is given: what is tested here is the search, not the flame."""
    return bw.load(DEMOS / name).with_changes({"spark.law": "wiebe"})


@pytest.fixture(scope="module")
def turbo():
    return given_burn("turbo_four.toml")


def test_more_power_takes_more_boost_and_costs_peak_pressure(turbo):
    speed = 6500 * RPM
    low, high = (target(turbo, power, speed, LUMPED) for power in (220e3, 300e3))
    assert low.lever == high.lever == "boost"
    assert high.value > low.value > 0.0
    assert high.ran.cycle.peak_pressure.mean() > low.ran.cycle.peak_pressure.mean()
    assert high.found == pytest.approx(300e3, rel=6e-4)


def test_curve_is_run_at_the_charge_that_the_target_takes(turbo):
    found, answer = curve_for(
        turbo, [5500 * RPM, 6500 * RPM], power=300e3, at=6500 * RPM, spread=False, mesh=LUMPED
    )
    assert found.points[-1].value("power") == pytest.approx(300e3, rel=2e-3)
    assert found.setting.plenum_pressure == pytest.approx(answer.value + turbo.si("conditions.pressure"))
    assert any("which the target takes" in note for note in found.notes)


def test_atmospheric_engine_is_throttled_below_and_short_above():
    build = given_burn("hillclimb_v8.toml")
    full, answer = curve_for(build, [5000 * RPM], power=2e6, at="peak", spread=False, mesh=LUMPED)
    assert not answer.reached
    assert "wide open" in answer.reason
    assert answer.found == pytest.approx(full.points[0].value("power"), rel=2e-3)
    part = target(build, 0.6 * answer.found, 5000 * RPM, LUMPED)
    assert part.lever == "throttle opening"
    assert 0.02 < part.value < 0.6
    assert part.ran.cycle.plenum_pressure.mean() < 0.9 * build.si("conditions.pressure")


def test_a_throttled_answer_leaves_the_curve_at_full_load():
    build = given_burn("hillclimb_v8.toml")
    found, answer = curve_for(build, [5000 * RPM], power=1e5, at=5000 * RPM, spread=False, mesh=LUMPED)
    assert answer.reached
    assert found.points[0].value("power") > 1.5 * answer.found
    assert dataclasses.asdict(found.setting) == {"opening": 1.0, "plenum_pressure": None, "nitrous": None}
