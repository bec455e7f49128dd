"""Stress in the iron below a tapped hole.

A clamp is balanced between joint face and thread; what of it, and of the cap's load,
passes the last thread within the boss was integrated once
(``tests/joints/test_bolt_hole_shares.py``) and stands in ``joints.toml``.
"""

from __future__ import annotations

import numpy as np

from ..trace import Array, formula

#: Of the method, in one line.
SOURCE = "Mindlin 1936 and Boussinesq for the pull of the thread, notch factor on nominal stress"


@formula(
    symbol="A_b",
    unit="m2",
    equation="A_b = (pi/4) (D_b^2 - d^2)",
    source="geometry",
    valid="boss above 1.3 d",
)
def boss_area(boss_diameter: Array, major: Array) -> Array:
    """Iron around a tapped hole.

    Parameters
    ----------
    boss_diameter, major : array, shape (n, 1, 1, 1)
        [m].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m2].
    """
    return 0.25 * np.pi * (np.maximum(boss_diameter, 1.3 * major) ** 2 - major**2)


@formula(
    symbol="K_f",
    unit="1",
    equation="K_f = 1 + q (K_t - 1)",
    source="Peterson; Budynas & Nisbett eq. 6-32 (from memory)",
)
def notch_factor(concentration: Array, sensitivity: Array) -> Array:
    """Fatigue notch factor from the elastic one.

    Parameters
    ----------
    concentration, sensitivity : array, shape (n, 1, 1, 1)
        K_t [-]; q, held to 0..1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [-].
    """
    return 1.0 + np.clip(sensitivity, 0.0, 1.0) * (concentration - 1.0)


@formula(
    symbol="sigma_0",
    unit="Pa",
    equation="sigma_0 = m K_f c_V F_V / A_b",
    source=SOURCE,
    valid="clamp is balanced inside the boss: only c_V of it pulls the iron below the thread",
)
def hole_stress_clamp(preload: Array, clamp_share: Array, area: Array, notch: Array, error: Array) -> Array:
    """Stress at the bottom of the bolt hole from the clamp alone.

    Parameters
    ----------
    preload, clamp_share : array, shape (n, 1, 1, 1)
        [N]; part of it that pulls the section at the last thread [-].
    area, notch, error : array
        `boss_area` [m2]; K_f [-]; model error, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Tension positive [Pa].
    """
    return error * notch * clamp_share * preload / area


@formula(
    symbol="sigma_max",
    unit="Pa",
    equation="sigma_max = sigma_0 + m K_f c_A F_A / A_b",
    source=SOURCE,
)
def hole_stress_peak(
    rest: Array, load: Array, load_share: Array, area: Array, notch: Array, error: Array
) -> Array:
    """Largest stress at the bottom of the bolt hole in one cycle.

    Parameters
    ----------
    rest : array, shape (n, 1, 1, 1)
        `hole_stress_clamp` [Pa].
    load : array, shape (n, P, Z, 1)
        On the fastener's joint [N].
    load_share, area, notch, error : array, shape (n, 1, 1, 1)
        Part of the load that passes the section within the boss [-]; as in `hole_stress_clamp`.

    Returns
    -------
    array, shape (n, P, Z, 1)
        Tension positive [Pa].
    """
    return rest + error * notch * load_share * load / area
