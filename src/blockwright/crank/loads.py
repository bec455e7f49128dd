r"""Forces in the crank train against crank angle, and the load on every main bearing.

Rod as two masses: the small-end share moves with the piston, the big-end share with the
crankpin.  The crank turns at constant speed, joints are frictionless, the shaft is
hinged at every main, so that each throw hangs between its own two mains only (statics).

On one piston, with gauge pressure p on the bore area A and the motion x of
`kinematics` (down positive, derivatives by crank angle):

.. math::

   F = p A - m\,x''\,\omega^2,\qquad S = F/\cos\varphi,\qquad N = F\tan\varphi,\qquad T = F\,x'

S is the force along the rod (compression positive), N the side force on the wall
(positive on the major thrust side), T the torque.  On the crankpin the rod leaves
:math:`F(-u+\tan\varphi\,t)` plus :math:`m_\mathrm{rot} r\omega^2` outwards.

Every load is linear in the pressures and in speed squared; `influence` gives it as such.

The two-mass rod leaves out the difference between the rod's real moment of inertia and
that of the two masses, typically a few per cent of the side force from inertia.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from .kinematics import Array, check_geometry, motion
from .layout import Layout

#: Crank angles in one cycle of two turns, one a degree.
POINTS = 720
_ANGLE: Array = 2.0 * np.pi * np.arange(POINTS, dtype=np.float64) / 360.0


@dataclass(frozen=True)
class LoadModel:
    """What the loads depend on beside pressure and speed.  SI.

    Attributes
    ----------
    layout : Layout
    radius, rod_length, pin_offset : float
        Throw, rod between centres, piston pin offset towards the major thrust side [m].
    piston_area : float
        Area of the bore [m2].
    recip_mass, rot_mass : float
        Piston, rings, pin and small end; big end with bolts and bearing: of one cylinder [kg].
    throw_moment : float
        Unbalanced moment of crankpin and webs of one throw, without counterweights [kg m].
    balance : float
        Share of the reciprocating mass that the counterweights answer for.
    counterweight : str
        ``"full"``: two on every throw, opposite its pin.  ``"none"``: only weights at the
        two end mains, as large as bring the rotating force and couple to zero.
    """

    layout: Layout
    radius: float
    rod_length: float
    pin_offset: float
    piston_area: float
    recip_mass: float
    rot_mass: float
    throw_moment: float
    balance: float
    counterweight: str

    def __post_init__(self) -> None:
        check_geometry(self.radius, self.rod_length, self.pin_offset)
        if self.counterweight not in ("full", "none"):
            raise InputError(f'counterweight is "{self.counterweight}"; it must be "full" or "none"')
        masses = [self.piston_area, self.recip_mass, self.rot_mass, self.throw_moment, self.balance]
        if not np.isfinite(masses).all() or min(masses) < 0.0:
            raise InputError("areas, masses, throw moment and balance must be finite and not negative")

    @property
    def cw_moment(self) -> float:
        r"""Moment of the counterweights of one throw [kg m].

        .. math:: U = U_\mathrm{throw} + z\,r\,(m_\mathrm{rot} + b\,m_\mathrm{recip})\cos(\sigma/2)

        with z rods a throw and split angle :math:`\sigma` (two halves pull along their middle).
        """
        rods = self.layout.rods_per_throw
        lever = rods * self.radius * float(np.cos(0.5 * self.layout.split))
        return self.throw_moment + lever * (self.rot_mass + self.balance * self.recip_mass)


@dataclass(frozen=True)
class Loads:
    """Loads of one cycle at one speed.  N and N m; crank angle 0 is cylinder 1 firing.

    Attributes
    ----------
    vertical, lateral : ndarray, shape (mains, 720)
        On each main bearing: vertical positive away from the block (into the cap), lateral
        positive towards bank B.
    pin : ndarray, shape (cylinders, 2, 720)
        What each rod, its big-end mass included, puts on its crankpin: towards bank B, and up.
    side_thrust, rod_force : ndarray, shape (cylinders, 720)
        On the wall (positive: major thrust side) and along the rod shank (compression
        positive), each against *its own* cylinder's angle, 0 at its firing dead centre.
    torque : ndarray, shape (720,)
        Of all cylinders on the crank, inertia included.
    """

    vertical: Array
    lateral: Array
    pin: Array
    side_thrust: Array
    rod_force: Array
    torque: Array


@dataclass(frozen=True)
class Influence:
    r"""Main loads as a linear form.

    .. math::

       L_{j}(a) = \sum_c g_{jac}\,p_c(a-\alpha_c)
         + \omega^2\,(m_\mathrm{recip} R_{ja} + m_\mathrm{rot} O_{ja} + U_\mathrm{throw} K_{ja}
         + U_\mathrm{cw} W_{ja})

    with gauge pressure p of cylinder c at its own angle; ``_v`` vertical (into the cap),
    ``_h`` lateral (towards bank B).

    Attributes
    ----------
    angle : ndarray, shape (720,)
        Crank angle [rad].
    firing : ndarray, shape (cylinders,)
        Firing angles after cylinder 1 [rad].
    gas_v, gas_h : ndarray, shape (mains, 720, cylinders)
        Per gauge pressure [m2].
    recip_v, recip_h, rot_v, rot_h : ndarray, shape (mains, 720)
        Per mass of one cylinder and speed squared [m].
    crank_v, crank_h, cw_v, cw_h : ndarray, shape (mains, 720)
        Per moment of one throw and speed squared: pin and webs; counterweights [1].
    """

    angle: Array
    firing: Array
    gas_v: Array
    gas_h: Array
    recip_v: Array
    recip_h: Array
    rot_v: Array
    rot_h: Array
    crank_v: Array
    crank_h: Array
    cw_v: Array
    cw_h: Array


@dataclass(frozen=True)
class OneCylinder:
    """Side thrust, rod force and torque of a cylinder as linear forms on its own angle.

    Each load is ``gas * p + speed**2 * mass * recip``, shape (720,): thrust and rod force
    [m2, m], torque [m3, m2].
    """

    side_gas: Array
    side_recip: Array
    rod_gas: Array
    rod_recip: Array
    torque_gas: Array
    torque_recip: Array


def _axes(layout: Layout) -> tuple[Array, Array]:
    """Unit vectors (x, y) of every cylinder: up its axis, and the way its crankpin moves at the top."""
    axis = np.asarray(layout.axis)
    up = np.stack([np.sin(axis), np.cos(axis)], axis=1)
    across = layout.lead * np.stack([np.cos(axis), -np.sin(axis)], axis=1)
    return up, across


def _unit_pin_loads(model: LoadModel) -> tuple[Array, Array, Array]:
    """Crankpin load per unit of F = pA, of reciprocating and of big-end mass; (cylinders, 2, 720)."""
    up, across = _axes(model.layout)
    own = _ANGLE[None, :] - np.asarray(model.layout.tdc)[:, None]
    m = motion(own, model.radius, model.rod_length, model.pin_offset)
    force = -up[:, :, None] + np.tan(m.rod_angle)[:, None, :] * across[:, :, None]
    recip = -m.acceleration[:, None, :] * force
    outward = np.cos(own)[:, None, :] * up[:, :, None] + np.sin(own)[:, None, :] * across[:, :, None]
    return force, recip, model.radius * outward


def _throw_directions(model: LoadModel) -> Array:
    """Unit vector (x, y) of every throw against crank angle, shape (throws, 2, 720)."""
    layout = model.layout
    angle = np.asarray(layout.throw_pin)[:, None] + layout.lead * _ANGLE[None, :]
    return np.stack([np.sin(angle), np.cos(angle)], axis=1)


def rod_shares(layout: Layout) -> Array:
    """Share of each rod's load that each main carries, shape (mains, cylinders): lever rule in the bay."""
    mains = np.asarray(layout.mains)
    shares = np.zeros((mains.size, layout.cylinders))
    for cylinder, (throw, station) in enumerate(zip(layout.throw, layout.station, strict=True)):
        rear = (station - mains[throw]) / (mains[throw + 1] - mains[throw])
        if not 0.0 < rear < 1.0:
            raise InputError(
                f"the rod of cylinder {cylinder + 1} lies outside the bay between its two mains; "
                "the bank offset must be less than the spacing of the mains"
            )
        shares[throw, cylinder], shares[throw + 1, cylinder] = 1.0 - rear, rear
    return shares


