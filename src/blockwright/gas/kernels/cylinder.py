"""One cylinder: its volume, burning, heat to the walls, and its closed part of the cycle."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .flame import expansion, flame_step, ignite
from .jit import (
    AIR,
    B_HEAT,
    B_LENGTH,
    B_SHARE,
    B_START,
    BURNED_AIR,
    BURNED_FUEL,
    BURNED_NITROUS,
    C_AREA,
    C_BORE,
    C_CRANK,
    C_HEAD_AREA,
    C_LINER_TOP,
    C_OFFSET,
    C_PISTON_AREA,
    C_ROD,
    C_T_HEAD,
    C_T_LINER,
    C_T_PISTON,
    C_TOP,
    C_WOSCHNI,
    ENERGY,
    FUEL,
    NITROUS,
    R_P,
    R_P_SPARK,
    R_T,
    R_V,
    R_V_SPARK,
    kernel,
)  # fmt: skip
from .properties import fill_energy, settle, total_mass
from .zones import (
    B_CRANKCASE,
    B_KIND,
    B_KNOCK_LN,
    B_KNOCK_N,
    B_KNOCK_T,
    B_LEAK,
    B_TABLE,
    FLAME,
    HOT,
    LEAST_BURNED,
    LIT,
    NB,
    NZ,
    PROFILE,
    PROFILE_POINTS,
    SMALLEST,
    UNLIT,
    Z_DP,
    Z_ENERGY,
    Z_KNOCK,
    Z_KNOCK_ANGLE,
    Z_KNOCK_SHARE,
    Z_LOSS_B,
    Z_LOSS_U,
    Z_OUT,
    Z_R,
    Z_STATE,
    Z_TB,
    Z_TU,
    Z_VB,
    Z_W,
    Z_WIDTH,
    Z_X,
    solve_one,
    solve_two,
    take_lost,
    zone_burned,
    zone_reset,
)  # fmt: skip

__all__ = [
    "NB", "NZ", "burn_step", "burned_share", "closed_cycles", "closed_steps", "take_lost", "travel",
    "volume", "wall_heat", "woschni", "wrapped", "zone_burned", "zone_reset",
]  # fmt: skip

Array = NDArray[np.float64]

#: Wiebe's form factor; the exponent m + 1 is 3 (Heywood 1988, eq. 9.31).
WIEBE_A = 5.0
#: Polytropic exponent of the motored pressure inside Woschni's formula.
MOTORED_N = 1.32
#: Choked flow function and critical pressure ratio of what blows by the rings (ratio of heats 1.3).
CHOKED, CRITICAL = 0.6673, 0.5457
#: Share of what burns after which there is no end gas left that could knock.
KNOCK_UNTIL = 0.98


@kernel
def travel(angle: float, geometry: Array) -> float:
    """Piston travel below its highest place [m] at a crank angle [rad] after top dead centre."""
    side = geometry[C_CRANK] * math.sin(angle) + geometry[C_OFFSET]
    height = geometry[C_CRANK] * math.cos(angle) + math.sqrt(geometry[C_ROD] ** 2 - side * side)
    return float(geometry[C_TOP] - height)


@kernel
def volume(angle_deg: float, clearance: float, geometry: Array) -> float:
    """Cylinder volume [m3] at a crank angle [deg] after top dead centre."""
    return clearance + float(geometry[C_AREA]) * travel(angle_deg * (math.pi / 180.0), geometry)


@kernel
def wrapped(angle: float) -> float:
    """An angle [deg] brought into -360..360 with 0 at the firing top dead centre."""
    a = angle % 720.0
    return a - 720.0 if a >= 360.0 else a


@kernel
def burned_share(angle: float, burn: Array) -> float:
    """Burned share [-] by Wiebe's law or a profile at an angle [deg], cut at the law's end."""
    z = (angle - burn[B_START]) / burn[B_LENGTH]
    if z <= 0.0:
        return 0.0
    if z >= 1.0:
        z = 1.0
    if burn[B_KIND] == PROFILE:
        # A cubic through the points, with central slopes.
        x = z * (PROFILE_POINTS - 1)
        i = min(int(x), PROFILE_POINTS - 2)
        f = x - i
        left, right = burn[B_TABLE + i], burn[B_TABLE + i + 1]
        step = right - left
        before = left - burn[B_TABLE + i - 1] if i > 0 else step
        after = burn[B_TABLE + i + 2] - right if i < PROFILE_POINTS - 2 else step
        low, high = 0.5 * (before + step), 0.5 * (step + after)
        return float(left + f * (low + f * (3.0 * step - 2.0 * low - high + f * (low + high - 2.0 * step))))
    return 1.0 - math.exp(-WIEBE_A * z * z * z)


@kernel
def burn_step(y: Array, angle: float, next_angle: float, burn: Array) -> None:
    """Turn fresh gas of an open cylinder into burned gas between two angles [deg]; energy stays as it is.

    The tail of Wiebe's law or of a profile; a flame ends where the exhaust opens.
    """
    if burn[B_KIND] == FLAME:
        return
    if next_angle <= burn[B_START] or angle >= burn[B_START] + burn[B_LENGTH]:
        return
    before = burn[B_SHARE] * burned_share(angle, burn)
    after = burn[B_SHARE] * burned_share(next_angle, burn)
    if after <= before:
        return
    turn(y, min((after - before) / (1.0 - before), 1.0))


@kernel
def turn(y: Array, share: float) -> None:
    """Turn a share of the fresh gas into burned gas."""
    for fresh, ash in ((AIR, BURNED_AIR), (FUEL, BURNED_FUEL), (NITROUS, BURNED_NITROUS)):
        moved = share * y[fresh]
        y[fresh] -= moved
        y[ash] += moved


@kernel
def woschni(factor: float, pressure: float, temperature: float, speed: float) -> float:
    """Heat transfer coefficient [W/(m2 K)] after Woschni, Heywood's unit set.

    h = 3.26 B^-0.2 p^0.8 T^-0.55 w^0.8 with p in kPa (Heywood 1988, eq. 12.19); `factor` is
    3.26 B^-0.2, the other arguments are in SI.
    """
    return factor * math.exp(0.8 * math.log(pressure * 1e-3 * speed) - 0.55 * math.log(temperature))


@kernel
def wall_terms(
    angle: float, room: float, clearance: float, pressure: float, temperature: float, closed: int,
    piston_speed: float, geometry: Array, burn: Array, reference: Array,
) -> tuple[float, float]:  # fmt: skip
    """Conductance to the walls [W/K] and conductance times wall temperature [W]: heat = C T - D."""
    if burn[B_HEAT] <= 0.0:
        return 0.0, 0.0
    speed = (2.28 if closed == 1 else 6.18) * piston_speed
    if closed == 1 and burn[B_START] < angle < 180.0 and reference[R_P] > 0.0:
        motored = reference[R_P_SPARK] * (reference[R_V_SPARK] / room) ** MOTORED_N
        if pressure > motored:
            swept = geometry[C_AREA] * 2.0 * geometry[C_CRANK]
            scale = swept * reference[R_T] / (reference[R_P] * reference[R_V])
            speed += 3.24e-3 * scale * (pressure - motored)
    h = burn[B_HEAT] * woschni(geometry[C_WOSCHNI], pressure, temperature, speed)
    bare = geometry[C_LINER_TOP] + (room - clearance) / geometry[C_AREA]
    head, piston = h * geometry[C_HEAD_AREA], h * geometry[C_PISTON_AREA]
    liner = h * math.pi * geometry[C_BORE] * bare
    return (
        head + piston + liner,
        head * geometry[C_T_HEAD] + piston * geometry[C_T_PISTON] + liner * geometry[C_T_LINER],
    )


@kernel
def wall_heat(
    angle: float, room: float, clearance: float, pressure: float, temperature: float, closed: int,
    piston_speed: float, geometry: Array, burn: Array, reference: Array,
) -> float:  # fmt: skip
    """Heat flow from the gas to the walls [W] at an angle in -360..360 deg; `closed` is 1 or 0."""
    conductance, cold = wall_terms(
        angle, room, clearance, pressure, temperature, closed, piston_speed, geometry, burn, reference
    )
    return conductance * temperature - cold


@kernel
def closed_steps(
    y: Array, temperature: float, pressure: float, angle: float, next_angle: float, steps: int,
    clearance: float, omega: float, geometry: Array, burn: Array, reference: Array, zone: Array,
    frozen: Array, burned: Array, g: Array, scratch: Array,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Advance a cylinder with closed valves between two angles [deg in -360..360].

    Changes `y`, `zone` and `reference`; `scratch` is room for 8 figures.  Work is the trapezoid of the
    pressures at both ends of each step, solved together with them, so that the energy is conserved
    to rounding; wall heat and flame go on from their rates at the start of the step.  One long body:
    every further function would be compiled once more for each of its callers.

    Returns
    -------
    mean temperature p V/(m R) [K], pressure [Pa], work done by the gas [J], heat given to the walls [J]
    """
    piston_speed = 2.0 * geometry[C_CRANK] * omega / math.pi
    width = (next_angle - angle) / steps
    dt = width * (math.pi / 180.0) / omega
    work, heat = 0.0, 0.0
    room = volume(angle, clearance, geometry)
    for s in range(steps):
        a = angle + s * width
        b = a + width
        next_room = volume(b, clearance, geometry)
        at_start = a <= burn[B_START] < b
        if at_start:
            reference[R_P_SPARK], reference[R_V_SPARK] = pressure, room

        # Heat: each zone touches the walls in proportion to its volume.  Woschni's formula was fitted to
        # the mean temperature, so the sum is what that gives: both are scaled down by the same factor.
        conductance, cold = wall_terms(
            a, room, clearance, pressure, temperature, 1, piston_speed, geometry, burn, reference
        )
        loss_u, loss_b = conductance * temperature - cold, 0.0
        if zone[Z_STATE] == HOT:
            loss_u, loss_b = 0.0, loss_u
        elif zone[Z_STATE] == LIT:
            mean_loss, touched = loss_u, zone[Z_VB] / room
            loss_u = (1.0 - touched) * (conductance * zone[Z_TU] - cold)
            loss_b = touched * (conductance * zone[Z_TB] - cold)
            both = loss_u + loss_b
            if both > 0.0:
                scale = min(max(mean_loss / both, 0.0), 1.0)
                loss_u *= scale
                loss_b *= scale
        ratio = min(width / zone[Z_WIDTH], 2.0) if zone[Z_WIDTH] > 0.0 else 0.0
        out_u = (loss_u + 0.5 * ratio * (loss_u - zone[Z_LOSS_U])) * dt
        out_b = (loss_b + 0.5 * ratio * (loss_b - zone[Z_LOSS_B])) * dt
        zone[Z_LOSS_U], zone[Z_LOSS_B], zone[Z_WIDTH] = loss_u, loss_b, width

        # Blow-by: an orifice that passes both zones' gas in proportion to their masses.
        mass, leaked = total_mass(y), 0.0
        gas_constant = pressure * room / (mass * temperature)
        if burn[B_LEAK] > 0.0 and pressure > burn[B_CRANKCASE]:
            flow = CHOKED * burn[B_LEAK] * pressure / math.sqrt(gas_constant * temperature)
            open_share = (burn[B_CRANKCASE] / pressure - CRITICAL) / (1.0 - CRITICAL)
            if open_share > 0.0:  # not choked: an ellipse to no flow at equal pressures
                flow *= math.sqrt(1.0 - open_share * open_share)
            leaked = min(flow * dt / mass, 0.1)
            for k in range(7):
                zone[Z_OUT + k] += leaked * y[k]
                y[k] -= leaked * y[k]
            mass *= 1.0 - leaked

        # Burning.
        before, lights = zone[Z_X], False
        share = before
        if burn[B_KIND] != FLAME and b > burn[B_START] and a < burn[B_START] + burn[B_LENGTH]:
            share = min(max(burn[B_SHARE] * burned_share(b, burn), before), 1.0)
        if zone[Z_STATE] == UNLIT and burn[B_SHARE] >= LEAST_BURNED:
            lights = at_start if burn[B_KIND] == FLAME else share > SMALLEST
            if lights:
                for k in range(7):
                    zone[Z_W + k] = y[k] / mass
                lights = zone[Z_W + AIR] + zone[Z_W + FUEL] + zone[Z_W + NITROUS] > 1e-6
                zone[Z_STATE] = LIT if lights else HOT
                zone[Z_TU], zone[Z_TB], zone[Z_VB], zone[Z_R] = temperature, 0.0, 0.0, gas_constant
                zone[Z_ENERGY] = (1.0 - leaked) * y[ENERGY] / mass
        if zone[Z_STATE] == LIT:
            if burn[B_KIND] == FLAME:
                part, ahead = dt, 0.5
                if lights:
                    place = (burn[B_START] - a) / width
                    part, ahead = dt * (1.0 - place), 0.5 * (1.0 + place)
                    at_spark = volume(burn[B_START], clearance, geometry)
                    growth = expansion(zone, scratch, pressure, frozen, burned, g)
                    zone[Z_X] = ignite(zone, burn, at_spark, mass, piston_speed, growth, geometry, g)
                middle = room + ahead * (next_room - room)
                share = zone[Z_X] + flame_step(zone, burn, pressure, middle, mass, part, ahead, geometry)
            zone[Z_X] = share
            if share > before:
                turn(y, (share - before) / (1.0 - before))

        # What leaks takes its energy along and is pushed out at the mean pressure of the step.
        held = (1.0 - leaked) * y[ENERGY] - out_u - out_b
        old_room = (1.0 - leaked) * room
        unburned, old_u = (1.0 - zone[Z_X]) * mass, zone[Z_TU]
        if zone[Z_STATE] == LIT and unburned < SMALLEST * mass:
            zone[Z_STATE], zone[Z_WIDTH] = HOT, 0.0
        if zone[Z_STATE] == LIT:
            taken = out_u / ((1.0 - before) * mass)
            next_p, next_t = solve_two(
                y, scratch, zone, unburned, taken, held, old_room, next_room, pressure, frozen, burned, g
            )
        else:
            next_t, next_p = solve_one(y, held, old_room, next_room, temperature, pressure, frozen, burned, g)
            zone[Z_DP] = next_p - pressure
            if zone[Z_STATE] == UNLIT:
                zone[Z_TU] = next_t
        mean = 0.5 * (pressure + next_p)

        # Knock: share of the ignition delay exp(LN) p^-N exp(T_a/T) that the end gas lives through.
        if burn[B_KNOCK_N] > 0.0 and zone[Z_STATE] != HOT and zone[Z_X] < KNOCK_UNTIL * burn[B_SHARE]:
            mean_u = 0.5 * (old_u + zone[Z_TU])
            lived = dt * math.exp(
                burn[B_KNOCK_N] * math.log(mean) - burn[B_KNOCK_LN] - burn[B_KNOCK_T] / mean_u
            )
            if zone[Z_KNOCK] < 1.0 <= zone[Z_KNOCK] + lived:
                zone[Z_KNOCK_ANGLE] = a + width * (1.0 - zone[Z_KNOCK]) / lived
                zone[Z_KNOCK_SHARE] = zone[Z_X]
            zone[Z_KNOCK] += lived

        done = mean * (next_room - room)
        pushed = leaked * (y[ENERGY] + mean * room)
        zone[Z_OUT + ENERGY] += pushed
        y[ENERGY] -= done + out_u + out_b + pushed
        work += done
        heat += out_u + out_b
        temperature, pressure, room = next_t, next_p, next_room
    return temperature, pressure, work, heat


