"""The finish plan: every wall numbered where it stands, and the finish on each surface.

Walls count from 1 around each room as its outline is written, the same number as on
the survey and on the finish schedule.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import shapely
from shapely.geometry import Point as Dot
from shapely.geometry import Polygon as Shape

from designkit.errors import InputError
from designkit.figures import blocks, ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import Drawing, Line, Polygon, Primitive, Text
from designkit.figures.furniture_sheet import plan_size
from designkit.figures.pages import RIM
from designkit.figures.planmarks import inside
from designkit.figures.sheet import Area, TitleBlock, drawing_sheet, fitting_scale, scale_text
from designkit.figures.walls import walls_of
from designkit.model import Home, Room
from designkit.palette.finishes import ColourValue, FinishValue, Limits, resolve_all
from designkit.palette.glazing import glazing_of
from designkit.takeoff.surfaces import wall_name
from designkit.units import IMPERIAL

__all__ = ["finish_plan_sheet", "finish_rows", "wall_numbers"]

FAR = (4.4, 6.5, 9.0)  # of a number from its wall [mm]
PITCH = 5.2  # of a row [mm]
CHIP = (7.0, 3.4)  # of a finish in the table [mm]
OPEN = "not chosen"


def wall_numbers(walls: Sequence[int]) -> str:
    """Numbers of walls as people count them, in runs.

    Parameters
    ----------
    walls : sequence of int
        As the outline is written, from 0.

    Returns
    -------
    str
        From 1.

    Examples
    --------
    >>> wall_numbers([0, 1, 2, 4])
    '1–3, 5'
    """
    runs: list[list[int]] = []
    for number in sorted({w + 1 for w in walls}):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(
        str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a}–{b}" for a, b in runs
    )


def finish_rows(room: Room) -> tuple[tuple[str, str], ...]:
    """Each surface of a room with its finish; walls of one finish together.

    Parameters
    ----------
    room : Room
        With its finishes.

    Returns
    -------
    tuple of (str, str)
        The surface in words and the id of its finish, "" where none is chosen.

    Examples
    --------
    >>> finish_rows(Room(name="r", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6,
    ...                  floor="oak", wall="white", walls={"2": "stripe"}))[1:3]
    (('walls 1, 2, 4', 'white'), ('wall 3', 'stripe'))
    """
    by_finish: dict[str, list[int]] = {}
    for n in range(len(room.outline)):
        by_finish.setdefault(room.walls.get(str(n)) or room.wall, []).append(n)
    rows = [("floor", room.floor)]
    for finish, walls in by_finish.items():
        words = f"walls {wall_numbers(walls)}" if len(walls) > 1 else wall_name(walls[0])
        rows.append((words, finish))
    columns: dict[str, int] = {}
    for column in room.columns:
        finish = column.finish or room.wall
        columns[finish] = columns.get(finish, 0) + 1
    rows += [("column" if n == 1 else f"{n} columns", finish) for finish, n in columns.items()]
    rows.append(("ceiling", room.ceiling))
    return tuple(rows)


def finish_plan_sheet(
    home: Home,
    *,
    block: TitleBlock,
    answer: str = "",
    paper: str = "A3",
    scale: int | None = None,
) -> Drawing:
    """Plan with numbered walls, and the finish of each surface beside it.

    Parameters
    ----------
    home : Home
        Its rooms and finishes.
    block : TitleBlock
        What the title block says.
    answer : str
        The sentence under the heading; how many finishes there are where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    scale : int, optional
        50 for 1:50; the largest that fits without it.

    Returns
    -------
    Drawing
        The sheet.

    Raises
    ------
    InputError
        There is no room, or the plan does not fit the paper.
    LookupFailed
        There is no such paper.
    """
    if not home.rooms:
        raise InputError("rooms", given="none", allowed="one or more", mend="draw one")
    imperial = home.units in IMPERIAL
    values = resolve_all(home.finishes, limits=Limits.of(home.rules), overrides=home.rules)
    rows = {id: finish_rows(room) for id, room in home.rooms.items()}
    answer = answer or _answer(home, rows)
    blank = drawing_sheet(block, paper=paper, scales=(), north=home.north, imperial=imperial)
    width = min(126.0, 0.37 * blank.area.width)
    room = Area(
        left=blank.area.left,
        bottom=blank.area.bottom,
        right=blank.area.right - width - (14.0 if blank.area.width > 300 else 8.0),
        top=blank.area.top - 19.0,
    )
    inner = Area(
        left=room.left + 5.0, bottom=room.bottom + 5.0, right=room.right - 5.0, top=room.top - 5.0
    )
    if scale is None:
        wide, high = plan_size(home, ())
        scale = fitting_scale(wide, high, into=inner, imperial=imperial, least=16)
    sheet = drawing_sheet(block, paper=paper, scales=(scale,), north=home.north, imperial=imperial)
    base = shells.shell(
        home, scale=scale, paper=(sheet.width, sheet.height), middle=inner.middle, words=True
    )
    said = scale_text(scale, imperial=imperial)
    items: list[Primitive] = [
        Text(
            at=(room.left, sheet.area.top), text="Finish plan", size=ink.HEADING, weight="semibold"
        ),
        Text(
            at=(
                room.left
                + lettering.advance("Finish plan", size=ink.HEADING, weight="semibold")
                + 4,
                sheet.area.top,
            ),
            text=said,
            size=ink.HEADING,
        ),
    ]
    lines, _ = blocks.sentence(room.left, sheet.area.top - 8.6, room.width, answer, most=2)
    items += [*lines, *base.below, *base.words, *_numbers(home, base)]
    panes = {id: _glass(home, id) for id in home.rooms}
    items += _table(home, rows, values, panes, sheet.area, sheet.area.right - width, width)
    text = " ".join(
        (
            f"Finish plan of {home.name} at {said}.",
            answer,
            *(
                f"{home.rooms[id].name}: "
                + "; ".join(
                    [f"{what} {_name(home, finish)}" for what, finish in found]
                    + [f"glass of {what}: {glazing_of(glass).name}" for what, glass in panes[id]]
                )
                + "."
                for id, found in rows.items()
            ),
        )
    )
    return sheet.drawing(items, title=f"{block.title}, {home.name}", text=text, scale=scale)


def _glass(home: Home, room: str) -> list[tuple[str, str]]:
    """The windows of a room and their kind of glass, where it is said."""
    named: dict[str, list[str]] = {}
    for id, opening in home.openings.items():
        if opening.room == room and opening.glass:
            name = _plain(opening.name) or id.replace("_", " ")
            named.setdefault(opening.glass, []).append(name)
    return [(", ".join(names), glass) for glass, names in named.items()]


def _plain(name: str) -> str:
    """A name on one line."""
    return " ".join(name.split())


def _name(home: Home, finish: str) -> str:
    return _plain(home.finishes[finish].name) if finish in home.finishes else finish or OPEN


def _answer(home: Home, rows: dict[str, tuple[tuple[str, str], ...]]) -> str:
    used = {finish for found in rows.values() for _, finish in found if finish}
    left = sum(not finish for found in rows.values() for _, finish in found)
    text = f"{len(home.rooms)} rooms in {len(used)} finishes"
    if len(home.rooms) == 1:
        text = f"One room in {len(used)} finishes"
    if left:
        text += "; one surface is not chosen" if left == 1 else f"; {left} surfaces are not chosen"
    return text + ". Walls count from 1 around each room, as on the survey and the schedule."


def _numbers(home: Home, base: shells.Shell) -> list[Primitive]:
    """A number inside each wall, and the rooms' names clear of these."""
    taken: list[shapely.Geometry] = [
        base.blocked,
        *base.swings,
        *(Shape(lettering.box(word)) for word in base.words),
    ]
    found: list[Primitive] = []
    radius = marks.KEYED / 2
    for id, room in home.rooms.items():
        floor = Shape([base.paper(p) for p in room.outline]).buffer(0)
        for n, (start, end, _, out) in enumerate(walls_of(room)):
            a, b = base.paper(start), base.paper(end)
            spots = [
                (
                    a[0] + (b[0] - a[0]) * share - out[0] * far,
                    a[1] + (b[1] - a[1]) * share - out[1] * far,
                )
                for far in FAR
                for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
            ]
            clear = [
                spot
                for spot in spots
                if floor.contains(disc := Dot(spot).buffer(radius + 0.5))
                and not any(disc.intersects(other) for other in taken)
            ]
            spot = clear[0] if clear else spots[0]
            taken.append(Dot(spot).buffer(radius))
            found += marks.keyed(spot, n + 1, colour=ink.INK, about=f"{id}.{n}")
    for id, room in home.rooms.items():
        found.append(_room_name(id, room, base, taken))
    return found


