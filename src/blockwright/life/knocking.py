"""Whether the fuel stands the spark and pressure of every duty point."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import BlockwrightError
from ..gas.knock import effective_octane, is_rated
from ..gas.model import Cycle
from ..gas.spark import SparkMargin, closed_run, spark_margin


@dataclass(frozen=True)
class Knock:
    """Margin of one operating point.

    margin : SparkMargin or None; reason : why there is none.
    """

    margin: SparkMargin | None
    reason: str = ""


def knock_of(cycle: Cycle) -> Knock:
    """Margin to knock of a settled cycle at its own spark."""
    point = cycle.point
    if not is_rated(point.fuel):
        return Knock(None, f"{point.fuel} has no octane number: nitromethane is not rated")
    octane = effective_octane(point.fuel, float(cycle.plenum_pressure.mean()))
    try:
        run = closed_run(cycle.breathing, cycle.trapped, point)
        margin = spark_margin(run, -point.spark, octane, point)
    except BlockwrightError as error:
        return Knock(None, str(error))
    if not math.isfinite(margin.degrees_margin):
        return Knock(None, "no spark was found at which the end gas lights itself")
    return Knock(margin)


def knocks(cycle: Cycle, knock: Knock) -> str:
    """What to say of an operating point that knocks, or may; empty when it stands clear."""
    margin = knock.margin
    rpm = cycle.point.speed * 30.0 / math.pi
    if margin is None:
        return ""
    if margin.degrees_margin >= 1.645 * margin.degrees_u:
        return ""
    state = "knocks" if margin.degrees_margin < 0.0 else "may knock"
    text = (
        f"At {rpm:.0f} rpm it {state} by this model: {_degrees(margin)} to the limit at {margin.spark:.0f} "
        f"deg of advance; it asks for octane {margin.required:.0f} (+-{1.645 * margin.octane_u:.0f}), the "
        f"fuel offers {margin.index:.0f}."
    )
    return text + (f" {margin.caution}" if margin.caution else "")


def _degrees(margin: SparkMargin) -> str:
    beyond = {"inside": "", "earlier": "more than ", "later": "more than "}[margin.limited.found]
    side = "left" if margin.degrees_margin >= 0.0 else "too many"
    return f"{beyond}{abs(margin.degrees_margin):.0f} deg (+-{1.645 * margin.degrees_u:.0f}) {side}"
