"""Threads: stress area, engaged shear areas, and the load that strips a tapped hole."""

from __future__ import annotations

import numpy as np

from ..trace import Array, formula

_TAN30 = float(np.tan(np.pi / 6.0))
_ALEXANDER = "Alexander 1977, SAE 770420; ISO 898 annex; VDI 2230-1 sec. 5.5.5 (from memory)"


@formula(
    symbol="A_s",
    unit="m2",
    equation="A_s = (pi/4) (d - 0.9743 P)^2 (inch) or (pi/4) (d - 0.938194 P)^2 (metric)",
    source="ASME B1.1 (from memory); ISO 898-1 (read)",
)
def stress_area(major: Array, pitch: Array, system: str = "UN") -> Array:
    """Tensile stress area of a 60 degree thread.

    Parameters
    ----------
    major, pitch : array
        [m].
    system : str
        ``"UN"`` or ``"ISO"``.

    Returns
    -------
    array
        [m2].
    """
    step = 0.9743 if system == "UN" else 0.938194
    return 0.25 * np.pi * (major - step * pitch) ** 2


@formula(
    symbol="L_e",
    unit="m",
    equation="L_e = max(L - c P, P)",
    source="VDI 2230-1 sec. 5.5.5: deduct 0.8 P to 2 P for chamfer and run-out (from memory)",
)
def effective_engagement(engagement: Array, pitch: Array, lost_pitches: Array) -> Array:
    """Length of full thread that carries.

    Parameters
    ----------
    engagement, pitch : array, shape (n, 1, 1, 1)
        Depth screwed in; pitch [m].
    lost_pitches : array
        Chamfer and run-out, in pitches [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m], one pitch at least.
    """
    return np.maximum(engagement - lost_pitches * pitch, pitch)


@formula(
    symbol="A_SG",
    unit="m2",
    equation="A_SG = pi d (L_e/P) [P/2 + (d - d2) tan 30]",
    source=_ALEXANDER,
    valid="basic profile",
)
def tapped_shear_area(major: Array, pitch: Array, pitch_diameter: Array, engagement: Array) -> Array:
    """Area that shears when the tapped thread strips, at the major diameter of the fastener.

    Parameters
    ----------
    major, pitch, pitch_diameter, engagement : array, shape (n, 1, 1, 1)
        Of the thread in the tapped part [m].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m2].
    """
    return np.pi * major * engagement / pitch * (0.5 * pitch + (major - pitch_diameter) * _TAN30)


@formula(
    symbol="A_SB",
    unit="m2",
    equation="A_SB = pi D1 (L_e/P) [P/2 + (d2 - D1) tan 30]",
    source=_ALEXANDER,
    valid="basic profile",
)
def fastener_shear_area(
    nut_minor_diameter: Array, pitch: Array, pitch_diameter: Array, engagement: Array
) -> Array:
    """Area that shears when the fastener's own thread strips.

    Parameters
    ----------
    nut_minor_diameter, pitch, pitch_diameter, engagement : array, shape (n, 1, 1, 1)
        [m].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m2].
    """
    return (
        np.pi
        * nut_minor_diameter
        * engagement
        / pitch
        * (0.5 * pitch + (pitch_diameter - nut_minor_diameter) * _TAN30)
    )


@formula(
    symbol="R_S",
    unit="1",
    equation="R_S = (tau_G R_mG A_SG) / (tau_B R_mB A_SB)",
    source=_ALEXANDER,
)
def strength_ratio(
    tapped_area: Array,
    tapped_tensile: Array,
    tapped_shear_ratio: Array,
    fastener_area: Array,
    fastener_tensile: Array,
    fastener_shear_ratio: Array,
) -> Array:
    """Shear strength of the tapped thread over that of the fastener's.

    Parameters
    ----------
    tapped_area, fastener_area : array, shape (n, 1, 1, 1)
        [m2].
    tapped_tensile, fastener_tensile : array
        [Pa].
    tapped_shear_ratio, fastener_shear_ratio : array
        Shear over tensile strength [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [-].
    """
    return (tapped_shear_ratio * tapped_tensile * tapped_area) / (
        fastener_shear_ratio * fastener_tensile * fastener_area
    )


@formula(
    symbol="C_3",
    unit="1",
    equation="C_3 = 0.728 + 1.769 R_S - 2.896 R_S^2 + 1.296 R_S^3 for 0.4 < R_S < 1, else 0.897 above 1",
    source=_ALEXANDER,
    valid="held at its value for R_S = 0.4 below that",
)
def tapped_bending_factor(ratio: Array) -> Array:
    """Loss of the tapped thread's strength because the threads bend.

    Parameters
    ----------
    ratio : array, shape (n, 1, 1, 1)
        `strength_ratio` [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [-].
    """
    x = np.clip(ratio, 0.4, 1.0)
    return 0.728 + x * (1.769 + x * (-2.896 + x * 1.296))


@formula(
    symbol="C_1",
    unit="1",
    equation="C_1 = 3.8 s/d - (s/d)^2 - 2.61 for 1.4 <= s/d < 1.9, else 1",
    source=_ALEXANDER,
    valid="s/d above 1.4; held below",
)
def dilation_factor(boss_diameter: Array, major: Array) -> Array:
    """Loss of strength because a thin boss opens under the wedge of the threads.

    Parameters
    ----------
    boss_diameter, major : array, shape (n, 1, 1, 1)
        Iron around the hole; thread [m].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [-], at most 1.
    """
    x = np.clip(boss_diameter / major, 1.4, 1.9)
    return x * (3.8 - x) - 2.61


@formula(
    symbol="F_strip",
    unit="N",
    equation="F_strip = C_1 C_3 tau_G R_mG A_SG",
    source=_ALEXANDER,
)
def tapped_strip_load(
    tapped_area: Array, tapped_tensile: Array, tapped_shear_ratio: Array, dilation: Array, bending: Array
) -> Array:
    """Pull that strips the thread out of the tapped part.

    Parameters
    ----------
    tapped_area : array, shape (n, 1, 1, 1)
        [m2].
    tapped_tensile, tapped_shear_ratio : array
        [Pa], [-].
    dilation, bending : array
        `dilation_factor`, `tapped_bending_factor` [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    return dilation * bending * tapped_shear_ratio * tapped_tensile * tapped_area
