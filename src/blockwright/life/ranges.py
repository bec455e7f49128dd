"""Where a build leaves the range of a formula: said beside every figure that it touches.

The ranges are those that the formulas themselves state (`valid=` in their registration); this is
where a build's own values are held against them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..build.model import Build
from ..parts import strength
from .shop_units import ShopUnits

#: Hardness over which strength was fitted to it [HB]: grey and ductile iron, steel.
_HARDNESS = {"grey": (150.0, 310.0), "ductile": (150.0, 310.0), "steel": (100.0, 450.0)}
#: Friction coefficients for which torque gives preload.
_FRICTION = (0.04, 0.35)
#: Mean piston speed over which the friction formula holds [m/s].
_PISTON_SPEED = (4.0, 25.0)
#: Speed over the target's within which burn durations are carried over [-].
_SPEED_RATIO = (0.4, 2.5)
_FASTENERS = {
    "main_fasteners": ("main-", "cap-", "bolt-hole-"),
    "outer_fasteners": ("main-", "cap-", "outer-"),
    "head_fasteners": ("head-",),
    "rod_bolts": ("rod-",),
}


@dataclass(frozen=True)
class Outside:
    """One range that the build leaves.

    limits : starts of the ids of the limits that it touches; empty: all of them, through the loads.
    """

    limits: tuple[str, ...]
    text: str

    def touches(self, limit: str) -> bool:
        """Whether a limit's figure rests on the formula."""
        return not self.limits or limit.startswith(self.limits)


def outside(build: Build, units: ShopUnits) -> tuple[Outside, ...]:
    """Every range of a formula that this build leaves."""
    return (*_iron(build), *_walls(build, units), *_friction(build), *_running(build))


def _iron(build: Build) -> list[Outside]:
    touched = {"casting": ("wall-", "web-", "saddle-", "bolt-hole-", "head-bolt-"), "caps": ("cap-crown-",)}
    found = []
    for section, limits in touched.items():
        path = f"{section}.hardness"
        if path not in build.values or build.values[path].by != "measured":
            continue
        low, high = _HARDNESS.get(strength.family(strength.material(build, section)), (0.0, math.inf))
        value = build.si(path)
        if not low <= value <= high:
            found.append(
                Outside(
                    limits,
                    f"{path} {value:.0f} HB is outside {low:.0f} to {high:.0f} HB, over which strength was "
                    "fitted to hardness",
                )
            )
    return found


def _walls(build: Build, units: ShopUnits) -> list[Outside]:
    low, _ = strength.SECTION_RANGE
    thinnest = float(np.min(build.walls().thickness))
    if thinnest >= low:
        return []
    thin, least = (units.quantity(si, "m") for si in (thinnest, low))
    return [
        Outside(
            ("wall-",),
            f"walls down to {thin.value:.3g} {thin.unit} are outside (below) the {least.value:.3g} "
            f"{least.unit} from which iron's strength was fitted to section thickness; they are taken as "
            "that thick for strength, not for stress",
        )
    ]


def _friction(build: Build) -> list[Outside]:
    found = []
    for section, limits in _FASTENERS.items():
        for where in ("thread_friction", "head_friction"):
            path = f"{section}.{where}"
            if path in build.values and not _FRICTION[0] <= build.si(path) <= _FRICTION[1]:
                found.append(
                    Outside(
                        limits,
                        f"{path} {build.si(path):.3g} is outside {_FRICTION[0]:g} to {_FRICTION[1]:g}, for "
                        "which torque gives preload",
                    )
                )
    return found


def _running(build: Build) -> list[Outside]:
    target, stroke = build.si("target.speed"), build.si("crank.stroke")
    speeds = [target, *build.array("duty.points", "speed")[:, 0]]
    found = []
    for speed in sorted({float(s) for s in speeds}):
        rpm, mean = speed * 30.0 / math.pi, stroke * speed / math.pi
        if not _PISTON_SPEED[0] <= mean <= _PISTON_SPEED[1]:
            found.append(
                Outside(
                    (),
                    f"at {rpm:.0f} rpm the mean piston speed of {mean:.1f} m/s is outside 4 to 25 m/s, over "
                    "which the friction formula holds; it decides the pressure that this power costs",
                )
            )
        if not _SPEED_RATIO[0] <= speed / target <= _SPEED_RATIO[1]:
            found.append(
                Outside(
                    (),
                    f"{rpm:.0f} rpm is outside a factor of 2.5 about the target's speed, over which the "
                    "burn's duration is carried",
                )
            )
    return found
