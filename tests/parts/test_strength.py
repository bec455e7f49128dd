"""Strength at one place: each formula by another route, and what the leaves give together."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.life.draw import Draw
from blockwright.life.leaves import SampleLeaves, TracedLeaves
from blockwright.parts.strength import (
    bending_gradient,
    family,
    fatigue_strength,
    metal_temperature_factor,
    roughness_factor,
    section_tensile,
    support_number,
    tensile_strength,
    updated_tensile,
)

from .wall_bench import bench_build

MPA = 1e6


def leaves(build, samples=0):
    return SampleLeaves(build, Draw(samples), {})


def column(value):
    return np.full((1, 1, 1, 1), float(value))


def test_section_law_against_the_table_of_en_1561():
    """EN 1561 (read on a foundry's page), GJL-250 by wall, middle of each range by ratio; within 6 %."""
    for low, high, tensile in ((5, 10, 250), (10, 20, 225), (20, 40, 195), (40, 80, 170), (80, 150, 155)):
        wall = np.sqrt(low * high) * 1e-3
        ours = section_tensile(250.0, wall, np.sqrt(50.0) * 1e-3, 0.17)
        assert_allclose(ours, tensile, rtol=0.06)
    assert section_tensile(250.0, 0.001, 0.01, 0.17) == section_tensile(250.0, 0.005, 0.01, 0.17)


def test_support_number_is_continuous_and_held_above_one_per_millimetre():
    for g in (100.0, 1000.0):
        low, high = (support_number(g * f, 250 * MPA, -0.05, 3200 * MPA) for f in (1 - 1e-9, 1 + 1e-9))
        assert_allclose(low, high, rtol=1e-6)
    assert support_number(5e3, 250e6, -0.05, 3.2e9) == support_number(1e3, 250e6, -0.05, 3.2e9)
    assert support_number(0.0, 250e6, -0.05, 3.2e9) == 1.0


def test_posterior_of_class_and_hardness_by_drawing():
    """The combination has the mean and spread of Bayes' rule for two log-normal estimates."""
    rng = np.random.default_rng(5)
    s1, s2, m1, m2 = 0.08, 0.13, np.log(214.0), np.log(240.0)
    weight = s2**2 / (s1**2 + s2**2)
    drawn = updated_tensile(
        np.exp(m1 + s1 * rng.standard_normal(200000)), np.exp(m2 + s2 * rng.standard_normal(200000)), weight
    )
    precision = 1 / s1**2 + 1 / s2**2
    assert_allclose(np.log(drawn).mean(), (m1 / s1**2 + m2 / s2**2) / precision, atol=1e-3)
    assert_allclose(np.log(drawn).std(), precision**-0.5, rtol=0.01)


def test_only_a_measured_hardness_counts():
    wall = column(0.010)
    plain, soft, hard = (
        tensile_strength(leaves(b), b, "casting", wall).item()
        for b in (
            bench_build(),
            bench_build(measured={"casting.hardness": 170.0}),
            bench_build(measured={"casting.hardness": 230.0}),
        )
    )
    assert soft < plain < hard
    assert_allclose(plain, catalogue.row("metal", "grey-30").si("tensile"), rtol=1e-12)  # the bar's own wall


def test_hardness_narrows_the_spread_and_an_unnamed_class_widens_it():
    def spread(**kwargs):
        build = bench_build(**kwargs)
        return np.log(tensile_strength(leaves(build, 2000), build, "casting", column(0.010))[1:]).std()

    read = {"casting.hardness": 205.0}
    assert spread(measured=read) < spread()
    assert spread(assumed_material=True) > 1.3 * spread()
    assert spread(assumed_material=True, measured=read) < 0.8 * spread(assumed_material=True)


def test_a_caps_own_hardness_is_not_carried_to_another_section():
    """Hardness read on the cap holds for the cap: only the class share moves with thickness."""
    build = bench_build(measured={"caps.hardness": 205.0, "casting.hardness": 205.0})
    ratios = {}
    for section in ("caps", "casting"):
        thin, thick = (
            tensile_strength(leaves(build), build, section, column(t)).item() for t in (0.010, 0.025)
        )
        ratios[section] = thick / thin
    assert ratios["casting"] < ratios["caps"] < 1.0


@pytest.mark.parametrize("row", catalogue.names("metal"))
def test_every_metal_has_a_sensible_fatigue_limit(row):
    """Median, 20 mm section: axial below bending below the bar's; skin and notch in their direction."""
    build = bench_build(material=row)
    t = column(0.020)

    def limit(**kwargs):
        return fatigue_strength(leaves(build), build, "caps", thickness=t, **kwargs).item()

    bar = catalogue.row("metal", row)
    axial, bending = limit(loading="axial"), limit(loading="bending")
    assert 0.15 * bar.si("tensile") * 0.5 < axial < bending < bar.si("endurance_ratio") * bar.si("tensile")
    assert limit(skin=True) < axial
    assert limit(gradient=column(500.0)) > axial
    assert limit(temperature=column(473.0)) < axial
    assert family(row) in ("grey", "ductile", "steel", "aluminium")


@settings(max_examples=50, deadline=None)
@given(
    thin=st.floats(0.005, 0.1),
    more=st.floats(1.01, 3.0),
    rough=st.floats(1e-6, 3e-4),
    rm=st.floats(1.5e8, 1e9),
)
def test_factors_fall_with_size_and_roughness(thin, more, rough, rm):
    assert section_tensile(rm, thin * more, 0.01, 0.17) <= section_tensile(rm, thin, 0.01, 0.17)
    assert roughness_factor(rm, rough * more, 0.06, 1e8) <= roughness_factor(rm, rough, 0.06, 1e8)
    assert bending_gradient(thin * more, 0.0) < bending_gradient(thin, 0.0)


def test_temperature_of_steel_and_aluminium():
    """FKM guideline 2012 (read): steel 1 - 1.4e-3 (T - 100), aluminium 1 - 1.2e-3 (T - 50)."""
    assert_allclose(metal_temperature_factor(473.15, 1.4, 100.0), 0.86, rtol=1e-12)
    assert_allclose(metal_temperature_factor(423.15, 1.2, 50.0), 0.88, rtol=1e-12)
    assert metal_temperature_factor(300.0, 1.4, 100.0) == 1.0


def test_replay_under_the_tracer_equals_the_nominal_sample():
    build = bench_build(measured={"casting.hardness": 205.0})
    sampled = SampleLeaves(build, Draw(5), {})
    traced = TracedLeaves(build, {}, "key")
    thickness = "casting.walls.1.0.0"
    a = fatigue_strength(sampled, build, "casting", thickness=sampled.build(thickness), skin=True)
    b = fatigue_strength(traced, build, "casting", thickness=traced.build(thickness), skin=True)
    assert_allclose(b.value, a[:1], rtol=1e-12)
    kinds = {node.leaf.kind for node in b.node.walk() if node.leaf}
    assert kinds == {"build", "catalogue", "model"}
