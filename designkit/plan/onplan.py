"""Routes, views and drapery of a space with its placed pieces.

Thin: the geometry is in `routes`, `sight`, `seating` and `drapery`; here the
space, its openings and its pieces are handed to them.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence

import shapely
from shapely.geometry import LineString, MultiPoint, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Drape, Point
from designkit.plan.drapery import Drapery, drapery
from designkit.plan.floors import Floor, prepare
from designkit.plan.place import Placed, PlacedSeat
from designkit.plan.seating import SeatPair, conversation
from designkit.plan.sight import Occluder, View, view_share
from designkit.plan.space import OpeningAt, Space, obstacles

__all__ = ["floor_of", "hang", "occluders_of", "opening_of", "seat_of", "talk", "view_from"]


def floor_of(
    space: Space,
    placed: Mapping[str, Placed],
    *,
    doors_at_least: float = 0.0,
    leaves: bool = True,
    overrides: Mapping[str, float] | None = None,
) -> Floor:
    """The floor of a space, prepared for routes.

    Parameters
    ----------
    space : Space
        The space; its doors that lead out of it are places.
    placed : mapping of str to Placed
        Pieces; they are places too.
    doors_at_least : float, optional
        Take narrower doors as so wide, as far as their wall goes, to see what
        limits a route behind them. [m]
    leaves : bool, optional
        Whether open door leaves are in the way.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Floor
        Walls are named "room wall i" as the outline numbers them.
    """
    ways = {at.id for at in space.openings}
    doors: dict[str, tuple[Point, Point]] = {}
    for at in space.openings:
        inside = at.room in space.rooms and at.to in space.rooms
        if at.opening.kind != "window" and not (inside and at.opening.kind == "passage"):
            doors.setdefault(at.id, _widened(space, at, doors_at_least))
    walls: list[tuple[str, BaseGeometry]] = [
        (f"{wall.room} wall {wall.index}", LineString([wall.start, wall.end]))
        for wall in space.walls
        if wall.length > 0
    ]
    return prepare(
        space.polygon,
        obstacles=[
            (id, shape)
            for id, shape in obstacles(space, placed, overrides=overrides)
            if leaves or id not in ways
        ],
        doors=list(doors.items()),
        walls=walls,
    )


def _widened(space: Space, at: OpeningAt, least: float) -> tuple[Point, Point]:
    """The clear edges of a door, moved apart evenly where they are nearer than `least`."""
    (ax, ay), (bx, by) = at.clear_left, at.clear_right
    length = math.hypot(bx - ax, by - ay)
    if not 0 < length < least:
        return at.clear_left, at.clear_right
    middle = at.centre
    if at.far:
        corner = length / 2  # the wall of the other room is not of this space
    else:
        ends = next(
            w for w in space.walls if (w.room, w.index) == (at.opening.room, at.opening.wall)
        )
        corner = min(math.dist(middle, ends.start), math.dist(middle, ends.end)) - 0.001
    k = max(0.0, (min(least / 2, corner) - length / 2) / length)
    dx, dy = (bx - ax) * k, (by - ay) * k
    return (ax - dx, ay - dy), (bx + dx, by + dy)


def occluders_of(placed: Mapping[str, Placed], *, without: str = "") -> list[Occluder]:
    """Parts of placed pieces as prisms that may stand before a view.

    Parameters
    ----------
    placed : mapping of str to Placed
        Pieces.
    without : str, optional
        Id of the piece that the eye belongs to.

    Returns
    -------
    list of Occluder
        One a part; parts that sight passes say so.
    """
    return [
        Occluder(
            id=id,
            footprint=part.footprint,
            base=part.base,
            top=part.top,
            transmits=part.transmits,
        )
        for id, piece in placed.items()
        if id != without
        for part in piece.parts
        if part.top > part.base and part.footprint.area > 0
    ]


def opening_of(space: Space, opening: str) -> OpeningAt:
    """One opening of a space by its id.

    Parameters
    ----------
    space : Space
        The space.
    opening : str
        Id.

    Returns
    -------
    OpeningAt
        As seen from its own room.

    Raises
    ------
    LookupFailed
        The space has no such opening.
    """
    for at in space.openings:
        if at.id == opening:
            return at
    names = sorted({at.id for at in space.openings})
    raise LookupFailed(
        f"opening of {space.id}",
        given=opening,
        allowed=", ".join(names) or "none",
        mend=f"use {nearest(opening, names)}" if nearest(opening, names) else "",
    )


def seat_of(placed: Mapping[str, Placed], piece: str, *, seat: int = 0) -> PlacedSeat:
    """One seat of a placed piece.

    Parameters
    ----------
    placed : mapping of str to Placed
        Pieces.
    piece : str
        Placement id.
    seat : int, optional
        Which of its seats, from 0.

    Returns
    -------
    PlacedSeat
        In the home's frame.

    Raises
    ------
    LookupFailed
        There is no such piece.
    InputError
        The piece has no such seat.
    """
    if piece not in placed:
        raise LookupFailed(
            "piece", given=piece, allowed=", ".join(sorted(placed)) or "none", mend="place it first"
        )
    seats = placed[piece].seats
    if not 0 <= seat < len(seats):
        raise InputError(
            f"seat of {piece}",
            given=seat,
            allowed=f"0 to {len(seats) - 1}" if seats else "a piece with seats",
        )
    return seats[seat]


def view_from(
    space: Space,
    placed: Mapping[str, Placed],
    *,
    piece: str,
    opening: str,
    seat: int = 0,
    more: Sequence[Occluder] = (),
    overrides: Mapping[str, float] | None = None,
) -> View:
    """How much of an opening is seen from a seat.

    Parameters
    ----------
    space : Space
        The space of both.
    placed : mapping of str to Placed
        Pieces; the seat's own does not hide the view.
    piece : str
        Placement id of the seat's piece.
    opening : str
        Id of the window or door.
    seat : int, optional
        Which of its seats, from 0.
    more : sequence of Occluder, optional
        What else may stand before it, such as open drapery.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    View
        See `designkit.plan.sight.view_share`.

    Raises
    ------
    LookupFailed
        There is no such piece or opening.
    InputError
        The piece has no such seat, or the seat is not in the space.
    """
    at = opening_of(space, opening)
    sitter = seat_of(placed, piece, seat=seat)
    columns = [
        Occluder(id=c.id, footprint=c.polygon, base=0.0, top=space.heights[c.room])
        for c in space.columns
    ]
    # Only what reaches between the eye and the opening can hide it.
    between = MultiPoint([sitter.at, at.left, at.right]).convex_hull
    low, high = min(sitter.eye, at.opening.sill), max(sitter.eye, at.opening.head)
    before = [
        o
        for o in (*columns, *occluders_of(placed, without=piece), *more)
        if o.top > low and o.base < high
    ]
    reaches = shapely.intersects(between, [o.footprint for o in before])
    return _view(
        (*sitter.at, sitter.eye),
        (at.left, at.right),
        (at.opening.sill, at.opening.head),
        tuple(o for o, reach in zip(before, reaches, strict=True) if reach),
        space.polygon,
        sitter.facing,
        tuple((overrides or {}).items()),
    )


@functools.lru_cache(maxsize=256)  # what stands aside or below may move without another look
def _view(
    eye: tuple[float, float, float],
    jambs: tuple[Point, Point],
    heights: tuple[float, float],
    occluders: tuple[Occluder, ...],
    room: Polygon | MultiPolygon,
    facing: float | None,
    overrides: tuple[tuple[str, float], ...],
) -> View:
    return view_share(
        eye,
        jambs=jambs,
        sill=heights[0],
        head=heights[1],
        occluders=occluders,
        room=room,
        facing=facing,
        overrides=dict(overrides),
    )


def talk(
    placed: Mapping[str, Placed],
    *,
    pieces: tuple[str, ...],
    overrides: Mapping[str, float] | None = None,
) -> tuple[SeatPair, ...]:
    """Distances and turns between the seats of several pieces.

    Parameters
    ----------
    placed : mapping of str to Placed
        Pieces.
    pieces : tuple of str
        Placement ids of the group.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of SeatPair
        Seats of one piece are not paired with each other.

    Raises
    ------
    LookupFailed
        A piece is not placed.
    InputError
        A piece has no seat.
    """
    seats: list[tuple[str, Point, float]] = []
    owner: dict[str, str] = {}
    for piece in pieces:
        seat_of(placed, piece)
        for number, seat in enumerate(placed[piece].seats):
            name = piece if len(placed[piece].seats) == 1 else f"{piece}, seat {number + 1}"
            owner[name] = piece
            seats.append((name, seat.at, seat.facing))
    pairs = conversation(seats, overrides=overrides)
    return tuple(pair for pair in pairs if owner[pair.first] != owner[pair.second])


def hang(
    space: Space,
    drape: Drape,
    *,
    drawn: float = 0.5,
    overrides: Mapping[str, float] | None = None,
) -> Drapery:
    """Where a drape of a layout hangs in its space.

    Parameters
    ----------
    space : Space
        The space of its opening.
    drape : Drape
        As drawn in a layout.
    drawn : float, optional
        Share of the way to closed in the state "part". [1]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Drapery
        See `designkit.plan.drapery.drapery`.

    Raises
    ------
    LookupFailed
        The space has no such opening.
    InputError
        The track does not fit the wall.
    """
    at = opening_of(space, drape.opening)
    wall = next(w for w in space.walls if w.room == at.opening.room and w.index == at.opening.wall)
    return drapery(
        drape,
        opening=at.opening,
        wall=(wall.start, wall.end),
        inward=wall.inward,
        ceiling=space.heights[at.opening.room],
        drawn=drawn,
        overrides=overrides,
    )
