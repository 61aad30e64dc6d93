"""A box at one place of a delivery route: how it is carried and what is left free.

At each place a box may be carried upright, on its back or on end, and leaned or
tilted about one axis. Clearance is the free space left at the tightest moment,
all of it, on both sides together. Not counted: lifting over a banister, turning
inside a lift cab, hooking a seat round a jamb, which movers may manage.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations
from typing import Literal

import numpy as np
import numpy.typing as npt

from designkit.errors import InputError
from designkit.model import DeliveryStep, Point

__all__ = [
    "SOFA_AREA",
    "Carry",
    "best_carry",
    "carries",
    "check_step",
    "corner_clearance",
    "longest_rod",
    "longest_round_corner",
    "through_opening",
]

Array = npt.NDArray[np.float64]
Size = tuple[float, float, float]
View = Literal["plan", "front", "side"]

SOFA_AREA = 2.219531669  # Gerver's shape round a corner of unit width, see longest_rod
_RIGHT = math.pi / 2
_STEPS = 241  # angles in a first look; a second look refines the best of them


@dataclass(frozen=True, kw_only=True, eq=False)
class Carry:
    """A way to carry a box at one place, and what is left free [m].

    `free` and `body` are outlines of the place and of the box at the tightest
    moment, `line` the clearance, all in the plane of `view`.
    """

    words: str
    clearance: float
    ease: int  # 0 upright; the higher the more it is handled
    view: View
    free: tuple[Point, ...]
    body: tuple[Point, ...]
    line: tuple[Point, Point]


# --- geometry -----------------------------------------------------------------


def _numbers(what: str, *numbers: float) -> None:
    for number in numbers:
        if not math.isfinite(number) or number < 0:
            raise InputError(what, given=number, allowed="0 or more metres", mend="measure it")


def longest_rod(before: float, *, after: float) -> float:
    r"""The longest thin rod that goes round a right-angled corner, held level.

    .. math:: l = (a^{2/3} + b^{2/3})^{3/2}                              [1]_

    Parameters
    ----------
    before, after : float
        Widths a and b of the two passages. [m]

    Returns
    -------
    float
        Its length. [m]

    Raises
    ------
    InputError
        A width is negative or not finite.

    References
    ----------
    .. [1] Classical problem of the calculus, in many textbooks; from memory.
       The shape of largest known area that goes round a corner of unit width
       has an area of 2.2195 (J. L. Gerver, "On moving a sofa around a corner",
       Geometriae Dedicata 42, 1992; from memory): `SOFA_AREA` bounds any box.

    Examples
    --------
    >>> round(longest_rod(0.9, after=1.2), 4)
    2.9597
    """
    _numbers("width of a passage", before, after)
    return float((before ** (2 / 3) + after ** (2 / 3)) ** 1.5)


def _extents(long: Array | float, thick: Array | float, angle: Array) -> tuple[Array, Array]:
    """Extents along and across of a rectangle turned by an angle."""
    c, s = np.cos(angle), np.sin(angle)
    return long * c + thick * s, long * s + thick * c


def through_opening(
    first: float, *, second: float, width: float, height: float
) -> tuple[float, float]:
    r"""How much is left when a rectangle passes a rectangular opening.

    The largest over the angle of the lesser gap,

    .. math:: \max_\psi \min(w - p\cos\psi - q\sin\psi,\; h - p\sin\psi - q\cos\psi).

    Each gap is convex in the angle, so the best angle is 0°, 90° or where both
    gaps are the same.

    Parameters
    ----------
    first, second : float
        Sides p and q of the rectangle; p lies along the width at angle 0. [m]
    width, height : float
        Of the opening, w and h. [m]

    Returns
    -------
    tuple of float
        Clearance, below 0 where it does not pass, and the angle. [m, rad]

    Raises
    ------
    InputError
        A number is negative or not finite.

    Examples
    --------
    >>> round(through_opening(0.9, second=0.5, width=0.8, height=2.0)[0], 6)
    0.3
    """
    _numbers("size", first, second, width, height)
    angles = [0.0, _RIGHT]
    if abs(first - second) > 1e-12:
        k = (width - height) / (first - second) / math.sqrt(2.0)
        if abs(k) <= 1.0:
            angle = math.acos(k) - math.pi / 4
            if 0.0 < angle < _RIGHT:
                angles.append(angle)
    best, at = -math.inf, 0.0
    for angle in angles:
        c, s = math.cos(angle), math.sin(angle)
        if angle in (0.0, _RIGHT):
            c, s = (1.0, 0.0) if angle == 0.0 else (0.0, 1.0)
        gap = min(width - first * c - second * s, height - first * s - second * c)
        if gap > best + 1e-12:
            best, at = gap, angle
    return best, at


def _turn_gap(long: Array, thick: Array | float, a: float, b: float) -> tuple[Array, Array]:
    """Least gap at the inner corner while rectangles turn, and the angle of it."""
    shape = np.broadcast_shapes(np.shape(long), np.shape(thick))
    long = np.broadcast_to(np.asarray(long, float), shape)[..., None]
    thick = np.broadcast_to(np.asarray(thick, float), shape)[..., None]
    angle = np.linspace(0.0, _RIGHT, _STEPS)
    for _ in range(3):
        c, s = np.cos(angle), np.sin(angle)
        gap = a * s + b * c - long * s * c - thick
        k = np.argmin(gap, axis=-1)[..., None]
        angle = np.broadcast_to(angle, gap.shape)
        step = (angle[..., 1] - angle[..., 0])[..., None]
        middle = np.take_along_axis(angle, k, axis=-1)
        least = np.take_along_axis(gap, k, axis=-1)[..., 0]
        at = middle[..., 0]
        angle = np.clip(middle + step * np.linspace(-1.0, 1.0, 25), 0.0, _RIGHT)
    return least, at


def _corner(first: Array, second: Array | float, a: float, b: float) -> tuple[Array, Array]:
    """Gap of a level footprint at a corner, and the angle; below 0: not turned."""
    first, second = np.broadcast_arrays(np.asarray(first, float), np.asarray(second, float))
    slid = np.maximum(
        np.minimum(a - first, b - second), np.minimum(a - second, b - first)
    )  # through both passages without turning
    gap, at = _turn_gap(np.maximum(first, second), np.minimum(first, second), a, b)
    return np.maximum(gap, slid), np.where(slid >= gap - 1e-9, -1.0, at)


def _half(
    first: Array, second: Array | float, width: float, landing: float, well: float
) -> tuple[Array, Array]:
    """Gap of a level footprint at a half landing, and the angle."""
    first, second = np.broadcast_arrays(np.asarray(first, float), np.asarray(second, float))
    slid = np.maximum(
        np.minimum(width - first, landing - second), np.minimum(width - second, landing - first)
    )
    gap, at = _turn_gap(np.maximum(first, second), np.minimum(first, second), width, landing)
    # On its way round it is across the whole landing once, corner to corner.
    gap = np.minimum(gap, 2 * width + well - np.hypot(first, second))
    return np.maximum(gap, slid), np.where(slid >= gap - 1e-9, -1.0, at)


def corner_clearance(
    length: float, *, depth: float, before: float, after: float
) -> tuple[float, float | None]:
    r"""What is left when a level rectangle goes round a right-angled corner.

    It slides through without turning where it is short enough, or it turns
    with its outer side on both outer walls. Then the gap at the inner corner is

    .. math:: \min_\theta\; a\sin\theta + b\cos\theta - l\sin\theta\cos\theta - t.

    Parameters
    ----------
    length, depth : float
        Sides of the rectangle, l the longer and t the shorter. [m]
    before, after : float
        Widths a and b of the passages. [m]

    Returns
    -------
    tuple of float and float or None
        Clearance, below 0 where it does not pass, and the angle of the
        tightest moment; None where it slides through. [m, rad]

    Raises
    ------
    InputError
        A number is negative or not finite.

    Examples
    --------
    >>> corner_clearance(2.0, depth=0.6, before=0.9, after=1.2)[0] > 0
    False
    >>> corner_clearance(1.1, depth=0.8, before=0.9, after=1.2)[1] is None
    True
    """
    _numbers("size at a corner", length, depth, before, after)
    gap, at = _corner(np.array(length), depth, before, after)
    return float(gap), None if float(at) < 0 else float(at)


def longest_round_corner(depth: float, *, before: float, after: float) -> float:
    """The longest level rectangle of a given depth that goes round a corner.

    Parameters
    ----------
    depth : float
        Its shorter side. [m]
    before, after : float
        Widths of the passages. [m]

    Returns
    -------
    float
        Its length, at least its depth; 0 where nothing of that depth passes. [m]

    Raises
    ------
    InputError
        A number is negative or not finite.

    Examples
    --------
    >>> round(longest_round_corner(0.0, before=0.9, after=0.9), 4)
    2.5456
    """
    _numbers("size at a corner", depth, before, after)
    if depth > min(before, after):
        return 0.0
    low, high = max(before, after), longest_rod(before, after=after) + 1e-6
    for _ in range(60):
        middle = (low + high) / 2
        gap, _at = _corner(np.array(middle), depth, before, after)
        low, high = (middle, high) if float(gap) >= 0 else (low, middle)
    return low


# --- carries at a place ---------------------------------------------------------

_STANDS = {2: ("upright", 0), 1: ("on its back", 1), 0: ("on end", 2)}
_DEGREE = math.pi / 180


def _angle_words(angle: float) -> str:
    return f"{angle / _DEGREE:.0f}°"


def _rectangle(w: float, h: float, angle: float, *, width: float) -> tuple[Point, ...]:
    """A tilted rectangle standing on the floor in the middle of an opening."""
    c, s = math.cos(angle), math.sin(angle)
    corners = [(0.0, 0.0), (w * c, w * s), (w * c - h * s, w * s + h * c), (-h * s, h * c)]
    low = min(x for x, _ in corners)
    high = max(x for x, _ in corners)
    shift = (width - (high - low)) / 2 - low
    return tuple((x + shift, y) for x, y in corners)


def _frame(w: float, h: float) -> tuple[Point, ...]:
    return ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))


def _free_line(body: tuple[Point, ...], w: float, h: float) -> tuple[Point, Point]:
    """The lesser of the gaps beside and above a body in a frame."""
    right = max(body, key=lambda p: p[0])
    top = max(body, key=lambda p: p[1])
    beside, above = w - (right[0] - min(x for x, _ in body)), h - top[1]
    return (right, (w, right[1])) if beside <= above else (top, (top[0], h))


def _pose(up: int, angle: float, how: str) -> tuple[str, int]:
    """Words and ease of a pose: which axis stands up, and how far it is tilted."""
    words, ease = _STANDS[up]
    if angle < 0.5 * _DEGREE:
        return words, ease
    return f"{words}, {how} {_angle_words(angle)}", ease + 3


def _through(size: Size, w: float, h: float) -> list[Carry]:
    """Carried straight through an opening or along a passage."""
    found = []
    for along in range(3):
        p, q = (k for k in range(3) if k != along)
        for across, up in ((p, q), (q, p)):
            gap = min(w - size[across], h - size[up])
            body = _rectangle(size[across], size[up], 0.0, width=w)
            words, ease = _pose(up, 0.0, "")
            if along != 1 and up == 2:
                words = f"{words}, {'end' if along == 0 else 'front'} first"
            found.append(
                Carry(
                    words=words,
                    clearance=gap,
                    ease=ease,
                    view="front",
                    free=_frame(w, h),
                    body=body,
                    line=_free_line(body, w, h),
                )
            )
        gap, angle = through_opening(size[p], second=size[q], width=w, height=h)
        if 0.5 * _DEGREE < angle < _RIGHT - 0.5 * _DEGREE:
            body = _rectangle(size[p], size[q], angle, width=w)
            words, ease = _pose(q, angle, "tilted sideways")
            found.append(
                Carry(
                    words=words,
                    clearance=gap,
                    ease=ease,
                    view="front",
                    free=_frame(w, h),
                    body=body,
                    line=_free_line(body, w, h),
                )
            )
    return found


_PLANES: Mapping[tuple[int, int], View] = {(0, 1): "plan", (0, 2): "front", (1, 2): "side"}
_TILTS = ("leaned", "tilted sideways", "turned")  # about the axis across, along, up


def _lift(size: Size, step: DeliveryStep) -> list[Carry]:
    """Brought into a lift without turning, and standing in it with its door shut."""
    assert step.depth is not None
    assert step.door_width is not None
    door_height = step.height if step.door_height is None else step.door_height
    room = (min(step.width, step.door_width), step.depth, min(step.height, door_height))
    found = []
    for across, along, up in permutations(range(3)):
        box = (size[across], size[along], size[up])
        spare = [room[k] - box[k] for k in range(3)]
        # straight: shown in the plane in which it is tightest
        tight = min(range(3), key=lambda k: spare[k])
        found.append(_in_cab(box, room, (0, 1) if tight == 1 else (0, 2), 0.0, min(spare), up))
        for axis in range(3):
            one, two = (k for k in range(3) if k != axis)
            gap, angle = through_opening(
                box[one], second=box[two], width=room[one], height=room[two]
            )
            if 0.5 * _DEGREE < angle < _RIGHT - 0.5 * _DEGREE:
                found.append(
                    _in_cab(box, room, (one, two), angle, min(gap, spare[axis]), up, axis=axis)
                )
    return found


def _in_cab(
    box: Size,
    room: Size,
    plane: tuple[int, int],
    angle: float,
    clearance: float,
    up: int,
    *,
    axis: int = 0,
) -> Carry:
    one, two = plane
    body = _rectangle(box[one], box[two], angle, width=room[one])
    words, ease = _pose(up, angle, _TILTS[axis])
    return Carry(
        words=words,
        clearance=clearance,
        ease=ease,
        view=_PLANES[plane],
        free=_frame(room[one], room[two]),
        body=body,
        line=_free_line(body, room[one], room[two]),
    )


def _leaned(size: Size, step: DeliveryStep) -> list[Carry]:
    """Level or leaned round a corner or a turn of a stair, under its ceiling."""
    assert step.after is not None
    a, b, h = step.width, step.after, step.height
    half = step.kind == "stair turn" and step.turn == "half"
    found = []
    for across in range(3):
        along, up = (k for k in range(3) if k != across)
        r, q, p = size[along], size[up], size[across]

        def plan(long: Array, p: float = p) -> tuple[Array, Array]:
            return _half(long, p, a, b, step.well) if half else _corner(long, p, a, b)

        angles = np.linspace(0.0, _RIGHT, 91)
        best: list[tuple[float, float, float, float]] = []
        for look in range(3):
            long, high = _extents(r, q, angles)
            gap, at = plan(long)
            both = np.minimum(h - high, gap)
            picked = (0, -1) if look == 0 else ()  # level, and the other way level
            for k in (*picked, int(np.argmax(both))):
                best.append(
                    (float(both[k]), float(angles[k]), float(long[k]), float(at[k])),
                )
            middle = angles[int(np.argmax(both))]
            step_size = angles[1] - angles[0] if len(angles) > 1 else 0.01
            angles = np.clip(np.linspace(middle - step_size, middle + step_size, 41), 0.0, _RIGHT)
        levels, leans = best[:2], best[2:]
        lean = max(leans)
        rows = [(levels[0], up), (levels[1], along)]
        if 0.5 * _DEGREE < lean[1] < _RIGHT - 0.5 * _DEGREE and lean[0] > max(
            levels[0][0], levels[1][0]
        ):
            rows.append((lean, up))
        for (clearance, angle, long_side, turn), stands in rows:
            tilt = angle if (clearance, angle) == lean[:2] and len(rows) == 3 else 0.0
            tilt = 0.0 if angle in (0.0, _RIGHT) else tilt
            words, ease = _pose(stands, tilt, "leaned")
            top_at = r * math.sin(angle) + q * math.cos(angle)
            if h - top_at <= clearance + 1e-9:  # the ceiling is what is tight
                body = _rectangle(r, q, angle, width=max(long_side, a))
                free = _frame(max(long_side, a), h)
                view: View = "side"
                top = max(body, key=lambda xy: xy[1])
                line = (top, (top[0], h))
            else:
                free, body, line = _plan_figure(long_side, p, a, b, turn, step, half)
                view = "plan"
            found.append(
                Carry(
                    words=words,
                    clearance=clearance,
                    ease=ease,
                    view=view,
                    free=free,
                    body=body,
                    line=line,
                )
            )
    return found


def _plan_figure(
    first: float, second: float, a: float, b: float, turn: float, step: DeliveryStep, half: bool
) -> tuple[tuple[Point, ...], tuple[Point, ...], tuple[Point, Point]]:
    """The corner, the box in it at its tightest moment, and the gap."""
    long, thick = max(first, second), min(first, second)
    arm = max(long, a, b)
    if half:
        right = 2 * a + step.well
        edge = max(step.well, 0.02) / 2
        mid = right / 2
        free: tuple[Point, ...] = (
            (0.0, -arm), (mid - edge, -arm), (mid - edge, 0.0), (mid + edge, 0.0),
            (mid + edge, -arm), (right, -arm), (right, b), (0.0, b),
        )  # fmt: skip
    else:
        free = ((0.0, -arm), (a, -arm), (a, 0.0), (a + arm, 0.0), (a + arm, b), (0.0, b))
    if turn < 0:  # slid through: drawn in the corner
        w, d = (first, second)
        if min(a - w, b - d) < min(a - d, b - w):
            w, d = d, w
        body: tuple[Point, ...] = ((0.0, b - d), (w, b - d), (w, b), (0.0, b))
        line = (
            ((w, b - d / 2), (a, b - d / 2)) if a - w <= b - d else ((w / 2, 0.0), (w / 2, b - d))
        )
        return free, body, line
    if half and 2 * a + step.well - math.hypot(first, second) < float(
        _turn_gap(np.array(long), thick, a, b)[0]
    ):
        turn = math.atan2(thick, long)
    c, s = math.cos(turn), math.sin(turn)
    one, two = (0.0, b - long * s), (long * c, b)
    body = (one, two, (two[0] + thick * s, two[1] - thick * c), (thick * s, one[1] - thick * c))
    gap = a * s + b * c - long * s * c - thick
    return free, body, ((a, 0.0), (a - gap * s, gap * c))


def carries(size: Size, *, step: DeliveryStep) -> tuple[Carry, ...]:
    """The ways to carry a box at one place.

    Parameters
    ----------
    size : tuple of float
        Width, depth and height of the box as it stands. [m]
    step : DeliveryStep
        The place.

    Returns
    -------
    tuple of Carry
        Easiest first; those with a clearance below 0 do not pass.

    Raises
    ------
    InputError
        A size is not a finite number above 0, or the step lacks one.

    Examples
    --------
    >>> door = DeliveryStep(kind="door", width=0.8, height=2.0)
    >>> carries((2.2, 0.95, 0.75), step=door)[0].clearance < 0
    True
    """
    if len(size) != 3 or not all(math.isfinite(n) and n > 0 for n in size):
        raise InputError(
            "size of a box", given=size, allowed="width, depth, height above 0 m", mend="measure it"
        )
    check_step(step)
    if step.kind in ("door", "passage", "flight"):
        found = _through(size, step.width, step.height)
    elif step.kind == "lift":
        found = _lift(size, step)
    else:
        found = _leaned(size, step)
    return tuple(sorted(found, key=lambda one: (one.ease, -one.clearance)))


def check_step(step: DeliveryStep) -> None:
    """Refuse a step that lacks a length or has one that is not above 0.

    Parameters
    ----------
    step : DeliveryStep
        The place.

    Raises
    ------
    InputError
        Names the step and what to measure.
    """
    name = step.name or step.kind
    needed: dict[str, tuple[str, ...]] = {
        "lift": ("depth", "door_width"),
        "corner": ("after",),
        "stair turn": ("after",),
    }
    if step.kind not in ("door", "passage", "flight", *needed):
        raise InputError(
            f"kind of {name}",
            given=step.kind,
            allowed="door, passage, lift, corner, flight, stair turn",
        )
    for key in ("width", "height", *needed.get(step.kind, ())):
        given = getattr(step, key)
        if given is None or not math.isfinite(given) or given <= 0:
            raise InputError(
                f"{key} of {name}",
                given="nothing" if given is None else given,
                allowed="a length above 0 m",
                mend="measure it on the way up",
            )
    _numbers(f"well of {name}", step.well)


def best_carry(size: Size, *, step: DeliveryStep, enough: float = 0.0) -> Carry:
    """The easiest carry with enough clearance, else the one with most.

    Parameters
    ----------
    size : tuple of float
        Width, depth and height of the box as it stands. [m]
    step : DeliveryStep
        The place.
    enough : float, optional
        Clearance that is enough. [m]

    Returns
    -------
    Carry
        With its clearance.

    Raises
    ------
    InputError
        As `carries`.

    Examples
    --------
    >>> best_carry((2.2, 0.95, 0.75), step=DeliveryStep(kind="door", width=0.8, height=2.0)).words
    'on its back'
    """
    found = carries(size, step=step)
    for one in found:
        if one.clearance >= enough:
            return one
    return max(found, key=lambda one: (round(one.clearance, 9), -one.ease))
