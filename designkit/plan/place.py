"""Pieces in room coordinates: `place()` is the only function that does this."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import (
    Fixture,
    Home,
    Layout,
    Part,
    Piece,
    Placement,
    Point,
    Room,
    Seat,
    Severity,
    Side,
    Zone,
)
from designkit.plan.chairs import chair_places
from designkit.plan.outline import Wall, walls_of
from designkit.plan.pieces import kind_of, parts_of, seats_of, zones_of
from designkit.plan.turning import CIRCLE, SQUARE, Array, axes_of, disc, turned
from designkit.reference import value

__all__ = [
    "Placed",
    "PlacedPart",
    "PlacedSeat",
    "PlacedZone",
    "disc",
    "is_on_wall",
    "place",
    "place_all",
    "place_home",
    "place_lamps",
    "turned",
]


NEAR_WALL = 0.3  # m; a wall light nearer than this to a wall hangs on it


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedPart:
    """A part of a piece in the home's frame, a prism from base to top [m]."""

    name: str
    footprint: Polygon
    base: float
    top: float
    finish: str
    transmits: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedZone:
    """Floor that the use of a placed piece needs.

    `origin` is the middle of the piece's side, `outward` the unit vector away
    from the piece, `depth` and `width` the sides of the rectangle [m].
    """

    kind: str
    area: Polygon
    severity: Severity
    rule: str
    side: Side = "front"
    origin: tuple[float, float] = (0.0, 0.0)
    outward: tuple[float, float] = (0.0, -1.0)
    depth: float = 0.0
    width: float = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedSeat:
    """A seat in the home's frame: position, facing [° ccw from x], heights [m]."""

    at: tuple[float, float]
    facing: float
    height: float
    eye: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Placed:
    """A piece where it stands. Chairs of a table are Placed things of their own
    with the id "table.front1" and `host` = "table"."""

    id: str
    piece: Piece
    item: str  # piece id
    at: tuple[float, float]
    rotation: float  # [°]
    footprint: Polygon  # hull of its parts that touch or hang over the floor
    base: float
    top: float
    parts: tuple[PlacedPart, ...]
    zones: tuple[PlacedZone, ...]
    seats: tuple[PlacedSeat, ...]
    host: str = ""
    on: str = ""  # id of what it stands on
    room: str = ""  # as written in the placement
    locked: bool = False
    kind_of_thing: Literal["piece", "lamp"] = "piece"


@dataclass(frozen=True, eq=False)
class _Body:
    """What does not change when a piece moves: its shapes about its own centre."""

    parts: tuple[Part, ...]
    squares: Array  # n × 4 × 2
    square_of: tuple[int, ...]  # index of the part
    discs: tuple[tuple[int, Array, Array | None], ...]  # part, outer corners, hole
    hull: Array
    top: float
    seats: tuple[Seat, ...]
    zones: tuple[Zone, ...]


def _make_body(piece: Piece, overrides: Mapping[str, float] | None) -> _Body:
    parts = parts_of(piece)
    squares: list[Array] = []
    square_of: list[int] = []
    discs: list[tuple[int, Array, Array | None]] = []
    for i, part in enumerate(parts):
        centre = np.array(part.at, dtype=float)
        if part.shape == "rectangle":
            squares.append(SQUARE * np.array(part.size) + centre)
            square_of.append(i)
        elif part.shape == "circle":
            discs.append((i, CIRCLE * (np.array(part.size) / 2) + centre, None))
        else:
            outer, inner = part.size
            discs.append((i, CIRCLE * (outer / 2) + centre, CIRCLE * (inner / 2) + centre))
    points = np.concatenate([*squares, *(ring for _, ring, _ in discs)])
    hull = shapely.convex_hull(shapely.multipoints(points))
    return _Body(
        parts=parts,
        squares=np.array(squares).reshape(-1, 4, 2),
        square_of=tuple(square_of),
        discs=tuple(discs),
        hull=shapely.get_coordinates(hull),
        top=max(part.top for part in parts),
        seats=seats_of(piece),
        zones=(*zones_of(piece, overrides=overrides), *_chair_zones(piece, overrides)),
    )


_bodies: OrderedDict[tuple[object, ...], _Body] = OrderedDict()
_BODIES_KEPT = 512


