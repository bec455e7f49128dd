"""What a tapped fastener does to the iron below its thread: the two shares in joints.toml, derived.

The pull of the thread is spread evenly over its length inside a half-space
(Mindlin 1936, Physics 7, p. 195, coefficients from memory, proved here by
equilibrium); the clamp presses on a ring of the free face (Boussinesq).  Both are
integrated over the boss at the last thread: once as a solid of great extent, once
as a thin web (a line of such forces).  The constants lie between.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build.catalogue import row

NU = 0.26


def mindlin(radius, z, c):
    """Stress along z at (radius, z) for a unit force along z at depth c, tension positive [1/m2]."""
    near, far = np.hypot(radius, z - c), np.hypot(radius, z + c)
    return (
        -(1 - 2 * NU) * (z - c) / near**3
        + (1 - 2 * NU) * (z - c) / far**3
        - 3 * (z - c) ** 3 / near**5
        - (3 * (3 - 4 * NU) * z * (z + c) ** 2 - 3 * c * (z + c) * (5 * z - c)) / far**5
        - 30 * c * z * (z + c) ** 3 / far**7
    ) / (8 * np.pi * (1 - NU))


def midpoints(end, n, start=0.0):
    return start + (np.arange(n) + 0.5) * (end - start) / n


@pytest.mark.parametrize(("depth", "balance"), [(30.0, -1.0), (5.0, 0.0)])
def test_the_half_space_is_in_balance(depth, balance):
    """A whole plane below the force bears all of it, one above it nothing."""
    u = midpoints(1.0, 200_000)
    radius = 20.0 * u / (1.0 - u)
    jacobian = 20.0 / (1.0 - u) ** 2
    total = np.mean(mindlin(radius, depth, 20.0) * 2 * np.pi * radius * jacobian)
    assert_allclose(total, balance, atol=2e-3)


def shares_solid(boss, engaged, sunk, ring):
    radius = midpoints(0.5 * boss, 1000)
    tip = sunk + engaged
    pull = -np.mean(
        [np.mean(mindlin(radius, tip, c) * 2 * np.pi * radius) for c in midpoints(tip, 16, sunk)]
    ) * (0.5 * boss)
    turn = midpoints(np.pi, 60)
    push = 0.0
    for r0 in ring:
        far2 = radius[:, None] ** 2 + r0**2 - 2 * radius[:, None] * r0 * np.cos(turn) + tip**2
        stress = (3 * tip**3 / (2 * np.pi * far2**2.5)).mean(axis=1)
        push += np.mean(stress * 2 * np.pi * radius) * 0.5 * boss / len(ring)
    return pull, push


def shares_web(boss, engaged, sunk, ring):
    across, along = midpoints(0.5 * boss, 60), np.linspace(-200.0, 200.0, 2001)
    tip = sunk + engaged
    pull = (
        -np.mean(
            [
                np.trapezoid(mindlin(np.hypot(across[:, None], along), tip, c), along, axis=1).mean()
                for c in midpoints(tip, 16, sunk)
            ]
        )
        * boss
    )
    x = midpoints(0.5 * boss, 400, -0.5 * boss)
    push = np.mean(
        [np.mean(2 * tip**3 / (np.pi * ((x - x0) ** 2 + tip**2) ** 2)) * boss for x0 in (*ring, *-ring)]
    )
    return pull, push


def test_the_constants_lie_between_a_deep_block_and_a_thin_web():
    """Boss 28 mm, thread 25 mm long, flush or sunk by 12 mm; load factor 0.16."""
    ring = np.linspace(7.0, 12.0, 6)
    clamp, load = [], []
    for sunk in (0.0, 12.0):
        for shares in (shares_solid, shares_web):
            pull, push = shares(28.0, 25.0, sunk, ring)
            clamp.append(pull - push)
            load.append(0.16 * pull + (1 - 0.16) * push)
    for name, derived in (("bolt_hole.clamp_share", clamp), ("bolt_hole.load_share", load)):
        constant = row("model", name)
        assert min(derived) < constant.si("value") < max(derived)
        assert constant.si("value") - 2 * constant.u("value") < min(derived)
        assert constant.si("value") + 2 * constant.u("value") > max(derived)
