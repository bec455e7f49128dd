"""How well the figures of a power curve are known: every doubt moved by itself, at a few speeds.

Each doubt (a field of the build with its spread, a constant of the model with its own) is moved up by
one standard uncertainty (down, where up leaves the model's range) and the engine is run again from its
settled state.  The difference is that doubt's part of a figure's standard uncertainty; doubts are
independent, so the parts add as squares.  Between the speeds the result is interpolated.
One side is enough: near the spark of best torque, where both sides lose, it keeps the loss that
a difference of both sides would cancel.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..build import catalogue
from ..build.model import Build
from ..errors import InputError, NotSettled, OutsideValidity
from . import from_build
from .evaporation import air_before, evaporate
from .friction import friction_mean_pressure
from .model import Breathing, OperatingPoint
from .readings import KINDS, read
from .run_point import RanPoint, Setting, Steer, Vary, boosted, run_point
from .steered_doubts import STEERED

Array = NDArray[np.float64]
#: Change from cycle to cycle that is allowed where only differences are wanted.
_TOLERANCE = 5e-4
#: Fields whose doubt moves the gas; those of the layout and of mere mass do not.
_FIELDS = (
    "conditions.pressure", "conditions.temperature", "conditions.humidity",
    "cam.intake_opens", "cam.intake_closes", "cam.intake_lift",
    "cam.exhaust_opens", "cam.exhaust_closes", "cam.exhaust_lift",
    "intake.throttle_diameter", "exhaust.outlet_diameter",
    "fuel.lambda", "spark.advance", "spark.ca10_delay", "spark.burn_duration", "spark.ca50",
    "heads.tumble", "spark.plug_offset",
    "boost.pressure", "boost.temperature", "boost.exhaust_pressure",
    "turbo.turbine_area", "turbo.turbine_efficiency", "turbo.compressor_efficiency",
    "turbo.cooler_effectiveness", "turbo.cooler_drop", "turbo.cooling_temperature", "turbo.back_loss",
    "turbo.inlet_drop", "blower.displacement", "blower.drive_ratio", "blower.mechanical_efficiency",
    "blower.cooler_effectiveness",
    "nitrous.jet", "nitrous.fuel_jet", "nitrous.bottle_temperature", "nitrous.line_loss",
)  # fmt: skip


def _unsteered(step: float) -> Steer | None:
    return None


@dataclass(frozen=True)
class Doubt:
    """One thing that is not known exactly.

    Attributes
    ----------
    name : str
        As the trace names it: ``"build fuel.lambda"``, ``"model gas.heat_factor"``.
    build : callable
        The build with it moved by so many standard uncertainties.
    vary : callable
        What the gas model is given with it moved so; None where the build holds it.
    steer : callable
        What is steered with it moved so; None where that does not feel it.
    friction : bool
        Whether it moves friction alone: the gas then stays as it was and needs no new run.
    """

    name: str
    build: Callable[[float], Build]
    vary: Callable[[float], Vary | None]
    steer: Callable[[float], Steer | None] = _unsteered
    friction: bool = False


def _still(step: float) -> Vary | None:
    return None


def _field(build: Build, name: str, paths: Sequence[str]) -> Doubt:
    """Fields that are off together, as all rows of one flow bench are."""

    def moved(step: float) -> Build:
        values = dict(build.values)
        for path in paths:
            value = values[path]
            values[path] = replace(value, si=value.si + step * value.u)
        return replace(build, values=values)

    return Doubt(f"build {name}", moved, _still)


def _model(build: Build, name: str, change: Callable[[Breathing, OperatingPoint, float], object]) -> Doubt:
    """A constant of the gas model; `change` gets the value over the nominal, or the step of a sum."""
    row_name = name if "." in name else f"gas.{name}"
    row = catalogue.row("model", row_name)
    value, u = row.si("value"), row.u("value")

    def size(step: float) -> float:
        lognormal = row.distribution("value") == "lognormal"
        return value * math.exp(step * u / value) if lognormal else value + step * u

    def vary(step: float) -> Vary:
        moved = size(step)

        def apply(breathing: Breathing, point: OperatingPoint) -> tuple[Breathing, OperatingPoint]:
            made = change(breathing, point, moved)
            if isinstance(made, Breathing):
                return made, point
            assert isinstance(made, OperatingPoint)
            return breathing, made

        return apply

    def steer(step: float) -> Steer | None:
        change = STEERED.get(name)
        return None if change is None else lambda found: change(found, size(step))

    return Doubt(f"model {row_name}", lambda step: build, vary, steer, name.startswith("friction_"))


def _constants(build: Build) -> list[Doubt]:
    """Doubts of the gas model's constants."""
    discharge = from_build.constant("throttle_discharge")
    heating = from_build.constant("charge_heating")
    share = from_build.constant("evaporation_share")
    charger = from_build.constant("charger_efficiency")

    def friction(field: str) -> Callable[[Breathing, OperatingPoint, float], object]:
        return lambda b, p, value: replace(b, friction=replace(b.friction, **{field: value}))

    def charged(p: OperatingPoint, moved_share: float, moved_heating: float) -> OperatingPoint:
        """The charge that the same air would make."""
        air = air_before(p.plenum_temperature, p.fuel, p.plenum_pressure, p.fuel_per_air, share, heating)
        made = evaporate(p.fuel, air, p.plenum_pressure, p.fuel_per_air, moved_share, moved_heating)
        return replace(p, plenum_temperature=made.temperature)

    made = [
        _model(build, "friction_factor", friction("factor")),
        _model(build, "friction_constant", friction("constant")),
        _model(build, "friction_pressure", friction("pressure_share")),
        _model(build, "friction_speed", friction("speed_term")),
        _model(build, "friction_square", friction("square_term")),
        _model(build, "heat_factor", lambda b, p, v: replace(p, heat_factor=v)),
        _model(build, "combustion_efficiency", lambda b, p, v: replace(p, combustion_efficiency=min(v, 1.0))),
        _model(build, "reverse_flow", lambda b, p, v: replace(b, reverse_flow=v)),
        _model(build, "throttle_discharge", lambda b, p, v: replace(
            b, throttle_area=b.throttle_area * v / discharge, outlet_area=b.outlet_area * v / discharge)),
        _model(build, "charge_heating", lambda b, p, v: charged(p, share, v)),
        _model(build, "evaporation_share", lambda b, p, v: charged(p, min(max(v, 0.0), 1.0), heating)),
        _model(build, "head_area", lambda b, p, v: replace(b, head_area=v)),
    ]  # fmt: skip
    if boosted(build) and build.word("boost.kind") == "blower":
        made.append(
            _model(build, "charger_efficiency",
                   lambda b, p, v: replace(p, charger_work=p.charger_work * charger / v))
        )  # fmt: skip
    return made


