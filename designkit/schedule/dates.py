"""The latest day to order: installation less lead, transit and slack."""

from __future__ import annotations

import datetime
import functools
from dataclasses import dataclass
from typing import Literal

from designkit.days import day_words
from designkit.errors import InputError
from designkit.model import CostLine, Home, Project
from designkit.reference import table, value
from designkit.schedule.calendars import Calendar, date_of, weeks_before

__all__ = ["OrderBy", "OrderState", "latest_orders", "lead_class", "order_by"]

OrderState = Literal["in hand", "order now", "late", "ordered", "ask the supplier"]


@dataclass(frozen=True, kw_only=True, eq=False)
class OrderBy:
    """One line of the budget and the last day to order it."""

    line: str  # cost line id
    item: str
    room: str
    lead: float | None  # [weeks]; None: nobody has said
    making: float  # cloth at its maker's [weeks]
    transit: float  # [weeks]
    slack: float  # [weeks]
    day: datetime.date | None  # the safe one, from the longest usual lead
    quick: datetime.date | None  # with the shortest usual lead, slack kept
    state: OrderState
    days_left: int | None  # calendar days from today; negative: too late
    why: tuple[str, ...]
    rules: tuple[str, ...]


def order_by(
    installation: str | datetime.date,
    *,
    lead: float,
    transit: float = 0.0,
    slack: float = 0.0,
    calendar: Calendar | None = None,
) -> datetime.date:
    """The latest work day to order something.

    Parameters
    ----------
    installation : str or date
        The day it must be in place, ISO 8601.
    lead : float
        From the order to the door of the maker. [weeks]
    transit : float, optional
        From there to the home. [weeks]
    slack : float, optional
        In hand. [weeks]
    calendar : Calendar, optional
        By default Monday to Friday.

    Returns
    -------
    date
        A work day.

    Raises
    ------
    InputError
        The date is not ISO, or a number of weeks is negative.

    Examples
    --------
    >>> order_by("2026-10-15", lead=12, slack=3).isoformat()
    '2026-07-02'
    """
    day = date_of("installation date", installation)
    return weeks_before(day, (lead, transit, slack), calendar=calendar)


@functools.cache
def _classes() -> list[dict[str, str]]:
    return table("lead-classes")


def lead_class(line: CostLine, home: Home) -> str:
    """The kind of making that a line's usual lead time goes by, or "".

    Parameters
    ----------
    line : CostLine
        From costs.csv.
    home : Home
        Its pieces and fixtures say what the line is.

    Returns
    -------
    str
        A class of the table lead-classes, as "upholstery" or "lighting"; ""
        where nothing says what the line is.
    """
    if line.piece in home.fixtures:
        return "lighting"
    words = f"{line.category} {line.item}".lower()
    kind = home.pieces[line.piece].kind.lower() if line.piece in home.pieces else ""
    old = line.piece in home.pieces and home.pieces[line.piece].old
    for row in _classes():
        kinds = row["cost_kinds"].split()
        if kinds and line.kind not in kinds:
            continue
        if row["old"] == "yes" and not old:
            continue
        if row["old"] == "no" and old:
            continue
        if any(w.strip() and w.strip() in words for w in row["unless"].split("|")):
            continue
        found = [w.strip() for w in row["words"].split("|")]
        if any(w and (w in words or w in kind) for w in found):
            return row["class"]
    return ""


def _making(line: CostLine, project: Project) -> tuple[float, str]:
    """Weeks that cloth lies with its maker before the piece can go on its way.

    The makers of a cloth are the labour lines of its piece, or of its room and
    category where it belongs to none.
    """
    if line.kind != "fabric":
        return 0.0, ""
    weeks, maker = 0.0, ""
    for other in project.costs:
        same = (
            other.piece == line.piece
            if line.piece
            else not other.piece and (other.room, other.category) == (line.room, line.category)
        )
        if other.kind != "labour" or other.alternative_of or not same:
            continue
        kind = lead_class(other, project.home)
        if other.lead_time is not None:
            lead = float(other.lead_time)
        elif kind in ("re-cover", "drapery"):
            lead = value(f"schedule.lead.{kind}.high", project.home.rules)
        else:
            continue
        if lead > weeks:
            weeks, maker = lead, other.id
    return weeks, maker


