"""Quotes for one written scope, line by line, and brought to the same work.

Two quotes can be compared only when they price the same things. Each is read
against the scope: what it prices, what it leaves out, prices apart or leaves
unclear. What is missing is filled with the median of the other quotes, marked
as an estimate, and asked about.

Work that disturbs an old surface is not quoted or scheduled before a sample
has been taken and the written result is there.
"""

from __future__ import annotations

import datetime
import statistics
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.money import currency, money_text, rounded
from designkit.costs.scenarios import plain_number
from designkit.days import day_words
from designkit.errors import DesignkitError, InputError, LookupFailed, nearest
from designkit.model import Building, Finding, Home, Project, QuoteLine, Scope
from designkit.reference import value
from designkit.reference.buildings import counts_as_old

__all__ = [
    "LevelledQuote",
    "Levelling",
    "QuoteCell",
    "gate",
    "gates",
    "level",
    "quote_problems",
]

State = Literal["priced", "in another line", "left out", "missing", "apart", "unclear"]
Validity = Literal["holds", "has run out", "no date", "not asked"]
_INCLUDED = ("yes", "no", "apart", "unclear")
GATE = "sample taken + written result"


@dataclass(frozen=True, kw_only=True, eq=False)
class QuoteCell:
    """What one quote says about one line of the scope."""

    line: str  # scope line id
    text: str
    state: State
    quoted: Decimal | None  # as written, for the quote's own quantity
    levelled: Decimal | None  # for the scope's quantity; None: nobody prices it
    estimate: bool  # levelled is a median of the other quotes
    per_unit: Decimal | None  # levelled, for one unit of the line
    unit: str
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class LevelledQuote:
    """One contractor's quote against the scope."""

    contractor: str
    cells: tuple[QuoteCell, ...]
    outside: tuple[QuoteLine, ...]  # lines that the scope does not ask for
    quoted: Decimal  # what the quote comes to as written
    levelled: Decimal  # the scope's work, gaps filled
    estimated: Decimal  # the share of `levelled` that is an estimate
    complete: bool  # every line has a price, its own or an estimate
    quoted_per_unit: Decimal | None  # for one unit of the scope
    levelled_per_unit: Decimal | None
    leaves_out: tuple[str, ...]  # in words
    valid_until: str
    validity: Validity
    questions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Levelling:
    """All quotes for a scope, brought to the same work."""

    scope: str
    name: str
    unit: str
    currency: str
    quotes: tuple[LevelledQuote, ...]
    spread_quoted: float | None  # dearest over cheapest, as written
    spread_levelled: float | None
    unpriced: tuple[str, ...]  # scope lines that nobody prices
    gate: Finding | None  # blocks the quotes and the schedule
    answer: str


def gate(scope: Scope, *, id: str, home: Home) -> Finding | None:
    """The gate before work that disturbs an old surface.

    A building of unknown year counts as old. Without a sample and its written
    result the work cannot be quoted or scheduled, however small it is.

    Parameters
    ----------
    scope : Scope
        The work.
    id : str
        Its id.
    home : Home
        For the building and the project's own rules.

    Returns
    -------
    Finding or None
        None where the gate is open.

    References
    ----------
    .. [1] 40 CFR 745, subpart E, for lead paint; national rules for asbestos.
       Local codes and licensed practice decide.
    """
    rule = "costs.gate.old_before"
    if not scope.disturbs_old_surface or home.building.sampled == "yes":
        return None
    if not counts_as_old(home.building, overrides=home.rules, rule=rule):
        return None
    limit = value(rule, home.rules)
    year = home.building.year
    built = f"from {year}" if year is not None else "of unknown year, which counts as old"
    return Finding(
        what=f"{scope.name}: {GATE} before it is quoted or scheduled",
        measured=None if year is None else float(year),
        required=limit,
        unit="year",
        verdict="fails",
        severity="safety",
        rule=rule,
        why=(
            f"the work disturbs an old surface, the building is {built}, sampled: "
            f"{home.building.sampled}; old paint and ceilings may hold lead or asbestos"
        ),
        mend=(
            "leave the surface alone; have a licensed person take a sample and wait for the "
            "written result; where lead or asbestos is found, licensed removal; local codes decide"
        ),
        about=(id,),
    )


