"""The widest route between two places, exactly, and what makes it narrow.

A strip of width w cannot pass between two sites that are nearer than w, so the
sites of the floor are joined in the order of their distance. The first chain of
sites that closes round one place and not round the other is the bottleneck, and
its longest gap is the width of the widest route.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError
from designkit.model import Point
from designkit.plan.floors import (
    CLOSED,
    POCKET,
    Floor,
    Links,
    Place,
    Rays,
    place_name,
    place_shapes,
    prepare,
    ray_reach,
    rays_round,
    step,
)
from designkit.reference import value

__all__ = ["Floor", "Place", "Route", "prepare", "widest"]

Array = npt.NDArray[np.float64]

CATCH_UP = 1.3  # a peak between two rays is at most so much over its better ray
FIRST = 1.25  # [m] gaps looked at first; twice as far where nothing parts the places
MOST = 200  # arrivals looked at for each place, widest first


@dataclass(frozen=True, kw_only=True, eq=False)
class Route:
    """The widest route between two places.

    `between` names the two things that pinch it and `points` the nearest
    points on them; where `open` is false, `closed_by` names what closes it.
    """

    start: str
    end: str
    open: bool
    width: float  # [m] 0 where there is no way
    between: tuple[str, str] | tuple[()]
    points: tuple[Point, Point] | None
    at: Point | None  # middle of the narrowest place
    closed_by: tuple[str, ...]
    ends: tuple[Point, Point] | None  # centre of the strip on arrival
    touches: tuple[Point, Point] | None  # where the strip meets the places
    why: str
    rule: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Arrival:
    """A position of the strip's end: its centre, half width, and where it touches."""

    centre: Point
    half: float
    touch: Point
    rival: int  # site that stops the strip from being wider here; -1: the door itself
    rays: Rays | None = None
    number: float = -1.0  # of its ray
    spread: float = 0.0  # the peak is within so many rays of it


# --- arriving at a place --------------------------------------------------------


def _arrivals(floor: Floor, place: Place, what: str, barred: frozenset[int]) -> list[Arrival]:
    """Best ways for a strip to arrive at a place: at a door through it, else touching it."""
    if isinstance(place, str) and place in floor.doors:
        door = floor.doors[place]
        (ax, ay), (bx, by) = door.jambs
        middle = ((ax + bx) / 2, (ay + by) / 2)
        centre = step(middle, door.outward, POCKET)
        if any(shapely.contains_xy(shape, *centre) for _, shape in floor.obstacles):
            return []
        return [Arrival(centre=centre, half=door.width / 2, touch=middle, rival=-1)]
    own = place if isinstance(place, str) else ""
    found: list[Arrival] = []
    for shape in place_shapes(floor, place, what):
        rays = rays_round(floor, shape, own, barred)
        reach, rival = ray_reach(floor, rays, rays.at, rays.angle)
        before, after = np.roll(reach, 1), np.roll(reach, -1)
        peak = (reach >= before) & (reach >= after)
        # Of a level stretch one ray is enough.
        peak &= ~(np.roll(peak, 1) & (before == reach))
        # A peak so slight that the rays step over it stands where the rival
        # changes beside a valley.
        valley = (reach <= before) & (reach <= after)
        slight = (rival != np.roll(rival, -1)) & (valley | np.roll(valley, -1))
        slight &= ~(peak | np.roll(peak, -1))
        for mask, shift in ((peak, 0.0), (slight, 0.5)):
            for k in np.flatnonzero(mask & (np.maximum(reach, after) > CLOSED / 2)).tolist():
                best = (k + 1) % len(reach) if shift and after[k] > reach[k] else k
                found.append(
                    _arrival(
                        rays.at[best],
                        rays.angle[best],
                        reach[best],
                        rival[best],
                        rays=rays,
                        number=k + shift,
                        spread=1.0 - shift,
                    )
                )
    found.sort(key=lambda arrival: -arrival.half)
    return found[:MOST]


def _arrival(
    at: Array,
    angle: float,
    half: float,
    rival: int,
    *,
    rays: Rays,
    number: float,
    spread: float,
) -> Arrival:
    touch = (float(at[0]), float(at[1]))
    centre = step(touch, (math.cos(angle), math.sin(angle)), float(half))
    return Arrival(
        centre=centre,
        half=float(half),
        touch=touch,
        rival=int(rival),
        rays=rays,
        number=number,
        spread=spread,
    )


