"""From arrays in SI to the verdict's records in the shop's units.  Conversions only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..build.model import Value
from ..build.walk import leaves
from ..gas.model import Cycle
from ..units import dimension_of, to_unit
from .draw import Draw
from .evaluate import Evaluated
from .knocking import Knock
from .knocking import knocks as knocks_text
from .ranges import Outside
from .ranges import outside as outside_of
from .shop_units import ShopUnits
from .study import Sampled, Study
from .verdict import FailurePowers, Limit, Point, Quantity, Share, Spread

#: A margin whose spread ends here is shown with its bound.
_LEVEL = (5.0, 95.0)
#: Share of the outside pressure by which the wanted power's may miss it without a word.
_NEAR_WEATHER = 0.08
#: Standard uncertainties from the middle to the end of a band of nine in ten.
_NORMAL_90 = 1.645


def limit(
    found: Evaluated, units: ShopUnits, fails_at: FailurePowers | None, ranges: Sequence[Outside] = ()
) -> Limit:
    """One limit's record."""
    identity, margin = found.identity, found.margin
    return Limit(
        id=identity.id,
        name=identity.name,
        part=identity.part,
        place=identity.place,
        kind=found.kind,
        demand=units.sampled(found.demand, found.unit),
        capacity=units.sampled(found.capacity, found.unit),
        unit=units.unit(found.unit),
        margin=units.sampled(margin, "1"),
        survival=float(np.mean(margin[1:] >= 1.0)),
        reliability_index=None,
        source=identity.source,
        split=tuple(Share(cause, units.sampled(value, found.unit)) for cause, value in found.split.items()),
        fails_at=fails_at,
        notes=(*identity.notes, *(left.text for left in ranges if left.touches(identity.id))),
    )


def with_beta(found: Limit, beta: float) -> Limit:
    """The limit with FORM's reliability index."""
    return replace(found, reliability_index=beta)


def between(value: float, low: float, high: float, units: ShopUnits) -> Quantity:
    """A power with the band of two standard errors of the sampling around it [W]."""
    f = units.factor("W")
    return Quantity(value * f, units.power, Spread(min(low, value) * f, max(high, value) * f, 0.95))


def peak_pressure(sampled: Sampled, units: ShopUnits) -> Quantity:
    """Mean-cycle peak pressure at the hardest point of the duty, with its spread at the wanted power."""
    kernels = sampled.kernels(sampled.study.levels[sampled.study.wanted])
    peak = kernels["peak_pressure", ""]
    weights = kernels["cycle_weights", ""]
    mean = np.sum(peak * weights, axis=2)[:, :, 0]
    return units.sampled(mean.max(axis=1), "Pa", gas=True)


def surface_error(study: Study) -> float:
    """Largest rms error of a pressure surface's peak, relative."""
    return float(max(o.surface.error[720] for level in study.levels for o in level.operations))


def point(
    cycle: Cycle,
    speed: float,
    units: ShopUnits,
    cycles: float | None,
    peak: Quantity | None = None,
    knock: Knock | None = None,
) -> Point:
    """What the gas model found at one speed."""
    hardest = int(np.argmax(cycle.peak_pressure))
    margin = None if knock is None else knock.margin
    return Point(
        speed=units.quantity(speed, "rad/s"),
        power=units.quantity(cycle.brake_power, "W"),
        torque=units.quantity(cycle.brake_torque, "N*m"),
        bmep=units.quantity(cycle.bmep, "Pa", gas=True),
        peak_pressure=peak or units.quantity(float(cycle.peak_pressure.mean()), "Pa", gas=True),
        peak_angle=Quantity(float(cycle.peak_angle.mean()), "deg"),
        volumetric_efficiency=cycle.volumetric_efficiency,
        manifold_pressure=units.quantity(float(cycle.plenum_pressure.mean()), "Pa", gas=True),
        back_pressure=units.quantity(float(cycle.exhaust_pressure.mean()), "Pa", gas=True),
        ca50=Quantity(cycle.burn.ca50, "deg"),
        burn_duration=Quantity(cycle.burn.burn_10_90, "deg"),
        hardest_cylinder=hardest + 1,
        hardest_share=float(cycle.peak_pressure[hardest] / cycle.peak_pressure.mean()),
        cycles=cycles,
        knock_margin=None if margin is None else _about(margin.degrees_margin, margin.degrees_u, "deg"),
        octane_asked=None if margin is None else _about(margin.required, margin.octane_u, "1"),
        octane_offered=None if margin is None else margin.index,
    )


