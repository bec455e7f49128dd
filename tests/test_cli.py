"""Every command as a user types it: in process where that will do, as real processes where it matters."""

from __future__ import annotations

import contextlib
import io
import json
import math
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import jsonschema
import pytest

import blockwright as bw
from blockwright.cli import main, parser

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "hillclimb_v8.toml"
MINIMAL = ROOT / "examples" / "minimal.toml"
#: A few samples: these tests look at what is printed, not at the figures.
FEW = ("--samples", "200")


@dataclass(frozen=True)
class Run:
    """What one command gave."""

    code: int
    out: str
    err: str


def run(*argv: str) -> Run:
    """One command in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = main(argv)
        except SystemExit as stop:
            code = int(stop.code or 0)
    return Run(code, out.getvalue(), err.getvalue())


def process(*argv: str, env: dict[str, str] | None = None, cwd: Path = ROOT) -> Run:
    """One command as its own process."""
    done = subprocess.run(
        [sys.executable, "-m", "blockwright", *argv],
        capture_output=True,
        encoding="utf-8",
        cwd=cwd,
        env={**os.environ, "PYTHONUTF8": "1", **(env or {})},
        timeout=300,
        check=False,
    )
    return Run(done.returncode, done.stdout, done.stderr)


@pytest.fixture(scope="module")
def judged(tmp_path_factory: pytest.TempPathFactory) -> tuple[Run, Path]:
    """The hill-climb demo judged once, as JSON and with its report."""
    report = tmp_path_factory.mktemp("judged") / "out.html"
    return run("judge", str(DEMO), "--json", "--report", str(report), *FEW), report


# --- judge -----------------------------------------------------------------------------------------


def test_json_is_all_of_standard_output_and_fits_its_schema(judged: tuple[Run, Path]) -> None:
    found, _ = judged
    assert found.code == 0
    document = json.loads(found.out)
    schema = json.loads((ROOT / "docs/verdict.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(document, schema)


def test_json_holds_every_key_of_the_contract(judged: tuple[Run, Path]) -> None:
    document = json.loads(judged[0].out)
    keys = (
        "schema sentence power peak_pressure limits governing ceiling reinforcements measure_next "
        "assumptions not_modelled cautions"
    )
    assert set(keys.split()) <= set(document)
    of_limit = "id name part place demand capacity unit margin survival source"
    for limit in (*document["limits"], document["governing"]):
        assert set(of_limit.split()) <= set(limit)
    assert {"power", "survival"} <= set(document["ceiling"])
    for option in document["reinforcements"]:
        assert {"id", "name", "ceiling", "reason"} <= set(option)
        assert option["ceiling"] or option["reason"], "no ceiling and no reason why"
    for quantity in (document["power"], document["peak_pressure"], document["governing"]["margin"]):
        assert {"value", "unit", "spread"} <= set(quantity)
        assert quantity["spread"]["low"] <= quantity["spread"]["high"]
    assert document["governing"] == document["limits"][0]
    assert len(document["cautions"]) == 1


def test_every_limit_has_its_own_id(judged: tuple[Run, Path]) -> None:
    ids = [limit["id"] for limit in json.loads(judged[0].out)["limits"]]
    assert len(ids) == len(set(ids))
    assert all(re.fullmatch(r"[a-z0-9-]+", key) for key in ids)


def test_progress_goes_to_standard_error(judged: tuple[Run, Path]) -> None:
    found, report = judged
    assert "Running the gas model" in found.err
    assert str(report) in found.err
    assert "Warning" not in found.err


def test_report_is_one_page_that_needs_no_network(judged: tuple[Run, Path]) -> None:
    _, report = judged
    html = report.read_text(encoding="utf-8")
    assert html.lstrip().lower().startswith("<!doctype html>")
    assert "INVENTED" in html.upper()
    for reaches_out in (r"<link\b", r"\bsrc\s*=\s*[\"']?(?!data:)", r"@import", r"url\(\s*[\"']?https?:"):
        assert not re.search(reaches_out, html, re.IGNORECASE), reaches_out
    assert not re.search(r"\b(nan|inf|None|undefined)\b(?=[<,\"])", html)
    assert list(report.parent.iterdir()) == [report], "something was left beside the report"


def test_the_same_seed_gives_the_same_answer_and_text_says_what_json_says(
    judged: tuple[Run, Path],
) -> None:
    """A real process, for text: the sentence of the JSON comes first, every limit's table after it."""
    found = process("judge", str(DEMO), *FEW)
    document = json.loads(judged[0].out)
    assert found.code == 0
    flat = " ".join(found.out.split())
    assert flat.startswith(document["sentence"])
    table = found.out[found.out.index("\nlimit ") :].splitlines()[2]
    assert table.startswith(document["governing"]["name"]), "the sentence and the table disagree"
    assert document["cautions"][0] in flat
    assert f"blockwright explain BUILD.toml {document['governing']['id']}" in flat
    assert max(map(len, found.out.splitlines())) <= 100
    assert "Traceback" not in found.err


