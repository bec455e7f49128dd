"""Rods and rod bolts: formulas against other routes, limits against their statics, tracer, speed."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.parts import pistons, rods
from blockwright.parts.cases import Fatigue, SingleEvent
from blockwright.trace import Leaf, Node, Traced

MATERIAL, GRADE, THREAD = "steel-4340-qt-540", "rod-bolt-190ksi", "3/8-24"
CHOICES = {
    "rods.material": MATERIAL,
    "rod_bolts.thread": THREAD,
    "rod_bolts.grade": GRADE,
    "rod_bolts.tighten": "stretch",
    "rod_bolts.count": 2,
}
VALUES = {
    "rods.beam_area": 220e-6,
    "rods.beam_inertia": 3600e-12,
    "rods.length": 0.145,
    "rod_bolts.grip": 0.040,
    "rod_bolts.stretch": 0.00015,
    "rod_bolts.thread_friction": 0.12,
    "rod_bolts.head_friction": 0.12,
    "casting.bore": 0.102,
    "conditions.pressure": 1e5,
}
KERNELS = {
    "rod_tension": np.array([14e3, 20e3]).reshape(1, 2, 1, 1),
    "rod_compression": np.array([60e3, 70e3]).reshape(1, 2, 1, 1)
    * np.linspace(0.8, 1.2, 5).reshape(1, 1, 5, 1),
    "rod_tension_overspeed": np.full((1, 1, 1, 1), 25e3),
    "bolt_tension": np.array([18e3, 26e3]).reshape(1, 2, 1, 1),
    "bolt_tension_overspeed": np.full((1, 1, 1, 1), 33e3),
    "cylinder_pressure_extreme": np.full((1, 1, 1, 1), 12e6),
    "piston_speed": np.array([15.0, 20.0]).reshape(1, 2, 1, 1),
    "piston_acceleration": np.array([2.0e4, 3.1e4]).reshape(1, 2, 1, 1),
}
BUILD = SimpleNamespace(
    choice=CHOICES.__getitem__,
    has=lambda path: path in CHOICES or path in VALUES,
    word=lambda path: str(CHOICES[path]),
    count=lambda path: int(CHOICES[path]),
    values={},
    assumptions=(),
)


class Plain:
    """Leaves at their middle values, on n equal rows."""

    def __init__(self, n=1, kernels=None, values=None):
        self.n, self.kernels, self.values = n, KERNELS | (kernels or {}), VALUES | (values or {})

    def _give(self, kind, name, value):
        return np.full((self.n, 1, 1, 1), float(value))

    def build(self, path):
        return self._give("build", path, self.values[path])

    def catalogue(self, table, row, field):
        return self._give("catalogue", f"{row}.{field}", catalogue.row(table, row).si(field))

    def model(self, name):
        return self._give("model", name, catalogue.row("model", name).si("value"))

    def kernel(self, name, place=""):
        return np.broadcast_to(self.kernels[name], (self.n, *self.kernels[name].shape[1:]))

    def choice(self, path):
        return CHOICES[path]


class Traced1(Plain):
    """The same under the tracer."""

    def _give(self, kind, name, value):
        return Traced(Node(np.full((1, 1, 1, 1), float(value)), leaf=Leaf(kind=kind, name=name, unit="")))

    def kernel(self, name, place=""):
        return Traced(Node(self.kernels[name], leaf=Leaf(kind="kernel", name=name, unit="", place=place)))


def by_id(ctx):
    return {limit.identity.id: limit for limit in (*rods.limits(ctx, BUILD), *pistons.limits(ctx, BUILD))}


def value(name):
    return catalogue.row("model", name).si("value")


def column(area, inertia, length, fixity=1.0, modulus=205e9, strength=850e6):
    return float(rods.column_load(*map(np.float64, (area, inertia, length, fixity, modulus, strength))))


def test_slender_column_buckles_at_eulers_load_by_eigenvalue():
    """Independent route: lowest eigenvalue of the finite-difference beam with hinged ends."""
    length, points = 1.0, 400
    step = length / points
    second = (
        np.diag(np.full(points - 1, 2.0)) - np.diag(np.ones(points - 2), 1) - np.diag(np.ones(points - 2), -1)
    ) / step**2
    euler = 205e9 * 3600e-12 * np.linalg.eigvalsh(second)[0]
    assert_allclose(column(220e-6, 3600e-12, length), euler, rtol=1e-5)


def test_short_column_reaches_yield_and_both_branches_meet_at_half_of_it():
    """Johnson's parabola is tangent to Euler's curve where the stress is half the yield strength."""
    assert_allclose(column(220e-6, 3600e-12, 1e-6), 220e-6 * 850e6, rtol=1e-6)
    gyration = np.sqrt(3600e-12 / 220e-6)
    corner = gyration * np.sqrt(2 * np.pi**2 * 205e9 / 850e6)
    step = 1e-4 * corner
    below, at, above = (column(220e-6, 3600e-12, corner + d) for d in (-step, 0.0, step))
    assert_allclose(at, 0.5 * 220e-6 * 850e6, rtol=1e-9)
    assert_allclose(at - below, above - at, rtol=1e-3)


@given(st.floats(0.05, 0.5), st.floats(1.01, 2.0))
def test_a_longer_rod_buckles_sooner_and_a_stiffer_one_later(length, more):
    base = column(220e-6, 3600e-12, length)
    assert column(220e-6, 3600e-12, length * more) < base
    assert column(220e-6, 3600e-12 * more, length) > base


def test_shank_stress_by_hand():
    case = by_id(Plain())["rod-shank-fatigue"]
    notch = value("rod.notch_factor")
    assert_allclose(case.stress_max[0, :, 0, 0], notch * np.array([14e3, 20e3]) / 220e-6)
    assert_allclose(case.stress_min[0, 1, 4, 0], -notch * 1.2 * 70e3 / 220e-6)
    assert_allclose(case.split["inertia"], case.stress_max.max())


def test_buckling_demand_is_gas_pressure_on_the_bore():
    case = by_id(Plain())["rod-buckling"]
    assert_allclose(case.demand, np.pi / 4 * 0.102**2 * (12e6 - 1e5))
    steel = catalogue.row("metal", MATERIAL)
    pair = [
        column(
            220e-6, 3600e-12 * value("rod.swing_inertia"), 0.145, 1.0, steel.si("modulus"), steel.si("yield")
        ),
        column(220e-6, 3600e-12, 0.145, value("rod.cross_fixity"), steel.si("modulus"), steel.si("yield")),
    ]
    assert_allclose(case.capacity, min(pair))


def test_closed_joint_lets_the_bolt_feel_a_share_and_the_open_joint_all():
    """A stiff joint shields the bolt from most of the pull until it opens; then the bolt bears it all."""
    shut = by_id(Plain())["rod-bolt-fatigue"]
    area = catalogue.row("thread", THREAD).si("stress_area")
    resting = float(shut.stress_min.max()) * area
    per_bolt = value("rod_bolt.eccentricity") * 26e3 / 2
    assert per_bolt < resting
    swing = float(shut.stress_max.max()) * area - resting
    assert 0.0 < swing < 0.3 * per_bolt
    far = Plain(kernels={"bolt_tension": KERNELS["bolt_tension"] * 20})
    opened = by_id(far)["rod-bolt-fatigue"]
    assert_allclose(opened.stress_max.max() * area, 20 * per_bolt, rtol=1e-9)


def test_joint_opens_in_the_limit_exactly_when_the_break_limit_sees_the_whole_pull():
    """At the load where demand meets the preload the bolt's pull passes to the whole load."""
    limits = by_id(Plain())
    opening = limits["rod-joint-opening"]
    factor = float((opening.capacity / opening.demand).item())
    per_bolt = value("rod_bolt.eccentricity") * 33e3 / 2
    for scale, open_joint in ((0.99 * factor, False), (1.01 * factor, True)):
        ctx = Plain(kernels={"bolt_tension_overspeed": KERNELS["bolt_tension_overspeed"] * scale})
        demand = by_id(ctx)["rod-bolt-break"].demand.item()
        assert (abs(demand - scale * per_bolt) < 1e-6 * demand) == open_joint


