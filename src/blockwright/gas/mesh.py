"""A network cut into cells: the arrays that the wave kernel works on."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .duct_mesh import DuctMesh, Pipe, duct_mesh
from .model import Breathing
from .network import INTAKE_AIR, OPEN_AIR, Duct, Junction, valves_of

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

#: What the end of a duct meets.
AT_VALVE, AT_STILL, AT_JUNCTION = 0, 1, 2


@dataclass(frozen=True)
class Mesh:
    """How fine the pipes are cut.

    name : "lumped", "coarse" or "fine"; intake, exhaust : smallest length of a cell [m].
    """

    name: str
    intake: float
    exhaust: float

    @property
    def lumped(self) -> bool:
        """Whether there are no cells at all."""
        return math.isinf(self.intake)

    def halved(self) -> Mesh:
        """The same with cells of half the length."""
        return Mesh(f"{self.name}, halved", 0.5 * self.intake, 0.5 * self.exhaust)


#: No cells at all: plenum and exhaust as two volumes, quasi-steady.
LUMPED = Mesh("lumped", math.inf, math.inf)
COARSE = Mesh("coarse", 0.020, 0.036)
FINE = Mesh("fine", 0.010, 0.015)
#: Length of each pipe that is part of a junction [m]; half a cell where cells are longer.  A place where
#: pipes meet has a size of its own; with one that shrank with the cells the answer would never settle.
REACH = 0.0075


@dataclass(frozen=True)
class Grid:
    """Cells, ends and nodes of a network.

    Nodes are the cylinders, then volumes, junctions, and the two reservoirs.

    Attributes
    ----------
    field : DuctMesh
        Cells of all ducts.
    side : ndarray of int, shape (N,)
        Of the cells: 0 intake, 1 exhaust.
    ends : ndarray of int, shape (2 ducts, 5)
        Duct, whether its start (0) or end (1), node, what that is, and 0 or 1 for an intake or
        exhaust valve, -1 for none.
    end_data : ndarray, shape (2 ducts, 4)
        Face area [m2], mouth [-], cosine and sine of the angle at a junction.
    links : ndarray of int, shape (links, 2)
        The nodes that an orifice joins.
    link_area, link_reverse : ndarray, shape (links,)
        Effective area [m2], and that of reverse flow over it [-].
    node_volume : ndarray, shape (nodes,)
        [m3]; 0 for cylinders and reservoirs.
    node_side : ndarray of int, shape (nodes,)
    kept : ndarray, shape (nodes,)
        Share of momentum kept in a junction; -1 for any other node.
    names : tuple of str
        Of the nodes.
    outlet, throttle : tuple of int
        Links that take their area from `Breathing`.
    port : ndarray of int, shape (n_cyl, 2)
        Cell of the duct at a cylinder's intake and exhaust valves.
    closed_steps : int
        Steps in a degree of a cylinder whose valves are shut.
    """

    field: DuctMesh
    side: Ints
    ends: Ints
    end_data: Array
    links: Ints
    link_area: Array
    link_reverse: Array
    node_volume: Array
    node_side: Ints
    kept: Array
    names: tuple[str, ...]
    outlet: int
    throttle: int
    port: Ints
    closed_steps: int

    @property
    def cells(self) -> int:
        """Number of real cells."""
        return int(np.sum(self.field.last - self.field.first + 1))

    def with_areas(self, breathing: Breathing) -> Array:
        """`link_area` with the areas that a steering may have moved [m2]."""
        area = self.link_area.copy()
        if self.outlet >= 0:
            area[self.outlet] = breathing.outlet_area
        if self.throttle >= 0:
            area[self.throttle] = breathing.throttle_area
        return area


def _pipe(duct: Duct, mesh: Mesh, junctions: Mapping[str, Junction]) -> Pipe:
    """Cells of a duct.  The length that reaches into a junction belongs to the junction itself."""
    wanted = mesh.intake if duct.side == "intake" else mesh.exhaust
    joints = [place in junctions for place in (duct.start, duct.end)]
    cells = max(2, math.floor(duct.length / wanted - 0.5 * sum(joints) + 1e-9))
    reach = duct.length / (cells + 0.5 * sum(joints)) * 0.5
    if reach < REACH and duct.length > 4.0 * REACH:
        reach = REACH
        cells = max(2, math.floor((duct.length - sum(joints) * reach) / wanted + 1e-9))
    start, end = joints[0] * reach, duct.length - joints[1] * reach
    inside = duct.distance[(duct.distance > start) & (duct.distance < end)]
    place = np.concatenate([[start], inside, [end]])
    return Pipe(
        place - start,
        duct.diameter_at(place),
        cells,
        duct.wall_temperature,
        duct.roughness,
        duct.friction,
        duct.heat,
        duct.bends,
    )


def _reach(duct: Duct, pipe: Pipe, junctions: Mapping[str, Junction]) -> float:
    """Length of a duct that one of its junctions holds [m]."""
    return (duct.length - float(pipe.distance[-1])) / sum(p in junctions for p in (duct.start, duct.end))


def _angle(junction: Junction, duct: Duct) -> tuple[float, float]:
    angle = math.radians(junction.angles.get(duct.name, 0.0))
    return math.cos(angle), math.sin(angle)


def lay_out(breathing: Breathing, mesh: Mesh) -> Grid:
    """Cut the network of an engine into cells."""
    network = breathing.network
    if network is None:
        raise InputError("this engine has no pipes; run it lumped")
    n = breathing.cylinders
    names = [f"cylinder {c + 1}" for c in range(n)]
    names += [v.name for v in network.volumes] + [j.name for j in network.junctions] + [INTAKE_AIR, OPEN_AIR]
    node = {name: i for i, name in enumerate(names)}
    junctions = {j.name: j for j in network.junctions}
    pipes = [_pipe(duct, mesh, junctions) for duct in network.ducts]
    field = duct_mesh(pipes)
    side = np.zeros(field.size, dtype=np.int64)
    ends, end_data = [], []
    port = np.full((n, 2), -1, dtype=np.int64)
    node_volume = np.zeros(len(names))
    for d, (duct, pipe) in enumerate(zip(network.ducts, pipes, strict=True)):
        first, last = int(field.first[d]), int(field.last[d])
        side[first - 1 : last + 2] = 0 if duct.side == "intake" else 1
        for which, place in ((0, duct.start), (1, duct.end)):
            area = float(field.face_area[first if which == 0 else last + 1])
            found = valves_of(place)
            if found is not None:
                valve = 0 if found[1] == "intake" else 1
                ends.append((d, which, found[0], AT_VALVE, valve))
                port[found[0], valve] = first if which == 0 else last
                end_data.append((area, duct.mouth, 1.0, 0.0))
            elif place in junctions:
                ends.append((d, which, node[place], AT_JUNCTION, -1))
                end_data.append((area, 1.0, *_angle(junctions[place], duct)))
                # A junction is as large as what reaches into it of each pipe.
                node_volume[node[place]] += area * _reach(duct, pipe, junctions)
            else:
                ends.append((d, which, node[place], AT_STILL, -1))
                end_data.append((area, duct.mouth, 1.0, 0.0))
    node_side = np.zeros(len(names), dtype=np.int64)
    kept = np.full(len(names), -1.0)
    for v in network.volumes:
        node_volume[node[v.name]] = v.volume
        node_side[node[v.name]] = 0 if v.side == "intake" else 1
    for j in network.junctions:
        node_side[node[j.name]] = 0 if j.side == "intake" else 1
        kept[node[j.name]] = j.kept
    node_side[node[OPEN_AIR]] = 1
    orifices = network.orifices
    return Grid(
        field=field,
        side=side,
        ends=np.array(ends, dtype=np.int64).reshape(-1, 5),
        end_data=np.array(end_data, dtype=float).reshape(-1, 4),
        links=np.array([(node[o.start], node[o.end]) for o in orifices], dtype=np.int64).reshape(-1, 2),
        link_area=np.array([o.area for o in orifices], dtype=float),
        link_reverse=np.array([o.reverse for o in orifices], dtype=float),
        node_volume=node_volume,
        node_side=node_side,
        kept=kept,
        names=tuple(names),
        outlet=next((k for k, o in enumerate(orifices) if o.name == "outlet"), -1),
        throttle=next((k for k, o in enumerate(orifices) if o.name == "throttle"), -1),
        port=port,
        closed_steps=1 if mesh.intake > 0.015 else 2,
    )
