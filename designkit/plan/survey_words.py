"""The words of a walk written and changed: a room as it is known, brackets put in and taken out."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint

from designkit.errors import InputError
from designkit.model import Column, Home, Known, Opening, Point, Room, Service, Walk
from designkit.plan.survey_text import items_of
from designkit.units import IMPERIAL, feet_inches, file_text

__all__ = ["WalkLine", "lines_of", "opening_words", "walk_of", "with_bracket", "without_bracket"]

_TURN = re.compile(r"turn\s", re.IGNORECASE)
_NEAR = 0.5  # m; an opening of the next room lies no farther from its wall than walls are thick
_HALF_SIXTEENTH = 0.0254 / 32  # m; what is written as no inch at all
_AWAY = 0.3  # m; a service farther from its wall is measured out from it


@dataclass(frozen=True, kw_only=True)
class WalkLine:
    """One wall or one turn as it was typed, with what stands in its brackets."""

    wall: int | None  # None: a turn
    text: str  # without brackets
    brackets: tuple[str, ...]


def lines_of(text: str) -> tuple[WalkLine, ...]:
    """A walk taken apart into walls and turns.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    tuple of WalkLine
        Brackets on a line of their own belong to the wall before.

    Raises
    ------
    InputError
        A bracket is left open.

    Examples
    --------
    >>> [(one.wall, one.brackets) for one in lines_of("right 4 [door 0.9 at 1], turn 45, up 3")]
    [(0, ('door 0.9 at 1',)), (None, ()), (1, ())]
    """
    found: list[WalkLine] = []
    wall = -1
    for item in items_of(text):
        brackets = tuple(" ".join(b.split()) for b in re.findall(r"\[([^\]]*)\]", item))
        plain = " ".join(re.sub(r"\[[^\]]*\]", " ", item).split())
        if not plain:
            last = next((k for k in reversed(range(len(found))) if found[k].wall is not None), None)
            if last is not None:
                old = found[last]
                found[last] = WalkLine(
                    wall=old.wall, text=old.text, brackets=(*old.brackets, *brackets)
                )
            continue
        turn = bool(_TURN.match(plain))
        wall += 0 if turn else 1
        found.append(WalkLine(wall=None if turn else wall, text=plain, brackets=brackets))
    return tuple(found)


def _joined(lines: Sequence[WalkLine]) -> str:
    return "\n".join(
        " ".join([one.text, *(f"[{bracket}]" for bracket in one.brackets)]) for one in lines
    )


def _at(lines: Sequence[WalkLine], wall: int) -> int:
    for k, one in enumerate(lines):
        if one.wall == wall:
            return k
    count = sum(one.wall is not None for one in lines)
    raise InputError(
        "wall", given=wall + 1, allowed=f"1 to {count}" if count else "a walk with walls",
        mend="walk the walls first",
    )  # fmt: skip


def with_bracket(text: str, *, wall: int, bracket: str, at: int | None = None) -> str:
    """A walk with one more opening or service behind a wall.

    Parameters
    ----------
    text : str
        As typed.
    wall : int
        Index of the wall.
    bracket : str
        What goes into the brackets.
    at : int, optional
        Before which of the wall's brackets; behind them all without it.

    Returns
    -------
    str
        One line a wall.

    Raises
    ------
    InputError
        There is no such wall.

    Examples
    --------
    >>> with_bracket("right 4, up 3", wall=0, bracket="door 0.9 at 1")
    'right 4 [door 0.9 at 1]\\nup 3'
    """
    lines = list(lines_of(text))
    k = _at(lines, wall)
    row = list(lines[k].brackets)
    row.insert(len(row) if at is None else at, bracket)
    lines[k] = WalkLine(wall=wall, text=lines[k].text, brackets=tuple(row))
    return _joined(lines)


def without_bracket(text: str, *, wall: int, at: int) -> str:
    """A walk without one of the openings or services behind a wall.

    Parameters
    ----------
    text : str
        As typed.
    wall : int
        Index of the wall.
    at : int
        Which of its brackets, from 0.

    Returns
    -------
    str
        One line a wall.

    Raises
    ------
    InputError
        There is no such wall or bracket.

    Examples
    --------
    >>> without_bracket("right 4 [door 0.9 at 1], up 3", wall=0, at=0)
    'right 4\\nup 3'
    """
    lines = list(lines_of(text))
    k = _at(lines, wall)
    row = list(lines[k].brackets)
    if not 0 <= at < len(row):
        raise InputError(
            f"opening of wall {wall + 1}", given=at + 1, allowed=f"1 to {len(row)}",
            mend="choose it in the table",
        )  # fmt: skip
    del row[at]
    lines[k] = WalkLine(wall=wall, text=lines[k].text, brackets=tuple(row))
    return _joined(lines)


# --- a room that is known, in words ----------------------------------------------------


def _say(length: float, units: str) -> str:
    """A length as one types it: 4.12 in a metric project, 12'-6 1/2\" in the other."""
    length = round(length, 6) + 0.0
    if units in IMPERIAL:
        text = feet_inches(length, characters=False)
        return text if text.strip() else f"{length:g} m"
    return file_text(length, units=units).removesuffix(f" {units}")


