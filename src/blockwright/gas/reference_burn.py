"""The turbulence with which a flame takes the time that burning takes in engines of its kind.

With the constants as published the entrainment flame is slower than engines are: it leaves out how a
chamber gathers the charge around the plug, and squish.  The published models carry a factor for that,
fitted to one measured burn.  Here it is found from the 10 to 90 % duration of the build (measured, or
what is typical of the number of valves) for half burned at 8 deg after top dead centre; mixture, speed,
residual gas, nitrous oxide and pressure then act through the flame.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..errors import OutsideValidity
from .closed import closed_details
from .model import Breathing, OperatingPoint, Trapped

Array = NDArray[np.float64]

#: Factors on the turbulence and sparks [deg after TDC] between which the burn is sought.
_FACTORS = np.geomspace(0.4, 5.0, 11)
_SPARKS = np.linspace(-80.0, -4.0, 11)
#: Half burned, after top dead centre, at the spark of best torque [deg] (8 to 10: Heywood 1988, ch. 9; from memory).
BEST_CA50 = 8.0
#: Usual filling, warming on the way in [K] and residual gas of the atmospheric engine that durations are told of.
_FILLING, _WARMING, _RESIDUAL = 0.95, 55.0, 0.04


def usual_charge(breathing: Breathing, point: OperatingPoint) -> Trapped:
    """The charge of an engine that fills as engines usually do, when the intake has shut."""
    mass = _FILLING * point.plenum_pressure * breathing.swept_volume / (283.0 * point.plenum_temperature)
    masses = mass * ((1.0 - _RESIDUAL) * point.charge() + _RESIDUAL * point.ash())
    temperature = point.plenum_temperature + _WARMING
    room = float(breathing.volume(np.array(breathing.intake_closes)))
    pressure = mass * 283.0 * temperature / room
    return Trapped(breathing.intake_closes, pressure, temperature, masses)


def reference_turbulence(breathing: Breathing, point: OperatingPoint, burn_10_90: float) -> float:
    """Factor on the flame's turbulence with which 10 to 90 % take a duration at best torque.

    Parameters
    ----------
    breathing, point
        The engine, and the running for which the duration is told.
    burn_10_90 : float
        [deg]

    Raises
    ------
    OutsideValidity
        When no factor from 0.4 to 5 burns that slowly or quickly.
    """
    factors, sparks = (a.ravel() for a in np.meshgrid(_FACTORS, _SPARKS, indexing="ij"))
    seen = closed_details(
        breathing, usual_charge(breathing, point), point, spark=sparks, turbulence=factors, steps=1
    )
    angles = seen.burn_angles()
    shape = (_FACTORS.size, _SPARKS.size)
    ca50 = angles[:, 2].reshape(shape)
    duration = (angles[:, 3] - angles[:, 1]).reshape(shape)
    at_best = np.array([_at(BEST_CA50, c, d) for c, d in zip(ca50, duration, strict=True)])
    known = np.isfinite(at_best)
    order = np.argsort(at_best[known])
    found = np.interp(
        burn_10_90, at_best[known][order], np.log(_FACTORS[known][order]), left=np.nan, right=np.nan
    )
    if not np.isfinite(found):
        low, high = (np.nanmin(at_best), np.nanmax(at_best)) if known.any() else (np.nan, np.nan)
        raise OutsideValidity(
            f"spark.burn_duration: {burn_10_90:.1f} deg; the flame model burns 10 to 90 % in {low:.0f} to "
            f'{high:.0f} deg here. Check it, or give spark.law = "wiebe"'
        )
    return float(np.exp(found))


def _at(wanted: float, places: Array, values: Array) -> float:
    """Value where a rising row of places reaches `wanted`; NaN outside."""
    order = np.argsort(places)
    return float(np.interp(wanted, places[order], values[order], left=np.nan, right=np.nan))
