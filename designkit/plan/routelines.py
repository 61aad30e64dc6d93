"""Lines that a route is drawn with, and the shortest way of a given width.

The line of a route is the shortest way for the centre of a strip of a given
width: straight between arcs round corners, so it is smooth and keeps clear.
"""

from __future__ import annotations

import functools
import heapq
import itertools
import math
import operator
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError
from designkit.model import Point
from designkit.plan.floors import (
    Door,
    Floor,
    Place,
    place_name,
    place_shapes,
    ray_reach,
    rays_round,
)
from designkit.plan.routes import Route

__all__ = [
    "RouteLine",
    "route_line",
    "shortest",
]

Array = npt.NDArray[np.float64]

SEGMENTS = 16  # chords a quarter of an arc
SLACK = 1e-4  # [m] the drawn line keeps this much less than the exact width


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteLine:
    """The centre line of a strip of one width from place to place."""

    start: str
    end: str
    open: bool
    width: float  # [m] of the strip
    line: tuple[Point, ...]
    length: float  # [m]
    why: str
    rule: str


# --- the shortest line ----------------------------------------------------------


def shortest(floor: Floor, *, start: Place, end: Place, width: float) -> RouteLine:
    """The shortest route for a strip of a given width.

    Parameters
    ----------
    floor : Floor
        From `designkit.plan.routes.prepare`.
    start, end : str, Point or geometry
        As for `designkit.plan.routes.widest`. [m]
    width : float
        Of the strip. [m]

    Returns
    -------
    RouteLine
        `open` is false where no route of this width is there. The line starts
        at a door's line, or where the strip touches a place; its clearance is
        half the width less 0.2 mm at most. Arrivals at a place
        are tried every 7° and every 6 cm round it.

    Raises
    ------
    InputError
        The width is not a positive number, or a place is not on the floor.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> from designkit.plan.routes import prepare
    >>> floor = prepare(box(0, 0, 5, 3), doors=[("hall", ((0, 1), (0, 2)))])
    >>> round(shortest(floor, start="hall", end=(4, 1.5), width=0.6).length, 3)
    4.0
    """
    if not math.isfinite(width) or width <= 2 * SLACK:
        raise InputError("width of a route", given=f"{width} m", allowed="> 0.0002 m")
    radius = width / 2
    room = _room_for(floor, radius - SLACK / 2, (start, end))
    sources = _stands(floor, start, radius, "start of the route")
    goals = _stands(floor, end, radius, "end of the route")
    return _trace(floor, room, sources, goals, (start, end), width)


def route_line(
    floor: Floor, *, route: Route, start: Place, end: Place, segments: int = SEGMENTS
) -> RouteLine:
    """The line to draw for a widest route: it passes its narrowest place.

    Parameters
    ----------
    floor : Floor
        The floor that the route was found on.
    route : Route
        From `designkit.plan.routes.widest`.
    start, end : str, Point or geometry
        The same places. [m]
    segments : int, optional
        Chords a quarter of an arc; fewer are faster and run up to
        r (1 − cos(π / 4 n)) nearer past a corner.

    Returns
    -------
    RouteLine
        Empty where the route is not open.
    """
    if not route.open or route.width <= 4 * SLACK:
        return _shut(start, end, route.width, route.why)
    radius = route.width / 2
    room = _room_for(floor, radius - SLACK / 2, (start, end), segments)
    assert route.ends is not None
    assert route.touches is not None
    if math.dist(*route.ends) < 1e-9:
        # One position of the strip is at both places.
        at_door = any(isinstance(p, str) and p in floor.doors for p in (start, end))
        middle = () if at_door else (route.ends[0],)
        line = (route.touches[0], *middle, route.touches[1])
        length = sum(math.dist(a, b) for a, b in itertools.pairwise(line))
        return RouteLine(
            start=route.start,
            end=route.end,
            open=True,
            width=route.width,
            line=line,
            length=length,
            why=f"{route.start} and {route.end} are reached at once",
            rule=route.rule,
        )
    sources = _stands_at(floor, start, route.ends[0], route.touches[0], radius, "start")
    goals = _stands_at(floor, end, route.ends[1], route.touches[1], radius, "end")
    return _trace(floor, room, sources, goals, (start, end), route.width)


