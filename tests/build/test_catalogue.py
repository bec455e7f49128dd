"""The catalogue's data: complete, sourced, of the right kind and in a sane order."""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path

import pytest

from blockwright.build import catalogue
from blockwright.build.catalogue import page, reading, threads
from blockwright.build.catalogue.plain_units import unit
from blockwright.errors import InputError

METAL_FIELDS = {
    "tensile": "Pa",
    "compressive": "Pa",
    "modulus": "Pa",
    "poisson": "1",
    "density": "kg/m3",
    "hardness": "HB",
    "endurance_ratio": "1",
    "expansion": "1/K",
    "conductivity": "W/(m K)",
    "slope": "1",
    "knee": "1",
}
FIELDS = {
    "grey_iron": METAL_FIELDS,
    "ductile_iron": METAL_FIELDS | {"yield": "Pa"},
    "steel": METAL_FIELDS | {"yield": "Pa"},
    "aluminium": METAL_FIELDS | {"yield": "Pa"},
    "thread": {
        "major": "m",
        "pitch": "m",
        "stress_area": "m2",
        "pitch_diameter": "m",
        "root_diameter": "m",
        "nut_minor_diameter": "m",
        "washer_face": "m",
    },
    "grade": {
        "proof": "Pa",
        "yield": "Pa",
        "tensile": "Pa",
        "endurance": "Pa",
        "modulus": "Pa",
        "density": "kg/m3",
        "expansion": "1/K",
        "slope": "1",
        "knee": "1",
    },
    "fuel": {
        "density": "kg/m3",
        "lhv": "J/kg",
        "latent": "J/kg",
        "afr_stoich": "1",
        "ron": "1",
        "mon": "1",
        "h_c": "1",
        "o_c": "1",
        "n_c": "1",
        "molar_mass": "kg/mol",
        "vapour_pressure": "Pa",
        "viscosity": "Pa s",
        "flame_factor": "1",
    },
}
MEAN_RULES = {
    "grey_iron": "smith",
    "ductile_iron": "fkm-ductile",
    "steel": "goodman",
    "aluminium": "goodman",
    "grade": "goodman",
}
# Fields whose spread may be nothing: definitions and pure substances.
EXACT = {"major", "pitch", "pitch_diameter", "root_diameter", "nut_minor_diameter", "h_c", "o_c", "n_c"}
# Nitromethane has no octane number.
UNRATED = {name for name in catalogue.names("fuel") if name.startswith("nitro-")}
EVERY_ROW = [(table, name) for table in FIELDS for name in catalogue.names(table)]
EVERY_MODEL = catalogue.names("model")


@pytest.mark.parametrize(("table", "name"), EVERY_ROW)
def test_every_row_has_its_fields_in_their_units(table: str, name: str) -> None:
    row = catalogue.row(table, name)
    wanted = {f: unit for f, unit in FIELDS[table].items() if name not in UNRATED or f not in ("ron", "mon")}
    assert {field: figure.si_unit for field, figure in row.figures.items()} == wanted
    assert row.text("title")
    if table in MEAN_RULES:
        assert row.text("mean_rule") == MEAN_RULES[table]


@pytest.mark.parametrize(("table", "name"), EVERY_ROW)
def test_every_figure_is_finite_with_spread_source_and_status(table: str, name: str) -> None:
    row = catalogue.row(table, name)
    assert row.source
    assert row.status in catalogue.STATUSES
    for field, figure in row.figures.items():
        assert math.isfinite(figure.si), field
        assert figure.si > 0.0 or field in ("o_c", "n_c"), field
        assert figure.u > 0.0 or field in EXACT, field
        assert figure.u <= 0.55 * figure.si, field
        assert len(figure.source) > 6, field
        assert figure.status in catalogue.STATUSES, field


@pytest.mark.parametrize(("table", "name"), EVERY_ROW)
def test_status_and_source_say_the_same(table: str, name: str) -> None:
    """A figure "from memory" cannot be called published, and a source that was only read is not memory."""
    for field, figure in catalogue.row(table, name).figures.items():
        if figure.status == "published":
            assert re.search(r"read|seen|definition", figure.source), field
        if figure.status == "common practice":
            assert "common practice" in figure.source, field


