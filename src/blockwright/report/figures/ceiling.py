"""The ceiling on a graduated rule of power: what is run, what is safe, where it breaks."""

from __future__ import annotations

import math

from markupsafe import Markup

from ...life.verdict import Verdict
from .. import svg, words

_WIDTH, _LEFT, _RIGHT, _Y = 776.0, 24.0, 752.0, 92.0


def _scale(values: list[float]) -> tuple[float, float, float]:
    """Ends of the rule and the step of its figures."""
    low, high = min(values), max(values)
    span = max(high - low, 0.2 * high, 1.0)
    low, high = max(low - 0.25 * span, 0.0), high + 0.25 * span
    ticks = svg.nice_ticks(low, high, 7)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else span
    return math.floor(low / step) * step, math.ceil(high / step) * step, step


def _spread_out(wanted: list[float], gap: float, low: float, high: float) -> list[float]:
    """Positions at least `gap` apart, as near as may be to the wanted (rising) ones."""
    out = list(wanted)
    for _ in range(60):
        for k in range(len(out) - 1):
            short = gap - (out[k + 1] - out[k])
            if short > 0.01:
                out[k] -= short / 2
                out[k + 1] += short / 2
        out = [min(max(v, low), high) for v in out]
    return out


def ceiling(verdict: Verdict) -> svg.Figure | None:
    """Rule with the power now and the ceiling above it, powers of failing below; None without a power."""
    unit = verdict.power.unit
    now, fails = verdict.power, verdict.ceiling.fails_at
    safe = verdict.ceiling.power
    above = [("this build", now.value, "now")]
    if safe is not None and safe.unit == unit:
        above.append(("ceiling", safe.value, "safe"))
    below = [
        (f"{per} % would fail", value)
        for per, value in ((5, fails.p05), (50, fails.p50), (90, fails.p90))
        if value is not None and math.isfinite(value) and fails.unit == unit
    ]
    values = [v for _, v, _ in above if math.isfinite(v)] + [v for _, v in below]
    if not values or not math.isfinite(now.value):
        return None
    low, high, step = _scale(values)

    def x(value: float) -> float:
        return _LEFT + (value - low) / (high - low) * (_RIGHT - _LEFT)

    parts: list[Markup] = [svg.line(_LEFT, _Y, _RIGHT, _Y, "one")]
    for k in range(round((high - low) / step) * 10 + 1):
        at = low + k * step / 10
        long = 14 if k % 10 == 0 else 9 if k % 5 == 0 else 5
        parts.append(svg.line(x(at), _Y, x(at), _Y - long, "axis"))
        if k % 10 == 0:
            parts.append(svg.text(words.tick(at), x(at), _Y + 18, "tick", "middle"))
    if safe is not None and safe.unit == unit and safe.spread is not None:
        left = max(x(safe.spread.low), _LEFT)
        parts.append(svg.rect(left, _Y - 24, min(x(safe.spread.high), _RIGHT) - left, 8, "spread lives"))
    above.sort(key=lambda item: item[1])
    for (name, value, css), at in zip(
        above, _spread_out([x(v) for _, v, _ in above], 150, _LEFT + 60, _RIGHT - 60), strict=True
    ):
        parts += [
            svg.path([(at, 44), (x(value), 56), (x(value), _Y - 2)], f"leader {css}"),
            svg.text(f"{name} {words.with_unit(value, unit)}", at, 36, f"name {css}", "middle"),
        ]
        if css == "now":
            parts.append(
                svg.path(
                    [(x(value) - 7, _Y - 22), (x(value) + 7, _Y - 22), (x(value), _Y - 4)],
                    "mark ink solid",
                    closed=True,
                )
            )
        else:
            parts.append(svg.rect(x(value) - 2.5, _Y - 34, 5, 32, "mark lives solid"))
    for (name, value), at in zip(
        below, _spread_out([x(v) for _, v in below], 128, _LEFT + 56, _RIGHT - 56), strict=True
    ):
        parts += [
            svg.path([(x(value), _Y + 24), (x(value), _Y + 36), (at, _Y + 50)], "leader breaks"),
            svg.path(
                [(x(value) - 6, _Y + 34), (x(value) + 6, _Y + 34), (x(value), _Y + 24)],
                "mark breaks solid",
                closed=True,
            ),
            svg.text(name, at, _Y + 66, "place", "middle"),
            svg.text(words.with_unit(value, unit), at, _Y + 84, "figure", "middle"),
        ]
    told = [f"{n} {words.with_unit(v, unit)}" for n, v, _ in above] + [
        f"{n} at {words.with_unit(v, unit)}" for n, v in below
    ]
    reading = words.quantity(safe) if safe is not None else "none found"
    return svg.Figure(
        key="ceiling",
        title="Ceiling",
        drawing=svg.picture(
            "ceiling", _WIDTH, _Y + (96 if below else 30), "Power and ceiling", "; ".join(told) + ".", *parts
        ),
        caption=(
            "Power along the rule. Left of the ceiling the whole engine lives through the duty with at "
            f"least {words.chance(verdict.accepted)} chance. Below: the powers by which 5, 50 and 90 of a "
            "hundred such engines would have failed; one beyond the powers looked at is left out."
        ),
        reading=reading,
        reading_words="is the power at which it stops being safe"
        if safe is not None
        else "within the powers looked at",
    )
