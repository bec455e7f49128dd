"""Banks, throws, dead centres and firing angles."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build.firing import firing
from blockwright.crank.layout import layout
from blockwright.errors import InputError

from .engines import DEG, LAYOUTS, make_layout


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_cylinder_fires_once_in_the_order_at_one_of_its_dead_centres(name):
    where = make_layout(name)
    order = np.argsort(where.firing) + 1
    assert list(order) == LAYOUTS[name]["order"]
    turns = (np.array(where.firing) - where.tdc) / (2 * np.pi)
    assert_allclose(turns, np.round(turns), atol=1e-9)


@pytest.mark.parametrize("name", LAYOUTS)
def test_at_its_dead_centre_the_pin_points_along_its_own_cylinder(name):
    """Independent of the phase table: turn the pin direction and compare with the axis."""
    where = make_layout(name)
    for axis, pin, tdc in zip(where.axis, where.pin, where.tdc, strict=True):
        assert_allclose(np.exp(1j * (pin + where.lead * tdc)), np.exp(1j * axis), atol=1e-9)


@pytest.mark.parametrize("name", [n for n in LAYOUTS if "twin" not in n])
def test_these_engines_fire_evenly(name):
    assert make_layout(name).even


def test_a_45_degree_twin_fires_315_and_405_apart():
    """Common practice, no source: what makes its uneven beat."""
    assert_allclose(np.degrees(make_layout("V-twin, 45 degrees").firing), [0.0, 405.0])


def test_throws_found_from_the_order_are_the_cross_plane():
    found = firing("V", 8, [1, 8, 4, 3, 6, 5, 7, 2], 90.0)
    assert found.throws == (0.0, 90.0, 270.0, 180.0)


def test_the_bank_that_comes_first_is_read_from_the_order():
    """The two usual numberings of one crank: with the other bank leading neither order can fire."""
    assert make_layout("cross-plane V8, bank B leads").lead == -1
    assert make_layout("cross-plane V8, bank A leads").lead == 1


def test_split_pins_spread_the_pair_by_bank_angle_plus_split():
    where = make_layout("V6, 90 degrees, pins split by 30")
    assert_allclose(np.degrees(where.tdc[1]), 120.0)
    assert where.throws == 3
    assert_allclose(np.degrees(abs(where.pin[0] - where.pin[1])), 30.0)


def test_flat_four_pistons_of_a_pair_reach_the_top_together():
    where = make_layout("flat 4")
    assert_allclose(where.tdc[0], where.tdc[1], atol=1e-12)
    assert len(where.mains) == 5


def test_mains_stand_at_the_ends_and_between_throws():
    where = make_layout("cross-plane V8, bank A leads")
    assert_allclose(where.mains, 0.110 * np.arange(5))
    assert_allclose(where.station[0], 0.055 - 0.011)
    assert_allclose(where.station[4], 0.055 + 0.011)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("inline", 4, [1, 2, 2, 4]), "each of the cylinders 1 to 4 once"),
        (("inline", 4, [1, 2, 3, 4], 0.0, [0, 180, 180, 0]), "no turn of this crank"),
        (("V", 8, [1, 8, 4, 3, 6, 5, 7, 2], 90.0, [0, 90, 180]), "give 4 or 8 throws"),
        (("inline", 4, [1, 3, 4, 2], 0.0, [0, 180]), "give 4 throws"),
        (("V", 5, [1, 2, 3, 4, 5], 60.0), "even number"),
        (("V", 6, [1, 2, 3, 4, 5, 6], 90.0), "cannot fire evenly"),
    ],
)
def test_what_cannot_be_is_said_in_words(arguments, words):
    found = firing(*arguments)
    assert isinstance(found, str)
    assert words in found


def test_the_layout_refuses_with_the_field_and_what_was_read():
    with pytest.raises(InputError, match=r"layout.firing_order.*1-2-3-4") as caught:
        layout("inline", 4, [1, 2, 3, 4], 0.1, throws=np.array([0, 180, 180, 0]) * DEG)
    assert caught.value.faults[0].path == "layout.firing_order"
    with pytest.raises(InputError, match="bore_spacing"):
        layout("inline", 4, [1, 3, 4, 2], 0.0)
