"""Main caps: what friction and ties do to the crown, and that the trace replays the figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.life.draw import Draw
from blockwright.life.leaves import SampleLeaves
from blockwright.parts import cap_kernels, caps, web
from blockwright.parts.cases import Fatigue, SingleEvent

from .cap_bench import GIRDLE, cap_build, loads, one_load, samples, traced

#: A running clearance so wide that the bore never closes on the journal.
ROOM = {"cap__running_clearance": 1.0}
LOADS = [(27e3, 0.0), (27e3, 20e3), (49e3, 40e3), (30e3, -18e3)]


class Set(SampleLeaves):
    """Leaves with some model constants set by hand."""

    def __init__(self, build, kernels, **figures):
        super().__init__(build, Draw(0), kernels)
        self.figures = {name.replace("__", "."): value for name, value in figures.items()}

    def model(self, name):
        return np.full((1, 1, 1, 1), self.figures[name]) if name in self.figures else super().model(name)


def crown(load, build=None, **figures) -> Fatigue:
    build = build or cap_build()
    found = caps.limits(Set(build, one_load(*load), **figures), build)[0]
    assert isinstance(found, Fatigue)
    return found


def slip(load, build=None, **figures) -> SingleEvent:
    build = build or cap_build()
    found = caps.limits(Set(build, one_load(*load), **figures), build)[1]
    assert isinstance(found, SingleEvent)
    return found


def top(limit: Fatigue) -> float:
    return float(np.max(limit.stress_max))


@settings(deadline=None)  # the first call compiles
@given(st.lists(st.floats(1e6, 1e9), min_size=4, max_size=4), st.floats(0, 2e4), st.floats(0, 2e4),
       st.floats(0, 1e-4), st.floats(1.0, 1e5))  # fmt: skip
def test_foot_movement_is_the_inverse_of_what_holds_it(stiffness, squeeze, grip, gap, excess):
    frame, line, register, girdle = stiffness
    ties = (frame, line, register, squeeze, girdle, grip, gap)
    moved = cap_kernels.foot_movement(excess, *ties)
    assert_allclose(cap_kernels.tie_force(moved, *ties), excess, rtol=1e-9)


@pytest.mark.parametrize("load", LOADS)
def test_feet_that_slip_bend_the_crown_more(load):
    held, loose = top(crown(load, cap__foot_friction=5.0)), top(crown(load, cap__foot_friction=1e-9))
    assert held < loose
    assert_allclose(float(np.max(crown(load, cap__foot_friction=5.0).split["slip of the feet"])), 0.0)


@pytest.mark.parametrize("load", LOADS)
def test_more_friction_never_means_more_stress(load):
    stress = [top(crown(load, cap__foot_friction=mu)) for mu in (0.0001, 0.05, 0.1, 0.15, 0.2, 0.3, 0.6)]
    assert np.all(np.diff(stress) <= 1e-6)


def test_a_stiffer_girdle_means_less_stress():
    load, no_friction = (27e3, 0.0), {"cap__foot_friction": 0.05, **ROOM}
    plates = [{}, {**GIRDLE, "girdle.width": 5e-3}, {**GIRDLE, "girdle.width": 38e-3}]
    stress = [top(crown(load, cap_build(p), **no_friction)) for p in plates]
    assert stress[0] > stress[1] > stress[2]


def test_a_girdle_with_play_and_no_grip_helps_only_once_it_bears():
    load, slick = (27e3, 0.0), {"cap__foot_friction": 1e-6, **ROOM}
    none = top(crown(load, **slick))
    assert_allclose(top(crown(load, cap_build({**GIRDLE, "girdle.fit": 2e-3}), **slick)), none, rtol=1e-5)
    assert top(crown(load, cap_build({**GIRDLE, "girdle.fit": 10e-6}), **slick)) < none


def test_four_bolts_hold_more_than_two():
    load = (36e3, 28e3)
    two, four = cap_build(), cap_build(caps__pattern="four-bolt-straight")
    splayed = cap_build(caps__pattern="four-bolt-splayed")
    assert top(crown(load, four)) < top(crown(load, two))
    capacity = [float(slip(load, b).capacity.item()) for b in (two, splayed, four)]
    assert capacity[0] < capacity[1] < capacity[2]
    only_three = cap_build(caps__pattern="four-bolt-straight", caps__four_bolt_mains=(3,))
    assert_allclose(float(slip(load, only_three).capacity.item()), capacity[0])


def test_a_register_with_clearance_holds_nothing_and_a_tight_one_squeezes():
    load = (27e3, 20e3)
    fits = [cap_build({"caps.register_fit": fit}) for fit in (-50e-6, 0.0, 60e-6)]
    capacity = [float(slip(load, b).capacity.item()) for b in fits]
    assert capacity[0] == capacity[1] < capacity[2]
    tight, none = crown(load, fits[2], **ROOM), crown(load, fits[1], **ROOM)
    assert tight.split["slip of the feet"] < none.split["slip of the feet"]
    assert tight.split["shells and register at rest"] > none.split["shells and register at rest"]


def test_stress_under_load_is_linear_while_the_feet_hold():
    firm = {"cap__foot_friction": 5.0}
    one, two = crown((15e3, 8e3), **firm), crown((30e3, 16e3), **firm)
    assert_allclose(two.stress_max - two.stress_min, 2.0 * (one.stress_max - one.stress_min), rtol=1e-9)


@pytest.mark.parametrize("load", [(27e3, 20e3), (49e3, 40e3)])
def test_left_and_right_are_alike(load):
    right, left = crown(load), crown((load[0], -load[1]))
    assert_allclose(right.stress_max, left.stress_max, rtol=1e-9)
    assert_allclose(slip(load).demand, slip((load[0], -load[1])).demand, rtol=1e-9)


@pytest.mark.parametrize("load", LOADS)
def test_causes_add_up_to_the_largest_stress(load):
    limit = crown(load)
    assert_allclose(sum(np.max(part) for part in limit.split.values()), top(limit), rtol=1e-12)


@pytest.mark.parametrize("load", LOADS)
def test_the_trailing_foot_gives_up_what_friction_does_not_hold(load):
    """By hand: S = C + H_c/2 - mu N at the trailing foot, whatever the closing force alone may be."""
    from blockwright.joints import clamp
    from blockwright.parts.cap_frame import influence

    build = cap_build()
    unit = influence(caps.dims_of(build), direction=np.array([np.arctan2(abs(load[1]), load[0])]))
    force, leaves = np.hypot(*load), samples(build, {})
    phi = float(clamp.load_factor(leaves, build, "main_fasteners").item())
    held = 0.5 * float(clamp.cap_clamp(leaves, build, 1).item()) - 8e6 * 32e-3 * 22e-3
    friction = 0.12 * (held - (1 - phi) * unit.trailing_lift[0] * force)
    excess = (unit.closing[0] + 0.5 * unit.lateral[0]) * force - friction
    limit = crown(load, cap__foot_friction=0.12, cap__notch_factor=1.0, **ROOM)
    station = unit.release[1] if load[1] == 0.0 else unit.release[2]
    assert_allclose(np.max(limit.split["slip of the feet"]), station * max(excess, 0.0), rtol=2e-3)


def test_the_journal_stops_a_foot():
    load, slick = (49e3, 40e3), {"cap__foot_friction": 0.05}
    free, stopped = (crown(load, **slick, **room) for room in (ROOM, {"cap__running_clearance": 1e-3}))
    assert np.max(stopped.split["slip of the feet"]) < np.max(free.split["slip of the feet"])
    solid = crown(load, **slick, cap__running_clearance=1e-9)
    assert_allclose(np.max(solid.split["slip of the feet"]), 0.0, atol=1e3)


def test_a_notch_that_is_too_blunt_to_be_felt_moves_nothing():
    """K_f = 1 once the support of the notch's gradient makes up for K_t: neither amplitude nor mean."""
    one, two = (crown((27e3, 20e3), cap__notch_factor=k) for k in (1.0, 1.2))
    assert_allclose(one.stress_max, two.stress_max, rtol=1e-12)
    assert_allclose(one.strength, two.strength, rtol=1e-12)
    sharp = crown((27e3, 20e3), cap__notch_factor=3.0)
    assert top(sharp) > 1.5 * top(two)


