"""Knock: the delay, its integral, octane numbers asked and offered, and bursts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad, solve_ivp
from scipy.special import jnp_zeros, jv

from blockwright.build import catalogue
from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.fuels import working_gas
from blockwright.gas.knock import (
    delay_spread,
    effective_octane,
    ignition_delay,
    integral_at_end,
    is_rated,
    knock_integral,
    knock_onset,
    octane_required,
)
from blockwright.gas.knock_burst import (
    DRAPER,
    burst_load,
    burst_share,
    dynamic_share,
    first_mode_amplitude,
    knock_burst,
    severity,
    step_share,
)

ANGLE = np.arange(-120.0, 60.0)
SPEED = 314.0


def traces(hot: float = 880.0) -> tuple[np.ndarray, np.ndarray]:
    """An invented compression and burn: pressure [Pa] and end-gas temperature [K]."""
    bump = np.exp(-(((ANGLE - 15.0) / 45.0) ** 2))
    return 1e5 + 55e5 * bump**3, 380.0 + (hot - 380.0) * bump


def test_integral_against_quadrature():
    """Independent route: adaptive quadrature of the same rate, continuous in the angle."""

    def rate(a: float) -> float:
        bump = math.exp(-(((a - 15.0) / 45.0) ** 2))
        return 1.0 / float(ignition_delay(1e5 + 55e5 * bump**3, 380.0 + 500.0 * bump, 95.0))

    pressure, temperature = traces()
    grown = knock_integral(pressure, temperature, ANGLE, SPEED, 95.0)
    for end in (0, 10, 30):
        by_quad = quad(rate, -120.0, float(end), limit=200)[0] * math.radians(1.0) / SPEED
        assert_allclose(grown[end + 120], by_quad, rtol=2e-3)
    assert grown[0] == 0.0
    assert np.all(np.diff(grown) >= 0.0)


def test_integral_of_a_batch_and_of_gas_that_is_gone():
    pressure, temperature = traces()
    both = np.stack([temperature, np.where(ANGLE > 10.0, np.nan, temperature)])
    grown = knock_integral(np.stack([pressure, pressure]), both, ANGLE, np.array([SPEED, SPEED]), 95.0)
    assert grown.shape == (2, ANGLE.size)
    assert_allclose(grown[0, :131], grown[1, :131])
    assert np.all(grown[1, 132:] == grown[1, 131])
    half = knock_integral(pressure, temperature, ANGLE, 2.0 * SPEED, 95.0)
    assert_allclose(half, 0.5 * grown[0])


def test_onset_is_where_the_integral_passes_one():
    pressure, temperature = traces()
    grown = knock_integral(pressure, temperature, ANGLE, SPEED, 60.0)
    onset = knock_onset(ANGLE, np.stack([grown, 1e-3 * grown]))
    assert_allclose(np.interp(onset[0], ANGLE, grown), 1.0, rtol=1e-12)
    assert np.isnan(onset[1])


def test_octane_required_just_prevents_knock():
    pressure, temperature = traces()
    total = knock_integral(pressure, temperature, ANGLE, SPEED, 90.0)[-1]
    needed = float(octane_required(total, 90.0))
    assert_allclose(knock_integral(pressure, temperature, ANGLE, SPEED, needed)[-1], 1.0, rtol=1e-12)


def test_the_last_end_gas_does_not_count():
    pressure, temperature = traces()
    grown = knock_integral(pressure, temperature, ANGLE, SPEED, 95.0)
    unburned = np.clip(1.0 - (ANGLE + 5.0) / 40.0, 0.0, 1.0)
    at = integral_at_end(grown, unburned, least=0.05)
    assert_allclose(at, np.interp(33.0, ANGLE, grown), rtol=1e-12)
    assert integral_at_end(grown, None) == grown[-1]
    assert integral_at_end(grown, unburned) == pytest.approx(
        np.interp(
            -5.0 + 40.0 * (1.0 - catalogue.row("model", "knock.least_end_gas").si("value")), ANGLE, grown
        )
    )


def test_octane_index_weighs_sensitivity_less_when_boosted():
    natural, boosted, strongly = (effective_octane("petrol-98", p) for p in (1.0e5, 2.03e5, 4e5))
    assert natural.index < 98.0 < boosted.index
    assert boosted.index == pytest.approx(strongly.index, abs=0.05)
    assert boosted.u > 1.0
    assert not natural.caution


def test_alcohol_has_a_wide_band_and_says_why():
    methanol, petrol = effective_octane("methanol", 1e5), effective_octane("petrol-95", 1e5)
    assert methanol.index > 100.0
    assert methanol.u > 1.5 * petrol.u
    assert "above 100" in methanol.caution


def test_nitromethane_is_refused():
    assert not is_rated("nitro-50")
    assert is_rated("methanol")
    with pytest.raises(OutsideValidity, match="nitromethane is not rated"):
        effective_octane("nitro-50", 1e5)


def test_delay_is_less_sure_off_stoichiometric_and_with_nitrous():
    plain = float(delay_spread(850.0, 1.0))
    assert plain > catalogue.row("model", "knock.delay_factor").u("value")
    assert float(delay_spread(850.0, 0.8)) > plain
    assert float(delay_spread(850.0, 1.0, 0.3)) > plain
    slope = math.log(ignition_delay(40e5, 862.75, 95.0) / ignition_delay(40e5, 850.0, 95.0))
    by_hand = math.hypot(0.15, slope)
    assert_allclose(plain, by_hand, rtol=0.01)


# --- bursts --------------------------------------------------------------------------------------


def zones(share: float):
    gas = working_gas("petrol-98")
    fresh = np.array([1.0, 1.0 / (0.88 * gas.air_fuel_ratio), 0, 0, 0, 0, 0])
    fresh /= fresh.sum()
    hot = np.array([0, 0, 0, 0, fresh[0], fresh[1], 0])
    return gas, 8e-4 * share * fresh, 8e-4 * (1.0 - share) * hot


def test_burst_is_what_the_energy_allows():
    """Mean rise against the heat by hand: (gamma - 1) Q/V with gamma 1.22 to 1.28 and the fuel's energy."""
    gas, fresh, hot = zones(0.1)
    burst = knock_burst(gas, 70e5, fresh, 880.0, hot, 2650.0)
    volume = (fresh.sum() * 275.0 * 880.0 + hot.sum() * 290.0 * 2650.0) / 70e5
    # Rich by 12 %: only the air's oxygen gives heat, less what dissociates at 2700 K.
    heat = 0.9 * fresh[0] / gas.air_fuel_ratio * gas.heating_value
    assert 0.20 * heat / volume < burst.mean_rise < 0.30 * heat / volume
    assert burst.local_rise > 10.0 * burst.mean_rise
    assert 900.0 < burst.sound_speed < 1050.0
    assert_allclose(burst.pocket, fresh.sum() * 275.0 * 880.0 / 70e5 / volume, rtol=0.04)


