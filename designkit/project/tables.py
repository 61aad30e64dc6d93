"""Read the CSV files of a project folder as people and spreadsheets write them."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from designkit.errors import FileFormatError, nearest
from designkit.model import CostLine, CsvFormat, Money, QuoteLine, Task
from designkit.project.amounts import amount
from designkit.project.filling import Class, fields_of, shape_of
from designkit.project.problems import Problem

__all__ = [
    "TABLES",
    "Record",
    "Sheet",
    "by_id",
    "columns_of",
    "decode",
    "parse",
]

TABLES: Mapping[str, Class] = {"costs": CostLine, "quotes": QuoteLine, "tasks": Task}

NOT_COLUMNS = ("more", "row")
_MARKS = (";", ",", "\t", "|")


@dataclass(frozen=True, kw_only=True)
class Record:
    """One line of a CSV file, with the text it was written as."""

    line: int
    cells: tuple[str, ...]
    text: str  # without its line ending


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A CSV file taken apart so that it can be put together again."""

    name: str  # "costs"
    header: tuple[str, ...]  # as columns are called here
    records: tuple[Record, ...]  # without the header
    head_text: str
    delimiter: str
    decimal: Literal[".", ","] | None
    encoding: str
    newline: str
    last_newline: bool
    by_id: Mapping[str, dict[str, str]]  # what edits speak of: id -> column -> text


