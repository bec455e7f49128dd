"""JSON Schema of the build file, made from its Pydantic model.

``python -m blockwright.build.schema docs/build-file.schema.json`` writes it.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from ..unit_table import DIMENSIONS
from .spec import BuildFile

_IDENTITY = "https://blockwright.invalid/build-file/1"
_NUMBER = r"[+-]?([0-9]+ +[0-9]+/[0-9]+|[0-9]+/[0-9]+|([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,4})?)"


def build_file_schema() -> dict[str, Any]:
    """The schema; draft 2020-12.

    It says what kind of text stands where. Units, bounds and contradictions are checked
    when the file is read.
    """
    schema = _resolved(BuildFile.model_json_schema(by_alias=True))
    schema["$defs"] = {**schema.get("$defs", {}), **{_key(n): _quantity(n) for n in DIMENSIONS}}
    schema["title"] = "Blockwright build file, format 1"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": _IDENTITY, **schema}


def schema_text() -> str:
    """The schema as the file in ``docs`` holds it."""
    return json.dumps(build_file_schema(), indent=1, ensure_ascii=False) + "\n"


def _key(dimension: str) -> str:
    return f"quantity-{dimension.replace(' ', '-')}"


def _quantity(dimension: str) -> dict[str, Any]:
    kind = DIMENSIONS[dimension]
    text: dict[str, Any] = {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*[^0-9\s]?.*$"}
    plain = [text, {"type": "number"}] if dimension == "number" else [text]
    table = {
        "type": "object",
        "properties": {
            "value": {"anyOf": plain},
            "by": {"enum": ["measured", "catalogue", "assumed"], "description": "How it is known."},
            "gauge": {"type": "string", "description": "What measured it."},
            "u": {"anyOf": plain, "description": "Standard uncertainty, or per cent of the value."},
            "note": {"type": "string"},
        },
        "required": ["value"],
        "additionalProperties": False,
    }
    about = f"A {dimension}, for instance {kind.examples}; or a table with how it is known."
    return {"description": about, "anyOf": [*plain, table]}


def _resolved(node: Any) -> Any:
    """Quantities as references, and fields that may be left out without their null."""
    if isinstance(node, list):
        return [_resolved(item) for item in node]
    if not isinstance(node, dict):
        return node
    made = {key: _resolved(item) for key, item in node.items() if not (key == "default" and item is None)}
    if isinstance(name := made.pop("x-quantity", None), str):
        made["$ref"] = f"#/$defs/quantity-{name}"
    options = made.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        rest = [option for option in options if option != {"type": "null"}]
        del made["anyOf"]
        made = {**made, **rest[0]} if len(rest) == 1 else {**made, "anyOf": rest}
    return made


def write(path: str | Path) -> None:
    """Write the schema to a file."""
    Path(path).write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":
    write(sys.argv[1])
