"""From a build to breathing and operating point."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import catalogue, load, loads
from blockwright.errors import InputError
from blockwright.gas import from_build, solve, steering_from_build
from blockwright.gas.boost.driven import BlowerSteering
from blockwright.gas.boost.steering import TurboSteering
from blockwright.gas.fuels import working_gas
from blockwright.gas.nitrous.steering import NitrousFeed

from ..build.helpers import MINIMAL
from ..build.helpers import build as invented

HEADS = MINIMAL["heads"]
FUELS_OF_BUILDS = catalogue.names("fuel")

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda p: p.stem)
def build(request):
    return load(request.param)


def test_every_demo_engine_runs(build):
    breathing, point = from_build.breathing(build), from_build.operating_point(build)
    cycle = solve(breathing, point, steering=from_build.steering(build))
    assert cycle.mass_residual < 1e-9
    assert cycle.energy_residual < 1e-9
    # With its own charger and nitrous oxide.  The pipes make the whole target within 8 %; without their ram
    # a tuned engine keeps two thirds or more of the charge (volumetric efficiency 0.75 of 1.1).
    assert 0.6 < cycle.brake_power / build.si("target.power") < 1.05


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

    Ours shares it with the fuel vapour's own heat capacity, so it must stay below.  The air is hot enough
    for all of it to evaporate.
    """
    for fuel, cooling in (("petrol-95", 23.8), ("ethanol", 101.7), ("methanol", 179.6)):
        drop = 480.0 - from_build.charge_temperature(480.0, 1e5, fuel, 1.0, 1.0, 0.0)
        assert 0.75 * cooling < drop < cooling


def test_alcohols_cool_the_charge_no_further_than_their_vapour_saturates():
    """Without that end rich methanol would come to 246 K and nitro-90 to 220 K; petrol never meets it.

    Warmed by 10 K: the figures of docs/models/fuels.md.
    """

    def made(fuel, lambda_):
        return from_build.charge_temperature(300.0, 1e5, fuel, lambda_, 0.4, 10.0)

    assert_allclose(made("methanol", 0.72), 272.0, atol=0.5)
    assert_allclose(made("nitro-90", 0.50), 287.0, atol=0.5)
    for fuel in ("petrol-95", "petrol-98", "race-petrol", "race-petrol-oxygenated"):
        gas = working_gas(fuel)
        for lambda_ in (0.75, 0.9):
            f = 1.0 / (gas.air_fuel_ratio * lambda_)
            by_hand = 310.0 - 0.4 * gas.latent_heat * f / (1005.0 + 1650.0 * f)
            assert_allclose(made(fuel, lambda_), by_hand, atol=0.5)


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
    made = loads(text, str(EXAMPLES[-1]))  # beside its compressor map
    with pytest.raises(InputError, match=r"fuel\.lambda \(line \d+\): read 0\.5; .* from 0\.59 to 1\.67"):
        from_build.operating_point(made)


# --- burning, octane ---------------------------------------------------------------------------------


def test_flame_is_told_its_spark_turbulence_and_plug():
    made = invented(
        {"spark.advance": "31 deg", "spark.plug_offset": "0.806 in", "heads": {**HEADS, "tumble": 0.8}}
    )
    point = from_build.operating_point(made)
    assert point.law == "flame"
    assert_allclose(point.spark, -31.0)
    assert_allclose(point.turbulence * catalogue.row("model", "flame.turbulence").si("value"), 0.8)
    assert_allclose(point.plug_offset, 0.806 / 2.015)


def test_given_angles_make_a_curve_of_burning():
    point = from_build.operating_point(invented({"spark.ca50": "9 deg"}))
    assert point.law == "wiebe"


def test_octane_index_is_between_the_two_numbers_or_beyond_by_boost():
    """Petrol 98/87.5: K falls with manifold pressure, so the index rises towards and past RON."""
    free, blown = (from_build.operating_point(invented(), plenum_pressure=p).octane for p in (1e5, 2e5))
    assert 87.5 < free < 98.0
    assert blown > free


def test_nitromethane_is_given_the_octane_of_its_base():
    nitro = from_build.operating_point(invented({"fuel": {"kind": "nitro-20"}}))
    methanol = from_build.operating_point(invented({"fuel": {"kind": "methanol"}}))
    assert nitro.octane == methanol.octane


@pytest.mark.parametrize("fuel", FUELS_OF_BUILDS)
def test_the_default_mixture_of_every_fuel_is_in_its_table(fuel):
    point = from_build.operating_point(invented({"fuel": {"kind": fuel}}))
    low, high = point.gas.lambda_range
    assert low < 0.95 * point.lambda_
    assert 1.05 * point.lambda_ < high


# --- steering ----------------------------------------------------------------------------------------


def test_nothing_steers_an_engine_without_machines():
    assert from_build.steering(invented()) is None
    told = invented({"boost": {"kind": "turbo", "pressure": "9 psi"}})
    assert from_build.steering(told) is None


