"""When and how fast the charge burns: Wiebe's law, a profile, or a flame; what a burn looked like."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..trace import Value, formula
from .flame import catalogued, constant, flame_constants
from .monotone import monotone_cubic

if TYPE_CHECKING:
    from .model import Breathing, OperatingPoint

Array = NDArray[np.float64]

#: Wiebe's form factor and exponent m + 1 (Heywood 1988, eq. 9.31); the same figures as in the kernel.
WIEBE_A = 5.0
WIEBE_N = 3.0
#: Share that Wiebe's law reaches at its end [-]: the kernel scales it, so that the efficiency is what burns.
REACHED = -math.expm1(-WIEBE_A)
#: Points of a profile.
PROFILE_POINTS = 65
#: Pressure in the crankcase, into which gas blows by [Pa]; hardly matters, the rings choke.
CRANKCASE = 1.0e5
#: Douaud and Eyzat's delay at 100 octane: ln of its factor [s Pa^1.7], exponent, temperature [K].
KNOCK_FACTOR, KNOCK_POWER, KNOCK_TEMPERATURE = math.log(17.68e-3 * 101_325.0**1.7), 1.7, 3800.0
OCTANE_POWER = 3.402


@formula(
    symbol="x_b",
    unit="1",
    equation="x_b = 1 - exp(-5 ((theta - theta_0)/Delta_theta)^3)",
    source="Wiebe; a = 5, m = 2 after Heywood (1988), eq. 9.31; from memory",
)
def wiebe(angle: Value, start: Value, length: Value) -> Value:
    """Burned share of the charge.

    Parameters
    ----------
    angle, start, length : array_like
        Angle, start of burning after top dead centre, and length of the law [same unit].

    Returns
    -------
    ndarray
        0 before the start; 99.3 % at its end and held there.
    """
    z = np.clip((np.asarray(angle) - start) / length, 0.0, 1.0)
    return -np.expm1(-WIEBE_A * z**WIEBE_N)


def wiebe_place(share: float) -> float:
    """Place in the length of the law at which a share is burned [-]: z = (-ln(1 - x)/a)^(1/(m+1))."""
    return float((-np.log1p(-share) / WIEBE_A) ** (1.0 / WIEBE_N))


def wiebe_window(ca10: Value, burn_10_90: Value) -> tuple[Value, Value]:
    """Start and length of the law [deg] from 10 % burned and the 10 to 90 % duration [deg]."""
    length = np.asarray(burn_10_90) / (wiebe_place(0.9) - wiebe_place(0.1))
    return np.asarray(ca10) - wiebe_place(0.1) * length, length


@formula(
    symbol="Delta_theta",
    unit="deg",
    equation="Delta_theta = Delta_theta_ref (n/n_ref)^(1/3)",
    source="Hires, Tabaczynski and Novak, SAE 780232 (1978), speed exponent about 1/3; from memory",
    valid="one engine, near its reference speed (a factor of 2.5 either way)",
)
def burn_angle(reference_angle: Value, speed: Value, reference_speed: Value) -> Value:
    """Crank angle that a stage of burning takes at another speed.

    Parameters
    ----------
    reference_angle : array_like
        At the reference speed [deg].
    speed, reference_speed : array_like
        [rad/s]
    """
    return reference_angle * np.cbrt(np.asarray(speed) / reference_speed)


@formula(
    symbol="theta_10",
    unit="deg",
    equation="theta_10 = -advance + delay",
    source="definition",
)
def ca10_from_advance(advance: Value, delay: Value) -> Value:
    """Angle of 10 % burned from the spark advance and the spark-to-10 % delay [deg after TDC]."""
    return delay - advance


@formula(
    symbol="theta_10",
    unit="deg",
    equation="theta_10 = theta_50 - (z_50 - z_10)/(z_90 - z_10) Delta_theta_10-90",
    source="inverse of Wiebe's law, a = 5, m = 2",
)
def ca10_from_ca50(ca50: Value, burn_10_90: Value) -> Value:
    """Angle of 10 % burned from that of 50 % burned [deg after TDC]."""
    z10, z50, z90 = wiebe_place(0.1), wiebe_place(0.5), wiebe_place(0.9)
    return ca50 - (z50 - z10) / (z90 - z10) * np.asarray(burn_10_90)


@formula(
    symbol="theta_50",
    unit="deg",
    equation="theta_50 = theta_10 + (z_50 - z_10)/(z_90 - z_10) Delta_theta_10-90",
    source="Wiebe's law, a = 5, m = 2",
)
def ca50_from_ca10(ca10: Value, burn_10_90: Value) -> Value:
    """Angle of 50 % burned from that of 10 % burned [deg after TDC]."""
    z10, z50, z90 = wiebe_place(0.1), wiebe_place(0.5), wiebe_place(0.9)
    return ca10 + (z50 - z10) / (z90 - z10) * np.asarray(burn_10_90)


def profile_places(profile: Array) -> tuple[float, float]:
    """Places in 0..1 at which a profile has burned 10 and 90 %, on the kernel's cubic through its points."""
    from .kernels.cylinder import burned_share

    if profile.shape != (PROFILE_POINTS,) or abs(profile[0]) > 1e-9 or abs(profile[-1] - 1.0) > 1e-9:
        raise InputError(f"a burn profile has {PROFILE_POINTS} points from 0 to 1; this has {profile.shape}")
    if np.any(np.diff(profile) < 0.0):
        raise InputError("a burn profile must never fall")
    row = np.zeros(_layout()["row"])
    row[1], row[4] = 1.0, 1.0
    row[_layout()["table"] :][:PROFILE_POINTS] = profile
    found = []
    for share in (0.1, 0.9):
        low, high = 0.0, 1.0
        for _ in range(50):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if burned_share(middle, row) < share else (low, middle)
        found.append(0.5 * (low + high))
    return found[0], found[1]


