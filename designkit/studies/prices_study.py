"""The study "price list": what a quote says, what has to be asked, what is booked."""

from __future__ import annotations

import contextlib
import re
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, get_args

from designkit import project as files
from designkit.analyses.of_asked import asked
from designkit.costs.budgeting import budget
from designkit.costs.money import money_text
from designkit.errors import DesignkitError, InputError
from designkit.figures.found_amounts import amount_of, found_amounts
from designkit.figures.svg import to_svg
from designkit.model import Edit
from designkit.project.amounts import symbols
from designkit.project.import_columns import Field
from designkit.project.importing import (
    Proposal,
    Retax,
    answered,
    confirm,
    keep_document,
    propose_import,
)
from designkit.studies.desk import Desk
from designkit.studies.issuing import FILE_MOST
from designkit.studies.page import Page
from designkit.studies.study import Study
from designkit.studies.words import brief_items
from designkit.units import read_number

__all__ = ["PriceList", "price_list"]

_FIELD_WORDS = {
    "item": "what it is",
    "quantity": "how many",
    "unit": "unit",
    "unit_price": "price of one",
    "amount": "amount of the line",
    "tax": "tax",
    "supplier": "supplier",
    "lead_time": "weeks to delivery",
    "note": "note",
    "size": "size",
    "reference": "seller's number",
    "": "not used",
}
_SHOWN = 200  # lines in the table
_FIELDS = (
    "to", "category", "supplier", "room", "scope", "contractor", "taxed", "rate", "rate_day",
)  # fmt: skip
_QUESTIONS = {
    "decimal": "Decimal sign",
    "each": "The price is",
    "currency": "Currency",
    "currencies": "Several currencies",
    "total": "Which total holds",
    "sum": "Lines and total differ",
    "doubt": "Lines that cannot be read",
}


@contextlib.contextmanager
def _at_hand(source: str | tuple[str, bytes]) -> Iterator[str | Path]:
    """Pasted text as it is; a file that came in as bytes for a moment on the disk."""
    if isinstance(source, str):
        yield source
        return
    name, data = source
    with tempfile.TemporaryDirectory(prefix="designkit-") as place:
        path = Path(place) / name
        path.write_bytes(data)
        yield path


