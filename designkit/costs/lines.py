"""Cost lines: what is wrong with them, and what each comes to.

A cost line is a price per unit times a quantity, in the project's currency or
in another with a dated rate. A line that is the alternative of another is not
counted unless a scenario chooses it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from designkit.costs.money import currency, rounded, share_out
from designkit.costs.ranges import firmness_range, prices_within
from designkit.errors import DesignkitError, InputError, LookupFailed, nearest
from designkit.model import CostKind, CostLine, Firmness, Money
from designkit.reference import value

__all__ = [
    "Counted",
    "Group",
    "PricedLine",
    "Work",
    "contingency_rate",
    "drawn",
    "grouped",
    "kind_of_work",
    "price",
    "problems",
]

Work = Literal["furnishing", "trades", "opening up", "vintage repair"]

NEGATIVE_KINDS = ("discount", "credit", "return", "sale")
# Not goods and works that the studio orders: no fee and no contingency on it.
OUTSIDE_KINDS = ("fee", "sale")

_BY_KIND: Mapping[str, Work] = {
    "work": "trades",
    "repair": "vintage repair",
}
# Kinds that are repair where the piece is old and furnishing where it is new.
_OLD_KINDS = ("labour", "fabric", "allowance")


@dataclass(frozen=True, kw_only=True, slots=True)
class Counted:
    """A line that counts in a scenario."""

    line: CostLine
    slot: str  # the line as drawn that it stands for; its own id as drawn
    year: int = 1  # 1: this year, 2: next year


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PricedLine:
    """A counted line in the project's currency; net + tax = gross."""

    line: CostLine
    slot: str
    year: int
    low: Decimal  # the whole line as written, not rounded
    likely: Decimal
    high: Decimal
    tax_rate: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    work: Work
    contingency: Decimal  # rate
    in_fee: bool  # whether the fee rate stands on it


def where(line: CostLine, column: str) -> str:
    """Row and column of a cost line, for a message."""
    place = f"costs.csv row {line.row}" if line.row else f"cost line {line.id!r}"
    return f"{place}, {column}"


def _line_problems(line: CostLine, home: Money) -> list[DesignkitError]:
    found: list[DesignkitError] = []

    def add(column: str, given: object, allowed: str, mend: str) -> None:
        found.append(InputError(where(line, column), given=given, allowed=allowed, mend=mend))

    for column, number in (
        ("quantity", line.quantity),
        ("low", line.low),
        ("likely", line.likely),
        ("high", line.high),
        ("tax", line.tax),
        ("rate", line.rate),
    ):
        if number is not None and not number.is_finite():
            add(column, number, "a finite number", "write the number")
    if found:
        return found

    if line.kind not in KINDS:
        add("kind", line.kind, ", ".join(KINDS), "use one of these")
        return found
    if line.status not in _FIRMNESS:
        add("status", line.status, ", ".join(_FIRMNESS), "use one of these")
    if line.work and line.work not in _WORKS:
        add("work", line.work, ", ".join(_WORKS), "use one of these, or leave it empty")
    if not line.category.strip():
        add("category", "nothing", "a few words", "write under which heading it is added")
    if line.quantity <= 0:
        add("quantity", line.quantity, "> 0", "write the quantity, or take the line out")
    negative = line.kind in NEGATIVE_KINDS
    for column, amount in (("low", line.low), ("likely", line.likely), ("high", line.high)):
        if amount is None:
            continue
        if negative and amount > 0:
            add(column, amount, f"<= 0 on a line of kind {line.kind}", "write it with a minus")
        elif not negative and amount < 0:
            add(
                column,
                amount,
                f">= 0 on a line of kind {line.kind}",
                f"take the minus off, or make the kind {', '.join(NEGATIVE_KINDS)}",
            )
    low = line.likely if line.low is None else line.low
    high = line.likely if line.high is None else line.high
    if not low <= line.likely <= high:
        wrong = "low" if low > line.likely else "high"
        add(
            wrong,
            f"{low if wrong == 'low' else high} (likely {line.likely})",
            "low <= likely <= high",
            "put the three in order",
        )
    if line.tax is not None and not 0 <= line.tax <= 1:
        add("tax", line.tax, "0 to 1", "write 0.20 for 20 %")
    if line.currency and line.currency != home.currency:
        try:
            currency(line.currency)
        except LookupFailed as problem:
            found.append(
                LookupFailed(
                    where(line, "currency"),
                    given=line.currency,
                    allowed=problem.allowed,
                    mend=problem.mend,
                )
            )
        if line.rate is None:
            add(
                "rate",
                "nothing",
                f"{home.currency} for one {line.currency}",
                "type the rate and the day it was read",
            )
        elif line.rate <= 0:
            add("rate", line.rate, "> 0", f"type {home.currency} for one {line.currency}")
        elif not line.rate_date:
            add("rate_date", "nothing", "a day, as 2026-03-01", "type the day the rate was read")
    return found


