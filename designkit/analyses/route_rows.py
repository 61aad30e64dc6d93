"""Routes of a layout: which are looked at, how wide they are, and what is found of each."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Finding, Severity
from designkit.plan.case import Case
from designkit.plan.floors import Floor, Place
from designkit.plan.measure import combined, judge
from designkit.plan.onplan import floor_of
from designkit.plan.openings import OpeningAt
from designkit.plan.place import Placed
from designkit.plan.routelines import SEGMENTS, RouteLine, route_line
from designkit.plan.routes import Route, widest
from designkit.plan.space import Space
from designkit.units import in_sentence

__all__ = [
    "QUICK_SEGMENTS",
    "RouteRow",
    "ends_of",
    "floor_for_routes",
    "in_the_way",
    "joined_ends",
    "place_name",
    "routes_of",
    "row_of",
    "wanted_routes",
]

OUTSIDE = ("stair", "stair hall", "outside", "lift")  # an entrance leads there
QUICK_SEGMENTS = 4  # chords a quarter of an arc of a line drawn while a control moves
PINCH = {"home": "plan.route.pinch", "step-free": "plan.route.narrow_width"}
Ends = tuple[tuple[str, Place], tuple[str, Place]]  # space and place of both


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteRow:
    """A route with its limit and its drawn line."""

    id: str  # the wish's id, or "start to end"
    name: str
    space: str
    route: Route
    line: RouteLine | None
    required: float  # [m]
    rule: str
    finding: Finding
    floor: Route | None  # what the pieces leave where a door is narrower; None when quick


def _place(case: Case, name: str) -> tuple[str, Place] | None:
    """The space and the place that a wish's word stands for; None: not in this layout."""
    home = case.home
    if name in home.openings:
        for space in case.spaces.values():
            for at in space.openings:
                if at.id == name:
                    if at.opening.kind == "passage" and {at.room, at.to} <= set(space.rooms):
                        # A passage inside the space is a place one passes, not a door.
                        return space.id, at.strip
                    return space.id, name
    if name in case.placed:
        return case.space_of[name].id, name
    if name in home.rooms:
        for space in case.spaces.values():
            if name not in space.rooms:
                continue
            # From a room means from its own door, so that its passage counts too.
            doors = [at for at in _ways_out(space) if at.room == name]
            if doors:
                doors.sort(key=lambda at: at.to not in OUTSIDE)
                return space.id, doors[0].id
            return space.id, space.outlines[name]
    for space in case.spaces.values():
        for at in space.openings:
            if at.to == name and at.opening.kind != "window":
                return space.id, at.id
    if name in home.pieces:
        return None  # a piece of the home that this layout leaves out
    known = [*home.rooms, *home.openings, *case.placed]
    raise LookupFailed(
        "place of a route",
        given=name,
        allowed="a room, a door or a piece that stands in the layout",
        mend=f"write {nearest(name, known)!r}" if nearest(name, known) else "name what is there",
    )


def ends_of(
    case: Case, start: str, end: str
) -> tuple[tuple[str, Place] | None, tuple[str, Place] | None]:
    """The two places of a route, in one space where there is one.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    start, end : str
        Ids of doors, rooms or pieces.

    Returns
    -------
    tuple of (str, Place) or None
        Space and place of each; None for a piece that the layout leaves out.

    Raises
    ------
    LookupFailed
        There is no such place.
    """
    a, b = _place(case, start), _place(case, end)
    if a is None or b is None or a[0] == b[0]:
        return a, b
    for space in case.spaces.values():  # a door is in both of its rooms
        doors = {at.id for at in _ways_out(space)}
        here, there = (
            name if name in doors else found[1] if found[0] == space.id else None
            for name, found in ((start, a), (end, b))
        )
        if here is not None and there is not None:
            return (space.id, here), (space.id, there)
    return a, b


def _ways_out(space: Space) -> list[OpeningAt]:
    """Doors and passages that lead out of a space, each once."""
    ways = [
        at
        for at in space.openings
        if at.opening.kind != "window"
        and not (at.opening.kind == "passage" and {at.room, at.to} <= set(space.rooms))
    ]
    return list({at.id: at for at in ways}.values())


