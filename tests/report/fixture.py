"""Invented verdicts to draw: plausible in size, computed by nothing that judges.

`engine()` makes a V8; its arguments make the awkward ones (other layouts, hostile
names, ceilings that are not there, margins far off the scale).
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace

from blockwright.life.pipework import Cylinder, Pipework
from blockwright.life.shop_units import ShopUnits
from blockwright.life.verdict import (
    SCHEMA,
    Assumption,
    Ceiling,
    Drawing,
    Evidence,
    FailurePowers,
    Limit,
    Measurement,
    Point,
    Quantity,
    QuickNumber,
    Reinforcement,
    Share,
    Spread,
    Trace,
    Verdict,
    WallMap,
)

from .curve_fixture import network

LONG = "Saddle iron beside the oil gallery that feeds the rear main bearing, as cast"
HOSTILE = "<script>alert(1)</script>\" onload='x' & ]]> \x07"


def q(value: float, unit: str, rel: float = 0.0) -> Quantity:
    """A quantity with a spread of `rel` either side."""
    return Quantity(value, unit, Spread(value * (1 - rel), value * (1 + 1.2 * rel)) if rel else None)


@dataclass(frozen=True)
class Shape:
    """A layout and its main dimensions."""

    kind: str
    cylinders: int
    bank: float
    throws: tuple[float, ...]
    mains: int
    bore: float = 0.1024
    stroke: float = 0.0756
    spacing: float = 0.1118
    offset: float = 0.0


V8 = Shape("V", 8, 90.0, (0.0, 90.0, 270.0, 180.0), 5, offset=0.022)
INLINE4 = Shape("inline", 4, 0.0, (0.0, 180.0, 180.0, 0.0), 5, bore=0.086, stroke=0.0946, spacing=0.096)
FLAT4 = Shape(
    "flat", 4, 180.0, (0.0, 180.0, 180.0, 0.0), 5, bore=0.095, stroke=0.079, spacing=0.12, offset=0.03
)
V12 = Shape(
    "V",
    12,
    60.0,
    (0.0, 120.0, 240.0, 240.0, 120.0, 0.0),
    7,
    bore=0.088,
    stroke=0.082,
    spacing=0.104,
    offset=0.02,
)


def limit(
    name: str, part: str, place: str, margin: float, rel: float, survival: float, power: float
) -> Limit:
    """One limit with a split and a failure power that follow its margin."""
    demand = 140.0
    slug = "".join(c if c.isalnum() else "-" for c in f"{name}-{place}".lower())
    return Limit(
        id=slug,
        name=name,
        part=part,
        place=place,
        kind="fatigue",
        demand=q(demand, "MPa", 0.12),
        capacity=q(demand * margin, "MPa", 0.1),
        unit="MPa",
        margin=q(margin, "1", rel),
        survival=survival,
        reliability_index=1.2,
        source="nominal bending times notch factor; S-N with Smith's mean-stress rule (from memory)",
        split=(
            Share("direct bending between the bolts", q(78.0, "MPa", 0.1)),
            Share("foot slip", q(49.0, "MPa", 0.4)),
            Share("bolt preload", q(13.0, "MPa", 0.2)),
        ),
        fails_at=FailurePowers(power * 0.9, power * 1.1, None, "hp"),
        notes=("feet taken as sliding once friction is used up",),
    )


def limits(shape: Shape) -> tuple[Limit, ...]:
    """Caps, webs, bolts, walls, rods and head."""
    out: list[Limit] = []
    for j in range(1, shape.mains + 1):
        mid = 0.05 * abs(j - (shape.mains + 1) / 2)
        m = 0.93 + mid * 2.3
        s = 0.38 if m < 1 else 0.9 if m < 1.1 else 0.985
        out.append(limit("Cap crown fatigue", "main cap", f"main {j}", m, 0.22, s, 520))
        out.append(limit("Web at the cam bore", "web", f"main {j}", 1.32 + mid, 0.25, 0.962, 700))
        out.append(limit("Main bolt separation", "main bolt", f"main {j}", 1.9 + mid, 0.3, 0.9995, 900))
        out.append(limit("Main saddle", "saddle", f"main {j}", 2.4 + mid, 0.2, 1.0, 1100))
    for c in range(1, shape.cylinders + 1):
        for d in (1, 2, 3):
            m = 1.55 - 0.07 * ((c * 7) % 5) + 0.1 * d
            out.append(
                limit("Cylinder wall fatigue", "cylinder wall", f"cylinder {c} depth {d}", m, 0.2, 0.97, 800)
            )
        out.append(limit("Head clamp against gas lift", "head", f"cylinder {c}", 1.7, 0.12, 0.999, 850))
    out.append(limit("Rod bolt at over-speed", "rod bolt", "rods", 1.12, 0.12, 0.91, 640))
    out.append(limit("Mean piston speed", "piston", "pistons", 1.05, 0.02, 0.999, 900))
    return tuple(out)


def trace(shape: Shape, rpm: float, peak: float) -> Trace:
    """A closed cycle with polytropes and a smooth burn; loads from it on a straight shaft."""
    r, rod, rc = shape.stroke / 2, 0.155, 10.5
    area = math.pi / 4 * shape.bore**2
    clearance = area * shape.stroke / (rc - 1)

    def travel(deg: float) -> float:
        a = math.radians(deg)
        return r * (1 - math.cos(a)) + rod - math.sqrt(rod**2 - (r * math.sin(a)) ** 2)

    angle = tuple(float(a) for a in range(720))
    volume = [clearance + area * travel(a) for a in angle]
    motored, fired = [], []
    v_ivc = volume[510]
    for a, v in zip(angle, volume, strict=True):
        from_tdc = a - 720 if a > 360 else a
        closed = -210 <= from_tdc <= 130
        base = 14.0 * (v_ivc / v) ** 1.32 if closed else (15.5 if from_tdc > 130 else 14.0)
        burn = 1 / (1 + math.exp(-(from_tdc - 9) / 6)) if closed else 0.0
        motored.append(base if closed else 14.5)
        fired.append(base * (1 + burn * 4.4) if closed else base)
    rise = (peak - 290.0) / (max(fired) - 290.0)
    fired = [m + (f - m) * rise for f, m in zip(fired, motored, strict=True)]
    vertical, lateral = [], []
    for j in range(shape.mains):
        v_row, h_row = [], []
        for a in range(720):
            lift = side = 0.0
            near = [
                c for c in range(shape.cylinders) if c * (shape.mains - 1) // shape.cylinders in (j - 1, j)
            ]
            for c in near:
                tilt = math.radians(shape.bank / 2) * (-1 if c % 2 == 0 else 1) if shape.bank else 0.0
                p = fired[(a + 720 * ((c * 5) % shape.cylinders) // shape.cylinders) % 720] - 14.7
                force = 0.5 * p * 6.895e-6 * area * 1e3 * 1e3 / 1e0
                lift += force * math.cos(tilt)
                side -= force * math.sin(tilt)
            spin = 4.0 * (rpm / 6500) ** 2
            v_row.append(
                lift + spin * math.cos(math.radians(a + 90 * j)) - 2 * spin * math.cos(math.radians(2 * a))
            )
            h_row.append(side + spin * math.sin(math.radians(a + 90 * j)))
        vertical.append(tuple(v_row))
        lateral.append(tuple(h_row))
    return Trace(
        speed_rpm=rpm,
        power=q(540.0, "hp", 0.04),
        angle=angle,
        pressure=tuple(fired),
        pressure_low=tuple(p * 0.86 if p > 40 else p for p in fired),
        pressure_high=tuple(p * 1.15 if p > 40 else p for p in fired),
        motored=tuple(motored),
        pressure_unit="psi",
        volume=tuple(v * 61023.7 for v in volume),
        volume_unit="in**3",
        main_vertical=tuple(vertical),
        main_lateral=tuple(lateral),
        force_unit="kN",
    )


def degrees(value: float, half: float = 4.0) -> Quantity:
    """A margin to knock."""
    return Quantity(value, "deg", Spread(value - half, value + half))


def point(
    rpm: float, top: float = 540.0, cycles: float | None = None, knock: Quantity | None = None
) -> Point:
    """A point of a plausible power curve."""
    x = rpm / 6800
    power = top * x * (0.66 + 0.9 * x - 0.56 * x**3) / 1.0
    return Point(
        speed=q(rpm, "rpm"),
        power=q(power, "hp", 0.03),
        torque=q(power * 5252 / rpm, "lbf*ft"),
        bmep=q(190.0, "psi"),
        peak_pressure=q(1240.0, "psi", 0.12),
        peak_angle=q(13.0, "deg"),
        volumetric_efficiency=0.98,
        manifold_pressure=q(14.4, "psi"),
        back_pressure=q(15.9, "psi"),
        ca50=q(11.2, "deg"),
        burn_duration=q(31.0, "deg"),
        hardest_cylinder=3,
        hardest_share=1.037,
        cycles=cycles,
        knock_margin=knock,
        octane_asked=None if knock is None else Quantity(96.0, "1", Spread(88.0, 104.0)),
        octane_offered=None if knock is None else 99.4,
    )


def walls(shape: Shape, angles: int = 4) -> tuple[WallMap, ...]:
    """Maps with a core shift that grows down the bore."""
    out = []
    for c in range(1, shape.cylinders + 1):
        rows = []
        for d in range(4):
            shift = 0.018 + 0.006 * d
            rows.append(
                tuple(
                    0.205 + shift * math.cos(2 * math.pi * k / angles + c) - 0.004 * d for k in range(angles)
                )
            )
        out.append(
            WallMap(
                c,
                tuple(360.0 * k / angles for k in range(angles)),
                (1.0, 2.0, 3.0, 4.0),
                tuple(rows),
                "in",
                measured=c != 3,
            )
        )
    return tuple(out)


def drawing(shape: Shape) -> Drawing:
    """Dimensions of an iron block, metres and degrees."""
    v = shape.bank > 0
    per_bank = shape.cylinders // 2 if v else shape.cylinders
    position, banks = [], []
    for c in range(shape.cylinders):
        bank = c % 2 if v else 0
        index = c // 2 if v else c
        banks.append(bank)
        position.append(index * shape.spacing + bank * shape.offset)
    assert per_bank * shape.spacing > 0
    return Drawing(
        dimensions={
            "bore": shape.bore,
            "stroke": shape.stroke,
            "rod_length": 0.155,
            "deck_height": 0.229,
            "bore_spacing": shape.spacing,
            "main_bore": 0.0665,
            "main_journal": 0.0622,
            "pin_journal": 0.0533,
            "cap_crown": 0.0245,
            "cap_length": 0.0225,
            "cap_span": 0.092,
            "cap_foot_width": 0.027,
            "web_thickness": 0.0205,
            "cam_bore": 0.0508 if v else 0.0,
            "cam_height": 0.132 if v else 0.0,
            "deck_thickness": 0.0115,
            "bore_length": 0.138,
            "bank_angle_deg": shape.bank,
            "compression_height": 0.0362,
            "bolt_diameter": 0.0127,
            "outer_span": 0.156,
        },
        kind=shape.kind,
        cylinders=shape.cylinders,
        mains=shape.mains,
        banks=tuple(banks),
        cylinder_position=tuple(position),
        throw_angles=shape.throws,
        four_bolt_mains=tuple(range(2, shape.mains)) if shape.kind == "V" else (),
        cap_material="grey-30",
    )


@functools.cache
def engine(shape: Shape = V8, name: str = "Larkfell 4.98 hill-climb V8") -> tuple[Verdict, Evidence]:
    """A verdict and its evidence, whole and plausible."""
    found = limits(shape)
    worst = min(found, key=lambda x: (x.survival, x.margin.value))
    duty = (
        point(5200, cycles=4.1e5, knock=degrees(-2.3)),
        point(6200, cycles=6.6e5, knock=degrees(1.4)),
        point(6900, cycles=2.2e5, knock=degrees(6.0)),
    )
    verdict = Verdict(
        schema=SCHEMA,
        name=name,
        invented=True,
        sentence=(
            f"No: at 540 hp this block has a 36 % chance of living through 240 passes, and 95 % is asked; "
            f"the {worst.part} at {worst.place} goes first, and the ceiling as it stands is 462 hp."
        ),
        lives=False,
        accepted=0.95,
        survival=0.361,
        power=q(540.0, "hp", 0.04),
        peak_pressure=q(1240.0, "psi", 0.12),
        points=duty,
        limits=found,
        governing=worst,
        ceiling=Ceiling(
            q(462.0, "hp", 0.06),
            0.95,
            "charge lowered until the whole engine's chance reached 95 %",
            0.947,
            FailurePowers(462.0, 521.0, 603.0, "hp"),
        ),
        reinforcements=(
            Reinforcement(
                "girdle",
                "Main-cap girdle, 3/8 in plate on the main studs",
                q(598.0, "hp", 0.08),
                "holds the feet",
                0.9,
                "Web at the cam bore",
                {"girdle.material": "steel-1045"},
            ),
            Reinforcement(
                "steel-caps",
                "Steel caps, splayed four-bolt on the three middle mains",
                q(655.0, "hp", 0.07),
                "more section and a better material",
                0.96,
                "Web at the cam bore",
            ),
            Reinforcement(
                "ductile-caps", "Ductile iron caps, two-bolt", q(571.0, "hp", 0.07), "", 0.84, "Rod bolt"
            ),
            Reinforcement(
                "studs",
                "Main studs to 75 % of proof instead of bolts",
                q(469.0, "hp", 0.06),
                "",
                0.4,
                "Cap crown fatigue",
            ),
            Reinforcement(
                "grout",
                "Short fill of the water jacket",
                None,
                "not yet modelled: its stiffness against the wall needs the block's solid model",
            ),
        ),
        measure_next=(
            Measurement(
                "caps.hardness",
                "Hardness of the caps",
                q(187.0, "HB", 0.1),
                "assumed",
                0.34,
                "three readings a cap on a ground spot; a portable tester does",
            ),
            Measurement(
                "main_fasteners.thread_friction",
                "Thread friction of the main bolts",
                q(0.14, "1", 0.3),
                "assumed",
                0.21,
                "tighten by angle, or measure stretch",
            ),
            Measurement(
                "caps.crown",
                "Cap crown thickness",
                q(0.965, "in", 0.03),
                "catalogue",
                0.12,
                "a micrometer over the bore and the machined top",
            ),
        ),
        assumptions=(
            *(
                Assumption(f"casting.{k}", f"{v} in", "typical of iron V8 blocks; measure it")
                for k, v in (
                    ("web_thickness", 0.81),
                    ("deck_thickness", 0.45),
                    ("valley_thickness", 0.3),
                    ("saddle_depth", 1.1),
                    ("bolt_boss_diameter", 1.2),
                )
            ),
            Assumption("spark.variation", "0.06", "cycle-to-cycle CoV of a race engine at full load"),
        ),
        not_modelled=("rocking of the caps", "grout and plates", "ring-land and pin failures of the piston"),
        warnings=("bore/stroke ratio of the friction model: 1.35, fitted up to 1.3",),
        quick_numbers=(
            QuickNumber("Peak pressure", q(1240, "psi", 0.1), "about 1,200 psi atmospheric", "agrees"),
            QuickNumber(
                "Torque per displacement", q(1.38, "lbf*ft/in**3"), "1.3 to 1.45 lbf ft per in3", "agrees"
            ),
        ),
        cautions=(
            "These are estimates and no certification.",
            "A burst engine, pressurised nitrous, fuels and fans injure: guards and scatter shields first.",
            "Sanctioning-body rules, local codes and licensed practice come before anything said here.",
        ),
        method={
            "samples": "2048, common to all limits",
            "gas": "0-D cylinders, plenum and exhaust volumes, Wiebe heat release, Woschni heat transfer",
            "fatigue": "damage sum over the duty with the running variation inside",
        },
        version="0.1.0",
    )
    evidence = Evidence(
        traces=(trace(shape, 5200, 1130.0), trace(shape, 6900, 1240.0)),
        curve=tuple(point(r) for r in range(2500, 7500, 500)),
        walls=walls(shape),
        drawing=drawing(shape),
        pipework=Pipework(
            network(cylinders=shape.cylinders),
            Cylinder(shape.bore, 0.04, 0.034),
            ShopUnits(inch=True, power="hp"),
        ),
    )
    return verdict, evidence


@functools.cache
def awkward() -> tuple[Verdict, Evidence]:
    """Hostile and long names, no ceiling or changes, margins from 0.002 to infinite, chances 0 and 1."""
    verdict, evidence = engine(V12, name=HOSTILE)
    some = [
        replace(
            verdict.limits[0],
            name=HOSTILE,
            part=HOSTILE,
            place="main 1",
            survival=0.0,
            margin=Quantity(0.002, "1", Spread(0.0, 0.01)),
        ),
        replace(
            verdict.limits[1], name=LONG, survival=1.0, margin=Quantity(5000.0, "1", Spread(1200.0, math.inf))
        ),
        replace(
            verdict.limits[2],
            name="No load at all",
            survival=1.0,
            margin=Quantity(math.inf, "1", None),
            split=(),
        ),
        replace(verdict.limits[3], name="Not computed", survival=1.0, margin=Quantity(math.nan, "1", None)),
    ]
    some[0] = replace(some[0], split=(Share(HOSTILE, q(-20.0, "MPa")), Share(LONG, q(160.0, "MPa", 0.3))))
    verdict = replace(
        verdict,
        sentence=HOSTILE,
        survival=0.0,
        limits=(*some, *verdict.limits),
        governing=some[0],
        ceiling=Ceiling(
            None,
            0.0,
            "even the lowest charge looked at is not survived",
            None,
            FailurePowers(None, None, None, "hp"),
        ),
        reinforcements=(),
        measure_next=(),
        quick_numbers=(),
        warnings=(HOSTILE,),
        assumptions=(Assumption(HOSTILE, HOSTILE, HOSTILE),),
        not_modelled=(HOSTILE,),
    )
    return verdict, evidence
