"""The charge with nitrous oxide: enthalpy balance, limits, steering, and what both leave alone."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas import solve
from blockwright.gas.evaporation import air_before
from blockwright.gas.from_build import charge_temperature
from blockwright.gas.fuels import working_gas
from blockwright.gas.kernels import jit
from blockwright.gas.nitrous import charge as module
from blockwright.gas.nitrous.charge import (
    air_equivalent,
    bottle_enthalpy,
    charge_lambda,
    charge_with_nitrous,
    default_evaporation,
    fuel_per_air,
    vapour_limit,
)
from blockwright.gas.nitrous.feed import FixedFlow
from blockwright.gas.nitrous.saturation import saturation_pressure
from blockwright.gas.nitrous.steering import NitrousFeed, nitrous_feed
from blockwright.gas.steering import Seen

from .engines import engine, point

LIQUID = bottle_enthalpy(293.15)
P = 1.0e5


def fuel_of(nitrous: float, fuel: str = "petrol-98", lambda_: float = 0.88) -> float:
    gas = working_gas(fuel)
    return float(fuel_per_air(nitrous, lambda_, gas.air_fuel_ratio, air_equivalent(fuel)))


def test_places_in_the_packed_constants_are_the_kernels() -> None:
    assert module._R_FIRST == jit.G_R_AIR
    assert (module._R_FIRST + 1, module._R_FIRST + 2) == (jit.G_R_FUEL, jit.G_R_NITROUS)
    assert module._AIR_OF_NITROUS == jit.G_AIR_OF_NITROUS


def test_mixture_agrees_with_cantera_and_coolprop() -> None:
    """Independent route: enthalpies of air and gas by Cantera, of the bottle's liquid by CoolProp."""
    cp = pytest.importorskip("CoolProp.CoolProp")
    ct = pytest.importorskip("cantera")
    make = pytest.importorskip("blockwright.gas.tables.make")
    every = ct.Species.list_from_file(make.MECHANISM)
    wanted = [s for s in every if s.name in ("O2", "N2", "Ar", "N2O")]
    gas = ct.Solution(thermo="ideal-gas", species=wanted)
    n, t_air = 0.25, 303.0
    air, nitrous = dict(make.AIR), {"N2O": 1.0}
    gas.TPX = t_air, P, air
    before = gas.enthalpy_mass
    # Liquid in the bottle to gas at 25 C and next to no pressure, where both count alike.
    lift = cp.PropsSI("H", "T", 298.15, "P", 10.0, "NitrousOxide") - cp.PropsSI(
        "H", "T", 293.15, "Q", 0, "NitrousOxide"
    )
    gas.TPX = 298.15, P, nitrous
    before += n * (gas.enthalpy_mass - lift)

    def after(t: float) -> float:
        gas.TPX = t, P, air
        h = gas.enthalpy_mass
        gas.TPX = t, P, nitrous
        return h + n * gas.enthalpy_mass - before

    low, high = 200.0, 303.0
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if after(middle) < 0.0 else (low, middle)
    found = charge_with_nitrous(t_air, P, "petrol-98", 0.0, n, LIQUID)
    assert_allclose(found.temperature, low, atol=0.3)


@pytest.mark.parametrize("fuel", ["petrol-98", "race-petrol", "e85", "methanol", "nitro-90"])
def test_without_nitrous_it_is_the_charge_of_the_gas_model(fuel: str) -> None:
    """And `air_before` takes it back to the air, saturated or not."""
    for pressure in (0.5e5, 1e5, 2.4e5):
        for lambda_ in (0.72, 0.88, 1.0):
            f = fuel_of(0.0, fuel, lambda_=lambda_)
            for air in (285.0, 310.0, 350.0):
                found = charge_with_nitrous(
                    air, pressure, fuel, f, 0.0, LIQUID, fuel_evaporation=0.4, heating=10.0
                )
                alone = charge_temperature(air, pressure, fuel, lambda_, 0.4, 10.0)
                assert_allclose(found.temperature, alone, atol=1e-6)
                assert (found.displaced, found.air_filling, found.cooling) == (0.0, 1.0, 0.0)
                back = air_before(found.temperature, fuel, pressure, f, 0.4, 10.0)
                assert_allclose(back, air, atol=1e-6)


def test_a_trace_of_nitrous_changes_a_trace() -> None:
    """No step between the charge without and the charge with nitrous oxide, saturated by its fuel or not."""
    for fuel in ("petrol-98", "methanol"):
        f = fuel_of(0.0, fuel)
        made = charge_with_nitrous(
            300.0, P, fuel, f, 1e-6, LIQUID, fuel_evaporation=0.4, heating=8.0, fuel_without=f
        )
        assert abs(made.cooling) < 1e-3


