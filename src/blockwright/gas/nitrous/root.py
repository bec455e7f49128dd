"""A bracketing secant: finds where a rising or falling function passes through nothing."""

from __future__ import annotations

from collections.abc import Callable

from ...errors import NotSettled


def root(
    function: Callable[[float], float],
    low: float,
    high: float,
    tolerance: float,
    what: str,
    ends: tuple[float, float] | None = None,
) -> float:
    """Place between `low` and `high` where `function` is zero.

    Parameters
    ----------
    function : callable
        Continuous, of opposite signs at both ends.
    low, high : float
        The bracket.
    tolerance : float
        Width of the bracket, or size of the last step, at which the place counts as found.
    what : str
        What is looked for, for the message.
    ends : tuple of float or None
        Values at both ends, when they are known.

    Raises
    ------
    NotSettled
        When both ends have the same sign, or 100 steps do not do.

    Notes
    -----
    Secant on the bracket; the value at an end that stays is halved (the "Illinois" rule,
    Dowell and Jarratt 1971, from memory), so that both ends close in.
    """
    a, b = low, high
    fa, fb = ends if ends is not None else (function(a), function(b))
    if fa == 0.0:
        return a
    if fb == 0.0:
        return b
    if not fa * fb < 0.0:
        raise NotSettled(f"{what}: nothing between {low:g} and {high:g} fits (ends give {fa:g} and {fb:g})")
    last = a
    for _ in range(100):
        x = (a * fb - b * fa) / (fb - fa)
        fx = function(x)
        if fx == 0.0 or abs(b - a) < tolerance or abs(x - last) < tolerance:
            return x
        last = x
        if fx * fb < 0.0:
            a, fa = b, fb
        else:
            fa *= 0.5
        b, fb = x, fx
    raise NotSettled(f"{what}: the search between {low:g} and {high:g} does not close")
