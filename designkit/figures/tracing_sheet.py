"""A builder's plan as a tracing sheet, with what was clicked on it and what that makes."""

from __future__ import annotations

import functools
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely.geometry import Polygon as Shape

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.dimensions import between
from designkit.figures.drawing import XY, Circle, Drawing, Line, Picture, Polygon, Primitive, Text
from designkit.model import Point
from designkit.plan.tracing import Traced, TracingSheet
from designkit.plan.tracing_frame import frame_of
from designkit.units import in_sentence, on_sheet

__all__ = ["OnPaper", "as_shown", "pale", "paper_of_sheet", "tracing_drawing"]

_WIDTH = 250.0  # of the drawing on a study page [mm]
_HIGH = 190.0
_SHOWN = 4.0  # pixels of a page for a millimetre of the drawing
_LONGEST = 2600  # pixels of the picture under the drawing: read at four times its size
_BYTES = 900_000  # of it; it goes along with each click
_PALE = 0.45  # how far it is faded towards white


@dataclass(frozen=True, kw_only=True)
class OnPaper:
    """Where the sheet lies on the drawing: pixels to millimetres and back."""

    k: float  # millimetres of one pixel
    left: float  # [mm]
    top: float  # of the picture, from the drawing's upper edge [mm]
    width: float  # of the drawing [mm]
    height: float  # [mm]
    size: tuple[int, int]  # of the sheet [pixels]

    def pixel(self, x: float, y: float) -> Point:
        """A point of the drawing, from its upper left corner, as pixels of the sheet.

        Parameters
        ----------
        x, y : float
            [mm, y down]

        Returns
        -------
        Point
            [pixels, y down]
        """
        return (x - self.left) / self.k, (y - self.top) / self.k

    def paper(self, point: Point) -> XY:
        """A pixel of the sheet on the drawing.

        Parameters
        ----------
        point : Point
            [pixels, y down]

        Returns
        -------
        (float, float)
            [mm, y up]
        """
        return self.left + point[0] * self.k, self.height - self.top - point[1] * self.k


def as_shown(sheet: TracingSheet) -> TracingSheet:
    """The sheet counted in the pixels that a study page shows it with.

    A click is no finer than the page: a scan of many pixels would promise a ±
    that no hand keeps.

    Parameters
    ----------
    sheet : TracingSheet
        From `designkit.plan.tracing.open_sheet`.

    Returns
    -------
    TracingSheet
        With the same picture; a small one is left as it is.
    """
    wide, high = sheet.size
    ratio = min(_WIDTH / wide, _HIGH / high) * _SHOWN
    if ratio >= 1.0:
        return sheet
    per = sheet.per_paper_metre
    return replace(
        sheet,
        size=(max(1, round(wide * ratio)), max(1, round(high * ratio))),
        per_paper_metre=None if per is None else per * ratio,
    )


def paper_of_sheet(sheet: TracingSheet) -> OnPaper:
    """Where a sheet lies on its drawing.

    Parameters
    ----------
    sheet : TracingSheet
        From `designkit.plan.tracing.open_sheet`.

    Returns
    -------
    OnPaper
        The whole sheet, in the middle.
    """
    wide, high = sheet.size
    k = min(_WIDTH / wide, _HIGH / high)
    return OnPaper(
        k=k,
        left=(_WIDTH - wide * k) / 2,
        top=0.0,
        width=_WIDTH,
        height=high * k,
        size=sheet.size,
    )


@functools.lru_cache(maxsize=4)
def _faded(data: bytes) -> bytes:
    from PIL import Image

    with Image.open(io.BytesIO(data)) as opened:
        image = opened.convert("L")
    if max(image.size) > _LONGEST:
        image.thumbnail((_LONGEST, _LONGEST))
    image = image.point([round(255 - (255 - v) * (1 - _PALE)) for v in range(256)])
    quality = 80
    while True:
        out = io.BytesIO()
        image.save(out, "JPEG", quality=quality)
        if out.tell() <= _BYTES or quality <= 30:
            return out.getvalue()
        quality -= 10


def pale(sheet: TracingSheet) -> bytes:
    """The sheet's picture in pale greys, small enough to go along with each click.

    Parameters
    ----------
    sheet : TracingSheet
        Its picture.

    Returns
    -------
    bytes
        JPEG.
    """
    return _faded(sheet.picture)


def _cross(at: XY, ink_: str) -> list[Primitive]:
    r = 2.4
    return [
        Line(points=((at[0] - r, at[1] - r), (at[0] + r, at[1] + r)), weight=0.35, ink=ink_),
        Line(points=((at[0] - r, at[1] + r), (at[0] + r, at[1] - r)), weight=0.35, ink=ink_),
    ]


