"""How much an engine swallows, seen in a cycle in which its charge may just have changed."""

from __future__ import annotations

from ..model import Breathing
from ..steering import Seen

#: Share of a cycle's exhaust that was drawn in before the cycle began: from the middle of an intake stroke
#: to the middle of the exhaust stroke of the same charge passes about six tenths of a cycle.
_OLD = 0.6
#: Filling of the cylinders that weighs the plenum's volume.
_FILLING = 0.9


def blow_by(seen: Seen) -> float:
    """What leaks past the rings and so never reaches the turbine [kg/s]; 0 where a cycle does not tell it."""
    return float(getattr(seen, "leaked", 0.0))


def swallowed(breathing: Breathing, seen: Seen) -> float:
    r"""Flow into the engine at the present charge once its cycles repeat, air, fuel and all [kg/s].

    After a rise of the charge by x the flow drawn in holds, beside what the cylinders take, what fills the
    plenum: 1 + x + s x, with s the plenum's volume over what the cylinders draw.  The exhaust still holds
    older charge: 1 + (1 - o) x.  Their mean weighted 1 : s/o is free of both; when cycles repeat all
    three are equal.
    """
    weight = breathing.plenum_volume / (_FILLING * breathing.displacement) / _OLD
    left = float(seen.outlet_flow.mean()) + blow_by(seen)
    if not left > 0.0:
        return max(seen.total_flow, 1e-9)
    return max((seen.total_flow + weight * left) / (1.0 + weight), 1e-9)
