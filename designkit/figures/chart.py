"""What the charts share: text sizes by paper, bars, axes, money in words.

Charts are Drawings like the plans, with a question as heading and the answer
under it. On a study page the page itself shows both, so there the drawing
comes alone, 250 mm wide, with text for a column of 1000 px.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from designkit.costs.money import currency, sum_text
from designkit.days import MONTHS
from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.drawing import Hatch, Line, Polygon, Primitive, Text
from designkit.figures.sheet import PAPERS, Area, Sheet, TitleBlock, question_sheet
from designkit.units import NBSP

__all__ = [
    "PAGE_WIDTH",
    "Chart",
    "Sizes",
    "amount_text",
    "answer_lines",
    "axis_unit",
    "days_text",
    "fitted",
    "number_text",
    "open_sheet",
    "sizes_for",
    "ticks",
    "whole_area",
    "widest",
    "wrapped",
]

PAGE_WIDTH = 250.0  # drawn 1000 px wide: 4 px a millimetre
_PX = 0.25 * lettering.CAP  # cap height of one px of type on the page [mm]
# The answer may not push the proof off the sheet.
_MOST_ANSWER = 3


@dataclass(frozen=True, kw_only=True)
class Sizes:
    """Cap heights of a chart's text. [mm]"""

    head: float  # panel heading
    name: float  # label at the thing, table text
    note: float  # axis, note, source
    total: float  # the sums that are compared
    small: float  # the smallest that is used

    def pitch(self, size: float) -> float:
        """From line to line.

        Parameters
        ----------
        size : float
            Cap height. [mm]

        Returns
        -------
        float
            [mm]
        """
        return size / lettering.CAP * 1.28


_POINTS = lettering.from_points
_A4 = Sizes(
    head=_POINTS(14), name=_POINTS(10), note=_POINTS(9.2), total=_POINTS(16), small=_POINTS(8.5)
)
_A3 = Sizes(
    head=_POINTS(15), name=_POINTS(11.5), note=_POINTS(10.6), total=_POINTS(19), small=_POINTS(10.2)
)
_PAGE = Sizes(head=20 * _PX, name=15 * _PX, note=14 * _PX, total=23 * _PX, small=13 * _PX)


def sizes_for(*, width: float, page: bool) -> Sizes:
    """The text sizes for a paper, or for a study page.

    Parameters
    ----------
    width : float
        Of the paper. [mm]
    page : bool
        For a study page.

    Returns
    -------
    Sizes
        Cap heights.

    Examples
    --------
    >>> sizes_for(width=297, page=False).total < sizes_for(width=420, page=False).total
    True
    """
    return _PAGE if page else _A4 if width < 300 else _A3


class Chart:
    """The primitives of a chart while it is drawn, with the few strokes it is made of.

    Parameters
    ----------
    sizes : Sizes
        Cap heights of its text.
    """

    def __init__(self, sizes: Sizes) -> None:
        self.sizes = sizes
        self.items: list[Primitive] = []

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float,
        *,
        bold: bool = False,
        colour: str = ink.INK,
        anchor: Literal["start", "middle", "end"] = "start",
        halo: float = 0.0,
        italic: bool = False,
        about: str = "",
    ) -> None:
        """One line of text.

        Parameters
        ----------
        x, y : float
            Its anchor, on the baseline. [mm]
        words : str
            What it says.
        size : float
            Cap height. [mm]
        bold, italic : bool, optional
            How it is set.
        colour : str, optional
            As "#rrggbb".
        anchor : {"start", "middle", "end"}, optional
            Which end of the line stands at x.
        halo : float, optional
            Width of the paper kept free round the letters. [mm]
        about : str, optional
            What it belongs to, for a page to find it.
        """
        self.items.append(
            Text(
                at=(x, y),
                text=words,
                size=size,
                weight="semibold" if bold else "regular",
                italic=italic,
                ink=colour,
                anchor=anchor,
                halo=halo,
                about=about,
            )
        )

    def lines(
        self,
        x: float,
        y: float,
        width: float,
        words: str,
        size: float,
        *,
        bold: bool = False,
        colour: str = ink.INK,
        most: int | None = None,
        about: str = "",
    ) -> float:
        """A wrapped sentence; gives the baseline after it.

        Parameters
        ----------
        x, y : float
            Start of the first baseline. [mm]
        width : float
            At which it is wrapped. [mm]
        words : str
            What it says.
        size : float
            Cap height. [mm]
        bold : bool, optional
            How it is set.
        colour : str, optional
            As "#rrggbb".
        most : int, optional
            Lines that there is room for.
        about : str, optional
            What it belongs to, for a page to find it.

        Returns
        -------
        float
            The next baseline. [mm]
        """
        for line in wrapped(words, size=size, width=width, bold=bold, most=most):
            self.text(x, y, line, size, bold=bold, colour=colour, about=about)
            y -= self.sizes.pitch(size)
        return y

    def line(
        self,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        weight: float,
        *,
        colour: str = ink.INK,
        dash: tuple[float, ...] = (),
    ) -> None:
        """A straight stroke.

        Parameters
        ----------
        x0, y0, x1, y1 : float
            Its ends. [mm]
        weight : float
            Of the stroke. [mm]
        colour : str, optional
            As "#rrggbb".
        dash : tuple of float, optional
            Stroke and gap in turn; empty for a whole line. [mm]
        """
        self.items.append(Line(points=((x0, y0), (x1, y1)), weight=weight, ink=colour, dash=dash))

    def bar(
        self,
        x0: float,
        x1: float,
        y: float,
        height: float,
        *,
        fill: str = "",
        weight: float = 0.0,
        hatch: bool = False,
        ruled: bool = False,
        about: str = "",
    ) -> None:
        """A bar from its lower left corner: filled, outlined, hatched or ruled.

        Parameters
        ----------
        x0, x1 : float
            Its sides, in either order. [mm]
        y : float
            Its lower edge. [mm]
        height : float
            Upwards. [mm]
        fill : str, optional
            As "#rrggbb"; "" for paper.
        weight : float, optional
            Of the outline; 0 for none. [mm]
        hatch : bool, optional
            Slanted lines.
        ruled : bool, optional
            Upright lines.
        about : str, optional
            What it belongs to, for a page to find it.
        """
        x0, x1 = min(x0, x1), max(x0, x1)
        # An outline is drawn inside, so that outlined and filled bars are as large.
        inset = weight / 2 if x1 - x0 > weight else 0.0
        outline = (
            (x0 + inset, y + inset),
            (x1 - inset, y + inset),
            (x1 - inset, y + height - inset),
            (x0 + inset, y + height - inset),
        )
        self.items.append(
            Polygon(outline=outline, fill=fill or ink.PAPER, weight=weight, about=about)
        )
        if (hatch or ruled) and x1 - x0 > 0.3:
            self.items.append(
                Hatch(
                    outline=outline,
                    angle=90.0 if ruled else ink.NEXT.angle,
                    spacing=ink.NEXT.spacing,
                    weight=ink.NEXT.weight,
                    ink=ink.NEXT.ink,
                    about=about,
                )
            )


