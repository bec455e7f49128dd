"""The builder's own quick numbers beside ours: common practice, no source."""

from __future__ import annotations

import math

import numpy as np

from .shop_units import ShopUnits
from .study import Study
from .verdict import Quantity, QuickNumber


def quick_numbers(study: Study, units: ShopUnits) -> tuple[QuickNumber, ...]:
    """Numbers that a builder checks a tool against at once; none of them enters a figure."""
    build, cycle = study.build, study.cycle
    displacement = study.engine.breathing.displacement
    boosted = build.word("boost.kind") != "none"
    peak = units.quantity(float(cycle.peak_pressure.mean()), "Pa", gas=True)
    torque = cycle.brake_torque / 1.3558179 / (displacement / 0.0254**3)
    fastest = max(operation.speed for operation in study.levels[study.wanted].operations)
    speed = build.si("crank.stroke") * fastest / math.pi
    made = [
        QuickNumber(
            "Peak cylinder pressure, mean cycle",
            peak,
            "1,200 psi atmospheric; 1,500 to 2,000 psi and more boosted",
            "boosted" if boosted else "without boost",
        ),
        QuickNumber(
            "Torque per cubic inch at the target",
            Quantity(torque, "lbf*ft/in^3"),
            "1.3 to 1.45 for a race engine without boost, at its torque peak",
            "ours is at the target speed, which is past the torque peak",
        ),
        QuickNumber(
            "Spark advance",
            Quantity(math.degrees(build.si("spark.advance")), "deg"),
            "34 to 36 total; 2 less for each 50 hp of nitrous",
            "as given",
        ),
        QuickNumber(
            "Register fit of the caps (interference +)",
            _fit(units, build.si("caps.register_fit")),
            "0.002 to 0.005 in interference",
            "across both sides",
        ),
        QuickNumber(
            "Quench: deck clearance and gasket",
            _fit(units, build.si("pistons.deck_clearance") + build.si("heads.gasket_thickness")),
            "0.035 to 0.045 in with steel rods",
            "cold",
        ),
        QuickNumber(
            "Mean piston speed",
            units.quantity(speed, "m/s"),
            "25 m/s (4,900 ft/min) for racing",
            "fastest duty point",
        ),
        QuickNumber(
            "Thinnest wall read",
            _fit(units, float(np.min(build.walls().thickness))),
            "0.200 in is a good wall; 0.090 in is not one for a performance engine",
            "all cylinders",
        ),
    ]
    if "rod_bolts.stretch" in build.values:
        stretch = _fit(units, build.si("rod_bolts.stretch"))
        made.append(QuickNumber("Rod bolt stretch", stretch, "0.005 to 0.007 in", "as given"))
    return tuple(made)


def _fit(units: ShopUnits, si: float) -> Quantity:
    return units.quantity(si, "m")
