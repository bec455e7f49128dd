"""A driven charger set anew between cycles: the boost at which it delivers what the engine swallows."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from ...errors import InputError
from ..crossing import crossing
from ..model import Breathing, OperatingPoint
from ..steering import Seen
from ..valves import flow_coefficient
from .blower import Delivery, Machine
from .compressor import Cooler, Surroundings
from .map import AIR_CONSTANT
from .swallowing import swallowed

#: Largest step of a pressure between two engine cycles, in logarithms.
_STEP = 0.25
#: Pressures behind the cooler over the surroundings' between which the boost is sought.
_RANGE = (0.4, 8.0)
#: Least share of a step of the boost that is taken where the boost follows from the flow.
_LEAST_SHARE = 0.3
#: Step of the boost for slopes.
_SLOPE = 1e-2
#: Passes in which inlet, charge temperature and bypassed air find each other.
_PASSES = 8

BYPASS, MACHINE, BYPASS_OPEN, DRIVE = "bypass", "machine", "bypass open", "drive"
CONTROLS = ("bypass", "drive", "none")


@dataclass(frozen=True)
class BlowerMatch:
    """A blown engine at work.

    Attributes
    ----------
    limit : str
        ``"bypass"`` (it holds the wanted boost), ``"machine"`` (all that it delivers), ``"bypass open"`` (it
        passes no more, the boost is above what is wanted), ``"drive"`` (the drive ratio was found for it).
    wanted, plenum_pressure, plenum_temperature, charge_temperature : float
        [Pa], [Pa], of the charge and of the air behind the cooler [K].
    drive_ratio : float
        Turns of the charger's shaft per turn of the crank [-].
    delivery : Delivery
    air, bypassed : float
        Into the engine, and back to the inlet [kg/s].
    shaft_power : float
        Taken from the crank [W].
    charger_work : float
        Per dry air [J/kg].
    tip_limit : float
        [m/s]; nan for rotors.
    """

    limit: str
    wanted: float
    plenum_pressure: float
    plenum_temperature: float
    charge_temperature: float
    drive_ratio: float
    delivery: Delivery
    air: float
    bypassed: float
    shaft_power: float
    charger_work: float
    tip_limit: float


@dataclass(frozen=True)
class BlowerSteering:
    """Steers a blown engine.  It keeps no state; a near point restarts it.

    Attributes
    ----------
    wanted : float
        Plenum pressure wanted, absolute [Pa].
    machine : Machine
    surroundings : Surroundings
    cooler : Cooler
    drive_ratio : float
        Turns of the charger's shaft per turn of the crank; for control ``"drive"`` only a first guess [-].
    evaporation_share, charge_heating, inlet_drop, inlet_flow : float
        As of `shaft.Turbocharger`.
    control : str
        ``"bypass"``: a valve lets the air above the wanted boost back to the inlet; ``"drive"``: the drive
        ratio is found that gives the wanted boost; ``"none"``: the boost follows.
    bypass_area : float
        Effective, wide open [m2].
    drive_efficiency : float
        Of belt, gears and bearings [-].
    tip_limit : float
        Of a wheel [m/s].
    """

    wanted: float
    machine: Machine
    surroundings: Surroundings
    cooler: Cooler
    drive_ratio: float
    evaporation_share: float
    charge_heating: float
    inlet_drop: float
    inlet_flow: float
    control: str = "none"
    bypass_area: float = 0.0
    drive_efficiency: float = 0.96
    tip_limit: float = math.nan

    def __post_init__(self) -> None:
        if self.control not in CONTROLS:
            raise InputError(f"control is {self.control!r}; it is one of {', '.join(CONTROLS)}")
        if not (math.isfinite(self.wanted) and self.wanted > 0.0):
            raise InputError(f"the wanted charge pressure is {self.wanted:g} Pa; it must be positive")
        if not (math.isfinite(self.drive_ratio) and self.drive_ratio > 0.0):
            raise InputError(f"the drive ratio is {self.drive_ratio:g}; it must be positive")
        if not 0.0 < self.drive_efficiency <= 1.0:
            raise InputError(f"the drive's efficiency is {self.drive_efficiency:g}; it lies in 0..1")

    def with_boost(self, pressure: float) -> BlowerSteering:
        """The same machine steered to another plenum pressure [Pa, absolute]."""
        return replace(self, wanted=pressure)

    def with_drive(self, ratio: float) -> BlowerSteering:
        """The same machine on another pulley: the boost follows, or the bypass holds it."""
        return replace(self, drive_ratio=ratio, control="bypass" if self.bypass_area > 0.0 else "none")

    def first(self, point: OperatingPoint, breathing: Breathing) -> tuple[OperatingPoint, Breathing]:
        """The wanted boost is near enough."""
        return replace(point, plenum_pressure=self.wanted), breathing

    def step(
        self, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> tuple[OperatingPoint, Breathing, float]:
        """Surroundings for the next cycle, and the largest relative change that they would still make."""
        trial = _Trial(self, point, breathing, seen)
        match = self._matched(trial)
        rise = math.log(match.plenum_pressure / point.plenum_pressure)
        heat = math.log(match.plenum_temperature / point.plenum_temperature)
        work = match.charger_work - point.charger_work
        # The work is taken from the crank: its change counts over the fuel's heat that becomes work.
        fuel = point.gas.heating_value * point.fuel_per_air
        change = max(abs(rise), abs(heat), abs(work) / (0.3 * fuel))
        # A boost that follows from the flow, m ~ p/T, is wrong by the flow's error over 1 - dlnT/dlnp.
        follows = match.limit in (MACHINE, BYPASS_OPEN)
        share = max(1.0 - trial.warming, _LEAST_SHARE) if follows else 1.0
        step, warmer = (min(max(share * x, -_STEP), _STEP) for x in (rise, heat))
        point = replace(
            point,
            plenum_pressure=point.plenum_pressure * math.exp(step),
            plenum_temperature=point.plenum_temperature * math.exp(warmer),
            charger_work=match.charger_work,
        )
        return point, breathing, change

    def match(self, point: OperatingPoint, breathing: Breathing, seen: Seen) -> BlowerMatch:
        """Figures at the balance foreseen from a seen cycle; at a settled state, those of that state."""
        return self._matched(_Trial(self, point, breathing, seen))

    def _matched(self, trial: _Trial) -> BlowerMatch:
        point, outside = trial.point, self.surroundings.pressure
        ratio, limit, bypass = self.drive_ratio, MACHINE, 0.0
        low, high = (share * outside for share in _RANGE)
        if self.control == "drive":
            slow, fast = (w / point.speed for w in (self.machine.slowest, self.machine.fastest))
            pressure = self.wanted

            def lacks(x: float) -> float:
                return -trial.surplus(pressure, x, 0.0)

            f_slow, f_fast = lacks(slow), lacks(fast)
            if f_slow > 0.0 > f_fast:
                ratio, limit = crossing(lacks, slow, fast, f_slow, f_fast), DRIVE
            else:
                ratio = fast if f_fast >= 0.0 else slow
                pressure = _boost(lambda p: trial.surplus(p, ratio, 0.0), low, high, point.plenum_pressure)
        else:
            over = self.control == "bypass" and trial.surplus(self.wanted, ratio, 0.0) > 0.0
            if not over:
                pressure = _boost(lambda p: trial.surplus(p, ratio, 0.0), low, high, point.plenum_pressure)
            elif trial.surplus(self.wanted, ratio, self.bypass_area) <= 0.0:
                pressure, limit = self.wanted, BYPASS
                bypass = self._bypass(trial)
            else:
                limit, bypass = BYPASS_OPEN, self.bypass_area
                pressure = _boost(lambda p: trial.surplus(p, ratio, bypass), self.wanted, high, self.wanted)
        return trial.match(pressure, ratio, bypass, limit)

    def _bypass(self, trial: _Trial) -> float:
        def left(area: float) -> float:
            return trial.surplus(self.wanted, self.drive_ratio, area)

        return crossing(left, 0.0, self.bypass_area, left(0.0), left(self.bypass_area))


def _boost(surplus: Callable[[float], float], low: float, high: float, guess: float) -> float:
    f_low, f_high = surplus(low), surplus(high)
    if f_low <= 0.0:
        return low
    if f_high >= 0.0:
        return high
    if low < guess < high:
        value = surplus(guess)
        if value == 0.0:
            return guess
        if value > 0.0:
            low, f_low = guess, value
        else:
            high, f_high = guess, value
    return crossing(surplus, low, high, f_low, f_high)


class _Trial:
    """What a boost, a drive ratio and a bypass would do, foreseen from a seen cycle."""

    def __init__(
        self, steering: BlowerSteering, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> None:
        self.steering, self.point = steering, point
        drawn = seen.air_flow * (1.0 + point.vapour)
        #: Air of the engine, with its humidity [kg/s].
        self.air = max(drawn, 1e-9)
        #: Share of a rise of the boost by which the charge grows hotter [-].
        self.warming = self._warming()
        flow = swallowed(breathing, seen, self.warming)
        self.air = max(drawn * flow / max(seen.total_flow, 1e-9), 1e-9)

    def _warming(self) -> float:
        """Of the charge with the boost, both in logarithms, at the flow seen [-]."""
        pressure, ratio = self.point.plenum_pressure, self.steering.drive_ratio
        low, high = (self._passes(pressure * (1.0 + d), ratio, 0.0)[4] for d in (-_SLOPE, _SLOPE))
        return min(max(math.log(high / low) / (2.0 * _SLOPE), 0.0), 1.0)

    def _passes(
        self, pressure: float, ratio: float, bypass: float
    ) -> tuple[Delivery, float, float, float, float]:
        """Delivery, air into the engine, bypassed air, air's and charge's temperature."""
        from ..from_build import charge_temperature  # the build's side imports this package

        s, point = self.steering, self.point
        wet = self.air
        charge, outside = point.plenum_temperature, s.surroundings.pressure
        inlet_temperature, through, back = s.surroundings.temperature, wet, 0.0
        for _ in range(_PASSES):
            air = wet * pressure / point.plenum_pressure * point.plenum_temperature / charge
            through = air + back
            inlet = max(outside - s.inlet_drop * (air / s.inlet_flow) ** 2, 0.5 * outside)
            delivered = pressure + s.cooler.loss(through)
            delivery = s.machine.deliver(ratio * point.speed, inlet, inlet_temperature, delivered / inlet)
            cooled = s.cooler.leaves(delivery.outlet_temperature)
            if bypass > 0.0 and pressure > inlet:
                back = bypass * pressure / math.sqrt(AIR_CONSTANT * cooled)
                back *= float(flow_coefficient(inlet / pressure))
            mixed = s.surroundings.temperature * air + cooled * back
            inlet_temperature = min(mixed / (air + back), 2.0 * s.surroundings.temperature)
            charge = charge_temperature(
                cooled, pressure, point.fuel, point.lambda_, s.evaporation_share, s.charge_heating
            )
        return delivery, air, back, cooled, charge

    def surplus(self, pressure: float, ratio: float, bypass: float) -> float:
        """What is delivered more than engine and bypass take, over the engine's flow [-]."""
        delivery, air, back, _, _ = self._passes(pressure, ratio, bypass)
        return (delivery.flow - back) / air - 1.0

    def match(self, pressure: float, ratio: float, bypass: float, limit: str) -> BlowerMatch:
        """All figures."""
        s = self.steering
        delivery, air, back, cooled, charge = self._passes(pressure, ratio, bypass)
        shaft = delivery.power / s.drive_efficiency
        return BlowerMatch(
            limit=limit,
            wanted=s.wanted,
            plenum_pressure=pressure,
            plenum_temperature=charge,
            charge_temperature=cooled,
            drive_ratio=ratio,
            delivery=delivery,
            air=air,
            bypassed=back,
            shaft_power=shaft,
            charger_work=shaft / air * (1.0 + self.point.vapour),
            tip_limit=s.tip_limit,
        )
