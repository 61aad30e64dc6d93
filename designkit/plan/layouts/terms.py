"""The terms of the score, in the designer's words, with their weights from the reference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

__all__ = ["TERMS", "Term", "term_of", "weight_rule"]


@dataclass(frozen=True, kw_only=True)
class Term:
    """One thing that a layout is judged by; its weight is a rule of the project."""

    id: str
    name: str  # heading
    of: Literal["place", "pair", "whole"]  # what it looks at
    gives: str  # clause, where it is well met
    costs: str  # clause, where it is not


def _term(
    id: str, name: str, of: Literal["place", "pair", "whole"], gives: str, costs: str
) -> Term:
    return Term(id=id, name=name, of=of, gives=gives, costs=costs)


TERMS: tuple[Term, ...] = (
    _term("view", "View from the seats", "place",
          "the seats look out of the window", "the seats look away from the window"),
    _term("back_window", "Back to a window", "place",
          "no seat stands before the glass", "a seat stands with its back before the glass"),
    _term("back_entrance", "Back to the entrance", "place",
          "who sits sees who comes in",
          "a seat turns its back to the entrance and the way in runs close behind it"),
    _term("wall", "At the wall or well off it", "place",
          "what has a back stands at a wall or clearly off it",
          "a piece stands neither at the wall nor clearly off it"),
    _term("centred", "Centred on its wall", "place",
          "the large pieces are centred on their wall or window",
          "the large pieces stand off the middle of their walls"),
    _term("square", "Square with the room", "place",
          "the large pieces are square with a wall", "a large piece stands askew"),
    _term("straight", "Straight ways between doors", "place",
          "one walks straight from door to door",
          "a piece stands in the straight way between doors"),
    _term("dining_light", "Table near daylight", "place",
          "the table has daylight", "the table is far from the window"),
    _term("dining_kitchen", "Table near the kitchen", "place",
          "the table is near the kitchen", "plates are carried far from the kitchen"),
    _term("outlet", "Table under its outlet", "place",
          "the table stands under the ceiling outlet",
          "the lamp over the table needs a new outlet or a long cord"),
    _term("socket", "Reach of sockets", "place",
          "screen, desk and lamps are near sockets", "a cord runs far to its socket"),
    _term("desk_light", "Daylight from the side", "place",
          "the desk has daylight from the side", "the desk has poor daylight"),
    _term("bed_place", "Where the bed stands", "place",
          "the bed's head is at a wall and the door is in sight",
          "the bed's head is badly placed to window or door"),
    _term("glare", "Glare on the screen", "place",
          "the screen is turned from the windows", "a window is mirrored in the screen"),
    _term("glass", "Glass left free", "place",
          "the windows stay free", "furniture stands before the glass"),
    _term("first_sight", "First sight from the entrance", "place",
          "the sight line from the entrance is open", "a piece stands in the first sight"),
    _term("plant_light", "Plants near daylight", "place",
          "plants have light", "a plant stands in the dark"),
    _term("screen", "Facing the screen", "pair",
          "the sofa faces the screen at a good distance",
          "the screen is too near, too far or off to the side"),
    _term("talk", "Talk", "pair",
          "the seats are in easy talking distance", "the seats are too far apart or turned away"),
    _term("reach", "A table within reach", "pair",
          "a table is within reach of the seats", "a seat has no table within reach"),
    _term("mates", "Pieces that belong together", "pair",
          "what belongs together stands together", "a piece stands apart from what it belongs to"),
    _term("pair", "Pairs", "pair",
          "equal pieces stand as a pair", "equal pieces do not read as a pair"),
    _term("serve", "Storage near the table", "pair",
          "the sideboard is near the table", "the sideboard is far from the table"),
    _term("zones", "Places kept apart", "pair",
          "dining and sitting are clearly two places", "dining and sitting run into each other"),
    _term("aligned", "Alignment", "pair",
          "the main pieces share an axis", "the main pieces share no axis"),
    _term("asked", "As asked", "pair",
          "what was asked to stand together does", "what was asked to stand together is far apart"),
    _term("seen", "View past other pieces", "whole",
          "nothing hides the view", "other pieces hide part of the view"),
    _term("route_width", "Width to spare", "whole",
          "the ways are wider than needed", "the ways are as wide as needed and no more"),
    _term("route_length", "Direct ways", "whole",
          "the ways are direct", "a way winds round the furniture"),
    _term("balance", "Balance", "whole",
          "the weight of the furniture is spread over the room",
          "the furniture is all on one side"),
    _term("free_floor", "Free floor", "whole",
          "there is a large free floor", "the free floor is cut into small parts"),
    _term("symmetry", "Symmetry of the group", "whole",
          "the group is symmetric about the sofa", "the group leans to one side"),
)  # fmt: skip

_BY_ID: Mapping[str, Term] = {term.id: term for term in TERMS}


def term_of(id: str) -> Term:
    """A term by its id.

    Parameters
    ----------
    id : str
        For example "view".

    Returns
    -------
    Term
        With its words.

    Examples
    --------
    >>> term_of("talk").of
    'pair'
    """
    return _BY_ID[id]


def weight_rule(id: str) -> str:
    """The reference id of a term's weight, which a project may set in its rules.

    Parameters
    ----------
    id : str
        Of the term.

    Returns
    -------
    str
        For example "plan.score.view".
    """
    return f"plan.score.{id}"
