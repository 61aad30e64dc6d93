"""Bars of value of a photograph: the picture, the picture in three tones, and the shares.

Each bar has a thin stroke for how far its share moves with exposure, the white and
the limits; below stands the spread over L* in steps of five.
"""

from __future__ import annotations

import numpy as np

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart, wrapped
from designkit.figures.drawing import Circle, Drawing, Line, Picture
from designkit.figures.pages import field, png_of, rim, sheet_or_page
from designkit.figures.sheet import Area, TitleBlock
from designkit.palette.photo_values import PhotoValues

__all__ = ["photo_figure", "photo_place", "point_in_photo"]

PICTURE = 112.0  # room for each picture across [mm]
TALLEST = 84.0  # and upwards [mm]
GAP = 8.0
HEAD = 5.6  # words over a picture [mm]
TONES = {"dark": 40, "mid": 145, "light": 235}
ROW = 9.0
SPREAD = 26.0  # height of the spread over L* [mm]


def photo_place(photo: PhotoValues) -> tuple[float, float, float]:
    """Where the photograph lies on the page drawing.

    Parameters
    ----------
    photo : PhotoValues
        From `designkit.palette.photo_values.photo_values`.

    Returns
    -------
    (float, float, float)
        Its left side and its top from the top of the drawing, and its width. [mm]
    """
    _, wide = _size(photo)
    return 0.5, 0.5 + HEAD, wide


def point_in_photo(photo: PhotoValues, *, x: float, y: float) -> tuple[float, float] | None:
    """The pixel of the file under a point of the page drawing.

    Parameters
    ----------
    photo : PhotoValues
        From `designkit.palette.photo_values.photo_values`.
    x, y : float
        On the drawing, from its left and its top. [mm]

    Returns
    -------
    (float, float) or None
        Column and row, upright; None where the point is not on the photograph.
    """
    left, top, wide = photo_place(photo)
    rows, columns = photo.lightness.shape
    step = columns / wide
    column, row = (x - left) * step, (y - top) * step
    if not (0 <= column < columns and 0 <= row < rows):
        return None
    return column / photo.scale, row / photo.scale


def _size(photo: PhotoValues) -> tuple[float, float]:
    """Height and width of a picture. [mm]"""
    rows, columns = photo.lightness.shape
    k = min(PICTURE / columns, TALLEST / rows)
    return rows * k, columns * k


def photo_figure(
    photo: PhotoValues,
    *,
    name: str = "",
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "How much of it is dark, mid and light?",
    answer: str = "",
    paper: str = "A4",
) -> Drawing:
    """The bars of value of a photograph.

    Parameters
    ----------
    photo : PhotoValues
        From `designkit.palette.photo_values.photo_values`.
    name : str
        Of the photograph.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The drawing alone, for a page.
    question, answer : str
        Heading and the sentence under it.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        A sheet has no title block.
    LookupFailed
        There is no such paper.
    """
    answer = answer or photo.answer
    text = " ".join((answer, *photo.warnings, photo.definitions))
    return sheet_or_page(
        lambda chart, area: _draw(chart, area, photo, name),
        high=lambda s: (
            HEAD + _size(photo)[0] + 6.0 + s.head + 4.0 + 4 * ROW + s.pitch(s.note) * 3 + 2.0
        ),
        scale="per cent",
        block=block,
        page=page,
        question=question,
        answer=answer,
        paper=paper,
        text=text,
    )


def _draw(chart: Chart, area: Area, photo: PhotoValues, name: str) -> None:
    s = chart.sizes
    high, wide = _size(photo)
    need = HEAD + 6.0 + s.head + 4.0 + 4 * ROW + s.pitch(s.note) * 5
    k = min(1.0, max(0.2, (area.top - area.bottom - need) / high))
    high, wide = high * k, wide * k
    base = area.top - HEAD - high
    pixels = np.round(255 * np.clip(photo.rgb, 0, 1)).astype(np.uint8)
    tones = np.full(photo.lightness.shape, TONES["mid"], dtype=np.uint8)
    tones[photo.lightness < photo.limits.dark] = TONES["dark"]
    tones[photo.lightness > photo.limits.light] = TONES["light"]
    x2 = area.left + wide + GAP
    for x, title, png in (
        (area.left, name or "the photograph", png_of(pixels)),
        (x2, "in three tones: dark, mid, light", png_of(tones)),
    ):
        words = lettering.shorten(title, size=s.name, width=wide, weight="semibold")
        chart.text(x, area.top - s.name - 0.6, words, s.name, bold=True)
        chart.items.append(Picture(at=(x, base), size=(wide, high), png=png, text=title))
        ring = ((x, base), (x + wide, base), (x + wide, base + high), (x, base + high))
        chart.items.append(Line(points=ring, closed=True, weight=0.18))
    if photo.white is not None:
        rows, columns = photo.lightness.shape
        x = area.left + photo.white[0] * photo.scale * wide / columns
        y = base + high - photo.white[1] * photo.scale * high / rows
        for radius, colour in ((2.4, ink.PAPER), (1.9, ink.INK)):
            chart.items.append(Circle(centre=(x, y), radius=radius, weight=0.5, ink=colour))
    top = base - 6.0
    half = (area.width - 14.0) * 0.52
    _bars(chart, area.left, top, half, photo)
    _spread(chart, area.left + half + 14.0, top, area.width - half - 14.0, photo)


