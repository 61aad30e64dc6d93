"""Ways that have to stay open, as the brief and the doors of a space ask for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from designkit.model import Home, Point
from designkit.plan.floors import Floor, Place, prepare
from designkit.plan.layouts.shell import Frame, Need, Way
from designkit.plan.openings import OpeningAt
from designkit.plan.outline import wall_runs
from designkit.plan.place import Placed
from designkit.plan.routes import widest
from designkit.plan.space import Space, obstacles
from designkit.reference import value

if TYPE_CHECKING:
    from designkit.plan.layouts.ground import Ground

__all__ = ["floor_for", "levels_of", "needs_of", "within"]


def floor_for(
    ground: Ground | None,
    placed: Mapping[str, Placed],
    *,
    space: Space | None = None,
    home: Home | None = None,
    rules: Mapping[str, float] | None = None,
) -> Floor:
    """The floor of the space with pieces on it, for exact routes.

    Walls that lie nearly in one line are named as one, so that an outline of
    thousands of corners stays quick.

    Parameters
    ----------
    ground : Ground or None
        The space; None while it is being made ready.
    placed : mapping of str to Placed
        Pieces in the home's frame.
    space, home, rules : optional
        Given where there is no ground yet.

    Returns
    -------
    Floor
        For `designkit.plan.routes.widest`.
    """
    if ground is not None:
        space, home, rules = ground.space, ground.home, ground.rules
    assert space is not None
    assert home is not None
    doors: dict[str, tuple[Point, Point]] = {}
    for at in space.openings:
        if at.opening.kind != "window" and not within(at, space):
            doors.setdefault(at.id, (at.clear_left, at.clear_right))
    kept = {} if ground is None else ground.kept
    if "walls" not in kept:
        kept["walls"] = [
            (f"{run.room} wall {run.walls[0]}", LineString([run.start, run.end]))
            for room in space.rooms
            for run in wall_runs(room, home.rooms[room])
        ]
    walls: list[tuple[str, BaseGeometry]] = kept["walls"]
    return prepare(
        space.polygon,
        obstacles=obstacles(space, placed, overrides=rules),
        doors=list(doors.items()),
        walls=walls,
    )


def within(at: OpeningAt, space: Space) -> bool:
    """Whether an opening is a passage between two rooms of the space.

    Parameters
    ----------
    at : OpeningAt
        The opening.
    space : Space
        The space.

    Returns
    -------
    bool
        False for a way out of it.
    """
    return at.opening.kind == "passage" and {at.room, at.to} <= set(space.rooms)


def levels_of(needs: Sequence[Need], minor: float) -> tuple[float, ...]:
    """The widths that the grid looks at, rising.

    Parameters
    ----------
    needs : sequence of Need
        Ways that have to stay open.
    minor : float
        Width of the way to a piece. [m]

    Returns
    -------
    tuple of float
        [m]
    """
    return tuple(sorted({*(need.level for need in needs if need.width > 1e-6), minor}))


def _place(
    home: Home, space: Space, name: str, fixed: Mapping[str, Placed], free: Sequence[str]
) -> tuple[str, Place] | None:
    """What a word of a wish stands for: its kind and the exact place."""
    for at in space.openings:
        if at.id == name:
            return _opening_place(at, space)
    if name in fixed:
        return ("piece", name)
    if name in free:
        return ("free", name)
    if name in home.rooms:
        if name not in space.rooms:
            for at in space.openings:
                if at.to == name and at.opening.kind != "window":
                    return _opening_place(at, space)
            return None
        for at in space.openings:
            if at.opening.kind == "passage" and name in (at.room, at.to) and within(at, space):
                return _opening_place(at, space)
        return ("area", space.outlines[name])
    for at in space.openings:
        if at.to == name and at.opening.kind != "window":
            return _opening_place(at, space)
    return None


def _opening_place(at: OpeningAt, space: Space) -> tuple[str, Place]:
    if within(at, space):
        return ("area", at.strip)
    return ("door", at.id)


def needs_of(
    home: Home,
    space: Space,
    local: Frame,
    ways: Sequence[Way],
    fixed: Mapping[str, Placed],
    free: Sequence[str],
    rules: Mapping[str, float],
) -> tuple[tuple[Need, ...], list[str]]:
    """Ways of the brief, then from the entrance to each other way out.

    Parameters
    ----------
    home : Home
        Gives the wishes.
    space : Space
        The space.
    local : Frame
        The search's own frame.
    ways : sequence of Way
        Its doors and passages.
    fixed : mapping of str to Placed
        Pieces that stay.
    free : sequence of str
        Ids of the pieces that are placed.
    rules : mapping of str to float
        The project's own rule values.

    Returns
    -------
    tuple
        The ways, and in sentences what the building keeps narrower than asked.
    """
    step_free = home.rule_set == "step-free"
    main = value("plan.route.step_free" if step_free else "plan.route.main", rules)
    wanted: list[tuple[str, str, Place, str, Place, float]] = []
    said: list[str] = []
    for id, wish in home.brief.wishes.items():
        if wish.kind != "route":
            continue
        a = _place(home, space, wish.start, fixed, free)
        b = _place(home, space, wish.end, fixed, free)
        if a is None or b is None:
            continue
        name = f"from {_the(home, wish.start)} to {_the(home, wish.end)}"
        if a[0] == "free":
            a, b = b, a
        if a[0] == "free":
            said.append(f"The way {name} joins two pieces that are placed; it is not looked at.")
            continue
        wanted.append((id, name, a[1], b[0], b[1], wish.at_least or main))
    outs = [way for way in ways if way.out]
    start = next((way for way in outs if way.entrance), None)
    if start is not None:
        for way in outs:
            if way.id != start.id and not any(
                {a, b} == {start.id, way.id} for _, _, a, _, b, _ in wanted if isinstance(b, str)
            ):
                name = f"from {_the(home, start.id)} to {_the(home, way.id)}"
                wanted.append((f"{start.id} to {way.id}", name, start.id, "door", way.id, main))
    needs = []
    bare: Floor | None = None
    for id, name, a_place, kind, b_place, asked in wanted:
        width = asked
        if kind != "free":
            if bare is None:
                bare = floor_for(None, fixed, space=space, home=home, rules=rules)
            route = widest(bare, start=a_place, end=b_place, overrides=rules)
            width = min(asked, route.width)
            if width < asked - 1e-6:
                said.append(_narrow(name, asked, width, route.between, home))
        needs.append(
            Need(
                id=id,
                name=name,
                start=a_place,
                end=b_place,
                start_at=_shape_at(space, local, a_place, fixed),
                end_at=None if kind == "free" else _shape_at(space, local, b_place, fixed),
                width=width,
                asked=asked,
                piece=str(b_place) if kind == "free" else "",
            )
        )
    return tuple(needs), said


def _narrow(name: str, asked: float, width: float, between: Sequence[str], home: Home) -> str:
    if width <= 1e-6:
        return f"There is no way {name} even in the room without the pieces."
    what = ""
    if between:
        names = ["the wall" if " wall " in id else _the(home, id) for id in dict.fromkeys(between)]
        names = list(dict.fromkeys(names))
        what = f" at {names[0]}" if len(names) == 1 else f" between {' and '.join(names)}"
    return (
        f"The way {name} is asked to be {asked:.2f} m wide and is {width:.2f} m{what} before "
        f"any piece stands; it is kept at {width:.2f} m."
    )


def _the(home: Home, name: str) -> str:
    """A place within a sentence."""
    if name in home.openings:
        plain = home.openings[name]
        to = home.rooms[plain.to].name if plain.to in home.rooms else plain.to
        return f"the {plain.name or f'{plain.kind} to the {to}'.strip()}"
    if name in home.rooms:
        return f"the {home.rooms[name].name}"
    if name in home.pieces:
        return f"the {home.pieces[name].name}"
    return name


def _shape_at(
    space: Space, local: Frame, place: Place, fixed: Mapping[str, Placed]
) -> BaseGeometry | None:
    if isinstance(place, str):
        for at in space.openings:
            if at.id == place:
                return local.shape(LineString([at.clear_left, at.clear_right]))
        if place in fixed:
            return local.shape(fixed[place].footprint)
        return None
    if isinstance(place, BaseGeometry):
        return local.shape(place)
    return local.shape(shapely.Point(place))
