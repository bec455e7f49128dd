"""Preload of one fastener: from torque, from angle, from stretch, and what is lost of it."""

from __future__ import annotations

import numpy as np

from ..trace import Array, formula

#: Half the flank angle of unified and ISO metric threads [rad].
_FLANK = np.pi / 6.0


def _thread_lever(pitch: Array, pitch_diameter: Array, thread_friction: Array) -> Array:
    """Thread torque per newton of preload [m], the screw as an inclined plane."""
    rise = pitch / (np.pi * pitch_diameter)
    rub = thread_friction / np.cos(_FLANK)
    lever: Array = 0.5 * pitch_diameter * (rise + rub) / (1.0 - rub * rise)
    return lever


@formula(
    symbol="D_m",
    unit="m",
    equation="D_m = (d_w + d) / 2",
    source="uniform pressure on a thin ring; Budynas & Nisbett sec. 8-8 (from memory)",
)
def bearing_mean_diameter(washer_face: Array, major: Array) -> Array:
    """Mean diameter on which a head or nut rubs.

    Parameters
    ----------
    washer_face, major : array, shape (n, 1, 1, 1)
        Diameter of the bearing face, and of the thread (about that of the hole) [m].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Mean diameter [m].
    """
    return 0.5 * (washer_face + major)


@formula(
    symbol="F_M",
    unit="N",
    equation="F_M = a T / [ (d2/2) (tan l + m_t / cos 30) / (1 - m_t tan l / cos 30) + m_h D_m / 2 ],"
    " tan l = P / (pi d2)",
    source="Budynas & Nisbett eq. 8-26, same mechanics as VDI 2230-1 (from memory); statics of the screw",
    valid="friction 0.04 to 0.35; below yield of the fastener",
)
def preload_from_torque(
    torque: Array,
    pitch: Array,
    pitch_diameter: Array,
    bearing_diameter: Array,
    thread_friction: Array,
    head_friction: Array,
    scatter: Array,
) -> Array:
    """Preload that a tightening torque gives.

    Parameters
    ----------
    torque : array, shape (n, 1, 1, 1)
        Read on the wrench while turning [N m].
    pitch, pitch_diameter, bearing_diameter : array
        Of the thread that turns, and of the face that rubs [m].
    thread_friction, head_friction : array
        Coefficients, 0.04 to 0.35 [-].
    scatter : array
        Tool, reading and fastener to fastener, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Preload while the wrench is still on, tension positive [N].
    """
    lever = _thread_lever(pitch, pitch_diameter, thread_friction) + 0.5 * head_friction * bearing_diameter
    return scatter * torque / lever


@formula(
    symbol="F_M",
    unit="N",
    equation="F_M = F_snug + a (theta / 2 pi) P / (d_S + d_P)",
    source="geometry of the screw and Hooke's law (VDI 2230-1, from memory)",
    valid="faces in full contact at the snug torque; below yield",
)
def preload_from_angle(
    snug_preload: Array,
    angle: Array,
    pitch: Array,
    bolt_compliance: Array,
    member_compliance: Array,
    scatter: Array,
) -> Array:
    """Preload after turning by an angle beyond the snug torque.

    Parameters
    ----------
    snug_preload : array, shape (n, 1, 1, 1)
        Preload at the snug torque [N].
    angle : array
        Turned after it [rad].
    pitch : array
        Of the thread that turns [m].
    bolt_compliance, member_compliance : array
        Of the fastener and of what it clamps [m/N].
    scatter : array
        Of the angle and of the point where it starts, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Preload, tension positive [N].
    """
    return snug_preload + scatter * angle / (2.0 * np.pi) * pitch / (bolt_compliance + member_compliance)


