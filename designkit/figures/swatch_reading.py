"""A swatch beside a card in a photograph, with its reading; and the ladder of greys.

The ladder is printed 1:1 and laid beside the cutting; the reading stands on the scale of
L* with its ±, beside the limits of black, dark and light.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import PAGE_WIDTH, Chart, sizes_for, whole_area, wrapped
from designkit.figures.drawing import Circle, Drawing, Picture, Polygon
from designkit.figures.pages import field, png_of, rim, sheet_or_page
from designkit.figures.sheet import Area, TitleBlock
from designkit.palette.finishes import FinishValue
from designkit.palette.swatches import LadderStep, Photo

__all__ = ["ladder_figure", "pixel_at", "reading_figure"]

WIDE, TALL = 150.0, 100.0  # room for the photograph [mm]
HOLD = (
    "Hold the cutting across two fields in daylight and half close the eyes: where the edge fades "
    "is its value. A printer's grey must be checked with an 18 % card first."
)
SIDE = 900  # pixels of the picture that is shown


def _size(photo: Photo) -> tuple[float, float]:
    """Width and height of the photograph on the drawing. [mm]"""
    columns, rows = photo.size
    k = min(WIDE / columns, TALL / rows)
    return columns * k, rows * k


def pixel_at(photo: Photo, *, x: float, y: float) -> tuple[float, float] | None:
    """The pixel of the file under a point of the page drawing.

    Parameters
    ----------
    photo : Photo
        From `designkit.palette.swatches.read_photo`.
    x, y : float
        On the drawing, from its left and its top. [mm]

    Returns
    -------
    (float, float) or None
        Column and row, upright; None where the point is not on the photograph.
    """
    wide, high = _size(photo)
    column = (x - 0.5) / wide * photo.size[0]
    row = (y - 0.5) / high * photo.size[1]
    inside = 0 <= column < photo.size[0] and 0 <= row < photo.size[1]
    return (column, row) if inside else None


def reading_figure(
    photo: Photo,
    *,
    marks: Sequence[tuple[str, tuple[float, float]]] = (),
    radius: float = 12.0,
    value: FinishValue | None = None,
    parts: Sequence[tuple[str, float]] = (),
    name: str = "",
) -> Drawing:
    """A photograph with what was clicked, and the reading beside it, for a page.

    Parameters
    ----------
    photo : Photo
        From `designkit.palette.swatches.read_photo`.
    marks : sequence of (str, (float, float))
        What was clicked, and where in the file. [pixel]
    radius : float
        How far about a click is taken. [pixel]
    value : FinishValue, optional
        The finish with its reading.
    parts : sequence of (str, float)
        What the ± is made of, each ± L*.
    name : str
        Of the photograph.

    Returns
    -------
    Drawing
        For a page.
    """
    chart = Chart(sizes_for(width=PAGE_WIDTH, page=True))
    s = chart.sizes
    wide, high = _size(photo)
    tall = max(high, 86.0) + 1.0
    area = whole_area(PAGE_WIDTH, tall)
    base = area.top - high
    pixels: npt.NDArray[np.uint8] = np.round(255 * photo.rgb).astype(np.uint8)
    chart.items.append(
        Picture(
            at=(area.left, base),
            size=(wide, high),
            png=png_of(pixels, most=SIDE),
            text=name or "photograph",
        )
    )
    k = wide / photo.size[0]
    for words, (column, row) in marks:
        x, y = area.left + column * k, area.top - row * k
        size = max(1.6, radius * k)
        for more, colour in ((0.5, ink.PAPER), (0.0, ink.INK)):
            chart.items.append(Circle(centre=(x, y), radius=size + more, weight=0.5, ink=colour))
        long = lettering.advance(words, size=s.note, weight="semibold")
        at = x + size + 1.6 if x + size + 2.0 + long < area.left + wide else x - size - 1.6 - long
        pad = 0.8
        ring = (
            (at - pad, y - s.note / 2 - pad),
            (at + long + pad, y - s.note / 2 - pad),
            (at + long + pad, y + s.note / 2 + pad),
            (at - pad, y + s.note / 2 + pad),
        )
        chart.items.append(Polygon(outline=ring, fill=ink.PAPER))
        chart.text(at, y - s.note / 2, words, s.note, bold=True)
    x = area.left + wide + 8.0
    _reading(chart, x, area.top, area.right - x, value, parts)
    said = f"Photograph {name}. " + (_words(value) if value else "Nothing is read yet.")
    return Drawing(
        width=PAGE_WIDTH,
        height=tall,
        items=tuple(chart.items),
        title="A swatch beside white paper or a grey card",
        text=said,
    )


def _words(value: FinishValue) -> str:
    return (
        f"{value.name}: L* {value.lightness:.0f} ± {value.within:.1f}, LRV {value.lrv:.1f}, "
        f"counts as {value.counts_as}."
    )


def _reading(
    chart: Chart,
    x: float,
    top: float,
    width: float,
    value: FinishValue | None,
    parts: Sequence[tuple[str, float]],
) -> None:
    s = chart.sizes
    if value is None:
        y = top - s.name - 1.0
        chart.lines(x, y, width, "Click the swatch, then the paper or card.", s.name)
        return
    y = top - 22.0
    field(chart, x, y, width, top - y, fill=value.hex, about=value.id)
    rim(chart, x, y, width, top - y)
    y -= s.total + 3.0
    said = f"L* {value.lightness:.0f}"
    chart.text(x, y, said, s.total, bold=True)
    long = lettering.advance(said, size=s.total, weight="semibold")
    within = f"± {value.within:.1f}, LRV {value.lrv:.0f} ± {value.colours[0].lrv_within:.0f}"
    chart.text(x + long + 2.0, y, within, s.note)
    y -= s.pitch(s.name)
    y = chart.lines(x, y, width, f"counts as {value.counts_as}", s.name, most=2)
    y -= 1.0
    if parts:
        chart.text(x, y, "What the ± is made of, L*", s.note, colour=ink.GREY_2)
        y -= s.pitch(s.note)
    for words, part in sorted(parts, key=lambda p: -p[1])[:6]:
        shown = lettering.shorten(words, size=s.note, width=width - 10.0)
        chart.text(x, y, shown, s.note)
        chart.text(x + width, y, f"{part:.1f}", s.note, anchor="end")
        y -= s.pitch(s.note)


def ladder_figure(
    steps: Sequence[LadderStep],
    *,
    chosen: float | None = None,
    value: FinishValue | None = None,
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "Which grey is as light as the cutting?",
    answer: str = HOLD,
    paper: str = "A4",
) -> Drawing:
    """The ladder of greys by Munsell value, to be printed and laid beside a cutting.

    Parameters
    ----------
    steps : sequence of LadderStep
        From `designkit.palette.swatches.ladder`, darkest first.
    chosen : float, optional
        The value that was read.
    value : FinishValue, optional
        The finish with that reading, with its ±.
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
    text = answer + " " + " ".join(f"{s.munsell_value:g}: LRV {s.lrv:.1f}." for s in steps)
    return sheet_or_page(
        lambda chart, area: _ladder(chart, area, steps, chosen, value),
        high=lambda _: 69.0,
        scale="1:1",
        block=block,
        page=page,
        question=question,
        answer=answer,
        paper=paper,
        text=text,
    )


