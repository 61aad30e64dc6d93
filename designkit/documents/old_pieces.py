"""The condition sheet: what to look at on each old piece, and what is kept aside for it."""

from __future__ import annotations

from collections.abc import Mapping

from designkit.costs.condition import Condition, condition, form_of
from designkit.documents.audience import check_audience, cut
from designkit.model import Project
from designkit.plan.pieces import kind_of
from designkit.takeoff.tables import Audience, Cell, Table

__all__ = ["condition_sheet", "conditions_of"]

_COLUMNS = {
    "trade": ("old piece", "look at", "question", "answer", "repair"),
    "studio": (
        "old piece",
        "look at",
        "question",
        "answer",
        "repair",
        "low",
        "likely",
        "high",
        "why",
    ),
}


def conditions_of(project: Project) -> Mapping[str, Condition]:
    """What the checklist of each old piece comes to.

    Parameters
    ----------
    project : Project
        Pieces that say `old`, with what they say under `condition`.

    Returns
    -------
    mapping of str to Condition
        By piece id; a kind that has no checklist is not there.

    Raises
    ------
    InputError
        An answer is none of the three.
    LookupFailed
        A check point is unknown.
    """
    home = project.home
    found = {}
    for id, piece in home.pieces.items():
        form = form_of(kind_of(piece).form) if piece.old else None
        if form is not None:
            found[id] = condition(
                form, answers=piece.condition, code=home.money.currency, overrides=home.rules
            )
    return found


def condition_sheet(project: Project, *, audience: Audience = "studio") -> Table:
    """The checklist of every old piece with its answers and its repair allowance.

    Parameters
    ----------
    project : Project
        The project.
    audience : {"trade", "studio"}
        The restorer reads the questions; the sums are the studio's.

    Returns
    -------
    Table
        A row a check point; sums are for one piece, before tax.

    Raises
    ------
    InputError
        Another audience, or an answer is none of the three.
    LookupFailed
        A check point is unknown.
    """
    check_audience(audience, allowed=tuple(_COLUMNS))
    rows: list[dict[str, Cell]] = [
        {
            "old piece": project.home.pieces[id].name,
            "look at": row.point.part,
            "question": row.point.question,
            "answer": "not looked at" if row.answer == "unknown" else row.answer,
            "repair": row.point.repair,
            "low": row.low,
            "likely": row.likely,
            "high": row.high,
            "why": row.why,
        }
        for id, found in conditions_of(project).items()
        for row in found.rows
    ]
    return cut("condition sheet", audience=audience, columns=_COLUMNS, rows=rows, project=project)
