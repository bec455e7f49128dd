"""Constants of the charge's way in, moved in what steers an engine: a machine holds them for itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeAlias

from .boost.driven import BlowerSteering
from .boost.steering import TurboSteering
from .nitrous.steering import NitrousFeed
from .steering import Steering

Change: TypeAlias = Callable[[Steering, float], Steering]


def with_evaporation_share(steering: Steering, value: float) -> Steering:
    """What is steered, with another share of the fuel's heat of evaporation given by the charge [-]."""
    if isinstance(steering, TurboSteering):
        return replace(steering, machine=replace(steering.machine, evaporation_share=value))
    if isinstance(steering, BlowerSteering):
        return replace(steering, evaporation_share=value)
    if isinstance(steering, NitrousFeed):
        inner = steering.charger
        behind = None if inner is None else with_evaporation_share(inner, value)
        return replace(steering, charger=behind, fuel_evaporation=value)
    return steering


def with_charge_heating(steering: Steering, value: float) -> Steering:
    """What is steered, with another warming of the charge by the walls [K]."""
    if isinstance(steering, TurboSteering):
        return replace(steering, machine=replace(steering.machine, charge_heating=value))
    if isinstance(steering, BlowerSteering):
        return replace(steering, charge_heating=value)
    if isinstance(steering, NitrousFeed):
        inner = steering.charger
        behind = None if inner is None else with_charge_heating(inner, value)
        return replace(steering, charger=behind, heating=value)
    return steering


#: By the name of the constant in ``models/gas.toml``.
STEERED: Mapping[str, Change] = {
    "evaporation_share": with_evaporation_share,
    "charge_heating": with_charge_heating,
}
