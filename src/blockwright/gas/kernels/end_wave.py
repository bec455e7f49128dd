"""The wave that runs from the end of a duct into the duct when the pressure at its face changes.

Speeds are positive INTO the duct and counted in the duct's sound speed; x is the pressure of the face
over that of the duct.  An expansion is isentropic: (2/(gamma-1)) (x^((gamma-1)/(2 gamma)) - 1).
"""

from __future__ import annotations

import math

from .jit import kernel

#: A Newton step below this share ends a search: the error left is about its square, 5e-7 at most.
FINE = 5e-4
#: More steps than any state needs: a good start takes 2, the worst some 60 (halving from far away).
TURNS = 100


@kernel
def shock_speed_change(x: float, gamma: float) -> tuple[float, float]:
    """Change of speed over sound speed across a shock of pressure ratio x, and its slope by x [-].

    (x - 1) / sqrt(gamma ((gamma + 1) x + gamma - 1) / 2); Toro (2009) eq. 4.21, from memory.
    """
    d = 0.5 * gamma * ((gamma + 1.0) * x + gamma - 1.0)
    root = 1.0 / math.sqrt(d)
    return (x - 1.0) * root, root * (1.0 - 0.25 * gamma * (gamma + 1.0) * (x - 1.0) / d)


@kernel
def shock_heating(x: float, gamma: float) -> float:
    """Temperature ratio across a shock of pressure ratio x [-] (Rankine and Hugoniot)."""
    return x * ((gamma - 1.0) * x + gamma + 1.0) / ((gamma + 1.0) * x + gamma - 1.0)


@kernel
def wall_ratio(speed: float, gamma: float) -> float:
    """Pressure ratio at a closed end when gas arrives with -speed (over sound speed) [-].

    The reflected shock is a quadratic equation; gas that leaves is expanded, at most to nothing.
    """
    if speed <= 0.0:
        k = -0.25 * (gamma + 1.0) * speed
        return 1.0 - gamma * speed * (k + math.sqrt(1.0 + k * k))
    z = 1.0 - 0.5 * (gamma - 1.0) * speed
    return math.exp(2.0 * gamma / (gamma - 1.0) * math.log(z)) if z > 0.0 else 0.0


@kernel
def choked_outward(speed: float, gamma: float, mach: float) -> tuple[float, float]:
    """Face of a duct that leaves with a given Mach number: pressure and temperature ratio to the duct [-]."""
    g = 0.5 * (gamma - 1.0)
    z = (1.0 / g - speed) / (1.0 / g + mach)
    if z <= 1.0:
        return math.exp(gamma / g * math.log(z)), z * z
    x = math.exp(gamma / g * math.log(z))  # the isentropic answer, to start from
    low, high = 1.0, wall_ratio(speed, gamma)
    for _ in range(TURNS):
        change, slope = shock_speed_change(x, gamma)
        hot = shock_heating(x, gamma)
        root = math.sqrt(hot)
        wrong = speed + change + mach * root
        if wrong < 0.0:
            low = x
        else:
            high = x
        growth = 1.0 / x + (gamma - 1.0) / ((gamma - 1.0) * x + gamma + 1.0)
        growth -= (gamma + 1.0) / ((gamma + 1.0) * x + gamma - 1.0)
        step = -wrong / (slope + 0.5 * mach * root * growth)
        if abs(step) <= FINE * x:
            x += step
            break
        x += step
        if x <= low or x >= high:
            x = 0.5 * (low + high)
    return x, shock_heating(x, gamma)
