"""When a height of the bore sees gas and skirt."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.crank.exposure import Travel, exposed, largest, under_skirt, whole_degrees
from blockwright.crank.kinematics import motion

TRAVEL = Travel(
    0.044, 0.145, 0.001, deck_clearance=0.0005, top_ring=0.006, skirt_top=0.020, skirt_bottom=0.055
)
FINE = np.linspace(0, 4 * np.pi, 200001)
POSITION = motion(FINE, 0.044, 0.145, 0.001).position


def inside(windows):
    found = np.zeros(FINE.size, dtype=bool)
    for start, end in windows:
        for turn in (0.0, 4 * np.pi):
            found |= (start + turn <= FINE) & (end + turn >= FINE)
    return found


@pytest.mark.parametrize("depth", [0.003, 0.0066, 0.010, 0.03, 0.07, 0.0945, 0.10])
def test_open_to_the_gas_exactly_while_the_ring_is_below(depth):
    """Independent route: follow the ring through 200 001 angles."""
    below = TRAVEL.deck_clearance + TRAVEL.top_ring + POSITION > depth
    assert np.mean(inside(exposed(TRAVEL, depth)) != below) < 1e-4


@pytest.mark.parametrize("depth", [0.005, 0.0205, 0.030, 0.054, 0.08, 0.12, 0.142, 0.15])
def test_under_the_skirt_exactly_while_it_spans_the_depth(depth):
    top = TRAVEL.deck_clearance + TRAVEL.skirt_top + POSITION
    bottom = TRAVEL.deck_clearance + TRAVEL.skirt_bottom + POSITION
    spans = (top <= depth) & (bottom >= depth)
    assert np.mean(inside(under_skirt(TRAVEL, depth)) != spans) < 1e-4


def test_the_wall_above_the_ring_sees_the_peak_and_lower_down_less():
    angle = np.arange(720.0)
    trace = 8e6 * np.exp(-(((angle - 14) / 25) ** 2))
    high, low, lower = (largest(trace, exposed(TRAVEL, d)) for d in (0.004, 0.03, 0.06))
    assert_allclose(high, 8e6)
    assert high > low > lower > 0


def test_largest_reads_window_ends_between_degrees():
    trace = np.maximum(0.0, 100.0 - np.arange(720.0))
    window = ((np.radians(10.25), np.radians(10.75)),)
    assert_allclose(largest(trace, window), 89.75)
    assert largest(trace, ()) == -np.inf
    assert_allclose(largest(np.stack([trace, 2 * trace]), window), [89.75, 179.5])


def test_whole_degrees_of_windows():
    windows = ((np.radians(10.6), np.radians(13.2)), (np.radians(718.7), np.radians(720.2)))
    assert list(whole_degrees(windows)) == [0, 11, 12, 13, 719]
    assert list(whole_degrees(((np.radians(5.1), np.radians(5.2)),))) == [5]
    assert whole_degrees(()).size == 0
