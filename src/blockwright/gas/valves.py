"""Lift of a valve against crank angle, and its effective area from what a flow bench measured."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import InputError
from .model import PLACES
from .monotone import monotone_cubic

Array = NDArray[np.float64]

#: Air on the bench: 20 C, 101 325 Pa, dry.
BENCH_PRESSURE = 101_325.0
BENCH_TEMPERATURE = 293.15
AIR_CONSTANT = 287.05
AIR_GAMMA = 1.4

#: Exponents of the lift polynomial: highest near the nose, two that fasten it to the base circle.
EXPONENTS = (2, 10, 14)

#: Discharge coefficient on curtain area against lift over diameter, a good port (+-0.05; from memory).
TYPICAL_LIFT_RATIO = np.array([0.0, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35])
TYPICAL_INTAKE = np.array([0.70, 0.70, 0.68, 0.65, 0.60, 0.55, 0.49, 0.43])
TYPICAL_EXHAUST = np.array([0.68, 0.68, 0.68, 0.66, 0.63, 0.58, 0.52, 0.46])

OWN_ANGLE = np.arange(PLACES) / 4.0


def flow_coefficient(ratio: ArrayLike, gamma: float = AIR_GAMMA) -> Array:
    r"""Mass flow over A p0 / sqrt(R T0) through an isentropic throat [-].

    .. math:: r^{1/\gamma}\sqrt{\tfrac{2\gamma}{\gamma-1}\left(1-r^{(\gamma-1)/\gamma}\right)}

    with r no lower than the critical ratio.  Heywood (1988), app. C.
    """
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
    r = np.clip(np.asarray(ratio, dtype=float), critical, 1.0)
    return np.asarray(
        r ** (1.0 / gamma) * np.sqrt(2.0 * gamma / (gamma - 1.0) * (1.0 - r ** ((gamma - 1.0) / gamma)))
    )


def bench_area(flow: ArrayLike, depression: float) -> Array:
    """Effective area from a flow-bench reading.

    Parameters
    ----------
    flow : array_like
        Volume flow at the density of the still air upstream [m3/s].
    depression : float
        Pressure difference on the bench [Pa].

    Returns
    -------
    ndarray
        Area of the ideal (isentropic, compressible) nozzle that passes the same mass [m2].
        At 28 inH2O it is 3.7 % larger than with the density taken constant.

    Notes
    -----
    The bench's air is taken at 20 C, 101.325 kPa; a volume flow at other states differs by 1/sqrt(density).
    """
    if not 0.0 < depression < 0.4 * BENCH_PRESSURE:
        raise InputError(f"a depression of {depression:g} Pa; a flow bench works between 0 and 40 kPa")
    speed = math.sqrt(AIR_CONSTANT * BENCH_TEMPERATURE)
    ideal = flow_coefficient(1.0 - depression / BENCH_PRESSURE) * speed
    return np.asarray(flow, dtype=float) / ideal


def smooth_lift(angle: ArrayLike, opens: float, closes: float, lift: float) -> Array:
    r"""Lift of a valve from its timing and largest lift alone.

    Parameters
    ----------
    angle : array_like
        Crank angle [deg], same count as `opens` and `closes`.
    opens, closes : float
        Where the lift leaves and meets zero, ``opens < closes`` [deg].
    lift : float
        Largest lift, midway [m].

    Returns
    -------
    ndarray
        [m], 0 outside.

    Notes
    -----
    .. math:: y/L = 1 + \sum_i C_i |s|^{n_i}, \quad n = 2, 10, 14

    with s from -1 to 1 across the opening and the C such that lift, velocity and acceleration
    vanish at s = 1: lift, velocity and acceleration are continuous everywhere.  Own derivation; the family
    of even powers is textbook material of cam design.  Its mean is 0.55 of the lift.
    """
    p, q, r = EXPONENTS
    matrix = np.array([[1.0, 1.0, 1.0], [p, q, r], [p * (p - 1), q * (q - 1), r * (r - 1)]])
    c = np.linalg.solve(matrix, [-1.0, 0.0, 0.0])
    s = np.abs((np.asarray(angle, dtype=float) - 0.5 * (opens + closes)) / (0.5 * (closes - opens)))
    inside = s < 1.0
    s = np.where(inside, s, 1.0)
    y = 1.0 + c[0] * s**p + c[1] * s**q + c[2] * s**r
    return np.where(inside, lift * np.maximum(y, 0.0), 0.0)


def lift_on_cycle(opens: float, closes: float, lift: float) -> Array:
    """`smooth_lift` at every quarter degree of the cycle; the angles may pass 0 or 720 deg."""
    if not closes > opens:
        raise InputError(f"a valve that opens at {opens:g} deg must shut later than at {closes:g} deg")
    if closes - opens > 500.0:
        raise InputError(f"a valve open for {closes - opens:g} deg; a cycle has 720")
    return sum(
        (smooth_lift(OWN_ANGLE + turn, opens, closes, lift) for turn in (-720.0, 0.0, 720.0)),
        start=np.zeros(PLACES),
    )


def lift_from_points(angle: ArrayLike, lift: ArrayLike) -> Array:
    """Measured lift at every quarter degree, by a shape-keeping cubic through the points given."""
    x, y = np.asarray(angle, dtype=float), np.asarray(lift, dtype=float)
    if x.size < 3 or np.any(np.diff(x) <= 0.0) or np.any(y < 0.0):
        raise InputError("a lift curve needs at least three points of rising angle and lifts of at least 0")
    if x[-1] - x[0] > 720.0:
        raise InputError(f"a lift curve over {x[-1] - x[0]:g} deg; a cycle has 720")
    lifts = np.zeros_like(OWN_ANGLE)
    for turn in (-720.0, 0.0, 720.0):
        at = OWN_ANGLE + turn
        lifts += np.where((at >= x[0]) & (at <= x[-1]), monotone_cubic(x, y, at), 0.0)
    return lifts


def area_from_bench(lift: Array, bench_lift: ArrayLike, bench_flow: ArrayLike, depression: float) -> Array:
    """Effective area [m2] at lifts [m] from a table of lift [m] and volume flow [m3/s].

    Shape-keeping cubic between the points, zero at zero lift, constant above the last lift
    measured (a port that has stopped gaining).
    """
    x = np.asarray(bench_lift, dtype=float)
    area = bench_area(bench_flow, depression)
    if x.size < 2 or np.any(np.diff(x) <= 0.0) or np.any(area < 0.0):
        raise InputError("a flow table needs at least two rows of rising lift and flows of at least 0")
    if x[0] > 0.0:
        x, area = np.concatenate([[0.0], x]), np.concatenate([[0.0], area])
    return np.maximum(monotone_cubic(x, area, lift), 0.0)


def area_from_diameter(lift: Array, diameter: float, count: int, exhaust: bool = False) -> Array:
    """Effective area [m2] from valve diameter [m] and count with a typical port's coefficients."""
    table = TYPICAL_EXHAUST if exhaust else TYPICAL_INTAKE
    coefficient = np.interp(lift / diameter, TYPICAL_LIFT_RATIO, table)
    # Beyond 0.35 of the diameter the port limits: the area stays as it is there.
    curtain = np.minimum(lift, TYPICAL_LIFT_RATIO[-1] * diameter) * math.pi * diameter
    return np.asarray(count * coefficient * curtain)
