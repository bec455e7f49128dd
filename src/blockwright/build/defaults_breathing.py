"""Defaults of heads, cam, intake, exhaust, fuel, spark, boost and air."""

from __future__ import annotations

import math

from ..units import show
from .defaults_pipes import FIRST, PIPES
from .draft import Draft
from .proportions import bench_speed, displacement
from .rules import Many, Rule, quantity, word

#: Discharge coefficient on the curtain area of a good port, typical within 0.05; from memory
#: (shared notes on gas formulas, 5.3).
_LIFT_OVER_DIAMETER = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35)
_INTAKE = (0.70, 0.68, 0.65, 0.60, 0.55, 0.49, 0.43)
_EXHAUST = (0.68, 0.68, 0.66, 0.63, 0.58, 0.52, 0.46)
_DEG = math.pi / 180.0


def _b(d: Draft) -> float:
    return d.si("casting.bore")


def _pushrod(d: Draft) -> bool:
    return d.si("casting.cam_bore") > 0.0


def _valves(d: Draft) -> int:
    return 1 if _pushrod(d) else 2


def _single(d: Draft, side: str) -> bool:
    return d.count(f"heads.{side}.valves") == 1


def _size(d: Draft, side: str) -> float:
    one, two = {"intake": (0.48, 0.38), "exhaust": (0.38, 0.32)}[side]
    return (one if _single(d, side) else two) * _b(d)


def _flow(side: str, coefficients: tuple[float, ...], d: Draft) -> list[tuple[str, str]]:
    """Flow on the curtain area: Q = Cd n pi D L times the speed in the bench's ideal nozzle."""
    size, count = d.si(f"heads.{side}.diameter"), d.count(f"heads.{side}.valves")
    speed = bench_speed(d.si(f"heads.{side}.depression"))
    unit, digits = ("in", 3) if d.values["casting.bore"].unit.startswith("in") else ("mm", 2)
    made = []
    for i, (share, cd) in enumerate(zip(_LIFT_OVER_DIAMETER, coefficients, strict=True)):
        flow = cd * count * math.pi * size * share * size * speed
        made.append((f"heads.{side}.flow.{i}.lift", show(share * size, unit, digits)))
        made.append((f"heads.{side}.flow.{i}.flow", show(flow, "cfm", 1)))
    return made


def _flow_told(side: str, d: Draft) -> str:
    lifts, flows = d.series(f"heads.{side}.flow", "lift"), d.series(f"heads.{side}.flow", "flow")
    unit = d.values[f"heads.{side}.flow.0.lift"].unit
    return f"{show(flows[-3], 'cfm', 0)} at {show(lifts[-3], unit, 3)}, {len(lifts)} lifts"


def _root_cylinders(d: Draft) -> float:
    return math.sqrt(d.count("layout.cylinders"))


def _ca50(d: Draft) -> float:
    late = d.si("spark.ca10_delay") + 0.49 * d.si("spark.burn_duration") - d.si("spark.advance")
    return min(max(late, -15.0 * _DEG), 50.0 * _DEG)


def _boosted(d: Draft) -> bool:
    return d.word("boost.kind") != "none"


def _lambda(d: Draft) -> float:
    return {"nitro-20": 0.80, "nitro-50": 0.76, "nitro-90": 0.72}.get(d.word("fuel.kind"), 0.87)


def _pressure(d: Draft) -> float:
    return 300e3 if d.word("fuel.injectors") == "port" else 40e3


#: Angles that describe burning by a curve.
CURVE_OF_BURNING = ("spark.ca50", "spark.burn_duration", "spark.ca10_delay")


def _law(d: Draft) -> str:
    return "wiebe" if d.given.intersection(CURVE_OF_BURNING) else "flame"


def _port(side: str, coefficients: tuple[float, ...]) -> tuple[Rule | Many, ...]:
    words = {"intake": "0.48 B alone or 0.38 B of two", "exhaust": "0.38 B alone or 0.32 B of two"}[side]
    return (
        word(f"heads.{side}.valves", "one with the cam in the block, else two", _valves),
        quantity(f"heads.{side}.diameter", "", 3, "3 %", words, lambda d: _size(d, side)),
        quantity(f"heads.{side}.depression", "inH2O", 0, "1 %", "as usual",
                 lambda d: 28.0 * 249.08891, dimension="pressure"),
        Many(f"heads.{side}.flow",
             "a good port: typical discharge coefficients on the curtain area, from memory",
             lambda d: _flow(side, coefficients, d), lambda d: _flow_told(side, d),
             ("length", "flow"), "8 %"),
    )  # fmt: skip


