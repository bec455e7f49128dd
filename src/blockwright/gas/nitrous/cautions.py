"""Cautions for the bottle, said once, with the figure that belongs to them."""

from __future__ import annotations

from dataclasses import dataclass

from ...errors import OutsideValidity
from .contents import contents
from .saturation import critical_temperature, liquid_full_temperature
from .state import LARGEST_PRESSURE, state

#: Plain cautions; sources: safety pages of gas suppliers (read), common practice.
BOTTLE = (
    "Never let a filled bottle get warmer than 36.4 C: the liquid ends there, and from then on the "
    "pressure follows the fill and rises by several bar for each degree.",
    "Never heat a bottle with a flame or a hot-air gun; use a thermostat or warm water, and watch the gauge.",
    "A relief disc of the right rating must be fitted and vented outside the car; it is never blanked off.",
    "Keep oil, grease and fuel out of bottle, valve and line: liquid nitrous oxide dissolves them, and a "
    "pocket of both can explode when it is compressed suddenly.",
    "Open the bottle's valve slowly; blow down outdoors. The gas is heavier than air, dulls the mind and "
    "smothers.",
    "Above about 570 C, less with some metal oxides, it falls apart on its own and gives off heat. "
    "Keep it away from fire.",
    "Liquid that comes out is at -88 C: gloves and goggles.",
)


@dataclass(frozen=True)
class LeftInTheSun:
    """A closed bottle that warms up.

    Attributes
    ----------
    temperature, pressure : float
        [K], [Pa]
    density : float
        Mass over volume [kg/m3].
    full_from : float
        Temperature from which the liquid fills it, or the critical one where it never does [K].
    formula : str
    cautions : tuple of str
    """

    temperature: float
    pressure: float
    density: float
    full_from: float
    formula: str
    cautions: tuple[str, ...]


def left_in_the_sun(mass: float, volume: float, temperature: float) -> LeftInTheSun:
    """Pressure of a closed bottle at any temperature, also above the critical one.

    Parameters
    ----------
    mass, volume : float
        [kg], [m3]
    temperature : float
        [K]

    Raises
    ------
    OutsideValidity
        Above 500 bar, where the equation of state ends; the bottle has burst or vented before.
    """
    density = mass / volume
    full = liquid_full_temperature(density)
    if temperature < full and temperature < critical_temperature():
        pressure = contents(temperature, density).pressure
    else:
        pressure = float(state(temperature, density).pressure)
    if pressure > LARGEST_PRESSURE:
        raise OutsideValidity(
            f"{density / 1e3:.2f} kg/l at {temperature - 273.15:.0f} C would stand at more than "
            f"{LARGEST_PRESSURE / 1e5:.0f} bar; no bottle holds that"
        )
    return LeftInTheSun(
        temperature, pressure, density, full, "p(T, m/V): saturation, then Lemmon and Span (2006)", BOTTLE
    )
