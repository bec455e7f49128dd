"""From a build to the pipes around its cylinders."""

from __future__ import annotations

import functools
import math
import string
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..build import catalogue
from ..build.model import Build
from .network import INTAKE_AIR, OPEN_AIR, Duct, Junction, Network, Orifice, Volume
from .pipe_sections import Piece, duct
from .pipes import end_correction, mouth_share

#: The volume before a turbine, and the opening that stands for turbine and wastegate.
TURBINE_INLET, OUTLET = "turbine inlet", "outlet"
PLENUM, THROTTLE = "plenum", "throttle"


@functools.cache
def constant(name: str) -> float:
    """A constant of the layout from ``models/layout.toml`` [SI]."""
    return catalogue.row("model", f"layout.{name}").si("value")


@functools.cache
def pipe_constant(name: str) -> float:
    """A constant of pipes from ``models/pipes.toml`` [SI]."""
    return catalogue.row("model", f"pipes.{name}").si("value")


def mouth(shape: str) -> float:
    """Effective share of a mouth, going in: ``"bell"``, ``"flush"`` or ``"plain"`` [-]."""
    return float(mouth_share(pipe_constant(f"loss_{shape}")))


def _beyond(diameter: float, flanged: bool) -> float:
    """Length of the air that moves with a pipe beyond its end [m]."""
    return float(end_correction(0.5 * diameter, flanged))


def letter(index: int) -> str:
    """Name of a group of cylinders: A, B, ..."""
    return string.ascii_uppercase[index]


@dataclass
class _Parts:
    """A network being put together."""

    ducts: list[Duct] = field(default_factory=list)
    volumes: list[Volume] = field(default_factory=list)
    junctions: list[Junction] = field(default_factory=list)
    orifices: list[Orifice] = field(default_factory=list)


def network(build: Build, throttle_area: float, outlet_area: float) -> Network:
    """Ducts, volumes, junctions and orifices of a build.

    Parameters
    ----------
    build : Build
    throttle_area, outlet_area : float
        Effective, of all throttles; of the opening behind the exhaust, used before a turbine [m2].

    Notes
    -----
    Open ends, and ends in plenums and logs, are longer by their end correction.  Ports are measured on the
    bench together with their valves, so they rub no more; they take up heat like any pipe.  Where gas comes
    in: runners by ``intake.entry``, every other pipe plain in the open and flush in a log or turbine's inlet.
    """
    parts = _Parts()
    if build.word("intake.layout") == "individual":
        _individual_runners(build, throttle_area, parts)
    else:
        _plenum_runners(build, throttle_area, parts)
    _exhaust(build, outlet_area, parts)
    made = Network(tuple(parts.ducts), tuple(parts.volumes), tuple(parts.junctions), tuple(parts.orifices))
    made.check_cylinders(build.count("layout.cylinders"))
    return made


def _cylinders(build: Build) -> range:
    return range(1, build.count("layout.cylinders") + 1)


# --- intake ------------------------------------------------------------------------------------------


def _intake_pieces(build: Build, flanged: bool) -> list[Piece]:
    """Runner from its mouth, with the end correction there, and the port in the head."""
    entry, runner = build.si("intake.runner_entry_diameter"), build.si("intake.runner_diameter")
    port = build.si("heads.intake.port_diameter")
    wall, rough, heat = constant("intake_wall"), constant("cast_roughness"), pipe_constant("heat_intake")
    long, port_wall = build.si("intake.runner_length"), constant("intake_port_wall")
    return [
        Piece(_beyond(entry, flanged), entry, entry, wall, rough, heat=heat),
        Piece(long, entry, runner, wall, rough, loss=constant("runner_bends"), heat=heat),
        Piece(build.si("heads.intake.port_length"), port, port, port_wall, rough, 0.0, heat=heat),
    ]


def _runner(build: Build, cylinder: int, start: str, flanged: bool, share: float) -> Duct:
    pieces = _intake_pieces(build, flanged and build.word("intake.entry") != "plain")
    name, end = f"intake runner {cylinder}", f"cylinder {cylinder} intake"
    return duct(name, start, end, pieces, "intake", step=constant("step_length"), mouth=share)


