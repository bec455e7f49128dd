"""Numbers, units and states in the shop's words: the one place for the page and the terminal.

Nothing here decides anything about the engine: the state of a limit is read off
its margin and its chance, so that shape, colour and word always agree.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from ..life.verdict import Limit, Quantity, Verdict

_UNITS = (
    ("lbf*ft", "lbf ft"),
    ("ft*lbf", "lbf ft"),
    ("N*m", "N m"),
    ("**2", "²"),
    ("**3", "³"),
    ("^2", "²"),
    ("^3", "³"),
    ("delta_degC", "°C"),
    ("degC", "°C"),
    ("degF", "°F"),
    ("degree", "°"),
    ("percent", "%"),
    ("*", " "),
)
#: Blank that does not break a line, between a number and its unit.
FIXED = "\u00a0"
_NO_UNIT = frozenset({"", "1", "dimensionless"})
_ASCII = str.maketrans(
    {
        "°": " deg",
        "²": "2",
        "³": "3",
        "±": "+/-",
        "×": "x",
        "·": ".",
        "–": "-",
        "—": "-",
        "−": "-",
        "→": "->",
        "≥": ">=",
        "≤": "<=",
        "≈": "~",
        "≠": "!=",
        "√": "sqrt",
        "∑": "sum",
        "∞": "inf",
        "Δ": "delta ",
        "σ": "sigma",
        "τ": "tau",
        "β": "beta",
        "α": "alpha",
        "γ": "gamma",
        "λ": "lambda",
        "θ": "theta",
        "φ": "phi",
        "ρ": "rho",
        "μ": "u",
        "µ": "u",
        "π": "pi",
        "η": "eta",
        "ω": "omega",
        "ε": "epsilon",
        "ν": "nu",
        "‘": "'",
        "’": "'",
        "“": '"',
        "”": '"',
        "…": "...",
        "⌀": "dia ",
        "Ø": "O",
        "ø": "o",
        "½": "1/2",
    }
)
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")


def clean(text: str) -> str:
    """`text` without the characters that neither XML nor a terminal can take."""
    return _FORBIDDEN.sub("\ufffd", text)


def one_line(text: str) -> str:
    """`clean` text with line breaks and runs of blanks made single blanks."""
    return " ".join(clean(text).split())


def sentence(text: str) -> str:
    """The text as one sentence: a capital first, one full stop last."""
    text = one_line(text).rstrip(".;, ")
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def ascii_only(text: str) -> str:
    """`text` in plain ASCII: signs become words, accents fall, the rest becomes ``?``."""
    plain = unicodedata.normalize("NFKD", text.translate(_ASCII))
    bare = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return bare.encode("ascii", "replace").decode("ascii")


def unit_words(unit: str) -> str:
    """A Pint unit as the shop writes it: ``lbf*ft`` is "lbf ft", ``1`` is nothing."""
    if unit in _NO_UNIT:
        return ""
    for old, new in _UNITS:
        unit = unit.replace(old, new)
    return "°" if unit == "deg" else clean(unit)


def number(value: float | None) -> str:
    """Three or four figures, thousands parted by a comma; words where there is no number."""
    if value is None or math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "no bound" if value > 0 else "below all bounds"
    size = abs(value)
    if size >= 99950 and size >= 1e7:
        return f"{value:.3g}"
    if size >= 100:
        return f"{value:,.0f}"
    if size >= 10:
        return f"{value:.1f}"
    if size >= 1:
        return f"{value:.2f}"
    return "0" if value == 0 else f"{value:.3g}"


def ratio(value: float | None) -> str:
    """A margin: two decimals about 1, so that its spread lines up with it."""
    if value is None or not 0.1 <= abs(value) < 100.0:
        return number(value)
    return f"{value:.2f}" if abs(value) < 10.0 else f"{value:.1f}"


def tick(value: float) -> str:
    """A number on an axis: no trailing zeros, thousands parted."""
    return f"{value:,.10g}".replace("-", "−") if abs(value) < 1e7 else f"{value:.3g}"


def margin(q: Quantity) -> str:
    """A margin with its spread in brackets."""
    spread = f" ({ratio(q.spread.low)} to {ratio(q.spread.high)})" if q.spread else ""
    return ratio(q.value) + spread


def with_unit(value: float | None, unit: str) -> str:
    """Number and unit; ``3.4°`` and ``12 %`` spaced as in print."""
    word = unit_words(unit)
    text = number(value)
    if not word or value is None or not math.isfinite(value):
        return text
    return f"{text}{word}" if word == "°" else f"{text}{FIXED}{word}"


def quantity(q: Quantity | None) -> str:
    """Value and unit of a quantity, without its spread."""
    return "not known" if q is None else with_unit(q.value, q.unit)


def spread_words(q: Quantity | None) -> str:
    """The spread alone, "0.62 to 1.21"; empty where there is none."""
    if q is None or q.spread is None:
        return ""
    low, high = number(q.spread.low), number(q.spread.high)
    return "" if low == high == number(q.value) else f"{low} to {high}"


def quantity_with_spread(q: Quantity | None) -> str:
    """Value, unit and, in brackets, the spread."""
    spread = spread_words(q)
    return f"{quantity(q)} ({spread})" if spread else quantity(q)


def chance(p: float) -> str:
    """A chance in per cent; above 90 cut, never rounded up."""
    if math.isnan(p):
        return "not known"
    per_cent = 100.0 * p
    if per_cent > 99.9:
        return f">{FIXED}99.9{FIXED}%"
    if per_cent < 0.1:
        return f"<{FIXED}0.1{FIXED}%"
    if per_cent < 90.0:
        return (
            f"{per_cent:.1f}".removesuffix(".0") + f"{FIXED}%"
            if per_cent < 9.95
            else f"{per_cent:.0f}{FIXED}%"
        )
    # 94.96 % must not print as the 95 % that was asked for: cut, do not round.
    return f"{math.floor(per_cent * 10.0 + 1e-9) / 10.0:.1f}".removesuffix(".0") + f"{FIXED}%"


@dataclass(frozen=True)
class State:
    """How a limit stands: one word, one marker shape, one colour class."""

    word: str
    css: str


BREAKS = State("breaks", "breaks")
DOUBTFUL = State("doubtful", "doubtful")
LIVES = State("lives", "lives")
#: A limit of service or good practice: exceeding it breaks nothing by itself.
PASSED = State("exceeded", "doubtful")
KEPT = State("kept", "lives")


def is_guide(limit: Limit) -> bool:
    """Whether passing the limit breaks nothing by itself."""
    return limit.kind == "guide"


def state(limit: Limit, accepted: float) -> State:
    """State of one limit.

    Breaks: nominal margin below 1, or more likely than not to fail; lives: accepted chance reached."""
    if math.isnan(limit.margin.value):
        return DOUBTFUL  # whatever its chance says
    if is_guide(limit):
        return KEPT if limit.margin.value >= 1.0 and limit.survival >= 0.5 else PASSED
    if limit.margin.value < 1.0 or limit.survival < 0.5:
        return BREAKS
    return LIVES if limit.survival >= accepted else DOUBTFUL


def severity(limit: Limit) -> tuple[bool, float, float]:
    """Sorting key, worst first: guides last, then least chance, then least margin (chances tie at 1)."""
    margin = limit.margin.value
    return is_guide(limit), limit.survival, math.inf if math.isnan(margin) else margin


@dataclass(frozen=True)
class Group:
    """The limits of one name: the place that goes first, and the others in the same order."""

    name: str
    worst: Limit
    others: tuple[Limit, ...]


def groups(limits: Iterable[Limit]) -> tuple[Group, ...]:
    """Limits gathered by name, in the verdict's order: first to go first, guides last."""
    by_name: dict[str, list[Limit]] = {}
    for limit in sorted(limits, key=is_guide):
        by_name.setdefault(limit.name, []).append(limit)
    return tuple(Group(name, found[0], tuple(found[1:])) for name, found in by_name.items())


