"""From pressure surfaces and the linear crank loads to the kernels that limits read.

Everything is evaluated on the rows of a draw at once.  Axes (sample, point, cycle, angle).

Cycle-to-cycle variation scales the rise of pressure over the motored trace:
p = p_mot + zeta (p_mean - p_mot), with zeta so spread that the peak's coefficient of
variation is the one given.  A main bearing's worst angle is ruled by one firing
cylinder, so one zeta per cycle serves all cylinders.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..crank.exposure import Travel, exposed, under_skirt
from ..crank.loads import Influence, LoadModel, OneCylinder, one_cylinder
from ..trace import Array
from .draw import Draw
from .fatigue import largest_normal
from .operate import Operation, State

Kernels = dict[tuple[str, str], Array]

#: Pressure after firing falls for certain from here on [deg]; before, the largest of these steps is taken.
_FALLING = 44.0
_STEP = 4.0
#: Angles of the hardest side force kept for a reading, of the power stroke and of the rest.
_SKIRT_POWER, _SKIRT_REST = 4, 2
#: Standard normal value that one cycle in a thousand passes.
_OFTEN = 3.0902
_FIRING = np.arange(0, 91, 3)
_EXCHANGE = np.arange(300, 421, 3)


@dataclass(frozen=True)
class Masses:
    """Sampled masses, shape (rows,): reciprocating and big-end of one cylinder [kg], throw moment [kg m]."""

    recip: Array
    rot: Array
    throw_moment: Array


@dataclass(frozen=True)
class Reading:
    """A height at which cylinder walls were read, and where the piston is for it.

    depth : below the deck [m]; open_from : crank angle after firing at which the top ring has passed
    it going down [deg], 0 when it always stands above the ring, None when it never does;
    skirt : whole degrees of the cycle in which the skirt bears on it.
    """

    depth: float
    open_from: float | None
    skirt: NDArray[np.intp]


def reading(travel: Travel, depth: float) -> Reading:
    """Where the piston is for a height of the wall."""
    windows = exposed(travel, depth)
    start = float(np.degrees(windows[0][0])) if windows else None
    bearing = [
        np.arange(int(np.ceil(np.degrees(a))), int(np.floor(np.degrees(b))) + 1)
        for a, b in under_skirt(travel, depth)
    ]
    skirt = np.unique(np.concatenate(bearing) % 720) if bearing else np.zeros(0, dtype=np.intp)
    return Reading(depth, start, skirt)


@dataclass(frozen=True)
class Mechanism:
    """The crank train as the kernels need it, made once a build.

    bolt_share : share of the big-end mass above its joint [-]; overspeed : highest speed of the
    duty with its missed shifts [rad/s]; knock_ratio : largest pressure of a knock burst over the
    normal peak [-], 1 without bursts.
    """

    model: LoadModel
    forms: Influence
    own: OneCylinder
    readings: tuple[Reading, ...]
    bolt_share: float
    overspeed: float
    knock_ratio: float


def mechanism(
    model: LoadModel,
    forms: Influence,
    readings: tuple[Reading, ...],
    bolt_share: float,
    overspeed: float,
    knock_ratio: float,
) -> Mechanism:
    """Put the linear forms together."""
    return Mechanism(model, forms, one_cylinder(model), readings, bolt_share, overspeed, knock_ratio)


@dataclass(frozen=True)
class Running:
    """What varies while the engine runs, and the pressure's own error, on the rows of a draw.

    variation : coefficient of variation of the peak pressure, shape (rows,); nodes, weights : of the
    cycle-to-cycle variation; extreme : uniform draw for the largest cycle of the duty, shape (rows,);
    pressure_error : factor on the rise by burning, shape (rows,).
    """

    variation: Array
    nodes: Array
    weights: Array
    extreme: Array
    pressure_error: Array


@dataclass(frozen=True)
class _At:
    """One point's state with its cycle factors.

    zeta : at the nodes, shape (rows, Z); zeta_max, zeta_often : of the largest cycle of the duty and of
    the one in a thousand, shape (rows, 1).
    """

    operation: Operation
    state: State
    zeta: Array
    zeta_max: Array
    zeta_often: Array


def kernel_set(
    parts: Mechanism, operations: Sequence[Operation], draw: Draw, masses: Masses, running: Running
) -> Kernels:
    """All kernels of one charge level on the rows of a draw."""
    points = [_cycle_factors(operation, draw, running) for operation in operations]
    kept = max(operation.main_angles.shape[1] for operation in operations)
    per_point = [
        _pressures(at)
        | _mains(parts, at, masses, kept)
        | _walls(parts, at, masses)
        | _rods(parts, at, masses)
        | _piston(parts, at)
        for at in points
    ]
    found = {key: np.concatenate([one[key] for one in per_point], axis=1) for key in per_point[0]}
    cycles = np.array([operation.duty_cycles for operation in operations])
    found["duty_cycles", ""] = cycles.reshape(1, -1, 1, 1)
    found["cycle_weights", ""] = running.weights.reshape(1, 1, -1, 1)
    return found | _duty_wide(parts, found, masses)


def _cycle_factors(operation: Operation, draw: Draw, running: Running) -> _At:
    state = operation.at(draw)
    rise = state.peak / np.maximum(state.peak - state.motored_at_peak, 0.05 * state.peak)
    width = (running.variation * rise)[:, None]
    # The model's own error, and the surface's, multiply the rise that burning makes.
    fitted = np.exp(operation.surface.error[720] * draw.z("pressure surface"))
    error = (running.pressure_error * fitted)[:, None]
    largest = np.asarray(largest_normal(running.extreme, operation.duty_cycles))[:, None]
    return _At(
        operation,
        state,
        error * np.maximum(1.0 + width * running.nodes[None, :], 0.0),
        error * (1.0 + width * largest),
        error * (1.0 + width * _OFTEN),
    )


def _pressures(at: _At) -> Kernels:
    # What names no cylinder is told of the hardest pressed one.
    hardest = float(at.operation.cylinder_share.max())
    base = hardest * at.state.motored_at_peak[:, None]
    spread = hardest * (at.state.peak - at.state.motored_at_peak)[:, None]
    return {
        ("peak_pressure", ""): (base + at.zeta * spread)[:, None, :, None],
        ("peak_pressure_extreme", ""): (base + at.zeta_max * spread)[:, None, :, None],
        ("peak_pressure_often", ""): (base + at.zeta_often * spread)[:, None, :, None],
    }


@dataclass(frozen=True)
class _Form:
    """Main loads at the kept angles as a matrix on pressures at whole degrees.

    degrees : the degrees read, shape (m,); gas : shape (m, mains * 2 * K), each cylinder's own share of
    the mean pressure within; area : shape (mains * 2 * K,), what multiplies the pressure in the crankcase.
    """

    degrees: NDArray[np.intp]
    gas: Array
    area: Array


def _form(forms: Influence, angles: NDArray[np.intp], shares: Array) -> _Form:
    """Gas part of the main loads, vertical and lateral, at the angles kept for each main."""
    mains, k = angles.shape
    cylinders = forms.gas_v.shape[2]
    area = np.zeros((mains, 2, k))
    matrix = np.zeros((720, mains, 2, k))
    firing = np.degrees(forms.firing)
    column = np.arange(k)
    for j in range(mains):
        for c in range(cylinders):
            own = np.mod(np.round(angles[j] - firing[c], 6), 720.0)
            low = np.floor(own).astype(np.intp) % 720
            part = own - np.floor(own)
            for side, gas in enumerate((forms.gas_v, forms.gas_h)):
                area[j, side] += gas[j, angles[j], c]
                share = shares[c] * gas[j, angles[j], c]
                # Each angle has a column of its own, so no place is added to twice at once.
                matrix[low, j, side, column] += (1.0 - part) * share
                matrix[(low + 1) % 720, j, side, column] += part * share
    flat = matrix.reshape(720, -1)
    used = np.flatnonzero(np.any(flat != 0.0, axis=1))
    return _Form(used, flat[used], area.reshape(-1))


def _mains(parts: Mechanism, at: _At, masses: Masses, kept: int) -> Kernels:
    """Loads on every main at its kept angles, the last one repeated up to `kept`."""
    forms, operation, model = parts.forms, at.operation, parts.model
    angles = operation.main_angles
    angles = np.pad(angles, ((0, 0), (0, kept - angles.shape[1])), mode="edge")
    mains, k = angles.shape
    form = operation.remembered("form", kept, lambda: _form(forms, angles, operation.cylinder_share))
    pressure = at.state.at_degrees(form.degrees)
    still = operation.motored[form.degrees]
    charge = np.exp(at.state.log_charge)[:, None]
    motored = charge * (still @ form.gas)[None, :]
    rising = (pressure @ form.gas - motored).reshape(-1, mains, 2, k)
    lever = model.layout.rods_per_throw * model.radius * float(np.cos(0.5 * model.layout.split))
    cw = masses.throw_moment + lever * (masses.rot + model.balance * masses.recip)
    weights = np.stack([masses.recip, masses.rot, masses.throw_moment, cw], axis=1) * operation.speed**2
    row = np.arange(mains)[:, None]
    inertia = np.stack(
        [
            np.stack([getattr(forms, f"{name}_{side}")[row, angles] for side in "vh"], axis=1).reshape(-1)
            for name in ("recip", "rot", "crank", "cw")
        ]
    )
    steady = (weights @ inertia + motored - operation.crankcase * form.area).reshape(-1, mains, 2, k)
    found: Kernels = {}
    for j in range(mains):
        found["load_pulses", f"main {j + 1}"] = np.full((1, 1, 1, 1), operation.pulses[j])
        for side, name in enumerate(("main_vertical", "main_lateral")):
            base, comb = steady[:, None, None, j, side, :], rising[:, None, None, j, side, :]
            found[name, f"main {j + 1}"] = base + at.zeta[:, None, :, None] * comb
            found[f"{name}_extreme", f"main {j + 1}"] = base + at.zeta_max[:, None, :, None] * comb
    return found


def _absolute(at: _At, degrees: NDArray[np.intp]) -> Array:
    """Pressure of a mean cylinder at whole degrees of its own cycle, shape (rows, 1, Z, degrees)."""
    motored = np.exp(at.state.log_charge)[:, None] * at.operation.motored[degrees]
    rise = (at.state.at_degrees(degrees) - motored)[:, None, None, :]
    return np.asarray(motored[:, None, None, :] + at.zeta[:, None, :, None] * rise)


def _walls(parts: Mechanism, at: _At, masses: Masses) -> Kernels:
    own, square, found = parts.own, at.operation.speed**2, {}
    shares, crankcase = at.operation.cylinder_share, at.operation.crankcase
    for index, place in enumerate(parts.readings, start=1):
        inside = np.full((len(at.zeta), 1, at.zeta.shape[1], 1), -np.inf)
        if place.open_from is not None:
            first = int(np.ceil(place.open_from))
            steps = np.arange(first, max(first + 1, int(_FALLING)), int(_STEP))
            inside = _absolute(at, np.minimum(steps, 180)).max(axis=3, keepdims=True)
        skirt = _hardest(place.skirt, parts, at.operation)
        pressed = own.side_gas[skirt] * _absolute(at, skirt) if skirt.size else np.zeros((1, 1, 1, 1))
        moved = np.zeros((1, 1, 1, 1))
        if skirt.size:
            moved = (square * masses.recip)[:, None, None, None] * own.side_recip[skirt]
            moved = moved - crankcase * own.side_gas[skirt]
        for cylinder, share in enumerate(shares, start=1):
            key = f"cylinder {cylinder} depth {index}"
            found["wall_pressure", key] = np.maximum(share * inside - crankcase, 0.0)
            thrust = np.abs(share * pressed + moved).max(axis=3, keepdims=True)
            found["side_thrust", key] = np.broadcast_to(thrust, inside.shape).copy()
    return found


def _hardest(skirt: NDArray[np.intp], parts: Mechanism, operation: Operation) -> NDArray[np.intp]:
    """The angles of a reading at which the nominal side force is largest, power stroke and the rest apart."""
    own = parts.own
    force = np.abs(
        own.side_gas * (operation.cycle_pressure - operation.crankcase)
        + operation.speed**2 * parts.model.recip_mass * own.side_recip
    )
    kept = []
    for chosen, most in ((skirt[skirt <= 180], _SKIRT_POWER), (skirt[skirt > 180], _SKIRT_REST)):
        kept.append(chosen[np.argsort(-force[chosen])[:most]])
    return np.concatenate(kept).astype(np.intp)


def _rods(parts: Mechanism, at: _At, masses: Masses) -> Kernels:
    own, operation, square = parts.own, at.operation, at.operation.speed**2
    hardest = float(operation.cylinder_share.max())
    push = own.rod_gas[_FIRING] * (hardest * _absolute(at, _FIRING) - operation.crankcase)
    push += (square * masses.recip)[:, None, None, None] * own.rod_recip[_FIRING]
    # Pull is largest around the exchange dead centre, where the gas is that of the open valves.
    gas = own.rod_gas[_EXCHANGE] * (operation.cycle_pressure[_EXCHANGE] - operation.crankcase)
    inertia = square * own.rod_recip[_EXCHANGE]
    worst = int(np.argmin(gas + inertia * masses.recip[0]))
    pull = -(gas[worst] + inertia[worst] * masses.recip)
    bolt = pull + square * parts.model.radius * masses.rot * parts.bolt_share

    def column(values: Array) -> Array:
        return np.maximum(values, 0.0).reshape(-1, 1, 1, 1)

    return {
        ("rod_compression", ""): np.maximum(push.max(axis=3, keepdims=True), 0.0),
        ("rod_tension", ""): column(pull),
        ("bolt_tension", ""): column(bolt),
    }


def _piston(parts: Mechanism, at: _At) -> Kernels:
    speed = at.operation.speed
    top = float(np.max(np.abs(parts.own.rod_recip))) * speed**2
    return {
        ("piston_speed", ""): np.full((1, 1, 1, 1), 2.0 * parts.model.radius * speed / np.pi),
        ("piston_acceleration", ""): np.full((1, 1, 1, 1), top),
    }


def _duty_wide(parts: Mechanism, found: Kernels, masses: Masses) -> Kernels:
    extreme = np.max(found["peak_pressure_extreme", ""], axis=1, keepdims=True)
    mean = np.sum(found["peak_pressure", ""] * found["cycle_weights", ""], axis=2, keepdims=True)
    burst = parts.knock_ratio * np.max(mean, axis=1, keepdims=True)
    square, radius = parts.overspeed**2, parts.model.radius
    rod = square * masses.recip * float(np.max(-parts.own.rod_recip))
    bolt = rod + square * radius * masses.rot * parts.bolt_share
    return {
        ("cylinder_pressure_extreme", ""): np.maximum(extreme, burst),
        ("cylinder_pressure_often", ""): np.max(found["peak_pressure_often", ""], axis=1, keepdims=True),
        ("rod_tension_overspeed", ""): rod.reshape(-1, 1, 1, 1),
        ("bolt_tension_overspeed", ""): bolt.reshape(-1, 1, 1, 1),
        ("piston_speed_overspeed", ""): np.full((1, 1, 1, 1), 2.0 * radius * parts.overspeed / np.pi),
    }