@kernel
def closed_cycles(
    masses: Array, temperature: Array, pressure_guess: Array, start: float, end: int, steps: int,
    clearance: Array, omega: Array, geometry: Array, burn: Array, frozen: Array, burned: Array, g: Array,
    traces: Array, sums: Array, zones: Array,
) -> None:  # fmt: skip
    """Closed parts of many cycles, one after another.

    Fills `traces`, shape (4, B, 720): pressure, mean temperature, temperature of the unburned gas and burned
    share of the mass, at whole degrees after firing top dead centre between `start` (deg, negative) and
    `end`; `sums`, shape (B, 2): work and heat [J]; `zones`, shape (B, NZ): the zone state at the end.
    """
    y = np.empty(8)
    scratch = np.empty(16)
    reference = np.empty(5)
    first = math.ceil(start)
    for b in range(masses.shape[0]):
        for k in range(7):
            y[k] = masses[b, k]
        zone = zones[b]
        zone_reset(zone)
        room = volume(start, clearance[b], geometry)
        t, p = temperature[b], pressure_guess[b]
        for _ in range(3):  # the energy of burned gas depends a little on the pressure
            y[ENERGY] = fill_energy(y, t, p, frozen, burned, g)
            t, p, _, _ = settle(y, room, t, p, frozen, burned, g)
            t = temperature[b]
        zone[Z_TU] = t
        reference[R_P], reference[R_T], reference[R_V] = p, t, room
        reference[R_P_SPARK], reference[R_V_SPARK] = p, room
        sums[b, 0], sums[b, 1] = 0.0, 0.0
        for a in range(first - 1, end):
            if a >= first:
                here, count = float(a), steps
            else:
                here, count = start, 1
            if here < a + 1.0:
                t, p, done, given = closed_steps(
                    y, t, p, here, a + 1.0, count, clearance[b], omega[b], geometry, burn[b], reference, zone,
                    frozen, burned, g, scratch,
                )  # fmt: skip
                sums[b, 0] += done
                sums[b, 1] += given
            at = (a + 1) % 720
            traces[0, b, at], traces[1, b, at] = p, t
            traces[2, b, at], traces[3, b, at] = zone[Z_TU], zone[Z_X]