def _sharpen(floor: Floor, arrival: Arrival) -> Arrival:
    """Close in on a peak of the reach between its neighbouring rays."""
    rays = arrival.rays
    assert rays is not None
    count = len(rays.angle)
    turn = 2 * np.pi

    def ray(u: Array) -> tuple[Array, Array]:
        low = np.floor(u).astype(int)
        part = (u - low)[:, None]
        i, j = low % count, (low + 1) % count
        a0 = rays.angle[i] + turn * (low // count)
        a1 = rays.angle[j] + turn * ((low + 1) // count)
        return rays.at[i] * (1 - part) + rays.at[j] * part, a0 + (a1 - a0) * part[:, 0]

    centre, spread = arrival.number, arrival.spread
    grid = np.linspace(-1.0, 1.0, 25)
    near = (arrival.centre, 1.6 * arrival.half + 0.2)
    for _ in range(9):
        u = centre + spread * grid
        half, _ = ray_reach(floor, rays, *ray(u), near=near)
        centre = float(u[half.argmax()])
        spread /= 11.0
    at, angle = ray(np.array([centre]))
    half, rival = ray_reach(floor, rays, at, angle)
    return _arrival(at[0], angle[0], half[0], rival[0], rays=rays, number=centre, spread=0.0)


# --- the widest route -----------------------------------------------------------


def widest(
    floor: Floor, *, start: Place, end: Place, overrides: Mapping[str, float] | None = None
) -> Route:
    """The widest route between two places and its narrowest point.

    A route arrives at a door when it has passed through it, and at any other
    place when its edge touches it.

    Parameters
    ----------
    floor : Floor
        From `prepare`.
    start, end : str, Point or geometry
        Id of a door or an obstacle, a point, or an area. [m]
    overrides : mapping of str to float, optional
        The project's own values, for the width named in `why`.

    Returns
    -------
    Route
        With its width [m]; where there is no way at any width, `open` is false
        and `closed_by` says what closes it.

    Raises
    ------
    InputError
        A place is not on the floor or stands inside a piece.
    LookupFailed
        There is no such door or obstacle.

    Notes
    -----
    Exact for straight-edged outlines: sites swollen by w/2 are convex, so the
    loops of their union are the loops of the graph of their contacts (nerve
    theorem), and a loop parts the places when it goes round one of them only.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> floor = prepare(
    ...     box(0, 0, 5, 3),
    ...     obstacles=[("sofa", box(2, 0, 3, 2.1))],
    ...     doors=[("hall", ((0, 1), (0, 1.95))), ("balcony", ((5, 1), (5, 2)))],
    ... )
    >>> found = widest(floor, start="hall", end="balcony")
    >>> round(found.width, 3), found.between
    (0.9, ('sofa', 'wall 1'))
    """
    if isinstance(start, str) and start == end:
        raise InputError("route", given=f"{start} to {end}", allowed="two different places")
    barred = frozenset().union(
        *(floor.shut[p] for p in (start, end) if isinstance(p, str) and p in floor.shut)
    )
    here = _arrivals(floor, start, "start of the route", barred)
    there = _arrivals(floor, end, "end of the route", barred)
    if not here or not there:
        shut_in = start if not here else end
        found = _Found(width=0.0, link=-1, loop=_around(floor, shut_in), ends=None, dull=())
    else:
        shapes = (_solid(floor, start), _solid(floor, end))
        found = _best(floor, *_shared(floor, here, there, shapes), barred)
        while found.dull:
            dull = {id(e) for e in found.dull}
            here, there = (
                [_sharpen(floor, e) if id(e) in dull else e for e in side] for side in (here, there)
            )
            found = _best(floor, *_shared(floor, here, there, shapes), barred)
    return _result(floor, found, start, end, overrides)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Found:
    width: float
    link: int  # -1: limited on arrival
    loop: tuple[int, ...]  # sites of the chain that closes
    ends: tuple[Arrival, Arrival] | None
    dull: tuple[Arrival, ...]  # ends that a closer look could widen beyond `width`


def _solid(floor: Floor, place: Place) -> list[BaseGeometry]:
    if isinstance(place, str) and place in floor.doors:
        return []
    return place_shapes(floor, place, "place")


def _meets_more(floor: Floor, end: Arrival, solid: Sequence[BaseGeometry]) -> bool:
    point = shapely.Point(end.centre)
    return any(
        shapely.distance(shape, point) < end.half - 1e-9
        for _, shape in floor.obstacles
        if not any(shape is mine for mine in solid)
    )


def _shared(
    floor: Floor,
    here: Sequence[Arrival],
    there: Sequence[Arrival],
    shapes: tuple[Sequence[BaseGeometry], Sequence[BaseGeometry]],
) -> tuple[list[Arrival], list[Arrival]]:
    """Where a strip lies against one place and touches the other too, it is at both."""
    sides = ([*here], [*there])
    for side, other, solid in ((here, 1, shapes[1]), (there, 0, shapes[0])):
        points = shapely.points([e.centre for e in side])
        for shape in solid:
            gap = shapely.distance(points, shape)
            for k in np.flatnonzero(gap <= np.array([e.half for e in side]) + 1e-9).tolist():
                e = side[k]
                # Through a door the place has to be the first thing that is met.
                if e.rival < 0 and _meets_more(floor, e, solid):
                    continue
                near = shapely.shortest_line(shape, points[k])
                x, y = shapely.get_coordinates(near)[0]
                sides[other].append(
                    Arrival(centre=e.centre, half=e.half, touch=(float(x), float(y)), rival=e.rival)
                )
    return (
        sorted(sides[0], key=lambda e: -e.half)[:MOST],
        sorted(sides[1], key=lambda e: -e.half)[:MOST],
    )


def _best(
    floor: Floor, here: Sequence[Arrival], there: Sequence[Arrival], barred: frozenset[int]
) -> _Found:
    """The pair of arrivals with the widest way between; both lists widest first."""
    top = 2 * min(here[0].half, there[0].half)
    limit = min(top, FIRST)
    while True:
        links = floor.links(limit)
        gone, left, tree = _part(floor, links, here, there, barred)
        if not any(left) or limit >= top:
            break
        limit = min(top, 2 * limit)
    width, pair, link = -1.0, (0, 0), -1
    # Pairs that nothing parts are as wide as their arrivals.
    for number, a, mask in (*gone, *((-1, a, mask) for a, mask in enumerate(left) if mask)):
        b = (mask & -mask).bit_length() - 1
        most = 2 * min(here[a].half, there[b].half)
        gap = float(links.gap[number]) if number >= 0 else math.inf
        if min(most, gap) > width:
            width, pair, link = min(most, gap), (a, b), number if gap <= most + 1e-9 else -1
    # A pair parted later than the best width does better if its ends are looked at closer.
    near: set[int] = set()
    for number, a, mask in (*gone, *((-1, a, mask) for a, mask in enumerate(left) if mask)):
        if number < 0 or links.gap[number] > width + 1e-12:
            for b in range(len(there)):
                if 2 * there[b].half * CATCH_UP < width:
                    break
                if mask >> b & 1 and 2 * here[a].half * CATCH_UP >= width:
                    near |= {a, len(here) + b}
    ends = [*here, *there]
    dull = tuple(
        ends[k] for k in sorted(near) if ends[k].spread > 0 and 2 * ends[k].half <= width * 1.0001
    )
    loop: tuple[int, ...] = ()
    if link >= 0:
        loop = _chain(tree, int(links.first[link]), int(links.second[link]))
    return _Found(
        width=width, link=link, loop=loop, ends=(here[pair[0]], there[pair[1]]), dull=dull
    )


def _around(floor: Floor, place: Place) -> tuple[int, ...]:
    """Sites in contact with a place that nothing can touch."""
    shapes = place_shapes(floor, place, "place")
    own = place if isinstance(place, str) else ""
    return tuple(
        i
        for i in range(len(floor.sites))
        if floor.names[i] != own
        and min(shapely.distance(floor.sites[i], s) for s in shapes) <= CLOSED
    )


def _part(
    floor: Floor,
    links: Links,
    here: Sequence[Arrival],
    there: Sequence[Arrival],
    barred: frozenset[int],
) -> tuple[list[tuple[int, int, int]], list[int], dict[int, list[int]]]:
    """Join sites nearest first; note the link that first parts each pair of arrivals.

    Bit k of a link is 1 where it crosses the ray from arrival k to +x: summed
    round a loop, whether the loop goes round that arrival. Returned are (link,
    arrival here, bits of the arrivals there that it parts from it), the bits
    that nothing parts, and the joined sites.
    """
    code = _crossings(links, [*here, *there])
    low = (1 << len(here)) - 1
    every = (1 << len(there)) - 1
    left = [every] * len(here)
    parent = list(range(len(floor.sites)))
    turn = [0] * len(parent)
    size = [1] * len(parent)
    tree: dict[int, list[int]] = {}
    gone: list[tuple[int, int, int]] = []
    known: set[int] = {0}
    most = 2 * min(here[0].half, there[0].half)
    rows = zip(links.first.tolist(), links.second.tolist(), links.gap.tolist(), code, strict=True)
    for number, (i, j, gap, bits) in enumerate(rows):
        if gap > most:
            break
        if i in barred or j in barred:
            continue
        z, a, b = bits, i, j
        while parent[a] != a:
            z ^= turn[a]
            a = parent[a]
        while parent[b] != b:
            z ^= turn[b]
            b = parent[b]
        if a != b:
            # The smaller tree hangs from the larger, so that paths stay short.
            if size[a] > size[b]:
                a, b = b, a
            parent[a], turn[a] = b, z
            size[b] += size[a]
            tree.setdefault(i, []).append(j)
            tree.setdefault(j, []).append(i)
        elif z not in known:
            known.add(z)
            inside, far = z & low, z >> len(here)
            most = -1.0
            for k, mask in enumerate(left):
                lost = mask & (far ^ every if inside >> k & 1 else far)
                if lost:
                    gone.append((number, k, lost))
                    mask ^= lost
                    left[k] = mask
                if mask:
                    first = (mask & -mask).bit_length() - 1
                    most = max(most, 2 * min(here[k].half, there[first].half))
    return gone, left, tree


def _crossings(links: Links, ends: Sequence[Arrival]) -> list[int]:
    x1, y1 = links.path[:, :-1, 0], links.path[:, :-1, 1]
    x2, y2 = links.path[:, 1:, 0], links.path[:, 1:, 1]
    slope = (x2 - x1) / np.where(y2 == y1, 1.0, y2 - y1)
    code = [0] * len(links.gap)
    for start in range(0, len(ends), 60):
        word = np.zeros(len(links.gap), dtype=np.int64)
        for k, end in enumerate(ends[start : start + 60]):
            x, y = end.centre
            cross = ((y1 > y) != (y2 > y)) & (x < slope * (y - y1) + x1)
            word |= (cross[:, 0] ^ cross[:, 1] ^ cross[:, 2]).astype(np.int64) << k
        code = [c | w << start for c, w in zip(code, word.tolist(), strict=True)]
    return code


def _chain(tree: Mapping[int, Sequence[int]], start: int, end: int) -> tuple[int, ...]:
    before = {start: start}
    queue = [start]
    for node in queue:
        if node == end:
            break
        for other in tree.get(node, ()):
            if other not in before:
                before[other] = node
                queue.append(other)
    chain = [end]
    while chain[-1] != start:
        chain.append(before[chain[-1]])
    return tuple(chain)


def _result(
    floor: Floor, found: _Found, start: Place, end: Place, overrides: Mapping[str, float] | None
) -> Route:
    names = (place_name(start), place_name(end))
    rule = "plan.route.main"
    wanted = value(rule, overrides)
    if found.width <= CLOSED:
        walls = [s for s in found.loop if _is_wall(floor, s)]
        things = [s for s in found.loop if not _is_wall(floor, s)]
        by = tuple(sorted({floor.names[s] for s in things} or {floor.names[s] for s in walls}))
        return Route(
            start=names[0],
            end=names[1],
            open=False,
            width=0.0,
            between=(),
            points=None,
            at=None,
            closed_by=by,
            ends=None,
            touches=None,
            why=f"no way at any width from {names[0]} to {names[1]}: closed by {', '.join(by)}",
            rule=rule,
        )
    assert found.ends is not None
    a, b = found.ends
    # Where a door is as narrow as anything, the door is named.
    at_door = any(end.rival < 0 and 2 * end.half <= found.width + 1e-9 for end in (a, b))
    if found.link >= 0 and not at_door:
        links = floor.links(0.0)
        i, j = int(links.first[found.link]), int(links.second[found.link])
        p, q = links.path[found.link, 1], links.path[found.link, 2]
        between = (floor.names[i], floor.names[j])
        if _is_wall(floor, i) and not _is_wall(floor, j):
            between, p, q = (between[1], between[0]), q, p
        points = ((float(p[0]), float(p[1])), (float(q[0]), float(q[1])))
        at = ((points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2)
    else:
        tight, name = (a, names[0]) if a.half <= b.half else (b, names[1])
        if at_door and tight.rival >= 0:
            tight, name = (b, names[1]) if tight is a else (a, names[0])
        at = tight.centre
        if tight.rival < 0:
            door = floor.doors[name]
            between, points, at = (name, name), door.jambs, tight.touch
        else:
            line = shapely.shortest_line(floor.sites[tight.rival], shapely.Point(at))
            x, y = shapely.get_coordinates(line)[0]
            between = (name, floor.names[tight.rival])
            points = (tight.touch, (float(x), float(y)))
    if between[0] == between[1] and between[0] in floor.doors:
        what = f"the clear width of {between[0]}"
    else:
        what = f"between {between[0]} and {between[1]}"
    sign = "≥" if found.width >= wanted else "<"
    chain = tuple(sorted({floor.names[s] for s in found.loop if not _is_wall(floor, s)}))
    return Route(
        start=names[0],
        end=names[1],
        open=True,
        width=found.width,
        between=between,
        points=points,
        at=at,
        closed_by=chain,
        ends=(a.centre, b.centre),
        touches=(a.touch, b.touch),
        why=f"{what}: {found.width * 1000:.0f} mm {sign} {wanted * 1000:.0f} mm",
        rule=rule,
    )


def _is_wall(floor: Floor, site: int) -> bool:
    return site < floor.wall_count or site in floor.pocket