@pytest.mark.parametrize("name", EVERY_MODEL)
def test_every_model_constant_says_what_it_means(name: str) -> None:
    row = catalogue.row("model", name)
    assert row.text("meaning")
    assert row.source
    assert row.status in catalogue.STATUSES
    assert math.isfinite(row.si("value"))
    assert row.u("value") >= 0.0
    assert row.distribution("value") in ("normal", "lognormal")
    if row.distribution("value") == "lognormal":
        assert row.si("value") > 0.0, "a lognormal quantity is positive"
    if name.endswith(".model_error"):
        assert row.si("value") == 1.0
        assert row.si_unit("value") == "1"
        assert row.u("value") > 0.0


@pytest.mark.parametrize("file", [*(f"{t}.toml" for t in reading.FILES)])
def test_sources_named_at_the_head_are_all_used(file: str) -> None:
    folder = Path(reading.__file__).parent
    data = tomllib.loads((folder / file).read_text(encoding="utf-8"))
    listed = set(data.pop("sources"))
    used = {row["source"] for row in data.values()}
    used |= {
        v["source"] for row in data.values() for v in row.values() if "source" in v and isinstance(v, dict)
    }
    assert listed == used


@pytest.mark.parametrize("field", ["tensile", "compressive", "modulus", "hardness"])
@pytest.mark.parametrize("series", ["grey-", "gjl-", "ductile-"])
def test_castings_rise_with_their_class(series: str, field: str) -> None:
    rows = [row for name, row in catalogue.rows("metal").items() if name.startswith(series)]
    figures = [row.si(field) for row in rows]
    assert len(figures) >= 5
    if (series, field) == ("ductile-", "modulus"):
        assert len(set(figures)) == 1  # one matrix of graphite balls: one modulus
    else:
        assert figures == sorted(set(figures))


@pytest.mark.parametrize("table", ["ductile_iron", "steel", "aluminium", "grade"])
def test_yield_lies_below_tensile_and_proof_below_yield(table: str) -> None:
    for row in catalogue.rows(table).values():
        assert row.si("yield") < row.si("tensile")
        if row.has("proof"):
            assert row.si("proof") < row.si("yield")
            assert row.si("endurance") < 0.3 * row.si("tensile")


def test_grey_iron_is_strong_in_compression() -> None:
    for row in catalogue.rows("grey_iron").values():
        assert 2.9 < row.si("compressive") / row.si("tensile") < 4.1


@pytest.mark.parametrize("name", catalogue.names("thread"))
def test_thread_diameters_are_in_order(name: str) -> None:
    row = catalogue.row("thread", name)
    assert row.si("root_diameter") < row.si("nut_minor_diameter") < row.si("pitch_diameter") < row.si("major")
    across = math.sqrt(4.0 * row.si("stress_area") / math.pi)
    assert row.si("root_diameter") < across < row.si("pitch_diameter")


@pytest.mark.parametrize("name", catalogue.names("thread"))
def test_thread_name_says_its_size(name: str) -> None:
    row = catalogue.row("thread", name)
    if name.startswith("M"):
        major, pitch = (float(part) * 1e-3 for part in name[1:].split("x"))
    else:
        size, per_inch = name.rsplit("-", 1)
        above, below = size.split("/")
        major, pitch = float(above) / float(below) * 0.0254, 0.0254 / float(per_inch)
    assert row.si("major") == pytest.approx(major, rel=1e-12)
    assert row.si("pitch") == pytest.approx(pitch, rel=1e-12)


def test_both_area_formulas_agree_on_one_profile() -> None:
    """Inch and metric standards write the same mean of pitch and root diameter, 0.9743 P against 0.9382 P."""
    inch = threads.stress_area_inch(12e-3, 1.75e-3)
    metric = threads.stress_area_metric(12e-3, 1.75e-3)
    assert inch == pytest.approx(metric, rel=0.015)
    assert inch < metric


@pytest.mark.parametrize("name", catalogue.names("fuel"))
def test_air_fuel_ratio_follows_from_the_atoms(name: str) -> None:
    """Stoichiometric mass of air (O2 + 3.773 N2, 28.962 g/mol) for CHyOzNw, an independent sum of atoms."""
    row = catalogue.row("fuel", name)
    y, z, w = row.si("h_c"), row.si("o_c"), row.si("n_c")
    oxygen = 1.0 + y / 4.0 - z / 2.0
    air = oxygen * (31.998 + 3.773 * 28.158)  # atmospheric nitrogen with its argon
    assert air / (12.011 + 1.008 * y + 15.999 * z + 14.007 * w) == pytest.approx(
        row.si("afr_stoich"), rel=2e-3
    )


