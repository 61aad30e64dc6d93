"""Photometric files: reading LM-63.

An LM-63 file gives the luminous intensity of one luminaire in directions
(vertical angle from straight down, horizontal angle round it). Only Type C
photometry is read: Types A and B turn about another axis and are refused by
name. The candelas of a file are those of the whole luminaire and are never
multiplied by its number of lamps.

References
----------
.. [1] ANSI/IESNA LM-63-02, "Standard file format for electronic transfer of
   photometric data": order of the fields, opening codes (second-hand).
"""

from __future__ import annotations

import dataclasses
import math
import os
import re
from pathlib import Path

import numpy as np
import numpy.typing as npt

from designkit.errors import FileFormatError
from designkit.lighting.distribution import (
    Photometry,
    Symmetry,
    beam_angle,
    candela,
    field_angle,
    total_lumens,
    zonal_constants,
    zonal_lumens,
)
from designkit.reference import value

__all__ = [
    "Photometry",
    "beam_angle",
    "candela",
    "field_angle",
    "parse_photometry",
    "read_photometry",
    "total_lumens",
    "zonal_constants",
    "zonal_lumens",
]

Array = npt.NDArray[np.float64]

LARGEST_FILE = 8_000_000  # bytes; the largest files met are under 1 MB
MOST_ANGLES = 4_000
BRIGHTEST = 1e9  # cd; a lighthouse gives about 1e6
FINEST = 1e-6  # °; closer angles are the same angle
FOOT = 0.3048  # m, exact

_VERSION = re.compile(r"^IES(NA)?(91|:LM-63-\d{4})\b", re.IGNORECASE)
_TILT_AT_START = re.compile(r"^[ \t]*TILT[ \t]*=[ \t]*", re.IGNORECASE | re.MULTILINE)
_TILT_ANYWHERE = re.compile(r"TILT[ \t]*=[ \t]*", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"\d,\d")
_FIELDS = (
    "number of lamps",
    "lumens per lamp",
    "candela multiplier",
    "number of vertical angles",
    "number of horizontal angles",
    "photometric type",
    "units type",
    "luminous width",
    "luminous length",
    "luminous height",
    "ballast factor",
    "ballast-lamp factor or future use",
    "input watts",
)


# --- reading -----------------------------------------------------------------


class _Tokens:
    """Numbers of the part after the TILT line, with their line for messages."""

    def __init__(self, text: str, *, name: str, first_line: int) -> None:
        self.name = name
        self.words: list[str] = []
        self.lines: list[int] = []
        for number, line in enumerate(text.split("\n"), start=first_line):
            words = line.replace(",", " ").split()
            self.words += words
            self.lines += [number] * len(words)
        self.last_line = first_line + text.count("\n")
        self.commas = _DECIMAL_COMMA.search(text) is not None
        self.next = 0

    def mend(self) -> str:
        if self.commas:
            return (
                "a decimal comma is read as two numbers: write decimal points, "
                "or ask the maker for a file that follows LM-63"
            )
        return "ask the maker for a file that follows LM-63"

    def error(self, what: str, *, index: int | None = None, **more: object) -> FileFormatError:
        at = self.next if index is None else index
        line = self.lines[at] if at < len(self.lines) else self.last_line
        mend = str(more.get("mend", "")) or self.mend()
        return FileFormatError(
            f"{self.name} line {line}, {what}",
            given=more.get("given"),
            allowed=str(more.get("allowed", "")),
            mend=mend,
        )

    def take(self, count: int, what: str) -> Array:
        """The next `count` finite numbers."""
        words = self.words[self.next : self.next + count]
        if len(words) < count:
            raise self.error(
                what,
                index=len(self.words),
                given=f"{len(words)} numbers before the file ends",
                allowed=f"{count}",
                mend="the file is cut short, or its counts of angles are wrong; "
                "ask for it again" + ("; " + self.mend() if self.commas else ""),
            )
        numbers = np.empty(count)
        for i, word in enumerate(words):
            try:
                number = float(word) if "_" not in word else math.nan
            except ValueError:
                number = math.nan
            if not math.isfinite(number):
                raise self.error(
                    what, index=self.next + i, given=word[:40], allowed="a finite number"
                )
            numbers[i] = number
        self.next += count
        return numbers

    def angles(self, count: int, what: str, *, most: float) -> Array:
        """The next `count` angles, which rise from 0° or more to at most `most`."""
        start = self.next
        found = self.take(count, what)
        # The range comes first: the step between two huge numbers overflows.
        outside = (found < 0) | (found > most)
        if outside.any():
            bad = int(np.argmax(outside))
            raise self.error(
                what, index=start + bad, given=f"{found[bad]:g}°", allowed=f"0° to {most:g}°"
            )
        falls = np.diff(found) < FINEST
        if falls.any():
            bad = int(np.argmax(falls)) + 1
            raise self.error(
                what, index=start + bad, given=f"{found[bad]:g}°", allowed="angles that rise"
            )
        return found

    def whole(self, what: str, number: float, *, low: int, high: int, index: int) -> int:
        if number != int(number) or not low <= number <= high:
            raise self.error(
                what,
                index=index,
                given=f"{number:g}",
                allowed=f"a whole number from {low} to {high}",
            )
        return int(number)


