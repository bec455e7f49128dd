"""What a user can get wrong, through the command line.

Each time: one message with path, line, what was read and what would be right; exit 2; no traceback;
nothing written; all faults of a file at once.  What is absurd but possible gets an answer without a
figure that is none.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from blockwright.build import loads
from blockwright.cli import main
from blockwright.errors import Fault, InputError

from .build.helpers import FOUR, text

ROOT = Path(__file__).parents[1]
#: ``path (line N): read X; do Y``, or without a line for what stands nowhere in the file.
FAULT = re.compile(
    r"^(?P<path>[\w.]+|the file)(?: \(line (?P<line>\d+)\))?: read (?P<read>.+?); (?P<right>.+)$"
)


def judged(path: Path | str, report: Path, *more: str) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of one `judge`."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(["judge", str(path), "--report", str(report), "--samples", "200", *more])
    return code, out.getvalue(), err.getvalue()


def refused(path: Path | str, folder: Path) -> str:
    """The message of a build that must be refused, and that nothing came of it."""
    before = sorted(folder.iterdir())
    code, out, err = judged(path, folder / "report.html")
    assert code == 2
    assert out == ""
    assert err.startswith("blockwright: ")
    assert "Traceback" not in err
    assert "Running" not in err, "it was computed all the same"
    assert sorted(folder.iterdir()) == before, "something was written"
    return err.removeprefix("blockwright: ").strip()


def faults(source: str | bytes, folder: Path) -> dict[str, re.Match[str]]:
    """The faults told of a text, by path; the first line names the file."""
    path = folder / "build.toml"
    path.write_bytes(source if isinstance(source, bytes) else source.encode("utf-8"))
    first, *rest = refused(path, folder).splitlines()
    assert first == str(path)
    found = [FAULT.match(line) for line in rest]
    assert all(found), f"not in the form of a fault: {rest}"
    return {match["path"]: match for match in found if match}


# --- a file that the build names --------------------------------------------------------------------


@pytest.mark.parametrize("command", ["judge", "curve"])
def test_a_map_that_is_not_there(command: str, tmp_path: Path) -> None:
    """Copied without its map: one message with the line, the name and where it was looked for."""
    build = tmp_path / "turbo.toml"
    build.write_bytes((ROOT / "examples" / "turbo_four.toml").read_bytes())
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([command, str(build)])
    assert code == 2
    assert out.getvalue() == ""
    first, *rest = err.getvalue().removeprefix("blockwright: ").splitlines()
    assert first == str(build)
    (fault,) = map(FAULT.match, rest)
    assert fault is not None
    assert fault["path"] == "turbo.compressor_map"
    assert fault["line"]
    assert "saltpan_lane_66mm.csv" in fault["read"]
    assert f"no such file in {tmp_path / 'maps'}" in fault["right"]


def test_a_map_that_is_none(tmp_path: Path) -> None:
    """Whatever stands in it: the map is named, nothing is written, no figure given."""
    text = (ROOT / "examples" / "turbo_four.toml").read_text(encoding="utf-8")
    build = tmp_path / "turbo.toml"
    build.write_text(text.replace("maps/saltpan_lane_66mm.csv", "mine.csv"), encoding="utf-8")
    for content in (b"nonsense\n", b"", b"\xff\xfe\x00", b"flow,ratio\n1,2\n"):
        (tmp_path / "mine.csv").write_bytes(content)
        code, out, err = judged(build, tmp_path / "report.html")
        assert code == 2
        assert out == ""
        assert "mine.csv" in err
        assert "Traceback" not in err
        assert not (tmp_path / "report.html").exists()


# --- the file itself -------------------------------------------------------------------------------


def test_no_such_file(tmp_path: Path) -> None:
    told = refused(tmp_path / "none.toml", tmp_path)
    assert "none.toml" in told
    assert "no such file" in told


def test_a_folder(tmp_path: Path) -> None:
    assert "read a folder" in refused(tmp_path, tmp_path)


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (b"", "an empty file"),
        (b" \n\t\n", "an empty file"),
        (b"\xef\xbb\xbf", "an empty file"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" * 40, "a binary file"),
        (b"format = 1\n\x00", "a binary file"),
        (text().encode("utf-16"), "UTF-16 text"),
        (b'format = 1\nname = "caf\xe9"\n', "the byte 0xe9"),
        (b"#" * 2_000_001, "more than 2 MB"),
        (b"x = " + b"[" * 5000, "cannot be parsed"),
        (b"a = 1\n" * 2 + b"\n", "a = 1"),
        (b"format = 1\n[casting\n", "[casting"),
        (b"format = 1\nbore = 4.030 in\n", "bore = 4.030 in"),
        (b'format = 1\nname = "never closed\n', "name ="),
    ],
)
def test_files_that_are_no_build(source: bytes, words: str, tmp_path: Path) -> None:
    found = faults(source, tmp_path)
    assert set(found) == {"the file"}
    assert words in found["the file"]["read"]


def test_a_byte_order_mark_and_windows_lines_are_read(tmp_path: Path) -> None:
    path = tmp_path / "build.toml"
    source = text({"casting.bore": "4.030"}).replace("\n", "\r\n")
    path.write_bytes(b"\xef\xbb\xbf" + source.encode())
    told = refused(path, tmp_path)
    line = source.split("\r\n").index('bore = "4.030"') + 1
    assert f"casting.bore (line {line}): read 4.030; give it with a unit of length" in told


# --- single values ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        ({"casting.boer": "4 in"}, "casting.boer", "did you mean bore?"),
        ({"casting.bore": "4.030"}, "casting.bore", "unit of length"),
        ({"casting.bore": "4.030 psi"}, "casting.bore", "unit of length"),
        ({"casting.bore": float("nan")}, "casting.bore", "unit of length"),
        ({"casting.bore": "inf in"}, "casting.bore", "unit of length"),
        ({"casting.bore": "1e400 in"}, "casting.bore", "finite"),
        ({"casting.bore": "1 m"}, "casting.bore", "0.0254 to 0.4064 m"),
        ({"casting.bore": "0 in"}, "casting.bore", "must lie between"),
        ({"casting.bore": {"value": "4 in", "u": "9 in"}}, "casting.bore.u", "half the value"),
        ({"boost": {"kind": "turbo", "pressure": "30 bar"}}, "boost.pressure", "0 to 10.34 bar"),
        ({"target.speed": "20000 rpm"}, "target.speed", "59 m/s"),
        ({"spark.advance": "90 deg"}, "spark.advance", "between -20 deg and 70 deg"),
        ({"duty.passes": 0}, "duty.passes", "at least 1"),
        ({"duty.passes": 10**12}, "duty.passes", "at most"),
        ({"duty.pass_time": "0 s"}, "duty.pass_time", "must lie between"),
        ({"duty": {"kind": "hours", "hours": "1e9 h"}}, "duty.hours", "must lie between"),
        ({"target.power": "1 hp"}, "target.power", "0.5 to 80 bar"),
        ({"target.power": "-5 hp"}, "target.power", "must lie between"),
        ({**FOUR, "target.power": "3000 hp"}, "target.power", "2.18 litres"),
        ({"layout.cylinders": 0}, "layout.cylinders", "at least 1"),
        ({"layout.cylinders": 10**6}, "layout.cylinders", "at most"),
        ({"fuel": {"kind": "plutonium"}}, "fuel.kind", "catalogue"),
        ({"caps.material": "cheese"}, "caps.material", "catalogue"),
        ({"name": "x" * 300}, "name", "at most 200 characters"),
        ({"name": "abc \u202e cba"}, "name", "plain text"),
        ({"name": "a\x1b[31mb"}, "name", "plain text"),
        ({"format": 99}, "format", "newer"),
        ({"cam": {"intake_lift": "0 in"}}, "cam.intake_lift", "must lie between"),
        (
            {"heads.intake": {"flow": [["0.1 in", "0 cfm"], ["0.3 in", "0 cfm"], ["0.5 in", "0 cfm"]]}},
            "heads.intake.flow",
            "an engine must breathe",
        ),
    ],
)
def test_a_value_that_cannot_be(changes: dict[str, Any], path: str, words: str, tmp_path: Path) -> None:
    found = faults(text(changes), tmp_path)
    assert set(found) == {path}
    assert words in found[path]["right"]
    assert found[path]["line"], "the line is known, since it stands in the file"


@pytest.mark.parametrize("path", ["casting.bore", "crank.stroke", "rods.length", "heads.chamber_volume"])
def test_what_is_missing_is_asked_for(path: str, tmp_path: Path) -> None:
    found = faults(text({path: None}), tmp_path)
    assert found[path]["read"] == "nothing"
    assert "give it" in found[path]["right"]


def test_the_smallest_text_asks_for_everything_at_once(tmp_path: Path) -> None:
    found = faults("format = 1\n", tmp_path)
    assert {"layout", "target", "casting", "caps", "crank", "rods", "heads", "spark", "duty"} <= {
        path.partition(".")[0] for path in found
    }


# --- contradictions --------------------------------------------------------------------------------


_WALLS = {
    "angles": ["0 deg", "90 deg", "180 deg", "270 deg"],
    "depths": ["1 in"],
    "thickness": {str(k): ["0.2 0.4 0.2 0.4 in"] for k in range(1, 9)},
}


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        ({"casting.bore_spacing": "4.4 in", "casting.walls": _WALLS}, "casting.walls", "wider than the bore"),
        ({"casting.bore_spacing": "4.0 in"}, "casting.bore_spacing", "exceed the bore"),
        ({"layout.firing_order": [1, 5, 4, 2, 6, 3, 7, 7]}, "layout.firing_order", "once"),
        ({"layout.firing_order": [1, 2]}, "layout.firing_order", "once"),
        ({"rods.length": "1.5 in"}, "rods.length", "at least"),
        ({"casting.deck_height": "8.0 in"}, "casting.deck_height", "check"),
        ({"pistons.deck_clearance": "-0.2 in"}, "pistons.deck_clearance", "hit the head"),
        ({"heads.chamber_volume": "3 cc"}, "heads.chamber_volume", "compression ratio"),
        ({"boost": {"kind": "none", "pressure": "10 psi"}}, "boost.pressure", "turbo"),
        ({"boost": {"kind": "turbo"}}, "boost.pressure", "give the charge pressure"),
        ({"duty.hours": "3 h"}, "duty.hours", "leave it out"),
        (
            {"cam": {"intake_opens": "130 deg", "intake_closes": "140 deg"}},
            "cam.intake_closes",
            "open for 450",
        ),
        ({"duty.points": [{"speed": "6500 rpm", "load": 1.0, "share": 0.0}]}, "duty.points", "add up to 1"),
    ],
)
def test_contradictions(changes: dict[str, Any], path: str, words: str, tmp_path: Path) -> None:
    found = faults(text(changes), tmp_path)
    told = [match for at, match in found.items() if at.startswith(path)]
    assert told, f"nothing said of {path}: {list(found)}"
    assert any(words in match["right"] for match in told)
    assert all(match["line"] for match in told)


def test_all_faults_of_a_file_at_once(tmp_path: Path) -> None:
    changes = {
        "casting.bore": "4.030",
        "casting.webb": "1 in",
        "rods.length": None,
        "layout.firing_order": [1, 1, 1, 1, 1, 1, 1, 1],
        "spark.advance": "340 deg",
        "duty.passes": -3,
    }
    assert set(faults(text(changes), tmp_path)) == set(changes)


# --- found only by running -------------------------------------------------------------------------


def test_a_power_out_of_reach_is_told_with_what_was_reached(tmp_path: Path) -> None:
    path = tmp_path / "build.toml"
    # Six bar before so small a throttle is not enough.
    changes = {"target.power": "2000 hp", "intake.throttle_diameter": "1.5 in"}
    path.write_text(text(changes), encoding="utf-8")
    code, out, err = judged(path, tmp_path / "report.html")
    assert code == 2
    assert out == ""
    found = FAULT.match(err.strip().splitlines()[-1])
    assert found
    assert found["path"] == "target.power"
    assert found["line"]
    assert found["read"] == "2000 hp at 6500 rpm"
    assert "the gas model makes" in found["right"]
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == [path]


def test_a_mixture_beyond_the_tables(tmp_path: Path) -> None:
    path = tmp_path / "build.toml"
    path.write_text(text({"fuel": {"kind": "race-petrol", "lambda": "0.5"}}), encoding="utf-8")
    code, out, err = judged(path, tmp_path / "report.html")
    assert code == 2
    assert out == ""
    found = FAULT.match(err.strip().splitlines()[-1])
    assert found
    assert found["path"] == "fuel.lambda"
    assert found["line"]
    assert "from 0.59 to 1.67" in found["right"]
    assert list(tmp_path.iterdir()) == [path]


# --- absurd but possible ---------------------------------------------------------------------------


def answered(changes: dict[str, Any], folder: Path) -> tuple[dict[str, Any], str]:
    """JSON and page of a build that must be answered, free of figures that are none."""
    path, report = folder / "build.toml", folder / "report.html"
    path.write_text(text(changes), encoding="utf-8")
    code, out, err = judged(path, report, "--json")
    assert code == 0, err
    assert "Warning" not in err
    document = json.loads(out)
    assert "NaN" not in out
    assert "Infinity" not in out
    assert 0.0 <= document["survival"] <= 1.0
    page = report.read_text(encoding="utf-8")
    assert not re.search(r"\b(nan|inf)\b", page)
    return document, page


@pytest.mark.parametrize(
    "changes",
    [
        {"layout": {"kind": "inline", "cylinders": 1, "firing_order": [1]}, "target.power": "45 hp"},
        {"layout": {"kind": "inline", "cylinders": 3, "firing_order": [1, 2, 3]}, "target.power": "150 hp"},
        {"layout": {"kind": "flat", "cylinders": 4, "firing_order": [1, 3, 2, 4]}, "target.power": "220 hp"},
        {
            "layout": {
                "kind": "V",
                "cylinders": 6,
                "firing_order": [1, 2, 3, 4, 5, 6],
                "bank_angle": "60 deg",
            },
            "target.power": "300 hp",
        },
        {"main_fasteners": {"tighten": "torque", "torque": "1 lbf*ft"}, "pistons.mass": "5 kg"},
    ],
    ids=["single", "three", "flat four", "V6", "loose bolts, heavy pistons"],
)
def test_unusual_engines_are_answered(changes: dict[str, Any], tmp_path: Path) -> None:
    answered(changes, tmp_path)


def test_odd_names_go_through_unharmed(tmp_path: Path) -> None:
    name = "<script>alert('x')</script> & \"q\" {{7*7}} %s ${x} 发动机 🏁 שלום"
    document, page = answered({"name": name}, tmp_path)
    assert document["name"] == name
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(" in page
    assert "{{7*7}}" in page


# --- at random -------------------------------------------------------------------------------------


_DEMOS = sorted((ROOT / "examples").glob("*.toml"))
_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
_WILD = st.one_of(
    st.sampled_from(
        ["0", "-1", "1e9", "1e-9", "nan", "inf", "1e999", "9" * 400, "", "\u0663", "1/0", "0x10"]
    ),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.integers(-(10**6), 10**6).map(str),
    st.floats(0.01, 100.0).map(lambda x: f"{x:.4g}"),
)


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_random_edits_of_numbers_never_give_a_traceback(data: st.DataObject) -> None:
    source = data.draw(st.sampled_from(_DEMOS)).read_text(encoding="utf-8")
    places = [found.span() for found in _NUMBER.finditer(source)]
    picked = data.draw(st.lists(st.sampled_from(places), min_size=1, max_size=4, unique=True))
    for start, end in sorted(picked, reverse=True):
        source = source[:start] + data.draw(_WILD) + source[end:]
    _loads_or_tells(source)


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_random_damage_never_gives_a_traceback(data: st.DataObject) -> None:
    """Lines lost, doubled or cut short."""
    lines = data.draw(st.sampled_from(_DEMOS)).read_text(encoding="utf-8").split("\n")
    harm: list[Callable[[str], list[str]]] = [
        lambda line: [],
        lambda line: [line, line],
        lambda line: [line[: len(line) // 2]],
        lambda line: [line.replace("=", "", 1)],
        lambda line: [line.replace('"', "")],
    ]
    at = data.draw(st.integers(0, len(lines) - 1))
    lines[at : at + 1] = data.draw(st.sampled_from(harm))(lines[at])
    _loads_or_tells("\n".join(lines))


def _loads_or_tells(source: str) -> None:
    """Either a build, or faults that each say something; any other exception fails the test."""
    for fault in _told(source):
        assert fault.read
        assert fault.right
        assert len(str(fault)) < 1000


def _told(source: str) -> tuple[Fault, ...]:
    try:
        loads(source, "demo.toml")
    except InputError as error:
        return error.faults or (Fault("", "", "no fault told"),)
    return ()
