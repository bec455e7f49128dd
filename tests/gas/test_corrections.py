"""Correction standards: refusals, limits of use, and that an engine of known physics follows them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.corrections import (
    STANDARDS,
    Air,
    correct,
    dry_pressure,
    sae_j1349_factor,
    saturation_pressure,
)
from blockwright.trace import Leaf, Node, Traced

MILD = Air(98e3, 293.15, 0.4)


@pytest.mark.parametrize("name", STANDARDS)
def test_a_standards_own_air_needs_no_correction(name):
    standard = STANDARDS[name]
    # Standards count in whole degrees above 273, so that 25 deg C is 298 K.
    air = Air(standard.pressure, standard.temperature, 0.0)
    assert_allclose(standard.of(air), 1.0, atol=4e-4)


@pytest.mark.parametrize("name", STANDARDS)
@given(p=st.floats(85e3, 104e3), t=st.floats(280.0, 312.0), h=st.floats(0.0, 0.9))
def test_thin_or_hot_air_is_corrected_upwards(name, p, t, h):
    standard = STANDARDS[name]
    here = standard.of(Air(p, t, h))
    assert standard.of(Air(p - 500.0, t, h)) > here
    assert standard.of(Air(p, t + 1.0, h)) > here


def test_din_knows_no_humidity_and_the_others_do():
    dry, damp = Air(98e3, 300.0, 0.0), Air(98e3, 300.0, 0.9)
    assert STANDARDS["din-70020"].of(dry) == STANDARDS["din-70020"].of(damp)
    for name in ("sae-j1349", "sae-j607", "iso-1585"):
        assert STANDARDS[name].of(damp) > STANDARDS[name].of(dry)


def test_friction_power_that_is_known_moves_the_indicated_part_alone():
    """Independent route: indicated power scales, friction stays."""
    air = Air(95e3, 303.15, 0.5)
    scale = 99e3 / air.dry * ((303.15 - 0.15) / 298.0) ** 0.5
    found = correct(300e3, air, "sae-j1349", friction_power=60e3)
    assert_allclose(found.corrected, 360e3 * scale - 60e3, rtol=1e-12)
    assert_allclose(found.factor, found.corrected / 300e3, rtol=1e-12)
    # ISO has no such form.
    assert correct(300e3, air, "iso-1585", friction_power=60e3) == correct(300e3, air, "iso-1585")


@pytest.mark.parametrize(
    ("air", "said"),
    [
        (Air(98e3, 283.15, 0.4), "10.0 °C"),
        (Air(98e3, 313.15, 0.2), "40.0 °C"),
        (Air(86e3, 298.15, 0.0), "86.0 kPa"),
        (Air(92e3, 307.15, 0.5), "factor"),
    ],
)
def test_leaving_a_standards_range_is_said(air, said):
    found = correct(300e3, air, "sae-j1349")
    assert not found.within
    assert any(said in reason for reason in found.reasons)
    assert found.corrected == pytest.approx(found.factor * 300e3)


def test_within_the_range_nothing_is_said():
    for name in STANDARDS:
        found = correct(300e3, MILD, name)
        assert found.within
        assert found.reasons == ()


def test_nitrous_share_is_left_as_it_is():
    bare = correct(300e3, MILD, "iso-1585")
    found = correct(300e3, MILD, "iso-1585", nitrous_share=0.25)
    assert_allclose(found.corrected, 300e3 * (0.25 + 0.75 * bare.factor), rtol=1e-12)
    assert not found.within
    assert "25 %" in found.reasons[0]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pressure": 0.0}, "pressure"),
        ({"pressure": float("nan")}, "pressure"),
        ({"humidity": 1.2}, "humidity"),
        ({"pressure": 3e3, "temperature": 310.0, "humidity": 1.0}, "less than that of its water vapour"),
    ],
)
def test_air_that_cannot_be_is_refused(change, said):
    with pytest.raises(InputError, match=said):
        Air(**({"pressure": 98e3, "temperature": 293.15, "humidity": 0.4} | change))


def test_air_outside_the_vapour_formula_is_refused():
    with pytest.raises(OutsideValidity, match="-60"):
        Air(98e3, 213.15, 0.0)


def test_names_and_shares_that_cannot_be_are_refused():
    with pytest.raises(InputError, match="sae-j1349, sae-j607, iso-1585, din-70020"):
        correct(1.0, MILD, "sae")
    with pytest.raises(InputError, match=r"0\.\.1"):
        correct(1.0, MILD, "iso-1585", nitrous_share=1.0)
    with pytest.raises(InputError, match="friction"):
        correct(-5.0, MILD, "sae-j1349", friction_power=1.0)


def test_a_factor_can_be_traced_to_the_weather():
    """Under the tracer the chain from barometer to factor is recorded and replays to the same number."""
    import numpy as np

    def leaf(name: str, value: float, unit: str) -> Traced:
        return Traced(Node(np.array(value), leaf=Leaf("build", f"conditions.{name}", unit)))

    pressure, temperature = leaf("pressure", 98e3, "Pa"), leaf("temperature", 303.15, "K")
    dry = dry_pressure(pressure, leaf("humidity", 0.6, "1"), saturation_pressure(temperature))
    found = sae_j1349_factor(dry, temperature)
    assert_allclose(found.value, STANDARDS["sae-j1349"].of(Air(98e3, 303.15, 0.6)), rtol=1e-12)
    names = {node.leaf.name for node in found.node.walk() if node.leaf}
    assert names == {"conditions.pressure", "conditions.temperature", "conditions.humidity"}