def test_every_duty_point_tells_knock_and_the_hardest_cylinder(judged: tuple[Run, Path]) -> None:
    points = json.loads(judged[0].out)["points"]
    assert points
    for point in points:
        assert point["hardest_share"] >= 1.0
        margin = point["knock_margin"]
        assert margin["spread"]["low"] < margin["value"] < margin["spread"]["high"]
        assert point["octane_asked"]["value"] > 0.0
        assert (margin["value"] < 0.0) == (point["octane_asked"]["value"] > point["octane_offered"])
    page = judged[1].read_text(encoding="utf-8")
    assert page.count('<figure id="pipes"') == 1
    assert "spark left before knock" in page


def test_preview_cuts_the_pipes_coarsely_and_says_so(judged: tuple[Run, Path]) -> None:
    found = run("judge", str(DEMO), "--json", "--preview", *FEW)
    assert found.code == 0
    quick, full = json.loads(found.out), json.loads(judged[0].out)
    assert quick["method"]["gas model's mesh"].startswith("coarse")
    assert full["method"]["gas model's mesh"].startswith("fine")
    assert quick["peak_pressure"]["value"] == pytest.approx(full["peak_pressure"]["value"], rel=0.05)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("--samples", "10"), "from 100 to 100000"),
        (("--samples", "²"), "from 100 to 100000"),
        (("--samples", "9" * 5000), "from 100 to 100000"),
        (("--seed", "-1"), "from 0 to"),
        (("--seed", "x"), "from 0 to"),
        (("--colour",), "unrecognized"),
    ],
)
def test_wrong_options_are_refused(given: tuple[str, ...], words: str) -> None:
    found = run("judge", str(DEMO), *given)
    assert found.code == 2
    assert words in found.err
    assert not found.out


def test_no_command_is_refused_with_the_commands() -> None:
    found = run()
    assert found.code == 2
    assert "COMMAND" in found.err


def test_a_report_that_could_not_be_written_is_refused_before_computing(tmp_path: Path) -> None:
    for place, words in (
        (tmp_path, "not a folder"),
        (tmp_path / "none" / "x.html", "make that folder first"),
    ):
        found = run("judge", str(DEMO), "--report", str(place))
        assert found.code == 2
        assert words in found.err
        assert "Running" not in found.err
    assert list(tmp_path.iterdir()) == []


def test_a_report_never_replaces_the_build(tmp_path: Path) -> None:
    build = tmp_path / "mine.toml"
    build.write_bytes(MINIMAL.read_bytes())
    found = run("judge", str(build), "--report", str(tmp_path / "." / "mine.toml"))
    assert found.code == 2
    assert "the build file itself" in found.err
    assert build.read_bytes() == MINIMAL.read_bytes()


def test_not_settled_says_what_and_why_and_exits_with_3(tmp_path: Path) -> None:
    """A real one: intake ports that pass a thousandth of what an engine needs never reach a cycle."""
    text = MINIMAL.read_text(encoding="utf-8").replace(
        'chamber_volume = "58 cm^3"',
        'chamber_volume = "58 cm^3"\n[heads.intake]\nvalves = 1\ndiameter = "2 in"\ndepression = "28 inH2O"\n'
        'flow = [["0.1 in", "1 cfm"], ["0.3 in", "2 cfm"], ["0.5 in", "3 cfm"]]',
    )
    build = tmp_path / "choked.toml"
    build.write_text(text, encoding="utf-8")
    report = tmp_path / "out.html"
    found = run("judge", str(build), "--json", "--report", str(report), *FEW)
    assert found.code == 3
    assert re.search(r"gas .*did not settle.*\d+ cycles at \d+ rpm.*still changes by", found.err)
    assert not found.out
    assert not report.exists()