@pytest.mark.parametrize("name", [n for n in catalogue.names("fuel") if n not in UNRATED])
def test_energy_in_a_kilogram_of_air_hardly_depends_on_the_fuel(name: str) -> None:
    row = catalogue.row("fuel", name)
    assert row.si("lhv") / row.si("afr_stoich") == pytest.approx(2.98e6, rel=0.04)
    assert row.si("mon") < row.si("ron")


def test_e85_is_mixed_from_its_two_parts() -> None:
    """85 % ethanol by volume: masses, energy, heat of evaporation and atoms add up."""
    ethanol, petrol, blend = (catalogue.row("fuel", n) for n in ("ethanol", "petrol-95", "e85"))
    spirit = 0.85 * ethanol.si("density")
    share = spirit / (spirit + 0.15 * petrol.si("density"))
    for field in ("lhv", "latent"):
        mixed = share * ethanol.si(field) + (1.0 - share) * petrol.si(field)
        assert blend.si(field) == pytest.approx(mixed, rel=0.01)
    assert blend.si("density") == pytest.approx(spirit + 0.15 * petrol.si("density"), rel=0.01)
    carbon = {r.name: 1.0 / (12.011 + 1.008 * r.si("h_c") + 15.999 * r.si("o_c")) for r in (ethanol, petrol)}
    atoms = share * carbon["ethanol"], (1.0 - share) * carbon["petrol-95"]
    for field in ("h_c", "o_c"):
        mixed = (atoms[0] * ethanol.si(field) + atoms[1] * petrol.si(field)) / sum(atoms)
        assert blend.si(field) == pytest.approx(mixed, rel=0.01)


def test_metal_holds_all_four_tables() -> None:
    parts = [name for table in reading.METALS for name in catalogue.names(table)]
    assert list(catalogue.names("metal")) == parts
    assert len(set(parts)) == len(parts)


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: catalogue.row("metal", "gray-30", path="casting.material"), "casting.material.*'grey-30'"),
        (lambda: catalogue.row("thread", "1/2-14"), "did you mean '1/2-1"),
        (lambda: catalogue.row("metals", "grey-30"), "the tables are"),
        (lambda: catalogue.row("metal", "grey-30").si("tensil"), "did you mean 'tensile'"),
        (lambda: catalogue.row("metal", "grey-30").si("yield"), "this row has tensile"),
        (lambda: catalogue.row("metal", "grey-30").text("mean_rules"), "'mean_rule'"),
    ],
)
def test_a_wrong_name_gets_the_nearest_right_one(ask: object, says: str) -> None:
    with pytest.raises(InputError, match=says):
        ask()  # type: ignore[operator]


@pytest.mark.parametrize(
    ("text", "factor", "name"),
    [
        ("ksi", 6894757.293168, "Pa"),
        ("W/(m K)", 1.0, "W/(m K)"),
        ("um/(m K)", 1e-6, "1/K"),
        ("kJ/kg", 1e3, "J/kg"),
        ("mm2", 1e-6, "m2"),
        ("MPa*mm^0.5", 1e6 * math.sqrt(1e-3), "kg/(m0.5 s2)"),
        ("g/cm3", 1000.0, "kg/m3"),
        ("1/MPa", 1e-6, "m s2/kg"),
        ("%", 0.01, "1"),
        ("lbf ft", 1.3558179483314004, "J"),
    ],
)
def test_units_of_the_data(text: str, factor: float, name: str) -> None:
    read = unit(text)
    assert read.factor == pytest.approx(factor, rel=1e-12)
    assert read.si_name == name


@pytest.mark.parametrize("text", ["", "furlong", "N/(m", "N)", "N/", "5 N", "*N"])
def test_nonsense_units_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="unit"):
        unit(text)


def test_the_page_is_current() -> None:
    """``docs/catalogue.md`` is written from the data: ``python -m blockwright.build.catalogue.page``."""
    written = Path(__file__).parents[2] / "docs" / "catalogue.md"
    assert written.read_text(encoding="utf-8") == page.markdown()
