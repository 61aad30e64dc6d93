"""What is seen from a place: the floor in view, and a window past the pieces.

All by clipping of shapes, nothing by samples: the numbers do not depend on a
step. Windows are upright rectangles; pieces are prisms from base to top.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError
from designkit.model import Point
from designkit.reference import value

__all__ = [
    "Isovist",
    "Occluder",
    "View",
    "isovist",
    "view_share",
]

Array = npt.NDArray[np.float64]

NEAR = 1e-3  # [m] parts nearer to the eye's own plane than this are not projected


@dataclass(frozen=True, kw_only=True, eq=False)
class Isovist:
    """The floor that is seen from a point, with measures of its shape."""

    polygon: Polygon
    area: float  # [m²]
    perimeter: float  # [m]
    occluded: float  # [m] length of its boundary that is no surface
    circularity: float  # perimeter² / 4π area; 1 for a circle


@dataclass(frozen=True, kw_only=True)
class Occluder:
    """A prism that may stand before a view."""

    id: str
    footprint: Polygon | MultiPolygon
    base: float  # [m]
    top: float  # [m]
    transmits: bool = False  # sight passes: glass, wire


@dataclass(frozen=True, kw_only=True, eq=False)
class View:
    """What is seen of one opening from one eye."""

    share: float  # of the opening's area [1]
    share_of_angle: float  # of the solid angle that the bare opening fills [1]
    angle: float  # [°] horizontal, seen at any height, within the limit of straight ahead
    angle_bare: float  # [°] the same without anything before it
    solid_angle: float  # [sr] seen
    off_ahead: float | None  # [°] of the opening's middle from straight ahead
    hidden_by: Mapping[str, float]  # id -> share that it hides by itself
    seen: tuple[Polygon, ...]  # on the opening: x along it from the first jamb, y height
    sight_lines: tuple[tuple[Point, Point], ...]  # eye to each side of what is seen
    why: str
    rule: str


# --- the floor in view ----------------------------------------------------------


def isovist(
    eye: Point,
    *,
    room: Polygon | MultiPolygon,
    obstacles: Sequence[tuple[str, Polygon | MultiPolygon]] = (),
) -> Isovist:
    """The floor that is visible from a point.

    Parameters
    ----------
    eye : Point
        In the room. [m]
    room : Polygon or MultiPolygon
        The floor; holes block sight. [m]
    obstacles : sequence of (str, Polygon), optional
        What else blocks sight at eye height, with its id. [m]

    Returns
    -------
    Isovist
        The visible polygon with its area [m²], perimeter [m] and measures.

    Raises
    ------
    InputError
        The eye is outside the room or inside an obstacle.

    References
    ----------
    .. [1] M. L. Benedikt, "To take hold of space: isovists and isovist fields",
       Environment and Planning B 6 (1979), 47-65.

    Examples
    --------
    >>> l_room = Polygon([(0, 0), (6, 0), (6, 2), (3, 2), (3, 4), (0, 4)])
    >>> round(isovist((1, 1), room=l_room).area, 9)
    18.0
    """
    _check_eye(eye, room, [(id, shape) for id, shape in obstacles])
    free: BaseGeometry = room
    if obstacles:
        free = shapely.difference(room, shapely.union_all([shape for _, shape in obstacles]))
    part = next(
        (p for p in shapely.get_parts(free) if p.distance(ShapelyPoint(eye)) < 1e-9),
        None,
    )
    if part is None:
        raise InputError("eye", given=eye, allowed="a point on free floor")
    p_list, q_list = [], []
    for ring in (part.exterior, *part.interiors):
        xy = shapely.get_coordinates(ring) - np.array(eye)
        p_list.append(xy[:-1])
        q_list.append(xy[1:])
    p, q = np.concatenate(p_list), np.concatenate(q_list)
    bearing = np.sort(np.arctan2(p[:, 1], p[:, 0]))
    bearing = bearing[np.concatenate([[True], np.diff(bearing) > 1e-12])]
    after = np.append(bearing[1:], bearing[0] + 2 * np.pi)
    middle = (bearing + after) / 2
    side = q - p
    # Between two neighbouring corners every ray ends on one and the same edge.
    way = np.stack([np.cos(middle), np.sin(middle)], axis=1)
    reach = _ray_hits(way, p, side)
    edge = reach.argmin(axis=1)
    found = np.isfinite(reach[np.arange(len(edge)), edge])
    corners: list[Array] = []
    lost = 0.0
    ends: list[tuple[Array, Array]] = []
    for k in np.flatnonzero(found).tolist():
        e = int(edge[k])
        ends.append((_on_line(bearing[k], p[e], side[e]), _on_line(after[k], p[e], side[e])))
    for k, (a, b) in enumerate(ends):
        corners += [a, b]
        step = ends[(k + 1) % len(ends)][0] - b
        lost += float(np.hypot(*step))
    shape = shapely.make_valid(Polygon(np.array(corners) + np.array(eye)))
    # Corners told twice to the last digit leave slivers, in collections of collections.
    flat = shapely.get_parts(shapely.get_parts(shape))
    parts = [g for g in flat if isinstance(g, Polygon)]
    polygon = max(parts, key=lambda g: float(g.area))
    polygon = Polygon(shapely.get_coordinates(polygon.exterior))
    area, perimeter = float(polygon.area), float(polygon.length)
    return Isovist(
        polygon=polygon,
        area=area,
        perimeter=perimeter,
        occluded=lost,
        circularity=perimeter**2 / (4 * math.pi * area),
    )


def _ray_hits(way: Array, p: Array, side: Array) -> Array:
    with np.errstate(divide="ignore", invalid="ignore"):
        bend = way[:, :1] * side[:, 1] - way[:, 1:] * side[:, 0]
        t = (p[:, 0] * side[:, 1] - p[:, 1] * side[:, 0])[None] / bend
        u = (p[None, :, 0] * way[:, 1:] - p[None, :, 1] * way[:, :1]) / bend
    hit = (np.abs(bend) > 1e-15) & (u >= 0) & (u <= 1) & (t > 1e-12)
    return np.where(hit, t, np.inf)


def _on_line(bearing: float, p: Array, side: Array) -> Array:
    way = np.array([math.cos(bearing), math.sin(bearing)])
    t = (p[0] * side[1] - p[1] * side[0]) / (way[0] * side[1] - way[1] * side[0])
    return np.asarray(t * way)


def _check_eye(
    eye: Sequence[float],
    room: BaseGeometry | None,
    solids: Sequence[tuple[str, BaseGeometry]],
) -> None:
    if not all(math.isfinite(c) for c in eye):
        raise InputError("eye", given=tuple(eye), allowed="finite numbers")
    point = ShapelyPoint(eye[0], eye[1])
    if room is not None and not room.covers(point):
        raise InputError(
            "eye", given=tuple(eye), allowed="a point inside the room", mend="move it into the room"
        )
    for id, shape in solids:
        if shape.contains(point):
            raise InputError(
                "eye", given=tuple(eye), allowed="a point outside the pieces", mend=f"it is in {id}"
            )


# --- a window past the pieces ---------------------------------------------------


def view_share(
    eye: tuple[float, float, float],
    *,
    jambs: tuple[Point, Point],
    sill: float,
    head: float,
    occluders: Sequence[Occluder] = (),
    room: Polygon | MultiPolygon | None = None,
    facing: float | None = None,
    overrides: Mapping[str, float] | None = None,
) -> View:
    """How much of a window is seen from an eye, past pieces and round corners.

    Parameters
    ----------
    eye : tuple of float
        Plan position and height. [m]
    jambs : (Point, Point)
        The two sides of the opening in plan; where `room` is given, on its
        outline. [m]
    sill, head : float
        Above finished floor. [m]
    occluders : sequence of Occluder, optional
        Prisms that may stand between; those that transmit hide nothing.
    room : Polygon or MultiPolygon, optional
        Its walls and holes block sight at every height. [m]
    facing : float, optional
        Straight ahead of the seat; without it the whole opening counts. [°]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    View
        Shares of area and of solid angle, and the horizontal angle seen.

    Raises
    ------
    InputError
        The opening has no width or height, the eye is outside the room, inside
        a piece, or in the plane of the opening.

    Notes
    -----
    The shadow that a convex prism throws from the eye on the opening's plane is
    the convex hull of its corners' shadows. The solid angle is summed over
    triangles [1]_.

    References
    ----------
    .. [1] A. van Oosterom and J. Strackee, "The solid angle of a plane triangle",
       IEEE Transactions on Biomedical Engineering 30 (1983), 125-126.

    Examples
    --------
    >>> low = Occluder(id="low table", footprint=box(1, 1, 2, 2), base=0, top=0.4)
    >>> window = {"jambs": ((0.5, 4), (2.5, 4)), "sill": 0.9, "head": 2.2}
    >>> view_share((1.5, 0.2, 1.2), occluders=[low], **window).share
    1.0
    """
    (ax, ay), (bx, by) = jambs
    width, height = math.hypot(bx - ax, by - ay), head - sill
    if not math.isfinite(width) or width <= 1e-6:
        raise InputError("window width", given=f"{width:g} m", allowed="> 0 m", mend="check jambs")
    if not math.isfinite(height) or height <= 1e-6:
        raise InputError("window height", given=f"{height:g} m", allowed="> 0 m")
    solid = [o for o in occluders if not o.transmits]
    for o in solid:
        if not (math.isfinite(o.base) and math.isfinite(o.top)) or o.top <= o.base:
            raise InputError(
                f"occluder {o.id}", given=f"{o.base}…{o.top} m", allowed="top above base"
            )
    _check_eye(eye, room, [(o.id, o.footprint) for o in solid if o.base < eye[2] < o.top])
    along = ((bx - ax) / width, (by - ay) / width)
    normal = (along[1], -along[0])
    away = (eye[0] - ax) * normal[0] + (eye[1] - ay) * normal[1]
    if away < 0:
        normal, away = (-normal[0], -normal[1]), -away
    if away <= NEAR:
        raise InputError(
            "eye", given=eye, allowed="before the window", mend="it is in the window's own plane"
        )
    frame = _Frame(
        origin=(ax, ay),
        along=along,
        normal=normal,
        eye=((eye[0] - ax) * along[0] + (eye[1] - ay) * along[1], away, eye[2]),
    )
    opening = box(0.0, sill, width, head)
    shadows: dict[str, list[BaseGeometry]] = {}
    for o in solid:
        for shape in shapely.get_parts(o.footprint):
            shadows.setdefault(o.id, []).extend(frame.shadows(shape, o.base, o.top))
    if room is not None:
        shadows["wall"] = [s for edge in _edges(room) for s in frame.shadow_of_wall(*edge)]
    area = width * height
    hidden: dict[str, float] = {}
    dark: list[BaseGeometry] = []
    for id, parts in shadows.items():
        if parts:
            shape = shapely.intersection(shapely.union_all(parts), opening)
            if shape.area > 1e-12:
                hidden[id] = float(shape.area) / area
                dark.append(shape)
    left = opening if not dark else shapely.difference(opening, shapely.union_all(dark))
    seen = tuple(g for g in shapely.get_parts(left) if isinstance(g, Polygon) and g.area > 1e-12)
    share = min(1.0, sum(float(g.area) for g in seen) / area)
    whole = _solid_angle(opening, frame.eye)
    part = sum(_solid_angle(g, frame.eye) for g in seen)
    limit = value("plan.view.ahead", overrides)
    spans = _merge([(g.bounds[0], g.bounds[2]) for g in seen])
    angle, kept = frame.angle(spans, facing, limit)
    bare, _ = frame.angle([(0.0, width)], facing, limit)
    lines: tuple[tuple[Point, Point], ...] = ()
    if kept:
        lines = tuple(((eye[0], eye[1]), frame.plan(x)) for x in (kept[0][0], kept[-1][1]))
    off = None
    if facing is not None:
        mx, my = frame.plan(width / 2)
        off = apart(math.degrees(math.atan2(my - eye[1], mx - eye[0])), facing)
    most = max(hidden.items(), key=lambda item: item[1], default=None)
    why = f"{share:.0%} of {width:.2f} × {height:.2f} m is seen, {angle:.0f}° across"
    if facing is not None:
        why += f" within {limit:.0f}° of straight ahead"
    if most is not None:
        why += f"; {most[0]} hides {most[1]:.0%}"
    return View(
        share=share,
        share_of_angle=min(1.0, part / whole),
        angle=angle,
        angle_bare=bare,
        solid_angle=part,
        off_ahead=off,
        hidden_by=hidden,
        seen=seen,
        sight_lines=lines,
        why=why,
        rule="plan.view.ahead",
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Frame:
    """The opening's plane: x along it, depth towards the eye, height."""

    origin: Point
    along: Point
    normal: Point
    eye: tuple[float, float, float]  # x, depth, height

    def plan(self, x: float) -> Point:
        return (self.origin[0] + x * self.along[0], self.origin[1] + x * self.along[1])

    def local(self, xy: Array) -> Array:
        rel = xy - np.array(self.origin)
        return np.stack([rel @ np.array(self.along), rel @ np.array(self.normal)], axis=1)

    def _cast(self, flat: Array, low: float, high: float) -> BaseGeometry:
        """Hull of the shadow of a prism over convex corners (x, depth)."""
        x0, d0, h0 = self.eye
        stretch = d0 / (d0 - flat[:, 1])
        x = x0 + (flat[:, 0] - x0) * stretch
        y = np.concatenate([h0 + (h - h0) * stretch for h in (low, high)])
        cloud = shapely.MultiPoint(np.stack([np.concatenate([x, x]), y], axis=1))
        return shapely.convex_hull(cloud)

    def shadows(self, shape: Polygon, low: float, high: float) -> list[BaseGeometry]:
        flat = self.local(shapely.get_coordinates(shape.exterior))
        local = Polygon(flat, [self.local(shapely.get_coordinates(r)) for r in shape.interiors])
        reach = 1e4
        between = box(-reach, 1e-9, reach, self.eye[1] - NEAR)
        clipped = [
            g
            for g in shapely.get_parts(shapely.intersection(local, between))
            if isinstance(g, Polygon) and g.area > 1e-12
        ]
        convex: list[Polygon] = []
        for g in clipped:
            if not g.interiors and abs(g.convex_hull.area - g.area) < 1e-9:
                convex.append(g)
            else:
                convex += list(shapely.get_parts(shapely.constrained_delaunay_triangles(g)))
        return [self._cast(shapely.get_coordinates(g.exterior)[:-1], low, high) for g in convex]

    def shadow_of_wall(self, a: Point, b: Point) -> list[BaseGeometry]:
        flat = self.local(np.array([a, b]))
        top = self.eye[1] - NEAR
        low, high = 1e-6, top
        d = flat[:, 1]
        if d.max() <= low or d.min() >= high:
            return []
        cut = flat.copy()
        for i in (0, 1):
            for limit, over in ((low, d[i] < low), (high, d[i] > high)):
                if over:
                    t = (limit - d[i]) / (d[1 - i] - d[i])
                    cut[i] = flat[i] + t * (flat[1 - i] - flat[i])
        return [self._cast(cut, -10.0, 20.0)]

    def angle(
        self, spans: Sequence[tuple[float, float]], facing: float | None, limit: float
    ) -> tuple[float, list[tuple[float, float]]]:
        """Horizontal angle of spans along the opening, and the spans kept."""
        x0, d0, _ = self.eye
        total = 0.0
        kept: list[tuple[float, float]] = []
        bound = (-math.inf, math.inf)
        if facing is not None:
            w = math.radians(facing)
            way = (math.cos(w), math.sin(w))
            ahead = -(way[0] * self.normal[0] + way[1] * self.normal[1])
            aside = way[0] * self.along[0] + way[1] * self.along[1]
            middle = math.degrees(math.atan2(aside, ahead))
            bound = (middle - limit, middle + limit)
        for low, high in spans:
            a = math.degrees(math.atan2(low - x0, d0))
            b = math.degrees(math.atan2(high - x0, d0))
            # bearings run from −90° to 90°; the field of view may wrap past them
            for turn in (-360.0, 0.0, 360.0):
                c, e = max(a, bound[0] + turn), min(b, bound[1] + turn)
                if e > c:
                    total += e - c
                    kept.append(
                        (
                            x0 + d0 * math.tan(math.radians(c)),
                            x0 + d0 * math.tan(math.radians(e)),
                        )
                    )
                if facing is None:
                    break
        return total, sorted(kept)


