"""The ceiling against engines whose breaking power is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from blockwright.life.ceiling import (
    breaking_power,
    failure_powers,
    power_at_chance,
    standard_error,
    survival_at,
    system,
)
from blockwright.life.draw import Draw, uncertain

POWERS = np.array([100e3, 150e3, 220e3, 330e3, 500e3])


def test_margin_that_falls_as_a_power_of_power_breaks_exactly_where_it_should():
    wanted = np.array([120e3, 300e3, 499e3])
    margins = (wanted[None, :] / POWERS[:, None]) ** 1.7
    assert breaking_power(margins, POWERS, POWERS) == pytest.approx(wanted, rel=1e-12)


def test_friction_between_charge_and_power_is_seen():
    """Loads go with charge; power = a charge - friction.  A load-driven margin breaks at its own charge."""
    charges = np.array([0.5, 1.0, 1.6, 2.5])
    powers = 400e3 * charges - 100e3
    margins = (1.3 / charges)[:, None]
    assert breaking_power(margins, powers, charges)[0] == pytest.approx(400e3 * 1.3 - 100e3, rel=1e-12)


def test_below_and_above_the_levels_looked_at():
    margins = np.column_stack([np.full(5, 0.9), np.full(5, 1.1)])
    assert breaking_power(margins, POWERS, POWERS).tolist() == [-np.inf, np.inf]


def test_first_crossing_counts_when_a_margin_recovers():
    margins = np.array([[1.2], [0.8], [1.5], [1.5], [1.5]])
    assert 100e3 < breaking_power(margins, POWERS, POWERS)[0] < 150e3


def test_survival_of_a_log_normal_strength_follows_the_closed_form():
    """Independent route: breaking power log-normal, so survival is a normal integral."""
    draw = Draw(4000, seed=3)
    strength = draw.sample(uncertain("strength", 250e3, 30e3, "lognormal"))
    broken = breaking_power(strength[None, :] / POWERS[:, None], POWERS, POWERS)[1:]
    s = np.sqrt(np.log1p((30 / 250) ** 2))
    for power in (200e3, 250e3, 290e3):
        assert survival_at(broken, power) == pytest.approx(ndtr(np.log(250e3 / power) / s), abs=2e-3)
    assert power_at_chance(broken, 0.05) == pytest.approx(250e3 * np.exp(-1.6449 * s), rel=3e-3)


def test_system_is_the_weakest_limit_engine_by_engine_and_not_a_product():
    """Two limits with one common cause: the system's chance is the weaker's, not their product."""
    draw = Draw(2000, seed=1)
    common = draw.sample(uncertain("iron", 1.0, 0.1, "lognormal"))
    a, b = 250e3 * common, 260e3 * common
    whole = system([a, b])
    assert survival_at(whole, 240e3) == survival_at(a, 240e3)
    assert survival_at(whole, 240e3) > survival_at(a, 240e3) * survival_at(b, 240e3)


def test_quantile_out_of_range_is_none_and_units_convert():
    broken = np.concatenate([np.full(10, -np.inf), np.full(90, 200e3)])
    powers = failure_powers(broken, "kW", 1e-3)
    assert powers.p05 is None
    assert powers.p50 == pytest.approx(200.0)


def test_standard_error_is_never_zero():
    assert standard_error(1.0, 1000) == pytest.approx(0.001, rel=1e-2)


def test_draw_does_not_depend_on_the_order_of_asking_and_row_0_is_nominal():
    first, second = Draw(200, seed=5), Draw(200, seed=5)
    a, b = uncertain("a", 2.0, 0.1, "normal"), uncertain("b", 3.0, 1.0, "normal")
    a1, b1 = first.sample(a), first.sample(b)
    b2, a2 = second.sample(b), second.sample(a)
    assert np.array_equal(a1, a2)
    assert np.array_equal(b1, b2)
    assert a1[0] == 2.0
    assert b1[0] == 3.0
    assert b1.min() > 0.0, "a wide spread of a positive quantity is log-normal"
    assert abs(np.corrcoef(a1, b1)[0, 1]) < 0.2
