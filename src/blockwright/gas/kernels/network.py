"""The whole engine: cylinders, plenum and exhaust volume joined by ends, one cycle at a time.

Nodes are numbered cylinders first, then fixed volumes, then reservoirs, whose state never changes.
An *end* joins two nodes through an effective area that depends on an angle; both sides use the same
flux, so that mass and energy balance to rounding.  Duct cells can become further nodes behind it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .cylinder import burn_step, closed_steps, volume, wall_heat, wrapped
from .flow import conductance, rounded_flow_function
from .jit import C_CRANK, ENERGY, R_P, R_P_SPARK, R_T, R_V, R_V_SPARK, kernel
from .properties import settle, total_mass

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Places in a degree at which areas are tabulated.
PER_DEGREE = 4
#: Largest share of a volume's own response time that one step may take.
STEP_SHARE = 0.7
#: Steps in a degree: at least; with valves closed; at most.
FEWEST, CLOSED, MOST = 2, 2, 2000


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
    for k in range(PER_DEGREE + 2):
        if row[(first + k) % n] > 0.0:
            return True
    return False


@kernel
def flow_rates(
    angle: float, y: Array, mass: Array, t: Array, p: Array, r: Array, gamma: Array,
    links: Ints, phase: Array, reverse: Array, areas: Array, rates: Array,
) -> None:  # fmt: skip
    """Rates of mass [kg/s] and energy [W] into every node through every end, shape (nodes, 8)."""
    rates[:, :] = 0.0
    for e in range(links.shape[0]):
        area = end_area(areas[links[e, 2]], angle - phase[e])
        if area <= 0.0:
            continue
        up, down = links[e, 0], links[e, 1]
        if p[up] < p[down]:
            up, down = down, up
            area *= reverse[e]
        flux = area * p[up] / math.sqrt(r[up] * t[up]) * rounded_flow_function(p[down] / p[up], gamma[up])
        if flux <= 0.0:
            continue
        share = flux / mass[up]
        for k in range(7):
            moved = share * y[up, k]
            rates[up, k] -= moved
            rates[down, k] += moved
        moved = share * y[up, ENERGY] + flux * r[up] * t[up]
        rates[up, ENERGY] -= moved
        rates[down, ENERGY] += moved


@kernel
def steps_needed(
    angle: float, degree_time: float, t: Array, p: Array, r: Array, gamma: Array, room: Array,
    links: Ints, phase: Array, reverse: Array, areas: Array, speed: Array,
) -> int:  # fmt: skip
    """Steps within a degree that keep every volume's step below a share of its response time."""
    speed[:] = 0.0
    for e in range(links.shape[0]):
        row = areas[links[e, 2]]
        area = max(end_area(row, angle - phase[e]), end_area(row, angle + 1.0 - phase[e]))
        if area <= 0.0:
            continue
        up, down = links[e, 0], links[e, 1]
        if p[up] < p[down]:
            up, down = down, up
        slope = area / math.sqrt(r[up] * t[up]) * conductance(p[down] / p[up], gamma[up])
        for node in (up, down):
            if node < room.shape[0]:
                speed[node] += slope * gamma[node] * r[up] * t[up] / room[node]
    worst = 0.0
    for node in range(room.shape[0]):
        worst = max(worst, speed[node])
    return min(max(FEWEST, int(math.ceil(worst * degree_time / STEP_SHARE))), MOST)


