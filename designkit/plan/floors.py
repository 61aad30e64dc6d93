"""A floor prepared for routes: what stands on it, cut into convex sites.

Walls are cut into edges and at the jambs of doors; pieces stay whole where they
are convex. Rays say how wide a strip can be that lies against a place.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Point

__all__ = ["Door", "Floor", "Links", "Place", "Rays", "prepare"]

Place = str | Point | BaseGeometry
Array = npt.NDArray[np.float64]
Pairs = tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], Array]

CLOSED = 1e-6  # [m] a gap under this is contact: two pieces that touch
ON_WALL = 0.005  # [m] a door drawn this near to a wall line stands in it
POCKET = 0.001  # [m] how far outside its line a door counts as passed
FAR = 1e3  # [m] beyond any home


@dataclass(frozen=True, kw_only=True, eq=False)
class Door:
    """An opening in a wall that is as wide as it is clear."""

    id: str
    jambs: tuple[Point, Point]
    outward: Point  # unit vector out of the floor; (0, 0) inside it
    width: float  # [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Links:
    """Pairs of sites with their nearest points, nearest pair first."""

    first: npt.NDArray[np.int64]
    second: npt.NDArray[np.int64]
    gap: Array
    path: Array  # (pairs, 4, 2): base, nearest point, nearest point, base


@dataclass(frozen=True, kw_only=True, eq=False)
class Floor:
    """A floor prepared once for any number of routes."""

    free: Polygon | MultiPolygon
    obstacles: tuple[tuple[str, Polygon], ...]
    doors: Mapping[str, Door]
    sites: npt.NDArray[Any]
    names: tuple[str, ...]  # of each site
    shut: Mapping[str, frozenset[int]]  # door -> the sites that close it
    edge: Array  # (edges, 2, 2)
    edge_site: npt.NDArray[np.int64]
    corner: Array  # (corners, 2), each once
    corner_site: npt.NDArray[np.int64]
    base: Array  # (sites, 2) one point of each site
    wall_count: int  # the first sites are walls
    pocket: Mapping[int, str]  # sites behind a door line -> the door
    cache: dict[str, Any] = field(default_factory=dict)

    def clear(self) -> BaseGeometry:
        """The floor less its obstacles."""
        if "clear" not in self.cache:
            left = shapely.difference(
                self.free, shapely.union_all([shape for _, shape in self.obstacles])
            )
            shapely.prepare(left)
            self.cache["clear"] = left
        found: BaseGeometry = self.cache["clear"]
        return found

    def links(self, limit: float) -> Links:
        """Pairs of sites that are not far apart.

        Parameters
        ----------
        limit : float
            The most between them. [m]

        Returns
        -------
        Links
            Nearest pair first.
        """
        kept: tuple[float, Links] | None = self.cache.get("links")
        if kept is None or kept[0] < limit:
            i, j, near = _near_pairs(self.sites, limit)
            gap = np.hypot(*(near[:, 1] - near[:, 0]).T)
            if self.pocket:
                # The pocket is outside the floor: it only joins what it touches.
                behind = np.isin(np.stack([i, j]), list(self.pocket))
                wall = np.stack([i, j]) < self.wall_count
                joins = (gap <= 2 * ON_WALL) & (behind | wall).all(axis=0)
                same = np.array([self.names[a] == self.names[b] for a, b in zip(i, j, strict=True)])
                joins &= ~behind.all(axis=0) | ((gap <= CLOSED) & same)
                keep = ~behind.any(axis=0) | joins
                gap = np.where(behind.any(axis=0) & joins, 0.0, gap)
                i, j, near, gap = i[keep], j[keep], near[keep], gap[keep]
            order = np.lexsort((j, i, gap))
            i, j, near = i[order], j[order], near[order]
            path = np.stack([self.base[i], near[:, 0], near[:, 1], self.base[j]], axis=1)
            kept = (limit, Links(first=i, second=j, gap=gap[order], path=path))
            self.cache["links"] = kept
        return kept[1]


_last: list[tuple[npt.NDArray[Any], float, Pairs]] = []  # the floors that were looked at last


def _near_pairs(sites: npt.NDArray[Any], limit: float) -> Pairs:
    """Pairs of sites within a distance, and the points where they are nearest.

    Where only some sites differ from a floor that was looked at before, as when
    one piece is moved, only their pairs are looked for.
    """
    first = np.arange(len(sites))
    kept: Pairs | None = None
    for known, reach, pairs in _last:
        if reach == limit and len(known) == len(sites):
            moved = np.array([a is not b for a, b in zip(known, sites, strict=True)])
            if 2 * moved.sum() < len(sites):
                same = ~(moved[pairs[0]] | moved[pairs[1]])
                kept, first = (pairs[0][same], pairs[1][same], pairs[2][same]), first[moved]
                break
    i, j = shapely.STRtree(sites).query(sites[first], predicate="dwithin", distance=limit)
    i = first[i]
    if kept is None:
        i, j = i[i < j], j[i < j]
    else:
        fresh = np.zeros(len(sites), dtype=bool)
        fresh[first] = True
        once = (i != j) & (~fresh[j] | (i < j))
        i, j = np.minimum(i, j)[once], np.maximum(i, j)[once]
    near = shapely.get_coordinates(shapely.shortest_line(sites[i], sites[j])).reshape(-1, 2, 2)
    found: Pairs = (i, j, near)
    if kept is not None:
        found = tuple(np.concatenate(pair) for pair in zip(kept, found, strict=True))  # type: ignore[assignment]
    _last.insert(0, (sites, limit, found))
    del _last[4:]
    return found


@dataclass(frozen=True, kw_only=True, eq=False)
class Rays:
    """Directions in which a strip may lie against a place, in order round it."""

    at: Array  # (rays, 2)
    angle: Array  # (rays,), rising, over one full turn
    own: frozenset[int]  # sites of the place itself
    barred: frozenset[int]  # sites that do not count


# --- preparing ------------------------------------------------------------------


def prepare(
    free: Polygon | MultiPolygon,
    *,
    obstacles: Sequence[tuple[str, Polygon | MultiPolygon]] = (),
    doors: Sequence[tuple[str, tuple[Point, Point]]] = (),
    walls: Sequence[tuple[str, BaseGeometry]] = (),
) -> Floor:
    """Prepare a floor for routes.

    Parameters
    ----------
    free : Polygon or MultiPolygon
        The floor inside the walls; rooms joined by passages are one polygon.
        Holes are columns. [m]
    obstacles : sequence of (str, Polygon)
        What stands on it, with its id; outlines may overlap. [m]
    doors : sequence of (str, (Point, Point))
        Doors by id, the two sides of the clear opening. A door that is neither
        start nor end of a route is closed. [m]
    walls : sequence of (str, geometry)
        Names for the edges of `free`; an edge without one is "wall n". [m]

    Returns
    -------
    Floor
        For `widest` and `designkit.plan.routelines.shortest`.

    Raises
    ------
    InputError
        A shape is empty, not finite or crosses itself, or a door is not at a wall.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> from designkit.plan.routes import widest
    >>> floor = prepare(box(0, 0, 4, 3), obstacles=[("table", box(1.5, 0.8, 2.5, 3))])
    >>> round(widest(floor, start=(0.5, 1.5), end=(3.5, 1.5)).width, 3)
    0.8
    """
    solids = [(id, _solid(id, shape)) for id, shape in obstacles]
    shell = _shell(free, tuple(doors), tuple(walls))
    sites, names = [*shell.sites], [*shell.names]
    for id, solid in solids:
        sites += solid.sites
        names += [id] * len(solid.sites)
    lines = [*shell.lines, *(line for _, solid in solids for line in solid.lines)]

    edges: list[Array] = []
    owner: list[int] = []
    for index, xy in enumerate(lines):
        if index not in shell.sill:
            edges.append(np.stack([xy[:-1], xy[1:]], axis=1))
            owner += [index] * (len(xy) - 1)
    every = np.concatenate(edges)
    corner, first = np.unique(every.reshape(-1, 2), axis=0, return_index=True)
    array = np.empty(len(sites), dtype=object)
    array[:] = sites
    return Floor(
        free=free,
        obstacles=tuple((id, part) for id, solid in solids for part in solid.parts),
        doors=shell.doors,
        sites=array,
        names=tuple(names),
        shut=shell.shut,
        edge=every,
        edge_site=np.array(owner, dtype=np.int64),
        corner=corner,
        corner_site=np.repeat(np.array(owner, dtype=np.int64), 2)[first],
        base=np.array([xy[0] for xy in lines]),
        wall_count=shell.wall_count,
        pocket=shell.sill,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Shell:
    """Walls and doors as sites: the same wherever the pieces stand."""

    doors: Mapping[str, Door]
    sites: tuple[BaseGeometry, ...]
    lines: tuple[Array, ...]  # corners of each
    names: tuple[str, ...]
    shut: Mapping[str, frozenset[int]]
    wall_count: int
    sill: Mapping[int, str]


@functools.lru_cache(maxsize=32)
def _shell(
    free: Polygon | MultiPolygon,
    doors: tuple[tuple[str, tuple[Point, Point]], ...],
    walls: tuple[tuple[str, BaseGeometry], ...],
) -> _Shell:
    _check_shape("free floor", free)
    found = {id: _door(id, jambs, free) for id, jambs in doors}
    sites: list[BaseGeometry] = []
    names: list[str] = []
    shut: dict[str, set[int]] = {id: set() for id in found}
    for number, (a, b) in enumerate(_ring_edges(free)):
        edge = LineString([a, b])
        name = f"wall {number}"
        middle = edge.interpolate(0.5, normalized=True)
        for known, line in walls:
            if shapely.distance(line, middle) <= ON_WALL:
                name = known
                break
        for piece, closes in _split(a, b, found):
            for id in closes:
                shut[id].add(len(sites))
            sites.append(piece)
            names.append(name)
    wall_count = len(sites)
    sill: dict[int, str] = {}
    for door in found.values():
        if door.outward != (0.0, 0.0):
            # A pocket behind the door line closes the outline round the place "outside".
            a, b = door.jambs
            far = [step(jamb, door.outward, 2 * POCKET) for jamb in (a, b)]
            for one, other in ((a, far[0]), (far[0], far[1]), (far[1], b)):
                sill[len(sites)] = door.id
                sites.append(LineString([one, other]))
                names.append(door.id)
    return _Shell(
        doors=found,
        sites=tuple(sites),
        lines=tuple(shapely.get_coordinates(site) for site in sites),
        names=tuple(names),
        shut={id: frozenset(which) for id, which in shut.items()},
        wall_count=wall_count,
        sill=sill,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Solid:
    """An obstacle as sites: whole where it is convex, else edge by edge."""

    parts: tuple[Polygon, ...]
    sites: tuple[BaseGeometry, ...]
    lines: tuple[Array, ...]  # corners of each


@functools.lru_cache(maxsize=512)
def _solid(id: str, shape: Polygon | MultiPolygon) -> _Solid:
    _check_shape(f"obstacle {id}", shape)
    parts = tuple(Polygon(part.exterior) for part in shapely.get_parts(shape))
    sites: list[BaseGeometry] = []
    for part in parts:
        if _is_convex(part):
            sites.append(part)
        else:
            ring = shapely.get_coordinates(part.exterior)
            sites += [LineString(edge) for edge in itertools.pairwise(ring)]
    lines = tuple(shapely.get_coordinates(site) for site in sites)
    return _Solid(parts=parts, sites=tuple(sites), lines=lines)


def _check_shape(what: str, shape: BaseGeometry) -> None:
    if not isinstance(shape, Polygon | MultiPolygon):
        raise InputError(what, given=type(shape).__name__, allowed="a polygon")
    if shape.is_empty or not np.isfinite(shapely.get_coordinates(shape)).all():
        raise InputError(what, given="empty or not finite", allowed="a polygon of finite points")
    if not shape.is_valid:
        raise InputError(
            what,
            given=shapely.is_valid_reason(shape),
            allowed="an outline that does not cross itself",
            mend="give the corners in order round the shape",
        )


def step(at: Point, direction: Point, by: float) -> Point:
    """The point a distance away in a direction."""
    return (at[0] + by * direction[0], at[1] + by * direction[1])


def _ring_edges(shape: Polygon | MultiPolygon) -> list[tuple[Point, Point]]:
    edges: list[tuple[Point, Point]] = []
    for part in shapely.get_parts(shape):
        for ring in (part.exterior, *part.interiors):
            xy = shapely.get_coordinates(ring)
            for a, b in itertools.pairwise(xy):
                if (a != b).any():
                    edges.append(((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))))
    return edges


def _is_convex(shape: Polygon) -> bool:
    xy = shapely.get_coordinates(shape.exterior)[:-1]
    side = np.roll(xy, -1, axis=0) - xy
    follow = np.roll(side, -1, axis=0)
    turn = side[:, 0] * follow[:, 1] - side[:, 1] * follow[:, 0]
    return bool((turn >= -1e-9).all() or (turn <= 1e-9).all())


def _door(id: str, jambs: tuple[Point, Point], free: Polygon | MultiPolygon) -> Door:
    (ax, ay), (bx, by) = jambs
    width = math.hypot(bx - ax, by - ay)
    if not math.isfinite(width) or width <= CLOSED:
        raise InputError(
            f"door {id}, clear width", given=f"{width:g} m", allowed="> 0 m", mend="give both jambs"
        )
    line = LineString(jambs)
    if shapely.distance(free.boundary, line) > ON_WALL and not free.covers(line):
        raise InputError(
            f"door {id}",
            given=f"{jambs}",
            allowed="in a wall of the floor",
            mend="give points on the wall line",
        )
    middle = ((ax + bx) / 2, (ay + by) / 2)
    across = ((by - ay) / width, (ax - bx) / width)
    sides = [
        bool(shapely.contains_xy(free, *step(middle, across, sign * 2 * ON_WALL)))
        for sign in (1.0, -1.0)
    ]
    if all(sides):
        outward = (0.0, 0.0)
    elif any(sides):
        sign = -1.0 if sides[0] else 1.0
        outward = (sign * across[0], sign * across[1])
    else:
        raise InputError(f"door {id}", given=f"{jambs}", allowed="floor on one side of it")
    return Door(id=id, jambs=((ax, ay), (bx, by)), outward=outward, width=width)


def _split(
    a: Point, b: Point, doors: Mapping[str, Door]
) -> list[tuple[LineString, tuple[str, ...]]]:
    """Cut a wall edge at the jambs; each piece says which doors it closes."""
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    cuts = {0.0: a, length: b}
    spans: list[tuple[str, float, float]] = []
    for door in doors.values():
        if door.outward == (0.0, 0.0):
            continue
        rel = [(x - a[0], y - a[1]) for x, y in door.jambs]
        off = [abs(x * along[1] - y * along[0]) for x, y in rel]
        s = [x * along[0] + y * along[1] for x, y in rel]
        low, high = min(s), max(s)
        if max(off) > ON_WALL or high <= CLOSED or low >= length - CLOSED:
            continue
        spans.append((door.id, low, high))
        for at, jamb in zip(s, door.jambs, strict=True):
            if CLOSED < at < length - CLOSED:
                cuts[at] = jamb
    order = sorted(cuts)
    pieces: list[tuple[LineString, tuple[str, ...]]] = []
    for s0, s1 in itertools.pairwise(order):
        middle = (s0 + s1) / 2
        closes = tuple(id for id, low, high in spans if low < middle < high)
        pieces.append((LineString([cuts[s0], cuts[s1]]), closes))
    return pieces


# --- arriving at a place --------------------------------------------------------


def place_name(place: Place) -> str:
    """How a place is called in a sentence."""
    if isinstance(place, str):
        return place
    if isinstance(place, BaseGeometry):
        c = place.centroid
        return f"area at ({c.x:.2f}, {c.y:.2f})"
    return f"({place[0]:.2f}, {place[1]:.2f})"


def place_shapes(floor: Floor, place: Place, what: str) -> list[BaseGeometry]:
    """The convex shapes, points or lines that make a place."""
    if isinstance(place, str) and place in floor.doors:
        return [LineString(floor.doors[place].jambs)]
    if isinstance(place, str):
        shapes = [shape for id, shape in floor.obstacles if id == place]
        if not shapes:
            known = sorted({id for id, _ in floor.obstacles} | set(floor.doors))
            raise LookupFailed(
                what,
                given=place,
                allowed=", ".join(known) or "no doors or pieces are there",
                mend=f"use {nearest(place, known)}" if nearest(place, known) else "",
            )
        return list(shapes)
    if isinstance(place, BaseGeometry):
        if place.is_empty or not np.isfinite(shapely.get_coordinates(place)).all():
            raise InputError(what, given="empty or not finite", allowed="finite points")
        if shapely.distance(place, floor.free) > ON_WALL:
            raise InputError(what, given=place_name(place), allowed="on the floor")
        return list(shapely.get_parts(place))
    x, y = place
    if not (math.isfinite(x) and math.isfinite(y)):
        raise InputError(what, given=place, allowed="two finite numbers")
    point = shapely.Point(x, y)
    if shapely.distance(floor.free, point) > ON_WALL:
        raise InputError(what, given=place, allowed="a point on the floor")
    for id, shape in floor.obstacles:
        if shapely.contains_xy(shape, x, y):
            raise InputError(
                what, given=place, allowed="a point on free floor", mend=f"name the piece: {id}"
            )
    return [point]


def rays_round(floor: Floor, shape: BaseGeometry, own_id: str, barred: frozenset[int]) -> Rays:
    """Rays that leave a shape at right angles, all the way round it."""
    own = frozenset(i for i, name in enumerate(floor.names) if own_id and name == own_id)
    xy = shapely.get_coordinates(shape)
    at: list[Array] = []
    angle: list[Array] = []
    if len(xy) == 1:
        turn = np.linspace(0.0, 2 * np.pi, 73)[:-1]
        # A point on a wall is touched only by a strip square to that wall.
        p, q = floor.edge[:, 0], floor.edge[:, 1]
        close = shapely.distance(floor.sites[floor.edge_site], shapely.Point(xy[0])) < CLOSED
        for e in np.flatnonzero(close & ~np.isin(floor.edge_site, list(barred))):
            d = q[e] - p[e]
            square = math.atan2(-d[0], d[1])
            turn = np.append(turn, [square % (2 * np.pi), (square + np.pi) % (2 * np.pi)])
        angle.append(np.unique(turn))
        at.append(np.repeat(xy[:1], len(angle[0]), axis=0))
    else:
        if isinstance(shape, Polygon):
            xy = shapely.get_coordinates(shapely.orient_polygons(shape).exterior)[:-1]
        else:
            xy = np.concatenate([xy, xy[-2:0:-1]])
        side = np.roll(xy, -1, axis=0) - xy
        keep = np.hypot(side[:, 0], side[:, 1]) > 0
        xy, side = xy[keep], side[keep]
        normal = np.arctan2(-side[:, 0], side[:, 1])
        before = np.roll(normal, 1)
        bend = (normal - before + np.pi) % (2 * np.pi) - np.pi
        bend = np.where(np.isclose(bend, -np.pi), np.pi, bend)
        now = float(normal[0] - bend[0])
        for k in range(len(xy)):
            if bend[k] > 0:
                steps = int(np.ceil(bend[k] / 0.13)) + 1
                # The first of them is the last ray of the edge before.
                angle.append(np.linspace(now, now + bend[k], steps)[1:])
                at.append(np.repeat(xy[k : k + 1], steps - 1, axis=0))
            now += float(bend[k])
            length = float(np.hypot(*side[k]))
            part = np.linspace(0.0, 1.0, min(40, int(np.ceil(length / 0.06))) + 1)[1:]
            at.append(xy[k] + part[:, None] * side[k])
            angle.append(np.full(len(part), now))
    return Rays(at=np.concatenate(at), angle=np.concatenate(angle), own=own, barred=barred)


def ray_reach(
    floor: Floor,
    rays: Rays,
    at: Array,
    angle: Array,
    *,
    near: tuple[Point, float] | None = None,
) -> tuple[Array, npt.NDArray[np.int64]]:
    """How far the centre of a strip that touches `at` can stand off along each ray.

    The circle through `at` with its centre t along the ray meets a point p at
    t = |p − a|² / 2n·(p − a) and a line at t = s / (1 − n·m), with s the
    distance of `at` from the line and m the line's normal towards `at`. Only
    what lies within `near` (centre, radius) is looked at.
    """
    n = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    edge_on = ~np.isin(floor.edge_site, list(rays.barred))
    corner_on = np.ones(len(floor.corner), bool)
    if near is not None:
        (x, y), radius = near
        corner_on = np.hypot(floor.corner[:, 0] - x, floor.corner[:, 1] - y) <= radius
        side = floor.edge[:, 1] - floor.edge[:, 0]
        part = ((x - floor.edge[:, 0, 0]) * side[:, 0] + (y - floor.edge[:, 0, 1]) * side[:, 1]) / (
            side**2
        ).sum(axis=1)
        foot = floor.edge[:, 0] + np.clip(part, 0.0, 1.0)[:, None] * side
        edge_on &= np.hypot(foot[:, 0] - x, foot[:, 1] - y) <= radius
    corner, corner_site = floor.corner[corner_on], floor.corner_site[corner_on]
    edge, edge_site = floor.edge[edge_on], floor.edge_site[edge_on]
    nx, ny = n[:, :1], n[:, 1:]
    own = list(rays.own)
    with np.errstate(divide="ignore", invalid="ignore"):
        dx, dy = corner[:, 0] - at[:, :1], corner[:, 1] - at[:, 1:]
        lead = dx * nx + dy * ny
        square = dx * dx + dy * dy
        by_corner = np.where(lead > 1e-12, square / (2 * lead), FAR)
        if own:
            by_corner[(square < 1e-16) & np.isin(corner_site, own)] = FAR
        side = edge[:, 1] - edge[:, 0]
        length = np.hypot(side[:, 0], side[:, 1])
        ux, uy = side[:, 0] / length, side[:, 1] / length
        dx, dy = at[:, :1] - edge[:, 0, 0], at[:, 1:] - edge[:, 0, 1]
        s = uy * dx - ux * dy
        c = uy * nx - ux * ny
        t = np.abs(s) / (1.0 - np.where(s < 0, -c, c))
        along = dx * ux + dy * uy
        # A ray that starts on a line: only one square to it leaves the line.
        flat = np.abs(s) < 1e-9
        if flat.any():
            t = np.where(flat, np.where(np.abs(c) > 1 - 1e-9, FAR, 0.0), t)
            if own:
                here = flat & (along > -1e-8) & (along < length + 1e-8)
                t[here & np.isin(edge_site, own)] = FAR
        foot = along + t * (nx * ux + ny * uy)
        by_edge = np.where((foot >= 0) & (foot <= length) & np.isfinite(t), t, FAR)
    reach = np.concatenate([by_corner, by_edge], axis=1)
    site = np.concatenate([corner_site, edge_site])
    best = reach.argmin(axis=1)
    found = reach[np.arange(len(at)), best]
    inside = shapely.contains_xy(floor.clear(), at + 1e-6 * n)
    return np.where(inside & (found < FAR), found, 0.0), site[best]
