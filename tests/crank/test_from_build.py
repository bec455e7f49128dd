"""The crank train read from a build's values."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.build.model import Build, Value
from blockwright.crank.from_build import layout_of, load_model, travel_of
from blockwright.errors import InputError

NUMBERS = {
    "layout.bank_angle": np.pi / 2,
    "layout.bank_offset": 0.024,
    "casting.bore": 0.102,
    "casting.bore_spacing": 0.112,
    "crank.stroke": 0.088,
    "crank.throw_moment": 0.07,
    "crank.balance": 0.5,
    "rods.length": 0.145,
    "rods.big_end_mass": 0.45,
    "rods.small_end_mass": 0.18,
    "pistons.mass": 0.5,
    "pistons.pin_mass": 0.15,
    "pistons.ring_mass": 0.04,
    "pistons.pin_offset": 0.0,
    "pistons.compression_height": 0.040,
    "pistons.deck_clearance": 0.0003,
    "pistons.top_ring": 0.007,
}
CHOICES = {
    "layout.kind": "V",
    "layout.cylinders": 8,
    "layout.firing_order": (1, 8, 4, 3, 6, 5, 7, 2),
    "layout.numbering": "alternating",
    "crank.counterweight": "full",
}


def make_build(numbers=None, choices=None, drop=()):
    values = {
        p: Value(p, v, "", 0.0, "measured") for p, v in (NUMBERS | (numbers or {})).items() if p not in drop
    }
    return Build(values=values, choices=CHOICES | (choices or {}), assumptions=())


def test_masses_and_dimensions():
    model = load_model(make_build())
    assert_allclose(model.recip_mass, 0.5 + 0.15 + 0.04 + 0.18)
    assert_allclose(model.rot_mass, 0.45)
    assert_allclose(model.radius, 0.044)
    assert_allclose(model.piston_area, np.pi / 4 * 0.102**2)
    assert model.layout.lead == -1


def test_throws_given_in_the_build_are_used():
    given = {f"layout.throws.{i}": a for i, a in enumerate(np.radians([0, 180, 180, 0]))}
    flat = layout_of(
        make_build(given, {"layout.firing_order": (1, 8, 3, 6, 4, 5, 2, 7), "layout.numbering": "by-bank"})
    )
    assert_allclose(flat.tdc[1], np.pi)
    with pytest.raises(InputError, match="no turn of this crank"):
        layout_of(make_build(given))


def test_an_inline_engine_needs_nothing_of_banks():
    build = make_build(
        choices={"layout.kind": "inline", "layout.cylinders": 4, "layout.firing_order": (1, 3, 4, 2)},
        drop=("layout.bank_angle", "layout.bank_offset"),
    )
    assert layout_of(build).axis == (0.0,) * 4


def test_skirt_reaches_from_above_to_below_the_pin():
    travel = travel_of(make_build())
    above, below = (catalogue.row("model", f"piston.skirt_{n}").si("value") for n in ("above", "below"))
    assert_allclose(travel.skirt_top, 0.040 * (1 - above))
    assert_allclose(travel.skirt_bottom, 0.040 + below * 0.102)
    assert travel.top_ring < travel.skirt_top < 0.040 < travel.skirt_bottom
