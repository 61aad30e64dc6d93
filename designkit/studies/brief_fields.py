"""Fields of the study "brief" as text and back: people, lists, counts."""

from __future__ import annotations

import re
from collections.abc import Sequence

from designkit.errors import InputError
from designkit.model import Person
from designkit.units import file_text, read

__all__ = ["count_of", "lines_of", "people_of", "people_text"]


def people_text(people: Sequence[Person], units: str) -> str:
    """One person a line: "adult, 44, 1.78 m".

    Parameters
    ----------
    people : sequence of Person
        Who lives here.
    units : str
        Of the heights.

    Returns
    -------
    str
        For the field.
    """
    lines = []
    for person in people:
        parts = [person.role]
        if person.age is not None:
            parts.append(str(person.age))
        if person.height is not None:
            parts.append(file_text(person.height, units=units))
        lines.append(", ".join(parts))
    return "\n".join(lines)


def people_of(text: str, units: str) -> tuple[Person, ...]:
    """The people of a text, one a line; a wrong line says which and why.

    Parameters
    ----------
    text : str
        As from `people_text`.
    units : str
        Of bare heights.

    Returns
    -------
    tuple of Person
        In order.

    Raises
    ------
    InputError
        A line begins with a number, or holds what is no age and no height.
    """
    found = []
    for number, line in enumerate(text.splitlines(), start=1):
        parts = [part.strip() for part in line.split(",") if part.strip()]
        if not parts:
            continue
        what = f"line {number}, {line.strip()}"
        if re.search(r"\d", parts[0]):
            raise InputError(
                what,
                given=parts[0],
                allowed="who first: adult, child, guest, cat",
                mend="write as: adult, 44, 1.78 m",
            )
        age: int | None = None
        height: float | None = None
        for part in parts[1:]:
            if re.fullmatch(r"\d{1,3}", part) and int(part) <= 120 and age is None:
                age = int(part)
                continue
            height = read(part, units=units, what=what)
            if not 0.1 <= height <= 2.6:
                raise InputError(
                    what,
                    given=part,
                    allowed="an age up to 120, or a height with its unit",
                    mend="write as: adult, 44, 1.78 m",
                )
        found.append(Person(role=parts[0], age=age, height=height))
    return tuple(found)


def lines_of(text: str) -> tuple[str, ...]:
    """What stands on the lines that are not empty.

    Parameters
    ----------
    text : str
        Of a field.

    Returns
    -------
    tuple of str
        In order.
    """
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def count_of(text: str, what: str) -> int | None:
    """A whole number; none where nothing is typed.

    Parameters
    ----------
    text : str
        Of a field.
    what : str
        Its name, for the error.

    Returns
    -------
    int or None
        The count.

    Raises
    ------
    InputError
        It is no whole number.
    """
    if not text.strip():
        return None
    if not re.fullmatch(r"\d{1,3}", text.strip()):
        raise InputError(
            what, given=text, allowed="a whole number, or nothing", mend="write 6, or leave it"
        )
    return int(text)