def _shut(start: Place, end: Place, width: float, why: str) -> RouteLine:
    return RouteLine(
        start=place_name(start),
        end=place_name(end),
        open=False,
        width=width,
        line=(),
        length=0.0,
        why=why,
        rule="plan.route.main",
    )


def _room_for(
    floor: Floor, radius: float, places: tuple[Place, Place], segments: int = SEGMENTS
) -> BaseGeometry:
    """Where the centre of a disc can be; used doors are open."""
    used = tuple(floor.doors[p] for p in places if isinstance(p, str) and p in floor.doors)
    still, moved = _still(tuple(shape for _, shape in floor.obstacles))
    room = _among(floor.free, used, radius, segments, still)
    for shape in moved:
        room = shapely.difference(room, _swollen(shape, radius, segments))
    return room


_stood: list[tuple[Polygon, ...]] = []  # the pieces of the floors that were looked at last


def _still(pieces: tuple[Polygon, ...]) -> tuple[tuple[Polygon, ...], tuple[Polygon, ...]]:
    """Pieces that stand where they stood on a floor before, and the few that do not."""
    found: tuple[tuple[Polygon, ...], tuple[Polygon, ...]] = (pieces, ())
    for before in _stood:
        if len(before) == len(pieces):
            moved = tuple(b for a, b in zip(before, pieces, strict=True) if a is not b)
            if 0 < len(moved) <= 2:
                found = tuple(a for a, b in zip(before, pieces) if a is b), moved
                break
    if not any(
        len(before) == len(pieces) and all(map(operator.is_, before, pieces)) for before in _stood
    ):
        _stood.insert(0, pieces)
        del _stood[4:]
    return found


@functools.lru_cache(maxsize=64)
def _among(
    free: Polygon | MultiPolygon,
    doors: tuple[Door, ...],
    radius: float,
    segments: int,
    pieces: tuple[Polygon, ...],
) -> BaseGeometry:
    """Where a disc can be between the walls and some pieces."""
    room = _inner(free, doors, radius, segments)
    if pieces:
        swollen = [_swollen(shape, radius, segments) for shape in pieces]
        room = shapely.difference(room, shapely.union_all(swollen))
    return room


@functools.lru_cache(maxsize=1024)  # most pieces stand still while one is moved
def _swollen(shape: Polygon, radius: float, segments: int) -> BaseGeometry:
    grown: BaseGeometry = shapely.buffer(shape, radius, quad_segs=segments)
    return grown


@functools.lru_cache(maxsize=64)
def _inner(
    free: Polygon | MultiPolygon, doors: tuple[Door, ...], radius: float, segments: int
) -> BaseGeometry:
    """Where a disc can be between the walls and in the doors that are used."""
    whole: BaseGeometry = free
    for door in doors:
        (ax, ay), (bx, by) = door.jambs
        ox, oy = door.outward
        if (ox, oy) == (0.0, 0.0):
            continue
        far, near = 2 * door.width + radius, 1e-3
        recess: BaseGeometry = Polygon(
            [
                (ax - near * ox, ay - near * oy),
                (ax + far * ox, ay + far * oy),
                (bx + far * ox, by + far * oy),
                (bx - near * ox, by - near * oy),
            ]
        )
        whole = shapely.union(whole, recess)
    room: BaseGeometry = shapely.buffer(whole, -radius, quad_segs=segments)
    return room


def _stands(
    floor: Floor, place: Place, radius: float, what: str
) -> list[tuple[Point, Point | None]]:
    """Centres of a strip's end at a place, each with the point that it touches."""
    if isinstance(place, str) and place in floor.doors:
        return _at_door(floor, place)
    barred: frozenset[int] = frozenset()
    own = place if isinstance(place, str) else ""
    found: list[tuple[Point, Point | None]] = []
    for shape in place_shapes(floor, place, what):
        rays = rays_round(floor, shape, own, barred)
        reach, _ = ray_reach(floor, rays, rays.at, rays.angle)
        for k in np.flatnonzero(reach >= radius - SLACK):
            a = (float(rays.at[k, 0]), float(rays.at[k, 1]))
            w = float(rays.angle[k])
            found.append(((a[0] + radius * math.cos(w), a[1] + radius * math.sin(w)), a))
    return found


