"""A small invented V8 for tests of main caps and bulkheads: a real `Build`, loads set by hand."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from blockwright.build.model import Build, Value
from blockwright.life.draw import Draw
from blockwright.life.leaves import SampleLeaves, TracedLeaves

#: Invented. Section 22 x 22 mm, bolts 86 mm apart, bore 64 mm.
DIMENSIONS: dict[str, tuple[float, float]] = {
    "casting.main_bore": (64e-3, 5e-6),
    "casting.bore_spacing": (111e-3, 0.0),
    "casting.hardness": (200.0, 20.0),
    "casting.web_thickness": (20e-3, 1e-3),
    "casting.web_width": (100e-3, 2e-3),
    "casting.cam_bore": (50e-3, 0.1e-3),
    "casting.valley_thickness": (9e-3, 1e-3),
    "casting.saddle_depth": (40e-3, 2e-3),
    "caps.hardness": (200.0, 20.0),
    "caps.span": (86e-3, 0.2e-3),
    "caps.outer_span": (135e-3, 0.2e-3),
    "caps.splay": (np.radians(20.0), 0.0),
    "caps.length": (22e-3, 0.2e-3),
    "caps.crown": (22e-3, 0.5e-3),
    "caps.foot_width": (22e-3, 0.5e-3),
    "caps.register_fit": (0.0, 0.0),
    "caps.register_depth": (5e-3, 0.2e-3),
    "caps.notch_radius": (3e-3, 0.5e-3),
    "crank.main_journal": (59e-3, 5e-6),
    "layout.bank_angle": (np.radians(90.0), 0.0),
    **{
        f"{section}.{field}": figure
        for section in ("main_fasteners", "outer_fasteners")
        for field, figure in {
            "grip": (60e-3, 0.0),
            "engagement": (25e-3, 0.0),
            "torque": (130.0, 5.0),
            "thread_friction": (0.13, 0.02),
            "head_friction": (0.13, 0.02),
        }.items()
    },
}
WORDS: dict[str, object] = {
    "name": "bench",
    "invented": True,
    "layout.kind": "V",
    "layout.cylinders": 8,
    "layout.firing_order": (1, 8, 4, 3, 6, 5, 7, 2),
    "layout.numbering": "alternating",
    "casting.material": "grey-30",
    "caps.material": "grey-30",
    "caps.pattern": "two-bolt",
    "caps.surface": "as-cast",
    **{
        f"{section}.{field}": word
        for section in ("main_fasteners", "outer_fasteners")
        for field, word in {
            "kind": "bolt", "thread": "1/2-13", "grade": "sae-8", "tighten": "torque"
        }.items()
    },
}  # fmt: skip
GIRDLE = {"girdle.thickness": 12.7e-3, "girdle.width": 38e-3, "girdle.fit": 0.0}


def cap_build(sizes: Mapping[str, float] | None = None, **words: object) -> Build:
    """A build with some sizes [SI] and words changed; words use ``__`` for the dot."""
    figures = {**DIMENSIONS, **{path: (si, 0.0) for path, si in (sizes or {}).items()}}
    values = {path: Value(path, si, "m", u, "measured") for path, (si, u) in figures.items()}
    choices = {**WORDS, **{key.replace("__", "."): word for key, word in words.items()}}
    if "girdle.thickness" in values:
        choices.setdefault("girdle.material", "steel-1045")
    return Build(values=values, choices=choices, assumptions=())  # type: ignore[arg-type]


def loads(vertical: np.ndarray, lateral: np.ndarray, mains: int = 5) -> dict[tuple[str, str], np.ndarray]:
    """Kernels with these loads (n, P, Z, K) on every main."""
    found: dict[tuple[str, str], np.ndarray] = {}
    for main in range(1, mains + 1):
        for name in ("", "_extreme"):
            found[f"main_vertical{name}", f"main {main}"] = vertical
            found[f"main_lateral{name}", f"main {main}"] = lateral
    return found


def one_load(vertical: float, lateral: float) -> dict[tuple[str, str], np.ndarray]:
    """A cycle that goes from nothing to this load [N] and back."""
    steps = np.linspace(0.0, 1.0, 9).reshape(1, 1, 1, 9)
    return loads(vertical * steps, lateral * steps)


def samples(build: Build, kernels: Mapping[tuple[str, str], np.ndarray], n: int = 0) -> SampleLeaves:
    """Leaves of the nominal engine and n draws."""
    return SampleLeaves(build, Draw(n), kernels)


def traced(build: Build, kernels: Mapping[tuple[str, str], np.ndarray]) -> TracedLeaves:
    """Leaves of the nominal engine under the tracer."""
    return TracedLeaves(build, kernels, "bench")
