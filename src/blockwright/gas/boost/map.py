"""A compressor map: speed lines of flow, pressure ratio and efficiency, with the state they refer to."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...errors import Fault, InputError
from ..monotone import slopes
from . import kernels

Array = NDArray[np.float64]

#: Air in a compressor: ratio of heats 1.4, heat capacity [J/(kg K)], gas constant [J/(kg K)].
GAMMA = 1.4
CP = 1005.0
AIR_CONSTANT = 287.05
KAPPA = (GAMMA - 1.0) / GAMMA

#: Places along the lines at which the map is looked through for crossing lines.
_PLACES = np.linspace(0.0, 1.0, 25)


@dataclass(frozen=True)
class SpeedLine:
    """One speed of a map, from surge to choke.

    Attributes
    ----------
    speed : float
        Corrected [rad/s].
    flow, pressure_ratio, efficiency : ndarray, shape (n,)
        Corrected [kg/s]; total over total [-]; isentropic [-].
    line : int or None
        Line of the file where it begins.
    """

    speed: float
    flow: Array
    pressure_ratio: Array
    efficiency: Array
    line: int | None = None


@dataclass(frozen=True)
class MapPoint:
    """Where a compressor runs on its map.

    Attributes
    ----------
    speed : float
        Corrected [rad/s].
    place : float
        Between surge 0 and choke 1 [-].
    work : float
        Temperature rise over inlet temperature [-].
    edge : str
        ``""`` inside, else ``"surge"``, ``"choke"``, ``"above"`` or ``"below"`` the drawn speed lines.
    surge_flow, choke_flow : float
        Corrected flows at this pressure ratio on the surge line, and on the choke line or the fastest
        speed line, whichever comes first [kg/s].
    """

    speed: float
    place: float
    work: float
    edge: str
    surge_flow: float
    choke_flow: float


@dataclass(frozen=True)
class CompressorMap:
    """A map with the inlet state that its corrected figures refer to.

    Attributes
    ----------
    name : str
    reference_temperature, reference_pressure : float
        [K], [Pa]
    lines : tuple of SpeedLine
        By rising speed, three at least.
    diameter : float or None
        Of the wheel at its outlet [m].

    Notes
    -----
    Corrected flow = m sqrt(T1/T_ref) / (p1/p_ref); corrected speed = N sqrt(T_ref/T1): A61, A62.
    Along a line, a monotone cubic over the length of its curve; across the lines, a monotone cubic over the
    speed at equal places along them.  Beyond the lines the fan laws: flow with speed, head with its square.
    """

    name: str
    reference_temperature: float
    reference_pressure: float
    lines: tuple[SpeedLine, ...]
    diameter: float | None = None

    def __post_init__(self) -> None:
        faults = list(map_faults(self.lines))
        if faults:
            raise InputError(faults, self.name)

    @functools.cached_property
    def packed(self) -> tuple[Array, NDArray[np.int64], Array]:
        """As `gas.boost.kernels` wants it."""
        return _packed(self.lines)

    def corrected_flow(self, flow: float, pressure: float, temperature: float) -> float:
        """Corrected to the reference state [kg/s] from the flow at an inlet state [kg/s, Pa, K]."""
        return (
            flow * math.sqrt(temperature / self.reference_temperature) / (pressure / self.reference_pressure)
        )

    def real_flow(self, corrected: float, pressure: float, temperature: float) -> float:
        """The inverse of `corrected_flow` [kg/s]."""
        return corrected / self.corrected_flow(1.0, pressure, temperature)

    def corrected_speed(self, speed: float, temperature: float) -> float:
        """[rad/s] from the shaft's speed [rad/s] at an inlet temperature [K]."""
        return speed * math.sqrt(self.reference_temperature / temperature)

    def real_speed(self, corrected: float, temperature: float) -> float:
        """The inverse of `corrected_speed` [rad/s]."""
        return corrected * math.sqrt(temperature / self.reference_temperature)

    def at(self, flow: float, pressure_ratio: float) -> MapPoint:
        """The point of a corrected flow [kg/s] and a pressure ratio [-]; a ratio below 1 counts as 1."""
        head = max(pressure_ratio, 1.0) ** KAPPA - 1.0
        speed, place, work, edge, surge, choke = kernels.map_point(flow, head, *self.packed)
        widest = float(kernels.widest_flow(head, *self.packed))
        return MapPoint(speed, place, work, self._edge(speed, edge), surge, min(choke, widest))

    def state(self, speed: float, place: float) -> tuple[float, float, float]:
        """Corrected flow [kg/s], pressure ratio [-] and efficiency [-] at a corrected speed [rad/s].

        `place` runs from surge 0 to choke 1.
        """
        flow, head, efficiency = kernels.map_state(speed, min(max(place, 0.0), 1.0), *self.packed)
        return flow, (1.0 + head) ** (1.0 / KAPPA), efficiency

    def against(self, speed: float, pressure_ratio: float) -> tuple[float, float, str]:
        """Corrected flow [kg/s], place and edge at a corrected speed [rad/s] against a ratio [-]."""
        head = max(pressure_ratio, 1.0) ** KAPPA - 1.0
        flow, place, edge = kernels.line_flow(speed, head, *self.packed)
        return flow, place, self._edge(speed, edge)

    def _edge(self, speed: float, edge: int) -> str:
        if edge != kernels.INSIDE:
            return "surge" if edge == kernels.SURGE else "choke"
        if speed > self.lines[-1].speed * (1.0 + 1e-9):
            return "above"
        return "below" if speed < self.lines[0].speed * (1.0 - 1e-9) else ""


