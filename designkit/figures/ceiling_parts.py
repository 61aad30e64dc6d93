"""What stands on a reflected ceiling plan: luminaires, switching, tracks, light.

The plan is seen as in a mirror on the floor: it lies as the furniture plan
does. What a dimmer does not change is kept for the last few layouts, so that
only lines of equal light and findings are made anew at a key press.
"""

from __future__ import annotations

import dataclasses
import math
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import shapely
from shapely import STRtree
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from designkit.figures import ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.ceiling_setout import Track, setting_out
from designkit.figures.drawing import XY, Circle, Line, Polygon, Primitive, Text
from designkit.figures.furnishing import draw_piece, rank
from designkit.figures.isolux import Field, fields
from designkit.lighting.distribution import Photometry
from designkit.lighting.lumen_method import Reflectances
from designkit.lighting.quick import LampRow, LightResult
from designkit.lighting.room_light import LitHome, light_up
from designkit.model import Home, Layout
from designkit.plan.drapery import drapery
from designkit.plan.space import spaces
from designkit.units import in_sentence

__all__ = ["Group", "Parts", "box_of", "ceiling_parts", "lamp_groups"]

Box = tuple[float, float, float, float]
PORTABLE = ("floor lamp", "table lamp")
OWN_SYMBOL = {
    "wall light": "wall light",
    "recessed light": "recessed light",
    "track spot": "track spot",
}
SHOWN = ("wall outlet", "switch", "socket", "sprinkler", "detector")
REACH = {"ceiling box": 2.9, "portable": 2.6, "ceiling outlet": 2.4, "detector": 2.0}
_KEPT = 8


@dataclass(frozen=True, kw_only=True, eq=False)
class Group:
    """Luminaires of one kind at one height: one letter, one row of the table."""

    letter: str
    ids: tuple[str, ...]
    row: LampRow
    symbol: str


@dataclass(kw_only=True, eq=False)
class Parts:
    """A ceiling plan without its light, on paper. [mm]"""

    base: shells.Shell
    lit: LitHome
    groups: tuple[Group, ...]
    rooms: tuple[str, ...]
    floor: tuple[Primitive, ...]  # furniture, faint
    fabric: tuple[Primitive, ...]  # walls, heads of openings, names outside
    wiring: tuple[Primitive, ...]  # switching lines, with the letters at the switches
    symbols: tuple[Primitive, ...]
    names: tuple[Primitive, ...]
    chains: tuple[Primitive, ...]
    blocked: tuple[BaseGeometry, ...]
    taken: tuple[Box, ...]
    beside: Mapping[str, XY]  # by room: where its own finding's number stands
    keys: tuple[str, ...]  # symbols that are used, in the order of the key
    switch_height: float | None  # one height for all, where there is one [m]
    planes: dict[float, tuple[Field, ...]] = field(default_factory=dict)
    numbered: dict[object, tuple[list[Primitive], list[BaseGeometry]]] = field(default_factory=dict)

    def fields(self, plane: float) -> tuple[Field, ...]:
        """Light of each lamp on a plane, kept for the last few planes.

        Parameters
        ----------
        plane : float
            Height above the floor. [m]

        Returns
        -------
        tuple of Field
            One a room.
        """
        if plane not in self.planes:
            if len(self.planes) >= _KEPT:
                self.planes.pop(next(iter(self.planes)))
            self.planes[plane] = fields(self.lit, rooms=self.rooms, plane=plane)
        return self.planes[plane]


def box_of(text: Text) -> Box:
    """The square box round a text on the paper.

    Parameters
    ----------
    text : Text
        The primitive.

    Returns
    -------
    (float, float, float, float)
        Left, bottom, right, top. [mm]

    Examples
    --------
    >>> [round(v, 1) for v in box_of(Text(at=(10, 5), text="N", size=2.0))]
    [10.0, 5.0, 12.0, 7.0]
    """
    corners = lettering.box(text)
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _letters(count: int) -> list[str]:
    alphabet = "abcdefghijkmnpqrstuvwxyz"  # no l and o: they read as figures
    single = list(alphabet)
    return (single + [a + b for a in alphabet for b in alphabet])[:count]