def _individual_runners(build: Build, throttle_area: float, parts: _Parts) -> None:
    """Mouths in the open, each with its throttle, which narrows it."""
    each = throttle_area / build.count("layout.cylinders")
    throttled = each / (0.25 * math.pi * build.si("intake.runner_entry_diameter") ** 2)
    share = min(throttled, mouth(build.word("intake.entry")))
    parts.ducts += [_runner(build, c, INTAKE_AIR, False, share) for c in _cylinders(build)]


def plenum_of(build: Build) -> dict[int, str]:
    """Plenum of each cylinder; of two each feeds every other cylinder of the firing order."""
    if build.count("intake.plenums") == 1:
        return dict.fromkeys(_cylinders(build), PLENUM)
    order = build.numbers("layout.firing_order")
    return {cylinder: f"{PLENUM} {letter(place % 2)}" for place, cylinder in enumerate(order)}


def _plenum_runners(build: Build, throttle_area: float, parts: _Parts) -> None:
    of = plenum_of(build)
    plenums = sorted(set(of.values()))
    volume = build.si("intake.plenum_volume") / len(plenums)
    parts.volumes += [Volume(name, volume, "intake") for name in plenums]
    before = _inlet_pipe(build, parts)
    for name in plenums:
        throttle = THROTTLE + name.removeprefix(PLENUM)
        parts.orifices.append(Orifice(throttle, before, name, throttle_area / len(plenums)))
    share = mouth(build.word("intake.entry"))
    parts.ducts += [_runner(build, c, of[c], True, share) for c in _cylinders(build)]


def _inlet_pipe(build: Build, parts: _Parts) -> str:
    """The pipe before the throttle, if there is one; the place that the throttle draws from.

    A short still volume joins pipe and throttle: a pipe's end meets still gas or other pipes only.
    """
    length = build.si("intake.inlet_length")
    if length == 0.0:
        return INTAKE_AIR
    d, wall, rough = build.si("intake.inlet_diameter"), constant("intake_wall"), constant("tube_roughness")
    pieces = [Piece(length + _beyond(d, False), d, d, wall, rough, heat=pipe_constant("heat_intake"))]
    place, step = "throttle inlet", constant("step_length")
    parts.volumes.append(Volume(place, 0.25 * math.pi * d**3, "intake"))
    made = duct("inlet pipe", INTAKE_AIR, place, pieces, "intake", step=step, mouth=mouth("plain"))
    parts.ducts.append(made)
    return place


# --- exhaust -----------------------------------------------------------------------------------------


def _has_turbine(build: Build) -> bool:
    return build.word("boost.kind") == "turbo"


def _primary_pieces(build: Build) -> list[Piece]:
    """Port in the head and primary (or stub), from the valve."""
    port, primary = build.si("heads.exhaust.port_diameter"), build.si("exhaust.primary_diameter")
    log = build.word("exhaust.layout") == "log"
    wall = constant("turbine_side_wall" if _has_turbine(build) else "primary_wall")
    rough = constant("cast_roughness" if log else "tube_roughness")
    bends = constant("stub_bends" if log else "primary_bends")
    cast, heat = constant("cast_roughness"), pipe_constant("heat_exhaust")
    cooled, length = constant("exhaust_port_wall"), build.si("exhaust.primary_length")
    return [
        Piece(build.si("heads.exhaust.port_length"), port, port, cooled, cast, 0.0, heat=heat),
        Piece(length, primary, primary, wall, rough, loss=bends, heat=heat),
    ]


def _tube(build: Build, section: str, wall: str, loss: float = 0.0) -> Piece:
    d = build.si(f"exhaust.{section}_diameter")
    wall = "turbine_side_wall" if _has_turbine(build) else wall
    length = build.si(f"exhaust.{section}_length")
    heat = pipe_constant("heat_exhaust")
    return Piece(length, d, d, constant(wall), constant("tube_roughness"), loss=loss, heat=heat)


def _end(pieces: Sequence[Piece], flanged: bool) -> list[Piece]:
    """Pieces with the end correction of the last one's mouth."""
    last = pieces[-1]
    more = _beyond(last.ends, flanged)
    return [*pieces, Piece(more, last.ends, last.ends, last.wall, last.roughness, heat=last.heat)]


