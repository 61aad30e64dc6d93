"""Columns of a price list: found by plain words and by how their numbers hang together."""

from __future__ import annotations

import functools
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from designkit import reference
from designkit.errors import InputError, LookupFailed, nearest
from designkit.project.amounts import amount
from designkit.units import read_number

__all__ = [
    "ColumnGuess",
    "Decimals",
    "Field",
    "by_hand",
    "currency_of",
    "decimal_of",
    "guess_columns",
    "header_row",
    "is_number",
    "reads",
]

Field = Literal[
    "item",
    "quantity",
    "unit",
    "unit_price",
    "amount",
    "tax",
    "supplier",
    "lead_time",
    "note",
    "size",
    "reference",
    "",
]
_NUMBERS = ("quantity", "unit_price", "amount", "tax", "lead_time")
Decimals = Literal[".", ","]


@dataclass(frozen=True, kw_only=True)
class ColumnGuess:
    """What a column seems to hold."""

    index: int
    header: str  # as written; "" where there is none
    field: Field
    confidence: float  # 0 to 1
    why: str


@functools.cache
def _words() -> Mapping[str, str]:
    found: dict[str, str] = {}
    for row in reference.table("import-words"):
        for word in row["words"].split("|"):
            found.setdefault(word, row["field"])
    return found


def _plain(text: str) -> str:
    return re.sub(r"[^\w%. ×']+", " ", text.lower()).strip().rstrip(".:")


def field_of(header: str) -> tuple[Field, float, str]:
    """Field of a header by its words, how sure, and the word that said so."""
    plain = _plain(re.sub(r"\(.*?\)|[$€£¥]|\b[A-Z]{3}\b", " ", header)) or _plain(header)
    words = _words()
    for form in (plain, plain + "."):
        if form in words:
            return as_field(words[form]), 0.95, form
    inside = [w for w in words if re.search(rf"\b{re.escape(w)}(?!\w)", plain)]
    if inside:
        best = max(inside, key=len)
        return as_field(words[best]), 0.75, best
    near = nearest(plain, words) if len(plain) > 3 else ""
    return (as_field(words[near]), 0.5, near) if near else ("", 0.0, "")


def as_field(text: str) -> Field:
    return next(field for field in get_args(Field) if field == text)


# --- numbers --------------------------------------------------------------------


def reads(cell: str, decimal: Decimals | None) -> Decimal | None:
    """A cell as a number, or None; what has two readings raises.

    Parameters
    ----------
    cell : str
        As it stands in the list.
    decimal : Decimals or None
        The decimal sign, where it is known.

    Returns
    -------
    Decimal or None
        None where the cell is no number.

    Raises
    ------
    InputError
        The cell has two readings, as "1.250".
    """
    number, _sign = amount(cell.replace("%", "").strip())
    if not re.search(r"\d", number) or re.search(r"[^\W\d]", number):
        return None
    try:
        return read_number(number.replace("−", "-"), decimal=decimal, what=cell)
    except InputError as error:
        if "one reading" in error.allowed:
            raise
        return None


def is_number(cell: str) -> bool:
    """Whether a cell is a number, in one reading or in two.

    Parameters
    ----------
    cell : str
        As it stands in the list.

    Returns
    -------
    bool
        False for words and for nothing.
    """
    try:
        return reads(cell, None) is not None
    except InputError:
        return True


def decimal_of(cells: Collection[str]) -> tuple[Decimals | None, str]:
    """The decimal sign that the cells show, and a cell with two readings if none does.

    Parameters
    ----------
    cells : collection of str
        Of columns that hold numbers.

    Returns
    -------
    (Decimals or None, str)
        The sign, or None; and the first cell that has two readings, or "".
    """
    seen: set[Decimals] = set()
    unsure = ""
    for cell in cells:
        number = amount(cell)[0]
        tail = re.search(r"([.,])(\d{1,2}|\d{4,})$", number.strip())
        both = "." in number and "," in number
        if tail or both:
            last = max(number.rfind("."), number.rfind(","))
            seen.add("." if number[last] == "." else ",")
        elif re.search(r"\d[.,]\d{3}$", number.strip()):
            unsure = unsure or cell
    if len(seen) == 1:
        return next(iter(seen)), ""
    return None, unsure


