"""A whole nitrous system: jets for a flow, a fuel jet that sets lambda, modes and refusals."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError
from blockwright.gas.nitrous.bottle import aluminium_bottle
from blockwright.gas.nitrous.charge import stoichiometric_ratio
from blockwright.gas.nitrous.feed import Line
from blockwright.gas.nitrous.jet import Jet
from blockwright.gas.nitrous.system import System
from blockwright.gas.steering import Seen

from .engines import engine, point

WET = System(
    aluminium_bottle(4.54 / 670.0, 4.54, 298.15),
    Jet(1e-3, 2),
    "petrol-98",
    fuel_pressure=4e5,
    line=Line(8e-3, 4.5, 3.0),
    activation_speed=3000 * math.pi / 30,
)


def seen(air: float) -> Seen:
    flat = np.full(720, 1e5)
    return Seen(air, 0.02, 0.0, 0.3, 1e5, flat, flat, flat, 2e5, np.zeros(8))


def test_jets_for_a_flow_give_it_and_its_mixture() -> None:
    made = WET.jetted(0.06, 0.8, 1e5)
    nitrous, fuel = made.feed.at(1e5)
    assert_allclose(nitrous, 0.06, rtol=1e-4)
    assert_allclose(nitrous / fuel, 0.8 * stoichiometric_ratio("petrol-98"), rtol=1e-3)
    assert made.fuel_jet is not None
    rounded = WET.jetted(0.06, 0.8, 1e5, lambda d: round(d * 2e4) / 2e4)  # drills by 0.05 mm
    assert abs(rounded.jet.diameter - made.jet.diameter) <= 0.025e-3 + 1e-12


def test_fuel_jet_decides_lambda_and_none_holds_it() -> None:
    start = point()
    for system, held in ((WET.jetted(0.06, 0.6, 1e5), False), (WET, True)):
        found, _, _ = system.steering(start.plenum_temperature, 0.88).step(start, engine(), seen(0.3))
        assert (found.lambda_ == start.lambda_) is held
        assert found.nitrous > 0.0
    assert found.lambda_ == 0.88


def test_a_pass_uses_the_same_jets() -> None:
    told = WET.jetted(0.06, 0.8, 1e5).through_pass(1e5, 8.0)
    assert_allclose(told.flow[0], 0.06, rtol=3e-4)
    assert_allclose(told.used, np.trapezoid(told.flow, told.time), rtol=1e-3)


def test_it_is_off_below_its_speed() -> None:
    assert not WET.on(2500 * math.pi / 30)
    assert WET.on(3500 * math.pi / 30)


def test_refuses_contradictions() -> None:
    with pytest.raises(InputError, match="wet or dry"):
        dataclasses.replace(WET, mode="damp")
    with pytest.raises(InputError, match="dry system has none"):
        dataclasses.replace(WET, mode="dry", fuel_jet=Jet(1e-3))
    with pytest.raises(InputError, match="needs a fuel pressure"):
        dataclasses.replace(WET, fuel_jet=Jet(1e-3), fuel_pressure=0.0)
    assert dataclasses.replace(WET, mode="dry").jetted(0.06, 0.8, 1e5).fuel_jet is None
