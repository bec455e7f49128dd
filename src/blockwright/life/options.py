"""Changes to a build that the statics of today can compute, and those that they cannot yet.

A change alters the physical description of the build (material, clamp, fit, bolts); the
margins follow from the same formulas as before.  None is a multiplier.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..build import catalogue
from ..build.model import Build
from ..errors import InputError
from ..joints import clamp
from .draw import Draw
from .leaves import SampleLeaves

#: What the vibrating block (not built yet) is needed for.
NEEDS_BLOCK = (
    "not modelled yet: it works through the block's stiffness and vibration, which this version leaves out"
)


@dataclass(frozen=True)
class Option:
    """One change: fields to set and what to know of it, or why it cannot be computed (reason)."""

    id: str
    name: str
    changes: Mapping[str, str | None]
    reason: str = ""
    remark: str = ""


#: Grade of the studs tried.
_STUD = "stud-180ksi"
#: Interference from which a register counts as tight [m]: 2 thou (common practice, no source).
_TIGHT = 5.0e-5
_SQUEEZE = (
    "in this model a tight register's squeeze loads the crown about as much as its hold spares it; "
    "the trade thinks more of it (docs/limits.md)"
)
_TIE = (
    "credited with its tie across the feet by statics only; the trade thinks far more of it, and what it "
    "does by stiffness against vibration is not modelled yet (docs/limits.md)"
)


def _kind_of_metal(name: str) -> str:
    return name.split("-", 1)[0]


def options(build: Build) -> list[Option]:
    """The changes that make sense for this build, then those that cannot be computed yet."""
    cap = _kind_of_metal(build.word("caps.material"))
    pattern = build.word("caps.pattern")
    stud = build.word("main_fasteners.kind") == "stud"
    tight = build.si("caps.register_fit") >= _TIGHT
    # A reading of the old caps' hardness says nothing of the new ones.
    fresh: dict[str, str | None] = {"caps.surface": "machined"}
    if "caps.hardness" in build.values:
        fresh["caps.hardness"] = None
    iron = fresh | {"caps.material": "ductile-80-55-06"}
    steel = fresh | {"caps.material": "steel-4140"}
    register = {"caps.register_fit": "0.003 in"}
    studs = _studs(build)
    found: list[Option] = []
    if not tight:
        found.append(
            Option("tight-register", "Caps registered 0.003 in tight in the block", register, remark=_SQUEEZE)
        )
    if not stud:
        found.append(Option("main-studs", "Main studs in place of bolts", studs))
    if not build.has("girdle"):
        found.append(
            Option(
                "girdle-aluminium",
                "Stud girdle, 3/4 in aluminium plate",
                _girdle("al-6061-t6", "0.750 in"),
                remark=_TIE,
            )
        )
        found.append(
            Option(
                "girdle-steel",
                "Stud girdle, 5/16 in steel plate",
                _girdle("steel-1045", "0.3125 in"),
                remark=_TIE,
            )
        )
    if cap not in ("ductile", "steel"):
        found.append(Option("ductile-caps", "Ductile iron caps of the same size", iron))
    if cap != "steel":
        found.append(Option("steel-caps", "Steel caps of the same size", steel))
    if pattern == "two-bolt":
        found.append(
            Option(
                "four-bolt-straight",
                "Four-bolt steel caps, outer bolts straight",
                steel | _four("straight", build),
            )
        )
        found.append(
            Option(
                "four-bolt-splayed",
                "Four-bolt steel caps, outer bolts splayed",
                steel | _four("splayed", build),
            )
        )
        found.append(
            Option(
                "splayed-studs",
                "Four-bolt splayed steel caps and main studs",
                steel | _four("splayed", build) | ({} if stud else studs),
            )
        )
    return [
        *found,
        Option("top-plate", "Plate dowelled to the top of the block", {}, NEEDS_BLOCK),
        Option("grout", "Grout in the water jackets", {}, NEEDS_BLOCK),
        Option("keyed-caps", "Caps keyed into the block", {}, NEEDS_BLOCK),
        Option(
            "sleeves",
            "Sleeves in thin cylinders",
            {},
            "not modelled yet: needs the sleeve's press fit and the casting left around it",
        ),
    ]


def _studs(build: Build) -> dict[str, str | None]:
    """Studs of the same thread, stretched until they pull three quarters of their yield (common practice)."""
    other_ways = (f"main_fasteners.{name}" for name in ("torque", "angle", "snug"))
    taken_out: dict[str, str | None] = {path: None for path in other_ways if path in build.values}
    changes = taken_out | {
        "main_fasteners.kind": "stud",
        "main_fasteners.grade": _STUD,
        "main_fasteners.tighten": "stretch",
    }
    first = 0.003 * build.si("main_fasteners.grip")
    try:
        tried = build.with_changes(changes | {"main_fasteners.stretch": _millimetres(first)})
    except InputError:
        return changes | {"main_fasteners.stretch": _millimetres(first)}
    pull = clamp.fastener_preload(SampleLeaves(tried, Draw(1), {}), tried, "main_fasteners")
    thread = catalogue.row("thread", tried.word("main_fasteners.thread"))
    wanted = 0.75 * catalogue.row("grade", _STUD).si("yield") * thread.si("stress_area")
    stretch = first * wanted / float(np.ravel(pull)[0])
    return changes | {"main_fasteners.stretch": _millimetres(stretch)}


def _millimetres(si: float) -> str:
    return f"{si * 1e3:.3f} mm"


def _four(way: str, build: Build) -> dict[str, str | None]:
    changes: dict[str, str | None] = {"caps.pattern": f"four-bolt-{way}"}
    thread = build.word("main_fasteners.thread")
    grade = build.word("main_fasteners.grade")
    changes |= {"outer_fasteners.thread": _outer_thread(thread), "outer_fasteners.grade": grade}
    return changes


def _outer_thread(inner: str) -> str:
    """One size below the inner bolts, as is usual (common practice, no source)."""
    smaller = {
        "1/2-13": "7/16-14",
        "7/16-14": "3/8-16",
        "9/16-12": "1/2-13",
        "M12x1.75": "M10x1.5",
        "M11x1.5": "M10x1.5",
    }
    return smaller.get(inner, inner)


def _girdle(material: str, thickness: str) -> dict[str, str | None]:
    return {"girdle.material": material, "girdle.thickness": thickness, "girdle.width": "1.5 in"}
