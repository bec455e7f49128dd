"""Knock: when the end gas ignites by itself, and the octane number that would just prevent it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..build import catalogue
from ..errors import OutsideValidity
from ..trace import Value, formula

Array = NDArray[np.float64]

ATMOSPHERE = 101_325.0
#: Exponent of the octane number and temperature [K] of Douaud and Eyzat's ignition delay.
OCTANE_POWER, ACTIVATION = 3.402, 3800.0
#: Octane numbers at which the correlation was measured.
MEASURED = (80.0, 100.0)


def constant(name: str) -> float:
    """A constant of ``models/knock.toml`` [SI]."""
    return catalogue.row("model", name).si("value")


def spread(name: str) -> float:
    """Standard uncertainty of a constant of ``models/knock.toml`` [SI]."""
    return catalogue.row("model", name).u("value")


@formula(
    symbol="tau",
    unit="s",
    equation="tau = 17.68 ms (ON/100)^3.402 (p/1 atm)^-1.7 exp(3800 K/T)",
    source="Douaud and Eyzat, SAE 780080 (1978); A46, A47; from memory",
    valid="primary reference fuels of 80 to 100 octane, near stoichiometric, no nitrous",
)
def ignition_delay(pressure: Value, temperature: Value, octane: Value) -> Value:
    """Time in which end gas held at one pressure and temperature ignites.

    Parameters
    ----------
    pressure, temperature : array_like
        Of the end gas, absolute [Pa], [K].
    octane : array_like
        Octane number, or `octane_index` of a fuel that is no reference fuel.
    """
    p = np.asarray(pressure) / ATMOSPHERE
    by_octane = (np.asarray(octane) / 100.0) ** OCTANE_POWER
    return 17.68e-3 * by_octane * p**-1.7 * np.exp(ACTIVATION / temperature)


@formula(
    symbol="I",
    unit="1",
    equation="I(theta) = integral of d theta/(omega tau) to theta",
    source="Livengood and Wu, 5th Symposium on Combustion (1955); from memory",
    valid="knock where I reaches 1",
    lasting=True,
)
def knock_integral(pressure: Value, temperature: Value, angle: Value, speed: Value, octane: Value) -> Value:
    """Share of its ignition delay that the end gas has lived through.

    Parameters
    ----------
    pressure, temperature : array_like, shape (..., n)
        Of the end gas [Pa], [K]; NaN where there is none, which adds nothing.
    angle : array_like, shape (n,)
        Rising crank angle [deg].
    speed : array_like, shape () or (...,)
        [rad/s]
    octane : array_like, shape () or (...,)

    Returns
    -------
    ndarray, shape (..., n)
        By the trapezoid rule; 0 at the first angle.
    """
    p, t = np.asarray(pressure, dtype=float), np.asarray(temperature, dtype=float)
    there = np.isfinite(p) & np.isfinite(t)
    on, omega = np.asarray(octane, dtype=float)[..., None], np.asarray(speed, dtype=float)[..., None]
    delay = ignition_delay(np.where(there, p, ATMOSPHERE), np.where(there, t, 300.0), on)
    rate = np.where(there, 1.0 / delay, 0.0) / omega
    steps = np.radians(np.diff(np.asarray(angle, dtype=float)))
    grown = np.cumsum(0.5 * (rate[..., 1:] + rate[..., :-1]) * steps, axis=-1)
    return np.concatenate([np.zeros_like(rate[..., :1]), grown], axis=-1)


def knock_onset(angle: Array, integral: Array) -> Array:
    """Angle at which the integral reaches 1 [deg], shape (...); NaN where it never does."""
    angle, integral = np.asarray(angle, dtype=float), np.asarray(integral, dtype=float)
    flat = integral.reshape(-1, integral.shape[-1])
    onset = np.full(flat.shape[0], np.nan)
    for i, row in enumerate(flat):
        over = np.flatnonzero(row >= 1.0)
        if over.size:
            k = int(over[0])
            onset[i] = angle[0] if k == 0 else np.interp(1.0, row[k - 1 : k + 1], angle[k - 1 : k + 1])
    return onset.reshape(integral.shape[:-1])


def integral_at_end(integral: Array, unburned: Array | None, least: float | None = None) -> Array:
    """Knock integral when the end gas has burned down to a share that no longer counts, shape (...).

    Parameters
    ----------
    integral : ndarray, shape (..., n)
    unburned : ndarray, shape (..., n), or None
        Share of the charge still unburned, falling; None takes the last value of the integral.
    least : float or None
        Share that no longer counts; the catalogue's ``knock.least_end_gas`` when None.
    """
    integral = np.asarray(integral, dtype=float)
    if unburned is None:
        return np.asarray(integral[..., -1])
    limit = constant("knock.least_end_gas") if least is None else least
    rows = integral.reshape(-1, integral.shape[-1])
    shares = np.broadcast_to(unburned, integral.shape).reshape(rows.shape)
    found = rows[:, -1].copy()
    for i, (row, share) in enumerate(zip(rows, shares, strict=True)):
        gone = np.flatnonzero(share < limit)
        if gone.size and gone[0] > 0:
            k = int(gone[0])
            above, below = share[k - 1], share[k]
            f = (above - limit) / (above - below) if np.isfinite(below) and np.isfinite(above) else 0.0
            found[i] = row[k - 1] + f * (row[k] - row[k - 1])
    return found.reshape(integral.shape[:-1])


@formula(
    symbol="OR",
    unit="1",
    equation="OR = ON I_ON^(1/3.402)",
    source="definition: the octane number at which I just reaches 1, by Douaud and Eyzat's power",
)
def octane_required(integral: Value, octane: Value) -> Value:
    """Octane number that just prevents knock.

    Parameters
    ----------
    integral : array_like
        `integral_at_end`, computed with `octane`.
    octane : array_like
        The octane number it was computed with.
    """
    return np.asarray(octane) * np.asarray(integral) ** (1.0 / OCTANE_POWER)


@formula(
    symbol="OI",
    unit="1",
    equation="OI = RON - K (RON - MON)",
    source="Kalghatgi, SAE 2001-01-3584 and 2005-01-0239; from memory",
    valid="K = 0.5 gives the mean of RON and MON; 1 gives MON",
)
def octane_index(ron: Value, mon: Value, weight: Value) -> Value:
    """Octane number of a reference fuel that would knock like this fuel in this engine.

    Parameters
    ----------
    ron, mon : array_like
        Research and motor octane numbers.
    weight : array_like
        K of the engine and its running state.
    """
    return np.asarray(ron) - np.asarray(weight) * (np.asarray(ron) - mon)


@formula(
    symbol="K",
    unit="1",
    equation="K = K_n + (K_b - K_n) clip(p_m/p_atm - 1, 0, 1)",
    source="our reading of Kalghatgi's ranges, from memory",
    valid="a straight line from atmospheric induction to twice the atmosphere; beyond, the end's value",
)
def octane_weight(plenum_pressure: Value, natural: Value, boosted: Value) -> Value:
    """Weight of the sensitivity in the octane index.

    Parameters
    ----------
    plenum_pressure : array_like
        Absolute, in the manifold [Pa].
    natural, boosted : array_like
        K with atmospheric induction, and at two atmospheres.
    """
    share = np.clip(np.asarray(plenum_pressure) / ATMOSPHERE - 1.0, 0.0, 1.0)
    return natural + (np.asarray(boosted) - natural) * share


@dataclass(frozen=True)
class Octane:
    """Octane index of a fuel in an engine, and how well it is known.

    Attributes
    ----------
    index, u : float
        Octane index and its standard uncertainty [-].
    weight : float
        K that was used [-].
    beyond : float
        Octane numbers above 100, where the correlation is carried on beyond its range [-].
    """

    index: float
    u: float
    weight: float
    beyond: float

    @property
    def caution(self) -> str:
        """What a reader must know beside a figure made with it; empty when nothing."""
        if self.beyond <= 0.0:
            return ""
        return (
            f"octane index {self.index:.0f} lies above 100, where the ignition delay was never measured: "
            f"the band of {self.u:.0f} octane numbers is our estimate"
        )


def is_rated(fuel: str) -> bool:
    """Whether a fuel has octane numbers; nitromethane has none."""
    return catalogue.row("fuel", fuel).has("ron")


def effective_octane(fuel: str, plenum_pressure: float) -> Octane:
    """Octane index of a catalogue fuel at a manifold pressure [Pa].

    Raises
    ------
    OutsideValidity
        For blends with nitromethane, which has no octane number.
    """
    row = catalogue.row("fuel", fuel)
    if not row.has("ron"):
        raise OutsideValidity(
            f"the fuel {fuel} has no octane number: nitromethane is not rated, so there is no knock margin"
        )
    ron, mon = row.si("ron"), row.si("mon")
    return octane_of(ron, mon, row.u("ron"), row.u("mon"), plenum_pressure)


def octane_of(ron: float, mon: float, ron_u: float, mon_u: float, plenum_pressure: float) -> Octane:
    """Octane index from octane numbers and their standard uncertainties, at a manifold pressure [Pa]."""
    natural, boosted = constant("knock.weight_natural"), constant("knock.weight_boosted")
    weight = float(octane_weight(plenum_pressure, natural, boosted))
    share = (weight - natural) / (boosted - natural)
    weight_u = math.hypot(
        (1.0 - share) * spread("knock.weight_natural"), share * spread("knock.weight_boosted")
    )
    index = float(octane_index(ron, mon, weight))
    beyond = max(index - MEASURED[1], 0.0)
    u = math.hypot(
        (1.0 - weight) * ron_u,
        weight * mon_u,
        (ron - mon) * weight_u,
        beyond * spread("knock.beyond_hundred"),
    )
    return Octane(index, u, weight, beyond)


@formula(
    symbol="u_lntau",
    unit="1",
    equation="u^2 = u_tau^2 + (3800 K/T u_T/T)^2 + (u_lambda (lambda - 1))^2 + (u_N2O s)^2",
    source="propagation of the spreads of models/knock.toml",
)
def delay_spread(end_gas_temperature: Value, lambda_: Value, nitrous_share: Value = 0.0) -> Value:
    """Standard uncertainty of the logarithm of the ignition delay.

    Parameters
    ----------
    end_gas_temperature : array_like
        Where most of the delay is lived through: near its highest [K].
    lambda_ : array_like
        Air over stoichiometric air [-].
    nitrous_share : array_like
        Share of the oxygen that nitrous oxide brings [-].
    """
    by_temperature = ACTIVATION / np.asarray(end_gas_temperature) * spread("knock.end_gas_factor")
    by_mixture = spread("knock.mixture_effect") * (np.asarray(lambda_) - 1.0)
    by_nitrous = spread("knock.nitrous_effect") * np.asarray(nitrous_share)
    return np.sqrt(spread("knock.delay_factor") ** 2 + by_temperature**2 + by_mixture**2 + by_nitrous**2)
