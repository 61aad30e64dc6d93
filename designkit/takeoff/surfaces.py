"""Walls, ceilings and floors of the model as areas with holes.

Wall i joins outline[i] and outline[i + 1] as written. A door between two
rooms is written once, in one of them, and is a hole in the walls of both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Column, Home, Opening, Room

__all__ = [
    "ColumnFace",
    "Hole",
    "WallFace",
    "as_seen",
    "column_faces",
    "column_outline",
    "floor_area",
    "room_at",
    "room_outline",
    "room_with",
    "wall_faces",
    "wall_name",
]

# How far apart the two faces of one wall may stand beyond its stated thickness
# when the far side of a door is looked for: plan accuracy, rule P07. [m]
_PLAN_ERROR = 0.05


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A part of a wall that is not covered, seen in the wall's own frame. [m]"""

    id: str
    kind: str  # door, window, balcony, passage, column
    left: float  # from the wall's first vertex as written
    right: float
    sill: float
    head: float

    @property
    def area(self) -> float:
        """Width times height. [m²]"""
        return (self.right - self.left) * (self.head - self.sill)


@dataclass(frozen=True, kw_only=True)
class WallFace:
    """One wall of one room as a rectangle with holes. [m]"""

    room: str
    wall: int
    length: float
    height: float
    finish: str
    holes: tuple[Hole, ...]

    @property
    def gross(self) -> float:
        """Length times height. [m²]"""
        return self.length * self.height

    @property
    def holes_area(self) -> float:
        """Area of all holes, overlaps counted once. [m²]"""
        if not self.holes:
            return 0.0
        return float(unary_union([box(h.left, h.sill, h.right, h.head) for h in self.holes]).area)

    @property
    def net(self) -> float:
        """What is covered. [m²]"""
        return self.gross - self.holes_area


@dataclass(frozen=True, kw_only=True)
class ColumnFace:
    """The faces of a column that are seen in the room. [m]"""

    room: str
    column: int
    length: float  # of its outline that is free
    height: float
    finish: str
    closed: bool  # free on all sides


def room_with(home: Home, room: str) -> Room:
    """A room by its id.

    Parameters
    ----------
    home : Home
        The home.
    room : str
        Room id.

    Returns
    -------
    Room
        The room.

    Raises
    ------
    LookupFailed
        There is no such room.
    """
    if room not in home.rooms:
        raise LookupFailed(
            "room",
            given=room,
            allowed=", ".join(home.rooms),
            mend=f"did you mean {nearest(room, home.rooms) or 'one of these'}?",
        )
    return home.rooms[room]


def column_outline(column: Column) -> Polygon:
    """The footprint of a column.

    Parameters
    ----------
    column : Column
        From the model.

    Returns
    -------
    Polygon
        Plan shape. [m]
    """
    x, y = column.at
    width, depth = column.size
    if column.shape == "circle":
        # 64 sides a quarter: the outline is short by 1 part in 10 000.
        return Point(x, y).buffer(width / 2, quad_segs=64)
    shape = box(x - width / 2, y - depth / 2, x + width / 2, y + depth / 2)
    return affinity.rotate(shape, column.rotation, origin=(x, y))


def room_outline(room: Room) -> Polygon:
    """The outline of a room as a polygon, whichever way its vertices run.

    Parameters
    ----------
    room : Room
        From the model.

    Returns
    -------
    Polygon
        Plan shape without columns taken out. [m]

    Raises
    ------
    InputError
        The outline has fewer than three corners, is not finite, or crosses itself.
    """
    if len(room.outline) < 3 or not all(math.isfinite(v) for p in room.outline for v in p):
        raise InputError(
            f"outline of {room.name}",
            given=len(room.outline),
            allowed="three or more corners with finite coordinates",
            mend="measure the room wall by wall",
        )
    shape = Polygon(room.outline)
    if not shape.is_valid or shape.area <= 0:
        raise InputError(
            f"outline of {room.name}",
            given=f"{len(room.outline)} corners that cross themselves",
            allowed="a simple outline",
            mend="write the corners in the order one walks past them",
        )
    return shape


