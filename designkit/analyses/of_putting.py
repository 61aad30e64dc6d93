"""Put a piece into a layout at a sensible free place, before anybody moves it.

The free places of `plan.standing` are judged by the findings that the layout
would have; the first is the one that spoils least.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from designkit.analyses.of_layout import layout as whole_layout
from designkit.errors import DesignkitError, InputError, nearest
from designkit.model import Chairs, Finding, Home, Layout, Piece, Placement, Point
from designkit.plan.box import piece_from_box
from designkit.plan.case import case_of
from designkit.plan.dining import round_seats, side_seats
from designkit.plan.pieces import kind_of, kinds
from designkit.plan.place import Placed
from designkit.plan.standing import Pose, free_poses
from designkit.reference import value

__all__ = ["Put", "chairs_for", "free_id", "layout_to_furnish", "put_in"]

_WEIGHT = {"law here": 8.0, "safety": 8.0, "tight": 4.0, "inconvenient": 2.0, "note": 0.5}
_LOOKED_AT = 14
_WISHED = 3.0  # a place before its partner outweighs what is only to be measured
_CLOSE = 0.5  # m
# Kinds that belong to another: where its front or its side is. Common practice, no source.
_BESIDE: Mapping[str, tuple[str, ...]] = {
    "side table": ("sofa", "armchair", "daybed"),
    "floor lamp": ("sofa", "armchair", "desk"),
    "bedside table": ("bed",),
}
_BEFORE: Mapping[str, tuple[str, ...]] = {
    "low table": ("sofa", "daybed", "armchair"),
    "ottoman": ("armchair", "sofa"),
    "rug": ("sofa", "bed", "dining table"),
    "armchair": ("low table", "sofa"),
    "desk chair": ("desk",),
    "chair": ("desk", "dining table"),
    "stool": ("desk", "upright piano"),
    "high stool": ("counter",),
    "low cabinet": ("sofa",),
}
_HOSTS: Mapping[str, tuple[str, ...]] = {
    "screen": ("low cabinet", "sideboard", "console", "chest of drawers"),
    "table lamp": ("side table", "bedside table", "desk", "sideboard", "console", "low cabinet",
                   "chest of drawers"),
    "object": ("sideboard", "console", "low cabinet", "side table", "low table", "bookcase"),
}  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class Put:
    """One place for a piece, with the home that it makes."""

    home: Home
    placement: str  # its id in the layout
    spot: Placement
    fails: int  # findings that fail and did not before
    to_measure: int  # findings that are to be measured first and were not before


def free_id(stem: str, taken: Mapping[str, object]) -> str:
    """An id that is not taken: sofa, sofa_2, sofa_3.

    Parameters
    ----------
    stem : str
        What it should be.
    taken : mapping of str to object
        Ids that are.

    Returns
    -------
    str
        The first that is free.

    Examples
    --------
    >>> free_id("sofa", {"sofa": 1})
    'sofa_2'
    """
    found, number = stem, 2
    while found in taken:
        found, number = f"{stem}_{number}", number + 1
    return found


def layout_to_furnish(home: Home) -> tuple[Home, str]:
    """The home with a layout to put pieces into: the current one, or a new empty one.

    Parameters
    ----------
    home : Home
        As it is.

    Returns
    -------
    tuple of Home and str
        And the layout's id.

    Examples
    --------
    >>> layout_to_furnish(Home(name="h"))[1]
    'a'
    """
    if home.layouts:
        id = home.layout if home.layout in home.layouts else next(iter(home.layouts))
        return home, id
    made = replace(home, layouts={"a": Layout(name="First layout")}, layout="a")
    return made, "a"


def chairs_for(table: Piece, *, chair: str, ends: bool, most: int | None = None) -> Chairs:
    """As many chairs as stand at a table.

    Parameters
    ----------
    table : Piece
        A dining table.
    chair : str
        Piece id of the chair.
    ends : bool
        Also one at each end.
    most : int, optional
        No more than so many round a circular top.

    Returns
    -------
    Chairs
        By the places that its edge holds.

    Examples
    --------
    >>> table = Piece(name="t", kind="dining table", size=(1.8, 0.9, 0.75))
    >>> chairs_for(table, chair="c", ends=False).front
    3
    """
    if table.shape == "circle":
        count = round_seats(table.size[0])
        return Chairs(piece=chair, around=count if most is None else min(count, most))
    # a place that is a finger short is sat at
    side = side_seats(table.size[0] * (1.0 + value("plan.put.place_short")))
    end = 1 if ends else 0
    return Chairs(piece=chair, front=side, back=side, left=end, right=end)


# --- where -------------------------------------------------------------------------


def _side(host: Placed, piece: Piece, away: float, *, front: bool, left: bool = False) -> Point:
    """A point before a placed thing or beside it. [m]"""
    turn = math.radians(host.rotation)
    w, d, _ = host.piece.size
    if front:
        x, y = 0.0, -(d / 2 + away + piece.size[1] / 2)
    else:
        x = (w / 2 + away + piece.size[0] / 2) * (-1 if left else 1)
        y = d / 2 - piece.size[1] / 2
    return (
        host.at[0] + x * math.cos(turn) - y * math.sin(turn),
        host.at[1] + x * math.sin(turn) + y * math.cos(turn),
    )


def _partner(
    placed: Mapping[str, Placed], names: tuple[str, ...], taken: Mapping[str, int]
) -> Placed | None:
    """The thing that it belongs to: the first kind that is there, the one with fewest beside it."""
    for kind in names:
        here = [thing for thing in placed.values() if thing.piece.kind == kind and not thing.host]
        if here:
            return min(here, key=lambda thing: taken.get(thing.id, 0))
    return None


def _near(piece: Piece, placed: Mapping[str, Placed]) -> list[tuple[Point, float | None]]:
    """Points where it should stand best, and the turn that it should have there."""
    kind = kind_of(piece).name
    if kind in _BEFORE:
        host = _partner(placed, _BEFORE[kind], {})
        if host is None:
            return []
        away = value("plan.put.low_table") if kind in ("low table", "ottoman") else 0.05
        if kind == "rug":
            away = -0.3 - piece.size[1] / 2 if host.piece.kind != "sofa" else -0.2
        if kind in ("armchair", "low cabinet"):
            away = value("plan.put.across")
        facing = kind in ("armchair", "desk chair", "chair", "stool", "low cabinet")
        turn = (host.rotation + (180.0 if facing else 0.0)) % 360.0
        return [(_side(host, piece, away, front=True), turn)]
    if kind in _BESIDE:
        host = _partner(placed, _BESIDE[kind], {})
        if host is None:
            return []
        return [
            (_side(host, piece, 0.05, front=False, left=left), host.rotation % 360.0)
            for left in (False, True)
        ]
    return []


def _on_host(piece: Piece, home: Home, layout: Layout, placed: Mapping[str, Placed]) -> Placement:
    """On the top of something that is there."""
    kind = kind_of(piece).name
    names = _HOSTS.get(kind, tuple(kinds()))
    used: dict[str, int] = {}
    for spot in layout.pieces.values():
        if spot.on:
            used[spot.on] = used.get(spot.on, 0) + 1
    free = {k: thing for k, thing in placed.items() if used.get(k, 0) == 0}
    host = _partner(free, names, used)
    if host is None:
        raise InputError(
            piece.name,
            given="nothing that it could stand on",
            allowed=f"a {', '.join(names[:3])} with a free top in the room",
            mend=f"put a {names[0]} into the room first",
        )
    return Placement(at=host.at, rotation=host.rotation % 360.0, on=host.id)


def _spots(home: Home, layout: Layout, piece: Piece, room: str) -> dict[Placement, float]:
    """Places, each with what it is worth to stand where one expects it."""
    case = case_of(home, layout)
    if kind_of(piece).mount == "on" and piece.size[2] < 1.0:
        return {_on_host(piece, home, layout, case.placed): 0.0}
    if kind_of(piece).mount == "ceiling":
        raise InputError(
            piece.name, given="a thing that hangs from the ceiling",
            allowed="pieces that stand or hang at a wall", mend="place it in the study of light",
        )  # fmt: skip
    wishes = _near(piece, case.placed)
    test = piece
    if kind_of(piece).mount == "on":  # it stands on the floor by its size
        test = replace(piece, kind="divider")
    if piece.chairs is not None:  # with room for those who sit
        more = 2 * value("plan.put.chairs")
        test = replace(
            piece, chairs=None, size=(piece.size[0] + more, piece.size[1] + more, piece.size[2])
        )
    poses: list[Pose] = []
    worth: dict[Pose, float] = {}
    for near, turn in wishes:
        nearest_ = free_poses(case, test, near=near, most=6)
        for pose in nearest_:
            if turn is not None and pose.wall is None and math.dist(pose.at, near) < 0.02:
                pose = replace(pose, rotation=turn)  # the wished place: it may face its partner
            poses.append(pose)
            worth[pose] = _WISHED if math.dist(pose.at, near) < _CLOSE else 0.0
    poses += free_poses(case, test, near=_middle(home, room), most=_LOOKED_AT)
    if test is not piece and not poses:
        poses += free_poses(case, piece, near=_middle(home, room), most=_LOOKED_AT)
    in_room = [p for p in poses if not room or p.room == room]
    found: dict[Placement, float] = {}
    for pose in in_room or poses:
        found.setdefault(Placement(at=pose.at, rotation=pose.rotation), worth.get(pose, 0.0))
    return found


def _middle(home: Home, room: str) -> Point | None:
    from shapely.geometry import Polygon

    if room not in home.rooms:
        return None
    point = Polygon(home.rooms[room].outline).representative_point()
    return (float(point.x), float(point.y))


def _burden(findings: tuple[Finding, ...]) -> tuple[float, int, int]:
    fails = [f for f in findings if f.verdict == "fails"]
    first = [f for f in findings if f.verdict == "measure first"]
    weight = sum(_WEIGHT[f.severity] for f in fails) + sum(0.3 * _WEIGHT[f.severity] for f in first)
    return weight, len(fails), len(first)


def put_in(
    home: Home,
    *,
    piece: Piece,
    id: str,
    layout: str = "",
    room: str = "",
) -> tuple[Put, ...]:
    """Places for a piece in a layout, the one that spoils least first.

    Parameters
    ----------
    home : Home
        With rooms and, where there is one, the layout.
    piece : Piece
        What is put in; its chairs come with it.
    id : str
        Piece id, as "sofa_three"; an equal piece that is there is used again,
        and another of that id gets a number.
    layout : str, optional
        The layout's id; "" the current one, or a new one.
    room : str, optional
        Where it should stand if it can; "" anywhere.

    Returns
    -------
    tuple of Put
        At least one.

    Raises
    ------
    InputError
        There is no room yet, no free place, or nothing that it could stand on.

    Examples
    --------
    >>> from designkit.model import Room
    >>> square = Room(name="a", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    >>> home = Home(name="h", rooms={"a": square})
    >>> put_in(home, piece=piece_from_box("sofa_three"), id="sofa_three")[0].placement
    'sofa_three'
    """
    if not home.rooms:
        raise InputError(
            "room",
            given="none yet",
            allowed="a room whose walk closes",
            mend="walk its walls first",
        )
    if layout and layout not in home.layouts:
        near = nearest(layout, home.layouts)
        raise InputError(
            "layout", given=layout, allowed=", ".join(home.layouts) or "none yet",
            mend=f"write {near!r}" if near else "use one of these",
        )  # fmt: skip
    if not layout:
        home, layout = layout_to_furnish(home)
    pieces = dict(home.pieces)
    if piece.chairs is not None and piece.chairs.piece not in pieces:
        pieces[piece.chairs.piece] = piece_from_box(piece.chairs.piece)
    item = id
    if item in pieces and pieces[item] != piece:
        item = next((k for k, p in pieces.items() if p == piece), free_id(id, pieces))
    pieces[item] = piece
    home = replace(home, pieces=pieces)
    now = home.layouts[layout]
    key = free_id(item, now.pieces)
    spots = _spots(home, now, piece, room)
    if not spots:
        raise InputError(
            piece.name,
            given=f"{piece.size[0]:.2f} × {piece.size[1]:.2f} m",
            allowed="a piece that finds free floor in the room",
            mend="take a smaller one, or take something away first",
        )
    _, fails_before, first_before = _judged(home, layout)
    found: list[tuple[float, int, Put]] = []
    for rank, (spot, worth) in enumerate(list(spots.items())[:_LOOKED_AT]):
        if item != key:
            spot = replace(spot, item=item)
        new = replace(now, pieces={**now.pieces, key: spot})
        there = replace(home, layouts={**home.layouts, layout: new})
        weight, fails, first = _judged(there, layout)
        put = Put(
            home=there,
            placement=key,
            spot=spot,
            fails=max(0, fails - fails_before),
            to_measure=max(0, first - first_before),
        )
        found.append((weight - worth, rank, put))
    found.sort(key=lambda one: (round(one[0], 3), one[1]))
    return tuple(put for _, _, put in found)


def _judged(home: Home, layout: str) -> tuple[float, int, int]:
    try:
        return _burden(whole_layout(home, layout=layout, quick=True).findings)
    except DesignkitError:
        return math.inf, 0, 0  # such a place cannot even be judged
