"""One duct of the wave model from the pipes that follow each other in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from .network import Duct, Side


@dataclass(frozen=True)
class Piece:
    """A straight or conical pipe without branches.

    Attributes
    ----------
    length : float
        [m]
    begins, ends : float
        Diameters in the direction of the duct [m].
    wall : float
        Temperature of its wall [K].
    roughness : float
        Sand-grain roughness [m].
    friction : float
        Multiplies its wall friction [-]; 0 for a port whose flow was measured with its valves.
    loss : float
        Loss coefficient of bends and inserts on its own dynamic head [-].
    heat : float
        Multiplies its heat transfer [-].
    """

    length: float
    begins: float
    ends: float
    wall: float
    roughness: float
    friction: float = 1.0
    loss: float = 0.0
    heat: float = 1.0

    def __post_init__(self) -> None:
        if not (self.length > 0.0 and self.begins > 0.0 and self.ends > 0.0):
            raise InputError(
                f"a pipe of {self.length:g} m from {self.begins:g} to {self.ends:g} m; all must be positive"
            )

    @property
    def volume(self) -> float:
        """Of the cone [m3]."""
        a, b = self.begins, self.ends
        return math.pi / 12.0 * self.length * (a * a + a * b + b * b)

    @property
    def mean(self) -> float:
        """Mean diameter [m]."""
        return 0.5 * (self.begins + self.ends)

    @property
    def skin(self) -> float:
        """Wall surface, without the cone's slant [m2]."""
        return math.pi * self.mean * self.length


def _profile(pieces: Sequence[Piece], step: float) -> tuple[list[float], list[float]]:
    """Distances and diameters; a step becomes a short cone at the beginning of the pipe behind it."""
    x, d = [0.0], [pieces[0].begins]
    for piece in pieces:
        start = x[-1]
        if abs(piece.begins - d[-1]) > 1e-9:
            x.append(start + min(step, 0.5 * piece.length))
            d.append(piece.begins)
        x.append(start + piece.length)
        d.append(piece.ends)
    return x, d


def duct(
    name: str,
    start: str,
    end: str,
    pieces: Sequence[Piece],
    side: Side,
    *,
    step: float,
    mouth: float = 1.0,
) -> Duct:
    """The pieces, from start to end, as one duct.

    Parameters
    ----------
    name, start, end, side, mouth
        As of `Duct`; the mouth counts only where an end meets still gas.
    pieces : sequence of Piece
    step : float
        Length of the cone that stands for a step of diameter [m].

    Notes
    -----
    A `Duct` has one wall temperature, roughness, friction factor, heat factor and loss coefficient for its
    whole length.  The first four are means over the wall's surface, which is what takes heat and rubs.  The
    losses K_i of the pieces, each on its own dynamic head q_i ~ d_i^-4, become the one that makes the same
    pressure drop when it is spread evenly over the length:

    .. math:: K = L \\sum K_i d_i^{-4} / \\sum L_i d_i^{-4}
    """
    x, d = _profile(pieces, step)
    skin = sum(p.skin for p in pieces)

    def mean(values: Sequence[float]) -> float:
        return sum(v * p.skin for v, p in zip(values, pieces, strict=True)) / skin

    length = sum(p.length for p in pieces)
    lost = sum(p.loss * p.mean**-4 for p in pieces)
    head = sum(p.length * p.mean**-4 for p in pieces)
    return Duct(
        name=name,
        start=start,
        end=end,
        distance=np.array(x),
        diameter=np.array(d),
        wall_temperature=mean([p.wall for p in pieces]),
        roughness=mean([p.roughness for p in pieces]),
        friction=mean([p.friction for p in pieces]),
        heat=mean([p.heat for p in pieces]),
        bends=length * lost / head,
        mouth=mouth,
        side=side,
    )
