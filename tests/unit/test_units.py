"""Reading and writing quantities."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designkit import units
from designkit.errors import InputError
from designkit.units import (
    NBSP,
    feet_inches,
    file_text,
    in_sentence,
    millimetres,
    on_sheet,
    read,
    read_number,
)

# 8 ft 6 1/2 in is 102.5 in of 25.4 mm; the other figures by the same sum.
LENGTHS = [
    ("8' 6 1/2\"", 2.6035),
    ("12'-6 1/2\"", 3.8227),
    ("12' - 6 1/2\"", 3.8227),
    ("12'-6-1/2\"", 3.8227),
    ("8 ft 6.5 in", 2.6035),
    ("8ft6in", 2.5908),
    ("8 feet 6 inches", 2.5908),
    ('102.5"', 2.6035),
    ("102 1/2 in", 2.6035),
    ("12′-6½″", 3.8227),
    ("12’ 6½”", 3.8227),
    ("12''", 0.3048),
    ("½ in", 0.0127),
    ("⅝″", 0.015875),
    ("6 3⁄16 in", 0.1571625),
    ("12'-6", 3.81),
    ("3'", 0.9144),
    ("-4'-1\"", -1.2446),
    ("−300 mm", -0.3),
    ("2.6 m", 2.6),
    ("2,6 m", 2.6),
    ("2.6m", 2.6),
    ("260 cm", 2.6),
    ("2600 mm", 2.6),
    ("2 600 mm", 2.6),
    ("2\u00a0600\u00a0mm", 2.6),
    ("2.600,5 mm", 2.6005),
    ("2,600.5 mm", 2.6005),
    ("1 m 24 cm", 1.24),
    ("1.240 m", 1.24),
    ("1.375 in", 0.034925),
    ("0,125 m", 0.125),
    (".5 m", 0.5),
    ("5 yd", 4.572),
    ("3 yards", 2.7432),
]


@pytest.mark.parametrize(("text", "metres"), LENGTHS)
def test_a_length_is_read_exactly(text: str, metres: float) -> None:
    assert read(text) == metres


@pytest.mark.parametrize(
    ("given_", "declared", "metres"),
    [
        ("3,81", "m", 3.81),
        ("3 810", "mm", 3.81),
        ("3.810.000", "mm", 3810.0),
        (381, "cm", 3.81),
        (3.81, "m", 3.81),
        (12, "ft", 3.6576),
        (12.0, "ft", 3.6576),
        (12.75, "ft", 3.8862),
        ("12", "ft", 3.6576),
        ("102.5", "in", 2.6035),
        (Decimal("2.6"), "m", 2.6),
    ],
)
def test_a_bare_number_counts_in_the_declared_unit(
    given_: object, declared: str, metres: float
) -> None:
    assert read(given_, units=declared) == metres


@pytest.mark.parametrize(
    ("given_", "decimal", "inches"),
    [
        # 0.6 ft are 7.2 in, 7 3/16 in to the nearest sixteenth
        (12.6, "12 ft 7 3/16 in", "12'-6\""),
        ("12.6", "12 ft 7 3/16 in", "12'-6\""),
        ("12,6", "12 ft 7 3/16 in", "12'-6\""),
        ("12.10", "12 ft 1 3/16 in", "12'-10\""),
        (0.5, "0 ft 6 in", "0'-5\""),
    ],
)
def test_a_bare_decimal_of_feet_is_asked_back_with_both_readings(
    given_: object, decimal: str, inches: str
) -> None:
    with pytest.raises(InputError, match="one reading") as caught:
        read(given_, units="ft", what="width")
    assert decimal in caught.value.allowed
    assert inches in caught.value.allowed
    assert caught.value.what == "width"


@pytest.mark.parametrize(
    ("text", "one", "two"),
    [("1,200", "1200", "1.200"), ("12,345 mm", "12345", "12.345"), ("1.200 mm", "1200", "1.200")],
)
def test_a_lone_sign_with_three_digits_is_asked_back(text: str, one: str, two: str) -> None:
    with pytest.raises(InputError, match="one reading") as caught:
        read(text, units="mm")
    assert f"this is {one} or {two}" in caught.value.allowed


@pytest.mark.parametrize(
    "text",
    ["", "abc", "12 kg", "3 m -2 cm", "--3 m", "1e3 m", "3 m 2 m", "m", "2 cm 1 m", "nan", "inf m"],
)
def test_what_is_no_length_is_refused_with_examples(text: str) -> None:
    with pytest.raises(InputError, match="allowed: a length with its unit") as caught:
        read(text)
    assert "2600 mm" in caught.value.mend


@pytest.mark.parametrize("given", ["9" * 400, "9" * 400 + " m", 10**400, Decimal("1e400"), 1e308])
def test_a_number_that_no_room_has_is_refused(given: object) -> None:
    with pytest.raises(InputError, match=r"at most 200 characters|a finite number"):
        read(given)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(InputError, match="a finite number"):
        read(value)


@pytest.mark.parametrize("value", [True, None, [1], {"a": 1}])
def test_what_is_neither_text_nor_number_is_refused(value: object) -> None:
    with pytest.raises(InputError, match="a length as text with a unit, or a number"):
        read(value)


def test_inches_carry_into_feet() -> None:
    with pytest.raises(InputError, match="less than 1 ft after the ft"):
        read("8' 14\"")


@pytest.mark.parametrize("text", ["6 3/0 in", "6 3/2 in", "6.5 1/2 in"])
def test_a_fraction_is_proper(text: str) -> None:
    with pytest.raises(InputError, match="proper fraction"):
        read(text)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("12,5 m²", "area", 12.5),
        ("100 sq ft", "area", 9.290304),
        ("100 ft²", "area", 9.290304),
        ("10 sq. yd.", "area", 8.3612736),
        ("2.5 L", "volume", 0.0025),
        ("750 ml", "volume", 0.00075),
        ("1 US gallon", "volume", 0.003785411784),
        ("0.3 m³", "volume", 0.3),
        ("42 kg", "mass", 42.0),
        ("100 lb", "mass", 45.359237),
        ("3 lb 4 oz", "mass", 1.4741752025),
        ("45°", "angle", 45.0),
        ("-90", "angle", -90.0),
    ],
)
def test_other_quantities(text: str, kind: str, value: float) -> None:
    assert read(text, kind=kind) == value


def test_a_bare_mass_in_an_imperial_project_is_asked_back() -> None:
    assert read(18, kind="mass", units="cm") == 18
    with pytest.raises(InputError, match="a mass with its unit in a project in ft"):
        read(18, kind="mass", units="ft")
    with pytest.raises(InputError, match="a volume with its unit"):
        read(3, kind="volume")


def test_unknown_words_are_refused() -> None:
    with pytest.raises(InputError, match="kind of quantity"):
        read("1", kind="time")
    with pytest.raises(InputError, match="units = 'yd'; allowed: m, cm, mm, ft, in"):
        read("1", units="yd")
    with pytest.raises(InputError, match="unit of length = 'kg'"):
        units.convert(1, to="kg")


@given(st.integers(-20_000, 20_000))
def test_a_sixteenth_of_an_inch_comes_back_exactly(sixteenths: int) -> None:
    metres = float(Fraction(sixteenths, 16) * Fraction(254, 10_000))
    for characters in (True, False):
        assert read(feet_inches(metres, characters=characters)) == metres
    for declared in ("m", "cm", "mm", "ft", "in"):
        assert read(file_text(metres, units=declared), units=declared) == metres


@given(st.integers(-100_000, 100_000))
def test_a_millimetre_comes_back_exactly(count: int) -> None:
    metres = float(Fraction(count, 1000))
    assert read(millimetres(metres), units="mm") == metres
    assert read(in_sentence(metres)) == metres
    for declared in ("m", "cm", "mm"):
        assert read(file_text(metres, units=declared), units=declared) == metres
    for declared in ("ft", "in"):
        text = file_text(metres, units=declared)
        assert read(text, units=declared) == pytest.approx(metres, abs=1e-7)


@given(st.decimals(-10_000, 10_000, places=4))
def test_any_length_a_file_holds_reads_back(length: Decimal) -> None:
    for declared in ("m", "cm", "mm", "ft", "in"):
        text = file_text(float(length), units=declared)
        assert read(text, units=declared) == pytest.approx(float(length), abs=5e-7)


@pytest.mark.parametrize(
    ("metres", "text"),
    [
        (3.8227, "12'-6½\""),
        (1.2446, "4'-1\""),
        (0.3048, "1'-0\""),
        (0.0127, '½"'),
        (0.31115, "1'-0¼\""),
        (0.3063875, "1'-0 1/16\""),
        (-1.2446, "-4'-1\""),
        (0.0, '0"'),
        (0.30479, "1'-0\""),
    ],
)
def test_feet_and_inches_are_written_as_on_a_drawing(metres: float, text: str) -> None:
    assert feet_inches(metres) == text


def test_lengths_for_sheets_and_sentences() -> None:
    assert on_sheet(1.24) == "1240"
    assert on_sheet(1.24, units="cm") == "1240"
    assert on_sheet(1.2446, units="in") == "4'-1\""
    assert in_sentence(1.24) == f"1{NBSP}240{NBSP}mm"
    assert in_sentence(0.9) == f"900{NBSP}mm"
    assert in_sentence(12.345) == f"12{NBSP}345{NBSP}mm"
    assert in_sentence(1.2446, units="ft") == "4'-1\""
    assert in_sentence(12.5, kind="area") == f"12.5{NBSP}m²"
    assert in_sentence(0.0025, kind="volume") == f"2.5{NBSP}L"
    assert in_sentence(45.359237, kind="mass", units="ft") == f"100.0{NBSP}lb"
    assert in_sentence(90, kind="angle") == "90°"


@pytest.mark.parametrize(
    ("text", "decimal", "number"),
    [
        ("1 200,50", None, "1200.50"),
        ("1,200.50", None, "1200.50"),
        ("1.200,50", None, "1200.50"),
        ("1'200.50", None, "1200.50"),
        ("1,200", ".", "1200"),
        ("1,200", ",", "1.200"),
        ("1.200", ",", "1200"),
        ("1,200,300", None, "1200300"),
        ("0,125", None, "0.125"),
        ("12,5", None, "12.5"),
        ("-3", None, "-3"),
        ("+3", None, "3"),
    ],
)
def test_a_number_in_any_usual_spelling(text: str, decimal: str | None, number: str) -> None:
    assert read_number(text, decimal=decimal) == Decimal(number)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "decimal"),
    [("1,2,3", None), ("12,34.5", None), ("1.234.56", None), ("1,5", "."), ("1.200,50", ".")],
)
def test_a_number_in_wrong_groups_is_refused(text: str, decimal: str | None) -> None:
    with pytest.raises(InputError, match="groups of three"):
        read_number(text, decimal=decimal)  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["", "nan", "inf", "1e3", "-", ".", "abc", "0x1"])
def test_text_is_no_number(text: str) -> None:
    with pytest.raises(InputError, match="allowed: a number"):
        read_number(text)


def finite_or_refused(text: str, declared: str) -> bool:
    """Any other error comes through and fails the test."""
    try:
        return math.isfinite(read(text, units=declared))
    except InputError as error:
        return bool(error.allowed)


@given(st.text(max_size=12))
def test_reading_any_text_gives_a_finite_number_or_the_one_error(text: str) -> None:
    for declared in ("m", "ft"):
        assert finite_or_refused(text, declared)


@given(st.text(alphabet="0123456789 .,'\"/-½mcft", max_size=10))
def test_reading_any_near_length_gives_a_finite_number_or_the_one_error(text: str) -> None:
    for declared in ("mm", "in"):
        assert finite_or_refused(text, declared)
