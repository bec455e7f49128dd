"""Preload of one fastener against independent routes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from blockwright.joints import preload

PITCH, PITCH_DIAMETER = 1.954e-3, 11.43e-3  # 1/2-13
friction = st.floats(0.04, 0.35)


def torque_by_forces(force: float, mu_thread: float, mu_head: float, bearing: float) -> float:
    """Torque from the forces on the flank, solved for the normal force that carries the preload.

    The flank's normal has components along the axis, around it and radially; friction
    acts against the sliding along the helix.
    """
    rise = PITCH / (np.pi * PITCH_DIAMETER)
    along = np.array([np.cos(np.arctan(rise)), np.sin(np.arctan(rise))])  # (around, axial)
    tilt = np.tan(np.pi / 6.0)
    # unit normal of a helicoid flank: (radial, around, axial)
    normal = np.array([tilt, -rise, 1.0])
    normal /= np.linalg.norm(normal)

    def axial(push: float) -> float:
        return push * normal[2] - mu_thread * push * along[1] - force

    push = brentq(axial, 0.0, 10.0 * force)
    around = -push * normal[1] + mu_thread * push * along[0]
    return 0.5 * PITCH_DIAMETER * around + 0.5 * mu_head * bearing * force


@pytest.mark.parametrize(("mu_thread", "mu_head"), [(0.05, 0.05), (0.13, 0.13), (0.3, 0.1)])
def test_torque_agrees_with_the_forces_on_the_flank(mu_thread, mu_head):
    """Independent route.  The textbook form takes the flank angle in the axial plane and so
    differs from the exact helicoid by the square of the rise, 0.3 % here at most 0.1 %.
    """
    torque = torque_by_forces(60e3, mu_thread, mu_head, 15.9e-3)
    ours = preload.preload_from_torque(torque, PITCH, PITCH_DIAMETER, 15.9e-3, mu_thread, mu_head, 1.0)
    assert_allclose(ours, 60e3, rtol=1e-3)


def test_without_friction_the_work_of_the_wrench_goes_into_the_screw():
    ours = preload.preload_from_torque(100.0, PITCH, PITCH_DIAMETER, 16e-3, 0.0, 0.0, 1.0)
    assert_allclose(ours * PITCH, 2.0 * np.pi * 100.0, rtol=1e-12)


@given(friction, friction, st.floats(1.0, 300.0))
def test_more_friction_gives_less_preload(thread, head, torque):
    def at(t, h):
        return preload.preload_from_torque(torque, PITCH, PITCH_DIAMETER, 16e-3, t, h, 1.0)

    assert at(thread, head) > at(thread * 1.1, head)
    assert at(thread, head) > at(thread, head * 1.1)
    assert at(0.0, 0.0) > at(thread, head) > 0.0


def test_angle_agrees_with_two_springs():
    """Turn the nut: the bolt's stretch and the parts' shortening make up the advance of the thread."""
    k_bolt, k_member, snug = 0.35e9, 1.1e9, 12e3
    turned = np.radians(60.0)

    def gap(force):
        return (force - snug) / k_bolt + (force - snug) / k_member - PITCH * turned / (2 * np.pi)

    by_springs = brentq(gap, 0.0, 1e7)
    assert_allclose(
        preload.preload_from_angle(snug, turned, PITCH, 1 / k_bolt, 1 / k_member, 1.0), by_springs, rtol=1e-10
    )


def test_yield_is_von_mises_of_pull_and_plastic_twist():
    """Independent route: raise the preload until the section is fully plastic."""
    area, strength, mu = 91.5e-6, 896e6, 0.13
    diameter = np.sqrt(4 * area / np.pi)

    def excess(force):
        torque = torque_by_forces(force, mu, 0.0, 0.0)
        shear = 12.0 * torque / (np.pi * diameter**3)
        return np.hypot(force / area, np.sqrt(3.0) * shear) - strength

    by_stress = brentq(excess, 1e3, 1e6)
    ours = preload.yield_preload(area, strength, PITCH, PITCH_DIAMETER, mu)
    assert_allclose(ours, by_stress, rtol=1e-3)
    assert ours < area * strength


def test_preload_stops_at_yield_and_settling_takes_its_part():
    assert preload.preload_up_to_yield(np.array([50e3, 90e3]), 70e3).tolist() == [50e3, 70e3]
    settled = preload.preload_after_embedding(60e3, 7e-6, 3e-9, 1e-9)
    assert_allclose(settled, 60e3 - 7e-6 / 4e-9)
    assert preload.preload_after_embedding(1e3, 7e-6, 3e-9, 1e-9) == 0.0


def test_a_stud_has_one_more_pair_of_threads_to_settle():
    bolt = preload.embedding(3e-6, 2.5e-6, 1.5e-6, threads=1, seats=1, faces=1)
    stud = preload.embedding(3e-6, 2.5e-6, 1.5e-6, threads=2, seats=1, faces=1)
    assert_allclose([bolt, stud], [7e-6, 10e-6])


def test_stretch_is_hookes_law_and_keeps_its_shape():
    shape = (5, 1, 1, 1)
    ours = preload.preload_from_stretch(np.full(shape, 0.15e-3), np.full(shape, 2.5e-9), np.ones(shape))
    assert ours.shape == shape
    assert_allclose(ours, 60e3)
