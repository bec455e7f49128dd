"""The bottle through a pass: mass, temperature, pressure and flow while it is drawn and cools."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...build import catalogue
from ...errors import Fault, InputError, OutsideValidity
from .contents import Contents, at_energy, contents
from .inlet import Inlet
from .saturation import critical_temperature

Array = NDArray[np.float64]

#: Largest fill that leaves room for the liquid to grow in the sun, mass over volume [kg/m3] (trade's
#: fills are 0.67 to 0.75 kg/l; common practice, no source).
FULLEST = 760.0


@dataclass(frozen=True)
class Bottle:
    """One or more equal bottles, drawn together.

    Attributes
    ----------
    volume : float
        Inside, of one bottle [m3].
    mass : float
        Nitrous oxide in one bottle [kg].
    temperature : float
        Of liquid, vapour and wall at the start [K].
    wall_capacity : float
        Heat capacity of one bottle's wall [J/K]; 0 for none.
    wall_conductance : float
        From the wall to the boiling liquid, of one bottle [W/K]; inf when the wall is always as warm
        as the liquid, 0 when it gives nothing.
    count : int
    from_liquid : bool
        Liquid reaches the outlet (dip tube, or a bottle that lies or hangs); vapour when False.
    left : float
        Share of the mass at the start that the tube cannot reach as liquid [-].
    heat : float
        Heat given to the wall of one bottle from outside (a bottle warmer) [W].
    """

    volume: float
    mass: float
    temperature: float
    wall_capacity: float
    wall_conductance: float
    count: int = 1
    from_liquid: bool = True
    left: float = 0.0
    heat: float = 0.0

    def __post_init__(self) -> None:
        for name in ("volume", "mass", "temperature"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise InputError(f"the bottle's {name} is {value:g}; it must be positive and finite")
        if self.count < 1:
            raise InputError(f"there are {self.count} bottles; at least one is needed")
        if not 0.0 <= self.left < 1.0:
            raise InputError(f"the share left below the tube is {self.left:g}; it must lie in 0..1")
        if not (self.wall_capacity >= 0.0 and self.wall_conductance >= 0.0 and math.isfinite(self.heat)):
            raise InputError("the wall's heat capacity and conductance cannot be negative")
        if self.temperature >= critical_temperature():
            raise OutsideValidity(
                f"the bottle is at {self.temperature - 273.15:.1f} C; above "
                f"{critical_temperature() - 273.15:.1f} C no liquid is left in it, and the pressure follows "
                "the fill, not the temperature alone. "
                "Let it cool in the shade or in water before use"
            )
        density = self.mass / self.volume
        if density > FULLEST:
            raise InputError(
                Fault(
                    "nitrous.bottle_mass",
                    f"{self.mass:.2f} kg in {self.volume * 1e3:.2f} l, {density / 1e3:.3f} kg/l",
                    f"a bottle takes at most about {FULLEST / 1e3:.2f} kg/l: the liquid needs room to grow",
                )
            )
        if self.start.quality >= 1.0:
            raise InputError(
                Fault(
                    "nitrous.bottle_mass",
                    f"{self.mass:.2f} kg in {self.volume * 1e3:.2f} l",
                    "so little is all vapour at this temperature; fill the bottle or take a smaller one",
                )
            )

    @property
    def start(self) -> Contents:
        """What one bottle holds at the start."""
        return contents(self.temperature, self.mass / self.volume)


def aluminium_bottle(
    volume: float, mass: float, temperature: float, *, sold_for: float | None = None, count: int = 1,
    from_liquid: bool = True, heat: float = 0.0,
) -> Bottle:  # fmt: skip
    """A bottle whose wall follows from the mass [kg] it is sold for (`mass` when None)."""

    def constant(name: str) -> float:
        return catalogue.row("model", f"nitrous.{name}").si("value")

    size = mass if sold_for is None else sold_for
    return Bottle(
        volume, mass, temperature, constant("wall_capacity") * size, constant("wall_conductance") * size,
        count, from_liquid, constant("left_below_tube"), heat,
    )  # fmt: skip


@dataclass(frozen=True)
class Pass:
    """A bottle through a pass; arrays over time, of one bottle unless said otherwise.

    Attributes
    ----------
    time : ndarray
        [s]
    mass, temperature, pressure, wall_temperature : ndarray
        [kg], [K], [Pa], [K]
    quality : ndarray
        Share of vapour by mass in the bottle [-].
    flow : ndarray
        Of all bottles together [kg/s].
    liquid : ndarray of bool
        Whether liquid leaves the bottle.
    liquid_ends : float or None
        When the tube first draws vapour [s]; None when liquid lasts.
    used : float
        Of all bottles together [kg].
    balance : float
        Energy that the steps leave open over the energy drawn [-].
    """

    time: Array
    mass: Array
    temperature: Array
    pressure: Array
    wall_temperature: Array
    quality: Array
    flow: Array
    liquid: NDArray[np.bool_]
    liquid_ends: float | None
    used: float
    balance: float


def _reaches(bottle: Bottle, mass: float, now: Contents) -> bool:
    return bottle.from_liquid and mass * (1.0 - now.quality) > bottle.left * bottle.mass


def run(bottle: Bottle, flow: Callable[[Inlet], float], duration: float, steps: int = 120) -> Pass:
    """Draw a bottle for a time.

    Parameters
    ----------
    bottle : Bottle
    flow : callable
        Flow [kg/s] of all bottles together from what stands at one bottle's outlet, through line
        and jets (`gas.nitrous.feed`).
    duration : float
        [s]
    steps : int
        At least; more when the wall or the draw asks for it.

    Returns
    -------
    Pass

    Notes
    -----
    .. math:: dU = -h_\\mathrm{draw}\\, \\dot m\\, dt + K (T_w - T)\\, dt, \\quad
        C_w\\, dT_w = (Q - K (T_w - T))\\, dt

    Midpoint steps; the temperature follows from mass, volume and energy exactly.
    """
    if not (math.isfinite(duration) and duration > 0.0):
        raise InputError(f"the pass lasts {duration:g} s; it must be positive and finite")
    c_w, k = bottle.wall_capacity, bottle.wall_conductance
    joined = math.isinf(k) or c_w == 0.0  # the wall shares the temperature, or there is none
    if not joined and k > 0.0:
        steps = max(steps, math.ceil(duration * k / (0.3 * c_w)))
    dt = duration / steps
    shared = c_w if joined else 0.0
    now, mass, wall = bottle.start, bottle.mass, bottle.temperature
    energy = mass * now.energy + shared * now.temperature
    total0, carried = energy + (0.0 if joined else c_w * wall), 0.0
    rows: list[tuple[float, ...]] = []

    def rates(mass: float, now: Contents, wall: float) -> tuple[float, float, float]:
        """Mass flow out, power into the contents, power into a wall apart."""
        inlet = now.drawn(_reaches(bottle, mass, now))
        out = flow(inlet) / bottle.count
        passed = bottle.heat if joined else k * (wall - now.temperature)
        into_wall = 0.0 if joined else bottle.heat - passed
        return out, passed - out * float(inlet.enthalpy), into_wall

    for i in range(steps + 1):
        out, power, into_wall = rates(mass, now, wall)
        rows.append(
            (i * dt, mass, now.temperature, now.pressure, now.temperature if joined else wall, now.quality,
             out * bottle.count, float(_reaches(bottle, mass, now)))
        )  # fmt: skip
        if i == steps:
            break
        half = min(0.5 * dt, 0.2 * mass / out) if out > 0.0 else 0.5 * dt
        middle_mass = mass - half * out
        middle = at_energy(middle_mass, bottle.volume, energy + half * power, shared, now.temperature)
        middle_wall = wall if joined else wall + half * into_wall / c_w
        out, power, into_wall = rates(middle_mass, middle, middle_wall)
        if dt * out > 0.9 * mass:
            break  # empty
        mass -= dt * out
        energy += dt * power
        carried += dt * (power + into_wall)
        wall += 0.0 if joined else dt * into_wall / c_w
        now = at_energy(mass, bottle.volume, energy, shared, now.temperature)
    total = mass * now.energy + shared * now.temperature + (0.0 if joined else c_w * wall)
    return _pass(bottle, np.array(rows), (total - total0 - carried) / max(abs(carried), 1.0))


def _pass(bottle: Bottle, rows: Array, balance: float) -> Pass:
    wet = rows[:, 7] > 0.5
    ends = None
    if bottle.from_liquid and not wet.all():
        ends = float(rows[int(np.argmin(wet)), 0])
    time, mass, temperature, pressure, wall, quality, flow = rows[:, :7].T.copy()
    used = bottle.count * float(mass[0] - mass[-1])
    return Pass(time, mass, temperature, pressure, wall, quality, flow, wet, ends, used, balance)


def drawn_down(bottle: Bottle, shares: Array, steps: int = 200) -> list[Contents]:
    """Contents after shares of the filled mass have been drawn, the wall as warm as the liquid.

    Parameters
    ----------
    bottle : Bottle
        Its conductance does not count: the draw is slow.
    shares : ndarray, shape (n,)
        Rising, in 0..1 [-].
    steps : int
        From nothing to the last share.

    Returns
    -------
    list of Contents
    """
    if np.any(np.diff(shares) <= 0.0) or shares[0] < 0.0 or shares[-1] >= 1.0:
        raise InputError("the drawn shares must rise and lie in 0..1")
    now, mass, capacity = bottle.start, bottle.mass, bottle.wall_capacity
    energy = mass * now.energy + capacity * now.temperature
    found: list[Contents] = []
    for share in shares:
        goal = bottle.mass * (1.0 - share)
        pieces = max(1, math.ceil(steps * (mass - goal) / (bottle.mass * shares[-1]))) if mass > goal else 0
        dm = (mass - goal) / max(pieces, 1)
        for _ in range(pieces):
            h = float(now.drawn(_reaches(bottle, mass, now)).enthalpy)
            middle = at_energy(
                mass - 0.5 * dm, bottle.volume, energy - 0.5 * dm * h, capacity, now.temperature
            )
            h = float(middle.drawn(_reaches(bottle, mass - 0.5 * dm, middle)).enthalpy)
            mass, energy = mass - dm, energy - dm * h
            now = at_energy(mass, bottle.volume, energy, capacity, now.temperature)
        found.append(now)
    return found
