"""Main caps: fatigue of the crown and slip of the feet, main by main."""

from __future__ import annotations

import functools
import hashlib
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from ..crank.from_build import layout_of
from ..joints import clamp
from ..trace import Array, Value, formula
from . import cap_feet, cap_frame, cap_kernels, reinforce, strength
from .cap_frame import CapDims, Influence, Sensitivity
from .cases import Fatigue, Identity, Leaves, SingleEvent

if TYPE_CHECKING:
    from ..build.model import Build

_GROUP = "mains"
_EQUATION = "half ring of varying depth, Castigliano with Winkler's curved bar, docs/models/caps.md"
_NOTES = (
    "quasi-static: rocking and resonance of the cap are not modelled yet",
    "film pressure taken as a cosine about the load; it does not lean with the journal's turning",
    "feet on elastic iron, joint closed; the bolt bosses' own depth is not in the ring",
)


@formula(symbol="G_n", unit="1/m", equation="G_n = 2/rho", source="FKM guideline 2012 (from memory)")
def notch_gradient(radius: Array) -> Array:
    """Related stress gradient at a notch [1/m], from its radius [m]."""
    return 2.0 / radius


@formula(symbol="f", unit="1", equation="f = K_f m", source="definition")
def stress_factor(notch: Array, error: Array) -> Array:
    """Factor on the ring's stress under load: notch factor times model error [-]."""
    return notch * error


@formula(
    symbol="sigma_0",
    unit="Pa",
    equation="sigma_0 = K_f (c p_c g_c + q F_r g_q)",
    source=_EQUATION,
)
def rest_stress(
    crush: Array,
    pressure: Array,
    crush_factor: Array,
    release: Array,
    squeeze: Value,
    release_factor: Array,
    notch: Array,
) -> Array:
    """Outer-fibre stress while the engine stands: pressed-in shells and register.

    Parameters
    ----------
    crush, release : array, shape (stations,)
        Stress per unit of shell pressure [Pa/Pa] and of inward force on the feet [Pa/N].
    pressure : array, shape (n, 1, 1, 1)
        Of the shells on the bore [Pa].
    squeeze : array
        Of the register on each foot [N].
    crush_factor, release_factor, notch : array
        `cap_feet.dimension_factor` of both, and the notch factor [-].

    Returns
    -------
    array, shape (n, 1, 1, stations)
        Tension positive [Pa].
    """
    shells = crush * pressure * crush_factor
    return np.asarray(notch * (shells + release * squeeze * release_factor))


@formula(
    symbol="(sigma_max, sigma_min, sigma_held, sigma_slip)",
    unit="Pa",
    equation="sigma = f (a(u) F g + q g_q R) + sigma_0 at the crown and 25 degrees to each side;"
    " max and min over the cycle where sigma_a + sigma_m/2 is largest",
    source=_EQUATION,
)
def crown_cycle(
    lean: Array,
    load: Array,
    knots: Array,
    stress_factor: Array,
    let_go: Array,
    release: Array,
    release_factor: Array,
    factor: Array,
    rest: Array,
) -> Array:
    """Stress of each cycle at the cap's outer face, where it bears most.

    Parameters
    ----------
    lean, load : array, shape (n, P, Z, K)
        Direction [-] and size [N] of the bearing load.
    knots : array, shape (3, m)
        Outer-fibre stress per unit of load, feet held, 25 degrees left, at and right of the
        crown, over lean -2 .. 2 [Pa/N].
    let_go : array, shape (n, P, Z, K)
        Closing force released [N].
    release : array, shape (3,)
        Stress per unit released at the three stations [Pa/N].
    stress_factor, release_factor, factor : array, shape (n, 1, 1, 1)
        `cap_feet.dimension_factor` of both; notch factor times model error [-].
    rest : array, shape (n, 1, 1, 3)
        Stress at rest [Pa].

    Returns
    -------
    array, shape (n, P, Z, 4)
        Largest, smallest; of the largest what bending with feet held and slip make [Pa].
    """
    n, points, nodes, angles = lean.shape
    per_station = release[:, None] * cap_feet.rows(release_factor, n)[None, :]
    static = np.broadcast_to(rest.reshape(-1, release.size), (n, release.size)).T
    out = cap_kernels.extremes(
        cap_feet.flat(lean),
        cap_feet.flat(load),
        knots,
        cap_feet.rows(stress_factor, n),
        cap_feet.flat(let_go),
        np.ascontiguousarray(per_station),
        cap_feet.rows(factor, n),
        np.ascontiguousarray(static),
        angles,
    )
    return out.reshape(n, points, nodes, 4)


