"""What every take-off gives back, and the few helpers that all of them share."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from designkit.errors import InputError
from designkit.units import convert, inches, read

__all__ = [
    "FOOT",
    "GALLON",
    "INCH",
    "YARD",
    "Share",
    "System",
    "TakeoffLine",
    "TakeoffResult",
    "area_text",
    "attempted",
    "cable_text",
    "length_text",
    "mass_text",
    "positive",
    "run_text",
    "share_of",
    "system_of",
    "volume_text",
    "whole",
]

System = Literal["metric", "US"]

# Metres and litres in one unit of the trade, from the one converter.
INCH = read("1 in")
FOOT = read("1 ft")
YARD = read("1 yd")
GALLON = 1000 * read("1 gal", kind="volume")

# A quotient that misses a whole number by less than this is that whole number:
# 2.54 / 0.635 is 4 cuts, not 5.
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class Share:
    """A part of a line's net need: where it is and how much."""

    room: str
    where: str  # "wall 2", "ceiling", "floor" …
    net: float
    unit: str
    why: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class TakeoffLine:
    """One thing to order: what is needed, what is bought, and why.

    `net` and `order` are in the same `unit`, so that the waste is one division.
    """

    id: str
    kind: Literal[
        "paint",
        "drapery",
        "wallcovering",
        "floor",
        "upholstery",
        "rug",
        "canvas",
        "glass and stone",
        "floor boxes",
        "work",
    ]
    what: str  # in words: "Matt white, walls and ceiling"
    finish: str = ""
    rooms: tuple[str, ...] = ()
    net: float
    order: float
    unit: str
    text: str  # the order in the trade's words: "1 can of 10 L"
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    shares: tuple[Share, ...] = ()
    detail: object = None  # the full result behind the line, for drawings

    @property
    def waste(self) -> float:
        """Share of the order that does not end up in the place, 0 … 1."""
        return (self.order - self.net) / self.order if self.order else 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class TakeoffResult:
    """All lines of a layout: paint, wallcovering, floor, cloth, what is built in, work."""

    layout: str
    system: System
    lines: tuple[TakeoffLine, ...]
    assumed: tuple[str, ...] = ()  # what the project did not say and was taken from a rule
    missing: tuple[str, ...] = ()  # what could not be worked out, each with what mends it
    by_id: dict[str, TakeoffLine] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_id", {line.id: line for line in self.lines})

    def of(self, kind: str) -> tuple[TakeoffLine, ...]:
        """The lines of one kind.

        Parameters
        ----------
        kind : str
            "paint", "drapery" …

        Returns
        -------
        tuple of TakeoffLine
            In order; empty where the layout has none.
        """
        return tuple(line for line in self.lines if line.kind == kind)


def attempted(what: str, make: Callable[[], TakeoffLine], missing: list[str]) -> list[TakeoffLine]:
    """A line of the list, or the sentence why there is none: one fault hides no other line.

    Parameters
    ----------
    what : str
        The thing in words.
    make : callable
        Works its line out.
    missing : list of str
        Gets the sentence.

    Returns
    -------
    list of TakeoffLine
        The line; empty where it could not be worked out.
    """
    try:
        return [make()]
    except InputError as error:
        missing.append(f"{what}: {error}")
        return []


def positive(
    what: str,
    given: float,
    *,
    unit: str = "m",
    zero: bool = False,
    mend: str = "give a measured or stated value",
) -> float:
    """The number itself if it is finite and above zero, else a named error.

    Parameters
    ----------
    what : str
        The quantity, as the error shall name it.
    given : float
        Its value.
    unit : str, optional
        For the message.
    zero : bool, optional
        True: zero is allowed.
    mend : str, optional
        What to do about a wrong one.

    Returns
    -------
    float
        `given` as a float.

    Raises
    ------
    InputError
        `given` is not finite, negative, or zero where that is not allowed.

    Examples
    --------
    >>> positive("drop", 2.4)
    2.4
    """
    number = float(given)
    if not math.isfinite(number) or number < 0 or (number == 0 and not zero):
        raise InputError(
            what,
            given=f"{given} {unit}".strip(),
            allowed=f"{'≥' if zero else '>'} 0 {unit}".strip(),
            mend=mend,
        )
    return number


