"""The tightest place of the way up, drawn with the piece in it; and a plan above it.

The picture is narrow, so that it can be read on a telephone: 90 mm of paper on
a screen of 390 px are 4 px a millimetre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import shapely
from shapely.geometry import Polygon as Shape
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.blocks import rule, sentence
from designkit.figures.dimensions import between, chain
from designkit.figures.drawing import XY, Drawing, Hatch, Picture, Polygon, Primitive, Text
from designkit.figures.moving import moved
from designkit.figures.plan import plan_drawing
from designkit.figures.sheet import Area, fitting_scale, scale_text
from designkit.model import Finding, Home, Layout
from designkit.plan.delivery import Delivery, DeliveryPlace
from designkit.plan.place import place_home
from designkit.units import IMPERIAL, in_sentence, on_sheet

__all__ = ["NARROW", "delivery_way", "in_column", "narrow_plan", "photograph", "way_words"]

NARROW = 90.0  # width of a picture for a telephone [mm]
_WALL = 0.10  # wall drawn round the free space [m]
_MARGIN = 13.0  # for dimensions and their words [mm]
_SCALES = (25, 30, 40, 50, 60, 75, 80, 90, 100, 120, 150, 200, 250, 300, 500, 1000)
_VIEWS = {"plan": "from above", "front": "along the way", "side": "from the side"}


def way_words(place: DeliveryPlace, *, units: str = "m") -> str:
    """What is tight, how the piece is carried there, and what is left.

    Parameters
    ----------
    place : DeliveryPlace
        Of a way.
    units : str, optional
        The project's unit of length.

    Returns
    -------
    str
        "Front door, carried on its back: 60 mm left".
    """
    room = in_sentence(round(abs(place.clearance), 6), units=units)
    left = "left" if place.clearance >= 0 else "missing"
    name = f"{place.name[:1].upper()}{place.name[1:]}"
    return f"{name}, carried {place.carry.words}: {room} {left}"


def _polygons(shape: BaseGeometry) -> list[Shape]:
    if shape.is_empty:
        return []
    parts: Sequence[BaseGeometry] = getattr(shape, "geoms", [shape])
    return [part for part in parts if isinstance(part, Shape) and part.area > 1e-9]


def _walls(place: DeliveryPlace) -> list[Shape]:
    """What bounds the free space: nothing where the way comes in and goes on. [m]"""
    step, carry = place.step, place.carry
    free = Shape(carry.free)
    x0, y0, x1, y1 = free.bounds
    t = _WALL
    if step.kind in ("corner", "stair turn") and carry.view == "plan":
        open_right = step.kind == "corner" or step.turn == "quarter"
        window = box(x0 - t, y0, x1 if open_right else x1 + t, y1 + t)
    elif carry.view == "side" and step.kind in ("corner", "stair turn"):
        window = box(x0, y0 - t, x1, y1 + t)  # floor and ceiling only
    elif carry.view == "plan":
        window = box(x0 - t, y0, x1 + t, y1 + t)  # the lift, its door below
    else:
        window = box(x0 - t, y0 - t, x1 + t, y1 + t)
    around = free.buffer(t, join_style="mitre").intersection(window)
    return _polygons(around.difference(free))


def _ring(points: Sequence[tuple[float, ...]], k: float, origin: XY) -> tuple[XY, ...]:
    return tuple((origin[0] + x * k, origin[1] + y * k) for x, y in points)


def delivery_way(
    delivery: Delivery, *, units: str = "m", width: float = NARROW, high: float = 70.0
) -> Drawing:
    """The tightest place of the best way, with the piece in it and its clearance.

    Parameters
    ----------
    delivery : Delivery
        From `designkit.plan.delivery.deliver`.
    units : str, optional
        The project's unit of length.
    width : float, optional
        Of the picture. [mm]
    high : float, optional
        Room for the place itself. [mm]

    Returns
    -------
    Drawing
        To a drafting scale; what is left is dimensioned, in the accent where
        it is not enough.

    Examples
    --------
    >>> from designkit.model import DeliveryStep, Piece
    >>> from designkit.plan.delivery import deliver
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.75))
    >>> way = deliver(sofa, steps=[DeliveryStep(kind="door", width=0.86, height=2.1)])
    >>> delivery_way(way).scale
    50
    """
    place = delivery.best.tightest
    carry, step = place.carry, place.step
    imperial = units in IMPERIAL
    walls = _walls(place)
    whole = shapely.union_all([Shape(carry.free), Shape(carry.body), *walls])
    x0, y0, x1, y1 = whole.bounds
    scale = fitting_scale(
        x1 - x0,
        y1 - y0,
        into=Area(left=0, bottom=0, right=width - 2 * _MARGIN, top=high - _MARGIN),
        imperial=imperial,
        least=10,
    )
    k = 1000.0 / scale
    # The words first: they say how high the picture is.
    way = f" by {delivery.best.name}" if delivery.best.name else ""
    words = f"{way_words(place, units=units)}."
    head = f"Tightest place of the way up{way}"
    heads, below = sentence(0.0, 0.0, width, head, size=ink.READING, weight="semibold")
    lines, below = sentence(0.0, below - 0.6, width, words, size=ink.READING)
    top_words = ink.READING + 2.0
    tall = (y1 - y0) * k
    bottom = 9.0
    low = bottom + 6.5
    height = low + tall + 4.0 - below + top_words
    at_words = height - top_words
    origin = ((width - (x1 - x0) * k) / 2 - x0 * k + 2.0, low - y0 * k)
    items: list[Primitive] = moved([*heads, *lines], dy=at_words)
    for wall in walls:
        ring = _ring(list(wall.exterior.coords)[:-1], k, origin)
        holes = tuple(_ring(list(h.coords)[:-1], k, origin) for h in wall.interiors)
        items.append(Polygon(outline=ring, holes=holes, fill=ink.CUT_FILL))
    posed, _, _ = _posed(place)
    body = _ring(posed, k, origin)
    items.append(Polygon(outline=body, fill=ink.GREY_5, weight=0.3))
    fits = place.verdict == "passes"
    if not fits:
        items += _clash(carry.free, posed, k, origin)
    items += _chains(place, k, origin, units)
    items += _clearance(place, k, origin, units, fits)
    said = f"{scale_text(scale, imperial=imperial)}, seen {_VIEWS[carry.view]}"
    size = f"{' × '.join(on_sheet(n, units=units) for n in delivery.size)}"
    packed = "packed " if delivery.packed else ""
    foot = f"{said}; {packed}piece {size}"
    notes, _ = sentence(0.0, 2.0, width, foot, size=ink.NAME, colour=ink.GREY_2, most=1)
    items += notes
    return Drawing(
        width=width,
        height=height,
        items=tuple(items),
        title=head,
        text=f"{delivery.sentence} {words} Width {on_sheet(step.width, units=units)}.",
        scale=scale,
    )


def _clash(free: Sequence[XY], body: Sequence[XY], k: float, origin: XY) -> list[Primitive]:
    """Hatch on what reaches out of the free space."""
    return [
        Hatch(
            outline=_ring(list(part.exterior.coords)[:-1], k, origin),
            angle=ink.FINDING.angle,
            spacing=ink.FINDING.spacing,
            weight=ink.FINDING.weight,
            ink=ink.FINDING.ink,
        )
        for part in _polygons(Shape(body).difference(Shape(free)))
    ]


def _chains(place: DeliveryPlace, k: float, origin: XY, units: str) -> list[Primitive]:
    """Width and height of the place, or the widths before and after a corner."""
    step, carry = place.step, place.carry
    free = Shape(carry.free)
    x0, y0, x1, y1 = free.bounds
    across: tuple[float, float] | None = (x0, x1)
    up = (y0, y1)
    if step.kind in ("corner", "stair turn"):
        if carry.view == "plan":
            across, up = (0.0, step.width), (0.0, step.after or y1)
        else:
            across = None  # the length drawn is that of the piece
    left = origin[0] + x0 * k - _WALL * k - 5.0
    items: list[Primitive] = []
    if across is not None:
        a, b = (origin[0] + x * k for x in across)
        label = on_sheet(across[1] - across[0], units=units)
        at = origin[1] + y0 * k - (_WALL * k if carry.view != "plan" else 0.0) - 4.0
        items += chain([a, b], [label], at=at)
    c, d = (origin[1] + y * k for y in up)
    items += chain([c, d], [on_sheet(up[1] - up[0], units=units)], at=left, axis="y")
    return items


def _posed(place: DeliveryPlace) -> tuple[tuple[XY, ...], XY, XY]:
    """The piece with all that is left on one side of it, and the line that measures it. [m]"""
    body, (one, two) = place.carry.body, place.carry.line
    aside = place.clearance - (two[0] - one[0])
    # In an opening the piece is given in the middle: half of what is left on either side.
    level = abs(one[1] - two[1]) < 1e-9 and min(x for x, _ in body) >= aside - 1e-9
    if place.clearance > 0 and level and aside > 1e-9:
        body = tuple((x - aside, y) for x, y in body)
        one = (one[0] - aside, one[1])
    return body, one, two


def _gap(place: DeliveryPlace) -> tuple[XY, XY]:
    """The clearance from the piece outwards, in the middle of the side it is left at. [m]"""
    posed, one, two = _posed(place)
    body = Shape(posed)
    if body.exterior.distance(shapely.Point(one)) > body.exterior.distance(shapely.Point(two)):
        one, two = two, one
    for axis in (0, 1):  # a side that runs along x or y has a middle
        other = 1 - axis
        side = [p[other] for p in posed if abs(p[axis] - one[axis]) < 1e-9]
        if abs(one[other] - two[other]) < 1e-9 and len(side) > 1:
            middle = (min(side) + max(side)) / 2
            moved_one, moved_two = list(one), list(two)
            moved_one[other] = moved_two[other] = middle
            return (moved_one[0], moved_one[1]), (moved_two[0], moved_two[1])
    return one, two


def _clearance(
    place: DeliveryPlace, k: float, origin: XY, units: str, fits: bool
) -> list[Primitive]:
    """What is left, dimensioned at the tightest moment; nothing where it is missing."""
    inner, outer = _ring(_gap(place), k, origin)
    colour = ink.INK if fits else ink.ACCENT
    apart = ((inner[0] - outer[0]) ** 2 + (inner[1] - outer[1]) ** 2) ** 0.5
    if place.clearance < 0 or apart < 0.3:
        return []
    words = on_sheet(round(place.clearance, 6), units=units)
    if apart >= lettering.advance(words, size=ink.NAME) + 2.0:
        return between(inner, outer, words, colour=colour, weight="semibold")
    # Too short for its words: they stand in the piece, where there is room.
    dx, dy = (inner[0] - outer[0]) / apart, (inner[1] - outer[1]) / apart
    side: Literal["start", "middle", "end"] = "middle"
    if abs(dx) > 0.3:
        side = "end" if dx < 0 else "start"
    at = (
        inner[0] + 2.0 * dx,
        inner[1] + 2.0 * dy - ink.READING * (0.5 if dy > -0.3 else 1.0),
    )
    return [
        *between(inner, outer, "", colour=colour),
        Text(at=at, text=words, size=ink.READING, weight="semibold", ink=colour, anchor=side),
    ]


def narrow_plan(
    home: Home,
    layout: Layout,
    *,
    rooms: Sequence[str] = (),
    marked: Sequence[str] = (),
    findings: Sequence[Finding] = (),
    width: float = NARROW,
    high: float = 110.0,
) -> Drawing:
    """A plan that is no wider than a telephone shows.

    Parameters
    ----------
    home : Home
        Gives the shell and the pieces.
    layout : Layout
        Where they stand.
    rooms : sequence of str, optional
        Ids of the rooms to draw; all without it.
    marked : sequence of str, optional
        Placements filled grey.
    findings : sequence of Finding, optional
        Numbered in this order.
    width, high : float, optional
        Room on the paper. [mm]

    Returns
    -------
    Drawing
        At the largest scale that fits, the smallest where none does.

    Examples
    --------
    >>> from designkit.model import Room
    >>> home = Home(name="Flat", rooms={"r": Room(
    ...     name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> narrow_plan(home, Layout(name="empty")).width <= NARROW
    True
    """
    shown = {id: room for id, room in home.rooms.items() if not rooms or id in rooms}
    placed = place_home(home, layout)
    if rooms:
        floor = shapely.union_all([Shape(room.outline) for room in shown.values()])
        placed = {id: one for id, one in placed.items() if floor.contains(shapely.Point(one.at))}
        layout = replace(layout, pieces={k: v for k, v in layout.pieces.items() if k in placed})
    xs = [x for room in shown.values() for x, _ in room.outline] or [0.0, 1.0]
    for scale in _SCALES:
        if (max(xs) - min(xs)) * 1000 / scale > width:
            continue
        drawing = plan_drawing(
            home,
            layout,
            scale=scale,
            show=("names", "findings"),
            findings=findings,
            rooms=rooms,
            marked=marked,
            placed=placed,
        )
        if drawing.width <= width and drawing.height <= high:
            break
    return drawing


def photograph(
    data: bytes,
    *,
    size: tuple[int, int],
    words: str,
    width: float = NARROW,
    high: float = 45.0,
) -> Drawing:
    """A photograph as a drawing of its own.

    Parameters
    ----------
    data : bytes
        PNG or JPEG.
    size : tuple of int
        Of the picture. [pixels]
    words : str
        Its alternative text.
    width, high : float, optional
        Room on the paper. [mm]

    Returns
    -------
    Drawing
        The picture in the middle of the width.

    Examples
    --------
    >>> photograph(b"", size=(400, 200), words="a sofa", width=80.0).height
    40.0
    """
    across, up = size
    k = min(width / across, high / up)
    at = ((width - across * k) / 2, 0.0)
    item = Picture(at=at, size=(across * k, up * k), png=data, text=words)
    return Drawing(width=width, height=up * k, items=(item,), text=words)


def in_column(drawings: Sequence[Drawing], *, title: str, gap: float = 6.0) -> Drawing:
    """Drawings under one another, for a narrow screen.

    Parameters
    ----------
    drawings : sequence of Drawing
        From above to below.
    title : str
        Of the whole.
    gap : float, optional
        Between them, with a rule. [mm]

    Returns
    -------
    Drawing
        As wide as the widest; each stands in the middle.

    Examples
    --------
    >>> in_column([Drawing(width=90, height=20), Drawing(width=40, height=10)], title="t").height
    36.0
    """
    width = max((d.width for d in drawings), default=NARROW)
    height = sum(d.height for d in drawings) + gap * max(0, len(drawings) - 1)
    items: list[Primitive] = []
    top = height
    for number, drawing in enumerate(drawings):
        if number:
            items.append(rule(0.0, top + gap / 2, width, colour=ink.GREY_4))
        items += moved(drawing.items, dx=(width - drawing.width) / 2, dy=top - drawing.height)
        top -= drawing.height + gap
    return Drawing(
        width=width,
        height=height,
        items=tuple(items),
        title=title,
        text=" ".join(d.text for d in drawings if d.text),
        scale=drawings[0].scale if len(drawings) == 1 else None,
    )
