"""The turbulent flame: geometry, laws, profiles, scatter."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas import solve
from blockwright.gas.anchor import anchored_factor
from blockwright.gas.closed import closed_details
from blockwright.gas.combustion import (
    as_profile,
    burn_marks,
    burn_row,
    burn_summary,
    profile_places,
    wiebe,
    wiebe_window,
)
from blockwright.gas.flame import Flame
from blockwright.gas.flame_speed import ROWS, laminar, laminar_speed
from blockwright.gas.fuels import TABLE_OF, working_gas
from blockwright.gas.kernels.cylinder import NZ
from blockwright.gas.kernels.flame import expansion, front, ignite
from blockwright.gas.kernels.properties import mixture
from blockwright.gas.kernels.zones import Z_ALPHA, Z_BETA, Z_ENERGY, Z_R, Z_SPEED, Z_TU, Z_W
from blockwright.gas.spread import cylinder_spread, peak_spread

from .engines import engine, point
from .test_zones import case, charge


@pytest.mark.parametrize("offset", [0.0, 0.1, 0.3, 0.6, 0.9])
@pytest.mark.parametrize("height", [0.1, 0.25, 1.0, 2.5])
def test_front_against_random_points(offset, height):
    """Monte Carlo: of points spread evenly over the chamber, the share nearer to the plug than the radius."""
    rng = np.random.default_rng(3)
    n = 200_000
    r, turn = np.sqrt(rng.random(n)), rng.random(n) * 2.0 * math.pi
    far = np.sqrt((r * np.cos(turn) - offset) ** 2 + (r * np.sin(turn)) ** 2 + (height * rng.random(n)) ** 2)
    whole = math.pi * height
    for share in (0.003, 0.05, 0.3, 0.7, 0.95, 0.998):
        radius, _ = front(share * whole, 0.5, 1.0, offset, height)
        assert np.mean(far < radius) == pytest.approx(share, abs=4.5 * math.sqrt(share * (1 - share) / n))


@pytest.mark.parametrize("offset", [0.0, 0.2, 0.55])
def test_the_front_is_where_the_volume_grows(offset):
    """A = dV/dr, by differences of the radius over volumes."""
    whole = math.pi * 0.3
    for share in np.linspace(0.02, 0.97, 20):
        small, large = (front((share + d) * whole, 0.5, 1.0, offset, 0.3)[0] for d in (-2e-4, 2e-4))
        area = front(share * whole, 0.5, 1.0, offset, 0.3)[1]
        assert area == pytest.approx(4e-4 * whole / (large - small), rel=0.02)


def test_front_of_a_small_flame_is_a_hemisphere_and_ends_with_the_chamber():
    radius, area = front(2.0 / 3.0 * math.pi * 0.1**3, 0.1, 1.0, 0.3, 0.5)
    assert_allclose([radius, area], [0.1, 2.0 * math.pi * 0.01], rtol=1e-5)
    radius, _ = front(math.pi * 0.5, 0.1, 1.0, 0.3, 0.5)
    assert radius == pytest.approx(math.hypot(1.3, 0.5), rel=2e-3)


@pytest.mark.parametrize("fuel", sorted(ROWS))
def test_kernel_and_formula_agree_on_the_laminar_speed(fuel):
    gas = working_gas(fuel)
    row = burn_row(engine(1), point(fuel=fuel, law="flame"))
    for phi in (0.6, 0.85, 1.1, 1.4, 1.7):
        zone = np.zeros(NZ)
        masses = np.array([1.0, phi / gas.air_fuel_ratio, 0, 0, 0.06, 0.06 * phi / gas.air_fuel_ratio, 0])
        zone[Z_W : Z_W + 7] = masses / masses.sum()
        residual = float(zone[Z_W + 4 : Z_W + 7].sum())
        ignite(zone, row, 1e-4, 1e-3, 20.0, 3.5, engine(1).geometry, gas.constants)
        fit = laminar(fuel)
        ours = zone[Z_SPEED] * (650.0 / fit.temperature) ** zone[Z_ALPHA]
        ours *= (18e5 / fit.pressure) ** zone[Z_BETA]
        assert_allclose(ours, laminar_speed(fuel, phi, 650.0, 18e5, residual), rtol=1e-9)


def test_every_fuel_with_a_table_has_a_laminar_speed():
    assert set(ROWS) == set(TABLE_OF)
    assert {name for name, row in ROWS.items() if row.doubtful} == {"nitro-20", "nitro-50", "nitro-90"}
    with pytest.raises(InputError, match="laminar"):
        laminar("coal")


def durations(e, t, p, **changes):
    """Spark to 10 % and 10 to 90 % [deg] of each cycle of a batch."""
    seen = closed_details(e, t, p, **changes)
    marks = seen.burn_angles()
    return np.stack([marks[:, 1] - seen.start, marks[:, 3] - marks[:, 1]])


def test_burning_answers_to_what_shapes_it():
    """Faster: turbulence, laminar speed, warmth.  Slower: residual gas, lean, rich, speed in degrees."""
    e, t, p = case(law="flame", spark=-32.0)
    base = durations(e, t, p)[:, 0]
    assert np.all(durations(e, t, p, turbulence=1.3)[:, 0] < base)
    assert np.all(durations(e, t, p, flame_speed=1.3)[:, 0] < base)
    assert np.all(durations(e, t, p, speed=1.5 * p.speed)[:, 0] > base)
    warm = dataclasses.replace(t, temperature=t.temperature * 1.05, pressure=t.pressure * 1.05)
    assert durations(e, warm, p)[0, 0] < base[0]
    fresh, ash = p.charge(), p.ash()
    dirty = dataclasses.replace(t, masses=t.masses.sum() * (0.85 * fresh + 0.15 * ash))
    assert np.all(durations(e, dirty, p)[:, 0] > base)
    for lambda_ in (0.7, 1.1):
        other = dataclasses.replace(p, lambda_=lambda_)
        masses = t.masses.sum() * (0.96 * other.charge() + 0.04 * other.ash())
        assert np.all(durations(e, dataclasses.replace(t, masses=masses), other)[:, 0] > base)


def test_nitrous_moves_the_burn_little():
    """Findings 1.4: its flames are not faster by their oxygen; here only temperature and mixture act."""
    e, t, p = case(law="flame", spark=-32.0)
    sprayed = dataclasses.replace(p, nitrous=0.15)
    masses = t.masses.sum() * (0.96 * sprayed.charge() + 0.04 * sprayed.ash())
    ratio = durations(e, dataclasses.replace(t, masses=masses), sprayed)[:, 0] / durations(e, t, p)[:, 0]
    assert np.all((ratio > 0.8) & (ratio < 1.1))


@pytest.mark.parametrize("plug_offset", [0.0, 0.4])
def test_a_flame_held_as_a_profile_is_the_same_cycle(plug_offset):
    e, t, p = case(law="flame", spark=-32.0, turbulence=1.5, plug_offset=plug_offset)
    seen = closed_details(e, t, p)
    summary = burn_summary(seen.burned_share[0], p.spark)
    again = closed_details(e, t, as_profile(p, summary))
    shut = np.isfinite(seen.pressure[0])
    assert_allclose(again.pressure[0, shut], seen.pressure[0, shut], rtol=1.5e-3)
    assert_allclose(again.work, seen.work, rtol=3e-4)
    assert_allclose(
        again.burn_angles()[0], [summary.ca02, summary.ca10, summary.ca50, summary.ca90], atol=0.1
    )


def test_a_profile_of_wiebes_law_is_wiebes_law():
    e, t, p = case()
    places = np.linspace(0.0, 1.0, 65)
    profile = wiebe(places, 0.0, 1.0) / wiebe(1.0, 0.0, 1.0)
    held = closed_details(e, t, dataclasses.replace(p, profile=profile)).pressure[0]
    given = closed_details(e, t, p).pressure[0]
    shut = np.isfinite(given)
    # The two define 10 and 90 % of what burns in the end with 0.7 % between them.
    assert_allclose(held[shut], given[shut], rtol=0.01)


def test_summary_of_wiebes_law():
    """Angles come back from a trace at whole degrees."""
    start, length = (float(v) for v in wiebe_window(-7.3, 28.9))
    angle = np.concatenate([np.arange(0.0, 360.0), np.arange(-360.0, 0.0)])
    found = burn_summary(0.97 * wiebe(angle, start, length), start)
    assert found.burned == pytest.approx(0.97 * -math.expm1(-5.0), rel=1e-9)
    reached = -math.expm1(-5.0)
    for share, mine in ((0.1, found.ca10), (0.5, found.ca50), (0.9, found.ca90)):
        assert wiebe(mine, start, length) == pytest.approx(share * reached, abs=2e-4)
    assert_allclose(
        np.interp(profile_places(found.profile), np.linspace(0, 1, 65), found.profile), [0.1, 0.9], atol=2e-3
    )


def test_marks_of_many_burns_are_those_of_scipys_curve_through_each():
    """Independent: SciPy's monotone cubic through the whole degrees, and its root finder."""
    interpolate, optimize = pytest.importorskip("scipy.interpolate"), pytest.importorskip("scipy.optimize")
    e, t, p = case(law="flame", spark=-32.0)
    seen = closed_details(
        e, t, p, spark=np.array([-63.3, -40.0, -12.7]), turbulence=np.array([0.6, 1.0, 4.0])
    )
    angle = np.arange(-360.0, 300.0)
    for share, start, marks in zip(seen.burned_share, seen.start, seen.burn_angles(), strict=True):
        x = np.maximum.accumulate(np.nan_to_num(np.roll(share, 360)[: angle.size]))
        late = angle > start
        curve = interpolate.PchipInterpolator(np.r_[start, angle[late]], np.r_[0.0, x[late]] / x[-1])
        for part, mark in zip((0.02, 0.1, 0.5, 0.9), marks, strict=True):
            theirs = optimize.brentq(lambda a, c=curve, f=part: float(c(a)) - f, start, 150.0, xtol=1e-10)
            assert mark == pytest.approx(theirs, abs=1e-6)