def wanted_routes(case: Case) -> list[tuple[str, str, str, float, str]]:
    """Routes to look at: the brief's, then from the entrance to each other way out.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.

    Returns
    -------
    list of tuple
        Id, start, end, the width that is wanted and its rule. [m]
    """
    home = case.home
    rule = "plan.route.step_free" if case.rule_set == "step-free" else "plan.route.main"
    found = [
        (id, wish.start, wish.end, wish.at_least or case.value(rule), rule)
        for id, wish in home.brief.wishes.items()
        if wish.kind == "route"
    ]
    asked = [end for _, _, end, _, _ in found]
    for space in case.spaces.values():
        ways = _ways_out(space)
        if len(ways) < 2:
            continue
        start = next((at for at in ways if at.to in OUTSIDE), ways[0])
        for at in ways:
            if at is start or any({start.id, at.id} == {a, b} for _, a, b, _, _ in found):
                continue
            if at.id in asked:
                continue
            found.append((f"{start.id} to {at.id}", start.id, at.id, case.value(rule), rule))
    return found


def place_name(case: Case, name: str) -> str:
    """A place of a route within a sentence.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    name : str
        Id of a door, a room or a piece.

    Returns
    -------
    str
        "balcony door".
    """
    home = case.home
    if name in home.openings:
        return home.openings[name].name or name
    if name in home.rooms:
        return home.rooms[name].name
    return case.name(name).removeprefix("the ") if name in case.placed else name


def _narrowest(
    case: Case, space: Space, floor: Floor, start: Place, end: Place, required: float
) -> tuple[Route, bool]:
    """The widest route, and whether a door's own clear width is what limits it.

    The floor takes narrow doors as wide as a main route, so that a door does
    not hide what stands behind it; the doors are held against it here.
    """
    route = widest(floor, start=start, end=end, overrides=case.rules)
    doors = [at for at in _ways_out(space) if at.id in (start, end)]
    if not route.open or not doors:
        return route, False
    narrow = min(doors, key=lambda at: at.clear)
    behind = {at.id for at in doors if at.opening.kind != "passage"}
    at_door = (
        bool(route.between)
        and all(id in behind or " wall " in id for id in route.between)
        and any(id in behind for id in route.between)
    )
    if not at_door and route.width < max(required, narrow.clear):
        return route, False
    if route.width < narrow.clear:
        return route, True
    name = narrow.opening.name or narrow.id
    clear = in_sentence(narrow.clear, units=case.home.units)
    limited = dataclasses.replace(
        route,
        width=narrow.clear,
        between=(narrow.id, narrow.id),
        points=(narrow.clear_left, narrow.clear_right),
        at=narrow.centre,
        why=f"the clear width of the {name} is the narrowest place: {clear}",
    )
    return limited, narrow.opening.kind != "passage"


def floor_for_routes(case: Case, space: str, placed: Mapping[str, Placed]) -> Floor:
    """The floor on which a space's routes are looked for, past some of its pieces.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    space : str
        Its id.
    placed : mapping of str to Placed
        The pieces that are in the way.

    Returns
    -------
    Floor
        With doors at least as wide as the widest route that is wanted.
    """
    wide = max([case.value("plan.route.main"), *(row[3] for row in wanted_routes(case))])
    return floor_of(case.spaces[space], placed, doors_at_least=wide, overrides=case.rules)


def joined_ends(case: Case, id: str, start: str, end: str) -> Ends | None:
    """The two places of a route that has to lead from one to the other.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    id : str
        Of the route, for the message.
    start, end : str
        Ids of doors, rooms or pieces.

    Returns
    -------
    Ends or None
        Space and place of each; None where the layout leaves one out.

    Raises
    ------
    LookupFailed
        There is no such place.
    InputError
        The two are in spaces that no passage joins.
    """
    a, b = ends_of(case, start, end)
    if a is None or b is None:
        return None
    if a[0] != b[0]:
        raise InputError(
            f"route {id}",
            given=f"{place_name(case, start)} to {place_name(case, end)}",
            allowed="two places in rooms that passages join",
            mend="name places of one space, or draw the passage between the rooms",
        )
    return a, b


def row_of(
    case: Case,
    floor: Floor,
    *,
    id: str,
    names: tuple[str, str],
    ends: Ends,
    limit: tuple[float, str],
) -> tuple[RouteRow, bool]:
    """A route with its width and finding, without its line.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    floor : Floor
        From `floor_for_routes`.
    id : str
        Of the route.
    names : tuple of str
        Ids of its two places.
    ends : Ends
        From `joined_ends`.
    limit : tuple of float and str
        The width that is wanted and its rule. [m]

    Returns
    -------
    tuple of RouteRow and bool
        The row, and whether a door's own clear width is what limits it.
    """
    (space_id, start), (_, end) = ends
    required, rule = limit
    space = case.spaces[space_id]
    name = f"{place_name(case, names[0])} to {place_name(case, names[1])}"
    route, doorway = _narrowest(case, space, floor, start, end, required)
    if doorway:
        # A door is one narrow place: it has the limit of a pinch.
        rule = PINCH[case.rule_set]
        required = min(required, case.value(rule))
    row = RouteRow(
        id=id,
        name=name,
        space=space_id,
        route=route,
        line=None,
        required=required,
        rule=rule,
        floor=None,
        finding=_route_finding(case, space, name, route, required, rule),
    )
    return row, doorway


