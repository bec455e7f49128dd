"""Quantities: every unit of the trade against Pint, both ways, and what is refused."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blockwright.errors import InputError
from blockwright.unit_table import DIMENSIONS
from blockwright.units import dimension_of, parse, parse_spread, registry, scale, show, to_unit

#: Spellings of the trade that Pint reads otherwise or not at all, in words that it does know.
IN_PINTS_WORDS = {
    "mil": "thou",
    "PS": "metric_horsepower",
    "cfm": "foot^3/minute",
    "Nm N-m": "newton*meter",
    "lbf-ft ft-lbf lb*ft ft*lb lb-ft ft-lb": "pound_force*foot",
    "lbf-in in-lbf lb*in in*lb lb-in in-lb": "pound_force*inch",
    "°": "degree",
    "°C": "degC",
    "°F": "degF",
    "rev/min r/min": "revolution/minute",
    "lbm": "pound",
    "ml mL": "milliliter",
    "l": "liter",
    "L": "liter",
    "l/s L/s": "liter/second",
    "l/min L/min": "liter/minute",
    "minutes": "minute",
    "Mpsi": "megapsi",
    "mmHg": "millimeter_Hg",
}


def pint_name(unit: str, dimension: str) -> str:
    if dimension == "mass moment" and unit == "lb*in":
        return "pound*inch"
    for spellings, name in IN_PINTS_WORDS.items():
        if unit in spellings.split():
            return name
    return unit if "^" in unit or not unit[-1].isdigit() else f"{unit[:-1]}^{unit[-1]}"


ROWS = [
    (kind.name, unit)
    for kind in DIMENSIONS.values()
    for unit in kind.units
    if kind.name not in ("number", "hardness")
]


@pytest.mark.parametrize(("dimension", "unit"), ROWS)
def test_every_unit_of_the_table_agrees_with_pint(dimension, unit):
    """Two numbers fix factor and zero; Pint's constants are exact to 1e-6 of inHg and mmHg."""
    units = registry()
    for number in (1.0, 37.0):
        theirs = units.Quantity(number, pint_name(unit, dimension)).to(DIMENSIONS[dimension].si).magnitude
        ours = parse(f"{number} {unit}", dimension).si
        assert ours == pytest.approx(theirs, rel=1e-6 if "Hg" in unit else 1e-12)


@pytest.mark.parametrize("unit", ["cfm", "PS", "mil"])
def test_pint_alone_would_misread_these_trade_spellings(unit):
    """Why the table comes first: Pint takes them for other things."""
    units = registry()
    kind = DIMENSIONS[dimension_of(unit)]
    assert units.parse_units(unit).dimensionality != units.parse_units(kind.si).dimensionality


@given(
    st.sampled_from(ROWS),
    st.floats(min_value=-1e6, max_value=1e6, allow_nan=False),
)
def test_units_round_trip(row, number):
    dimension, unit = row
    si = parse(f"{number!r} {unit}", dimension).si
    assert to_unit(si, unit, dimension) == pytest.approx(number, rel=1e-12, abs=1e-9)


@given(st.integers(0, 400), st.integers(0, 64), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch(whole, part, parts):
    assert parse(f"{whole} {part}/{parts} in", "length").si == pytest.approx((whole + part / parts) * 0.0254)


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        (".0025 in", "length", 6.35e-5),
        ("4 1/8 in", "length", 4.125 * 0.0254),
        ("-1/8 in", "length", -0.125 * 0.0254),
        ("60 degF", "temperature", 288.70555555555556),
        ("-40 degC", "temperature", 233.15),
        ("75 lbf ft", "torque", 75 * 1.3558179483314004),
        ("28 inH2O", "pressure", 6974.489479999999),
        ("200 HB", "hardness", 200.0),
        ("87 %", "number", 0.87),
        ("1.5e1 mm", "length", 0.015),
        ("220 mm²", "area", 220e-6),
        ("3 furlong", "length", 603.504),
        ("90 arcminute", "angle", math.radians(1.5)),
        ("2 bar", "pressure", 2e5),
    ],
)
def test_reads(text, dimension, si):
    assert parse(text, dimension).si == pytest.approx(si, rel=1e-5 if "furlong" in text else 1e-12)