def wrapped(
    words: str, *, size: float, width: float, bold: bool = False, most: int | None = None
) -> tuple[str, ...]:
    """Lines of a sentence, at most so many, the last cut with "…" where it must be.

    Parameters
    ----------
    words : str
        A sentence.
    size : float
        Cap height. [mm]
    width : float
        At which it is wrapped. [mm]
    bold : bool, optional
        How it is set.
    most : int, optional
        Lines that there is room for.

    Returns
    -------
    tuple of str
        None of them wider than the width.
    """
    if not words:
        return ()
    weight = "semibold" if bold else "regular"
    lines = lettering.wrap(words, size=size, width=width, weight=weight)
    if most is not None and len(lines) > most:
        if most < 1:
            return ()
        rest = " ".join(lines[most - 1 :])
        # Something is left out even where the joined line would just fit.
        cut = lettering.shorten(rest, size=size, width=width, weight=weight)
        lines = (*lines[: most - 1], cut)
    return lines


def fitted(
    words: Iterable[str], *, size: float, width: float, floor: float, bold: bool = False
) -> float:
    """The largest size up to `size` at which all of some lines fit a width.

    Parameters
    ----------
    words : iterable of str
        Lines.
    size, floor : float
        Largest and smallest cap height. [mm]
    width : float
        Room. [mm]
    bold : bool
        Semibold.

    Returns
    -------
    float
        Cap height, never below the floor. [mm]

    Examples
    --------
    >>> fitted(["41,965 €"], size=4.0, width=100, floor=2.0)
    4.0
    """
    weight = "semibold" if bold else "regular"
    widest = max((lettering.advance(w, size=1.0, weight=weight) for w in words), default=0.0)
    if widest * size <= width:
        return size
    return max(floor, width / widest)


def number_text(amount: float, *, decimals: int = 0) -> str:
    """A number with groups by comma and a true minus sign.

    Parameters
    ----------
    amount : float
        The number.
    decimals : int
        How many.

    Returns
    -------
    str
        The words.

    Examples
    --------
    >>> number_text(-1234.5), number_text(0.04, decimals=1)
    ('−1,234', '0.0')
    """
    text = f"{amount:,.{decimals}f}"
    if text.startswith("-"):
        text = "−" + text[1:] if any(c in "123456789" for c in text) else text[1:]
    return text


def amount_text(
    amount: Decimal, *, code: str, step: Decimal = Decimal(1), sign: bool = False
) -> str:
    """A sum without its unit, for a column whose unit is said once.

    Parameters
    ----------
    amount : Decimal
        The sum. [currency]
    code : str
        Currency, ISO 4217.
    step : Decimal
        What sums are rounded to; below 1 all show their minor unit. [currency]
    sign : bool
        A plus before a sum above 0.

    Returns
    -------
    str
        The number.

    Examples
    --------
    >>> amount_text(Decimal(-41965), code="EUR")
    '−41,965'
    """
    minor: Literal["when needed", "always"] = "always" if step < 1 else "when needed"
    return sum_text(amount, code=code, minor=minor, sign=sign)