def test_fuel_evaporates_no_more_than_saturates_beside_nitrous() -> None:
    """Independent route: the share of methanol at the end has its vapour's pressure among all moles."""
    n, f = 0.3, fuel_of(0.3, "methanol")

    def mixed(share: float) -> float:
        return charge_with_nitrous(
            300.0, P, "methanol", f, n, LIQUID, fuel_without=0.0, fuel_evaporation=share
        ).temperature

    held = mixed(1.0)
    low, high = 0.02, 1.0
    for _ in range(40):
        share = 0.5 * (low + high)
        trial = mixed(share)
        moles = share * f / 32.042e-3
        at_25 = 16.9e3 * math.exp(
            -working_gas("methanol").latent_heat * 32.042e-3 / 8.314462618 * (1.0 / trial - 1.0 / 298.15)
        )
        over = P * moles / (moles + 1.0 / 28.962e-3 + n / 44.013e-3) > at_25
        low, high = (low, share) if over else (share, high)
    assert 0.02 < share < 0.3
    assert held < mixed(0.02)
    assert_allclose(held, trial, atol=1e-3)


@given(st.floats(0.001, 0.8), st.floats(0.0, 0.2))
def test_more_nitrous_is_colder_and_displaces_more(nitrous: float, more: float) -> None:
    a, b = (
        charge_with_nitrous(300.0, P, "petrol-98", fuel_of(n), n, LIQUID) for n in (nitrous, nitrous + more)
    )
    assert b.displaced >= a.displaced - 1e-9
    if not a.limited:
        assert b.temperature <= a.temperature + 1e-9


def test_what_stays_liquid_cools_less_before_the_valve() -> None:
    cold, warm = (
        charge_with_nitrous(300.0, P, "petrol-98", fuel_of(0.2), 0.2, LIQUID, evaporation=y).temperature
        for y in (1.0, 0.8)
    )
    assert warm - cold > 5.0
    assert default_evaporation("port") < default_evaporation("plate") <= 1.0


def test_vapour_from_the_bottle_cools_less_than_liquid() -> None:
    wet, dry = (
        charge_with_nitrous(300.0, P, "petrol-98", fuel_of(0.2), 0.2, bottle_enthalpy(293.15, kind)).cooling
        for kind in (True, False)
    )
    assert dry < 0.7 * wet


def test_very_much_nitrous_cannot_evaporate_in_its_own_vapour() -> None:
    found = charge_with_nitrous(300.0, P, "petrol-98", fuel_of(3.0), 3.0, LIQUID)
    assert found.limited
    assert 0.3 < found.vapour_share < 0.9
    r = working_gas("petrol-98").constants[9:12]
    moles = np.array([r[0], fuel_of(3.0) * r[1], 3.0 * found.vapour_share * r[2]])
    assert_allclose(P * moles[2] / moles.sum(), vapour_limit(found.temperature), rtol=1e-4)


def test_vapour_limit_is_continuous_at_the_end_of_the_table() -> None:
    assert_allclose(vapour_limit(183.15 - 1e-9), float(saturation_pressure(183.15)), rtol=1e-6)
    assert vapour_limit(170.0) < vapour_limit(180.0) < vapour_limit(190.0)


def test_lambda_and_fuel_undo_each_other() -> None:
    gas = working_gas("e85")
    f = fuel_of(0.3, "e85", 0.8)
    assert_allclose(charge_lambda(0.3, f, gas.air_fuel_ratio, air_equivalent("e85")), 0.8)


def test_refuses_what_cannot_be() -> None:
    with pytest.raises(InputError, match="nitrous per air"):
        charge_with_nitrous(300.0, P, "petrol-98", 0.07, -0.1, LIQUID)
    with pytest.raises(InputError, match=r"0\.\.1"):
        charge_with_nitrous(300.0, P, "petrol-98", 0.07, 0.1, LIQUID, evaporation=1.2)
    with pytest.raises(InputError, match="plate or port"):
        default_evaporation("fogger")
    with pytest.raises(InputError, match="positive"):
        NitrousFeed(FixedFlow(0.05), LIQUID, -3.0)


# --- steering ---------------------------------------------------------------------------------------


def seen(air: float = 0.25, plenum: float = 1e5) -> Seen:
    flat = np.full(720, 1e5)
    return Seen(air, 0.02, 0.0, 0.3, plenum, flat, flat, flat, 2e5, np.zeros(8))


