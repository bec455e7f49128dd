"""How much an engine swallows, seen in a cycle in which its charge may just have changed."""

from __future__ import annotations

import math

from ..model import Breathing
from ..steering import Seen

#: Share of a cycle's exhaust that was drawn in before the cycle began: from the middle of an intake stroke
#: to the middle of the exhaust stroke of the same charge passes about six tenths of a cycle.
_OLD = 0.6
#: Filling of the cylinders that weighs the plenum's volume.
_FILLING = 0.9


def blow_by(seen: Seen) -> float:
    """What leaks past the rings and so never reaches the turbine [kg/s]."""
    return seen.leaked


def swallowed(breathing: Breathing, seen: Seen, warming: float = 0.0) -> float:
    r"""Flow into the engine at the present charge once its cycles repeat, air, fuel and all [kg/s].

    Parameters
    ----------
    breathing, seen
    warming : float
        By which share a charge that rises by x in pressure also rises in temperature [-].

    Notes
    -----
    A charge that has risen by x in pressure and y = c x in temperature settles at a flow of 1 + x - y.
    In the first cycle the flow drawn in holds, beside what the cylinders take, what fills the plenum:
    1 + (1 + s) x - y, with s the plenum's volume over what the cylinders draw.  The exhaust still holds
    older charge, and what is newer was drawn while the plenum warmed up:

    .. math:: 1 + (1 - o) x - \eta y, \quad \eta = (1 - o) - s (1 - e^{-(1 - o)/s})

    The mean with the weight (o - c (1 - \eta))/(s + o - c (1 - \eta)) on what is drawn in is free of both;
    when cycles repeat all are equal.
    """
    share = breathing.plenum_volume / (_FILLING * breathing.displacement)
    new = 1.0 - _OLD
    warmed = new + share * math.expm1(-new / max(share, 1e-3))
    lag = max(_OLD - warming * (1.0 - warmed), 0.0)
    weight = lag / (share + lag) if lag > 0.0 else 0.0
    left = float(seen.outlet_flow.mean()) + blow_by(seen)
    if not left > 0.0:
        return max(seen.total_flow, 1e-9)
    return max(weight * seen.total_flow + (1.0 - weight) * left, 1e-9)
