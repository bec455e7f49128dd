"""Exact solution of the Riemann problem of an ideal gas, an independent route to the duct field's results.

After Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics (3rd ed. 2009), ch. 4: the pressure
between the waves by Newton on eq. 4.5, then sampling of the wave pattern (sec. 4.5).  From memory.
"""

from __future__ import annotations

import math

State = tuple[float, float, float]


def _wave(p: float, rho: float, p0: float, gamma: float) -> tuple[float, float]:
    """Change of velocity through one wave to the pressure p, and its slope (eq. 4.6, 4.7, 4.37)."""
    a = math.sqrt(gamma * p0 / rho)
    if p > p0:
        by, add = 2.0 / ((gamma + 1.0) * rho), (gamma - 1.0) / (gamma + 1.0) * p0
        root = math.sqrt(by / (p + add))
        return (p - p0) * root, root * (1.0 - 0.5 * (p - p0) / (p + add))
    ratio = p / p0
    change = 2.0 * a / (gamma - 1.0) * (ratio ** ((gamma - 1.0) / (2.0 * gamma)) - 1.0)
    return change, ratio ** (-(gamma + 1.0) / (2.0 * gamma)) / (rho * a)


def star(left: State, right: State, gamma: float) -> tuple[float, float]:
    """Pressure and velocity between the waves; states are (density, velocity, pressure)."""
    (rl, ul, pl), (rr, ur, pr) = left, right
    al, ar = math.sqrt(gamma * pl / rl), math.sqrt(gamma * pr / rr)
    assert 2.0 * (al + ar) / (gamma - 1.0) > ur - ul, "the gas tears apart"
    # Two rarefactions give a start that is never above the root's branch by much (eq. 4.46).
    z = (gamma - 1.0) / (2.0 * gamma)
    p = ((al + ar - 0.5 * (gamma - 1.0) * (ur - ul)) / (al / pl**z + ar / pr**z)) ** (1.0 / z)
    for _ in range(200):
        fl, dl = _wave(p, rl, pl, gamma)
        fr, dr = _wave(p, rr, pr, gamma)
        new = max(p - (fl + fr + ur - ul) / (dl + dr), 1e-3 * p)
        done = abs(new - p) < 1e-15 * (new + p)
        p = new
        if done:
            break
    return p, 0.5 * (ul + ur) + 0.5 * (_wave(p, rr, pr, gamma)[0] - _wave(p, rl, pl, gamma)[0])


def exact_state(left: State, right: State, speed: float, gamma: float) -> State:
    """State seen along x / t = speed."""
    p, u = star(left, right, gamma)
    if speed > u:  # mirror, so that only the left side need be written
        rho, v, q = exact_state((right[0], -right[1], right[2]), (left[0], -left[1], left[2]), -speed, gamma)
        return rho, -v, q
    rho, u0, p0 = left
    a = math.sqrt(gamma * p0 / rho)
    g = (gamma - 1.0) / (gamma + 1.0)
    if p > p0:
        shock = u0 - a * math.sqrt((gamma + 1.0) / (2.0 * gamma) * p / p0 + (gamma - 1.0) / (2.0 * gamma))
        if speed < shock:
            return left
        return rho * (p / p0 + g) / (g * p / p0 + 1.0), u, p
    squeezed = rho * (p / p0) ** (1.0 / gamma)
    if speed < u0 - a:
        return left
    if speed > u - math.sqrt(gamma * p / squeezed):
        return squeezed, u, p
    part = 2.0 / (gamma + 1.0) + g / a * (u0 - speed)
    fan_u = 2.0 / (gamma + 1.0) * (a + 0.5 * (gamma - 1.0) * u0 + speed)
    return rho * part ** (2.0 / (gamma - 1.0)), fan_u, p0 * part ** (2.0 * gamma / (gamma - 1.0))
