"""Main fasteners: does the cap's joint stay shut, do bolt, thread and bolt hole last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from ..joints import clamp, separation, thread
from ..trace import Array, Value, formula
from . import bolt_hole, strength
from .cases import Fatigue, Identity, Leaves, SingleEvent

if TYPE_CHECKING:
    from ..build.model import Build

_GROUP = "mains"
_TWO_SPRINGS = "two springs, VDI 2230-1 and Budynas & Nisbett ch. 8"
_ALEXANDER = "Alexander 1977 (SAE 770420) with the block's iron"


@formula(
    symbol="sigma_max",
    unit="Pa",
    equation="sigma_max = max(F_V + m b Phi F_A, F_A) / A_s",
    source="two springs, VDI 2230-1 sec. 5.5 (from memory); b for bending of the fastener",
)
def fastener_stress_peak(
    preload: Array, load_factor: Array, load: Array, stress_area: Array, bending: Array, error: Array
) -> Array:
    """Largest stress in the thread of a fastener in one cycle.

    Parameters
    ----------
    preload, load_factor : array, shape (n, 1, 1, 1)
        [N], [-].
    load : array, shape (n, P, Z, 1)
        On the fastener's joint [N].
    stress_area : array
        [m2].
    bending, error : array
        Edge stress over mean stress of the alternating part; model error, mean 1 [-].

    Returns
    -------
    array, shape (n, P, Z, 1)
        Nominal on the stress area [Pa].
    """
    stress: Array = np.maximum(preload + error * bending * load_factor * load, load) / stress_area
    return stress


@formula(symbol="sigma_V", unit="Pa", equation="sigma_V = F_V / A_s", source="definition")
def fastener_stress_rest(preload: Array, stress_area: Array) -> Array:
    """Stress in the thread of a fastener while the cap is not pulled.

    Parameters
    ----------
    preload, stress_area : array, shape (n, 1, 1, 1)
        [N], [m2].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Nominal on the stress area [Pa].
    """
    return preload / stress_area


@formula(
    symbol="dsigma", unit="Pa", equation="max over the duty of sigma_max, less the rest", source="definition"
)
def stress_above(peak: Array, rest: Array) -> Array:
    """Share of the largest stress that the load makes.

    Parameters
    ----------
    peak, rest : array
        [Pa].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [Pa].
    """
    largest: Array = np.max(peak - rest, axis=(1, 2, 3), keepdims=True)
    return largest


@formula(
    symbol="F_max",
    unit="N",
    equation="F_max = m max over the duty of max(F_V + Phi F_A, F_A)",
    source="two springs",
)
def thread_pull(preload: Array, load_factor: Array, load: Array, error: Array) -> Array:
    """Largest pull on the thread over the duty.

    Parameters
    ----------
    preload, load_factor, error : array, shape (n, 1, 1, 1)
        [N], [-], [-].
    load : array, shape (n, P, 1, 1)
        On the fastener's joint [N].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    largest: Array = np.max(load, axis=(1, 2, 3), keepdims=True)
    return error * np.maximum(preload + load_factor * largest, largest)


@dataclass(frozen=True)
class _Joint:
    """What all limits of one kind of cap share; values of shape (n, 1, 1, 1)."""

    four: bool
    preload: Value
    load_factor: Value
    side_clamp: Value
    splay: Value = 0.0
    share: Value = None  # of the inner fastener; of outer ones only where there are any
    outer_preload: Value = None
    outer_factor: Value = None


