"""How many load cycles one engine cycle is worth at a main bearing.

A main between two throws is loaded by every cylinder on them.  The load's history over one
engine cycle is counted by rainflow (ASTM E1049-85, 5.4.5: a repeating history), and its ranges
are added up by their damage in units of the largest:

    m = sum_i (r_i / r_max)^k
"""

from __future__ import annotations

import numpy as np

from ..trace import Array

#: S-N exponent of cast iron, with which smaller pulses are weighed; a steeper line would count them less.
EXPONENT = 5.0


def turning_points(history: Array) -> Array:
    """Peaks and valleys of a repeating history, from its largest value round to it again."""
    start = int(np.argmax(history))
    turned = np.roll(history, -start)
    turned = np.append(turned, turned[0])
    rises = np.diff(turned)
    kept = turned[np.append(True, rises != 0.0)]
    slope = np.sign(np.diff(kept))
    return np.concatenate([kept[:1], kept[1:-1][slope[:-1] != slope[1:]], kept[-1:]])


def ranges(history: Array) -> Array:
    """Ranges of the closed cycles in a repeating history, in the order in which they close."""
    found: list[float] = []
    stack: list[float] = []
    for value in turning_points(history):
        stack.append(float(value))
        while len(stack) >= 3:
            last, before = abs(stack[-1] - stack[-2]), abs(stack[-2] - stack[-3])
            if last < before:
                break
            found.append(before)
            del stack[-3:-1]
    return np.array(found)


def equal_pulses(history: Array, exponent: float = EXPONENT) -> float:
    """Load cycles of the largest range that do the damage of one engine cycle, at least 1.

    Parameters
    ----------
    history : ndarray, shape (720,)
        Load into the cap over one engine cycle; what points into the block does not load the cap.
    exponent : float
        S-N exponent k [-].
    """
    found = ranges(np.maximum(history, 0.0))
    if found.size == 0 or found.max() <= 0.0:
        return 1.0
    return float(np.sum((found / found.max()) ** exponent))
