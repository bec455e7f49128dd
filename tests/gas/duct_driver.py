"""A small driver of the duct field for tests: the call order of `gas.kernels.duct`, with simple ends.

An end is "closed", "transmissive", "periodic" (both ends of a duct), a pressure [Pa] that holds there, or the
state of the gas outside as a line of `edges`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blockwright.gas.duct_gas import energy_terms, heat_terms
from blockwright.gas.duct_mesh import Pipe, duct_mesh, field_arrays
from blockwright.gas.kernels import duct
from blockwright.gas.kernels.duct_rows import (
    D_DX,
    D_VOLUME,
    E_A,
    E_E,
    E_P,
    E_RHO,
    E_U,
    H_1,
    H_R,
    P_A,
    P_GAMMA,
    P_P,
    P_RHO,
    P_U,
)

End = str | float | np.ndarray


def ideal_gas(gamma: float = 1.4, gas_constant: float = 287.0) -> np.ndarray:
    """Coefficients of one ideal gas of constant heat capacity in all seven places."""
    thermo = np.zeros((7, 6))
    thermo[:, H_1] = 1000.0 * gas_constant / (gamma - 1.0)
    thermo[:, H_R] = gas_constant
    return thermo


def straight(length: float, cells: int, diameter: float = 0.05, **more: float) -> Pipe:
    """A duct of one diameter, frictionless and adiabatic unless said otherwise."""
    kept = {"friction": 0.0, "heat": 0.0, **more}
    return Pipe(np.array([0.0, length]), np.array([diameter, diameter]), cells, **kept)


def between(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Flux per area between two edge states, by the field's own solver."""

    def one(*places: int) -> list[np.ndarray]:
        return [left[[k]] for k in places] + [np.array([0.0, right[k]]) for k in places]

    volume_left, volume_right, momentum, energy = (np.zeros(2) for _ in range(4))
    duct.riemann_rows(
        1, 1, *one(E_RHO, E_U, E_P, E_E), np.array([left[E_A], right[E_A]]), np.ones(2),
        volume_left, volume_right, momentum, energy,
    )  # fmt: skip
    carried = volume_left[0] * left[:7] + volume_right[0] * right[:7]
    return np.array([*carried, momentum[1], energy[1]])


def outside_state(thermo: np.ndarray, density: np.ndarray, u: float, p: float) -> np.ndarray:
    """A line of `edges` for gas of given partial densities, velocity and pressure."""
    rho, stiff = density.sum(), thermo[:, H_R] @ density
    hot = np.array([p / stiff])
    capacity = density @ thermo[:, :H_R] @ heat_terms(hot)[0]
    gamma = 1.0 + stiff / capacity
    e = density @ thermo[:, :H_R] @ energy_terms(hot)[0]
    return np.array([*density, rho, u, p, np.sqrt(gamma * p / rho), gamma, stiff / rho, e])


