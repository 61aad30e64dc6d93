"""Outlines of rooms: checked, with walls numbered as they are written.

Wall i of a room joins outline[i] and outline[i + 1] as written, whichever way
round the outline runs; only the inward normal comes from the signed area. An
outline that crosses itself or holds a number that is not finite is refused. A
point written twice in a row and a very fine outline are repaired, and
`room_repairs` says so; walls are never renumbered.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from designkit.errors import InputError
from designkit.model import Point, Room

__all__ = [
    "Wall",
    "WallRun",
    "checked_outline",
    "is_number",
    "room_polygon",
    "room_repairs",
    "wall_runs",
    "walls_of",
]

WIDEST = 200.0  # m; a home wider than this was given in millimetres
SMALLEST = 0.1  # m²; no room is smaller
SAME = 1e-6  # m; points nearer than this are one point
FINE = 400  # corners above which an outline is drawn by fewer; more are refused
WITHIN = (0.001, 0.01)  # m; how far off the drawn outline may be, tried in this order


@dataclass(frozen=True, kw_only=True, eq=False)
class Wall:
    """One wall of a room, from `start` to `end` as the outline is written [m]."""

    room: str
    index: int
    start: Point
    end: Point
    length: float
    inward: Point  # unit normal into the room; (0, 0) for a wall of no length


@dataclass(frozen=True, kw_only=True, eq=False)
class WallRun:
    """Walls that lie nearly in one line, as one face to stand pieces against."""

    room: str
    walls: tuple[int, ...]
    start: Point
    end: Point
    length: float  # [m]
    inward: Point


def is_number(number: object) -> bool:
    """Whether something is a finite number, and neither text nor a yes or no.

    Parameters
    ----------
    number : object
        What was given.

    Returns
    -------
    bool
        True for a finite int or float.

    Examples
    --------
    >>> is_number(2.4), is_number("2.4"), is_number(float("nan"))
    (True, False, False)
    """
    return (
        isinstance(number, int | float) and not isinstance(number, bool) and math.isfinite(number)
    )


def _distinct(points: Sequence[Point]) -> list[int]:
    """Indices of the points that differ from the one before, round the ring."""
    kept = [i for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > SAME]
    while len(kept) > 1 and math.dist(points[kept[-1]], points[0]) <= SAME:
        kept.pop()
    return kept


def checked_outline(room_id: str, room: Room) -> tuple[Polygon, tuple[str, ...]]:
    """The floor of a room and what was mended in its outline.

    Parameters
    ----------
    room_id : str
        For messages.
    room : Room
        The room.

    Returns
    -------
    tuple of Polygon and tuple of str
        As `room_polygon` and `room_repairs`.

    Raises
    ------
    InputError
        As `room_polygon`.
    """
    what = f"outline of {room_id}"
    if not is_number(room.height) or not 0.0 < room.height < WIDEST:
        raise InputError(
            f"height of {room_id}",
            given=room.height,
            allowed="a number of metres above 0",
            mend='give it with its unit, as "2600 mm"',
        )
    for i, point in enumerate(room.outline):
        if len(point) != 2 or not all(is_number(n) for n in point):
            raise InputError(
                f"{what}, point {i + 1}",
                given=point,
                allowed="two finite numbers, x and y",
                mend="measure the point again",
            )
    kept = _distinct(room.outline)
    if len(kept) < 3:
        raise InputError(
            what, given=f"{len(kept)} different points", allowed="three or more points"
        )
    repairs: list[str] = []
    if len(kept) < len(room.outline):
        lost = len(room.outline) - len(kept)
        repairs.append(f"{what}: {lost} point{'s' if lost > 1 else ''} written twice taken as one")
    xs = [p[0] for p in room.outline]
    ys = [p[1] for p in room.outline]
    wide = max(max(xs) - min(xs), max(ys) - min(ys))
    if wide > WIDEST:
        raise InputError(
            what,
            given=f"{wide:g} m wide",
            allowed=f"at most {WIDEST:g} m",
            mend="millimetres may have been taken for metres: write the unit",
        )
    polygon = Polygon([room.outline[i] for i in kept])
    if not polygon.is_valid:
        raise InputError(
            what,
            given=shapely.is_valid_reason(polygon),
            allowed="corners in order round the room, no wall crossing another",
            mend="write the corners in the order in which one walks past them",
        )
    if polygon.area < SMALLEST:
        raise InputError(what, given=f"{polygon.area:.3f} m²", allowed=f"at least {SMALLEST:g} m²")
    if len(kept) > FINE:
        polygon, said = _by_fewer(polygon, what)
        repairs.append(said)
    return polygon, tuple(repairs)


def _by_fewer(polygon: Polygon, what: str) -> tuple[Polygon, str]:
    """An outline of many corners drawn by few, and what is said of it."""
    many = len(polygon.exterior.coords) - 1
    # A quick look first: what keeps the outline whole takes a second for a jagged one.
    corners = len(polygon.exterior.simplify(WITHIN[-1], preserve_topology=False).coords) - 1
    for within in WITHIN if corners <= FINE else ():
        plain = polygon.simplify(within)
        if not isinstance(plain, Polygon) or not plain.is_valid:
            continue
        corners = len(plain.exterior.coords) - 1
        if corners <= FINE:
            return plain, (
                f"{what}: {many} corners drawn within {within * 1000:g} mm by {corners}; "
                "walls keep their number"
            )
    raise InputError(
        what,
        given=f"{many} corners, {corners} when drawn within {WITHIN[-1] * 1000:g} mm",
        allowed=f"at most {FINE} that differ by more",
        mend="draw the room by its corners, without the grain of a scan",
    )


def room_polygon(room_id: str, room: Room) -> Polygon:
    """The floor of a room, checked.

    Parameters
    ----------
    room_id : str
        For messages.
    room : Room
        Its outline may run either way round.

    Returns
    -------
    Polygon
        Without columns.

    Raises
    ------
    InputError
        The outline crosses itself, is too small or too large, has too many
        corners, or a number is not finite.

    Examples
    --------
    >>> room_polygon("hall", Room(name="hall", outline=((0, 0), (0, 3), (2, 3), (2, 0)),
    ...                           height=2.6)).area
    6.0
    """
    return checked_outline(room_id, room)[0]


def room_repairs(room_id: str, room: Room) -> tuple[str, ...]:
    """What was mended in a room's outline, in sentences.

    Parameters
    ----------
    room_id : str
        For the sentences.
    room : Room
        The room.

    Returns
    -------
    tuple of str
        Empty where the outline is taken as written.

    Raises
    ------
    InputError
        As `room_polygon`.
    """
    return checked_outline(room_id, room)[1]


def _signed_area(points: Sequence[Point]) -> float:
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]]))


def walls_of(room_id: str, room: Room) -> tuple[Wall, ...]:
    """The walls of a room, numbered as its outline is written.

    Parameters
    ----------
    room_id : str
        Goes into each wall.
    room : Room
        The room.

    Returns
    -------
    tuple of Wall
        Wall i joins outline[i] and outline[i + 1].

    Examples
    --------
    >>> hall = Room(name="hall", outline=((0, 0), (0, 3), (2, 3), (2, 0)), height=2.6)
    >>> walls_of("hall", hall)[0].inward
    (1.0, 0.0)
    """
    points = room.outline
    turn = 1.0 if _signed_area(points) > 0 else -1.0
    walls = []
    for i, start in enumerate(points):
        end = points[(i + 1) % len(points)]
        length = math.dist(start, end)
        inward = (0.0, 0.0)
        if length > SAME:
            dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
            inward = (-dy * turn + 0.0, dx * turn + 0.0)  # + 0.0: no negative zero
        walls.append(
            Wall(room=room_id, index=i, start=start, end=end, length=length, inward=inward)
        )
    return tuple(walls)


def wall_runs(room_id: str, room: Room, *, tolerance: float = 0.01) -> tuple[WallRun, ...]:
    """The faces of a room: walls that lie nearly in one line taken together.

    Parameters
    ----------
    room_id : str
        Goes into each run.
    room : Room
        The room; of an outline of many small steps only the corners remain.
    tolerance : float, optional
        Distance within which walls are in one line. [m]

    Returns
    -------
    tuple of WallRun
        Each with the numbers of its walls, in order.

    Raises
    ------
    InputError
        As `room_polygon`.

    Examples
    --------
    >>> room = Room(name="r", outline=((0, 0), (2, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    >>> [run.walls for run in wall_runs("r", room)]
    [(0, 1), (2,), (3,), (4,)]
    """
    room_polygon(room_id, room)
    walls = walls_of(room_id, room)
    points = room.outline
    count = len(points)
    middle = np.mean(np.array(points, dtype=float), axis=0)
    # The line begins at the point farthest out, which is a true corner.
    first = int(np.argmax([math.dist(p, middle) for p in points]))
    ring = [(first + i) % count for i in range(count)]
    line = LineString([points[i] for i in ring] + [points[first]]).simplify(
        tolerance, preserve_topology=False
    )
    corners = [tuple(xy) for xy in line.coords]
    kept: list[int] = []
    step = 0
    for corner in corners[:-1]:
        while tuple(map(float, points[ring[step]])) != corner:
            step += 1
        kept.append(ring[step])
    turn = 1.0 if _signed_area(points) > 0 else -1.0
    runs = []
    for k, start in enumerate(kept):
        end = kept[(k + 1) % len(kept)]
        span = (end - start) % count or count
        a, b = points[start], points[end]
        length = math.dist(a, b)
        dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        runs.append(
            WallRun(
                room=room_id,
                walls=tuple(walls[(start + i) % count].index for i in range(span)),
                start=a,
                end=b,
                length=length,
                inward=(-dy * turn + 0.0, dx * turn + 0.0),
            )
        )
    return tuple(sorted(runs, key=lambda run: min(run.walls)))
