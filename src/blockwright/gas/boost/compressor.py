"""A compressor: its map, the air it takes and what comes out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ...errors import InputError
from .map import CP, KAPPA, CompressorMap


def outlet_temperature(inlet: float, pressure_ratio: float, efficiency: float, kappa: float = KAPPA) -> float:
    """Temperature of compressed gas [K]: T1 [1 + (PR^kappa - 1)/eta], A59.

    Parameters
    ----------
    inlet : float
        [K]
    pressure_ratio, efficiency : float
        Total over total; isentropic [-].
    kappa : float
        (gamma - 1)/gamma [-].
    """
    return float(inlet * (1.0 + (pressure_ratio**kappa - 1.0) / efficiency))


@dataclass(frozen=True)
class Surroundings:
    """The weather: pressure [Pa] and temperature [K]."""

    pressure: float
    temperature: float


@dataclass(frozen=True)
class Compressor:
    """A wheel on its map.

    Attributes
    ----------
    map : CompressorMap
    diameter : float or None
        Of the wheel's outlet [m]; the map's when None; without any, no tip speed can be told.
    tip_limit : float
        Highest tip speed [m/s].
    """

    map: CompressorMap
    diameter: float | None
    tip_limit: float

    @property
    def wheel(self) -> float | None:
        """Diameter of the wheel's outlet, when known [m]."""
        return self.map.diameter if self.diameter is None else self.diameter

    def run(self, flow: float, pressure: float, temperature: float, pressure_ratio: float) -> Compression:
        """What it takes to compress a flow [kg/s] from an inlet state [Pa, K] by a ratio [-]."""
        corrected = self.map.corrected_flow(flow, pressure, temperature)
        point = self.map.at(corrected, pressure_ratio)
        speed = self.map.real_speed(point.speed, temperature)
        head = max(pressure_ratio, 1.0) ** KAPPA - 1.0
        return Compression(
            speed=speed,
            tip_speed=math.nan if self.wheel is None else 0.5 * self.wheel * speed,
            pressure_ratio=pressure_ratio,
            flow=flow,
            corrected_flow=corrected,
            efficiency=head / point.work if point.work > 0.0 else 0.0,
            outlet_temperature=temperature * (1.0 + point.work),
            power=flow * CP * temperature * point.work,
            place=point.place,
            edge=point.edge,
            surge_margin=1.0 - point.surge_flow / corrected,
            choke_margin=point.choke_flow / corrected - 1.0,
        )


@dataclass(frozen=True)
class Compression:
    """One compressor at work.

    Attributes
    ----------
    speed, tip_speed : float
        [rad/s]; [m/s], nan when the wheel's size is unknown.
    pressure_ratio, efficiency : float
        [-]
    flow, corrected_flow : float
        [kg/s]; corrected to the map's reference.
    outlet_temperature, power : float
        [K], [W]
    place : float
        Between surge 0 and choke 1 [-].
    edge : str
        ``""``, ``"surge"``, ``"choke"``, ``"above"``, ``"below"``: where it left the map.
    surge_margin : float
        Share of the flow by which it could fall until surge, at this pressure ratio [-].
    choke_margin : float
        Share by which it could grow until choke or the map's fastest line [-].
    """

    speed: float
    tip_speed: float
    pressure_ratio: float
    flow: float
    corrected_flow: float
    efficiency: float
    outlet_temperature: float
    power: float
    place: float
    edge: str
    surge_margin: float
    choke_margin: float


@dataclass(frozen=True)
class Cooler:
    """A charge cooler.

    Attributes
    ----------
    effectiveness : float
        (T_in - T_out)/(T_in - T_medium); 0 for none [-].
    drop : float
        Pressure drop of cooler and pipes [Pa] at the air flow `flow` [kg/s]; grows with its square.
    medium : float
        Temperature of what cools [K].
    """

    effectiveness: float
    drop: float
    flow: float
    medium: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.effectiveness <= 1.0:
            raise InputError(
                f"an effectiveness of {self.effectiveness:g}; it lies from 0 (no cooler) to 1 "
                "(the charge leaves as cold as what cools it)"
            )
        if not (self.drop >= 0.0 and self.flow > 0.0 and self.medium > 0.0):
            raise InputError(
                "a cooler's pressure drop must not be negative; its flow and medium are positive"
            )

    def leaves(self, temperature: float) -> float:
        """Temperature behind it [K]."""
        return temperature - self.effectiveness * (temperature - self.medium)

    def loss(self, flow: float) -> float:
        """Pressure drop [Pa] at an air flow [kg/s]."""
        return self.drop * (flow / self.flow) ** 2
