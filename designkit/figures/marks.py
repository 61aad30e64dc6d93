"""Marks on drawings: keyed circles, leaders, arrows, north, symbols.

Symbols of luminaires, outlets and detectors are drawn in the manner of IEC
60617 (from memory): always print their key on the sheet, and a licensed
electrician decides. Points and sizes are paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from designkit.errors import LookupFailed, nearest
from designkit.figures import ink
from designkit.figures.drawing import XY, Arc, Circle, Line, Polygon, Primitive, Text

__all__ = [
    "SYMBOLS",
    "arrow",
    "break_line",
    "elevation",
    "keyed",
    "leader",
    "level",
    "north",
    "square",
    "symbol",
]

KEYED = 5.2  # diameter of a keyed circle [mm]


def _turned(points: Sequence[XY], at: XY, angle: float) -> tuple[XY, ...]:
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return tuple((at[0] + x * cos - y * sin, at[1] + x * sin + y * cos) for x, y in points)


def keyed(
    at: XY, number: int | str, *, to: XY | None = None, colour: str = ink.ACCENT, about: str = ""
) -> list[Primitive]:
    """A number in a circle, with a leader to what it is about.

    Parameters
    ----------
    at : (float, float)
        Centre of the circle. [mm]
    number : int or str
        What stands in it.
    to : (float, float), optional
        End of the leader, a dot. [mm]
    colour : str
        Ink of circle, figure and leader.
    about : str
        Id of what it is about.

    Returns
    -------
    list of Primitive
        In painting order.

    Examples
    --------
    >>> keyed((10, 10), 1)[-1].text
    '1'
    """
    items: list[Primitive] = []
    if to is not None:
        items += leader(to, at, gap=KEYED / 2, colour=colour, about=about)
    items.append(
        Circle(centre=at, radius=KEYED / 2, weight=0.3, ink=colour, fill=ink.PAPER, about=about)
    )
    items.append(
        Text(
            at=(at[0], at[1] - 1.2),
            text=str(number),
            size=2.4,
            ink=colour,
            anchor="middle",
            about=about,
        )
    )
    return items


def leader(
    to: XY, start: XY, *, gap: float = 0.0, dot: bool = True, colour: str = ink.INK, about: str = ""
) -> list[Primitive]:
    """A thin line from a word or a circle to a dot on the thing.

    Parameters
    ----------
    to : (float, float)
        Where the dot is. [mm]
    start : (float, float)
        Where the line begins. [mm]
    gap : float
        Distance from `start` that is left free. [mm]
    dot : bool
        A dot at its end.
    colour : str
        Ink.
    about : str
        Id of what it is about.

    Returns
    -------
    list of Primitive
        Line and dot.

    Examples
    --------
    >>> leader((10, 0), (0, 0), gap=2)[0].points[0]
    (2.0, 0.0)
    """
    items: list[Primitive] = []
    length = math.dist(start, to)
    if length > gap + 0.2:
        t = gap / length
        begin = (start[0] + (to[0] - start[0]) * t, start[1] + (to[1] - start[1]) * t)
        items.append(Line(points=(begin, to), weight=0.18, ink=colour, about=about))
    if dot:
        items.append(Circle(centre=to, radius=0.55, ink=colour, fill=colour, about=about))
    return items


def arrow(
    tip: XY,
    angle: float,
    *,
    length: float = 3.0,
    width: float = 1.4,
    colour: str = ink.INK,
    about: str = "",
) -> Polygon:
    """A filled arrow head.

    Parameters
    ----------
    tip : (float, float)
        Its point. [mm]
    angle : float
        Direction in which it points. [°]
    length, width : float
        Size. [mm]
    colour : str
        Ink.
    about : str
        Id of what it is about.

    Returns
    -------
    Polygon
        A triangle.

    Examples
    --------
    >>> arrow((10, 0), 0).outline[1]
    (7.0, 0.7)
    """
    points = _turned([(0, 0), (-length, width / 2), (-length, -width / 2)], tip, angle)
    return Polygon(outline=points, fill=colour, ink=colour, about=about)


def square(at: XY, *, filled: bool, size: float = 2.2, colour: str = ink.INK) -> Polygon:
    """A small square: filled for met, open for not met.

    Parameters
    ----------
    at : (float, float)
        Lower left corner. [mm]
    filled : bool
        Filled or open.
    size : float
        Side. [mm]
    colour : str
        Ink.

    Returns
    -------
    Polygon
        The square.

    Examples
    --------
    >>> square((0, 0), filled=False).fill
    '#ffffff'
    """
    inset = 0.0 if filled else 0.15
    x, y, s = at[0] + inset, at[1] + inset, size - 2 * inset
    return Polygon(
        outline=((x, y), (x + s, y), (x + s, y + s), (x, y + s)),
        weight=0.0 if filled else 0.3,
        ink=colour,
        fill=colour if filled else ink.PAPER,
    )


def north(at: XY, direction: float, *, diameter: float = 15.0) -> list[Primitive]:
    """A north arrow.

    Parameters
    ----------
    at : (float, float)
        Centre. [mm]
    direction : float
        Direction of north on the paper, counter-clockwise from x. [°]
    diameter : float
        Of its circle. [mm]

    Returns
    -------
    list of Primitive
        Circle, half-filled needle, letter outside the circle.

    Examples
    --------
    >>> north((0, 0), 90)[-1].text
    'N'
    """
    r = diameter / 2
    half = 0.26 * r
    left = _turned([(r, 0), (-0.78 * r, half), (-0.52 * r, 0)], at, direction)
    right = _turned([(r, 0), (-0.78 * r, -half), (-0.52 * r, 0)], at, direction)
    turn = math.radians(direction)
    away = r + 2.3
    return [
        Circle(centre=at, radius=r, weight=0.18, fill=ink.PAPER),
        Polygon(outline=left, fill=ink.INK, weight=0.13),
        Polygon(outline=right, fill=ink.PAPER, weight=0.13),
        Text(
            at=(at[0] + away * math.cos(turn), at[1] + away * math.sin(turn) - 1.25),
            text="N",
            size=2.5,
            weight="semibold",
            anchor="middle",
        ),
    ]


def elevation(at: XY, names: dict[str, str], *, about: str = "") -> list[Primitive]:
    """The mark of the elevations that are drawn elsewhere.

    Parameters
    ----------
    at : (float, float)
        Centre. [mm]
    names : dict of str to str
        "up", "down", "left", "right" (where one looks) to the elevation's name.
    about : str
        Id of what it is about.

    Returns
    -------
    list of Primitive
        A circle of 8.2 with a filled point for each direction.

    Examples
    --------
    >>> [i.text for i in elevation((0, 0), {"up": "E2", "down": "E1"}) if isinstance(i, Text)]
    ['E2', 'E1']
    """
    r = 4.1
    turns = {"right": 0.0, "up": 90.0, "left": 180.0, "down": 270.0}
    items: list[Primitive] = []
    for side in names:
        tip = _turned([(r + 1.9, 0), (0, r), (0, -r)], at, turns[side])
        items.append(Polygon(outline=tip, fill=ink.INK, about=about))
    items.append(Circle(centre=at, radius=r, weight=0.18, fill=ink.PAPER, about=about))
    if len(names) > 1:
        items.append(
            Line(points=((at[0] - r, at[1]), (at[0] + r, at[1])), weight=0.13, about=about)
        )
    first = [side for side in ("up", "left") if side in names]
    for side, name in names.items():
        dy = -1.0 if len(names) == 1 else (0.75 if side in first else -2.75)
        items.append(
            Text(at=(at[0], at[1] + dy), text=name, size=2.0, anchor="middle", about=about)
        )
    return items


def level(at: XY, words: str, *, about: str = "") -> list[Primitive]:
    """A height on an elevation: an open triangle on its line.

    Parameters
    ----------
    at : (float, float)
        Point on the level. [mm]
    words : str
        The height.
    about : str
        Id of what it is about.

    Returns
    -------
    list of Primitive
        Triangle and text.

    Examples
    --------
    >>> level((0, 0), "2400")[-1].text
    '2400'
    """
    x, y = at
    return [
        Polygon(
            outline=((x, y), (x - 1.2, y + 1.9), (x + 1.2, y + 1.9)),
            weight=0.18,
            fill=ink.PAPER,
            about=about,
        ),
        Text(at=(x + 2.2, y + 0.6), text=words, size=ink.NAME, about=about),
    ]


def break_line(a: XY, b: XY, *, weight: float = 0.13, about: str = "") -> Line:
    """A thin line with a kink: the thing goes on beyond it.

    Parameters
    ----------
    a, b : (float, float)
        Its ends. [mm]
    weight : float
        Line weight. [mm]
    about : str
        Id of what it is about.

    Returns
    -------
    Line
        Six points.

    Examples
    --------
    >>> len(break_line((0, 0), (20, 0)).points)
    6
    """
    length = math.dist(a, b)
    angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    m = length / 2
    shape = [(0, 0), (m - 1.4, 0), (m - 0.5, 1.5), (m + 0.5, -1.5), (m + 1.4, 0), (length, 0)]
    return Line(points=_turned(shape, a, angle), weight=weight, about=about)


# --- symbols -----------------------------------------------------------------


def _lamp(at: XY, r: float, about: str) -> list[Primitive]:
    d = r / math.sqrt(2)
    x, y = at
    return [
        Circle(centre=at, radius=r, weight=0.3, fill=ink.PAPER, about=about),
        Line(points=((x - d, y - d), (x + d, y + d)), weight=0.3, about=about),
        Line(points=((x - d, y + d), (x + d, y - d)), weight=0.3, about=about),
    ]


def _box(at: XY, side: float, about: str, dash: tuple[float, ...] = ()) -> Polygon:
    x, y, h = at[0], at[1], side / 2
    return Polygon(
        outline=((x - h, y - h), (x + h, y - h), (x + h, y + h), (x - h, y + h)),
        weight=0.18,
        fill=ink.PAPER,
        dash=dash,
        about=about,
    )


def _ceiling_luminaire(at: XY, angle: float, about: str) -> list[Primitive]:
    return _lamp(at, 2.1, about)


def _box_luminaire(at: XY, angle: float, about: str) -> list[Primitive]:
    return [_box(at, 5.8, about, (0.9, 0.6)), *_lamp(at, 2.1, about)]


def _ceiling_outlet(at: XY, angle: float, about: str) -> list[Primitive]:
    return [
        _box(at, 4.6, about, (0.9, 0.6)),
        Circle(centre=at, radius=0.55, fill=ink.INK, about=about),
    ]


def _wall_luminaire(at: XY, angle: float, about: str) -> list[Primitive]:
    r = 1.7
    stem = _turned([(0, 0), (1.3, 0)], at, angle)
    base = _turned([(0, -1.7), (0, 1.7)], at, angle)
    centre = _turned([(1.3 + r, 0)], at, angle)[0]
    return [
        Line(points=base, weight=0.4, about=about),
        Line(points=stem, weight=0.3, about=about),
        *_lamp(centre, r, about),
    ]


def _portable(at: XY, angle: float, about: str) -> list[Primitive]:
    return [
        Circle(centre=at, radius=2.6, weight=0.18, fill=ink.PAPER, dash=(0.9, 0.6), about=about),
        *_lamp(at, 1.7, about),
    ]


def _recessed(at: XY, angle: float, about: str) -> list[Primitive]:
    return [
        Circle(centre=at, radius=1.7, weight=0.3, fill=ink.PAPER, about=about),
        Circle(centre=at, radius=0.55, fill=ink.INK, about=about),
    ]


def _spot(at: XY, angle: float, about: str) -> list[Primitive]:
    beam = _turned([(1.2, 1.0), (3.6, 2.0)], at, angle)
    other = _turned([(1.2, -1.0), (3.6, -2.0)], at, angle)
    return [
        *_lamp(at, 1.5, about),
        Line(points=beam, weight=0.18, about=about),
        Line(points=other, weight=0.18, about=about),
    ]


def _socket(at: XY, angle: float, about: str) -> list[Primitive]:
    # An open half circle with its back to the room and a stem to the wall.
    centre = _turned([(2.3, 0)], at, angle)[0]
    return [
        Line(points=_turned([(0, 0), (1.0, 0)], at, angle), weight=0.3, about=about),
        Arc(centre=centre, radius=1.3, start=angle + 90, end=angle + 270, weight=0.3, about=about),
    ]


def _wall_outlet(at: XY, angle: float, about: str) -> list[Primitive]:
    stem = _turned([(0, 0), (1.6, 0)], at, angle)
    end = _turned([(2.3, 0)], at, angle)[0]
    return [
        Line(points=stem, weight=0.3, about=about),
        Circle(centre=end, radius=0.7, weight=0.3, fill=ink.PAPER, about=about),
    ]


def _switch(at: XY, angle: float, about: str) -> list[Primitive]:
    lever = _turned([(0.5, 0.5), (2.6, 2.6), (3.4, 1.8)], at, angle - 20)
    return [
        Circle(centre=at, radius=0.75, weight=0.3, fill=ink.PAPER, about=about),
        Line(points=lever, weight=0.3, about=about),
    ]


def _sprinkler(at: XY, angle: float, about: str) -> list[Primitive]:
    return [
        Circle(centre=at, radius=1.5, weight=0.3, fill=ink.PAPER, about=about),
        Circle(centre=at, radius=0.6, fill=ink.INK, about=about),
    ]


def _detector(at: XY, angle: float, about: str) -> list[Primitive]:
    return [
        _box(at, 4.0, about),
        Circle(centre=at, radius=1.2, weight=0.18, about=about),
        Circle(centre=at, radius=0.5, fill=ink.INK, about=about),
    ]


def _panel(at: XY, angle: float, about: str) -> list[Primitive]:
    outline = _turned([(0, -2.5), (1.4, -2.5), (1.4, 2.5), (0, 2.5)], at, angle)
    half = _turned([(0, -2.5), (1.4, 2.5), (0, 2.5)], at, angle)
    return [
        Polygon(outline=outline, weight=0.25, fill=ink.PAPER, about=about),
        Polygon(outline=half, fill=ink.INK, about=about),
    ]


def _vent(at: XY, angle: float, about: str) -> list[Primitive]:
    outline = _turned([(0, -2.2), (1.6, -2.2), (1.6, 2.2), (0, 2.2)], at, angle)
    slats = [
        Line(points=_turned([(0, y), (1.6, y)], at, angle), weight=0.13, about=about)
        for y in (-1.1, 0.0, 1.1)
    ]
    return [Polygon(outline=outline, weight=0.18, fill=ink.PAPER, about=about), *slats]


def _track(at: XY, angle: float, about: str) -> list[Primitive]:
    items: list[Primitive] = [
        Line(points=_turned([(-5, 0), (5, 0)], at, angle), weight=0.3, about=about)
    ]
    for x in (-5.0, 5.0):
        items.append(Line(points=_turned([(x, -1), (x, 1)], at, angle), weight=0.3, about=about))
    for x in (-2.5, 0.0, 2.5):
        items.append(
            Circle(
                centre=_turned([(x, 0)], at, angle)[0],
                radius=0.45,
                weight=0.18,
                fill=ink.PAPER,
                about=about,
            )
        )
    return items


Symbol = Callable[[XY, float, str], list[Primitive]]
SYMBOLS: dict[str, tuple[str, Symbol]] = {
    "ceiling light": ("ceiling luminaire", _ceiling_luminaire),
    "ceiling box": ("ceiling box with luminaire", _box_luminaire),
    "ceiling outlet": ("ceiling outlet, empty", _ceiling_outlet),
    "wall light": ("wall luminaire", _wall_luminaire),
    "portable": ("portable luminaire", _portable),
    "recessed light": ("recessed luminaire", _recessed),
    "track spot": ("adjustable luminaire", _spot),
    "socket": ("socket outlet", _socket),
    "wall outlet": ("wall outlet for a luminaire", _wall_outlet),
    "switch": ("switch", _switch),
    "sprinkler": ("sprinkler head", _sprinkler),
    "detector": ("smoke detector", _detector),
    "panel": ("electrical panel", _panel),
    "vent": ("vent", _vent),
    "drapery track": ("drapery track", _track),
}


def symbol(kind: str, at: XY, *, angle: float = 0.0, about: str = "") -> list[Primitive]:
    """One symbol.

    Parameters
    ----------
    kind : str
        A key of `SYMBOLS`, which also holds the word for the key on the sheet.
    at : (float, float)
        Its centre; on the wall for what hangs on a wall. [mm]
    angle : float
        Direction from the wall into the room. [°]
    about : str
        Id of what it shows.

    Returns
    -------
    list of Primitive
        In painting order.

    Raises
    ------
    LookupFailed
        There is no such symbol.

    Examples
    --------
    >>> len(symbol("sprinkler", (0, 0)))
    2
    """
    if kind not in SYMBOLS:
        raise LookupFailed(
            "symbol",
            given=kind,
            allowed=", ".join(sorted(SYMBOLS)),
            mend=f"nearest: {nearest(kind, SYMBOLS) or 'none'}",
        )
    return SYMBOLS[kind][1](at, angle, about)