def test_more_stretch_delays_opening():
    low, high = (by_id(Plain(values={"rod_bolts.stretch": s}))["rod-joint-opening"] for s in (0.8e-4, 1.2e-4))
    assert high.capacity > low.capacity
    assert_allclose(high.demand, low.demand)


def test_overspeed_limits_by_hand():
    limits = by_id(Plain())
    assert_allclose(limits["rod-stretch-overspeed"].demand, 25e3)
    assert_allclose(
        limits["rod-stretch-overspeed"].capacity, 220e-6 * catalogue.row("metal", MATERIAL).si("yield")
    )
    area = catalogue.row("thread", THREAD).si("stress_area")
    tensile = catalogue.row("grade", GRADE).si("tensile")
    assert_allclose(limits["rod-bolt-break"].capacity, area * tensile)


def test_piston_limits_take_the_hardest_point():
    limits = by_id(Plain())
    assert_allclose(limits["piston-speed"].demand, 20.0)
    assert_allclose(limits["piston-acceleration"].demand, 3.1e4)


@pytest.mark.parametrize(
    ("name", "rule"), [("piston.speed_capacity", 25.0), ("piston.acceleration_capacity", 150e3 * 0.3048)]
)
def test_rules_of_the_trade_are_the_value_that_99_of_100_bear(name, rule):
    """Common practice, no source: 25 m/s and 150 000 ft/s2 as racing limits."""
    row = catalogue.row("model", name)
    spread = np.sqrt(np.log1p((row.u("value") / row.si("value")) ** 2))
    assert_allclose(row.si("value") * np.exp(-2.3263 * spread), rule, rtol=0.01)


def test_every_limit_has_the_shapes_of_its_kind():
    for limit in by_id(Plain(n=3)).values():
        if isinstance(limit, SingleEvent):
            assert np.shape(limit.demand) == np.shape(limit.capacity) == (3, 1, 1, 1)
        else:
            assert isinstance(limit, Fatigue)
            worst = np.broadcast_shapes(np.shape(limit.stress_max), np.shape(limit.stress_min))
            assert worst[0] == 3
            assert worst[1] == 2
            assert worst[3] == 1
            assert (limit.stress_max >= limit.stress_min).all()
            assert np.shape(limit.strength) == np.shape(limit.tensile) == (3, 1, 1, 1)


def test_under_the_tracer_nothing_is_computed_outside_formulas_and_figures_are_the_same():
    plain, traced = by_id(Plain()), by_id(Traced1())
    for key, limit in plain.items():
        fields = (
            ("stress_max", "stress_min", "strength") if isinstance(limit, Fatigue) else ("demand", "capacity")
        )
        for name in fields:
            other = getattr(traced[key], name)
            assert_allclose(other.value, getattr(limit, name), rtol=1e-12)
            assert all(node.leaf or node.formula.source for node in other.node.walk())