def gates(home: Home) -> tuple[Finding, ...]:
    """The closed gates of all scopes of a home.

    Parameters
    ----------
    home : Home
        The home with its scopes and building.

    Returns
    -------
    tuple of Finding
        In the order of the scopes.
    """
    found = (gate(scope, id=id, home=home) for id, scope in home.scopes.items())
    return tuple(finding for finding in found if finding is not None)


def _where(quote: QuoteLine, column: str) -> str:
    place = f"quotes.csv row {quote.row}" if quote.row else f"quote of {quote.contractor}"
    return f"{place}, {column}"


def _is_date(text: str) -> bool:
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return len(text) == 10


def quote_problems(quotes: Iterable[QuoteLine], *, home: Home) -> tuple[DesignkitError, ...]:
    """Everything that is wrong with quotes, each with row and column.

    Parameters
    ----------
    quotes : iterable of QuoteLine
        The rows of all quotes.
    home : Home
        For its scopes.

    Returns
    -------
    tuple of DesignkitError
        Not raised; empty when nothing is wrong.
    """
    found: list[DesignkitError] = []
    seen: dict[tuple[str, str, str], QuoteLine] = {}
    for quote in quotes:
        scope = home.scopes.get(quote.scope)
        if scope is None:
            near = nearest(quote.scope, home.scopes)
            found.append(
                LookupFailed(
                    _where(quote, "scope"),
                    given=quote.scope,
                    allowed=", ".join(home.scopes) or "no scope is written yet",
                    mend=f"write {near}" if near else "write the scope first",
                )
            )
        found += _quote_problems(quote, scope)
        key = (quote.scope, quote.contractor, quote.line)
        if key in seen:
            found.append(
                InputError(
                    _where(quote, "line"),
                    given=quote.line,
                    allowed="each line once in a quote",
                    mend=f"add it to {_where(seen[key], 'line')}",
                )
            )
        seen.setdefault(key, quote)
    return tuple(found)


def _quote_problems(quote: QuoteLine, scope: Scope | None) -> list[DesignkitError]:
    found: list[DesignkitError] = []

    def add(column: str, given: object, allowed: str, mend: str) -> None:
        found.append(InputError(_where(quote, column), given=given, allowed=allowed, mend=mend))

    if quote.included not in _INCLUDED:
        add("included", quote.included, ", ".join(_INCLUDED), "use one of these")
    if not quote.contractor.strip():
        add("contractor", "nothing", "a name by role, as Contractor A", "write whose quote it is")
    if quote.amount is not None:
        asked = scope is not None and (quote.line in scope.lines or quote.line == quote.scope)
        if not quote.amount.is_finite():
            add("amount", quote.amount, "a finite number", "write the sum")
        elif quote.amount < 0 and asked:
            add("amount", quote.amount, ">= 0", "write a discount as a line of its own")
    if quote.quantity is not None and not (quote.quantity.is_finite() and quote.quantity > 0):
        add("quantity", quote.quantity, "> 0", "write the quantity, or leave it empty")
    if quote.valid_until and not _is_date(quote.valid_until):
        add("valid_until", quote.valid_until, "a day, as 2026-03-01", "write year-month-day")
    return found


def _to_scope(quote: QuoteLine, quantity: Decimal | None, unit: str) -> Decimal | None:
    """A quoted amount for the scope's quantity, where both say how much."""
    if quote.amount is None:
        return None
    if quantity is None or quote.quantity is None or (quote.unit and quote.unit != unit):
        return quote.amount
    return quote.amount * quantity / quote.quantity


