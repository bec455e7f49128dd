"""What the gas model found at the points of the duty, as the page's table and the terminal's lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

from markupsafe import Markup

from ..life.verdict import Point, Quantity
from . import svg, words
from .words import State

KNOCKS = State("knocks", "breaks")
MAY_KNOCK = State("may knock", "doubtful")
CLEAR = State("clear", "lives")
NOT_KNOWN = State("not known", "plain")

_Told: TypeAlias = Callable[[Point], str]


def knock_state(point: Point) -> State:
    """Whether it knocks: by the margin itself, and by the lower end of its spread."""
    margin = point.knock_margin
    if margin is None:
        return NOT_KNOWN
    if margin.value < 0.0:
        return KNOCKS
    return MAY_KNOCK if margin.spread is not None and margin.spread.low < 0.0 else CLEAR


def knock_words(point: Point, spread: bool = True) -> str:
    """The margin with its spread in whole degrees; a negative one is spark to be taken away."""
    return _whole(point.knock_margin, "°", spread)


def hardest_words(point: Point) -> str:
    """The cylinder with the highest peak, and by how much it leads the mean of all."""
    above = f"{100.0 * (point.hardest_share - 1.0):.1f}"
    return "all alike" if above == "0.0" else f"no. {point.hardest_cylinder}, +{above}{words.FIXED}%"


def _whole(found: Quantity | None, unit: str, spread: bool = True) -> str:
    if found is None:
        return "not known"
    band = found.spread if spread else None
    tail = "" if band is None else f" ({round(band.low)} to {round(band.high)})"
    return f"{round(found.value)}{unit}{tail}"


def _marked(point: Point) -> str:
    """The state of knock; in the colour of a warning unless it stands clear."""
    state = knock_state(point)
    plain = state in (CLEAR, NOT_KNOWN)
    return state.word if plain else Markup('<strong class="warn">{}</strong>').format(state.word)


def _cycles(point: Point) -> str:
    return "" if point.cycles is None else words.number(point.cycles)


def _offered(point: Point) -> str:
    return "not known" if point.octane_offered is None else str(round(point.octane_offered))


#: Rows of the page's table.
_ROWS: tuple[tuple[str, _Told], ...] = (
    ("power", lambda p: words.quantity_with_spread(p.power)),
    ("torque", lambda p: words.quantity(p.torque)),
    ("brake mean effective pressure", lambda p: words.quantity(p.bmep)),
    ("peak pressure of the mean cycle", lambda p: words.quantity_with_spread(p.peak_pressure)),
    ("reached after top dead centre", lambda p: words.quantity(p.peak_angle)),
    ("hardest cylinder, over the mean", hardest_words),
    ("pressure in the manifold", lambda p: words.quantity(p.manifold_pressure)),
    ("pressure in the exhaust", lambda p: words.quantity(p.back_pressure)),
    ("volumetric efficiency", lambda p: f"{p.volumetric_efficiency:.3f}"),
    ("half burned after top dead centre", lambda p: words.quantity(p.ca50)),
    ("from 10 to 90 % burned", lambda p: words.quantity(p.burn_duration)),
    ("spark left before knock", knock_words),
    ("knock", _marked),
    ("octane asked", lambda p: _whole(p.octane_asked, "")),
    ("octane offered", _offered),
    ("engine cycles", _cycles),
)


def table(points: Sequence[Point]) -> svg.Table:
    """One column a point: a duty has few points, and each has much to say."""
    heads = ("speed", *(words.quantity(p.speed) for p in points))
    rows = ((head, *(told(p) for p in points)) for head, told in _ROWS)
    return svg.Table(heads, tuple(row for row in rows if any(row[1:])))


#: Columns of the terminal's table.
HEADS = ("speed", "power", "peak pressure", "hardest", "spark left", "")


def cells(point: Point, spread: bool = True) -> tuple[str, ...]:
    """One point as the terminal's table shows it; on narrow paper without the spreads."""
    peak = words.quantity_with_spread if spread else words.quantity
    return (
        words.quantity(point.speed),
        words.quantity(point.power),
        peak(point.peak_pressure),
        hardest_words(point),
        knock_words(point, spread),
        "" if point.knock_margin is None else knock_state(point).word,
    )
