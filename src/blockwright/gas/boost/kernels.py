"""Hot parts of boosting: a point of a compressor map, and a turbine in pulsating exhaust.

A map is packed as rising corrected speeds of its lines, the place in `table` where each line begins, and
`table`, shape (7, points): place along the line from surge 0 to choke 1, then value and slope of flow,
head and efficiency.  Head is pressure ratio^(2/7) - 1.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..kernels.flow import ROUNDED, flow_function, rounded_flow_function
from ..kernels.jit import kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

# Rows of a map's table.
M_PLACE, M_FLOW, M_HEAD, M_EFFICIENCY = 0, 1, 3, 5

# Where an operating point stands.
INSIDE, SURGE, CHOKE = 0, 1, 2


@kernel
def along(place: float, first: int, last: int, row: int, table: Array) -> float:
    """A value at a place of one speed line, held at the line's ends: cubic through its points."""
    if place <= table[M_PLACE, first]:
        return float(table[row, first])
    if place >= table[M_PLACE, last]:
        return float(table[row, last])
    low, high = first, last
    while high - low > 1:
        middle = (low + high) // 2
        if table[M_PLACE, middle] <= place:
            low = middle
        else:
            high = middle
    h = table[M_PLACE, high] - table[M_PLACE, low]
    t = (place - table[M_PLACE, low]) / h
    return hermite(t, h, table[row, low], table[row, high], table[row + 1, low], table[row + 1, high])


@kernel
def hermite(t: float, h: float, y0: float, y1: float, m0: float, m1: float) -> float:
    """Cubic over an interval of width `h` at the share `t` of it, from values and slopes at its ends."""
    s = 1.0 - t
    return (
        (1.0 + 2.0 * t) * s * s * y0 + t * s * s * h * m0 + t * t * (3.0 - 2.0 * t) * y1 - t * t * s * h * m1
    )


@kernel
def inner_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    """Slope at a point between two intervals: `gas.monotone.slopes`, one point of it."""
    if d0 * d1 <= 0.0:
        return 0.0
    w0, w1 = 2.0 * h1 + h0, h1 + 2.0 * h0
    return (w0 + w1) / (w0 / d0 + w1 / d1)


@kernel
def end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    """Slope at an end, held to the shape of the data."""
    slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0.0:
        return 0.0
    if d0 * d1 <= 0.0 and abs(slope) > 3.0 * abs(d0):
        return 3.0 * d0
    return slope


@kernel
def slope_across(speeds: Array, values: Array, k: int) -> float:
    """Slope of `values` over the speed at line `k`."""
    n = speeds.shape[0]
    if k == 0 or k == n - 1:
        a, b, c = (0, 1, 2) if k == 0 else (n - 1, n - 2, n - 3)
        h0, h1 = abs(speeds[b] - speeds[a]), abs(speeds[c] - speeds[b])
        d0 = (values[b] - values[a]) / (speeds[b] - speeds[a])
        return end_slope(h0, h1, d0, (values[c] - values[b]) / (speeds[c] - speeds[b]))
    h0, h1 = speeds[k] - speeds[k - 1], speeds[k + 1] - speeds[k]
    return inner_slope(h0, h1, (values[k] - values[k - 1]) / h0, (values[k + 1] - values[k]) / h1)


@kernel
def across(speed: float, speeds: Array, values: Array, power: float) -> float:
    """A value at a speed from its values on the lines; beyond the lines with speed^power (fan laws)."""
    n = speeds.shape[0]
    if speed <= speeds[0]:
        return float(values[0] * (speed / speeds[0]) ** power)
    if speed >= speeds[n - 1]:
        return float(values[n - 1] * (speed / speeds[n - 1]) ** power)
    k = 0
    while speed > speeds[k + 1]:
        k += 1
    h = speeds[k + 1] - speeds[k]
    m0, m1 = slope_across(speeds, values, k), slope_across(speeds, values, k + 1)
    return hermite((speed - speeds[k]) / h, h, values[k], values[k + 1], m0, m1)


