"""Spark for nitrous oxide: the hook for the burn and knock models, and the trade's rule beside it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ...build import catalogue
from ...trace import Value, formula
from ..model import OperatingPoint

#: The power that the trade's rule counts in: 50 hp [W].
RULE_POWER = 50.0 * 745.6998715822702


@formula(
    symbol="dtheta",
    unit="rad",
    equation="dtheta = r P/(50 hp)",
    source="common practice, no source",
    valid="a starting point of the trade, about 2 deg for every 50 hp; for showing beside a computed figure",
)
def customary_retard(power_gain: Value, per_fifty: Value) -> Value:
    """Spark retard that the trade takes for the power gained with nitrous oxide.

    Parameters
    ----------
    power_gain : array_like
        [W]
    per_fifty : array_like
        Retard for every 50 hp [rad].

    Returns
    -------
    ndarray
        [rad]
    """
    return per_fifty * power_gain / RULE_POWER


@dataclass(frozen=True)
class Retard:
    """How much later the spark must come with nitrous oxide.

    Attributes
    ----------
    without, with_ : float
        Best allowed advance before top dead centre without and with nitrous oxide [deg].
    customary : float
        What the trade takes for the same power: common practice, no source [deg].
    """

    without: float
    with_: float
    customary: float

    @property
    def needed(self) -> float:
        """Retard that the models find [deg]; negative if the spark may come earlier."""
        return self.without - self.with_


def retard_needed(
    advance: Callable[[OperatingPoint], float],
    without: OperatingPoint,
    with_: OperatingPoint,
    power_gain: float,
) -> Retard:
    """Retard from a search of the caller's, with the trade's rule beside it.

    Parameters
    ----------
    advance : callable
        Advance [deg before top dead centre] that a search allows at an operating point: the smaller of
        best torque and the knock limit (`gas.spark`).
    without, with_ : OperatingPoint
        The same engine before and with nitrous oxide.
    power_gain : float
        [W]
    """
    rule = catalogue.row("model", "nitrous.retard_per_power").si("value")
    return Retard(advance(without), advance(with_), math.degrees(float(customary_retard(power_gain, rule))))
