"""Quantities as text: a number and a unit, read to SI and written back.

Inside Blockwright every figure is a float in SI (angles in rad, turning speeds in
rad/s, hardness in Brinell numbers, shares as plain numbers).  This module is the
edge: it reads ``"4.030 in"`` and writes it again.

The units of the trade stand in one table, so that reading a file does not import
Pint (0.4 s); any other unit is looked up in Pint's registry.  The table also decides
where Pint would surprise: it reads ``cfm`` as a centi-femto-metre, ``PS`` as a
petasiemens and ``mil`` as an angle.  Every row is checked against Pint in the tests.

Nothing is evaluated: a text is one number followed by one product of units.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from .errors import Fault, InputError
from .unit_table import DIMENSIONS, Dimension

if TYPE_CHECKING:
    import pint

#: Longest text that can be a quantity; anything longer is refused unread.
_LONGEST = 80
_NUMBER = r"[+-]?(?:\d+ +\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?)"
_TEXT = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>[^\s\d].*|1)?", re.DOTALL)
_FACTOR = r"[^\W\d_][^\W\d]{0,39}(?:\^-?[1-4])?"
_PRODUCT = re.compile(rf"{_FACTOR}(?:[*/]{_FACTOR}){{0,5}}")
_SPELLINGS = str.maketrans({"²": "^2", "³": "^3", "⁴": "^4", "·": "*", "⋅": "*", "μ": "µ"})


@dataclass(frozen=True)
class Quantity:
    """One quantity as read.

    Attributes
    ----------
    si : float
        Value in SI.
    unit : str
        The unit as the user wrote it.
    resolution : float
        What one unit of the last written digit amounts to, in SI; of a fraction the smaller
        of 1/64 and one part.
    """

    si: float
    unit: str
    resolution: float


@functools.cache
def registry() -> pint.UnitRegistry[Any]:
    """Pint's registry, made once and only when a unit outside the table is met."""
    import pint

    return pint.UnitRegistry()


def _normal(unit: str) -> str:
    """One spelling for powers and products, without blanks around operators."""
    unit = unit.strip().translate(_SPELLINGS).replace("**", "^")
    unit = re.sub(r"\s*([*/^])\s*", r"\1", unit)
    return re.sub(r"\s+", "*", unit)


@functools.lru_cache(maxsize=512)
def scale(unit: str, dimension: str) -> tuple[float, float] | None:
    """Factor and zero of a unit, SI = factor * (number + zero); None when it does not fit.

    Parameters
    ----------
    unit : str
        Unit text.
    dimension : str
        Name of a `Dimension`.
    """
    kind = DIMENSIONS[dimension]
    name = _normal(unit)
    found = kind.units.get(unit.strip()) or kind.units.get(name)
    if found or not kind.open or not _PRODUCT.fullmatch(name) or "delta_" in name:
        return found
    if any(name in other.units for other in DIMENSIONS.values()):
        return None
    return _from_pint(name, kind.si)


def _from_pint(unit: str, si: str) -> tuple[float, float] | None:
    import pint

    units = registry()
    try:
        one = units.Quantity(1.0, units.parse_units(unit)).to_root_units()
        target = units.Quantity(1.0, units.parse_units(si))
        # Root units keep the radian, so that a hertz is no turning speed and a per cent no angle.
        if one.units != target.to_root_units().units:
            return None
        factor = float(units.Quantity(1.0, units.parse_units(unit)).to(target.units).magnitude)
        zero = float(units.Quantity(0.0, units.parse_units(unit)).to(target.units).magnitude)
    except (pint.PintError, ValueError, TypeError, AttributeError, ArithmeticError, AssertionError):
        return None
    return (factor, 0.0) if zero == 0.0 and math.isfinite(factor) and factor > 0.0 else None


def _shown(text: str) -> str:
    """Text as a message may show it: one line, not long."""
    flat = " ".join(text.split()) if len(text) < 400 else text[:60]
    return (flat[:57] + "...") if len(flat) > 60 else flat or "an empty text"


def _need(kind: Dimension) -> str:
    if kind.name == "number":
        return f"give it as a number, for instance {kind.examples}"
    return f"give it with a unit of {kind.name}, for instance {kind.examples}"


