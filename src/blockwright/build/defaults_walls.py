"""Defaults of the wall readings: where they are taken, and cylinders that were not read."""

from __future__ import annotations

from ..units import show
from .draft import Draft
from .rules import Many, Rule, quantity

#: Where around the bore four readings are taken [deg].
_QUARTERS = (0, 90, 180, 270)
#: Depths of assumed walls as shares of the bore's length.
_DEPTHS = (0.15, 0.5, 0.85)


def _shop(d: Draft) -> tuple[str, int]:
    inch = d.values["casting.bore"].unit not in ("mm", "cm", "m", "um")
    return ("in", 3) if inch else ("mm", 2)


def _read(d: Draft) -> bool:
    return "casting.walls.thickness" in d.given


def _depths(d: Draft) -> list[tuple[str, str]]:
    length = d.si("casting.bore_length")
    return [(f"casting.walls.depth.{i}", show(part * length, *_shop(d))) for i, part in enumerate(_DEPTHS)]


def _depths_told(d: Draft) -> str:
    unit, digits = _shop(d)
    return ", ".join(show(depth, unit, digits) for depth in d.series("casting.walls.depth"))


def _angles(d: Draft) -> list[tuple[str, str]]:
    return [(f"casting.walls.angle.{i}", f"{angle} deg") for i, angle in enumerate(_QUARTERS)]


def _four_a_line(d: Draft) -> bool:
    """Without angles, readings can only be quarters when there are four in a line."""
    if not _read(d):
        return True
    counts = {int(path.split(".")[4]) for path in d.values if _is_reading(path)}
    return counts == {0, 1, 2, 3}


def _is_reading(path: str) -> bool:
    parts = path.split(".")
    return len(parts) == 5 and parts[:2] == ["casting", "walls"] and parts[2].isdigit()


def _path(cylinder: int, depth: int, angle: int) -> str:
    return f"casting.walls.{cylinder}.{depth}.{angle}"


def _missing(d: Draft) -> list[tuple[int, int, int]]:
    return [
        (c, i, j)
        for c in range(1, d.count("layout.cylinders") + 1)
        for i in range(len(d.series("casting.walls.depth")))
        for j in range(len(d.series("casting.walls.angle")))
        if _path(c, i, j) not in d.values
    ]


def _wall(d: Draft, depth: int, angle: int, given: list[int]) -> float:
    read = [d.si(_path(c, depth, angle)) for c in given if _path(c, depth, angle) in d.values]
    if read:
        return sum(read) / len(read)
    return min(0.045 * d.si("casting.bore"), 0.45 * (d.si("casting.bore_spacing") - d.si("casting.bore")))


def _cylinders_read(d: Draft) -> list[int]:
    return sorted({int(path.split(".")[2]) for path in d.values if _is_reading(path)})


def _walls(d: Draft) -> list[tuple[str, str]]:
    given = _cylinders_read(d)
    return [(_path(c, i, j), show(_wall(d, i, j, given), *_shop(d))) for c, i, j in _missing(d)]


def _walls_told(d: Draft) -> str:
    unit, digits = _shop(d)
    assumed = sorted({v.si for p, v in d.values.items() if _is_reading(p) and v.by == "assumed"})
    cylinders = sorted({p.split(".")[2] for p, v in d.values.items() if _is_reading(p) and v.by == "assumed"})
    low, high = show(assumed[0], unit, digits), show(assumed[-1], unit, digits)
    size = low if low == high else f"{low} to {high}"
    return f"{size} in cylinders {', '.join(cylinders)}"


WALLS: tuple[Rule | Many, ...] = (
    Many("casting.walls.depths", "0.15, 0.5 and 0.85 of the bore's length", _depths, _depths_told,
         ("length",), when=lambda d: not _read(d), prefix="casting.walls.depth"),
    Many("casting.walls.angles", "the four quarters", _angles, lambda d: "0, 90, 180, 270 deg",
         ("angle",), when=_four_a_line, prefix="casting.walls.angle"),
    Many("casting.walls.thickness",
         "the mean of the cylinders read, or without any the lesser of 0.045 B and 0.45 of the iron and "
         "water between bores",
         _walls, _walls_told, ("length",), "12 %", prefix="casting.walls", partial=True),
    quantity("casting.walls.calibration", "", 3, "1.5 %",
             "readings right on the mean; assumed walls share the core's shift",
             lambda d: 1.0, dimension="number"),
)  # fmt: skip