def axis_unit(largest: float, *, code: str) -> tuple[float, str]:
    """What the figures of an axis count, and how that is said.

    Parameters
    ----------
    largest : float
        Largest sum on it. [currency]
    code : str
        Currency, ISO 4217.

    Returns
    -------
    (float, str)
        One of the unit in the currency, and the words.

    Examples
    --------
    >>> axis_unit(44_000, code="EUR")
    (1000.0, 'thousand €')
    """
    sign = currency(code).sign
    for size, word in ((1e12, "million million "), (1e9, "thousand million "), (1e6, "million ")):
        if largest >= 10 * size:
            return size, word + sign
    return (1000.0, f"thousand {sign}") if largest >= 10_000 else (1.0, sign)


def ticks(low: float, high: float, *, most: int = 6) -> tuple[list[float], int]:
    """Round numbers within a span, and the decimals that they need.

    Parameters
    ----------
    low, high : float
        Ends.
    most : int
        Largest number of them.

    Returns
    -------
    (list of float, int)
        The numbers, rising; decimals.

    Examples
    --------
    >>> ticks(33.1, 45.2)
    ([34.0, 36.0, 38.0, 40.0, 42.0, 44.0], 0)
    """
    span = high - low
    if not span > 0:
        return [low], 0
    step = 10.0 ** math.floor(math.log10(span / most))
    for factor in (1.0, 2.0, 5.0, 10.0, 20.0):
        first = math.ceil(low / (step * factor) - 1e-9)
        last = math.floor(high / (step * factor) + 1e-9)
        if last - first + 1 <= most:
            step *= factor
            break
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [k * step for k in range(first, last + 1)], decimals


def days_text(day: datetime.date, *, year: bool = False, weekday: bool = False) -> str:
    """A day as it is said: "5 Jul", "Friday 14 May 2027".

    Parameters
    ----------
    day : date
        The day.
    year : bool
        With the year.
    weekday : bool
        With the day of the week and the month in full.

    Returns
    -------
    str
        With no-break spaces, the same in every locale.

    Examples
    --------
    >>> import datetime
    >>> days_text(datetime.date(2027, 5, 14), weekday=True).replace(chr(160), " ")
    'Friday 14 May'
    """
    month = MONTHS[day.month - 1]
    words = [str(day.day), month if weekday else month[:3]]
    if weekday:
        words.insert(0, _DAYS[day.weekday()])
    if year:
        words.append(str(day.year))
    return NBSP.join(words)


# Not strftime: its words follow the locale of the machine.
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def answer_lines(words: str, *, paper_width: float) -> str:
    """An answer cut to the lines that a sheet has room for.

    Parameters
    ----------
    words : str
        The answer.
    paper_width : float
        Of the sheet. [mm]

    Returns
    -------
    str
        With line ends.
    """
    small = paper_width < 300
    size = _POINTS(12.5 if small else 15.0)
    room = paper_width - 2 * (12.0 if small else 18.0)
    return "\n".join(wrapped(words, size=size, width=room, most=_MOST_ANSWER))


def open_sheet(
    block: TitleBlock | None, *, question: str, answer: str, paper: str, scale: str, note: str = ""
) -> Sheet:
    """The paper of a chart with its question, answer and foot.

    Parameters
    ----------
    block : TitleBlock or None
        What the foot says; needed.
    question, answer : str
        Heading and the sentence under it, cut to two and three lines.
    paper : str
        A key of `sheet.PAPERS`.
    scale : str
        What the amounts are.
    note : str
        A few italic words at the top right.

    Returns
    -------
    Sheet
        With the area for the proof.

    Raises
    ------
    InputError
        There is no title block.
    LookupFailed
        There is no such paper.
    """
    if block is None:
        raise InputError(
            "block",
            given="None",
            allowed="a TitleBlock, or page=True",
            mend="say what the foot of the sheet shows",
        )
    wide = PAPERS.get(paper, (297.0, 210.0))[0]
    small = wide < 300
    room = wide - 2 * (12.0 if small else 18.0)
    size = _POINTS(20 if small else 24)
    heading = "\n".join(wrapped(question, size=size, width=room, bold=True, most=2))
    return question_sheet(
        block,
        question=heading,
        answer=answer_lines(answer, paper_width=wide),
        paper=paper,
        scale=scale,
        note=note,
    )


def widest(words: Sequence[str], *, size: float, bold: bool = False) -> float:
    """Width of the widest of some lines. [mm]

    Parameters
    ----------
    words : sequence of str
        The lines.
    size : float
        Cap height. [mm]
    bold : bool, optional
        How they are set.

    Returns
    -------
    float
        0 where there are none. [mm]
    """
    weight = "semibold" if bold else "regular"
    return max((lettering.advance(w, size=size, weight=weight) for w in words), default=0.0)


def whole_area(width: float, height: float) -> Area:
    """The area of a page drawing: all of it but a hair at the edge.

    Parameters
    ----------
    width, height : float
        Of the page. [mm]

    Returns
    -------
    Area
        On the page. [mm]
    """
    return Area(left=0.5, bottom=0.5, right=width - 0.5, top=height - 0.5)
