"""Days in plain words, the same on every machine."""

from __future__ import annotations

import datetime

from designkit.errors import InputError

__all__ = ["day_words"]

_MONTHS = (
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


def day_words(day: datetime.date | str) -> str:
    r"""A day as it is said in a sentence.

    Parameters
    ----------
    day : date or str
        The day; text as ISO 8601.

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
    """
    if isinstance(day, str):
        try:
            day = datetime.date.fromisoformat(day)
        except ValueError:
            raise InputError(
                "day", given=day, allowed="a day as 2027-05-14", mend="write it so"
            ) from None
    return f"{day.day}\u00a0{_MONTHS[day.month - 1]}\u00a0{day.year}"
