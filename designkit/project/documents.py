"""The text and cells of a price list or quote: CSV, XLSX, PDF text, pasted text."""

from __future__ import annotations

import csv
import importlib
import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from designkit.errors import FileFormatError, InputError
from designkit.plan.pdf import open_pdf
from designkit.project.tables import decode
from designkit.whole import write_beside

__all__ = ["Document", "keep_document", "read_document"]

Form = Literal["csv", "xlsx", "pdf", "text"]
LARGEST = 20_000_000  # bytes of a document
UNPACKED = 200_000_000  # bytes of a workbook once unpacked
MOST = 5000  # rows
_PAGES = 200


@dataclass(frozen=True, kw_only=True)
class Document:
    """A document as rows of cells, each with where it stands."""

    form: Form
    name: str  # of the file; "" pasted
    rows: tuple[tuple[str, ...], ...]
    places: tuple[str, ...]  # "line 4", "sheet Prices row 4", "page 1 line 4"
    path: Path | None = None
    unread: tuple[str, ...] = ()  # rows or cells that could not be read, with their places


def read_document(source: str | Path) -> Document:
    """Read a price list or quote into cells.

    Parameters
    ----------
    source : str or Path
        A path to a .csv, .xlsx, .pdf, .txt or .tsv file; or pasted text, which
        has a line end or is no file.

    Returns
    -------
    Document
        Empty rows are left out.

    Raises
    ------
    FileFormatError
        The file cannot be read as what it is: too large, cut off, encrypted, a
        scan without text, no page, no row.
    InputError
        A needed extra is not installed; the message says which.

    Examples
    --------
    >>> read_document("item\\tprice\\nsofa\\t1200").rows[1]
    ('sofa', '1200')
    """
    path = _as_path(source)
    if path is None:
        return _checked(_from_text(str(source), form="text", name=""), str(source)[:40])
    size = path.stat().st_size
    if size > LARGEST:
        raise FileFormatError(
            path.name,
            given=f"{size / 1e6:.0f} MB",
            allowed=f"at most {LARGEST / 1e6:.0f} MB",
            mend="save the pages or sheets that matter as a file of their own",
        )
    kind = path.suffix.lower()
    if kind == ".xlsx":
        found = _from_workbook(path)
    elif kind == ".pdf":
        found = _from_pdf(path)
    elif kind in (".csv", ".tsv", ".txt", ""):
        text, _ = decode(path.read_bytes(), file=path.name)
        form: Form = "text" if kind in (".txt", "") else "csv"
        found = _from_text(text, form=form, name=path.name)
    else:
        raise FileFormatError(
            path.name,
            given=f"a {kind} file",
            allowed=".csv, .xlsx, .pdf, .txt, or pasted text",
            mend="save it as one of these, or paste its lines",
        )
    return _checked(replace(found, name=path.name, path=path), path.name)


def _as_path(source: str | Path) -> Path | None:
    if isinstance(source, Path):
        if not source.is_file():
            raise FileFormatError(
                source.name, given="no such file", allowed="a file", mend="look at its path"
            )
        return source
    text = source.strip()
    if "\n" in source or len(text) > 400 or not text:
        return None
    try:
        if Path(text).is_file():
            return Path(text)
    except OSError:
        return None
    if re.fullmatch(r"[^\n\t]{1,200}\.(csv|xlsx|pdf|txt|tsv)", text, re.IGNORECASE):
        raise FileFormatError(
            text, given="no such file", allowed="a file, or pasted lines", mend="look at its path"
        )
    return None


def _checked(found: Document, what: str) -> Document:
    if not found.rows:
        raise FileFormatError(
            what or "document", given="no line", allowed="one line with an amount or more",
            mend="paste the lines of the list",
        )  # fmt: skip
    if len(found.rows) > MOST:
        raise FileFormatError(
            what, given=f"{len(found.rows)} rows", allowed=f"at most {MOST}",
            mend="keep the rows that matter",
        )  # fmt: skip
    return found


