"""FORM against limit states whose answer is known.

Source of the set: formulas-structure.md section 12 (the textbook attributions there are from
memory; the reliability indices were recomputed by an independent iteration, and where an exact
closed form exists it is used here instead).  Tolerance: half of the last printed figure.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from blockwright.life.form import design_point


def _lognormal(z, mean, sd):
    s2 = math.log1p((sd / mean) ** 2)
    return np.exp(math.log(mean) - 0.5 * s2 + math.sqrt(s2) * z)


CASES = {
    "1 linear, exact (m_R - m_S)/sqrt(s_R^2 + s_S^2)": (
        2,
        lambda u: (200 + 20 * u[:, 0]) - (100 + 30 * u[:, 1]),
        100 / math.hypot(20, 30),
        1e-6,
    ),
    "2 steel section, normal (Haldar & Mahadevan 4.261, from memory)": (
        2,
        lambda u: (38 + 3.8 * u[:, 0]) * (54 + 2.7 * u[:, 1]) - 1140,
        4.261,
        5e-4,
    ),
    "3 same, strength log-normal (5.151)": (
        2,
        lambda u: _lognormal(u[:, 0], 38, 3.8) * (54 + 2.7 * u[:, 1]) - 1140,
        5.151,
        5e-4,
    ),
    "4 Y Z - M (Ang & Tang, from memory)": (
        3,
        lambda u: (40 + 5 * u[:, 0]) * (50 + 2.5 * u[:, 1]) - (1000 + 200 * u[:, 2]),
        3.0491,
        5e-4,
    ),
    "5 same with rho(Y, Z) = 0.4": (
        3,
        lambda u: (
            (40 + 5 * u[:, 0]) * (50 + 2.5 * (0.4 * u[:, 0] + math.sqrt(0.84) * u[:, 1]))
            - (1000 + 200 * u[:, 2])
        ),
        2.8629,
        5e-4,
    ),
    "8 x1^4 + 2 x2^4 - 20 (a plain iteration oscillates)": (
        2,
        lambda u: (10 + 5 * u[:, 0]) ** 4 + 2 * (10 + 5 * u[:, 1]) ** 4 - 20,
        2.3654,
        5e-4,
    ),
    "9 x1^3 + x2^3 - 18": (2, lambda u: (10 + 5 * u[:, 0]) ** 3 + (10 + 5 * u[:, 1]) ** 3 - 18, 2.2401, 5e-4),
    "10 as 9, second mean 9.9": (
        2,
        lambda u: (10 + 5 * u[:, 0]) ** 3 + (9.9 + 5 * u[:, 1]) ** 3 - 18,
        2.2260,
        5e-4,
    ),
    "11 exp(.2 u1 + 1.4) - u2": (2, lambda u: np.exp(0.2 * u[:, 0] + 1.4) - u[:, 1], 3.3497, 5e-4),
    "12": (2, lambda u: np.exp(0.4 * (u[:, 0] + 2) + 6.2) - np.exp(0.3 * u[:, 1] + 5) - 200, 2.7099, 5e-4),
    "13 beam deflection": (
        2,
        lambda u: 18.46154 - 7.476923e10 * (0.001 + 0.0002 * u[:, 0]) / (250 + 37.5 * u[:, 1]) ** 3,
        2.3309,
        5e-4,
    ),
    "14 plastic hinge": (
        6,
        lambda u: (
            _lognormal(u[:, 0], 120, 12)
            + 2 * _lognormal(u[:, 1], 120, 12)
            + 2 * _lognormal(u[:, 2], 120, 12)
            + _lognormal(u[:, 3], 120, 12)
            - 5 * _lognormal(u[:, 4], 50, 15)
            - 5 * _lognormal(u[:, 5], 40, 12)
        ),
        2.3482,
        5e-4,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_reliability_index(name):
    d, g, beta, tolerance = CASES[name]
    found = design_point(g, d)
    assert found is not None
    assert found.beta == pytest.approx(beta, abs=tolerance)
    assert found.importance.sum() == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("name", [n for n in CASES if not n.startswith("8")])
def test_agrees_with_a_general_purpose_optimiser(name):
    """Independent route: SciPy's SLSQP minimises |u| on the same surface."""
    d, g, _, _ = CASES[name]
    found = design_point(g, d)
    scale = abs(float(g(np.zeros((1, d)))[0]))
    best = min(
        (
            minimize(
                lambda u: 0.5 * u @ u,
                start,
                method="SLSQP",
                constraints={"type": "eq", "fun": lambda u: float(g(u[None, :])[0]) / scale},
                options={"ftol": 1e-12, "maxiter": 500},
            )
            for start in (found.u + 0.3, found.u * 0.7)
        ),
        key=lambda r: (not r.success, r.fun),
    )
    assert math.sqrt(2 * best.fun) == pytest.approx(abs(found.beta), abs=2e-3)


def test_sign_when_the_nominal_engine_already_fails():
    found = design_point(lambda u: -1.0 + 0.5 * u[:, 0], 1)
    assert found.beta == pytest.approx(-2.0)
    assert found.failure_chance == pytest.approx(0.97725, abs=1e-5)


def test_flat_surface_has_no_design_point():
    assert design_point(lambda u: np.ones(len(u)), 2) is None
