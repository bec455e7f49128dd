"""Clamp load of the joints of a build: from its fasteners to what is left under load.

The functions without ``@formula`` only look up inputs and pass them on; all
arithmetic is in formulas, so the same code serves samples and explanations.
"""

from __future__ import annotations

import numpy as np

from ..build.catalogue import rows
from ..errors import Fault, InputError
from ..trace import Array, Value, formula
from . import preload, separation, stiffness
from .inputs import Leaves, Specified

#: The clamped part and the tapped part of each section: path of its material, or of a model constant.
_MEMBERS = {
    "main_fasteners": ("caps.material", "casting.material"),
    "outer_fasteners": ("caps.material", "casting.material"),
    "head_fasteners": ("heads.material", "casting.material"),
    "rod_bolts": ("rods.material", "rods.material"),
}


def fastener_preload(ctx: Leaves, build: Specified, section: str) -> Value:
    """Preload of one fastener once the joint has settled [N], shape (n, 1, 1, 1).

    Parameters
    ----------
    ctx : Leaves
        Where values come from.
    build : Specified
        The words of the build: kind, thread, grade, how it is tightened.
    section : str
        ``"main_fasteners"``, ``"outer_fasteners"``, ``"head_fasteners"`` or ``"rod_bolts"``.

    Raises
    ------
    InputError
        When the section or its way of tightening is none that is known.
    """
    bolt, member = _compliances(ctx, build, section)
    tightened = preload.preload_up_to_yield(
        _elastic_preload(ctx, build, section, bolt, member), yield_limit(ctx, build, section)
    )
    stud = kind(build, section) == "stud"
    settling = preload.embedding(
        ctx.model("joint.embedding_thread"),
        ctx.model("joint.embedding_seat"),
        ctx.model("joint.embedding_face"),
        threads=2 if stud else 1,
        seats=1,
        faces=1,
    )
    return preload.preload_after_embedding(tightened, settling, bolt, member)


def load_factor(ctx: Leaves, build: Specified, section: str) -> Value:
    """Share of the joint's load that one fastener of the section feels [-]."""
    bolt, member = _compliances(ctx, build, section)
    return stiffness.load_factor(bolt, member, ctx.model("joint.load_introduction"))


def yield_limit(ctx: Leaves, build: Specified, section: str) -> Value:
    """Preload at which the fasteners of a section yield while turned [N]."""
    turned = turned_thread(build, section)
    return preload.yield_preload(
        ctx.catalogue("thread", thread(build, section), "stress_area"),
        ctx.catalogue("grade", grade(build, section), "yield"),
        ctx.catalogue("thread", turned, "pitch"),
        ctx.catalogue("thread", turned, "pitch_diameter"),
        _friction(ctx, build, section, "thread_friction"),
    )


def fastener_compliance(ctx: Leaves, build: Specified, section: str) -> Value:
    """Compliance of one fastener of the section [m/N]."""
    return _compliances(ctx, build, section)[0]


def joint_stiffness(ctx: Leaves, build: Specified, section: str) -> Value:
    """Stiffness of one clamped fastener of the section against a pull on its joint [N/m]."""
    return separation.joint_stiffness(*_compliances(ctx, build, section))


def cap_clamp(ctx: Leaves, build: Specified, main: int) -> Value:
    """Clamp across the joint face of one main cap, all its fasteners [N], shape (n, 1, 1, 1)."""
    inner = fastener_preload(ctx, build, "main_fasteners")
    if not is_four_bolt(build, main):
        return clamp_of_two(inner)
    outer = fastener_preload(ctx, build, "outer_fasteners")
    if build.choice("caps.pattern") == "four-bolt-splayed":
        return clamp_of_four_splayed(inner, outer, ctx.build("caps.splay"))
    return clamp_of_four(inner, outer)