def test_without_utf8_the_answer_is_plain_ascii() -> None:
    """A terminal of another code page: JSON escapes, so that nothing is lost."""
    found = process("schema", "verdict", env={"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"})
    assert found.code == 0
    assert found.out.isascii()


# --- explain ---------------------------------------------------------------------------------------


def test_explain_shows_formulas_sources_and_every_input(judged: tuple[Run, Path]) -> None:
    governing = json.loads(judged[0].out)["governing"]
    found = run("explain", str(DEMO), governing["id"])
    assert found.code == 0
    flat = " ".join(found.out.split())
    assert flat.startswith(governing["name"])
    margin = re.search(r"margin = ([\d.]+)", flat)
    assert margin
    assert float(margin[1]) == pytest.approx(governing["margin"]["value"], rel=1e-3)
    for part in ("How, step by step", "What went in", "source:", "build, measured", "model constant"):
        assert part in flat


def test_explain_shows_each_value_in_the_unit_beside_it() -> None:
    """Fields of a metric build, as its file gives them; constants as their data give them."""
    found = run("explain", str(ROOT / "examples" / "turbo_four.toml"), "cap-crown-main-2")
    for told in (
        "caps.span = 84 mm",
        "caps.crown = 22.5 mm, standard uncertainty 0.2 mm",
        "caps.hardness = 198",
    ):
        assert told in found.out
    assert "main_fasteners.angle = 55°" in found.out or "main_fasteners.angle = 0.95993 rad" in found.out


def test_explain_without_a_limit_lists_those_of_the_verdict(judged: tuple[Run, Path]) -> None:
    found = run("explain", str(DEMO))
    assert found.code == 0
    listed = [line.split()[0] for line in found.out.splitlines() if line.strip()]
    assert sorted(listed) == sorted(limit["id"] for limit in json.loads(judged[0].out)["limits"])


def test_explain_of_no_limit_names_near_ones() -> None:
    found = run("explain", str(DEMO), "cap_crown")
    assert found.code == 2
    assert "'cap_crown'" in found.err
    assert "cap-crown-main-" in found.err
    assert not found.out


# --- new, demo, schema -----------------------------------------------------------------------------


