"""The sheet that lays options side by side: one scale, a few numbers, honest words.

It takes plain values: each option's layout, its numbers with their limits, and
one sentence. The furniture plan sheet is in `furniture_sheet`; its names are
here too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from designkit.errors import InputError
from designkit.figures import blocks, ink, marks
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Drawing, Line, Polygon, Primitive, Text
from designkit.figures.furniture_sheet import finding_sentence, furniture_plan_sheet, plan_size
from designkit.figures.plan import plan_items
from designkit.figures.sheet import Area, TitleBlock, drawing_sheet, fitting_scale, scale_text
from designkit.model import Home, Layout, Point
from designkit.units import IMPERIAL, on_sheet

__all__ = [
    "Measure",
    "Option",
    "finding_sentence",
    "furniture_plan_sheet",
    "options_sheet",
]


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One number that options are compared by, with its measuring scale.

    Parameters
    ----------
    name : str
        "Main route, narrowest place".
    note : str
        "900 wanted, common practice".
    low, high : float
        Ends of the scale, in the unit of the values.
    kind : {"length", "angle", "share", "number"}
        How values are written: metres as on a drawing, degrees, per cent.
    unit : str
        Word after a plain number.
    limit : float, optional
        Least value wanted; a value under it is short.
    most : bool
        The limit is the most that is wanted, not the least.
    """

    name: str
    note: str = ""
    low: float
    high: float
    kind: Literal["length", "angle", "share", "number"] = "length"
    unit: str = ""
    limit: float | None = None
    most: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise InputError(
                f"scale of {self.name}",
                given=f"{self.low} to {self.high}",
                allowed="two finite numbers, the lower first",
                mend="give the ends of the measuring scale",
            )

    def short(self, number: float | None) -> bool:
        """Whether a value does not keep the limit.

        Parameters
        ----------
        number : float or None
            None where it was not measured.

        Returns
        -------
        bool
            False where there is no limit or no value.
        """
        if number is None or self.limit is None:
            return False
        return number > self.limit if self.most else number < self.limit

    def words(self, number: float, units: str) -> tuple[str, str]:
        """A value and its unit.

        Parameters
        ----------
        number : float
            In SI units; a share as 0 to 1.
        units : str
            Of the project.

        Returns
        -------
        (str, str)
            The figures, and the unit behind them.
        """
        if self.kind == "length":
            return on_sheet(number, units=units), "" if units in IMPERIAL else "mm"
        if self.kind == "angle":
            return f"{number:.0f}°", ""
        if self.kind == "share":
            return f"{number * 100:.0f}", "%"
        text = f"{number:.0f}" if abs(number) >= 10 or number == round(number) else f"{number:.1f}"
        return text, self.unit


@dataclass(frozen=True, kw_only=True)
class Option:
    """One layout among several.

    Parameters
    ----------
    name : str
        A few words: "sofa on the gable".
    layout : Layout
        Its plan.
    values : tuple of float or None
        One a measure; None where it could not be asked.
    sentence : str
        What is good and what is not, in one honest sentence.
    brief : str
        "brief: met", "brief: not met", "brief: not asked".
    note : str
        "carried on in L-201".
    routes, sight : tuple
        As for a plan. [m]
    narrow : tuple of two points, optional
        The narrowest place of the main route. [m]
    marked : tuple of str
        Placements filled grey.
    """

    name: str
    layout: Layout
    values: tuple[float | None, ...]
    sentence: str
    brief: str = ""
    note: str = ""
    routes: tuple[object, ...] = ()
    sight: tuple[object, ...] = ()
    narrow: tuple[Point, Point] | None = None
    marked: tuple[str, ...] = ()