class _Reader:
    """One scope and the rows of its quotes."""

    def __init__(self, id: str, scope: Scope, rows: list[QuoteLine], code: str) -> None:
        self.id = id
        self.scope = scope
        self.code = code
        self.by: dict[str, list[QuoteLine]] = {}
        for row in rows:
            self.by.setdefault(row.contractor, []).append(row)

    def prices(self, line: str, *, but: str) -> list[tuple[str, Decimal]]:
        """What the other quotes ask for a line, at the scope's quantity."""
        asked = self.scope.lines[line]
        found = []
        for contractor, rows in self.by.items():
            for row in rows:
                if contractor == but or row.line != line or row.included == "no":
                    continue
                amount = _to_scope(row, asked.quantity, asked.unit)
                if amount is not None:
                    found.append((contractor, amount))
        return found

    def cell(self, contractor: str, line: str, row: QuoteLine | None, homed: bool) -> QuoteCell:
        asked = self.scope.lines[line]
        state: State
        if row is None:
            # A price for the whole scope covers what it does not name only if
            # it says so: the row has to be there.
            state = "missing"
        elif row.included == "no":
            state = "left out"
        elif row.included == "yes":
            state = "priced" if row.amount is not None else "in another line"
        else:
            state = row.included
        own = None if row is None or state == "left out" else row.amount
        estimate = False
        levelled: Decimal | None
        if own is not None and row is not None:
            levelled = _to_scope(row, asked.quantity, asked.unit)
            why = f"{contractor}: {money_text(own, code=self.code)}"
            if levelled != own and row.quantity is not None and asked.quantity is not None:
                why += (
                    f" × {plain_number(asked.quantity)} / {plain_number(row.quantity)} {asked.unit}"
                )
        elif state == "in another line" and homed:
            levelled, why = Decimal(0), "in the price of another line"
        else:
            others = self.prices(line, but=contractor)
            estimate = bool(others)
            if others:
                levelled = statistics.median(amount for _, amount in others)
                listed = ", ".join(
                    f"{name} {money_text(amount, code=self.code)}" for name, amount in others
                )
                why = f"estimate, median of {listed}" if len(others) > 1 else f"estimate: {listed}"
            else:
                levelled, why = None, "no other quote prices it"
        if levelled is not None:
            levelled = rounded(levelled, code=self.code)
        quantity = asked.quantity
        return QuoteCell(
            line=line,
            text=asked.text,
            state=state,
            quoted=own,
            levelled=levelled,
            estimate=estimate,
            per_unit=None
            if levelled is None or not quantity or state == "in another line"
            else rounded(levelled / quantity, code=self.code),
            unit=asked.unit,
            why=why,
        )

    def questions(self, cells: list[QuoteCell], rows: dict[str, QuoteLine]) -> list[str]:
        asked = []
        for cell in cells:
            name = f"“{cell.text}”"
            row = rows.get(cell.line)
            if cell.state == "missing":
                asked.append(f"The scope asks for {name}; is it in your price, and what is it?")
            elif cell.state == "left out":
                asked.append(f"You leave out {name}; what would it cost with you?")
            elif cell.state == "apart" and cell.quoted is None:
                asked.append(f"You price {name} apart; at what price?")
            elif cell.state == "unclear":
                asked.append(f"Is {name} in your price or not?")
            elif cell.state == "in another line" and cell.why != "in the price of another line":
                asked.append(f"{name} is said to be in the price; in the price of what?")
            if row is None or cell.state in ("missing", "left out"):
                continue
            line = self.scope.lines[cell.line]
            if row.unit and line.unit and row.unit != line.unit:
                asked.append(
                    f"You count {name} in {row.unit}, the scope in {line.unit}; how much is it?"
                )
            elif row.quantity and line.quantity and row.quantity != line.quantity:
                asked.append(
                    f"You count {plain_number(row.quantity)} {line.unit} of {name}, the scope "
                    f"{plain_number(line.quantity)}; which is right?"
                )
        return asked

    def quote(self, contractor: str, on: datetime.date | None) -> LevelledQuote:
        rows = {row.line: row for row in self.by[contractor]}
        whole = rows.get(self.id) if self.id not in self.scope.lines else None
        outside = tuple(
            row for row in rows.values() if row.line not in self.scope.lines and row is not whole
        )
        lump = whole.amount if whole is not None and whole.included == "yes" else None
        homed = lump is not None or any(
            rows[line].included == "yes" and rows[line].amount is not None
            for line in self.scope.lines
            if line in rows
        )
        cells = [self.cell(contractor, line, rows.get(line), homed) for line in self.scope.lines]
        quoted = sum(
            (row.amount for row in rows.values() if row.included == "yes" and row.amount),
            Decimal(0),
        )
        levelled = sum((c.levelled for c in cells if c.levelled is not None), lump or Decimal(0))
        estimated = sum((c.levelled for c in cells if c.estimate and c.levelled), Decimal(0))
        questions = self.questions(cells, rows)
        for row in outside:
            if row.included == "yes":
                questions.append(
                    f"“{row.line}” is not in the scope; does the price hold without it?"
                )
        days = sorted(row.valid_until for row in rows.values() if row.valid_until)
        until = days[0] if days else ""
        validity: Validity
        if not until:
            validity = "no date"
            questions.append("Until when does the price hold?")
        elif on is None:
            validity = "not asked"
        elif datetime.date.fromisoformat(until) < on:
            validity = "has run out"
            questions.append(f"The price held until {day_words(until)}; does it still?")
        else:
            validity = "holds"
        size = self.scope.quantity

        def per_unit(sum_: Decimal) -> Decimal | None:
            return rounded(sum_ / size, code=self.code) if size else None

        gaps = ("missing", "left out", "apart", "unclear")
        return LevelledQuote(
            contractor=contractor,
            cells=tuple(cells),
            outside=outside,
            quoted=rounded(quoted, code=self.code),
            levelled=levelled,
            estimated=estimated,
            complete=all(c.levelled is not None for c in cells),
            quoted_per_unit=per_unit(quoted),
            levelled_per_unit=per_unit(levelled),
            leaves_out=tuple(
                f"{c.text}: {'priced apart' if c.state == 'apart' else c.state}"
                for c in cells
                if c.state in gaps
            ),
            valid_until=until,
            validity=validity,
            questions=tuple(questions),
        )


