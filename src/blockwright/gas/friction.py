"""Friction of the running engine, as a mean pressure."""

from __future__ import annotations

from dataclasses import dataclass

from ..trace import Value, formula


@dataclass(frozen=True)
class Friction:
    """Coefficients of Chen and Flynn's form, petrol set (middle of the range in use; from memory).

    Attributes
    ----------
    constant : float
        [Pa]; 0.3-0.5 bar in use.
    pressure_share : float
        Per peak cylinder pressure [-]; 0.004-0.006.
    speed_term : float
        Per mean piston speed [Pa s/m]; 0.08-0.10 bar s/m.
    square_term : float
        Per square of the mean piston speed [Pa s2/m2]; 0.0006-0.0012 bar s2/m2.
    factor : float
        Multiplies the whole [-].
    """

    constant: float = 0.40e5
    pressure_share: float = 0.005
    speed_term: float = 0.09e5
    square_term: float = 0.0009e5
    factor: float = 1.0


@formula(
    symbol="fmep",
    unit="Pa",
    equation="fmep = f (A + B p_max + C S_p + D S_p^2)",
    source="Chen and Flynn, SAE 650733 (1965), with a square term and petrol coefficients; from memory",
    valid="mean piston speed 4 to 25 m/s; race engines scatter by 25 %",
)
def friction_mean_pressure(
    peak_pressure: Value,
    piston_speed: Value,
    constant: Value,
    pressure_share: Value,
    speed_term: Value,
    square_term: Value,
    factor: Value = 1.0,
) -> Value:
    """Friction mean effective pressure, rubbing and driven accessories, without pumping.

    Parameters
    ----------
    peak_pressure : array_like
        Largest cylinder pressure of the mean cycle [Pa].
    piston_speed : array_like
        Mean piston speed [m/s].
    constant, pressure_share, speed_term, square_term, factor : array_like
        As in `Friction`.

    Returns
    -------
    ndarray
        [Pa]
    """
    return factor * (
        constant
        + pressure_share * peak_pressure
        + speed_term * piston_speed
        + square_term * piston_speed * piston_speed
    )
