"""An engine and its charger together until neither changes: engine cycles and steering in turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...errors import NotSettled
from ..model import Breathing, Cycle, OperatingPoint
from ..solve import solve
from ..steering import Seen, Steering
from ..valves import flow_coefficient

Array = NDArray[np.float64]

#: Change of the steering that counts as settled, and rounds after which it counts as not settling.
SETTLED = 1e-4
MOST_ROUNDS = 60
#: Change from cycle to cycle at which an engine run between two steering steps ends.
_LOOSE = 2e-2


@dataclass(frozen=True)
class Run:
    """A settled engine with its charger.

    cycle : Cycle; point, breathing : as settled; seen : Seen; rounds : steering steps; cycles : engine's;
    changes : ndarray, the steering's remaining change after every round [-].
    """

    cycle: Cycle
    point: OperatingPoint
    breathing: Breathing
    seen: Seen
    rounds: int
    cycles: int
    changes: Array


def seen_of(cycle: Cycle, point: OperatingPoint, breathing: Breathing) -> Seen:
    """What a cycle showed, for an exhaust that leaves through the outlet area quasi-steadily."""
    from .turbine import exhaust_gas

    hot = cycle.exhaust_temperature
    gas = exhaust_gas(point, float(hot.mean()), float(cycle.exhaust_pressure.mean()))
    ratio = point.exhaust_pressure / cycle.exhaust_pressure
    law = flow_coefficient(np.minimum(ratio, 1.0), gas.gamma)
    flow = breathing.outlet_area * cycle.exhaust_pressure / np.sqrt(gas.gas_constant * hot) * law
    total = (cycle.air_flow * (1.0 + point.vapour + point.nitrous)) + cycle.fuel_flow
    return Seen(
        air_flow=cycle.air_flow, fuel_flow=cycle.fuel_flow, nitrous_flow=cycle.air_flow * point.nitrous,
        total_flow=total, plenum_pressure=float(cycle.plenum_pressure.mean()),
        exhaust_pressure=cycle.exhaust_pressure, exhaust_temperature=hot,
        outlet_flow=np.asarray(flow * (total / flow.mean())), brake_power=cycle.brake_power,
        peak_pressure=cycle.peak_pressure,
    )  # fmt: skip


def run(
    breathing: Breathing,
    point: OperatingPoint,
    steering: Steering,
    start: Array | None = None,
    settled: float = SETTLED,
) -> Run:
    """Engine cycles and steering in turn until the steering changes nothing more.

    Raises
    ------
    NotSettled
        When it still changes after `MOST_ROUNDS`.
    """
    changes: list[float] = []
    cycles = 0
    while len(changes) < MOST_ROUNDS:
        tolerance = min(_LOOSE, max(0.3 * changes[-1], 0.3 * settled)) if changes else _LOOSE
        cycle = solve(breathing, point, start, tolerance)
        cycles += cycle.cycles_run
        start = cycle.restart
        seen = seen_of(cycle, point, breathing)
        new_point, new_breathing, change = steering.step(point, breathing, seen)
        changes.append(change)
        if change < settled and tolerance <= settled:
            return Run(cycle, point, breathing, seen, len(changes), cycles, np.array(changes))
        point, breathing = new_point, new_breathing
    raise NotSettled(
        f"engine and charger did not settle: after {MOST_ROUNDS} steps the boost, the outlet or the "
        f"temperature still changes by {changes[-1]:.1e} from step to step"
    )