def place(limit: Limit) -> str:
    """Place of a limit, short enough for a table: angles with their sign."""
    return re.sub(r"(?<=\d) deg\b", "°", one_line(limit.place))


def rest_of_doubt(verdict: Verdict) -> str:
    """The doubt that no measurement on this engine takes away, as one sentence; empty when not known."""
    models, rows = (verdict.method.get(f"share of the doubt from {part}") for part in _NOT_MEASURED)
    if models is None or rows is None:
        return ""
    return f"Of the doubt, {models} lies in the models themselves and {rows} in catalogue figures."


_NOT_MEASURED = ("models", "catalogue figures")
_PLACE = re.compile(r"\b(main|cylinder|bore|rod|bank)\s+(\d+)\b", re.IGNORECASE)


def place_number(place: str, kind: str) -> int | None:
    """Number behind ``main`` or ``cylinder`` in a place ("cylinder 3 depth 1" is 3)."""
    for word, digits in _PLACE.findall(place):
        if word.lower() == kind or (kind == "cylinder" and word.lower() == "bore"):
            return int(digits)
    return None


def worst_at(limits: Iterable[Limit], kind: str, where: int, *words: str) -> Limit | None:
    """Worst breaking limit at main or cylinder `where` whose part or name holds one of `words`."""
    found = [
        limit
        for limit in limits
        if not is_guide(limit)
        and place_number(limit.place, kind) == where
        and any(word in f"{limit.part} {limit.name}".lower() for word in words)
    ]
    return min(found, key=severity, default=None)