def _events(side: str, opens: float, closes: float, share: float) -> tuple[Rule, ...]:
    def free(d: Draft) -> bool:
        return not d.lists(f"cam.{side}_curve")

    return (
        quantity(f"cam.{side}_opens", "deg", 0, "5 deg", "a warm road-race cam",
                 lambda d: opens * _DEG, free, "angle"),
        quantity(f"cam.{side}_closes", "deg", 0, "5 deg", "a warm road-race cam",
                 lambda d: closes * _DEG, free, "angle"),
        quantity(f"cam.{side}_lift", "", 3, "5 %", f"{share:g} valve diameters",
                 lambda d: share * d.si(f"heads.{side}.diameter"), free),
    )  # fmt: skip


BREATHING: tuple[Rule | Many, ...] = (
    quantity("heads.gasket_bore", "", 3, "1 %", "1.02 B", lambda d: 1.02 * _b(d)),
    quantity("heads.gasket_thickness", "", 3, "0.002 in", "0.040 in", lambda d: 0.040 * 0.0254),
    *_port("intake", _INTAKE),
    *_port("exhaust", _EXHAUST),
    *_events("intake", 35.0, 75.0, 0.27),
    *_events("exhaust", 80.0, 35.0, 0.30),
    quantity("intake.plenum_volume", "l", 2, "25 %", "0.6 of the displacement",
             lambda d: 0.6 * displacement(d), dimension="volume"),
    quantity("intake.throttle_diameter", "", 3, "8 %", "0.34 B times the root of the cylinders",
             lambda d: 0.34 * _b(d) * _root_cylinders(d)),
    *FIRST,
    quantity("exhaust.outlet_diameter", "", 3, "8 %", "0.36 B times the root of the cylinders",
             lambda d: 0.36 * _b(d) * _root_cylinders(d)),
    *PIPES,
    quantity("heads.quench_share", "", 2, "20 %", "0.35 with one intake valve, 0.1 with more",
             lambda d: 0.35 if _single(d, "intake") else 0.1, dimension="number"),
    quantity("heads.tumble", "", 2, "15 %",
             "0.5 with one intake valve, 0.6 with more; a flame takes spark.burn_duration instead while this "
             "is not given",
             lambda d: 0.5 if _single(d, "intake") else 0.6, dimension="number"),
    word("fuel.kind", "the best that pumps commonly sell", lambda d: "petrol-98"),
    quantity("fuel.lambda", "", 2, "3 %", "rich, for best power; richer with nitromethane", _lambda,
             dimension="number"),
    word("fuel.injectors", "as most are", lambda d: "port"),
    quantity("fuel.pressure", "kPa", 0, "3 %", "300 kPa at injectors, 40 kPa at a carburettor", _pressure,
             dimension="pressure"),
    word("spark.law", "a flame, unless the angles of a curve are given", _law),
    word("spark.plug", "to one side of a single intake valve, between two",
         lambda d: "side" if _single(d, "intake") else "central"),
    quantity("spark.plug_offset", "", 3, "30 %", "0.2 B at the side, 0.03 B in the middle",
             lambda d: (0.2 if d.word("spark.plug") == "side" else 0.03) * _b(d)),
    quantity("spark.ca10_delay", "deg", 0, "3 deg", "24 deg with one intake valve, 19 deg with more",
             lambda d: (24.0 if _single(d, "intake") else 19.0) * _DEG, dimension="angle"),
    quantity("spark.burn_duration", "deg", 0, "4 deg", "35 deg with one intake valve, 27 deg with more",
             lambda d: (35.0 if _single(d, "intake") else 27.0) * _DEG, dimension="angle"),
    quantity("spark.ca50", "deg", 1, "4 deg",
             "10 % burned after its delay, then 0.49 of the burn duration (Wiebe curve of exponent 2)",
             _ca50, dimension="angle"),
    quantity("spark.variation", "", 2, "20 %", "4 to 8 % at full load are usual",
             lambda d: 0.07, dimension="number"),
    quantity("conditions.pressure", "kPa", 1, "2 kPa", "a little above sea level", lambda d: 100e3,
             dimension="pressure"),
    quantity("conditions.temperature", "degC", 0, "6 K", "a mild day", lambda d: 293.15,
             dimension="temperature"),
    quantity("conditions.humidity", "", 2, "30 %", "a mild day", lambda d: 0.5, dimension="number"),
    quantity("boost.pressure", "psi", 1, "0 %", "no boost", lambda d: 0.0, lambda d: not _boosted(d),
             "pressure"),
)  # fmt: skip