def _stands_at(
    floor: Floor, place: Place, centre: Point, touch: Point, radius: float, what: str
) -> list[tuple[Point, Point | None]]:
    if isinstance(place, str) and place in floor.doors:
        return _at_door(floor, place)
    away = math.dist(centre, touch)
    # The strip is no wider than where it arrives, so it can lie up against the place.
    part = min(1.0, radius / away) if away > 0 else 0.0
    near = (
        touch[0] + part * (centre[0] - touch[0]),
        touch[1] + part * (centre[1] - touch[1]),
    )
    return [(near, touch)]


def _at_door(floor: Floor, place: str) -> list[tuple[Point, Point | None]]:
    door = floor.doors[place]
    (ax, ay), (bx, by) = door.jambs
    x, y = (ax + bx) / 2, (ay + by) / 2
    return [((x + door.width * door.outward[0], y + door.width * door.outward[1]), None)]


def _trace(
    floor: Floor,
    room: BaseGeometry,
    sources: Sequence[tuple[Point, Point | None]],
    goals: Sequence[tuple[Point, Point | None]],
    places: tuple[Place, Place],
    width: float,
) -> RouteLine:
    names = f"{place_name(places[0])} to {place_name(places[1])}"
    none = f"no route {width * 1000:.0f} mm wide from {names}"
    parts: list[Polygon] = [part for part in shapely.get_parts(room) if not part.is_empty]
    best: tuple[float, list[int], Array] | None = None
    for part in parts:
        here, there = (
            [e for e in ends if shapely.dwithin(part, shapely.Point(e[0]), 2 * SLACK)]
            for ends in (sources, goals)
        )
        if here and there:
            found = _visible_path(
                part, np.array([s[0] for s in here]), np.array([g[0] for g in there])
            )
            if found is not None and (best is None or found[0] < best[0]):
                best = found
    if best is None:
        return _shut(*places, width, none)
    _, path, nodes = best
    line = [(float(x), float(y)) for x, y in nodes[path]]
    line = _round_off(floor, places, line, width / 2 - SLACK / 2)
    first = next((t for c, t in sources if math.dist(c, line[0]) < SLACK), None)
    last = next((t for c, t in goals if math.dist(c, line[-1]) < SLACK), None)
    line = _from_door(floor, places[0], line)
    line = _from_door(floor, places[1], line[::-1])[::-1]
    if first is not None:
        line.insert(0, first)
    if last is not None:
        line.append(last)
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(line))
    return RouteLine(
        start=place_name(places[0]),
        end=place_name(places[1]),
        open=True,
        width=width,
        line=tuple(line),
        length=length,
        why=f"shortest line of a strip {width * 1000:.0f} mm wide, {names}: {length:.2f} m",
        rule="plan.route.main",
    )


def _visible_path(
    part: Polygon, sources: Array, goals: Array
) -> tuple[float, list[int], Array] | None:
    """Shortest path inside a polygon by way of its inner corners, looking only where led."""
    part = shapely.orient_polygons(part)
    p_list, q_list, before_list = [], [], []
    for ring in (part.exterior, *part.interiors):
        xy = shapely.get_coordinates(ring)[:-1]
        p_list.append(xy)
        q_list.append(np.roll(xy, -1, axis=0))
        before_list.append(np.roll(xy, 1, axis=0))
    p, q, before = np.concatenate(p_list), np.concatenate(q_list), np.concatenate(before_list)
    inner = _cross(p - before, q - p) < 0
    nodes = np.concatenate([p[inner], sources, goals])
    corners = int(inner.sum())
    # Direction to the two neighbours; zero for the ends, which any line may meet.
    to_before = np.zeros_like(nodes)
    to_next = np.zeros_like(nodes)
    to_before[:corners] = before[inner] - p[inner]
    to_next[:corners] = q[inner] - p[inner]
    first_goal = corners + len(sources)
    to_goal = np.sqrt(((nodes[:, None] - goals[None]) ** 2).sum(axis=2)).min(axis=1)
    cost = np.full(len(nodes), np.inf)
    cost[corners:first_goal] = 0.0
    back = np.full(len(nodes), -1)
    done = np.zeros(len(nodes), bool)
    heap = [(float(to_goal[k]), k) for k in range(corners, first_goal)]
    heapq.heapify(heap)
    while heap:
        _, u = heapq.heappop(heap)
        if done[u]:
            continue
        done[u] = True
        if u >= first_goal:
            path = [u]
            while back[path[-1]] >= 0:
                path.append(int(back[path[-1]]))
            return float(cost[u]), path[::-1], nodes
        leg = nodes - nodes[u]
        length = np.hypot(leg[:, 0], leg[:, 1])
        open_ = ~done & (cost[u] + length < cost) & (length > 0)
        open_ &= _cross(leg, to_before) * _cross(leg, to_next) >= -1e-15
        a, b = to_before[u], to_next[u]
        open_ &= _cross(leg, a[None]) * _cross(leg, b[None]) >= -1e-15
        index = np.flatnonzero(open_)
        if not len(index):
            continue
        index = index[_sees(nodes[u], nodes[index], p, q)]
        new = cost[u] + length[index]
        cost[index] = new
        back[index] = u
        for k, total in zip(index.tolist(), (new + to_goal[index]).tolist(), strict=True):
            heapq.heappush(heap, (total, k))
    return None


