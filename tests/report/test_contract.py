"""The JSON document and its schema."""

from __future__ import annotations

import copy
import dataclasses
import json
import math
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from blockwright.errors import NotSettled
from blockwright.life.verdict import Quantity, Spread
from blockwright.report.contract import document, schema, schema_text

from .fixture import FLAT4, INLINE4, awkward, engine

PUBLISHED = Path(__file__).parents[2] / "docs" / "verdict.schema.json"


@pytest.mark.parametrize("case", [engine(), engine(INLINE4), engine(FLAT4), awkward()])
def test_documents_validate_and_are_plain_json(case: tuple) -> None:
    made = document(case[0])
    Draft202012Validator(schema()).validate(made)
    assert json.loads(json.dumps(made, allow_nan=False)) == made


def test_the_schema_is_a_schema_and_the_published_one_is_current() -> None:
    Draft202012Validator.check_schema(schema())
    assert PUBLISHED.read_text(encoding="utf-8") == schema_text()


def test_holds_the_fields_that_were_promised() -> None:
    """The list in the issue that asked for this contract."""
    made = document(engine()[0])
    assert set(made) >= {
        "schema", "sentence", "power", "peak_pressure", "limits", "governing", "ceiling", "reinforcements",
        "measure_next", "assumptions", "not_modelled", "cautions",
    }  # fmt: skip
    assert set(made["limits"][0]) >= {
        "id", "name", "part", "place", "demand", "capacity", "unit", "margin", "survival", "source",
    }  # fmt: skip
    assert set(made["ceiling"]) >= {"power", "survival"}
    assert set(made["reinforcements"][0]) >= {"id", "name", "ceiling", "reason"}
    assert set(made["power"]) == {"value", "unit", "spread"}


def test_the_schema_refuses_what_is_no_verdict() -> None:
    check = Draft202012Validator(schema())
    good = document(engine()[0])
    for spoil in (
        lambda d: d.pop("sentence"),
        lambda d: d.update(schema="other"),
        lambda d: d.update(survival=1.2),
        lambda d: d["limits"][0].pop("margin"),
        lambda d: d["power"].update(value="540 hp"),
    ):
        bad = copy.deepcopy(good)
        spoil(bad)
        assert not check.is_valid(bad)


def test_a_later_field_does_not_break_an_old_reader() -> None:
    more = {**document(engine()[0]), "added_later": 1}
    assert Draft202012Validator(schema()).is_valid(more)


def test_figures_without_value_are_null_and_chances_must_be_numbers() -> None:
    verdict, _ = engine()
    no_figure = dataclasses.replace(verdict, power=Quantity(math.nan, "hp", Spread(-math.inf, math.inf)))
    assert document(no_figure)["power"] == {
        "value": None,
        "unit": "hp",
        "spread": {"low": None, "high": None, "level": 0.9},
    }
    with pytest.raises(NotSettled, match="survival"):
        document(dataclasses.replace(verdict, survival=math.nan))


def test_numbers_of_numpy_become_plain() -> None:
    verdict, _ = engine()
    made = document(dataclasses.replace(verdict, survival=np.float64(0.5), lives=np.bool_(True)))  # type: ignore[arg-type]
    assert type(made["survival"]) is float
    assert made["lives"] is True
    assert json.dumps(made)
