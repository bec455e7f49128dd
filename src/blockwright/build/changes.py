"""Change fields of a build by path, and validate it anew."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from ..errors import Fault, InputError
from ..unit_table import DIMENSIONS
from ..units import scale
from .flatten import place_in_file
from .load import assemble
from .model import Build, Value
from .quantity import Quantity, Written
from .walk import leaf_at


def changed(build: Build, changes: Mapping[str, Any]) -> Build:
    """The build with fields changed; see `Build.with_changes`."""
    raw = copy.deepcopy(dict(build.raw))
    kept = dict(build.changes)
    walls = {path: new for path, new in changes.items() if _is_wall(path)}
    edits = {path: _as_written(build, path, new) for path, new in changes.items() if path not in walls}
    edits.update(_wall_lines(build, walls))
    for path, new in edits.items():
        set_at(raw, path.split("."), new)
        kept[path] = new
    lines = {v.path: v.line for v in build.values.values() if v.line is not None and v.path not in edits}
    return assemble(raw, lines, build.source, build.text, kept)


def _is_wall(path: str) -> bool:
    return place_in_file(path).startswith("casting.walls.thickness.") and path != place_in_file(path)


def _as_written(build: Build, path: str, new: Any) -> Any:
    """A float is SI: written back in the unit shown, to full precision."""
    if isinstance(new, bool) or not isinstance(new, (int, float)):
        return _listed(new)
    leaf = leaf_at(path)
    if isinstance(new, Written) or leaf is None or not isinstance(leaf.reader, Quantity):
        return new
    dimension = leaf.reader.dimension
    value = build.values.get(path)
    text = _in_unit(float(new), value.unit if value else _plain_unit(dimension), dimension)
    old = build.raw
    for key in path.split("."):
        old = old.get(key, {}) if isinstance(old, Mapping) else {}
    if isinstance(old, Mapping) and "value" in old:
        return {**old, "value": text}
    return text


def _listed(new: Any) -> Any:
    """Tuples, and tuples in them, as the lists of a file."""
    return [_listed(item) for item in new] if isinstance(new, tuple) else new


def _plain_unit(dimension: str) -> str:
    kind = DIMENSIONS[dimension]
    return next(name for name, (factor, zero) in kind.units.items() if (factor, zero) == (1.0, 0.0))


def _in_unit(si: float, unit: str, dimension: str) -> str:
    factors = scale(unit, dimension)
    if factors is None:
        raise InputError(Fault("unit", unit, f"give a unit of {dimension}"))
    factor, zero = factors
    return f"{si / factor - zero:.12g} {unit}".strip()


def set_at(document: dict[str, Any], keys: list[str], new: Any) -> None:
    """Set, or with None take out, the value at a path of a document; tables are made as needed.

    Raises
    ------
    InputError
        When the path runs through something that is no table or list.
    """
    node: Any = document
    for depth, key in enumerate(keys):
        last = depth == len(keys) - 1
        if isinstance(node, list):
            if not key.isdigit() or int(key) >= len(node):
                break
            if last:
                node[int(key)] = new
                return
            node = node[int(key)]
        elif isinstance(node, dict):
            if last:
                if new is None:
                    node.pop(key, None)
                else:
                    node[key] = new
                return
            if key not in node:
                if new is None:
                    return
                node[key] = {}
            node = node[key]
        else:
            break
    raise InputError(Fault(".".join(keys), "a change", "there is no such place in this build"))


def _wall_lines(build: Build, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Wall readings changed one by one, as the lines of the file that hold them."""
    if not changes:
        return {}
    cylinders = {path.split(".")[2] for path in changes}
    unit = build.values["casting.bore"].unit
    walls = build.walls()
    edits: dict[str, Any] = {}
    if "casting.walls.depth.0" in build.values and build.values["casting.walls.depth.0"].line is None:
        edits["casting.walls.depths"] = [_in_unit(float(x), unit, "length") for x in walls.depth]
        edits["casting.walls.angles"] = [_in_unit(float(x), "deg", "angle") for x in walls.angle]
    for cylinder in sorted(cylinders):
        lines = []
        for depth in range(walls.depth.size):
            numbers = []
            for angle in range(walls.angle.size):
                path = f"casting.walls.{cylinder}.{depth}.{angle}"
                numbers.append(_wall_number(build.value(path), changes.get(path), unit))
            lines.append(f"{' '.join(numbers)} {unit}")
        edits[f"casting.walls.thickness.{cylinder}"] = lines
    return edits


def _wall_number(value: Value, new: Any, unit: str) -> str:
    from ..units import parse

    si = (
        value.si
        if new is None
        else parse(new, "length", value.path).si
        if isinstance(new, str)
        else float(new)
    )
    return _in_unit(si, unit, "length").partition(" ")[0]