def floor_area(room: Room) -> float:
    """Floor of a room, net of its columns.

    Parameters
    ----------
    room : Room
        From the model.

    Returns
    -------
    float
        Area. Floor under furniture and radiators is floor; doorways are not
        counted. [m²]

    Examples
    --------
    >>> l_room = ((0, 0), (6, 0), (6, 2), (3, 2), (3, 4), (0, 4))
    >>> floor_area(Room(name="L", outline=l_room, height=2.6))
    18.0
    """
    columns = unary_union([column_outline(c) for c in room.columns])
    return float(room_outline(room).difference(columns).area)


def room_at(home: Home, at: tuple[float, float]) -> str:
    """The id of the room that holds a point of the plan.

    Parameters
    ----------
    home : Home
        The home.
    at : tuple of float
        Plan point. [m]

    Returns
    -------
    str
        Room id; "" where no room holds it.
    """
    spot = Point(at)
    for name, room in home.rooms.items():
        if room_outline(room).covers(spot):
            return name
    return ""


def _edges(room: Room) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    corners = room.outline
    return [(corners[i], corners[(i + 1) % len(corners)]) for i in range(len(corners))]


def _check_opening(name: str, opening: Opening, room: Room, length: float) -> None:
    if opening.width <= 0 or opening.offset < 0 or opening.offset + opening.width > length + 1e-6:
        raise InputError(
            f"openings.{name}",
            given=f"{opening.offset:g} m + {opening.width:g} m",
            allowed=f"inside wall {opening.wall} of {room.name}, 0 … {length:.3f} m",
            mend="measure the offset from the wall's first corner as written",
        )
    if not 0 <= opening.sill < opening.head:
        raise InputError(
            f"openings.{name}.head",
            given=f"sill {opening.sill:g} m, head {opening.head:g} m",
            allowed="0 ≤ sill < head",
            mend="measure both from the finished floor",
        )


def _far_side(opening: Opening, near: Room, far: Room) -> tuple[int, float, float] | None:
    """Wall of `far` that the opening also cuts, with its span there."""
    (ax, ay), (bx, by) = _edges(near)[opening.wall]
    length = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    ends = [(ax + ux * d, ay + uy * d) for d in (opening.offset, opening.offset + opening.width)]
    best: tuple[float, int, float, float] | None = None
    for index, ((cx, cy), (dx, dy)) in enumerate(_edges(far)):
        side = math.hypot(dx - cx, dy - cy)
        if side == 0:
            continue
        vx, vy = (dx - cx) / side, (dy - cy) / side
        if abs(ux * vy - uy * vx) > 0.02:  # about 1°
            continue
        apart = max(abs((x - cx) * vy - (y - cy) * vx) for x, y in ends)
        if apart > opening.thickness + _PLAN_ERROR:
            continue
        along = sorted((x - cx) * vx + (y - cy) * vy for x, y in ends)
        low, high = max(along[0], 0.0), min(along[1], side)
        if high - low < 0.9 * opening.width:
            continue
        if best is None or apart < best[0]:
            best = (apart, index, low, high)
    return None if best is None else best[1:]


def wall_name(wall: int) -> str:
    """A wall as people count it: from 1, as on the survey and the finish plan.

    Parameters
    ----------
    wall : int
        As the outline is written, from 0.

    Returns
    -------
    str
        In words.

    Examples
    --------
    >>> wall_name(0)
    'wall 1'
    """
    return f"wall {wall + 1}"


