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

if TYPE_CHECKING:
    import pint

#: Longest text that can be a quantity; anything longer is refused unread.
_LONGEST = 80
_INCH, _FOOT, _POUND, _G = 0.0254, 0.3048, 0.45359237, 9.80665
_LBF = _POUND * _G
_PSI = _LBF / _INCH**2


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity.

    Attributes
    ----------
    name : str
        Key, in the trade's words: ``"length"``.
    si : str
        Unit of the stored float, in Pint's spelling.
    examples : str
        How such a quantity is written, for messages.
    units : dict
        Unit text to (factor, zero): SI = factor * (number + zero).
    open : bool
        Whether units outside the table are looked up in Pint.
    """

    name: str
    si: str
    examples: str
    units: dict[str, tuple[float, float]]
    open: bool = True


def _table(**factors: float) -> dict[str, tuple[float, float]]:
    return {name: (factor, 0.0) for name, factor in factors.items()}


def _rows(text: dict[str, float]) -> dict[str, tuple[float, float]]:
    """Rows from ``"name other-spelling"`` to factor."""
    return {name: (factor, 0.0) for names, factor in text.items() for name in names.split()}


_LENGTHS = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": _INCH, "ft": _FOOT}
_KELVIN_F = 459.67

DIMENSIONS: dict[str, Dimension] = {
    d.name: d
    for d in (
        Dimension(
            "length",
            "m",
            "4.030 in or 102.4 mm",
            _rows(
                {
                    "in inch inches": _INCH,
                    "mm": 1e-3,
                    "cm": 1e-2,
                    "m": 1.0,
                    "thou mil": _INCH / 1000.0,
                    "um µm micron": 1e-6,
                    "ft foot": _FOOT,
                }
            ),
        ),
        Dimension(
            "area",
            "m^2",
            "0.34 in^2 or 220 mm^2",
            _rows({f"{name}^2 {name}2": size**2 for name, size in _LENGTHS.items()}),
        ),
        Dimension(
            "volume",
            "m^3",
            "64 cc or 3.9 in^3",
            _rows(
                {
                    **{f"{name}^3 {name}3": size**3 for name, size in _LENGTHS.items()},
                    "cc ml mL": 1e-6,
                    "l L": 1e-3,
                }
            ),
        ),
        Dimension(
            "second moment of area",
            "m^4",
            "3600 mm^4 or 0.0086 in^4",
            _rows({f"{name}^4 {name}4": size**4 for name, size in _LENGTHS.items()}),
        ),
        Dimension(
            "mass",
            "kg",
            "505 g or 125 lb",
            _rows({"kg": 1.0, "g": 1e-3, "lb lbm": _POUND, "oz": _POUND / 16.0}),
        ),
        Dimension(
            "mass moment",
            "kg*m",
            "0.075 kg*m or 104 oz*in",
            _rows(
                {
                    "kg*m": 1.0,
                    "kg*mm": 1e-3,
                    "g*m": 1e-3,
                    "g*cm": 1e-5,
                    "g*mm": 1e-6,
                    "oz*in": _POUND / 16.0 * _INCH,
                    "lb*in": _POUND * _INCH,
                }
            ),
        ),
        Dimension(
            "angle",
            "rad",
            "34 deg or 0.6 rad",
            _rows({"deg degree degrees °": math.pi / 180.0, "rad": 1.0}),
        ),
        Dimension(
            "turning speed",
            "rad/s",
            "6500 rpm or 680 rad/s",
            _rows({"rpm rev/min r/min": math.pi / 30.0, "rad/s": 1.0}),
        ),
        Dimension(
            "pressure",
            "Pa",
            "14.7 psi or 1.013 bar",
            _rows(
                {
                    "Pa": 1.0,
                    "hPa mbar": 100.0,
                    "kPa": 1e3,
                    "MPa N/mm^2": 1e6,
                    "GPa": 1e9,
                    "bar": 1e5,
                    "psi": _PSI,
                    "ksi": 1e3 * _PSI,
                    "Mpsi": 1e6 * _PSI,
                    "atm": 101325.0,
                    "inH2O": 1000.0 * _G * _INCH,
                    "inHg": 13595.1 * _G * _INCH,
                    "mmHg": 13595.1 * _G * 1e-3,
                }
            ),
        ),
        Dimension(
            "temperature",
            "K",
            "68 degF or 20 degC",
            {
                **dict.fromkeys(("degC", "°C"), (1.0, 273.15)),
                **dict.fromkeys(("degF", "°F"), (5.0 / 9.0, _KELVIN_F)),
                "K": (1.0, 0.0),
                "degR": (5.0 / 9.0, 0.0),
            },
            open=False,
        ),
        Dimension(
            "torque",
            "N*m",
            "75 lbf*ft or 102 N*m",
            _rows(
                {
                    "N*m Nm N-m": 1.0,
                    "kN*m": 1e3,
                    "lbf*ft ft*lbf lbf-ft ft-lbf lb*ft ft*lb lb-ft ft-lb": _LBF * _FOOT,
                    "lbf*in in*lbf lbf-in in-lbf lb*in in*lb lb-in in-lb": _LBF * _INCH,
                }
            ),
        ),
        Dimension(
            "power",
            "W",
            "450 hp or 336 kW",
            _rows({"hp": 550.0 * _LBF * _FOOT, "PS": 75.0 * _G, "W": 1.0, "kW": 1e3}),
        ),
        Dimension(
            "flow",
            "m^3/s",
            "220 cfm or 104 l/s",
            _rows(
                {
                    "cfm ft^3/min": _FOOT**3 / 60.0,
                    "l/s L/s": 1e-3,
                    "l/min L/min": 1e-3 / 60.0,
                    "m^3/s": 1.0,
                    "m^3/h": 1.0 / 3600.0,
                }
            ),
        ),
        Dimension(
            "time",
            "s",
            "9.5 s or 12 h",
            _rows({"s": 1.0, "ms": 1e-3, "min minutes": 60.0, "h hour hours": 3600.0}),
        ),
        Dimension("force", "N", "60 kN or 13500 lbf", _rows({"N": 1.0, "kN": 1e3, "lbf": _LBF})),
        Dimension("hardness", "HB", "200 HB", _rows({"HB HBW": 1.0}), open=False),
        Dimension("number", "1", "0.85 or 85 %", {**_table(**{"": 1.0, "1": 1.0, "%": 0.01})}, open=False),
    )
}

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
    kind = DIMENSIONS[dimension]
    found = _TEXT.fullmatch(text) if len(text) <= _LONGEST else None
    factors = None if found is None else scale(found["unit"] or "", dimension)
    if found is None or factors is None:
        right = _need(kind)
        if len(text) <= _LONGEST and re.search(r"\d,\d", text):
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
