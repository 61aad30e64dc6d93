"""Change CSV files row by row; the other rows stay as they were written."""

from __future__ import annotations

import contextlib
import csv
import dataclasses
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from designkit.errors import InputError
from designkit.model import Edit
from designkit.project.amounts import bare_number
from designkit.project.filling import fields_of, shape_of
from designkit.project.tables import TABLES, Record, Sheet, by_id, columns_of
from designkit.units import read_number

__all__ = ["cell", "changes", "put", "same_cell", "to_bytes"]


def _empty(name: str) -> Sheet:
    header = columns_of(name)
    return Sheet(
        name=name,
        header=header,
        records=(),
        head_text=",".join(header),
        delimiter=",",
        decimal=None,
        encoding="utf-8",
        newline="\n",
        last_newline=True,
        by_id={},
    )


def cell(sheet: Sheet | None, keys: tuple[str, ...]) -> Any:
    """What a row (one key) or a cell (two) says; None where it is not there.

    Parameters
    ----------
    sheet : Sheet or None
        The file taken apart.
    keys : tuple of str
        Row, or row and column.

    Returns
    -------
    dict, str or None
        Filled cells by column, or the text of one.
    """
    row = sheet.by_id.get(keys[0]) if sheet is not None else None
    if row is None:
        return None
    if len(keys) == 2:
        return row.get(keys[1]) or None
    return {column: text for column, text in row.items() if text}


def same_cell(sheet: Sheet | None, name: str, keys: tuple[str, ...], value: Any) -> bool:
    """Whether a row or cell says `value`, whatever its spelling.

    Parameters
    ----------
    sheet : Sheet or None
        The file taken apart.
    name : str
        "costs", "quotes" or "tasks".
    keys : tuple of str
        Row, or row and column.
    value : object
        A plain value, None for nothing.

    Returns
    -------
    bool
        Whether they mean the same.
    """
    now = cell(sheet, keys)
    if len(keys) == 2:
        return _same(name, keys[1], now, value, sheet)
    if now is None or value is None:
        return now is None and value is None
    if not isinstance(value, Mapping):
        return False
    if name != "quotes":
        value = {"id": keys[0], **value}
    return all(
        _same(name, column, now.get(column), value.get(column), sheet) for column in {*now, *value}
    )


def _same(name: str, column: str, now: Any, value: Any, sheet: Sheet | None) -> bool:
    if _text(now) == _text(value):
        return True
    field = fields_of(TABLES[name]).get(column)
    if field is None:
        return False
    shape = shape_of(field[0])
    if (now is None or value is None) and shape.form != "list":
        default = TABLES[name].__dataclass_fields__[column].default
        if default is dataclasses.MISSING or default is None:
            return False
        one, two = (default if v is None else v for v in (now, value))
        return _same(name, column, one, two, sheet)
    if shape.form == "decimal":
        try:
            one = _decimal(now, sheet)
            try:
                two = _decimal(value, None)
            except InputError:
                two = _decimal(value, sheet)
        except InputError:
            return False
        return one == two
    if shape.form == "word":
        return str(now).lower() == str(value).lower()
    return False


def _decimal(value: Any, sheet: Sheet | None) -> Decimal:
    if isinstance(value, str):
        text = bare_number(value)
        share = text.endswith("%")
        number = read_number(
            text.rstrip("% "), decimal=sheet.decimal if sheet is not None else None
        )
        return number / 100 if share else number
    return Decimal(str(value))


def _text(value: Any, sheet: Sheet | None = None) -> str:
    """A value as a cell holds it, in the decimal sign of the file."""
    if value is None:
        return ""
    if isinstance(value, (tuple, list)):
        return " ".join(map(str, value))
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
        text = format(Decimal(str(value)), "f")
        whole, point, part = text.partition(".")
        if len(part) == 3:
            part += "0"  # 1.200 would be asked back
        return whole + (point.replace(".", sheet.decimal or ".") if sheet else point) + part
    return str(value)


def _cell_text(sheet: Sheet, column: str, value: Any) -> str:
    """A value as this file writes it; text of a number in its decimal sign."""
    field = fields_of(TABLES[sheet.name]).get(column)
    if isinstance(value, str) and value and field and shape_of(field[0]).form == "decimal":
        with contextlib.suppress(InputError):  # "€ 1 200,50" stays as it is
            value = read_number(value)
    return _text(value, sheet)


def put(sheet: Sheet | None, name: str, keys: tuple[str, ...], new: Any) -> Sheet:
    """A CSV file with one row or cell changed.

    Parameters
    ----------
    sheet : Sheet or None
        The file taken apart; None where there is none yet.
    name : str
        "costs", "quotes" or "tasks".
    keys : tuple of str
        Row, or row and column.
    new : object
        The cell's value, a mapping of them for a row, or None to take it out.

    Returns
    -------
    Sheet
        The changed file.

    Raises
    ------
    InputError
        There is no such row, or the change is none of these.
    """
    sheet = sheet or _empty(name)
    row = sheet.by_id.get(keys[0])
    if len(keys) == 2:
        if row is None:
            raise InputError(
                f"{name}.{keys[0]}",
                allowed=f"a row of {name}.csv: {', '.join(list(sheet.by_id)[:12])}",
                mend="add the row first",
            )
        cells = {**row, keys[1]: _cell_text(sheet, keys[1], new)}
    elif new is None:
        return _without(sheet, keys[0])
    elif isinstance(new, Mapping):
        cells = {**(row or {}), **{str(c): _cell_text(sheet, str(c), v) for c, v in new.items()}}
        if row is not None:
            cells.update({column: "" for column in row if column not in new})
        if name != "quotes":
            cells.setdefault("id", keys[0])
    else:
        raise InputError(f"{name}.{keys[0]}", given=repr(new), allowed="a table of columns")
    sheet = _with_columns(sheet, [column for column in cells if column not in sheet.header])
    values = tuple(cells.get(column, "") for column in sheet.header)
    place = _place(sheet, keys[0])
    records = list(sheet.records)
    text = _line(values, sheet)
    if place is not None:
        text = _kept(records[place], values, sheet) or text
    record = Record(line=0, cells=values, text=text)
    if place is None:
        while records and not any(records[-1].cells):
            records.pop()
        records.append(record)
    else:
        records[place] = record
    return _renewed(sheet, records)


