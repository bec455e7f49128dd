"""A small invented engine for tests of strength and walls: a real `Build`, kernels set by hand."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from blockwright.build.model import Assumption, Build, Value
from blockwright.life.draw import Draw
from blockwright.life.fatigue import cycle_nodes
from blockwright.life.leaves import SampleLeaves
from blockwright.parts.cases import Leaves

INCH = 0.0254
#: Invented: a 4-inch bore, 3-inch stroke, 10:1.
DIMENSIONS = {
    "casting.bore": 0.102,
    "casting.walls.calibration": 1.0,
    "casting.hardness": 200.0,
    "caps.hardness": 200.0,
    "crank.stroke": 0.076,
    "rods.length": 0.1321,
    "pistons.deck_clearance": 0.0003,
    "pistons.top_ring": 0.0065,
    "pistons.dish": -2.6e-6,
    "pistons.compression_height": 0.0376,
    "heads.gasket_bore": 0.104,
    "heads.gasket_thickness": 0.001,
    "heads.chamber_volume": 52e-6,
}
DEPTHS = (0.75 * INCH, 2.0 * INCH, 3.25 * INCH)
ANGLES = (0.0, 90.0, 180.0, 270.0)


def bench_build(
    thickness: float | np.ndarray = 0.200 * INCH,
    *,
    cylinders: int = 1,
    material: str = "grey-30",
    measured: Mapping[str, float] | None = None,
    assumed_material: bool = False,
    siamesed: bool = False,
    spread: float = 0.02,
) -> Build:
    """A build with these walls; `measured` gives hardness readings by path."""
    values = {path: Value(path, si, "", 0.0, "measured") for path, si in DIMENSIONS.items()}
    for path in ("casting.hardness", "caps.hardness"):
        values[path] = Value(path, 200.0, "HB", 20.0, "assumed")
    for path, si in (measured or {}).items():
        values[path] = Value(path, si, "HB", 0.03 * si, "measured")
    around = np.broadcast_to(np.asarray(thickness, dtype=float), (cylinders, len(DEPTHS), len(ANGLES)))
    for i, depth in enumerate(DEPTHS):
        values[f"casting.walls.depth.{i}"] = Value(f"casting.walls.depth.{i}", depth, "in", 0.0, "measured")
        for j, angle in enumerate(ANGLES):
            path = f"casting.walls.angle.{j}"
            values[path] = Value(path, float(np.radians(angle)), "deg", 0.0, "measured")
            for c in range(cylinders):
                path = f"casting.walls.{c + 1}.{i}.{j}"
                t = float(around[c, i, j])
                values[path] = Value(path, t, "in", spread * t, "measured")
    choices: dict[str, str | int | bool] = {
        "name": "bench",
        "casting.material": material,
        "caps.material": material,
        "layout.cylinders": cylinders,
        "head_fasteners.count": 4,
    }
    if siamesed:
        choices["casting.siamesed"] = True
    assumptions = (Assumption("casting.material", material, "default"),) if assumed_material else ()
    return Build(values, choices, assumptions)


def bench_kernels(
    peak: float = 8.5e6, *, rows: int = 1, cylinders: int = 1, nodes: int = 5, variation: float = 0.08
) -> dict[tuple[str, str], np.ndarray]:
    """Kernels at three speeds: pressure falling down the bore, side force as at the pin's height."""
    z, weights = cycle_nodes(nodes)
    rise = peak * (1.0 + variation * z).reshape(1, 1, -1, 1) * np.array([0.9, 1.0, 1.0]).reshape(1, -1, 1, 1)
    rise = np.repeat(rise, rows, axis=0)
    found = {
        ("peak_pressure", ""): rise,
        ("cylinder_pressure_extreme", ""): np.full((rows, 1, 1, 1), 1.35 * peak),
        ("piston_speed", ""): np.array([12.0, 15.0, 17.0]).reshape(1, -1, 1, 1),
        ("duty_cycles", ""): np.array([2e5, 2.5e5, 2e5]).reshape(1, -1, 1, 1),
        ("cycle_weights", ""): weights.reshape(1, 1, -1, 1),
    }
    area = 0.25 * np.pi * DIMENSIONS["casting.bore"] ** 2
    shares = (0.45, 0.16, 0.08), (0.0, 0.055, 0.025)
    for c in range(cylinders):
        for i, (gas, side) in enumerate(zip(*shares, strict=True)):
            place = f"cylinder {c + 1} depth {i + 1}"
            found["wall_pressure", place] = gas * rise
            found["side_thrust", place] = side * rise * area
    return found


def bench(build: Build, kernels: Mapping[tuple[str, str], np.ndarray], samples: int = 0) -> Leaves:
    """Leaves over the nominal engine and `samples` draws."""
    return SampleLeaves(build, Draw(samples), kernels)