def _about(value: float, u: float, unit: str) -> Quantity:
    half = _NORMAL_90 * u
    return Quantity(value, unit, Spread(value - half, value + half))


def points(study: Study, draw: Draw, units: ShopUnits, knocks: Sequence[Knock]) -> tuple[Point, ...]:
    """Operating points of the duty at the wanted power."""
    made = []
    for operation, knock in zip(study.levels[study.wanted].operations, knocks, strict=True):
        state = operation.at(draw)
        peak = units.sampled(state.peak, "Pa", gas=True)
        made.append(point(operation.cycle, operation.speed, units, operation.duty_cycles, peak, knock))
    return tuple(made)


def warnings(study: Study, units: ShopUnits, knocks: Sequence[Knock]) -> tuple[str, ...]:
    """What the user should know beside the figures: ranges left, contradictions between inputs, knock."""
    build = study.build
    operations = study.levels[study.wanted].operations
    made = _pressure_warnings(study, units)
    made += [text for o, k in zip(operations, knocks, strict=True) if (text := knocks_text(o.cycle, k))]
    odd = [
        f"{abs(angle):.0f} deg {'after' if angle >= 0.0 else 'before'} at {o.speed * 30.0 / np.pi:.0f} rpm"
        for o in operations
        if not 5.0 <= (angle := float(o.cycle.peak_angle.mean())) <= 30.0
    ]
    if odd:
        made.append(
            f"The pressure peaks {', '.join(odd)}, counted from top dead centre; race engines are set near "
            "12 to 16 after. Check spark and burn."
        )
    made += [left.text for left in outside_of(build, units)]
    return tuple(made)


def _pressure_warnings(study: Study, units: ShopUnits) -> list[str]:
    """Where the power wants another manifold pressure than the build or the weather gives."""
    build = study.build
    outside = build.si("conditions.pressure")
    gauge = study.base - outside
    if build.word("boost.kind") != "none":
        given = build.si("boost.pressure")
        if abs(gauge - given) <= 0.12 * (outside + given):
            return []
        return [
            f"The wanted power needs {_pressure(units, gauge)} in the manifold by this gas model; "
            f"the build says {_pressure(units, given)}. One of power, boost, cams or flow tables is off."
        ]
    share = study.base / outside
    if abs(share - 1.0) <= _NEAR_WEATHER:
        return []
    side = "more" if share > 1.0 else "less"
    return [
        f"The wanted power needs {share:.2f} times the outside pressure before the throttle: with these "
        f"heads, cams and pipes the gas model makes {side} air necessary than the weather gives. Power, "
        "flow tables, cams or pipes are off, or the model is (docs/limits.md). The pressures hold for the "
        "power, however it is made, at the stated spark."
    ]


def _pressure(units: ShopUnits, gauge: float) -> str:
    shown = units.quantity(gauge, "Pa", gas=True)
    return f"{shown.value:.1f} {shown.unit} of boost" if gauge > 0 else "less than the atmosphere"


def field(value: Value) -> Quantity:
    """A build value in the user's own unit with its spread."""
    dimension = dimension_of(value.unit)
    middle = to_unit(value.si, value.unit, dimension)
    half = 1.645 * abs(to_unit(value.u, value.unit, dimension, difference=True))
    return Quantity(middle, value.unit or "1", Spread(middle - half, middle + half))


def field_name(path: str) -> str:
    """A field in a builder's words: its section and what the build file says of it."""
    parts = path.split(".")
    if path.startswith("casting.walls.") and parts[2].isdigit():
        return f"wall of cylinder {parts[2]}, depth {int(parts[3]) + 1}, place {int(parts[4]) + 1}"
    leaf = leaves().get(path)
    section = parts[0].replace("_", " ")
    return f"{section}: {leaf.meaning.rstrip('.').lower()}" if leaf else f"{section}: {' '.join(parts[1:])}"