def test_slip_demand_is_the_statics_of_one_foot():
    """By hand: closing force plus half the lateral load, plus the friction that lifting takes."""
    from blockwright.joints import clamp
    from blockwright.parts.cap_frame import influence

    build, load = cap_build(), (27e3, 20e3)
    unit = influence(caps.dims_of(build), direction=np.array([np.arctan2(20, 27)]))
    force = np.hypot(*load)
    phi = float(clamp.load_factor(samples(build, {}), build, "main_fasteners").item())
    expected = abs(unit.closing[0]) + 0.5 * unit.lateral[0] + 0.18 * (1 - phi) * unit.lift[0]
    assert_allclose(slip(load).demand.item(), expected * force, rtol=1e-4)


def test_trace_replays_the_figures_and_moving_a_leaf_moves_them():
    build, kernels = cap_build(GIRDLE, caps__pattern="four-bolt-splayed"), one_load(27e3, 20e3)
    plain, followed = (caps.limits(c, build) for c in (samples(build, kernels), traced(build, kernels)))
    assert len(plain) == len(followed) == 10
    for a, b in zip(plain, followed, strict=True):
        fields = (
            ("stress_max", "stress_min", "strength") if isinstance(a, Fatigue) else ("demand", "capacity")
        )
        for name in fields:
            assert_allclose(getattr(a, name), getattr(b, name).value, rtol=1e-12)
    leaves = {node.leaf.name for node in followed[0].stress_max.node.walk() if node.leaf}
    assert {"caps.crown", "cap.foot_friction", "main_vertical", "closing force"} <= leaves
    thick = cap_build({**GIRDLE, "caps.crown": 24e-3}, caps__pattern="four-bolt-splayed")
    assert top(caps.limits(samples(thick, kernels), thick)[0]) < top(plain[0])


