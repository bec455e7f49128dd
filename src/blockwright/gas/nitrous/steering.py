"""A nitrous feed beside the running engine: its flow over that of the air sets the charge."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from ...build import catalogue
from ...errors import InputError, OutsideValidity
from ..evaporation import air_before
from ..model import Breathing, OperatingPoint
from ..steering import Seen, Steering
from .charge import (
    Charge,
    air_equivalent,
    charge_lambda,
    charge_with_nitrous,
    default_evaporation,
    fuel_per_air,
)
from .feed import Feed

#: Nitrous oxide per air above which a first, unsettled cycle counts as this [-].
_MOST = 4.0


@dataclass(frozen=True)
class NitrousFeed:
    """Steers an operating point by a feed of nitrous oxide.

    Attributes
    ----------
    feed : Feed
        Flow of nitrous oxide and of enrichment fuel [kg/s] against the manifold's pressure.
    enthalpy : float
        Of what leaves the bottle, `charge.bottle_enthalpy` [J/kg].
    dry_temperature : float
        Of the charge of air and fuel without nitrous oxide, as an operating point without it has [K].
        With a charger it is only the first guess.
    own_lambda : float or None
        None: the fuel system holds the point's `lambda_` whatever flows (a wet system jetted for it, or
        injectors that add the fuel).  A figure: the engine's own fuel keeps this lambda *to its air*,
        the enrichment fuel of the feed comes on top, and the charge's lambda follows: a given fuel jet,
        or a dry system that adds nothing.
    evaporation : float
        Share of the nitrous oxide that evaporates before the valve [-].
    fuel_evaporation, heating : float
        As in `gas.from_build.charge_temperature` [-], [K].
    charger : Steering or None
        A turbocharger or blower that sets pressure and temperature before the nitrous oxide.
    """

    feed: Feed
    enthalpy: float
    dry_temperature: float
    own_lambda: float | None = None
    evaporation: float = 1.0
    fuel_evaporation: float = 0.4
    heating: float = 0.0
    charger: Steering | None = None

    def __post_init__(self) -> None:
        if not self.dry_temperature > 0.0:
            raise InputError(f"the charge's temperature is {self.dry_temperature:g} K; it must be positive")
        if self.own_lambda is not None and not self.own_lambda > 0.0:
            raise InputError(f"lambda of the engine's own fuel is {self.own_lambda:g}; it must be positive")

    def charge(self, point: OperatingPoint, dry: float, nitrous: float, fuel: float) -> Charge:
        """The charge at a share of nitrous oxide and fuel per air, from a temperature without it [K]."""
        without = self._own_fuel(point)
        air = air_before(dry, point.fuel, point.plenum_pressure, without, self.fuel_evaporation, self.heating)
        return charge_with_nitrous(
            air, point.plenum_pressure, point.fuel, fuel, nitrous, self.enthalpy, fuel_without=without,
            evaporation=self.evaporation, fuel_evaporation=self.fuel_evaporation, heating=self.heating,
        )  # fmt: skip

    def _own_fuel(self, point: OperatingPoint) -> float:
        """Fuel per air without nitrous oxide [-]."""
        lambda_ = point.lambda_ if self.own_lambda is None else self.own_lambda
        return 1.0 / (point.gas.air_fuel_ratio * lambda_)

    def _fuel(self, point: OperatingPoint, nitrous: float, added: float) -> tuple[float, float]:
        """Lambda of the charge and fuel per air [-]."""
        afr, a = point.gas.air_fuel_ratio, air_equivalent(point.fuel)
        if self.own_lambda is None:
            return point.lambda_, float(fuel_per_air(nitrous, point.lambda_, afr, a))
        fuel = 1.0 / (afr * self.own_lambda) + added
        return float(charge_lambda(nitrous, fuel, afr, a)), fuel

    def step(
        self, point: OperatingPoint, breathing: Breathing, seen: Seen
    ) -> tuple[OperatingPoint, Breathing, float]:
        """New point: nitrous oxide per air, charge temperature, and lambda where it follows.

        Raises
        ------
        OutsideValidity
            When the charge has settled at a lambda for which there are no tables of burned gas.
        """
        dry, change = self.dry_temperature, 0.0
        if self.charger is not None:
            bare = dataclasses.replace(point, plenum_temperature=self._without(point))
            ahead, breathing, change = self.charger.step(bare, breathing, seen)
            dry = ahead.plenum_temperature
            point = dataclasses.replace(ahead, plenum_temperature=point.plenum_temperature)
        if not seen.air_flow > 0.0:
            return point, breathing, max(change, 1.0)
        flow, added = self.feed.at(seen.plenum_pressure)
        nitrous = min(flow / seen.air_flow, _MOST)
        lambda_, fuel = self._fuel(point, nitrous, added / seen.air_flow)
        moved = abs(nitrous - point.nitrous) / (1.0 + nitrous)
        low, high = point.gas.lambda_range
        if not low <= lambda_ <= high:
            if moved < 1e-3:
                raise OutsideValidity(
                    f"with {flow * 1e3:.1f} g/s of nitrous oxide and {added * 1e3:.1f} g/s of fuel for it "
                    f"the charge has lambda {lambda_:.2f}; burned gas is known from {low:.2f} to {high:.2f}"
                )
            lambda_ = min(max(lambda_, low), high)
        made = self.charge(point, dry, nitrous, fuel)
        warmed = abs(made.temperature / point.plenum_temperature - 1.0)
        change = max(change, moved, warmed, abs(lambda_ / point.lambda_ - 1.0))
        return (
            dataclasses.replace(point, nitrous=nitrous, plenum_temperature=made.temperature, lambda_=lambda_),
            breathing,
            change,
        )

    def _without(self, point: OperatingPoint) -> float:
        """Temperature without nitrous oxide of the charge that a point has now [K]."""
        if point.nitrous == 0.0:
            return point.plenum_temperature
        dry = point.plenum_temperature
        for _ in range(40):  # cooling hardly depends on the temperature: a plain iteration closes fast
            made = self.charge(point, dry, point.nitrous, point.fuel_per_air)
            step = point.plenum_temperature - made.temperature
            dry += step
            if abs(step) < 1e-6:
                break
        return dry


def nitrous_feed(
    feed: Feed, enthalpy: float, dry_temperature: float, *, own_lambda: float | None = None,
    place: str = "plate", charger: Steering | None = None,
) -> NitrousFeed:  # fmt: skip
    """A feed with the shares of ``models/nitrous.toml`` and ``models/gas.toml``."""
    gas = {n: catalogue.row("model", f"gas.{n}").si("value") for n in ("evaporation_share", "charge_heating")}
    return NitrousFeed(
        feed, enthalpy, dry_temperature, own_lambda, default_evaporation(place),
        gas["evaporation_share"], gas["charge_heating"], charger,
    )  # fmt: skip
