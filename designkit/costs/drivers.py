"""What moves the sum: one thing changed at a time, all the rest as priced."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.lines import PricedLine, price
from designkit.costs.money import money_text, to_step
from designkit.costs.ranges import unit_prices
from designkit.costs.scenarios import choices, plain_number
from designkit.costs.tables import Terms
from designkit.model import CostLine, Home

__all__ = ["Driver", "list_drivers"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Driver:
    """What one thing does to the total, all the rest as priced."""

    name: str
    kind: Literal["price", "choice"]
    lines: tuple[str, ...]  # ids
    low_change: Decimal  # 0 or below
    high_change: Decimal  # 0 or above
    low_words: str  # the value at the cheaper end
    high_words: str
    why: str

    @property
    def swing(self) -> Decimal:
        """From the cheaper to the dearer end."""
        return self.high_change - self.low_change


def list_drivers(
    lines: Sequence[PricedLine],
    *,
    every: Sequence[CostLine],
    home: Home,
    old: Sequence[str],
    terms: Terms,
    step: Decimal,
    most: int,
) -> tuple[Driver, ...]:
    """One thing changed at a time, sorted by what it does to the total.

    Parameters
    ----------
    lines : sequence of PricedLine
        As the scenario prices them.
    every : sequence of CostLine
        The whole file, for what could be taken instead.
    home : Home
        Names, money and rules.
    old : sequence of str
        Ids of pieces that the client has.
    terms : Terms
        What rows and cap count.
    step : Decimal
        The printed step, in the currency.
    most : int
        How many are listed.

    Returns
    -------
    tuple of Driver
        What moves the total most, first.
    """

    def change(amount: float) -> Decimal:
        return to_step(Decimal(repr(amount)), step=step)

    # Swings first, words only for those that are shown: files can be long.
    prices = [(terms.factor(x) * float(x.high - x.low), x) for x in lines if x.high > x.low]
    prices.sort(key=lambda pair: -pair[0])
    found = [_price_driver(x, home=home, terms=terms, change=change) for _, x in prices[:most]]
    offers = {slot: members for slot, members in choices(every).items() if len(members) > 1}
    for now in lines:
        members = offers.get(now.slot)
        if members is None:
            continue
        others = price(
            [line for line in members if line.id != now.line.id],
            money=home.money,
            old=old,
            overrides=home.rules,
        )
        here = terms.factor(now) * float(now.likely)
        ends = [(0.0, now.line.item)]
        ends += [(terms.factor(y) * float(y.likely) - here, y.line.item) for y in others]
        low_end = min(ends, key=lambda end: end[0])
        high_end = max(ends, key=lambda end: end[0])
        first, second = members[:2]
        found.append(
            Driver(
                name=f"{first.item} or {second.item if len(members) == 2 else 'another'}",
                kind="choice",
                lines=tuple(line.id for line in members),
                low_change=change(low_end[0]),
                high_change=change(high_end[0]),
                low_words=low_end[1],
                high_words=high_end[1],
                why=f"{now.line.item} is priced; the ends are its alternatives",
            )
        )
    found.sort(key=lambda driver: (-driver.swing, driver.name, driver.kind))
    return tuple(driver for driver in found[:most] if driver.swing > 0)


def _price_driver(
    x: PricedLine, *, home: Home, terms: Terms, change: Callable[[float], Decimal]
) -> Driver:
    line, factor = x.line, terms.factor(x)
    code = line.currency or home.money.currency
    low, likely, high = (
        money_text(amount, code=code) for amount in unit_prices(line, overrides=home.rules)
    )
    return Driver(
        name=line.item if line.unit == "piece" else f"{line.item}, per {line.unit}",
        kind="price",
        lines=(line.id,),
        low_change=change(factor * float(x.low - x.likely)),
        high_change=change(factor * float(x.high - x.likely)),
        low_words=low,
        high_words=high,
        why=(f"{low} to {high}, priced {likely}, × {plain_number(line.quantity)}, {line.status}"),
    )
