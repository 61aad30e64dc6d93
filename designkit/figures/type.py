"""The one typeface of every figure, and how wide its words are.

Source Sans Pro (SIL Open Font Licence 1.1) is read from the files of the
package `font-source-sans-pro`, never from the fonts of the machine, so that a
text is as wide everywhere. Sizes are cap heights in paper millimetres: the
capital letters of this typeface are 0.660 of its size in em.
"""

from __future__ import annotations

import functools
import importlib.util
import math
import re
from collections.abc import Iterable
from pathlib import Path

from designkit.errors import InputError
from designkit.figures.drawing import XY, Text

__all__ = [
    "CAP",
    "FAMILY",
    "advance",
    "box",
    "clean",
    "em",
    "extent",
    "face",
    "fits",
    "font_css",
    "font_path",
    "from_points",
    "shorten",
    "tie",
    "wrap",
]

FAMILY = "Source Sans Pro"
CAP = 0.660  # cap height in em, OS/2 table of the four faces
FACES = {
    ("regular", False): "SourceSansPro-Regular",
    ("semibold", False): "SourceSansPro-Semibold",
    ("regular", True): "SourceSansPro-It",
    ("semibold", True): "SourceSansPro-SemiboldIt",
}
CSS_WEIGHT = {"regular": 400, "semibold": 600}
_ASCENDERS = frozenset("bdfhklßþÅÄÖÜÉÈÊÁÀÍÓÚÇŘŠŽČĎŤŇ()[]{}|/½¼¾⅛⅜⅝⅞")
_DESCENDERS = frozenset("gjpqyçþ,;()[]{}|/Q@_µ½¼¾⅛⅜⅝⅞")
_MISSING = 0.6  # em; width assumed for a sign that the typeface does not have
# A sign that XML 1.0 does not allow, or that reverses the reading order of what follows.
_UNSAFE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069"
    "\ud800-\udfff\ufffe\uffff]"
)
_UNITS = (
    "mm|cm|m|m²|ft|in|yd|lx|lm|W|K|kg|l|L|%|€|°|ft²|days?|weeks?|hours?|pieces?|hooks?|rolls?|of"
)
_TIE = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w²]))|(?<=[±Ø×]) (?=\d)|(?<=\d) (?=[±×])")


@functools.cache
def _folder() -> Path:
    # The package's __init__ globs its files; finding it by its spec costs no import.
    spec = importlib.util.find_spec("font_source_sans_pro")
    if spec is None or spec.origin is None:
        raise InputError(
            "font",
            given="font-source-sans-pro is not installed",
            allowed="the package with the typeface of the figures",
            mend="install designkit with its dependencies",
        )
    return Path(spec.origin).parent / "files"


def font_path(*, weight: str = "regular", italic: bool = False) -> Path:
    """The file of one face of the typeface.

    Parameters
    ----------
    weight : {"regular", "semibold"}
        Weight of the face.
    italic : bool
        The italic face.

    Returns
    -------
    pathlib.Path
        A TrueType file.

    Raises
    ------
    InputError
        There is no such face, or the font package is missing.

    Examples
    --------
    >>> font_path(weight="semibold").name
    'SourceSansPro-Semibold.ttf'
    """
    if (weight, italic) not in FACES:
        raise InputError(
            "weight", given=weight, allowed="regular, semibold", mend="use one of them"
        )
    return _folder() / f"{FACES[weight, italic]}.ttf"


@functools.cache
def _advances(weight: str, italic: bool) -> dict[str, float]:
    """Width of every sign of a face, in em."""
    from fontTools.ttLib import TTFont

    with TTFont(font_path(weight=weight, italic=italic), lazy=True) as font:
        metrics = font["hmtx"].metrics
        em_units = font["head"].unitsPerEm
        return {chr(code): metrics[name][0] / em_units for code, name in font.getBestCmap().items()}


@functools.lru_cache(maxsize=8192)
def _em_width(text: str, weight: str, italic: bool) -> float:
    widths = _advances(weight, face(text, weight=weight, italic=italic)[1])
    return sum(widths.get(sign, _MISSING) for sign in text)


@functools.lru_cache(maxsize=4096)
def face(text: str, *, weight: str = "regular", italic: bool = False) -> tuple[str, bool]:
    """The face that a text is set in.

    The italic faces lack some signs (Δ, Σ, Greek, Cyrillic) that the upright
    ones have: such a text is set upright as a whole.

    Parameters
    ----------
    text : str
        What is set.
    weight : {"regular", "semibold"}
        Weight that is asked for.
    italic : bool
        Whether italic is asked for.

    Returns
    -------
    tuple of (str, bool)
        Weight, italic.

    Examples
    --------
    >>> face("hall", italic=True), face("ΔL*", italic=True)
    (('regular', True), ('regular', False))
    """
    if italic:
        slanted, upright = _advances(weight, True), _advances(weight, False)
        if any(sign not in slanted and sign in upright for sign in text):
            return weight, False
    return weight, italic


