"""When a height of the cylinder wall sees the gas, and when the skirt bears on it.

Depths are measured down the bore from the deck; the piston's own heights (top ring,
skirt) down from its crown.  All angles are the cylinder's own, 0 at its firing dead
centre, two turns a cycle [rad]; a window may start a little before 0 when the pin is
offset, and is read around the cycle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .kinematics import Array, angles_at, check_geometry, stroke

#: A stretch of crank angle, start and end [rad].
Window = tuple[float, float]
_TURN = 2.0 * np.pi


@dataclass(frozen=True)
class Travel:
    """One piston's path and heights [m].

    Attributes
    ----------
    radius, rod_length, pin_offset : float
        As in `loads.LoadModel`.
    deck_clearance : float
        Crown below the deck at the top; negative when it stands proud.
    top_ring : float
        Upper edge of the top ring below the crown.
    skirt_top, skirt_bottom : float
        Ends of the bearing skirt below the crown.
    """

    radius: float
    rod_length: float
    pin_offset: float
    deck_clearance: float
    top_ring: float
    skirt_top: float
    skirt_bottom: float

    def __post_init__(self) -> None:
        check_geometry(self.radius, self.rod_length, self.pin_offset)

    @property
    def stroke(self) -> float:
        """Piston travel [m]."""
        return stroke(self.radius, self.rod_length, self.pin_offset)

    def angles(self, below_top: float) -> tuple[float, float]:
        """Going down and coming up; both at bottom dead centre for what lies below the travel [rad]."""
        down, up = angles_at(min(below_top, self.stroke), self.radius, self.rod_length, self.pin_offset)
        return float(down), float(up)


def exposed(travel: Travel, depth: float) -> tuple[Window, ...]:
    """Stretches of the cycle in which a depth stands above the top ring, open to the gas.

    The whole cycle when it stands above the ring even at the top; none when the ring
    never comes down to it.
    """
    below = depth - travel.deck_clearance - travel.top_ring
    if below <= 0.0:
        return ((0.0, 2.0 * _TURN),)
    if below >= travel.stroke:
        return ()
    down, up = travel.angles(below)
    return (down, up), (down + _TURN, up + _TURN)


def under_skirt(travel: Travel, depth: float) -> tuple[Window, ...]:
    """Stretches of the cycle in which the skirt bears on a depth: down stroke and up stroke, twice."""
    upper = depth - travel.deck_clearance - travel.skirt_bottom
    lower = depth - travel.deck_clearance - travel.skirt_top
    if lower <= 0.0 or upper >= travel.stroke:
        return ()
    down_from, up_to = travel.angles(max(upper, 0.0))
    if lower >= travel.stroke:
        once: tuple[Window, ...] = ((down_from, up_to),)
    else:
        down_to, up_from = travel.angles(lower)
        once = (down_from, down_to), (up_from, up_to)
    return once + tuple((start + _TURN, end + _TURN) for start, end in once)


def largest(trace: Array, windows: Sequence[Window]) -> Array:
    """Largest value of traces within windows of the cycle, their ends included.

    Parameters
    ----------
    trace : ndarray, shape (..., 720)
        One value a degree, periodic; linear between degrees.
    windows : sequence of Window
        From `exposed` or `under_skirt`.

    Returns
    -------
    ndarray, shape (...)
        The largest; -inf where there is no window.
    """
    points = trace.shape[-1]
    best = np.full(trace.shape[:-1], -np.inf)
    for start, end in windows:
        first, last = np.degrees(start), np.degrees(end)
        inside = np.arange(int(np.ceil(first)), int(np.floor(last)) + 1) % points
        if inside.size:
            best = np.maximum(best, trace[..., inside].max(axis=-1))
        for edge in (first, last):
            low = int(np.floor(edge))
            part = edge - low
            value = (1.0 - part) * trace[..., low % points] + part * trace[..., (low + 1) % points]
            best = np.maximum(best, value)
    return best


def whole_degrees(windows: Sequence[Window]) -> NDArray[np.intp]:
    """Whole degrees of the cycle, 0..719, that lie within windows or nearest to them, in order.

    A window narrower than a degree still gives its nearest degree, so that nothing is lost.
    """
    spans = [np.arange(round(float(np.degrees(a))), round(float(np.degrees(b))) + 1) for a, b in windows]
    return np.unique(np.concatenate(spans) % 720) if spans else np.zeros(0, dtype=np.intp)
