"""Slider-crank: differentiation, geometry by another route, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.crank.kinematics import angles_at, dead_centre_angle, fastest, motion, stroke
from blockwright.errors import InputError

cranks = st.tuples(
    st.floats(0.02, 0.08), st.floats(1.3, 3.0), st.floats(-0.05, 0.05)
).map(lambda t: (t[0], t[0] * t[1], t[0] * t[2]))  # fmt: skip


@given(cranks)
def test_speed_and_acceleration_are_the_derivatives(crank):
    """Independent route: central differences of position and speed."""
    angle, step = np.linspace(0, 4 * np.pi, 97), 1e-5
    after, before = motion(angle + step, *crank), motion(angle - step, *crank)
    here = motion(angle, *crank)
    assert_allclose((after.position - before.position) / (2 * step), here.speed, atol=1e-8)
    assert_allclose((after.speed - before.speed) / (2 * step), here.acceleration, atol=1e-8)


@given(cranks)
def test_the_rod_keeps_its_length(crank):
    """Pin and crankpin in coordinates: their distance is the rod, whatever the angle."""
    r, length, offset = crank
    angle = np.linspace(0, 2 * np.pi, 41)
    m = motion(angle, *crank)
    height = np.sqrt((length + r) ** 2 - offset**2) - m.position
    distance = np.hypot(height - r * np.cos(angle), -offset - r * np.sin(angle))
    assert_allclose(distance, length, rtol=1e-12)


@given(cranks)
def test_the_top_is_where_it_is_said_and_the_travel_is_the_stroke(crank):
    angle, top = np.linspace(0, 2 * np.pi, 20001), dead_centre_angle(*crank)
    position = motion(angle, *crank).position
    assert position.min() >= -1e-15
    assert_allclose(position.max(), stroke(*crank), rtol=1e-7)
    assert_allclose(motion(top, *crank).position, 0.0, atol=1e-15)
    assert_allclose(motion(top, *crank).speed, 0.0, atol=1e-15)


@given(cranks, st.floats(0.001, 0.999))
def test_angles_at_a_position_bring_the_piston_there(crank, share):
    target = share * stroke(*crank)
    down, up = angles_at(target, *crank)
    top = dead_centre_angle(*crank)
    assert top < down < up < top + 2 * np.pi
    assert_allclose(motion([down, up], *crank).position, target, rtol=1e-9)
    assert motion(down, *crank).speed > 0 > motion(up, *crank).speed


def test_angles_beyond_the_travel():
    down, up = angles_at([-0.001, 0.0, 0.2], 0.05, 0.15)
    assert_allclose(down[:2], 0.0, atol=1e-9)
    assert_allclose(up[:2], 2 * np.pi)
    assert np.isnan(down[2])
    assert np.isnan(up[2])


def test_offset_towards_the_thrust_side_advances_the_top():
    """A pin set towards the thrust side is highest before the crankpin comes under the cylinder."""
    top = dead_centre_angle(0.05, 0.15, 0.002)
    assert top < 0
    assert_allclose(motion(top, 0.05, 0.15, 0.002).rod_angle, np.arcsin(0.002 / 0.2), rtol=1e-12)


def test_fastest_with_offset_has_no_acceleration():
    speed, angle = fastest(0.05, 0.15, 0.002)
    m = motion(angle, 0.05, 0.15, 0.002)
    assert_allclose(m.acceleration, 0.0, atol=1e-12)
    assert_allclose(m.speed, speed)


@pytest.mark.parametrize(
    ("crank", "words"),
    [((0.05, 0.05), "longer than throw"), ((0.05, 0.0505, 0.001), "longer"), ((-0.05, 0.15), "above 0"),
     ((0.05, np.nan), "finite")],
)  # fmt: skip
def test_cranks_that_cannot_turn(crank, words):
    with pytest.raises(InputError, match=words):
        motion(0.0, *crank)
