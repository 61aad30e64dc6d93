"""Layouts proposed for the pieces of a layout, ready to stand beside it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from shapely.geometry import Point, Polygon

from designkit.analyses.pick import home_of, layout_of
from designkit.errors import InputError
from designkit.model import Home, Layout, Project
from designkit.plan.layouts.options import Option, Proposals
from designkit.plan.layouts.proposing import NODES, propose
from designkit.plan.place import place_home
from designkit.plan.space import space_at, spaces

__all__ = ["Proposed", "proposals"]

STAYS = ("hall",)  # rooms whose pieces stay where they are
SEARCHED = 5  # options among which the boldest and the one with the least work are looked for


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposed:
    """One proposal with its lamps and drapery."""

    role: str  # "best", "boldest", "least building work", "best and least building work"
    layout: Layout
    says: str
    option: Option


def _with_light(layout: Layout, now: Layout) -> Layout:
    """A proposal with the drapery and those lamps that still have a place."""
    lamps = {
        id: dataclasses.replace(lamp, over=lamp.over if lamp.over in layout.pieces else "")
        for id, lamp in now.lamps.items()
        if lamp.service or (lamp.on and lamp.on in layout.pieces)
    }
    return dataclasses.replace(layout, lamps=lamps, drapes=now.drapes)


def proposals(
    project: Project | Home,
    *,
    layout: str | Layout = "",
    count: int = 3,
    seconds: float = 10.0,
    nodes: int = NODES,
    stop: Callable[[], bool] | None = None,
) -> tuple[tuple[Proposed, ...], Proposals]:
    """Layouts for the pieces of a layout: the best, the boldest, the least building work.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        Whose pieces are laid out; "" is the home's current one. What is locked
        in it, and what stands in a hall, stays.
    count : int
        How many options are given at most; more are searched for.
    seconds : float
        After which the best so far is taken. [s]
    nodes : int
        How many nodes the exact search looks at for each option; what it has
        not proven by then states its gap.
    stop : callable, optional
        Asked now and then; true stops with the best so far.

    Returns
    -------
    proposals : tuple of Proposed
        Each option once, under the first of its roles.
    found : Proposals
        With the certificate, and why where nothing fits.

    Raises
    ------
    InputError
        There is nothing on the floor to lay out.
    """
    home = home_of(project)
    now = layout_of(home, layout)
    placed = place_home(home, now)
    every = spaces(home)
    where = {id: space_at(every, placed[id].at, room=placed[id].room).id for id in now.pieces}
    counts = {space: sum(s == space for s in where.values()) for space in where.values()}
    if not counts:
        raise InputError(
            "pieces",
            given="none",
            allowed="one piece or more in the layout",
            mend="write its pieces under [layouts], anywhere in the room",
        )
    space = max(counts, key=lambda s: counts[s])
    here = {id: p.item or id for id, p in now.pieces.items() if where[id] == space}
    stays = [
        id
        for id in here
        if now.pieces[id].locked
        or home.pieces[here[id]].mount in ("wall", "ceiling")
        or _in_hall(home, placed[id].at)
    ]
    found = propose(
        home,
        pieces={id: item for id, item in here.items() if id not in stays},
        space=space,
        count=max(count, SEARCHED),
        seconds=seconds,
        nodes=nodes,
        locked=stays,
        stop=stop,
    )
    elsewhere = {id: p for id, p in now.pieces.items() if where[id] != space}
    out: list[Proposed] = []
    taken: set[int] = set()
    order = [*found.shown.items(), *(("another", k) for k in range(len(found.options)))]
    for role, k in order:
        if k in taken or k >= len(found.options) or len(out) == count:
            continue
        taken.add(k)
        role = " and ".join([name for name, other in found.shown.items() if other == k] or [role])
        option = found.options[k]
        whole = dataclasses.replace(
            option.layout, pieces={**option.layout.pieces, **elsewhere}, note=option.says
        )
        out.append(
            Proposed(role=role, layout=_with_light(whole, now), says=option.says, option=option)
        )
    return tuple(out), found


def _in_hall(home: Home, at: tuple[float, float]) -> bool:
    """Whether a point lies in a room that is a hall."""
    return any(
        room.use in STAYS and Polygon(room.outline).covers(Point(at))
        for room in home.rooms.values()
    )
