"""The whole engine with its pipes: ducts, cylinders, volumes and junctions advanced together.

Every end of a duct asks the gas just inside it and its neighbour for one flux, and both sides use it:
mass, species and energy balance to rounding.  A node (cylinder, volume, junction) is
taken at half a step ahead, by its own last change, so that the coupling is of second order in time.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .cylinder import burn_step, closed_steps, take_lost, volume, wall_heat, wrapped, zone_reset
from .duct import D_DX, advance, faces, refresh, wall_losses, wave_speed
from .ends import junction_end, keep, nozzle_end
from .flow import rounded_flow_function, slope_bound
from .jit import C_CRANK, ENERGY, R_P, R_P_SPARK, R_T, R_V, R_V_SPARK, kernel
from .network import N_G, N_M, N_P, N_R, N_T, N_V, end_area, is_open, set_reservoir
from .network import refresh as refresh_node
from .properties import settle, total_mass
from .zones import LIT, Z_STATE, Z_TU, Z_X

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Courant number of the ducts, and largest share of a volume's response time in a step [-].
COURANT, STEP_SHARE = 0.85, 0.5
#: Steps between two looks at friction and film of the duct walls.
LOSSES_EVERY = 8
#: Largest share by which a node's state is carried half a step ahead.
FURTHEST = 0.1
AT_VALVE, AT_STILL, AT_JUNCTION = 0, 1, 2

# Rows of the trace of a port: pressure [Pa], temperature [K], flow along its duct [kg/s].
PORT_P, PORT_T, PORT_FLOW = range(3)


@kernel
def half_ahead(s: Array, before: Array, share: float, half: Array) -> None:
    """Temperature and pressure of every node half a step ahead; `share`: half the step over the last."""
    for v in range(s.shape[0]):
        for k in range(2):  # N_T, N_P
            moved = share * (s[v, k] - before[v, k])
            most = FURTHEST * s[v, k]
            half[v, k] = s[v, k] + min(max(moved, -most), most)
            before[v, k] = s[v, k]


@kernel
def meet_ends(
    angle: float, first: Ints, last: Ints, edges: Array, flux: Array, ends: Ints, end_data: Array,
    guess: Array, y: Array, s: Array, half: Array, momentum: Array, shut: Array, firing: Array,
    areas: Array, reverse: float, rates: Array, push: Array, through: Array,
) -> None:  # fmt: skip
    """Flux at every end of every duct [kg/s, N, W], and what it does to the node behind it.

    Adds to `rates` (nodes, 8) [kg/s, W], `push` (nodes, 2) [N] and `through` (nodes,) [kg/s entering].
    """
    for e in range(ends.shape[0]):
        d, which, node, kind, valve = ends[e, 0], ends[e, 1], ends[e, 2], ends[e, 3], ends[e, 4]
        state = edges[d, which]
        sign = -1.0 if which == 1 else 1.0
        face = last[d] + 1 if which == 1 else first[d]
        rho, u, p, a, gamma = state[7], sign * state[8], state[9], state[10], state[11]
        area = end_data[e, 0]
        hot, high, gas, ratio = half[node, N_T], half[node, N_P], s[node, N_R], s[node, N_G]
        moving = 0.0
        if kind == AT_JUNCTION:
            mass_there = s[node, N_M]
            nx, ny = sign * end_data[e, 2], sign * end_data[e, 3]
            vx, vy = momentum[node, 0] / mass_there, momentum[node, 1] / mass_there
            along = vx * nx + vy * ny
            moving = 0.5 * mass_there * (vx * vx + vy * vy)
            mass, force, rise, _, guess[e] = junction_end(
                rho, u, p, a, gamma, area, high, hot, gas, ratio, along, vx * vx + vy * vy, guess[e]
            )
            pushed, aside = force - high * area, max(mass, 0.0)
            push[node, 0] -= pushed * nx + aside * (vx - along * nx)
            push[node, 1] -= pushed * ny + aside * (vy - along * ny)
            through[node] += max(-mass, 0.0)
        else:
            opening, back = end_data[e, 1] * area, 1.0 / end_data[e, 1]
            if kind == AT_VALVE:
                opening = 0.0
                if shut[node] == 0.0:
                    opening = end_area(areas[valve], angle - firing[node])
                back = reverse
                if valve == 0:  # flow into an intake duct is reverse flow through its valve
                    opening *= reverse
                    back = 1.0 / reverse
            mass, force, rise, _, guess[e] = nozzle_end(
                rho, u, p, a, gamma, area, high, hot, gas, ratio, opening, back, guess[e]
            )
        if mass > 0.0:
            share = mass / s[node, N_M]
            for k in range(7):
                moved = share * y[node, k]
                rates[node, k] -= moved
                flux[k, face] = sign * moved
            heat = gas * (s[node, N_T] + ratio / (ratio - 1.0) * (hot - s[node, N_T]))
            energy = share * (y[node, ENERGY] - moving) + mass * (heat + rise)
        else:
            share = mass / rho
            for k in range(7):
                moved = share * state[k]
                rates[node, k] -= moved
                flux[k, face] = sign * moved
            energy = share * (state[13] + p) + mass * rise
        rates[node, ENERGY] -= energy
        flux[8, face] = sign * energy
        flux[7, face] = force


@kernel
def meet_links(
    links: Ints, link_area: Array, link_reverse: Array, y: Array, s: Array, half: Array, rates: Array,
    through_links: Array,
) -> None:  # fmt: skip
    """Flow through the orifices between still volumes; adds to `rates`, fills `through_links` [kg/s]."""
    for e in range(links.shape[0]):
        up, down, area, sign = links[e, 0], links[e, 1], link_area[e], 1.0
        if half[up, N_P] < half[down, N_P]:
            up, down, area, sign = down, up, area * link_reverse[e], -1.0
        flow = rounded_flow_function(half[down, N_P] / half[up, N_P], s[up, N_G])
        mass = area * half[up, N_P] / math.sqrt(s[up, N_R] * half[up, N_T]) * flow
        through_links[e] = sign * mass
        share = mass / s[up, N_M]
        for k in range(7):
            moved = share * y[up, k]
            rates[up, k] -= moved
            rates[down, k] += moved
        warm = half[up, N_T] - s[up, N_T]
        heat = s[up, N_R] * (s[up, N_T] + s[up, N_G] / (s[up, N_G] - 1.0) * warm)
        moved = share * y[up, ENERGY] + mass * heat
        rates[up, ENERGY] -= moved
        rates[down, ENERGY] += moved


@kernel
def links_response(links: Ints, link_area: Array, s: Array, n_vol: int) -> float:
    """Fastest answer of a volume's pressure to its orifices [1/s]."""
    worst = 0.0
    for e in range(links.shape[0]):
        up, down = links[e, 0], links[e, 1]
        if s[up, N_P] < s[down, N_P]:
            up, down = down, up
        ratio = s[down, N_P] / s[up, N_P]
        steep = slope_bound(ratio, rounded_flow_function(ratio, s[up, N_G]))
        slope = link_area[e] * math.sqrt(s[up, N_R] * s[up, N_T]) * steep * s[up, N_G]
        for node in (up, down):
            if node < n_vol and s[node, N_V] > 0.0:
                worst = max(worst, slope / s[node, N_V])
    return worst