KINDS = get_args(CostKind)
_FIRMNESS = get_args(Firmness)
_WORKS: tuple[Work, ...] = get_args(Work)


def line_problems(lines: Iterable[CostLine], *, money: Money) -> list[DesignkitError]:
    """What is wrong with each line by itself."""
    return [problem for line in lines for problem in _line_problems(line, money)]


def problems(lines: Iterable[CostLine], *, money: Money) -> tuple[DesignkitError, ...]:
    """Everything that is wrong with cost lines, each with row and column.

    Parameters
    ----------
    lines : iterable of CostLine
        All lines, alternatives too.
    money : Money
        How the project counts money.

    Returns
    -------
    tuple of DesignkitError
        Not raised; empty when nothing is wrong.

    Examples
    --------
    >>> from designkit.model import CostLine, Money
    >>> rug = CostLine(id="rug", item="rug", category="rugs", likely=Decimal(-5), row=7)
    >>> problems([rug], money=Money())[0].what
    'costs.csv row 7, likely'
    """
    found: list[DesignkitError] = []
    try:
        currency(money.currency)
    except LookupFailed as problem:
        found.append(problem)
    for name, rate in (("money.tax", money.tax), ("money.fee", money.fee)):
        if not rate.is_finite() or not 0 <= rate <= 1:
            found.append(InputError(name, given=rate, allowed="0 to 1", mend="write 0.20 for 20 %"))
    every = tuple(lines)
    found += line_problems(every, money=money)
    by_id: dict[str, CostLine] = {}
    for line in every:
        if line.id in by_id:
            found.append(
                InputError(
                    where(line, "id"),
                    given=line.id,
                    allowed="an id that no other line has",
                    mend=f"rename it; {where(by_id[line.id], 'id')} has it too",
                )
            )
        else:
            by_id[line.id] = line
    for line in every:
        if not line.alternative_of:
            continue
        first = by_id.get(line.alternative_of)
        if first is None:
            near = nearest(line.alternative_of, by_id)
            found.append(
                LookupFailed(
                    where(line, "alternative_of"),
                    given=line.alternative_of,
                    allowed=f"the id of a line{f'; nearest: {near}' if near else ''}",
                    mend="write the id of the line it could replace",
                )
            )
        elif first.alternative_of:
            found.append(
                InputError(
                    where(line, "alternative_of"),
                    given=line.alternative_of,
                    allowed="a line that is not an alternative itself",
                    mend=f"write {first.alternative_of}",
                )
            )
    categories = dict.fromkeys(line.category for line in every)
    for name, rate in money.contingency.items():
        if name not in _WORKS and name not in categories:
            near = nearest(name, (*_WORKS, *categories))
            found.append(
                LookupFailed(
                    f"money.contingency.{name}",
                    given=name,
                    allowed=f"{', '.join(_WORKS)}, or a category of the lines",
                    mend=f"write {near}" if near else "use one of these",
                )
            )
        if not rate.is_finite() or not 0 <= rate <= 1:
            found.append(
                InputError(
                    f"money.contingency.{name}",
                    given=rate,
                    allowed="0 to 1",
                    mend="write 0.10 for 10 %",
                )
            )
    return tuple(found)


def raise_first(found: Sequence[DesignkitError]) -> None:
    """Raise the first problem; it says how many more there are."""
    if not found:
        return
    first = found[0]
    more = f" ({len(found) - 1} more)" if len(found) > 1 else ""
    raise type(first)(first.what, given=first.given, allowed=first.allowed, mend=first.mend + more)


