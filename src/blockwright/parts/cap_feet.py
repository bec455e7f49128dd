"""The feet of a main cap along the joint face: what they ask, what holds them, what slips.

Under load a cap closes: its feet pull inwards while the bearing load's lateral part
pushes both one way.  The trailing foot, where the two add, lets go first.  Friction
of the clamp holds it; beyond that it moves, until the cap has given up enough of its
closing force or a girdle, a tight register or a splayed fastener has taken it up.
Load arrays are (sample, point, cycle, angle), all else (sample, 1, 1, 1).
"""

from __future__ import annotations

import numpy as np

from ..trace import Array, Value, formula
from . import cap_kernels as kernels

_FRAME = "curved beam, docs/models/caps.md"


def flat(values: Array) -> Array:
    """Load array as (samples, steps)."""
    return np.ascontiguousarray(values.reshape(values.shape[0], -1))


def rows(values: Value, samples: int) -> Array:
    """What varies only by sample as (samples,); never to be written to, so that kernels meet one type."""
    given = np.asarray(values, dtype=float).reshape(-1)
    if given.size != samples or not given.flags.c_contiguous:
        given = np.ascontiguousarray(np.broadcast_to(given, (samples,)))
    given = given.view()
    given.flags.writeable = False
    return given


@formula(symbol="F", unit="N", equation="F = sqrt(V^2 + H^2)", source="definition", lasting=True)
def load_size(vertical: Array, lateral: Array) -> Array:
    """Bearing load on one main [N] from its parts into the cap and to the right [N]."""
    return np.sqrt(vertical * vertical + lateral * lateral)


@formula(
    symbol="u",
    unit="1",
    equation="u = sgn(H) |H|/(|V| + |H|) for V >= 0, sgn(H) (2 - |H|/(|V| + |H|)) for V < 0",
    source="definition; 0 into the cap, +-1 sideways, +-2 towards the block",
    lasting=True,
)
def load_lean(vertical: Array, lateral: Array) -> Array:
    """Where the bearing load points, as a number that grows with its angle [-]."""
    return kernels.lean(flat(vertical), flat(lateral)).reshape(vertical.shape)


@formula(
    symbol="u'",
    unit="1",
    equation="as u with V replaced by -V",
    source="definition; 0 towards the block, +-2 into the cap",
)
def load_lean_upwards(vertical: Array, lateral: Array) -> Array:
    """Where the bearing load points, counted from straight up into the saddle [-]."""
    return kernels.lean(flat(-vertical), flat(lateral)).reshape(vertical.shape)


@formula(
    symbol="g",
    unit="1",
    equation="g = prod (x_i/x_i0)^a_i over crown, span, foot width, length, film half width",
    source=f"{_FRAME}; exponents by central differences",
    valid="within about 15 % of the nominal dimensions",
)
def dimension_factor(
    crown: Array, span: Array, foot_width: Array, length: Array, film: Array, nominal: Array, exponents: Array
) -> Array:  # fmt: skip
    """Change of a unit solution with the cap's dimensions and the film's width [-].

    `nominal` and `exponents` have shape (5,), in the order of the dimensions [m, rad], [-].
    """
    out: Array = np.ones((1, 1, 1, 1))
    for value, base, power in zip((crown, span, foot_width, length, film), nominal, exponents, strict=True):
        out = out * (value / base) ** power
    return out


@formula(
    symbol="q",
    unit="N or Pa",
    equation="q = q_unit(u) F g",
    source=_FRAME,
    valid="film pressure as a cosine about the load",
)
def share_of_load(lean: Array, load: Array, knots: Array, factor: Value) -> Array:
    """A unit solution of the cap read at the load's lean, times the load.

    Parameters
    ----------
    lean, load : array, shape (n, P, Z, K)
        Direction [-] and size [N] of the bearing load.
    knots : array, shape (m,)
        The unit solution over lean -2 .. 2 [N/N or Pa/N].
    factor : array, shape (n, 1, 1, 1)
        `dimension_factor`, or 1 [-].
    """
    flat_lean = flat(lean)
    return kernels.read(flat_lean, flat(load), knots, rows(factor, flat_lean.shape[0])).reshape(lean.shape)


@formula(symbol="S_n", unit="N", equation="S_n = m (|C| + |H_c|/2)", source="statics of the cap")
def foot_demand(closing: Array, lateral: Array, error: Array) -> Array:
    """Force along the joint that must be found at the foot that lets go first [N].

    Parameters
    ----------
    closing : array, shape (n, P, Z, K)
        Inward pull of each foot, feet held [N].
    lateral : array, shape (n, P, Z, K)
        Lateral load on the cap; each foot carries half [N].
    error : array, shape (n, 1, 1, 1)
        Model error, mean 1 [-].
    """
    return error * (np.abs(closing) + 0.5 * np.abs(lateral))


@formula(symbol="S_t", unit="N", equation="S_t = m (C + |H_c|/2)", source="statics of the cap")
def trailing_demand(closing: Array, lateral: Array, error: Array) -> Array:
    """Force along the joint that must be found at the trailing foot, feet held [N].

    Arguments as `foot_demand`.  The leading foot leans on the register's shoulder; the trailing one has
    friction and ties alone.
    """
    shared = flat(closing)
    out = kernels.trailing(shared, flat(lateral), rows(error, shared.shape[0]))
    return out.reshape(closing.shape)


