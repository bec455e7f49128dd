"""What is read off a settled point: figures in SI with unit and standard uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from ..build.model import Build
from .run_point import RanPoint, boosted
from .valve_heat import mass_average_temperature


@dataclass(frozen=True)
class Reading:
    """A figure in SI.

    Attributes
    ----------
    value : float or None
        None where it could not be had.
    unit : str
        SI unit; ``"1"`` for a pure number, ``"deg"`` for crank degrees.
    sd : float or None
        Standard uncertainty [same unit]; None where none is known.
    reason : str
        Why there is no value.
    """

    value: float | None
    unit: str
    sd: float | None = None
    reason: str = ""


@dataclass(frozen=True)
class Kind:
    """One quantity of a curve.

    Attributes
    ----------
    key, name : str
        As in the JSON document; in the shop's words.
    unit : str
        SI.
    get : callable
        The value off a settled point of a build; None where it cannot be had.
    relative : bool
        Whether its doubt is carried from speed to speed as a share of the value.
    why : callable
        Why there is no value.
    """

    key: str
    name: str
    unit: str
    get: Callable[[RanPoint, Build], float | None]
    relative: bool = True
    why: Callable[[RanPoint, Build], str] = lambda ran, build: ""


def _boost(ran: RanPoint, build: Build) -> float | None:
    if not boosted(build):
        return None
    return float(ran.cycle.plenum_pressure.mean()) - build.si("conditions.pressure")


def _nitrous(ran: RanPoint, build: Build) -> float | None:
    return ran.cycle.nitrous_flow if ran.cycle.nitrous_flow > 0.0 else None


def _exhaust_temperature(ran: RanPoint) -> float:
    """By the heat it carries [K]: in the ports, mean of the cylinders; without pipes in the exhaust."""
    ports, cycle = ran.cycle.exhaust_port, ran.cycle
    if ports is None:
        return float(mass_average_temperature(cycle.outlet_flow, cycle.exhaust_temperature))
    each = [mass_average_temperature(f, t) for f, t in zip(ports.flow, ports.temperature, strict=True)]
    return float(np.mean(each))


def _consumption(ran: RanPoint, build: Build) -> float | None:
    return ran.cycle.fuel_flow / ran.cycle.brake_power if ran.cycle.brake_power > 0.0 else None


def _back_pressure(ran: RanPoint, build: Build) -> float:
    return float(ran.cycle.exhaust_pressure.mean()) - build.si("conditions.pressure")


def _plain(read: Callable[[RanPoint], float]) -> Callable[[RanPoint, Build], float | None]:
    return lambda ran, build: read(ran)


KINDS: Mapping[str, Kind] = {
    k.key: k
    for k in (
        Kind("torque", "torque", "N*m", _plain(lambda r: r.cycle.brake_torque)),
        Kind("power", "power", "W", _plain(lambda r: r.cycle.brake_power)),
        Kind("bmep", "brake mean pressure", "Pa", _plain(lambda r: r.cycle.bmep)),
        Kind("imep", "indicated mean pressure", "Pa", _plain(lambda r: r.cycle.imep)),
        Kind("fmep", "friction mean pressure", "Pa", _plain(lambda r: r.cycle.fmep)),
        Kind("volumetric_efficiency", "volumetric efficiency", "1",
             _plain(lambda r: r.cycle.volumetric_efficiency)),
        Kind("peak_pressure", "peak pressure", "Pa", _plain(lambda r: float(r.cycle.peak_pressure.mean()))),
        Kind("peak_angle", "angle of the peak", "deg",
             _plain(lambda r: float(r.cycle.peak_angle.mean())), relative=False),
        Kind("knock_margin", "knock margin", "deg", lambda r, b: r.knock_margin,
             relative=False, why=lambda r, b: r.knock_reason),
        Kind("plenum_pressure", "plenum pressure", "Pa",
             _plain(lambda r: float(r.cycle.plenum_pressure.mean()))),
        Kind("boost", "boost", "Pa", _boost, relative=False, why=lambda r, b: "there is no charger"),
        Kind("back_pressure", "back pressure", "Pa", _back_pressure, relative=False),
        Kind("exhaust_temperature", "exhaust temperature", "K",
             _plain(_exhaust_temperature)),
        Kind("air_flow", "air flow", "kg/s", _plain(lambda r: r.cycle.air_flow)),
        Kind("fuel_flow", "fuel flow", "kg/s", _plain(lambda r: r.cycle.fuel_flow)),
        Kind("nitrous_flow", "nitrous flow", "kg/s", _nitrous, why=lambda r, b: "no nitrous oxide is fed"),
        Kind("fuel_consumption", "fuel per work", "kg/J", _consumption,
             why=lambda r, b: "the engine gives no power there"),
        Kind("lambda_", "relative air-fuel ratio", "1", _plain(lambda r: r.point.lambda_)),
        Kind("residual", "burned gas in the charge", "1", _plain(lambda r: r.cycle.trapped.residual)),
        Kind("spark", "spark before dead centre", "deg", lambda r, b: r.advance, relative=False,
             why=lambda r, b: "the build gives the burn itself, not the spark"),
        Kind("ca10", "10 % burned", "deg", _plain(lambda r: r.cycle.burn.ca10), relative=False),
        Kind("ca50", "50 % burned", "deg", _plain(lambda r: r.cycle.burn.ca50), relative=False),
        Kind("burn_duration", "10 to 90 % burned", "deg", _plain(lambda r: r.cycle.burn.burn_10_90)),
    )
}  # fmt: skip


def _of_knock(ran: RanPoint) -> float | None:
    """The margin's own uncertainty [deg]: that of delay and octane, above what other inputs do to it."""
    if ran.knock is None or not math.isfinite(ran.knock.degrees_u):
        return None
    return ran.knock.degrees_u


def read(ran: RanPoint, build: Build, doubt: Mapping[str, float] | None = None) -> dict[str, Reading]:
    """Every quantity of a point.

    Parameters
    ----------
    ran : RanPoint
    build : Build
    doubt : mapping or None
        Standard uncertainty by quantity, as a share of the value where `Kind.relative`, else in SI.
    """
    made = {}
    for key, kind in KINDS.items():
        value = kind.get(ran, build)
        if value is None or not math.isfinite(value):
            made[key] = Reading(None, kind.unit, reason=kind.why(ran, build) or "it came out as no number")
            continue
        sd = None if doubt is None else doubt.get(key)
        if sd is not None and kind.relative:
            sd *= abs(value)
        if key == "knock_margin":
            sd = _of_knock(ran)
        made[key] = Reading(float(value), kind.unit, sd)
    return made
