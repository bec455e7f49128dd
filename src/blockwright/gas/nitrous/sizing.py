"""From a wanted power to jets and back, as curves over the bottle's temperature and pressure."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...build import catalogue
from ...errors import InputError, OutsideValidity
from ..monotone import monotone_cubic
from .charge import stoichiometric_ratio
from .feed import Line, through
from .inlet import Inlet, liquid, vapour
from .jet import Jet, jet_flow
from .root import root
from .saturation import critical_temperature, saturation_pressure

Array = NDArray[np.float64]

#: A first guess of nitrous oxide per power gained [kg/J]: about 0.7 g/s for each kW.
_GUESS = 7e-7


@dataclass(frozen=True)
class SizedFlow:
    """Nitrous oxide for a wanted power.

    Attributes
    ----------
    flow : float
        [kg/s]
    power, without : float
        With and without it [W].
    tried : tuple of (float, float)
        Flows and powers computed on the way [kg/s], [W].
    """

    flow: float
    power: float
    without: float
    tried: tuple[tuple[float, float], ...]


def flow_for_power(
    power: Callable[[float], float], wanted: float, *, most: float = 1.0, tolerance: float = 1e-3
) -> SizedFlow:
    """Flow of nitrous oxide that gives a wanted power.

    Parameters
    ----------
    power : callable
        Power [W] of the engine at a flow [kg/s] with the fuel that goes with it: the gas model.
    wanted : float
        Power of the engine with nitrous oxide [W].
    most : float
        Largest flow to look at [kg/s].
    tolerance : float
        Of the power, relative [-].

    Raises
    ------
    InputError
        When the engine makes the wanted power without.
    OutsideValidity
        When it does not make it with the largest flow.
    """
    tried: list[tuple[float, float]] = []

    def at(flow: float) -> float:
        for known, value in tried:
            if known == flow:
                return value
        tried.append((flow, power(flow)))
        return tried[-1][1]

    base = at(0.0)
    if not wanted > base:
        raise InputError(
            f"{wanted / 1e3:.0f} kW was wanted; the engine makes {base / 1e3:.0f} kW without nitrous oxide"
        )
    low, high = 0.0, min(_GUESS * (wanted - base), most)
    while at(high) < wanted:
        if high >= most:
            raise OutsideValidity(
                f"with {most * 1e3:.0f} g/s of nitrous oxide the engine makes {at(high) / 1e3:.0f} kW, "
                f"less than the {wanted / 1e3:.0f} kW wanted"
            )
        low, high = high, min(1.5 * high, most)
    slope = (at(high) - at(low)) / (high - low)
    flow = root(
        lambda m: at(m) - wanted, low, high, tolerance * wanted / max(slope, 1.0), "nitrous flow",
        (at(low) - wanted, at(high) - wanted),
    )  # fmt: skip
    return SizedFlow(flow, at(flow), base, tuple(tried))


def jet_for_flow(
    flow: float, inlet: Inlet, back_pressure: float, *, count: int = 1, shape: str = "drilled",
    discharge: float | None = None, line: Line | None = None,
) -> Jet:  # fmt: skip
    """Holes that pass a flow from one bottle state.

    Raises
    ------
    OutsideValidity
        When the line lets no such flow through, whatever the jets.
    """
    if not flow > 0.0:
        raise InputError(f"a flow of {flow:g} kg/s was wanted; it must be above 0")
    unit = Jet(1e-3, count, shape, discharge)
    first = 1e-3 * math.sqrt(flow / max(float(jet_flow(inlet, unit, back_pressure).flow), 1e-12))
    if line is None:
        return Jet(first, count, shape, discharge)

    def excess(diameter: float) -> float:
        return through(inlet, Jet(diameter, count, shape, discharge), back_pressure, line)[0] - flow

    high = first
    while excess(high) < 0.0:
        high *= 1.3
        if high > 6.0 * first or high * math.sqrt(count) > line.diameter:
            raise OutsideValidity(
                f"a line of {line.diameter * 1e3:.1f} mm does not pass {flow * 1e3:.0f} g/s of nitrous oxide"
            )
    low = 0.99 * first
    diameter = root(excess, low, high, 1e-8, "diameter of the nitrous jet")
    return Jet(diameter, count, shape, discharge)


def fuel_jet_for_flow(
    flow: float, fuel: str, pressure: float, back_pressure: float, *, count: int = 1
) -> Jet:
    """Fuel jets that pass a flow [kg/s]; pressures absolute [Pa]."""
    if not (flow > 0.0 and pressure > back_pressure):
        raise InputError(
            f"{flow * 1e3:.1f} g/s of fuel at {pressure / 1e5:.2f} bar into {back_pressure / 1e5:.2f} bar: "
            "both the flow and the pressure over the jet must be above 0"
        )
    discharge = catalogue.row("model", "nitrous.fuel_discharge").si("value")
    density = catalogue.row("fuel", fuel).si("density")
    area = flow / (discharge * math.sqrt(2.0 * density * (pressure - back_pressure)))
    return Jet(math.sqrt(4.0 * area / (math.pi * count)), count, "drilled", discharge)


@dataclass(frozen=True)
class JetCurve:
    """Jets for one power over the bottle's temperature.

    Attributes
    ----------
    temperature, pressure : ndarray, shape (n,)
        Of the bottle [K], [Pa].
    diameter, spread : ndarray, shape (n,)
        Of each nitrous jet, and its standard uncertainty [m].
    fuel_diameter : float
        Of each fuel jet; it does not ask for the bottle [m].
    flow, fuel_flow : float
        [kg/s]
    sized : SizedFlow
    """

    temperature: Array
    pressure: Array
    diameter: Array
    spread: Array
    fuel_diameter: float
    flow: float
    fuel_flow: float
    sized: SizedFlow


def jets_for_power(
    power: Callable[[float], float],
    wanted: float,
    temperatures: Sequence[float] | Array,
    *,
    fuel: str,
    shot_lambda: float,
    fuel_pressure: float,
    back_pressure: float,
    count: int = 1,
    shape: str = "drilled",
    line: Line | None = None,
    from_liquid: bool = True,
    most: float = 1.0,
) -> JetCurve:
    """Jets that make a wanted power, at each bottle temperature.

    Parameters
    ----------
    power : callable
        As in `flow_for_power`.
    wanted : float
        [W]
    temperatures : sequence of float
        Of the bottle, below 36.4 C [K].
    fuel : str
        Catalogue name of the enrichment fuel.
    shot_lambda : float
        Nitrous oxide over enrichment fuel, over its stoichiometric ratio; below 1 for rich [-].
    fuel_pressure, back_pressure : float
        Of the fuel and of the manifold, absolute [Pa].
    count, shape, line, from_liquid : see `Jet`, `Line`, `Bottle`
    most : float
        As in `flow_for_power` [kg/s].

    Returns
    -------
    JetCurve
    """
    if not shot_lambda > 0.0:
        raise InputError(f"lambda of the shot is {shot_lambda:g}; it must be positive")
    t = np.asarray(temperatures, dtype=np.float64)
    pressure = np.asarray(saturation_pressure(t))
    sized = flow_for_power(power, wanted, most=most)
    diameters, spreads = np.empty_like(t), np.empty_like(t)
    for i, value in enumerate(t):
        inlet = liquid(float(value)) if from_liquid else vapour(float(value))
        jet = jet_for_flow(sized.flow, inlet, back_pressure, count=count, shape=shape, line=line)
        found = jet_flow(through(inlet, jet, back_pressure, line)[1], jet, back_pressure)
        diameters[i] = jet.diameter
        spreads[i] = 0.5 * jet.diameter * float(found.spread / found.flow)  # area goes with its square
    fuel_flow = sized.flow / (shot_lambda * stoichiometric_ratio(fuel))
    fuel_jet = fuel_jet_for_flow(fuel_flow, fuel, fuel_pressure, back_pressure, count=count)
    return JetCurve(t, pressure, diameters, spreads, fuel_jet.diameter, sized.flow, fuel_flow, sized)


@dataclass(frozen=True)
class PowerCurve:
    """Power of given jets over the bottle's temperature.

    Attributes
    ----------
    temperature, pressure : ndarray, shape (n,)
        Of the bottle [K], [Pa].
    flow, flow_spread : ndarray, shape (n,)
        [kg/s]
    power, spread : ndarray, shape (n,)
        And its standard uncertainty by that of the flow [W].
    """

    temperature: Array
    pressure: Array
    flow: Array
    flow_spread: Array
    power: Array
    spread: Array


def power_of_jets(
    power: Callable[[float], float],
    jet: Jet,
    temperatures: Sequence[float] | Array,
    *,
    back_pressure: float,
    line: Line | None = None,
    from_liquid: bool = True,
    runs: int = 4,
) -> PowerCurve:
    """Power that given jets make, at each bottle temperature.

    Parameters
    ----------
    power : callable
        As in `flow_for_power`; it is called `runs` times between the smallest and the largest flow met
        (with their spread), and a shape-keeping cubic goes through.
    jet : Jet
    temperatures : sequence of float
        [K]
    back_pressure : float
        [Pa]

    Returns
    -------
    PowerCurve
    """
    if runs < 3:
        raise InputError("at least 3 runs are needed for a curve")
    t = np.asarray(temperatures, dtype=np.float64)
    pressure = np.asarray(saturation_pressure(t))
    flows, spreads = np.empty_like(t), np.empty_like(t)
    for i, value in enumerate(t):
        inlet = liquid(float(value)) if from_liquid else vapour(float(value))
        before = through(inlet, jet, back_pressure, line)[1]
        found = jet_flow(before, jet, back_pressure)
        flows[i], spreads[i] = float(found.flow), float(found.spread)
    low = max(float((flows - spreads).min()), 0.0)
    places = np.linspace(low, float((flows + spreads).max()), runs)
    powers = np.array([power(float(m)) for m in places])
    more, less = (monotone_cubic(places, powers, flows + sign * spreads) for sign in (1.0, -1.0))
    return PowerCurve(
        t, pressure, flows, spreads, monotone_cubic(places, powers, flows), np.abs(more - less) / 2.0
    )


def temperatures_between(low: float, high: float, count: int = 9) -> Array:
    """Bottle temperatures for a curve [K], cut just below the critical one."""
    return np.linspace(low, min(high, critical_temperature() - 0.2), count)
