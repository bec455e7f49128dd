"""The shop's units: inch or metric, told by the unit in which the bore was written."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..build.model import Build
from ..trace import Array
from ..units import dimension_of, to_unit
from .verdict import Quantity, Spread

_INCH = {
    "Pa": "psi",
    "N": "lbf",
    "m": "in",
    "m/s": "ft/min",
    "m/s2": "ft/s^2",
    "N*m": "lbf*ft",
    "m3": "in^3",
    "rad/s": "rpm",
}
_METRIC = {
    "Pa": "MPa",
    "N": "kN",
    "m": "mm",
    "m/s": "m/s",
    "m/s2": "m/s^2",
    "N*m": "N*m",
    "m3": "cc",
    "rad/s": "rpm",
}
#: Units that are not in the shop's table of dimensions.
_PLAIN = {"ft/min": 60.0 / 0.3048, "m/s": 1.0, "ft/s^2": 1.0 / 0.3048, "m/s^2": 1.0, "1": 1.0}
_LEVEL = (5.0, 95.0)


@dataclass(frozen=True)
class ShopUnits:
    """Units in which a verdict is told."""

    inch: bool
    power: str

    def unit(self, si_unit: str, gas: bool = False) -> str:
        """Unit shown for an SI unit; gas pressure is in bar in a metric shop."""
        if si_unit == "W":
            return self.power
        if gas and si_unit == "Pa" and not self.inch:
            return "bar"
        return (_INCH if self.inch else _METRIC).get(si_unit, si_unit)

    def factor(self, si_unit: str, gas: bool = False) -> float:
        """Number in the shown unit per SI unit."""
        unit = self.unit(si_unit, gas)
        if unit in _PLAIN:
            return _PLAIN[unit]
        if unit == si_unit:
            return 1.0
        return to_unit(1.0, unit, dimension_of(unit))

    def quantity(self, si: float, si_unit: str, gas: bool = False) -> Quantity:
        """A figure without spread."""
        return Quantity(float(si) * self.factor(si_unit, gas), self.unit(si_unit, gas))

    def sampled(self, values: Array, si_unit: str, gas: bool = False) -> Quantity:
        """A figure with its 5 to 95 % spread; the nominal is row 0."""
        values = np.asarray(values, dtype=float)
        low, high = np.percentile(values[1:], _LEVEL)
        f = self.factor(si_unit, gas)
        return Quantity(
            float(values[0]) * f, self.unit(si_unit, gas), Spread(float(low) * f, float(high) * f)
        )

    def normal(self, si: float, sd: float, si_unit: str, gas: bool = False) -> Quantity:
        """A figure whose standard uncertainty is known; the spread is 1.645 of them either way."""
        f = self.factor(si_unit, gas)
        half = 1.645 * sd * f
        return Quantity(si * f, self.unit(si_unit, gas), Spread(si * f - half, si * f + half))


def shop_units(build: Build) -> ShopUnits:
    """Inch where the bore was written in inches; power in the target's own unit."""
    inch = build.values["casting.bore"].unit in ("in", "inch", '"', "ft", "thou")
    return ShopUnits(inch, build.values["target.power"].unit)
