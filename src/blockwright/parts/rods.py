"""Connecting rods and their bolts: shank, column, big-end joint, bolts.

Every rod is taken as the same, with the loads of the hardest-worked cylinder; the
scatter from rod to rod and bolt to bolt within one set is not drawn apart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from ..joints import clamp, separation
from ..trace import Value, formula
from .cases import Fatigue, Identity, Leaves, SingleEvent
from .strength import fatigue_strength, tensile_strength

if TYPE_CHECKING:
    from ..build.model import Build

_COLUMN = "Budynas & Nisbett sec. 4-12 and 4-13 (from memory): Euler and J. B. Johnson columns"
_OVER_DUTY = (1, 2, 3)


@formula(
    symbol="t", unit="m", equation="t = sqrt(12 I/A)", source="rectangle with the beam's area and inertia"
)
def beam_depth(area: Value, inertia: Value) -> Value:
    """Depth of the rectangle that bends as the beam does.

    Parameters
    ----------
    area, inertia : array, shape (n, 1, 1, 1)
        Of the smallest section of the beam [m2], [m4].
    """
    return np.sqrt(12.0 * inertia / area)


@formula(
    symbol="S_max",
    unit="Pa",
    equation="S_max = e k F_pull/A",
    source="force over area times a stated notch factor",
    valid="centred load; bending of the beam by its own whip not counted",
)
def shank_pull_stress(pull: Value, area: Value, notch: Value, error: Value) -> Value:
    """Largest local stress in the shank in one cycle: pulled at the top of the exhaust stroke.

    Parameters
    ----------
    pull : array, shape (n, P, Z, 1)
        Largest pull in a cycle [N].
    area, notch, error : array, shape (n, 1, 1, 1)
        Of the smallest section [m2]; local over nominal stress; model error, mean 1 [-].
    """
    return error * notch * pull / area


@formula(
    symbol="S_min",
    unit="Pa",
    equation="S_min = -e k F_push/A",
    source="force over area times a stated notch factor",
    valid="stocky rod: far below its buckling load",
)
def shank_push_stress(push: Value, area: Value, notch: Value, error: Value) -> Value:
    """Smallest local stress in the shank in one cycle: pressed by the gas after firing.

    Parameters as in `shank_pull_stress`; `push` is the largest compression [N].
    """
    return -error * notch * push / area


@formula(symbol="max", unit="Pa", equation="largest over the duty", source="definition")
def largest_over_duty(stress: Value) -> Value:
    """Largest over points, cycles and angles of the duty, shape (n, 1, 1, 1)."""
    return np.max(stress, axis=_OVER_DUTY, keepdims=True)


@formula(
    symbol="F_push",
    unit="N",
    equation="F = e pi/4 B^2 (p_max - p_0)",
    source="statics",
    valid="at the top, where inertia only relieves: its relief is not counted, which is on the safe side",
)
def gas_push(pressure: Value, ambient: Value, bore: Value, error: Value) -> Value:
    """Largest push of the gas on the rod over the whole duty, knock bursts included.

    Parameters
    ----------
    pressure : array, shape (n, 1, 1, 1)
        Largest cylinder pressure, absolute [Pa].
    ambient, bore, error : array, shape (n, 1, 1, 1)
        Under the piston, absolute [Pa]; bore [m]; model error, mean 1 [-].
    """
    return error * 0.25 * np.pi * bore**2 * (pressure - ambient)


@formula(
    symbol="F_cr",
    unit="N",
    equation=(
        "s = K l/sqrt(I/A), s_1 = sqrt(2 pi^2 E/R_p); "
        "s <= s_1: F = A R_p (1 - (s/s_1)^2/2); beyond: F = A pi^2 E/s^2"
    ),
    source=_COLUMN,
    valid="centred load, one section over the whole length",
)
def column_load(
    area: Value, inertia: Value, length: Value, fixity: Value, modulus: Value, yield_strength: Value
) -> Value:
    """Load at which a rod of one section buckles in one plane.

    Parameters
    ----------
    area, inertia : array, shape (n, 1, 1, 1)
        Smallest section [m2], and its second moment for bending in that plane [m4].
    length, fixity : array
        Between centres [m]; effective over true length [-].
    modulus, yield_strength : array
        [Pa].
    """
    slenderness2 = (fixity * length) ** 2 * area / inertia
    limit2 = 2.0 * np.pi**2 * modulus / yield_strength
    short = yield_strength * (1.0 - 0.5 * slenderness2 / limit2)
    long = np.pi**2 * modulus / slenderness2
    return area * np.where(slenderness2 <= limit2, short, long)


@formula(symbol="I_s", unit="m4", equation="I_s = c I", source="definition")
def swing_inertia(inertia: Value, ratio: Value) -> Value:
    """Second moment of the beam for bending in the plane of its swing.

    Parameters
    ----------
    inertia, ratio : array, shape (n, 1, 1, 1)
        Least of the section [m4]; in the plane of swing over least [-].
    """
    return ratio * inertia


@formula(symbol="F_cr", unit="N", equation="F_cr = min(F_swing, F_cross)", source="definition")
def weaker_plane(swing: Value, cross: Value) -> Value:
    """The lower of the two buckling loads.

    Parameters
    ----------
    swing, cross : array, shape (n, 1, 1, 1)
        In the plane of swing, hinged at both ends, and across it [N].
    """
    return np.minimum(swing, cross)


@formula(symbol="K", unit="1", equation="K = 1", source="statics: a column hinged at both ends")
def hinged(length: Value) -> Value:
    """Effective over true length of a rod turning freely on both pins."""
    return np.ones_like(length)


@formula(symbol="F_d", unit="N", equation="F_d = e F", source="definition")
def with_error(load: Value, error: Value) -> Value:
    """A load with its model error.

    Parameters
    ----------
    load, error : array, shape (n, 1, 1, 1)
        [N]; mean 1 [-].
    """
    return error * load


@formula(symbol="F_p", unit="N", equation="F_p = A R_p", source="definition of the yield strength")
def yield_load(area: Value, yield_strength: Value) -> Value:
    """Pull at which the smallest section stretches for good.

    Parameters
    ----------
    area, yield_strength : array, shape (n, 1, 1, 1)
        [m2], [Pa].
    """
    return area * yield_strength


@formula(symbol="F_m", unit="N", equation="F_m = A_s R_m", source="definition of the tensile strength")
def breaking_load(stress_area: Value, tensile: Value) -> Value:
    """Pull at which a threaded fastener breaks.

    Parameters
    ----------
    stress_area, tensile : array, shape (n, 1, 1, 1)
        [m2], [Pa].
    """
    return stress_area * tensile


@formula(
    symbol="F_A",
    unit="N",
    equation="F_A = c F_big/z",
    source="statics; c as in VDI 2230-1 for eccentric joints (idea from memory, figure assumed)",
)
def load_per_bolt(pull: Value, eccentricity: Value, count: int) -> Value:
    """Load on the joint of one rod bolt.

    Parameters
    ----------
    pull : array, shape (n, P, Z, 1)
        On the big-end joint [N].
    eccentricity : array, shape (n, 1, 1, 1)
        Over an even share [-].
    count : int
        Bolts of one rod [-].
    """
    return eccentricity * pull / count


@formula(
    symbol="S_max", unit="Pa", equation="S_max = F_V/A_s + e (F_S - F_V)/A_s", source="force over stress area"
)
def bolt_largest_stress(total: Value, preload: Value, stress_area: Value, error: Value) -> Value:
    """Largest nominal stress in the bolt's thread in one cycle.

    Parameters
    ----------
    total : array, shape (n, P, Z, 1)
        Pull in the bolt at the top of the exhaust stroke [N].
    preload, stress_area, error : array, shape (n, 1, 1, 1)
        [N], [m2]; model error of the working part, mean 1 [-].
    """
    return (preload + error * (total - preload)) / stress_area


@formula(symbol="S_0", unit="Pa", equation="S_0 = F_V/A_s", source="force over stress area")
def bolt_preload_stress(preload: Value, stress_area: Value) -> Value:
    """Stress in the bolt's thread between pulls.

    Parameters
    ----------
    preload, stress_area : array, shape (n, 1, 1, 1)
        [N], [m2].
    """
    return preload / stress_area


@formula(symbol="S_w", unit="Pa", equation="S_w = S_max - S_0", source="definition")
def working_stress(largest: Value, preload: Value) -> Value:
    """Part of the bolt's stress that comes and goes, largest over the duty.

    Parameters
    ----------
    largest, preload : array
        [Pa].
    """
    return np.max(largest - preload, axis=_OVER_DUTY, keepdims=True)


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """How rods and rod bolts can fail."""
    return [
        shank_fatigue(ctx, build),
        buckling(ctx, build),
        shank_stretch(ctx, build),
        bolt_fatigue(ctx, build),
        joint_opening(ctx, build),
        bolt_break(ctx, build),
    ]


def shank_fatigue(ctx: Leaves, build: Build) -> Fatigue:
    """Fatigue of the beam between inertia pull and gas push."""
    row = build.word("rods.material")
    area, notch = ctx.build("rods.beam_area"), ctx.model("rod.notch_factor")
    error = ctx.model("rod.shank_fatigue.model_error")
    depth = beam_depth(area, ctx.build("rods.beam_inertia"))
    largest = shank_pull_stress(ctx.kernel("rod_tension"), area, notch, error)
    return Fatigue(
        identity=Identity(
            id="rod-shank-fatigue",
            name="Rod shank fatigue",
            part="rod",
            place="every rod",
            source="force over area, stated notch factor; fatigue strength by the FKM guideline",
            group="rods",
            notes=("the beam's own whip and rod-to-rod scatter are not counted",),
        ),
        stress_max=largest,
        stress_min=shank_push_stress(ctx.kernel("rod_compression"), area, notch, error),
        strength=fatigue_strength(ctx, build, "rods", thickness=depth),
        tensile=tensile_strength(ctx, build, "rods", depth),
        slope=ctx.catalogue("metal", row, "slope"),
        knee=ctx.catalogue("metal", row, "knee"),
        mean_rule=catalogue.row("metal", row).text("mean_rule"),
        split={"inertia": largest_over_duty(largest)},
    )


def buckling(ctx: Leaves, build: Build) -> SingleEvent:
    """The rod as a column under the largest gas pressure, knock bursts included."""
    row = build.word("rods.material")
    area, inertia = ctx.build("rods.beam_area"), ctx.build("rods.beam_inertia")
    length = ctx.build("rods.length")
    modulus, strength = ctx.catalogue("metal", row, "modulus"), ctx.catalogue("metal", row, "yield")
    in_plane = swing_inertia(inertia, ctx.model("rod.swing_inertia"))
    return SingleEvent(
        identity=Identity(
            id="rod-buckling",
            name="Rod buckling",
            part="rod",
            place="every rod",
            source=_COLUMN,
            group="rods",
            notes=("relief by inertia at the top is not counted",),
        ),
        unit="N",
        demand=gas_push(
            ctx.kernel("cylinder_pressure_extreme"),
            ctx.build("conditions.pressure"),
            ctx.build("casting.bore"),
            ctx.model("rod.buckling.model_error"),
        ),
        capacity=weaker_plane(
            column_load(area, in_plane, length, hinged(length), modulus, strength),
            column_load(area, inertia, length, ctx.model("rod.cross_fixity"), modulus, strength),
        ),
    )


def shank_stretch(ctx: Leaves, build: Build) -> SingleEvent:
    """The beam yields at the over-speed of a missed shift."""
    return SingleEvent(
        identity=Identity(
            id="rod-stretch-overspeed",
            name="Rod stretch at over-speed",
            part="rod",
            place="every rod",
            source="pull of the reciprocating mass against yield of the smallest section",
            group="rods",
        ),
        unit="N",
        demand=with_error(ctx.kernel("rod_tension_overspeed"), ctx.model("rod.stretch.model_error")),
        capacity=yield_load(
            ctx.build("rods.beam_area"), ctx.catalogue("metal", build.word("rods.material"), "yield")
        ),
    )


def bolt_fatigue(ctx: Leaves, build: Build) -> Fatigue:
    """Fatigue of the rod bolt's thread under the working part of the pull."""
    grade = clamp.grade(build, "rod_bolts")
    area = _stress_area(ctx, build)
    preload, share = _bolt(ctx, build)
    total = separation.fastener_load(preload, share, _per_bolt(ctx, build, "bolt_tension"))
    largest = bolt_largest_stress(total, preload, area, ctx.model("rod_bolt.fatigue.model_error"))
    resting = bolt_preload_stress(preload, area)
    return Fatigue(
        identity=Identity(
            id="rod-bolt-fatigue",
            name="Rod bolt fatigue",
            part="rod bolt",
            place="every rod",
            source="joint as two springs (VDI 2230-1, Budynas & Nisbett ch. 8); endurance of the grade",
            group="rods",
            notes=("the scatter of bolts within one set is not drawn apart",),
        ),
        stress_max=largest,
        stress_min=resting,
        strength=ctx.catalogue("grade", grade, "endurance"),
        tensile=ctx.catalogue("grade", grade, "tensile"),
        slope=ctx.catalogue("grade", grade, "slope"),
        knee=ctx.catalogue("grade", grade, "knee"),
        mean_rule=catalogue.row("grade", grade).text("mean_rule"),
        split={"clamp": resting, "inertia": working_stress(largest, resting)},
    )