@formula(
    symbol="F_M",
    unit="N",
    equation="F_M = a f / d_free",
    source="Hooke's law",
    valid="below yield; stretch read over both ends of the fastener",
)
def preload_from_stretch(stretch: Array, free_compliance: Array, scatter: Array) -> Array:
    """Preload from the stretch of the fastener, read end to end.

    Parameters
    ----------
    stretch : array, shape (n, 1, 1, 1)
        Lengthening between the end faces [m].
    free_compliance : array
        Lengthening per newton between the end faces [m/N].
    scatter : array
        Of the gauge and of the fasteners, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Preload, tension positive [N].
    """
    return scatter * stretch / free_compliance


@formula(
    symbol="F_y",
    unit="N",
    equation="F_y = A_s R_p / sqrt(1 + 3 [1.5 (d2/d_s) (tan l + m_t / cos 30) / (1 - m_t tan l / cos 30)]^2)",
    source="VDI 2230-1 sec. 5.4.3 with all of R_p used (from memory); von Mises, plastic in twist",
)
def yield_preload(
    stress_area: Array, yield_strength: Array, pitch: Array, pitch_diameter: Array, thread_friction: Array
) -> Array:
    """Preload at which a fastener yields while it is being turned.

    The torque of the thread twists the shank of a bolt and of a stud alike: the
    stud's nut drags on it just as the block's thread drags on a bolt.

    Parameters
    ----------
    stress_area : array, shape (n, 1, 1, 1)
        Smallest of the loaded length [m2].
    yield_strength : array
        0.2 % [Pa].
    pitch, pitch_diameter, thread_friction : array
        Of the thread that turns [m], [m], [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Preload [N].
    """
    diameter = np.sqrt(4.0 * stress_area / np.pi)
    lever = _thread_lever(pitch, pitch_diameter, thread_friction)
    twist = 3.0 * lever / diameter  # shear over tension: (12 T / pi d^3) / (4 F / pi d^2)
    return stress_area * yield_strength / np.sqrt(1.0 + 3.0 * twist**2)


@formula(
    symbol="F_M",
    unit="N",
    equation="F_M = min(F_elastic, F_y)",
    source="elastic and perfectly plastic fastener",
    valid="past yield the real fastener hardens a little: the figure is low by some per cent",
)
def preload_up_to_yield(elastic_preload: Array, yield_limit: Array) -> Array:
    """Preload, held at yield where the tightening passes it.

    Parameters
    ----------
    elastic_preload, yield_limit : array, shape (n, 1, 1, 1)
        Preload of an elastic fastener; preload at yield [N].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Preload [N].
    """
    return np.minimum(elastic_preload, yield_limit)


@formula(
    symbol="f_Z",
    unit="m",
    equation="f_Z = n_t f_t + n_s f_s + n_i f_i",
    source="VDI 2230-1 table 5, Rz below 10 um, axial load (from memory)",
)
def embedding(
    per_thread: Array, per_seat: Array, per_face: Array, threads: int, seats: int, faces: int
) -> Array:
    """How far the rough faces of a joint settle.

    Parameters
    ----------
    per_thread, per_seat, per_face : array, shape (n, 1, 1, 1)
        Settling of one thread pair, one head or nut seat, one clamped interface [m].
    threads, seats, faces : int
        How many of each [-].  A stud has two thread pairs, a bolt one.

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Sum [m].
    """
    return threads * per_thread + seats * per_seat + faces * per_face


@formula(
    symbol="F_V",
    unit="N",
    equation="F_V = max(F_M - f_Z / (d_S + d_P), 0)",
    source="VDI 2230-1 sec. 5.4.2 (from memory); Hooke's law",
)
def preload_after_embedding(
    preload: Array, settling: Array, bolt_compliance: Array, member_compliance: Array
) -> Array:
    """Preload that is left once the faces have settled.

    Parameters
    ----------
    preload : array, shape (n, 1, 1, 1)
        As tightened [N].
    settling : array
        Sum of the embedding [m].
    bolt_compliance, member_compliance : array
        [m/N].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Preload, never below zero [N].
    """
    return np.maximum(preload - settling / (bolt_compliance + member_compliance), 0.0)