def options_sheet(
    home: Home,
    options: Sequence[Option],
    *,
    measures: Sequence[Measure],
    block: TitleBlock,
    units: str = "",
    paper: str = "A3",
    scale: int | None = None,
    rooms: Sequence[str] = (),
    answer: str = "",
    show: Sequence[str] = ("zones", "routes", "sight"),
) -> Drawing:
    """Layouts side by side at one scale, with the numbers that tell them apart.

    Parameters
    ----------
    home : Home
        Gives the shell and the pieces.
    options : sequence of Option
        One to six.
    measures : sequence of Measure
        One to four; each option has one value for each.
    block : TitleBlock
        What the title block says.
    units : str
        Unit of lengths; the home's own without it.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    scale : int, optional
        100 for 1:100; the largest that fits without it.
    rooms : sequence of str
        Ids of the rooms to draw; all without it.
    answer : str
        What the comparison says, in one sentence under the heading.
    show : sequence of str
        As for `designkit.figures.plan.plan_drawing`.

    Returns
    -------
    Drawing
        The sheet; options are lettered A, B, C …

    Raises
    ------
    InputError
        There are too many or no options or measures, or values are missing.

    Examples
    --------
    >>> from designkit.model import Room
    >>> home = Home(name="Flat", rooms={"r": Room(
    ...     name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)})
    >>> width = Measure(name="Main route", low=0.7, high=1.1, limit=0.9)
    >>> options = [Option(name=n, layout=Layout(name=n), values=(v,), sentence="It is empty.")
    ...            for n, v in (("one", 0.935), ("two", 0.865))]
    >>> sheet = options_sheet(home, options, measures=[width],
    ...                       block=TitleBlock(project="Flat", title="Layouts"))
    >>> [item.text for item in sheet.items if isinstance(item, Text) and item.size == 5.0]
    ['A', 'B', '935', '865']
    """
    units = units or home.units
    imperial = units in IMPERIAL
    _check_options(options, measures)
    blank = drawing_sheet(block, paper=paper, scales=(), north=home.north, imperial=imperial)
    area = blank.area
    count = len(options)
    gap = 9.0 if area.width > 300 else 6.0
    each = (area.width - gap * (count - 1)) / count
    sentence_size = ink.READING if each > 50 else ink.NAME
    sentences = max(
        len(lettering.wrap(o.sentence, size=sentence_size, width=each)) for o in options
    )
    small = area.height < 170
    gauge, drop = (16.0, 8.4) if small else (25.0, 11.0)
    foot = 6.0 if small else 8.0
    below = len(measures) * gauge + sentences * sentence_size * 1.65 + 4.0 + foot
    head = (21.5 if answer else 14.0) + (4.2 if any(o.brief for o in options) else 0.0)
    cell = Area(left=0.0, bottom=0.0, right=each, top=max(area.height - head - below - 5, 10.0))
    wide, high = plan_size(home, rooms)
    if scale is None:
        scale = fitting_scale(wide, high, into=cell, imperial=imperial, least=20)
        if scale > 200:
            raise InputError(
                "options",
                given=f"plans of {wide:.1f} × {high:.1f} m at 1:{scale}",
                allowed="plans that can be read, 1:200 and larger",
                mend="take a larger paper or fewer measures",
            )
    sheet = drawing_sheet(block, paper=paper, scales=(scale,), north=home.north, imperial=imperial)
    pens = ink.pens(scale)
    items: list[Primitive] = []
    y = area.top
    items.append(Text(at=(area.left, y), text="Layout options", size=3.5, weight="semibold"))
    after = lettering.advance("Layout options", size=3.5, weight="semibold") + 4
    items.append(
        Text(
            at=(area.left + after, y),
            text=f"plans {scale_text(scale, imperial=imperial)}",
            size=3.5,
        )
    )
    items.append(blocks.rule(area.left, y - 2.7, area.width))
    if answer:
        made, _ = blocks.sentence(area.left, y - 8.4, area.width, answer, most=1)
        items += made
        y -= 7.5
    lefts = [area.left + i * (each + gap) for i in range(count)]
    y -= 11.0
    for index, (option, left) in enumerate(zip(options, lefts)):
        items += _option_head(option, left, y, each, "ABCDEF"[index])
    if any(o.brief for o in options):
        y -= 4.2
    plan_high = high * 1000 / scale
    # What is left over is shared between plan and gauges, so that the sheet is filled evenly.
    spare = max(0.0, y - area.bottom - below - plan_high - 5.0)
    gauge += min(spare * 0.5 / len(measures), 6.0)
    middle_y = y - 4.0 - spare * 0.2 - plan_high / 2
    for option, left in zip(options, lefts):
        items += _option_plan(
            home,
            option,
            measures,
            base_at=(left + each / 2, middle_y),
            sheet_size=(sheet.width, sheet.height),
            scale=scale,
            units=units,
            rooms=rooms,
            show=show,
            pens=pens,
        )
    y = middle_y - plan_high / 2 - 6.0 - spare * 0.2
    for row, measure in enumerate(measures):
        items += _gauge_heading(measure, area, y)
        for option, left in zip(options, lefts):
            items += _gauge(measure, option.values[row], left, y - drop, each, units)
        y -= gauge
    y -= 2.0
    items.append(blocks.rule(area.left, y + 4.0, area.width))
    for option, left in zip(options, lefts):
        made, _ = blocks.sentence(left, y, each, option.sentence, size=sentence_size)
        items += made
    items += _options_key(area, options, measures, show, pens)
    text = _options_text(home, options, measures, scale, answer, units)
    return sheet.drawing(items, title=f"{block.title}, {home.name}", text=text, scale=scale)


