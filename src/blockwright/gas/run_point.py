"""One point of a power curve: a build at one speed, settled, and what is read off it.

This is the one place where the curve meets the gas model: pipes, charger, nitrous oxide and knock join here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from ..build.model import Build
from ..errors import InputError, NotSettled, OutsideValidity
from . import from_build, steering_from_build
from .boost.driven import BlowerSteering
from .boost.run import match_of
from .boost.steering import TurboSteering
from .boost.words import cautions, forbids
from .knock import effective_octane
from .mesh import LUMPED, Mesh
from .model import Breathing, Cycle, OperatingPoint
from .nitrous.feed import FixedFlow
from .nitrous.steering import NitrousFeed
from .solve import solve
from .spark import SparkMargin, closed_run, spark_margin
from .steering import Steering

#: Changes what the gas model is given, for a doubt in a constant that no field of the build holds.
Vary: TypeAlias = Callable[[Breathing, OperatingPoint], tuple[Breathing, OperatingPoint]]
#: Changes what is steered, likewise.
Steer: TypeAlias = Callable[[Steering], Steering]
Charger: TypeAlias = TurboSteering | BlowerSteering


@dataclass(frozen=True)
class Setting:
    """How the engine is run, where that differs from the build.

    Attributes
    ----------
    opening : float
        Share of the open throttle's effective area [-].
    plenum_pressure : float or None
        Of the charge at full load, absolute [Pa]: what a machine is steered to, or what the plenum
        draws from; None: as the build says.
    nitrous : float or None
        Flow of nitrous oxide [kg/s], the fuel for it on top; None: as the build says.
    """

    opening: float = 1.0
    plenum_pressure: float | None = None
    nitrous: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.opening <= 1.0:
            raise InputError(f"the throttle's opening is {self.opening:g}; it lies above 0 and not above 1")


#: As the build says.
AS_BUILT = Setting()


@dataclass(frozen=True)
class RanPoint:
    """A settled point.

    Attributes
    ----------
    speed : float
        [rad/s]
    mesh : Mesh
    setting : Setting
    cycle : Cycle
        Holds `point` and `breathing` as they settled.
    advance : float or None
        Spark before firing top dead centre [deg]; None where the build gives the burn instead.
    knock : SparkMargin or None
        Where the spark stands before knock.
    knock_reason : str
        Why that is not known.
    cautions : tuple of str
        Of the charger.
    forbidden : str
        Why the charger cannot do it; empty when it can.
    """

    speed: float
    mesh: Mesh
    setting: Setting
    cycle: Cycle
    advance: float | None
    knock: SparkMargin | None = None
    knock_reason: str = ""
    cautions: tuple[str, ...] = field(default=())
    forbidden: str = ""

    @property
    def point(self) -> OperatingPoint:
        """Surroundings as they settled."""
        return self.cycle.point

    @property
    def breathing(self) -> Breathing:
        """The engine as it settled."""
        return self.cycle.breathing

    @property
    def knock_margin(self) -> float | None:
        """Spark that could be added before the end gas lights itself [deg]; below 0 it knocks."""
        return None if self.knock is None else self.knock.degrees_margin


def boosted(build: Build) -> bool:
    """Whether the build has a charger."""
    return build.has("boost.kind") and build.word("boost.kind") != "none"


def boost_is_held(build: Build) -> bool:
    """Whether a control holds the charge pressure whatever the weather: a turbo's, or a blower's bypass."""
    if not boosted(build):
        return False
    if build.word("boost.kind") == "turbo":
        return True
    charger = steering_from_build.charger_of(build)
    return isinstance(charger, BlowerSteering) and charger.control == "bypass"


def set_to(build: Build, setting: Setting) -> Build:
    """The build with the setting's charge pressure for its own.

    A back pressure that is given rather than computed moves in step with the boost; a charge temperature
    that is given stays.
    """
    if setting.plenum_pressure is None or not boosted(build):
        return build
    outside, boost = build.si("conditions.pressure"), build.value("boost.pressure")
    wanted = max(setting.plenum_pressure - outside, 0.0)
    values = {**build.values, boost.path: replace(boost, si=wanted)}
    if build.has("boost.exhaust_pressure") and boost.si > 0.02 * outside:
        back = build.value("boost.exhaust_pressure")
        values[back.path] = replace(back, si=back.si * wanted / boost.si)
    return replace(build, values=values)


def steering_at(build: Build, speed: float, setting: Setting) -> Steering | None:
    """What steers the build at a speed and a setting."""
    if setting.nitrous is None:
        return from_build.steering(build, speed)
    charger = steering_from_build.charger_of(build)
    if setting.nitrous == 0.0 or not steering_from_build.nitrous_flows(build, speed):
        return charger
    feed = steering_from_build.nitrous_of(build, from_build.operating_point(build, speed), charger)
    return replace(feed, feed=FixedFlow(setting.nitrous), own_lambda=None)


def charger_in(steering: Steering | None) -> Charger | None:
    """The charger of what is steered, also behind a nitrous feed."""
    inner = steering.charger if isinstance(steering, NitrousFeed) else steering
    return inner if isinstance(inner, TurboSteering | BlowerSteering) else None


def _as_near(near: Cycle, breathing: Breathing, point: OperatingPoint) -> tuple[Breathing, OperatingPoint]:
    """Steered surroundings begin where those of a near point came to rest."""
    n = near.point
    moved = replace(
        point, plenum_pressure=n.plenum_pressure, plenum_temperature=n.plenum_temperature,
        exhaust_pressure=n.exhaust_pressure, exhaust_temperature=n.exhaust_temperature,
        charger_work=n.charger_work, nitrous=n.nitrous, lambda_=n.lambda_,
    )  # fmt: skip
    return replace(breathing, outlet_area=near.breathing.outlet_area), moved


def run_point(
    build: Build,
    speed: float,
    *,
    mesh: Mesh = LUMPED,
    setting: Setting = AS_BUILT,
    near: RanPoint | None = None,
    tolerance: float | None = None,
    breathing: Breathing | None = None,
    vary: Vary | None = None,
    steer: Steer | None = None,
    flame: tuple[float, float] | None = None,
    knock: bool = True,
) -> RanPoint:
    """Run a build at one speed until its cycles repeat.

    Parameters
    ----------
    build : Build
    speed : float
        [rad/s]
    mesh : Mesh
        How fine the pipes are cut.
    setting : Setting
    near : RanPoint or None
        A settled point to start from; when nothing settles from there, the run begins anew without it.
    tolerance : float or None
        As `solve` takes it.
    breathing : Breathing or None
        Of the build, when it has been made already.
    vary, steer : callable or None
        Last change of what the gas model is given, and of what steers it.
    flame : tuple of float or None
        Factors on the flame's turbulence and burning time, instead of those that follow from the build [-].
    knock : bool
        Whether to look where the spark stands before knock.

    Raises
    ------
    NotSettled
        The cycles do not repeat.
    OutsideValidity
        The point lies where the model does not hold.
    """
    at = set_to(build, setting)
    made = from_build.breathing(build) if breathing is None else breathing
    made = replace(made, throttle_area=made.throttle_area * setting.opening)
    turbulence, burn_up = (None, 1.0) if flame is None else flame
    point = from_build.operating_point(at, speed, turbulence=turbulence, burn_up=burn_up)
    steering = steering_at(at, speed, setting)
    if vary is not None:
        made, point = vary(made, point)
    if steering is not None and steer is not None:
        steering = steer(steering)
    usable = near is not None and near.mesh.lumped == mesh.lumped
    try:
        cycle = _settled(made, point, steering, near.cycle if near and usable else None, tolerance, mesh)
    except NotSettled:
        if not usable:
            raise
        cycle = _settled(made, point, steering, None, tolerance, mesh)
    found = RanPoint(speed, mesh, setting, cycle, _advance(build, cycle.point))
    charger = charger_in(steering)
    if charger is not None:
        match = match_of(charger, cycle)
        found = replace(found, cautions=cautions(match), forbidden=forbids(match))
    return _with_knock(found) if knock else found


def _settled(
    breathing: Breathing,
    point: OperatingPoint,
    steering: Steering | None,
    near: Cycle | None,
    tolerance: float | None,
    mesh: Mesh,
) -> Cycle:
    charger = charger_in(steering)
    if near is not None and steering is not None:
        breathing, point = _as_near(near, breathing, point)
    elif charger is not None:
        point, breathing = charger.first(point, breathing)
    return solve(breathing, point, None if near is None else near.restart, tolerance, mesh, steering)


def _advance(build: Build, point: OperatingPoint) -> float | None:
    if build.has("spark.ca50") and build.value("spark.ca50").by != "assumed":
        return None
    return -point.spark


def _with_knock(ran: RanPoint) -> RanPoint:
    """The point with the margin of its spark to knock."""
    cycle = ran.cycle
    try:
        octane = effective_octane(cycle.point.fuel, float(cycle.plenum_pressure.mean()))
        run = closed_run(cycle.breathing, cycle.trapped, cycle.point)
        margin = spark_margin(run, -cycle.point.spark, octane, cycle.point)
    except OutsideValidity as error:
        return replace(ran, knock_reason=str(error))
    if not math.isfinite(margin.degrees_margin):
        return replace(ran, knock_reason="no spark was found at which the end gas lights itself")
    return replace(ran, knock=margin)


def nitrous_oxygen_share(ran: RanPoint) -> float:
    """Share of the charge's oxygen that nitrous oxide brings [-]."""
    brought = float(ran.point.gas.constants[15]) * ran.point.nitrous
    return brought / (1.0 + brought)
