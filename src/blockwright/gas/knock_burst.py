"""A knock burst as an event: its pressure, its notes, and the little of it that reaches the caps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..trace import Value, formula
from .fuels import WorkingGas
from .knock import constant

Array = NDArray[np.float64]

#: Zeros of the slopes of Bessel's functions: the five lowest modes of a disc, as (diameters, circles).
DRAPER = {(1, 0): 1.84118, (2, 0): 3.05424, (0, 1): 3.83171, (3, 0): 4.20119, (1, 1): 5.33144}


@formula(
    symbol="f",
    unit="Hz",
    equation="f = alpha c/(pi B)",
    source="Draper, NACA report 493 (1935); from memory",
    valid="a flat disc of gas with stiff walls, the piston near the top",
)
def draper_frequency(bore: Value, sound_speed: Value, alpha: Value = DRAPER[(1, 0)]) -> Value:
    """Frequency at which the gas rings across the bore.

    Parameters
    ----------
    bore : array_like
        [m]
    sound_speed : array_like
        Of the burned gas, 900 to 1000 m/s [m/s].
    alpha : array_like
        Number of the mode, from `DRAPER`.
    """
    return alpha * np.asarray(sound_speed) / (math.pi * np.asarray(bore))


@dataclass(frozen=True)
class KnockBurst:
    """What is left of the charge going off at once: upper bounds, all from the energy.

    Attributes
    ----------
    local_pressure, local_rise : float
        In the pocket of end gas before it has had time to expand [Pa].
    mean_rise : float
        Of the whole cylinder when the waves have died out [Pa].
    ringing : float
        Amplitude of the lowest mode at the wall [Pa].
    pocket : float
        Share of the volume the end gas takes [-].
    sound_speed : float
        Of the gas after the burst [m/s].
    severity : str
        Words for the ringing: ``"below trace"``, ``"trace"``, ``"heavy"``, ``"damaging"``, ``"runaway"``.
    """

    local_pressure: float
    local_rise: float
    mean_rise: float
    ringing: float
    pocket: float
    sound_speed: float
    severity: str


@formula(
    symbol="a_1",
    unit="Pa",
    equation="a_1 = (2/pi) sin(pi s) Delta p",
    source="Fourier coefficient of a slab of share s at one end of a chamber; own derivation",
    valid="an upper bound: ignition takes no time and nothing damps it",
)
def first_mode_amplitude(rise: Value, pocket: Value) -> Value:
    """Amplitude of the lowest note when a pocket at the wall jumps in pressure.

    Parameters
    ----------
    rise : array_like
        Jump of the pressure in the pocket [Pa].
    pocket : array_like
        Share of the chamber's volume [-].
    """
    return 2.0 / math.pi * np.sin(math.pi * np.asarray(pocket)) * rise


def severity(amplitude: float) -> str:
    """Word for an amplitude of knock [Pa], by the bands of ``models/knock.toml``."""
    words = ("trace", "heavy", "damaging", "runaway")
    word = "below trace"
    for name in words:
        if amplitude >= constant(f"knock.{name}"):
            word = name
    return word


def knock_burst(
    gas: WorkingGas,
    pressure: float,
    end_gas: Array,
    end_gas_temperature: float,
    burned: Array,
    burned_temperature: float,
) -> KnockBurst:
    """All the end gas left at knock onset burns at constant volume.

    Parameters
    ----------
    gas : WorkingGas
    pressure : float
        At onset [Pa].
    end_gas, burned : ndarray, shape (7,)
        Masses in the two zones, in the order of `gas.model.SPECIES` [kg].
    end_gas_temperature, burned_temperature : float
        [K]
    """
    from .kernels.properties import fill_energy, mixture, settle

    tables = (gas.frozen, gas.burned, gas.constants)

    def zone(masses: Array, temperature: float) -> tuple[Array, float]:
        y = np.zeros(8)
        y[:7] = masses
        y[7] = fill_energy(y, temperature, pressure, *tables)
        _, constant_mass, _, _ = mixture(y, temperature, math.log(pressure), *tables)
        return y, constant_mass * temperature / pressure

    fresh, fresh_volume = zone(np.asarray(end_gas, dtype=float), end_gas_temperature)
    hot, hot_volume = zone(np.asarray(burned, dtype=float), burned_temperature)
    if not fresh[:7].sum() > 0.0:
        raise InputError("no end gas is left: there is nothing to knock")
    _, local, _, _ = settle(_burnt(fresh), fresh_volume, 2800.0, 2.0 * pressure, *tables)
    _, after, r, gamma = settle(_burnt(fresh) + hot, fresh_volume + hot_volume, 2600.0, pressure, *tables)
    temperature = after * (fresh_volume + hot_volume) / (r * (fresh[:7].sum() + hot[:7].sum()))
    pocket = fresh_volume / (fresh_volume + hot_volume)
    ringing = float(first_mode_amplitude(local - pressure, pocket))
    return KnockBurst(
        local_pressure=local,
        local_rise=local - pressure,
        mean_rise=after - pressure,
        ringing=ringing,
        pocket=pocket,
        sound_speed=math.sqrt(gamma * r * temperature),
        severity=severity(ringing),
    )


def _burnt(y: Array) -> Array:
    """The same gas with its fresh air, fuel and nitrous burned; the energy stays."""
    out = y.copy()
    out[4:7] += y[0:3]
    out[0:3] = 0.0
    return out


@formula(
    symbol="H",
    unit="1",
    equation="H = 1/sqrt((1 - r^2)^2 + (2 zeta r)^2), r = f/f_n",
    source="steady response of one mass on a spring; any text on vibration",
)
def dynamic_share(frequency: Value, natural_frequency: Value, damping: Value) -> Value:
    """Share of a steady fast load that a slower part feels as a spring force.

    Parameters
    ----------
    frequency, natural_frequency : array_like
        Of the load, of the part [Hz].
    damping : array_like
        Share of critical damping [-].
    """
    ratio = np.asarray(frequency) / natural_frequency
    return 1.0 / np.sqrt((1.0 - ratio**2) ** 2 + (2.0 * np.asarray(damping) * ratio) ** 2)


@formula(
    symbol="1 + o",
    unit="1",
    equation="1 + exp(-pi zeta/sqrt(1 - zeta^2))",
    source="step response of one mass on a spring; any text on vibration",
    valid="an upper bound: a jump that takes no time against the part's period",
)
def step_share(damping: Value) -> Value:
    """Largest share of a sudden lasting load that a part feels.

    Parameters
    ----------
    damping : array_like
        Share of critical damping, below 1 [-].
    """
    zeta = np.asarray(damping, dtype=float)
    return 1.0 + np.exp(-math.pi * zeta / np.sqrt(1.0 - zeta**2))


def burst_share(frequency: float, natural_frequency: float, damping: float, ringing_time: float) -> float:
    """Largest share of a burst's amplitude that a part feels as a spring force [-].

    Parameters
    ----------
    frequency, natural_frequency : float
        Of the ringing, of the part [Hz].
    damping : float
        Share of critical damping, in [0, 1) [-].
    ringing_time : float
        In which the ringing falls to 1/e [s].

    Notes
    -----
    The load is ``exp(-t/tau) cos(omega t)`` from rest.  With ``s = -1/tau + i omega`` the forced part is
    ``omega_n^2 exp(s t)/(s^2 + 2 zeta omega_n s + omega_n^2)``; the free part makes displacement and
    velocity start at zero.  Exact but for the grid of times (1/40 of the shorter period).
    """
    if not (frequency > 0.0 and natural_frequency > 0.0 and ringing_time > 0.0 and 0.0 <= damping < 1.0):
        raise InputError(
            f"frequency {frequency:g}, natural frequency {natural_frequency:g} Hz and ringing time "
            f"{ringing_time:g} s must be positive, damping {damping:g} in [0, 1)"
        )
    omega, omega_n = 2.0 * math.pi * frequency, 2.0 * math.pi * natural_frequency
    s = complex(-1.0 / ringing_time, omega)
    below = s * s + 2.0 * damping * omega_n * s + omega_n**2
    if abs(below) < 1e-9 * omega_n**2:  # forced exactly on its own decaying note: move off it by a hair
        below = complex(1e-9 * omega_n**2, 0.0)
    forced = omega_n**2 / below
    own = omega_n * math.sqrt(1.0 - damping**2)
    fade = damping * omega_n
    # Displacement and velocity of the forced part at the start, which the free part takes away.
    x0, v0 = forced.real, (forced * s).real
    time = np.arange(0.0, 3.0 / natural_frequency + 3.0 * ringing_time,
                     1.0 / (40.0 * max(frequency, natural_frequency)))  # fmt: skip
    free = np.exp(-fade * time) * (x0 * np.cos(own * time) + (v0 + fade * x0) / own * np.sin(own * time))
    return float(np.max(np.abs((forced * np.exp(s * time)).real - free)))


@formula(
    symbol="F_b",
    unit="N",
    equation="F_b = A (Delta p_mean (1 + o) + k a_1 H_b)",
    source="superposition; own estimate of k",
    valid="an upper bound, on top of the cycle's own load",
)
def burst_load(area: Value, mean_rise: Value, step: Value, ringing: Value, net: Value, share: Value) -> Value:
    """Extra load that a knock burst puts on a slow part behind the piston.

    Parameters
    ----------
    area : array_like
        Of the piston [m2].
    mean_rise, ringing : array_like
        Lasting rise and amplitude of the lowest note [Pa].
    step : array_like
        `step_share` of the part.
    net : array_like
        Share of the amplitude that acts on the whole piston at once, 0 for an ideal disc.
    share : array_like
        `burst_share` of the part at that note.
    """
    return np.asarray(area) * (np.asarray(mean_rise) * step + np.asarray(net) * ringing * share)
