"""The same opening seen from the next room: in which of its walls, and where.

Two cases. Where the rooms lie in one frame already, the wall beyond the opening
is looked for behind it. Where the next room was walked by itself, a wall of it
that faces this one has to be as long: then both are the two sides of one wall.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from designkit.errors import InputError
from designkit.model import Point
from designkit.plan.measure import combined
from designkit.plan.survey import Survey
from designkit.plan.survey_text import SurveyOpening

__all__ = ["Mate", "mate_of", "other_side"]

_BESIDE = 1.0  # m; rooms that are farther apart have no wall in common
_INSIDE = 0.05  # m; rooms may lie so far in one another before the wall is no wall
_FACING = math.cos(math.radians(2.0))


@dataclass(frozen=True, kw_only=True)
class Mate:
    """Where an opening is in the next room."""

    wall: int  # of the next room
    offset: float  # from the corner where that wall begins [m]
    off: float  # by how much the two rooms do not match [m]
    within: float  # ± of that [m]
    why: str  # what was held against what

    @property
    def fits(self) -> bool:
        """Whether what was measured in both rooms agrees within its ±."""
        return self.off <= self.within + 1e-9


@dataclass(frozen=True)
class _Side:
    """A wall: where it begins, which way it runs, what is outside, how long it is."""

    start: Point
    way: Point
    out: Point
    length: float


def _sides(outline: Sequence[Point]) -> list[_Side]:
    turn = 1.0 if shapely.is_ccw(shapely.linearrings([*outline, outline[0]])) else -1.0
    found = []
    for k, a in enumerate(outline):
        b = outline[(k + 1) % len(outline)]
        long = math.dist(a, b) or 1e-9
        way = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
        found.append(_Side(a, way, (way[1] * turn, -way[0] * turn), long))
    return found


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _whole(survey: Survey, what: str) -> None:
    if survey.area is None or survey.problems:
        raise InputError(
            what, given="no closed outline", allowed="a walk once round the room",
            mend="walk it to the corner where it began",
        )  # fmt: skip


def mate_of(
    here: Survey,
    there: Survey,
    one: SurveyOpening,
    *,
    frame: tuple[Sequence[Point], Sequence[Point]] | None = None,
) -> Mate | None:
    """Where an opening of one room is in the walls of the next.

    Parameters
    ----------
    here, there : Survey
        The room that has the opening, and the room that it leads to; both close.
    one : SurveyOpening
        Of the first room.
    frame : tuple of two sequences of Point, optional
        Outlines of both rooms in one frame, where another opening has joined
        them already. Without it the length of the walls has to tell. [m]

    Returns
    -------
    Mate or None
        The wall that matches best, with by how much it does not; None where no
        wall of the next room faces this one, or where two do equally.

    Raises
    ------
    InputError
        A walk does not close.

    Examples
    --------
    >>> from designkit.plan.survey import survey
    >>> a = survey("right 4, up 3 [door 0.9 at 0.5 to hall], left 4, down 3", height=2.6)
    >>> b = survey("right 1.5, up 3, left 1.5, down 3", height=2.6)
    >>> mate = mate_of(a, b, a.openings[0])
    >>> mate.wall, round(mate.offset, 3), mate.fits
    (3, 1.6, True)
    """
    _whole(here, "this room")
    _whole(there, "the next room")
    if frame is not None:
        return _behind(here, there, one, *frame)
    wall = _sides(here.outline)[one.wall]
    facing = [
        (k, side)
        for k, side in enumerate(_sides(there.outline))
        if _dot(side.out, wall.out) < -_FACING
    ]
    if not facing:
        return None
    offs = sorted((abs(side.length - wall.length), k) for k, side in facing)
    off, k = offs[0]
    within = combined(here.walls[one.wall].within, there.walls[k].within)
    if len(offs) > 1 and offs[1][0] <= combined(within, there.walls[offs[1][1]].within):
        return None  # two walls are as long: only a second measure can tell
    side = dict(facing)[k]
    turned = _dot(side.way, wall.way) < 0
    offset = side.length - one.offset - one.width if turned else one.offset
    return Mate(
        wall=k, offset=max(offset, 0.0), off=off, within=within, why="lengths of the two walls"
    )


def _behind(
    here: Survey,
    there: Survey,
    one: SurveyOpening,
    ours: Sequence[Point],
    theirs: Sequence[Point],
) -> Mate | None:
    """The wall of the next room that lies behind an opening, both in one frame."""
    wall = _sides(ours)[one.wall]
    begin = tuple(wall.start[n] + wall.way[n] * one.offset for n in (0, 1))
    end = tuple(wall.start[n] + wall.way[n] * (one.offset + one.width) for n in (0, 1))
    found: list[tuple[float, Mate]] = []
    for k, side in enumerate(_sides(theirs)):
        if _dot(side.out, wall.out) > -_FACING:
            continue
        gap = _dot((side.start[0] - wall.start[0], side.start[1] - wall.start[1]), wall.out)
        if not -_INSIDE <= gap <= _BESIDE:
            continue
        along = [_dot((p[0] - side.start[0], p[1] - side.start[1]), side.way) for p in (begin, end)]
        offset = min(along)
        past = max(-offset, offset + one.width - side.length, 0.0)
        if past > one.width:
            continue  # it does not even begin in this wall
        thick = abs(gap - one.thickness) if one.thickness is not None else 0.0
        within = combined(here.walls[one.wall].within, there.walls[k].within)
        if past >= thick:
            off, why = past, "the opening and the corner of the wall behind it"
        else:
            off, why = thick, "the thickness of the wall and the distance of the two rooms"
        offset = min(max(offset, 0.0), max(side.length - one.width, 0.0))
        found.append((past + gap, Mate(wall=k, offset=offset, off=off, within=within, why=why)))
    return min(found, key=lambda row: row[0])[1] if found else None


def other_side(surveys: tuple[Survey, Survey], ids: tuple[str, str], opening: int) -> int | None:
    """The opening of the next room that is the other side of one of this room.

    The first that leads there is the first that leads back, and so on, as rooms
    are joined.

    Parameters
    ----------
    surveys : tuple of two Survey
        This room and the next; openings lead to ids.
    ids : tuple of two str
        Of both.
    opening : int
        Index in the openings of this room.

    Returns
    -------
    int or None
        Index in the openings of the next room.
    """
    ours = [k for k, one in enumerate(surveys[0].openings) if one.to == ids[1]]
    theirs = [k for k, one in enumerate(surveys[1].openings) if one.to == ids[0]]
    return next((n for m, n in zip(ours, theirs, strict=False) if m == opening), None)
