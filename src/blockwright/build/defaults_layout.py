"""Defaults of the layout and the target: banks, crankpins, numbering."""

from __future__ import annotations

import math

from .cranks import BANK_ANGLES, default_split, phase
from .draft import Draft
from .firing import Firing
from .rules import Many, Rule, quantity, word


def _degrees(d: Draft, path: str) -> float:
    return math.degrees(d.si(path))


def _bank_angle(d: Draft) -> float:
    kind = d.word("layout.kind")
    if kind == "V":
        return math.radians(BANK_ANGLES[d.count("layout.cylinders")])
    return math.pi if kind == "flat" else 0.0


def _has_bank_angle(d: Draft) -> bool:
    return d.word("layout.kind") != "V" or d.count("layout.cylinders") in BANK_ANGLES


def _numbering(d: Draft) -> str:
    for numbering in ("alternating", "by-bank"):
        split = _degrees(d, "layout.split") if "layout.split" in d.values else None
        if isinstance(phase(d, numbering, split), Firing):
            return numbering
    return "alternating"


def _split(d: Draft) -> float:
    return math.radians(default_split(d, d.word("layout.numbering")))


def _throws(d: Draft) -> list[tuple[str, str]]:
    found = phase(d, d.word("layout.numbering"), _degrees(d, "layout.split"))
    angles = found.throws if isinstance(found, Firing) else ()
    return [(f"layout.throws.{index}", f"{angle:g} deg") for index, angle in enumerate(angles)]


def _throws_told(d: Draft) -> str:
    return ", ".join(f"{math.degrees(angle):.4g}" for angle in d.series("layout.throws")) + " deg"


def _bank_offset(d: Draft) -> float:
    if d.word("layout.kind") == "inline":
        return 0.0
    return (0.24 if len(d.series("layout.throws")) < d.count("layout.cylinders") else 0.5) * d.si(
        "casting.bore"
    )


LAYOUT: tuple[Rule | Many, ...] = (
    word("name", "the build has no name", lambda d: "unnamed build"),
    quantity("target.survival", "", 2, "0 %", "the chance commonly accepted here", lambda d: 0.95,
             dimension="number"),
    quantity("layout.bank_angle", "deg", 0, "0 %",
             "180 deg flat, 0 deg inline; of a V the usual one for its cylinders: 60 deg for 6 and 12, "
             "90 deg for 8, 72 deg for 10; no default for others",
             _bank_angle, _has_bank_angle, "angle"),
    word("layout.numbering", "the one by which the crank fires this order", _numbering),
    quantity("layout.split", "deg", 0, "0 %",
             "0 deg, or when the throws are not given the least that lets a V fire evenly",
             _split, dimension="angle"),
    Many("layout.throws", "the crank that fires this order at equal intervals", _throws, _throws_told,
         ("angle",)),
    quantity("layout.bank_offset", "", 3, "3 %",
             "0.24 bore where two rods share a pin, 0.5 bore where each cylinder has its own throw, 0 inline",
             _bank_offset),
)  # fmt: skip