def _layout() -> dict[str, int]:
    from .kernels.zones import B_TABLE, NB

    return {"row": NB, "table": B_TABLE}


def burn_rows(breathing: Breathing, point: OperatingPoint, changes: Mapping[str, Array]) -> Array:
    """Burn laws packed for the kernels, shape (B, NB).

    Parameters
    ----------
    breathing, point
        The engine and how it runs; `point.law` and `point.profile` choose the law.
    changes : mapping of ndarray, shape (B,)
        Instead of the point's own: ``ca10``, ``burn_10_90``, ``combustion_efficiency``, ``heat_factor``,
        ``spark``, ``turbulence``, ``leak`` [m2], and factors ``flame_speed`` on the laminar speed,
        ``burn_up`` and ``length_scale`` on the flame's constants.
    """
    from .kernels import flame as f
    from .kernels import zones as z

    batch = next(iter(changes.values())).size if changes else 1

    def of(name: str, otherwise: float) -> Array:
        return np.asarray(changes.get(name, np.full(batch, otherwise)), dtype=float)

    rows = np.zeros((batch, z.NB))
    share = of("combustion_efficiency", point.combustion_efficiency)
    area = 0.25 * math.pi * breathing.bore**2
    rows[:, 2], rows[:, 3] = share, of("heat_factor", point.heat_factor)
    rows[:, z.B_LEAK] = of("leak", constant("leak_share") * area)
    rows[:, z.B_CRANKCASE] = CRANKCASE
    rows[:, z.B_KNOCK_LN] = KNOCK_FACTOR + OCTANE_POWER * math.log(point.octane / 100.0)
    rows[:, z.B_KNOCK_N], rows[:, z.B_KNOCK_T] = KNOCK_POWER, KNOCK_TEMPERATURE
    if point.law == "flame":
        reach = 0.5 * breathing.bore * math.sqrt(1.0 - point.quench_share)
        # Where pads lie the chamber is narrower, and the plug no farther from its middle than its wall.
        offset = min(
            max(point.plug_offset * 0.5 * breathing.bore, constant("least_offset") * reach), 0.8 * reach
        )
        packed = flame_constants(catalogued(point.spark, 1.0, offset, point.quench_share), point.fuel)
        rows[:, z.B_TABLE : z.B_TABLE + packed.size] = packed
        rows[:, 0] = of("spark", point.spark)
        rows[:, f.F_TURBULENCE] *= of("turbulence", point.turbulence)
        rows[:, f.F_SPEED] *= of("flame_speed", 1.0)
        rows[:, f.F_BURNUP] *= point.burn_up * of("burn_up", 1.0)
        rows[:, f.F_SCALE] *= of("length_scale", 1.0)
        rows[:, z.B_KIND] = z.FLAME
    elif point.law == "wiebe":
        ca10, duration = of("ca10", point.ca10), of("burn_10_90", point.burn_10_90)
        if point.profile is None:
            rows[:, 0], rows[:, 1] = wiebe_window(ca10, duration)
            rows[:, 2] = share / REACHED
            rows[:, z.B_KIND] = z.WIEBE
        else:
            z10, z90 = profile_places(point.profile)
            rows[:, 1] = duration / (z90 - z10)
            rows[:, 0] = ca10 - z10 * rows[:, 1]
            rows[:, z.B_TABLE : z.B_TABLE + PROFILE_POINTS] = point.profile
            rows[:, z.B_KIND] = z.PROFILE
    else:
        raise InputError(f"the burn law is {point.law!r}; it is 'flame' or 'wiebe'")
    return rows


