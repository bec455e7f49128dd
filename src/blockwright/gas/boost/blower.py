"""Chargers that the crank drives: lobes, screws, and wheels on a gear or belt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from ...errors import InputError
from ..crossing import crossing
from ..valves import flow_coefficient
from .compressor import Compressor
from .map import AIR_CONSTANT, CP, GAMMA, KAPPA

#: Turning speed at which `filling_loss` is stated [rad/s].
FILLING_SPEED = 12000.0 * math.pi / 30.0
#: Least share of the swept mass that counts as delivered, where leakage takes nearly all.
_LEAST = 0.05


@dataclass(frozen=True)
class Delivery:
    """A driven charger at work.

    Attributes
    ----------
    speed : float
        Of its shaft [rad/s].
    pressure_ratio, efficiency, volumetric : float
        Isentropic over real temperature rise; delivered over swept mass (nan for a wheel) [-].
    flow, outlet_temperature, power : float
        [kg/s]; [K]; work on the gas [W].
    tip_speed : float
        [m/s]; nan for rotors of lobes and screws.
    edge : str
        ``""``, or where a wheel left its map.
    """

    speed: float
    pressure_ratio: float
    efficiency: float
    volumetric: float
    flow: float
    outlet_temperature: float
    power: float
    tip_speed: float = math.nan
    edge: str = ""


class Machine(Protocol):
    """What a driven charger must tell."""

    def deliver(self, speed: float, pressure: float, temperature: float, pressure_ratio: float) -> Delivery:
        """What it delivers at a shaft speed [rad/s] from an inlet state [Pa, K] against a ratio [-]."""
        ...

    @property
    def slowest(self) -> float:
        """Shaft speed below which nothing is looked for [rad/s]."""
        ...

    @property
    def fastest(self) -> float:
        """Shaft speed above which nothing is looked for [rad/s]."""
        ...


def indicated_work(pressure_ratio: float, internal: float) -> float:
    r"""Ideal work of a rotary charger over inlet pressure times swept volume [-].

    .. math:: \frac{\gamma}{\gamma-1}\bigl(\Pi^{\kappa}-1\bigr) + (PR - \Pi)\,\Pi^{-1/\gamma}

    Isentropic up to the internal pressure ratio, then the outlet's gas flows back into the
    open chamber at constant volume.  A lobe has an internal ratio of 1: PR - 1.  Textbook.
    """
    inside = (internal**KAPPA - 1.0) / KAPPA
    return float(inside + (pressure_ratio - internal) * internal ** (-1.0 / GAMMA))


@dataclass(frozen=True)
class Displacer:
    """A lobe or screw blower.

    Attributes
    ----------
    displacement : float
        Air enclosed in one turn of the driven shaft [m3].
    internal_ratio : float
        Pressure ratio inside before the outlet opens: 1 for lobes [-].
    efficiency : float
        Ideal over real work on the gas, beside leakage and missing internal compression [-].
    leak : float
        Leakage area over displacement^(2/3) [-].
    filling_loss : float
        Share of the volume left unfilled at 12000 turns a minute; with the square of the speed [-].
    """

    displacement: float
    internal_ratio: float
    efficiency: float
    leak: float
    filling_loss: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.displacement) and self.displacement > 0.0):
            raise InputError(f"a blower's displacement is {self.displacement:g}; it must be positive")
        if not 1.0 <= self.internal_ratio < 4.0:
            raise InputError(
                f"an internal pressure ratio of {self.internal_ratio:g}; it is 1 for lobes and "
                "at most some 2 for screws"
            )
        if not 0.0 < self.efficiency <= 1.0:
            raise InputError(f"a blower's efficiency is {self.efficiency:g}; it lies in 0..1")
        if self.leak < 0.0 or self.filling_loss < 0.0:
            raise InputError("a blower's leakage and filling loss must not be negative")

    slowest = 20.0
    fastest = 4000.0

    def deliver(self, speed: float, pressure: float, temperature: float, pressure_ratio: float) -> Delivery:
        """See `Machine`.

        Leakage is an isentropic nozzle of the clearances' area from outlet to inlet; what flows back is
        compressed again, so its work heats the rest.
        """
        ratio = max(pressure_ratio, 1e-3)
        volume = self.displacement * speed / (2.0 * math.pi)
        density = pressure / (AIR_CONSTANT * temperature)
        filled = max(1.0 - self.filling_loss * (speed / FILLING_SPEED) ** 2, 0.3)
        swept = volume * density * filled
        ideal = indicated_work(ratio, self.internal_ratio)
        # Where the outlet's pressure drives the rotors the losses take from what it gives.
        work = ideal / self.efficiency if ideal > 0.0 else ideal * self.efficiency
        power = pressure * volume * filled * work
        area = self.leak * self.displacement ** (2.0 / 3.0)
        if ratio > 1.0:
            cold = area * pressure * ratio / math.sqrt(AIR_CONSTANT) * float(flow_coefficient(1.0 / ratio))

            def left(flow: float) -> float:
                """Share of what is swept that neither leaks nor is delivered; falls with the delivery."""
                return float(1.0 - (cold / math.sqrt(temperature + power / (flow * CP)) + flow) / swept)

            least = _LEAST * swept
            first, last = left(least), left(swept)
            flow = swept if last >= 0.0 else least
            if first > 0.0 > last:
                flow = crossing(left, least, swept, first, last)
        else:
            gained = area * pressure / math.sqrt(AIR_CONSTANT * temperature) * float(flow_coefficient(ratio))
            flow = swept + gained
        hot = max(temperature + power / (flow * CP), 0.5 * temperature)
        rise = hot / temperature - 1.0
        return Delivery(
            speed=speed,
            pressure_ratio=ratio,
            efficiency=(ratio**KAPPA - 1.0) / rise if abs(rise) > 1e-12 else 0.0,
            volumetric=flow / (volume * density),
            flow=flow,
            outlet_temperature=hot,
            power=power,
        )


@dataclass(frozen=True)
class DrivenWheel:
    """A centrifugal blower: a compressor whose wheel turns `step_up` times as fast as its driven shaft."""

    compressor: Compressor
    step_up: float = 1.0

    @property
    def slowest(self) -> float:
        """See `Machine`."""
        return 0.3 * self.compressor.map.lines[0].speed / self.step_up

    @property
    def fastest(self) -> float:
        """See `Machine`."""
        return 1.3 * self.compressor.map.lines[-1].speed / self.step_up

    def deliver(self, speed: float, pressure: float, temperature: float, pressure_ratio: float) -> Delivery:
        """See `Machine`."""
        table = self.compressor.map
        wheel = self.step_up * speed
        corrected, place, edge = table.against(table.corrected_speed(wheel, temperature), pressure_ratio)
        flow = table.real_flow(corrected, pressure, temperature)
        _, made, efficiency = table.state(table.corrected_speed(wheel, temperature), place)
        head = max(pressure_ratio, 1.0) ** KAPPA - 1.0
        # Right of choke the head made too much is lost; in surge the work is held to the head asked for.
        rise = max(made**KAPPA - 1.0, head) / efficiency
        size = self.compressor.wheel
        return Delivery(
            speed=speed,
            pressure_ratio=pressure_ratio,
            efficiency=head / rise,
            volumetric=math.nan,
            flow=flow,
            outlet_temperature=temperature * (1.0 + rise),
            power=flow * CP * temperature * rise,
            tip_speed=math.nan if size is None else 0.5 * size * wheel,
            edge=edge,
        )
