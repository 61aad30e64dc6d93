"""What a ray from an eye meets first, for many rays at once.

The rooms are upright walls with holes, floors and ceilings; everything in them
is an upright prism on four corners or on a disc. All rays start at one eye, so
a prism is tried only with the rays whose azimuth passes over its footprint.
Discs are met exactly, not as the polygons that draw them.

Glass tops and wire are seen through. Windows are looked at, not through: what
is outside is no finish of the room. A ray that leaves by a passage to a room
that is not part of the scene meets "beyond".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Point, Polygon

from designkit.errors import InputError
from designkit.model import Home
from designkit.scene.openings import Hole, Rect, holes, panes
from designkit.scene.solids import Shell, Solid

__all__ = ["Hits", "RayScene", "Target", "cast", "ray_scene"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
_NEAR = 1e-6  # nothing nearer to the eye than this is met [m]
_BLOCK = 20_000  # rays at a time


@dataclass(frozen=True, kw_only=True)
class Target:
    """Something that a ray can meet."""

    kind: str  # floor, wall, ceiling, glass, frame, door leaf, piece, column, lamp, drapery, beyond
    owner: str
    item: str
    part: str
    finish: str


@dataclass(frozen=True, kw_only=True, eq=False)
class _Upright:
    """A wall as an upright rectangle, with what is in it."""

    target: int
    start: Array
    along: Array
    length: float
    base: float
    top: float
    through: tuple[Rect, ...] = ()  # passages
    fields: tuple[tuple[Rect, int], ...] = ()  # frame, then glass or leaf; the last one counts


@dataclass(frozen=True, kw_only=True, eq=False)
class _Level:
    """A floor, a ceiling, or the threshold and soffit of a passage."""

    target: int
    shape: Polygon
    height: float


@dataclass(frozen=True, kw_only=True, eq=False)
class _Prisms:
    """Prisms of one sort as arrays."""

    corners: Array  # n × k × 2, for azimuths
    base: Array
    top: Array
    target: Ints
    normals: Array  # n × 4 × 2, outward (quads)
    reach: Array  # n × 4 (quads)
    inverse: Array  # n × 2 × 2, of the axes (discs)
    centre: Array  # n × 2 (discs)
    hole: Array  # inner over outer diameter (discs)


@dataclass(frozen=True, kw_only=True, eq=False)
class RayScene:
    """Rooms and what is in them, ready for rays."""

    targets: tuple[Target, ...]
    quads: _Prisms
    discs: _Prisms
    uprights: tuple[_Upright, ...]
    levels: tuple[_Level, ...]
    rooms: Shell
    bodies: tuple[Solid, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Hits:
    """What each ray meets: index into `RayScene.targets`, and how far away [m]."""

    target: Ints
    distance: Array


# --- making a scene ---------------------------------------------------------


def _disc_axes(ring: Array) -> tuple[Array, Array] | None:
    """Centre and axes of a ring of points that is a circle, stretched or not."""
    n = len(ring) - 1
    if n < 32 or n % 4:
        return None
    points = ring[:-1]
    centre = points.mean(axis=0)
    axes = np.stack([points[0] - centre, points[n // 4] - centre], axis=1)
    if abs(np.linalg.det(axes)) < 1e-12:
        return None
    radii = np.linalg.norm((points - centre) @ np.linalg.inv(axes).T, axis=1)
    return (centre, axes) if np.allclose(radii, 1.0, atol=1e-6) else None


def _quads_of(shape: Polygon) -> list[Array]:
    """A footprint as convex pieces of three or four corners, counter-clockwise."""
    plain = shapely.orient_polygons(shape)
    ring = shapely.get_coordinates(plain.exterior)[:-1]
    convex = float(shape.convex_hull.area) - float(shape.area) <= 1e-9
    if not shape.interiors and convex and len(ring) <= 4:
        return [ring]
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    return [
        shapely.get_coordinates(shapely.orient_polygons(p).exterior)[:-1]
        for p in parts
        if p.area > 1e-12
    ]


class _Collector:
    """Gathers prisms, then makes arrays of them."""

    def __init__(self) -> None:
        self.quads: list[tuple[Array, float, float, int]] = []
        self.discs: list[tuple[Array, Array, Array, float, float, float, int]] = []

    def add(self, shape: Polygon, base: float, top: float, target: int) -> None:
        ring = shapely.get_coordinates(shape.exterior)
        disc = _disc_axes(ring)
        inner = [_disc_axes(shapely.get_coordinates(r)) for r in shape.interiors]
        hole = 0.0
        if disc is not None and len(inner) == 1 and inner[0] is not None:
            if np.allclose(inner[0][0], disc[0], atol=1e-6):
                hole = float(np.linalg.norm(inner[0][1][:, 0]) / np.linalg.norm(disc[1][:, 0]))
            else:
                disc = None
        elif inner:
            disc = None
        if disc is not None:
            centre, axes = disc
            inverse = np.asarray(np.linalg.inv(axes), dtype=np.float64)
            self.discs.append((ring[:-1], inverse, centre, hole, base, top, target))
            return
        for corners in _quads_of(shape):
            # A triangle is a quad whose last corner is there twice.
            four = corners if len(corners) == 4 else np.concatenate([corners, corners[-1:]])
            self.quads.append((four, base, top, target))

    def arrays(self) -> tuple[_Prisms, _Prisms]:
        return self._quad_arrays(), self._disc_arrays()

    def _quad_arrays(self) -> _Prisms:
        corners = np.array([q[0] for q in self.quads]).reshape(-1, 4, 2)
        edges = np.roll(corners, -1, axis=1) - corners
        length = np.linalg.norm(edges, axis=2, keepdims=True)
        normals = np.stack([edges[..., 1], -edges[..., 0]], axis=-1) / np.maximum(length, 1e-12)
        n = len(self.quads)
        return _Prisms(
            corners=corners,
            base=np.array([q[1] for q in self.quads]),
            top=np.array([q[2] for q in self.quads]),
            target=np.array([q[3] for q in self.quads], dtype=np.int64),
            normals=normals,
            reach=np.einsum("nki,nki->nk", normals, corners),
            inverse=np.zeros((n, 2, 2)),
            centre=np.zeros((n, 2)),
            hole=np.zeros(n),
        )

    def _disc_arrays(self) -> _Prisms:
        n = len(self.discs)
        most = max((len(d[0]) for d in self.discs), default=4)
        # Rings may have other numbers of points: the last is repeated.
        corners = [
            np.concatenate([d[0], np.repeat(d[0][-1:], most - len(d[0]), axis=0)])
            for d in self.discs
        ]
        return _Prisms(
            corners=np.array(corners).reshape(-1, most, 2),
            base=np.array([d[4] for d in self.discs]),
            top=np.array([d[5] for d in self.discs]),
            target=np.array([d[6] for d in self.discs], dtype=np.int64),
            normals=np.zeros((n, 4, 2)),
            reach=np.zeros((n, 4)),
            inverse=np.array([d[1] for d in self.discs]).reshape(-1, 2, 2),
            centre=np.array([d[2] for d in self.discs]).reshape(-1, 2),
            hole=np.array([d[3] for d in self.discs]),
        )


class _Names:
    """Targets, each once."""

    def __init__(self) -> None:
        self.index: dict[Target, int] = {}

    def of(self, kind: str, owner: str, item: str, part: str, finish: str) -> int:
        target = Target(kind=kind, owner=owner, item=item, part=part, finish=finish)
        return self.index.setdefault(target, len(self.index))


def _fields(
    hole: Hole, wall_finish: str, names: _Names, frame_width: float
) -> list[tuple[Rect, int]]:
    """Frame over the whole hole, then glass or leaf over the frame."""
    opening = hole.opening
    glass, _ = panes(hole, frame_width=frame_width)
    finish = opening.frame or wall_finish
    frame = names.of("frame", hole.id, f"{hole.id}.frame", "frame", finish)
    if opening.kind == "door":
        inner = names.of("door leaf", hole.id, f"{hole.id}.leaf", "door leaf", finish)
    else:
        inner = names.of("glass", hole.id, f"{hole.id}.glass", "glass", "")
    return [(hole.rect, frame)] + [(rect, inner) for rect in glass]


def _passages(
    home: Home, rooms: Shell, names: _Names, uprights: list[_Upright], levels: list[_Level]
) -> None:
    """Jambs, soffit and threshold of each passage between two rooms of the scene."""
    for space in rooms.spaces:
        for at in space.openings:
            opening = at.opening
            joined = at.room in rooms.rooms and at.to in rooms.rooms
            if opening.kind != "passage" or at.far or not joined:
                continue
            room = home.rooms[at.room]
            finish = room.walls.get(str(opening.wall), room.wall)
            wall = names.of("wall", at.room, f"{at.room}.walls", "jamb", finish)
            floor = names.of("floor", at.room, f"{at.room}.floor", "floor", room.floor)
            out = -np.array(at.inward)
            for point in (at.left, at.right):
                uprights.append(
                    _Upright(
                        target=wall,
                        start=np.array(point, dtype=np.float64),
                        along=out,
                        length=opening.thickness,
                        base=opening.sill,
                        top=opening.head,
                    )
                )
            levels.append(_Level(target=floor, shape=at.strip, height=opening.sill))
            levels.append(_Level(target=wall, shape=at.strip, height=opening.head))


def ray_scene(home: Home, bodies: Sequence[Solid], *, rooms: Shell, frame_width: float) -> RayScene:
    """Make rooms and bodies ready for rays.

    Parameters
    ----------
    home : Home
        Gives the finishes of the rooms.
    bodies : sequence of Solid
        From `solids`.
    rooms : Shell
        From `shell`.
    frame_width : float
        Face width of a window frame. [m]

    Returns
    -------
    RayScene
        With one target for each part of each thing.

    Raises
    ------
    InputError
        A frame does not fit its opening.
    """
    names = _Names()
    in_walls = holes(rooms)
    uprights: list[_Upright] = []
    levels: list[_Level] = []
    beyond = names.of("beyond", "", "beyond", "", "")
    for id in rooms.rooms:
        room = home.rooms[id]
        tall = rooms.heights[id]
        floor = names.of("floor", id, f"{id}.floor", "floor", room.floor)
        ceiling = names.of("ceiling", id, f"{id}.ceiling", "ceiling", room.ceiling)
        levels.append(_Level(target=floor, shape=rooms.outlines[id], height=0.0))
        levels.append(_Level(target=ceiling, shape=rooms.outlines[id], height=tall))
        for wall in rooms.walls[id]:
            if wall.length <= 0:
                continue
            finish = room.walls.get(str(wall.index), room.wall)
            mine = [h for h in in_walls[id] if h.wall == wall.index]
            passages = [h for h in mine if h.opening.kind == "passage"]
            fields = [
                f for h in mine if h not in passages for f in _fields(h, finish, names, frame_width)
            ]
            # A passage to a room that is not looked at is the end of the view.
            other = {h.id: h.opening.to if h.own else h.opening.room for h in passages}
            fields += [(h.rect, beyond) for h in passages if other[h.id] not in rooms.rooms]
            uprights.append(
                _Upright(
                    target=names.of("wall", id, f"{id}.walls", f"wall {wall.index}", finish),
                    start=np.array(wall.start, dtype=np.float64),
                    along=(np.array(wall.end) - np.array(wall.start)) / wall.length,
                    length=wall.length,
                    base=0.0,
                    top=tall,
                    through=tuple(h.rect for h in passages if other[h.id] in rooms.rooms),
                    fields=tuple(fields),
                )
            )
    _passages(home, rooms, names, uprights, levels)
    made = _Collector()
    for body in bodies:
        if not body.transmits:
            target = names.of(body.kind, body.owner, body.item, body.part, body.finish)
            made.add(body.footprint, body.base, body.top, target)
    quads, discs = made.arrays()
    return RayScene(
        targets=tuple(names.index),
        quads=quads,
        discs=discs,
        uprights=tuple(uprights),
        levels=tuple(levels),
        rooms=rooms,
        bodies=tuple(bodies),
    )


# --- casting ----------------------------------------------------------------


def _check_eye(scene: RayScene, eye: Array) -> None:
    spot = Point(eye[0], eye[1])
    room = scene.rooms.room_at((float(eye[0]), float(eye[1])))
    on_strip = not room and bool(shapely.intersects(scene.rooms.polygon, spot))
    if not room and not on_strip:
        raise InputError(
            "viewpoint",
            given=f"({eye[0]:.2f}, {eye[1]:.2f}) m",
            allowed="a point inside the rooms",
            mend="move it into a room",
        )
    tall = scene.rooms.heights[room] if room else min(scene.rooms.heights.values())
    if not 0 < eye[2] < tall:
        raise InputError(
            "eye of the viewpoint", given=f"{eye[2]:g} m", allowed=f"over 0, under {tall:g} m"
        )
    for body in scene.bodies:
        inside = body.base < eye[2] < body.top and bool(body.footprint.contains(spot))
        if inside and not body.transmits:
            raise InputError(
                "viewpoint",
                given=f"inside {body.owner}, {body.part}",
                allowed="a free place",
                mend="move the viewpoint, or the thing that is there",
            )


def _wide(low: Array, high: Array, inside: NDArray[np.bool_]) -> tuple[Array, Array]:
    whole = inside | (high - low > np.pi - 1e-6)
    return np.where(whole, -np.pi, low), np.where(whole, np.pi, high)


def _pairs(
    prisms: _Prisms, eye: Array, angle: Array, order: Ints, tangent: Array, *, disc: bool
) -> tuple[Ints, Ints]:
    """Which rays may meet which prism: indices of rays and of prisms."""
    offset = prisms.corners - eye[:2]
    middle = offset.mean(axis=1)
    towards = np.arctan2(middle[:, 1], middle[:, 0])
    turn = np.arctan2(offset[..., 1], offset[..., 0]) - towards[:, None]
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    slack = 2e-3  # a disc bulges past its polygon
    inside: NDArray[np.bool_]
    if disc:
        at = np.einsum("nij,nj->ni", prisms.inverse, eye[:2] - prisms.centre)
        inside = np.linalg.norm(at, axis=1) <= 1 + 1e-9
    else:
        inside = np.all(prisms.normals @ eye[:2] <= prisms.reach + 1e-9, axis=1)
    low, high = _wide(turn.min(axis=1) - slack, turn.max(axis=1) + slack, inside)
    ring = np.concatenate([angle - 2 * np.pi, angle, angle + 2 * np.pi])
    count_rays = len(angle)
    first = np.searchsorted(ring, towards + low, side="left")
    last = np.searchsorted(ring, towards + high, side="right")
    count = np.minimum(last - first, count_rays)
    prism = np.repeat(np.arange(len(count)), count)
    step = np.arange(len(prism)) - np.repeat(np.cumsum(count) - count, count)
    ray = order[(np.repeat(first, count) + step) % count_rays]

    # Rays that pass over or under everything of a prism are dropped here.
    far = np.linalg.norm(offset, axis=2).max(axis=1) * (1 + 1e-3)
    radius = np.linalg.norm(offset - middle[:, None, :], axis=2).max(axis=1) * (1 + 1e-3)
    # 0 where the eye is over or under the prism: then no slope is too steep.
    near = np.maximum(np.linalg.norm(middle, axis=1) - radius, 0.0)
    up, down = prisms.top - eye[2], prisms.base - eye[2]
    most = np.where(up >= 0, up / near, up / far)
    least = np.where(down <= 0, down / near, down / far)
    keep = (tangent[ray] <= most[prism]) & (tangent[ray] >= least[prism])
    return ray[keep], prism[keep]


def _slab(prisms: _Prisms, eye: Array, way: Array, prism: Ints) -> tuple[Array, Array]:
    """Where rays enter and leave the heights of prisms."""
    down = (prisms.base[prism] - eye[2]) / way[:, 2]
    up = (prisms.top[prism] - eye[2]) / way[:, 2]
    flat = way[:, 2] == 0
    within = (prisms.base[prism] < eye[2]) & (eye[2] < prisms.top[prism])
    enter = np.where(flat, np.where(within, -np.inf, np.inf), np.minimum(down, up))
    leave = np.where(flat, np.where(within, np.inf, -np.inf), np.maximum(down, up))
    return enter, leave


def _meet_quads(prisms: _Prisms, eye: Array, way: Array, prism: Ints) -> Array:
    """Distance to each quad prism, infinite where it is missed."""
    normals = prisms.normals[prism]
    speed = normals[..., 0] * way[:, 0, None] + normals[..., 1] * way[:, 1, None]
    room = prisms.reach[prism] - (prisms.normals @ eye[:2])[prism]
    at = room / speed
    enter = np.where(speed < 0, at, -np.inf).max(axis=1)
    leave = np.where(speed > 0, at, np.inf).min(axis=1)
    beside = ((speed == 0) & (room < 0)).any(axis=1)
    low, high = _slab(prisms, eye, way, prism)
    enter, leave = np.maximum(enter, low), np.minimum(leave, high)
    met = (enter < leave) & (enter > _NEAR) & ~beside
    return np.where(met, enter, np.inf)


def _meet_discs(prisms: _Prisms, eye: Array, way: Array, prism: Ints) -> Array:
    """Distance to each disc or ring, infinite where it is missed."""
    inverse = prisms.inverse
    from_ = np.einsum("nij,nj->ni", inverse, eye[:2] - prisms.centre)[prism]
    step = np.einsum("nij,nj->ni", inverse[prism], way[:, :2])
    a = np.einsum("ij,ij->i", step, step)
    b = np.einsum("ij,ij->i", from_, step)
    square = np.einsum("ij,ij->i", from_, from_)
    upright = a < 1e-18

    def crossing(radius: Array) -> tuple[Array, Array]:
        c = square - radius**2
        root = b * b - a * c
        miss = root <= 0
        side = np.sqrt(np.maximum(root, 0.0))
        enter = np.where(miss, np.inf, (-b - side) / np.where(upright, 1.0, a))
        leave = np.where(miss, -np.inf, (-b + side) / np.where(upright, 1.0, a))
        inside = c < 0
        enter = np.where(upright, np.where(inside, -np.inf, np.inf), enter)
        leave = np.where(upright, np.where(inside, np.inf, -np.inf), leave)
        return enter, leave

    low, high = _slab(prisms, eye, way, prism)
    enter, leave = crossing(np.ones(len(prism)))
    enter, leave = np.maximum(enter, low), np.minimum(leave, high)
    met = (enter < leave) & (enter > _NEAR)
    found = np.where(met, enter, np.inf)
    hole = prisms.hole[prism]
    if (hole > 0).any():
        # An eye in or over the hole enters the ring where the hole ends.
        start = np.maximum(enter, 0.0)
        in_, out = crossing(hole)
        through = (hole > 0) & (in_ <= start) & (start < out) & (enter < leave)
        found = np.where(through, np.where((out < leave) & (out > _NEAR), out, np.inf), found)
    return found


def _nearest(best: Array, target: Ints, ray: Ints, distance: Array, met: Ints) -> None:
    """Write what is nearer into `best` and `target`; several tries a ray."""
    hit = np.isfinite(distance)
    ray, distance, met = ray[hit], distance[hit], met[hit]
    far_first = np.argsort(-distance, kind="stable")
    ray, distance, met = ray[far_first], distance[far_first], met[far_first]
    trial = np.full(len(best), np.inf)
    what = np.zeros(len(best), dtype=np.int64)
    trial[ray] = distance  # of several values for one ray the last, the nearest, stays
    what[ray] = met
    nearer = trial < best
    best[nearer] = trial[nearer]
    target[nearer] = what[nearer]


def _meet_upright(wall: _Upright, eye: Array, way: Array, best: Array, target: Ints) -> None:
    across = np.array([-wall.along[1], wall.along[0]])
    speed = way[:, 0] * across[0] + way[:, 1] * across[1]
    t = float((wall.start - eye[:2]) @ across) / speed
    ahead = (t > _NEAR) & (t < best)
    ray = np.flatnonzero(ahead)
    if len(ray) == 0:
        return
    t = t[ray]
    begin = eye[:2] - wall.start
    s = float(begin @ wall.along) + t * (way[ray, :2] @ wall.along)
    z = eye[2] + t * way[ray, 2]
    on = (s >= 0) & (s <= wall.length) & (z >= wall.base) & (z <= wall.top)
    for a, low, b, high in wall.through:
        on &= ~((s > a) & (s < b) & (z > low) & (z < high))
    ray, t, s, z = ray[on], t[on], s[on], z[on]
    met = np.full(len(ray), wall.target)
    for (a, low, b, high), what in wall.fields:
        met[(s >= a) & (s <= b) & (z >= low) & (z <= high)] = what
    best[ray] = t
    target[ray] = met


def _meet_level(
    level: _Level, eye: Array, way: Array, best: Array, target: Ints, *, only: bool
) -> None:
    t = (level.height - eye[2]) / way[:, 2]
    ray = np.flatnonzero((t > _NEAR) & (t < best))
    if len(ray) and not only:
        x, y = eye[0] + t[ray] * way[ray, 0], eye[1] + t[ray] * way[ray, 1]
        shapely.prepare(level.shape)
        ray = ray[shapely.intersects_xy(level.shape, x, y)]
    best[ray] = t[ray]
    target[ray] = level.target


def _cast_block(scene: RayScene, eye: Array, way: Array) -> tuple[Ints, Array]:
    best = np.full(len(way), np.inf)
    target = np.zeros(len(way), dtype=np.int64)  # 0 is "beyond"
    # A vertical or level ray divides by zero; infinity then says "never".
    with np.errstate(divide="ignore", invalid="ignore"):
        for wall in scene.uprights:
            _meet_upright(wall, eye, way, best, target)
        # In one room any floor or ceiling met before the wall is the room's own.
        only = len(scene.rooms.rooms) == 1
        for level in scene.levels:
            _meet_level(level, eye, way, best, target, only=only)
        angle = np.arctan2(way[:, 1], way[:, 0])
        order = np.argsort(angle, kind="stable")
        flat = np.hypot(way[:, 0], way[:, 1])
        tangent = np.where(flat > 0, way[:, 2] / flat, np.copysign(np.inf, way[:, 2]))
        for prisms, disc in ((scene.quads, False), (scene.discs, True)):
            if len(prisms.target) == 0:
                continue
            ray, prism = _pairs(prisms, eye, angle[order], order, tangent, disc=disc)
            meet = _meet_discs if disc else _meet_quads
            distance = meet(prisms, eye, way[ray], prism)
            _nearest(best, target, ray, distance, prisms.target[prism])
    return target, best


def cast(scene: RayScene, eye: tuple[float, float, float], directions: ArrayLike) -> Hits:
    """What rays from one eye meet first.

    Parameters
    ----------
    scene : RayScene
        From `ray_scene`.
    eye : tuple of float
        x, y and height. [m]
    directions : array_like
        Unit vectors, shape (n, 3).

    Returns
    -------
    Hits
        A ray that meets nothing has target 0, "beyond", at infinity.

    Raises
    ------
    InputError
        The eye is outside the rooms or inside a thing, or a direction is not
        three finite numbers, or has no length.
    """
    way = np.asarray(directions, dtype=np.float64)
    point = np.asarray(eye, dtype=np.float64)
    if point.shape != (3,) or not np.isfinite(point).all():
        raise InputError("eye", given=eye, allowed="three finite numbers", mend="x, y, height")
    if way.ndim != 2 or way.shape[1] != 3 or not np.isfinite(way).all():
        raise InputError("directions", given=way.shape, allowed="n × 3 finite numbers")
    size = np.linalg.norm(way, axis=1, keepdims=True)
    if (size < 1e-12).any():
        raise InputError("directions", given="a direction of no length", allowed="unit vectors")
    way = way / size
    _check_eye(scene, point)
    found = [
        _cast_block(scene, point, way[n : n + _BLOCK]) for n in range(0, max(1, len(way)), _BLOCK)
    ]
    return Hits(
        target=np.concatenate([f[0] for f in found]),
        distance=np.concatenate([f[1] for f in found]),
    )
