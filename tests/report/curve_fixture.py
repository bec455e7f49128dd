"""A power curve without an engine behind it, for the tests of table, page and document."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from blockwright.gas.network import Duct, Junction, Network, Orifice, Volume
from blockwright.life.verdict import Quantity, Spread
from blockwright.report.curve_record import (
    SCHEMA,
    Best,
    Corrected,
    Curve,
    CurvePoint,
    Doubt,
    Missing,
    StandardAir,
    Target,
)


def q(value: float, unit: str, share: float | None = None) -> Quantity:
    spread = None if share is None else Spread(value * (1 - share), value * (1 + share))
    return Quantity(value, unit, spread)


def point(rpm: float, **more: Any) -> CurvePoint:
    """An invented point; torque falls off on both sides of 5000 rpm."""
    torque = 300.0 - 40.0 * ((rpm - 5000.0) / 2500.0) ** 2
    power = torque * rpm / 5252.1
    given: dict[str, Any] = {
        "speed": q(rpm, "rpm"),
        "torque": q(torque, "lbf*ft", 0.09),
        "power": q(power, "hp", 0.09),
        "bmep": q(torque / 2.0, "psi", 0.09),
        "imep": q(torque / 1.7, "psi", 0.05),
        "fmep": q(8.0 + rpm / 300.0, "psi", 0.3),
        "volumetric_efficiency": q(0.9, "1", 0.02),
        "peak_pressure": q(900.0 - rpm / 50.0, "psi", 0.12),
        "peak_angle": q(13.5, "deg"),
        "knock_margin": q(9.0 - rpm / 1000.0, "deg"),
        "plenum_pressure": q(14.1, "psi"),
        "boost": None,
        "back_pressure": q(0.4 * (rpm / 6000.0) ** 2, "psi"),
        "exhaust_temperature": q(1500.0 + rpm / 30.0, "degF", 0.03),
        "air_flow": q(rpm / 3.0, "lb/h", 0.02),
        "fuel_flow": q(rpm / 40.0, "lb/h", 0.03),
        "nitrous_flow": None,
        "fuel_consumption": q(0.46, "lb/(hp*h)", 0.05),
        "lambda_": q(0.88, "1"),
        "residual": q(0.05, "1"),
        "spark": q(34.0, "deg"),
        "ca10": q(-10.0, "deg"),
        "ca50": q(7.0, "deg"),
        "burn_duration": q(30.0, "deg"),
        "corrected": (
            Corrected("sae-j1349", 1.02, q(1.02 * power, "hp", 0.09), True),
            Corrected("iso-1585", None, None, False, ("the charge pressure is held",)),
        ),
        "unknown": {"boost": "there is no charger", "nitrous_flow": "no nitrous oxide is fed"},
    }
    return CurvePoint(**(given | more))


def curve(**more: Any) -> Curve:
    """Five points, one speed missing."""
    points = tuple(point(float(rpm)) for rpm in range(3000, 7001, 1000))
    given: dict[str, Any] = {
        "schema": SCHEMA,
        "name": "Test <engine> & sons",
        "invented": True,
        "sentence": "Test <engine> & sons makes 343 hp at 6,000 rpm.",
        "mesh": "lumped",
        "points": points,
        "missing": (Missing(q(2500.0, "rpm"), "the gas model did not settle"),),
        "best_power": Best(points[-1].power, points[-1].speed, True),
        "best_torque": Best(points[2].torque, points[2].speed, False),
        "wanted": q(450.0, "hp"),
        "wanted_speed": q(6500.0, "rpm"),
        "air_pressure": q(98.0, "kPa"),
        "air_temperature": q(64.4, "degF"),
        "humidity": q(50.0, "percent"),
        "standards": (
            StandardAir("sae-j1349", "SAE J1349", "99 kPa dry, 25 °C", "net power"),
            StandardAir("iso-1585", "ISO 1585", "99 kPa dry, 25 °C", "net power"),
        ),
        "target": None,
        "doubts": (Doubt("model gas.friction_factor", 0.41), Doubt("build heads.intake.flow", 0.2)),
        "notes": ("Full load.",),
        "assumed": 3,
        "version": "0",
    }
    return Curve(**(given | more))


def target(**more: Any) -> Target:
    """An answer that something forbids."""
    given: dict[str, Any] = {
        "power": q(650.0, "hp"),
        "speed": q(6500.0, "rpm"),
        "lever": "boost",
        "value": q(14.2, "psi"),
        "found": q(650.1, "hp"),
        "peak_pressure": q(1600.0, "psi"),
        "reached": True,
        "allowed": False,
        "reason": "",
        "forbidden": ("it knocks",),
        "unchecked": ("fuel supply",),
        "sentence": "650 hp at 6,500 rpm takes 14.2 psi of boost, and that is forbidden: it knocks.",
    }
    return Target(**(given | more))


def unknown_knock(made: Curve) -> Curve:
    """The same where nobody follows the end gas."""
    points = tuple(
        replace(p, knock_margin=None, unknown={**p.unknown, "knock_margin": "not followed"})
        for p in made.points
    )
    return replace(made, points=points)


def _pipe(name: str, start: str, end: str, way: list[float], across: list[float], side: Any) -> Duct:
    return Duct(name, start, end, np.array(way, dtype=float), np.array(across), 500.0, side=side)


def network(cylinders: int = 4, pairs: bool = False, crossover: bool = False) -> Network:
    """Invented pipes: runners from one plenum, primaries into one collector (by pairs first), a tail."""
    ducts, joints = [], [Junction("merge")]
    for c in range(1, cylinders + 1):
        valve = f"cylinder {c}"
        ducts.append(
            _pipe(
                f"intake runner {c}", "plenum", f"{valve} intake",
                [0, 0.02, 0.28], [0.06, 0.05, 0.045], "intake",
            )
        )  # fmt: skip
        end = "merge" if not pairs else f"pair {'A' if c in (1, cylinders) else 'B'}"
        way = [0, 0.70 + 0.02 * c]
        ducts.append(_pipe(f"primary {c}", f"{valve} exhaust", end, way, [0.044, 0.044], "exhaust"))
    for name in "AB" if pairs else "":
        joints.append(Junction(f"pair {name}"))
        ducts.append(_pipe(f"secondary {name}", f"pair {name}", "merge", [0, 0.4], [0.05, 0.05], "exhaust"))
    ducts.append(_pipe("tail", "merge", "open air", [0, 0.1, 1.2], [0.08, 0.07, 0.07], "exhaust"))
    if crossover:
        ducts.append(_pipe("balance", "merge", "merge 2", [0, 0.3], [0.05, 0.05], "exhaust"))
        joints.append(Junction("merge 2"))
    throttle = Orifice("throttle", "intake air", "plenum", 0.25 * math.pi * 0.07**2)
    return Network(tuple(ducts), (Volume("plenum", 0.004),), tuple(joints), (throttle,))