def _check_options(options: Sequence[Option], measures: Sequence[Measure]) -> None:
    if not 1 <= len(options) <= 6:
        raise InputError(
            "options", given=len(options), allowed="1 to 6", mend="keep those that differ most"
        )
    if not 1 <= len(measures) <= 4:
        raise InputError(
            "measures", given=len(measures), allowed="1 to 4", mend="keep the telling ones"
        )
    for option in options:
        if len(option.values) != len(measures):
            raise InputError(
                f"values of {option.name}",
                given=len(option.values),
                allowed=f"{len(measures)}, one a measure",
                mend="write None where one could not be asked",
            )
        for number in option.values:
            if number is not None and not math.isfinite(number):
                raise InputError(
                    f"values of {option.name}", given=number, allowed="finite numbers or None"
                )


def _option_head(option: Option, x: float, y: float, width: float, letter: str) -> list[Primitive]:
    room = width - 8.0
    note_wide = lettering.advance(option.note, size=ink.CAPTION, italic=True)
    items: list[Primitive] = [Text(at=(x, y), text=letter, size=5.0, weight="semibold")]
    if option.note and note_wide < room * 0.45:
        items.append(
            Text(
                at=(x + width, y),
                text=option.note,
                size=ink.CAPTION,
                italic=True,
                anchor="end",
            )
        )
        room -= note_wide + 3
    name = lettering.shorten(option.name, size=ink.READING, width=room)
    items.append(Text(at=(x + 6.4, y), text=name, size=ink.READING))
    if option.brief:
        met = option.brief.endswith(" met") and not option.brief.endswith("not met")
        x0 = x + 6.4
        if option.brief.endswith("met"):
            items.append(marks.square((x0, y - 5.0), filled=met, size=1.9))
            x0 += 3.0
        items.append(
            Text(
                at=(x0, y - 5.0),
                text=lettering.shorten(option.brief, size=ink.NAME, width=width - 10),
                size=ink.NAME,
                weight="regular" if met else "semibold",
            )
        )
    return items