def is_four_bolt(build: Specified, main: int) -> bool:
    """Whether this main's cap has outer fasteners."""
    if not str(build.choice("caps.pattern")).startswith("four-bolt"):
        return False
    if not build.has("caps.four_bolt_mains"):
        return True
    chosen = build.choice("caps.four_bolt_mains")
    if not isinstance(chosen, (tuple, list)) or not chosen:
        return True
    return main in chosen


def kind(build: Specified, section: str) -> str:
    """``"bolt"`` or ``"stud"``; a bolt where the section does not say."""
    path = f"{section}.kind"
    return str(build.choice(path)) if build.has(path) else "bolt"


def thread(build: Specified, section: str) -> str:
    """Catalogue row of the thread in the tapped part."""
    return str(build.choice(f"{section}.thread"))


def grade(build: Specified, section: str) -> str:
    """Catalogue row of the fastener's grade."""
    return str(build.choice(f"{section}.grade"))


def turned_thread(build: Specified, section: str) -> str:
    """Catalogue row of the thread that turns under the wrench.

    A bolt turns in the block.  A stud stands still in the block and its nut
    turns, on the fine thread of the same size where the inch series has one.
    """
    tapped = thread(build, section)
    if kind(build, section) != "stud":
        return tapped
    path = f"{section}.nut_thread"
    if build.has(path):
        return str(build.choice(path))
    size, dash, _ = tapped.rpartition("-")
    if not dash:
        return tapped
    fine = (name for name, row in rows("thread").items() if "(UNF)" in row.text("title"))
    return next((name for name in fine if name.startswith(f"{size}-")), tapped)


def _elastic_preload(ctx: Leaves, build: Specified, section: str, bolt: Value, member: Value) -> Value:
    path = f"{section}.tighten"
    way = str(build.choice(path))
    if way == "torque":
        scatter = ctx.model(f"joint.torque_scatter_{kind(build, section)}")
        return _from_torque(ctx, build, section, ctx.build(f"{section}.torque"), scatter)
    if way == "angle":
        scatter = ctx.model(f"joint.torque_scatter_{kind(build, section)}")
        snug = _from_torque(ctx, build, section, ctx.build(f"{section}.snug"), scatter)
        return preload.preload_from_angle(
            snug,
            ctx.build(f"{section}.angle"),
            ctx.catalogue("thread", turned_thread(build, section), "pitch"),
            bolt,
            member,
            ctx.model("joint.angle_scatter"),
        )
    if way == "stretch":
        return preload.preload_from_stretch(
            ctx.build(f"{section}.stretch"),
            stiffness.end_to_end_compliance(
                ctx.build(f"{section}.grip"),
                ctx.model("joint.threaded_share"),
                ctx.catalogue("thread", thread(build, section), "major"),
                ctx.catalogue("thread", thread(build, section), "root_diameter"),
                ctx.catalogue("grade", grade(build, section), "modulus"),
            ),
            ctx.model("joint.stretch_scatter"),
        )
    raise InputError(Fault(path, repr(way), "write torque, angle or stretch"))


def _from_torque(ctx: Leaves, build: Specified, section: str, torque: Value, scatter: Value) -> Value:
    turned = turned_thread(build, section)
    return preload.preload_from_torque(
        torque,
        ctx.catalogue("thread", turned, "pitch"),
        ctx.catalogue("thread", turned, "pitch_diameter"),
        preload.bearing_mean_diameter(
            ctx.catalogue("thread", turned, "washer_face"), ctx.catalogue("thread", turned, "major")
        ),
        _friction(ctx, build, section, "thread_friction"),
        _friction(ctx, build, section, "head_friction"),
        scatter,
    )


def _friction(ctx: Leaves, build: Specified, section: str, which: str) -> Value:
    """Friction of thread or head; a section tightened by stretch need not give it."""
    path = f"{section}.{which}"
    return ctx.build(path) if build.has(path) else ctx.model("joint.friction")