def joint_opening(ctx: Leaves, build: Build) -> SingleEvent:
    """The big-end joint opens at over-speed."""
    preload, share = _bolt(ctx, build)
    return SingleEvent(
        identity=Identity(
            id="rod-joint-opening",
            name="Big-end joint opens at over-speed",
            part="rod bolt",
            place="every rod",
            source="Budynas & Nisbett eq. 8-29 (read): a joint opens when (1 - C) P reaches the preload",
            group="rods",
        ),
        unit="N",
        demand=separation.opening_demand(
            _per_bolt(ctx, build, "bolt_tension_overspeed"), share, ctx.model("rod_bolt.opening.model_error")
        ),
        capacity=preload,
    )


def bolt_break(ctx: Leaves, build: Build) -> SingleEvent:
    """The rod bolt breaks at over-speed."""
    preload, share = _bolt(ctx, build)
    pull = with_error(
        _per_bolt(ctx, build, "bolt_tension_overspeed"), ctx.model("rod_bolt.break.model_error")
    )
    grade = clamp.grade(build, "rod_bolts")
    return SingleEvent(
        identity=Identity(
            id="rod-bolt-break",
            name="Rod bolt breaks at over-speed",
            part="rod bolt",
            place="every rod",
            source="two springs, then the open joint; tensile strength on the stress area",
            group="rods",
        ),
        unit="N",
        demand=separation.fastener_load(preload, share, pull),
        capacity=breaking_load(_stress_area(ctx, build), ctx.catalogue("grade", grade, "tensile")),
    )


def _bolt(ctx: Leaves, build: Build) -> tuple[Value, Value]:
    """Preload of one rod bolt, and the share of its joint's load that it feels."""
    return clamp.fastener_preload(ctx, build, "rod_bolts"), clamp.load_factor(ctx, build, "rod_bolts")


def _per_bolt(ctx: Leaves, build: Build, kernel: str) -> Value:
    count = build.count("rod_bolts.count")
    return load_per_bolt(ctx.kernel(kernel), ctx.model("rod_bolt.eccentricity"), count)


def _stress_area(ctx: Leaves, build: Build) -> Value:
    return ctx.catalogue("thread", clamp.thread(build, "rod_bolts"), "stress_area")
