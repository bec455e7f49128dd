"""The cap as a curved beam: against a plane elastic solution, limits, symmetry and refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import OutsideValidity
from blockwright.parts import cap_frame
from blockwright.parts.cap_film import film_force, film_pressure
from blockwright.parts.cap_frame import CROWN, KNOTS, STATIONS, CapDims, influence, sensitivity

from . import plane_cap, plane_joint

UNIFORM = CapDims(64e-3, 22e-3, 22e-3, 86e-3, 22e-3, 100e9, film=np.radians(65.0))
WIDE_FEET = CapDims(64e-3, 22e-3, 32e-3, 96e-3, 22e-3, 100e9)
PLACES = [float(np.radians(angle)) for angle in STATIONS]


@pytest.mark.parametrize("dims", [UNIFORM, WIDE_FEET])
@pytest.mark.parametrize("direction", [0.0, 0.64])
def test_held_feet_agree_with_a_plane_solution(dims, direction):
    """Independent route: eight-node plane-stress elements.  A beam this stout is good to some 7 %."""
    beam = influence(dims, direction=np.array([direction]))
    plane = plane_cap.solve(dims, direction, slide=False, places=PLACES)
    largest = max(plane.outer)
    assert_allclose(beam.stress[:, 0], plane.outer, atol=0.09 * largest)
    assert_allclose(max(beam.stress[:, 0]), largest, rtol=0.07)
    assert_allclose(beam.closing[0], plane.closing, rtol=0.16)


@pytest.mark.parametrize(("dims", "within"), [(UNIFORM, 0.03), (WIDE_FEET, 0.08)])
def test_free_feet_agree_with_a_plane_solution(dims, within):
    beam = influence(dims, direction=np.zeros(1))
    free = beam.stress[:, 0] + beam.release * beam.closing[0]
    plane = plane_cap.solve(dims, 0.0, slide=True, places=PLACES)
    assert_allclose(free[CROWN], plane.outer[CROWN], rtol=within)


@pytest.mark.parametrize("degrees", [0.0, 20.0, 39.0])
@pytest.mark.parametrize("dims", [UNIFORM, WIDE_FEET])
def test_feet_on_elastic_iron_agree_with_cap_and_block_together(dims, degrees):
    """Independent route: cap and block as plane stress.  Held, and with the trailing foot let slide.

    `cap.foot_tilt` and `cap.foot_give` were read from a cap like the first at 0 and 39 degrees, held.
    """
    dims = replace(dims, foot_tilt=2.0, foot_give=1.7)
    beam = influence(dims, direction=np.array([np.radians(degrees)]))
    held = plane_joint.crown_stress(dims, np.radians(degrees), False, [-25.5, 0.0, 25.5])
    assert_allclose(max(beam.stress[:, 0]), max(held), rtol=0.07)
    slid = plane_joint.crown_stress(dims, np.radians(degrees), True, [-25.5, 0.0, 25.5])
    asked = beam.closing[0] + 0.5 * beam.lateral[0]
    assert_allclose(max(beam.stress[:, 0] + beam.release * asked), max(slid), rtol=0.09)


def test_a_rigid_block_would_flatter_the_crown():
    """What the block's give is worth, by the plane solution alone: some 16 % held, 40 % sliding."""
    lean = np.radians(39.0)
    soft = plane_joint.crown_stress(UNIFORM, lean, False, [25.5])[0]
    stiff = plane_cap.solve(UNIFORM, lean, slide=False, places=[np.radians(25.5)]).outer[0]
    assert 1.10 < soft / stiff < 1.25


def test_a_cap_under_load_closes():
    """The feet pull inwards under a load into the cap: statics of the plane solution says so too."""
    assert influence(UNIFORM, direction=np.zeros(1)).closing[0] > 0.0
    assert plane_cap.solve(UNIFORM, 0.0, slide=False, places=PLACES).closing > 0.0


def test_film_resultant_is_the_load():
    for film in (0.4, 1.0, 0.5 * np.pi):
        theta = np.linspace(-np.pi, np.pi, 200001)
        p = film_pressure(theta, 0.5, film)
        assert_allclose(np.trapezoid(p * np.sin(theta), theta), np.sin(0.5), atol=1e-8)
        assert_allclose(np.trapezoid(p * np.cos(theta), theta), np.cos(0.5), atol=1e-8)


@pytest.mark.parametrize("film", [0.4, 1.0, 0.5 * np.pi])
@pytest.mark.parametrize("direction", [-2.5, -0.7, 0.0, 0.9, 2.0])
def test_closed_form_of_the_film_force_is_its_quadrature(film, direction):
    theta = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 40001)
    p = film_pressure(theta, direction, film)
    at = 12000
    fx, fy = film_force(theta[[at]], np.array([direction]), film)
    assert_allclose(fx[0, 0], np.trapezoid((p * np.sin(theta))[at:], theta[at:]), atol=2e-8)
    assert_allclose(fy[0, 0], np.trapezoid((-p * np.cos(theta))[at:], theta[at:]), atol=2e-8)


