"""How the build's uncertain quantities move what shapes the pressure.

Slopes by central differences through the gas model's own reading of the build, so that a
field which feeds compression ratio, burn phasing or charge temperature does so by one
piece of code only.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..build import catalogue
from ..build.model import Build
from ..gas import from_build
from ..trace import Array
from .draw import Uncertain, uncertain
from .operate import FRICTION, POWER, Shaping

#: Fields of the build that shape the pressure at a given power.
PATHS = (
    "casting.bore",
    "crank.stroke",
    "heads.chamber_volume",
    "heads.gasket_bore",
    "heads.gasket_thickness",
    "pistons.deck_clearance",
    "pistons.dish",
    "spark.advance",
    "spark.ca10_delay",
    "spark.burn_duration",
    "spark.ca50",
    "boost.temperature",
    "conditions.temperature",
)
HEAT = "model gas.heat_factor"


def build_variable(build: Build, path: str) -> Uncertain:
    """The draw's variable of a field, as the leaves name it too."""
    value = build.values[path]
    return uncertain(f"build {path}", value.si, value.u, value.distribution)


def model_variable(name: str) -> Uncertain:
    """The draw's variable of a model constant, as the leaves name it too."""
    row = catalogue.row("model", name)
    return uncertain(f"model {name}", row.si("value"), row.u("value"), row.distribution("value"))


def _inputs(build: Build, speed: float) -> Array:
    """The surfaces' inputs [ln compression, ca10, ln burn, ln temperature] as the gas model reads them."""
    clearance = from_build.clearance_volume(build)
    swept = 0.25 * math.pi * build.si("casting.bore") ** 2 * build.si("crank.stroke")
    point = from_build.operating_point(build, speed)
    return np.array(
        [
            math.log(1.0 + swept / clearance),
            point.ca10,
            math.log(point.burn_10_90),
            math.log(point.plenum_temperature),
        ]
    )


def _moved(build: Build, path: str, step: float) -> Build:
    value = build.values[path]
    return replace(build, values={**build.values, path: replace(value, si=value.si + step)})


def shaping(build: Build, speed: float) -> tuple[Shaping, Array]:
    """Slopes of the surfaces' inputs at one speed, and the standard uncertainty of each input.

    Returns
    -------
    Shaping
    widths : ndarray, shape (6,)
        In the order of `operate.INPUTS`; the charge's from the power, friction and heat that it answers.
    """
    slopes: dict[str, Array] = {}
    variables: dict[str, Uncertain] = {}
    variance = np.zeros(6)
    for path in PATHS:
        if path not in build.values or build.values[path].u == 0.0:
            continue
        u = build.values[path].u
        step = 0.5 * u
        there = _inputs(_moved(build, path, step), speed) - _inputs(_moved(build, path, -step), speed)
        slope = np.zeros(6)
        slope[[1, 2, 3, 5]] = there / (2.0 * step)
        if not np.any(slope):
            continue
        variable = build_variable(build, path)
        slopes[variable.name], variables[variable.name] = slope, variable
        variance += (slope * u) ** 2
    heat = model_variable("gas.heat_factor")
    slopes[HEAT] = np.array([0.0, 0.0, 0.0, 0.0, 1.0 / heat.mean, 0.0])
    variables[HEAT] = heat
    variance[4] += (heat.sd / heat.mean) ** 2
    friction = model_variable("gas.friction_factor")
    power = build_variable(build, "target.power")
    variables[FRICTION], variables[POWER] = friction, power
    variance[0] += (0.15 * friction.sd / friction.mean) ** 2 + (power.sd / power.mean) ** 2
    return Shaping(slopes, variables), np.sqrt(variance)
