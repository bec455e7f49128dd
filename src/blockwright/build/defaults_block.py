"""Defaults of the casting, the caps and the fasteners."""

from __future__ import annotations

import math
from collections.abc import Callable

from .defaults_walls import WALLS
from .draft import Draft
from .rules import Many, Rule, quantity, word

_IN = 0.0254


def _b(d: Draft) -> float:
    return d.si("casting.bore")


def _row_si(table: str, name: str, figure: str) -> float:
    from . import catalogue

    return float(catalogue.row(table, name).si(figure))


def _thread_size(d: Draft, section: str, figure: str = "major") -> float:
    return _row_si("thread", d.word(f"{section}.thread"), figure)


def _litres(d: Draft) -> float:
    return math.pi / 4.0 * _b(d) ** 2 * d.si("crank.stroke") * d.count("layout.cylinders") * 1e3


def _four_bolt(d: Draft) -> bool:
    return d.word("caps.pattern") != "two-bolt"


def _mains(d: Draft) -> int:
    return len(d.series("layout.throws")) + 1


def _cam_bore(d: Draft) -> float:
    return 0.5 * _b(d) if d.word("layout.kind") == "V" else 0.0


def _saddle(d: Draft) -> float:
    if d.si("casting.cam_bore") > 0.0:
        above = d.si("casting.cam_height") - d.si("casting.cam_bore") / 2.0
        return max(above - d.si("casting.main_bore") / 2.0, 0.1 * _IN)
    return 0.8 * d.si("casting.main_bore")


def _by_bore(d: Draft, large: str, middle: str, small: str) -> str:
    return large if _b(d) >= 0.098 else middle if _b(d) >= 0.080 else small


def _girdle(d: Draft) -> bool:
    return "girdle.thickness" in d.values


def _tighten(d: Draft, section: str) -> str:
    given = [way for way in ("stretch", "angle", "torque") if f"{section}.{way}" in d.values]
    return given[0] if given else "torque"


def _torque(d: Draft, section: str) -> float:
    """Torque for 75 % of proof load, VDI 2230: T = F (0.16 P + 0.58 d2 mu + Dk/2 mu)."""
    area, pitch = _thread_size(d, section, "stress_area"), _thread_size(d, section, "pitch")
    force = 0.75 * _row_si("grade", d.word(f"{section}.grade"), "proof") * area
    thread, head = d.si(f"{section}.thread_friction"), d.si(f"{section}.head_friction")
    face = (1.5 + 1.05) / 2.0 * _thread_size(d, section)
    arm = 0.16 * pitch + 0.58 * _thread_size(d, section, "pitch_diameter") * thread + face / 2.0 * head
    return force * arm


def _is(section: str, way: str, d: Draft) -> bool:
    return f"{section}.tighten" in d.choices and d.word(f"{section}.tighten") == way


def _fasteners(
    section: str,
    threads: tuple[str, str, str],
    grade: str,
    grip: tuple[str, str],
    turns: float,
    when: str = "",
) -> tuple[Rule, ...]:
    """Rules of one set of fasteners; ``grip`` is (rule in words, which one)."""

    def held(d: Draft) -> bool:
        return not when or _four_bolt(d)

    def length(d: Draft) -> float:
        return _GRIPS[grip[1]](d)

    sizes = f"{threads[0]} from a bore of 98 mm, {threads[1]} from 80 mm, else {threads[2]}"
    return (
        word(f"{section}.kind", "as usual", lambda d: "bolt", held),
        word(f"{section}.thread", sizes, lambda d: _by_bore(d, *threads), held),
        word(f"{section}.grade", "as usual for this joint", lambda d: grade, held),
        quantity(f"{section}.grip", "", 3, "6 %", grip[0], length, held),
        quantity(f"{section}.engagement", "", 3, "8 %", f"{turns:g} thread diameters",
                 lambda d: turns * _thread_size(d, section), held),
        word(f"{section}.tighten", "by the figure given, else torque", lambda d: _tighten(d, section), held),
        quantity(f"{section}.thread_friction", "", 3, "15 %", "oiled steel thread",
                 lambda d: 0.13, held, "number"),
        quantity(f"{section}.head_friction", "", 3, "15 %", "oiled steel face",
                 lambda d: 0.13, held, "number"),
        quantity(f"{section}.torque", "", 0, "4 %", "75 % of proof load at the friction assumed (VDI 2230)",
                 lambda d: _torque(d, section),
                 lambda d: held(d) and _is(section, "torque", d), "torque"),
        quantity(f"{section}.snug", "", 0, "5 %", "30 % of the torque for 75 % of proof load",
                 lambda d: 0.3 * _torque(d, section),
                 lambda d: held(d) and _is(section, "angle", d), "torque"),
    )  # fmt: skip


_GRIPS: dict[str, Callable[[Draft], float]] = {
    "cap": lambda d: d.si("casting.main_bore") / 2.0 + 0.6 * d.si("caps.crown"),
    "head": lambda d: 0.75 * _b(d),
    "rod": lambda d: 0.4 * _b(d),
}


