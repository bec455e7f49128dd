r"""A compressor map of our own for a wheel of which nothing but its size is known.

Head in the form of Jensen and Kristensen, psi = (k1 + k2 Phi)/(k3 - Phi), with psi = cp T1 head / (U^2/2)
and Phi = m / (rho1 pi/4 D^2 U).  The coefficients are not fitted to any make: they follow from where each
line begins and ends and from the head there, and those from the physics below, so that the family
means "an ordinary wheel", with the wide spread in models/boost.toml.

* The line ends where the inducer chokes: in a row that turns, m/(rho0 a0 A) =
  [(2 + (g-1) M1^2)/(g+1)]^((g+1)/(2(g-1))), M1 at the inducer's mean radius (Dixon and Hall, from memory).
  At low speed it ends earlier, where no head is left.
* The line begins at a Phi that grows with the speed: maps narrow upwards.
* The work follows Euler's line: work/U^2 falls with flow as backswept blades make it; efficiency = head/work.

Sources: SAE 910070 (form, from memory); flow and work coefficients common practice, no source.
"""

from __future__ import annotations

import functools
import math

import numpy as np
from numpy.typing import NDArray

from ...build import catalogue
from ...errors import OutsideValidity
from .map import AIR_CONSTANT, CP, GAMMA, KAPPA, CompressorMap, SpeedLine

Array = NDArray[np.float64]

#: State to which the family's figures refer [K, Pa].
REFERENCE_TEMPERATURE = 298.15
REFERENCE_PRESSURE = 1.0e5
#: Tip speeds of the lines [m/s], and points along each.
TIP_SPEEDS = (120.0, 180.0, 240.0, 300.0, 350.0, 400.0, 440.0, 480.0, 520.0, 560.0)
POINTS = 13
#: Wheels for which the family stands [m].
DIAMETERS = (0.030, 0.160)
TRIMS = (0.40, 0.75)


@functools.cache
def constant(name: str) -> float:
    """A constant from ``models/boost.toml`` [SI]."""
    return catalogue.row("model", f"boost.{name}").si("value")


def flow_ends(mach: float, trim: float) -> tuple[float, float]:
    """Flow coefficients at surge and choke of a line [-].

    Parameters
    ----------
    mach : float
        Tip speed over the speed of sound at the inlet [-].
    trim : float
        Area of the inducer's circle over that of the wheel's outlet [-].
    """
    surge = trim * (constant("surge_flow") + constant("surge_rise") * mach)
    inducer = mach * math.sqrt(0.5 * trim)  # at the radius that halves the inducer's area
    choking = ((2.0 + (GAMMA - 1.0) * inducer**2) / (GAMMA + 1.0)) ** (0.5 * (GAMMA + 1.0) / (GAMMA - 1.0))
    choke = constant("choke_blockage") * trim * choking / mach
    return surge, min(choke, constant("widest") * trim)


def head_coefficient(flow: Array, surge: float, choke: float, mach: float) -> Array:
    """psi on U^2/2 along a line [-]: Jensen and Kristensen's hyperbola through both ends."""
    at_surge = constant("head_at_surge") - constant("head_fall") * max(mach - 1.0, 0.0)
    at_choke = constant("head_at_choke")
    k3 = choke + constant("knee") * (choke - surge)
    k2 = (at_choke * (k3 - choke) - at_surge * (k3 - surge)) / (choke - surge)
    k1 = at_surge * (k3 - surge) - k2 * surge
    return np.asarray((k1 + k2 * flow) / (k3 - flow))


def generic_map(diameter: float, trim: float | None = None) -> CompressorMap:
    """The family's map for a wheel of an outlet diameter [m].

    Raises
    ------
    OutsideValidity
        For wheels and trims far from those of engines.
    """
    trim = constant("trim") if trim is None else trim
    if not DIAMETERS[0] <= diameter <= DIAMETERS[1]:
        raise OutsideValidity(
            f"a compressor wheel of {diameter * 1e3:.0f} mm; the generic map holds from "
            f"{DIAMETERS[0] * 1e3:.0f} to {DIAMETERS[1] * 1e3:.0f} mm"
        )
    if not TRIMS[0] <= trim <= TRIMS[1]:
        raise OutsideValidity(f"a trim of {trim:.2f}; the generic map holds from {TRIMS[0]} to {TRIMS[1]}")
    sound = math.sqrt(GAMMA * AIR_CONSTANT * REFERENCE_TEMPERATURE)
    density = REFERENCE_PRESSURE / (AIR_CONSTANT * REFERENCE_TEMPERATURE)
    lines = []
    for tip in TIP_SPEEDS:
        surge, choke = flow_ends(tip / sound, trim)
        phi = np.linspace(surge, choke, POINTS)
        psi = head_coefficient(phi, surge, choke, tip / sound)
        share = (phi - surge) / (choke - surge)
        work = constant("work_at_surge") - constant("work_fall") * share
        head = psi * 0.5 * tip**2 / (CP * REFERENCE_TEMPERATURE)
        lines.append(
            SpeedLine(
                speed=2.0 * tip / diameter,
                flow=phi * density * 0.25 * math.pi * diameter**2 * tip,
                pressure_ratio=(1.0 + head) ** (1.0 / KAPPA),
                efficiency=0.5 * psi / work,
            )
        )
    name = f"generic map, {diameter * 1e3:.1f} mm wheel, trim {trim:.2f}"
    return CompressorMap(name, REFERENCE_TEMPERATURE, REFERENCE_PRESSURE, tuple(lines), diameter)
