"""What the study "from a plan" shows beside its picture: controls, rows, tables, a model."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from designkit.errors import InputError
from designkit.figures.drawing import Drawing
from designkit.figures.plan import plan_drawing
from designkit.model import Home, Layout, Point, Room
from designkit.plan.tracing import AreaCheck, Scale, Traced, TracingSheet, check_scale
from designkit.plan.tracing_frame import frame_of
from designkit.project.ifc import IfcRooms
from designkit.studies.words import source_of
from designkit.units import in_sentence, on_sheet

__all__ = [
    "model_controls",
    "model_shown",
    "moved_room",
    "points_of",
    "points_text",
    "sheet_controls",
    "side_table",
    "trust_rows",
]

_STEPS = {
    "scale": "a known dimension",
    "corners": "the corners of the room",
    "check": "a second dimension",
}
_USES = ("", "living", "dining", "sleeping", "working", "hall", "kitchen", "bath")


def points_text(points: Sequence[Point], mark: str = "\n") -> str:
    """Points as they are typed: "120, 340" each.

    Parameters
    ----------
    points : sequence of Point
        [pixels]
    mark : str, optional
        Between them.

    Returns
    -------
    str
        Whole pixels.
    """
    return mark.join(f"{x:.0f}, {y:.0f}" for x, y in points)


def points_of(text: str, *, what: str, most: int = 200) -> list[Point]:
    """Typed points, each on a line of its own or after a semicolon.

    Parameters
    ----------
    text : str
        As typed.
    what : str
        What they are, for the sentence.
    most : int, optional
        How many are taken.

    Returns
    -------
    list of Point
        [pixels]

    Raises
    ------
    InputError
        One is no pair of numbers, or there are too many.
    """
    found: list[Point] = []
    for part in re.split(r"[;\n]", text):
        if not part.strip():
            continue
        numbers = re.fullmatch(r"\s*(-?\d+(?:\.\d+)?)\s*[,\s]\s*(-?\d+(?:\.\d+)?)\s*", part)
        if numbers is None:
            raise InputError(
                what, given=part.strip(), allowed="x, y in pixels", mend="write as 120, 340"
            )
        found.append((float(numbers[1]), float(numbers[2])))
    if len(found) > most:
        raise InputError(
            what, given=f"{len(found)} points", allowed=f"{most} or fewer", mend="take some away"
        )
    return found


def sheet_controls(sheet: TracingSheet, check: AreaCheck | None) -> list[dict[str, Any]]:
    """What has to be said about a sheet; which area holds, where two do not agree.

    Parameters
    ----------
    sheet : TracingSheet
        The open one.
    check : AreaCheck or None
        The stated area against the outline.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    controls: list[dict[str, Any]] = []
    if sheet.pages > 1:
        controls.append(
            {"kind": "field", "id": "page", "label": f"Page, of {sheet.pages}", "hint": "1"}
        )
    controls += [
        {
            "kind": "words",
            "id": "clicks",
            "label": "Clicks give",
            "choices": [[k, words] for k, words in _STEPS.items()],
        },
        {
            "kind": "field",
            "id": "distance",
            "label": "The known dimension is",
            "hint": "4.20 m",
        },
        {
            "kind": "checks",
            "id": "square",
            "label": "Help",
            "choices": [["square", "right angles"]],
        },
        {
            "kind": "field",
            "id": "check_distance",
            "label": "The second dimension is",
            "hint": "2.60 m",
        },
        {"kind": "field", "id": "stated", "label": "Area on the plan", "hint": "24.6 m²"},
    ]
    if check is not None and not check.agrees:
        controls.append(
            {
                "kind": "words",
                "id": "holds",
                "label": "Which holds",
                "choices": [[a, a] for a in check.answers],
            }
        )
    controls += [
        {"kind": "field", "id": "name", "label": "Name of the room", "hint": "living room"},
        {"kind": "field", "id": "height", "label": "Ceiling height, a guess", "hint": "2.50 m"},
        {
            "kind": "choose",
            "id": "use",
            "label": "Used for",
            "choices": [[use, use or "not said"] for use in _USES],
        },
        {
            "kind": "field",
            "id": "scale_points",
            "label": "Known dimension, from and to, in pixels",
            "hint": "120, 340; 880, 340",
            "more": True,
        },
        {
            "kind": "field",
            "id": "check_points",
            "label": "Second dimension, from and to",
            "hint": "120, 340; 120, 900",
            "more": True,
        },
        {
            "kind": "text",
            "id": "corners",
            "label": "Corners in order, x, y in pixels",
            "rows": 6,
            "hint": "120, 340\n880, 340\n880, 900\n120, 900",
            "more": True,
        },
        {"kind": "field", "id": "at", "label": "Its lower left corner at", "hint": "0 m, 0 m",
         "more": True},
    ]  # fmt: skip
    if sheet.per_paper_metre is not None:
        controls.append(
            {
                "kind": "field",
                "id": "ratio",
                "label": "Or the scale of the print",
                "hint": "1:50",
                "more": True,
            }
        )
    return controls