def burn_row(breathing: Breathing, point: OperatingPoint) -> Array:
    """Burn law of an operating point packed for the kernels, shape (NB,)."""
    row: Array = burn_rows(breathing, point, {})[0]
    return row


@dataclass(frozen=True)
class BurnSummary:
    """What a burn looked like; angles after firing top dead centre, shares of what burned in the end.

    Attributes
    ----------
    start : float
        Where burning starts: spark, or start of the law [deg].
    ca02, ca10, ca50, ca90 : float
        2, 10, 50 and 90 % burned [deg]; NaN when nothing burned.
    burn_10_90 : float
        [deg]
    burned : float
        Share of the charge's mass that burned before the exhaust opened [-].
    profile : ndarray, shape (65,)
        Burned share at equal places from `start` to where 99.99 % has burned: with `ca10`, `burn_10_90`
        and `burned` the same burn again (`as_profile`).
    """

    start: float
    ca02: float
    ca10: float
    ca50: float
    ca90: float
    burn_10_90: float
    burned: float
    profile: Array


def burn_summary(share: Array, start: float) -> BurnSummary:
    """Burn angles and profile from the burned share at whole degrees.

    Parameters
    ----------
    share : ndarray, shape (720,)
        Burned share of the charge's mass at whole degrees after firing top dead centre (from 360 on: of
        the compression before it); what follows the exhaust's opening is held.
    start : float
        Spark, or start of the law [deg].
    """
    from .kernels.burn_marks import NOTHING, OVER, rising

    places, values = np.empty(721), np.empty(721)
    count, burned = rising(np.asarray(share, dtype=float), float(start), places, values)
    marks = burn_marks(np.asarray(share, dtype=float)[None, :], np.array([float(start)]))[0]
    if burned < NOTHING:
        profile = np.linspace(0.0, 1.0, PROFILE_POINTS)
    else:
        places, values = places[:count], values[:count]
        last = min(int(np.argmax(values >= OVER)) + 1, count - 1)
        profile = monotone_cubic(places, values, np.linspace(places[0], places[last], PROFILE_POINTS))
        profile = np.maximum.accumulate(profile / profile[-1])
    ca02, ca10, ca50, ca90 = (float(mark) for mark in marks)
    return BurnSummary(start, ca02, ca10, ca50, ca90, ca90 - ca10, burned, profile)


def burn_marks(share: Array, start: Array) -> Array:
    """Angles of 2, 10, 50 and 90 % of what burned in many burns, shape (B, 4) [deg]; NaN where none did.

    Parameters
    ----------
    share : ndarray, shape (B, 720)
        As `burn_summary` takes it.
    start : ndarray, shape (B,)
        [deg]
    """
    from .kernels.burn_marks import MARKS
    from .kernels.burn_marks import burn_marks as marks

    angles = np.empty((len(share), len(MARKS)))
    marks(np.ascontiguousarray(share, dtype=float), np.ascontiguousarray(start, dtype=float), angles)
    return angles


def as_profile(point: OperatingPoint, summary: BurnSummary) -> OperatingPoint:
    """The same running with the burn held as it was seen: a profile instead of the flame."""
    return dataclasses.replace(
        point, law="wiebe", ca10=summary.ca10, burn_10_90=summary.burn_10_90, profile=summary.profile,
        combustion_efficiency=summary.burned,
    )  # fmt: skip
