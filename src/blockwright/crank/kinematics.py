r"""Exact slider-crank with the piston pin off the cylinder axis.

In the cylinder's own frame u points up the cylinder from the crank and t the way the
crankpin moves at the top.  The crankpin is at :math:`r(\cos\psi\,u+\sin\psi\,t)` and the
piston pin at :math:`s\,u-\delta\,t`: a positive offset :math:`\delta` is towards the
major thrust side, the side on which a loaded piston bears on the power stroke (-t).

.. math::

   q = r\sin\psi+\delta,\quad c=\sqrt{l^2-q^2},\quad s=r\cos\psi+c

The crank angle :math:`\psi` is 0 when crank centre, crankpin and cylinder stand in line.
That is top dead centre without an offset; with one the piston is highest at
:math:`-\arcsin(\delta/(l+r))`, a few tenths of a degree away.  `gas` counts angles the same way,
so that torque and the work of the gas agree to the last digit.

Source: exact differentiation; form as Heywood 1988 eq. 2.5 and 2.11 (from memory) for no offset.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import InputError

Array: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True)
class Motion:
    """Motion of one piston against crank angle, per radian, any common shape.

    Attributes
    ----------
    position : ndarray
        Distance below the highest place [m].
    speed : ndarray
        First derivative by crank angle, positive down [m]; times the crank speed for m/s.
    acceleration : ndarray
        Second derivative by crank angle, positive down [m]; times the crank speed squared.
    rod_angle : ndarray
        Angle between rod and cylinder axis, positive when the crankpin is on the t side [rad].
    """

    position: Array
    speed: Array
    acceleration: Array
    rod_angle: Array


def check_geometry(radius: float, length: float, offset: float) -> None:
    """Refuse a rod that cannot pass the crank."""
    if not (np.isfinite([radius, length, offset]).all() and radius > 0.0 and length > 0.0):
        raise InputError(f"throw {radius:g} m and rod {length:g} m must be finite and above 0")
    if length <= radius + abs(offset):
        raise InputError(
            f"the rod is {length:g} m long; it must be longer than throw plus pin offset "
            f"({radius + abs(offset):g} m), or the crank cannot turn past it"
        )


def dead_centre_angle(radius: float, length: float, offset: float = 0.0) -> float:
    r"""Crank angle at which the piston is highest, :math:`-\arcsin(\delta/(l+r))` [rad]."""
    return float(-np.arcsin(offset / (length + radius)))


def stroke(radius: float, length: float, offset: float = 0.0) -> float:
    r"""Piston travel :math:`\sqrt{(l+r)^2-\delta^2}-\sqrt{(l-r)^2-\delta^2}` [m]; over 2 r with offset."""
    return float(np.sqrt((length + radius) ** 2 - offset**2) - np.sqrt((length - radius) ** 2 - offset**2))


def motion(angle: ArrayLike, radius: float, length: float, offset: float = 0.0) -> Motion:
    """Position, speed, acceleration and rod angle at crank angles.

    Parameters
    ----------
    angle : array_like
        Crank angle, 0 with the crankpin in line with the cylinder, at the top [rad].
    radius, length, offset : float
        Throw (half the stroke), rod between centres, pin offset towards the major thrust side [m].

    Returns
    -------
    Motion
        Arrays of the shape of `angle`.
    """
    check_geometry(radius, length, offset)
    psi = np.asarray(angle, dtype=float)
    sin, cos = np.sin(psi), np.cos(psi)
    q = radius * sin + offset
    c = np.sqrt(length**2 - q**2)
    top = np.sqrt((length + radius) ** 2 - offset**2)
    speed = radius * sin + q * radius * cos / c
    acceleration = (
        radius * cos + ((radius * cos) ** 2 - q * radius * sin) / c + (q * radius * cos) ** 2 / c**3
    )
    return Motion(top - radius * cos - c, speed, acceleration, np.arcsin(q / length))


def angles_at(position: ArrayLike, radius: float, length: float, offset: float = 0.0) -> tuple[Array, Array]:
    """Crank angles at which the piston is a distance below the top, going down and coming up.

    The piston pin, the crank centre and the crankpin make a triangle with all three sides
    known; its angle at the crank is the answer.

    Parameters
    ----------
    position : array_like
        Distance below the highest place [m].

    Returns
    -------
    down, up : ndarray
        In 0..pi or so and pi or so..2 pi [rad].  Above the travel both are the top itself
        (near 0 and 2 pi); below it both are NaN: the piston never gets there.
    """
    check_geometry(radius, length, offset)
    below = np.asarray(position, dtype=float)
    height = np.sqrt((length + radius) ** 2 - offset**2) - np.maximum(below, 0.0)
    span2 = height**2 + offset**2
    reaches = below <= stroke(radius, length, offset) * (1.0 + 1e-12)
    with np.errstate(divide="ignore", invalid="ignore"):
        cosine = (radius**2 + span2 - length**2) / (2.0 * radius * np.sqrt(span2))
    opening = np.arccos(np.clip(np.where(reaches, cosine, 0.0), -1.0, 1.0))
    line = np.arctan2(-offset, height)
    down = np.where(reaches, line + opening, np.nan)
    up = np.where(reaches, line - opening + 2.0 * np.pi, np.nan)
    return down, up


def fastest(radius: float, length: float, offset: float = 0.0) -> tuple[float, float]:
    """Largest piston speed going down, per rad/s, and the crank angle where it is [m, rad]."""
    low, high = 0.2 * np.pi, 0.6 * np.pi
    # The acceleration falls through zero once there; bisection to the last bit.
    for _ in range(60):
        middle = 0.5 * (low + high)
        if motion(middle, radius, length, offset).acceleration > 0.0:
            low = middle
        else:
            high = middle
    return float(motion(low, radius, length, offset).speed), float(low)
