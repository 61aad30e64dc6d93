"""A room traced over a builder's plan: scale from two points, outline by clicks.

Points are picture coordinates, x to the right and y down, as a click gives
them. What comes out is metres with y up. A traced outline is known from a plan
until somebody measures it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from shapely.geometry import Polygon

from designkit.errors import FileFormatError, InputError
from designkit.model import Known, Point, Room
from designkit.plan.pdf import open_pdf
from designkit.plan.pictures import PIXELS, read_picture, too_large
from designkit.reference import value
from designkit.units import in_sentence, read

__all__ = [
    "AreaCheck",
    "Scale",
    "Traced",
    "TracingSheet",
    "check_area",
    "check_scale",
    "open_sheet",
    "room_from",
    "scale_between",
    "scale_of_print",
    "settle_area",
    "trace",
]

SHOWN = 2_000_000  # bytes of the picture that a page gets
_WIDEST = 3600  # pixels of its longer side
Winner = Literal["the stated area", "the outline"]


@dataclass(frozen=True, kw_only=True, eq=False)
class TracingSheet:
    """A picture or a page of a PDF to trace over."""

    name: str
    picture: bytes  # PNG or JPEG, at most 2 MB
    form: Literal["png", "jpeg"]
    size: tuple[int, int]  # of `picture` [pixels]
    page: int | None  # of a PDF, from 0
    pages: int
    per_paper_metre: float | None  # pixels of a metre on paper; None: not known


@dataclass(frozen=True, kw_only=True)
class Scale:
    """How many metres a pixel is."""

    metres: float  # of one pixel [m]
    within: float  # ± as a share, from how well two points are clicked
    said: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Traced:
    """An outline as it was clicked and as it is drawn."""

    clicked: tuple[Point, ...]  # [pixels]
    outline: tuple[Point, ...]  # [m]
    area: float  # [m²]
    within: float  # ± of a side [m]
    area_within: float  # ± of the area [m²]
    snapped: tuple[bool, ...]  # of each side: made square
    moved: float  # farthest that a corner was moved [m]
    scale: Scale


@dataclass(frozen=True, kw_only=True)
class AreaCheck:
    """The plan's stated area against the outline."""

    stated: float  # [m²]
    computed: float  # [m²]
    difference: float  # stated less computed, as a share of the stated
    within: float  # ± of the computed area [m²]
    agrees: bool
    question: str  # "" where both agree
    answers: tuple[Winner, ...]


# --- the sheet ------------------------------------------------------------------


def open_sheet(path: str | Path, *, page: int = 0, dots: float = 150.0) -> TracingSheet:
    """Open a picture or a page of a PDF to trace over.

    Parameters
    ----------
    path : str or Path
        A picture, or a PDF (with the extra plans).
    page : int, optional
        Of a PDF, from 0.
    dots : float, optional
        Pixels an inch that a page of a PDF is drawn with.

    Returns
    -------
    TracingSheet
        The picture made small enough for a page.

    Raises
    ------
    FileFormatError
        No such file, no picture, cut off, too large; no such page, a password.
    InputError
        The extra for PDF is not installed.
    """
    place = Path(path)
    if not place.is_file():
        raise FileFormatError(
            place.name or "plan", given="no such file", allowed="a picture or a PDF",
            mend="look at its path",
        )  # fmt: skip
    if place.suffix.lower() == ".pdf":
        return _pdf_page(place, page, dots)
    return _picture(place)


def _picture(place: Path) -> TracingSheet:
    image, size, given = read_picture(place, name=place.name, longest=_WIDEST)
    dots = given if 30 <= given <= 2400 else None
    return _sheet(place.name, image, size, None, 1, dots and dots / 0.0254)


def _pdf_page(place: Path, page: int, dots: float) -> TracingSheet:
    if not 20 <= dots <= 600:
        raise InputError("dots", given=dots, allowed="20 to 600 an inch", mend="150 is usual")
    with open_pdf(place, instead="save the page as a picture") as document:
        pages = len(document)
        if not 0 <= page < pages:
            raise FileFormatError(
                f"page of {place.name}", given=page, allowed=f"0 to {pages - 1}",
                mend="pages count from 0",
            )  # fmt: skip
        try:
            one = document[page]
            wide, high = one.get_size()  # in points, 1/72 in
        except RuntimeError:
            raise FileFormatError(
                place.name,
                given=f"page {page + 1} that cannot be read",
                allowed="a whole PDF",
                mend="ask for it again",
            ) from None
        zoom = dots / 72.0
        if wide * zoom * high * zoom > PIXELS:
            raise too_large(place.name, wide * zoom, high * zoom)
        zoom = min(zoom, _WIDEST / max(wide, high, 1.0))
        image = one.render(scale=zoom).to_pil().convert("RGB")
    return _sheet(place.name, image, image.size, page, pages, zoom * 72.0 / 0.0254)


