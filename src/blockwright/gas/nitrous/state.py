"""Equation of state of nitrous oxide: gas, dense gas and compressed liquid from temperature and density.

Lemmon and Span's short equation for the Helmholtz energy (J. Chem. Eng. Data 51 (2006) 785), with the
coefficients stored beside the saturation table (as CoolProp carries them).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...errors import NotSettled, OutsideValidity
from .root import root
from .saturation import fluid

Array = NDArray[np.float64]

#: Where the equation of state holds [K], [Pa] (Lemmon and Span: up to 525 K and 50 MPa; from memory).
HOTTEST = 525.0
LARGEST_PRESSURE = 50e6
#: Temperature at which the gas tables count enthalpy of formation [K].
REFERENCE = 298.15


@dataclass(frozen=True)
class State:
    """One phase at temperature and density; arrays of one shape.

    Attributes
    ----------
    temperature, density, pressure : ndarray
        [K], [kg/m3], [Pa]
    enthalpy, energy, entropy : ndarray
        [J/kg], [J/kg], [J/(kg K)], with the zero of `saturation.Saturated`.
    """

    temperature: Array
    density: Array
    pressure: Array
    enthalpy: Array
    energy: Array
    entropy: Array


def state(temperature: ArrayLike, density: ArrayLike) -> State:
    """Properties of one phase.

    Parameters
    ----------
    temperature, density : array_like
        [K], [kg/m3]; between the saturated vapour and liquid the result has no meaning.

    Returns
    -------
    State

    Notes
    -----
    .. math:: a/RT = \\alpha^0 + \\alpha^r, \\quad p = \\rho R T (1 + \\delta \\alpha^r_\\delta)
    """
    table = fluid()
    t, rho = np.broadcast_arrays(np.asarray(temperature, float), np.asarray(density, float))
    tau, delta = table.critical_temperature / t, rho / table.critical_density
    n, d, power, c = (row.reshape(-1, *(1,) * t.ndim) for row in table.residual)
    damp = np.where(c > 0.0, delta**c, 0.0)
    term = n * delta**d * tau**power * np.exp(-damp)
    residual = term.sum(axis=0)
    by_delta = (term * (d - c * damp)).sum(axis=0)  # delta d(alpha_r)/d(delta)
    by_tau = (term * power).sum(axis=0)  # tau d(alpha_r)/d(tau)
    v, theta = (row.reshape(-1, *(1,) * t.ndim) for row in table.planck)
    a1, a2, a3 = table.lead
    vibration = (v * np.log1p(-np.exp(-theta * tau))).sum(axis=0)
    ideal = np.log(delta) + a1 + a2 * tau + a3 * np.log(tau) + vibration
    ideal_by_tau = tau * a2 + a3 + (v * theta * tau / np.expm1(theta * tau)).sum(axis=0)
    r = table.gas_constant
    energy = r * t * (ideal_by_tau + by_tau)
    pressure = rho * r * t * (1.0 + by_delta)
    entropy = r * (ideal_by_tau + by_tau - ideal - residual)
    return State(t.copy(), rho.copy(), pressure, energy + pressure / rho, energy, entropy)


@functools.lru_cache(maxsize=1)
def gas_enthalpy_reference() -> float:
    """Enthalpy of the gas at 25 C and no pressure [J/kg]: what the gas tables count from."""
    return float(state(REFERENCE, 1e-9).enthalpy)


def vapour_density(temperature: float, pressure: float) -> float:
    """Density of superheated vapour or of gas above the critical temperature [kg/m3].

    Parameters
    ----------
    temperature, pressure : float
        [K], [Pa]

    Raises
    ------
    OutsideValidity
        Above 525 K or 500 bar.
    NotSettled
        When no density gives the pressure.
    """
    if not 150.0 < temperature <= HOTTEST or not 0.0 < pressure <= LARGEST_PRESSURE:
        raise OutsideValidity(
            f"nitrous oxide gas at {temperature:.0f} K and {pressure / 1e5:.1f} bar: the equation of "
            f"state holds to {HOTTEST:.0f} K and {LARGEST_PRESSURE / 1e5:.0f} bar"
        )
    low, high = 0.0, 1.05 * pressure / (fluid().gas_constant * temperature)
    at_low, at_high = -pressure, float(state(temperature, high).pressure) - pressure
    while at_high < 0.0:
        low, at_low, high = high, at_high, 1.2 * high
        if high > 2000.0:
            raise NotSettled(
                f"no density of nitrous oxide gives {pressure / 1e5:.1f} bar at {temperature:.1f} K"
            )
        at_high = float(state(temperature, high).pressure) - pressure
    return root(
        lambda rho: float(state(temperature, rho).pressure) - pressure,
        low, high, 1e-10 * high, "density of nitrous oxide gas", (at_low, at_high),
    )  # fmt: skip


def gas_at_enthalpy(pressure: float, enthalpy: float, near: float) -> State:
    """Superheated vapour from pressure [Pa] and enthalpy [J/kg]; `near` [K] is where to look first."""

    def excess(temperature: float) -> float:
        rho = vapour_density(temperature, pressure)
        return float(state(temperature, rho).enthalpy) - enthalpy

    low, high = max(near - 5.0, 160.0), min(near + 5.0, HOTTEST)
    while excess(low) > 0.0 and low > 160.0:
        low = max(low - 20.0, 160.0)
    while excess(high) < 0.0 and high < HOTTEST:
        high = min(high + 20.0, HOTTEST)
    temperature = root(excess, low, high, 1e-7, "temperature of nitrous oxide gas")
    return state(temperature, vapour_density(temperature, pressure))