@kernel
def advance_nodes(
    a: float, b: float, dt: float, y: Array, s: Array, half: Array, rates: Array, momentum: Array,
    push: Array, through: Array, kept: Array, shut: Array, firing: Array, clearance: Array,
    piston_speed: float, geometry: Array, burn: Array, reference: Array, n_vol: int, frozen: Array,
    burned: Array, g: Array, sums: Array, scratch: Array,
) -> None:  # fmt: skip
    """Advance open cylinders, volumes and junctions from `a` to `b` [deg]; adds work and heat to `sums`."""
    n_cyl = firing.shape[0]
    for v in range(n_vol):
        if v < n_cyl and shut[v] != 0.0:
            continue
        for k in range(8):
            y[v, k] += dt * rates[v, k]
        if v < n_cyl:
            own = wrapped(a - firing[v])
            room = volume(own + (b - a), clearance[v], geometry)
            middle = 0.5 * (s[v, N_V] + room)
            lost = dt * wall_heat(
                own + 0.5 * (b - a), middle, clearance[v], half[v, N_P], half[v, N_T], 0, piston_speed,
                geometry, burn[v], reference[v],
            )  # fmt: skip
            done = half[v, N_P] * (room - s[v, N_V])
            y[v, ENERGY] -= done + lost
            sums[v, 0] += done
            sums[v, 1] += lost
            burn_step(y[v], own, own + (b - a), burn[v])
            s[v, N_V] = room
            refresh_node(y[v], s[v], frozen, burned, g)
        elif kept[v] >= 0.0:
            slow = keep(s[v, N_M], through[v], kept[v], dt)
            for k in range(2):
                momentum[v, k] = slow * (momentum[v, k] + dt * push[v, k])
            mass = total_mass(y[v])
            for k in range(8):
                scratch[k] = y[v, k]
            scratch[ENERGY] -= 0.5 * (momentum[v, 0] ** 2 + momentum[v, 1] ** 2) / mass
            s[v, N_T], s[v, N_P], s[v, N_R], s[v, N_G] = settle(
                scratch, s[v, N_V], s[v, N_T], s[v, N_P], frozen, burned, g
            )
            s[v, N_M] = mass
        else:
            refresh_node(y[v], s[v], frozen, burned, g)


