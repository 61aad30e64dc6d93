"""When each line is paid: days of order and delivery from the schedule."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from designkit.costs.cash import Cash, Days, Payment, cash_by_week
from designkit.costs.lines import price, problems, raise_first
from designkit.costs.scenarios import resolve
from designkit.documents.life import has_life
from designkit.model import CostLine, Project
from designkit.schedule.calendars import date_of
from designkit.schedule.dates import OrderBy, latest_orders

__all__ = ["cash", "pay_days"]


def _written(line: CostLine, column: str) -> datetime.date | None:
    text = line.more.get(column, "").strip()
    return date_of(f"{column} of {line.id}", text) if text else None


def _days(
    line: CostLine, order: OrderBy | None, install: datetime.date | None, now: datetime.date
) -> Days:
    ordered = _written(line, "ordered_on")
    arrived = _written(line, "delivered_on") or _written(line, "received_on")
    if ordered is None and order is not None and order.day is not None:
        # What is late is ordered today at the earliest.
        ordered = max(order.day, now)
    if arrived is None and ordered is not None and line.lead_time is not None:
        arrived = ordered + datetime.timedelta(weeks=float(line.lead_time))
    if arrived is None and install is not None:
        # Nothing says more: it is paid when it stands in its place.
        arrived = install
        if ordered is None:
            # Work and transport are ordered a lead before, or when they are done.
            weeks = 0.0 if line.lead_time is None else float(line.lead_time)
            ordered = max(install - datetime.timedelta(weeks=weeks), now)
    if ordered is not None and arrived is not None and arrived < ordered:
        arrived = ordered
    return Days(order=ordered, delivery=arrived)


def pay_days(project: Project, *, today: str | datetime.date) -> dict[str, Days]:
    """The days on which each line is ordered and delivered, as far as known.

    Parameters
    ----------
    project : Project
        Columns `ordered_on`, `received_on` and `delivered_on` decide; else the
        last day to order and the lead time; else the installation day.
    today : str or date
        The day to count from, ISO 8601.

    Returns
    -------
    dict of str to Days
        By cost line id; alternatives have the days of their own lead time.

    Raises
    ------
    InputError
        A day is none, or a lead time is negative.
    """
    now = date_of("today", today)
    brief = project.home.brief
    install = date_of("brief.date", brief.date) if brief.date else None
    orders: Mapping[str, OrderBy] = {}
    if install is not None:
        orders = {o.line: o for o in latest_orders(project, today=now)}
    found = {}
    for line in project.costs:
        # An alternative must be there on the same day as the line it replaces.
        order = orders.get(line.id) or orders.get(line.alternative_of)
        if has_life(line):
            found[line.id] = _days(line, order, install, now)
        else:
            found[line.id] = Days(delivery=install)
    return found


def cash(
    project: Project,
    *,
    today: str | datetime.date,
    scenario: str = "",
    fees: Sequence[Payment] = (),
    days: Mapping[str, Days] | None = None,
) -> Cash:
    """What a project takes week by week, in one of its scenarios.

    Parameters
    ----------
    project : Project
        The project.
    today : str or date
        The day to count from, ISO 8601; what was due before is paid.
    scenario : str, optional
        Scenario id; "" for the lines as drawn.
    fees : sequence of Payment, optional
        The studio's own bills.
    days : mapping of str to Days, optional
        Days that replace those of :func:`pay_days`.

    Returns
    -------
    Cash
        Lines of next year without a written day stand under `later`.

    Raises
    ------
    InputError
        A line, a day or a share is wrong.
    LookupFailed
        There is no such scenario, or days are given for a line that is not
        there.
    """
    now = date_of("today", today)
    home = project.home
    raise_first(problems(project.costs, money=home.money))
    counted = resolve(
        project.costs, scenario=scenario, scenarios=home.scenarios, code=home.money.currency
    ).counted
    old = tuple(id for id, piece in home.pieces.items() if piece.old)
    known = {**pay_days(project, today=now), **(days or {})}
    mine = {
        x.line.id: known[x.line.id] for x in counted if x.year == 1 or x.line.id in (days or {})
    }
    mine |= {id: known[id] for id in days or {}}
    return cash_by_week(
        price(counted, money=home.money, old=old, overrides=home.rules),
        days=mine,
        start=now,
        fees=fees,
        code=home.money.currency,
        overrides=home.rules,
    )
