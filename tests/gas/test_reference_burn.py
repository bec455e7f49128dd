"""The turbulence that makes a burn duration."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

import blockwright as bw
from blockwright.errors import OutsideValidity
from blockwright.gas import from_build
from blockwright.gas.closed import closed_details
from blockwright.gas.reference_burn import (
    BEST_CA50,
    reference_burn,
    reference_turbulence,
    usual_charge,
)

from .engines import engine, point

EXAMPLES = ("minimal", "hillclimb_v8", "dragboat_v8", "nitrous_v8", "blown_methanol_v8", "turbo_four")


def made(breathing, running, factor):
    """Duration with half burned at 8 deg that a factor makes, by a dense row of sparks [deg]."""
    sparks = np.linspace(-83.0, 10.0, 94)
    marks = closed_details(
        breathing, usual_charge(breathing, running), running, spark=sparks, turbulence=factor
    ).burn_angles()
    return float(np.interp(BEST_CA50, marks[:, 2], marks[:, 3] - marks[:, 1]))


@pytest.mark.parametrize("bore", [0.066, 0.086, 0.102, 0.130])
@pytest.mark.parametrize("rpm", [1500.0, 6000.0, 12000.0])
@pytest.mark.parametrize(("valves", "wanted"), [(1, 35.0), (2, 27.0)])
def test_the_found_turbulence_burns_as_long_as_wanted(bore, rpm, valves, wanted):
    """Independent: a dense row of sparks with the found factor; half a spark's step of interpolation."""
    chamber = {"quench_share": 0.35, "plug_offset": 0.36} if valves == 1 else {"quench_share": 0.1}
    e, p = engine(1, bore=bore, stroke=0.87 * bore), point(rpm, law="flame", **chamber)
    found = reference_burn(e, p, wanted)
    assert found.reached
    assert found.note is None
    assert found.burn_10_90 == pytest.approx(wanted, rel=1e-9)
    assert made(e, p, found.turbulence) == pytest.approx(wanted, abs=0.05)


def test_a_longer_burn_takes_less_turbulence():
    """Monotone and without a jump, from end to end of reach."""
    e, p = engine(1), point(6000.0, law="flame", quench_share=0.35)
    low, high = reference_burn(e, p, 30.0).reach
    wanted = np.linspace(low + 0.1, high - 0.1, 25)
    factors = np.log([reference_turbulence(e, p, float(w)) for w in wanted])
    assert np.all(np.diff(factors) < 0.0)
    assert np.abs(np.diff(factors, 2)).max() < 0.5 * np.abs(np.diff(factors)).max()


@pytest.mark.parametrize("wanted", [4.0, 95.0])
def test_out_of_reach_is_cut_to_the_nearest_end_and_said(wanted):
    e, p = engine(1), point(6000.0, law="flame")
    found = reference_burn(e, p, wanted)
    low, high = found.reach
    assert not found.reached
    assert found.burn_10_90 == pytest.approx(low if wanted < low else high)
    assert made(e, p, found.turbulence) == pytest.approx(found.burn_10_90, abs=0.1)
    assert f"{wanted:.1f} deg" in str(found.note)
    with pytest.raises(OutsideValidity, match="burn_duration"):
        reference_turbulence(e, p, wanted)


def test_a_flame_that_is_never_in_time_takes_the_end_on_its_side(monkeypatch):
    """Sparks held so late, or so early, that half can never have burned at 8 deg."""
    e, p = engine(1), point(6000.0, law="flame", quench_share=0.35)
    for earliest, latest, end in ((-3.0, 8.0, 5.0), (-80.0, -75.0, 0.4)):
        monkeypatch.setattr("blockwright.gas.reference_burn._EARLIEST", earliest)
        monkeypatch.setattr("blockwright.gas.reference_burn._LATEST", latest)
        found = reference_burn(e, dataclasses.replace(p, speed=p.speed if end > 1.0 else 40.0), 30.0)
        assert found.turbulence == pytest.approx(end)
        assert math.isnan(found.burn_10_90)
        assert "half burned" in str(found.note)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_anchored_to_its_typical_duration(name):
    build = bw.load(f"examples/{name}.toml")
    assert from_build.burn_note(build) is None
    assert 0.4 < from_build.operating_point(build).turbulence < 5.0


def moved(build, path, si, by):
    value = dataclasses.replace(build.values[path], si=si, by=by)
    return dataclasses.replace(build, values={**build.values, path: value})


def test_a_typical_duration_out_of_reach_is_cut_and_a_given_one_refused():
    build = bw.load("examples/minimal.toml")
    long = moved(build, "spark.burn_duration", math.radians(90.0), "assumed")
    assert "90.0 deg" in str(from_build.burn_note(long))
    assert from_build.operating_point(long).turbulence < from_build.operating_point(build).turbulence
    with pytest.raises(OutsideValidity, match="burn_duration"):
        from_build.operating_point(moved(build, "spark.burn_duration", math.radians(90.0), "given"))


def test_another_cam_is_anchored_anew():
    """The charge is shut in later: what was found for the first cam does not stand for the second."""
    build = bw.load("examples/minimal.toml")
    closes = build.si("cam.intake_closes")
    late = moved(build, "cam.intake_closes", closes + math.radians(15.0), "given")
    first, second = (from_build.operating_point(b).turbulence for b in (build, late))
    assert first != second
    assert from_build.operating_point(build).turbulence == first