@formula(symbol="sigma_max", unit="Pa", equation="sigma_max of the cycle", source="definition")
def largest(cycle: Array) -> Array:
    """Largest stress of each cycle, shape (n, P, Z, 1) [Pa], from `crown_cycle`."""
    return np.asarray(cycle[..., 0:1])


@formula(symbol="sigma_min", unit="Pa", equation="sigma_min of the cycle", source="definition")
def smallest(cycle: Array) -> Array:
    """Smallest stress of each cycle, shape (n, P, Z, 1) [Pa], from `crown_cycle`."""
    return np.asarray(cycle[..., 1:2])


@formula(
    symbol="sigma_i",
    unit="Pa",
    equation="share of one cause in the largest sigma_max over the duty",
    source="definition",
)
def share(cycle: Array, cause: str) -> Array:
    """What one cause makes of the largest stress of the duty, shape (n, 1, 1, 1) [Pa].

    `cause` is ``"held"``, ``"slip"`` or ``"rest"``; the three add up to the largest stress.
    """
    n = cycle.shape[0]
    each = cycle.reshape(n, -1, 4)
    at = np.argmax(each[:, :, 0], axis=1)
    most, _, held, slip = each[np.arange(n), at].T
    return np.asarray({"held": held, "slip": slip, "rest": most - held - slip}[cause]).reshape(n, 1, 1, 1)


@formula(
    symbol="K_f",
    unit="1",
    equation="K_f = max(K_t S_plain/S_notch, 1)",
    source="definition of the fatigue notch factor; FKM guideline 2012, K_f = K_t/n",
)
def fatigue_notch(notched: Array, plain: Array, notch: Array) -> Array:
    """How much of a notch the metal feels [-]; a notch never makes a place stronger.

    `notched`: local fatigue limit with the support of the notch's gradient, `plain` without a
    notch [Pa]; `notch`: K_t [-].  It raises mean and amplitude alike: a notch too blunt to be felt by
    one is not felt by the other.
    """
    return np.maximum(notch * plain / notched, 1.0)


@formula(symbol="k_c", unit="N/m", equation="k_c = k_0 g (E/E_0)", source=_EQUATION)
def frame_stiffness(unit: Array, factor: Array, modulus: Array, nominal: Array) -> Array:
    """Closing force that each foot loses per metre it moves [N/m].

    `unit` of the nominal cap [N/m], `factor` of its dimensions [-], moduli [Pa].
    """
    return unit * factor * modulus / nominal


def main_count(build: Build) -> int:
    """Main bearings of the build."""
    return len(layout_of(build).mains)


def dims_of(build: Build) -> CapDims:
    """The nominal cap of a build."""
    iron = catalogue.row("metal", str(build.choice("caps.material")))
    return CapDims(
        bore=build.si("casting.main_bore"),
        crown=build.si("caps.crown"),
        foot_width=build.si("caps.foot_width"),
        span=build.si("caps.span"),
        length=build.si("caps.length"),
        modulus=iron.si("modulus"),
        poisson=iron.si("poisson"),
        film=catalogue.row("model", "cap.film_half_width").si("value"),
        foot_tilt=catalogue.row("model", "cap.foot_tilt").si("value"),
        foot_give=catalogue.row("model", "cap.foot_give").si("value"),
    )


@functools.lru_cache(maxsize=16)
def solved(dims: CapDims) -> tuple[Influence, Sensitivity, str]:
    """Unit solutions of a cap, their exponents and the key under which they are cited."""
    key = hashlib.sha256(repr(astuple(dims)).encode()).hexdigest()[:16]
    return cap_frame.influence(dims), cap_frame.sensitivity(dims), key


