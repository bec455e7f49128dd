"""What a settled charger says in words: cautions beside the figures."""

from __future__ import annotations

import math

from .driven import BYPASS_OPEN, BlowerMatch
from .steering import NOTHING, OPEN, SHUT, TurboMatch

#: Flow margin to surge below which it is named: 10 %, common practice, no source.
SURGE_MARGIN = 0.10
#: Flow margin to choke below which it is named.
CHOKE_MARGIN = 0.05
#: Boost short of the wanted that is named.
_SHORT = 0.01


def _bar(pressure: float) -> str:
    return f"{pressure / 1e5:.2f} bar"


def edge_words(edge: str) -> str:
    """One sentence for a point off the map, or ""."""
    return {
        "surge": "The compressor stands left of its surge line: it would surge here.",
        "choke": "The compressor stands right of its map's end: choked, needlessly fast and hot.",
        "above": "The compressor turns faster than the fastest line of its map: the map's edge.",
        "below": "The compressor turns slower than the slowest line of its map; below it the fan laws stand.",
    }.get(edge, "")


def _tip(tip_speed: float, limit: float) -> str:
    if math.isnan(tip_speed) or math.isnan(limit) or tip_speed <= limit:
        return ""
    return (
        f"Overspeed: the compressor wheel's tip moves at {tip_speed:.0f} m/s, its limit is {limit:.0f} m/s."
    )


def cautions(match: TurboMatch | BlowerMatch) -> tuple[str, ...]:
    """Sentences for everything that a builder should be warned of; empty when all is well."""
    found = _turbo(match) if isinstance(match, TurboMatch) else _blower(match)
    return tuple(sentence for sentence in found if sentence)


def forbids(match: TurboMatch | BlowerMatch) -> str:
    """The one sentence for which a target cannot be had with this charger, or ""."""
    if isinstance(match, TurboMatch):
        edge, tip = match.balance.compression.edge, match.balance.compression.tip_speed
    else:
        edge, tip = match.delivery.edge, match.delivery.tip_speed
    if edge in ("surge", "choke", "above"):
        return edge_words(edge)
    return _tip(tip, match.tip_limit)


def _turbo(match: TurboMatch) -> list[str]:
    b, c = match.balance, match.balance.compression
    out = [edge_words(c.edge), _tip(c.tip_speed, match.tip_limit)]
    if match.limit in (SHUT, NOTHING) and b.plenum_pressure < (1.0 - _SHORT) * match.wanted:
        out.append(
            f"Wanted boost not reached: with the wastegate shut the turbine makes {_bar(b.plenum_pressure)} "
            f"absolute, not {_bar(match.wanted)}."
        )
    if match.limit == OPEN and b.plenum_pressure > (1.0 + _SHORT) * match.wanted:
        out.append(
            f"The wastegate is wide open and passes no more: the boost creeps to {_bar(b.plenum_pressure)} "
            f"absolute, {_bar(match.wanted)} is wanted. A larger wastegate or turbine holds it."
        )
    if not c.edge:
        if c.surge_margin < SURGE_MARGIN:
            out.append(f"Near surge: the flow lies {100.0 * c.surge_margin:.0f} % above the surge line's.")
        if c.choke_margin < CHOKE_MARGIN:
            out.append(f"Near the map's right edge: only {100.0 * c.choke_margin:.0f} % more flow is on it.")
    return out


def _blower(match: BlowerMatch) -> list[str]:
    d = match.delivery
    out = [edge_words(d.edge), _tip(d.tip_speed, match.tip_limit)]
    if match.limit == BYPASS_OPEN:
        out.append(
            f"The bypass is wide open and passes no more: {_bar(match.plenum_pressure)} absolute instead of "
            f"{_bar(match.wanted)}."
        )
    elif match.plenum_pressure < (1.0 - _SHORT) * match.wanted:
        out.append(
            f"Wanted boost not reached: the charger delivers {_bar(match.plenum_pressure)} absolute, "
            f"not {_bar(match.wanted)}; a smaller pulley on it turns it faster."
        )
    return out
