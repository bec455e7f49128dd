"""From a build to what the gas model takes."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..build import catalogue
from ..build.firing import firing as firing_of
from ..build.model import Build
from ..errors import Fault, InputError
from . import valves
from .combustion import burn_angle, ca10_from_advance, ca10_from_ca50
from .evaporation import CP_AIR, evaporate
from .friction import Friction
from .fuels import working_gas
from .knock import effective_octane, is_rated
from .model import Breathing, OperatingPoint, Walls
from .pipes_from_build import network
from .reference_burn import ReferenceBurn, given_burn, reference_burn
from .steering import Steering

Array = NDArray[np.float64]


@functools.cache
def constant(name: str) -> float:
    """A constant of the gas model from ``models/gas.toml`` [SI]."""
    return catalogue.row("model", f"gas.{name}").si("value")


def _turn_degrees(build: Build, path: str) -> float:
    return math.degrees(build.si(path))


def firing_angles(build: Build) -> Array:
    """Crank angle at which each cylinder fires, cylinder 1 at 0, shape (n_cyl,) [deg]."""
    throws = build.array("layout.throws")
    found = firing_of(
        build.word("layout.kind"),
        build.count("layout.cylinders"),
        build.numbers("layout.firing_order"),
        _turn_degrees(build, "layout.bank_angle") if build.has("layout.bank_angle") else 0.0,
        tuple(float(a) for a in np.degrees(throws)) if throws.size else None,
        _turn_degrees(build, "layout.split") if build.has("layout.split") else 0.0,
        build.word("layout.numbering") if build.has("layout.numbering") else "alternating",
    )
    if isinstance(found, str):
        raise InputError(Fault("layout.firing_order", str(build.numbers("layout.firing_order")), found))
    return np.array(found.firing, dtype=float)


def lift_curve(build: Build, side: str) -> Array:
    """Valve lift [m] at every quarter degree of a cylinder's cycle, for ``"intake"`` or ``"exhaust"``."""
    points = build.array(f"cam.{side}_curve", "angle", "lift")
    if points.size:
        return valves.lift_from_points(np.degrees(points[:, 0]), points[:, 1])
    opens, closes = _turn_degrees(build, f"cam.{side}_opens"), _turn_degrees(build, f"cam.{side}_closes")
    lift = build.si(f"cam.{side}_lift")
    if side == "intake":
        return valves.lift_on_cycle(360.0 - opens, 540.0 + closes, lift)
    return valves.lift_on_cycle(180.0 - opens, 360.0 + closes, lift)


def valve_area(build: Build, side: str) -> Array:
    """Effective area [m2] of a cylinder's valves at every quarter degree of its cycle."""
    lift = lift_curve(build, side)
    bench = build.array(f"heads.{side}.flow", "lift", "flow")
    if bench.size:
        depression = build.si(f"heads.{side}.depression")
        return valves.area_from_bench(lift, bench[:, 0], bench[:, 1], depression)
    diameter, count = build.si(f"heads.{side}.diameter"), build.count(f"heads.{side}.valves")
    return valves.area_from_diameter(lift, diameter, count, exhaust=side == "exhaust")


def clearance_volume(build: Build) -> float:
    """Volume above the piston at top dead centre: chamber, gasket, deck clearance, dish [m3]."""
    bore = build.si("casting.bore")
    gasket = 0.25 * math.pi * build.si("heads.gasket_bore") ** 2 * build.si("heads.gasket_thickness")
    deck = 0.25 * math.pi * bore**2 * build.si("pistons.deck_clearance")
    total = build.si("heads.chamber_volume") + gasket + deck + build.si("pistons.dish")
    if total <= 0.0:
        raise InputError(
            Fault(
                "pistons.dish",
                f"a volume above the piston of {total * 1e6:.1f} cc",
                "chamber, gasket, deck clearance and dish must add up to more than nothing",
            )
        )
    return total


def breathing(build: Build) -> Breathing:
    """Geometry, valves, volumes and pipes of a build.  Throttle and outlet stand wide open."""
    discharge = constant("throttle_discharge")

    def open_area(path: str) -> float:
        return discharge * 0.25 * math.pi * build.si(path) ** 2

    throttle, outlet = (open_area(p) for p in ("intake.throttle_diameter", "exhaust.outlet_diameter"))
    return Breathing(
        bore=build.si("casting.bore"),
        stroke=build.si("crank.stroke"),
        rod=build.si("rods.length"),
        pin_offset=build.si("pistons.pin_offset"),
        clearance_volume=clearance_volume(build),
        firing=firing_angles(build),
        intake_area=valve_area(build, "intake"),
        exhaust_area=valve_area(build, "exhaust"),
        plenum_volume=build.si("intake.plenum_volume"),
        exhaust_volume=build.si("exhaust.volume"),
        throttle_area=throttle,
        outlet_area=outlet,
        reverse_flow=constant("reverse_flow"),
        head_area=constant("head_area"),
        liner_top=max(build.si("pistons.deck_clearance") + build.si("heads.gasket_thickness"), 0.0),
        walls=Walls(
            constant("head_temperature"), constant("piston_temperature"), constant("liner_temperature")
        ),
        friction=Friction(
            constant("friction_constant"),
            constant("friction_pressure"),
            constant("friction_speed"),
            constant("friction_square"),
            constant("friction_factor"),
        ),
        network=network(build, throttle, outlet),
    )


