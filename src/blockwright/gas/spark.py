"""Spark for best torque, knock-limited spark, and the margin to it in degrees and octane numbers.

Everything works on batches: the closed cycles of sixteen sparks are one call.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, NotSettled
from .knock import (
    OCTANE_POWER,
    Octane,
    constant,
    delay_spread,
    integral_at_end,
    knock_integral,
    knock_onset,
    octane_required,
    spread,
)
from .model import Breathing, OperatingPoint, Trapped

Array = NDArray[np.float64]

#: Sparks that one call computes, and the angles searched [deg before top dead centre].
BATCH = 16
EARLIEST, LATEST = 60.0, -10.0
#: Reference octane number of the integrals; any other follows by a power.
REFERENCE = 100.0


@dataclass(frozen=True)
class Swept:
    """Closed cycles of a batch of sparks.

    Attributes
    ----------
    work : ndarray, shape (B,)
        On the piston from the shut intake to the opening exhaust [J].
    peak : ndarray, shape (B,)
        Highest pressure [Pa].
    pressure, end_gas_temperature : ndarray, shape (B, 720)
        At whole degrees after firing top dead centre [Pa], [K]; NaN where there is no such gas.
    unburned : ndarray, shape (B, 720), or None
        Share of what burns that is not yet burned [-].
    """

    work: Array
    peak: Array
    pressure: Array
    end_gas_temperature: Array
    unburned: Array | None = None


#: Fields of a `Sweep`, each one figure a spark.
_FIELDS = ("spark", "work", "peak", "required", "onset", "hottest", "end_u")
#: Runs the closed cycles of a batch of sparks [deg before top dead centre].
Run = Callable[[Array], Swept]


@dataclass(frozen=True)
class Sweep:
    """What a batch of sparks, rising, gives.

    Attributes
    ----------
    spark : ndarray, shape (B,)
        [deg before top dead centre]
    work, peak : ndarray, shape (B,)
        [J], [Pa]
    required : ndarray, shape (B,)
        Octane number that just prevents knock [-].
    onset : ndarray, shape (B,)
        Angle at which a fuel of the index asked for knocks [deg after top dead centre]; NaN without knock.
    hottest : ndarray, shape (B,)
        End gas's highest temperature [K].
    end_u : ndarray, shape (B,)
        Uncertainty of `required` from the share of end gas that no longer counts [-].
    """

    spark: Array
    work: Array
    peak: Array
    required: Array
    onset: Array
    hottest: Array
    end_u: Array


@dataclass(frozen=True)
class Limit:
    """A spark found in the range searched.

    Attributes
    ----------
    spark : float
        [deg before top dead centre]
    found : str
        ``"inside"`` the range; ``"earlier"`` or ``"later"`` when it lies beyond the earliest or latest
        searched, which `spark` then holds.
    """

    spark: float
    found: str


@dataclass(frozen=True)
class SparkMargin:
    """Where a spark stands between best torque and knock.

    Attributes
    ----------
    spark : float
        The spark judged [deg before top dead centre].
    best, limited : Limit
        For best torque, and the earliest without knock.
    best_work, work, limited_work : float
        Closed work at the three sparks [J].
    required, index : float
        Octane number the engine needs at this spark, and what the fuel offers [-].
    octane_margin, octane_u : float
        Their difference and its standard uncertainty [-].
    degrees_margin, degrees_u : float
        Degrees of advance left before knock, negative when it knocks [deg].
    slope : float
        Octane numbers that one more degree needs at this spark [1/deg].
    onset : float
        Angle at which it knocks [deg after top dead centre]; NaN when it does not.
    retard : float
        Degrees to take out so that it stays at the limit [deg], 0 when none.
    caution : str
        What must be said beside the figures.
    """

    spark: float
    best: Limit
    limited: Limit
    best_work: float
    work: float
    limited_work: float
    required: float
    index: float
    octane_margin: float
    octane_u: float
    degrees_margin: float
    degrees_u: float
    slope: float
    onset: float
    retard: float
    caution: str


def evaluate(run: Run, sparks: Array, speed: float, index: float = REFERENCE) -> Sweep:
    """Run a batch of sparks [deg before top dead centre] at a speed [rad/s] and weigh its end gas."""
    sparks = np.asarray(sparks, dtype=float)
    swept = run(sparks)
    if not np.all(np.isfinite(swept.work)):
        bad = ", ".join(f"{s:.0f}" for s in sparks[~np.isfinite(swept.work)])
        raise NotSettled(f"the closed cycle gave no work with the spark at {bad} deg before top dead centre")
    # From the bottom dead centre before firing to the one after it, rising.
    angle = np.arange(-360.0, 360.0)
    pressure = np.roll(swept.pressure, 360, axis=1)
    temperature = np.roll(swept.end_gas_temperature, 360, axis=1)
    unburned = None if swept.unburned is None else np.roll(swept.unburned, 360, axis=1)
    grown = knock_integral(pressure, temperature, angle, speed, REFERENCE)
    least, least_u = constant("knock.least_end_gas"), spread("knock.least_end_gas")
    required, early, late = (
        octane_required(integral_at_end(grown, unburned, at), REFERENCE)
        for at in (least, least + least_u, least - least_u)
    )
    onset = knock_onset(angle, grown * (REFERENCE / index) ** OCTANE_POWER)
    onset = np.where(required > index, onset, np.nan)
    hottest = np.nanmax(temperature, axis=1)
    return Sweep(sparks, swept.work, swept.peak, required, onset, hottest, 0.5 * (late - early))


def _grid(latest: float, earliest: float) -> Array:
    if not latest < earliest:
        raise InputError(f"sparks from {latest:g} to {earliest:g} deg: the earliest must be larger")
    return np.linspace(latest, earliest, BATCH)


def _best_bracket(sweep: Sweep) -> tuple[float, float]:
    i = int(np.argmax(sweep.work))
    last = sweep.spark.size - 1
    return float(sweep.spark[max(i - 1, 0)]), float(sweep.spark[min(i + 1, last)])


def _top(spark: Array, work: Array) -> tuple[float, float]:
    """Top of the parabola through samples about a maximum, inside them, and its height."""
    centre = float(spark.mean())
    law = np.polyfit(spark - centre, work, 2)
    i = int(np.argmax(work))
    if law[0] >= 0.0:
        return float(spark[i]), float(work[i])
    top = float(np.clip(centre - 0.5 * law[1] / law[0], spark[0], spark[-1]))
    return top, float(np.polyval(law, top - centre))


def _crossing(spark: Array, required: Array, index: float) -> tuple[int, str]:
    """First interval, coming from late sparks, in which the octane number required passes the index."""
    if required[0] > index:
        return 0, "later"
    over = np.flatnonzero(required > index)
    if not over.size:
        return spark.size - 2, "earlier"
    return int(over[0]) - 1, "inside"


def _limited(sweep: Sweep, index: float) -> Limit:
    k, found = _crossing(sweep.spark, sweep.required, index)
    if found != "inside":
        return Limit(float(sweep.spark[0] if found == "later" else sweep.spark[-1]), found)
    r, s = sweep.required[k : k + 2], sweep.spark[k : k + 2]
    return Limit(float(s[0] + (index - r[0]) / (r[1] - r[0]) * (s[1] - s[0])), "inside")


def _joined(first: Sweep, second: Sweep) -> Sweep:
    """Two sweeps as one, rising, each spark once."""
    spark = np.concatenate([first.spark, second.spark])
    _, order = np.unique(spark, return_index=True)

    def pick(name: str) -> Array:
        both = np.concatenate([getattr(first, name), getattr(second, name)])
        return np.asarray(both[order], dtype=np.float64)

    return Sweep(*(pick(name) for name in _FIELDS))


def spark_for_best_torque(
    run: Run, speed: float, latest: float = LATEST, earliest: float = EARLIEST
) -> tuple[Limit, float]:
    """Spark with the most closed work, and that work [J], whether it knocks or not."""
    coarse = evaluate(run, _grid(latest, earliest), speed)
    fine = evaluate(run, _grid(*_best_bracket(coarse)), speed)
    return _best(coarse, fine)


def _best(coarse: Sweep, fine: Sweep) -> tuple[Limit, float]:
    i = int(np.argmax(coarse.work))
    spark, work = _top(fine.spark, fine.work)
    found = "later" if i == 0 else ("earlier" if i == coarse.spark.size - 1 else "inside")
    if found != "inside" and fine.spark[0] < spark < fine.spark[-1]:
        found = "inside"
    return Limit(spark, found), work


def knock_limited_spark(
    run: Run, speed: float, index: float, latest: float = LATEST, earliest: float = EARLIEST
) -> Limit:
    """Earliest spark at which a fuel of an octane index does not knock."""
    coarse = evaluate(run, _grid(latest, earliest), speed, index)
    k, found = _crossing(coarse.spark, coarse.required, index)
    if found != "inside":
        return _limited(coarse, index)
    fine = evaluate(run, _grid(float(coarse.spark[k]), float(coarse.spark[k + 1])), speed, index)
    return _limited(fine, index)


def spark_margin(
    run: Run,
    spark: float,
    octane: Octane,
    point: OperatingPoint,
    latest: float = LATEST,
    earliest: float = EARLIEST,
) -> SparkMargin:
    """Judge a spark [deg before top dead centre] in two batches of closed cycles.

    The first batch spans the range, the second refines best torque and the knock limit together and holds
    the spark itself.

    Parameters
    ----------
    run : callable
        Closed cycles of a batch of sparks, such as `closed_run` gives.
    spark : float
    octane : Octane
        Of the fuel in this engine: `gas.knock.effective_octane`.
    point : OperatingPoint
        Gives speed, lambda and nitrous.
    """
    index, speed = octane.index, point.speed
    coarse = evaluate(run, _grid(latest, earliest), speed, index)
    low, high = _best_bracket(coarse)
    k, _ = _crossing(coarse.spark, coarse.required, index)
    around = np.linspace(coarse.spark[k], coarse.spark[k + 1], 8)[1:-1]
    wanted = np.concatenate([np.linspace(low, high, 7), around, spark + np.array([-1.0, 0.0, 1.0])])
    fine = evaluate(run, np.sort(wanted), speed, index)
    every = _joined(coarse, fine)
    near = (every.spark >= low) & (every.spark <= high)
    best, best_work = _best(coarse, Sweep(*(getattr(every, n)[near] for n in _FIELDS)))
    limited = _limited(every, index)

    def at(name: str, place: float) -> float:
        return float(np.interp(place, every.spark, getattr(every, name)))

    required, work = at("required", spark), at("work", spark)
    slope = 0.5 * (at("required", spark + 1.0) - at("required", spark - 1.0))
    octane_u, degrees_u = _uncertainty(
        required, at("hottest", spark), at("end_u", spark), slope, octane, point
    )
    row = int(np.argmin(np.abs(every.spark - spark)))
    margin = limited.spark - spark
    return SparkMargin(
        spark=spark,
        best=best,
        limited=limited,
        best_work=best_work,
        work=work,
        limited_work=at("work", limited.spark),
        required=required,
        index=index,
        octane_margin=index - required,
        octane_u=octane_u,
        degrees_margin=margin,
        degrees_u=degrees_u,
        slope=slope,
        onset=float(every.onset[row]),
        retard=max(-margin, 0.0),
        caution=_caution(limited, octane, point),
    )


def _uncertainty(
    required: float, hottest: float, end_u: float, slope: float, octane: Octane, point: OperatingPoint
) -> tuple[float, float]:
    """Standard uncertainty of the margin in octane numbers and in degrees."""
    u_delay = float(delay_spread(hottest, point.lambda_, nitrous_oxygen(point)))
    octane_u = math.hypot(required * u_delay / OCTANE_POWER, end_u, octane.u)
    degrees_u = octane_u / slope if slope > 1e-3 else math.inf
    return octane_u, math.hypot(degrees_u, constant("knock.spark_scatter"))


def nitrous_oxygen(point: OperatingPoint) -> float:
    """Share of the charge's oxygen that nitrous oxide brings [-]."""
    brought = float(point.gas.constants[15]) * point.nitrous
    return brought / (1.0 + brought)


