"""Isolux lines: lines of equal light on a plan, each with its figure.

Light is kept lamp by lamp, so that a dimmer costs one weighted sum and the
tracing of lines. Lines are traced by linear interpolation between the points
of the grid and end at the walls. A line that has no place for its figure is
not drawn: a line without a figure says nothing.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import STRtree
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Line, Primitive, Text
from designkit.lighting.quick import grid
from designkit.lighting.room_light import LitHome

__all__ = ["BOLD", "LEVELS", "Field", "fields", "isolux_items", "trace"]

Array = npt.NDArray[np.float64]

# Steps that the eye takes as about even (the series of EN 12464-1, from memory), and 40.
_SERIES = (5, 7.5, 10, 15, 20, 30, 50, 75, 100, 150, 200, 300, 500, 750, 1000, 1500, 2000, 3000)
LEVELS = tuple(sorted(map(float, (*_SERIES, 40))))
BOLD = (10.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
LINE = "#3a3a3a"
THIN, THICK = 0.13, 0.25
SHORTEST = 10.0  # lines under this are not drawn [mm]
STEP = 0.8  # a figure slides along its line in steps of this [mm]
WORST, WORST_BOLD = 75.0, 130.0  # a figure with a worse place is not set, nor its line
SECOND, APART = 90.0, 45.0  # a second figure over this length, this far from the first [mm]


@dataclass(frozen=True, kw_only=True, eq=False)
class Field:
    """Light on a plane of one room at full power, lamp by lamp."""

    room: str
    plane: float  # [m]
    x: Array  # (nx,) [m]
    y: Array  # (ny,) [m]
    lamps: tuple[str, ...]
    lux: Array  # (lamps, ny, nx)
    outline: BaseGeometry  # of the floor, columns taken off [m]

    def total(self, shares: Mapping[str, float] | None = None) -> Array:
        """Light with each lamp at a share of its full power.

        Parameters
        ----------
        shares : mapping of str to float, optional
            By lamp id; all at full power without it, 0 where a lamp is missing. [1]

        Returns
        -------
        array (ny, nx)
            Illuminance. [lx]
        """
        by = np.array([1.0 if shares is None else shares.get(id, 0.0) for id in self.lamps])
        return np.asarray(np.tensordot(by, self.lux, axes=1), dtype=float)


def fields(
    lit: LitHome, *, rooms: Sequence[str] = (), plane: float = 0.75, step: float = 0.1
) -> tuple[Field, ...]:
    """Light of each lamp on a plane of each room.

    Parameters
    ----------
    lit : LitHome
        From `designkit.lighting.room_light.light_up`.
    rooms : sequence of str
        Ids of the rooms; all that the light knows without it.
    plane : float
        Height of the plane. [m]
    step : float
        Between the points. [m]

    Returns
    -------
    tuple of Field
        One a room; the lamps of its space are in it.
    """
    found = []
    for room in rooms or tuple(lit.shells):
        shell = lit.shells[room]
        lamps = [id for id, lamp in lit.lamps.items() if lamp.room in shell.joined and lamp.sources]
        layers = []
        at = None
        for id in lamps or [""]:
            alone = {id: lit.lamps[id]} if id else {}
            at = grid(
                lit.home,
                lit.layout,
                room=room,
                plane=plane,
                step=step,
                lit=dataclasses.replace(lit, lamps=alone),
            )
            layers.append(_beyond(at.lux, at.inside))
        assert at is not None
        columns = shapely.intersection(shell.outline, shell.space)
        found.append(
            Field(
                room=room,
                plane=plane,
                x=at.x,
                y=at.y,
                lamps=tuple(lamps),
                lux=np.array(layers) if lamps else np.zeros((0, len(at.y), len(at.x))),
                outline=columns,
            )
        )
    return tuple(found)


def _beyond(lux: Array, inside: npt.NDArray[np.bool_]) -> Array:
    """Light carried on, straight, one point into the walls, so that lines do not kink there."""
    total, count = np.zeros_like(lux), np.zeros_like(lux)
    for axis in (0, 1):
        for way in (1, -1):
            one, two = np.roll(inside, way, axis), np.roll(inside, 2 * way, axis)
            found = ~inside & one & two
            # What comes round from the far side of the grid is no neighbour.
            edge = [slice(None), slice(None)]
            edge[axis] = slice(0, 2) if way == 1 else slice(-2, None)
            found[tuple(edge)] = False
            carried = 2 * np.roll(lux, way, axis) - np.roll(lux, 2 * way, axis)
            total[found] += carried[found]
            count[found] += 1
    made = np.where(count > 0, total / np.maximum(count, 1), lux)
    return np.asarray(np.maximum(made, 0.0), dtype=float)


def trace(
    x: Array, y: Array, lux: Array, *, levels: Sequence[float] = LEVELS
) -> list[tuple[float, Array]]:
    """Lines of equal light on a grid.

    Parameters
    ----------
    x : array (nx,)
        Ascending. [m]
    y : array (ny,)
        Ascending. [m]
    lux : array (ny, nx)
        Light at the points. [lx]
    levels : sequence of float
        Light on the lines. [lx]

    Returns
    -------
    list of (float, array (n, 2))
        Level and points of each line, by level; a closed one ends where it
        begins. [lx, m]

    Raises
    ------
    InputError
        The light is not finite, or does not fit the axes.

    Examples
    --------
    >>> x = np.linspace(-1, 1, 41)
    >>> (level, line), = trace(x, x, 1 - np.hypot(*np.meshgrid(x, x)), levels=[0.5])
    >>> bool(np.allclose(np.hypot(*line.T), 0.5, atol=0.002))
    True
    """
    from contourpy import LineType, contour_generator

    if lux.shape != (len(y), len(x)) or not np.isfinite(lux).all():
        raise InputError(
            "light on the grid",
            given=f"{lux.shape[0]} × {lux.shape[1]}",
            allowed=f"finite, {len(y)} × {len(x)}",
            mend="take x, y and the light of one grid",
        )
    made = contour_generator(x, y, lux, line_type=LineType.Separate)
    low, high = float(lux.min()), float(lux.max())
    return [
        (level, np.asarray(line, dtype=float))
        for level in levels
        if low < level < high
        for line in made.lines(level)
    ]


def _padded(field: Field, lux: Array) -> tuple[Array, Array, Array]:
    """The grid with one ring more, so that lines reach the walls."""
    x, y = field.x, field.y
    ends = (
        np.concatenate([[2 * x[0] - x[1]], x, [2 * x[-1] - x[-2]]]),
        np.concatenate([[2 * y[0] - y[1]], y, [2 * y[-1] - y[-2]]]),
    )
    grown = np.pad(lux, 1, mode="reflect", reflect_type="odd")
    return *ends, np.maximum(grown, 0.0)


@dataclass(eq=False)
class _Track:
    """A line on the paper with its length counted along it."""

    level: float
    points: Array
    along: Array
    closed: bool

    @property
    def bold(self) -> bool:
        return self.level in BOLD

    @property
    def length(self) -> float:
        return float(self.along[-1])

    @property
    def words(self) -> str:
        return f"{self.level:g}"

    @property
    def wide(self) -> float:
        weight = "semibold" if self.bold else "regular"
        return lettering.advance(self.words, size=ink.NAME, weight=weight)


def _tracks(
    field: Field, lux: Array, levels: Sequence[float], scale: float, origin: XY
) -> list[_Track]:
    k = 1000.0 / scale
    lines = trace(*_padded(field, lux), levels=levels)
    if not lines:
        return []
    shapely.prepare(field.outline)
    counts = np.array([len(line) for _, line in lines])
    shapes: npt.NDArray[np.object_] = np.asarray(
        shapely.linestrings(
            np.concatenate([line for _, line in lines]),
            indices=np.repeat(np.arange(len(lines)), counts),
        )
    )
    out = np.flatnonzero(~shapely.contains(field.outline, shapes))
    # A ring that a wall cuts comes in two pieces about its first point: join them.
    shapes[out] = shapely.line_merge(shapely.intersection(shapes[out], field.outline))
    parts, whose = shapely.get_parts(shapes, return_index=True)
    keep = (shapely.get_type_id(parts) == 1) & (shapely.length(parts) * k >= SHORTEST)
    found = []
    for part, index in zip(parts[keep].tolist(), whose[keep].tolist(), strict=True):
        points = shapely.get_coordinates(part) * k + np.asarray(origin)
        steps = np.hypot(points[1:, 0] - points[:-1, 0], points[1:, 1] - points[:-1, 1])
        if (steps < 1e-6).any():
            points = points[np.concatenate([[True], steps >= 1e-6])]
            steps = steps[steps >= 1e-6]
        along = np.concatenate([[0.0], np.cumsum(steps)])
        closed = bool(np.abs(points[0] - points[-1]).max() < 1e-6)
        found.append(_Track(level=lines[index][0], points=points, along=along, closed=closed))
    return found


@dataclass(eq=False)
class _Spots:
    """Every place that a figure may have, all lines together."""

    track: npt.NDArray[np.int64]
    along: Array
    middle: Array
    angle: Array
    score: Array  # infinite where it cannot stand


def _spots(tracks: Sequence[_Track], inner: BaseGeometry, blocked: STRtree) -> _Spots:
    whose, ways, halves = [], [], []
    for n, track in enumerate(tracks):
        half = track.wide / 2 + 0.5
        low, high = 0.0, track.length
        if not track.closed:
            low, high = half + 0.6, track.length - half - 0.6
        if high - low < 0.2 or track.length < 2.2 * track.wide:
            continue
        # A long line is not searched more finely than it needs.
        count = min(80, max(3, math.ceil((high - low) / STEP)))
        ways.append(np.linspace(low, high, count))
        whose.append(np.full(count, n))
        halves.append(np.full(count, half))
    if not whose:
        nothing = np.zeros(0)
        return _Spots(
            track=nothing.astype(np.int64),
            along=nothing,
            middle=np.zeros((0, 2)),
            angle=nothing,
            score=nothing,
        )
    track_of, s, halved = np.concatenate(whose), np.concatenate(ways), np.concatenate(halves)
    # All lines end to end, each with its own stretch of one long measure.
    starts = np.concatenate([[0.0], np.cumsum([t.length + 1.0 for t in tracks])])[:-1]
    measure = np.concatenate([t.along + a for t, a in zip(tracks, starts, strict=True)])
    points = np.concatenate([t.points for t in tracks])
    lengths = np.array([t.length for t in tracks])[track_of]
    closed = np.array([t.closed for t in tracks])[track_of]

    def at(way: Array) -> Array:
        way = np.where(closed, way % lengths, np.clip(way, 0, lengths)) + starts[track_of]
        return np.stack(
            [np.interp(way, measure, points[:, 0]), np.interp(way, measure, points[:, 1])], axis=1
        )

    a, b, middle = at(s - halved), at(s + halved), at(s)
    first, last = middle - at(s - 1.6 * halved), at(s + 1.6 * halved) - middle
    bend = np.arctan2(
        first[:, 0] * last[:, 1] - first[:, 1] * last[:, 0], (first * last).sum(axis=1)
    )
    # Read from below or from the right.
    angle = np.arctan2(b[:, 1] - a[:, 1], b[:, 0] - a[:, 0])
    angle = (angle + math.pi / 2 - 1e-4) % math.pi - math.pi / 2 + 1e-4
    centre = (middle + (a + b) / 2) / 2
    score = np.degrees(np.abs(bend)) + 0.25 * np.degrees(np.abs(angle))
    cos, sin = np.cos(angle), np.sin(angle)
    u = np.stack([cos, sin], axis=1) * (halved - 0.05)[:, None]
    v = np.stack([-sin, cos], axis=1) * (ink.NAME / 2 + 0.45)
    boxes = shapely.polygons(
        np.stack([centre - u - v, centre + u - v, centre + u + v, centre - u + v], axis=1)
    )
    score[~shapely.contains(inner, boxes)] = math.inf
    hit, _ = blocked.query(boxes, predicate="intersects")
    score[hit] = math.inf
    counts = np.array([len(t.points) for t in tracks])
    shapes = np.asarray(
        shapely.linestrings(points, indices=np.repeat(np.arange(len(tracks)), counts))
    )
    hit, line = STRtree(shapes).query(boxes, predicate="intersects")
    np.add.at(score, hit[line != track_of[hit]], 40.0)
    return _Spots(track=track_of, along=s, middle=centre, angle=angle, score=score)


def isolux_items(
    field: Field,
    *,
    scale: float,
    origin: XY,
    shares: Mapping[str, float] | None = None,
    levels: Sequence[float] = LEVELS,
    blocked: STRtree | None = None,
) -> tuple[list[Primitive], list[Primitive]]:
    """Isolux lines of one room on paper, and their figures.

    Parameters
    ----------
    field : Field
        Light of each lamp.
    scale : float
        50 for 1:50.
    origin : (float, float)
        Paper point of plan (0, 0). [mm]
    shares : mapping of str to float, optional
        Share of full power by lamp. [1]
    levels : sequence of float
        Light on the lines. [lx]
    blocked : STRtree, optional
        On paper, where no figure may stand. [mm]

    Returns
    -------
    (list of Primitive, list of Primitive)
        Lines, and the figures that stand on them; every line has one.

    Raises
    ------
    InputError
        The light of a lamp is not finite.
    """
    tracks = _tracks(field, field.total(shares), levels, scale, origin) if field.lamps else []
    if not tracks:
        return [], []
    k = 1000.0 / scale
    inner = shapely.transform(
        field.outline.buffer(-0.6 / k), lambda xy: xy * k + np.asarray(origin)
    )
    shapely.prepare(inner)
    # Heavy lines first, then the longest: they keep their place.
    tracks.sort(key=lambda t: (not t.bold, -round(t.length, 3), t.level))
    spots = _spots(tracks, inner, blocked or STRtree([]))
    lines: list[Primitive] = []
    figures: list[Primitive] = []
    score = spots.score
    for n, track in enumerate(tracks):
        mine = np.flatnonzero((spots.track == n) & np.isfinite(score))
        if not len(mine):
            continue
        order = mine[np.argsort(score[mine], kind="stable")]
        # Where other lines crowd in from both sides, the line is left out.
        if score[order[0]] > (WORST_BOLD if track.bold else WORST):
            continue
        chosen = [int(order[0])]
        if track.length > SECOND:
            gap = np.abs(spots.along[order] - spots.along[order[0]])
            gap = np.minimum(gap, track.length - gap) if track.closed else gap
            chosen += order[(gap >= APART) & (score[order] < 40.0)][:1].tolist()
        about = f"{track.words} lx"
        points = tuple((x, y) for x, y in track.points.tolist())
        lines.append(
            Line(
                points=points[:-1] if track.closed else points,
                closed=track.closed,
                weight=THICK if track.bold else THIN,
                ink=LINE,
                about=about,
            )
        )
        for i in chosen:
            (x, y), angle = spots.middle[i].tolist(), float(spots.angle[i])
            near = np.hypot(spots.middle[:, 0] - x, spots.middle[:, 1] - y)
            score[near < track.wide + 2.2] = math.inf
            figures.append(
                Text(
                    at=(x + math.sin(angle) * ink.NAME / 2, y - math.cos(angle) * ink.NAME / 2),
                    text=track.words,
                    size=ink.NAME,
                    weight="semibold" if track.bold else "regular",
                    anchor="middle",
                    rotation=round(math.degrees(angle), 3),
                    halo=0.55,
                    about=about,
                )
            )
    return lines, figures
