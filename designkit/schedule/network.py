"""Which work decides the day: forward and backward pass over the tasks.

Times are work days from the start. A task takes its days of work and then its
weeks of waiting (drying, a laboratory, making elsewhere) before the next can
begin; a week of waiting counts as the calendar's work days of a week.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Task
from designkit.schedule.calendars import Calendar, date_of

__all__ = ["Dated", "Network", "Step", "chance_by", "expected_days", "network", "schedule_back"]

_SAME = 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class Step:
    """One task of the network, in work days from the start."""

    task: Task
    duration: float  # expected work and waiting
    work: float  # expected days of work alone
    variance: float
    early_start: float
    early_finish: float
    late_start: float
    late_finish: float

    @property
    def slack(self) -> float:
        """Days that the task may slip before the end moves."""
        return self.late_start - self.early_start

    @property
    def critical(self) -> bool:
        """A lost day here moves the end."""
        return abs(self.slack) < 1e-6


@dataclass(frozen=True, kw_only=True, eq=False)
class Network:
    """All tasks with their early and late times."""

    steps: dict[str, Step]  # in an order in which the work can be done
    length: float  # work days from the first start to the last finish [work days]
    critical: tuple[str, ...]  # one longest chain, first to last
    variance: float  # of that chain
    why: tuple[str, ...]

    @property
    def deviation(self) -> float:
        """Standard deviation of the critical chain. [work days]"""
        return math.sqrt(self.variance)


@dataclass(frozen=True, kw_only=True, eq=False)
class Dated:
    """A task with days of the calendar."""

    step: Step
    start: datetime.date  # latest start, the day on which it must begin
    finish: datetime.date  # latest finish, the last day that it occupies
    earliest: datetime.date  # the day on which it could begin at the soonest
    late: bool  # it must have begun before today


def expected_days(task: Task) -> tuple[float, float]:
    r"""Mean and variance of the days of work from three points.

    .. math:: t = \frac{a + 4 m + b}{6}, \quad \sigma^2 = \left(\frac{b - a}{6}\right)^2

    Parameters
    ----------
    task : Task
        Low a, likely m, high b; without low and high the likely days stand.

    Returns
    -------
    tuple of float
        Mean [work days] and variance.

    Raises
    ------
    InputError
        The three points are out of order or negative.

    Examples
    --------
    >>> from decimal import Decimal
    >>> t = Task(id="A", task="a", low=Decimal(5), likely=Decimal(5), high=Decimal(7))
    >>> round(expected_days(t)[0], 3)
    5.333
    """
    likely = float(task.likely)
    low = likely if task.low is None else float(task.low)
    high = likely if task.high is None else float(task.high)
    where = f"tasks.csv, {task.id}" + (f", row {task.row}" if task.row else "")
    if not all(math.isfinite(x) for x in (low, likely, high)) or not 0 <= low <= likely <= high:
        raise InputError(
            where,
            given=f"low {low:g}, likely {likely:g}, high {high:g} days",
            allowed="0 ≤ low ≤ likely ≤ high",
            mend="put the three numbers in order",
        )
    return (low + 4 * likely + high) / 6, ((high - low) / 6) ** 2


def _ordered(tasks: Sequence[Task]) -> list[Task]:
    """Tasks in an order in which they can be done; the file's order where it is free."""
    by_id: dict[str, Task] = {}
    for task in tasks:
        if task.id in by_id:
            raise InputError(
                f"tasks.csv, {task.id}",
                given=f"rows {by_id[task.id].row} and {task.row}",
                allowed="each id once",
                mend="give one of them another id",
            )
        by_id[task.id] = task
    for task in tasks:
        for before in task.after:
            if before not in by_id:
                raise LookupFailed(
                    f"tasks.csv, {task.id}, after",
                    given=before,
                    allowed=", ".join(by_id),
                    mend=f"did you mean {nearest(before, by_id) or 'one of these'}?",
                )
    done: dict[str, Task] = {}
    while len(done) < len(by_id):
        ready = [t for t in tasks if t.id not in done and all(before in done for before in t.after)]
        if not ready:
            raise InputError(
                "tasks.csv, after",
                given=" → ".join(_cycle(by_id, done)),
                allowed="no task that waits for itself",
                mend="take one of these out of a column after",
            )
        for task in ready:
            done[task.id] = task
    return list(done.values())


def _cycle(by_id: dict[str, Task], done: dict[str, Task]) -> list[str]:
    """One ring of tasks that wait for each other, in the order of the work."""
    at = next(id for id in by_id if id not in done)
    seen: list[str] = []
    while at not in seen:
        seen.append(at)
        at = next(before for before in by_id[at].after if before not in done)
    ring = seen[seen.index(at) :]
    ring.reverse()
    return [*ring, ring[0]]


