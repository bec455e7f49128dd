"""Press fits: pressure of two rings, and what a register or key carries."""

from __future__ import annotations

import numpy as np

from ..trace import Array, formula


@formula(
    symbol="p",
    unit="Pa",
    equation="p = delta / { d [ ((Do^2+d^2)/(Do^2-d^2) + nu_o)/E_o + ((d^2+di^2)/(d^2-di^2) - nu_i)/E_i ] }",
    source="Lame; Budynas & Nisbett eq. 3-56 (from memory)",
    valid="elastic rings of equal length; interference small against the diameter",
)
def ring_fit_pressure(
    interference: Array,
    diameter: Array,
    outer_diameter: Array,
    inner_diameter: Array,
    outer_modulus: Array,
    outer_poisson: Array,
    inner_modulus: Array,
    inner_poisson: Array,
) -> Array:
    """Pressure between two rings pressed into one another.

    Parameters
    ----------
    interference : array
        On the diameter; a clearance gives no pressure [m].
    diameter, outer_diameter, inner_diameter : array
        Of the fit, of the outer ring outside, of the inner ring inside (0 for a solid shaft) [m].
    outer_modulus, inner_modulus : array
        [Pa].
    outer_poisson, inner_poisson : array
        [-].

    Returns
    -------
    array
        Compressive, zero or more [Pa].
    """
    d2, do2, di2 = diameter**2, outer_diameter**2, inner_diameter**2
    hub = ((do2 + d2) / (do2 - d2) + outer_poisson) / outer_modulus
    core = ((d2 + di2) / (d2 - di2) - inner_poisson) / inner_modulus
    return np.maximum(interference, 0.0) / (diameter * (hub + core))


@formula(
    symbol="sigma_h",
    unit="Pa",
    equation="sigma_h = p ri^2 (1 + ro^2/r^2) / (ro^2 - ri^2)",
    source="Lame; Timoshenko, Strength of Materials II (from memory)",
    valid="long elastic ring under inner pressure",
)
def ring_hoop_stress(pressure: Array, inner_radius: Array, outer_radius: Array, radius: Array) -> Array:
    """Hoop stress in a thick ring under inner pressure.

    Parameters
    ----------
    pressure : array
        Inside, above that outside [Pa].
    inner_radius, outer_radius, radius : array
        Of the ring, and where the stress is wanted [m].

    Returns
    -------
    array
        Tension positive [Pa].
    """
    inner2 = inner_radius**2
    return pressure * inner2 * (1.0 + outer_radius**2 / radius**2) / (outer_radius**2 - inner2)


@formula(
    symbol="delta_w",
    unit="m",
    equation="delta_w = max(delta - 0.8 (Rz1 + Rz2), 0)",
    source="DIN 7190-1 (from memory)",
)
def effective_interference(interference: Array, roughness_sum: Array) -> Array:
    """Interference that is left once the peaks of both faces are pressed flat.

    Parameters
    ----------
    interference : array
        Measured, on the diameter or across both sides [m].
    roughness_sum : array
        Rz of both faces added [m].

    Returns
    -------
    array
        [m].
    """
    return np.maximum(interference - 0.8 * roughness_sum, 0.0)


@formula(
    symbol="F_r",
    unit="N",
    equation="F_r = max(delta, 0) / (s/(E_c A_c) + d_b)",
    source="statics of two bars pressed against one another across the register",
    valid="elastic; both sides of the register share the interference",
)
def register_preload(
    interference: Array,
    span: Array,
    cap_area: Array,
    cap_modulus: Array,
    block_compliance: Array,
) -> Array:
    """Sideways force that a register with interference squeezes a cap with.

    Parameters
    ----------
    interference : array
        Across both sides; a clearance gives none [m].
    span : array
        Width of the cap between the register's faces [m].
    cap_area : array
        Section of the cap that is squeezed, through the crown [m2].
    cap_modulus : array
        [Pa].
    block_compliance : array
        How far the block's two faces spread per newton [m/N].

    Returns
    -------
    array
        Zero or more [N].
    """
    return np.maximum(interference, 0.0) / (span / (cap_modulus * cap_area) + block_compliance)


@formula(
    symbol="F_f",
    unit="N",
    equation="F_f = mu F_N n",
    source="Coulomb",
)
def friction_capacity(normal_force: Array, friction: Array, faces: int = 1) -> Array:
    """Force that dry or oiled faces hold before they slip.

    Parameters
    ----------
    normal_force : array
        On each face [N].
    friction : array
        Coefficient [-].
    faces : int
        Number of faces that carry it [-].

    Returns
    -------
    array
        [N].
    """
    return faces * friction * np.maximum(normal_force, 0.0)
