"""Work days and ISO dates. Today is always an argument, never the clock's."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable
from dataclasses import dataclass

from designkit.errors import InputError

__all__ = ["Calendar", "date_of", "weeks_before"]

_MOST_DAYS = 366 * 50


def date_of(what: str, text: str | datetime.date) -> datetime.date:
    """A date from ISO 8601 text.

    Parameters
    ----------
    what : str
        The quantity, as an error shall name it.
    text : str or date
        As 2027-03-15; a date is given back as it is.

    Returns
    -------
    date
        The day.

    Raises
    ------
    InputError
        The text is not a day of the calendar written year-month-day.

    Examples
    --------
    >>> date_of("installation", "2027-03-15").isoformat()
    '2027-03-15'
    """
    if isinstance(text, datetime.datetime):
        return text.date()
    if isinstance(text, datetime.date):
        return text
    mend = "write the year first: 2027-03-15"
    # fromisoformat also reads 20270315 and week dates; one form is asked for.
    if not isinstance(text, str) or len(text) != 10 or text[4] != "-" or text[7] != "-":
        raise InputError(what, given=repr(text), allowed="an ISO 8601 date", mend=mend)
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError(
            what, given=repr(text), allowed="a day of the calendar, ISO 8601", mend=mend
        ) from None


@dataclass(frozen=True, kw_only=True)
class Calendar:
    """Days on which work is done.

    Parameters
    ----------
    days : frozenset of int
        Days of the week, Monday 0 to Sunday 6.
    holidays : frozenset of date
        Days on which nothing is done.

    Examples
    --------
    >>> easter = Calendar(holidays=frozenset({datetime.date(2027, 3, 29)}))
    >>> easter.step(datetime.date(2027, 3, 26), 1).isoformat()
    '2027-03-30'
    """

    days: frozenset[int] = frozenset({0, 1, 2, 3, 4})
    holidays: frozenset[datetime.date] = frozenset()

    def __post_init__(self) -> None:
        if not self.days or not self.days <= frozenset(range(7)):
            raise InputError(
                "work days",
                given=sorted(self.days),
                allowed="one or more of 0 (Monday) … 6 (Sunday)",
                mend="name the days of the week on which work is done",
            )

    @property
    def week(self) -> int:
        """Work days in a week."""
        return len(self.days)

    def works(self, day: datetime.date) -> bool:
        """Whether work is done on a day.

        Parameters
        ----------
        day : date
            The day.

        Returns
        -------
        bool
            True on a work day that is no holiday.
        """
        return day.weekday() in self.days and day not in self.holidays

    def on_or_before(self, day: datetime.date) -> datetime.date:
        """The day itself, or the last work day before it.

        Parameters
        ----------
        day : date
            The day.

        Returns
        -------
        date
            A work day.
        """
        return self._seek(day, -1)

    def on_or_after(self, day: datetime.date) -> datetime.date:
        """The day itself, or the first work day after it.

        Parameters
        ----------
        day : date
            The day.

        Returns
        -------
        date
            A work day.
        """
        return self._seek(day, 1)

    def _seek(self, day: datetime.date, way: int) -> datetime.date:
        for _ in range(_MOST_DAYS):
            if self.works(day):
                return day
            day += datetime.timedelta(days=way)
        raise InputError(
            "holidays",
            given=len(self.holidays),
            allowed="some work day within fifty years",
            mend="take days out of the holidays",
        )

    def step(self, day: datetime.date, count: int) -> datetime.date:
        """A work day so many work days later, or earlier where the count is negative.

        Parameters
        ----------
        day : date
            From where; a day off counts as the next work day in the way of stepping.
        count : int
            Work days.

        Returns
        -------
        date
            A work day.

        Raises
        ------
        InputError
            The count is not whole, or leads out of fifty years.
        """
        if count != int(count) or abs(count) > _MOST_DAYS:
            raise InputError(
                "work days", given=count, allowed="a whole number", mend="round it first"
            )
        way = -1 if count < 0 else 1
        day = self._seek(day, way)
        for _ in range(abs(int(count))):
            day = self._seek(day + datetime.timedelta(days=way), way)
        return day

    def between(self, start: datetime.date, end: datetime.date) -> int:
        """Work days from start up to, but without, end; negative where end is earlier.

        Parameters
        ----------
        start, end : date
            Two days.

        Returns
        -------
        int
            Work days.
        """
        if end < start:
            return -self.between(end, start)
        span = (end - start).days
        weeks, rest = divmod(span, 7)
        count = weeks * self.week
        count += sum((start.weekday() + i) % 7 in self.days for i in range(rest))
        return count - sum(start <= h < end and h.weekday() in self.days for h in self.holidays)


def weeks_before(
    day: datetime.date, weeks: Iterable[float], *, calendar: Calendar | None = None
) -> datetime.date:
    """The last work day that lies a sum of weeks before a day.

    Parameters
    ----------
    day : date
        From where.
    weeks : iterable of float
        Each 0 or more; a part of a week counts its days rounded up. [weeks]
    calendar : Calendar, optional
        By default Monday to Friday.

    Returns
    -------
    date
        A work day.

    Raises
    ------
    InputError
        A number of weeks is negative or not finite.

    Examples
    --------
    >>> weeks_before(datetime.date(2026, 10, 15), [12, 3]).isoformat()
    '2026-07-02'
    """
    total = 0.0
    for part in weeks:
        if not math.isfinite(part) or part < 0:
            raise InputError("weeks", given=part, allowed="0 or more", mend="ask the supplier")
        total += part
    back = math.ceil(total * 7 - 1e-9)
    try:
        found = day - datetime.timedelta(days=back)
    except OverflowError:
        raise InputError(
            "weeks", given=total, allowed="a date after year 1", mend="check the lead time"
        ) from None
    return (calendar or Calendar()).on_or_before(found)
