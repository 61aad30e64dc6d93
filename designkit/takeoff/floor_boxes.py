"""Outlets in the floor where furniture floats: how many boxes, where, and their cable.

What needs power and is too far from a wall outlet, or whose cord would lie
over open floor, is served by a box under the furniture. The fewest boxes that
serve all of it are found exactly; the cable of each is the shortest run along
the walls' directions that stays in the room.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from shapely import prepare
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import System, cable_text, length_text, positive

__all__ = ["Box", "Covered", "FloorBoxes", "Need", "Outlet", "cable_run", "floor_boxes"]

XY = tuple[float, float]

_RULES = (
    "takeoff.floor_box.cord",
    "takeoff.floor_box.open",
    "takeoff.floor_box.beside_wall",
    "takeoff.floor_box.outlets",
    "takeoff.floor_box.depth",
    "takeoff.floor_box.allowance",
    "takeoff.floor_box.tail",
)


@dataclass(frozen=True, kw_only=True)
class Need:
    """One thing that is plugged in."""

    id: str
    name: str
    kind: Literal["lamp", "desk", "screen", "seat"]
    at: XY  # in plan [m]
    up: float = 0.0  # the cord begins this high above the floor [m]


@dataclass(frozen=True, kw_only=True)
class Outlet:
    """Where power is now: a wall outlet to plug into, or a panel to start a cable from."""

    id: str
    name: str
    at: XY
    height: float  # [m]
    plug: bool = True  # False: a panel


@dataclass(frozen=True, kw_only=True, eq=False)
class Covered:
    """Furniture that hides a cord; a box may stand under it where `box` says so."""

    name: str
    shape: Polygon
    box: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Box:
    """One floor box."""

    at: XY
    under: str  # furniture, in words
    serves: tuple[str, ...]  # ids of needs
    outlets: int
    side: float  # of the box [m]
    source: str  # outlet or panel that the cable comes from; "": none in the room
    path: tuple[XY, ...]  # along the floor
    run: float  # [m]
    cable: float  # with what is added [m]
    on_rug: bool
    from_wall: float  # to the nearest wall [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class FloorBoxes:
    """What is plugged in where."""

    needs: tuple[Need, ...]
    by_wall: tuple[tuple[str, str, float], ...]  # need, outlet, distance [m]
    boxes: tuple[Box, ...]
    left: tuple[str, ...]  # needs that nothing reaches
    cord: float  # [m]
    net: float  # runs along the floor [m]
    order: float  # cable to buy [m]
    build_up: float  # depth of the floor above its slab or joists [m]
    depth: float  # that a box needs [m]
    fits: bool
    lid: str
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def cable_run(start: XY, end: XY, *, inside: BaseGeometry) -> tuple[float, tuple[XY, ...]]:
    """The shortest run in two square directions that stays inside an area.

    Parameters
    ----------
    start, end : tuple of float
        In plan. [m]
    inside : shapely geometry
        The floor; a run may follow its edge.

    Returns
    -------
    length : float
        [m]; infinite where there is no run.
    path : tuple of (float, float)
        Its corners. [m]

    Examples
    --------
    >>> room = Polygon([(0, 0), (4, 0), (4, 2), (2, 2), (2, 5), (0, 5)])
    >>> cable_run((3.5, 1.5), (1, 4), inside=room)[0]
    5.0
    """
    edge = inside.buffer(1e-6)
    prepare(edge)
    direct = abs(end[0] - start[0]) + abs(end[1] - start[1])
    plain = []
    for middle in ((end[0], start[1]), (start[0], end[1])):
        corners = (start, *((middle,) if middle not in (start, end) else ()), end)
        line = LineString(corners)
        if direct > 0 and edge.covers(line):
            plain.append((line.intersection(inside.boundary).length, corners))
    if plain:  # the one that is seen beside the wall and not on its line
        return round(direct, 9), min(plain)[1]
    xs, ys = {start[0], end[0]}, {start[1], end[1]}
    for part in getattr(inside, "geoms", [inside]):
        for ring in (part.exterior, *part.interiors):
            for x, y in ring.coords:
                xs.add(float(x))
                ys.add(float(y))
    # A shortest rectilinear path lies on the lines through corners and ends.
    cols, rows = sorted(xs), sorted(ys)
    begin = (cols.index(start[0]), rows.index(start[1]))
    goal = (cols.index(end[0]), rows.index(end[1]))
    # Fewer corners where lengths are equal: a turn costs a hair.
    best: dict[tuple[int, int, int], float] = {(*begin, 2): 0.0}
    came: dict[tuple[int, int, int], tuple[int, int, int]] = {}
    heap: list[tuple[float, tuple[int, int, int]]] = [(0.0, (*begin, 2))]
    open_: dict[tuple[int, int, int, int], bool] = {}
    last: tuple[int, int, int] | None = None
    while heap:
        cost, node = heapq.heappop(heap)
        if cost > best[node]:
            continue
        i, j, way = node
        if (i, j) == goal:
            last = node
            break
        for di, dj in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            a, b = i + di, j + dj
            if not (0 <= a < len(cols) and 0 <= b < len(rows)):
                continue
            key = (min(i, a), min(j, b), max(i, a), max(j, b))
            if key not in open_:
                line = LineString([(cols[i], rows[j]), (cols[a], rows[b])])
                open_[key] = bool(edge.covers(line))
            if not open_[key]:
                continue
            turn = 0 if di else 1
            step = abs(cols[a] - cols[i]) + abs(rows[b] - rows[j])
            then = cost + step + (1e-7 if way not in (2, turn) else 0.0)
            if then < best.get((a, b, turn), math.inf) - 1e-12:
                best[a, b, turn] = then
                came[a, b, turn] = node
                heapq.heappush(heap, (then, (a, b, turn)))
    if last is None:
        return math.inf, ()
    path = [last]
    while path[-1] in came:
        path.append(came[path[-1]])
    points = [(cols[i], rows[j]) for i, j, _ in reversed(path)]
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        straight = (before[0] == here[0] == after[0]) or (before[1] == here[1] == after[1])
        if not straight:
            kept.append(here)
    kept += points[-1:] if len(points) > 1 else []
    length = sum(abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in itertools.pairwise(points))
    return round(length, 9), tuple(kept)


class _Floor:
    """Where a cord may lie: under furniture, along walls, and a little over open floor."""

    def __init__(
        self, room: BaseGeometry, covers: Sequence[Covered], *, beside: float, open_: float
    ) -> None:
        hidden = [c.shape for c in covers]
        band = room.difference(room.buffer(-beside, join_style="mitre"))
        self.covered = unary_union([*hidden, band])
        self.open = open_
        self.walls = room.buffer(0.02)  # an outlet may stand a little outside
        prepare(self.walls)

    def reaches(self, need: Need, at: XY, *, cord: float, rise: float) -> float | None:
        """Cord along the floor from a need to an outlet; None where it must not lie."""
        line = LineString([need.at, at])
        if line.length > cord - need.up - rise + 1e-9:
            return None
        if line.length > 1e-9 and not self.walls.covers(line):
            return None  # through a wall
        bare = line.difference(self.covered).length
        return line.length if bare <= self.open + 1e-9 else None


def _places(covers: Sequence[Covered], needs: Sequence[Need]) -> list[tuple[XY, str]]:
    """Places for a box: under the middle, the corners and the near edge of furniture."""
    found: list[tuple[XY, str]] = []
    for cover in covers:
        inner = cover.shape.buffer(-0.1, join_style="mitre")
        if not cover.box or inner.is_empty:
            continue
        core = max(getattr(inner, "geoms", [inner]), key=lambda g: g.area)
        points = [core.centroid, *(Point(p) for p in core.exterior.coords[:-1])]
        points += [core.exterior.interpolate(core.exterior.project(Point(n.at))) for n in needs]
        for point in points:
            found.append(((round(point.x, 4), round(point.y, 4)), cover.name))
    return list(dict(found).items())


def _fewest(
    reach: list[list[float | None]], runs: list[float], *, most: int
) -> list[tuple[int, list[int]]]:
    """The fewest places that serve all needs, then the least cable and cord.

    `reach[n][p]` is the cord from need n to place p, or None. Every need has
    at least one place.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    needs, places = len(reach), len(runs)
    pairs = [(n, p) for n in range(needs) for p in range(places) if reach[n][p] is not None]
    count = places + len(pairs)
    bound = 1.0 + sum(runs) + sum(x for row in reach for x in row if x is not None)
    cost = np.array(
        [1.0 + run / (2 * bound) for run in runs]
        + [float(reach[n][p] or 0.0) / (20 * bound) for n, p in pairs]
    )
    rows: list[tuple[dict[int, float], float, float]] = []
    for n in range(needs):
        mine = {places + i: 1.0 for i, (m, _) in enumerate(pairs) if m == n}
        rows.append((mine, 1.0, 1.0))
    for p in range(places):
        mine = {places + i: 1.0 for i, (_, q) in enumerate(pairs) if q == p}
        rows.append(({**mine, p: -float(most)}, -np.inf, 0.0))
    matrix = np.zeros((len(rows), count))
    for i, (entries, _, _) in enumerate(rows):
        for j, number in entries.items():
            matrix[i, j] = number
    solved = milp(
        cost,
        constraints=LinearConstraint(matrix, [r[1] for r in rows], [r[2] for r in rows]),
        integrality=np.ones(count),
        bounds=Bounds(0, 1),
    )
    assert solved.x is not None  # every need has a place, and places are free to take
    taken = [p for p in range(places) if solved.x[p] > 0.5]
    return [
        (p, [n for i, (n, q) in enumerate(pairs) if q == p and solved.x[places + i] > 0.5])
        for p in taken
    ]


