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
from scipy.special import ndtri

from ..crank.exposure import Travel, exposed, under_skirt
from ..crank.loads import Influence, LoadModel, OneCylinder, one_cylinder
from ..trace import Array
from . import crank_angles
from .draw import Draw
from .operate import Operation

#: Columns after the top ring has passed a reading at which the pressure may still be rising [deg].
_AFTER_PASSING = np.arange(0, 64, 4)
#: Step through the angles at which the skirt bears on a reading [deg].
_SKIRT_STEP = 6.0


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
    skirt: Array


def reading(travel: Travel, depth: float) -> Reading:
    """Where the piston is for a height of the wall."""
    windows = exposed(travel, depth)
    start = float(np.degrees(windows[0][0])) if windows else None
    bearing = [
        np.arange(np.ceil(np.degrees(a)), np.floor(np.degrees(b)) + 1.0, _SKIRT_STEP)
        for a, b in under_skirt(travel, depth)
    ]
    skirt = np.concatenate(bearing) % 720 if bearing else np.zeros(0)
    return Reading(depth, start, skirt)


@dataclass(frozen=True)
class Mechanism:
    """The crank train as the kernels need it, made once a build."""

    model: LoadModel
    forms: Influence
    own: OneCylinder
    readings: tuple[Reading, ...]
    bolt_share: float
    overspeed: float
    knock_ratio: float
    radius: float


def mechanism(
    model: LoadModel,
    forms: Influence,
    readings: tuple[Reading, ...],
    bolt_share: float,
    overspeed: float,
    knock_ratio: float,
) -> Mechanism:
    """Put the linear forms together.

    Parameters
    ----------
    model : LoadModel
    forms : Influence
        Main loads as a linear form.
    readings : tuple of Reading
    bolt_share : float
        Share of the big-end mass that hangs on the rod bolts (all but the cap's half) [-].
    overspeed : float
        Highest speed that the duty with its missed shifts sees [rad/s].
    knock_ratio : float
        Largest cylinder pressure in a knock burst over the normal peak [-], 1 without bursts.
    """
    return Mechanism(
        model, forms, one_cylinder(model), readings, bolt_share, overspeed, knock_ratio, model.radius
    )