def water_per_air(pressure: float, temperature: float, humidity: float) -> float:
    """Water vapour per dry air by mass [-] from pressure [Pa], temperature [K], relative humidity [-].

    Saturation after Sonntag: 611.2 Pa exp(17.62 t/(t + 243.12)), t in deg C (read in a meteorology package).
    """
    t = temperature - 273.15
    vapour = humidity * 611.2 * math.exp(17.62 * t / (t + 243.12))
    return 0.62198 * vapour / max(pressure - vapour, 0.1 * pressure)


def charge_temperature(
    air_temperature: float,
    pressure: float,
    fuel: str,
    lambda_: float,
    evaporation_share: float,
    heating: float,
) -> float:
    """Temperature of the charge on its way to the valve [K].

    The air at a pressure [Pa] gives a share of the fuel's heat of evaporation, as far as the vapour does not
    saturate, and takes up `heating` [K] from the walls; see `evaporation.evaporate`.
    """
    fuel_per_air = 1.0 / (working_gas(fuel).air_fuel_ratio * lambda_)
    return evaporate(fuel, air_temperature, pressure, fuel_per_air, evaporation_share, heating).temperature


def _mixture(build: Build) -> float:
    """Relative air-fuel ratio of the build, where the tables of its burned gas hold."""
    given = build.value("fuel.lambda")
    low, high = working_gas(build.word("fuel.kind")).lambda_range
    if not low <= given.si <= high:
        right = f"the properties of burned gas are known from {low:.2f} to {high:.2f}"
        raise InputError(Fault("fuel.lambda", f"{given.si:g}", right, given.line), build.source)
    return given.si


def operating_point(
    build: Build,
    speed: float | None = None,
    load: float = 1.0,
    *,
    plenum_pressure: float | None = None,
    plenum_temperature: float | None = None,
    turbulence: float | None = None,
    burn_up: float = 1.0,
) -> OperatingPoint:
    """How a build runs at a speed and a load.

    Parameters
    ----------
    build : Build
    speed : float or None
        [rad/s]; the target's when None.
    load : float
        Plenum pressure over that at full load [-]; the throttle holds it there.
    plenum_pressure, plenum_temperature : float or None
        State of the air that the plenum draws from, instead of the build's boost or surroundings [Pa, K].
    turbulence : float or None
        Factor on the flame's turbulence, when it is known already [-]; then `burn_up` is the one on its
        burning time.

    Notes
    -----
    Spark-to-10 % delay and 10-90 % duration hold at the target speed and grow with the cube root of the
    speed; a *given* 50 % burned angle holds at every speed.  A flame (``spark.law``) finds its own angles.
    """
    if not 0.0 < load <= 1.0:
        raise InputError(f"load is {load:g}; it must lie above 0 and not above 1")
    target = build.si("target.speed")
    n = target if speed is None else speed
    outside, ambient = build.si("conditions.pressure"), build.si("conditions.temperature")
    boosted = build.has("boost.kind") and build.word("boost.kind") != "none"
    pressure, temperature, behind = outside, ambient, outside
    if boosted:
        pressure = outside + build.si("boost.pressure")
        temperature = build.si("boost.temperature")
        if build.has("boost.exhaust_pressure"):
            behind = outside + build.si("boost.exhaust_pressure")
    if plenum_pressure is not None:
        pressure = plenum_pressure
    if plenum_temperature is not None:
        temperature = plenum_temperature
    fuel, lambda_ = build.word("fuel.kind"), _mixture(build)
    retard = _retard(build, n)
    duration = float(burn_angle(_turn_degrees(build, "spark.burn_duration"), n, target))
    if build.has("spark.ca50") and build.value("spark.ca50").by != "assumed":
        ca10 = float(ca10_from_ca50(_turn_degrees(build, "spark.ca50") + retard, duration))
    else:
        delay = burn_angle(_turn_degrees(build, "spark.ca10_delay"), n, target)
        ca10 = float(ca10_from_advance(_turn_degrees(build, "spark.advance") - retard, delay))
    if turbulence is None:
        turbulence, burn_up = _flame(build)
    charger = 0.0
    if boosted and build.word("boost.kind") == "blower":
        rise = ambient * ((pressure / outside) ** (2.0 / 7.0) - 1.0)
        charger = CP_AIR * rise / constant("charger_efficiency")
    return OperatingPoint(
        speed=n,
        plenum_pressure=pressure * load,
        plenum_temperature=charge_temperature(
            temperature,
            pressure * load,
            fuel,
            lambda_,
            constant("evaporation_share"),
            constant("charge_heating"),
        ),
        exhaust_pressure=behind,
        lambda_=lambda_,
        fuel=fuel,
        ca10=ca10,
        burn_10_90=duration,
        heat_factor=constant("heat_factor"),
        combustion_efficiency=constant("combustion_efficiency"),
        vapour=water_per_air(outside, ambient, build.si("conditions.humidity")),
        charger_work=charger,
        law=build.word("spark.law"),
        spark=retard - _turn_degrees(build, "spark.advance"),
        turbulence=turbulence,
        burn_up=burn_up,
        plug_offset=2.0 * build.si("spark.plug_offset") / build.si("casting.bore"),
        quench_share=build.si("heads.quench_share"),
        octane=_octane(fuel, pressure * load),
    )


