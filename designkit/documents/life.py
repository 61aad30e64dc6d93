"""The life of a line, from choosing it to closing it, and what is due.

The state and its dates stand in columns of costs.csv: `state`, `agreed_by`,
`agreed_on`, `ordered_on` and so on. A line that says nothing takes its state
from how firm its price is. A step is a list of edits, as every change is.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.errors import InputError, nearest
from designkit.model import CostLine, Edit, Project
from designkit.reference import value
from designkit.schedule.calendars import date_of
from designkit.schedule.dates import latest_orders

__all__ = [
    "Due",
    "LifeState",
    "has_life",
    "next_states",
    "open_lines",
    "state_of",
    "step",
]

LifeState = Literal[
    "to choose",
    "quoted",
    "agreed",
    "ordered",
    "acknowledged",
    "made",
    "received and inspected",
    "delivered",
    "in place",
    "snagged",
    "closed",
]
STATES: tuple[LifeState, ...] = get_args(LifeState)

# Money without a thing behind it has no life of its own.
_LIVING = ("purchase", "delivery", "repair", "labour", "fabric", "work")
_SERVICE = ("delivery", "repair", "labour", "work")

_NEXT: Mapping[LifeState, tuple[LifeState, ...]] = {
    "to choose": ("quoted", "agreed"),
    "quoted": ("agreed", "to choose"),
    "agreed": ("ordered", "quoted", "to choose"),
    # An order that the supplier cannot meet goes back to what was agreed.
    "ordered": ("acknowledged", "received and inspected", "agreed"),
    "acknowledged": ("made", "received and inspected"),
    "made": ("received and inspected",),
    # Refused on inspection: it is ordered again.
    "received and inspected": ("delivered", "ordered"),
    "delivered": ("in place",),
    "in place": ("snagged", "closed"),
    # Mended and looked at again, or closed at once.
    "snagged": ("in place", "closed"),
    "closed": (),
}
# Where the day, and who, of each state are written.
DAY_OF: Mapping[LifeState, str] = {
    "to choose": "",
    "quoted": "quoted_on",
    "agreed": "agreed_on",
    "ordered": "ordered_on",
    "acknowledged": "acknowledged_on",
    "made": "made_on",
    "received and inspected": "received_on",
    "delivered": "delivered_on",
    "in place": "placed_on",
    "snagged": "snagged_on",
    "closed": "closed_on",
}
WHO_OF: Mapping[LifeState, str] = {
    "agreed": "agreed_by",
    "received and inspected": "inspected_by",
    "closed": "closed_by",
}


def has_life(line: CostLine) -> bool:
    """Whether a line is a thing or work, and not only money.

    Parameters
    ----------
    line : CostLine
        The line.

    Returns
    -------
    bool
        False for discounts, credits, returns, sales, fees and allowances.
    """
    return line.kind in _LIVING


def _where(line: CostLine, column: str) -> str:
    place = f"costs.csv row {line.row}" if line.row else f"cost line {line.id!r}"
    return f"{place}, {column}"


def state_of(line: CostLine) -> LifeState:
    """Where a line stands.

    Parameters
    ----------
    line : CostLine
        Its column `state` decides; without it, how firm its price is.

    Returns
    -------
    str
        One of the eleven states.

    Raises
    ------
    InputError
        The column holds another word.

    Examples
    --------
    >>> from decimal import Decimal
    >>> state_of(CostLine(id="a", item="a", category="new", likely=Decimal(1), status="quoted"))
    'quoted'
    """
    written = line.more.get("state", "").strip().lower()
    if written:
        for known in STATES:
            if written == known:
                return known
        near = nearest(written, STATES)
        raise InputError(
            _where(line, "state"),
            given=written,
            allowed=", ".join(STATES),
            mend=f"write {near}" if near else "use one of these",
        )
    if line.status in ("ordered", "paid"):
        return "ordered"
    return "quoted" if line.status == "quoted" else "to choose"


def next_states(line: CostLine) -> tuple[LifeState, ...]:
    """The states that a line may go to.

    Parameters
    ----------
    line : CostLine
        The line.

    Returns
    -------
    tuple of str
        The usual next one first; empty for a closed line and for mere money.

    Raises
    ------
    InputError
        Its state is none of the eleven.
    """
    if not has_life(line):
        return ()
    state = state_of(line)
    onward = _NEXT[state]
    if line.kind in _SERVICE and state in ("ordered", "acknowledged"):
        # Work is not received and carried: it is done in its place.
        back = tuple(s for s in onward if s in ("acknowledged", "agreed"))
        return (
            ("in place", *back) if state == "acknowledged" else (*back[:1], "in place", *back[1:])
        )
    return onward


def step(
    line: CostLine, *, to: LifeState, on: str | datetime.date, by: str = ""
) -> tuple[Edit, ...]:
    """The edits that take a line to its next state.

    Parameters
    ----------
    line : CostLine
        The line.
    to : str
        The state it goes to.
    on : str or date
        The day, ISO 8601.
    by : str, optional
        Who agreed, inspected or closed it; must be given for these three.

    Returns
    -------
    tuple of Edit
        On `costs.<id>.<column>`. The firmness of the price follows: a line
        that is quoted or ordered says so.

    Raises
    ------
    InputError
        The step is not allowed from here, nobody is named where somebody must
        be, or the day lies before the line's last one.
    """
    if not has_life(line):
        raise InputError(
            _where(line, "kind"),
            given=line.kind,
            allowed=", ".join(_LIVING),
            mend="a discount, credit, sale, fee or allowance has no steps",
        )
    now = state_of(line)
    onward = next_states(line)
    if to not in onward:
        raise InputError(
            _where(line, "state"),
            given=f"{now} → {to}",
            allowed=", ".join(onward) or "nothing: the line is closed",
            mend="take the steps one by one",
        )
    day = date_of("on", on)
    who = WHO_OF.get(to, "")
    if who and not by.strip():
        raise InputError(
            _where(line, who),
            given='""',
            allowed="who it was, by role",
            mend="the client, in writing",
        )
    last = _last_day(line)
    if last is not None and day < last[1]:
        raise InputError(
            _where(line, DAY_OF[to] or "state"),
            given=day.isoformat(),
            allowed=f"on or after {last[0]} {last[1].isoformat()}",
            mend="look for a slip in the day",
        )
    new: dict[str, str] = {"state": to}
    if DAY_OF[to]:
        new[DAY_OF[to]] = day.isoformat()
    if who:
        new[who] = by.strip()
    edits = [
        Edit(path=f"costs.{line.id}.{column}", old=line.more.get(column) or None, new=text)
        for column, text in new.items()
        if line.more.get(column, "") != text
    ]
    if to in ("quoted", "ordered") and line.status != "paid" and line.status != to:
        edits.append(Edit(path=f"costs.{line.id}.status", old=line.status, new=to))
    return tuple(edits)


def _last_day(line: CostLine) -> tuple[str, datetime.date] | None:
    """The day of the state in which the line stands, where it is written."""
    column = DAY_OF[state_of(line)]
    written = line.more.get(column, "").strip() if column else ""
    return (column, date_of(_where(line, column), written)) if written else None


@dataclass(frozen=True, kw_only=True, eq=False)
class Due:
    """What has to be done next about a line."""

    line: str
    item: str
    room: str
    state: LifeState
    what: str  # in words
    day: datetime.date | None  # None: nobody knows
    days_left: int | None  # negative: late
    why: str
    rules: tuple[str, ...]


def open_lines(project: Project) -> tuple[CostLine, ...]:
    """The lines that count as drawn and have a life, in the order of the file."""
    return tuple(c for c in project.costs if not c.alternative_of and has_life(c))


def due(project: Project, *, today: str | datetime.date) -> tuple[Due, ...]:
    """What is due for every line that is not closed, the most urgent first.

    Parameters
    ----------
    project : Project
        With the installation day in its brief; without it nothing has a last
        day to be ordered.
    today : str or date
        The day to count from, ISO 8601.

    Returns
    -------
    tuple of Due
        A row a line; lines without a day stand at the end.

    Raises
    ------
    InputError
        A state or a day of a line is none.
    """
    now = date_of("today", today)
    home = project.home
    rules = home.rules
    orders = {}
    if home.brief.date:
        orders = {o.line: o for o in latest_orders(project, today=now)}
    install = date_of("brief.date", home.brief.date) if home.brief.date else None

    def later(start: datetime.date, days: float) -> datetime.date:
        return start + datetime.timedelta(days=round(days))

    def written(line: CostLine, state: LifeState) -> datetime.date | None:
        text = line.more.get(DAY_OF[state], "").strip()
        return date_of(_where(line, DAY_OF[state]), text) if text else None

    rows = []
    for line in open_lines(project):
        state = state_of(line)
        day: datetime.date | None = None
        used: tuple[str, ...] = ()
        if state == "closed":
            continue
        order = orders.get(line.id)
        if state in ("to choose", "quoted"):
            what = "agree it with the client"
            if order is not None and order.day is not None:
                day = later(order.day, -value("costs.life.agree_days", rules))
                used = ("costs.life.agree_days", *order.rules)
            why = "before it must be ordered" if day else "no last day to order is known"
        elif state == "agreed":
            what = "order it"
            day = None if order is None else order.day
            used = () if order is None else order.rules
            why = "; ".join(order.why) if order is not None else "no last day to order is known"
        elif state == "ordered":
            what = "have the order acknowledged"
            on = written(line, "ordered")
            if on is not None:
                day = later(on, value("costs.life.acknowledge_days", rules))
            used = ("costs.life.acknowledge_days",)
            why = f"ordered on {on.isoformat()}" if on else "the day of the order is not written"
        elif state in ("acknowledged", "made"):
            service = line.kind in _SERVICE
            what = "have it done" if service else "receive and inspect it"
            on = written(line, "ordered")
            if on is not None and line.lead_time is not None:
                day = later(on, 7 * float(line.lead_time))
                why = f"ordered on {on.isoformat()} + {line.lead_time} weeks"
            else:
                day = install
                why = "the installation day" if install else "no day is written"
        elif state in ("received and inspected", "delivered"):
            what = "deliver it" if state == "received and inspected" else "put it in its place"
            day = install
            why = "the installation day" if install else "no installation day is written"
        elif state == "snagged":
            what = "have the snag mended"
            on = written(line, "snagged")
            if on is not None:
                day = later(on, value("costs.life.mend_days", rules))
            used = ("costs.life.mend_days",)
            why = line.more.get("snag", "") or "the snag is not described"
        else:
            what = "look at it once more and close it"
            on = written(line, "in place")
            if on is not None:
                day = later(on, value("costs.life.close_days", rules))
            used = ("costs.life.close_days",)
            why = f"in place on {on.isoformat()}" if on else "the day is not written"
        rows.append(
            Due(
                line=line.id,
                item=line.item,
                room=line.room,
                state=state,
                what=what,
                day=day,
                days_left=None if day is None else (day - now).days,
                why=why,
                rules=used,
            )
        )
    return tuple(sorted(rows, key=lambda row: (row.day is None, row.day or now)))
