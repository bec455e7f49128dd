"""Three pipes that meet, in steady flow: constant ratio of heats, first order, for the tests alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from blockwright.gas.kernels.ends import junction_end, junction_flux, keep

GAMMA, R, TEMPERATURE, PRESSURE = 1.4, 287.0, 300.0, 1.0e5
SOUND = float(np.sqrt(GAMMA * R * TEMPERATURE))
CELLS, STEP = 8, 0.02


@dataclass
class Leg:
    """A pipe that begins at the junction; speeds away from it are positive."""

    direction: tuple[float, float]
    far_speed: float
    area: float = 1e-3


@dataclass
class Flow:
    """What settled: mass flows into the pipes [kg/s], and the pipes' total pressure and dynamic head [Pa]."""

    mass: np.ndarray
    total: np.ndarray
    head: np.ndarray


def _hllc(left, right):
    (rl, ul, pl), (rr, ur, pr) = left, right
    al, ar = np.sqrt(GAMMA * pl / rl), np.sqrt(GAMMA * pr / rr)
    sl, sr = np.minimum(ul - al, ur - ar), np.maximum(ul + al, ur + ar)
    sm = (pr - pl + rl * ul * (sl - ul) - rr * ur * (sr - ur)) / (rl * (sl - ul) - rr * (sr - ur))

    def side(r, u, p, s):
        e = p / (GAMMA - 1) + 0.5 * r * u * u
        d = r * (s - u) / (s - sm)
        star = np.array([d, d * sm, d * (e / r + (sm - u) * (sm + p / (r * (s - u))))])
        return np.array([r * u, r * u * u + p, (e + p) * u]) + s * (star - np.array([r, r * u, e]))

    return np.where(sm >= 0, side(rl, ul, pl, np.minimum(sl, 0)), side(rr, ur, pr, np.maximum(sr, 0)))


def settle(legs: list[Leg], kept: float, steps: int = 6000, riemann: bool = False) -> Flow:
    """March to steady flow; `riemann` takes HLLC at the junction instead of its own law."""
    count = len(legs)
    area = np.array([leg.area for leg in legs])
    n = np.array([leg.direction for leg in legs])
    density = PRESSURE / (R * TEMPERATURE)
    far = np.array([leg.far_speed for leg in legs])
    q = np.zeros((3, count, CELLS))
    q[0], q[1] = density, density * far[:, None]
    q[2] = PRESSURE / (GAMMA - 1) + 0.5 * density * far[:, None] ** 2
    volume = 0.5 * STEP * area.sum()
    room = np.array([density * volume, PRESSURE / (GAMMA - 1) * volume])
    momentum = np.zeros(2)
    guess = np.zeros(count)
    dt = 0.4 * STEP / (SOUND + np.abs(far).max())
    ends = (np.full((count, 1), density), far[:, None], np.full((count, 1), PRESSURE))
    flux = np.zeros((3, count, CELLS + 1))
    for _ in range(steps):
        rho, u = q[0], q[1] / q[0]
        p = (GAMMA - 1) * (q[2] - 0.5 * rho * u * u)
        right = [np.concatenate([x[:, 1:], end], axis=1) for x, end in zip((rho, u, p), ends, strict=True)]
        flux[:, :, 1:] = _hllc((rho, u, p), right)
        dense, v = room[0] / volume, momentum / room[0]
        inner = room[1] - 0.5 * room[0] * (v @ v)
        pj = (GAMMA - 1) * inner / volume
        push, through = np.zeros(2), 0.0
        for i in range(count):
            r0, u0, p0, along = rho[i, 0], u[i, 0], p[i, 0], float(v @ n[i])
            a0 = float(np.sqrt(GAMMA * p0 / r0))
            if riemann:
                ej, e0 = pj / dense / (GAMMA - 1), p0 / r0 / (GAMMA - 1)
                aj = float(np.sqrt(GAMMA * pj / dense))
                m, f, w, _ = junction_flux(r0, u0, p0, a0, e0, dense, along, pj, aj, ej)
                mass, force, power = m * area[i], f * area[i], w * area[i]
            else:
                hot = pj / (dense * R)
                mass, force, rise, _, guess[i] = junction_end(
                    r0, u0, p0, a0, GAMMA, area[i], pj, hot, R, GAMMA, along, float(v @ v), guess[i]
                )
                power = mass * (GAMMA / (GAMMA - 1) * (pj / dense if mass > 0 else p0 / r0) + rise)
            flux[:, i, 0] = np.array([mass, force, power]) / area[i]
            push -= (force - pj * area[i]) * n[i] + max(mass, 0.0) * (v - along * n[i])
            through += max(-mass, 0.0)
            room -= dt * np.array([mass, power])
        momentum = keep(float(room[0]), through, kept, dt) * (momentum + dt * push)
        q -= dt / STEP * (flux[:, :, 1:] - flux[:, :, :-1])
    rho, u = q[0, :, 2], q[1, :, 2] / q[0, :, 2]
    p = (GAMMA - 1) * (q[2, :, 2] - 0.5 * rho * u * u)
    m2 = u * u * rho / (GAMMA * p)
    total = p * (1 + 0.2 * m2) ** 3.5
    return Flow(rho * u * area, total, total - p)


def combining(share: float, angle: float, mach: float, **named) -> tuple[float, float, float]:
    """Branch's share that settled, losses of the straight leg and of the branch."""
    speed = mach * SOUND
    legs = [
        Leg((-1.0, 0.0), -speed * (1 - share)),
        Leg((-np.cos(angle), np.sin(angle)), -speed * share),
        Leg((1.0, 0.0), speed),
    ]
    flow = settle(legs, **named)
    lost = (flow.total - flow.total[2]) / flow.head[2]
    return -flow.mass[1] / flow.mass[2], lost[0], lost[1]


def dividing(share: float, angle: float, mach: float, **named) -> tuple[float, float, float]:
    """Branch's share that settled, losses into the straight leg and into the branch."""
    speed = mach * SOUND
    legs = [
        Leg((1.0, 0.0), speed * (1 - share)),
        Leg((np.cos(angle), np.sin(angle)), speed * share),
        Leg((-1.0, 0.0), -speed),
    ]
    flow = settle(legs, **named)
    lost = (flow.total[2] - flow.total) / flow.head[2]
    return -flow.mass[1] / flow.mass[2], lost[0], lost[1]
