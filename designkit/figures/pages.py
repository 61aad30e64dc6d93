"""What the figures of finishes and photographs share: paper or page, framed fields, pixels."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    Sizes,
    open_sheet,
    sizes_for,
    whole_area,
)
from designkit.figures.drawing import XY, Drawing, Line, Polygon
from designkit.figures.sheet import Area, TitleBlock

__all__ = ["RIM", "field", "png_of", "rim", "sheet_or_page"]

RIM = "#9a9a9a"  # a light field would not end on white paper


def sheet_or_page(
    draw: Callable[[Chart, Area], object],
    *,
    high: Callable[[Sizes], float],
    scale: str,
    block: TitleBlock | None,
    page: bool,
    question: str,
    answer: str,
    paper: str,
    text: str,
) -> Drawing:
    """The same drawing as a sheet with its question, or alone for a page.

    Parameters
    ----------
    draw : callable
        ``draw(chart, area)`` puts everything on the chart.
    high : callable
        Height of the page drawing, from the sizes of its text. [mm]
    scale : str
        What the amounts are, for the foot of a sheet.
    block : TitleBlock or None
        What the foot says; needed for a sheet.
    page : bool
        The drawing alone.
    question, answer : str
        Heading and the sentence under it.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    text : str
        What the picture says, in words.

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
    if page:
        chart = Chart(sizes_for(width=PAGE_WIDTH, page=True))
        tall = high(chart.sizes)
        draw(chart, whole_area(PAGE_WIDTH, tall))
        return Drawing(
            width=PAGE_WIDTH, height=tall, items=tuple(chart.items), title=question, text=text
        )
    sheet = open_sheet(block, question=question, answer=answer, paper=paper, scale=scale)
    chart = Chart(sizes_for(width=sheet.width, page=False))
    draw(chart, sheet.area)
    return sheet.drawing(chart.items, title=question, text=text)


def _ring(x: float, y: float, wide: float, high: float) -> tuple[XY, ...]:
    return ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


def field(
    chart: Chart, x: float, y: float, wide: float, high: float, *, fill: str, about: str = ""
) -> None:
    """A rectangle filled with one tone.

    Parameters
    ----------
    chart : Chart
        That it is put on.
    x, y : float
        Its lower left corner. [mm]
    wide, high : float
        Its size. [mm]
    fill : str
        Its tone.
    about : str, optional
        The id of what it shows.
    """
    chart.items.append(Polygon(outline=_ring(x, y, wide, high), fill=fill, about=about))


def rim(
    chart: Chart, x: float, y: float, wide: float, high: float, *, weight: float = 0.18
) -> None:
    """A thin grey line around a rectangle.

    Parameters
    ----------
    chart : Chart
        That it is put on.
    x, y : float
        The lower left corner. [mm]
    wide, high : float
        The size. [mm]
    weight : float, optional
        Of the line. [mm]
    """
    chart.items.append(Line(points=_ring(x, y, wide, high), closed=True, weight=weight, ink=RIM))


def png_of(pixels: npt.NDArray[np.uint8], *, most: int = 0, level: int = 3) -> bytes:
    """Pixels as a PNG.

    Parameters
    ----------
    pixels : array of uint8
        Rows × columns, grey, or with red, green and blue.
    most : int, optional
        Longest side; larger pictures are made smaller, 0 leaves them as they are.
    level : int, optional
        How hard it is packed, 0 to 9.

    Returns
    -------
    bytes
        Always red, green and blue: one renderer would give grey colours of its own.
    """
    from PIL import Image

    whole = pixels if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=2)
    image = Image.fromarray(whole)
    if most:
        image.thumbnail((most, most))
    out = io.BytesIO()
    image.save(out, format="PNG", compress_level=level)
    return out.getvalue()
