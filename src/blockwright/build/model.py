"""A build as the physics reads it: every value in SI with how it is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputError

By: TypeAlias = Literal["measured", "catalogue", "assumed", "chosen"]
Groups: TypeAlias = tuple[tuple[int, ...], ...]
Choice: TypeAlias = str | int | bool | tuple[int, ...] | tuple[str, ...] | Groups


def beside(source: str, name: str) -> Path:
    """A file named in a build: relative to the build's own file, or to the folder in use."""
    return Path(source).parent / name if source else Path(name)


@dataclass(frozen=True)
class Value:
    """One quantity of the build.

    Attributes
    ----------
    path : str
        Keys joined by dots: ``casting.bore``; members of a list by their index from 0.
    si : float
        Value in SI (angles in rad, speeds in rad/s, hardness in HB).
    unit : str
        The unit in which the user wrote it, or in which a default is shown.
    u : float
        Standard uncertainty, in SI.
    by : str
        ``"measured"``, ``"catalogue"``, ``"assumed"``, or ``"chosen"`` for what is decided
        and not found out (the power wanted, the angle between banks).
    gauge, note : str
        What measured it; the user's remark, or the reason of a default.
    distribution : str
        ``"normal"`` or ``"lognormal"``.
    line : int or None
        Line of the file, when it stands there.
    """

    path: str
    si: float
    unit: str
    u: float
    by: By
    gauge: str = ""
    note: str = ""
    distribution: Literal["normal", "lognormal"] = "normal"
    line: int | None = None


@dataclass(frozen=True)
class Assumption:
    """A value that the user did not give: where, what was taken, and why."""

    path: str
    value: str
    why: str

    def __iter__(self) -> Any:
        return iter((self.path, self.value, self.why))


@dataclass(frozen=True)
class Walls:
    """Wall readings of the whole block.

    Attributes
    ----------
    depth : ndarray, shape (n_depth,)
        Below the deck [m].
    angle : ndarray, shape (n_angle,)
        Clockwise seen from above, 0 at the major thrust side [rad].
    thickness : ndarray, shape (n_cyl, n_depth, n_angle)
        Wall thickness; row 0 is cylinder 1 [m].
    measured : ndarray of bool, shape (n_cyl,)
        Whether the cylinder's walls were read.
    """

    depth: NDArray[np.float64]
    angle: NDArray[np.float64]
    thickness: NDArray[np.float64]
    measured: NDArray[np.bool_]


@dataclass(frozen=True)
class Build:
    """A validated build.

    Attributes
    ----------
    values : mapping
        Every quantity by path, given or assumed.
    choices : mapping
        Every word, count and list: ``layout.kind``, ``layout.firing_order``.
    assumptions : tuple of Assumption
        What was not given.
    source : str
        The file it was read from.
    text : str
        The file's text as read, for writing it back.
    raw : mapping
        The parsed file after all changes, before defaults.
    changes : mapping
        What `with_changes` changed since the text was read.
    """

    values: Mapping[str, Value]
    choices: Mapping[str, Choice]
    assumptions: tuple[Assumption, ...]
    source: str = ""
    text: str = field(default="", repr=False)
    raw: Mapping[str, Any] = field(default_factory=dict, repr=False)
    changes: Mapping[str, Any] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Name of the build."""
        return str(self.choices["name"])

    @property
    def invented(self) -> bool:
        """Whether its numbers are invented, as those of the demo are."""
        return bool(self.choices["invented"])

    def value(self, path: str) -> Value:
        """The quantity at a path, with its spread and provenance."""
        try:
            return self.values[path]
        except KeyError:
            raise InputError(Fault(path, "nothing", "this build holds no quantity there")) from None

    def si(self, path: str) -> float:
        """The quantity at a path in SI."""
        return self.value(path).si

    def u(self, path: str) -> float:
        """Standard uncertainty of the quantity at a path, in SI."""
        return self.value(path).u

    def has(self, path: str) -> bool:
        """Whether there is a quantity, a choice, or anything below the path."""
        if path in self.values or path in self.choices:
            return True
        below = f"{path}."
        return any(key.startswith(below) for key in self.values) or any(
            key.startswith(below) for key in self.choices
        )

    def choice(self, path: str) -> Choice:
        """The word, count or list at a path."""
        try:
            return self.choices[path]
        except KeyError:
            raise InputError(Fault(path, "nothing", "this build holds no choice there")) from None

    def word(self, path: str) -> str:
        """The choice at a path, which is a word."""
        return str(self.choice(path))

    def count(self, path: str) -> int:
        """The choice at a path, which is a whole number."""
        found = self.choice(path)
        if not isinstance(found, int):
            raise InputError(Fault(path, str(found), "a whole number is needed there"))
        return found

    def numbers(self, path: str) -> tuple[int, ...]:
        """The choice at a path, which is a list of whole numbers."""
        found = self.choice(path)
        if not isinstance(found, tuple):
            return (int(found),)
        return tuple(int(item) for item in found if not isinstance(item, tuple))

    def groups(self, path: str) -> Groups:
        """The choice at a path, which is a list of lists of cylinders."""
        found = self.choice(path)
        members = found if isinstance(found, tuple) else ()
        return tuple(tuple(int(c) for c in group) for group in members if isinstance(group, tuple))

    def file(self, path: str) -> Path:
        """The file that the text at a path names, relative to the build's own file."""
        return beside(self.source, self.word(path))

    def array(self, path: str, *fields: str) -> NDArray[np.float64]:
        """Members of a list in SI, shape (n,); with fields (``"lift", "flow"``) shape (n, fields)."""
        rows: list[list[float]] = []
        while True:
            at = f"{path}.{len(rows)}"
            keys = [f"{at}.{name}" for name in fields] or [at]
            if not all(key in self.values for key in keys):
                break
            rows.append([self.values[key].si for key in keys])
        result = np.array(rows, dtype=float).reshape(len(rows), max(len(fields), 1))
        return result if fields else result[:, 0]

    def walls(self) -> Walls:
        """The wall readings as arrays."""
        depth = self.array("casting.walls.depth")
        angle = self.array("casting.walls.angle")
        cylinders = range(1, self.count("layout.cylinders") + 1)
        paths = [
            [[f"casting.walls.{c}.{d}.{a}" for a in range(angle.size)] for d in range(depth.size)]
            for c in cylinders
        ]
        thickness = np.array([[[self.si(p) for p in row] for row in wall] for wall in paths])
        measured = np.array([self.values[wall[0][0]].by != "assumed" for wall in paths])
        return Walls(depth, angle, thickness, measured)

    def with_changes(self, changes: Mapping[str, Any]) -> Build:
        """The build with some fields changed, validated anew; defaults follow the change.

        Parameters
        ----------
        changes : mapping
            Path to text (``{"casting.bore": "4.040 in"}``), choice, table with provenance,
            float in SI (keeps the unit shown), or None to take the field out.
        """
        from .changes import changed

        return changed(self, changes)
