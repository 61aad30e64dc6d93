"""Days that a project may name: of the calendar, and near enough to count from."""

from __future__ import annotations

import datetime

from designkit.errors import InputError

__all__ = ["YEARS", "command_day", "is_day", "is_far"]

# Within these any lead or course of work can be added without leaving the calendar.
YEARS = (1900, 2200)


def is_day(text: str) -> bool:
    """Whether a text is a day that can be counted from.

    Parameters
    ----------
    text : str
        ISO 8601.

    Returns
    -------
    bool
        False also where the year lies outside `YEARS`.

    Examples
    --------
    >>> is_day("2026-11-25"), is_day("2026-11-31"), is_day("9999-11-25")
    (True, False, False)
    """
    try:
        return YEARS[0] <= datetime.date.fromisoformat(text).year <= YEARS[1]
    except ValueError:
        return False


def is_far(text: str) -> bool:
    """Whether a text is a day of the calendar, but of no year that is meant.

    Parameters
    ----------
    text : str
        ISO 8601, or anything else.

    Returns
    -------
    bool
        True for a day outside `YEARS`.

    Examples
    --------
    >>> is_far("9999-11-25"), is_far("2026-11-25"), is_far("soon")
    (True, False, False)
    """
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return not is_day(text)


def command_day(text: str) -> datetime.date | None:
    """The day of `--date`.

    Parameters
    ----------
    text : str
        As it was typed; "" where it was not.

    Returns
    -------
    date or None
        None where nothing was typed.

    Raises
    ------
    InputError
        It is no day, or of a year that cannot be meant.

    Examples
    --------
    >>> command_day("2026-11-25")
    datetime.date(2026, 11, 25)
    """
    if not text:
        return None
    if not is_day(text):
        raise InputError(
            "--date",
            given=text,
            allowed=f"a day as 2026-11-25, of the years {YEARS[0]} to {YEARS[1]}",
            mend="write it so",
        )
    return datetime.date.fromisoformat(text)
