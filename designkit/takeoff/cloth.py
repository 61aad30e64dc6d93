"""How hard a cloth may be rubbed: two tests that do not convert.

The Martindale and the Wyzenbeek test rub in different ways. A number of one
says nothing about the other (values D28), so a wear limit is always asked for
in the test that the cloth was given.
"""

from __future__ import annotations

from typing import Literal, get_args

from designkit.errors import InputError
from designkit.takeoff.lines import positive

__all__ = ["AbrasionTest", "abrasion_use", "meets_abrasion"]

AbrasionTest = Literal["Martindale", "Wyzenbeek"]

# Upper ends of the bands of trade use; the last band is open. A convention:
# bands differ by source (values D26, D28, G9).
_BANDS: dict[str, tuple[tuple[float, str], ...]] = {
    "Martindale": (
        (10_000, "decorative"),
        (15_000, "light domestic"),
        (25_000, "general domestic"),
        (30_000, "heavy domestic"),
        (40_000, "general contract"),
        (float("inf"), "severe contract"),
    ),
    "Wyzenbeek": (
        (15_000, "light residential"),
        (30_000, "heavy residential"),
        (float("inf"), "heavy duty"),
    ),
}


def _test(test: str) -> None:
    if test not in get_args(AbrasionTest):
        raise InputError(
            "abrasion test",
            given=test,
            allowed=", ".join(get_args(AbrasionTest)),
            mend="take the test's name from the cloth's label",
        )


def abrasion_use(cycles: float, *, test: AbrasionTest) -> str:
    """What a cloth is usually sold for, by its abrasion test.

    Parameters
    ----------
    cycles : float
        Cycles (Martindale) or double rubs (Wyzenbeek) that it stood.
    test : {"Martindale", "Wyzenbeek"}
        Which test.

    Returns
    -------
    str
        The band of use; a limit belongs to the band above it.

    Raises
    ------
    InputError
        Unknown test, or a number that is not above zero.

    Examples
    --------
    >>> abrasion_use(25_000, test="Martindale"), abrasion_use(15_000, test="Wyzenbeek")
    ('heavy domestic', 'heavy residential')
    """
    _test(test)
    positive("abrasion cycles", cycles, unit="", zero=True)
    for upper, use in _BANDS[test]:
        if cycles < upper:
            return use
    raise AssertionError("the last band is open")


def meets_abrasion(
    cycles: float,
    *,
    test: AbrasionTest,
    at_least: float,
    asked_in: AbrasionTest,
) -> bool:
    """Whether a cloth meets a wear limit that was asked for in the same test.

    Parameters
    ----------
    cycles : float
        What the cloth stood.
    test : {"Martindale", "Wyzenbeek"}
        In which test.
    at_least : float
        What is asked for.
    asked_in : {"Martindale", "Wyzenbeek"}
        In which test it is asked for.

    Returns
    -------
    bool
        True where it stands at least that much.

    Raises
    ------
    InputError
        The two tests differ: there is no conversion.

    Examples
    --------
    >>> meets_abrasion(30_000, test="Martindale", at_least=25_000, asked_in="Martindale")
    True
    """
    _test(test)
    _test(asked_in)
    if test != asked_in:
        raise InputError(
            "abrasion",
            given=f"{cycles:,.0f} {test}, asked for in {asked_in}",
            allowed=f"a result of the {asked_in} test",
            mend="ask the supplier for that test: the two do not convert",
        )
    positive("abrasion cycles", cycles, unit="", zero=True)
    return cycles >= positive("abrasion limit", at_least, unit="")
