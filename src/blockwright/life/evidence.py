"""Curves and dimensions for the report, from runs that were made anyway (and a power curve on request)."""

from __future__ import annotations

import numpy as np

from ..crank.from_build import layout_of
from ..crank.loads import main_loads
from ..gas.mesh import COARSE, Mesh
from ..gas.wave_state import WaveState
from ..joints.clamp import is_four_bolt
from ..trace import Array
from .charge import run_at
from .draw import Draw
from .operate import Operation
from .pipework import pipework
from .present import point
from .shop_units import ShopUnits
from .study import Study
from .verdict import Drawing, Evidence, Point, Trace, WallMap

#: Speeds of the power curve over the target speed.
_CURVE = (0.45, 0.55, 0.65, 0.75, 0.85, 0.95, 1.0, 1.05, 1.12)
_BAND = (5.0, 95.0)

#: Dimensions of the drawing by its key: path in the build.
_DIMENSIONS = {
    "bore": "casting.bore",
    "stroke": "crank.stroke",
    "rod_length": "rods.length",
    "deck_height": "casting.deck_height",
    "bore_spacing": "casting.bore_spacing",
    "bank_offset": "layout.bank_offset",
    "main_bore": "casting.main_bore",
    "main_journal": "crank.main_journal",
    "pin_journal": "crank.pin_journal",
    "cap_crown": "caps.crown",
    "cap_length": "caps.length",
    "cap_span": "caps.span",
    "cap_foot_width": "caps.foot_width",
    "outer_span": "caps.outer_span",
    "web_thickness": "casting.web_thickness",
    "web_width": "casting.web_width",
    "cam_bore": "casting.cam_bore",
    "cam_height": "casting.cam_height",
    "deck_thickness": "casting.deck_thickness",
    "bore_length": "casting.bore_length",
    "compression_height": "pistons.compression_height",
    "deck_clearance": "pistons.deck_clearance",
}


def evidence(study: Study, draw: Draw, units: ShopUnits) -> Evidence:
    """What the report draws."""
    operations = study.levels[study.wanted].operations
    return Evidence(
        traces=tuple(_trace(study, operation, draw, units) for operation in operations),
        curve=_curve(study, units),
        walls=_walls(study, units),
        drawing=_drawing(study),
        pipework=pipework(study.engine.breathing, units),
    )


def _trace(study: Study, operation: Operation, draw: Draw, units: ShopUnits) -> Trace:
    state = operation.at(draw)
    pressures = np.exp(state.terms @ operation.surface.coefficients[:, :720])
    low, high = np.percentile(pressures[1:], _BAND, axis=0)
    nominal = operation.cycle_pressure
    gauge = operation.cylinder_share[:, None] * nominal - operation.crankcase
    loads = main_loads(study.engine.loads, gauge, operation.speed)
    p, f, v = units.factor("Pa", gas=True), units.factor("N"), units.factor("m3")
    angle = np.arange(720.0)
    # With open valves a motored engine is near exhaust, then manifold pressure; blow-down is not its own.
    breathing = study.engine.breathing
    shut = (angle <= breathing.exhaust_opens) | (angle >= 720.0 + breathing.intake_closes)
    cycle = operation.cycle
    breathed = np.where(angle < 360.0, cycle.exhaust_pressure.mean(), cycle.plenum_pressure.mean())
    motored = np.where(shut, operation.motored, breathed)

    def listed(values: Array) -> tuple[float, ...]:
        return tuple(float(x) for x in values)

    return Trace(
        speed_rpm=operation.speed * 30.0 / np.pi,
        power=units.quantity(operation.cycle.brake_power, "W"),
        angle=listed(angle),
        pressure=listed(nominal * p),
        pressure_low=listed(low * p),
        pressure_high=listed(high * p),
        motored=listed(motored * p),
        pressure_unit=units.unit("Pa", gas=True),
        volume=listed(breathing.volume(angle) * v),
        volume_unit=units.unit("m3"),
        main_vertical=tuple(listed(row * f) for row in loads.vertical),
        main_lateral=tuple(listed(row * f) for row in loads.lateral),
        force_unit=units.unit("N"),
    )


def _curve(study: Study, units: ShopUnits) -> tuple[Point, ...]:
    """Power curve at the manifold pressure of the wanted power; with pipes on the coarse mesh."""
    target = study.build.si("target.speed")
    start: Array | WaveState | None = study.cycle.restart
    made = []
    for share in reversed(_CURVE):
        cycle = run_at(study.engine, share * target, 1.0, study.base, start, mesh=_mesh(study))
        start = cycle.restart
        made.append(point(cycle, share * target, units, None))
    return tuple(reversed(made))


def _mesh(study: Study) -> Mesh:
    return study.engine.mesh if study.engine.mesh.lumped else COARSE


def _walls(study: Study, units: ShopUnits) -> tuple[WallMap, ...]:
    walls, f = study.build.walls(), units.factor("m")
    return tuple(
        WallMap(
            cylinder=index + 1,
            angles=tuple(float(a) for a in np.degrees(walls.angle)),
            depths=tuple(float(d) for d in walls.depth * f),
            thickness=tuple(tuple(float(t) for t in row) for row in thickness * f),
            unit=units.unit("m"),
            measured=bool(walls.measured[index]),
        )
        for index, thickness in enumerate(walls.thickness)
    )


def _drawing(study: Study) -> Drawing:
    build, layout = study.build, layout_of(study.build)
    dimensions = {key: build.si(path) for key, path in _DIMENSIONS.items() if path in build.values}
    dimensions["bank_angle_deg"] = float(np.degrees(max(layout.axis) - min(layout.axis)))
    mains = len(layout.mains)
    return Drawing(
        dimensions=dimensions,
        kind=layout.kind,
        cylinders=layout.cylinders,
        mains=mains,
        banks=layout.bank,
        cylinder_position=layout.station,
        throw_angles=tuple(float(np.degrees(a)) for a in layout.throw_pin),
        four_bolt_mains=tuple(j for j in range(1, mains + 1) if is_four_bolt(build, j)),
        cap_material=build.word("caps.material"),
        lead=layout.lead,
    )
