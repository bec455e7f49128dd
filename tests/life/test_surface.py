"""The quadratic surface: exact on quadratics, honest about the rest."""

from __future__ import annotations

import numpy as np
import pytest

from blockwright.life.surface import Ridge, composite_design, fit


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


def test_ridge_is_met_and_the_rest_left_as_it_was():
    """Along its line the surface meets a law that is no parabola; at right angles nothing changes."""
    centre, scale = np.array([0.5, 0.0, 1.0]), np.array([0.3, 0.4, 0.2])

    def law(x):
        return np.tanh(3.0 * (x[:, :1] - 0.5)) + x[:, 1:2] + x[:, 2:3] ** 2

    plain = fit(law(centre + scale * composite_design(3)), centre, scale)
    ridge = Ridge(np.array([1.0, 0.5, 0.0]), np.arange(-4.0, 4.1, 0.5))
    line = centre + scale * ridge.places[:, None] * ridge.direction
    set_right = plain.set_right(ridge, line, law(line))
    assert set_right.at(line) == pytest.approx(law(line), abs=1e-12)
    between = centre + scale * np.linspace(-3.9, 3.9, 50)[:, None] * ridge.direction
    errors = [np.abs(s.at(between) - law(between)).max() for s in (plain, set_right)]
    assert errors[1] < 0.05 * errors[0]
    across = centre + scale * np.linspace(-2.0, 2.0, 9)[:, None] * np.array([-0.5, 1.0, 0.7])
    assert set_right.at(across) == pytest.approx(plain.at(across), abs=1e-12)
