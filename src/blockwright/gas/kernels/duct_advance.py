"""The step itself: fluxes, pressure on the walls of cones, friction, bends and heat to the walls."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .duct_rows import (
    D_BEND,
    D_DIAMETER,
    D_FRICTION,
    D_HEAT,
    D_INVERSE,
    D_ROUGH,
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

#: Sutherland's viscosity of air: 1.458e-6 T^1.5 / (T + 110.4) [Pa s] (US Standard Atmosphere 1976).
VISCOSITY, SUTHERLAND = 1.458e-6, 110.4
#: Prandtl number of air and burned gas [-].
PRANDTL = 0.71
#: Nusselt number of laminar flow in a round pipe with a wall of one temperature [-].
LAMINAR_NUSSELT = 3.66


@kernel
def wall_losses(prim: Array, temperature: Array, geo: Array, first: Ints, last: Ints, wall: Array) -> None:
    """Fill `wall` with drag [1/m] and film [W/(m3 K)]; they change slowly: call it every few steps.

    Friction factor: Haaland (1983), or 64/Re where that is more.  Nusselt number: 0.023 Re^0.8 Pr^0.4
    (Dittus and Boelter), or 3.66 where that is more.
    """
    prandtl = 0.023 * PRANDTL**0.4
    for d in range(first.shape[0]):
        for i in range(first[d], last[d] + 1):
            t = temperature[i]
            viscosity = VISCOSITY * t * math.sqrt(t) / (t + SUTHERLAND)
            diameter = geo[D_DIAMETER, i]
            reynolds = prim[P_RHO, i] * abs(prim[P_U, i]) * diameter / viscosity + 1.0
            log_re = math.log(reynolds)
            root = -1.8 / math.log(10.0) * math.log(geo[D_ROUGH, i] + 6.9 / reynolds)
            friction = max(64.0 / reynolds, 1.0 / (root * root) if reynolds > 100.0 else 0.0)
            nusselt = max(LAMINAR_NUSSELT, prandtl * math.exp(0.8 * log_re))
            heat = prim[P_GAMMA, i] * prim[P_R, i] / (prim[P_GAMMA, i] - 1.0)
            conductivity = viscosity * heat / PRANDTL
            wall[L_DRAG, i] = 0.5 * (geo[D_FRICTION, i] * friction / diameter + geo[D_BEND, i])
            wall[L_FILM, i] = geo[D_HEAT, i] * 4.0 * nusselt * conductivity / (diameter * diameter)


@rows_kernel
def _species_step(q: Array, flux: Array, active: Ints, inverse: Array, dt: float) -> None:
    for x in range(active.shape[0]):
        m, f = q[active[x]], flux[active[x]]
        for i in range(m.shape[0]):
            m[i] -= dt * inverse[i] * (f[i + 1] - f[i])


@rows_kernel
def _motion_step(
    momentum: Array, energy: Array, f_momentum: Array, f_energy: Array, inverse: Array, volume: Array, dt: float,
    half_p: Array, step: Array, u: Array, rho: Array, gas_constant: Array, gamma: Array, hot: Array,
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
