"""Everything that stands, hangs or lies in the rooms, as upright prisms.

A piece or a lamp is its parts, a column is a prism from floor to ceiling,
drapery is a prism from the wall to the front of its folds where it hangs:
open, part drawn or closed. Surfaces and rays both start from this one list.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import shapely
from shapely.geometry import Point, Polygon

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Home, Layout, digest
from designkit.plan.drapery import drapery
from designkit.plan.place import Placed, place_home, place_lamps
from designkit.plan.space import Space, Wall, spaces

__all__ = ["Shell", "Solid", "shell", "solids"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Solid:
    """An upright prism in the home's frame."""

    owner: str  # placement, lamp, drape or "living.column1"
    item: str  # piece, fixture, drape or "living.columns": what is chosen as one
    kind: str  # piece, lamp, drapery, column
    part: str
    footprint: Polygon
    base: float  # [m]
    top: float  # [m]
    finish: str  # "": none given
    transmits: bool = False
    room: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Shell:
    """The rooms that are looked at: outlines, walls and the spaces they are in."""

    rooms: tuple[str, ...]
    spaces: tuple[Space, ...]
    outlines: Mapping[str, Polygon]
    heights: Mapping[str, float]
    walls: Mapping[str, tuple[Wall, ...]]
    polygon: shapely.Geometry  # of these rooms together, with the passages between them

    def room_at(self, point: tuple[float, float]) -> str:
        """The room that holds a point, or an empty string.

        Parameters
        ----------
        point : (float, float)
            On the plan. [m]

        Returns
        -------
        str
            The room's id.
        """
        spot = Point(point)
        for room, outline in self.outlines.items():
            if outline.intersects(spot):
                return room
        return ""


_SPACES: OrderedDict[str, dict[str, Space]] = OrderedDict()
_KEPT = 16


def _spaces(home: Home) -> dict[str, Space]:
    key = digest(home.rooms, home.openings, home.services, home.rules)
    found = _SPACES.get(key)
    if found is None:
        found = _SPACES[key] = spaces(home)
        if len(_SPACES) > _KEPT:
            _SPACES.popitem(last=False)
    return found


def shell(home: Home, *, rooms: Collection[str] | None = None) -> Shell:
    """The rooms that are asked for, all where none is named.

    Parameters
    ----------
    home : Home
        The home.
    rooms : collection of str, optional
        Room ids.

    Returns
    -------
    Shell
        Rooms in the order of the project.

    Raises
    ------
    LookupFailed
        There is no such room.
    InputError
        The home has no room, or a room, wall or opening cannot be.
    """
    for id in rooms or ():
        if id not in home.rooms:
            raise LookupFailed(
                "room",
                given=id,
                allowed=", ".join(home.rooms),
                mend=f"nearest: {nearest(id, home.rooms) or 'none'}",
            )
    chosen = tuple(id for id in home.rooms if rooms is None or id in rooms)
    if not chosen:
        raise InputError("rooms", given="none", allowed="one or more", mend="draw a room first")
    held = [s for s in _spaces(home).values() if any(r in chosen for r in s.rooms)]
    outlines = {r: s.outlines[r] for s in held for r in s.rooms if r in chosen}
    whole = [s.polygon if all(r in chosen for r in s.rooms) else None for s in held]
    parts = [p for p in whole if p is not None] + list(outlines.values())
    return Shell(
        rooms=chosen,
        spaces=tuple(held),
        outlines={r: outlines[r] for r in chosen},
        heights={r: home.rooms[r].height for r in chosen},
        walls={r: tuple(w for s in held for w in s.walls if w.room == r) for r in chosen},
        polygon=shapely.union_all(parts),
    )


def _find(what: str, id: str, table: Mapping[str, object]) -> None:
    if id not in table:
        raise LookupFailed(
            what,
            given=id,
            allowed=", ".join(table) or "none is there yet",
            mend=f"nearest: {nearest(id, table) or 'none'}",
        )


def _drapes(home: Home, layout: Layout, rooms: Shell) -> list[Solid]:
    found: list[Solid] = []
    for id, drape in layout.drapes.items():
        _find(f"opening of drape {id}", drape.opening, home.openings)
        opening = home.openings[drape.opening]
        if opening.room not in rooms.rooms:
            continue
        wall = rooms.walls[opening.room][opening.wall]
        geometry = drapery(
            drape,
            opening=opening,
            wall=(wall.start, wall.end),
            inward=wall.inward,
            ceiling=rooms.heights[opening.room],
            overrides=home.rules,
        )
        along = (
            (wall.end[0] - wall.start[0]) / wall.length,
            (wall.end[1] - wall.start[1]) / wall.length,
        )
        for curtain in geometry.states[drape.state]:
            # Nobody looks into the gap behind the cloth: the prism fills it.
            far = max(
                (x - wall.start[0]) * wall.inward[0] + (y - wall.start[1]) * wall.inward[1]
                for x, y in curtain.footprint.exterior.coords
            )
            corners = [
                (
                    wall.start[0] + s * along[0] + t * wall.inward[0],
                    wall.start[1] + s * along[1] + t * wall.inward[1],
                )
                for s, t in (
                    (curtain.start, 0.0),
                    (curtain.end, 0.0),
                    (curtain.end, far),
                    (curtain.start, far),
                )
            ]
            found.append(
                Solid(
                    owner=id,
                    item=id,
                    kind="drapery",
                    part=curtain.side,
                    footprint=Polygon(corners),
                    base=curtain.base,
                    top=curtain.top,
                    finish=drape.finish,
                    room=opening.room,
                )
            )
    return found


def solids(
    home: Home,
    layout: Layout,
    *,
    rooms: Collection[str] | None = None,
    placed: Mapping[str, Placed] | None = None,
) -> tuple[Solid, ...]:
    """Everything in the rooms, as prisms.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        What stands where.
    rooms : collection of str, optional
        Only what stands in these; all rooms where missing.
    placed : mapping of str to Placed, optional
        The pieces where they stand, if they have been placed already.

    Returns
    -------
    tuple of Solid
        Pieces, then lamps, columns and drapery, in the order of the project.
        What stands outside the rooms is not among them.

    Raises
    ------
    LookupFailed
        A room, fixture, opening, service or piece is not in the project.
    InputError
        Something has no place, or a size that cannot be.
    """
    inside = shell(home, rooms=rooms)
    if placed is None:
        placed = place_home(home, layout)
    found: list[Solid] = []
    for id, thing in (*placed.items(), *place_lamps(home, layout, placed).items()):
        room = thing.room or inside.room_at(thing.at)
        if room not in inside.rooms:
            continue
        # What reaches higher than the ceiling is cut there; the plan says so.
        ceiling = inside.heights[room]
        found.extend(
            Solid(
                owner=id,
                item=thing.item,
                kind=thing.kind_of_thing,
                part=part.name,
                footprint=part.footprint,
                base=part.base,
                top=min(part.top, ceiling),
                finish=part.finish,
                transmits=part.transmits,
                room=room,
            )
            for part in thing.parts
            if min(part.top, ceiling) > part.base
        )
    found.extend(
        Solid(
            owner=column.id,
            item=f"{column.room}.columns",
            kind="column",
            part="column",
            footprint=column.polygon,
            base=0.0,
            top=inside.heights[column.room],
            finish=column.finish,
            room=column.room,
        )
        for space in inside.spaces
        for column in space.columns
        if column.room in inside.rooms
    )
    found.extend(_drapes(home, layout, inside))
    return tuple(found)
