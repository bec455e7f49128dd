"""The shop's units for what only a power curve shows: flows, temperatures, fuel per work."""

from __future__ import annotations

from dataclasses import dataclass

from ..gas.readings import Reading
from ..life.shop_units import ShopUnits
from ..life.verdict import Quantity, Spread
from ..units import dimension_of, to_unit

_POUND, _HP_HOUR, _KW_HOUR = 0.45359237, 745.69987158 * 3600.0, 3.6e6
#: Width of a 90 % interval of a normal distribution, in standard uncertainties.
_HALF = 1.645
#: SI unit to (unit shown, number per SI unit) in an inch shop and in a metric one.
_FLOWS: dict[str, tuple[tuple[str, float], tuple[str, float]]] = {
    "kg/s": (("lb/h", 3600.0 / _POUND), ("kg/h", 3600.0)),
    "kg/J": (("lb/(hp*h)", _HP_HOUR / _POUND), ("g/(kW*h)", 1000.0 * _KW_HOUR)),
}


@dataclass(frozen=True)
class CurveUnits:
    """`ShopUnits` and what they leave out."""

    shop: ShopUnits

    def shown(self, value: float, si_unit: str) -> tuple[float, str]:
        """Number and unit of an SI value."""
        if si_unit == "K":
            unit = "degF" if self.shop.inch else "degC"
            return to_unit(value, unit, "temperature"), unit
        if si_unit in _FLOWS:
            unit, factor = _FLOWS[si_unit][0 if self.shop.inch else 1]
            return value * factor, unit
        if si_unit == "m3":
            return to_unit(value, "L", "volume"), "L"
        if si_unit in ("1", "deg"):
            return value, si_unit
        unit = self.shop.unit(si_unit, gas=True)
        return to_unit(value, unit, dimension_of(unit)), unit

    def quantity(self, value: float, si_unit: str, sd: float | None = None) -> Quantity:
        """A figure, with 90 % of its spread where a standard uncertainty is known."""
        number, unit = self.shown(value, si_unit)
        if sd is None:
            return Quantity(number, unit)
        low, _ = self.shown(value - _HALF * sd, si_unit)
        high, _ = self.shown(value + _HALF * sd, si_unit)
        return Quantity(number, unit, Spread(low, high))

    def reading(self, found: Reading) -> Quantity | None:
        """A reading; None where it has no value."""
        return None if found.value is None else self.quantity(found.value, found.unit, found.sd)