def _spread(sums: list[Decimal]) -> float | None:
    return float(max(sums) / min(sums)) if len(sums) > 1 and min(sums) > 0 else None


def level(project: Project, *, scope: str, on: str = "") -> Levelling:
    """Bring the quotes for a scope to the same work.

    A row whose line is the scope's own id is a price for the whole scope; rows
    with other words than the scope's are outside it: they are in what the
    quote comes to, but not in the levelled price. An amount for another
    quantity than the scope's is brought to the scope's. A line that is left
    out, missing, unclear or apart without a price takes the median of the
    other quotes, marked as an estimate.

    Amounts are compared as they are written: whether tax is in them has to be
    the same in all.

    Parameters
    ----------
    project : Project
        The home with its scopes, and the quotes.
    scope : str
        Scope id.
    on : str
        The day on which the quotes are read, ISO 8601; "" leaves validity open.

    Returns
    -------
    Levelling
        A quote a contractor, in the order of the rows.

    Raises
    ------
    LookupFailed
        There is no such scope, or no quote for it.
    InputError
        A row of its quotes has a value that is not allowed, or the day is not
        a date.
    """
    home = project.home
    if scope not in home.scopes:
        near = nearest(scope, home.scopes)
        raise LookupFailed(
            "scope",
            given=scope,
            allowed=", ".join(home.scopes) or "no scope is written yet",
            mend=f"write {near}" if near else "use one of these",
        )
    asked = home.scopes[scope]
    code = home.money.currency
    currency(code)
    for name, size in (
        ("quantity", asked.quantity),
        *((f"lines.{id}.quantity", line.quantity) for id, line in asked.lines.items()),
    ):
        if size is not None and not (size.is_finite() and size > 0):
            raise InputError(
                f"scopes.{scope}.{name}", given=size, allowed="> 0", mend="leave it out if unknown"
            )
    if not asked.lines:
        raise InputError(
            f"scopes.{scope}.lines",
            given="nothing",
            allowed="one line or more",
            mend="write what every quote has to price",
        )
    day = None
    if on:
        if not _is_date(on):
            raise InputError("on", given=on, allowed="a day, as 2026-03-01", mend="write the day")
        day = datetime.date.fromisoformat(on)
    rows = [quote for quote in project.quotes if quote.scope == scope]
    if not rows:
        raise LookupFailed(
            "quotes",
            given=f"none for {scope}",
            allowed="one row or more in quotes.csv",
            mend="send the scope to three contractors",
        )
    found = quote_problems(rows, home=home)
    if found:
        first = found[0]
        raise type(first)(
            first.what,
            given=first.given,
            allowed=first.allowed,
            mend=first.mend + (f" ({len(found) - 1} more)" if len(found) > 1 else ""),
        )
    reader = _Reader(scope, asked, rows, code)
    quotes = tuple(reader.quote(contractor, day) for contractor in reader.by)
    quoted = _spread([quote.quoted for quote in quotes])
    whole = [quote for quote in quotes if quote.complete]
    levelled = _spread([quote.levelled for quote in whole])
    blocked = gate(asked, id=scope, home=home)
    unpriced = tuple(
        line.text
        for i, line in enumerate(asked.lines.values())
        if all(quote.cells[i].levelled is None for quote in quotes)
    )
    return Levelling(
        scope=scope,
        name=asked.name,
        unit=asked.unit,
        currency=code,
        quotes=quotes,
        spread_quoted=quoted,
        spread_levelled=levelled,
        unpriced=unpriced,
        gate=blocked,
        answer=_answer(quotes, whole, quoted, levelled, blocked, building=home.building, code=code),
    )


