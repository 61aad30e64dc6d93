"""Quantities as text: on a sheet, in a sentence, in a project's file.

The numbers are SI, as `designkit.units.reading` reads them. What is written as a
file's text reads back as it was: a sixteenth of an inch and a millimetre
exactly.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction

from designkit.errors import InputError
from designkit.units.converting import IMPERIAL, convert, finite, size_of

__all__ = [
    "NBSP",
    "feet_inches",
    "file_text",
    "grouped",
    "in_sentence",
    "inches",
    "millimetres",
    "on_sheet",
    "short_length",
]

NBSP = "\u00a0"
_INCH = size_of("in")


def feet_inches(length: float, *, denominator: int = 16, characters: bool = True) -> str:
    """Write a length in feet and inches.

    Parameters
    ----------
    length : float
        The length. [m]
    denominator : int, optional
        Smallest part of an inch: 1, 2, 4, 8, 16, 32 or 64.
    characters : bool, optional
        Whether ½, ¼ and ¾ are one character; other fractions never are.

    Returns
    -------
    str
        For example ``12'-6½"``; below one foot only the inches.

    Raises
    ------
    InputError
        The length is not finite, or the denominator is not one of these.

    Examples
    --------
    >>> feet_inches(3.8227)
    '12\\'-6½"'
    >>> feet_inches(3.8227, characters=False)
    '12\\'-6 1/2"'
    """
    parts = _parts_of_inch(length, denominator)
    sign = "-" if parts < 0 else ""
    feet, parts = divmod(abs(parts), 12 * denominator)
    text = _mixed(parts, denominator, characters=characters)
    if feet and 0 < parts < denominator:
        text = f"0{text}" if text in "½¼¾" else f"0 {text}"
    return f"{sign}{feet}'-{text}\"" if feet else f'{sign}{text}"'


def inches(length: float, *, denominator: int = 16, characters: bool = True) -> str:
    """Write a length in inches and their fractions, as a workroom orders cloth and glass.

    Parameters
    ----------
    length : float
        The length. [m]
    denominator : int, optional
        Smallest part of an inch: 1, 2, 4, 8, 16, 32 or 64.
    characters : bool, optional
        Whether ½, ¼ and ¾ are one character; other fractions never are.

    Returns
    -------
    str
        The number alone, for example ``103½``.

    Raises
    ------
    InputError
        The length is not finite, or the denominator is not one of these.

    Examples
    --------
    >>> inches(2.6289), inches(1.4), inches(1.4, denominator=8)
    ('103½', '55 1/8', '55 1/8')
    """
    parts = _parts_of_inch(length, denominator)
    sign = "-" if parts < 0 else ""
    return sign + _mixed(abs(parts), denominator, characters=characters)


def _parts_of_inch(length: float, denominator: int) -> int:
    finite(length, what="length")
    if denominator not in (1, 2, 4, 8, 16, 32, 64):
        raise InputError("denominator", given=denominator, allowed="1, 2, 4, 8, 16, 32, 64")
    return _round(Fraction(repr(float(length))) / _INCH * denominator)


def _mixed(parts: int, denominator: int, *, characters: bool) -> str:
    """Whole inches and a fraction, from a count of parts of an inch."""
    whole, rest = divmod(parts, denominator)
    if not rest:
        return str(whole)
    fraction = Fraction(rest, denominator)
    written = f"{fraction.numerator}/{fraction.denominator}"
    one = {"1/2": "½", "1/4": "¼", "3/4": "¾"}.get(written) if characters else None
    if not whole:
        return one or written
    return f"{whole}{one}" if one else f"{whole} {written}"


def grouped(number: float | Decimal, *, places: int = 0) -> str:
    """Write a number with its thousands apart by no-break spaces.

    Parameters
    ----------
    number : float or Decimal
        The number.
    places : int, optional
        Digits after the point.

    Returns
    -------
    str
        Four digits and more are grouped.

    Raises
    ------
    InputError
        The number is not finite.

    Examples
    --------
    >>> grouped(1240).replace(NBSP, "_")
    '1_240'
    """
    finite(float(number), what="number")
    return f"{Decimal(str(number)):,.{places}f}".replace(",", NBSP)


def millimetres(length: float) -> str:
    """Write a length in whole millimetres without a unit, as on a plan.

    Parameters
    ----------
    length : float
        The length. [m]

    Returns
    -------
    str
        Digits only.

    Raises
    ------
    InputError
        The length is not finite.

    Examples
    --------
    >>> millimetres(1.24)
    '1240'
    """
    finite(length, what="length")
    return str(_round(Fraction(repr(float(length))) * 1000))


def on_sheet(length: float, *, units: str = "m") -> str:
    """Write a length as a dimension on a drawing.

    Parameters
    ----------
    length : float
        The length. [m]
    units : str, optional
        The project's unit; ft and in give feet and inches, others millimetres.

    Returns
    -------
    str
        For example ``1240`` or ``4'-1"``.

    Raises
    ------
    InputError
        The length is not finite.

    Examples
    --------
    >>> on_sheet(1.24), on_sheet(1.2446, units="ft")
    ('1240', '4\\'-1"')
    """
    return feet_inches(length) if units in IMPERIAL else millimetres(length)


def short_length(length: float, *, units: str = "m") -> str:
    """Write a height or the size of an area, to the centimetre or the half inch.

    Parameters
    ----------
    length : float
        The length. [m]
    units : str, optional
        The project's unit of length.

    Returns
    -------
    str
        For example ``0.60 m`` with a no-break space, or ``1'-11½"``.

    Raises
    ------
    InputError
        The length is not finite.

    Examples
    --------
    >>> short_length(0.6).replace(NBSP, "_"), short_length(0.6, units="ft")
    ('0.60_m', '1\\'-11½"')
    """
    finite(length, what="length")
    if units in IMPERIAL:
        return feet_inches(length, denominator=2)
    return f"{length:.2f}{NBSP}m"


def in_sentence(
    value: float, *, kind: str = "length", units: str = "m", places: int | None = None
) -> str:
    """Write a quantity for a sentence, number and unit kept together.

    Parameters
    ----------
    value : float
        In m, m², m³, kg or °.
    kind : str, optional
        "length", "area", "volume", "mass" or "angle".
    units : str, optional
        The project's unit of length, which tells metric from imperial.
    places : int, optional
        Digits after the point; none for a length and an angle, else one.

    Returns
    -------
    str
        For example ``1 240 mm`` with no-break spaces, or ``4'-1"``.

    Raises
    ------
    InputError
        The value is not finite, or the kind is unknown.

    Examples
    --------
    >>> in_sentence(1.24).replace(NBSP, "_")
    '1_240_mm'
    >>> in_sentence(12.5, kind="area", units="ft").replace(NBSP, "_")
    '134.5_sq_ft'
    """
    finite(value, what=kind)
    if value < 0:
        # A sentence has the true minus sign; a hyphen breaks the line.
        text = in_sentence(-value, kind=kind, units=units, places=places)
        return f"−{text}" if any(c in "123456789½¼¾" for c in text) else text
    imperial = units in IMPERIAL
    if kind == "length":
        if imperial:
            return feet_inches(value)
        exact = Fraction(repr(float(value))) * 1000
        number = Decimal(_round(exact)) if places is None else Decimal(repr(float(exact)))
        return f"{grouped(number, places=places or 0)}{NBSP}mm"
    if kind == "angle":
        return f"{grouped(value, places=places or 0)}°"
    shown = {
        "area": ("ft²", f"sq{NBSP}ft") if imperial else ("m²", "m²"),
        "volume": ("gal", "gal") if imperial else ("L", "L"),
        "mass": ("lb", "lb") if imperial else ("kg", "kg"),
    }
    if kind not in shown:
        raise InputError("kind of quantity", given=repr(kind), allowed=", ".join(sorted(shown)))
    unit, word = shown[kind]
    number_text = grouped(
        convert(value, kind=kind, to=unit), places=1 if places is None else places
    )
    return f"{number_text}{NBSP}{word}"


def file_text(value: float, *, kind: str = "length", units: str = "m") -> str:
    """Write a quantity as a project file holds it, so that it reads back.

    Parameters
    ----------
    value : float
        In m, m², m³, kg or °.
    kind : str, optional
        "length", "area", "volume", "mass" or "angle".
    units : str, optional
        The project's unit of length.

    Returns
    -------
    str
        A length to a ten-thousandth of a millimetre, or in feet and inches
        where it lies on a sixteenth of an inch.

    Raises
    ------
    InputError
        The value is not finite, or the kind is unknown.

    Examples
    --------
    >>> file_text(1.24), file_text(1.24, units="mm"), file_text(3.8227, units="ft")
    ('1.24 m', '1240 mm', '12\\'-6 1/2"')
    """
    finite(value, what=kind)
    exact = Fraction(repr(float(value)))
    if kind == "length" and units in IMPERIAL:
        sixteenths = _round(exact / _INCH * 16)
        if abs(Fraction(sixteenths, 16) * _INCH - exact) < Fraction(1, 10**6):
            return feet_inches(value, characters=False)
    kinds = {
        "length": units,
        "area": "sq ft" if units in IMPERIAL else "m²",
        "volume": "gal" if units in IMPERIAL else "L",
        "mass": "lb" if units in IMPERIAL else "kg",
        "angle": "°",
    }
    if kind not in kinds:
        raise InputError("kind of quantity", given=repr(kind), allowed=", ".join(sorted(kinds)))
    unit = kinds[kind]
    scale = size_of(unit, kind=kind)
    digits = {"m": 7, "cm": 5, "mm": 4, "ft": 7, "in": 6}[units] if kind == "length" else 6
    number = Decimal(_round(exact / scale * 10**digits)).scaleb(-digits)
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    # "1.240" would be fine, but a lone point and three digits is asked back in mm
    if unit in ("mm",) and re.fullmatch(r"-?[1-9]\d{0,2}\.\d{3}", text):
        text += "0"
    return f"{text} {unit}" if kind != "angle" else text


def _round(value: Fraction) -> int:
    """Nearest whole number; halves away from zero, as on a drawing."""
    size = math.floor(abs(value) + Fraction(1, 2))
    return size if value >= 0 else -size