@kernel
def begin_degree(
    angle: float, y: Array, s: Array, before: Array, shut: Array, reference: Array, zone: Array,
    trapped: Array, firing: Array, clearance: Array, geometry: Array, areas: Array, frozen: Array,
    burned: Array, g: Array,
) -> None:  # fmt: skip
    """See which cylinders are shut for the coming degree; note the charge of one that has just shut."""
    for c in range(firing.shape[0]):
        own = wrapped(angle - firing[c])
        opens = is_open(areas[0], own) or is_open(areas[1], own)
        s[c, N_V] = volume(own, clearance[c], geometry)
        if opens and shut[c] != 0.0:
            refresh_node(y[c], s[c], frozen, burned, g)  # the zones mix
            before[c, N_T], before[c, N_P] = s[c, N_T], s[c, N_P]
        elif not opens and shut[c] == 0.0:
            zone_reset(zone[c])
            zone[c, Z_TU] = s[c, N_T]
            if -220.0 < own < 0.0:
                reference[c, R_P], reference[c, R_T] = s[c, N_P], s[c, N_T]
                reference[c, R_V], reference[c, R_V_SPARK] = s[c, N_V], s[c, N_V]
                reference[c, R_P_SPARK] = s[c, N_P]
                for k in range(8):
                    trapped[c, k] = y[c, k]
                trapped[c, 8], trapped[c, 9], trapped[c, 10] = s[c, N_T], s[c, N_P], own
        shut[c] = 0.0 if opens else 1.0


@kernel
def note(
    degree: int, s: Array, y: Array, prim: Array, temperature: Array, zone: Array, flux: Array, port: Ints,
    last_face: Ints, shut: Array, n_vol: int, traces: Array, ports: Array,
) -> bool:  # fmt: skip
    """Write the traces of a degree; whether every state is physical."""
    sound = True
    for v in range(n_vol):
        sound = sound and s[v, N_P] > 0.0 and 100.0 < s[v, N_T] < 6000.0
        traces[0, v, degree], traces[1, v, degree] = s[v, N_P], s[v, N_T]
        traces[2, v, degree] = total_mass(y[v])
    for c in range(port.shape[0]):
        traces[3, c, degree] = zone[c, Z_TU] if shut[c] != 0.0 else s[c, N_T]
        traces[4, c, degree] = zone[c, Z_X]
        for side in range(2):
            cell = port[c, side]
            ports[c, side, PORT_P, degree] = prim[2, cell]
            ports[c, side, PORT_T, degree] = temperature[cell]
            flow = 0.0
            for k in range(7):
                flow += flux[k, last_face[c, side]]
            ports[c, side, PORT_FLOW, degree] = flow
    return sound


