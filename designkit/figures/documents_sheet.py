"""Orders and documents as sheets: schedules, approval, receiving, snags, handover.

A sheet shows what its table holds for its audience and no more. Ids stay in
the files; on paper lines are numbered, days are in words, and columns that
are empty in every row are left out unless they are there to be filled in.
"""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping
from decimal import Decimal

from designkit.costs.money import money_text
from designkit.documents.sets import Paper
from designkit.figures.budget_paper import LARGER
from designkit.figures.chart import days_text
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import TitleBlock
from designkit.figures.tables import Head, Row, Sheeted, table_pages, table_sheets
from designkit.takeoff.tables import Cell, Table
from designkit.units import NBSP

__all__ = ["document_sheets"]

_MONEY = (
    "price with tax",
    "trade price",
    "client price",
    "price each",
    "amount",
    "low",
    "likely",
    "high",
    "trade_price",
    "client_price",
)
_NUMBERS = (*_MONEY, "quantity", "ordered", "lead weeks", "lead_time", "tax rate", "tax", "number")
_FILL_IN = (
    "signature",
    "agreed by",
    "agreed on",
    "received",
    "boxes",
    "damage",
    "dye lot",
    "received on",
    "inspected by",
    "mended on",
)
_GROUP = {
    "approval sheet": "room",
    "snag list": "room",
    "what is there": "room",
    "steps": "room",
    "costs": "room",
}
# On paper the cost lines are money; their steps have a sheet of their own.
_PRICED = (
    "item",
    "room",
    "category",
    "kind",
    "supplier",
    "quantity",
    "unit",
    "low",
    "likely",
    "high",
    "trade_price",
    "client_price",
    "tax",
    "alternative_of",
    "status",
    "lead_time",
    "state",
    "note",
)
_IDS = ("line", "finish", "id", "piece")  # in files only
_BOLD = ("item", "what")
_QUIET = ("note", "care", "warning", "why", "steps", "what came")
_TITLES = {
    "what is there": "What is there",
    "finishes and paint": "Finishes and paint",
    "kept for later": "Kept for later",
}
_SPACE = "\u2007" * 9  # a column to write in


def _day(text: str) -> str:
    try:
        return days_text(datetime.date.fromisoformat(text), year=True)
    except ValueError:
        return text


def _said(column: str, cell: Cell, code: str) -> str:
    if cell is None or cell == "":
        return ""
    if isinstance(cell, str):
        return _day(cell) if column.endswith((" on", " by", " until", "until")) else cell
    if column in _MONEY and code:
        return money_text(Decimal(str(cell)), code=code)
    if column in ("tax rate", "tax"):
        return f"{Decimal(str(cell)) * 100:f}".rstrip("0").rstrip(".") + f"{NBSP}%"
    plain = f"{Decimal(str(cell)):f}"
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def _keep(table: Table, column: str) -> bool:
    if column in _IDS:
        # "finish" is a name in an order, and an id in the handover book.
        named = column == "finish" and "item" in table.columns
        if not named:
            return False
    if column in _FILL_IN:
        return True
    return any(row[column] not in (None, "") for row in table.rows)


def _costs(table: Table, names: Mapping[str, str]) -> Table:
    """The cost lines as they are read on paper: names in place of ids."""
    items = {str(row["id"]): str(row["item"]) for row in table.rows if "id" in row}
    columns = tuple(c for c in _PRICED if c in table.columns)
    rows = []
    for row in table.rows:
        cells = {c: row[c] for c in columns}
        for column, known in (("room", names), ("alternative_of", items)):
            if column in cells:
                cells[column] = known.get(str(cells[column]), cells[column])
        rows.append(cells)
    return dataclasses.replace(table, columns=columns, rows=tuple(rows))


def _sheeted(paper: Paper, table: Table, *, first: bool) -> Sheeted:
    group = _GROUP.get(table.name, "section" if "section" in table.columns else "")
    columns = [c for c in table.columns if c != group and _keep(table, c)]
    numbered = "line" in table.columns and "number" not in table.columns
    heads = [Head(words="no.", align="end")] if numbered else []
    heads += [
        Head(
            words=column.replace("_", " "),
            align="end" if column in _NUMBERS else "start",
            bold=column in _BOLD,
            quiet=column in _QUIET,
        )
        for column in columns
    ]
    rows = []
    ordered = list(table.rows)
    if group and group != "section":
        order = list(dict.fromkeys(str(r[group]) for r in ordered))
        ordered.sort(key=lambda r: order.index(str(r[group])))
    for number, row in enumerate(ordered, start=1):
        cells = [str(number)] if numbered else []
        for column in columns:
            said = _said(column, row[column], paper.currency)
            cells.append(said or (_SPACE if column in _FILL_IN else ""))
        name = str(row[group]) if group else ""
        rows.append(
            Row(
                cells=tuple(cells),
                group=(name[:1].upper() + name[1:]) or ("No room" if group == "room" else ""),
                about=str(row.get("line", "") or ""),
            )
        )
    question = paper.question
    if len(paper.tables) > 1:
        question = _TITLES.get(table.name, table.name[:1].upper() + table.name[1:])
    return Sheeted(
        question=question,
        answer=paper.answer,
        scale=f"for the {paper.audience}",
        heads=tuple(heads),
        rows=tuple(rows),
        notes=paper.notes if first else (),
    )


def document_sheets(
    paper: Paper,
    *,
    block: TitleBlock,
    size: str = "A4",
    units: str = "m",
    names: Mapping[str, str] | None = None,
) -> tuple[Drawing, ...]:
    """A paper on as many sheets as it needs.

    Parameters
    ----------
    paper : Paper
        From :func:`designkit.documents.sets.papers_for`.
    block : TitleBlock
        What the foot of the sheets says.
    size : str, optional
        A key of `sheet.PAPERS`; a table of many columns takes the next larger.
    units : str, optional
        The project's unit of length.
    names : mapping of str to str, optional
        Names of rooms by their id.

    Returns
    -------
    tuple of Drawing
        The tables one after the other; only what is in the paper is on them.

    Raises
    ------
    LookupFailed
        There is no such size of paper, or no such currency.
    """
    found: list[Drawing] = []
    for i, table in enumerate(paper.tables):
        here = dataclasses.replace(block)
        if paper.name.startswith("purchase-order"):
            here = dataclasses.replace(block, status="for order")
        if len(paper.tables) > 1:
            title = f"{here.title}, {_TITLES.get(table.name, table.name).lower()}"
            here = dataclasses.replace(here, title=title)
        if paper.name in ("ff-and-e-schedule", "finish-schedule"):
            wide = LARGER.get(size, size) if paper.audience == "studio" else size
            found += table_sheets(
                table, block=here, paper=wide, units=units, names=names, currency=paper.currency
            )
            continue
        shown = _costs(table, names or {}) if table.name == "costs" else table
        sheet = _sheeted(paper, shown, first=i == 0)
        wide = LARGER.get(size, size) if len(sheet.heads) > 9 else size
        found += table_pages(sheet, block=here, paper=wide)
    return tuple(found)
