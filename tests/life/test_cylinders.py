"""Cylinders apart: the pipes fill one better than another, and its walls, rod and head feel it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from blockwright.gas.spread import peak_spread
from blockwright.life import study as studies
from blockwright.life.draw import Draw


@pytest.fixture(scope="module")
def operation(study):
    """The slowest point: under one collector two cylinders of a cross-plane V8 blow down together."""
    return study.levels[study.wanted].operations[0]


@pytest.fixture(scope="module")
def nominal(study):
    """Kernels of the nominal engine without cycle-to-cycle variation, by their middle node."""
    kernels = study.kernels(study.levels[study.wanted], Draw(1))
    middle = kernels["cycle_weights", ""].size // 2
    return lambda name, place="": float(kernels[name, place][0, 0, middle, 0])


def test_uneven_collectors_press_cylinders_unequally(operation):
    assert np.ptp(operation.cylinder_share) > 0.02
    assert operation.cylinder_share.mean() == pytest.approx(1.0, abs=1e-12)


def test_one_share_stands_for_a_cylinders_own_pressure_over_its_power_stroke(operation):
    """Independent route: every cylinder's own trace from the full engine.  A cylinder that burns later than
    the mean has another shape too, so to a twentieth of the peak."""
    stroke = slice(10, 90)
    own = operation.cycle.pressure[:, stroke]
    ours = operation.cylinder_share[:, None] * operation.cycle_pressure[stroke]
    assert np.abs(ours - own).max() < 0.05 * own.max()
    # And nearer than the mean of all is.
    mean = np.broadcast_to(operation.cycle_pressure[stroke], own.shape)
    assert np.abs(ours - own).mean() < np.abs(mean - own).mean()


def test_walls_feel_their_own_cylinder(operation, nominal):
    """Absolute pressure at the top place goes with the share, exactly; the thrust rises with it."""
    share, outside = operation.cylinder_share, operation.crankcase
    order = np.argsort(share)
    low, high = int(order[0]), int(order[-1])
    walls = [nominal("wall_pressure", f"cylinder {c + 1} depth 1") + outside for c in (low, high)]
    assert walls[1] / walls[0] == pytest.approx(share[high] / share[low], rel=1e-9)
    thrust = [nominal("side_thrust", f"cylinder {c + 1} depth 2") for c in (low, high)]
    assert thrust[1] > thrust[0]


def test_rods_and_head_stand_for_the_hardest_cylinder(operation, nominal):
    peak = operation.cycle.peak_pressure.max()
    assert nominal("peak_pressure") == pytest.approx(peak, rel=2e-3)
    assert peak > 1.01 * operation.cycle.peak_pressure.mean()


def test_rod_pushes_with_the_hardest_cylinder(study, operation, nominal):
    """Independent route: gas of the hardest cylinder on the piston less its inertia by differences of the
    volume, over the rod's lean, near firing; the kernel reads every third degree."""
    model = study.engine.loads
    breathing, speed = study.engine.breathing, operation.speed
    turn = np.radians(np.arange(0.0, 91.0))
    crank, rod = 0.5 * breathing.stroke, breathing.rod
    hardest = int(np.argmax(operation.cylinder_share))
    gas = operation.cylinder_share[hardest] * operation.cycle_pressure[:91] - operation.crankcase
    step = 1e-3
    move = [np.asarray(breathing.volume(np.degrees(turn + h))) for h in (-step, 0.0, step)]
    area = 0.25 * np.pi * breathing.bore**2
    acceleration = (move[0] - 2.0 * move[1] + move[2]) / (step**2 * area) * speed**2
    # Travel is counted downwards from the top: acceleration down unloads the rod.
    lean = np.arcsin(crank * np.sin(turn) / rod)
    push = (gas * area - model.recip_mass * acceleration) / np.cos(lean)
    assert nominal("rod_compression") == pytest.approx(push.max(), rel=0.01)


def test_scatter_of_the_flame_replaces_only_an_assumed_variation(study):
    build = study.build
    value = build.value("spark.variation")
    given = replace(build, values={**build.values, value.path: replace(value, by="given")})
    assumed = replace(build, values={**build.values, value.path: replace(value, by="assumed")})
    assert studies._scatter(given, study.cycle) == 1.0
    found, _ = peak_spread(study.cycle.breathing, study.cycle.trapped, study.cycle.point)
    assert studies._scatter(assumed, study.cycle) * value.si == pytest.approx(found, rel=1e-12)
    assert 0.02 < found < 0.2


def test_scatter_widens_the_cycles_and_leaves_the_mean(study):
    level = study.levels[study.wanted]
    as_given = study.kernels(level, Draw(1))["peak_pressure", ""][0, 0, :, 0]
    doubled = replace(study, scatter=2.0 * study.scatter).kernels(level, Draw(1))["peak_pressure", ""][
        0, 0, :, 0
    ]
    assert doubled[1] == pytest.approx(as_given[1], rel=1e-12)
    assert np.ptp(doubled) == pytest.approx(2.0 * np.ptp(as_given), rel=1e-9)
