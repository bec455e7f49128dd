"""The pipes of an engine as the report draws them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..gas.model import Breathing
from ..gas.network import Network
from .shop_units import ShopUnits


@dataclass(frozen=True)
class Cylinder:
    """What stands between the two sides.  bore : [m]; intake_valve, exhaust_valve : diameter of a round
    opening with the largest effective area of the valves [m]."""

    bore: float
    intake_valve: float
    exhaust_valve: float


@dataclass(frozen=True)
class Pipework:
    """What the drawing of the pipes needs: the network, what stands in its middle, and the shop's units."""

    network: Network
    cylinder: Cylinder
    units: ShopUnits


def pipework(breathing: Breathing, units: ShopUnits) -> Pipework | None:
    """The pipes behind a run; None where it was made without a network."""
    network = breathing.network
    if network is None:
        return None

    def across(area: float) -> float:
        return 2.0 * math.sqrt(area / math.pi)

    cylinder = Cylinder(
        breathing.bore,
        across(float(breathing.intake_area.max())),
        across(float(breathing.exhaust_area.max())),
    )
    return Pipework(network, cylinder, units)
