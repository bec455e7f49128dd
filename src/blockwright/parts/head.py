"""Head joint: does the clamp around a bore hold the gas, does the deck hold the head bolts.

The build gives one head joint for all bores, and the largest pressure over the duty
is that of the worst cylinder; so each limit stands once, for every bore.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from ..joints import clamp
from ..trace import Array, Value, formula
from . import strength
from .bolt_hole import notch_factor
from .cases import Fatigue, Identity, Leaves, SingleEvent
from .fasteners import stress_above

if TYPE_CHECKING:
    from ..build.model import Build

_PLACE = "every bore"
_PRESSURE_JOINT = "ASME Boiler and Pressure Vessel Code sec. VIII-1 app. 2, joint with an elastic gasket"
_PUNCHING = "shear of the deck around the boss, statics; notch factor on nominal stress"


@formula(
    symbol="F_B",
    unit="N",
    equation="F_B = n w r F_V",
    source="statics",
)
def bore_clamp(preload: Array, count: int, share: Array, kept: Array) -> Array:
    """Clamp of the head around one bore.

    Parameters
    ----------
    preload : array, shape (n, 1, 1, 1)
        Of one head fastener [N].
    count : int
        Fasteners around a bore [-].
    share : array
        Part of each that belongs to this bore [-].
    kept : array
        Part of the clamp left once the gasket has crept [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    return preload * count * share * np.minimum(kept, 1.0)


@formula(
    symbol="F_need",
    unit="N",
    equation="F_need = e (p - p_0) [ (1 - Phi) (pi/4) G^2 + 2 b pi G m ]",
    source="ASME VIII-1 app. 2 (from memory): gas lift and the seal's own need in proportion to pressure; "
    "two springs for what the lift takes from the clamp",
    valid="static pressure; a head gasket's fire ring is narrower and hotter than the code's gaskets",
)
def seal_load(
    pressure: Array,
    ambient: Array,
    gasket_bore: Array,
    load_factor: Array,
    seal_width: Array,
    gasket_factor: Array,
    error: Array,
) -> Array:
    """Clamp that a bore needs at its high cycles to stay shut and sealed.

    Parameters
    ----------
    pressure, ambient : array, shape (n, 1, 1, 1)
        Of the cycle that one in a thousand passes, hardest point; outside; both absolute [Pa].
    gasket_bore, seal_width : array
        Diameter of the fire ring; its effective width b [m].
    load_factor : array
        Share of the gas lift that the fasteners feel [-].
    gasket_factor, error : array
        m, seal pressure over gas pressure [-]; model error, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    lift = (1.0 - load_factor) * 0.25 * np.pi * gasket_bore**2
    ring = 2.0 * np.pi * seal_width * gasket_bore * gasket_factor
    return error * (pressure - ambient) * (lift + ring)


@formula(
    symbol="tau_0",
    unit="Pa",
    equation="tau_0 = m K_f F_V / (pi D_b t)",
    source=_PUNCHING,
    valid="the gasket bears outside the boss, so all of the pull crosses the deck around it",
)
def boss_stress_clamp(
    preload: Array, boss_diameter: Array, deck_thickness: Array, notch: Array, error: Array
) -> Array:
    """Stress where a head-bolt boss meets the deck, from the clamp alone.

    In pure shear the largest tension equals the shear stress, and grey iron breaks by tension.

    Parameters
    ----------
    preload : array, shape (n, 1, 1, 1)
        Of one head fastener [N].
    boss_diameter, deck_thickness : array
        [m].
    notch, error : array
        K_f at the fillet [-]; model error, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        Largest principal stress [Pa].
    """
    return error * notch * preload / (np.pi * boss_diameter * deck_thickness)


@formula(
    symbol="tau_max",
    unit="Pa",
    equation="tau_max = tau_0 + m K_f Phi (p - p_0) (pi/4) G^2 / (n w) / (pi D_b t)",
    source=_PUNCHING,
)
def boss_stress_peak(
    rest: Array,
    pressure: Array,
    ambient: Array,
    gasket_bore: Array,
    count: int,
    share: Array,
    load_factor: Array,
    boss_diameter: Array,
    deck_thickness: Array,
    notch: Array,
    error: Array,
) -> Array:
    """Largest stress where a head-bolt boss meets the deck in one cycle.

    Parameters
    ----------
    rest : array, shape (n, 1, 1, 1)
        `boss_stress_clamp` [Pa].
    pressure : array, shape (n, P, Z, 1)
        Largest of the cycle, absolute [Pa].
    ambient, gasket_bore, share, load_factor : array, shape (n, 1, 1, 1)
        [Pa], [m], [-], share of the gas lift the fastener feels [-].
    count : int
        Fasteners around a bore [-].
    boss_diameter, deck_thickness, notch, error : array, shape (n, 1, 1, 1)
        As in `boss_stress_clamp`.

    Returns
    -------
    array, shape (n, P, Z, 1)
        Largest principal stress [Pa].
    """
    per_newton = error * notch / (np.pi * boss_diameter * deck_thickness)
    per_pascal = per_newton * load_factor * 0.25 * np.pi * gasket_bore**2 / (count * share)
    return rest + per_pascal * np.maximum(pressure - ambient, 0.0)


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """Limits of the head joint: clamp against gas, and the deck around the head bolts."""
    preload = clamp.fastener_preload(ctx, build, "head_fasteners")
    count = build.count("head_fasteners.count")
    share = ctx.build("head_fasteners.share")
    return [_clamp(ctx, preload, count, share), _boss(ctx, build, preload, count, share)]


def _clamp(ctx: Leaves, preload: Value, count: int, share: Value) -> SingleEvent:
    return SingleEvent(
        Identity(
            "head-clamp",
            "Head lifts: gas past the gasket",
            "head joint",
            _PLACE,
            _PRESSURE_JOINT,
            "head",
            (
                "service limit: a gasket that weeps ends a run, not a block; not counted in the chance",
                "taken at the pressure that one cycle in a thousand passes: a gasket dies of repeats",
                "the ringing of a knock averages out over the bore and is left out",
                "evenly shared around the bore: bending of head and deck between fasteners is in the error",
            ),
        ),
        "N",
        seal_load(
            ctx.kernel("cylinder_pressure_often"),
            ctx.build("conditions.pressure"),
            ctx.build("heads.gasket_bore"),
            ctx.model("head_clamp.load_factor"),
            ctx.model("head_clamp.seal_width"),
            ctx.model("head_clamp.gasket_factor"),
            ctx.model("head_clamp.model_error"),
        ),
        bore_clamp(preload, count, share, ctx.model("head_clamp.clamp_kept")),
        # A gasket that weeps ends a run, not a block.
        breaks=False,
    )


def _boss(ctx: Leaves, build: Build, preload: Value, count: int, share: Value) -> Fatigue:
    row = strength.material(build, "casting")
    deck = ctx.build("casting.deck_thickness")
    boss = ctx.build("casting.head_boss_diameter")
    notch = notch_factor(ctx.model("head_boss.concentration"), ctx.model("bolt_hole.notch_sensitivity"))
    error = ctx.model("head_boss.model_error")
    rest = boss_stress_clamp(preload, boss, deck, notch, error)
    peak = boss_stress_peak(
        rest,
        ctx.kernel("peak_pressure"),
        ctx.build("conditions.pressure"),
        ctx.build("heads.gasket_bore"),
        count,
        share,
        ctx.model("head_clamp.load_factor"),
        boss,
        deck,
        notch,
        error,
    )
    return Fatigue(
        Identity(
            "head-bolt-boss",
            "Deck cracks around a head-bolt boss",
            "deck",
            _PLACE,
            _PUNCHING,
            "head",
            ("heat stress and bending of the deck between bores are not in it",),
        ),
        stress_max=peak,
        stress_min=rest,
        strength=strength.fatigue_strength(ctx, build, "casting", thickness=deck, skin=True, loading="axial"),
        tensile=strength.tensile_strength(ctx, build, "casting", deck),
        slope=ctx.catalogue("metal", row, "slope"),
        knee=ctx.catalogue("metal", row, "knee"),
        mean_rule=catalogue.row("metal", row).text("mean_rule"),
        split={"clamp": rest, "gas lift": stress_above(peak, rest)},
    )
