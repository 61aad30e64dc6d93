"""A space made ready for the search: its own frame, ways, windows and a grid of the floor.

The search works in a frame that is turned with the longest wall and centred on
the floor, so that a home that is drawn turned, moved or mirrored gives the
same sets of places and the same scores.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Home, Point
from designkit.plan.layouts.needs import floor_for, levels_of, needs_of, within
from designkit.plan.layouts.shell import (
    CELL,
    SLACK,
    Face,
    Frame,
    Grid,
    Need,
    Pane,
    Way,
    front_of,
)
from designkit.plan.openings import leaf_moves
from designkit.plan.outline import wall_runs
from designkit.plan.place import Placed
from designkit.plan.space import Space, spaces
from designkit.plan.swings import YOUNG
from designkit.reference import value

__all__ = [
    "CELL",
    "SLACK",
    "Face",
    "Frame",
    "Grid",
    "Ground",
    "Need",
    "Pane",
    "Way",
    "floor_for",
    "front_of",
    "ground_of",
    "levels_of",
    "shut_cells",
]

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

SEED = 0.09  # [m] cells nearer than this to a door's line belong to it
LARGEST_GRID = 1_500_000  # cells


@dataclass(frozen=True, kw_only=True, eq=False)
class Ground:
    """Everything about a space that does not change during a search."""

    home: Home
    rules: Mapping[str, float]
    space: Space
    rooms: tuple[str, ...]  # where pieces may stand
    frame: Frame
    floor: Polygon
    region: Polygon | MultiPolygon
    outlines: Mapping[str, Polygon]
    faces: tuple[Face, ...]
    ways: tuple[Way, ...]
    panes: tuple[Pane, ...]
    columns: tuple[Polygon, ...]
    solid: tuple[Polygon, ...]  # columns, bodies of services, open leaves
    barred: tuple[Polygon, ...]  # swings of doors, floor kept clear before services
    sockets: Array
    outlets: Array  # on the ceiling
    needs: tuple[Need, ...]
    minor: float
    grid: Grid
    levels: tuple[float, ...]  # widths that the grid looks at
    shut: tuple[Bools, ...]  # a level: cells that walls and solids close
    children: bool
    light: bool  # a window is there
    said: tuple[str, ...]  # limitations, in sentences
    seeds: Mapping[str, npt.NDArray[np.int64]] = field(default_factory=dict)
    kept: dict[str, Any] = field(default_factory=dict)  # what was worked out once

    def value(self, rule: str) -> float:
        """A rule's number, the project's own before the reference."""
        return value(rule, self.rules)

    @property
    def entrance(self) -> Way | None:
        """The way by which one comes in."""
        return next((way for way in self.ways if way.entrance), None)

    @functools.cached_property
    def open_floor(self) -> BaseGeometry:
        """The floor less what is built in; zones lie within it."""
        left: BaseGeometry = self.floor.buffer(1e-6, join_style="mitre")
        if self.solid_fixed:
            left = left.difference(shapely.union_all(list(self.solid_fixed)).buffer(-1e-6))
        shapely.prepare(left)
        return left

    @functools.cached_property
    def stand(self) -> BaseGeometry:
        """Floor on which a body may stand."""
        left: BaseGeometry = self.region.buffer(1e-6, join_style="mitre")
        taken = [*self.solid, *self.barred]
        if taken:
            left = left.difference(shapely.union_all(taken).buffer(-1e-6))
        shapely.prepare(left)
        return left

    @functools.cached_property
    def window_leaves(self) -> tuple[tuple[Polygon, float], ...]:
        """Floor that the leaves of windows sweep, a little less, and the sill of each."""
        out = []
        for at in self.space.openings:
            if at.opening.kind != "window":
                continue
            for leaf in at.leaves:
                if leaf.here:
                    swept = self.frame.shape(leaf.swing.buffer(-0.002))
                    shapely.prepare(swept)
                    out.append((_polygon(swept), leaf.base))
        return tuple(out)

    @property
    def solid_fixed(self) -> tuple[Polygon, ...]:
        """Columns and bodies of services."""
        return self.solid[: len(self.solid) - self._leaves]

    @property
    def _leaves(self) -> int:
        return sum(
            1
            for at in self.space.openings
            if at.opening.kind != "window"
            for leaf in at.leaves
            if leaf.here
        )


def _space_of(home: Home, name: str, rules: Mapping[str, float]) -> tuple[Space, tuple[str, ...]]:
    """A space by its id or by one room of it, and the rooms that pieces may stand in."""
    if not home.rooms:
        raise InputError("rooms", given=0, allowed="1 or more", mend="draw a room")
    every = spaces(home, overrides=rules)
    if name in every:
        return every[name], every[name].rooms
    for space in every.values():
        if name in space.rooms:
            return space, (name,)
    known = [*every, *home.rooms]
    near = nearest(name, known)
    raise LookupFailed(
        "space",
        given=name,
        allowed=", ".join(dict.fromkeys(known)),
        mend=f"write {near!r}" if near else "name a room, or rooms joined by +",
    )


def _turned(faces: Sequence[tuple[Point, Point]]) -> float:
    """Direction of the longest wall, within a quarter turn [°]."""
    longest = max(math.dist(a, b) for a, b in faces)
    found = []
    for a, b in faces:
        if math.dist(a, b) >= longest - 1e-6:
            angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 90.0
            found.append(round(min(angle, 90.0 - angle) * (1 if angle <= 45.0 else -1), 9))
    return min(found, key=lambda a: (abs(a), a)) + 0.0


def ground_of(
    home: Home,
    *,
    space: str,
    fixed: Mapping[str, Placed] | None = None,
    free: Sequence[str] = (),
    rules: Mapping[str, float] | None = None,
) -> Ground:
    """Make a space ready for a search.

    Parameters
    ----------
    home : Home
        The home.
    space : str
        A room, or rooms joined by "+"; pieces are placed in what is named,
        ways are looked at in the whole space.
    fixed : mapping of str to Placed, optional
        Pieces that stay where they are, in the home's frame.
    free : sequence of str, optional
        Ids of the pieces that are placed; a way may lead to one of them.
    rules : mapping of str to float, optional
        Rule values that go before those of the home.

    Returns
    -------
    Ground
        In the search's own frame.

    Raises
    ------
    LookupFailed
        There is no such space, or a way leads to what is not there.
    InputError
        The shell cannot be taken as written.
    """
    rules = {**home.rules, **(rules or {})}
    found, rooms = _space_of(home, space, rules)
    said = list(found.repairs)
    runs = [(run, room) for room in found.rooms for run in wall_runs(room, home.rooms[room])]
    angle = _turned([(run.start, run.end) for run, room in runs if room in rooms])
    plain = Frame(angle=angle, centre=(0.0, 0.0))
    x0, y0, x1, y1 = plain.shape(shapely.union_all([found.outlines[r] for r in rooms])).bounds
    local = Frame(angle=angle, centre=((x0 + x1) / 2, (y0 + y1) / 2))
    floor = local.shape(found.polygon)
    assert isinstance(floor, Polygon)
    outlines = {room: _polygon(local.shape(found.outlines[room])) for room in found.rooms}
    region: BaseGeometry = shapely.union_all([outlines[room] for room in rooms])
    if len(rooms) > 1:
        region = floor
    assert isinstance(region, Polygon | MultiPolygon)
    ways, panes = _openings(home, found, local, rules)
    columns = tuple(_polygon(local.shape(c.polygon)) for c in found.columns)
    services, clear = _services(found, local, rules)
    leaves, swings = [], []
    for at in found.openings:
        if at.opening.kind == "window":
            continue
        for leaf in at.leaves:
            if leaf.here:
                leaves.append(_polygon(local.shape(leaf.body)))
                swings.append(_polygon(local.shape(leaf.swing)))
    sockets = [s.service.at for s in found.services if s.service.kind in ("socket", "wall outlet")]
    outlets = [s.service.at for s in found.services if s.service.kind == "ceiling outlet"]
    faces = tuple(
        _face(run.room, run.walls, run.start, run.end, run.length, run.inward, found, local)
        for run, room in runs
        if room in rooms and run.length > 1e-3
    )
    solid = (*columns, *services, *leaves)
    grid = _grid(floor)
    minor = value("plan.route.minor", rules)
    needs, more = needs_of(home, found, local, ways, fixed or {}, free, rules)
    said += more
    entry = next((way for way in ways if way.entrance), None)
    if entry is not None and entry.clear < minor - 1e-9:
        said.append(
            f"The {entry.name} is {entry.clear:.2f} m clear and a way to a piece is asked to be "
            f"{minor:.2f} m wide; pieces are reached by ways of {entry.clear:.2f} m."
        )
        minor = entry.clear
    if not ways:
        said.append("No door is drawn: ways through the room are not looked at.")
    if not any(pane.window for pane in panes):
        said.append("No window is drawn: view, daylight and glare are left out of the score.")
    levels = levels_of(needs, minor)
    shut = shut_cells(floor, solid, ways, grid, levels)
    kids = any(
        (
            (person.age is not None and person.age < value("plan.window.child_age", rules))
            and not person.role.lower().startswith(("cat", "dog"))
        )
        or (person.age is None and any(word in person.role.lower() for word in YOUNG))
        for person in home.brief.people
    )
    return Ground(
        home=home,
        rules=rules,
        space=found,
        rooms=tuple(rooms),
        frame=local,
        floor=floor,
        region=region,
        outlines=outlines,
        faces=faces,
        ways=ways,
        panes=panes,
        columns=columns,
        solid=solid,
        barred=(*swings, *clear),
        sockets=local.inward(np.array(sockets).reshape(-1, 2)),
        outlets=local.inward(np.array(outlets).reshape(-1, 2)),
        needs=needs,
        minor=minor,
        grid=grid,
        levels=levels,
        shut=shut,
        children=kids,
        light=any(pane.window for pane in panes),
        said=tuple(said),
        seeds=_seeds(grid, needs, ways),
    )


def _polygon(shape: BaseGeometry) -> Polygon:
    assert isinstance(shape, Polygon)
    return shape


def _face(
    room: str,
    walls: Sequence[int],
    start: Point,
    end: Point,
    length: float,
    inward: Point,
    space: Space,
    local: Frame,
) -> Face:
    a, b = local.inward(np.array([start, end]))
    u = (b - a) / length
    spans = []
    for at in space.openings:
        if at.room != room:
            continue
        ends = local.inward(np.array([at.left, at.right])) - a
        off = np.abs(ends @ np.array([-u[1], u[0]]))
        if off.max() < 0.02:
            t = ends @ u
            spans.append((float(t.min()), float(t.max()), at.opening.kind))
    return Face(
        name=f"{room} wall {walls[0]}",
        room=room,
        start=(float(a[0]), float(a[1])),
        end=(float(b[0]), float(b[1])),
        length=length,
        inward=local.way(inward),
        spans=tuple(sorted(spans)),
    )


def _openings(
    home: Home, space: Space, local: Frame, rules: Mapping[str, float]
) -> tuple[tuple[Way, ...], tuple[Pane, ...]]:
    ways: list[Way] = []
    panes: list[Pane] = []
    front = value("plan.clear.door_front_width", rules)
    outs = [at for at in space.openings if at.opening.kind != "window" and not within(at, space)]
    entry = next((at.id for at in outs if at.to in ("stair", "outside", "lift", "landing")), "")
    if not entry:
        entry = next((at.id for at in outs if at.opening.kind != "balcony"), "")
    if not entry and outs:
        entry = outs[0].id
    drop = value("plan.window.drop", rules)
    for at in space.openings:
        plain = at.opening
        pts = local.inward(
            np.array([at.clear_left, at.clear_right, at.left, at.right, at.centre], dtype=float)
        )
        p = [(float(x), float(y)) for x, y in pts]
        inward = local.way(at.inward)
        if plain.kind != "window":
            to = home.rooms[at.to].name if at.to in home.rooms else at.to
            use = home.rooms[at.to].use if at.to in home.rooms else ""
            ways.append(
                Way(
                    id=at.id,
                    name=plain.name or f"{plain.kind} to the {to}",
                    to=at.to,
                    line=(p[0], p[1]),
                    centre=p[4],
                    inward=inward,
                    clear=at.clear,
                    need=min(front, at.clear),
                    out=not within(at, space),
                    kitchen="kitchen" in f"{at.to} {to} {use}".lower(),
                    entrance=at.id == entry and not at.far,
                )
            )
        if plain.kind in ("window", "balcony") and not at.far:
            opens = leaf_moves(plain) != "none" or plain.leaf == "hung"
            panes.append(
                Pane(
                    id=at.id,
                    name=plain.name or plain.kind,
                    left=p[2],
                    right=p[3],
                    centre=p[4],
                    inward=inward,
                    width=plain.width,
                    sill=plain.sill,
                    head=plain.head,
                    view=bool(plain.view),
                    climbed=plain.kind == "window"
                    and opens
                    and plain.to not in home.rooms
                    and (plain.drop_outside is None or plain.drop_outside > drop),
                    window=True,
                )
            )
    return tuple(ways), tuple(panes)


def _services(
    space: Space, local: Frame, rules: Mapping[str, float]
) -> tuple[list[Polygon], list[Polygon]]:
    low, high = value("plan.clear.rug", rules), value("plan.clear.walk_under", rules)
    bodies, clear = [], []
    for service in space.services:
        if service.body is not None and service.base < high and service.top > low:
            bodies.append(_polygon(local.shape(service.body)))
        if service.clear is not None:
            clear.append(_polygon(local.shape(service.clear)))
    return bodies, clear


def _grid(floor: Polygon) -> Grid:
    x0, y0, x1, y1 = floor.bounds
    # Symmetric about the floor's own middle, so that a mirrored room has the same cells.
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    half_x = math.ceil((x1 - x0) / 2 / CELL - 1e-9)
    half_y = math.ceil((y1 - y0) / 2 / CELL - 1e-9)
    cols, rows = 2 * half_x, 2 * half_y
    if cols * rows > LARGEST_GRID:
        raise InputError(
            "space",
            given=f"{x1 - x0:.0f} × {y1 - y0:.0f} m",
            allowed=f"at most {LARGEST_GRID * CELL * CELL:.0f} m² for a search",
            mend="check the unit, or name one room",
        )
    left, low = cx - CELL * (half_x - 0.5), cy - CELL * (half_y - 0.5)
    x, y = np.meshgrid(left + CELL * np.arange(cols), low + CELL * np.arange(rows))
    shapely.prepare(floor)
    inside = np.asarray(shapely.contains_xy(floor, x, y))
    return Grid(x0=left, y0=low, cols=cols, rows=rows, inside=inside)


def shut_cells(
    floor: Polygon,
    solid: Sequence[Polygon],
    ways: Sequence[Way],
    grid: Grid,
    levels: Sequence[float],
) -> tuple[Bools, ...]:
    """Cells from which a wall or a built thing is nearer than a way allows.

    Parameters
    ----------
    floor : Polygon
        The whole floor, in the search's frame.
    solid : sequence of Polygon
        Columns, services, open leaves.
    ways : sequence of Way
        Those that lead out are gaps in the walls.
    grid : Grid
        The cells.
    levels : sequence of float
        Widths. [m]

    Returns
    -------
    tuple of array of bool
        One a level, rows × columns.
    """
    walls: BaseGeometry = floor.boundary
    gaps = [LineString(way.line) for way in ways if way.out]
    if gaps:
        walls = walls.difference(shapely.union_all(gaps).buffer(1e-4))
    things = shapely.union_all([walls, *solid])
    x, y = grid.centres[:, 0], grid.centres[:, 1]
    out = []
    for width in levels:
        reach = max(0.0, (width - SLACK) / 2)
        # The buffer lies within the true one: never too much is closed.
        grown = things.buffer(reach, quad_segs=16)
        shapely.prepare(grown)
        blocked = shapely.contains_xy(grown, x, y)
        out.append(blocked.reshape(grid.rows, grid.cols) | ~grid.inside)
    return tuple(out)


def _near_cells(grid: Grid, shape: BaseGeometry, within: float) -> npt.NDArray[np.int64]:
    grown = shape.buffer(within, quad_segs=16)
    shapely.prepare(grown)
    hit = shapely.contains_xy(grown, grid.centres[:, 0], grid.centres[:, 1])
    return np.flatnonzero(hit & grid.inside.ravel()).astype(np.int64)


def _seeds(
    grid: Grid, needs: Sequence[Need], ways: Sequence[Way]
) -> dict[str, npt.NDArray[np.int64]]:
    out: dict[str, npt.NDArray[np.int64]] = {}
    for way in ways:
        if way.out:
            out[f"way {way.id}"] = _near_cells(grid, LineString(way.line), SEED)
    for need in needs:
        for word, shape in (("start", need.start_at), ("end", need.end_at)):
            if shape is not None:
                # A strip arrives at an area with its edge, at a door with its middle.
                reach = SEED if isinstance(shape, LineString) else need.width / 2 + SEED
                out[f"{word} {need.id}"] = _near_cells(grid, shape, reach)
    return out
