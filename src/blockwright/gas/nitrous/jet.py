"""Flow of nitrous oxide through a jet: liquid that flashes, vapour, choked or not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...build import catalogue
from ...errors import InputError
from ...trace import Value, formula
from .inlet import Inlet
from .isentrope import homogeneous
from .saturation import saturation_pressure

Array = NDArray[np.float64]

#: Shapes of hole with a row ``nitrous.discharge_<shape>`` in ``models/nitrous.toml``.
SHAPES = ("sharp", "drilled", "rounded")


@dataclass(frozen=True)
class Jet:
    """Equal holes in parallel.

    Attributes
    ----------
    diameter : float
        Of one hole [m].
    count : int
    shape : str
        ``"sharp"`` (edge, length under a diameter), ``"drilled"`` (1 to 5 diameters long, square
        entry) or ``"rounded"`` (entry rounded or chamfered, or long).
    discharge : float or None
        Discharge coefficient when it was measured; by shape when None [-].
    """

    diameter: float
    count: int = 1
    shape: str = "drilled"
    discharge: float | None = None

    def __post_init__(self) -> None:
        if not 1e-5 < self.diameter < 0.05 or self.count < 1:
            raise InputError(
                f"{self.count} jets of {self.diameter * 1e3:g} mm; there must be at least one hole of "
                "0.01 to 50 mm"
            )
        if self.shape not in SHAPES:
            raise InputError(f"the shape of the jet is {self.shape!r}; it is one of {', '.join(SHAPES)}")
        if self.discharge is not None and not 0.2 < self.discharge <= 1.0:
            raise InputError(f"the discharge coefficient is {self.discharge:g}; it must lie in 0.2..1")

    @property
    def area(self) -> float:
        """Of all holes [m2]."""
        return self.count * 0.25 * np.pi * self.diameter**2

    @property
    def coefficient(self) -> tuple[float, float]:
        """Discharge coefficient and its standard uncertainty [-]."""
        row = catalogue.row("model", f"nitrous.discharge_{self.shape}")
        if self.discharge is None:
            return row.si("value"), row.u("value")
        return self.discharge, 0.02 * self.discharge


@dataclass(frozen=True)
class JetFlow:
    """What flows, and between which bounds.

    Attributes
    ----------
    flow : ndarray
        [kg/s]
    spread : ndarray
        Standard uncertainty from the discharge coefficient and the law of flow [kg/s].
    liquid, homogeneous : ndarray
        The same jet's flow if nothing flashed, and if liquid and vapour kept in balance [kg/s].
    critical_pressure : ndarray
        Behind the jet, below which the flow in balance no longer answers [Pa].
    choked : ndarray of bool
    """

    flow: Array
    spread: Array
    liquid: Array
    homogeneous: Array
    critical_pressure: Array
    choked: NDArray[np.bool_]


@formula(
    symbol="G_l",
    unit="kg/(m2*s)",
    equation="G_l = sqrt(2 rho (p1 - p2))",
    source="Bernoulli, incompressible",
    valid="liquid that does not flash in the hole",
)
def liquid_flux(density: Value, pressure: Value, back_pressure: Value) -> Value:
    """Mass flux of a liquid that does not flash.

    Parameters
    ----------
    density : array_like
        In front of the hole [kg/m3].
    pressure, back_pressure : array_like
        In front and behind, absolute [Pa].

    Returns
    -------
    ndarray
        [kg/(m2 s)]
    """
    return np.sqrt(2.0 * density * np.maximum(pressure - back_pressure, 0.0))


@formula(
    symbol="G",
    unit="kg/(m2*s)",
    equation="G = w G_l + (1 - w) G_h, w = (1 - a) k/(1 + k), k = sqrt((p1 - p2)/(p_s - p2)); "
    "w = 1 - a for p2 >= p_s",
    source="Dyer et al., AIAA 2007-5702, weights as corrected by Solomon (read in rocketry notes); the "
    "share (1 - a) for vapour already in the line is ours",
    valid="sharp to drilled holes; measured flows lie between G_h and G_l",
)
def mixed_flux(
    liquid: Value, homogeneous: Value, pressure: Value, back_pressure: Value, saturation: Value, void: Value
) -> Value:
    """Mass flux of liquid that flashes on its way through the hole, but not in balance.

    Parameters
    ----------
    liquid, homogeneous : array_like
        Mass flux without flashing and with flashing in balance [kg/(m2 s)].
    pressure, back_pressure : array_like
        In front and behind, absolute [Pa].
    saturation : array_like
        Saturation pressure at the temperature in front [Pa].
    void : array_like
        Share of vapour by volume in front of the hole [-].

    Returns
    -------
    ndarray
        [kg/(m2 s)]
    """
    below = np.maximum(saturation - back_pressure, 0.0)
    k = np.sqrt(np.maximum(pressure - back_pressure, 0.0) / np.where(below > 0.0, below, 1.0))
    weight = np.where(below > 0.0, (1.0 - void) * k / (1.0 + k), 1.0 - void)
    return weight * liquid + (1.0 - weight) * homogeneous


@formula(
    symbol="m",
    unit="kg/s",
    equation="m = C_d A G",
    source="definition of the discharge coefficient",
)
def hole_flow(discharge: Value, area: Value, flux: Value) -> Value:
    """Flow through holes.

    Parameters
    ----------
    discharge : array_like
        Discharge coefficient [-].
    area : array_like
        Of all holes [m2].
    flux : array_like
        [kg/(m2 s)]

    Returns
    -------
    ndarray
        [kg/s]
    """
    return discharge * area * flux


def jet_flow(inlet: Inlet, jet: Jet, back_pressure: ArrayLike) -> JetFlow:
    """Flow through a jet into a manifold.

    Parameters
    ----------
    inlet : Inlet
        In front of the jet.
    jet : Jet
    back_pressure : array_like
        Absolute, in the manifold [Pa]; broadcast with the inlet.

    Returns
    -------
    JetFlow

    Notes
    -----
    Saturated liquid: the mean of both laws.  Vapour: in balance alone.  The flow answers the manifold
    little while it is choked (below about 36 bar from a bottle at 20 C).
    """
    back = np.asarray(back_pressure, dtype=np.float64)
    if not np.all(np.isfinite(back)) or np.any(back <= 0.0):
        raise InputError(
            f"the pressure behind the jet is {float(np.min(back)):g} Pa; it must be absolute, above 0"
        )
    balance, critical = homogeneous(inlet, back)
    without = np.asarray(liquid_flux(inlet.density, inlet.pressure, back))
    saturation = inlet.pressure if inlet.superheated else saturation_pressure(inlet.temperature)
    void = inlet.void
    flux = np.asarray(mixed_flux(without, balance, inlet.pressure, back, saturation, void))
    discharge, u = jet.coefficient
    law = catalogue.row("model", "nitrous.flow_law")
    flow = np.asarray(hole_flow(discharge, jet.area, flux)) * law.si("value")
    scale = discharge * jet.area
    return JetFlow(
        flow=flow,
        spread=flow * np.hypot(u / discharge, law.u("value") * (1.0 - void)),
        liquid=scale * without,
        homogeneous=scale * balance,
        critical_pressure=critical,
        choked=np.asarray(back < critical),
    )