def currency_of(cell: str) -> str:
    """The currency that a cell writes beside its amount.

    Parameters
    ----------
    cell : str
        As it stands in the list.

    Returns
    -------
    str
        As written; "" where there is none.
    """
    return amount(cell)[1]


# --- columns --------------------------------------------------------------------


def header_row(rows: Sequence[tuple[str, ...]]) -> int | None:
    """The row that holds the headings of a list.

    Parameters
    ----------
    rows : sequence of tuple of str
        All of the list.

    Returns
    -------
    int or None
        Its number from 0; None where the list has none.
    """
    best: tuple[float, int] | None = None
    for k, row in enumerate(rows[:30]):
        if sum(1 for cell in row if cell) < 2 or any(is_number(c) for c in row if c):
            continue
        fields = [field_of(cell) for cell in row if cell]
        score = sum(sure for field, sure, _ in fields if field)
        kinds = {field for field, _, _ in fields if field}
        if len(kinds) >= 2 and (best is None or score > best[0]):
            best = (score, k)
    if best is not None:
        return best[1]
    first, rest = rows[0], rows[1:]
    words = [cell for cell in first if cell]
    numbers = any(is_number(c) for row in rest[:3] for c in row[1:] if c)
    if len(words) > 1 and numbers and not any(is_number(c) for c in words):
        return 0  # unknown words over columns of numbers are headings all the same
    return None


def guess_columns(
    rows: Sequence[tuple[str, ...]], header: int | None, decimal: Decimals | None
) -> list[ColumnGuess]:
    """What each column of a list holds, by its heading or by its cells.

    Parameters
    ----------
    rows : sequence of tuple of str
        All of the list.
    header : int or None
        The row of the headings, if there is one.
    decimal : Decimals or None
        The decimal sign, where it is known.

    Returns
    -------
    list of ColumnGuess
        One for each column, with how sure it is and why.
    """
    width = max(len(row) for row in rows)
    body = [row for k, row in enumerate(rows) if header is None or k > header]
    columns: list[list[str]] = [
        [row[c] for row in body if c < len(row) and row[c]] for c in range(width)
    ]
    share = [
        sum(is_number(cell) for cell in cells) / len(cells) if cells else 0.0 for cells in columns
    ]
    guesses: list[ColumnGuess] = []
    for c in range(width):
        head = rows[header][c] if header is not None and c < len(rows[header]) else ""
        field, sure, word = field_of(head) if head else ("", 0.0, "")
        why = f"its heading says {word}" if field else ""
        if field in _NUMBERS and field != "tax" and columns[c] and share[c] < 0.5:
            field, sure, why = "", 0.0, f"its heading says {word}, but it holds words"
        guesses.append(ColumnGuess(index=c, header=head, field=field, confidence=sure, why=why))
    guesses = _once(guesses)
    taken: set[str] = {guess.field for guess in guesses if guess.field}

    def put(c: int, field: Field, sure: float, why: str) -> None:
        guesses[c] = ColumnGuess(
            index=c, header=guesses[c].header, field=field, confidence=sure, why=why
        )
        taken.add(field)

    free = [c for c in range(width) if not guesses[c].field and columns[c]]
    if "item" not in taken:
        texts = [c for c in free if share[c] < 0.5]
        if texts:
            longest = max(texts, key=lambda c: sum(map(len, columns[c])) / len(columns[c]))
            put(longest, "item", 0.6, "the column with the longest words")
            free.remove(longest)
    numbers = [c for c in free if share[c] >= 0.8]
    if not taken & {"unit_price", "amount"} and numbers:
        triple = _product(body, numbers, decimal)
        if triple is not None:
            (q, p, a), sure = triple
            put(q, "quantity", sure, "times the next price it gives the amount")
            put(p, "unit_price", sure, "times the quantity it gives the amount")
            put(a, "amount", sure, "quantity times price")
        elif len(numbers) == 1:
            put(numbers[0], "amount", 0.6, "the only column of numbers")
        elif len(numbers) == 2 and all(
            re.fullmatch(r"\d{1,3}", cell) for cell in columns[numbers[0]]
        ):
            put(numbers[0], "quantity", 0.5, "small whole numbers before an amount")
            put(numbers[1], "amount", 0.4, "the last column of numbers: each or in all is not said")
        else:
            put(numbers[-1], "amount", 0.35, "the last column of numbers")
    return guesses


