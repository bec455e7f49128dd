"""Facts of the trade and definitions that need a whole chain of ours: common practice, no source.

Nickel and mass, 4.310 x 4.500 in: `test_fasteners_and_materials`.  Walls of 0.200 and 0.090 in as
chances of living: `tests/parts/test_walls`.  Not computed by this version,
so not here: A13 (the build gives both rod masses), A21 (cold-air cycle: gas has real properties
only), A30 (bottle pressure), A82, A83 (see `test_fatigue`), A84 (damping), A88 to A90 (contact,
plates).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import blockwright as bw
from blockwright.parts import cap_frame, caps, shell
from blockwright.parts.wall_stress import hoop_outside
from blockwright.units import parse

DEMOS = Path(__file__).parents[2] / "examples"
INCH = 0.0254


def test_a11_a12_bmep_and_horsepower_from_torque():
    """A12: 400 lbf ft at 5000 rpm is 380.799 hp (definition, 33000/2 pi).  A11: 500 N m of 5.733 L is
    10.9597 bar (Heywood 1988 eq. 2.20; computed)."""
    power = parse("400 lbf*ft", "torque").si * parse("5000 rpm", "turning speed").si
    assert_allclose(power / parse("1 hp", "power").si, 380.799, atol=5e-4)
    assert_allclose(4.0 * np.pi * 500.0 / parse("5.733 L", "volume").si, 10.9597e5, rtol=1e-5)


def test_ninety_thou_bears_less_than_half_of_two_hundred():
    """Common practice, no source: 0.200 in is a good wall, 0.090 in is not.  Stress of a 4 in bore 2 in
    below the deck, gas alone: 2.3 times that of the good wall."""
    stress = {}
    for wall in (0.200, 0.090):
        t = wall * INCH
        rate = float(shell.breathing_rate(0.0508 + t / 2, t, 0.26))
        stress[wall] = shell.front_factor(rate, 2 * INCH, 0.25 * INCH, 0.010, 1.27) * hoop_outside(0.1016, t)
    assert 2.0 < stress[0.090] / stress[0.200] < 3.0


def test_crown_thickness_counts_as_the_sanity_calculation_found():
    """load-path.md (plausibility, not validation): 20 % of crown thickness is about 27 % of stress."""
    dims = caps.dims_of(bw.load(DEMOS / "hillclimb_v8.toml"))
    exponent = cap_frame.sensitivity(dims).stress[0]
    assert 1.2**exponent == pytest.approx(1 - 0.27, abs=0.05)
