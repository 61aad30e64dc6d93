"""What a piece costs all-in: the ticket is not the price.

The lines of one piece (its purchase, two transports, the repair, the re-cover
labour and fabric, an allowance) add up to what it costs where it stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.lines import KINDS, PricedLine
from designkit.costs.money import money_text, rounded
from designkit.errors import InputError, LookupFailed, nearest
from designkit.reference import value

__all__ = ["AllIn", "AllInRow", "all_in", "recover_cost", "remark_holds_from"]

_PART_WORDS = {
    "purchase": "the ticket",
    "delivery": "transport",
    "repair": "repair",
    "labour": "labour",
    "fabric": "fabric",
    "allowance": "money kept aside",
    "work": "work on site",
    "fee": "fee",
    "discount": "discount",
    "credit": "credit",
    "return": "returned",
    "sale": "sold",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class AllInRow:
    """One part of what a piece costs."""

    kind: str
    words: str
    net: Decimal
    tax: Decimal
    gross: Decimal
    lines: tuple[str, ...]  # ids


@dataclass(frozen=True, kw_only=True, eq=False)
class AllIn:
    """What a piece costs when it stands in its place."""

    piece: str
    rows: tuple[AllInRow, ...]
    ticket: Decimal  # its purchase, with tax
    total: Decimal  # with tax; the sum of the rows
    why: str  # the sum in words and numbers

    @property
    def added(self) -> Decimal:
        """What comes on top of the ticket."""
        return self.total - self.ticket

    @property
    def times_ticket(self) -> float | None:
        """The all-in cost as a multiple of the ticket; None without a ticket."""
        return float(self.total / self.ticket) if self.ticket else None


def all_in(priced: Iterable[PricedLine], *, piece: str, code: str = "EUR") -> AllIn:
    """The all-in cost of a piece: the sum of the lines that name it.

    Parameters
    ----------
    priced : iterable of PricedLine
        From :func:`price`.
    piece : str
        Piece or fixture id.
    code : str
        The project's currency, for the words.

    Returns
    -------
    AllIn
        A row a kind of cost, with tax.

    Raises
    ------
    LookupFailed
        No counted line names that piece.
    """
    kinds: dict[str, list[PricedLine]] = {}
    others: dict[str, None] = {}
    for x in priced:
        if x.line.piece == piece and piece:
            kinds.setdefault(x.line.kind, []).append(x)
        elif x.line.piece:
            others[x.line.piece] = None
    if not kinds:
        near = nearest(piece, others)
        raise LookupFailed(
            "piece of a cost line",
            given=piece,
            allowed=f"a piece with a counted line{f'; nearest: {near}' if near else ''}",
            mend="write the piece's id in the column piece",
        )
    rows = tuple(
        AllInRow(
            kind=kind,
            words="re-cover labour"
            if kind == "labour" and "fabric" in kinds
            else _PART_WORDS[kind],
            net=sum((x.net for x in kinds[kind]), Decimal(0)),
            tax=sum((x.tax for x in kinds[kind]), Decimal(0)),
            gross=sum((x.gross for x in kinds[kind]), Decimal(0)),
            lines=tuple(x.line.id for x in kinds[kind]),
        )
        for kind in KINDS
        if kind in kinds
    )
    total = sum((row.gross for row in rows), Decimal(0))
    ticket = sum((row.gross for row in rows if row.kind == "purchase"), Decimal(0))
    parts = " + ".join(f"{row.words} {money_text(row.gross, code=code)}" for row in rows)
    return AllIn(
        piece=piece,
        rows=rows,
        ticket=ticket,
        total=total,
        why=f"{parts} = {money_text(total, code=code)}",
    )


def remark_holds_from(
    added: Decimal, *, seat: Literal["drop-in seat", "armchair"], code: str = "EUR"
) -> Decimal:
    r"""The ticket from which a remark of the trade would hold.

    The remark: a drop-in seat adds 15 % to the ticket, an armchair half as
    much again. It is taught only, because what is added does not depend on the
    ticket: hours, cloth and transports cost the same on a cheap find.

    .. math:: T = A / s

    Parameters
    ----------
    added : Decimal
        What is really added to the ticket. [currency]
    seat : str
        "drop-in seat" or "armchair".
    code : str
        Currency, ISO 4217.

    Returns
    -------
    Decimal
        Below this ticket the remark promises too little. [currency]

    Raises
    ------
    InputError
        The added sum is negative.
    LookupFailed
        There is no remark about that seat.

    Examples
    --------
    >>> remark_holds_from(Decimal(700), seat="armchair")
    Decimal('1400.00')
    """
    if not added.is_finite() or added < 0:
        raise InputError("added", given=added, allowed=">= 0", mend="give what is added")
    names = {"drop-in seat": "drop_in_seat", "armchair": "armchair"}
    if seat not in names:
        raise LookupFailed("seat", given=seat, allowed=", ".join(names), mend="use one of these")
    share = Decimal(repr(value(f"costs.taught.{names[seat]}")))
    return rounded(added / share, code=code)


def recover_cost(
    hours: Decimal,
    *,
    hourly: Decimal,
    fabric: Decimal = Decimal(0),
    fabric_price: Decimal = Decimal(0),
    filling: Decimal = Decimal(0),
    transports: Decimal = Decimal(0),
    code: str = "EUR",
) -> Decimal:
    r"""Cost of re-covering a seat from its parts, never as a share of the ticket.

    .. math:: C = h\,r + f\,p + g + t

    Parameters
    ----------
    hours : Decimal
        Hours of the upholsterer h. [h]
    hourly : Decimal
        Hourly rate r. [currency/h]
    fabric : Decimal
        Cloth ordered f. [m, yd]
    fabric_price : Decimal
        Price of the cloth p. [currency/m, currency/yd]
    filling : Decimal
        Springs, foam, webbing g. [currency]
    transports : Decimal
        To the workshop and back t. [currency]
    code : str
        Currency, ISO 4217.

    Returns
    -------
    Decimal
        The sum before tax. [currency]

    Raises
    ------
    InputError
        A part is negative or not finite.

    Examples
    --------
    >>> recover_cost(Decimal(10), hourly=Decimal(40))
    Decimal('400.00')
    """
    for name, part in (
        ("hours", hours),
        ("hourly", hourly),
        ("fabric", fabric),
        ("fabric_price", fabric_price),
        ("filling", filling),
        ("transports", transports),
    ):
        if not part.is_finite() or part < 0:
            raise InputError(name, given=part, allowed=">= 0", mend="give the number")
    return rounded(hours * hourly + fabric * fabric_price + filling + transports, code=code)
