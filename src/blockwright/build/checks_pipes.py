"""Contradictions among runners, primaries, collectors and tails."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from ..errors import Fault
from ..units import show
from .checks_common import Check, shown
from .draft import Draft
from .proportions import has_turbine, is_log, passed

#: The pipes of each side that one cylinder breathes through.
_OWN = {
    "intake": ("heads.intake.port_diameter", "intake.runner_diameter", "intake.runner_entry_diameter"),
    "exhaust": ("heads.exhaust.port_diameter", "exhaust.primary_diameter"),
}
#: What follows where the pipes of a group meet.
_BEHIND = ("exhaust.secondary_diameter", "exhaust.collector_diameter", "exhaust.tail_diameter")
_TAIL = (
    "exhaust.tail_length",
    "exhaust.tail_diameter",
    "exhaust.crossover_diameter",
    "exhaust.silencer_loss",
)
#: A stub to a log longer than this is a primary [m].
_LONGEST_STUB = 0.5


def pipes_pass(d: Draft) -> Iterator[Fault]:
    """A pipe narrower than the ideal nozzle that its valves make would undo the head's work."""
    for side, paths in _OWN.items():
        least = passed(d, side)
        more = () if side == "intake" else _BEHIND
        for path in (*paths, *more):
            if path in d.given and d.si(path) < least:
                right = (
                    f"the {side} valves pass as much as a hole of "
                    f"{show(least, d.values[path].unit, 3)}; the pipe must be wider"
                )
                yield Fault(path, shown(d, path), right)


def steps(d: Draft) -> Iterator[Fault]:
    """Where pipes meet the next one is no narrower than one of them."""
    chain = [p for p in ("exhaust.primary_diameter", *_BEHIND[:2]) if p in d.values]
    for before, after in itertools.pairwise(chain):
        if (before in d.given or after in d.given) and d.si(after) < 0.98 * d.si(before):
            path = after if after in d.given else before
            right = f"{after} must be no smaller than {before}, {shown(d, before)}"
            yield Fault(path, shown(d, path), right)
    ratio = d.si("intake.runner_entry_diameter") / d.si("intake.runner_diameter")
    if "intake.runner_entry_diameter" in d.given and not 0.7 <= ratio <= 2.0:
        right = f"it is {ratio:.3g} of intake.runner_diameter; 0.7 to 2 can be"
        yield Fault("intake.runner_entry_diameter", shown(d, "intake.runner_entry_diameter"), right)


def individual(d: Draft) -> Iterator[Fault]:
    """Individual runners have no plenum to choose and no pipe before it."""
    if d.word("intake.layout") != "individual":
        if d.count("intake.plenums") > d.count("layout.cylinders"):
            yield Fault("intake.plenums", "2", "one cylinder needs one plenum")
        return
    for path in ("intake.plenums", "intake.inlet_length", "intake.inlet_diameter"):
        if path in d.given:
            read = shown(d, path) if path in d.values else str(d.choices[path])
            yield Fault(path, read, 'leave it out: intake.layout is "individual"')


def inlet(d: Draft) -> Iterator[Fault]:
    """A pipe of no length has no diameter."""
    path = "intake.inlet_diameter"
    if path in d.given and d.word("intake.layout") == "plenum" and d.si("intake.inlet_length") == 0.0:
        yield Fault(path, shown(d, path), "give intake.inlet_length with it")


def _written(groups: tuple[tuple[int, ...], ...]) -> str:
    return ", ".join(f"[{', '.join(map(str, group))}]" for group in groups[:8])


def groups(d: Draft) -> Iterator[Fault]:
    """Every cylinder in one group, and secondaries inside their groups."""
    found, cylinders = d.groups("exhaust.groups"), d.count("layout.cylinders")
    if sorted(itertools.chain(*found)) != list(range(1, cylinders + 1)):
        right = f"name each of the cylinders 1 to {cylinders} in one group"
        yield Fault("exhaust.groups", _written(found), right)
        return
    path = "exhaust.secondary_groups"
    if path not in d.choices:
        return
    pairs = d.groups(path)
    if sorted(itertools.chain(*pairs)) != list(range(1, cylinders + 1)):
        right = f"name each of the cylinders 1 to {cylinders} in one secondary; a lone one as [4]"
        yield Fault(path, _written(pairs), right)
        return
    astray = [pair for pair in pairs if not any(set(pair) <= set(group) for group in found)]
    if astray:
        lost = ", ".join(map(str, astray[0]))
        right = f"cylinders {lost} are in different exhaust.groups: {_written(found)}"
        yield Fault(path, _written(pairs), right)


def secondaries(d: Draft) -> Iterator[Fault]:
    """Secondary pipes stand only where it is said what they join."""
    for path in ("exhaust.secondary_length", "exhaust.secondary_diameter"):
        if path in d.given and not {"exhaust.secondary_groups"} & (d.given | d.bad):
            right = "give exhaust.secondary_groups with it, for instance [[1, 4], [2, 3]]"
            yield Fault(path, shown(d, path), right)