def _caution(limited: Limit, octane: Octane, point: OperatingPoint) -> str:
    told = [octane.caution] if octane.caution else []
    if limited.found == "earlier":
        told.append("no knock up to the earliest spark searched: the margin is at least this")
    if limited.found == "later":
        told.append("knocks even at the latest spark searched: the margin is at most this")
    if point.nitrous > 0.0:
        told.append("what nitrous oxide does to the ignition delay is not known; its band is our estimate")
    return "; ".join(told)


def closed_run(breathing: Breathing, trapped: Trapped, point: OperatingPoint) -> Run:
    """Closed cycles of one trapped charge as a function of the spark [deg before top dead centre].

    With the flame model the spark lights it.  With a given burn law the whole law moves with the spark as
    far as the spark moves from the point's own, its length kept.
    """
    from .closed import closed_details

    def run(sparks: Array) -> Swept:
        after = -np.asarray(sparks, dtype=float)
        if point.law == "flame":
            cycles = closed_details(breathing, trapped, point, spark=after)
        else:
            cycles = closed_details(breathing, trapped, point, ca10=point.ca10 + after - point.spark)
        burned = cycles.burned_share
        final = np.nanmax(burned, axis=1, keepdims=True)
        return Swept(
            work=cycles.work,
            peak=np.nanmax(cycles.pressure, axis=1),
            pressure=cycles.pressure,
            end_gas_temperature=cycles.unburned_temperature,
            unburned=1.0 - burned / np.where(final > 0.0, final, 1.0),
        )

    return run
