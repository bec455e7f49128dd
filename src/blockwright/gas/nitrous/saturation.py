"""Saturated nitrous oxide: pressure, density, enthalpy, entropy and heat capacity of liquid and vapour.

Read from a table made with CoolProp (`gas.tables.make_nitrous`); cubic between its nodes in
s = sqrt(1 - T/Tc), in which the properties are smooth up to the critical point.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...errors import OutsideValidity
from ...trace import Value, formula

Array = NDArray[np.float64]

_FILE = Path(__file__).parent.parent / "tables" / "nitrous.npz"

#: Coldest temperature of the table: -90 C [K].
COLDEST = 183.15
#: Boils at one atmosphere at this temperature [K] (Lemmon and Span 2006; tested against the table).
BOILING = 184.68


@dataclass(frozen=True)
class Fluid:
    """The table of nitrous oxide, as stored.

    Attributes
    ----------
    place : ndarray, shape (n,)
        Nodes s = sqrt(1 - T/Tc), rising: from the critical point to the triple point [-].
    values, slopes : ndarray, shape (9, n)
        Of ln p, liquid density, ln of vapour density, enthalpies, entropies and s^2 c_p of both.
    residual, planck, lead : ndarray
        Coefficients of the equation of state (`gas.nitrous.state`).
    critical_temperature, critical_pressure, critical_density, gas_constant : float
        [K], [Pa], [kg/m3], [J/(kg K)]
    """

    place: Array
    values: Array
    slopes: Array
    residual: Array
    planck: Array
    lead: Array
    critical_temperature: float
    critical_pressure: float
    critical_density: float
    gas_constant: float


@functools.lru_cache(maxsize=1)
def fluid() -> Fluid:
    """The table, read once."""
    with np.load(_FILE, allow_pickle=False) as data:
        t, p, rho = (float(v) for v in data["critical"])
        return Fluid(
            data["place"], data["values"], data["slopes"], data["residual"], data["planck"], data["lead"],
            t, p, rho, float(data["gas_constant"]),
        )  # fmt: skip


def critical_temperature() -> float:
    """Above it there is no liquid [K]."""
    return fluid().critical_temperature


@dataclass(frozen=True)
class Saturated:
    """Liquid and vapour at rest with each other; all arrays of one shape.

    Attributes
    ----------
    temperature, pressure : ndarray
        [K], [Pa]
    liquid_density, vapour_density : ndarray
        [kg/m3]
    liquid_enthalpy, vapour_enthalpy : ndarray
        Above saturated liquid's zero of the equation of state (its boiling point at 1 atm) [J/kg].
    liquid_entropy, vapour_entropy : ndarray
        [J/(kg K)]
    liquid_heat, vapour_heat : ndarray
        Heat capacity at constant pressure [J/(kg K)].
    """

    temperature: Array
    pressure: Array
    liquid_density: Array
    vapour_density: Array
    liquid_enthalpy: Array
    vapour_enthalpy: Array
    liquid_entropy: Array
    vapour_entropy: Array
    liquid_heat: Array
    vapour_heat: Array

    @property
    def latent_heat(self) -> Array:
        """Heat of evaporation [J/kg]."""
        return self.vapour_enthalpy - self.liquid_enthalpy

    def quality(self, enthalpy: ArrayLike) -> Array:
        """Share of vapour by mass at a specific enthalpy [J/kg], below 0 or above 1 outside saturation."""
        return np.asarray((np.asarray(enthalpy) - self.liquid_enthalpy) / self.latent_heat)

    def density(self, quality: ArrayLike) -> Array:
        """Density of the mixture of both phases at rest [kg/m3]."""
        x = np.asarray(quality)
        return np.asarray(1.0 / (x / self.vapour_density + (1.0 - x) / self.liquid_density))


def _check(temperature: Array) -> None:
    top = fluid().critical_temperature
    low, high = float(temperature.min()), float(temperature.max())
    if not (math.isfinite(low) and math.isfinite(high)):
        raise OutsideValidity("the temperature of the nitrous oxide is not a finite number")
    if high >= top:
        raise OutsideValidity(
            f"nitrous oxide at {high - 273.15:.1f} C: above "
            f"{top - 273.15:.1f} C there is no liquid, only a dense gas whose flow and mass the "
            "jets and the fill do not hold for; cool the bottle below that"
        )
    if low < COLDEST:
        raise OutsideValidity(
            f"nitrous oxide at {low - 273.15:.1f} C: the table starts at "
            f"{COLDEST - 273.15:.0f} C, just above where it freezes"
        )


def _rows(temperature: Array, rows: slice) -> tuple[Array, Array]:
    """Values of some rows of the table, shape (rows, ...), and s."""
    table = fluid()
    place = np.sqrt(np.maximum(1.0 - temperature / table.critical_temperature, 0.0))
    s = np.maximum(place, table.place[0])  # within 0.3 mK of the critical point: held
    step = (table.place[-1] - table.place[0]) / (table.place.size - 1)
    i = np.minimum(((s - table.place[0]) / step).astype(np.intp), table.place.size - 2)
    t = (s - table.place[i]) / step
    u = 1.0 - t
    y, m = table.values[rows], table.slopes[rows] * step
    return (
        (1.0 + 2.0 * t) * u * u * y[:, i]
        + t * u * u * m[:, i]
        + t * t * (3.0 - 2.0 * t) * y[:, i + 1]
        - t * t * u * m[:, i + 1]
    ), s


def saturated(temperature: ArrayLike) -> Saturated:
    """Both phases at temperatures [K] from -90 C to the critical point.

    Parameters
    ----------
    temperature : array_like
        [K]

    Returns
    -------
    Saturated

    Raises
    ------
    OutsideValidity
        Above the critical temperature (36.4 C), where there is no liquid, and below -90 C.

    Notes
    -----
    Against CoolProp at random temperatures up to 0.01 K below the critical point: see
    ``docs/models/nitrous.md``; tested in ``tests/gas/test_nitrous_fluid.py``.
    """
    t = np.asarray(temperature, dtype=np.float64)
    _check(t)
    v, s = _rows(t, slice(0, 9))
    return Saturated(
        t, np.exp(v[0]), v[1], np.exp(v[2]), v[3], v[4], v[5], v[6], v[7] / (s * s), v[8] / (s * s)
    )


@formula(
    symbol="p_s",
    unit="Pa",
    equation="ln p_s from a cubic table in sqrt(1 - T/Tc)",
    source="Lemmon and Span, J. Chem. Eng. Data 51 (2006) 785, through CoolProp 8 (read there)",
    valid="-90 C to 36.4 C",
)
def saturation_pressure(temperature: Value) -> Value:
    """Pressure over liquid nitrous oxide at rest.

    Parameters
    ----------
    temperature : array_like
        [K]

    Returns
    -------
    ndarray
        [Pa]
    """
    t = np.asarray(temperature, dtype=np.float64)
    _check(t)
    return np.exp(_rows(t, slice(0, 1))[0][0])


def saturation_temperature(pressure: ArrayLike) -> Array:
    """Temperature at which nitrous oxide boils at a pressure [Pa]; [K].

    Newton's method on ln p from a straight line in 1/T between the nodes; back to 1e-9 K.
    """
    p = np.asarray(pressure, dtype=np.float64)
    top, low = fluid().critical_pressure, coldest_pressure()
    if not np.all((p >= low * (1.0 - 1e-9)) & (p < top)):
        bad = float(np.ravel(p[~((p >= low * (1.0 - 1e-9)) & (p < top))])[0])
        raise OutsideValidity(
            f"nitrous oxide boils between {low / 1e5:.2f} and {top / 1e5:.1f} bar; not at {bad / 1e5:.2f} bar"
        )
    want = np.log(p)
    nodes_lnp = fluid().values[0][::-1]  # rising with the temperature
    nodes_t = fluid().critical_temperature * (1.0 - fluid().place[::-1] ** 2)
    t = np.asarray(1.0 / np.interp(want, nodes_lnp, 1.0 / nodes_t))
    hottest = fluid().critical_temperature * (1.0 - 1e-12)
    h = 1e-3
    for _ in range(3):
        at = np.clip(t, COLDEST + h, hottest - h)
        before, after = _rows(np.stack([at - h, at + h]), slice(0, 1))[0][0]
        t = np.clip(at - (0.5 * (before + after) - want) * 2.0 * h / (after - before), COLDEST, hottest)
    return t


@functools.lru_cache(maxsize=1)
def coldest_pressure() -> float:
    """Saturation pressure at the table's coldest temperature [Pa]; below it nitrous oxide turns to snow."""
    return float(saturation_pressure(COLDEST))


def liquid_full_temperature(density: float) -> float:
    """Temperature at which the liquid of a closed bottle fills it [K].

    Parameters
    ----------
    density : float
        Mass in the bottle over its volume [kg/m3].

    Returns
    -------
    float
        The critical temperature for a fill of at most the critical density (452 kg/m3), where the
        liquid dries up or turns into gas instead.
    """
    table = fluid()
    if density <= table.critical_density:
        return table.critical_temperature
    t = table.critical_temperature * (1.0 - table.place[::-1] ** 2)
    rho = table.values[1][::-1]  # falls with the temperature
    if density >= rho[0]:
        return float(t[0])
    guess = float(np.interp(-density, -rho, t))
    low, high = guess - 1.0, min(guess + 1.0, float(t[-1]))
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        if float(_rows(np.asarray(middle), slice(1, 2))[0][0]) > density:
            low = middle
        else:
            high = middle
    return math.fsum((low, high)) / 2.0
