"""Compressor maps: reading, refusing, interpolating."""

from __future__ import annotations

import contextlib
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.boost import generic_map, read_map
from blockwright.gas.boost.map import KAPPA, CompressorMap, SpeedLine
from blockwright.gas.boost.reading import parse_map

from .boosting import EXAMPLES

HEADER = """compressor map,1
reference temperature,298 K
reference pressure,100 kPa
flow unit,kg/s
speed unit,rpm
speed,flow,pressure ratio,efficiency
"""
WHEEL = HEADER.replace("speed unit", "wheel diameter,40 mm\nspeed unit")
ROWS = """80000,0.10,1.60,0.68
80000,0.15,1.55,0.74
80000,0.20,1.35,0.62
100000,0.14,2.00,0.68
100000,0.20,1.95,0.75
100000,0.26,1.60,0.60
120000,0.19,2.60,0.66
120000,0.26,2.50,0.73
120000,0.32,2.00,0.58
"""


def faults_of(text: str) -> list:
    with pytest.raises(InputError) as caught:
        parse_map(text, "wheel.csv")
    assert caught.value.source == "wheel.csv"
    return list(caught.value.faults)


@st.composite
def maps(draw: st.DrawFn) -> CompressorMap:
    """Lines of any reasonable shape, each faster one wholly above the slower."""
    count, points = draw(st.integers(3, 6)), draw(st.integers(3, 8))
    share = st.floats(0.05, 1.0)
    flow = np.cumsum([1.0, *(draw(share) for _ in range(points - 1))])
    fall = np.cumsum([0.0, *(draw(share) for _ in range(points - 1))])
    flow, head = 0.1 * flow / flow[0], 0.3 * (1.0 - 0.8 * fall / fall[-1])
    lines, speed, scale = [], 6e3, 1.0
    for _ in range(count):
        efficiency = np.array([draw(st.floats(0.3, 0.8)) for _ in range(points)])
        lines.append(SpeedLine(speed, flow * scale, (1.0 + head * scale**2) ** (1.0 / KAPPA), efficiency))
        step = draw(st.floats(1.05, 1.4))
        speed, scale = speed * step, scale * step
    return CompressorMap("drawn", 298.0, 1e5, tuple(lines))


@settings(max_examples=40, deadline=None)
@given(maps())
def test_a_map_gives_back_its_own_points(table):
    for line in table.lines:
        for flow, ratio, efficiency in zip(line.flow, line.pressure_ratio, line.efficiency, strict=True):
            found = table.at(float(flow), float(ratio))
            assert_allclose(found.speed, line.speed, rtol=1e-9)
            assert_allclose((ratio**KAPPA - 1.0) / found.work, efficiency, rtol=1e-7)


@settings(max_examples=40, deadline=None)
@given(maps(), st.floats(0.0, 1.0))
def test_along_and_across_lines_nothing_wiggles(table, share):
    places = np.linspace(0.0, 1.0, 60)
    low, high = table.lines[0].speed, table.lines[-1].speed
    speed = low + share * (high - low)
    along = np.array([table.state(speed, p) for p in places])
    assert np.all(np.diff(along[:, 0]) >= -1e-12)
    assert np.all(np.diff(along[:, 1]) <= 1e-12)
    across = np.array([table.state(s, share) for s in np.linspace(0.5 * low, 1.2 * high, 60)])
    assert np.all(np.diff(across[:, 0]) > 0.0)
    assert np.all(np.diff(across[:, 1]) > 0.0)
    drawn = [line.efficiency for line in table.lines]
    assert along[:, 2].min() >= np.min(drawn) - 1e-12
    assert along[:, 2].max() <= np.max(drawn) + 1e-12


@settings(max_examples=60, deadline=None)
@given(maps(), st.floats(0.02, 0.98), st.floats(0.0, 1.0))
def test_finding_a_point_inverts_reading_it(table, place, share):
    speed = table.lines[0].speed * 0.7 + share * (table.lines[-1].speed * 1.1 - table.lines[0].speed * 0.7)
    flow, ratio, efficiency = table.state(speed, place)
    found = table.at(flow, ratio)
    assert_allclose([found.speed, found.place], [speed, place], rtol=1e-7)
    assert_allclose((ratio**KAPPA - 1.0) / found.work, efficiency, rtol=1e-6)
    assert found.surge_flow < flow < found.choke_flow or found.edge == "above" or found.choke_flow == math.inf


