"""Field types of the build file that hold quantities, for Pydantic and for the loader.

A `Quantity` in a field's annotation says what is meant there: kind, bounds, meaning.
It reads text (``"4.030 in"``) or a table with provenance
(``{ value = "4.030 in", by = "measured", gauge = "bore gauge", u = "0.0002 in" }``).
`Series`, `Pairs` and `WallRows` are lists of such quantities.  Each gives its
`Reading` objects by sub-path, or raises `Unfit` with everything wrong in it.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from ..errors import Fault, InputError
from ..unit_table import DIMENSIONS
from ..units import parse, parse_spread, to_unit
from .model import By
from .spread import spread

_TABLE_KEYS = ("value", "by", "gauge", "u", "note")
_BY = ("measured", "catalogue", "assumed")
#: A spread above this share of a positive value makes it lognormal, so that no sample is negative.
_LOGNORMAL_ABOVE = 0.1
#: Largest stated uncertainty, as a share of a value that is always positive, or of the range allowed.
_WIDEST, _WIDEST_OF_RANGE = 0.5, 0.25


@dataclass(frozen=True)
class Reading:
    """One quantity as given: value and spread in SI, and how it is known."""

    si: float
    unit: str
    u: float
    by: By
    gauge: str = ""
    note: str = ""
    distribution: Literal["normal", "lognormal"] = "normal"


class Written(float):
    """A bare TOML float that remembers its digits, for messages and rounding."""

    text: str

    def __new__(cls, text: str) -> Written:
        made = super().__new__(cls, text)
        made.text = text
        return made

    def __str__(self) -> str:
        return self.text

    __repr__ = __str__

    def __reduce__(self) -> tuple[type[Written], tuple[str]]:
        return Written, (self.text,)


class Unfit(Exception):
    """What is wrong inside one value: faults whose paths are below it ("" for itself)."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__("; ".join(str(fault) for fault in faults))
        self.faults = faults


def shown(raw: object) -> str:
    """A raw value as a message shows it."""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, Mapping):
        return "a table"
    if isinstance(raw, (list, tuple)):
        return f"a list of {len(raw)}" if len(raw) > 8 else "[" + ", ".join(shown(r) for r in raw) + "]"
    text = " ".join(str(raw)[:200].split()) if len(str(raw)[:200]) else "an empty text"
    return text[:57] + "..." if len(text) > 60 else text