def _sheet(
    name: str, image: Any, was: tuple[int, int], page: int | None, pages: int, per: float | None
) -> TracingSheet:
    """The picture within its limit of bytes; large ones are made smaller."""
    if max(image.size) > _WIDEST:
        ratio = _WIDEST / max(image.size)
        image = image.resize((round(image.size[0] * ratio), round(image.size[1] * ratio)))
    while True:
        # a drawing has few colours and is smaller as PNG; a photograph is not
        drawing = image.getcolors(1024) is not None
        form: Literal["png", "jpeg"] = "png" if drawing else "jpeg"
        out = io.BytesIO()
        if drawing:
            image.save(out, "PNG")
        else:
            image.save(out, "JPEG", quality=85)
        if out.tell() <= SHOWN:
            break
        image = image.resize((image.size[0] * 3 // 4, image.size[1] * 3 // 4))
    shrunk = image.size[0] / was[0]
    return TracingSheet(
        name=name,
        picture=out.getvalue(),
        form=form,
        size=(int(image.size[0]), int(image.size[1])),
        page=page,
        pages=pages,
        per_paper_metre=None if per is None else per * shrunk,
    )


# --- scale ----------------------------------------------------------------------


def _finite(what: str, points: Sequence[Point]) -> None:
    for point in points:
        if len(point) != 2 or not all(math.isfinite(n) for n in point):
            raise InputError(what, given=point, allowed="x and y in pixels", mend="click again")


def scale_between(first: Point, second: Point, *, distance: str | float, units: str = "m") -> Scale:
    """Scale from two points whose distance is known.

    Parameters
    ----------
    first, second : Point
        Where the points were clicked. [pixels]
    distance : str or float
        Their true distance, as a written dimension says.
    units : str, optional
        Unit of a bare number.

    Returns
    -------
    Scale
        Its ± comes from how well a point is clicked.

    Raises
    ------
    InputError
        The points are too near each other, or the distance is no length.

    Examples
    --------
    >>> scale_between((100, 40), (500, 40), distance="4.00 m").metres
    0.01
    """
    _finite("points of the scale", (first, second))
    true = read(distance, units=units, what="distance of the two points")
    apart = math.dist(first, second)
    if apart < 20:
        raise InputError(
            "points of the scale",
            given=f"{apart:.0f} pixels apart",
            allowed="20 or more",
            mend="take the longest dimension that is written on the plan",
        )
    if not 0.05 < true < 200:
        raise InputError(
            "distance of the two points", given=f"{true:g} m", allowed="0.05 to 200 m",
            mend="look at its unit",
        )  # fmt: skip
    click = value("plan.tracing.click")
    return Scale(
        metres=true / apart,
        within=math.sqrt(2.0) * click / apart,
        said=f"{in_sentence(true, units=units)} over {apart:.0f} pixels",
    )


def scale_of_print(sheet: TracingSheet, *, ratio: float) -> Scale:
    """Scale of a sheet that was printed to scale, as 1:50.

    Parameters
    ----------
    sheet : TracingSheet
        It knows its size on paper: a page of a PDF, or a scan with its dots.
    ratio : float
        50 for 1:50.

    Returns
    -------
    Scale
        To be checked with a written dimension, as pages are often fitted.

    Raises
    ------
    InputError
        The sheet does not know its size on paper, or the ratio is no scale.
    """
    if sheet.per_paper_metre is None:
        raise InputError(
            f"scale of {sheet.name}",
            given="a picture without its size on paper",
            allowed="a PDF, or a scan that says its dots an inch",
            mend="click two points of a written dimension",
        )
    if not 1 <= ratio <= 1000:
        raise InputError("ratio", given=ratio, allowed="1 to 1000", mend="50 for 1:50")
    return Scale(
        metres=ratio / sheet.per_paper_metre,
        within=value("plan.tracing.print"),
        said=f"1:{ratio:g} on paper",
    )


def check_scale(
    scale: Scale, first: Point, second: Point, *, distance: str | float, units: str = "m"
) -> tuple[bool, str]:
    """Whether another written dimension agrees with the scale.

    Parameters
    ----------
    scale : Scale
        As taken from the first dimension.
    first, second : Point
        Where the points were clicked. [pixels]
    distance : str or float
        Their true distance.
    units : str, optional
        Unit of a bare number.

    Returns
    -------
    tuple of bool and str
        Whether it agrees, and a sentence.

    Raises
    ------
    InputError
        As `scale_between`.

    Examples
    --------
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> check_scale(scale, (0, 0), (0, 300), distance=3.0)[0]
    True
    """
    other = scale_between(first, second, distance=distance, units=units)
    off = other.metres / scale.metres - 1.0
    allowed = 2 * math.hypot(scale.within, other.within) + 0.005
    if abs(off) <= allowed:
        return True, f"The second dimension agrees within {abs(off) * 100:.1f} %."
    return False, (
        f"The second dimension makes the scale {abs(off) * 100:.1f} % "
        f"{'larger' if off > 0 else 'smaller'}: one is misread, or the picture is stretched or "
        "a photograph taken askew. Trace from a scan, or measure on site."
    )


# --- the outline -----------------------------------------------------------------


def _main_direction(points: np.ndarray[Any, np.dtype[np.float64]]) -> float:
    """Direction that most of the outline runs along, modulo a right angle [rad]."""
    edges = np.roll(points, -1, axis=0) - points
    angle = np.arctan2(edges[:, 1], edges[:, 0])
    weight = np.hypot(edges[:, 0], edges[:, 1])
    # four times the angle makes all four directions of a square plan one
    return float(np.angle(np.sum(weight * np.exp(4j * angle)))) / 4.0


def trace(
    points: Sequence[Point],
    *,
    scale: Scale,
    square: bool = True,
    help_within: float | None = None,
    level: bool = True,
) -> Traced:
    """An outline from clicked corners, with right-angle help.

    Sides that run nearly square to the whole are made square: corners that
    share a side along x get one y, the mean of theirs, and so for the other
    way. Slanting sides are left.

    Parameters
    ----------
    points : sequence of Point
        Corners in order, as clicked. [pixels, y down]
    scale : Scale
        From `scale_between`.
    square : bool, optional
        Give right-angle help.
    help_within : float, optional
        Turn up to which a side counts as meant square; None: the rule. [°]
    level : bool, optional
        Turn a plan that lies askew so that its walls are level.

    Returns
    -------
    Traced
        In metres, y up, its lower left corner of the bounding box at (0, 0).

    Raises
    ------
    InputError
        Fewer than three corners, corners on each other, or sides that cross.

    Examples
    --------
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> trace([(0, 0), (401, 2), (399, 300), (0, 298)], scale=scale).outline
    ((0.0, 0.0), (4.0, 0.0), (4.0, 2.98), (0.0, 2.98))
    """
    _finite("corner", points)
    if len(points) < 3:
        raise InputError(
            "corners", given=len(points), allowed="3 or more", mend="click round the room once"
        )
    limit = math.radians(value("plan.tracing.help") if help_within is None else help_within)
    xy = np.array(points, dtype=float) * (1.0, -1.0) * scale.metres
    count = len(xy)
    lengths = np.hypot(*(np.roll(xy, -1, axis=0) - xy).T)
    if lengths.min() < 1e-3:
        raise InputError(
            "corners", given="two on each other", allowed="each corner once", mend="take one away"
        )
    turn = _main_direction(xy) if square else 0.0
    c, s = math.cos(turn), math.sin(turn)
    turned = xy @ np.array([[c, -s], [s, c]])  # into the frame of the main direction
    snapped = [False] * count
    if square:
        groups = [list(range(count)), list(range(count))]  # same x, same y: first of the group

        def first(axis: int, k: int) -> int:
            while groups[axis][k] != k:
                k = groups[axis][k]
            return k

        for k in range(count):
            nxt = (k + 1) % count
            dx, dy = turned[nxt] - turned[k]
            angle = math.atan2(dy, dx) % math.pi
            flat = min(angle, math.pi - angle)
            if flat <= limit:
                groups[1][first(1, nxt)] = first(1, k)
                snapped[k] = True
            elif abs(angle - math.pi / 2) <= limit:
                groups[0][first(0, nxt)] = first(0, k)
                snapped[k] = True
        before = turned.copy()
        for axis in (0, 1):
            for k in range(count):
                same = [j for j in range(count) if first(axis, j) == first(axis, k)]
                turned[k, axis] = before[same, axis].mean()
        moved = float(np.hypot(*(turned - before).T).max())
    else:
        moved = 0.0
    final = turned if level else turned @ np.array([[c, s], [-s, c]])
    final = final - final.min(axis=0)
    outline = tuple((round(float(x), 4) + 0.0, round(float(y), 4) + 0.0) for x, y in final)
    outline = _first_lowest(outline)
    polygon = Polygon(outline)
    if not polygon.is_valid:
        raise InputError(
            "outline",
            given="sides that cross",
            allowed="corners in order round the room",
            mend="click them in the order in which one walks past them",
        )
    click = value("plan.tracing.click") * scale.metres
    within = math.hypot(math.sqrt(2.0) * click, float(lengths.mean()) * scale.within)
    area = float(polygon.area)
    # every side may lie off by its ±; the scale counts twice in an area
    area_within = math.hypot(click * math.sqrt(float((lengths**2).sum())), 2 * scale.within * area)
    return Traced(
        clicked=tuple((float(x), float(y)) for x, y in points),
        outline=outline,
        area=area,
        within=within,
        area_within=area_within,
        snapped=tuple(snapped),
        moved=moved,
        scale=scale,
    )


def _first_lowest(outline: tuple[Point, ...]) -> tuple[Point, ...]:
    """The same outline counter-clockwise from its lower left corner."""
    signed = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, (*outline[1:], outline[0])))
    ring = outline if signed > 0 else tuple(reversed(outline))
    start = min(range(len(ring)), key=lambda k: (ring[k][0] + ring[k][1], ring[k][0]))
    return (*ring[start:], *ring[:start])


