"""The study: samples at the same power, loads that replay the crank's own, margins that fall."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from blockwright.crank.loads import main_loads
from blockwright.gas.solve import solve
from blockwright.life import charge as charges
from blockwright.life import evaluate
from blockwright.life.ceiling import power_at_chance
from blockwright.life.draw import Draw
from blockwright.life.explain import _traced_limits
from blockwright.life.leaves import SampleLeaves
from blockwright.life.levels import over_levels
from blockwright.life.operate import closed_at
from blockwright.life.reliability import likely_failure
from blockwright.life.study import Sampled, outcome, with_level


def test_target_power_is_met(study, build):
    assert study.cycle.brake_power == pytest.approx(build.si("target.power"), rel=2e-4)


def test_nominal_main_loads_are_those_of_the_full_crank_model(study, draw):
    """Row 0 of the kernels is the linear form at the kept angles; the full solution must agree to 1e-9."""
    kernels = study.kernels(study.levels[study.wanted], draw)
    operation = study.levels[study.wanted].operations[0]
    gauge = np.tile(operation.cycle_pressure - operation.crankcase, (study.engine.breathing.cylinders, 1))
    loads = main_loads(study.engine.loads, gauge, operation.speed)
    middle = kernels["cycle_weights", ""].size // 2
    for j in range(loads.vertical.shape[0]):
        kept = operation.main_angles[j]
        found = kernels["main_vertical", f"main {j + 1}"][0, 0, middle, : kept.size]
        assert found == pytest.approx(loads.vertical[j][kept], rel=1e-9, abs=1e-6)


def test_kept_angles_hold_the_largest_load_of_the_cycle(study):
    operation = study.levels[study.wanted].operations[0]
    gauge = np.tile(operation.cycle_pressure - operation.crankcase, (study.engine.breathing.cylinders, 1))
    loads = main_loads(study.engine.loads, gauge, operation.speed)
    for j, kept in enumerate(operation.main_angles):
        assert loads.vertical[j][kept].max() == pytest.approx(loads.vertical[j].max(), rel=1e-12)


def test_every_sample_makes_the_same_brake_power(study, draw):
    """Independent route: the closed cycle is run with each sample's inputs instead of the surface."""
    operation = study.levels[study.wanted].operations[0]
    engine = study.engine
    pick = [0, 5, 17, 60, 101]
    x = operation.inputs(draw)[pick]
    point = charges.point_at(study.build, operation.speed, engine.points[0].load, study.base)
    pressure = closed_at(engine.breathing, point, operation.cycle, x)
    order = np.concatenate([np.arange(360, 720), np.arange(0, 360)])
    order = order[np.isfinite(pressure[0, order])]
    work = np.trapezoid(pressure[:, order], engine.breathing.volume(order.astype(float)), axis=1)
    friction = draw.z("model gas.friction_factor")[pick]
    s = np.sqrt(np.log1p(0.15**2))
    o, f = operation.open_work, operation.friction_share
    brake = work * (1.0 + o) / work[0] - f * np.exp(s * friction)
    assert brake == pytest.approx(brake[0], rel=2e-3)


def test_sampled_peak_agrees_with_the_gas_model(study, draw):
    """The surface's peak at drawn inputs against the closed cycle itself: within a third of a per cent."""
    operation = study.levels[study.wanted].operations[-1]
    engine = study.engine
    x = operation.inputs(draw)[:40]
    point = charges.point_at(study.build, operation.speed, engine.points[-1].load, study.base)
    pressure = closed_at(engine.breathing, point, operation.cycle, x)
    peak = operation.at(draw).peak[:40]
    assert peak == pytest.approx(np.nanmax(pressure, axis=1), rel=3e-3)


