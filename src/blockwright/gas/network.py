"""Pipes, volumes and junctions around the cylinders: what the wave model is told of an engine's breathing.

A network is a graph.  Ducts join *places*, named by text:

``"cylinder 3 intake"``, ``"cylinder 3 exhaust"``
    the valves of a cylinder, counted from 1;
``"intake air"``
    the air that the engine draws from: the weather's, or what a charger delivers;
``"open air"``
    what stands behind the exhaust: the weather, or the inlet of what follows;
the name of a `Volume`
    a plenum, a log manifold, a turbine's inlet: still gas;
the name of a `Junction`
    a place where pipes meet and the gas keeps (part of) its momentum.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError

Array = NDArray[np.float64]
Side = Literal["intake", "exhaust"]

INTAKE_AIR, OPEN_AIR = "intake air", "open air"
_VALVES = re.compile(r"cylinder (\d+) (intake|exhaust)")


def valves_of(place: str) -> tuple[int, Side] | None:
    """Cylinder, counted from 0, and side of a place at the valves; None for any other place."""
    found = _VALVES.fullmatch(place)
    if found is None:
        return None
    side: Side = "intake" if found[2] == "intake" else "exhaust"
    return int(found[1]) - 1, side


@dataclass(frozen=True)
class Duct:
    """A pipe whose diameter may change along it.

    Attributes
    ----------
    name : str
    start, end : str
        Places it joins; distances and flow count from start to end.
    distance, diameter : ndarray, shape (n,)
        Diameter [m] at rising distances [m] from 0 to the length; straight cones between.
    wall_temperature : float
        [K]
    roughness : float
        Height of the wall's sand-grain roughness [m].
    friction, heat : float
        Multiply wall friction and heat transfer [-].
    bends : float
        Loss coefficient of bends and inserts on the dynamic head, spread over the length [-].
    mouth : float
        Effective area over the pipe's own for flow out of still gas into it [-].
    side : "intake" or "exhaust"
    """

    name: str
    start: str
    end: str
    distance: Array
    diameter: Array
    wall_temperature: float
    roughness: float = 4.5e-5
    friction: float = 1.0
    heat: float = 1.0
    bends: float = 0.0
    mouth: float = 0.95
    side: Side = "intake"

    def __post_init__(self) -> None:
        x, d = self.distance, self.diameter
        if x.ndim != 1 or x.shape != d.shape or x.size < 2:
            raise InputError(f"{self.name}: distance and diameter must be lists of at least two places")
        if x[0] != 0.0 or np.any(np.diff(x) <= 0.0) or not np.all(np.isfinite(x)):
            raise InputError(f"{self.name}: the distances must rise from 0")
        if np.any(d <= 0.0) or not np.all(np.isfinite(d)):
            raise InputError(f"{self.name}: every diameter must be positive and finite")
        if not self.wall_temperature > 0.0:
            raise InputError(f"{self.name}: a wall of {self.wall_temperature:g} K")
        if not 0.0 < self.mouth <= 1.0:
            raise InputError(f"{self.name}: a mouth of {self.mouth:g} of the pipe's area; it lies in 0..1")
        if min(self.roughness, self.friction, self.heat, self.bends) < 0.0:
            raise InputError(f"{self.name}: roughness, friction, heat and bends must be at least 0")

    @property
    def length(self) -> float:
        """[m]"""
        return float(self.distance[-1])

    def diameter_at(self, x: Array) -> Array:
        """Diameter [m] at distances [m]."""
        return np.asarray(np.interp(x, self.distance, self.diameter), dtype=np.float64)


@dataclass(frozen=True)
class Volume:
    """Still gas: a plenum, a log manifold, a turbine's inlet.  volume : [m3]; its walls take no heat."""

    name: str
    volume: float
    side: Side = "intake"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.volume) and self.volume > 0.0):
            raise InputError(f"{self.name}: a volume of {self.volume:g} m3; it must be positive")


@dataclass(frozen=True)
class Junction:
    """A place where pipes meet.

    Attributes
    ----------
    name : str
    angles : mapping from a duct's name to float
        Angle between the junction's axis and the duct's line, each drawn in the direction of a flow
        from the start of the axis to its end [deg]: 0 for a pipe that leads straight in or straight on.
    kept : float
        Share of the momentum that the junction passes on [-]; 0: all of it is lost, as in a plenum.
    side : "intake" or "exhaust"
    """

    name: str
    angles: Mapping[str, float] = field(default_factory=dict)
    kept: float = 1.0
    side: Side = "exhaust"

    def __post_init__(self) -> None:
        if not 0.0 <= self.kept <= 1.0:
            raise InputError(f"{self.name}: a share of momentum kept of {self.kept:g}; it lies in 0..1")


@dataclass(frozen=True)
class Orifice:
    """An opening between two volumes, or between the air and a volume: a throttle, a turbine.

    area : effective [m2]; reverse : its area for flow from end to start over that [-].
    """

    name: str
    start: str
    end: str
    area: float
    reverse: float = 1.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.area) and self.area > 0.0):
            raise InputError(f"{self.name}: an effective area of {self.area:g} m2; it must be positive")


@dataclass(frozen=True)
class Network:
    """All pipes, volumes, junctions and orifices around the cylinders of an engine.

    An orifice named ``"outlet"`` takes its area from `Breathing.outlet_area`, so that a turbine's
    swallowing can be steered between cycles; one named ``"throttle"`` from `Breathing.throttle_area`.
    """

    ducts: tuple[Duct, ...]
    volumes: tuple[Volume, ...] = ()
    junctions: tuple[Junction, ...] = ()
    orifices: tuple[Orifice, ...] = ()

    def __post_init__(self) -> None:
        by_kind = (
            [d.name for d in self.ducts],
            [v.name for v in self.volumes] + [j.name for j in self.junctions],
            [o.name for o in self.orifices],
        )
        for names in by_kind:
            if len(set(names)) != len(names):
                twice = next(n for n in names if names.count(n) > 1)
                raise InputError(f"two parts of the network are called {twice!r}")
        known = {INTAKE_AIR, OPEN_AIR, *(v.name for v in self.volumes), *(j.name for j in self.junctions)}
        for part_name, start, end in self.joined:
            for place in (start, end):
                if place not in known and valves_of(place) is None:
                    raise InputError(f"{part_name} joins {place!r}, which is no place of the network")
        joints = {j.name for j in self.junctions}
        for orifice in self.orifices:
            if {orifice.start, orifice.end} & joints or valves_of(orifice.start) or valves_of(orifice.end):
                raise InputError(f"{orifice.name} joins a junction or valves; only ducts may")

    @property
    def joined(self) -> list[tuple[str, str, str]]:
        """Name, start and end of every duct and orifice."""
        return [(d.name, d.start, d.end) for d in self.ducts] + [
            (o.name, o.start, o.end) for o in self.orifices
        ]

    def check_cylinders(self, cylinders: int) -> None:
        """Every cylinder must be joined by exactly one place on either side."""
        ends = [place for _, start, end in self.joined for place in (start, end)]
        for side in ("intake", "exhaust"):
            for c in range(cylinders):
                place = f"cylinder {c + 1} {side}"
                if ends.count(place) != 1:
                    raise InputError(f"{ends.count(place)} pipes join {place!r}; it needs one")
        far = [p for p in ends if (found := valves_of(p)) is not None and found[0] >= cylinders]
        if far:
            raise InputError(f"a pipe joins {far[0]!r}; the engine has {cylinders} cylinders")
