"""The handover book: what is there, how to care for it, what is kept for later."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from designkit.documents.audience import check_audience, cut
from designkit.documents.life import open_lines, state_of
from designkit.documents.papers import MEASURED
from designkit.errors import LookupFailed, nearest
from designkit.model import Finish, Home, Project
from designkit.palette.finishes import NOT_SAID
from designkit.reference import table
from designkit.takeoff.assemble import Goods, takeoff
from designkit.takeoff.built import is_picture
from designkit.takeoff.floor import Floor
from designkit.takeoff.lines import TakeoffLine, area_text, system_of, volume_text
from designkit.takeoff.paint import Paint
from designkit.takeoff.tables import Audience, Cell, Table, finish_schedule
from designkit.takeoff.wallcovering import Wallcovering

__all__ = ["Book", "handover_book"]

_THINGS = {
    "client": ("room", "item", "quantity", "unit", "care", "warranty until", "dye lot"),
    "trade": ("room", "item", "quantity", "unit", "care", "warranty until", "dye lot"),
    "studio": (
        "room",
        "item",
        "quantity",
        "unit",
        "care",
        "warranty until",
        "dye lot",
        "supplier",
        "state",
        "note",
    ),
}
_FINISHES = ("finish", "what", "kind", "sheen", "code", "where", "care", "warning")
_KEPT = ("what", "kept", "room", "dye lot", "why")


@dataclass(frozen=True, kw_only=True, eq=False)
class Book:
    """The handover book of a home, for one audience."""

    title: str
    audience: Audience
    tables: tuple[Table, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]  # what the project does not say yet


@functools.cache
def _care() -> Mapping[str, tuple[str, str]]:
    return {row["kind"]: (row["care"], row["warning"]) for row in table("care")}


def _care_of(finish: Finish | None) -> tuple[str, str]:
    return ("", "") if finish is None else _care().get(finish.kind, ("", ""))


def handover_book(
    project: Project,
    *,
    layout: str = "",
    audience: Audience = "client",
    codes: Mapping[str, str] | None = None,
    goods: Mapping[str, Goods] | None = None,
) -> Book:
    """Care, warranties, paint codes, spare rolls and dye lots in one book.

    Parameters
    ----------
    project : Project
        Columns `care`, `warranty` and `dye_lot` of costs.csv are read; where a
        line says nothing, the care of its finish stands.
    layout : str, optional
        Layout id; "": the current one.
    audience : {"client", "trade", "studio"}
        Who reads it.
    codes : mapping of str to str, optional
        The maker's code of a paint or paper, by finish id.
    goods : mapping, optional
        As for the take-off: what was really bought.

    Returns
    -------
    Book
        What is missing is listed, never passed over.

    Raises
    ------
    InputError
        Unknown audience.
    LookupFailed
        A code is given for a finish that is not there; an unknown layout.
    """
    check_audience(audience)
    home = project.home
    for id in codes or {}:
        if id not in home.finishes:
            near = nearest(id, home.finishes)
            raise LookupFailed(
                "codes",
                given=id,
                allowed=", ".join(home.finishes),
                mend=f"write {near}" if near else "use one of these",
            )
    missing: list[str] = []
    tables = (
        _things(project, audience, missing),
        _finishes(project, audience, codes or {}, missing),
        _kept(project, audience, layout, goods, missing),
    )
    return Book(
        title=f"Handover book: {home.name}",
        audience=audience,
        tables=tables,
        cautions=(
            "Anti-tip restraints stay fixed; window cords stay out of reach of children.",
            "Lamps are changed for the same kind and no more watts than the fitting carries.",
            "Old paint and old ceilings are not sanded, scraped or drilled before a sample and "
            "its written result.",
            "Wiring is for a licensed electrician.",
        ),
        missing=tuple(dict.fromkeys(missing)),
    )


def _things(project: Project, audience: Audience, missing: list[str]) -> Table:
    home = project.home
    rows: list[dict[str, Cell]] = []
    for line in open_lines(project):
        if line.kind not in ("purchase", "fabric"):
            continue
        piece = home.pieces.get(line.piece)
        fixture = home.fixtures.get(line.piece)
        finish = home.finishes.get(piece.finish) if piece else None
        kind = "lamp" if fixture else finish.kind if finish else ""
        if line.kind == "purchase" and line.unit in MEASURED:
            kind = ""
        if piece and is_picture(piece.kind):
            kind = "picture"
        if line.kind == "fabric":
            kind = "cloth"  # not what the frame under it is made of
        care = line.more.get("care", "") or _care().get(kind, ("", ""))[0]
        warranty = line.more.get("warranty", "")
        if not care:
            missing.append(f"{line.item}: how to care for it (column care)")
        if not warranty and line.kind == "purchase" and not (piece and piece.old):
            missing.append(f"{line.item}: until when it is warranted (column warranty)")
        rows.append(
            {
                "room": home.rooms[line.room].name if line.room in home.rooms else line.room,
                "item": line.item,
                "quantity": line.quantity,
                "unit": line.unit,
                "care": care,
                "warranty until": warranty,
                "dye lot": line.more.get("dye_lot", ""),
                "supplier": line.supplier,
                "state": state_of(line),
                "note": line.note,
            }
        )
    return cut("what is there", audience=audience, columns=_THINGS, rows=rows, project=project)


def _finishes(
    project: Project, audience: Audience, codes: Mapping[str, str], missing: list[str]
) -> Table:
    home = project.home
    places: dict[str, dict[str, list[str]]] = {}
    for row in finish_schedule(project, audience="studio").rows:
        finish = str(row["finish"])
        if finish in home.finishes:
            surface = str(row["surface"]).split()[0]
            said = places.setdefault(finish, {}).setdefault(str(row["room"]), [])
            word = "walls" if surface in ("wall", "column") else surface
            if word not in said:
                said.append(word)
    rows: list[dict[str, Cell]] = []
    for id, rooms in places.items():
        it = home.finishes[id]
        care, warning = _care_of(it)
        code = codes.get(id, "")
        if not code and it.kind in ("paint", "paper"):
            missing.append(f"{it.name}: the maker's code")
        rows.append(
            {
                "finish": id,
                "what": it.name,
                "kind": it.kind,
                "sheen": it.sheen or NOT_SAID,
                "code": code,
                "where": "; ".join(f"{room}: {', '.join(w)}" for room, w in rooms.items()),
                "care": care,
                "warning": warning,
            }
        )
    columns = dict.fromkeys(("client", "trade", "studio"), _FINISHES)
    return cut("finishes and paint", audience=audience, columns=columns, rows=rows, project=project)


def _spare(line: TakeoffLine, home: Home) -> tuple[str, str] | None:
    """What is left over on purpose, and why."""
    made = line.detail
    if isinstance(made, Wallcovering) and made.spare:
        return f"{made.spare} roll{'s' if made.spare > 1 else ''}", "spare, of the same dye lot"
    if isinstance(made, Paint) and made.cans.surplus > 0:
        return (
            f"about {volume_text(made.cans.surplus, system_of(home.units))}",
            "left in the can, for touch-up",
        )
    if isinstance(made, Floor) and line.order > line.net:
        left = area_text(line.order - line.net, system_of(home.units))
        return f"up to {left}", "what the waste does not use"
    return None


def _kept(
    project: Project,
    audience: Audience,
    layout: str,
    goods: Mapping[str, Goods] | None,
    missing: list[str],
) -> Table:
    home = project.home
    rows: list[dict[str, Cell]] = []
    for line in takeoff(project, layout, goods=goods).lines:
        spare = _spare(line, home)
        if spare is None:
            continue
        lots = {
            c.more.get("dye_lot", "")
            for c in project.costs
            if c.more.get("dye_lot") and c.more.get("finish", "") == line.finish
        }
        if line.kind == "wallcovering" and not lots:
            missing.append(f"{line.what}: its dye lot (columns finish and dye_lot)")
        rows.append(
            {
                "what": line.what,
                "kept": spare[0],
                "room": ", ".join(home.rooms[r].name for r in line.rooms if r in home.rooms),
                "dye lot": ", ".join(sorted(lots)),
                "why": spare[1],
            }
        )
    columns = dict.fromkeys(("client", "trade", "studio"), _KEPT)
    return cut("kept for later", audience=audience, columns=columns, rows=rows, project=project)
