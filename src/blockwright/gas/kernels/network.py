"""The whole engine: cylinders, plenum and exhaust volume joined by ends, one cycle at a time.

Nodes are numbered cylinders first, then fixed volumes, then reservoirs, whose state never changes.
An *end* joins two nodes through an effective area that depends on an angle; both sides use the same
flux, so that mass and energy balance to rounding.  Duct cells can become further nodes behind it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .cylinder import burn_step, closed_steps, take_lost, volume, wall_heat, wrapped, zone_reset
from .flow import rounded_flow_function, slope_bound
from .jit import C_CRANK, ENERGY, R_P, R_P_SPARK, R_T, R_V, R_V_SPARK, kernel
from .properties import settle, total_mass
from .zones import LIT, Z_STATE, Z_TU, Z_X

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Places in a degree at which areas are tabulated.
PER_DEGREE = 4
#: Largest share of a volume's own response time that one step may take.
STEP_SHARE = 1.25
#: Steps in a degree: at least; with valves closed; at most.
FEWEST, CLOSED, MOST = 1, 2, 2000

# Columns of what is known of a node: temperature, pressure, gas constant, ratio of heats, mass, volume.
N_T, N_P, N_R, N_G, N_M, N_V = range(6)


@kernel
def end_area(row: Array, angle: float) -> float:
    """Effective area [m2] at an angle [deg], linear between the tabulated places."""
    x = (angle % 720.0) * PER_DEGREE
    i = int(x)
    f = x - i
    n = row.shape[0]
    i = i % n
    j = i + 1 if i + 1 < n else 0
    return float(row[i] + f * (row[j] - row[i]))


@kernel
def is_open(row: Array, angle: float) -> bool:
    """Whether an end opens anywhere within the degree that starts at an angle [deg]."""
    n = row.shape[0]
    first = math.floor((angle % 720.0) * PER_DEGREE)
    found = False
    for k in range(PER_DEGREE + 2):
        found = found or row[(first + k) % n] > 0.0
    return found


@kernel
def refresh(y: Array, s: Array, frozen: Array, burned: Array, g: Array) -> None:
    """Bring temperature, pressure, gas constant, ratio of heats and mass of a node up to its state."""
    s[N_T], s[N_P], s[N_R], s[N_G] = settle(y, s[N_V], s[N_T], s[N_P], frozen, burned, g)
    s[N_M] = total_mass(y)


@kernel
def set_reservoir(y: Array, s: Array, frozen: Array, burned: Array, g: Array) -> None:
    """Fill in a reservoir, whose temperature and pressure are given: it holds its mass in any volume."""
    temperature, pressure = s[N_T], s[N_P]
    s[N_V] = temperature / pressure
    for _ in range(6):
        refresh(y, s, frozen, burned, g)
        s[N_V] *= s[N_P] / pressure
    s[N_T], s[N_P] = temperature, pressure


@kernel
def flow_rates(
    angle: float, y: Array, s: Array, n_vol: int, links: Ints, phase: Array, reverse: Array, areas: Array,
    rates: Array, response: Array,
) -> float:  # fmt: skip
    """Rates of mass [kg/s] and energy [W] into every node through every end, shape (nodes, 8).

    Returns the fastest response of any volume's pressure to its own ends [1/s], which bounds the step;
    `response` is room to work in.
    """
    for node in range(y.shape[0]):
        response[node] = 0.0
        for k in range(8):
            rates[node, k] = 0.0
    for e in range(links.shape[0]):
        area = end_area(areas[links[e, 2]], angle - phase[e])
        if area <= 0.0:
            continue
        up, down = links[e, 0], links[e, 1]
        if s[up, N_P] < s[down, N_P]:
            up, down = down, up
            area *= reverse[e]
        ratio = s[down, N_P] / s[up, N_P]
        flow = rounded_flow_function(ratio, s[up, N_G])
        speed = math.sqrt(s[up, N_R] * s[up, N_T])
        slope = area * speed * slope_bound(ratio, flow) * s[up, N_G]
        response[up] += slope / s[up, N_V]
        response[down] += slope / s[down, N_V]
        share = area * s[up, N_P] / speed * flow / s[up, N_M]
        for k in range(7):
            moved = share * y[up, k]
            rates[up, k] -= moved
            rates[down, k] += moved
        moved = share * (y[up, ENERGY] + s[up, N_M] * s[up, N_R] * s[up, N_T])
        rates[up, ENERGY] -= moved
        rates[down, ENERGY] += moved
    worst = 0.0
    for node in range(n_vol):
        worst = max(worst, response[node])
    return worst


@kernel
def predict(
    a: float, b: float, dt: float, y: Array, s: Array, y2: Array, s2: Array, rates: Array, lost: Array,
    shut: Array, firing: Array, clearance: Array, piston_speed: float, geometry: Array, burn: Array,
    reference: Array, n_vol: int, frozen: Array, burned: Array, g: Array,
) -> None:  # fmt: skip
    """State of every open volume at `b` [deg] with the rates at `a`; fills `y2`, `s2` and `lost` [W]."""
    n_cyl = firing.shape[0]
    for v in range(n_vol):
        if v < n_cyl and shut[v] != 0.0:
            continue
        for k in range(8):
            y2[v, k] = y[v, k] + dt * rates[v, k]
        s2[v, N_T], s2[v, N_P] = s[v, N_T], s[v, N_P]
        if v < n_cyl:
            own = wrapped(a - firing[v])
            s2[v, N_V] = volume(own + (b - a), clearance[v], geometry)
            lost[v] = wall_heat(
                own, s[v, N_V], clearance[v], s[v, N_P], s[v, N_T], 0, piston_speed, geometry,
                burn[v], reference[v],
            )  # fmt: skip
            y2[v, ENERGY] -= s[v, N_P] * (s2[v, N_V] - s[v, N_V]) + lost[v] * dt
            burn_step(y2[v], own, own + (b - a), burn[v])
        refresh(y2[v], s2[v], frozen, burned, g)


@kernel
def correct(
    a: float, b: float, dt: float, y: Array, s: Array, s2: Array, rates: Array, rates2: Array, lost: Array,
    shut: Array, firing: Array, clearance: Array, piston_speed: float, geometry: Array, burn: Array,
    reference: Array, n_vol: int, frozen: Array, burned: Array, g: Array, sums: Array,
) -> None:  # fmt: skip
    """Advance every open volume from `a` to `b` [deg] with the mean of the rates; adds to `sums`."""
    n_cyl = firing.shape[0]
    for v in range(n_vol):
        if v < n_cyl and shut[v] != 0.0:
            continue
        for k in range(8):
            y[v, k] += 0.5 * dt * (rates[v, k] + rates2[v, k])
        if v < n_cyl:
            own = wrapped(a - firing[v])
            after = wall_heat(
                own + (b - a), s2[v, N_V], clearance[v], s2[v, N_P], s2[v, N_T], 0, piston_speed, geometry,
                burn[v], reference[v],
            )  # fmt: skip
            done = 0.5 * (s[v, N_P] + s2[v, N_P]) * (s2[v, N_V] - s[v, N_V])
            given = 0.5 * (lost[v] + after) * dt
            y[v, ENERGY] -= done + given
            sums[v, 0] += done
            sums[v, 1] += given
            burn_step(y[v], own, own + (b - a), burn[v])
            s[v, N_V] = s2[v, N_V]
        s[v, N_T], s[v, N_P] = s2[v, N_T], s2[v, N_P]
        refresh(y[v], s[v], frozen, burned, g)


@kernel
def start_degree(
    angle: float, y: Array, s: Array, shut: Array, reference: Array, zones: Array, trapped: Array,
    firing: Array, clearance: Array, geometry: Array, links: Ints, areas: Array, frozen: Array,
    burned: Array, g: Array,
) -> None:  # fmt: skip
    """See which cylinders are shut for the coming degree; note the charge of one that has just shut."""
    for c in range(firing.shape[0]):
        own = wrapped(angle - firing[c])
        opens = False
        for e in range(links.shape[0]):
            if links[e, 0] == c or links[e, 1] == c:
                opens = opens or is_open(areas[links[e, 2]], own)
        s[c, N_V] = volume(own, clearance[c], geometry)
        if opens and shut[c] != 0.0:
            refresh(y[c], s[c], frozen, burned, g)  # the zones mix
        elif not opens and shut[c] == 0.0:
            zone_reset(zones[c])
            zones[c, Z_TU] = s[c, N_T]
        if not opens and shut[c] == 0.0 and -220.0 < own < 0.0:
            reference[c, R_P], reference[c, R_T], reference[c, R_V] = s[c, N_P], s[c, N_T], s[c, N_V]
            reference[c, R_P_SPARK], reference[c, R_V_SPARK] = s[c, N_P], s[c, N_V]
            for k in range(8):
                trapped[c, k] = y[c, k]
            trapped[c, 8], trapped[c, 9], trapped[c, 10] = s[c, N_T], s[c, N_P], own
        shut[c] = 0.0 if opens else 1.0


@kernel
def one_cycle(
    y: Array, s: Array, reference: Array, shut: Array, zones: Array, firing: Array, clearance: Array,
    n_vol: int, omega: float, geometry: Array, burn: Array, links: Ints, phase: Array, reverse: Array,
    areas: Array, frozen: Array, burned: Array, g: Array, traces: Array, sums: Array, outside: Array,
    trapped: Array,
    room: Array, coarse: bool,
) -> int:  # fmt: skip
    """Advance the engine by one cycle of 720 deg from the firing top dead centre of cylinder 1.

    Parameters
    ----------
    y, s : ndarray, shape (nodes, 8), (nodes, 6)
        States, and temperature, pressure, gas constant, ratio of heats, mass and volume; changed.
    reference, shut : ndarray, shape (cylinders, 5), (cylinders,)
        Reference states of the heat transfer and whether the valves are shut; changed.
    zones : ndarray, shape (cylinders, NZ)
        Burned and unburned gas of the shut cylinders; changed.
    traces : ndarray, shape (5, volumes, 720)
        Filled with pressure, temperature, mass, temperature of the unburned gas and burned share of the
        mass (the last two of cylinders alone) at every whole degree of the crank.
    sums : ndarray, shape (cylinders, 2)
        Filled with work and heat to the walls [J].
    outside : ndarray, shape (reservoirs + 1, 8)
        Filled with what each reservoir received, and in the last row the crankcase.
    trapped : ndarray, shape (cylinders, 11)
        Filled with state, temperature, pressure and own angle when the intake shut.
    room : ndarray, shape (5, nodes, 16)
        To work in.
    coarse : bool
        Half as many steps while the valves are shut, good for the first cycles.

    Returns
    -------
    int
        Steps of the network, or -1 when a temperature or pressure went wrong.
    """
    n_cyl, n_nodes = firing.shape[0], y.shape[0]
    y2, rates, rates2, s2 = room[0], room[1], room[2], room[3]
    lost, response, scratch = room[4, 0], room[4, 1], room[4, 2]
    closed_count = 1 if coarse else CLOSED
    piston_speed = 2.0 * geometry[C_CRANK] * omega / math.pi
    degree_time = (math.pi / 180.0) / omega
    total = 0
    for c in range(n_cyl):
        s[c, N_V] = volume(wrapped(-firing[c]), clearance[c], geometry)
        sums[c, 0], sums[c, 1] = 0.0, 0.0
    for node in range(n_nodes):
        if node < n_vol:
            # Two zones keep their own pressure and temperatures.
            if node >= n_cyl or zones[node, Z_STATE] != LIT or shut[node] == 0.0:
                refresh(y[node], s[node], frozen, burned, g)
        else:
            set_reservoir(y[node], s[node], frozen, burned, g)
        for k in range(8):
            y2[node, k] = y[node, k]
            if node >= n_vol:
                outside[node - n_vol, k] = 0.0
                outside[n_nodes - n_vol, k] = 0.0
            if k < 6:
                s2[node, k] = s[node, k]

    for degree in range(720):
        angle = float(degree)
        start_degree(
            angle, y, s, shut, reference, zones, trapped, firing, clearance, geometry, links, areas,
            frozen, burned, g,
        )  # fmt: skip
        for v in range(n_vol):
            if not (s[v, N_P] > 0.0 and 100.0 < s[v, N_T] < 6000.0):
                return -1
            traces[0, v, degree], traces[1, v, degree] = s[v, N_P], s[v, N_T]
            traces[2, v, degree] = total_mass(y[v])
        for c in range(n_cyl):
            traces[3, c, degree] = zones[c, Z_TU] if shut[c] != 0.0 else s[c, N_T]
            traces[4, c, degree] = zones[c, Z_X]
            if shut[c] != 0.0:
                own = wrapped(angle - firing[c])
                s[c, N_T], s[c, N_P], done, given = closed_steps(
                    y[c], s[c, N_T], s[c, N_P], own, own + 1.0, closed_count, clearance[c], omega, geometry,
                    burn[c], reference[c], zones[c], frozen, burned, g, scratch,
                )  # fmt: skip
                sums[c, 0] += done
                sums[c, 1] += given
        a = angle
        while a < angle + 1.0:
            fastest = flow_rates(a, y, s, n_vol, links, phase, reverse, areas, rates, response)
            rest = angle + 1.0 - a
            wanted = math.ceil(rest * max(FEWEST, fastest * degree_time / STEP_SHARE))
            b = angle + 1.0 if wanted <= 1 else a + rest / min(wanted, MOST)
            dt = (b - a) * degree_time
            predict(
                a, b, dt, y, s, y2, s2, rates, lost, shut, firing, clearance, piston_speed, geometry, burn,
                reference, n_vol, frozen, burned, g,
            )  # fmt: skip
            flow_rates(b, y2, s2, n_vol, links, phase, reverse, areas, rates2, response)
            correct(
                a, b, dt, y, s, s2, rates, rates2, lost, shut, firing, clearance, piston_speed, geometry,
                burn, reference, n_vol, frozen, burned, g, sums,
            )  # fmt: skip
            for q in range(n_vol, n_nodes):
                for k in range(8):
                    outside[q - n_vol, k] += 0.5 * dt * (rates[q, k] + rates2[q, k])
            total += 1
            a = b
    for c in range(n_cyl):
        take_lost(zones[c], outside[n_nodes - n_vol])
    return total
