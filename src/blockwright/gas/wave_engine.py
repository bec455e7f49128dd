"""A running engine with its pipes: the arrays that the wave kernel advances, and what they hold."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, NotSettled
from .combustion import burn_row
from .duct_gas import duct_thermo
from .duct_mesh import field_arrays
from .mesh import AT_VALVE, Grid
from .model import Breathing, OperatingPoint
from .wave_state import WaveState

Array = NDArray[np.float64]

#: What the gas in exhaust pipes starts with [K].
_HOT_PIPES = 1000.0


def pairs(state: Array) -> Array:
    """Air, fuel and nitrous, burned or not, vapour and energy of a state."""
    return np.array([state[0] + state[4], state[1] + state[5], state[2] + state[6], state[3], state[7]])


def passed(flow: Array, received: Array, speed: float) -> Array:
    """A flow read at whole degrees [kg/s] brought to the mass that passed in the cycle.

    received : ndarray, shape (8,), what stands behind received [kg]; speed : [rad/s].
    """
    read, mean = float(flow.mean()), float(received[:7].sum()) * speed / (4.0 * math.pi)
    return np.asarray(flow * (mean / read) if read > 0.0 and mean > 0.0 else flow, dtype=np.float64)


class WaveEngine:
    """Arrays of an engine with its pipes, advanced in place.

    Parameters
    ----------
    breathing, point
    grid : Grid
        Of `breathing.network`.
    cylinders : ndarray, shape (n_cyl + 2, 16 + NZ)
        First guess of the cylinders, packed as a lumped engine's restart state.
    start : WaveState or None
    """

    def __init__(
        self,
        breathing: Breathing,
        point: OperatingPoint,
        grid: Grid,
        cylinders: Array,
        start: WaveState | None,
    ) -> None:
        self.grid, n = grid, breathing.cylinders
        self.field = field_arrays(grid.field)
        nodes = len(grid.names)
        self.n_vol = nodes - 2
        self.y, self.s = np.zeros((nodes, 8)), np.zeros((nodes, 6))
        self.momentum, self.before = np.zeros((nodes, 2)), np.zeros((nodes, 2))
        self.guess = np.zeros(len(grid.ends))
        self.steer(breathing, point)
        if start is None:
            self._fill(cylinders)
        else:
            self._resume(start)
            self.steer(breathing, point)
        self.s[: self.n_vol, 5] = grid.node_volume[: self.n_vol]
        self.before[:] = self.s[:, :2]
        self.last_step = np.array([1e-6])
        self.traces = np.zeros((5, self.n_vol, 720))
        self.ports = np.zeros((n, 2, 3, 720))
        self.link_trace = np.zeros((max(len(grid.links), 1), 720))
        self.sums, self.outside, self.trapped = np.zeros((n, 2)), np.zeros((3, 8)), np.zeros((n, 11))
        self.room = np.zeros((3, nodes, 8))
        self.port_face = self._port_faces()

    def _port_faces(self) -> NDArray[np.int64]:
        faces = np.zeros(self.grid.port.shape, dtype=np.int64)
        for duct, which, node, kind, valve in self.grid.ends:
            if kind == AT_VALVE:
                mesh = self.grid.field
                faces[node, valve] = mesh.first[duct] if which == 0 else mesh.last[duct] + 1
        return faces

    def steer(self, breathing: Breathing, point: OperatingPoint) -> None:
        """Take new surroundings: the state of the reservoirs, steered areas, the charge's make-up."""
        from .kernels.properties import fill_energy

        self.breathing, self.point = breathing, point
        gas = point.gas
        self.tables = (gas.frozen, gas.burned, gas.constants)
        air, opened = self.n_vol, self.n_vol + 1
        self.y[air, :7], self.y[opened, :7] = point.charge(), point.ash()
        self.s[air, :2] = point.plenum_temperature, point.plenum_pressure
        self.s[opened, :2] = point.exhaust_temperature, point.exhaust_pressure
        for q in (air, opened):
            self.y[q, 7] = fill_energy(self.y[q], self.s[q, 0], self.s[q, 1], *self.tables)
        # A species that a start state still holds must be carried out, even when no more of it comes.
        held = (self.field.q[:7] > 0.0).any(axis=1) | (self.y[:, :7] > 0.0).any(axis=0)
        self.active = np.flatnonzero(held).astype(np.int64)
        self.thermo = duct_thermo(gas, point.fuel_per_air)
        self.link_area = self.grid.with_areas(breathing)
        self.areas = np.stack([breathing.intake_area, breathing.exhaust_area])
        self.burn = np.tile(burn_row(breathing, point), (breathing.cylinders, 1))

    def _fill(self, cylinders: Array) -> None:
        """Charge in every intake pipe and volume, burned gas in every exhaust one."""
        from .kernels.properties import fill_energy, settle

        n, p = self.breathing.cylinders, self.point
        self.y[:n], self.s[:n, :2] = cylinders[:n, :8], cylinders[:n, 8:10]
        self.reference, self.shut = cylinders[:n, 10:15].copy(), cylinders[:n, 15].copy()
        self.zone = cylinders[:n, 16:].copy()
        sides = (
            (p.charge(), p.plenum_temperature, p.plenum_pressure),
            (p.ash(), _HOT_PIPES, p.exhaust_pressure),
        )
        for side, (make, temperature, pressure) in enumerate(sides):
            unit = np.zeros(8)
            unit[:7] = make
            unit[7] = fill_energy(unit, temperature, pressure, *self.tables)
            _, _, gas_constant, ratio = settle(unit, 1.0, temperature, pressure, *self.tables)
            density = pressure / (gas_constant * temperature)
            cells = self.grid.side == side
            self.field.q[:7, cells] = density * make[:, None]
            self.field.q[8, cells] = density * unit[7]
            self.field.temperature[cells] = temperature
            for v in np.flatnonzero((self.grid.node_side == side) & (self.grid.node_volume > 0.0)):
                self.y[v] = density * self.grid.node_volume[v] * unit
                self.s[v, :4] = temperature, pressure, gas_constant, ratio
                self.s[v, 4] = density * self.grid.node_volume[v]

    def _resume(self, start: WaveState) -> None:
        if start.y.shape != self.y.shape or start.first.shape != self.grid.field.first.shape:
            raise InputError("the start state is of another engine")
        keep = self.n_vol
        self.y[:keep], self.s[:keep] = start.y[:keep], start.s[:keep]
        self.momentum[:] = start.momentum
        self.reference, self.shut, self.zone = start.reference.copy(), start.shut.copy(), start.zone.copy()
        self.field.q[:], self.field.temperature[:] = start.on(self.grid.field)
        for v in np.flatnonzero(self.grid.kept >= 0.0):
            # A junction is as large as the mesh makes it: keep its state, not its amount.
            ratio = self.grid.node_volume[v] / start.s[v, 5]
            self.y[v] *= ratio
            self.s[v, 4] *= ratio
            self.momentum[v] *= ratio

    def advance(self) -> None:
        """One engine cycle."""
        from .kernels.waves import wave_cycle

        b, g, f, n = self.breathing, self.grid, self.field, self.breathing.cylinders
        steps = wave_cycle(
            f.q, f.temperature, f.prim, f.flux, f.edges, f.work, f.wall, f.heat,
            g.field.geo, g.field.face_area, g.field.first, g.field.last, self.active, self.thermo, g.ends,
            g.end_data, self.guess, g.links, self.link_area, g.link_reverse, g.kept, g.port, self.port_face,
            self.y, self.s, self.before, self.momentum, self.reference, self.shut, self.zone, b.firing,
            np.full(n, b.clearance_volume), self.n_vol, self.point.speed, b.geometry, self.burn, self.areas,
            b.reverse_flow, *self.tables, self.traces, self.ports, self.link_trace, self.sums, self.outside,
            self.trapped, self.room, self.last_step, g.closed_steps,
        )  # fmt: skip
        if steps < 0:
            raise NotSettled(
                f"the gas left every physical state at {self.point.speed * 30 / math.pi:.0f} rpm; look for a "
                "valve area, a pipe, a volume or a timing that cannot be"
            )
        self.steps = steps

    def packed(self) -> WaveState:
        """State as `Cycle.restart`."""
        mesh = self.grid.field
        return WaveState(
            self.y.copy(), self.s.copy(), self.momentum.copy(), self.reference.copy(), self.shut.copy(),
            self.zone.copy(), self.field.q.copy(), self.field.temperature.copy(), mesh.first, mesh.last,
        )  # fmt: skip

    def parts(self) -> Array:
        """Mass and energy of every node and of every duct, shape (parts, 8): what must repeat."""
        from .kernels.duct import D_VOLUME

        mesh = self.grid.field
        held = self.field.q[[0, 1, 2, 3, 4, 5, 6, 8]] * mesh.geo[D_VOLUME]
        ducts = np.add.reduceat(held, mesh.first - 1, axis=1).T
        return np.concatenate([self.y[: self.n_vol], ducts])

    def stored(self) -> Array:
        """What all parts hold together, as `pairs`."""
        return pairs(self.parts().sum(axis=0))

    @property
    def duct_heat(self) -> float:
        """Given to the walls of the pipes over the last cycle [J]."""
        return float(self.field.heat.sum())

    @property
    def plenum(self) -> Array:
        """Pressure in the first intake volume, or of the air where there is none, shape (720,) [Pa]."""
        for v in range(self.breathing.cylinders, self.n_vol):
            if self.grid.node_side[v] == 0 and self.grid.kept[v] < 0.0:
                pressure: Array = self.traces[0, v].copy()
                return pressure
        return np.full(720, self.point.plenum_pressure)

    @property
    def before_outlet(self) -> tuple[Array, Array, Array]:
        """Pressure [Pa], temperature [K] and flow [kg/s] at the outlet, shape (720,).

        At a steered outlet, upstream of it; without one, the mean of the exhaust ports, against the
        crank angle of cylinder 1, and what all of them let out.
        """
        if self.grid.outlet >= 0:
            v = int(self.grid.links[self.grid.outlet, 0])
            flow = passed(self.link_trace[self.grid.outlet], self.outside[1], self.point.speed)
            return self.traces[0, v].copy(), self.traces[1, v].copy(), flow
        port = self.ports[:, 1]
        return port[:, 0].mean(axis=0), port[:, 1].mean(axis=0), port[:, 2].sum(axis=0)
