"""Stiffness of fastener and members against quadrature, and the load factor against springs."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad

from blockwright.errors import InputError
from blockwright.joints import stiffness


@pytest.mark.parametrize("outer", [22e-3, 30e-3, 40e-3, 200e-3])
def test_cone_agrees_with_slices_of_the_cone(outer):
    """Independent route: add up thin slices, each a ring of the cone's diameter or of the part's."""
    washer, major, grip, modulus = 19.05e-3, 12.7e-3, 50.8e-3, 101e9
    hole = 1.06 * major
    slope = 0.348 + 0.013 * np.log(grip / washer) + 0.193 * np.log(outer / washer)

    def slice_compliance(depth):
        diameter = min(washer + 2.0 * depth * slope, outer)
        return 4.0 / (np.pi * modulus * (diameter**2 - hole**2))

    corner = min((outer - washer) / (2.0 * slope), grip)
    by_slices = quad(slice_compliance, 0.0, corner, epsrel=1e-12)[0]
    by_slices += quad(slice_compliance, corner, grip, epsrel=1e-12)[0]
    ours = stiffness.member_compliance_cone(washer, major, grip, outer, modulus, 1.0)
    assert_allclose(ours, by_slices, rtol=1e-7)


@given(st.floats(1.0, 5.0), st.floats(8.0, 20.0))
def test_three_ways_to_the_stiffness_of_wide_parts_agree(slenderness, size):
    """Cone, frusta and fitted exponential: three published methods, within 13 % of one another
    for grips of 1 to 5 diameters in parts 6 diameters wide; `joint.member_error` carries that.
    """
    major, modulus = size * 1e-3, 100e9
    grip = slenderness * major
    by_fit = stiffness.member_stiffness_exponential(major, grip, modulus)
    by_frusta = 0.5 * stiffness.frustum_stiffness(major, 1.5 * major, 0.5 * grip, modulus)
    half = stiffness.member_compliance_cone(1.5 * major, major, 0.5 * grip, 6.0 * major, modulus, 1.0)
    assert_allclose(by_frusta, by_fit, rtol=0.13)
    assert_allclose(0.5 / half, by_fit, rtol=0.13)


def test_narrow_feet_are_softer():
    wide, narrow = (
        stiffness.member_compliance_cone(19e-3, 12.7e-3, 50e-3, d, 100e9, 1.0) for d in (60e-3, 24e-3)
    )
    assert narrow > 1.5 * wide


def test_reproduces_the_worked_m11_joint_of_the_notes():
    """Formula notes sec. 2.2: M11x1.5, 60 mm shank and 25 mm thread, E 205, in iron of 110 GPa.

    d_S 5.967e-6 mm/N (printed to four figures), d_P 9.22e-7 mm/N with a 12 mm hole; ours
    has 1.06 d = 11.66 mm, which the second tolerance covers.
    """
    root = 11e-3 - 1.22687 * 1.5e-3
    bolt = stiffness.fastener_compliance(85e-3, 25 / 85, 11e-3, root, 205e9, 110e9, kind="bolt")
    assert_allclose(bolt * 1e6 * 1e3, 5.967, atol=5e-4)
    member = stiffness.member_compliance_cone(19e-3, 11e-3, 85e-3, 40e-3, 110e9, 1.0)
    assert_allclose(member * 1e6 * 1e3, 0.922, rtol=0.06)


def test_a_stud_is_softer_by_its_nut_end():
    bolt, stud = (
        stiffness.fastener_compliance(50e-3, 0.25, 12.7e-3, 10.3e-3, 205e9, 100e9, kind=kind)
        for kind in ("bolt", "stud")
    )
    shank, root = (0.25 * np.pi * d**2 for d in (12.7e-3, 10.3e-3))
    nut_end = (0.4 * 12.7e-3 / shank + 0.5 * 12.7e-3 / root - 0.5 * 12.7e-3 / shank) / 205e9
    assert_allclose(stud - bolt, nut_end, rtol=1e-12)
    with pytest.raises(InputError, match="rivet"):
        stiffness.fastener_compliance(50e-3, 0.25, 12.7e-3, 10.3e-3, 205e9, 100e9, kind="rivet")


@given(st.floats(1e-10, 1e-8), st.floats(1e-10, 1e-8), st.floats(1e-6, 1.0))
def test_load_factor_agrees_with_two_springs_and_stays_below_one(bolt, member, introduction):
    """Two springs share a load; with the load entering part way only that part of the clamped
    piece is in series with the joint face.  Solved as a chain of three nodes.
    """
    ours = float(stiffness.load_factor(bolt, member, introduction))
    assert 0.0 <= ours < 1.0
    upper = (1.0 - introduction) * member  # between head and the point of the load
    lower = introduction * member
    # The load pulls the point: below it the joint's springs give way, above it the bolt side.
    k_lower = 1.0 / lower
    k_bolt_side = 1.0 / (bolt + upper)
    by_springs = k_bolt_side / (k_bolt_side + k_lower)
    assert_allclose(ours, by_springs, rtol=1e-9)
