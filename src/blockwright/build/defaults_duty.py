"""Defaults of the duty: speeds and loads with their shares, and what goes wrong."""

from __future__ import annotations

import math

from ..units import show
from .draft import Draft
from .rules import Many, Rule, quantity

#: (share of the target speed, load, share of the time)
_PASSES = ((1.0, 1.0, 0.4), (0.9, 1.0, 0.35), (0.78, 1.0, 0.25))
_HOURS = ((1.0, 1.0, 0.15), (0.88, 1.0, 0.35), (0.7, 0.5, 0.5))
_RPM = math.pi / 30.0


def _passes(d: Draft) -> bool:
    return d.word("duty.kind") == "passes"


def _points(d: Draft) -> list[tuple[str, str]]:
    made = []
    for i, (speed, load, share) in enumerate(_PASSES if _passes(d) else _HOURS):
        at = f"duty.points.{i}"
        made.append((f"{at}.speed", show(speed * d.si("target.speed"), "rpm", 0)))
        made.append((f"{at}.load", f"{load:g}"))
        made.append((f"{at}.share", f"{share:g}"))
    return made


def _points_told(d: Draft) -> str:
    columns = (d.series("duty.points", name) for name in ("speed", "load", "share"))
    return "; ".join(
        f"{speed / _RPM:.0f} rpm at load {load:g} for {share:.0%}"
        for speed, load, share in zip(*columns, strict=True)
    )


def _often(d: Draft, passes: float, hours: float) -> float:
    """So many of an event as one in so many passes, or in so many hours."""
    if _passes(d):
        return d.count("duty.passes") / passes
    return d.si("duty.hours") / 3600.0 / hours


def _count(event: str, passes: float, hours: float) -> Rule:
    why = f"one in {passes:g} passes or {hours:g} hours"
    return quantity(f"duty.events.{event}.count", "", 3, "0 %", why,
                    lambda d: _often(d, passes, hours), dimension="number")  # fmt: skip


DUTY: tuple[Rule | Many, ...] = (
    Many("duty.points", "full load near the target speed in passes; three speeds in hours", _points,
         _points_told, ("turning speed", "number"), when=lambda d: "duty.points" not in d.bad),
    _count("missed_shift", 50.0, 10.0),
    quantity("duty.events.missed_shift.speed", "rpm", 0, "2 %", "8 % above the target speed",
             lambda d: 1.08 * d.si("target.speed"), dimension="turning speed"),
    _count("knock_burst", 50.0, 10.0),
    quantity("duty.events.knock_burst.cycles", "", 0, "30 %", "a fraction of a second",
             lambda d: 20.0, dimension="number"),
    quantity("duty.events.knock_burst.pressure_ratio", "", 2, "10 %", "clearly heard knock",
             lambda d: 1.4, dimension="number"),
    _count("lean_cylinder", 200.0, 50.0),
    _count("hot_restart", 20.0, 5.0),
)  # fmt: skip
