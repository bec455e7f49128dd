"""One operating point at one charge: the gas cycle, and surfaces through small changes of it.

The whole engine is run once until periodic.  Its closed part is then repeated with
changed charge, compression, burn phasing, burn duration, heat loss and temperature (a
composite design), and quadratic surfaces through the results stand in for the gas model
on the common samples.

Power is what the builder knows or wants, so every sample is taken *at the same brake
power*: whatever changes the work of the cycle is answered by the charge that brings the
power back.  What then differs from sample to sample is the pressure that this power costs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from ..errors import OutsideValidity
from ..gas.combustion import as_profile
from ..gas.model import Breathing, Cycle, Trapped
from ..gas.solve import closed, motored
from ..trace import Array
from .draw import Draw, Uncertain
from .surface import Ridge, Surface, composite_design, fit

T = TypeVar("T")

#: Inputs of the surfaces, in order: logs, but the burn angle in degrees.
INPUTS = ("charge", "compression", "ca10", "burn", "heat", "temperature")
#: Quantities that are answered by the charge, by their names in the draw.
POWER = "build target.power"
FRICTION = "model gas.friction_factor"
#: Largest log of a sample's charge, or peak pressure, over the nominal that the surfaces are trusted with.
_FAR = 0.92
#: Standard uncertainties of the burn at which the surfaces are set right by runs.
_RIDGE = np.arange(-4.0, 4.1, 0.5)
#: Coded half-widths below which a design would be lost in rounding.
_SMALLEST = np.array([0.15, 0.005, 0.5, 0.03, 0.03, 0.005])


@dataclass(frozen=True)
class Shaping:
    """How sampled quantities move the surfaces' inputs: d(input)/d(quantity), about the nominal.

    A log-normal quantity moves them in step with its log.

    slopes : mapping from a quantity's name in the draw to ndarray, shape (6,), per unit of the quantity
        (charge's entry unused).
    """

    slopes: Mapping[str, Array]
    variables: Mapping[str, Uncertain]


@dataclass(frozen=True)
class State:
    """Pressures of one operation on the rows of a draw."""

    operation: Operation
    terms: Array
    log_charge: Array
    peak: Array
    motored_at_peak: Array

    def at_degrees(self, degrees: NDArray[np.intp]) -> Array:
        """Mean-cycle pressure at whole degrees of the cylinder's own cycle, shape (rows, m) [Pa]."""
        return np.exp(self.terms @ self.operation.surface.coefficients[:, degrees])


@dataclass(frozen=True)
class Operation:
    """A speed and load at one charge level.

    Attributes
    ----------
    speed : float
        [rad/s]
    duty_cycles : float
        Engine cycles spent here over the duty.
    cycle : Cycle
        The whole engine, nominal.
    cycle_pressure, motored : ndarray, shape (720,)
        Mean of the cylinders, and without burning, over the cylinder's own cycle [Pa].
    surface : Surface
        Outputs 0..719: log pressure at each degree; 720: log of its peak; 721: log of the closed work.
    crankcase : float
        Pressure under the piston [Pa].
    cylinder_share : ndarray, shape (n_cyl,)
        Peak pressure of each cylinder over their mean [-].
    main_angles : ndarray of int, shape (mains, K)
        Crank angles kept for each main.
    pulses : ndarray, shape (mains,)
        Load cycles of the largest range that one engine cycle is worth at each main [-].
    open_work : float
        Work of the open part over that of the closed part (pumping, negative) [-].
    friction_share, charger_share : float
        Work of friction and of a driven charger over the closed work [-].
    """

    speed: float
    duty_cycles: float
    cycle: Cycle
    cycle_pressure: Array
    motored: Array
    surface: Surface
    crankcase: float
    cylinder_share: Array
    main_angles: NDArray[np.intp]
    pulses: Array
    open_work: float
    friction_share: float
    charger_share: float
    shaping: Shaping

    @cached_property
    def _memory(self) -> dict[tuple[str, int], object]:
        return {}

    def remembered(self, name: str, size: int, make: Callable[[], T]) -> T:
        """What depends on this operation alone and not on the draw, made once."""
        if (name, size) not in self._memory:
            self._memory[name, size] = make()
        return cast(T, self._memory[name, size])

    @cached_property
    def peak_angle(self) -> int:
        """Degree of the nominal peak."""
        return int(np.argmax(self.cycle_pressure[:180]))

    def inputs(self, draw: Draw) -> Array:
        """The surfaces' inputs on the rows of a draw, at the nominal brake power (within its own spread)."""
        rows = draw.rows
        x = np.tile(self.surface.centre, (rows, 1))
        power, friction = np.ones(rows), np.ones(rows)
        for name, variable in self.shaping.variables.items():
            value = draw.sample(variable)
            if name == POWER:
                power = value / variable.mean
            elif name == FRICTION:
                friction = value / variable.mean
            else:
                x += variable.moved(value)[:, None] * self.shaping.slopes[name]
        with np.errstate(over="ignore", invalid="ignore"):
            x[:, 0] = self._charge(x, power, friction)
        self._refuse_runaways(x)
        return x

    def _refuse_runaways(self, x: Array) -> None:
        """Refuse spreads that carry the samples far beyond what the surfaces were fitted to.

        Raises
        ------
        OutsideValidity
            When in more than one sample of a hundred the charge that makes the power leaves
            exp(+-`_FAR`) of the nominal, or the peak does.
        """
        column = np.array([720])
        with np.errstate(over="ignore", invalid="ignore"):
            shift = np.abs(self.surface.at(x, column)[:, 0] - self.surface.coefficients[0, 720])
            lost = ~((np.abs(x[:, 0]) < _FAR) & (shift < _FAR))
        if np.mean(lost) <= 0.01 and not lost[0]:
            x[lost, 0] = np.clip(np.nan_to_num(x[lost, 0]), -_FAR, _FAR)
            return
        first = self.surface.coefficients[1:7, 720] / self.surface.scale
        effect = {
            name: abs(float(first @ slope)) * self.shaping.variables[name].sd
            for name, slope in self.shaping.slopes.items()
        }
        widest = max(effect, key=lambda name: effect[name])
        variable = self.shaping.variables[widest]
        rpm = self.speed * 30.0 / np.pi
        raise OutsideValidity(
            f"{widest.split(' ', 1)[1]}: at {rpm:.0f} rpm its spread (standard uncertainty {variable.sd:.3g} "
            f"of {variable.mean:.3g}, SI) with the others' lets the pressure that makes this power vary by "
            "more than a factor of 2.5, beyond what the gas model's surfaces hold; measure it and give a "
            "smaller u, or check speed, spark and burn duration"
        )

    def at(self, draw: Draw) -> State:
        """Pressures on the rows of a draw."""
        x = self.inputs(draw)
        terms = self.surface.terms(x)
        log_charge = x[:, 0]
        peak = np.exp(terms @ self.surface.coefficients[:, 720])
        # The motored trace is of the nominal compression: held below the peak where a sample has far less.
        at_peak = np.minimum(np.exp(log_charge) * self.motored[self.peak_angle], 0.9 * peak)
        return State(self, terms, log_charge, peak, at_peak)

    def _charge(self, x: Array, power: Array, friction: Array) -> Array:
        """Log charge at which each sample makes its power.

        Closed work W, open share o, shares of the nominal W0 of friction f and of a driven charger g,
        whose work goes with the charge exp(y):
        W (1 + o) - W0 f phi - W0 g exp(y) = W0 (1 + o - f - g) pi, phi friction's and pi power's factors.
        """
        o, f, g = self.open_work, self.friction_share, self.charger_share
        brake = (1.0 + o - f - g) * power + f * friction
        nominal = self.surface.coefficients[0, 721]
        y = np.zeros(len(x))
        column = np.array([721])
        for _ in range(4):
            x[:, 0] = y
            here = self.surface.at(x, column)[:, 0]
            x[:, 0] = y + 1e-3
            slope = (self.surface.at(x, column)[:, 0] - here) / 1e-3
            taken = g * np.exp(y)
            wanted = np.log((brake + taken) / (1.0 + o)) + nominal
            y = y + (wanted - here) / np.maximum(slope - taken / (brake + taken), 0.2)
        return y


def closed_at(cycle: Cycle, x: Array) -> Array:
    """Closed cycles at rows of the surfaces' inputs, shape (rows, 6) -> (rows, 720) [Pa]; NaN where open.

    The burn keeps the shape it had in the cycle, whatever law made it.
    """
    charge, heat, warm = np.exp(x[:, 0]), np.exp(x[:, 4]), np.exp(x[:, 5])
    trapped, point = cycle.trapped, as_profile(cycle.point, cycle.burn)
    batch = Trapped(
        trapped.angle,
        trapped.pressure * charge * warm,
        trapped.temperature * warm,
        np.asarray(trapped.masses)[None, :] * charge[:, None],
    )
    return closed(
        cycle.breathing,
        batch,
        point,
        compression_ratio=np.exp(x[:, 1]),
        ca10=x[:, 2],
        burn_10_90=np.exp(x[:, 3]),
        heat_factor=point.heat_factor * heat,
    )


def closed_surface(cycle: Cycle, widths: Array, along: Array | None = None) -> tuple[Surface, Array, Array]:
    """Surfaces of the closed cycle about a periodic cycle.

    Parameters
    ----------
    cycle : Cycle
        The periodic cycle, with the engine and how it ran.
    widths : ndarray, shape (6,)
        Standard uncertainties of `INPUTS`, to scale the design.
    along : ndarray, shape (6,), or None
        Move of the inputs by one standard uncertainty of the burn, `shaping.burn_move`.  An early burn is a
        short one too, and the peak bends more over it than a parabola does: the surfaces' ridge.

    Returns
    -------
    surface : Surface
        722 outputs, see `Operation`.
    pressure, motored : ndarray, shape (720,)
        Nominal mean pressure and the motored one [Pa].
    """
    scale = np.maximum(1.3 * widths, _SMALLEST)
    breathing, burn = cycle.breathing, cycle.burn
    centre = np.array(
        [0.0, np.log(breathing.compression_ratio), burn.ca10, np.log(burn.burn_10_90), 0.0, 0.0]
    )
    mean = cycle.pressure.mean(axis=0)

    def outputs(x: Array) -> Array:
        pressure = closed_at(cycle, x)
        work = _work(pressure, breathing, np.isfinite(pressure[0]))
        filled = np.where(np.isfinite(pressure), pressure, mean[None, :] * np.exp(x[:, :1]))
        return np.column_stack([np.log(filled), np.log(_peak(filled)), np.log(work)])

    runs = outputs(centre + scale * composite_design(len(INPUTS)))
    surface = fit(runs, centre, scale)
    if along is not None:
        surface = _along_burn(surface, along, outputs)
    still = motored(breathing, cycle.trapped, cycle.point)
    return surface, np.exp(runs[0, :720]), np.where(np.isfinite(still), still, mean)


def _along_burn(surface: Surface, along: Array, outputs: Callable[[Array], Array]) -> Surface:
    """The surface set right along the burn, with the charge that makes the nominal closed work there.

    A late burn asks for much more charge, far beyond the design's; found on the surface, then once more.
    """
    x = surface.centre + _RIDGE[:, None] * along
    work = np.array([721])
    ridge = Ridge(along / surface.scale, _RIDGE)
    made = surface
    for _ in range(2):
        for _ in range(4):
            lacks = surface.coefficients[0, 721] - made.at(x, work)[:, 0]
            x[:, 0] = np.clip(x[:, 0] + lacks, -_FAR, _FAR)
        made = surface.set_right(ridge, x, outputs(x))
    return made


def _work(pressure: Array, breathing: Breathing, shut: NDArray[np.bool_]) -> Array:
    """Work of the closed part [J], trapezoid over whole degrees; its volume change does not depend on the
    clearance."""
    order = np.concatenate([np.arange(360, 720), np.arange(0, 360)])
    order = order[shut[order]]
    volume = breathing.volume(order.astype(float))
    return np.asarray(np.trapezoid(pressure[:, order], volume, axis=1))


def _peak(pressure: Array) -> Array:
    """Largest pressure near firing, by the parabola through the highest degree and its neighbours."""
    window = np.concatenate([np.arange(690, 720), np.arange(0, 120)])
    p = pressure[:, window]
    top = np.clip(np.argmax(p, axis=1), 1, window.size - 2)
    row = np.arange(len(p))
    left, middle, right = p[row, top - 1], p[row, top], p[row, top + 1]
    bend = left - 2.0 * middle + right
    return np.asarray(
        middle - np.where(bend < 0.0, (right - left) ** 2 / (8.0 * np.minimum(bend, -1e-9)), 0.0)
    )
