"""The step itself: fluxes, pressure on the walls of cones, friction, bends and heat to the walls."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .duct_rows import (
    D_INVERSE,
    D_STEP,
    D_VOLUME,
    D_WALL,
    L_DRAG,
    L_FILM,
    P_GAMMA,
    P_HALF,
    P_R,
    P_RHO,
    P_U,
    Q_ENERGY,
    Q_MOMENTUM,
    rows_kernel,
)
from .jit import kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@rows_kernel
def _species_step(q: Array, flux: Array, active: Ints, inverse: Array, dt: float) -> None:
    for x in range(active.shape[0]):
        m, f = q[active[x]], flux[active[x]]
        for i in range(m.shape[0]):
            m[i] -= dt * inverse[i] * (f[i + 1] - f[i])


@rows_kernel
def _motion_step(
    momentum: Array, energy: Array, f_momentum: Array, f_energy: Array, inverse: Array, volume: Array,
    dt: float, half_p: Array, step: Array, u: Array, rho: Array, gas_constant: Array, gamma: Array,
    hot: Array,
    drag: Array, film: Array, wall: Array, heat: Array,
) -> None:  # fmt: skip
    for i in range(momentum.shape[0]):
        by = dt * inverse[i]
        push = f_momentum[i + 1] - f_momentum[i] - half_p[i] * step[i]
        # Capacity of the gas times (gamma - 1) [J/(m3 K)].
        stiff, conducted = rho[i] * gas_constant[i], dt * film[i]
        slowed, warmed = 1.0 + dt * drag[i] * abs(u[i]), stiff + conducted * (gamma[i] - 1.0)
        both = 1.0 / (slowed * warmed)
        momentum[i] = (momentum[i] - by * push) * (warmed * both)
        given = conducted * (hot[i] - wall[i]) * stiff * (slowed * both)
        energy[i] -= by * (f_energy[i + 1] - f_energy[i]) + given
        heat[i] += given * volume[i]


@kernel
def advance(
    q: Array, flux: Array, prim: Array, temperature: Array, dt: float, geo: Array, wall: Array, active: Ints,
    heat: Array,
) -> None:  # fmt: skip
    """Change `q` by one step `dt` [s]; add to `heat` [J], per cell, what the walls received.

    Drag and heat are taken implicitly, so that neither can turn its own cause round.  Drag leaves the
    total energy alone: what the motion loses warms the gas.
    """
    _species_step(q, flux, active, geo[D_INVERSE], dt)
    _motion_step(
        q[Q_MOMENTUM], q[Q_ENERGY], flux[Q_MOMENTUM], flux[Q_ENERGY], geo[D_INVERSE], geo[D_VOLUME], dt,
        prim[P_HALF], geo[D_STEP], prim[P_U], prim[P_RHO], prim[P_R], prim[P_GAMMA], temperature,
        wall[L_DRAG], wall[L_FILM], geo[D_WALL], heat,
    )  # fmt: skip