def _body(piece: Piece, overrides: Mapping[str, float] | None) -> _Body:
    """The body of a piece, kept for the last 512 different ones."""
    key = (
        piece.kind,
        piece.size,
        piece.shape,
        piece.finish,
        tuple(sorted(piece.finishes.items())),
        piece.parts,
        piece.zones,
        piece.seats,
        piece.seat_count,
        piece.seat_height,
        piece.arm_height,
        piece.chairs,
        tuple(sorted(overrides.items())) if overrides else (),
    )
    try:
        body = _bodies.get(key)
    except TypeError:  # a list where a tuple belongs: made anew each time
        return _make_body(piece, overrides)
    if body is None:
        body = _bodies[key] = _make_body(piece, overrides)
        if len(_bodies) > _BODIES_KEPT:
            _bodies.popitem(last=False)
    return body


def _zone(zone: Zone, piece: Piece, axes: Array, at: Array) -> PlacedZone:
    w, d, _ = piece.size
    outward, reach, side = {
        "front": ((0.0, -1.0), d / 2, w),
        "back": ((0.0, 1.0), d / 2, w),
        "left": ((-1.0, 0.0), w / 2, d),
        "right": ((1.0, 0.0), w / 2, d),
    }[zone.side]
    n = axes @ np.array(outward)
    t = np.array((-n[1], n[0]))
    wide = zone.width if zone.width is not None else side
    origin = at + n * reach
    corners = np.array(
        [
            origin - t * wide / 2,
            origin + t * wide / 2,
            origin + t * wide / 2 + n * zone.depth,
            origin - t * wide / 2 + n * zone.depth,
        ]
    )
    return PlacedZone(
        kind=zone.kind,
        area=Polygon(corners),
        severity=zone.severity,
        rule=zone.rule,
        side=zone.side,
        origin=(float(origin[0]), float(origin[1])),
        outward=(float(n[0]), float(n[1])),
        depth=zone.depth,
        width=wide,
    )


def _finite(id: str, placement: Placement) -> None:
    numbers = (*placement.at, placement.rotation, placement.base or 0.0)
    for number in numbers:
        if (
            isinstance(number, bool)
            or not isinstance(number, int | float)
            or not math.isfinite(number)
        ):
            raise InputError(
                f"place of {id}",
                given=f"at {placement.at}, rotation {placement.rotation}, base {placement.base}",
                allowed="finite numbers: metres and degrees",
                mend="write where its centre stands",
            )


def place(
    id: str,
    piece: Piece,
    placement: Placement,
    *,
    base: float | None = None,
    overrides: Mapping[str, float] | None = None,
) -> Placed:
    """Put a piece where its placement says.

    Parameters
    ----------
    id : str
        The placement's id.
    piece : Piece
        What is placed.
    placement : Placement
        Where: centre of its footprint, turn, base.
    base : float, optional
        Height of its underside; None: as the placement says, else by how the
        kind is mounted (floor: 0; wall: its usual height). [m]
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    Placed
        Parts, zones and seats in the home's frame.

    Raises
    ------
    InputError
        A number is not finite, or the height cannot be told.
    LookupFailed
        There is no such kind.

    Examples
    --------
    >>> stool = Piece(name="stool", kind="stool", size=(0.4, 0.4, 0.45))
    >>> place("stool", stool, Placement(at=(1.0, 2.0))).footprint.bounds
    (0.8, 1.8, 1.2, 2.2)
    """
    _finite(id, placement)
    body = _body(piece, overrides)
    if base is None:
        base = placement.base
    if base is None:
        base = _usual_base(id, piece, overrides)
    axes = axes_of(placement.rotation)
    at = np.array(placement.at, dtype=float)
    footprints: dict[int, Polygon] = dict(
        zip(body.square_of, shapely.polygons(body.squares @ axes.T + at))
    )
    for i, ring, hole in body.discs:
        footprints[i] = Polygon(
            ring @ axes.T + at, [hole @ axes.T + at] if hole is not None else None
        )
    seats = []
    for seat in body.seats:
        x, y = axes @ np.array(seat.at) + at
        seats.append(
            PlacedSeat(
                at=(float(x), float(y)),
                facing=(seat.facing + placement.rotation) % 360.0,
                height=seat.height + base,
                eye=seat.eye + base,
            )
        )
    return Placed(
        id=id,
        piece=piece,
        item=placement.item or id,
        at=(float(at[0]), float(at[1])),
        rotation=placement.rotation % 360.0,
        footprint=Polygon(body.hull @ axes.T + at),
        base=base,
        top=base + body.top,
        parts=tuple(
            PlacedPart(
                name=part.name,
                footprint=footprints[i],
                base=base + part.base,
                top=base + part.top,
                finish=part.finish,
                transmits=part.transmits,
            )
            for i, part in enumerate(body.parts)
        ),
        zones=(
            *(_zone(zone, piece, axes, at) for zone in body.zones),
            *_round_zone(piece, axes, at, overrides),
        ),
        seats=tuple(seats),
        on=placement.on,
        room=placement.room,
        locked=placement.locked,
    )


