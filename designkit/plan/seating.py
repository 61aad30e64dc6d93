"""People who talk, and a screen that is watched: distances and angles.

Distances between seats are a band and not a limit. A mirror image in a screen
is worked out in plan with nothing between.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from designkit.errors import InputError
from designkit.model import Point
from designkit.plan.sight import apart
from designkit.reference import value

__all__ = [
    "ScreenView",
    "SeatPair",
    "conversation",
    "line_distance",
    "picture_angle",
    "screen_view",
    "width_distance",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class SeatPair:
    """Two seats as people talk across them."""

    first: str
    second: str
    distance: float  # [m]
    turn_first: float  # [°] from the first one's facing to the second
    turn_second: float
    between_facings: float  # [°] 180: they face each other
    face: bool  # each is within the turn that talk allows
    band: str  # near, holds, far
    why: str
    rule: str


@dataclass(frozen=True, kw_only=True, eq=False)
class ScreenView:
    """A screen as seen from one seat."""

    distance: float  # [m] eye to the middle of the screen
    angle: float  # [°] horizontal, that the picture fills
    off_axis: float  # [°] from the screen's normal
    turn: float | None  # [°] from the seat's facing
    line: float  # [arcmin] that one line fills
    fine_distance: float  # [m] beyond which one line is not seen
    far_distance: float  # [m] up to which the picture fills the least angle
    glare: Mapping[str, float] = field(default_factory=dict)  # window -> share mirrored
    glare_angle: Mapping[str, float] = field(default_factory=dict)  # window -> [°] off normal
    why: str = ""
    rule: str = "plan.screen.subtense"


# --- people and screens ---------------------------------------------------------


def conversation(
    seats: Sequence[tuple[str, Point, float]], *, overrides: Mapping[str, float] | None = None
) -> tuple[SeatPair, ...]:
    """Distances and turns between the seats of a group, every pair once.

    Parameters
    ----------
    seats : sequence of (str, Point, float)
        Id, position [m] and facing [°].
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of SeatPair
        In the order given. The distance is a band, not a limit.

    Raises
    ------
    InputError
        Two seats stand at one point, or a number is not finite.

    Examples
    --------
    >>> pair, = conversation([("sofa", (0, 0), 0), ("armchair", (2.4, 0), 180)])
    >>> pair.distance, pair.face, pair.band
    (2.4, True, 'near')
    """
    near = value("plan.conversation.near", overrides)
    far = value("plan.conversation.far", overrides)
    most = value("plan.conversation.turn", overrides)
    pairs: list[SeatPair] = []
    for id, (x, y), facing in seats:
        if not all(math.isfinite(v) for v in (x, y, facing)):
            raise InputError(f"seat {id}", given=(x, y, facing), allowed="finite numbers")
    for (one, p, f), (two, q, g) in combinations(seats, 2):
        distance = math.dist(p, q)
        if distance < 1e-6:
            raise InputError("seats", given=f"{one}, {two} at {p}", allowed="at different places")
        way = math.degrees(math.atan2(q[1] - p[1], q[0] - p[0]))
        turn_one, turn_two = apart(way, f), apart(way + 180.0, g)
        face = max(turn_one, turn_two) <= most + 1e-9
        if distance <= near + 1e-9:
            band, sign = "near", f"≤ {near:g} m"
        elif distance <= far + 1e-9:
            band, sign = "holds", f"within {near:g}–{far:g} m"
        else:
            band, sign = "far", f"> {far:g} m"
        pairs.append(
            SeatPair(
                first=one,
                second=two,
                distance=distance,
                turn_first=turn_one,
                turn_second=turn_two,
                between_facings=apart(f, g),
                face=face,
                band=band,
                why=f"{one} to {two}: {distance:.2f} m {sign}; "
                f"they turn {turn_one:.0f}° and {turn_two:.0f}°",
                rule="plan.conversation.near" if band == "near" else "plan.conversation.far",
            )
        )
    return tuple(pairs)


def line_distance(
    height: float, *, lines: float, overrides: Mapping[str, float] | None = None
) -> float:
    """Distance at which one line of a picture fills one minute of arc.

    Parameters
    ----------
    height : float
        Of the picture. [m]
    lines : float
        Of the picture.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        From here on the lines run together. [m]

    Raises
    ------
    InputError
        A number is not positive.

    Examples
    --------
    >>> round(line_distance(1.0, lines=1080), 2)
    3.18
    """
    _positive("height of the picture", height)
    _positive("lines of the picture", lines)
    minute = math.radians(value("plan.screen.line_angle", overrides) / 60.0)
    return height / (lines * math.tan(minute))


def picture_angle(width: float, *, distance: float) -> float:
    """Horizontal angle that a picture fills from straight before it.

    Parameters
    ----------
    width, distance : float
        Of the picture, and of the eye from it. [m]

    Returns
    -------
    float
        In degrees. [°]

    Raises
    ------
    InputError
        A number is not positive.

    Examples
    --------
    >>> round(picture_angle(16 / 9, distance=3.2), 1)
    31.0
    """
    _positive("width of the picture", width)
    _positive("distance", distance)
    return math.degrees(2 * math.atan(width / (2 * distance)))


def width_distance(width: float, *, angle: float) -> float:
    """Distance from which a picture fills a horizontal angle.

    Parameters
    ----------
    width : float
        Of the picture. [m]
    angle : float
        Between 0 and 180. [°]

    Returns
    -------
    float
        From straight before it. [m]

    Raises
    ------
    InputError
        The width is not positive or the angle not between 0 and 180°.

    Examples
    --------
    >>> round(width_distance(1.0, angle=30.0), 3)
    1.866
    """
    _positive("width of the picture", width)
    if not 0 < angle < 180:
        raise InputError("angle", given=f"{angle}°", allowed="between 0 and 180°")
    return width / (2 * math.tan(math.radians(angle) / 2))


def screen_view(
    seat: Point,
    *,
    centre: Point,
    normal: float,
    width: float,
    height: float,
    facing: float | None = None,
    lines: float | None = None,
    windows: Sequence[tuple[str, tuple[Point, Point]]] = (),
    overrides: Mapping[str, float] | None = None,
) -> ScreenView:
    """A screen as seen from a seat, and the windows that it mirrors there.

    Parameters
    ----------
    seat : Point
        The eye in plan. [m]
    centre : Point
        Middle of the screen in plan. [m]
    normal : float
        Direction that the screen faces. [°]
    width, height : float
        Of the picture. [m]
    facing : float, optional
        Straight ahead of the seat. [°]
    lines : float, optional
        Of the picture; from the table where not given.
    windows : sequence of (str, (Point, Point)), optional
        Id and the two sides of each, in plan. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    ScreenView
        `glare` is the share of the screen's width in which a window is
        mirrored to the eye, in plan and with nothing between.

    Raises
    ------
    InputError
        The eye is not before the screen, or a size is not positive.

    Examples
    --------
    >>> round(screen_view((0, 2), centre=(0, 0), normal=90, width=1.2, height=0.675).angle, 1)
    33.4
    """
    _positive("width of the screen", width)
    _positive("height of the screen", height)
    count = value("plan.screen.lines", overrides) if lines is None else lines
    _positive("lines of the screen", count)
    n = math.radians(normal)
    out, along = (math.cos(n), math.sin(n)), (-math.sin(n), math.cos(n))

    def local(p: Point) -> Point:
        rel = (p[0] - centre[0], p[1] - centre[1])
        return (
            rel[0] * along[0] + rel[1] * along[1],
            rel[0] * out[0] + rel[1] * out[1],
        )

    x, depth = local(seat)
    if not math.isfinite(x) or not depth > 1e-6:
        raise InputError("seat", given=seat, allowed="before the screen")
    distance = math.hypot(x, depth)
    angle = math.degrees(math.atan2(width / 2 - x, depth) - math.atan2(-width / 2 - x, depth))
    least = value("plan.screen.subtense", overrides)
    fine = line_distance(height, lines=count, overrides=overrides)
    turn = None
    if facing is not None:
        way = math.degrees(math.atan2(centre[1] - seat[1], centre[0] - seat[0]))
        turn = apart(way, facing)
    glare: dict[str, float] = {}
    slant: dict[str, float] = {}
    for id, (p, q) in windows:
        a, b = local(p), local(q)
        if math.dist(p, q) <= 1e-6:
            raise InputError(f"window {id}, width", given="0 m", allowed="> 0 m")
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        slant[id] = math.degrees(abs(math.atan2(middle[0], middle[1])))
        glare[id] = _mirrored((x, depth), a, b, width)
    line = math.degrees(math.atan(height / count / distance)) * 60.0
    sign = "≥" if angle >= least - 1e-9 else "<"
    why = f"{distance:.2f} m away the picture fills {angle:.0f}° {sign} {least:.0f}°"
    bright = [f"{id} in {share:.0%} of its width" for id, share in glare.items() if share > 0]
    if bright:
        why += f"; it mirrors {', '.join(bright)}"
    return ScreenView(
        distance=distance,
        angle=angle,
        off_axis=math.degrees(abs(math.atan2(x, depth))),
        turn=turn,
        line=line,
        fine_distance=fine,
        far_distance=width_distance(width, angle=least),
        glare=glare,
        glare_angle=slant,
        why=why,
        rule="plan.screen.subtense",
    )


def _mirrored(eye: Point, a: Point, b: Point, width: float) -> float:
    """Share of the screen's width in which the eye sees a–b as in a mirror."""
    # Only what is before the screen's plane is mirrored.
    if max(a[1], b[1]) <= 0:
        return 0.0
    low, high = (a, b) if a[1] <= b[1] else (b, a)
    if low[1] <= 0:
        t = (1e-9 - low[1]) / (high[1] - low[1])
        low = (low[0] + t * (high[0] - low[0]), 1e-9)
    hits = [eye[0] + (w[0] - eye[0]) * eye[1] / (eye[1] + w[1]) for w in (low, high)]
    left, right = max(min(hits), -width / 2), min(max(hits), width / 2)
    return max(0.0, right - left) / width


def _positive(what: str, number: float) -> None:
    if not math.isfinite(number) or number <= 0:
        raise InputError(what, given=number, allowed="> 0")
