"""Defaults of the pipes: runners, ports, primaries, collectors, tails.

In the words of the rules D is the diameter of a valve and n the number of them in a cylinder.
Common practice and proportions of the trade, no source; lengths follow the target speed.
"""

from __future__ import annotations

import math

from .draft import Draft
from .firing import banks_and_rows
from .proportions import displacement, has_turbine, is_log, one_valve, passed, pipe_constant, sound_length
from .rules import Many, Rule, quantity, word

#: Speed of sound that the trade's rules of length assume, in intake and exhaust [m/s].
_COOL, _HOT = 345.0, 560.0


def _b(d: Draft) -> float:
    return d.si("casting.bore")


def _port(d: Draft, side: str) -> float:
    """Between the size that keeps the air fast and the one that the valves need."""
    share = 0.85 if side == "intake" else 0.95
    return max(share * one_valve(d, side), 1.05 * passed(d, side))


def _runner(d: Draft) -> float:
    whole = min(sound_length(d, _COOL, 72.0), 0.60)
    return max(whole - d.si("heads.intake.port_length"), 0.6 * _b(d))


def _primary(d: Draft) -> float:
    if is_log(d):
        return 0.8 * _b(d)
    whole = min(sound_length(d, _HOT, 120.0), 1.40)
    return max(whole - d.si("heads.exhaust.port_length"), 2.0 * _b(d))


def _primary_diameter(d: Draft) -> float:
    return max(1.08 * one_valve(d, "exhaust"), 1.02 * d.si("heads.exhaust.port_diameter"))


def default_groups(kind: str, cylinders: int, numbering: str) -> tuple[tuple[int, ...], ...]:
    """Cylinders that meet: those of a bank, or all of an inline engine of up to six, or its halves."""
    numbers = tuple(range(1, cylinders + 1))
    if kind == "inline":
        half = (cylinders + 1) // 2
        return (numbers,) if cylinders <= 6 else (numbers[:half], numbers[half:])
    banks, _ = banks_and_rows(kind, cylinders, numbering)
    by_bank = (tuple(c for c, at in zip(numbers, banks, strict=True) if at == bank) for bank in (0, 1))
    return tuple(group for group in by_bank if group)


def _groups(d: Draft) -> tuple[tuple[int, ...], ...]:
    return default_groups(d.word("layout.kind"), d.count("layout.cylinders"), d.word("layout.numbering"))


def _secondaries(d: Draft) -> bool:
    return "exhaust.secondary_groups" in d.choices


def _has_collector(d: Draft) -> bool:
    return not (is_log(d) and has_turbine(d))


def _free(d: Draft) -> bool:
    return not has_turbine(d)


def _joined(d: Draft) -> int:
    """Most pipes that meet in one collector."""
    groups = d.groups("exhaust.groups")
    if not _secondaries(d):
        return max(len(group) for group in groups)
    pairs = d.groups("exhaust.secondary_groups")
    return max(sum(set(pair) <= set(group) for pair in pairs) for group in groups)


def _collector(d: Draft) -> float:
    one = "exhaust.secondary_diameter" if _secondaries(d) else "exhaust.primary_diameter"
    return d.si(one) * max(0.92 * math.sqrt(_joined(d)), 1.0)


def _tail(d: Draft) -> float:
    return d.si("exhaust.outlet_diameter") / math.sqrt(len(d.groups("exhaust.groups")))


def _before_turbine(d: Draft) -> float:
    return (0.7 if has_turbine(d) else 1.5) * displacement(d)


#: Before the rules of `defaults_breathing` for the system as a whole.
FIRST: tuple[Rule | Many, ...] = (
    word("boost.kind", "none is mentioned", lambda d: "none"),
    quantity("exhaust.volume", "l", 2, "25 %", "1.5 displacements; before a turbine 0.7 displacements",
             _before_turbine, dimension="volume"),
)  # fmt: skip

