"""Money: minor units, rounding, tax, fee, and how a sum is printed.

Everything is `decimal.Decimal`. A sum is rounded once, half-up, to the minor
unit of its currency; what is printed as a total is the sum of what is printed
above it.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from types import MappingProxyType
from typing import Literal

from designkit.errors import InputError, LookupFailed, nearest
from designkit.reference import table
from designkit.units import NBSP

__all__ = [
    "Currency",
    "Taxed",
    "converted",
    "currency",
    "gross_of",
    "money_text",
    "net_of",
    "rounded",
    "share_out",
    "sum_text",
    "tax_per_invoice",
    "tax_per_line",
    "to_step",
]

# Where the trade writes the sign before the figure.
BEFORE = frozenset({"USD", "GBP", "JPY"})
# These four signs read without doubt and are in every font; "kr" or "$" of
# another country would not, so every other currency is printed by its code.
SIGNED = ("EUR", "GBP", "JPY", "USD")


@dataclass(frozen=True, kw_only=True)
class Currency:
    """A currency of ISO 4217 with the number of decimals of its minor unit."""

    code: str
    minor: int
    name: str
    sign: str  # what stands after the figure on a sheet

    @property
    def unit(self) -> Decimal:
        """The smallest sum that can be paid, as 0.01."""
        return Decimal(1).scaleb(-self.minor)


@functools.cache
def _currencies() -> Mapping[str, Currency]:
    found = {}
    for row in table("currencies"):
        # Gold, test codes and the like have no minor unit and no prices.
        if row["minor"].isdigit():
            code = row["code"]
            sign = row["symbol"] if code in SIGNED else code
            found[code] = Currency(code=code, minor=int(row["minor"]), name=row["name"], sign=sign)
    return MappingProxyType(found)


@functools.cache
def currency(code: str) -> Currency:
    """A currency by its ISO 4217 code.

    Parameters
    ----------
    code : str
        Three capitals, as "EUR".

    Returns
    -------
    Currency
        Its code, minor unit and name.

    Raises
    ------
    LookupFailed
        There is no such code.

    References
    ----------
    .. [1] ISO 4217:2015, list one, "Minor unit".

    Examples
    --------
    >>> currency("EUR").unit, currency("JPY").unit
    (Decimal('0.01'), Decimal('1'))
    """
    known = _currencies()
    if code not in known:
        near = nearest(code.upper(), known)
        raise LookupFailed(
            "currency",
            given=code,
            allowed=f"a code of ISO 4217, as EUR{f'; nearest: {near}' if near else ''}",
            mend="write the three-letter code in capitals",
        )
    return known[code]


@functools.cache
def _unit(code: str) -> Decimal:
    return currency(code).unit


def _finite(amount: Decimal, what: str) -> Decimal:
    if not amount.is_finite():
        raise InputError(what, given=amount, allowed="a finite number", mend="write the sum")
    return amount


def rounded(amount: Decimal, *, code: str = "EUR") -> Decimal:
    """A sum at the minor unit of its currency, rounded half-up.

    A half goes away from zero, for credits too.

    Parameters
    ----------
    amount : Decimal
        The sum. [currency]
    code : str
        Its currency, ISO 4217.

    Returns
    -------
    Decimal
        The sum that can be paid. [currency]

    Raises
    ------
    InputError
        The sum is not finite.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> rounded(Decimal("2.665"))
    Decimal('2.67')
    """
    return _finite(amount, "amount").quantize(_unit(code), rounding=ROUND_HALF_UP)


def to_step(amount: Decimal, *, step: Decimal) -> Decimal:
    """A sum at a coarser step for printing, rounded half-up.

    Parameters
    ----------
    amount : Decimal
        The sum. [currency]
    step : Decimal
        For example 1 for whole euros, 10, or 0.01. [currency]

    Returns
    -------
    Decimal
        A whole multiple of the step. [currency]

    Raises
    ------
    InputError
        The step is not above 0, or the sum is not finite.

    Examples
    --------
    >>> to_step(Decimal("1234.50"), step=Decimal(1))
    Decimal('1235')
    """
    if not step.is_finite() or step <= 0:
        raise InputError("step", given=step, allowed="> 0", mend="give 1 for whole units")
    times = (_finite(amount, "amount") / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return times * step


def converted(amount: Decimal, *, rate: Decimal, code: str = "EUR") -> Decimal:
    """A sum of another currency in the project's, rounded once.

    Parameters
    ----------
    amount : Decimal
        The sum in the other currency.
    rate : Decimal
        Units of the project's currency for one of the other.
    code : str
        The project's currency, ISO 4217.

    Returns
    -------
    Decimal
        The sum in the project's currency.

    Raises
    ------
    InputError
        The rate is not above 0.
    LookupFailed
        The project's currency is unknown.

    Examples
    --------
    >>> converted(Decimal("1000"), rate=Decimal("0.9235"))
    Decimal('923.50')
    """
    if not rate.is_finite() or rate <= 0:
        raise InputError("rate", given=rate, allowed="> 0", mend="type the rate of the day")
    return rounded(amount * rate, code=code)


def net_of(gross: Decimal, *, rate: Decimal, code: str = "EUR") -> Decimal:
    """The sum before tax that is in a sum with tax.

    Parameters
    ----------
    gross : Decimal
        The sum with tax. [currency]
    rate : Decimal
        Tax as a fraction of the sum before tax.
    code : str
        Currency, ISO 4217.

    Returns
    -------
    Decimal
        Gross less the tax in it, so that both add up to the gross. [currency]

    Raises
    ------
    InputError
        The rate is below 0.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> net_of(Decimal("120"), rate=Decimal("0.20"))
    Decimal('100.00')
    """
    _rate(rate)
    return rounded(gross, code=code) - rounded(gross * rate / (1 + rate), code=code)


def gross_of(net: Decimal, *, rate: Decimal, code: str = "EUR") -> Decimal:
    """A sum before tax with its tax added.

    Parameters
    ----------
    net : Decimal
        The sum before tax. [currency]
    rate : Decimal
        Tax as a fraction of it.
    code : str
        Currency, ISO 4217.

    Returns
    -------
    Decimal
        The sum with tax. [currency]

    Raises
    ------
    InputError
        The rate is below 0.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> gross_of(Decimal("100"), rate=Decimal("0.20"))
    Decimal('120.00')
    """
    _rate(rate)
    return rounded(net, code=code) + rounded(net * rate, code=code)


def _rate(rate: Decimal) -> None:
    if not rate.is_finite() or rate < 0:
        raise InputError("tax", given=rate, allowed=">= 0", mend="write 0.20 for 20 %")


@dataclass(frozen=True, kw_only=True)
class Taxed:
    """Tax of several lines: each line's share and the sum that is paid."""

    lines: tuple[Decimal, ...]
    total: Decimal