# --- the stated area ----------------------------------------------------------------


def check_area(traced: Traced, *, stated: str | float, units: str = "m") -> AreaCheck:
    """The area that the plan states against the outline.

    Parameters
    ----------
    traced : Traced
        From `trace`.
    stated : str or float
        As written on the plan, as "24.6 m²" or "265 sq ft".
    units : str, optional
        Unit of length that a bare number's square belongs to.

    Returns
    -------
    AreaCheck
        With a question where they do not agree: which one wins is asked.

    Raises
    ------
    InputError
        It is no area.

    Examples
    --------
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> room = trace([(0, 0), (400, 0), (400, 300), (0, 300)], scale=scale)
    >>> check_area(room, stated="12.0 m²").agrees, check_area(room, stated="13.5 m²").agrees
    (True, False)
    """
    area = read(stated, kind="area", units=units, what="stated area")
    if area <= 0:
        raise InputError("stated area", given=stated, allowed="more than 0", mend="look again")
    off = area - traced.area
    within = max(2 * traced.area_within, area * value("plan.tracing.area"))
    agrees = abs(off) <= within

    def say(n: float) -> str:
        return in_sentence(n, kind="area", units=units)

    question = ""
    if not agrees:
        question = (
            f"The plan states {say(area)}, the outline has {say(traced.area)}, "
            f"{abs(off) / area * 100:.0f} % {'less' if off > 0 else 'more'}. Which holds: the "
            "stated area (the outline is scaled to it), or the outline? Stated areas may count "
            "walls, niches or only the floor under a high ceiling."
        )
    return AreaCheck(
        stated=area,
        computed=traced.area,
        difference=off / area,
        within=traced.area_within,
        agrees=agrees,
        question=question,
        answers=("the stated area", "the outline"),
    )


