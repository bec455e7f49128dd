"""Paper for the terminal: so many columns, UTF-8 or plain ASCII."""

from __future__ import annotations

import sys
import textwrap
from dataclasses import dataclass

from . import words

WIDTH = 100
#: Stands for an unbreakable blank while lines are broken; a private character no file holds.
_GLUE = "\ue000"


def sheet(width: int, ascii_only: bool | None) -> Sheet:
    """A sheet of at least 72 columns; without a word on it, ASCII where standard output takes no UTF-8."""
    if ascii_only is None:
        ascii_only = not (getattr(sys.stdout, "encoding", "") or "").lower().startswith("utf")
    return Sheet(max(width, 72), ascii_only)


@dataclass(frozen=True)
class Sheet:
    """What is printed on: so many columns, of UTF-8 or of plain ASCII."""

    width: int
    ascii_only: bool

    def words(self, text: str) -> str:
        """The text on one line, in signs that the sheet takes."""
        text = words.one_line(text.replace(words.FIXED, _GLUE)).replace(_GLUE, words.FIXED)
        if not self.ascii_only:
            return text
        return words.FIXED.join(words.ascii_only(part) for part in text.split(words.FIXED))

    def paragraph(self, text: str, indent: str = "", hang: str | None = None) -> list[str]:
        """The text in lines that fit; later lines begin with `hang`."""
        lines = textwrap.wrap(
            self.words(text).replace(words.FIXED, _GLUE),
            self.width,
            initial_indent=indent,
            subsequent_indent=indent if hang is None else hang,
        )
        return [line.replace(_GLUE, " ") for line in lines]

    def block(self, text: str, room: int) -> list[str]:
        """The text as the lines of one table cell."""
        return textwrap.wrap(self.words(text), room) or [""]

    def finish(self, text: str) -> str:
        """Text as it goes out: ordinary blanks, none at a line's end."""
        text = words.clean(text.replace(words.FIXED, " "))
        if self.ascii_only:
            text = "\n".join(words.ascii_only(line) for line in text.split("\n"))
        return "\n".join(line.rstrip() for line in text.rstrip("\n").split("\n"))
