"""The answer for a terminal and the explanation of a figure."""

from __future__ import annotations

import dataclasses
import io

import numpy as np
import pytest

from blockwright.report import words
from blockwright.report.explain import explain_text, value_text
from blockwright.report.text import judge_text
from blockwright.trace import Leaf, Node, Traced, formula

from .fixture import INLINE4, awkward, engine


@pytest.mark.parametrize("case", [engine(), engine(INLINE4, "Ünïcode ×²³°±≥→" * 12), awkward()])
@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("width", [72, 100])
def test_fits_the_columns(case: tuple, plain: bool, width: int) -> None:
    text = judge_text(case[0], width=width, ascii_only=plain)
    assert max(len(line) for line in text.splitlines()) <= width
    assert not text.endswith("\n")
    assert "\x07" not in text
    assert "\u00a0" not in text
    assert "\ue000" not in text
    if plain:
        text.encode("ascii")


def test_the_sentence_comes_first_and_all_parts_follow() -> None:
    verdict, _ = engine()
    text = judge_text(verdict)
    joined = " ".join(text.split())
    assert joined.startswith(verdict.sentence)
    parts = ["Limits", "Ceiling", "Changes", "Measure next", "Assumed, 6 values", "Not modelled", "Cautions"]
    assert sorted(parts, key=joined.index) == parts
    for change in verdict.reinforcements:
        assert change.name in joined
    assert "not yet modelled: its stiffness" in joined
    for caution in verdict.cautions:
        assert joined.count(caution) == 1


def test_the_table_is_worst_first_and_at_most_ten() -> None:
    verdict, _ = engine()
    many = tuple(
        dataclasses.replace(verdict.limits[0], name=f"Limit {k:02d}", survival=1 - 0.01 * k)
        for k in reversed(range(14))
    )
    lines = judge_text(dataclasses.replace(verdict, limits=many)).splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("Limits"))
    assert "the 10 worst of 14" in lines[start]
    names = [line.split("  ")[0] for line in lines[start + 2 : start + 12]]
    assert names == [f"Limit {k:02d}" for k in range(13, 3, -1)]
    assert lines[start + 12] == ""
    assert lines[start + 13].startswith("How the first came about: blockwright explain BUILD.toml ")


@formula(symbol="A", unit="m2", equation="A = b*h", source="definition")
def _section(width, height):
    """Section of a bar."""
    return width * height


@formula(symbol="sigma", unit="Pa", equation="sigma = f*F/A + F/(2*A)", source="statics", valid="0 < f < 1")
def _stress(load, area, share, *, bolts=2):
    """Stress in a bar."""
    return share * load / area + load / bolts / area


def _leaf(value, **kw) -> Traced:
    return Traced(Node(np.asarray(value, dtype=float), leaf=Leaf(**kw)))


def _bar() -> Node:
    side = np.full((1, 1, 1, 1), 0.02)
    given = {
        "kind": "build",
        "name": "bar.width",
        "unit": "m",
        "provenance": "measured, calipers",
        "spread": 1e-5,
    }
    width, again = _leaf(side, **given), _leaf(side.copy(), **given)
    load = np.array([1e3, -4e4, 2e4]).reshape(1, 3, 1, 1)
    force = _leaf(
        load, kind="kernel", name="main_vertical", unit="N", place="main 3", source="crank loads", key="k17"
    )
    share = _leaf(0.25, kind="model", name="bar.share", unit="1", source="common practice, no source")
    return _stress(force, _section(width, again), share, bolts=2.0000000001).node


def test_explains_every_formula_and_leaf_once() -> None:
    node = _bar()
    text = explain_text({"demand": node, "again": node}, title="Bar at main 3", notes=("A note.",))
    assert text.startswith("Bar at main 3\n")
    assert text.count("Section of a bar") == 1
    assert text.count("bar.width") == 1
    assert "height = 20 mm" in text
    for said in (
        "sigma = -75 MPa (largest of 3 duty points; -75 MPa to 37.5 MPa)",
        "source: statics", "holds for: 0 < f < 1",
        "bolts: 2 ", "standard uncertainty 10 um", "measured, calipers", "common practice, no source",
        "key k17",
        "load = -40 kN", "A = b*h", "A note.",
    ):  # fmt: skip
        assert said in " ".join(text.split()), said
    # The result stands before what it is made of.
    assert text.index("Stress in a bar") < text.index("Section of a bar")


def test_every_reference_has_its_entry() -> None:
    import re

    text = explain_text(_bar())
    used = set(re.findall(r"\[a?\d+\]", text))
    entries = {line.split()[0] for line in text.splitlines() if line.startswith("[")}
    assert used == entries


