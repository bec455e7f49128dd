"""Check a parsed document against the build file's model."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from ..errors import Fault
from .faults import faults_of
from .spec import BuildFile
from .walk import section


def validate(raw: Mapping[str, Any], lines: Mapping[str, int]) -> list[Fault]:
    """Everything that is wrong with single fields of the document.

    Required sections that are absent count as empty, so that each required field in
    them is named.
    """
    filled = dict(raw)
    for name, info in BuildFile.model_fields.items():
        if info.is_required() and section(info)[0] is not None:
            filled.setdefault(info.alias or name, {})
    try:
        BuildFile.model_validate(filled)
    except ValidationError as error:
        return faults_of(error.errors(include_url=False), lines)
    return []
