"""The setting that makes a wanted power, and what forbids it.

One search for every lever: a *lever* is a number (charge pressure, nitrous per air, throttle opening)
and a run at it.  Power rises with the lever from its low to its high end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..build.model import Build
from ..errors import InputError, NotSettled, OutsideValidity
from . import steering_from_build
from .mesh import FINE, Mesh
from .nitrous.jet import Jet
from .run_point import RanPoint, Setting, boosted, run_point

#: What forbids a setting, in words; None where it is allowed.
Hindrance: TypeAlias = Callable[[RanPoint, Build], str | None]

#: Relative difference in power at which the search ends.
_CLOSE = 5e-4
_STEPS = 25
#: Charge pressures that are tried, over the surroundings [-].
_MOST_BOOST = 6.0
_LEAST_BOOST = 1.02
#: Nitrous oxide over the air of the target's power that is tried [-].
_MOST_NITROUS = 0.6
_SMALLEST_OPENING = 0.01
#: Mean exhaust over plenum pressure above which scavenging fails (common practice, no source) [-].
_MOST_BACK_PRESSURE = 2.0


@dataclass(frozen=True)
class Lever:
    """What is moved to reach a power.

    Attributes
    ----------
    name : str
        In words: "boost".
    unit : str
        SI unit of its value.
    low, high : float
        Ends of its travel.
    run : callable
        The engine settled at a value of the lever, from the state of a near run or None.
    shown : callable
        From the lever's value and its run to the figure that is told [SI].
    high_end : str
        What stands at the high end: "the throttle is wide open".
    """

    name: str
    unit: str
    low: float
    high: float
    run: Callable[[float, RanPoint | None], RanPoint]
    shown: Callable[[float, RanPoint], float]
    high_end: str


@dataclass(frozen=True)
class TargetAnswer:
    """Whether a power can be had, and how.

    Attributes
    ----------
    power, speed : float
        As wanted [W], [rad/s].
    lever : str
    unit : str
        SI unit of `value`.
    value : float or None
        The lever's figure that makes the power; None when it cannot be reached.
    found : float
        The power there, or the most (least) that was found [W].
    reached : bool
    reason : str
        Why it is not reached; empty when it is.
    forbidden : tuple of str
        What forbids the setting although the power is reached.
    unchecked : tuple of str
        What was not looked at.
    ran : RanPoint
        The run at the answer, or at the end that came nearest.
    jet : Jet or None
        Nitrous jets that pass the flow found from the build's bottle; None where that is not the lever.
    """

    power: float
    speed: float
    lever: str
    unit: str
    value: float | None
    found: float
    reached: bool
    reason: str
    forbidden: tuple[str, ...]
    unchecked: tuple[str, ...]
    ran: RanPoint
    jet: Jet | None = None

    @property
    def allowed(self) -> bool:
        """Whether the power is reached and nothing that was looked at forbids it."""
        return self.reached and not self.forbidden


def solve_target(build: Build, power: float, speed: float, lever: Lever, *,
                 hindrances: Sequence[Hindrance] = ()) -> TargetAnswer:  # fmt: skip
    """The lever's value at which the engine makes a power.

    Parameters
    ----------
    build : Build
    power, speed : float
        [W], [rad/s]
    lever : Lever
    hindrances : sequence of callables
        Asked at the answer.

    Raises
    ------
    NotSettled
        When neither end of the lever settles, or the search does not close in.
    """
    if not (math.isfinite(power) and power > 0.0):
        raise InputError(f"a power of {power:g} W is wanted; it must be positive and finite")

    def answer(ran: RanPoint, value: float | None, reason: str) -> TargetAnswer:
        told = [text for ask in hindrances if (text := ask(ran, build)) is not None]
        shown = None if value is None else lever.shown(value, ran)
        return TargetAnswer(power, speed, lever.name, lever.unit, shown, ran.cycle.brake_power,
                            value is not None, reason, tuple(told) if value is not None else (),
                            (), ran)  # fmt: skip

    low = lever.run(lever.low, None)
    if low.cycle.brake_power >= power:
        close = low.cycle.brake_power <= power * (1.0 + _CLOSE)
        return answer(low, lever.low if close else None, "" if close else _low_end(lever))
    high_value, high, edge = _highest(lever, low)
    if high.cycle.brake_power <= power:
        close = high.cycle.brake_power >= power * (1.0 - _CLOSE)
        return answer(high, high_value if close else None, "" if close else edge)
    value, ran = _between(lever, power, (lever.low, low), (high_value, high))
    return answer(ran, value, "")


def _low_end(lever: Lever) -> str:
    return f"the least {lever.name} that was tried makes more"


def _highest(lever: Lever, low: RanPoint) -> tuple[float, RanPoint, str]:
    """The highest value of the lever that the model can run, and what ends it there."""
    value, good, edge = lever.high, lever.low, lever.high_end
    for _ in range(8):
        try:
            return value, lever.run(value, None), edge
        except (NotSettled, OutsideValidity) as error:
            edge = f"beyond there the model gives no figure: {error}"
            value = 0.5 * (value + good)
    return lever.low, low, edge


def _between(lever: Lever, power: float, low: tuple[float, RanPoint],
             high: tuple[float, RanPoint]) -> tuple[float, RanPoint]:  # fmt: skip
    """Regula falsi with halved weights (Illinois) between an end with too little and one with too much."""
    (a, below), (b, above) = low, high
    fa, fb = below.cycle.brake_power - power, above.cycle.brake_power - power
    last = 0
    for _ in range(_STEPS):
        value = b - fb * (b - a) / (fb - fa)
        near = below if value - a < b - value else above
        ran = lever.run(value, near)
        miss = ran.cycle.brake_power - power
        if abs(miss) <= _CLOSE * power:
            return value, ran
        if miss > 0.0:
            b, fb, above = value, miss, ran
            fa = 0.5 * fa if last > 0 else fa
            last = 1
        else:
            a, fa, below = value, miss, ran
            fb = 0.5 * fb if last < 0 else fb
            last = -1
    raise NotSettled(f"the {lever.name} for the wanted power was not found in {_STEPS} steps")


def boost_lever(build: Build, speed: float, mesh: Mesh = FINE) -> Lever:
    """Charge pressure that the charger is set to; told as it comes out, over the surroundings [Pa]."""
    outside = build.si("conditions.pressure")
    machine = build.has("turbo") or build.has("blower")

    def run(value: float, near: RanPoint | None) -> RanPoint:
        return run_point(build, speed, mesh=mesh, setting=Setting(plenum_pressure=value), near=near)

    def shown(value: float, ran: RanPoint) -> float:
        return ran.point.plenum_pressure - outside

    end = "the charger gives no more" if machine else "the most tried, it makes less"
    least = (_LEAST_BOOST if machine else 1.0) * outside
    told = f"at {_MOST_BOOST:g} times the outside pressure, {end}"
    return Lever("boost", "Pa", least, _MOST_BOOST * outside, run, shown, told)


def nitrous_lever(build: Build, speed: float, mesh: Mesh = FINE) -> Lever:
    """Flow of nitrous oxide, the fuel for it on top [kg/s]."""

    def run(value: float, near: RanPoint | None) -> RanPoint:
        return run_point(build, speed, mesh=mesh, setting=Setting(nitrous=value), near=near)

    def shown(value: float, ran: RanPoint) -> float:
        return ran.cycle.nitrous_flow

    most = _MOST_NITROUS * steering_from_build.target_air(build)
    told = f"{1e3 * most:.0f} g/s of nitrous oxide, the most tried, makes less"
    return Lever("nitrous flow", "kg/s", 0.0, most, run, shown, told)


def throttle_lever(build: Build, speed: float, mesh: Mesh = FINE) -> Lever:
    """Share of the open throttle's effective area [-]."""

    def run(value: float, near: RanPoint | None) -> RanPoint:
        return run_point(build, speed, mesh=mesh, setting=Setting(opening=value), near=near)

    return Lever("throttle opening", "1", _SMALLEST_OPENING, 1.0, run, lambda value, ran: value,
                 "the throttle is wide open and nothing else can be moved")  # fmt: skip


