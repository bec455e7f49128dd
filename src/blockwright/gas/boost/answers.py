"""Answers about boost: what a power needs, and what a freer exhaust side changes at the same power."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...errors import InputError, NotSettled
from ..mesh import LUMPED, Mesh
from ..model import Breathing, Cycle, OperatingPoint
from .run import run
from .steering import NOTHING, SHUT, TurboMatch, TurboSteering

#: Share of the wanted power to which the boost is found, and steps after which it counts as not found.
_CLOSE = 2e-4
_MOST = 12
#: Charge pressures over the surroundings' between which a power is sought.
_RANGE = (1.02, 6.0)


@dataclass(frozen=True)
class PowerAnswer:
    """A power and what it takes.

    Attributes
    ----------
    power : float
        Brake [W].
    boost : float
        Plenum pressure over the surroundings' [Pa].
    back_pressure : float
        Mean before the turbine over the surroundings' [Pa].
    peak_pressure : float
        Mean over the cylinders [Pa].
    cycle : Cycle
    match : TurboMatch
    """

    power: float
    boost: float
    back_pressure: float
    peak_pressure: float
    cycle: Cycle
    match: TurboMatch


@dataclass(frozen=True)
class Freed:
    """The same power before and after the exhaust side is freed."""

    before: PowerAnswer
    after: PowerAnswer


def for_power(
    breathing: Breathing,
    point: OperatingPoint,
    steering: TurboSteering,
    power: float,
    mesh: Mesh = LUMPED,
) -> PowerAnswer:
    """Boost that makes a brake power [W], with all that follows.

    Secant steps on the wanted boost.

    Raises
    ------
    InputError
        When the turbine cannot make the boost, or no boost in range makes the power.
    NotSettled
        When the steps do not close in.
    """
    outside = steering.machine.surroundings.pressure
    low, high = (share * outside for share in _RANGE)
    wanted = min(max(steering.wanted, low), high)
    seen: list[tuple[float, float]] = []
    start: Cycle | None = None
    for _ in range(_MOST):
        own = steering.with_boost(wanted)
        done = run(breathing, point, own, start, mesh=mesh)
        start, match = done.cycle, done.match
        made, reached = start.brake_power, start.point.plenum_pressure
        if abs(made / power - 1.0) < _CLOSE:
            return PowerAnswer(
                power=made,
                boost=reached - outside,
                back_pressure=match.back_pressure,
                peak_pressure=float(np.mean(start.peak_pressure)),
                cycle=start,
                match=match,
            )
        if match.limit in (SHUT, NOTHING) and made < power:
            raise InputError(
                f"with the wastegate shut the turbine makes {(reached - outside) / 1e5:.2f} bar of boost and "
                f"the engine {made / 1e3:.0f} kW; {power / 1e3:.0f} kW need a smaller turbine housing, "
                "a freer engine or more speed"
            )
        seen.append((reached, made))
        slope = 0.9 * made / reached
        if len(seen) > 1 and seen[-1][0] != seen[-2][0]:
            slope = (seen[-1][1] - seen[-2][1]) / (seen[-1][0] - seen[-2][0])
        step = reached + (power - made) / (slope if slope > 0.0 else made / wanted)
        step = min(max(step, 0.7 * wanted), 1.4 * wanted)
        new = min(max(step, low), high)
        if new == wanted:
            tried = "most" if wanted == high else "least"
            raise InputError(
                f"at {wanted / 1e5:.2f} bar in the manifold, the {tried} tried, "
                f"the engine makes {made / 1e3:.0f} kW, not {power / 1e3:.0f} kW"
            )
        wanted = new
    raise NotSettled(f"the boost that makes {power / 1e3:.0f} kW was not found in {_MOST} steps")


def freed_exhaust(
    breathing: Breathing,
    point: OperatingPoint,
    steering: TurboSteering,
    power: float,
    area: float = 1.25,
    back_loss: float = 0.5,
    mesh: Mesh = LUMPED,
) -> Freed:
    """The same power with the exhaust side as it is and freed.

    Parameters
    ----------
    breathing, point, steering
        The engine, how it runs, and its turbocharger.
    power : float
        Brake power held [W].
    area : float
        Throat of the turbine's housing, over that before [-].
    back_loss : float
        Loss of the pipe behind it, over that before [-].

    Notes
    -----
    Common practice, no source: the same power then takes less boost and less cylinder pressure.
    """
    before = for_power(breathing, point, steering, power, mesh)
    m = steering.machine
    freer = replace(
        m,
        turbine=replace(m.turbine, throat_area=area * m.turbine.throat_area),
        back_loss=back_loss * m.back_loss,
    )
    after = for_power(breathing, point, replace(steering, machine=freer), power, mesh)
    return Freed(before, after)
