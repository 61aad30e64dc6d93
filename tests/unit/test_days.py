"""Days in words, whatever the machine's language."""

from __future__ import annotations

import datetime
import locale

import pytest

from designkit.days import MONTHS, day_words, moment_words
from designkit.errors import InputError


def test_every_month_is_said() -> None:
    """Against the C locale of the standard library, which names months in English."""
    kept = locale.setlocale(locale.LC_TIME)
    locale.setlocale(locale.LC_TIME, "C")
    try:
        for month in range(1, 13):
            day = datetime.date(2027, month, 3)
            assert MONTHS[month - 1] == f"{day:%B}"
            assert day_words(day) == f"3\u00a0{day:%B}\u00a02027"
            assert day_words(day, short=True) == f"3\u00a0{day:%b}\u00a02027"
    finally:
        locale.setlocale(locale.LC_TIME, kept)


def test_what_is_no_day_is_told() -> None:
    with pytest.raises(InputError, match="day = soon; allowed: a day as 2027-05-14"):
        day_words("soon")


def test_a_moment_has_its_minutes() -> None:
    assert moment_words(datetime.datetime(2026, 1, 2, 7, 5, 59)) == "2\u00a0Jan\u00a02026, 07:05"
