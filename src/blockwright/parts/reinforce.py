"""What ties the feet of a main cap beside friction: register, girdle, splayed fasteners.

Each is a stiffness (and the force or gap at which it ends) computed from dimensions
and fit.  None of them raises the web, the saddle or the bolt hole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..joints import clamp
from ..trace import Array, Value, formula
from .cases import Leaves

if TYPE_CHECKING:
    from ..build.model import Build


@dataclass(frozen=True)
class Ties:
    """Ties of one foot; 0.0 where there is none.

    Attributes
    ----------
    splayed, register, girdle : Value
        Stiffness against the foot's movement along the joint [N/m].
    register_squeeze, girdle_grip : Value
        Force at which the register lets go, and the girdle slips on the cap [N].
    girdle_gap : Value
        Movement at which the girdle's holes bear on the studs [m].
    """

    splayed: Value = 0.0
    register: Value = 0.0
    register_squeeze: Value = 0.0
    girdle: Value = 0.0
    girdle_grip: Value = 0.0
    girdle_gap: Value = 0.0

    def in_order(self) -> tuple[Value, ...]:
        """As `cap_feet.closing_released` takes them."""
        return (
            self.splayed,
            self.register,
            self.register_squeeze,
            self.girdle,
            self.girdle_grip,
            self.girdle_gap,
        )


@formula(
    symbol="k_r",
    unit="N/m",
    equation="1/k_r = (1 - nu^2)/(E_c a) + (1 - nu^2)/(E_b a) + 1/(k_j h L), a = sqrt(h L/pi)",
    source="punch on a half space, halved at an edge (Timoshenko & Goodier, from memory); joint layer k_j",
    valid="register face small against the foot and the block's wall",
)
def register_stiffness(
    depth: Array,
    length: Array,
    cap_modulus: Array,
    block_modulus: Array,
    poisson: Array,
    layer: Array,
    fit: Array,
) -> Array:
    """Stiffness of one register face against a foot's movement; none without interference [N/m].

    Parameters
    ----------
    depth, length : array
        Height of the face and its length along the crank [m].
    cap_modulus, block_modulus, poisson : array
        [Pa], [-].
    layer : array
        Contact stiffness of the machined faces [Pa/m].
    fit : array
        Interference over both sides [m].
    """
    area = np.maximum(depth * length, 1e-12)
    radius = np.sqrt(area / np.pi)
    # A punch on a half space: k = 2 E a/(1 - nu^2); at the edge of a wall half of it is missing.
    body = (1.0 - poisson**2) * (1.0 / cap_modulus + 1.0 / block_modulus) / radius
    return np.where((fit > 0.0) & (depth > 0.0), 1.0 / (body + 1.0 / (layer * area)), 0.0)


@formula(
    symbol="F_r",
    unit="N",
    equation="F_r = (max(delta, 0)/2) k_r k_c/(k_r + k_c)",
    source="statics of two springs pressed against one another",
    valid="pressed in before the fasteners are tightened",
)
def register_squeeze(fit: Array, register: Array, frame: Array) -> Array:
    """Force with which each register face squeezes its foot [N].

    `fit`: interference over both sides, a clearance gives none [m]; `register`, `frame`:
    stiffness of the face and of the cap, per foot [N/m].
    """
    return 0.5 * np.maximum(fit, 0.0) * register * frame / (register + frame)


@formula(
    symbol="k_g",
    unit="N/m",
    equation="1/k_g = s/(2 E_g A_g) + a^3/(3 E_c I) + 1.2 a/(G A), a = r + h + t/2",
    source="statics: a tie between both feet in line with a leg bent as a cantilever with shear",
    valid="the plate lies on the caps' outer face; its rails' link to the block is not counted",
)
def girdle_stiffness(
    thickness: Array,
    width: Array,
    girdle_modulus: Array,
    span: Array,
    bore: Array,
    crown: Array,
    foot_width: Array,
    length: Array,
    cap_modulus: Array,
    poisson: Array,
) -> Array:
    """Stiffness of a girdle against one foot's movement along the joint [N/m].

    Dimensions in m, moduli in Pa: plate (`thickness`, `width` along the crank), cap.
    """
    arm = 0.5 * bore + crown + 0.5 * thickness
    area = foot_width * length
    inertia = length * foot_width**3 / 12.0
    shear_modulus = cap_modulus / (2.0 * (1.0 + poisson))
    plate = span / (2.0 * girdle_modulus * thickness * width)
    leg = arm**3 / (3.0 * cap_modulus * inertia) + 1.2 * arm / (shear_modulus * area)
    return 1.0 / (plate + leg)


@formula(symbol="F_g", unit="N", equation="F_g = mu F_V", source="Coulomb, one face between girdle and cap")
def girdle_grip(preload: Array, friction: Array) -> Array:
    """Friction with which a stud holds the girdle on its cap [N], from preload [N] and friction [-]."""
    return preload * friction


@formula(
    symbol="a_g",
    unit="m",
    equation="a_g = max(c, 0)/2",
    source="geometry; clearance on the diameter",
)
def girdle_gap(fit: Array) -> Array:
    """Movement at which the girdle's holes bear on the studs [m]; pulled tight bears at once."""
    return 0.5 * np.maximum(fit, 0.0)