def clean(text: str, *, weight: str = "regular", italic: bool = False, known: bool = False) -> str:
    """A text without the signs that no file of ours may hold.

    Parameters
    ----------
    text : str
        Any text, also from a file of a stranger.
    weight : {"regular", "semibold"}
        Face that sets it.
    italic : bool
        Face that sets it.
    known : bool
        Also put "?" for every sign that the face does not have (for PDF and
        PNG, where nothing else can stand in).

    Returns
    -------
    str
        One line.

    Examples
    --------
    >>> clean("so\\x00fa\\nlow")
    'sofa low'
    """
    text = _UNSAFE.sub("", text.replace("\r", " ").replace("\n", " ").replace("\t", " "))
    if known:
        have = _advances(weight, italic)
        text = "".join(sign if sign in have else "?" for sign in text)
    return text


def em(size: float) -> float:
    """Size of the typeface for a cap height.

    Parameters
    ----------
    size : float
        Cap height. [mm]

    Returns
    -------
    float
        Size in em. [mm]

    Examples
    --------
    >>> round(em(2.0), 3)
    3.03
    """
    return size / CAP


def from_points(points: float) -> float:
    """Cap height of a type size in points.

    Parameters
    ----------
    points : float
        Size of the typeface, 72 to the inch. [pt]

    Returns
    -------
    float
        Cap height. [mm]

    Examples
    --------
    >>> round(from_points(20), 2)
    4.66
    """
    return points * 25.4 / 72 * CAP


def advance(text: str, *, size: float, weight: str = "regular", italic: bool = False) -> float:
    """Width of a line of text.

    The sum of the widths of its signs. Renderers also draw some pairs closer
    together (kerning), so that a text is never wider than this by more than
    a hundredth.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Cap height. [mm]
    weight : {"regular", "semibold"}
        Weight of the face.
    italic : bool
        Italic face.

    Returns
    -------
    float
        Width. [mm]

    Examples
    --------
    >>> round(advance("1000", size=0.660), 3)  # four figures of 0.497 em at a size of 1 mm
    1.988
    """
    return _em_width(text, weight, italic) * size / CAP


@functools.lru_cache(maxsize=4096)
def _rise(text: str) -> tuple[float, float]:
    signs = frozenset(text)
    low = 0.21 if signs & _DESCENDERS else 0.012
    high = 0.72 if signs & _ASCENDERS else 0.672
    return low, high


def extent(text: Text) -> tuple[float, float, float, float]:
    """The box of a text before it is turned, from its anchor.

    Parameters
    ----------
    text : Text
        The primitive.

    Returns
    -------
    tuple of float
        Left, bottom, right, top, from the anchor. [mm]

    Examples
    --------
    >>> left, bottom, right, top = extent(Text(at=(0, 0), text="800", size=2.0, anchor="middle"))
    >>> round(right - left, 2), round(top, 2)
    (4.52, 2.04)
    """
    width = advance(text.text, size=text.size, weight=text.weight, italic=text.italic)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    low, high = _rise(text.text)
    size = em(text.size)
    return left, -low * size, left + width, high * size


def box(text: Text) -> tuple[XY, XY, XY, XY]:
    """The four corners of a text on the paper.

    Parameters
    ----------
    text : Text
        The primitive.

    Returns
    -------
    tuple of four points
        Counter-clockwise from the lower left of the words. [mm]

    Examples
    --------
    >>> [round(v, 2) for v in box(Text(at=(10, 20), text="N", size=2.0))[0]]
    [10.0, 19.96]
    """
    left, bottom, right, top = extent(text)
    turn = math.radians(text.rotation)
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = text.at
    return (
        (x + left * cos - bottom * sin, y + left * sin + bottom * cos),
        (x + right * cos - bottom * sin, y + right * sin + bottom * cos),
        (x + right * cos - top * sin, y + right * sin + top * cos),
        (x + left * cos - top * sin, y + left * sin + top * cos),
    )


def tie(text: str) -> str:
    """Keep every number on one line with its unit.

    Parameters
    ----------
    text : str
        A sentence.

    Returns
    -------
    str
        The same with no-break spaces between numbers and units.

    Examples
    --------
    >>> tie("Move it 40 mm away.").replace(chr(160), "_")
    'Move it 40_mm away.'
    """
    return _TIE.sub("\u00a0", text)


def wrap(
    text: str, *, size: float, width: float, weight: str = "regular", italic: bool = False
) -> tuple[str, ...]:
    """Break a sentence into lines.

    A word longer than the line is broken where it must be; a number stays
    with its unit.

    Parameters
    ----------
    text : str
        A sentence; a line break in it is kept.
    size : float
        Cap height. [mm]
    width : float
        Width of the column. [mm]
    weight : {"regular", "semibold"}
        Weight of the face.
    italic : bool
        Italic face.

    Returns
    -------
    tuple of str
        The lines; at least one, which may be empty.

    Raises
    ------
    InputError
        The width is not positive.

    Examples
    --------
    >>> wrap("The sofa faces the canal", size=2.5, width=30)
    ('The sofa faces the', 'canal')
    """
    if not width > 0:
        raise InputError("width", given=f"{width} mm", allowed="> 0 mm", mend="give the column")
    limit = width * CAP / size
    space = _em_width(" ", weight, italic)
    lines: list[str] = []
    for paragraph in tie(text).split("\n"):
        line, used = "", 0.0
        for word in paragraph.split(" "):
            if not word:
                continue
            long = _em_width(word, weight, italic)
            while long > limit:  # a word that no line can hold
                if line:
                    lines.append(line)
                    line, used = "", 0.0
                cut = len(word)
                while cut > 1 and _em_width(word[:cut], weight, italic) > limit:
                    cut -= 1
                if cut == len(word):
                    break
                lines.append(word[:cut])
                word = word[cut:]
                long = _em_width(word, weight, italic)
            if line and used + space + long > limit:
                lines.append(line)
                line, used = word, long
            else:
                line, used = (f"{line} {word}", used + space + long) if line else (word, long)
        lines.append(line)
    return tuple(lines)


