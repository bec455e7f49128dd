"""What stands in front of a jet: liquid, vapour or both, from the bottle through the line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...errors import InputError, OutsideValidity
from ...trace import Value, formula
from .saturation import coldest_pressure, saturated, saturation_temperature
from .state import gas_at_enthalpy, state

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Inlet:
    """Nitrous oxide at rest in front of a jet; arrays of one shape.

    Attributes
    ----------
    temperature, pressure : ndarray
        [K], [Pa]
    quality : ndarray
        Share of vapour by mass [-]; 1 for saturated or superheated vapour.
    density, enthalpy, entropy : ndarray
        Of the mixture [kg/m3], [J/kg], [J/(kg K)].
    superheated : bool
        Vapour away from its liquid; one state only, no array.
    """

    temperature: Array
    pressure: Array
    quality: Array
    density: Array
    enthalpy: Array
    entropy: Array
    superheated: bool = False

    @property
    def void(self) -> Array:
        """Share of vapour by volume [-]."""
        if self.superheated:
            return np.ones_like(self.quality)
        vapour = saturated(self.temperature).vapour_density
        return np.asarray(np.minimum(self.quality * self.density / vapour, 1.0))


def liquid(temperature: ArrayLike, pressure: ArrayLike | None = None) -> Inlet:
    """Liquid from the bottle.

    Parameters
    ----------
    temperature : array_like
        Of the liquid [K].
    pressure : array_like or None
        In front of the jet [Pa]; that of saturation when None.  Above it (a pressurised bottle) the
        liquid counts as incompressible, good to 100 bar and below 25 C within about 5 %.

    Raises
    ------
    OutsideValidity
        Above the critical temperature: there is no liquid to draw.
    InputError
        For a pressure below saturation: the liquid would boil; use `behind_line`.
    """
    both = saturated(temperature)
    given = both.pressure if pressure is None else np.asarray(pressure, dtype=np.float64)
    p = np.broadcast_to(given, both.pressure.shape)
    over = p - both.pressure
    if np.any(over < -1e-6 * both.pressure):
        raise InputError(
            f"the pressure in front of the jet is {float(np.min(p)) / 1e5:.1f} bar, less than the liquid's "
            f"own {float(np.max(both.pressure)) / 1e5:.1f} bar: it would boil"
        )
    return Inlet(
        both.temperature, p.copy(), np.zeros_like(p), both.liquid_density,
        both.liquid_enthalpy + np.maximum(over, 0.0) / both.liquid_density, both.liquid_entropy,
    )  # fmt: skip


def vapour(temperature: ArrayLike) -> Inlet:
    """Saturated vapour: an upright bottle without a dip tube, or one whose outlet stands above the liquid."""
    both = saturated(temperature)
    return Inlet(
        both.temperature, both.pressure, np.ones_like(both.pressure), both.vapour_density,
        both.vapour_enthalpy, both.vapour_entropy,
    )  # fmt: skip


def gas(temperature: float, density: float) -> Inlet:
    """Superheated vapour, as in a bottle whose liquid has gone [K], [kg/m3]."""
    at = state(temperature, density)
    return Inlet(
        at.temperature, at.pressure, np.ones(()), at.density, at.enthalpy, at.entropy, superheated=True
    )


def behind_line(inlet: Inlet, drop: ArrayLike) -> Inlet:
    """The same nitrous oxide after a pressure drop in the line: part of the liquid flashes.

    Parameters
    ----------
    inlet : Inlet
        In the bottle.
    drop : array_like
        Pressure lost on the way to the jet [Pa].

    Returns
    -------
    Inlet
        At the lower pressure and the same enthalpy: no heat, no work, little speed.
    """
    p = np.asarray(inlet.pressure - np.asarray(drop, float))
    if np.any(p <= coldest_pressure()):
        raise OutsideValidity(
            f"the line loses {float(np.max(drop)) / 1e5:.1f} bar of the bottle's "
            f"{float(np.min(inlet.pressure)) / 1e5:.1f} bar; nothing is left in front of the jet"
        )
    if inlet.superheated:
        at = gas_at_enthalpy(float(p), float(inlet.enthalpy), float(inlet.temperature))
        return Inlet(
            at.temperature, at.pressure, np.ones(()), at.density, at.enthalpy, at.entropy, superheated=True
        )
    own = saturated(inlet.temperature)
    flashes = p < own.pressure
    t = saturation_temperature(np.where(flashes, p, own.pressure))
    both = saturated(t)
    x = np.clip(np.where(flashes, both.quality(inlet.enthalpy), 0.0), 0.0, None)
    if np.any(x > 1.0):
        if p.ndim:
            raise OutsideValidity("the line dries the vapour; ask for one state at a time")
        at = gas_at_enthalpy(float(p), float(inlet.enthalpy), float(t))
        return Inlet(
            at.temperature, at.pressure, np.ones(()), at.density, at.enthalpy, at.entropy, superheated=True
        )
    return Inlet(
        t, p, x, both.density(x), np.broadcast_to(inlet.enthalpy, p.shape),
        both.liquid_entropy + x * (both.vapour_entropy - both.liquid_entropy),
    )  # fmt: skip


@formula(
    symbol="dp",
    unit="Pa",
    equation="dp = G^2 [ (f L/D + K)(1/rho1 + 1/rho2)/4 + 1/rho2 - 1/rho1 ], G = m/(pi D^2/4)",
    source="homogeneous two-phase pipe flow, friction on the mean volume and acceleration; from memory",
    valid="small shares of vapour, far from choking in the line",
)
def line_drop(
    flow: Value, density_before: Value, density_after: Value, diameter: Value, length: Value, fittings: Value,
    friction: Value,
) -> Value:  # fmt: skip
    """Pressure lost in the line between bottle and jet.

    Parameters
    ----------
    flow : array_like
        [kg/s]
    density_before, density_after : array_like
        In the bottle and in front of the jet [kg/m3].
    diameter, length : array_like
        Bore and length of the line [m].
    fittings : array_like
        Loss coefficient of valves, filter and bends on the dynamic head [-].
    friction : array_like
        Darcy's friction factor [-].

    Returns
    -------
    ndarray
        [Pa]
    """
    flux = flow / (0.25 * np.pi * diameter**2)
    volume = 0.5 * (1.0 / density_before + 1.0 / density_after)
    friction_part = 0.5 * (friction * length / diameter + fittings) * volume
    return flux**2 * (friction_part + 1.0 / density_after - 1.0 / density_before)
