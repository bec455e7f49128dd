"""What the checks share."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..errors import Fault
from ..units import show
from .draft import Draft

Check = Callable[[Draft], Iterator[Fault]]


def shown(d: Draft, path: str) -> str:
    """A quantity as a message shows it, in the unit it was given in."""
    value = d.values[path]
    return show(value.si, value.unit, 4)


def need(d: Draft, path: str, why: str) -> Iterator[Fault]:
    """A fault when the field is neither given nor named as unfit."""
    if path not in d.values and path not in d.choices and path not in d.bad:
        yield Fault(path, "nothing", why)
