"""The quadratic surface: exact on quadratics, honest about the rest."""

from __future__ import annotations

import numpy as np
import pytest

from blockwright.life.surface import composite_design, fit


@pytest.mark.parametrize(("d", "runs"), [(2, 9), (5, 43), (6, 45)])
def test_number_of_runs(d, runs):
    assert composite_design(d).shape == (runs, d)


@pytest.mark.parametrize("d", [2, 4, 6])
def test_any_quadratic_is_met_exactly(d):
    rng = np.random.default_rng(0)
    centre, scale = rng.normal(size=d), rng.uniform(0.1, 2.0, size=d)
    a, b, c = rng.normal(size=(d, d)), rng.normal(size=d), 3.0

    def quadratic(x):
        return c + x @ b + np.einsum("ri,ij,rj->r", x, a, x)

    runs = centre + scale * composite_design(d)
    surface = fit(quadratic(runs)[:, None], centre, scale)
    x = centre + scale * rng.normal(size=(50, d))
    assert surface.at(x)[:, 0] == pytest.approx(quadratic(x), rel=1e-8, abs=1e-8)
    assert surface.error[0] < 1e-9 * np.abs(quadratic(runs)).max()


def test_centre_is_met_exactly_even_when_the_surface_is_not_quadratic():
    centre, scale = np.array([0.5, 0.0]), np.array([0.3, 0.4])
    runs = centre + scale * composite_design(2)
    outputs = np.exp(2.0 * runs[:, :1] + runs[:, 1:] ** 3)
    surface = fit(outputs, centre, scale)
    assert surface.at(centre[None, :])[0, 0] == pytest.approx(outputs[0, 0], rel=1e-14)
    assert surface.error[0] > 0.0