def _line(cells: Sequence[str], sheet: Sheet) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=sheet.delimiter, lineterminator="").writerow(cells)
    return out.getvalue()


def _kept(old: Record, values: Sequence[str], sheet: Sheet) -> str:
    """The text of a row with only its changed cells written anew; "" where it is not clear."""
    mark = re.escape(sheet.delimiter)
    ends = re.split(rf'{mark}(?=(?:[^"]*"[^"]*")*[^"]*$)', old.text)
    if len(ends) != len(old.cells):
        return ""
    ends += [""] * (len(values) - len(ends))
    was = [*old.cells, *("",) * (len(values) - len(old.cells))]
    return sheet.delimiter.join(
        end if one == two else _line([two], sheet) for end, one, two in zip(ends, was, values)
    )


def _place(sheet: Sheet, key: str) -> int | None:
    number = 0
    for place, record in enumerate(sheet.records):
        if not any(record.cells):
            continue
        number += 1
        row = dict(zip(sheet.header, record.cells, strict=False))
        if (str(number) if sheet.name == "quotes" else row.get("id", "")) == key:
            return place
    return None


def _without(sheet: Sheet, key: str) -> Sheet:
    place = _place(sheet, key)
    return _renewed(sheet, [r for n, r in enumerate(sheet.records) if n != place])


def _with_columns(sheet: Sheet, columns: list[str]) -> Sheet:
    if not columns:
        return sheet
    header = (*sheet.header, *columns)
    blank = sheet.delimiter * len(columns)
    head = _line(header, sheet) if not sheet.head_text else sheet.head_text
    head += sheet.delimiter + _line(columns, sheet) if sheet.head_text else ""
    return dataclasses.replace(
        sheet,
        header=header,
        head_text=head,
        records=tuple(
            dataclasses.replace(
                record,
                cells=(*record.cells, *("",) * (len(header) - len(record.cells))),
                text=record.text + sheet.delimiter * (len(sheet.header) - len(record.cells)) + blank
                if any(record.cells)
                else record.text,
            )
            for record in sheet.records
        ),
    )


def _renewed(sheet: Sheet, records: list[Record]) -> Sheet:
    """The sheet with other records, their lines counted again."""
    line = 2 + sheet.head_text.count("\n")
    counted = []
    for record in records:
        same = record.line == line  # then its row need not be read again
        counted.append(record if same else dataclasses.replace(record, line=line))
        line += 1 + record.text.count("\n")
    return dataclasses.replace(
        sheet, records=tuple(counted), by_id=by_id(sheet.name, sheet.header, counted)
    )


def to_bytes(sheet: Sheet) -> bytes:
    """The file as it is stored, in its own encoding.

    Parameters
    ----------
    sheet : Sheet
        The file taken apart.

    Returns
    -------
    bytes
        Rows that did not change are as they were.
    """
    lines = [sheet.head_text, *(record.text for record in sheet.records)]
    text = sheet.newline.join(lines) + (sheet.newline if sheet.last_newline else "")
    return text.encode(sheet.encoding)


def _cells(name: str, row: Any) -> dict[str, Any]:
    """A row of `model` as plain cells, without those at their default."""
    cells: dict[str, Any] = {}
    for column in columns_of(name):
        value = getattr(row, column)
        default = TABLES[name].__dataclass_fields__[column].default
        if value is None or (default is not dataclasses.MISSING and value == default):
            continue
        cells[column] = " ".join(value) if isinstance(value, tuple) else value
    return {**cells, **row.more}


def changes(name: str, old: Sequence[Any], new: Sequence[Any]) -> Iterator[Edit]:
    """The changes that make the rows of one table those of another.

    Parameters
    ----------
    name : str
        "costs", "quotes" or "tasks".
    old, new : sequence
        Rows of `model`.

    Yields
    ------
    Edit
        One for each cell that differs, or for a whole row.
    """

    def keyed(rows: Sequence[Any]) -> dict[str, dict[str, Any]]:
        if name == "quotes":
            return {str(number): _cells(name, row) for number, row in enumerate(rows, start=1)}
        return {row.id: _cells(name, row) for row in rows}

    before, after = keyed(old), keyed(new)
    for key, cells in before.items():
        if key not in after:
            continue
        now = after[key]
        for column in [*cells, *(column for column in now if column not in cells)]:
            if cells.get(column) != now.get(column):
                path = f"{name}.{key}.{column}"
                yield Edit(path=path, old=cells.get(column), new=now.get(column))
    # from the end, so that the numbers of the rows before stay right
    for key in [key for key in reversed(before) if key not in after]:
        yield Edit(path=f"{name}.{key}", old=before[key], new=None)
    for key in [key for key in after if key not in before]:
        yield Edit(path=f"{name}.{key}", old=None, new=after[key])
