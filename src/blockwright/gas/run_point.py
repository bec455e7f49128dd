"""One point of a power curve: a build at one speed, settled, and what is read off it.

This is the one place where the curve meets the gas model.  What a point can be asked beyond the
cycle itself (knock, what a charger's machine does) joins here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from ..build.model import Build
from ..errors import InputError, NotSettled
from . import from_build
from .combustion import ca50_from_ca10
from .mesh import LUMPED, Mesh
from .model import Breathing, Cycle, OperatingPoint
from .solve import TOLERANCE, solve

Array = NDArray[np.float64]
#: Changes what the gas model is given, for a doubt in a constant that no field of the build holds.
Vary: TypeAlias = Callable[[Breathing, OperatingPoint], tuple[Breathing, OperatingPoint]]

#: Why a point has no knock margin.
NO_KNOCK = "the end gas is not followed in this run"


@dataclass(frozen=True)
class Setting:
    """How the engine is run, where that differs from the build.

    Attributes
    ----------
    opening : float
        Share of the open throttle's effective area [-].
    plenum_pressure : float or None
        Of the charge at full load, absolute [Pa]; None: as the build says.
    nitrous : float or None
        Nitrous oxide per dry air, by mass [-]; None: as the build says.
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
    breathing : Breathing
    point : OperatingPoint
        Surroundings as they settled.
    cycle : Cycle
    advance : float or None
        Spark before firing top dead centre [deg]; None where the build gives the burn instead.
    ca50 : float
        Half burned, after firing top dead centre [deg].
    knock_margin : float or None
        Spark that could be added before the end gas lights itself [deg]; below 0 it knocks.
    knock_reason : str
        Why there is no margin.
    """

    speed: float
    mesh: Mesh
    setting: Setting
    breathing: Breathing
    point: OperatingPoint
    cycle: Cycle
    advance: float | None
    ca50: float
    knock_margin: float | None = None
    knock_reason: str = NO_KNOCK


def boosted(build: Build) -> bool:
    """Whether the build has a charger."""
    return build.has("boost.kind") and build.word("boost.kind") != "none"


def surroundings(build: Build, speed: float, setting: Setting) -> OperatingPoint:
    """How the build runs at a speed and a setting.

    With another charge pressure than the build's, a given back pressure moves in step with the boost;
    the charge's given temperature stays.
    """
    point = from_build.operating_point(build, speed, plenum_pressure=setting.plenum_pressure)
    if setting.plenum_pressure is not None and boosted(build):
        outside, boost = build.si("conditions.pressure"), build.si("boost.pressure")
        back = point.exhaust_pressure - outside
        if back > 0.0 and boost > 0.02 * outside:
            back *= max(setting.plenum_pressure - outside, 0.0) / boost
        point = replace(point, exhaust_pressure=outside + back)
    if setting.nitrous is not None:
        point = replace(point, nitrous=setting.nitrous)
    return point


def run_point(
    build: Build,
    speed: float,
    *,
    mesh: Mesh = LUMPED,
    setting: Setting = AS_BUILT,
    start: Array | None = None,
    tolerance: float = TOLERANCE,
    breathing: Breathing | None = None,
    vary: Vary | None = None,
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
    start : ndarray or None
        `Cycle.restart` of a near point; when nothing settles from there, the run begins anew without it.
    tolerance : float
        As `solve` takes it.
    breathing : Breathing or None
        Of the build, when it has been made already.
    vary : callable or None
        Last change of what the gas model is given.

    Raises
    ------
    NotSettled
        The cycles do not repeat.
    OutsideValidity
        The point lies where the model does not hold.
    """
    made = from_build.breathing(build) if breathing is None else breathing
    made = replace(made, throttle_area=made.throttle_area * setting.opening)
    point = surroundings(build, speed, setting)
    if vary is not None:
        made, point = vary(made, point)
    try:
        cycle = solve(made, point, start, tolerance)
    except NotSettled:
        if start is None:
            raise
        cycle = solve(made, point, None, tolerance)
    return RanPoint(
        speed=speed,
        mesh=mesh,
        setting=setting,
        breathing=made,
        point=point,
        cycle=cycle,
        advance=_advance(build),
        ca50=float(ca50_from_ca10(point.ca10, point.burn_10_90)),
    )


def _advance(build: Build) -> float | None:
    if build.has("spark.ca50") and build.value("spark.ca50").by != "assumed":
        return None
    return math.degrees(build.si("spark.advance"))


def nitrous_oxygen_share(ran: RanPoint) -> float:
    """Share of the charge's oxygen that nitrous oxide brings [-]."""
    brought = float(ran.point.gas.constants[15]) * ran.point.nitrous
    return brought / (1.0 + brought)
