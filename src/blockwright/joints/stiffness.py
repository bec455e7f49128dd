"""Stiffness of fastener and clamped parts, and the load factor that follows."""

from __future__ import annotations

import numpy as np

from ..errors import InputError
from ..trace import Array, formula

#: Clearance hole over thread diameter, medium fit (ISO 273, from memory) [-].
_HOLE = 1.06


@formula(
    symbol="d_S",
    unit="m/N",
    equation="d_S = [end_1 + l_s/A_N + l_t/A_3 + 0.5 d/A_3] / E_S + 0.33 d / (E_M A_N); "
    "end_1 = 0.5 d/A_N (head) or 0.4 d/A_N + 0.5 d/A_3 (nut)",
    source="VDI 2230-1 sec. 5.1.1 (from memory)",
    valid="hexagon head or nut; thread in a tapped hole at least 1 d deep",
)
def fastener_compliance(
    grip: Array,
    threaded_share: Array,
    major: Array,
    root_diameter: Array,
    modulus: Array,
    tapped_modulus: Array,
    kind: str = "bolt",
) -> Array:
    """Compliance of a bolt or stud in a tapped hole, with its head, nut and threads.

    Parameters
    ----------
    grip : array, shape (n, 1, 1, 1)
        Length clamped [m].
    threaded_share : array
        Part of the grip with free thread, 0 to 1 [-].
    major, root_diameter : array
        Of the thread [m]; the shank has the major diameter.
    modulus, tapped_modulus : array
        Young's modulus of the fastener and of the tapped part [Pa].
    kind : str
        ``"bolt"`` or ``"stud"``.

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Lengthening per newton, tapped thread's own give included [m/N].
    """
    shank = 0.25 * np.pi * major**2
    root = 0.25 * np.pi * root_diameter**2
    if kind == "bolt":
        end = 0.5 * major / shank
    elif kind == "stud":
        end = 0.4 * major / shank + 0.5 * major / root
    else:
        raise InputError(f"kind of fastener is {kind!r}; it must be 'bolt' or 'stud'")
    between = grip * ((1.0 - threaded_share) / shank + threaded_share / root)
    return (end + between + 0.5 * major / root) / modulus + 0.33 * major / (tapped_modulus * shank)


@formula(
    symbol="d_free",
    unit="m/N",
    equation="d_free = [0.5 d/A_N + l_s/A_N + l_t/A_3 + 0.5 d/A_3] / E_S",
    source="VDI 2230-1 sec. 5.1.1 (from memory), without the give of the tapped thread",
)
def end_to_end_compliance(
    grip: Array, threaded_share: Array, major: Array, root_diameter: Array, modulus: Array
) -> Array:
    """Lengthening per newton between the end faces of a fastener, as a stretch gauge sees it.

    Parameters
    ----------
    grip, threaded_share, major, root_diameter, modulus : array, shape (n, 1, 1, 1)
        As in `fastener_compliance` [m], [-], [m], [m], [Pa].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m/N].
    """
    shank = 0.25 * np.pi * major**2
    root = 0.25 * np.pi * root_diameter**2
    between = grip * ((1.0 - threaded_share) / shank + threaded_share / root)
    return (0.5 * major / shank + between + 0.5 * major / root) / modulus


@formula(
    symbol="k_b",
    unit="N/m",
    equation="k_b = A_d A_t E / (A_d l_t + A_t l_d)",
    source="Budynas & Nisbett eq. 8-17 (read)",
)
def bolt_stiffness(
    shank_area: Array, stress_area: Array, shank_length: Array, thread_length: Array, modulus: Array
) -> Array:
    """Stiffness of a plain bolt: shank and free thread in series, ends rigid.

    Parameters
    ----------
    shank_area, stress_area : array
        [m2].
    shank_length, thread_length : array
        Within the grip [m].
    modulus : array
        [Pa].

    Returns
    -------
    array
        [N/m].
    """
    return shank_area * stress_area * modulus / (shank_area * thread_length + stress_area * shank_length)


@formula(
    symbol="k_m",
    unit="N/m",
    equation="k_m = E d A exp(B d / l), A = 0.78952, B = 0.62914",
    source="Wileman, Choudury & Green 1991, J. Mech. Des. 113; general constants from memory, "
    "those of steel and iron (within 1.5 %) read",
    valid="0.1 < d/l < 2; washer face 1.5 d; wide members of one material",
)
def member_stiffness_exponential(major: Array, grip: Array, modulus: Array) -> Array:
    """Stiffness of wide clamped parts, fitted to finite elements.

    Parameters
    ----------
    major, grip : array
        Thread diameter and clamped length [m].
    modulus : array
        Of the clamped parts [Pa].

    Returns
    -------
    array
        [N/m].
    """
    return modulus * major * 0.78952 * np.exp(0.62914 * major / grip)


