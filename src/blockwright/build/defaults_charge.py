"""Defaults of the machines that charge the engine: turbocharger, blower, nitrous oxide.

A section that the file does not have is not fitted and gets none.  Common practice, no source.
"""

from __future__ import annotations

import math

from .draft import Draft
from .proportions import boost_constant, compressor_wheel, nitrous_power, turbine_throat
from .rules import Many, Rule, When, quantity, word

_HP = 745.69987
_DEG = math.pi / 180.0


def _turbo(d: Draft) -> bool:
    return d.fitted("turbo")


def _blower(d: Draft) -> bool:
    return d.fitted("blower")


def _centrifugal(d: Draft) -> bool:
    return _blower(d) and d.word("blower.principle") == "centrifugal"


def _nitrous(d: Draft) -> bool:
    return d.fitted("nitrous")


def _wet(d: Draft) -> bool:
    return _nitrous(d) and d.word("nitrous.mode") == "wet"


def _scaled(machine: str, fitted: When) -> When:
    """Whether the map is the one scaled by size, whose shape must be told."""
    return lambda d: fitted(d) and f"{machine}.compressor_map" not in d.choices


def _air(machine: str, fitted: When) -> tuple[Rule, ...]:
    """Cooler, and the pipe before the machine."""

    def cooled(d: Draft) -> bool:
        return fitted(d) and d.si(f"{machine}.cooler_effectiveness") > 0.0

    return (
        _usual(f"{machine}.cooler_drop", "cooler_drop", "kPa", 1, "40 %", cooled, "pressure"),
        quantity(f"{machine}.cooling_temperature", "degC", 0, "3 K", "that of the surrounding air",
                 lambda d: d.si("conditions.temperature"), cooled, "temperature"),
        _usual(f"{machine}.inlet_drop", "inlet_drop", "kPa", 1, "50 %", fitted, "pressure"),
    )  # fmt: skip


def _trim(machine: str, fitted: When) -> Rule:
    return _usual(f"{machine}.trim", "trim", "", 2, "6 %", _scaled(machine, fitted))


def _effectiveness(d: Draft) -> float:
    return 0.6 if d.word("blower.principle") == "centrifugal" else 0.0


def _usual(
    path: str, name: str, unit: str, digits: int, spread: str, when: When, dimension: str = "number"
) -> Rule:
    """Rule for a figure that chargers usually have."""
    return quantity(path, unit, digits, spread, f"usual (boost.{name})", lambda d: boost_constant(name), when,
                    dimension)  # fmt: skip


def _sized(path: str, name: str, of: str, spread: str) -> Rule:
    """Rule for a diameter that usually goes with another."""
    words = f"in the usual proportion (boost.{name}) to the {of.replace('_', ' ')}"
    return quantity(
        path, "mm", 1, spread, words, lambda d: boost_constant(name) * d.si(f"turbo.{of}"), _turbo
    )


def _inertia(d: Draft) -> float:
    return boost_constant("inertia_shape") * d.si("turbo.turbine_diameter") ** 5


TURBO: tuple[Rule | Many, ...] = (
    word("turbo.count", "as most are", lambda d: 1, _turbo),
    quantity("turbo.compressor_diameter", "mm", 1, "6 %",
             "so that the air for the target's power stands in the middle of the map at that boost",
             lambda d: compressor_wheel(d, "turbo"), _turbo),
    _trim("turbo", _turbo),
    _usual("turbo.tip_limit", "tip_limit", "m/s", 0, "4 %", _turbo, "speed"),
    _sized("turbo.turbine_diameter", "turbine_size", "compressor_diameter", "6 %"),
    quantity("turbo.turbine_area", "mm^2", 0, "15 %",
             "passes 0.8 of the exhaust, choked, at a pressure as high as the charge's",
             turbine_throat, _turbo, "area"),
    _usual("turbo.turbine_efficiency", "turbine_efficiency", "", 2, "6 %", _turbo),
    _usual("turbo.mechanical_efficiency", "mechanical_efficiency", "", 2, "1.5 %", _turbo),
    quantity("turbo.inertia", "kg*mm^2", 1, "30 %",
             "with the turbine diameter to the fifth power (boost.inertia_shape)", _inertia, _turbo,
             "moment of inertia"),
    _sized("turbo.wastegate_diameter", "wastegate_size", "turbine_diameter", "10 %"),
    _usual("turbo.cooler_effectiveness", "cooler_effectiveness", "", 2, "10 %", _turbo),
    *_air("turbo", _turbo),
    _usual("turbo.back_loss", "back_loss", "", 1, "40 %", _turbo),
    _sized("turbo.back_diameter", "back_size", "turbine_diameter", "8 %"),
)  # fmt: skip

