"""Text into numbers: the only reader of numbers and of quantities with a unit.

What is typed in any usual way, and what office programs make of it, becomes a
number in SI units; what could mean two things is asked back.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from designkit.errors import InputError
from designkit.units.converting import IMPERIAL, KINDS, METRIC, is_finite, size_of, unit_name
from designkit.units.writing import feet_inches

__all__ = ["read", "read_number"]

_LONGEST = 200  # characters; no one writes more, and arithmetic of any length would follow
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
    if kind not in KINDS:
        raise InputError("kind of quantity", given=repr(kind), allowed=", ".join(sorted(KINDS)))
    if units not in (*METRIC, *IMPERIAL):
        raise InputError("units", given=repr(units), allowed=", ".join((*METRIC, *IMPERIAL)))
    if isinstance(given, bool) or not isinstance(given, (str, int, float, Decimal)):
        raise _refused(what, given, kind, f"a {kind} as text with a unit, or a number")
    if isinstance(given, str):
        if len(given) > _LONGEST:
            raise _refused(what, given, kind, f"a {kind} of at most {_LONGEST} characters")
        return float(_read_text(given, kind=kind, units=units, what=what))
    if not is_finite(given):
        raise _refused(what, given, kind, "a finite number")
    exact = Fraction(repr(given)) if isinstance(given, float) else Fraction(given)
    bare = _bare_unit(kind=kind, units=units, what=what, given=given)
    if bare == "ft" and kind == "length":
        _ask_feet(format(Decimal(repr(given)), "f"), what=what)
    return float(exact * size_of(bare, kind=kind))


def _refused(what: str, given: object, kind: str, allowed: str) -> InputError:
    mend = f"write it as {_EXAMPLES[kind]}"
    return InputError(what, given=f"{given!r:.60}", allowed=allowed, mend=mend)


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
    raise _refused(what, given, kind, f"a {kind} with its unit in a project in {units}")


def _ask_feet(text: str, *, what: str) -> None:
    """Ask back a bare decimal of feet whose decimals could be inches."""
    match = re.fullmatch(r"[-+]?(\d+)[.,](\d+)", text.strip())
    if match is None:
        return
    inches = int(match[2])
    if not 1 <= inches <= 11 or len(match[2]) > 2:
        return
    feet = Fraction(f"{match[1]}.{match[2]}")
    decimal = feet_inches(float(feet * size_of("ft")), characters=False)
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
    refused = _refused(what, text, kind, f"a {kind} with its unit")
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
        name = unit_name(word, kind=kind)
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
            bigger = size_of(last, kind=kind)
            if (kind != "length" and kind != "mass") or size_of(name, kind=kind) >= bigger:
                raise refused
            if value * size_of(name, kind=kind) >= bigger:
                raise InputError(
                    what,
                    given=repr(text),
                    allowed=f"less than 1 {last} after the {last}",
                    mend=f"write the whole in {name}, or carry into the {last}",
                )
        total += value * size_of(name, kind=kind)
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
