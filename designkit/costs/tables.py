"""The rows of a budget: each heading by year, with tax and fee as the cap counts.

Every cell is rounded to the printed step and every total is the sum of the
cells above it, so that a client who adds the column finds the same sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.lines import PricedLine
from designkit.costs.money import rounded, to_step
from designkit.costs.scenarios import plain_number
from designkit.model import CostLine, Money
from designkit.units import NBSP

__all__ = [
    "BudgetRow",
    "Terms",
    "drawn_sum",
    "headings_of",
    "lay_rows",
    "misleads",
    "sum_cells",
    "whole_sum",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class BudgetRow:
    """One row of one scenario, at the printed step."""

    name: str
    kind: Literal["category", "contingency", "fee", "tax"]
    now: Decimal  # paid this year
    later: Decimal  # paid next year
    changed: bool  # against the first column
    words: tuple[str, ...]  # what changed

    @property
    def total(self) -> Decimal:
        """Both years."""
        return self.now + self.later


@dataclass(frozen=True, kw_only=True)
class Terms:
    """What the rows, the cap and the draws count."""

    money: Money
    with_tax: bool
    with_fee: bool
    spent: float

    def fee_factor(self) -> float:
        """The fee on one net unit of goods and works, as the rows count it."""
        if not self.with_fee:
            return 0.0
        return float(self.money.fee) * (1 + float(self.money.tax) * self.with_tax)

    def factor(self, x: PricedLine) -> float:
        """What one unit of a line as written adds to the rows' total.

        Parameters
        ----------
        x : PricedLine
            A line with its price, tax and contingency.

        Returns
        -------
        float
            Money of the total for one of the line. [1]
        """
        tax = float(x.tax_rate)
        net = 1 / (1 + tax) if self.money.prices_include_tax else 1.0
        taxed = 1 + tax * self.with_tax
        if x.line.kind == "fee":
            return net * taxed * self.with_fee
        own = taxed * (1 + self.spent * float(x.contingency))
        return net * (own + self.fee_factor() * x.in_fee)


@dataclass(frozen=True, kw_only=True)
class Cell:
    net: Decimal = Decimal(0)
    tax: Decimal = Decimal(0)

    def add(self, net: Decimal, tax: Decimal) -> Cell:
        return Cell(net=self.net + net, tax=self.tax + tax)


Cells = dict[tuple[str, str, int], Cell]  # kind, name, year


def sum_cells(lines: Sequence[PricedLine], terms: Terms) -> Cells:
    """Every heading of a scenario at the minor unit, by year.

    Parameters
    ----------
    lines : sequence of PricedLine
        Of one scenario.
    terms : Terms
        What the rows count.

    Returns
    -------
    Cells
        Net and tax by kind, name and year.
    """
    money, code = terms.money, terms.money.currency
    cells: Cells = {}
    base: dict[int, Decimal] = {}
    aside: dict[tuple[int, Decimal, Decimal], Decimal] = {}
    for x in lines:
        year = min(x.year, 2)
        kind = "fee" if x.line.kind == "fee" else "category"
        key = (kind, "" if kind == "fee" else x.line.category, year)
        cells[key] = cells.get(key, Cell()).add(x.net, x.tax)
        if x.in_fee:
            base[year] = base.get(year, Decimal(0)) + x.net
        if x.contingency:
            group = (year, x.contingency, x.tax_rate)
            aside[group] = aside.get(group, Decimal(0)) + x.net
    for (year, rate, tax_rate), net in aside.items():
        kept = rounded(net * rate, code=code)
        key = ("contingency", "", year)
        cells[key] = cells.get(key, Cell()).add(kept, rounded(kept * tax_rate, code=code))
    for year, net in base.items():
        if money.fee:
            fee = rounded(net * money.fee, code=code)
            key = ("fee", "", year)
            cells[key] = cells.get(key, Cell()).add(fee, rounded(fee * money.tax, code=code))
    return cells


def _percent(rates: set[Decimal]) -> str:
    if not rates:
        return ""
    low, high = (plain_number(rate * 100) for rate in (min(rates), max(rates)))
    return f"{low}{NBSP}%" if low == high else f"{low}–{high}{NBSP}%"


def whole_sum(cells: Cells, terms: Terms, year: int) -> Decimal:
    """One year at the minor unit, as the cap counts it.

    Parameters
    ----------
    cells : Cells
        Of one scenario.
    terms : Terms
        Whether tax and fee count.
    year : int
        1 for this year, 2 for the next.

    Returns
    -------
    Decimal
        In the currency, not rounded to the printed step.
    """
    total = Decimal(0)
    for (kind, _, when), cell in cells.items():
        if when == year and (kind != "fee" or terms.with_fee):
            total += cell.net + (cell.tax if terms.with_tax else Decimal(0))
    return total


def drawn_sum(cells: Cells, terms: Terms, years: Sequence[int]) -> float:
    """What the draws turn about: the priced sum, with the contingency that is spent.

    Parameters
    ----------
    cells : Cells
        Of one scenario.
    terms : Terms
        Whether tax counts, and how much of the contingency is spent.
    years : sequence of int
        1 for this year, 2 for the next, or both.

    Returns
    -------
    float
        In the currency.
    """
    total = sum((whole_sum(cells, terms, year) for year in years), Decimal(0))
    kept = Decimal(0)
    for (kind, _, when), cell in cells.items():
        if kind == "contingency" and when in years:
            kept += cell.net + (cell.tax if terms.with_tax else Decimal(0))
    return float(total - kept) + terms.spent * float(kept)


def lay_rows(
    cells: Cells, headings: Sequence[tuple[str, str, str]], terms: Terms, step: Decimal
) -> tuple[list[BudgetRow], list[BudgetRow]]:
    """Rows under the cap and apart from it, at the printed step.

    Parameters
    ----------
    cells : Cells
        Of one scenario.
    headings : sequence of (str, str, str)
        Kind, key and name of each row, in order.
    terms : Terms
        Whether tax and fee stand under the cap.
    step : Decimal
        The printed step, in the currency.

    Returns
    -------
    (list of BudgetRow, list of BudgetRow)
        The rows that the cap counts, and those that it leaves out.
    """
    under: list[BudgetRow] = []
    apart: list[BudgetRow] = []
    taxes = [Decimal(0), Decimal(0)]
    for kind, key, name in headings:
        sums = []
        for i, year in enumerate((1, 2)):
            cell = cells.get((kind, key, year), Cell())
            sums.append(cell.net + (cell.tax if terms.with_tax else Decimal(0)))
            taxes[i] += cell.tax
        row = BudgetRow(
            name=name,
            kind="contingency" if kind == "contingency" else "fee" if kind == "fee" else "category",
            now=to_step(sums[0], step=step),
            later=to_step(sums[1], step=step),
            changed=False,
            words=(),
        )
        (apart if kind == "fee" and not terms.with_fee else under).append(row)
    if not terms.with_tax:
        apart.append(
            BudgetRow(
                name="Tax",
                kind="tax",
                now=to_step(taxes[0], step=step),
                later=to_step(taxes[1], step=step),
                changed=False,
                words=(),
            )
        )
    return under, apart


def headings_of(
    every: Sequence[CostLine],
    priced: Sequence[Sequence[PricedLine]],
    sheets: Sequence[Cells],
) -> list[tuple[str, str, str]]:
    """The rows of all columns, in the order of the file.

    Parameters
    ----------
    every : sequence of CostLine
        The whole file.
    priced : sequence of sequence of PricedLine
        The lines of each scenario.
    sheets : sequence of Cells
        The cells of each scenario.

    Returns
    -------
    list of (str, str, str)
        Kind, key and name of each row.
    """
    used = {(kind, key) for cells in sheets for kind, key, _ in cells}
    rates = {x.contingency for lines in priced for x in lines if x.contingency}
    headings = [
        ("category", name, name)
        for name in dict.fromkeys(line.category for line in every)
        if ("category", name) in used
    ]
    if ("contingency", "") in used:
        headings.append(("contingency", "", f"Contingency, {_percent(rates)}"))
    if ("fee", "") in used:
        headings.append(("fee", "", "Fee"))
    return headings


def misleads(
    sheets: Sequence[Cells],
    headings: Sequence[tuple[str, str, str]],
    terms: Terms,
    step: Decimal,
    cap: Decimal,
) -> bool:
    """Whether rounding the rows would put a total on the wrong side of the cap.

    Parameters
    ----------
    sheets : sequence of Cells
        The cells of each scenario.
    headings : sequence of (str, str, str)
        Kind, key and name of each row.
    terms : Terms
        What the rows count.
    step : Decimal
        The printed step, in the currency.
    cap : Decimal
        The most that may be spent.

    Returns
    -------
    bool
        True where a smaller step is needed.
    """
    for cells in sheets:
        under, _ = lay_rows(cells, headings, terms, step)
        exact = whole_sum(cells, terms, 1)
        printed = sum((row.now for row in under), Decimal(0))
        later = sum((row.later for row in under), Decimal(0))
        both = exact + whole_sum(cells, terms, 2)
        if (printed > cap) != (exact > cap) or (printed + later > cap) != (both > cap):
            return True
    return False
