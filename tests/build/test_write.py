"""Changing and writing back: comments, order and units stay; a file is whole or untouched."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockwright.build import load, loads, save
from blockwright.build.write import text_of
from blockwright.errors import InputError

from .helpers import build, text

SAMPLES = Path(__file__).parent / "samples" / "format1"
EVERYTHING = SAMPLES / "everything.toml"


@pytest.mark.parametrize("name", ["everything.toml", "few_words.toml"])
@pytest.mark.parametrize(
    "dress", [lambda b: b, lambda b: b"\xef\xbb\xbf" + b, lambda b: b.replace(b"\n", b"\r\n")]
)
def test_unchanged_is_byte_for_byte(tmp_path, name, dress):
    original = dress((SAMPLES / name).read_bytes())
    (tmp_path / "in.toml").write_bytes(original)
    save(load(tmp_path / "in.toml"), tmp_path / "out.toml")
    assert (tmp_path / "out.toml").read_bytes() == original


def test_a_change_touches_its_line_only():
    made = load(EVERYTHING).with_changes({"crank.pin_journal": "2.150 in", "spark.advance": "28 deg"})
    before = EVERYTHING.read_text().split("\n")
    after = text_of(made).split("\n")
    different = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert different == [
        ('pin_journal = "2.200 in"', 'pin_journal = "2.150 in"'),
        ('advance = "30 deg"', 'advance = "28 deg"'),
    ]
    assert loads(text_of(made)).si("crank.pin_journal") == pytest.approx(2.15 * 0.0254)


def test_changes_follow_through_the_defaults():
    made = build()
    wider = made.with_changes({"casting.bore": "4.060 in"})
    assert wider.si("casting.bore_spacing") == pytest.approx(1.10 * 4.060 * 0.0254, abs=1e-5)
    assert made.si("casting.bore") == pytest.approx(4.030 * 0.0254)


def test_a_float_is_si_and_keeps_unit_and_provenance():
    made = load(EVERYTHING).with_changes({"casting.bore": 0.1048, "fuel.lambda": 0.9, "caps.crown": 0.025})
    bore = made.value("casting.bore")
    assert bore.si == pytest.approx(0.1048, rel=1e-9)
    assert (bore.unit, bore.gauge, bore.note) == ("in", "bore gauge", "after honing")
    assert made.si("fuel.lambda") == 0.9
    assert made.si("caps.crown") == pytest.approx(0.025, rel=1e-9)
    assumed = build().with_changes({"crank.throw_moment": 0.08, "boost.temperature": 300.0})
    assert assumed.si("crank.throw_moment") == pytest.approx(0.08)
    assert assumed.si("boost.temperature") == pytest.approx(300.0)


def test_choices_lists_and_removal():
    made = load(EVERYTHING).with_changes({"caps.pattern": "four-bolt-straight", "caps.splay": None})
    assert made.word("caps.pattern") == "four-bolt-straight"
    assert not made.has("caps.splay")
    again = loads(text_of(made.with_changes({"caps.four_bolt_mains": (2, 4)})))
    assert again.numbers("caps.four_bolt_mains") == (2, 4)
    girdle = build().with_changes({"girdle.thickness": "0.5 in", "girdle.width": "1.4 in"})
    assert girdle.si("girdle.fit") == 0.0
    bare = girdle.with_changes({"girdle": None})
    assert not bare.has("girdle.thickness")
    assert loads(text_of(girdle)).has("girdle.width")


def test_members_of_a_list():
    made = load(EVERYTHING).with_changes({"duty.points.0.share": 0.4, "duty.points.1.share": 0.6})
    assert loads(text_of(made)).si("duty.points.1.share") == 0.6


def test_one_wall_reading():
    made = load(EVERYTHING).with_changes({"casting.walls.1.1.3": "0.200 in"})
    assert made.si("casting.walls.1.1.3") == pytest.approx(0.200 * 0.0254)
    assert made.si("casting.walls.1.1.2") == pytest.approx(0.251 * 0.0254)
    assert loads(text_of(made)).si("casting.walls.1.1.3") == pytest.approx(0.200 * 0.0254)


def test_one_wall_reading_where_none_were_read():
    made = build().with_changes({"casting.walls.3.0.0": 0.0047, "casting.walls.3.2.1": "0.170 in"})
    assert made.si("casting.walls.3.0.0") == pytest.approx(0.0047)
    assert made.si("casting.walls.3.2.1") == pytest.approx(0.170 * 0.0254)
    assert made.walls().measured.tolist() == [False, False, True] + [False] * 5
    assert loads(text_of(made)).si("casting.walls.3.0.0") == pytest.approx(0.0047)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"casting.bore": "4.9 in"}, "must exceed the bore"),
        ({"casting.bore": "4.030"}, "unit of length"),
        ({"casting.boer": "4.030 in"}, "did you mean bore"),
        ({"caps.pattern": "three-bolt"}, "write two-bolt"),
        ({"casting.bore.depth.x": "4.030 in"}, "an unknown key"),
        ({"crank.stroke.x": "4.030 in"}, "no such place"),
        ({"duty.points.7.share": 0.5}, "no such place"),
        ({"caps.material": None}, "give it"),
        ({"casting.bore": float("nan")}, "unit of length"),
    ],
)
def test_changes_are_validated(changes, words):
    made = load(EVERYTHING)
    with pytest.raises(InputError, match=words):
        made.with_changes(changes)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.sampled_from(["4.000 in", "4.010 in", "101.6 mm", "102 mm"]), min_size=1, max_size=4))
def test_changes_on_changes_equal_the_last(bores):
    made = build()
    for bore in bores:
        made = made.with_changes({"casting.bore": bore})
    direct = build({"casting.bore": bores[-1]})
    assert {p: v.si for p, v in made.values.items()} == {p: v.si for p, v in direct.values.items()}
    assert loads(text_of(made)).si("casting.bore") == direct.si("casting.bore")


def test_saving_replaces_in_one_step_and_keeps_the_mode(tmp_path):
    path = tmp_path / "build.toml"
    path.write_text("older")
    path.chmod(0o640)
    save(build(), path)
    assert path.read_text() == text()
    assert path.stat().st_mode & 0o777 == 0o640
    assert os.listdir(tmp_path) == ["build.toml"]


def test_failing_to_save_leaves_nothing(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        save(build(), tmp_path / "none" / "build.toml")
    with pytest.raises(InputError, match="cannot be written"):
        save(build(), tmp_path)
    assert os.listdir(tmp_path) == []
