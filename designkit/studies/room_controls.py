"""The controls of the page "my room", one list for each of its parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from designkit.figures.plan import size_words
from designkit.figures.survey_sheet import KNOWN_AS
from designkit.model import Home, Piece
from designkit.plan.box import BoxPiece, box_groups
from designkit.plan.pieces import kinds
from designkit.plan.survey import Survey
from designkit.plan.survey_items import corner
from designkit.project.references import PLACES
from designkit.studies.room_forms import LEAVES, OPENINGS, THINGS, WIDE, fields_of
from designkit.units import IMPERIAL, in_sentence

__all__ = [
    "ANOTHER",
    "EXAMPLE",
    "PARTS",
    "USES",
    "furniture_controls",
    "opening_controls",
    "paper_control",
    "papers_of",
    "photo_controls",
    "sides_of",
    "size_text",
    "thing_controls",
    "wall_choices",
    "wall_controls",
]

PARTS = [
    ("walls", "walls"),
    ("openings", "doors and windows"),
    ("things", "services and columns"),
    ("photos", "photographs"),
    ("furniture", "furniture"),
]
ANOTHER = "+"
USES = ("living", "dining", "sleeping", "working", "hall", "kitchen", "bathroom", "balcony")
EXAMPLE = {
    False: "right 4.12\nup 2.60\nleft 1.50\nup 0.80\nleft 2.62\ndown 3.40",
    True: "right 13'-6\"\nup 8'-6\"\nleft 5'-0\"\nup 2'-8\"\nleft 8'-6\"\ndown 11'-2\"",
}
_LONG = {False: "0.90", True: "3'-0\""}
_LEADS = ("outside", "balcony", "stair", "landing", "corridor", "lift", "garden", "terrace")
assert set(_LEADS) <= set(PLACES)
_KIND_WORDS = {"balcony": "balcony door"}


def _field(id: str, label: str, hint: str = "", *, more: bool = False) -> dict[str, Any]:
    found: dict[str, Any] = {"kind": "field", "id": id, "label": label}
    if hint:
        found["hint"] = hint
    if more:
        found["more"] = True
    return found


def _choice(
    kind: str, id: str, label: str, choices: Sequence[Sequence[str]], *, more: bool = False
) -> dict[str, Any]:
    found: dict[str, Any] = {
        "kind": kind,
        "id": id,
        "label": label,
        "choices": [list(c) for c in choices],
    }
    if more:
        found["more"] = True
    return found


def _source(id: str, label: str, *, more: bool = True) -> dict[str, Any]:
    rows = [(key, words) for key, words in KNOWN_AS.items() if key != "seller"]
    return _choice("choose", id, label, rows, more=more)


def papers_of(home: Home) -> tuple[str, str]:
    """The papers that the survey sheet is offered on, the usual one first.

    Parameters
    ----------
    home : Home
        For its units.

    Returns
    -------
    tuple of two str
        Keys of `designkit.figures.sheet.PAPERS`.
    """
    return ("Letter", "Tabloid") if home.units in IMPERIAL else ("A4", "A3")


def paper_control(home: Home) -> dict[str, Any]:
    """The paper of the survey sheet.

    Parameters
    ----------
    home : Home
        For its units.

    Returns
    -------
    dict of str to Any
        For the page.
    """
    return _choice("words", "paper", "Survey sheet on", [(p, p) for p in papers_of(home)])


def wall_choices(survey: Survey | None) -> list[list[str]]:
    """The walls of a walk to choose from: number, corners, length.

    Parameters
    ----------
    survey : Survey or None
        As walked.

    Returns
    -------
    list of list of str
        Index and words of each.
    """
    if survey is None:
        return []
    count = max(1, len(survey.outline))
    return [
        [
            str(wall.index),
            f"{wall.index + 1}, {corner(wall.index)} to {corner((wall.index + 1) % count)}, "
            f"{in_sentence(round(wall.length, 6), units=survey.units)}",
        ]
        for wall in survey.walls
    ]


def wall_controls(
    *, home: Home, rooms: Sequence[Sequence[str]], survey: Survey | None, values: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """Walls, height, diagonals, and where the closing error goes.

    Parameters
    ----------
    home : Home
        For its units.
    rooms : sequence
        Ids and names of the rooms.
    survey : Survey or None
        As walked.
    values : mapping
        Of the page.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    imperial = home.units in IMPERIAL
    found = [
        _choice("choose", "room", "Room", [*rooms, (ANOTHER, "another room")]),
        _field("name", "Called", "living room"),
        {
            "kind": "text",
            "id": "walk",
            "label": "Walls, once round the room",
            "rows": 8,
            "hint": EXAMPLE[imperial],
        },
        _field("height", "Floor to ceiling", "8'-6\"" if imperial else "2.62"),
        {
            "kind": "text",
            "id": "diagonals",
            "label": "Diagonals, from corner to corner",
            "rows": 2,
            "hint": "A C 15'-11\"" if imperial else "A C 4.87",
        },
    ]
    if survey is not None and survey.area is not None and survey.error_length > 5e-4:
        ways = [
            ("square", "over all walls, square"),
            ("compass", "over all walls, by length"),
            ("pinned", "on one wall"),
        ]
        found.append(_choice("words", "spread", "The closing error goes", ways))
        if values.get("spread") == "pinned":
            found.append(_choice("choose", "pinned", "On wall", wall_choices(survey)))
    found.append(
        _choice("choose", "use", "Used for", [("", "–"), *((u, u) for u in USES)], more=True)
    )
    found.append(_source("source", "Lengths that say nothing are"))
    return found


