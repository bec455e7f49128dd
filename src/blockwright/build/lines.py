"""On which line every key of a TOML text stands.

Parsers of TOML do not say, so this walks the text once: comments, the four kinds of
string, dotted and quoted keys, tables, arrays of tables, inline tables and arrays.
It is used on texts that a parser has already accepted.  Its findings are compared
with the parsed document, and dropped altogether unless they name the same keys:
no line rather than a wrong one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, TypeAlias

Path: TypeAlias = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"[ \t]*")
_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BASIC = re.compile(r'"(?:[^"\\\n]|\\.)*"')
_LITERAL = re.compile(r"'[^'\n]*'")
_LONG_BASIC = re.compile(r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''(?:[^']|'(?!''))*'{3,5}", re.DOTALL)
_SCALAR = re.compile(r"[^,\]}#\n]+")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}
_ESCAPE = re.compile(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))")


class _Lost(Exception):
    """The walk met what it does not understand."""


def _unescape(text: str) -> str:
    def one(found: re.Match[str]) -> str:
        code = found[1] or found[2]
        if code:
            return chr(int(code, 16))
        if found[3] not in _ESCAPES:
            raise _Lost
        return _ESCAPES[found[3]]

    return _ESCAPE.sub(one, text)


class _Walk:
    """One pass over the text; `found` collects the line of every path."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found: dict[Path, int] = {}
        self.arrays: dict[Path, int] = {}
        self._line, self._counted = 1, 0

    def line(self) -> int:
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        return self._line

    def take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise _Lost
        self.at = found.end()
        return found[0]

    def next_is(self, mark: str) -> bool:
        return self.text.startswith(mark, self.at)

    def expect(self, mark: str) -> None:
        if not self.next_is(mark):
            raise _Lost
        self.at += len(mark)

    def key(self) -> tuple[str, ...]:
        parts = []
        while True:
            self.take(_BLANK)
            if self.next_is('"'):
                parts.append(_unescape(self.take(_BASIC)[1:-1]))
            elif self.next_is("'"):
                parts.append(self.take(_LITERAL)[1:-1])
            else:
                parts.append(self.take(_BARE))
            self.take(_BLANK)
            if not self.next_is("."):
                return tuple(parts)
            self.at += 1

    def mark(self, base: Path, keys: tuple[str, ...], line: int) -> Path:
        """Path of a dotted key below a base; each table on the way is marked once."""
        path = base
        for key in keys:
            path = (*path, key)
            self.found.setdefault(path, line)
            if path in self.arrays:
                path = (*path, self.arrays[path])
        return path

    def document(self) -> None:
        base: Path = ()
        while True:
            self.take(_SPACE)
            if self.at >= len(self.text):
                return
            line = self.line()
            if self.next_is("[["):
                self.at += 2
                base = self.array_table(self.key(), line)
                self.expect("]]")
            elif self.next_is("["):
                self.at += 1
                base = self.mark((), self.key(), line)
                # A table named by a key above is known better by its own header.
                self.found[base] = line
                self.expect("]")
            else:
                self.pair(base)

    def array_table(self, keys: tuple[str, ...], line: int) -> Path:
        parent = self.mark((), keys[:-1], line)
        path = (*parent, keys[-1])
        self.found.setdefault(path, line)
        self.arrays[path] = self.arrays.get(path, -1) + 1
        base = (*path, self.arrays[path])
        self.found[base] = line
        return base

    def pair(self, base: Path) -> None:
        line = self.line()
        path = self.mark(base, self.key(), line)
        self.expect("=")
        self.take(_BLANK)
        self.value(path)

    def value(self, path: Path) -> None:
        if self.next_is('"""'):
            self.take(_LONG_BASIC)
        elif self.next_is("'''"):
            self.take(_LONG_LITERAL)
        elif self.next_is('"'):
            self.take(_BASIC)
        elif self.next_is("'"):
            self.take(_LITERAL)
        elif self.next_is("["):
            self.array(path)
        elif self.next_is("{"):
            self.inline_table(path)
        else:
            self.take(_SCALAR)

    def array(self, path: Path) -> None:
        self.expect("[")
        index = 0
        while True:
            self.take(_SPACE)
            if self.next_is("]"):
                self.at += 1
                return
            self.found[(*path, index)] = self.line()
            self.value((*path, index))
            index += 1
            self.take(_SPACE)
            if self.next_is(","):
                self.at += 1
            elif not self.next_is("]"):
                raise _Lost

    def inline_table(self, path: Path) -> None:
        self.expect("{")
        while True:
            self.take(_SPACE)
            if self.next_is("}"):
                self.at += 1
                return
            self.pair(path)
            self.take(_SPACE)
            if self.next_is(","):
                self.at += 1
            elif not self.next_is("}"):
                raise _Lost


def _paths(node: Any, base: Path = ()) -> Iterator[Path]:
    members: Any = ()
    if isinstance(node, Mapping):
        members = node.items()
    elif isinstance(node, list):
        members = enumerate(node)
    for key, member in members:
        path = (*base, key)
        yield path
        yield from _paths(member, path)


def lines_of(text: str, document: Mapping[str, Any]) -> dict[str, int]:
    """Line of every key and list member, by its path joined with dots.

    Parameters
    ----------
    text : str
        The TOML text.
    document : mapping
        The same text as parsed; findings that do not match it are thrown away.
    """
    walk = _Walk(text)
    try:
        walk.document()
        known = set(_paths(document))
    except (_Lost, RecursionError, ValueError, OverflowError):
        return {}
    if known != set(walk.found):
        return {}
    return {".".join(map(str, path)): line for path, line in walk.found.items()}


def line_near(lines: Mapping[str, int], path: str) -> int | None:
    """Line of a path, or of the nearest table or list above it that stands in the file."""
    while path:
        if path in lines:
            return lines[path]
        path = path.rpartition(".")[0]
    return None
