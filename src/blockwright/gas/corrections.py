"""Power corrected to the air of a standard: SAE J1349, SAE J607, ISO 1585, DIN 70020, and their limits.

An engine gives more in cold dense air.  A standard's factor says what it would have given in that
standard's air, so that two dyno sheets can be set side by side.  It changes no load on the block:
the block feels the pressure of the air that was there, and the uncorrected figure is always kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from ..errors import InputError, OutsideValidity
from ..trace import Value, formula

#: Inch of mercury at 0 deg C and standard gravity [Pa].
INCH_OF_MERCURY = 3386.389
#: Air temperatures for which the saturation formula holds [K].
SATURATION_RANGE = (228.15, 333.15)
#: Share of nitrous's oxygen above which the figure is no longer one of the weather's air alone [-].
_NO_NITROUS = 1e-6


@formula(
    symbol="e_s",
    unit="Pa",
    equation="e_s = 611.2 exp(17.62 t / (t + 243.12)), t = T - 273.15",
    source="Sonntag's formula as the WMO gives it; read in the documentation of a meteorology package",
    valid="-45 to 60 deg C over water",
)
def saturation_pressure(temperature: Value) -> Value:
    """Pressure of water vapour in saturated air.

    Parameters
    ----------
    temperature : array_like
        [K]

    Returns
    -------
    ndarray
        [Pa]
    """
    t = temperature - 273.15
    return 611.2 * np.exp(17.62 * t / (t + 243.12))


@formula(
    symbol="p_d",
    unit="Pa",
    equation="p_d = p - phi e_s",
    source="definition (Dalton)",
)
def dry_pressure(pressure: Value, humidity: Value, saturation: Value) -> Value:
    """Pressure of the dry air alone.

    Parameters
    ----------
    pressure : array_like
        Of the air, absolute [Pa].
    humidity : array_like
        Relative, 0 to 1 [-].
    saturation : array_like
        Pressure of saturated vapour [Pa].

    Returns
    -------
    ndarray
        [Pa]
    """
    return pressure - humidity * saturation


@formula(
    symbol="f_J1349",
    unit="1",
    equation="f = 1.180 (99 kPa / p_d) sqrt((t + 273)/298) - 0.180",
    source="SAE J1349 for petrol engines, mechanical efficiency taken as 85 %; read second hand",
    valid="15 to 35 deg C, 90 to 105 kPa dry, f 0.93 to 1.07 (from memory)",
)
def sae_j1349_factor(dry: Value, temperature: Value) -> Value:
    """Power in air of 99 kPa dry and 25 deg C over the observed one; friction is 15 % of indicated power.

    Parameters
    ----------
    dry : array_like
        Pressure of the dry air [Pa].
    temperature : array_like
        Of the air drawn in [K].

    Returns
    -------
    ndarray
        [-]
    """
    return 1.180 * (99e3 / dry) * np.sqrt((temperature - 0.15) / 298.0) - 0.180


@formula(
    symbol="P_J1349",
    unit="W",
    equation="P_c = (P + P_f)(99 kPa / p_d) sqrt((t + 273)/298) - P_f",
    source="SAE J1349, form with the friction power known; read second hand",
    valid="15 to 35 deg C, 90 to 105 kPa dry, P_c/P 0.93 to 1.07 (from memory)",
)
def sae_j1349_power(power: Value, friction_power: Value, dry: Value, temperature: Value) -> Value:
    """Power in air of 99 kPa dry and 25 deg C by a known friction power: only the indicated part moves.

    Parameters
    ----------
    power, friction_power : array_like
        Brake power observed; friction with pumping, as motoring shows it [W].
    dry : array_like
        Pressure of the dry air [Pa].
    temperature : array_like
        Of the air drawn in [K].

    Returns
    -------
    ndarray
        [W]
    """
    indicated = (power + friction_power) * (99e3 / dry) * np.sqrt((temperature - 0.15) / 298.0)
    return indicated - friction_power


@formula(
    symbol="f_J607",
    unit="1",
    equation="f = (29.92 inHg / p_d) sqrt((F + 460)/520)",
    source='SAE J607 (withdrawn; "STD" on dyno sheets), 60 deg F and 29.92 inHg dry; read second hand',
    valid="no range known to us; some 4 % above J1349 in the same air",
)
def sae_j607_factor(dry: Value, temperature: Value) -> Value:
    """Power in dry air of 29.92 inHg and 60 deg F over the observed one.

    Parameters
    ----------
    dry : array_like
        Pressure of the dry air [Pa].
    temperature : array_like
        Of the air drawn in [K].

    Returns
    -------
    ndarray
        [-]
    """
    fahrenheit = 1.8 * (temperature - 273.15) + 32.0
    return 29.92 * INCH_OF_MERCURY / dry * np.sqrt((fahrenheit + 460.0) / 520.0)


@formula(
    symbol="f_1585",
    unit="1",
    equation="f = (99 kPa / p_d)^1.2 ((t + 273)/298)^0.6",
    source="ISO 1585 for spark ignition, the same as ECE R85; from memory",
    valid="288 to 308 K, 80 to 110 kPa dry, f 0.93 to 1.07 (from memory)",
)
def iso_1585_factor(dry: Value, temperature: Value) -> Value:
    """Power in air of 99 kPa dry and 298 K over the observed one.

    Parameters
    ----------
    dry : array_like
        Pressure of the dry air [Pa].
    temperature : array_like
        Of the air drawn in [K].

    Returns
    -------
    ndarray
        [-]
    """
    return (99e3 / dry) ** 1.2 * ((temperature - 0.15) / 298.0) ** 0.6


@formula(
    symbol="f_70020",
    unit="1",
    equation="f = (1013 mbar / p) sqrt((t + 273)/293)",
    source="DIN 70020 (withdrawn); reference air read second hand, formula from memory",
    valid="no range known to us; takes the whole pressure, without a word on humidity",
)
def din_70020_factor(pressure: Value, temperature: Value) -> Value:
    """Power in air of 1013 mbar and 20 deg C over the observed one; the barometer's whole pressure counts.

    Parameters
    ----------
    pressure : array_like
        Of the air, vapour included [Pa].
    temperature : array_like
        Of the air drawn in [K].

    Returns
    -------
    ndarray
        [-]
    """
    return 101.3e3 / pressure * np.sqrt((temperature - 0.15) / 293.0)


@formula(
    symbol="f",
    unit="1",
    equation="f = s + (1 - s) f_air",
    source="ours: oxygen out of a bottle does not feel the weather; common practice, no source",
)
def factor_beside_nitrous(factor: Value, share: Value) -> Value:
    """Factor where a share of the oxygen comes out of a bottle: only the air's part is corrected.

    Parameters
    ----------
    factor : array_like
        Of the standard [-].
    share : array_like
        Of the oxygen, from nitrous oxide [-].

    Returns
    -------
    ndarray
        [-]
    """
    return share + (1.0 - share) * factor


@dataclass(frozen=True)
class Air:
    """The air that an engine draws.  pressure : absolute [Pa]; temperature [K]; humidity : relative [-]."""

    pressure: float
    temperature: float
    humidity: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.pressure) and self.pressure > 0.0):
            raise InputError(f"the air's pressure is {self.pressure:g} Pa; it must be positive and finite")
        if not 0.0 <= self.humidity <= 1.0:
            raise InputError(f"the humidity is {self.humidity:g}; it lies in 0..1")
        low, high = SATURATION_RANGE
        if not low <= self.temperature <= high:
            raise OutsideValidity(
                f"the air is at {self.temperature - 273.15:.1f} deg C; the pressure of its water vapour is "
                f"known from {low - 273.15:.0f} to {high - 273.15:.0f} deg C"
            )
        if not self.dry > 0.0:
            raise InputError(
                f"the air's pressure of {self.pressure:g} Pa is less than that of its water vapour; check "
                "pressure, temperature and humidity"
            )

    @property
    def dry(self) -> float:
        """Pressure of the dry air alone [Pa]."""
        return float(dry_pressure(self.pressure, self.humidity, saturation_pressure(self.temperature)))


@dataclass(frozen=True)
class Standard:
    """A correction standard.

    Attributes
    ----------
    key, name : str
        ``"sae-j1349"``; as a sheet names it.
    reference : str
        The air that it corrects to.
    pressure, temperature : float
        Of that air [Pa, K]; of the dry air alone where `dry`.
    dry : bool
    factor : callable
        Pressure of the kind that `dry` says [Pa], temperature [K]: the factor [-].
    temperatures, pressures, factors : (low, high) or None
        Range of use [K], [Pa], [-]; None where we know of none.
    remark : str
        What to know before two figures are compared.
    """

    key: str
    name: str
    reference: str
    pressure: float
    temperature: float
    dry: bool
    factor: Callable[[Value, Value], Value]
    temperatures: tuple[float, float] | None
    pressures: tuple[float, float] | None
    factors: tuple[float, float] | None
    remark: str

    def of(self, air: Air) -> float:
        """The bare factor in this air [-], whether or not it may be used."""
        return float(self.factor(air.dry if self.dry else air.pressure, air.temperature))


STANDARDS: Mapping[str, Standard] = {
    s.key: s
    for s in (
        Standard(
            "sae-j1349", "SAE J1349", "99 kPa dry, 25 °C", 99e3, 298.15, True, sae_j1349_factor,
            (288.15, 308.15), (90e3, 105e3), (0.93, 1.07),
            "net power; takes the mechanical efficiency as 85 %",
        ),
        Standard(
            "sae-j607", "SAE J607 (STD)", "29.92 inHg dry, 60 °F", 29.92 * INCH_OF_MERCURY, 288.706, True,
            sae_j607_factor, None, None, None,
            "withdrawn, still on dyno sheets; reads about 4 % above J1349",
        ),
        Standard(
            "iso-1585", "ISO 1585", "99 kPa dry, 25 °C", 99e3, 298.15, True, iso_1585_factor,
            (288.15, 308.15), (80e3, 110e3), (0.93, 1.07),
            "net power, spark ignition",
        ),
        Standard(
            "din-70020", "DIN 70020", "1013 mbar, 20 °C", 101.3e3, 293.15, False, din_70020_factor,
            None, None, None,
            "withdrawn; knows no humidity",
        ),
    )
}  # fmt: skip


@dataclass(frozen=True)
class Correction:
    """A power in the air of a standard, and whether the standard allows it.

    Attributes
    ----------
    standard : Standard
    power : float
        As observed, uncorrected [W].
    factor, corrected : float or None
        [-], [W]; None where the standard must not be used at all.
    within : bool
        Whether the figure may be called by the standard's name.
    reasons : tuple of str
        Why not.
    """

    standard: Standard
    power: float
    factor: float | None
    corrected: float | None
    within: bool
    reasons: tuple[str, ...] = ()


def standard(name: str) -> Standard:
    """A standard by its key.

    Raises
    ------
    InputError
        When there is none of that name.
    """
    if name not in STANDARDS:
        raise InputError(f"no correction standard is called {name!r}; choose from {', '.join(STANDARDS)}")
    return STANDARDS[name]


def correct(
    power: float,
    air: Air,
    name: str,
    *,
    friction_power: float | None = None,
    controlled_boost: bool = False,
    nitrous_share: float = 0.0,
) -> Correction:
    """Power in the air of a standard.

    Parameters
    ----------
    power : float
        Brake power as observed [W].
    air : Air
    name : str
        Key in `STANDARDS`.
    friction_power : float or None
        Known by motoring, pumping included [W]; SAE J1349 then moves the indicated power alone.  The other
        standards have no such form.
    controlled_boost : bool
        Whether a charge pressure is held whatever the weather.  A blower driven by the crank without such
        control follows the weather as an engine without a charger does.
    nitrous_share : float
        Share of the oxygen that comes from nitrous oxide [-].

    Returns
    -------
    Correction
    """
    chosen = standard(name)
    if not 0.0 <= nitrous_share < 1.0:
        raise InputError(f"the share of nitrous's oxygen is {nitrous_share:g}; it lies in 0..1, 1 left out")
    if friction_power is not None and not (friction_power >= 0.0 and power > 0.0):
        raise InputError("the form with a friction power needs a positive power and a friction of at least 0")
    if controlled_boost:
        return Correction(chosen, power, None, None, False, (_BOOST,))
    factor = chosen.of(air)
    if friction_power is not None and name == "sae-j1349":
        factor = float(sae_j1349_power(power, friction_power, air.dry, air.temperature)) / power
    reasons = _left(chosen, air, factor)
    if nitrous_share > _NO_NITROUS:
        factor = float(factor_beside_nitrous(factor, nitrous_share))
        reasons.append(
            f"{100.0 * nitrous_share:.0f} % of the oxygen comes out of a bottle; only the air's part is "
            "corrected, and no standard covers that"
        )
    return Correction(chosen, power, factor, factor * power, not reasons, tuple(reasons))


_BOOST = (
    "the charge pressure is held by its control and makes up for the weather already; to correct would "
    "count it twice"
)


def _left(chosen: Standard, air: Air, factor: float) -> list[str]:
    """Which limits of the standard are left, in words."""
    celsius, kind = air.temperature - 273.15, "dry air" if chosen.dry else "air"
    shown = air.dry if chosen.dry else air.pressure
    made = []
    if chosen.temperatures is not None:
        low, high = (t - 273.15 for t in chosen.temperatures)
        if not low <= celsius <= high:
            made.append(f"the air is at {celsius:.1f} °C; it holds from {low:.0f} to {high:.0f} °C")
    if chosen.pressures is not None:
        low, high = chosen.pressures
        if not low <= shown <= high:
            made.append(
                f"the {kind} stands at {shown / 1e3:.1f} kPa; it holds from {low / 1e3:.0f} to "
                f"{high / 1e3:.0f} kPa"
            )
    if chosen.factors is not None:
        low, high = chosen.factors
        if not low <= factor <= high:
            made.append(f"the factor is {factor:.3f}; it may lie from {low:.2f} to {high:.2f}")
    return made
