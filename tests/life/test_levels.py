"""Charge levels away from the wanted power, and the way to the ceiling between them."""

from __future__ import annotations

import numpy as np
import pytest

from blockwright.life.ceiling import charge_at_chance, power_at_chance
from blockwright.life.draw import Draw
from blockwright.life.levels import over_levels
from blockwright.life.study import Sampled, run, with_level


@pytest.mark.parametrize("charge", [0.7, 1.4])
def test_nitrous_oxide_keeps_its_share_away_from_the_wanted_power(nitrous, charge):
    """The engine is made stronger as a whole: same mixture, same charge temperature, more or less of it."""
    level = with_level(nitrous, charge).levels[0 if charge < 1.0 else -1]
    assert level.charge == charge
    for ours, wanted in zip(level.operations, nitrous.levels[0].operations, strict=True):
        assert wanted.cycle.point.nitrous > 0.05
        assert ours.cycle.point.nitrous == wanted.cycle.point.nitrous
        assert ours.cycle.point.lambda_ == wanted.cycle.point.lambda_
        there = ours.cycle.point.plenum_temperature
        assert there == pytest.approx(wanted.cycle.point.plenum_temperature, abs=2.0)
        assert ours.cycle.nitrous_flow == pytest.approx(
            wanted.cycle.nitrous_flow * ours.cycle.air_flow / wanted.cycle.air_flow, rel=2e-3
        )
    assert np.sign(level.power - nitrous.cycle.brake_power) == np.sign(charge - 1.0)


def test_a_turbochargers_back_pressure_and_heat_rise_with_power(turbo):
    more = with_level(with_level(turbo, 0.75), 1.3)
    powers = [level.power for level in more.levels]
    back = [float(level.cycle.exhaust_pressure.mean()) for level in more.levels]
    charge = [level.cycle.point.plenum_temperature for level in more.levels]
    made = [level.cycle.point.plenum_pressure for level in more.levels]
    for rising in (powers, back, charge):
        assert np.all(np.diff(rising) > 0.0)
    assert made == pytest.approx([level.charge * more.base for level in more.levels], rel=2e-3)


def test_charge_of_a_chance_is_exact_for_margins_that_are_parabolas_in_logs():
    charges = np.array([0.6, 1.0, 1.6])
    strength = Draw(999, seed=2).z("strength")[1:]
    x = np.log(charges)[None, :, None]
    margins = np.exp(0.1 + 0.2 * strength - 1.2 * x - 0.4 * x**2)
    found = charge_at_chance(np.concatenate([margins, 3.0 * margins]), charges, 0.05)
    # 5 % are weaker than -1.645: 1.2 x + 0.4 x^2 = 0.1 - 0.2 * 1.645
    left = 0.1 - 0.2 * 1.6449
    root = (-1.2 + np.sqrt(1.2**2 + 1.6 * left)) / 0.8
    assert np.log(found) == pytest.approx(root, abs=2e-3)


def test_no_charge_where_the_chance_does_not_lie_between_levels():
    charges = np.array([0.6, 1.0, 1.6])
    assert charge_at_chance(np.full((2, 3, 50), 1.5), charges, 0.05) is None
    assert charge_at_chance(np.full((2, 3, 50), 0.5), charges, 0.05) is None


def test_preview_is_close_to_the_full_answer(study, build):
    """Coarse pipes against fine ones on the same samples: ceiling within 5 %, peak pressure within 2 %."""
    ceilings, peaks = [], []
    for one in (study, run(build)):
        found, _ = over_levels(Sampled(one, Draw(200, seed=3)), 0.95)
        ceilings.append(power_at_chance(found.system[1:], 0.05))
        peaks.append(float(one.cycle.peak_pressure.max()))
    assert ceilings[0] == pytest.approx(ceilings[1], rel=0.05)
    assert peaks[0] == pytest.approx(peaks[1], rel=0.02)
