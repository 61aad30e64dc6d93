"""The budget: scenarios side by side, under the cap or not, and how sure.

One result holds everything that the sheets and the page show.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from designkit.costs.chance import Item, Outcome, chance_words, simulate
from designkit.costs.drivers import Driver, list_drivers
from designkit.costs.lines import (
    PricedLine,
    line_problems,
    price_checked,
    problems,
    raise_first,
)
from designkit.costs.money import currency, money_text
from designkit.costs.quotes import gates
from designkit.costs.ranges import Range, Shape, variance
from designkit.costs.scenarios import Resolved, resolve
from designkit.costs.tables import (
    BudgetRow,
    Cells,
    Terms,
    drawn_sum,
    headings_of,
    lay_rows,
    misleads,
    sum_cells,
    whole_sum,
)
from designkit.errors import InputError
from designkit.model import Finding, Home, Project
from designkit.reference import value
from designkit.units import NBSP

__all__ = ["Budget", "BudgetColumn", "RangeBar", "budget"]

_MOST_COLUMNS = 400


@dataclass(frozen=True, kw_only=True, eq=False)
class BudgetColumn:
    """One scenario."""

    id: str
    name: str
    note: str
    rows: tuple[BudgetRow, ...]  # what the cap is held against
    apart: tuple[BudgetRow, ...]  # tax or fee, where the cap does not hold them
    now: Decimal  # this year, the sum of the rows
    later: Decimal  # next year
    exact: Decimal  # both years at the minor unit, before the rows were rounded
    cap_now: Decimal | None  # cap less this year; negative is over
    cap_all: Decimal | None  # cap less both years
    words: str  # the distance from the cap
    changes: tuple[str, ...]  # in words
    lines: tuple[PricedLine, ...]
    outcome: Outcome  # both years
    outcome_now: Outcome  # this year; the same where nothing is paid next year
    chance: float | None  # that this year stays under the cap
    chance_words: str

    @property
    def total(self) -> Decimal:
        """Both years, as the cap counts."""
        return self.now + self.later

    @property
    def to_pay(self) -> Decimal:
        """Both years with tax and fee, whatever the cap counts."""
        return self.total + sum((row.total for row in self.apart), Decimal(0))


@dataclass(frozen=True, kw_only=True, eq=False)
class RangeBar:
    """How far a total can move: the 10th to the 80th of 100 outcomes."""

    scenario: str
    name: str
    years: Literal["this year", "both years"]
    low: float
    middle: float
    high: float
    priced: Decimal


@dataclass(frozen=True, kw_only=True, eq=False)
class Budget:
    """Scenarios side by side with their chances."""

    currency: str
    cap: Decimal | None
    with_tax: bool  # whether rows and cap hold tax
    with_fee: bool  # whether rows and cap hold the studio's fee
    step: Decimal  # what the rows are rounded to
    categories: tuple[str, ...]  # names of the rows, the same in every column
    columns: tuple[BudgetColumn, ...]
    scenario: str  # whose drivers these are
    bars: tuple[RangeBar, ...]
    drivers: tuple[Driver, ...]
    draws: int
    seed: int
    together: float
    shape: Shape
    contingency_spent: float
    gates: tuple[Finding, ...]
    answer: str
    chance_answer: str
    basis: str  # what the estimate rests on

    def column(self, scenario: str) -> BudgetColumn:
        """The column of a scenario.

        Parameters
        ----------
        scenario : str
            Its id; "" for the project as it stands.

        Returns
        -------
        BudgetColumn
            Rows and totals of that scenario.

        Raises
        ------
        InputError
            The budget was made without this scenario.
        """
        for column in self.columns:
            if column.id == scenario:
                return column
        raise InputError(
            "scenario",
            given=scenario,
            allowed=", ".join(repr(column.id) for column in self.columns),
            mend="ask for it in `scenarios`",
        )

    def records(self) -> list[dict[str, object]]:
        """The rows of all columns as plain records."""
        return [
            {
                "scenario": column.name,
                "row": row.name,
                "kind": row.kind,
                "under the cap": under,
                "this year": row.now,
                "next year": row.later,
                "changed": row.changed,
                "words": "; ".join(row.words),
            }
            for column in self.columns
            for under, rows in ((True, column.rows), (False, column.apart))
            for row in rows
        ]


def _items(
    lines: Sequence[PricedLine], cells: Cells, terms: Terms, years: Sequence[int]
) -> tuple[list[Item], float]:
    """The uncertain sums, and what is added to them without doubt."""
    items = []
    for x in lines:
        if min(x.year, 2) not in years or x.high <= x.low:
            continue
        factor = terms.factor(x)
        if factor > 0:
            over = Range(low=float(x.low), likely=float(x.likely), high=float(x.high))
            items.append(Item(slot=x.slot, over=over, factor=factor))
    # So that all at their likely price is exactly the priced sum, with the
    # rounding of lines, tax and fee.
    fixed = drawn_sum(cells, terms, years)
    return items, fixed - math.fsum(item.factor * item.over.likely for item in items)


def _default_scenarios(home: Home) -> list[str]:
    # A scenario that changes nothing is the drawing under its own name.
    same = [
        id for id, scenario in home.scenarios.items() if not scenario.changes and not scenario.start
    ]
    first = same[:1] or [""]
    return first + [id for id in home.scenarios if id not in first]


def _mark_changes(columns: list[BudgetColumn], resolved: Sequence[Resolved]) -> list[BudgetColumn]:
    marked = []
    first = columns[0]
    for column, named in zip(columns, resolved, strict=True):
        by_category: dict[str, list[str]] = {}
        # What the first column changes too is no difference between the two.
        same = {(c.slot, c.words) for c in resolved[0].changes} if column is not first else set()
        changes = [c for c in named.changes if (c.slot, c.words) not in same]
        for changed in changes:
            for category in changed.categories:
                by_category.setdefault(category, []).extend(changed.words)

        def mark(
            row: BudgetRow, base: BudgetRow, said: Mapping[str, list[str]] = by_category
        ) -> BudgetRow:
            words = tuple(dict.fromkeys(said.get(row.name, ()))) if row.kind == "category" else ()
            differs = row.now != base.now or row.later != base.later
            return replace(row, changed=differs or bool(words), words=words)

        if column is first:
            marked.append(column)
            continue
        rows = tuple(mark(row, base) for row, base in zip(column.rows, first.rows, strict=True))
        apart = tuple(mark(row, base) for row, base in zip(column.apart, first.apart, strict=True))
        words = tuple(dict.fromkeys(w for c in changes for w in c.words))
        marked.append(replace(column, rows=rows, apart=apart, changes=words))
    return marked


def _distance(distance: Decimal, code: str) -> str:
    if distance == 0:
        return "exactly the cap"
    side = "under" if distance > 0 else "over"
    return f"{money_text(abs(distance), code=code)} {side} the cap"


def _answers(columns: Sequence[BudgetColumn], code: str, cap: Decimal | None) -> tuple[str, str]:
    first = columns[0]
    said, sure = [], []
    for column in columns:
        if cap is None or column.cap_now is None:
            said.append(f"{column.name} comes to {money_text(column.total, code=code)}.")
            continue
        changes = len(column.changes)
        what = f", with {changes} change{'s' if changes > 1 else ''}" if changes else ""
        if column.later:
            verb = "stays under this year" if column.cap_now >= 0 else "is over this year already"
            more = column.total - first.total
            if column is not first and more:
                amount = money_text(abs(more), code=code)
                what = f", and costs {amount} {'more' if more > 0 else 'less'} in the end"
            said.append(f"{column.name} {verb}{what}.")
        elif column.cap_now >= 0:
            said.append(f"{column.name} stays under{what}.")
        else:
            said.append(f"{column.name} is {_distance(column.cap_now, code)}.")
        year = " this year" if column.later else ""
        sure.append(f"{column.name}: {column.chance_words} outcomes stay under{year}.")
    return " ".join(said), " ".join(sure)


def budget(
    project: Project,
    *,
    scenario: str | None = None,
    scenarios: Sequence[str] | None = None,
    together: float | None = None,
    contingency_spent: float | None = None,
    draws: int | None = None,
    seed: int = 7,
    shape: Shape = "triangular",
    step: Decimal | None = None,
    most_drivers: int = 6,
    progress: Callable[[float], None] | None = None,
) -> Budget:
    """Scenarios side by side by category and total, the cap, the chances.

    Rows and cap hold tax and the studio's fee as the brief says; what the cap
    does not hold stands apart. The fee is a rate on goods and works before tax
    and contingency. The contingency is a rate by kind of work on what is not
    paid yet. In the draws it counts as spent in the share given, in proportion
    to the lines.

    Parameters
    ----------
    project : Project
        The home with its cost lines.
    scenario : str, optional
        Whose drivers are wanted; by default the first column's.
    scenarios : sequence of str, optional
        The columns, "" for the lines as drawn. By default the lines as drawn
        (or the scenario that changes nothing) and then all scenarios.
    together : float, optional
        Rank correlation between any two prices; by default
        `costs.chance.together`.
    contingency_spent : float, optional
        Share of the contingency that the draws count as spent; by default
        `costs.chance.contingency_spent`.
    draws : int, optional
        Number of draws; by default `costs.chance.draws`.
    seed : int
        Seed of the draws.
    shape : str
        "triangular" or "beta".
    step : Decimal, optional
        What the rows are rounded to. By default whole units of the currency,
        or its minor unit where whole units would put a total on the wrong side
        of the cap. [currency]
    most_drivers : int
        How many drivers are listed.
    progress : callable, optional
        Told the share of the draws that is done, 0 to 1.

    Returns
    -------
    Budget
        Everything that the sheets show.

    Raises
    ------
    InputError
        There are no lines, a line or a scenario has what is not allowed, or an
        argument is outside its range.
    LookupFailed
        A line, a scenario or a currency that is named is not there.
    """
    home, every = project.home, project.costs
    if not every:
        raise InputError(
            "costs.csv", given="no line", allowed="one line or more", mend="write the first line"
        )
    raise_first(problems(every, money=home.money))
    code = home.money.currency
    unit = currency(code).unit
    if most_drivers < 0:
        raise InputError("most_drivers", given=most_drivers, allowed=">= 0", mend="6 is usual")
    spent = (
        value("costs.chance.contingency_spent", home.rules)
        if contingency_spent is None
        else contingency_spent
    )
    if not 0 <= spent <= 1:
        raise InputError("contingency_spent", given=spent, allowed="0 to 1", mend="1: all of it")
    if together is None:
        together = value("costs.chance.together", home.rules)
    if draws is None:
        draws = int(value("costs.chance.draws", home.rules))
    brief = home.brief
    cap = brief.budget
    if cap is not None and (not cap.is_finite() or cap <= 0):
        raise InputError("brief.budget", given=cap, allowed="> 0", mend="leave it out if unknown")
    terms = Terms(
        money=home.money,
        with_tax=brief.budget_includes_tax,
        with_fee=brief.budget_includes_fee,
        spent=spent,
    )
    old = tuple(id for id, piece in home.pieces.items() if piece.old)
    ids = list(dict.fromkeys(_default_scenarios(home) if scenarios is None else scenarios))
    if not ids:
        raise InputError("scenarios", given="none", allowed="one or more", mend='"" as drawn')
    if scenario is None:
        scenario = ids[0]
    if scenario not in ids:
        ids.append(scenario)

    named = [resolve(every, scenario=id, scenarios=home.scenarios, code=code) for id in ids]
    written = {line.id: line for line in every}
    for one in named:
        # Only what a scenario changed has not been looked at yet.
        changed = (x.line for x in one.counted if x.line is not written[x.line.id])
        raise_first(line_problems(changed, money=home.money))
    priced = [
        price_checked(one.counted, money=home.money, old=old, overrides=home.rules) for one in named
    ]
    sheets = [sum_cells(lines, terms) for lines in priced]
    headings = headings_of(every, priced, sheets)

    if step is None:
        step = max(Decimal(1), unit)
        if cap is not None and misleads(sheets, headings, terms, step, cap):
            step = unit

    items = [
        _items(lines, cells, terms, (1, 2)) for lines, cells in zip(priced, sheets, strict=True)
    ]
    slots = _slots(items, shape)
    columns = []
    for id, one, lines, cells, (open_, fixed) in zip(
        ids, named, priced, sheets, items, strict=True
    ):
        under, apart = lay_rows(cells, headings, terms, step)
        now = sum((row.now for row in under), Decimal(0))
        later = sum((row.later for row in under), Decimal(0))
        outcome = simulate(
            open_,
            fixed=fixed,
            draws=draws,
            seed=seed,
            together=together,
            shape=shape,
            slots=slots,
            progress=progress,
        )
        outcome_now = outcome
        if any(x.year > 1 for x in lines):
            open_now, fixed_now = _items(lines, cells, terms, (1,))
            outcome_now = simulate(
                open_now,
                fixed=fixed_now,
                draws=draws,
                seed=seed,
                together=together,
                shape=shape,
                slots=slots,
            )
        if later:
            words = f"this year, then {money_text(later, code=code)} next"
        else:
            words = "" if cap is None else _distance(cap - now, code)
        columns.append(
            BudgetColumn(
                id=id,
                name=one.name,
                note=one.note,
                rows=tuple(under),
                apart=tuple(apart),
                now=now,
                later=later,
                exact=whole_sum(cells, terms, 1) + whole_sum(cells, terms, 2),
                cap_now=None if cap is None else cap - now,
                cap_all=None if cap is None else cap - now - later,
                words=words,
                changes=tuple(dict.fromkeys(w for c in one.changes for w in c.words)),
                lines=lines,
                outcome=outcome,
                outcome_now=outcome_now,
                chance=None if cap is None else outcome_now.chance(float(cap)),
                chance_words="" if cap is None else chance_words(outcome_now, limit=float(cap)),
            )
        )
    columns = _mark_changes(columns, named)
    at = ids.index(scenario)
    answer, chance_answer = _answers(columns, code, cap)
    return Budget(
        currency=code,
        cap=cap,
        with_tax=terms.with_tax,
        with_fee=terms.with_fee,
        step=step,
        categories=tuple(row.name for row in columns[0].rows),
        columns=tuple(columns),
        scenario=scenario,
        bars=_bars(columns),
        drivers=list_drivers(
            priced[at],
            every=every,
            home=home,
            old=old,
            terms=terms,
            step=step,
            most=most_drivers,
        ),
        draws=draws,
        seed=seed,
        together=together,
        shape=shape,
        contingency_spent=spent,
        gates=gates(home),
        answer=answer,
        chance_answer=chance_answer,
        basis=(
            f"estimate, {draws:,} draws, seed {seed}; any two prices run together by {together:g}; "
            f"{spent * 100:g}{NBSP}% of the contingency spent"
        ),
    )


def _slots(items: Sequence[tuple[list[Item], float]], shape: Shape) -> tuple[str, ...]:
    """Names that all scenarios are drawn with, the smallest left to the rest."""
    sizes: dict[str, float] = {}
    for open_, _ in items:
        for item in open_:
            size = item.factor**2 * variance(item.over, shape=shape)
            sizes[item.slot] = max(size, sizes.get(item.slot, 0.0))
    if len(sizes) <= _MOST_COLUMNS:
        return tuple(sizes)
    chosen = set(sorted(sizes, key=lambda slot: -sizes[slot])[:_MOST_COLUMNS])
    return tuple(slot for slot in sizes if slot in chosen)


def _bars(columns: Sequence[BudgetColumn]) -> tuple[RangeBar, ...]:
    bars = []
    for column in columns:
        years: list[tuple[Literal["this year", "both years"], Outcome, Decimal]] = []
        if column.later:
            years.append(("this year", column.outcome_now, column.now))
        years.append(("both years", column.outcome, column.total))
        for when, outcome, sum_ in years:
            bars.append(
                RangeBar(
                    scenario=column.id,
                    name=column.name,
                    years=when,
                    low=outcome.p10,
                    middle=outcome.p50,
                    high=outcome.p80,
                    priced=sum_,
                )
            )
    return tuple(bars)