@dataclass(frozen=True)
class Ring:
    """The unit solutions of one ring as leaves, scaled to the sampled dimensions."""

    ctx: Leaves
    place: str
    unit: Influence
    slopes: Sensitivity
    key: str
    nominal: Value
    sizes: tuple[Value, Value, Value, Value, Value]

    def leaf(self, name: str, value: Array | float, unit: str) -> Value:
        """One unit solution."""
        return self.ctx.constant(name, self.place, np.asarray(value, dtype=float), unit, _EQUATION, self.key)

    def factor(self, name: str) -> Value:
        """How the sampled dimensions change a unit solution."""
        exponents = self.leaf(f"{name}: exponents", getattr(self.slopes, name), "1")
        return cap_feet.dimension_factor(*self.sizes, self.nominal, exponents)

    def read(
        self, lean: Value, load: Value, name: str, knots: Array, unit: str, factor: Value = 1.0
    ) -> Value:
        """A unit solution at the lean of each load, times the load."""
        return cap_feet.share_of_load(lean, load, self.leaf(name, knots, unit), factor)


def ring(
    ctx: Leaves, dims: CapDims, place: str, sizes: tuple[Value, Value, Value, Value, Value], part: str
) -> Ring:
    """Leaves of the half ring of a cap or a saddle.

    `sizes` are the sampled crown, span, foot width, length [m] and film half width [rad]; `part`
    names the ring.
    """
    unit, slopes, key = solved(dims)
    base = np.array([getattr(dims, name) for name in cap_frame.SCALED_BY])
    nominal = ctx.constant(f"{part} nominal dimensions", place, base, "m, rad", "build file", key)
    return Ring(ctx, place, unit, slopes, key, nominal, sizes)


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """Crown fatigue and foot slip of every main cap."""
    found: list[Fatigue | SingleEvent] = []
    for main in range(1, main_count(build) + 1):
        found += _limits_of(ctx, build, main)
    return found


def _limits_of(ctx: Leaves, build: Build, main: int) -> list[Fatigue | SingleEvent]:
    place = f"main {main}"
    sizes = (
        ctx.build("caps.crown"),
        ctx.build("caps.span"),
        ctx.build("caps.foot_width"),
        ctx.build("caps.length"),
        ctx.model("cap.film_half_width"),
    )
    cap = ring(ctx, dims_of(build), place, sizes, "cap")
    material = str(build.choice("caps.material"))
    frame = frame_stiffness(
        cap.leaf("cap stiffness per foot", cap.unit.foot_stiffness, "N/m"),
        cap.factor("foot_stiffness"),
        ctx.catalogue("metal", material, "modulus"),
        cap.leaf("cap nominal modulus", dims_of(build).modulus, "Pa"),
    )
    friction = ctx.model("cap.foot_friction")
    tied = reinforce.ties(ctx, build, main, frame, friction).in_order()
    pressure = ctx.model("cap.crush_pressure")
    per_side = cap_feet.crush_per_side(pressure, ctx.build("casting.main_bore"), sizes[3])
    gripped = cap_feet.foot_clamp(clamp.cap_clamp(ctx, build, main), per_side)
    feet = _Feet(cap, friction, gripped, clamp.load_factor(ctx, build, "main_fasteners"), frame, tied)
    return [
        _crown(ctx, build, main, feet, pressure),
        _slip(ctx, main, feet),
    ]


@dataclass(frozen=True)
class _Feet:
    cap: Ring
    friction: Value
    clamp: Value
    load_factor: Value
    frame: Value
    ties: tuple[Value, ...]

    def _along(self, lean: Value, load: Value) -> tuple[Value, Value]:
        """Closing force and the cap's share of the lateral load."""
        cap, unit = self.cap, self.cap.unit
        closing = cap.read(lean, load, "closing force", unit.closing, "N/N", cap.factor("closing"))
        return closing, cap.read(lean, load, "lateral share", unit.lateral, "N/N")

    def asked(self, lean: Value, load: Value, error: Value) -> tuple[Value, Value]:
        """Force needed at the foot that lets go first, and its lift."""
        needed = cap_feet.foot_demand(*self._along(lean, load), error)
        return needed, self.cap.read(lean, load, "lift of the foot", self.cap.unit.lift, "N/N")

    def trailing(self, lean: Value, load: Value, error: Value) -> tuple[Value, Value]:
        """Force needed at the trailing foot, and its lift."""
        needed = cap_feet.trailing_demand(*self._along(lean, load), error)
        lift = self.cap.unit.trailing_lift
        return needed, self.cap.read(lean, load, "lift of the trailing foot", lift, "N/N")


