"""The bulkhead above a main: cam bore, lifter valley and main saddle.

What the cap's bolts pull down, the bulkhead carries up to the deck.  None of these
is raised by a girdle, studs or a stronger cap: the iron there stays as it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from ..trace import Array, Value, formula
from . import cap_feet, cap_kernels, strength
from .cap_frame import CROWN, CapDims
from .caps import Ring, main_count, notch_gradient, ring, stress_factor
from .cases import Fatigue, Identity, Leaves, SingleEvent

if TYPE_CHECKING:
    from ..build.model import Build

_GROUP = "mains"
_SIDEWAYS = "bending of the bulkhead by the lateral main load is not modelled yet"


@formula(
    symbol="K_t",
    unit="1",
    equation="K_t = 3 - 3.140 q + 3.667 q^2 - 1.527 q^3, q = d/w; net section",
    source="Howland 1930 as fitted in Peterson's Stress Concentration Factors (from memory)",
    valid="0 <= d/w <= 1, hole in the middle of the width",
)
def hole_factor(hole: Array, width: Array) -> Array:
    """Stress concentration at a round hole in a pulled plate, on the net section [-].

    `hole`: diameter d; `width` of the plate w [m].
    """
    q = np.clip(hole / width, 0.0, 1.0)
    return np.asarray(3.0 - q * (3.140 - q * (3.667 - 1.527 * q)))


@formula(
    symbol="a_n",
    unit="1/m2",
    equation="a_n = K_t m/(t (w - d))",
    source="statics; the pull spread evenly over the bulkhead's net section",
    valid="bulkhead wider than the cam bore",
)
def web_unit_stress(hole: Array, width: Array, thickness: Array, notch: Array, error: Array) -> Array:
    """Stress at the edge of the cam bore per newton into the cap [1/m2].

    Dimensions in m; `notch`: `hole_factor`; `error`: model error, mean 1 [-].
    """
    return notch * error / (thickness * np.maximum(width - hole, 1e-3))


@formula(
    symbol="a_v",
    unit="1/m2",
    equation="a_v = K_t m tan(b/2)/(2 t s)",
    source="statics: the pull parts into both banks, whose sideways parts the valley floor holds together",
    valid="V engines; both banks share the pull alike",
)
def valley_unit_stress(
    bank_angle: Array, thickness: Array, spacing: Array, notch: Array, error: Array
) -> Array:
    """Stress in the floor of the lifter valley per newton into the cap [1/m2].

    `bank_angle` [rad]; `thickness` of the floor and bore `spacing` [m]; `notch`, `error` [-].
    """
    return 0.5 * notch * error * np.tan(0.5 * bank_angle) / (thickness * spacing)


@formula(
    symbol="(x_max, x_min)", unit="N or Pa", equation="largest and smallest of the cycle", source="definition"
)
def cycle_range(values: Array) -> Array:
    """Largest and smallest of each cycle, shape (n, P, Z, 2), from values (n, P, Z, K) [N or Pa]."""
    n, points, nodes, angles = values.shape
    return cap_kernels.range_of(cap_feet.flat(values), angles).reshape(n, points, nodes, 2)


@formula(symbol="sigma_max", unit="Pa", equation="sigma_max = a x_max + sigma_0", source="definition")
def largest(cycle: Array, unit: Array, rest: Value) -> Array:
    """Largest stress of each cycle, shape (n, P, Z, 1) [Pa].

    `cycle`: `cycle_range` of the pull [N] or of the stress [Pa]; `unit`: stress per newton
    [1/m2] or factor [-]; `rest`: stress at rest [Pa].
    """
    return np.asarray(unit * cycle[..., 0:1] + rest)


@formula(symbol="sigma_min", unit="Pa", equation="sigma_min = a x_min + sigma_0", source="definition")
def smallest(cycle: Array, unit: Array, rest: Value) -> Array:
    """Smallest stress of each cycle, shape (n, P, Z, 1) [Pa]; arguments as `largest`."""
    return np.asarray(unit * cycle[..., 1:2] + rest)


@formula(
    symbol="sigma_0", unit="Pa", equation="sigma_0 = c p_c g_c", source="curved beam, docs/models/caps.md"
)
def saddle_rest(crush: Array, pressure: Array, factor: Array) -> Array:
    """Stress in the saddle from the pressed-in shells [Pa].

    `crush`: stress per unit of shell pressure [Pa/Pa]; `pressure` [Pa]; `factor` of the dimensions [-].
    """
    return crush * pressure * factor


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """Cam bore, lifter valley and saddle of every main, where the block has them."""
    found: list[Fatigue | SingleEvent] = []
    is_v = build.choice("layout.kind") == "V"
    for main in range(1, main_count(build) + 1):
        pull = cycle_range(ctx.kernel("main_vertical", f"main {main}"))
        if build.si("casting.cam_bore") > 0.0:
            found.append(_cam_bore(ctx, build, main, pull))
        if is_v:
            found.append(_valley(ctx, build, main, pull))
        found.append(_saddle(ctx, build, main))
    return found


def _iron(
    ctx: Leaves, build: Build, identity: Identity, most: Value, least: Value, thickness: Value,
    gradient: Value | None, bending: bool, split: dict[str, Value],
) -> Fatigue:  # fmt: skip
    """A fatigue limit in the block's iron."""
    row = str(build.choice("casting.material"))
    return Fatigue(
        identity=identity,
        stress_max=most,
        stress_min=least,
        strength=strength.fatigue_strength(
            ctx,
            build,
            "casting",
            thickness=thickness,
            gradient=gradient,
            loading="bending" if bending else "axial",
        ),
        tensile=(strength.static_strength if bending else strength.tensile_strength)(
            ctx, build, "casting", thickness
        ),
        slope=ctx.catalogue("metal", row, "slope"),
        knee=ctx.catalogue("metal", row, "knee"),
        mean_rule=catalogue.row("metal", row).text("mean_rule"),
        split=split,
    )