@formula(
    symbol="x_s",
    unit="m",
    equation="x_s = psi d/2",
    source="geometry: the journal lies at the loaded side, so the other side has all of the clearance",
)
def running_stop(clearance: Array, journal: Array) -> Array:
    """Inward movement of each foot, both moving, at which the bore has closed on the journal [m].

    `clearance` over the diameter [-], `journal` diameter [m].  One foot alone may move twice as far.
    """
    return 0.5 * clearance * journal


@formula(
    symbol="P_c",
    unit="N",
    equation="P_c = p_c r L",
    source="statics of a thin shell pressed into a half bore",
)
def crush_per_side(pressure: Array, bore: Array, length: Array) -> Array:
    """Share of the clamp of each side that the shells' parting faces carry [N].

    `pressure` of the pressed-in shells on the bore [Pa]; `bore` and `length` of the cap [m].
    """
    return 0.5 * pressure * bore * length


@formula(
    symbol="N_0",
    unit="N",
    equation="N_0 = max(F_K0/2 - P_c, 0)",
    source="statics",
)
def foot_clamp(clamp: Array, crush: Array) -> Array:
    """Clamp on one foot's joint face at rest [N], from the cap's clamp and the shells' share [N]."""
    return np.maximum(0.5 * clamp - crush, 0.0)


@formula(
    symbol="S_f",
    unit="N",
    equation="S_f = mu max(N_0 - (1 - Phi) L, 0)",
    source="Coulomb; two springs, VDI 2230-1 (from memory)",
)
def foot_friction(clamp: Array, lift: Array, load_factor: Array, friction: Array) -> Array:
    """Force along the joint that friction of one foot holds at each angle [N].

    `clamp` at rest and `lift` by the load on this foot [N]; `load_factor` Phi, `friction` mu [-].
    """
    out: Array = lift * (load_factor - 1.0)
    out += clamp
    np.maximum(out, 0.0, out=out)
    out *= friction
    return out


@formula(
    symbol="R",
    unit="N",
    equation="R = k_c min(x, x_s), x from"
    " (k_c + k_s) x + min(k_r x, F_r) + min(k_g x, max(F_g, k_g (x - a_g))) = S_t - S_f;"
    " 0 while that is below 0",
    source="statics with Coulomb friction; docs/models/caps.md",
    valid="steady slip; the register's shoulder stops the leading foot; no rocking of the feet",
)
def closing_released(
    needed: Array,
    friction: Array,
    stop: Array,
    frame: Array,
    splayed: Value,
    register: Value,
    register_most: Value,
    girdle: Value,
    girdle_grip: Value,
    girdle_gap: Value,
) -> Array:
    """Closing force that the feet let go because what holds them is spent [N].

    Parameters
    ----------
    needed, friction : array, shape (n, P, Z, K)
        `trailing_demand`, `foot_friction` of that foot [N].
    stop : array, shape (n, 1, 1, 1)
        `running_stop`: movement of each foot at which the shell bears on the journal [m].
    frame, splayed, register, girdle : array, shape (n, 1, 1, 1)
        Stiffness per foot of the cap, splayed fasteners, tight register, girdle [N/m].
    register_most, girdle_grip : array
        Squeeze of the register, friction that holds the girdle on the cap [N].
    girdle_gap : array
        Movement at which the girdle's holes bear on the studs [m].

    Notes
    -----
    What the trailing foot does not hold of the lateral load, the leading foot finds at the
    register's shoulder, which pushes it inwards: the mean of both feet's outward forces falls
    by S_t - S_f whether the leading foot stands by friction or by its shoulder.  So more than all
    of the closing force can go, and the cap is then pinched.  `frame` is that of both feet
    moving; with one moving, a register or a splayed fastener would help more: not credited.
    """
    flat_needed = flat(needed)
    n = flat_needed.shape[0]
    ties = (frame, splayed, register, register_most, girdle, girdle_grip, girdle_gap)
    out = kernels.released(flat_needed, flat(friction), rows(stop, n), *(rows(t, n) for t in ties))
    return out.reshape(needed.shape)


@formula(
    symbol="S_n,max",
    unit="N",
    equation="S_n,max = max over angle and duty of S_n + mu (1 - Phi) L",
    source="statics; the friction lost by lifting counted as demand",
)
def slip_demand(needed: Array, lift: Array, load_factor: Array, friction: Array) -> Array:
    """Largest force along the joint asked of one foot, with the friction that lifting takes [N]."""
    asked = needed + friction * (1.0 - load_factor) * np.maximum(lift, 0.0)
    return np.asarray(np.max(asked, axis=(1, 2, 3), keepdims=True))


@formula(
    symbol="S_a",
    unit="N",
    equation="S_a = mu N_0 + (k_c + k_s) x_a + min(k_r x_a, F_r) + min(k_g x_a, max(F_g, k_g (x_a - a_g)))",
    source="Coulomb and Hooke, at the slip that is still harmless",
)
def slip_capacity(
    clamp: Array,
    friction: Array,
    allowed: Array,
    frame: Array,
    splayed: Value,
    register: Value,
    register_most: Value,
    girdle: Value,
    girdle_grip: Value,
    girdle_gap: Value,
) -> Array:
    """Force along the joint at which one foot has moved by the allowed slip [N].

    `clamp` [N], `friction` [-], `allowed` slip [m]; the rest as in `closing_released`.
    """
    bearing = np.maximum(girdle_grip, girdle * (allowed - girdle_gap))
    ties = (frame + splayed) * allowed + np.minimum(register * allowed, register_most)
    return np.asarray(friction * clamp + ties + np.minimum(girdle * allowed, bearing))