def read_photometry(path: str | os.PathLike[str]) -> Photometry:
    """Read an LM-63 file.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    Photometry
        Its intensity table.

    Raises
    ------
    FileFormatError
        The file cannot be read, or is not Type C photometry in LM-63.
    """
    file = Path(path)
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise FileFormatError(
                f"{file.name} line 1",
                given=f"{file.stat().st_size} bytes",
                allowed=f"at most {LARGEST_FILE} bytes",
                mend="a photometric file is far smaller; check that it is the right file",
            )
        data = file.read_bytes()
    except OSError as error:
        raise FileFormatError(
            file.name,
            given=error.strerror or "cannot be opened",
            allowed="a photometric file",
            mend="put the file into the project's photometry folder",
        ) from error
    return parse_photometry(data, name=file.name)


def parse_photometry(data: bytes, *, name: str = "photometric file") -> Photometry:
    """Read the bytes of an LM-63 file.

    Parameters
    ----------
    data : bytes
        The file as it is on disk.
    name : str, optional
        Its name, for messages.

    Returns
    -------
    Photometry
        Its intensity table.

    Raises
    ------
    FileFormatError
        The bytes are not Type C photometry in LM-63; the message names the
        line and what is allowed.
    """
    text = _decode(data, name=name)
    tilt = _TILT_AT_START.search(text) or _TILT_ANYWHERE.search(text)
    if tilt is None:
        raise FileFormatError(
            f"{name} line 1",
            given=text.split("\n", 1)[0][:40],
            allowed="an LM-63 file with a line TILT=NONE or TILT=INCLUDE",
            mend="check that this is an LM-63 photometric file",
        )
    version, keywords = _header(text[: tilt.start()])
    tilt_line = text.count("\n", 0, tilt.start()) + 1
    rest = text[tilt.end() :]
    kind = (re.match(r"[^\s,]*", rest) or [""])[0]
    if kind.upper() not in ("NONE", "INCLUDE"):
        raise FileFormatError(
            f"{name} line {tilt_line}, TILT",
            given=kind[:40],
            allowed="NONE or INCLUDE",
            mend="a tilt table in another file is not read: ask for a file with TILT=NONE",
        )
    tokens = _Tokens(rest[len(kind) :], name=name, first_line=tilt_line)
    warnings: list[str] = []
    tilt_factor = _tilt_factor(tokens, warnings) if kind.upper() == "INCLUDE" else 1.0

    start = tokens.next
    lamps_n, lumens, multiplier, n_v, n_h, kind_n, units_n, *opening = tokens.take(
        10, "lamps, angles and opening"
    ).tolist()
    if kind_n in (2, 3):
        letter = "B" if kind_n == 2 else "A"
        raise tokens.error(
            "photometric type",
            index=start + 5,
            given=f"{kind_n:.0f} (Type {letter})",
            allowed="1 (Type C)",
            mend=f"Type {letter} photometry turns about another axis and is not read: "
            "ask for Type C",
        )
    tokens.whole(_FIELDS[5], kind_n, low=1, high=1, index=start + 5)
    lamps = tokens.whole(_FIELDS[0], lamps_n, low=1, high=1000, index=start)
    count_v = tokens.whole(_FIELDS[3], n_v, low=2, high=MOST_ANGLES, index=start + 3)
    count_h = tokens.whole(_FIELDS[4], n_h, low=1, high=MOST_ANGLES, index=start + 4)
    units = tokens.whole(_FIELDS[6], units_n, low=1, high=2, index=start + 6)
    if lumens != -1 and lumens <= 0:
        raise tokens.error(
            _FIELDS[1],
            index=start + 1,
            given=f"{lumens:g}",
            allowed="more than 0, or -1 for absolute photometry",
        )
    if multiplier <= 0:
        raise tokens.error(
            _FIELDS[2], index=start + 2, given=f"{multiplier:g}", allowed="more than 0"
        )
    start = tokens.next
    ballast, other, watts = tokens.take(3, "ballast factor, future use, watts").tolist()
    for index, number in ((0, ballast), (2, watts)):
        if number < 0 or (number == 0 and index == 0):
            raise tokens.error(
                _FIELDS[10 + index],
                index=start + index,
                given=f"{number:g}",
                allowed="more than 0" if index == 0 else "0 or more",
            )
    # Up to 1995 the second factor multiplies the light; later editions give the
    # field another meaning, so that a file made by them must not be scaled by it.
    later = version.upper().endswith(("2002", "2019"))
    if later:
        second = 1.0
        if other != 1 and version.endswith("2002"):
            warnings.append(f"future use field is {other:g}, not 1: it is not used")
    else:
        second = other
        if other <= 0:
            raise tokens.error(
                "ballast-lamp factor", index=start + 1, given=f"{other:g}", allowed="more than 0"
            )

    vertical, symmetry, horizontal, close = _angles(tokens, count_v, count_h)
    start = tokens.next
    table = tokens.take(count_v * count_h, "candelas")
    if table.min() < 0:
        bad = int(np.argmax(table < 0))
        raise tokens.error(
            "candelas", index=start + bad, given=f"{table[bad]:g} cd", allowed="0 cd or more"
        )
    if table.max() == 0:
        raise tokens.error("candelas", index=start, given="0 cd everywhere", allowed="some light")
    if tokens.next < len(tokens.words):
        left = len(tokens.words) - tokens.next
        raise tokens.error(
            "after the last candela",
            given=f"the word {tokens.words[tokens.next][:20]}"
            + (f" and {left - 1} more" if left > 1 else ""),
            allowed="the end of the file",
        )
    factor = multiplier * ballast * second * tilt_factor
    if factor <= 0 or table.max() > BRIGHTEST / factor:
        raise tokens.error(
            "candelas times multipliers",
            index=start,
            given=f"{table.max():g} cd × {factor:g}",
            allowed=f"more than 0 and at most {BRIGHTEST:g} cd",
        )
    intensity = table.reshape(count_h, count_v) * factor
    if close:
        intensity = np.vstack([intensity, intensity[:1]])
        warnings.append("the planes stop short of 360°: the first plane is repeated there")
    shape, size = _opening(opening[0], opening[1], opening[2])
    if shape == "not known":
        warnings.append("the code of the luminous opening is not known: its size is taken as it is")
    scale = FOOT if units == 1 else 1.0
    photometry = Photometry(
        name=name,
        version=version,
        keywords=keywords,
        lamps=lamps,
        lamp_lumens=None if lumens == -1 else lamps * lumens,
        watts=watts,
        opening=shape,
        size=(size[0] * scale, size[1] * scale, size[2] * scale),
        vertical=vertical,
        horizontal=horizontal,
        intensity=intensity,
        symmetry=symmetry,
        warnings=tuple(warnings),
    )
    return _checked(photometry)