class KernelSet:
    """All kernels of one charge level on the rows of a draw."""

    def __init__(
        self,
        parts: Mechanism,
        operations: Sequence[Operation],
        draw: Draw,
        masses: Masses,
        variation: Array,
        cycle_nodes: tuple[Array, Array],
        extreme: Array,
        pressure_error: Array,
    ) -> None:
        self._parts = parts
        self._draw = draw
        self._masses = masses
        self._variation = variation
        self._nodes, weights = cycle_nodes
        self._extreme = extreme
        self._error = pressure_error
        self.values: dict[tuple[str, str], Array] = {}
        per_point = [self._point(operation) for operation in operations]
        for key in per_point[0]:
            self.values[key] = np.concatenate([found[key] for found in per_point], axis=1)
        self._add("duty_cycles", np.array([[o.duty_cycles] for o in operations]).reshape(1, -1, 1, 1))
        self._add("cycle_weights", weights.reshape(1, 1, -1, 1))
        self._duty_wide()

    def _add(self, name: str, value: Array, place: str = "") -> None:
        self.values[name, place] = value

    def _duty_wide(self) -> None:
        parts, masses = self._parts, self._masses
        extreme = np.max(self.values["peak_pressure_extreme", ""], axis=1, keepdims=True)
        burst = np.max(self.values["peak_pressure", ""].mean(axis=2, keepdims=True), axis=1, keepdims=True)
        self._add("cylinder_pressure_extreme", np.maximum(extreme, parts.knock_ratio * burst))
        square = parts.overspeed**2
        pull = float(np.max(-parts.own.rod_recip))
        rod = square * masses.recip * pull
        bolt = rod + square * parts.radius * masses.rot * parts.bolt_share
        self._add("rod_tension_overspeed", rod.reshape(-1, 1, 1, 1))
        self._add("bolt_tension_overspeed", bolt.reshape(-1, 1, 1, 1))
        self._add("piston_speed_overspeed", np.full((1, 1, 1, 1), 2.0 * parts.radius * parts.overspeed / np.pi))

    def _point(self, operation: Operation) -> dict[tuple[str, str], Array]:
        state = operation.at(self._draw)
        rise = state.peak / np.maximum(state.peak - state.motored_at_peak, 0.05 * state.peak)
        width = (self._variation * rise)[:, None]
        # The model's own error, and the surface's, multiply the rise that burning makes.
        fitted = np.exp(operation.surface.error[720] * self._draw.z("pressure surface"))
        error = (self._error * fitted)[:, None]
        zeta = error * np.maximum(1.0 + width * self._nodes[None, :], 0.0)
        # The largest of N cycles by a uniform draw v: Phi^-1(v^(1/N)).
        largest = ndtri(np.power(self._extreme, 1.0 / max(operation.duty_cycles, 1.0)))
        zeta_max = error * (1.0 + width * largest[:, None])
        found: dict[tuple[str, str], Array] = {}

        def put(name: str, value: Array, place: str = "") -> None:
            found[name, place] = value[:, None, :, :]

        spread = state.peak - state.motored_at_peak
        put("peak_pressure", (state.motored_at_peak[:, None] + zeta * spread[:, None])[:, :, None])
        put("peak_pressure_extreme", (state.motored_at_peak[:, None] + zeta_max * spread[:, None])[:, :, None])
        self._mains(operation, state, zeta, zeta_max, put)
        self._walls(operation, state, zeta, put)
        self._rods(operation, state, zeta, put)
        speed = operation.speed
        put("piston_speed", np.full((1, 1, 1), 2.0 * self._parts.radius * speed / np.pi))
        top = float(np.max(np.abs(self._parts.own.rod_recip)))
        put("piston_acceleration", np.full((1, 1, 1), top * speed**2))
        return found

    def _mains(self, operation, state, zeta, zeta_max, put) -> None:  # type: ignore[no-untyped-def]
        forms, masses, square = self._parts.forms, self._masses, operation.speed**2
        counter = self._parts.model
        rods = counter.layout.rods_per_throw
        lever = rods * counter.radius * float(np.cos(0.5 * counter.layout.split))
        cw = masses.throw_moment + lever * (masses.rot + counter.balance * masses.recip)
        firing = np.degrees(forms.firing)
        for j in range(forms.gas_v.shape[0]):
            angles = operation.main_angles[j]
            steady = {
                side: square
                * (
                    masses.recip[:, None] * getattr(forms, f"recip_{side}")[j, angles]
                    + masses.rot[:, None] * getattr(forms, f"rot_{side}")[j, angles]
                    + masses.throw_moment[:, None] * getattr(forms, f"crank_{side}")[j, angles]
                    + cw[:, None] * getattr(forms, f"cw_{side}")[j, angles]
                )
                for side in "vh"
            }
            rising = {"v": np.zeros_like(steady["v"]), "h": np.zeros_like(steady["h"])}
            for c in range(forms.gas_v.shape[2]):
                gas = {"v": forms.gas_v[j, angles, c], "h": forms.gas_h[j, angles, c]}
                if not (np.any(gas["v"]) or np.any(gas["h"])):
                    continue
                where = crank_angles.columns(angles.astype(float), float(firing[c]))
                mean = state.pressure(where)
                motored = state.motored(where)
                for side in "vh":
                    steady[side] += gas[side] * (motored - operation.crankcase)
                    rising[side] += gas[side] * (mean - motored)
            for side, name in (("v", "main_vertical"), ("h", "main_lateral")):
                place = f"main {j + 1}"
                base, comb = steady[side][:, None, :], rising[side][:, None, :]
                put(name, base + zeta[:, :, None] * comb, place)
                put(f"{name}_extreme", base + zeta_max[:, :, None] * comb, place)

    def _walls(self, operation, state, zeta, put) -> None:  # type: ignore[no-untyped-def]
        own, square = self._parts.own, operation.speed**2
        cylinders = range(1, self._parts.model.layout.cylinders + 1)
        for index, reading in enumerate(self._parts.readings):
            if reading.open_from is None:
                gauge = np.zeros((len(zeta), zeta.shape[1], 1))
            else:
                passing = np.unique(np.clip(np.ceil(reading.open_from) + _AFTER_PASSING, 0, 180)).astype(int)
                gauge = self._at(operation, state, zeta, passing).max(axis=2, keepdims=True)
            skirt = reading.skirt.astype(int)
            if skirt.size:
                force = own.side_gas[skirt] * self._at(operation, state, zeta, skirt)
                force += square * self._masses.recip[:, None, None] * own.side_recip[skirt]
                thrust = np.abs(force).max(axis=2, keepdims=True)
            else:
                thrust = np.zeros_like(gauge)
            for cylinder in cylinders:
                place = f"cylinder {cylinder} depth {index + 1}"
                put("wall_pressure", np.maximum(gauge, 0.0), place)
                put("side_thrust", thrust, place)

    @staticmethod
    def _at(operation, state, zeta, degrees) -> Array:  # type: ignore[no-untyped-def]
        """Gauge pressure at whole degrees of the cylinder's own cycle, (rows, nodes, degrees)."""
        where = crank_angles.columns(degrees.astype(float), 0.0)
        motored = state.motored(where)
        rise = (state.pressure(where) - motored)[:, None, :]
        return np.asarray(motored[:, None, :] - operation.crankcase + zeta[:, :, None] * rise)

    def _rods(self, operation, state, zeta, put) -> None:  # type: ignore[no-untyped-def]
        own, masses, square = self._parts.own, self._masses, operation.speed**2
        firing = np.arange(0, 91, 3)
        push = own.rod_gas[firing] * self._at(operation, state, zeta, firing)
        push += square * masses.recip[:, None, None] * own.rod_recip[firing]
        put("rod_compression", np.maximum(push.max(axis=2, keepdims=True), 0.0))
        # Pull is largest around the exchange dead centre, where the gas is that of the open valves.
        exchange = np.arange(300, 421, 3)
        gas = own.rod_gas[exchange] * (operation.cycle_pressure[exchange] - operation.crankcase)
        inertia = square * own.rod_recip[exchange]
        worst = int(np.argmin(gas + inertia * masses.recip[0]))
        pull = -(gas[worst] + inertia[worst] * masses.recip)
        put("rod_tension", np.maximum(pull, 0.0)[:, None, None])
        bolt = pull + square * self._parts.radius * masses.rot * self._parts.bolt_share
        put("bolt_tension", np.maximum(bolt, 0.0)[:, None, None])
