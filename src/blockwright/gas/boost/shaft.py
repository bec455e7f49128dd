r"""The balance of a turbocharger's shaft over an engine cycle, from what the last cycle showed.

The last cycle ran with the present outlet area, back pressure and charge.  What a *trial* charge and
wastegate would do is foreseen from it:

* air flow with the density of the charge: m' = m (p'/p)(T/T');
* the exhaust's temperature and the shape of its pulse stay; its level p' = p_b' + k (p - p_b) moves until
  the flow through the new area is m'.

At the settled state the trial is the present state (k = 1), so that what is foreseen is what was seen:
the result does not depend on these two statements, only the number of cycles does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model import Breathing, OperatingPoint
from ..steering import Seen
from . import kernels
from .compressor import Compression, Compressor, Cooler, Surroundings
from .swallowing import blow_by, swallowed
from .turbine import Exhaust, Turbine, Wastegate, exhaust_gas, pressure_behind

Array = NDArray[np.float64]

#: Passes in which a trial's level, back pressure, swallowing and charge temperature find each other.
_PASSES = 6
#: Bounds of the stretch of the pulse in one pass.
_STRETCH = (0.4, 2.5)


@dataclass(frozen=True)
class Turbocharger:
    """One or several alike, in parallel, with what surrounds them.

    Attributes
    ----------
    surroundings : Surroundings
    compressor, turbine, wastegate : of one turbocharger
    cooler : Cooler
        Of the whole engine.
    count : int
    mechanical_efficiency : float
        Of one shaft's bearings [-].
    inertia : float
        Of one rotor [kg m2].
    back_loss, back_diameter : float
        Loss coefficient and diameter of the pipe behind each turbine [-], [m].
    inlet_drop, inlet_flow : float
        Pressure drop before the compressor [Pa] at an air flow of the whole engine [kg/s].
    evaporation_share, charge_heating : float
        Share of the fuel's heat of evaporation that cools the air [-]; heating on the way to the valve [K].
    """

    surroundings: Surroundings
    compressor: Compressor
    turbine: Turbine
    wastegate: Wastegate
    cooler: Cooler
    evaporation_share: float
    charge_heating: float
    back_loss: float
    back_diameter: float
    inertia: float
    inlet_drop: float
    inlet_flow: float
    count: int = 1
    mechanical_efficiency: float = 0.96


@dataclass(frozen=True)
class Balance:
    """A turbocharged engine's surroundings at one trial; powers of all shafts together.

    Attributes
    ----------
    delivered, plenum_pressure, plenum_temperature : float
        Behind the cooler; ahead of the valve side's throttle; of the charge there [Pa, Pa, K].
    charge_temperature : float
        Of the air behind the cooler [K].
    air : float
        Air flow of the whole engine, with its humidity [kg/s].
    compression : Compression
        Of one.
    gate : float
        Effective area of one wastegate [m2].
    swallowing : float
        Effective area of one turbine [m2].
    behind, before : float
        Pressure behind the turbine; mean before it [Pa].
    behind_temperature : float
        Mixed gas of turbine and wastegate [K].
    gas_flow : float
        Exhaust of the whole engine [kg/s].
    turbine_power, isentropic_power, compressor_power : float
        [W]
    speed_ratio : float
        Blade speed over spouting velocity of the mean expansion [-].
    pulse_factor : float
        Isentropic power of the pulsating gas over that of steady gas of the same mean pressure and flow.
    stretch : float
        Of the pulse, 1 when settled [-].
    """

    delivered: float
    plenum_pressure: float
    plenum_temperature: float
    charge_temperature: float
    air: float
    compression: Compression
    gate: float
    swallowing: float
    behind: float
    before: float
    behind_temperature: float
    gas_flow: float
    turbine_power: float
    isentropic_power: float
    compressor_power: float
    speed_ratio: float
    pulse_factor: float
    stretch: float

    def surplus(self, mechanical_efficiency: float) -> float:
        """What the turbine gives more than the compressor takes, over the latter [-]."""
        scale = max(self.compressor_power, 1.0)
        return (mechanical_efficiency * self.turbine_power - self.compressor_power) / scale


class Foreseen:
    """What trials would do, from one seen cycle."""

    def __init__(
        self, machine: Turbocharger, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> None:
        self.machine, self.point, self.seen = machine, point, seen
        self.area = breathing.outlet_area
        self.pressure = np.ascontiguousarray(seen.exhaust_pressure, dtype=np.float64)
        self.temperature = np.ascontiguousarray(seen.exhaust_temperature, dtype=np.float64)
        self.behind = point.exhaust_pressure
        self.gas: Exhaust = exhaust_gas(
            point, float(self.temperature.mean()), float(max(self.pressure.mean(), 1e3))
        )
        flow, _, _, heat, _ = self._sums(1.0, self.behind, 0.0)
        #: Mean temperature of what flows [K].
        self.hot = heat / flow if flow > 0.0 else float(self.temperature.mean())
        swallows = swallowed(breathing, seen)
        #: Air of the engine, with its humidity [kg/s].
        self.air = seen.air_flow * (1.0 + point.vapour) * swallows / max(seen.total_flow, 1e-9)
        #: Exhaust before the turbine [kg/s].
        self.flow = max(swallows - blow_by(seen), 1e-9)
        #: The engine's own outlet law over ours: its gas varies over the cycle.
        self.law = max(float(np.mean(seen.outlet_flow)), 1e-9) / max(flow * self.area, 1e-12)

    def _sums(self, stretch: float, behind: float, blade: float) -> tuple[float, float, float, float, float]:
        found: tuple[float, float, float, float, float] = kernels.exhaust_sums(
            stretch, self.behind, behind, blade, self.machine.turbine.best_speed_ratio,
            self.gas.gas_constant, self.gas.gamma, self.pressure, self.temperature,
        )  # fmt: skip
        return found

    def charge(self, air: float, plenum: float) -> float:
        """Temperature of the charge [K] at a pressure [Pa] from that of the air behind the cooler [K]."""
        from ..from_build import charge_temperature  # the build's side imports this package

        m = self.machine
        return charge_temperature(
            air, plenum, self.point.fuel, self.point.lambda_, m.evaporation_share, m.charge_heating
        )

    def inlet(self, air: float) -> float:
        """Pressure at the compressor's inlet [Pa] at an air flow of the engine [kg/s]."""
        m = self.machine
        outside = m.surroundings.pressure
        return max(outside - m.inlet_drop * (air / m.inlet_flow) ** 2, 0.5 * outside)

    def _compressed(self, air: float, delivered: float) -> Compression:
        """One compressor at an air flow of the engine [kg/s] and a pressure behind the cooler [Pa]."""
        m, inlet = self.machine, self.inlet(air)
        ratio = (delivered + m.cooler.loss(air)) / inlet
        return m.compressor.run(air / m.count, inlet, m.surroundings.temperature, ratio)

    def trial(self, delivered: float, plenum: float, gate: float) -> Balance:
        """Everything at pressures behind the cooler and in the plenum [Pa], and one wastegate's area [m2]."""
        m, point = self.machine, self.point
        charge = point.plenum_temperature
        wet = self.air
        stretch, behind = 1.0, self.behind
        level, exponent = float(self.pressure.mean()), (self.gas.gamma - 1.0) / self.gas.gamma
        compression = self._compressed(wet, delivered)
        # As if the shaft were in balance already, as it is in the end.
        taken = compression.power * m.count / m.mechanical_efficiency
        hot = max(self.hot - taken / (self.flow * self.gas.cp), 0.5 * self.hot)
        speed_ratio, scale = m.turbine.best_speed_ratio, 1.0
        swallowing = blade = isentropic = work = cooled = 0.0
        for _ in range(_PASSES):
            scale = plenum / point.plenum_pressure * point.plenum_temperature / charge
            air = wet * scale
            compression = self._compressed(air, delivered)
            cooled = m.cooler.leaves(compression.outlet_temperature)
            charge = self.charge(cooled, plenum)
            blade = 0.5 * m.turbine.diameter * compression.speed
            passed = self.flow * scale
            behind = pressure_behind(
                passed / m.count, hot, self.gas.gas_constant, m.surroundings.pressure,
                m.back_loss, m.back_diameter,
            )  # fmt: skip
            expansion = max(level / behind, 1.0 + 1e-4)
            spout = math.sqrt(
                2.0 * self.gas.cp * float(self.temperature.mean()) * (1.0 - expansion**-exponent)
            )
            speed_ratio = blade / spout
            swallowing = m.turbine.effective_area(expansion, speed_ratio, self.gas.gamma)
            area = m.count * (swallowing + gate) * self.law
            flow, drop, work, heat, level = self._sums(stretch, behind, blade)
            share = passed * swallowing / (swallowing + gate) / max(flow, 1e-12)
            isentropic = share * drop
            work = m.turbine.best_efficiency * share * work
            hot = max(heat / max(flow, 1e-12) - work / (passed * self.gas.cp), 300.0)
            # The level follows the flow: in proportion when choked, with its square root's inverse when not.
            held = expansion > 1.8
            step = (passed / max(area * flow, 1e-12)) ** (1.0 if held else 1.6)
            excess = level - behind
            wanted = (level * step - behind) / max(excess, 1.0) if held else step
            stretch *= min(max(wanted, _STRETCH[0]), _STRETCH[1])
        steady = 1.0 - max(level / behind, 1.0 + 1e-9) ** -exponent
        through = self.flow * scale * swallowing / (swallowing + gate)
        return Balance(
            delivered=delivered,
            plenum_pressure=plenum,
            plenum_temperature=charge,
            charge_temperature=cooled,
            air=compression.flow * m.count,
            compression=compression,
            gate=gate,
            swallowing=swallowing,
            behind=behind,
            before=level,
            behind_temperature=hot,
            gas_flow=self.flow * scale,
            turbine_power=work,
            isentropic_power=isentropic,
            compressor_power=compression.power * m.count,
            speed_ratio=speed_ratio,
            pulse_factor=isentropic
            / max(through * self.gas.cp * float(self.temperature.mean()) * steady, 1e-9),
            stretch=stretch,
        )