def test_marks_of_nothing_beside_a_burn_are_none():
    shares = np.zeros((3, 720))
    shares[1] = np.nan
    shares[2, 20:] = 0.9
    shares[2, 360:] = 0.0
    marks = burn_marks(shares, np.array([-20.0, -20.0, -20.0]))
    assert np.isnan(marks[:2]).all()
    assert np.all((marks[2] > 19.0) & (marks[2] <= 20.0))


def test_kernel_expands_as_cantera_burns_it():
    """Independent: burned in equilibrium at one enthalpy and pressure by Cantera, dry, without residual."""
    ct = pytest.importorskip("cantera")
    gas = working_gas("methanol")
    theirs = ct.Solution("gri30.yaml")
    for phi, temperature, pressure in ((0.9, 600.0, 8e5), (1.2, 750.0, 20e5)):
        theirs.set_equivalence_ratio(phi, "CH3OH", "O2:0.21, N2:0.79")
        theirs.TP = temperature, pressure
        before = theirs.volume_mass
        theirs.equilibrate("HP")
        zone, scratch = np.zeros(NZ), np.zeros(8)
        zone[Z_W], zone[Z_W + 1] = 1.0, phi / gas.air_fuel_ratio
        zone[Z_W : Z_W + 7] /= zone[Z_W : Z_W + 7].sum()
        tables = (gas.frozen, gas.burned, gas.constants)
        energy, gas_constant, _, _ = mixture(zone[Z_W : Z_W + 8], temperature, math.log(pressure), *tables)
        zone[Z_TU], zone[Z_ENERGY], zone[Z_R] = temperature, energy, gas_constant
        # Tables and mechanism share no data of the fuel; 1 % of the volume is 0.3 % of the kernel's radius.
        assert expansion(zone, scratch, pressure, *tables) == pytest.approx(
            theirs.volume_mass / before, rel=0.01
        )