def _end(known: Known, usual: Known, units: str) -> str:
    """± and source behind a length, where they are not the usual ones."""
    if known == usual:
        return ""
    within = f" ± {_say(known.within, units)}" if known.within is not None else ""
    return f"{within} {known.source}"


def _leg(a: Point, b: Point, units: str) -> str:
    legs = ((b[0] - a[0], "right", "left"), (b[1] - a[1], "up", "down"))
    least = _HALF_SIXTEENTH if units in IMPERIAL else 1e-6
    if max(abs(along) for along, _, _ in legs) <= least:
        least = 1e-6  # a wall too short to be written: whoever reads the walk is told
    words = []
    for along, more, less in legs:
        if abs(along) > least:
            words.append(f"{more if along > 0 else less} {_say(abs(along), units)}")
    return " ".join(words)


def opening_words(one: Opening, *, offset: float, to: str, units: str) -> str:
    """An opening as it stands in the brackets of a walk.

    Parameters
    ----------
    one : Opening
        As the project knows it.
    offset : float
        From the corner where its wall begins. [m]
    to : str
        Where it leads, seen from the room that is walked.
    units : str
        The project's unit of length.

    Returns
    -------
    str
        Reads back as the same opening.
    """
    words = [one.kind, _say(one.width, units), "at", _say(offset, units)]
    if one.kind == "window" or one.sill:
        words += ["sill", _say(one.sill, units)]
    words += ["head", _say(one.head, units)]
    if one.hinge:
        words += ["hinge", one.hinge]
    if one.swing != ("in" if one.kind == "door" and one.hinge else "none"):
        words += ["swing", one.swing]
    if one.clear_width is not None:
        words += ["clear", _say(one.clear_width, units)]
    if one.leaf != "fixed":
        words += ["leaf", one.leaf]
    if one.leaves != 1:
        words += ["leaves", str(one.leaves)]
    words += ["thick", _say(one.thickness, units)]
    if to and not (one.kind == "window" and to == "outside"):
        words += ["to", to]
    if one.name:
        words += ["name", one.name]
    return " ".join(words) + _end(one.known, Known(source="measured"), units)


def _service_words(one: Service, along: float, out: float, units: str) -> str:
    words: list[str] = [one.kind]
    if one.size is not None and one.size[0] > 0:
        along -= one.size[0] / 2
        words.append(_say(one.size[0], units))
    words += ["at", _say(max(along, 0.0), units)]
    if out > _AWAY:
        words += ["out", _say(out, units)]
    words += ["height", _say(one.height, units)]
    if one.size is not None and one.size[0] > 0:
        words += ["deep", _say(one.size[1], units), "high", _say(one.size[2], units)]
    if one.name:
        words += ["name", one.name]
    return " ".join(words)


def _nearest(outline: Sequence[Point], point: Point) -> tuple[int, float, float]:
    """The wall nearest to a point, how far along it, how far from it. [m]"""
    best = (0, 0.0, math.inf)
    for k, a in enumerate(outline):
        line = LineString([a, outline[(k + 1) % len(outline)]])
        away = line.distance(ShapelyPoint(point))
        if away < best[2] - 1e-9:
            best = (k, line.project(ShapelyPoint(point)), away)
    return best


