"""What is made for the home beside cloth and paper: canvases, tops, floor boxes.

Read from the project: a piece of kind "canvas", "glass top" or "stone top" is
such a thing; floor boxes follow from the layout.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from designkit.model import Home, Layout, Room
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed, place_home, place_lamps
from designkit.reference.buildings import counts_as_old
from designkit.takeoff.canvas import Canvas, canvas
from designkit.takeoff.floor_boxes import Covered, FloorBoxes, Need, Outlet, floor_boxes
from designkit.takeoff.lines import (
    Share,
    System,
    TakeoffLine,
    area_text,
    attempted,
    cable_text,
    length_text,
    run_text,
)
from designkit.takeoff.surfaces import column_outline, room_at, room_outline
from designkit.takeoff.tops import material_of, top_of

__all__ = [
    "RoomBoxes",
    "built_lines",
    "is_picture",
    "needs_by_room",
    "room_boxes",
    "stretched",
]

_STANDING = ("floor lamp", "table lamp")
_POWERED = ("desk", "screen")
_UNDER = ("sofa", "table", "bed")  # forms that a hand reaches under


def is_picture(kind: str) -> bool:
    """Whether a kind of piece can be a stretched canvas.

    Parameters
    ----------
    kind : str
        Of the piece.

    Returns
    -------
    bool
        True for a canvas and a picture.

    Examples
    --------
    >>> is_picture("canvas"), is_picture("mirror")
    (True, False)
    """
    return kind.lower() in ("canvas", "picture")


def stretched(
    home: Home,
    *,
    piece: str,
    plan: Layout | None = None,
    bar_depth: float | None = None,
    turn: float | None = None,
    roll: float | None = None,
    count: int | None = None,
    system: System = "metric",
) -> Canvas:
    """A picture of the home as a stretched canvas.

    Parameters
    ----------
    home : Home
        The home.
    piece : str
        Piece id of the picture; its depth is that of the bars.
    plan : Layout, optional
        Says how many there are; one where it is not placed.
    bar_depth, turn, roll : float, optional
        In place of the piece's depth and the rules. [m]
    count : int, optional
        In place of the layout's number.
    system : {"metric", "US"}, optional
        For the words.

    Returns
    -------
    Canvas
        Cut, plan on the roll, bars and weight.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    """
    thing, building = home.pieces[piece], home.building
    here = 0
    if plan is not None:
        here = sum((p.item or id) == piece for id, p in plan.pieces.items())
    return canvas(
        (thing.size[0], thing.size[2]),
        bar_depth=thing.size[1] if bar_depth is None else bar_depth,
        turn=turn,
        count=max(1, here) if count is None else count,
        roll=roll,
        walls=building.walls,
        drill_gate=counts_as_old(building, overrides=home.rules) and building.sampled != "yes",
        system=system,
        overrides=home.rules,
    )


# --- floor boxes ------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True, eq=False)
class RoomBoxes:
    """Outlets in the floor of a room, and what stands round them."""

    room: Room
    placed: tuple[Placed, ...]  # furniture and standing lamps in the room
    outlets: tuple[Outlet, ...]
    result: FloorBoxes


def _floor_of(room: Room) -> BaseGeometry:
    columns = unary_union([column_outline(c) for c in room.columns])
    return room_outline(room).difference(columns)


def _in_room(home: Home, thing: Placed) -> str:
    return thing.room or room_at(home, thing.at)


def _named(kind: str, id: str) -> str:
    """An outlet in words: its id without the kind, as "socket east"."""
    rest = " ".join(w for w in id.split("_") if w not in kind.split())
    return f"{kind} {rest}".strip()


def _needs(
    home: Home, placed: Mapping[str, Placed], lamps: Mapping[str, Placed], *, seats: bool
) -> list[Need]:
    found = []
    for id, lamp in lamps.items():
        fixture = home.fixtures[lamp.item]
        if fixture.kind in _STANDING:
            up = max(0.0, lamp.base)
            found.append(Need(id=id, name=fixture.name, kind="lamp", at=lamp.at, up=up))
    for id, thing in placed.items():
        kind, name = thing.piece.kind.lower(), thing.piece.name
        if kind in _POWERED:
            screen = kind == "screen"
            found.append(
                Need(
                    id=id,
                    name=name,
                    kind="screen" if screen else "desk",
                    at=thing.at,
                    up=thing.base if screen else 0.0,
                )
            )
        elif seats and thing.seats and kind_of(thing.piece).form == "sofa":
            at = thing.footprint.centroid
            same = [k for k, t in placed.items() if t.item == thing.item]
            if len(same) > 1:
                name += f" {same.index(id) + 1}"
            found.append(Need(id=id, name=name, kind="seat", at=(float(at.x), float(at.y))))
    return found


def needs_by_room(home: Home, plan: Layout) -> dict[str, tuple[Need, ...]]:
    """What may be plugged in, room by room: lamps, desks, screens and seats.

    Parameters
    ----------
    home : Home
        The home.
    plan : Layout
        One arrangement.

    Returns
    -------
    dict of str to tuple of Need
        Rooms where there is something, by their id.
    """
    placed = place_home(home, plan)
    found: dict[str, list[Need]] = {id: [] for id in home.rooms}
    for need in _needs(home, placed, place_lamps(home, plan, placed), seats=True):
        room = room_at(home, need.at)
        if room in found:
            found[room].append(need)
    return {id: tuple(needs) for id, needs in found.items() if needs}


def room_boxes(
    home: Home,
    plan: Layout,
    *,
    room: str,
    seats: bool = False,
    cord: float | None = None,
    build_up: float | None = None,
    lid: str = "as the floor",
    system: System = "metric",
) -> RoomBoxes:
    """Outlets in the floor of a room, where furniture stands away from the walls.

    Parameters
    ----------
    home : Home
        The home.
    plan : Layout
        One arrangement.
    room : str
        Room id.
    seats : bool, optional
        True: an outlet at each sofa and armchair too.
    cord : float, optional
        Of what is plugged in; by default `takeoff.floor_box.cord`. [m]
    build_up : float, optional
        Depth of the floor above its slab; None: not known. [m]
    lid : str, optional
        Its finish, in words.
    system : {"metric", "US"}, optional
        For the words.

    Returns
    -------
    RoomBoxes
        The fewest boxes, their places and their cable.

    Raises
    ------
    InputError
        A length is not above zero.
    """
    every = place_home(home, plan)
    placed = {id: t for id, t in every.items() if _in_room(home, t) == room}
    lamps = {
        id: t
        for id, t in place_lamps(home, plan, every).items()
        if _in_room(home, t) == room and home.fixtures[t.item].kind in _STANDING
    }
    covers, rugs = [], []
    for thing in placed.values():
        form = kind_of(thing.piece).form
        shape = thing.footprint
        if form == "rug":
            rugs.append(shape)
        elif thing.base < 0.1 and isinstance(shape, Polygon):
            covers.append(Covered(name=thing.piece.name, shape=shape, box=form in _UNDER))
    outlets = tuple(
        Outlet(
            id=id,
            name=it.name or _named(it.kind, id),
            at=it.at,
            height=it.height,
            plug=it.kind != "panel",
        )
        for id, it in home.services.items()
        if it.room == room and it.kind in ("socket", "wall outlet", "panel")
    )
    result = floor_boxes(
        _needs(home, placed, lamps, seats=seats),
        room=_floor_of(home.rooms[room]),
        outlets=outlets,
        furniture=covers,
        rugs=rugs,
        cord=cord,
        build_up=build_up,
        lid=lid,
        system=system,
        overrides=home.rules,
    )
    return RoomBoxes(
        room=home.rooms[room],
        placed=(*placed.values(), *lamps.values()),
        outlets=outlets,
        result=result,
    )


# --- lines of the list --------------------------------------------------------------


def built_lines(
    home: Home, plan: Layout, *, system: System, missing: list[str]
) -> list[TakeoffLine]:
    """Canvases and tops that the project asks for, and floor boxes that its layout needs.

    Parameters
    ----------
    home : Home
        The home.
    plan : Layout
        One arrangement.
    system : {"metric", "US"}
        For the words.
    missing : list of str
        Gets what could not be worked out.

    Returns
    -------
    list of TakeoffLine
        Canvases, tops, then boxes room by room.
    """
    found = []
    for id, it in home.pieces.items():
        if it.kind.lower() == "canvas":
            found += attempted(it.name, partial(_canvas_line, home, plan, id, system), missing)
    for id, it in home.pieces.items():
        if material_of(it) is not None:
            found += attempted(it.name, partial(_top_line, home, plan, id, system), missing)
    for room, needs in needs_by_room(home, plan).items():
        if any(need.kind != "seat" for need in needs):
            made = room_boxes(home, plan, room=room, system=system)
            if made.result.boxes:
                found.append(_box_line(room, made, system))
    return found


def _where(home: Home, plan: Layout, piece: str) -> tuple[str, ...]:
    rooms = [
        p.room or room_at(home, p.at) for id, p in plan.pieces.items() if (p.item or id) == piece
    ]
    return tuple(dict.fromkeys(r for r in rooms if r in home.rooms))


def _canvas_line(home: Home, plan: Layout, id: str, system: System) -> TakeoffLine:
    made = stretched(home, piece=id, plan=plan, system=system)
    bars = f"{len(made.sticks)} bars of {length_text(made.stock, system)}"
    return TakeoffLine(
        id=f"canvas.{id}",
        kind="canvas",
        what=home.pieces[id].name,
        finish=home.pieces[id].finish,
        rooms=_where(home, plan, id),
        net=made.net,
        order=made.order,
        unit="m²",
        text=f"{run_text(made.run, system)}, {length_text(made.roll, system)} wide; {bars}",
        why=made.why[:3],  # the sheet of its own says the rest
        rules=made.rules,
        cautions=made.cautions[:2],
        detail=made,
    )


def _top_line(home: Home, plan: Layout, id: str, system: System) -> TakeoffLine:
    piece = home.pieces[id]
    made = top_of(
        piece,
        count=max(1, sum((p.item or i) == id for i, p in plan.pieces.items())),
        system=system,
        overrides=home.rules,
    )
    text = area_text(made.order, system)
    if made.slabs:
        text = f"{made.slabs} {'slab' if made.slabs == 1 else 'slabs'}, {text}"
    return TakeoffLine(
        id=f"top.{id}",
        kind="glass and stone",
        what=piece.name,
        finish=piece.finish,
        rooms=_where(home, plan, id),
        net=made.net,
        order=made.order,
        unit="m²",
        text=text,
        why=made.why[:3],  # the sheet of its own says the rest
        rules=made.rules,
        cautions=made.cautions[:2],
        detail=made,
    )


def _box_line(room: str, made: RoomBoxes, system: System) -> TakeoffLine:
    boxes = len(made.result.boxes)
    word = "floor box" if boxes == 1 else "floor boxes"
    return TakeoffLine(
        id=f"floor_boxes.{room}",
        kind="floor boxes",
        what=f"Cable to {boxes} {word}",
        rooms=(room,),
        net=made.result.net,
        order=made.result.order,
        unit="m",
        text=f"{boxes} {word}, {cable_text(made.result.order, system)} of cable",
        why=tuple(w for w in made.result.why if w.startswith("box ")),
        rules=made.result.rules,
        cautions=made.result.cautions[:2],
        shares=(Share(room=room, where="floor", net=made.result.net, unit="m"),),
        detail=made.result,
    )
