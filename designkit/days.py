"""Days and moments in plain words, the same on every machine."""

from __future__ import annotations

import datetime

from designkit.errors import InputError
from designkit.units import NBSP

__all__ = ["MONTHS", "day_words", "moment_words"]

# Not strftime: its words follow the locale of the machine.
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def day_words(day: datetime.date | str, *, short: bool = False) -> str:
    r"""A day as it is said in a sentence.

    Parameters
    ----------
    day : date or str
        The day; text as ISO 8601.
    short : bool, optional
        Three letters of the month.

    Returns
    -------
    str
        Day, month in words, year, whatever the machine's language.

    Raises
    ------
    InputError
        The text is no day.

    Examples
    --------
    >>> day_words("2027-05-14")
    '14\xa0May\xa02027'
    >>> day_words("2026-12-18", short=True)
    '18\xa0Dec\xa02026'
    """
    if isinstance(day, str):
        try:
            day = datetime.date.fromisoformat(day)
        except ValueError:
            raise InputError(
                "day", given=day, allowed="a day as 2027-05-14", mend="write it so"
            ) from None
    month = MONTHS[day.month - 1]
    return NBSP.join((str(day.day), month[:3] if short else month, str(day.year)))


def moment_words(moment: datetime.datetime) -> str:
    r"""A day and the time of it, as it is said in a sentence.

    Parameters
    ----------
    moment : datetime
        In the time of the place.

    Returns
    -------
    str
        To the minute.

    Examples
    --------
    >>> moment_words(datetime.datetime(2026, 11, 25, 16, 2))
    '25\xa0Nov\xa02026, 16:02'
    """
    return f"{day_words(moment.date(), short=True)}, {moment:%H:%M}"
