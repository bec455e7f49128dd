"""Contradictions among dimensions of block, crank train and head."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..errors import Fault
from ..units import show
from .checks_common import Check, shown
from .draft import Draft
from .walk import leaves

#: Heights that should add up may differ by this, the wear of a gauge and a scratch [m].
_AGREE = 0.020 * 0.0254


def rod_and_throw(d: Draft) -> Iterator[Fault]:
    """A rod shorter than its throw cannot turn; under 1.2 throws no engine is made."""
    rod, throw = d.si("rods.length"), d.si("crank.stroke") / 2.0
    if rod < 2.4 * throw:
        least = show(2.4 * throw, d.values["rods.length"].unit, 3)
        right = f"it must be at least 1.2 strokes, {least}, for the piston to clear the crank"
        yield Fault("rods.length", shown(d, "rods.length"), right)


def deck_stack(d: Draft) -> Iterator[Fault]:
    """Half stroke, rod, compression height and deck clearance make the deck height."""
    paths = ("casting.deck_height", "pistons.compression_height", "pistons.deck_clearance")
    if not all(path in d.given for path in paths):
        return
    height, compression, clearance = (d.si(path) for path in paths)
    stack = d.si("crank.stroke") / 2.0 + d.si("rods.length") + compression
    if abs(height - stack - clearance) > _AGREE:
        unit = d.values["casting.deck_height"].unit
        right = (
            f"half the stroke, rod and compression height leave {show(height - stack, unit, 3)} "
            f"of the deck height {shown(d, 'casting.deck_height')}; make the four agree or leave one out"
        )
        yield Fault("pistons.deck_clearance", shown(d, "pistons.deck_clearance"), right)


def piston_and_head(d: Draft) -> Iterator[Fault]:
    """The crown at the top may stand above the deck, but not through the gasket into the head."""
    clearance, gasket = d.si("pistons.deck_clearance"), d.si("heads.gasket_thickness")
    if clearance + gasket <= 0.0:
        path = "pistons.deck_clearance"
        if path not in d.given:
            path = "casting.deck_height" if "casting.deck_height" in d.given else path
        unit = d.values["casting.bore"].unit
        right = (
            f"the piston stands {show(-clearance, unit, 3)} above the deck and the gasket is only "
            f"{show(gasket, unit, 3)}: it would hit the head"
        )
        yield Fault(path, shown(d, path), right)
    elif _is_lost(d):
        yield from _lost_piston(d, clearance)


def _is_lost(d: Draft) -> bool:
    """Whether the heights given leave the crown nowhere near the deck."""
    far = 0.35 * d.si("casting.bore")
    return "pistons.deck_clearance" not in d.given and abs(d.si("pistons.deck_clearance")) > far


def _lost_piston(d: Draft, clearance: float) -> Iterator[Fault]:
    unit = d.values["casting.bore"].unit
    right = (
        f"with half the stroke, the rod and the compression height it leaves the piston "
        f"{show(clearance, unit, 3)} below the deck; check them"
    )
    yield Fault("casting.deck_height", shown(d, "casting.deck_height"), right)


def compression_height(d: Draft) -> Iterator[Fault]:
    """What the deck height leaves for the piston must be a piston."""
    if "casting.deck_height" not in d.given or "pistons.compression_height" in d.given:
        return
    left = d.si("pistons.compression_height")
    if not 0.15 * d.si("casting.bore") <= left <= 1.5 * d.si("casting.bore"):
        rest = show(left, d.values["casting.bore"].unit, 3)
        right = f"half the stroke and the rod leave {rest} for the piston above its pin; check them"
        yield Fault("casting.deck_height", shown(d, "casting.deck_height"), right)


def chamber(d: Draft) -> Iterator[Fault]:
    """The closed volume must be positive and give a compression ratio of an engine."""
    if _is_lost(d):
        return
    area = math.pi / 4.0 * d.si("casting.bore") ** 2
    gasket = math.pi / 4.0 * d.si("heads.gasket_bore") ** 2 * d.si("heads.gasket_thickness")
    closed = (
        d.si("heads.chamber_volume") + gasket + area * d.si("pistons.deck_clearance") + d.si("pistons.dish")
    )
    if closed <= 0.0:
        right = f"with gasket, deck clearance and dish it leaves {closed * 1e6:.1f} cc above the piston"
        yield Fault("heads.chamber_volume", shown(d, "heads.chamber_volume"), right)
        return
    ratio = 1.0 + area * d.si("crank.stroke") / closed
    if not 4.0 <= ratio <= 22.0:
        right = f"with gasket, deck and dish it makes a compression ratio of {ratio:.1f}; 4 to 22 can be"
        yield Fault("heads.chamber_volume", shown(d, "heads.chamber_volume"), right)


def _smaller(small: str, large: str, why: str) -> Check:
    def check(d: Draft) -> Iterator[Fault]:
        given = [path for path in (small, large) if path in d.given]
        if not given or d.si(small) < d.si(large):
            return
        # Of two given, the one that every build must give is the likelier to be right.
        path = next((p for p in given if not leaves()[p].required), given[0])
        other, word = (large, "below") if path == small else (small, "above")
        yield Fault(path, shown(d, path), f"it must be {word} {other}, {shown(d, other)}: {why}")

    return check


def bore_spacing(d: Draft) -> Iterator[Fault]:
    """Neighbouring bores must not meet."""
    bore, spacing = d.si("casting.bore"), d.si("casting.bore_spacing")
    least = bore + 0.04 * 0.0254
    if len(d.numbers("layout.firing_order")) > 1 and spacing < least:
        unit = d.values["casting.bore_spacing"].unit
        right = f"it must exceed the bore, {show(bore, unit, 3)}, by the iron between two bores"
        yield Fault("casting.bore_spacing", shown(d, "casting.bore_spacing"), right)


def mains_fit(d: Draft) -> Iterator[Fault]:
    """Bearing widths must leave room along the crank."""
    room = d.si("casting.bore_spacing")
    for path in ("crank.main_width", "caps.length", "casting.web_thickness"):
        if path in d.given and d.si(path) >= 0.7 * room:
            spacing = shown(d, "casting.bore_spacing")
            right = f"it must be well below the bore spacing, {spacing}: the rods need room"
            yield Fault(path, shown(d, path), right)


def cam_tunnel(d: Draft) -> Iterator[Fault]:
    """The cam bore must clear the main bore."""
    if d.si("casting.cam_bore") <= 0.0:
        return
    left = d.si("casting.cam_height") - d.si("casting.cam_bore") / 2.0 - d.si("casting.main_bore") / 2.0
    if left <= 0.0:
        path = "casting.cam_height" if "casting.cam_height" in d.given else "casting.cam_bore"
        yield Fault(path, shown(d, path), "the cam bore would cut into the main bore; check height and bores")
    elif "casting.saddle_depth" in d.given and d.si("casting.saddle_depth") > left + 0.05 * 0.0254:
        unit = d.values["casting.saddle_depth"].unit
        right = f"the cam bore leaves only {show(left, unit, 3)} of iron above the main bore"
        yield Fault("casting.saddle_depth", shown(d, "casting.saddle_depth"), right)


GEOMETRY_CHECKS: tuple[Check, ...] = (
    bore_spacing,
    rod_and_throw,
    deck_stack,
    compression_height,
    piston_and_head,
    chamber,
    _smaller("crank.main_journal", "casting.main_bore", "the shells lie between"),
    _smaller("crank.pin_journal", "rods.big_end_bore", "the shells lie between"),
    _smaller("casting.main_bore", "caps.span", "the fasteners stand outside the bore"),
    _smaller("caps.span", "caps.outer_span", "the outer fasteners stand outside the inner ones"),
    _smaller("pistons.top_ring", "pistons.compression_height", "the ring is above the pin"),
    _smaller("crank.stroke", "casting.bore_length", "the piston stays in its cylinder"),
    mains_fit,
    cam_tunnel,
)
