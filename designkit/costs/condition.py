"""Old and new: what to look at, what the repair may come to, and what stands instead.

An old seat is judged by frame, joints and proportions; the cloth goes. What
nobody has looked at is not free: part of the repair is kept aside. The
checklist asks and never rules; what it warns of is for licensed people and
local rules.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from designkit.costs.money import currency, money_text, rounded
from designkit.costs.pieces import recover_cost
from designkit.costs.scenarios import plain_number
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine
from designkit.reference import all_rows, table, value

__all__ = [
    "Answer",
    "CheckPoint",
    "CheckRow",
    "Condition",
    "Form",
    "OldPiece",
    "OldPieceRow",
    "checklist",
    "condition",
    "form_of",
    "old_piece",
    "repair_line",
]

Form = Literal["seat", "case", "table", "lamp", "rug"]
Answer = Literal["ok", "repair", "unknown"]


# How a piece is built, in the words of reference/kinds.csv.
_FORMS: Mapping[str, Form] = {
    "sofa": "seat",
    "chair": "seat",
    "stool": "seat",
    "table": "table",
    "carcass": "case",
    "legged carcass": "case",
    "open carcass": "case",
    "block": "case",
    "standing lamp": "lamp",
    "shade": "lamp",
    "rug": "rug",
}


@dataclass(frozen=True, kw_only=True)
class CheckPoint:
    """One question of the checklist."""

    id: str
    part: str
    question: str
    repair: str  # what is done where the answer is repair; "": nothing mends it
    caution: str
    source: str


@dataclass(frozen=True, kw_only=True, eq=False)
class CheckRow:
    """One question with its answer and what is kept aside for it."""

    point: CheckPoint
    answer: Answer
    low: Decimal  # before tax [currency]
    likely: Decimal
    high: Decimal
    why: str
    rules: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Condition:
    """The answers for one old piece."""

    form: Form
    currency: str
    rows: tuple[CheckRow, ...]
    low: Decimal  # before tax [currency]
    likely: Decimal
    high: Decimal
    ask: tuple[str, ...]  # questions that are open
    cautions: tuple[str, ...]
    unmendable: tuple[str, ...]  # answered repair, and no repair mends it
    answer: str


@functools.cache
def _points() -> tuple[tuple[CheckPoint, tuple[str, ...]], ...]:
    return tuple(
        (
            CheckPoint(
                id=row["id"],
                part=row["part"],
                question=row["question"],
                repair=row["repair"],
                caution=row["caution"],
                source=row["source"],
            ),
            tuple(row["forms"].split("|")),
        )
        for row in table("condition")
    )


def form_of(built: str) -> Form | None:
    """Which checklist an old piece has.

    Parameters
    ----------
    built : str
        Its form in reference/kinds.csv.

    Returns
    -------
    str or None
        None where there is no list for it.

    Examples
    --------
    >>> form_of("sofa"), form_of("plant")
    ('seat', None)
    """
    return _FORMS.get(built)


def checklist(form: Form) -> tuple[CheckPoint, ...]:
    """What to look at before an old piece is bought or kept.

    Parameters
    ----------
    form : str
        "seat", "case", "table", "lamp" or "rug".

    Returns
    -------
    tuple of CheckPoint
        In the order in which one looks.

    Raises
    ------
    LookupFailed
        There is no list for that form.

    Examples
    --------
    >>> [point.id for point in checklist("lamp")]
    ['wiring', 'watts', 'provenance']
    """
    if form not in get_args(Form):
        raise LookupFailed(
            "form", given=form, allowed=", ".join(get_args(Form)), mend="use one of these"
        )
    return tuple(point for point, forms in _points() if form in forms)


def condition(
    form: Form,
    *,
    answers: Mapping[str, Answer],
    hourly: Decimal | None = None,
    code: str = "EUR",
    overrides: Mapping[str, float] | None = None,
) -> Condition:
    """The repair that an old piece may need, from the answers of its checklist.

    What is not answered counts as unknown: nothing at least, a share of the
    repair likely (`costs.condition.unknown_share`), the whole of it at most.

    Parameters
    ----------
    form : str
        "seat", "case", "table", "lamp" or "rug".
    answers : mapping of str to str
        "ok", "repair" or "unknown" by the id of a check point.
    hourly : Decimal, optional
        The workroom's rate; by default `costs.condition.hourly`. [currency/h]
    code : str
        Currency, ISO 4217.
    overrides : mapping of str to float, optional
        The project's own values for `costs.condition.*`.

    Returns
    -------
    Condition
        A row a check point, in the order of the list, and the sums.

    Raises
    ------
    InputError
        An answer is none of the three, or the rate is negative.
    LookupFailed
        The form, a check point or the currency is unknown.
    """
    points = checklist(form)
    known = {point.id for point in points}
    for id, answer in answers.items():
        if id not in known:
            near = nearest(id, known)
            raise LookupFailed(
                f"answers for a {form}",
                given=id,
                allowed=f"{', '.join(p.id for p in points)}{f'; nearest: {near}' if near else ''}",
                mend="use the id of a check point",
            )
        if answer not in get_args(Answer):
            raise InputError(
                f"answer on {id}",
                given=answer,
                allowed=", ".join(get_args(Answer)),
                mend="unknown, where nobody has looked",
            )
    if hourly is None:
        hourly = Decimal(repr(value("costs.condition.hourly", overrides)))
    if not hourly.is_finite() or hourly < 0:
        raise InputError("hourly", given=hourly, allowed=">= 0", mend="ask the workroom")
    currency(code)
    share = Decimal(repr(value("costs.condition.unknown_share", overrides)))
    if not 0 <= share <= 1:
        raise InputError(
            "costs.condition.unknown_share", given=share, allowed="0 to 1", mend="0.5 is usual"
        )
    rows = tuple(
        _row(point, answers.get(point.id, "unknown"), hourly, share, code, overrides)
        for point in points
    )
    low, likely, high = (
        sum((getattr(row, name) for row in rows), Decimal(0)) for name in ("low", "likely", "high")
    )
    ask = tuple(row.point.question for row in rows if row.answer == "unknown")
    unmendable = tuple(
        row.point.part for row in rows if row.answer == "repair" and not row.point.repair
    )
    text = (
        f"Keep {money_text(likely, code=code)} aside for repair "
        f"({money_text(low, code=code)} to {money_text(high, code=code)})"
    )
    if ask:
        text += f"; {len(ask)} of {len(rows)} still to look at"
    if unmendable:
        text += f"; no repair mends: {', '.join(unmendable)}"
    return Condition(
        form=form,
        currency=code,
        rows=rows,
        low=low,
        likely=likely,
        high=high,
        ask=ask,
        cautions=tuple(
            f"{row.point.part}: {row.point.caution}"
            for row in rows
            if row.point.caution and row.answer != "ok"
        ),
        unmendable=unmendable,
        answer=f"{text}.",
    )


def _row(
    point: CheckPoint,
    answer: Answer,
    hourly: Decimal,
    share: Decimal,
    code: str,
    overrides: Mapping[str, float] | None,
) -> CheckRow:
    base = f"costs.condition.{point.id.replace(' ', '_')}"
    facts = all_rows()
    sums: dict[str, Decimal] = {}
    parts, rules = [], []
    for end in ("low", "high"):
        total = Decimal(0)
        for what, price in (("hours", hourly), ("goods", Decimal(1))):
            rule = f"{base}.{what}.{end}"
            if rule in facts:
                total += Decimal(repr(value(rule, overrides))) * price
                rules.append(rule)
        sums[end] = rounded(total, code=code)
    low, high = sums["low"], sums["high"]
    if low > high:
        raise InputError(base, given=f"{low} to {high}", allowed="low <= high", mend="swap the two")
    middle = rounded((low + high) / 2, code=code)
    if any(".hours." in rule for rule in rules):
        hours = [plain_number(Decimal(repr(value(f"{base}.hours.{e}", overrides)))) for e in sums]
        parts.append(f"{hours[0]} to {hours[1]} h × {money_text(hourly, code=code)}")
    if any(".goods." in rule for rule in rules):
        parts.append("goods")
    told = " + ".join(parts)
    if answer == "ok" or not rules:
        low = middle = high = Decimal(0)
        why = "in order" if answer == "ok" else "nothing that a sum would mend: ask"
    elif answer == "repair":
        why = f"{point.repair}: {told}"
    else:
        low, middle = Decimal(0), rounded(middle * share, code=code)
        why = f"not looked at: {plain_number(share * 100)} % of {point.repair} ({told})"
    return CheckRow(
        point=point,
        answer=answer,
        low=low,
        likely=middle,
        high=high,
        why=why,
        rules=tuple(rules),
    )


def repair_line(
    found: Condition, *, id: str, piece: str, room: str = "", category: str = "old pieces"
) -> CostLine:
    """The repair of an old piece as a line of the budget.

    Parameters
    ----------
    found : Condition
        From :func:`condition`.
    id : str
        Of the new line.
    piece : str
        Piece id, so that it counts in the all-in cost.
    room : str, optional
        Room id.
    category : str, optional
        The heading it is added under.

    Returns
    -------
    CostLine
        An allowance with its low and high, a guess until a workroom has seen it.
    """
    return CostLine(
        id=id,
        piece=piece,
        item="repair, from the checklist",
        room=room,
        category=category,
        kind="allowance",
        unit="lot",
        low=found.low,
        likely=found.likely,
        high=found.high,
        status="guess",
        work="vintage repair",
        note="; ".join(f"{r.point.part}: {r.answer}" for r in found.rows if r.answer != "ok"),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class OldPieceRow:
    """One part of what an old piece costs."""

    words: str
    amount: Decimal  # before tax [currency]
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class OldPiece:
    """What an old piece costs when it stands in its place."""

    currency: str
    rows: tuple[OldPieceRow, ...]
    low: Decimal  # with the least repair
    total: Decimal  # the sum of the rows, before tax [currency]
    high: Decimal  # with the most repair
    why: str


def old_piece(
    ticket: Decimal,
    *,
    found: Condition,
    hours: Decimal = Decimal(0),
    hourly: Decimal | None = None,
    fabric: Decimal = Decimal(0),
    fabric_price: Decimal = Decimal(0),
    foam: Decimal = Decimal(0),
    transports: Sequence[Decimal] = (),
    overrides: Mapping[str, float] | None = None,
) -> OldPiece:
    r"""What an old piece costs all-in: never the ticket with a share added.

    .. math:: C = T + h\,r + f\,p + g + \sum t + R

    Parameters
    ----------
    ticket : Decimal
        What is asked for it T. [currency]
    found : Condition
        Its condition, for the repair R.
    hours : Decimal
        Hours to re-cover it h; nought where the cover stays. [h]
    hourly : Decimal, optional
        The upholsterer's rate r; by default `costs.condition.hourly`. [currency/h]
    fabric : Decimal
        Cloth ordered f. [m, yd]
    fabric_price : Decimal
        Price of the cloth p. [currency/m, currency/yd]
    foam : Decimal
        New filling g that the repair does not hold. [currency]
    transports : sequence of Decimal
        Each way t: to the workshop, and back. [currency]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    OldPiece
        Its rows and their sum before tax, with the least and the most repair.

    Raises
    ------
    InputError
        A part is negative or not finite.

    Examples
    --------
    >>> seat = condition("seat", answers=dict.fromkeys(("frame", "joints"), "ok"))
    >>> old_piece(Decimal(100), found=seat, hours=Decimal(10), hourly=Decimal(40)).rows[1].amount
    Decimal('400.00')
    """
    code = found.currency
    rate = Decimal(repr(value("costs.condition.hourly", overrides))) if hourly is None else hourly
    if not ticket.is_finite() or ticket < 0:
        raise InputError("ticket", given=ticket, allowed=">= 0", mend="0 for a piece that is kept")
    for way in transports:
        if not way.is_finite() or way < 0:
            raise InputError("transport", given=way, allowed=">= 0", mend="ask the carrier")
    labour = recover_cost(hours, hourly=rate, code=code)
    cloth = recover_cost(
        Decimal(0), hourly=rate, fabric=fabric, fabric_price=fabric_price, code=code
    )
    filling = recover_cost(Decimal(0), hourly=rate, filling=foam, code=code)
    carried = rounded(sum(transports, Decimal(0)), code=code)
    rows = [OldPieceRow(words="the ticket", amount=rounded(ticket, code=code), why="as asked")]
    hourly_text = money_text(rate, code=code)
    rows += [
        OldPieceRow(words=words, amount=amount, why=why)
        for words, amount, why in (
            ("re-cover labour", labour, f"{plain_number(hours)} h × {hourly_text}"),
            (
                "fabric",
                cloth,
                f"{plain_number(fabric)} × {money_text(fabric_price, code=code)}",
            ),
            ("foam and springs", filling, "as given"),
            ("transport", carried, f"{len(transports)} ways"),
            ("money kept aside", found.likely, "from the checklist"),
        )
        if amount
    ]
    total = sum((row.amount for row in rows), Decimal(0))
    told = " + ".join(f"{row.words} {money_text(row.amount, code=code)}" for row in rows)
    return OldPiece(
        currency=code,
        rows=tuple(rows),
        low=total - found.likely + found.low,
        total=total,
        high=total - found.likely + found.high,
        why=f"{told} = {money_text(total, code=code)} before tax",
    )
