"""Prices, quotes and scenarios: what a home costs, and how sure that is.

Pure functions on the values of `designkit.model`. The one call that has
everything a sheet needs is :func:`budget`; quotes are compared by
:func:`level`; the all-in cost of a piece is :func:`all_in`.
"""

from __future__ import annotations

from designkit.costs.budgeting import Budget, BudgetColumn, RangeBar, budget
from designkit.costs.chance import Item, Outcome, chance_words, simulate, together_ranks
from designkit.costs.drivers import Driver
from designkit.costs.frames import to_frame
from designkit.costs.lines import (
    Counted,
    Group,
    PricedLine,
    contingency_rate,
    drawn,
    grouped,
    kind_of_work,
    price,
    problems,
)
from designkit.costs.money import (
    Currency,
    converted,
    currency,
    gross_of,
    money_text,
    net_of,
    rounded,
    share_out,
    tax_per_invoice,
    tax_per_line,
    to_step,
)
from designkit.costs.pieces import AllIn, AllInRow, all_in, recover_cost, remark_holds_from
from designkit.costs.quotes import (
    LevelledQuote,
    Levelling,
    QuoteCell,
    gate,
    gates,
    level,
    quote_problems,
)
from designkit.costs.ranges import (
    Range,
    chance_below,
    firmness_range,
    mean,
    quantile,
    short_deviation,
    unit_prices,
    variance,
)
from designkit.costs.scenarios import Changed, Resolved, chain, choices, resolve
from designkit.costs.tables import BudgetRow

__all__ = [
    "AllIn",
    "AllInRow",
    "Budget",
    "BudgetColumn",
    "BudgetRow",
    "Changed",
    "Counted",
    "Currency",
    "Driver",
    "Group",
    "Item",
    "LevelledQuote",
    "Levelling",
    "Outcome",
    "PricedLine",
    "QuoteCell",
    "Range",
    "RangeBar",
    "Resolved",
    "all_in",
    "budget",
    "chain",
    "chance_below",
    "chance_words",
    "choices",
    "contingency_rate",
    "converted",
    "currency",
    "drawn",
    "firmness_range",
    "gate",
    "gates",
    "gross_of",
    "grouped",
    "kind_of_work",
    "level",
    "mean",
    "money_text",
    "net_of",
    "price",
    "problems",
    "quantile",
    "quote_problems",
    "recover_cost",
    "remark_holds_from",
    "resolve",
    "rounded",
    "share_out",
    "short_deviation",
    "simulate",
    "tax_per_invoice",
    "tax_per_line",
    "to_frame",
    "to_step",
    "together_ranks",
    "unit_prices",
    "variance",
]
