"""Engine and charger together: they settle, balance, and answer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

import blockwright as bw
from blockwright.errors import InputError
from blockwright.gas import from_build
from blockwright.gas.boost.answers import for_power, freed_exhaust
from blockwright.gas.boost.run import match_of, run, seen_of
from blockwright.gas.boost.words import cautions, forbids
from blockwright.gas.mesh import COARSE, LUMPED
from blockwright.gas.solve import solve

from .boosting import AIR, EXAMPLES, WANTED, four, lobe, point, steered, turbo, wheel

CP_AIR = 1005.0


def settled(steering, rpm, tolerance=1e-4, first=True):
    """The settled cycle from a cold guess (without `first` the build's figures), and the charger there."""
    if first:
        found = run(four(), point(rpm), steering, tolerance=tolerance)
        return found.cycle, found.match
    cycle = solve(four(), point(rpm), None, tolerance, steering=steering)
    return cycle, match_of(steering, cycle)


def blow_by(cycle):
    """Share of the flow that leaks past the rings; a driven blower's flows still agree no closer (open)."""
    passed = cycle.air_flow + cycle.fuel_flow
    return cycle.leaked * cycle.point.speed / (4.0 * math.pi) / passed


@pytest.mark.parametrize("rpm", [1500.0, 3000.0, 4000.0, 6000.0, 8000.0])
def test_settles_from_a_cold_guess_at_every_speed(rpm):
    """From the build's own figures, with an outlet that is no turbine's."""
    found, match = settled(steered(), rpm, first=False)
    assert found.cycles_run <= 40
    again, _ = settled(steered(), rpm)
    assert_allclose(again.brake_power, found.brake_power, rtol=5e-4)
    if match.limit == "wastegate":
        assert_allclose(found.point.plenum_pressure, WANTED, rtol=1e-4)
    else:
        assert match.limit == "gate shut"
        assert found.point.plenum_pressure < WANTED
        assert any("not reached" in sentence for sentence in cautions(match))


def test_a_settled_engine_restarts_where_it_was():
    steering = steered()
    found, _ = settled(steering, 6000.0, 1e-5)
    again = run(four(), point(6000.0), steering, found, 1e-4).cycle
    assert again.cycles_run <= 3
    assert_allclose(again.brake_power, found.brake_power, rtol=2e-4)
    more = steering.with_boost(1.03 * WANTED)
    near = run(four(), point(6000.0), more, found, 1e-4).cycle
    assert near.cycles_run <= 14
    assert_allclose(near.point.plenum_pressure, 1.03 * WANTED, rtol=1e-4)


def test_turbine_gives_what_compressor_and_bearings_take():
    """Balances at a settled state, from the streams' temperatures: independent of the shaft's own sums."""
    steering = steered()
    found, match = settled(steering, 6000.0, 1e-9)
    seen = seen_of(found)
    b, c = match.balance, match.balance.compression
    assert_allclose(b.turbine_power, b.compressor_power + match.bearing_loss, rtol=1e-9)
    taken = b.air * CP_AIR * (c.outlet_temperature - AIR.temperature)
    assert_allclose(taken, b.compressor_power, rtol=1e-9)
    assert_allclose(b.air, seen.air_flow * (1.0 + found.point.vapour), rtol=2e-5)
    # The exhaust that leaves is colder by the turbine's work.
    hot = seen.exhaust_temperature
    weighted = float(np.sum(hot * seen.outlet_flow) / np.sum(seen.outlet_flow))
    from blockwright.gas.boost.turbine import exhaust_gas

    gas = exhaust_gas(found.point, float(hot.mean()), float(seen.exhaust_pressure.mean()))
    left = b.gas_flow * gas.cp * (weighted - b.behind_temperature)
    # The engine's own outlet weighs the temperature a little otherwise: its gas varies over the cycle.
    assert_allclose(left, b.turbine_power, rtol=1e-3)
    assert_allclose(b.stretch, 1.0, atol=2e-5)
    assert_allclose(found.breathing.outlet_area, steering.machine.count * (b.swallowing + b.gate), rtol=1e-9)
    assert_allclose(found.point.exhaust_pressure, b.behind, rtol=1e-9)


def test_pulse_energy_counts():
    """Pulse energy factor 1.05 to 1.4 in practice (findings 9.3, from memory); one large volume damps it."""
    _, match = settled(steered(), 3000.0)
    assert 1.0 < match.balance.pulse_factor < 1.4
    assert 0.0 < match.ripple < 0.05


def test_two_small_turbochargers_do_as_one_of_twice_the_flow():
    """Half the flow in each: the same map scaled, half the areas, the same answer."""
    from blockwright.gas.boost import Compressor, generic_map

    one = steered()
    m = one.machine
    half = math.sqrt(0.5)
    two = replace(
        one,
        machine=replace(
            m,
            count=2,
            compressor=Compressor(generic_map(0.070 * half), None, m.compressor.tip_limit),
            turbine=replace(
                m.turbine, diameter=m.turbine.diameter * half, throat_area=0.5 * m.turbine.throat_area
            ),
            wastegate=replace(m.wastegate, diameter=m.wastegate.diameter * half),
            back_diameter=m.back_diameter * half,
        ),
    )  # fmt: skip
    a, first = settled(one, 6000.0, 1e-6)
    b, second = settled(two, 6000.0, 1e-6)
    assert_allclose(b.brake_power, a.brake_power, rtol=1e-6)
    assert_allclose(second.balance.turbine_power, first.balance.turbine_power, rtol=1e-6)
    assert_allclose(second.balance.compression.speed * half, first.balance.compression.speed, rtol=1e-6)


def test_a_small_wastegate_lets_the_boost_creep():
    found, match = settled(steered(area=0.9e-3, gate=0.012), 6500.0)
    assert match.limit == "gate open"
    assert match.gate_share == pytest.approx(1.0)
    assert found.point.plenum_pressure > 1.02 * WANTED
    assert any("creeps" in sentence for sentence in cautions(match))


def test_at_part_load_the_throttle_holds_what_the_gate_cannot():
    steering = steered().with_boost(0.8e5, throttled=True)
    found, match = settled(steering, 5000.0)
    assert_allclose(found.point.plenum_pressure, 0.8e5, rtol=1e-6)
    assert match.balance.delivered > AIR.pressure * 0.95


def test_overspeed_and_map_edges_are_told():
    own = steered(3.4e5)
    _, match = settled(own, 7200.0)
    found = cautions(replace(match, tip_limit=300.0))
    assert any("Overspeed" in sentence for sentence in found)
    assert forbids(replace(match, tip_limit=300.0))
    _, surging = settled(steered(), 3000.0)
    assert surging.balance.compression.edge == "surge"
    assert "surge" in forbids(surging)


def test_the_same_power_takes_less_boost_with_a_freer_exhaust():
    """Common practice, no source: a larger housing and a freer pipe behind it: boost, back pressure and peak
    pressure all fall at the same power."""
    answer = freed_exhaust(four(), point(7200.0), steered(), 313e3)
    before, after = answer.before, answer.after
    assert_allclose([before.power, after.power], 313e3, rtol=1e-3)
    assert after.boost < before.boost - 2e3
    assert after.back_pressure < before.back_pressure - 1e4
    assert after.peak_pressure < before.peak_pressure - 2e4


def test_a_power_that_the_turbine_cannot_make_is_refused():
    with pytest.raises(InputError, match="wastegate shut"):
        for_power(four(), point(3000.0), steered(area=2.2e-3), 300e3)


def test_a_blower_takes_its_work_from_the_crank():
    found, match = settled(lobe(), 5000.0, 1e-6)
    assert match.limit == "machine"
    power = found.charger_work * found.point.speed / (4.0 * math.pi)
    assert_allclose(power, match.shaft_power, rtol=blow_by(found))
    gas = match.delivery
    heated = gas.flow * CP_AIR * (gas.outlet_temperature - AIR.temperature)
    assert_allclose(heated, gas.power, rtol=1e-6)
    assert_allclose(gas.flow, match.air, rtol=1e-6)
    free = replace(found.point, charger_work=0.0)
    without = solve(found.breathing, free, found.restart)
    assert_allclose(without.brake_power - found.brake_power, power, rtol=1e-3)


def test_a_bypass_holds_the_boost_and_a_small_one_does_not():
    found, match = settled(lobe(control="bypass", bypass_area=5e-4), 6000.0)
    assert match.limit == "bypass"
    assert match.bypassed > 0.0
    assert_allclose(found.point.plenum_pressure, 1.8e5, rtol=1e-4)
    open_, second = settled(lobe(control="bypass", bypass_area=3e-5), 6000.0)
    assert second.limit == "bypass open"
    assert open_.point.plenum_pressure > 1.85e5
    assert any("bypass" in sentence for sentence in cautions(second))


@pytest.mark.parametrize("mesh", [LUMPED, COARSE], ids=lambda m: m.name)
@pytest.mark.parametrize("share", [0.4, 0.7, 1.0, 1.1])
@pytest.mark.parametrize("ratio", [0.9, 1.1])
def test_a_boost_that_follows_from_the_pulley_settles_from_a_cold_guess(ratio, share, mesh):
    """No cooler: the charge grows hotter with the boost, so the flow hardly grows with it."""
    made = bw.load(EXAMPLES / "blown_methanol_v8.toml").with_changes({"blower.drive_ratio": ratio})
    steering = from_build.steering(made)
    assert steering.control == "none"
    speed = share * made.si("target.speed")
    own = replace(from_build.operating_point(made, speed, turbulence=1.0), law="wiebe")
    cycle = solve(from_build.breathing(made), own, mesh=mesh, steering=steering)
    assert cycle.cycles_run <= 40
    match = match_of(steering, cycle)
    assert match.limit == "machine"
    assert_allclose(match.delivery.flow, match.air, rtol=1e-3)
    # From a guess on the other side it comes to the same boost.
    high = replace(own, plenum_pressure=1.5 * cycle.point.plenum_pressure)
    again = solve(from_build.breathing(made), high, mesh=mesh, steering=steering)
    assert_allclose(again.point.plenum_pressure, cycle.point.plenum_pressure, rtol=3e-3)


@pytest.mark.parametrize("mesh", [LUMPED, COARSE], ids=lambda m: m.name)
@pytest.mark.parametrize("diameter", ["10 mm", "60 mm"])
def test_a_given_pulley_with_a_bypass_settles(diameter, mesh):
    changes = {"blower.drive_ratio": 1.15, "blower.bypass_diameter": diameter}
    made = bw.load(EXAMPLES / "blown_methanol_v8.toml").with_changes(changes)
    steering = from_build.steering(made)
    assert steering.control == "bypass"
    own = replace(from_build.operating_point(made, turbulence=1.0), law="wiebe")
    cycle = solve(from_build.breathing(made), own, mesh=mesh, steering=steering)
    assert cycle.cycles_run <= 40
    match = match_of(steering, cycle)
    assert match.limit == ("bypass" if diameter == "60 mm" else "bypass open")
    assert_allclose(match.delivery.flow, match.air + match.bypassed, rtol=1e-3)


@pytest.mark.parametrize("make", [lobe, wheel])
def test_the_drive_ratio_that_gives_a_boost_is_found(make):
    found, match = settled(make(control="drive"), 6000.0, 1e-6)
    assert match.limit == "drive"
    assert_allclose(found.point.plenum_pressure, 1.8e5, rtol=1e-6)
    fixed = make().with_drive(match.drive_ratio)
    again, second = settled(fixed, 6000.0, 1e-6)
    assert_allclose(again.point.plenum_pressure, 1.8e5, rtol=blow_by(found))
    assert_allclose(second.shaft_power, match.shaft_power, rtol=2.0 * blow_by(found))


def test_a_slow_pulley_does_not_reach_the_boost():
    _, match = settled(lobe(drive_ratio=1.0), 4000.0)
    assert match.plenum_pressure < 1.8e5
    assert any("pulley" in sentence for sentence in cautions(match))


def test_wanted_boosts_that_cannot_be_are_refused():
    with pytest.raises(InputError):
        steered(math.nan)
    with pytest.raises(InputError):
        steered().with_boost(-1.0)
    assert turbo().count == 1
