"""What is set anew between engine cycles: a turbine's swallowing, a charger's delivery, a nitrous jet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from .model import Breathing, OperatingPoint

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Seen:
    """What the last engine cycle showed.

    Attributes
    ----------
    air_flow, fuel_flow, nitrous_flow, total_flow : float
        Into the engine, mean over the cycle [kg/s].
    plenum_pressure : float
        Mean in the plenum, or of the air drawn from where there is none [Pa].
    exhaust_pressure, exhaust_temperature : ndarray, shape (720,)
        Upstream of the outlet, against the crank angle of cylinder 1 [Pa], [K].
    outlet_flow : ndarray, shape (720,)
        Through the outlet [kg/s].
    brake_power : float
        [W]
    peak_pressure : ndarray, shape (n_cyl,)
        [Pa]
    leaked : float
        Past the rings of all cylinders, mean over the cycle [kg/s].
    """

    air_flow: float
    fuel_flow: float
    nitrous_flow: float
    total_flow: float
    plenum_pressure: float
    exhaust_pressure: Array
    exhaust_temperature: Array
    outlet_flow: Array
    brake_power: float
    peak_pressure: Array
    leaked: float = 0.0


class Steering(Protocol):
    """Sets the engine's surroundings anew after every cycle."""

    def step(
        self, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> tuple[OperatingPoint, Breathing, float]:
        """New surroundings, and the largest relative change that they still make."""
        ...