def _once(guesses: list[ColumnGuess]) -> list[ColumnGuess]:
    """Each field once: the surest column keeps it, a second price becomes the amount."""
    best: dict[str, ColumnGuess] = {}
    for guess in guesses:
        if guess.field and (
            guess.field not in best or guess.confidence > best[guess.field].confidence
        ):
            best[guess.field] = guess
    return [
        guess
        if not guess.field or best[guess.field] is guess
        else ColumnGuess(
            index=guess.index, header=guess.header, field="", confidence=0.0,
            why=f"{best[guess.field].header} says {guess.field} already",
        )
        for guess in guesses
    ]  # fmt: skip


def _product(
    body: Sequence[tuple[str, ...]], numbers: Sequence[int], decimal: Decimals | None
) -> tuple[tuple[int, int, int], float] | None:
    """Columns where one times another is a third, in most rows."""
    best: tuple[float, tuple[int, int, int]] | None = None
    for q in numbers:
        for p in numbers:
            for a in numbers:
                if not q < p < a:
                    continue
                hits = tries = 0
                for row in body:
                    if max(q, p, a) >= len(row):
                        continue
                    try:
                        one, two, three = (reads(row[c], decimal) for c in (q, p, a))
                    except InputError:
                        continue
                    if one is None or two is None or three is None or not three:
                        continue
                    tries += 1
                    hits += abs(one * two - three) <= Decimal("0.011")
                if tries >= 2 and hits / tries >= 0.8 and (best is None or hits / tries > best[0]):
                    best = (hits / tries, (q, p, a))
    return None if best is None else (best[1], 0.9 * best[0])


def by_hand(guesses: list[ColumnGuess], mapping: Mapping[int, str]) -> list[ColumnGuess]:
    """The guesses, with the columns that a person named.

    Parameters
    ----------
    guesses : list of ColumnGuess
        One for each column.
    mapping : mapping of int to str
        Number of the column from 0 to its field; "" takes it out.

    Returns
    -------
    list of ColumnGuess
        One for each column; a field stands once.

    Raises
    ------
    InputError
        There is no such column.
    LookupFailed
        There is no such field.
    """
    out = list(guesses)
    for index, field in mapping.items():
        if not 0 <= index < len(out):
            raise InputError(
                "column", given=index, allowed=f"0 to {len(out) - 1}", mend="name one of these"
            )
        if field not in get_args(Field):
            near = nearest(field, [f for f in get_args(Field) if f])
            raise LookupFailed(
                "field of a column",
                given=field,
                allowed=", ".join(f for f in get_args(Field) if f),
                mend=f"write {near!r}" if near else "use one of these",
            )
        for k, guess in enumerate(out):
            if field and guess.field == field and k != index:
                out[k] = ColumnGuess(
                    index=k, header=guess.header, field="", confidence=1.0, why="taken by hand"
                )
        out[index] = ColumnGuess(
            index=index, header=out[index].header, field=as_field(field), confidence=1.0,
            why="said by hand",
        )  # fmt: skip
    return out