def test_explanations_fit_and_may_be_ascii() -> None:
    leaf = _leaf(1.0, kind="build", name="p" * 60, unit="degC", source="°±² " * 60)
    text = explain_text(leaf.node, ascii_only=True)
    text.encode("ascii")
    assert max(len(line) for line in text.splitlines()) <= 100


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (182.3e6, "Pa", "182.3 MPa"),
        (0.1024, "m", "102.4 mm"),
        (2.5, "m", "2.5 m"),
        (0.0, "m", "0 m"),
        (12.0, "N", "12 N"),
        (0.5, "1", "0.5"),
        (float("nan"), "Pa", "not known"),
    ],
)
def test_values_read_well(value: float, unit: str, expected: str) -> None:
    assert value_text(np.asarray(value), unit).replace("\u00a0", " ") == expected


def test_the_nominal_sample_is_shown() -> None:
    value = np.array([1.0, 99.0]).reshape(2, 1, 1, 1)
    assert value_text(value, "1") == "1"


def test_an_output_without_utf8_gets_ascii(monkeypatch: pytest.MonkeyPatch) -> None:
    verdict, _ = engine()
    degrees = dataclasses.replace(verdict, warnings=("spark at 34°",))
    monkeypatch.setattr("sys.stdout", io.TextIOWrapper(io.BytesIO(), encoding="cp1252"))
    assert "34 deg" in judge_text(degrees)
    monkeypatch.setattr("sys.stdout", io.TextIOWrapper(io.BytesIO(), encoding="utf-8"))
    assert "34°" in judge_text(degrees)


def test_long_names_are_broken_not_cut() -> None:
    verdict, _ = engine()
    name = "Web cracks from the bottom of the bolt hole upwards into the cam bore"
    one = dataclasses.replace(verdict.limits[0], name=name, place="cylinder 5, 0.75 in below deck, 315 deg")
    text = judge_text(dataclasses.replace(verdict, limits=(one,)))
    table = text[text.index("Limits") : text.index("How the first")].rstrip()
    first, *_ = zip(*(line.split("  ")[:1] for line in table.splitlines()[2:]), strict=False)
    assert " ".join(first).split() == name.split()
    assert "..." not in table


def test_a_change_beyond_the_powers_looked_at_is_not_called_uncomputed() -> None:
    verdict, _ = engine()
    above = dataclasses.replace(
        verdict.reinforcements[0],
        ceiling=None,
        reason="above 900 hp, the highest power looked at",
        survival=0.999,
        governing="Rod buckling (every rod)",
    )
    never = dataclasses.replace(above, reason="not modelled yet", survival=None, governing="")
    text = " ".join(judge_text(dataclasses.replace(verdict, reinforcements=(above, never))).split())
    assert f"{above.name}: no ceiling found (above 900 hp, the highest power looked at), chance" in text
    assert "first to go then: Rod buckling (every rod)" in text
    assert f"{never.name}: not modelled yet " in text


def test_angles_in_a_table_take_their_sign() -> None:
    verdict, _ = engine()
    limit = dataclasses.replace(verdict.limits[0], place="cylinder 1, 2.00 in below deck, 315 deg")
    assert words.place(limit) == "cylinder 1, 2.00 in below deck, 315°"


def test_what_no_measurement_narrows_is_said() -> None:
    verdict, _ = engine()
    method = {"share of the doubt from models": "61 %", "share of the doubt from catalogue figures": "8 %"}
    told = words.rest_of_doubt(dataclasses.replace(verdict, method=method))
    assert told == "Of the doubt, 61 % lies in the models themselves and 8 % in catalogue figures."
    assert words.rest_of_doubt(dataclasses.replace(verdict, method={})) == ""


def test_an_explanation_speaks_to_a_builder_not_to_a_programmer() -> None:
    """Axes in words, no range where all are alike, no shapes or code in a title."""
    same = np.full((1, 3, 2, 1), 5.0e6)
    assert value_text(same, "Pa") == "5\u00a0MPa (at each of 3 duty points x 2 strengths of cycle)"

    @formula(symbol="s", unit="Pa", equation="s = 2 x", source="definition")
    def largest(x: np.ndarray) -> np.ndarray:
        """Largest stress of each cycle, shape (n, P, Z, 1) [Pa], from `crown_cycle`."""
        return 2.0 * x

    given = Traced(Node(same, leaf=Leaf("build", "x", "Pa")))
    text = explain_text(largest(given).node)
    assert "[1] Largest stress of each cycle\n" in text
