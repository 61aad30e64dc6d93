"""Amounts as people write them: a number with the sign of its currency."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping

from designkit import reference

__all__ = ["amount", "bare_number", "currencies", "symbols"]

_DIGITS = re.compile(r"[-−+]?[\d.,' \u00a0\u202f]*")


@functools.cache
def currencies() -> Mapping[str, int]:
    """ISO 4217 codes that designkit knows, with the digits of their minor unit.

    Returns
    -------
    mapping of str to int
        For example 2 for EUR, 0 for JPY.

    Examples
    --------
    >>> currencies()["JPY"]
    0
    """
    return {row["code"]: int(row["minor"]) for row in reference.table("currencies")}


@functools.cache
def symbols() -> Mapping[str, tuple[str, ...]]:
    """Signs and codes of currencies.

    Returns
    -------
    mapping of str to tuple of str
        The codes that a sign may stand for.

    Examples
    --------
    >>> symbols()["€"]
    ('EUR',)
    """
    found: dict[str, tuple[str, ...]] = {}
    for row in reference.table("currencies"):
        for sign in (row["symbol"], row["code"]):
            if sign:
                found[sign] = (*found.get(sign, ()), row["code"])
    return found


@functools.cache
def _signed() -> re.Pattern[str]:
    """An amount with the sign or code of its currency before or behind it."""
    signs = "|".join(map(re.escape, sorted(symbols(), key=len, reverse=True)))
    return re.compile(rf"([-−+]?)\s*({signs})\s*(.+)$|(.+?)\s*({signs})$")


def amount(text: str) -> tuple[str, str]:
    """Take an amount apart.

    Parameters
    ----------
    text : str
        A cell; a number in brackets is negative.

    Returns
    -------
    tuple of str
        Its number as it is written, and its currency sign or "".

    Examples
    --------
    >>> amount("€ 1200")
    ('1200', '€')
    """
    clean = text.strip()
    if re.fullmatch(r"\(.+\)", clean):
        clean = "-" + clean[1:-1].strip()
    match = None if _DIGITS.fullmatch(clean) else _signed().match(clean)
    if match is None:
        return clean, ""
    return (match[1] or "") + (match[3] or match[4]).strip(), match[2] or match[5]


def bare_number(text: str) -> str:
    """An amount without its currency.

    Parameters
    ----------
    text : str
        A cell.

    Returns
    -------
    str
        The number as it is written.

    Examples
    --------
    >>> bare_number("€ 1200"), bare_number("1 200,50 EUR")
    ('1200', '1 200,50')
    """
    return amount(text)[0]
