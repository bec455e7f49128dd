"""A row of the catalogue, and one figure of it with its spread and source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...errors import Fault, InputError

#: How well a figure is known, from best to worst.
STATUSES = ("published", "computed", "from memory", "common practice", "assumed")


@dataclass(frozen=True)
class Figure:
    """One number of the catalogue.

    Attributes
    ----------
    value, unit : float, str
        As the data file writes it.
    si, si_unit : float, str
        The same in SI.
    u : float
        Standard uncertainty, SI; 0 for a definition.
    distribution : str
        ``"normal"`` or ``"lognormal"``.
    source, status : str
        Where it was found; one of `STATUSES`.
    note : str
        What a reader should know, empty when nothing.
    """

    value: float
    unit: str
    si: float
    si_unit: str
    u: float
    distribution: str
    source: str
    status: str
    note: str = ""


@dataclass(frozen=True)
class Row:
    """One material, thread, grade, fuel or model constant.

    Attributes
    ----------
    table, name : str
        Where it stands.
    figures : mapping
        Numeric fields.
    texts : mapping
        Word fields (``mean_rule``, ``meaning``).
    source, status : str
        Of the row as a whole; `Figure.source` and `Figure.status` say it for one figure.
    """

    table: str
    name: str
    figures: Mapping[str, Figure]
    texts: Mapping[str, str]
    source: str
    status: str

    def figure(self, field: str) -> Figure:
        """The whole figure: value, unit, spread, source, status."""
        try:
            return self.figures[field]
        except KeyError:
            raise self._no_such(field, self.figures) from None

    def si(self, field: str) -> float:
        """Value in SI."""
        return self.figure(field).si

    def u(self, field: str) -> float:
        """Standard uncertainty in SI; 0 for a definition."""
        return self.figure(field).u

    def si_unit(self, field: str) -> str:
        """Name of the SI unit of a figure."""
        return self.figure(field).si_unit

    def distribution(self, field: str) -> str:
        """``"normal"`` or ``"lognormal"``."""
        return self.figure(field).distribution

    def source_of(self, field: str) -> str:
        """Source of one figure."""
        return self.figure(field).source

    def status_of(self, field: str) -> str:
        """Status of one figure."""
        return self.figure(field).status

    def text(self, field: str) -> str:
        """A word field, such as ``mean_rule``."""
        try:
            return self.texts[field]
        except KeyError:
            raise self._no_such(field, self.texts) from None

    def has(self, field: str) -> bool:
        """Whether the row has this field, numeric or word."""
        return field in self.figures or field in self.texts

    def _no_such(self, field: str, known: Mapping[str, object]) -> InputError:
        return InputError(
            Fault(
                path=f"catalogue {self.table} {self.name}",
                read=repr(field),
                right=near_miss(field, known) + f"this row has {', '.join(known) or 'none'}",
            )
        )


def near_miss(word: str, known: Mapping[str, object]) -> str:
    """``"did you mean 'grey-30'? "`` when a known word is close, else nothing."""
    import difflib  # only on the way to an error

    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return f"did you mean {close[0]!r}? " if close else ""