def _compliances(ctx: Leaves, build: Specified, section: str) -> tuple[Value, Value]:
    """Compliance of the fastener and of what it clamps [m/N]."""
    if section not in _MEMBERS:
        raise InputError(f"there is no joint {section!r}; known are {', '.join(_MEMBERS)}")
    clamped, tapped = _MEMBERS[section]
    row = thread(build, section)
    bolt = stiffness.fastener_compliance(
        ctx.build(f"{section}.grip"),
        ctx.model("joint.threaded_share"),
        ctx.catalogue("thread", row, "major"),
        ctx.catalogue("thread", row, "root_diameter"),
        ctx.catalogue("grade", grade(build, section), "modulus"),
        ctx.catalogue("metal", str(build.choice(tapped)), "modulus"),
        kind=kind(build, section),
    )
    if build.has(clamped):
        modulus = ctx.catalogue("metal", str(build.choice(clamped)), "modulus")
    else:
        modulus = ctx.model("joint.head_modulus")
    member = stiffness.member_compliance_cone(
        ctx.catalogue("thread", row, "washer_face"),
        ctx.catalogue("thread", row, "major"),
        ctx.build(f"{section}.grip"),
        _outer_diameter(ctx, section, row),
        modulus,
        ctx.model("joint.member_error"),
    )
    return bolt, member


def _outer_diameter(ctx: Leaves, section: str, row: str) -> Value:
    if section in ("main_fasteners", "outer_fasteners"):
        return stiffness.equal_area_diameter(ctx.build("caps.foot_width"), ctx.build("caps.length"))
    name = "joint.head_boss_ratio" if section == "head_fasteners" else "joint.rod_boss_ratio"
    return stiffness.diameter_by_ratio(ctx.catalogue("thread", row, "major"), ctx.model(name))


@formula(symbol="F_K0", unit="N", equation="F_K0 = 2 F_i", source="statics")
def clamp_of_two(inner: Array) -> Array:
    """Clamp of a two-bolt cap.

    Parameters
    ----------
    inner : array, shape (n, 1, 1, 1)
        Preload of one fastener [N].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Normal to the joint face [N].
    """
    return 2.0 * inner


@formula(symbol="F_K0", unit="N", equation="F_K0 = 2 F_i + 2 F_o", source="statics")
def clamp_of_four(inner: Array, outer: Array) -> Array:
    """Clamp of a cap with four fasteners square to its face.

    Parameters
    ----------
    inner, outer : array, shape (n, 1, 1, 1)
        Preload of one inner and one outer fastener [N].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Normal to the joint face [N].
    """
    return 2.0 * (inner + outer)


@formula(symbol="F_K0", unit="N", equation="F_K0 = 2 F_i + 2 F_o cos s", source="statics")
def clamp_of_four_splayed(inner: Array, outer: Array, splay: Array) -> Array:
    """Clamp of a cap whose outer fasteners lean outward.

    Parameters
    ----------
    inner, outer : array, shape (n, 1, 1, 1)
        Preload of one inner and one outer fastener [N].
    splay : array
        Lean of the outer ones from the normal of the face [rad].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Normal to the joint face [N].
    """
    return 2.0 * (inner + outer * np.cos(splay))


@formula(
    symbol="F_K",
    unit="N",
    equation="F_K = max(F_K0 - (1 - Phi) max(F_A, 0), 0)",
    source="VDI 2230-1 (from memory), Budynas & Nisbett eq. 8-25 (read); two springs",
    valid="load centred between the fasteners; a load towards the block is borne by the block, not the cap",
)
def remaining_clamp(preload_total: Array, load_factor: Array, vertical_load: Array) -> Array:
    """Clamp left on the joint face while the load pulls the cap away.

    Parameters
    ----------
    preload_total : array, shape (n, 1, 1, 1)
        Clamp of the unloaded joint, `cap_clamp` [N].
    load_factor : array, shape (n, 1, 1, 1)
        Share that the fasteners feel [-].
    vertical_load : array, shape (n, P, Z, K)
        Load, positive into the cap [N].

    Returns
    -------
    array, shape (n, P, Z, K)
        Never below zero [N].
    """
    return np.maximum(preload_total - (1.0 - load_factor) * np.maximum(vertical_load, 0.0), 0.0)
