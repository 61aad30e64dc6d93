"""Rooms joined by passages as one space: its floor, openings, columns and services.

The outlines and their walls are in `outline`, jambs and leaves in `openings`;
their names are here too, so that a reader of a space needs one import.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry import Point as ShapelyPoint

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Home, Point, Service
from designkit.plan.openings import (
    MEETS,
    Leaf,
    OpeningAt,
    check_meets,
    check_opening,
    clear_width,
    leaf_moves,
    opening_at,
    seen_from_far,
    step,
)
from designkit.plan.outline import (
    SAME,
    Wall,
    WallRun,
    checked_outline,
    is_number,
    room_polygon,
    room_repairs,
    wall_runs,
    walls_of,
)
from designkit.plan.place import Placed, disc, turned
from designkit.reference import value

__all__ = [
    "ColumnAt",
    "Leaf",
    "OpeningAt",
    "ServiceAt",
    "Space",
    "Wall",
    "WallRun",
    "clear_width",
    "free_floor",
    "glazing_share",
    "largest_clear_circle",
    "obstacles",
    "room_polygon",
    "room_repairs",
    "space_at",
    "spaces",
    "wall_runs",
    "walls_of",
]

AT_WALL = 0.3  # m; a service nearer than this to a wall belongs to it
Free = Polygon | MultiPolygon


@dataclass(frozen=True, kw_only=True, eq=False)
class ColumnAt:
    """A column, pier or chimney breast; its id is "living.column1"."""

    id: str
    room: str
    polygon: Polygon
    finish: str


@dataclass(frozen=True, kw_only=True, eq=False)
class ServiceAt:
    """A service with its body and the floor kept clear before it.

    `origin` is the middle of its front, `outward` the unit vector away from
    it, `depth` and `width` the sides of the clear rectangle [m].
    """

    id: str
    service: Service
    outward: Point
    origin: Point
    body: Polygon | None
    base: float
    top: float
    clear: Polygon | None
    width: float
    depth: float
    rule: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Space:
    """One room, or several that passages join."""

    id: str  # its rooms, joined by "+"
    rooms: tuple[str, ...]
    polygon: Polygon
    outlines: Mapping[str, Polygon]
    heights: Mapping[str, float]
    walls: tuple[Wall, ...]
    openings: tuple[OpeningAt, ...]
    columns: tuple[ColumnAt, ...]
    services: tuple[ServiceAt, ...]
    repairs: tuple[str, ...]

    @property
    def height(self) -> float:
        """The lowest ceiling of its rooms. [m]"""
        return min(self.heights.values())


# --- services ----------------------------------------------------------------

_KEPT_CLEAR = {
    "panel": ("plan.clear.panel_width", "plan.clear.panel_depth"),
    "radiator": ("", "plan.clear.radiator"),
    "vent": ("", "plan.clear.vent"),
}


def _service_at(
    id: str, service: Service, walls: Iterable[Wall], overrides: Mapping[str, float] | None
) -> ServiceAt:
    numbers = (*service.at, service.height, service.rotation, *(service.size or ()))
    if not all(is_number(n) for n in (*numbers, *(service.clear or ()))):
        raise InputError(f"service {id}", given=numbers, allowed="finite numbers")
    at = service.at
    rotation = service.rotation
    w, d, h = service.size or (0.0, 0.0, 0.0)
    best: tuple[float, Wall] | None = None
    point = ShapelyPoint(at)
    for wall in walls:
        if wall.length > SAME:
            away = point.distance(LineString([wall.start, wall.end]))
            if best is None or away < best[0] - 1e-9:
                best = (away, wall)
    if best is not None and best[0] <= max(AT_WALL, d) and service.kind not in ("ceiling outlet",):
        # It hangs on its wall: the back of its body touches the face, and it
        # looks into the room unless the file turns it.
        away, wall = best
        if rotation == 0.0:
            rotation = math.degrees(math.atan2(wall.inward[1], wall.inward[0])) + 90.0
        at = step(at, wall.inward, max(0.0, d / 2 - away))
    fx, fy = turned((0.0, -1.0), at=(0.0, 0.0), rotation=rotation)
    outward = (fx, fy)

    def box(width: float, near: float, far: float) -> Polygon:
        return Polygon(
            [
                turned(p, at=at, rotation=rotation)
                for p in (
                    (-width / 2, -near),
                    (width / 2, -near),
                    (width / 2, -far),
                    (-width / 2, -far),
                )
            ]
        )

    body = box(w, -d / 2, d / 2) if w > 0 and d > 0 else None
    base = service.height if service.kind == "radiator" else service.height - h / 2
    width, depth, rule = 0.0, 0.0, ""
    if service.kind in _KEPT_CLEAR:
        wide, deep = _KEPT_CLEAR[service.kind]
        width = max(w, value(wide, overrides) if wide else 0.0)
        depth, rule = value(deep, overrides), deep
    if service.clear is not None:
        width, depth = service.clear
        rule = rule or "plan.clear.vent"
    return ServiceAt(
        id=id,
        service=service,
        outward=outward,
        origin=step(at, outward, d / 2),
        body=body,
        base=max(0.0, base),
        top=base + h,
        clear=box(width, d / 2, d / 2 + depth) if width > 0 and depth > 0 else None,
        width=width,
        depth=depth,
        rule=rule,
    )


# --- spaces ------------------------------------------------------------------


def _groups(home: Home) -> list[list[str]]:
    """Rooms joined by passages, in the order of the home."""
    group = {room: [room] for room in home.rooms}
    for opening in home.openings.values():
        if opening.kind != "passage" or opening.to not in group:
            continue
        a, b = group[opening.room], group[opening.to]
        if a is not b:
            a.extend(b)
            for room in b:
                group[room] = a
    order = {room: i for i, room in enumerate(home.rooms)}
    seen: list[list[str]] = []
    for room in home.rooms:
        if not any(group[room] is known for known in seen):
            seen.append(group[room])
    return [sorted(rooms, key=order.__getitem__) for rooms in seen]


def _find_room(name: str, home: Home, what: str) -> None:
    if name not in home.rooms:
        near = nearest(name, home.rooms)
        raise LookupFailed(
            what,
            given=name,
            allowed=", ".join(home.rooms) or "no room is there",
            mend=f"write {near!r}" if near else "use one of these",
        )


def spaces(home: Home, *, overrides: Mapping[str, float] | None = None) -> dict[str, Space]:
    """The spaces of a home: rooms, joined where a passage joins them.

    Parameters
    ----------
    home : Home
        Gives rooms, openings and services.
    overrides : mapping of str to float, optional
        Rule values that go before those of the home.

    Returns
    -------
    dict of str to Space
        Keyed by the rooms' ids joined by "+", in the order of the home.

    Raises
    ------
    InputError
        An outline is not one room, an opening is off its wall, or a passage
        does not meet the room it leads to.
    LookupFailed
        An opening or a service names a room that is not there.
    """
    rules = {**home.rules, **(overrides or {})}
    shell = (home.rooms, home.openings, home.services, rules)
    for known, found in _KNOWN:
        if known == shell:
            return dict(found)
    result = _spaces(home, rules)
    _KNOWN.append((shell, result))
    del _KNOWN[:-4]
    return dict(result)


# The last shells that were laid out: a page asks for the same one at each key press.
_KNOWN: list[tuple[tuple[object, ...], dict[str, Space]]] = []


def _spaces(home: Home, rules: Mapping[str, float]) -> dict[str, Space]:
    polygons: dict[str, Polygon] = {}
    repairs: dict[str, tuple[str, ...]] = {}
    walls: dict[str, tuple[Wall, ...]] = {}
    for id, room in home.rooms.items():
        polygons[id], repairs[id] = checked_outline(id, room)
        walls[id] = walls_of(id, room)
    for id, opening in home.openings.items():
        _find_room(opening.room, home, f"room of opening {id}")
    groups = _groups(home)
    space_of = {room: k for k, rooms in enumerate(groups) for room in rooms}
    openings: list[list[OpeningAt]] = [[] for _ in groups]
    strips: list[list[Polygon]] = [[] for _ in groups]
    for id, opening in home.openings.items():
        count = len(walls[opening.room])
        if not 0 <= opening.wall < count:
            raise InputError(
                f"wall of {id}", given=opening.wall, allowed=f"0 to {count - 1} of {opening.room}"
            )
        wall = walls[opening.room][opening.wall]
        check_opening(id, opening, wall, home.rooms[opening.room].height)
        mine = space_of[opening.room]
        other = space_of.get(opening.to) if opening.to in home.rooms else None
        near = opening_at(id, opening, wall, here_in=True, here_out=other == mine, overrides=rules)
        openings[mine].append(near)
        if other is None:
            continue
        check_meets(near, opening.to, polygons[opening.to])
        openings[other].append(seen_from_far(near, opening.to, here=other != mine))
        if opening.kind == "passage":
            strips[mine].append(near.strip)
    out: dict[str, Space] = {}
    for k, rooms in enumerate(groups):
        columns = []
        for room_id in rooms:
            for i, column in enumerate(home.rooms[room_id].columns, start=1):
                if column.shape == "circle":
                    shape = disc(column.at, diameter=column.size[0])
                else:
                    x, y = column.size[0] / 2, column.size[1] / 2
                    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
                    shape = Polygon(
                        [turned(p, at=column.at, rotation=column.rotation) for p in corners]
                    )
                columns.append(
                    ColumnAt(
                        id=f"{room_id}.column{i}",
                        room=room_id,
                        polygon=shape,
                        finish=column.finish or home.rooms[room_id].wall,
                    )
                )
        polygon = polygons[rooms[0]]
        if len(rooms) > 1:
            # A strip is widened into both rooms by the tolerance of its wall,
            # so that a difference of millimetres leaves no slit across a passage.
            joined = shapely.union_all(
                [polygons[r] for r in rooms] + [_widened(s) for s in strips[k]]
            )
            if not isinstance(joined, Polygon):
                raise InputError(
                    f"space of {', '.join(rooms)}",
                    given="rooms that do not touch through their passages",
                    allowed="passages whose thickness is that of the wall",
                )
            polygon = joined
        services = []
        for id, service in home.services.items():
            _find_room(service.room, home, f"room of service {id}")
            if service.room in rooms:
                services.append(_service_at(id, service, walls[service.room], rules))
        space_id = "+".join(rooms)
        out[space_id] = Space(
            id=space_id,
            rooms=tuple(rooms),
            polygon=polygon,
            outlines={room: polygons[room] for room in rooms},
            heights={room: home.rooms[room].height for room in rooms},
            walls=tuple(wall for room in rooms for wall in walls[room]),
            openings=tuple(openings[k]),
            columns=tuple(columns),
            services=tuple(services),
            repairs=tuple(text for room in rooms for text in repairs[room]),
        )
    return out


def _widened(strip: Polygon) -> Polygon:
    """The strip of a passage, lengthened across the wall at both faces."""
    left, right, far_right, far_left = list(strip.exterior.coords)[:4]

    def beyond(a: Sequence[float], b: Sequence[float]) -> Point:
        length = math.dist(a, b)
        if length < SAME:
            return (b[0], b[1])
        return step((b[0], b[1]), ((b[0] - a[0]) / length, (b[1] - a[1]) / length), MEETS)

    return Polygon(
        [
            beyond(far_left, left),
            beyond(far_right, right),
            beyond(right, far_right),
            beyond(left, far_left),
        ]
    )


def space_at(all_spaces: Mapping[str, Space], point: Point, *, room: str = "") -> Space:
    """The space that holds a point, or the nearest one.

    Parameters
    ----------
    all_spaces : mapping of str to Space
        As `spaces` gives them.
    point : Point
        In the home's frame. [m]
    room : str, optional
        A room's id; its space is taken whatever the point.

    Returns
    -------
    Space
        The first that holds the point, else the nearest.

    Raises
    ------
    LookupFailed
        There is no such room.
    InputError
        There is no space at all.
    """
    if not all_spaces:
        raise InputError("rooms", given=0, allowed="1 or more", mend="draw a room")
    if room:
        for space in all_spaces.values():
            if room in space.rooms:
                return space
        names = [r for s in all_spaces.values() for r in s.rooms]
        near = nearest(room, names)
        raise LookupFailed(
            "room",
            given=room,
            allowed=", ".join(names),
            mend=f"write {near!r}" if near else "use one of these",
        )
    spot = ShapelyPoint(point)
    return min(all_spaces.values(), key=lambda space: space.polygon.distance(spot))


# --- free floor --------------------------------------------------------------


def obstacles(
    space: Space,
    placed: Mapping[str, Placed],
    *,
    height_range: tuple[float, float] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> list[tuple[str, Polygon]]:
    """What stands on the floor of a space, each with its id.

    Parameters
    ----------
    space : Space
        The space.
    placed : mapping of str to Placed
        Pieces; those outside the space are left out.
    height_range : tuple of float, optional
        Parts that reach into these heights count; None: from the thickness of
        a rug to the height under which one walks. [m]
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    list of tuple of str and Polygon
        Columns ("living.column1"), bodies of services and open door leaves
        (by their own id), then pieces; a piece of several separate parts is
        there once a part.
    """
    low, high = height_range or (
        value("plan.clear.rug", overrides),
        value("plan.clear.walk_under", overrides),
    )
    out: list[tuple[str, Polygon]] = [(c.id, c.polygon) for c in space.columns]
    for service in space.services:
        if service.body is not None and service.base < high and service.top > low:
            out.append((service.id, service.body))
    for opening in space.openings:
        if opening.opening.kind == "window":
            continue
        for leaf in opening.leaves:
            if leaf.here and leaf.base < high and leaf.top > low:
                out.append((opening.id, leaf.body))
    x0, y0, x1, y1 = space.polygon.bounds
    for id, thing in placed.items():
        a0, b0, a1, b1 = thing.footprint.bounds
        if a0 > x1 or a1 < x0 or b0 > y1 or b1 < y0 or thing.base >= high or thing.top <= low:
            continue
        if not thing.footprint.intersects(space.polygon):
            continue
        shapes = [part.footprint for part in thing.parts if part.base < high and part.top > low]
        # One part often covers the others (a seat its legs): the rest is then left out.
        shapes.sort(key=lambda shape: -shape.area)
        kept: list[Polygon] = []
        for shape in shapes:
            if not any(big.covers(shape) for big in kept):
                kept.append(shape)
        out.extend((id, shape) for shape in kept)
    return out


def free_floor(
    space: Space,
    placed: Mapping[str, Placed],
    *,
    height_range: tuple[float, float] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> Free:
    """Floor that nothing stands on: no wall, column, open door leaf or piece.

    Parameters
    ----------
    space : Space
        The space.
    placed : mapping of str to Placed
        Pieces of it.
    height_range : tuple of float, optional
        As `obstacles`. [m]
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    Polygon or MultiPolygon
        It may be empty, and it may be in several pieces.
    """
    taken = [
        shape
        for _, shape in obstacles(space, placed, height_range=height_range, overrides=overrides)
    ]
    free = space.polygon.difference(shapely.union_all(taken)) if taken else space.polygon
    if isinstance(free, Polygon | MultiPolygon):
        return free
    return MultiPolygon([g for g in shapely.get_parts(free) if isinstance(g, Polygon)])


def largest_clear_circle(free: Free) -> tuple[Point, float]:
    """The largest circle that fits on a free floor.

    Parameters
    ----------
    free : Polygon or MultiPolygon
        As `free_floor` gives it.

    Returns
    -------
    tuple of Point and float
        Its centre and its radius, which is exact to 1 mm and never too
        large. [m]

    Raises
    ------
    InputError
        There is no free floor.

    Examples
    --------
    >>> centre, radius = largest_clear_circle(Polygon([(0, 0), (4, 0), (4, 3), (0, 3)]))
    >>> round(radius, 3)
    1.5
    """
    if free.is_empty:
        raise InputError("free floor", given="0 m²", allowed="more than 0 m²")
    spoke = shapely.maximum_inscribed_circle(free, tolerance=2e-4)
    (x, y), _ = spoke.coords
    # The distance to the boundary at the centre found is a circle that fits.
    return (float(x), float(y)), float(free.boundary.distance(ShapelyPoint(x, y)))


def glazing_share(home: Home, room_id: str, *, openable: bool = False) -> float:
    """Glazed openings of a room as a share of its floor.

    Parameters
    ----------
    home : Home
        Gives the room and its openings.
    room_id : str
        The room.
    openable : bool, optional
        Count only leaves that open.

    Returns
    -------
    float
        Structural area of windows and balcony doors by floor area; of two
        sliding leaves half opens. [1]

    Raises
    ------
    LookupFailed
        There is no such room.
    InputError
        The room's outline is not one room.

    References
    ----------
    .. [1] International Residential Code 2021, R303.1: glazing at least 8 %
       of the floor, openable at least 4 %.
    """
    _find_room(room_id, home, "room")
    floor = room_polygon(room_id, home.rooms[room_id]).area
    total = 0.0
    for opening in home.openings.values():
        if opening.room != room_id or opening.kind not in ("window", "balcony"):
            continue
        area = opening.width * (opening.head - opening.sill)
        if openable:
            moves = leaf_moves(opening)
            if moves == "none" and opening.leaf != "hung":
                continue
            if opening.leaf == "hung":  # a sash opens by half
                area /= 2
            elif moves == "slide" and opening.leaves > 1:
                area *= (opening.leaves - 1) / opening.leaves
        total += area
    return total / floor