def lamp_groups(home: Home, layout: Layout, rows: Sequence[LampRow]) -> tuple[Group, ...]:
    """Luminaires of one kind and height under one letter.

    Parameters
    ----------
    home : Home
        Its services tell which hang at a ceiling box.
    layout : Layout
        With the lamps.
    rows : sequence of LampRow
        From `designkit.lighting.quick.light`.

    Returns
    -------
    tuple of Group
        Fixed luminaires first, portable ones last, else in the layout's order.
    """
    kinds: OrderedDict[tuple[object, ...], list[LampRow]] = OrderedDict()
    for row in sorted(rows, key=lambda r: r.kind in PORTABLE):
        lamp = layout.lamps[row.id]
        key = (lamp.fixture, round(row.base, 3), _symbol_of(home, layout, row))
        kinds.setdefault(key, []).append(row)
    return tuple(
        Group(letter=letter, ids=tuple(r.id for r in of), row=of[0], symbol=str(key[2]))
        for letter, (key, of) in zip(_letters(len(kinds)), kinds.items(), strict=True)
    )


def _symbol_of(home: Home, layout: Layout, row: LampRow) -> str:
    if row.kind in PORTABLE:
        return "portable"
    if row.kind in OWN_SYMBOL:
        return OWN_SYMBOL[row.kind]
    service = home.services.get(layout.lamps[row.id].service)
    if service is not None and service.kind == "ceiling outlet":
        return "ceiling box"
    return "ceiling light"


_kept: OrderedDict[tuple[object, ...], tuple[tuple[object, ...], Parts]] = OrderedDict()
_USED = ("rooms", "openings", "services", "circuits", "finishes", "pieces", "fixtures", "rules")


def ceiling_parts(
    home: Home,
    layout: Layout,
    *,
    light: LightResult,
    base: shells.Shell,
    units: str,
    chain_at: float | None = 10.5,
    reflectances: Reflectances | Mapping[str, Reflectances] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
) -> Parts:
    """Everything of a ceiling plan that a dimmer does not change.

    Parameters
    ----------
    home : Home
        Rooms, openings, services, fixtures.
    layout : Layout
        Pieces, lamps and drapery.
    light : LightResult
        Its lamps.
    base : Shell
        Scale and place on the paper.
    units : str
        Unit of the dimensions.
    chain_at : float, optional
        First chain of dimensions from the walls; none without it. [mm]
    reflectances : Reflectances or mapping of str to Reflectances, optional
        As for the light.
    photometry : mapping of str to Photometry, optional
        As for the light.

    Returns
    -------
    Parts
        Kept for the last few layouts; the lamps' own dimming does not count.
    """
    held: tuple[object, ...] = (*(getattr(home, name) for name in _USED), base)
    key = (
        *map(id, held),
        tuple(layout.pieces.items()),
        tuple((id_, dataclasses.replace(lamp, dim=1.0)) for id_, lamp in layout.lamps.items()),
        tuple(layout.drapes.items()),
        units,
        chain_at,
        tuple(reflectances.items()) if isinstance(reflectances, Mapping) else reflectances,
        _content(photometry),
    )
    known = _kept.get(key)
    if known is None:
        lit = light_up(home, layout, reflectances=reflectances, photometry=photometry)
        made = _Maker(home=home, layout=layout, light=light, base=base, lit=lit, units=units)
        # `held` keeps the objects, so that no other can take their id.
        known = _kept[key] = (held, made.parts(chain_at=chain_at))
        while len(_kept) > _KEPT:
            _kept.popitem(last=False)
    return known[1]


def _content(photometry: Mapping[str, Photometry] | None) -> tuple[object, ...]:
    """What a set of photometric files says: they may be read anew at each key press."""
    return tuple(
        (
            name,
            file.lamp_lumens,
            file.symmetry,
            file.vertical.tobytes(),
            file.horizontal.tobytes(),
            file.intensity.tobytes(),
        )
        for name, file in (photometry or {}).items()
    )


