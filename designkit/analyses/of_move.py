"""One layout while a piece is being moved: the same findings, as fast as may be.

What a move cannot change is taken from what is known: a view that nothing moved
before, and the widest route past everything else, where what moves keeps clear of
its strip. More in the way never makes a way wider, so it stays the widest. The
lines of the routes are drawn in a second step, so that their widths can be shown
first.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, MultiPoint

from designkit.analyses.of_layout import LayoutResult, result_of
from designkit.analyses.route_rows import (
    QUICK_SEGMENTS,
    RouteRow,
    ends_of,
    floor_for_routes,
    joined_ends,
    row_of,
    wanted_routes,
)
from designkit.analyses.view_rows import SEATED, ViewRow, views_of
from designkit.errors import InputError
from designkit.model import Home, Layout
from designkit.plan.case import Case, case_of
from designkit.plan.floors import Floor, Place
from designkit.plan.onplan import opening_of
from designkit.plan.place import Placed
from designkit.plan.routelines import RouteLine, route_line
from designkit.plan.routes import Route, widest

__all__ = ["Moving", "Still", "is_same_home", "moving", "still", "with_lines"]

STRIP = 1.02  # a drawn strip is so much too narrow at its corners at most; see `route_line`
SURE = 0.002  # m; and so much more is asked for
# What a layout's results rest on beside its own pieces.
RESTS_ON = (
    "rooms", "openings", "services", "pieces", "fixtures", "rules", "brief", "code", "units",
)  # fmt: skip


def is_same_home(a: Home, b: Home) -> bool:
    """Whether two homes differ in their layouts at most.

    Parameters
    ----------
    a, b : Home
        Two states of one home.

    Returns
    -------
    bool
        False too where only a rule or a wish differs.
    """
    return a is b or all(getattr(a, name) == getattr(b, name) for name in RESTS_ON)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Kept:
    """A route past what stands still, and the strip that it needs."""

    row: RouteRow  # with its line, where the brief asks for it
    strips: tuple[tuple[LineString, float], ...]  # line and half width [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Still:
    """What does not change while some pieces move."""

    moved: frozenset[str]
    placed: Mapping[str, Placed]  # all others
    routes: Mapping[str, _Kept]

    def holds_for(self, case: Case) -> bool:
        """Whether nothing moved but what was said to move.

        Parameters
        ----------
        case : Case
            The layout as it stands now, of the same home.

        Returns
        -------
        bool
            Whether the routes may be taken from here.
        """
        others = {id for id in case.placed if id not in self.moved}
        return others == {*self.placed} and all(
            _same(self.placed[id], case.placed[id]) for id in others
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Moving:
    """A result whose route lines are still to be drawn."""

    result: LayoutResult
    case: Case
    floors: Mapping[str, Floor]  # of the spaces in which a route was looked for anew
    kept: Mapping[str, RouteRow]  # routes that were not, with their lines


def moving(
    home: Home,
    layout: Layout,
    *,
    id: str = "",
    before: LayoutResult | None = None,
    rest: Still | None = None,
    rule_set: str | None = None,
) -> Moving:
    """Findings and widths of a layout, from those before a move where there are any.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        The layout as it stands now.
    id : str, optional
        Of the layout.
    before : LayoutResult, optional
        A result of the same home before the move, by the same rules.
    rest : Still, optional
        From `still`, of the same home by the same rules; passed over where
        something else has moved since.
    rule_set : str, optional
        "home" or "step-free"; None: as the home says.

    Returns
    -------
    Moving
        Findings, widths of routes and asked views are those that
        `of_layout.layout` gives; routes have no lines, and views that nothing
        moved before are the ones of `before`.

    Raises
    ------
    LookupFailed
        A wish names what is not there.
    InputError
        A piece cannot be taken as written.
    """
    case = case_of(home, layout, rule_set=rule_set)
    floors: dict[str, Floor] = {}
    kept: dict[str, RouteRow] = {}
    if rest is not None and rest.holds_for(case):
        kept = _clear_of(rest, case)
    routes = tuple(_widths(case, floors, kept))
    moved = _moved({} if before is None else before.placed, case.placed)
    views = _views_now(case, before, moved)
    pairs = None
    if before is not None and not any(
        thing.piece.kind in SEATED
        for id in moved
        for thing in (before.placed.get(id), case.placed.get(id))
        if thing is not None
    ):
        pairs = before.talk
    result = result_of(case, id=id, routes=routes, views=views, pairs=pairs)
    return Moving(result=result, case=case, floors=floors, kept=kept)


def with_lines(moved: Moving) -> LayoutResult:
    """The result with the lines of the routes that the brief asks for.

    Parameters
    ----------
    moved : Moving
        From `moving`.

    Returns
    -------
    LayoutResult
        The same numbers.
    """
    case = moved.case
    wanted = case.home.brief.wishes
    ends = {id: (start, end) for id, start, end, _, _ in wanted_routes(case)}
    rows = []
    for row in moved.result.routes:
        if row.id in moved.kept and row.id in wanted:
            row = dataclasses.replace(row, line=moved.kept[row.id].line)
        elif row.route.open and row.id in wanted:
            a, b = ends_of(case, *ends[row.id])
            if a is not None and b is not None:
                line = _line(moved.floors[row.space], row.route, a[1], b[1])
                row = dataclasses.replace(row, line=line)
        rows.append(row)
    return dataclasses.replace(moved.result, routes=tuple(rows))


def still(now: Moving, moved: Iterable[str]) -> Still:
    """What stays as it is while some pieces move.

    Parameters
    ----------
    now : Moving
        The layout before they move.
    moved : iterable of str
        Ids of all that moves: the pieces, their chairs, what stands on them.

    Returns
    -------
    Still
        With the routes past what stands still; those that begin or end at
        what moves are left out.
    """
    case, moved = now.case, frozenset(moved)
    placed = {id: thing for id, thing in case.placed.items() if id not in moved}
    floors: dict[str, Floor] = {}
    routes = {}
    for id, start, end, required, rule in wanted_routes(case):
        a, b = ends_of(case, start, end)
        if a is None or b is None or a[0] != b[0] or {start, end} & moved:
            continue
        if a[0] not in floors:
            floors[a[0]] = floor_for_routes(case, a[0], placed)
        floor = floors[a[0]]
        raw = widest(floor, start=a[1], end=b[1], overrides=case.rules)
        if not raw.open:
            continue
        row, _ = row_of(case, floor, id=id, names=(start, end), ends=(a, b), limit=(required, rule))
        # Where a door limits it, a strip that is wide enough for it to do so is enough.
        limited = row.route.width < raw.width
        width = min(raw.width, max(required, row.route.width)) if limited else raw.width
        lines = [_line(floor, dataclasses.replace(raw, width=width), a[1], b[1])]
        if id in case.home.brief.wishes:
            lines.append(_line(floor, row.route, a[1], b[1]))
            row = dataclasses.replace(row, line=lines[-1])
        if all(line.open and len(line.line) > 1 for line in lines):
            strips = tuple((LineString(line.line), line.width / 2) for line in lines)
            routes[id] = _Kept(row=row, strips=strips)
    return Still(moved=moved, placed=placed, routes=routes)


def _line(floor: Floor, route: Route, start: Place, end: Place) -> RouteLine:
    return route_line(floor, route=route, start=start, end=end, segments=QUICK_SEGMENTS)


def _clear_of(rest: Still, case: Case) -> dict[str, RouteRow]:
    """Routes whose strip nothing that moves comes into."""
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    shapes = [
        part.footprint
        for id in rest.moved
        if id in case.placed
        for part in case.placed[id].parts
        if part.base < high and part.top > low
    ]
    return {
        id: kept.row
        for id, kept in rest.routes.items()
        if not shapes
        or all(
            float(shapely.distance(strip, shapes).min()) > STRIP * radius + SURE
            for strip, radius in kept.strips
        )
    }


def _widths(case: Case, floors: dict[str, Floor], kept: Mapping[str, RouteRow]) -> list[RouteRow]:
    """Rows of all routes; floors are prepared where one is looked for anew."""
    rows = []
    for id, start, end, required, rule in wanted_routes(case):
        if id in kept:
            rows.append(dataclasses.replace(kept[id], line=None))
            continue
        ends = joined_ends(case, id, start, end)
        if ends is None:
            continue
        space = ends[0][0]
        if space not in floors:
            floors[space] = floor_for_routes(case, space, case.placed)
        row, _ = row_of(
            case, floors[space], id=id, names=(start, end), ends=ends, limit=(required, rule)
        )
        rows.append(row)
    return rows


def _same(a: Placed | None, b: Placed | None) -> bool:
    if a is None or b is None:
        return a is b
    return (a.at, a.rotation, a.base, a.piece) == (b.at, b.rotation, b.base, b.piece)


def _moved(old: Mapping[str, Placed], new: Mapping[str, Placed]) -> list[str]:
    return [id for id in dict.fromkeys([*old, *new]) if not _same(old.get(id), new.get(id))]


def _views_now(case: Case, before: LayoutResult | None, moved: list[str]) -> tuple[ViewRow, ...]:
    """Asked views; those that no moved thing stands before are as they were."""
    if before is None or not before.views or any(row.piece in moved for row in before.views):
        return _askedviews_of(case)
    old, new = before.placed, case.placed
    shapes = [
        part.footprint
        for id in moved
        for thing in (old.get(id), new.get(id))
        if thing is not None
        for part in thing.parts
    ]
    for row in before.views:
        seats = new[row.piece].seats
        at = opening_of(case.space_of[row.piece], row.opening)
        between = MultiPoint([seats[len(seats) // 2].at, at.left, at.right]).convex_hull
        if shapes and bool(shapely.intersects(between, shapes).any()):
            return _askedviews_of(case)
    return before.views


def _askedviews_of(case: Case) -> tuple[ViewRow, ...]:
    try:
        return tuple(views_of(case, quick=True))
    except InputError:
        # A seat pushed into a wall or a piece sees nothing; the findings say where it stands.
        return ()
