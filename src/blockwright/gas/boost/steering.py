"""A turbocharger set anew between engine cycles: wastegate, boost, back pressure and charge temperature."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ...errors import InputError
from ..crossing import crossing
from ..model import Breathing, OperatingPoint
from ..steering import Seen
from .shaft import Balance, Foreseen, Turbocharger

#: Largest step of a pressure and of an area between two engine cycles, in logarithms.
_STEP_PRESSURE, _STEP_AREA = 0.25, 0.5
#: How wrong a foreseen flow may be over a step of the boost; and the least share of a step that is taken.
_DOUBT, _LEAST_SHARE = 0.35, 0.25
#: Step of the boost for slopes.
_SLOPE = 1e-3
#: Pressure ratio of a compressor that gives as good as nothing.
_NOTHING = 1.002
#: Highest pressure behind the cooler that is looked at, over the wanted one.
_HIGHEST = 2.5
#: Exhaust before a first cycle: temperature [K], gas constant, pulse over mean of the pressure's excess.
_FIRST_HOT, _FIRST_PULSE = 1150.0, 0.3

GATE, SHUT, OPEN, NOTHING = "wastegate", "gate shut", "gate open", "no boost"


@dataclass(frozen=True)
class TurboMatch:
    """A turbocharged engine at work.

    Attributes
    ----------
    limit : str
        What sets the boost: ``"wastegate"`` (wanted boost reached), ``"gate shut"`` (the turbine makes no
        more), ``"gate open"`` (the wastegate passes no more), ``"no boost"``.
    wanted : float
        Absolute [Pa].
    balance : Balance
        Flows, temperatures and powers.
    mechanical_efficiency : float
        [-]
    gate_share : float
        Area of the wastegate over wide open [-]; 0 without one.
    gate_flow : float
        Share of the exhaust that passes it [-].
    efficiency : float
        Turbine's power over its isentropic power, both of the pulsating gas [-].
    ripple : float
        Swing of the shaft's speed within a cycle, over the speed: with the pulse's power as it comes [-].
    back_pressure : float
        Mean pressure before the turbine over the surroundings' [Pa].
    tip_limit : float
        Of the compressor's wheel [m/s].
    """

    limit: str
    wanted: float
    balance: Balance
    mechanical_efficiency: float
    gate_share: float
    gate_flow: float
    efficiency: float
    ripple: float
    back_pressure: float
    tip_limit: float

    @property
    def bearing_loss(self) -> float:
        """Of all shafts [W]."""
        return (1.0 - self.mechanical_efficiency) * self.balance.turbine_power


@dataclass(frozen=True)
class TurboSteering:
    """Steers a turbocharged engine to a wanted charge pressure.

    It keeps no state: the present outlet area and the pressures stand in `Breathing` and `OperatingPoint`,
    so a near point restarts it.

    Attributes
    ----------
    wanted : float
        Plenum pressure wanted, absolute [Pa].
    machine : Turbocharger
    throttled : bool
        Whether a throttle holds the plenum down to `wanted` where an open wastegate gives more (part load).
    """

    wanted: float
    machine: Turbocharger
    throttled: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.wanted) and self.wanted > 0.0):
            raise InputError(f"the wanted charge pressure is {self.wanted:g} Pa; it must be positive")

    def with_boost(self, pressure: float, throttled: bool | None = None) -> TurboSteering:
        """The same machine steered to another plenum pressure [Pa, absolute]."""
        return replace(self, wanted=pressure, throttled=self.throttled if throttled is None else throttled)

    def step(
        self, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> tuple[OperatingPoint, Breathing, float]:
        """Surroundings for the next cycle, and the largest relative change that they would still make."""
        foreseen = Foreseen(self.machine, point, breathing, seen)
        balance, limit = self._balance(foreseen)
        share = 1.0 if limit in (GATE, NOTHING) else self._eased(foreseen, balance)
        area = self.machine.count * (balance.swallowing + balance.gate)
        pairs = (
            (point.plenum_pressure, balance.plenum_pressure, _STEP_PRESSURE),
            (point.plenum_temperature, balance.plenum_temperature, _STEP_PRESSURE),
            (point.exhaust_pressure, balance.behind, _STEP_PRESSURE),
            (breathing.outlet_area, area, _STEP_AREA),
        )
        change = max(abs(math.log(new / old)) for old, new, _ in pairs)
        new = [old * math.exp(min(max(share * math.log(new / old), -most), most)) for old, new, most in pairs]
        point = replace(point, plenum_pressure=new[0], plenum_temperature=new[1], exhaust_pressure=new[2])
        return point, replace(breathing, outlet_area=new[3]), change

    def match(self, point: OperatingPoint, breathing: Breathing, seen: Seen) -> TurboMatch:
        """Figures at a settled state: those that `step` would set, which are the present ones."""
        foreseen = Foreseen(self.machine, point, breathing, seen)
        balance, limit = self._balance(foreseen)
        widest = self.machine.wastegate.area
        return TurboMatch(
            limit=limit,
            wanted=self.wanted,
            balance=balance,
            mechanical_efficiency=self.machine.mechanical_efficiency,
            gate_share=balance.gate / widest if widest > 0.0 else 0.0,
            gate_flow=balance.gate / (balance.gate + balance.swallowing),
            efficiency=balance.turbine_power / max(balance.isentropic_power, 1e-9),
            ripple=_ripple(self.machine, balance, seen, point.speed),
            back_pressure=balance.before - self.machine.surroundings.pressure,
            tip_limit=self.machine.compressor.tip_limit,
        )

    def first(self, point: OperatingPoint, breathing: Breathing) -> tuple[OperatingPoint, Breathing]:
        """A near first guess: the balance in a guessed exhaust of an engine filled with the charge."""
        m = self.machine
        charge = point.plenum_temperature
        density = self.wanted / (point.gas.constants[9] * charge)
        air = 0.9 * density * breathing.displacement * point.speed / (4.0 * math.pi)
        area = m.count * (m.turbine.throat_area * m.turbine.discharge * 0.9 + 0.3 * m.wastegate.area)
        outside = m.surroundings.pressure
        gas_flow = air * (1.0 + point.fuel_per_air)
        before = max(gas_flow * math.sqrt(290.0 * _FIRST_HOT) / (0.67 * area), 1.2 * outside)
        angle = np.linspace(0.0, 2.0 * math.pi * breathing.cylinders, 720, endpoint=False)
        pressure = outside + (before - outside) * (1.0 + _FIRST_PULSE * np.sin(angle))
        seen = Seen(
            air_flow=air, fuel_flow=air * point.fuel_per_air, nitrous_flow=0.0, total_flow=gas_flow,
            plenum_pressure=self.wanted, exhaust_pressure=pressure,
            exhaust_temperature=np.full(720, _FIRST_HOT), outlet_flow=np.full(720, gas_flow),
            brake_power=0.0, peak_pressure=np.zeros(breathing.cylinders),
        )  # fmt: skip
        point = replace(point, plenum_pressure=self.wanted, exhaust_pressure=1.05 * outside)
        breathing = replace(breathing, outlet_area=area)
        for _ in range(2):
            point, breathing, _ = self.step(point, breathing, seen)
        return point, breathing

    def _balance(self, foreseen: Foreseen) -> tuple[Balance, str]:
        """The wastegate that holds the wanted boost; or the boost with the wastegate at its end."""
        m = self.machine
        kept = m.mechanical_efficiency
        widest = m.wastegate.area

        def settled(delivered: float, gate: float) -> Balance:
            plenum = min(delivered, self.wanted) if self.throttled else delivered
            return foreseen.trial(delivered, plenum, gate)

        def surplus(delivered: float, gate: float) -> float:
            return settled(delivered, gate).surplus(kept)

        least = self._least(foreseen)
        wanted = max(self.wanted, least)
        shut = surplus(wanted, 0.0)
        if shut <= 0.0:
            low = surplus(least, 0.0)
            if low <= 0.0:
                return settled(least, 0.0), NOTHING
            delivered = _near(
                lambda p: surplus(p, 0.0), least, wanted, low, shut, foreseen.point.plenum_pressure
            )
            return settled(delivered, 0.0), SHUT
        open_ = surplus(wanted, widest) if widest > 0.0 else shut
        if open_ <= 0.0:
            now = foreseen.area / m.count - m.turbine.throat_area * m.turbine.discharge * 0.95
            gate = _near(lambda a: surplus(wanted, a), 0.0, widest, shut, open_, now)
            return settled(wanted, gate), GATE
        high = _HIGHEST * wanted
        top = surplus(high, widest)
        if top > 0.0:
            return settled(high, widest), OPEN
        delivered = _near(lambda p: surplus(p, widest), wanted, high, open_, top, 1.05 * wanted)
        return settled(delivered, widest), OPEN

    def _eased(self, foreseen: Foreseen, found: Balance) -> float:
        """Share of a step that is taken where the boost itself is sought [-].

        More boost means more exhaust and so more boost: with a flow held the balance would move by the
        step G times smaller, and what was foreseen wrongly is enlarged as much.
        """
        m, more = self.machine, (1.0 + _SLOPE) * found.delivered
        held = foreseen.trial(more, found.plenum_pressure, found.gate).surplus(m.mechanical_efficiency)
        plenum = min(more, self.wanted) if self.throttled else more
        free = foreseen.trial(more, plenum, found.gate).surplus(m.mechanical_efficiency)
        if not held < free < 0.0:
            return 1.0 if held >= free else _LEAST_SHARE
        return max(1.0 / (1.0 + _DOUBT * (held / free - 1.0)), _LEAST_SHARE)

    def _least(self, foreseen: Foreseen) -> float:
        """Pressure behind the cooler of a compressor that gives as good as nothing [Pa]."""
        air = foreseen.air
        return _NOTHING * foreseen.inlet(air) - self.machine.cooler.loss(air)


def _near(
    function: Callable[[float], float], low: float, high: float, f_low: float, f_high: float, guess: float
) -> float:
    """`crossing`, with the bounds drawn in around a guess first."""
    if low < guess < high:
        value = function(guess)
        if value == 0.0:
            return guess
        if value > 0.0:
            low, f_low = guess, value
        else:
            high, f_high = guess, value
    return crossing(function, low, high, f_low, f_high)


def _ripple(machine: Turbocharger, balance: Balance, seen: Seen, speed: float) -> float:
    """Swing of the shaft's speed over a cycle: the pulse's power follows flow times temperature's drop."""
    excess = np.maximum(seen.exhaust_pressure / balance.behind, 1.0)
    shape = seen.outlet_flow * seen.exhaust_temperature * (1.0 - excess**-0.23)
    mean = float(shape.mean())
    if mean <= 0.0 or balance.compression.speed <= 0.0:
        return 0.0
    power = balance.turbine_power / machine.count * (shape / mean - 1.0)
    work = np.cumsum(power) * (math.pi / 180.0) / speed
    return float(np.ptp(work)) / (machine.inertia * balance.compression.speed**2)
