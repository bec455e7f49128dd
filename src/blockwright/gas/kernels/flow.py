"""Flow through one end: quasi-steady, isentropic to the throat, choked or not, either way."""

from __future__ import annotations

import math

from .jit import kernel

#: Below this relative pressure difference the square root is rounded off: its infinite slope at rest
#: would need infinitely small steps.  At 0.25 % the flow speed is about 7 % of the speed of sound.
ROUNDED = 2.5e-3


@kernel
def flow_function(ratio: float, gamma: float) -> float:
    """Mass flow over A p0 / sqrt(R T0) at a ratio of throat to total pressure [-].

    Heywood (1988) app. C, eq. C.8 and C.9; zero from `ratio` 1 upwards; constant below the critical ratio.
    """
    if ratio >= 1.0:
        return 0.0
    # No gas chokes above 0.61: spare it the powers.
    if ratio < 0.61 and ratio <= (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)):
        return float(math.sqrt(gamma) * (2.0 / (gamma + 1.0)) ** (0.5 * (gamma + 1.0) / (gamma - 1.0)))
    log_ratio = math.log(ratio)
    drop = -math.expm1(log_ratio * (gamma - 1.0) / gamma)
    return math.exp(log_ratio / gamma) * math.sqrt(2.0 * gamma / (gamma - 1.0) * drop)


@kernel
def rounded_flow_function(ratio: float, gamma: float) -> float:
    """`flow_function` with its root rounded off near rest; value and slope match at the joint."""
    x = (1.0 - ratio) / ROUNDED
    if x >= 1.0:
        return flow_function(ratio, gamma)
    if x <= 0.0:
        return 0.0
    return flow_function(1.0 - ROUNDED, gamma) * x * (1.25 - 0.25 * x * x)


@kernel
def slope_bound(ratio: float, flow: float) -> float:
    """Slope of the rounded flow function by the pressure ratio [-], a little above the true one.

    It bounds the step; `flow` is the function's value.
    """
    x = (1.0 - ratio) / ROUNDED
    if x >= 1.0:
        return 0.5 * flow / (1.0 - ratio)
    return math.sqrt(2.0 / ROUNDED) * (1.25 - 0.75 * x * x)
