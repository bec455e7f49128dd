"""Which readings of a cylinder wall can govern, and the shell's coefficients there.

Kernels at the nominal engine: floats of the build in, floats out.  The coefficients enter
the limits as constants.  The shell is that of the block's mean wall; a place's own thickness
enters by the stresses there and by the slope of the front factor.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..build import catalogue
from . import shell, skirt
from .shell import Array

if TYPE_CHECKING:
    from ..build.model import Build

#: Readings of one cylinder kept for each face, worst first by the nominal engine.
CANDIDATES = 2
#: Readings nearer than this to a neighbouring bore are joined walls in a siamesed block [rad].
JOINED = np.radians(30.0)
_STEP = 0.02
#: Inverse of the support number of a bent iron wall, for ranking only [-].
_BENDING_SHARE = 0.6
#: Peak pressure at which places are ranked [Pa].
_RANKED_AT = 10.0e6


@dataclass(frozen=True)
class Place:
    """One reading and the shell's coefficients there.

    Attributes
    ----------
    cylinder, depth_index, angle_index : int
        Cylinder from 1; indices of the reading from 0.
    thickness, depth, angle : float
        Nominal [m], [m], [rad].
    front, front_slope, mean : float
        `shell.front_factor` at the block's mean wall, its logarithmic slope in thickness [-],
        and that mean [m].
    thrust : float
        `skirt.thrust_moment` [-].
    uneven : float
        Minus the second order of thickness times the freedom to go oval [m].
    fade : float
        Share of the bolts' distortion left at this depth [-].
    """

    cylinder: int
    depth_index: int
    angle_index: int
    thickness: float
    depth: float
    angle: float
    front: float
    front_slope: float
    mean: float
    thrust: float
    uneven: float
    fade: float


@dataclass(frozen=True)
class Bores:
    """What the shell needs of the engine, nominal [m], [rad], [-].

    ring_at_top : depth of the top ring at top dead centre; chamber : clearance volume over
    the bore's area; pin_at_top : depth of the pin at top dead centre; heat : thermal stress
    at the top per thickness, over the pressure of ranking [1/m]; depths, angles and
    `thickness` (cylinder, depth, angle) of the readings.
    """

    bore: float
    stroke: float
    rod: float
    ring_at_top: float
    pin_at_top: float
    chamber: float
    poisson: float
    bolts: int
    siamesed: bool
    heat: float
    depths: tuple[float, ...]
    angles: tuple[float, ...]
    thickness: bytes = field(repr=False)

    def walls(self) -> Array:
        """Thickness, shape (cylinder, depth, angle) [m]."""
        return np.frombuffer(self.thickness).reshape(-1, len(self.depths), len(self.angles))


def bores_of(build: Build) -> Bores:
    """The nominal figures, from the build."""
    walls = build.walls()
    metal = catalogue.row("metal", str(build.choice("casting.material")))
    bore = build.si("casting.bore")
    gasket = 0.25 * np.pi * build.si("heads.gasket_bore") ** 2 * build.si("heads.gasket_thickness")
    below = build.si("pistons.deck_clearance")
    volume = build.si("heads.chamber_volume") + gasket + build.si("pistons.dish")
    return Bores(
        bore=bore,
        stroke=build.si("crank.stroke"),
        rod=build.si("rods.length"),
        ring_at_top=max(below + build.si("pistons.top_ring"), 0.0),
        pin_at_top=max(below + build.si("pistons.compression_height"), 0.0),
        chamber=max(volume / (0.25 * np.pi * bore**2) + below, 1e-4),
        poisson=metal.si("poisson"),
        bolts=max(build.count("head_fasteners.count"), 2),
        siamesed=bool(build.choices.get("casting.siamesed", False)),
        heat=_heat_slope(metal) * constant("wall.heat_flux") / _RANKED_AT,
        depths=tuple(float(d) for d in walls.depth),
        angles=tuple(float(a) for a in walls.angle),
        thickness=np.ascontiguousarray(walls.thickness, dtype=float).tobytes(),
    )


@lru_cache(maxsize=32)
def places(bores: Bores) -> tuple[tuple[Place, ...], ...]:
    """Every reading that can be judged, by cylinder.

    In a siamesed block readings towards a neighbouring bore are left out: the two walls are
    one there, held by both.
    """
    walls = bores.walls()
    angles = np.array(bores.angles)
    mean = float(np.mean(walls))
    radius = 0.5 * (bores.bore + mean)
    bearing = constant("wall.skirt_angle"), constant("wall.skirt_length") * bores.bore
    bolt_rate = float(shell.ring_rate(bores.bolts, radius, mean, bores.poisson))
    order2 = shell.second_order(angles)
    found: list[list[Place]] = [[] for _ in walls]
    for i, depth in enumerate(bores.depths):
        low, front, high = (_front(bores, depth, mean * f) for f in (1.0 - _STEP, 1.0, 1.0 + _STEP))
        slope = float(np.log(high / low) / np.log((1.0 + _STEP) / (1.0 - _STEP)))
        moments = skirt.thrust_moment(angles, depth, radius, mean, bores.poisson, *bearing)
        oval = skirt.patch_moment(2, depth, 0.0, 1e2, radius, mean, bores.poisson) * 3.0 / radius**2
        for c, wall in enumerate(walls):
            uneven = -(order2 @ wall[i]) * max(oval, 0.0)
            for j, angle in enumerate(bores.angles):
                if bores.siamesed and abs(abs(_wrapped(angle)) - 0.5 * np.pi) < JOINED:
                    continue
                found[c].append(
                    Place(
                        cylinder=c + 1,
                        depth_index=i,
                        angle_index=j,
                        thickness=float(wall[i, j]),
                        depth=depth,
                        angle=angle,
                        front=front,
                        front_slope=slope,
                        mean=mean,
                        thrust=float(moments[j]),
                        uneven=float(uneven[j]),
                        fade=float(np.exp(-bolt_rate * depth)),
                    )
                )
    return tuple(tuple(one) for one in found)


@lru_cache(maxsize=32)
def governing(bores: Bores, outside: bool) -> tuple[tuple[Place, ...], ...]:
    """Readings that may govern one face, by cylinder, worst first by the nominal engine.

    The worst of each depth first (the depths differ in pressure, which is only estimated
    here), then the next worst anywhere.  What is kept is compared again, sample by sample,
    in the limit itself.
    """
    found = []
    for one in places(bores):
        ranked = sorted(one, key=lambda place: _score(bores, place, outside), reverse=True)
        leaders = {place.depth_index: place for place in reversed(ranked)}
        kept = sorted(leaders.values(), key=ranked.index)[:CANDIDATES]
        kept += [place for place in ranked if place not in kept][: CANDIDATES - len(kept)]
        found.append(tuple(sorted(kept, key=ranked.index)))
    return tuple(found)


def constant(name: str) -> float:
    """Nominal value of a model constant, SI."""
    return catalogue.row("model", name).si("value")


def _heat_slope(metal: catalogue.Row) -> float:
    """Thermal stress per heat flux and thickness, E alpha/(2 k (1 - nu)) [Pa/(W/m)]."""
    stiff = metal.si("modulus") * metal.si("expansion")
    return stiff / (2.0 * metal.si("conductivity") * (1.0 - metal.si("poisson")))


def _wrapped(angle: float) -> float:
    return float((angle + np.pi) % (2.0 * np.pi) - np.pi)


def _front(bores: Bores, depth: float, thickness: float) -> float:
    rate = float(shell.breathing_rate(0.5 * (bores.bore + thickness), thickness, bores.poisson))
    return shell.front_factor(rate, depth, bores.ring_at_top, bores.chamber, constant("wall.expansion"))


def _score(bores: Bores, place: Place, outside: bool) -> float:
    """Stress that ranks one place, over the peak pressure [-]."""
    a, t, side = 0.5 * bores.bore, place.thickness, 1.0 if outside else -1.0
    pressure = _falling(bores, place.depth - bores.ring_at_top)
    front = place.front * (t / place.mean) ** place.front_slope
    gas = pressure * (front * a / t + side * 3.0 * place.uneven * a / t**2)
    travel = min(max(place.depth - bores.pin_at_top, 0.0), bores.stroke)
    turned = np.sqrt(1.0 - (1.0 - 2.0 * travel / bores.stroke) ** 2)
    force = _falling(bores, travel) * np.pi * a * a * 0.5 * bores.stroke / bores.rod * turned
    bent = side * _BENDING_SHARE * 6.0 * force * place.thrust / t**2
    heat = side * bores.heat * t * np.exp(-place.depth / (constant("wall.heat_reach") * bores.stroke))
    return float(1.5 * max(gas, bent, 0.0) - 0.5 * min(gas, bent, 0.0) + heat)


def _falling(bores: Bores, travel: float) -> float:
    """Pressure after some travel over that at the top [-]."""
    return float((1.0 + max(travel, 0.0) / bores.chamber) ** -constant("wall.expansion"))
