"""A tape between two chosen things: the least clear distance, where it lies, what is across it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Point
from designkit.plan.around import own_group
from designkit.plan.case import Case, short_name
from designkit.plan.space import Wall

__all__ = ["Tape", "TapeEnd", "end_name", "fixed_ends", "tape", "tape_end"]

SAME = 1e-6  # m or m²; what is nearer or smaller is nothing
NEAR = 2e-6  # m; how far beyond the least distance a side still counts as facing
LEAST = 0.001  # m of a tape inside a wall or a piece that is said


@dataclass(frozen=True, kw_only=True)
class TapeEnd:
    """One of the two things: a piece, a wall, an opening or a point of the plan."""

    kind: Literal["piece", "wall", "opening", "point"]
    id: str = ""  # of a piece or an opening; "living.0" for a wall
    at: Point | None = None  # of a point [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Tape:
    """What the tape says."""

    distance: float  # [m]; 0 where they touch or overlap
    line: tuple[Point, Point]  # where it lies [m]
    overlap: bool  # they stand in one another
    through_wall: bool  # no tape can be laid there: a wall is between
    across: tuple[str, ...]  # ids of what stands between


def tape_end(text: str) -> TapeEnd:
    """An end from its short form.

    Parameters
    ----------
    text : str
        "piece:sofa", "wall:living.0", "opening:front_door" or "point:1.2,3.4" in metres.

    Returns
    -------
    TapeEnd
        The end; whether such a thing stands in the home is not looked at.

    Raises
    ------
    InputError
        It cannot be read.

    Examples
    --------
    >>> tape_end("piece:sofa")
    TapeEnd(kind='piece', id='sofa', at=None)
    >>> tape_end("point:1.2,3.4").at
    (1.2, 3.4)
    """
    kind, _, rest = text.partition(":")
    if kind == "piece" and rest:
        return TapeEnd(kind="piece", id=rest)
    if kind == "wall" and rest:
        return TapeEnd(kind="wall", id=rest)
    if kind == "opening" and rest:
        return TapeEnd(kind="opening", id=rest)
    if kind == "point":
        try:
            x, y = (float(v) for v in rest.split(","))
        except ValueError:
            x = y = math.nan
        if math.isfinite(x) and math.isfinite(y):
            return TapeEnd(kind="point", at=(x, y))
    raise InputError(
        "end of the tape",
        given=repr(text),
        allowed="a piece, a wall, an opening or a point",
        mend="write it as piece:sofa or point:1.2,3.4",
    )


def fixed_ends(case: Case) -> dict[TapeEnd, str]:
    """Openings and walls that a tape can be held to, with their names.

    Parameters
    ----------
    case : Case
        The layout, laid out.

    Returns
    -------
    dict of TapeEnd to str
        Openings first; each name is said once.

    Examples
    --------
    >>> from designkit.model import Home, Layout, Room
    >>> from designkit.plan.case import case_of
    >>> home = Home(name="h", rooms={"r": Room(
    ...     name="study", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> list(fixed_ends(case_of(home, Layout(name="a"))).values())[0]
    'the lower wall of the study'
    """
    found: dict[TapeEnd, str] = {}
    for space in case.spaces.values():
        for at in space.openings:
            if not at.far:
                found[TapeEnd(kind="opening", id=at.id)] = case.opening_name(at)
    walls = _walls(case)
    plain = {id: _wall_name(case, wall) for id, wall in walls.items()}
    names = list(plain.values())
    for id, wall in walls.items():
        name = plain[id]
        if names.count(name) > 1:
            name = f"{name} ({case.say(wall.length)} long)"
        while name in found.values():
            name += ", the next"
        found[TapeEnd(kind="wall", id=id)] = name
    return found


def end_name(case: Case, end: TapeEnd) -> str:
    """What an end is called within a sentence.

    Parameters
    ----------
    case : Case
        The layout, laid out.
    end : TapeEnd
        A piece, a wall, an opening or a point.

    Returns
    -------
    str
        With its article.

    Raises
    ------
    LookupFailed
        There is no such thing.
    """
    if end.kind == "point":
        x, y = _point(end)
        return f"the point {case.say(x)} from the left, {case.say(y)} from below"
    if end.kind == "piece":
        thing = case.thing(end.id)
        if thing is None:
            known = [*case.placed, *case.lamps]
            raise LookupFailed(
                "piece",
                given=end.id,
                allowed=", ".join(known) or "none is placed",
                mend=nearest(end.id, known),
            )
        number = end.id.rsplit("_", 1)[-1] if end.id != thing.item else ""
        name = short_name(thing.piece.name)
        return f"the {name} {number}" if number.isdigit() else f"the {name}"
    names = fixed_ends(case)
    if end not in names:
        known = [e.id for e in names if e.kind == end.kind]
        raise LookupFailed(
            end.kind,
            given=end.id,
            allowed=", ".join(known) or "none is there",
            mend=nearest(end.id, known),
        )
    name = names[end]
    return name if name.startswith("the ") else f"the {name}"


def tape(case: Case, *, start: TapeEnd, end: TapeEnd) -> Tape:
    """The least clear distance between two things, square to the floor.

    Parameters
    ----------
    case : Case
        The layout, laid out.
    start, end : TapeEnd
        The two things; a piece is measured from its outline on the floor.

    Returns
    -------
    Tape
        The tape lies in the middle of two sides that face each other.

    Raises
    ------
    InputError
        Both ends are one thing.
    LookupFailed
        There is no such thing.

    Examples
    --------
    >>> from designkit.model import Home, Layout, Piece, Placement, Room
    >>> from designkit.plan.case import case_of
    >>> home = Home(name="h", rooms={"r": Room(
    ...     name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)},
    ...     pieces={"chest": Piece(name="chest", kind="chest of drawers", size=(1, 0.5, 0.8))})
    >>> case = case_of(home, Layout(name="a", pieces={"chest": Placement(at=(1.5, 2.75))}))
    >>> found = tape(case, start=TapeEnd(kind="piece", id="chest"),
    ...     end=TapeEnd(kind="wall", id="r.0"))
    >>> round(found.distance, 6), found.line
    (2.5, ((1.5, 2.5), (1.5, 0.0)))
    """
    if start == end:
        raise InputError(
            "ends of the tape",
            given=f"{end_name(case, start)} twice",
            allowed="two things",
            mend="choose another one",
        )
    a, b = _shape(case, start), _shape(case, end)
    distance = float(shapely.distance(a, b))
    line = _line(a, b, distance)
    drawn = LineString(line)
    floor = shapely.union_all(
        [s.polygon for s in case.spaces.values()]
        + [at.strip for s in case.spaces.values() for at in s.openings]
    )
    return Tape(
        distance=distance if distance > SAME else 0.0,
        line=line,
        overlap=_overlap(a, b),
        through_wall=distance > SAME and float(drawn.difference(floor).length) > LEAST,
        across=_across(case, drawn, (start, end)) if distance > SAME else (),
    )


def _point(end: TapeEnd) -> Point:
    if end.at is None or not all(math.isfinite(v) for v in end.at):
        raise InputError("point", given=end.at, allowed="two finite numbers")
    return end.at


def _walls(case: Case) -> Mapping[str, Wall]:
    return {
        f"{wall.room}.{wall.index}": wall
        for space in case.spaces.values()
        for wall in space.walls
        if wall.length > 0
    }


def _wall_name(case: Case, wall: Wall) -> str:
    ix, iy = wall.inward
    sides = ("left", "right") if abs(ix) >= abs(iy) else ("lower", "upper")
    side = sides[0] if (ix if abs(ix) >= abs(iy) else iy) > 0 else sides[1]
    return f"the {side} wall of the {case.home.rooms[wall.room].name}"


def _shape(case: Case, end: TapeEnd) -> BaseGeometry:
    if end.kind == "point":
        return ShapelyPoint(_point(end))
    end_name(case, end)  # says what is there where it is not
    if end.kind == "piece":
        thing = case.thing(end.id)
        assert thing is not None
        return thing.footprint
    if end.kind == "wall":
        wall = _walls(case)[end.id]
        face: BaseGeometry = LineString([wall.start, wall.end])
        for space in case.spaces.values():
            for at in space.openings:
                if at.opening.kind == "passage" and at.room == wall.room:
                    face = face.difference(at.strip)  # there is no wall in a passage
        return face
    faces = [
        LineString([at.left, at.right])
        for space in case.spaces.values()
        for at in space.openings
        if at.id == end.id
    ]
    return shapely.union_all(faces)


def _overlap(a: BaseGeometry, b: BaseGeometry) -> bool:
    common = shapely.intersection(a, b)
    if a.area > 0 and b.area > 0:
        return float(common.area) > SAME
    if a.area > 0 or b.area > 0:
        body, thin = (a, b) if a.area > 0 else (b, a)
        inner = body.buffer(-LEAST)
        return not inner.is_empty and bool(shapely.intersects(inner, thin))
    return False


def _line(a: BaseGeometry, b: BaseGeometry, distance: float) -> tuple[Point, Point]:
    """Where the tape lies: in the middle of sides that face, else from corner to side."""

    def xy(points: BaseGeometry) -> tuple[Point, Point]:
        (ax, ay), (bx, by) = shapely.get_coordinates(points).tolist()
        return (ax + 0.0, ay + 0.0), (bx + 0.0, by + 0.0)

    plain = xy(shapely.shortest_line(a, b))
    if distance <= SAME:
        return plain
    edge = a.boundary if a.area > 0 else a
    facing = shapely.intersection(edge, b.buffer(distance + NEAR, quad_segs=64))
    merged = shapely.line_merge(facing) if facing.geom_type.startswith("Multi") else facing
    sides = [p for p in shapely.get_parts(merged) if isinstance(p, LineString) and p.length > 0]
    if not sides:
        return plain
    middle = max(sides, key=lambda p: float(p.length)).interpolate(0.5, normalized=True)
    ends = shapely.shortest_line(middle, b)
    return xy(ends) if abs(float(ends.length) - distance) <= SAME else plain


def _across(case: Case, line: LineString, ends: tuple[TapeEnd, TapeEnd]) -> tuple[str, ...]:
    """What stands on the tape; what lies flat as a rug and what hangs over head does not."""
    own = {e for end in ends if end.kind == "piece" for e in own_group(case, end.id)}
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    met = [
        case.solids[i].owner
        for i in case.tree.query(line, predicate="intersects").tolist()
        if case.base[i] < high
        and case.top[i] > low
        and case.solids[i].owner not in own
        and float(line.intersection(case.shapes[i]).length) > LEAST
    ]
    return tuple(dict.fromkeys(met))
