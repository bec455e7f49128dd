"""From a build to breathing and operating point."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import load, loads
from blockwright.errors import InputError
from blockwright.gas import from_build, solve

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda p: p.stem)
def build(request):
    return load(request.param)


def test_every_demo_engine_runs(build):
    breathing, point = from_build.breathing(build), from_build.operating_point(build)
    cycle = solve(breathing, point)
    assert cycle.mass_residual < 1e-9
    assert cycle.energy_residual < 1e-9
    # The model knows no ram: a tuned engine makes more than this, none makes half of it.
    assert 0.4 < cycle.brake_power / build.si("target.power") < 1.3


def test_clearance_volume_adds_up(build):
    """Independent route: the compression ratio by hand."""
    bore, stroke = build.si("casting.bore"), build.si("crank.stroke")
    gasket = build.si("heads.gasket_bore") ** 2 * build.si("heads.gasket_thickness")
    deck = bore**2 * build.si("pistons.deck_clearance")
    above = build.si("heads.chamber_volume") + math.pi / 4 * (gasket + deck) + build.si("pistons.dish")
    ratio = 1.0 + math.pi / 4 * bore**2 * stroke / above
    assert_allclose(from_build.breathing(build).compression_ratio, ratio, rtol=2e-4)


def test_part_load_lowers_the_plenum(build):
    full, half = (from_build.operating_point(build, load=x) for x in (1.0, 0.5))
    assert_allclose(half.plenum_pressure, 0.5 * full.plenum_pressure)
    assert half.exhaust_pressure == full.exhaust_pressure
    with pytest.raises(InputError, match="load"):
        from_build.operating_point(build, load=1.5)


def test_plenum_state_can_be_given(build):
    point = from_build.operating_point(build, plenum_pressure=2.1e5)
    assert point.plenum_pressure == 2.1e5


def test_burning_takes_more_angle_at_speed(build):
    target = build.si("target.speed")
    low, high = (from_build.operating_point(build, f * target) for f in (0.5, 1.0))
    assert_allclose(high.burn_10_90 / low.burn_10_90, 2.0 ** (1 / 3), rtol=1e-9)
    assert_allclose(math.radians(high.burn_10_90), build.si("spark.burn_duration"), rtol=1e-9)


def test_constants_are_in_the_catalogue():
    """Every constant the gas model reads has a value, a spread and a meaning."""
    from blockwright.build import catalogue

    names = [n for n in catalogue.names("model") if n.startswith("gas.")]
    assert len(names) >= 14
    for name in names:
        row = catalogue.row("model", name)
        assert math.isfinite(row.si("value"))
        assert row.u("value") > 0.0


def test_humid_air():
    """Humidity ratio of saturated air at 30 C, 1 atm: 0.0272, common psychrometric charts (from memory)."""
    assert_allclose(from_build.water_per_air(101325.0, 303.15, 1.0), 0.0272, rtol=0.01)
    assert from_build.water_per_air(101325.0, 303.15, 0.0) == 0.0


def test_full_evaporation_cools_as_published():
    """A49: all the heat from the air alone: 24 K petrol, 102 K ethanol, 180 K methanol (recomputed).

    Ours shares it with the fuel vapour's own heat capacity, so it must stay below.
    """
    for fuel, cooling in (("petrol-95", 23.8), ("ethanol", 101.7), ("methanol", 179.6)):
        drop = 300.0 - from_build.charge_temperature(300.0, fuel, 1.0, 1.0, 0.0)
        assert 0.75 * cooling < drop < cooling


def test_given_lift_curves_are_used():
    build = load(EXAMPLES[0])
    points = [["330 deg", "0 in"], ["400 deg", "0.2 in"], ["460 deg", "0.5 in"], ["530 deg", "0.2 in"]]
    events = dict.fromkeys(("cam.intake_opens", "cam.intake_closes", "cam.intake_lift"))
    changed = build.with_changes({**events, "cam.intake_curve": [*points, ["590 deg", "0 in"]]})
    lift = from_build.lift_curve(changed, "intake")
    assert_allclose(lift[460 * 4], 0.5 * 0.0254, rtol=1e-9)
    assert np.flatnonzero(lift)[0] >= 330 * 4
    assert lift[600 * 4] == 0.0


def test_a_mixture_beyond_the_tables_of_burned_gas_is_named_with_its_line():
    text = EXAMPLES[-1].read_text(encoding="utf-8").replace('lambda = "0.84"', 'lambda = "0.50"')
    made = loads(text, "rich.toml")
    with pytest.raises(InputError, match=r"fuel\.lambda \(line \d+\): read 0\.5; .* from 0\.59 to 1\.67"):
        from_build.operating_point(made)
