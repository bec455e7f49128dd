"""What a settled cycle is told as: traces on each cylinder's own axis, work, flows, burning."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from .combustion import burn_summary, wiebe_window
from .friction import friction_mean_pressure
from .lumped_engine import LumpedEngine
from .model import Breathing, Cycle, OperatingPoint, Ports, Trapped
from .steering import Seen
from .wave_engine import WaveEngine

Array = NDArray[np.float64]
Engine = LumpedEngine | WaveEngine


def own_axis(values: Array, firing: Array) -> Array:
    """Traces on the crank's axis, shape (n, 720), moved onto each cylinder's own axis."""
    out = np.empty_like(values)
    for c, start in enumerate(firing):
        whole = math.floor(start)
        moved = np.roll(values[c], -whole)
        share = start - whole
        out[c] = moved if share == 0.0 else (1.0 - share) * moved + share * np.roll(moved, -1)
    return out


def peaks(pressure: Array) -> tuple[Array, Array]:
    """Largest pressure and its angle, by a parabola through the highest degree and its neighbours."""
    at = pressure.argmax(axis=1)
    rows = np.arange(pressure.shape[0])
    before, top, after = (pressure[rows, (at + k) % 720] for k in (-1, 0, 1))
    curve = before - 2.0 * top + after
    shift = np.where(curve < 0.0, 0.5 * (before - after) / np.where(curve < 0.0, curve, 1.0), 0.0)
    angle = (at + shift + 360.0) % 720.0 - 360.0
    return np.asarray(top - 0.25 * (before - after) * shift), np.asarray(angle)


def seen(engine: Engine) -> Seen:
    """What the last cycle showed, for whatever steers the engine."""
    per_second = engine.point.speed / (4.0 * math.pi)
    drawn = -engine.outside[0] * per_second
    pressure, temperature, flow = engine.before_outlet
    n = engine.breathing.cylinders
    return Seen(
        air_flow=float(drawn[0]),
        fuel_flow=float(drawn[1]),
        nitrous_flow=float(drawn[2]),
        total_flow=float(drawn[:7].sum()),
        plenum_pressure=float(engine.plenum.mean()),
        exhaust_pressure=pressure,
        exhaust_temperature=temperature,
        outlet_flow=flow,
        brake_power=_means(engine)[2] * engine.breathing.displacement * per_second,
        peak_pressure=engine.traces[0, :n].max(axis=1),
        leaked=float(engine.outside[2, :7].sum()) * per_second,
    )


def _means(engine: Engine) -> tuple[float, float, float]:
    """Indicated, friction and brake mean pressure [Pa]."""
    b, point = engine.breathing, engine.point
    imep = float(engine.sums[:, 0].sum()) / b.displacement
    f = b.friction
    peak, _ = peaks(engine.traces[0, : b.cylinders])
    fmep = float(
        friction_mean_pressure(
            peak.mean(),
            b.stroke * point.speed / math.pi,
            f.constant,
            f.pressure_share,
            f.speed_term,
            f.square_term,
            f.factor,
        )
    )
    charger = -point.charger_work * float(engine.outside[0, 0])
    return imep, fmep, imep - fmep - charger / b.displacement


def _ports(engine: Engine, breathing: Breathing) -> tuple[Ports | None, Ports | None]:
    if isinstance(engine, LumpedEngine):
        return None, None
    made = []
    for side in range(2):
        traces = engine.ports[:, side]
        made.append(Ports(*(own_axis(traces[:, k], breathing.firing) for k in range(3))))
    return made[0], made[1]


def _burn_start(point: OperatingPoint) -> float:
    if point.law == "flame":
        return point.spark
    return float(wiebe_window(point.ca10, point.burn_10_90)[0])


def report(
    engine: Engine, cycles: int, changes: Mapping[str, float], mass_residual: float, energy_residual: float
) -> Cycle:
    """The settled cycle of an engine."""
    b, point, n = engine.breathing, engine.point, engine.breathing.cylinders
    pressure = own_axis(engine.traces[0, :n], b.firing)
    peak, peak_angle = peaks(pressure)
    imep, fmep, bmep = _means(engine)
    drawn = -engine.outside[0]
    per_second = point.speed / (4.0 * math.pi)
    filling = point.plenum_pressure * b.displacement / (point.gas.constants[9] * point.plenum_temperature)
    trapped = engine.trapped.mean(axis=0)
    before, hot, flow = engine.before_outlet
    share = own_axis(engine.traces[4, :n], b.firing)
    intake_port, exhaust_port = _ports(engine, b)
    return Cycle(
        angle=np.arange(720.0),
        pressure=pressure,
        temperature=own_axis(engine.traces[1, :n], b.firing),
        mass=own_axis(engine.traces[2, :n], b.firing),
        plenum_pressure=engine.plenum,
        exhaust_pressure=before,
        exhaust_temperature=hot,
        indicated_work=engine.sums[:, 0].copy(),
        wall_heat=engine.sums[:, 1].copy(),
        friction_work=fmep * b.displacement,
        charger_work=point.charger_work * float(drawn[0]),
        brake_torque=bmep * b.displacement / (4.0 * math.pi),
        brake_power=bmep * b.displacement * per_second,
        imep=imep,
        fmep=fmep,
        bmep=bmep,
        volumetric_efficiency=float(drawn[0] / filling),
        air_flow=float(drawn[0]) * per_second,
        fuel_flow=float(drawn[1]) * per_second,
        trapped=Trapped(float(trapped[10]), float(trapped[9]), float(trapped[8]), trapped[:7].copy()),
        trapped_mass=engine.trapped[:, :7].sum(axis=1),
        peak_pressure=peak,
        peak_angle=peak_angle,
        cycles_run=cycles,
        mass_residual=mass_residual,
        energy_residual=energy_residual,
        settled=dict(changes),
        restart=engine.packed(),
        point=point,
        breathing=b,
        nitrous_flow=float(drawn[2]) * per_second,
        outlet_flow=flow,
        duct_heat=engine.duct_heat,
        leaked=float(engine.outside[2, :7].sum()),
        unburned_temperature=own_axis(engine.traces[3, :n], b.firing),
        burned_share=share,
        burn=burn_summary(share.mean(axis=0), _burn_start(point)),
        intake_port=intake_port,
        exhaust_port=exhaust_port,
    )