def wall_faces(home: Home, room: str) -> tuple[WallFace, ...]:
    """The walls of a room with their finishes and holes.

    Parameters
    ----------
    home : Home
        The home.
    room : str
        Room id.

    Returns
    -------
    tuple of WallFace
        One a wall, in the order of the outline. Doors and passages that are
        written in the room next door are cut on this side too; the stretch
        that a column stands against counts as a hole.

    Raises
    ------
    InputError
        An opening does not fit its wall.
    LookupFailed
        There is no such room.
    """
    the_room = room_with(home, room)
    room_outline(the_room)
    edges = _edges(the_room)
    holes: list[list[Hole]] = [[] for _ in edges]

    def cut(index: int, name: str, opening: Opening, low: float, high: float) -> None:
        holes[index].append(
            Hole(
                id=name,
                kind=opening.kind,
                left=low,
                right=high,
                sill=opening.sill,
                head=min(opening.head, the_room.height),
            )
        )

    for name, opening in home.openings.items():
        if opening.room == room:
            if not 0 <= opening.wall < len(edges):
                raise InputError(
                    f"openings.{name}.wall",
                    given=opening.wall,
                    allowed=f"0 … {len(edges) - 1}",
                    mend="wall i joins corner i and corner i + 1 of the outline",
                )
            (ax, ay), (bx, by) = edges[opening.wall]
            _check_opening(name, opening, the_room, math.hypot(bx - ax, by - ay))
            cut(opening.wall, name, opening, opening.offset, opening.offset + opening.width)
        elif opening.to == room and opening.room in home.rooms:
            found = _far_side(opening, home.rooms[opening.room], the_room)
            if found is not None:
                cut(found[0], name, opening, found[1], found[2])

    for number, column in enumerate(the_room.columns):
        # Grown by a hair so that a pier drawn exactly on the wall line touches it.
        shape = column_outline(column).buffer(1e-6, join_style="mitre")
        for index, (start, end) in enumerate(edges):
            line = LineString([start, end])
            touch = line.intersection(shape)
            if touch.length > 1e-3:
                spots = [line.project(Point(p)) for p in touch.coords]
                holes[index].append(
                    Hole(
                        id=f"column {number + 1}",
                        kind="column",
                        left=max(0.0, min(spots)),
                        right=min(line.length, max(spots)),
                        sill=0.0,
                        head=the_room.height,
                    )
                )

    return tuple(
        WallFace(
            room=room,
            wall=index,
            length=math.hypot(end[0] - start[0], end[1] - start[1]),
            height=the_room.height,
            finish=the_room.walls.get(str(index), the_room.wall),
            holes=tuple(sorted(holes[index], key=lambda h: (h.left, h.sill, h.id))),
        )
        for index, (start, end) in enumerate(edges)
    )


def as_seen(faces: Sequence[WallFace], *, room: Room) -> tuple[WallFace, ...]:
    """Walls from left to right as one who stands in the room sees them.

    Parameters
    ----------
    faces : sequence of WallFace
        From `wall_faces`, in the order of the outline.
    room : Room
        Whose walls they are.

    Returns
    -------
    tuple of WallFace
        Beginning with the first; holes are measured from each wall's left end.

    Examples
    --------
    >>> square = Room(name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.5)
    >>> door = Hole(id="d", kind="door", left=0.5, right=1.4, sill=0.0, head=2.1)
    >>> wall = WallFace(room="r", wall=0, length=4.0, height=2.5, finish="", holes=(door,))
    >>> as_seen([wall], room=square)[0].holes[0].left
    2.6
    """
    if not Polygon(room.outline).exterior.is_ccw:
        return tuple(faces)  # written clockwise: one walks along it to the right
    turned = []
    for face in (*faces[:1], *reversed(faces[1:])):
        holes = [
            replace(
                hole,
                left=round(face.length - hole.right, 9),
                right=round(face.length - hole.left, 9),
            )
            for hole in reversed(face.holes)
        ]
        turned.append(replace(face, holes=tuple(holes)))
    return tuple(turned)


def column_faces(home: Home, room: str) -> tuple[ColumnFace, ...]:
    """What is seen of the columns of a room.

    Parameters
    ----------
    home : Home
        The home.
    room : str
        Room id.

    Returns
    -------
    tuple of ColumnFace
        One a column; the part that stands against a wall or outside the room
        is left out.

    Raises
    ------
    LookupFailed
        There is no such room.
    """
    the_room = room_with(home, room)
    outline = room_outline(the_room)
    inside = outline.buffer(-1e-4)
    faces = []
    for number, column in enumerate(the_room.columns):
        edge = column_outline(column).exterior
        free = edge.intersection(inside)
        closed = abs(free.length - edge.length) < 1e-3
        faces.append(
            ColumnFace(
                room=room,
                column=number,
                length=float(edge.length if closed else free.length),
                height=the_room.height,
                finish=column.finish or the_room.wall,
                closed=closed,
            )
        )
    return tuple(faces)
