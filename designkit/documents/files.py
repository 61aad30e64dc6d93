"""Tables as CSV and XLSX, out and in: the same bytes each time, and no formula.

Text that a spreadsheet would run as a formula is neutralised on the way out:
in CSV an apostrophe stands before it [1]_, in XLSX the cell is typed as text
[2]_. Numbers stay numbers. On the way in a formula is never run: its last
value is taken, and the cell is named.

References
----------
.. [1] OWASP, "CSV Injection": cells that begin with = + - @, tab, carriage
   return or line feed, and the full-width signs; from memory.
.. [2] ECMA-376, Office Open XML File Formats, part 1, 18.3.1.4 (cell) and
   18.8.45 (`quotePrefix`).
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

from designkit.errors import FileFormatError, InputError
from designkit.takeoff.tables import Cell, Table

__all__ = ["ReadSheet", "neutral", "read_xlsx", "to_csv", "to_xlsx"]

_TRIGGERS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?%?")
# What an XML 1.0 file cannot hold.
_ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_MOST_TEXT = 32_767  # characters of a cell, ECMA-376 part 1, 18.18.93 and Annex
_MOST_ROWS = 1_048_575  # below the heading
_MOST_BYTES = 64 * 1024 * 1024  # unpacked
# Files carry no day of their making, so that the same table is the same bytes.
_DAY = (1980, 1, 1, 0, 0, 0)
_STAMP = "1980-01-01T00:00:00Z"


def neutral(text: str) -> str:
    """Text as it may stand in a CSV cell: never a formula.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        With an apostrophe before it where a spreadsheet would run it. A plain
        number is left alone.

    Examples
    --------
    >>> neutral("=1+1"), neutral("-120.50"), neutral("oak")
    ("'=1+1", '-120.50', 'oak')
    """
    if _NUMBER.fullmatch(text):
        return text
    # Blanks before the sign are dropped by some programs.
    if text.startswith(_TRIGGERS) or text.lstrip(" \u00a0").startswith(_TRIGGERS):
        return "'" + text
    return text


def _checked(cell: Cell, where: str) -> Cell:
    if isinstance(cell, Decimal):
        if not cell.is_finite():
            raise InputError(where, given=cell, allowed="a finite number", mend="write the number")
    elif isinstance(cell, float) and not (-1e300 < cell < 1e300):
        raise InputError(where, given=cell, allowed="a finite number", mend="write the number")
    elif isinstance(cell, str) and len(cell) > _MOST_TEXT:
        raise InputError(
            where,
            given=f"{len(cell):,} characters",
            allowed=f"at most {_MOST_TEXT:,}",
            mend="shorten the text",
        )
    return cell


def _number(cell: int | float | Decimal, decimal: str) -> str:
    text = f"{cell:f}" if isinstance(cell, Decimal) else repr(cell)
    return text.replace(".", decimal)


def to_csv(
    table: Table, *, delimiter: Literal[",", ";", "\t"] = ",", decimal: Literal[".", ","] = "."
) -> bytes:
    """A table as CSV (RFC 4180) in UTF-8 with its mark.

    Parameters
    ----------
    table : Table
        Any table.
    delimiter : str, optional
        Between cells.
    decimal : str, optional
        The decimal sign; not the delimiter.

    Returns
    -------
    bytes
        The same for the same table.

    Raises
    ------
    InputError
        Delimiter and decimal sign are the same, or a number is not finite.
    """
    if delimiter == decimal:
        raise InputError("delimiter", given=delimiter, allowed="not the decimal sign", mend='";"')
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow([neutral(column) for column in table.columns])
    for number, row in enumerate(table.rows, start=2):
        cells = []
        for column in table.columns:
            cell = _checked(row[column], f"{table.name}, row {number}, {column}")
            if cell is None:
                cells.append("")
            elif isinstance(cell, str):
                cells.append(neutral(cell))
            else:
                cells.append(_number(cell, decimal))
        writer.writerow(cells)
    return out.getvalue().encode("utf-8-sig")


def _openpyxl() -> Any:
    try:
        import openpyxl  # type: ignore[import-untyped]
    except ImportError:
        raise InputError(
            "XLSX",
            given="openpyxl is not installed",
            allowed="with the extra xlsx",
            mend="pip install 'designkit-studies[xlsx]', or use CSV",
        ) from None
    return openpyxl


def _sheet_name(name: str) -> str:
    """A name that a sheet may have: at most 31 characters, none of []:*?/\\."""
    clean = re.sub(r"[\[\]:*?/\\\x00-\x1f]", " ", name).strip().strip("'")
    return clean[:31].strip() or "table"


def to_xlsx(*tables: Table) -> bytes:
    """Tables as the sheets of one workbook.

    Parameters
    ----------
    *tables : Table
        One sheet each, all for one audience.

    Returns
    -------
    bytes
        The same for the same tables: no day, no name of a person in it.

    Raises
    ------
    InputError
        No table, tables for several audiences, too many rows, a text too long,
        a number that is not finite, or openpyxl is not installed.
    """
    if not tables:
        raise InputError("tables", given="none", allowed="one or more", mend="give a table")
    audiences = list(dict.fromkeys(table.audience for table in tables))
    if len(audiences) > 1:
        # One workbook goes to one reader: a hidden sheet is no secret.
        raise InputError(
            "tables",
            given=" and ".join(audiences),
            allowed="tables for one audience",
            mend="make a workbook for each",
        )
    openpyxl = _openpyxl()
    book = openpyxl.Workbook()
    book.remove(book.active)
    names: set[str] = set()
    for table in tables:
        if len(table.rows) > _MOST_ROWS:
            raise InputError(
                table.name,
                given=f"{len(table.rows):,} rows",
                allowed=f"at most {_MOST_ROWS:,}",
                mend="write it as CSV",
            )
        name, number = _sheet_name(table.name), 1
        while name.casefold() in names:
            number += 1
            name = f"{_sheet_name(table.name)[:27]} {number}"
        names.add(name.casefold())
        sheet = book.create_sheet(name)
        _fill(openpyxl, sheet, table)
    raw = io.BytesIO()
    book.save(raw)
    return _same_bytes(raw.getvalue())


def _fill(openpyxl: Any, sheet: Any, table: Table) -> None:
    bold = openpyxl.styles.Font(bold=True)
    widths = [len(column) for column in table.columns]
    for place, column in enumerate(table.columns, start=1):
        _text(sheet.cell(row=1, column=place), column).font = bold
    for number, row in enumerate(table.rows, start=2):
        for place, column in enumerate(table.columns, start=1):
            cell = _checked(row[column], f"{table.name}, row {number}, {column}")
            if cell is None or cell == "":
                continue
            if isinstance(cell, str):
                _text(sheet.cell(row=number, column=place), cell)
            else:
                sheet.cell(row=number, column=place).value = cell
            widths[place - 1] = max(widths[place - 1], len(str(cell)))
    for place, width in enumerate(widths, start=1):
        letter = openpyxl.utils.get_column_letter(place)
        sheet.column_dimensions[letter].width = min(max(width + 2, 8), 60)
    sheet.freeze_panes = "A2"


def _text(cell: Any, text: str) -> Any:
    """A cell of type text, whatever it begins with."""
    cell.value = _ILLEGAL.sub("\ufffd", text)
    # openpyxl takes a leading = for a formula: the type is set, not guessed.
    cell.data_type = "s"
    if neutral(text) != text:
        cell.quotePrefix = True
    return cell


def _same_bytes(raw: bytes) -> bytes:
    """The workbook without the moment of its making."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(raw)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for entry in sorted(old.namelist()):
            data = old.read(entry)
            if entry == "docProps/core.xml":
                text = data.decode("utf-8")
                text = re.sub(
                    r"(<dcterms:(?:created|modified)[^>]*>)[^<]*", rf"\g<1>{_STAMP}", text
                )
                text = re.sub(r"(<dc:creator>)[^<]*", r"\g<1>designkit", text)
                data = text.encode("utf-8")
            elif entry == "docProps/app.xml":
                text = data.decode("utf-8")
                text = re.sub(r"(<Application>)[^<]*", r"\g<1>designkit", text)
                data = text.encode("utf-8")
            info = zipfile.ZipInfo(entry, date_time=_DAY)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 3  # the same on every machine
            new.writestr(info, data)
    return out.getvalue()


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadSheet:
    """One sheet as it was read; nothing in it has been run."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[dict[str, Cell], ...]
    problems: tuple[FileFormatError, ...]  # each with row and column; the rest is loaded

    def as_table(self) -> Table:
        """The rows as a table of the studio's, for CSV."""
        return Table(name=self.name, audience="studio", columns=self.columns, rows=self.rows)


