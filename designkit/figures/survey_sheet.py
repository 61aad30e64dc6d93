"""The survey sheet: a room to scale with what was measured and what is still to measure.

It is taken to the site on paper: each wall by its number with its length and
±, an empty field where there is none, and a list in the order of a walk round
the room.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from designkit.figures import blocks, ink
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import Drawing, Line, Polygon, Primitive, Text
from designkit.figures.room_drawing import base_on_paper, home_of_walk, walk_items
from designkit.figures.room_marks import is_whole
from designkit.figures.sheet import (
    Area,
    Sheet,
    TitleBlock,
    drawing_sheet,
    fitting_scale,
    scale_text,
)
from designkit.model import Photo, Source
from designkit.plan.survey import Survey
from designkit.plan.survey_checks import SurveyWall
from designkit.plan.survey_items import OVERHEAD, corner
from designkit.units import IMPERIAL, in_sentence, on_sheet

__all__ = ["KNOWN_AS", "survey_sheets"]

KNOWN_AS: dict[Source, str] = {
    "measured": "measured",
    "plan": "from the plan",
    "seller": "from the seller",
    "client": "said by the client",
    "guess": "guessed",
}
AROUND = 27.0  # mm; room for dimensions round the walls
ROW = 5.8  # mm
_WRITE = 22.0  # mm; wide enough to write a length in
_WALL = 0.25  # m; as thick as a wall is likely to be where nobody has measured one


@dataclass(frozen=True, kw_only=True)
class _Row:
    """Something of a column: how high it is and how it is drawn at x, y."""

    need: float  # [mm]
    draw: Callable[[float, float], list[Primitive]]
    keep: bool = False  # with the row that follows: a heading


def survey_sheets(
    survey: Survey,
    *,
    name: str,
    block: TitleBlock,
    paper: str = "A3",
    north: float | None = None,
    photos: Iterable[Photo] = (),
) -> tuple[Drawing, ...]:
    """The survey of a room on its sheets.

    Parameters
    ----------
    survey : Survey
        As walked, whole or not.
    name : str
        What the room is called.
    block : TitleBlock
        What the title block says.
    paper : str, optional
        A key of `designkit.figures.sheet.PAPERS`.
    north : float, optional
        Direction of north in the frame of the walk. [°]
    photos : iterable of Photo, optional
        Photographs of this room.

    Returns
    -------
    tuple of Drawing
        The room and its lists; a second sheet where they run over.

    Raises
    ------
    LookupFailed
        There is no such paper.

    Examples
    --------
    >>> from designkit.plan.survey import survey
    >>> walk = survey("right 4, up 3, left 4, down ?", height=2.6)
    >>> block = TitleBlock(project="Flat", title="Survey", number="S-101")
    >>> sheets = survey_sheets(walk, name="study", block=block)
    >>> len(sheets), sheets[0].scale
    (1, 50)
    """
    units = survey.units
    imperial = units in IMPERIAL
    blank = drawing_sheet(block, paper=paper, scales=(), north=north, imperial=imperial)
    column = min(126.0, 0.4 * blank.area.width)
    gap = 10.0 if blank.area.width > 300 else 5.0
    room = Area(
        left=blank.area.left,
        bottom=blank.area.bottom,
        right=blank.area.right - column - gap,
        top=blank.area.top - 6.0,
    )
    inner = Area(
        left=room.left + AROUND,
        bottom=room.bottom + AROUND - 6.0,
        right=room.right - AROUND + 4.0,
        top=room.top - AROUND + 4.0,
    )
    wide, high = _size(survey)
    scale = fitting_scale(wide, high, into=inner, imperial=imperial, least=16)
    rows = _rows(survey, column, tuple(photos))
    first, rest = _fill(rows, [dataclasses.replace(blank.area, left=blank.area.right - column)])
    more: list[list[Primitive]] = []
    while rest:
        count = max(2, int((blank.area.width + 10.0) // (column + 10.0)))
        spread = [
            Area(
                left=blank.area.left + k * (column + 10.0),
                bottom=blank.area.bottom,
                right=blank.area.left + k * (column + 10.0) + column,
                top=blank.area.top,
            )
            for k in range(count)
        ]
        spread = [area for area in spread if area.right <= blank.area.right + 0.1]
        items, rest = _fill(rest, spread)
        more.append(items)
    count = 1 + len(more)

    def titled(k: int) -> TitleBlock:
        if count == 1:
            return block
        if block.sheets == 1:  # the lists of one room run over
            return dataclasses.replace(block, sheet=k + 1, sheets=count)
        return dataclasses.replace(block, title=f"{block.title}, {k + 1} of {count}")

    sheet = drawing_sheet(titled(0), paper=paper, scales=(scale,), north=north, imperial=imperial)
    items = _heading(room, scale, name, imperial=imperial)
    items += _room(survey, sheet, inner, scale, name)
    items += first
    found = [
        sheet.drawing(items, title=f"{block.title}, {name}", text=_text(survey, name), scale=scale)
    ]
    for k, words in enumerate(more, start=1):
        page = drawing_sheet(titled(k), paper=paper, scales=(), imperial=imperial)
        found.append(
            page.drawing(
                words,
                title=f"{block.title}, {name}, continued",
                text=f"Lists of the survey of {name}, continued.",
            )
        )
    return tuple(found)


def _size(survey: Survey) -> tuple[float, float]:
    points = survey.outline if is_whole(survey) else (*survey.walked, *survey.outline)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    known = [one.thickness for one in survey.openings if one.thickness is not None]
    walls = 2 * max([_WALL, *known]) if is_whole(survey) else 0.0
    return max(max(xs) - min(xs) + walls, 0.5), max(max(ys) - min(ys) + walls, 0.5)


def _heading(room: Area, scale: int, name: str, *, imperial: bool) -> list[Primitive]:
    words = lettering.shorten(name, size=ink.HEADING, width=room.width - 24.0, weight="semibold")
    wide = lettering.advance(words, size=ink.HEADING, weight="semibold")
    said = scale_text(scale, imperial=imperial)
    more = lettering.advance(said, size=ink.HEADING)
    y = room.top + 6.0
    return [
        Text(at=(room.left, y), text=words, size=ink.HEADING, weight="semibold"),
        Text(at=(room.left + wide + 4, y), text=said, size=ink.HEADING),
        blocks.rule(room.left, y - 2.7, wide + 4 + more),
    ]


def _room(survey: Survey, sheet: Sheet, inner: Area, scale: int, name: str) -> list[Primitive]:
    if is_whole(survey):
        base = shells.shell(
            home_of_walk(survey, name=name),
            scale=scale,
            paper=(sheet.width, sheet.height),
            middle=inner.middle,
            services=True,
            words=False,
        )
        return walk_items(survey, base=base, openings=True, name=name)
    return walk_items(
        survey,
        base=base_on_paper(
            survey, scale=scale, paper=(sheet.width, sheet.height), middle=inner.middle
        ),
        name=name,
    )


# --- the lists ------------------------------------------------------------------


def _fill(rows: Sequence[_Row], columns: Sequence[Area]) -> tuple[list[Primitive], list[_Row]]:
    """Rows into columns; what finds no room comes back."""
    items: list[Primitive] = []
    at, y = 0, columns[0].top
    for k, row in enumerate(rows):
        need = row.need + (rows[k + 1].need if row.keep and k + 1 < len(rows) else 0.0)
        while y - need < columns[at].bottom - 2.0 and y < columns[at].top:
            at += 1
            if at == len(columns):
                return items, list(rows[k:])
            y = columns[at].top
        items += row.draw(columns[at].left, y)
        y -= row.need
    return items, []


def _head(words: str, width: float, note: str = "") -> _Row:
    return _Row(
        need=9.6,
        draw=lambda x, y: blocks.heading(x, y, width, words, note=note)[0],
        keep=True,
    )


def _space(need: float = 4.6) -> _Row:
    return _Row(need=need, draw=lambda x, y: [])


def _field(x: float, y: float, width: float) -> Polygon:
    """An empty field to write a figure in."""
    return Polygon(
        outline=((x, y - 1.3), (x + width, y - 1.3), (x + width, y + 3.3), (x, y + 3.3)),
        weight=0.18,
    )


Cell = str | None  # None: an empty field


def _line(cells: Sequence[tuple[float, str, float, Cell]], width: float) -> _Row:
    """A row of a list: place, side, width and words of each cell, with a pale rule under it."""

    def draw(x: float, y: float) -> list[Primitive]:
        found: list[Primitive] = []
        for left, side, wide, words in cells:
            if words is None:
                found.append(_field(x + left, y, wide))
            elif words:
                said = lettering.shorten(words, size=ink.READING, width=wide)
                found.append(
                    Text(
                        at=(x + left + (wide if side == "r" else 0.0), y),
                        text=said,
                        size=ink.READING,
                        anchor="end" if side == "r" else "start",
                    )
                )
        found.append(blocks.rule(x, y - 1.75, width, weight=0.09, colour=ink.GREY_4))
        return found

    return _Row(need=ROW, draw=draw)


def _names(cells: Sequence[tuple[float, str, float, str]]) -> _Row:
    def draw(x: float, y: float) -> list[Primitive]:
        return [
            Text(
                at=(x + left + (wide if side == "r" else 0.0), y),
                text=words,
                size=ink.CAPTION,
                ink=ink.GREY_2,
                anchor="end" if side == "r" else "start",
            )
            for left, side, wide, words in cells
            if words
        ]

    return _Row(need=4.6, draw=draw, keep=True)


def _rows(survey: Survey, width: float, photos: Sequence[Photo]) -> list[_Row]:
    rows = _wall_rows(survey, width)
    rows += _opening_rows(survey, width)
    rows += _service_rows(survey, width)
    rows += _left_rows(survey, width)
    if photos:
        rows += [_space(), _head("Photographs", width, "in the project folder")]
        for photo in sorted(photos, key=lambda one: (one.wall is None, one.wall or 0)):
            wall = "–" if photo.wall is None else f"wall {photo.wall + 1}"
            words = photo.note or photo.file.rsplit("/", 1)[-1]
            rows.append(_line([(0, "l", 16, wall), (18, "l", width - 18, words)], width))
    return rows


def _length_words(wall: SurveyWall, units: str) -> str:
    """What was taped, with its ±; in brackets what follows from the other walls."""
    taped = math.hypot(*wall.leg) if wall.measured else wall.length
    length = on_sheet(round(taped, 6), units=units)
    if not wall.measured:
        return f"({length})"
    return f"{length}\u00a0± {on_sheet(round(wall.within, 6), units=units)}"


def _wall_rows(survey: Survey, width: float) -> list[_Row]:
    units = survey.units
    rows = [_head("Walls", width, "length ±, in the order of the walk")]
    said_of = {wall.index: _length_words(wall, units) for wall in survey.walls}
    widest = max(
        (lettering.advance(said, size=ink.READING) for said in said_of.values()), default=0.0
    )
    end = max(0.44 * width, 15.5 + widest)  # feet and sixteenths are longer than millimetres
    for wall in survey.walls:
        n = wall.index
        ends = f"{corner(n)}–{corner((n + 1) % max(1, len(survey.outline)))}"
        taped = math.hypot(*wall.leg) if wall.measured else wall.length
        length = on_sheet(round(taped, 6), units=units)
        sure = wall.measured and wall.known.source == "measured"
        if not wall.measured:
            how = "to measure"
        else:
            how = KNOWN_AS[wall.known.source]
            drawn = on_sheet(round(wall.length, 6), units=units)
            if drawn != length and sure:
                how = f"drawn {drawn}"  # the closing error is spread
        cells: list[tuple[float, str, float, Cell]] = [
            (0, "r", 4, str(n + 1)),
            (6, "l", 12, ends),
            (12, "r", end - 12, said_of[n]),
            (end + 4, "l", width - end - 4 - (0 if sure else _WRITE), how),
        ]
        if not sure:
            cells.append((width - _WRITE, "l", _WRITE, None))
        rows.append(_line(cells, width))
    high = survey.height
    known = survey.height_known
    cells = [
        (0, "l", end - 17, "floor to ceiling"),
        (end - 16, "r", 16, "" if high is None else on_sheet(round(high, 6), units=units)),
        (
            end + 4,
            "l",
            width - end - 4 - _WRITE,
            "to measure" if high is None else KNOWN_AS[known.source],
        ),
    ]
    if high is None or known.source != "measured":
        cells.append((width - _WRITE, "l", _WRITE, None))
    rows.append(_line(cells, width))
    for one in survey.diagonals:
        words = f"diagonal {corner(one.corners[0])}–{corner(one.corners[1])}"
        drawn = f"drawn {on_sheet(round(one.computed, 6), units=units)}"
        cells = [
            (0, "l", end - 26, words),
            (end - 26, "r", 26, on_sheet(round(one.measured, 6), units=units)),
            (end + 4, "l", width - end - 4 - _WRITE, drawn if one.agrees else f"{drawn}: again"),
        ]
        if not one.agrees:
            cells.append((width - _WRITE, "l", _WRITE, None))
        rows.append(_line(cells, width))
    if not survey.diagonals and len(survey.outline) >= 4:
        cells = [
            (0, "l", end, f"diagonal {corner(0)}–{corner(2)}"),
            (end + 4, "l", width - end - 4 - _WRITE, "to measure"),
            (width - _WRITE, "l", _WRITE, None),
        ]
        rows.append(_line(cells, width))
    return rows


def _figure(number: float | None, units: str) -> Cell:
    return None if number is None else on_sheet(round(number, 6), units=units)


def _opening_rows(survey: Survey, width: float) -> list[_Row]:
    if not survey.openings:
        return []
    units = survey.units
    each = min((width - 36.0) / 4, 19.0)
    names = width - 4 * each
    lefts = [names + k * each for k in range(4)]
    rows = [
        _space(),
        _head("Openings", width, "from the corner where the wall begins"),
        _names(
            [
                (0, "l", 8, "wall"),
                *(
                    (left, "r", each - 2, words)
                    for left, words in zip(lefts, ("width", "from", "sill", "head"), strict=True)
                ),
            ]
        ),
    ]
    for one in sorted(survey.openings, key=lambda one: (one.wall, one.offset)):
        name = one.name or one.kind
        sill: Cell = _figure(one.sill, units) if one.kind == "window" or one.sill else "–"
        cells: list[tuple[float, str, float, Cell]] = [
            (0, "r", 4, str(one.wall + 1)),
            (8, "l", names - 8, name),
        ]
        numbers = (
            _figure(one.width, units), _figure(one.offset, units), sill, _figure(one.head, units),
        )  # fmt: skip
        for left, words in zip(lefts, numbers, strict=True):
            cells.append(
                (left + 3, "l", each - 5, None) if words is None else (left, "r", each - 2, words)
            )
        rows.append(_line(cells, width))
    return rows


def _service_rows(survey: Survey, width: float) -> list[_Row]:
    if not survey.services and not survey.piers:
        return []
    units = survey.units
    each = (width - 50.0) / 3
    lefts = [50.0 + k * each for k in range(3)]
    rows = [
        _space(),
        _head("Services, columns", width, "to the middle; columns to their edge"),
        _names(
            [
                (0, "l", 8, "wall"),
                *(
                    (left, "r", each - 2, words)
                    for left, words in zip(lefts, ("from", "out", "height"), strict=True)
                ),
            ]
        ),
    ]
    whats: list[tuple[int, float, str, tuple[Cell, Cell, Cell]]] = [
        (
            one.wall,
            one.along,
            one.name or one.kind,
            (_figure(one.along, units), _figure(one.out, units) if one.out else "–",
             _figure(one.height, units) if one.height is not None or one.kind not in OVERHEAD
             else "–"),
        )
        for one in survey.services
    ]  # fmt: skip
    for pier in survey.piers:
        size = " × ".join(on_sheet(round(n, 6), units=units) for n in (pier.width, pier.depth))
        said = (_figure(pier.along, units), _figure(pier.out, units), "–")
        whats.append((pier.wall, pier.along, f"column {size}", said))
    for wall, _, name, numbers in sorted(whats, key=lambda row: row[:2]):
        cells: list[tuple[float, str, float, Cell]] = [
            (0, "r", 4, str(wall + 1)),
            (8, "l", 42, name),
        ]
        for left, words in zip(lefts, numbers, strict=True):
            cells.append(
                (left + 3, "l", each - 5, None) if words is None else (left, "r", each - 2, words)
            )
        rows.append(_line(cells, width))
    return rows


def _left_rows(survey: Survey, width: float) -> list[_Row]:
    rows = [
        _space(),
        _head("Still to measure", width, "in the order of a walk round the room"),
    ]
    said = [*(str(problem) for problem in survey.problems), *survey.to_measure]
    if not said:
        rows.append(_tick("Nothing: all of it was measured.", width, box=False))
    rows += [_tick(words[:1].upper() + words[1:], width) for words in said]
    return rows


def _tick(words: str, width: float, *, box: bool = True) -> _Row:
    """A line to tick off, with a rule to write on."""
    indent = 6.0 if box else 0.0
    lines = lettering.wrap(words, size=ink.READING, width=width - indent - 30.0)

    def draw(x: float, y: float) -> list[Primitive]:
        found: list[Primitive] = []
        if box:
            found.append(
                Polygon(
                    outline=((x, y - 0.4), (x + 3, y - 0.4), (x + 3, y + 2.6), (x, y + 2.6)),
                    weight=0.18,
                )
            )
            found.append(
                Line(points=((x + width - 27, y - 1.2), (x + width, y - 1.2)), weight=0.13)
            )
        for k, line in enumerate(lines):
            found.append(Text(at=(x + indent, y - k * 4.1), text=line, size=ink.READING))
        return found

    return _Row(need=4.1 * len(lines) + 2.6, draw=draw)


def _text(survey: Survey, name: str) -> str:
    walls = ", ".join(
        f"wall {wall.index + 1} {in_sentence(round(wall.length, 6), units=survey.units)}"
        + ("" if wall.measured else " to measure")
        for wall in survey.walls
    )
    left = "; ".join(survey.to_measure) or "nothing"
    return f"Survey of {name}: {walls}. {survey.sentence} Still to measure: {left}."