def _option_plan(
    home: Home,
    option: Option,
    measures: Sequence[Measure],
    *,
    base_at: XY,
    sheet_size: tuple[float, float],
    scale: int,
    units: str,
    rooms: Sequence[str],
    show: Sequence[str],
    pens: ink.Pens,
) -> list[Primitive]:
    base = shells.shell(
        home,
        scale=scale,
        rooms=tuple(rooms),
        paper=sheet_size,
        middle=base_at,
        words=False,
    )
    items = plan_items(
        home,
        option.layout,
        base=base,
        units=units,
        show=show,
        routes=option.routes,
        sight=option.sight,
        marked=option.marked,
        room_names=False,
    )
    if option.narrow is not None:
        a, b = (base.paper(p) for p in option.narrow)
        short = measures[0].short(option.values[0])
        colour = ink.ACCENT if short else ink.INK
        if math.dist(a, b) > 0.5:
            angle = math.atan2(b[1] - a[1], b[0] - a[0]) + math.pi / 4
            dx, dy = 0.95 * math.cos(angle), 0.95 * math.sin(angle)
            items.append(Line(points=(a, b), weight=0.25, ink=colour, about="narrowest place"))
            for x, y in (a, b):
                items.append(
                    Line(
                        points=((x - dx, y - dy), (x + dx, y + dy)),
                        weight=0.35,
                        ink=colour,
                        about="narrowest place",
                    )
                )
    return items


def _gauge_heading(measure: Measure, area: Area, y: float) -> list[Primitive]:
    room = area.width * (0.7 if measure.note else 1.0)
    name = lettering.shorten(measure.name, size=ink.READING, width=room, weight="semibold")
    wide = lettering.advance(name, size=ink.READING, weight="semibold")
    items: list[Primitive] = [
        Text(at=(area.left, y), text=name, size=ink.READING, weight="semibold"),
        blocks.rule(area.left, y - 2.6, area.width, weight=0.13),
    ]
    if measure.note:
        note = lettering.shorten(measure.note, size=ink.READING, width=area.width - wide - 4)
        items.append(
            Text(at=(area.left + wide + 2.8, y), text=note, size=ink.READING, ink=ink.GREY_2)
        )
    return items


def _gauge(
    measure: Measure, number: float | None, x: float, y: float, width: float, units: str
) -> list[Primitive]:
    """A number and where it lies on its measuring scale."""
    items: list[Primitive] = []
    short = measure.short(number)
    colour = ink.ACCENT if short else ink.INK
    if number is None:
        items.append(Text(at=(x, y), text="not asked", size=ink.READING, italic=True))
        used = lettering.advance("not asked", size=ink.READING, italic=True)
    else:
        words, unit = measure.words(number, units)
        size = ink.NUMBER
        while size > 3.0 and lettering.advance(words, size=size, weight="semibold") > width * 0.45:
            size -= 0.5
        used = lettering.advance(words, size=size, weight="semibold")
        items.append(Text(at=(x, y), text=words, size=size, weight="semibold", ink=colour))
        if short:  # a second sign beside the colour
            items.append(Line(points=((x, y - 1.9), (x + used, y - 1.9)), weight=0.4, ink=colour))
        if unit:
            items.append(Text(at=(x + used + 1.4, y), text=unit, size=ink.READING))
            used += 1.4 + lettering.advance(unit, size=ink.READING)
    left = x + max(28.0 if width > 60 else 22.0, used + 5.0)
    right = x + width - 0.5
    if right - left < 18:
        return items
    line_y = y + 0.4

    def along(v: float) -> float:
        share = (v - measure.low) / (measure.high - measure.low)
        return left + (right - left) * min(max(share, 0.0), 1.0)

    items.append(Line(points=((left, line_y), (right, line_y)), weight=0.18))
    for i in range(5):
        tick = left + (right - left) * i / 4
        items.append(Line(points=((tick, line_y), (tick, line_y - 0.9)), weight=0.13))
    ends: list[tuple[float, str]] = []
    for v, anchor in ((measure.low, "start"), (measure.high, "end")):
        words = measure.words(v, units)[0]
        items.append(
            Text(
                at=(left if anchor == "start" else right, line_y - 3.6),
                text=words,
                size=ink.CAPTION,
                ink=ink.GREY_2,
                anchor="start" if anchor == "start" else "end",
            )
        )
        ends.append((lettering.advance(words, size=ink.CAPTION), anchor))
    if measure.limit is not None and measure.low <= measure.limit <= measure.high:
        at = along(measure.limit)
        items.append(Line(points=((at, line_y + 1.2), (at, line_y - 1.2)), weight=0.35))
        words = measure.words(measure.limit, units)[0]
        half = lettering.advance(words, size=ink.CAPTION) / 2
        free = left + ends[0][0] + 1.0 < at - half and at + half < right - ends[1][0] - 1.0
        if free:
            items.append(Text(at=(at, line_y - 3.6), text=words, size=ink.CAPTION, anchor="middle"))
    if number is not None:
        at = along(number)
        items.append(
            Polygon(
                outline=((at, line_y + 0.7), (at - 1.1, line_y + 3.0), (at + 1.1, line_y + 3.0)),
                fill=colour,
            )
        )
    return items


