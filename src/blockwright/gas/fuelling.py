"""Fuel system: injectors, pump, line and carburettor jets for the fuel an engine burns."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, OutsideValidity
from ..trace import Value, formula

Array = NDArray[np.float64]


@formula(
    symbol="m_inj",
    unit="kg/s",
    equation="m_inj = m_fuel/(n D)",
    source="definition of the duty",
)
def injector_flow_needed(fuel_flow: Value, injectors: Value, duty: Value) -> Value:
    """Flow that one open injector must pass.

    Parameters
    ----------
    fuel_flow : array_like
        Of the whole engine [kg/s].
    injectors : array_like
        Number of them.
    duty : array_like
        Share of the time that they are open, 0.8 to 0.9 [-].
    """
    return np.asarray(fuel_flow) / (np.asarray(injectors) * duty)


@formula(
    symbol="dp",
    unit="Pa",
    equation="dp = p_rail - p_manifold",
    source="definition",
)
def injector_pressure(rail_pressure: Value, manifold_pressure: Value) -> Value:
    """Pressure that drives fuel through an injector, both figures absolute or both above the atmosphere [Pa].

    A regulator that follows the manifold keeps it; a fixed rail loses it as the boost rises.
    """
    return np.asarray(rail_pressure) - manifold_pressure


@formula(
    symbol="Q_r",
    unit="m3/s",
    equation="Q_r = (m_inj/rho) sqrt((dp_r/dp) (rho/rho_r))",
    source="sharp-edged hole, m = C A sqrt(2 rho dp); Bernoulli",
    valid="the same discharge coefficient with both fuels; no vapour in the injector",
)
def injector_rating(
    flow: Value, density: Value, pressure: Value, rated_pressure: Value, rated_density: Value
) -> Value:
    """Volume flow an injector must be rated for to pass a mass of another fuel at another pressure.

    Parameters
    ----------
    flow : array_like
        Mass that must pass [kg/s].
    density, rated_density : array_like
        Of the fuel, and of the fluid it is rated with [kg/m3].
    pressure, rated_pressure : array_like
        Across the injector in the engine, and at rating [Pa].
    """
    wide = np.asarray(rated_pressure) / pressure * np.asarray(density) / rated_density
    return np.asarray(flow) / density * np.sqrt(wide)


@formula(
    symbol="m_inj",
    unit="kg/s",
    equation="m_inj = rho_r Q_r sqrt((dp/dp_r) (rho/rho_r))",
    source="sharp-edged hole, m = C A sqrt(2 rho dp); Bernoulli",
    valid="the same discharge coefficient with both fuels; no vapour in the injector",
)
def injector_flow(
    rating: Value, density: Value, pressure: Value, rated_pressure: Value, rated_density: Value
) -> Value:
    """Mass that an open injector of a rating passes; the inverse of `injector_rating`.

    Parameters
    ----------
    rating : array_like
        Volume flow at rating [m3/s].
    density, rated_density, pressure, rated_pressure : array_like
        As in `injector_rating` [kg/m3], [Pa].
    """
    wide = np.asarray(pressure) / rated_pressure * np.asarray(density) / rated_density
    return np.asarray(rated_density) * rating * np.sqrt(np.maximum(wide, 0.0))


@formula(
    symbol="D",
    unit="1",
    equation="D = m_fuel/(n m_inj)",
    source="definition of the duty",
)
def injector_duty(fuel_flow: Value, injectors: Value, flow: Value) -> Value:
    """Share of the time that the injectors must be open; above 1 they cannot.

    Parameters
    ----------
    fuel_flow, flow : array_like
        Of the engine, and of one open injector [kg/s].
    injectors : array_like
        Number of them.
    """
    return np.asarray(fuel_flow) / (np.asarray(injectors) * flow)


@formula(
    symbol="Q_p",
    unit="m3/s",
    equation="Q_p = s m_fuel/rho",
    source="common practice, no source: a fifth in reserve",
)
def pump_flow_needed(fuel_flow: Value, density: Value, reserve: Value) -> Value:
    """Volume flow that the pump must deliver at the rail's pressure.

    Parameters
    ----------
    fuel_flow : array_like
        [kg/s]
    density : array_like
        [kg/m3]
    reserve : array_like
        Flow over what the engine burns [-].
    """
    return np.asarray(reserve) * fuel_flow / density


def pump_flow(pressures: Array, flows: Array, pressure: float) -> float:
    """Volume flow of a pump at a pressure, straight between the points of its curve [m3/s].

    Parameters
    ----------
    pressures, flows : ndarray, shape (n,), n >= 2
        The pump's curve: rising pressure over its inlet [Pa], flow [m3/s].
    pressure : float
        Asked [Pa].

    Raises
    ------
    InputError
        When the curve does not rise in pressure or fall in flow.
    OutsideValidity
        Beyond the points: a pump's flow ends at its relief valve, which no line foretells.
    """
    p, q = np.asarray(pressures, dtype=float), np.asarray(flows, dtype=float)
    curve = p.size >= 2 and p.shape == q.shape and q.min() >= 0.0
    if not (curve and np.all(np.diff(p) > 0.0) and np.all(np.diff(q) <= 0.0)):
        raise InputError(
            "a pump's curve needs at least two points, rising in pressure, falling in flow, none below 0"
        )
    if not p[0] <= pressure <= p[-1]:
        raise OutsideValidity(
            f"the pump's curve runs from {p[0] / 1e5:.2f} to {p[-1] / 1e5:.2f} bar; {pressure / 1e5:.2f} bar "
            "lies beyond it"
        )
    return float(np.interp(pressure, p, q))


@formula(
    symbol="dp",
    unit="Pa",
    equation="dp = (f L/d + K) rho w^2/2; f = 64/Re below 2300, Haaland above 4000, straight between",
    source="Darcy and Weisbach; Haaland (1983); from memory",
)
def line_drop(
    flow: Value, density: Value, viscosity: Value, length: Value, diameter: Value,
    roughness: Value = 1.5e-6, losses: Value = 1.5,
) -> Value:  # fmt: skip
    """Pressure lost in a fuel line.

    Parameters
    ----------
    flow : array_like
        [kg/s]
    density, viscosity : array_like
        [kg/m3], [Pa s]
    length, diameter, roughness : array_like
        [m]
    losses : array_like
        Loss coefficients of ends and bends, on the dynamic pressure [-].
    """
    d = np.asarray(diameter, dtype=float)
    speed = np.asarray(flow) / (density * 0.25 * math.pi * d**2)
    reynolds = np.maximum(np.asarray(density) * speed * d / viscosity, 1e-9)
    inside = (np.asarray(roughness) / (3.7 * d)) ** 1.11
    rough = (-1.8 * np.log10(inside + 6.9 / np.maximum(reynolds, 4000.0))) ** -2.0
    smooth = 64.0 / np.minimum(reynolds, 2300.0)
    friction = smooth + np.clip((reynolds - 2300.0) / 1700.0, 0.0, 1.0) * (rough - smooth)
    return (friction * np.asarray(length) / d + losses) * 0.5 * density * speed**2


@formula(
    symbol="bsfc",
    unit="kg/J",
    equation="bsfc = m_fuel/P",
    source="definition",
)
def specific_consumption(fuel_flow: Value, power: Value) -> Value:
    """Brake specific fuel consumption.

    Parameters
    ----------
    fuel_flow : array_like
        [kg/s]
    power : array_like
        Brake power, above 0 [W].
    """
    return np.asarray(fuel_flow) / power


@formula(
    symbol="A_2/A_1",
    unit="1",
    equation="A_2/A_1 = ((F/A)_2/(F/A)_1) sqrt(rho_f1/rho_f2) sqrt(rho_a2/rho_a1)/c",
    source="m_f = C A_j sqrt(2 rho_f dp), dp = m_a^2/(2 rho_a (C A_v)^2); Heywood (1988), ch. 7, from memory",
    valid="the same venturi and emulsion; depression small against the air's pressure, large against lift",
)
def jet_area_ratio(
    mixture_ratio: Value, fuel_density_ratio: Value, air_density_ratio: Value, discharge_ratio: Value = 1.0
) -> Value:
    """Area of a carburettor's main jet over that of the jet it replaces.

    Parameters
    ----------
    mixture_ratio : array_like
        Fuel per air by mass, new over old [-].
    fuel_density_ratio, air_density_ratio : array_like
        Density of the fuel, of the air at the venturi, new over old [-].
    discharge_ratio : array_like
        Discharge coefficient of the new jet over the old one's [-].
    """
    return (
        np.asarray(mixture_ratio)
        / np.sqrt(np.asarray(fuel_density_ratio))
        * np.sqrt(np.asarray(air_density_ratio))
        / discharge_ratio
    )


@formula(
    symbol="d_2/d_1",
    unit="1",
    equation="d_2/d_1 = sqrt(A_2/A_1)",
    source="definition",
)
def jet_diameter_ratio(area_ratio: Value) -> Value:
    """Diameter of a jet over that of the jet it replaces, from the ratio of their areas [-]."""
    return np.sqrt(np.asarray(area_ratio))
