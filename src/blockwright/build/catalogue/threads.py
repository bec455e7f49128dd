r"""What follows from a thread's major diameter and pitch by the basic 60 degree profile.

.. math::
    H = \tfrac{\sqrt 3}{2} P,\quad d_2 = d - \tfrac34 H,\quad D_1 = d - \tfrac54 H,\quad
    d_3 = d - \tfrac{17}{12} H

Sources: ASME B1.1 and ISO 724 / ISO 898-1 (from memory; stress areas agree with the
tabled ones to their last digit, see ``tests/published``).
"""

from __future__ import annotations

import math

_HEIGHT = math.sqrt(3.0) / 2.0


def pitch_diameter(major: float, pitch: float) -> float:
    """Pitch diameter d2 = d - 3/4 H [m]."""
    return major - 0.75 * _HEIGHT * pitch


def nut_minor_diameter(major: float, pitch: float) -> float:
    """Minor diameter of the internal thread D1 = d - 5/4 H [m]."""
    return major - 1.25 * _HEIGHT * pitch


def root_diameter(major: float, pitch: float) -> float:
    """Root diameter of the external thread with a rounded root d3 = d - 17/12 H [m]."""
    return major - 17.0 / 12.0 * _HEIGHT * pitch


def stress_area_inch(major: float, pitch: float) -> float:
    """Tensile stress area of the unified threads, pi/4 (d - 0.9743/n)^2 [m2]."""
    return math.pi / 4.0 * (major - 0.9743 * pitch) ** 2


def stress_area_metric(major: float, pitch: float) -> float:
    """Tensile stress area of the ISO metric threads, pi/4 ((d2 + d3)/2)^2 [m2]."""
    mean = 0.5 * (pitch_diameter(major, pitch) + root_diameter(major, pitch))
    return math.pi / 4.0 * mean**2
