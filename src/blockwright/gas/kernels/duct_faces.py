"""States at both sides of every face half a step ahead, and what flows through the faces between cells."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .duct_riemann import carried_rows, riemann_rows
from .duct_rows import (
    BLOCK,
    D_DX,
    D_WIDEN,
    E_A,
    E_E,
    E_GAMMA,
    E_P,
    E_R,
    E_RHO,
    E_U,
    P_A,
    P_E,
    P_GAMMA,
    P_HALF,
    P_P,
    P_R,
    P_RHO,
    P_U,
    Q_ENERGY,
    Q_MOMENTUM,
    S_E,
    S_P,
    S_RHO,
    S_U,
    SIDE,
    SPECIES,
    W_AHEAD,
    W_BACK,
    W_FROM_LEFT,
    W_FROM_RIGHT,
    W_HIGH,
    W_KEEP,
    W_LOW,
    rows_kernel,
)
from .jit import kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

#: A face pressure below this share of the cell's own makes the cell do without slopes for the step.
LEAST = 0.1
#: A density [kg/m3] that no sum notices, but by which can be divided.
EMPTY = 1e-30


@rows_kernel
def half_slope(before: float, here: float, behind: float) -> float:
    """Half of a cell's limited slope: a quarter of the difference between its neighbours, at most the whole
    difference to either, nought at extremes.

    Monotonised central limiter (van Leer 1977).
    """
    a, b, c = here - before, behind - here, 0.25 * (behind - before)
    small, large = a if a < b else b, a if a > b else b
    most, least = small if small > 0.0 else 0.0, large if large < 0.0 else 0.0
    c = c if c < most else most
    return c if c > least else least


@rows_kernel
def _one_sided(near: float, further: float) -> float:
    """The difference to the one neighbour, at most twice the next one, nought where they differ in sign."""
    further *= 2.0
    low = near if near < further else further
    high = near if near > further else further
    return (low if low > 0.0 else 0.0) + (high if high < 0.0 else 0.0)


@rows_kernel
def _continue(row: Array, first: Ints, last: Ints) -> None:
    """Fill the ghosts so that the end cells get one-sided slopes; a duct of one cell gets none."""
    one = np.uint64(1)
    for d in range(first.shape[0]):
        # Unsigned: the compiler need not ask whether a place counts from the end.
        a, b = np.uint64(first[d]), np.uint64(last[d])
        start, end = row[a], row[b]
        near_start, near_end = 0.0, 0.0
        next_start, next_end = 0.0, 0.0
        if b > a:
            near_start, near_end = row[a + one] - start, end - row[b - one]
            next_start, next_end = near_start, near_end
        if b > a + one:
            next_start = row[a + one + one] - row[a + one]
            next_end = row[b - one] - row[b - one - one]
        row[a - one] = start - _one_sided(near_start, next_start)
        row[b + one] = end + _one_sided(near_end, next_end)


@rows_kernel
def _motion_rows(
    start: int, n: int, dt: float, all_rho: Array, all_u: Array, all_p: Array, all_e: Array, all_gamma: Array,
    all_dx: Array, all_widen: Array, all_half: Array, keep: Array, back: Array, ahead: Array,
    low_u: Array, low_p: Array, low_e: Array, high_u: Array, high_p: Array, high_e: Array,
) -> None:  # fmt: skip
    """Velocity, pressure and energy at both sides of `n` cells from `start`, and the species' factors.

    A quantity carried along that thins out with the gas, m_t + u m_x + m (u_x + u A_x / A) = 0, has at the
    sides keep m - back dm and keep m + ahead dm with half its limited slope, dm.
    """
    stop = start + n
    rho, gamma, dx, widen = (
        all_rho[start:stop],
        all_gamma[start:stop],
        all_dx[start:stop],
        all_widen[start:stop],
    )
    u, p, e = all_u[start - 1 : stop + 1], all_p[start - 1 : stop + 1], all_e[start - 1 : stop + 1]
    half = all_half[start:stop]
    for j in range(n):
        u_i, p_i, e_i = u[j + 1], p[j + 1], e[j + 1]
        du, dp, de = (
            half_slope(u[j], u_i, u[j + 2]),
            half_slope(p[j], p_i, p[j + 2]),
            half_slope(e[j], e_i, e[j + 2]),
        )
        share = dt / (dx[j] * rho[j])
        by = 0.5 * share * rho[j]
        move = 2.0 * by * u_i
        growth = by * (2.0 * du + u_i * widen[j])
        stiff = p_i * gamma[j]
        kept = 1.0 if p_i - stiff * growth - move * dp - abs(dp) > LEAST * p_i else 0.0
        du, dp, de, growth = kept * du, kept * dp, kept * de, kept * growth
        b, f = kept + kept * move, kept - kept * move
        mid_u = u_i - share * dp
        mid_p = p_i - stiff * growth
        mid_e = e_i - (e_i + p_i) * growth
        low_u[j], high_u[j] = mid_u - b * du, mid_u + f * du
        low_p[j], high_p[j] = mid_p - b * dp, mid_p + f * dp
        low_e[j], high_e[j] = mid_e - b * de, mid_e + f * de
        half[j] = mid_p - move * dp
        keep[j], back[j], ahead[j] = 1.0 - growth, b, f


@rows_kernel
def _species_rows(
    start: int, n: int, q: Array, active: Ints, keep: Array, back: Array, ahead: Array,
    low: Array, high: Array, low_rho: Array, high_rho: Array,
) -> None:  # fmt: skip
    """Partial densities at both sides of `n` cells from `start`, and their sums."""
    for j in range(n):
        low_rho[j], high_rho[j] = EMPTY, EMPTY
    for x in range(active.shape[0]):
        k = active[x]
        m, low_m, high_m = q[k, start - 1 : start + n + 1], low[k], high[k]
        for j in range(n):
            m_i = m[j + 1]
            dm = half_slope(m[j], m_i, m[j + 2])
            mid = keep[j] * m_i
            one, two = mid - back[j] * dm, mid + ahead[j] * dm
            # Below nought it can only be on the side that the gas does not leave through.
            one, two = one if one > 0.0 else 0.0, two if two > 0.0 else 0.0
            low_m[j], high_m[j] = one, two
            low_rho[j] += one
            high_rho[j] += two


@kernel
def _note_edge(state: Array, side: Array, j: int, prim: Array, cell: int) -> None:
    for k in range(SPECIES):
        state[k] = side[k, j]
    state[E_RHO], state[E_U], state[E_P], state[E_E] = (
        side[S_RHO, j],
        side[S_U, j],
        side[S_P, j],
        side[S_E, j],
    )
    state[E_GAMMA], state[E_R] = prim[P_GAMMA, cell], prim[P_R, cell]
    state[E_A] = math.sqrt(state[E_GAMMA] * state[E_P] / state[E_RHO])


@kernel
def faces(
    q: Array, prim: Array, dt: float, geo: Array, face_area: Array, active: Ints, first: Ints, last: Ints,
    flux: Array, edges: Array, work: Array,
) -> None:  # fmt: skip
    """Fill `flux` at all faces between cells and `edges`, the gas just inside the ends, half a step ahead.

    MUSCL-Hancock: limited slopes of partial densities, velocity, pressure and internal energy density in each
    cell, moved on by half of `dt` [s] with the cell's own equations (van Leer 1984; Toro 2009, ch. 14); HLLC
    between them.  What stands in `flux` at the ends of ducts is of no use: overwrite it.
    """
    u, p, e = prim[P_U], prim[P_P], prim[P_E]
    for x in range(active.shape[0]):
        _continue(q[active[x]], first, last)
    _continue(u, first, last)
    _continue(p, first, last)
    _continue(e, first, last)

    low, high = work[W_LOW : W_LOW + SIDE], work[W_HIGH : W_HIGH + SIDE]
    keep, back, ahead = work[W_KEEP], work[W_BACK], work[W_AHEAD]
    low_u, low_p, low_e, low_rho = low[S_U], low[S_P], low[S_E], low[S_RHO]
    high_u, high_p, high_e, high_rho = high[S_U], high[S_P], high[S_E], high[S_RHO]
    from_left, from_right = work[W_FROM_LEFT], work[W_FROM_RIGHT]
    rho, a, gamma, half, dx, widen = (
        prim[P_RHO], prim[P_A], prim[P_GAMMA], prim[P_HALF], geo[D_DX], geo[D_WIDEN],
    )  # fmt: skip
    f_momentum, f_energy = flux[Q_MOMENTUM], flux[Q_ENERGY]
    ducts, next_first, next_last = first.shape[0], 0, 0
    end = prim.shape[1] - 1
    start = 1
    while start < end - 1 or start == 1:
        # Cells from `start`, one more than faces: the faces lie between them.
        n = min(BLOCK + 1, end - start)
        _motion_rows(
            start, n, dt, rho, u, p, e, gamma, dx, widen, half, keep, back, ahead,
            low_u, low_p, low_e, high_u, high_p, high_e,
        )  # fmt: skip
        _species_rows(start, n, q, active, keep, back, ahead, low, high, low_rho, high_rho)
        riemann_rows(
            start + 1, n - 1, high_rho, high_u, high_p, high_e, low_rho, low_u, low_p, low_e, a, face_area,
            from_left, from_right, f_momentum, f_energy,
        )  # fmt: skip
        carried_rows(start + 1, n - 1, high, low, active, from_left, from_right, flux)
        while next_first < ducts and first[next_first] < start + n:
            cell = first[next_first]
            _note_edge(edges[next_first, 0], low, cell - start, prim, cell)
            next_first += 1
        while next_last < ducts and last[next_last] < start + n:
            cell = last[next_last]
            _note_edge(edges[next_last, 1], high, cell - start, prim, cell)
            next_last += 1
        start += BLOCK