def throw_shares(layout: Layout) -> Array:
    """Share of each throw's own unbalance at each main, shape (mains, throws): half and half."""
    eye = np.eye(layout.throws)
    empty = np.zeros((1, layout.throws))
    shares: Array = 0.5 * (np.concatenate([eye, empty]) + np.concatenate([empty, eye]))
    return shares


def end_weight_shares(layout: Layout) -> tuple[Array, Array]:
    """Two end weights that cancel the force and couple of equal throws.

    Returns
    -------
    (front, rear) : each ndarray, shape (2,)
        Along and across (in the sense towards bank B) the direction of throw 1, per moment of one throw.
    """
    mains = np.asarray(layout.mains)
    middle = 0.5 * (mains[:-1] + mains[1:])
    angle = np.asarray(layout.throw_pin) - layout.throw_pin[0]
    vectors = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rear = -(middle / mains[-1]) @ vectors
    front = -vectors.sum(axis=0) - rear
    return front, rear


def _counterweights(model: LoadModel, throws: Array) -> Array:
    """Load on every main per counterweight moment of one throw, shape (mains, 2, 720)."""
    layout = model.layout
    if model.counterweight == "full":
        opposite: Array = -np.einsum("jt,tka->jka", throw_shares(layout), throws)
        return opposite
    along = throws[0]
    # Turning a direction (sin a, cos a) on by a quarter towards bank B gives (cos a, -sin a).
    across = np.stack([along[1], -along[0]])
    front, rear = end_weight_shares(layout)
    load = np.zeros((len(layout.mains), 2, POINTS))
    load[0] = front[0] * along + front[1] * across
    load[-1] += rear[0] * along + rear[1] * across
    return load