@kernel
def speed_at(value: float, speeds: Array, values: Array, power: float) -> float:
    """Speed at which a rising value is reached: the inverse of `across`."""
    n = speeds.shape[0]
    if value <= values[0]:
        return float(speeds[0] * (max(value, 0.0) / values[0]) ** (1.0 / power)) if values[0] > 0.0 else 0.0
    if value >= values[n - 1]:
        return float(speeds[n - 1] * (value / values[n - 1]) ** (1.0 / power))
    k = 0
    while value > values[k + 1]:
        k += 1
    h = speeds[k + 1] - speeds[k]
    m0, m1 = slope_across(speeds, values, k), slope_across(speeds, values, k + 1)
    low, high = 0.0, 1.0
    t = (value - values[k]) / (values[k + 1] - values[k])
    for _ in range(60):
        off = hermite(t, h, values[k], values[k + 1], m0, m1) - value
        if off == 0.0:
            break
        if off > 0.0:
            high = t
        else:
            low = t
        s = 1.0 - t
        slope = 6.0 * t * s * (values[k + 1] - values[k])
        slope += h * (m0 * s * (1.0 - 3.0 * t) - m1 * t * (2.0 - 3.0 * t))
        before = t
        t = t - off / slope if slope > 0.0 else -1.0
        if not low < t < high:
            t = 0.5 * (low + high)
        if abs(t - before) < 1e-15:
            break
    return float(speeds[k] + t * h)


@kernel
def lines_at(place: float, row: int, starts: Ints, table: Array, out: Array) -> None:
    """A value on every speed line at a place along them; fills `out`."""
    for k in range(out.shape[0]):
        out[k] = along(place, starts[k], starts[k + 1] - 1, row, table)


@kernel
def map_state(
    speed: float, place: float, speeds: Array, starts: Ints, table: Array
) -> tuple[float, float, float]:
    """Corrected flow, head and efficiency at a corrected speed and a place between surge 0 and choke 1."""
    values = np.empty(speeds.shape[0])
    lines_at(place, M_FLOW, starts, table, values)
    flow = across(speed, speeds, values, 1.0)
    lines_at(place, M_HEAD, starts, table, values)
    head = across(speed, speeds, values, 2.0)
    lines_at(place, M_EFFICIENCY, starts, table, values)
    return flow, head, across(speed, speeds, values, 0.0)


@kernel
def flow_at_head(
    head: float, place: float, speeds: Array, starts: Ints, table: Array, values: Array
) -> tuple[float, float]:
    """Flow and speed at a head and a place: along surge 0, along choke 1."""
    lines_at(place, M_HEAD, starts, table, values)
    speed = speed_at(head, speeds, values, 2.0)
    lines_at(place, M_FLOW, starts, table, values)
    return across(speed, speeds, values, 1.0), speed


@kernel
def map_point(
    flow: float, head: float, speeds: Array, starts: Ints, table: Array
) -> tuple[float, float, float, int, float, float]:
    """Where a compressor runs that gives a flow at a head.

    Left of surge the speed and work are those on the surge line at this head; right of choke the
    compressor spins as fast as its choke line needs for the flow, and the head that it makes too
    much is lost, as on the vertical end of a speed line.

    Returns
    -------
    speed, place : float
        Corrected speed, and place between surge 0 and choke 1.
    work : float
        Temperature rise over inlet temperature: head over efficiency [-].
    edge : int
        `INSIDE`, `SURGE` or `CHOKE`.
    surge_flow, choke_flow : float
        At this head.
    """
    values = np.empty(speeds.shape[0])
    surge, speed = flow_at_head(head, 0.0, speeds, starts, table, values)
    if flow <= surge:
        _, _, efficiency = map_state(speed, 0.0, speeds, starts, table)
        choke, _ = flow_at_head(head, 1.0, speeds, starts, table, values)
        return speed, 0.0, head / efficiency, SURGE if flow < surge else INSIDE, surge, choke
    choke, _ = flow_at_head(head, 1.0, speeds, starts, table, values)
    if flow > choke:
        lines_at(1.0, M_FLOW, starts, table, values)
        speed = speed_at(flow, speeds, values, 1.0)
        _, made, efficiency = map_state(speed, 1.0, speeds, starts, table)
        return speed, 1.0, max(made, head) / efficiency, CHOKE, surge, choke
    low, high, f_low, f_high, side = 0.0, 1.0, surge - flow, choke - flow, 0
    place = 0.5
    for _ in range(100):
        place = (low * f_high - high * f_low) / (f_high - f_low) if f_high > f_low else 0.5 * (low + high)
        if not low < place < high:
            place = 0.5 * (low + high)
        found, speed = flow_at_head(head, place, speeds, starts, table, values)
        off = found - flow
        if abs(off) <= 1e-14 * flow or high - low < 1e-15:
            break
        if off < 0.0:
            low, f_low = place, off
            if side == -1:
                f_high *= 0.5
            side = -1
        else:
            high, f_high = place, off
            if side == 1:
                f_low *= 0.5
            side = 1
    _, _, efficiency = map_state(speed, place, speeds, starts, table)
    return speed, place, head / efficiency, INSIDE, surge, choke


