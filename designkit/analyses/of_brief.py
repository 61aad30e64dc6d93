"""The brief against the results: each wish met, not met, measure first or not asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from designkit.analyses.of_layout import LayoutResult
from designkit.analyses.route_rows import RouteRow
from designkit.analyses.view_rows import wish_view
from designkit.balance import Balance
from designkit.costs.budgeting import Budget
from designkit.days import day_words
from designkit.lighting.quick import LightResult
from designkit.model import Home, Project, Wish
from designkit.plan.measure import judge
from designkit.schedule.dates import OrderBy
from designkit.units import in_sentence

__all__ = ["BriefLine", "brief", "brief_sentence"]

State = Literal["met", "not met", "measure first", "not asked"]
TOPICS = {
    "route": "a way through",
    "view": "a view from a seat",
    "seats": "seats",
    "diners": "places at the table",
    "turning": "a turning circle",
    "black": "a limit on black",
    "light": "light at a place",
    "budget": "a cap",
    "date": "a day",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class BriefLine:
    """One wish and how it stands."""

    id: str  # wish id, or the topic where nothing was asked
    kind: str
    text: str
    state: State
    measured: str  # in words, with its unit; "" where there is nothing to measure
    why: str


def _share(value: float) -> str:
    return f"{value * 100:.0f} %"


def _state(measured: float, wish: Wish, within: float = 0.0) -> State:
    states: list[State] = []
    for limit, at_most in ((wish.at_least, False), (wish.at_most, True)):
        if limit is not None:
            verdict = judge(measured, required=limit, within=within, at_most=at_most)
            by: dict[str, State] = {"passes": "met", "fails": "not met"}
            states.append(by.get(verdict, "measure first"))
    for state in ("not met", "measure first"):
        if state in states:
            return state
    return "met"


def _route(id: str, wish: Wish, home: Home, result: LayoutResult) -> BriefLine | None:
    row = next((r for r in result.routes if r.id == id), None)
    if row is None:
        return None
    by: dict[str, State] = {"passes": "met", "fails": "not met"}
    state = by.get(row.finding.verdict, "measure first")
    measured = in_sentence(row.route.width, units=home.units) if row.route.open else "no way"
    if row.route.open and state == "met" and row.route.width < (wish.at_least or 0.0) - 1e-9:
        measured += _at_a_door(row, home)
    return BriefLine(
        id=id, kind=wish.kind, text=wish.text, state=state, measured=measured, why=row.finding.why
    )


def _at_a_door(row: RouteRow, home: Home) -> str:
    """Why a way that is narrower than was asked is met: a door is one narrow place."""
    end = row.route.between[0] if row.route.between else ""
    name = (home.openings[end].name if end in home.openings else "") or "door"
    held = in_sentence(row.required, units=home.units)
    said = f" at the {name}; a door is held to {held}"
    if row.floor is not None:
        said += f", and the pieces leave {in_sentence(round(row.floor.width, 3), units=home.units)}"
    return said


def _view(id: str, wish: Wish, home: Home, result: LayoutResult) -> BriefLine | None:
    rows = wish_view(home, result.views, wish)
    if not rows:
        return None
    best = max(rows, key=lambda row: row.view.share)
    return BriefLine(
        id=id,
        kind=wish.kind,
        text=wish.text,
        state=_state(best.view.share, wish),
        measured=f"{_share(best.view.share)} of it",
        why=best.view.why,
    )


def _screen(id: str, wish: Wish, result: LayoutResult) -> BriefLine | None:
    """How wide a screen looks from the seat that is to watch it."""
    stand = result.layout.pieces
    seats = [k for k in stand if k == wish.start or k.rsplit("_", 1)[0] == wish.start]
    if wish.end not in stand or not seats:
        return None
    rows = [r for r in result.screens if r.screen == wish.end and r.piece in seats]
    best = max(rows, key=lambda row: row.view.angle, default=None)
    if best is None:
        return BriefLine(
            id=id, kind=wish.kind, text=wish.text, state="not met", measured="not faced",
            why="the seat does not face the screen, or looks at its back",
        )  # fmt: skip
    return BriefLine(
        id=id,
        kind=wish.kind,
        text=wish.text,
        state=_state(best.view.angle, wish),
        measured=f"{best.view.angle:.0f}° across",
        why=best.view.why,
    )


def _light(id: str, wish: Wish, light: LightResult) -> BriefLine | None:
    rows = [
        row for row in light.rows if row.id == wish.end or row.id.startswith(f"{wish.end} page")
    ]
    if not rows:
        return None
    pages = [row for row in rows if "page" in row.id] or rows
    best = max(pages, key=lambda row: row.full)
    return BriefLine(
        id=id,
        kind=wish.kind,
        text=wish.text,
        state=_state(best.full, wish, best.within),
        measured=f"{best.full:.0f} lx",
        why=best.why,
    )


def _black(id: str, wish: Wish, balance: Balance) -> BriefLine:
    share = balance.shares["black"]
    low, high = balance.low["black"], balance.high["black"]
    return BriefLine(
        id=id,
        kind=wish.kind,
        text=wish.text,
        state=_state(share, wish, (high - low) / 2),
        measured=_share(share),
        why=f"{balance.why}; {balance.definitions}",
    )


def _date(id: str, wish: Wish, orders: Sequence[OrderBy]) -> BriefLine | None:
    dated = [o for o in orders if o.day is not None]
    if not dated:
        return None
    late = [o for o in dated if o.state == "late"]
    first = dated[0]  # the most urgent stands first
    assert first.day is not None
    return BriefLine(
        id=id,
        kind=wish.kind,
        text=wish.text,
        state="not met" if late else "met",
        measured=f"{len(late)} orders too late"
        if late
        else f"first order by {day_words(first.day)}",
        why="; ".join(f"{o.item}: {', '.join(o.why)}" for o in (late or [first])[:3]),
    )


def brief(
    project: Project,
    *,
    layout: LayoutResult | None = None,
    balance: Balance | None = None,
    light: LightResult | None = None,
    budget: Budget | None = None,
    scenario: str = "",
    orders: Sequence[OrderBy] = (),
    kinds: Sequence[str] | None = None,
) -> tuple[BriefLine, ...]:
    """How the wishes of the brief stand, as far as the given results tell.

    Parameters
    ----------
    project : Project
        Its home holds the brief.
    layout, balance, light, budget
        Results; wishes that need one which is not given are left out.
    scenario : str
        The scenario whose total the cap is held against.
    orders : sequence of OrderBy
        From `designkit.schedule.dates.latest_orders`.
    kinds : sequence of str, optional
        Topics to name as "not asked" where the brief is silent.

    Returns
    -------
    tuple of BriefLine
        In the order of the brief, then what was not asked.
    """
    home = project.home
    lines: list[BriefLine] = []
    for id, wish in home.brief.wishes.items():
        line: BriefLine | None = None
        if wish.kind == "route" and layout is not None:
            line = _route(id, wish, home, layout)
        elif wish.kind == "view" and layout is not None:
            line = _view(id, wish, home, layout)
        elif wish.kind == "screen" and layout is not None:
            line = _screen(id, wish, layout)
        elif wish.kind in ("seats", "diners") and layout is not None:
            count = layout.seats if wish.kind == "seats" else layout.diners
            line = BriefLine(
                id=id,
                kind=wish.kind,
                text=wish.text,
                state=_state(count, wish),
                measured=f"{count} places",
                why=f"{count} places stand in the layout",
            )
        elif wish.kind == "turning" and layout is not None:
            line = BriefLine(
                id=id,
                kind=wish.kind,
                text=wish.text,
                state=_state(layout.circle, wish),
                measured=f"Ø {in_sentence(layout.circle, units=home.units)}",
                why="largest circle clear of pieces, walls and door leaves",
            )
        elif wish.kind == "black" and balance is not None:
            line = _black(id, wish, balance)
        elif wish.kind == "light" and light is not None:
            line = _light(id, wish, light)
        elif wish.kind == "budget" and budget is not None:
            column = budget.column(scenario) if scenario else budget.columns[0]
            under = column.now if column.cap_now is not None else column.total
            cap = wish.at_most
            line = BriefLine(
                id=id,
                kind=wish.kind,
                text=wish.text,
                state="met" if cap is None or float(under) <= cap else "not met",
                measured=column.words,
                why=f"{column.name}: {under} against {cap:g}" if cap is not None else column.name,
            )
        elif wish.kind == "date" and orders:
            line = _date(id, wish, orders)
        if line is not None:
            lines.append(line)
    asked = {wish.kind for wish in home.brief.wishes.values()}
    lines += [
        BriefLine(id=kind, kind=kind, text=TOPICS[kind], state="not asked", measured="", why="")
        for kind in (kinds or ())
        if kind not in asked
    ]
    return tuple(lines)


def brief_sentence(lines: Sequence[BriefLine]) -> str:
    """The brief in one line: "5 of 7 wishes of the brief are met".

    Parameters
    ----------
    lines : sequence of BriefLine
        From `brief`.

    Returns
    -------
    str
        A sentence without its full stop.

    Examples
    --------
    >>> brief_sentence([])
    'The brief asks for nothing that can be checked here'
    """
    asked = [line for line in lines if line.state != "not asked"]
    if not asked:
        return "The brief asks for nothing that can be checked here"
    met = sum(line.state == "met" for line in asked)
    first = sum(line.state == "measure first" for line in asked)
    wishes = "wish" if len(asked) == 1 else "wishes"
    are = "is" if len(asked) == 1 else "are"
    text = f"{met} of {len(asked)} {wishes} of the brief {are} met"
    return f"{text}, {first} to be measured first" if first else text
