"""The governing demand split by cause, as steps that add up."""

from __future__ import annotations

import itertools
import math

from ...life.verdict import Limit
from .. import svg, words

_WIDTH, _LEFT, _RIGHT, _ROW, _TOP = 560.0, 196.0, 480.0, 44.0, 30.0


def split(limit: Limit) -> svg.Figure | None:
    """Steps of the governing limit's causes, and their sum; None where the limit has no split."""
    shares = [s for s in limit.split if math.isfinite(s.value.value)]
    if not shares:
        return None
    unit = shares[0].value.unit
    ends = list(itertools.accumulate((s.value.value for s in shares), initial=0.0))
    total = ends[-1]
    same = limit.demand.unit == unit and math.isclose(limit.demand.value, total, rel_tol=0.02)
    capacity = limit.capacity.value if same and math.isfinite(limit.capacity.value) else None
    if capacity is not None and capacity > 3 * max(abs(total), 1e-12):
        capacity = None
    marks = [*ends, total] + ([capacity] if capacity is not None else [])
    low, high = min(0.0, *marks), max(0.0, *marks)
    rows = len(shares) + 1
    frame = svg.Frame(_LEFT, _TOP, _RIGHT - _LEFT, _ROW * rows, low, high + 0.04 * ((high - low) or 1), 0, 1)
    bottom = _TOP + frame.height
    parts = []
    for t in svg.nice_ticks(frame.x_low, frame.x_high, 5):
        parts += [
            svg.line(frame.x(t), _TOP, frame.x(t), bottom, "grid"),
            svg.text(words.tick(t), frame.x(t), bottom + 18, "tick", "middle"),
        ]
    for k, (share, start, end) in enumerate(zip(shares, ends, ends[1:], strict=False)):
        y = _TOP + _ROW * (k + 0.5)
        name = svg.wrap(words.one_line(share.cause), _LEFT - 16, 15.0, 2)
        first = y + 5 if len(name) == 1 else y - 4
        parts += [svg.text(part, 0, first + 17 * j, "name") for j, part in enumerate(name)]
        parts.append(
            svg.rect(
                frame.x(start),
                y - 10,
                frame.x(end) - frame.x(start),
                20,
                "bar " + ("gain" if end >= start else "loss"),
            )
        )
        parts.append(
            svg.line(
                frame.x(end), y - 10, frame.x(end), y + _ROW + (10 if k == len(shares) - 1 else -10), "link"
            )
        )
        parts.append(svg.text(words.number(share.value.value), _WIDTH, y + 5, "figure", "end"))
    y = _TOP + _ROW * (rows - 0.5)
    parts += [
        svg.text("together", 0, y + 5, "name strong"),
        svg.rect(frame.x(0.0), y - 10, frame.x(total) - frame.x(0.0), 20, "bar total"),
        svg.text(words.number(total), _WIDTH, y + 5, "figure strong", "end"),
        svg.line(frame.x(0.0), _TOP, frame.x(0.0), bottom, "axis"),
        svg.text(words.unit_words(unit), _RIGHT, bottom + 38, "label", "end"),
    ]
    if capacity is not None:
        parts += [
            svg.line(frame.x(capacity), _TOP - 6, frame.x(capacity), bottom, "capacity"),
            svg.text("capacity", frame.x(capacity) - 6, _TOP - 10, "label warn", "end"),
        ]
    most = max(shares, key=lambda s: abs(s.value.value))
    part = abs(most.value.value) / (sum(abs(s.value.value) for s in shares) or 1.0)
    basis = (
        "They add up to the demand."
        if same
        else "They add up to the peak local load; the demand is made from it over the whole cycle."
    )
    return svg.Figure(
        key="split",
        title=f"What makes the load: {words.one_line(limit.name)}",
        drawing=svg.picture(
            "split",
            _WIDTH,
            bottom + 46,
            f"Causes of the load on {limit.part}, {limit.place}",
            "; ".join(f"{s.cause} {words.quantity(s.value)}" for s in shares)
            + f"; together {words.with_unit(total, unit)}.",
            *parts,
        ),
        caption=f"{words.one_line(limit.name)} at {words.one_line(limit.place)}, cause by cause, each "
        "step starting where "
        f"the last ended. {basis} The longest step is the one to attack.",
        reading=f"{math.floor(100 * part + 0.5)} %",
        reading_words=f"of the causes is {words.one_line(most.cause)}",
        table=svg.Table(
            ("cause", "share", "spread 5-95 %"),
            tuple(
                (words.one_line(s.cause), words.quantity(s.value), words.spread_words(s.value))
                for s in shares
            ),
        ),
    )
