"""The power curve as a table for a spreadsheet: one line a speed, units in the heads, empty where unknown."""

from __future__ import annotations

import csv
import dataclasses
import io
import math

from ..life.verdict import Quantity
from .curve_record import Curve, CurvePoint

#: Quantities in the order of the columns.
#: Quantities in the order of the columns.
COLUMNS = tuple(
    f.name for f in dataclasses.fields(CurvePoint) if f.name not in ("corrected", "unknown", "remarks")
)


def curve_csv(curve: Curve) -> str:
    """Text with a head line; every figure, and 5 and 95 % bounds beside power, torque and peak pressure."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_heads(curve))
    for point in curve.points:
        row: list[str] = []
        for name in COLUMNS:
            figure: Quantity | None = getattr(point, name)
            row.append("" if figure is None else _number(figure.value))
            if name in _BOUNDED:
                spread = None if figure is None else figure.spread
                row += ["", ""] if spread is None else [_number(spread.low), _number(spread.high)]
        row += ["" if c.power is None else _number(c.power.value) for c in point.corrected]
        writer.writerow(row)
    return out.getvalue()


_BOUNDED = frozenset({"power", "torque", "peak_pressure"})


def _heads(curve: Curve) -> list[str]:
    heads: list[str] = []
    for name in COLUMNS:
        unit = next((q.unit for p in curve.points if (q := getattr(p, name)) is not None), "1")
        tail = "" if unit == "1" else f" [{unit}]"
        name = name.rstrip("_").replace("_", " ")
        heads.append(name + tail)
        if name.replace(" ", "_") in _BOUNDED:
            heads += [f"{name} 5 %{tail}", f"{name} 95 %{tail}"]
    unit = curve.best_power.value.unit
    return heads + [f"power {s.name} [{unit}]" for s in curve.standards]


def _number(value: float) -> str:
    """Six figures, never in words: a spreadsheet reads it back."""
    return f"{value:.6g}" if math.isfinite(value) else ""