def test_message_names_what_was_read_and_what_would_be_right():
    with pytest.raises(InputError) as caught:
        parse("4.030", "length", "casting.bore")
    assert str(caught.value) == (
        "casting.bore: read 4.030; give it with a unit of length, for instance 4.030 in or 102.4 mm"
    )


@pytest.mark.parametrize(
    ("text", "dimension", "hint"),
    [
        ("4,030 in", "length", "without commas"),
        ("4.030 psi", "length", "unit of length"),
        ("50 %", "angle", "unit of angle"),
        ("100 Hz", "turning speed", "unit of turning speed"),
        ("20 delta_degC", "temperature", "unit of temperature"),
        ("30 cfm", "length", "unit of length"),
        ("1e999 in", "length", "finite"),
        ("1/0 in", "length", "finite"),
        ("nan in", "length", "unit of length"),
        ("inf in", "length", "unit of length"),
        ("", "length", "unit of length"),
        ("__import__('os').system('true') in", "length", "unit of length"),
        ("2 m**9**9**9**9", "length", "unit of length"),
        ("2 m^2^2", "length", "unit of length"),
        ("(1+1) in", "length", "unit of length"),
        ("1 in + 1 in", "length", "unit of length"),
        ("1 in\n", "length", None),
        ("3 dB", "number", "number"),
        ("3 mm", "number", "number"),
        ("٤ in", "length", None),
    ],
)
def test_refuses(text, dimension, hint):
    """`None` marks texts that are odd but read: a trailing newline, digits of another script."""
    if hint is None:
        assert parse(text, dimension).si > 0.0
        return
    with pytest.raises(InputError, match=hint) as caught:
        parse(text, dimension)
    assert "\n" not in str(caught.value)


def test_giant_texts_are_refused_in_a_short_message():
    for text in ("9" * 1_000_000 + " in", "1 " + "m*" * 500_000 + "m", "1/" * 300_000):
        with pytest.raises(InputError) as caught:
            parse(text, "length")
        assert len(str(caught.value)) < 200


@given(st.text(max_size=60), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_gives_a_finite_number_or_an_input_error(text, dimension):
    try:
        found = parse(text, dimension)
    except InputError:
        return
    assert math.isfinite(found.si)
    assert found.resolution > 0.0


@pytest.mark.parametrize(
    ("text", "resolution"),
    [("4.030 in", 0.001), ("4.03 in", 0.01), ("4 in", 1.0), ("1.20e-1 in", 0.001), ("4 1/8 in", 1 / 64)],
)
def test_resolution_is_one_of_the_last_digit(text, resolution):
    assert parse(text, "length").resolution == pytest.approx(resolution * 0.0254)


def test_spread_of_a_temperature_is_a_difference():
    assert parse_spread("9 degF", "temperature", 300.0) == pytest.approx(5.0)
    assert parse_spread("2 %", "length", 0.1) == pytest.approx(0.002)
    assert parse_spread("2 %", "number", 0.5) == pytest.approx(0.01)
    assert parse_spread("0.02", "number", 0.5) == pytest.approx(0.02)


@pytest.mark.parametrize("text", ["-1 %", "-0.001 in", "3 psi", "much", "1/0 %"])
def test_spread_refuses(text):
    with pytest.raises(InputError):
        parse_spread(text, "length", 0.1)


def test_show():
    assert show(0.102362, "in", 3) == "4.030 in"
    assert show(300.0, "degC", 2) == "26.85 degC"
    assert show(5.0, "degF", 1, difference=True) == "9.0 degF"
    assert show(-1e-9, "in", 3) == "0.000 in"
    assert show(0.87, "", 2) == "0.87"
    assert show(402.336, "furlong", 0) == "2 furlong"
    with pytest.raises(InputError, match="such as in"):
        show(1.0, "quux")


def test_units_of_the_trade_do_not_import_pint():
    code = (
        "import sys; from blockwright.units import parse, show;"
        "parse('4.030 in', 'length'); show(0.1, 'in');"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_scale_of_an_offset_unit_from_pint_is_refused():
    """Only the table knows temperatures, so that no other unit brings a zero of its own."""
    assert scale("degRe", "temperature") is None
