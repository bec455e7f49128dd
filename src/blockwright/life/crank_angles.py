"""Which crank angles are kept for the loads of a main."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..trace import Array

#: Directions in which the nominal polar load of a main is looked at for its farthest point [deg].
#: The cap's half closely, straight and slanting into the block once each.
DIRECTIONS = np.array([-80.0, -40.0, 0.0, 40.0, 80.0, 130.0, 180.0, 230.0])
#: Directions looked at again with combustion early, when the loads are highest.
LOADED = np.array([-40.0, 0.0, 40.0])


def extreme_angles(vertical: Array, lateral: Array, directions: Array) -> NDArray[np.intp]:
    """Index of the farthest point of a polar load in each direction, counted from the cap's middle.

    A limit that grows with the load in some direction finds its worst angle among
    these: they are corners of the polar curve's convex outline.
    """
    phi = np.radians(directions)[:, None]
    reach = np.cos(phi) * vertical[None, :] + np.sin(phi) * lateral[None, :]
    farthest: NDArray[np.intp] = np.argmax(reach, axis=1)
    return farthest