@kernel
def wave_cycle(
    q: Array, temperature: Array, prim: Array, flux: Array, edges: Array, work: Array, wall: Array,
    heat: Array, geo: Array, face_area: Array, first: Ints, last: Ints, active: Ints,
    thermo: Array, ends: Ints, end_data: Array, guess: Array, links: Ints, link_area: Array,
    link_reverse: Array, kept: Array, port: Ints, port_face: Ints, y: Array, s: Array, before: Array,
    momentum: Array, reference: Array, shut: Array, zone: Array, firing: Array, clearance: Array,
    n_vol: int, omega: float, geometry: Array, burn: Array, areas: Array, reverse: float, frozen: Array,
    burned: Array, g: Array, traces: Array, ports: Array, link_trace: Array, sums: Array,
    outside: Array, trapped: Array, room: Array, last_step: Array, closed_count: int,
) -> int:  # fmt: skip
    """Advance engine and pipes by one cycle of 720 deg from the firing top dead centre of cylinder 1.

    Arrays of the field as `gas.kernels.duct` describes them, of the network as `gas.mesh.Grid`, of
    the nodes as `gas.kernels.network.one_cycle`; all that holds state is changed.

    Parameters
    ----------
    before : ndarray, shape (nodes, 2)
        Temperature and pressure of the nodes a step ago.
    momentum : ndarray, shape (nodes, 2)
        Of the gas in junctions [kg m/s].
    ports : ndarray, shape (cylinders, 2, 3, 720)
        Filled with pressure, temperature and flow at the intake and exhaust ports.
    link_trace : ndarray, shape (links, 720)
        Filled with the flow through every orifice [kg/s].
    outside : ndarray, shape (3, 8)
        Filled with what the intake air, the open air and the crankcase received.
    room : ndarray, shape (3, nodes, 8)
        To work in.
    last_step : ndarray, shape (1,)
        Length of the last step [s]; changed.
    closed_count : int
        Steps in a degree of a cylinder whose valves are shut.

    Returns
    -------
    int
        Steps taken, or -1 when a state went wrong.
    """
    n_cyl, n_nodes = firing.shape[0], y.shape[0]
    rates, half, push = room[0], room[1], room[2]
    through = np.zeros(n_nodes)
    spare = np.empty(16)
    flow = np.zeros(max(links.shape[0], 1))
    piston_speed = 2.0 * geometry[C_CRANK] * omega / math.pi
    degree_time = (math.pi / 180.0) / omega
    total = 0
    for c in range(n_cyl):
        s[c, N_V] = volume(wrapped(-firing[c]), clearance[c], geometry)
        sums[c, 0], sums[c, 1] = 0.0, 0.0
    for node in range(n_nodes):
        if node >= n_vol:
            set_reservoir(y[node], s[node], frozen, burned, g)
        elif kept[node] >= 0.0 or (node < n_cyl and zone[node, Z_STATE] == LIT and shut[node] != 0.0):
            s[node, N_M] = total_mass(y[node])  # moving gas and two zones keep their own temperatures
        else:
            refresh_node(y[node], s[node], frozen, burned, g)
        if node >= n_vol:
            before[node, N_T], before[node, N_P] = s[node, N_T], s[node, N_P]
    for k in range(8):
        for r in range(3):
            outside[r, k] = 0.0
    for i in range(heat.shape[0]):
        heat[i] = 0.0
    refresh(q, temperature, prim, thermo, first, last)
    wall_losses(prim, temperature, geo, first, last, wall)

    for degree in range(720):
        angle = float(degree)
        begin_degree(
            angle, y, s, before, shut, reference, zone, trapped, firing, clearance, geometry, areas,
            frozen, burned, g,
        )  # fmt: skip
        sound = note(degree, s, y, prim, temperature, zone, flux, port, port_face, shut, n_vol, traces, ports)
        if not sound:
            return -1
        for e in range(links.shape[0]):
            link_trace[e, degree] = flow[e]
        for c in range(n_cyl):
            if shut[c] != 0.0:
                own = wrapped(angle - firing[c])
                s[c, N_T], s[c, N_P], done, given = closed_steps(
                    y[c], s[c, N_T], s[c, N_P], own, own + 1.0, closed_count, clearance[c], omega, geometry,
                    burn[c], reference[c], zone[c], frozen, burned, g, spare,
                )  # fmt: skip
                sums[c, 0] += done
                sums[c, 1] += given
        a = angle
        while a < angle + 1.0:
            if total > 0:
                refresh(q, temperature, prim, thermo, first, last)
            fastest = wave_speed(prim, geo[D_DX]) / COURANT
            if not fastest < 1e9:
                return -1
            fastest = max(fastest, links_response(links, link_area, s, n_vol) / STEP_SHARE)
            rest = angle + 1.0 - a
            wanted = math.ceil(rest * degree_time * fastest)
            b = angle + 1.0 if wanted <= 1 else a + rest / wanted
            dt = (b - a) * degree_time
            if total % LOSSES_EVERY == 0:
                wall_losses(prim, temperature, geo, first, last, wall)
            faces(q, prim, dt, geo, face_area, active, first, last, flux, edges, work)
            half_ahead(s, before, 0.5 * dt / last_step[0], half)
            last_step[0] = dt
            for node in range(n_nodes):
                through[node] = 0.0
                push[node, 0], push[node, 1] = 0.0, 0.0
                for k in range(8):
                    rates[node, k] = 0.0
            meet_ends(
                a + 0.5 * (b - a), first, last, edges, flux, ends, end_data, guess, y, s, half, momentum,
                shut, firing, areas, reverse, rates, push, through,
            )  # fmt: skip
            meet_links(links, link_area, link_reverse, y, s, half, rates, flow)
            advance(q, flux, prim, temperature, dt, geo, wall, active, heat)
            advance_nodes(
                a, b, dt, y, s, half, rates, momentum, push, through, kept, shut, firing, clearance,
                piston_speed, geometry, burn, reference, n_vol, frozen, burned, g, sums, spare,
            )  # fmt: skip
            for r in range(n_vol, n_nodes):
                for k in range(8):
                    outside[r - n_vol, k] += dt * rates[r, k]
            total += 1
            a = b
    for c in range(n_cyl):
        take_lost(zone[c], outside[2])
    refresh(q, temperature, prim, thermo, first, last)
    return total
