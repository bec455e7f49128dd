"""Exhaust temperatures and the exhaust valve of a settled cycle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .knock import constant
from .model import Cycle
from .valve_heat import (
    ExhaustValve,
    ValveTemperature,
    exhaust_valve_temperature,
    mass_average_temperature,
    port_coefficient,
    thermocouple_temperature,
    time_average_temperature,
)

Array = NDArray[np.float64]

#: Exhaust gas near 1250 K, as air: gas constant and heat capacity [J/(kg K)]; viscosity [Pa s] and
#: conductivity [W/(m K)] with their powers of the temperature (handbook of air, from memory).
R_EXHAUST, CP_EXHAUST = 290.0, 1250.0
VISCOSITY, VISCOSITY_POWER = 4.7e-5, 0.65
CONDUCTIVITY, CONDUCTIVITY_POWER = 0.080, 0.75
#: Polytropic exponent of the motored pressure in Woschni's formula, as in the kernel.
MOTORED_N = 1.32


@dataclass(frozen=True)
class ExhaustReading:
    """Temperatures of one cylinder's exhaust [K].

    Attributes
    ----------
    mass_average : float
        By the heat it carries: what a turbine gets.
    thermocouple : float
        What a bare thermocouple in the port settles at, without its losses to the wall.
    time_average : float
        Plain average over the cycle.
    place : str
        Where: ``"port"`` with pipes, ``"collector"`` without.
    """

    mass_average: float
    thermocouple: float
    time_average: float
    place: str


def exhaust_reading(cycle: Cycle, cylinder: int, pipe_area: float) -> ExhaustReading:
    """Exhaust temperatures of a cylinder, counted from 0, in a pipe of an area [m2].

    Without pipes the exhaust volume's gas stands for all cylinders.
    """
    ports = cycle.exhaust_port
    if ports is not None:
        flow, t, p = ports.flow[cylinder], ports.temperature[cylinder], ports.pressure[cylinder]
        place = "port"
    else:
        flow, t, p = cycle.outlet_flow, cycle.exhaust_temperature, cycle.exhaust_pressure
        place = "collector"
    speed = flow * R_EXHAUST * t / (p * pipe_area)
    return ExhaustReading(
        mass_average=float(mass_average_temperature(flow, t)),
        thermocouple=float(thermocouple_temperature(flow, t, speed, CP_EXHAUST, constant("valve.recovery"))),
        time_average=float(time_average_temperature(t)),
        place=place,
    )


def chamber_coefficient(cycle: Cycle, cylinder: int) -> Array:
    """Woschni's heat transfer coefficient in a cylinder over its own cycle, shape (720,) [W/(m2 K)].

    The same formula and constants as the kernel's, without the factor on heat transfer of the point.
    """
    b = cycle.breathing
    own = np.where(cycle.angle > 360.0, cycle.angle - 720.0, cycle.angle)
    p, t = cycle.pressure[cylinder], cycle.temperature[cylinder]
    piston_speed = b.stroke * cycle.point.speed / math.pi
    shut = (own >= b.intake_closes) & (own <= b.exhaust_opens)
    speed = np.where(shut, 2.28, 6.18) * piston_speed
    start = cycle.burn.start
    room = b.volume(own)
    k = round(start) % 720
    motored = p[k] * (room[k] / room) ** MOTORED_N
    trapped = cycle.trapped
    scale = b.swept_volume * trapped.temperature / (trapped.pressure * b.volume(np.array(trapped.angle)))
    burning = shut & (own > start) & (p > motored)
    speed = speed + np.where(burning, 3.24e-3 * scale * (p - motored), 0.0)
    return np.asarray(3.26 * b.bore**-0.2 * (p * 1e-3 * speed) ** 0.8 * t**-0.55, dtype=np.float64)


def exhaust_valve(
    cycle: Cycle, cylinder: int, valve: ExhaustValve, valves: int, lift: float
) -> ValveTemperature:
    """Mean temperature of a cylinder's exhaust valves.

    Parameters
    ----------
    cycle : Cycle
    cylinder : int
        Counted from 0.
    valve : ExhaustValve
    valves : int
        Exhaust valves of a cylinder, which share its flow.
    lift : float
        Mean lift while open [m].
    """
    is_open = cycle.breathing.exhaust_area[::4] > 0.0
    leaving, t = _through_valves(cycle, cylinder, is_open)
    warm = t / 1250.0
    back = port_coefficient(
        leaving / valves,
        valve.diameter,
        lift,
        CONDUCTIVITY * warm**CONDUCTIVITY_POWER,
        VISCOSITY * warm**VISCOSITY_POWER,
    )
    return exhaust_valve_temperature(
        valve,
        cycle.point.heat_factor * chamber_coefficient(cycle, cylinder),
        cycle.temperature[cylinder],
        np.where(is_open, back, 0.0),
        t,
        float(is_open.mean()),
    )


def _through_valves(cycle: Cycle, cylinder: int, is_open: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Flow through a cylinder's exhaust valves [kg/s] and the gas there [K]."""
    if cycle.exhaust_port is not None:
        return cycle.exhaust_port.flow[cylinder], cycle.exhaust_port.temperature[cylinder]
    # Without pipes: what the cylinder loses while the exhaust is open; what the intake adds is missed.
    per_degree = math.radians(1.0) / cycle.point.speed
    lost = -np.gradient(cycle.mass[cylinder]) / per_degree
    return np.where(is_open, np.maximum(lost, 0.0), 0.0), cycle.temperature[cylinder]
