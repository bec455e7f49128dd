"""Reads the data files into rows, each file once."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from typing import Any

from . import threads
from .entry import Figure, Row
from .plain_units import unit

METALS = ("grey_iron", "ductile_iron", "steel", "aluminium")
FILES = (*METALS, "thread", "grade", "fuel")
#: Every table that can be asked for.
TABLES = (*FILES, "metal", "model")

# Keys of a figure, and keys of a row that are not fields.
_FIGURE_KEYS = {"value", "unit", "u", "distribution", "source", "status", "note"}
_MODEL_TEXTS = ("meaning", "distribution", "note", "valid")


@functools.cache
def table(name: str) -> Mapping[str, Row]:
    """All rows of one of `TABLES`, in the order of the file."""
    if name == "metal":
        return {key: row for part in METALS for key, row in table(part).items()}
    if name == "model":
        return _models()
    data = _parsed(_folder().joinpath(f"{name}.toml"))
    sources = data.pop("sources", {})
    rows = {key: _row(name, key, entry, sources) for key, entry in data.items()}
    if name == "thread":
        return {key: _with_profile(row) for key, row in rows.items()}
    return rows


def _folder() -> Any:
    import importlib.resources  # 10 ms, only when data are read

    return importlib.resources.files(__package__)


def _parsed(file: Any) -> dict[str, Any]:
    import tomllib

    return tomllib.loads(file.read_text(encoding="utf-8"))


def _row(table_name: str, name: str, entry: Mapping[str, Any], sources: Mapping[str, str]) -> Row:
    where = f"{table_name}.toml [{name}]"
    source = sources.get(entry["source"], entry["source"])
    figures: dict[str, Figure] = {}
    texts: dict[str, str] = {}
    for field, given in entry.items():
        if isinstance(given, Mapping):
            figures[field] = _figure(f"{where} {field}", given, entry, sources)
        elif field not in ("source", "status"):
            texts[field] = str(given)
    return Row(table_name, name, figures, texts, source, entry["status"])


def _figure(
    where: str, given: Mapping[str, Any], row: Mapping[str, Any], sources: Mapping[str, str]
) -> Figure:
    unknown = set(given) - _FIGURE_KEYS
    if unknown:
        raise ValueError(f"{where}: unknown keys {sorted(unknown)}")
    value, unit_text = _number(where, given["value"], given.get("unit"))
    scale = unit(unit_text)
    source = given.get("source", row["source"])
    return Figure(
        value=value,
        unit=unit_text,
        si=value * scale.factor,
        si_unit=scale.si_name,
        u=_spread(where, given["u"], value, unit_text),
        distribution=given.get("distribution", "lognormal"),
        source=sources.get(source, source),
        status=given.get("status", row["status"]),
        note=given.get("note", ""),
    )


def _number(where: str, given: Any, unit_text: str | None) -> tuple[float, str]:
    """A number with its unit, written ``"31 ksi"``, ``"1/13 in"``, or as value and unit apart."""
    if isinstance(given, str):
        number, _, text = given.partition(" ")
        above, _, below = number.partition("/")
        return float(above) / float(below or 1.0), text.strip() or unit_text or "1"
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise ValueError(f"{where}: {given!r} is not a number")
    return float(given), unit_text or "1"


def _spread(where: str, given: Any, value: float, unit_text: str) -> float:
    """Standard uncertainty in SI: ``"8 %"`` of the value, ``"2 ksi"``, or a number in its unit."""
    if isinstance(given, str) and given.endswith("%"):
        return abs(value) * unit(unit_text).factor * float(given[:-1]) / 100.0
    size, own_unit = _number(where, given, unit_text)
    scale = unit(own_unit)
    if scale.dimension != unit(unit_text).dimension:
        raise ValueError(f"{where}: u is in {own_unit}, the value in {unit_text}")
    return size * scale.factor


def _models() -> dict[str, Row]:
    """Model constants of every file in ``models/``; names are unique over all files."""
    rows: dict[str, Row] = {}
    home: dict[str, str] = {}
    files = sorted(
        (f for f in _folder().joinpath("models").iterdir() if f.name.endswith(".toml")),
        key=lambda f: str(f.name),
    )
    for file in files:
        data = _parsed(file)
        sources = data.pop("sources", {})
        for name, entry in _leaves(data):
            if name in rows:
                raise ValueError(f"model {name!r} stands in {home[name]} and in {file.name}")
            home[name] = file.name
            rows[name] = _model_row(file.name, name, entry, sources)
    return rows


def _leaves(data: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Entries with a value, named by their path joined with dots."""
    for key, entry in data.items():
        if not isinstance(entry, Mapping):
            raise ValueError(f"model {prefix}{key}: {entry!r} stands outside a named constant")
        if "value" in entry:
            yield prefix + key, entry
        else:
            yield from _leaves(entry, f"{prefix}{key}.")


def _model_row(file: str, name: str, entry: Mapping[str, Any], sources: Mapping[str, str]) -> Row:
    where = f"models/{file} [{name}]"
    given = {key: value for key, value in entry.items() if key in _FIGURE_KEYS}
    figure = _figure(where, given, entry, sources)
    texts = {key: str(entry[key]) for key in _MODEL_TEXTS if key in entry}
    texts["distribution"] = figure.distribution
    unknown = set(entry) - _FIGURE_KEYS - set(texts)
    if unknown:
        raise ValueError(f"{where}: unknown keys {sorted(unknown)}")
    return Row("model", name, {"value": figure}, texts, figure.source, figure.status)


#: The specified class 2A or 6g tolerance moves the area by about this much [-].
_AREA_SPREAD = 0.01
#: Bearing diameter under a head or washer in major diameters [-].
_WASHER_FACE = 1.5


def _with_profile(row: Row) -> Row:
    """A thread's row with what its profile gives: areas and diameters, never typed."""
    major, pitch = row.si("major"), row.si("pitch")
    inch = row.text("system") == "UN"
    area = threads.stress_area_inch if inch else threads.stress_area_metric
    equation = "pi/4 (d - 0.9743 P)^2, ASME B1.1" if inch else "pi/4 ((d2 + d3)/2)^2, ISO 898-1"
    basic = "basic 60 degree profile, ASME B1.1 and ISO 724"

    def length(si: float, source: str, status: str = "computed", u: float = 0.0) -> Figure:
        return Figure(si * 1e3, "mm", si, "m", u, "lognormal", source, status)

    size = area(major, pitch)
    profile = {
        "stress_area": Figure(
            size * 1e6, "mm2", size, "m2", _AREA_SPREAD * size, "lognormal", equation, "computed"
        ),
        "pitch_diameter": length(threads.pitch_diameter(major, pitch), basic),
        "root_diameter": length(threads.root_diameter(major, pitch), basic),
        "nut_minor_diameter": length(threads.nut_minor_diameter(major, pitch), basic),
        "washer_face": length(
            _WASHER_FACE * major,
            "1.5 d, common practice, no source",
            "common practice",
            0.05 * _WASHER_FACE * major,
        ),
    }
    return Row(row.table, row.name, {**row.figures, **profile}, row.texts, row.source, row.status)