def share_of(what: str, given: float, *, below: float = 1.0) -> float:
    """A share 0 ≤ given < below, or a named error.

    Parameters
    ----------
    what : str
        The quantity, as the error shall name it.
    given : float
        Its value, a fraction.
    below : float, optional
        It must be less than this.

    Returns
    -------
    float
        `given` as a float.

    Raises
    ------
    InputError
        `given` is outside.
    """
    number = float(given)
    if not math.isfinite(number) or not 0 <= number < below:
        raise InputError(
            what,
            given=given,
            allowed=f"0 ≤ share < {below:g}",
            mend="write a rate as a fraction: 5 % is 0.05",
        )
    return number


def whole(quotient: float) -> int:
    """The least whole number that is not below a quotient, deaf to float noise.

    Parameters
    ----------
    quotient : float
        For example a length over a width.

    Returns
    -------
    int
        Rounded up.

    Examples
    --------
    >>> whole(2.54 / 0.635), whole(4.17)
    (4, 5)
    """
    near = round(quotient)
    if abs(quotient - near) <= _ROUNDING * max(1.0, abs(quotient)):
        return int(near)
    return math.ceil(quotient)


def system_of(units: str) -> System:
    """The goods of the place: rolls, cans and cloth by metre or by yard.

    Parameters
    ----------
    units : str
        `Home.units`.

    Returns
    -------
    {"metric", "US"}
        "US" for feet and inches.

    Examples
    --------
    >>> system_of("cm"), system_of("ft")
    ('metric', 'US')
    """
    return "US" if units in ("ft", "in") else "metric"


def length_text(metres: float, system: System = "metric") -> str:
    """A length for a sentence.

    Parameters
    ----------
    metres : float
        The length. [m]
    system : {"metric", "US"}, optional
        Metres, or inches to the nearest sixteenth.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> length_text(2.235), length_text(2.2479, "US")
    ('2.235 m', '88½ in')
    """
    if system == "US":
        return f"{inches(metres)} in"
    return f"{metres:.3f}".rstrip("0").rstrip(".") + " m"


def mass_text(kilograms: float, system: System = "metric") -> str:
    """A mass for a sentence.

    Parameters
    ----------
    kilograms : float
        The mass. [kg]
    system : {"metric", "US"}, optional
        Kilograms or pounds.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> mass_text(9.07), mass_text(9.07, "US")
    ('9.1 kg', '20 lb')
    """
    if system == "US":
        pounds = convert(kilograms, kind="mass", to="lb")
        return f"{pounds:.0f} lb" if pounds >= 10 else f"{pounds:.1f} lb"
    return f"{kilograms:.1f} kg" if kilograms < 100 else f"{kilograms:.0f} kg"


def cable_text(metres: float, system: System = "metric") -> str:
    """A length of cable as it is bought.

    Parameters
    ----------
    metres : float
        The length. [m]
    system : {"metric", "US"}, optional
        Metres or feet.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> cable_text(3.048), cable_text(3.048, "US")
    ('3.05 m', '10.0 ft')
    """
    return f"{convert(metres, to='ft'):.1f} ft" if system == "US" else f"{metres:.2f} m"


def run_text(metres: float, system: System = "metric") -> str:
    """A length of cloth as it is bought.

    Parameters
    ----------
    metres : float
        The length. [m]
    system : {"metric", "US"}, optional
        Metres or yards.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> run_text(11.176, "US")
    '12.22 yd'
    """
    return f"{convert(metres, to='yd'):.2f} yd" if system == "US" else f"{metres:.2f} m"


def area_text(square_metres: float, system: System = "metric") -> str:
    """An area for a sentence.

    Parameters
    ----------
    square_metres : float
        The area. [m²]
    system : {"metric", "US"}, optional
        Square metres or square feet.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> area_text(38.5548, "US")
    '415 ft²'
    """
    if system == "US":
        return f"{convert(square_metres, kind='area', to='ft²'):.1f}".removesuffix(".0") + " ft²"
    return f"{square_metres:.2f} m²"


def volume_text(litres: float, system: System = "metric") -> str:
    """A volume of paint for a sentence.

    Parameters
    ----------
    litres : float
        The volume. [L]
    system : {"metric", "US"}, optional
        Litres or US gallons.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> volume_text(4.4895, "US")
    '1.186 gal'
    """
    return (
        f"{convert(litres / 1000, kind='volume', to='gal'):.3f} gal"
        if system == "US"
        else f"{litres:.2f} L"
    )
