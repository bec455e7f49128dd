"""From the parsed file to values and choices by path; what is unfit is left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pydantic import BaseModel

from ..errors import InputError
from ..units import parse_spread
from .defaults import SPREADS
from .draft import Draft
from .lines import line_near
from .model import Value
from .quantity import Quantity, Reading, Unfit, WallRows
from .spec import BuildFile
from .spread import spread
from .walk import reader, section


def place_in_file(path: str) -> str:
    """Where in the file a value stands: wall readings stand in lines below ``thickness``."""
    parts = path.split(".")
    if parts[:2] == ["casting", "walls"] and len(parts) > 3:
        return {
            "depth": f"casting.walls.depths.{parts[3]}",
            "angle": f"casting.walls.angles.{parts[3]}",
        }.get(parts[2], ".".join(["casting.walls.thickness", *parts[2:4]]))
    return path


def _value_path(path: str) -> str:
    for written, kept in (("thickness.", ""), ("depths.", "depth."), ("angles.", "angle.")):
        head = f"casting.walls.{written}"
        if path.startswith(head):
            return f"casting.walls.{kept}{path[len(head) :]}"
    return path


def _is_bad(path: str, bad: frozenset[str]) -> bool:
    return path in bad or any(fault.startswith(f"{path}.") for fault in bad)


def _walls(reading: Reading, table: Mapping[str, Any]) -> Reading:
    """A wall reading with the gauge and spread that its table gives for all."""
    gauge = str(table.get("gauge", ""))
    try:
        u = parse_spread(str(table["u"]), "length", reading.si) if "u" in table else None
    except InputError:
        u = None  # reported by the checks of the section
    if u is None:
        # Readings are to the thousandth or the tenth of a millimetre at best.
        u = max(reading.u, spread("measured", "length", reading.si, 0.0, gauge or "ultrasonic"))
    return replace(reading, gauge=gauge, u=u, distribution="lognormal" if u > 0.1 * reading.si else "normal")


def flatten(raw: Mapping[str, Any], bad: frozenset[str], lines: Mapping[str, int]) -> Draft:
    """Values and choices that the file gives.

    Parameters
    ----------
    raw : mapping
        The parsed file.
    bad : frozenset of str
        Paths at which validation found something; they are left out.
    lines : mapping
        Line of every path.
    """
    draft = Draft(bad=bad)
    _section(BuildFile, raw, "", draft, lines)
    return draft


def _frozen(item: Any) -> Any:
    """A choice whose lists, and lists in lists, are tuples."""
    return tuple(_frozen(member) for member in item) if isinstance(item, list) else item


def _section(
    model: type[BaseModel], raw: Mapping[str, Any], base: str, draft: Draft, lines: Mapping[str, int]
) -> None:
    for name, info in model.model_fields.items():
        key = info.alias or name
        path = f"{base}.{key}" if base else key
        if key not in raw:
            continue
        item = raw[key]
        inner, many = section(info)
        if inner is not None and many:
            for index, member in enumerate(item if isinstance(item, list) else []):
                if isinstance(member, Mapping):
                    _section(inner, member, f"{path}.{index}", draft, lines)
        elif inner is not None:
            if isinstance(item, Mapping):
                draft.sections.add(path)
                _section(inner, item, path, draft, lines)
        elif (read := reader(info)) is not None:
            _quantities(read, item, raw, path, draft, lines)
        elif not _is_bad(path, draft.bad):
            draft.choices[path] = _frozen(item)
            draft.given.add(path)


def _quantities(
    read: Any, item: Any, table: Mapping[str, Any], path: str, draft: Draft, lines: Mapping[str, int]
) -> None:
    try:
        if isinstance(read, Quantity):
            readings = {"": read.read(item, SPREADS.get(path))}
        else:
            readings = read.readings(item)
    except Unfit:
        return
    draft.given.add(path)
    for below, reading in readings.items():
        if isinstance(read, WallRows):
            reading = _walls(reading, table)
        at = f"{path}.{below}" if below else path
        value = _value_path(at)
        draft.values[value] = Value(
            value,
            reading.si,
            reading.unit,
            reading.u,
            reading.by,
            reading.gauge,
            reading.note,
            reading.distribution,
            line_near(lines, place_in_file(value)),
        )
