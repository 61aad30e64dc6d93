"""Where a traced room lies on its sheet, so that rooms of one sheet lie side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from designkit.errors import InputError
from designkit.model import Point
from designkit.plan.tracing import Traced

__all__ = ["SheetFrame", "beside", "frame_of", "shifted"]

Array = np.ndarray[Any, np.dtype[np.float64]]


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetFrame:
    """The turn and the shift between a sheet's pixels and a room's metres."""

    metres: float  # of one pixel [m]
    turn: Array  # rotation, shape (2, 2)
    shift: Array  # shape (2,) [m]
    order: tuple[int, ...]  # numbers of the clicked corners, in the order of the outline
    off: float  # farthest that a corner of the outline lies from its click [m]

    def in_room(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Points of the sheet in the room's frame.

        Parameters
        ----------
        points : sequence of Point
            [pixels, y down]

        Returns
        -------
        tuple of Point
            [m]
        """
        xy = np.array(points, dtype=float).reshape(-1, 2) * (self.metres, -self.metres)
        return _points(xy @ self.turn.T + self.shift)

    def on_sheet(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Points of the room on the sheet.

        Parameters
        ----------
        points : sequence of Point
            [m]

        Returns
        -------
        tuple of Point
            [pixels, y down]
        """
        xy = (np.array(points, dtype=float).reshape(-1, 2) - self.shift) @ self.turn
        return _points(xy / (self.metres, -self.metres))


def _points(xy: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in xy)


def _fit(start: Array, end: Array) -> tuple[Array, Array, float]:
    r"""The turn and shift that bring points nearest to others, least squares.

    With both sets about their means, the angle is

    .. math:: \tan\theta = \sum (x u' - y' u) / \sum (x u + y' u').
    """
    a, b = start - start.mean(axis=0), end - end.mean(axis=0)
    angle = np.arctan2(float(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])), float(np.sum(a * b)))
    c, s = float(np.cos(angle)), float(np.sin(angle))
    turn = np.array([[c, -s], [s, c]])
    shift = end.mean(axis=0) - turn @ start.mean(axis=0)
    off = float(np.hypot(*(start @ turn.T + shift - end).T).max())
    return turn, shift, off


def frame_of(traced: Traced) -> SheetFrame:
    """The turn and shift that bring the clicked corners nearest to the outline.

    Parameters
    ----------
    traced : Traced
        From `designkit.plan.tracing.trace`.

    Returns
    -------
    SheetFrame
        It also tells which click each corner of the outline comes from.

    Raises
    ------
    InputError
        Outline and clicks do not belong together.

    Examples
    --------
    >>> from designkit.plan.tracing import scale_between, trace
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> frame = frame_of(trace([(10, 10), (410, 10), (410, 310), (10, 310)], scale=scale))
    >>> [round(n, 6) for n in frame.in_room([(410, 10)])[0]]
    [4.0, 3.0]
    """
    count = len(traced.outline)
    if len(traced.clicked) != count:
        raise InputError(
            "outline",
            given=f"{count} corners",
            allowed=f"{len(traced.clicked)}, as clicked",
            mend="trace it again",
        )
    metres = traced.scale.metres
    clicked = np.array(traced.clicked, dtype=float) * (metres, -metres)
    outline = np.array(traced.outline, dtype=float)
    best: SheetFrame | None = None
    # the outline may begin at another corner and run the other way round
    for way in (1, -1):
        for start in range(count):
            order = [(start + way * k) % count for k in range(count)]
            turn, shift, off = _fit(clicked[order], outline)
            # A plan is levelled by less than half a right angle; what turns it further is
            # another of the ways in which an even outline falls on itself.
            if turn[0, 0] < 0.69:
                continue
            if best is None or off < best.off - 1e-9:
                best = SheetFrame(
                    metres=metres, turn=turn, shift=shift, order=tuple(order), off=off
                )
    if best is None:
        raise InputError(
            "outline", given="turned", allowed="as it was clicked", mend="trace it again"
        )
    return best


def shifted(traced: Traced, *, by: Point) -> Traced:
    """The same outline elsewhere in the home's frame.

    Parameters
    ----------
    traced : Traced
        The outline.
    by : Point
        How far. [m]

    Returns
    -------
    Traced
        To a tenth of a millimetre.
    """
    moved = tuple((round(x + by[0], 4) + 0.0, round(y + by[1], 4) + 0.0) for x, y in traced.outline)
    return replace(traced, outline=moved)


def beside(traced: Traced, *, first: Traced) -> Traced:
    """A room where it lies beside another of the same sheet.

    Parameters
    ----------
    traced : Traced
        The new room.
    first : Traced
        A room of the same sheet, where it stands in the home.

    Returns
    -------
    Traced
        Its outline in the frame of the first.

    Raises
    ------
    InputError
        Outline and clicks do not belong together.

    Examples
    --------
    >>> from designkit.plan.tracing import scale_between, trace
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> one = trace([(0, 0), (400, 0), (400, 300), (0, 300)], scale=scale)
    >>> two = trace([(412, 0), (612, 0), (612, 300), (412, 300)], scale=scale)
    >>> beside(two, first=one).outline[0]
    (4.12, 0.0)
    """
    middle = np.array(traced.clicked, dtype=float).mean(axis=0)
    (there,) = frame_of(first).in_room([(float(middle[0]), float(middle[1]))])
    (here,) = frame_of(traced).in_room([(float(middle[0]), float(middle[1]))])
    return shifted(traced, by=(there[0] - here[0], there[1] - here[1]))
