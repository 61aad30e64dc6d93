"""What stands at the walls of a survey beside openings: services, columns, piers.

They are written in brackets behind their wall, as openings are: "[socket at
1.20 height 0.30]", "[radiator 1.20 at 0.90 deep 0.10 high 0.60 height 0.12]",
"[ceiling outlet at 2.10 out 1.70]", "[column 0.40 deep 0.30 at 1.20 out 0]".
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from designkit.errors import InputError
from designkit.model import Column, Known, Point, Service
from designkit.plan.survey_text import known_at_end, name_at_end
from designkit.reference import value
from designkit.units import in_sentence, read

__all__ = [
    "OVERHEAD",
    "SERVICES",
    "SurveyColumn",
    "SurveyService",
    "column_of",
    "corner",
    "kind_of_item",
    "read_column",
    "read_diagonals",
    "read_service",
    "service_of",
]

ServiceKind = Literal[
    "ceiling outlet",
    "wall outlet",
    "socket",
    "switch",
    "radiator",
    "vent",
    "panel",
    "sprinkler",
    "detector",
]
SERVICES: tuple[ServiceKind, ...] = (
    "ceiling outlet",
    "wall outlet",
    "socket",
    "switch",
    "radiator",
    "vent",
    "panel",
    "sprinkler",
    "detector",
)
OVERHEAD = ("ceiling outlet", "sprinkler", "detector")
_MEASURED = Known(source="measured")
_TRAIL = ("out", "height", "deep", "high")


@dataclass(frozen=True, kw_only=True)
class SurveyService:
    """A service as it was measured from a corner."""

    wall: int
    kind: ServiceKind
    along: float  # its middle, from the corner where the wall begins [m]
    out: float = 0.0  # its middle, from the wall [m]
    height: float | None = None  # above the floor [m]
    width: float | None = None  # [m]
    depth: float | None = None  # [m]
    high: float | None = None  # [m]
    name: str = ""
    said: str
    known: Known = _MEASURED


@dataclass(frozen=True, kw_only=True)
class SurveyColumn:
    """A column, or a pier or chimney breast that stands out of its wall."""

    wall: int
    along: float  # its near edge, from the corner where the wall begins [m]
    out: float  # its near face, from the wall [m]
    width: float  # [m]
    depth: float  # [m]
    round: bool
    said: str
    known: Known = _MEASURED


def kind_of_item(text: str) -> Literal["opening", "service", "column"]:
    """What a bracket is about, by its first word.

    Parameters
    ----------
    text : str
        What stands in the brackets.

    Returns
    -------
    str
        "opening" for what is no service and no column.

    Examples
    --------
    >>> kind_of_item("wall outlet at 1.2"), kind_of_item("window 1.6 at 0.9")
    ('service', 'opening')
    """
    plain = " ".join(text.lower().split())
    if any(plain.startswith(kind) for kind in SERVICES):
        return "service"
    return "column" if plain.startswith("column") else "opening"


def _trail(text: str, said: str, units: str) -> dict[str, float]:
    """Lengths behind the distance, by their word."""
    words = "|".join(_TRAIL)
    more = dict(re.findall(rf"({words})\s+(.+?)(?=\s+(?:{words})\s|$)", text))
    lengths = {
        key: read(more[key], units=units, what=f"{key} of {said!r}")
        for key in _TRAIL
        if key in more
    }
    for key, length in lengths.items():
        if length < 0:
            raise InputError(
                f"{key} of {said!r}", given=more[key], allowed="0 or more", mend="measure it again"
            )
    return lengths


def _away(text: str, how: str, width: float, length: float, said: str, units: str) -> float:
    """Distance of the near edge from the corner where the wall begins. [m]"""
    away = read(text, units=units, what=f"distance of {said!r}")
    near = away if how.lower() == "at" else length - away - width
    if near < -1e-9 or near + width > length + 1e-9:
        over = max(-near, near + width - length)
        raise InputError(
            f"{said!r}",
            given=f"{in_sentence(over, units=units)} past the corner",
            allowed=f"within its wall, {in_sentence(length, units=units)} long",
            mend="measure its distance from the corner where the wall begins",
        )
    return near


def read_service(text: str, *, wall: int, length: float, units: str) -> SurveyService:
    """Read a service as it stands in the brackets behind its wall.

    Parameters
    ----------
    text : str
        Kind, its width where it has one, "at" its distance from the corner
        where the wall begins or "from end"; then out, height, deep, high, name.
        What has a width is measured to its near edge, a point to its middle.
    wall : int
        Index of its wall.
    length : float
        Of the wall. [m]
    units : str
        Unit of bare numbers.

    Returns
    -------
    SurveyService
        What was not said is None.

    Raises
    ------
    InputError
        It cannot be read, or is past its corner.

    Examples
    --------
    >>> read_service("radiator 1.20 at 0.90 height 0.12", wall=0, length=4.0, units="m").along
    1.5
    """
    said = " ".join(text.split())
    plain, known = known_at_end(said, units)
    plain, name = name_at_end(plain)
    kinds = "|".join(SERVICES)
    words = "|".join(_TRAIL)
    match = re.fullmatch(
        rf"({kinds})(?:\s+(\S.*?))?\s+(at|from end)\s+(.+?)((?:\s+(?:{words})\s+.+)?)",
        plain,
        re.IGNORECASE,
    )
    if match is None:
        raise InputError(
            f"service {said!r}",
            allowed="kind, its width where it has one, and at its distance from the corner where "
            "the wall begins",
            mend="write it as [socket at 1.20 height 0.30]",
        )
    lengths = _trail(match[5], said, units)
    width = None if not match[2] else read(match[2], units=units, what=f"width of {said!r}")
    if width is not None and width <= 0:
        raise InputError(
            f"width of {said!r}", given=match[2], allowed="more than 0", mend="measure it again"
        )
    near = _away(match[4], match[3], width or 0.0, length, said, units)
    return SurveyService(
        wall=wall,
        kind=next(kind for kind in SERVICES if kind == match[1].lower()),
        along=near + (width or 0.0) / 2,
        out=lengths.get("out", 0.0),
        height=lengths.get("height"),
        width=width,
        depth=lengths.get("deep"),
        high=lengths.get("high"),
        name=name,
        said=said,
        known=known,
    )


def read_column(text: str, *, wall: int, length: float, units: str) -> SurveyColumn:
    """Read a column, pier or chimney breast from the brackets behind a wall.

    Parameters
    ----------
    text : str
        "column", its width along the wall or Ø, deep; "at" its near edge from
        the corner where the wall begins or "from end", "out" from the wall to
        its near face, 0 for a pier.
    wall : int
        Index of the wall.
    length : float
        Of the wall. [m]
    units : str
        Unit of bare numbers.

    Returns
    -------
    SurveyColumn
        As deep as it is wide where its depth is not said.

    Raises
    ------
    InputError
        It cannot be read, or is past its corner.

    Examples
    --------
    >>> read_column("column Ø 0.30 at 1.20 out 0.80", wall=0, length=4.0, units="m").round
    True
    """
    said = " ".join(text.split())
    plain, known = known_at_end(said, units)
    plain, _ = name_at_end(plain)
    words = "|".join(_TRAIL)
    match = re.fullmatch(
        rf"column\s+([øØ⌀]?)\s*(\S.*?)((?:\s+deep\s+\S.*?)?)\s+(at|from end)\s+(.+?)"
        rf"((?:\s+(?:{words})\s+.+)?)",
        plain,
        re.IGNORECASE,
    )
    if match is None:
        raise InputError(
            f"column {said!r}",
            allowed="its width, deep, at its near edge from the corner, out from the wall",
            mend="write it as [column 0.40 deep 0.30 at 1.20 out 0]",
        )
    lengths = _trail(f"{match[3]} {match[6]}", said, units)
    width = read(match[2], units=units, what=f"width of {said!r}")
    depth = lengths.get("deep", width)
    if width <= 0 or depth <= 0:
        raise InputError(
            f"size of {said!r}", given=match[2], allowed="more than 0", mend="measure it again"
        )
    return SurveyColumn(
        wall=wall,
        along=_away(match[5], match[4], width, length, said, units),
        out=lengths.get("out", 0.0),
        width=width,
        depth=depth,
        round=bool(match[1]),
        said=said,
        known=known,
    )


def column_of(one: SurveyColumn, *, start: Point, way: Point, inward: Point) -> Column:
    """A surveyed column in the frame of its room.

    Parameters
    ----------
    one : SurveyColumn
        As measured.
    start, way, inward : Point
        Where its wall begins, the wall's direction and the direction into the
        room, both of length 1. [m]

    Returns
    -------
    Column
        Turned as its wall.

    Examples
    --------
    >>> one = read_column("column 0.4 deep 0.2 at 1.0 out 0", wall=0, length=4.0, units="m")
    >>> column_of(one, start=(0, 0), way=(1, 0), inward=(0, 1)).at
    (1.2, 0.1)
    """
    along, out = one.along + one.width / 2, one.out + one.depth / 2
    turn = round(math.degrees(math.atan2(way[1], way[0])) % 180.0, 6)
    size = (one.width, one.depth)
    if one.round:
        turn = 0.0
    elif turn == 90.0:  # square to the plan: its sides tell it
        turn, size = 0.0, (one.depth, one.width)
    return Column(
        at=(
            round(start[0] + way[0] * along + inward[0] * out, 6) + 0.0,
            round(start[1] + way[1] * along + inward[1] * out, 6) + 0.0,
        ),
        size=size,
        shape="circle" if one.round else "rectangle",
        rotation=turn,
    )


_USUAL = {
    "socket": "plan.survey.socket",
    "switch": "plan.survey.switch",
    "wall outlet": "plan.survey.wall_outlet",
    "radiator": "plan.survey.radiator",
    "panel": "plan.survey.panel",
    "vent": "plan.survey.vent",
}


def service_of(
    one: SurveyService,
    *,
    room: str,
    ceiling: float,
    start: Point,
    way: Point,
    inward: Point,
    overrides: Mapping[str, float] | None = None,
) -> tuple[Service, tuple[str, ...]]:
    """A surveyed service in the frame of its room.

    Parameters
    ----------
    one : SurveyService
        As measured.
    room : str
        Its room's id.
    ceiling : float
        Height of the room, for what hangs there. [m]
    start, way, inward : Point
        Where its wall begins, the wall's direction and the direction into the
        room, both of length 1. [m]
    overrides : mapping of str to float, optional
        The project's own values for what was not measured.

    Returns
    -------
    tuple of Service and tuple of str
        And what nobody measured: "height", "depth".

    Examples
    --------
    >>> one = read_service("socket at 1.2 height 0.3", wall=0, length=4.0, units="m")
    >>> service_of(one, room="a", ceiling=2.6, start=(0, 0), way=(1, 0), inward=(0, 1))[0].at
    (1.2, 0.0)
    """
    guessed = []
    height = one.height
    if height is None:
        if one.kind in OVERHEAD:
            height = ceiling
        else:
            height = value(_USUAL[one.kind], overrides)
            guessed.append("height")
    size = None
    if one.width is not None:
        depth, high = one.depth, one.high
        if depth is None or high is None:
            guessed.append("depth")
        size = (
            one.width,
            value("plan.survey.body_depth", overrides) if depth is None else depth,
            value("plan.survey.body_high", overrides) if high is None else high,
        )
    made = Service(
        room=room,
        kind=one.kind,
        at=(
            round(start[0] + way[0] * one.along + inward[0] * one.out, 6) + 0.0,
            round(start[1] + way[1] * one.along + inward[1] * one.out, 6) + 0.0,
        ),
        height=height,
        size=size,
        name=one.name,
    )
    return made, tuple(guessed)


# --- corners --------------------------------------------------------------------


def corner(index: int) -> str:
    """The letter of a corner: A where the walk begins.

    Parameters
    ----------
    index : int
        From 0.

    Returns
    -------
    str
        A to Z, then A2 and so on.

    Examples
    --------
    >>> corner(0), corner(27)
    ('A', 'B2')
    """
    letter, round_ = chr(ord("A") + index % 26), index // 26 + 1
    return letter if round_ == 1 else f"{letter}{round_}"


def read_diagonals(text: str, *, corners: int, units: str) -> Sequence[tuple[int, int, str]]:
    """Read measured diagonals, as "A C 5.12, B D 5.08".

    Parameters
    ----------
    text : str
        Two letters of corners and a distance each, commas or line ends between.
    corners : int
        How many there are.
    units : str
        Unit of bare numbers.

    Returns
    -------
    sequence of tuple
        Two corners from 0 and the distance as typed.

    Raises
    ------
    InputError
        It cannot be read, or there is no such corner.

    Examples
    --------
    >>> read_diagonals("A C 5.12; B-D 5,08", corners=4, units="m")
    [(0, 2, '5.12'), (1, 3, '5,08')]
    """
    letters = {corner(k).lower(): k for k in range(corners)}
    found = []
    for item in re.split(r"[;\n]|,(?!\d)", text):
        said = " ".join(item.split())
        if not said:
            continue
        match = re.fullmatch(
            r"([a-z]\d*)\s*(?:-|–|to|\s)\s*([a-z]\d*)\s*[=:]?\s+(\S.*)", said, re.IGNORECASE
        )
        if match is None:
            raise InputError(
                f"diagonal {said!r}",
                allowed="two corners by their letters and a distance",
                mend="write it as A C 5.12",
            )
        for name in (match[1], match[2]):
            if name.lower() not in letters:
                raise InputError(
                    f"corner of the diagonal {said!r}",
                    given=name,
                    allowed=f"A to {corner(max(corners - 1, 0))}",
                    mend="the letters stand at the corners of the drawing",
                )
        one, two = letters[match[1].lower()], letters[match[2].lower()]
        if one == two:
            raise InputError(
                f"diagonal {said!r}", given="one corner", allowed="two corners",
                mend="write both, as A C 5.12",
            )  # fmt: skip
        length = read(match[3], units=units, what=f"diagonal {said!r}")
        if not length > 0:
            raise InputError(
                f"diagonal {said!r}", given=match[3], allowed="more than 0", mend="measure it again"
            )
        found.append((one, two, match[3]))
    return found