def at_crank_angle(trace: Array, firing: float) -> Array:
    """A trace on its cylinder's own angle, shape (..., 720), read on the crank's angle: a(x - firing).

    Linear between whole degrees, so it never overshoots and keeps the mean.
    """
    shift = float(np.degrees(firing))
    whole = int(np.floor(shift + 1e-9))
    part = max(shift - whole, 0.0)
    rolled = np.roll(trace, whole, axis=-1)
    if part < 1e-7:
        return rolled
    return (1.0 - part) * rolled + part * np.roll(rolled, 1, axis=-1)


def one_cylinder(model: LoadModel) -> OneCylinder:
    """Side thrust, rod force and torque of one cylinder per pressure and mass, on its own angle."""
    m = motion(_ANGLE, model.radius, model.rod_length, model.pin_offset)
    tangent, cosine, area = np.tan(m.rod_angle), np.cos(m.rod_angle), model.piston_area
    return OneCylinder(
        side_gas=area * tangent,
        side_recip=-m.acceleration * tangent,
        rod_gas=area / cosine,
        rod_recip=-m.acceleration / cosine,
        torque_gas=area * m.speed,
        torque_recip=-m.acceleration * m.speed,
    )


def influence(model: LoadModel) -> Influence:
    """The main loads as a linear form in pressures, masses and moments."""
    layout = model.layout
    force, recip, rot = _unit_pin_loads(model)
    throws = _throw_directions(model)
    rods = rod_shares(layout)
    gas = model.piston_area * np.einsum("jc,cka->jkac", rods, force)
    on_mains = {
        "recip": np.einsum("jc,cka->jka", rods, recip),
        "rot": np.einsum("jc,cka->jka", rods, rot),
        "crank": np.einsum("jt,tka->jka", throw_shares(layout), throws),
        "cw": _counterweights(model, throws),
    }
    vertical = {f"{name}_v": -load[:, 1] for name, load in on_mains.items()}
    lateral = {f"{name}_h": np.ascontiguousarray(load[:, 0]) for name, load in on_mains.items()}
    return Influence(
        angle=_ANGLE.copy(),
        firing=np.asarray(layout.firing),
        gas_v=-gas[:, 1],
        gas_h=np.ascontiguousarray(gas[:, 0]),
        **vertical,
        **lateral,
    )


def main_loads(model: LoadModel, pressure: Array, speed: float) -> Loads:
    """Loads on every main, crankpin and wall in one cycle.

    Parameters
    ----------
    model : LoadModel
    pressure : ndarray, shape (cylinders, 720)
        Gauge pressure of each cylinder on its own angle, 0 at its firing dead centre [Pa].
    speed : float
        Crank speed [rad/s].

    Returns
    -------
    Loads
    """
    layout = model.layout
    pressure = np.asarray(pressure, dtype=float)
    if pressure.shape != (layout.cylinders, POINTS):
        raise InputError(
            f"pressure has shape {pressure.shape}; it must be ({layout.cylinders}, {POINTS}): "
            "every cylinder, every degree of its cycle"
        )
    on_crank = np.stack([at_crank_angle(p, f) for p, f in zip(pressure, layout.firing, strict=True)])
    force, recip, rot = _unit_pin_loads(model)
    square = speed**2
    pin = (
        model.piston_area * on_crank[:, None, :] * force
        + square * model.recip_mass * recip
        + square * model.rot_mass * rot
    )
    throws = _throw_directions(model)
    main = np.einsum("jc,cka->jka", rod_shares(layout), pin)
    main += square * model.throw_moment * np.einsum("jt,tka->jka", throw_shares(layout), throws)
    main += square * model.cw_moment * _counterweights(model, throws)
    own = one_cylinder(model)
    inertia = square * model.recip_mass
    torque = own.torque_gas * pressure + inertia * own.torque_recip
    total = sum(at_crank_angle(t, f) for t, f in zip(torque, layout.firing, strict=True))
    return Loads(
        vertical=-main[:, 1],
        lateral=main[:, 0],
        pin=pin,
        side_thrust=own.side_gas * pressure + inertia * own.side_recip,
        rod_force=own.rod_gas * pressure + inertia * own.rod_recip,
        torque=np.asarray(total, dtype=float),
    )
