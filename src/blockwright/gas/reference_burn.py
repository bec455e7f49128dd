"""The turbulence with which a flame takes the time that burning takes in engines of its kind.

How turbulent a charge is nobody measures, and how a chamber gathers it around the plug is not in the
entrainment flame.  The published models carry a factor for that, fitted to one measured burn.  Here it is
found from the 10 to 90 % duration of the build (measured, or what is typical of the number of valves) for
half burned at 8 deg after top dead centre; mixture, speed, residual gas, nitrous oxide and pressure then
act through the flame.  The early burn follows; in two-valve chambers it stays longer than usual.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import OutsideValidity
from .closed import closed_details
from .model import Breathing, OperatingPoint, Trapped
from .monotone import monotone_cubic

Array = NDArray[np.float64]

#: Logs of the factors on the turbulence between which the burn is sought.
_FACTORS = np.log(np.geomspace(0.4, 5.0, 61))
#: Earliest and latest spark [deg after TDC], and how many between them are tried.
_EARLIEST, _LATEST, _SPARKS = -80.0, 8.0, 7
#: No spark before this long after the intake has shut [deg].
_SHUT = 5.0
#: Where about a coarse find the fine one looks: ln of the factor, spark [deg].
_NEAR, _ABOUT = np.linspace(-0.1, 0.1, 3), np.array([-3.0, 0.0, 3.0])
#: Factors on the burning time behind the front that are tried.
_BURN_UPS = np.array([0.05, 0.2, 0.5, 1.0, 2.0])
#: Half burned at the spark of best torque [deg after TDC] (8 to 10: Heywood 1988, ch. 9; from memory).
BEST_CA50 = 8.0
#: Usual filling, warming on the way in [K] and residual gas of the engine that durations are told of.
_FILLING, _WARMING, _RESIDUAL = 0.95, 55.0, 0.04


@dataclass(frozen=True)
class ReferenceBurn:
    """The turbulence that makes a burn, and how near to the wanted one it comes.

    Attributes
    ----------
    turbulence, burn_up : float
        Factors on the flame's turbulence and on its burning time behind the front [-].
    delay : float
        Spark to 10 % burned that they make there [deg]; NaN where none does.
    burn_10_90 : float
        10 to 90 % duration that it makes with half burned at 8 deg [deg]; NaN where none does that.
    wanted : float
        Duration that was asked for [deg].
    reach : tuple of float
        Shortest and longest duration that the flame makes here [deg].
    """

    turbulence: float
    burn_10_90: float
    wanted: float
    reach: tuple[float, float]
    burn_up: float = 1.0
    delay: float = math.nan

    @property
    def reached(self) -> bool:
        """Whether the wanted duration lies within reach."""
        return self.reach[0] <= self.wanted <= self.reach[1]

    @property
    def note(self) -> str | None:
        """What to say where the wanted duration is out of reach; None where it is not."""
        if self.reached:
            return None
        low, high = self.reach
        if math.isnan(self.burn_10_90):
            return "spark.burn_duration: with no turbulence has the flame model half burned at 8 deg here"
        return (
            f"spark.burn_duration: {self.wanted:.1f} deg; the flame model burns 10 to 90 % in {low:.1f} to "
            f"{high:.1f} deg here"
        )


def usual_charge(breathing: Breathing, point: OperatingPoint) -> Trapped:
    """The charge of an engine that fills as engines usually do, when the intake has shut."""
    mass = _FILLING * point.plenum_pressure * breathing.swept_volume / (283.0 * point.plenum_temperature)
    masses = mass * ((1.0 - _RESIDUAL) * point.charge() + _RESIDUAL * point.ash())
    temperature = point.plenum_temperature + _WARMING
    room = float(breathing.volume(np.array(breathing.intake_closes)))
    pressure = mass * 283.0 * temperature / room
    return Trapped(breathing.intake_closes, pressure, temperature, masses)


def reference_turbulence(breathing: Breathing, point: OperatingPoint, burn_10_90: float) -> float:
    """Factor on the flame's turbulence of `given_burn` [-]."""
    return given_burn(breathing, point, burn_10_90).turbulence


def given_burn(
    breathing: Breathing, point: OperatingPoint, burn_10_90: float, delay: float | None = None
) -> ReferenceBurn:
    """As `reference_burn`, of a duration that must be reached [deg].

    Raises
    ------
    OutsideValidity
        When no factor from 0.4 to 5 burns that slowly or quickly.
    """
    found = reference_burn(breathing, point, burn_10_90, delay)
    if not found.reached:
        raise OutsideValidity(f'{found.note}. Check it, or give spark.law = "wiebe"')
    return found