def _answer(
    quotes: tuple[LevelledQuote, ...],
    whole: list[LevelledQuote],
    quoted: float | None,
    levelled: float | None,
    blocked: Finding | None,
    *,
    building: Building,
    code: str,
) -> str:
    if blocked is not None:
        known = "of unknown year" if building.year is None else f"from {building.year}"
        return f"None yet: {GATE} first, the building is {known}."
    if not whole:
        return "None can be compared yet: each leaves out something that no other prices."
    best = min(whole, key=lambda quote: quote.levelled)
    cheapest = min(quotes, key=lambda quote: quote.quoted)
    words = f"{best.contractor}, at {money_text(best.levelled, code=code)} for the whole scope"
    if best.estimated:
        words += f", {money_text(best.estimated, code=code)} of it estimated"
    unclear = [f"“{cell.text}”" for cell in best.cells if cell.state == "unclear"]
    if unclear:
        # Cheap because nobody knows what is in it is not cheap yet.
        words += f"; but ask first whether {_listed(unclear)} {_are(unclear)} in that price"
        sure = [q for q in whole if not any(c.state == "unclear" for c in q.cells)]
        if sure:
            next_ = min(sure, key=lambda quote: quote.levelled)
            words += (
                f"; {next_.contractor}, with every line clear, comes to "
                f"{money_text(next_.levelled, code=code)}"
            )
    if cheapest is not best:
        words += f"; {cheapest.contractor} is the cheapest as quoted"
        count = len(cheapest.leaves_out)
        if count:
            words += f", but leaves open {count} of {len(cheapest.cells)} lines"
    words += "."
    if quoted is not None and levelled is not None:
        words += (
            f" The dearest is {quoted:.1f} times the cheapest as quoted, "
            f"{levelled:.1f} times for the same work."
        )
    return words


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _are(names: list[str]) -> str:
    return "is" if len(names) == 1 else "are"
