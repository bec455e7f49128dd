"""What a joint reads, and nothing more: two narrow views of a build and its samples."""

from __future__ import annotations

from typing import Protocol

from ..trace import Value


class Leaves(Protocol):
    """Where formulas get their inputs; every value has shape (n, 1, 1, 1) and is SI."""

    def build(self, path: str) -> Value:
        """A numeric field of the build, sampled from its spread."""

    def catalogue(self, table: str, row: str, field: str) -> Value:
        """A figure of a catalogue row, sampled from its spread."""

    def model(self, name: str) -> Value:
        """A constant or model error, sampled from its spread."""


class Specified(Protocol):
    """The words and flags of a build, never sampled."""

    def choice(self, path: str) -> object:
        """A word, whole number, flag or tuple of the build."""

    def has(self, path: str) -> bool:
        """Whether the build has this path."""
