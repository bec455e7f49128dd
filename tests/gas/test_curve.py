"""The power curve: points, doubts, refusals."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import blockwright as bw
from blockwright.errors import InputError, NotSettled, OutsideValidity
from blockwright.gas import curve as module
from blockwright.gas import from_build
from blockwright.gas.curve import check_speeds, curve, even_speeds, usual_speeds
from blockwright.gas.curve_spread import doubts
from blockwright.gas.mesh import COARSE, FINE, LUMPED
from blockwright.gas.readings import KINDS
from blockwright.gas.run_point import run_point
from blockwright.gas.solve import solve

DEMOS = Path(__file__).parents[2] / "examples"
RPM = math.pi / 30.0


@pytest.fixture(scope="module")
def build():
    """The hill-climb demo with a given burn: what is tested here is the curve, not the flame."""
    return bw.load(DEMOS / "hillclimb_v8.toml").with_changes({"spark.law": "wiebe"})


@pytest.fixture(scope="module")
def found(build):
    return curve(build, [3500 * RPM, 5000 * RPM, 6500 * RPM], mesh=LUMPED)


# --- points ----------------------------------------------------------------------------------------


def test_points_are_what_the_gas_model_gives_by_itself(build, found):
    """Independent of order, threads and restart states: a cold run of one point agrees within the tolerance
    to which cycles repeat."""
    cycle = solve(from_build.breathing(build), from_build.operating_point(build, 5000 * RPM))
    point = found.points[1]
    assert_allclose(point.value("power"), cycle.brake_power, rtol=1e-3)
    assert_allclose(point.value("peak_pressure"), cycle.peak_pressure.mean(), rtol=1e-3)


def test_power_is_torque_times_speed_and_bmep_its_work(build, found):
    displacement = from_build.breathing(build).displacement
    for point in found.points:
        assert_allclose(point.value("power"), point.value("torque") * point.speed.value, rtol=1e-12)
        assert_allclose(point.value("bmep") * displacement, 4 * np.pi * point.value("torque"), rtol=1e-12)
        assert_allclose(point.value("imep") - point.value("fmep"), point.value("bmep"), rtol=1e-12)
        assert_allclose(
            point.value("fuel_consumption") * point.value("power"), point.value("fuel_flow"), rtol=1e-12
        )


def test_every_point_settled_and_every_kind_is_there(found):
    for point in found.points:
        assert max(point.ran.cycle.settled.values()) < 1e-4
        assert set(point.readings) == set(KINDS)
        for key, reading in point.readings.items():
            assert reading.value is not None or reading.reason, key


def test_no_charger_has_no_boost_and_says_so(found):
    assert found.points[0].readings["boost"].value is None
    assert "charger" in found.points[0].readings["boost"].reason


def test_the_same_curve_twice_is_the_same(build, found):
    again = curve(build, [3500 * RPM, 5000 * RPM, 6500 * RPM], mesh=LUMPED, spread=False)
    for a, b in zip(found.points, again.points, strict=True):
        assert a.value("power") == b.value("power")


# --- speeds ----------------------------------------------------------------------------------------


def test_usual_speeds_hold_the_target_and_span_it(build):
    speeds = np.array(usual_speeds(build)) / RPM
    assert 13 <= len(speeds) <= 17
    assert_allclose(speeds, 25.0 * np.round(speeds / 25.0), rtol=1e-12)
    assert np.any(np.isclose(speeds, 6500.0))
    assert speeds[0] == pytest.approx(2600.0)
    assert speeds[-1] == pytest.approx(7150.0)


def test_usual_speeds_end_where_no_piston_goes(build):
    """A long stroke at a high target: not beyond 30 m/s, but never short of the target itself."""
    values = dict(build.values)
    values["crank.stroke"] = dataclasses.replace(values["crank.stroke"], si=0.125)
    values["target.speed"] = dataclasses.replace(values["target.speed"], si=7400 * RPM)
    speeds = np.array(usual_speeds(dataclasses.replace(build, values=values))) / RPM
    assert speeds[-1] == pytest.approx(7400.0)


def test_even_speeds():
    assert_allclose(even_speeds(100.0, 200.0, 25.0), [100, 125, 150, 175, 200])
    assert_allclose(even_speeds(100.0, 190.0, 25.0), [100, 125, 150, 175])
    assert len(even_speeds(100.0, 200.0, None)) == module.POINTS
    assert even_speeds(100.0, 100.0, None) == [100.0]
    with pytest.raises(InputError, match="larger"):
        even_speeds(100.0, 200.0, 1e-9)


@pytest.mark.parametrize("speeds", [[], [10.0], [3000.0], [math.nan], [300.0 + k for k in range(201)]])
def test_speeds_that_cannot_be_run_are_refused(speeds):
    with pytest.raises(InputError):
        check_speeds(speeds)


# --- doubts ----------------------------------------------------------------------------------------


def test_every_figure_with_a_doubt_carries_it(found):
    for key in (
        "power",
        "torque",
        "peak_pressure",
        "fuel_flow",
        "volumetric_efficiency",
        "exhaust_temperature",
    ):
        for point in found.points:
            sd = point.readings[key].sd
            assert sd is not None
            assert 0.003 < sd / point.value(key) < 0.3, key


def test_doubts_hold_what_matters(build):
    names = {doubt.name for doubt in doubts(build)}
    assert {"model gas.friction_factor", "model gas.heat_factor", "model gas.combustion_efficiency"} <= names
    assert {"build heads.intake.flow", "build conditions.pressure", "build conditions.temperature"} <= names
    assert not any(name.startswith("build casting.walls") for name in names)


def test_doubt_of_friction_is_what_a_whole_new_run_gives(build, found):
    """The short cut for friction (no new gas) against a new run with the friction factor moved."""
    friction = next(d for d in doubts(build) if d.name == "model gas.friction_factor")
    moved = run_point(build, 5000 * RPM, vary=friction.vary(1.0))
    full = math.log(moved.cycle.brake_power / found.points[1].value("power"))
    index = [d.name for d in doubts(build)].index("model gas.friction_factor")
    variance = found.spread.sd["power"][1] ** 2 * found.spread.shares[doubts(build)[index].name][1]
    assert_allclose(math.sqrt(variance), abs(full), rtol=0.02)


def test_spread_agrees_with_a_sample_of_all_doubts_at_once(build, found):
    """Independent route: forty engines with every doubt drawn at random; the standard deviation of forty
    draws is itself known to 11 %, so three times that is allowed."""
    known = doubts(build)
    rng = np.random.default_rng(7)
    speed, nominal = 5000 * RPM, found.points[1]
    logs = []
    for _ in range(40):
        steps = rng.standard_normal(len(known))
        values = dict(build.values)
        for doubt, step in zip(known, steps, strict=True):
            for path, value in doubt.build(step).values.items():
                if value is not build.values[path]:
                    values[path] = value
        varies = [v for doubt, step in zip(known, steps, strict=True) if (v := doubt.vary(step)) is not None]

        def all_of(breathing, point, varies=tuple(varies)):
            for vary in varies:
                breathing, point = vary(breathing, point)
            return breathing, point

        ran = run_point(
            dataclasses.replace(build, values=values), speed, near=nominal.ran,
            tolerance=5e-4, vary=all_of,
        )  # fmt: skip
        logs.append(math.log(ran.cycle.brake_power))
    ours = nominal.readings["power"].sd / nominal.value("power")
    assert_allclose(np.std(logs, ddof=1), ours, rtol=0.33)


# --- what does not settle --------------------------------------------------------------------------


def _failing(monkeypatch, when):
    """Point runs that raise where `when` says so."""
    true = module.run_point

    def run(build, speed, **more):
        error = when(speed)
        if error is not None:
            raise error
        return true(build, speed, **more)

    monkeypatch.setattr(module, "run_point", run)


def test_a_speed_that_does_not_settle_gives_no_figure_and_is_told(build, monkeypatch):
    _failing(monkeypatch, lambda w: NotSettled("it swings") if w < 4000 * RPM else None)
    found = curve(build, [3500 * RPM, 5000 * RPM], mesh=LUMPED, spread=False)
    assert [round(p.speed.value / RPM) for p in found.points] == [5000]
    assert [(round(m.speed / RPM), m.reason) for m in found.missing] == [(3500, "it swings")]


def test_no_speed_at_all_is_an_error(build, monkeypatch):
    _failing(monkeypatch, lambda w: NotSettled("it swings"))
    with pytest.raises(NotSettled, match="3500 rpm: it swings"):
        curve(build, [3500 * RPM, 5000 * RPM])


def test_no_speed_within_a_models_range_is_an_error_of_that_kind(build, monkeypatch):
    _failing(monkeypatch, lambda w: OutsideValidity("too far"))
    with pytest.raises(OutsideValidity, match="too far"):
        curve(build, [3500 * RPM])


def test_wrong_standard_is_refused_before_anything_runs(build, monkeypatch):
    _failing(monkeypatch, lambda w: AssertionError("ran"))
    with pytest.raises(InputError, match="din-70020"):
        curve(build, [3500 * RPM], standards=("din",))


def test_fast_pistons_are_remarked(build):
    fast = curve(build, [11000 * RPM], mesh=LUMPED, spread=False)
    assert "friction formula" in fast.points[0].remarks[0]


def test_boosted_engine_is_not_corrected(build):
    turbo = bw.load(DEMOS / "turbo_four.toml").with_changes({"spark.law": "wiebe"})
    found = curve(turbo, [5000 * RPM], mesh=LUMPED, spread=False)
    assert all(c.corrected is None and not c.within for c in found.points[0].corrected.values())
    assert found.points[0].value("boost") > 0.5e5


# --- meshes, knock ---------------------------------------------------------------------------------


def test_fine_and_coarse_pipes_agree_and_differ_from_none(build):
    """The coarse mesh is there for previews; without pipes there is no tuning at all."""
    speeds = [5500 * RPM]
    fine, coarse, none = (
        curve(build, speeds, mesh=mesh, spread=False).points[0].value("power")
        for mesh in (FINE, COARSE, LUMPED)
    )
    assert_allclose(coarse, fine, rtol=0.02)
    assert abs(none / fine - 1.0) > 0.03


def test_note_on_missing_pipes_only_without_them(build):
    notes = {
        mesh.name: curve(build, [5500 * RPM], mesh=mesh, spread=False).notes for mesh in (COARSE, LUMPED)
    }
    assert any("no length is tuned" in note for note in notes["lumped"])
    assert not any("no length is tuned" in note for note in notes["coarse"])


def test_less_octane_leaves_less_margin_to_knock(build):
    """Petrol of 95 octane in place of race petrol: the same engine, fewer degrees in hand."""
    margins = []
    for fuel in ("race-petrol", "petrol-95"):
        point = curve(
            build.with_changes({"fuel.kind": fuel}), [3500 * RPM], mesh=LUMPED, spread=False
        ).points[0]
        margins.append(point.value("knock_margin"))
        assert point.readings["knock_margin"].sd > 0.5
    assert margins[1] < margins[0] - 2.0


def test_a_fuel_without_octane_has_no_margin_and_says_why(build):
    nitro = build.with_changes({"fuel.kind": "nitro-20"})
    point = curve(nitro, [3500 * RPM], mesh=LUMPED, spread=False).points[0]
    assert point.readings["knock_margin"].value is None
    assert "octane" in point.readings["knock_margin"].reason
