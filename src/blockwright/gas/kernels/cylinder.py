"""One cylinder: its volume, burning, heat to the walls, and its closed part of the cycle."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

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
from .properties import fill_energy, settle

Array = NDArray[np.float64]

#: Wiebe's form factor; the exponent m + 1 is 3 (Heywood 1988, eq. 9.31).
WIEBE_A = 5.0
#: Polytropic exponent of the motored pressure inside Woschni's formula.
MOTORED_N = 1.32


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
    """Wiebe's burned share [-] at an angle [deg] after firing top dead centre, cut at the burn's end."""
    z = (angle - burn[B_START]) / burn[B_LENGTH]
    if z <= 0.0:
        return 0.0
    if z >= 1.0:
        z = 1.0
    return 1.0 - math.exp(-WIEBE_A * z * z * z)


@kernel
def burn_step(y: Array, angle: float, next_angle: float, burn: Array) -> None:
    """Turn fresh gas into burned gas between two angles [deg]; the energy stays as it is."""
    if next_angle <= burn[B_START] or angle >= burn[B_START] + burn[B_LENGTH]:
        return
    before = burn[B_SHARE] * burned_share(angle, burn)
    after = burn[B_SHARE] * burned_share(next_angle, burn)
    if after <= before:
        return
    share = (after - before) / (1.0 - before)
    if share > 1.0:
        share = 1.0
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
def wall_heat(
    angle: float, room: float, clearance: float, pressure: float, temperature: float, closed: int,
    piston_speed: float, geometry: Array, burn: Array, reference: Array,
) -> float:  # fmt: skip
    """Heat flow from the gas to the walls [W] at an angle in -360..360 deg; `closed` is 1 or 0."""
    if burn[B_HEAT] <= 0.0:
        return 0.0
    speed = (2.28 if closed == 1 else 6.18) * piston_speed
    if closed == 1 and burn[B_START] < angle < 180.0 and reference[R_P] > 0.0:
        motored = reference[R_P_SPARK] * (reference[R_V_SPARK] / room) ** MOTORED_N
        if pressure > motored:
            swept = geometry[C_AREA] * 2.0 * geometry[C_CRANK]
            scale = swept * reference[R_T] / (reference[R_P] * reference[R_V])
            speed += 3.24e-3 * scale * (pressure - motored)
    h = burn[B_HEAT] * woschni(geometry[C_WOSCHNI], pressure, temperature, speed)
    bare = geometry[C_LINER_TOP] + (room - clearance) / geometry[C_AREA]
    liner = math.pi * geometry[C_BORE] * bare
    return float(
        h
        * (
            geometry[C_HEAD_AREA] * (temperature - geometry[C_T_HEAD])
            + geometry[C_PISTON_AREA] * (temperature - geometry[C_T_PISTON])
            + liner * (temperature - geometry[C_T_LINER])
        )
    )


@kernel
def closed_steps(
    y: Array, temperature: float, pressure: float, angle: float, next_angle: float, steps: int,
    clearance: float, omega: float, geometry: Array, burn: Array, reference: Array,
    frozen: Array, burned: Array, g: Array, scratch: Array,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Advance a cylinder with closed valves between two angles [deg in -360..360]; changes `y`.

    Heun's method; work by the trapezoid of the pressures at both ends of each step.

    Returns
    -------
    temperature [K], pressure [Pa], work done by the gas [J], heat given to the walls [J]
    """
    piston_speed = 2.0 * geometry[C_CRANK] * omega / math.pi
    width = (next_angle - angle) / steps
    dt = width * (math.pi / 180.0) / omega
    work, heat = 0.0, 0.0
    room = volume(angle, clearance, geometry)
    for s in range(steps):
        a = angle + s * width
        b = a + width
        if a <= burn[B_START] < b:
            reference[R_P_SPARK] = pressure
            reference[R_V_SPARK] = room
        lost = wall_heat(
            a, room, clearance, pressure, temperature, 1, piston_speed, geometry, burn, reference
        )
        next_room = volume(b, clearance, geometry)
        growth = next_room - room
        for k in range(7):
            scratch[k] = y[k]
        burn_step(scratch, a, b, burn)
        scratch[ENERGY] = y[ENERGY] - pressure * growth - lost * dt
        t_next, p_next, _, _ = settle(scratch, next_room, temperature, pressure, frozen, burned, g)
        lost_next = wall_heat(
            b, next_room, clearance, p_next, t_next, 1, piston_speed, geometry, burn, reference
        )
        done = 0.5 * (pressure + p_next) * growth
        given = 0.5 * (lost + lost_next) * dt
        burn_step(y, a, b, burn)
        y[ENERGY] -= done + given
        work += done
        heat += given
        temperature, pressure, _, _ = settle(y, next_room, t_next, p_next, frozen, burned, g)
        room = next_room
    return temperature, pressure, work, heat


@kernel
def closed_cycles(
    masses: Array, temperature: Array, pressure_guess: Array, start: float, end: int, steps: int,
    clearance: Array, omega: Array, geometry: Array, burn: Array, frozen: Array, burned: Array, g: Array,
    pressure: Array, hot: Array, sums: Array,
) -> None:  # fmt: skip
    """Closed parts of many cycles, one after another.

    Fills `pressure` and `hot` (temperature), shape (B, 720), at whole degrees after firing top dead
    centre between `start` (deg, negative) and `end`, and `sums`, shape (B, 2): work and heat [J].
    """
    y = np.empty(8)
    scratch = np.empty(8)
    reference = np.empty(5)
    first = math.ceil(start)
    for b in range(masses.shape[0]):
        for k in range(7):
            y[k] = masses[b, k]
        room = volume(start, clearance[b], geometry)
        t, p = temperature[b], pressure_guess[b]
        for _ in range(3):  # the energy of burned gas depends a little on the pressure
            y[ENERGY] = fill_energy(y, t, p, frozen, burned, g)
            t, p, _, _ = settle(y, room, t, p, frozen, burned, g)
            t = temperature[b]
        reference[R_P], reference[R_T], reference[R_V] = p, t, room
        reference[R_P_SPARK], reference[R_V_SPARK] = p, room
        work, heat = 0.0, 0.0
        if first > start:
            t, p, done, given = closed_steps(
                y, t, p, start, float(first), 1, clearance[b], omega[b], geometry, burn[b], reference,
                frozen, burned, g, scratch,
            )  # fmt: skip
            work += done
            heat += given
        pressure[b, first % 720] = p
        hot[b, first % 720] = t
        for a in range(first, end):
            t, p, done, given = closed_steps(
                y, t, p, float(a), float(a + 1), steps, clearance[b], omega[b], geometry, burn[b],
                reference, frozen, burned, g, scratch,
            )  # fmt: skip
            pressure[b, (a + 1) % 720] = p
            hot[b, (a + 1) % 720] = t
            work += done
            heat += given
        sums[b, 0], sums[b, 1] = work, heat
