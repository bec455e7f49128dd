"""Cells of the ducts and the arrays of their field."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Pipe:
    """One duct as the mesh wants it.

    Attributes
    ----------
    distance, diameter : ndarray, shape (n,)
        Rising places from 0 to the length [m] and the diameters there [m]; linear between.
    cells : int
        Number of equal cells.
    wall_temperature : float
        [K].
    roughness : float
        Height of the wall's roughness [m].
    friction, heat : float
        Multipliers of wall friction and heat transfer [-].
    bends : float
        Loss coefficient of all bends on the dynamic head, spread over the length [-].
    """

    distance: Array
    diameter: Array
    cells: int
    wall_temperature: float = 300.0
    roughness: float = 4.5e-5
    friction: float = 1.0
    heat: float = 1.0
    bends: float = 0.0


@dataclass(frozen=True)
class DuctMesh:
    """All ducts in flat arrays; the layout is that of `gas.kernels.duct`.

    Attributes
    ----------
    geo : ndarray, shape (11, N)
        Rows of `gas.kernels.duct_rows`.
    face_area : ndarray, shape (N + 1,)
        Area of every face [m2].
    first, last : ndarray, shape (D,)
        First and last real cell of each duct.
    """

    geo: Array
    face_area: Array
    first: Ints
    last: Ints

    @property
    def size(self) -> int:
        """Number of cells with ghosts."""
        return int(self.geo.shape[1])


@dataclass(frozen=True)
class FieldArrays:
    """The arrays that change during a run; see `gas.kernels.duct`."""

    q: Array
    temperature: Array
    prim: Array
    flux: Array
    edges: Array
    work: Array
    wall: Array
    heat: Array


def frustum_volume(distance: Array, diameter: Array, place: Array) -> Array:
    """Volume [m3] from the start of a duct with linearly changing diameter up to each place [m]."""
    d0, d1, length = diameter[:-1], diameter[1:], np.diff(distance)
    whole = np.concatenate(([0.0], np.cumsum(math.pi / 12.0 * length * (d0 * d0 + d0 * d1 + d1 * d1))))
    k = np.clip(np.searchsorted(distance, place, side="right") - 1, 0, length.size - 1)
    x = place - distance[k]
    d = d0[k] + (d1[k] - d0[k]) * x / length[k]
    return np.asarray(whole[k] + math.pi / 12.0 * x * (d0[k] * d0[k] + d0[k] * d + d * d))


def _check(pipe: Pipe, number: int) -> None:
    distance, diameter = np.asarray(pipe.distance), np.asarray(pipe.diameter)
    if distance.shape != diameter.shape or distance.ndim != 1 or distance.size < 2:
        raise InputError(f"duct {number}: distance and diameter must be rows of at least two figures each")
    if distance[0] != 0.0 or not np.all(np.diff(distance) > 0.0):
        raise InputError(f"duct {number}: distances must rise from 0")
    if not (np.all(np.isfinite(diameter)) and np.all(diameter > 0.0)):
        raise InputError(f"duct {number}: diameters must be more than nought")
    if pipe.cells < 1:
        raise InputError(f"duct {number} has {pipe.cells} cells; it needs at least one")


#: Lines of 64 bytes in one way of a processor's first cache.
_LINES = 64


def padded(cells: int) -> int:
    """Row length that spreads the rows of an array over the cache.

    Rows a multiple of 4096 bytes apart would all fall on the same few places and push each other out:
    measured, that trebles the time.  Wanted is an odd number of lines, not beside the whole or half of 64.
    """
    lines = -(-cells // 8)
    while lines % 2 == 0 or min(lines % _LINES, _LINES - lines % _LINES) in (1, 31):
        lines += 1
    return 8 * lines


def duct_mesh(pipes: Sequence[Pipe]) -> DuctMesh:
    """Cut ducts into cells, each with a ghost at either end; more ghosts at the end fill the rows up.

    Volumes are exact for cones; the area of a ghost and its faces are those of the end.
    """
    from .kernels import duct_rows as rows

    n = padded(sum(pipe.cells + 2 for pipe in pipes))
    geo = np.zeros((rows.GEOMETRY, n))
    face_area = np.zeros(n + 1)
    first, last = np.zeros(len(pipes), dtype=np.int64), np.zeros(len(pipes), dtype=np.int64)
    at = 0
    for d, pipe in enumerate(pipes):
        _check(pipe, d)
        distance, diameter = np.asarray(pipe.distance, float), np.asarray(pipe.diameter, float)
        length = float(distance[-1])
        place = np.linspace(0.0, length, pipe.cells + 1)
        area = 0.25 * math.pi * np.interp(place, distance, diameter) ** 2
        volume = np.diff(frustum_volume(distance, diameter, place))
        dx = length / pipe.cells
        width = np.sqrt(4.0 / math.pi * volume / dx)
        a, b = at + 1, at + pipe.cells
        first[d], last[d] = a, b
        real, whole = slice(a, b + 1), slice(at, b + 2)
        # The face between two ghosts belongs to both neighbours and to none: its flux goes nowhere.
        face_area[a : b + 2] = area
        face_area[at], face_area[b + 2] = area[0], area[-1]
        geo[rows.D_DX, whole] = dx
        geo[rows.D_VOLUME, real] = volume
        geo[rows.D_INVERSE, real] = 1.0 / volume
        geo[rows.D_STEP, real] = np.diff(area)
        geo[rows.D_WIDEN, real] = np.diff(area) * dx / volume
        geo[rows.D_DIAMETER, whole] = np.pad(width, 1, mode="edge")
        geo[rows.D_WALL, whole] = pipe.wall_temperature
        geo[rows.D_ROUGH, whole] = (pipe.roughness / geo[rows.D_DIAMETER, whole] / 3.7) ** 1.11
        geo[rows.D_FRICTION, whole] = pipe.friction
        geo[rows.D_HEAT, whole] = pipe.heat
        geo[rows.D_BEND, whole] = pipe.bends / length
        at = b + 2
    geo[:, at:] = geo[:, at - 1, None]
    face_area[at:] = face_area[at]
    return DuctMesh(geo, face_area, first, last)


def field_arrays(mesh: DuctMesh) -> FieldArrays:
    """Arrays of the right sizes; fill `q` and `temperature` of the real cells before the first step."""
    from .kernels import duct_rows as rows

    n = mesh.size
    return FieldArrays(
        q=np.zeros((rows.QUANTITIES, n)),
        temperature=np.full(n, 300.0),
        prim=np.zeros((rows.PRIMITIVES, n)),
        flux=np.zeros((rows.QUANTITIES, n + 1)),
        edges=np.zeros((mesh.first.size, 2, rows.EDGE)),
        work=np.zeros((rows.WORK, rows.BLOCK + 4)),
        wall=np.zeros((rows.LOSSES, n)),
        heat=np.zeros(n),
    )