def _tail_pieces(build: Build) -> list[Piece]:
    """The tail, or none behind an open collector, whose end then carries the silencer's loss."""
    if build.si("exhaust.tail_length") == 0.0:
        return []
    return [_tube(build, "tail", "tail_wall", build.si("exhaust.silencer_loss"))]


def _collector_piece(build: Build) -> Piece:
    """The collector; without a tail, what silences it stands in it."""
    bare = not _has_turbine(build) and build.si("exhaust.tail_length") == 0.0
    return _tube(build, "collector", "tail_wall", build.si("exhaust.silencer_loss") if bare else 0.0)


def _exhaust(build: Build, outlet_area: float, parts: _Parts) -> None:
    if build.word("exhaust.layout") == "log":
        _logs(build, parts)
    else:
        _collectors(build, parts)
    if _has_turbine(build):
        filled = _volume_of(parts.ducts, "exhaust")
        room = _room(build, build.si("exhaust.volume") - filled, 1.0)
        parts.volumes.append(Volume(TURBINE_INLET, room, "exhaust"))
        parts.orifices.append(Orifice(OUTLET, TURBINE_INLET, OPEN_AIR, outlet_area))


def _volume_of(ducts: Sequence[Duct], side: str) -> float:
    """[m3]"""
    total = 0.0
    for d in ducts:
        if d.side == side:
            a, b = d.diameter[:-1], d.diameter[1:]
            cones = (d.distance[1:] - d.distance[:-1]) * (a * a + a * b + b * b)
            total += math.pi / 12.0 * float(cones.sum())
    return total


def _room(build: Build, left: float, share: float) -> float:
    """What is left of the system's volume, and at least a part of the displacement it serves [m3]."""
    bore, stroke = build.si("casting.bore"), build.si("crank.stroke")
    served = share * build.count("layout.cylinders") * 0.25 * math.pi * bore**2 * stroke
    return max(left, constant("least_volume") * served)


def _logs(build: Build, parts: _Parts) -> None:
    """Stubs into a log for each group; the logs' outlets go on as collectors, or all feed the turbine."""
    groups = build.groups("exhaust.groups")
    step, flush = constant("step_length"), mouth("flush")
    stub = _end(_primary_pieces(build), flanged=True)
    turbine = _has_turbine(build)
    for index, group in enumerate(groups):
        place = TURBINE_INLET if turbine else f"log {letter(index)}"
        parts.ducts += [
            duct(f"primary {c}", f"cylinder {c} exhaust", place, stub, "exhaust", step=step, mouth=flush)
            for c in group
        ]
    if turbine:
        return
    _behind(build, [f"log {letter(i)}" for i in range(len(groups))], {}, parts)
    left = (build.si("exhaust.volume") - _volume_of(parts.ducts, "exhaust")) / len(groups)
    for index, group in enumerate(groups):
        share = len(group) / build.count("layout.cylinders")
        parts.volumes.append(Volume(f"log {letter(index)}", _room(build, left, share), "exhaust"))


def _secondary_groups(build: Build, group: Sequence[int]) -> list[tuple[int, ...]]:
    """Secondaries of one group; without them each primary runs into the collector itself."""
    if not build.has("exhaust.secondary_groups"):
        return [(c,) for c in group]
    return [pair for pair in build.groups("exhaust.secondary_groups") if set(pair) <= set(group)]


def _collectors(build: Build, parts: _Parts) -> None:
    """Primaries, secondaries where they are given, and what follows where they meet."""
    heads: list[str] = []
    lone: dict[int, tuple[str, str, list[Piece]]] = {}
    for index, group in enumerate(build.groups("exhaust.groups")):
        place = f"merge {letter(index)}"
        heads.append(place)
        runs = [_run(build, pair, parts) for pair in _secondary_groups(build, group)]
        if len(runs) == 1:
            lone[index] = runs[0]
            continue
        for name, start, pieces in runs:
            parts.ducts.append(duct(name, start, place, pieces, "exhaust", step=constant("step_length")))
        _merge(build, place, [name for name, _, _ in runs], f"collector {letter(index)}", parts)
    _behind(build, heads, lone, parts)


