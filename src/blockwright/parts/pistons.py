"""How fast pistons may go: the trade's two rules, read as spread capacities.

Neither is a calculation of a part.  They stand for what grows with speed and is not
modelled yet: ring flutter and seal, the oil film on skirt and pin, cracks at the bosses.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..trace import Value, formula
from .cases import Fatigue, Identity, Leaves, SingleEvent

if TYPE_CHECKING:
    from ..build.model import Build

_RULE = "common practice, no source"


@formula(symbol="U_p", unit="m/s", equation="U_p = e max(2 s n)", source="definition; largest over the duty")
def fastest_mean_speed(speed: Value, error: Value) -> Value:
    """Largest mean piston speed of the duty.

    Parameters
    ----------
    speed : array, shape (1, P, 1, 1)
        Mean piston speed at each point [m/s].
    error : array, shape (n, 1, 1, 1)
        Model error, mean 1 [-].
    """
    return error * np.max(speed, axis=(1, 2, 3), keepdims=True)


@formula(
    symbol="a_p",
    unit="m/s2",
    equation="a_p = e max |x''| w^2",
    source="exact slider-crank; largest over the duty",
)
def hardest_acceleration(acceleration: Value, error: Value) -> Value:
    """Largest piston acceleration of the duty.

    Parameters
    ----------
    acceleration : array, shape (1, P, 1, 1)
        Peak at each point [m/s2].
    error : array, shape (n, 1, 1, 1)
        Model error, mean 1 [-].
    """
    return error * np.max(acceleration, axis=(1, 2, 3), keepdims=True)


def limits(ctx: Leaves, build: Build) -> list[Fatigue | SingleEvent]:
    """Mean piston speed and peak piston acceleration, both in the regular duty (not the missed shift)."""
    return [
        SingleEvent(
            identity=_identity(
                "piston-speed",
                "Mean piston speed",
                "25 m/s, the usual limit of racing, read as borne by 99 in 100",
            ),
            unit="m/s",
            demand=fastest_mean_speed(ctx.kernel("piston_speed"), ctx.model("piston.speed.model_error")),
            capacity=ctx.model("piston.speed_capacity"),
            breaks=False,
        ),
        SingleEvent(
            identity=_identity(
                "piston-acceleration",
                "Peak piston acceleration",
                "150 000 ft/s2, a usual limit of racing pistons, read as borne by 99 in 100",
            ),
            unit="m/s2",
            demand=hardest_acceleration(
                ctx.kernel("piston_acceleration"), ctx.model("piston.acceleration.model_error")
            ),
            capacity=ctx.model("piston.acceleration_capacity"),
            breaks=False,
        ),
    ]


def _identity(key: str, name: str, note: str) -> Identity:
    return Identity(key, name, "piston", "every piston", _RULE, "rods", (note,))