def _places(flow: Array, head: Array) -> Array:
    """Share of the length of a line's curve, both axes over their own range on the line."""
    width, height = float(np.ptp(flow)), float(np.ptp(head))
    steps = np.hypot(np.diff(flow) / (width or 1.0), np.diff(head) / (height or 1.0))
    length = np.concatenate([[0.0], np.cumsum(steps)])
    return np.asarray(length / length[-1])


def _packed(lines: tuple[SpeedLine, ...]) -> tuple[Array, NDArray[np.int64], Array]:
    blocks = []
    for line in lines:
        head = line.pressure_ratio**KAPPA - 1.0
        place = _places(line.flow, head)
        rows = [place]
        for values in (line.flow, head, line.efficiency):
            rows += [values, slopes(place, values)]
        blocks.append(np.array(rows))
    starts = np.cumsum([0, *(block.shape[1] for block in blocks)]).astype(np.int64)
    table = np.ascontiguousarray(np.concatenate(blocks, axis=1))
    return np.array([line.speed for line in lines]), starts, table


def line_faults(line: SpeedLine) -> Iterator[Fault]:
    """What is wrong with one speed line, whose figures are finite and in their ranges."""
    rpm = line.speed * 30.0 / math.pi
    where = f"speed line {rpm:.0f} rpm"
    if line.flow.size < 3:
        yield Fault(
            where, f"{line.flow.size} points", "give three points at least, from surge to choke", line.line
        )
        return
    rise = np.diff(line.flow)
    if np.any(rise < 0.0):
        i = int(np.argmax(rise < 0.0))
        yield Fault(
            where, f"a flow of {line.flow[i + 1]:.5g} kg/s after {line.flow[i]:.5g} kg/s",
            "write the points of a line from surge to choke, with rising flow", _at(line, i + 1),
        )  # fmt: skip
        return
    step = np.diff(line.pressure_ratio)
    if np.any((rise == 0.0) & (step == 0.0)):
        i = int(np.argmax((rise == 0.0) & (step == 0.0)))
        yield Fault(where, "the same point twice", "leave one of them out", _at(line, i + 1))
        return
    top = int(np.argmax(line.pressure_ratio))
    again = np.flatnonzero(step[top:] > 0.0)
    before = np.flatnonzero(step[:top] < 0.0)
    upright = np.flatnonzero((rise == 0.0) & (step >= 0.0))
    if again.size or before.size or upright.size:
        i = int(top + again[0]) if again.size else int(before[0]) if before.size else int(upright[0])
        yield Fault(
            where,
            f"a pressure ratio of {line.pressure_ratio[i + 1]:.4g} after {line.pressure_ratio[i]:.4g}",
            "along a line the pressure ratio may rise to one top near surge and then only falls",
            _at(line, i + 1),
        )  # fmt: skip


def _at(line: SpeedLine, point: int) -> int | None:
    return None if line.line is None else line.line + point


def map_faults(lines: tuple[SpeedLine, ...]) -> Iterator[Fault]:
    """What is wrong with the lines of a map, each by itself and together."""
    bad = False
    for line in lines:
        for fault in line_faults(line):
            bad = True
            yield fault
    if len(lines) < 3:
        yield Fault("speed", f"{len(lines)} speed lines", "give three at least")
        return
    if not bad:
        yield from _crossings(lines)


def _crossings(lines: tuple[SpeedLine, ...]) -> Iterator[Fault]:
    """Lines that do not lie above each other: then a flow and a pressure ratio have no one speed."""
    speeds, starts, table = _packed(lines)
    if np.any(np.diff(speeds) <= 0.0):
        yield Fault("speed", "lines out of order", "sort the lines by rising speed, each speed once")
        return
    names = [f"{line.speed * 30.0 / math.pi:.0f} rpm" for line in lines]
    values = np.empty(len(lines))
    rows = {"flow": kernels.M_FLOW, "pressure ratio": kernels.M_HEAD}
    for k in range(1, len(lines)):
        for what, row in rows.items():
            for place in _PLACES:
                kernels.lines_at(float(place), row, starts, table, values)
                if values[k] <= values[k - 1]:
                    yield Fault(
                        f"speed line {names[k]}",
                        f"a {what} no higher than that of {names[k - 1]} at the same share of the line",
                        "a faster line lies above and to the right of a slower one; check for swapped rows",
                        lines[k].line,
                    )  # fmt: skip
                    break
            else:
                continue
            break
    yield from _folds(lines, names, speeds, starts, table)


def _folds(
    lines: tuple[SpeedLine, ...], names: list[str], speeds: Array, starts: NDArray[np.int64], table: Array
) -> Iterator[Fault]:
    """At a fixed head the flow must rise from surge to choke, or two points would answer one question."""
    values = np.empty(speeds.size)
    for k, line in enumerate(lines):
        head = float((line.pressure_ratio.max() ** KAPPA) - 1.0)
        for share in (0.6, 0.9):
            flows = np.array(
                [
                    kernels.flow_at_head(share * head, float(place), speeds, starts, table, values)[0]
                    for place in _PLACES
                ]
            )
            if np.any(np.diff(flows) <= 0.0):
                yield Fault(
                    f"speed line {names[k]}", "lines that fold over their neighbours",
                    "the line's rise next to surge is steeper than the surge line; check its first points",
                    line.line,
                )  # fmt: skip
                return
