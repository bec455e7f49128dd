"""Friction and heat transfer of the ducts' walls: coefficients that change slowly."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .duct_rows import (
    D_BEND,
    D_DIAMETER,
    D_FRICTION,
    D_HEAT,
    D_ROUGH,
    L_DRAG,
    L_FILM,
    LOSSES,
    P_GAMMA,
    P_R,
    P_RHO,
    P_U,
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
_TURBULENT = 0.023 * PRANDTL**0.4

_FRACTION, _ONE, _TWO_52 = 0x000FFFFFFFFFFFFF, 0x3FF0000000000000, 0x4330000000000000
#: Rounds to a whole number when added.
_ROUNDING = 1.5 * 2.0**52


@rows_kernel
def quick_log2(x: float) -> float:
    """Binary logarithm of a positive normal number, within 1e-5, in operations that make vector code.

    Exponent from the bits, a polynomial (Chebyshev fit, zero at 1) for the fraction in 1..2.
    """
    bits = np.float64(x).view(np.int64)
    exponent = np.int64((bits >> 52) | _TWO_52).view(np.float64) - (2.0**52 + 1023.0)
    m = np.int64((bits & _FRACTION) | _ONE).view(np.float64)
    tail = 2.604046104940867 + m * (-1.2350889635006488 + m * (0.3194132906059441 - m * 0.0345956065514159))
    return exponent + (m - 1.0) * (3.1168515197198516 + m * (-3.327943078160019 + m * tail))


@rows_kernel
def quick_exp2(x: float) -> float:
    """Two to the power of a number in -1000..1000, within 2e-7, in operations that make vector code."""
    shifted = x + _ROUNDING
    f = x - (shifted - _ROUNDING)
    tail = 0.055503272022602024 + f * (0.009676041928704485 + f * 0.0013400436944964963)
    part = 1.0000000755142204 + f * (0.6931472067162213 + f * (0.2402210726525225 + f * tail))
    whole = np.float64(shifted).view(np.int64) << 52
    return np.int64(np.float64(part).view(np.int64) + whole).view(np.float64)


@rows_kernel
def _loss_rows(
    rho: Array, u: Array, gamma: Array, gas_constant: Array, hot: Array, diameter: Array, rough: Array,
    friction: Array, heat: Array, bend: Array, drag: Array, film: Array,
) -> None:  # fmt: skip
    for i in range(rho.shape[0]):
        t, d = hot[i], diameter[i]
        viscosity = VISCOSITY * t * math.sqrt(t) / (t + SUTHERLAND)
        reynolds = rho[i] * abs(u[i]) * d / viscosity + 1e-3
        log_argument = reynolds if reynolds > 100.0 else 100.0
        root = -1.8 * math.log10(2.0) * quick_log2(rough[i] + 6.9 / log_argument)
        turbulent, laminar = 1.0 / (root * root), 64.0 / reynolds
        factor = turbulent if turbulent > laminar else laminar
        nusselt = _TURBULENT * quick_exp2(0.8 * quick_log2(reynolds))
        nusselt = nusselt if nusselt > LAMINAR_NUSSELT else LAMINAR_NUSSELT
        capacity = gamma[i] * gas_constant[i] / (gamma[i] - 1.0)
        drag[i] = 0.5 * (friction[i] * factor / d + bend[i])
        film[i] = heat[i] * 4.0 * nusselt * (viscosity * capacity) / (PRANDTL * d * d)


@kernel
def wall_losses(
    prim: Array, temperature: Array, geo: Array, first: Ints, last: Ints, wall: Array
) -> None:  # fmt: skip
    """Fill `wall` with drag [1/m] and film [W/(m3 K)]; they change slowly: call it every few steps.

    Friction factor: Haaland (1983), or 64/Re where that is more.  Nusselt number: 0.023 Re^0.8 Pr^0.4
    (Dittus and Boelter), or 3.66 where that is more.  The same formulas to read: `gas.pipes`.
    """
    _loss_rows(
        prim[P_RHO], prim[P_U], prim[P_GAMMA], prim[P_R], temperature, geo[D_DIAMETER], geo[D_ROUGH],
        geo[D_FRICTION], geo[D_HEAT], geo[D_BEND], wall[L_DRAG], wall[L_FILM],
    )  # fmt: skip
    for d in range(first.shape[0]):
        # A ghost has no wall.
        for k in range(LOSSES):
            wall[k, first[d] - 1], wall[k, last[d] + 1] = 0.0, 0.0
