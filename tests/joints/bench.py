"""An invented bench engine: leaves and build from plain figures, without a build file.

A 4.9-litre iron V8 with two 1/2-13 bolts a cap; numbers invented, near those of the
sanity calculation in the project's notes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from blockwright.build import catalogue
from blockwright.trace import Leaf, Node, Traced

INCH = 0.0254
FOOT_POUND = 1.3558179483314004

#: Path: (SI value, relative standard uncertainty).
VALUES: dict[str, tuple[float, float]] = {
    "caps.span": (3.55 * INCH, 0.003),
    "caps.outer_span": (5.3 * INCH, 0.003),
    "caps.splay": (np.radians(20.0), 0.02),
    "caps.register_depth": (0.20 * INCH, 0.1),
    "caps.foot_width": (0.87 * INCH, 0.03),
    "caps.length": (0.88 * INCH, 0.02),
    "casting.web_thickness": (0.75 * INCH, 0.05),
    "casting.bolt_boss_diameter": (1.1 * INCH, 0.05),
    "casting.head_boss_diameter": (1.0 * INCH, 0.05),
    "casting.deck_thickness": (0.45 * INCH, 0.08),
    "conditions.pressure": (101325.0, 0.005),
    "heads.gasket_bore": (4.1 * INCH, 0.005),
    "head_fasteners.share": (0.62, 0.05),
}
for _section, _grip, _torque in (
    ("main_fasteners", 2.0, 100.0),
    ("outer_fasteners", 2.0, 70.0),
    ("head_fasteners", 3.5, 90.0),
    ("rod_bolts", 1.2, 50.0),
):
    VALUES |= {
        f"{_section}.grip": (_grip * INCH, 0.02),
        f"{_section}.engagement": (0.9 * INCH, 0.05),
        f"{_section}.torque": (_torque * FOOT_POUND, 0.0),
        f"{_section}.snug": (30.0 * FOOT_POUND, 0.0),
        f"{_section}.angle": (np.radians(50.0), 0.0),
        f"{_section}.stretch": (0.0045 * INCH, 0.0),
        f"{_section}.thread_friction": (0.13, 0.15),
        f"{_section}.head_friction": (0.13, 0.15),
    }

CHOICES: dict[str, Any] = {
    "caps.material": "grey-30",
    "caps.pattern": "two-bolt",
    "casting.material": "grey-30",
    "rods.material": "steel-4340",
    "head_fasteners.count": 5,
    **{
        f"{section}.{key}": word
        for section, thread in (
            ("main_fasteners", "1/2-13"),
            ("outer_fasteners", "7/16-14"),
            ("head_fasteners", "1/2-13"),
            ("rod_bolts", "7/16-20"),
        )
        for key, word in (("kind", "bolt"), ("thread", thread), ("grade", "sae-8"), ("tighten", "torque"))
    },
}


@dataclass
class BenchBuild:
    """The words of the bench engine."""

    choices: dict[str, Any] = field(default_factory=lambda: dict(CHOICES))
    values: dict[str, Any] = field(default_factory=lambda: dict(VALUES))
    assumptions: tuple[Any, ...] = ()
    throws: int = 4

    def choice(self, path: str) -> Any:
        return self.choices[path]

    def count(self, path: str) -> int:
        return int(self.choices[path])

    def has(self, path: str) -> bool:
        return path in self.choices or path in self.values

    def array(self, path: str) -> Any:
        assert path == "layout.throws"
        return np.linspace(0.0, 1.0, self.throws)


class BenchLeaves:
    """Samples of the bench engine, row 0 nominal; every leaf drawn once."""

    def __init__(self, build: BenchBuild, n: int = 1, kernels: Any = None, seed: int = 3) -> None:
        self._build, self._n = build, n
        self._kernels = kernels or {}
        self._random = np.random.default_rng(seed)
        self._drawn: dict[str, Any] = {}

    def _column(self, name: str, mean: float, u: float) -> Any:
        if name not in self._drawn:
            relative = u / abs(mean) if mean else 0.0
            column = mean * np.exp(relative * self._random.standard_normal(self._n))
            column[0] = mean
            self._drawn[name] = column.reshape(-1, 1, 1, 1)
        return self._drawn[name]

    def build(self, path: str) -> Any:
        mean, relative = self._build.values[path]
        return self._column(path, mean, relative * abs(mean))

    def catalogue(self, table: str, row: str, field: str) -> Any:
        found = catalogue.row(table, row)
        return self._column(f"{row} {field}", found.si(field), found.u(field))

    def model(self, name: str) -> Any:
        found = catalogue.row("model", name)
        return self._column(name, found.si("value"), found.u("value"))

    def kernel(self, name: str, place: str = "") -> Any:
        return self._kernels[name, place]

    def constant(self, name: str, place: str, value: Any, unit: str, equation: str, key: str) -> Any:
        return value

    def choice(self, path: str) -> Any:
        return self._build.choices[path]


def loads(
    n: int = 1, points: int = 3, cycles: int = 5, angles: int = 16, mains: int = 5, top: float = 27e3
) -> Any:
    """Main loads and pressures of plausible size; the largest load into a cap is `top` [N]."""
    turn = np.linspace(0.0, 2.0 * np.pi, angles, endpoint=False)
    scatter = np.linspace(0.9, 1.1, cycles).reshape(1, 1, -1, 1) / 1.1
    shape = np.ones((n, points, cycles, angles))
    kernels: dict[tuple[str, str], Any] = {}
    for main in range(1, mains + 1):
        vertical = top * np.cos(turn) * scatter * shape
        lateral = 0.74 * top * np.sin(turn + 0.8) * scatter * shape
        kernels["main_vertical", f"main {main}"] = vertical
        kernels["main_lateral", f"main {main}"] = lateral
        kernels["main_vertical_extreme", f"main {main}"] = 1.1 * vertical[:, :, -1:, :]
        kernels["main_lateral_extreme", f"main {main}"] = 1.1 * lateral[:, :, -1:, :]
    kernels["peak_pressure", ""] = 85e5 * scatter * np.ones((n, points, cycles, 1))
    kernels["cylinder_pressure_extreme", ""] = np.full((n, 1, 1, 1), 110e5)
    kernels["cylinder_pressure_often", ""] = np.full((n, 1, 1, 1), 110e5)
    return kernels


class BenchTracer(BenchLeaves):
    """The nominal bench engine under the tracer."""

    def _leaf(self, kind: str, name: str, value: Any) -> Traced:
        return Traced(Node(np.asarray(value, dtype=float), leaf=Leaf(kind=kind, name=name, unit="SI")))

    def build(self, path: str) -> Any:
        return self._leaf("build", path, super().build(path))

    def catalogue(self, table: str, row: str, field: str) -> Any:
        return self._leaf("catalogue", f"{row}.{field}", super().catalogue(table, row, field))

    def model(self, name: str) -> Any:
        return self._leaf("model", name, super().model(name))

    def kernel(self, name: str, place: str = "") -> Any:
        return self._leaf("kernel", f"{name} {place}", super().kernel(name, place))
