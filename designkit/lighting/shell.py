"""Rooms as light sees them: areas, reflectances, and which walls stand in the way."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity
from shapely.geometry import MultiPolygon, Polygon

from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.lumen_method import Reflectances
from designkit.model import Drape, Home, Layout, Opening, Room
from designkit.palette.finishes import resolve
from designkit.reference import value

__all__ = ["Shell", "opening_line", "room_at", "room_reflectances", "sees", "shells"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Shell:
    """A room with the space that it opens into through its passages."""

    id: str
    room: Room
    outline: Polygon
    area: float  # of the floor, columns taken off [m²]
    perimeter: float  # of the outline and the columns [m]
    space: Polygon  # with the rooms joined by passages, columns taken off
    walls: Array  # edges that can stand in the way, (k, 4): x, y, x, y [m]
    joined: tuple[str, ...]  # ids of the rooms of that space, this one among them
    reflectances: Reflectances
    reflectances_from: str  # in words


def opening_line(opening: Opening, room: Room) -> tuple[Array, Array, Array]:
    """Both ends of an opening on its wall, and the normal into the room.

    Parameters
    ----------
    opening : Opening
        The opening.
    room : Room
        The room that it is written in.

    Returns
    -------
    tuple of array (2,)
        Start, end and inward unit normal. [m]

    Raises
    ------
    InputError
        The room has no such wall.
    """
    count = len(room.outline)
    if not 0 <= opening.wall < count:
        raise InputError(
            f"wall of {opening.name or opening.kind}",
            given=opening.wall,
            allowed=f"0 to {count - 1}",
        )
    a = np.asarray(room.outline[opening.wall], dtype=float)
    b = np.asarray(room.outline[(opening.wall + 1) % count], dtype=float)
    along = (b - a) / np.linalg.norm(b - a)
    left = np.array([-along[1], along[0]])
    inward = left if Polygon(room.outline).exterior.is_ccw else -left
    start = a + along * opening.offset
    return start, start + along * opening.width, inward


def _polygon(id: str, room: Room) -> Polygon:
    if len(room.outline) < 3 or not np.isfinite(np.asarray(room.outline, dtype=float)).all():
        raise InputError(f"rooms.{id}.outline", given=room.outline, allowed="three corners or more")
    polygon = Polygon(room.outline)
    if not polygon.is_valid or polygon.area <= 0:
        raise InputError(
            f"rooms.{id}.outline", given="an outline that crosses itself", allowed="a simple one"
        )
    if not (math.isfinite(room.height) and room.height > 0):
        raise InputError(f"rooms.{id}.height", given=room.height, allowed="more than 0 m")
    return polygon


def _column(at: tuple[float, float], size: tuple[float, float], shape: str, turn: float) -> Polygon:
    if shape == "circle":
        found = shapely.Point(at).buffer(size[0] / 2, quad_segs=4)
    else:
        box = shapely.box(-size[0] / 2, -size[1] / 2, size[0] / 2, size[1] / 2)
        turned = shapely.affinity.rotate(box, turn, origin=(0, 0))
        found = shapely.affinity.translate(turned, *at)
    assert isinstance(found, Polygon)
    return found


def shells(
    home: Home,
    layout: Layout,
    *,
    reflectances: Reflectances | Mapping[str, Reflectances] | None = None,
) -> dict[str, Shell]:
    """Every room with its space, walls and reflectances.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        Its drapery decides what the windows reflect.
    reflectances : Reflectances or mapping of str to Reflectances, optional
        For all rooms, or by room id; from the finishes where not given.

    Returns
    -------
    dict of str to Shell
        In the order of the home.

    Raises
    ------
    InputError
        An outline, a height or a finish cannot be used.
    LookupFailed
        A finish or a room is named that does not exist.
    """
    outlines = {id: _polygon(id, room) for id, room in home.rooms.items()}
    if isinstance(reflectances, Mapping):
        for id in reflectances:
            if id not in outlines:
                raise LookupFailed(
                    "reflectances of room",
                    given=id,
                    allowed=", ".join(outlines),
                    mend=f"nearest: {nearest(id, outlines) or 'none'}",
                )
    gaps = []
    for id, opening in home.openings.items():
        if opening.kind != "passage":
            continue
        if opening.room not in home.rooms:
            raise LookupFailed(
                f"openings.{id}.room", given=opening.room, allowed=", ".join(outlines)
            )
        start, end, inward = opening_line(opening, home.rooms[opening.room])
        # A finger past the wall's thickness, so that it meets the other room.
        out = -inward * (opening.thickness + 0.02)
        near = inward * 0.02
        gaps.append(Polygon([start + near, end + near, end + out, start + out]))
    columns = shapely.union_all(
        [
            _column(c.at, c.size, c.shape, c.rotation)
            for room in home.rooms.values()
            for c in room.columns
        ]
    )
    found = {}
    for id, outline in outlines.items():
        room = home.rooms[id]
        whole = _joined(outline, outlines, gaps)
        own = outline.difference(columns)
        space = whole.difference(columns)
        if isinstance(space, MultiPolygon):
            space = max(space.geoms, key=lambda g: float(g.area))
        assert isinstance(space, Polygon)
        mirror, said = _reflectances_of(id, home, layout, reflectances)
        found[id] = Shell(
            id=id,
            room=room,
            outline=outline,
            area=float(own.area),
            perimeter=float(own.length),
            space=space,
            walls=_edges(space),
            joined=tuple(
                other
                for other, poly in outlines.items()
                if whole.contains(poly.representative_point())
            ),
            reflectances=mirror,
            reflectances_from=said,
        )
    return found


def _joined(outline: Polygon, outlines: Mapping[str, Polygon], gaps: list[Polygon]) -> Polygon:
    """The space of a room: rooms are joined by passages only, never by a shared wall line."""
    rooms, used = [outline], []
    grown = True
    while grown:
        grown = False
        for gap in gaps:
            if gap in used or not any(gap.intersects(r) for r in rooms):
                continue
            used.append(gap)
            grown = True
            rooms += [
                p for p in outlines.values() if p not in rooms and p.intersection(gap).area > 1e-4
            ]
    if not used:
        return outline
    # Shrunk by a millimetre so that two rooms on one wall line keep their wall.
    slim = [r.buffer(-0.001, join_style="mitre") for r in rooms]
    space = shapely.union_all([*slim, *used])
    if isinstance(space, MultiPolygon):
        space = max(space.geoms, key=lambda g: g.intersection(outline).area)
    assert isinstance(space, Polygon)
    return space


def _edges(space: Polygon) -> Array:
    """Edges that can stand between two points of the space: all but those of its hull."""
    lines = []
    for ring in (space.exterior, *space.interiors):
        at = np.asarray(ring.coords)
        lines.append(np.hstack([at[:-1], at[1:]]))
    edges = np.vstack(lines)
    corners = np.asarray(space.exterior.coords)
    along = edges[:, 2:] - edges[:, :2]
    to = corners[None, :, :] - edges[:, None, :2]
    side = along[:, None, 0] * to[:, :, 1] - along[:, None, 1] * to[:, :, 0]
    on_hull = (side >= -1e-9).all(axis=1) | (side <= 1e-9).all(axis=1)
    return np.asarray(edges[~on_hull], dtype=float)


def sees(shell: Shell, *, start: tuple[float, float], ends: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Whether walls leave the straight way free, seen from above.

    Parameters
    ----------
    shell : Shell
        The room of the start.
    start : tuple of float
        Where the light is. [m]
    ends : array-like (n, 2)
        Where it should arrive. [m]

    Returns
    -------
    array (n,) of bool
        True where no wall or column of the space stands between.
    """
    to = np.asarray(ends, dtype=float) - np.asarray(start)
    if not len(shell.walls):
        return np.ones(len(to), dtype=np.bool_)
    a = shell.walls[:, :2] - np.asarray(start)
    e = shell.walls[:, 2:] - shell.walls[:, :2]
    cross = to[:, :1] * e[:, 1] - to[:, 1:] * e[:, 0]  # (n, k)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (a[:, 0] * e[:, 1] - a[:, 1] * e[:, 0]) / cross
        u = (a[:, 0] * to[:, 1:] - a[:, 1] * to[:, :1]) / cross
        hit = (t > 1e-6) & (t < 1 - 1e-6) & (u > 0) & (u < 1)
    free = ~(hit & (np.abs(cross) > 1e-12)).any(axis=1)
    return np.asarray(free, dtype=np.bool_)