def _column_words(one: Column, outline: Sequence[Point], units: str) -> tuple[int, str] | None:
    """A column from the wall nearest to it; None where it stands askew to that wall."""
    for k in sorted(
        range(len(outline)),
        key=lambda k: LineString([outline[k], outline[(k + 1) % len(outline)]]).distance(
            ShapelyPoint(one.at)
        ),
    )[:1]:
        a, b = outline[k], outline[(k + 1) % len(outline)]
        way = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        askew = (one.rotation - way) % 90.0
        if one.shape != "circle" and min(askew, 90.0 - askew) > 0.01:
            return None
        across = round((one.rotation - way) / 90.0) % 2 == 1
        wide, deep = one.size if one.shape == "circle" or not across else one.size[::-1]
        _, along, away = _nearest((a, b), one.at) if len(outline) > 1 else (0, 0.0, 0.0)
        near, out = along - wide / 2, away - deep / 2
        if near < -1e-6 or near + wide > math.dist(a, b) + 1e-6:
            return None
        mark = "Ø " if one.shape == "circle" else ""
        words = f"column {mark}{_say(wide, units)}"
        if abs(deep - wide) > 1e-9:
            words += f" deep {_say(deep, units)}"
        return k, f"{words} at {_say(max(near, 0.0), units)} out {_say(max(out, 0.0), units)}"
    return None


def _from_next(home: Home, id: str, outline: Sequence[Point]) -> list[tuple[int, float, str]]:
    """Openings that another room holds and that lead here: wall, offset, words."""
    found = []
    for one in home.openings.values():
        other = home.rooms.get(one.room)
        if one.to != id or other is None or not one.wall < len(other.outline):
            continue
        a, b = other.outline[one.wall], other.outline[(one.wall + 1) % len(other.outline)]
        long = math.dist(a, b) or 1.0
        ends = [
            (a[0] + (b[0] - a[0]) * t / long, a[1] + (b[1] - a[1]) * t / long)
            for t in (one.offset, one.offset + one.width)
        ]
        middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        wall, _, away = _nearest(outline, middle)
        if away > _NEAR:
            continue
        line = LineString([outline[wall], outline[(wall + 1) % len(outline)]])
        offset = min(line.project(ShapelyPoint(end)) for end in ends)
        plain = Opening(
            room=id, wall=wall, offset=offset, width=one.width, head=one.head, kind=one.kind,
            sill=one.sill, thickness=one.thickness, known=one.known,
        )  # fmt: skip
        words = opening_words(plain, offset=offset, to=one.room, units=home.units)
        found.append((wall, offset, words))
    return found


def walk_of(home: Home, id: str) -> Walk:
    """A room that is known, in the words of a walk, to be walked again.

    Parameters
    ----------
    home : Home
        Gives the room with its openings and services.
    id : str
        The room.

    Returns
    -------
    Walk
        Reads back as the same room. A column that stands askew is left out.

    Examples
    --------
    >>> room = Room(name="a", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    >>> walk_of(Home(name="h", rooms={"a": room}), "a").walls.splitlines()[0]
    'right 4'
    """
    room: Room = home.rooms[id]
    outline, units = room.outline, home.units
    rows: list[list[tuple[float, str]]] = [[] for _ in outline]
    for one in home.openings.values():
        if one.room == id and one.wall < len(outline):
            words = opening_words(one, offset=one.offset, to=one.to, units=units)
            rows[one.wall].append((one.offset, words))
    for wall, offset, words in _from_next(home, id, outline):
        rows[wall].append((offset, words))
    inside = Polygon(outline).buffer(_AWAY)
    for service in home.services.values():
        if service.room == id and inside.covers(ShapelyPoint(service.at)):
            wall, along, out = _nearest(outline, service.at)
            rows[wall].append((along, _service_words(service, along, out, units)))
    for column in room.columns:
        said = _column_words(column, outline, units)
        if said is not None:
            rows[said[0]].append((math.inf, said[1]))
    lines = []
    usual = Known(source=room.known.source)
    for k, a in enumerate(outline):
        leg = _leg(a, outline[(k + 1) % len(outline)], units)
        brackets = [f"[{words}]" for _, words in sorted(rows[k], key=lambda row: row[0])]
        lines.append(" ".join([leg + _end(room.known, usual, units), *brackets]))
    height = room.known_of.get("height", room.known)
    return Walk(
        name=room.name,
        use=room.use,
        walls="\n".join(lines),
        height=_say(room.height, units) + _end(height, usual, units),
        source=room.known.source,
    )
