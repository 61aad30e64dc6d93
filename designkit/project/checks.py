"""The second pass over a project: limits, names, shapes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from designkit import model
from designkit.errors import nearest
from designkit.palette.glazing import glazings
from designkit.project.filling import Key
from designkit.project.limits import check_limits
from designkit.project.problems import Notes
from designkit.project.references import NAMES, Ids, check_names
from designkit.project.shapes import check_shapes
from designkit.project.tables import TABLES, Sheet

__all__ = ["run"]


def run(
    project: model.Project,
    *,
    raw: Mapping[str, Any],
    sheets: Mapping[str, Sheet],
    failed: Mapping[tuple[Key, ...], type[Any]],
    lost: Mapping[str, int],
    folder: Path,
    known: model.Home | None = None,
) -> Notes:
    """Check what the first pass could read.

    Parameters
    ----------
    project : Project
        As far as it could be read.
    raw : mapping
        Content of project.toml.
    sheets : mapping of str to Sheet
        The CSV files that could be taken apart.
    failed : mapping
        Entries that could not be read, with their class.
    lost : mapping of str to int
        Rows that could not be read, by table.
    folder : Path
        The project folder.
    known : Home, optional
        An earlier state without problems.

    Returns
    -------
    Notes
        Problems, remarks, and how many checks wait for what was not read.
    """
    notes = Notes()
    for cls in failed.values():
        notes.waiting += len(NAMES.get(cls, ()))
    for name, count in lost.items():
        notes.waiting += count * len(NAMES[TABLES[name]])
    unread = [name for name in TABLES if lost.get(name) and name not in sheets]
    check_limits(project.home, folder, notes, known=known)
    check_names(project, Ids.of(raw, sheets, unread), raw, notes)
    rooms = frozenset(str(keys[1]) for keys in failed if len(keys) == 2 and keys[0] == "rooms")
    check_shapes(project.home, rooms, notes)
    _check_glass(project.home, notes)
    return notes


def _check_glass(home: model.Home, notes: Notes) -> None:
    """The glass of a window is one of the kinds that there are; doors have none."""
    known = glazings()
    for id, opening in home.openings.items():
        glass, path = opening.glass, f"openings.{id}.glass"
        if glass and glass not in known:
            near = nearest(glass, known)
            notes.bad(
                path,
                repr(glass),
                f"a kind of glass: {', '.join(known)}",
                f"write {near}" if near else "use one of these, or leave it out",
            )
        elif glass and opening.kind in ("door", "passage"):
            notes.remark(path, repr(glass), f"a window or balcony door; a {opening.kind} has none")
