"""State of an engine with its pipes at the end of a cycle, to start a near one from."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .duct_mesh import DuctMesh

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class WaveState:
    """State at the firing top dead centre of cylinder 1.

    Attributes
    ----------
    y, s, momentum : ndarray
        Of the nodes, as the kernel holds them.
    reference, shut, zone : ndarray
        Of the cylinders.
    q, temperature : ndarray, shape (9, N), (N,)
        Of the ducts' cells.
    first, last : ndarray of int, shape (ducts,)
        Real cells of every duct.
    """

    y: Array
    s: Array
    momentum: Array
    reference: Array
    shut: Array
    zone: Array
    q: Array
    temperature: Array
    first: Ints
    last: Ints

    def scaled(self, ratio: float) -> WaveState:
        """All densities, masses, energies and pressures times `ratio`: a near start at another charge."""
        s = self.s.copy()
        s[:, 1] *= ratio
        return replace(
            self,
            y=self.y * ratio,
            s=s,
            momentum=self.momentum * ratio,
            q=self.q * ratio,
            zone=self.zone.copy(),
        )

    def on(self, mesh: DuctMesh) -> tuple[Array, Array]:
        """`q` and `temperature` on other cells of the same ducts, linear between the middles of cells."""
        if np.array_equal(self.first, mesh.first) and np.array_equal(self.last, mesh.last):
            return self.q.copy(), self.temperature.copy()
        q, temperature = np.zeros((self.q.shape[0], mesh.size)), np.full(mesh.size, 300.0)
        for d in range(mesh.first.size):
            old = slice(int(self.first[d]), int(self.last[d]) + 1)
            new = slice(int(mesh.first[d]), int(mesh.last[d]) + 1)
            n, m = old.stop - old.start, new.stop - new.start
            x, at = (np.arange(n) + 0.5) / n, (np.arange(m) + 0.5) / m
            for k in range(q.shape[0]):
                q[k, new] = np.interp(at, x, self.q[k, old])
            temperature[new] = np.interp(at, x, self.temperature[old])
        return q, temperature
