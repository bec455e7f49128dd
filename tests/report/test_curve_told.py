"""Table, CSV and JSON of a power curve."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from blockwright.gas.readings import KINDS, Reading
from blockwright.life.shop_units import ShopUnits
from blockwright.report.curve_csv import curve_csv
from blockwright.report.curve_document import document, schema, schema_text
from blockwright.report.curve_record import CurvePoint
from blockwright.report.curve_text import curve_text
from blockwright.report.curve_units import CurveUnits

from .curve_fixture import curve, point, q, target, unknown_knock

ROOT = Path(__file__).parents[2]
INCH, METRIC = CurveUnits(ShopUnits(True, "hp")), CurveUnits(ShopUnits(False, "kW"))


# --- document --------------------------------------------------------------------------------------


def test_schema_in_docs_is_current():
    """Else: python -m blockwright.report.curve_document"""
    assert (ROOT / "docs/curve.schema.json").read_text(encoding="utf-8") == schema_text()


@pytest.mark.parametrize("made", [curve(), curve(target=target()), unknown_knock(curve())])
def test_document_fits_its_schema(made):
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(json.loads(json.dumps(document(made), allow_nan=False)), schema())


def test_schema_refuses_a_point_without_its_power():
    broken = document(curve())
    del broken["points"][0]["power"]
    with pytest.raises(jsonschema.ValidationError, match="power"):
        jsonschema.validate(broken, schema())


def test_points_hold_value_unit_and_spread():
    found = document(curve())["points"][0]
    for name in ("speed", "torque", "power", "peak_pressure", "lambda", "fuel_flow"):
        assert set(found[name]) == {"value", "unit", "spread"}
    assert set(found["power"]["spread"]) == {"low", "high", "level"}
    assert found["boost"] is None
    assert found["unknown"]["boost"] == "there is no charger"


def test_figures_without_a_number_become_null():
    broken = replace(curve(), points=(point(3000.0, bmep=q(float("nan"), "psi")),))
    found = document(broken)
    assert found["points"][0]["bmep"]["value"] is None
    jsonschema.validate(found, schema())


def test_every_field_of_the_schema_is_described():
    for name in CurvePoint.__dataclass_fields__:
        body = schema()["$defs"]["CurvePoint"]["properties"][name.rstrip("_")]
        assert body.get("description"), name


def test_every_kind_of_the_gas_model_is_a_field_of_a_point():
    assert set(KINDS) <= set(CurvePoint.__dataclass_fields__)


# --- units -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("units", "si", "unit", "value", "shown"),
    [
        (INCH, 0.0126, "kg/s", 100.001, "lb/h"),
        (METRIC, 0.0126, "kg/s", 45.36, "kg/h"),
        (INCH, 1273.15, "K", 1832.0, "degF"),
        (METRIC, 1273.15, "K", 1000.0, "degC"),
        (METRIC, 1e-7 / 3.6, "kg/J", 100.0, "g/(kW*h)"),
        (INCH, 1e5, "Pa", 14.5038, "psi"),
        (METRIC, 1e5, "Pa", 1.0, "bar"),
        (INCH, 745.7, "W", 1.0, "hp"),
    ],
)
def test_units_of_the_shop(units, si, unit, value, shown):
    found = units.quantity(si, unit)
    assert found.unit == shown
    assert found.value == pytest.approx(value, rel=1e-4)


def test_specific_consumption_in_pounds_per_horsepower_hour():
    """Independent: 1 lb burned in an hour at 1 hp."""
    si = (0.45359237 / 3600.0) / 745.69987158
    assert INCH.quantity(si, "kg/J").value == pytest.approx(1.0, rel=1e-9)


def test_spread_is_ninety_per_cent_of_a_normal_one_and_temperatures_keep_their_zero():
    found = METRIC.reading(Reading(1273.15, "K", 10.0))
    assert (found.spread.low, found.spread.high) == (pytest.approx(983.55), pytest.approx(1016.45))
    assert METRIC.reading(Reading(None, "K", reason="none")) is None


# --- text ------------------------------------------------------------------------------------------


def test_text_fits_its_width_and_holds_every_speed():
    text = curve_text(curve(target=target()), ascii_only=False)
    assert all(len(line) <= 100 for line in text.split("\n"))
    for rpm in ("3,000", "4,000", "5,000", "6,000", "7,000"):
        assert f"\n{rpm}  " in text


def test_text_tells_what_is_missing_and_what_is_not_known():
    text = curve_text(unknown_knock(curve()), ascii_only=False)
    assert "2,500 rpm: the gas model did not settle" in text
    assert "knock margin: not followed" in text
    assert "knock" not in text.split("\n\n")[2].split("\n")[0]
    assert "INVENTED" in text


def test_text_tells_standards_and_why_not():
    text = curve_text(curve(), ascii_only=False)
    assert "factor 1.020" in text
    assert "not corrected: the charge pressure is held" in text


def test_text_says_once_that_no_standard_applies():
    bare = curve()
    none = tuple(replace(p, corrected=(p.corrected[1], p.corrected[1])) for p in bare.points)
    text = curve_text(replace(bare, points=none), ascii_only=False)
    assert text.count("the charge pressure is held") == 1


def test_text_of_the_target():
    text = curve_text(curve(target=target()), ascii_only=False)
    assert "Target: 650 hp at 6,500 rpm takes 14.2 psi of boost" in text
    assert "Not looked at: fuel supply" in text


def test_points_stand_in_line_in_every_column():
    lines = curve_text(curve(), ascii_only=False).split("\n\n")[2].split("\n")[2:]
    assert len(lines) == 5
    assert len({len(line) for line in lines}) == 1


def test_ascii_text_is_ascii():
    assert curve_text(curve(target=target()), ascii_only=True).isascii()


def test_remarks_are_marked_and_told():
    marked = replace(curve(), points=(point(3000.0), point(4000.0, remarks=("too fast",))))
    text = curve_text(marked, ascii_only=False)
    assert "* 4,000" in text
    assert "* too fast" in text


# --- csv -------------------------------------------------------------------------------------------


def test_csv_is_rectangular_and_reads_back():
    rows = list(csv.reader(io.StringIO(curve_csv(curve()))))
    assert len({len(row) for row in rows}) == 1
    assert len(rows) == 6
    by_name = dict(zip(rows[0], rows[1], strict=True))
    assert float(by_name["power [hp]"]) == pytest.approx(curve().points[0].power.value, rel=1e-5)
    low, middle, high = (float(by_name[f"power{of} [hp]"]) for of in (" 5 %", "", " 95 %"))
    assert low < middle < high
    assert by_name["boost"] == ""
    assert float(by_name["power SAE J1349 [hp]"]) == pytest.approx(
        1.02 * float(by_name["power [hp]"]), rel=1e-4
    )
    assert by_name["power ISO 1585 [hp]"] == ""


def test_csv_heads_are_each_once():
    heads = next(csv.reader(io.StringIO(curve_csv(curve()))))
    assert len(set(heads)) == len(heads)
