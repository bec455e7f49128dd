"""What the checks share."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..errors import Fault
from ..units import dimension_of, to_unit
from .draft import Draft

Check = Callable[[Draft], Iterator[Fault]]


def shown(d: Draft, path: str) -> str:
    """A quantity as a message shows it, in the unit it was given in."""
    value = d.values[path]
    return as_written(value.si, value.unit)


def as_written(si: float, unit: str) -> str:
    """A quantity with the figures it needs: ``"4.03 in"``, ``"6500 rpm"``."""
    return f"{to_unit(si, unit, dimension_of(unit)):.7g} {unit}".strip()


def need(d: Draft, path: str, why: str) -> Iterator[Fault]:
    """A fault when the field is neither given nor named as unfit."""
    if path not in d.values and path not in d.choices and path not in d.bad:
        yield Fault(path, "nothing", why)