def test_nothing_burned_has_no_angles():
    found = burn_summary(np.zeros(720), -20.0)
    assert math.isnan(found.ca50)
    assert found.burned == 0.0


def test_anchored_flame_burns_as_measured():
    e, t, p = case(law="flame", spark=-32.0)
    factor = anchored_factor(e, t, p, burn_10_90=30.0)
    assert durations(e, t, p, turbulence=factor)[1, 0] == pytest.approx(30.0, abs=0.1)
    factor = anchored_factor(e, t, p, ca50=9.0)
    assert closed_details(e, t, p, turbulence=factor).burn_angles()[0, 2] == pytest.approx(9.0, abs=0.1)
    with pytest.raises(OutsideValidity, match="no turbulence burns"):
        anchored_factor(e, t, p, burn_10_90=3.0)
    with pytest.raises(InputError, match="either"):
        anchored_factor(e, t, p)


def test_scatter_follows_from_the_early_burn():
    """Against plain random drawing of the same three inputs; and no scatter without any."""
    e, t, p = case(ca10=-6.0, spark=-28.0)
    pmax, work = peak_spread(e, t, p)
    rng = np.random.default_rng(5)
    n = 1500
    z = rng.standard_normal((3, n))
    factor = np.exp(0.007 * z[2])
    charges = dataclasses.replace(t, pressure=t.pressure * factor, masses=factor[:, None] * t.masses)
    drawn = closed_details(
        e, charges, p, ca10=p.ca10 + 0.08 * 22.0 * z[0], burn_10_90=p.burn_10_90 * np.exp(0.05 * z[1])
    )
    assert pmax == pytest.approx(drawn.peak_pressure.std() / drawn.peak_pressure.mean(), rel=0.06)
    assert work == pytest.approx(drawn.work.std() / drawn.work.mean(), rel=0.08)
    assert_allclose(peak_spread(e, t, p, early=0.0, main=0.0, charge=0.0), 0.0, atol=1e-12)
    assert 0.9 < cylinder_spread(e, t, p, charge=0.02) / 0.02 < 1.1


