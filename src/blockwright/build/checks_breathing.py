"""Contradictions among valves, boost and spark."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..errors import Fault
from .checks_common import Check, as_written, need, shown
from .draft import Draft


def valve_events(d: Draft) -> Iterator[Fault]:
    """A valve is given by its events or by its curve, and is open 140 to 400 degrees."""
    for side in ("intake", "exhaust"):
        events = [f"cam.{side}_{end}" for end in ("opens", "closes", "lift")]
        if f"cam.{side}_curve" in d.given:
            for path in events:
                if path in d.given:
                    yield Fault(path, shown(d, path), f"leave it out: cam.{side}_curve already tells it")
            yield from _curve(d, side)
            continue
        opens, closes = (math.degrees(d.si(path)) for path in events[:2])
        duration = opens + 180.0 + closes
        if not 140.0 <= duration <= 400.0:
            path = events[1] if events[1] in d.given else events[0]
            right = f"the {side} valve would be open for {duration:.0f} deg; 140 to 400 deg can be"
            yield Fault(path, shown(d, path), right)
        if d.si(events[2]) > 0.6 * d.si(f"heads.{side}.diameter"):
            size = shown(d, f"heads.{side}.diameter")
            right = f"it is over 0.6 of the valve's diameter, {size}; check the unit"
            yield Fault(events[2], shown(d, events[2]), right)


def _curve(d: Draft, side: str) -> Iterator[Fault]:
    lifts, angles = d.series(f"cam.{side}_curve", "lift"), d.series(f"cam.{side}_curve", "angle")
    path = f"cam.{side}_curve"
    if max(lifts) < 0.02 * 0.0254:
        yield Fault(path, f"{len(lifts)} points", "the valve never opens")
    if lifts[0] > 0.012 * 0.0254 or lifts[-1] > 0.012 * 0.0254:
        yield Fault(path, f"{len(lifts)} points", "begin and end it with the valve shut, lift 0")
    if angles[-1] - angles[0] > 4.0 * math.pi + 1e-9:
        yield Fault(path, f"{len(lifts)} points", "keep it within one cycle of 720 deg")


def valves_fit(d: Draft) -> Iterator[Fault]:
    """The valves of one cylinder must fit in its bore."""
    area = sum(d.count(f"heads.{s}.valves") * d.si(f"heads.{s}.diameter") ** 2 for s in ("intake", "exhaust"))
    if area > 0.9 * d.si("casting.bore") ** 2:
        path = "heads.intake.diameter" if "heads.intake.diameter" in d.given else "heads.exhaust.diameter"
        right = f"its valves would cover more than 0.9 of the bore, {shown(d, 'casting.bore')}"
        yield Fault(path, shown(d, path), right)


def flow_passes(d: Draft) -> Iterator[Fault]:
    """A flow bench that reads nothing at any lift was not switched on."""
    for side in ("intake", "exhaust"):
        path = f"heads.{side}.flow"
        flows = d.series(path, "flow")
        if path in d.given and flows and max(flows) <= 0.0:
            yield Fault(path, "no flow at any lift", "give what the bench read: an engine must breathe")


def boost(d: Draft) -> Iterator[Fault]:
    """Boost needs its pressure, and pressure needs boost."""
    kind = d.word("boost.kind")
    if kind != "none":
        yield from need(d, "boost.pressure", f"give the charge pressure of the {kind}")
        if "boost.pressure" in d.given and d.si("boost.pressure") == 0.0:
            yield Fault("boost.pressure", shown(d, "boost.pressure"), f"a {kind} makes more than none")
    elif "boost.pressure" in d.given and d.si("boost.pressure") > 0.0:
        yield Fault(
            "boost.pressure", shown(d, "boost.pressure"), 'give boost.kind = "turbo" or "blower" with it'
        )


def burning(d: Draft) -> Iterator[Fault]:
    """Half burned comes after the spark."""
    if d.si("spark.ca50") <= -d.si("spark.advance") and "spark.ca50" in d.given:
        right = f"it must come after the spark, {shown(d, 'spark.advance')} before the top"
        yield Fault("spark.ca50", shown(d, "spark.ca50"), right)
    for path in ("spark.advance", "spark.ca50"):
        if path in d.given and math.degrees(d.values[path].u) > 10.0:
            doubt = as_written(d.values[path].u, d.values[path].unit)
            yield Fault(f"{path}.u", doubt, "the pressure follows it: it must be known to 10 deg or better")


BREATHING_CHECKS: tuple[Check, ...] = (valve_events, valves_fit, flow_passes, boost, burning)