def latest_orders(
    project: Project,
    *,
    today: str | datetime.date,
    calendar: Calendar | None = None,
    transit: float | None = None,
    slack: float | None = None,
    soon: float | None = None,
) -> tuple[OrderBy, ...]:
    """The last day to order each line of the budget, the most urgent first.

    Parameters
    ----------
    project : Project
        Its brief holds the installation day, its lines their lead times.
    today : str or date
        The day to count from, ISO 8601.
    calendar : Calendar, optional
        By default Monday to Friday.
    transit, slack : float, optional
        By default `schedule.transit` and `schedule.slack`. [weeks]
    soon : float, optional
        A line is "order now" this long before its last day; by default
        `schedule.soon`. [weeks]

    Returns
    -------
    tuple of OrderBy
        Goods only (purchase and fabric, and work on old seats); alternatives
        to a line are left out. A line without a lead time of its own takes the
        longest of its kind (P17); one that no rule knows has no day and says
        "ask the supplier".

    Raises
    ------
    InputError
        The brief has no date, a date is not ISO, or a lead time is negative.
    """
    home = project.home
    rules = home.rules
    if not home.brief.date:
        raise InputError(
            "brief.date",
            given='""',
            allowed="an ISO 8601 date",
            mend='write the installation day: date = "2027-03-15"',
        )
    day = date_of("brief.date", home.brief.date)
    now = date_of("today", today)
    carried = value("schedule.transit", rules) if transit is None else transit
    spare = value("schedule.slack", rules) if slack is None else slack
    near = value("schedule.soon", rules) if soon is None else soon
    rows: list[OrderBy] = []
    for line in project.costs:
        if line.kind not in ("purchase", "fabric", "labour") or line.alternative_of:
            continue
        kind = lead_class(line, home)
        if line.kind == "labour" and kind != "re-cover" and line.lead_time is None:
            continue
        used: tuple[str, ...] = ("schedule.transit", "schedule.slack")
        if line.lead_time is not None:
            low = high = float(line.lead_time)
            why = [f"lead {high:g} weeks, as the line says"]
        elif kind:
            low = value(f"schedule.lead.{kind}.low", rules)
            high = value(f"schedule.lead.{kind}.high", rules)
            used = (f"schedule.lead.{kind}.low", f"schedule.lead.{kind}.high", *used)
            why = [
                f"no lead time stated: {kind} usually takes {low:g} to {high:g} weeks, "
                "the longest is counted"
            ]
        else:
            done = line.status in ("ordered", "paid")
            rows.append(
                OrderBy(
                    line=line.id,
                    item=line.item,
                    room=line.room,
                    lead=None,
                    making=0.0,
                    transit=carried,
                    slack=spare,
                    day=None,
                    quick=None,
                    state="ordered" if done else "ask the supplier",
                    days_left=None,
                    why=("no lead time stated, and no rule knows this kind of thing",),
                    rules=(),
                )
            )
            continue
        making, maker = _making(line, project)
        if maker:
            work = next((one.item for one in project.costs if one.id == maker), maker)
            why.append(f"the cloth must be there before the work begins: {work}, {making:g} weeks")
        last = weeks_before(day, (high, making, carried, spare), calendar=calendar)
        quick = weeks_before(day, (low, making, carried, spare), calendar=calendar)
        left = (last - now).days
        why.append(
            f"{day_words(day, short=True)} − {high:g} lead"
            f"{f' − {making:g} making' if maker else ''}"
            f" − {carried:g} transit − {spare:g} in hand "
            f"= {day_words(last, short=True)}, the work day on or before"
        )
        state: OrderState
        if line.status in ("ordered", "paid"):
            state = "ordered"
        elif left < 0:
            state = "late"
            late = -left
            why.append(
                f"{late} {'day' if late == 1 else 'days'} too late by the longest lead; "
                + (
                    f"with the shortest, {low:g} weeks, it could wait until "
                    f"{day_words(quick, short=True)}"
                    if quick >= now and low < high
                    else "take what is in stock, pay for transit by air, or move the day"
                )
            )
        elif left <= near * 7:
            state = "order now"
        else:
            state = "in hand"
        rows.append(
            OrderBy(
                line=line.id,
                item=line.item,
                room=line.room,
                lead=high,
                making=making,
                transit=carried,
                slack=spare,
                day=last,
                quick=quick,
                state=state,
                days_left=left,
                why=tuple(why),
                rules=used,
            )
        )

    def urgency(row: OrderBy) -> tuple[bool, datetime.date]:
        return row.state == "ordered", row.day or datetime.date.max

    return tuple(sorted(rows, key=urgency))