def _retard(build: Build, speed: float) -> float:
    """How much later the spark comes while nitrous oxide flows, from its activation speed on [deg]."""
    if not build.has("nitrous") or speed < build.si("nitrous.activation_speed"):
        return 0.0
    return _turn_degrees(build, "nitrous.retard")


#: Anchored burns found, by what they depend on.
_TURBULENCE: dict[tuple[float | str, ...], ReferenceBurn] = {}
_TURBULENCE_OF = (
    "casting.bore", "crank.stroke", "rods.length", "heads.chamber_volume", "heads.gasket_bore",
    "heads.gasket_thickness", "pistons.deck_clearance", "pistons.dish", "spark.plug_offset",
    "heads.quench_share", "spark.burn_duration", "spark.ca10_delay", "target.speed", "conditions.temperature",
    "conditions.pressure",
)  # fmt: skip


def anchored(build: Build) -> bool:
    """Whether the flame's turbulence follows from a burn duration: unless the turbulence itself is given."""
    return build.word("spark.law") == "flame" and build.value("heads.tumble").by == "assumed"


def _flame(build: Build) -> tuple[float, float]:
    """Factors on the flame's turbulence and burning time: given, or with which it burns as the build says."""
    if not anchored(build):
        return build.si("heads.tumble") / catalogue.row("model", "flame.turbulence").si("value"), 1.0
    found = _reference(build)
    return found.turbulence, found.burn_up


def burn_note(build: Build) -> str | None:
    """What to say where a *typical* burn duration lies out of the flame's reach; None where nothing is.

    The nearest duration that the flame makes is used then.  A given one out of reach is refused instead.
    """
    return _reference(build).note if anchored(build) else None


def _reference(build: Build) -> ReferenceBurn:
    """The burn to which the flame of a build is anchored.

    A typical duration is told of an atmospheric engine on petrol; a given one of this engine as it is.

    Raises
    ------
    OutsideValidity
        When a given duration is out of the flame's reach.
    """
    given = build.value("spark.burn_duration").by != "assumed"
    cams = (value.si for path, value in build.values.items() if path.startswith("cam."))
    key: tuple[float | str, ...] = (*(build.si(path) for path in _TURBULENCE_OF), *cams)
    if given:
        boost = str([build.values.get(f"boost.{name}") for name in ("pressure", "temperature")])
        key = (*key, build.word("fuel.kind"), build.si("fuel.lambda"), boost)
    if key not in _TURBULENCE:
        point = operating_point(build, turbulence=1.0)
        if not given:
            point = replace(
                point,
                fuel="petrol-98",
                lambda_=0.88,
                plenum_pressure=build.si("conditions.pressure"),
                plenum_temperature=build.si("conditions.temperature"),
            )
        duration, delay = (_turn_degrees(build, f"spark.{n}") for n in ("burn_duration", "ca10_delay"))
        if len(_TURBULENCE) > 200:
            _TURBULENCE.clear()
        find = given_burn if given else reference_burn
        _TURBULENCE[key] = find(breathing(build), point, duration, delay)
    return _TURBULENCE[key]


def _octane(fuel: str, plenum_pressure: float) -> float:
    """Octane index at a manifold pressure [Pa]; a fuel that has none is given methanol's, its base."""
    return effective_octane(fuel if is_rated(fuel) else "methanol", plenum_pressure).index


def steering(build: Build, speed: float | None = None) -> Steering | None:
    """What steers a build between cycles at full load, or None; see `steering_from_build.steering`."""
    from . import steering_from_build  # needs this module's operating point

    return steering_from_build.steering(build, speed)