@settings(max_examples=60, deadline=None)
@given(maps(), st.floats(1.001, 8.0))
def test_speed_and_work_do_not_jump_at_surge_and_choke(table, ratio):
    inside = table.at(1e-9, ratio)
    for flow in (inside.surge_flow, table.at(10.0, ratio).surge_flow):
        near = [table.at(flow * f, ratio) for f in (1.0 - 1e-9, 1.0 + 1e-9)]
        assert_allclose(near[0].speed, near[1].speed, rtol=1e-5)
        assert_allclose(near[0].work, near[1].work, rtol=1e-4)
        assert near[0].edge == "surge"
    assert table.at(1e3, ratio).edge == "choke"


def test_edges_of_the_map_are_named():
    table = parse_map(HEADER + ROWS, "wheel.csv")
    assert table.at(0.2, 2.0).edge == ""
    assert table.at(0.1, 2.4).edge == "surge"
    assert table.at(0.40, 1.5).edge == "choke"
    assert table.at(0.26, 2.9).edge == "above"
    assert table.at(0.06, 1.15).edge == "below"


def test_beyond_the_lines_the_fan_laws_hold():
    table = parse_map(HEADER + ROWS, "wheel.csv")
    slow, half = table.state(table.lines[0].speed, 0.4), table.state(0.5 * table.lines[0].speed, 0.4)
    assert_allclose(half[0], 0.5 * slow[0], rtol=1e-12)
    assert_allclose(half[1] ** KAPPA - 1.0, 0.25 * (slow[1] ** KAPPA - 1.0), rtol=1e-12)
    assert half[2] == pytest.approx(slow[2], rel=1e-12)


def test_the_head_family_is_the_textbook_hyperbola():
    """psi (k3 - Phi) must be linear in Phi: form of Jensen and Kristensen, SAE 910070 (from memory)."""
    line = generic_map(0.06).lines[6]
    tip = 0.03 * line.speed
    psi = 1005.0 * 298.15 * (line.pressure_ratio**KAPPA - 1.0) / (0.5 * tip**2)
    k3 = line.flow[-1] + 0.15 * (line.flow[-1] - line.flow[0])
    assert_allclose(np.diff(psi * (k3 - line.flow), 2), 0.0, atol=1e-13)


def test_generic_maps_scale_with_the_wheel():
    small, large = generic_map(0.05), generic_map(0.10)
    for a, b in zip(small.lines, large.lines, strict=True):
        assert_allclose(b.flow, 4.0 * a.flow, rtol=1e-12)
        assert_allclose(b.speed, 0.5 * a.speed, rtol=1e-12)
        assert_allclose(b.pressure_ratio, a.pressure_ratio, rtol=1e-12)


@pytest.mark.parametrize(("diameter", "trim"), [(0.01, None), (0.3, None), (0.06, 0.2), (0.06, 0.9)])
def test_generic_maps_refuse_other_wheels(diameter, trim):
    with pytest.raises(OutsideValidity, match="generic map holds"):
        generic_map(diameter, trim)


def test_the_example_map_reads():
    table = read_map(EXAMPLES / "maps" / "saltpan_lane_66mm.csv")
    assert "invented" in table.name
    assert table.diameter == pytest.approx(0.066)
    assert len(table.lines) == 8


def test_units_and_reference_are_converted():
    pounds = HEADER.replace("kg/s", "lb/min").replace("rpm", "krpm").replace("298 K", "85 degF")
    pounds = pounds.replace("100 kPa", "13.95 psi")
    rows = "\n".join(
        ",".join([str(float(a) / 1000.0), str(float(b) * 60.0 / 0.45359237), c, d])
        for a, b, c, d in (row.split(",") for row in ROWS.split())
    )
    found, own = parse_map(pounds + rows, "us.csv"), parse_map(HEADER + ROWS, "si.csv")
    assert_allclose(found.lines[1].flow, own.lines[1].flow, rtol=1e-9)
    assert_allclose(found.lines[1].speed, own.lines[1].speed, rtol=1e-12)
    assert_allclose(found.reference_temperature, 302.594, atol=1e-3)
    assert_allclose(found.reference_pressure, 96182.0, atol=1.0)