def read_xlsx(file: str | Path | bytes, *, sheet: str = "") -> ReadSheet:
    """Read one sheet of a workbook without running anything in it.

    Parameters
    ----------
    file : str, Path or bytes
        The workbook.
    sheet : str, optional
        Its sheet; "": the first.

    Returns
    -------
    ReadSheet
        The first row names the columns. A formula gives the value it last had,
        or its own text where it has none, and is named under `problems`; so is
        an error value. Empty rows are left out.

    Raises
    ------
    FileFormatError
        It is no workbook, is too large unpacked, or has no heading row.
    InputError
        There is no such sheet, or openpyxl is not installed.
    """
    openpyxl = _openpyxl()
    name = "the workbook" if isinstance(file, bytes) else Path(file).name
    data = file if isinstance(file, bytes) else Path(file).read_bytes()
    bad = FileFormatError(
        name, given="a file that is no workbook", allowed="XLSX", mend="save it so"
    )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            size = sum(entry.file_size for entry in packed.infolist())
    except zipfile.BadZipFile:
        raise bad from None
    if size > _MOST_BYTES:
        raise FileFormatError(
            name,
            given=f"{size // 1024**2} MB unpacked",
            allowed=f"at most {_MOST_BYTES // 1024**2} MB",
            mend="save the sheet alone",
        )
    try:
        written = openpyxl.load_workbook(io.BytesIO(data), keep_links=False)
        valued = openpyxl.load_workbook(io.BytesIO(data), keep_links=False, data_only=True)
    except (KeyError, ValueError, TypeError, AttributeError, SyntaxError) as problem:
        # openpyxl raises these on a broken part of a workbook.
        raise bad from problem
    names = written.sheetnames
    if sheet and sheet not in names:
        raise InputError("sheet", given=sheet, allowed=", ".join(names), mend="use one of these")
    chosen = sheet or (names[0] if names else "")
    if not chosen:
        raise bad
    return _read(name, chosen, written[chosen], valued[chosen])


