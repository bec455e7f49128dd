"""From power to jets and back: the way there and the way back meet; spark rule; refusals."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.fuels import working_gas
from blockwright.gas.nitrous.feed import Line, fuel_jet_flow, through
from blockwright.gas.nitrous.inlet import liquid
from blockwright.gas.nitrous.jet import Jet, jet_flow
from blockwright.gas.nitrous.sizing import (
    flow_for_power,
    fuel_jet_for_flow,
    jet_for_flow,
    jets_for_power,
    power_of_jets,
    temperatures_between,
)
from blockwright.gas.nitrous.spark import customary_retard, retard_needed

from .engines import point

ROOM = 293.15


def engine_power(flow: float) -> float:
    """A made-up engine: 250 kW, and what nitrous adds with falling returns."""
    return 250e3 + 2.4e6 * flow - 2.0e6 * flow**2


def test_flow_for_power_hits_it_in_few_runs() -> None:
    found = flow_for_power(engine_power, 350e3)
    assert_allclose(found.power, 350e3, rtol=1e-3)
    assert_allclose(found.without, 250e3)
    exact = (2.4 - np.sqrt(2.4**2 - 4 * 2.0 * 0.1)) / 4.0
    assert_allclose(found.flow, exact, rtol=5e-3)
    assert len(found.tried) <= 7


def test_flow_for_power_refuses() -> None:
    with pytest.raises(InputError, match="without nitrous"):
        flow_for_power(engine_power, 240e3)
    with pytest.raises(OutsideValidity, match="less than the 600 kW"):
        flow_for_power(engine_power, 600e3, most=0.15)


def test_jets_pass_the_flow_they_were_chosen_for() -> None:
    for line in (None, Line(8e-3, 4.5, 3.0)):
        jet = jet_for_flow(0.08, liquid(ROOM), 1e5, count=2, line=line)
        assert_allclose(through(liquid(ROOM), jet, 1e5, line)[0], 0.08, rtol=1e-4)
    fuel = fuel_jet_for_flow(0.012, "e85", 4e5, 1e5, count=2)
    assert_allclose(fuel_jet_flow(fuel, "e85", 4e5, 1e5), 0.012, rtol=1e-12)


def test_line_that_is_too_thin_is_named() -> None:
    with pytest.raises(OutsideValidity, match=r"line of 3\.0 mm"):
        jet_for_flow(0.3, liquid(ROOM), 1e5, line=Line(3e-3, 4.5, 10.0))


def test_power_to_jets_and_back_meet() -> None:
    t = temperatures_between(278.15, 330.0, 5)
    there = jets_for_power(
        engine_power,
        350e3,
        t,
        fuel="petrol-98",
        shot_lambda=0.75,
        fuel_pressure=4e5,
        back_pressure=1e5,
        count=2,
    )
    assert t[-1] < 309.52
    assert np.all(np.diff(there.pressure) > 0.0)
    assert np.all((there.spread > 0.02 * there.diameter) & (there.spread < 0.15 * there.diameter))
    for i in (0, 2, 4):
        back = power_of_jets(engine_power, Jet(float(there.diameter[i]), 2), t, back_pressure=1e5)
        assert_allclose(back.power[i], 350e3, rtol=2e-3)
        assert np.all(back.spread > 0.0)
    ratio = there.flow / there.fuel_flow
    gas = working_gas("petrol-98")
    assert_allclose(ratio, 0.75 * gas.air_fuel_ratio / gas.constants[15], rtol=1e-9)


def test_power_falls_as_the_bottle_cools() -> None:
    curve = power_of_jets(engine_power, Jet(1.6e-3), temperatures_between(263.15, 301.15), back_pressure=1e5)
    assert np.all(np.diff(curve.power) > 0.0)
    assert_allclose(curve.flow, jet_flow(liquid(curve.temperature), Jet(1.6e-3), 1e5).flow)


def test_refuses_bad_wishes() -> None:
    with pytest.raises(InputError, match="above 0"):
        jet_for_flow(0.0, liquid(ROOM), 1e5)
    with pytest.raises(InputError, match="both the flow and the pressure"):
        fuel_jet_for_flow(0.01, "e85", 1e5, 1e5)
    with pytest.raises(InputError, match="lambda of the shot"):
        jets_for_power(engine_power, 350e3, [ROOM], fuel="e85", shot_lambda=0.0, fuel_pressure=4e5,
                       back_pressure=1e5)  # fmt: skip
    with pytest.raises(OutsideValidity, match="no liquid"):
        jets_for_power(engine_power, 350e3, [320.0], fuel="e85", shot_lambda=0.8, fuel_pressure=4e5,
                       back_pressure=1e5)  # fmt: skip
    with pytest.raises(InputError, match="at least 3"):
        power_of_jets(engine_power, Jet(1e-3), [ROOM], back_pressure=1e5, runs=2)


def test_trades_rule_stands_beside_the_search() -> None:
    """100 hp takes about 4 degrees: common practice, no source."""
    assert_allclose(np.degrees(customary_retard(100 * 745.69987, np.radians(2.0))), 4.0, rtol=1e-6)
    asked = []

    def advance(p) -> float:
        asked.append(p)
        return 30.0 - 40.0 * p.nitrous

    found = retard_needed(advance, point(), point(nitrous=0.2), 100 * 745.69987)
    assert_allclose([found.needed, found.customary], [8.0, 4.0], rtol=1e-6)
    assert [p.nitrous for p in asked] == [0.0, 0.2]