def is_on_wall(piece: Piece) -> bool:
    """Whether a piece hangs on a wall, by itself or by its kind.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    bool
        True for a picture that says nothing else.

    Examples
    --------
    >>> is_on_wall(Piece(name="picture", kind="picture", size=(0.7, 0.03, 0.5)))
    True
    """
    return _mount(piece) == "wall"


def _mount(piece: Piece) -> str:
    """How it is mounted; "floor" is the model's default and says nothing of a picture."""
    return kind_of(piece).mount if piece.mount == "floor" else piece.mount


def _usual_base(id: str, piece: Piece, overrides: Mapping[str, float] | None) -> float:
    mount = _mount(piece)
    if mount == "wall":
        form = kind_of(piece).name
        rule = {
            "screen": "plan.height.screen_centre",
            "wall light": "plan.height.wall_light",
        }.get(form, "plan.height.picture_centre")
        return max(0.0, value(rule, overrides) - piece.size[2] / 2)
    if mount == "ceiling":
        raise InputError(
            f"base of {id}",
            allowed="the height of its underside above the floor",
            mend="write base, or place it with its room so that the ceiling is known",
        )
    if mount == "on" and piece.mount == "on":
        raise InputError(
            f"base of {id}",
            allowed="what it stands on, or the height of its underside",
            mend="write on = the id of what it stands on",
        )
    return 0.0


def _round_zone(
    piece: Piece, axes: Array, at: Array, overrides: Mapping[str, float] | None
) -> tuple[PlacedZone, ...]:
    """The ring that chairs in use take round a circular table, drawn as its outer disc."""
    if piece.chairs is None or not piece.chairs.around or piece.zones is not None:
        return ()
    depth = value("plan.table.in_use", overrides)
    zone = Zone(
        kind="chairs in use",
        side="front",
        depth=depth,
        severity="tight",
        rule="plan.table.in_use",
    )
    placed = _zone(zone, piece, axes, at)
    around = disc((float(at[0]), float(at[1])), diameter=piece.size[0] + 2 * depth)
    return (replace(placed, area=around),)


def _chair_zones(piece: Piece, overrides: Mapping[str, float] | None) -> list[Zone]:
    """Where chairs in use stand at straight sides."""
    chairs = piece.chairs
    if chairs is None or piece.zones is not None:
        return []
    depth = value("plan.table.in_use", overrides)
    sides: list[Side] = ["front", "back", "left", "right"]
    counts = [chairs.front, chairs.back, chairs.left, chairs.right]
    return [
        Zone(
            kind="chairs in use",
            side=side,
            depth=depth,
            severity="tight",
            rule="plan.table.in_use",
        )
        for side, count in zip(sides, counts)
        if count and not chairs.around
    ]


# --- everything of a layout --------------------------------------------------


def _host_top(host: Placed, at: Point) -> float:
    """The top of the host's highest part under a point."""
    point = ShapelyPoint(at)
    tops = [part.top for part in host.parts if part.footprint.covers(point)]
    return max(tops, default=host.top)


def _find(name: str, names: Mapping[str, object], what: str) -> None:
    if name not in names:
        near = nearest(name, names)
        raise LookupFailed(
            what,
            given=name,
            allowed=", ".join(names) or "none is there",
            mend=f"write {near!r}" if near else "use one of these",
        )


def _room_height(rooms: Mapping[str, Room] | None, placement: Placement) -> float | None:
    if not rooms:
        return None
    if placement.room:
        _find(placement.room, rooms, "room of a placement")
        return rooms[placement.room].height
    point = ShapelyPoint(placement.at)
    # What stands outside every room takes the nearest ceiling; a finding says where it is.
    return min(rooms.values(), key=lambda room: Polygon(room.outline).distance(point)).height


