"""Exhaust gas temperature by mass and as a thermocouple reads it, and the exhaust valve's head."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..trace import Value, formula
from .knock import constant, spread

Array = NDArray[np.float64]

#: Power of the mass flux with which heat goes to a thermocouple's bead (a sphere or wire across the flow).
BEAD_POWER = 0.5


@formula(
    symbol="T_m",
    unit="K",
    equation="T_m = sum(m c_p T)/sum(m c_p)",
    source="definition: the temperature the exhaust would have, mixed",
)
def mass_average_temperature(flow: Value, temperature: Value, heat_capacity: Value = 1.0) -> Value:
    """Temperature of the exhaust averaged by the heat it carries: what a turbine and an energy balance see.

    Parameters
    ----------
    flow : array_like, shape (..., n)
        Mass flow at equal steps of the crank, negative where it flows back [kg/s].
    temperature : array_like, shape (..., n)
        Of the gas there [K].
    heat_capacity : array_like, shape () or (..., n)
        At constant pressure; only its changes matter [J/(kg K)].
    """
    carried = np.asarray(flow, dtype=float) * heat_capacity
    return (carried * temperature).sum(axis=-1) / carried.sum(axis=-1)


@formula(
    symbol="T_bead",
    unit="K",
    equation="sum(|m|^0.5 (T + r w^2/(2 c_p) - T_bead)) = 0",
    source="heat balance of a bead, Nu ~ Re^0.5 across the flow; from memory",
    valid="bead too slow to follow a cycle; without radiation and conduction along its stem: 10 to 50 K",
)
def thermocouple_temperature(
    flow: Value, temperature: Value, speed: Value, heat_capacity: Value, recovery: Value
) -> Value:
    """Temperature that a thermocouple in the pipe settles at.

    A bead takes heat from slow gas nearly as well as from fast gas, so it weighs the long, cool, slow part of
    the cycle more than the short hot pulse that carries most of the mass: it reads below the mass average.

    Parameters
    ----------
    flow, temperature, speed : array_like, shape (..., n)
        Mass flow, temperature and speed of the gas at equal steps of the crank [kg/s], [K], [m/s].
    heat_capacity : array_like
        [J/(kg K)]
    recovery : array_like
        Share of the kinetic energy seen as temperature [-].
    """
    weight = np.abs(np.asarray(flow, dtype=float)) ** BEAD_POWER
    seen = temperature + np.asarray(recovery) * np.asarray(speed) ** 2 / (2.0 * np.asarray(heat_capacity))
    return (weight * seen).sum(axis=-1) / weight.sum(axis=-1)


@formula(
    symbol="T_t",
    unit="K",
    equation="T_t = mean(T)",
    source="definition",
)
def time_average_temperature(temperature: Value) -> Value:
    """Plain average over the cycle of gas temperatures at equal steps of the crank [K]."""
    return np.asarray(temperature, dtype=float).mean(axis=-1)


@formula(
    symbol="T_v",
    unit="K",
    equation="T_v = sum(G_i T_i)/sum(G_i)",
    source="steady heat balance of one body",
    valid="one temperature for the head of the valve; its middle is some 50 K hotter, its seat colder",
)
def balance_temperature(conductances: Value, temperatures: Value) -> Value:
    """Temperature at which the heat into a body and out of it cancel.

    Parameters
    ----------
    conductances, temperatures : array_like, shape (..., k)
        To each of its surroundings [W/K], and their temperatures [K].
    """
    g = np.asarray(conductances, dtype=float)
    return (g * temperatures).sum(axis=-1) / g.sum(axis=-1)


@formula(
    symbol="h",
    unit="W/(m2 K)",
    equation="h = 2.58 Re^0.5 (1 - 0.797 L/d) k/d, Re = m d/(A mu)",
    source="Zapf, exhaust port; from memory",
    valid="the open exhaust valve; authors differ by 1.7",
)
def port_coefficient(
    flow: Value, diameter: Value, lift: Value, conductivity: Value, viscosity: Value
) -> Value:
    """Heat transfer at the back of an open exhaust valve.

    Parameters
    ----------
    flow : array_like
        Mass flow through one valve [kg/s].
    diameter, lift : array_like
        Of the valve's head; how far it stands open [m].
    conductivity, viscosity : array_like
        Of the exhaust gas [W/(m K)], [Pa s].
    """
    reynolds = np.abs(np.asarray(flow)) / (0.25 * math.pi * np.asarray(diameter) * viscosity)
    nusselt = 2.58 * np.sqrt(reynolds) * (1.0 - 0.797 * np.clip(np.asarray(lift) / diameter, 0.0, 0.5))
    return nusselt * conductivity / diameter


@dataclass(frozen=True)
class ExhaustValve:
    """An exhaust valve as its heat sees it.

    Attributes
    ----------
    diameter : float
        Of the head [m].
    seat_width : float
        Width of the contact [m].
    seat_angle : float
        Of the seat against the head's plane [rad].
    """

    diameter: float
    seat_width: float
    seat_angle: float = math.pi / 4.0

    def __post_init__(self) -> None:
        if not 0.0 < self.seat_width < 0.2 * self.diameter:
            raise InputError(
                f"the seat is {self.seat_width * 1e3:.2f} mm wide, the valve {self.diameter * 1e3:.1f} mm; "
                "it must lie between 0 and a fifth of the diameter"
            )

    @property
    def face(self) -> float:
        """Area towards the chamber [m2]; the back has about as much."""
        return 0.25 * math.pi * self.diameter**2

    @property
    def contact(self) -> float:
        """Area of the contact with the seat [m2]."""
        return math.pi * (self.diameter - self.seat_width * math.cos(self.seat_angle)) * self.seat_width


@dataclass(frozen=True)
class ValveTemperature:
    """Mean temperature of an exhaust valve's head and where its heat goes.

    Attributes
    ----------
    temperature, u : float
        And its standard uncertainty, which is wide [K].
    from_chamber, from_port, to_seat, to_stem : float
        Mean heat flows [W].
    """

    temperature: float
    u: float
    from_chamber: float
    from_port: float
    to_seat: float
    to_stem: float


def _gas_side(coefficient: Array, gas_temperature: Array, area: float) -> tuple[float, float]:
    """Mean conductance [W/K] and the temperature [K] that gives the same heat, over a cycle."""
    mean = float(np.mean(coefficient))
    if mean <= 0.0:
        return 0.0, float(np.mean(gas_temperature))
    return mean * area, float(np.mean(coefficient * gas_temperature)) / mean


def exhaust_valve_temperature(
    valve: ExhaustValve,
    chamber_coefficient: Array,
    chamber_temperature: Array,
    port_coefficients: Array,
    port_temperature: Array,
    open_share: float,
) -> ValveTemperature:
    """Steady mean temperature of an exhaust valve's head.

    Parameters
    ----------
    valve : ExhaustValve
    chamber_coefficient, chamber_temperature : ndarray, shape (n,)
        Woschni's coefficient and the gas in the cylinder at equal steps of a cycle [W/(m2 K)], [K].
    port_coefficients, port_temperature : ndarray, shape (n,)
        At the valve's back, 0 where no gas flows, and the gas there [W/(m2 K)], [K].
    open_share : float
        Share of the cycle off the seat, in (0, 1) [-].

    Notes
    -----
    A valve's head follows a cycle by a few kelvin only, so means are enough.  The spread takes the four
    uncertain figures of ``models/knock.toml`` (contact, seat, stem and guide, back of the valve) and 15 % on
    the chamber's coefficient, one at a time by central differences.
    """
    if not 0.0 < open_share < 1.0:
        raise InputError(f"the valve is open for {open_share:g} of the cycle; it must lie between 0 and 1")
    chamber_g, chamber_t = _gas_side(
        np.asarray(chamber_coefficient, dtype=float), np.asarray(chamber_temperature, dtype=float), valve.face
    )
    port_g, port_t = _gas_side(
        np.asarray(port_coefficients, dtype=float), np.asarray(port_temperature, dtype=float), valve.face
    )
    seat_g = constant("valve.seat_conductance") * valve.contact * (1.0 - open_share)
    g = np.array(
        [chamber_g, port_g * constant("valve.port_factor"), seat_g, constant("valve.stem_conductance")]
    )
    t = np.array(
        [chamber_t, port_t, constant("valve.seat_temperature"), constant("valve.guide_temperature")],
        dtype=float,
    )
    found = float(balance_temperature(g, t))
    shares = np.array(
        [
            0.15,
            spread("valve.port_factor"),
            spread("valve.seat_conductance") / constant("valve.seat_conductance"),
            spread("valve.stem_conductance") / constant("valve.stem_conductance"),
        ]
    )
    varied = []
    for i, share in enumerate(shares):
        low, high = g.copy(), g.copy()
        low[i], high[i] = g[i] / (1.0 + share), g[i] * (1.0 + share)
        varied.append(0.5 * float(balance_temperature(high, t) - balance_temperature(low, t)))
    walls = g[2:] / g.sum() * np.array([spread("valve.seat_temperature"), spread("valve.guide_temperature")])
    heat = g * (t - found)
    return ValveTemperature(
        temperature=found,
        u=float(math.sqrt(np.square(varied).sum() + np.square(walls).sum())),
        from_chamber=float(heat[0]),
        from_port=float(heat[1]),
        to_seat=-float(heat[2]),
        to_stem=-float(heat[3]),
    )
