"""The verdict as plain data, and the JSON Schema that describes it."""

from __future__ import annotations

import dataclasses
import inspect
import json
import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import NotSettled
from ..life import verdict as records
from ..life.verdict import SCHEMA, Verdict

#: Identifies the schema; a name, no address to fetch.
SCHEMA_ID = f"urn:blockwright:{SCHEMA}"
#: Chances must be known for a verdict to be one; every other number may be null.
_CHANCES = frozenset({"accepted", "level", "share", "survival"})


def document(verdict: Verdict) -> dict[str, Any]:
    """The verdict as dicts, lists, text, numbers and None.

    A figure that is infinite or not a number becomes None, since JSON has none.

    Raises
    ------
    NotSettled
        A chance is not a number: such a verdict is none.
    """
    plain = _plain(verdict, "verdict")
    assert isinstance(plain, dict)
    return plain


def _plain(value: object, path: str) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name), f"{path}.{f.name}") for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(item, f"{path}.{key}") for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(item, f"{path}[{k}]") for k, item in enumerate(value)]
    if isinstance(value, np.generic):
        value = value.item()
    if value is None or isinstance(value, (bool, str, int)):
        return value
    if not isinstance(value, float):
        raise TypeError(f"{path} is a {type(value).__name__}, which has no place in a verdict")
    number = value
    if math.isfinite(number):
        return number
    if path.rsplit(".", 1)[-1] in _CHANCES:
        raise NotSettled(f"{path} came out as {number}; a verdict needs every chance to be a number")
    return None


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of `document`'s result, made from the records themselves."""
    from pydantic import TypeAdapter

    made = TypeAdapter(Verdict).json_schema(mode="serialization")
    definitions = made.pop("$defs", {})
    for name, body in [*definitions.items(), ("Verdict", made)]:
        _describe(body, getattr(records, name))
    made["properties"]["schema"] = {
        "const": SCHEMA,
        "description": "Names this contract; it changes when a field changes meaning.",
    }
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "Blockwright verdict",
        "description": f"{made.pop('description', '')} Figures that have no finite value are null. "
        "Fields may be added; none is renamed under this $id.",
    }
    made.pop("title", None)
    return {**head, **made, "$defs": definitions}


def _describe(body: dict[str, Any], record: type) -> None:
    """Put the record's docstring into its schema, and let numbers be null."""
    doc = inspect.cleandoc(record.__doc__ or "")
    body["description"] = " ".join(re.split(r"\n\s*\n", doc)[0].split())
    said = _attributes(doc)
    for name, field in body["properties"].items():
        field.pop("title", None)
        if name in said:
            field["description"] = said[name]
        if field.get("type") == "number" and name not in _CHANCES:
            field["type"] = ["number", "null"]
        if name in _CHANCES and field.get("type") == "number":
            field.update(minimum=0, maximum=1)
    body["required"] = list(body["properties"])


def _attributes(doc: str) -> dict[str, str]:
    """Descriptions under a numpydoc "Attributes" heading, by field."""
    _, _, section = doc.partition("Attributes\n----------\n")
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section.splitlines():
        head = re.match(r"(\w+(?:, \w+)*) : ", line)
        if head:
            names = head.group(1).split(", ")
        elif line.startswith("    ") and names:
            for name in names:
                found[name] = f"{found.get(name, '')} {line.strip()}".strip()
    return found


def schema_text() -> str:
    """The schema as it stands in ``docs/verdict.schema.json``."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def write_schema(path: str | Path) -> None:
    """Write the schema file anew."""
    Path(path).write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":  # python -m blockwright.report.contract
    write_schema(Path(__file__).parents[3] / "docs" / "verdict.schema.json")