def test_fixed_flow_over_the_air_that_was_seen() -> None:
    start = point()
    feed = nitrous_feed(FixedFlow(0.05), LIQUID, start.plenum_temperature)
    found, _, change = feed.step(start, engine(), seen())
    assert_allclose(found.nitrous, 0.2)
    assert found.lambda_ == start.lambda_
    assert found.plenum_temperature < start.plenum_temperature - 25.0
    assert change > 0.1
    again, _, rest = feed.step(found, engine(), seen())
    assert rest < 1e-12
    assert again == found


def test_no_flow_changes_nothing() -> None:
    start = point()
    found, _, change = nitrous_feed(FixedFlow(0.0), LIQUID, start.plenum_temperature).step(
        start, engine(), seen()
    )
    assert_allclose(found.plenum_temperature, start.plenum_temperature, atol=1e-5)
    assert (found.nitrous, found.lambda_) == (0.0, start.lambda_)
    assert change < 1e-7


def test_given_fuel_jet_sets_lambda() -> None:
    start = point()
    gas = start.gas
    feed = nitrous_feed(FixedFlow(0.05, 0.05 / 7.0), LIQUID, start.plenum_temperature, own_lambda=0.88)
    found, _, _ = feed.step(start, engine(), seen())
    fuel = 0.25 / (gas.air_fuel_ratio * 0.88) + 0.05 / 7.0
    assert_allclose(found.fuel_per_air, fuel / 0.25, rtol=1e-12)
    dry = nitrous_feed(FixedFlow(0.05), LIQUID, start.plenum_temperature, own_lambda=0.88)
    leaner, _, _ = dry.step(start, engine(), seen())
    assert_allclose(leaner.lambda_, 0.88 * (1 + air_equivalent("petrol-98") * 0.2), rtol=1e-12)


def test_lambda_off_the_tables_is_refused_once_it_has_settled() -> None:
    start = point()
    feed = nitrous_feed(FixedFlow(0.2), LIQUID, start.plenum_temperature, own_lambda=0.95)
    found, _, _ = feed.step(start, engine(), seen())  # held at the edge while it moves
    assert_allclose(found.lambda_, start.gas.lambda_range[1])
    with pytest.raises(OutsideValidity, match=r"charge has lambda 2\.1"):
        feed.step(found, engine(), seen())


def test_no_air_yet_waits() -> None:
    start = point()
    found, _, change = nitrous_feed(FixedFlow(0.05), LIQUID, 300.0).step(start, engine(), seen(air=0.0))
    assert found == start
    assert change >= 1.0


@dataclasses.dataclass(frozen=True)
class Warmer:
    """A charger that brings the temperature half way to 340 K in each step, from where it stands."""

    def step(self, point, breathing, seen):
        new = point.plenum_temperature + 0.5 * (340.0 - point.plenum_temperature)
        change = abs(new / point.plenum_temperature - 1.0)
        return dataclasses.replace(point, plenum_temperature=new, plenum_pressure=1.5e5), breathing, change


def test_charger_sees_the_charge_without_nitrous() -> None:
    now = point()
    feed = nitrous_feed(FixedFlow(0.05), LIQUID, now.plenum_temperature, charger=Warmer())
    for _ in range(40):
        now, _, change = feed.step(now, engine(), seen())
    assert change < 1e-6
    assert now.plenum_pressure == 1.5e5
    made = feed.charge(now, 340.0, now.nitrous, now.fuel_per_air)
    assert_allclose(now.plenum_temperature, made.temperature, atol=1e-3)


def test_engine_and_feed_settle_together() -> None:
    """The nitrous that the settled engine burns is the jet's flow; power rises by its oxygen and heat."""
    build, now = engine(4), point(5000.0)
    without = solve(build, now)
    feed = nitrous_feed(FixedFlow(0.02), LIQUID, now.plenum_temperature)
    cycle, start = without, without.restart
    for _ in range(8):
        told = dataclasses.replace(seen(cycle.air_flow), plenum_pressure=float(cycle.plenum_pressure.mean()))
        now, build, change = feed.step(now, build, told)
        if change < 2e-5:
            break
        cycle = solve(build, now, start)
        start = cycle.restart
    assert change < 2e-5
    assert_allclose(now.nitrous * cycle.air_flow, 0.02, rtol=1e-4)
    burned = cycle.trapped.masses[2] / cycle.trapped.masses[0]
    assert_allclose(burned, now.nitrous, rtol=1e-3)
    gain = cycle.brake_power - without.brake_power
    assert 0.3e6 < gain / 0.02 / 1.0 < 6e6  # J for each kg: more than none, less than all its oxygen's heat
    assert cycle.mass_residual < 1e-9
