"""An engine and its charger together: run until neither changes, and what the charger does then."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from ..mesh import LUMPED, Mesh
from ..model import Breathing, Cycle, OperatingPoint
from ..solve import solve
from ..steering import Seen

if TYPE_CHECKING:
    from .driven import BlowerMatch
    from .steering import TurboMatch

M_co = TypeVar("M_co", bound="TurboMatch | BlowerMatch", covariant=True)
M = TypeVar("M", bound="TurboMatch | BlowerMatch")


class Charger(Protocol[M_co]):
    """A steering that also tells its figures: `TurboSteering` or `BlowerSteering`."""

    def first(self, point: OperatingPoint, breathing: Breathing) -> tuple[OperatingPoint, Breathing]:
        """A near first guess."""
        ...

    def step(
        self, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> tuple[OperatingPoint, Breathing, float]:
        """See `gas.steering.Steering`."""
        ...

    def match(self, point: OperatingPoint, breathing: Breathing, seen: Seen) -> M_co:
        """Figures at a settled state."""
        ...


@dataclass(frozen=True)
class Run(Generic[M]):
    """A settled engine, and its charger there."""

    cycle: Cycle
    match: M


def seen_of(cycle: Cycle) -> Seen:
    """What a settled cycle showed."""
    point = cycle.point
    total = cycle.air_flow * (1.0 + point.vapour) + cycle.nitrous_flow + cycle.fuel_flow
    return Seen(
        air_flow=cycle.air_flow,
        fuel_flow=cycle.fuel_flow,
        nitrous_flow=cycle.nitrous_flow,
        total_flow=total,
        plenum_pressure=float(cycle.plenum_pressure.mean()),
        exhaust_pressure=cycle.exhaust_pressure,
        exhaust_temperature=cycle.exhaust_temperature,
        outlet_flow=cycle.outlet_flow,
        brake_power=cycle.brake_power,
        peak_pressure=cycle.peak_pressure,
        leaked=cycle.leaked * point.speed / (4.0 * math.pi),
    )


def match_of(charger: Charger[M], cycle: Cycle) -> M:
    """What the charger does in a cycle that settled with it."""
    return charger.match(cycle.point, cycle.breathing, seen_of(cycle))


def run(
    breathing: Breathing,
    point: OperatingPoint,
    charger: Charger[M],
    start: Cycle | None = None,
    tolerance: float | None = None,
    mesh: Mesh = LUMPED,
) -> Run[M]:
    """Run an engine with its charger until neither changes.

    Parameters
    ----------
    breathing, point, tolerance, mesh
        As of `gas.solve.solve`.
    charger : TurboSteering or BlowerSteering
    start : Cycle or None
        A settled cycle of a near point: its surroundings are the first guess.

    Raises
    ------
    NotSettled
        As `gas.solve.solve`.
    """
    if start is None:
        point, breathing = charger.first(point, breathing)
        cycle = solve(breathing, point, None, tolerance, mesh, charger)
    else:
        cycle = solve(start.breathing, start.point, start.restart, tolerance, mesh, charger)
    return Run(cycle, match_of(charger, cycle))
