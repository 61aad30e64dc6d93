"""What touches what in a furnished room, with the length of the edge between them.

Only what touches is told here, from the geometry alone. What is seen in front
of what depends on where one looks from and comes from a view
(`designkit.scene.view`).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import LineString

from designkit.model import Home, Layout
from designkit.palette.contrast import Meeting
from designkit.plan.place import Placed
from designkit.reference import value
from designkit.scene.openings import holes
from designkit.scene.solids import Shell, Solid, shell, solids

__all__ = ["neighbours"]

_CONTACT = 0.005  # heights nearer than this touch [m]
_Key = tuple[str, str, str, str]  # item, item, finish, finish


class _Edges:
    """Lengths of edges by who meets whom; the order they were first met in."""

    def __init__(self) -> None:
        self.found: dict[_Key, float] = {}

    def add(self, a: str, b: str, finish_a: str, finish_b: str, length: float) -> None:
        if length <= 0 or not finish_a or not finish_b or (a == b and finish_a == finish_b):
            return
        key = (a, b, finish_a, finish_b)
        turned = (b, a, finish_b, finish_a)
        if turned in self.found:
            key = turned
        self.found[key] = self.found.get(key, 0.0) + length


def _bodies_meet(a: Solid, b: Solid, against: float) -> float:
    """Length of the edge between two prisms, 0 where they do not touch."""
    if a.transmits or b.transmits:
        return 0.0
    gap = max(a.base, b.base) - min(a.top, b.top)
    if gap > _CONTACT:
        return 0.0
    shared = a.footprint.intersection(b.footprint)
    if shared.area > 1e-8:  # one on the other, or one standing in the other
        return float(shared.length)
    if gap >= -_CONTACT:  # level with each other but side by side: only corners touch
        return 0.0
    side = a.footprint.exterior.intersection(b.footprint.buffer(against, join_style="mitre"))
    return 0.0 if side.length <= 2 * against else float(side.length) - 2 * gap


def _among_bodies(edges: _Edges, bodies: Sequence[Solid], against: float) -> None:
    if not bodies:
        return
    shapes = np.array([b.footprint for b in bodies], dtype=object)
    pairs = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=against)
    for n, m in pairs.T.tolist():
        if n < m:
            a, b = bodies[n], bodies[m]
            edges.add(a.item, b.item, a.finish, b.finish, _bodies_meet(a, b, against))


def _with_floor(
    edges: _Edges, home: Home, bodies: Sequence[Solid], rooms: Shell, low: float
) -> None:
    rugs = [b for b in bodies if b.base <= _CONTACT and b.top <= low]
    for body in bodies:
        if body.base > _CONTACT or body.transmits or body.room not in rooms.rooms:
            continue
        on_floor: shapely.Geometry = body.footprint.exterior
        for rug in rugs:
            if rug is not body:
                on_floor = shapely.difference(on_floor, rug.footprint)
        edges.add(
            body.item,
            f"{body.room}.floor",
            body.finish,
            home.rooms[body.room].floor,
            float(shapely.length(on_floor)),
        )


def _with_walls(
    edges: _Edges, home: Home, bodies: Sequence[Solid], rooms: Shell, against: float
) -> None:
    in_walls = holes(rooms)
    for id in rooms.rooms:
        room = home.rooms[id]
        tall = rooms.heights[id]
        for wall in rooms.walls[id]:
            if wall.length <= 0:
                continue
            finish = room.walls.get(str(wall.index), room.wall)
            name = f"{id}.walls"
            doors = sum(
                h.rect[2] - h.rect[0]
                for h in in_walls[id]
                if h.wall == wall.index and h.rect[1] <= _CONTACT
            )
            edges.add(name, f"{id}.floor", finish, room.floor, wall.length - doors)
            edges.add(name, f"{id}.ceiling", finish, room.ceiling, wall.length)
            for h in in_walls[id]:
                if h.wall != wall.index or h.opening.kind == "passage":
                    continue
                a, low, b, high = h.rect
                rim = (b - a) + 2 * (high - low) + ((b - a) if low > _CONTACT else 0.0)
                edges.add(f"{h.id}.frame", name, h.opening.frame, finish, rim)
            strip = LineString([wall.start, wall.end]).buffer(against, cap_style="flat")
            for body in bodies:
                if body.room != id or body.transmits or body.base >= tall:
                    continue
                span = body.footprint.intersection(strip)
                if span.area <= 1e-8:
                    continue
                ux, uy = (wall.end[0] - wall.start[0]), (wall.end[1] - wall.start[1])
                at = shapely.get_coordinates(span) @ np.array([ux, uy]) / wall.length
                wide = float(np.ptp(at))
                edges.add(body.item, name, body.finish, finish, wide + 2 * (body.top - body.base))


def neighbours(
    home: Home,
    layout: Layout,
    *,
    rooms: Collection[str] | None = None,
    placed: Mapping[str, Placed] | None = None,
    against: float | None = None,
) -> tuple[Meeting, ...]:
    """What touches what, with the length of the edge.

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
        What is nearer than this touches. [m]

    Returns
    -------
    tuple of Meeting
        By item: pieces with each other, with floor and rug, with walls and
        drapery; walls with floor, ceiling and frames; parts of one piece whose
        finishes differ. Things without a finish are not among them.

    Raises
    ------
    LookupFailed
        A name is not in the project.
    InputError
        A size or place cannot be.
    """
    inside = shell(home, rooms=rooms)
    near = value("palette.against", home.rules) if against is None else against
    bodies = solids(home, layout, rooms=rooms, placed=placed)
    edges = _Edges()
    _among_bodies(edges, bodies, near)
    _with_floor(edges, home, bodies, inside, value("plan.clear.rug", home.rules))
    _with_walls(edges, home, bodies, inside, near)
    return tuple(
        Meeting(a=a, b=b, finish_a=one, finish_b=two, how="touch", length=length)
        for (a, b, one, two), length in edges.found.items()
    )
