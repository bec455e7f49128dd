"""Defaults of the machines that charge the engine: turbocharger, blower, nitrous oxide.

A section that the file does not have is not fitted and gets none.  Common practice, no source.
"""

from __future__ import annotations

import math

from .draft import Draft
from .proportions import compressor_wheel, nitrous_power, turbine_throat
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
        quantity(f"{machine}.cooler_drop", "kPa", 1, "40 %", "a cooler of fair size and its pipes",
                 lambda d: 8e3, cooled, "pressure"),
        quantity(f"{machine}.cooling_temperature", "degC", 0, "3 K", "that of the surrounding air",
                 lambda d: d.si("conditions.temperature"), cooled, "temperature"),
        quantity(f"{machine}.inlet_drop", "kPa", 1, "50 %", "a filter and a short pipe",
                 lambda d: 2e3, fitted, "pressure"),
    )  # fmt: skip


def _rotor(machine: str, fitted: When) -> tuple[Rule, ...]:
    return (
        quantity(f"{machine}.trim", "", 2, "6 %", "a wheel of middling trim", lambda d: 0.55,
                 _scaled(machine, fitted), "number"),
    )  # fmt: skip


def _effectiveness(d: Draft) -> float:
    return 0.6 if d.word("blower.principle") == "centrifugal" else 0.0


TURBO: tuple[Rule | Many, ...] = (
    word("turbo.count", "as most are", lambda d: 1, _turbo),
    quantity("turbo.compressor_diameter", "mm", 1, "6 %",
             "so that the air for the target's power stands in the middle of the map at that boost",
             lambda d: compressor_wheel(d, "turbo"), _turbo),
    *_rotor("turbo", _turbo),
    quantity("turbo.tip_limit", "m/s", 0, "4 %", "a wheel of wrought aluminium", lambda d: 520.0, _turbo,
             "speed"),
    quantity("turbo.turbine_diameter", "mm", 1, "6 %", "0.92 compressor diameters",
             lambda d: 0.92 * d.si("turbo.compressor_diameter"), _turbo),
    quantity("turbo.turbine_area", "mm^2", 0, "15 %",
             "passes 0.8 of the exhaust, choked, at a pressure as high as the charge's",
             turbine_throat, _turbo, "area"),
    quantity("turbo.turbine_efficiency", "", 2, "6 %", "a good radial turbine", lambda d: 0.68, _turbo,
             "number"),
    quantity("turbo.mechanical_efficiency", "", 2, "1.5 %", "plain bearings", lambda d: 0.96, _turbo,
             "number"),
    quantity("turbo.inertia", "kg*mm^2", 1, "30 %", "180 kg/m3 times the turbine diameter to the fifth",
             lambda d: 180.0 * d.si("turbo.turbine_diameter") ** 5, _turbo, "moment of inertia"),
    quantity("turbo.wastegate_diameter", "mm", 1, "10 %", "0.6 turbine diameters",
             lambda d: 0.6 * d.si("turbo.turbine_diameter"), _turbo),
    quantity("turbo.cooler_effectiveness", "", 2, "10 %", "an air-to-air cooler", lambda d: 0.7, _turbo,
             "number"),
    *_air("turbo", _turbo),
    quantity("turbo.back_loss", "", 1, "40 %", "a few bends and a free silencer", lambda d: 4.0, _turbo,
             "number"),
    quantity("turbo.back_diameter", "mm", 1, "5 %", "1.35 turbine diameters",
             lambda d: 1.35 * d.si("turbo.turbine_diameter"), _turbo),
)  # fmt: skip

BLOWER: tuple[Rule | Many, ...] = (
    quantity("blower.impeller_diameter", "mm", 1, "6 %",
             "so that the air for the target's power stands in the middle of the map at that boost",
             lambda d: compressor_wheel(d, "blower"), _centrifugal),
    *_rotor("blower", _centrifugal),
    quantity("blower.bypass_diameter", "mm", 1, "0 %", "none: the boost follows the drive", lambda d: 0.0,
             _blower),
    quantity("blower.mechanical_efficiency", "", 2, "1.5 %", "a belt and gears", lambda d: 0.96, _blower,
             "number"),
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

CHARGE: tuple[Rule | Many, ...] = (*TURBO, *BLOWER, *NITROUS)
