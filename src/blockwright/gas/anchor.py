"""Scale the flame's turbulence to a burn that was measured."""

from __future__ import annotations

import dataclasses

import numpy as np

from ..errors import InputError, OutsideValidity
from .closed import closed_details
from .model import Breathing, OperatingPoint, Trapped

#: Factors on the turbulence that are tried.
FACTORS = np.geomspace(0.2, 6.0, 25)


def anchored_factor(
    breathing: Breathing,
    trapped: Trapped,
    point: OperatingPoint,
    *,
    burn_10_90: float | None = None,
    ca50: float | None = None,
) -> float:
    """Factor on the turbulence (`OperatingPoint.turbulence`) with which the flame burns as measured.

    Parameters
    ----------
    breathing, trapped, point
        The engine, its charge and how it ran at the measurement; the law is taken as the flame.
    burn_10_90, ca50 : float
        One of them: duration [deg], or angle of half burned [deg after TDC] at `point.spark`.

    Returns
    -------
    float
        [-]; takes the place of `point.turbulence`.

    Raises
    ------
    InputError
        When neither or both are given.
    OutsideValidity
        When no factor from 0.2 to 6 burns that slowly or quickly.

    Notes
    -----
    Only the turbulence is scaled, at the measured point; speed, mixture and residual gas go on through the
    model.  Not used unless something was measured.
    """
    if (burn_10_90 is None) == (ca50 is None):
        raise InputError("give either the measured 10-90 % duration or the measured 50 % angle")
    wanted, column = (burn_10_90, None) if burn_10_90 is not None else (ca50, 2)
    flame = dataclasses.replace(point, law="flame")
    factors = FACTORS
    for _ in range(3):
        marks = closed_details(breathing, trapped, flame, turbulence=factors).burn_angles()
        found = marks[:, 3] - marks[:, 1] if column is None else marks[:, column]
        order = np.argsort(found)
        fitting = np.interp(float(wanted or 0.0), found[order], np.log(factors[order]), np.nan, np.nan)
        if not np.isfinite(fitting):
            raise OutsideValidity(
                f"no turbulence burns as measured ({wanted:.1f} deg): with factors from {factors.min():.1f} "
                f"to {factors.max():.1f} the model gives {np.nanmin(found):.1f} to "
                f"{np.nanmax(found):.1f} deg; "
                "check the measurement, or give the burn itself instead of the flame"
            )
        factors = np.exp(fitting) * np.geomspace(0.9, 1.1, 5)
    return float(np.exp(fitting))
