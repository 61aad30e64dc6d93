"""How far each line is: its steps with their days, what came, what is not right."""

from __future__ import annotations

import datetime

from designkit.days import day_words
from designkit.documents.audience import cut
from designkit.documents.life import DAY_OF, STATES, WHO_OF, open_lines, state_of
from designkit.model import CostLine, Home, Project
from designkit.schedule.calendars import date_of
from designkit.takeoff.tables import Audience, Cell, Table

__all__ = ["life_sheet", "steps_of"]

_COLUMNS = {"studio": ("line", "item", "room", "state", "steps", "what came", "snag")}


def steps_of(line: CostLine) -> tuple[tuple[str, datetime.date, str], ...]:
    """The steps that a line has behind it, as far as a day is written.

    Parameters
    ----------
    line : CostLine
        The line.

    Returns
    -------
    tuple of (str, date, str)
        State, day, and who it was ("" where nobody has to be named).

    Raises
    ------
    InputError
        A day is none.

    Examples
    --------
    >>> from decimal import Decimal
    >>> more = {"agreed_on": "2026-11-20", "agreed_by": "the client"}
    >>> line = CostLine(id="a", item="a", category="new", likely=Decimal(1), more=more)
    >>> steps_of(line)
    (('agreed', datetime.date(2026, 11, 20), 'the client'),)
    """
    found = []
    for state in STATES:
        column = DAY_OF[state]
        text = line.more.get(column, "").strip() if column else ""
        if text:
            who = line.more.get(WHO_OF.get(state, ""), "").strip()
            found.append((state, date_of(f"{column} of {line.id}", text), who))
    return tuple(found)


def _came(line: CostLine) -> str:
    said = {name: line.more.get(name, "").strip() for name in ("received", "boxes", "damage")}
    lot = line.more.get("dye_lot", "").strip()
    parts = [
        f"{said['received']} of {line.quantity:f}" if said["received"] else "",
        f"boxes: {said['boxes']}" if said["boxes"] else "",
        f"damage: {said['damage']}" if said["damage"] else "",
        lot if lot.startswith("lot") or not lot else f"lot {lot}",
    ]
    return "; ".join(part for part in parts if part)


def _room(home: Home, room: str) -> str:
    return home.rooms[room].name if room in home.rooms else room


def life_sheet(project: Project, *, audience: Audience = "studio") -> Table:
    """How far each line is, for the studio alone.

    Parameters
    ----------
    project : Project
        Its lines as drawn.
    audience : {"studio"}
        Nobody else.

    Returns
    -------
    Table
        Lines with a step behind them, in the order of the file.

    Raises
    ------
    InputError
        Another audience, or a state or a day of a line is none.
    """
    rows: list[dict[str, Cell]] = []
    for line in open_lines(project):
        steps = steps_of(line)
        if not steps:
            continue
        rows.append(
            {
                "line": line.id,
                "item": line.item,
                "room": _room(project.home, line.room),
                "state": state_of(line),
                "steps": "; ".join(
                    f"{state} {day_words(day, short=True)}" + (f" by {who}" if who else "")
                    for state, day, who in steps
                ),
                "what came": _came(line),
                "snag": line.more.get("snag", ""),
            }
        )
    return cut("steps", audience=audience, columns=_COLUMNS, rows=rows, project=project)
