"""Fields that are possible one by one and impossible together: each has its test."""

from __future__ import annotations

import pytest

from blockwright.build import load
from blockwright.build.cranks import is_common
from blockwright.build.walk import leaf_at
from blockwright.errors import InputError

from .helpers import FOUR, build, faults, text

WALLS = {
    "angles": ["0 deg", "90 deg", "180 deg", "270 deg"],
    "depths": ["1.0 in"],
    "thickness": {"1": ["0.20 0.19 0.20 0.19 in"], "2": ["0.20 0.19 0.20 0.19 in"]},
}


def walls(**changes):
    return {"casting.walls": {key: new for key, new in {**WALLS, **changes}.items() if new is not None}}


def curve(*lifts):
    return [[f"{330 + 40 * k} deg", f"{lift} in"] for k, lift in enumerate(lifts)]


CASES = [
    # the crank and its order
    (
        {"layout.firing_order": [1, 5, 4, 2, 6, 3, 7]},
        "layout.firing_order",
        "each of the cylinders 1 to 8 once",
    ),
    ({"layout.firing_order": [1, 5, 4, 2, 6, 3, 7, 7]}, "layout.firing_order", "each of the cylinders"),
    ({"layout.firing_order": [1, 2, 3, 4, 5, 6, 7, 8]}, "layout.firing_order", "fires in that order"),
    ({**FOUR, "layout.firing_order": [1, 2, 3, 4]}, "layout.firing_order", "no common crank of 4 cylinders"),
    (
        {
            **FOUR,
            "layout.firing_order": [1, 2, 3, 4],
            "layout.throws": ["0 deg", "180 deg", "180 deg", "0 deg"],
        },
        "layout.firing_order",
        "no turn of this crank",
    ),
    ({**FOUR, "layout.throws": ["0 deg", "180 deg"]}, "layout.throws", "give 4, one for each crankpin"),
    ({"layout.throws": ["0 deg"] * 3}, "layout.throws", "give 4 or 8"),
    (
        {"layout.cylinders": 7, "layout.firing_order": [1, 2, 3, 4, 5, 6, 7]},
        "layout.cylinders",
        "an even number",
    ),
    ({"layout.cylinders": 4, "layout.firing_order": [1, 3, 4, 2]}, "layout.bank_angle", "no usual one"),
    ({**FOUR, "layout.bank_angle": "90 deg"}, "layout.bank_angle", "leave it out"),
    # dimensions
    ({"casting.bore_spacing": "4.0 in"}, "casting.bore_spacing", "must exceed the bore, 4.030 in"),
    ({"rods.length": "3.9 in"}, "rods.length", "at least 1.2 strokes, 4.176 in"),
    (
        {
            "casting.deck_height": "9.000 in",
            "pistons": {"compression_height": "1.5 in", "deck_clearance": "0.0 in"},
        },
        "pistons.deck_clearance",
        "leave 0.060 in of the deck height",
    ),
    (
        {"casting.deck_height": "8.9 in", "pistons": {"compression_height": "1.6 in"}},
        "casting.deck_height",
        "stands 0.140 in above the deck and the gasket is only 0.040 in",
    ),
    ({"pistons": {"deck_clearance": "-0.060 in"}}, "pistons.deck_clearance", "it would hit the head"),
    (
        {"casting.deck_height": "11.5 in", "pistons": {"compression_height": "1.5 in"}},
        "casting.deck_height",
        "leaves the piston 2.560 in below the deck",
    ),
    ({"casting.deck_height": "7.6 in"}, "casting.deck_height", "for the piston above its pin"),
    (
        {"heads.chamber_volume": "3 cc", "pistons": {"dish": "-40 cc"}},
        "heads.chamber_volume",
        "above the piston",
    ),
    ({"heads.chamber_volume": "600 cc"}, "heads.chamber_volume", "compression ratio of 2."),
    ({"heads.chamber_volume": "12 cc"}, "heads.chamber_volume", "4 to 22 can be"),
    ({"casting.main_bore": "2.4 in"}, "casting.main_bore", "must be above crank.main_journal"),
    (
        {"crank.main_journal": "2.7 in", "casting.main_bore": "2.6 in"},
        "crank.main_journal",
        "shells lie between",
    ),
    ({"rods.big_end_bore": "2.0 in"}, "rods.big_end_bore", "must be above crank.pin_journal"),
    ({"caps.span": "2.5 in"}, "caps.span", "the fasteners stand outside the bore"),
    ({"caps.span": "2.9 in"}, "caps.span", "would cut into the main bore"),
    ({"caps.foot_width": "0.4 in"}, "caps.foot_width", "wider than its 1/2-13 fastener"),
    (
        {"caps.pattern": "four-bolt-straight", "caps.outer_span": "3.0 in"},
        "caps.outer_span",
        "the outer fasteners stand outside",
    ),
    ({"pistons": {"top_ring": "1.6 in"}}, "pistons.top_ring", "the ring is above the pin"),
    ({"casting.bore_length": "3.0 in"}, "casting.bore_length", "the piston stays in its cylinder"),
    ({"crank.main_width": "3.5 in"}, "crank.main_width", "the rods need room"),
    ({"casting.cam_height": "2.0 in"}, "casting.cam_height", "cut into the main bore"),
    ({"casting.saddle_depth": "3.5 in"}, "casting.saddle_depth", "leaves only 2.16"),
    # walls
    (walls(thickness={"1": ["0.2 0.2 0.2 in"]}), "casting.walls.thickness.1.0", "give 4, one an angle"),
    (walls(thickness={"1": ["0.2 0.2 0.2 0.2 in"] * 2}), "casting.walls.thickness.1", "give 1, one a depth"),
    (walls(thickness={"9": ["0.2 0.2 0.2 0.2 in"]}), "casting.walls.thickness.9", "cylinders are 1 to 8"),
    (walls(thickness={"one": ["0.2 0.2 0.2 0.2 in"]}), "casting.walls.thickness.one", "by its number"),
    (walls(thickness={"1": ["0.2 0.2 0.2 0.2"]}), "casting.walls.thickness.1.0", "and their unit"),
    (walls(thickness={"1": ["0.2 0.2 x 0.2 in"]}), "casting.walls.thickness.1.0", "unit of length"),
    (walls(thickness={"1": "0.2 in"}), "casting.walls.thickness.1", "a list of at least 1 lines"),
    (walls(depths=["7.0 in"]), "casting.walls.depths.0", "the cylinder ends 5.374 in below"),
    (walls(depths=["1 in", "0.5 in"]), "casting.walls.depths.1", "exceed the one before"),
    (
        walls(angles=["0 deg", "90 deg", "90 deg", "270 deg"]),
        "casting.walls.angles.2",
        "exceed the one before",
    ),
    (walls(depths=None), "casting.walls.depths", "how far below the deck"),
    (
        walls(angles=None, thickness={"1": ["0.2 0.2 0.2 in"]}),
        "casting.walls.angles",
        "where around the bore",
    ),
    (walls(u="2 psi"), "casting.walls.u", "unit of length"),
    # caps and fasteners
    ({"caps.four_bolt_mains": [2, 3]}, "caps.four_bolt_mains", "leave it out, or give caps.pattern"),
    (
        {"caps.pattern": "four-bolt-straight", "caps.four_bolt_mains": [2, 6]},
        "caps.four_bolt_mains",
        "name mains 1 to 5, each once",
    ),
    (
        {"caps.pattern": "four-bolt-straight", "caps.four_bolt_mains": [2, 2]},
        "caps.four_bolt_mains",
        "each once",
    ),
    ({"caps.pattern": "four-bolt-straight", "caps.splay": "20 deg"}, "caps.splay", "four-bolt-splayed"),
    ({"caps.splay": "20 deg"}, "caps.splay", 'it out: caps.pattern is "two-bolt"'),
    ({"caps.outer_span": "5.2 in"}, "caps.outer_span", 'caps.pattern is "two-bolt"'),
    ({"outer_fasteners": {"thread": "7/16-14"}}, "outer_fasteners", "leave the section out"),
    ({"main_fasteners": {"tighten": "torque"}}, "main_fasteners.torque", "tightened by torque: give it"),
    ({"rod_bolts": {"tighten": "stretch"}}, "rod_bolts.stretch", "tightened by stretch: give it"),
    ({"head_fasteners": {"tighten": "angle"}}, "head_fasteners.angle", "tightened by angle: give it"),
    (
        {"rod_bolts": {"tighten": "stretch", "stretch": "0.006 in", "torque": "50 lbf*ft"}},
        "rod_bolts.torque",
        'rod_bolts.tighten is "stretch"',
    ),
    ({"rod_bolts": {"stretch": "0.060 in"}}, "rod_bolts.stretch", "it would yield"),
    # breathing
    ({"cam": {"intake_closes": "-50 deg", "intake_opens": "-20 deg"}}, "cam.intake_closes", "for 110 deg"),
    ({"cam": {"exhaust_opens": "149 deg", "exhaust_closes": "139 deg"}}, "cam.exhaust_closes", "for 468 deg"),
    ({"cam": {"intake_lift": "1.5 in"}}, "cam.intake_lift", "over 0.6 of the valve's diameter"),
    (
        {"cam": {"intake_curve": curve(0, 0.2, 0.5, 0.2, 0), "intake_opens": "30 deg"}},
        "cam.intake_opens",
        "cam.intake_curve already tells it",
    ),
    ({"cam": {"intake_curve": curve(0, 0, 0, 0, 0)}}, "cam.intake_curve", "never opens"),
    ({"cam": {"intake_curve": curve(0.2, 0.3, 0.5, 0.2, 0)}}, "cam.intake_curve", "with the valve shut"),
    ({"heads.intake": {"diameter": "3.7 in"}}, "heads.intake.diameter", "0.9 of the bore"),
    ({"boost": {"kind": "turbo"}}, "boost.pressure", "give the charge pressure of the turbo"),
    ({"boost": {"kind": "turbo", "pressure": "0 psi"}}, "boost.pressure", "more than none"),
    ({"boost": {"pressure": "8 psi"}}, "boost.pressure", "give boost.kind"),
    ({"spark.advance": "10 deg", "spark.ca50": "-12 deg"}, "spark.ca50", "must come after the spark"),
    # pipes
    ({"intake": {"runner_diameter": "1.0 in"}}, "intake.runner_diameter", "the pipe must be wider"),
    ({"intake": {"runner_entry_diameter": "5 in"}}, "intake.runner_entry_diameter", "0.7 to 2 can be"),
    ({"heads.exhaust": {"port_diameter": "0.9 in"}}, "heads.exhaust.port_diameter", "exhaust valves pass"),
    ({"heads.intake": {"port_diameter": "3.6 in"}}, "heads.intake.port_diameter", "0.85 of the bore"),
    ({"exhaust": {"primary_diameter": "1.0 in"}}, "exhaust.primary_diameter", "as a hole of 1.2"),
    ({"exhaust": {"primary_length": "6 m"}}, "exhaust.primary_length", "between 0.5 in and 5 m"),
    ({"exhaust": {"collector_diameter": "1.5 in"}}, "exhaust.collector_diameter", "no smaller than"),
    ({"exhaust": {"groups": [[1, 2, 3], [5, 6, 7, 8]]}}, "exhaust.groups", "cylinders 1 to 8 in one group"),
    ({"exhaust": {"groups": [[1, 2, 3, 4, 5], [5, 6, 7, 8]]}}, "exhaust.groups", "cylinders 1 to 8"),
    ({"exhaust": {"groups": [[1, 2, 3, 4], [5, 6, 7, 9]]}}, "exhaust.groups", "[5, 6, 7, 9]"),
    ({"exhaust": {"secondary_groups": [[1, 2]]}}, "exhaust.secondary_groups", "in one secondary"),
    (
        {"exhaust": {"secondary_groups": [[1, 5], [2, 3], [4, 6], [7, 8]]}},
        "exhaust.secondary_groups",
        "cylinders 1, 5 are in different exhaust.groups",
    ),
    ({"exhaust": {"secondary_length": "15 in"}}, "exhaust.secondary_length", "give exhaust.secondary_groups"),
    ({"exhaust": {"layout": "log", "momentum_kept": 0.5}}, "exhaust.momentum_kept", "a log keeps none"),
    ({"exhaust": {"layout": "log", "primary_length": "30 in"}}, "exhaust.primary_length", "stubs to a log"),
    (
        {"exhaust": {"layout": "log", "secondary_groups": [[1, 2], [3, 4], [5, 6], [7, 8]]}},
        "exhaust.secondary_groups",
        'exhaust.layout is "log"',
    ),
    (
        {"exhaust": {"groups": [[1, 2, 3, 4, 5, 6, 7, 8]], "crossover_diameter": "2 in"}},
        "exhaust.crossover_diameter",
        "exhaust.groups makes 1",
    ),
    (
        {"exhaust": {"tail_length": "0 in", "crossover_diameter": "2 in"}},
        "exhaust.crossover_diameter",
        "give exhaust.tail_length",
    ),
    (
        {"exhaust": {"tail_length": "0 in", "tail_diameter": "3 in"}},
        "exhaust.tail_diameter",
        "exhaust.tail_length is 0",
    ),
    (
        {"exhaust": {"tail_length": "30 in"}, "boost": {"kind": "turbo", "pressure": "9 psi"}},
        "exhaust.tail_length",
        "behind a turbine",
    ),
    (
        {"exhaust": {"collector_length": "10 in"}, "boost": {"kind": "turbo", "pressure": "9 psi"}},
        "exhaust.collector_length",
        "the log feeds the turbine itself",
    ),
    ({"intake": {"layout": "individual", "plenums": 2}}, "intake.plenums", 'intake.layout is "individual"'),
    ({"intake": {"inlet_diameter": "4 in"}}, "intake.inlet_diameter", "give intake.inlet_length"),
    ({"fuel": {"injectors": "carburettor", "pressure": "43 psi"}}, "fuel.pressure", "carburettor shuts"),
    ({"fuel": {"pressure": "6 psi"}}, "fuel.pressure", "injectors need"),
    ({"spark.plug_offset": "2.1 in"}, "spark.plug_offset", "outside the bore"),
    ({"spark.plug_offset": "1.2 in", "spark.plug": "central"}, "spark.plug_offset", "a central plug"),
    ({"spark.law": "flame", "spark.ca50": "8 deg"}, "spark.ca50", 'spark.law = "wiebe"'),
    (
        {
            "spark.law": "flame",
            "spark.burn_duration": "30 deg",
            "heads": {"chamber_volume": "64 cc", "tumble": 0.7},
        },
        "heads.tumble",
        "the flame's turbulence follows from either",
    ),
    # chargers and nitrous oxide
    ({"turbo": {"count": 2}}, "turbo", 'give boost.kind = "turbo"'),
    ({"turbo": {}}, "turbo", "leave the section out"),
    (
        {
            "boost": {"kind": "turbo", "pressure": "9 psi"},
            "blower": {"principle": "lobe", "displacement": "5 l"},
        },
        "blower",
        'boost.kind is "turbo"',
    ),
    (
        {"boost": {"kind": "turbo", "pressure": "9 psi", "temperature": "50 degC"}, "turbo": {}},
        "boost.temperature",
        "it is computed from [turbo]",
    ),
    (
        {"boost": {"kind": "turbo", "pressure": "9 psi", "exhaust_pressure": "9 psi"}, "turbo": {}},
        "boost.exhaust_pressure",
        "it is computed from [turbo]",
    ),
    (
        {
            "boost": {"kind": "turbo", "pressure": "9 psi"},
            "turbo": {"compressor_diameter": "60 mm", "turbine_diameter": "25 mm"},
        },
        "turbo.turbine_diameter",
        "0.5 to 1.6 can be",
    ),
    (
        {"boost": {"kind": "turbo", "pressure": "9 psi"}, "turbo": {"turbine_area": "28 in^2"}},
        "turbo.turbine_area",
        "0.04 to 1 can be",
    ),
    (
        {"boost": {"kind": "turbo", "pressure": "9 psi"}, "turbo": {"compressor_map": "maps/none.csv"}},
        "turbo.compressor_map",
        "there is no such file in",
    ),
    (
        {
            "boost": {"kind": "turbo", "pressure": "9 psi"},
            "turbo": {"cooler_effectiveness": 0.0, "cooler_drop": "1 psi"},
        },
        "turbo.cooler_drop",
        "there is no cooler",
    ),
    (
        {"boost": {"kind": "blower", "pressure": "9 psi"}, "blower": {"principle": "screw"}},
        "blower.displacement",
        "what the screw blower moves in one turn",
    ),
    (
        {
            "boost": {"kind": "blower", "pressure": "9 psi"},
            "blower": {"principle": "lobe", "displacement": "5 l", "impeller_diameter": "90 mm"},
        },
        "blower.impeller_diameter",
        'blower.principle is "lobe"',
    ),
    (
        {
            "boost": {"kind": "blower", "pressure": "9 psi"},
            "blower": {"principle": "centrifugal", "displacement": "5 l"},
        },
        "blower.displacement",
        'blower.principle is "centrifugal"',
    ),
    ({"nitrous": {"power": "150 hp"}}, "nitrous.bottle_mass", "nitrous oxide in one full bottle"),
    ({"nitrous": {"bottle_mass": "10 lb"}}, "nitrous.power", "give the power wanted from it"),
    (
        {"nitrous": {"bottle_mass": "10 lb", "power": "150 hp", "jet": "0.06 in"}},
        "nitrous.jet",
        "give one of the two",
    ),
    (
        {"nitrous": {"bottle_mass": "10 lb", "power": "150 hp", "fuel_jet": "0.06 in"}},
        "nitrous.fuel_jet",
        "computed with the jet",
    ),
    (
        {"nitrous": {"bottle_mass": "10 lb", "jet": "0.06 in", "fuel_jet": "0.06 in", "mode": "dry"}},
        "nitrous.fuel_jet",
        'nitrous.mode is "dry"',
    ),
    (
        {"nitrous": {"bottle_mass": "10 lb", "power": "150 hp", "place": "port", "jets": 3}},
        "nitrous.jets",
        "or a multiple",
    ),
    (
        {
            "intake": {"layout": "individual"},
            "nitrous": {"bottle_mass": "10 lb", "power": "150 hp", "place": "plate"},
        },
        "nitrous.place",
        "individual runners have no plate",
    ),
    (
        {"nitrous": {"bottle_mass": "10 lb", "power": "150 hp", "activation_speed": "7000 rpm"}},
        "nitrous.activation_speed",
        "or it never flows",
    ),
    (
        {"nitrous": {"bottle_mass": "10 lb", "power": "150 hp", "bottle_volume": "5 l"}},
        "nitrous.bottle_volume",
        "0.91 kg/l",
    ),
    # duty and target
    ({"duty.pass_time": None}, "duty.pass_time", "give the time of one run"),
    ({"duty": {"kind": "hours"}}, "duty.hours", "give the running time"),
    ({"duty.hours": "3 h"}, "duty.hours", 'duty.kind is "passes"'),
    ({"duty": {"kind": "hours", "hours": "3 h", "passes": 3}}, "duty.passes", 'duty.kind is "hours"'),
    (
        {"duty.points": [{"speed": "6500 rpm", "load": 1.0, "share": 0.6}]},
        "duty.points",
        "make the shares add up to 1",
    ),
    (
        {"duty.events": {"missed_shift": {"speed": "6000 rpm"}}},
        "duty.events.missed_shift.speed",
        "above the highest speed of the duty, 6500 rpm",
    ),
    ({"target.power": "9000 hp"}, "target.power", "mean effective pressure of"),
    ({"target.speed": "16000 rpm"}, "target.speed", "none lives above 40"),
]


