"""A build being put together."""

from __future__ import annotations

from dataclasses import dataclass, field

from .model import Choice, Groups, Value


@dataclass
class Draft:
    """A build being put together: what the file gives, then defaults.

    Attributes
    ----------
    values, choices : dict
        By path.
    given : set of str
        Paths that the user gave.
    bad : frozenset of str
        Paths at which something was wrong.
    sections : set of str
        Sections that the file has, even if they are empty.
    source : str
        The build's file, beside which the files lie that it names.
    """

    values: dict[str, Value] = field(default_factory=dict)
    choices: dict[str, Choice] = field(default_factory=dict)
    given: set[str] = field(default_factory=set)
    bad: frozenset[str] = frozenset()
    sections: set[str] = field(default_factory=set)
    source: str = ""

    def si(self, path: str) -> float:
        """Value in SI; KeyError when it is not known (yet)."""
        return self.values[path].si

    def word(self, path: str) -> str:
        """Choice as a word; KeyError when it is not known (yet)."""
        return str(self.choices[path])

    def count(self, path: str) -> int:
        """Choice as a whole number; KeyError when it is not known (yet)."""
        found = self.choices[path]
        if not isinstance(found, int):
            raise KeyError(path)
        return found

    def numbers(self, path: str) -> tuple[int, ...]:
        """Choice as whole numbers; KeyError when it is not known (yet)."""
        found = self.choices[path]
        if not isinstance(found, tuple):
            raise KeyError(path)
        return tuple(int(item) for item in found if not isinstance(item, tuple))

    def groups(self, path: str) -> Groups:
        """Choice as lists of cylinders; KeyError when it is not known (yet)."""
        found = self.choices[path]
        if not isinstance(found, tuple):
            raise KeyError(path)
        return tuple(tuple(int(c) for c in group) for group in found if isinstance(group, tuple))

    def fitted(self, section: str) -> bool:
        """Whether the file has the section."""
        return section in self.sections

    def series(self, path: str, name: str = "") -> list[float]:
        """Members of a list in SI."""
        found: list[float] = []
        while (key := f"{path}.{len(found)}" + (f".{name}" if name else "")) in self.values:
            found.append(self.values[key].si)
        return found

    def lists(self, path: str) -> bool:
        """Whether anything stands below a path."""
        below = f"{path}."
        return path in self.given or any(key.startswith(below) for key in self.values)