def test_flame_runs_in_the_whole_engine():
    found = solve(
        engine(4), point(5000.0, law="flame", spark=-34.0, turbulence=1.6, fuel="methanol", lambda_=0.8)
    )
    assert found.mass_residual < 1e-9
    assert found.energy_residual < 1e-9
    assert 40e5 < found.peak_pressure.mean() < 90e5


@pytest.mark.parametrize("change", [{"turbulence": 0.0}, {"plug_offset": -0.01}, {"kernel_radius": math.nan}])
def test_impossible_flames_are_refused(change):
    with pytest.raises(InputError):
        Flame(-25.0, **change)


def test_sparks_out_of_range_and_unknown_laws_are_refused():
    with pytest.raises(OutsideValidity):
        Flame(-120.0)
    with pytest.raises(InputError, match="burn law"):
        closed_details(*(lambda e, t, p: (e, t, dataclasses.replace(p, law="guess")))(*case()))
    with pytest.raises(InputError, match="never fall"):
        profile_places(np.concatenate([[0.0, 0.5, 0.4], np.linspace(0.5, 1.0, 62)]))
    with pytest.raises(InputError, match="65 points"):
        profile_places(np.linspace(0.0, 1.0, 20))


def test_charge_helper_has_the_mixture_it_says():
    masses = charge(phi=1.2)
    gas = working_gas("iso-octane")
    assert masses[1] * gas.air_fuel_ratio / masses[0] == pytest.approx(1.2)
