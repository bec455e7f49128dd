"""Cylinder gas: filling, burning, heat and emptying of every cylinder through whole cycles.

`solve` runs an engine until its cycles repeat; `closed` runs many closed cycles at once; `from_build`
turns a build into what they take.  Compiled code is imported when first needed.
"""

from .model import SPECIES, Breathing, Cycle, OperatingPoint, Trapped, Walls
from .solve import closed, motored, solve

__all__ = [
    "SPECIES",
    "Breathing",
    "Cycle",
    "OperatingPoint",
    "Trapped",
    "Walls",
    "closed",
    "motored",
    "solve",
]
