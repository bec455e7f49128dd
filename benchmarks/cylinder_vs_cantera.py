"""Our closed cycle against the same cycle written with Cantera's reactor network.

The same physics in both: slider-crank volume, a fresh charge burned by Wiebe's law into gas in chemical
equilibrium at the common temperature and pressure, frozen below 1600 K, adiabatic walls.  Cantera's side:
an ideal-gas reactor with a moving wall integrates each half degree; between the steps the burned share
is brought to equilibrium at the cylinder's energy and volume.

    python benchmarks/cylinder_vs_cantera.py

prints the ratio of times and the difference of peak pressures, and writes them to benchmarks/results.md.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass

import numpy as np

from blockwright.gas import Breathing, OperatingPoint, Trapped, closed
from blockwright.gas.combustion import wiebe, wiebe_window
from blockwright.gas.valves import area_from_diameter, lift_on_cycle

FUEL = "iso-octane"


@dataclass(frozen=True)
class Case:
    """One closed cycle."""

    ratio: float = 10.0
    rpm: float = 6000.0
    lambda_: float = 0.9
    pressure: float = 1.05e5
    temperature: float = 370.0
    ca10: float = -8.0
    burn: float = 28.0


def breathing(case: Case) -> Breathing:
    """An invented cylinder around the case."""
    bore, stroke = 0.0960, 0.0880
    swept = 0.25 * math.pi * bore**2 * stroke
    intake = area_from_diameter(lift_on_cycle(330.0, 590.0, 0.012), 0.048, 1)
    exhaust = area_from_diameter(lift_on_cycle(130.0, 390.0, 0.012), 0.040, 1, exhaust=True)
    return Breathing(
        bore=bore, stroke=stroke, rod=0.145, clearance_volume=swept / (case.ratio - 1.0),
        firing=np.zeros(1), intake_area=intake, exhaust_area=exhaust, plenum_volume=1e-3,
        exhaust_volume=1e-3, throttle_area=1e-3, outlet_area=1e-3,
    )  # fmt: skip


def point(case: Case) -> OperatingPoint:
    """Its operating point: adiabatic, all burns."""
    return OperatingPoint(
        speed=case.rpm * math.pi / 30.0, plenum_pressure=1e5, plenum_temperature=300.0, exhaust_pressure=1e5,
        lambda_=case.lambda_, fuel=FUEL, ca10=case.ca10, burn_10_90=case.burn, heat_factor=0.0,
        combustion_efficiency=1.0,
    )  # fmt: skip


def trapped(case: Case) -> Trapped:
    """The charge, without residual gas."""
    engine, running = breathing(case), point(case)
    share = running.charge()
    constant = float(share[:4] @ running.gas.constants[9:13])
    room = float(engine.volume(np.array(-120.0)))
    mass = case.pressure * room / (constant * case.temperature)
    return Trapped(-120.0, case.pressure, case.temperature, mass * share)


def ours(case: Case) -> np.ndarray:
    """Pressure at whole degrees, shape (720,) [Pa]."""
    return np.asarray(closed(breathing(case), trapped(case), point(case))[0])


def by_cantera(case: Case, step: float = 0.5) -> np.ndarray:
    """The same with Cantera."""
    import cantera as ct

    from blockwright.gas.tables import make

    engine, running, charge = breathing(case), point(case), trapped(case)
    gas, ash = make.solution(make.FUELS[FUEL]), make.products()
    gas.set_equivalence_ratio(1.0 / case.lambda_, make.FUELS[FUEL], make.AIR)
    gas.TP = case.temperature, case.pressure
    fresh = gas.Y.copy()
    at = [gas.species_index(name) for name in ash.species_names]
    atoms = {e: gas.elemental_mole_fraction(e) for e in ash.element_names}
    start = {"CO": atoms["C"], "O": atoms["O"] - atoms["C"], **{e: atoms[e] for e in ("H", "N", "Ar")}}
    ash.TPX = make.FREEZE, make.FREEZE_PRESSURE, start
    ash.equilibrate("TP")
    mass, omega = float(charge.masses.sum()), running.speed
    area = 0.25 * math.pi * engine.bore**2
    reactor = ct.IdealGasReactor(gas, energy="on", clone=False)
    reactor.chemistry_enabled = False
    reactor.volume = float(engine.volume(np.array(charge.angle)))
    wall = ct.Wall(reactor, ct.Reservoir(ct.Solution("air.yaml"), clone=False), A=area)
    angle_0 = charge.angle

    def piston_speed(t: float) -> float:
        angle = math.radians(angle_0) + omega * t
        crank = 0.5 * engine.stroke
        side = crank * math.sin(angle)
        lever = crank * math.sin(angle) + side * crank * math.cos(angle) / math.sqrt(engine.rod**2 - side**2)
        return omega * lever

    wall.velocity = piston_speed
    net = ct.ReactorNet([reactor])
    net.rtol, net.atol = 1e-8, 1e-15
    begin, length = wiebe_window(case.ca10, case.burn)
    whole = float(wiebe(begin + length, begin, length))
    pressure = np.full(720, np.nan)
    pressure[int(angle_0) % 720] = case.pressure
    end = math.floor(engine.exhaust_opens)
    steps = round((end - angle_0) / step)
    for k in range(1, steps + 1):
        angle = angle_0 + k * step
        net.advance(math.radians(angle - angle_0) / omega)
        burned = float(wiebe(angle, begin, length)) / whole
        if burned > 0.0:
            # The reactor's own energy and volume; find the common temperature with burned gas in equilibrium.
            t = reactor.T  # brings the gas up to the reactor's state
            energy, room, p = gas.int_energy_mass, reactor.volume, gas.P
            for _ in range(30):
                ash.TP = (t, p) if t >= make.FREEZE else (make.FREEZE, make.FREEZE_PRESSURE)
                ash.equilibrate("TP")
                mixed = (1.0 - burned) * fresh
                mixed[at] += burned * ash.Y
                gas.TDY = t, mass / room, mixed
                dt = (energy - gas.int_energy_mass) / gas.cv_mass
                t, p = t + 0.8 * dt, gas.P
                if abs(dt) < 1e-3:
                    break
            gas.UVY = energy, room / mass, mixed
            reactor.syncState()
            net.reinitialize()
        if abs(angle - round(angle)) < 1e-9:
            pressure[round(angle) % 720] = gas.P
    return pressure


def best_time(function, repeats: int) -> float:
    """Shortest of some runs [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> int:
    """Compare, print, store; 1 when a limit is missed."""
    case = Case()
    mine, theirs = ours(case), by_cantera(case)  # also compiles
    batch = 200
    engine, charge, running = breathing(case), trapped(case), point(case)
    many = np.full(batch, running.ca10)
    one = best_time(lambda: closed(engine, charge, running, ca10=many), 7) / batch
    other = best_time(lambda: by_cantera(case), 3)
    difference = np.nanmax(mine) / np.nanmax(theirs) - 1.0
    peaks = f"{np.nanmax(mine) / 1e5:.2f} against {np.nanmax(theirs) / 1e5:.2f} bar"
    line = (
        f"closed cycle: ours {one * 1e3:.3f} ms, Cantera {other * 1e3:.0f} ms, ratio {other / one:.0f} "
        f"(at least 50); peak pressure {peaks}, {difference:+.2%} (within 1 %)"
    )
    # Found beside this file when it is run as a script; a test that imports it does not need it.
    from record import record

    record("cylinder against Cantera,", line)
    return 0 if other / one >= 50.0 and abs(difference) <= 0.01 else 1


if __name__ == "__main__":
    sys.exit(main())
