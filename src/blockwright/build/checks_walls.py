"""Contradictions among the wall readings."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..errors import Fault, InputError
from ..units import parse_spread, show
from .checks_common import as_written
from .draft import Draft

#: Readings this near the line of the bores face the neighbour.
_FACING = math.radians(15.0)
#: A wall that two bores share reads the same from both, within this [m].
_SHARED = 0.75e-3


def _readings(d: Draft) -> dict[int, dict[int, int]]:
    """Number of readings by cylinder and depth, as far as the user gave them."""
    found: dict[int, dict[int, int]] = {}
    for path, value in d.values.items():
        parts = path.split(".")
        if (
            len(parts) == 5
            and parts[:2] == ["casting", "walls"]
            and parts[2].isdigit()
            and value.by != "assumed"
        ):
            rows = found.setdefault(int(parts[2]), {})
            rows[int(parts[3])] = max(rows.get(int(parts[3]), 0), int(parts[4]) + 1)
    return found


def shape(d: Draft) -> Iterator[Fault]:
    """One line a depth, one figure an angle, of cylinders that exist."""
    base, found = "casting.walls.thickness", _readings(d)
    if not found:
        return
    cylinders = d.count("layout.cylinders")
    depths, angles = len(d.series("casting.walls.depth")), len(d.series("casting.walls.angle"))
    for key, size in (("depths", depths), ("angles", angles)):
        path = f"casting.walls.{key}"
        if not size and path not in d.given and not any(bad.startswith(path) for bad in d.bad):
            what = "how far below the deck each line was read" if key == "depths" else "where around the bore"
            yield Fault(path, "nothing", f"say {what}")
    for cylinder, rows in found.items():
        path = f"{base}.{cylinder}"
        if not 1 <= cylinder <= cylinders:
            yield Fault(path, f"cylinder {cylinder}", f"the cylinders are 1 to {cylinders}")
            continue
        if depths and len(rows) != depths:
            right = f"give {depths}, one a depth of casting.walls.depths"
            yield Fault(path, f"{len(rows)} lines", right)
        for depth, count in rows.items():
            if angles and count != angles:
                right = f"give {angles}, one an angle of casting.walls.angles"
                yield Fault(f"{path}.{depth}", f"{count} readings", right)


def spread_of_readings(d: Draft) -> Iterator[Fault]:
    """The spread given for all readings must be one."""
    if "casting.walls.u" in d.choices:
        try:
            parse_spread(d.word("casting.walls.u"), "length", 5e-3, "casting.walls.u")
        except InputError as error:
            yield from error.faults


def depths(d: Draft) -> Iterator[Fault]:
    """No reading below the end of the cylinder."""
    length = d.si("casting.bore_length")
    for index, depth in enumerate(d.series("casting.walls.depth")):
        if depth > length and "casting.walls.depths" in d.given:
            value = d.values[f"casting.walls.depth.{index}"]
            right = f"the cylinder ends {show(length, value.unit, 3)} below the deck (casting.bore_length)"
            yield Fault(f"casting.walls.depths.{index}", as_written(depth, value.unit), right)


def _neighbours(d: Draft) -> Iterator[tuple[int, int]]:
    """Pairs of cylinders beside each other, front one first."""
    from .firing import banks_and_rows

    n = d.count("layout.cylinders")
    bank, row = banks_and_rows(d.word("layout.kind"), n, d.word("layout.numbering"))
    place = {(b, r): c for c, (b, r) in enumerate(zip(bank, row, strict=True), start=1)}
    for (b, r), cylinder in place.items():
        if (b, r + 1) in place:
            yield cylinder, place[(b, r + 1)]


def room_between_bores(d: Draft) -> Iterator[Fault]:
    """Bore and the walls that face each other must fit in the bore spacing.

    Which of 90 and 270 degrees faces the front depends on the bank, so each cylinder's
    thinner facing wall counts: a fault is one on any reading of it.  Walls that are one
    (siamesed bores) read as much from either side.
    """
    bore, spacing = d.si("casting.bore"), d.si("casting.bore_spacing")
    room = spacing - bore
    facing = [
        index
        for index, angle in enumerate(d.series("casting.walls.angle"))
        if abs(angle % math.pi - math.pi / 2.0) <= _FACING
    ]
    given = _readings(d)
    for depth in range(len(d.series("casting.walls.depth"))):
        for front, rear in _neighbours(d):
            if front not in given or rear not in given or not facing:
                continue
            walls = [
                min(d.si(f"casting.walls.{c}.{depth}.{angle}") for angle in facing) for c in (front, rear)
            ]
            if all(abs(wall - room) <= _SHARED for wall in walls):
                continue
            if sum(walls) > room:
                unit = d.values["casting.bore_spacing"].unit
                right = (
                    f"with the bore, {show(bore, unit, 3)}, and the facing wall of cylinder {rear}, "
                    f"{show(walls[1], unit, 3)}, it is wider than the bore spacing, {show(spacing, unit, 3)}"
                )
                yield Fault(f"casting.walls.thickness.{front}.{depth}", show(walls[0], unit, 3), right)


WALL_CHECKS = (shape, spread_of_readings, depths, room_between_bores)