BLOCK: tuple[Rule | Many, ...] = (
    word("casting.material", "the commonest iron of such blocks", lambda d: "grey-30"),
    quantity("casting.hardness", "HB", 0, "6 %", "that of the catalogue's iron",
             lambda d: _row_si("metal", d.word("casting.material"), "hardness"), dimension="hardness"),
    quantity("casting.bore_spacing", "", 3, "0.5 %", "1.10 B", lambda d: 1.10 * _b(d)),
    quantity("casting.deck_height", "", 3, "0.005 in",
             "half the stroke, rod, compression height and deck clearance",
             lambda d: (d.si("crank.stroke") / 2.0 + d.si("rods.length")
                        + d.si("pistons.compression_height") + d.si("pistons.deck_clearance"))),
    quantity("casting.deck_thickness", "", 3, "12 %", "0.11 B", lambda d: 0.11 * _b(d)),
    quantity("casting.bore_length", "", 3, "4 %", "stroke plus 0.47 B",
             lambda d: d.si("crank.stroke") + 0.47 * _b(d)),
    quantity("casting.main_bore", "", 3, "0.3 %", "main journal plus 0.190 in for shells and clearance",
             lambda d: d.si("crank.main_journal") + 0.190 * _IN),
    quantity("casting.web_thickness", "", 3, "8 %", "0.85 of the main bearing's width",
             lambda d: 0.85 * d.si("crank.main_width")),
    quantity("casting.web_width", "", 3, "12 %", "B", _b),
    quantity("casting.cam_bore", "", 3, "3 %", "0.5 B in a V, none inline or flat", _cam_bore),
    quantity("casting.cam_height", "", 3, "5 %", "1.12 B", lambda d: 1.12 * _b(d)),
    quantity("casting.valley_thickness", "", 3, "15 %", "0.09 B", lambda d: 0.09 * _b(d)),
    quantity("casting.saddle_depth", "", 3, "10 %",
             "from the main bore to the cam bore; without one 0.8 of the main bore", _saddle),
    quantity("casting.mass", "kg", 0, "15 %", "9 kg plus 11 kg a litre",
             lambda d: 9.0 + 11.0 * _litres(d), dimension="mass"),
    word("caps.pattern", "production caps have two", lambda d: "two-bolt"),
    word("caps.four_bolt_mains", "all of them", lambda d: tuple(range(1, _mains(d) + 1)), _four_bolt),
    quantity("caps.hardness", "HB", 0, "6 %", "that of the catalogue's metal",
             lambda d: _row_si("metal", d.word("caps.material"), "hardness"), dimension="hardness"),
    quantity("caps.splay", "deg", 0, "1 deg", "as usual", lambda d: math.radians(20.0),
             lambda d: d.word("caps.pattern") == "four-bolt-splayed", "angle"),
    quantity("caps.length", "", 3, "5 %", "the main bearing's width", lambda d: d.si("crank.main_width")),
    quantity("caps.crown", "", 3, "8 %", "0.32 of the main bore",
             lambda d: 0.32 * d.si("casting.main_bore")),
    *_fasteners("main_fasteners", ("1/2-13", "7/16-14", "3/8-16"), "sae-8",
                ("half the main bore plus 0.6 of the crown", "cap"), 1.8),
    quantity("caps.span", "", 3, "1.5 %", "main bore plus 1.75 thread diameters",
             lambda d: d.si("casting.main_bore") + 1.75 * _thread_size(d, "main_fasteners")),
    quantity("caps.foot_width", "", 3, "8 %", "span less main bore: the fastener in the middle of its foot",
             lambda d: d.si("caps.span") - d.si("casting.main_bore")),
    *_fasteners("outer_fasteners", ("7/16-14", "3/8-16", "3/8-16"), "sae-8",
                ("half the main bore plus 0.6 of the crown", "cap"), 1.8, "four-bolt"),
    quantity("caps.outer_span", "", 3, "2 %", "span plus 4 diameters of the outer thread",
             lambda d: d.si("caps.span") + 4.0 * _thread_size(d, "outer_fasteners"), _four_bolt),
    quantity("caps.register_fit", "", 4, "0.0010 in", "a light press in its register",
             lambda d: 0.0010 * _IN),
    quantity("caps.register_depth", "", 3, "20 %", "0.05 B", lambda d: 0.05 * _b(d)),
    word("caps.surface", "production caps keep their skin at the crown", lambda d: "as-cast"),
    quantity("caps.notch_radius", "", 3, "30 %", "a small fillet of 0.12 in", lambda d: 0.12 * _IN),
    *_fasteners("head_fasteners", ("7/16-14", "7/16-14", "3/8-16"), "sae-8", ("0.75 B", "head"), 1.8),
    word("head_fasteners.count", "around one bore", lambda d: 4),
    quantity("head_fasteners.share", "", 3, "3 %", "ten for a bank of four, four around each bore",
             lambda d: 0.625, dimension="number"),
    *_fasteners("rod_bolts", ("3/8-24", "3/8-24", "5/16-24"), "rod-bolt-190ksi", ("0.4 B", "rod"), 1.5),
    word("rod_bolts.count", "as usual", lambda d: 2),
    quantity("casting.bolt_boss_diameter", "", 3, "8 %", "2.2 diameters of the main thread",
             lambda d: 2.2 * _thread_size(d, "main_fasteners")),
    quantity("casting.head_boss_diameter", "", 3, "8 %", "2.2 diameters of the head thread",
             lambda d: 2.2 * _thread_size(d, "head_fasteners")),
    word("girdle.material", "as usual", lambda d: "steel-1045", _girdle),
    quantity("girdle.fit", "", 3, "0.0010 in", "it just touches", lambda d: 0.0, _girdle),
    *WALLS,
)  # fmt: skip
