"""Load cycles in an engine cycle, against the `rainflow` package (ASTM E1049-85)."""

from __future__ import annotations

import numpy as np
import pytest
import rainflow
from hypothesis import given
from hypothesis import strategies as st

from blockwright.life.pulses import equal_pulses, ranges


@given(st.lists(st.integers(-50, 50), min_size=3, max_size=60).filter(lambda x: len(set(x)) > 1))
def test_ranges_are_those_of_the_standard(values):
    """Source: ASTM E1049-85 5.4.5 by the rainflow package: a history that starts and ends at its largest
    value has whole cycles only; the package counts its outermost one as two halves."""
    history = np.array(values, dtype=float)
    start = int(np.argmax(history))
    whole = np.append(np.roll(history, -start), history[start])
    wanted = sorted(r for r, _, count, _, _ in rainflow.extract_cycles(whole) for _ in range(int(2 * count)))
    ours = sorted(r for r in ranges(history) for _ in range(2))
    assert ours == pytest.approx(wanted)


def test_one_pulse_is_one_and_two_equal_ones_are_two():
    angle = np.radians(np.arange(720))
    one = np.maximum(np.sin(angle / 2.0), 0.0) ** 4
    assert equal_pulses(one) == pytest.approx(1.0)
    assert equal_pulses(np.sin(angle) ** 2 + 0.0) == pytest.approx(4.0, rel=1e-6)
    two = np.maximum(np.sin(angle), 0.0) ** 2
    assert equal_pulses(two) == pytest.approx(2.0, rel=1e-6)


def test_a_smaller_pulse_counts_by_the_power_of_its_size():
    angle = np.radians(np.arange(720))
    history = np.where(angle < 2 * np.pi, 1.0, 0.7) * np.maximum(np.sin(angle), 0.0)
    assert equal_pulses(history) == pytest.approx(1.0 + 0.7**5, rel=1e-3)


def test_load_into_the_block_does_not_count():
    assert equal_pulses(-np.abs(np.sin(np.radians(np.arange(720))))) == 1.0
