"""The only converter of units.

Everything inside designkit is SI (metres, square metres, cubic metres,
kilograms, degrees). Text comes in through `designkit.units.reading` and goes
out through `designkit.units.writing`. The arithmetic is exact (fractions),
so that a sixteenth of an inch and a millimetre come back as they went in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from designkit.errors import InputError

__all__ = [
    "IMPERIAL",
    "KINDS",
    "METRIC",
    "Unit",
    "convert",
    "finite",
    "is_finite",
    "size_of",
    "unit_name",
]

METRIC = ("m", "cm", "mm")
IMPERIAL = ("ft", "in")


@dataclass(frozen=True)
class Unit:
    """Marks a number in `model` with the kind of quantity it holds.

    Parameters
    ----------
    kind : str
        "length" [m], "area" [m²], "volume" [m³], "mass" [kg], "angle" [°].
    """

    kind: str


_LARGEST = 1e300  # leaves room for every unit
# Exact by definition: the international inch and pound of 1959 (NIST SP 811,
# B.8), and the US gallon of 231 cubic inches.
_INCH = Fraction(254, 10_000)
_FOOT = 12 * _INCH
_YARD = 3 * _FOOT
_MM = Fraction(1, 1000)
_CM = Fraction(1, 100)
_ONE = Fraction(1)
_POUND = Fraction(45_359_237, 100_000_000)
_GALLON = 231 * _INCH**3

_SCALES: dict[str, dict[str, Fraction]] = {
    "length": {"m": _ONE, "cm": _CM, "mm": _MM, "ft": _FOOT, "in": _INCH, "yd": _YARD},
    "area": {
        "m²": _ONE,
        "cm²": _CM**2,
        "mm²": _MM**2,
        "ft²": _FOOT**2,
        "in²": _INCH**2,
        "yd²": _YARD**2,
    },
    "volume": {
        "m³": _ONE,
        "L": _MM,
        "ml": _CM**3,
        "ft³": _FOOT**3,
        "in³": _INCH**3,
        "gal": _GALLON,
        "qt": _GALLON / 4,
    },
    "mass": {"kg": _ONE, "g": _MM, "lb": _POUND, "oz": _POUND / 16},
    "angle": {"°": _ONE},
}
KINDS = tuple(_SCALES)

_WORDS: dict[str, dict[str, str]] = {
    "length": {
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
        **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
        **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
        **dict.fromkeys(("ft", "ft.", "foot", "feet", "'"), "ft"),
        **dict.fromkeys(("in", "in.", "inch", "inches", '"'), "in"),
        **dict.fromkeys(("yd", "yd.", "yds", "yard", "yards"), "yd"),
    },
    "area": {
        **dict.fromkeys(("m2", "sq m", "sqm", "square metres", "square meters"), "m²"),
        **dict.fromkeys(("cm2", "sq cm"), "cm²"),
        **dict.fromkeys(("mm2", "sq mm"), "mm²"),
        **dict.fromkeys(("ft2", "sq ft", "sqft", "sf", "sq. ft.", "square feet"), "ft²"),
        **dict.fromkeys(("in2", "sq in", "sqin", "sq. in.", "square inches"), "in²"),
        **dict.fromkeys(("yd2", "sq yd", "sqyd", "sq. yd.", "square yards"), "yd²"),
    },
    "volume": {
        **dict.fromkeys(("m3", "cu m", "cubic metres", "cubic meters"), "m³"),
        **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), "L"),
        **dict.fromkeys(("ml", "millilitre", "millilitres", "cm3", "cc"), "ml"),
        **dict.fromkeys(("ft3", "cu ft", "cubic feet"), "ft³"),
        **dict.fromkeys(("in3", "cu in", "cubic inches"), "in³"),
        **dict.fromkeys(("gal", "gal.", "gallon", "gallons", "us gal"), "gal"),
        **dict.fromkeys(("us gallon", "us gallons"), "gal"),
        **dict.fromkeys(("qt", "quart", "quarts"), "qt"),
    },
    "mass": {
        **dict.fromkeys(("kg", "kilogram", "kilograms"), "kg"),
        **dict.fromkeys(("g", "gram", "grams"), "g"),
        **dict.fromkeys(("lb", "lb.", "lbs", "pound", "pounds"), "lb"),
        **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
    },
    "angle": dict.fromkeys(("°", "deg", "degree", "degrees"), "°"),
}


def unit_name(word: str, *, kind: str) -> str:
    """The one name of a unit that is written in many ways.

    Parameters
    ----------
    word : str
        As it is written.
    kind : str
        One of `KINDS`.

    Returns
    -------
    str
        Its name here; "" for no unit of this kind.

    Examples
    --------
    >>> unit_name("sq. ft.", kind="area")
    'ft²'
    """
    if word in _SCALES[kind]:
        return word
    plain = " ".join(word.lower().split())
    return _WORDS[kind].get(plain, _WORDS[kind].get(plain.rstrip("."), ""))


def convert(value: float, *, kind: str = "length", to: str) -> float:
    """Convert an SI value to another unit of the same kind.

    Parameters
    ----------
    value : float
        In m, m², m³, kg or °.
    kind : str, optional
        "length", "area", "volume", "mass" or "angle".
    to : str
        For example "ft", "yd²", "L", "lb".

    Returns
    -------
    float
        In the unit `to`.

    Raises
    ------
    InputError
        There is no such unit, or the value is not finite.

    Examples
    --------
    >>> convert(2.54, to="in")
    100.0
    """
    finite(value, what=kind)
    return float(Fraction(repr(float(value))) / size_of(to, kind=kind))


def size_of(unit: str, *, kind: str = "length") -> Fraction:
    """The exact size of a unit.

    Parameters
    ----------
    unit : str
        For example "ft", "yd²", "L", "lb".
    kind : str, optional
        "length", "area", "volume", "mass" or "angle".

    Returns
    -------
    Fraction
        In m, m², m³, kg or °.

    Raises
    ------
    InputError
        There is no such unit.

    Examples
    --------
    >>> size_of("in")
    Fraction(127, 5000)
    """
    scale = _SCALES.get(kind, {}).get(unit_name(unit, kind=kind) if kind in _SCALES else "")
    if scale is None:
        allowed = ", ".join(_SCALES.get(kind, _SCALES))
        raise InputError(f"unit of {kind}", given=repr(unit), allowed=allowed)
    return scale


def is_finite(value: float | Decimal) -> bool:
    """Whether a number is one, and small enough for every unit.

    Parameters
    ----------
    value : float or Decimal
        The number.

    Returns
    -------
    bool
        False for NaN, the infinities and what no unit can hold.
    """
    if isinstance(value, int):  # no float can hold some of these
        return abs(value) <= _LARGEST
    return math.isfinite(value) and abs(float(value)) <= _LARGEST


def finite(value: float, *, what: str) -> None:
    """Refuse a number that is none, or too large for any unit.

    Parameters
    ----------
    value : float
        The number.
    what : str
        What it is, for the error.

    Raises
    ------
    InputError
        It is not finite.
    """
    if not is_finite(value):
        raise InputError(what, given=value, allowed="a finite number")