class Readable:
    """Base of the field types: how Pydantic and the loader read them."""

    meaning: str

    def readings(self, raw: Any) -> dict[str, Reading]:
        """Readings by sub-path (``""`` for the value itself, ``"0.lift"``)."""
        raise NotImplementedError

    def json(self) -> dict[str, Any]:
        """JSON Schema of what may be written there."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        def check(raw: Any) -> Any:
            try:
                return self.readings(raw)
            except Unfit as unfit:
                raise PydanticCustomError("unfit", "unfit", {"faults": unfit.faults}) from None

        return core_schema.no_info_plain_validator_function(check)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return self.json()


@dataclass(frozen=True)
class Quantity(Readable):
    """One quantity.

    Attributes
    ----------
    dimension : str
        Key of `units.DIMENSIONS`.
    low, high : str
        Bounds with units, both allowed values; empty for none.
    meaning : str
        What it is, in one line.
    example : str
        A likely text.
    chosen : bool
        Whether it is decided rather than measured, so exact unless ``u`` is given.
    floor : str
        Least standard uncertainty when measured without a named gauge, in place of the
        general one.
    """

    dimension: str
    low: str
    high: str
    meaning: str = ""
    example: str = ""
    chosen: bool = False
    floor: str = ""

    def readings(self, raw: Any) -> dict[str, Reading]:
        return {"": self.read(raw)}

    def read(self, raw: Any, default_spread: str | None = None) -> Reading:
        """The value read from text, a plain number, or a table with provenance."""
        if isinstance(raw, Mapping):
            return self._table(raw, default_spread)
        if type(raw) is str:
            return _read_text(self, raw, default_spread)
        return self._plain(raw, "chosen" if self.chosen else "measured", {}, default_spread)

    def _table(self, raw: Mapping[str, Any], default_spread: str | None) -> Reading:
        faults = []
        for key in raw:
            if key not in _TABLE_KEYS:
                right = f"a value's table may hold {', '.join(_TABLE_KEYS)}"
                faults.append(Fault(str(key), "an unknown key", right))
        by = raw.get("by", "chosen" if self.chosen else "measured")
        if "by" in raw and by not in _BY:
            faults.append(Fault("by", shown(by), f"write one of {', '.join(_BY)}"))
            by = "measured"
        texts = {key: raw.get(key, "") for key in ("gauge", "note")}
        for key, text in texts.items():
            if not isinstance(text, str):
                faults.append(Fault(key, shown(text), "write it as text"))
        if "value" not in raw:
            faults.append(Fault("value", "nothing", f"give the value, {self._how()}"))
        else:
            try:
                found = self._plain(raw["value"], by, raw, default_spread)
            except Unfit as unfit:
                faults.extend(Fault(fault.path or "value", fault.read, fault.right) for fault in unfit.faults)
        if faults:
            raise Unfit(faults)
        return found

    def _how(self) -> str:
        return f"for instance {self.example or DIMENSIONS[self.dimension].examples}"

    def _plain(self, raw: Any, by: By, table: Mapping[str, Any], default_spread: str | None) -> Reading:
        text = self._text(raw)
        try:
            found = parse(text, self.dimension)
        except InputError as error:
            raise Unfit([Fault("", fault.read, fault.right) for fault in error.faults]) from None
        self._bounds(found.si, found.unit, text)
        gauge = table.get("gauge", "")
        u = spread(
            by,
            self.dimension,
            found.si,
            found.resolution,
            gauge if isinstance(gauge, str) else "",
            self.floor or None,
            default_spread,
        )
        if "u" in table:
            stated = table["u"]
            try:
                written = str(stated) if self.dimension == "number" else self._text(stated)
                u = parse_spread(written, self.dimension, found.si)
            except InputError as error:
                raise Unfit([Fault("u", fault.read, fault.right) for fault in error.faults]) from None
            if isinstance(stated, bool):
                raise Unfit([Fault("u", shown(stated), "give a standard uncertainty")])
            self._doubt(u, found.si, shown(stated))
        positive = found.si > 0.0 and (not self.low or parse(self.low, self.dimension).si >= 0.0)
        skewed = positive and u > _LOGNORMAL_ABOVE * found.si
        note = table.get("note", "")
        return Reading(
            found.si,
            found.unit,
            u,
            by,
            gauge if isinstance(gauge, str) else "",
            note if isinstance(note, str) else "",
            "lognormal" if skewed and self.dimension != "temperature" else "normal",
        )

    def _text(self, raw: Any) -> str:
        if isinstance(raw, str):
            return raw
        if isinstance(raw, (int, float)) and not isinstance(raw, bool):
            return shown(raw)
        right = "give a number" if self.dimension == "number" else "give it as text with a unit"
        raise Unfit([Fault("", shown(raw), f"{right}, {self._how()}")])

    def _bounds(self, si: float, unit: str, text: str) -> None:
        low = parse(self.low, self.dimension).si if self.low else -math.inf
        high = parse(self.high, self.dimension).si if self.high else math.inf
        dust = 1e-9 * max(abs(si), 1e-12)
        if low - dust <= si <= high + dust:
            return
        if self.low and self.high:
            right = f"it must lie between {self.low} and {self.high}"
        else:
            right = f"it must be at least {self.low}" if self.low else f"it must be at most {self.high}"
        ends = [end for end in (self.low, self.high) if end]
        if unit and any(parse(end, self.dimension).unit != unit for end in ends):
            there = [to_unit(parse(end, self.dimension).si, unit, self.dimension) for end in ends]
            right += f" ({' to '.join(f'{end:.4g}' for end in there)} {unit})"
        raise Unfit([Fault("", shown(text), right)])

    def _doubt(self, u: float, si: float, stated: str) -> None:
        """A stated uncertainty so wide that the value says nothing is a slip of the pen."""
        if not (self.low and self.high):
            return
        low, high = (parse(end, self.dimension).si for end in (self.low, self.high))
        if low > 0.0 and self.dimension != "temperature":
            most, told = _WIDEST * si, "half the value"
        else:
            most, told = _WIDEST_OF_RANGE * (high - low), f"a quarter of {self.low} to {self.high}"
        if u > most:
            right = f"a standard uncertainty above {told} says that it is not known; check the unit"
            raise Unfit([Fault("u", stated, right)])

    def json(self) -> dict[str, Any]:
        name = self.dimension.replace(" ", "-")
        about = f"{self.meaning} " if self.meaning else ""
        bounds = f"From {self.low or 'any'} to {self.high or 'any'}."
        return {"x-quantity": name, "description": f"{about}{bounds}".strip()}


def listed(raw: Any, least: int, what: str) -> list[Any]:
    """The raw value as a list of at least so many members."""
    if not isinstance(raw, list) or len(raw) < least:
        raise Unfit([Fault("", shown(raw), f"give a list of at least {least} {what}")])
    if len(raw) > 720:
        raise Unfit([Fault("", f"a list of {len(raw)}", "give at most 720 members")])
    return raw


@dataclass(frozen=True)
class Series(Readable):
    """A list of quantities; ``rising`` when each must exceed the one before."""

    each: Quantity
    meaning: str = ""
    least: int = 1
    rising: bool = False

    def readings(self, raw: Any) -> dict[str, Reading]:
        found: dict[str, Reading] = {}
        faults: list[Fault] = []
        for index, item in enumerate(listed(raw, self.least, f"{self.each.dimension}s")):
            _collect(str(index), self.each, item, found, faults)
        if self.rising and not faults:
            faults = _not_rising(list(found.items()), raw)
        if faults:
            raise Unfit(faults)
        return found

    def json(self) -> dict[str, Any]:
        return {
            "type": "array",
            "items": self.each.json(),
            "minItems": self.least,
            "description": self.meaning,
        }


@dataclass(frozen=True)
class Pairs(Readable):
    """A list of pairs of quantities, the first of each pair rising."""

    first: Quantity
    second: Quantity
    names: tuple[str, str]
    meaning: str = ""
    least: int = 3

    def readings(self, raw: Any) -> dict[str, Reading]:
        found: dict[str, Reading] = {}
        faults: list[Fault] = []
        ladder: list[tuple[str, Reading]] = []
        for index, pair in enumerate(listed(raw, self.least, f"pairs of {' and '.join(self.names)}")):
            if not isinstance(pair, list) or len(pair) != 2:
                faults.append(Fault(str(index), shown(pair), f"give a pair: {' and '.join(self.names)}"))
                continue
            for name, kind, item in zip(self.names, (self.first, self.second), pair, strict=True):
                _collect(f"{index}.{name}", kind, item, found, faults)
            if f"{index}.{self.names[0]}" in found:
                ladder.append((str(index), found[f"{index}.{self.names[0]}"]))
        if not faults:
            faults = _not_rising(ladder, [pair[0] for pair in raw])
        if faults:
            raise Unfit(faults)
        return found

    def json(self) -> dict[str, Any]:
        pair = {
            "type": "array",
            "prefixItems": [self.first.json(), self.second.json()],
            "minItems": 2,
            "maxItems": 2,
        }
        return {"type": "array", "items": pair, "minItems": self.least, "description": self.meaning}


@functools.lru_cache(maxsize=4096)
def _read_text(kind: Quantity, text: str, default_spread: str | None) -> Reading:
    """`Quantity.read` of text: the same build is read again for every change that is tried."""
    return kind._plain(text, "chosen" if kind.chosen else "measured", {}, default_spread)


@dataclass(frozen=True)
class WallRows(Readable):
    """Wall readings: a table of cylinders, each a list of one line a depth.

    A line holds the readings of one depth, one an angle, with their unit at the end:
    ``"0.215 0.190 0.221 0.187 in"``.
    """

    each: Quantity
    meaning: str = ""

    def readings(self, raw: Any) -> dict[str, Reading]:
        if not isinstance(raw, Mapping):
            right = 'give one list a cylinder, for instance 1 = ["0.215 0.190 0.221 0.187 in"]'
            raise Unfit([Fault("", shown(raw), right)])
        found: dict[str, Reading] = {}
        faults: list[Fault] = []
        for cylinder, lines in raw.items():
            if not (str(cylinder).isascii() and str(cylinder).isdigit()):
                faults.append(Fault(str(cylinder), shown(cylinder), "name the cylinder by its number"))
                continue
            try:
                rows = listed(lines, 1, "lines, one a depth")
            except Unfit as unfit:
                faults.extend(Fault(str(cylinder), fault.read, fault.right) for fault in unfit.faults)
                continue
            for depth, line in enumerate(rows):
                self._line(f"{cylinder}.{depth}", line, found, faults)
        if faults:
            raise Unfit(faults)
        return found

    def _line(self, at: str, line: Any, found: dict[str, Reading], faults: list[Fault]) -> None:
        words = line.split() if isinstance(line, str) and len(line) < 4000 else []
        if len(words) < 2 or words[-1][0] in "+-.0123456789":
            right = "write the readings of one depth and their unit, for instance 0.215 0.190 0.221 0.187 in"
            faults.append(Fault(at, shown(line), right))
            return
        for angle, word in enumerate(words[:-1]):
            bad: list[Fault] = []
            _collect(f"{at}.{angle}", self.each, f"{word} {words[-1]}", found, bad)
            faults.extend(Fault(at, fault.read, fault.right) for fault in bad)

    def json(self) -> dict[str, Any]:
        rows = {"type": "array", "items": {"type": "string"}, "minItems": 1}
        return {"type": "object", "patternProperties": {"^[0-9]+$": rows}, "description": self.meaning}


def _collect(path: str, kind: Quantity, raw: Any, found: dict[str, Reading], faults: list[Fault]) -> None:
    try:
        found[path] = kind.read(raw)
    except Unfit as unfit:
        faults.extend(
            Fault(f"{path}.{fault.path}" if fault.path else path, fault.read, fault.right)
            for fault in unfit.faults
        )


def _not_rising(ladder: list[tuple[str, Reading]], raw: list[Any]) -> list[Fault]:
    return [
        Fault(path, shown(raw[index]), f"each must exceed the one before, {shown(raw[index - 1])}")
        for index, (path, reading) in enumerate(ladder)
        if index and not reading.si > ladder[index - 1][1].si
    ]
