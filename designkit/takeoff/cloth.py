"""What the label of a cloth says of its wear, as notes: rubbing, pilling, light, privacy.

The Martindale and the Wyzenbeek test rub in different ways. A number of one
says nothing about the other (values D28), so a wear limit is always asked for
in the test that the cloth was given.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.model import Finish
from designkit.reference import value
from designkit.takeoff.lines import positive
from designkit.units import NBSP

__all__ = ["AbrasionTest", "abrasion_use", "meets_abrasion", "seat_notes", "window_notes"]

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

_RUBS = {"Martindale": "cycles", "Wyzenbeek": "double rubs"}
# Grades of ISO 12945-2, from memory (values D30).
_PILLING = {5: "none", 4: "slight", 3: "moderate", 2: "distinct", 1: "dense"}


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


def seat_notes(finish: Finish) -> tuple[str, ...]:
    """What the label of a cover says of its wear, and what to ask for.

    Parameters
    ----------
    finish : Finish
        The cloth, with what its label says.

    Returns
    -------
    tuple of str
        Sentences for the sheet; notes, never a verdict.

    Examples
    --------
    >>> from designkit.model import Colour
    >>> plain = Finish(name="wool", kind="cloth", colours=(Colour(lrv=5),), pilling=4)
    >>> seat_notes(plain)[0]
    'Pilling 4 of 5, slight (ISO 12945-2).'
    """
    found, ask = [], []
    if finish.rubs is not None and finish.rub_test is not None:
        use = abrasion_use(finish.rubs, test=finish.rub_test)
        found.append(
            f"Stood {finish.rubs:,.0f} {_RUBS[finish.rub_test]} ({finish.rub_test}): {use}, by "
            "the usual bands; they differ by source."
        )
    else:
        ask.append("its rub test, Martindale or Wyzenbeek: the two do not convert")
    if finish.pilling is not None:
        word = _PILLING[round(finish.pilling)]
        found.append(f"Pilling {finish.pilling:g} of 5, {word} (ISO 12945-2).")
    else:
        ask.append("pilling; rub a wool hard and look at it")
    if ask:
        found.append(f"Ask for {'; and for '.join(ask)}.")
    return tuple(found)


def window_notes(
    finish: Finish, *, shrinkage: float, rules: Mapping[str, float] | None = None
) -> tuple[str, ...]:
    """Sun, washing and privacy of a cloth that hangs at a window.

    Parameters
    ----------
    finish : Finish
        The cloth, with what its label says.
    shrinkage : float
        Share of its length that was added for the first wash.
    rules : mapping of str to float, optional
        The project's own values, for `takeoff.cloth.fastness` and `takeoff.cloth.seen_through`.

    Returns
    -------
    tuple of str
        Sentences for the sheet; notes, never a verdict.
    """
    fast = finish.light_fastness
    usual = value("takeoff.cloth.fastness", rules)
    if fast is None:
        sun = "Sun: ask for its light fastness (ISO 105-B02)"
    else:
        sun = f"Sun: light fastness {fast:g} of 8 (ISO 105-B02)"
        sun += f", less than the usual {usual:g}" if fast < usual else ""
        sun += "; each step lasts about twice as long as the one below"
    wash = "Washing: as its label says"
    if shrinkage > 0:
        wash += f"; {shrinkage * 100:g}{NBSP}% is added for shrinking"
    through = finish.transmittance
    if through >= value("takeoff.cloth.seen_through", rules):
        hides = (
            f"Privacy: closed it lets {through * 100:g}{NBSP}% of the light through; by night, "
            "with lamps on, one sees in. Where that matters, hang a closer cloth behind it."
        )
    else:
        hides = "Privacy: it hides the room closed; open, and beside its edges, it does not."
    return (
        f"{sun}. Behind large glazing polyester outlasts natural fibre and washes.",
        f"{wash}.",
        hides,
    )
