"""Sizes that both default rules and checks need: what valves pass, air for a power, lengths by sound."""

from __future__ import annotations

import math

from .draft import Draft

_GAMMA = 1.4
_GAS_CONSTANT = 287.05  # of air, J/(kg K)
#: Air of the flow bench [Pa, K].
_BENCH_PRESSURE, _BENCH_TEMPERATURE = 101325.0, 293.15

#: State at which wheels are sized [Pa, K], and heat capacity of air [J/(kg K)].
_SIZING_PRESSURE, _SIZING_TEMPERATURE, _CP_AIR = 1.0e5, 298.15, 1005.0
#: Exhaust before a turbine when it is sized: temperature [K], gas constant [J/(kg K)], flow function when
#: choked, share through the turbine, fuel per air. Common practice for racing, no source.
_HOT, _R_HOT, _CHOKED, _THROUGH, _FUEL = 1200.0, 289.0, 0.673, 0.8, 0.08
#: Nitrous flow through a jet [kg/(s m2)] and power for it [W/(kg/s)], to a third. Common practice, no source.
JET_FLUX, NITROUS_POWER = 22e3, 1.9e6


def bench_speed(depression: float) -> float:
    """Volume flow, at the state before it, through one square metre of ideal nozzle [m/s].

    R T0 and the isentropic flow function psi = r^(1/g) sqrt(2 g/(g-1) (1 - r^((g-1)/g))) of air at
    20 C and 101.325 kPa, r the pressure ratio of the bench.
    """
    ratio = 1.0 - depression / _BENCH_PRESSURE
    head = 2.0 * _GAMMA / (_GAMMA - 1.0) * (1.0 - math.pow(ratio, (_GAMMA - 1.0) / _GAMMA))
    psi = math.pow(ratio, 1.0 / _GAMMA) * math.sqrt(head)
    return math.sqrt(_GAS_CONSTANT * _BENCH_TEMPERATURE) * psi


def passed(d: Draft, side: str) -> float:
    """Diameter of the ideal round nozzle that passes what the valves of a cylinder do at best [m]."""
    flows = d.series(f"heads.{side}.flow", "flow")
    if not flows:
        raise KeyError(f"heads.{side}.flow")
    most = max(flows)
    return math.sqrt(4.0 / math.pi * most / bench_speed(d.si(f"heads.{side}.depression")))


def one_valve(d: Draft, side: str) -> float:
    """Diameter of one valve as large as all of this side of a cylinder [m]."""
    return math.sqrt(d.count(f"heads.{side}.valves")) * d.si(f"heads.{side}.diameter")


def displacement(d: Draft) -> float:
    """Of the engine [m3]."""
    bore, stroke = d.si("casting.bore"), d.si("crank.stroke")
    return math.pi / 4.0 * bore**2 * stroke * d.count("layout.cylinders")


def sound_length(d: Draft, speed_of_sound: float, degrees: float) -> float:
    """Length along which sound runs there and back in so many degrees at the target speed [m]."""
    return speed_of_sound * math.radians(degrees) / (2.0 * d.si("target.speed"))


def boost_constant(name: str) -> float:
    """A usual figure of chargers from ``models/boost.toml`` [SI]."""
    from . import catalogue

    return catalogue.row("model", f"boost.{name}").si("value")


def pipe_constant(name: str) -> float:
    """A constant of pipes from ``models/pipes.toml`` [SI]."""
    from . import catalogue

    return catalogue.row("model", f"pipes.{name}").si("value")


def machine_air(d: Draft, machine: str) -> float:
    """Air that the target's power wants through one turbocharger (or the blower) [kg/s].

    The power over a brake efficiency (``boost.design_efficiency``) of the fuel that finds oxygen.
    """
    from . import catalogue

    fuel = catalogue.row("fuel", d.word("fuel.kind"))
    energy = fuel.si("lhv") / fuel.si("afr_stoich") * min(1.0, 1.0 / d.si("fuel.lambda"))
    count = d.count("turbo.count") if machine == "turbo" else 1
    return d.si("target.power") / (boost_constant("design_efficiency") * energy * count)


def _pressure_ratio(d: Draft) -> float:
    return 1.0 + d.si("boost.pressure") / d.si("conditions.pressure")


def compressor_wheel(d: Draft, machine: str) -> float:
    """Wheel in the middle of the scaled map at the target's air flow and boost [m]."""
    head = _CP_AIR * _SIZING_TEMPERATURE * (_pressure_ratio(d) ** ((_GAMMA - 1.0) / _GAMMA) - 1.0)
    tip = max(math.sqrt(2.0 * head), 200.0)
    density = _SIZING_PRESSURE / (_GAS_CONSTANT * _SIZING_TEMPERATURE)
    flow = boost_constant("design_flow") * density * math.pi / 4.0 * tip
    return math.sqrt(machine_air(d, machine) / flow)


def turbine_throat(d: Draft) -> float:
    """Throat that passes 0.8 of the exhaust, choked, at a pressure as high as the charge's [m2]."""
    through = _THROUGH * machine_air(d, "turbo") * (1.0 + _FUEL)
    before = _SIZING_PRESSURE * _pressure_ratio(d)
    effective = through * math.sqrt(_R_HOT * _HOT) / (before * _CHOKED)
    return effective / boost_constant("turbine_discharge")


def nitrous_power(d: Draft) -> float:
    """Power from the nitrous system, wanted or roughly from its jets [W]."""
    if "nitrous.power" in d.values:
        return d.si("nitrous.power")
    area = d.count("nitrous.jets") * math.pi / 4.0 * d.si("nitrous.jet") ** 2
    return JET_FLUX * area * NITROUS_POWER


def has_turbine(d: Draft) -> bool:
    """Whether a turbine ends the exhaust that is modelled."""
    return d.word("boost.kind") == "turbo"


def is_log(d: Draft) -> bool:
    """Whether stubs lead into a log manifold."""
    return d.word("exhaust.layout") == "log"