@formula(symbol="r", unit="m", equation="r = d/2", source="definition")
def hole_radius(hole: Array) -> Array:
    """Radius of a hole [m] from its diameter [m]."""
    return 0.5 * hole


def _cam_bore(ctx: Leaves, build: Build, main: int, pull: Value) -> Fatigue:
    place = f"main {main}"
    hole, width, thick = (ctx.build(f"casting.{p}") for p in ("cam_bore", "web_width", "web_thickness"))
    unit = web_unit_stress(
        hole, width, thick, hole_factor(hole, width), ctx.model("web.cam_bore.model_error")
    )
    identity = Identity(
        id=f"web-cam-bore-main-{main}",
        name="Bulkhead at the cam bore",
        part="bulkhead",
        place=place,
        source="net section with Howland's hole factor; S-N of the block's iron",
        group=_GROUP,
        notes=(_SIDEWAYS, "pull spread evenly over the bulkhead; cam bearing's press fit not counted"),
    )
    gradient = notch_gradient(hole_radius(hole))
    most, least = largest(pull, unit, 0.0), smallest(pull, unit, 0.0)
    return _iron(ctx, build, identity, most, least, thick, gradient, False, {})


def _valley(ctx: Leaves, build: Build, main: int, pull: Value) -> Fatigue:
    place = f"main {main}"
    floor = ctx.build("casting.valley_thickness")
    unit = valley_unit_stress(
        ctx.build("layout.bank_angle"),
        floor,
        ctx.build("casting.bore_spacing"),
        ctx.model("web.valley.notch_factor"),
        ctx.model("web.valley.model_error"),
    )
    identity = Identity(
        id=f"web-valley-main-{main}",
        name="Lifter valley floor",
        part="bulkhead",
        place=place,
        source="statics of both banks; S-N of the block's iron",
        group=_GROUP,
        notes=(
            _SIDEWAYS,
            "a bank that fires alone bends the valley: not modelled yet, its spread stands for it",
        ),
    )
    most, least = largest(pull, unit, 0.0), smallest(pull, unit, 0.0)
    return _iron(ctx, build, identity, most, least, floor, None, False, {})


def saddle_dims(build: Build) -> CapDims:
    """The iron above the main bore as a half ring: saddle depth at the top, the cap's foot at the joint."""
    iron = catalogue.row("metal", str(build.choice("casting.material")))
    return CapDims(
        bore=build.si("casting.main_bore"),
        # beyond one bore of depth the ring's own stress no longer matters and its theory ends
        crown=min(build.si("casting.saddle_depth"), build.si("casting.main_bore")),
        foot_width=build.si("caps.foot_width"),
        span=build.si("caps.span"),
        length=build.si("casting.web_thickness"),
        modulus=iron.si("modulus"),
        poisson=iron.si("poisson"),
        film=catalogue.row("model", "cap.film_half_width").si("value"),
    )


def _saddle(ctx: Leaves, build: Build, main: int) -> Fatigue:
    place = f"main {main}"
    sizes = (
        ctx.build("casting.saddle_depth"),
        ctx.build("caps.span"),
        ctx.build("caps.foot_width"),
        ctx.build("casting.web_thickness"),
        ctx.model("cap.film_half_width"),
    )
    arch: Ring = ring(ctx, saddle_dims(build), place, sizes, "saddle")
    vertical, lateral = ctx.kernel("main_vertical", place), ctx.kernel("main_lateral", place)
    load, lean = cap_feet.load_size(vertical, lateral), cap_feet.load_lean_upwards(vertical, lateral)
    name = "stress at the top of the saddle"
    stress = cycle_range(arch.read(lean, load, name, arch.unit.stress[CROWN], "Pa/N", arch.factor("stress")))
    crush = arch.leaf("saddle stress per shell pressure", arch.unit.crush[CROWN], "Pa/Pa")
    rest = saddle_rest(crush, ctx.model("cap.crush_pressure"), arch.factor("crush"))
    factor = stress_factor(ctx.model("web.saddle.notch_factor"), ctx.model("web.saddle.model_error"))
    identity = Identity(
        id=f"saddle-main-{main}",
        name="Main saddle",
        part="bulkhead",
        place=place,
        source="half ring built in at the bolts; S-N of the block's iron",
        group=_GROUP,
        notes=("taken as a ring held only at the bolts: the bulkhead beside it helps", _SIDEWAYS),
    )
    most, least = largest(stress, factor, rest), smallest(stress, factor, rest)
    return _iron(ctx, build, identity, most, least, sizes[0], None, True, {})
