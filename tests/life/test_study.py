"""The study: samples at the same power, loads that replay the crank's own, margins that fall."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from blockwright.crank.loads import main_loads
from blockwright.gas.solve import WAVE_TOLERANCE
from blockwright.life import charge as charges
from blockwright.life import evaluate
from blockwright.life.ceiling import power_at_chance
from blockwright.life.draw import Draw
from blockwright.life.explain import _traced_limits
from blockwright.life.leaves import SampleLeaves
from blockwright.life.levels import over_levels
from blockwright.life.operate import FRICTION, closed_at
from blockwright.life.reliability import likely_failure
from blockwright.life.study import Sampled, outcome, with_level


def gauge_of(operation):
    """Gauge pressure in every cylinder, the mean's times its own share, shape (n_cyl, 720)."""
    return operation.cylinder_share[:, None] * operation.cycle_pressure - operation.crankcase


def test_target_power_is_met(study, lumped, build):
    """As closely as the search says that it leaves it."""
    power = build.si("target.power")
    assert study.cycle.brake_power == pytest.approx(power, rel=charges._CLOSE_WITH_PIPES)
    assert lumped.cycle.brake_power == pytest.approx(power, rel=charges._CLOSE)


def test_nominal_main_loads_are_those_of_the_full_crank_model(study, draw):
    """Row 0 of the kernels is the linear form at the kept angles; the full solution must agree to 1e-9."""
    kernels = study.kernels(study.levels[study.wanted], draw)
    operation = study.levels[study.wanted].operations[0]
    loads = main_loads(study.engine.loads, gauge_of(operation), operation.speed)
    middle = kernels["cycle_weights", ""].size // 2
    for j in range(loads.vertical.shape[0]):
        kept = operation.main_angles[j]
        found = kernels["main_vertical", f"main {j + 1}"][0, 0, middle, : kept.size]
        assert found == pytest.approx(loads.vertical[j][kept], rel=1e-9, abs=1e-6)


def test_kept_angles_hold_the_largest_load_of_the_cycle(study):
    operation = study.levels[study.wanted].operations[0]
    loads = main_loads(study.engine.loads, gauge_of(operation), operation.speed)
    for j, kept in enumerate(operation.main_angles):
        assert loads.vertical[j][kept].max() == pytest.approx(loads.vertical[j].max(), rel=1e-12)


def test_every_sample_makes_the_same_brake_power(study, draw):
    """Independent route: the closed cycle is run with each sample's inputs instead of the surface."""
    operation = study.levels[study.wanted].operations[0]
    pick = [0, 5, 17, 60, 101]
    friction = draw.sample(operation.shaping.variables[FRICTION])[pick]
    # The engine as it is, and with a charger that takes as much of the crank as a large blower does.
    for changed in (operation, replace(operation, charger_share=0.15)):
        x = changed.inputs(draw)[pick]
        pressure = closed_at(operation.cycle, x)
        order = np.concatenate([np.arange(360, 720), np.arange(0, 360)])
        order = order[np.isfinite(pressure[0, order])]
        volume = study.engine.breathing.volume(order.astype(float))
        work = np.trapezoid(pressure[:, order], volume, axis=1)
        o, f, g = changed.open_work, changed.friction_share, changed.charger_share
        brake = work * (1.0 + o) / work[0] - f * friction - g * np.exp(x[:, 0])
        assert brake == pytest.approx(brake[0], rel=5e-3)


def test_sampled_peak_agrees_with_the_gas_model(study, draw):
    """The surface's peak at drawn inputs against the closed cycle itself: no farther off than the error
    that the surface states of itself and that joins the spread."""
    operation = study.levels[study.wanted].operations[-1]
    x = operation.inputs(draw)
    off = np.log(operation.at(draw).peak / np.nanmax(closed_at(operation.cycle, x), axis=1))
    stated = operation.surface.error[720]
    assert np.sqrt(np.mean(off**2)) < 1.5 * stated
    assert stated < 0.01
    assert np.abs(off).max() < 0.05


def test_gas_driven_margins_fall_with_pressure_at_fixed_speed(lumped, draw):
    sampled = Sampled(lumped, draw)
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


def test_the_full_model_is_run_within_one_per_cent_of_the_ceiling(lumped, draw):
    """Interpolating charge over power is up to 3 % off between levels: repeated until it is not."""
    sampled = Sampled(lumped, draw)
    found, checked = over_levels(sampled, 0.95)
    top = power_at_chance(found.system[1:], 0.05)
    assert np.min(np.abs(np.log(found.powers / top))) <= 0.01
    assert checked == found.survival(top)
    assert checked == pytest.approx(0.95, abs=3.0 * np.sqrt(0.95 * 0.05 / 300))


def test_scaled_start_leads_to_the_same_cycle(study):
    operation = study.levels[study.wanted].operations[1]
    pressure = 1.3 * study.base
    cold = charges.run_at(study.engine, operation.speed, 1.0, pressure)
    start = charges.scaled_start(operation.cycle, 1.3)
    warm = charges.run_at(study.engine, operation.speed, 1.0, pressure, start)
    assert warm.cycles_run < cold.cycles_run
    # What a cycle may still change by, a few times over: the change dies out slowly with pipes.
    assert warm.brake_power == pytest.approx(cold.brake_power, rel=5.0 * WAVE_TOLERANCE)


def test_form_agrees_with_the_samples_on_the_governing_limit(study):
    """Two routes to one chance: first order at the design point, and the share of samples."""
    draw = Draw(2000, seed=4)
    found = study.evaluate(study.build, study.levels[study.wanted], draw)
    limit = min(found, key=lambda e: (not e.breaks, float(np.mean(e.margin[1:] >= 1.0))))
    failure = likely_failure(study, limit, draw)
    assert failure is not None
    assert failure.point.failure_chance == pytest.approx(float(np.mean(limit.margin[1:] < 1.0)), abs=0.05)
    assert abs(failure.surface_error) < 0.01
