"""Words and figures: rounding never flatters, state follows margin and chance."""

from __future__ import annotations

import dataclasses
import math

import pytest

from blockwright.life.verdict import Quantity
from blockwright.report import words

from .fixture import limit


@pytest.mark.parametrize(
    ("p", "told"),
    [
        (1.0, "> 99.9 %"), (0.9496, "94.9 %"), (0.95, "95 %"), (0.361, "36 %"),
        (0.127, "13 %"), (0.9999, "> 99.9 %"),
        (0.0, "< 0.1 %"), (0.0004, "< 0.1 %"), (0.05, "5 %"), (math.nan, "not known"),
    ],
)  # fmt: skip
def test_a_chance_is_never_rounded_up(p: float, told: str) -> None:
    assert words.chance(p).replace(words.FIXED, " ") == told


@pytest.mark.parametrize(
    ("margin", "survival", "word"),
    [
        (0.99, 0.9, "breaks"), (1.01, 0.45, "breaks"), (1.2, 0.9, "doubtful"), (1.2, 0.95, "lives"),
        (math.inf, 1.0, "lives"), (math.nan, 1.0, "doubtful"),
    ],
)  # fmt: skip
def test_state(margin: float, survival: float, word: str) -> None:
    one = dataclasses.replace(limit("a", "b", "c", 1.0, 0.1, survival, 500), margin=Quantity(margin, "1"))
    assert words.state(one, 0.95).word == word


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (1240.4, "1,240"),
        (45.04, "45.0"),
        (0.0123, "0.0123"),
        (0.0, "0"),
        (math.inf, "no bound"),
        (None, "not known"),
    ],
)
def test_numbers(value: float | None, told: str) -> None:
    assert words.number(value) == told


def test_groups_keep_the_verdicts_order_and_lose_nothing() -> None:
    """What the sentence says goes first stands first everywhere, whatever its chance; guides come last."""
    many = [limit("x", "cap", f"main {k}", 1 + 0.1 * k, 0.1, 0.9, 500) for k in range(3)]
    many += [limit("y", "cap", "main 1", 0.5, 0.1, 0.2, 500)]
    guide = dataclasses.replace(limit("z", "cap", "main 1", 0.2, 0.1, 0.0, 500), kind="guide")
    found = words.groups([guide, *many])
    assert [g.name for g in found] == ["x", "y", "z"]
    assert found[0].worst.place == "main 0"
    many.append(guide)
    assert sum(1 + len(g.others) for g in found) == len(many)


def test_places_are_read() -> None:
    assert words.place_number("cylinder 12 depth 1", "cylinder") == 12
    assert words.place_number("main 3", "main") == 3
    assert words.place_number("rods", "main") is None


def test_ascii_words() -> None:
    assert words.ascii_only("3° ± 2 mm², Ångström ≥ 1") == "3 deg +/- 2 mm2, Angstrom >= 1"
