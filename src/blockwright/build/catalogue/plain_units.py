"""Unit texts of the catalogue's own data, read without a units library.

The data files are ours, so a dozen base units and the four operations are
enough, and the catalogue loads in milliseconds.  Users' texts go through
`blockwright.units`.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass

#: Axes of a dimension: metre, kilogram, second, kelvin, mole, Brinell number.
AXES = ("m", "kg", "s", "K", "mol", "HB")
Dimension = tuple[float, ...]


def _dimension(**powers: float) -> Dimension:
    return tuple(float(powers.get(axis, 0.0)) for axis in AXES)


_NONE = _dimension()
_LENGTH = _dimension(m=1)
_MASS = _dimension(kg=1)
_TIME = _dimension(s=1)
_FORCE = _dimension(kg=1, m=1, s=-2)
_PRESSURE = _dimension(kg=1, m=-1, s=-2)
_ENERGY = _dimension(kg=1, m=2, s=-2)

_INCH = 0.0254
_POUND = 0.45359237
_STANDARD_GRAVITY = 9.80665
_PSI = _POUND * _STANDARD_GRAVITY / _INCH**2

_UNITS: dict[str, tuple[float, Dimension]] = {
    "1": (1.0, _NONE),
    "%": (0.01, _NONE),
    "rad": (1.0, _NONE),
    "deg": (math.pi / 180.0, _NONE),
    "m": (1.0, _LENGTH),
    "cm": (1e-2, _LENGTH),
    "mm": (1e-3, _LENGTH),
    "um": (1e-6, _LENGTH),
    "in": (_INCH, _LENGTH),
    "thou": (_INCH / 1000.0, _LENGTH),
    "ft": (12.0 * _INCH, _LENGTH),
    "kg": (1.0, _MASS),
    "g": (1e-3, _MASS),
    "lb": (_POUND, _MASS),
    "s": (1.0, _TIME),
    "ms": (1e-3, _TIME),
    "min": (60.0, _TIME),
    "h": (3600.0, _TIME),
    "rpm": (2.0 * math.pi / 60.0, _dimension(s=-1)),
    "Hz": (1.0, _dimension(s=-1)),
    "K": (1.0, _dimension(K=1)),
    "mol": (1.0, _dimension(mol=1)),
    "HB": (1.0, _dimension(HB=1)),
    "N": (1.0, _FORCE),
    "kN": (1e3, _FORCE),
    "MN": (1e6, _FORCE),
    "lbf": (_POUND * _STANDARD_GRAVITY, _FORCE),
    "Pa": (1.0, _PRESSURE),
    "kPa": (1e3, _PRESSURE),
    "MPa": (1e6, _PRESSURE),
    "GPa": (1e9, _PRESSURE),
    "bar": (1e5, _PRESSURE),
    "psi": (_PSI, _PRESSURE),
    "ksi": (1e3 * _PSI, _PRESSURE),
    "Mpsi": (1e6 * _PSI, _PRESSURE),
    "J": (1.0, _ENERGY),
    "kJ": (1e3, _ENERGY),
    "MJ": (1e6, _ENERGY),
    "W": (1.0, _dimension(kg=1, m=2, s=-3)),
    "kW": (1e3, _dimension(kg=1, m=2, s=-3)),
}

#: How an SI result is written; anything else is spelled from its base units.
_SI_NAMES: dict[Dimension, str] = {
    _NONE: "1",
    _FORCE: "N",
    _PRESSURE: "Pa",
    _ENERGY: "J",
    _dimension(kg=1, m=-3): "kg/m3",
    _dimension(kg=1, m=2, s=-3): "W",
    _dimension(kg=1, m=1, s=-3, K=-1): "W/(m K)",
    _dimension(kg=1, s=-3, K=-1): "W/(m2 K)",
    _dimension(m=2, s=-2): "J/kg",
    _dimension(m=2, s=-2, K=-1): "J/(kg K)",
    _dimension(kg=1, s=-2): "N/m",
    _dimension(kg=1, m=-1, s=-1): "Pa s",
}

_TOKEN = re.compile(
    r"\s*(?P<name>%|[A-Za-z]+|1(?![\d.]))(?:(?:\^|\*\*)?(?P<power>-?\d+(?:\.\d+)?))?|\s*(?P<sign>[*/()])"
)


@dataclass(frozen=True)
class UnitText:
    """A unit read from text: its factor to SI, its dimension, and the SI unit's name."""

    factor: float
    dimension: Dimension
    si_name: str


@functools.lru_cache(maxsize=256)
def unit(text: str) -> UnitText:
    """Read a unit such as ``"Mpsi"``, ``"W/(m K)"`` or ``"mm2"``.

    Raises
    ------
    ValueError
        When a name is not one of ours or the text does not parse.
    """
    factor, dimension = _Reader(text).whole()
    return UnitText(factor, dimension, si_name(dimension))


def si_name(dimension: Dimension) -> str:
    """Name of the SI unit of a dimension: ``"Pa"``, ``"kg/m3"``, ``"m2"``."""
    if dimension in _SI_NAMES:
        return _SI_NAMES[dimension]
    above = " ".join(_power(a, p) for a, p in zip(AXES, dimension, strict=True) if p > 0) or "1"
    below = " ".join(_power(a, -p) for a, p in zip(AXES, dimension, strict=True) if p < 0)
    if not below:
        return above
    return f"{above}/({below})" if " " in below else f"{above}/{below}"


def _power(axis: str, power: float) -> str:
    return axis if power == 1 else f"{axis}{power:g}"


class _Reader:
    """Products, quotients, powers and brackets of unit names, left to right."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens: list[tuple[str, float]] = []
        place = 0
        stripped = text.rstrip()
        while place < len(stripped):
            match = _TOKEN.match(stripped, place)
            if match is None or match.end() == place:
                raise ValueError(f"unit {text!r}: cannot read {stripped[place:]!r}")
            name = match["name"] or match["sign"]
            self.tokens.append((name, float(match["power"] or 1.0)))
            place = match.end()
        self.place = 0

    def whole(self) -> tuple[float, Dimension]:
        result = self.product()
        if self.place != len(self.tokens):
            raise ValueError(f"unit {self.text!r}: a bracket is left over")
        return result

    def product(self) -> tuple[float, Dimension]:
        factor, dimension = self.single()
        while self.place < len(self.tokens) and self.tokens[self.place][0] != ")":
            sign = 1.0
            if self.tokens[self.place][0] in "*/":
                sign = -1.0 if self.tokens[self.place][0] == "/" else 1.0
                self.place += 1
            other, powers = self.single()
            factor *= other**sign
            dimension = tuple(a + sign * b for a, b in zip(dimension, powers, strict=True))
        return factor, dimension

    def single(self) -> tuple[float, Dimension]:
        if self.place >= len(self.tokens):
            raise ValueError(f"unit {self.text!r} is empty or breaks off")
        name, power = self.tokens[self.place]
        self.place += 1
        if name == "(":
            inner = self.product()
            if self.place >= len(self.tokens):
                raise ValueError(f"unit {self.text!r}: a bracket is not closed")
            self.place += 1
            return inner
        if name not in _UNITS:
            raise ValueError(f"unit {self.text!r}: {name!r} is not known to the catalogue")
        factor, dimension = _UNITS[name]
        return factor**power, tuple(power * p for p in dimension)
