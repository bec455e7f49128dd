"""What a closed bottle holds: temperature, pressure and phases from mass, volume and energy."""

from __future__ import annotations

from dataclasses import dataclass

from ...errors import InputError, OutsideValidity
from .inlet import Inlet, gas, liquid, vapour
from .root import root
from .saturation import COLDEST, critical_temperature, liquid_full_temperature, saturated
from .state import HOTTEST, state


@dataclass(frozen=True)
class Contents:
    """Nitrous oxide in a bottle, all at one temperature.

    Attributes
    ----------
    temperature, pressure : float
        [K], [Pa]
    density : float
        Mass over the bottle's volume [kg/m3].
    quality : float
        Share of vapour by mass [-]; 1 when the liquid has gone.
    energy : float
        Internal, of a kilogram [J/kg].
    """

    temperature: float
    pressure: float
    density: float
    quality: float
    energy: float

    def drawn(self, from_liquid: bool) -> Inlet:
        """What leaves the bottle: liquid through the dip tube while there is some, else vapour."""
        if self.quality >= 1.0:
            return gas(self.temperature, self.density)
        return liquid(self.temperature) if from_liquid else vapour(self.temperature)


def contents(temperature: float, density: float) -> Contents:
    """Contents at a temperature [K] and mass over volume [kg/m3].

    Raises
    ------
    InputError
        When the liquid would fill the bottle.
    """
    if temperature < critical_temperature():
        both = saturated(temperature)
        if density >= float(both.liquid_density):
            full = liquid_full_temperature(density) - 273.15
            raise InputError(
                f"a bottle with {density / 1e3:.3f} kg/l is full of liquid from {full:.1f} C: at "
                f"{temperature - 273.15:.1f} C its pressure is no longer that of boiling and rises by "
                "several bar for each degree; fill less or keep it colder"
            )
        if density > float(both.vapour_density):
            v = 1.0 / density
            v_l, v_v = 1.0 / float(both.liquid_density), 1.0 / float(both.vapour_density)
            x = (v - v_l) / (v_v - v_l)
            p = float(both.pressure)
            u_l = float(both.liquid_enthalpy) - p * v_l
            u_v = float(both.vapour_enthalpy) - p * v_v
            return Contents(temperature, p, density, x, u_l + x * (u_v - u_l))
    at = state(temperature, density)
    return Contents(temperature, float(at.pressure), density, 1.0, float(at.energy))


def at_energy(mass: float, volume: float, energy: float, capacity: float, near: float) -> Contents:
    """Contents from their energy, together with a wall at the same temperature.

    Parameters
    ----------
    mass, volume : float
        [kg], [m3]
    energy : float
        Of the nitrous oxide, plus `capacity` times the temperature [J].
    capacity : float
        Heat capacity of what shares the temperature [J/K].
    near : float
        Where to look first [K].

    Raises
    ------
    OutsideValidity
        When it would be colder than -90 C: liquid turns to snow.
    """
    density = mass / volume

    def excess(t: float) -> float:
        return mass * contents(t, density).energy + capacity * t - energy

    width = 0.5
    low, high = max(near - width, COLDEST), near + width
    f_low, f_high = excess(low), excess(high)
    while f_low > 0.0:
        if low <= COLDEST:
            raise OutsideValidity(
                f"the bottle cools to {COLDEST - 273.15:.0f} C with {mass:.2f} kg left, which turns to snow"
            )
        width *= 3.0
        high, f_high = low, f_low
        low = max(low - width, COLDEST)
        f_low = excess(low)
    while f_high < 0.0 and high < HOTTEST:
        width *= 3.0
        low, f_low = high, f_high
        high = min(high + width, HOTTEST)
        f_high = excess(high)
    t = root(excess, low, high, 1e-7, "temperature of the bottle", (f_low, f_high))
    return contents(t, density)