# What stands where it stood: a page that moves one piece asks for all the others again.
_KNOWN: dict[tuple[str, str, Placement, float | None], tuple[Piece, object, Placed]] = {}
_MOST = 512


def _placed(
    id: str,
    piece: Piece,
    placement: Placement,
    base: float | None,
    overrides: Mapping[str, float] | None,
    *,
    host: str = "",
) -> Placed:
    """`place`, remembered for the same piece in the same place."""
    key = (id, host, placement, base)
    known = _KNOWN.get(key)
    if known is not None and known[0] == piece and known[1] == (overrides or {}):
        return known[2]
    thing = place(id, piece, placement, base=base, overrides=overrides)
    if host:
        thing = replace(thing, host=host)
    if len(_KNOWN) >= _MOST:
        _KNOWN.clear()
    _KNOWN[key] = (piece, dict(overrides or {}), thing)
    return thing


def place_all(
    pieces: Mapping[str, Piece],
    layout: Layout,
    *,
    rooms: Mapping[str, Room] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> dict[str, Placed]:
    """Put all pieces of a layout where they stand, with the chairs of tables.

    Parameters
    ----------
    pieces : mapping of str to Piece
        The home's pieces by id.
    layout : Layout
        One arrangement of them.
    rooms : mapping of str to Room, optional
        Needed for things that hang from a ceiling and give no base.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    dict of str to Placed
        In the order of the layout; chairs follow their table as
        "table.front1", "table.left1", "table.around1".

    Raises
    ------
    LookupFailed
        A placement names a piece or a placement that is not there.
    InputError
        Things stand on one another in a circle, or a height cannot be told.

    Examples
    --------
    >>> from designkit.model import Chairs
    >>> table = Piece(name="table", kind="dining table", size=(1.8, 0.9, 0.74),
    ...               chairs=Chairs(piece="chair", front=3, back=3))
    >>> chair = Piece(name="chair", kind="chair", size=(0.46, 0.5, 0.8))
    >>> layout = Layout(name="A", pieces={"table": Placement(at=(2.0, 2.0))})
    >>> list(place_all({"table": table, "chair": chair}, layout))[:3]
    ['table', 'table.front1', 'table.front2']
    """
    done: dict[str, Placed] = {}

    def put(id: str, waiting: tuple[str, ...]) -> Placed:
        if id in done:
            return done[id]
        if id in waiting:
            raise InputError(
                f"placement {id}",
                given=" on ".join((*waiting, id)),
                allowed="things that stand on something that stands on the floor",
                mend="take one of the on = entries away",
            )
        placement = layout.pieces[id]
        item = placement.item or id
        _find(item, pieces, f"piece of placement {id}")
        piece = pieces[item]
        base = placement.base
        if base is None and placement.on:
            _find(placement.on, layout.pieces, f"what {id} stands on")
            base = _host_top(put(placement.on, (*waiting, id)), placement.at)
        if base is None and _mount(piece) == "ceiling":
            height = _room_height(rooms, placement)
            base = None if height is None else height - piece.size[2]
        done[id] = _placed(id, piece, placement, base, overrides)
        return done[id]

    for id in layout.pieces:
        put(id, ())
    out: dict[str, Placed] = {}
    for id in layout.pieces:
        thing = done[id]
        out[id] = thing
        if thing.piece.chairs is not None:
            chairs = thing.piece.chairs
            _find(chairs.piece, pieces, f"chairs of {id}")
            chair = pieces[chairs.piece]
            places = chair_places(
                thing.piece, id=id, placement=layout.pieces[id], chair=chair, overrides=overrides
            )
            for name, placement in places.items():
                out[name] = _placed(name, chair, placement, thing.base, overrides, host=id)
    return out


def place_home(
    home: Home, layout: Layout, *, overrides: Mapping[str, float] | None = None
) -> dict[str, Placed]:
    """Put all pieces of a home's layout where they stand.

    Parameters
    ----------
    home : Home
        Gives pieces, rooms and its own rule values.
    layout : Layout
        One arrangement.
    overrides : mapping of str to float, optional
        Rule values that go before those of the home.

    Returns
    -------
    dict of str to Placed
        As `place_all`.
    """
    rules = {**home.rules, **(overrides or {})}
    return place_all(home.pieces, layout, rooms=home.rooms, overrides=rules)


# --- lamps -------------------------------------------------------------------


def _lamp_piece(fixture: Fixture) -> Piece:
    w, d, _ = fixture.size
    return Piece(
        name=fixture.name,
        kind=fixture.kind,
        size=fixture.size,
        shape="circle" if abs(w - d) < 1e-9 else "rectangle",
        finish=fixture.finish,
        mass=fixture.mass,
        mount="floor",
    )


def _against_wall(
    at: Point, depth: float, rooms: Mapping[str, Room], room: str
) -> tuple[Point, float]:
    """A thing's place and turn with its back to the wall that it is given on or near."""
    best: tuple[float, Wall] | None = None
    point = ShapelyPoint(at)
    for id in [room] if room in rooms else list(rooms):
        for wall in walls_of(id, rooms[id]):
            away = point.distance(LineString([wall.start, wall.end]))
            if wall.length > 0 and (best is None or away < best[0] - 1e-9):
                best = (away, wall)
    if best is None or best[0] > max(depth, NEAR_WALL):
        return at, 0.0
    away, wall = best
    shift = max(0.0, depth / 2 - away)
    nx, ny = wall.inward
    turn = math.degrees(math.atan2(ny, nx)) + 90.0
    return (at[0] + nx * shift, at[1] + ny * shift), turn % 360.0


def place_lamps(
    home: Home,
    layout: Layout,
    placed: Mapping[str, Placed],
    *,
    overrides: Mapping[str, float] | None = None,
) -> dict[str, Placed]:
    """Put the bodies of a layout's lamps where they hang or stand.

    Parameters
    ----------
    home : Home
        Gives fixtures, services and rooms.
    layout : Layout
        One arrangement with its lamps.
    placed : mapping of str to Placed
        The pieces of the same layout, as `place_home` gives them.
    overrides : mapping of str to float, optional
        Rule values that go before those of the home.

    Returns
    -------
    dict of str to Placed
        In the order of the layout. A lamp without a base stands on the floor or
        on its piece, is fixed to its ceiling, or hangs at the usual height over
        its table or over a route (rules plan.height.pendant_table, pendant_free).

    Raises
    ------
    LookupFailed
        A lamp names a fixture, service or placement that is not there.
    InputError
        The place or the height of a lamp cannot be told.
    """
    rules = {**home.rules, **(overrides or {})}
    out: dict[str, Placed] = {}
    for id, lamp in layout.lamps.items():
        _find(lamp.fixture, home.fixtures, f"fixture of lamp {id}")
        fixture = home.fixtures[lamp.fixture]
        at, room = lamp.at, ""
        if lamp.service:
            _find(lamp.service, home.services, f"service of lamp {id}")
            service = home.services[lamp.service]
            at = service.at if at is None else at
            room = service.room
        for host in (lamp.on, lamp.over):
            if host:
                _find(host, placed, f"what lamp {id} is at")
                at = placed[host].at if at is None else at
        if at is None:
            raise InputError(
                f"place of lamp {id}",
                allowed="at, a service, or what it stands on",
                mend="write at = [x, y]",
            )
        piece = _lamp_piece(fixture)
        rotation = 0.0
        if is_on_wall(piece):
            at, rotation = _against_wall(at, fixture.size[1], home.rooms, room)
        placement = Placement(
            at=at, rotation=rotation, item=lamp.fixture, base=lamp.base, on=lamp.on, room=room
        )
        base = lamp.base
        if base is None and lamp.on:
            base = _host_top(placed[lamp.on], at)
        if base is None and kind_of(piece).mount == "ceiling":
            ceiling = _room_height(home.rooms, placement)
            if ceiling is not None:
                base = ceiling - fixture.size[2]
                if fixture.kind in ("pendant", "chandelier"):
                    hang = value("plan.height.pendant_free", rules)
                    if lamp.over:
                        hang = placed[lamp.over].top + value("plan.height.pendant_table", rules)
                    base = min(base, hang)
        thing = place(id, piece, placement, base=base, overrides=rules)
        out[id] = replace(thing, kind_of_thing="lamp")
    return out
