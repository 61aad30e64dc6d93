"""Results as data frames, for those who work on in pandas."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from designkit.costs.budgeting import Budget
from designkit.costs.lines import PricedLine
from designkit.costs.quotes import Levelling

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["to_frame"]


def _levelled(levelling: Levelling) -> list[dict[str, object]]:
    return [
        {
            "contractor": quote.contractor,
            "line": cell.text,
            "state": cell.state,
            "quoted": cell.quoted,
            "levelled": cell.levelled,
            "estimate": cell.estimate,
            "per unit": cell.per_unit,
            "unit": cell.unit,
            "why": cell.why,
        }
        for quote in levelling.quotes
        for cell in quote.cells
    ]


def _priced(lines: Iterable[PricedLine]) -> list[dict[str, object]]:
    return [
        {
            "id": x.line.id,
            "item": x.line.item,
            "piece": x.line.piece,
            "room": x.line.room,
            "category": x.line.category,
            "supplier": x.line.supplier,
            "kind": x.line.kind,
            "quantity": x.line.quantity,
            "unit": x.line.unit,
            "low": x.low,
            "likely": x.likely,
            "high": x.high,
            "net": x.net,
            "tax": x.tax,
            "gross": x.gross,
            "year": x.year,
            "kind of work": x.work,
            "contingency": x.contingency,
        }
        for x in lines
    ]


def to_frame(result: Budget | Levelling | Iterable[PricedLine]) -> pd.DataFrame:
    """A budget, levelled quotes or priced lines as a data frame.

    Suppliers stand in it: it is for the studio, not for the client.

    Parameters
    ----------
    result : Budget, Levelling or iterable of PricedLine
        What is to be laid out in rows.

    Returns
    -------
    pandas.DataFrame
        Money stays `Decimal`.
    """
    import pandas as pd  # half a second that the core does without

    if isinstance(result, Budget):
        records = result.records()
    elif isinstance(result, Levelling):
        records = _levelled(result)
    else:
        records = _priced(result)
    return pd.DataFrame.from_records(records)