def floor_boxes(
    needs: Sequence[Need],
    *,
    room: BaseGeometry,
    outlets: Sequence[Outlet],
    furniture: Sequence[Covered],
    rugs: Sequence[Polygon] = (),
    cord: float | None = None,
    build_up: float | None = None,
    lid: str = "as the floor",
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> FloorBoxes:
    """Floor boxes for what no wall outlet serves, and their cable.

    Parameters
    ----------
    needs : sequence of Need
        What is plugged in.
    room : shapely geometry
        The floor. [m]
    outlets : sequence of Outlet
        Wall outlets and panels in the room.
    furniture : sequence of Covered
        What stands on the floor, rugs aside: no cord lies under a rug.
    rugs : sequence of Polygon, optional
        A box under one is told.
    cord : float, optional
        By default `takeoff.floor_box.cord`. [m]
    build_up : float, optional
        Depth of the floor above the slab; None: nobody has looked. [m]
    lid : str, optional
        Its finish, in words.
    system : {"metric", "US"}, optional
        For the words.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    FloorBoxes
        The fewest boxes, of these the ones with the least cable.

    Raises
    ------
    InputError
        Two needs have one id, or a length is not above zero.
    """
    ids = [n.id for n in needs]
    if len(set(ids)) < len(ids):
        raise InputError(
            "things to plug in",
            given=", ".join(ids),
            allowed="each id once",
            mend="rename one of them",
        )
    long = positive("cord", value("takeoff.floor_box.cord", overrides) if cord is None else cord)
    open_ = value("takeoff.floor_box.open", overrides)
    beside = value("takeoff.floor_box.beside_wall", overrides)
    most = int(value("takeoff.floor_box.outlets", overrides))
    depth = value("takeoff.floor_box.depth", overrides)
    floor = _Floor(room, furniture, beside=beside, open_=open_)
    by_wall: list[tuple[str, str, float]] = []
    afloat: list[Need] = []
    for need in needs:
        near = [
            (away, o.name)
            for o in outlets
            if o.plug and (away := floor.reaches(need, o.at, cord=long, rise=o.height)) is not None
        ]
        if near:
            away, name = min(near)
            by_wall.append((need.id, name, away))
        else:
            afloat.append(need)
    places = _places(furniture, afloat) if afloat else []
    reach = [[floor.reaches(n, at, cord=long, rise=0.0) for at, _ in places] for n in afloat]
    left = tuple(n.id for n, row in zip(afloat, reach, strict=True) if all(x is None for x in row))
    served = [
        (n, row) for n, row in zip(afloat, reach, strict=True) if any(x is not None for x in row)
    ]
    useful = sorted({p for _, row in served for p, x in enumerate(row) if x is not None})
    ways = [_cable(places[p][0], outlets, room, overrides) for p in useful]
    boxes = []
    if served:
        plan = _fewest(
            [[row[p] for p in useful] for _, row in served],
            [0.0 if math.isinf(w[1]) else w[1] for w in ways],
            most=most,
        )
        for p, mine in plan:
            at, under = places[useful[p]]
            name, run, path, cable = ways[p]
            side = "takeoff.floor_box.side" + ("" if len(mine) <= 2 else "_large")
            boxes.append(
                Box(
                    at=at,
                    under=under,
                    serves=tuple(served[n][0].id for n in mine),
                    outlets=2 if len(mine) <= 2 else most,
                    side=value(side, overrides),
                    source=name,
                    path=path,
                    run=0.0 if math.isinf(run) else run,
                    cable=cable,
                    on_rug=any(r.covers(Point(at)) for r in rugs),
                    from_wall=room.boundary.distance(Point(at)),
                )
            )
    fits = build_up is not None and positive("build-up", build_up) >= depth - 1e-9
    names = {n.id: n.name for n in needs}

    def say(x: float) -> str:
        return length_text(x, system)

    why = [
        f"a cord of {say(long)} less what it climbs; at most {say(open_)} of it over open floor",
        *(f"{names[id]}: {outlet}, {say(away)} away" for id, outlet, away in by_wall),
    ]
    extra = value("takeoff.floor_box.allowance", overrides)
    tail = value("takeoff.floor_box.tail", overrides)
    for number, box in enumerate(boxes, start=1):
        words = ", ".join(names[id] for id in box.serves)
        why.append(f"box {number} under the {box.under}: {words}")
        if box.source:
            why.append(
                f"box {number} to {box.source}: {cable_text(box.run, system)} along the "
                f"floor + {extra * 100:.0f} % + the rise + {say(tail)} at each end = "
                f"{cable_text(box.cable, system)}"
            )
    if not boxes and not left:
        why.append("everything is served from the walls" if needs else "nothing is plugged in")
    return FloorBoxes(
        needs=tuple(needs),
        by_wall=tuple(by_wall),
        boxes=tuple(boxes),
        left=left,
        cord=long,
        net=sum(b.run for b in boxes),
        order=sum(b.cable for b in boxes),
        build_up=0.0 if build_up is None else build_up,
        depth=depth,
        fits=fits,
        lid=lid,
        why=tuple(why),
        rules=_RULES,
        cautions=_cautions(
            boxes,
            left=[names[id] for id in left],
            build_up=build_up,
            fits=fits,
            depth=depth,
            lid=lid,
            system=system,
            counts=value("takeoff.floor_box.counts", overrides),
        ),
    )


def _cable(
    at: XY,
    outlets: Sequence[Outlet],
    room: BaseGeometry,
    overrides: Mapping[str, float] | None,
) -> tuple[str, float, tuple[XY, ...], float]:
    """Source, run, path and cable of a box at a place."""
    best: tuple[float, str, tuple[XY, ...], float] = (math.inf, "", (), 0.0)
    ends = [(_onto(o.at, room), o) for o in outlets]
    ends.sort(key=lambda e: abs(e[0][0] - at[0]) + abs(e[0][1] - at[1]))
    for end, outlet in ends:
        if abs(end[0] - at[0]) + abs(end[1] - at[1]) >= best[0]:
            break  # no run is shorter than straight there
        run, path = cable_run(at, end, inside=room)
        if run < best[0]:
            best = (run, outlet.name, path, outlet.height)
    run, name, path, height = best
    if math.isinf(run):
        return "", run, (), 0.0
    tail = value("takeoff.floor_box.tail", overrides)
    cable = run * (1 + value("takeoff.floor_box.allowance", overrides)) + height + 2 * tail
    return name, run, path, cable


def _onto(at: XY, room: BaseGeometry) -> XY:
    """An outlet stands in the wall's face; a little outside, it is brought onto it."""
    point = Point(at)
    if room.covers(point):
        return at
    near = room.boundary.interpolate(room.boundary.project(point))
    return (round(float(near.x), 9), round(float(near.y), 9))


def _cautions(
    boxes: Sequence[Box],
    *,
    left: Sequence[str],
    build_up: float | None,
    fits: bool,
    depth: float,
    lid: str,
    system: System,
    counts: float,
) -> tuple[str, ...]:
    def say(x: float) -> str:
        return length_text(x, system)

    found = [
        "A licensed electrician sizes the circuit, the protection and the box, and decides "
        "under the local code.",
    ]
    if left:
        found.append(
            f"Nothing reaches {', '.join(left)} without a cord over open floor: an outlet in the "
            "wall behind it, another place, or a longer cord along the wall."
        )
    if not boxes:
        return tuple(found)
    if build_up is None:
        found.append(f"Ask how deep the floor is above its slab: a box needs about {say(depth)}.")
    elif not fits:
        found.append(
            f"The floor is {say(build_up)} deep and a box needs about {say(depth)}: a flat box, "
            "or a raceway at the skirting. A slab is not chased or cored without its engineer."
        )
    else:
        found.append(
            f"The floor is {say(build_up)} deep, a box needs about {say(depth)}; look for "
            "heating pipes before it is opened."
        )
    if any(b.on_rug for b in boxes):
        found.append(
            "A box lies under a rug: the rug is cut and bound there, or turned back. No cord "
            "lies under a rug."
        )
    far = [b for b in boxes if b.from_wall > counts + 1e-9]
    if far and system == "US":
        found.append(
            f"More than {say(counts)} from the wall: it does not count as one of the wall "
            "outlets that the NEC asks for."
        )
    found.append(
        f"Lid {lid}, closed when nothing is plugged in; a wet-mopped floor wants a lid that is "
        "rated for it."
    )
    found.append("The place is set out from two walls when the furniture plan is agreed.")
    return tuple(found)
