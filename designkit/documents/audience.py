"""Who may read what: columns by audience, and suppliers' names out of free text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import get_args

from designkit.errors import InputError
from designkit.model import Project
from designkit.takeoff.tables import Audience, Cell, Table

__all__ = ["check_audience", "cut", "without_suppliers"]


def check_audience(audience: str, *, allowed: tuple[str, ...] = get_args(Audience)) -> None:
    """Refuse an audience that a paper is not for.

    Parameters
    ----------
    audience : str
        Who will read it.
    allowed : tuple of str, optional
        Who may; by default client, trade and studio.

    Raises
    ------
    InputError
        The paper is not for that audience.
    """
    if audience not in allowed:
        raise InputError(
            "audience", given=audience, allowed=", ".join(allowed), mend="name who will read it"
        )


def _suppliers(project: Project, *, but: str = "") -> list[str]:
    # Longest first: "Supplier 12" must not be cut short by "Supplier 1".
    names = {c.supplier.strip() for c in project.costs} - {"", but}
    return sorted(names, key=lambda name: (-len(name), name))


def without_suppliers(text: str, *, project: Project, but: str = "") -> str:
    """Free text in which each supplier's name is replaced, in plain sight.

    Parameters
    ----------
    text : str
        Any text of the project.
    project : Project
        Its cost lines name the suppliers.
    but : str, optional
        The one supplier that the paper is for.

    Returns
    -------
    str
        With "(supplier)" in place of a name.
    """
    for name in _suppliers(project, but=but):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", "(supplier)", text, flags=re.IGNORECASE)
    return text


def cut(
    name: str,
    *,
    audience: Audience,
    columns: Mapping[str, tuple[str, ...]],
    rows: Iterable[Mapping[str, Cell]],
    project: Project,
    supplier: str = "",
) -> Table:
    """A table with the columns of its audience and no other.

    Parameters
    ----------
    name : str
        Of the table.
    audience : {"client", "trade", "studio"}
        Who reads it.
    columns : mapping of str to tuple of str
        The columns of each audience.
    rows : iterable of mapping
        With all columns.
    project : Project
        For the suppliers' names.
    supplier : str, optional
        The one supplier that a paper for the trade is for.

    Returns
    -------
    Table
        For the client, free text is without suppliers; for one supplier it is
        without the others.

    Raises
    ------
    InputError
        The table is not for that audience.
    """
    check_audience(audience, allowed=tuple(columns))
    kept = []
    for row in rows:
        cells: dict[str, Cell] = {column: row[column] for column in columns[audience]}
        if audience == "client" or supplier:
            cells = {
                column: without_suppliers(cell, project=project, but=supplier)
                if isinstance(cell, str)
                else cell
                for column, cell in cells.items()
            }
        kept.append(cells)
    return Table(name=name, audience=audience, columns=columns[audience], rows=tuple(kept))