def room_at(shells_of: Mapping[str, Shell], *, at: tuple[float, float], what: str) -> str:
    """The room that holds a point; a point on a wall belongs to the nearest room.

    Parameters
    ----------
    shells_of : mapping of str to Shell
        The rooms.
    at : tuple of float
        The point. [m]
    what : str
        What stands there, for the message.

    Returns
    -------
    str
        Room id.

    Raises
    ------
    InputError
        No room is there.
    """
    point = shapely.Point(at)
    best, nearest_by = "", math.inf
    for id, shell in shells_of.items():
        by = shell.outline.distance(point)
        if by < nearest_by - 1e-9:
            best, nearest_by = id, by
    if nearest_by > 0.05:
        raise InputError(
            what,
            given=f"({at[0]:g}, {at[1]:g}) m",
            allowed="a point in a room",
            mend="move it into a room",
        )
    return best


# --- reflectances ------------------------------------------------------------


def _reflectances_of(
    id: str,
    home: Home,
    layout: Layout,
    given: Reflectances | Mapping[str, Reflectances] | None,
) -> tuple[Reflectances, str]:
    if isinstance(given, Reflectances):
        return given, "given"
    if isinstance(given, Mapping) and id in given:
        return given[id], "given"
    return room_reflectances(home, room=id, layout=layout)


