"""One layout while a piece is being moved: the same findings, as fast as may be.

What a move cannot change is taken from the result before it. The lines of the
routes are drawn in a second step, so that their widths can be shown first.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPoint

from designkit.analyses.of_layout import (
    PINCH,
    QUICK_SEGMENTS,
    LayoutResult,
    RouteRow,
    ViewRow,
    _narrowest,
    _place,
    _route_finding,
    _said,
    _view_finding,
    _views,
    _wanted_routes,
)
from designkit.errors import InputError
from designkit.model import Finding, Home, Layout
from designkit.plan.case import Case, case_of
from designkit.plan.findings import findings_of
from designkit.plan.floors import Floor
from designkit.plan.onplan import floor_of, opening_of
from designkit.plan.place import Placed
from designkit.plan.routelines import route_line
from designkit.plan.space import free_floor, largest_clear_circle

__all__ = ["Moving", "moving", "with_lines"]

ORDER = {n: i for i, n in enumerate(("law here", "safety", "tight", "inconvenient", "note"))}


@dataclass(frozen=True, kw_only=True, eq=False)
class Moving:
    """A result whose route lines are still to be drawn."""

    result: LayoutResult
    case: Case
    floors: Mapping[str, Floor]


def moving(
    home: Home, layout: Layout, *, before: LayoutResult, rule_set: str | None = None
) -> Moving:
    """Findings and widths of a layout that differs from a known one by a few moves.

    Parameters
    ----------
    home : Home
        The home; the same that gave `before`.
    layout : Layout
        The layout as it stands now.
    before : LayoutResult
        The result of the same pieces before the move, by the same rules.
    rule_set : str, optional
        "home" or "step-free"; None: as the home says.

    Returns
    -------
    Moving
        Findings, widths of routes and asked views are those that
        `of_layout.layout` gives. Free floor, talk and (where the brief asks for
        no turning circle) the clear circle are those of `before`; routes have
        no lines.

    Raises
    ------
    LookupFailed
        A wish names what is not there.
    InputError
        A piece cannot be taken as written.
    """
    case = case_of(home, layout, rule_set=rule_set)
    wanted = _wanted_routes(case)
    wide = max([case.value("plan.route.main"), *(row[3] for row in wanted)])
    floors = {
        space.id: floor_of(space, case.placed, doors_at_least=wide, overrides=case.rules)
        for space in case.spaces.values()
    }
    routes = tuple(_widths(case, floors))
    views = _moved_views(case, before)
    findings: list[Finding] = [*findings_of(case), *(row.finding for row in routes)]
    findings += [f for row in views if (f := _view_finding(case, row)) is not None]
    findings.sort(key=lambda f: (f.verdict == "passes", ORDER[f.severity]))
    circle, circle_at = before.circle, before.circle_at
    if any(wish.kind == "turning" for wish in home.brief.wishes.values()):
        circle, circle_at = _circle(case)
    result = dataclasses.replace(
        before,
        layout=layout,
        findings=tuple(findings),
        routes=routes,
        views=views,
        circle=circle,
        circle_at=circle_at,
        placed=case.placed,
        spaces=case.spaces,
    )
    return Moving(result=result, case=case, floors=floors)


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
    case, wishes = moved.case, moved.case.home.brief.wishes
    ends = {id: (start, end) for id, start, end, _, _ in _wanted_routes(case)}
    rows = []
    for row in moved.result.routes:
        if row.route.open and row.id in wishes:
            a, b = (_place(case, name) for name in ends[row.id])
            if a is not None and b is not None:
                line = route_line(
                    moved.floors[row.space],
                    route=row.route,
                    start=a[1],
                    end=b[1],
                    segments=QUICK_SEGMENTS,
                )
                row = dataclasses.replace(row, line=line)
        rows.append(row)
    return dataclasses.replace(moved.result, routes=tuple(rows))


def _widths(case: Case, floors: Mapping[str, Floor]) -> list[RouteRow]:
    rows = []
    for id, start, end, required, rule in _wanted_routes(case):
        a, b = _place(case, start), _place(case, end)
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
            rule = PINCH[case.rule_set]
            required = min(required, case.value(rule))
        rows.append(
            RouteRow(
                id=id,
                name=name,
                space=a[0],
                route=route,
                line=None,
                required=required,
                rule=rule,
                finding=_route_finding(case, space, name, route, required, rule),
            )
        )
    return rows


def _same(a: Placed | None, b: Placed | None) -> bool:
    if a is None or b is None:
        return a is b
    return (a.at, a.rotation, a.base, a.piece) == (b.at, b.rotation, b.base, b.piece)


def _moved_views(case: Case, before: LayoutResult) -> tuple[ViewRow, ...]:
    """Asked views; those that no moved thing stands before are as they were."""
    old, new = before.placed, case.placed
    moved = [id for id in {*old, *new} if not _same(old.get(id), new.get(id))]
    if not before.views or any(row.piece in moved for row in before.views):
        return _asked_views(case)
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
        if len(shapes) and bool(shapely.intersects(between, shapes).any()):
            return _asked_views(case)
    return before.views


def _asked_views(case: Case) -> tuple[ViewRow, ...]:
    try:
        return tuple(_views(case, quick=True))
    except InputError:
        # A seat pushed into a wall or a piece sees nothing; the findings say where it stands.
        return ()


def _circle(case: Case) -> tuple[float, tuple[float, float]]:
    best, best_at = 0.0, (0.0, 0.0)
    for space in case.spaces.values():
        free = free_floor(space, case.placed, overrides=case.rules)
        if not free.is_empty:
            centre, radius = largest_clear_circle(free)
            if 2 * radius > best:
                best, best_at = 2 * radius, centre
    return best, best_at
