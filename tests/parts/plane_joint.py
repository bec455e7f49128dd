"""Plane-stress solution of a main cap standing on the block's iron: an independent route for tests.

Four-node elements with Wilson's incompatible modes; cap and block are separate meshes joined
by stiff springs at the foot faces, so that one foot can be let slide.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from blockwright.parts.cap_film import film_pressure
from blockwright.parts.cap_frame import CapDims, centre_radius, depth

#: Stiffness of the joint's springs per area [Pa/m]: stiff beside the iron.
_JOINT = 1e15
_G = 1.0 / np.sqrt(3.0)


@dataclass(frozen=True, eq=False)
class _Mesh:
    points: np.ndarray
    elements: np.ndarray
    cap: np.ndarray
    theta: np.ndarray
    pairs: list[tuple[int, int, int]]
    fixed: np.ndarray


@lru_cache(maxsize=4)
def mesh(dims: CapDims, nt: int = 120, nr: int = 10, reach: float = 0.13) -> _Mesh:
    """Half ring below, half disc of iron with the same bore above, held at its far edge."""
    points: list[tuple[float, float]] = []
    elements: list[tuple[int, int, int, int]] = []

    def grid(radii, angles, place):
        ids = np.empty((len(angles), len(radii)), dtype=int)
        for i, t in enumerate(angles):
            for j, r in enumerate(radii):
                ids[i, j] = len(points)
                points.append(place(t, r))
        for i in range(len(angles) - 1):
            for j in range(len(radii) - 1):
                elements.append((ids[i, j], ids[i, j + 1], ids[i + 1, j + 1], ids[i + 1, j]))
        return ids

    theta, s = np.linspace(-np.pi / 2, np.pi / 2, nt + 1), np.linspace(-0.5, 0.5, nr + 1)

    def in_cap(t, q):
        r = float(centre_radius(dims, np.array(t)) + q * depth(dims, np.array(t)))
        return r * np.sin(t), -r * np.cos(t)

    cap = grid(s, theta, in_cap)
    foot = 0.5 * dims.span + s * dims.foot_width
    inner = np.linspace(min(0.5 * dims.bore, foot[0] - 1e-4), foot[0], 3)[:-1]
    outer = foot[-1] + (np.geomspace(1, 8, 14) - 1) / 7 * (reach - foot[-1])
    radii = np.concatenate((inner, foot, outer[1:]))
    block = grid(radii, np.linspace(0, np.pi, 61), lambda t, r: (r * np.cos(t), r * np.sin(t)))
    pairs = []
    for j in range(nr + 1):
        pairs.append((cap[nt, j], block[0, inner.size + j], 1))
        pairs.append((cap[0, j], block[60, inner.size + j], -1))
    return _Mesh(np.array(points), np.array(elements), cap, theta, pairs, block[5:56, -1])


@lru_cache(maxsize=4)
def _stiffness(dims: CapDims):
    m = mesh(dims)
    nu = dims.poisson
    law = dims.modulus / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])
    rows, columns, values = [], [], []
    for element in m.elements:
        x = m.points[element]
        centre = 0.25 * np.array([[-1, 1, 1, -1], [-1, -1, 1, 1]]) @ x
        size, turned = np.linalg.det(centre), np.linalg.inv(centre)
        k = np.zeros((12, 12))
        for a in (-_G, _G):
            for c in (-_G, _G):
                shape = 0.25 * np.array(
                    [[-(1 - c), 1 - c, 1 + c, -(1 + c)], [-(1 - a), -(1 + a), 1 + a, 1 - a]]
                )
                jacobian = shape @ x
                here = np.linalg.det(jacobian)
                extra = turned @ np.array([[-2 * a, 0], [0, -2 * c]]) * (size / here)
                g = np.hstack((np.linalg.inv(jacobian) @ shape, extra))
                b = np.zeros((3, 12))
                b[0, 0::2], b[1, 1::2], b[2, 0::2], b[2, 1::2] = g[0], g[1], g[1], g[0]
                k += b.T @ law @ b * abs(here) * dims.length
        k = k[:8, :8] - k[:8, 8:] @ np.linalg.solve(k[8:, 8:], k[8:, :8])
        freedom = np.ravel([(2 * n, 2 * n + 1) for n in element])
        rows.append(np.repeat(freedom, 8))
        columns.append(np.tile(freedom, 8))
        values.append(k.ravel())
    size = 2 * len(m.points)
    joined = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
    return coo_matrix(joined, (size, size)).tocsr()


def _film(dims: CapDims, m: _Mesh, direction: float) -> np.ndarray:
    force = np.zeros(2 * len(m.points))
    step = m.theta[1] - m.theta[0]
    for i in range(len(m.theta) - 1):
        for part in (np.arange(8) + 0.5) / 8:
            t = m.theta[i] + part * step
            push = float(film_pressure(np.array(t), direction, dims.film)) * step / 8
            for node, share in ((m.cap[i, 0], 1 - part), (m.cap[i + 1, 0], part)):
                force[2 * node] += push * share * np.sin(t)
                force[2 * node + 1] -= push * share * np.cos(t)
    return force


def crown_stress(dims: CapDims, direction: float, trailing_slides: bool, places: list[float]) -> np.ndarray:
    """Outer-face stress at places [degrees from the crown] per newton [Pa/N], load to the right."""
    m = mesh(dims)
    size = 2 * len(m.points)
    area = dims.foot_width * dims.length / (len(m.pairs) // 2 - 1)
    rows, columns, values = [], [], []
    for cap, block, side in m.pairs:
        for axis in (0, 1):
            if axis == 0 and side < 0 and trailing_slides:
                continue
            a, b, k = 2 * cap + axis, 2 * block + axis, _JOINT * area
            rows += [a, a, b, b]
            columns += [a, b, a, b]
            values += [k, -k, -k, k]
    whole = _stiffness(dims) + coo_matrix((values, (rows, columns)), (size, size)).tocsr()
    free = np.setdiff1d(np.arange(size), np.ravel([(2 * n, 2 * n + 1) for n in m.fixed]))
    moved = np.zeros(size)
    moved[free] = splu(whole[free][:, free].tocsc()).solve(_film(dims, m, direction)[free])

    found = []
    for place in places:
        i = round((np.radians(place) + 0.5 * np.pi) / np.pi * (len(m.theta) - 1))
        a, b = m.cap[i - 1, -1], m.cap[i + 1, -1]
        along = m.points[b] - m.points[a]
        stretch = moved[2 * b : 2 * b + 2] - moved[2 * a : 2 * a + 2]
        found.append(dims.modulus * (stretch @ along) / (along @ along))
    return np.array(found)
