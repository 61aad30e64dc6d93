"""Papers: approval, purchase order, receiving sheet, snag list, cost sheet.

Each is a table for a named audience. A client reads what a thing is, where it
goes and what it costs them; a supplier reads its own lines and prices; the
studio reads all.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

from designkit.costs.lines import problems, raise_first
from designkit.costs.money import gross_of, net_of, rounded, tax_per_invoice, tax_per_line
from designkit.documents.audience import check_audience, cut
from designkit.documents.life import LifeState, open_lines, state_of
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine, Home, Piece, Project
from designkit.takeoff.tables import Audience, Cell, Table
from designkit.takeoff.tops import material_of
from designkit.units import IMPERIAL, inches

__all__ = [
    "PurchaseOrder",
    "Snag",
    "approval_sheet",
    "cost_sheet",
    "purchase_order",
    "purchase_orders",
    "receiving_sheet",
    "snag_list",
    "snags_of",
]

# What is cut to a length or an area for a piece is not the piece: a pad under a rug.
MEASURED = ("m", "m²", "yd", "yd²", "ft", "ft²", "kg", "lb", "L", "gal")

_APPROVAL = {
    "client": (
        "line",
        "item",
        "room",
        "size",
        "finish",
        "quantity",
        "unit",
        "price with tax",
        "lead weeks",
        "agreed by",
        "agreed on",
        "signature",
    ),
    "studio": (
        "line",
        "item",
        "room",
        "size",
        "finish",
        "quantity",
        "unit",
        "price with tax",
        "lead weeks",
        "agreed by",
        "agreed on",
        "signature",
        "state",
        "supplier",
        "trade price",
        "note",
    ),
}
_ORDER = {
    "trade": (
        "line",
        "item",
        "size",
        "finish",
        "quantity",
        "unit",
        "price each",
        "amount",
        "tax rate",
        "deliver to",
        "needed by",
    ),
    "studio": (
        "line",
        "item",
        "size",
        "finish",
        "quantity",
        "unit",
        "price each",
        "amount",
        "tax rate",
        "deliver to",
        "needed by",
        "client price",
        "state",
        "note",
    ),
}
_RECEIVING = {
    "client": (
        "line",
        "item",
        "room",
        "ordered",
        "unit",
        "received",
        "received on",
        "inspected by",
    ),
    "trade": (
        "line",
        "item",
        "room",
        "ordered",
        "unit",
        "supplier",
        "received",
        "boxes",
        "damage",
        "dye lot",
        "received on",
        "inspected by",
    ),
    "studio": (
        "line",
        "item",
        "room",
        "ordered",
        "unit",
        "supplier",
        "received",
        "boxes",
        "damage",
        "dye lot",
        "received on",
        "inspected by",
        "state",
        "note",
    ),
}
_SNAGS = {
    "client": ("number", "room", "what", "found on", "mended on"),
    "trade": ("number", "room", "what", "trade", "found on", "mended on"),
    "studio": ("number", "room", "what", "trade", "found on", "mended on", "line", "note"),
}


def _room(home: Home, room: str) -> str:
    return home.rooms[room].name if room in home.rooms else room


def _size(home: Home, line: CostLine) -> str:
    """Width × depth × height of what a purchase is for, and how a top is made."""
    if line.kind != "purchase" or line.unit in MEASURED:
        return ""
    piece = home.pieces.get(line.piece)
    thing = piece or home.fixtures.get(line.piece)
    if thing is None:
        return ""
    # To the quarter inch, as makers write it; what is cut in glass or stone to the sixteenth.
    size = _lengths(home, *thing.size, denominator=16 if piece and material_of(piece) else 4)
    return "; ".join((size, *(_made(home, piece) if piece else ())))


def _lengths(home: Home, *sides: float, denominator: int = 16) -> str:
    if home.units in IMPERIAL:
        return " × ".join(inches(side, denominator=denominator) for side in sides) + " in"
    return " × ".join(str(round(side * 1000)) for side in sides) + " mm"


def _made(home: Home, piece: Piece) -> list[str]:
    """Overhang, corners and cut-outs of a top, for who makes it."""
    found = []
    if piece.overhang:
        side = "beyond" if piece.overhang > 0 else "inside"
        found.append(f"{_lengths(home, abs(piece.overhang))} {side} what carries it, all round")
    if piece.radius:
        found.append(f"corners of {_lengths(home, piece.radius)} radius")
    for hole in piece.cutouts:
        sides = (hole.width,) if hole.depth is None else (hole.width, hole.depth)
        size = ("Ø " if hole.depth is None else "") + _lengths(home, *sides)
        left, front = (_lengths(home, at) for at in hole.at)
        found.append(f"cut-out {size}, its middle {left} from the left, {front} from the front")
    return found


def _finish(home: Home, line: CostLine) -> str:
    piece = home.pieces.get(line.piece)
    fixture = home.fixtures.get(line.piece)
    ids: list[str] = []
    thing = line.kind == "purchase" and line.unit not in MEASURED
    if thing and piece is not None:
        ids = [piece.finish, *piece.finishes.values()]
    elif thing and fixture is not None:
        ids = [fixture.finish]
    names = [home.finishes[id].name if id in home.finishes else id for id in ids if id]
    return ", ".join(dict.fromkeys(names))


def _client_gross(home: Home, line: CostLine) -> Decimal:
    """What the client pays for the whole line, with tax."""
    money = home.money
    each = line.likely if line.client_price is None else line.client_price
    rate = money.tax if line.tax is None else line.tax
    abroad = line.currency and line.currency != money.currency
    factor = line.rate if abroad and line.rate is not None else Decimal(1)
    amount = rounded(each * line.quantity * factor, code=money.currency)
    if money.prices_include_tax:
        return amount
    return gross_of(amount, rate=rate, code=money.currency)


def _checked(project: Project) -> None:
    raise_first(problems(project.costs, money=project.home.money))


def approval_sheet(
    project: Project,
    *,
    audience: Audience = "client",
    states: Collection[LifeState] = ("to choose", "quoted", "agreed"),
) -> Table:
    """What the client is asked to agree to, with a place to sign.

    Parameters
    ----------
    project : Project
        Its lines as drawn.
    audience : {"client", "studio"}
        Who reads it.
    states : collection of str, optional
        Which lines stand on it.

    Returns
    -------
    Table
        Prices are what the client pays, with tax; the trade does not get it.

    Raises
    ------
    InputError
        Another audience, or a line that is wrong.
    """
    _checked(project)
    home = project.home
    rows: list[dict[str, Cell]] = [
        {
            "line": line.id,
            "item": line.item,
            "room": _room(home, line.room),
            "size": _size(home, line),
            "finish": _finish(home, line),
            "quantity": line.quantity,
            "unit": line.unit,
            "price with tax": _client_gross(home, line),
            "lead weeks": line.lead_time,
            "agreed by": line.more.get("agreed_by", ""),
            "agreed on": line.more.get("agreed_on", ""),
            "signature": "",
            "state": state_of(line),
            "supplier": line.supplier,
            "trade price": line.trade_price,
            "note": line.note,
        }
        for line in open_lines(project)
        if state_of(line) in states
    ]
    return cut("approval sheet", audience=audience, columns=_APPROVAL, rows=rows, project=project)


@dataclass(frozen=True, kw_only=True, eq=False)
class PurchaseOrder:
    """One order to one supplier."""

    number: str
    supplier: str
    currency: str
    table: Table
    net: Decimal  # the sum of the rows, before tax [currency]
    gross: Decimal  # with tax, rounded a line or on the whole as the project says [currency]
    asks: tuple[str, ...]  # what the supplier is asked to confirm
    cautions: tuple[str, ...]


_ASKS = (
    "Confirm in writing: price, tax, carriage, and the day it leaves you.",
    "Say before work begins if a size, a finish or a quantity cannot be met.",
    "One dye lot or batch for each cloth, paper and tile; name it on the delivery note.",
    "Mark every package with the line and the room.",
)


def _sums(rows: Sequence[Mapping[str, Cell]], *, home: Home, code: str) -> tuple[Decimal, Decimal]:
    """The sum of an order before and with tax, rounded as the project says."""
    nets: dict[Decimal, list[Decimal]] = {}
    for row in rows:
        rate, amount = Decimal(str(row["tax rate"])), Decimal(str(row["amount"]))
        if home.money.prices_include_tax:
            amount = net_of(amount, rate=rate, code=code)
        nets.setdefault(rate, []).append(amount)
    add_tax = tax_per_invoice if home.money.tax_per == "invoice" else tax_per_line
    net = sum((x for amounts in nets.values() for x in amounts), Decimal(0))
    tax = sum((add_tax(a, rate=rate, code=code).total for rate, a in nets.items()), Decimal(0))
    return net, net + tax


def purchase_order(
    project: Project,
    *,
    supplier: str,
    audience: Audience = "trade",
    number: str = "",
    lines: Sequence[str] | None = None,
    needed_by: Mapping[str, str] | None = None,
) -> PurchaseOrder:
    """The order to one supplier, at what the studio pays.

    Parameters
    ----------
    project : Project
        Its lines as drawn.
    supplier : str
        As the lines name it.
    audience : {"trade", "studio"}
        Never the client.
    number : str, optional
        Of the order.
    lines : sequence of str, optional
        Line ids, alternatives too; by default the supplier's lines that are
        agreed and not ordered.
    needed_by : mapping of str to str, optional
        A day by line id; by default the installation day.

    Returns
    -------
    PurchaseOrder
        At the trade price, or the likely price where none is given.

    Raises
    ------
    InputError
        Another audience, nothing to order, lines in two currencies, or a line
        of another supplier.
    LookupFailed
        No line names that supplier, or a line is not there.
    """
    check_audience(audience, allowed=tuple(_ORDER))
    _checked(project)
    home = project.home
    known = list(dict.fromkeys(c.supplier for c in project.costs if c.supplier))
    if supplier not in known:
        near = nearest(supplier, known)
        raise LookupFailed(
            "supplier",
            given=supplier,
            allowed=", ".join(known) or "no line names one",
            mend=f"write {near}" if near else "name it on its lines",
        )
    by_id = {c.id: c for c in project.costs}
    if lines is None:
        chosen = [
            c for c in open_lines(project) if c.supplier == supplier and state_of(c) == "agreed"
        ]
        if not chosen:
            raise InputError(
                f"order to {supplier}",
                given="no line that is agreed and not ordered",
                allowed="one line or more",
                mend="have the lines agreed first, or name them",
            )
    else:
        chosen = []
        for id in dict.fromkeys(lines):
            if id not in by_id:
                raise LookupFailed(
                    "lines",
                    given=id,
                    allowed=f"the id of a line; nearest: {nearest(id, by_id) or 'none'}",
                    mend="look at costs.csv",
                )
            if by_id[id].supplier != supplier:
                raise InputError(
                    "lines",
                    given=f"{id} of {by_id[id].supplier or 'nobody'}",
                    allowed=f"lines of {supplier}",
                    mend="order it from its own supplier",
                )
            chosen.append(by_id[id])
        if not chosen:
            raise InputError("lines", given="none", allowed="one or more", mend="name them")
    codes = list(dict.fromkeys(c.currency or home.money.currency for c in chosen))
    if len(codes) > 1:
        raise InputError(
            f"order to {supplier}",
            given=" and ".join(codes),
            allowed="lines of one currency",
            mend="make an order for each currency",
        )
    code = codes[0]
    rows: list[dict[str, Cell]] = []
    for line in chosen:
        each = line.likely if line.trade_price is None else line.trade_price
        amount = rounded(each * line.quantity, code=code)
        rows.append(
            {
                "line": line.id,
                "item": line.item,
                "size": _size(home, line),
                "finish": _finish(home, line),
                "quantity": line.quantity,
                "unit": line.unit,
                "price each": each,
                "amount": amount,
                "tax rate": home.money.tax if line.tax is None else line.tax,
                "deliver to": line.more.get("deliver_to", "") or _room(home, line.room),
                "needed by": (needed_by or {}).get(line.id, home.brief.date),
                "client price": line.client_price,
                "state": state_of(line),
                "note": line.note,
            }
        )
    net, gross = _sums(rows, home=home, code=code)
    cautions = []
    if any(line.kind in ("fabric", "labour") for line in chosen):
        cautions.append("Cloth and re-covering meet the place's flammability rules; say which.")
    table = cut(
        f"purchase order {number}".strip(),
        audience=audience,
        columns=_ORDER,
        rows=rows,
        project=project,
        supplier=supplier if audience == "trade" else "",
    )
    return PurchaseOrder(
        number=number,
        supplier=supplier,
        currency=code,
        table=table,
        net=net,
        gross=gross,
        asks=_ASKS,
        cautions=tuple(cautions),
    )


def purchase_orders(project: Project, *, audience: Audience = "trade") -> dict[str, PurchaseOrder]:
    """An order for every supplier with lines that are agreed and not ordered.

    Parameters
    ----------
    project : Project
        Its lines as drawn.
    audience : {"trade", "studio"}
        Never the client.

    Returns
    -------
    dict of str to PurchaseOrder
        By supplier, in the order of the lines; numbered from 1.

    Raises
    ------
    InputError
        Another audience, a line that is wrong, or one supplier's lines are in
        two currencies.
    """
    check_audience(audience, allowed=tuple(_ORDER))
    names = dict.fromkeys(
        c.supplier for c in open_lines(project) if c.supplier and state_of(c) == "agreed"
    )
    return {
        name: purchase_order(project, supplier=name, audience=audience, number=str(i))
        for i, name in enumerate(names, start=1)
    }


def receiving_sheet(
    project: Project,
    *,
    audience: Audience = "studio",
    states: Collection[LifeState] = ("ordered", "acknowledged", "made", "received and inspected"),
) -> Table:
    """What is expected, to be filled in where it is unpacked.

    Parameters
    ----------
    project : Project
        Its lines as drawn.
    audience : {"client", "trade", "studio"}
        Who reads it; the trade is whoever unpacks.
    states : collection of str, optional
        Which lines stand on it.

    Returns
    -------
    Table
        Goods only; what is received already is filled in.

    Raises
    ------
    InputError
        Unknown audience, or a line that is wrong.
    """
    _checked(project)
    home = project.home
    rows: list[dict[str, Cell]] = [
        {
            "line": line.id,
            "item": line.item,
            "room": _room(home, line.room),
            "ordered": line.quantity,
            "unit": line.unit,
            "supplier": line.supplier,
            "received": line.more.get("received", ""),
            "boxes": line.more.get("boxes", ""),
            "damage": line.more.get("damage", ""),
            "dye lot": line.more.get("dye_lot", ""),
            "received on": line.more.get("received_on", ""),
            "inspected by": line.more.get("inspected_by", ""),
            "state": state_of(line),
            "note": line.note,
        }
        for line in open_lines(project)
        if line.kind in ("purchase", "fabric") and state_of(line) in states
    ]
    return cut("receiving sheet", audience=audience, columns=_RECEIVING, rows=rows, project=project)


@dataclass(frozen=True, kw_only=True)
class Snag:
    """One thing that is not right yet."""

    room: str  # room id, or ""
    what: str
    line: str = ""  # cost line id
    trade: str = ""  # who mends it, by role
    found_on: str = ""  # ISO 8601
    mended_on: str = ""
    note: str = ""  # the studio's


def snags_of(project: Project) -> tuple[Snag, ...]:
    """The snags that the lines themselves hold, in the column `snag`.

    Parameters
    ----------
    project : Project
        Its lines as drawn.

    Returns
    -------
    tuple of Snag
        In the order of the lines; a snagged line without words says so.

    Raises
    ------
    InputError
        A state is none.
    """
    found = []
    for line in open_lines(project):
        told = line.more.get("snag", "").strip()
        if not told and state_of(line) != "snagged":
            continue
        found.append(
            Snag(
                room=line.room,
                what=f"{line.item}: {told or 'not described yet'}",
                line=line.id,
                trade=line.more.get("mended_by", "") or line.supplier,
                found_on=line.more.get("snagged_on", ""),
                mended_on=line.more.get("mended_on", ""),
                note=line.note,
            )
        )
    return tuple(found)


def snag_list(
    project: Project, *, audience: Audience = "studio", snags: Sequence[Snag] | None = None
) -> Table:
    """What is not right yet, room by room, numbered for the walk.

    Parameters
    ----------
    project : Project
        For its rooms.
    audience : {"client", "trade", "studio"}
        Who reads it.
    snags : sequence of Snag, optional
        By default :func:`snags_of` the project.

    Returns
    -------
    Table
        Rooms in the order of the project, then what belongs to none.

    Raises
    ------
    InputError
        Unknown audience, or a snag without words.
    LookupFailed
        A snag is in a room that is not there.
    """
    home = project.home
    every = snags_of(project) if snags is None else tuple(snags)
    for one in every:
        if not one.what.strip():
            raise InputError(
                "snag", given='""', allowed="a few words", mend="say what is not right"
            )
        if one.room and one.room not in home.rooms:
            near = nearest(one.room, home.rooms)
            raise LookupFailed(
                "room of a snag",
                given=one.room,
                allowed=", ".join(home.rooms),
                mend=f"write {near}" if near else "use one of these",
            )
    place = {room: i for i, room in enumerate(home.rooms)}
    ordered = sorted(every, key=lambda one: place.get(one.room, len(place)))
    rows: list[dict[str, Cell]] = [
        {
            "number": number,
            "room": _room(home, one.room),
            "what": one.what,
            "trade": one.trade,
            "found on": one.found_on,
            "mended on": one.mended_on,
            "line": one.line,
            "note": one.note,
        }
        for number, one in enumerate(ordered, start=1)
    ]
    return cut("snag list", audience=audience, columns=_SNAGS, rows=rows, project=project)


def cost_sheet(project: Project) -> Table:
    """The cost lines as the file holds them, own columns too: for the studio alone.

    Parameters
    ----------
    project : Project
        The project.

    Returns
    -------
    Table
        The columns of costs.csv that any line uses.
    """
    own = [f.name for f in fields(CostLine) if f.name not in ("more", "row")]
    extra = list(dict.fromkeys(name for c in project.costs for name in c.more))
    rows: list[dict[str, Cell]] = [
        {**{name: getattr(c, name) for name in own}, **{n: c.more.get(n, "") for n in extra}}
        for c in project.costs
    ]
    columns = tuple(
        name for name in (*own, *extra) if any(row[name] not in (None, "") for row in rows)
    )
    return Table(
        name="costs",
        audience="studio",
        columns=columns,
        rows=tuple({name: row[name] for name in columns} for row in rows),
    )