def routes_of(case: Case, *, quick: bool) -> list[RouteRow]:
    """All routes of a layout.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    quick : bool
        Lines only for routes that the brief asks for.

    Returns
    -------
    list of RouteRow
        The brief's first.

    Raises
    ------
    LookupFailed
        A wish names what is not there.
    InputError
        A wish joins what no passage joins.
    """
    rows = []
    floors = {id: floor_for_routes(case, id, case.placed) for id in case.spaces}
    bare: dict[str, Floor] = {}
    if not quick:
        wide = 2 * case.value("plan.route.main")
        bare = {
            space.id: floor_of(
                space, case.placed, doors_at_least=wide, leaves=False, overrides=case.rules
            )
            for space in case.spaces.values()
        }
    for id, start, end, required, rule in wanted_routes(case):
        ends = joined_ends(case, id, start, end)
        if ends is None:
            continue
        (space, a), (_, b) = ends
        row, doorway = row_of(
            case, floors[space], id=id, names=(start, end), ends=ends, limit=(required, rule)
        )
        line = None
        if row.route.open and (not quick or id in case.home.brief.wishes):
            segments = QUICK_SEGMENTS if quick else SEGMENTS
            line = route_line(floors[space], route=row.route, start=a, end=b, segments=segments)
        # What the pieces leave: the route itself, or without the door that limits it.
        left = row.route if space in bare else None
        if space in bare and doorway:
            left = widest(bare[space], start=a, end=b)
        rows.append(dataclasses.replace(row, line=line, floor=left))
    return rows


def in_the_way(case: Case, id: str) -> str:
    """What stands in a way, within a sentence.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    id : str
        Of a piece, an opening or a wall.

    Returns
    -------
    str
        "the sofa".
    """
    if " wall " in id:
        return "the wall"
    if id in case.home.openings:
        return f"the {case.home.openings[id].name or id}"
    return case.name(id)


def _route_finding(
    case: Case, space: Space, name: str, route: Route, required: float, rule: str
) -> Finding:
    severity: Severity = "law here" if case.home.code and case.rule_set == "step-free" else "tight"
    title = f"Route, {name}"
    if not route.open:
        shut = ", ".join(in_the_way(case, id) for id in route.closed_by) or "nothing named"
        return Finding(
            what=title,
            measured=0.0,
            required=required,
            verdict="fails",
            severity=severity,
            rule=rule,
            why=route.why,
            mend=f"Open a way: {shut} close it.",
            about=tuple(id for id in route.closed_by if case.thing(id)),
        )
    direction = (1.0, 0.0)
    if route.points is not None:
        (ax, ay), (bx, by) = route.points
        long = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 or 1.0
        direction = ((bx - ax) / long, (by - ay) / long)
    within = combined(
        case.room_spread(space), *(case.spread(id, direction) for id in route.between)
    )
    verdict = judge(route.width, required=required, within=within)
    pieces = [id for id in route.between if case.thing(id) is not None]
    others = [in_the_way(case, id) for id in route.between if id not in pieces]
    short = required - route.width
    mend = ""
    if verdict != "passes" and pieces:
        away = others[0] if others else in_the_way(case, pieces[-1])
        move = f"move {in_the_way(case, pieces[0])} {case.amount(max(short, 0.0))} away from {away}"
        if verdict == "fails":
            mend = f"{move[0].upper()}{move[1:]}."
        elif short > 0:
            mend = f"Measure first; if it is so, {move}."
        else:
            mend = "Measure first: the margin is smaller than the ±."
    elif verdict == "fails":
        mend = "The building makes this narrow place; no piece can be moved to widen it."
    elif verdict == "measure first":
        mend = "Measure the opening first: the margin is smaller than the ±."
    return Finding(
        what=title,
        measured=route.width,
        required=required,
        within=within,
        verdict=verdict,
        severity=severity,
        rule=rule,
        why=route.why,
        mend=mend,
        about=tuple(pieces),
        at=route.at,
        line=tuple(route.points or ()),
    )
