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

from designkit.costs.money import currency, gross_of, net_of
from designkit.errors import InputError, LookupFailed
from designkit.model import CostLine, Edit, QuoteLine
from designkit.project.amounts import amount, symbols
from designkit.project.documents import Document, Form, keep_document, read_document
from designkit.project.import_columns import (
    ColumnGuess,
    Decimals,
    by_hand,
    decimal_of,
    guess_columns,
    header_row,
    is_number,
)
from designkit.project.import_lines import (
    ProposedLine,
    Question,
    Role,
    line_sum,
    money_questions,
    read_lines,
    total_questions,
)

__all__ = [
    "ColumnGuess",
    "Proposal",
    "ProposedLine",
    "Question",
    "Retax",
    "Role",
    "answered",
    "confirm",
    "keep_document",
    "propose_import",
]

Retax = Literal["as they are", "take tax off", "put tax on"]


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
    questions: tuple[Question, ...]  # those that are open
    document: Document

    @property
    def goods(self) -> tuple[ProposedLine, ...]:
        """The lines that would be booked."""
        return tuple(line for line in self.lines if line.role == "line")

    @property
    def unread(self) -> tuple[str, ...]:
        """What could not be read, each with its row and column; the rest is there."""
        doubts = (f"{line.place}, {line.doubt}" for line in self.goods if line.doubt)
        return (*self.document.unread, *doubts)


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
    answers = {} if decimal is None else {"decimal": decimal}
    return _proposal(read_document(source), mapping or {}, answers, currency)


def answered(
    proposal: Proposal,
    answers: Mapping[str, str],
    *,
    mapping: Mapping[int, str] | None = None,
    currency: str = "",
) -> Proposal:
    """The proposal after some of its questions were answered.

    Parameters
    ----------
    proposal : Proposal
        From `propose_import`.
    answers : mapping of str to str
        By the id of each question; what is none of its answers leaves it open.
    mapping : mapping of int to str, optional
        Columns that the reader changed: field by column number.
    currency : str, optional
        The project's currency.

    Returns
    -------
    Proposal
        With the questions that are still open, and those that an answer raised.

    Raises
    ------
    InputError, LookupFailed
        The mapping names no column or field.

    Examples
    --------
    >>> found = propose_import("item\\tprice\\nsofa\\t1,200")
    >>> [question.id for question in found.questions]
    ['decimal']
    >>> answered(found, {"decimal": "."}).sum
    Decimal('1200')
    """
    return _proposal(proposal.document, mapping or {}, answers, currency)


def _number(text: str) -> Decimal | None:
    try:
        return Decimal(text)
    except ArithmeticError:
        return None


def _proposal(
    document: Document, mapping: Mapping[int, str], answers: Mapping[str, str], currency: str
) -> Proposal:
    """Rows read by the guessed columns, by those said by hand, and by what was answered."""
    rows = document.rows
    header = header_row(rows)
    numbers = [cell for row in rows for cell in row if is_number(cell)]
    decimal, unsure = decimal_of(numbers)
    said = answers.get("decimal")
    if said in (".", ","):
        decimal = "." if said == "." else ","
    guesses = guess_columns(rows, header, decimal)
    if mapping:
        guesses = by_hand(guesses, mapping)
    columns: dict[str, int] = {guess.field: guess.index for guess in guesses if guess.field}
    lines = read_lines(document, columns, header, decimal)
    asked = _column_questions(guesses, columns, unsure if decimal is None else "")
    written, more = money_questions(lines, currency)
    asked += more
    total, more = total_questions(lines, chosen=_number(answers.get("total", "")))
    if any(question.id == "decimal" for question in asked):
        more = [q for q in more if q.id == "total"]  # the rest hangs on how numbers are read
    asked += more
    return Proposal(
        form=document.form,
        name=document.name,
        header=header,
        rows=rows,
        places=document.places,
        mapping=tuple(guesses),
        lines=tuple(lines),
        decimal=decimal,
        currency=written,
        total=total,
        sum=line_sum(lines),
        questions=tuple(q for q in asked if answers.get(q.id) not in q.answers),
        document=document,
    )


def _column_questions(
    guesses: Sequence[ColumnGuess], columns: Mapping[str, int], unsure: str
) -> list[Question]:
    """What has to be asked about the columns and their decimal sign."""
    questions: list[Question] = []
    if unsure:
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
    return questions


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
    retax: Retax = "as they are",
    tax: Decimal = Decimal(0),
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
    retax : {"as they are", "take tax off", "put tax on"}, optional
        Where the document counts tax in another way than the project's lines.
    tax : Decimal, optional
        The rate for it, as a fraction.

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
    made = answered(proposal, said, mapping=mapping, currency=currency)
    for question in made.questions:
        given = said.get(question.id)
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
        whole=whole, retax=retax, tax=tax,
    )  # fmt: skip


def _id(text: str, taken: set[str]) -> str:
    stem = re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")[:32].strip("_") or "line"
    id, number = stem, 2
    while id in taken:
        id, number = f"{stem}_{number}", number + 1
    taken.add(id)
    return id


def _safe(row: Mapping[str, str]) -> dict[str, str]:
    """A row whose words no spreadsheet runs as a formula."""
    from designkit.documents.files import neutral

    return {key: neutral(text) for key, text in row.items()}


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
    retax: Retax,
    tax: Decimal,
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
        code = _code(line, made, said, project)
        written = each
        if retax == "take tax off":
            each = net_of(each, rate=tax, code=code or project or "EUR")
        elif retax == "put tax on":
            each = gross_of(each, rate=tax, code=code or project or "EUR")
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
        if written != each:
            row["note"] += f"; {written:f} there {'with' if each < written else 'before'} tax"
        edits.append(Edit(path=f"costs.{_id(line.item, taken)}", old=None, new=_safe(row)))
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
        edits.append(Edit(path=f"quotes.{number}", old=None, new=_safe(row)))
    return tuple(edits)