def _ladder(
    chart: Chart,
    area: Area,
    steps: Sequence[LadderStep],
    chosen: float | None,
    value: FinishValue | None,
) -> None:
    s = chart.sizes
    wide = (area.right - area.left) / len(steps)
    foot = s.pitch(s.note) * 3 + 4.0 + (s.pitch(s.name) * 2 + 4.0 if value is not None else 0.0)
    high = min(90.0, area.top - area.bottom - foot - 4.0)
    top = area.top - 4.0
    low = top - high
    for n, step in enumerate(steps):
        x = area.left + n * wide
        field(chart, x, low, wide, high, fill=step.hex)
        y = low - s.note - 1.6
        on = chosen is not None and abs(step.munsell_value - chosen) < 1e-6
        chart.text(x + wide / 2, y, f"{step.munsell_value:g}", s.note, bold=on, anchor="middle")
        y -= s.pitch(s.note)
        lrv = f"{step.lrv:.1f}" if step.lrv < 9.95 else f"{step.lrv:.0f}"
        chart.text(x + wide / 2, y, lrv, s.note, colour=ink.GREY_2, anchor="middle")
        if on:
            middle = x + wide / 2
            mark = ((middle, top + 0.6), (middle - 1.6, top + 3.4), (middle + 1.6, top + 3.4))
            chart.items.append(Polygon(outline=mark, fill=ink.INK))
    rim(chart, area.left, low, area.right - area.left, high)
    y = low - 1.6 - s.note - 2 * s.pitch(s.note) - 1.0
    words = "Munsell value, then LRV (ASTM D1535)"
    chart.text(area.left, y, words, s.note, colour=ink.GREY_2)
    if value is not None:
        y -= s.pitch(s.name) + 1.0
        for line in wrapped(_words(value), size=s.name, width=area.width, most=2):
            chart.text(area.left, y, line, s.name)
            y -= s.pitch(s.name)