def lever_of(build: Build, speed: float, mesh: Mesh = FINE) -> Lever:
    """What this engine's power is set by: its charger, else its nitrous, else its throttle."""
    if boosted(build):
        return boost_lever(build, speed, mesh)
    if steering_from_build.nitrous_flows(build, speed):
        return nitrous_lever(build, speed, mesh)
    return throttle_lever(build, speed, mesh)


def setting_at(answer: TargetAnswer) -> Setting:
    """How the engine runs at the answer, at full throttle at other speeds."""
    setting = answer.ran.setting
    return Setting(plenum_pressure=setting.plenum_pressure, nitrous=setting.nitrous)


def back_pressure_forbids(ran: RanPoint, build: Build) -> str | None:
    """Exhaust pressure too far above the charge's: burned gas is pushed back through the overlap."""
    ratio = float(ran.cycle.exhaust_pressure.mean() / ran.cycle.plenum_pressure.mean())
    if ratio <= _MOST_BACK_PRESSURE:
        return None
    return (
        f"the exhaust stands at {ratio:.1f} times the plenum's pressure; above {_MOST_BACK_PRESSURE:g} the "
        "cylinders no longer empty (common practice, no source)"
    )


def knock_forbids(ran: RanPoint, build: Build) -> str | None:
    """Less than no margin to knock."""
    if ran.knock_margin is None or ran.knock_margin >= 0.0:
        return None
    return f"it knocks, with {-ran.knock_margin:.1f} degrees of spark too many for this fuel"


def charger_forbids(ran: RanPoint, build: Build) -> str | None:
    """The charger's own limits: edges of its map, overspeed."""
    return ran.forbidden.rstrip(".") or None


def target(build: Build, power: float, speed: float, mesh: Mesh = FINE) -> TargetAnswer:
    """The setting of this engine's own lever that makes a power at a speed, and what forbids it."""
    found = solve_target(build, power, speed, lever_of(build, speed, mesh),
                         hindrances=(knock_forbids, back_pressure_forbids, charger_forbids))  # fmt: skip
    unchecked = []
    if found.ran.knock_margin is None:
        unchecked.append(f"knock ({found.ran.knock_reason})")
    unchecked.append("fuel supply (pump and injectors are not set against the flow here)")
    if found.lever == "boost" and not (build.has("turbo") or build.has("blower")):
        unchecked.append("the compressor's map (charge pressure is set, not the machine)")
    jet, why = jets_for(build, found)
    forbidden = (*found.forbidden, why) if why else found.forbidden
    return replace(found, unchecked=tuple(unchecked), jet=jet, forbidden=forbidden)


def jets_for(build: Build, found: TargetAnswer) -> tuple[Jet | None, str]:
    """Jets that pass the nitrous oxide of an answer, or why none do."""
    if found.lever != "nitrous flow" or not found.value:
        return None, ""
    plenum = float(found.ran.cycle.plenum_pressure.mean())
    try:
        return steering_from_build.jets_passing(build, found.value, plenum), ""
    except OutsideValidity as error:
        return None, str(error).rstrip(".")
