"""Shapes of the cut walls of a plan and the frames of the openings in them.

A wall is as thick as the openings in it say; between two rooms it fills what is
between them; elsewhere it takes the thickest opening that leads outside, else
`WALL`. What the project does not say is so drawn, not measured.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
import shapely.affinity
from shapely.geometry import LineString
from shapely.geometry import Point as Dot
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from designkit.figures.drawing import XY
from designkit.model import Column, Home, Opening, Room

__all__ = [
    "CUT_HEIGHT",
    "NEAR",
    "OUTDOORS",
    "WALL",
    "Frame",
    "opening_frame",
    "wall_geometry",
    "walls_of",
]

CUT_HEIGHT = 1.2  # the plan is cut here [m]
WALL = 0.2  # thickness drawn where nothing says it [m]
NEAR = 0.6  # rooms nearer than this have one wall between them [m]
OUTDOORS = ("balcony", "terrace", "loggia", "garden")


@dataclass(frozen=True, kw_only=True)
class Frame:
    """An opening in its wall: its two jambs on the inner face, and directions. [m]"""

    start: XY  # jamb nearer to outline[wall]
    end: XY
    along: XY  # unit vector from start to end
    outward: XY  # unit vector out of the room
    depth: float  # thickness of the wall
    start_is_left: bool  # seen from inside, facing the opening


def _signed_area(points: Sequence[XY]) -> float:
    return (
        sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]])) / 2
    )


def walls_of(room: Room) -> list[tuple[XY, XY, XY, XY]]:
    """Start, end, unit vector along, unit vector outward of each wall as written.

    Parameters
    ----------
    room : Room
        Its outline as written.

    Returns
    -------
    list of (XY, XY, XY, XY)
        One for each wall. [m]
    """
    points = room.outline
    turn = 1.0 if _signed_area(points) > 0 else -1.0
    found = []
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]]):
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        u = ((x1 - x0) / length, (y1 - y0) / length)
        found.append(((x0, y0), (x1, y1), u, (u[1] * turn, -u[0] * turn)))
    return found


def opening_frame(room: Room, opening: Opening, *, depth: float | None = None) -> Frame:
    """Where an opening is in the home's frame.

    Parameters
    ----------
    room : Room
        The room that it belongs to.
    opening : Opening
        The opening.
    depth : float, optional
        Thickness of the wall as drawn; the opening's own without it. [m]

    Returns
    -------
    Frame
        Jambs and directions.

    Examples
    --------
    >>> room = Room(name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    >>> door = Opening(room="r", wall=0, offset=1, width=0.9, head=2.1, kind="door")
    >>> frame = opening_frame(room, door)
    >>> frame.start, frame.outward, frame.start_is_left
    ((1.0, 0.0), (0.0, -1.0), False)
    """
    (x, y), _, u, out = walls_of(room)[opening.wall]
    start = (x + u[0] * opening.offset, y + u[1] * opening.offset)
    end = (start[0] + u[0] * opening.width, start[1] + u[1] * opening.width)
    left = (-out[1], out[0])
    return Frame(
        start=start,
        end=end,
        along=u,
        outward=out,
        depth=opening.thickness if depth is None else depth,
        start_is_left=left[0] * u[0] + left[1] * u[1] < 0,
    )


def _meet(p: XY, u: XY, q: XY, v: XY) -> XY | None:
    """Where the lines p + s·u and q + t·v cross."""
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 0.05:
        return None
    s = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / cross
    return p[0] + u[0] * s, p[1] + u[1] * s


def _wall_quads(room: Room, thick: Sequence[float]) -> list[Shape]:
    """A quadrilateral a wall, outward, mitred with its neighbours."""
    walls = walls_of(room)
    count = len(walls)
    corners: list[tuple[XY, XY]] = []  # outer corner at the start of wall i: for i − 1, for i
    for i in range(count):
        a, b = walls[i - 1], walls[i]
        ta, tb = thick[i - 1], thick[i]
        p = b[0]
        own_a = (p[0] + a[3][0] * ta, p[1] + a[3][1] * ta)
        own_b = (p[0] + b[3][0] * tb, p[1] + b[3][1] * tb)
        cross = _meet(own_a, a[2], own_b, b[2])
        if cross is None or math.dist(cross, p) > 3 * max(ta, tb):
            corners.append((own_a, own_b))
        else:
            corners.append((cross, cross))
    quads: list[Shape] = []
    for i, (start, end, _, _) in enumerate(walls):
        ring = [start, end, corners[(i + 1) % count][0], corners[i][1]]
        quad = Shape(ring)
        hull = quad.convex_hull
        quads.append(quad if quad.is_valid or not isinstance(hull, Shape) else hull)
    return quads


def _across(wall: tuple[XY, XY, XY, XY], others: Sequence[tuple[str, Shape]]) -> list[float]:
    """Gaps to other rooms that face a wall, from its middle and its quarters. [m]"""
    (x0, y0), (x1, y1), _, out = wall
    gaps = []
    for share in (0.25, 0.5, 0.75):
        x, y = x0 + (x1 - x0) * share, y0 + (y1 - y0) * share
        ray = LineString(
            [
                (x + out[0] * 0.001, y + out[1] * 0.001),
                (x + out[0] * NEAR, y + out[1] * NEAR),
            ]
        )
        for _, shape in others:
            if ray.intersects(shape):
                gaps.append(Dot(x, y).distance(ray.intersection(shape)))
    return gaps


def wall_geometry(
    home: Home, rooms: Mapping[str, Room]
) -> tuple[BaseGeometry, BaseGeometry, dict[str, Frame]]:
    """Walls less openings, floors, and the frame of each opening. [m]

    Parameters
    ----------
    home : Home
        Its openings.
    rooms : mapping of str to Room
        Those that are drawn.

    Returns
    -------
    (BaseGeometry, BaseGeometry, dict of str to Frame)
        Walls, floors, and the frame of each opening by its id. [m]
    """
    indoor = {k: r for k, r in rooms.items() if r.use not in OUTDOORS}
    shapes = {k: Shape(r.outline).buffer(0) for k, r in indoor.items()}
    openings = {k: o for k, o in home.openings.items() if o.room in indoor}
    outer = [o.thickness for o in openings.values() if o.to not in rooms or o.to not in indoor]
    usual = max(outer, default=WALL)
    quads: list[BaseGeometry] = []
    frames: dict[str, Frame] = {}
    holes: list[BaseGeometry] = []
    for name, room in indoor.items():
        others = [(k, s) for k, s in shapes.items() if k != name]
        thick: list[float] = []
        for index, wall in enumerate(walls_of(room)):
            own = [o.thickness for o in openings.values() if o.room == name and o.wall == index]
            gaps = _across(wall, others)
            if gaps:
                thick.append(max(gaps))
            else:
                thick.append(max(own) if own else usual)
        quads += _wall_quads(room, thick)
        for id, opening in openings.items():
            if opening.room != name:
                continue
            frame = opening_frame(room, opening, depth=thick[opening.wall] or opening.thickness)
            frames[id] = frame
            if opening.kind == "window" and opening.sill > CUT_HEIGHT:
                continue  # above the cut: the wall goes on below it
            (sx, sy), (ex, ey), (ox, oy) = frame.start, frame.end, frame.outward
            d = frame.depth + 0.002
            holes.append(
                Shape(
                    [
                        (sx - ox * 0.002, sy - oy * 0.002),
                        (ex - ox * 0.002, ey - oy * 0.002),
                        (ex + ox * d, ey + oy * d),
                        (sx + ox * d, sy + oy * d),
                    ]
                )
            )
    floor = shapely.union_all(list(shapes.values()))
    solid = shapely.union_all([*quads, floor])
    # Slots between rooms that no wall reaches are wall too.
    solid = solid.buffer(NEAR / 2, join_style="mitre").buffer(-NEAR / 2, join_style="mitre")
    walls = solid.difference(floor)
    for room in indoor.values():
        for column in room.columns:
            walls = walls.union(_column(column))
    if holes:
        walls = walls.difference(shapely.union_all(holes))
    # Slivers from coordinates that differ in the last place are no walls.
    pieces = [g for g in getattr(walls, "geoms", [walls]) if g.area > 1e-4]
    return shapely.union_all(pieces), floor, frames


def _column(column: Column) -> BaseGeometry:
    x, y = column.at
    w, d = column.size
    if column.shape == "circle":
        return Dot(x, y).buffer(w / 2, quad_segs=24)
    box = shapely.box(x - w / 2, y - d / 2, x + w / 2, y + d / 2)
    return shapely.affinity.rotate(box, column.rotation, origin=(x, y))
