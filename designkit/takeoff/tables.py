"""The furniture schedule and the finish schedule, each for a named audience.

A table holds only the columns of its audience: what a client must not read
(net prices, suppliers, margin, notes of the studio) is never in it, rather than
hidden later.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine, Finish, Layout, Project
from designkit.palette.finishes import NOT_SAID
from designkit.takeoff.surfaces import column_faces, floor_area, room_at, wall_faces, wall_name

__all__ = [
    "Audience",
    "Cell",
    "Table",
    "columns_of",
    "finish_schedule",
    "furniture_schedule",
    "layout_of",
]

Audience = Literal["client", "trade", "studio"]
Cell = str | int | float | Decimal | None

_FURNITURE: dict[str, tuple[str, ...]] = {
    "client": (
        "item",
        "what",
        "kind",
        "width",
        "depth",
        "height",
        "finish",
        "quantity",
        "room",
        "status",
        "lead weeks",
    ),
    "trade": (
        "item",
        "what",
        "kind",
        "width",
        "depth",
        "height",
        "finish",
        "quantity",
        "room",
        "supplier",
        "status",
        "lead weeks",
    ),
    "studio": (
        "item",
        "what",
        "kind",
        "width",
        "depth",
        "height",
        "finish",
        "quantity",
        "room",
        "supplier",
        "status",
        "lead weeks",
        "trade price",
        "client price",
        "note",
    ),
}
_FINISH: dict[str, tuple[str, ...]] = {
    "client": ("room", "surface", "finish", "what", "kind", "sheen", "LRV", "area"),
    "trade": ("room", "surface", "finish", "what", "kind", "sheen", "LRV", "known", "area"),
    "studio": ("room", "surface", "finish", "what", "kind", "sheen", "LRV", "known", "area"),
}
# What a client reads about a line: how firm a price is stays in the studio.
_CLIENT_STATUS = {
    "guess": "proposed",
    "catalogue": "proposed",
    "quoted": "proposed",
    "ordered": "ordered",
    "paid": "ordered",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Table:
    """Rows for one audience; every row has exactly the columns."""

    name: str
    audience: Audience
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, Cell], ...]


def _audience(audience: str) -> None:
    if audience not in get_args(Audience):
        raise InputError(
            "audience",
            given=audience,
            allowed=", ".join(get_args(Audience)),
            mend="name who will read it",
        )


def columns_of(audience: Audience) -> tuple[str, ...]:
    """All columns that an audience reads in the two schedules.

    Parameters
    ----------
    audience : {"client", "trade", "studio"}
        Who reads it.

    Returns
    -------
    tuple of str
        Each once.

    Raises
    ------
    InputError
        Unknown audience.

    Examples
    --------
    >>> "supplier" in columns_of("client")
    False
    """
    _audience(audience)
    return tuple(dict.fromkeys((*_FURNITURE[audience], *_FINISH[audience])))


def layout_of(project: Project, layout: str) -> tuple[str, Layout]:
    """A layout by its id, or the project's current one.

    Parameters
    ----------
    project : Project
        The project.
    layout : str
        Layout id; "": the current one.

    Returns
    -------
    tuple of str and Layout
        Its id and itself.

    Raises
    ------
    LookupFailed
        There is no such layout.
    """
    name = layout or project.home.layout or next(iter(project.home.layouts), "")
    if name not in project.home.layouts:
        near = nearest(name, project.home.layouts)
        raise LookupFailed(
            "layout",
            given=name or "none",
            allowed=", ".join(project.home.layouts) or "none is in the project",
            mend=f"write {near!r}" if near else "write one under [layouts]",
        )
    return name, project.home.layouts[name]


def _without(text: str, names: Iterable[str]) -> str:
    """Text for a client: a supplier's name in free text is replaced, in plain sight."""
    for name in names:
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", "(supplier)", text, flags=re.IGNORECASE)
    return text


def _suppliers(project: Project) -> list[str]:
    # Longest first: "Supplier 12" must not be cut short by "Supplier 1".
    return sorted({c.supplier.strip() for c in project.costs} - {""}, key=lambda s: (-len(s), s))


def _line_for(item: str, costs: tuple[CostLine, ...]) -> CostLine | None:
    """The purchase line of a piece; alternatives come last."""
    mine = [c for c in costs if c.piece == item]
    mine.sort(key=lambda c: (c.kind != "purchase", bool(c.alternative_of)))
    return mine[0] if mine else None


def _cut(
    name: str,
    audience: Audience,
    columns: tuple[str, ...],
    rows: Iterable[dict[str, Cell]],
    suppliers: list[str],
) -> Table:
    cleaned = []
    for row in rows:
        kept: dict[str, Cell] = {column: row[column] for column in columns}
        if audience == "client":
            kept = {k: _without(v, suppliers) if isinstance(v, str) else v for k, v in kept.items()}
        cleaned.append(kept)
    return Table(name=name, audience=audience, columns=columns, rows=tuple(cleaned))


