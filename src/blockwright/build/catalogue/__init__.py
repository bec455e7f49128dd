"""Materials, threads, fastener grades, fuels and model constants: data with source and status.

Every figure carries its standard uncertainty, where it was found, and how well
that is known.  ``docs/catalogue.md`` is written from the same data.
"""

from __future__ import annotations

from collections.abc import Mapping

from ...errors import Fault, InputError
from .entry import STATUSES, Figure, Row, near_miss
from .reading import TABLES, table

__all__ = ["STATUSES", "TABLES", "Figure", "Row", "names", "row", "rows"]


def row(table_name: str, name: str, path: str = "") -> Row:
    """One row of a table.

    Parameters
    ----------
    table_name : str
        One of `TABLES`; ``"metal"`` holds all irons, steels and aluminiums.
    name : str
        Row, such as ``"grey-30"`` or ``"1/2-13"``.
    path : str
        Where in the user's input the name was read, for the message.

    Raises
    ------
    InputError
        When there is no such row; names the nearest.
    """
    known = rows(table_name)
    if name in known:
        return known[name]
    listed = ", ".join(known) if len(known) <= 12 else ", ".join([*list(known)[:12], "..."])
    raise InputError(
        Fault(
            path=path or f"catalogue {table_name}",
            read=repr(name),
            right=near_miss(name, known) + f"the catalogue has {listed}",
        )
    )


def rows(table_name: str) -> Mapping[str, Row]:
    """All rows of a table by name, in the order of the data."""
    if table_name not in TABLES:
        raise InputError(
            Fault(path="catalogue", read=repr(table_name), right=f"the tables are {', '.join(TABLES)}")
        )
    return table(table_name)


def names(table_name: str) -> tuple[str, ...]:
    """Names of the rows of a table, in the order of the data."""
    return tuple(rows(table_name))
