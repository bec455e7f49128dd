"""The fields of the build file, found by walking its Pydantic models."""

from __future__ import annotations

import functools
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from types import UnionType
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from .fields import CatalogueRow
from .quantity import Readable
from .spec import BuildFile


@dataclass(frozen=True)
class Leaf:
    """One field: ``path`` has ``#`` where the index of a list of tables goes.

    `reader` reads quantities and is None for words, counts and lists of counts.
    """

    path: str
    name: str
    reader: Readable | None
    meaning: str
    required: bool
    examples: tuple[Any, ...]
    words: tuple[str, ...]
    table: str
    annotation: Any


def _models(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    """The section in an annotation, and whether it is a list of them."""
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        return _models(typing.get_args(annotation)[0])
    if origin in (typing.Union, UnionType):
        for part in typing.get_args(annotation):
            found = _models(part)
            if found[0] is not None:
                return found
    if origin is list:
        return _models(typing.get_args(annotation)[0])[0], True
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    return None, False


def _words(annotation: Any) -> tuple[str, ...]:
    if typing.get_origin(annotation) is typing.Literal:
        return tuple(str(word) for word in typing.get_args(annotation))
    return tuple(word for part in typing.get_args(annotation) for word in _words(part))


def section(field: FieldInfo) -> tuple[type[BaseModel] | None, bool]:
    """The section that a field holds, and whether it holds a list of them."""
    return _models(field.annotation)


def reader(field: FieldInfo) -> Readable | None:
    """The field's quantity reader, or None."""
    return next((m for m in field.metadata if isinstance(m, Readable)), None)


def _leaf(path: str, name: str, field: FieldInfo) -> Leaf:
    read = reader(field)
    table = next((m.table for m in field.metadata if isinstance(m, CatalogueRow)), "")
    return Leaf(
        path,
        name,
        read,
        (read.meaning if read else "") or field.description or "",
        field.is_required(),
        tuple(field.examples or ()),
        _words(field.annotation),
        table,
        field.annotation,
    )


def _walk(model: type[BaseModel], base: str) -> Iterator[Leaf]:
    for name, field in model.model_fields.items():
        key = field.alias or name
        path = f"{base}.{key}" if base else key
        inner, many = section(field)
        if inner is None:
            yield _leaf(path, key, field)
        else:
            yield from _walk(inner, f"{path}.#" if many else path)


@functools.cache
def leaves() -> dict[str, Leaf]:
    """All fields by path, in the order of the file."""
    return {leaf.path: leaf for leaf in _walk(BuildFile, "")}


def general(path: str) -> str:
    """A path with ``#`` for the indices of a list of tables (``duty.points.#.speed``)."""
    parts = path.split(".")
    if parts[:2] == ["duty", "points"] and len(parts) > 2:
        parts[2] = "#"
    return ".".join(parts)


def leaf_at(path: str) -> Leaf | None:
    """The field at a path of the file, or None."""
    return leaves().get(general(path))


def known_keys(table: str) -> list[str]:
    """Keys that a table of the file may hold."""
    base = f"{general(table)}." if table else ""
    keys = (path[len(base) :].partition(".")[0] for path in leaves() if path.startswith(base))
    return [key for key in dict.fromkeys(keys) if key != "#"]
