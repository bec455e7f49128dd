"""Laminar flame speed of a fuel's mixture with air: published fits with their ranges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from ..trace import Value, formula

ATM = 101_325.0


@dataclass(frozen=True)
class LaminarSpeed:
    """One fuel's fit S_L = S0(phi) (T/T0)^alpha (p/p0)^beta (1 - F f).

    Attributes
    ----------
    bell : bool
        False: S0 = s0 + s1 (phi - s2)^2, alpha and beta linear in phi - 1.  True: S0 =
        s0 phi^s1 exp(-s2 (phi - 1.075)^2), beta = beta[0] over (phi >= 1) or times the root of phi.
    s0, s1, s2 : float
        [m/s], then [m/s] and [-], or [-] and [-].
    alpha, beta : tuple
        Exponents at phi 1 and their change with phi [-].
    temperature, pressure : float
        Reference state [K], [Pa].
    residual : float
        F, per mass fraction of burned gas in the unburned [-].
    phi : tuple
        Equivalence ratios between which the fit is used; held outside.
    measured : str
        Range of the measurements.
    source : str
    doubtful : bool
        Whether the row stands in for a fuel that was not measured.
    """

    bell: bool
    s0: float
    s1: float
    s2: float
    alpha: tuple[float, float]
    beta: tuple[float, float]
    temperature: float
    pressure: float
    residual: float
    phi: tuple[float, float]
    measured: str
    source: str
    doubtful: bool = False


_MK = "Metghalchi and Keck, Combust. Flame 48:191 (1982); form, ranges, residual read; rows from memory"
_GUELDER = "Guelder, SAE 841000 (1984), from memory"
_RANGE = "phi 0.8-1.5, 298-700 K, 0.4-50 atm, burned gas up to 0.2 by mass; +-10 %"


def _parabola(best: float, bend: float, richest: float, doubtful: bool = False) -> LaminarSpeed:
    return LaminarSpeed(
        False, best, bend, richest, (2.18, -0.8), (-0.16, 0.22), 298.0, ATM, 2.1, (0.7, 1.5), _RANGE, _MK,
        doubtful,
    )  # fmt: skip


_PETROL = _parabola(0.2758, -0.7834, 1.13)
_METHANOL = _parabola(0.3692, -1.4051, 1.11)
_ETHANOL = LaminarSpeed(
    True, 0.465, 0.25, 6.34, (1.75, 0.0), (-0.17, 0.0), 300.0, 101_300.0, 2.3, (0.7, 1.4),
    "phi 0.7-1.4, 300-700 K, 1-8 bar: more than 8 bar is extrapolation", _GUELDER,
)  # fmt: skip
_NITRO = _parabola(0.3692, -1.4051, 1.11, doubtful=True)

#: One set for all but ethanol: one laboratory, one range, and the only one measured at engine pressures.
ROWS = {
    "petrol-95": _PETROL,
    "petrol-98": _PETROL,
    "race-petrol": _PETROL,
    "race-petrol-oxygenated": _PETROL,
    "iso-octane": _parabola(0.2632, -0.8472, 1.13),
    "methanol": _METHANOL,
    "ethanol": _ETHANOL,
    "e85": _ETHANOL,
    "nitro-20": _NITRO,
    "nitro-50": _NITRO,
    "nitro-90": _NITRO,
}


def laminar(fuel: str) -> LaminarSpeed:
    """The fit that stands for a fuel."""
    if fuel not in ROWS:
        raise InputError(f"there is no laminar flame speed for {fuel!r}; there is one for: {', '.join(ROWS)}")
    return ROWS[fuel]


@formula(
    symbol="S_L",
    unit="m/s",
    equation="S_L = S_0(phi) (T/T_0)^alpha (p/p_0)^beta (1 - F f)",
    source="Metghalchi and Keck (1982); for ethanol Guelder (1984); rows from memory",
    valid="298-700 K and 0.4-50 atm (ethanol 1-8 bar), f up to 0.2; engines go beyond in temperature",
)
def laminar_speed(fuel: str, phi: Value, temperature: Value, pressure: Value, residual: Value = 0.0) -> Value:
    """Speed of a laminar flame into unburned gas, relative to that gas.

    Parameters
    ----------
    fuel : str
    phi : array_like
        Equivalence ratio, nitrous counted as the air with as much oxygen [-]; held at the fit's ends.
    temperature, pressure : array_like
        Of the unburned gas [K], [Pa].
    residual : array_like
        Mass fraction of burned gas in the unburned [-]; what is left never falls below a tenth.

    Returns
    -------
    ndarray
        [m/s]
    """
    row = laminar(fuel)
    rich = np.clip(phi, *row.phi)
    if row.bell:
        start = row.s0 * rich**row.s1 * np.exp(-row.s2 * (rich - 1.075) ** 2)
        alpha = row.alpha[0]
        beta = row.beta[0] * np.where(rich >= 1.0, 1.0 / np.sqrt(rich), np.sqrt(rich))
    else:
        start = row.s0 + row.s1 * (rich - row.s2) ** 2
        alpha = row.alpha[0] + row.alpha[1] * (rich - 1.0)
        beta = row.beta[0] + row.beta[1] * (rich - 1.0)
    left = np.maximum(1.0 - row.residual * np.asarray(residual), 0.1)
    return (
        start
        * (np.asarray(temperature) / row.temperature) ** alpha
        * (np.asarray(pressure) / row.pressure) ** beta
        * left
    )