def log(d: Draft) -> Iterator[Fault]:
    """A log has stubs, no secondaries, and keeps no momentum."""
    if not is_log(d):
        return
    path = "exhaust.secondary_groups"
    if path in d.given:
        yield Fault(path, _written(d.groups(path)), 'leave it out: exhaust.layout is "log"')
    path = "exhaust.momentum_kept"
    if path in d.given:
        yield Fault(path, shown(d, path), "leave it out: a log keeps none")
    path = "exhaust.primary_length"
    if path in d.given and d.si(path) > _LONGEST_STUB:
        most = show(_LONGEST_STUB, d.values[path].unit, 3)
        right = f'stubs to a log are at most {most}; give exhaust.layout = "collectors" for primaries'
        yield Fault(path, shown(d, path), right)


def tails(d: Draft) -> Iterator[Fault]:
    """Tails follow collectors, not turbines; a crossover joins two of them."""
    if has_turbine(d):
        for path in _TAIL:
            if path in d.given:
                right = "leave it out: behind a turbine turbo.back_loss and turbo.back_diameter tell it"
                yield Fault(path, shown(d, path), right)
        for path in ("exhaust.collector_length", "exhaust.collector_diameter"):
            if path in d.given and is_log(d):
                yield Fault(path, shown(d, path), "leave it out: the log feeds the turbine itself")
        return
    path, count = "exhaust.crossover_diameter", len(d.groups("exhaust.groups"))
    if path in d.given and d.si(path) > 0.0:
        if count != 2:
            yield Fault(path, shown(d, path), f"a crossover joins two tails; exhaust.groups makes {count}")
        elif d.si("exhaust.tail_length") == 0.0:
            yield Fault(path, shown(d, path), "give exhaust.tail_length: a crossover joins two tails")
    path = "exhaust.tail_diameter"
    if path in d.given and d.si("exhaust.tail_length") == 0.0:
        yield Fault(path, shown(d, path), "leave it out: exhaust.tail_length is 0")


def port_fits(d: Draft) -> Iterator[Fault]:
    """A port wider than half the bore is a slip of the unit."""
    for side in ("intake", "exhaust"):
        path = f"heads.{side}.port_diameter"
        if path in d.given and d.si(path) > 0.85 * d.si("casting.bore"):
            right = f"it is over 0.85 of the bore, {shown(d, 'casting.bore')}; check the unit"
            yield Fault(path, shown(d, path), right)


def plug(d: Draft) -> Iterator[Fault]:
    """The plug stands inside the bore, and a central one near its axis."""
    path, bore = "spark.plug_offset", d.si("casting.bore")
    share = d.si(path) / bore
    if path in d.given and share > 0.48:
        right = f"it stands outside the bore, {shown(d, 'casting.bore')}, or in its wall"
        yield Fault(path, shown(d, path), right)
    elif path in d.given and share > 0.2 and d.choices.get("spark.plug") == "central":
        most = show(0.2 * bore, d.values[path].unit, 3)
        right = f'a central plug is within {most} of the axis; give spark.plug = "side"'
        yield Fault(path, shown(d, path), right)


def burning_law(d: Draft) -> Iterator[Fault]:
    """A flame burns as it will: of the angles of a curve only its duration can be wanted of it."""
    if "spark.law" not in d.given or d.word("spark.law") != "flame":
        return
    for path in ("spark.ca50", "spark.ca10_delay"):
        if path in d.given:
            right = 'leave it out, or give spark.law = "wiebe": a flame computes its own angles'
            yield Fault(path, shown(d, path), right)
    if {"heads.tumble", "spark.burn_duration"} <= d.given:
        right = "leave it or spark.burn_duration out: the flame's turbulence follows from either"
        yield Fault("heads.tumble", shown(d, "heads.tumble"), right)


def fuel_pressure(d: Draft) -> Iterator[Fault]:
    """A carburettor floods at an injector's pressure, an injector starves at a carburettor's."""
    path, injectors = "fuel.pressure", d.word("fuel.injectors")
    if path not in d.given:
        return
    if injectors == "carburettor" and d.si(path) > 120e3:
        yield Fault(
            path, shown(d, path), "the needle of a carburettor shuts against at most 120 kPa (17 psi)"
        )
    if injectors == "port" and d.si(path) < 60e3:
        right = 'injectors need at least 60 kPa (9 psi); give fuel.injectors = "carburettor" for less'
        yield Fault(path, shown(d, path), right)


PIPE_CHECKS: tuple[Check, ...] = (
    pipes_pass,
    steps,
    individual,
    inlet,
    groups,
    secondaries,
    log,
    tails,
    port_fits,
    plug,
    burning_law,
    fuel_pressure,
)