def tax_per_line(nets: Sequence[Decimal], *, rate: Decimal, code: str = "EUR") -> Taxed:
    """Tax rounded on each line and then added.

    Parameters
    ----------
    nets : sequence of Decimal
        Sums before tax. [currency]
    rate : Decimal
        Tax as a fraction.
    code : str
        Currency, ISO 4217.

    Returns
    -------
    Taxed
        Tax of each line and the sum.

    Raises
    ------
    InputError
        The rate is below 0.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> tax_per_line([Decimal("0.99")] * 3, rate=Decimal("0.20")).total
    Decimal('0.60')
    """
    _rate(rate)
    taxes = tuple(rounded(net * rate, code=code) for net in nets)
    return Taxed(lines=taxes, total=sum(taxes, Decimal(0)))


def tax_per_invoice(nets: Sequence[Decimal], *, rate: Decimal, code: str = "EUR") -> Taxed:
    """Tax rounded once on the sum of an invoice, and shared out to its lines.

    Parameters
    ----------
    nets : sequence of Decimal
        Sums before tax of one invoice at one rate. [currency]
    rate : Decimal
        Tax as a fraction.
    code : str
        Currency, ISO 4217.

    Returns
    -------
    Taxed
        Shares that add up to the tax of the invoice, and that tax.

    Raises
    ------
    InputError
        The rate is below 0.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> tax_per_invoice([Decimal("0.99")] * 3, rate=Decimal("0.20")).total
    Decimal('0.59')
    """
    _rate(rate)
    total = rounded(sum(nets, Decimal(0)) * rate, code=code)
    return Taxed(lines=share_out(total, parts=[net * rate for net in nets], code=code), total=total)


