"""Invented engines for the tests of the gas model."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from blockwright.gas import Breathing, OperatingPoint
from blockwright.gas.valves import area_from_diameter, lift_on_cycle


def engine(
    cylinders: int = 4,
    bore: float = 0.1016,
    stroke: float = 0.0884,
    ratio: float = 10.5,
    intake: tuple[float, float, float] = (35.0, 70.0, 0.0145),
    exhaust: tuple[float, float, float] = (75.0, 35.0, 0.0140),
    **more: Any,
) -> Breathing:
    """An invented engine; cams as (opens before, closes after the dead centre [deg], lift [m])."""
    swept = 0.25 * math.pi * bore**2 * stroke
    given: dict[str, Any] = {
        "bore": bore,
        "stroke": stroke,
        "rod": 1.64 * stroke,
        "clearance_volume": swept / (ratio - 1.0),
        "firing": 720.0 / cylinders * np.arange(cylinders),
        "intake_area": area_from_diameter(
            lift_on_cycle(360.0 - intake[0], 540.0 + intake[1], intake[2]), 0.51 * bore, 1
        ),
        "exhaust_area": area_from_diameter(
            lift_on_cycle(180.0 - exhaust[0], 360.0 + exhaust[1], exhaust[2]), 0.40 * bore, 1, exhaust=True
        ),
        "plenum_volume": 0.6 * swept * cylinders,
        "exhaust_volume": 1.2 * swept * cylinders,
        "throttle_area": 0.10 * cylinders * 0.25 * math.pi * bore**2,
        "outlet_area": 0.09 * cylinders * 0.25 * math.pi * bore**2,
    }
    return Breathing(**(given | more))


def point(rpm: float = 6000.0, **more: Any) -> OperatingPoint:
    """An invented operating point at full load."""
    given: dict[str, Any] = {
        "speed": rpm * math.pi / 30.0,
        "plenum_pressure": 1.0e5,
        "plenum_temperature": 300.0,
        "exhaust_pressure": 1.0e5,
        "lambda_": 0.88,
        "fuel": "petrol-98",
        "ca10": -8.0,
        "burn_10_90": 30.0,
    }
    return OperatingPoint(**(given | more))
