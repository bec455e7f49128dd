"""The power curve as frozen records in the shop's own units: what `--json`, table, CSV and page are told.

A field is added, never renamed, within one schema number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..life.verdict import Quantity

#: Raised when a field changes its meaning or goes away.
SCHEMA = "blockwright-curve-1"


@dataclass(frozen=True)
class Corrected:
    """Power in the air of a standard.

    Attributes
    ----------
    standard : str
        Its key, as `standards` lists it.
    factor : float or None
        Corrected over observed power; None where the standard must not be used.
    power : Quantity or None
        Corrected.
    within : bool
        Whether the figure may be called by the standard's name.
    reasons : tuple of str
        Why not.
    """

    standard: str
    factor: float | None
    power: Quantity | None
    within: bool
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class CurvePoint:
    """The engine at one speed, at full load, settled; mean of the cylinders.

    Attributes
    ----------
    speed : Quantity
        Of the crank.
    torque, power : Quantity
        At the crank's end, as observed in the build's own air: uncorrected.
    bmep, imep, fmep : Quantity
        Brake, indicated (pumping included) and friction mean effective pressure.
    volumetric_efficiency : Quantity
        Dry air drawn in over the dry air that fills the displacement at the state of the charge.
    peak_pressure : Quantity
        Of the mean cycle, absolute.
    peak_angle : Quantity
        After firing top dead centre.
    knock_margin : Quantity or None
        Spark that could be added before the end gas lights itself; below 0 it knocks.
    plenum_pressure : Quantity
        Mean, absolute.
    boost, back_pressure : Quantity or None
        Mean in the plenum, and before the exhaust's outlet or turbine, above the surroundings.
    exhaust_temperature : Quantity
        In the exhaust ports (without pipes in the exhaust), weighted by the flow.
    air_flow, fuel_flow, nitrous_flow : Quantity or None
        Of the whole engine.
    fuel_consumption : Quantity or None
        Fuel per brake work.
    lambda_ : Quantity
        Air over stoichiometric air.
    residual : Quantity
        Share of burned gas in the trapped charge.
    spark : Quantity or None
        Before firing top dead centre.
    ca10, ca50 : Quantity
        10 and 50 % burned, after firing top dead centre.
    burn_duration : Quantity
        From 10 to 90 % burned.
    corrected : tuple of Corrected
        Power in the air of each standard asked for.
    unknown : mapping
        Why a figure above is null, by its name.
    remarks : tuple of str
        Ranges of models that this point leaves.
    """

    speed: Quantity
    torque: Quantity
    power: Quantity
    bmep: Quantity
    imep: Quantity
    fmep: Quantity
    volumetric_efficiency: Quantity
    peak_pressure: Quantity
    peak_angle: Quantity
    knock_margin: Quantity | None
    plenum_pressure: Quantity
    boost: Quantity | None
    back_pressure: Quantity | None
    exhaust_temperature: Quantity
    air_flow: Quantity
    fuel_flow: Quantity
    nitrous_flow: Quantity | None
    fuel_consumption: Quantity | None
    lambda_: Quantity
    residual: Quantity
    spark: Quantity | None
    ca10: Quantity
    ca50: Quantity
    burn_duration: Quantity
    corrected: tuple[Corrected, ...] = ()
    unknown: Mapping[str, str] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Missing:
    """A speed that was asked for and gave no figure, and why."""

    speed: Quantity
    reason: str


@dataclass(frozen=True)
class StandardAir:
    """A correction standard.

    Attributes
    ----------
    key, name : str
    reference : str
        The air that it corrects to.
    remark : str
        What to know before two figures are compared.
    """

    key: str
    name: str
    reference: str
    remark: str


@dataclass(frozen=True)
class Best:
    """Largest figure of a kind and its speed; `at_edge` where the curve was still rising at its end."""

    value: Quantity
    speed: Quantity
    at_edge: bool


@dataclass(frozen=True)
class Target:
    """Whether a wanted power can be had, and how.

    Attributes
    ----------
    power, speed : Quantity
        As wanted.
    lever : str
        What is moved to reach it.
    value : Quantity or None
        The lever's figure that makes it; None when it is not reached.
    found : Quantity
        The power there, or the nearest that was found.
    peak_pressure : Quantity
        There.
    reached : bool
    allowed : bool
        Reached, and nothing that was looked at forbids it.
    reason : str
        Why it is not reached.
    forbidden, unchecked : tuple of str
        What forbids it; what was not looked at.
    sentence : str
    jet : Quantity or None
        Bore of each nitrous jet that passes the flow, where nitrous oxide is the lever.
    jets : int
        How many of them.
    """

    power: Quantity
    speed: Quantity
    lever: str
    value: Quantity | None
    found: Quantity
    peak_pressure: Quantity
    reached: bool
    allowed: bool
    reason: str
    forbidden: tuple[str, ...]
    unchecked: tuple[str, ...]
    sentence: str
    jet: Quantity | None = None
    jets: int = 0


@dataclass(frozen=True)
class Doubt:
    """One cause of the power's spread and its mean share of the variance, 0 to 1."""

    name: str
    share: float


@dataclass(frozen=True)
class Curve:
    """What an engine makes over its speeds at full load."""

    schema: str
    name: str
    invented: bool
    sentence: str
    mesh: str
    points: tuple[CurvePoint, ...]
    missing: tuple[Missing, ...]
    best_power: Best
    best_torque: Best
    wanted: Quantity
    wanted_speed: Quantity
    air_pressure: Quantity
    air_temperature: Quantity
    humidity: Quantity
    standards: tuple[StandardAir, ...]
    target: Target | None
    doubts: tuple[Doubt, ...]
    notes: tuple[str, ...]
    assumed: int
    version: str
