"""Reading a build: what is refused, with which message and line, and what comes out."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from blockwright.build import Build, load, loads
from blockwright.build.load import LARGEST
from blockwright.errors import InputError

from .helpers import MINIMAL, build, faults, faults_of_text, text


def test_reads_given_values_to_si():
    made = build({"casting.bore": "4.030 in", "conditions": {"temperature": "86 degF"}})
    assert made.si("casting.bore") == pytest.approx(0.102362)
    assert made.si("target.speed") == pytest.approx(680.6784082777885)
    assert made.si("conditions.temperature") == pytest.approx(303.15)
    assert made.value("casting.bore").unit == "in"
    assert made.value("casting.bore").by == "measured"
    assert made.value("target.power").by == "chosen"
    assert made.value("target.power").u == 0.0
    assert made.choice("layout.firing_order") == (1, 5, 4, 2, 6, 3, 7, 8)
    assert made.name == "few words"
    assert made.invented


def test_provenance_table():
    bore = {
        "value": "4.030 in",
        "by": "measured",
        "gauge": "dial bore gauge no. 2",
        "u": "0.0003 in",
        "note": "after honing",
    }
    value = build({"casting.bore": bore}).value("casting.bore")
    assert value.u == pytest.approx(0.0003 * 0.0254)
    assert (value.gauge, value.note, value.by) == (bore["gauge"], bore["note"], "measured")
    assert value.line is not None


def test_lines_of_values_and_faults():
    source = text({"casting.bore": "4.030", "rods.big_end_bore": "2 psi"})
    found = {fault.path: fault for fault in faults_of_text(source)}
    rows = source.split("\n")
    assert rows[found["casting.bore"].line - 1].startswith("bore = ")
    assert rows[found["rods.big_end_bore"].line - 1].startswith("big_end_bore = ")
    assert str(found["casting.bore"]) == (
        f"casting.bore (line {found['casting.bore'].line}): read 4.030; "
        "give it with a unit of length, for instance 4.030 in or 102.4 mm"
    )


def test_all_faults_at_once():
    """Single fields, missing ones, unknown keys and contradictions of one file together."""
    changes = {
        "casting.bore": "4.030",
        "casting.boer_spacing": "4.4 in",
        "rods.length": None,
        "caps.material": "gray-30",
        "layout.firing_order": [1, 5, 4, 2, 6, 3, 7, 7],
        "duty.passes": None,
        "spark.advance": "340 deg",
        "fuel": {"lambda": 8.7},
        "caps.pattern": "two-bolt",
        "caps.four_bolt_mains": [2, 3, 4],
        "main_fasteners": {"tighten": "stretch"},
    }
    found = {fault.path: f"{fault.read}; {fault.right}" for fault in faults(changes)}
    assert set(found) == {
        "casting.bore",
        "casting.boer_spacing",
        "rods.length",
        "caps.material",
        "layout.firing_order",
        "duty.passes",
        "spark.advance",
        "fuel.lambda",
        "caps.four_bolt_mains",
        "main_fasteners.stretch",
    }
    assert "did you mean bore_spacing?" in found["casting.boer_spacing"]
    assert "did you mean grey-30?" in found["caps.material"]
    assert "between -20 deg and 70 deg" in found["spark.advance"]
    assert found["fuel.lambda"].startswith("8.7;")


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        ({"casting.bore": 4.030}, "casting.bore", "read 4.03; give it with a unit of length"),
        ({"casting.bore": "4.030 psi"}, "casting.bore", "unit of length"),
        ({"casting.bore": "nan in"}, "casting.bore", "unit of length"),
        ({"casting.bore": "1e999 in"}, "casting.bore", "finite"),
        ({"casting.bore": float("inf")}, "casting.bore", "inf"),
        ({"casting.bore": "40.30 in"}, "casting.bore", "between 1 in and 16 in"),
        ({"casting.bore": "-4.03 in"}, "casting.bore", "between"),
        ({"casting.bore": True}, "casting.bore", "give it as text with a unit"),
        ({"casting.bore": ["4 in"]}, "casting.bore", "give it as text with a unit"),
        ({"casting.bore": {"value": "4 in", "uu": 1}}, "casting.bore.uu", "a value's table may hold"),
        ({"casting.bore": {"by": "measured"}}, "casting.bore.value", "give the value"),
        ({"casting.bore": {"value": "4 in", "by": "guess"}}, "casting.bore.by", "measured, catalogue"),
        ({"casting.bore": {"value": "4 in", "u": "1 psi"}}, "casting.bore.u", "per cent"),
        ({"casting.bore": {"value": "4 in", "u": "-1 in"}}, "casting.bore.u", "0 or more"),
        ({"casting.bore": {"value": "4 in", "gauge": 3}}, "casting.bore.gauge", "as text"),
        ({"casting": 3}, "casting", "write a table"),
        ({"layout.kind": "W"}, "layout.kind", "write inline, V or flat"),
        ({"layout.kind": "v"}, "layout.kind", "write inline, V or flat"),
        ({"layout.cylinders": 8.0}, "layout.cylinders", "whole number"),
        ({"layout.cylinders": "8"}, "layout.cylinders", "whole number"),
        ({"layout.cylinders": 0}, "layout.cylinders", "at least 1"),
        ({"layout.cylinders": None}, "layout.cylinders", "read nothing; give it (how many)"),
        ({"layout.firing_order": "1-5-4-2"}, "layout.firing_order", "list in square brackets"),
        ({"layout.firing_order": [1, "2"]}, "layout.firing_order.1", "whole number"),
        ({"layout.throws": ["0 deg", 90]}, "layout.throws.1", "unit of angle"),
        ({"invented": "yes"}, "invented", "true or false"),
        ({"name": 3}, "name", "text in quotes"),
        ({"name": "a\nb"}, "name", "one line"),
        ({"colour": "red"}, "colour", "there is no such key in the file"),
        ({"duty.points": []}, "duty.points", "at least 1"),
        ({"duty.points": [{"speed": "6500 rpm"}]}, "duty.points.0.load", "read nothing"),
        (
            {"duty.points": [{"speed": "6500 rpm", "load": 1.0, "share": 1.0, "laod": 1}]},
            "duty.points.0.laod",
            "did you mean load?",
        ),
        (
            {"heads.intake": {"flow": [["0.1 in", "60 cfm"], ["0.1 in", "80 cfm"]]}},
            "heads.intake.flow.1",
            "exceed",
        ),
        ({"heads.intake": {"flow": [["0.1 in"], ["0.2 in", "8 cfm"]]}}, "heads.intake.flow.0", "a pair"),
        (
            {"heads.intake": {"flow": [["0.1 in", "6"], ["0.2 in", "8 cfm"]]}},
            "heads.intake.flow.0.flow",
            "unit of flow",
        ),
        ({"main_fasteners": {"thread": "1/2-14"}}, "main_fasteners.thread", "did you mean"),
        ({"fuel": {"kind": "diesel"}}, "fuel.kind", "catalogue of fuels"),
        ({"casting.bore": "1 m"}, "casting.bore", "between 1 in and 16 in (0.0254 to 0.4064 m)"),
        ({"target.speed": "20000 rpm"}, "target.speed", "read 20000 rpm; the pistons would average"),
        ({"target.power": "20 hp"}, "target.power", "read 20 hp; at 6500 rpm from 5.82 litres"),
        ({"casting.bore": {"value": "4 in", "u": "3 in"}}, "casting.bore.u", "above half the value"),
        ({"spark.advance": {"value": "34 deg", "u": "15 deg"}}, "spark.advance.u", "10 deg or better"),
        (
            {"conditions": {"temperature": {"value": "300 K", "u": "90 K"}}},
            "conditions.temperature.u",
            "above a quarter of 230 K to 335 K",
        ),
        (
            {"heads.intake": {"flow": [["0.1 in", "0 cfm"], ["0.3 in", "0 cfm"], ["0.5 in", "0 cfm"]]}},
            "heads.intake.flow",
            "read no flow at any lift; give what the bench read",
        ),
        ({"target.survival": 0.2}, "target.survival", "between 0.5 and 0.9999"),
        ({"format": 2}, "format", "newer Blockwright"),
        ({"format": 0}, "format", "no such format"),
        ({"format": "1"}, "format", "whole number"),
        ({"format": None}, "format", "begin the file with format = 1"),
        ({"girdle": {"thickness": "0.5 in"}}, "girdle.width", "read nothing"),
    ],
)
def test_one_fault(changes, path, words):
    found = {fault.path: str(fault) for fault in faults(changes)}
    assert path in found
    assert words in found[path]


def test_missing_sections_name_every_required_field():
    found = {fault.path for fault in faults_of_text("format = 1\n")}
    required = {
        "layout.kind",
        "layout.cylinders",
        "layout.firing_order",
        "target.power",
        "target.speed",
        "casting.bore",
        "caps.material",
        "crank.stroke",
        "rods.length",
        "heads.chamber_volume",
        "spark.advance",
        "duty.kind",
    }
    assert found == required


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "an empty file"),
        (b"  \n\t\n", "an empty file"),
        (b"\x7fELF\0\0\0\0\xff\xfe", "a binary file"),
        (b"a\0b", "a binary file"),
        (b'format = 1\nname = "\xe9"\n', "UTF-8"),
        ('format = 1\nname = "é"\n'.encode("utf-16"), "UTF-16 text; save the file as UTF-8"),
        (b"format = 1\nbore = 4.030 in\n", "stands in quotes"),
        (b"format = 1\n[casting\n", "not TOML"),
        (b"format = 1\nformat = 1\n", "not TOML"),
        (b'name = "unclosed\n', "not TOML"),
        (b"format = 1\nx = " + b"[" * 5000 + b"]" * 5000, "deep"),
        (b"format = 1\nx = " + b"9" * 6000, "cannot be parsed"),
        (b"x = " + b"[\n" * 60 + b"]\n" * 60, "too deep"),
        (b"a." * 30_000 + b"b = 1", "a line may hold"),
        (b"# " + b"x" * LARGEST, "more than 2 MB"),
    ],
)
def test_files_that_are_no_build(tmp_path, content, words):
    path = tmp_path / "build.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=words) as caught:
        load(path)
    assert str(path) in str(caught.value)
    assert max(map(len, str(caught.value).split("\n"))) < 600


def test_syntax_error_names_its_line():
    fault = faults_of_text("format = 1\n\n[casting]\nbore == 3\n")[0]
    assert fault.line == 4
    assert fault.read == "bore == 3"


def test_paths_that_are_no_file(tmp_path):
    for path, words in (
        (tmp_path, "read a folder"),
        (tmp_path / "none.toml", "no such file"),
        ("a\0b", "no possible name"),
        ("/dev/zero", "more than 2 MB"),
    ):
        with pytest.raises(InputError, match=words) as caught:
            load(path)
        assert len(str(caught.value).split("\n")) <= 2


@pytest.mark.skipif(getattr(os, "geteuid", lambda: 1)() == 0, reason="root reads everything")
def test_unreadable_file(tmp_path):
    path = tmp_path / "secret.toml"
    path.write_text(text())
    path.chmod(0)
    with pytest.raises(InputError, match="cannot be read"):
        load(path)


def test_byte_order_mark_and_windows_line_ends(tmp_path):
    path = tmp_path / "notepad.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text().replace("\n", "\r\n").encode())
    made = load(path)
    assert made.si("casting.bore") == pytest.approx(0.102362)
    assert made.value("casting.bore").line == text().split("\n").index('bore = "4.030 in"') + 1


def test_name_defaults_to_the_file(tmp_path):
    path = tmp_path / "hill-climb.toml"
    path.write_text(text({"name": None}))
    assert load(path).name == "hill-climb"
    assert build({"name": None}).name == "unnamed build"


def test_build_is_frozen():
    made = build()
    with pytest.raises(TypeError):
        made.values["casting.bore"] = made.values["crank.stroke"]  # type: ignore[index]
    with pytest.raises(InputError, match="no quantity there"):
        made.si("casting.boer")
    with pytest.raises(InputError, match="no choice there"):
        made.choice("casting.bore")


def test_reading_a_build_imports_no_units_library_nor_scipy():
    code = (
        "import sys; from blockwright.build import loads; loads(sys.stdin.read());"
        "assert not {'pint', 'tomlkit', 'scipy', 'numba'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], input=text().encode(), check=True)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=300))
def test_any_text_gives_a_build_or_an_input_error(garbage):
    with contextlib.suppress(InputError):
        assert isinstance(loads(garbage), Build)


PLACES = sorted(
    {f"{table}.{key}" for table, keys in MINIMAL.items() if isinstance(keys, dict) for key in keys}
    | set(MINIMAL)
    | {"casting.walls", "casting.walls.thickness", "casting.walls.angles", "heads.intake.flow", "duty.events"}
    | {"layout.throws", "cam.intake_curve", "duty.points", "girdle", "caps.four_bolt_mains", "boost.kind"}
    | {
        "main_fasteners.thread",
        "outer_fasteners",
        "layout.split",
        "layout.numbering",
        "pistons.deck_clearance",
    }
)
ODD = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**20), 10**20),
        st.floats(),
        st.text(max_size=12),
        st.sampled_from(
            ["4 in", "0 in", "-1 in", "1e-9 m", "90 deg", "0 deg", "V", "hours", "turbo", "0.2 0.2 in"]
        ),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(
            st.sampled_from(["value", "u", "by", "1", "flow", "speed", "count", "x"]), inner, max_size=3
        ),
    ),
    max_leaves=6,
)


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(PLACES), ODD, min_size=1, max_size=3))
def test_odd_values_anywhere_give_a_build_or_an_input_error(changes):
    try:
        source = text(changes)
    except (InputError, ValueError, TypeError):
        return  # tomlkit cannot write it, or the place went with an earlier change
    try:
        made, found = loads(source), None
    except InputError as error:
        made, found = None, error.faults
    if made is not None:
        assert all(value.u >= 0.0 for value in made.values.values())
    else:
        assert found
        assert all(fault.read and fault.right for fault in found)
