"""Findings on bodies: outside the room, through one another, under the ceiling."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from designkit.model import Finding
from designkit.plan.case import Case, Solid
from designkit.plan.measure import combined, separation
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed, is_on_wall

__all__ = ["ceilings", "footing", "outside", "overlaps"]


def outside(case: Case) -> Iterator[Finding]:
    """Things that do not stand within their room.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        Measured is how far a thing reaches past the wall.
    """
    touch = case.value("plan.clear.overlap")
    for things in (case.placed, case.lamps):
        ids = list(things)
        if not ids:
            continue
        feet = np.array([things[id].footprint for id in ids], dtype=object)
        for space in case.spaces.values():
            floor = space.polygon.buffer(touch, join_style="mitre")
            shapely.prepare(floor)
            inside = shapely.covers(floor, feet)
            for id, within in zip(ids, inside):
                if not within and case.space_of[id] is space:
                    found = _outside(case, id, things[id], touch)
                    if found is not None:
                        yield found


def _outside(case: Case, id: str, thing: Placed, touch: float) -> Finding | None:
    space = case.space_of[id]
    over = thing.footprint.difference(space.polygon)
    corners = shapely.get_coordinates(over)
    away = np.asarray(shapely.distance(space.polygon, shapely.points(corners)))
    worst = int(np.argmax(np.round(away, 9)))
    depth = float(away[worst])
    if depth <= touch:
        return None
    if is_on_wall(thing.piece) and depth <= thing.piece.size[1] / 2 + touch:
        return None  # drawn on the line of the wall it hangs on
    tip = Point(corners[worst])
    line = shapely.shortest_line(tip, space.polygon)
    xy = shapely.get_coordinates(line)
    run = (xy[1] - xy[0]) / max(depth, 1e-12)
    direction = (float(run[0]), float(run[1]))
    spread = combined(case.spread(id, direction), case.room_spread(space))
    room = case.home.rooms[thing.room or space.rooms[0]].name
    entirely = not thing.footprint.intersects(space.polygon)
    what = f"{case.title(id)} outside the room"
    area = over if isinstance(over, Polygon) else over.convex_hull
    return case.row(
        what,
        measured=depth,
        required=0.0,
        within=spread,
        at_most=True,
        rule="plan.clear.overlap",
        severity="tight",
        why=(
            f"It stands outside every room, {case.say(depth)} from the nearest one."
            if entirely
            else f"It reaches {case.say(depth)} into the wall of the {room}."
        ),
        mend=f"Move {case.name(id)} {case.amount(depth)} into the room.",
        about=(id,),
        at=(float(corners[worst][0]), float(corners[worst][1])),
        area=area if isinstance(area, Polygon) else None,
        line=tuple((float(x), float(y)) for x, y in xy),
    )


def _together(case: Case, a: Solid, b: Solid) -> bool:
    """Pairs that belong into each other: a table and its chairs, a thing and itself."""
    if a.owner == b.owner:
        return True
    one, two = case.thing(a.owner), case.thing(b.owner)
    if one is None and two is None:
        return True
    if one is not None and two is not None:
        if one.host == two.id or two.host == one.id:
            return True
        # A rug lies under what stands on it, and under another rug.
        rug = case.value("plan.clear.rug")
        if min(one.top, two.top) <= rug:
            return True
    return False


def overlaps(case: Case) -> Iterator[Finding]:
    """Things that stand in one another: footprints and heights intersect.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        Measured is the shortest move that parts the two.
    """
    touch = case.value("plan.clear.overlap")
    if not len(case.shapes):
        return
    first, second = case.tree.query(case.shapes, predicate="intersects")
    low = np.maximum(case.base[first], case.base[second])
    high = np.minimum(case.top[first], case.top[second])
    keep = (first < second) & (high - low > touch)
    worst: dict[tuple[str, str], tuple[float, tuple[float, float], Solid, Solid]] = {}
    for i, j in sorted(zip(first[keep].tolist(), second[keep].tolist())):
        a, b = case.solids[i], case.solids[j]
        if _together(case, a, b) or a.shape.intersection(b.shape).area < 1e-7:
            continue
        depth, direction = separation(a.shape, b.shape)
        key = (a.owner, b.owner)
        if depth > touch and (key not in worst or depth > worst[key][0] + 1e-9):
            worst[key] = (depth, direction, a, b)
    for (one, two), (depth, direction, a, b) in worst.items():
        yield _overlap(case, one, two, depth, direction, a, b)


def _overlap(
    case: Case,
    one: str,
    two: str,
    depth: float,
    direction: tuple[float, float],
    a: Solid,
    b: Solid,
) -> Finding:
    moved, kept = one, two
    thing, other = case.thing(one), case.thing(two)
    # The smaller of two pieces is moved, and never what is built in or locked.
    if thing is None or (
        other is not None
        and not other.locked
        and (thing.locked or thing.footprint.area > other.footprint.area)
    ):
        moved, kept = two, one
    shared = a.shape.intersection(b.shape)
    area = shared if isinstance(shared, Polygon) else shared.convex_hull
    centre = area.centroid
    half = np.array(direction) * depth / 2
    low, high = max(a.base, b.base), min(a.top, b.top)
    return case.row(
        f"{case.title(one)} and {case.name(two).removeprefix('the ')} overlap",
        measured=depth,
        required=0.0,
        within=combined(case.spread(one, direction), case.spread(two, direction)),
        at_most=True,
        rule="plan.clear.overlap",
        severity="tight",
        why=(
            f"They share {case.say(depth)} of floor between {case.say(low)} and "
            f"{case.say(high)} above it."
        ),
        mend=f"Move {case.name(moved)} {case.amount(depth)} away from {case.name(kept)}.",
        about=(one, two),
        at=(centre.x, centre.y),
        area=area if isinstance(area, Polygon) else None,
        line=(
            (centre.x - half[0], centre.y - half[1]),
            (centre.x + half[0], centre.y + half[1]),
        ),
    )


def ceilings(case: Case) -> Iterator[Finding]:
    """Things that are higher than their room, or nearly so.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        Measured is the gap to the ceiling, less than 0 where there is none.
    """
    required = case.value("plan.height.ceiling")
    for things in (case.placed, case.lamps):
        for id, thing in things.items():
            space = case.space_of[id]
            spot = Point(thing.at)
            height = min(
                (
                    case.home.rooms[room].height
                    for room, outline in space.outlines.items()
                    if outline.covers(spot)
                ),
                default=space.height,
            )
            gap = height - thing.top
            # What hangs is hung where its base says; only what runs into the ceiling counts.
            fixed = kind_of(thing.piece).mount == "ceiling" and gap > -1e-6
            spread = combined(case.height_spread(id), case.room_spread(space))
            if fixed or gap - required >= spread or math.isclose(gap, 0.0, abs_tol=1e-9):
                continue
            yield case.row(
                f"{case.title(id)} under the ceiling",
                measured=gap,
                required=required,
                within=spread,
                rule="plan.height.ceiling",
                severity="tight",
                why=f"Its top is at {case.say(thing.top)}, the ceiling at {case.say(height)}.",
                mend=f"Take one that is {case.amount(required - gap)} lower."
                if gap < required
                else "",
                about=(id,),
                at=thing.at,
                line=(),
            )


def footing(case: Case) -> Iterator[Finding]:
    """Things that stand on a top and reach over its edge.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        Measured is how far the thing's centre is from the edge it needs.
    """
    for things in (case.placed, case.lamps):
        for id, thing in things.items():
            host = case.placed.get(thing.on)
            if host is None or host.footprint.covers(thing.footprint):
                continue
            over = thing.footprint.difference(host.footprint)
            corners = shapely.get_coordinates(over)
            away = np.asarray(shapely.distance(host.footprint, shapely.points(corners)))
            depth = float(away.max())
            if depth <= case.value("plan.clear.overlap"):
                continue
            tip = corners[int(np.argmax(np.round(away, 9)))]
            line = shapely.shortest_line(Point(tip), host.footprint)
            xy = shapely.get_coordinates(line)
            run = (xy[1] - xy[0]) / depth
            way = (float(run[0]), float(run[1]))
            yield case.row(
                f"{case.title(id)} over the edge of {case.name(host.id)}",
                measured=depth,
                required=0.0,
                within=combined(case.spread(id, way), case.spread(host.id, way)),
                at_most=True,
                rule="plan.clear.overlap",
                severity="inconvenient",
                why=f"It reaches {case.say(depth)} past the edge of what it stands on.",
                mend=f"Move {case.name(id)} {case.amount(depth)} in from the edge.",
                about=(id, host.id),
                at=thing.at,
                area=over if isinstance(over, Polygon) else None,
                line=tuple((float(x), float(y)) for x, y in LineString(xy).coords),
            )