def _from_text(text: str, *, form: Form, name: str) -> Document:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    filled = [line for line in lines if line.strip()]
    mark = _delimiter(filled)
    rows: list[tuple[str, ...]] = []
    places: list[str] = []
    unread: list[str] = []
    if mark:
        try:
            reader = csv.reader(io.StringIO("\n".join(lines)), delimiter=mark, strict=True)
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    rows.append(tuple(cell.strip() for cell in cells))
                    places.append(f"line {reader.line_num}")
        except csv.Error:
            # One bad line must not take the others with it: each is read by itself.
            rows, places, unread = _line_by_line(lines, mark)
    else:
        for number, line in enumerate(lines, start=1):
            if line.strip():
                rows.append(_cells(line))
                places.append(f"line {number}")
        rows = _aligned(rows)
    return Document(
        form=form, name=name, rows=tuple(rows), places=tuple(places), unread=tuple(unread)
    )


def _line_by_line(
    lines: list[str], mark: str
) -> tuple[list[tuple[str, ...]], list[str], list[str]]:
    """Rows of a list whose quotation marks do not close, those that can be read."""
    rows: list[tuple[str, ...]] = []
    places: list[str] = []
    unread: list[str] = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            (cells,) = csv.reader([line], delimiter=mark, strict=True)
        except (csv.Error, ValueError):
            column = _outside(line[: line.rfind('"')], mark) + 1
            unread.append(
                f"line {number}, column {column}: a quotation mark that does not close, "
                f"in {line.strip()[:40]!r}"
            )
            continue
        rows.append(tuple(cell.strip() for cell in cells))
        places.append(f"line {number}")
    return rows, places, unread


def _delimiter(lines: list[str]) -> str:
    """The mark that stands equally often in most lines."""
    best, score = "", 0.0
    if not lines:
        return best
    for mark in ("\t", ";", "|", ","):
        counts = [_outside(line, mark) for line in lines]
        most, times = Counter(c for c in counts if c).most_common(1)[0] if any(counts) else (0, 0)
        share = times / len(lines)
        if mark == "," and all(map(_gapped, lines)):
            continue
        # a comma may be a decimal sign or belong to the words: it has to hold nearly everywhere
        need = 0.85 if mark == "," else 0.5
        if most and share >= need and share * most > score:
            best, score = mark, share * most
    return best


def _gapped(line: str) -> bool:
    """Whether wide gaps part a line, and its commas stand in numbers only."""
    return bool(re.search(r"\S\s{2,}\S", line)) and not re.search(r"(?<!\d),|,(?!\d)", line)


def _outside(line: str, mark: str) -> int:
    return re.sub(r'"[^"]*"', "", line).count(mark)


# a number with groups or decimals, a sign or a code of its currency before or behind it
_AMOUNT = (
    r"(?:[-−(]?\s?(?:[$€£¥]|[A-Z]{3})?\s?\d[\d.,'\u00a0\u202f]*(?:\s\d{3})*(?:[.,]\d{1,2})?\s?"
    r"(?:[$€£¥%]|[A-Z]{3}\b)?\)?)"
)


def _cells(line: str) -> tuple[str, ...]:
    """Cells of a line of words: wide gaps part them, and amounts at its end."""
    clean = line.strip()
    parts = [part.strip() for part in re.split(r"\s{2,}", clean) if part.strip()]
    if len(parts) > 1:
        return tuple(parts)
    found = re.match(rf"^(.*?\S)[\s.:…_]+({_AMOUNT})$", clean)
    if not found or not re.search(r"[^\W\d]", found[1]):
        return (clean,)
    words, amount = found[1].rstrip(" .:…_"), found[2].strip()
    many = re.match(r"^(\d+(?:[.,]\d+)?)\s*(?:x|×|pcs\.?|pieces?|pc\.?)\s+(.+)$", words)
    return (many[2], many[1], amount) if many else (words, amount)