@pytest.mark.parametrize(("changes", "path", "words"), CASES)
def test_contradiction(changes, path, words):
    """The fault is found, and it is the only one: each case has one thing wrong."""
    found = faults(changes)
    assert [fault.path for fault in found] == [path]
    assert words in f"{found[0].read}; {found[0].right}"


def test_faults_name_fields_of_the_file():
    for _, path, _ in CASES:
        known = (
            leaf_at(path) or leaf_at(path.rpartition(".")[0]) or path.startswith("casting.walls.thickness")
        )
        assert known or path in ("outer_fasteners", "duty.points", "turbo", "blower")


def test_bore_and_facing_walls_wider_than_the_spacing():
    """Numbered bank by bank, cylinders 1 and 2 are neighbours and 1 and 3 are not."""
    assert build().choice("layout.numbering") == "by-bank"
    thick = ["0.22 0.30 0.22 0.30 in"]
    found = faults(walls(thickness={"1": thick, "2": thick}))
    assert [fault.path for fault in found] == ["casting.walls.thickness.1.0"]
    assert "is wider than the bore spacing, 4.433 in" in found[0].right
    assert build(walls(thickness={"1": thick, "3": thick}))


def test_shared_walls_read_the_same_from_both_bores():
    """A siamesed wall: its whole thickness is the distance between the bores."""
    thickness = {"1": ["0.30 0.403 0.30 0.20 in"], "2": ["0.30 0.20 0.30 0.403 in"]}
    assert build(walls(thickness=thickness)).si("casting.walls.1.0.1") == pytest.approx(0.403 * 0.0254)
    both = {"1": ["0.30 0.403 0.30 0.403 in"], "2": ["0.30 0.403 0.30 0.403 in"]}
    assert build(walls(thickness=both))


