"""Fast passes over every sample, point, cycle and angle of one main cap.

Arrays are (samples, steps); what varies only by sample is (samples,).  Pure
functions of arrays; `cap_feet` and `caps` wrap them as formulas.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..compiled import kernel

Array = NDArray[np.float64]


@kernel
def lean(vertical: Array, lateral: Array) -> Array:
    """`cap_frame.lean`, without temporaries."""
    out = np.empty_like(vertical)
    for i in range(vertical.shape[0]):
        for j in range(vertical.shape[1]):
            v, h = vertical[i, j], lateral[i, j]
            side = abs(h)
            share = side / max(abs(v) + side, 1e-300)
            if v < 0.0:
                share = 2.0 - share
            out[i, j] = np.copysign(share, h)
    return out


@kernel
def read(leaning: Array, load: Array, knots: Array, scale: Array) -> Array:
    """Unit solution read at the load's lean by straight lines, times load and scale."""
    out = np.empty_like(leaning)
    last = knots.size - 2
    per = (knots.size - 1) / 4.0
    for i in range(leaning.shape[0]):
        for j in range(leaning.shape[1]):
            at = (leaning[i, j] + 2.0) * per
            k = min(int(at), last)
            low = knots[k]
            out[i, j] = (low + (at - k) * (knots[k + 1] - low)) * load[i, j] * scale[i]
    return out


@kernel
def tie_force(moved: float, frame: float, line: float, reg: float, reg_most: float, gird: float, grip: float,
              gap: float) -> float:  # fmt: skip
    """Force that holds a foot after it has moved, frame included."""
    girdle = min(gird * moved, max(grip, gird * (moved - gap)))
    return (frame + line) * moved + min(reg * moved, reg_most) + girdle


@kernel
def foot_movement(excess: float, frame: float, line: float, reg: float, reg_most: float, gird: float,
                  grip: float, gap: float) -> float:  # fmt: skip
    """Movement at which `tie_force` equals the excess: its exact inverse.

    The force is the least of (register holding, register spent) and of (girdle held by
    friction, greatest of girdle slipping and girdle bearing), all straight lines rising
    with the movement; so the inverse takes greatest for least, line by line.
    """
    base = frame + line
    moved = 0.0
    for spent in range(2):
        stiff = base + (0.0 if spent == 1 else reg)
        left = excess - (reg_most if spent == 1 else 0.0)
        stick = left / (stiff + gird)
        loose = min((left - grip) / stiff, (left + gird * gap) / (stiff + gird))
        moved = max(moved, stick, loose)
    return moved


@kernel
def released(needed: Array, friction: Array, stop: Array, frame: Array, line: Array, reg: Array,
             reg_most: Array, gird: Array, grip: Array, gap: Array) -> Array:  # fmt: skip
    """Closing force that the trailing foot lets go because friction is spent."""
    out = np.empty_like(needed)
    for i in range(needed.shape[0]):
        for j in range(needed.shape[1]):
            excess = needed[i, j] - friction[i, j]
            if excess > 0.0:
                moved = foot_movement(
                    excess, frame[i], line[i], reg[i], reg_most[i], gird[i], grip[i], gap[i]
                )
                out[i, j] = frame[i] * min(moved, stop[i])
            else:
                out[i, j] = 0.0
    return out


@kernel
def trailing(closing: Array, lateral: Array, error: Array) -> Array:
    """Force along the joint asked of the trailing foot; below nothing where it need not be held."""
    out = np.empty_like(closing)
    for i in range(closing.shape[0]):
        for j in range(closing.shape[1]):
            out[i, j] = error[i] * (closing[i, j] + 0.5 * abs(lateral[i, j]))
    return out


@kernel
def extremes(leaning: Array, load: Array, knots: Array, scale: Array, let_go: Array, release: Array,
             factor: Array, static: Array, angles: int) -> Array:  # fmt: skip
    """Largest and smallest stress of each cycle at the station that bears most.

    Parameters
    ----------
    leaning, load, let_go : shape (samples, steps)
        Lean of the load [-], its size [N], closing force let go [N].
    knots : shape (stations, m)
        Unit stress with feet held over the lean [Pa/N].
    release, static : shape (stations, samples)
        Stress per unit let go [Pa/N], stress at rest [Pa].
    scale, factor : shape (samples,)
        Factor of the dimensions on the unit stress; notch factor times model error.
    angles : int
        Steps of one cycle: the last axis holds whole cycles one after the other.

    Returns
    -------
    ndarray, shape (samples, cycles, 4)
        Largest, smallest, and of the largest the shares of feet held and of slip.
    """
    samples, steps = leaning.shape
    stations = knots.shape[0]
    cycles = steps // angles
    last = knots.shape[1] - 2
    per = (knots.shape[1] - 1) / 4.0
    out = np.empty((samples, cycles, 4))
    table = knots.T.copy()
    held = np.empty((stations, angles))
    for i in range(samples):
        for c in range(cycles):
            first = c * angles
            for j in range(angles):
                at = (leaning[i, first + j] + 2.0) * per
                k = min(int(at), last)
                for s in range(stations):
                    low = table[k, s]
                    unit = low + (at - k) * (table[k + 1, s] - low)
                    held[s, j] = unit * load[i, first + j] * scale[i]
            worst = -np.inf
            for s in range(stations):
                most, least, where = -np.inf, np.inf, 0
                for j in range(angles):
                    value = held[s, j] + release[s, i] * let_go[i, first + j]
                    if value > most:
                        most, where = value, j
                    least = min(least, value)
                most = factor[i] * most + static[s, i]
                least = factor[i] * least + static[s, i]
                # amplitude plus half the mean: orders stations as a mean-stress rule would
                score = 0.75 * most - 0.25 * least
                if score > worst:
                    worst = score
                    slip = release[s, i] * let_go[i, first + where]
                    out[i, c, 0] = most
                    out[i, c, 1] = least
                    out[i, c, 2] = factor[i] * held[s, where]
                    out[i, c, 3] = factor[i] * slip
    return out


@kernel
def range_of(values: Array, angles: int) -> Array:
    """Largest and smallest value of each cycle, shape (samples, cycles, 2)."""
    samples, steps = values.shape
    out = np.empty((samples, steps // angles, 2))
    for i in range(samples):
        for c in range(steps // angles):
            most, least = -np.inf, np.inf
            for j in range(c * angles, (c + 1) * angles):
                most = max(most, values[i, j])
                least = min(least, values[i, j])
            out[i, c, 0] = most
            out[i, c, 1] = least
    return out