def _decode(data: bytes, *, name: str) -> str:
    if len(data) > LARGEST_FILE:
        raise FileFormatError(
            f"{name} line 1",
            given=f"{len(data)} bytes",
            allowed=f"at most {LARGEST_FILE} bytes",
            mend="a photometric file is far smaller; check that it is the right file",
        )
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            text = data.decode("utf-16")
        except UnicodeDecodeError as error:
            raise FileFormatError(
                f"{name} line 1", given="broken UTF-16 text", allowed="plain text"
            ) from error
    elif b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise FileFormatError(
            f"{name} line {line}",
            given="binary data",
            allowed="a text file in LM-63",
            mend="check that this is the photometric file, and not a compressed one",
        )
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            # Makers' names carry accents in old code pages; they stand in the
            # header only, where a wrong letter does no harm.
            text = data.decode("latin-1")
    return text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\x1a \t\n")


def _header(text: str) -> tuple[str, dict[str, str]]:
    found = _VERSION.match(text.lstrip())
    version = found[0] if found else ""
    keywords: dict[str, str] = {}
    last = ""
    for mark in re.finditer(r"\[([^\]\n]{1,40})\]([^\[\n]*)", text):
        word, words = mark[1].strip().upper(), mark[2].strip()
        if word == "MORE" and last:
            keywords[last] += "\n" + words
        else:
            last = word
            keywords[word] = words
    return version, keywords


