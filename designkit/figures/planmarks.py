"""What is drawn over a furnished plan: zones, routes, views, dimensions, findings.

Everything here is given in the plan's metres and drawn in paper millimetres.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from designkit.figures import dimensions, ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Circle, Hatch, Line, Polygon, Primitive, Text
from designkit.figures.walls import walls_of
from designkit.model import Finding, Home, Point, Room
from designkit.plan.place import Placed
from designkit.units import on_sheet

__all__ = [
    "Box",
    "beside",
    "bounds_of",
    "chains",
    "dimension_clear_of",
    "finding_marks",
    "finding_numbers",
    "inside",
    "is_hatched",
    "line_of",
    "rays_of",
    "route_lines",
    "sight_lines_of",
    "words_of",
    "zone_lines",
]

Box = tuple[float, float, float, float]
Array = npt.NDArray[np.float64]

words_of = functools.lru_cache(maxsize=4096)(on_sheet)


def bounds_of(text: Text) -> Box:
    """The upright box round a text.

    Parameters
    ----------
    text : Text
        As placed on the paper.

    Returns
    -------
    Box
        Left, bottom, right, top. [mm]
    """
    corners = lettering.box(text)
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _shared(a: Box, b: Box, *, by: float = 0.0) -> float:
    """The area that two boxes share, one of them made larger on all sides. [mm²]"""
    wide = min(a[2], b[2] + by) - max(a[0], b[0] - by)
    high = min(a[3], b[3] + by) - max(a[1], b[1] - by)
    return max(0.0, wide) * max(0.0, high)


def beside(text: Text, taken: Sequence[Box]) -> Text:
    """A text moved along its own line as far as it needs to stand on nothing that is there.

    Parameters
    ----------
    text : Text
        As it would stand.
    taken : sequence of Box
        What is there. [mm]

    Returns
    -------
    Text
        The same where it is free, or where no place beside it is.
    """
    box = bounds_of(text)
    along = 1 if text.rotation else 0
    half = (box[along + 2] - box[along]) / 2
    for step in (0.0, 1.0, -1.0, 1.5, -1.5, 2.0, -2.0):
        at = list(text.at)
        at[along] += step * (half + 3.0)
        moved = dataclasses.replace(text, at=(at[0], at[1]))
        if not any(_shared(bounds_of(moved), b, by=0.4) for b in taken):
            return moved
    return text


def dimension_clear_of(
    taken: list[Box],
    a: XY,
    b: XY,
    words: str,
    *,
    pens: ink.Pens,
    colour: str = ink.INK,
    halo: float = 0.6,
    about: str = "",
) -> list[Primitive]:
    """A dimension whose figure stands on no other one: above it, else below, else past an end.

    Parameters
    ----------
    taken : list of Box
        Boxes of what is there; the figure's own is added. [mm]
    a, b : (float, float)
        What it measures between. [mm]
    words : str
        The figure; "" for none.
    pens : Pens
        Line weights.
    colour : str
        Ink of line and strokes.
    halo : float
        Paper-coloured edge of the figure. [mm]
    about : str
        Id of what it measures.

    Returns
    -------
    list of Primitive
        Line, two oblique strokes, figure.
    """
    length = math.dist(a, b)
    wide = lettering.advance(words, size=ink.NAME, weight="semibold")
    room, past = max(0.0, (length - wide) / 2 - 1.0), (length + wide) / 2 + 1.5
    shifts = [s * room for s in (0.0, 0.5, -0.5, 1.0, -1.0)] if room else [0.0]
    drawn: list[Primitive] = []
    least = math.inf
    places = [(shift, side) for side in (False, True) for shift in shifts]
    for shift, under in [*places, (past, False), (-past, False)]:
        made = dimensions.between(
            a, b, words, pens=pens, colour=colour, weight="semibold", halo=halo,
            shift=shift, about=about,
        )  # fmt: skip
        if under:
            made = [_under(item, a) if isinstance(item, Text) else item for item in made]
        covered = sum(
            _shared(bounds_of(item), box)
            for item in made
            if isinstance(item, Text)
            for box in taken
        )
        if covered < least - 1e-6:
            drawn, least = made, covered
        if covered <= 0.0:
            break
    taken += [bounds_of(item) for item in drawn if isinstance(item, Text)]
    return drawn


def _under(text: Text, start: XY) -> Text:
    """A figure on the other side of its line."""
    turn = math.radians(text.rotation)
    x, y = -math.sin(turn), math.cos(turn)
    rise = (text.at[0] - start[0]) * x + (text.at[1] - start[1]) * y
    down = 2 * rise + text.size
    return dataclasses.replace(text, at=(text.at[0] - down * x, text.at[1] - down * y))


def line_of(route: object) -> tuple[Point, ...]:
    """Points of a route: a RouteLine of the plan layer, or points.

    Parameters
    ----------
    route : object
        A line of the plan layer, or points.

    Returns
    -------
    tuple of Point
        [m]
    """
    line = getattr(route, "line", route)
    return tuple((float(x), float(y)) for x, y in line)  # type: ignore[attr-defined]


def rays_of(sight: object) -> tuple[tuple[Point, Point], ...]:
    """Lines of a view: a View of the plan layer, or one pair of points.

    Parameters
    ----------
    sight : object
        A view of the plan layer, or a pair of points.

    Returns
    -------
    tuple of (Point, Point)
        Eye and end of each ray. [m]
    """
    rays = getattr(sight, "sight_lines", None)
    if rays is None:
        rays = (sight,)
    return tuple((tuple(map(float, a)), tuple(map(float, b))) for a, b in rays)  # type: ignore[misc]


# --- zones, routes, sight ----------------------------------------------------


def zone_lines(thing: Placed, base: shells.Shell, pens: ink.Pens) -> list[Line]:
    """The zones of a thing, dashed, open at its own side.

    Parameters
    ----------
    thing : Placed
        As placed.
    base : Shell
        The plan on paper.
    pens : Pens
        Line weights of the scale.

    Returns
    -------
    list of Line
        One for each zone.
    """
    items: list[Line] = []
    for zone in thing.zones:
        a, b, c, d = (base.paper((p[0], p[1])) for p in list(zone.area.exterior.coords)[:4])
        # Open at the piece's own side.
        items.append(
            Line(points=(a, d, c, b), weight=pens.zone, dash=pens.dash_zone, about=thing.id)
        )
    return items


def _smooth(points: Sequence[XY], radius: float) -> tuple[XY, ...]:
    """Corners of a line of few points rounded off."""
    if len(points) < 3 or len(points) > 40:
        return tuple(points)  # the plan layer's lines are round already
    out = [points[0]]
    for p, q, r in zip(points, points[1:], points[2:]):
        a, b = math.dist(p, q), math.dist(q, r)
        cut = min(radius, a / 2, b / 2)
        if cut < 0.05:
            out.append(q)
            continue
        s = (q[0] + (p[0] - q[0]) * cut / a, q[1] + (p[1] - q[1]) * cut / a)
        e = (q[0] + (r[0] - q[0]) * cut / b, q[1] + (r[1] - q[1]) * cut / b)
        for i in range(7):
            t = i / 6
            out.append(
                (
                    (1 - t) ** 2 * s[0] + 2 * t * (1 - t) * q[0] + t * t * e[0],
                    (1 - t) ** 2 * s[1] + 2 * t * (1 - t) * q[1] + t * t * e[1],
                )
            )
    out.append(points[-1])
    return tuple(out)


def route_lines(
    line: Sequence[Point], base: shells.Shell, pens: ink.Pens, *, main: bool
) -> tuple[list[Primitive], list[BaseGeometry]]:
    """A route with an arrow at both ends.

    Parameters
    ----------
    line : sequence of Point
        Its points. [m]
    base : Shell
        The plan on paper.
    pens : Pens
        Line weights of the scale.
    main : bool
        Whether it is a main route, drawn heavier.

    Returns
    -------
    (list of Primitive, list of BaseGeometry)
        What is drawn, and the lines that words keep off.
    """
    points = [base.paper(p) for p in line]
    points = [p for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > 1e-6]
    if len(points) < 2:
        return [], []
    path = _smooth(points, 6.0)
    small = base.scale >= 80
    size = (2.0, 1.0) if small else (3.0, 1.4)
    items: list[Primitive] = [
        Line(
            points=path,
            weight=pens.route if main else pens.leader,
            dash=pens.dash_route,
            about="route",
        )
    ]
    for tip, before in ((path[-1], path[-2]), (path[0], path[1])):
        angle = math.degrees(math.atan2(tip[1] - before[1], tip[0] - before[0]))
        items.append(marks.arrow(tip, angle, length=size[0], width=size[1], about="route"))
    return items, [LineString(path)]


def sight_lines_of(
    rays: Sequence[tuple[Point, Point]], base: shells.Shell, pens: ink.Pens
) -> tuple[list[Primitive], list[BaseGeometry]]:
    """Lines of sight with a dot at each eye.

    Parameters
    ----------
    rays : sequence of (Point, Point)
        Eye and end of each. [m]
    base : Shell
        The plan on paper.
    pens : Pens
        Line weights of the scale.

    Returns
    -------
    (list of Primitive, list of BaseGeometry)
        What is drawn, and the lines that words keep off.
    """
    items: list[Primitive] = []
    lines: list[BaseGeometry] = []
    eyes: list[XY] = []
    for eye, end in rays:
        a, b = base.paper(eye), base.paper(end)
        if math.dist(a, b) < 0.5:
            continue
        items.append(
            Line(points=(a, b), weight=pens.sight, dash=pens.dash_sight, about="sight line")
        )
        lines.append(LineString([a, b]))
        if a not in eyes:
            eyes.append(a)
    for eye_at in eyes:
        items.append(Circle(centre=eye_at, radius=0.75, fill=ink.INK, about="sight line"))
    return items, lines


# --- dimensions --------------------------------------------------------------


@functools.lru_cache(maxsize=32)
def _measured_chains(
    rooms: tuple[tuple[str, tuple[Point, ...]], ...],
    jambs: tuple[tuple[str, int, float, float], ...],
) -> dict[str, tuple[float, ...]]:
    """Stops of the chains on the four sides: corners and jambs that one sees from there. [m]"""
    faces: dict[str, list[tuple[float, float, float, tuple[float, ...]]]] = {
        "bottom": [],
        "top": [],
        "left": [],
        "right": [],
    }
    for name, outline in rooms:
        room = Room(name=name, outline=outline, height=1.0)
        for index, (start, end, u, out) in enumerate(walls_of(room)):
            if abs(out[0]) > 0.02 and abs(out[1]) > 0.02:
                continue
            across = 0 if abs(out[1]) > 0.5 else 1  # the axis along the wall
            side = {
                (0, False): "bottom",
                (0, True): "top",
                (1, False): "left",
                (1, True): "right",
            }[across, out[1 - across] > 0]
            low, high = sorted((start[across], end[across]))
            marked = [low, high]
            for room_id, wall, a, b in jambs:
                if room_id == name and wall == index:
                    marked += [start[across] + u[across] * a, start[across] + u[across] * b]
            depth = start[1 - across] * (1 if out[1 - across] > 0 else -1)
            faces[side].append((depth, low, high, tuple(sorted(marked))))
    found: dict[str, tuple[float, ...]] = {}
    for side, walls in faces.items():
        stops_seen: set[float] = set()
        covered: list[tuple[float, float]] = []
        for _, low, high, stops in sorted(walls, key=lambda w: -w[0]):
            # Only what no wall nearer to this side hides.
            hidden = any(a - 1e-6 <= low and high <= b + 1e-6 for a, b in covered)
            if not hidden:
                stops_seen.update(
                    round(s, 4)
                    for s in stops
                    if not any(a + 1e-6 < s < b - 1e-6 for a, b in covered)
                )
            covered = _merged([*covered, (low, high)])
        found[side] = tuple(sorted(stops_seen))
    return found


def _merged(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if out and low <= out[-1][1] + 1e-6:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def chains(
    home: Home, base: shells.Shell, units: str, pens: ink.Pens, first: float
) -> list[Primitive]:
    """Chains of dimensions along the rooms and their openings.

    Parameters
    ----------
    home : Home
        Its rooms and openings.
    base : Shell
        The plan on paper.
    units : str
        Of the project.
    pens : Pens
        Line weights of the scale.
    first : float
        Distance of the first chain from the walls. [mm]

    Returns
    -------
    list of Primitive
        What is drawn.
    """
    rooms = tuple(
        (name, room.outline)
        for name, room in home.rooms.items()
        if room.use not in shells.OUTDOORS
        and base.floor.intersects(shapely.Point(base.paper(inside(room))))
    )
    names = {name for name, _ in rooms}
    jambs = tuple(
        (o.room, o.wall, o.offset, o.offset + o.width)
        for o in home.openings.values()
        if o.room in names
    )
    found = _measured_chains(rooms, jambs)
    x0, y0, x1, y1 = base.bounds
    out_x = base.origin[0]
    k = 1000 / base.scale
    items: list[Primitive] = []
    for side, other in (("bottom", ""), ("left", ""), ("top", "bottom"), ("right", "left")):
        stops = found.get(side, ())
        if other:
            known = set(found.get(other, ()))
            # What the opposite chain already gives is not said twice.
            if set(stops) <= known:
                continue
        if len(stops) < 2:
            continue
        axis = "x" if side in ("bottom", "top") else "y"
        shift = out_x if axis == "x" else base.origin[1]
        at = {"bottom": y0 - first, "top": y1 + first, "left": x0 - first, "right": x1 + first}[
            side
        ]
        towards = 1.0 if side in ("bottom", "left") else -1.0
        paper = [shift + s * k for s in stops]
        texts = [words_of(round(b - a, 5), units=units) for a, b in itertools.pairwise(stops)]
        items += dimensions.chain(
            paper, texts, at=at, axis=axis, towards=towards, pens=pens, about="dimensions"
        )
        if len(stops) > 2 and not other:
            items += dimensions.chain(
                [paper[0], paper[-1]],
                [words_of(round(stops[-1] - stops[0], 5), units=units)],
                at=at - 8.0 * towards,
                axis=axis,
                towards=towards,
                pens=pens,
                about="dimensions",
            )
    return items


@functools.lru_cache(maxsize=128)
def _inside_of(outline: tuple[Point, ...]) -> Point:
    point = Shape(outline).buffer(0).representative_point()
    return float(point.x), float(point.y)


def inside(room: Room) -> Point:
    """A point well inside a room.

    Parameters
    ----------
    room : Room
        Its outline.

    Returns
    -------
    Point
        [m]
    """
    return _inside_of(room.outline)


# --- findings ----------------------------------------------------------------


def is_hatched(finding: Finding) -> bool:
    """Whether the area of a finding is hatched: it does not pass, and is no mere note.

    Parameters
    ----------
    finding : Finding
        From any check.

    Returns
    -------
    bool
        True where it has an area that is shown.
    """
    return len(finding.area) > 2 and finding.verdict != "passes" and finding.severity != "note"


def finding_marks(
    findings: Iterable[Finding],
    base: shells.Shell,
    units: str,
    pens: ink.Pens,
    taken: list[Box],
) -> list[Primitive]:
    """Hatch of what a finding is about and its measured line, under the names.

    Parameters
    ----------
    findings : iterable of Finding
        In the order of their numbers.
    base : Shell
        The plan on paper.
    units : str
        Of the project.
    pens : Pens
        Line weights of the scale.
    taken : list of Box
        Boxes of words that are there; those of the figures are added. [mm]

    Returns
    -------
    list of Primitive
        What is drawn.
    """
    items: list[Primitive] = []
    style = ink.FINDING
    done: set[object] = set()  # two findings may speak of one place: it is drawn once
    for number, finding in enumerate(findings, start=1):
        about = f"finding {number}"
        colour = ink.INK if finding.verdict == "passes" else ink.ACCENT
        if is_hatched(finding) and finding.area not in done:
            done.add(finding.area)
            outline = tuple(base.paper(p) for p in finding.area)
            items.append(
                Hatch(
                    outline=outline,
                    angle=style.angle,
                    spacing=style.spacing,
                    weight=style.weight,
                    ink=style.ink,
                    about=about,
                )
            )
            items.append(Polygon(outline=outline, weight=style.weight, ink=style.ink, about=about))
        if len(finding.line) >= 2 and finding.line not in done:
            done.add(finding.line)
            a, b = base.paper(finding.line[0]), base.paper(finding.line[-1])
            if math.dist(a, b) > 0.8:
                words = ""
                if finding.unit == "m" and finding.measured is not None:
                    words = words_of(finding.measured, units=units)
                items += dimension_clear_of(
                    taken, a, b, words, pens=pens, colour=colour, halo=0.7, about=about
                )
    return items


def finding_numbers(
    findings: Sequence[Finding],
    base: shells.Shell,
    shapes: Sequence[BaseGeometry],
    lines: Sequence[BaseGeometry],
    said: Sequence[BaseGeometry],
    taken: list[Box],
) -> tuple[list[Primitive], list[BaseGeometry]]:
    """Keyed circles on free floor, each with a leader to its place.

    Parameters
    ----------
    findings : sequence of Finding
        In the order of their numbers.
    base : Shell
        The plan on paper.
    shapes : sequence of BaseGeometry
        Outlines of the pieces, which a circle keeps off. [mm]
    lines : sequence of BaseGeometry
        Routes and lines of sight. [mm]
    said : sequence of BaseGeometry
        Words on the plan. [mm]
    taken : list of Box
        Boxes that are not free; what is placed is added. [mm]

    Returns
    -------
    (list of Primitive, list of BaseGeometry)
        What is drawn, and the leaders.
    """
    if not findings:
        return [], []
    leaders: list[BaseGeometry] = []
    items: list[Primitive] = []
    circles: list[Primitive] = []
    half = marks.KEYED / 2 + 0.5
    spots = [(n, base.paper(at)) for n, f in enumerate(findings, 1) if (at := _place_of(f))]
    ground = _ground(base, shapes, lines, said, [spot for _, spot in spots], half)
    for (number, (x, y)), cost in zip(spots, ground, strict=True):
        finding = findings[number - 1]
        xs, ys = x + _RING[0], y + _RING[1]
        boxes = np.array(taken).reshape(-1, 4)[:, :, None]
        near = (
            (xs - half < boxes[:, 2] + 0.4)
            & (xs + half > boxes[:, 0] - 0.4)
            & (ys - half < boxes[:, 3] + 0.4)
            & (ys + half > boxes[:, 1] - 0.4)
        )
        best = int(np.argmin(cost + 200.0 * near.sum(axis=0)))
        at = (float(xs[best]), float(ys[best]))
        taken.append((at[0] - half, at[1] - half, at[0] + half, at[1] + half))
        colour = ink.INK if finding.verdict == "passes" else ink.ACCENT
        about = f"finding {number}"
        items += marks.leader((x, y), at, gap=marks.KEYED / 2, colour=colour, about=about)
        circles += marks.keyed(at, number, colour=colour, about=about)
        leaders.append(LineString([(x, y), at]).buffer(0.6, quad_segs=2))
    # Circles over all leaders, so that no leader crosses a number.
    return items + circles, leaders


_STEPS = np.array([7.5, 10.5, 14.0, 18.0, 23.0, 29.0])  # [mm]
_ANGLES = np.radians(np.arange(0, 360, 22.5))
# Places round a spot: x, y and how far they are. [mm]
_RING = np.array(
    [
        np.outer(_STEPS, np.cos(_ANGLES)).ravel(),
        np.outer(_STEPS, np.sin(_ANGLES)).ravel(),
        np.repeat(_STEPS, len(_ANGLES)),
    ]
)


def _ground(
    base: shells.Shell,
    shapes: Sequence[BaseGeometry],
    lines: Sequence[BaseGeometry],
    said: Sequence[BaseGeometry],
    spots: Sequence[Point],
    half: float,
) -> Array:
    """What the places round each spot cost by what is drawn there already."""
    shapely.prepare(base.walls)
    shapely.prepare(base.floor)
    at = np.array(spots).reshape(-1, 2)
    xs, ys = (at[:, [0]] + _RING[0]).ravel(), (at[:, [1]] + _RING[1]).ravel()
    boxes = shapely.box(xs - half, ys - half, xs + half, ys + half)
    start = np.repeat(at, _RING.shape[1], axis=0)
    ways = shapely.linestrings(np.stack([start, np.c_[xs, ys]], 1))
    cost = np.tile(_RING[2], len(at))
    for things, of, each in (
        ([*shapes, base.walls], boxes, 40.0),
        (lines, boxes, 6.0),
        (said, ways, 50.0),
    ):
        # Prepared are the few things, not the many places as a query with a predicate would.
        what = np.array(list(things), dtype=object)
        shapely.prepare(what)
        place, thing = shapely.STRtree(what).query(of)
        np.add.at(cost, place[shapely.intersects(what[thing], of[place])], each)
    cost += np.where(shapely.contains(base.floor, boxes), 0.0, 60.0)
    cost += np.where(shapely.intersects(base.walls, ways), 70.0, 0.0)
    off = (xs < 4) | (ys < 4) | (xs > base.width - 4) | (ys > base.height - 4)
    return (cost + np.where(off, 1e6, 0.0)).reshape(len(at), -1)


def _place_of(finding: Finding) -> Point | None:
    if finding.at is not None:
        return finding.at
    if finding.area:
        xs, ys = [p[0] for p in finding.area], [p[1] for p in finding.area]
        return sum(xs) / len(xs), sum(ys) / len(ys)
    if finding.line:
        (ax, ay), (bx, by) = finding.line[0], finding.line[-1]
        return (ax + bx) / 2, (ay + by) / 2
    return None
