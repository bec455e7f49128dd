"""Spark for best torque, knock limit and margins: on a function that is known, and on closed cycles."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError, NotSettled
from blockwright.gas.closed import closed_details
from blockwright.gas.knock import ATMOSPHERE, Octane, effective_octane, knock_integral, knock_onset
from blockwright.gas.model import Trapped
from blockwright.gas.spark import (
    BATCH,
    Swept,
    closed_run,
    evaluate,
    knock_limited_spark,
    nitrous_oxygen,
    spark_for_best_torque,
    spark_margin,
)
from tests.gas.engines import engine, point

SPEED = 100.0 * np.pi


class Known:
    """An invented engine: most work at a known spark, end gas hotter the earlier the spark."""

    def __init__(self, best: float = 27.3, hottest: float = 850.0) -> None:
        self.best, self.hottest, self.calls, self.sizes = best, hottest, 0, []

    def __call__(self, sparks: np.ndarray) -> Swept:
        self.calls += 1
        self.sizes.append(sparks.size)
        angle = np.where(np.arange(720) >= 360, np.arange(720) - 720.0, np.arange(720.0))
        shut = np.abs(angle) < 130.0
        bump = np.exp(-(((angle - 12.0) / 40.0) ** 2))
        top = self.hottest + 3.0 * (sparks - 20.0)
        temperature = np.where(shut, 380.0 + (top[:, None] - 380.0) * bump, np.nan)
        pressure = np.where(shut, 1e5 + 55e5 * bump**3, np.nan) * np.ones((sparks.size, 1))
        work = 800.0 - 0.4 * (sparks - self.best) ** 2 + 0.002 * (sparks - self.best) ** 3
        return Swept(work, np.nanmax(pressure, axis=1), pressure, temperature)


def exact_limit(run: Known, index: float) -> float:
    """Independent route: bisection on single sparks."""
    low, high = -10.0, 60.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        need = evaluate(run, np.array([middle]), SPEED).required[0]
        low, high = (middle, high) if need < index else (low, middle)
    return low


def test_best_torque_is_found_in_two_calls():
    run = Known()
    best, work = spark_for_best_torque(run, SPEED)
    assert best.found == "inside"
    assert_allclose(best.spark, 27.3, atol=0.1)
    assert_allclose(work, 800.0, atol=0.01)
    assert run.calls == 2
    assert max(run.sizes) <= BATCH


@pytest.mark.parametrize("hottest", [820.0, 850.0, 900.0])
def test_knock_limit_against_bisection(hottest):
    run = Known(hottest=hottest)
    limit = knock_limited_spark(run, SPEED, 95.0)
    assert limit.found == "inside"
    assert_allclose(limit.spark, exact_limit(run, 95.0), atol=0.01)


def test_margins_hang_together():
    run, octane = Known(), Octane(95.0, 2.0, 0.3, 0.0)
    run_point = point(3000.0, lambda_=1.0)
    margin = spark_margin(run, 20.0, octane, run_point)
    assert_allclose(margin.degrees_margin, exact_limit(run, 95.0) - 20.0, atol=0.1)
    assert_allclose(
        margin.octane_margin, 95.0 - evaluate(run, np.array([20.0]), SPEED).required[0], atol=1e-9
    )
    assert np.sign(margin.octane_margin) == np.sign(margin.degrees_margin)
    assert margin.retard == max(-margin.degrees_margin, 0.0)
    assert_allclose(margin.best.spark, 27.3, atol=0.3)
    assert margin.best_work >= margin.work
    assert margin.octane_u > 2.0
    assert margin.degrees_u > margin.octane_u / margin.slope
    assert not margin.caution
    assert np.isnan(margin.onset) == (margin.octane_margin > 0.0)


def test_a_spark_beyond_the_limit_knocks_and_says_by_how_much():
    octane = Octane(85.0, 2.0, 0.3, 0.0)
    margin = spark_margin(Known(), 35.0, octane, point(3000.0, lambda_=1.0))
    assert margin.octane_margin < 0.0
    assert margin.degrees_margin < 0.0
    assert margin.retard == -margin.degrees_margin
    assert -60.0 < margin.onset < 60.0


def test_limits_outside_the_search_are_said():
    run_point = point(3000.0, lambda_=1.0)
    never = spark_margin(Known(hottest=650.0), 20.0, Octane(95.0, 2.0, 0.3, 0.0), run_point)
    always = spark_margin(Known(hottest=1100.0), 20.0, Octane(95.0, 2.0, 0.3, 0.0), run_point)
    assert never.limited.found == "earlier"
    assert "at least" in never.caution
    assert always.limited.found == "later"
    assert "at most" in always.caution
    early, _ = spark_for_best_torque(Known(best=75.0), SPEED)
    assert early.found == "earlier"


def test_a_cycle_without_work_is_not_used():
    def broken(sparks: np.ndarray) -> Swept:
        swept = Known()(sparks)
        work = swept.work.copy()
        work[0] = np.nan
        return Swept(work, swept.peak, swept.pressure, swept.end_gas_temperature)

    with pytest.raises(NotSettled, match="-10 deg"):
        spark_for_best_torque(broken, SPEED)


def test_the_range_must_rise():
    with pytest.raises(InputError, match="earliest"):
        spark_for_best_torque(Known(), SPEED, latest=30.0, earliest=10.0)


def charged(ratio: float = 10.5, pressure: float = 1e5, temperature: float = 355.0, **more):
    """A charge shut in at 150 deg before the top, 5 % of it burned, and a point with its law."""
    breathing = engine(ratio=ratio)
    given = {"lambda_": 0.88, "law": "wiebe", "spark": -24.0, "ca10": -4.0, "burn_10_90": 25.0}
    at = point(3000.0, **(given | more))
    volume = float(breathing.volume(np.array(-150.0)))
    mass = pressure * volume / (277.0 * temperature)
    masses = mass * (0.95 * at.charge() + 0.05 * at.ash())
    return breathing, Trapped(-150.0, pressure, temperature, masses), at


def need(spark: float = 24.0, **more) -> float:
    breathing, trapped, at = charged(**more)
    run = closed_run(breathing, trapped, at)
    return float(evaluate(run, np.array([spark]), at.speed).required[0])


def test_what_makes_real_cycles_knock():
    base = need()
    assert need(ratio=11.5) > base > need(ratio=9.5)
    assert need(pressure=1.5e5) > base
    assert need(temperature=370.0) > base
    assert need(26.0) > base > need(22.0)


def test_margin_of_a_closed_cycle():
    breathing, trapped, at = charged()
    octane = effective_octane("petrol-98", ATMOSPHERE)
    margin = spark_margin(closed_run(breathing, trapped, at), 24.0, octane, at)
    assert margin.best.found == "inside"
    assert 15.0 < margin.best.spark < 40.0
    again = knock_limited_spark(closed_run(breathing, trapped, at), at.speed, octane.index)
    assert_allclose(margin.limited.spark, again.spark, atol=0.2)
    assert margin.best_work >= margin.limited_work - 1e-6


def test_onset_is_that_of_the_kernel():
    """Independent route: the kernel sums the same delay step by step while it burns the charge."""
    breathing, trapped, at = charged()
    sparks = np.array([24.0, 28.0, 32.0])
    cycles = closed_details(breathing, trapped, at, ca10=at.ca10 - sparks - at.spark)
    angle = np.arange(-360.0, 360.0)
    pressure, end_gas = (np.roll(x, 360, axis=1) for x in (cycles.pressure, cycles.unburned_temperature))
    onset = knock_onset(angle, knock_integral(pressure, end_gas, angle, at.speed, at.octane))
    assert np.all(np.isfinite(onset))
    assert_allclose(onset, cycles.knock_angle, atol=0.05)


def test_what_counts_as_end_gas_is_part_of_the_spread():
    breathing, trapped, at = charged()
    sweep = evaluate(closed_run(breathing, trapped, at), np.array([24.0]), at.speed)
    assert 0.5 < sweep.end_u[0] < 8.0


def test_flame_and_spark():
    """With the flame law the spark itself moves; later sparks burn later and need less octane."""
    breathing, trapped, at = charged(law="flame")
    run = closed_run(breathing, trapped, at)
    sweep = evaluate(run, np.array([5.0, 15.0, 25.0]), at.speed)
    assert np.all(np.diff(sweep.required) > 0.0)
    assert np.all(np.diff(sweep.peak) > 0.0)


def test_nitrous_share_of_the_oxygen():
    """A kilogram of nitrous brings 1.571 times a kilogram of air's oxygen (A29)."""
    assert nitrous_oxygen(point()) == 0.0
    assert_allclose(nitrous_oxygen(point(nitrous=0.2)), 0.2 * 1.571 / (1 + 0.2 * 1.571), rtol=1e-3)
    margin = spark_margin(Known(), 20.0, Octane(95.0, 2.0, 0.3, 0.0), point(3000.0, lambda_=1.0, nitrous=0.2))
    assert "nitrous" in margin.caution
