"""What the sections of the build file share: their base, and fields that name catalogue rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic.functional_validators import AfterValidator
from pydantic_core import PydanticCustomError, core_schema

from .quantity import Quantity

#: A share of something; written 0.85 or "85 %".
SHARE = Quantity("number", "0", "1")


class Section(BaseModel):
    """A table of the build file: unknown keys are refused, words and counts are taken strictly."""

    model_config = ConfigDict(extra="forbid", strict=True, defer_build=True)


@dataclass(frozen=True)
class CatalogueRow:
    """A word that must name a row of a catalogue table."""

    table: str

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        def check(name: str | None) -> str | None:
            from . import catalogue

            if name is None or name in catalogue.names(self.table):
                return name
            raise PydanticCustomError("catalogue", "catalogue", {"table": self.table})

        return core_schema.no_info_after_validator_function(check, handler(source))


def _printable(text: str) -> str:
    if not text.isprintable():
        raise PydanticCustomError("printable", "printable")
    return text


#: One line of text.
Line = Annotated[str, Field(max_length=200), AfterValidator(_printable)]