def _edges(shape: Polygon | MultiPolygon) -> list[tuple[Point, Point]]:
    found: list[tuple[Point, Point]] = []
    for part in shapely.get_parts(shape):
        for ring in (part.exterior, *part.interiors):
            xy = [(float(x), float(y)) for x, y in shapely.get_coordinates(ring)]
            found += [(a, b) for a, b in pairwise(xy) if a != b]
    return found


def _merge(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1] + 1e-12:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged


def apart(one: float, other: float) -> float:
    """Angle between two directions, 0 to 180 [°]."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


def _solid_angle(shape: Polygon, eye: tuple[float, float, float]) -> float:
    """Solid angle of a polygon on the plane of the opening."""
    x0, d0, h0 = eye
    oriented = shapely.orient_polygons(shape)
    total = 0.0
    for ring in (oriented.exterior, *oriented.interiors):
        xy = shapely.get_coordinates(ring) - np.array([x0, h0])
        a, b = xy[:-1], xy[1:]
        # triangle: foot of the eye on the plane, a, b
        la = np.sqrt((a**2).sum(axis=1) + d0**2)
        lb = np.sqrt((b**2).sum(axis=1) + d0**2)
        triple = d0 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
        ab = (a * b).sum(axis=1) + d0**2
        below = d0 * la * lb + ab * d0 + d0**2 * lb + d0**2 * la
        total += float((2 * np.arctan2(triple, below)).sum())
    return abs(total)
