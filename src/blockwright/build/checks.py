"""Contradictions: fields that are possible one by one and impossible together.

Each check reads a draft and yields faults; where a field it needs is missing or unfit
it is passed over, so that all faults of a file come out at once.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from ..errors import Fault, InputError
from ..units import show
from .checks_breathing import BREATHING_CHECKS
from .checks_charge import CHARGE_CHECKS
from .checks_common import Check, need, shown
from .checks_fasteners import FASTENER_CHECKS
from .checks_geometry import GEOMETRY_CHECKS
from .checks_pipes import PIPE_CHECKS
from .checks_walls import WALL_CHECKS
from .cranks import phase
from .draft import Draft
from .flatten import place_in_file
from .lines import line_near


def firing_order(d: Draft) -> Iterator[Fault]:
    """The order names every cylinder once, and the crank can fire it."""
    order, cylinders = d.numbers("layout.firing_order"), d.count("layout.cylinders")
    written = "-".join(map(str, order))
    if sorted(order) != list(range(1, cylinders + 1)):
        right = f"name each of the cylinders 1 to {cylinders} once"
        yield Fault("layout.firing_order", written, right)
        return
    kind = d.word("layout.kind")
    if kind != "inline" and cylinders % 2:
        yield Fault("layout.cylinders", str(cylinders), f"a {kind} engine needs an even number")
        return
    if "layout.bank_angle" not in d.values:
        if "layout.bank_angle" not in d.bad:
            right = f"give the angle between the banks; a V of {cylinders} has no usual one"
            yield Fault("layout.bank_angle", "nothing", right)
        return
    throws = len(d.series("layout.throws"))
    if "layout.throws" in d.given and throws not in _throw_counts(kind, cylinders):
        need = " or ".join(map(str, _throw_counts(kind, cylinders)))
        yield Fault("layout.throws", f"{throws} throws", f"give {need}, one for each crankpin from the front")
        return
    found = phase(d, d.word("layout.numbering"), math.degrees(d.si("layout.split")))
    if isinstance(found, str):
        yield Fault("layout.firing_order", written, found)


def _throw_counts(kind: str, cylinders: int) -> tuple[int, ...]:
    return (cylinders,) if kind == "inline" else (cylinders // 2, cylinders)


def bank_angle(d: Draft) -> Iterator[Fault]:
    """Only a V has an angle between its banks to give."""
    kind = d.word("layout.kind")
    if "layout.bank_angle" not in d.given or kind == "V":
        return
    right = 180.0 if kind == "flat" else 0.0
    if abs(math.degrees(d.si("layout.bank_angle")) - right) > 0.01:
        yield Fault(
            "layout.bank_angle",
            shown(d, "layout.bank_angle"),
            f"leave it out: a {kind} engine has none to choose",
        )


def target(d: Draft) -> Iterator[Fault]:
    """The mean pressure that the power asks for must be one an engine can make."""
    swept = math.pi / 4.0 * d.si("casting.bore") ** 2 * d.si("crank.stroke") * d.count("layout.cylinders")
    bmep = d.si("target.power") * 4.0 * math.pi / (swept * d.si("target.speed"))
    if bmep > 80e5 or bmep < 0.5e5:
        right = (
            f"at {shown(d, 'target.speed')} from {swept * 1e3:.2f} litres it is a mean effective pressure of "
            f"{bmep / 1e5:.3g} bar; 0.5 to 80 bar can be. Check power, speed, bore and stroke"
        )
        yield Fault("target.power", shown(d, "target.power"), right)
    piston = d.si("crank.stroke") * d.si("target.speed") / math.pi
    if piston > 40.0:
        right = f"the pistons would average {piston:.0f} m/s; none lives above 40. Check speed and stroke"
        yield Fault("target.speed", shown(d, "target.speed"), right)


def duty_length(d: Draft) -> Iterator[Fault]:
    """Passes need their number and time; hours their hours; not both."""
    kind = d.word("duty.kind")
    if kind == "passes":
        yield from need(d, "duty.passes", "give the number of runs, for instance passes = 200")
        yield from need(d, "duty.pass_time", 'give the time of one run, for instance pass_time = "45 s"')
    else:
        yield from need(d, "duty.hours", 'give the running time, for instance hours = "30 h"')
    for path in ("duty.hours",) if kind == "passes" else ("duty.passes", "duty.pass_time"):
        if path in d.given:
            yield Fault(path, "a value", f'leave it out: duty.kind is "{kind}"')


def duty_points(d: Draft) -> Iterator[Fault]:
    """The shares make 1, and the speeds are not above the missed shift."""
    shares = d.series("duty.points", "share")
    if shares and abs(sum(shares) - 1.0) > 0.005 and not any(p.startswith("duty.points") for p in d.bad):
        yield Fault("duty.points", f"shares that add up to {sum(shares):.4g}", "make the shares add up to 1")
    top = max([d.si("target.speed"), *d.series("duty.points", "speed")])
    path = "duty.events.missed_shift.speed"
    if path in d.given and d.si(path) < top:
        right = f"it must be above the highest speed of the duty, {show(top, 'rpm', 0)}"
        yield Fault(path, shown(d, path), right)


CHECKS: tuple[Check, ...] = (
    firing_order,
    bank_angle,
    target,
    *GEOMETRY_CHECKS,
    *WALL_CHECKS,
    *FASTENER_CHECKS,
    *BREATHING_CHECKS,
    *PIPE_CHECKS,
    *CHARGE_CHECKS,
    duty_length,
    duty_points,
)


def contradictions(draft: Draft, lines: Mapping[str, int]) -> list[Fault]:
    """Every contradiction in the draft, with its line.

    A check that lacks a field is passed over: the field is missing or unfit, and named as such.
    """
    faults: list[Fault] = []
    for check in CHECKS:
        with contextlib.suppress(KeyError, InputError, ZeroDivisionError):
            faults.extend(check(draft))
    return [replace(f, line=line_near(lines, place_in_file(f.path))) for f in faults]