def settle_area(traced: Traced, *, check: AreaCheck, winner: Winner) -> Traced:
    """The outline after it was said which area holds.

    Parameters
    ----------
    traced : Traced
        The outline.
    check : AreaCheck
        From `check_area`.
    winner : str
        "the stated area" or "the outline".

    Returns
    -------
    Traced
        Scaled to the stated area, or as it was.

    Raises
    ------
    InputError
        The answer is neither.
    """
    if winner not in check.answers:
        raise InputError(
            "winner", given=winner, allowed=" or ".join(check.answers), mend="choose one"
        )
    if winner == "the outline":
        return traced
    factor = math.sqrt(check.stated / traced.area)
    scale = Scale(
        metres=traced.scale.metres * factor,
        within=traced.scale.within,
        said=f"{traced.scale.said}, scaled to the stated area",
    )
    return Traced(
        clicked=traced.clicked,
        outline=tuple((round(x * factor, 4), round(y * factor, 4)) for x, y in traced.outline),
        area=check.stated,
        within=max(traced.within, abs(factor - 1.0) * math.sqrt(traced.area)),
        area_within=traced.area_within,
        snapped=traced.snapped,
        moved=traced.moved * factor,
        scale=scale,
    )


def room_from(traced: Traced, *, name: str, height: float, use: str = "") -> Room:
    """A traced outline as a room, known from a plan with its own ±.

    Parameters
    ----------
    traced : Traced
        The outline.
    name : str
        What the room is called.
    height : float
        Floor to ceiling; a plan seldom tells it. [m]
    use : str, optional
        What it is used for.

    Returns
    -------
    Room
        Its ± is not less than the rule for plans.

    Examples
    --------
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> room_from(trace([(0, 0), (400, 0), (0, 300)], scale=scale), name="a", height=2.5).name
    'a'
    """
    least = value("plan.known.plan")
    within = None if traced.within <= least else round(traced.within, 4)
    return Room(
        name=name,
        outline=traced.outline,
        height=height,
        use=use,
        known=Known(source="plan", within=within),
        known_of={"height": Known(source="guess")},
    )
