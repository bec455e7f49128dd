"""How the build's uncertain quantities move what shapes the pressure.

Slopes by central differences through the gas model's own reading of the build, so that a
field which feeds compression ratio, burn phasing or charge temperature does so by one
piece of code only.  With a flame the phasing follows from spark, turbulence and the charge's state by
one small batch of closed cycles.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..build import catalogue
from ..build.model import Build
from ..gas import from_build
from ..gas.closed import closed_details
from ..gas.flame_speed import laminar
from ..gas.model import Cycle, OperatingPoint, Trapped
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
    "spark.plug_offset",
    "heads.tumble",
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


def _inputs(build: Build, speed: float, turbulence: float) -> Array:
    """What shapes the pressure as the gas model reads it.

    ln compression; 10 % burned, or the spark of a flame [deg]; ln burn duration, or ln turbulence
    of a flame; ln temperature.  `turbulence` is the flame's where it is not given by the build itself.
    """
    clearance = from_build.clearance_volume(build)
    swept = 0.25 * math.pi * build.si("casting.bore") ** 2 * build.si("crank.stroke")
    held = turbulence if from_build.anchored(build) else None
    point = from_build.operating_point(build, speed, turbulence=held)
    flame = point.law == "flame"
    return np.array(
        [
            math.log(1.0 + swept / clearance),
            point.spark if flame else point.ca10,
            math.log(point.turbulence if flame else point.burn_10_90),
            math.log(point.plenum_temperature),
        ]
    )


#: Central differences of the flame's batch: ln compression, spark [deg], ln turbulence, ln temperature, and
#: of the model's own factors, all logs.
_STEPS = np.array([0.02, 2.0, 0.1, 0.02, 0.1, 0.1, 0.1])
#: Degrees by which 50 % burned moves when the burn gets longer by e, about half of its length [deg].
_DEGREES_A_LOG = 20.0
#: Constants of the flame that the last three are, as the draw names them.
FLAME_FACTORS = ("flame.speed_factor", "flame.burn_up", "flame.length_scale")
#: Places among `_STEPS`' quantities.
_TURBULENCE, _SPEED, _BURN_UP = 2, 4, 5


def _response(cycle: Cycle) -> tuple[Array, Array]:
    """How the burn answers to `_STEPS`' quantities, and to the delay and duration of its anchor.

    With a burn law of fixed angles the second and third are the angles themselves and the rest is nought.

    Returns
    -------
    moved : ndarray, shape (2, 7)
        Of 10 % burned [deg] and ln burn duration, at a given spark.
    anchored : ndarray, shape (2, 2)
        The same, to delay [deg] and ln duration as an anchor tells them (`gas.reference_burn`): with half
        burned at a given angle, to which the spark is set anew.
    """
    point = cycle.point
    if point.law != "flame":
        fixed = np.zeros((2, _STEPS.size))
        fixed[0, 1] = fixed[1, 2] = 1.0
        return fixed, np.eye(2)
    move = np.concatenate([np.diag(_STEPS), -np.diag(_STEPS)])
    warm = np.exp(move[:, 3])
    trapped = cycle.trapped
    details = closed_details(
        cycle.breathing,
        Trapped(trapped.angle, trapped.pressure * warm, trapped.temperature * warm, trapped.masses),
        point,
        compression_ratio=cycle.breathing.compression_ratio * np.exp(move[:, 0]),
        spark=point.spark + move[:, 1],
        turbulence=point.turbulence * np.exp(move[:, 2]),
        flame_speed=np.exp(move[:, 4]),
        burn_up=np.exp(move[:, 5]),
        length_scale=np.exp(move[:, 6]),
    )
    angles = details.burn_angles()
    seen = np.stack([angles[:, 1], np.log(angles[:, 3] - angles[:, 1]), angles[:, 2]])
    n = _STEPS.size
    early, longer, half = (seen[:, :n] - seen[:, n:]) / (2.0 * _STEPS)
    moved = np.stack([early, longer])
    factors = [_TURBULENCE, _BURN_UP]
    spark = -half[factors] / half[1]
    told = moved[:, factors] + np.array([[early[1] - 1.0], [longer[1]]]) * spark
    return moved, np.asarray(moved[:, factors] @ np.linalg.inv(told))


def _speed_doubts(build: Build, point: OperatingPoint) -> dict[str, bool]:
    """Further factors on the laminar speed, and whether the flame's anchor makes them good.

    Nitrous oxide never flows where a burn duration is told; a doubtful fuel burns there when it is given.
    """
    if point.law != "flame":
        return {}
    given = build.value("spark.burn_duration").by != "assumed"
    doubts = {"flame.nitrous_speed": False} if point.nitrous > 0.0 else {}
    return {**doubts, "flame.doubtful_speed": given} if laminar(point.fuel).doubtful else doubts


def _moved(build: Build, path: str, step: float) -> Build:
    value = build.values[path]
    return replace(build, values={**build.values, path: replace(value, si=value.si + step)})


def shaping(build: Build, speed: float, cycle: Cycle) -> tuple[Shaping, Array]:
    """Slopes of the surfaces' inputs about a cycle, and the standard uncertainty of each input.

    Returns
    -------
    Shaping
    widths : ndarray, shape (6,)
        In the order of `operate.INPUTS`; the charge's from the power, friction and heat that it answers.
    """
    slopes: dict[str, Array] = {}
    variables: dict[str, Uncertain] = {}
    variance = np.zeros(6)
    response, at_anchor = _response(cycle)
    anchored = from_build.anchored(build)

    def add(variable: Uncertain, slope: Array) -> None:
        nonlocal variance
        slopes[variable.name], variables[variable.name] = slope, variable
        variance = variance + (slope * variable.sd) ** 2

    for path in PATHS:
        if path not in build.values or build.values[path].u == 0.0:
            continue
        u = build.values[path].u
        step = 0.5 * u
        held = cycle.point.turbulence
        high, low = (_inputs(_moved(build, path, sign * step), speed, held) for sign in (1.0, -1.0))
        moved = (high - low) / (2.0 * step)
        slope = np.zeros(6)
        slope[[1, 5]] = moved[[0, 3]]
        slope[[2, 3]] = response[:, :4] @ moved
        # Turbulence and burning time are whatever makes this delay, or this duration.
        if anchored and path == "spark.ca10_delay":
            slope[[2, 3]] = at_anchor[:, 0] * 180.0 / math.pi
        elif anchored and path == "spark.burn_duration":
            slope[[2, 3]] = at_anchor[:, 1] / build.values[path].si
        if not np.any(slope):
            continue
        add(build_variable(build, path), slope)
    factors = [(name, k, True) for k, name in enumerate(FLAME_FACTORS, start=_SPEED)]
    factors += [(name, _SPEED, made_good) for name, made_good in _speed_doubts(build, cycle.point).items()]
    for name, k, made_good in factors:
        # What turbulence and burning time are anchored to, duration and delay, makes a factor good.
        if np.any(response[:, k]) and not (anchored and made_good):
            factor = model_variable(name)
            slope = np.zeros(6)
            slope[[2, 3]] = response[:, k] / factor.mean
            add(factor, slope)
    heat = model_variable("gas.heat_factor")
    slopes[HEAT] = np.array([0.0, 0.0, 0.0, 0.0, 1.0 / heat.mean, 0.0])
    variables[HEAT] = heat
    variance[4] += (heat.sd / heat.mean) ** 2
    friction = model_variable("gas.friction_factor")
    power = build_variable(build, "target.power")
    variables[FRICTION], variables[POWER] = friction, power
    variance[0] += (0.15 * friction.sd / friction.mean) ** 2 + (power.sd / power.mean) ** 2
    return Shaping(slopes, variables), np.sqrt(variance)


def burn_move(shape: Shaping) -> Array | None:
    """Move of the surfaces' inputs by one standard uncertainty of the burn, the most likely way it varies.

    The first principal direction of 10 % burned and the burn's length, which one cause mostly moves
    together.  None where neither varies.
    """
    moves = np.array([slope * shape.variables[name].sd for name, slope in shape.slopes.items()])[:, 2:4]
    # Both as degrees by which they move the middle of the burn.
    weight = np.array([1.0, _DEGREES_A_LOG])
    value, vector = np.linalg.eigh((moves * weight).T @ (moves * weight))
    if value[1] <= 0.0:
        return None
    found = np.zeros(6)
    found[2:4] = math.sqrt(value[1]) * vector[:, 1] / weight
    return found
