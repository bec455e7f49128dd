"""A root between two bounds."""

from __future__ import annotations

from collections.abc import Callable


def crossing(
    function: Callable[[float], float],
    low: float,
    high: float,
    f_low: float,
    f_high: float,
    close: float = 1e-12,
) -> float:
    """Where a falling function passes zero, f(low) > 0 > f(high).

    Regula falsi with Anderson and Bjorck's weights; bisection whenever three steps have not halved the
    distance of the bounds, so that it always ends.

    Parameters
    ----------
    function : callable
    low, high, f_low, f_high : float
        Bounds, and values there.
    close : float
        Ends when the value is no larger, when the bounds differ by less than this share of `high`, or when
        an estimate moved by less than this share of itself and the value fell with it.
    """
    at, value, width, slow = low, f_low, high - low, 0
    while True:
        before, old = at, value
        at = high - f_high * (high - low) / (f_high - f_low)
        if slow >= 3 or not low < at < high:
            at, slow = 0.5 * (low + high), 0
        value = function(at)
        bisected = high - low <= close * abs(high) or not low < at < high
        rests = abs(at - before) <= close * abs(at) and abs(value) <= 0.5 * abs(old)
        if abs(value) <= close or rests or bisected:
            return at
        if value > 0.0:
            share = 1.0 - value / f_low
            f_high *= share if share > 0.0 else 0.5
            low, f_low = at, value
        else:
            share = 1.0 - value / f_high
            f_low *= share if share > 0.0 else 0.5
            high, f_high = at, value
        slow += 1
        if high - low <= 0.5 * width:
            width, slow = high - low, 0
