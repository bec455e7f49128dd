"""Scatter of peak pressure and work from cycle to cycle, and from cylinder to cylinder."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

from ..build import catalogue
from .closed import closed_details
from .combustion import as_profile, burn_summary
from .model import Breathing, OperatingPoint, Trapped

Array = NDArray[np.float64]

#: Spark to 10 % burned where no spark is known before the 10 % angle [deg]: middle of Heywood's 12-25.
USUAL_DELAY = 20.0


@functools.cache
def _constant(name: str) -> float:
    return catalogue.row("model", f"flame.{name}").si("value")


def _hermite(points: int) -> tuple[Array, Array]:
    """Places and weights for the mean over a standard normal variable."""
    places, weights = np.polynomial.hermite_e.hermegauss(points)
    return places, weights / weights.sum()


def _charged(trapped: Trapped, factor: Array) -> Trapped:
    """The charge multiplied by a factor, shape (B,), at the same temperature."""
    masses = np.atleast_2d(np.asarray(trapped.masses, dtype=float))[0]
    pressure = float(np.atleast_1d(trapped.pressure)[0])
    temperature = float(np.atleast_1d(trapped.temperature)[0])
    return Trapped(trapped.angle, pressure * factor, temperature, factor[:, None] * masses)


def _held(
    breathing: Breathing, trapped: Trapped, point: OperatingPoint
) -> tuple[OperatingPoint, float, float]:
    """The burn as a law in 10 % angle and duration; early angle [deg]; growth of the duration when late [-].

    A flame that starts late burns more slowly: d(10-90)/d(10 %), from the flame with the spark moved
    by 3 deg either way; 0 with a given law.
    """
    if point.law != "flame":
        early = point.ca10 - point.spark
        return point, early if early > 5.0 else USUAL_DELAY, 0.0
    one = _charged(trapped, np.ones(1))
    sparks = point.spark + np.array([-3.0, 0.0, 3.0])
    seen = closed_details(breathing, one, point, spark=sparks)
    marks = seen.burn_angles()
    duration = marks[:, 3] - marks[:, 1]
    growth = (duration[2] - duration[0]) / (marks[2, 1] - marks[0, 1])
    held = as_profile(point, burn_summary(seen.burned_share[1], point.spark))
    return held, float(marks[1, 1] - point.spark), float(growth)


def peak_spread(
    breathing: Breathing,
    trapped: Trapped,
    point: OperatingPoint,
    *,
    early: float | None = None,
    main: float | None = None,
    charge: float | None = None,
) -> tuple[float, float]:
    """Cycle-to-cycle coefficient of variation of the peak pressure and of the work [-].

    Parameters
    ----------
    breathing, trapped, point
        The engine, its charge, how it runs.
    early, main, charge : float or None
        Standard deviations over the means: of the spark-to-10 % angle, of the 10-90 % duration at a given
        early burn, of the charge [-].  None: ``models/flame.toml``.

    Returns
    -------
    cov_pmax, cov_imep : float
        The second of the closed part's work, pumping left out.

    Notes
    -----
    The three scatter independently and normally; the closed cycle is run at the 5 x 5 x 3 places of a Gauss
    rule, so that a peak that first rises and then falls with phasing is met.  A flame that
    starts late also burns longer, as the model says.  At full load, without misfire: mixture
    scatter between cycles and idling race cams are not in it.
    """
    held, delay, growth = _held(breathing, trapped, point)
    sd = [
        _constant(name) if given is None else given
        for name, given in (("early_scatter", early), ("main_scatter", main), ("charge_scatter", charge))
    ]
    (x, wx), (z, wz) = _hermite(5), _hermite(3)
    late = (delay * sd[0] * x)[:, None, None] + np.zeros((5, 5, 3))
    longer = (held.burn_10_90 + growth * late) * np.exp(sd[1] * x)[None, :, None]
    more = np.exp(sd[2] * z)[None, None, :] + np.zeros((5, 5, 3))
    weight = (wx[:, None, None] * wx[None, :, None] * wz[None, None, :]).ravel()
    seen = closed_details(
        breathing, _charged(trapped, more.ravel()), held, ca10=held.ca10 + late.ravel(),
        burn_10_90=longer.ravel(),
    )  # fmt: skip
    return _cov(seen.peak_pressure, weight), _cov(seen.work, weight)


def _cov(values: Array, weight: Array) -> float:
    mean = float(weight @ values)
    return float(np.sqrt(weight @ (values - mean) ** 2) / mean)


def cylinder_spread(
    breathing: Breathing, trapped: Trapped, point: OperatingPoint, *, charge: float | None = None
) -> float:
    """Cylinder-to-cylinder coefficient of variation of the mean peak pressure [-].

    What a model of like cylinders does not show: the scatter of their charges (``cylinder_charge_scatter``)
    times d(ln pmax)/d(ln charge).  Differences that the ducts make are in the solved cycle and come on top.
    """
    sd = _constant("cylinder_charge_scatter") if charge is None else charge
    held, _, _ = _held(breathing, trapped, point)
    factor = np.exp(np.array([-0.02, 0.02]))
    peaks = closed_details(breathing, _charged(trapped, factor), held).peak_pressure
    return float(sd * np.log(peaks[1] / peaks[0]) / 0.04)