def model_controls(model: IfcRooms) -> list[dict[str, Any]]:
    """Storey and rooms of a model, and where they go.

    Parameters
    ----------
    model : IfcRooms
        The open one.

    Returns
    -------
    list of dict of str to Any
        For the page.
    """
    found: list[dict[str, Any]] = []
    if len(model.storeys) > 1:
        found.append(
            {
                "kind": "choose",
                "id": "storey",
                "label": "Storey",
                "choices": [
                    ["", "that with most rooms"],
                    *([s, s] for s in model.storeys),
                ],
            }
        )
    found += [
        {
            "kind": "checks",
            "id": "rooms",
            "label": "Rooms to take",
            "choices": [[id, room.name] for id, room in model.rooms.items()],
        },
        {"kind": "field", "id": "at", "label": "Lower left corner at", "hint": "0 m, 0 m"},
    ]
    return found


def trust_rows(
    home: Home,
    *,
    scale: Scale | None,
    ends: Sequence[Point],
    distance: str,
    traced: Traced | None,
    check: AreaCheck | None,
    holds: str,
) -> list[dict[str, Any]]:
    """Whether the second dimension, the stated area and the right angles agree.

    Parameters
    ----------
    home : Home
        For its units.
    scale : Scale or None
        From the known dimension.
    ends : sequence of Point
        Of the second dimension. [pixels]
    distance : str
        The second dimension as typed. [with its unit]
    traced : Traced or None
        The outline.
    check : AreaCheck or None
        The stated area against it.
    holds : str
        Which area holds, where it was said.

    Returns
    -------
    list of dict of str to Any
        Rows for the page.
    """
    rows: list[dict[str, Any]] = []
    if scale is not None and len(ends) == 2 and distance:
        agrees, text = check_scale(scale, ends[0], ends[1], distance=distance, units=home.units)
        rows.append(
            {
                "n": "",
                "state": "passes" if agrees else "fails",
                "text": text,
                "source": source_of("plan.tracing.click"),
            }
        )
    elif scale is not None:
        rows.append(
            {
                "n": "",
                "state": "measure first",
                "text": "No second dimension checks the scale yet.",
                "source": source_of("plan.tracing.click"),
            }
        )
    if check is not None:
        said = in_sentence(check.stated, kind="area", units=home.units)
        text = check.question or f"The area agrees with the plan's {said}."
        if check.question and holds:
            text = f"{check.question} Said: {holds}."
        settled = check.agrees or bool(holds)
        rows.append(
            {
                "n": "",
                "state": "passes" if settled else "asked",
                "text": text,
                "source": source_of("plan.tracing.area"),
            }
        )
    if traced is not None and any(traced.snapped):
        far = in_sentence(traced.moved, units=home.units)
        rows.append(
            {
                "n": "",
                "state": "passes",
                "text": f"{sum(traced.snapped)} of {len(traced.snapped)} sides were made "
                f"square; no corner moved more than {far}.",
                "source": source_of("plan.tracing.help"),
            }
        )
    return rows


