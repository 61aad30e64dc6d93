"""Blocks of words on a sheet: headings, sentences, tables, keys.

Each function takes the place of its first baseline and gives the primitives
and the y where the next block may begin. Sizes are paper millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.drawing import Line, Primitive, Text

__all__ = ["Column", "heading", "rule", "sentence", "table"]


def rule(x: float, y: float, width: float, *, weight: float = 0.18, colour: str = ink.INK) -> Line:
    """A horizontal rule.

    Parameters
    ----------
    x, y : float
        Its left end. [mm]
    width : float
        Its length. [mm]
    weight : float
        Line weight. [mm]
    colour : str
        Ink.

    Returns
    -------
    Line
        The rule.

    Examples
    --------
    >>> rule(0, 5, 10).points
    ((0, 5), (10, 5))
    """
    return Line(points=((x, y), (x + width, y)), weight=weight, ink=colour)


def heading(
    x: float, y: float, width: float, words: str, *, note: str = "", size: float = ink.HEADING
) -> tuple[list[Primitive], float]:
    """A heading with a rule under it and a grey note at its right.

    Parameters
    ----------
    x, y : float
        Left end of its baseline. [mm]
    width : float
        Width of the column. [mm]
    words : str
        The heading.
    note : str
        A few words at the right, in grey.
    size : float
        Cap height. [mm]

    Returns
    -------
    (list of Primitive, float)
        The primitives, and the baseline of what follows. [mm]

    Examples
    --------
    >>> items, below = heading(0, 100, 126, "Findings")
    >>> round(below, 2)
    90.9
    """
    words = lettering.shorten(words, size=size, width=width, weight="semibold")
    items: list[Primitive] = [Text(at=(x, y), text=words, size=size, weight="semibold")]
    if note:
        room = width - lettering.advance(words, size=size, weight="semibold") - 4
        if room > 10:
            note = lettering.shorten(note, size=ink.CAPTION, width=room)
            items.append(
                Text(
                    at=(x + width, y),
                    text=note,
                    size=ink.CAPTION,
                    ink=ink.GREY_2,
                    anchor="end",
                )
            )
    items.append(rule(x, y - 2.7, width))
    return items, y - 2.7 - 6.4


def sentence(
    x: float,
    y: float,
    width: float,
    words: str,
    *,
    size: float = ink.READING,
    weight: Literal["regular", "semibold"] = "regular",
    italic: bool = False,
    colour: str = ink.INK,
    pitch: float = 1.65,
    most: int | None = None,
    about: str = "",
) -> tuple[list[Primitive], float]:
    """A sentence, broken into lines.

    Parameters
    ----------
    x, y : float
        Left end of its first baseline. [mm]
    width : float
        Width of the column. [mm]
    words : str
        The sentence.
    size : float
        Cap height. [mm]
    weight : {"regular", "semibold"}
        Face.
    italic : bool
        Face.
    colour : str
        Ink.
    pitch : float
        From line to line, in cap heights.
    most : int, optional
        Number of lines that there is room for; the last one ends in "…".
    about : str
        Id of what it is about.

    Returns
    -------
    (list of Primitive, float)
        The primitives, and the baseline after the last line. [mm]

    Examples
    --------
    >>> items, below = sentence(0, 50, 40, "The sofa faces the canal; the route is free.")
    >>> len(items), round(below, 2)
    (2, 41.75)
    """
    lines = lettering.wrap(words, size=size, width=width, weight=weight, italic=italic)
    if most is not None and len(lines) > most:
        rest = " ".join(lines[most - 1 :])
        last = lettering.shorten(rest, size=size, width=width, weight=weight, italic=italic)
        lines = (*lines[: most - 1], last)
    items: list[Primitive] = []
    for line in lines:
        items.append(
            Text(
                at=(x, y),
                text=line,
                size=size,
                weight=weight,
                italic=italic,
                ink=colour,
                about=about,
            )
        )
        y -= size * pitch
    return items, y


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    width : float
        [mm]
    head : str
        Its heading, "" for none.
    align : {"start", "end"}
        At its left or its right edge.
    weight : {"regular", "semibold"}
        Face of its cells.
    colour : str
        Ink of its cells.
    """

    width: float
    head: str = ""
    align: Literal["start", "end"] = "start"
    weight: Literal["regular", "semibold"] = "regular"
    colour: str = ink.INK


def table(
    x: float,
    y: float,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    *,
    gap: float = 4.0,
    pitch: float = 5.4,
    size: float = ink.READING,
    about: Sequence[str] = (),
) -> tuple[list[Primitive], float]:
    """A table with a pale rule under each row.

    Parameters
    ----------
    x, y : float
        Left end of its first baseline. [mm]
    columns : sequence of Column
        Their widths add up to the width of the table with the gaps.
    rows : sequence of sequences of str
        One text a column; a text that does not fit is cut and shows "…".
    gap : float
        Between columns. [mm]
    pitch : float
        From row to row. [mm]
    size : float
        Cap height. [mm]
    about : sequence of str
        Id of what each row is about.

    Returns
    -------
    (list of Primitive, float)
        The primitives, and the baseline after the last row. [mm]

    Examples
    --------
    >>> columns = [Column(width=20, head="piece"), Column(width=10, align="end")]
    >>> items, below = table(0, 50, columns, [["sofa", "1"], ["table", "1"]])
    >>> round(below, 1)
    33.8
    """
    width = sum(c.width for c in columns) + gap * (len(columns) - 1)
    items: list[Primitive] = []

    def put(cells: Sequence[str], y: float, head: bool, about: str) -> None:
        left = x
        for column, words in zip(columns, cells):
            face = "regular" if head else column.weight
            height = ink.CAPTION if head else size
            if words:
                words = lettering.shorten(words, size=height, width=column.width, weight=face)
                items.append(
                    Text(
                        at=(left if column.align == "start" else left + column.width, y),
                        text=words,
                        size=height,
                        weight=face,
                        ink=ink.GREY_2 if head else column.colour,
                        anchor=column.align,
                        about=about,
                    )
                )
            left += column.width + gap

    if any(column.head for column in columns):
        put([column.head for column in columns], y, True, "")
        y -= pitch
    for index, row in enumerate(rows):
        put(row, y, False, about[index] if index < len(about) else "")
        items.append(rule(x, y - 1.55, width, weight=0.09, colour=ink.GREY_4))
        y -= pitch
    return items, y