def _free(box: Box, taken: Sequence[Box], gap: float = 0.3) -> bool:
    return not any(
        box[0] < b[2] + gap and box[2] > b[0] - gap and box[1] < b[3] + gap and box[3] > b[1] - gap
        for b in taken
    )


@dataclass(kw_only=True, eq=False)
class _Maker:
    """Draws the parts; `taken` grows as words and symbols find their place."""

    home: Home
    layout: Layout
    light: LightResult
    base: shells.Shell
    lit: LitHome
    units: str
    taken: list[Box] = field(default_factory=list)
    blocked: list[BaseGeometry] = field(default_factory=list)

    def parts(self, *, chain_at: float | None) -> Parts:
        base = self.base
        self.pens = ink.pens(base.scale)
        self.k = 1000 / base.scale
        self.beside: dict[str, XY] = {}
        self.rooms = [
            id
            for id, room in self.home.rooms.items()
            if room.use not in shells.OUTDOORS
            and base.floor.intersects(shapely.Point(base.paper(self._inside(id))))
        ]
        self.placed = self.lit.placed
        self.services = {
            s.id: s
            for space in spaces(self.home, overrides=self.home.rules).values()
            for s in space.services
            if s.service.room in self.rooms
        }
        groups = lamp_groups(
            self.home, self.layout, [r for r in self.light.lamps if r.room in self.rooms]
        )
        # Pages keep a place free for the hatch of a finding.
        for row in self.light.rows:
            if row.kind == "page" and row.room in self.rooms:
                x, y = base.paper(row.at)
                self.taken.append((x - 2.6, y - 2.6, x + 2.6, y + 2.6))
        fabric = self._fabric()
        tracks = self._found_tracks()
        drawn = self._tracks(tracks)
        spots = self._spots(groups)
        symbols = self._symbols(groups, spots)
        wiring = self._wiring(groups, spots)
        symbols += self._lamp_words(groups, spots)
        names = self._names()
        used = [g.symbol for g in groups]
        used += [
            s.service.kind
            for s in self.services.values()
            if s.service.kind in SHOWN or s.id in spots
        ]
        if tracks:
            used.append("drapery track")
        heights = {s.service.height for s in self.services.values() if s.service.kind == "switch"}
        return Parts(
            base=base,
            lit=self.lit,
            groups=groups,
            rooms=tuple(self.rooms),
            floor=tuple(self._furniture()),
            fabric=tuple(fabric),
            wiring=tuple(wiring),
            symbols=(*drawn, *symbols),
            names=tuple(names),
            chains=() if chain_at is None else tuple(self._chains(groups, tracks, chain_at)),
            blocked=tuple(self.blocked),
            taken=tuple(self.taken),
            beside=self.beside,
            keys=tuple(kind for kind in marks.SYMBOLS if kind in used),
            switch_height=heights.pop() if len(heights) == 1 else None,
        )

    def _inside(self, id: str) -> XY:
        point = Shape(self.home.rooms[id].outline).buffer(0).representative_point()
        return float(point.x), float(point.y)

    # --- what does not shine ---

    def _furniture(self) -> list[Primitive]:
        """Outlines of pieces, faint: no seams, no hatches."""
        items: list[Primitive] = []
        for thing in sorted(self.placed.values(), key=rank):
            if rank(thing)[0] == 5:
                continue
            for item in draw_piece(thing, scale=self.base.scale, origin=self.base.origin):
                if isinstance(item, Polygon | Circle) and item.weight > 0.1:
                    items.append(
                        dataclasses.replace(
                            item, weight=0.13, ink=FAINT, fill=item.fill and ink.PAPER
                        )
                    )
        return items

    def _fabric(self) -> list[Primitive]:
        base = self.base
        items: list[Primitive] = []
        for part in shapely.get_parts(base.walls).tolist():
            items.append(
                Polygon(
                    outline=tuple(map(tuple, shapely.get_coordinates(part.exterior)[:-1].tolist())),
                    holes=tuple(
                        tuple(map(tuple, shapely.get_coordinates(ring)[:-1].tolist()))
                        for ring in part.interiors
                    ),
                    weight=self.pens.cut,
                    fill=ink.CUT_FILL,
                    about="walls",
                )
            )
        for id, frame in base.frames.items():
            opening = self.home.openings[id]
            if opening.room not in self.rooms:
                continue
            for depth in (0.0, frame.depth):
                shift = (frame.outward[0] * depth, frame.outward[1] * depth)
                ends = [
                    base.paper((p[0] + shift[0], p[1] + shift[1])) for p in (frame.start, frame.end)
                ]
                items.append(
                    Line(
                        points=tuple(ends),
                        weight=self.pens.zone,
                        dash=self.pens.dash_zone,
                        about=id,
                    )
                )
        for word in base.words:
            items.append(word)
            self.taken.append(box_of(word))
        return items

    def _found_tracks(self) -> dict[str, Track]:
        """The two ends of each drapery track, and the way out of its room. [m]"""
        found: dict[str, Track] = {}
        for id, drape in self.layout.drapes.items():
            opening = self.home.openings[drape.opening]
            if opening.room not in self.rooms:
                continue
            room, frame = self.home.rooms[opening.room], self.base.frames[drape.opening]
            corners = (*room.outline, room.outline[0])
            at = drapery(
                drape,
                opening=opening,
                wall=(corners[opening.wall], corners[opening.wall + 1]),
                inward=(-frame.outward[0], -frame.outward[1]),
                ceiling=room.height,
                overrides=self.home.rules,
            ).track
            found[id] = (at[0], at[1], frame.outward)
        return found

    def _tracks(self, found: Mapping[str, Track]) -> list[Primitive]:
        items: list[Primitive] = []
        for id, (start, end, _) in found.items():
            a, b = self.base.paper(start), self.base.paper(end)
            long = math.dist(a, b)
            u = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
            items.append(Line(points=(a, b), weight=0.3, about=id))
            for x, y in (a, b):
                items.append(
                    Line(points=((x - u[1], y + u[0]), (x + u[1], y - u[0])), weight=0.3, about=id)
                )
            count = max(2, round(long / 9))
            for i in range(1, count):
                at = (a[0] + (b[0] - a[0]) * i / count, a[1] + (b[1] - a[1]) * i / count)
                items.append(Circle(centre=at, radius=0.45, weight=0.18, fill=ink.PAPER, about=id))
            self.blocked.append(LineString([a, b]).buffer(1.2, cap_style="flat"))
            xs, ys = sorted((a[0], b[0])), sorted((a[1], b[1]))
            self.taken.append((xs[0] - 1, ys[0] - 1, xs[1] + 1, ys[1] + 1))
        return items

    # --- what shines, and what feeds it ---

    def _spots(self, groups: Sequence[Group]) -> dict[str, tuple[str, XY, float]]:
        """Symbol, place and direction of lamps and services."""
        spots: dict[str, tuple[str, XY, float]] = {}
        fed = {self.layout.lamps[id].service for g in groups for id in g.ids}
        for service in self.services.values():
            kind = service.service.kind
            turn = math.degrees(math.atan2(service.outward[1], service.outward[0]))
            if kind == "ceiling outlet" and service.id not in fed:
                spots[service.id] = (kind, self.base.paper(service.service.at), 0.0)
            elif kind in SHOWN:
                flat = kind in ("sprinkler", "detector")
                at = service.service.at if flat else service.origin
                spots[service.id] = (kind, self.base.paper(at), 0.0 if flat else turn)
        by_id = {row.id: row for row in self.light.lamps}
        for group in groups:
            for id in group.ids:
                row, turn = by_id[id], 0.0
                at = row.at
                if group.symbol == "wall light":
                    edge = Shape(self.home.rooms[row.room].outline).exterior
                    near = edge.interpolate(edge.project(shapely.Point(at)))
                    away = (at[0] - near.x, at[1] - near.y)
                    if math.hypot(*away) > 1e-6:
                        turn = math.degrees(math.atan2(away[1], away[0]))
                    at = (float(near.x), float(near.y))
                spots[id] = (group.symbol, self.base.paper(at), turn)
        return spots

    def _symbols(
        self, groups: Sequence[Group], spots: Mapping[str, tuple[str, XY, float]]
    ) -> list[Primitive]:
        items: list[Primitive] = []
        for id, (kind, at, turn) in spots.items():
            drawn = marks.symbol(kind, at, angle=turn, about=id)
            items += drawn
            self._take(drawn)
        return items

    def _take(self, drawn: Sequence[Primitive]) -> None:
        points: list[XY] = []
        for item in drawn:
            if isinstance(item, Circle):
                (x, y), r = item.centre, item.radius
                points += [(x - r, y - r), (x + r, y + r)]
            elif isinstance(item, Polygon):
                points += item.outline
            elif isinstance(item, Line):
                points += item.points
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        box = (min(xs), min(ys), max(xs), max(ys))
        self.taken.append(box)
        self.blocked.append(shapely.box(*box).buffer(0.6))

    def _feeds(self, groups: Sequence[Group]) -> dict[str, list[tuple[str, str]]]:
        """By switch: lamp ids with their letters."""
        found: dict[str, list[tuple[str, str]]] = {}
        for group in groups:
            for id in group.ids:
                service = self.home.services.get(self.layout.lamps[id].service)
                if service is not None and service.switched_with in self.services:
                    found.setdefault(service.switched_with, []).append((id, group.letter))
        return found

    def _wiring(
        self, groups: Sequence[Group], spots: Mapping[str, tuple[str, XY, float]]
    ) -> list[Primitive]:
        items: list[Primitive] = []
        for switch, lamps in self._feeds(groups).items():
            if switch not in spots:
                continue
            start = spots[switch][1]
            for id, _ in lamps:
                kind, end, _ = spots[id]
                path = _bow(start, end, before=1.2, after=REACH.get(kind, 2.1) + 0.3)
                if len(path) > 1:
                    items.append(Line(points=path, weight=0.18, dash=ink.DASH_SWITCH, about=switch))
                    self.blocked.append(LineString(path).buffer(0.7))
            words = " ".join(dict.fromkeys(letter for _, letter in lamps))
            items += self._word(words, start, reach=2.2, size=ink.NAME, about=switch)
        return items

    def _word(
        self,
        words: str,
        around: XY,
        *,
        reach: float,
        size: float = ink.NAME,
        weight: str = "semibold",
        about: str = "",
        must: bool = True,
    ) -> list[Primitive]:
        """A word beside a mark, at the first free side of it."""
        wide = lettering.advance(words, size=size, weight=weight)
        sides = (
            (0.8, 0.8),
            (-0.8, 0.8),
            (0.8, -0.8),
            (-0.8, -0.8),
            (1, 0),
            (-1, 0),
            (0, 1),
            (0, -1),
        )
        best: Text | None = None
        for away in (0.8, 2.2, 4.0, 6.0):
            for dx, dy in sides:
                x = (
                    around[0]
                    + dx * (reach + away)
                    + (wide / 2 if dx > 0 else -wide / 2) * (dx != 0)
                )
                y = around[1] + dy * (reach + away) + (size / 2) * ((dy > 0) - (dy < 0)) - size / 2
                text = Text(
                    at=(x, y),
                    text=words,
                    size=size,
                    weight="semibold" if weight == "semibold" else "regular",
                    anchor="middle",
                    halo=0.5,
                    about=about,
                )
                box = box_of(text)
                shape = shapely.box(*box).buffer(0.4)
                inside = self.base.floor.contains(shape)
                if best is None and (inside or must) and _free(box, self.taken, 0.1):
                    best = text
                if (
                    _free(box, self.taken)
                    and inside
                    and not any(shape.intersects(b) for b in self.blocked[-12:])
                ):
                    return self._put(text)
        return self._put(best) if best is not None else []

    def _put(self, text: Text) -> list[Primitive]:
        box = box_of(text)
        self.taken.append(box)
        self.blocked.append(shapely.box(*box).buffer(0.5))
        return [text]

    def _lamp_words(
        self, groups: Sequence[Group], spots: Mapping[str, tuple[str, XY, float]]
    ) -> list[Primitive]:
        """Letters at the luminaires, and what each ceiling box carries."""
        items: list[Primitive] = []
        for group in groups:
            for id in group.ids:
                kind, at, turn = spots[id]
                if kind == "wall light":
                    at = (
                        at[0] + 3.0 * math.cos(math.radians(turn)),
                        at[1] + 3.0 * math.sin(math.radians(turn)),
                    )
                reach = REACH.get(kind, 2.1) * (0.75 if kind != "ceiling box" else 1.0)
                items += self._word(group.letter, at, reach=reach, size=2.5, about=id)
        for service in self.services.values():
            limit = service.service.weight_limit
            if service.service.kind == "ceiling outlet" and limit is not None:
                words = "max " + in_sentence(limit, kind="mass", units=self.units, places=0)
                items += self._word(
                    words,
                    self.base.paper(service.service.at),
                    reach=2.9,
                    weight="regular",
                    about=service.id,
                    must=False,  # it stands in the table too
                )
        return items

    def _chains(
        self, groups: Sequence[Group], tracks: Mapping[str, Track], first: float
    ) -> list[Primitive]:
        by_id = {row.id: row for row in self.light.lamps}
        points = [
            (by_id[id].room, by_id[id].at)
            for g in groups
            if g.symbol not in ("portable", "wall light")
            for id in g.ids
        ]
        points += [
            (s.service.room, s.service.at)
            for s in self.services.values()
            if s.service.kind == "ceiling outlet"
        ]
        return setting_out(
            {id: self.home.rooms[id].outline for id in self.rooms},
            points=points,
            tracks=tuple(tracks.values()),
            base=self.base,
            units=self.units,
            first=first,
        )

    def _names(self) -> list[Primitive]:
        """Names of the rooms, where there are several, with a place for a number."""
        items: list[Primitive] = []
        several = len(self.rooms) > 1
        for id in self.rooms:
            room = self.home.rooms[id]
            outline = Shape([self.base.paper(p) for p in room.outline]).buffer(0)
            x0, y0, x1, y1 = outline.bounds
            words = lettering.shorten(
                room.name, size=2.5, width=max(8.0, (x1 - x0) * 0.7), italic=True
            )
            wide = lettering.advance(words, size=2.5, italic=True) if several else 0.0
            middle = self.base.paper(self._inside(id))
            ways = [
                (x0 + (x1 - x0) * i / 20, y0 + (y1 - y0) * j / 20)
                for i in range(1, 20)
                for j in range(1, 20)
            ]
            ways.sort(key=lambda p: (round(math.dist(p, middle), 6), p))
            inner = outline.buffer(-1.0)
            shapely.prepare(inner)
            lines = STRtree([b for b in self.blocked if b.geom_type == "Polygon"])
            for must in (False, True):
                spot = next(
                    (
                        (x, y)
                        for x, y in ways
                        if _free(
                            box := (x - 0.5, y - 1.8, x + wide + 7.0, y + 4.3), self.taken, 0.8
                        )
                        and inner.contains(shapely.box(*box))
                        and (
                            must or not len(lines.query(shapely.box(*box), predicate="intersects"))
                        )
                    ),
                    None,
                )
                if spot is not None:
                    break
            if spot is None:
                continue
            x, y = spot
            self.beside[id] = (x + wide + 4.0, y + 1.25)
            if several:
                items += self._put(
                    Text(at=(x, y), text=words, size=2.5, italic=True, halo=0.7, about=id)
                )
            self.taken.append((x + wide + 1.0, y - 1.6, x + wide + 7.0, y + 4.1))
        return items


FAINT = "#b4b4b4"  # furniture stays behind the isolux lines


def _bow(a: XY, b: XY, *, before: float, after: float) -> tuple[XY, ...]:
    """A shallow arc from a to b, its ends left free. [mm]"""
    long = math.dist(a, b)
    if long < before + after + 2:
        return ()
    u = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
    rise = 0.12 * long
    points = []
    count = max(8, min(24, round(long / 3)))
    for i in range(count + 1):
        t = (before + (long - before - after) * i / count) / long
        h = 4 * rise * t * (1 - t)
        points.append((a[0] + u[0] * t * long - u[1] * h, a[1] + u[1] * t * long + u[0] * h))
    return tuple(points)