def test_new_writes_a_build_that_judges(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    found = run("new", str(path))
    assert found.code == 0
    assert str(path) in found.out
    text = path.read_text(encoding="utf-8")
    assert "invented example" in text
    assert bw.load(path).assumptions
    answer = run("judge", str(path), "--json", *FEW)
    assert answer.code == 0
    assert json.loads(answer.out)["name"] == "mine"


def test_new_overwrites_nothing(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("precious", encoding="utf-8")
    found = run("new", str(path))
    assert found.code == 2
    assert "there is a file already" in found.err
    assert path.read_text(encoding="utf-8") == "precious"
    assert run("new", str(tmp_path)).code == 2
    assert run("new", str(tmp_path / "none" / "b.toml")).code == 2
    assert list(tmp_path.iterdir()) == [path]


def test_demo_copies_judges_and_says_where(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    found = process("demo", str(folder), cwd=tmp_path)
    assert found.code == 0, found.err
    examples = ROOT / "examples"
    for kind in ("*.toml", "maps/*.csv"):
        wanted = {path.relative_to(examples) for path in examples.glob(kind)}
        assert wanted
        assert {path.relative_to(folder) for path in folder.glob(kind)} == wanted
    assert bw.load(folder / "turbo_four.toml").choices["turbo.compressor_map"]
    report = folder / "hillclimb_v8.html"
    assert report.is_file()
    assert str(report.resolve()) in found.out
    assert "invented" in found.out
    _same_answer(found.out, (ROOT / "README.md").read_text(encoding="utf-8"))


def _same_answer(printed: str, readme: str) -> None:
    """README shows what the program says today (else: make docs); other processors may round otherwise."""
    shown = readme.partition("<!-- example -->\n```text\n")[2].partition("\n\n")[0]
    told = printed.partition("\n\n")[0]
    number = r"\d+(?:\.\d+)?"
    words = [re.sub(number, "#", " ".join(text.split())) for text in (shown, told)]
    assert words[0] == words[1]
    figures = [[float(n) for n in re.findall(number, text)] for text in (shown, told)]
    assert figures[0] == pytest.approx(figures[1], rel=0.03, abs=0.011)


def test_demo_keeps_what_the_user_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("blockwright.cli._answer", lambda *_, **__: None)
    build, chart = tmp_path / "minimal.toml", tmp_path / "maps" / "saltpan_lane_66mm.csv"
    chart.parent.mkdir()
    for changed in (build, chart):
        changed.write_text("mine", encoding="utf-8")
    found = run("demo", str(tmp_path))
    assert found.code == 0
    for changed in (build, chart):
        assert f"{changed} was changed; left as it is" in found.err
        assert changed.read_text(encoding="utf-8") == "mine"


def test_demo_into_what_is_no_folder_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("x", encoding="utf-8")
    for place in (file, file / "below"):
        found = run("demo", str(place))
        assert found.code == 2
        assert "demo: read" in found.err
    assert file.read_text(encoding="utf-8") == "x"


@pytest.mark.parametrize(
    ("what", "kept"), [("build", "build-file.schema.json"), ("verdict", "verdict.schema.json")]
)
def test_schema_prints_what_docs_hold(what: str, kept: str) -> None:
    found = run("schema", what)
    assert found.code == 0
    assert found.out == (ROOT / "docs" / kept).read_text(encoding="utf-8")


# --- help, and the library -------------------------------------------------------------------------


def test_help_imports_nothing_heavy() -> None:
    program = (
        "import sys\n"
        "from blockwright.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'numba', 'pint', 'pydantic', 'tomlkit', 'jinja2'} & set(sys.modules)\n"
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Will this very block live" in done.stdout


def test_version() -> None:
    assert run("--version").out == f"blockwright {bw.__version__}\n"


def test_a_reader_that_leaves_early_is_no_error() -> None:
    """`blockwright schema build | head -1`."""
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "blockwright", "schema", "build"],
        stdout=write,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(write)
    assert done.returncode == 0
    assert done.stderr == ""


def test_every_public_name_can_be_had() -> None:
    for name in bw.__all__:
        assert getattr(bw, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'judgement'"):
        getattr(bw, "judge" + "ment")


def test_library_curve_gives_records_in_the_shops_units() -> None:
    made = bw.curve(bw.load(DEMO), [6000.0 * math.pi / 30.0], preview=True)
    assert isinstance(made, bw.Curve)
    (point,) = made.points
    assert point.speed.value == pytest.approx(6000.0)
    assert (point.speed.unit, point.power.unit, point.peak_pressure.unit) == ("rpm", "hp", "psi")


def test_library_save_keeps_the_file_as_it_was(tmp_path: Path) -> None:
    copy = tmp_path / "copy.toml"
    bw.save(bw.load(DEMO), copy)
    assert copy.read_bytes() == DEMO.read_bytes()


def test_readme_ten_lines_to_a_verdict(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The code block of README.md runs as it stands and prints a sentence, a margin and the changes."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (code,) = re.findall(r"```python\n(.*?)```", readme, re.DOTALL)
    assert len(code.strip().splitlines()) <= 10
    monkeypatch.chdir(ROOT)
    exec(compile(code, "README.md", "exec"), {"__name__": "readme"})
    printed = capsys.readouterr().out
    assert printed.startswith("At 450 hp this block")
    assert "Grout" in printed


def test_every_command_and_option_is_documented() -> None:
    """Each has its line of help, and README names each command."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (commands,) = (a for a in parser()._actions if a.dest == "command")
    for name, command in commands.choices.items():
        assert f"blockwright {name}" in readme
        for action in command._actions:
            assert action.help, f"{name} {action.dest}"
    assert {a.dest for a in commands._choices_actions} == set(commands.choices)
    assert all(a.help for a in commands._choices_actions)
