"""Whole layouts decided by exact geometry: ways, floor to use, doors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.model import Layout, Placement, Point
from designkit.plan.case import frame
from designkit.plan.floors import POCKET
from designkit.plan.layouts.ground import Ground, Need, floor_for
from designkit.plan.layouts.shapes import Poses, outlines
from designkit.plan.layouts.tables import Tables
from designkit.plan.layouts.things import Thing
from designkit.plan.measure import NOISE
from designkit.plan.place import Placed, place_all
from designkit.plan.routes import Route, widest
from designkit.plan.space import obstacles

__all__ = ["Exact", "Whole", "placement_of"]

FINE = 0.0005  # [m] by which the quick look is kinder than the exact one


@dataclass(frozen=True, kw_only=True, eq=False)
class Whole:
    """A whole layout with its exact widths, or why it cannot be."""

    layout: Layout
    placed: Mapping[str, Placed]
    ok: bool
    routes: Mapping[str, Route]  # need -> route
    fails: tuple[str, ...]  # needs or pieces that fail


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
        self._kept: dict[tuple[tuple[str, Placement, int], ...], Whole] = {}
        self._reached: dict[str, bool] = {}

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

    def _decide(self, here: Sequence[tuple[Thing, Placement, int]]) -> Whole:
        ground = self.ground
        layout = Layout(name="proposal", pieces={t.id: place for t, place, _ in here})
        placed = place_all(
            ground.home.pieces, layout, rooms=ground.home.rooms, overrides=ground.rules
        )
        fails = self._quick(here, placed)
        routes: dict[str, Route] = {}
        if not fails:
            floor = floor_for(ground, placed)
            for need in ground.needs:
                if need.width <= 1e-6 or (need.piece and need.piece not in placed):
                    continue
                route = widest(floor, start=need.start, end=need.end, overrides=ground.rules)
                routes[need.id] = route
                if route.width < need.width - NOISE:
                    fails.append(need.id)
        return Whole(
            layout=layout, placed=placed, ok=not fails, routes=routes, fails=tuple(fails)
        )

    def _quick(
        self, here: Sequence[tuple[Thing, Placement, int]], placed: Mapping[str, Placed]
    ) -> list[str]:
        """Ways and use by wearing the free floor down; kinder than the exact look by 1 mm."""
        ground = self.ground
        taken = [shape for _, shape in obstacles(ground.space, placed, overrides=ground.rules)]
        fails = self._doors(taken)
        if fails:
            return fails
        body = shapely.union_all(taken) if taken else None
        worn: dict[float, list[BaseGeometry]] = {}

        def floors(width: float) -> list[BaseGeometry]:
            if width not in worn:
                pockets = [
                    pocket
                    for at in ground.space.openings
                    if at.opening.kind != "window"
                    and (pocket := frame(at.centre, _back(at.inward), at.clear, -1e-6, width))
                ]
                free = shapely.union_all([ground.space.polygon, *pockets])
                if body is not None:
                    free = free.difference(body)
                left = free.buffer(-(width / 2 - FINE), quad_segs=24)
                worn[width] = [g for g in shapely.get_parts(left) if isinstance(g, Polygon)]
            return worn[width]

        for need in ground.needs:
            if need.width <= 1e-6 or (need.piece and need.piece not in placed):
                continue
            parts = floors(need.width)
            start = self._at(need.start, placed, parts, need.width)
            end = self._at(need.end, placed, parts, need.width)
            if not any(k in end for k in start):
                fails.append(need.id)
        entrance = ground.entrance
        if fails or entrance is None:
            return fails
        parts = floors(ground.minor)
        inside = self._at(entrance.id, placed, parts, ground.minor)
        if not inside:  # a door narrower than the least way: said with the needs
            return fails
        for thing, placement, variant in here:
            for room in thing.variants[variant]:
                if room.reached and not self._used(room.shape, placement, parts, inside):
                    fails.append(thing.id)
                    break
        return fails

    def _used(
        self, shape: object, placement: Placement, parts: Sequence[BaseGeometry], inside: set[int]
    ) -> bool:
        """Whether a person who came in gets to a floor that is used."""
        from designkit.plan.layouts.things import Shape

        assert isinstance(shape, Shape)
        one = Poses(
            x=np.array([placement.at[0]]),
            y=np.array([placement.at[1]]),
            turn=np.array([placement.rotation]),
            variant=np.zeros(1, np.int64),
            wall=np.full(1, -1),
        )
        area = outlines(shape, one)[0]
        reach = self.ground.minor / 2 + 2 * FINE
        return any(shapely.dwithin(parts[k], area, reach) for k in sorted(inside))

    def _at(
        self,
        place: object,
        placed: Mapping[str, Placed],
        parts: Sequence[BaseGeometry],
        width: float,
    ) -> set[int]:
        """Parts of the worn floor that a place belongs to."""
        if isinstance(place, str):
            for at in self.ground.space.openings:
                if at.id == place:
                    line = LineString([at.clear_left, at.clear_right])
                    return {k for k, part in enumerate(parts) if shapely.dwithin(part, line, 1e-4)}
            shape: BaseGeometry = placed[place].footprint
        elif isinstance(place, BaseGeometry):
            shape = place
        else:
            assert isinstance(place, tuple)
            shape = shapely.Point(place)
        reach = width / 2 + 2 * FINE
        return {k for k, part in enumerate(parts) if shapely.dwithin(part, shape, reach)}

    def _doors(self, taken: Sequence[Polygon]) -> list[str]:
        """Doors before which all pieces together leave too little."""
        ground = self.ground
        depth = ground.value("plan.clear.door_front_depth")
        width = ground.value("plan.clear.door_front_width")
        fails = []
        for at in ground.space.openings:
            if at.opening.kind == "window":
                continue
            area = frame(at.centre, at.inward, at.clear, 0.001, depth)
            if area is None:
                continue
            start = np.array(at.clear_left)
            u = (np.array(at.clear_right) - start) / at.clear
            spans = []
            for shape in taken:
                part = area.intersection(shape)
                if part.area > 1e-9:
                    t = (shapely.get_coordinates(part) - start) @ u
                    spans.append((float(t.min()), float(t.max())))
            best, reached = 0.0, 0.0
            for low, high in sorted(spans):
                best, reached = max(best, low - reached), max(reached, high)
            best = max(best, at.clear - reached)
            need = min(width, at.clear)
            if best < need - 1e-6 and not self._built_in(at.id, area, need, start, u, at.clear):
                fails.append(at.id)
        return fails

    def _built_in(
        self, id: str, area: Polygon, need: float, start: Point, u: Point, clear: float
    ) -> bool:
        """Whether the building alone leaves no more before this door."""
        if id not in self._reached:
            spans = []
            for _, shape in obstacles(self.ground.space, {}, overrides=self.ground.rules):
                part = area.intersection(shape)
                if part.area > 1e-9:
                    t = (shapely.get_coordinates(part) - np.array(start)) @ np.array(u)
                    spans.append((float(t.min()), float(t.max())))
            best, reached = 0.0, 0.0
            for low, high in sorted(spans):
                best, reached = max(best, low - reached), max(reached, high)
            self._reached[id] = max(best, clear - reached) < need - 1e-6
        return self._reached[id]


def _back(direction: Point) -> Point:
    return (-direction[0], -direction[1])


def needs_named(ground: Ground, ids: Sequence[str]) -> list[Need]:
    """The ways among what failed."""
    return [need for need in ground.needs if need.id in ids]


POCKET_DEPTH = POCKET
