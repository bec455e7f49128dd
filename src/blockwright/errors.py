"""The whole error family, in one place.

Users meet three kinds: something in their input is wrong (`InputError`, exit
2), a figure was asked outside the range where its model holds
(`OutsideValidity`, exit 2), or a computation did not settle (`NotSettled`,
exit 3).  Each says where, what was read and what would be right.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class BlockwrightError(Exception):
    """Base of every error that Blockwright raises on purpose."""

    exit_code = 1


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input.

    Attributes
    ----------
    path : str
        Where in the input, as the user writes it (``caps.span``); empty for the whole file.
    read : str
        What was read there.
    right : str
        What would be right, as an instruction.
    line : int or None
        Line in the file, counted from 1, when known.
    """

    path: str
    read: str
    right: str
    line: int | None = None

    def __str__(self) -> str:
        where = self.path or "the file"
        if self.line is not None:
            where += f" (line {self.line})"
        return f"{where}: read {self.read}; {self.right}"


class InputError(BlockwrightError):
    """The user's input cannot be used; carries every fault found, not the first."""

    exit_code = 2

    def __init__(self, faults: str | Fault | Iterable[Fault], source: str = "") -> None:
        if isinstance(faults, str):
            self.faults: tuple[Fault, ...] = ()
            message = faults
        else:
            self.faults = (faults,) if isinstance(faults, Fault) else tuple(faults)
            message = "\n".join(str(fault) for fault in self.faults)
        self.source = source
        super().__init__(f"{source}\n{message}" if source and self.faults else message)


class OutsideValidity(BlockwrightError):
    """A figure was asked outside the range in which its formula holds."""

    exit_code = 2


class NotSettled(BlockwrightError):
    """An iteration did not settle; its last figures are never used."""

    exit_code = 3
