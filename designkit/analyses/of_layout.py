"""One layout: findings, routes, views, talk, and the numbers that options are compared by."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass

from designkit.analyses.pick import home_of, layout_id, layout_of
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Finding, Home, Layout, Project, Severity, Wish
from designkit.plan.case import Case, case_of
from designkit.plan.findings import findings_of
from designkit.plan.floors import Floor, Place
from designkit.plan.measure import combined, judge
from designkit.plan.onplan import floor_of, hang, opening_of, talk, view_from
from designkit.plan.openings import OpeningAt
from designkit.plan.place import Placed
from designkit.plan.routelines import SEGMENTS, RouteLine, route_line
from designkit.plan.routes import Route, widest
from designkit.plan.seating import ScreenView, SeatPair, screen_view
from designkit.plan.sight import Occluder, View
from designkit.plan.space import Space, free_floor, largest_clear_circle
from designkit.units import in_sentence

__all__ = ["LayoutResult", "RouteRow", "ScreenRow", "ViewRow", "ends_of", "layout"]

OUTSIDE = ("stair", "stair hall", "outside", "lift")  # an entrance leads there
ORDER: dict[str, int] = {
    name: i for i, name in enumerate(("law here", "safety", "tight", "inconvenient", "note"))
}
QUICK_SEGMENTS = 4  # chords a quarter of an arc of a line drawn while a control moves
PINCH = {"home": "plan.route.pinch", "step-free": "plan.route.narrow_width"}
SEATED = ("sofa", "daybed", "armchair")  # kinds that make the talking group


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


@dataclass(frozen=True, kw_only=True, eq=False)
class ViewRow:
    """What a seat sees of an opening."""

    piece: str
    opening: str
    view: View


@dataclass(frozen=True, kw_only=True, eq=False)
class ScreenRow:
    """How a seat sees a screen."""

    piece: str
    screen: str
    view: ScreenView
    finding: Finding


@dataclass(frozen=True, kw_only=True, eq=False)
class LayoutResult:
    """Everything that one layout says about itself."""

    id: str
    layout: Layout
    findings: tuple[Finding, ...]  # routes among them
    routes: tuple[RouteRow, ...]
    views: tuple[ViewRow, ...]
    screens: tuple[ScreenRow, ...]
    talk: tuple[SeatPair, ...]
    seats: int  # outside the dining chairs
    diners: int
    placed: Mapping[str, Placed]
    spaces: Mapping[str, Space]
    rules: Mapping[str, float]

    # Asked for after the picture is shown, so made when asked for.
    @functools.cached_property
    def _floor_left(self) -> tuple[float, tuple[float, float], float]:
        circle, circle_at = 0.0, (0.0, 0.0)
        free_area = whole = 0.0
        for space in self.spaces.values():
            free = free_floor(space, self.placed, overrides=self.rules)
            whole += space.polygon.area
            free_area += free.area
            if not free.is_empty:
                centre, radius = largest_clear_circle(free)
                if 2 * radius > circle:
                    circle, circle_at = 2 * radius, centre
        return circle, circle_at, free_area / whole if whole else 0.0

    @property
    def circle(self) -> float:
        """Diameter of the largest circle clear of pieces, walls and leaves. [m]"""
        return self._floor_left[0]

    @property
    def circle_at(self) -> tuple[float, float]:
        """Its centre. [m]"""
        return self._floor_left[1]

    @property
    def free_share(self) -> float:
        """Free floor as a share of the floor of all spaces. [1]"""
        return self._floor_left[2]

    @property
    def failing(self) -> tuple[Finding, ...]:
        """Findings that do not pass, worst first."""
        return tuple(f for f in self.findings if f.verdict != "passes")

    def route(self, id: str) -> RouteRow:
        """The route of a wish, or by its id.

        Parameters
        ----------
        id : str
            Of the route.

        Returns
        -------
        RouteRow
            The row of that route.

        Raises
        ------
        LookupFailed
            No route has this id.
        """
        for row in self.routes:
            if row.id == id:
                return row
        ids = [row.id for row in self.routes]
        raise LookupFailed(
            "route", given=id, allowed=", ".join(ids) or "none", mend=nearest(id, ids)
        )


def layout(
    project: Project | Home,
    *,
    layout: str | Layout = "",
    rule_set: str | None = None,
    quick: bool = False,
) -> LayoutResult:
    """All findings and numbers of one layout.

    Parameters
    ----------
    project : Project or Home
        The home and what it asks for.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    rule_set : str, optional
        "home" or "step-free"; None: as the home says.
    quick : bool
        Only what a page redraws while a control moves: lines and views that
        the brief asks for. Findings and widths are the same.

    Returns
    -------
    LayoutResult
        Findings by severity, each with its rule and reason.

    Raises
    ------
    LookupFailed
        There is no such layout, or a wish names what is not there.
    InputError
        The shell or a piece cannot be taken as written.

    Examples
    --------
    >>> from designkit.model import Opening, Room
    >>> room = Room(name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    >>> ways = {
    ...     "in": Opening(room="r", wall=3, offset=1, width=0.9, head=2.1, kind="passage",
    ...                   to="hall"),
    ...     "out": Opening(room="r", wall=1, offset=1, width=0.9, head=2.1, kind="passage",
    ...                    to="balcony"),
    ... }
    >>> home = Home(name="one room", rooms={"r": room}, openings=ways,
    ...             layouts={"a": Layout(name="empty")}, layout="a")
    >>> round(globals()["layout"](home).routes[0].route.width, 3)
    0.9
    """
    home = home_of(project)
    id = layout_id(home, layout) if isinstance(layout, str) else ""
    layout = layout_of(home, layout)
    case = case_of(home, layout, rule_set=rule_set)
    wide = max([case.value("plan.route.main"), *(r[3] for r in _wanted_routes(case))])
    floors = {
        space.id: floor_of(space, case.placed, doors_at_least=wide, overrides=case.rules)
        for space in case.spaces.values()
    }
    routes = tuple(_routes(case, floors, quick=quick))
    views = tuple(_views(case, quick=quick))
    screens = tuple(_screens(case))
    findings = [*findings_of(case), *(row.finding for row in routes)]
    findings += [row.finding for row in screens]
    findings += [f for row in views if (f := _view_finding(case, row)) is not None]
    findings.sort(key=lambda f: (f.verdict == "passes", ORDER[f.severity]))
    group = tuple(k for k, p in case.placed.items() if p.piece.kind in SEATED and p.seats)
    return LayoutResult(
        id=id,
        layout=layout,
        findings=tuple(findings),
        routes=routes,
        views=views,
        screens=screens,
        talk=talk(case.placed, pieces=group, overrides=case.rules) if len(group) > 1 else (),
        seats=sum(len(case.placed[k].seats) for k in group),
        diners=sum(len(p.seats) for p in case.placed.values() if p.host),
        placed=case.placed,
        spaces=case.spaces,
        rules=case.rules,
    )


# --- routes ------------------------------------------------------------------


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


def _wanted_routes(case: Case) -> list[tuple[str, str, str, float, str]]:
    """Routes to look at: the brief's, then from the entrance to each other way out."""
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


def _said(case: Case, name: str) -> str:
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


def _between_doors(
    bare: Mapping[str, Floor], space: Space, route: Route, doorway: bool, ends: tuple[Place, Place]
) -> Route | None:
    """What the pieces leave: the route itself, or without the door that limits it."""
    if space.id not in bare:
        return None
    return widest(bare[space.id], start=ends[0], end=ends[1]) if doorway else route


def _routes(case: Case, floors: Mapping[str, Floor], *, quick: bool) -> list[RouteRow]:
    rows = []
    bare: dict[str, Floor] = {}
    if not quick:
        wide = 2 * case.value("plan.route.main")
        bare = {
            space.id: floor_of(
                space, case.placed, doors_at_least=wide, leaves=False, overrides=case.rules
            )
            for space in case.spaces.values()
        }
    for id, start, end, required, rule in _wanted_routes(case):
        a, b = ends_of(case, start, end)
        if a is None or b is None:
            continue
        name = f"{_said(case, start)} to {_said(case, end)}"
        if a[0] != b[0]:
            raise InputError(
                f"route {id}",
                given=name,
                allowed="two places in rooms that passages join",
                mend="name places of one space, or draw the passage between the rooms",
            )
        space = case.spaces[a[0]]
        route, doorway = _narrowest(case, space, floors[space.id], a[1], b[1], required)
        if doorway:
            # A door is one narrow place: it has the limit of a pinch.
            rule = PINCH[case.rule_set]
            required = min(required, case.value(rule))
        drawn = route.open and (not quick or id in case.home.brief.wishes)
        line = (
            route_line(
                floors[space.id],
                route=route,
                start=a[1],
                end=b[1],
                segments=QUICK_SEGMENTS if quick else SEGMENTS,
            )
            if drawn
            else None
        )
        rows.append(
            RouteRow(
                id=id,
                name=name,
                space=a[0],
                route=route,
                line=line,
                required=required,
                rule=rule,
                floor=_between_doors(bare, space, route, doorway, (a[1], b[1])),
                finding=_route_finding(case, space, name, route, required, rule),
            )
        )
    return rows


def _thing_in_way(case: Case, id: str) -> str:
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
        shut = ", ".join(_thing_in_way(case, id) for id in route.closed_by) or "nothing named"
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
    others = [_thing_in_way(case, id) for id in route.between if id not in pieces]
    short = required - route.width
    mend = ""
    if verdict != "passes" and pieces:
        away = others[0] if others else _thing_in_way(case, pieces[-1])
        move = (
            f"move {_thing_in_way(case, pieces[0])} {case.amount(max(short, 0.0))} away from {away}"
        )
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


# --- views -------------------------------------------------------------------


def _drawn_cloth(case: Case, space: Space) -> list[Occluder]:
    """Drapery as the layout draws it, as what may hide a view."""
    found = []
    for id, drape in case.layout.drapes.items():
        if not any(at.id == drape.opening for at in space.openings):
            continue
        for curtain in hang(space, drape, overrides=case.rules).states[drape.state]:
            found.append(
                Occluder(id=id, footprint=curtain.footprint, base=curtain.base, top=curtain.top)
            )
    return found


def _views(case: Case, *, quick: bool) -> list[ViewRow]:
    """What the sofas and armchairs see of each opening that has a view."""
    home = case.home
    wishes = [w for w in home.brief.wishes.values() if w.kind == "view"]
    rows = []
    for space in case.spaces.values():
        cloth = _drawn_cloth(case, space)
        openings = [at for at in space.openings if at.opening.view and at.opening.kind == "window"]
        for piece, thing in case.placed.items():
            if case.space_of[piece] is not space or not thing.seats:
                continue
            wished = [w.end for w in wishes if w.start in (piece, thing.item)]
            if thing.piece.kind not in SEATED and not wished:
                continue
            ids = [] if quick else [at.id for at in openings]
            ids += [id for id in wished if id not in ids and id in home.openings]
            for id in ids:
                opening_of(space, id)
                middle = len(thing.seats) // 2
                rows.append(
                    ViewRow(
                        piece=piece,
                        opening=id,
                        view=view_from(
                            space,
                            case.placed,
                            piece=piece,
                            opening=id,
                            seat=middle,
                            more=cloth,
                            overrides=case.rules,
                        ),
                    )
                )
    return rows


def _screens(case: Case) -> list[ScreenRow]:
    """What the seats of the talking group see of each screen that they face."""
    rows = []
    for id, thing in case.placed.items():
        if thing.piece.kind != "screen":
            continue
        space = case.space_of[id]
        windows = [
            (at.id, (at.left, at.right)) for at in space.openings if at.opening.kind == "window"
        ]
        for piece, seat_of in case.placed.items():
            if seat_of.piece.kind not in SEATED or case.space_of[piece] is not space:
                continue
            sitter = seat_of.seats[len(seat_of.seats) // 2] if seat_of.seats else None
            if sitter is None:
                continue
            way = math.radians(thing.rotation - 90.0)
            before = (sitter.at[0] - thing.at[0]) * math.cos(way) + (
                sitter.at[1] - thing.at[1]
            ) * math.sin(way)
            if before <= 0.1:
                continue  # it looks at the screen's back
            view = screen_view(
                sitter.at,
                centre=thing.at,
                normal=thing.rotation - 90.0,
                width=thing.piece.size[0],
                height=thing.piece.size[2],
                facing=sitter.facing,
                windows=windows,
                overrides=case.rules,
            )
            if view.turn is not None and view.turn > 90:
                continue  # nobody watches over the shoulder
            rows.append(
                ScreenRow(
                    piece=piece,
                    screen=id,
                    view=view,
                    finding=_screen_finding(case, piece, id, view),
                )
            )
    return rows


def _screen_finding(case: Case, piece: str, screen: str, view: ScreenView) -> Finding:
    """The angle that the picture fills, and what the screen mirrors."""
    least = case.value("plan.screen.subtense")
    mend = ""
    if view.angle < least:
        far = case.say(view.far_distance)
        mend = f"Sit within {far} of it, or take a larger screen, if films matter."
    bright = [id for id, share in view.glare.items() if share > 0.05]
    if bright:
        names = ", ".join(case.home.openings[id].name or id for id in bright)
        mend = f"{mend} It mirrors the {names} by day: turn it, or draw the drapery.".strip()
    return Finding(
        what=f"{case.title(screen)} seen from the {case.name(piece).removeprefix('the ')}",
        measured=view.angle,
        required=least,
        unit="°",
        verdict=judge(view.angle, required=least),
        severity="note",
        rule=view.rule,
        why=view.why,
        mend=mend,
        about=(piece, screen),
    )


def wish_view(home: Home, rows: tuple[ViewRow, ...], wish: Wish) -> list[ViewRow]:
    """The rows that a wish for a view is about."""
    return [
        row
        for row in rows
        if row.opening == wish.end
        and (row.piece == wish.start or row.piece.rsplit("_", 1)[0] == wish.start)
    ]


def _view_finding(case: Case, row: ViewRow) -> Finding | None:
    """A view that the brief asks for, as a finding."""
    for wish in case.home.brief.wishes.values():
        if wish.kind != "view" or wish.at_least is None:
            continue
        if not wish_view(case.home, (row,), wish):
            continue
        share = row.view.share
        hides = [id for id, part in row.view.hidden_by.items() if part > 0.01]
        names = " and ".join(_thing_in_way(case, id) for id in hides[:2])
        return Finding(
            what=f"{case.title(row.piece)} sees the {_said(case, row.opening)}",
            measured=share,
            required=wish.at_least,
            unit="1",
            verdict=judge(share, required=wish.at_least),
            severity="inconvenient",
            rule=row.view.rule,
            why=row.view.why,
            mend="" if share >= wish.at_least else f"Turn the seat, or move {names or 'it'}.",
            about=(row.piece, *(id for id in hides if case.thing(id))),
        )
    return None
