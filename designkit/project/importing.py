"""Price lists and quotes in whatever form they came: map, show, confirm.

`propose_import` finds the columns by plain words and by how the numbers hang
together. It books nothing: what it is not sure of stands as a question, and
`confirm` refuses while one is open.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Literal

from designkit.costs.money import currency
from designkit.errors import InputError, LookupFailed
from designkit.model import CostLine, Edit, QuoteLine
from designkit.project.amounts import amount, symbols
from designkit.project.documents import Document, Form, keep_document, read_document
from designkit.project.import_columns import (
    ColumnGuess,
    Decimals,
    by_hand,
    currency_of,
    decimal_of,
    guess_columns,
    header_row,
    is_number,
    reads,
)

__all__ = [
    "ColumnGuess",
    "Proposal",
    "ProposedLine",
    "Question",
    "confirm",
    "keep_document",
    "propose_import",
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


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposal:
    """What a document seems to say. Nothing is booked."""

    form: Form
    name: str
    header: int | None  # number of the header row
    rows: tuple[tuple[str, ...], ...]
    places: tuple[str, ...]
    mapping: tuple[ColumnGuess, ...]
    lines: tuple[ProposedLine, ...]
    decimal: Decimals | None
    currency: str  # of the document; "" not written
    total: Decimal | None  # as written in it; None: none, or more than one
    sum: Decimal  # of its lines
    questions: tuple[Question, ...]
    document: Document

    @property
    def goods(self) -> tuple[ProposedLine, ...]:
        """The lines that would be booked."""
        return tuple(line for line in self.lines if line.role == "line")


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


def _lines(
    document: Document, mapping: Mapping[str, int], header: int | None, decimal: Decimals | None
) -> list[ProposedLine]:
    found: list[ProposedLine] = []
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
                numbers[field], doubt = None, str(error)
            if text and numbers[field] is None and not doubt and role == "line":
                doubt = f"{text!r} is no number"
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
        if role == "line" and quantity is not None and each is not None and whole is not None:
            off = quantity * each - whole
            if abs(off) > Decimal("0.011") * max(Decimal(1), abs(quantity)):
                doubt = f"{quantity:f} × {each:f} is {quantity * each:f}, not {whole:f}"
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


def _line_sum(lines: Sequence[ProposedLine]) -> Decimal:
    total = Decimal(0)
    for line in lines:
        if line.role == "line":
            if line.amount is not None:
                total += line.amount
            elif line.unit_price is not None:
                total += line.unit_price * (line.quantity or 1)
    return total


# --- the proposal -------------------------------------------------------------------


def propose_import(
    source: str | Path,
    *,
    decimal: Decimals | None = None,
    mapping: Mapping[int, str] | None = None,
    currency: str = "",
) -> Proposal:
    """What a price list or quote seems to say.

    Parameters
    ----------
    source : str or Path
        A .csv, .xlsx, .pdf or .txt file, or pasted text.
    decimal : {".", ","}, optional
        The decimal sign, where it was asked.
    mapping : mapping of int to str, optional
        Columns as the reader wants them: field by column number.
    currency : str, optional
        The project's currency, for signs that several share.

    Returns
    -------
    Proposal
        Rows, mapping and questions; nothing is booked.

    Raises
    ------
    FileFormatError, InputError
        As `read_document`; or the mapping names no column or field.

    Examples
    --------
    >>> found = propose_import("item;qty;unit price;amount\\nchair;6;265,00;1590,00")
    >>> [(guess.field, guess.confidence) for guess in found.mapping][-1]
    ('amount', 0.95)
    """
    document = read_document(source)
    rows = document.rows
    header = header_row(rows)
    numbers = [cell for row in rows for cell in row if is_number(cell)]
    told, unsure = decimal_of(numbers)
    decimal = decimal or told
    guesses = guess_columns(rows, header, decimal)
    if mapping is not None:
        guesses = by_hand(guesses, mapping)
    columns: dict[str, int] = {guess.field: guess.index for guess in guesses if guess.field}
    lines = _lines(document, columns, header, decimal)
    questions: list[Question] = []
    if decimal is None and unsure:
        bare = amount(unsure)[0]
        whole = re.sub(r"[.,]", "", bare)
        questions.append(
            Question(
                id="decimal",
                text=f"{unsure!r} has two readings: {whole}, or {bare.replace(',', '.')}. "
                "Which is the decimal sign?",
                answers=(".", ","),
            )
        )
    if "item" not in columns:
        questions.append(
            Question(id="mapping", text="No column names what is bought. Which one?", answers=())
        )
    elif not {"unit_price", "amount"} & set(columns):
        questions.append(
            Question(id="mapping", text="No column holds prices or amounts. Which one?", answers=())
        )
    for guess in guesses:
        if guess.field in ("amount", "unit_price") and guess.confidence < 0.5:
            questions.append(
                Question(
                    id="each",
                    text=f"Is {guess.header or f'column {guess.index + 1}'} the price of one, or "
                    "of the whole line?",
                    answers=("of one", "of the line"),
                )
            )
    said, more = _money_questions(lines, currency)
    questions += more
    total, more = _total_questions(lines)
    questions += more
    return Proposal(
        form=document.form,
        name=document.name,
        header=header,
        rows=rows,
        places=document.places,
        mapping=tuple(guesses),
        lines=tuple(lines),
        decimal=decimal,
        currency=said,
        total=total,
        sum=_line_sum(lines),
        questions=tuple(questions),
        document=document,
    )


def _money_questions(lines: Sequence[ProposedLine], project: str) -> tuple[str, list[Question]]:
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


def _total_questions(lines: Sequence[ProposedLine]) -> tuple[Decimal | None, list[Question]]:
    questions: list[Question] = []
    totals = [line for line in lines if line.role == "total" and line.amount is not None]
    different = list(dict.fromkeys(line.amount for line in totals))
    goods = _line_sum(lines)
    if len(different) > 1:
        told = " and ".join(
            f"{line.amount:f} ({line.place}: {line.item or 'total'})" for line in totals
        )
        questions.append(
            Question(
                id="total",
                text=f"The document has {len(different)} totals: {told}. Its lines add up to "
                f"{goods:f}. Which total holds?",
                answers=tuple(f"{one:f}" for one in different if one is not None),
            )
        )
        return None, questions
    total = different[0] if different else None
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


# --- confirmed --------------------------------------------------------------------------


def confirm(
    proposal: Proposal,
    mapping: Mapping[int, str] | None = None,
    *,
    answers: Mapping[str, str] | None = None,
    numbers: Collection[int] | None = None,
    document: str = "",
    category: str = "",
    supplier: str = "",
    room: str = "",
    scope: str = "",
    contractor: str = "",
    rates: Mapping[str, tuple[Decimal, str]] | None = None,
    costs: Sequence[CostLine] = (),
    quotes: Sequence[QuoteLine] = (),
    currency: str = "",
) -> tuple[Edit, ...]:
    """The changes that book what was confirmed, as cost lines or as lines of a quote.

    Parameters
    ----------
    proposal : Proposal
        From `propose_import`.
    mapping : mapping of int to str, optional
        Columns that the reader changed: field by column number.
    answers : mapping of str to str, optional
        By the id of each question.
    numbers : collection of int, optional
        Numbers of the lines to book (`ProposedLine.number`); None: all goods.
    document : str, optional
        Where the document was kept, as `keep_document` says.
    category : str, optional
        Heading of the cost lines; needed for cost lines.
    supplier, room : str, optional
        Of the cost lines; the supplier by role.
    scope, contractor : str, optional
        Both given: the lines go to quotes.csv as this contractor's quote.
    rates : mapping, optional
        Rate and its day for each other currency: project currency for one.
    costs, quotes : sequence, optional
        Rows that the project has, so that ids stay apart.
    currency : str, optional
        The project's currency.

    Returns
    -------
    tuple of Edit
        For `project.apply` and `project.save`.

    Raises
    ------
    LookupFailed
        A column or a line that is named is not there.
    InputError
        A question is open, an answer is not one of its answers, a category or
        a rate is missing, or nothing is left to book.

    Examples
    --------
    >>> found = propose_import("item;amount\\nrug;1180,00")
    >>> confirm(found, category="rugs", supplier="Supplier 6")[0].new["likely"]
    '1180.00'
    """
    said = dict(answers or {})
    decimal = proposal.decimal
    if said.get("decimal") in (".", ","):
        decimal = "." if said["decimal"] == "." else ","
    made = proposal
    if mapping or decimal != proposal.decimal:
        hand = {g.index: g.field for g in proposal.mapping if g.field}
        hand = {k: v for k, v in hand.items() if v not in set((mapping or {}).values())}
        made = _again(proposal, {**hand, **(mapping or {})}, decimal, currency)
    for question in made.questions:
        if question.id == "decimal" and "decimal" in said:
            continue
        given = said.get(question.id)
        if given is None or (question.answers and given not in question.answers):
            raise InputError(
                f"import of {proposal.name or 'pasted text'}",
                given=f"question {question.id} {'open' if given is None else f'= {given}'}",
                allowed=", ".join(question.answers) or "another mapping",
                mend=question.text,
            )
    goods = [line for line in made.goods if not line.doubt]
    if numbers is not None:
        known = {line.number for line in made.goods}
        for number in sorted(set(numbers) - known):
            raise LookupFailed(
                "line to book",
                given=number,
                allowed=", ".join(map(str, sorted(known))) or "none",
                mend="choose among the lines that are shown",
            )
        goods = [line for line in goods if line.number in set(numbers)]
    if not goods:
        raise InputError(
            "import", given="no line", allowed="one line or more", mend="choose a line with a price"
        )
    whole = said.get("each") != "of one"
    if scope or contractor:
        return _as_quote(goods, scope, contractor, document, quotes, whole=whole)
    if not category:
        raise InputError(
            "category", given="none", allowed="a heading of the costs", mend="as furniture, rugs"
        )
    return _as_costs(
        goods, made, said, document, category, supplier, room, rates or {}, costs, currency,
        whole=whole,
    )  # fmt: skip


def _again(
    proposal: Proposal, mapping: Mapping[int, str], decimal: Decimals | None, project: str
) -> Proposal:
    """The proposal read again with another mapping."""
    guesses = by_hand(list(proposal.mapping), mapping)
    columns: dict[str, int] = {guess.field: guess.index for guess in guesses if guess.field}
    lines = _lines(proposal.document, columns, proposal.header, decimal)
    kept = [q for q in proposal.questions if q.id in ("decimal",) and decimal is None]
    if "item" not in columns or not {"unit_price", "amount"} & set(columns):
        kept.append(
            Question(
                id="mapping", text="Say which column is the item and which the price.", answers=()
            )
        )
    said, money = _money_questions(lines, project)
    total, sums = _total_questions(lines)
    return Proposal(
        form=proposal.form,
        name=proposal.name,
        header=proposal.header,
        rows=proposal.rows,
        places=proposal.places,
        mapping=tuple(guesses),
        lines=tuple(lines),
        decimal=decimal,
        currency=said,
        total=total,
        sum=_line_sum(lines),
        questions=(*kept, *money, *sums),
        document=proposal.document,
    )


def _id(text: str, taken: set[str]) -> str:
    stem = re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")[:32].strip("_") or "line"
    id, number = stem, 2
    while id in taken:
        id, number = f"{stem}_{number}", number + 1
    taken.add(id)
    return id


def _note(line: ProposedLine, document: str) -> str:
    parts = [line.more.get("note", ""), line.more.get("size", "")]
    parts.append(f"from {document}, {line.place}" if document else line.place)
    return "; ".join(part for part in parts if part)


def _code(line: ProposedLine, made: Proposal, said: Mapping[str, str], project: str) -> str:
    may = symbols().get(line.currency, ()) if line.currency else ()
    if not may:
        return ""
    if project in may:
        return ""
    code = may[0] if len(may) == 1 else said.get("currency", "")
    return "" if code == project else code


def _as_costs(
    goods: Sequence[ProposedLine],
    made: Proposal,
    said: Mapping[str, str],
    document: str,
    category: str,
    supplier: str,
    room: str,
    rates: Mapping[str, tuple[Decimal, str]],
    costs: Sequence[CostLine],
    project: str,
    *,
    whole: bool,
) -> tuple[Edit, ...]:
    taken = {line.id for line in costs}
    edits = []
    for line in goods:
        quantity = line.quantity if line.quantity is not None else Decimal(1)
        each = line.unit_price
        if each is None:
            assert line.amount is not None
            each = line.amount
            if whole and quantity not in (0, 1):
                each = line.amount / quantity
                if each != round(each, 4):  # no price of one gives this sum: keep it as a lot
                    each, quantity = line.amount, Decimal(1)
        row: dict[str, str] = {
            "item": line.item,
            "category": category,
            "quantity": f"{quantity.normalize():f}",
            "likely": f"{each:f}",
            "status": "quoted",
        }
        if room:
            row["room"] = room
        if supplier:
            row["supplier"] = supplier
        if line.unit and quantity == line.quantity:
            row["unit"] = line.unit
        weeks = re.search(r"\d+(?:\.\d+)?", line.more.get("lead_time", ""))
        if weeks:
            row["lead_time"] = weeks[0]
        code = _code(line, made, said, project)
        if code:
            _check_currency(code)
            if project and code not in rates:
                raise InputError(
                    f"rate of {code}",
                    given="none",
                    allowed=f"{project} for one {code}, and the day of the rate",
                    mend=f"{line.place} is in {code}",
                )
            row["currency"] = code
            if code in rates:
                rate, day = rates[code]
                row["rate"], row["rate_date"] = f"{rate:f}", day
        row["note"] = _note(line, document)
        edits.append(Edit(path=f"costs.{_id(line.item, taken)}", old=None, new=row))
    return tuple(edits)


def _check_currency(code: str) -> None:
    currency(code)


def _as_quote(
    goods: Sequence[ProposedLine],
    scope: str,
    contractor: str,
    document: str,
    quotes: Sequence[QuoteLine],
    *,
    whole: bool,
) -> tuple[Edit, ...]:
    if not scope or not contractor:
        raise InputError(
            "quote",
            given=f"scope {scope!r}, contractor {contractor!r}",
            allowed="both: which written scope, and by whom",
            mend="name the contractor by role, as Contractor A",
        )
    edits = []
    for number, line in enumerate(goods, start=len(quotes) + 1):
        total = line.amount
        if total is None:
            assert line.unit_price is not None
            total = line.unit_price * (line.quantity or 1)
        elif not whole:
            total = total * (line.quantity or 1)
        row: dict[str, str] = {
            "scope": scope,
            "contractor": contractor,
            "line": line.item,
            "amount": f"{total:f}",
        }
        if line.quantity is not None:
            row["quantity"] = f"{line.quantity.normalize():f}"
        if line.unit:
            row["unit"] = line.unit
        row["note"] = _note(line, document)
        edits.append(Edit(path=f"quotes.{number}", old=None, new=row))
    return tuple(edits)
