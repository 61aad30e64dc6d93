"""The shell of a home on a plan: walls, openings, columns, services.

Walls are drawn cut, about 1.2 m above the floor; their shapes are in `walls`.
"""

from __future__ import annotations

import functools
import math
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
import shapely.affinity
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from designkit.figures import ink, marks
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Arc, Hatch, Line, Polygon, Primitive, Text
from designkit.figures.labels import Spot
from designkit.figures.walls import CUT_HEIGHT, OUTDOORS, Frame, wall_geometry
from designkit.model import Home, Opening, Room, digest
from designkit.plan.openings import Leaf, OpeningAt, leaf_moves
from designkit.plan.space import ServiceAt, spaces

__all__ = ["CUT_HEIGHT", "OUTDOORS", "Shell", "shell"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Shell:
    """What does not change while pieces move, ready to be put on paper.

    `origin` is the paper point of plan (0, 0); shapes are in paper mm.
    """

    scale: float
    origin: XY
    width: float  # [mm]
    height: float  # [mm]
    below: tuple[Primitive, ...]  # floors, walls, openings: painted before the pieces
    words: tuple[Text, ...]  # names of what lies outside
    walls: BaseGeometry
    blocked: BaseGeometry  # walls and what hangs on them: no words on these
    floor: BaseGeometry
    swings: tuple[Shape, ...]
    bounds: tuple[float, float, float, float]  # of the walls, with balconies
    frames: Mapping[str, Frame]
    service_words: tuple[tuple[str, tuple[float, float], tuple[Spot, ...]], ...]
    service_lines: Mapping[str, tuple[str, ...]]

    def paper(self, point: XY) -> XY:
        """A point of the plan on the paper. [mm]

        Parameters
        ----------
        point : XY
            On the plan. [m]

        Returns
        -------
        XY
            On the paper. [mm]
        """
        k = 1000.0 / self.scale
        return self.origin[0] + point[0] * k, self.origin[1] + point[1] * k


_kept: OrderedDict[tuple[object, ...], Shell] = OrderedDict()
_digests: OrderedDict[tuple[int, ...], tuple[tuple[object, ...], str]] = OrderedDict()
_KEPT = 24


def _key(home: Home) -> str:
    """Digest of rooms, openings and services, kept while these are the same objects."""
    parts = (home.rooms, home.openings, home.services, home.rules)
    marks_of = tuple(map(id, parts))
    known = _digests.get(marks_of)
    if known is None:
        # The parts are kept with their digest, so that no other object can take their id.
        known = (parts, digest(*(dict(p) for p in parts)))
        _digests[marks_of] = known
        if len(_digests) > _KEPT:
            _digests.popitem(last=False)
    return known[1]


def shell(
    home: Home,
    *,
    scale: float = 50,
    rooms: Sequence[str] = (),
    margins: tuple[float, float, float, float] = (6.0, 6.0, 6.0, 6.0),
    paper: tuple[float, float] | None = None,
    middle: XY | None = None,
    services: bool = False,
    words: bool = True,
) -> Shell:
    """Walls, openings and services of a home on paper; kept for the last few.

    Parameters
    ----------
    home : Home
        Gives rooms, openings and services.
    scale : float
        50 for 1:50.
    rooms : sequence of str
        Ids of the rooms to draw; all without it.
    margins : (left, bottom, right, top)
        Room round the walls where no paper is given. [mm]
    paper : (width, height), optional
        Paper to put the plan in the middle of. [mm]
    middle : (x, y), optional
        Where on that paper; its centre without it. [mm]
    services : bool
        Also sockets, switches, outlets, detectors and sprinklers.
    words : bool
        Names of what lies outside the openings.

    Returns
    -------
    Shell
        Primitives and shapes in paper millimetres.

    Examples
    --------
    >>> home = Home(name="h", rooms={"r": Room(
    ...     name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> shell(home, scale=50, margins=(0, 0, 0, 0)).width  # 4.0 m and two walls of 0.2 m
    88.0
    """
    key = (_key(home), scale, tuple(rooms), margins, paper, middle, services, words)
    found = _kept.get(key)
    if found is None:
        found = _kept[key] = _build(
            home, scale, tuple(rooms), margins, paper, middle, services, words
        )
        if len(_kept) > _KEPT:
            _kept.popitem(last=False)
    return found


def _build(
    home: Home,
    scale: float,
    only: tuple[str, ...],
    margins: tuple[float, float, float, float],
    paper: tuple[float, float] | None,
    middle: XY | None,
    services: bool,
    words: bool,
) -> Shell:
    rooms = {k: r for k, r in home.rooms.items() if not only or k in only}
    k = 1000.0 / scale
    walls_m, floor_m, frames = wall_geometry(home, rooms)
    outdoor = [Shape(r.outline) for r in rooms.values() if r.use in OUTDOORS]
    whole = shapely.union_all([walls_m, floor_m, *outdoor])
    x0, y0, x1, y1 = whole.bounds if not whole.is_empty else (0.0, 0.0, 1.0, 1.0)
    if paper is None:
        left, bottom, right, top = margins
        origin = (left - x0 * k, bottom - y0 * k)
        width, height = (x1 - x0) * k + left + right, (y1 - y0) * k + bottom + top
    else:
        width, height = paper
        mx, my = middle or (width / 2, height / 2)
        origin = (mx - (x0 + x1) / 2 * k, my - (y0 + y1) / 2 * k)

    def to_paper(geometry: BaseGeometry) -> BaseGeometry:
        return shapely.affinity.affine_transform(geometry, [k, 0, 0, k, *origin])

    walls, floor = to_paper(walls_m), to_paper(floor_m)
    pens = ink.pens(scale)
    parts = spaces(home, overrides=home.rules).values()
    openings = {o.id: o for space in parts for o in space.openings if not o.far}
    draw = _Draftsman(k=k, origin=origin, pens=pens)
    items: list[Primitive] = []
    for name, room in rooms.items():
        if room.use in OUTDOORS:
            items += draw.boards(name, room)
    for part in getattr(walls, "geoms", [walls]):
        if part.is_empty:
            continue
        items.append(
            Polygon(
                outline=_ring(part.exterior),
                holes=tuple(_ring(ring) for ring in part.interiors),
                weight=pens.cut,
                fill=ink.CUT_FILL,
            )
        )
    swings: list[Shape] = []
    for id, frame in frames.items():
        drawn, swing = draw.opening(id, home.openings[id], frame, openings[id])
        items += drawn
        swings += swing
    for space in parts:
        for service in space.services:
            if service.service.room in rooms:
                items += draw.service(service, every=services)
    wishes: list[tuple[str, tuple[float, float], tuple[Spot, ...]]] = []
    lines: dict[str, tuple[str, ...]] = {}
    for space in parts:
        for service in space.services:
            if service.service.room in rooms and service.service.kind in ("panel", "radiator"):
                wish, said = draw.service_name(service)
                wishes.append(wish)
                lines[service.id] = said
    bodies = [
        to_paper(service.body)
        for space in parts
        for service in space.services
        if service.service.kind in ("panel", "radiator") and service.body is not None
    ]
    labels: list[Text] = []
    if words:
        for id, frame in frames.items():
            label = draw.outside(id, home.openings[id], frame, rooms)
            if label is not None:
                labels.append(label)
    bounds = (x0 * k + origin[0], y0 * k + origin[1], x1 * k + origin[0], y1 * k + origin[1])
    return Shell(
        scale=scale,
        origin=origin,
        width=width,
        height=height,
        below=tuple(items),
        words=tuple(labels),
        walls=walls,
        blocked=shapely.union_all([walls, *bodies]),
        floor=floor,
        swings=tuple(swings),
        bounds=bounds,
        frames=frames,
        service_words=tuple(wishes),
        service_lines=lines,
    )


def _ring(ring: BaseGeometry) -> tuple[XY, ...]:
    return tuple((float(x), float(y)) for x, y in list(ring.coords)[:-1])


class _Draftsman:
    """Draws what is in walls: `k` paper millimetres a metre."""

    def __init__(self, *, k: float, origin: XY, pens: ink.Pens) -> None:
        self.k, self.origin, self.pens = k, origin, pens

    def at(self, point: XY) -> XY:
        return self.origin[0] + point[0] * self.k, self.origin[1] + point[1] * self.k

    def in_wall(self, frame: Frame, along: float, out: float) -> XY:
        """Paper point `along` the opening from its start, `out` of the room. [m]"""
        (sx, sy), (ux, uy), (ox, oy) = frame.start, frame.along, frame.outward
        return self.at((sx + ux * along + ox * out, sy + uy * along + oy * out))

    def line(
        self,
        frame: Frame,
        a: tuple[float, float],
        b: tuple[float, float],
        weight: float,
        about: str,
        dash: tuple[float, ...] = (),
    ) -> Line:
        return Line(
            points=(self.in_wall(frame, *a), self.in_wall(frame, *b)),
            weight=weight,
            dash=dash,
            about=about,
        )

    def block(
        self,
        frame: Frame,
        a: tuple[float, float],
        b: tuple[float, float],
        about: str,
        *,
        fill: str = ink.INK,
        weight: float = 0.0,
    ) -> Polygon:
        (a0, o0), (a1, o1) = a, b
        corners = ((a0, o0), (a1, o0), (a1, o1), (a0, o1))
        return Polygon(
            outline=tuple(self.in_wall(frame, *c) for c in corners),
            fill=fill,
            weight=weight,
            about=about,
        )

    def boards(self, id: str, room: Room) -> list[Primitive]:
        outline = tuple(self.at(p) for p in room.outline)
        fine = self.k < 12
        style = ink.BOARDS
        return [
            Polygon(outline=outline, weight=self.pens.piece, fill=ink.PAPER, about=id),
            Hatch(
                outline=outline,
                angle=style.angle,
                spacing=1.0 if fine else style.spacing,
                weight=0.06 if fine else style.weight,
                ink=style.ink,
                about=id,
            ),
        ]

    def opening(
        self, id: str, opening: Opening, frame: Frame, at: OpeningAt
    ) -> tuple[list[Primitive], list[Shape]]:
        if opening.kind == "passage":
            return self.passage(id, opening, frame), []
        if opening.kind == "window":
            return self.window(id, opening, frame, at)
        return self.door(id, opening, frame, at)

    def passage(self, id: str, opening: Opening, frame: Frame) -> list[Primitive]:
        w, d = opening.width, frame.depth
        dash = self.pens.dash_zone
        return [
            self.line(frame, (0, 0), (w, 0), self.pens.zone, id, dash),
            self.line(frame, (0, d), (w, d), self.pens.zone, id, dash),
        ]

    def window(
        self, id: str, opening: Opening, frame: Frame, at: OpeningAt
    ) -> tuple[list[Primitive], list[Shape]]:
        w, d, pens = opening.width, frame.depth, self.pens
        if opening.sill > CUT_HEIGHT:
            # Over the cut: dashed on the dark wall in paper colour.
            return [
                Line(
                    points=(self.in_wall(frame, 0, o), self.in_wall(frame, w, o)),
                    weight=pens.edge,
                    ink=ink.PAPER,
                    dash=pens.dash_zone,
                    about=id,
                )
                for o in (d * 0.35, d * 0.65)
            ], []
        glass = d / 2
        bar = min(0.06, 0.28 * d)
        count = max(1, opening.leaves)
        items: list[Primitive] = [
            self.line(frame, (0, 0), (w, 0), pens.edge, id),
            self.line(frame, (0, d), (w, d), pens.edge, id),
        ]
        posts = [w * i / count for i in range(count + 1)]
        swings: list[Shape] = []
        if opening.leaf == "sliding" and count > 1:
            # Leaves on two tracks, lapping by a stile.
            for i in range(count):
                o = glass + (0.025 if i % 2 == 0 else -0.025)
                a, b = posts[i] - (0.03 if i else 0.0), posts[i + 1]
                items.append(
                    self.block(
                        frame, (a, o - 0.02), (b, o + 0.02), id, fill=ink.PAPER, weight=pens.edge
                    )
                )
        else:
            for o in (glass - 0.01, glass + 0.01) if self.k > 12 else (glass,):
                items.append(self.line(frame, (0, o), (w, o), pens.edge, id))
        for index, post in enumerate(posts):
            a = min(max(post - bar / 2, 0.0), w - bar)
            if opening.leaf == "sliding" and 0 < index < count:
                continue
            items.append(self.block(frame, (a, glass - bar / 2), (a + bar, glass + bar / 2), id))
        if opening.leaf == "hung":
            # The sash moves upright: a thin line beside the glass on the room's side.
            items.append(
                self.line(frame, (bar, glass - 0.05), (w - bar, glass - 0.05), pens.swing, id)
            )
        for leaf in at.leaves:
            drawn, swing = self.leaf(leaf, id, solid=False, dash=(1.2, 0.8))
            items += drawn
            swings.append(swing)
        return items, swings

    def leaf(
        self, leaf: Leaf, id: str, *, solid: bool, dash: tuple[float, ...] = ()
    ) -> tuple[list[Primitive], Shape]:
        """One leaf, open by a quarter turn, and its arc."""
        pens = self.pens
        centre, tip, shut = map(self.at, (leaf.pivot, leaf.opened, leaf.closed))
        items: list[Primitive] = []
        if solid:
            items.append(
                Polygon(
                    outline=tuple(
                        self.at((p[0], p[1])) for p in list(leaf.body.exterior.coords)[:-1]
                    ),
                    weight=pens.edge,
                    fill=ink.PAPER,
                    about=id,
                )
            )
        else:
            items.append(Line(points=(centre, tip), weight=pens.swing, dash=dash, about=id))
        first = math.degrees(math.atan2(tip[1] - centre[1], tip[0] - centre[0]))
        last = math.degrees(math.atan2(shut[1] - centre[1], shut[0] - centre[0]))
        if (last - first) % 360 > 180:
            first, last = last, first
        first, last = first % 360, first % 360 + (last - first) % 360
        items.append(
            Arc(
                centre=centre,
                radius=math.dist(centre, tip),
                start=round(first, 6),
                end=round(last, 6),
                weight=pens.swing,
                dash=dash,
                about=id,
            )
        )
        sector = Shape([self.at((p[0], p[1])) for p in list(leaf.swing.exterior.coords)[:-1]])
        return items, sector

    def door(
        self, id: str, opening: Opening, frame: Frame, at: OpeningAt
    ) -> tuple[list[Primitive], list[Shape]]:
        w, d, pens = opening.width, frame.depth, self.pens
        bar = 0.05
        inward = leaf_moves(opening) != "out"
        face = 0.0 if inward else d
        items: list[Primitive] = []
        if opening.kind == "balcony":
            items.append(self.line(frame, (0, 0), (w, 0), pens.swing, id))
            items.append(self.line(frame, (0, d), (w, d), pens.swing, id))
        elif leaf_moves(opening) in ("none", "slide"):
            items += self.passage(id, opening, frame)
        else:
            items.append(
                self.line(frame, (0, d - face), (w, d - face), pens.zone, id, pens.dash_zone)
            )
        # Frames stand at the face that the leaf closes against.
        f0, f1 = (0.0, min(0.08, d)) if inward else (d - min(0.08, d), d)
        for a in (0.0, w - bar):
            items.append(self.block(frame, (a, f0), (a + bar, f1), id))
        swings: list[Shape] = []
        if leaf_moves(opening) == "slide":
            items += self._sliding(id, opening, frame)
        for leaf in at.leaves:
            drawn, swing = self.leaf(leaf, id, solid=True)
            items += drawn
            swings.append(swing)
        return items, swings

    def _sliding(self, id: str, opening: Opening, frame: Frame) -> list[Primitive]:
        w, d, pens = opening.width, frame.depth, self.pens
        if opening.kind == "balcony":
            half = w / 2
            return [
                self.block(
                    frame,
                    (0.05, d / 2 - 0.05),
                    (half + 0.03, d / 2 - 0.01),
                    id,
                    fill=ink.PAPER,
                    weight=pens.edge,
                ),
                self.block(
                    frame,
                    (half - 0.03, d / 2 + 0.01),
                    (w - 0.05, d / 2 + 0.05),
                    id,
                    fill=ink.PAPER,
                    weight=pens.edge,
                ),
            ]
        # A leaf on a track along the room's face, shown half open.
        to_start = (opening.hinge != "right") == frame.start_is_left
        a = -w * 0.55 if to_start else w * 0.55
        return [self.block(frame, (a, -0.07), (a + w, -0.03), id, fill=ink.PAPER, weight=pens.edge)]

    def outside(
        self, id: str, opening: Opening, frame: Frame, rooms: Mapping[str, Room]
    ) -> Text | None:
        """What one sees or reaches through an opening, in italics outside it."""
        words = opening.view
        if not words and opening.to and opening.to not in rooms and opening.to != "outside":
            words = opening.to
        if not words:
            return None
        out = frame.outward
        upright = abs(out[0]) > 0.7
        away = frame.depth * self.k
        at = self.in_wall(frame, opening.width / 2, 0.0)
        # 2.6 beyond the wall to the near edge of the words.
        reach = away + 2.6 + (0.0 if (out[1] > 0.7 or out[0] < -0.7) else ink.NAME)
        x, y = at[0] + out[0] * reach, at[1] + out[1] * reach
        return Text(
            at=(x, y),
            text=words,
            size=ink.NAME,
            italic=True,
            anchor="middle",
            rotation=90.0 if upright else 0.0,
            about=id,
        )

    def service(self, found: ServiceAt, *, every: bool) -> list[Primitive]:
        service, id, pens = found.service, found.id, self.pens
        facing = math.degrees(math.atan2(found.outward[1], found.outward[0]))
        if service.kind == "radiator" and service.size is not None:
            w, d, _ = service.size
            back = (
                found.origin[0] - found.outward[0] * d / 2,
                found.origin[1] - found.outward[1] * d / 2,
            )
            return self._radiator(id, self.at(back), w * self.k, d * self.k, facing + 90)
        items: list[Primitive] = []
        if found.clear is not None and service.kind == "panel":
            near_left, near_right, far_right, far_left = (
                self.at((p[0], p[1])) for p in list(found.clear.exterior.coords)[:4]
            )
            items.append(
                Line(
                    points=(near_left, far_left, far_right, near_right),
                    weight=pens.zone,
                    dash=pens.dash_zone,
                    about=id,
                )
            )
        small = self.k < 12
        if service.kind == "panel":
            w = (service.size[0] if service.size else 0.35) * self.k
            d = (service.size[1] if service.size else 0.1) * self.k
            at, turn = self.at(found.origin), facing + 90
            body = _turned([(-w / 2, 0), (w / 2, 0), (w / 2, d), (-w / 2, d)], at, turn)
            half = _turned([(-w / 2, d), (w / 2, 0), (w / 2, d)], at, turn)
            items.append(Polygon(outline=body, weight=pens.edge, fill=ink.PAPER, about=id))
            items.append(Polygon(outline=half, fill=ink.INK, about=id))
        elif service.kind == "vent" and not small:
            items += marks.symbol("vent", self.at(found.origin), angle=facing, about=id)
        elif every and not small and service.kind in marks.SYMBOLS:
            items += marks.symbol(service.kind, self.at(found.origin), angle=facing, about=id)
        return items

    def service_name(
        self, found: ServiceAt
    ) -> tuple[tuple[str, tuple[float, float], tuple[Spot, ...]], tuple[str, ...]]:
        """Places for the name of a panel or a radiator: before it, on free floor."""
        service = found.service
        x, y = self.at(found.origin)
        ox, oy = found.outward
        if service.kind == "panel":
            lines: tuple[str, ...] = ("panel:", "keep clear")
            size = (13.5, 6.6)
        else:
            lines = (service.name or "radiator",)
            size = (lettering.advance(lines[0], size=ink.NAME) + 0.8, 3.3)
        w, h = size
        spots = []
        upright = abs(ox) > 0.7 and service.kind != "panel"
        long, deep = (h, w) if upright else (w, h)
        for away in (1.2, 2.4, 4.0, 6.5):
            for slide in (0.0, 0.4, -0.4, 0.8, -0.8):
                reach = away + (deep if abs(oy) > 0.7 or upright else w) / 2
                if upright:
                    reach = away + h / 2
                along = slide * (long if not upright else w)
                spots.append(
                    Spot(x + ox * reach - oy * along, y + oy * reach + ox * along, upright=upright)
                )
        return (found.id, size, tuple(spots)), lines

    def _radiator(self, id: str, at: XY, w: float, d: float, rotation: float) -> list[Primitive]:
        body = _turned(
            [(-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2)], at, rotation
        )
        items: list[Primitive] = [
            Polygon(outline=body, weight=self.pens.edge, fill=ink.PAPER, about=id)
        ]
        fins = max(2, round(w / 1.4))
        if self.k > 12:
            for i in range(1, fins):
                x = -w / 2 + w * i / fins
                items.append(
                    Line(
                        points=_turned([(x, -d / 2), (x, d / 2)], at, rotation),
                        weight=self.pens.hair,
                        about=id,
                    )
                )
        return items


def _turned(points: Sequence[XY], at: XY, rotation: float) -> tuple[XY, ...]:
    cos, sin = _turn(rotation)
    return tuple((at[0] + x * cos - y * sin, at[1] + x * sin + y * cos) for x, y in points)


@functools.lru_cache(maxsize=512)
def _turn(rotation: float) -> tuple[float, float]:
    quarter, rest = divmod(rotation % 360.0, 90.0)
    if rest == 0.0:  # quarter turns are exact
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    return math.cos(math.radians(rotation)), math.sin(math.radians(rotation))