def furniture_schedule(project: Project, *, layout: str = "", audience: Audience) -> Table:
    """Every piece, luminaire and drapery of a layout, counted by room.

    Parameters
    ----------
    project : Project
        The project.
    layout : str, optional
        Layout id; "": the current one.
    audience : {"client", "trade", "studio"}
        Who reads it.

    Returns
    -------
    Table
        Sizes in metres; a row an item and room, in the order of the layout.
        Lead weeks and status are those of the item's cost line, None and "to
        choose" where it has none.

    Raises
    ------
    InputError
        Unknown audience.
    LookupFailed
        Unknown layout, piece or fixture.
    """
    _audience(audience)
    _, plan = layout_of(project, layout)
    home = project.home
    counted: dict[tuple[str, str], int] = {}
    facts: dict[str, dict[str, Cell]] = {}

    def add(item: str, room: str, count: int) -> None:
        counted[item, room] = counted.get((item, room), 0) + count

    def piece(item: str, used_by: str) -> None:
        if item in facts:
            return
        if item not in home.pieces:
            raise LookupFailed(
                f"layouts: piece of {used_by}",
                given=item,
                allowed=", ".join(home.pieces),
                mend=f"did you mean {nearest(item, home.pieces) or 'one of these'}?",
            )
        it = home.pieces[item]
        facts[item] = {
            "what": it.name,
            "kind": it.kind,
            "width": it.size[0],
            "depth": it.size[1],
            "height": it.size[2],
            "finish": _finish_words(home.finishes, it.finish, *it.finishes.values()),
            "note": it.note,
        }

    for name, placed in plan.pieces.items():
        item = placed.item or name
        piece(item, name)
        room = placed.room or room_at(home, placed.at)
        add(item, room, 1)
        chairs = home.pieces[item].chairs
        if chairs is not None:
            seats = chairs.front + chairs.back + chairs.left + chairs.right + chairs.around
            if seats:
                piece(chairs.piece, name)
                add(chairs.piece, room, seats)
    for name, lamp in plan.lamps.items():
        if lamp.fixture not in home.fixtures:
            raise LookupFailed(
                f"layouts: fixture of {name}",
                given=lamp.fixture,
                allowed=", ".join(home.fixtures),
                mend=f"did you mean {nearest(lamp.fixture, home.fixtures) or 'one of these'}?",
            )
        fixture = home.fixtures[lamp.fixture]
        facts[lamp.fixture] = {
            "what": fixture.name,
            "kind": fixture.kind,
            "width": fixture.size[0],
            "depth": fixture.size[1],
            "height": fixture.size[2],
            "finish": _finish_words(home.finishes, fixture.finish),
            "note": "",
        }
        room = ""
        if lamp.service in home.services:
            room = home.services[lamp.service].room
        elif lamp.at is not None:
            room = room_at(home, lamp.at)
        for host in (lamp.on, lamp.over):
            if not room and host in plan.pieces:
                room = plan.pieces[host].room or room_at(home, plan.pieces[host].at)
        add(lamp.fixture, room, 1)
    for name, drape in plan.drapes.items():
        opening = home.openings.get(drape.opening)
        item = f"drapery {name}"
        facts[item] = {
            "what": f"Drapery, {drape.heading} heading, {drape.mount} track",
            "kind": "drapery",
            "width": drape.track,
            "depth": None,
            "height": None,
            "finish": _finish_words(home.finishes, drape.finish),
            "note": "",
        }
        add(item, opening.room if opening else "", 1)

    rows: list[dict[str, Cell]] = []
    for (item, room), count in counted.items():
        line = _line_for(item.removeprefix("drapery "), project.costs)
        status: str = line.status if line else "to choose"
        if audience == "client":
            status = _CLIENT_STATUS.get(status, status)
        notes = [str(facts[item]["note"] or ""), line.note if line else ""]
        rows.append(
            {
                **facts[item],
                "item": item,
                "quantity": count,
                "room": home.rooms[room].name if room in home.rooms else "",
                "supplier": line.supplier if line else "",
                "status": status,
                "lead weeks": line.lead_time if line else None,
                "trade price": line.trade_price if line else None,
                "client price": line.client_price if line else None,
                "note": "; ".join(n for n in notes if n),
            }
        )
    return _cut("furniture schedule", audience, _FURNITURE[audience], rows, _suppliers(project))


def _finish_words(finishes: Mapping[str, Finish], *ids: str) -> str:
    names = [finishes[i].name if i in finishes else i for i in ids if i]
    return ", ".join(dict.fromkeys(names))


def _lrv(finish: Finish | None) -> float | None:
    """The light reflectance value where every colour of the finish has one."""
    if finish is None or any(c.lrv is None for c in finish.colours):
        return None
    shares = sum(c.share for c in finish.colours)
    return sum(c.share * (c.lrv or 0.0) for c in finish.colours) / shares if shares else None


def finish_schedule(project: Project, *, audience: Audience) -> Table:
    """Every surface of every room with its finish and net area.

    Parameters
    ----------
    project : Project
        The project.
    audience : {"client", "trade", "studio"}
        Who reads it.

    Returns
    -------
    Table
        A row a room and surface, areas net of openings [m²]. LRV only where it
        was given: a value from a screen colour belongs to the palette study.
        A surface without a finish says "not chosen".

    Raises
    ------
    InputError
        Unknown audience.
    """
    _audience(audience)
    home = project.home
    rows: list[dict[str, Cell]] = []

    def add(room: str, surface: str, finish: str, area: float) -> None:
        it = home.finishes.get(finish)
        rows.append(
            {
                "room": home.rooms[room].name,
                "surface": surface,
                "finish": finish or "not chosen",
                "what": it.name if it else "",
                "kind": it.kind if it else "",
                "sheen": (it.sheen or NOT_SAID) if it else "",
                "LRV": _lrv(it),
                "known": it.known.source if it else "",
                "area": area,
            }
        )

    for name, room in home.rooms.items():
        area = floor_area(room)
        add(name, "floor", room.floor, area)
        for face in wall_faces(home, name):
            add(name, wall_name(face.wall), face.finish, face.net)
        for column in column_faces(home, name):
            add(name, f"column {column.column + 1}", column.finish, column.length * column.height)
        add(name, "ceiling", room.ceiling, area)
    return _cut("finish schedule", audience, _FINISH[audience], rows, _suppliers(project))