def test_shapes_and_spread_over_samples():
    rng = np.random.default_rng(3)
    build = cap_build()
    v, h = 2e4 * (1 + rng.random((41, 2, 3, 8))), 1e4 * rng.normal(size=(41, 2, 3, 8))
    for limit in caps.limits(samples(build, loads(v, h), 40), build):
        if isinstance(limit, Fatigue):
            assert limit.stress_max.shape == limit.stress_min.shape == (41, 2, 3, 1)
            assert np.all(limit.stress_max > limit.stress_min)
            assert all(part.shape == (41, 1, 1, 1) for part in limit.split.values())
        else:
            assert limit.demand.shape == limit.capacity.shape == (41, 1, 1, 1)


def test_a_sampled_crown_scales_as_a_solution_of_its_own():
    """Power laws in the samples against the ring solved anew for the thicker cap."""
    load, firm = (27e3, 0.0), {"cap__foot_friction": 5.0}
    thin, thick = cap_build(), cap_build({"caps.crown": 23e-3})

    class Thicker(Set):
        def build(self, path):
            return np.full((1, 1, 1, 1), 23e-3) if path == "caps.crown" else super().build(path)

    sampled = caps.limits(Thicker(thin, one_load(*load), **firm), thin)[0]
    assert_allclose(top(sampled), top(crown(load, thick, **firm)), rtol=0.005)


def test_nothing_fitted_to_the_caps_raises_the_bulkhead():
    kernels = one_load(27e3, 20e3)
    plain, built = (
        cap_build(),
        cap_build(GIRDLE, caps__pattern="four-bolt-splayed", caps__material="steel-1045"),
    )
    for a, b in zip(*(web.limits(samples(x, kernels), x) for x in (plain, built)), strict=True):
        assert_allclose(a.stress_max, b.stress_max)
        assert_allclose(a.strength, b.strength)
