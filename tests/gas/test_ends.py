"""The end of a duct against a still volume: every state that boost and nitrous can reach.

The checks recompute throat, face and wave from what the kernel returns with the equations in their textbook
form (powers of pressure ratios); the kernel solves them in other variables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from blockwright.gas.kernels.ends import nozzle_end

AREA = 1.1e-3


@dataclass(frozen=True)
class State:
    """Duct's edge and volume."""

    u: float
    p: float
    T: float
    R: float
    gamma: float
    p0: float
    T0: float
    R0: float
    gamma0: float
    share: float

    @property
    def rho(self) -> float:
        return self.p / (self.R * self.T)

    @property
    def a(self) -> float:
        return math.sqrt(self.gamma * self.R * self.T)

    def flow(self, guess=0.0, **changed):
        s = State(**(vars(self) | changed))
        return nozzle_end(
            s.rho, s.u, s.p, s.a, s.gamma, AREA, s.p0, s.T0, s.R0, s.gamma0, s.share * AREA, 1.0, guess
        )


@st.composite
def states(draw):
    p = 10.0 ** draw(st.floats(3.0, 7.5))
    ratio = 10.0 ** draw(st.one_of(st.floats(-3.0, 3.0), st.floats(-0.3, 0.3), st.floats(-1e-5, 1e-5)))
    speeds = st.one_of(st.floats(-1500.0, 1500.0), st.floats(-60.0, 60.0), st.just(0.0))
    shares = st.one_of(st.floats(0.0, 1.0), st.floats(1e-8, 0.01), st.floats(0.999, 1.0), st.just(1.0))
    gas = st.tuples(st.floats(200.0, 3500.0), st.floats(180.0, 420.0), st.floats(1.15, 1.67))
    return State(draw(speeds), p, *draw(gas), p * ratio, *draw(gas), draw(shares))


def random_states(count, seed):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        p = 10.0 ** rng.uniform(3.0, 7.5)
        ratio = 10.0 ** (rng.uniform(-3.0, 3.0) * rng.choice([1.0, 0.2, 1e-5]))
        u = rng.uniform(-1500.0, 1500.0) * rng.choice([1.0, 0.05, 0.0])
        share = rng.choice(
            [rng.random(), 1.0, 10.0 ** rng.uniform(-8, 0), 1.0 - 10.0 ** rng.uniform(-9, -1), 0]
        )
        own = rng.uniform([200.0, 180.0, 1.15], [3500.0, 420.0, 1.67])
        other = rng.uniform([200.0, 180.0, 1.15], [3500.0, 420.0, 1.67])
        yield State(float(u), p, *map(float, own), p * ratio, *map(float, other), float(share))


