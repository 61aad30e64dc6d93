"""Greys, the accent, line weights by meaning, dashes, hatches and text sizes.

All lengths are paper millimetres, text sizes are cap heights. The values are
our own choice within the drafting standards (ISO 128 for line groups, ISO
3098 for lettering; both from memory): they were settled by drawing and
looking, so they carry no source.
"""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import dataclass

from designkit.errors import InputError

__all__ = [
    "ACCENT",
    "BOARDS",
    "CAPTION",
    "CUT_FILL",
    "DASH_DATUM",
    "DASH_ROUTE",
    "DASH_SIGHT",
    "DASH_SWITCH",
    "DASH_ZONE",
    "FAINT",
    "FINDING",
    "GREY_1",
    "GREY_2",
    "GREY_3",
    "GREY_4",
    "GREY_5",
    "HAIR",
    "HEADING",
    "INK",
    "NAME",
    "NEXT",
    "NUMBER",
    "PAPER",
    "READING",
    "RUG_BORDER",
    "TIMBER",
    "HatchStyle",
    "Pens",
    "grey_of",
    "luminance",
    "pens",
]

INK = "#1b1b1b"
GREY_1 = "#4a4a4a"  # notes, axis text
GREY_2 = "#6a6a6a"  # captions: 5.4:1 on white, the lightest grey for text
GREY_3 = "#a0a0a0"  # bars that did not change
GREY_4 = "#cfcfcf"  # rules, grid
GREY_5 = "#ececec"  # band
PAPER = "#ffffff"
HAIR = "#a8a8a8"  # hairlines: rug, boards
FAINT = "#9a9a9a"  # furniture under a ceiling plan
CUT_FILL = "#2b2b2b"  # cut walls; lighter than their outline so that the two part
ACCENT = "#a3341a"  # findings on drawings, nothing else
TIMBER = "#8f5426"  # the one accent of charts and pages

# Text: cap height [mm]
NUMBER = 5.0  # numbers that are compared, option letters (semibold)
HEADING = 3.5  # headings (semibold)
READING = 2.5  # sentences and tables
NAME = 2.0  # dimensions and names on a drawing
CAPTION = 1.8  # captions and scale ends only
SMALLEST = 1.8

# Dashes, on and off [mm]
DASH_ZONE = (1.8, 1.0)
DASH_SIGHT = (4.0, 1.2)
DASH_ROUTE = (6.0, 1.0, 0.6, 1.0)
DASH_DATUM = (6.0, 1.0, 0.6, 1.0)
DASH_SWITCH = (2.4, 1.0)


@dataclass(frozen=True, kw_only=True)
class HatchStyle:
    """Angle [°], spacing and weight [mm] of a hatch and its ink."""

    angle: float
    spacing: float
    weight: float
    ink: str


FINDING = HatchStyle(angle=60.0, spacing=0.9, weight=0.18, ink=ACCENT)
RUG_BORDER = HatchStyle(angle=45.0, spacing=0.8, weight=0.09, ink=HAIR)
BOARDS = HatchStyle(angle=90.0, spacing=1.1, weight=0.09, ink=GREY_4)
NEXT = HatchStyle(angle=45.0, spacing=1.3, weight=0.18, ink=INK)  # charts: not yet, not sure


@dataclass(frozen=True, kw_only=True)
class Pens:
    """Line weights by what the line means. [mm]"""

    floor: float = 0.70  # floor line of an elevation
    cut: float = 0.50  # outline of what is cut
    frame: float = 0.50  # frame of the sheet
    stroke: float = 0.40  # oblique stroke of a dimension
    piece: float = 0.30  # outline of a piece
    symbol: float = 0.30  # symbols, keyed circles
    route: float = 0.25  # main route
    leader: float = 0.18
    sight: float = 0.18
    edge: float = 0.18  # secondary edges, radiators, glass
    dimension: float = 0.13
    swing: float = 0.13
    zone: float = 0.13
    seam: float = 0.13  # cushions, drawers
    hair: float = 0.09
    dash_zone: tuple[float, ...] = DASH_ZONE
    dash_sight: tuple[float, ...] = DASH_SIGHT
    dash_route: tuple[float, ...] = DASH_ROUTE
    detail: float = 0.5  # detail closer together than this is left out


_LARGE = Pens()
_SMALL = dataclasses.replace(
    _LARGE,
    cut=0.35,
    piece=0.22,
    symbol=0.25,
    route=0.18,
    sight=0.13,
    leader=0.13,
    edge=0.13,
    zone=0.10,
    swing=0.10,
    seam=0.08,
    hair=0.06,
    dash_zone=(1.1, 0.7),
    dash_sight=(2.2, 0.8),
    dash_route=(3.2, 0.7, 0.4, 0.7),
)


def pens(scale: float) -> Pens:
    """The line weights for a scale.

    Parameters
    ----------
    scale : float
        50 for 1:50.

    Returns
    -------
    Pens
        Thinner from 1:80 on, where detail is closer together.

    Raises
    ------
    InputError
        The scale is not positive.

    Examples
    --------
    >>> pens(50).cut, pens(100).cut
    (0.5, 0.35)
    """
    if not scale > 0:
        raise InputError("scale", given=scale, allowed="> 0", mend="50 means 1:50")
    return _LARGE if scale < 80 else _SMALL


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


@functools.lru_cache(maxsize=1024)
def luminance(ink: str) -> float:
    """Relative luminance of a colour, for the contrast of text on a ground.

    Parameters
    ----------
    ink : str
        "#rrggbb".

    Returns
    -------
    float
        0 black to 1 white.

    Raises
    ------
    InputError
        It is not such a colour.

    References
    ----------
    .. [1] IEC 61966-2-1:1999, sRGB; contrast as in W3C WCAG 2.1, "relative luminance".

    Examples
    --------
    >>> round((1 + 0.05) / (luminance(GREY_1) + 0.05), 1)
    8.9
    """
    text = ink.removeprefix("#")
    try:
        if len(text) != 6:
            raise ValueError
        red, green, blue = (int(text[i : i + 2], 16) / 255 for i in (0, 2, 4))
    except ValueError:
        raise InputError("ink", given=ink, allowed="#rrggbb", mend="write six digits") from None
    return 0.2126 * _linear(red) + 0.7152 * _linear(green) + 0.0722 * _linear(blue)


def grey_of(lightness: float) -> str:
    """The neutral sRGB grey of a lightness.

    Parameters
    ----------
    lightness : float
        CIE L*, 0 to 100.

    Returns
    -------
    str
        "#rrggbb" with equal channels.

    Raises
    ------
    InputError
        The lightness is not between 0 and 100.

    References
    ----------
    .. [1] CIE 15:2004, L* of a luminance; IEC 61966-2-1:1999, sRGB.

    Examples
    --------
    >>> grey_of(50)
    '#777777'
    """
    if not 0 <= lightness <= 100:
        raise InputError("lightness", given=lightness, allowed="0 to 100", mend="give CIE L*")
    t = (lightness + 16) / 116
    y = t**3 if lightness > 8 else lightness * 27 / 24389
    v = 12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055
    return "#" + f"{round(v * 255):02x}" * 3
