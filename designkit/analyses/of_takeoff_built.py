"""Stretched canvases and floor boxes, worked out from the project and what is tried."""

from __future__ import annotations

from dataclasses import dataclass

from designkit.analyses.pick import known_id, layout_of
from designkit.model import Project, Room
from designkit.plan.place import Placed
from designkit.takeoff.built import is_picture, room_boxes, stretched
from designkit.takeoff.canvas import Canvas
from designkit.takeoff.floor_boxes import FloorBoxes, Outlet
from designkit.takeoff.lines import System, system_of

__all__ = ["BoxView", "CanvasView", "box_view", "canvas_view"]


@dataclass(frozen=True, kw_only=True, eq=False)
class CanvasView:
    """Stretched canvases of one size."""

    name: str
    system: System
    result: Canvas


@dataclass(frozen=True, kw_only=True, eq=False)
class BoxView:
    """Outlets in the floor of a room."""

    name: str  # of the room
    room: Room
    placed: tuple[Placed, ...]  # furniture and standing lamps in the room
    outlets: tuple[Outlet, ...]
    system: System
    result: FloorBoxes


def canvas_view(
    project: Project,
    *,
    piece: str,
    layout: str = "",
    bar_depth: float | None = None,
    turn: float | None = None,
    roll: float | None = None,
    count: int | None = None,
    system: System | None = None,
) -> CanvasView:
    """A picture of the project as a stretched canvas.

    Parameters
    ----------
    project : Project
        The project.
    piece : str
        Piece id of the picture.
    layout : str, optional
        Layout id; "": the current one. It says how many there are.
    bar_depth, turn, roll : float, optional
        As for `designkit.takeoff.built.stretched`. [m]
    count : int, optional
        In place of the layout's number; one where it is not placed.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    CanvasView
        Cut, plan on the roll, bars and weight.

    Raises
    ------
    InputError
        A number is outside what is allowed.
    LookupFailed
        There is no such piece or layout.
    """
    home = project.home
    known_id("picture", piece, [id for id, it in home.pieces.items() if is_picture(it.kind)])
    words = system or system_of(home.units)
    made = stretched(
        home,
        piece=piece,
        plan=layout_of(home, layout) if home.layouts else None,
        bar_depth=bar_depth,
        turn=turn,
        roll=roll,
        count=count,
        system=words,
    )
    return CanvasView(name=home.pieces[piece].name, system=words, result=made)


def box_view(
    project: Project,
    *,
    room: str,
    layout: str = "",
    seats: bool = False,
    cord: float | None = None,
    build_up: float | None = None,
    lid: str = "as the floor",
    system: System | None = None,
) -> BoxView:
    """Outlets in the floor of a room, where furniture stands away from the walls.

    Parameters
    ----------
    project : Project
        The project.
    room : str
        Room id.
    layout : str, optional
        Layout id; "": the current one.
    seats : bool, optional
        True: an outlet at each sofa and armchair too.
    cord, build_up : float, optional
        As for `designkit.takeoff.built.room_boxes`. [m]
    lid : str, optional
        Its finish, in words.
    system : {"metric", "US"}, optional
        By default that of the project.

    Returns
    -------
    BoxView
        The fewest boxes, their places and their cable.

    Raises
    ------
    InputError
        A length is not above zero.
    LookupFailed
        There is no such room or layout.
    """
    home = project.home
    known_id("room", room, list(home.rooms))
    words = system or system_of(home.units)
    made = room_boxes(
        home,
        layout_of(home, layout),
        room=room,
        seats=seats,
        cord=cord,
        build_up=build_up,
        lid=lid,
        system=words,
    )
    return BoxView(
        name=made.room.name,
        room=made.room,
        placed=made.placed,
        outlets=made.outlets,
        system=words,
        result=made.result,
    )