def _crown(ctx: Leaves, build: Build, main: int, feet: _Feet, pressure: Value) -> Fatigue:
    place, cap = f"main {main}", feet.cap
    vertical, lateral = ctx.kernel("main_vertical", place), ctx.kernel("main_lateral", place)
    load, lean = cap_feet.load_size(vertical, lateral), cap_feet.load_lean(vertical, lateral)
    needed, lift = feet.trailing(lean, load, ctx.model("cap.slip.model_error"))
    holds = cap_feet.foot_friction(feet.clamp, lift, feet.load_factor, feet.friction)
    stop = cap_feet.running_stop(ctx.model("cap.running_clearance"), ctx.build("crank.main_journal"))
    let_go = cap_feet.closing_released(needed, holds, stop, feet.frame, *feet.ties)

    held = cap.leaf("outer-fibre stress per load, feet held", cap.unit.stress, "Pa/N")
    release = cap.leaf("stress per closing force released", cap.unit.release, "Pa/N")
    release_factor = cap.factor("release")
    crown = ctx.build("caps.crown")
    skin = build.choice("caps.surface") == "as-cast"
    plain, notched = (
        strength.fatigue_strength(
            ctx, build, "caps", thickness=crown, gradient=gradient, skin=skin, loading="bending"
        )
        for gradient in (None, notch_gradient(ctx.build("caps.notch_radius")))
    )
    notch = fatigue_notch(notched, plain, ctx.model("cap.notch_factor"))
    squeeze = feet.ties[2]
    crush = cap.leaf("stress per shell pressure", cap.unit.crush, "Pa/Pa")
    rest = rest_stress(crush, pressure, cap.factor("crush"), release, squeeze, release_factor, notch)
    factor = stress_factor(notch, ctx.model("cap.crown.model_error"))
    cycle = crown_cycle(lean, load, held, cap.factor("stress"), let_go, release, release_factor, factor, rest)

    iron = str(build.choice("caps.material"))
    return Fatigue(
        identity=Identity(
            id=f"cap-crown-main-{main}",
            name="Cap crown fatigue",
            part="main cap",
            place=place,
            source="curved-beam cap with slipping feet; S-N of the cap's metal",
            group=_GROUP,
            notes=_NOTES,
        ),
        stress_max=largest(cycle),
        stress_min=smallest(cycle),
        strength=plain,
        tensile=strength.static_strength(ctx, build, "caps", crown),
        slope=ctx.catalogue("metal", iron, "slope"),
        knee=ctx.catalogue("metal", iron, "knee"),
        mean_rule=catalogue.row("metal", iron).text("mean_rule"),
        split={
            "direct bending, feet held": share(cycle, "held"),
            "slip of the feet": share(cycle, "slip"),
            "shells and register at rest": share(cycle, "rest"),
        },
    )


def _slip(ctx: Leaves, main: int, feet: _Feet) -> SingleEvent:
    place = f"main {main}"
    vertical = ctx.kernel("main_vertical_extreme", place)
    lateral = ctx.kernel("main_lateral_extreme", place)
    load, lean = cap_feet.load_size(vertical, lateral), cap_feet.load_lean(vertical, lateral)
    needed, lift = feet.asked(lean, load, ctx.model("cap.slip.model_error"))
    return SingleEvent(
        identity=Identity(
            id=f"cap-slip-main-{main}",
            name="Cap foot slip",
            part="main cap",
            place=place,
            source="statics of the cap with Coulomb friction, register, girdle and splay",
            group=_GROUP,
            notes=(
                "serviceability: the engine runs on, but the feet fret and the crown bends more",
                *_NOTES[:2],
            ),
        ),
        unit="N",
        demand=cap_feet.slip_demand(needed, lift, feet.load_factor, feet.friction),
        capacity=cap_feet.slip_capacity(
            feet.clamp, feet.friction, ctx.model("cap.slip_allowed"), feet.frame, *feet.ties
        ),
        breaks=False,
    )
