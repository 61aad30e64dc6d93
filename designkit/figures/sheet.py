"""Sheets: paper, frame, title block, scale bars, and the question-and-answer sheet.

Drawing sheets follow the manner of ISO 5457 (frame, centring marks) and ISO
7200 (title block), from memory; paper sizes are those of ISO 216, ANSI/ASME
Y14.1 and the architectural series. Sizes are paper millimetres, landscape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from designkit.errors import InputError, LookupFailed, nearest
from designkit.figures import blocks, ink, marks
from designkit.figures import type as lettering
from designkit.figures.drawing import Drawing, Line, Polygon, Primitive, Text

__all__ = [
    "PAPERS",
    "SCALES",
    "STATUSES",
    "Area",
    "Sheet",
    "TitleBlock",
    "drawing_sheet",
    "fitting_scale",
    "question_sheet",
    "scale_bar",
    "scale_text",
]

PAPERS = {
    "A4": (297.0, 210.0),
    "A3": (420.0, 297.0),
    "A2": (594.0, 420.0),
    "A1": (841.0, 594.0),
    "Letter": (279.4, 215.9),
    "Tabloid": (431.8, 279.4),
    "Arch C": (609.6, 457.2),
    "Arch D": (914.4, 609.6),
}
STATUSES = ("study", "for approval", "for order", "as installed")
SCALES = {
    "metric": (1, 2, 5, 10, 20, 50, 100, 200, 500),
    "imperial": (1, 2, 4, 8, 12, 16, 24, 32, 48, 64, 96, 192),
}
_IMPERIAL_SCALES = {
    1: "full size",
    2: "6 in = 1 ft",
    4: "3 in = 1 ft",
    8: "1½ in = 1 ft",
    12: "1 in = 1 ft",
    16: "¾ in = 1 ft",
    24: "½ in = 1 ft",
    32: "⅜ in = 1 ft",
    48: "¼ in = 1 ft",
    64: "3/16 in = 1 ft",
    96: "⅛ in = 1 ft",
    192: "1/16 in = 1 ft",
}
FOOT = 304.8
STRIP = 34.0  # height of the bottom strip


@dataclass(frozen=True, kw_only=True)
class Area:
    """A rectangle on the paper, for what a sheet is to show. [mm]"""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From left to right. [mm]"""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From bottom to top. [mm]"""
        return self.top - self.bottom

    @property
    def middle(self) -> tuple[float, float]:
        """Its centre. [mm]"""
        return (self.left + self.right) / 2, (self.bottom + self.top) / 2


@dataclass(frozen=True, kw_only=True)
class TitleBlock:
    """What a title block says; people and firms by role.

    Parameters
    ----------
    project, title : str
        The home, and what the sheet shows.
    number : str
        Drawing number.
    revision, date : str
        Letter, and the day in words or ISO 8601; both as given.
    status : str
        One of `STATUSES`.
    sheet, sheets : int
        Sheet n of m.
    drawn, checked, client : str
        Roles.
    """

    project: str
    title: str
    number: str = ""
    revision: str = "A"
    date: str = ""
    status: Literal["study", "for approval", "for order", "as installed"] = "study"
    sheet: int = 1
    sheets: int = 1
    drawn: str = "designer"
    checked: str = ""
    client: str = "the client"

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            raise InputError(
                "status", given=self.status, allowed=", ".join(STATUSES), mend="use one of them"
            )
        if not 1 <= self.sheet <= self.sheets:
            raise InputError(
                "sheet",
                given=f"{self.sheet} of {self.sheets}",
                allowed="1 to the number of sheets",
                mend="count the set again",
            )


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A paper with its frame and words, and the area left for the drawing."""

    width: float  # [mm]
    height: float  # [mm]
    items: tuple[Primitive, ...]
    area: Area

    def drawing(
        self, items: list[Primitive], *, title: str, text: str, scale: int | None = None
    ) -> Drawing:
        """The finished sheet.

        Parameters
        ----------
        items : list of Primitive
            What stands in the area.
        title : str
            The question or the name of the figure.
        text : str
            What a person who cannot see it needs to know.
        scale : int, optional
            50 for 1:50.

        Returns
        -------
        Drawing
            Frame and words below, the items on top.

        Raises
        ------
        InputError
            There is no alternative text.
        """
        if not text.strip():
            raise InputError(
                "text", given="''", allowed="a sentence", mend="say what the figure shows"
            )
        return Drawing(
            width=self.width,
            height=self.height,
            items=(*self.items, *items),
            title=title,
            text=text,
            scale=scale,
        )


