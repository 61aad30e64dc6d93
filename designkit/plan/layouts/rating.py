"""Any layout by the terms of the score, so that a plan made by hand stands beside proposals."""

from __future__ import annotations

import dataclasses
import itertools
from dataclasses import dataclass

import numpy as np
import shapely

from designkit.errors import InputError
from designkit.model import Home, Layout, Placement
from designkit.plan.layouts.ground import Ground, floor_for, ground_of
from designkit.plan.layouts.leaf import Exact, Whole
from designkit.plan.layouts.options import Score, scores_of
from designkit.plan.layouts.poses import place_at, sift
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.tables import NEVER, tables_of
from designkit.plan.layouts.things import Thing, role_of, things_of
from designkit.plan.place import place_all
from designkit.plan.routes import widest

__all__ = ["Rating", "rate", "refusals"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Rating:
    """A layout by the terms of the score."""

    scores: tuple[Score, ...]
    pair_points: float  # places and pairs
    points: float  # all terms


def rate(home: Home, layout: Layout, *, space: str) -> Rating:
    """Score a layout that was made by hand.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement; pieces that hang or lie flat do not count.
    space : str
        A room, or rooms joined by "+".

    Returns
    -------
    Rating
        Every term with its weight; whether the layout is one that would be
        proposed is not asked, see `refusals`.

    Raises
    ------
    InputError
        No piece of the layout stands in the space.
    LookupFailed
        There is no such space.

    Examples
    --------
    >>> from designkit.model import Opening, Piece, Room
    >>> room = Room(name="room", outline=((0, 0), (4, 0), (4, 4), (0, 4)), height=2.6)
    >>> door = Opening(room="r", wall=0, offset=0.3, width=0.9, head=2.1, kind="passage",
    ...                to="hall")
    >>> bed = Piece(name="bed", kind="bed", size=(1.6, 2.05, 1.0))
    >>> home = Home(name="h", rooms={"r": room}, openings={"d": door}, pieces={"bed": bed})
    >>> at_wall = Layout(name="a", pieces={"bed": Placement(at=(2.0, 2.95))})
    >>> afloat = Layout(name="b", pieces={"bed": Placement(at=(2.0, 2.2))})
    >>> rate(home, at_wall, space="r").points > rate(home, afloat, space="r").points
    True
    """
    ground = ground_of(home, space=space)
    inside = _inside(home, layout, ground)
    things = list(things_of(home, pieces={}, locked=inside, rules=ground.rules))
    places = [place_at(ground, inside[t.id], depth=t.size[1]) for t in things]
    placed = place_all(home.pieces, layout, rooms=home.rooms, overrides=ground.rules)
    floor = floor_for(ground, placed)
    routes = {
        need.id: widest(floor, start=need.start, end=need.end, overrides=ground.rules)
        for need in ground.needs
        if need.width > 1e-6 and (not need.piece or need.piece in placed)
    }
    whole = Whole(layout=layout, placed=placed, ok=True, routes=routes, fails=())
    scores, pair_points, points, _ = scores_of(things, places, ground, whole)
    return Rating(scores=scores, pair_points=pair_points, points=points)


def _inside(home: Home, layout: Layout, ground: Ground) -> dict[str, Placement]:
    """The pieces of a layout that stand on the floor of a space."""
    inside: dict[str, Placement] = {}
    for id, placement in layout.pieces.items():
        piece = home.pieces[placement.item or id]
        (spot,) = ground.frame.inward(np.array([placement.at]))
        on_floor = role_of(piece) is not None and not placement.on
        if on_floor and ground.region.buffer(0.01).contains(shapely.Point(spot)):
            inside[id] = Placement(at=placement.at, rotation=placement.rotation,
                                   item=placement.item or id)  # fmt: skip
    if not inside:
        raise InputError("pieces in the space", given=0, allowed="1 or more")
    return inside


def refusals(home: Home, layout: Layout, *, space: str) -> tuple[str, ...]:
    """What keeps a layout that was made by hand from being proposed.

    Proposals keep hard rules besides their score: bodies apart, floor to use,
    doors and ways free, nothing to climb at a window over a drop.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement; pieces that hang or lie flat do not count.
    space : str
        A room, or rooms joined by "+".

    Returns
    -------
    tuple of str
        Pieces, pairs ("sofa + low_table") and ways at fault; empty where a
        search could have proposed it.

    Raises
    ------
    InputError
        No piece of the layout stands in the space.
    LookupFailed
        There is no such space.

    Examples
    --------
    >>> from designkit.model import Opening, Piece, Room
    >>> room = Room(name="room", outline=((0, 0), (4, 0), (4, 4), (0, 4)), height=2.6)
    >>> door = Opening(room="r", wall=0, offset=0.3, width=0.9, head=2.1, kind="passage",
    ...                to="hall")
    >>> bed = Piece(name="bed", kind="bed", size=(1.6, 2.05, 1.0))
    >>> home = Home(name="h", rooms={"r": room}, openings={"d": door}, pieces={"bed": bed})
    >>> middle = Layout(name="a", pieces={"bed": Placement(at=(2.0, 2.95))})
    >>> corner = Layout(name="b", pieces={"bed": Placement(at=(0.9, 2.95))})
    >>> refusals(home, middle, space="r"), refusals(home, corner, space="r")
    ((), ('bed',))
    """
    ground = ground_of(home, space=space)
    inside = _inside(home, layout, ground)
    items = {id: placement.item for id, placement in inside.items()}
    things: list[Thing] = []
    places: list[Poses] = []
    alone: list[str] = []
    for thing in things_of(home, pieces=items, locked={}, rules=ground.rules):
        at = sift(thing, ground, place_at(ground, inside[thing.id], depth=thing.size[1]))
        if len(at):
            things.append(thing)
            places.append(at)
        else:
            alone.append(thing.id)
    if not things:
        return tuple(alone)
    tables = tables_of([dataclasses.replace(t, alike=-1) for t in things], places, ground)
    together = [
        f"{things[i].id} + {things[j].id}"
        for (i, j), worth in tables.pair.items()
        if (worth == NEVER).all()
    ]
    if alone or together:
        return (*alone, *together)
    exact = Exact(ground)
    # A bed may be used by either side: one way of use that works is enough.
    found = [
        exact.whole(tables, choice)
        for choice in itertools.product(*(range(len(at)) for at in places))
        if tables.score(choice) > NEVER // 2
    ]
    if any(whole.ok for whole in found):
        return ()
    return found[0].fails if found else ("all together",)
