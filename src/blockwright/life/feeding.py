"""How a build is fed at a full-load manifold pressure: surroundings, machine, nitrous oxide.

The manifold pressure is what the power is solved for.  A charger's machine is steered to it; where
only the boost's figures are told, the back pressure moves in step with it.  Nitrous oxide flows by
its jets at the wanted power; away from it the charge keeps its share of nitrous oxide, so that the
engine is made stronger or weaker as a whole.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..build.model import Build
from ..gas import from_build, steering_from_build
from ..gas.model import Breathing, Cycle, OperatingPoint
from ..gas.steering import Seen, Steering

#: Loads below this are driven without nitrous oxide: its switch closes with the throttle wide open.
_OPEN = 0.95


@dataclass(frozen=True)
class Feeding:
    """What one run of the gas model is given."""

    point: OperatingPoint
    breathing: Breathing
    steering: Steering | None


@dataclass(frozen=True)
class HeldNitrous:
    """A charger's steering with a share of nitrous oxide, and what it cools, held.

    cooling : by which the charge is colder than without it [K].
    """

    charger: Steering
    nitrous: float
    lambda_: float
    cooling: float

    def step(
        self, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> tuple[OperatingPoint, Breathing, float]:
        """One step of the charger."""
        dry = replace(point, plenum_temperature=point.plenum_temperature + self.cooling)
        made, around, change = self.charger.step(dry, breathing, seen)
        held = replace(
            made,
            plenum_temperature=made.plenum_temperature - self.cooling,
            nitrous=self.nitrous,
            lambda_=self.lambda_,
        )
        return held, around, change


def feeding(
    build: Build, breathing: Breathing, speed: float, load: float, pressure: float, like: Cycle | None = None
) -> Feeding:
    """What the gas model is given at a speed and load.

    Parameters
    ----------
    pressure : float
        Manifold pressure at full load [Pa].
    like : Cycle or None
        A settled cycle at the same speed whose share of nitrous oxide is kept; None: by the jets.
    """
    point = from_build.operating_point(build, speed, load, plenum_pressure=pressure)
    charger = steering_from_build.charger_of(build)
    if charger is None:
        point = _given_boost(build, point, pressure)
    else:
        charger = charger.with_boost(pressure * load)
        if like is None:
            point, breathing = charger.first(point, breathing)
        else:
            point = replace(point, exhaust_pressure=like.point.exhaust_pressure)
            breathing = replace(breathing, outlet_area=like.breathing.outlet_area)
    if load < _OPEN or not steering_from_build.nitrous_flows(build, speed):
        return Feeding(point, breathing, charger)
    if like is None:
        return Feeding(point, breathing, steering_from_build.nitrous_of(build, point, charger))
    feed = steering_from_build.nitrous_of(build, point, charger)
    made = feed.charge(point, point.plenum_temperature, like.point.nitrous, like.point.fuel_per_air)
    point = replace(
        point,
        nitrous=like.point.nitrous,
        lambda_=like.point.lambda_,
        plenum_temperature=made.temperature,
    )
    held = None if charger is None else HeldNitrous(charger, point.nitrous, point.lambda_, made.cooling)
    return Feeding(point, breathing, held)


def _given_boost(build: Build, point: OperatingPoint, pressure: float) -> OperatingPoint:
    """The back pressure that is told for the build's boost, in step with another boost."""
    outside = build.si("conditions.pressure")
    given = outside + (build.si("boost.pressure") if build.has("boost.pressure") else 0.0)
    back = point.exhaust_pressure - outside
    if back > 0.0 and given > 1.02 * outside:
        back *= max(pressure - outside, 0.0) / (given - outside)
    return replace(point, exhaust_pressure=outside + back)