def mains(build: Build) -> range:
    """Numbers of the mains, 1 at the front: one more than throws."""
    return range(1, build.array("layout.throws").size + 2)


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """Limits of the main fasteners and their holes, main by main."""
    found: list[Fatigue | SingleEvent] = []
    joints = {four: _joint(ctx, build, four) for four in {clamp.is_four_bolt(build, m) for m in mains(build)}}
    iron = _iron(ctx, build)
    depth = ctx.build("caps.register_depth")
    span = ctx.build("caps.span")
    for main in mains(build):
        joint = joints[clamp.is_four_bolt(build, main)]
        place = f"main {main}"
        running = separation.heavier_side_load(
            ctx.kernel("main_vertical", place), ctx.kernel("main_lateral", place), depth, span
        )
        extreme = separation.heavier_side_load(
            ctx.kernel("main_vertical_extreme", place), ctx.kernel("main_lateral_extreme", place), depth, span
        )
        inner_running, inner_extreme = _inner(joint, running), _inner(joint, extreme)
        found.append(_opening(ctx, joint, extreme, place))
        found.append(_bolt(ctx, build, joint, inner_running, place))
        found.append(_strip(ctx, build, "main_fasteners", joint, inner_extreme, place, iron))
        if joint.four:
            outer = separation.outer_load(extreme, joint.share, joint.splay)
            found.append(_strip(ctx, build, "outer_fasteners", joint, outer, place, iron))
        found.append(_hole(ctx, build, joint, inner_running, place, iron))
    return found


def _joint(ctx: Leaves, build: Build, four: bool) -> _Joint:
    inner = clamp.fastener_preload(ctx, build, "main_fasteners")
    factor = clamp.load_factor(ctx, build, "main_fasteners")
    if not four:
        return _Joint(False, inner, factor, inner)
    splayed = build.choice("caps.pattern") == "four-bolt-splayed"
    splay: Value = ctx.build("caps.splay") if splayed else 0.0
    outer = clamp.fastener_preload(ctx, build, "outer_fasteners")
    reach = ctx.model("main_joint.outer_reach")
    return _Joint(
        True,
        inner,
        factor,
        separation.side_clamp(inner, outer, splay, reach),
        splay,
        separation.inner_share(
            clamp.joint_stiffness(ctx, build, "main_fasteners"),
            clamp.joint_stiffness(ctx, build, "outer_fasteners"),
            splay,
            reach,
        ),
        outer,
        clamp.load_factor(ctx, build, "outer_fasteners"),
    )


@dataclass(frozen=True)
class _Iron:
    """Strength of the web around the bolt holes."""

    tensile: Value
    fatigue: Value
    slope: Value
    knee: Value
    mean_rule: str


def _iron(ctx: Leaves, build: Build) -> _Iron:
    row = strength.material(build, "casting")
    thickness = ctx.build("casting.web_thickness")
    return _Iron(
        strength.tensile_strength(ctx, build, "casting", thickness),
        strength.fatigue_strength(ctx, build, "casting", thickness=thickness, loading="axial"),
        ctx.catalogue("metal", row, "slope"),
        ctx.catalogue("metal", row, "knee"),
        catalogue.row("metal", row).text("mean_rule"),
    )


def _inner(joint: _Joint, side: Value) -> Value:
    return side if joint.share is None else separation.inner_load(side, joint.share)


def _identity(
    limit: str, name: str, part: str, place: str, source: str, notes: tuple[str, ...] = ()
) -> Identity:
    return Identity(f"{limit}-{place.replace(' ', '-')}", name, part, place, source, _GROUP, notes)


def _opening(ctx: Leaves, joint: _Joint, side: Value, place: str) -> SingleEvent:
    error = ctx.model("main_joint.model_error")
    return SingleEvent(
        _identity(
            "main-joint-opening",
            "Main cap joint opens",
            "main cap",
            place,
            _TWO_SPRINGS,
            ("one side's clamp as a whole; the edge beside the bore opens earlier",),
        ),
        "N",
        separation.opening_demand(side, joint.load_factor, error),
        joint.side_clamp,
    )


