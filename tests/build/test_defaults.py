"""Defaults: complete, believable, explained, and following what is given."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockwright.build import catalogue, load
from blockwright.build.checks import CHECKS
from blockwright.build.defaults import RULES, complete
from blockwright.build.defaults_pipes import default_groups
from blockwright.build.flatten import flatten
from blockwright.build.rules import Rule
from blockwright.build.walk import leaves
from blockwright.errors import InputError

from .helpers import FOUR, build

SAMPLES = sorted((Path(__file__).parent / "samples").glob("format*/*.toml"))

#: Fields without a default: they stand only where the user gives them.
OPTIONAL = {
    "note",
    "casting.walls.gauge",
    "casting.walls.u",
    "cam.intake_curve",
    "cam.exhaust_curve",
    "duty.passes",
    "duty.pass_time",
    "duty.hours",
    "girdle.thickness",
    "girdle.width",
    "exhaust.secondary_groups",
    "exhaust.secondary_length",
    "exhaust.secondary_diameter",
    "intake.inlet_diameter",
}
#: Sections that stand only for what is fitted, and their fields without a default.
FITTED = {
    "turbo": {"turbo.compressor_map"},
    "blower": {
        *("blower.compressor_map", "blower.trim", "blower.impeller_diameter", "blower.drive_ratio"),
        *("blower.cooler_drop", "blower.cooling_temperature"),
    },
    "nitrous": {"nitrous.jet", "nitrous.fuel_jet"},
}
#: What ends the exhaust behind collectors does not stand behind a turbine.
TAIL = {"exhaust.tail_length", "exhaust.tail_diameter", "exhaust.crossover_diameter", "exhaust.silencer_loss"}
LOG = {"exhaust.collector_length", "exhaust.collector_diameter", "exhaust.momentum_kept"}
ENGINES = {
    "V8": {},
    "inline four": FOUR,
    "inline three": {
        **FOUR,
        "layout.cylinders": 3,
        "layout.firing_order": [1, 3, 2],
        "target.power": "150 hp",
    },
    "inline six": {**FOUR, "layout.cylinders": 6, "layout.firing_order": [1, 5, 3, 6, 2, 4]},
    "V6, 60 deg": {
        "layout.cylinders": 6,
        "layout.firing_order": [1, 2, 3, 4, 5, 6],
        "target.power": "300 hp",
    },
    "V6, 90 deg": {
        "layout.cylinders": 6,
        "layout.bank_angle": "90 deg",
        "layout.firing_order": [1, 6, 5, 4, 3, 2],
        "target.power": "300 hp",
    },
    "V10": {"layout.cylinders": 10, "layout.firing_order": [1, 6, 5, 10, 2, 7, 3, 8, 4, 9]},
    "V12": {"layout.cylinders": 12, "layout.firing_order": [1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10]},
    "flat four": {
        **FOUR,
        "layout.kind": "flat",
        "layout.firing_order": [1, 3, 2, 4],
    },
    "flat six": {
        **FOUR,
        "layout.kind": "flat",
        "layout.cylinders": 6,
        "layout.firing_order": [1, 6, 2, 4, 3, 5],
    },
    "single": {**FOUR, "layout.cylinders": 1, "layout.firing_order": [1], "target.power": "50 hp"},
    "hours": {"duty": {"kind": "hours", "hours": "20 h"}},
    "four-bolt": {"caps.pattern": "four-bolt-splayed"},
    "turbo": {"boost": {"kind": "turbo", "pressure": "10 psi"}},
    "turbocharger": {"boost": {"kind": "turbo", "pressure": "10 psi"}, "turbo": {}},
    "blower": {
        "boost": {"kind": "blower", "pressure": "8 psi"},
        "blower": {"principle": "lobe", "displacement": "5 l"},
    },
    "nitrous": {"nitrous": {"power": "150 hp", "bottle_mass": "10 lb"}},
    "individual runners": {"intake": {"layout": "individual"}},
    "4-2-1": {"exhaust": {"secondary_groups": [[1, 2], [3, 4], [5, 7], [6, 8]]}},
    "log": {"exhaust": {"layout": "log"}},
    "V12 of a V": {"layout.cylinders": 12, "layout.firing_order": [1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10]},
}


@pytest.mark.parametrize("name", ENGINES)
def test_every_field_has_a_value_or_need_not(name):
    """No rule or check is passed over in a sound build, whatever its layout."""
    made = build(ENGINES[name])
    draft = flatten(made.raw, frozenset(), {})
    _, lacking = complete(draft)
    assert lacking == []
    for check in CHECKS:
        assert list(check(draft)) == []
    missing = {path for path in leaves() if "#" not in path and not made.has(path.replace("depths", "depth"))}
    four_bolt = str(made.choice("caps.pattern")) != "two-bolt"
    allowed = OPTIONAL | {p for p in leaves() if p.endswith((".snug", ".angle", ".stretch", "girdle.fit"))}
    if not four_bolt:
        allowed |= {p for p in leaves() if p.startswith("outer_fasteners.")}
        allowed |= {"caps.outer_span", "caps.splay", "caps.four_bolt_mains"}
    allowed |= {"girdle.material", "casting.walls.thickness", "casting.walls.angles"}
    for section, optional in FITTED.items():
        allowed |= optional if made.has(section) else {p for p in leaves() if p.startswith(f"{section}.")}
    if made.word("boost.kind") == "turbo":
        allowed |= TAIL
    if made.word("exhaust.layout") == "log":
        allowed |= LOG if made.word("boost.kind") == "turbo" else {"exhaust.momentum_kept"}
    if made.word("intake.layout") == "individual":
        allowed |= {"intake.plenums"}
    assert missing <= allowed
    assert made.has("casting.walls.angle.0")
    assert made.has("casting.walls.1.0.0")


def test_every_assumption_says_what_and_why():
    made = build()
    paths = [assumption.path for assumption in made.assumptions]
    assert len(paths) == len(set(paths)) > 90
    for path, value, why in made.assumptions:
        assert value
        assert why
        assert path in leaves() or path == "duty.points"
        if path in made.values:
            assert made.value(path).by == "assumed"
            assert made.value(path).note == why


def test_given_fields_are_not_assumed():
    made = build({"casting.bore_spacing": "4.380 in"})
    assert "casting.bore_spacing" not in {a.path for a in made.assumptions}
    assert made.value("casting.bore_spacing").by == "measured"


def test_the_text_of_an_assumption_is_the_value_used():
    made = build(FOUR)
    assert ("crank.main_journal", "53.32 mm") in {(a.path, a.value) for a in made.assumptions}
    assert made.si("crank.main_journal") == 53.32e-3


#: Believable: bands of the trade for an iron V8 of 4.030 by 3.480 in and a four of 86 by 94 mm.
#: Common practice, no source.
BANDS = {
    "crank.main_journal": ((2.2, 2.8), (1.9, 2.4), "in"),
    "crank.pin_journal": ((1.9, 2.3), (1.6, 2.1), "in"),
    "casting.bore_spacing": ((4.3, 4.6), (3.6, 3.9), "in"),
    "casting.deck_height": ((8.2, 9.6), (8.0, 10.0), "in"),
    "casting.mass": ((110, 200), (60, 110), "lb"),
    "main_fasteners.torque": ((70, 115), (45, 80), "lbf*ft"),
    "head_fasteners.torque": ((50, 80), (50, 80), "lbf*ft"),
    "pistons.mass": ((400, 650), (250, 400), "g"),
    "rods.big_end_mass": ((350, 550), (250, 420), "g"),
    "heads.intake.diameter": ((1.7, 2.1), (1.2, 1.4), "in"),
    "caps.crown": ((0.7, 1.1), (0.5, 1.0), "in"),
    "spark.ca50": ((4, 12), (-8, 12), "deg"),
    "casting.walls.1.0.0": ((0.14, 0.23), (0.12, 0.20), "in"),
}


@pytest.mark.parametrize("path", BANDS)
@pytest.mark.parametrize(("engine", "column"), [("V8", 0), ("inline four", 1)])
def test_defaults_are_believable(path, engine, column):
    from blockwright.units import dimension_of, to_unit

    unit = BANDS[path][2]
    number = to_unit(build(ENGINES[engine]).si(path), unit, dimension_of(unit))
    low, high = BANDS[path][column]
    assert low <= number <= high


def test_compression_ratio_of_the_minimal_v8_is_an_engines():
    made = build()
    area = math.pi / 4.0 * made.si("casting.bore") ** 2
    gasket = math.pi / 4.0 * made.si("heads.gasket_bore") ** 2 * made.si("heads.gasket_thickness")
    closed = made.si("heads.chamber_volume") + gasket + area * made.si("pistons.deck_clearance")
    assert 9.5 < 1.0 + area * made.si("crank.stroke") / closed < 11.5


def test_deck_stack_closes_whichever_is_left_out():
    heights = {
        "casting.deck_height": "9.000 in",
        "pistons.compression_height": "1.550 in",
        "pistons.deck_clearance": "0.010 in",
    }
    for left_out in heights:
        made = build({path: text for path, text in heights.items() if path != left_out})
        stack = made.si("crank.stroke") / 2.0 + made.si("rods.length")
        rest = made.si("pistons.compression_height") + made.si("pistons.deck_clearance")
        assert made.si("casting.deck_height") == pytest.approx(stack + rest, abs=1e-6)


def test_preload_of_the_default_torque_is_three_quarters_of_proof():
    """Independent route: the general torque equation of the screw, with flank angle, solved for F."""
    made = build()
    row = catalogue.row("thread", made.word("main_fasteners.thread"))
    pitch, mean = row.si("pitch"), row.si("pitch_diameter")
    friction = made.si("main_fasteners.thread_friction")
    flank = friction / math.cos(math.radians(30.0))
    lead = pitch / (math.pi * mean)
    screw = mean / 2.0 * (lead + flank) / (1.0 - lead * flank)
    face = (1.5 + 1.05) / 4.0 * row.si("major") * made.si("main_fasteners.head_friction")
    load = made.si("main_fasteners.torque") / (screw + face)
    proof = catalogue.row("grade", "sae-8").si("proof") * row.si("stress_area")
    assert load / proof == pytest.approx(0.75, abs=0.02)


def test_valve_flow_default_is_the_bench_figure_of_the_notes():
    """A 35 mm valve at 10 mm lift, Cd .55: 133.7 cfm at 28 inH2O (shared/findings/formulas-gas.md 5.3).

    Computed there without the state of the air; 15 or 20 C differ by 1 %.
    """
    made = build({**FOUR, "heads.intake": {"valves": 1, "diameter": "35.0 mm"}})
    table = made.array("heads.intake.flow", "lift", "flow")
    lift, flow = table[4]  # L/D 0.25, Cd 0.55
    assert lift == pytest.approx(8.75e-3)
    assert flow / 4.719474432e-4 == pytest.approx(133.7 * 8.75 / 10.0, rel=0.01)


def test_turbo_charge_is_warmer_than_the_air_and_cooler_than_without_a_cooler():
    made = build(ENGINES["turbo"])
    ratio = 1.0 + made.si("boost.pressure") / made.si("conditions.pressure")
    adiabatic = made.si("conditions.temperature") * ratio ** (0.4 / 1.4)
    assert made.si("conditions.temperature") + 10.0 < made.si("boost.temperature") < adiabatic


@pytest.mark.parametrize(
    ("name", "throws", "split"),
    [
        ("V8", [0, 90, 270, 180], 0),
        ("inline four", [0, 180, 180, 0], 0),
        ("inline six", [0, 240, 120, 120, 240, 0], 0),
        ("V6, 90 deg", [0, 240, 120], 30),
        ("V12", [0, 240, 120, 120, 240, 0], 0),
        ("flat four", [0, 180, 180, 0], 0),
    ],
)
def test_default_cranks(name, throws, split):
    made = build(ENGINES[name])
    assert [round(math.degrees(x)) for x in made.array("layout.throws")] == throws
    assert round(math.degrees(made.si("layout.split"))) == split


def test_bank_by_bank_numbering_is_told_by_the_order():
    assert build().choice("layout.numbering") == "by-bank"
    odd_even = build({"layout.firing_order": [1, 8, 4, 3, 6, 5, 7, 2]})
    assert odd_even.choice("layout.numbering") == "alternating"


def test_walls_not_read_follow_those_that_were():
    walls = {
        "angles": ["0 deg", "90 deg", "180 deg", "270 deg"],
        "depths": ["1 in", "3 in"],
        "thickness": {"1": ["0.20 0.18 0.20 0.18 in"] * 2, "2": ["0.22 0.18 0.20 0.18 in"] * 2},
    }
    made = build({"casting.walls": walls})
    found = made.walls()
    assert found.thickness.shape == (8, 2, 4)
    assert list(found.measured) == [True, True] + [False] * 6
    assert found.thickness[5, 0, 0] == pytest.approx(0.21 * 0.0254)
    assert made.value("casting.walls.6.0.0").by == "assumed"
    told = {a.path: a.value for a in made.assumptions}["casting.walls.thickness"]
    assert told == "0.180 in to 0.210 in in cylinders 3, 4, 5, 6, 7, 8"


def test_rules_stand_in_the_order_in_which_they_depend():
    """A second pass adds nothing: no rule read a field whose rule stands below it."""
    for engine in ENGINES.values():
        draft = flatten(build(engine).raw, frozenset(), {})
        complete(draft)
        again, lacking = complete(draft)
        assert again == ()
        assert lacking == []


def test_each_field_has_one_rule():
    paths = [rule.path for rule in RULES]
    assert len(paths) == len(set(paths))
    assert set(paths) - {"duty.points"} <= set(leaves())
    assert all(rule.spread for rule in RULES if isinstance(rule, Rule))


@settings(max_examples=40, deadline=None)
@given(
    st.floats(60.0, 130.0),
    st.floats(0.7, 1.3),
    st.floats(1.45, 2.2),
    st.sampled_from(["inline four", "V8", "flat four", "V6, 60 deg"]),
)
def test_any_sensible_engine_of_few_words_loads(bore, square, rod, name):
    """Defaults never contradict each other: a build of required fields alone is sound."""
    stroke = bore * square
    litres = math.pi / 4.0 * bore**2 * stroke * 1e-6 * (8 if name == "V8" else 6 if "V6" in name else 4)
    speed = min(7000.0, 20.0 / (stroke * 1e-3) * 30.0)
    changes = {
        **ENGINES[name],
        "casting.bore": f"{bore:.2f} mm",
        "crank.stroke": f"{stroke:.2f} mm",
        "rods.length": f"{stroke * rod:.1f} mm",
        "heads.chamber_volume": f"{math.pi / 4.0 * bore**2 * stroke * 1e-3 / 10.0:.1f} cc",
        "target.power": f"{litres * 90.0 * speed / 6500.0:.0f} hp",
        "target.speed": f"{speed:.0f} rpm",
    }
    made = build(changes)
    assert all(math.isfinite(value.si) and value.u >= 0.0 for value in made.values.values())
    assert (made.walls().thickness > 0.0).all()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_frozen_samples_load(path):
    """Files of every format there has been still read, with the values they had."""
    made = load(path)
    assert made.invented
    if path.stem == "everything":
        assert made.si("target.power") == 510e3
        assert made.u("casting.bore") == pytest.approx(0.0002 * 0.0254)
        assert made.si("casting.head_boss_diameter") == pytest.approx(1.0625 * 0.0254)
        assert made.si("casting.walls.2.0.1") == pytest.approx(5.8e-3)
        rows = path.read_text().split("\n")
        assert rows[made.value("casting.walls.1.1.0").line - 1].startswith('               "0.258')
        assert made.si("duty.points.1.load") == 0.6
        assert made.si("duty.events.lean_cylinder.count") == 0.2
        assert made.value("spark.ca50").u == pytest.approx(math.radians(4.0))
        assert made.array("cam.intake_curve", "angle", "lift").shape == (5, 2)
        assert not made.has("cam.intake_opens")
        assert made.numbers("caps.four_bolt_mains") == (2, 3, 4)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_a_build_of_version_0_1_keeps_every_value_it_had(path):
    """The .json beside each sample holds what version 0.1 (commit ccaa585) read and assumed; frozen."""
    made, old = load(path), json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    for name, (si, u, by) in old["values"].items():
        value = made.value(name)
        assert (value.si, value.u, value.by) == (
            pytest.approx(si, rel=1e-12),
            pytest.approx(u, rel=1e-9),
            by,
        ), name
    for name, choice in old["choices"].items():
        found = made.choice(name)
        assert (list(found) if isinstance(found, tuple) else found) == choice


def test_walls_are_arrays_in_si():
    made = load(next(path for path in SAMPLES if path.stem == "everything"))
    walls = made.walls()
    assert walls.depth.tolist() == pytest.approx([0.0254, 0.0762])
    assert walls.angle.tolist() == pytest.approx([0.0, math.pi / 2, math.pi, 1.5 * math.pi])
    assert walls.thickness[0, 1, 3] == pytest.approx(0.226 * 0.0254)
    assert made.u("casting.walls.1.0.0") == pytest.approx(0.003 * 0.0254)


def test_no_default_where_none_is_common():
    with pytest.raises(InputError, match="no usual one"):
        build({"layout.cylinders": 2, "layout.firing_order": [1, 2], "target.power": "80 hp"})
    twin = {"layout.cylinders": 2, "layout.firing_order": [1, 2], "layout.bank_angle": "45 deg"}
    with pytest.raises(InputError, match="give the throws"):
        build({**twin, "target.power": "80 hp"})
    made = build({**twin, "target.power": "80 hp", "layout.throws": ["0 deg"]})
    assert made.count("casting.main_count") == 2


# --- pipes -------------------------------------------------------------------------------------------

#: Bands of the trade for an iron V8 of 5.8 l at 6500 rpm and a four of 2.2 l with two valves a side.
#: Common practice, no source.
PIPES = {
    "intake.runner_length": ((5.0, 10.0), (5.0, 12.0)),
    "intake.runner_diameter": ((1.5, 1.9), (1.4, 1.8)),
    "heads.intake.port_length": ((4.5, 6.0), (3.5, 5.0)),
    "exhaust.primary_length": ((28.0, 36.0), (26.0, 36.0)),
    "exhaust.primary_diameter": ((1.6, 1.85), (1.5, 1.85)),
    "exhaust.collector_length": ((10.0, 20.0), (10.0, 20.0)),
    "exhaust.collector_diameter": ((2.7, 3.5), (2.3, 3.3)),
    "exhaust.tail_diameter": ((2.5, 3.2), (2.0, 2.9)),
}


@pytest.mark.parametrize("path", PIPES)
@pytest.mark.parametrize(("engine", "column"), [("V8", 0), ("inline four", 1)])
def test_pipes_by_default_are_those_of_the_trade(path, engine, column):
    made = build(ENGINES[engine])
    low, high = PIPES[path][column]
    assert low <= made.si(path) / 0.0254 <= high
    assert 0.05 * made.si(path) <= made.u(path) <= 0.3 * made.si(path)


def test_a_slower_target_gives_longer_pipes():
    slow, fast = build({"target.speed": "5000 rpm", "target.power": "350 hp"}), build()
    for path in ("intake.runner_length", "exhaust.primary_length"):
        assert slow.si(path) > 1.15 * fast.si(path)


def test_pipes_are_never_narrower_than_what_the_valves_pass():
    """A head that flows 400 cfm through small valves opens the pipes that follow by default."""
    flow = [["0.2 in", "200 cfm"], ["0.6 in", "400 cfm"]]
    made = build({"heads.intake": {"flow": flow}, "heads.exhaust": {"flow": flow}})
    for path in ("heads.intake.port_diameter", "intake.runner_diameter", "exhaust.primary_diameter"):
        assert made.si(path) > 1.8 * 0.0254


@pytest.mark.parametrize(
    ("engine", "groups"),
    [
        ("V8", ((1, 2, 3, 4), (5, 6, 7, 8))),
        ("inline four", ((1, 2, 3, 4),)),
        ("inline six", ((1, 2, 3, 4, 5, 6),)),
        ("flat four", ((1, 3), (2, 4))),
        ("single", ((1,),)),
    ],
)
def test_cylinders_are_grouped_by_bank(engine, groups):
    assert build(ENGINES[engine]).groups("exhaust.groups") == groups


def test_a_long_inline_engine_is_grouped_by_halves():
    assert default_groups("inline", 8, "alternating") == ((1, 2, 3, 4), (5, 6, 7, 8))


@pytest.mark.parametrize(
    ("changes", "law"),
    [
        ({}, "flame"),
        ({"spark.ca50": "8 deg"}, "wiebe"),
        ({"spark.burn_duration": "30 deg"}, "wiebe"),
        ({"spark.ca10_delay": "20 deg"}, "wiebe"),
        ({"spark.ca50": "8 deg", "spark.law": "wiebe"}, "wiebe"),
    ],
)
def test_burning_is_a_flame_unless_its_angles_are_given(changes, law):
    assert build(changes).word("spark.law") == law


def test_an_empty_section_of_a_machine_is_a_machine():
    made = build({"boost": {"kind": "turbo", "pressure": "10 psi"}, "turbo": {}})
    assert made.count("turbo.count") == 1
    assert not build({"boost": {"kind": "turbo", "pressure": "10 psi"}}).has("turbo")


def test_the_default_turbocharger_is_that_of_the_gas_model():
    """Independent route: `gas.boost.turbo_sizes`, which the rules here spell out for the build file."""
    from blockwright.gas.boost.sizes import air_flow_for, turbo_sizes

    made = build({"boost": {"kind": "turbo", "pressure": "14 psi"}, "turbo": {"count": 2}})
    air = air_flow_for(made.si("target.power"), made.word("fuel.kind"), made.si("fuel.lambda"))
    ratio = 1.0 + made.si("boost.pressure") / made.si("conditions.pressure")
    sizes = turbo_sizes(air, ratio, count=2)
    expected = {
        "compressor_diameter": sizes.compressor,
        "turbine_diameter": sizes.turbine,
        "turbine_area": sizes.turbine_area,
        "wastegate_diameter": sizes.wastegate,
        "back_diameter": sizes.back,
        "inertia": sizes.inertia,
    }
    # The build's catalogue and the gas model's tables differ by up to 1 % in the fuel's heating value.
    for name, size in expected.items():
        assert made.si(f"turbo.{name}") == pytest.approx(size, rel=0.03), name


def test_a_smaller_boost_is_cooler_by_default():
    low, high = (
        build({"boost": {"kind": "blower", "pressure": p}, "blower": {"principle": "centrifugal"}})
        for p in ("5 psi", "15 psi")
    )
    assert 300.0 < low.si("boost.temperature") < high.si("boost.temperature") < 345.0
