"""Nitromethane as an ideal gas: heat capacity from its vibrations, enthalpy of formation from tables.

``nasa_gas.yaml`` holds no nitromethane.  Its heat capacity follows from statistical mechanics: translation
and rotation (4 R), the turning of the methyl group, which its six-fold barrier of some 25 J/mol does not
hold (R/2), and fourteen harmonic vibrations.

Notes
-----
* Wavenumbers: NIST/Shimanouchi, from memory.  Against the tables of the ``chemicals`` package (TRC; Poling):
  0.2 % at 298, 500, 1000 and 1500 K (run once, see ``docs/models/fuels.md``).
* Enthalpy of formation of the gas: -74.7 kJ/mol (NIST, from memory), doubtful by some 3 kJ/mol.  The
  package's tables hold -60.8, -74.7, -80.8 and -81.0; the liquid's -112.6 there, and the heat of
  evaporation of 38.3 kJ/mol, give -74.3.
* The absolute entropy is arbitrary: nothing here brings the fuel itself into equilibrium.
"""

from __future__ import annotations

import cantera as ct
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NAME = "CH3NO2"
MOLAR_MASS = 61.040  # g/mol
#: Enthalpy of formation of the gas at 298.15 K [J/mol] and what it may be off by.
FORMATION, FORMATION_SPREAD = -74.7e3, 3e3
#: Of the liquid, by the heat of evaporation of 38.3 kJ/mol.
EVAPORATION = 38.3e3

R = 8.314462618  # J/(mol K)
_CM = 1.438777  # h c / k [cm K]
#: Wavenumbers of the vibrations but the torsion [1/cm].
WAVENUMBERS = (3080, 3048, 2974, 1583, 1449, 1434, 1402, 1380, 1131, 1096, 918, 657, 603, 475)


def heat_capacity(temperature: Array | float) -> Array:
    """Molar heat capacity at constant pressure [J/(mol K)] at temperatures [K]."""
    x = _CM * np.array(WAVENUMBERS) / np.asarray(temperature, dtype=float)[..., None]
    vibrations = (x**2 * np.exp(-x) / np.expm1(-x) ** 2).sum(axis=-1)
    return np.asarray(R * (4.5 + vibrations), dtype=np.float64)


def _polynomial(low: float, high: float) -> list[float]:
    """Five coefficients of cp/R by least squares of the relative error, from low to high [K]."""
    t = np.linspace(low, high, 200)
    cp = heat_capacity(t) / R
    powers = t[:, None] ** np.arange(5)
    scale = powers.max(axis=0)
    found, *_ = np.linalg.lstsq(powers / scale / cp[:, None], np.ones_like(t), rcond=None)
    return [float(c) for c in found / scale]


def _entropy(coefficients: list[float], t: float) -> float:
    """Integral of cp/(R T) [-]."""
    return coefficients[0] * float(np.log(t)) + sum(c * t**k / k for k, c in enumerate(coefficients) if k)


def species() -> ct.Species:
    """Nitromethane for Cantera, as two polynomials of seven coefficients that join at 1000 K."""
    middle, reference = 1000.0, 298.15
    low, high = _polynomial(200.0, middle), _polynomial(middle, 4000.0)

    def rise(coefficients: list[float], t: float) -> float:
        return sum(c * t ** (k + 1) / (k + 1) for k, c in enumerate(coefficients))

    low_constant = FORMATION / R - rise(low, reference)
    high_constant = low_constant + rise(low, middle) - rise(high, middle)
    low_entropy, high_entropy = -_entropy(low, middle), -_entropy(high, middle)  # they join at 0
    made = ct.Species(NAME, {"C": 1, "H": 3, "N": 1, "O": 2})
    made.thermo = ct.NasaPoly2(
        200.0,
        4000.0,
        ct.one_atm,
        [middle, *high, high_constant, high_entropy, *low, low_constant, low_entropy],
    )
    return made
