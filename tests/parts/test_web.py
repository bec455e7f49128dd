"""Bulkhead: statics by hand, what blocks have it, and bad sizes."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from blockwright.parts import web

from .cap_bench import cap_build, one_load, samples, traced


def by_id(build, load):
    return {limit.identity.id: limit for limit in web.limits(samples(build, one_load(*load)), build)}


def test_cam_bore_by_hand():
    """27 kN over (100 - 50) x 20 mm = 27 MPa, times 2.156 at d/w = 0.5."""
    found = by_id(cap_build(), (27e3, 20e3))["web-cam-bore-main-3"]
    assert_allclose(np.max(found.stress_max), 27e6 * 2.1559, rtol=1e-4)


def test_valley_by_hand():
    """27 kN in a 90-degree V: 13.5 kN sideways over 9 x 111 mm = 13.5 MPa, notch factor 2."""
    found = by_id(cap_build(), (27e3, 0.0))["web-valley-main-2"]
    assert_allclose(np.max(found.stress_max), 2.0 * 13.5e3 / (9e-3 * 111e-3), rtol=1e-9)


def test_load_towards_the_block_squeezes_the_web_and_bends_the_saddle():
    down, up = by_id(cap_build(), (20e3, 0.0)), by_id(cap_build(), (-20e3, 0.0))
    assert np.min(up["web-cam-bore-main-1"].stress_min) < 0.0
    assert np.max(up["web-cam-bore-main-1"].stress_max) == 0.0
    assert np.max(up["saddle-main-1"].stress_max) > np.max(down["saddle-main-1"].stress_max)


def test_a_deeper_saddle_bears_less_stress():
    thin, thick = (by_id(cap_build({"casting.saddle_depth": d}), (-20e3, 0.0)) for d in (25e-3, 35e-3))
    assert np.max(thick["saddle-main-1"].stress_max) < np.max(thin["saddle-main-1"].stress_max)


def test_only_what_the_block_has():
    inline = cap_build({"casting.cam_bore": 0.0}, layout__kind="inline", layout__cylinders=4,
                       layout__firing_order=(1, 3, 4, 2))  # fmt: skip
    assert set(by_id(inline, (20e3, 0.0))) == {f"saddle-main-{m}" for m in range(1, 6)}


def test_trace_replays():
    build, kernels = cap_build(), one_load(-15e3, 9e3)
    for a, b in zip(
        *(web.limits(c, build) for c in (samples(build, kernels), traced(build, kernels))), strict=True
    ):
        assert_allclose(a.stress_max, b.stress_max.value, rtol=1e-12)
        assert_allclose(a.stress_min, b.stress_min.value, rtol=1e-12)
