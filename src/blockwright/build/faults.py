"""Pydantic's findings put into words: path, what was read, what would be right."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from ..errors import Fault
from .lines import line_near
from .quantity import Quantity, Readable, shown
from .walk import Leaf, known_keys, leaf_at

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


def dotted(loc: Iterable[str | int]) -> str:
    """A location as the user writes it."""
    return ".".join(str(part) for part in loc)


def near(word: str, known: Iterable[str]) -> str:
    """``"did you mean bore?"`` when a known word is close, else empty."""
    close = difflib.get_close_matches(word[:60], list(known), n=1, cutoff=0.6)
    return f"did you mean {close[0]}?" if close else ""


def _example(leaf: Leaf | None) -> str:
    if leaf is None:
        return ""
    if isinstance(leaf.reader, Quantity) and leaf.reader.example:
        return f', for instance {leaf.name} = "{leaf.reader.example}"'
    if isinstance(leaf.reader, Readable):
        return ""
    if leaf.examples:
        example = leaf.examples[0]
        written = f'"{example}"' if isinstance(example, str) else shown(example)
        return f", for instance {leaf.name} = {written}"
    return ""


def _missing(path: str) -> str:
    leaf = leaf_at(path)
    meaning = f" ({leaf.meaning.rstrip('.')[:1].lower()}{leaf.meaning.rstrip('.')[1:]})" if leaf else ""
    return f"give it{meaning}{_example(leaf)}"


def _unknown(path: str) -> str:
    parent, _, key = path.rpartition(".")
    known = known_keys(parent)
    where = f"[{parent}]" if parent else "the file"
    hint = near(key, known)
    return f"there is no such key in {where}; " + (hint or f"it may hold {', '.join(known)}")


def _row(table: str, name: Any) -> str:
    from . import catalogue

    names = catalogue.names(table)
    hint = near(str(name), names)
    listing = ", ".join(names) if len(names) <= 14 else ", ".join(names[:14]) + ", ..."
    return f"name a row of the catalogue of {table}s; {hint or f'it holds {listing}'}"


def _right(kind: str, path: str, context: Mapping[str, Any], raw: Any) -> str:
    if kind == "missing":
        return _missing(path)
    if kind == "extra_forbidden":
        return _unknown(path)
    if kind == "catalogue":
        return _row(str(context["table"]), raw)
    if kind == "literal_error":
        expected = str(context["expected"]).replace("'", "")
        hint = near(str(raw), expected.replace(" or ", ", ").split(", "))
        return f"write {expected}" + (f"; {hint}" if hint else "")
    bounds = {
        "greater_than_equal": "it must be at least {ge}",
        "less_than_equal": "it must be at most {le}",
        "too_short": "give at least {min_length}",
        "too_long": "give at most {max_length}",
        "string_too_long": "write at most {max_length} characters",
    }
    if kind in bounds:
        return bounds[kind].format_map(context)
    words = {
        "int_type": "write a whole number",
        "int_from_float": "write a whole number",
        "string_type": "write it as text in quotes",
        "bool_type": "write true or false",
        "list_type": "write a list in square brackets",
        "model_type": "write a table of keys there",
        "model_attributes_type": "write a table of keys there",
        "dict_type": "write a table of keys there",
        "printable": "write one line of plain text",
    }
    return words.get(kind, f"it does not fit ({kind.replace('_', ' ')})") + _example(leaf_at(path))


def faults_of(errors: Iterable[ErrorDetails], lines: Mapping[str, int]) -> list[Fault]:
    """Every finding as a `Fault`, in the order of the file's sections."""
    faults: list[Fault] = []
    for error in errors:
        path = dotted(error["loc"])
        context = error.get("ctx", {})
        if error["type"] == "unfit":
            for fault in context["faults"]:
                below = f"{path}.{fault.path}" if fault.path else path
                faults.append(Fault(below, fault.read, fault.right, line_near(lines, below)))
            continue
        raw = error["input"]
        kind = error["type"]
        read = (
            "nothing" if kind == "missing" else "an unknown key" if kind == "extra_forbidden" else shown(raw)
        )
        faults.append(Fault(path, read, _right(kind, path, context, raw), line_near(lines, path)))
    return faults
