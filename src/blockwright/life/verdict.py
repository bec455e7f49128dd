"""The verdict: what `judge` answers, as frozen records in the shop's own units.

These records are the `--json` contract; its JSON Schema is made from them
(`report.contract`).  A field is added, never renamed, within one schema number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .pipework import Pipework

#: Raised when a field changes its meaning or goes away.
SCHEMA = "blockwright-verdict-1"


@dataclass(frozen=True)
class Spread:
    """Where the true value lies with chance `level`, from `low` to `high`."""

    low: float
    high: float
    level: float = 0.9


@dataclass(frozen=True)
class Quantity:
    """A figure with its unit and its doubt.

    Attributes
    ----------
    value : float
        At the nominal (best-estimate) inputs.
    unit : str
        As Pint reads it; ``"1"`` for a pure number.
    spread : Spread or None
        None where the figure is a definition or a count.
    """

    value: float
    unit: str
    spread: Spread | None = None

    def __str__(self) -> str:
        unit = "" if self.unit == "1" else f" {self.unit}"
        text = f"{self.value:.4g}{unit}"
        if self.spread is not None:
            text += f" ({self.spread.low:.4g} to {self.spread.high:.4g})"
        return text


@dataclass(frozen=True)
class Share:
    """One cause's share of a demand ("direct bending", "foot slip")."""

    cause: str
    value: Quantity


@dataclass(frozen=True)
class FailurePowers:
    """Powers at which a chance of 5, 50 and 90 % of failing is reached; None beyond the range looked at."""

    p05: float | None
    p50: float | None
    p90: float | None
    unit: str


@dataclass(frozen=True)
class Limit:
    """One way in which the engine can break.

    Attributes
    ----------
    margin : Quantity
        Capacity over demand; below 1 it breaks within the duty (a guide: it is passed).
    survival : float
        Chance that this limit holds over the duty, 0 to 1.
    reliability_index : float or None
        FORM's beta of this limit, where it converged.
    split : tuple of Share
        Causes of the demand.
    fails_at : FailurePowers
        Powers at which this limit alone would have failed.
    """

    id: str
    name: str
    part: str
    place: str
    kind: str
    demand: Quantity
    capacity: Quantity
    unit: str
    margin: Quantity
    survival: float
    reliability_index: float | None
    source: str
    split: tuple[Share, ...] = ()
    fails_at: FailurePowers | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ceiling:
    """Power at which the chance of the whole engine falls to the accepted one.

    `power` is None when even the lowest charge looked at is not survived at the accepted chance, or
    the highest still is; `reason` says which.  `checked` is the survival
    found by running the full model again there.
    """

    power: Quantity | None
    survival: float
    reason: str
    checked: float | None
    fails_at: FailurePowers


@dataclass(frozen=True)
class Reinforcement:
    """One change and what it does to the ceiling, or why that is not known yet.

    reason : why there is no ceiling; empty when there is one.
    remark : what to know of the change as it is computed.
    """

    id: str
    name: str
    ceiling: Quantity | None
    reason: str
    survival: float | None = None
    governing: str = ""
    changes: Mapping[str, str] = field(default_factory=dict)
    remark: str = ""


@dataclass(frozen=True)
class Measurement:
    """An input whose measurement would narrow the verdict."""

    path: str
    name: str
    now: Quantity
    by: str
    share: float
    advice: str


@dataclass(frozen=True)
class Assumption:
    """A value that nobody gave: what was taken and why."""

    path: str
    value: str
    why: str


@dataclass(frozen=True)
class Point:
    """What the gas model found at one operating point of the duty (or of the power curve).

    hardest_cylinder : the cylinder with the highest peak, and its peak over the mean.
    knock_margin : advance left before knock, negative when it knocks; None where it was not looked for
    or cannot be told.  octane_asked, octane_offered : what this point needs of the fuel, and what the
    fuel gives in this engine.
    """

    speed: Quantity
    power: Quantity
    torque: Quantity
    bmep: Quantity
    peak_pressure: Quantity
    peak_angle: Quantity
    volumetric_efficiency: float
    manifold_pressure: Quantity
    back_pressure: Quantity
    ca50: Quantity
    burn_duration: Quantity
    hardest_cylinder: int
    hardest_share: float
    cycles: float | None = None
    knock_margin: Quantity | None = None
    octane_asked: Quantity | None = None
    octane_offered: float | None = None


@dataclass(frozen=True)
class QuickNumber:
    """A number builders check a tool against, beside ours (common practice, no source)."""

    name: str
    ours: Quantity
    trade: str
    remark: str


@dataclass(frozen=True)
class Verdict:
    """Will this block live for its duty, what goes first, and at what power it stops being safe."""

    schema: str
    name: str
    invented: bool
    sentence: str
    lives: bool
    accepted: float
    survival: float
    power: Quantity
    peak_pressure: Quantity
    points: tuple[Point, ...]
    limits: tuple[Limit, ...]
    governing: Limit
    ceiling: Ceiling
    reinforcements: tuple[Reinforcement, ...]
    measure_next: tuple[Measurement, ...]
    assumptions: tuple[Assumption, ...]
    not_modelled: tuple[str, ...]
    warnings: tuple[str, ...]
    quick_numbers: tuple[QuickNumber, ...]
    cautions: tuple[str, ...]
    method: Mapping[str, str]
    version: str


@dataclass(frozen=True)
class Trace:
    """Curves of one operating point for the report, nominal engine.

    angle : crank degrees, 0 = firing top dead centre, 0 to 719.
    pressure, pressure_low, pressure_high : absolute, in `pressure_unit`; the 5 and 95 % bounds.
    volume : cylinder volume in `volume_unit`.
    main_vertical, main_lateral : per main, in `force_unit`; + into the cap, + towards bank B.
    """

    speed_rpm: float
    power: Quantity
    angle: tuple[float, ...]
    pressure: tuple[float, ...]
    pressure_low: tuple[float, ...]
    pressure_high: tuple[float, ...]
    motored: tuple[float, ...]
    pressure_unit: str
    volume: tuple[float, ...]
    volume_unit: str
    main_vertical: tuple[tuple[float, ...], ...]
    main_lateral: tuple[tuple[float, ...], ...]
    force_unit: str


@dataclass(frozen=True)
class WallMap:
    """Wall readings of one cylinder, `thickness[depth][angle]`; depths and thickness in `unit`."""

    cylinder: int
    angles: tuple[float, ...]
    depths: tuple[float, ...]
    thickness: tuple[tuple[float, ...], ...]
    unit: str
    measured: bool


@dataclass(frozen=True)
class Drawing:
    """Dimensions for the end and side view, all in metres, angles in degrees, from the build.

    lead : +1 when bank A is on the left seen from the front (the crank turns clockwise, from A to B),
        -1 when it is on the right.
    """

    dimensions: Mapping[str, float]
    kind: str
    cylinders: int
    mains: int
    banks: tuple[int, ...]
    cylinder_position: tuple[float, ...]
    throw_angles: tuple[float, ...]
    four_bolt_mains: tuple[int, ...]
    cap_material: str
    lead: int = 1


@dataclass(frozen=True)
class Evidence:
    """What the report draws, beside the verdict.  pipework : None for an engine run without pipes."""

    traces: tuple[Trace, ...]
    curve: tuple[Point, ...]
    walls: tuple[WallMap, ...]
    drawing: Drawing
    pipework: Pipework | None = None
