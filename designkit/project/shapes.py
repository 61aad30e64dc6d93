"""Whether rooms, columns and openings can be drawn as they are written."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations

from shapely import STRtree, affinity
from shapely.geometry import LineString, Point, Polygon, box

from designkit import model
from designkit.plan.outline import FINE, WITHIN
from designkit.project.problems import Notes

__all__ = ["check_shapes", "crossing_walls"]

_LARGEST = 100.0  # [m] a wider room is a slip of the unit
_SMALLEST = 0.3  # [m]
_CLOSE = 0.001  # [m] what a tape measure does not tell apart
_NEAR_WALL = 0.35  # [m] a radiator or switch may be written on or in the wall
_SHARED = 0.01  # [m²] rooms that touch may overlap by rounding


def check_shapes(home: model.Home, failed: frozenset[str], notes: Notes) -> None:
    """Check the geometry of rooms, columns, openings and services.

    Parameters
    ----------
    home : Home
        As far as it could be read.
    failed : frozenset of str
        Ids of rooms that could not be read.
    notes : Notes
        Gets the problems, and counts what waits.
    """
    good: dict[str, Polygon] = {}
    for id, room in home.rooms.items():
        shape = _room(f"rooms.{id}", room, home.units, notes)
        if shape is None:
            notes.waiting += len(room.columns)
            continue
        good[id] = shape
        for number, column in enumerate(room.columns):
            _column(f"rooms.{id}.columns.{number}", column, shape, notes)
    _rooms_apart(good, notes)
    walls: dict[tuple[str, int], list[str]] = {}
    for id, opening in home.openings.items():
        if opening.room in home.rooms and opening.room in good:
            if _opening(f"openings.{id}", opening, home.rooms[opening.room], notes):
                walls.setdefault((opening.room, opening.wall), []).append(id)
        elif opening.room in home.rooms or opening.room in failed:
            notes.waiting += 1
    for (_, wall), ids in walls.items():
        for one, two in combinations(ids, 2):
            _beside(one, two, wall, home.openings, notes)
    for id, service in home.services.items():
        if service.room in good:
            _service(f"services.{id}", service, good[service.room], notes)
        elif service.room in home.rooms or service.room in failed:
            notes.waiting += 1


def crossing_walls(outline: tuple[model.Point, ...]) -> list[tuple[int, int]]:
    """Pairs of walls of an outline that meet where they should not.

    Parameters
    ----------
    outline : tuple of points
        Corners in order. [m]

    Returns
    -------
    list of tuple of int
        Wall numbers as written.

    Examples
    --------
    >>> crossing_walls(((0, 0), (2, 2), (2, 0), (0, 2)))
    [(0, 2)]
    """
    count = len(outline)
    walls = [LineString([outline[n], outline[(n + 1) % count]]) for n in range(count)]
    found = []
    for one, two in combinations(range(count), 2):
        next_to = two == one + 1 or (one == 0 and two == count - 1)
        meet = walls[one].intersection(walls[two])
        if (next_to and meet.length > _CLOSE) or (not next_to and not meet.is_empty):
            found.append((one, two))
    return found


def _room(path: str, room: model.Room, declared: str, notes: Notes) -> Polygon | None:
    outline = room.outline
    if len(outline) < 3:
        notes.bad(
            f"{path}.outline", f"{len(outline)} points", "three points or more", "add the corners"
        )
        return None
    if len(outline) > FINE:  # a scan; what is drawn and searched grows with its square
        notes.bad(
            f"{path}.outline",
            f"{len(outline)} points",
            f"at most {FINE} corners",
            f"draw the room by its corners: a point within {WITHIN[-1] * 1000:g} mm of the line "
            "between its neighbours is none",
        )
        return None
    xs, ys = zip(*outline, strict=True)
    wide, deep = max(xs) - min(xs), max(ys) - min(ys)
    if max(wide, deep) > _LARGEST or min(wide, deep) < _SMALLEST:
        notes.bad(
            f"{path}.outline",
            f"{wide:g} m × {deep:g} m",
            f"a room of {_SMALLEST:g} m to {_LARGEST:g} m",
            f"look at the unit: bare numbers count in {declared} here"
            + (
                f'; if they are millimetres, write units = "mm" and the room is '
                f"{wide / 1000:g} m × {deep / 1000:g} m"
                if declared == "m" and max(wide, deep) > _LARGEST
                else ""
            ),
        )
        return None
    for number in range(len(outline)):
        after = (number + 1) % len(outline)
        if math.dist(outline[number], outline[after]) < _CLOSE:
            closing = after == 0
            notes.bad(
                f"{path}.outline.{number}",
                f"{outline[number][0]:g}, {outline[number][1]:g}",
                "corners that differ",
                "leave out the last corner: the outline closes itself"
                if closing
                else "leave out one of the two",
            )
            return None
    crossing = crossing_walls(outline)
    if crossing:
        one, two = crossing[0]
        notes.bad(
            f"{path}.outline",
            f"walls {one} and {two} cross",
            "corners in order round the room",
            f"look at the corners {one}, {one + 1}, {two} and {(two + 1) % len(outline)}",
        )
        return None
    for key in room.walls:
        if not key.isdigit() or int(key) >= len(outline):
            notes.bad(
                f"{path}.walls.{key}",
                "no such wall",
                f"0 to {len(outline) - 1}",
                "wall n joins corner n and corner n + 1, from 0",
            )
    return Polygon(outline)


def _column(path: str, column: model.Column, room: Polygon, notes: Notes) -> None:
    width, depth = column.size
    if min(width, depth) <= 0:
        notes.waiting += 1
        return
    if column.shape == "circle":
        shape = Point(column.at).buffer(width / 2)
    else:
        shape = affinity.rotate(
            box(-width / 2, -depth / 2, width / 2, depth / 2), column.rotation, origin=(0, 0)
        )
        shape = affinity.translate(shape, *column.at)
    if room.intersection(shape).area < _CLOSE**2:
        notes.bad(
            f"{path}.at",
            f"{column.at[0]:g}, {column.at[1]:g} m",
            "a column that stands in the room, wholly or partly",
            "give its centre in the frame of the whole home",
        )


def _rooms_apart(rooms: Mapping[str, Polygon], notes: Notes) -> None:
    ids = list(rooms)
    tree = STRtree([rooms[id] for id in ids])
    for number, id in enumerate(ids):
        for other in sorted(int(n) for n in tree.query(rooms[id], predicate="intersects")):
            if other <= number:
                continue
            shared = rooms[id].intersection(rooms[ids[other]]).area
            if shared > _SHARED:
                notes.bad(
                    f"rooms.{ids[other]}.outline",
                    f"{shared:.2f} m² of it lie in {id}",
                    "rooms that do not overlap",
                    "write all rooms in one frame, each in its own place",
                )


def _opening(path: str, opening: model.Opening, room: model.Room, notes: Notes) -> bool:
    count = len(room.outline)
    if not 0 <= opening.wall < count:
        notes.bad(
            f"{path}.wall",
            opening.wall,
            f"0 to {count - 1} in {opening.room}",
            "wall n joins corner n and corner n + 1, from 0",
        )
        return False
    start, end = room.outline[opening.wall], room.outline[(opening.wall + 1) % count]
    long = math.dist(start, end)
    right = True
    if opening.offset < -_CLOSE or opening.offset + opening.width > long + _CLOSE:
        notes.bad(
            f"{path}.offset",
            f"{opening.offset:g} m, and {opening.width:g} m wide",
            f"inside wall {opening.wall} of {opening.room}, which is {long:.3f} m long",
            f"the offset counts from corner {opening.wall}; it may be 0 to "
            f"{long - opening.width:.3f} m"
            if opening.width <= long
            else "look at the width, and at the number of the wall",
        )
        right = False
    if opening.head > room.height + _CLOSE:
        notes.bad(
            f"{path}.head",
            f"{opening.head:g} m",
            f"at most the height of {opening.room}, {room.height:g} m",
            "the head is a height above the floor",
        )
    return right


def _beside(
    one: str, two: str, wall: int, openings: Mapping[str, model.Opening], notes: Notes
) -> None:
    a, b = openings[one], openings[two]
    along = min(a.offset + a.width, b.offset + b.width) - max(a.offset, b.offset)
    up = min(a.head, b.head) - max(a.sill, b.sill)
    if along > _CLOSE and up > _CLOSE:
        notes.bad(
            f"openings.{two}.offset",
            f"{b.offset:g} m, over {one} by {along:.3f} m",
            f"openings side by side in wall {wall} of {a.room}",
            "measure both offsets from the same corner",
        )


def _service(path: str, service: model.Service, room: Polygon, notes: Notes) -> None:
    if room.distance(Point(service.at)) > _NEAR_WALL:
        notes.bad(
            f"{path}.at",
            f"{service.at[0]:g}, {service.at[1]:g} m",
            f"a place in {service.room} or on its walls",
            "give its centre in the frame of the whole home",
        )
