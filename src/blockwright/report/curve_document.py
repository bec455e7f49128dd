"""The power curve as plain data, and the JSON Schema that describes it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from . import curve_record as records
from .contract import _describe, _plain
from .curve_record import SCHEMA, Curve

#: Identifies the schema; a name, no address to fetch.
SCHEMA_ID = f"urn:blockwright:{SCHEMA}"


def document(curve: Curve) -> dict[str, Any]:
    """The curve as dicts, lists, text, numbers and None."""
    plain = _plain(curve, "curve")
    assert isinstance(plain, dict)
    for point in plain["points"]:
        # A trailing underscore is Python's need, not the reader's.
        point["lambda"] = point.pop("lambda_")
    return plain


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of `document`'s result, made from the records themselves."""
    from pydantic import TypeAdapter

    from ..life import verdict

    made = TypeAdapter(Curve).json_schema(mode="serialization")
    definitions = made.pop("$defs", {})
    for name, body in [*definitions.items(), ("Curve", made)]:
        _describe(body, getattr(records, name, None) or getattr(verdict, name))
    point = definitions["CurvePoint"]
    point["properties"]["lambda"] = point["properties"].pop("lambda_")
    point["required"] = list(point["properties"])
    made["properties"]["schema"] = {
        "const": SCHEMA,
        "description": "Names this contract; it changes when a field changes meaning.",
    }
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "Blockwright power curve",
        "description": f"{made.pop('description', '')} Every figure is a value with its unit and its spread; "
        "a figure that could not be had is null and `unknown` says why. Fields may be added; none is renamed "
        "under this $id.",
    }
    made.pop("title", None)
    return {**head, **made, "$defs": definitions}


def schema_text() -> str:
    """The schema as it stands in ``docs/curve.schema.json``."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def write_schema(path: str | Path) -> None:
    """Write the schema file anew."""
    Path(path).write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":  # python -m blockwright.report.curve_document
    write_schema(Path(__file__).parents[3] / "docs" / "curve.schema.json")
