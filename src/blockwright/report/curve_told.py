"""From the gas model's curve in SI to the records in the shop's units.  Conversions and sentences only."""

from __future__ import annotations

from typing import Any

from .. import __version__
from ..build.model import Build
from ..gas.corrections import STANDARDS, Correction
from ..gas.curve import Curve as Found
from ..gas.curve import CurvePoint as FoundPoint
from ..gas.readings import Reading
from ..gas.target import TargetAnswer
from ..life.shop_units import shop_units
from ..life.verdict import Quantity
from . import words
from .curve_record import SCHEMA, Best, Corrected, Curve, CurvePoint, Doubt, Missing, StandardAir, Target
from .curve_units import CurveUnits


def told(build: Build, found: Found, target: TargetAnswer | None = None) -> Curve:
    """The whole curve as it is printed, drawn and written.

    Parameters
    ----------
    build : Build
    found : gas.curve.Curve
    target : TargetAnswer or None
        The answer to a wanted power.
    """
    units = CurveUnits(shop_units(build))
    points = tuple(_point(p, units) for p in found.points)
    power, torque = _best(found, "power", units), _best(found, "torque", units)
    return Curve(
        schema=SCHEMA,
        name=build.name,
        invented=build.invented,
        sentence=_sentence(build.name, power, torque),
        mesh=found.mesh.name,
        points=points,
        missing=tuple(Missing(units.quantity(m.speed, "rad/s"), m.reason) for m in found.missing),
        best_power=power,
        best_torque=torque,
        wanted=units.quantity(build.si("target.power"), "W"),
        wanted_speed=units.quantity(build.si("target.speed"), "rad/s"),
        air_pressure=Quantity(found.air.pressure / 1e3, "kPa"),
        air_temperature=units.quantity(found.air.temperature, "K"),
        humidity=Quantity(100.0 * found.air.humidity, "percent"),
        standards=tuple(
            StandardAir(s.key, s.name, s.reference, s.remark)
            for s in map(STANDARDS.__getitem__, found.standards)
        ),
        target=None if target is None else _target(target, units),
        doubts=tuple(Doubt(name, share) for name, share in found.spread.worst(6)) if found.spread else (),
        notes=found.notes,
        assumed=len(build.assumptions),
        version=__version__,
    )


def _point(found: FoundPoint, units: CurveUnits) -> CurvePoint:
    shown: dict[str, Any] = {key: units.reading(reading) for key, reading in found.readings.items()}
    power = found.readings["power"]
    return CurvePoint(
        speed=units.quantity(found.speed.value or 0.0, "rad/s"),
        **shown,
        corrected=tuple(_corrected(key, c, power, units) for key, c in found.corrected.items()),
        unknown={key: r.reason for key, r in found.readings.items() if r.value is None},
        remarks=found.remarks,
    )


def _corrected(key: str, found: Correction, power: Reading, units: CurveUnits) -> Corrected:
    if found.corrected is None or found.factor is None:
        return Corrected(key, None, None, found.within, found.reasons)
    sd = None if power.sd is None else power.sd * found.factor
    return Corrected(key, found.factor, units.quantity(found.corrected, "W", sd), found.within, found.reasons)


def _standard(key: str) -> StandardAir:
    chosen = STANDARDS[key]
    return StandardAir(chosen.key, chosen.name, chosen.reference, chosen.remark)


def _best(found: Found, key: str, units: CurveUnits) -> Best:
    point = found.best(key)
    value = units.reading(point.readings[key])
    assert value is not None
    edge = len(found.points) > 1 and point in (found.points[0], found.points[-1])
    return Best(value, units.quantity(point.speed.value or 0.0, "rad/s"), edge)


def _sentence(name: str, power: Best, torque: Best) -> str:
    made = (
        f"{name} makes {words.quantity(power.value)} at {words.quantity(power.speed)} and "
        f"{words.quantity(torque.value)} at {words.quantity(torque.speed)}."
    )
    if power.at_edge:
        made += f" Power is largest at the end of what was run: look beyond {words.quantity(power.speed)}."
    return made


def _target(found: TargetAnswer, units: CurveUnits) -> Target:
    power, speed = units.quantity(found.power, "W"), units.quantity(found.speed, "rad/s")
    value = None if found.value is None else units.quantity(found.value, found.unit)
    if value is not None and found.unit == "1":
        value = Quantity(100.0 * value.value, "percent")
    made = units.quantity(found.found, "W")
    jet = None if found.jet is None else units.quantity(found.jet.diameter, "m")
    return Target(
        power=power,
        speed=speed,
        lever=found.lever,
        value=value,
        found=made,
        peak_pressure=units.quantity(float(found.ran.cycle.peak_pressure.mean()), "Pa"),
        reached=found.reached,
        allowed=found.allowed,
        reason=found.reason,
        forbidden=found.forbidden,
        unchecked=found.unchecked,
        sentence=_target_sentence(found, power, speed, value, made, jet),
        jet=jet,
        jets=0 if found.jet is None else found.jet.count,
    )


def _target_sentence(
    found: TargetAnswer,
    power: Quantity,
    speed: Quantity,
    value: Quantity | None,
    made: Quantity,
    jet: Quantity | None,
) -> str:
    wanted = f"{words.quantity(power)} at {words.quantity(speed)}"
    if value is None:
        gap = power.value - made.value
        side = "short by" if gap > 0.0 else "over by"
        missing = words.with_unit(abs(gap), power.unit)
        return f"{wanted} cannot be had: {words.quantity(made)} there, {side} {missing}; {found.reason}."
    how = f"{wanted} takes {_lever_words(found.lever, value)}"
    if found.jet is not None:
        each = "one jet" if found.jet.count == 1 else f"{found.jet.count} jets"
        how += f" through {each} of {words.quantity(jet)} at the bottle's temperature"
    if found.forbidden:
        return f"{how}, and that is forbidden: {'; '.join(found.forbidden)}."
    return f"{how}."


def _lever_words(lever: str, value: Quantity) -> str:
    if lever == "throttle opening":
        return f"{words.quantity(value)} of the throttle's area"
    return f"{words.quantity(value)} of {lever.removesuffix(' flow')}"
