"""The furnished space as the surfaces one can see, each with its area.

What is covered does not count: the floor under a rug, the wall behind a
wardrobe, the back of a sofa against the wall, the side of a sideboard that
touches the next. Two faces nearer to each other than `against` hide each
other. Nobody sees the top of a thing above the standing eye, nor the
underside of a thing below the seated eye. Things that are seen through
(glass tops, wire) hide nothing.

Simplified, and so stated: door leaves count closed; reveals, skirtings,
radiators and switches are left out; drapery counts by the width it fills, not
by the cloth in its folds.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from designkit.errors import InputError
from designkit.model import Home, Layout
from designkit.plan.place import Placed
from designkit.reference import value
from designkit.scene.openings import Rect, holes, panes
from designkit.scene.solids import Shell, Solid, shell, solids

__all__ = ["Surface", "surfaces", "surfaces_of"]

_CONTACT = 0.005  # heights nearer than this touch [m]
_ITEM = {"wall": "walls", "door leaf": "leaf"}
_HAIR = 1e-4  # keeps shapes that only share an edge apart [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """One kind of face of one thing, with the area of it that can be seen."""

    kind: str  # floor, wall, ceiling, glass, frame, door leaf, piece, column, lamp, drapery
    owner: str  # room, opening, placement, lamp or drape id
    item: str  # what is chosen as one: piece, fixture, "living.walls", "window.frame" …
    part: str
    face: str  # top, underside, sides, wall 3, floor, ceiling …
    finish: str  # finish id; "": not known
    area: float  # that can be seen [m²]
    full: float  # before what covers it is taken off [m²]
    transmits: bool = False
    room: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Face:
    """A face with its area; `source` says where its finish comes from."""

    kind: str
    owner: str
    item: str
    part: str
    face: str
    area: float
    full: float
    source: tuple[object, ...]
    transmits: bool
    room: str


def _union_area(rects: Sequence[Rect]) -> float:
    """Area of the union of upright rectangles."""
    if not rects:
        return 0.0
    if len(rects) == 1:
        a, b, c, d = rects[0]
        return (c - a) * (d - b)
    grid = np.asarray(rects)
    xs = np.unique(grid[:, (0, 2)])
    ys = np.unique(grid[:, (1, 3)])
    mid_x, mid_y = (xs[1:] + xs[:-1]) / 2, (ys[1:] + ys[:-1]) / 2
    in_x = (grid[:, :1] < mid_x) & (mid_x < grid[:, 2:3])
    in_y = (grid[:, 1:2] < mid_y) & (mid_y < grid[:, 3:4])
    covered = (in_x.T.astype(np.float64) @ in_y.astype(np.float64)) > 0
    return float(np.diff(xs) @ covered @ np.diff(ys))


def _clipped(rects: Sequence[Rect], to: Rect) -> list[Rect]:
    found = []
    for a, b, c, d in rects:
        r = (max(a, to[0]), max(b, to[1]), min(c, to[2]), min(d, to[3]))
        if r[2] - r[0] > 1e-9 and r[3] - r[1] > 1e-9:
            found.append(r)
    return found


def _free(rect: Rect, hidden: Sequence[Rect]) -> float:
    whole = (rect[2] - rect[0]) * (rect[3] - rect[1])
    return max(0.0, whole - _union_area(_clipped(hidden, rect)))


# --- hidden parts of upright faces ------------------------------------------


def _strips(
    start: NDArray[np.float64],
    along: NDArray[np.float64],
    length: NDArray[np.float64],
    out: NDArray[np.float64],
    depth: float,
) -> NDArray[np.object_]:
    """Thin rectangles before edges, a hair off the edge and its ends."""
    side = np.minimum(_HAIR, length / 10)[:, None]
    a, b = start + along * side, start + along * (length[:, None] - side)
    ring = np.stack([a + out * _HAIR, b + out * _HAIR, b + out * depth, a + out * depth], axis=1)
    return np.asarray(shapely.polygons(ring))


def _intervals(
    shapes: NDArray[np.object_],
    edge: NDArray[np.int64],
    start: NDArray[np.float64],
    along: NDArray[np.float64],
    length: NDArray[np.float64],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Which shape, and from where to where along its edge; one row for each piece of it."""
    parts, whose = shapely.get_parts(shapes, return_index=True)
    keep = shapely.area(parts) > 1e-10
    parts, whose = parts[keep], whose[keep]
    if len(parts) == 0:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 2))
    points, index = shapely.get_coordinates(parts, return_index=True)
    e = edge[whose[index]]
    at = np.einsum("ij,ij->i", points - start[e], along[e])
    _, first = np.unique(index, return_index=True)
    spans = np.stack([np.minimum.reduceat(at, first), np.maximum.reduceat(at, first)], axis=1)
    # The strip ends a hair before the edge does: what reaches there reaches the end.
    whole = length[edge[whose]]
    spans[:, 0] = np.where(spans[:, 0] < 2 * _HAIR, 0.0, spans[:, 0])
    spans[:, 1] = np.where(spans[:, 1] > whole - 2 * _HAIR, whole, spans[:, 1])
    return whose, spans


