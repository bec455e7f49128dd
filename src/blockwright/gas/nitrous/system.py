"""A whole nitrous system as a builder describes it: bottles, line, jets, fuel and when it is switched on."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from ...errors import Fault, InputError
from ..steering import Steering
from .bottle import Bottle, Pass, run
from .charge import bottle_enthalpy, stoichiometric_ratio
from .feed import JetFeed, Line, Tabulated
from .inlet import Inlet, liquid, vapour
from .jet import Jet
from .sizing import fuel_jet_for_flow, jet_for_flow
from .steering import NitrousFeed, nitrous_feed


@dataclass(frozen=True)
class System:
    """Bottles, line, jets and their fuel.

    Attributes
    ----------
    bottle : Bottle
    jet : Jet
        All nitrous jets.
    fuel : str
        Catalogue name of the enrichment fuel.
    mode : str
        ``"wet"``: fuel jets beside the nitrous jets; ``"dry"``: the engine's injectors add the fuel.
    place : str
        ``"plate"`` or ``"port"``.
    fuel_jet : Jet or None
        Of a wet system; None when it is jetted for the wanted lambda.
    fuel_pressure : float
        In front of the fuel jets, absolute [Pa]; 0 without fuel jets.
    line : Line or None
    activation_speed : float
        Below it the system is off [rad/s].
    """

    bottle: Bottle
    jet: Jet
    fuel: str
    mode: str = "wet"
    place: str = "plate"
    fuel_jet: Jet | None = None
    fuel_pressure: float = 0.0
    line: Line | None = None
    activation_speed: float = 0.0

    def __post_init__(self) -> None:
        if self.mode not in ("wet", "dry"):
            raise InputError(Fault("nitrous.mode", repr(self.mode), "it is wet or dry"))
        if self.mode == "dry" and self.fuel_jet is not None:
            raise InputError(
                Fault("nitrous.fuel_jet", "a fuel jet", "a dry system has none; leave it out or say wet")
            )
        if self.fuel_jet is not None and not self.fuel_pressure > 0.0:
            raise InputError(
                Fault(
                    "nitrous.fuel_pressure", f"{self.fuel_pressure:g} Pa", "a fuel jet needs a fuel pressure"
                )
            )

    @property
    def outlet(self) -> Inlet:
        """What leaves the bottle at the start."""
        t = self.bottle.temperature
        return liquid(t) if self.bottle.from_liquid else vapour(t)

    @property
    def feed(self) -> JetFeed:
        """Flows against the manifold's pressure, from the bottle as it is at the start."""
        return JetFeed(self.outlet, self.jet, self.line, self.fuel_jet, self.fuel, self.fuel_pressure)

    def on(self, speed: float) -> bool:
        """Whether the system is switched on at a speed [rad/s]."""
        return speed >= self.activation_speed

    def steering(
        self, dry_temperature: float, own_lambda: float, charger: Steering | None = None
    ) -> NitrousFeed:
        """Steering of an operating point.

        Parameters
        ----------
        dry_temperature : float
            Of the charge without nitrous oxide [K].
        own_lambda : float
            Of the engine's own fuel to its air [-]; counts when there is a fuel jet.
        charger : Steering or None
        """
        enthalpy = bottle_enthalpy(self.bottle.temperature, self.bottle.from_liquid)
        own = own_lambda if self.fuel_jet is not None else None
        return nitrous_feed(
            self.feed, enthalpy, dry_temperature, own_lambda=own, place=self.place, charger=charger
        )

    def through_pass(self, manifold_pressure: float, duration: float) -> Pass:
        """The bottles while they feed a manifold at a pressure [Pa] for a time [s]."""
        return run(self.bottle, Tabulated(self.jet, manifold_pressure, self.line), duration)

    def jetted(
        self,
        flow: float,
        shot_lambda: float,
        manifold_pressure: float,
        size: Callable[[float], float] = float,
    ) -> System:
        """The same system with jets for a flow.

        Parameters
        ----------
        flow : float
            Nitrous oxide [kg/s].
        shot_lambda : float
            Oxygen of the nitrous oxide over what its enrichment fuel needs [-].
        manifold_pressure : float
            [Pa]
        size : callable
            From the wanted diameter to one that can be had [m].
        """
        jet = jet_for_flow(
            flow, self.outlet, manifold_pressure, count=self.jet.count, shape=self.jet.shape,
            discharge=self.jet.discharge, line=self.line,
        )  # fmt: skip
        changed = dataclasses.replace(self, jet=dataclasses.replace(jet, diameter=size(jet.diameter)))
        if self.mode == "dry" or not self.fuel_pressure > 0.0:
            return changed
        fuel = flow / (shot_lambda * stoichiometric_ratio(self.fuel))
        count = self.jet.count if self.fuel_jet is None else self.fuel_jet.count
        fuel_jet = fuel_jet_for_flow(fuel, self.fuel, self.fuel_pressure, manifold_pressure, count=count)
        return dataclasses.replace(
            changed, fuel_jet=dataclasses.replace(fuel_jet, diameter=size(fuel_jet.diameter))
        )
