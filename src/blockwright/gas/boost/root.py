"""A root between two bounds."""

from __future__ import annotations

from collections.abc import Callable


def crossing(
    function: Callable[[float], float], low: float, high: float, f_low: float, f_high: float, close: float = 1e-12
) -> float:
    """Where a falling function passes zero, f(low) > 0 > f(high): regula falsi with Anderson and Bjorck's weights.

    Parameters
    ----------
    function : callable
    low, high, f_low, f_high : float
        Bounds, and values there.
    close : float
        Ends when the value is no larger, or when the bounds or two estimates differ by less than
        this share of `high`.
    """
    at = low
    for _ in range(80):
        before = at
        at = high - f_high * (high - low) / (f_high - f_low)
        if not low < at < high:
            at = 0.5 * (low + high)
        value = function(at)
        if abs(value) <= close or abs(at - before) <= close * abs(high) or high - low <= close * abs(high):
            return at
        if value > 0.0:
            share = 1.0 - value / f_low
            f_high *= share if share > 0.0 else 0.5
            low, f_low = at, value
        else:
            share = 1.0 - value / f_high
            f_low *= share if share > 0.0 else 0.5
            high, f_high = at, value
    return at