#: Fields that make up the volume above the piston: one doubt, since the gas feels their sum alone.
_CLEARANCE = ("heads.chamber_volume", "heads.gasket_thickness", "pistons.deck_clearance", "pistons.dish")


def _clearance(build: Build) -> Doubt | None:
    """The volume above the piston, moved by way of the dish."""
    here = from_build.clearance_volume(build)
    off = 0.0
    for path in _CLEARANCE:
        value = build.values[path]
        moved = replace(build, values={**build.values, path: replace(value, si=value.si + value.u)})
        off = math.hypot(off, from_build.clearance_volume(moved) - here)
    if off == 0.0:
        return None
    dish = replace(build.values["pistons.dish"], u=off)
    stand_in = replace(build, values={**build.values, dish.path: dish})
    return _field(stand_in, "volume above the piston", [dish.path])


def doubts(build: Build) -> list[Doubt]:
    """Everything whose spread moves the figures of a curve."""
    known = [path for path in _FIELDS if path in build.values and build.values[path].u > 0.0]
    made = [_field(build, path, [path]) for path in known]
    clearance = _clearance(build)
    made += [] if clearance is None else [clearance]
    for side in ("intake", "exhaust"):
        rows = [p for p in build.values if p.startswith(f"heads.{side}.flow.") and p.endswith(".flow")]
        rows = [p for p in rows if build.values[p].u > 0.0]
        if rows:
            made.append(_field(build, f"heads.{side}.flow", rows))
    return made + _constants(build)


