"""One layout: findings, routes, views, talk, and the numbers that options are compared by."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from designkit.analyses.pick import home_of, layout_id, layout_of
from designkit.analyses.route_rows import RouteRow, routes_of
from designkit.analyses.view_rows import (
    SEATED,
    ScreenRow,
    ViewRow,
    screens_of,
    view_finding,
    views_of,
)
from designkit.errors import LookupFailed, nearest
from designkit.model import Finding, Home, Layout, Project
from designkit.plan.case import Case, case_of
from designkit.plan.findings import findings_of
from designkit.plan.onplan import talk
from designkit.plan.place import Placed
from designkit.plan.seating import SeatPair
from designkit.plan.space import Space, free_floor, largest_clear_circle

__all__ = ["LayoutResult", "layout", "result_of"]

ORDER: dict[str, int] = {
    name: i for i, name in enumerate(("law here", "safety", "tight", "inconvenient", "note"))
}


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
    routes = tuple(routes_of(case, quick=quick))
    return result_of(case, id=id, routes=routes, views=tuple(views_of(case, quick=quick)))


def result_of(
    case: Case,
    *,
    id: str,
    routes: tuple[RouteRow, ...],
    views: tuple[ViewRow, ...],
    pairs: tuple[SeatPair, ...] | None = None,
) -> LayoutResult:
    """A layout's result from its routes and views.

    Parameters
    ----------
    case : Case
        The layout with its pieces placed.
    id : str
        Of the layout.
    routes : tuple of RouteRow
        With their findings.
    views : tuple of ViewRow
        What the seats see.
    pairs : tuple of SeatPair, optional
        Who talks with whom; None: it is looked for.

    Returns
    -------
    LayoutResult
        Findings by severity.
    """
    screens = tuple(screens_of(case))
    findings = [*findings_of(case), *(row.finding for row in routes)]
    findings += [row.finding for row in screens]
    findings += [f for row in views if (f := view_finding(case, row)) is not None]
    findings.sort(key=lambda f: (f.verdict == "passes", ORDER[f.severity]))
    group = tuple(k for k, p in case.placed.items() if p.piece.kind in SEATED and p.seats)
    if pairs is None:
        pairs = talk(case.placed, pieces=group, overrides=case.rules) if len(group) > 1 else ()
    return LayoutResult(
        id=id,
        layout=case.layout,
        findings=tuple(findings),
        routes=routes,
        views=views,
        screens=screens,
        talk=pairs,
        seats=sum(len(case.placed[k].seats) for k in group),
        diners=sum(len(p.seats) for p in case.placed.values() if p.host),
        placed=case.placed,
        spaces=case.spaces,
        rules=case.rules,
    )
