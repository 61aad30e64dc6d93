"""Rows of a price list or quote, read by a mapping; what has to be asked about them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.errors import InputError
from designkit.project.amounts import symbols
from designkit.project.documents import Document
from designkit.project.import_columns import Decimals, currency_of, is_number, reads

__all__ = [
    "ProposedLine",
    "Question",
    "Role",
    "line_sum",
    "money_questions",
    "read_lines",
    "total_questions",
]

Role = Literal["line", "heading", "subtotal", "total", "tax"]


@dataclass(frozen=True, kw_only=True)
class ProposedLine:
    """A row of the document, read by the proposed mapping."""

    number: int  # in `Proposal.rows`
    place: str
    role: Role
    item: str
    quantity: Decimal | None
    unit: str
    unit_price: Decimal | None
    amount: Decimal | None
    currency: str  # "" not written
    more: Mapping[str, str]
    doubt: str  # "" or what does not hang together


@dataclass(frozen=True, kw_only=True)
class Question:
    """What has to be answered before anything is booked."""

    id: str
    text: str
    answers: tuple[str, ...]  # the ones to choose from


# --- rows -----------------------------------------------------------------------

_ROLES: Sequence[tuple[Role, str]] = (
    ("subtotal", r"\b(?:sub-?\s?total|carried forward|sum of goods)\b"),
    ("tax", r"\b(?:vat|value added tax|sales tax|gst|tax)\b"),
    ("total", r"\b(?:grand total|total|sum|amount due|to pay|balance due)\b"),
)


def _role(row: tuple[str, ...], item: str) -> Role:
    words = item or " ".join(cell for cell in row if not is_number(cell))
    plain = words.lower().strip()
    if len(plain) > 60:
        return "line"
    for role, pattern in _ROLES:
        found = re.search(pattern, plain)
        if found and (found.start() == 0 or (role == "total" and plain.endswith(found[0]))):
            if role == "tax" and re.search(r"\btotal\b", plain):
                return "total"
            return role
        if found and role == "total" and re.match(r"(?:net|gross|invoice|quote|order)\b", plain):
            return role
    return "line"


def _cell_doubt(document: Document, header: int | None, column: int, what: str) -> str:
    """What is wrong with a cell, with the column it stands in."""
    head = ""
    if header is not None and column < len(document.rows[header]):
        head = document.rows[header][column]
    return f"column {head or column + 1}: {what}"


def read_lines(
    document: Document, mapping: Mapping[str, int], header: int | None, decimal: Decimals | None
) -> list[ProposedLine]:
    """The rows of a document under its heading, read by a mapping.

    Parameters
    ----------
    document : Document
        Its rows.
    mapping : mapping of str to int
        Number of the column of each field.
    header : int or None
        Number of the row of headings.
    decimal : Decimals or None
        The decimal sign, where it is known.

    Returns
    -------
    list of ProposedLine
        What cannot be read says so in `doubt`, with its column.
    """
    found: list[ProposedLine] = []
    width = len(document.rows[header]) if header is not None else 0
    for k, row in enumerate(document.rows):
        if header is not None and k <= header:
            continue

        def cell(field: str, row: tuple[str, ...] = row) -> str:
            c = mapping.get(field)
            return row[c] if c is not None and c < len(row) else ""

        item = cell("item")
        role = _role(row, item)
        sign = ""
        numbers: dict[str, Decimal | None] = {}
        doubt = ""
        for field in ("quantity", "unit_price", "amount"):
            text = cell(field)
            try:
                numbers[field] = reads(text, decimal) if text else None
            except InputError as error:
                numbers[field] = None
                doubt = doubt or _cell_doubt(document, header, mapping[field], str(error))
            if text and numbers[field] is None and not doubt and role == "line":
                doubt = _cell_doubt(document, header, mapping[field], f"{text!r} is no number")
            sign = sign or (currency_of(text) if field != "quantity" else "")
        quantity, each, whole = numbers["quantity"], numbers["unit_price"], numbers["amount"]
        if role != "line" and whole is None:
            # a total often stands in another column than its lines
            whole = each
            for text in reversed(row):
                if whole is None and text and is_number(text) and not text.endswith("%"):
                    try:
                        whole = reads(text, decimal)
                    except InputError as error:
                        doubt = str(error)
                    sign = sign or currency_of(text)
        if role == "line" and whole is None and each is None and not doubt:
            role = "heading"
        if role == "line" and not doubt:
            doubt = _line_doubt(row, width, item, quantity, each, whole)
        more = {
            field: cell(field)
            for field in ("tax", "supplier", "lead_time", "note", "size", "reference")
            if cell(field)
        }
        found.append(
            ProposedLine(
                number=k,
                place=document.places[k],
                role=role,
                item=item,
                quantity=quantity,
                unit=cell("unit"),
                unit_price=each,
                amount=whole,
                currency=sign,
                more=more,
                doubt=doubt,
            )
        )
    return found


def _line_doubt(
    row: tuple[str, ...],
    width: int,
    item: str,
    quantity: Decimal | None,
    each: Decimal | None,
    whole: Decimal | None,
) -> str:
    """What does not hang together in a line whose cells can be read."""
    if width and any(row[width:]):
        return (
            f"{len(row)} cells where the heading has {width}: a number or a word is cut in two, "
            "put it in quotation marks"
        )
    if not item.strip():
        return "nothing says what it is"
    if quantity is not None and each is not None and whole is not None:
        off = quantity * each - whole
        if abs(off) > Decimal("0.011") * max(Decimal(1), abs(quantity)):
            return f"{quantity:f} × {each:f} is {quantity * each:f}, not {whole:f}"
    return ""


def line_sum(lines: Sequence[ProposedLine]) -> Decimal:
    """Sum of the lines, without totals and taxes.

    Parameters
    ----------
    lines : sequence of ProposedLine
        From `read_lines`.

    Returns
    -------
    Decimal
        In whatever currency they are written.
    """
    total = Decimal(0)
    for line in lines:
        if line.role == "line":
            if line.amount is not None:
                total += line.amount
            elif line.unit_price is not None:
                total += line.unit_price * (line.quantity or 1)
    return total


def money_questions(lines: Sequence[ProposedLine], project: str) -> tuple[str, list[Question]]:
    """The currency of a document, and what has to be asked about it.

    Parameters
    ----------
    lines : sequence of ProposedLine
        From `read_lines`.
    project : str
        The project's currency, for signs that several share.

    Returns
    -------
    tuple of str and list of Question
        "" where it is not written, or not one.
    """
    signs = list(dict.fromkeys(line.currency for line in lines if line.currency))
    if not signs:
        return "", []
    codes: dict[str, tuple[str, ...]] = {sign: symbols().get(sign, ()) for sign in signs}
    sure: set[str] = set()
    for may in codes.values():
        if project in may:
            sure.add(project)
        elif len(may) == 1:
            sure.add(may[0])
    questions = []
    open_ = [s for s, may in codes.items() if len(may) > 1 and project not in may]
    if open_:
        sign = open_[0]
        questions.append(
            Question(id="currency", text=f"Which currency is {sign}?", answers=tuple(codes[sign]))
        )
    if len(signs) > 1 and (len(sure) > 1 or open_):
        counts = {s: sum(line.currency == s for line in lines) for s in signs}
        told = ", ".join(f"{s} in {n} rows" for s, n in counts.items())
        questions.append(
            Question(
                id="currencies",
                text=f"The document mixes currencies: {told}. Keep each, with a rate of the day?",
                answers=("keep each",),
            )
        )
    return (next(iter(sure)) if len(sure) == 1 and not open_ else ""), questions


def total_questions(
    lines: Sequence[ProposedLine], *, chosen: Decimal | None = None
) -> tuple[Decimal | None, list[Question]]:
    """The total of a document, and what has to be asked about it and its lines.

    Parameters
    ----------
    lines : sequence of ProposedLine
        From `read_lines`.
    chosen : Decimal, optional
        Which of several totals holds, where that was said.

    Returns
    -------
    tuple of Decimal or None, and list of Question
        None where there is no total, or more than one and none was chosen.
    """
    questions: list[Question] = []
    totals = [line for line in lines if line.role == "total" and line.amount is not None]
    different = list(dict.fromkeys(line.amount for line in totals))
    goods = line_sum(lines)
    total = different[0] if len(different) == 1 else None
    if len(different) > 1:
        told = " and ".join(
            f"{line.amount:f} ({line.place}: {line.item or 'total'})" for line in totals
        )
        total = chosen if chosen in different else None
        if total is None:
            questions.append(
                Question(
                    id="total",
                    text=f"The document has {len(different)} totals: {told}. Its lines add up to "
                    f"{goods:f}. Which total holds?",
                    answers=tuple(f"{one:f}" for one in different if one is not None),
                )
            )
    taxes = [line.amount for line in lines if line.role == "tax" and line.amount is not None]
    if total is not None and goods:
        reaches = {goods, goods + sum(taxes, Decimal(0))}
        if all(abs(total - one) > Decimal("0.05") for one in reaches):
            questions.append(
                Question(
                    id="sum",
                    text=f"The lines add up to {goods:f}, the total says {total:f}. Book the lines "
                    "as they are?",
                    answers=("book the lines",),
                )
            )
    doubtful = [line for line in lines if line.role == "line" and line.doubt]
    if doubtful:
        first = doubtful[0]
        questions.append(
            Question(
                id="doubt",
                text=f"{len(doubtful)} of the lines do not hang together; the first, "
                f"{first.place}: {first.doubt}. Leave them out?",
                answers=("leave them out",),
            )
        )
    return total, questions
