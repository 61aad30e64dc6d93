"""Plain words for the things that a balance counts: pieces, walls, frames, drapery."""

from __future__ import annotations

from typing import TYPE_CHECKING

from designkit.balance import NIGHT, Swap
from designkit.model import Home, Layout
from designkit.takeoff.surfaces import wall_name

if TYPE_CHECKING:
    from designkit.analyses.swaps import ThreeWaySwap

__all__ = ["finish_places", "item_words", "swap_words"]

_OPENING = {
    "frame": "{} frame",
    "leaf": "{} leaf",
    "glass": "{} glass",
}


def item_words(home: Home, item: str) -> str:
    """The name of an item of a balance.

    Parameters
    ----------
    home : Home
        Its pieces, fixtures, rooms and openings.
    item : str
        As in `designkit.balance.Contribution`: a piece, a fixture,
        "living.walls", "window.frame", a drape.

    Returns
    -------
    str
        Its name; what is alike (the frames of several windows) is named alike.

    Examples
    --------
    >>> from designkit.model import Room
    >>> home = Home(name="h", rooms={"r": Room(name="hall", outline=(), height=2.6),
    ...                              "s": Room(name="study", outline=(), height=2.6)})
    >>> item_words(home, "r.walls"), item_words(home, "coat_rack")
    ('walls, hall', 'coat rack')
    """
    if item in home.pieces:
        return home.pieces[item].name
    if item in home.fixtures:
        return home.fixtures[item].name
    owner, _, part = item.rpartition(".")
    if owner in home.rooms:
        return part if len(home.rooms) == 1 else f"{part}, {home.rooms[owner].name}"
    if owner in home.openings and part in _OPENING:
        return _OPENING[part].format(home.openings[owner].kind)
    if item in home.openings or item == NIGHT:
        return "bare glass at night"
    if any(item in layout.drapes for layout in home.layouts.values()):
        return "drapery"
    return item.replace("_", " ").replace(".", ", ")


def swap_words(home: Home, swap: Swap | ThreeWaySwap) -> str:
    """A change of finishes in words.

    Parameters
    ----------
    home : Home
        Its pieces and finishes.
    swap : Swap or ThreeWaySwap
        From `designkit.balance.gap`, or ranked three ways.

    Returns
    -------
    str
        "table in pale oak", or two such joined by "and".
    """
    return " and ".join(
        item_words(home, c.item)
        + (f", {_part_words(c.part)}," if c.part else "")
        + f" in {home.finishes[c.new].name if c.new in home.finishes else c.new}"
        for c in swap.changes
    )


def _part_words(part: str) -> str:
    """A wall as people count it, from 1; all else as it is called."""
    word, _, number = part.partition(" ")
    return wall_name(int(number)) if word == "wall" and number.isdigit() else part


def finish_places(home: Home, layout: Layout) -> dict[str, str]:
    """What has each finish, in words.

    Parameters
    ----------
    home : Home
        Rooms, openings, pieces, fixtures.
    layout : Layout
        Which pieces, lamps and drapery there are.

    Returns
    -------
    dict of str to str
        By finish id: "walls, sofa, drapery".
    """
    found: dict[str, dict[str, None]] = {}

    def add(finish: str, words: str) -> None:
        if finish:
            found.setdefault(finish, {})[words] = None

    for room in home.rooms.values():
        add(room.floor, "floor")
        add(room.wall, "walls")
        for finish in room.walls.values():
            add(finish, "one wall")
        add(room.ceiling, "ceiling")
        for column in room.columns:
            add(column.finish, "column")
    for opening in home.openings.values():
        add(opening.frame, f"{opening.kind} frames")
    for drape in layout.drapes.values():
        add(drape.finish, "drapery")
    items = [p.item or id for id, p in layout.pieces.items()]
    chairs = [c.piece for i in items if i in home.pieces and (c := home.pieces[i].chairs)]
    for item in dict.fromkeys([*items, *chairs]):
        piece = home.pieces.get(item)
        if piece is None:
            continue
        for finish in (piece.finish, *piece.finishes.values()):
            add(finish, piece.name)
    for lamp in layout.lamps.values():
        if lamp.fixture in home.fixtures:
            add(home.fixtures[lamp.fixture].finish, home.fixtures[lamp.fixture].name)
    return {finish: ", ".join(words) for finish, words in found.items()}