@kernel
def widest_flow(head: float, speeds: Array, starts: Ints, table: Array) -> float:
    """Flow of the fastest line at a head below its end's, right of its top; infinite below that end."""
    k = speeds.shape[0] - 1
    first, last = starts[k], starts[k + 1] - 1
    if table[M_HEAD, last] >= head:
        return math.inf
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if along(middle, first, last, M_HEAD, table) > head:
            low = middle
        else:
            high = middle
    return along(low, first, last, M_FLOW, table)


@kernel
def line_flow(
    speed: float, head: float, speeds: Array, starts: Ints, table: Array
) -> tuple[float, float, int]:
    """Flow and place at a corrected speed against a head, right of the line's top.

    More head than the line makes: `SURGE`, and the flow falls off steeply.  Less than at its end: `CHOKE`.
    """
    low, high, best = 0.0, 0.0, -1.0
    for i in range(33):
        _, made, _ = map_state(speed, i / 32.0, speeds, starts, table)
        if made > best:
            best, low = made, i / 32.0
    flow, end, _ = map_state(speed, 1.0, speeds, starts, table)
    if head <= end:
        return flow, 1.0, CHOKE if head < end else INSIDE
    if head >= best:
        flow, _, _ = map_state(speed, low, speeds, starts, table)
        return flow * (best / head) ** 4, low, SURGE
    high = 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        flow, made, _ = map_state(speed, middle, speeds, starts, table)
        if made > head:
            low = middle
        else:
            high = middle
    return flow, low, INSIDE


@kernel
def exhaust_sums(
    stretch: float, behind_now: float, behind: float, blade: float, best: float, gas_constant: float,
    gamma: float, pressure: Array, temperature: Array,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Means over a cycle of what pulsating exhaust does in a turbine, per effective area.

    The trace is stretched to p' = behind + stretch (p - behind_now): the shape stays, the level moves.

    Parameters
    ----------
    blade : float
        Speed of the turbine's tip [m/s].
    best : float
        Ratio of blade speed to spouting velocity at the best efficiency [-].
    pressure, temperature : ndarray, shape (n,)
        Upstream [Pa], [K].

    Returns
    -------
    flow : float
        [kg/(s m2)]
    drop : float
        Isentropic power [W/m2].
    work : float
        Power at a best efficiency of 1 [W/m2].
    heat : float
        Flow times temperature [kg K/(s m2)].
    level : float
        Mean pressure [Pa].
    """
    n = pressure.shape[0]
    exponent = (gamma - 1.0) / gamma
    capacity = gas_constant / exponent
    critical = (2.0 / (gamma + 1.0)) ** (1.0 / exponent)
    choked = flow_function(0.0, gamma)
    flow, drop, work, heat, level = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(n):
        p = behind + stretch * (pressure[i] - behind_now)
        level += p
        if p <= behind:
            continue
        t = temperature[i]
        ratio = behind / p
        log_ratio = math.log(ratio)
        share = -math.expm1(exponent * log_ratio)
        if ratio <= critical:
            law = choked
        elif ratio < 1.0 - ROUNDED:  # `flow_function`, its powers shared with the drop
            law = math.exp(log_ratio / gamma) * math.sqrt(2.0 / exponent * share)
        else:
            law = rounded_flow_function(ratio, gamma)
        passed = p / math.sqrt(gas_constant * t) * law
        fall = capacity * t * share
        flow += passed
        drop += passed * fall
        work += passed * (blade * math.sqrt(2.0 * fall) / best - 0.5 * (blade / best) ** 2)
        heat += passed * t
    return flow / n, drop / n, work / n, heat / n, level / n
