"""Loads that come to the fasteners, and what clamp is left."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from blockwright.joints import clamp, separation

load = st.floats(-80e3, 80e3)


@given(load, load, st.floats(0.0, 10e-3), st.floats(60e-3, 150e-3))
def test_heavier_side_agrees_with_the_moments(vertical, lateral, depth, span):
    """Independent route: forces and moments on the cap as a free body, two feet pulling down on it."""
    arm = 0.5 * depth
    system = np.array([[1.0, 1.0], [0.5 * span, -0.5 * span]])
    feet = np.linalg.solve(system, [vertical, lateral * arm])
    shape = (1, 1, 1, 1)
    ours = separation.heavier_side_load(np.full(shape, vertical), np.full(shape, lateral), depth, span)
    assert_allclose(ours.item(), max(feet.max(), 0.0), rtol=1e-9, atol=1e-6)


def test_heavier_side_takes_the_worst_angle_and_keeps_the_other_axes():
    vertical = np.zeros((4, 3, 5, 16))
    vertical[..., 7] = 20e3
    vertical[..., 9] = -90e3
    ours = separation.heavier_side_load(vertical, 0.0 * vertical, 5e-3, 0.09)
    assert ours.shape == (4, 3, 5, 1)
    assert_allclose(ours, 10e3)


@given(st.floats(1e3, 200e3), st.floats(0.0, 0.95), load)
def test_clamp_left_agrees_with_two_springs(total, factor, vertical):
    """Stretch the bolts' spring until the forces balance; the parts can only push."""
    k_member = 1.0e9
    k_bolt = k_member * factor / (1.0 - factor)

    def balance(opening):
        return total + k_bolt * opening - max(total - k_member * opening, 0.0) - max(vertical, 0.0)

    left = clamp.remaining_clamp(total, factor, vertical)
    assert 0.0 <= left <= total
    if k_bolt > 1e6:
        opening = brentq(balance, -1e-3, 1.0, xtol=1e-15)
        assert_allclose(left, max(total - k_member * opening, 0.0), rtol=1e-6, atol=1e-3)
        if left > 1.0:
            ours = separation.fastener_load(total, factor, max(vertical, 0.0))
            assert_allclose(ours, total + k_bolt * opening, rtol=1e-6)


@given(st.floats(0.1e9, 2e9), st.floats(0.1e9, 2e9), st.floats(0.0, 0.6))
def test_shares_balance_the_side(inner, outer, splay):
    """A stiff foot lifts; each fastener answers along its own line."""
    lift = 1e-6
    pull_inner, along = inner * lift, outer * lift * np.cos(splay)
    side = pull_inner + along * np.cos(splay)
    share = separation.inner_share(inner, outer, splay, 1.0)
    assert_allclose(separation.inner_load(side, share), pull_inner, rtol=1e-9)
    assert_allclose(separation.outer_load(side, share, splay), along, rtol=1e-9)


def test_splayed_pair_against_its_own_geometry():
    """Shift a cap on two ties leaning opposite ways and add up what they do."""
    splay, compliance, tie = 0.35, 3e-9, 45e3
    shift = 5e-6
    length = 80e-3
    force = 0.0
    for side in (-1.0, 1.0):
        run, rise = side * length * np.sin(splay), length * np.cos(splay)
        stretched = np.hypot(run - shift, rise)
        pull = tie + (stretched - length) / compliance
        force += pull * side * np.sin(splay)
    assert_allclose(-force / shift, separation.splayed_side_stiffness(compliance, splay), rtol=1e-3)
    assert_allclose(separation.splayed_side_pull(tie, splay), tie * np.sin(splay))
    assert_allclose(
        clamp.clamp_of_four_splayed(60e3, tie, splay), 2 * 60e3 + 2 * tie * np.cos(splay), rtol=1e-12
    )
    assert_allclose(clamp.clamp_of_four_splayed(60e3, tie, 0.0), clamp.clamp_of_four(60e3, tie))