def nozzle_flow(p0, heat0, gamma, back, area):
    """Mass flow through an isentropic throat; `heat0` is R T0."""
    r = max(back / p0, (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
    root = 2.0 * gamma / (gamma - 1.0) * max(1.0 - r ** ((gamma - 1.0) / gamma), 0.0)
    return area * p0 / math.sqrt(heat0) * r ** (1.0 / gamma) * math.sqrt(root)


def wave(s, p_face):
    """Speed of the duct's gas once its pressure is `p_face` (Toro 2009, sec. 4.2, from memory)."""
    g = s.gamma
    if p_face >= s.p:
        a, b = 2.0 / ((g + 1.0) * s.rho), (g - 1.0) / (g + 1.0) * s.p
        return s.u + (p_face - s.p) * math.sqrt(a / (p_face + b))
    return s.u + 2.0 * s.a / (g - 1.0) * ((p_face / s.p) ** ((g - 1.0) / (2.0 * g)) - 1.0)


def check(s):
    """All that physics asks of one state; the words of the branch that it met."""
    mass, force, rise, face, _ = s.flow()
    assert all(map(math.isfinite, (mass, force, rise, face)))
    assert face >= 0.0
    assert force >= 0.0
    if mass == 0.0:
        assert_allclose(force, face * AREA, rtol=1e-12)
        return "still"
    if force / AREA - face < 1e-6 * face:  # too slow to be found again from the force to eight figures
        return "slow"
    u = (force / AREA - face) / (mass / AREA)
    heat = face * AREA * u / mass  # R T at the face
    if mass > 0.0:
        cp = s.gamma0 / (s.gamma0 - 1.0)
        assert_allclose(cp * heat + 0.5 * u * u, cp * s.R0 * s.T0, rtol=1e-7)  # first law
        gain = cp * math.log(heat / (s.R0 * s.T0)) - math.log(face / s.p0)
        assert gain > -1e-7  # second law
        assert rise == 0.0
        mach = u / math.sqrt(s.gamma0 * heat)
        assert mach <= 1.0 + 1e-9
        assert_allclose(mass, nozzle_flow(s.p0, s.R0 * s.T0, s.gamma0, face, s.share * AREA), rtol=1e-6)
        if mach < 1.0 - 1e-9:
            assert_allclose(u, wave(s, face), atol=1e-6 * s.a)
            return "in"
        assert wave(s, face) >= u - 1e-6 * s.a  # the duct would take more
        return "in, sonic face"
    cp = s.gamma / (s.gamma - 1.0)
    own = s.p / s.rho
    assert_allclose(rise, cp * (heat - own) + 0.5 * u * u, atol=1e-7 * s.a**2)  # first law
    gain = cp * math.log(heat / own) - math.log(face / s.p)
    assert gain > -1e-7  # second law
    if u < -s.a and abs(face / s.p - 1.0) < 1e-12:
        assert_allclose(mass, s.rho * s.u * AREA, rtol=1e-12)
        return "out, all carried away"
    assert_allclose(u, wave(s, face), atol=1e-6 * s.a)
    mach = -u / math.sqrt(s.gamma * heat)
    assert mach <= 1.0 + 1e-7
    if s.share > 1.0 - 1e-7:
        if mach < 1.0 - 1e-6:
            assert_allclose(face, s.p0, rtol=2e-6)
            return "out, plain"
        assert face >= s.p0 * (1.0 - 1e-6)
        return "out, plain, sonic"
    stretch = 1.0 + 0.5 * (s.gamma - 1.0) * mach * mach
    total = face * stretch ** (s.gamma / (s.gamma - 1.0))
    assert_allclose(-mass, nozzle_flow(total, heat * stretch, s.gamma, s.p0, s.share * AREA), rtol=1e-6)
    return "out"


@settings(max_examples=800, deadline=None)
@given(states())
def test_laws_hold_at_every_state(s):
    check(s)


def test_laws_hold_at_random_states_and_every_branch_is_met():
    met = {}
    for s in random_states(20_000, 7):
        name = check(s)
        met[name] = met.get(name, 0) + 1
    ways = {"still", "slow", "in", "in, sonic face", "out", "out, plain", "out, plain, sonic"}
    assert set(met) == ways | {"out, all carried away"}
    assert min(met.values()) > 50, met


@settings(deadline=None)
@given(states())
def test_equal_pressures_at_rest_are_exactly_still(s):
    mass, force, rise, face, _ = s.flow(u=0.0, p0=s.p)
    assert (mass, force, rise, face) == (0.0, s.p * AREA, 0.0, s.p)


@settings(max_examples=300, deadline=None)
@given(states(), st.floats(-10.0, 10.0))
def test_the_guess_changes_nothing(s, guess):
    cold = s.flow()
    own = s.rho * s.a * AREA
    for start in (guess, cold[4]):
        warm = s.flow(guess=start)
        assert_allclose(warm[0], cold[0], rtol=1e-6, atol=1e-12 * own)
        assert_allclose(warm[1], cold[1], rtol=1e-6)
        assert_allclose(warm[3], cold[3], rtol=1e-6)


@settings(max_examples=300, deadline=None)
@given(states(), st.floats(1.0, 1.5), st.floats(0.0, 200.0))
def test_more_pressure_outside_or_more_speed_inside_never_means_less_flow_in(s, more, faster):
    mass, _, _, face, _ = s.flow()
    small = 1e-6 * (abs(mass) + 1e-3 * s.rho * s.a * AREA)
    assert s.flow(p0=s.p0 * more)[0] >= mass - small
    assert s.flow(p0=s.p0 * more)[3] >= face * (1.0 - 1e-6)
    assert s.flow(u=s.u + faster)[0] >= mass - small


@settings(max_examples=300, deadline=None)
@given(states(), st.floats(0.0, 1.0))
def test_a_wider_opening_never_passes_less(s, part):
    wide, narrow = s.flow()[0], s.flow(share=s.share * part)[0]
    assert abs(narrow) <= abs(wide) * (1.0 + 1e-6)
    assert narrow * wide >= 0.0


def jumps(s, count, name, low, high):
    """Largest change of mass, force and power between neighbours of a sweep, over the range of each."""
    spaced = np.geomspace if low > 0.0 else np.linspace
    found = np.array([s.flow(**{name: float(x)})[:3] for x in spaced(low, high, count)])
    found[:, 2] *= found[:, 0]
    return np.abs(np.diff(found, axis=0)).max(axis=0) / np.maximum(np.ptp(found, axis=0), 1e-9)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    ("name", "low", "high"), [("p0", 1e2, 1e8), ("u", -1500.0, 1500.0), ("share", 0.0, 1.0)]
)
def test_nothing_jumps_between_branches(seed, name, low, high):
    """Four times as fine a sweep has steps a quarter as large (half, where a root's slope is infinite).

    The face's own pressure may jump: where a shock stands in it, both sides carry the same fluxes.
    """
    rng = np.random.default_rng(seed)
    s = State(
        float(rng.choice([-900.0, -200.0, 0.0, 300.0])), 1.3e5, float(rng.uniform(250, 1800)), 287.0, 1.33,
        1.3e5 * float(rng.choice([0.1, 0.7, 1.5, 8.0])), float(rng.uniform(300, 2500)), 290.0, 1.27,
        float(rng.choice([0.2, 0.6, 0.95, 1.0])),
    )  # fmt: skip
    coarse, fine = jumps(s, 1000, name, low, high), jumps(s, 4000, name, low, high)
    assert np.all(fine <= np.maximum(0.55 * coarse, 1e-6)), (coarse, fine)


@settings(deadline=None)
@given(st.floats(-1200.0, 600.0), st.floats(1.15, 1.67))
def test_a_wall_is_a_contact_at_rest(u, gamma):
    """Independent route: the pressure at which the wave stops the gas, by root search."""
    s = State(u, 2e5, 700.0, 287.0, gamma, 1e5, 300.0, 287.0, 1.4, 0.0)
    mass, force, _, face, _ = s.flow()
    vacuum = u >= 2.0 * s.a / (gamma - 1.0) * (1.0 - 1e-12)
    expected = 0.0 if vacuum else brentq(lambda p: wave(s, p), 1e-9, 1e9, xtol=1e-9, rtol=1e-14)
    assert mass == 0.0
    assert_allclose(face, expected, rtol=1e-9, atol=1e-6)
    assert_allclose(force, face * AREA, rtol=1e-12)


def test_sound_is_reflected_upside_down_by_the_open_end_and_upright_by_a_wall():
    """A weak wave of pressure d that arrives: the open end lets 2 d/(rho a) out, the wall has p0 + 2 d."""
    rest = State(0.0, 1e5, 300.0, 287.0, 1.4, 1e5, 300.0, 287.0, 1.4, 1.0)
    d = 1.0
    arriving = rest.flow(p=1e5 + d, u=-d / (rest.rho * rest.a))
    assert_allclose(arriving[0], -2.0 * d / rest.a * AREA, rtol=1e-4)
    assert_allclose(arriving[3], 1e5)
    shut = rest.flow(p=1e5 + d, u=-d / (rest.rho * rest.a), share=0.0)
    assert_allclose(shut[3] - 1e5, 2.0 * d, rtol=1e-4)


def test_reverse_multiplies_the_area_of_outflow_only_and_areas_are_cut_at_the_ducts():
    s = State(0.0, 1.4e5, 300.0, 287.0, 1.4, 1.0e5, 300.0, 287.0, 1.4, 0.4)
    args = (s.rho, s.u, s.p, s.a, s.gamma, AREA, s.p0, s.T0, s.R0, s.gamma0)
    assert nozzle_end(*args, 0.4 * AREA, 0.5, 0.0) == nozzle_end(*args, 0.2 * AREA, 1.0, 0.0)
    assert nozzle_end(*args, 4.0 * AREA, 1.0, 0.0) == nozzle_end(*args, AREA, 1.0, 0.0)
    inward = (*args[:6], 2e5, *args[7:])
    assert nozzle_end(*inward, 0.4 * AREA, 0.5, 0.0) == nozzle_end(*inward, 0.4 * AREA, 1.0, 0.0)


def test_blow_down_into_a_duct_stays_at_most_sonic():
    """Cylinder over duct of 4 to 40: where a prototype without a sonic branch met supersonic ends."""
    for ratio in np.linspace(3.0, 40.0, 38):
        for share in (0.05, 0.2, 0.5, 0.8, 1.0):
            s = State(120.0, 1.1e5, 900.0, 287.0, 1.33, 1.1e5 * ratio, 1500.0, 290.0, 1.27, share)
            mass, force, _, face, _ = s.flow()
            u = (force / AREA - face) / (mass / AREA)
            assert u <= math.sqrt(s.gamma0 * face * AREA * u / mass) * (1.0 + 1e-9)
            # As much as the choked throat passes, whatever the duct does.
            assert_allclose(mass, nozzle_flow(s.p0, s.R0 * s.T0, 1.27, face, share * AREA), rtol=1e-6)