def drawn(lines: Iterable[CostLine]) -> tuple[Counted, ...]:
    """The lines as drawn: every line that is not an alternative.

    Parameters
    ----------
    lines : iterable of CostLine
        All lines.

    Returns
    -------
    tuple of Counted
        In the order of the lines.
    """
    return tuple(Counted(line=x, slot=x.id) for x in lines if not x.alternative_of)


def kind_of_work(line: CostLine, *, old: Collection[str] = ()) -> Work:
    """The kind of work of a line, for its contingency.

    What the line says itself is taken. Else site work is "trades", repair is
    "vintage repair", and so are labour, fabric and allowances of an old piece;
    the rest is "furnishing". "opening up" (ceilings, old wiring) has to be said
    on the line.

    Parameters
    ----------
    line : CostLine
        The line.
    old : collection of str
        Ids of the old pieces.

    Returns
    -------
    str
        "furnishing", "trades", "opening up" or "vintage repair".

    Raises
    ------
    LookupFailed
        The line names another kind of work.
    """
    for known in _WORKS:
        if line.work == known:
            return known
    if line.work:
        raise LookupFailed(
            where(line, "work"), given=line.work, allowed=", ".join(_WORKS), mend="use one of these"
        )
    if line.kind in _OLD_KINDS and line.piece in old:
        return "vintage repair"
    return _BY_KIND.get(line.kind, "furnishing")


