"""What the page "my room" says: answers, tables, what is still to measure."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from typing import Any

from designkit.analyses.of_walks import Walked
from designkit.errors import DesignkitError
from designkit.figures.survey_sheet import KNOWN_AS
from designkit.model import Home, Layout, Photo
from designkit.plan.box import BoxPiece
from designkit.plan.survey import Survey
from designkit.plan.survey_items import corner
from designkit.plan.survey_words import lines_of
from designkit.project.problems import ProjectErrors
from designkit.studies.room_controls import sides_of
from designkit.studies.room_forms import OPENINGS, form_of
from designkit.units import in_sentence

__all__ = [
    "answer_of",
    "box_table",
    "item_table",
    "left_table",
    "photo_table",
    "pieces_table",
    "problem_row",
    "problem_rows",
    "wall_table",
    "working_rows",
]

SCOPE = "Fitted kitchens and bathrooms are out of scope: those who make them plan them."


def _say(length: float, units: str) -> str:
    return in_sentence(round(length, 6), units=units)


def answer_of(survey: Survey | None, problems: Sequence[DesignkitError], text: str) -> str:
    """Where the walk stands, in one sentence or two.

    Parameters
    ----------
    survey : Survey or None
        As walked.
    problems : sequence of DesignkitError
        What is wrong with it.
    text : str
        As typed.

    Returns
    -------
    str
        The sentence.
    """
    if not text.strip():
        return (
            "Stand in a corner and walk along the walls: right, up, left or down as you draw "
            "them on paper, each with its length, one a line, until you are back."
        )
    if survey is None or not survey.walls:
        return _problem(problems) if problems else ""
    count = len(survey.walls)
    others = [p for p in problems if p.what not in _CLOSING]
    if survey.area is None and not others:
        x, y = survey.error
        ways = [
            f"{_say(abs(x), survey.units)} to the {'left' if x > 0 else 'right'}"
            if abs(x) > 5e-4
            else "",
            f"{_say(abs(y), survey.units)} {'down' if y > 0 else 'up'}" if abs(y) > 5e-4 else "",
        ]
        back = " and ".join(w for w in ways if w)
        said = f"{count} {'wall' if count == 1 else 'walls'} so far."
        if back:
            said += f" Back to corner {corner(0)} it is {back}."
        if not _goes_on(survey) and problems:
            said += f" {_problem(problems)}"
        return said
    if problems:
        return _problem(problems)
    return survey.sentence


_ALMOST = 0.12  # a walk that misses by more is taken as one that still goes on
_CLOSING = ("closing error", "walk")


def _goes_on(survey: Survey) -> bool:
    return len(survey.walls) < 3 or survey.relative > _ALMOST


def _problem(problems: Sequence[DesignkitError]) -> str:
    """A problem as a sentence that says what to do."""
    one = problems[0]
    if isinstance(one, ProjectErrors):
        return _not_taken(one)
    head = one.what if one.given is None else f"{one.what}: {one.given}"
    said = f"{head[:1].upper()}{head[1:]}."
    if one.allowed:
        said += f" Allowed: {one.allowed}."
    if one.mend:
        said += f" To mend: {one.mend}."
    # inches as they are typed, not as a file has them in quotation marks
    return re.sub(r'"([^"\\]*)\\""', r'\1"', said)


def _not_taken(errors: ProjectErrors) -> str:
    """Why the project does not take a walk, in a sentence."""
    named = [str(p.given).strip("'") for p in errors.problems if "the id of" in str(p.allowed)]
    if not named:
        first = errors.problems[0]
        return (
            f"The room stays as it was: {first.path} would be {first.given}. Allowed: "
            f"{first.allowed}. To mend: {first.mend}."
        )
    names = ", ".join(dict.fromkeys(named))
    return (
        f"The room stays as it was: layouts or the brief name what this walk leaves out: {names}. "
        "To mend: put these into the walk, or take out first what names them."
    )


CHANGED = (
    "This room is not as its walk has it: it was changed elsewhere since, or the project did not "
    "take the walk. Type any part of the walk again to take it in."
)


def problem_row(problem: DesignkitError, *, where: str = "") -> dict[str, Any]:
    """One thing that is to be mended.

    Parameters
    ----------
    problem : DesignkitError
        What is wrong.
    where : str, optional
        Words before it.

    Returns
    -------
    dict of str to Any
        A row of findings.
    """
    text = f"{where}{_problem([problem])}"
    return {"n": "", "state": "to mend", "text": text, "source": "as typed"}


def problem_rows(walked: Walked, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """What is to be mended, of all rooms.

    Parameters
    ----------
    walked : Walked
        The home with its walks.
    names : mapping of str to str
        Of the rooms, by id.

    Returns
    -------
    list of dict of str to Any
        Rows of findings.
    """
    rows = []
    for id, problems in walked.problems.items():
        survey = walked.surveys.get(id)
        for problem in problems:
            if survey is not None and _goes_on(survey) and problem.what in _CLOSING:
                continue  # the answer says how far it is back
            where = f"{names.get(id, '')}: " if id and len(names) > 1 else ""
            rows.append(problem_row(problem, where=where))
    for id in walked.apart:
        rows.append(
            {
                "n": "",
                "state": "measure first",
                "text": f"{names.get(id, id)} is joined to no other room yet and is drawn beside "
                "them. Give the door between two rooms in both of them, each time with the "
                "other room under “Leads to”.",
                "source": "",
            }
        )
    return rows


def wall_table(survey: Survey, chosen: int) -> dict[str, Any]:
    """The walls, as typed and as drawn.

    Parameters
    ----------
    survey : Survey
        As walked.
    chosen : int
        The wall that the forms are about.

    Returns
    -------
    dict of str to Any
        A table of the page.
    """
    units = survey.units
    count = max(1, len(survey.outline))
    rows = []
    for wall in survey.walls:
        change = wall.change if wall.measured else 0.0
        rows.append(
            [
                f"wall {wall.index + 1}",
                f"{corner(wall.index)} to {corner((wall.index + 1) % count)}",
                wall.said,
                _say(wall.length, units),
                f"{'+' if change > 0 else ''}{_say(change, units)}" if abs(change) > 5e-4 else "–",
                f"± {_say(wall.within, units)}",
                KNOWN_AS[wall.known.source] if wall.measured else "to measure",
            ]
        )
    return {
        "id": "walls",
        "title": "Walls",
        "note": "as typed and as drawn",
        "head": ["wall", "corners", "typed", "length", "changed by", "±", "known"],
        "align": ["l", "l", "l", "r", "r", "r", "l"],
        "rows": rows,
        "pick": [str(wall.index) for wall in survey.walls],
        "picked": str(chosen),
    }


def item_table(
    text: str,
    *,
    openings: bool,
    picked: str,
    survey: Survey | None,
    names: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """What stands in the brackets of a walk.

    Parameters
    ----------
    text : str
        As typed.
    openings : bool
        Openings, or services and columns.
    picked : str
        "wall.number" of the one in the form.
    survey : Survey or None
        As walked.
    names : mapping of str to str, optional
        What the rooms are called.

    Returns
    -------
    dict of str to Any
        A table of the page; its rows are picked by wall and number.
    """
    rows: list[list[str]] = []
    ids: list[str] = []
    count = max(1, len(survey.outline)) if survey is not None else 1
    try:
        lines = lines_of(text)
    except DesignkitError:
        lines = ()
    for line in lines:
        if line.wall is None:
            continue
        for k, bracket in enumerate(line.brackets):
            form = form_of(bracket)
            if (form["what"] in OPENINGS) != openings:
                continue
            end = line.wall + (1 if form["corner"] == "end" else 0)
            kind = "balcony door" if form["what"] == "balcony" else form["what"]
            row = [
                form["name"] or kind,
                f"wall {line.wall + 1}",
                form["width"] or "–",
                f"{form['distance']} from {corner(end % count)}",
            ]
            if openings:
                form["to"] = (names or {}).get(form["to"], "") or form["to"]
                more = [
                    f"{word} {form[word]}"
                    for word in ("hinge", "swing", "leaf", "clear", "to")
                    if form[word] and not (word == "leaf" and form[word] == "fixed")
                    and not (word == "swing" and not form["hinge"])
                ]  # fmt: skip
                sill = form["sill"] or ("to measure" if form["what"] == "window" else "–")
                row += [sill, form["head"] or "to measure", ", ".join(more) or "–"]
            else:
                row += [form["out"] or "–", form["high_at"] or "–"]
            ids.append(f"{line.wall}.{k}")
            rows.append(row)
    head = ["opening", "in", "width", "distance", "sill", "head", "more"]
    if not openings:
        head = ["what", "at", "width", "distance", "out", "height"]
    return {
        "id": "openings" if openings else "things",
        "title": "Openings" if openings else "Services and columns",
        "note": "choose one to change it or to take it out" if rows else "none yet",
        "head": head,
        "rows": rows,
        "pick": ids,
        "picked": picked,
    }


def left_table(survey: Survey) -> dict[str, Any]:
    """What is still to measure, in the order of a walk.

    Parameters
    ----------
    survey : Survey
        As walked.

    Returns
    -------
    dict of str to Any
        A table of the page.
    """
    said = survey.to_measure
    return {
        "title": "Still to measure",
        "note": "in the order of a walk round the room; the survey sheet has it to fill in"
        if said
        else "nothing: all of it was measured",
        "head": ["", "what"],
        "rows": [[str(n), text] for n, text in enumerate(said, start=1)],
    }


def photo_table(photos: Mapping[str, Photo], room: str, missing: Sequence[str]) -> dict[str, Any]:
    """The photographs of a room, by wall.

    Parameters
    ----------
    photos : mapping of str to Photo
        Of the home.
    room : str
        The room.
    missing : sequence of str
        Ids of those whose file is gone.

    Returns
    -------
    dict of str to Any
        A table of the page.
    """
    here = {id: one for id, one in photos.items() if one.room == room}
    order = sorted(here, key=lambda id: (here[id].wall is None, here[id].wall or 0))
    return {
        "id": "photos",
        "title": "Photographs",
        "note": "in the project folder" if here else "none yet",
        "head": ["wall", "what is to be seen", "file"],
        "rows": [
            [
                "the whole room" if (wall := here[id].wall) is None else f"wall {wall + 1}",
                here[id].note or "–",
                f"{here[id].file} is not there" if id in missing else here[id].file,
            ]
            for id in order
        ],
        "pick": order,
    }


def box_table(one: BoxPiece, home: Home) -> dict[str, Any]:
    """What is known of a generic piece.

    Parameters
    ----------
    one : BoxPiece
        From the box.
    home : Home
        For its units.

    Returns
    -------
    dict of str to Any
        A table of the page.
    """
    units = home.units
    piece = one.piece

    mass = [in_sentence(n, kind="mass", units=units, places=0) for n in one.mass]
    rows = [["width × depth × height", sides_of(piece, units)]]
    if piece.seat_height is not None:
        rows.append(["height of the seat", _say(piece.seat_height, units)])
    if piece.arm_height:
        rows.append(["height of the arms", _say(piece.arm_height, units)])
    box = dataclasses.replace(piece, size=piece.packed or piece.size, shape="rectangle")
    rows.append(["packed", sides_of(box, units) if piece.packed else "as it stands"])
    rows.append(["mass", f"{mass[0]} to {mass[1]}"])
    if one.region:
        rows.append(["sold in", one.region])
    if one.note:
        rows.append(["note", one.note])
    rows.append(["source", f"{one.source}; {one.known}"])
    return {
        "title": piece.name[:1].upper() + piece.name[1:],
        "note": "generic, by kind and size",
        "head": ["", ""],
        "rows": rows,
    }


def pieces_table(home: Home, layout: Layout, picked: str) -> dict[str, Any]:
    """The pieces of a layout.

    Parameters
    ----------
    home : Home
        Gives the pieces.
    layout : Layout
        Where they stand.
    picked : str
        The one that is chosen.

    Returns
    -------
    dict of str to Any
        A table of the page.
    """
    rows = []
    for id, spot in layout.pieces.items():
        piece = home.pieces[spot.item or id]
        rows.append([piece.name, sides_of(piece, home.units), KNOWN_AS[piece.known.source]])
    return {
        "id": "pieces",
        "title": "In the layout",
        "note": "choose one to move it or to take it away" if rows else "nothing yet",
        "head": ["piece", "width × depth × height", "known"],
        "rows": rows,
        "pick": list(layout.pieces),
        "picked": picked,
    }


def working_rows(survey: Survey | None, sources: Sequence[tuple[str, str]]) -> list[list[str]]:
    """How the room is worked out.

    Parameters
    ----------
    survey : Survey or None
        As walked.
    sources : sequence of tuple of str
        Rules and where they come from.

    Returns
    -------
    list of list of str
        What, how, source.
    """
    rows = []
    if survey is not None and survey.area is not None:
        how = {
            "square": "each wall takes a share of the error along x by its own extent along x, "
            "and so for y: right angles stay right angles",
            "compass": "each wall takes a share of the error by its length",
        }[survey.rule]
        if survey.pinned is not None:
            how = f"wall {survey.pinned + 1} takes what it can along itself; then {how}"
        book = "Ghilani and Wolf, Elementary Surveying, traverse computations"
        rows.append(["closing error", how, book])
        rows.append(
            [
                "± of the closing error",
                f"root of the sum of squares of the walls: {_say(survey.expected, survey.units)}",
                "assumption of the project",
            ]
        )
        rows += [["diagonal", one.why, "common practice"] for one in survey.diagonals]
    rows += [[what, "what nobody measured is taken as usual", source] for what, source in sources]
    rows.append(["out of scope", SCOPE, ""])
    return rows
