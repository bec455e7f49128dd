"""What is written from the model: JSON Schema, documentation, the build to start from; and upgrades."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import jsonschema
import pytest

from blockwright.build import load, loads
from blockwright.build.docs import docs_text
from blockwright.build.schema import build_file_schema, schema_text
from blockwright.build.template import new_build
from blockwright.build.upgrades import FORMAT, UPGRADES, upgraded
from blockwright.build.walk import leaves
from blockwright.errors import InputError

from .helpers import text

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((Path(__file__).parent / "samples" / "format1").glob("*.toml"))


def test_schema_in_docs_is_current():
    """Else: python -m blockwright.build.schema docs/build-file.schema.json"""
    assert (ROOT / "docs/build-file.schema.json").read_text(encoding="utf-8") == schema_text()


def test_documentation_is_current():
    """Else: python -m blockwright.build.docs docs/build-file.md"""
    assert (ROOT / "docs/build-file.md").read_text(encoding="utf-8") == docs_text()


def test_documentation_holds_every_field_with_its_meaning():
    document = docs_text()
    for leaf in leaves().values():
        assert leaf.meaning
        assert f"| `{leaf.name}` | {leaf.meaning} |" in document


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_schema_accepts_builds(path):
    schema = build_file_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(tomllib.loads(path.read_text()), schema)
    assert load(path)


@pytest.mark.parametrize(
    "changes",
    [
        {"casting.bore": None},
        {"casting.boer": "4 in"},
        {"layout.kind": "W"},
        {"layout.cylinders": "8"},
        {"casting.bore": "four inches"},
        {"casting.bore": {"value": "4 in", "guage": "x"}},
        {"heads.intake": {"flow": [["0.1 in"]]}},
        {"fuel": {"lambda_": 0.9}},
    ],
)
def test_schema_refuses(changes):
    document = tomllib.loads(text(changes))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, json.loads(schema_text()))


def test_template_loads_and_needs_a_dozen():
    template = new_build()
    made = loads(template)
    given = [line for line in template.split("\n") if re.match(r"[a-z]", line)]
    assert len(given) <= 15
    assert len(made.assumptions) > 90
    assert max(map(len, template.split("\n"))) <= 260


def test_template_shows_every_field():
    template = new_build()
    for path in leaves():
        if "#" not in path:
            name = path.rpartition(".")[2]
            assert re.search(rf"(?m)^#?{name}[ .]", template), path


def uncommented(template: str, wanted: set[str]) -> str:
    """The template with some fields, and the sections they stand in, taken into use."""
    made, section, head = [], "", ""
    for line in template.split("\n"):
        if found := re.match(r"#?\[([a-z_.]+)\]$", line):
            section, head = found[1], line.lstrip("#")
            made.append(line if line.startswith("[") else "")
            continue
        field = re.match(r"#([a-z_0-9]+)(?:\.1)? = ", line)
        path = f"{section}.{field[1]}" if field and section else field[1] if field else ""
        if path in wanted:
            if head not in made:
                made.append(head)
            line = line[1:]
        made.append(line)
    return "\n".join(made)


#: Fields that contradict the example, or need each other.
TOGETHER = {
    "layout.split": {"layout.split", "layout.throws"},
    "girdle.material": {"girdle.material", "girdle.thickness", "girdle.width"},
    "girdle.fit": {"girdle.fit", "girdle.thickness", "girdle.width"},
    "girdle.thickness": {"girdle.thickness", "girdle.width"},
    "girdle.width": {"girdle.thickness", "girdle.width"},
    "casting.walls.thickness": {"casting.walls.thickness", "casting.walls.depths"},
    "exhaust.secondary_length": {"exhaust.secondary_length", "exhaust.secondary_groups"},
    "exhaust.secondary_diameter": {"exhaust.secondary_diameter", "exhaust.secondary_groups"},
    "intake.inlet_diameter": {"intake.inlet_diameter", "intake.inlet_length"},
    "nitrous.power": {"nitrous.power", "nitrous.bottle_mass"},
    "nitrous.jet": {"nitrous.jet", "nitrous.bottle_mass"},
    "nitrous.fuel_jet": {"nitrous.fuel_jet", "nitrous.jet", "nitrous.bottle_mass"},
}
#: What a machine's field needs beside it, and the words of its section that must be others then.
_COOLED = ("cooler_drop", "cooling_temperature")
_WHEEL = ("impeller_diameter", "compressor_map", "trim")
ALONE_WRONG = {"duty.hours", "caps.four_bolt_mains", "caps.splay", "caps.outer_span"}
OPTIONAL = [
    path
    for path in leaves()
    if "#" not in path and not path.startswith("outer_fasteners.") and path not in ALONE_WRONG
]


def beside(path: str) -> set[str]:
    """The field and those that it needs."""
    section, _, name = path.partition(".")
    if path.endswith(".tighten"):
        return {path, path.replace("tighten", "torque")}
    if section == "nitrous" and path not in TOGETHER:
        return {path, "nitrous.bottle_mass", "nitrous.power"}
    if section not in ("turbo", "blower"):
        return TOGETHER.get(path, {path})
    wanted = {path, "boost.kind", "boost.pressure"}
    if section == "blower":
        wanted |= {"blower.principle"} if name in _WHEEL else {"blower.principle", "blower.displacement"}
    if name in _COOLED:
        wanted.add(f"{section}.cooler_effectiveness")
    return wanted


def in_use(template: str, path: str) -> str:
    """The template with a field and what it needs in use, for a fitted machine with its boost."""
    text_ = uncommented(template, beside(path))
    section, _, name = path.partition(".")
    if section in ("turbo", "blower"):
        text_ = text_.replace('kind = "none"', f'kind = "{section}"').replace(
            'pressure = "0.0 psi"', 'pressure = "9 psi"'
        )
    if section == "blower" and name in _WHEEL:
        text_ = text_.replace('principle = "lobe"', 'principle = "centrifugal"')
    if path == "intake.inlet_diameter":
        text_ = text_.replace('inlet_length = "0.000 in"', 'inlet_length = "20 in"')
    return text_


@pytest.mark.parametrize("path", OPTIONAL)
def test_each_line_of_the_template_can_be_taken_into_use(path, tmp_path):
    file = tmp_path / "build.toml"
    file.write_text(in_use(new_build(), path), encoding="utf-8")
    if path.endswith(".compressor_map"):
        (tmp_path / "maps").mkdir()
        (tmp_path / "maps" / "our_compressor.csv").touch()
    made = load(file)
    below = path.replace("depths", "depth").replace("angles", "angle").replace(".thickness", ".1")
    assert made.has(below if path.startswith("casting.walls") else path)


def test_upgrades_chain_and_leave_the_original():
    """A private example: a key renamed, then a unit added; the chain of today is empty."""
    old = {"format": 1, "engine": {"bore": "4.030"}}
    chain = {
        1: lambda d: {"casting": d.pop("engine"), **d},
        2: lambda d: {**d, "casting": {"bore": d["casting"]["bore"] + " in"}},
    }
    new = upgraded(old, chain, 3)
    assert new == {"format": 3, "casting": {"bore": "4.030 in"}}
    assert old == {"format": 1, "engine": {"bore": "4.030"}}
    assert upgraded({**new, "x": 1}, chain, 3) == {**new, "x": 1}


@pytest.mark.parametrize("number", [0, -1, 4, True, "1", "", 1.0, None])
def test_unknown_formats_are_refused(number):
    with pytest.raises(InputError) as refusal:
        upgraded({"format": number}, {1: dict, 2: dict}, 3)
    assert refusal.value.faults[0].read


def test_every_format_so_far_has_a_chain_and_a_sample():
    assert set(UPGRADES) == set(range(1, FORMAT))
    folders = {path.name for path in (Path(__file__).parent / "samples").iterdir()}
    assert folders == {f"format{n}" for n in range(1, FORMAT + 1)}
