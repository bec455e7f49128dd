"""Which crank angles are kept for the loads of a main, and how traces are read there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..trace import Array

#: Directions in which the nominal polar load of a main is looked at for its farthest point [deg].
DIRECTIONS = np.arange(0.0, 360.0, 30.0)
#: Directions looked at again with combustion early and late: the cap's lower half.
LOADED = np.array([-60.0, -30.0, 0.0, 30.0, 60.0])


def extreme_angles(vertical: Array, lateral: Array, directions: Array) -> NDArray[np.intp]:
    """Index of the farthest point of a polar load in each direction, counted from the cap's middle.

    A limit that grows with the load in some direction finds its worst angle among
    these: they are the corners of the polar curve's convex outline.
    """
    phi = np.radians(directions)[:, None]
    reach = np.cos(phi) * vertical[None, :] + np.sin(phi) * lateral[None, :]
    return np.argmax(reach, axis=1)


@dataclass(frozen=True)
class Columns:
    """Where in a cylinder's own cycle given crank angles fall: two whole degrees and the part between."""

    lower: NDArray[np.intp]
    upper: NDArray[np.intp]
    part: Array

    def read(self, trace: Array) -> Array:
        """Trace (..., 720) read at the columns, linear between whole degrees."""
        return np.asarray((1.0 - self.part) * trace[..., self.lower] + self.part * trace[..., self.upper])


def columns(angles: Array, firing_deg: float) -> Columns:
    """Columns of crank `angles` [deg] for a cylinder that fires at `firing_deg`."""
    own = np.mod(np.round(angles - firing_deg, 6), 720.0)
    lower = np.floor(own).astype(np.intp)
    return Columns(lower % 720, (lower + 1) % 720, own - lower)