def decode(data: bytes, *, file: str) -> tuple[str, str]:
    """Text of a file in UTF-8 or UTF-16, with or without a byte order mark.

    Parameters
    ----------
    data : bytes
        The file.
    file : str
        Its name, for the message.

    Returns
    -------
    tuple of str
        The text without its mark, and the encoding to write it in again.

    Raises
    ------
    FileFormatError
        It is in another encoding.

    Examples
    --------
    >>> decode("id".encode("utf-16"), file="costs.csv")
    ('id', 'utf-16')
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif data.startswith(b"\xef\xbb\xbf"):
        encoding = "utf-8-sig"
    elif b"\0" in data[:200]:
        encoding = "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
    else:
        encoding = "utf-8"
    try:
        return data.decode(encoding), encoding
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise FileFormatError(
            f"{file} line {line}",
            given=f"byte {data[error.start] if error.start < len(data) else 0:#04x}",
            allowed="text in UTF-8 or UTF-16",
            mend="save it again as CSV UTF-8" if file.endswith(".csv") else "save it as UTF-8",
        ) from None


def columns_of(name: str) -> tuple[str, ...]:
    """Columns that a table may have, in the order of its class.

    Parameters
    ----------
    name : str
        "costs", "quotes" or "tasks".

    Returns
    -------
    tuple of str
        Without the ones that designkit keeps for itself.

    Examples
    --------
    >>> columns_of("tasks")
    ('id', 'task', 'trade', 'low', 'likely', 'high', 'after', 'lead_weeks')
    """
    return tuple(f for f in fields_of(TABLES[name]) if f not in NOT_COLUMNS)


def _split(text: str, delimiter: str) -> Iterator[Record]:
    """Records of a CSV text, each with the very text it was written as."""
    lines = io.StringIO(text, newline="")
    taken: list[str] = []

    def feed() -> Iterator[str]:
        for line in lines:
            taken.append(line)
            yield line

    start = 1
    reader = csv.reader(feed(), delimiter=delimiter, strict=True)
    for cells in reader:
        yield Record(
            line=start, cells=tuple(c.strip() for c in cells), text="".join(taken).rstrip("\r\n")
        )
        start += len(taken)
        taken.clear()


def _told_delimiter(first: str, known: tuple[str, ...]) -> str:
    """The delimiter that makes most known columns of the first line."""

    def score(mark: str) -> tuple[int, int]:
        names = [_column(cell.strip('" ')) for cell in first.split(mark)]
        return sum(name in known for name in names), -_MARKS.index(mark)

    return max(_MARKS, key=score)


def _column(text: str) -> str:
    return re.sub(r"[\s-]+", "_", text.strip().lower())


def _told_decimal(cells: list[str]) -> Literal[".", ","] | None:
    """The decimal sign that the numbers of a file show, if they agree on one."""
    shown: set[Literal[".", ","]] = set()
    for cell in cells:
        points, commas = cell.count("."), cell.count(",")
        if points and commas:
            shown.add("." if cell.rindex(".") > cell.rindex(",") else ",")
        elif points > 1 or commas > 1:
            shown.add("," if points > 1 else ".")
        elif points or commas:
            before, after = re.split(r"[.,]", cell, maxsplit=1)
            if len(after.strip()) != 3 or not re.fullmatch(r"[-−+]?[1-9]\d{0,2}", before.strip()):
                shown.add("." if points else ",")
    return shown.pop() if len(shown) == 1 else None


def parse(
    data: bytes, *, name: str, layout: CsvFormat, money: Money, problems: list[Problem]
) -> Sheet | None:
    """Take a CSV file apart: encoding, delimiter, columns, rows.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        "costs", "quotes" or "tasks".
    layout : CsvFormat
        What the project says about its CSV files.
    money : Money
        What the project says about money.
    problems : list of Problem
        Gets what is wrong with the file as a whole.

    Returns
    -------
    Sheet or None
        None where its rows cannot be told apart.
    """
    file = f"{name}.csv"
    try:
        text, encoding = decode(data, file=file)
    except FileFormatError as error:
        problems.append(
            Problem(
                path=error.what,
                given=str(error.given),
                allowed=error.allowed,
                mend=error.mend,
                file=file,
            )
        )
        return None
    known = columns_of(name)
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = layout.delimiter or _told_delimiter(first, known)
    records: list[Record] = []
    try:
        records.extend(_split(text, delimiter))
    except csv.Error as error:
        line = records[-1].line + 1 if records else 1
        problems.append(
            Problem(
                path="row",
                given=str(error),
                allowed="cells in pairs of quotes, or without any",
                mend="close the quote that opens in this row",
                file=file,
                line=line,
            )
        )
        return None
    while records and not any(records[0].cells):
        records.pop(0)
    head = records.pop(0) if records else Record(line=1, cells=(), text="")
    header = tuple(_column(cell) for cell in head.cells)
    good = True
    for wanted, (_, needed) in fields_of(TABLES[name]).items():
        if needed and wanted not in header:
            near = nearest(wanted, header)
            problems.append(
                Problem(
                    path=wanted,
                    given="no such column",
                    allowed=", ".join(known),
                    mend=f"rename {near} to {wanted}" if near and near not in known else "add it",
                    file=file,
                    line=head.line,
                )
            )
            good = False
    for column in sorted({c for c in header if c and header.count(c) > 1}):
        problems.append(
            Problem(
                path=column,
                given="twice in the header",
                allowed="each column once",
                mend="rename one of them",
                file=file,
                line=head.line,
            )
        )
        good = False
    if not good:
        return None
    kinds = {c: shape_of(h).form for c, (h, _) in fields_of(TABLES[name]).items()}
    numbers = [
        amount(cell.rstrip("%"))[0]
        for record in records
        for column, cell in zip(header, record.cells, strict=False)
        if kinds.get(column) == "decimal" and cell
    ]
    return Sheet(
        name=name,
        header=header,
        records=tuple(records),
        head_text=head.text,
        delimiter=delimiter,
        decimal=layout.decimal or _told_decimal(numbers),
        encoding=encoding,
        newline="\r\n" if "\r\n" in text else "\n",
        last_newline=text.endswith("\n") or not text,
        by_id=by_id(name, header, records),
    )


def by_id(name: str, header: tuple[str, ...], records: list[Record]) -> dict[str, dict[str, str]]:
    """Rows by what an edit calls them.

    Parameters
    ----------
    name : str
        "costs", "quotes" or "tasks".
    header : tuple of str
        The columns.
    records : list of Record
        The rows.

    Returns
    -------
    dict
        By id, or by the number of the row in quotes.csv, from 1.
    """
    found: dict[str, dict[str, str]] = {}
    filled = [record for record in records if any(record.cells)]
    for number, record in enumerate(filled, start=1):
        row = dict(zip(header, record.cells, strict=False))
        found.setdefault(str(number) if name == "quotes" else row.get("id", ""), row)
    return found