BLOWER: tuple[Rule | Many, ...] = (
    quantity("blower.impeller_diameter", "mm", 1, "6 %",
             "so that the air for the target's power stands in the middle of the map at that boost",
             lambda d: compressor_wheel(d, "blower"), _centrifugal),
    _trim("blower", _centrifugal),
    quantity("blower.bypass_diameter", "mm", 1, "0 %", "none: the boost follows the drive", lambda d: 0.0,
             _blower),
    _usual("blower.mechanical_efficiency", "drive_efficiency", "", 2, "1.5 %", _blower),
    quantity("blower.cooler_effectiveness", "", 2, "10 %", "0.6 behind a centrifugal blower, else no cooler",
             _effectiveness, _blower, "number"),
    *_air("blower", _blower),
)  # fmt: skip


def _fuel_pressure(d: Draft) -> float:
    return d.si("fuel.pressure")


def _retard(d: Draft) -> float:
    share = nitrous_power(d) / d.count("layout.cylinders") / (6.25 * _HP)
    return min(2.0 * share, 25.0) * _DEG


def _jets(d: Draft) -> int:
    return d.count("layout.cylinders") if d.word("nitrous.place") == "port" else 1


NITROUS: tuple[Rule | Many, ...] = (
    word("nitrous.mode", "as most are", lambda d: "wet", _nitrous),
    word("nitrous.place", "a plate under the throttle; at the ports of individual runners",
         lambda d: "port" if d.word("intake.layout") == "individual" else "plate", _nitrous),
    word("nitrous.jets", "one in a plate, or one a cylinder", _jets, _nitrous),
    quantity("nitrous.fuel_pressure", "kPa", 0, "3 %", "fuel.pressure", _fuel_pressure, _wet, "pressure"),
    quantity("nitrous.bottle_volume", "l", 2, "3 %", "0.68 kg of nitrous oxide in a litre, the usual filling",
             lambda d: d.si("nitrous.bottle_mass") / 680.0, _nitrous, "volume"),
    quantity("nitrous.bottle_temperature", "degC", 0, "3 K", "a bottle kept warm", lambda d: 303.15,
             _nitrous, "temperature"),
    word("nitrous.bottles", "as most are", lambda d: 1, _nitrous),
    quantity("nitrous.retard", "deg", 0, "2 deg",
             "2 deg for every 6.25 hp from it in a cylinder, at most 25 deg", _retard, _nitrous, "angle"),
    quantity("nitrous.activation_speed", "rpm", 0, "0 %", "0.45 of the target speed",
             lambda d: 0.45 * d.si("target.speed"), _nitrous, "turning speed"),
    quantity("nitrous.line_loss", "kPa", 0, "50 %", "valve, hose and fittings of fair size", lambda d: 200e3,
             _nitrous, "pressure"),
)  # fmt: skip


def _charge(d: Draft) -> float:
    """Behind a compressor of 68 % efficiency and a cooler."""
    air, kind = d.si("conditions.temperature"), d.word("boost.kind")
    if kind == "none":
        return air
    taken = d.si(f"{kind}.cooler_effectiveness") if d.fitted(kind) else 0.6
    ratio = 1.0 + d.si("boost.pressure") / d.si("conditions.pressure")
    return float(air * (1.0 + (1.0 - taken) * (ratio ** (0.4 / 1.4) - 1.0) / 0.68))


def _back(d: Draft) -> float:
    return 1.2 * d.si("boost.pressure") if d.word("boost.kind") == "turbo" else 5e3


BOOST: tuple[Rule | Many, ...] = (
    quantity("boost.temperature", "degC", 0, "8 K",
             "that of the air; boosted, behind a compressor of 68 % and the machine's cooler or one of 60 %",
             _charge, dimension="temperature"),
    quantity("boost.exhaust_pressure", "kPa", 1, "20 %", "1.2 boost with a turbo, else 5 kPa", _back,
             dimension="pressure"),
)  # fmt: skip

CHARGE: tuple[Rule | Many, ...] = (*TURBO, *BLOWER, *NITROUS, *BOOST)
