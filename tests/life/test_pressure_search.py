"""The search for a wanted power: straight lines at once, a best pressure found and named."""

from __future__ import annotations

import numpy as np
import pytest

from blockwright.life.pressure_search import next_pressure


def search(law, wanted, first, second, steps=14):
    """Pressures tried until the power is met, or None is returned."""
    seen = [(p, law(p)) for p in (first, second)]
    for _ in range(steps):
        step = next_pressure(seen, wanted)
        if step is None or abs(law(step) / wanted - 1.0) < 1e-4:
            return step, seen
        seen.append((step, law(step)))
    raise AssertionError("not found")


def test_a_straight_line_is_met_at_once():
    assert next_pressure([(1e5, 100e3), (1.2e5, 150e3)], 200e3) == pytest.approx(1.4e5, rel=1e-12)
    assert next_pressure([(2e5, 300e3), (1.8e5, 250e3)], 200e3) == pytest.approx(1.6e5, rel=1e-12)


@pytest.mark.parametrize("wanted", [120e3, 300e3, 449e3])
def test_a_bent_law_with_a_best_pressure_is_met_on_its_rising_side(wanted):
    def law(p):
        return 450e3 * (1.0 - ((p - 3e5) / 3e5) ** 2)

    found, _ = search(law, wanted, 1.0e5, 1.3e5)
    assert found == pytest.approx(3e5 * (1.0 - np.sqrt(1.0 - wanted / 450e3)), rel=1e-2)


def test_more_than_the_best_is_given_up_near_the_best():
    """A power that no pressure makes: the search ends with a run within 5 % of the best pressure."""

    def law(p):
        return 450e3 * (1.0 - ((p - 3e5) / 3e5) ** 2) - 2e-1 * p

    found, seen = search(law, 500e3, 1.7e5, 2.0e5)
    assert found is None
    grid = np.linspace(1e5, 5e5, 4001)
    assert max(w for _, w in seen) == pytest.approx(law(grid).max(), rel=2e-3)