def _paper(name: str) -> tuple[float, float]:
    if name not in PAPERS:
        raise LookupFailed(
            "paper",
            given=name,
            allowed=", ".join(PAPERS),
            mend=f"nearest: {nearest(name, PAPERS) or 'A3'}",
        )
    return PAPERS[name]


def scale_text(scale: float, *, imperial: bool = False) -> str:
    r"""A scale in words.

    Parameters
    ----------
    scale : float
        50 for 1:50.
    imperial : bool
        As inches to the foot, where it is such a scale.

    Returns
    -------
    str
        The words.

    Examples
    --------
    >>> scale_text(50), scale_text(48, imperial=True)
    ('1:50', '¼\xa0in\xa0=\xa01\xa0ft')
    """
    if imperial and scale in _IMPERIAL_SCALES:
        return _IMPERIAL_SCALES[int(scale)].replace(" ", "\u00a0")
    return f"1:{scale:g}"


def fitting_scale(
    width: float, height: float, *, into: Area, imperial: bool = False, least: int = 1
) -> int:
    """The largest drafting scale at which something fits.

    Parameters
    ----------
    width, height : float
        Its true size. [m]
    into : Area
        Room on the paper.
    imperial : bool
        Choose among inches to the foot.
    least : int
        Largest scale to take: 20 for nothing larger than 1:20.

    Returns
    -------
    int
        50 for 1:50.

    Raises
    ------
    InputError
        It does not fit at the smallest scale.

    Examples
    --------
    >>> fitting_scale(7.9, 5.2, into=Area(left=0, bottom=0, right=220, top=190))
    50
    """
    scales = SCALES["imperial" if imperial else "metric"]
    for scale in scales:
        if (
            scale >= least
            and width * 1000 / scale <= into.width + 1e-9
            and height * 1000 / scale <= into.height + 1e-9
        ):
            return scale
    raise InputError(
        "size of the drawing",
        given=f"{width:.1f} × {height:.1f} m",
        allowed=f"what fits {into.width:.0f} × {into.height:.0f} mm at 1:{scales[-1]}",
        mend="take a larger paper",
    )


def _step(reach: float, *, imperial: bool) -> float:
    """Length of one field, so that four to ten of them fill a bar. [m or ft]"""
    if imperial:
        steps: tuple[float, ...] = (0.25, 0.5, 1, 2, 4, 10, 20, 50)
        return next((s for s in steps if reach / s <= 10.5), steps[-1])
    power = 10.0 ** math.floor(math.log10(reach))
    for step in (power, power / 2, power / 10, power / 5):
        if 4 <= reach / step <= 10.5:
            return step
    return power / 10