def _run(build: Build, pair: Sequence[int], parts: _Parts) -> tuple[str, str, list[Piece]]:
    """Name, start and pieces of the last pipe before the collector for some cylinders."""
    primary = _primary_pieces(build)
    secondary = [_tube(build, "secondary", "primary_wall")] if build.has("exhaust.secondary_groups") else []
    if len(pair) == 1:
        return f"primary {pair[0]}", f"cylinder {pair[0]} exhaust", [*primary, *secondary]
    label = "-".join(map(str, pair))
    place = f"merge {label}"
    names = [f"primary {c}" for c in pair]
    parts.ducts += [
        duct(name, f"cylinder {c} exhaust", place, primary, "exhaust", step=constant("step_length"))
        for name, c in zip(names, pair, strict=True)
    ]
    _merge(build, place, names, f"secondary {label}", parts)
    return f"secondary {label}", place, secondary


def _kept(build: Build) -> float:
    """Share of momentum kept where pipes meet; one that is moved by its doubt ends at 1 [-]."""
    return min(build.si("exhaust.momentum_kept"), 1.0)


def _merge(build: Build, place: str, into: Sequence[str], onward: str, parts: _Parts) -> None:
    """A junction whose pipes come in at a small angle, turn about to this side and to that."""
    angle = math.degrees(constant("merge_angle"))
    angles = {name: angle if k % 2 else -angle for k, name in enumerate(into)}
    angles[onward] = 0.0
    parts.junctions.append(Junction(place, angles, _kept(build), "exhaust"))


def _behind(
    build: Build,
    heads: Sequence[str],
    lone: dict[int, tuple[str, str, list[Piece]]],
    parts: _Parts,
) -> None:
    """Collector and tail of each group from where its pipes meet, and the crossover between two tails.

    `lone` holds pipes that run on into the collector without meeting another.
    """
    turbine = _has_turbine(build)
    crossed = not turbine and build.si("exhaust.crossover_diameter") > 0.0
    tail = [] if turbine else _tail_pieces(build)
    for index, head in enumerate(heads):
        side = letter(index)
        name, start, pieces = lone.get(index, (f"collector {side}", head, []))
        pieces = [*pieces, _collector_piece(build)]
        if crossed:
            _tee(build, side, name, start, pieces, tail, parts)
            continue
        end = TURBINE_INLET if turbine else OPEN_AIR
        whole = _end([*pieces, *tail], flanged=turbine)
        # Out of a log the gas goes in at the start; elsewhere only reverse flow enters, at the end.
        inside = turbine or build.word("exhaust.layout") == "log"
        share = mouth("flush" if inside else "plain")
        parts.ducts.append(
            duct(name, start, end, whole, "exhaust", step=constant("step_length"), mouth=share)
        )
    if crossed:
        d = build.si("exhaust.crossover_diameter")
        rough, heat = constant("tube_roughness"), pipe_constant("heat_exhaust")
        pipe = Piece(constant("crossover_length"), d, d, constant("tail_wall"), rough, heat=heat)
        parts.ducts.append(
            duct("crossover", "tee A", "tee B", [pipe], "exhaust", step=constant("step_length"))
        )


def _tee(
    build: Build,
    side: str,
    name: str,
    start: str,
    pieces: Sequence[Piece],
    tail: Sequence[Piece],
    parts: _Parts,
) -> None:
    """Collector up to the crossover, and the tail behind it."""
    place, step = f"tee {side}", constant("step_length")
    # A collector from a log is entered there; one from a merge meets no still gas at all.
    parts.ducts.append(duct(name, start, place, pieces, "exhaust", step=step, mouth=mouth("flush")))
    last = _end(tail, flanged=False)
    parts.ducts.append(
        duct(f"tail {side}", place, OPEN_AIR, last, "exhaust", step=step, mouth=mouth("plain"))
    )
    angles = {name: 0.0, f"tail {side}": 0.0, "crossover": 90.0}
    parts.junctions.append(Junction(place, angles, _kept(build), "exhaust"))
