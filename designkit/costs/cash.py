"""What is paid when: a share on the order, the rest on delivery, week by week.

The days are plain values: whoever has a schedule gives them. A line without
days is not lost; it stands apart with its whole sum.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from typing import Literal

from designkit.costs.lines import PricedLine, where
from designkit.costs.money import money_text, rounded
from designkit.days import day_words
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine
from designkit.reference import value

__all__ = [
    "Cash",
    "Days",
    "Payment",
    "PaymentKind",
    "Week",
    "cash_by_week",
    "share_on_order",
]

PaymentKind = Literal["on order", "on delivery", "fee"]
_SHARE_COLUMN = "deposit"  # of costs.csv: the share that this line's supplier asks
_MOST_WEEKS = 520


@dataclass(frozen=True, kw_only=True)
class Days:
    """When a line is ordered and when it is delivered; None: not known yet."""

    order: datetime.date | None = None
    delivery: datetime.date | None = None

    def __post_init__(self) -> None:
        """Refuse a delivery before its order."""
        if self.order is not None and self.delivery is not None and self.delivery < self.order:
            raise InputError(
                "delivery day",
                given=self.delivery.isoformat(),
                allowed=f"on or after the order, {self.order.isoformat()}",
                mend="put the two days in order",
            )


@dataclass(frozen=True, kw_only=True)
class Payment:
    """One sum on one day."""

    line: str  # cost line id, or words
    item: str
    supplier: str
    kind: PaymentKind
    day: datetime.date | None  # None: nobody knows yet
    amount: Decimal  # with tax [currency]


@dataclass(frozen=True, kw_only=True, eq=False)
class Week:
    """What a week takes, and what has been paid by its end."""

    monday: datetime.date
    on_order: Decimal
    on_delivery: Decimal
    fee: Decimal
    total: Decimal
    so_far: Decimal  # paid by then, with what was paid before the first week
    payments: tuple[Payment, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Cash:
    """Every payment of the priced lines, week by week."""

    currency: str
    weeks: tuple[Week, ...]  # without a gap
    paid: Decimal  # before the first week
    undated: tuple[Payment, ...]  # nobody knows when
    later: tuple[Payment, ...]  # next year
    total: Decimal  # paid + weeks + undated + later
    heaviest: Week | None
    answer: str
    rules: tuple[str, ...]


def share_on_order(line: CostLine, *, overrides: Mapping[str, float] | None = None) -> Decimal:
    """The share of a line that is paid with the order.

    Parameters
    ----------
    line : CostLine
        The line; a column `deposit` in costs.csv ("0.3", "30 %") decides.
    overrides : mapping of str to float, optional
        The project's own values for `costs.cash.on_order.*`.

    Returns
    -------
    Decimal
        0 to 1.

    Raises
    ------
    InputError
        The column holds no share.

    Examples
    --------
    >>> share_on_order(CostLine(id="sofa", item="sofa", category="new", likely=Decimal(9)))
    Decimal('0.5')
    """
    written = line.more.get(_SHARE_COLUMN, "").strip()
    if written:
        try:
            # A share has no thousands: either sign is the decimal one.
            share = Decimal(written.rstrip("%").strip().replace(",", "."))
        except InvalidOperation:
            share = Decimal("NaN")
        if written.endswith("%"):
            share /= 100
        if not (share.is_finite() and 0 <= share <= 1):
            raise InputError(
                where(line, _SHARE_COLUMN),
                given=written,
                allowed="a share, as 0.3 or 30 %",
                mend="write what the supplier asks with the order",
            )
        return share
    return Decimal(repr(value(f"costs.cash.on_order.{line.kind}", overrides)))


def _payments(
    x: PricedLine, days: Days, overrides: Mapping[str, float] | None, code: str
) -> tuple[Payment, Payment]:
    first = rounded(x.gross * share_on_order(x.line, overrides=overrides), code=code)
    on_order = Payment(
        line=x.line.id,
        item=x.line.item,
        supplier=x.line.supplier,
        kind="on order",
        day=days.order,
        amount=first,
    )
    # The rest is what is left, so that the two are the line.
    rest = replace(on_order, kind="on delivery", day=days.delivery, amount=x.gross - first)
    return on_order, rest


def _monday(day: datetime.date) -> datetime.date:
    return day - datetime.timedelta(days=day.weekday())


def cash_by_week(
    priced: Iterable[PricedLine],
    *,
    days: Mapping[str, Days],
    start: datetime.date | None = None,
    fees: Sequence[Payment] = (),
    code: str = "EUR",
    overrides: Mapping[str, float] | None = None,
) -> Cash:
    """What is paid in each week, from the days of order and delivery.

    Parameters
    ----------
    priced : iterable of PricedLine
        The lines that count; their sums with tax are paid.
    days : mapping of str to Days
        By cost line id. A line of status "paid" needs none; one of status
        "ordered" has paid its share on the order already.
    start : date, optional
        The first week; what was due before is counted as paid. By default the
        week of the first day.
    fees : sequence of Payment, optional
        The studio's own bills, of kind "fee".
    code : str
        The project's currency, ISO 4217.
    overrides : mapping of str to float, optional
        The project's own values for `costs.cash.*`.

    Returns
    -------
    Cash
        Weeks begin on Monday. Payments of next year's lines that have no day
        stand under `later`.

    Raises
    ------
    InputError
        A share is outside 0 to 1, a fee is of another kind, or the days lie
        more than ten years apart.
    LookupFailed
        Days are given for a line that does not count.
    """
    every = tuple(priced)
    ids = {x.line.id for x in every}
    for id in days:
        if id not in ids:
            near = nearest(id, ids)
            raise LookupFailed(
                "days",
                given=id,
                allowed=f"the id of a line that counts{f'; nearest: {near}' if near else ''}",
                mend="give the days of counted lines only",
            )
    paid = Decimal(0)
    dated: list[Payment] = []
    undated: list[Payment] = []
    later: list[Payment] = []
    for x in every:
        if x.line.status == "paid":
            paid += x.gross
            continue
        first, rest = _payments(x, days.get(x.line.id, Days()), overrides, code)
        if x.line.status == "ordered":
            paid += first.amount
            first = replace(first, amount=Decimal(0))
        for one in (first, rest):
            if not one.amount:
                continue
            if one.day is not None:
                dated.append(one)
            else:
                (later if x.year > 1 else undated).append(one)
    for one in fees:
        if one.kind != "fee":
            raise InputError("fees, kind", given=one.kind, allowed="fee", mend="use kind fee")
        (dated if one.day is not None else undated).append(one)

    def day_of(one: Payment) -> datetime.date:
        assert one.day is not None
        return one.day

    dated.sort(key=day_of)
    weeks: list[Week] = []
    if start is not None:
        paid += sum((p.amount for p in dated if day_of(p) < _monday(start)), Decimal(0))
        dated = [p for p in dated if day_of(p) >= _monday(start)]
    if dated:
        first_week = _monday(start or day_of(dated[0]))
        last_week = _monday(day_of(dated[-1]))
        count = (last_week - first_week).days // 7 + 1
        if count > _MOST_WEEKS:
            raise InputError(
                "days",
                given=f"{first_week.isoformat()} to {last_week.isoformat()}",
                allowed=f"at most {_MOST_WEEKS} weeks",
                mend="look for a slip in a year",
            )
        so_far = paid
        by_week: dict[datetime.date, list[Payment]] = {}
        for one in dated:
            by_week.setdefault(_monday(day_of(one)), []).append(one)
        for i in range(count):
            monday = first_week + datetime.timedelta(weeks=i)
            mine = by_week.get(monday, [])
            sums = {
                kind: sum((p.amount for p in mine if p.kind == kind), Decimal(0))
                for kind in ("on order", "on delivery", "fee")
            }
            total = sum(sums.values(), Decimal(0))
            so_far += total
            weeks.append(
                Week(
                    monday=monday,
                    on_order=sums["on order"],
                    on_delivery=sums["on delivery"],
                    fee=sums["fee"],
                    total=total,
                    so_far=so_far,
                    payments=tuple(mine),
                )
            )
    heaviest = max(weeks, key=lambda w: w.total) if weeks else None
    coming = sum((w.total for w in weeks), Decimal(0))
    open_ = sum((p.amount for p in undated), Decimal(0))
    next_year = sum((p.amount for p in later), Decimal(0))
    total = paid + coming + open_ + next_year
    if heaviest is None:
        answer = f"No payment has a day yet; {money_text(total, code=code)} in all."
    else:
        answer = (
            f"The heaviest week begins on {day_words(heaviest.monday)}: "
            f"{money_text(heaviest.total, code=code)} of {money_text(total, code=code)}."
        )
        if open_:
            answer += f" {money_text(open_, code=code)} has no day yet."
    return Cash(
        currency=code,
        weeks=tuple(weeks),
        paid=paid,
        undated=tuple(undated),
        later=tuple(later),
        total=total,
        heaviest=heaviest,
        answer=answer,
        rules=tuple(dict.fromkeys(f"costs.cash.on_order.{x.line.kind}" for x in every)),
    )
