"""Which papers a project has for each audience, with what each asks and says.

The tables are those of `designkit.documents`; here they get a question, an
answer and the words that belong under them. Nothing is taken from one
audience's paper into another's.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from designkit.costs.money import money_text
from designkit.documents.audience import check_audience
from designkit.documents.handover import handover_book
from designkit.documents.life import STATES
from designkit.documents.old_pieces import condition_sheet, conditions_of
from designkit.documents.papers import (
    approval_sheet,
    cost_sheet,
    purchase_orders,
    receiving_sheet,
    snag_list,
)
from designkit.documents.steps import life_sheet
from designkit.errors import LookupFailed, nearest
from designkit.model import Project
from designkit.takeoff.scope import as_table, scope_sheets
from designkit.takeoff.tables import Audience, Table, finish_schedule, furniture_schedule

__all__ = ["PAPERS", "Paper", "papers_for"]

# name -> who reads it
PAPERS: dict[str, tuple[Audience, ...]] = {
    "ff-and-e-schedule": ("client", "trade", "studio"),
    "finish-schedule": ("client", "trade", "studio"),
    "scope-of-work": ("trade", "studio"),
    "approval-sheet": ("client", "studio"),
    "purchase-order": ("trade", "studio"),
    "receiving-sheet": ("client", "trade", "studio"),
    "snag-list": ("client", "trade", "studio"),
    "condition-sheet": ("trade", "studio"),
    "handover-book": ("client", "studio"),
    "steps": ("studio",),
    "costs": ("studio",),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Paper:
    """One paper for one audience: tables that belong together, and their words."""

    name: str  # of its files
    title: str
    number: str  # drawing number
    audience: Audience
    question: str
    answer: str
    tables: tuple[Table, ...]
    notes: tuple[str, ...] = ()
    currency: str = ""


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")


def _schedules(project: Project, audience: Audience, layout: str) -> list[Paper]:
    found = []
    if project.home.layouts:
        pieces = furniture_schedule(project, layout=layout, audience=audience)
        found.append(
            Paper(
                name="ff-and-e-schedule",
                title="FF&E schedule",
                number="D-601",
                audience=audience,
                question="What stands in the rooms?",
                answer=f"{_count(len(pieces.rows), 'line')} of furniture, fixtures and fittings.",
                tables=(pieces,),
                currency=project.home.money.currency,
            )
        )
    if project.home.finishes and project.home.rooms:
        finishes = finish_schedule(project, audience=audience)
        found.append(
            Paper(
                name="finish-schedule",
                title="Finish schedule",
                number="D-602",
                audience=audience,
                question="What is each surface finished with?",
                answer=f"{_count(len(finishes.rows), 'surface')} in "
                f"{_count(len(project.home.rooms), 'room')}.",
                tables=(finishes,),
            )
        )
    return found


def _scopes(project: Project, audience: Audience, layout: str) -> list[Paper]:
    if not project.home.layouts:
        return []
    found = []
    for number, (trade, sheet) in enumerate(scope_sheets(project, layout=layout).items(), start=1):
        gate = " Part of it waits for a sample and its written result." if sheet.gate else ""
        hours = (
            f" About {sheet.hours[0]:.0f} to {sheet.hours[1]:.0f} hours by the usual rates."
            if sheet.hours
            else ""
        )
        found.append(
            Paper(
                name=f"scope-of-work-{_slug(trade)}",
                title=f"Scope of work, {trade}",
                number=f"D-65{number}",
                audience=audience,
                question=f"What does the {trade} price?",
                answer=f"{_count(len(sheet.rows), 'line')}, the same for everyone who is asked."
                f"{hours}{gate}",
                tables=(as_table(sheet, home=project.home, audience=audience),),
                notes=(*sheet.cautions, *sheet.assumed),
            )
        )
    return found


def _approval(project: Project, audience: Audience, layout: str) -> list[Paper]:
    sheet = approval_sheet(project, audience=audience)
    if not sheet.rows:
        return []
    code = project.home.money.currency
    total = sum(
        (r["price with tax"] for r in sheet.rows if isinstance(r["price with tax"], Decimal)),
        Decimal(0),
    )
    agreed = sum(bool(r["agreed on"]) for r in sheet.rows)
    answer = f"{_count(len(sheet.rows), 'line')}, {money_text(total, code=code)} with tax"
    answer += f"; {agreed} agreed already." if agreed else "; none is agreed yet."
    return [
        Paper(
            name="approval-sheet",
            title="For approval",
            number="D-620",
            audience=audience,
            question="What is to be agreed?",
            answer=answer,
            tables=(sheet,),
            notes=(
                "Nothing is ordered before it is signed here. What is made to order cannot be "
                "sent back; a price holds until the day its quote names.",
            ),
            currency=code,
        )
    ]


def _orders(project: Project, audience: Audience, layout: str) -> list[Paper]:
    found = []
    for name, order in purchase_orders(project, audience=audience).items():
        found.append(
            Paper(
                name=f"purchase-order-{_slug(name)}",
                title=f"Purchase order {order.number}, {name}",
                number=f"D-63{order.number}",
                audience=audience,
                question=f"What is ordered from {name}?",
                answer=f"{_count(len(order.table.rows), 'line')}, "
                f"{money_text(order.net, code=order.currency)} before tax, "
                f"{money_text(order.gross, code=order.currency)} with it.",
                tables=(order.table,),
                notes=(*order.asks, *order.cautions),
                currency=order.currency,
            )
        )
    return found


def _receiving(project: Project, audience: Audience, layout: str) -> list[Paper]:
    sheet = receiving_sheet(project, audience=audience)
    if not sheet.rows:
        return []
    return [
        Paper(
            name="receiving-sheet",
            title="Receiving",
            number="D-640",
            audience=audience,
            question="Is it all there, and whole?",
            answer=f"{_count(len(sheet.rows), 'line')} on the way or just arrived.",
            tables=(sheet,),
            notes=(
                "Count the boxes and look at each side before signing. Write damage on the "
                "carrier's paper, photograph it, and keep the packing.",
            ),
        )
    ]


def _snags(project: Project, audience: Audience, layout: str) -> list[Paper]:
    listed = snag_list(project, audience=audience)
    if not listed.rows:
        return []
    mended = sum(bool(r["mended on"]) for r in listed.rows)
    return [
        Paper(
            name="snag-list",
            title="Snag list",
            number="D-641",
            audience=audience,
            question="What is not right yet?",
            answer=f"{_count(len(listed.rows), 'thing')}, {mended or 'none'} mended.",
            tables=(listed,),
        )
    ]


def _handover(project: Project, audience: Audience, layout: str) -> list[Paper]:
    book = handover_book(project, layout=layout, audience=audience)
    missing = book.missing if audience == "studio" else ()
    return [
        Paper(
            name="handover-book",
            title="Handover book",
            number="D-642",
            audience=audience,
            question="How is it kept?",
            answer="Care, warranties, codes of paint and paper, and what is kept for later.",
            tables=tuple(t for t in book.tables if t.rows),
            notes=(
                *book.cautions,
                *((f"Still missing: {'; '.join(missing)}.",) if missing else ()),
            ),
        )
    ]


def _condition(project: Project, audience: Audience, layout: str) -> list[Paper]:
    found = conditions_of(project)
    if not found:
        return []
    code = project.home.money.currency
    open_ = sum(len(one.ask) for one in found.values())
    points = sum(len(one.rows) for one in found.values())
    answer = f"{_count(len(found), 'old piece')}, {open_ or 'nothing'} of {points} still to look at"
    if audience == "studio":
        low, likely, high = (
            sum((getattr(one, end) for one in found.values()), Decimal(0))
            for end in ("low", "likely", "high")
        )
        answer += f"; keep {money_text(likely, code=code)} aside for repair, one of each, before "
        answer += f"tax ({money_text(low, code=code)} to {money_text(high, code=code)})"
    return [
        Paper(
            name="condition-sheet",
            title="Condition of the old pieces",
            number="D-644",
            audience=audience,
            question="What do the old pieces need?",
            answer=f"{answer}.",
            tables=(condition_sheet(project, audience=audience),),
            notes=tuple(dict.fromkeys(c for one in found.values() for c in one.cautions)),
            currency=code,
        )
    ]


def _steps(project: Project, audience: Audience, layout: str) -> list[Paper]:
    sheet = life_sheet(project)
    if not sheet.rows:
        return []
    counts = {state: sum(row["state"] == state for row in sheet.rows) for state in STATES}
    return [
        Paper(
            name="steps",
            title="Steps of each line",
            number="D-643",
            audience=audience,
            question="How far is each line?",
            answer=f"{_count(len(sheet.rows), 'line')}: "
            + ", ".join(f"{n} {state}" for state, n in counts.items() if n)
            + ".",
            tables=(sheet,),
        )
    ]


def _costs(project: Project, audience: Audience, layout: str) -> list[Paper]:
    if not project.costs:
        return []
    return [
        Paper(
            name="costs",
            title="Cost lines",
            number="D-650",
            audience=audience,
            question="What does each line cost?",
            answer=f"{_count(len(project.costs), 'line')}, as the file holds them.",
            tables=(cost_sheet(project),),
            currency=project.home.money.currency,
        )
    ]


_MAKERS: Sequence[tuple[tuple[str, ...], Callable[[Project, Audience, str], list[Paper]]]] = (
    (("ff-and-e-schedule", "finish-schedule"), _schedules),
    (("scope-of-work",), _scopes),
    (("approval-sheet",), _approval),
    (("purchase-order",), _orders),
    (("receiving-sheet",), _receiving),
    (("snag-list",), _snags),
    (("condition-sheet",), _condition),
    (("handover-book",), _handover),
    (("steps",), _steps),
    (("costs",), _costs),
)


def papers_for(
    project: Project,
    *,
    audience: Audience,
    names: Sequence[str] = (),
    layout: str = "",
) -> tuple[Paper, ...]:
    """The papers of a project for one audience, those that it has the data for.

    Parameters
    ----------
    project : Project
        The project.
    audience : {"client", "trade", "studio"}
        Who reads them.
    names : sequence of str, optional
        Some of `PAPERS`; all by default.
    layout : str, optional
        Layout id; "": the current one.

    Returns
    -------
    tuple of Paper
        In the order of the work; one for each trade, and one for each supplier.

    Raises
    ------
    InputError
        Unknown audience, or a line that is wrong.
    LookupFailed
        There is no such paper for this audience, or no such layout.
    """
    check_audience(audience)
    mine = [name for name, readers in PAPERS.items() if audience in readers]
    for name in names:
        if name not in mine:
            near = nearest(name, mine)
            raise LookupFailed(
                "paper",
                given=name,
                allowed=f"for the {audience}: {', '.join(mine)}",
                mend=f"did you mean {near}?" if near else "use one of these",
            )
    wanted = [name for name in mine if name in names] if names else mine
    found: list[Paper] = []
    for kinds, make in _MAKERS:
        if any(kind in wanted for kind in kinds):
            found += [
                paper
                for paper in make(project, audience, layout)
                if any(paper.name.startswith(kind) for kind in kinds if kind in wanted)
            ]
    return tuple(found)
