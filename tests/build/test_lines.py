"""The line of every key: against documents whose lines are known, and against the parser."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockwright.build.lines import line_near, lines_of

TRICKY = '''\
# a comment with [table] and key = 1
format = 1

[casting] # trailing
bore = "4.030 in" # ] } "
walls.angles = ["0 deg", # first
  "90 deg",
]
'quoted key' = 'it''s'
"esc\\u0061pe" = """
many = "lines"
[not.a.table]
"""
raw = \'\'\'
x = 1\'\'\'
[casting.walls.thickness]
1 = ["0.2 0.2 in",
     "0.3 0.3 in"]
[duty]
points = [
  { speed = "6500 rpm", load = 1.0, share = 0.5 },
  { speed = "5500 rpm", load = 1.0, share = 0.5 },
]
[[list]]
a = 1
[list.inner]
b = 2
[[list]]
a.c.d = 1979-05-27T07:32:00Z
'''.replace("'it''s'", "'it'")


def test_tricky_document():
    lines = lines_of(TRICKY, tomllib.loads(TRICKY))
    expected = {
        "format": 2,
        "casting": 4,
        "casting.bore": 5,
        "casting.walls.angles": 6,
        "casting.walls.angles.1": 7,
        "casting.quoted key": 9,
        "casting.escape": 10,
        "casting.raw": 14,
        "casting.walls.thickness": 16,
        "casting.walls.thickness.1.1": 18,
        "duty.points": 20,
        "duty.points.1.speed": 22,
        "list.0.a": 25,
        "list.0.inner.b": 27,
        "list.1": 28,
        "list.1.a.c.d": 29,
    }
    assert {path: lines.get(path) for path in expected} == expected


def test_nearest_line_of_a_path_that_is_not_written():
    lines = lines_of(TRICKY, tomllib.loads(TRICKY))
    assert line_near(lines, "casting.bore.u") == 5
    assert line_near(lines, "casting.stroke") == 4
    assert line_near(lines, "pistons.mass") is None


def test_no_line_rather_than_a_wrong_one():
    """A document that does not match the text gives no lines at all."""
    assert lines_of("a = 1\n", {"a": 1, "b": 2}) == {}
    assert lines_of("a = 1\n?\n", {"a": 1}) == {}
    assert lines_of("[a]\nb = [1, 2\n", {"a": {"b": [1, 2]}}) == {}


KEYS = st.sampled_from(["a", "b-1", "3", '"x y"', "'q.r'", "c_d"])
SCALARS = st.sampled_from(
    ["1", "-2.5e3", "true", '"text # no"', "'lit'", '"""a\nb"""', "'''c\n\nd'''", "07:32:00", "inf"]
)


@st.composite
def values(draw, depth=2):
    kind = draw(st.sampled_from(["scalar", "scalar", "array", "inline"] if depth else ["scalar"]))
    if kind == "scalar":
        return draw(SCALARS)
    if kind == "array":
        gap = draw(st.sampled_from(["", "\n", " # c ]\n "]))
        return "[" + gap + f",{gap}".join(draw(st.lists(values(depth=depth - 1), max_size=3))) + gap + "]"
    keys = draw(st.lists(KEYS, max_size=3, unique=True))
    return "{" + ", ".join(f"{k} = {draw(values(depth=depth - 1))}" for k in keys) + "}"


@st.composite
def documents(draw):
    """Texts with keys whose lines are counted while they are written."""
    parts, line, known = [], 1, {}

    def put(text):
        nonlocal line
        parts.append(text)
        line += text.count("\n")

    tables = draw(st.lists(KEYS, max_size=3, unique=True))
    for table in ["", *tables]:
        base = ""
        if table:
            known[table.strip("\"'")] = line
            base = table.strip("\"'") + "."
            put(f"[{table}]{draw(st.sampled_from(['', ' # t']))}\n")
        keys = draw(st.lists(KEYS, max_size=4, unique=True))
        if not table:
            keys = [key for key in keys if key not in tables]
        for key in keys:
            known[base + key.strip("\"'")] = line
            put(f"{key} = {draw(values())}\n" + draw(st.sampled_from(["", "\n", "# note\n"])))
    return "".join(parts), known


@settings(max_examples=150, deadline=None)
@given(documents())
def test_lines_of_generated_documents(made):
    text, known = made
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = lines_of(text, document)
    assert {path: lines.get(path) for path in known} == known


@pytest.mark.parametrize("text", ["a = 1\r\nb = 2\r\n", "\ta\t=\t1\n\n \tb = 2"])
def test_line_ends_and_tabs(text):
    lines = lines_of(text.replace("\r\n", "\n"), tomllib.loads(text))
    assert lines["a"] == 1
    assert lines["b"] == 1 + text.count("\n", 0, text.index("b"))
