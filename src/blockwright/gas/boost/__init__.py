"""Turbochargers and driven chargers: maps, turbines, shaft balance, and steering between cycles."""

from __future__ import annotations

from .blower import Displacer, DrivenWheel
from .compressor import Compressor, Cooler, Surroundings
from .driven import BlowerMatch, BlowerSteering
from .generic import constant, generic_map
from .map import CompressorMap
from .reading import read_map
from .shaft import Turbocharger
from .sizes import Sizes, air_flow_for, compressor_diameter, turbo_sizes
from .steering import TurboMatch, TurboSteering
from .turbine import Turbine, Wastegate

__all__ = [
    "BlowerMatch",
    "BlowerSteering",
    "Compressor",
    "CompressorMap",
    "Cooler",
    "Displacer",
    "DrivenWheel",
    "Sizes",
    "Surroundings",
    "Turbine",
    "TurboMatch",
    "TurboSteering",
    "Turbocharger",
    "Wastegate",
    "air_flow_for",
    "compressor_diameter",
    "constant",
    "generic_map",
    "read_map",
    "turbo_sizes",
]