def _read(name: str, chosen: str, written: Any, valued: Any) -> ReadSheet:
    problems: list[FileFormatError] = []
    columns: list[str] = []
    for place, cell in enumerate(next(written.iter_rows(min_row=1, max_row=1), ()), start=1):
        text = "" if cell.value is None else str(cell.value).strip()
        if text in columns:
            problems.append(
                FileFormatError(
                    f"{name}, row 1, column {place}",
                    given=text,
                    allowed="each heading once",
                    mend=f"rename it; it is read as {text} ({place})",
                )
            )
            text = f"{text} ({place})"
        columns.append(text or f"column {place}")
    if not columns or all(c.startswith("column ") for c in columns):
        raise FileFormatError(
            f"{name}, row 1", given="no heading", allowed="the names of the columns", mend="add it"
        )
    rows: list[dict[str, Cell]] = []
    for number, (mine, theirs) in enumerate(
        zip(written.iter_rows(min_row=2), valued.iter_rows(min_row=2), strict=True), start=2
    ):
        row: dict[str, Cell] = {}
        for column, cell, value in zip(columns, mine, theirs, strict=True):
            where = f"{name}, row {number}, {column}"
            row[column] = _cell(cell, value, where, problems)
        if any(x not in (None, "") for x in row.values()):
            rows.append(row)
    return ReadSheet(
        name=chosen, columns=tuple(columns), rows=tuple(rows), problems=tuple(problems)
    )


def _cell(cell: Any, value: Any, where: str, problems: list[FileFormatError]) -> Cell:
    found = cell.value
    if cell.data_type == "f":
        # An array formula holds its text in an object.
        formula = str(getattr(found, "text", found))
        last = value.value
        problems.append(
            FileFormatError(
                where,
                given=f"a formula, {formula[:60]}",
                allowed="text or a number",
                mend="paste its value"
                + (f"; {last} is taken, which it last had" if last is not None else ""),
            )
        )
        found = formula if last is None else last
    elif cell.data_type == "e":
        problems.append(
            FileFormatError(where, given=found, allowed="text or a number", mend="write the value")
        )
    if found is None or isinstance(found, str):
        return found
    if isinstance(found, bool):
        return "yes" if found else "no"
    if isinstance(found, int):
        return found
    if isinstance(found, float):
        # The shortest text that is this number: 0.1, not 0.1000000000000000055.
        return Decimal(repr(found))
    if isinstance(found, datetime.datetime):
        midnight = found.time() == datetime.time()
        return found.date().isoformat() if midnight else found.isoformat(sep=" ")
    if isinstance(found, datetime.date | datetime.time):
        return found.isoformat()
    return str(found)
