"""Dimensions in the manner of ISO 129-1: oblique strokes, text above the line.

Points are paper millimetres; the words come from the caller (`designkit.units.
on_sheet`), so that the dimension on the drawing and the figure in the sentence
are one value. Texts are read from below or from the right.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Circle, Line, Primitive, Text

__all__ = ["between", "chain", "running"]

STROKE = 2.5  # length of the oblique stroke [mm]
STUB_IN, STUB_OUT = 2.5, 1.2  # witness stub towards the object and beyond the line
LIFT = 2.35  # a text wider than its segment is lifted so far
RISE = 0.9  # baseline above the line
TAIL = 0.45  # more for words with descenders


def _stroke(at: XY, angle: float, *, weight: float, colour: str, about: str) -> Line:
    turn = math.radians(angle + 45)
    dx, dy = STROKE / 2 * math.cos(turn), STROKE / 2 * math.sin(turn)
    return Line(
        points=((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)),
        weight=weight,
        ink=colour,
        about=about,
    )


def _rise(words: str) -> float:
    return RISE + (TAIL if set(words) & set("gjpqy,") else 0.0)


def chain(
    stops: Sequence[float],
    labels: Sequence[str],
    *,
    at: float,
    axis: str = "x",
    towards: float = 1.0,
    pens: ink.Pens | None = None,
    about: str = "",
) -> list[Primitive]:
    """A chain of dimensions along one line.

    Parameters
    ----------
    stops : sequence of float
        Where the strokes stand, ascending. [mm]
    labels : sequence of str
        One text a segment; "" leaves a segment without.
    at : float
        y of a horizontal chain, x of an upright one. [mm]
    axis : {"x", "y"}
        Horizontal or upright.
    towards : float
        +1 where the object lies above (right of) the line, −1 else: the
        witness stub points there.
    pens : Pens, optional
        Line weights.
    about : str
        Id of what it measures.

    Returns
    -------
    list of Primitive
        In painting order.

    Raises
    ------
    InputError
        The labels are not one fewer than the stops.

    Examples
    --------
    >>> items = chain([0, 60, 72], ["3000", "600"], at=0)
    >>> [item.text for item in items if isinstance(item, Text)]
    ['3000', '600']
    """
    if len(labels) != len(stops) - 1 or len(stops) < 2:
        raise InputError(
            "labels",
            given=f"{len(labels)} for {len(stops)} stops",
            allowed="one fewer than the stops",
            mend="give a text for each segment",
        )
    pens = pens or ink.pens(50)
    upright = axis == "y"

    def point(along: float, across: float) -> XY:
        return (at + across, along) if upright else (along, at + across)

    items: list[Primitive] = [
        Line(
            points=(point(stops[0], 0.0), point(stops[-1], 0.0)),
            weight=pens.dimension,
            about=about,
        )
    ]
    for stop in stops:
        items.append(
            Line(
                points=(point(stop, STUB_IN * towards), point(stop, -STUB_OUT * towards)),
                weight=pens.dimension,
                about=about,
            )
        )
        items.append(
            _stroke(
                point(stop, 0.0),
                90 if upright else 0,
                weight=pens.stroke,
                colour=ink.INK,
                about=about,
            )
        )
    # The text of an upright chain stands left of its line, so that it reads from the right.
    up = -1.0 if upright else 1.0
    taken: list[tuple[float, float, int]] = []
    for start, end, words in zip(stops, stops[1:], labels):
        if not words:
            continue
        half = lettering.advance(words, size=ink.NAME) / 2
        middle = (start + end) / 2
        level = 0 if end - start >= 2 * half + 1.6 else 1
        while any(
            level == other and middle - half < high + 0.7 and middle + half > low - 0.7
            for low, high, other in taken
        ):
            level += 1
        taken.append((middle - half, middle + half, level))
        items.append(
            Text(
                at=point(middle, up * (_rise(words) + level * LIFT)),
                text=words,
                size=ink.NAME,
                anchor="middle",
                rotation=90.0 if upright else 0.0,
                about=about,
            )
        )
    return items


def between(
    a: XY,
    b: XY,
    words: str,
    *,
    pens: ink.Pens | None = None,
    colour: str = ink.INK,
    weight: str = "regular",
    halo: float = 0.6,
    shift: float = 0.0,
    about: str = "",
) -> list[Primitive]:
    """One dimension between two points, in any direction.

    Parameters
    ----------
    a, b : (float, float)
        What it measures between. [mm]
    words : str
        The text above it; "" for none.
    pens : Pens, optional
        Line weights.
    colour : str
        Ink of line and strokes.
    weight : {"regular", "semibold"}
        Face of the text.
    halo : float
        Paper-coloured edge of the text. [mm]
    shift : float
        Moves the text along the line, from its middle. [mm]
    about : str
        Id of what it measures.

    Returns
    -------
    list of Primitive
        Line, two oblique strokes, text.

    Raises
    ------
    InputError
        The two points are the same.

    Examples
    --------
    >>> between((0, 0), (0, 20), "400")[-1].rotation
    90.0
    """
    length = math.dist(a, b)
    if not length > 1e-6:
        raise InputError("dimension", given=f"{a} to {b}", allowed="two points apart")
    pens = pens or ink.pens(50)
    angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    items: list[Primitive] = [
        Line(points=(a, b), weight=pens.dimension, ink=colour, about=about),
        _stroke(a, angle, weight=pens.stroke, colour=colour, about=about),
        _stroke(b, angle, weight=pens.stroke, colour=colour, about=about),
    ]
    if words:
        # Read from below or from the right: between −90 (not included) and 90.
        turn = angle
        while turn > 90.0001:
            turn -= 180
        while turn <= -89.9999:
            turn += 180
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        rise = _rise(words)
        if length < lettering.advance(words, size=ink.NAME) + 1.6:
            rise += LIFT / 3
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        items.append(
            Text(
                at=(
                    middle[0] + shift * cos - rise * sin,
                    middle[1] + shift * sin + rise * cos,
                ),
                text=words,
                size=ink.NAME,
                weight="semibold" if weight == "semibold" else "regular",
                anchor="middle",
                rotation=round(turn, 6),
                halo=halo,
                about=about,
            )
        )
    return items


def running(
    origin: float,
    stops: Sequence[float],
    labels: Sequence[str],
    *,
    at: float,
    axis: str = "x",
    towards: float = -1.0,
    pens: ink.Pens | None = None,
    about: str = "",
) -> list[Primitive]:
    """Running dimensions from one datum, as for hooks on a wall.

    Parameters
    ----------
    origin : float
        The datum on the line. [mm]
    stops : sequence of float
        What is measured from it. [mm]
    labels : sequence of str
        One text a stop.
    at : float
        y of a horizontal line, x of an upright one. [mm]
    axis : {"x", "y"}
        Horizontal or upright.
    towards : float
        −1 where the object lies below (left of) the line, +1 else.
    pens : Pens, optional
        Line weights.
    about : str
        Id of what it measures.

    Returns
    -------
    list of Primitive
        An open circle at the datum, strokes and texts at the stops.

    Raises
    ------
    InputError
        There is not one label a stop.

    Examples
    --------
    >>> items = running(0, [10, 25], ["200", "500"], at=0)
    >>> sum(isinstance(item, Circle) for item in items)
    1
    """
    if len(labels) != len(stops):
        raise InputError(
            "labels", given=len(labels), allowed=f"{len(stops)}", mend="give one text a stop"
        )
    pens = pens or ink.pens(50)
    upright = axis == "y"

    def point(along: float, across: float) -> XY:
        return (at + across, along) if upright else (along, at + across)

    ends = [origin, *stops]
    items: list[Primitive] = [
        Line(
            points=(point(min(ends), 0.0), point(max(ends), 0.0)),
            weight=pens.dimension,
            about=about,
        ),
        Circle(
            centre=point(origin, 0.0),
            radius=0.7,
            weight=pens.dimension,
            fill=ink.PAPER,
            about=about,
        ),
    ]
    for stop in stops:
        items.append(
            Line(
                points=(point(stop, STUB_IN * towards), point(stop, -STUB_OUT * towards)),
                weight=pens.dimension,
                about=about,
            )
        )
        items.append(
            _stroke(
                point(stop, 0.0),
                90 if upright else 0,
                weight=pens.stroke,
                colour=ink.INK,
                about=about,
            )
        )
    order = sorted(zip([origin, *stops], ["0", *labels]))
    room = 2.9 if upright else 0.0
    last = -math.inf
    for stop, words in order:
        if not words:
            continue
        if upright:
            # Beside the line, one under the other; pushed apart where they would touch.
            along = max(stop - ink.NAME / 2, last + room)
            last = along
            items.append(
                Text(
                    at=(at - towards * 2.2, along),
                    text=words,
                    size=ink.NAME,
                    anchor="start" if towards < 0 else "end",
                    about=about,
                )
            )
        else:
            half = lettering.advance(words, size=ink.NAME) / 2
            lift = 0.0 if stop - half > last + 0.8 else LIFT
            if lift == 0.0:
                last = stop + half
            across = (_rise(words) + STUB_OUT + lift) * (-towards)
            if towards > 0:
                across -= ink.NAME
            items.append(
                Text(
                    at=point(stop, across), text=words, size=ink.NAME, anchor="middle", about=about
                )
            )
    return items
