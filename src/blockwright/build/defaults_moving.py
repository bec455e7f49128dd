"""Defaults of the rotating assembly, in proportion to the bore B and the stroke."""

from __future__ import annotations

import math

from .draft import Draft
from .rules import Many, Rule, quantity, word

_STEEL = 7850.0  # kg/m3


def _b(d: Draft) -> float:
    return d.si("casting.bore")


def _pin_moment(d: Draft) -> float:
    rods = d.count("layout.cylinders") / max(len(d.series("layout.throws")), 1)
    pin = _STEEL * math.pi / 4.0 * d.si("crank.pin_journal") ** 2 * 0.235 * rods * _b(d)
    return 2.0 * pin * d.si("crank.stroke") / 2.0


def _all_known(d: Draft) -> bool:
    return "casting.deck_height" in d.values and "pistons.compression_height" in d.values


def _deck_clearance(d: Draft) -> float:
    if not _all_known(d):
        return 0.010 * 0.0254
    return d.si("casting.deck_height") - _stack(d) - d.si("pistons.compression_height")


def _stack(d: Draft) -> float:
    return d.si("crank.stroke") / 2.0 + d.si("rods.length")


def _compression_height(d: Draft) -> float:
    if "casting.deck_height" in d.values:
        return d.si("casting.deck_height") - _stack(d) - d.si("pistons.deck_clearance")
    return 0.38 * _b(d)


MOVING: tuple[Rule | Many, ...] = (
    quantity("crank.main_journal", "", 3, "0.2 %", "0.62 B", lambda d: 0.62 * _b(d)),
    quantity("crank.pin_journal", "", 3, "0.2 %", "0.52 B", lambda d: 0.52 * _b(d)),
    quantity("crank.main_width", "", 3, "5 %", "0.22 B", lambda d: 0.22 * _b(d)),
    quantity("crank.throw_moment", "kg*m", 4, "20 %",
             "twice that of the pin alone, a steel cylinder of 0.235 B a rod at half the stroke",
             _pin_moment, dimension="mass moment"),
    quantity("crank.balance", "", 2, "5 %", "0.5 in a V, else 0",
             lambda d: 0.5 if d.word("layout.kind") == "V" else 0.0, dimension="number"),
    word("crank.counterweight", "counterweights at every throw", lambda d: "full"),
    quantity("rods.big_end_mass", "g", 0, "12 %", "43 kg/m2 times B squared",
             lambda d: 43.0 * _b(d) ** 2, dimension="mass"),
    quantity("rods.small_end_mass", "g", 0, "12 %", "17 kg/m2 times B squared",
             lambda d: 17.0 * _b(d) ** 2, dimension="mass"),
    word("rods.material", "forged rods are commonly of it", lambda d: "steel-4340"),
    quantity("rods.beam_area", "mm^2", 0, "12 %", "0.021 B squared",
             lambda d: 0.021 * _b(d) ** 2, dimension="area"),
    quantity("rods.beam_inertia", "mm^4", 0, "20 %", "0.075 beam_area squared, weak way of an I-section",
             lambda d: 0.075 * d.si("rods.beam_area") ** 2, dimension="second moment of area"),
    quantity("rods.big_end_bore", "", 3, "0.3 %", "pin journal plus 0.125 in for shells and clearance",
             lambda d: d.si("crank.pin_journal") + 0.125 * 0.0254),
    quantity("pistons.mass", "g", 0, "12 %", "470 kg/m3 times B cubed",
             lambda d: 470.0 * _b(d) ** 3, dimension="mass"),
    quantity("pistons.pin_mass", "g", 0, "12 %", "140 kg/m3 times B cubed",
             lambda d: 140.0 * _b(d) ** 3, dimension="mass"),
    quantity("pistons.ring_mass", "g", 0, "15 %", "40 kg/m3 times B cubed",
             lambda d: 40.0 * _b(d) ** 3, dimension="mass"),
    quantity("pistons.pin_offset", "", 3, "0.010 in", "none", lambda d: 0.0),
    quantity("pistons.deck_clearance", "", 3, "0.005 in",
             "what deck height, rod, stroke and compression height leave, or 0.010 in", _deck_clearance),
    quantity("pistons.compression_height", "", 3, "0.010 in",
             "what deck height, rod, stroke and deck clearance leave, or 0.38 B", _compression_height),
    quantity("pistons.dish", "cc", 1, "2 cc", "flat top", lambda d: 0.0, dimension="volume"),
    quantity("pistons.top_ring", "", 3, "12 %", "0.07 B", lambda d: 0.07 * _b(d)),
)  # fmt: skip