def _cross(a: Array, b: Array) -> Array:
    product: Array = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product


def _sees(u: Array, v: Array, p: Array, q: Array) -> npt.NDArray[np.bool_]:
    """Whether the segments u–v cross no edge p–q (touching is allowed)."""
    leg = (v - u)[:, None]
    side = (q - p)[None]
    at_p, at_q = _cross(leg, (p - u)[None]), _cross(leg, (q - u)[None])
    at_u, at_v = _cross(side, (u - p)[None]), _cross(side, v[:, None] - p[None])
    tiny = 1e-12
    crossing = (np.minimum(at_p, at_q) < -tiny) & (np.maximum(at_p, at_q) > tiny)
    crossing &= (np.minimum(at_u, at_v) < -tiny) & (np.maximum(at_u, at_v) > tiny)
    return np.asarray(~crossing.any(axis=1))


def _round_off(
    floor: Floor, places: tuple[Place, Place], line: list[Point], radius: float
) -> list[Point]:
    """Push the chords of the arcs out to the full clearance."""
    barred = frozenset().union(
        *(floor.shut[p] for p in places if isinstance(p, str) and p in floor.shut)
    )
    sites = [s for i, s in enumerate(floor.sites) if i not in barred and i not in floor.pocket]
    tree = shapely.STRtree(sites)
    start, end = np.array(line[:-1]), np.array(line[1:])
    length = np.hypot(*(end - start).T)[:, None]
    # The arcs are chords of 1/64 of a turn: they fall short within 0.1 r of their ends.
    near = np.minimum(radius * np.array([0.02, 0.045, 0.08, 0.11]), length / 2)
    part = np.concatenate([near, length - near[:, ::-1]], axis=1) / length
    extra = (start[:, None] + part[..., None] * (end - start)[:, None]).reshape(-1, 2)
    index, gaps = tree.query_nearest(shapely.points(extra), all_matches=False, return_distance=True)
    array = np.array(sites, dtype=object)[index[1]]
    foot = shapely.get_coordinates(shapely.shortest_line(array, shapely.points(extra)))[::2]
    short = (gaps < radius - 1e-7) & (gaps > 0.9 * radius)
    push = np.where(short, radius / np.where(short, gaps, 1.0), 1.0)[:, None]
    moved = (foot + push * (extra - foot)).reshape(len(start), -1, 2)
    new = [line[0]]
    for k, b in enumerate(line[1:]):
        for m in np.flatnonzero(short.reshape(len(start), -1)[k]):
            new.append((float(moved[k, m, 0]), float(moved[k, m, 1])))
        new.append(b)
    return new


def _from_door(floor: Floor, place: Place, line: list[Point]) -> list[Point]:
    """Drop what lies outside the door's line."""
    if not (isinstance(place, str) and place in floor.doors):
        return line
    door = floor.doors[place]
    (ax, ay), _ = door.jambs
    ox, oy = door.outward
    out = [(x - ax) * ox + (y - ay) * oy for x, y in line]
    for k in range(len(line) - 1):
        if out[k] > 0 >= out[k + 1]:
            part = out[k] / (out[k] - out[k + 1])
            (x0, y0), (x1, y1) = line[k], line[k + 1]
            return [(x0 + part * (x1 - x0), y0 + part * (y1 - y0)), *line[k + 1 :]]
    return line
