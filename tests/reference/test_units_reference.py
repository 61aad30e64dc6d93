"""Units beside published factors and an independent library."""

from __future__ import annotations

import pint
import pytest

from designkit import units
from designkit.project import currencies
from designkit.units import read


@pytest.mark.reference("U01", of="units")
@pytest.mark.parametrize(
    ("text", "kind", "printed"),
    [
        ("1 in", "length", "2.54E-02"),
        ("1 ft", "length", "3.048E-01"),
        ("1 yd", "length", "9.144E-01"),
        ("1 sq in", "area", "6.4516E-04"),
        ("1 sq ft", "area", "9.290304E-02"),
        ("1 sq yd", "area", "8.361274E-01"),
        ("1 cu in", "volume", "1.638706E-05"),
        ("1 cu ft", "volume", "2.831685E-02"),
        ("1 gal", "volume", "3.785412E-03"),
        ("1 qt", "volume", "9.463529E-04"),
        ("1 lb", "mass", "4.535924E-01"),
        ("1 oz", "mass", "2.834952E-02"),
    ],
)
def test_factors_of_the_national_table(text: str, kind: str, printed: str) -> None:
    """NIST Special Publication 811 (2008), appendix B.8, factors as printed there.

    The printed figures are from memory. Half the last printed digit is allowed.
    """
    mantissa, power = printed.split("E")
    half = 0.5 * 10.0 ** (int(power) - len(mantissa.partition(".")[2]))
    assert read(text, kind=kind) == pytest.approx(float(printed), abs=half)


@pytest.mark.reference("A17", of="plan")
@pytest.mark.parametrize(
    ("inches", "millimetres"), [(60, 1524.0), (36, 914.4), (32, 812.8), (48, 1219.2)]
)
def test_inches_are_exact_where_a_standard_prints_rounded_millimetres(
    inches: int, millimetres: float
) -> None:
    """2010 ADA Standards print 1525, 915, 815 and 1220 mm for these; exact values beside."""
    assert read(f'{inches}"') * 1000 == pytest.approx(millimetres, abs=1e-9)


@pytest.mark.reference("U02", of="units")
@pytest.mark.parametrize(
    ("ours", "kind", "theirs"),
    [
        ("8' 6 1/2\"", "length", "8 foot + 6.5 inch"),
        ("12'-6 3/16\"", "length", "12 foot + 6.1875 inch"),
        ("102.5 in", "length", "102.5 inch"),
        ("17 yd", "length", "17 yard"),
        ("2 600 mm", "length", "2600 millimeter"),
        ("260,5 cm", "length", "260.5 centimeter"),
        ("134.5 sq ft", "area", "134.5 foot**2"),
        ("14 yd²", "area", "14 yard**2"),
        ("950 cm²", "area", "950 centimeter**2"),
        ("2.5 gallons", "volume", "2.5 gallon"),
        ("3 quarts", "volume", "3 quart"),
        ("750 ml", "volume", "750 milliliter"),
        ("12 cu ft", "volume", "12 foot**3"),
        ("90 lb", "mass", "90 pound"),
        ("3 lb 4 oz", "mass", "3 pound + 4 ounce"),
    ],
)
def test_every_unit_beside_an_independent_library(ours: str, kind: str, theirs: str) -> None:
    """Pint, whose definitions are its own; our code does not call it."""
    registry = pint.UnitRegistry()
    base = {"length": "meter", "area": "meter**2", "volume": "meter**3", "mass": "kilogram"}[kind]
    wanted = sum(
        (registry(part).to(base) for part in theirs.split(" + ")[1:]),
        start=registry(theirs.split(" + ")[0]).to(base),
    ).magnitude
    assert read(ours, kind=kind) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.reference("U02", of="units")
@pytest.mark.parametrize(
    ("kind", "unit", "theirs"),
    [
        ("length", "ft", "foot"),
        ("length", "yd", "yard"),
        ("area", "ft²", "foot**2"),
        ("volume", "gal", "gallon"),
        ("volume", "L", "liter"),
        ("mass", "lb", "pound"),
    ],
)
def test_converting_out_beside_an_independent_library(kind: str, unit: str, theirs: str) -> None:
    """Pint, as above, in the other direction."""
    registry = pint.UnitRegistry()
    base = {"length": "meter", "area": "meter**2", "volume": "meter**3", "mass": "kilogram"}[kind]
    wanted = registry.Quantity(3.7, base).to(theirs).magnitude
    assert units.convert(3.7, kind=kind, to=unit) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.reference("E13", of="costs")
def test_minor_units_of_currencies() -> None:
    """ISO 4217, list one as published on 2026-01-01: digits of the minor unit."""
    printed = {
        **dict.fromkeys(("USD", "EUR", "GBP", "CHF", "HUF"), 2),
        **dict.fromkeys(("JPY", "ISK"), 0),
        **dict.fromkeys(("KWD", "TND"), 3),
        "CLF": 4,
    }
    ours = currencies()
    assert {code: ours[code] for code in printed} == printed