def room_reflectances(
    home: Home, *, room: str, layout: Layout | None = None
) -> tuple[Reflectances, str]:
    """Reflectances of a room from the light reflectance values of its finishes.

    Walls are weighed by area; window glass at night counts as dark glass, or
    as the drapery that is drawn before it.

    Parameters
    ----------
    home : Home
        The home.
    room : str
        Room id.
    layout : Layout, optional
        Its drapery.

    Returns
    -------
    tuple of Reflectances and str
        The three, and in words what is assumed.

    Raises
    ------
    LookupFailed
        The room or a finish does not exist.
    """
    if room not in home.rooms:
        raise LookupFailed("room", given=room, allowed=", ".join(home.rooms))
    this = home.rooms[room]
    assumed: list[str] = []

    def of(finish: str, part: str) -> float:
        if not finish:
            assumed.append(part)
            return value(f"light.reflectance.{part}", home.rules)
        if finish not in home.finishes:
            raise LookupFailed(
                f"finish of the {part} in {room}",
                given=finish,
                allowed=", ".join(home.finishes),
                mend=f"nearest: {nearest(finish, home.finishes) or 'none'}",
            )
        lrv = resolve(home.finishes[finish], id=finish, overrides=home.rules).lrv
        return min(lrv / 100, value("light.reflectance.most", home.rules))

    areas = []
    for i, (a, b) in enumerate(zip(this.outline, (*this.outline[1:], this.outline[0]))):
        area = math.dist(a, b) * this.height
        wall = of(this.walls.get(str(i), this.wall), "wall")
        drapes = layout.drapes.values() if layout else ()
        for oid, opening in home.openings.items():
            if opening.room != room or opening.wall != i or opening.kind == "door":
                continue
            hole = opening.width * (opening.head - opening.sill)
            area -= hole
            if opening.kind == "passage":
                continue  # the light that leaves and returns is taken as that of a mean wall
            drawn = sum(_drawn(d) for d in drapes if d.opening == oid)
            glass = value("light.reflectance.glass", home.rules)
            cloth = next((of(d.finish, "wall") for d in drapes if d.opening == oid), glass)
            areas.append((hole, min(1.0, drawn) * cloth + (1 - min(1.0, drawn)) * glass))
        areas.append((max(0.0, area), wall))
    total = sum(area for area, _ in areas)
    found = Reflectances(
        ceiling=of(this.ceiling, "ceiling"),
        wall=sum(area * r for area, r in areas) / total,
        floor=of(this.floor, "floor"),
    )
    if not assumed:
        return found, "from the finishes"
    parts = " and ".join(dict.fromkeys(assumed))
    return found, f"from the finishes; {parts} not given, handbook value taken"


def _drawn(drape: Drape) -> float:
    """Share of the glass that drawn cloth covers."""
    return {"open": 0.0, "part": 0.5, "closed": 1.0}[drape.state]