PIPES: tuple[Rule | Many, ...] = (
    word("intake.layout", "as most are", lambda d: "plenum"),
    word("intake.entry", "as runners and stacks for power have", lambda d: "bell"),
    word("intake.plenums", "as most are", lambda d: 1, lambda d: d.word("intake.layout") == "plenum"),
    quantity("heads.intake.port_length", "", 3, "10 %", "1.25 B", lambda d: 1.25 * _b(d)),
    quantity("heads.intake.port_diameter", "", 3, "6 %",
             "0.85 D times the root of n, and above what the valves pass", lambda d: _port(d, "intake")),
    quantity("heads.exhaust.port_length", "", 3, "10 %", "0.8 B", lambda d: 0.8 * _b(d)),
    quantity("heads.exhaust.port_diameter", "", 3, "6 %",
             "0.95 D times the root of n, and above what the valves pass", lambda d: _port(d, "exhaust")),
    quantity("intake.runner_length", "", 3, "25 %",
             "with the port, as far as sound runs there and back in 72 deg at the target speed; "
             "at most 600 mm with it, at least 0.6 B without", _runner),
    quantity("intake.runner_diameter", "", 3, "6 %", "that of the port",
             lambda d: d.si("heads.intake.port_diameter")),
    quantity("intake.runner_entry_diameter", "", 3, "6 %", "1.08 runner diameters",
             lambda d: 1.08 * d.si("intake.runner_diameter")),
    quantity("intake.inlet_length", "", 3, "0 %", "none", lambda d: 0.0),
    quantity("intake.inlet_diameter", "", 3, "8 %", "1.1 throttle diameters",
             lambda d: 1.1 * d.si("intake.throttle_diameter"), lambda d: d.si("intake.inlet_length") > 0.0),
    word("exhaust.layout", "a log before a turbine, else collectors",
         lambda d: "log" if has_turbine(d) else "collectors"),
    word("exhaust.groups", "a bank of a V or flat engine; all of an inline one up to six, else its halves",
         _groups),
    quantity("exhaust.primary_length", "", 3, "20 %",
             "with the port, as far as sound runs there and back in 120 deg at the target speed, at most "
             "1.4 m with it, at least 2 B without; 0.8 B to a log", _primary),
    quantity("exhaust.primary_diameter", "", 3, "6 %",
             "1.08 D times the root of n, and no smaller than the port", _primary_diameter),
    quantity("exhaust.secondary_length", "", 3, "25 %", "0.6 primary lengths",
             lambda d: 0.6 * d.si("exhaust.primary_length"), _secondaries),
    quantity("exhaust.secondary_diameter", "", 3, "6 %", "1.2 primary diameters",
             lambda d: 1.2 * d.si("exhaust.primary_diameter"), _secondaries),
    quantity("exhaust.collector_length", "", 3, "25 %", "half of the primary length; 3 B behind a log",
             lambda d: 3.0 * _b(d) if is_log(d) else 0.5 * d.si("exhaust.primary_length"), _has_collector),
    quantity("exhaust.collector_diameter", "", 3, "8 %",
             "0.92 times the root of the pipes that meet, times the diameter of one", _collector,
             _has_collector),
    quantity("exhaust.tail_length", "", 2, "30 %", "a short pipe to the side of the car",
             lambda d: 24.0 * 0.0254, _free),
    quantity("exhaust.tail_diameter", "", 3, "6 %", "outlet diameter over the root of the number of tails",
             _tail, _free),
    quantity("exhaust.crossover_diameter", "", 3, "0 %", "none", lambda d: 0.0, _free),
    quantity("exhaust.silencer_loss", "", 2, "60 %", "bends and at most a straight-through silencer",
             lambda d: 0.5, _free, "number"),
    quantity("exhaust.momentum_kept", "", 2, "11 %",
             "a merge collector, fitted to steady losses of junctions (pipes.momentum_kept)",
             lambda d: pipe_constant("momentum_kept"), lambda d: not is_log(d), "number"),
)  # fmt: skip