def share_out(
    total: Decimal, *, parts: Sequence[Decimal], code: str = "EUR"
) -> tuple[Decimal, ...]:
    """Round parts to the minor unit so that they add up to a rounded total.

    Each part is cut to the unit below; the units that are then missing go to
    the parts that lost most, the first of equals first.

    Parameters
    ----------
    total : Decimal
        The sum that the shares must make: the parts' sum, rounded. [currency]
    parts : sequence of Decimal
        The exact parts. [currency]
    code : str
        Currency, ISO 4217.

    Returns
    -------
    tuple of Decimal
        Shares in the order of the parts. [currency]

    Raises
    ------
    InputError
        The total is not the rounded sum of the parts.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> share_out(Decimal("0.59"), parts=[Decimal("0.198")] * 3)
    (Decimal('0.20'), Decimal('0.20'), Decimal('0.19'))
    """
    unit = _unit(code)
    cut = [part.quantize(unit, rounding=ROUND_FLOOR) for part in parts]
    missing = int((total - sum(cut, Decimal(0))) / unit)
    if not 0 <= missing <= len(parts):
        raise InputError(
            "total",
            given=total,
            allowed="the sum of the parts, rounded",
            mend="round the sum of the parts first",
        )
    order = sorted(range(len(parts)), key=lambda i: (cut[i] - parts[i], i))
    for i in order[:missing]:
        cut[i] += unit
    return tuple(cut)


def money_text(
    amount: Decimal,
    *,
    code: str = "EUR",
    minor: Literal["when needed", "always", "never"] = "when needed",
    sign: bool = False,
) -> str:
    """A sum as it is printed: groups by comma, the unit where its trade writes it.

    Parameters
    ----------
    amount : Decimal
        The sum. [currency]
    code : str
        Currency, ISO 4217.
    minor : str
        Whether decimals are printed: "when needed", "always", "never".
    sign : bool
        Print a plus before a sum above 0.

    Returns
    -------
    str
        With a no-break space before the unit and a true minus sign.

    Raises
    ------
    InputError
        The sum is not finite.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> money_text(Decimal(66000)).replace(chr(160), " ")
    '66,000 €'
    >>> money_text(Decimal("-0.5"), code="CHF").replace(chr(160), " ")
    '−0.50 CHF'
    >>> money_text(Decimal(66000), code="USD")
    '$66,000'
    """
    figure = sum_text(amount, code=code, minor=minor, sign=sign)
    kind = currency(code)
    if code in BEFORE:
        before = figure[0] if figure[0] in "−+" else ""
        return f"{before}{kind.sign}{figure.removeprefix(before)}"
    return f"{figure}{NBSP}{kind.sign}"


def sum_text(
    amount: Decimal,
    *,
    code: str = "EUR",
    minor: Literal["when needed", "always", "never"] = "when needed",
    sign: bool = False,
) -> str:
    """The figure of a sum without its currency, for columns that say it in their head.

    Parameters
    ----------
    amount : Decimal
        The sum. [currency]
    code : str
        Currency, ISO 4217: it tells the decimals.
    minor : str
        Whether decimals are printed: "when needed", "always", "never".
    sign : bool
        Print a plus before a sum above 0.

    Returns
    -------
    str
        Groups by comma, a true minus sign.

    Raises
    ------
    InputError
        The sum is not finite.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> sum_text(Decimal(-1200), code="USD")
    '−1,200'
    """
    sum_ = rounded(amount, code=code)
    whole = sum_ == sum_.to_integral_value()
    if minor == "never" or (minor == "when needed" and whole):
        sum_ = sum_.quantize(Decimal(1), rounding=ROUND_HALF_UP)
    before = "−" if sum_ < 0 else "+" if sign and sum_ > 0 else ""
    return f"{before}{abs(sum_):,f}"