def scale_bar(
    x: float, y: float, scale: float, *, imperial: bool = False, length: float = 102.0
) -> list[Primitive]:
    r"""A scale bar of black and white fields with figures above it.

    Parameters
    ----------
    x, y : float
        Its lower left corner. [mm]
    scale : float
        50 for 1:50.
    imperial : bool
        In feet.
    length : float
        Most that it may be long. [mm]

    Returns
    -------
    list of Primitive
        Fields, figures and the scale in words at its right.

    Examples
    --------
    >>> bar = scale_bar(0, 0, 50)
    >>> [item.text for item in bar if isinstance(item, Text)][-2:]
    ['5\xa0m', '1:50']
    """
    unit = FOOT if imperial else 1000.0
    reach = length * scale / unit
    step = _step(reach, imperial=imperial)
    fields = int(reach / step + 1e-9)
    if imperial and step < 1:
        fields -= fields % round(1 / step)  # end on a whole foot
    wide = step * unit / scale
    items: list[Primitive] = []
    for i in range(fields):
        left = x + i * wide
        items.append(
            Polygon(
                outline=((left, y), (left + wide, y), (left + wide, y + 1.1), (left, y + 1.1)),
                weight=0.13,
                fill=ink.INK if i % 2 == 0 else ink.PAPER,
            )
        )
    # Figures that would stand closer than 9 mm are left out.
    each = max(1, -(-9 // max(wide, 1e-9)))
    while fields % each and each < fields:
        each += 1
    for i in range(0, fields + 1, int(each)):
        words = f"{i * step:g}"
        if i == fields:
            words += "\u00a0ft" if imperial else "\u00a0m"
        items.append(
            Text(
                at=(x + i * wide, y + 2.3),
                text=words,
                size=ink.NAME,
                anchor="middle",
            )
        )
    items.append(
        Text(
            at=(x + fields * wide + 4.5, y - 0.4),
            text=scale_text(scale, imperial=imperial),
            size=ink.NAME,
            weight="semibold",
        )
    )
    return items


def _check_bar(x: float, y: float, *, imperial: bool) -> list[Primitive]:
    long, parts = (101.6, 4) if imperial else (100.0, 10)
    words = "check bar: 4 in on a true print" if imperial else "check bar: 100 mm on a true print"
    items: list[Primitive] = [Line(points=((x, y), (x + long, y)), weight=0.13)]
    for i in range(parts + 1):
        half = 1.6 if i in (0, parts) else 0.7
        low = -half if i in (0, parts) else 0.0
        items.append(
            Line(
                points=((x + i * long / parts, y + low), (x + i * long / parts, y + half)),
                weight=0.18 if i in (0, parts) else 0.13,
            )
        )
    items.append(Text(at=(x + long / 2, y + 2.5), text=words, size=ink.NAME, anchor="middle"))
    return items


def _cell(
    x: float, top: float, width: float, name: str, words: str, **style: object
) -> list[Primitive]:
    size = float(style.get("size", 2.2))  # type: ignore[arg-type]
    weight: Literal["regular", "semibold"] = "semibold" if style.get("bold") else "regular"
    while size > 1.85 and lettering.advance(words, size=size, weight=weight) > width - 3:
        size -= 0.1  # a long title becomes smaller before it is cut
    words = lettering.shorten(words, size=size, width=width - 3, weight=weight)
    base = top - STRIP / 3 + (2.5 if size < 4 else 1.8)
    return [
        Text(at=(x + 1.6, top - 3.0), text=name, size=ink.CAPTION, ink=ink.GREY_2),
        Text(at=(x + 1.6, base), text=words, size=round(size, 2), weight=weight),
    ]


def _shares(needs: list[float], width: float) -> list[float]:
    """Cells as wide as their words; only the longest give way, spare room is shared out."""
    spare = (width - sum(needs)) / len(needs)
    if spare >= 0:
        return [need + spare for need in needs]
    left, most = width, 0.0
    for done, need in enumerate(sorted(needs)):
        most = left / (len(needs) - done)  # what each of the longer ones may take
        if need > most:
            break
        left -= need
    return [min(need, most) for need in needs]


def _title_block(
    block: TitleBlock, *, right: float, bottom: float, width: float, scale: str, paper: str
) -> list[Primitive]:
    left, top = right - width, bottom + STRIP
    row = STRIP / 3
    side = 54.0 if width >= 170 else 42.0
    split = right - side
    half = side / 2
    items: list[Primitive] = []

    def line(x0: float, y0: float, x1: float, y1: float, weight: float = 0.18) -> None:
        items.append(Line(points=((x0, y0), (x1, y1)), weight=weight))

    line(left, bottom, left, top, 0.35)
    line(split, bottom, split, top)
    line(left, top - row, right, top - row)
    line(left, top - 2 * row, right, top - 2 * row)
    line(split + half, top - row, split + half, top)
    line(split + half, bottom, split + half, top - 2 * row)
    main = split - left
    items += _cell(left, top, main, "project", block.project)
    items += _cell(left, top - row, main, "title", block.title, size=3.5, bold=True)
    items += _cell(split, top, half, "status", block.status, bold=True)
    items += _cell(split + half, top, half, f"scale, {paper}", scale)
    items += _cell(split, top - row, side, "drawing no.", block.number, size=4.6, bold=True)
    items += _cell(split, top - 2 * row, half, "revision", block.revision, bold=True)
    items += _cell(split + half, top - 2 * row, half, "sheet", f"{block.sheet} of {block.sheets}")
    x = left
    cells = [
        ("drawn by", block.drawn),
        ("checked by", block.checked or "–"),
        ("date", block.date or "–"),
        ("client", block.client),
    ]
    # Each cell gets what its words need; what is left over is shared out.
    needs = [
        max(lettering.advance(n, size=ink.CAPTION), lettering.advance(w, size=2.2)) + 3.4
        for n, w in cells
    ]
    shares = _shares(needs, main)
    for index, (name, words) in enumerate(cells):
        items += _cell(x, top - 2 * row, shares[index], name, words)
        x += shares[index]
        if index < 3:
            line(x, bottom, x, top - 2 * row)
    return items


def drawing_sheet(
    block: TitleBlock,
    *,
    paper: str = "A3",
    scales: tuple[float, ...] = (50,),
    north: float | None = None,
    imperial: bool = False,
) -> Sheet:
    """A framed sheet for plans, elevations and details.

    Parameters
    ----------
    block : TitleBlock
        What its title block says.
    paper : str
        A key of `PAPERS`; always landscape.
    scales : tuple of float
        The scales on it, at most two bars are drawn.
    north : float, optional
        Direction of north on the paper, counter-clockwise from x. [°]
    imperial : bool
        Bars in feet and a check bar of 4 in.

    Returns
    -------
    Sheet
        Frame, centring marks, strip with title block, bars and the note to
        check dimensions on site; `area` is what is left inside the frame.

    Raises
    ------
    LookupFailed
        There is no such paper.

    Examples
    --------
    >>> sheet = drawing_sheet(TitleBlock(project="Flat", title="Furniture plan"))
    >>> sheet.area.left, round(sheet.area.height, 1)
    (28.0, 225.0)
    """
    width, height = _paper(paper)
    left, right, bottom, top = 20.0, width - 10.0, 10.0, height - 10.0
    items: list[Primitive] = [
        Line(
            points=((left, bottom), (right, bottom), (right, top), (left, top)),
            closed=True,
            weight=0.5,
        ),
        Line(points=((left, bottom + STRIP), (right, bottom + STRIP)), weight=0.35),
    ]
    # Centring marks stand at the middle of the trimmed paper.
    for a, b in (
        ((width / 2, 0.0), (width / 2, 5.0)),
        ((width / 2, height), (width / 2, height - 5.0)),
        ((0.0, height / 2), (5.0, height / 2)),
        ((width, height / 2), (width - 5.0, height / 2)),
    ):
        items.append(Line(points=(a, b), weight=0.35))
    wide = right - left
    block_width = 180.0 if wide >= 350 else max(118.0, wide - 142.0)
    words = " · ".join(scale_text(s, imperial=imperial) for s in scales) if scales else "none"
    items += _title_block(
        block, right=right, bottom=bottom, width=block_width, scale=words, paper=paper
    )
    room = wide - block_width
    x = left + 7.0
    if north is not None:
        items += marks.north((left + 15.0, bottom + STRIP / 2), north, diameter=13.0)
        x = left + 29.0
    narrow = room < 180
    if narrow and north is not None:
        x = left + 26.0
    bar = min(102.0, room - (x - left) - 20.0)
    two = len(scales) > 1
    for index, scale in enumerate(scales[:2]):
        y = bottom + STRIP - 10.0 - index * 9.0
        items += scale_bar(x, y, scale, imperial=imperial, length=bar)
    if room - (x - left) >= 103.0:
        items += _check_bar(x, bottom + 4.6, imperial=imperial)
    unit = "Dimensions in feet and inches." if imperial else "Dimensions in millimetres."
    bar_words = "4 in" if imperial else "100 mm"
    if not narrow and room - (x - left) >= 165:
        for index, line in enumerate(
            (
                "Check dimensions on site.",
                "Do not scale from a print",
                f"whose check bar is not {bar_words}.",
                unit,
            )
        ):
            items.append(
                Text(
                    at=(x + 124.0, bottom + STRIP - 8.5 - index * 3.9),
                    text=line,
                    size=ink.NAME,
                )
            )
    elif not two:
        items.append(
            Text(
                at=(x, bottom + 15.0),
                text=f"Check dimensions on site. {unit}",
                size=ink.NAME,
            )
        )
    else:  # no room between two bars: above the strip
        items.append(
            Text(
                at=(left + 8.0, bottom + STRIP + 1.8),
                text=f"Check dimensions on site. {unit}",
                size=ink.NAME,
            )
        )
    area = Area(left=left + 8, bottom=bottom + STRIP + 6, right=right - 8, top=top - 12)
    return Sheet(width=width, height=height, items=tuple(items), area=area)


def question_sheet(
    block: TitleBlock,
    *,
    question: str,
    answer: str,
    paper: str = "A4",
    scale: str = "",
    note: str = "",
) -> Sheet:
    """A sheet that asks a question, answers it, and leaves room to prove it.

    Parameters
    ----------
    block : TitleBlock
        What its foot says.
    question : str
        The heading.
    answer : str
        The sentence under it; two lines at most are good.
    paper : str
        A key of `PAPERS`.
    scale : str
        What the foot says about scale or basis: "amounts in €, tax included".
    note : str
        A few italic words at the top right.

    Returns
    -------
    Sheet
        Heading, answer and foot; `area` is what is left for the proof.

    Raises
    ------
    InputError
        There is no question or no answer.
    LookupFailed
        There is no such paper.

    Examples
    --------
    >>> sheet = question_sheet(TitleBlock(project="Flat", title="Budget"),
    ...                        question="Which scenario fits?", answer="The lower one.")
    >>> sheet.area.left
    12.0
    """
    for name, words in (("question", question), ("answer", answer)):
        if not words.strip():
            raise InputError(name, given="''", allowed="a sentence", mend="say it in words")
    width, height = _paper(paper)
    small = width < 300
    margin = 12.0 if small else 18.0
    left, right = margin, width - margin
    size = lettering.from_points(20 if small else 24)
    y = height - (19.5 if small else 27.0)
    items: list[Primitive] = []
    room = right - left
    if note:
        items.append(
            Text(
                at=(right, height - margin + (1.0 if small else 3.0)),
                text=note,
                size=lettering.from_points(9.0 if small else 10.5),
                italic=True,
                ink=ink.GREY_1,
                anchor="end",
            )
        )
    heads, _ = blocks.sentence(left, y, room, question, size=size, weight="semibold", pitch=1.9)
    items += heads
    y -= (len(heads) - 1) * size * 1.9 + (8.0 if small else 9.6)
    points = 12.5 if small else 15.0
    reading = lettering.from_points(points)
    pitch = 1.28 / lettering.CAP
    lines, below = blocks.sentence(left, y, room, answer, size=reading, pitch=pitch)
    items += lines
    foot = 15.5 if small else 19.0
    items.append(blocks.rule(left, foot, room, weight=0.25))
    cells = (
        (0.0, 0.17, "project", block.project),
        (0.18, 0.34, "sheet", f"{block.number}\u00a0\u00a0{block.title}".strip()),
        (0.53, 0.11, "revision and date", ", ".join(w for w in (block.revision, block.date) if w)),
        (0.65, 0.08, "status", block.status),
        (0.74, 0.17, "scale", scale or "–"),
        (0.92, 0.08, "sheet", f"{block.sheet} of {block.sheets}"),
    )
    value = lettering.from_points(9.0 if small else 10.5)
    for share, wide, name, words in cells:
        x = left + share * room
        items.append(Text(at=(x, foot - 4.2), text=name, size=value, ink=ink.GREY_2))
        words = lettering.shorten(words, size=value, width=wide * room)
        items.append(Text(at=(x, foot - 8.2), text=words, size=value))
    area = Area(
        left=left,
        bottom=foot + 5.0,
        right=right,
        top=below + reading * pitch - (10.0 if small else 12.0),
    )
    return Sheet(width=width, height=height, items=tuple(items), area=area)