def _options_key(
    area: Area,
    options: Sequence[Option],
    measures: Sequence[Measure],
    show: Sequence[str],
    pens: ink.Pens,
) -> list[Primitive]:
    y = area.bottom - 0.5
    entries: list[tuple[str, str]] = []
    if "routes" in show and any(o.routes for o in options):
        entries.append(("route", "main route"))
    if any(o.narrow for o in options):
        words = "its narrowest place"
        if measures[0].limit is not None:
            words += "; in colour where short"
        entries.append(("narrow", words))
    if "sight" in show and any(o.sight for o in options):
        entries.append(("sight", "sight line"))
    if "zones" in show:
        entries.append(("zone", "use zone; clear space of a panel"))
    if any(o.marked for o in options):
        entries.append(("marked", "moved, against A"))
    items: list[Primitive] = []
    x = area.left
    for what, words in entries:
        wide = lettering.advance(words, size=ink.NAME)
        if x + 16 + wide > area.right:
            break
        ends = ((x, y + 1.0), (x + 13, y + 1.0))
        if what == "narrow":
            items.append(Line(points=ends, weight=0.25))
            for end in (x, x + 13):
                items.append(Line(points=((end - 0.7, y + 0.3), (end + 0.7, y + 1.7)), weight=0.35))
        elif what == "marked":
            items.append(
                Polygon(
                    outline=((x, y - 0.3), (x + 13, y - 0.3), (x + 13, y + 2.3), (x, y + 2.3)),
                    fill=ink.GREY_4,
                    weight=pens.piece,
                )
            )
        else:
            dash = {"route": pens.dash_route, "sight": pens.dash_sight, "zone": pens.dash_zone}
            weight = {"route": pens.route, "sight": pens.sight, "zone": pens.zone}
            items.append(Line(points=ends, weight=weight[what], dash=dash[what]))
        items.append(Text(at=(x + 15.5, y), text=words, size=ink.NAME))
        x += 15.5 + wide + 12
    return items


def _options_text(
    home: Home,
    options: Sequence[Option],
    measures: Sequence[Measure],
    scale: int,
    answer: str,
    units: str,
) -> str:
    parts = [
        f"{len(options)} layout{'s' if len(options) > 1 else ''} of {home.name} side by side at "
        f"{scale_text(scale, imperial=units in IMPERIAL)}.",
        answer,
    ]
    for letter, option in zip("ABCDEF", options):
        said = []
        for measure, number in zip(measures, option.values):
            if number is None:
                said.append(f"{measure.name} not asked")
            else:
                words = "\u00a0".join(w for w in measure.words(number, units) if w)
                said.append(
                    f"{measure.name} {words}" + (", short" if measure.short(number) else "")
                )
        brief = f" {option.brief}." if option.brief else ""
        parts.append(f"{letter}, {option.name}.{brief} {'; '.join(said)}. {option.sentence}")
    return " ".join(p for p in parts if p)