def test_finer_cells_change_nothing():
    coarse, fine = influence(UNIFORM), influence(UNIFORM, cells=960)
    largest = fine.stress.max()
    assert_allclose(coarse.stress, fine.stress, atol=1e-4 * largest)
    assert_allclose(coarse.foot_stiffness, fine.foot_stiffness, rtol=2e-4)


def test_error_of_the_quadrature_falls_with_the_square_of_the_cell():
    exact = influence(WIDE_FEET, cells=1920, direction=np.zeros(1)).stress[CROWN, 0]
    errors = [
        abs(influence(WIDE_FEET, cells=c, direction=np.zeros(1)).stress[CROWN, 0] - exact) for c in (30, 60)
    ]
    assert 3.5 < errors[0] / errors[1] < 4.5


def test_mirror():
    unit = influence(WIDE_FEET)
    scale = unit.stress.max()
    assert_allclose(unit.stress[0], unit.stress[2][::-1], atol=1e-9 * scale)
    assert_allclose(unit.stress[CROWN], unit.stress[CROWN][::-1], atol=1e-9 * scale)
    assert_allclose(unit.closing, unit.closing[::-1], atol=1e-9)
    assert_allclose(unit.lateral, -unit.lateral[::-1], atol=1e-12)
    assert_allclose(unit.vertical, unit.vertical[::-1], atol=1e-12)


def test_a_load_towards_the_block_does_not_touch_a_narrow_film_s_cap():
    unit = influence(UNIFORM)
    for values in (unit.stress, unit.closing, unit.vertical, unit.lift):
        assert_allclose(values[..., [0, -1]], 0.0, atol=1e-9 * np.abs(values).max())


def test_length_and_modulus_scale_exactly():
    one, long = influence(UNIFORM), influence(replace(UNIFORM, length=2 * UNIFORM.length))
    stiff = influence(replace(UNIFORM, modulus=2 * UNIFORM.modulus))
    assert_allclose(long.stress, one.stress / 2, rtol=1e-9, atol=1e-9)
    assert_allclose(long.closing, one.closing, rtol=1e-9, atol=1e-12)
    assert_allclose(stiff.stress, one.stress, rtol=1e-9, atol=1e-6)
    assert_allclose(stiff.foot_stiffness, 2 * one.foot_stiffness, rtol=1e-9)


def test_even_pressure_in_a_thin_ring_is_a_hoop():
    thin = CapDims(0.1, 0.2e-3, 0.2e-3, 0.1002, 0.02, 100e9)
    assert_allclose(influence(thin, direction=np.zeros(1)).crush, 0.05 / 0.2e-3, rtol=0.01)


@pytest.mark.parametrize("name", cap_frame.SCALED_BY)
def test_power_laws_predict_a_solution_at_other_dimensions(name):
    at = cap_frame.SCALED_BY.index(name)
    slopes = sensitivity(UNIFORM)
    changed = replace(UNIFORM, **{name: 1.06 * getattr(UNIFORM, name)})
    old, new = (influence(d, direction=np.zeros(1)) for d in (UNIFORM, changed))
    for figure in ("stress", "closing", "release", "crush", "foot_stiffness"):
        was, now = (np.ravel(getattr(u, figure))[CROWN if figure not in ("closing", "foot_stiffness") else 0]
                    for u in (old, new))  # fmt: skip
        assert_allclose(now / was, 1.06 ** getattr(slopes, figure)[at], rtol=0.012)


def test_lean_grows_with_the_angle_and_reads_its_own_knots():
    angle = np.linspace(-3.1, 3.1, 400)
    lean = cap_frame.lean(np.cos(angle), np.sin(angle))
    assert np.all(np.diff(lean) > 0)
    unit = influence(UNIFORM)
    assert_allclose(cap_frame.lean(np.cos(unit.direction[1:]), np.sin(unit.direction[1:])),
                    np.linspace(-2, 2, KNOTS)[1:], atol=1e-12)  # fmt: skip


@pytest.mark.parametrize(
    ("change", "word"),
    [({"crown": 0.0}, "crown"), ({"length": float("nan")}, "length"), ({"span": 60e-3}, "bolts"),
     ({"foot_width": 90e-3}, "foot"), ({"film": 2.0}, "film"), ({"crown": 0.2}, "ring")],
)  # fmt: skip
def test_refuses_what_is_no_cap(change, word):
    with pytest.raises(OutsideValidity, match=word):
        influence(replace(UNIFORM, **change))
