"""Limits of the head joint on the bench engine."""

import numpy as np
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from blockwright.joints import clamp
from blockwright.parts import head
from blockwright.trace import Traced

from ..joints.bench import BenchBuild, BenchLeaves, BenchTracer, loads


def judged(n=1):
    build = BenchBuild()
    leaves = BenchLeaves(build, n, loads(n))
    return head.limits(leaves, build), leaves, build


def test_shapes_and_explanations():
    (lift, boss), _, build = judged(30)
    assert np.shape(lift.demand) == np.shape(lift.capacity) == (30, 1, 1, 1)
    assert boss.stress_max.shape == (30, 3, 5, 1)
    assert {lift.identity.group, boss.identity.group} == {"head"}
    assert_allclose(sum(boss.split.values()), boss.stress_max.max(axis=(1, 2, 3), keepdims=True), rtol=1e-12)
    traced_lift, traced_boss = head.limits(BenchTracer(build, 1, loads(1)), build)
    for traced, known in (
        (traced_lift.demand, lift.demand),
        (traced_lift.capacity, lift.capacity),
        (traced_boss.stress_max, boss.stress_max),
        (traced_boss.stress_min, boss.stress_min),
    ):
        assert isinstance(traced, Traced)
        assert_allclose(traced.value, known[:1], rtol=1e-12)


def test_margin_agrees_with_the_pressure_that_just_leaks():
    """Independent route: raise the gas until the gasket's own force is down to what its ring needs."""
    (lift, _), leaves, build = judged()
    preload = clamp.fastener_preload(leaves, build, "head_fasteners").item()
    bore = leaves.build("heads.gasket_bore").item()
    width, factor = (leaves.model(f"head_clamp.{n}").item() for n in ("seal_width", "gasket_factor"))
    phi, kept = (leaves.model(f"head_clamp.{n}").item() for n in ("load_factor", "clamp_kept"))
    held = 5 * 0.62 * kept * preload

    def spare(gauge):
        on_gasket = held + phi * gauge * np.pi * bore**2 / 4 - gauge * np.pi * bore**2 / 4
        return on_gasket - factor * gauge * np.pi * bore * 2 * width

    leaks = brentq(spare, 1e5, 1e9)
    assert_allclose(lift.capacity.item() / lift.demand.item(), leaks / (110e5 - 101325.0), rtol=1e-9)


def test_deck_bears_all_of_the_pull_around_the_boss():
    """Free body of the boss cut out of the deck: shear on the cut balances the fastener."""
    shear = head.boss_stress_clamp(50e3, 25e-3, 12e-3, 1.0, 1.0)
    assert_allclose(shear * np.pi * 25e-3 * 12e-3, 50e3)
    peak = head.boss_stress_peak(shear, 100e5, 1e5, 0.1, 5, 0.6, 0.2, 25e-3, 12e-3, 1.0, 1.0)
    per_fastener = 99e5 * np.pi * 0.1**2 / 4 / 3.0
    assert_allclose((peak - shear) * np.pi * 25e-3 * 12e-3, 0.2 * per_fastener)


def test_gasket_creep_never_adds_clamp():
    assert_allclose(head.bore_clamp(50e3, 5, 0.6, np.array([0.9, 1.05])), [135e3, 150e3])