def test_more_end_gas_knocks_harder():
    found = [knock_burst(z[0], 70e5, z[1], 880.0, z[2], 2650.0) for z in map(zones, (0.02, 0.1, 0.3))]
    assert found[0].ringing < found[1].ringing < found[2].ringing
    assert found[0].mean_rise < found[1].mean_rise < found[2].mean_rise
    assert_allclose(found[0].local_pressure, found[2].local_pressure, rtol=1e-6)


def test_no_end_gas_no_burst():
    gas, fresh, hot = zones(0.1)
    with pytest.raises(InputError, match="no end gas"):
        knock_burst(gas, 70e5, 0.0 * fresh, 880.0, hot, 2650.0)


def test_first_mode_is_a_fourier_coefficient():
    share, x = 0.2, (np.arange(20_000) + 0.5) / 20_000
    slab = np.where(x < share, 7.0, 0.0)
    assert_allclose(first_mode_amplitude(7.0, share), 2.0 * np.mean(slab * np.cos(np.pi * x)), rtol=1e-6)


def test_words_for_amplitudes():
    said = [severity(p * 1e5) for p in (0.2, 1.0, 8.0, 30.0, 90.0)]
    assert said == ["below trace", "trace", "heavy", "damaging", "runaway"]


def test_modes_are_zeros_of_the_slope_and_push_nothing():
    """Each mode's mean over the disc vanishes: round modes by J1(alpha) = 0, the rest by their angle."""
    for (diameters, circles), alpha in DRAPER.items():
        which = circles if diameters == 0 else circles + 1
        assert_allclose(alpha, jnp_zeros(diameters, which)[-1], rtol=1e-5)
    r = np.linspace(0.0, 1.0, 20_001)
    assert abs(np.trapezoid(jv(0, DRAPER[(0, 1)] * r) * r, r)) < 1e-6


def test_dynamic_share_limits():
    assert dynamic_share(0.0, 1000.0, 0.02) == 1.0
    assert_allclose(dynamic_share(1000.0, 1000.0, 0.02), 25.0)
    assert_allclose(dynamic_share(6000.0, 1000.0, 0.0), 1.0 / 35.0)


@pytest.mark.parametrize(("own", "damping"), [(800.0, 0.01), (2500.0, 0.03), (6500.0, 0.02)])
def test_burst_share_against_integration_in_time(own, damping):
    """Independent route: the equation of motion, step by step."""
    frequency, fade = 5500.0, 1e-3
    w, wn = 2 * math.pi * frequency, 2 * math.pi * own

    def motion(t: float, x: np.ndarray) -> list[float]:
        load = math.exp(-t / fade) * math.cos(w * t)
        return [x[1], wn**2 * (load - x[0]) - 2.0 * damping * wn * x[1]]

    time = np.arange(0.0, 3.0 / own + 3.0 * fade, 2e-6)
    found = solve_ivp(motion, (0.0, time[-1]), [0.0, 0.0], t_eval=time, rtol=1e-8, atol=1e-10).y[0]
    assert_allclose(burst_share(frequency, own, damping, fade), np.abs(found).max(), rtol=5e-3)


def test_burst_share_refuses_nonsense():
    with pytest.raises(InputError, match=r"damping 1\.2"):
        burst_share(5500.0, 1000.0, 1.2, 1e-3)


def test_little_of_a_burst_reaches_a_slow_cap():
    """Twenty bar of ringing at 5.5 kHz on a cap at 1 kHz adds less than a tenth of what it would if slow."""
    area, ringing = 8.1e-3, 20e5
    share = burst_share(5500.0, 1000.0, 0.02, 1e-3)
    force = float(burst_load(area, 0.0, step_share(0.02), ringing, 0.1, share))
    assert 0.0 < force < 0.01 * area * ringing
    assert_allclose(burst_load(area, 5e5, step_share(0.0), 0.0, 0.1, share), 2.0 * area * 5e5)