def _edges_of(
    solid_list: Sequence[Solid],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Every edge of every footprint, with the body on its left; and whose it is."""
    starts, ends, whose = [], [], []
    for n, solid in enumerate(solid_list):
        shape = shapely.orient_polygons(solid.footprint)
        for ring in (shape.exterior, *shape.interiors):
            points = shapely.get_coordinates(ring)
            starts.append(points[:-1])
            ends.append(points[1:])
            whose.append(np.full(len(points) - 1, n))
    if not starts:
        empty = np.zeros((0, 2))
        return empty, empty, np.zeros(0, dtype=np.int64)
    return np.concatenate(starts), np.concatenate(ends), np.concatenate(whose)


def _hidden_on_edges(
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    out: NDArray[np.float64],
    whose: NDArray[np.int64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    bodies: Sequence[Solid],
    free: shapely.Geometry | None,
    against: float,
    ceiling: float,
) -> list[list[Rect]]:
    """For each edge, what covers the face above it: rectangles along and up."""
    hidden: list[list[Rect]] = [[] for _ in range(len(start))]
    if len(start) == 0:
        return hidden
    length = np.linalg.norm(end - start, axis=1)
    along = (end - start) / np.maximum(length, 1e-12)[:, None]
    strips = _strips(start, along, length, out, against)
    opaque = np.array([n for n, body in enumerate(bodies) if not body.transmits], dtype=np.int64)
    if len(opaque):
        shapes = np.array([bodies[n].footprint for n in opaque], dtype=object)
        shapely.prepare(shapes)
        bases = np.array([bodies[n].base for n in opaque])
        tops = np.array([bodies[n].top for n in opaque])
        edge, body = shapely.STRtree(shapes).query(strips)
        keep = (opaque[body] != whose[edge]) & (bases[body] < high[edge]) & (tops[body] > low[edge])
        edge, body = edge[keep], body[keep]
        keep = shapely.intersects(shapes[body], strips[edge])
        edge, body = edge[keep], body[keep]
        cut = np.asarray(shapely.intersection(strips[edge], shapes[body]))
        row, spans = _intervals(cut, edge, start, along, length)
        rects = np.stack([spans[:, 0], bases[body[row]], spans[:, 1], tops[body[row]]], axis=1)
        for e, rect in zip(edge[row].tolist(), rects.tolist(), strict=True):
            hidden[e].append(tuple(rect))
    if free is not None:
        shapely.prepare(free)
        near = np.flatnonzero(~shapely.contains_properly(free, strips))
        outside = np.asarray(shapely.difference(strips[near], free))
        row, spans = _intervals(outside, near, start, along, length)
        for e, (a, c) in zip(near[row].tolist(), spans.tolist(), strict=True):
            hidden[e].append((a, 0.0, c, ceiling))
    return hidden


def _add_flush(
    hidden: list[list[Rect]],
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    out: NDArray[np.float64],
    whose: NDArray[np.int64],
    bodies: Sequence[Solid],
) -> None:
    """Of two parts of one thing that lie in one another with faces flush, the first counts."""
    length = np.linalg.norm(end - start, axis=1)
    along = (end - start) / np.maximum(length, 1e-12)[:, None]
    inner = _strips(start - out * 3 * _HAIR, along, length, out, 2 * _HAIR)
    shapes = np.array([b.footprint for b in bodies], dtype=object)
    owners = {name: n for n, name in enumerate(dict.fromkeys(b.owner for b in bodies))}
    owner = np.array([owners[b.owner] for b in bodies])
    edge, body = shapely.STRtree(shapes).query(inner)
    mine = whose[edge]
    base, top = np.array([b.base for b in bodies]), np.array([b.top for b in bodies])
    keep = (body < mine) & (owner[body] == owner[mine])
    keep &= (base[body] < top[mine]) & (top[body] > base[mine])
    edge, body = edge[keep], body[keep]
    cut = np.asarray(shapely.intersection(inner[edge], shapes[body]))
    row, spans = _intervals(cut, edge, start, along, length)
    for k, (a, c) in zip(row.tolist(), spans.tolist(), strict=True):
        b = bodies[int(body[k])]
        hidden[int(edge[k])].append((a, b.base, c, b.top))


# --- the faces --------------------------------------------------------------


def _flat_free(
    shape: Polygon, level: float, bodies: Sequence[Solid], tree: shapely.STRtree, skip: int
) -> float:
    """Area of a level face that no body stands on, hangs against or runs through."""
    over = [
        int(n)
        for n in tree.query(shape)
        if int(n) != skip
        and not bodies[int(n)].transmits
        and bodies[int(n)].base <= level + _CONTACT
        and (
            bodies[int(n)].top > level + _CONTACT
            # Two tops at one level in one place: the first of them is seen.
            or (abs(bodies[int(n)].top - level) <= _CONTACT and int(n) < skip)
        )
    ]
    if not over:
        return float(shape.area)
    covered = shapely.union_all([bodies[n].footprint for n in over])
    return float(shape.difference(covered).area)


def _under_free(
    shape: Polygon, level: float, bodies: Sequence[Solid], tree: shapely.STRtree, skip: int
) -> float:
    under = [
        int(n)
        for n in tree.query(shape)
        if int(n) != skip
        and not bodies[int(n)].transmits
        and bodies[int(n)].top >= level - _CONTACT
        and bodies[int(n)].base < level - _CONTACT
    ]
    if not under:
        return float(shape.area)
    covered = shapely.union_all([bodies[n].footprint for n in under])
    return float(shape.difference(covered).area)


def _solid_faces(
    bodies: Sequence[Solid],
    rooms: Shell,
    *,
    against: float,
    eyes: tuple[float, float],
) -> list[_Face]:
    if not bodies:
        return []
    tallest = max(rooms.heights.values())
    tree = shapely.STRtree([b.footprint for b in bodies])
    start, end, whose = _edges_of(bodies)
    along = end - start
    length = np.linalg.norm(along, axis=1)
    out = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.maximum(length, 1e-12)[:, None]
    low = np.array([b.base for b in bodies])[whose]
    high = np.array([b.top for b in bodies])[whose]
    hidden = _hidden_on_edges(
        start, end, out, whose, low, high, bodies, rooms.polygon, against, tallest + 1.0
    )
    _add_flush(hidden, start, end, out, whose, bodies)
    seen = np.zeros(len(bodies))
    full = np.zeros(len(bodies))
    areas = length * (high - low)
    for e, rects in enumerate(hidden):
        n = whose[e]
        full[n] += areas[e]
        seen[n] += _free((0.0, low[e], length[e], high[e]), rects) if rects else areas[e]
    found = []
    for n, body in enumerate(bodies):
        ceiling = rooms.heights[body.room]
        shape = body.footprint
        area = float(shape.area)

        def face(name: str, seen: float, full: float, n: int = n, body: Solid = body) -> _Face:
            return _Face(
                kind=body.kind,
                owner=body.owner,
                item=body.item,
                part=body.part,
                face=name,
                area=seen,
                full=full,
                source=("body", n),
                transmits=body.transmits,
                room=body.room,
            )

        shown = 0.0
        if body.top <= eyes[1] and body.top < ceiling - _CONTACT:
            shown = _flat_free(shape, body.top, bodies, tree, n)
        found.append(face("top", shown, area))
        found.append(face("sides", float(seen[n]), float(full[n])))
        shown = 0.0
        if body.base >= eyes[0]:
            shown = _under_free(shape, body.base, bodies, tree, n)
        found.append(face("underside", shown, area))
    return found


def _shell_faces(
    bodies: Sequence[Solid],
    rooms: Shell,
    *,
    against: float,
    frame_width: float,
) -> list[_Face]:
    found: list[_Face] = []
    in_rooms = holes(rooms)
    tree = shapely.STRtree([b.footprint for b in bodies])
    for id in rooms.rooms:
        shape, tall, walls = rooms.outlines[id], rooms.heights[id], rooms.walls[id]

        def face(
            kind: str,
            owner: str,
            name: str,
            seen: float,
            full: float,
            source: tuple[object, ...],
            room_id: str = id,
        ) -> _Face:
            return _Face(
                kind=kind,
                owner=owner,
                item=f"{owner}.{_ITEM.get(kind, kind)}",
                part=kind,
                face=name,
                area=seen,
                full=full,
                source=source,
                transmits=False,
                room=room_id,
            )

        def level(test_base: bool, height: float, shape: Polygon = shape) -> float:
            over = [
                bodies[int(n)].footprint
                for n in tree.query(shape)
                if not bodies[int(n)].transmits
                and (
                    bodies[int(n)].base <= _CONTACT
                    if test_base
                    else bodies[int(n)].top >= height - _CONTACT
                )
            ]
            return float((shape.difference(shapely.union_all(over)) if over else shape).area)

        area = float(shape.area)
        found.append(face("floor", id, "floor", level(True, 0.0), area, ("floor", id)))
        found.append(face("ceiling", id, "ceiling", level(False, tall), area, ("ceiling", id)))
        start = np.array([w.start for w in walls], dtype=np.float64)
        end = np.array([w.end for w in walls], dtype=np.float64)
        length = np.array([w.length for w in walls])
        inward = np.array([w.inward for w in walls])
        hidden = _hidden_on_edges(
            start,
            end,
            inward,
            np.full(len(walls), -1),
            np.zeros(len(walls)),
            np.full(len(walls), tall),
            bodies,
            None,
            against,
            tall,
        )
        for wall, rects in enumerate(hidden):
            mine = [h for h in in_rooms[id] if h.wall == wall]
            cut = [h.rect for h in mine]
            whole = (0.0, 0.0, float(length[wall]), tall)
            found.append(
                face(
                    "wall",
                    id,
                    f"wall {wall}",
                    _free(whole, [*rects, *cut]),
                    _free(whole, cut),
                    ("wall", id, wall),
                )
            )
            for hole in mine:
                glass, frame = panes(hole, frame_width=frame_width)
                leaf = hole.opening.kind == "door"
                for kind, pieces in (("door leaf" if leaf else "glass", glass), ("frame", frame)):
                    if not pieces:
                        continue
                    found.append(
                        face(
                            kind,
                            hole.id,
                            f"wall {wall}",
                            sum(_free(r, rects) for r in pieces),
                            sum(_free(r, []) for r in pieces),
                            ("glass", hole.id) if kind == "glass" else ("frame", hole.id, id, wall),
                        )
                    )
    return found


# --- finishes and the cache -------------------------------------------------

_CACHE: OrderedDict[int, tuple[tuple[object, ...], list[_Face]]] = OrderedDict()
_KEPT = 16


def _geometry(
    home: Home,
    bodies: Sequence[Solid],
    rooms: Shell,
    *,
    against: float,
    eyes: tuple[float, float],
    frame_width: float,
) -> list[_Face]:
    """The faces and areas; the same for any finishes, so kept by geometry."""
    key: tuple[object, ...] = (
        rooms.rooms,
        tuple((id, r.outline, r.height) for id, r in home.rooms.items()),
        tuple(
            (
                (id, o.room, o.wall, o.kind, o.to, o.leaves),
                (o.offset, o.width, o.head, o.sill, o.thickness),
            )
            for id, o in home.openings.items()
        ),
        tuple(
            (b.owner, b.item, b.kind, b.part, b.base, b.top, b.transmits, b.room) for b in bodies
        ),
        tuple(shapely.to_wkb(np.array([b.footprint for b in bodies], dtype=object)).tolist()),
        (against, eyes, frame_width),
    )
    mark = hash(key)
    kept = _CACHE.get(mark)
    if kept is not None and kept[0] == key:
        _CACHE.move_to_end(mark)
        return kept[1]
    faces = _shell_faces(bodies, rooms, against=against, frame_width=frame_width)
    faces += _solid_faces(bodies, rooms, against=against, eyes=eyes)
    _CACHE[mark] = (key, faces)
    while len(_CACHE) > _KEPT:
        _CACHE.popitem(last=False)
    return faces


def _finish(home: Home, bodies: Sequence[Solid], source: tuple[object, ...]) -> str:
    what = source[0]
    if what == "body":
        return bodies[int(str(source[1]))].finish
    if what == "glass":
        return ""
    if what == "frame":
        frame = home.openings[str(source[1])].frame
        if frame:
            return frame
        room = home.rooms[str(source[2])]
        return room.walls.get(str(source[3]), room.wall)
    room = home.rooms[str(source[1])]
    if what == "floor":
        return room.floor
    if what == "ceiling":
        return room.ceiling
    return room.walls.get(str(source[2]), room.wall)


def surfaces_of(
    home: Home,
    bodies: Sequence[Solid],
    *,
    rooms: Collection[str] | None = None,
    against: float | None = None,
    eyes: tuple[float, float] | None = None,
) -> tuple[Surface, ...]:
    """The surfaces of rooms with these bodies in them.

    Parameters
    ----------
    home : Home
        The home: rooms, openings and their finishes.
    bodies : sequence of Solid
        From `solids`.
    rooms : collection of str, optional
        Only these rooms; all where missing.
    against : float, optional
        Faces nearer than this hide each other. [m]
    eyes : tuple of float, optional
        Lowest and highest eye in the room. [m]

    Returns
    -------
    tuple of Surface
        Shell first, then bodies; faces that are quite hidden are there with
        area 0.

    Raises
    ------
    LookupFailed
        A room or wall is not there.
    InputError
        An opening does not fit in its wall, or a length is not over 0.
    """
    inside = shell(home, rooms=rooms)
    near = value("palette.against", home.rules) if against is None else against
    if not (math.isfinite(near) and near > 1e-3):
        raise InputError("against", given=near, allowed="over 0.001 m", mend="0.05 m is usual")
    low, high = eyes or (
        value("palette.eye.low", home.rules),
        value("palette.eye.high", home.rules),
    )
    if not (math.isfinite(low) and math.isfinite(high) and 0 < low <= high):
        raise InputError("eyes", given=(low, high), allowed="low over 0 m, high not under it")
    for body in bodies:
        if not body.footprint.is_valid or body.footprint.area <= 0:
            raise InputError(
                f"footprint of {body.owner}, {body.part}",
                given=shapely.is_valid_reason(body.footprint),
                allowed="an area",
                mend="give its parts a width and a depth",
            )
    faces = _geometry(
        home,
        bodies,
        inside,
        against=near,
        eyes=(low, high),
        frame_width=value("palette.frame.width", home.rules),
    )
    return tuple(
        Surface(
            kind=f.kind,
            owner=f.owner,
            item=f.item,
            part=f.part,
            face=f.face,
            finish=_finish(home, bodies, f.source),
            area=f.area,
            full=f.full,
            transmits=f.transmits,
            room=f.room,
        )
        for f in faces
    )


def surfaces(
    home: Home,
    layout: Layout,
    *,
    rooms: Collection[str] | None = None,
    placed: Mapping[str, Placed] | None = None,
    against: float | None = None,
    eyes: tuple[float, float] | None = None,
) -> tuple[Surface, ...]:
    """The furnished rooms as the surfaces one can see.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        What stands, hangs and lies where.
    rooms : collection of str, optional
        Only these rooms; all where missing.
    placed : mapping of str to Placed, optional
        The pieces where they stand, if they have been placed already.
    against : float, optional
        Faces nearer than this hide each other. [m]
    eyes : tuple of float, optional
        Lowest and highest eye in the room. [m]

    Returns
    -------
    tuple of Surface
        Shell first, then pieces, columns, lamps and drapery. Areas are kept
        by geometry: with other finishes only the finishes are read again.

    Raises
    ------
    LookupFailed
        A name is not in the project.
    InputError
        A size or place cannot be.
    """
    bodies = solids(home, layout, rooms=rooms, placed=placed)
    return surfaces_of(home, bodies, rooms=rooms, against=against, eyes=eyes)