@kernel
def one_cycle(
    y: Array, t: Array, p: Array, reference: Array, shut: Array, firing: Array, clearance: Array,
    fixed: Array, omega: float, geometry: Array, burn: Array, links: Ints, phase: Array, reverse: Array,
    areas: Array, frozen: Array, burned: Array, g: Array,
    pressure: Array, temperature: Array, content: Array, work: Array, heat: Array, outside: Array,
    trapped: Array,
) -> int:  # fmt: skip
    """Advance the engine by one cycle of 720 deg from the firing top dead centre of cylinder 1.

    Changes `y` (nodes, 8), `t`, `p` (nodes), `reference` (cylinders, 5) and `shut` (cylinders) in place.

    Fills `pressure`, `temperature`, `content` (cylinders + fixed volumes, 720) at every whole degree of
    the crank; `work` and `heat` (cylinders) [J]; `outside` (reservoirs, 8), what each reservoir
    received; `trapped` (cylinders, 11): state, temperature, pressure and own angle when the intake shut.
    Returns the number of steps of the network, or -1 when a temperature or pressure went wrong.
    """
    n_cyl, n_fixed, n_nodes = firing.shape[0], fixed.shape[0], y.shape[0]
    n_vol = n_cyl + n_fixed
    r, gamma = np.ones(n_nodes), np.ones(n_nodes)
    t2, p2, r2, gamma2 = t.copy(), p.copy(), r.copy(), gamma.copy()
    y2 = y.copy()
    mass, mass2 = np.ones(n_nodes), np.ones(n_nodes)
    first, second = np.zeros((n_nodes, 8)), np.zeros((n_nodes, 8))
    lost, lost2 = np.zeros(n_vol), np.zeros(n_vol)
    room, room2, speed = np.ones(n_vol), np.ones(n_vol), np.zeros(n_vol)
    scratch = np.empty(8)
    is_shut = np.zeros(n_cyl, dtype=np.bool_)
    piston_speed = 2.0 * geometry[C_CRANK] * omega / math.pi
    degree_time = (math.pi / 180.0) / omega
    work[:] = 0.0
    heat[:] = 0.0
    outside[:, :] = 0.0
    total = 0
    for v in range(n_fixed):
        room[n_cyl + v] = fixed[v]
        room2[n_cyl + v] = fixed[v]
    for node in range(n_nodes):
        mass[node] = total_mass(y[node])
        space = 1.0
        if node < n_cyl:
            space = volume(0.0 - firing[node], clearance[node], geometry)
        elif node < n_vol:
            space = fixed[node - n_cyl]
        else:  # a reservoir holds whatever volume its unit of mass takes
            space = t[node] / p[node]
            _, rough, _, _ = settle(y[node], space, t[node], p[node], frozen, burned, g)
            for _ in range(4):
                space *= rough / p[node]
                _, rough, _, _ = settle(y[node], space, t[node], p[node], frozen, burned, g)
        _, _, r[node], gamma[node] = settle(y[node], space, t[node], p[node], frozen, burned, g)
        r2[node], gamma2[node], mass2[node] = r[node], gamma[node], mass[node]

    for degree in range(720):
        angle = float(degree)
        for c in range(n_cyl):
            own = angle - firing[c]
            is_shut[c] = True
            for e in range(links.shape[0]):
                if (links[e, 0] == c or links[e, 1] == c) and is_open(areas[links[e, 2]], own):
                    is_shut[c] = False
            room[c] = volume(own, clearance[c], geometry)
            if is_shut[c] and shut[c] == 0.0 and -220.0 < wrapped(own) < 0.0:
                reference[c, R_P], reference[c, R_T], reference[c, R_V] = p[c], t[c], room[c]
                reference[c, R_P_SPARK], reference[c, R_V_SPARK] = p[c], room[c]
                for k in range(8):
                    trapped[c, k] = y[c, k]
                trapped[c, 8], trapped[c, 9], trapped[c, 10] = t[c], p[c], wrapped(own)
            if shut[c] != 0.0 and not is_shut[c]:
                _, _, r[c], gamma[c] = settle(y[c], room[c], t[c], p[c], frozen, burned, g)
            shut[c] = 1.0 if is_shut[c] else 0.0
        for v in range(n_vol):
            pressure[v, degree], temperature[v, degree] = p[v], t[v]
            mass[v] = total_mass(y[v])
            content[v, degree] = mass[v]

        for c in range(n_cyl):
            if is_shut[c]:
                own = wrapped(angle - firing[c])
                t[c], p[c], done, given = closed_steps(
                    y[c], t[c], p[c], own, own + 1.0, CLOSED, clearance[c], omega, geometry, burn[c],
                    reference[c], frozen, burned, g, scratch,
                )  # fmt: skip
                work[c] += done
                heat[c] += given

        steps = steps_needed(
            angle, degree_time, t, p, r, gamma, room, links, phase, reverse, areas, speed
        )  # fmt: skip
        total += steps
        dt = degree_time / steps
        for s in range(steps):
            a = angle + s / steps
            b = angle + (s + 1) / steps
            flow_rates(a, y, mass, t, p, r, gamma, links, phase, reverse, areas, first)
            for v in range(n_vol):
                growth, own, own_next = 0.0, 0.0, 0.0
                if v < n_cyl:
                    if is_shut[v]:
                        continue
                    own, own_next = wrapped(a - firing[v]), wrapped(a - firing[v]) + (b - a)
                    room2[v] = volume(own_next, clearance[v], geometry)
                    growth = room2[v] - room[v]
                    lost[v] = wall_heat(
                        own, room[v], p[v], t[v], False, piston_speed, geometry, burn[v], reference[v]
                    )
                for k in range(8):
                    y2[v, k] = y[v, k] + dt * first[v, k]
                y2[v, ENERGY] -= p[v] * growth + lost[v] * dt
                if v < n_cyl:
                    burn_step(y2[v], own, own_next, burn[v])
                t2[v], p2[v], r2[v], gamma2[v] = settle(y2[v], room2[v], t[v], p[v], frozen, burned, g)
                mass2[v] = total_mass(y2[v])
            flow_rates(b, y2, mass2, t2, p2, r2, gamma2, links, phase, reverse, areas, second)
            for v in range(n_vol):
                done, given, own, own_next = 0.0, 0.0, 0.0, 0.0
                if v < n_cyl:
                    if is_shut[v]:
                        continue
                    own, own_next = wrapped(a - firing[v]), wrapped(a - firing[v]) + (b - a)
                    lost2[v] = wall_heat(
                        own_next, room2[v], p2[v], t2[v], False, piston_speed, geometry, burn[v], reference[v]
                    )
                    done = 0.5 * (p[v] + p2[v]) * (room2[v] - room[v])
                    given = 0.5 * (lost[v] + lost2[v]) * dt
                    work[v] += done
                    heat[v] += given
                for k in range(8):
                    y[v, k] += 0.5 * dt * (first[v, k] + second[v, k])
                y[v, ENERGY] -= done + given
                if v < n_cyl:
                    burn_step(y[v], own, own_next, burn[v])
                    room[v] = room2[v]
                t[v], p[v], r[v], gamma[v] = settle(y[v], room2[v], t2[v], p2[v], frozen, burned, g)
                mass[v] = total_mass(y[v])
                if not (p[v] > 0.0 and 100.0 < t[v] < 6000.0):
                    return -1
            for q in range(n_nodes - n_vol):
                for k in range(8):
                    outside[q, k] += 0.5 * dt * (first[n_vol + q, k] + second[n_vol + q, k])
    return total