def fits(
    texts: Iterable[str],
    *,
    size: float,
    width: float,
    weight: str = "regular",
    italic: bool = False,
) -> bool:
    """Whether every one of some lines fits into a width.

    Parameters
    ----------
    texts : iterable of str
        Lines.
    size : float
        Cap height. [mm]
    width : float
        Room for them. [mm]
    weight : {"regular", "semibold"}
        Weight of the face.
    italic : bool
        Italic face.

    Returns
    -------
    bool
        True where all of them fit.

    Examples
    --------
    >>> fits(["sofa", "2200 × 950"], size=2.0, width=20)
    True
    """
    return all(advance(t, size=size, weight=weight, italic=italic) <= width for t in texts)


def shorten(
    text: str, *, size: float, width: float, weight: str = "regular", italic: bool = False
) -> str:
    """Cut a text that is too long for its place, and show that it was cut.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Cap height. [mm]
    width : float
        Room for it. [mm]
    weight : {"regular", "semibold"}
        Weight of the face.
    italic : bool
        Italic face.

    Returns
    -------
    str
        The text, or its beginning and "…".

    Examples
    --------
    >>> shorten("sideboard of oak", size=2.0, width=20)
    'sideboard of…'
    """
    if advance(text, size=size, weight=weight, italic=italic) <= width:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        cut = text[:middle].rstrip() + "…"
        if advance(cut, size=size, weight=weight, italic=italic) <= width:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…"


_LATIN = (
    "".join(
        map(
            chr,
            [
                *range(0x20, 0x7F),
                *range(0xA0, 0x180),
                *range(0x2010, 0x2027),
                *range(0x2150, 0x215F),
            ],
        )
    )
    + "′″€−≤≥≈≠→←↑↓Δ√Σ²³₂π"
)


@functools.lru_cache(maxsize=32)
def _subset(weight: str, italic: bool, signs: str) -> str:
    """One face cut down to some signs, as a WOFF file in base64."""
    import base64
    import io

    from fontTools import subset

    options = subset.Options(
        flavor="woff",
        hinting=False,
        recalc_timestamp=False,
        layout_features=["kern", "mark", "mkmk", "ccmp"],
        name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14],  # the licence travels with the font
        notdef_outline=True,
    )
    font = subset.load_font(str(font_path(weight=weight, italic=italic)), options)
    try:
        cutter = subset.Subsetter(options)
        cutter.populate(text=signs)
        cutter.subset(font)
        out = io.BytesIO()
        subset.save_font(font, out, options)
    finally:
        font.close()
    return base64.b64encode(out.getvalue()).decode("ascii")


def font_css(
    texts: Iterable[Text] | None = None,
    *,
    faces: Iterable[tuple[str, bool]] = (
        ("regular", False),
        ("semibold", False),
        ("regular", True),
    ),
) -> str:
    """Style rules that carry the typeface inside a page or an SVG file.

    Parameters
    ----------
    texts : iterable of Text, optional
        The texts that it has to set; without them a Latin set for pages,
        about 30 kB a face.
    faces : iterable of (weight, italic)
        Faces for a page; taken from the texts where these are given.

    Returns
    -------
    str
        ``@font-face`` rules with the font as base64 (WOFF), the same bytes
        each time.

    Examples
    --------
    >>> font_css([Text(at=(0, 0), text="N", size=2.0)])[:38]
    "@font-face{font-family:'Source Sans Pr"
    """
    wanted: dict[tuple[str, bool], set[str]] = {}
    if texts is None:
        for weight, italic in faces:
            wanted[weight, italic] = set(_LATIN)
    else:
        for text in texts:
            key = face(text.text, weight=text.weight, italic=text.italic)
            # Always the whole Latin set: a set of sheets then shares one cutting
            # of the typeface, and the words of a file can be changed later.
            wanted.setdefault(key, set(_LATIN)).update(clean(text.text))
    rules = []
    for (weight, italic), signs in sorted(wanted.items()):
        data = _subset(weight, italic, "".join(sorted(signs)))
        rules.append(
            f"@font-face{{font-family:'{FAMILY}';font-weight:{CSS_WEIGHT[weight]};"
            f"font-style:{'italic' if italic else 'normal'};"
            f"src:url(data:font/woff;base64,{data}) format('woff')}}"
        )
    return "".join(rules)
