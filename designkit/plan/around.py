"""How far a piece stands from what is nearest, to the left, right, above and below on the plan.

The distance in a direction is how far the piece could slide that way before it
touches: the least distance between the side it shows and what faces it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from designkit.errors import LookupFailed
from designkit.model import Point
from designkit.plan.case import SIDE, Case

__all__ = ["DIRECTIONS", "Gap", "gaps", "own_group", "slide"]

Array = npt.NDArray[np.float64]
Direction = Literal["left", "right", "below", "above"]
DIRECTIONS: Mapping[Direction, tuple[float, float]] = {
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
    "below": (0.0, -1.0),
    "above": (0.0, 1.0),
}
TOUCH = 1e-6  # m²; what shares more floor than this stands in the piece, not beside it


@dataclass(frozen=True, kw_only=True, eq=False)
class Gap:
    """The nearest thing in one direction."""

    direction: Direction
    distance: float  # [m]; below zero where it stands in a wall on that side
    owner: str  # its id; "" for a wall
    line: tuple[Point, Point]  # from the piece to it, where it is nearest [m]


def own_group(case: Case, id: str) -> frozenset[str]:
    """A thing with its chairs and with what stands on it.

    Parameters
    ----------
    case : Case
        The layout, laid out.
    id : str
        Placement id.

    Returns
    -------
    frozenset of str
        Ids that move when it moves.
    """
    group = {id}
    things = [*case.placed.values(), *case.lamps.values()]
    while True:
        more = {t.id for t in things if (t.host in group or t.on in group)} - group
        if not more:
            return frozenset(group)
        group |= more


def slide(body: Array, edges: Array, way: Point) -> tuple[float, int, Point, Point] | None:
    """How far a convex body slides in a direction before it meets an edge.

    Parameters
    ----------
    body : array, shape (n, 2)
        Corners of the body in order. [m]
    edges : array, shape (m, 4)
        x, y of both ends of each edge. [m]
    way : Point
        Unit vector.

    Returns
    -------
    tuple of (float, int, Point, Point) or None
        Distance [m], number of the edge, the point on the body and on the edge;
        None where nothing is in the way.

    Examples
    --------
    >>> square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    >>> slide(square, np.array([(3.0, -5.0, 3.0, 5.0)]), (1.0, 0.0))
    (2.0, 0, (1.0, 0.5), (3.0, 0.5))
    """
    wx, wy = way
    u, s = body @ np.array([wx, wy]), body @ np.array([-wy, wx])
    eu = np.stack([edges[:, 0] * wx + edges[:, 1] * wy, edges[:, 2] * wx + edges[:, 3] * wy], 1)
    es = np.stack([edges[:, 1] * wx - edges[:, 0] * wy, edges[:, 3] * wx - edges[:, 2] * wy], 1)
    low, high = float(s.min()) + SIDE, float(s.max()) - SIDE
    if high <= low:
        low = high = float((s.min() + s.max()) / 2)
    near = (
        (es.max(1) >= low)
        & (es.min(1) <= high)
        & (eu.max(1) >= u.min() - SIDE)
        & (np.abs(es[:, 0] - es[:, 1]) > 1e-12)
    )
    number = np.flatnonzero(near)
    if not len(number):
        return None
    eu, es = eu[near], es[near]
    slope = (eu[:, 1] - eu[:, 0]) / (es[:, 1] - es[:, 0])
    e_low, e_high = es.min(1), es.max(1)

    def gap_at(at: Array) -> tuple[Array, npt.NDArray[np.intp], Array]:
        front = _front(u, s, at)
        across = at[:, None]
        gap = eu[:, 0] + slope * (across - es[:, 0]) - front[:, None]
        off = (across < e_low - 1e-9) | (across > e_high + 1e-9) | (gap < -1e-6)
        gap = np.where(off, np.inf, gap)
        return gap.min(1), gap.argmin(1), front

    # The least is at a corner of the body, at an end of an edge, or where the strip ends.
    mine = np.unique(np.concatenate([[low, high], s[(s > low) & (s < high)]]))
    gap, which, front = gap_at(mine)
    ends, end_edge = es.ravel(), np.repeat(np.arange(len(es)), 2)
    keep = (ends > low) & (ends < high)
    ends, end_edge = ends[keep], end_edge[keep]
    end_front = _front(u, s, ends)
    end_gap = eu.ravel()[keep] - end_front
    end_gap = np.where(end_gap < -1e-6, np.inf, end_gap)
    at = np.concatenate([mine, ends])
    gap = np.concatenate([gap, end_gap])
    which = np.concatenate([which, end_edge])
    front = np.concatenate([front, end_front])
    least = float(gap.min())
    if not np.isfinite(least):
        return None
    ties = np.flatnonzero(gap <= least + 1e-6)
    k = int(ties[at[ties].argmin()])
    # A side along a wall is measured in its middle, not at its corner.
    middle = np.array([(at[ties].min() + at[ties].max()) / 2])
    mid_gap, mid_which, mid_front = gap_at(middle)
    if mid_gap[0] <= least + 1e-6:
        side, first, edge = float(middle[0]), float(mid_front[0]), int(mid_which[0])
    else:
        side, first, edge = float(at[k]), float(front[k]), int(which[k])
    least = max(least, 0.0)

    def world(along: float) -> Point:
        return along * wx - side * wy + 0.0, along * wy + side * wx + 0.0

    return least, int(number[edge]), world(first), world(first + least)


def _front(u: Array, s: Array, at: Array) -> Array:
    """The foremost point of a convex ring at each place across."""
    u2, s2 = np.roll(u, -1), np.roll(s, -1)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (at[:, None] - s) / (s2 - s)
    on = (t >= -1e-9) & (t <= 1 + 1e-9) & (np.abs(s2 - s) > 1e-12)
    foremost: Array = np.where(on, u + t * (u2 - u), -np.inf).max(1)
    return foremost


def gaps(case: Case, id: str, *, without: Collection[str] = ()) -> tuple[Gap, ...]:
    """The nearest things of a piece in the four directions of the plan.

    Parameters
    ----------
    case : Case
        The layout, laid out.
    id : str
        Placement id of a piece or a lamp.
    without : collection of str
        Ids that do not count beside its own chairs and what stands on it.

    Returns
    -------
    tuple of Gap
        Left, right, below, above; a direction in which nothing is met is left
        out. What lies flat as a rug and what hangs over head do not count. On
        a side that stands in a wall the distance is less than zero: how deep.

    Raises
    ------
    LookupFailed
        There is no such piece.

    Examples
    --------
    >>> from designkit.model import Home, Layout, Piece, Placement, Room
    >>> from designkit.plan.case import case_of
    >>> home = Home(name="h", rooms={"r": Room(
    ...     name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)},
    ...     pieces={"chest": Piece(name="chest", kind="chest of drawers", size=(1, 0.5, 0.8))})
    >>> case = case_of(home, Layout(name="a", pieces={"chest": Placement(at=(1.5, 2.75))}))
    >>> [(gap.direction, round(gap.distance, 3)) for gap in gaps(case, "chest")]
    [('left', 1.0), ('right', 2.0), ('below', 2.5), ('above', 0.0)]
    """
    thing = case.thing(id)
    if thing is None:
        known = [*case.placed, *case.lamps]
        raise LookupFailed("piece", given=id, allowed=", ".join(known) or "none is placed")
    own = {*own_group(case, id), *without}
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    space = case.space_of[id]
    shape = thing.footprint
    meets = case.tree.query(shape, predicate="intersects")
    parts = shapely.area(shapely.intersection(case.shapes[meets], shape)) > TOUCH
    own |= {case.solids[i].owner for i in meets[parts].tolist()}
    solid = [
        i
        for i in np.flatnonzero((case.base < high) & (case.top > low)).tolist()
        if case.solids[i].owner not in own
    ]
    shapes = np.array([space.polygon, *(case.shapes[i] for i in solid)], dtype=object)
    owners = ["", *(case.solids[i].owner for i in solid)]
    rings, of_shape = shapely.get_rings(shapes, return_index=True)
    xy, of_ring = shapely.get_coordinates(rings, return_index=True)
    joined = of_ring[1:] == of_ring[:-1]
    every = np.hstack([xy[:-1], xy[1:]])[joined]
    owner_of = of_shape[of_ring[:-1][joined]]
    hull = shapely.convex_hull(shape)
    beyond = _beyond(shapely.get_coordinates(hull)[:-1], shapely.difference(hull, space.polygon))
    if beyond:
        # The other sides are measured from what stands in the room.
        hull = shapely.convex_hull(shapely.intersection(hull, space.polygon))
    body = shapely.get_coordinates(hull)[:-1]
    found = []
    for name, way in DIRECTIONS.items():
        if name in beyond:
            depth, a, b = beyond[name]
            found.append(Gap(direction=name, distance=-depth, owner="", line=(a, b)))
            continue
        met = slide(body, every, way)
        if met is not None:
            distance, edge, a, b = met
            found.append(
                Gap(direction=name, distance=distance, owner=owners[owner_of[edge]], line=(a, b))
            )
    return tuple(found)


def _beyond(body: Array, outside: shapely.Geometry) -> dict[Direction, tuple[float, Point, Point]]:
    """The sides of a body that stand in a wall, each with how deep."""
    found: dict[Direction, tuple[float, Point, Point]] = {}
    for part in shapely.get_parts(outside):
        if part.area <= TOUCH:
            continue
        xy = shapely.get_coordinates(part)
        for name, (wx, wy) in DIRECTIONS.items():
            u = xy @ np.array([wx, wy])
            depth = float(u.max() - u.min())
            whole = body @ np.array([wx, wy])
            # Through and through is beyond on no side; the finding says that it is outside.
            if u.max() < whole.max() - 1e-6 or depth > (whole.max() - whole.min()) / 2:
                continue
            if name not in found or depth > found[name][0]:
                x, y = (float(v) for v in xy[int(u.argmax())])
                found[name] = (depth, (x - wx * depth, y - wy * depth), (x, y))
    return found
