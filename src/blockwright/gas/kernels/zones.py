"""Burned and unburned gas of a shut cylinder at one pressure: their state, and how a step is solved."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .jit import AIR, FUEL, NITROUS, kernel
from .properties import mixture

Array = NDArray[np.float64]

#: State of the charge: not lit, two zones, one zone of burned gas.
UNLIT, LIT, HOT = 0.0, 1.0, 2.0

# Places in a cylinder's zone state.
(
    Z_STATE, Z_X, Z_TU, Z_TB, Z_KNOCK, Z_KNOCK_ANGLE, Z_KNOCK_SHARE,
    Z_MU, Z_RADIUS, Z_DENSITY, Z_INTENSITY, Z_SCALE, Z_SPEED, Z_ALPHA, Z_BETA,
    Z_ENERGY, Z_R, Z_VB, Z_LOSS_U, Z_LOSS_B, Z_WIDTH, Z_DP,
) = range(22)  # fmt: skip
#: Composition of the unburned gas by mass, 7 places and one to work in; what blew by, 8 places.
Z_W, Z_OUT = 22, 30
NZ = 38

#: Kinds of burn law.
WIEBE, PROFILE, FLAME = 0.0, 1.0, 2.0
# Places in the packed burn law behind those of `kernels.jit`.
B_KIND, B_LEAK, B_CRANKCASE, B_KNOCK_LN, B_KNOCK_N, B_KNOCK_T = range(4, 10)
#: Start of the profile (65 places) or of the flame's constants.
B_TABLE = 12
PROFILE_POINTS = 65
NB = 80

#: Share of the mass that must have burned before two zones are told apart, and below which one has vanished.
SMALLEST = 1e-7
#: Share that a burn law must burn at all, so that the burned zone can be told from rounding; less is motored.
LEAST_BURNED = 1e-3
#: A step counts as solved when temperatures and pressure move by less than this share.
SOLVED = 1e-7


@kernel
def zone_reset(zone: Array) -> None:
    """Make a charge unlit: nothing burned, knock integral empty; what leaked so far is kept."""
    for k in range(Z_OUT):
        zone[k] = 0.0
    zone[Z_KNOCK_ANGLE] = 999.0


@kernel
def zone_burned(zone: Array) -> None:
    """Make a charge burned gas in one zone, for a first guess that starts in the expansion."""
    zone_reset(zone)
    zone[Z_STATE], zone[Z_X] = HOT, 1.0


@kernel
def take_lost(zone: Array, row: Array) -> None:
    """Add what blew by since the last call (seven masses [kg], energy [J]) to `row`, and forget it."""
    for k in range(8):
        row[k] += zone[Z_OUT + k]
        zone[Z_OUT + k] = 0.0


@kernel
def solve_one(
    y: Array, energy: float, old_room: float, room: float, temperature: float, pressure: float,
    frozen: Array, burned: Array, g: Array,
) -> tuple[float, float]:  # fmt: skip
    """Temperature and pressure of one zone after a step, work by the trapezoid of both pressures.

    E(T, p) = `energy` - (p0 + p)/2 (V - V0), p V = m R T; `energy` has lost the wall heat already.
    """
    growth = room - old_room
    p = pressure * (1.0 - 1.3 * growth / room)
    t = temperature * (1.0 - 0.3 * growth / room)
    for _ in range(40):
        held, gas, capacity, by_pressure = mixture(y, t, math.log(p), frozen, burned, g)
        p = gas * t / room
        off = held - energy + 0.5 * (pressure + p) * growth
        step = -off / (capacity + by_pressure / t + 0.5 * gas / room * growth)
        step = min(max(step, -0.25 * t), 0.25 * t)
        t += step
        p = gas * t / room
        if abs(step) < SOLVED * t:
            break
    return t, p


@kernel
def solve_two(
    y: Array, ash: Array, zone: Array, unburned: float, taken: float, energy: float, old_room: float,
    room: float, pressure: float, frozen: Array, burned: Array, g: Array,
) -> tuple[float, float]:  # fmt: skip
    """Common pressure and mean temperature of two zones after a step; brings the zone state up to it.

    With pm = (p0 + p)/2 the three equations in p, T_u and T_b are

    * the unburned gas that is left, closed: u(T_u) + pm R_u T_u/p = u0 + pm v0 - q
    * all the gas: m_u u(T_u) + E_b(T_b, p) = `energy` - pm (V - V0)
    * room: m_u R_u T_u + m_b R_b T_b = p V

    so that what burned in the step joins the burned gas with the energy and volume it had.

    Parameters
    ----------
    y, ash : ndarray, shape (8,)
        Masses of all after the burning of the step; room for those of the burned zone [kg].
    unburned : float
        Mass of the unburned zone after the step [kg].
    taken : float
        Heat that a kilogram of unburned gas gave to the walls in the step [J/kg].
    energy : float
        Energy of all before the work of the step [J].
    old_room, room, pressure : float
        Volume before and after [m3], pressure before [Pa].
    """
    w = zone[Z_W : Z_W + 8]
    for k in range(7):
        ash[k] = max(y[k] - unburned * w[k], 0.0)
    ash[AIR], ash[FUEL], ash[NITROUS] = 0.0, 0.0, 0.0
    gas_u, volume_0 = zone[Z_R], zone[Z_R] * zone[Z_TU] / pressure
    base, growth = zone[Z_ENERGY] - taken, room - old_room
    p = pressure + min(max(zone[Z_DP], -0.2 * pressure), 0.2 * pressure)
    t_u = zone[Z_TU] * (1.0 + 0.27 * (p - pressure) / pressure)
    t_b = zone[Z_TB] * (1.0 + 0.2 * (p - pressure) / pressure)
    if zone[Z_TB] == 0.0:  # burned at the pressure of this moment
        t_b = min(zone[Z_TU] + 1900.0, 3400.0)
    gas_b = 0.0
    for _ in range(60):
        log_p = math.log(p)
        u, _, c_u, _ = mixture(w, t_u, log_p, frozen, burned, g)
        e_b, gas_b, c_b, by_p = mixture(ash, t_b, log_p, frozen, burned, g)
        mean = 0.5 * (pressure + p)
        f1 = u + mean * gas_u * t_u / p - base - mean * volume_0
        f1_t = c_u + gas_u * mean / p
        f1_p = -0.5 * gas_u * t_u * pressure / (p * p) - 0.5 * volume_0
        f2 = unburned * u + e_b - energy + mean * growth
        f2_p = 0.5 * growth + by_p / p
        f3 = unburned * gas_u * t_u + gas_b * t_b - p * room
        a_u, b_u = -f1 / f1_t, -f1_p / f1_t
        a_b = -(f2 + unburned * c_u * a_u) / c_b
        b_b = -(unburned * c_u * b_u + f2_p) / c_b
        d_p = (f3 + unburned * gas_u * a_u + gas_b * a_b) / (room - unburned * gas_u * b_u - gas_b * b_b)
        d_u, d_b = a_u + b_u * d_p, a_b + b_b * d_p
        worst = max(abs(d_p) / p, abs(d_u) / t_u, abs(d_b) / t_b)
        cut = 1.0 if worst <= 0.3 else 0.3 / worst
        p, t_u, t_b = p + cut * d_p, t_u + cut * d_u, t_b + cut * d_b
        if worst < SOLVED:
            break
    mean = 0.5 * (pressure + p)
    zone[Z_ENERGY] = base + mean * (volume_0 - gas_u * t_u / p)
    zone[Z_TU], zone[Z_TB], zone[Z_VB] = t_u, t_b, gas_b * t_b / p
    zone[Z_DP] = p - pressure
    return p, p * room / (unburned * gas_u + gas_b)
