"""Run the gas model: the whole engine until its cycles repeat."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, NotSettled
from .closed import closed as closed
from .closed import motored as motored
from .cycle_report import Engine, report, seen
from .lumped_engine import LumpedEngine, first_guess
from .mesh import COARSE, LUMPED, Mesh, lay_out
from .model import Breathing, Cycle, OperatingPoint
from .steering import Steering
from .wave_engine import WaveEngine, pairs
from .wave_state import WaveState

Array = NDArray[np.float64]

#: Largest relative change of trapped mass, energy and work from cycle to cycle that counts as repeated:
#: of the lumped model, and with pipes, where the waves carry a change on from cycle to cycle.
TOLERANCE, WAVE_TOLERANCE = 5e-5, 3e-4
#: How much more than the whole engine one cylinder with its pipes may still change from cycle to cycle: off
#: tune a slow flame and its residual gas make cylinders vary by some tenths of a per cent for ever.
ONE_CYLINDER = 20.0
#: Change above which a lumped engine runs with half the steps: they only wash out the first guess.
COARSE_UNTIL = 1e-3
#: Change above which an engine with pipes first runs on the coarse mesh, and the most cycles there.
ROUGH_UNTIL, MOST_ROUGH = 5e-3, 8
#: Cycles after which the engine counts as not settling; more when something is steered.
MOST_CYCLES, MOST_STEERED = 80, 300


class _Watch:
    """How much of an engine still changes from cycle to cycle, and what its last cycle left open."""

    def __init__(self, engine: Engine) -> None:
        b, p = engine.breathing, engine.point
        heat = p.gas.heating_value * p.fuel_per_air * p.combustion_efficiency / 275.0 / 300.0
        self.scale = max(heat, 1.0) * p.plenum_pressure * b.displacement
        self.mass_scale = p.plenum_pressure * b.displacement / (275.0 * p.plenum_temperature)
        self.mass, self.work = np.zeros(b.cylinders), np.zeros(b.cylinders)
        self.changes: dict[str, float] = {}
        self.open = np.zeros(5)

    def cycle(self, engine: Engine, coarse: bool) -> None:
        """Advance the engine by one cycle."""
        held, stored = engine.parts()[:, 7].copy(), engine.stored()
        if isinstance(engine, LumpedEngine):
            engine.advance(coarse)
        else:
            engine.advance()
        mass, work = engine.trapped[:, :7].sum(axis=1), engine.sums[:, 0].copy()
        moved = np.abs(engine.parts()[:, 7] - held)
        if isinstance(engine, LumpedEngine):
            self.changes = {
                "mass": float(np.max(np.abs(mass - self.mass) / np.maximum(mass, 1e-12))),
                "energy": float(moved.sum() / self.scale),
                "work": float(np.max(np.abs(work - self.work)) / (self.scale / work.size) * 3.0),
            }
        else:
            each = np.max(np.abs(work - self.work)) / (self.scale / work.size) * 3.0
            self.changes = {
                "mass": float(abs(mass.sum() / max(self.mass.sum(), 1e-12) - 1.0)),
                "energy": float(abs(engine.parts()[:, 7].sum() - held.sum()) / self.scale),
                "work": float(abs(work.sum() - self.work.sum()) / self.scale * 3.0),
                "work of one cylinder": float(each / ONE_CYLINDER),
            }
        self.mass, self.work = mass, work
        self.open = engine.stored() - stored + pairs(engine.outside.sum(axis=0))
        self.open[4] += engine.sums.sum() + engine.duct_heat

    @property
    def residuals(self) -> tuple[float, float]:
        """What the balances of mass and energy left open in the last cycle, over what passed [-]."""
        return float(np.max(np.abs(self.open[:4])) / self.mass_scale), float(abs(self.open[4]) / self.scale)

    @property
    def most(self) -> float:
        """The largest change."""
        return max(self.changes.values())


def solve(
    breathing: Breathing,
    point: OperatingPoint,
    start: Array | WaveState | None = None,
    tolerance: float | None = None,
    mesh: Mesh = LUMPED,
    steering: Steering | None = None,
) -> Cycle:
    """Run an engine until its cycles repeat.

    Parameters
    ----------
    breathing : Breathing
    point : OperatingPoint
    start : Cycle.restart or None
        Of a near point of the same engine, on any mesh of the same kind.
    tolerance : float or None
        Largest relative change of trapped mass, stored energy and work from one cycle to the next.
    mesh : Mesh
        `LUMPED`: plenum and exhaust as two volumes.  Any other: the pipes of `breathing.network` cut into
        cells.
    steering : Steering or None
        What sets the surroundings anew after every cycle; it must have come to rest too.

    Returns
    -------
    Cycle

    Raises
    ------
    InputError
        A mesh is wanted of an engine without pipes, or the start is of another engine.
    NotSettled
        When the cycles do not repeat; says what did not.
    """
    if mesh.lumped:
        if isinstance(start, WaveState):
            raise InputError("the start state is of an engine with pipes; this run has none")
        goal = TOLERANCE if tolerance is None else tolerance
        return _settle(LumpedEngine(breathing, point, start), goal, steering, 0, start is None)
    goal = WAVE_TOLERANCE if tolerance is None else tolerance
    cycles = 0
    if start is None and mesh.intake < 0.8 * COARSE.intake:
        start, breathing, point, cycles = _rough(breathing, point, steering)
    elif start is not None and not isinstance(start, WaveState):
        raise InputError("the start state is of an engine without pipes; this run has them")
    guess = first_guess(breathing, point)
    engine = WaveEngine(breathing, point, lay_out(breathing, mesh), guess, start)
    return _settle(engine, goal, steering, cycles, False)


def _rough(
    breathing: Breathing, point: OperatingPoint, steering: Steering | None
) -> tuple[WaveState, Breathing, OperatingPoint, int]:
    """A few cycles on the coarse mesh: they wash out the first guess for a tenth of the price."""
    engine = WaveEngine(breathing, point, lay_out(breathing, COARSE), first_guess(breathing, point), None)
    watch = _Watch(engine)
    most = MOST_ROUGH if steering is None else MOST_STEERED
    cycles = 0
    while cycles < most:
        cycles += 1
        watch.cycle(engine, False)
        if steering is not None:
            steered = steering.step(engine.point, engine.breathing, seen(engine))
            watch.changes["surroundings"] = steered[2]
            engine.steer(steered[1], steered[0])
        if watch.most < ROUGH_UNTIL:
            break
    return engine.packed(), engine.breathing, engine.point, cycles


def _settle(engine: Engine, tolerance: float, steering: Steering | None, cycles: int, coarse: bool) -> Cycle:
    """Run until nothing changes any more by more than the tolerance."""
    watch = _Watch(engine)
    most = MOST_CYCLES if steering is None else MOST_STEERED
    # With waves one quiet cycle may be chance: two in a row.
    quiet, asked = 0, 1 if isinstance(engine, LumpedEngine) else 2
    while cycles < most:
        cycles += 1
        watch.cycle(engine, coarse)
        steered = None if steering is None else steering.step(engine.point, engine.breathing, seen(engine))
        if steered is not None:
            watch.changes["surroundings"] = steered[2]
        quiet = quiet + 1 if watch.most < tolerance and not coarse else 0
        if quiet >= asked:
            return report(engine, cycles, watch.changes, *watch.residuals)
        if steered is not None:
            engine.steer(steered[1], steered[0])
        coarse = coarse and watch.most > COARSE_UNTIL
    worst = max(watch.changes, key=lambda name: watch.changes[name])
    raise NotSettled(
        f"the gas model did not settle: after {most} cycles at "
        f"{engine.point.speed * 30 / math.pi:.0f} rpm the {worst} still changes by "
        f"{watch.changes[worst]:.1e} from cycle to cycle ({tolerance:.0e} is wanted), with "
        f"{engine.point.plenum_pressure / 1e5:.2f} bar in the manifold. Look for flow tables, cams, pipes or "
        "volumes that choke it"
    )
