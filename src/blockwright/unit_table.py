"""The kinds of quantity and the units of the trade, as factors to SI.

Exact by definition (inch, pound, standard gravity); water at 1000 kg/m3 and mercury at
13 595.1 kg/m3, as pressure gauges take them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

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
            "moment of inertia",
            "kg*m^2",
            "80 kg*mm^2 or 0.27 lb*in^2",
            _rows(
                {
                    "kg*m^2": 1.0,
                    "kg*cm^2": 1e-4,
                    "kg*mm^2": 1e-6,
                    "g*cm^2": 1e-7,
                    "lb*in^2": _POUND * _INCH**2,
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
            "speed",
            "m/s",
            "520 m/s or 1700 ft/s",
            _rows({"m/s": 1.0, "ft/s": _FOOT, "km/h": 1.0 / 3.6}),
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