class PriceList(Study):
    """A file or pasted text; columns, questions, lines to book.

    Parameters
    ----------
    desk : Desk
        The project that the study works on.
    """

    draft = "price-list"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.values = {
            "pasted": "",
            "to": "costs",
            "category": next((c.category for c in desk.project.costs), "furniture"),
            "supplier": "",
            "room": "",
            "scope": next(iter(desk.home.scopes), ""),
            "contractor": "",
            "taxed": "with" if desk.home.money.prices_include_tax else "before",
            "rate": "",
            "rate_day": "",
        }
        self.source: str | tuple[str, bytes] | None = None  # pasted, or a file
        self.read: Proposal | None = None  # as guessed
        self.found: Proposal | None = None  # with columns and answers
        self.mapping: dict[int, str] = {}
        self.answers: dict[str, str] = {}
        self.left_out: set[int] = set()
        self.booked: tuple[Edit, ...] = ()

    # --- nothing typed is lost ------------------------------------------------------

    def typed(self) -> dict[str, Any]:
        """The document, its columns and answers, and where it is to be booked."""
        pasted = str(self.values["pasted"])
        fields = self.typed_in(*_FIELDS)
        if self.source is None and not pasted.strip() and not fields:
            return {}
        held: dict[str, Any] = {**{id: self.values[id] for id in _FIELDS}, "pasted": pasted}
        if isinstance(self.source, tuple):
            held["name"], held["file"] = self.source
        elif self.source is not None:
            held["text"] = self.source
        if self.source is not None:
            held["mapping"] = {str(k): v for k, v in self.mapping.items()}
            held["answers"] = dict(self.answers)
            held["left_out"] = sorted(self.left_out)
        return held

    def retype(self, values: Mapping[str, Any]) -> None:
        """Read the document again; text that cannot be read stands in its field."""
        self.values |= {id: str(values[id]) for id in (*_FIELDS, "pasted") if id in values}
        if self.values["to"] == "quote" and self.values["scope"] not in self.desk.home.scopes:
            self.values["to"] = "costs"
        data = values.get("file")
        source = (str(values.get("name")), data) if isinstance(data, bytes) else values.get("text")
        if source is None:
            return
        try:
            self._take(source)
            self.mapping = {int(k): str(v) for k, v in dict(values.get("mapping", {})).items()}
            self.answers = {str(k): str(v) for k, v in dict(values.get("answers", {})).items()}
            self.values |= {f"q_{id}": said for id, said in self.answers.items()}
            self.left_out = {int(n) for n in values.get("left_out", ())}
            self._again()
        except DesignkitError as problem:
            self.note = f"{self.note} {problem}.".strip()

    # --- a document comes in --------------------------------------------------------

    def _take(self, source: str | tuple[str, bytes] | None) -> None:
        """Read a document; the last one stays where the new one cannot be read."""
        read = None
        if source is not None:
            with _at_hand(source) as there:
                read = propose_import(there, currency=self.desk.home.money.currency)
        before, went_on = self.found, isinstance(source, str) and isinstance(self.source, str)
        self.source, self.read = source, read
        heads = [g.header for g in read.mapping] if read is not None else None
        if before is None or not went_on or heads != [g.header for g in before.mapping]:
            self.mapping, self.answers, self.left_out = {}, {}, set()
            self.values = {k: v for k, v in self.values.items() if not k.startswith(("col_", "q_"))}
        elif read is not None:  # a line more in the same list: what was said of it holds
            was = {line.number: line.item for line in before.goods}
            same = {line.number for line in read.goods if was.get(line.number) == line.item}
            self.left_out &= same
        self._again()

    def _again(self) -> None:
        """The proposal with the columns and the answers that were given."""
        if self.read is None:
            self.found = None
            return
        self.found = answered(
            self.read,
            self.answers,
            mapping=self.mapping,
            currency=self.desk.home.money.currency,
        )
        for guess in self.found.mapping:
            self.values[f"col_{guess.index}"] = guess.field
        self.left_out &= {line.number for line in self.found.goods}

    def other(self, action: str, message: Mapping[str, Any]) -> bool:
        """Take a file, leave a line out, book what is confirmed."""
        if action == "file":
            name = re.sub(r"[^\w .-]+", "_", Path(str(message.get("name", ""))).name).strip(". ")
            name = name or "list.txt"
            self._take((name, message.get("data", b"")))
            self.values["pasted"] = ""
            self.note = f"{name} is read. Nothing is booked yet."
        elif action == "pick":
            number = int(message["row"])
            self.left_out ^= {number}
        elif action == "book":
            self._book()
        elif action == "back":
            self._do(files.inverse(self.booked))
            self.note = f"The {len(self.booked)} lines are taken out again; the document stays."
            self.booked = ()
        else:
            return False
        return True

    def choose(self, changed: str) -> None:
        """Pasted text, another column, an answer."""
        text = self.values.get(changed)
        if changed == "pasted":
            # The line end says that it is text, whatever it looks like.
            self._take(f"{text}\n" if str(text).strip() else None)
        elif changed.startswith("col_"):
            self.mapping[int(changed[4:])] = str(text)
            if text:  # a field stands once: what had it by hand gives it up
                for index, field in list(self.mapping.items()):
                    if field == text and index != int(changed[4:]):
                        self.mapping[index] = ""
            self._again()
        elif changed.startswith("q_"):
            self.answers[changed[2:]] = str(text)
            self._again()

    # --- booked --------------------------------------------------------------------

    def _rates(self) -> dict[str, tuple[Decimal, str]]:
        text = str(self.values["rate"]).strip()
        codes = self._foreign()
        if not text or not codes:
            return {}
        rate = read_number(text, what="rate")
        if rate <= 0:
            raise InputError("rate", given=text, allowed="more than 0", mend="write as 0.92")
        day = str(self.values["rate_day"]).strip()
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", day):
            raise InputError(
                "day of the rate",
                given=day or "none",
                allowed="a date as 2026-11-02",
                mend="write year-month-day",
            )
        return {codes[0]: (rate, day)}

    def _retax(self) -> Retax:
        """How the document's prices are brought to the way in which the project counts."""
        ours = self.desk.home.money.prices_include_tax
        theirs = self.values["taxed"] == "with"
        if ours == theirs:
            return "as they are"
        return "take tax off" if theirs else "put tax on"

    def _foreign(self) -> list[str]:
        """Codes of currencies in the document that are not the project's."""
        if self.found is None:
            return []
        ours = self.desk.home.money.currency
        signs = dict.fromkeys(line.currency for line in self.found.goods if line.currency)
        codes = []
        for sign in signs:
            may = symbols().get(sign, ())
            if ours not in may:
                codes.append(may[0] if len(may) == 1 else self.answers.get("currency", ""))
        return [code for code in codes if code]

    def _chosen(self) -> list[int]:
        assert self.found is not None
        return [
            line.number
            for line in self.found.goods
            if not line.doubt and line.number not in self.left_out
        ]

    def _book(self) -> None:
        """Book the chosen lines and keep the document, at once and as one step."""
        if self.read is None or self.source is None or self.found is None:
            raise InputError(
                "document", given="none", allowed="a file or pasted text", mend="choose a file"
            )
        desk, values = self.desk, self.values
        common: dict[str, Any] = {
            "mapping": self.mapping,
            "answers": self.answers,
            "numbers": self._chosen(),
            "currency": desk.home.money.currency,
        }
        quote = values["to"] == "quote"
        if quote:
            common |= {
                "scope": values["scope"],
                "contractor": str(values["contractor"]).strip(),
                "quotes": desk.project.quotes,
            }
        else:
            common |= {
                "category": str(values["category"]).strip(),
                "supplier": str(values["supplier"]).strip(),
                "room": values["room"],
                "rates": self._rates(),
                "costs": desk.project.costs,
                "retax": self._retax(),
                "tax": desk.home.money.tax,
            }
        confirm(self.read, **common)  # whatever is wrong is said before a file is written
        with _at_hand(self.source) as there:
            document = keep_document(desk.folder, there, name=str(values["supplier"]).strip())
        edits = confirm(self.read, document=document, **common)
        kept = self._do(edits)
        self.booked = tuple(edits)
        lines = f"{len(edits)} {'line is' if len(edits) == 1 else 'lines are'}"
        where = "quotes.csv" if quote else "costs.csv"
        self._take(None)
        values = self.values
        values["pasted"] = ""
        self.settled()
        self.note = f"{lines} booked in {where}, the document is in {document}; {kept}."

    def _do(self, edits: Sequence[Edit]) -> str:
        """Change the project and keep it."""
        self.desk.do(edits)
        return self.desk.keep()

    # --- what it shows ----------------------------------------------------------------

    def controls(self) -> list[dict[str, Any]]:
        """The document, its open questions, where it goes, and its columns."""
        home = self.desk.home
        controls: list[dict[str, Any]] = [
            {
                "kind": "file",
                "id": "file",
                "label": "Price list or quote",
                "accept": ".csv,.tsv,.txt,.xlsx,.pdf",
                "hint": "CSV, XLSX, PDF or text; or paste its lines",
                "most": FILE_MOST,
            },
            {
                "kind": "text",
                "id": "pasted",
                "label": "Pasted lines",
                "rows": 5,
                "hint": "dining chair   6   265.00   1590.00",
            },
        ]
        found = self.found
        if found is None or self.read is None:
            return controls
        for question in self._questions():
            if question.answers:
                controls.append(
                    {
                        "kind": "words",
                        "id": f"q_{question.id}",
                        "label": _QUESTIONS.get(question.id, question.id),
                        "choices": [[a, self._words(question.id, a)] for a in question.answers],
                    }
                )
        to = [["costs", "cost lines"]]
        if home.scopes:
            to.append(["quote", "a contractor's quote"])
        controls.append({"kind": "words", "id": "to", "label": "Book as", "choices": to})
        if self.values["to"] == "quote":
            controls += [
                {
                    "kind": "choose",
                    "id": "scope",
                    "label": "For the scope",
                    "choices": [[k, s.name] for k, s in home.scopes.items()],
                },
                {
                    "kind": "field", "id": "contractor", "label": "Contractor, by role",
                    "hint": "Contractor D",
                },
            ]  # fmt: skip
        else:
            controls += [
                {"kind": "field", "id": "category", "label": "Heading", "hint": "furniture"},
                {
                    "kind": "field", "id": "supplier", "label": "Supplier, by role",
                    "hint": "Supplier 4",
                },
                {
                    "kind": "choose",
                    "id": "room",
                    "label": "Room",
                    "choices": [["", "no room"], *([k, r.name] for k, r in home.rooms.items())],
                },
            ]  # fmt: skip
            controls.append(
                {
                    "kind": "words",
                    "id": "taxed",
                    "label": "Its prices are",
                    "choices": [["before", "before tax"], ["with", "with tax"]],
                }
            )
            foreign = self._foreign()
            if foreign:
                ours = home.money.currency
                controls += [
                    {
                        "kind": "field", "id": "rate", "label": "Rate of the day",
                        "hint": f"{ours} for one {foreign[0]}",
                    },
                    {
                        "kind": "field", "id": "rate_day", "label": "Day of the rate",
                        "hint": "2026-11-02",
                    },
                ]  # fmt: skip
        fields = [[f, _FIELD_WORDS[f]] for f in get_args(Field)]
        controls += [
            {
                "kind": "choose",
                "id": f"col_{guess.index}",
                "label": f"Column {guess.index + 1}: {guess.header or 'no heading'}",
                "choices": fields,
            }
            for guess in found.mapping
        ]
        return controls

    def _questions(self) -> list[Any]:
        """Open questions, and those that were answered, so that an answer can be changed."""
        assert self.found is not None
        assert self.read is not None
        before = answered(
            self.read,
            {k: v for k, v in self.answers.items() if k == "decimal"},
            mapping=self.mapping,
            currency=self.desk.home.money.currency,
        )
        seen: dict[str, Any] = {}
        for question in (*self.read.questions, *before.questions, *self.found.questions):
            open_ = any(q.id == question.id for q in self.found.questions)
            if open_ or question.id in self.answers:
                seen[question.id] = question
        return list(seen.values())

    def _words(self, id: str, answer: str) -> str:
        """An answer as a person reads it."""
        if id == "decimal":
            return "point, as 1.50" if answer == "." else "comma, as 1,50"
        if id != "total" or self.found is None:
            return answer
        amount = Decimal(answer)
        names = [x.item for x in self.found.lines if x.role == "total" and x.amount == amount]
        told = money_text(amount, code=self.desk.home.money.currency)
        return f"{told}, {names[0]}" if names and names[0] else told

    def _lines_table(self, found: Proposal) -> dict[str, Any]:
        code = self.desk.home.money.currency
        goods = found.goods[:_SHOWN]
        more = len(found.goods) - len(goods)
        rows = []
        for line in goods:
            state = "to book"
            if line.doubt:
                state = "not read"
            elif line.number in self.left_out:
                state = "left out"
            each = "" if line.unit_price is None else f"{line.unit_price:,}"
            whole = "" if line.doubt else money_text(amount_of(line), code=code)
            if line.currency and code not in symbols().get(line.currency, ()):
                whole = f"{amount_of(line):,} {line.currency}"
            many = "" if line.quantity is None else f"{line.quantity.normalize():f} {line.unit}"
            rows.append([line.place, line.item, many.strip(), each, whole, state])
        return {
            "id": "lines",
            "title": "What was found",
            "note": f"and {more} more lines" if more else "choose a row to leave it out",
            "head": ["row", "what", "how many", "of one", "line", ""],
            "align": ["", "", "r", "r", "r", ""],
            "rows": rows,
            "pick": [None if line.doubt else str(line.number) for line in goods],
        }

    def _answer(self, found: Proposal) -> str:
        code = self.desk.home.money.currency
        chosen = self._chosen()
        total = sum((amount_of(line) for line in found.goods if line.number in chosen), Decimal(0))
        lines = f"{len(chosen)} {'line' if len(chosen) == 1 else 'lines'}"
        words = f"{lines}, {money_text(total, code=code)} as written."
        if found.total is not None:
            words += f" Its total says {money_text(found.total, code=code)}."
        open_ = len(found.questions)
        if open_:
            words += f" {open_} {'question is' if open_ == 1 else 'questions are'} open."
        return f"{words} Nothing is booked until you say so."

    def draw(self, *, cards: bool = False) -> dict[str, Any]:
        """Everything that the page shows now."""
        home = self.desk.home
        found = self.found
        rows: list[dict[str, Any]] = []
        tables: list[dict[str, Any]] = []
        working: list[list[str]] = []
        answer = "Choose a file, or paste the lines of a list."
        chosen: list[int] | None = None
        if found is not None:
            chosen = self._chosen()
            answer = self._answer(found)
            rows = [
                {"n": str(n), "state": "asked", "text": q.text, "source": "the document"}
                for n, q in enumerate(found.questions, start=1)
            ]
            rows += [
                {"n": "", "state": "not read", "text": f"{text}.", "source": "the document"}
                for text in found.unread[:30]
            ]
            tables = [self._lines_table(found)]
            working = [
                [
                    guess.header or f"column {guess.index + 1}",
                    f"{_FIELD_WORDS[guess.field]}: {guess.why or 'no word of it is known'}",
                    f"sure to {guess.confidence * 100:.0f} %",
                ]
                for guess in found.mapping
            ]
        project = self.desk.project
        money = budget(project) if project.costs else None
        cap = [line for line in asked(project, budget=money) if line.kind == "budget"]
        ready = found is not None and not found.questions and bool(chosen)
        many = len(chosen or ())
        return {
            "picture": to_svg(found_amounts(found, code=home.money.currency, chosen=chosen)),
            "controls": self.controls(),
            "values": dict(self.values),
            "said": {
                "where": home.name,
                "question": "What does the document say, and what is booked?",
                "answer": answer,
                "brief": brief_items(cap),
                "findings": {
                    "title": "What has to be said first",
                    "rows": rows,
                    "none": "Nothing has been read yet." if found is None else "Nothing is open.",
                },
                "tables": tables,
                "working": working,
                "actions": [
                    {
                        "id": "book",
                        "text": f"Book {many} {'line' if many == 1 else 'lines'}",
                        "main": ready,
                        "off": not ready,
                    },
                    *([{"id": "back", "text": "Take it back"}] if self.booked else []),
                ],
                "note": self.note,
            },
        }


def price_list(project: str | None = None) -> Page:
    """The study "price list" on a project.

    Parameters
    ----------
    project : path, optional
        A project folder; else the one that `designkit lab` opened, the one
        around the notebook, or a passing copy of the demo.

    Returns
    -------
    Page
        Shown by the notebook as the cell's value.
    """
    study = PriceList(Desk(project))
    return Page(study.show, study.act)
