"""Where each pipe of a group of cylinders stands along the flow: lengths add up from the valves outwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...gas.network import INTAKE_AIR, OPEN_AIR, Duct, Network, Orifice, Volume

#: Length that an opening without one takes up in the drawing [m].
OPENING = 0.03


@dataclass(frozen=True)
class Placed:
    """A duct or an opening in its place.

    Attributes
    ----------
    part : Duct or Orifice
    inner, outer : str
        Its ends, the one nearer the cylinder first.
    at : float
        Way from the valves to its inner end [m].
    row : float
        Middle of the rows of the cylinders it serves, counted from the top.
    serves : tuple of int
        Rows of those cylinders.
    """

    part: Duct | Orifice
    inner: str
    outer: str
    at: float
    row: float
    serves: tuple[int, ...]

    @property
    def length(self) -> float:
        """Way that it takes up [m]."""
        return self.part.length if isinstance(self.part, Duct) else OPENING


@dataclass(frozen=True)
class Side:
    """One side of a group.

    placed : from the valves outwards; reach : way from the valves to each place [m];
    rows : rows that each place serves; volumes : those on the way; width : way that a volume takes up [m].
    """

    placed: tuple[Placed, ...]
    reach: Mapping[str, float]
    rows: Mapping[str, tuple[int, ...]]
    volumes: tuple[Volume, ...]

    @property
    def length(self) -> float:
        """Way from the valves to the farthest end [m]."""
        return max((p.at + p.length for p in self.placed), default=0.0)


def width_of(volume: Volume) -> float:
    """Edge of a cube of the volume [m]."""
    return float(volume.volume ** (1.0 / 3.0))


def _edges(network: Network, side: str) -> list[Duct | Orifice]:
    """Parts of one side: a duct says so; an opening belongs to the exhaust where it touches that."""
    exhaust = {v.name for v in network.volumes if v.side == "exhaust"}
    ducts: list[Duct | Orifice] = [d for d in network.ducts if d.side == side]

    def of_exhaust(o: Orifice) -> bool:
        ends = (o.start, o.end)
        return any(e in exhaust or e == OPEN_AIR or e.endswith(" exhaust") for e in ends)

    return ducts + [o for o in network.orifices if of_exhaust(o) == (side == "exhaust")]


def ways_out(network: Network, side: str) -> dict[str, Duct | Orifice]:
    """From every place the part that leads to the open in the fewest steps."""
    goal = INTAKE_AIR if side == "intake" else OPEN_AIR
    edges = _edges(network, side)
    found: dict[str, Duct | Orifice] = {}
    seen, front = {goal}, [goal]
    while front:
        following = []
        for place in front:
            for part in edges:
                if place not in (part.start, part.end):
                    continue
                other = part.end if part.start == place else part.start
                if other not in seen:
                    seen.add(other)
                    found[other] = part
                    following.append(other)
        front = following
    return found


def _path(ways: Mapping[str, Duct | Orifice], place: str) -> list[tuple[str, str, Duct | Orifice]]:
    """Steps (inner, outer, part) from a place to the open."""
    steps = []
    while place in ways:
        part = ways[place]
        outer = part.end if part.start == place else part.start
        steps.append((place, outer, part))
        place = outer
    return steps


def group_of_first(network: Network, cylinders: Sequence[int]) -> tuple[int, ...]:
    """The cylinders whose exhaust leaves by the same last pipe as the first one's."""
    ways = ways_out(network, "exhaust")
    last = {c: steps[-1][2].name for c in cylinders if (steps := _path(ways, f"cylinder {c} exhaust"))}
    if not last:
        return ()
    first = last[min(last)]
    return tuple(c for c in cylinders if last.get(c) == first)


def lay(network: Network, side: str, group: Sequence[int]) -> Side:
    """One side of a group of cylinders, in the rows of the group's order."""
    ways = ways_out(network, side)
    volumes = {v.name: v for v in network.volumes}
    paths = [_path(ways, f"cylinder {c} {side}") for c in group]
    serves: dict[str, list[int]] = {}
    through: dict[str, list[int]] = {}
    steps: dict[str, tuple[str, str, Duct | Orifice]] = {}
    for row, path in enumerate(paths):
        for inner, outer, part in path:
            serves.setdefault(part.name, []).append(row)
            through.setdefault(outer, []).append(row)
            steps[part.name] = (inner, outer, part)
    reach = {f"cylinder {c} {side}": 0.0 for c in group}

    def out_of(place: str) -> float:
        """Way from the valves to the outer face of a place."""
        return reach[place] + (width_of(volumes[place]) if place in volumes else 0.0)

    for _ in range(len(steps)):
        for inner, outer, part in steps.values():
            if inner in reach:
                length = part.length if isinstance(part, Duct) else OPENING
                reach[outer] = max(reach.get(outer, 0.0), out_of(inner) + length)
    placed = tuple(
        Placed(part, inner, outer, out_of(inner), sum(serves[name]) / len(serves[name]), tuple(serves[name]))
        for name, (inner, outer, part) in steps.items()
    )
    return Side(
        placed,
        reach,
        {place: tuple(rows) for place, rows in through.items()},
        tuple(volumes[place] for place in through if place in volumes),
    )
