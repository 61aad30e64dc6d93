"""The whole of the dates of a project: gates, network, order days, in one result."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.model import Finding, Project
from designkit.schedule.calendars import Calendar, date_of
from designkit.schedule.dates import OrderBy, latest_orders
from designkit.schedule.gates import check_order, with_gates
from designkit.schedule.network import Dated, Network, chance_by, network, schedule_back

__all__ = ["Programme", "next_steps", "programme"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Programme:
    """Everything that a project's dates say on one day."""

    installation: datetime.date
    today: datetime.date
    findings: tuple[Finding, ...]  # gates and order of work, of the tasks as written
    network: Network | None  # with the gates that were missing; None: no tasks yet
    dated: tuple[Dated, ...]
    orders: tuple[OrderBy, ...]
    days_in_hand: int | None  # work days between the earliest end and the installation
    chance: float | None  # that the critical chain ends in time, an estimate
    why: tuple[str, ...]


def programme(
    project: Project, *, today: str | datetime.date, calendar: Calendar | None = None
) -> Programme:
    """Order days and work days of a project, counted back from its installation.

    Parameters
    ----------
    project : Project
        Its brief holds the installation day.
    today : str or date
        The day to count from, ISO 8601; never the clock's.
    calendar : Calendar, optional
        By default Monday to Friday.

    Returns
    -------
    Programme
        Gates that the tasks lack are put in before any day is given, so that
        nothing is dated ahead of its sample or its final measure.

    Raises
    ------
    InputError
        No installation day, a date that is not ISO, a ring of tasks, or
        numbers out of order.
    LookupFailed
        A task waits for one that is not there.
    """
    home = project.home
    orders = latest_orders(project, today=today, calendar=calendar)
    day = date_of("brief.date", home.brief.date)
    now = date_of("today", today)
    if not project.tasks:
        return Programme(
            installation=day,
            today=now,
            findings=(),
            network=None,
            dated=(),
            orders=orders,
            days_in_hand=None,
            chance=None,
            why=("no tasks are written yet: only the order days are known",),
        )
    days = calendar or Calendar()
    facts = {"building": home.building, "scopes": home.scopes, "overrides": home.rules}
    findings = check_order(project.tasks, **facts)  # type: ignore[arg-type]
    gated = with_gates(project.tasks, **facts)  # type: ignore[arg-type]
    added = [t.task for t in gated if t.more.get("added") == "gate"]
    result = network(gated, calendar=days)
    left = days.between(days.on_or_after(now), day) if now < day else days.between(now, day)
    # Parts of a day are lost: the last task ends with a whole one.
    in_hand = left - _whole_days(result.length)
    why = [
        *result.why,
        f"{left} work days from {now.isoformat()} to {day.isoformat()}, the installation; "
        + (f"{in_hand} in hand" if in_hand >= 0 else f"{-in_hand} too few"),
    ]
    if added:
        why.insert(0, f"put in, because the tasks lack it: {', '.join(added)}")
    return Programme(
        installation=day,
        today=now,
        findings=findings,
        network=result,
        dated=schedule_back(result, end=day, today=now, calendar=days),
        orders=orders,
        days_in_hand=in_hand,
        chance=chance_by(result, days=left),
        why=tuple(why),
    )


def _whole_days(length: float) -> int:
    return int(-(-(length - 1e-6) // 1))


def next_steps(result: Programme, *, count: int = 3) -> tuple[str, ...]:
    """The next things to do, in sentences.

    Parameters
    ----------
    result : Programme
        From `programme`.
    count : int, optional
        How many at most.

    Returns
    -------
    tuple of str
        Work and orders by their last day, the earliest first.

    Raises
    ------
    InputError
        The count is not above zero.
    """
    if count < 1:
        raise InputError("count", given=count, allowed="1 or more", mend="ask for one at least")
    found = [(d.start, f"{d.step.task.task}: begin by {d.start.isoformat()}") for d in result.dated]
    found += [
        (o.day, f"{o.item}: order by {o.day.isoformat()}")
        for o in result.orders
        if o.day is not None and o.state != "ordered"
    ]
    found.sort(key=lambda pair: pair[0])
    return tuple(text for _, text in found[:count])
