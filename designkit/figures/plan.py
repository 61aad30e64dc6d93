"""A furnished plan, true to scale, from the plan layer.

Order of painting: walls, pieces, zones, routes and sight lines, dimensions,
names, findings. The drawing of a page is cropped to the plan and is made anew
at each key press; what does not change (the shell) is kept.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence

import shapely
import shapely.affinity
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError, LookupFailed
from designkit.figures import ink, labels, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Drawing, Primitive, Text
from designkit.figures.furnishing import draw_piece, rank
from designkit.figures.planmarks import (
    Box,
    beside,
    bounds_of,
    chains,
    finding_marks,
    finding_numbers,
    inside,
    is_hatched,
    line_of,
    rays_of,
    route_lines,
    sight_lines_of,
    words_of,
    zone_lines,
)
from designkit.figures.sheet import scale_bar
from designkit.model import Finding, Home, Layout, Point, Room
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed, place_home, place_lamps
from designkit.units import IMPERIAL, inches

__all__ = ["SHOW", "USUAL", "is_hatched", "plan_drawing", "plan_items", "size_words"]

SHOW = ("zones", "routes", "sight", "findings", "dimensions", "names", "services", "lamps")
USUAL = ("zones", "routes", "sight", "findings", "dimensions", "names")


def plan_drawing(
    home: Home,
    layout: Layout,
    *,
    scale: float = 50,
    units: str = "",
    show: Sequence[str] = USUAL,
    findings: Sequence[Finding] = (),
    routes: Sequence[object] = (),
    sight: Sequence[object] = (),
    placed: dict[str, Placed] | None = None,
    rooms: Sequence[str] = (),
    marked: Sequence[str] = (),
    width: float | None = None,
    height: float | None = None,
) -> Drawing:
    """A plan of one layout, cropped to the plan, for a page or a picture.

    Parameters
    ----------
    home : Home
        Gives the shell and the pieces.
    layout : Layout
        Where they stand.
    scale : float
        50 for 1:50.
    units : str
        Unit of the dimensions; the home's own without it.
    show : sequence of str
        Some of `SHOW`.
    findings : sequence of Finding
        Numbered in this order; those that do not pass are hatched.
    routes : sequence of RouteLine or of points
        Drawn as chain lines with arrows. [m]
    sight : sequence of View or of (eye, end)
        Drawn as long dashes. [m]
    placed : dict of str to Placed, optional
        From `designkit.plan.place.place_home`, if it is at hand.
    rooms : sequence of str
        Ids of the rooms to draw; all without it.
    marked : sequence of str
        Placements filled grey: what differs between options.
    width, height : float, optional
        Paper to put the plan in the middle of; both or none. [mm]

    Returns
    -------
    Drawing
        With scale bar, north and an alternative text that says the findings.

    Raises
    ------
    InputError
        Only one of width and height is given.
    LookupFailed
        `show` has a word that is not in `SHOW`, or a room is not there.

    Examples
    --------
    >>> home = Home(name="Flat", rooms={"r": Room(
    ...     name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> drawing = plan_drawing(home, Layout(name="empty"))
    >>> drawing.scale, round(drawing.width)
    (50, 131)
    """
    if (width is None) != (height is None):
        raise InputError(
            "paper", given=f"{width} × {height}", allowed="both or none", mend="give both"
        )
    imperial = (units or home.units) in IMPERIAL
    around = 24.0 if "dimensions" in show else 7.0
    far = 19.0 if "dimensions" in show else 7.0
    foot = 12.0
    base = shells.shell(
        home,
        scale=scale,
        rooms=tuple(_checked_rooms(home, rooms)),
        margins=(around, around + foot, far, far),
        paper=None if width is None or height is None else (width, height),
        middle=None if width is None or height is None else (width / 2, height / 2 + foot / 2),
        services="services" in show,
    )
    items = plan_items(
        home,
        layout,
        base=base,
        units=units,
        show=show,
        findings=findings,
        routes=routes,
        sight=sight,
        placed=placed,
        marked=marked,
    )
    items += _foot(home, base, imperial=imperial)
    shown = findings if "findings" in show else ()
    return Drawing(
        width=base.width,
        height=base.height,
        items=tuple(items),
        title=f"Plan of {home.name}, {layout.name}",
        text=_alternative(home, layout, scale=scale, findings=shown, imperial=imperial),
        scale=round(scale),
    )


def _checked_rooms(home: Home, rooms: Sequence[str]) -> Sequence[str]:
    for room in rooms:
        if room not in home.rooms:
            raise LookupFailed(
                "room", given=room, allowed=", ".join(home.rooms), mend="use one of these ids"
            )
    return rooms


def _alternative(
    home: Home,
    layout: Layout,
    *,
    scale: float,
    findings: Sequence[Finding],
    imperial: bool,
) -> str:
    from designkit.figures.sheet import scale_text

    counts: dict[str, int] = {}
    for id, placement in layout.pieces.items():
        piece = home.pieces.get(placement.item or id)
        name = piece.name if piece else id
        counts[name] = counts.get(name, 0) + 1
    things = ", ".join(n if c == 1 else f"{c} {n}" for n, c in counts.items())
    rooms = ", ".join(r.name for r in home.rooms.values())
    said = " ".join(
        f"{i}: {f.what}: {f.verdict}. {f.mend}".strip() for i, f in enumerate(findings, start=1)
    )
    scale_words = scale_text(scale, imperial=imperial)
    parts = [
        f"Plan of {rooms} at {scale_words}, layout “{layout.name}”.",
        f"It holds {things}." if things else "It is empty.",
        f"Findings: {said}" if said else "",
    ]
    return " ".join(p for p in parts if p)


def _foot(home: Home, base: shells.Shell, *, imperial: bool) -> list[Primitive]:
    x0, _, x1, _ = base.bounds
    long = min(52.0, (x1 - x0) * 0.45)
    return [
        *scale_bar(x0 + 1.5, 4.2, base.scale, imperial=imperial, length=long),
        *marks.north((x1 - 6.0, 6.4), home.north, diameter=7.0),
    ]


def plan_items(
    home: Home,
    layout: Layout,
    *,
    base: shells.Shell,
    units: str = "",
    show: Sequence[str] = USUAL,
    findings: Sequence[Finding] = (),
    routes: Sequence[object] = (),
    sight: Sequence[object] = (),
    placed: dict[str, Placed] | None = None,
    marked: Sequence[str] = (),
    chain_at: float = 10.5,
    room_names: bool = True,
) -> list[Primitive]:
    """The primitives of a furnished plan, for a sheet of one's own.

    Parameters
    ----------
    home : Home
        Gives the shell and the pieces.
    layout : Layout
        Where they stand.
    base : Shell
        From `designkit.figures.shell.shell`: scale and place on the paper.
    units : str
        Unit of the dimensions; the home's own without it.
    show : sequence of str
        Some of `SHOW`.
    findings : sequence of Finding
        Numbered in this order.
    routes : sequence of RouteLine or of points
        [m]
    sight : sequence of View or of (eye, end)
        [m]
    placed : dict of str to Placed, optional
        If it is at hand.
    marked : sequence of str
        Placements filled grey.
    chain_at : float
        First chain of dimensions from the outer face of the walls. [mm]
    room_names : bool
        Names of rooms in italics, where there are several.

    Returns
    -------
    list of Primitive
        In painting order.

    Raises
    ------
    LookupFailed
        `show` has a word that is not in `SHOW`.
    """
    for word in show:
        if word not in SHOW:
            raise LookupFailed(
                "show", given=word, allowed=", ".join(SHOW), mend="use some of these"
            )
    units = units or home.units
    scale, origin = base.scale, base.origin
    pens = ink.pens(scale)
    if placed is None:
        placed = place_home(home, layout)
    things = sorted(placed.values(), key=rank)
    if "lamps" in show and layout.lamps:
        things += sorted(place_lamps(home, layout, placed).values(), key=rank)
    items: list[Primitive] = list(base.below)
    for thing in things:
        fill = ink.GREY_4 if thing.id in marked or thing.host in marked else ink.PAPER
        items += draw_piece(thing, scale=scale, origin=origin, fill=fill)
    lines: list[BaseGeometry] = []
    soft: list[BaseGeometry] = [swing.exterior for swing in base.swings]
    if "zones" in show:
        for thing in things:
            drawn = zone_lines(thing, base, pens)
            items += drawn
            soft += [LineString(item.points) for item in drawn]
    path: list[BaseGeometry]
    if "routes" in show:
        for index, route in enumerate(routes):
            strokes, path = route_lines(line_of(route), base, pens, main=index == 0)
            items += strokes
            lines += path
    if "sight" in show:
        for view in sight:
            strokes, path = sight_lines_of(rays_of(view), base, pens)
            items += strokes
            lines += path
    chain: list[Primitive] = []
    if "dimensions" in show:
        chain = chains(home, base, units, pens, chain_at)
    taken: list[Box] = [bounds_of(item) for item in chain if isinstance(item, Text)]
    outside = [beside(words, taken) for words in base.words]
    items += [*outside, *chain]
    taken += [bounds_of(words) for words in outside]
    shapes = [
        shapely.affinity.affine_transform(t.footprint, [1000 / scale, 0, 0, 1000 / scale, *origin])
        for t in things
    ]
    over: list[Primitive] = []
    hatched: list[BaseGeometry] = []
    if "findings" in show:
        hatched = [Shape([base.paper(p) for p in f.area]) for f in findings if is_hatched(f)]
        items += finding_marks(findings, base, units, pens, taken)
        said = [Shape(lettering.box(i)) for i in items if isinstance(i, Text)]
        over, leaders = finding_numbers(
            findings, base, shapes, [*lines, *soft, *hatched], said, taken
        )
        # Names keep off hatches, leaders and dots.
        hatched += leaders
    if "names" in show:
        items += _names(
            home,
            things,
            [*shapes, *hatched],
            base,
            units,
            lines,
            soft,
            taken,
            room_names=room_names,
        )
    return items + over


# --- names -------------------------------------------------------------------

LINE = ink.NAME * 1.55


@functools.lru_cache(maxsize=1024)
def size_words(size: tuple[float, ...], round_: bool, units: str) -> str:
    """Sizes of a piece in the trade's way: millimetres, or whole inches and quarters.

    Parameters
    ----------
    size : tuple of float
        Width, depth and, where it is said, height. [m]
    round_ : bool
        A round piece is said by its diameter.
    units : str
        Of the project.

    Returns
    -------
    str
        As "2200 × 950".
    """
    if round_:
        size = size[1:]
    if units in IMPERIAL:
        texts = [inches(v, denominator=4) + '"' for v in size]
    else:
        texts = [words_of(v, units=units) for v in size]
    return ("Ø\u00a0" if round_ else "") + "\u00a0× ".join(texts)


def _is_round(thing: Placed) -> bool:
    w, d, _ = thing.piece.size
    return (thing.piece.shape == "circle" and abs(w - d) < 1e-9) or (
        kind_of(thing.piece).form in ("standing lamp", "plant") and abs(w - d) < 1e-9
    )


def _wording(thing: Placed, units: str) -> tuple[str, str]:
    return thing.piece.name, size_words(thing.piece.size[:2], _is_round(thing), units)


def _names(
    home: Home,
    things: Sequence[Placed],
    shapes: Sequence[BaseGeometry],
    base: shells.Shell,
    units: str,
    lines: Sequence[BaseGeometry],
    soft: Sequence[BaseGeometry],
    taken: list[Box],
    *,
    room_names: bool,
) -> list[Primitive]:
    wishes: list[labels.Wish] = []
    wording: dict[str, tuple[tuple[str, ...], ...]] = {}
    indoor = [
        (room.outline, _room_shape(room.outline, base.scale, base.origin))
        for room in home.rooms.values()
    ]
    for index, (thing, shape) in enumerate(zip(things, shapes)):
        if thing.host or kind_of(thing.piece).form in ("framed",) or rank(thing)[0] == 5:
            continue
        if thing.piece.size[0] < 0.28 and thing.piece.size[1] < 0.28:
            continue
        wish, words = _wish(thing, shape, base, units, index, _room_of(thing, indoor))
        wishes.append(wish)
        wording[thing.id] = words
    # A large piece has more places; a small one chooses first.
    wishes.sort(key=lambda w: w.own.area if w.own is not None else 0.0)
    if room_names and len(home.rooms) > 1:
        for id, room in home.rooms.items():
            wish, words = _room_wish(id, room, base)
            if wish.spots:
                wishes.append(wish)
                wording[wish.id] = words
    for id, box, spots in base.service_words:
        wishes.append(labels.Wish(id=id, sizes=(box,), spots=spots))
        wording[id] = (base.service_lines[id],)
    found = labels.place_labels(
        wishes,
        things=shapes,
        walls=base.blocked,
        lines=lines,
        soft=soft,
        taken=taken,
        paper=(0.5, 0.5, base.width - 0.5, base.height - 0.5),
    )
    items: list[Primitive] = []
    for label in found:
        taken.append(label.box)
        words_here = wording[label.id][label.spot.lines]
        is_room = label.id.startswith("room ")
        size = 2.5 if is_room else ink.NAME
        about = label.id.removeprefix("room ")
        pitch = LINE
        for i, said in enumerate(words_here):
            # Middle of the block, then baselines from the first line down.
            drop = (len(words_here) - 1) / 2 * pitch - i * pitch - size / 2
            x, y = label.spot.x, label.spot.y
            items.append(
                Text(
                    at=(x - drop, y) if label.spot.upright else (x, y + drop),
                    text=said,
                    size=size,
                    italic=is_room,
                    anchor="middle",
                    rotation=90.0 if label.spot.upright else 0.0,
                    halo=0.6,
                    about=about,
                )
            )
    return items


def _room_of(
    thing: Placed, rooms: Sequence[tuple[tuple[Point, ...], BaseGeometry]]
) -> BaseGeometry | None:
    """The room that holds the middle of a piece, on paper."""
    x, y = thing.at
    for outline, shape in rooms:
        inside = False
        for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0])):
            if (y0 > y) != (y1 > y) and x < (x1 - x0) * (y - y0) / (y1 - y0) + x0:
                inside = not inside
        if inside:
            return shape
    return None


def _wish(
    thing: Placed,
    shape: BaseGeometry,
    base: shells.Shell,
    units: str,
    index: int,
    within: BaseGeometry | None,
) -> tuple[labels.Wish, tuple[tuple[str, ...], ...]]:
    name, size = _wording(thing, units)
    words = ((name, size), (f"{name} {size}",), (name,))
    wide = [lettering.advance(w, size=ink.NAME) for w in (name, size, f"{name} {size}")]
    sizes = (
        (max(wide[0], wide[1]) + 0.8, LINE + ink.NAME + 1.3),
        (wide[2] + 0.8, ink.NAME + 1.3),
        (wide[0] + 0.8, ink.NAME + 1.3),
    )
    rug = kind_of(thing.piece).form == "rug"
    spots = _spots(sizes, shape.bounds, rug, base.scale)
    wish = labels.Wish(
        id=thing.id, sizes=sizes, spots=spots, own=shape, above=index + 1, within=within
    )
    return wish, words


@functools.lru_cache(maxsize=512)
def _spots(
    sizes: tuple[tuple[float, float], ...],
    bounds: tuple[float, float, float, float],
    rug: bool,
    scale: float,
) -> tuple[labels.Spot, ...]:
    """Places for a piece's name, the best first; kept while the piece does not move."""
    x0, y0, x1, y1 = bounds
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    w, h = x1 - x0, y1 - y0
    spots: list[labels.Spot] = []
    if rug:
        # Along an inner edge, clear of the border.
        edge = max(0.14 * 1000 / scale, 1.2) + 2.2
        for share in (0.5, 0.3, 0.7, 0.2, 0.8):
            for y in (y0 + edge, y1 - edge):
                spots.append(labels.Spot(x0 + w * share, y, inside=True, lines=1))
        for share in (0.5, 0.3, 0.7):
            for x in (x0 + edge, x1 - edge):
                spots.append(labels.Spot(x, y0 + h * share, upright=True, inside=True, lines=1))
        for share in (0.5, 0.25, 0.75):
            for y in (y0 + edge, y1 - edge):
                spots.append(labels.Spot(x0 + w * share, y, inside=True, lines=2))
    else:
        for lines in (0, 1, 2):
            for dx, dy in (
                (0, 0),
                (0, -0.16),
                (0, 0.16),
                (-0.18, 0),
                (0.18, 0),
                (0.28, -0.2),
                (-0.28, -0.2),
                (0, -0.32),
                (0, 0.32),
            ):
                if lines or min(w, h) > 6:
                    spots.append(labels.Spot(cx + dx * w, cy + dy * h, inside=True, lines=lines))
                if h > w * 1.15:
                    spots.append(
                        labels.Spot(
                            cx + dx * w, cy + dy * h, upright=True, inside=True, lines=lines
                        )
                    )
        for lines in (0, 2):
            lw, lh = sizes[lines]
            for gap in (0.7, 2.2, 4.0):
                for slide in (0.0, -0.35, 0.35):
                    spots.append(labels.Spot(cx + slide * w, y0 - gap - lh / 2, lines=lines))
                    spots.append(labels.Spot(cx + slide * w, y1 + gap + lh / 2, lines=lines))
                    spots.append(labels.Spot(x1 + gap + lw / 2, cy + slide * h, lines=lines))
                    spots.append(labels.Spot(x0 - gap - lw / 2, cy + slide * h, lines=lines))
    return tuple(spots)


def _room_wish(
    id: str, room: Room, base: shells.Shell
) -> tuple[labels.Wish, tuple[tuple[str, ...], ...]]:
    size = 2.5
    wide = lettering.advance(room.name, size=size, italic=True) + 1.0
    shape = _room_shape(room.outline, base.scale, base.origin)
    spots = _room_spots(shape.bounds, base.paper(inside(room)))
    return (
        labels.Wish(
            id=f"room {id}",
            sizes=((wide, size + 1.6),),
            spots=spots,
            own=shape,
        ),
        ((room.name,),),
    )


@functools.lru_cache(maxsize=128)
def _room_spots(bounds: tuple[float, float, float, float], within: XY) -> tuple[labels.Spot, ...]:
    """Places for a room's name on a grid, from its middle outwards."""
    x0, y0, x1, y1 = bounds
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    points = [middle, within]
    for i in range(1, 8):
        for j in range(1, 8):
            points.append((x0 + (x1 - x0) * i / 8, y0 + (y1 - y0) * j / 8))
    points.sort(key=lambda p: math.dist(p, middle))
    # Inside the room, and on nothing that stands in it.
    return tuple(labels.Spot(x, y, inside=True) for x, y in points)


@functools.lru_cache(maxsize=128)
def _room_shape(outline: tuple[Point, ...], scale: float, origin: XY) -> Shape:
    k = 1000 / scale
    return Shape([(origin[0] + x * k, origin[1] + y * k) for x, y in outline])
