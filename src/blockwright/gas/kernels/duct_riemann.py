"""What flows through faces between two states: the HLLC solver, many faces at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .duct_rows import rows_kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@rows_kernel
def riemann_rows(
    face: int, n: int, left_rho: Array, left_u: Array, left_p: Array, left_e: Array,
    right_rho: Array, right_u: Array, right_p: Array, right_e: Array, all_a: Array, all_area: Array,
    from_left: Array, from_right: Array, all_momentum: Array, all_energy: Array,
) -> None:  # fmt: skip
    """Fluxes through `n` faces from `face` on, times their areas: momentum [N], energy [W], volume [m3/s].

    Left states are those at the upper sides of the cells before the faces, right states those at the lower
    sides of the cells behind, which stand one place further.  The speeds of sound are those of the cells.
    Toro (2009) ch. 10, with the outer waves from both sides' speeds of sound (Davis 1988).
    """
    a_l, a_r = all_a[face - 1 : face - 1 + n], all_a[face : face + n]
    area = all_area[face : face + n]
    momentum, energy = all_momentum[face : face + n], all_energy[face : face + n]
    for i in range(n):
        rl, ul, pl, el = left_rho[i], left_u[i], left_p[i], left_e[i]
        rr, ur, pr, er = right_rho[i + 1], right_u[i + 1], right_p[i + 1], right_e[i + 1]
        one, two = ul - a_l[i], ur - a_r[i]
        slow = one if one < two else two
        one, two = ul + a_l[i], ur + a_r[i]
        fast = one if one > two else two
        flow_l, flow_r = rl * (slow - ul), rr * (fast - ur)
        # Speed of the contact: push / width, where width is never positive.  Its sign is known before it is
        # divided, so that the two divisions do not wait for each other.
        push, width = pr - pl + flow_l * ul - flow_r * ur, flow_l - flow_r
        forward = push <= 0.0
        star = push / width
        # The side the gas comes from, and its outer wave.
        rho = rl if forward else rr
        u = ul if forward else ur
        p = pl if forward else pr
        e = el if forward else er
        wave = slow if forward else fast
        flow = flow_l if forward else flow_r
        p_star = p + flow * (star - u)
        # No part of the star region reaches the face if that wave runs away from it.
        down, up = slow if slow < 0.0 else 0.0, fast if fast > 0.0 else 0.0
        reach = down if forward else up
        per_width = width / (wave * width - push)  # 1 / (wave - star)
        squeeze = (wave - u) * per_width
        total = e + 0.5 * rho * u * u
        volume = u + reach * (squeeze - 1.0)
        inside = squeeze * total + (p_star * star - p * u) * per_width
        s = area[i]
        from_left[i] = s * volume if forward else 0.0
        from_right[i] = 0.0 if forward else s * volume
        momentum[i] = s * (rho * u * u + p + reach * rho * (squeeze * star - u))
        energy[i] = s * (u * (total + p) + reach * (inside - total))


@rows_kernel
def carried_rows(
    face: int, n: int, left: Array, right: Array, active: Ints, from_left: Array, from_right: Array,
    flux: Array,
) -> None:  # fmt: skip
    """Mass of each species through `n` faces [kg/s]: its partial density times one common volume flux."""
    for x in range(active.shape[0]):
        k = active[x]
        m_l, m_r, f = left[k], right[k], flux[k, face : face + n]
        for i in range(n):
            f[i] = from_left[i] * m_l[i] + from_right[i] * m_r[i + 1]
