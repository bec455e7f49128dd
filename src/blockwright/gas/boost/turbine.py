"""A radial turbine in pulsating exhaust, its wastegate and the pipe behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...errors import InputError
from ..kernels.flow import flow_function
from ..kernels.properties import mixture
from ..model import OperatingPoint

Array = NDArray[np.float64]

#: Blade speed ratios, over the best, between which the swallowing's dependence on speed is followed.
_SPEED_RANGE = (0.3, 1.7)


@dataclass(frozen=True)
class Turbine:
    """One turbine.

    Attributes
    ----------
    diameter : float
        Of the wheel at its inlet [m].
    throat_area : float
        Smallest area of the housing's passage, measured [m2].
    discharge : float
        Effective area when fully choked over throat area [-].
    stator_share : float
        Share of the expansion, in logarithms of pressure, in the housing [-].
    best_efficiency : float
        Total to static [-].
    best_speed_ratio : float
        Blade speed over spouting velocity there [-].
    swallowing_fall : float
        Share of the area lost at twice the best speed ratio [-].
    """

    diameter: float
    throat_area: float
    discharge: float
    stator_share: float
    best_efficiency: float
    best_speed_ratio: float
    swallowing_fall: float

    def __post_init__(self) -> None:
        for name in ("diameter", "throat_area", "discharge", "best_speed_ratio"):
            if not (math.isfinite(getattr(self, name)) and getattr(self, name) > 0.0):
                raise InputError(
                    f"a turbine's {name.replace('_', ' ')} is {getattr(self, name):g}; it must be positive"
                )
        if not 0.0 < self.best_efficiency < 1.0:
            raise InputError(f"a turbine's efficiency is {self.best_efficiency:g}; it lies between 0 and 1")
        if not 0.0 < self.stator_share <= 1.0:
            raise InputError(
                f"the housing's share of the expansion is {self.stator_share:g}; it lies in 0..1"
            )

    def effective_area(self, expansion: float, speed_ratio: float, gamma: float) -> float:
        r"""Area of the one isentropic nozzle that passes as much [m2].

        Housing and wheel are two nozzles in a row: the first sees only its share s of the expansion.

        .. math:: A = A_t\,c\,\frac{f(r^s)}{f(r)}\,\bigl[1 - k(u/u_b - 1)\bigr]

        Parameters
        ----------
        expansion : float
            Pressure before over pressure behind [-].
        speed_ratio : float
            Blade speed over spouting velocity [-].
        gamma : float
            Ratio of heats [-].
        """
        ratio = 1.0 / max(expansion, 1.0 + 1e-6)
        shape = flow_function(ratio**self.stator_share, gamma) / flow_function(ratio, gamma)
        away = min(max(speed_ratio / self.best_speed_ratio, _SPEED_RANGE[0]), _SPEED_RANGE[1]) - 1.0
        return self.throat_area * self.discharge * shape * (1.0 - self.swallowing_fall * away)

    def efficiency(self, speed_ratio: float) -> float:
        """Total to static [-]: a parabola, zero at rest and at twice the best speed ratio, then negative."""
        x = speed_ratio / self.best_speed_ratio
        return self.best_efficiency * x * (2.0 - x)


@dataclass(frozen=True)
class Wastegate:
    """A way past the turbine: diameter of the seat [m] (0 for none) and discharge coefficient [-]."""

    diameter: float
    discharge: float

    @property
    def area(self) -> float:
        """Effective, wide open [m2]."""
        return self.discharge * 0.25 * math.pi * self.diameter**2


@dataclass(frozen=True)
class Exhaust:
    """Burned gas before a turbine as one gas: gas constant [J/(kg K)] and ratio of heats [-]."""

    gas_constant: float
    gamma: float

    @property
    def cp(self) -> float:
        """Heat capacity [J/(kg K)]."""
        return self.gas_constant * self.gamma / (self.gamma - 1.0)


def exhaust_gas(point: OperatingPoint, temperature: float, pressure: float) -> Exhaust:
    """Burned gas of an operating point at a temperature [K] and pressure [Pa], from its own tables."""
    gas = point.gas
    state = np.append(point.ash(), 0.0)
    _, constant, capacity, _ = mixture(
        state, temperature, math.log(pressure), gas.frozen, gas.burned, gas.constants
    )
    return Exhaust(float(constant), 1.0 + float(constant / capacity))


def pressure_behind(
    flow: float, temperature: float, gas_constant: float, outside: float, loss: float, diameter: float
) -> float:
    r"""Pressure at the start of the pipe behind a turbine [Pa].

    .. math:: p - p_0 = K\,\frac{\dot m^2 R T}{2 p A^2}

    with the density at its start; solved for p.

    Parameters
    ----------
    flow, temperature, gas_constant, outside : float
        [kg/s], [K], [J/(kg K)], [Pa]
    loss : float
        Coefficient on the dynamic head [-].
    diameter : float
        [m]
    """
    head = loss * (flow / (0.25 * math.pi * diameter**2)) ** 2 * gas_constant * temperature
    return 0.5 * (outside + math.sqrt(outside**2 + 2.0 * head))