def _bolt(ctx: Leaves, build: Build, joint: _Joint, load: Value, place: str) -> Fatigue:
    grade = clamp.grade(build, "main_fasteners")
    area = ctx.catalogue("thread", clamp.thread(build, "main_fasteners"), "stress_area")
    peak = fastener_stress_peak(
        joint.preload,
        joint.load_factor,
        load,
        area,
        ctx.model("main_bolt.bending"),
        ctx.model("main_bolt.model_error"),
    )
    rest = fastener_stress_rest(joint.preload, area)
    kind = clamp.kind(build, "main_fasteners")
    return Fatigue(
        _identity(
            "main-bolt-fatigue", f"Main {kind} fatigue", f"main {kind}", place, f"{_TWO_SPRINGS}; Goodman"
        ),
        stress_max=peak,
        stress_min=rest,
        strength=ctx.catalogue("grade", grade, "endurance"),
        tensile=ctx.catalogue("grade", grade, "tensile"),
        slope=ctx.catalogue("grade", grade, "slope"),
        knee=ctx.catalogue("grade", grade, "knee"),
        mean_rule="goodman",
        split={"clamp": rest, "cap load": stress_above(peak, rest)},
    )


def _strip(
    ctx: Leaves, build: Build, section: str, joint: _Joint, load: Value, place: str, iron: _Iron
) -> SingleEvent:
    outer = section == "outer_fasteners"
    row = clamp.thread(build, section)
    pitch, pitch_diameter = (ctx.catalogue("thread", row, name) for name in ("pitch", "pitch_diameter"))
    major = ctx.catalogue("thread", row, "major")
    engaged = thread.effective_engagement(
        ctx.build(f"{section}.engagement"), pitch, ctx.model("thread_strip.lost_pitches")
    )
    shear = ctx.model("thread_strip.iron_shear_ratio")
    area = thread.tapped_shear_area(major, pitch, pitch_diameter, engaged)
    ratio = thread.strength_ratio(
        area,
        iron.tensile,
        shear,
        thread.fastener_shear_area(
            ctx.catalogue("thread", row, "nut_minor_diameter"), pitch, pitch_diameter, engaged
        ),
        ctx.catalogue("grade", clamp.grade(build, section), "tensile"),
        ctx.model("thread_strip.steel_shear_ratio"),
    )
    return SingleEvent(
        _identity(
            "outer-thread-strip" if outer else "main-thread-strip",
            "Outer main bolt thread strips" if outer else "Main bolt thread strips",
            "block thread",
            place,
            _ALEXANDER,
        ),
        "N",
        thread_pull(
            joint.outer_preload if outer else joint.preload,
            joint.outer_factor if outer else joint.load_factor,
            load,
            ctx.model("thread_strip.model_error"),
        ),
        thread.tapped_strip_load(
            area,
            iron.tensile,
            shear,
            thread.dilation_factor(ctx.build("casting.bolt_boss_diameter"), major),
            thread.tapped_bending_factor(ratio),
        ),
    )


def _hole(ctx: Leaves, build: Build, joint: _Joint, load: Value, place: str, iron: _Iron) -> Fatigue:
    major = ctx.catalogue("thread", clamp.thread(build, "main_fasteners"), "major")
    area = bolt_hole.boss_area(ctx.build("casting.bolt_boss_diameter"), major)
    notch = bolt_hole.notch_factor(
        ctx.model("bolt_hole.concentration"), ctx.model("bolt_hole.notch_sensitivity")
    )
    error = ctx.model("bolt_hole.model_error")
    rest = bolt_hole.hole_stress_clamp(joint.preload, ctx.model("bolt_hole.clamp_share"), area, notch, error)
    peak = bolt_hole.hole_stress_peak(rest, load, ctx.model("bolt_hole.load_share"), area, notch, error)
    return Fatigue(
        _identity(
            "bolt-hole-bottom",
            "Web cracks from the bottom of the bolt hole",
            "main web",
            place,
            bolt_hole.SOURCE,
            ("the pull of the fastener only; bending of the web is a limit of its own",),
        ),
        stress_max=peak,
        stress_min=rest,
        strength=iron.fatigue,
        tensile=iron.tensile,
        slope=iron.slope,
        knee=iron.knee,
        mean_rule=iron.mean_rule,
        split={"clamp": rest, "cap load": stress_above(peak, rest)},
    )
