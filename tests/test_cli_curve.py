"""`blockwright curve` as a user types it."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

import blockwright as bw

from .test_cli import DEMO, ROOT, Run, run

TURBO = ROOT / "examples" / "turbo_four.toml"
#: Three speeds: these tests look at what is printed, not at the figures.
FEW = ("--from", "4500", "--to", "6500 rpm", "--step", "1000 rpm")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Run, Path, Path]:
    """The hill-climb demo run as text, with page and table."""
    folder = tmp_path_factory.mktemp("curve")
    page, table = folder / "out.html", folder / "out.csv"
    found = run("curve", str(DEMO), *FEW, "--report", str(page), "--csv", str(table), "--target", "20000 hp")
    return found, page, table


def test_text_holds_a_line_for_every_speed(told: tuple[Run, Path, Path]) -> None:
    found, _, _ = told
    assert found.code == 0
    assert re.findall(r"^(\d,\d00)  ", found.out, re.MULTILINE) == ["4,500", "5,500", "6,500"]
    assert "Uncorrected" in found.out
    assert "SAE J1349" in found.out


def test_power_out_of_reach_is_told_with_what_is_short(told: tuple[Run, Path, Path]) -> None:
    found, _, _ = told
    assert re.search(r"20,000\s+hp\s+at 6,500\s+rpm cannot\s+be had", found.out)
    assert "short by" in " ".join(found.out.split())


def test_report_and_table_are_written_and_said(told: tuple[Run, Path, Path]) -> None:
    found, page, table = told
    assert f"Report written to {page}" in found.err
    assert f"Table written to {table}" in found.err
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    rows = list(csv.reader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [row[0] for row in rows[1:]] == ["4500", "5500", "6500"]


def test_json_is_all_of_standard_output_and_fits_its_schema() -> None:
    found = run("curve", str(DEMO), *FEW, "--json", "--standard", "iso-1585")
    assert found.code == 0
    document = json.loads(found.out)
    schema = json.loads((ROOT / "docs/curve.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, schema)
    assert len(document["points"]) == 3
    for name in ("speed", "torque", "power", "peak_pressure"):
        assert set(document["points"][0][name]) == {"value", "unit", "spread"}
    assert document["points"][0]["power"]["spread"]["low"] < document["points"][0]["power"]["value"]
    assert [s["key"] for s in document["standards"]] == ["iso-1585"]


def test_csv_to_standard_output_is_nothing_else() -> None:
    found = run("curve", str(DEMO), "--from", "5000", "--to", "5000", "--csv", "-")
    assert found.code == 0
    rows = list(csv.reader(io.StringIO(found.out)))
    assert len(rows) == 2
    assert rows[0][0] == "speed [rpm]"


def test_target_at_the_peak_sets_the_charge(tmp_path: Path) -> None:
    """The demo's turbocharged four with a given burn: what is tested here is the search."""
    shutil.copytree(TURBO.parent / "maps", tmp_path / "maps")
    build = tmp_path / "turbo.toml"
    bw.save(bw.load(TURBO).with_changes({"spark.law": "wiebe"}), build)
    found = run("curve", str(build), *FEW, "--preview", "--target", "330 kW", "--at", "peak", "--json")
    document = json.loads(found.out)
    assert document["target"]["reached"]
    assert document["target"]["lever"] == "boost"
    best = max(point["power"]["value"] for point in document["points"])
    assert best == pytest.approx(document["target"]["power"]["value"], rel=0.01)
    assert document["points"][0]["corrected"][0]["power"] is None


