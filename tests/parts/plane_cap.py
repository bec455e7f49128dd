"""Plane-stress solution of a main cap with eight-node elements: an independent route for tests.

The same outline and load as `cap_frame`, none of its assumptions: no plane sections,
no beam, no Winkler.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from blockwright.parts.cap_film import film_pressure
from blockwright.parts.cap_frame import CapDims, centre_radius, depth

_CORNERS = [(-1, -1), (1, -1), (1, 1), (-1, 1), (0, -1), (1, 0), (0, 1), (-1, 0)]
_GAUSS = [(-np.sqrt(0.6), 5 / 9), (0.0, 8 / 9), (np.sqrt(0.6), 5 / 9)]


@dataclass(frozen=True)
class Plane:
    """Surface stress along the ring at asked places [Pa] and closing force per foot [N], for 1 N."""

    outer: list[float]
    inner: list[float]
    closing: float


def _shape(a: float, b: float) -> tuple[np.ndarray, np.ndarray]:
    n, d = [], []
    for p, q in _CORNERS:
        if p and q:
            n.append(0.25 * (1 + p * a) * (1 + q * b) * (p * a + q * b - 1))
            d.append(
                (0.25 * p * (1 + q * b) * (2 * p * a + q * b), 0.25 * q * (1 + p * a) * (2 * q * b + p * a))
            )
        elif p == 0:
            n.append(0.5 * (1 - a * a) * (1 + q * b))
            d.append((-a * (1 + q * b), 0.5 * q * (1 - a * a)))
        else:
            n.append(0.5 * (1 + p * a) * (1 - b * b))
            d.append((0.5 * p * (1 - b * b), -b * (1 + p * a)))
    return np.array(n), np.array(d)


def solve(
    dims: CapDims, direction: float, slide: bool, places: list[float], nt: int = 64, nr: int = 6
) -> Plane:
    """Cap with its feet's faces fixed, or free to slide along the joint (symmetric load only)."""
    theta = np.linspace(-np.pi / 2, np.pi / 2, 2 * nt + 1)
    ids = -np.ones((2 * nt + 1, 2 * nr + 1), dtype=int)
    points: list[tuple[float, float]] = []
    for i, t in enumerate(theta):
        for j, s in enumerate(np.linspace(-0.5, 0.5, 2 * nr + 1)):
            if i % 2 and j % 2:
                continue
            ids[i, j] = len(points)
            radius = float(centre_radius(dims, t) + s * depth(dims, t))
            points.append((radius * np.sin(t), -radius * np.cos(t)))
    x = np.array(points)
    nu = dims.poisson
    law = dims.modulus / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])
    rows, cols, data = [], [], []
    force = np.zeros(2 * len(x))
    elements: dict[tuple[int, int], list[int]] = {}
    for i in range(nt):
        for j in range(nr):
            e = [ids[2 * i + 1 + p, 2 * j + 1 + q] for p, q in _CORNERS]
            elements[i, j] = e
            stiff = np.zeros((16, 16))
            for a, wa in _GAUSS:
                for b, wb in _GAUSS:
                    _, d = _shape(a, b)
                    jac = d.T @ x[e]
                    g = np.linalg.solve(jac, d.T)
                    strain = np.zeros((3, 16))
                    strain[0, ::2] = strain[2, 1::2] = g[0]
                    strain[1, 1::2] = strain[2, ::2] = g[1]
                    stiff += strain.T @ law @ strain * abs(np.linalg.det(jac)) * wa * wb * dims.length
            dof = np.ravel([[2 * k, 2 * k + 1] for k in e])
            rows += list(np.repeat(dof, 16))
            cols += list(np.tile(dof, 16))
            data += list(stiff.ravel())
            if j == 0:
                half = 0.5 * (theta[2 * i + 2] - theta[2 * i])
                for a, wa in _GAUSS:
                    n, _ = _shape(a, -1.0)
                    t = theta[2 * i + 1] + a * half
                    push = n * float(film_pressure(np.array(t), direction, dims.film)) * wa * half
                    force[dof[::2]] += push * np.sin(t)
                    force[dof[1::2]] -= push * np.cos(t)
    matrix = coo_matrix((data, (rows, cols))).tocsr()
    left, right = ids[0][ids[0] >= 0], ids[-1][ids[-1] >= 0]
    feet = np.r_[left, right]
    fixed = np.r_[2 * feet + 1, [2 * ids[nt, 0]]] if slide else np.r_[2 * feet, 2 * feet + 1]
    free = np.setdiff1d(np.arange(2 * len(x)), fixed)
    moved = np.zeros(2 * len(x))
    moved[free] = spsolve(matrix[free][:, free].tocsc(), force[free])
    reaction = matrix @ moved - force

    def surface(place: float, side: int) -> float:
        i = min(int((place + np.pi / 2) / np.pi * nt), nt - 1)
        e = elements[i, nr - 1 if side > 0 else 0]
        half = 0.5 * (theta[2 * i + 2] - theta[2 * i])
        _, d = _shape((place - theta[2 * i + 1]) / half, float(side))
        grad = np.linalg.solve(d.T @ x[e], d.T) @ moved.reshape(-1, 2)[e]
        sx, sy, sxy = law @ np.array([grad[0, 0], grad[1, 1], grad[0, 1] + grad[1, 0]])
        c, s = np.cos(place), np.sin(place)
        return float(sx * c * c + sy * s * s + 2 * sxy * s * c)

    closing = 0.5 * float(reaction[2 * right].sum() - reaction[2 * left].sum())
    return Plane([surface(p, 1) for p in places], [surface(p, -1) for p in places], closing)