def test_every_fault_is_told_at_once_with_its_line():
    text = HEADER.replace("reference pressure,100 kPa\n", "reference presure,100 kPa\n").replace(
        "298 K", "1298 K"
    )
    rows = ROWS.replace("0.15,1.55,0.74", "0.15,1.55,74").replace("0.26,1.60", "nan,1.60")
    rows = rows.replace("120000,0.19,2.60,0.66", "120000,0,19,2.60,0.66").replace("2.50,0.73", "0.50,x")
    found = faults_of(text + rows)
    seen = {(f.path, f.line) for f in found}
    assert ("reference presure", 3) in seen
    assert ("reference pressure", None) in seen
    assert ("reference temperature", 2) in seen
    assert ("efficiency", 8) in seen
    assert ("flow", 12) in seen
    assert ("", 13) in seen
    assert {("pressure ratio", 14), ("efficiency", 14)} <= seen
    assert "write 0.74" in next(f.right for f in found if f.line == 8)
    assert "reference pressure" in next(f.right for f in found if f.path == "reference presure")


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("80000,0.15,1.55,0.74\n80000,0.20,1.35,0.62\n", "", "three points"),
        ("80000,0.20,1.35", "80000,0.12,1.35", "rising flow"),
        ("80000,0.20,1.35", "80000,0.20,1.65", "only falls"),
        ("80000,0.20,1.35,0.62", "80000,0.15,1.55,0.62", "leave one"),
        ("100000,0.20,1.95", "100000,0.20,1.99999\n80000,0.21,1.2,0.5\n100000,0.22,1.9", "keep its points"),
        ("120000", "20000", "faster line lies above"),
        ("120000,0.19,2.60,0.66\n120000,0.26,2.50,0.73\n120000,0.32,2.00,0.58\n", "", "three at least"),
    ],
)
def test_lines_that_are_no_map_are_refused(old, new, word):
    assert old in ROWS
    assert any(word in fault.right for fault in faults_of(HEADER + ROWS.replace(old, new)))


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "first figures"),
        ("speed;flow;pressure ratio\n", "commas"),
        (ROWS, "first line"),
        (HEADER, "three speed lines"),
        (HEADER.replace("flow unit,kg/s", "flow unit,stone/fortnight") + ROWS, "one of"),
        (HEADER.replace("speed unit,rpm\n", "") + ROWS, "header"),
        (WHEEL.replace("40 mm", "62 mm").replace("rpm", "krpm") + ROWS, "check speed"),
        (WHEEL.replace("kg/s", "kg/h") + ROWS, ""),
        (WHEEL + ROWS, "check flow unit"),
        ("a\0b", "UTF-8"),
    ],
)  # fmt: skip
def test_texts_that_are_no_map_are_refused(text, word):
    if word == "":
        assert parse_map(text, "slow.csv").lines  # a tiny flow is no contradiction
        return
    found = faults_of(text)
    assert found
    if word != "first figures":
        assert any(word in fault.right for fault in found)


def test_files_that_cannot_be_read_are_refused(tmp_path):
    for name, content in (("missing.csv", None), ("empty.csv", b""), ("utf16.csv", "map".encode("utf-16"))):
        file = tmp_path / name
        if content is not None:
            file.write_bytes(content)
        with pytest.raises(InputError, match=name.split(".")[0]):
            read_map(file)
    with pytest.raises(InputError):
        read_map(tmp_path)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=200), st.integers(0, 400))
def test_no_text_crashes_the_reader(text, at):
    whole = HEADER + ROWS
    broken = whole[: at % len(whole)] + text + whole[at % len(whole) :]
    with contextlib.suppress(InputError):
        assert len(parse_map(broken, "x.csv").lines) >= 3
