"""Read a build file: the edge where text, units and errors become a `Build`."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ..errors import Fault, InputError
from .lines import line_near, lines_of
from .model import Build
from .quantity import Written
from .upgrades import upgraded

#: Larger files are refused before they are read.
LARGEST = 2_000_000
#: A line longer than this is no build file's.
LONGEST_LINE = 20_000
#: More tables and lists inside each other than any build has.
DEEPEST = 40


def load(path: str | os.PathLike[str]) -> Build:
    """Read and check a build file.

    Parameters
    ----------
    path : str or path
        A TOML file of format 1.

    Returns
    -------
    Build
        Every value in SI with its spread; what was not given is assumed and listed.

    Raises
    ------
    InputError
        With every fault found: path, line, what was read, what would be right.
    """
    source = os.fspath(path)
    return loads(_text(Path(path)), source)


def loads(text: str, source: str = "") -> Build:
    """Read and check the text of a build file; see `load`."""
    document = _parsed(text, source)
    lines = lines_of(text.removeprefix("\ufeff").replace("\r\n", "\n"), document)
    try:
        raw = upgraded(document)
    except InputError as error:
        faults = [Fault(f.path, f.read, f.right, line_near(lines, f.path)) for f in error.faults]
        raise InputError(faults, source) from None
    return assemble(raw, lines, source, text)


def assemble(
    raw: dict[str, Any],
    lines: Mapping[str, int],
    source: str,
    text: str,
    changes: Mapping[str, Any] | None = None,
) -> Build:
    """Validate a parsed document of the present format and complete it.

    Raises
    ------
    InputError
        With every fault found.
    """
    # Pydantic is imported only when a build is read.
    from .checks import contradictions
    from .defaults import complete
    from .flatten import flatten
    from .validate import validate

    faults = validate(raw, lines)
    draft = flatten(raw, frozenset(fault.path for fault in faults), lines)
    draft.source = source
    if "name" not in draft.choices and source:
        draft.choices["name"] = Path(source).stem or "unnamed build"
    assumptions, lacking = complete(draft)
    faults += contradictions(draft, lines)
    if not faults:
        faults = [Fault(path, "nothing", "give it: no default follows from the rest") for path in lacking]
    if faults:
        raise InputError(sorted(faults, key=_order), source)
    mains = len(draft.series("layout.throws")) + 1
    return Build(
        values=MappingProxyType(draft.values),
        choices=MappingProxyType({**draft.choices, "casting.main_count": mains}),
        assumptions=assumptions,
        source=source,
        text=text,
        raw=raw,
        changes=MappingProxyType(dict(changes or {})),
    )


def _order(fault: Fault) -> tuple[bool, int]:
    return (fault.line is None, fault.line or 0)


def _text(path: Path) -> str:
    source = str(path)
    try:
        if path.is_dir():
            raise InputError(f"{source}: read a folder; give the path of a build file (TOML)")
        if path.is_file() and path.stat().st_size > LARGEST:
            raise _too_large(source)
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise InputError(
            f"{source}: there is no such file; blockwright new writes one to start from"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it has no possible name"
        raise InputError(f"{source!r}: it cannot be read ({reason})") from None
    if len(data) > LARGEST:
        raise _too_large(source)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise InputError(Fault("", "UTF-16 text", "save the file as UTF-8 text"), source) from None
        if b"\0" in data[:4096]:
            raise InputError(Fault("", "a binary file", "give a text file in TOML"), source) from None
        right = "save the file as UTF-8 text"
        raise InputError(Fault("", f"the byte 0x{data[error.start]:02x}", right, line), source) from None


def _too_large(source: str) -> InputError:
    return InputError(
        Fault("", f"more than {LARGEST // 1_000_000} MB", "a build file is a few kilobytes of TOML"), source
    )


def _parsed(text: str, source: str) -> dict[str, Any]:
    """The document; bare decimal numbers remember their digits."""
    if len(text) > LARGEST:
        raise _too_large(source)
    body = text.removeprefix("\ufeff")
    if not body.strip():
        raise InputError(Fault("", "an empty file", "blockwright new writes a build to start from"), source)
    if "\0" in body:
        raise InputError(Fault("", "a binary file", "give a text file in TOML"), source)
    for number, line in enumerate(body.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            right = f"a line may hold {LONGEST_LINE} characters"
            raise InputError(Fault("", f"a line of {len(line)} characters", right, number), source)
    try:
        document = tomllib.loads(body, parse_float=Written)
    except tomllib.TOMLDecodeError as error:
        raise InputError(_syntax(body, str(error)), source) from None
    except (RecursionError, ValueError, OverflowError):
        right = "it is no TOML that a build could hold (too deep, or a number too long)"
        raise InputError(Fault("", "a file that cannot be parsed", right), source) from None
    if _deeper(document, DEEPEST):
        right = f"keep tables and lists at most {DEEPEST} deep"
        raise InputError(Fault("", "tables or lists too deep", right), source)
    return document


def _deeper(node: Any, left: int) -> bool:
    stack = [(node, left)]
    while stack:
        item, room = stack.pop()
        if isinstance(item, (dict, list)):
            if not room:
                return True
            stack.extend((m, room - 1) for m in (item.values() if isinstance(item, dict) else item))
    return False


def _syntax(text: str, message: str) -> Fault:
    """A syntax error of TOML as a fault with the line that it names."""
    found = re.search(r"\(at (?:line (\d+), column (\d+)|end of document)\)", message)
    reason = re.sub(r"\s*\(at .*\)$", "", message)
    lines = text.split("\n")
    number = int(found[1]) if found and found[1] else len(lines)
    line = lines[number - 1].strip() if number <= len(lines) else ""
    read = (line[:57] + "..." if len(line) > 60 else line) or "the end of the file"
    right = f"it is not TOML here: {reason[:1].lower()}{reason[1:]}"
    if re.search(r'=\s*[\d.+-]+\s*[A-Za-z"%]', line):
        right += '; a quantity stands in quotes, for instance bore = "4.030 in"'
    return Fault("", read, right[:300], number)
