"""Standard uncertainty of a value for which the user states none.

One rule for each way of knowing (documented in ``docs/build-file.md``):

*measured with a known gauge*
    that gauge's usual standard uncertainty (`GAUGES`), but never less than the rounding of
    the written figure.
*measured, no gauge known*
    one unit of the last written digit either way, evenly likely, so that ``4.030 in`` is
    known to 0.001 in / sqrt(3); but never better than the usual reading of that kind of
    quantity (`FLOORS`).
*catalogue*
    the spread of bought parts of that kind (`CATALOGUE`).
*assumed*
    that of the field's own default, else 10 %.
*chosen*
    none: it is decided, not found out.

The figures are common practice in the shop, no source; state ``u`` where you know better.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping

from ..units import parse_spread

#: Gauge, as its name is found in the user's text: usual standard uncertainty by dimension.
GAUGES: Mapping[str, Mapping[str, str]] = {
    "micrometer": {"length": "0.0001 in"},
    "bore gauge": {"length": "0.0002 in"},
    "dial indicator": {"length": "0.0003 in"},
    "depth gauge": {"length": "0.0005 in"},
    "stretch gauge": {"length": "0.0001 in"},
    "height gauge": {"length": "0.0005 in"},
    "feeler": {"length": "0.0005 in"},
    "plastic thread": {"length": "0.0003 in"},
    "caliper": {"length": "0.001 in"},
    "ultrasonic": {"length": "0.002 in"},
    "rule": {"length": "0.015 in"},
    "tape": {"length": "0.03 in"},
    "scale": {"mass": "0.2 %"},
    "burette": {"volume": "0.2 cc"},
    "degree wheel": {"angle": "0.5 deg"},
    "timing light": {"angle": "1 deg"},
    "brinell": {"hardness": "3 %"},
    "rebound": {"hardness": "5 %"},
    "torque wrench": {"torque": "2.3 %"},
    "angle gauge": {"angle": "1 deg"},
    "flow bench": {"flow": "1.5 %"},
    "pressure gauge": {"pressure": "1 %"},
    "barometer": {"pressure": "0.2 kPa"},
    "thermometer": {"temperature": "1 K"},
    "hygrometer": {"number": "0.03"},
    "oxygen sensor": {"number": "0.01"},
    "tachometer": {"turning speed": "0.3 %"},
    "dynamometer": {"power": "1.5 %", "torque": "1.5 %"},
    "stopwatch": {"time": "0.2 s"},
    "pressure trace": {"angle": "0.5 deg", "pressure": "1 %", "number": "5 %"},
}

#: Least standard uncertainty of a measured value whose gauge is not named.
FLOORS: Mapping[str, str] = {
    "area": "1 %",
    "volume": "0.3 %",
    "second moment of area": "3 %",
    "mass": "0.1 %",
    "mass moment": "2 %",
    "moment of inertia": "3 %",
    "angle": "0.5 deg",
    "turning speed": "0.3 %",
    "speed": "1 %",
    "pressure": "1 %",
    "temperature": "1.5 K",
    "torque": "2.3 %",
    "power": "1.5 %",
    "flow": "2 %",
    "force": "2 %",
    "hardness": "4 %",
    "number": "1 %",
}

#: Standard uncertainty of a value taken from a catalogue, drawing or data sheet.
CATALOGUE: Mapping[str, str] = {
    "length": "0.1 %",
    "area": "1 %",
    "volume": "1 %",
    "second moment of area": "3 %",
    "mass": "0.5 %",
    "mass moment": "3 %",
    "moment of inertia": "5 %",
    "angle": "0.5 deg",
    "turning speed": "0.3 %",
    "speed": "1 %",
    "pressure": "2 %",
    "temperature": "2 K",
    "torque": "3 %",
    "power": "3 %",
    "flow": "3 %",
    "force": "3 %",
    "hardness": "6 %",
    "time": "1 %",
    "number": "2 %",
}

#: Spread of a value that the user calls assumed, where the field has no default rule.
ASSUMED = "10 %"


def gauge_spread(gauge: str, dimension: str) -> str | None:
    """Usual spread of the gauge named in a text; the longest known name in it counts."""
    text = gauge.lower()
    fits = [name for name, kinds in GAUGES.items() if name in text and dimension in kinds]
    return GAUGES[max(fits, key=len)][dimension] if fits else None


def _least(rule: str | None, dimension: str, si: float) -> float:
    return parse_spread(rule, dimension, si) if rule else 0.0


@functools.lru_cache(maxsize=4096)
def spread(
    by: str,
    dimension: str,
    si: float,
    resolution: float,
    gauge: str = "",
    floor: str | None = None,
    default: str | None = None,
) -> float:
    """Standard uncertainty by rule, in SI.

    Parameters
    ----------
    by : str
        ``"measured"``, ``"catalogue"``, ``"assumed"`` or ``"chosen"``.
    dimension : str
        Kind of quantity.
    si, resolution : float
        Value, and one unit of its last written digit [SI].
    gauge : str
        What measured it.
    floor : str or None
        The field's own least spread when measured, in place of that in `FLOORS`.
    default : str or None
        Spread of the field's default rule.
    """
    if by == "chosen":
        return 0.0
    if by == "assumed":
        return _least(default or ASSUMED, dimension, si)
    if by == "catalogue":
        return _least(CATALOGUE.get(dimension), dimension, si)
    rounding = resolution / math.sqrt(12.0)
    if known := gauge_spread(gauge, dimension):
        return max(rounding, _least(known, dimension, si))
    return max(2.0 * rounding, _least(floor or FLOORS.get(dimension), dimension, si))