def test_piston_above_the_deck_but_below_the_gasket_is_usual():
    assert build({"pistons": {"deck_clearance": "-0.010 in"}}).si("pistons.deck_clearance") < 0.0


@pytest.mark.parametrize(
    ("kind", "cylinders", "throws", "common"),
    [
        ("inline", 4, (0, 180, 180, 0), True),
        ("inline", 4, (0, 180, 0, 180), False),
        ("inline", 3, (0, 240, 120), True),
        ("inline", 3, (0, 0, 120), False),
        ("inline", 6, (0, 120, 240, 240, 120, 0), True),
        ("inline", 6, (0, 120, 240, 0, 120, 240), False),
        ("V", 8, (0, 90, 270, 180), True),
        ("V", 8, (0, 180, 180, 0), True),
        ("V", 8, (0, 270, 180, 90), False),
        ("flat", 4, (0, 180, 180, 0), True),
    ],
)
def test_common_cranks(kind, cylinders, throws, common):
    assert is_common(kind, cylinders, throws) is common


def test_all_faults_of_pipes_and_machines_come_at_once():
    """Seven things wrong in one file are seven faults, each at its place."""
    found = faults(
        {
            "intake": {"runner_diameter": "1.0 in"},
            "exhaust": {"groups": [[1, 2, 3, 4]], "tail_length": "0 in", "tail_diameter": "3 in"},
            "fuel": {"pressure": "6 psi"},
            "spark.plug_offset": "2.1 in",
            "turbo": {"compressor_map": "none.csv"},
            "nitrous": {"bottle_mass": "10 lb"},
        }
    )
    assert {fault.path for fault in found} == {
        "intake.runner_diameter",
        "exhaust.groups",
        "exhaust.tail_diameter",
        "fuel.pressure",
        "spark.plug_offset",
        "turbo",
        "turbo.compressor_map",
        "nitrous.power",
    }


def test_a_map_is_looked_for_beside_the_build(tmp_path):
    file = tmp_path / "build.toml"
    changes = {"boost": {"kind": "turbo", "pressure": "9 psi"}, "turbo": {"compressor_map": "maps/ours.csv"}}
    file.write_text(text(changes), encoding="utf-8")
    with pytest.raises(InputError, match="no such file in"):
        load(file)
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "ours.csv").write_text("", encoding="utf-8")
    made = load(file)
    assert made.file("turbo.compressor_map") == tmp_path / "maps" / "ours.csv"
    again = made.with_changes(
        {"casting.bore": "4.040 in", "exhaust.groups": ((1, 2), (3, 4), (5, 6), (7, 8))}
    )
    assert again.groups("exhaust.groups") == ((1, 2), (3, 4), (5, 6), (7, 8))
    assert again.file("turbo.compressor_map") == tmp_path / "maps" / "ours.csv"