def _room_name(id: str, room: Room, base: shells.Shell, taken: list[shapely.Geometry]) -> Text:
    floor = Shape([base.paper(p) for p in room.outline]).buffer(0)
    middle = base.paper(inside(room))
    x0, y0, x1, y1 = floor.bounds
    grid = [
        (x0 + (x1 - x0) * i / 8, y0 + (y1 - y0) * j / 12) for i in range(1, 8) for j in range(1, 12)
    ]
    grid.sort(key=lambda p: (round(math.dist(p, middle), 6), p))
    name = _plain(room.name)
    whole = lettering.advance(name, size=ink.NAME, italic=True)
    # A name that fits nowhere whole is cut until it does.
    for share in (1.0, 0.8, 0.6, 0.4, 0.25):
        wide = min(whole, share * (x1 - x0))
        said = lettering.shorten(name, size=ink.NAME, width=wide, italic=True)
        for at in (middle, *grid):
            text = Text(at=at, text=said, size=ink.NAME, anchor="middle", italic=True, about=id)
            box = Shape(lettering.box(text)).buffer(0.6)
            if floor.contains(box) and not any(box.intersects(other) for other in taken):
                taken.append(box)
                return text
    return dataclasses.replace(text, at=middle)


def _table(
    home: Home,
    rows: dict[str, tuple[tuple[str, str], ...]],
    values: dict[str, FinishValue],
    panes: dict[str, list[tuple[str, str]]],
    area: Area,
    x: float,
    width: float,
) -> list[Primitive]:
    """Rooms with their surfaces; what does not fit is counted."""
    items: list[Primitive] = []
    y = area.top
    surface = 30.0
    left = sum(len(found) + len(panes[id]) for id, found in rows.items())
    for id, found in rows.items():
        if y - 9.1 - PITCH < area.bottom + PITCH:
            break
        made, y = blocks.heading(x, y, width, _plain(home.rooms[id].name))
        items += made
        every = [
            (what, _name(home, finish), values[finish].colours if finish in values else ())
            for what, finish in found
        ]
        every += [("glass", f"{what}: {glazing_of(glass).name}", ()) for what, glass in panes[id]]
        for what, name, colours in every:
            if y < area.bottom + (PITCH if left > 1 else 0.0):
                break
            left -= 1
            said = lettering.shorten(what, size=ink.READING, width=surface - 2.0)
            items.append(Text(at=(x, y), text=said, size=ink.READING))
            if colours:
                items += _chip(colours, x + surface, y - 0.5)
            after = surface if what == "glass" else surface + CHIP[0] + 2.5
            words = lettering.shorten(name, size=ink.READING, width=width - after)
            items.append(
                Text(
                    at=(x + after, y),
                    text=words,
                    size=ink.READING,
                    ink=ink.GREY_2 if name == OPEN else ink.INK,
                )
            )
            y -= PITCH
        y -= 5.0
    if left:
        words = f"{left} more surfaces are on the finish schedule."
        items.append(Text(at=(x, y), text=words, size=ink.CAPTION, ink=ink.GREY_2))
    return items


def _chip(colours: Sequence[ColourValue], x: float, y: float) -> list[Primitive]:
    wide, high = CHIP
    items: list[Primitive] = []
    left = x
    for colour in colours:
        part = wide * colour.share
        ring = ((left, y), (left + part, y), (left + part, y + high), (left, y + high))
        items.append(Polygon(outline=ring, fill=colour.hex))
        left += part
    ring = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    items.append(Line(points=ring, closed=True, weight=0.13, ink=RIM))
    return items
