"""Which manifold pressure to try next for a wanted power, and what to say when none makes it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from ..build.model import Build
from ..errors import Fault
from ..gas.model import Cycle
from ..units import dimension_of, to_unit

#: A run of the gas model: manifold pressure [Pa] and brake power [W].
Tried = tuple[float, float]

#: Pressures nearer than this (relative) to one that was tried would show nothing new of the best power.
_SAME = 0.02


def next_pressure(seen: Sequence[Tried], power: float) -> float | None:
    """Manifold pressure to try next [Pa]; None when more pressure makes less power before it is reached.

    Parameters
    ----------
    seen : sequence of (pressure, power)
        Two or more runs, in the order in which they were made [Pa, W].
    power : float
        Wanted [W].

    Notes
    -----
    Brake power is nearly linear in manifold pressure, so the secant of the last two runs, inside the
    narrowest bracket where there is one.  With a blower that takes more from the crank than its charge
    gives, or a turbine that dams up, power has a best pressure: the parabola through three runs.
    """
    tried = sorted(seen)
    for low, high in pairwise(tried):
        if low[1] < power <= high[1]:
            step = _secant(seen[-2], seen[-1], power)
            return step if low[0] < step < high[0] else _secant(low, high, power)
    if tried[0][1] >= power:
        step = _secant(tried[0], tried[1], power)
        return step if step < tried[0][0] else 0.5 * tried[0][0]
    best = max(range(len(tried)), key=lambda i: tried[i][1])
    if best == len(tried) - 1:
        return _secant(tried[-2], tried[-1], power)
    if best == 0:
        return 0.6 * tried[0][0]
    top = _top(tried[best - 1], tried[best], tried[best + 1])
    return None if any(abs(top / p - 1.0) < _SAME for p, _ in tried) else top


def _secant(one: Tried, other: Tried, power: float) -> float:
    (p0, w0), (p1, w1) = one, other
    return math.inf if w1 == w0 else p1 + (power - w1) * (p1 - p0) / (w1 - w0)


def _top(left: Tried, middle: Tried, right: Tried) -> float:
    """Where the parabola through three runs is highest."""
    a, b = middle[0] - left[0], middle[0] - right[0]
    u, v = a * (middle[1] - right[1]), b * (middle[1] - left[1])
    return middle[0] - 0.5 * (a * u - b * v) / (u - v)


def power_of(build: Build, power: float) -> str:
    """A power in the unit of the build's target."""
    value = build.values["target.power"]
    return f"{to_unit(power, value.unit, dimension_of(value.unit)):.0f} {value.unit}"


def _target(build: Build) -> str:
    value = build.values["target.power"]
    return f"{to_unit(value.si, value.unit, dimension_of(value.unit)):.6g} {value.unit}"


def unreachable(build: Build, cycle: Cycle, pressure: float, tried: str) -> Fault:
    """The end of the pressures that are tried ("most" or "least") does not make the power."""
    rpm = build.si("target.speed") * 30.0 / math.pi
    return Fault(
        "target.power",
        f"{_target(build)} at {rpm:.0f} rpm",
        f"at {pressure / 1e5:.2f} bar in the manifold, the {tried} tried, the gas model makes "
        f"{power_of(build, cycle.brake_power)}; check power, speed, bore, stroke, cams and flow tables",
        build.values["target.power"].line,
    )


def past_best(build: Build, seen: Sequence[Tried]) -> Fault:
    """From a best manifold pressure on, more of it makes less power."""
    pressure, power = max(seen, key=lambda one: one[1])
    return Fault(
        "target.power",
        _target(build),
        f"with {pressure / 1e5:.2f} bar in the manifold the gas model makes {power_of(build, power)}; with "
        "more pressure the charger takes more than its charge gives, and with less there is less charge. "
        "Another charger, cams, flow tables, spark or pipes, or less power",
        build.values["target.power"].line,
    )


def short_of_boost(build: Build, cycle: Cycle, wanted: float) -> Fault | None:
    """What to say when a charger cannot make the pressure that the power needs; None when it can."""
    if not (build.has("turbo") or build.has("blower")):
        return None
    made = cycle.point.plenum_pressure
    if made > 0.98 * wanted or cycle.brake_power >= build.si("target.power"):
        return None
    return Fault(
        "target.power",
        _target(build),
        f"the charger makes {made / 1e5:.2f} bar in the manifold and {power_of(build, cycle.brake_power)}, "
        "and no more: its wastegate or bypass is shut. A larger compressor or turbine, another drive, or "
        "less power",
        build.values["target.power"].line,
    )