class Field:
    """Ducts with simple ends."""

    def __init__(
        self, pipes: Sequence[Pipe], ends: Sequence[tuple[End, End]], thermo: np.ndarray,
        active: Sequence[int] = (0,), courant: float = 0.9, losses_every: int = 4,
    ) -> None:  # fmt: skip
        self.mesh = duct_mesh(pipes)
        self.arrays = field_arrays(self.mesh)
        self.ends, self.thermo, self.courant = list(ends), thermo, courant
        self.active = np.array(active, dtype=np.int64)
        self.every, self.steps, self.time = losses_every, 0, 0.0
        n = self.mesh.size
        self.real = np.zeros(n, dtype=bool)
        self.place = np.zeros(n)
        for a, b, pipe in zip(self.mesh.first, self.mesh.last, pipes, strict=True):
            self.real[a : b + 1] = True
            self.place[a : b + 1] = (np.arange(b - a + 1) + 0.5) * pipe.distance[-1] / pipe.cells
        self.x = self.place[self.real]

    def fill(self, density: np.ndarray, u: np.ndarray | float, p: np.ndarray | float) -> None:
        """Set all real cells: partial densities, shape (7, cells), velocity and pressure."""
        q, real = self.arrays.q, self.real
        rho = density.sum(axis=0)
        constant = self.thermo[:, H_R] @ density
        hot = np.broadcast_to(np.asarray(p / constant), rho.shape)
        energy = np.einsum("kc,kc->c", density, self.thermo[:, :H_R] @ energy_terms(hot).T)
        q[:7, real], q[7, real], q[8, real] = density, rho * u, energy + 0.5 * rho * u**2
        self.arrays.temperature[real] = hot
        self.refresh()

    def fill_one(self, rho: np.ndarray, u: np.ndarray | float, p: np.ndarray | float, k: int = 0) -> None:
        """Set all real cells with one species."""
        density = np.zeros((7, rho.size))
        density[k] = rho
        self.fill(density, u, p)

    def refresh(self) -> None:
        """Temperature and primitives of the present state."""
        f, m = self.arrays, self.mesh
        duct.refresh(f.q, f.temperature, f.prim, self.thermo, m.first, m.last)

    def row(self, k: int) -> np.ndarray:
        """One row of `prim` in the real cells."""
        return self.arrays.prim[k, self.real]

    @property
    def rho(self) -> np.ndarray:
        """Density of the real cells [kg/m3]."""
        return self.row(P_RHO)

    @property
    def u(self) -> np.ndarray:
        """Velocity of the real cells [m/s]."""
        return self.row(P_U)

    @property
    def p(self) -> np.ndarray:
        """Pressure of the real cells [Pa]."""
        return self.row(P_P)

    @property
    def a(self) -> np.ndarray:
        """Speed of sound of the real cells [m/s]."""
        return self.row(P_A)

    @property
    def gamma(self) -> np.ndarray:
        """Ratio of heats of the real cells [-]."""
        return self.row(P_GAMMA)

    @property
    def temperature(self) -> np.ndarray:
        """Temperature of the real cells [K]."""
        return self.arrays.temperature[self.real]

    def totals(self) -> np.ndarray:
        """Masses of the species [kg], momentum [kg m/s] and energy [J] in all ducts."""
        return self.arrays.q @ self.mesh.geo[D_VOLUME]

    def step(self, longest: float = np.inf) -> float:
        """One time step, at most `longest` [s]."""
        f, m = self.arrays, self.mesh
        self.refresh()
        dt = min(self.courant / duct.wave_speed(f.prim, m.geo[D_DX]), longest)
        if self.steps % self.every == 0:
            duct.wall_losses(f.prim, f.temperature, m.geo, m.first, m.last, f.wall)
        duct.faces(f.q, f.prim, dt, m.geo, m.face_area, self.active, m.first, m.last, f.flux, f.edges, f.work)
        for d, pair in enumerate(self.ends):
            for at_end in (0, 1):
                self.end(d, at_end, pair[at_end])
        duct.advance(f.q, f.flux, f.prim, f.temperature, dt, m.geo, f.wall, self.active, f.heat)
        self.steps += 1
        self.time += dt
        return dt

    def end(self, d: int, at_end: int, kind: End) -> None:
        """Overwrite one end's flux with what its neighbour makes of the gas just inside."""
        f, m = self.arrays, self.mesh
        inside = f.edges[d, at_end]
        face = m.last[d] + 1 if at_end else m.first[d]
        area = m.face_area[face]
        if isinstance(kind, float):
            f.flux[:, face] = area * self.at_pressure(inside, kind, 1.0 if at_end else -1.0)
            return
        outside = inside.copy()
        if isinstance(kind, np.ndarray):
            outside = kind
        elif kind == "closed":
            outside[E_U] *= -1.0
        elif kind == "periodic":
            outside = f.edges[d, 1 - at_end]
        pair = (inside, outside) if at_end else (outside, inside)
        f.flux[:, face] = area * between(*pair)

    @staticmethod
    def at_pressure(inside: np.ndarray, pressure: float, sign: float) -> np.ndarray:
        """Flux per area where the pressure is given and the wave that leaves is kept; the gas stays the same.

        Linear acoustics, subsonic: u* = u + (p - p0) / (rho a), outwards.
        """
        rho, u, p, a, gamma, _, e = inside[E_RHO:]
        star = sign * (sign * u + (p - pressure) / (rho * a))
        squeeze = (pressure / p) ** (1.0 / gamma)
        rho_star = rho * squeeze
        e_star = e * squeeze + (pressure - p * squeeze) / (gamma - 1.0)
        flux = np.empty(9)
        flux[:7] = star * inside[:7] * squeeze
        flux[7] = pressure + rho_star * star**2
        flux[8] = star * (e_star + pressure + 0.5 * rho_star * star**2)
        return flux

    def run(self, until: float) -> None:
        """Step to a time [s] and refresh."""
        while self.time < until * (1.0 - 1e-12):
            self.step(until - self.time)
        self.refresh()