def _dimension(on: OnPaper, points: Sequence[Point], words: str) -> list[Primitive]:
    """One or two clicked points, and what lies between them."""
    ends = [on.paper(p) for p in points]
    items: list[Primitive] = [item for end in ends for item in _cross(end, ink.TIMBER)]
    if len(ends) == 2 and math.dist(*ends) > 1.0:
        items += between(ends[0], ends[1], words, colour=ink.TIMBER, weight="semibold", halo=0.9)
    return items


def tracing_drawing(
    sheet: TracingSheet,
    *,
    scale_points: Sequence[Point] = (),
    scale_words: str = "",
    check_points: Sequence[Point] = (),
    check_words: str = "",
    corners: Sequence[Point] = (),
    traced: Traced | None = None,
    kept: Sequence[tuple[str, Sequence[Point]]] = (),
    units: str = "m",
) -> Drawing:
    """The sheet with the clicked dimension, the corners and the outline that they make.

    Parameters
    ----------
    sheet : TracingSheet
        From `designkit.plan.tracing.open_sheet`.
    scale_points, check_points : sequence of Point, optional
        Ends of a known dimension, one or two. [pixels, y down]
    scale_words, check_words : str, optional
        What stands above it.
    corners : sequence of Point, optional
        As clicked. [pixels, y down]
    traced : Traced, optional
        What they make; its outline and its sides in figures are drawn.
    kept : sequence of (str, sequence of Point), optional
        Rooms of this sheet that are kept already: name and corners. [pixels]
    units : str, optional
        Unit of the figures.

    Returns
    -------
    Drawing
        As large as the sheet on a study page.
    """
    on = paper_of_sheet(sheet)
    wide, high = sheet.size
    items: list[Primitive] = [
        Picture(
            at=(on.left, 0.0),
            size=(wide * on.k, high * on.k),
            png=pale(sheet),
            text=f"The plan {sheet.name}",
        )
    ]
    for name, outline in kept:
        ring = [on.paper(p) for p in outline]
        items.append(Polygon(outline=tuple(ring), weight=0.35, ink=ink.GREY_2, dash=ink.DASH_ZONE))
        items.append(_name(ring, name, ink.GREY_2))
    told = [f"Plan {sheet.name}."]
    if traced is not None:
        items += _outline(on, traced, units)
        told.append(
            f"Outline of {len(traced.outline)} corners, "
            f"{in_sentence(traced.area, kind='area', units=units)}."
        )
    elif len(corners) > 1:
        items.append(Line(points=tuple(on.paper(p) for p in corners), weight=0.35))
    for number, corner in enumerate(corners, start=1):
        at = on.paper(corner)
        first = number == 1 and traced is None
        items.append(Circle(centre=at, radius=1.6 if first else 0.9, weight=0.3, fill=ink.PAPER))
    items += _dimension(on, scale_points, scale_words)
    items += _dimension(on, check_points, check_words)
    if scale_words:
        told.append(f"Dimension {scale_words}.")
    return Drawing(
        width=on.width,
        height=on.height,
        items=tuple(items),
        title="The plan as a tracing sheet",
        text=" ".join(told),
    )


def _name(ring: Sequence[XY], words: str, colour: str) -> Text:
    shape = Shape(ring)
    inside = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
    return Text(
        at=(inside.x, inside.y),
        text=words,
        size=ink.READING,
        italic=True,
        ink=colour,
        anchor="middle",
        halo=0.8,
    )


def _outline(on: OnPaper, traced: Traced, units: str) -> list[Primitive]:
    """The outline as it is drawn, back on the sheet, with its sides in figures."""
    ring = [on.paper(p) for p in frame_of(traced).on_sheet(traced.outline)]
    items: list[Primitive] = [Polygon(outline=tuple(ring), weight=0.7)]
    closed = [*traced.outline, traced.outline[0]]
    signed = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]]))
    for k, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]])):
        words = on_sheet(math.dist(closed[k], closed[k + 1]), units=units)
        length = math.dist(a, b)
        if length < lettering.advance(words, size=ink.NAME) + 2.0:
            continue
        # Inside the room, beside its side: the walls on the sheet stay free.
        nx, ny = -(b[1] - a[1]) / length, (b[0] - a[0]) / length
        inwards = 1.0 if signed > 0 else -1.0
        away = 3.4 * inwards
        middle = ((a[0] + b[0]) / 2 + nx * away, (a[1] + b[1]) / 2 + ny * away)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        while turn > 90.0001:
            turn -= 180
        while turn <= -89.9999:
            turn += 180
        drop = ink.NAME / 2
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        items.append(
            Text(
                at=(middle[0] + s * drop, middle[1] - c * drop),
                text=words,
                size=ink.NAME,
                weight="semibold",
                anchor="middle",
                rotation=round(turn, 6),
                halo=0.7,
            )
        )
    area = in_sentence(traced.area, kind="area", units=units)
    items.append(_name(ring, area, ink.INK))
    return items