@formula(
    symbol="k_f",
    unit="N/m",
    equation="k_f = 0.5774 pi E d / ln[ (1.155 t + D - d)(D + d) / ((1.155 t + D + d)(D - d)) ]",
    source="Budynas & Nisbett eq. 8-20 (read)",
    valid="half angle 30 degrees; wide parts",
)
def frustum_stiffness(major: Array, small_diameter: Array, thickness: Array, modulus: Array) -> Array:
    """Stiffness of one hollow cone of pressure under a head.

    Parameters
    ----------
    major, small_diameter, thickness : array
        Bolt diameter, diameter at the small end, height of the cone [m].
    modulus : array
        [Pa].

    Returns
    -------
    array
        [N/m].
    """
    spread = 1.155 * thickness
    ratio = (
        (spread + small_diameter - major)
        * (small_diameter + major)
        / ((spread + small_diameter + major) * (small_diameter - major))
    )
    return 0.5774 * np.pi * modulus * major / np.log(ratio)


@formula(
    symbol="d_P",
    unit="m/N",
    equation="cone from d_w at angle phi to D_A, then a sleeve: tan phi = 0.348 + 0.013 ln(l/d_w) + "
    "0.193 ln(D_A/d_w)",
    source="VDI 2230-1 sec. 5.1.2, tapped joint (from memory)",
    valid="D_A above d_w; checked against Wileman within 10 % where D_A is wide",
)
def member_compliance_cone(
    washer_face: Array, major: Array, grip: Array, outer_diameter: Array, modulus: Array, error: Array
) -> Array:
    """Compliance of the clamped part over a tapped hole, narrow parts included.

    Parameters
    ----------
    washer_face, major, grip : array, shape (n, 1, 1, 1)
        Bearing face, thread, clamped length [m].
    outer_diameter : array
        Of a round part with the section of the clamped one [m].
    modulus : array
        [Pa].
    error : array
        Of the member model, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Shortening per newton [m/N].
    """
    hole = _HOLE * major
    outer = np.maximum(outer_diameter, 1.02 * washer_face)
    slope = 0.348 + 0.013 * np.log(grip / washer_face) + 0.193 * np.log(outer / washer_face)
    # the cone is cut off where it reaches the side of the part
    reach = np.minimum(washer_face + 2.0 * grip * slope, outer)
    cone_height = (reach - washer_face) / (2.0 * slope)
    cone = np.log((washer_face + hole) * (reach - hole) / ((washer_face - hole) * (reach + hole))) / (
        hole * slope
    )
    sleeve = 4.0 * np.maximum(grip - cone_height, 0.0) / (outer**2 - hole**2)
    return error * (cone + sleeve) / (np.pi * modulus)


@formula(
    symbol="D_A",
    unit="m",
    equation="D_A = sqrt(4 a b / pi)",
    source="round part of equal section",
)
def equal_area_diameter(width: Array, length: Array) -> Array:
    """Diameter of the round part with the section of a rectangular foot.

    Parameters
    ----------
    width, length : array, shape (n, 1, 1, 1)
        Sides of the foot at the joint face [m].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m].
    """
    return np.sqrt(4.0 * width * length / np.pi)


@formula(
    symbol="D_A",
    unit="m",
    equation="D_A = r d",
    source="definition",
)
def diameter_by_ratio(major: Array, ratio: Array) -> Array:
    """Diameter of the clamped part, in thread diameters.

    Parameters
    ----------
    major, ratio : array, shape (n, 1, 1, 1)
        [m], [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [m].
    """
    return major * ratio


@formula(
    symbol="Phi",
    unit="1",
    equation="Phi = n d_P / (d_S + d_P)",
    source="VDI 2230-1 sec. 5.3 (from memory); two springs",
    valid="faces in contact; n = 1 when the load enters under head and nut",
)
def load_factor(bolt_compliance: Array, member_compliance: Array, introduction: Array) -> Array:
    """Share of the load on a joint that its fastener feels.

    Parameters
    ----------
    bolt_compliance, member_compliance : array, shape (n, 1, 1, 1)
        [m/N].
    introduction : array
        How deep in the clamped parts the load enters, 0 at the joint face, 1 under the head [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        0 <= Phi < 1 [-].
    """
    return np.clip(introduction, 0.0, 1.0) * member_compliance / (bolt_compliance + member_compliance)
