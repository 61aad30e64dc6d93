"""A room as it is walked: walls with their numbers and lengths, corners, the closing error.

The drawing follows while one types. A walk that closes is drawn with its
walls cut and its openings; one that does not is drawn as a line, with the way
from its end to its beginning in the colour of findings.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import shapely
from shapely.geometry import Polygon

from designkit.figures import ink
from designkit.figures import shell as shells
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Drawing, Primitive, Text
from designkit.figures.room_marks import Draughts, OnPaper, is_whole
from designkit.figures.sheet import scale_bar
from designkit.model import Home, Point
from designkit.plan.survey import Survey
from designkit.plan.survey_rooms import join_rooms
from designkit.units import IMPERIAL, in_sentence

__all__ = ["base_on_paper", "home_of_walk", "walk_drawing", "walk_items"]

AROUND = 24.0  # mm
LEAST = 170.0  # mm; width of a drawing on a page


def home_of_walk(survey: Survey, *, name: str = "room") -> Home:
    """A home of the one room, in the frame in which it was walked.

    Parameters
    ----------
    survey : Survey
        It is whole.
    name : str, optional
        What the room is called.

    Returns
    -------
    Home
        With its openings and services.
    """
    joined = join_rooms({"room": survey}, names={"room": name})
    return Home(
        name=name,
        units="ft" if survey.units in IMPERIAL else "m",
        rooms=joined.rooms,
        # where they lead is not drawn, and may be a room that is not here
        openings={id: dataclasses.replace(one, to="") for id, one in joined.openings.items()},
        services=joined.services,
    )


def _scale(points: Sequence[Point], imperial: bool) -> int:
    wide = max(
        max(p[0] for p in points) - min(p[0] for p in points),
        max(p[1] for p in points) - min(p[1] for p in points),
    )
    for scale in (24, 48, 96, 192) if imperial else (20, 50, 100, 200):
        if wide * 1000 / scale <= 150.0:
            return scale
    return 192 if imperial else 500


def walk_drawing(
    survey: Survey,
    *,
    name: str = "room",
    typed: bool = False,
    openings: bool = False,
    caption: str = "",
    scale: int | None = None,
) -> Drawing:
    """A walk drawn to scale, cropped to the room, for a page.

    Parameters
    ----------
    survey : Survey
        As walked, whole or not.
    name : str, optional
        What the room is called.
    typed : bool, optional
        Write beside each wall what was typed, in place of its length.
    openings : bool, optional
        Also the distances of the openings along their walls.
    caption : str, optional
        A few words under the drawing.
    scale : int, optional
        50 for 1:50; one that suits a page without it.

    Returns
    -------
    Drawing
        With a scale bar and an alternative text that says the walls.

    Examples
    --------
    >>> from designkit.plan.survey import survey
    >>> walk_drawing(survey("right 4, up 3, left 4, down 3", height=2.6)).scale
    50
    """
    imperial = survey.units in IMPERIAL
    points = [*survey.walked, *survey.outline] or [(0.0, 0.0)]
    if scale is None:
        scale = _scale(points, imperial)
    wide = (max(p[0] for p in points) - min(p[0] for p in points)) * 1000.0 / scale
    side = max(AROUND, (LEAST - wide) / 2)  # a small room keeps its words small
    if is_whole(survey):
        shell = shells.shell(
            home_of_walk(survey, name=name),
            scale=scale,
            margins=(side, AROUND + 12.0, side, AROUND),
            services=True,
            words=False,
        )
        base = _of_shell(shell)
    else:
        base = _of_line(survey, scale, side)
    items = walk_items(survey, base=base, typed=typed, openings=openings, name=name)
    x0 = base.bounds[0]
    items += scale_bar(
        x0 + 1.5, 4.2, scale, imperial=imperial, length=min(52.0, max(30.0, base.width * 0.35))
    )
    if caption:
        items.append(
            Text(
                at=(base.width - 6.0, 4.2),
                text=caption,
                size=ink.READING,
                italic=True,
                anchor="end",
            )
        )
    return Drawing(
        width=base.width,
        height=base.height,
        items=tuple(items),
        title=f"Walk round {name}",
        text=_alternative(survey, name),
        scale=scale,
    )


def _alternative(survey: Survey, name: str) -> str:
    walls = ", ".join(
        f"wall {wall.index + 1} {in_sentence(round(wall.length, 6), units=survey.units)}"
        for wall in survey.walls
    )
    said = survey.sentence or (str(survey.problems[0]) if survey.problems else "")
    return f"{name}: {walls or 'no wall yet'}. {said}".strip()


def _of_shell(shell: shells.Shell) -> OnPaper:
    return OnPaper(
        scale=shell.scale,
        origin=shell.origin,
        width=shell.width,
        height=shell.height,
        bounds=shell.bounds,
        below=(*shell.below, *shell.words),
        solid=shapely.union_all(
            [shell.blocked, *(Polygon(lettering.box(word)) for word in shell.words)]
        ),
        swings=shell.swings,
    )


def _of_line(survey: Survey, scale: float, side: float) -> OnPaper:
    points = [*survey.walked, *survey.outline]
    k = 1000.0 / scale
    x0, y0 = min(p[0] for p in points), min(p[1] for p in points)
    x1, y1 = max(p[0] for p in points), max(p[1] for p in points)
    origin = (side - x0 * k, AROUND + 12.0 - y0 * k)
    return OnPaper(
        scale=scale,
        origin=origin,
        width=(x1 - x0) * k + 2 * side,
        height=(y1 - y0) * k + 2 * AROUND + 12.0,
        bounds=(
            side,
            AROUND + 12.0,
            (x1 - x0) * k + side,
            (y1 - y0) * k + AROUND + 12.0,
        ),
    )


def base_on_paper(
    survey: Survey, *, scale: float, paper: tuple[float, float], middle: XY
) -> OnPaper:
    """Where a walk that is no room yet lies on a sheet.

    Parameters
    ----------
    survey : Survey
        As walked.
    scale : float
        50 for 1:50.
    paper : tuple of float
        Width and height. [mm]
    middle : XY
        Where its middle is. [mm]

    Returns
    -------
    OnPaper
        To be given to `walk_items`.
    """
    found = _of_line(survey, scale, AROUND)
    x0, y0, x1, y1 = found.bounds
    dx, dy = middle[0] - (x0 + x1) / 2, middle[1] - (y0 + y1) / 2
    return OnPaper(
        scale=scale,
        origin=(found.origin[0] + dx, found.origin[1] + dy),
        width=paper[0],
        height=paper[1],
        bounds=(x0 + dx, y0 + dy, x1 + dx, y1 + dy),
    )


# --- what is drawn -----------------------------------------------------------------


def walk_items(
    survey: Survey,
    *,
    base: shells.Shell | OnPaper,
    typed: bool = False,
    openings: bool = True,
    name: str = "",
) -> list[Primitive]:
    """The primitives of a walk, for a sheet of one's own.

    Parameters
    ----------
    survey : Survey
        As walked.
    base : Shell or OnPaper
        The room on the paper, in the frame in which it was walked.
    typed : bool, optional
        Write what was typed in place of the lengths.
    openings : bool, optional
        Also the distances of the openings along their walls.
    name : str, optional
        Written into the room, with its area.

    Returns
    -------
    list of Primitive
        In painting order.
    """
    if isinstance(base, shells.Shell):
        base = _of_shell(base)
    pens = ink.pens(base.scale)
    whole = is_whole(survey)
    draw = Draughts(survey=survey, base=base, pens=pens)
    items: list[Primitive] = list(base.below)
    if not whole:
        items += draw.lines()
    for wall in survey.walls:
        if openings and whole:
            items += draw.stops(wall)
        items += draw.length(wall, typed=typed)
    items += draw.corners()
    items += draw.numbers()
    items += draw.diagonals()
    items += draw.gap()
    if whole and name:
        items += draw.name(name)
    return items