def _number(text: str) -> tuple[float, float]:
    """Value and resolution of a number's text."""
    if "/" in text:
        sign = -1.0 if text.startswith("-") else 1.0
        parts = text.lstrip("+-").split()
        part = Fraction(parts[-1])
        whole = int(parts[0]) if len(parts) == 2 else 0
        return sign * float(whole + part), float(min(Fraction(1, 64), Fraction(1, part.denominator)))
    mantissa, _, exponent = text.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return float(text), 10.0 ** (int(exponent or 0) - decimals)


def parse(text: str, dimension: str, path: str = "quantity") -> Quantity:
    """Read a number with its unit.

    Parameters
    ----------
    text : str
        ``"4.030 in"``, ``"4 1/8 in"``, ``".0025 in"``, ``"60 degF"``.
    dimension : str
        Which kind of quantity is meant, a key of `DIMENSIONS`.
    path : str
        Name of the field, for the message.

    Raises
    ------
    InputError
        When the text is no number with a unit of that kind, or is not finite.
    """
    return _parse(text if len(text) <= _LONGEST else _shown(text) + " ...", dimension, path)


# Bounds and rules of spread are the same few texts, read again with every change of a build.
@functools.lru_cache(maxsize=4096)
def _parse(text: str, dimension: str, path: str) -> Quantity:
    kind = DIMENSIONS[dimension]
    found = _TEXT.fullmatch(text)
    factors = None if found is None else scale(found["unit"] or "", dimension)
    if found is None or factors is None:
        right = _need(kind)
        if re.search(r"\d,\d", text):
            right = f"write the number with a point and without commas; {right}"
        raise InputError(Fault(path, _shown(text), right))
    try:
        number, resolution = _number(found["number"])
    except (ZeroDivisionError, OverflowError, ValueError):
        number = resolution = math.inf
    factor, zero = factors
    si = factor * (number + zero)
    if not math.isfinite(si) or not math.isfinite(resolution):
        raise InputError(Fault(path, _shown(text), f"give a finite number, for instance {kind.examples}"))
    return Quantity(si, (found["unit"] or "").strip(), factor * resolution)


def parse_spread(text: str, dimension: str, si: float, path: str = "u") -> float:
    """Read a standard uncertainty: ``"0.0005 in"``, or ``"2 %"``, always of the value; in SI.

    Of a temperature it is a difference: ``"9 degF"`` is 5 K.
    """
    kind = DIMENSIONS[dimension]
    found = _TEXT.fullmatch(text) if len(text) <= _LONGEST else None
    if found is not None and found["unit"] == "%":
        size = abs(si) * _number(found["number"])[0] / 100.0 if "/0" not in found["number"] else math.inf
    elif found is not None and (factors := scale(found["unit"] or "", dimension)) is not None:
        parse(text, dimension, path)
        size = factors[0] * _number(found["number"])[0]
    else:
        raise InputError(
            Fault(path, _shown(text), f"{_need(kind)}, or in per cent of the value, for instance 2 %")
        )
    if not (math.isfinite(size) and size >= 0.0):
        raise InputError(Fault(path, _shown(text), "give a standard uncertainty of 0 or more"))
    return size


def to_unit(si: float, unit: str, dimension: str, difference: bool = False) -> float:
    """SI value as a number of the unit; a difference leaves the zero of a temperature out.

    Raises
    ------
    InputError
        When the unit is none of that kind.
    """
    factors = scale(unit, dimension)
    if factors is None:
        raise InputError(Fault("unit", _shown(unit), _need(DIMENSIONS[dimension])))
    factor, zero = factors
    return si / factor - (0.0 if difference else zero)


def dimension_of(unit: str) -> str:
    """Dimension in whose table the unit stands (``lb*in`` is a torque).

    Raises
    ------
    InputError
        When it stands in none.
    """
    for name in ("torque", *DIMENSIONS):
        if unit in DIMENSIONS[name].units:
            return name
    for name, kind in DIMENSIONS.items():
        if kind.open and scale(unit, name) is not None:
            return name
    raise InputError(Fault("unit", _shown(unit), "give a unit such as in, mm, psi, lbf*ft, rpm"))


def show(si: float, unit: str, digits: int = 3, difference: bool = False) -> str:
    """Write an SI value in a unit with so many digits after the point: ``"4.030 in"``.

    Parameters
    ----------
    si : float
        Value in SI.
    unit : str
        Unit to show it in; empty for a plain number.
    digits : int
        Digits after the point.
    difference : bool
        Whether it is a difference (of temperatures) rather than a value.
    """
    number = to_unit(si, unit, dimension_of(unit), difference)
    text = f"{number:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return f"{text} {unit}".strip()
