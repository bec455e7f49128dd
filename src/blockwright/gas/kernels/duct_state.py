"""Temperature, pressure and speed of sound of every duct cell, and the fastest wave."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .duct_rows import (
    H_0,
    H_1,
    H_CUBE,
    H_HIGH,
    H_LOW,
    H_R,
    HIGH_SQUARE,
    LOW_SQUARE,
    P_A,
    P_E,
    P_GAMMA,
    P_P,
    P_R,
    P_RHO,
    P_U,
    Q_ENERGY,
    Q_MOMENTUM,
    QUANTITIES,
    rows_kernel,
)
from .jit import kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@rows_kernel
def _state_rows(
    q0: Array, q1: Array, q2: Array, q3: Array, q4: Array, q5: Array, q6: Array, momentum: Array, energy: Array,
    hot: Array, rho: Array, u: Array, p: Array, a: Array, gamma: Array, gas_constant: Array, e: Array,
    c: Array,
) -> None:  # fmt: skip
    """All rows of `prim` and the temperature, by one step of Halley's method from the last one.

    The floor keeps a wild start positive; as the energy is convex, the next call comes back.
    """
    k0_0, k0_1, k0_2, k0_3, k0_4, k0_5, k0_6 = (
        c[0, H_0], c[1, H_0], c[2, H_0], c[3, H_0], c[4, H_0], c[5, H_0], c[6, H_0],
    )  # fmt: skip
    k1_0, k1_1, k1_2, k1_3, k1_4, k1_5, k1_6 = (
        c[0, H_1], c[1, H_1], c[2, H_1], c[3, H_1], c[4, H_1], c[5, H_1], c[6, H_1],
    )  # fmt: skip
    k2_0, k2_1, k2_2, k2_3, k2_4, k2_5, k2_6 = (
        c[0, H_CUBE], c[1, H_CUBE], c[2, H_CUBE], c[3, H_CUBE], c[4, H_CUBE], c[5, H_CUBE], c[6, H_CUBE],
    )  # fmt: skip
    k3_0, k3_1, k3_2, k3_3, k3_4, k3_5, k3_6 = (
        c[0, H_LOW], c[1, H_LOW], c[2, H_LOW], c[3, H_LOW], c[4, H_LOW], c[5, H_LOW], c[6, H_LOW],
    )  # fmt: skip
    k4_0, k4_1, k4_2, k4_3, k4_4, k4_5, k4_6 = (
        c[0, H_HIGH], c[1, H_HIGH], c[2, H_HIGH], c[3, H_HIGH], c[4, H_HIGH], c[5, H_HIGH], c[6, H_HIGH],
    )  # fmt: skip
    kr_0, kr_1, kr_2, kr_3, kr_4, kr_5, kr_6 = (
        c[0, H_R], c[1, H_R], c[2, H_R], c[3, H_R], c[4, H_R], c[5, H_R], c[6, H_R],
    )  # fmt: skip
    for i in range(rho.shape[0]):
        m0, m1, m2, m3, m4, m5, m6 = q0[i], q1[i], q2[i], q3[i], q4[i], q5[i], q6[i]
        density = ((m0 + m1) + (m2 + m3)) + ((m4 + m5) + m6)
        volume = 1.0 / density
        speed = momentum[i] * volume
        inner = energy[i] - 0.5 * momentum[i] * speed
        k0 = (
            (m0 * k0_0 + m1 * k0_1 + m2 * k0_2 + m3 * k0_3) + (m4 * k0_4 + m5 * k0_5 + m6 * k0_6)
        )  # fmt: skip
        k1 = (
            (m0 * k1_0 + m1 * k1_1 + m2 * k1_2 + m3 * k1_3) + (m4 * k1_4 + m5 * k1_5 + m6 * k1_6)
        )  # fmt: skip
        k2 = (
            (m0 * k2_0 + m1 * k2_1 + m2 * k2_2 + m3 * k2_3) + (m4 * k2_4 + m5 * k2_5 + m6 * k2_6)
        )  # fmt: skip
        k3 = (
            (m0 * k3_0 + m1 * k3_1 + m2 * k3_2 + m3 * k3_3) + (m4 * k3_4 + m5 * k3_5 + m6 * k3_6)
        )  # fmt: skip
        k4 = (
            (m0 * k4_0 + m1 * k4_1 + m2 * k4_2 + m3 * k4_3) + (m4 * k4_4 + m5 * k4_5 + m6 * k4_6)
        )  # fmt: skip
        kr = (
            (m0 * kr_0 + m1 * kr_1 + m2 * kr_2 + m3 * kr_3) + (m4 * kr_4 + m5 * kr_5 + m6 * kr_6)
        )  # fmt: skip
        t = 1e-3 * hot[i]
        s = t * t
        low_d, high_d = s + LOW_SQUARE, s + HIGH_SQUARE
        both = 1.0 / (low_d * high_d)
        to_low, to_high = high_d * both, low_d * both
        low, high = k3 * to_low, k4 * to_high
        value = k0 - inner + t * (k1 + s * (k2 + low + high))
        slope = k1 + s * (
            3.0 * k2 + low * (1.0 + 2.0 * LOW_SQUARE * to_low) + high * (1.0 + 2.0 * HIGH_SQUARE * to_high)
        )  # fmt: skip
        bend = t * (
            3.0 * k2 + LOW_SQUARE * low * to_low * to_low * (3.0 * LOW_SQUARE - s)
            + HIGH_SQUARE * high * to_high * to_high * (3.0 * HIGH_SQUARE - s)
        )  # fmt: skip
        # `bend` is half the second derivative.  The heat capacity after the step, slope - 2 bend (t - new), is
        # written so that its division does not wait for the other.
        wide = slope * slope - value * bend
        new, floor = t - value * slope / wide, 0.25 * t
        new = new if new > floor else floor
        after, floor = slope * wide - 2.0 * bend * value * slope, 0.3 * slope * wide
        ratio = 1.0 + 1e3 * kr * wide / (after if after > floor else floor)
        pressure = 1e3 * kr * new
        hot[i] = 1e3 * new
        rho[i] = density
        u[i] = speed
        p[i] = pressure
        a[i] = math.sqrt(ratio * pressure * volume)
        gamma[i] = ratio
        gas_constant[i] = kr * volume
        e[i] = inner


@kernel
def refresh(q: Array, temperature: Array, prim: Array, thermo: Array, first: Ints, last: Ints) -> None:
    """Bring `temperature` [K] and `prim` up to `q`; the ghosts become copies of the cells beside them.

    One step of Halley's method from the last temperature.  What is left of the error goes at the next call:
    the energy, which is what is carried, is untouched.
    """
    for d in range(first.shape[0]):
        start, end = first[d], last[d]
        for k in range(QUANTITIES):
            q[k, start - 1] = q[k, start]
            q[k, end + 1] = q[k, end]
        temperature[start - 1] = temperature[start]
        temperature[end + 1] = temperature[end]
    _state_rows(
        q[0], q[1], q[2], q[3], q[4], q[5], q[6], q[Q_MOMENTUM], q[Q_ENERGY], temperature, prim[P_RHO],
        prim[P_U], prim[P_P], prim[P_A], prim[P_GAMMA], prim[P_R], prim[P_E], thermo,
    )  # fmt: skip


@rows_kernel
def _fastest(u: Array, a: Array, dx: Array) -> float:
    # As whole numbers, the bits of floats that are not negative stand in the same order; compilers turn
    # the maximum of whole numbers into vector code, but not that of floats.  Not a number counts as largest.
    worst = 0
    for i in range(u.shape[0]):
        bits = np.float64((abs(u[i]) + a[i]) / dx[i]).view(np.int64) & 0x7FFFFFFFFFFFFFFF
        worst = bits if bits > worst else worst
    return float(np.int64(worst).view(np.float64))


@kernel
def wave_speed(prim: Array, dx: Array) -> float:
    """Largest (|u| + a) / dx of all cells [1/s]; the time step is the Courant number over it.

    Where anything has gone wrong (not a number), the result is not below any bound.
    """
    return _fastest(prim[P_U], prim[P_A], dx)
