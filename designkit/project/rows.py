"""Rows of a CSV file as objects of `model`, each checked by itself."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from designkit.errors import InputError, nearest
from designkit.model import CostLine, Money, QuoteLine, Task
from designkit.project.amounts import amount, currencies, symbols
from designkit.project.dates import YEARS, is_day, is_far
from designkit.project.filling import Walk, fields_of, fill, shape_of
from designkit.project.problems import Problem
from designkit.project.tables import NOT_COLUMNS, TABLES, Record, Sheet, columns_of
from designkit.reference import table
from designkit.units import read_number

__all__ = ["MONEY_BACK", "rows_of"]

MONEY_BACK = ("discount", "credit", "return", "sale")

_AMOUNTS = ("low", "likely", "high", "trade_price", "client_price", "amount")
_DATES = ("valid_until", "rate_date")
# Ten years: whoever writes more has taken another unit.
_MOST_WEEKS = 520
_MOST_DAYS = 3650


def rows_of(
    sheet: Sheet,
    *,
    money: Money,
    problems: list[Problem],
    remarks: list[Problem],
    ready: Mapping[int, Any] | None = None,
) -> tuple[tuple[Any, ...], int]:
    """Rows of a CSV file as objects of `model`, each by itself.

    Parameters
    ----------
    sheet : Sheet
        The file taken apart.
    money : Money
        What the project says about money.
    problems : list of Problem
        Gets what is wrong.
    remarks : list of Problem
        Gets what is kept but not read.
    ready : mapping of int to object, optional
        Rows that are right already, by the identity of their record.

    Returns
    -------
    tuple
        The rows that are right, and how many are not.
    """
    file = f"{sheet.name}.csv"
    known = columns_of(sheet.name)
    # Kept as they stand, and read where orders, payments and gates are worked out.
    further = {row["column"] for row in table("line-columns") if row["file"] == sheet.name}
    for column in sheet.header:
        if column and column not in known and column not in further:
            near = nearest(column, set(known) - set(sheet.header))
            remarks.append(
                Problem(
                    path=column,
                    given="a column that is kept but not read",
                    allowed=", ".join(known),
                    mend=f"rename it to {near}, if it is meant" if near else "",
                    file=file,
                    line=1,
                )
            )
    rows, failed, seen = [], 0, dict[str, int]()
    for record in sheet.records:
        if not any(record.cells):
            continue
        walk = Walk(units="m", file=file)
        row = ready.get(id(record)) if ready else None
        raw: dict[str, Any] | None
        if row is not None:
            raw, found = {"id": getattr(row, "id", "")}, walk.problems
        else:
            raw = _row(sheet, record, walk, money)
            row = fill(raw, TABLES[sheet.name], (), walk) if raw is not None else None
            found = _row_rules(row, walk, money) if row is not None else walk.problems
        if raw is not None and sheet.name != "quotes":
            same = str(raw.get("id", ""))
            if same in seen:
                walk.problem(
                    ("id",), same, "an id that is new", f"line {seen[same]} has it already"
                )
            seen.setdefault(same, record.line)
        problems.extend(_with_row(p, record.line, raw) for p in found)
        if row is None or found:
            failed += 1
        else:
            rows.append(row)
    return tuple(rows), failed


def _with_row(problem: Problem, line: int, raw: Mapping[str, Any] | None) -> Problem:
    name = (raw or {}).get("id")
    path = f"{name}.{problem.path}" if name else problem.path
    return Problem(
        path=path,
        given=problem.given,
        allowed=problem.allowed,
        mend=problem.mend,
        file=problem.file,
        line=line,
    )


def _row(sheet: Sheet, record: Record, walk: Walk, money: Money) -> dict[str, Any] | None:
    """Cells of one row as `fill` takes them."""
    extra = record.cells[len(sheet.header) :]
    if any(extra):
        walk.problem(
            ("row",),
            f"{len(record.cells)} cells",
            f"{len(sheet.header)} cells, as in the header",
            "put a cell that holds the delimiter in quotes",
        )
        return None
    fields = fields_of(TABLES[sheet.name])
    raw: dict[str, Any] = {"more": {}, "row": record.line}
    cells = dict(zip(sheet.header, record.cells, strict=False))
    for column, cell in cells.items():
        if column not in fields or column in NOT_COLUMNS:
            if column and cell:
                raw["more"][column] = cell
            continue
        if not cell:
            continue
        shape = shape_of(fields[column][0])
        if shape.form == "decimal":
            number = _number(cell, column, cells, sheet, walk, money)
            if number is not None:
                raw[column] = number
        elif shape.form == "list":
            raw[column] = [part for part in re.split(r"[\s,;|+]+", cell) if part]
        elif shape.form == "word":
            raw[column] = cell.lower()
        elif column == "currency":
            raw[column] = cell.upper()
        else:
            raw[column] = cell
    return raw


def _number(
    cell: str, column: str, cells: Mapping[str, str], sheet: Sheet, walk: Walk, money: Money
) -> Decimal | None:
    """The number in a cell: an amount with its sign, a rate with its per cent."""
    text, sign = amount(cell)
    share = text.endswith("%")
    if sign:
        line_currency = cells.get("currency", "").upper() or money.currency
        allowed = symbols()[sign]
        if column not in _AMOUNTS or line_currency not in allowed:
            walk.problem(
                (column,),
                cell,
                f"a number, or an amount in {line_currency}",
                f"write {allowed[0]} in the column currency, with rate and rate_date"
                if column in _AMOUNTS
                else "write the number alone",
            )
            return None
    try:
        number = read_number(text.rstrip("% "), decimal=sheet.decimal, what=column)
    except InputError as error:
        two = "one reading" in error.allowed
        tail = ', or say [csv] decimal = "," (or ".") in project.toml' if two else ""
        walk.problem((column,), cell, error.allowed, error.mend + tail)
        return None
    return number / 100 if share else number


def _row_rules(row: Any, walk: Walk, money: Money) -> list[Problem]:
    """What must hold inside one row."""
    low, high = getattr(row, "low", None), getattr(row, "high", None)
    likely = getattr(row, "likely", None)
    if likely is not None:
        for name, bad in (
            ("low", low is not None and low > likely),
            ("high", high is not None and high < likely),
        ):
            if bad:
                walk.problem(
                    (name,), getattr(row, name), "low ≤ likely ≤ high", f"likely is {likely}"
                )
    if isinstance(row, CostLine):
        _cost_rules(row, walk, money)
    if isinstance(row, QuoteLine):
        _not_negative(row, ("quantity",), walk)
    if isinstance(row, Task):
        _not_negative(row, ("low", "likely", "high", "lead_weeks"), walk)
        if row.id in row.after:
            walk.problem(("after",), row.id, "other tasks", "a task cannot wait for itself")
        for name in ("low", "likely", "high"):
            _not_endless(row, name, _MOST_DAYS, "days", walk)
        _not_endless(row, "lead_weeks", _MOST_WEEKS, "weeks", walk)
    for column in _DATES:
        _date(column, getattr(row, column, ""), walk)
    for column, text in row.more.items():
        if column.endswith("_on") and is_far(text.strip()):
            _date(column, text.strip(), walk)
    return walk.problems


def _date(column: str, text: str, walk: Walk) -> None:
    if text and not is_day(text):
        allowed = f"a date as 2026-03-01, of the years {YEARS[0]} to {YEARS[1]}"
        walk.problem((column,), text, allowed, "write year-month-day")


def _not_negative(row: Any, names: tuple[str, ...], walk: Walk) -> None:
    for name in names:
        value = getattr(row, name)
        if value is not None and value < 0:
            walk.problem((name,), value, "0 or more", "write it without the minus")


def _not_endless(row: Any, name: str, most: int, unit: str, walk: Walk) -> None:
    value = getattr(row, name)
    if value is not None and value > most:
        walk.problem((name,), value, f"{most} {unit} at most", "look at the unit")


def _cost_rules(row: CostLine, walk: Walk, money: Money) -> None:
    back = row.kind in MONEY_BACK
    for name in ("low", "likely", "high", "trade_price", "client_price"):
        value = getattr(row, name)
        if value is None:
            continue
        if value < 0 and not back:
            walk.problem(
                (name,),
                value,
                f"0 or more on a line of kind {row.kind}",
                f"write it without the minus, or make the kind {', '.join(MONEY_BACK)}",
            )
        elif value > 0 and back:
            walk.problem(
                (name,),
                value,
                f"0 or less on a line of kind {row.kind}",
                f"money that comes back is written with a minus: -{value}",
            )
    if row.quantity <= 0:
        walk.problem(("quantity",), row.quantity, "more than 0", "write how many, or take it out")
    if row.lead_time is not None and row.lead_time < 0:
        walk.problem(("lead_time",), row.lead_time, "0 weeks or more", "write the weeks")
    _not_endless(row, "lead_time", _MOST_WEEKS, "weeks", walk)
    if row.tax is not None and not 0 <= row.tax <= 1:
        walk.problem(
            ("tax",),
            row.tax,
            "a rate from 0 to 1, or with %",
            f'write {row.tax / 100} or "{row.tax}%"',
        )
    if row.alternative_of == row.id:
        walk.problem(("alternative_of",), row.id, "another line", "a line is no option to itself")
    if row.currency and row.currency not in currencies():
        near = nearest(row.currency, currencies())
        walk.problem(
            ("currency",),
            row.currency,
            "a code of ISO 4217, as EUR",
            f"write {near}" if near else "use the code of three letters",
        )
    elif row.currency and row.currency != money.currency:
        if row.rate is None or row.rate <= 0:
            walk.problem(
                ("rate",),
                row.rate if row.rate is not None else "nothing",
                f"how many {money.currency} one {row.currency} costs",
                "add the columns rate and rate_date",
            )
        if not row.rate_date:
            walk.problem(("rate_date",), "nothing", "the day of the rate", "add it, as 2026-03-01")