def side_table(home: Home, traced: Traced) -> dict[str, Any]:
    """The sides of an outline in figures.

    Parameters
    ----------
    home : Home
        For its units.
    traced : Traced
        The outline.

    Returns
    -------
    dict of str to Any
        A table for the page.
    """
    ring = [*traced.outline, traced.outline[0]]
    order = frame_of(traced).order
    count = len(order)
    rows = []
    for k in range(count):
        one, two = order[k], order[(k + 1) % count]
        side = one if two == (one + 1) % count else two  # as it was clicked
        rows.append(
            [
                str(k + 1),
                on_sheet(math.dist(ring[k], ring[k + 1]), units=home.units),
                "square" if traced.snapped[side] else "as clicked",
            ]
        )
    within = in_sentence(traced.within, units=home.units)
    return {
        "title": "Sides",
        "note": f"± {within}, from a plan",
        "head": ["side", "length", ""],
        "align": ["", "r", ""],
        "rows": rows,
    }


def model_shown(
    model: IfcRooms, taken: Sequence[str], home: Home
) -> tuple[Drawing, str, list[dict[str, Any]], list[dict[str, Any]]]:
    """Picture, answer, rows and tables of a building model.

    Parameters
    ----------
    model : IfcRooms
        The open one.
    taken : sequence of str
        Ids of the rooms to take.
    home : Home
        For its name and units.

    Returns
    -------
    tuple
        Drawing, answer, rows and tables.
    """
    rooms = {id: room for id, room in model.rooms.items() if id in taken}
    shown = Home(name=home.name, rooms=rooms or dict(model.rooms), units=home.units)
    wide = max(x for room in shown.rooms.values() for x, _ in room.outline)
    scale = next((s for s in (50, 75, 100, 150, 200, 250) if wide * 1000 / s <= 230), 500)
    drawing = plan_drawing(shown, Layout(name="model"), scale=scale, show=("names",))

    def area(n: float | None) -> str:
        return "" if n is None else in_sentence(n, kind="area", units=home.units)

    tables = [
        {
            "title": "Rooms of the model",
            "note": "",
            "head": ["room", "area", "stated", "height"],
            "align": ["", "r", "r", "r"],
            "rows": [
                [
                    room.name,
                    area(model.areas[id]),
                    area(model.stated.get(id)),
                    in_sentence(room.height, units=home.units),
                ]
                for id, room in model.rooms.items()
            ],
        }
    ]
    rows = [
        {"n": "", "state": "left out", "text": text, "source": "the model"}
        for text in model.left_out
    ]
    for id, stated in model.stated.items():
        if id in model.areas and abs(stated - model.areas[id]) > 0.01 * stated:
            name = model.rooms[id].name
            rows.append(
                {
                    "n": "",
                    "state": "measure first",
                    "text": f"The model states {area(stated)} for the {name}, its floor has "
                    f"{area(model.areas[id])}.",
                    "source": "the model",
                }
            )
    total = sum(model.areas[id] for id in rooms)
    count = f"{len(rooms)} {'room' if len(rooms) == 1 else 'rooms'}"
    return drawing, f"{count} of the model, {area(total)}.", rows, tables


def moved_room(room: Room, dx: float, dy: float) -> Room:
    """A room elsewhere in the home's frame.

    Parameters
    ----------
    room : Room
        As the model has it.
    dx, dy : float
        How far. [m]

    Returns
    -------
    Room
        With its columns.
    """
    outline = tuple((round(x + dx, 4), round(y + dy, 4)) for x, y in room.outline)
    columns = tuple(replace(c, at=(c.at[0] + dx, c.at[1] + dy)) for c in room.columns)
    return replace(room, outline=outline, columns=columns)