@dataclass(frozen=True)
class Spread:
    """Standard uncertainties of a curve's figures at a few speeds.

    Attributes
    ----------
    speeds : tuple of float
        Rising [rad/s].
    sd : mapping from quantity to ndarray, shape (n,)
        Relative where `Kind.relative`, else in SI.
    shares : mapping from a doubt's name to ndarray, shape (n,)
        Its part of the variance of the power [-].
    silent : tuple of str
        Doubts that could be run at no speed and are not in it.
    """

    speeds: tuple[float, ...]
    sd: Mapping[str, Array]
    shares: Mapping[str, Array]
    silent: tuple[str, ...] = ()

    def at(self, speed: float) -> dict[str, float]:
        """Standard uncertainties at a speed: straight lines between, held at the ends."""
        return {key: float(np.interp(speed, self.speeds, sd)) for key, sd in self.sd.items()}

    def worst(self, count: int = 4) -> list[tuple[str, float]]:
        """The doubts that matter most for the power, with their mean share."""
        mean = {name: float(np.mean(share)) for name, share in self.shares.items()}
        return sorted(mean.items(), key=lambda item: -item[1])[:count]


def _log(key: str, value: float | None) -> float:
    if value is None:
        return math.nan
    if KINDS[key].relative:
        return math.log(value) if value > 0.0 else math.nan
    return value


def _figures(ran: RanPoint, build: Build) -> Array:
    found = read(ran, build)
    return np.array([_log(key, found[key].value) for key in KINDS])


def _with_friction(base: RanPoint, vary: Vary) -> RanPoint:
    """A settled point with other friction: its gas does not feel that."""
    breathing, _ = vary(base.breathing, base.point)
    f, cycle = breathing.friction, base.cycle
    fmep = float(
        friction_mean_pressure(
            cycle.peak_pressure.mean(), breathing.stroke * base.speed / math.pi,
            f.constant, f.pressure_share, f.speed_term, f.square_term, f.factor,
        )
    )  # fmt: skip
    bmep = cycle.bmep + cycle.fmep - fmep
    torque = bmep * breathing.displacement / (4.0 * math.pi)
    return replace(
        base,
        cycle=replace(cycle, fmep=fmep, bmep=bmep, brake_torque=torque, brake_power=torque * base.speed),
    )


#: Doubts from which the flame's factors follow; all others leave them as they are.
_OF_FLAME = ("build spark.burn_duration", "build spark.ca10_delay", "build heads.tumble")


def _held(doubt: Doubt, base: RanPoint) -> tuple[float, float] | None:
    return None if doubt.name in _OF_FLAME else (base.point.turbulence, base.point.burn_up)


def _moved(build: Build, base: RanPoint, setting: Setting, doubt: Doubt) -> Array | None:
    """Change of every figure by one standard uncertainty of a doubt; None when neither side can be run."""
    nominal = _figures(base, build)
    for step in (1.0, -1.0):
        vary = doubt.vary(step)
        try:
            there = doubt.build(step)
            if doubt.friction and vary is not None:
                ran = _with_friction(base, vary)
            else:
                ran = run_point(there, base.speed, setting=setting, near=base, tolerance=_TOLERANCE,
                                vary=vary, steer=doubt.steer(step), flame=_held(doubt, base),
                                knock=False)  # fmt: skip
        except (InputError, NotSettled, OutsideValidity):
            continue
        return step * (_figures(ran, there) - nominal)
    return None


def parts(build: Build, base: RanPoint, setting: Setting, known: Sequence[Doubt]) -> Array:
    """What each doubt does to each figure at one speed, shape (doubts, kinds); NaN where it cannot be run."""
    made = np.full((len(known), len(KINDS)), np.nan)
    for k, doubt in enumerate(known):
        found = _moved(build, base, setting, doubt)
        if found is not None:
            made[k] = found
    return made


def spread_of(speeds: Sequence[float], found: Sequence[Array], known: Sequence[Doubt]) -> Spread:
    """Put the doubts' parts at a few speeds together."""
    order = np.argsort(speeds)
    stack = np.array(found)[order]
    # A doubt that could be run on neither side says nothing, rather than that nothing is known.
    silent = np.all(np.isnan(stack), axis=2)
    stack[silent] = 0.0
    sd = np.sqrt(np.sum(stack**2, axis=1))
    power = stack[:, :, list(KINDS).index("power")] ** 2
    total = np.maximum(power.sum(axis=1), 1e-300)
    return Spread(
        tuple(float(speeds[i]) for i in order),
        {key: sd[:, j] for j, key in enumerate(KINDS) if np.all(np.isfinite(sd[:, j]))},
        {doubt.name: power[:, k] / total for k, doubt in enumerate(known)},
        tuple(doubt.name for k, doubt in enumerate(known) if silent[:, k].all()),
    )
