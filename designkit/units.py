"""The only converter between text and numbers with a unit.

Everything inside designkit is SI (metres, square metres, cubic metres,
kilograms, degrees). Text comes in through `read` and goes out through
`on_sheet`, `in_sentence` and `file_text`. The arithmetic is exact (fractions),
so that a sixteenth of an inch and a millimetre come back as they went in.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from designkit.errors import InputError

__all__ = [
    "IMPERIAL",
    "METRIC",
    "NBSP",
    "Unit",
    "convert",
    "feet_inches",
    "file_text",
    "grouped",
    "in_sentence",
    "millimetres",
    "on_sheet",
    "read",
    "read_number",
]

NBSP = "\u00a0"
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

_EXAMPLES = {
    "length": "2.6 m, 260 cm, 2600 mm, 8' 6 1/2\", 102.5 in",
    "area": "12.5 m², 134 sq ft, 15 sq yd",
    "volume": "2.5 L, 750 ml, 1 gal, 0.3 m³",
    "mass": "42 kg, 90 lb",
    "angle": "90, 45°",
}

# What people and office programs write for feet, inches, minus, powers, a space
# that does not break, and ½ and its kin (each a number of its own).
_SAME = str.maketrans(
    {
        **dict(zip("′’‘ʹ´″”“ʺ⁄−–²³\u00a0\u202f\u2009", "'''''\"\"\"\"/--23   ", strict=True)),
        **{
            sign: f" {unicodedata.normalize('NFKC', sign)} ".replace("⁄", "/")
            for sign in "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
        },
    }
)

_PLAIN = r"\d[\d.,]*(?:\ \d{3}(?![\d/])[\d.,]*)*|[.,]\d+"
_TERM = re.compile(
    rf"""\s*
    (?: (?P<whole>{_PLAIN})\s*[\s-]\s*(?P<top>\d+)\s*/\s*(?P<under>\d+)
      | (?P<top1>\d+)\s*/\s*(?P<under1>\d+)
      | (?P<number>{_PLAIN}) )
    \s*(?P<unit>['"°]|[A-Za-z]+\.?(?:\ [A-Za-z]+\.?)*(?:[23](?![\w.'"/]))?|)""",
    re.VERBOSE,
)


def read_number(
    text: str, *, decimal: Literal[".", ","] | None = None, what: str = "number"
) -> Decimal:
    """Read a number as people write it, exactly.

    Groups of three may stand apart by a space, an apostrophe, or whichever of
    point and comma is not the decimal sign.

    Parameters
    ----------
    text : str
        For example "1 200,50", "1,200.50" or "-3".
    decimal : {".", ","}, optional
        The decimal sign, where it is known.
    what : str, optional
        What the number is, for the message.

    Returns
    -------
    Decimal
        The number.

    Raises
    ------
    InputError
        The text is no number, or can be read in two ways ("1,200").

    Examples
    --------
    >>> read_number("1 200,50")
    Decimal('1200.50')
    >>> read_number("1,200", decimal=".")
    Decimal('1200')
    """
    clean = text.translate(_SAME).strip()
    sign = ""
    if clean[:1] in ("-", "+"):
        sign, clean = clean[0].replace("+", ""), clean[1:].strip()
    if not re.fullmatch(r"[\d.,' ]*\d[\d.,' ]*", clean):
        raise InputError(what, given=repr(text), allowed="a number", mend="write it in digits")
    bad = InputError(
        what,
        given=repr(text),
        allowed="digits with one decimal sign, in groups of three if in groups",
        mend="write it without groups, as 1200.50",
    )
    points, commas = clean.count("."), clean.count(",")
    mark: str = ""
    if points and commas:
        mark = max(".", ",", key=clean.rindex)
        if decimal is not None and mark != decimal:
            raise bad
    elif points + commas > 1:
        if decimal is not None and decimal in clean:
            raise bad
    elif points + commas == 1:
        only = "." if points else ","
        before, after = clean.split(only)
        could_group = bool(re.fullmatch(r"[1-9]\d{0,2}", before)) and len(after) == 3
        if decimal is None:
            if could_group:
                raise InputError(
                    what,
                    given=repr(text),
                    allowed=f"a number with one reading; this is {before}{after} "
                    f"or {before}.{after}",
                    mend=f"write {before}{after} or {before}.{after.rstrip('0') or '0'}",
                )
            mark = only
        elif only == decimal:
            mark = only
        elif not could_group:
            raise bad
    whole, _, part = clean.rpartition(mark) if mark else (clean, "", "")
    groups = re.split(r"[.,' ]", whole)
    if len(groups) > 1:
        marks = set(re.findall(r"[.,' ]", whole))
        if len(marks) > 1 or not 1 <= len(groups[0]) <= 3 or any(len(g) != 3 for g in groups[1:]):
            raise bad
    if part and not part.isdigit():
        raise bad
    return Decimal(
        f"{sign}{''.join(groups) or '0'}.{part or '0'}" if mark else sign + "".join(groups)
    )


def read(given: object, *, kind: str = "length", units: str = "m", what: str = "") -> float:
    """Read a quantity as text with its unit, or as a bare number.

    A bare length counts in the project's declared unit; a bare area in its
    square where that is m or ft; a bare mass in kilograms in a metric project.
    What can be read in two ways is asked back with both readings.

    Parameters
    ----------
    given : str, int or float
        For example "2.6 m", "12'-6 1/2\\"", "3 810", 12.
    kind : str, optional
        "length", "area", "volume", "mass" or "angle".
    units : str, optional
        The declared unit of length: m, cm, mm, ft or in.
    what : str, optional
        What the quantity is, for the message.

    Returns
    -------
    float
        In m, m², m³, kg or °.

    Raises
    ------
    InputError
        It is no quantity of that kind, not finite, or has two readings.

    Examples
    --------
    >>> read("8' 6 1/2\\"")
    2.6035
    >>> read("3 810", units="mm")
    3.81
    >>> read("2 sq yd", kind="area")
    1.67225472
    """
    what = what or kind
    if kind not in _SCALES:
        raise InputError("kind of quantity", given=repr(kind), allowed=", ".join(sorted(_SCALES)))
    if units not in (*METRIC, *IMPERIAL):
        raise InputError("units", given=repr(units), allowed=", ".join((*METRIC, *IMPERIAL)))
    if isinstance(given, bool) or not isinstance(given, (str, int, float, Decimal)):
        raise InputError(
            what,
            given=repr(given),
            allowed=f"a {kind} as text with a unit, or a number",
            mend=f"write it as {_EXAMPLES[kind]}",
        )
    if isinstance(given, str):
        return float(_read_text(given, kind=kind, units=units, what=what))
    if not math.isfinite(given):
        raise InputError(
            what, given=given, allowed="a finite number", mend=f"write it as {_EXAMPLES[kind]}"
        )
    exact = Fraction(repr(given)) if isinstance(given, float) else Fraction(given)
    bare = _bare_unit(kind=kind, units=units, what=what, given=given)
    if bare == "ft" and kind == "length":
        _ask_feet(format(Decimal(repr(given)), "f"), what=what)
    return float(exact * _SCALES[kind][bare])


def _bare_unit(*, kind: str, units: str, what: str, given: object) -> str:
    """The unit that a bare number of this kind has in a project with these units."""
    if kind == "length":
        return units
    if kind == "angle":
        return "°"
    if kind == "area" and units in ("m", "ft"):
        return units + "²"
    if kind == "mass" and units in METRIC:
        return "kg"
    raise InputError(
        what,
        given=repr(given),
        allowed=f"a {kind} with its unit in a project in {units}",
        mend=f"write it as {_EXAMPLES[kind]}",
    )


def _ask_feet(text: str, *, what: str) -> None:
    """Ask back a bare decimal of feet whose decimals could be inches."""
    match = re.fullmatch(r"[-+]?(\d+)[.,](\d+)", text.strip())
    if match is None:
        return
    inches = int(match[2])
    if not 1 <= inches <= 11 or len(match[2]) > 2:
        return
    feet = Fraction(f"{match[1]}.{match[2]}")
    decimal = feet_inches(float(feet * _FOOT), characters=False)
    long = decimal.replace("'-", " ft ").replace('"', " in")
    if "'" not in decimal:
        long = f"0 ft {long}"
    raise InputError(
        what,
        given=text,
        allowed=f"a length with one reading; this is {long} or {match[1]}'-{inches}\"",
        mend=f'write "{match[1]}.{match[2]} ft" or "{match[1]}\'-{inches}\\""',
    )


def _read_text(text: str, *, kind: str, units: str, what: str) -> Fraction:
    """The exact SI value of a text."""
    refused = InputError(
        what,
        given=repr(text),
        allowed=f"a {kind} with its unit",
        mend=f"write it as {_EXAMPLES[kind]}",
    )
    clean = text.translate(_SAME).replace("''", '"').strip()
    negative = clean.startswith("-")
    clean = clean.removeprefix("-").removeprefix("+").strip()
    total = Fraction(0)
    last = ""
    place = 0
    while place < len(clean):
        match = _TERM.match(clean, place)
        if match is None or match.end() == place:
            raise refused
        word = match["unit"].strip()
        name = _unit_name(word, kind=kind)
        if word and not name:
            raise refused
        if not name:
            if last == "ft":
                name = "in"  # 12'-6: the mark of the inches is often left out
            elif last:
                raise refused
            else:
                name = _bare_unit(kind=kind, units=units, what=what, given=text)
                if name == "ft" and match["number"]:
                    _ask_feet(match["number"], what=what)
        value = _term_value(match, unit=name, what=what, text=text)
        if last:
            bigger = _SCALES[kind][last]
            if (kind != "length" and kind != "mass") or _SCALES[kind][name] >= bigger:
                raise refused
            if value * _SCALES[kind][name] >= bigger:
                raise InputError(
                    what,
                    given=repr(text),
                    allowed=f"less than 1 {last} after the {last}",
                    mend=f"write the whole in {name}, or carry into the {last}",
                )
        total += value * _SCALES[kind][name]
        last = name
        place = match.end()
        # the hyphen of 12'-6" joins; it is no sign
        joint = re.compile(r"\s*-?\s*").match(clean, place)
        if joint is not None and joint.end() < len(clean) and (last == "ft" or "-" not in joint[0]):
            place = joint.end()
        elif clean[place:].strip():
            raise refused
        else:
            break
    if not last:
        raise refused
    return -total if negative else total


def _unit_name(word: str, *, kind: str) -> str:
    if word in _SCALES[kind]:
        return word
    plain = " ".join(word.lower().split())
    return _WORDS[kind].get(plain, _WORDS[kind].get(plain.rstrip("."), ""))


def _term_value(match: re.Match[str], *, unit: str, what: str, text: str) -> Fraction:
    """The number of one term: "6", "6 1/2", "1/2", "6.5", "3 810"."""
    # Thousandths of a metre or an inch are written every day (1.240 m,
    # 1.375 in); thousandths of a millimetre never, so a lone point with three
    # digits is asked back there.
    number = match["number"] or match["whole"]
    if number is None:
        value = Fraction(0)
    else:
        lone_point = number.count(".") == 1 and "," not in number
        sign: Literal["."] | None = "." if lone_point and unit not in ("mm", "ml", "g") else None
        value = Fraction(read_number(number.rstrip(), decimal=sign, what=what))
    top, under = match["top"] or match["top1"], match["under"] or match["under1"]
    if top is not None:
        if int(under) == 0 or int(top) >= int(under) or value.denominator != 1:
            raise InputError(
                what,
                given=repr(text),
                allowed="a whole number and a proper fraction, as 6 1/2",
                mend="write the fraction as 1/2, 3/16 …",
            )
        value += Fraction(int(top), int(under))
    return value


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
    _finite(value, what=kind)
    scale = _SCALES.get(kind, {}).get(_unit_name(to, kind=kind) if kind in _SCALES else "")
    if scale is None:
        allowed = ", ".join(_SCALES.get(kind, _SCALES))
        raise InputError(f"unit of {kind}", given=repr(to), allowed=allowed)
    return float(Fraction(repr(float(value))) / scale)


def _finite(value: float, *, what: str) -> None:
    if not math.isfinite(value):
        raise InputError(what, given=value, allowed="a finite number")


def _round(value: Fraction) -> int:
    """Nearest whole number; halves away from zero, as on a drawing."""
    size = math.floor(abs(value) + Fraction(1, 2))
    return size if value >= 0 else -size


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
    _finite(length, what="length")
    if denominator not in (1, 2, 4, 8, 16, 32, 64):
        raise InputError("denominator", given=denominator, allowed="1, 2, 4, 8, 16, 32, 64")
    parts = _round(Fraction(repr(float(length))) / _INCH * denominator)
    sign = "-" if parts < 0 else ""
    inches, rest = divmod(abs(parts), denominator)
    feet, inches = divmod(inches, 12)
    text = str(inches)
    if rest:
        fraction = Fraction(rest, denominator)
        written = f"{fraction.numerator}/{fraction.denominator}"
        one = {"1/2": "½", "1/4": "¼", "3/4": "¾"}.get(written) if characters else None
        if one is not None:
            text = one if not inches else text + one
        else:
            text = written if not inches else f"{text} {written}"
        if feet and not inches:
            text = "0" + text if one is not None else f"0 {text}"
    return f"{sign}{feet}'-{text}\"" if feet else f'{sign}{text}"'


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
    _finite(float(number), what="number")
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
    _finite(length, what="length")
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
    _finite(value, what=kind)
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
        raise InputError("kind of quantity", given=repr(kind), allowed=", ".join(sorted(_SCALES)))
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
    _finite(value, what=kind)
    exact = Fraction(repr(float(value)))
    if kind == "length" and units in IMPERIAL:
        sixteenths = _round(exact / _INCH * 16)
        if abs(Fraction(sixteenths, 16) * _INCH - exact) < Fraction(1, 10**6):
            return feet_inches(value, characters=False)
    unit = {
        "length": units,
        "area": "sq ft" if units in IMPERIAL else "m²",
        "volume": "gal" if units in IMPERIAL else "L",
        "mass": "lb" if units in IMPERIAL else "kg",
        "angle": "°",
    }.get(kind)
    if unit is None:
        raise InputError("kind of quantity", given=repr(kind), allowed=", ".join(sorted(_SCALES)))
    scale = _SCALES[kind][_unit_name(unit, kind=kind)]
    digits = {"m": 7, "cm": 5, "mm": 4, "ft": 7, "in": 6}[units] if kind == "length" else 6
    number = Decimal(_round(exact / scale * 10**digits)).scaleb(-digits)
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    # "1.240" would be fine, but a lone point and three digits is asked back in mm
    if unit in ("mm",) and re.fullmatch(r"-?[1-9]\d{0,2}\.\d{3}", text):
        text += "0"
    return f"{text} {unit}" if kind != "angle" else text