def test_gas_driven_margins_fall_with_pressure_at_fixed_speed(study, draw):
    sampled = Sampled(study, draw)
    for charge in (0.5, 1.6, 2.5):
        sampled.extend(with_level(sampled.study, charge))
    found = outcome(sampled)
    for key, margins in found.margins.items():
        if key.startswith(("cap-crown", "wall-", "web-", "main-joint", "rod-buckling", "main-bolt", "head")):
            assert np.all(np.diff(margins[:, 0]) <= 1e-9), key


def test_explanation_replays_the_verdict_to_rounding(study, draw):
    level = study.levels[study.wanted]
    own = {e.identity.id: e for e in study.evaluate(study.build, level, draw)}
    traced = _traced_limits(study)
    assert own.keys() == traced.keys()
    for key, limit in traced.items():
        for name in ("demand", "capacity", "margin"):
            replayed = float(np.ravel(getattr(limit, name).node.value)[0])
            assert replayed == pytest.approx(float(getattr(own[key], name)[0]), rel=1e-12), (key, name)


def test_every_leaf_of_every_explanation_resolves(study):
    for key, limit in _traced_limits(study).items():
        for node in limit.margin.node.walk():
            if node.formula is not None:
                assert node.formula.source, key
                continue
            leaf = node.leaf
            assert leaf is not None, key
            assert leaf.kind in ("build", "catalogue", "model", "kernel")
            if leaf.kind == "build":
                assert leaf.name in study.build.values, leaf.name
            elif leaf.kind == "kernel":
                assert leaf.key, leaf.name


def test_moving_a_leaf_moves_the_result(study, draw):
    """A thicker crown, another torque, a heavier piston: each moves a limit that names it."""
    level = study.levels[study.wanted]
    nominal = Draw(1)

    def margin(build, key):
        kernels = study.kernels(level, nominal)
        found = evaluate.evaluate(SampleLeaves(build, nominal, kernels), build, nominal.rows)
        return next(float(e.margin[0]) for e in found if e.identity.id == key)

    build = study.build
    for path, key in (
        ("caps.crown", "cap-crown-main-3"),
        ("main_fasteners.torque", "main-joint-opening-main-3"),
        ("casting.web_thickness", "web-cam-bore-main-3"),
        ("rods.beam_area", "rod-shank-fatigue"),
    ):
        value = build.values[path]
        moved = replace(build, values={**build.values, path: replace(value, si=1.1 * value.si)})
        assert margin(moved, key) > margin(build, key) * 1.005, path


def test_the_full_model_is_run_within_one_per_cent_of_the_ceiling(study, draw):
    """Interpolating charge over power is up to 3 % off between levels: repeated until it is not."""
    sampled = Sampled(study, draw)
    found, checked = over_levels(sampled, 0.95)
    top = power_at_chance(found.system[1:], 0.05)
    assert np.min(np.abs(np.log(found.powers / top))) <= 0.01
    assert checked == found.survival(top)
    assert checked == pytest.approx(0.95, abs=3.0 * np.sqrt(0.95 * 0.05 / 300))


def test_scaled_start_leads_to_the_same_cycle(study):
    operation = study.levels[study.wanted].operations[0]
    point = charges.point_at(study.build, operation.speed, 1.0, 1.3 * study.base)
    cold = solve(study.engine.breathing, point)
    warm = solve(study.engine.breathing, point, charges.scaled_start(operation.cycle, 1.3))
    assert warm.brake_power == pytest.approx(cold.brake_power, rel=2e-4)


def test_form_agrees_with_the_samples_on_the_governing_limit(study):
    """Two routes to one chance: first order at the design point, and the share of samples."""
    draw = Draw(2000, seed=4)
    found = study.evaluate(study.build, study.levels[study.wanted], draw)
    limit = min(found, key=lambda e: (not e.breaks, float(np.mean(e.margin[1:] >= 1.0))))
    failure = likely_failure(study, limit, draw)
    assert failure is not None
    assert failure.point.failure_chance == pytest.approx(float(np.mean(limit.margin[1:] < 1.0)), abs=0.05)
    assert abs(failure.surface_error) < 0.01