def network(tasks: Sequence[Task], *, calendar: Calendar | None = None) -> Network:
    """Forward and backward pass over the tasks.

    Parameters
    ----------
    tasks : sequence of Task
        Rows of tasks.csv.
    calendar : Calendar, optional
        Says how many work days a week of waiting is; by default five.

    Returns
    -------
    Network
        Early and late times, slack, and one longest chain.

    Raises
    ------
    InputError
        No task, a ring of tasks, an id twice, or three points out of order.
    LookupFailed
        A task waits for one that is not there.

    Examples
    --------
    >>> from decimal import Decimal
    >>> a = Task(id="a", task="paint", likely=Decimal(3))
    >>> b = Task(id="b", task="floor", likely=Decimal(2), after=("a",))
    >>> network([a, b]).length
    5.0
    """
    if not tasks:
        raise InputError(
            "tasks", given=0, allowed="one or more", mend="write the work into tasks.csv"
        )
    week = (calendar or Calendar()).week
    order = _ordered(tasks)
    work: dict[str, float] = {}
    variance: dict[str, float] = {}
    duration: dict[str, float] = {}
    start: dict[str, float] = {}
    finish: dict[str, float] = {}
    for task in order:
        work[task.id], variance[task.id] = expected_days(task)
        waiting = float(task.lead_weeks or 0)
        if not math.isfinite(waiting) or waiting < 0:
            raise InputError(
                f"tasks.csv, {task.id}, lead_weeks",
                given=waiting,
                allowed="0 or more",
                mend="write the weeks of waiting",
            )
        duration[task.id] = work[task.id] + waiting * week
        start[task.id] = max((finish[b] for b in task.after), default=0.0)
        finish[task.id] = start[task.id] + duration[task.id]
    length = max(finish.values())
    late_finish = dict.fromkeys(work, length)
    for task in reversed(order):
        for before in task.after:
            late = late_finish[task.id] - duration[task.id]
            late_finish[before] = min(late_finish[before], late)
    steps = {
        t.id: Step(
            task=t,
            duration=duration[t.id],
            work=work[t.id],
            variance=variance[t.id],
            early_start=start[t.id],
            early_finish=finish[t.id],
            late_start=late_finish[t.id] - duration[t.id],
            late_finish=late_finish[t.id],
        )
        for t in order
    }
    # Walked back from the last finish along the predecessor that decides.
    at = next(t.id for t in order if finish[t.id] >= length - _SAME)
    chain = [at]
    while steps[at].task.after and start[at] > _SAME:
        at = max(steps[at].task.after, key=lambda b: finish[b])
        chain.append(at)
    chain.reverse()
    return Network(
        steps=steps,
        length=length,
        critical=tuple(chain),
        variance=sum(variance[id] for id in chain),
        why=(
            " + ".join(f"{id} {duration[id]:.2f}" for id in chain) + f" = {length:.2f} work days",
            "standard deviation of this chain alone: "
            f"{math.sqrt(sum(variance[id] for id in chain)):.2f} days, "
            "other chains could run later",
        ),
    )


def chance_by(result: Network, *, days: float) -> float:
    r"""Chance that the critical chain is done within a number of work days.

    .. math:: P = \Phi\left(\frac{D - T}{\sigma}\right)

    Parameters
    ----------
    result : Network
        From `network`.
    days : float
        Work days D.

    Returns
    -------
    float
        0 … 1, by the normal law for one chain: an estimate that is too
        hopeful where another chain is nearly as long.

    Raises
    ------
    InputError
        The number of days is not finite.
    """
    if not math.isfinite(days):
        raise InputError("days", given=days, allowed="a number", mend="count work days")
    if result.variance == 0:
        return 1.0 if days >= result.length - _SAME else 0.0
    return 0.5 * (1 + math.erf((days - result.length) / math.sqrt(2 * result.variance)))


def schedule_back(
    result: Network,
    *,
    end: str | datetime.date,
    today: str | datetime.date,
    calendar: Calendar | None = None,
) -> tuple[Dated, ...]:
    """Latest days of every task, counted back from the day that all must be done.

    Parameters
    ----------
    result : Network
        From `network`.
    end : str or date
        The installation day: all work ends on the work day before it.
    today : str or date
        Tasks that must have begun before it are late.
    calendar : Calendar, optional
        By default Monday to Friday.

    Returns
    -------
    tuple of Dated
        By latest start. Parts of a day are rounded towards more time.

    Raises
    ------
    InputError
        A date is not ISO.
    """
    days = calendar or Calendar()
    last = days.on_or_before(date_of("end", end) - datetime.timedelta(days=1))
    now = date_of("today", today)
    first = days.on_or_after(now)

    def back(from_end: float) -> datetime.date:
        # The day in which a moment lies that far before the close of the last day.
        return days.step(last, -max(0, math.ceil(from_end - 1e-6) - 1))

    found = []
    for step in result.steps.values():
        start = back(result.length - step.late_start)
        finish = days.step(last, -math.floor(result.length - step.late_finish + 1e-6))
        found.append(
            Dated(
                step=step,
                start=start,
                finish=max(start, finish),
                earliest=days.step(first, math.floor(step.early_start + 1e-6)),
                late=start < now,
            )
        )
    return tuple(sorted(found, key=lambda d: (d.start, d.finish)))