def test_target_by_nitrous_tells_the_jet(tmp_path: Path) -> None:
    """The jet told passes the flow told, from the build's own bottle."""
    from blockwright.gas import steering_from_build as charge
    from blockwright.gas.nitrous.feed import through
    from blockwright.gas.nitrous.jet import Jet, jet_flow

    build = bw.load(ROOT / "examples" / "nitrous_v8.toml").with_changes({"spark.law": "wiebe"})
    bw.save(build, path := tmp_path / "nitrous.toml")
    speed = ("--from", "5200", "--to", "5200")
    found = run("curve", str(path), *speed, "--preview", "--target", "430 hp", "--at", "5200", "--json")
    document = json.loads(found.out)
    told = document["target"]
    assert told["reached"]
    assert told["lever"] == "nitrous flow"
    assert told["jet"]["unit"] == "in"
    assert re.search(r"through one jet of [\d.]+\sin at the bottle's", told["sentence"])
    jet = Jet(told["jet"]["value"] * 0.0254, told["jets"])
    plenum = document["points"][0]["plenum_pressure"]["value"] * 6894.757
    passed = jet_flow(
        through(charge.bottle_outlet(build), jet, plenum, charge.nitrous_line(build))[1], jet, plenum
    )
    assert float(passed.flow) * 3600.0 / 0.45359237 == pytest.approx(told["value"]["value"], rel=1e-3)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--target", "650"], "--target: read 650; give it with a unit of power"),
        (["--target", "-5 hp"], "--target: read -5 hp"),
        (["--target", "six hp"], "--target"),
        (["--target", "650 rpm"], "--target"),
        (["--at", "6500 rpm"], "--at: read 6500 rpm; it is the speed of a --target"),
        (["--target", "400 hp", "--at", "top"], "--at: read top"),
        (["--from", "fast"], "--from: read fast"),
        (["--from", "7000 rpm", "--to", "3000 rpm"], "--to: read 3000 rpm; the lowest speed lies above"),
        (["--from", "9000 rpm"], "--from: read 9000 rpm; the lowest speed lies above"),
        (["--step", "0"], "--step: read 0"),
        (["--step", "0.01 rpm"], "200"),
        (["--to", "90000 rpm"], "--to: read 90000 rpm; give a speed from 300 to 20000 rpm"),
        (["--from", "20 rpm", "--to", "900 rpm"], "--from: read 20 rpm"),
        (["--standard", "std"], "--standard: read std; choose from sae-j1349, sae-j607, iso-1585, din-70020"),
        (["--json", "--csv", "-"], "--csv"),
        (["--report", "/nowhere/out.html"], "--report: read /nowhere/out.html"),
        (["--csv", "/nowhere/out.csv"], "--csv: read /nowhere/out.csv"),
        (["--csv", str(DEMO)], "the build file itself"),
        (["--csv", "same.html", "--report", "same.html"], "the report goes to that file"),
    ],
)
def test_arguments_that_cannot_be_give_one_message(arguments: list[str], said: str) -> None:
    found = run("curve", str(DEMO), *arguments)
    assert found.code == 2
    assert found.out == ""
    assert said in found.err
    assert "Traceback" not in found.err
    assert len(found.err.strip().split("\n")) <= 2


def test_missing_build_is_told() -> None:
    found = run("curve", "nowhere.toml")
    assert found.code == 2
    assert "nowhere.toml" in found.err


def test_nothing_settled_is_exit_3_and_no_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    from blockwright.errors import NotSettled
    from blockwright.gas import curve

    def never(*args: object, **more: object) -> None:
        raise NotSettled("it swings")

    monkeypatch.setattr(curve, "run_point", never)
    found = run("curve", str(DEMO), *FEW)
    assert found.code == 3
    assert found.out == ""
    assert "it swings" in found.err


def test_schema_of_the_curve_is_printed() -> None:
    found = run("schema", "curve")
    assert found.out == (ROOT / "docs/curve.schema.json").read_text(encoding="utf-8")


def test_ascii_terminal() -> None:
    """A real process whose output takes ASCII only."""
    done = subprocess.run(
        [sys.executable, "-m", "blockwright", "curve", str(DEMO), "--from", "5000", "--to", "5000"],
        capture_output=True,
        env={"PATH": "", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "PYTHONPATH": str(ROOT / "src")},
        timeout=300,
        check=False,
    )
    assert done.returncode == 0
    assert done.stdout.decode("ascii")