@formula(
    symbol="k_s",
    unit="N/m",
    equation="k_s = sin^2(beta)/d_S",
    source="statics of one leaning elastic tie",
    valid="fastener stays tight",
)
def splayed_stiffness(compliance: Array, splay: Array) -> Array:
    """Stiffness of a splayed fastener against its foot's movement along the joint [N/m].

    `compliance` of the fastener [m/N], `splay` from the normal [rad].
    """
    return np.sin(splay) ** 2 / compliance


def ties(ctx: Leaves, build: Build, main: int, frame: Value, friction: Value) -> Ties:
    """Ties of one foot of a main, from what the build says is fitted.

    Parameters
    ----------
    main : int
        Counted from 1 at the front.
    frame : Value
        Stiffness of the cap per foot [N/m].
    friction : Value
        Coefficient at the feet and under the girdle [-].
    """
    caps = str(build.choice("caps.material"))
    cap_modulus = ctx.catalogue("metal", caps, "modulus")
    poisson = ctx.catalogue("metal", caps, "poisson")
    length = ctx.build("caps.length")
    fit = ctx.build("caps.register_fit")
    register = register_stiffness(
        ctx.build("caps.register_depth"),
        length,
        cap_modulus,
        ctx.catalogue("metal", str(build.choice("casting.material")), "modulus"),
        poisson,
        ctx.model("cap.register_layer"),
        fit,
    )
    squeeze = register_squeeze(fit, register, frame)
    splayed: Value = 0.0
    if build.choice("caps.pattern") == "four-bolt-splayed" and clamp.is_four_bolt(build, main):
        compliance = clamp.fastener_compliance(ctx, build, "outer_fasteners")
        splayed = splayed_stiffness(compliance, ctx.build("caps.splay"))
    if not build.has("girdle.thickness"):
        return Ties(splayed, register, squeeze)
    plate = girdle_stiffness(
        ctx.build("girdle.thickness"),
        ctx.build("girdle.width"),
        ctx.catalogue("metal", str(build.choice("girdle.material")), "modulus"),
        ctx.build("caps.span"),
        ctx.build("casting.main_bore"),
        ctx.build("caps.crown"),
        ctx.build("caps.foot_width"),
        length,
        cap_modulus,
        poisson,
    )
    grip = girdle_grip(clamp.fastener_preload(ctx, build, "main_fasteners"), friction)
    return Ties(splayed, register, squeeze, plate, grip, girdle_gap(ctx.build("girdle.fit")))
