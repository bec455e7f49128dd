"""Energy of the duct gas as a smooth function of the temperature, fitted to the tables of the working gas.

The tables want a search per cell; in the ducts the same energies are written with five coefficients for
each species, which vector code can evaluate:

    e(t) = c0 + c1 t + c2 t^3 + c3 t^3 / (t^2 + s3) + c4 t^3 / (t^2 + s4),    t = T / 1000 K

The last two terms have the shape of a heat capacity that wakes up (vibrations), so that the sum stays
convex outside the range it was fitted in.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .fuels import WorkingGas

Array = NDArray[np.float64]

#: Temperatures [K] between which the fit is made.
COLDEST, HOTTEST = 200.0, 1900.0
#: Pressure [Pa] at which burned gas above the freezing temperature is taken from the table.
AT_PRESSURE = 3e5


def energy_terms(temperature: Array) -> Array:
    """The five terms at temperatures [K], shape (n, 5)."""
    from .kernels.duct_rows import HIGH_SQUARE, LOW_SQUARE

    t = np.asarray(temperature, dtype=float) / 1000.0
    cube = t**3
    return np.stack(
        [np.ones_like(t), t, cube, cube / (t * t + LOW_SQUARE), cube / (t * t + HIGH_SQUARE)], axis=-1
    )


def heat_terms(temperature: Array) -> Array:
    """Their derivatives by the temperature [1/K], shape (n, 5)."""
    from .kernels.duct_rows import HIGH_SQUARE, LOW_SQUARE

    t = np.asarray(temperature, dtype=float) / 1000.0
    s = t * t
    vibration = [s * (s + 3.0 * by) / (s + by) ** 2 for by in (LOW_SQUARE, HIGH_SQUARE)]
    return np.stack([np.zeros_like(t), np.ones_like(t), 3.0 * s, *vibration], axis=-1) / 1000.0


def _fit(temperature: Array, energy: Array) -> Array:
    """Coefficients that keep the error in kelvin small, twice as tight below 500 K."""
    inside = (temperature >= COLDEST) & (temperature <= HOTTEST)
    t, e = temperature[inside], energy[inside]
    weight = np.where(t < 500.0, 2.0, 1.0) / np.gradient(e, t)
    found, *_ = np.linalg.lstsq(energy_terms(t) * weight[:, None], e * weight, rcond=None)
    return np.asarray(found)


def duct_thermo(gas: WorkingGas, fuel_per_burned_air: float) -> Array:
    """Coefficients of the seven species, shape (7, 6): c0..c4 [J/kg] and the gas constant [J/(kg K)].

    Parameters
    ----------
    gas : WorkingGas
        Tables of the fuel.
    fuel_per_burned_air : float
        Mass of burned fuel to mass of burned air (nitrous counted as the air that carries as much oxygen)
        of the point [-]; burned gas is linear in its two masses inside the table's interval around it.

    Notes
    -----
    Range 220 to 1900 K.  Burned gas is taken at 3 bar; it is frozen below the table's freezing
    temperature.  Errors: `tests/gas/test_duct_gas.py`.
    """
    from .kernels.duct_rows import COEFFICIENTS, H_R, SPECIES
    from .kernels.jit import (
        AIR,
        BURNED_AIR,
        BURNED_FUEL,
        BURNED_NITROUS,
        FUEL,
        G_AIR_OF_NITROUS,
        G_R_AIR,
        G_R_FUEL,
        G_R_NITROGEN,
        G_R_NITROUS,
        G_R_VAPOUR,
        NITROUS,
        VAPOUR,
    )

    constants = gas.constants
    found = np.zeros((SPECIES, COEFFICIENTS))
    for k, column, place in ((AIR, 0, G_R_AIR), (FUEL, 1, G_R_FUEL), (NITROUS, 2, G_R_NITROUS),
                             (VAPOUR, 3, G_R_VAPOUR)):  # fmt: skip
        found[k, :H_R] = _fit(gas.temperature, gas.frozen[:, column])
        found[k, H_R] = constants[place]
    nitrogen = np.append(_fit(gas.temperature, gas.frozen[:, 4]), constants[G_R_NITROGEN])

    phi = fuel_per_burned_air * gas.air_fuel_ratio
    j = int(np.clip(np.searchsorted(gas.phi, phi, side="right") - 1, 0, gas.phi.size - 2))
    b = float(np.interp(np.log(AT_PRESSURE), gas.log_pressure, np.arange(gas.log_pressure.size)))
    i = min(int(b), gas.log_pressure.size - 2)
    table = (1.0 - (b - i)) * gas.burned[:, i] + (b - i) * gas.burned[:, i + 1]
    pair = []
    for at in (j, j + 1):
        energy = _fit(gas.temperature, table[at, :, 0])
        pair.append(np.append(energy, gas.burned[at, 0, 0, 1]))
    share = gas.phi[j : j + 2] / (gas.air_fuel_ratio + gas.phi[j : j + 2])
    of_fuel = (pair[1] - pair[0]) / (share[1] - share[0])
    found[BURNED_AIR] = pair[0] - share[0] * of_fuel
    found[BURNED_FUEL] = found[BURNED_AIR] + of_fuel
    as_air = constants[G_AIR_OF_NITROUS]
    found[BURNED_NITROUS] = as_air * found[BURNED_AIR] + (1.0 - as_air) * nitrogen
    return found
