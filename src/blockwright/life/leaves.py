"""Where limits get their inputs: all samples for `judge`, the nominal row, traced, for `explain`.

The two classes give the same numbers from the same place, so that an explanation
replays the very figure of the verdict.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..build import catalogue
from ..build.model import Build
from ..build.model import Value as BuildValue
from ..trace import Array, Leaf, Node, Traced, Value, leaf_array
from ..unit_table import DIMENSIONS
from ..units import dimension_of, to_unit
from .draw import Draw, uncertain

#: (name, place) -> array with axes (sample, point, cycle, angle).
Kernels = Mapping[tuple[str, str], Array]


def si_unit(unit: str) -> str:
    """SI unit in which a quantity written in `unit` is held."""
    return DIMENSIONS[dimension_of(unit)].si


def _known(value: BuildValue) -> str:
    """How a build value is known, and what was written."""
    written = f"written {to_unit(value.si, value.unit, dimension_of(value.unit)):.6g} {value.unit}".strip()
    return ", ".join(part for part in (value.by, value.gauge, written) if part)


class SampleLeaves:
    """Leaves as arrays over all rows of a draw."""

    def __init__(self, build: Build, draw: Draw, kernels: Kernels) -> None:
        self._build = build
        self._draw = draw
        self._kernels = kernels
        self._known: dict[str, Array] = {}

    def build(self, path: str) -> Value:
        """A field of the build, shape (n, 1, 1, 1) [SI]."""
        key = f"build {path}"
        if key not in self._known:
            value = self._build.values[path]
            variable = uncertain(key, value.si, value.u, value.distribution)
            self._known[key] = leaf_array(self._draw.column(variable))
        return self._known[key]

    def catalogue(self, table: str, row: str, field: str) -> Value:
        """A figure of the catalogue, shape (n, 1, 1, 1) [SI]; one draw for all parts of that row."""
        key = f"catalogue {row} {field}"
        if key not in self._known:
            found = catalogue.row(table, row)
            variable = uncertain(key, found.si(field), found.u(field), found.distribution(field))
            self._known[key] = leaf_array(self._draw.column(variable))
        return self._known[key]

    def model(self, name: str) -> Value:
        """A constant or error of a model, shape (n, 1, 1, 1)."""
        key = f"model {name}"
        if key not in self._known:
            found = catalogue.row("model", name)
            variable = uncertain(key, found.si("value"), found.u("value"), found.distribution("value"))
            self._known[key] = leaf_array(self._draw.column(variable))
        return self._known[key]

    def kernel(self, name: str, place: str = "") -> Value:
        """A numerical solution, axes (sample, point, cycle, angle)."""
        return leaf_array(self._kernels[name, place])

    def constant(self, name: str, place: str, value: Array, unit: str, equation: str, key: str) -> Value:
        """A kernel's figure that does not vary with the samples."""
        return value

    def choice(self, path: str) -> object:
        """A word, whole number or flag of the build."""
        return self._build.choice(path)


#: Units of the kernels' results, for explanations.
KERNEL_UNITS = {
    "peak_pressure": ("Pa", "largest gas pressure of one cycle, absolute"),
    "peak_pressure_extreme": ("Pa", "largest gas pressure over the duty at each point, absolute"),
    "cylinder_pressure_extreme": (
        "Pa",
        "largest gas pressure over the whole duty with knock bursts, absolute",
    ),
    "cylinder_pressure_often": (
        "Pa",
        "gas pressure that one cycle in a thousand passes, hardest point, absolute",
    ),
    "main_vertical": ("N", "main-bearing load into the cap, by statics of the throws at each angle"),
    "main_lateral": ("N", "main-bearing load towards bank B, by statics of the throws at each angle"),
    "main_vertical_extreme": ("N", "main-bearing load into the cap at the largest cycle of the duty"),
    "main_lateral_extreme": ("N", "main-bearing load towards bank B at the largest cycle of the duty"),
    "wall_pressure": ("Pa", "largest gauge pressure on the wall at that depth once the top ring has passed"),
    "side_thrust": ("N", "largest side force while the piston is at that depth"),
    "rod_tension": ("N", "largest pull in the rod's shank in one cycle"),
    "rod_compression": ("N", "largest push in the rod's shank in one cycle"),
    "rod_tension_overspeed": ("N", "largest pull in the rod's shank at the over-speed of a missed shift"),
    "bolt_tension": ("N", "largest pull on the big-end joint in one cycle"),
    "bolt_tension_overspeed": ("N", "largest pull on the big-end joint at the over-speed"),
    "piston_speed": ("m/s", "mean piston speed, 2 stroke n"),
    "piston_speed_overspeed": ("m/s", "mean piston speed at the over-speed, 2 stroke n"),
    "piston_acceleration": ("m/s^2", "peak piston acceleration of the exact slider-crank"),
    "load_pulses": (
        "1",
        "load cycles of the largest range in one engine cycle, by rainflow and the S-N exponent 5",
    ),
    "duty_cycles": ("1", "engine cycles (two turns) at each point of the duty"),
    "cycle_weights": ("1", "Gauss-Hermite weights of the cycle-to-cycle variation"),
}


class TracedLeaves:
    """Leaves of the nominal engine under the tracer."""

    def __init__(self, build: Build, kernels: Kernels, key: str) -> None:
        self._build = build
        self._kernels = kernels
        self._key = key

    def build(self, path: str) -> Value:
        """A field of the build as a traced leaf."""
        value = self._build.values[path]
        leaf = Leaf(
            kind="build",
            name=path,
            unit=si_unit(value.unit),
            provenance=_known(value),
            source=value.note,
            spread=value.u,
        )
        return Traced(Node(np.full((1, 1, 1, 1), value.si), leaf=leaf))

    def catalogue(self, table: str, row: str, field: str) -> Value:
        """A catalogue figure as a traced leaf."""
        found = catalogue.row(table, row)
        leaf = Leaf(
            kind="catalogue",
            name=f"{row}.{field}",
            unit=found.si_unit(field),
            provenance=found.status_of(field),
            source=found.source_of(field),
            spread=found.u(field),
        )
        return Traced(Node(np.full((1, 1, 1, 1), found.si(field)), leaf=leaf))

    def model(self, name: str) -> Value:
        """A model constant as a traced leaf."""
        found = catalogue.row("model", name)
        leaf = Leaf(
            kind="model",
            name=name,
            unit=found.si_unit("value"),
            provenance=found.status_of("value"),
            source=found.source_of("value"),
            spread=found.u("value"),
        )
        return Traced(Node(np.full((1, 1, 1, 1), found.si("value")), leaf=leaf))

    def kernel(self, name: str, place: str = "") -> Value:
        """A numerical solution's nominal row as a traced leaf."""
        unit, equation = KERNEL_UNITS[name]
        leaf = Leaf(kind="kernel", name=name, unit=unit, place=place, source=equation, key=self._key)
        return Traced(Node(self._kernels[name, place][:1], leaf=leaf))

    def constant(self, name: str, place: str, value: Array, unit: str, equation: str, key: str) -> Value:
        """A kernel's constant as a traced leaf."""
        leaf = Leaf(kind="kernel", name=name, unit=unit, place=place, source=equation, key=key)
        return Traced(Node(np.asarray(value, dtype=float), leaf=leaf))

    def choice(self, path: str) -> object:
        """A word, whole number or flag of the build."""
        return self._build.choice(path)
