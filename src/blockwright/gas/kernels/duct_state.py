"""Temperature, pressure and speed of sound of every duct cell, and the fastest wave."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .duct_rows import (
    BLOCK,
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
    P_HALF,
    P_P,
    P_R,
    P_RHO,
    P_SPARE,
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
    q0: Array, q1: Array, q2: Array, q3: Array, q4: Array, q5: Array, q6: Array, momentum: Array,
    energy: Array, hot: Array, rho: Array, u: Array, p: Array, a: Array, gamma: Array, gas_constant: Array,
    e: Array, half: Array, spare: Array, c: Array,
) -> None:  # fmt: skip
    """All rows of `prim` and the temperature, block by block.

    The first loop leaves the sums of the species' coefficients [J/m3] in rows that the second fills.
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
    total = rho.shape[0]
    for block in range((total + BLOCK - 1) // BLOCK):
        start = block * BLOCK
        stop = min(start + BLOCK, total)
        b0 = q0[start:stop]
        b1 = q1[start:stop]
        b2 = q2[start:stop]
        b3 = q3[start:stop]
        b4 = q4[start:stop]
        b5 = q5[start:stop]
        b6 = q6[start:stop]
        b_momentum, b_energy, b_rho, b_u = (
            momentum[start:stop],
            energy[start:stop],
            rho[start:stop],
            u[start:stop],
        )
        b_p, b_a, b_gamma, b_r = p[start:stop], a[start:stop], gamma[start:stop], gas_constant[start:stop]
        b_e, b_half, b_spare, b_hot = e[start:stop], half[start:stop], spare[start:stop], hot[start:stop]
        for i in range(stop - start):
            m0, m1, m2, m3, m4, m5, m6 = b0[i], b1[i], b2[i], b3[i], b4[i], b5[i], b6[i]
            density = ((m0 + m1) + (m2 + m3)) + ((m4 + m5) + m6)
            volume = 1.0 / density
            speed = b_momentum[i] * volume
            inner = b_energy[i] - 0.5 * b_momentum[i] * speed
            b_rho[i], b_u[i], b_e[i] = density, speed, inner
            b_p[i] = (
                (m0 * k0_0 + m1 * k0_1 + m2 * k0_2 + m3 * k0_3) + (m4 * k0_4 + m5 * k0_5 + m6 * k0_6) - inner
            )  # fmt: skip
            b_a[i] = (
                (m0 * k1_0 + m1 * k1_1 + m2 * k1_2 + m3 * k1_3) + (m4 * k1_4 + m5 * k1_5 + m6 * k1_6)
            )  # fmt: skip
            b_gamma[i] = (
                (m0 * k2_0 + m1 * k2_1 + m2 * k2_2 + m3 * k2_3) + (m4 * k2_4 + m5 * k2_5 + m6 * k2_6)
            )  # fmt: skip
            b_half[i] = (
                (m0 * k3_0 + m1 * k3_1 + m2 * k3_2 + m3 * k3_3) + (m4 * k3_4 + m5 * k3_5 + m6 * k3_6)
            )  # fmt: skip
            b_spare[i] = (
                (m0 * k4_0 + m1 * k4_1 + m2 * k4_2 + m3 * k4_3) + (m4 * k4_4 + m5 * k4_5 + m6 * k4_6)
            )  # fmt: skip
            b_r[i] = volume * (
                (m0 * kr_0 + m1 * kr_1 + m2 * kr_2 + m3 * kr_3) + (m4 * kr_4 + m5 * kr_5 + m6 * kr_6)
            )  # fmt: skip
        for i in range(stop - start):
            # Halley's method on k0 + k1 t + t^3 (k2 + k3 / (t^2 + s3) + k4 / (t^2 + s4)) = 0, one step.
            k0, k1, k2, k3, k4, r = b_p[i], b_a[i], b_gamma[i], b_half[i], b_spare[i], b_r[i]
            t = 1e-3 * b_hot[i]
            s = t * t
            low_d, high_d = s + LOW_SQUARE, s + HIGH_SQUARE
            both = 1.0 / (low_d * high_d)
            to_low, to_high = high_d * both, low_d * both
            low, high = k3 * to_low, k4 * to_high
            value = k0 + t * (k1 + s * (k2 + low + high))
            slope = k1 + s * (
                3.0 * k2
                + low * (1.0 + 2.0 * LOW_SQUARE * to_low)
                + high * (1.0 + 2.0 * HIGH_SQUARE * to_high)
            )  # fmt: skip
            # Half the second derivative.
            bend = t * (
                3.0 * k2 + low * (LOW_SQUARE * to_low * to_low) * (3.0 * LOW_SQUARE - s)
                + high * (HIGH_SQUARE * to_high * to_high) * (3.0 * HIGH_SQUARE - s)
            )  # fmt: skip
            # The heat capacity after the step, slope - 2 bend (t - new), is written so that its division does
            # not wait for the other.  The floors keep a wild start positive; the next call comes back, as
            # the energy is convex.
            wide = slope * slope - value * bend
            new, floor = t - value * slope / wide, 0.25 * t
            new = new if new > floor else floor
            after, floor = slope * wide - 2.0 * bend * value * slope, 0.3 * slope * wide
            after = after if after > floor else floor
            stiff = 1e3 * r * b_rho[i]
            ratio = 1.0 + stiff * wide / after
            warm = 1e3 * new
            b_hot[i] = warm
            b_p[i] = stiff * new
            b_a[i] = math.sqrt(ratio * r * warm)
            b_gamma[i] = ratio


@rows_kernel
def _copy_to_ghosts(row: Array, first: Ints, last: Ints) -> None:
    one = np.uint64(1)
    for d in range(first.shape[0]):
        # Unsigned: the compiler need not ask whether a place counts from the end.
        a, b = np.uint64(first[d]), np.uint64(last[d])
        row[a - one] = row[a]
        row[b + one] = row[b]
    for i in range(last[last.shape[0] - 1] + 2, row.shape[0]):
        row[i] = row[i - 1]


@kernel
def refresh(q: Array, temperature: Array, prim: Array, thermo: Array, first: Ints, last: Ints) -> None:
    """Bring `temperature` [K] and `prim` up to `q`; the ghosts become copies of the cells beside them.

    One step of Halley's method from the last temperature.  What is left of the error goes at the next call:
    the energy, which is what is carried, is untouched.
    """
    for k in range(QUANTITIES):
        _copy_to_ghosts(q[k], first, last)
    _copy_to_ghosts(temperature, first, last)
    _state_rows(
        q[0], q[1], q[2], q[3], q[4], q[5], q[6], q[Q_MOMENTUM], q[Q_ENERGY], temperature, prim[P_RHO],
        prim[P_U], prim[P_P], prim[P_A], prim[P_GAMMA], prim[P_R], prim[P_E], prim[P_HALF],
        prim[P_SPARE], thermo,
    )  # fmt: skip


@rows_kernel
def _fastest(u: Array, a: Array, dx: Array) -> float:
    # As whole numbers, the bits of floats that are not negative stand in the same order; compilers turn
    # the maximum of whole numbers into vector code, but not that of floats.  Not a number counts as largest.
    worst: int | np.int64 = 0
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
