"""Lift curves and effective areas."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import InputError
from blockwright.gas import valves

CFM = 4.719474432e-4  # m3/s
INCH_WATER = 249.0889  # Pa, 4 C


def test_lift_velocity_and_acceleration_are_continuous():
    """Differences of the curve across both ends and the nose, down to rounding."""
    width = 1e-3
    angle = np.arange(-100.0 - 0.05, 100.0 + 0.05, width)
    lift = valves.smooth_lift(angle, -100.0, 100.0, 0.014)
    acceleration = np.diff(lift, 2) / width**2
    largest = np.abs(acceleration).max()
    assert np.abs(np.diff(acceleration)).max() < 1e-2 * largest
    assert_allclose(lift.max(), 0.014, rtol=1e-9)
    assert np.all(lift >= 0.0)
    rising = lift[: lift.argmax()]
    assert np.all(np.diff(rising) >= -1e-18)


def test_curve_matches_its_closed_form():
    """Independent route: the three coefficients of the 2-p-q polynomial in closed form."""
    p, q = 10, 14
    c2, cp, cq = -p * q / ((p - 2) * (q - 2)), 2 * q / ((p - 2) * (q - p)), -2 * p / ((q - 2) * (q - p))
    s = np.linspace(-1.0, 1.0, 101)
    expected = 1 + c2 * s**2 + cp * s**p + cq * s**q
    assert_allclose(valves.smooth_lift(s, -1.0, 1.0, 1.0), expected, atol=1e-12)


def test_cycle_wraps_round_the_firing_dead_centre():
    early = valves.lift_on_cycle(650.0, 790.0, 0.01)
    assert early[0] > 0.0
    assert early[2879] > 0.0
    assert early[1440] == 0.0


def test_measured_points_are_met():
    angle, lift = np.array([320.0, 400.0, 470.0, 540.0, 620.0]), np.array([0.0, 0.006, 0.0125, 0.006, 0.0])
    curve = valves.lift_from_points(angle, lift)
    assert_allclose(curve[(angle * 4).astype(int) % 2880], lift, atol=1e-12)


def test_bench_table_is_met_and_holds_beyond_its_end():
    lift = np.array([0.1, 0.3, 0.5, 0.6]) * 0.0254
    flow = np.array([65.0, 190.0, 255.0, 262.0]) * CFM
    area = valves.area_from_bench(np.array([0.0, *lift, 0.02]), lift, flow, 28 * INCH_WATER)
    assert area[0] == 0.0
    assert_allclose(area[1:5], valves.bench_area(flow, 28 * INCH_WATER))
    assert area[5] == area[4]


@given(st.floats(10.0, 600.0), st.floats(2.0, 40.0))
def test_depression_of_the_bench_drops_out(cfm, inches):
    """The same port on two benches gives one area, to the compressibility that the square root leaves out."""
    first = valves.bench_area(cfm * CFM, inches * INCH_WATER)
    second = valves.bench_area(cfm * CFM * np.sqrt(28.0 / inches), 28.0 * INCH_WATER)
    assert_allclose(first, second, rtol=0.04)


def test_area_of_a_diameter_stops_growing_with_the_port():
    lift = np.linspace(0.0, 0.03, 200)
    area = valves.area_from_diameter(lift, 0.05, 1)
    assert area[0] == 0.0
    assert np.all(area < 0.25 * np.pi * 0.05**2)
    assert area[-1] == area[-20]


@pytest.mark.parametrize(
    "make",
    [
        lambda: valves.lift_on_cycle(600.0, 300.0, 0.01),
        lambda: valves.lift_on_cycle(0.0, 600.0, 0.01),
        lambda: valves.lift_from_points([0.0, 1.0], [0.0, 0.0]),
        lambda: valves.lift_from_points([0.0, 5.0, 4.0], [0.0, 0.01, 0.0]),
        lambda: valves.bench_area([0.1], 1e6),
        lambda: valves.area_from_bench(np.zeros(3), [0.01, 0.005], [0.1, 0.2], 7000.0),
    ],
)
def test_impossible_valves_are_refused(make):
    with pytest.raises(InputError):
        make()