def _tilt_factor(tokens: _Tokens, warnings: list[str]) -> float:
    """Factor of a lamp whose light changes with tilt, for a luminaire that is not tilted."""
    start = tokens.next
    geometry, pairs = tokens.take(2, "TILT=INCLUDE, geometry and number of angles").tolist()
    tokens.whole("lamp to luminaire geometry", geometry, low=1, high=3, index=start)
    count = tokens.whole("number of tilt angles", pairs, low=1, high=MOST_ANGLES, index=start + 1)
    angles = tokens.angles(count, "tilt angles", most=180)
    start = tokens.next
    factors = tokens.take(count, "tilt factors")
    if factors.min() <= 0:
        raise tokens.error(
            "tilt factors", index=start, given=f"{factors.min():g}", allowed="more than 0"
        )
    # Our luminaires hang or stand as they were tested: the factor at 0°.
    factor = float(np.interp(0.0, angles, factors))
    if abs(factor - 1) > 1e-6:
        warnings.append(f"tilt table: factor {factor:g} at 0° is applied")
    return factor


def _angles(tokens: _Tokens, count_v: int, count_h: int) -> tuple[Array, Symmetry, Array, bool]:
    start = tokens.next
    vertical = tokens.angles(count_v, "vertical angles", most=180)
    if (vertical[0], vertical[-1]) not in ((0, 90), (0, 180), (90, 180)):
        raise tokens.error(
            "vertical angles",
            index=start,
            given=f"{vertical[0]:g}° to {vertical[-1]:g}°",
            allowed="0° to 90°, 0° to 180° or 90° to 180°",
        )
    start = tokens.next
    horizontal = tokens.angles(count_h, "horizontal angles", most=360)
    first, last = float(horizontal[0]), float(horizontal[-1])
    if count_h == 1 and first == 0:
        return vertical, "axial", horizontal, False
    known: dict[tuple[float, float], Symmetry] = {
        (0.0, 90.0): "quadrants",
        (0.0, 180.0): "halves",
        (90.0, 270.0): "halves about 90–270",
        (0.0, 360.0): "none",
    }
    if count_h > 1 and (first, last) in known:
        return vertical, known[first, last], horizontal, False
    if count_h > 2 and first == 0 and last > 180 and abs(2 * last - horizontal[-2] - 360) < 1e-6:
        return vertical, "none", np.append(horizontal, 360.0), True
    raise tokens.error(
        "horizontal angles",
        index=start,
        given=f"{first:g}° to {last:g}°",
        allowed="0° alone, 0° to 90°, 0° to 180°, 0° to 360° or 90° to 270°",
    )


def _opening(width: float, length: float, height: float) -> tuple[str, tuple[float, float, float]]:
    """Shape of the luminous opening; a negative dimension means a round one."""
    size = (abs(width), abs(length), abs(height))
    wide, long, tall = (int(np.sign(n)) for n in (width, length, height))
    if (wide, long, tall) == (0, 0, 0):
        return "point", size
    if tall >= 0 and wide >= 0 and long >= 0:
        if wide and long:
            return ("rectangle with luminous sides" if tall else "rectangle"), size
        return ("line" if (wide, long, tall).count(0) == 2 else "not known"), size
    if wide < 0 and long == 0 and tall <= 0:  # 1995: −d, 0, 0 and −d, 0, −d
        if tall == 0:
            return "circle", (size[0], size[0], 0.0)
        return ("sphere", (size[0],) * 3) if width == height else ("vertical circle", size)
    if wide < 0 and long == 0:
        return "vertical cylinder", (size[0], size[0], size[2])
    if wide < 0 and long < 0:  # 2002: both diameters are negative
        if tall == 0:
            return ("circle" if width == length else "ellipse"), size
        if tall > 0:
            return "vertical cylinder", size
        return ("sphere" if width == length == height else "ellipsoid"), size
    if wide < 0 < long and tall == 0:
        return "ellipse", size
    if tall < 0 <= max(wide, long):
        return "horizontal cylinder", size
    return "not known", size


def _checked(photometry: Photometry) -> Photometry:
    """The same, with a warning where more light comes out than the lamps give."""
    out = total_lumens(photometry)
    rating = photometry.lamp_lumens
    warnings = list(photometry.warnings)
    if rating is not None and out > rating * (1 + value("light.photometry.flux_tolerance")):
        warnings.append(
            f"{out:.0f} lm come out, more than the {rating:.0f} lm that the lamps give: "
            "the file or its multipliers are wrong"
        )
    if warnings == list(photometry.warnings):
        return photometry
    return dataclasses.replace(photometry, warnings=tuple(warnings))