def _aligned(rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Lines of words as columns: words at the left, amounts at the right."""
    width = max((len(row) for row in rows), default=0)
    out = []
    for row in rows:
        if 1 < len(row) < width and re.fullmatch(_AMOUNT, row[-1]):
            row = (row[0], *[""] * (width - len(row)), *row[1:])
        out.append(row)
    return out


def _from_workbook(path: Path) -> Document:
    try:
        openpyxl: Any = importlib.import_module("openpyxl")  # an extra, without stubs
    except ImportError:
        raise InputError(
            path.name,
            given="a workbook",
            allowed="with the extra xlsx installed",
            mend="install designkit with [xlsx], or save the sheet as CSV",
        ) from None
    bad = FileFormatError(
        path.name, given="no workbook that can be read", allowed="an .xlsx file",
        mend="open it and save it again, or save the sheet as CSV",
    )  # fmt: skip
    try:
        with zipfile.ZipFile(path) as packed:
            unpacked = sum(info.file_size for info in packed.infolist())
        if unpacked > UNPACKED:
            raise FileFormatError(
                path.name,
                given=f"{unpacked / 1e6:.0f} MB once unpacked",
                allowed=f"at most {UNPACKED / 1e6:.0f} MB",
                mend="save the sheet that matters as CSV",
            )
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        formulas = openpyxl.load_workbook(path, read_only=True)  # never run, only found
    except FileFormatError:
        raise  # it is a ValueError too
    except (zipfile.BadZipFile, KeyError, ValueError, OSError, EOFError):
        raise bad from None
    best: tuple[int, list[tuple[str, ...]], list[str], list[str]] = (0, [], [], [])
    try:
        for sheet, same in zip(book.worksheets, formulas.worksheets):
            rows: list[tuple[str, ...]] = []
            places: list[str] = []
            unread: list[str] = []
            both = zip(sheet.iter_rows(values_only=True), same.iter_rows(values_only=True))
            for number, (cells, written) in enumerate(both, start=1):
                place = f"sheet {sheet.title} row {number}"
                texts = tuple("" if cell is None else _cell_text(cell) for cell in cells)
                unread += [f"{place}, {told}" for told in _unread_cells(cells, written)]
                if any(texts):
                    rows.append(texts)
                    places.append(place)
                if len(rows) > MOST:
                    break
            if len(rows) > best[0]:
                best = (len(rows), rows, places, unread)
    except (KeyError, ValueError, zipfile.BadZipFile, EOFError):
        raise bad from None
    finally:
        book.close()
        formulas.close()
    return Document(
        form="xlsx",
        name=path.name,
        rows=tuple(best[1]),
        places=tuple(best[2]),
        unread=tuple(best[3]),
    )


def _unread_cells(cells: Sequence[object], written: Sequence[object]) -> Iterator[str]:
    """Cells of a row that hold a formula without its last value, or an error."""
    for column, (cell, text) in enumerate(zip(cells, written), start=1):
        if cell is None and isinstance(text, str) and text.startswith("="):
            yield f"column {_letters(column)}: a formula without its last value"
        elif isinstance(cell, str) and re.fullmatch(r"#(?:[A-Z]+/?[A-Z0]*[!?]?)", cell):
            yield f"column {_letters(column)}: the error {cell}"


def _letters(column: int) -> str:
    """A column as a spreadsheet names it: A, B … Z, AA."""
    out = ""
    while column:
        column, rest = divmod(column - 1, 26)
        out = chr(ord("A") + rest) + out
    return out


def _cell_text(cell: object) -> str:
    if isinstance(cell, float):
        return repr(round(cell, 6)) if cell != int(cell) else str(int(cell))
    return str(cell).strip()


def _from_pdf(path: Path) -> Document:
    rows: list[tuple[str, ...]] = []
    places: list[str] = []
    with open_pdf(path, instead="paste its lines") as document:
        for number in range(min(len(document), _PAGES)):
            page = document[number]
            text = page.get_textpage().get_text_range()
            for k, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
                if line.strip():
                    rows.append(_cells(line))
                    places.append(f"page {number + 1} line {k}")
    rows = _aligned(rows)
    if not rows:
        raise FileFormatError(
            path.name,
            given="pages without text: a scan",
            allowed="a PDF whose text can be marked with the mouse",
            mend="type its lines, or ask for the list as a file",
        )
    return Document(form="pdf", name=path.name, rows=tuple(rows), places=tuple(places))


def keep_document(folder: Path, source: str | Path, *, name: str = "") -> str:
    """Copy a document into the project's quotes folder.

    Parameters
    ----------
    folder : Path
        The project folder.
    source : str or Path
        A file, or pasted text.
    name : str, optional
        Name for pasted text, without ending.

    Returns
    -------
    str
        Its path in the project, as "quotes/offer.pdf". A file of that name
        with other content is left alone, and a number is added.

    Raises
    ------
    FileFormatError
        There is no such file, or the folder takes none.
    """
    path = _as_path(source)
    if path is None:
        stem = re.sub(r"[^\w -]+", "_", name or "pasted")
        target = write_beside(folder / "quotes", f"{stem}.txt", str(source).encode("utf-8"))
    else:
        target = write_beside(folder / "quotes", path.name, path.read_bytes())
    return f"quotes/{target.name}"