def _ends(survey: Survey | None, values: Mapping[str, Any]) -> list[tuple[str, str]]:
    wall = int(values.get("wall") or 0)
    count = max(1, len(survey.outline)) if survey is not None else 1
    return [("at", corner(wall)), ("end", corner((wall + 1) % count))]


def opening_controls(
    *, home: Home, rooms: Sequence[Sequence[str]], survey: Survey | None, values: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """One opening: kind, width, distance from a corner, heights, hinge, where it leads.

    Parameters
    ----------
    home : Home
        For its units.
    rooms : sequence
        Ids and names of the rooms.
    survey : Survey or None
        As walked.
    values : mapping
        Of the page.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    hint = _LONG[home.units in IMPERIAL]
    kind = str(values["what"])
    has = fields_of(kind)
    leads = [("", "–"), *rooms, *((p, p) for p in _LEADS)]
    if values.get("to") and values["to"] not in [row[0] for row in leads]:
        leads.append((values["to"], values["to"]))
    found = [
        _choice("choose", "wall", "In wall", wall_choices(survey)),
        _choice("words", "what", "Opening", [(k, _KIND_WORDS.get(k, k)) for k in OPENINGS]),
        _field("width", "Width", hint),
        _field("distance", "Distance from the corner to its near edge", hint),
        _choice("words", "corner", "Measured from corner", _ends(survey, values)),
        _field("head", "Head, above the floor"),
    ]
    if kind == "window":
        found.append(_field("sill", "Sill, above the floor"))
        found.append(_choice("choose", "leaf", "Its leaf is", [(k, k) for k in LEAVES]))
    if "hinge" in has:
        sides = [("", "–"), ("left", "left"), ("right", "right")]
        found.append(_choice("words", "hinge", "Hinges, seen from inside", sides))
        ways = [("in", "in"), ("out", "out"), ("slide", "slide"), ("none", "none")]
        found.append(_choice("words", "swing", "Swings", ways))
    found.append(_choice("choose", "to", "Leads to", leads))
    if "clear" in has:
        found.append(_field("clear", "Clear width of the open door", more=True))
    if kind == "window":
        found.append(_field("leaves", "Number of leaves", more=True))
    elif "sill" in has:
        found.append(_field("sill", "Sill, above the floor", more=True))
    found += [
        _field("thick", "Thickness of the wall", more=True),
        _field("name_of", "Called", more=True),
        _source("source_of", "Its dimensions are"),
        _field("within", "±", more=True),
    ]
    return found


def thing_controls(
    *, home: Home, survey: Survey | None, values: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """One service or column: kind, distance along the wall, height.

    Parameters
    ----------
    home : Home
        For its units.
    survey : Survey or None
        As walked.
    values : mapping
        Of the page.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    hint = _LONG[home.units in IMPERIAL]
    kind = str(values["what"])
    has = fields_of(kind)
    wide = kind in WIDE
    found = [
        _choice("choose", "wall", "At wall", wall_choices(survey)),
        _choice(
            "choose",
            "what",
            "What",
            [(k, "column or pier" if k == "column" else k) for k in THINGS],
        ),
    ]
    if wide:
        found.append(_field("width", "Width along the wall", hint))
    near = "to its near edge" if wide else "to its middle"
    found += [
        _field("distance", f"Distance from the corner {near}", hint),
        _choice("words", "corner", "Measured from corner", _ends(survey, values)),
    ]
    if "out" in has:
        found.append(_field("out", "Out from the wall"))
    if "deep" in has:
        found.append(_field("deep", "Depth, out from the wall"))
    if "high_at" in has:
        label = "Height of its underside" if kind == "radiator" else "Height above the floor"
        found.append(_field("high_at", label))
    if "tall" in has:
        found.append(_field("tall", "How high it is", more=True))
    found += [
        _field("name_of", "Called", more=True),
        _source("source_of", "Its dimensions are"),
        _field("within", "±", more=True),
    ]
    return found


def photo_controls(*, survey: Survey | None) -> list[dict[str, Any]]:
    """A photograph and the wall that it shows.

    Parameters
    ----------
    survey : Survey or None
        As walked.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    return [
        _choice("choose", "wall", "Shows wall", [*wall_choices(survey), ["", "the whole room"]]),
        _field("note", "What is to be seen"),
        {
            "kind": "file",
            "id": "photo",
            "label": "Photograph",
            "accept": ".jpg,.jpeg,.png",
            "hint": "chosen, dropped or pasted",
        },
    ]


def sides_of(piece: Piece, units: str) -> str:
    """Width, depth and height as on a sheet: millimetres, or inches and quarters.

    Parameters
    ----------
    piece : Piece
        A piece of furniture.
    units : str
        The project's unit of length.

    Returns
    -------
    str
        As "2200 × 950 × 800".
    """
    return size_words(piece.size, piece.shape == "circle", units).replace("\u00a0", " ")


def size_text(one: BoxPiece, home: Home) -> str:
    """The size of a generic piece, as one types it.

    Parameters
    ----------
    one : BoxPiece
        From the box.
    home : Home
        For its units.

    Returns
    -------
    str
        As "2200 × 950 × 800 mm", or "Ø 900 × 400 mm".
    """
    if home.units in IMPERIAL:
        sides, unit = [f"{round(n / 0.0254 * 4) / 4:g}" for n in one.piece.size], "in"
    else:
        sides, unit = [f"{n * 1000:.0f}" for n in one.piece.size], "mm"
    if one.piece.shape == "circle" and one.piece.size[0] == one.piece.size[1]:
        return f"Ø {sides[0]} × {sides[2]} {unit}"
    return f"{' × '.join(sides)} {unit}"


def furniture_controls(
    *, home: Home, chosen: BoxPiece | None, values: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """A piece from the box or one's own, its size, its chairs.

    Parameters
    ----------
    home : Home
        For its units.
    chosen : BoxPiece or None
        The generic piece; None where it is one's own.
    values : mapping
        Of the page.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    groups = box_groups()
    found = [
        _choice("words", "own", "Piece", [("box", "from the box"), ("own", "one's own")]),
    ]
    if values["own"] == "box":
        found.append(_choice("words", "group", "For", [(g, g) for g in groups]))
        rows = []
        for one in groups[str(values["group"])]:
            words = f"{one.piece.name}, {sides_of(one.piece, home.units)}"
            rows.append((one.id, f"{words}, {one.region}" if one.region else words))
        found.append(_choice("choose", "box", "From the box", rows))
    else:
        own = [k for k, kind in kinds().items() if kind.mount != "ceiling" and k != "wall light"]
        found.append(_choice("choose", "kind_of", "It is a", [(k, k) for k in own]))
        found.append(_field("called", "Called", "grandmother's sideboard"))
    hint = "86 × 37 × 31 in" if home.units in IMPERIAL else "220 × 95 × 80 cm"
    found.append(_field("size", "Width × depth × height, in either order", hint))
    kind = chosen.piece.kind if chosen is not None else str(values["kind_of"])
    if kind == "dining table":
        rows = [("none", "none"), ("sides", "along its sides"), ("ends", "and at its ends")]
        found.append(_choice("words", "chairs", "Chairs", rows))
    return found