def test_turbocharger_is_the_builds():
    made = load(Path(__file__).parents[2] / "examples/turbo_four.toml")
    steering = from_build.steering(made)
    assert isinstance(steering, TurboSteering)
    machine = steering.machine
    assert_allclose(steering.wanted, made.si("conditions.pressure") + 1.45e5)
    assert machine.compressor.map.name.startswith("Saltpan Lane")
    assert_allclose(machine.compressor.wheel, 0.066)
    assert_allclose(machine.turbine.throat_area, 1090e-6)
    assert_allclose(machine.wastegate.area / machine.wastegate.discharge, math.pi / 4 * 0.038**2)
    assert_allclose(machine.cooler.drop, 9e3)
    assert machine.count == 1


def test_a_wheel_that_is_only_assumed_gives_way_to_the_one_of_the_map():
    made = load(Path(__file__).parents[2] / "examples/turbo_four.toml")
    steering = from_build.steering(made.with_changes({"turbo.compressor_diameter": None}))
    assert isinstance(steering, TurboSteering)
    assert steering.machine.compressor.diameter is None
    assert_allclose(steering.machine.compressor.wheel, 0.066)


@pytest.mark.parametrize(
    ("blower", "control"),
    [
        ({"principle": "lobe", "displacement": "5 l"}, "drive"),
        ({"principle": "lobe", "displacement": "5 l", "drive_ratio": 1.4}, "none"),
        (
            {"principle": "screw", "displacement": "2.3 l", "drive_ratio": 2.2, "bypass_diameter": "40 mm"},
            "bypass",
        ),
        ({"principle": "centrifugal"}, "drive"),
        ({"principle": "centrifugal", "drive_ratio": 9.0}, "none"),
    ],
)
def test_blower_is_controlled_by_what_is_told(blower, control):
    made = invented({"boost": {"kind": "blower", "pressure": "8 psi"}, "blower": blower})
    steering = from_build.steering(made)
    assert isinstance(steering, BlowerSteering)
    assert steering.control == control
    assert (steering.bypass_area > 0.0) == (control == "bypass")


def test_nitrous_flows_from_its_activation_speed_and_takes_its_retard():
    made = invented(
        {
            "nitrous": {
                "power": "150 hp",
                "bottle_mass": "10 lb",
                "activation_speed": "3000 rpm",
                "retard": "7 deg",
            }
        }
    )
    slow, fast = (rpm * math.pi / 30.0 for rpm in (2900.0, 3100.0))
    assert from_build.steering(made, slow) is None
    assert isinstance(from_build.steering(made, fast), NitrousFeed)
    points = [from_build.operating_point(made, speed) for speed in (slow, fast)]
    assert_allclose(points[1].spark - points[0].spark, 7.0)
    assert_allclose(points[1].ca10, from_build.operating_point(invented(), fast).ca10 + 7.0)


def test_first_sizing_of_nitrous_is_the_trades_within_its_scatter():
    """A hundred horsepower takes 0.7 to 1.2 lb in ten seconds: common practice, no source."""
    made = invented({"nitrous": {"power": "100 hp", "bottle_mass": "10 lb"}})
    flow = steering_from_build.flow_for_wanted_power(made, "petrol-98", 0.87)
    assert 0.7 < flow * 10.0 / 0.45359237 < 1.2


def test_jets_of_the_wanted_power_pass_its_flow():
    """The sizing in reverse: the jets found, run from the same bottle, give the flow they were made for."""
    made = invented({"nitrous": {"power": "150 hp", "bottle_mass": "10 lb", "place": "port"}})
    feed = from_build.steering(made)
    assert isinstance(feed, NitrousFeed)
    assert feed.feed.jet.count == 8
    wanted = steering_from_build.flow_for_wanted_power(made, "petrol-98", made.si("fuel.lambda"))
    assert_allclose(feed.feed.at(from_build.operating_point(made).plenum_pressure)[0], wanted, rtol=1e-4)


def test_a_given_fuel_jet_sets_the_mixture():
    nitrous = {"jet": "0.050 in", "fuel_jet": "0.040 in", "bottle_mass": "10 lb"}
    feed = from_build.steering(invented({"nitrous": nitrous}))
    assert isinstance(feed, NitrousFeed)
    assert feed.own_lambda == 0.87
    assert feed.feed.at(1e5)[1] > 0.0
    del nitrous["fuel_jet"]
    without = from_build.steering(invented({"nitrous": nitrous}))
    assert isinstance(without, NitrousFeed)
    assert without.own_lambda is None


def test_nitrous_stands_behind_the_charger():
    made = invented(
        {
            "boost": {"kind": "turbo", "pressure": "9 psi"},
            "turbo": {},
            "nitrous": {"power": "150 hp", "bottle_mass": "10 lb"},
        }
    )
    feed = from_build.steering(made)
    assert isinstance(feed, NitrousFeed)
    assert isinstance(feed.charger, TurboSteering)