def reference_burn(
    breathing: Breathing, point: OperatingPoint, burn_10_90: float, delay: float | None = None
) -> ReferenceBurn:
    """Turbulence, and burning time behind the front, that make a burn at best torque or come nearest to it.

    Parameters
    ----------
    breathing, point
        The engine, and the running for which the burn is told.
    burn_10_90 : float
        [deg]
    delay : float or None
        Spark to 10 % burned [deg].  It is met by the burning time behind the front, which rules the early
        flame and hardly the rest; None leaves that as the catalogue has it.
    """
    if delay is None:
        return _by_turbulence(breathing, point, burn_10_90)
    made = [_by_turbulence(breathing, replace(point, burn_up=b), burn_10_90) for b in _BURN_UPS]
    delays = np.maximum.accumulate(np.array([m.delay for m in made]))
    if not np.all(np.isfinite(delays)):
        return made[-1]
    wanted = np.array([min(max(delay, delays[0]), delays[-1])])
    apart = delays + 1e-9 * np.arange(delays.size)
    share = float(np.exp(monotone_cubic(apart, np.log(_BURN_UPS), wanted)[0]))
    return _by_turbulence(breathing, replace(point, burn_up=share), burn_10_90)


def _by_turbulence(breathing: Breathing, point: OperatingPoint, burn_10_90: float) -> ReferenceBurn:
    """The turbulence with which 10 to 90 % take a duration at best torque, or come nearest to it.

    Notes
    -----
    Half burned comes later with a later spark and earlier with more turbulence, and with half burned held
    the burn grows shorter with more turbulence.  So a coarse table of both brackets the answer, and a fine
    one about it gives it; nothing is iterated, and nothing can fail to settle.
    """
    trapped = usual_charge(breathing, point)
    earliest = max(_EARLIEST, breathing.intake_closes + _SHUT)
    sparks = np.linspace(earliest, _LATEST, _SPARKS)
    coarse = np.linspace(_FACTORS[0], _FACTORS[-1], 7)
    half, length, _ = _table(breathing, trapped, point, coarse, np.tile(sparks, (coarse.size, 1)), steps=1)
    half = np.maximum.accumulate(np.where(np.isfinite(half), half, 999.0), axis=1)
    half, length = (_denser(coarse, t) for t in (half, length))
    inside = (half[:, 0] <= BEST_CA50) & (half[:, -1] >= BEST_CA50)
    if not inside.any():
        # Too slow or too quick at every factor: the end on that side.
        end = _FACTORS[-1] if half[-1, 0] > BEST_CA50 else _FACTORS[0]
        return ReferenceBurn(math.exp(end), math.nan, burn_10_90, (math.nan, math.nan), point.burn_up)
    factors = _FACTORS[inside]
    timing = np.array([np.interp(BEST_CA50, h, sparks) for h in half[inside]])
    rough = np.array([np.interp(s, sparks, d) for s, d in zip(timing, length[inside], strict=True)])
    about = np.interp(-burn_10_90, -np.minimum.accumulate(rough), factors)
    fine = np.unique(np.clip([factors[0], *(about + _NEAR), factors[-1]], factors[0], factors[-1]))
    near = np.interp(fine, factors, timing)[:, None] + _ABOUT
    half, length, early = _table(breathing, trapped, point, fine, near, steps=2)
    quick = -np.log([_parabola(BEST_CA50, h, d) for h, d in zip(half, length, strict=True)])
    quick = np.maximum.accumulate(quick) + 1e-9 * np.arange(quick.size)
    held = min(max(-math.log(burn_10_90), quick[0]), quick[-1])
    found = fine[0] if fine.size == 1 else monotone_cubic(quick, fine, np.array([held]))[0]
    reach = (math.exp(-quick[-1]), math.exp(-quick[0]))
    delays = [_parabola(BEST_CA50, h, e) for h, e in zip(half, early, strict=True)]
    at = float(np.interp(found, fine, delays))
    return ReferenceBurn(math.exp(found), math.exp(-held), burn_10_90, reach, point.burn_up, at)


def _table(
    breathing: Breathing, trapped: Trapped, point: OperatingPoint, factors: Array, sparks: Array, steps: int
) -> tuple[Array, Array, Array]:
    """Half burned, duration, delay [deg], shape (n, m), at logs of factors (n,) and sparks (n, m)."""
    turbulence = np.repeat(np.exp(factors), sparks.shape[1])
    angles = closed_details(
        breathing, trapped, point, spark=sparks.ravel(), turbulence=turbulence, steps=steps
    ).burn_angles()
    found = (angles[:, 2], angles[:, 3] - angles[:, 1], angles[:, 1] - sparks.ravel())
    half, length, early = (a.reshape(sparks.shape) for a in found)
    return half, length, early


def _denser(factors: Array, rows: Array) -> Array:
    """Rows of a table at `_FACTORS`, linear between those at logs of factors (n,)."""
    return np.array([np.interp(_FACTORS, factors, column) for column in rows.T]).T


def _parabola(at: float, x: Array, y: Array) -> float:
    """Lagrange's parabola through three points."""
    a, b, c = x
    return float(
        y[0] * (at - b) * (at - c) / ((a - b) * (a - c))
        + y[1] * (at - a) * (at - c) / ((b - a) * (b - c))
        + y[2] * (at - a) * (at - b) / ((c - a) * (c - b))
    )
