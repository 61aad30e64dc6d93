"""Whole layouts decided by exact geometry: ways, floor to use, doors."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.model import Layout, Placement, Point
from designkit.plan.case import frame
from designkit.plan.layouts.ground import Ground, Way, floor_for, front_of
from designkit.plan.layouts.poses import place_at
from designkit.plan.layouts.shapes import Poses, outlines
from designkit.plan.layouts.tables import Tables
from designkit.plan.layouts.things import Thing
from designkit.plan.measure import NOISE
from designkit.plan.place import Placed, place_all
from designkit.plan.routes import Route, widest

__all__ = ["Blame", "Exact", "Whole", "placement_of"]

FINE = 0.0005  # [m] by which the quick look is kinder than the exact one


@dataclass(frozen=True, kw_only=True, eq=False)
class Whole:
    """A whole layout with its exact widths, or why it cannot be."""

    layout: Layout
    placed: Mapping[str, Placed]
    ok: bool
    routes: Mapping[str, Route]  # need -> route
    fails: tuple[str, ...]  # needs or pieces that fail


@dataclass(frozen=True, kw_only=True)
class Blame:
    """Why a whole layout is turned down: so many first pieces, or one or two of them."""

    depth: int
    one: int  # -1: no single pair is to blame
    two: int  # the same as `one`: it fails alone


def placement_of(thing: Thing, poses: Poses, p: int, ground: Ground) -> Placement:
    """A place of the search as a placement of the home.

    Parameters
    ----------
    thing : Thing
        The piece.
    poses : Poses
        Its places.
    p : int
        Which.
    ground : Ground
        The space.

    Returns
    -------
    Placement
        To a tenth of a millimetre; what is locked is as it was.
    """
    if thing.locked is not None:
        return thing.locked
    ((x, y),) = ground.frame.outward(np.array([[poses.x[p], poses.y[p]]]))
    turn = round((float(poses.turn[p]) + ground.frame.angle) % 360.0, 4) % 360.0
    return Placement(
        at=(round(float(x), 4) + 0.0, round(float(y), 4) + 0.0),
        rotation=turn + 0.0,
        item="" if thing.item == thing.id else thing.item,
    )


class Exact:
    """Decides whole layouts, and keeps what it decided.

    Parameters
    ----------
    ground : Ground
        The space.
    """

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._failed: dict[int, dict[tuple[tuple[int, int], ...], bool]] = {}
        self._shapes: dict[tuple[str, Placement], tuple[list[Polygon], list[list[Polygon]]]] = {}
        self._kept: dict[tuple[tuple[str, Placement, int], ...], Whole] = {}

    def whole(self, tables: Tables, places: Sequence[int]) -> Whole:
        """Lay out one choice of places and decide it."""
        here: list[tuple[Thing, Placement, int]] = []
        for i, p in enumerate(places):
            if tables.absent(i, p):
                continue
            thing, poses = tables.things[i], tables.poses[i]
            variant = int(poses.variant[p])
            here.append((thing, placement_of(thing, poses, p, self.ground), variant))
        key = tuple((thing.id, placement, variant) for thing, placement, variant in here)
        if key not in self._kept:
            self._kept[key] = self._decide(here)
        return self._kept[key]

    def likely(self, tables: Tables, places: Sequence[int]) -> bool:
        """Whether one choice of places passes the quick look, which is kinder by 1 mm.

        For moves that are soon replaced by better ones; the last is decided by `whole`.
        """
        return not self._fails(tables, places, range(len(places)))

    @functools.cached_property
    def _with_pockets(self) -> BaseGeometry:
        """The floor with a pocket behind each door, in which a person stands who came through."""
        ground = self.ground
        deep = max([ground.minor, *(need.width for need in ground.needs)])
        pockets = [
            pocket
            for at in ground.space.openings
            if at.opening.kind != "window"
            and (pocket := frame(at.centre, _back(at.inward), at.clear, -1e-6, deep))
        ]
        return shapely.union_all([ground.space.polygon, *pockets])

    def blame(self, tables: Tables, places: Sequence[int]) -> Blame:
        """How much of a layout that was turned down is enough to turn it down.

        A piece more only takes floor away: what fails with a few pieces fails
        with all. The fewest first pieces that fail are found by halving, then
        whether the last of them fails alone or with one other.
        """
        n = len(places)
        here = list(range(n))
        if not self._fails(tables, places, here):
            return Blame(depth=n, one=-1, two=-1)  # by less than a millimetre
        low, high = 0, n
        while high - low > 1:
            middle = (low + high) // 2
            if self._fails(tables, places, here[:middle]):
                high = middle
            else:
                low = middle
        last = high - 1
        if self._fails(tables, places, [last]):
            return Blame(depth=high, one=last, two=last)
        for other in range(last):
            if tables.count(other) > 1 and self._fails(tables, places, [other, last]):
                return Blame(depth=high, one=other, two=last)
        return Blame(depth=high, one=-1, two=-1)

    def _fails(self, tables: Tables, places: Sequence[int], which: Sequence[int]) -> bool:
        key = tuple((i, places[i]) for i in which)
        kept = self._failed.setdefault(id(tables), {})
        if key not in kept:
            here = []
            for i in which:
                p = places[i]
                if not tables.absent(i, p):
                    thing, poses = tables.things[i], tables.poses[i]
                    place = placement_of(thing, poses, p, self.ground)
                    here.append((thing, place, int(poses.variant[p])))
            kept[key] = bool(self._quick(here))
        return kept[key]

    def _decide(self, here: Sequence[tuple[Thing, Placement, int]]) -> Whole:
        ground = self.ground
        layout = Layout(name="proposal", pieces={t.id: place for t, place, _ in here})
        fails = self._quick(here)
        placed: dict[str, Placed] = {}
        routes: dict[str, Route] = {}
        if not fails:
            placed = self._placed(layout)
            floor = floor_for(ground, placed)
            for need in ground.needs:
                if need.width <= 1e-6 or (need.piece and need.piece not in placed):
                    continue
                route = widest(floor, start=need.start, end=need.end, overrides=ground.rules)
                routes[need.id] = route
                if route.width < need.width - NOISE:
                    fails.append(need.id)
        return Whole(layout=layout, placed=placed, ok=not fails, routes=routes, fails=tuple(fails))

    def _placed(self, layout: Layout) -> dict[str, Placed]:
        ground = self.ground
        return place_all(
            ground.home.pieces, layout, rooms=ground.home.rooms, overrides=ground.rules
        )

    def placed(self, whole: Whole) -> Mapping[str, Placed]:
        """The pieces of a layout, also of one that was turned down."""
        return whole.placed or self._placed(whole.layout)

    @functools.cached_property
    def _open(self) -> BaseGeometry:
        """The floor without what is built in, with a pocket behind each door."""
        ground = self.ground
        deep = max([ground.minor, *(need.width for need in ground.needs)])
        pockets = [
            pocket
            for way in ground.ways
            if (pocket := frame(way.centre, _back(way.inward), way.clear, -1e-6, deep))
        ]
        # A person who came through stands in the pocket.
        free = shapely.union_all([ground.floor, *pockets])
        return free.difference(shapely.union_all(list(ground.solid))) if ground.solid else free

    def _quick(self, here: Sequence[tuple[Thing, Placement, int]]) -> list[str]:
        """Ways and use by wearing the free floor down; kinder than the exact look by 1 mm.

        All in the search's frame.
        """
        ground = self.ground
        taken: list[Polygon] = []
        for thing, placement, _ in here:
            taken += self._drawn(thing, placement)[0]
        fails = self._doors(taken)
        if fails:
            return fails
        free = self._open.difference(shapely.union_all(taken)) if taken else self._open
        worn: dict[float, list[BaseGeometry]] = {}

        def floors(width: float) -> list[BaseGeometry]:
            if width not in worn:
                left = free.buffer(-(width / 2 - FINE), quad_segs=16)
                worn[width] = [g for g in shapely.get_parts(left) if isinstance(g, Polygon)]
            return worn[width]

        bodies = {thing.id: (thing, placement) for thing, placement, _ in here}
        for need in ground.needs:
            if need.width <= 1e-6 or (need.piece and need.piece not in bodies):
                continue
            parts = floors(need.width)
            start, end = need.start_at, need.end_at
            if end is None:
                end = shapely.union_all(self._drawn(*bodies[need.piece])[0])
            assert start is not None
            one, two = _at(start, parts, need.width), _at(end, parts, need.width)
            if not any(k in two for k in one):
                return [need.id]
        entrance = ground.entrance
        if entrance is None:
            return []
        parts = floors(ground.minor)
        inside = _at(LineString(entrance.line), parts, ground.minor)
        if not inside:  # a door narrower than the least way: said with the needs
            return []
        reach = ground.minor / 2 + 2 * FINE
        for thing, placement, variant in here:
            for area in self._drawn(thing, placement)[1][variant]:
                # Whether a person who came in gets to a floor that is used.
                if not any(shapely.dwithin(parts[k], area, reach) for k in inside):
                    return [thing.id]
        return []

    def _drawn(
        self, thing: Thing, placement: Placement
    ) -> tuple[list[Polygon], list[list[Polygon]]]:
        """Bodies of a piece, and for each way of use the floors that are reached."""
        key = (thing.id, placement)
        if key not in self._shapes:
            spot = place_at(self.ground, placement)
            self._shapes[key] = (
                [outlines(shape, spot)[0] for shape in thing.body],
                [
                    [outlines(room.shape, spot)[0] for room in rooms if room.reached]
                    for rooms in thing.variants
                ],
            )
        return self._shapes[key]

    def _doors(self, taken: Sequence[Polygon]) -> list[str]:
        """Doors before which all pieces together leave too little."""
        fails = []
        for way, area, built in self._fronts:
            near = [shape for shape in taken if shapely.intersects(area, shape)]
            if not near:
                continue
            free = _widest([*near, *self.ground.solid], area, way)
            if free < min(way.need, built) - 1e-6:
                fails.append(way.id)
        return fails

    @functools.cached_property
    def _fronts(self) -> list[tuple[Way, Polygon, float]]:
        """Floor before each door, and what the building leaves free of it."""
        depth = self.ground.value("plan.clear.door_front_depth")
        out = []
        for way in self.ground.ways:
            area = front_of(way, depth)
            if area is not None:
                shapely.prepare(area)
                out.append((way, area, _widest(self.ground.solid, area, way)))
        return out


def _at(shape: BaseGeometry, parts: Sequence[BaseGeometry], width: float) -> list[int]:
    """Parts of the worn floor that a place belongs to."""
    # A strip arrives at an area with its edge, at a door with its middle.
    reach = 1e-4 if isinstance(shape, LineString) else width / 2 + 2 * FINE
    return [k for k, part in enumerate(parts) if shapely.dwithin(part, shape, reach)]


def _widest(shapes: Sequence[Polygon], area: Polygon, way: Way) -> float:
    """The widest gap that shapes leave before a door."""
    start = np.array(way.line[0])
    u = (np.array(way.line[1]) - start) / way.clear
    spans = []
    for shape in shapes:
        part = area.intersection(shape)
        if part.area > 1e-9:
            t = (shapely.get_coordinates(part) - start) @ u
            spans.append((float(t.min()), float(t.max())))
    best, reached = 0.0, 0.0
    for low, high in sorted(spans):
        best, reached = max(best, low - reached), max(reached, high)
    return max(best, way.clear - reached)


def _back(direction: Point) -> Point:
    return (-direction[0], -direction[1])