def contingency_rate(
    work: Work,
    *,
    category: str = "",
    own: Mapping[str, Decimal] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> Decimal:
    """The share of a line that is kept aside for what nobody has seen yet.

    Parameters
    ----------
    work : str
        The kind of work.
    category : str
        The line's category; the project may give a rate for it.
    own : mapping of str to Decimal, optional
        The project's rates, by category or kind of work (`Money.contingency`).
    overrides : mapping of str to float, optional
        The project's own values for `costs.contingency.*`.

    Returns
    -------
    Decimal
        A fraction.

    Examples
    --------
    >>> contingency_rate("furnishing")
    Decimal('0.1')
    """
    for name in (category, work):
        if own and name in own:
            return own[name]
    return Decimal(repr(value(f"costs.contingency.{work.replace(' ', '_')}", overrides)))


def price(
    lines: Iterable[CostLine | Counted],
    *,
    money: Money,
    old: Collection[str] = (),
    overrides: Mapping[str, float] | None = None,
) -> tuple[PricedLine, ...]:
    """Price counted lines in the project's currency, with tax.

    A line is rounded once, half-up, to the minor unit. Tax is rounded per line
    or per invoice as the project says; an invoice is the lines of one supplier,
    one year and one tax rate, and its tax is shared out so that the lines add
    up to it.

    Parameters
    ----------
    lines : iterable of CostLine or Counted
        The lines that count. A plain cost line counts for itself, also when it
        is an alternative.
    money : Money
        How the project counts money.
    old : collection of str
        Ids of the old pieces, for the kind of work.
    overrides : mapping of str to float, optional
        The project's own values for the rules `costs.*`.

    Returns
    -------
    tuple of PricedLine
        In the order of the lines.

    Raises
    ------
    InputError
        A line has a number that is not allowed; the message names row and
        column and says how many more there are.
    LookupFailed
        A line or the project names a currency or kind of work that is not known.

    Examples
    --------
    >>> from designkit.model import CostLine, Money
    >>> rug = CostLine(id="rug", item="rug", category="rugs", likely=Decimal("0.99"))
    >>> [str(x.gross) for x in price([rug], money=Money(tax=Decimal("0.20")))]
    ['1.19']
    """
    every = [x if isinstance(x, Counted) else Counted(line=x, slot=x.id) for x in lines]
    raise_first(line_problems((each.line for each in every), money=money))
    return price_checked(every, money=money, old=old, overrides=overrides)


def price_checked(
    every: Sequence[Counted],
    *,
    money: Money,
    old: Collection[str] = (),
    overrides: Mapping[str, float] | None = None,
) -> tuple[PricedLine, ...]:
    """As :func:`price`, for lines whose problems have been looked for already."""
    moves = {status: firmness_range(status, overrides=overrides) for status in _FIRMNESS}
    rates: dict[tuple[str, str], Decimal] = {}
    one = Decimal(1)

    nets: list[Decimal] = []
    grosses: list[Decimal] = []
    taxes: list[Decimal] = []
    tax_rates: list[Decimal] = []
    invoices: dict[tuple[int, str, Decimal], list[int]] = {}
    factors: list[Decimal] = []
    for i, each in enumerate(every):
        line = each.line
        abroad = line.currency and line.currency != money.currency
        factor = line.quantity * (line.rate if abroad and line.rate is not None else one)
        factors.append(factor)
        sum_ = rounded(line.likely * factor, code=money.currency)
        rate = money.tax if line.tax is None else line.tax
        tax_rates.append(rate)
        if money.tax_per == "invoice":
            invoices.setdefault((each.year, line.supplier, rate), []).append(i)
            nets.append(sum_)
            grosses.append(sum_)
            taxes.append(Decimal(0))
        elif money.prices_include_tax:
            tax = rounded(sum_ * rate / (1 + rate), code=money.currency)
            nets.append(sum_ - tax)
            taxes.append(tax)
            grosses.append(sum_)
        else:
            tax = rounded(sum_ * rate, code=money.currency)
            nets.append(sum_)
            taxes.append(tax)
            grosses.append(sum_ + tax)
    for (_, _, rate), members in invoices.items():
        share = rate / (1 + rate) if money.prices_include_tax else rate
        parts = [nets[i] * share for i in members]
        total = rounded(sum(parts, Decimal(0)), code=money.currency)
        for i, tax in zip(members, share_out(total, parts=parts, code=money.currency), strict=True):
            taxes[i] = tax
            if money.prices_include_tax:
                nets[i] = grosses[i] - tax
            else:
                grosses[i] = nets[i] + tax

    priced = []
    for i, each in enumerate(every):
        line, factor = each.line, factors[i]
        low, likely, high = prices_within(line, move=moves[line.status])
        work = kind_of_work(line, old=old)
        if line.kind in OUTSIDE_KINDS or line.status == "paid":
            contingency = Decimal(0)
        else:
            key = (work, line.category)
            if key not in rates:
                rates[key] = contingency_rate(
                    work, category=line.category, own=money.contingency, overrides=overrides
                )
            contingency = rates[key]
        priced.append(
            PricedLine(
                line=line,
                slot=each.slot,
                year=each.year,
                low=low * factor,
                likely=likely * factor,
                high=high * factor,
                tax_rate=tax_rates[i],
                net=nets[i],
                tax=taxes[i],
                gross=grosses[i],
                work=work,
                contingency=contingency,
                in_fee=line.kind not in OUTSIDE_KINDS,
            )
        )
    return tuple(priced)


@dataclass(frozen=True, kw_only=True, eq=False)
class Group:
    """The lines under one heading, added."""

    name: str
    lines: int
    net: Decimal
    tax: Decimal
    gross: Decimal


_BY: Mapping[str, Callable[[PricedLine], str]] = {
    "category": lambda x: x.line.category,
    "room": lambda x: x.line.room,
    "supplier": lambda x: x.line.supplier,
    "kind of work": lambda x: x.work,
    "year": lambda x: "this year" if x.year == 1 else "next year",
}


def grouped(priced: Iterable[PricedLine], *, by: str = "category") -> tuple[Group, ...]:
    """Add priced lines under headings; totals are sums of the lines.

    Parameters
    ----------
    priced : iterable of PricedLine
        From :func:`price`.
    by : str
        "category", "room", "supplier", "kind of work" or "year".

    Returns
    -------
    tuple of Group
        In the order in which the headings first appear.

    Raises
    ------
    LookupFailed
        The lines cannot be added by that.
    """
    if by not in _BY:
        raise LookupFailed("by", given=by, allowed=", ".join(_BY), mend="use one of these")
    heading = _BY[by]
    sums: dict[str, tuple[int, Decimal, Decimal]] = {}
    for x in priced:
        name = heading(x)
        count, net, tax = sums.get(name, (0, Decimal(0), Decimal(0)))
        sums[name] = (count + 1, net + x.net, tax + x.tax)
    return tuple(
        Group(name=name, lines=count, net=net, tax=tax, gross=net + tax)
        for name, (count, net, tax) in sums.items()
    )
