"""Energy, gas constant and temperature of the working gas from its tables."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .jit import (
    AIR,
    BURNED_AIR,
    BURNED_FUEL,
    BURNED_NITROUS,
    ENERGY,
    FUEL,
    G_AFR,
    G_AIR_OF_NITROUS,
    G_DP,
    G_DPHI,
    G_DT,
    G_FREEZE,
    G_NP,
    G_NPHI,
    G_NT,
    G_P0,
    G_PHI0,
    G_R_AIR,
    G_R_FUEL,
    G_R_NITROGEN,
    G_R_NITROUS,
    G_R_VAPOUR,
    G_T0,
    NITROUS,
    VAPOUR,
    kernel,
)  # fmt: skip

Array = NDArray[np.float64]

#: A temperature counts as found when it moves by less than this share: the next step would be a
#: hundredth or less of that.
SETTLED = 5e-5


@kernel
def mixture(
    y: Array, temperature: float, log_pressure: float, frozen: Array, burned: Array, g: Array
) -> tuple[float, float, float, float]:
    """Energy [J], gas constant times mass [J/K], heat capacity [J/K], dE/d(ln p) [J] of the masses in `y`.

    Linear between nodes of the tables: in the temperature, and for burned gas in log p and the
    share of fuel.  Burned nitrous counts as the air that carries as much
    oxygen, less the nitrogen that such air would have had too much.
    """
    x = (temperature - g[G_T0]) * g[G_DT]
    i = int(x)
    last = int(g[G_NT]) - 2
    i = 0 if x < 0.0 else (last if i > last else i)
    f = x - i
    burned_air = y[BURNED_AIR] + g[G_AIR_OF_NITROUS] * y[BURNED_NITROUS]
    nitrogen = (1.0 - g[G_AIR_OF_NITROUS]) * y[BURNED_NITROUS]
    low = (
        y[AIR] * frozen[i, 0] + y[FUEL] * frozen[i, 1] + y[NITROUS] * frozen[i, 2]
        + y[VAPOUR] * frozen[i, 3] + nitrogen * frozen[i, 4]
    )  # fmt: skip
    high = (
        y[AIR] * frozen[i + 1, 0] + y[FUEL] * frozen[i + 1, 1] + y[NITROUS] * frozen[i + 1, 2]
        + y[VAPOUR] * frozen[i + 1, 3] + nitrogen * frozen[i + 1, 4]
    )  # fmt: skip
    gas_constant = (
        y[AIR] * g[G_R_AIR] + y[FUEL] * g[G_R_FUEL] + y[NITROUS] * g[G_R_NITROUS]
        + y[VAPOUR] * g[G_R_VAPOUR] + nitrogen * g[G_R_NITROGEN]
    )  # fmt: skip
    mass = burned_air + y[BURNED_FUEL]
    by_pressure = 0.0
    if burned_air > 0.0:
        a = (y[BURNED_FUEL] * g[G_AFR] / burned_air - g[G_PHI0]) * g[G_DPHI]
        a = min(max(a, 0.0), g[G_NPHI] - 1.000001)
        j = int(a)
        a -= j
        # Energy is linear in the share of fuel, not in the equivalence ratio.
        at = g[G_PHI0] + (j + a) / g[G_DPHI]
        a *= (g[G_AFR] + g[G_PHI0] + (j + 1) / g[G_DPHI]) / (g[G_AFR] + at)
        if temperature < g[G_FREEZE]:  # composition frozen: no influence of the pressure, one gas constant
            w0, w1 = (1.0 - a) * mass, a * mass
            low += w0 * burned[j, 0, i, 0] + w1 * burned[j + 1, 0, i, 0]
            high += w0 * burned[j, 0, i + 1, 0] + w1 * burned[j + 1, 0, i + 1, 0]
            gas_constant += w0 * burned[j, 0, i, 1] + w1 * burned[j + 1, 0, i, 1]
            slope = high - low
            return low + f * slope, gas_constant, slope * g[G_DT], 0.0
        b = (log_pressure - g[G_P0]) * g[G_DP]
        b = min(max(b, 0.0), g[G_NP] - 1.000001)
        k = int(b)
        b -= k
        w00, w01 = (1.0 - a) * (1.0 - b) * mass, (1.0 - a) * b * mass
        w10, w11 = a * (1.0 - b) * mass, a * b * mass
        low += (
            w00 * burned[j, k, i, 0] + w01 * burned[j, k + 1, i, 0]
            + w10 * burned[j + 1, k, i, 0] + w11 * burned[j + 1, k + 1, i, 0]
        )  # fmt: skip
        high += (
            w00 * burned[j, k, i + 1, 0] + w01 * burned[j, k + 1, i + 1, 0]
            + w10 * burned[j + 1, k, i + 1, 0] + w11 * burned[j + 1, k + 1, i + 1, 0]
        )  # fmt: skip
        by_pressure = g[G_DP] * (
            (1.0 - a) * mass * (burned[j, k + 1, i, 0] - burned[j, k, i, 0])
            + a * mass * (burned[j + 1, k + 1, i, 0] - burned[j + 1, k, i, 0])
        )
        r_low = (
            w00 * burned[j, k, i, 1] + w01 * burned[j, k + 1, i, 1]
            + w10 * burned[j + 1, k, i, 1] + w11 * burned[j + 1, k + 1, i, 1]
        )  # fmt: skip
        r_high = (
            w00 * burned[j, k, i + 1, 1] + w01 * burned[j, k + 1, i + 1, 1]
            + w10 * burned[j + 1, k, i + 1, 1] + w11 * burned[j + 1, k + 1, i + 1, 1]
        )  # fmt: skip
        gas_constant += r_low + f * (r_high - r_low)
    slope = high - low
    return low + f * slope, gas_constant, slope * g[G_DT], by_pressure


@kernel
def total_mass(y: Array) -> float:
    """Mass in a state [kg]."""
    return float(y[0] + y[1] + y[2] + y[3] + y[4] + y[5] + y[6])


@kernel
def settle(
    y: Array, volume: float, temperature: float, pressure: float, frozen: Array, burned: Array, g: Array
) -> tuple[float, float, float, float]:
    """Temperature [K], pressure [Pa], gas constant [J/(kg K)] and ratio of heats of a state in a volume.

    Newton's method on the energy, the pressure following from the gas law at each step;
    `temperature` and `pressure` are where it starts.
    """
    log_pressure = math.log(pressure)
    gas_constant, capacity = 1.0, 1.0
    for _ in range(60):
        energy, gas_constant, capacity, by_pressure = mixture(y, temperature, log_pressure, frozen, burned, g)
        # At constant volume the pressure follows the temperature.
        step = (y[ENERGY] - energy) / (capacity + by_pressure / temperature)
        if step > 0.25 * temperature:
            step = 0.25 * temperature
        elif step < -0.25 * temperature:
            step = -0.25 * temperature
        before = temperature
        temperature += step
        if before < g[G_FREEZE] and temperature < g[G_FREEZE]:
            # No influence of the pressure: a step that stays between two nodes is exact.
            if int((before - g[G_T0]) * g[G_DT]) == int((temperature - g[G_T0]) * g[G_DT]):
                break
        else:
            log_pressure = math.log(gas_constant * temperature / volume)
        if abs(step) < SETTLED * temperature:
            break
    pressure = gas_constant * temperature / volume
    mass = total_mass(y)
    return temperature, pressure, gas_constant / mass, 1.0 + gas_constant / capacity


@kernel
def fill_energy(
    y: Array, temperature: float, pressure: float, frozen: Array, burned: Array, g: Array
) -> float:
    """Absolute internal energy [J] of the masses in `y` at a temperature and pressure."""
    energy, _, _, _ = mixture(y, temperature, math.log(pressure), frozen, burned, g)
    return energy