def _bars(chart: Chart, x: float, top: float, width: float, photo: PhotoValues) -> None:
    s = chart.sizes
    y = top - s.head
    chart.text(x, y, "Shares of the picture", s.head, bold=True)
    y -= 4.0
    name = lettering.advance("black", size=s.name) + 4.0
    number = lettering.advance("100 %", size=s.name, weight="semibold") + 1.6
    number += lettering.advance("100 to 100", size=s.note) + 4.0
    room = width - name - number
    fills = {"black": ink.INK, "dark": ink.GREY_1, "mid": ink.GREY_3, "light": ink.PAPER}
    for key in ("black", "dark", "mid", "light"):
        share, low, high = photo.shares[key], photo.low[key], photo.high[key]
        y -= ROW
        chart.text(x, y + 1.6, key, s.name)
        left = x + name
        chart.bar(left, left + room * share, y + 0.6, 4.6, fill=fills[key], weight=0.25)
        if high - low > 0.002:
            middle = y - 0.4
            chart.line(left + room * low, middle, left + room * high, middle, 0.35)
            for end in (low, high):
                at = left + room * end
                chart.line(at, middle - 0.7, at, middle + 0.7, 0.35)
        at = left + room * max(share, high) + 2.4
        said = f"{100 * share:.0f}\u00a0%"
        chart.text(at, y + 1.6, said, s.name, bold=True)
        at += lettering.advance(said, size=s.name, weight="semibold") + 1.6
        chart.text(at, y + 1.6, f"{100 * low:.0f} to {100 * high:.0f}", s.note, colour=ink.GREY_2)
    words = "Stroke: how far the share moves with exposure ⅓ of a stop, the white and the limits."
    y -= s.pitch(s.note) + 1.0
    for line in wrapped(words, size=s.note, width=width, most=2):
        chart.text(x, y, line, s.note, colour=ink.GREY_2)
        y -= s.pitch(s.note)


def _spread(chart: Chart, x: float, top: float, width: float, photo: PhotoValues) -> None:
    s = chart.sizes
    y = top - s.head
    chart.text(x, y, "Spread over L*", s.head, bold=True)
    base = y - 4.0 - SPREAD - 4.0
    step = width / len(photo.histogram)
    most = max(max(photo.histogram), 1e-9)
    for n, share in enumerate(photo.histogram):
        left = x + n * step
        high = SPREAD * share / most
        if high > 0.05:
            field(chart, left, base, step - 0.3, high, fill=ink.GREY_1)
        field(chart, left, base - 4.0, step, 4.0, fill=ink.grey_of((n + 0.5) * 5))
    rim(chart, x, base - 4.0, width, 4.0, weight=0.13)
    y = base - 4.0 - 1.4 - s.note
    limits = photo.limits
    for at, words, anchor in (
        (limits.dark, f"dark under {limits.dark:g}", "end"),
        (limits.light, f"light over {limits.light:g}", "start"),
    ):
        place = x + width * at / 100
        chart.line(place, base - 5.2, place, base + SPREAD, 0.25, dash=(1.2, 0.9))
        chart.text(
            place + (-0.6 if anchor == "end" else 0.6),
            y,
            words,
            s.note,
            colour=ink.GREY_1,
            anchor="end" if anchor == "end" else "start",
        )
    ends = f"burnt out {100 * photo.burnt:.0f}\u00a0%, blocked up {100 * photo.blocked:.0f}\u00a0%"
    chart.text(x, y - s.pitch(s.note), ends, s.note, colour=ink.GREY_2)
