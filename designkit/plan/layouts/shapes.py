"""Rectangles and discs in many places at once: which of them meet.

Every body is made of rectangles and discs, so that thousands of pairs of
places are decided by separating axes, exactly, without making polygons.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from designkit.plan.layouts.things import Shape
from designkit.plan.turning import CIRCLE, SQUARE

__all__ = ["Laid", "Poses", "clearance_below", "laid", "meet", "outlines"]

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

TOUCH = 1e-6  # [m] under which two bodies only touch


@dataclass(frozen=True, kw_only=True, eq=False)
class Poses:
    """Places of one piece: centre and turn in the search's frame, and the way it is used."""

    x: Array
    y: Array
    turn: Array  # [°]
    variant: npt.NDArray[np.int64]
    wall: npt.NDArray[np.int64]  # face that its back stands at; -1: none

    def __len__(self) -> int:
        return len(self.x)

    @property
    def cos(self) -> Array:
        """Of the turns; quarter turns are exact."""
        return _exact(np.cos(np.radians(self.turn)))

    @property
    def sin(self) -> Array:
        """Of the turns; quarter turns are exact."""
        return _exact(np.sin(np.radians(self.turn)))

    def take(self, which: npt.NDArray[np.int64] | Bools) -> Poses:
        """Some of them, in the order given."""
        return Poses(
            x=self.x[which],
            y=self.y[which],
            turn=self.turn[which],
            variant=self.variant[which],
            wall=self.wall[which],
        )


def _exact(values: Array) -> Array:
    whole = np.rint(values)
    return np.where(np.abs(values - whole) < 1e-12, whole, values)


@dataclass(frozen=True, kw_only=True, eq=False)
class Laid:
    """Shapes of one piece in all its places; K shapes, N places."""

    x: Array  # (N, K)
    y: Array
    cos: Array
    sin: Array
    half_x: Array  # (K,)
    half_y: Array
    round: Bools  # (K,)
    on: Bools  # (N, K): shapes that count in this place


def laid(shapes: Sequence[Shape], poses: Poses, on: Bools | None = None) -> Laid:
    """Put shapes of a piece in all its places.

    Parameters
    ----------
    shapes : sequence of Shape
        In the piece's own coordinates.
    poses : Poses
        Its places.
    on : array of bool, optional
        Which shape counts in which place; None: all.

    Returns
    -------
    Laid
        In the search's frame.
    """
    c, s = poses.cos[:, None], poses.sin[:, None]
    px = np.array([shape.x for shape in shapes])
    py = np.array([shape.y for shape in shapes])
    own = np.radians([shape.turn for shape in shapes])
    oc, os_ = _exact(np.cos(own)), _exact(np.sin(own))
    return Laid(
        x=poses.x[:, None] + c * px - s * py,
        y=poses.y[:, None] + s * px + c * py,
        cos=c * oc - s * os_,
        sin=s * oc + c * os_,
        half_x=np.array([shape.half_x for shape in shapes]),
        half_y=np.array([shape.half_y for shape in shapes]),
        round=np.array([shape.round for shape in shapes], dtype=bool),
        on=np.ones((len(poses), len(shapes)), bool) if on is None else on,
    )


def meet(
    one: Laid, a: int, i: npt.NDArray[np.int64], two: Laid, b: int, j: npt.NDArray[np.int64]
) -> Bools:
    """Whether shape `a` of places `i` meets shape `b` of places `j`, pair by pair.

    Parameters
    ----------
    one, two : Laid
        Shapes in place.
    a, b : int
        Which shape of each.
    i, j : array of int
        Places, of equal length.

    Returns
    -------
    array of bool
        True where they share more than a touch.
    """
    dx, dy = two.x[j, b] - one.x[i, a], two.y[j, b] - one.y[i, a]
    ahx, ahy, bhx, bhy = one.half_x[a], one.half_y[a], two.half_x[b], two.half_y[b]
    if one.round[a] and two.round[b]:
        return np.asarray(np.hypot(dx, dy) < ahx + bhx - TOUCH)
    if one.round[a] or two.round[b]:
        if one.round[a]:
            c, s = two.cos[j, b], two.sin[j, b]
            radius, hx, hy = ahx, bhx, bhy
        else:
            c, s = one.cos[i, a], one.sin[i, a]
            radius, hx, hy = bhx, ahx, ahy
        u = np.maximum(np.abs(dx * c + dy * s) - hx, 0.0)
        v = np.maximum(np.abs(dy * c - dx * s) - hy, 0.0)
        return np.asarray(u * u + v * v < (radius - TOUCH) ** 2)
    ac, as_, bc, bs = one.cos[i, a], one.sin[i, a], two.cos[j, b], two.sin[j, b]
    # Cosine and sine of the turn between the two, without sign.
    rc, rs = np.abs(ac * bc + as_ * bs), np.abs(ac * bs - as_ * bc)
    hit = np.abs(dx * ac + dy * as_) < ahx + bhx * rc + bhy * rs - TOUCH
    hit &= np.abs(dy * ac - dx * as_) < ahy + bhx * rs + bhy * rc - TOUCH
    hit &= np.abs(dx * bc + dy * bs) < bhx + ahx * rc + ahy * rs - TOUCH
    hit &= np.abs(dy * bc - dx * bs) < bhy + ahx * rs + ahy * rc - TOUCH
    return np.asarray(hit)


def outlines(shape: Shape, poses: Poses) -> npt.NDArray[np.object_]:
    """One shape as a polygon in every place.

    Parameters
    ----------
    shape : Shape
        In the piece's own coordinates.
    poses : Poses
        Places.

    Returns
    -------
    array of Polygon
        One a place.
    """
    one = laid([shape], poses)
    ring = (CIRCLE if shape.round else SQUARE * 2) * np.array([shape.half_x, shape.half_y])
    c, s = one.cos[:, 0, None], one.sin[:, 0, None]
    x = one.x[:, 0, None] + c * ring[:, 0] - s * ring[:, 1]
    y = one.y[:, 0, None] + s * ring[:, 0] + c * ring[:, 1]
    return np.asarray(shapely.polygons(np.stack([x, y], axis=-1)), dtype=object)


def clearance_below(one: Laid, place: int, k: int, x: Array, y: Array, reach: float) -> Bools:
    """Points that are nearer than `reach` to one shape in one place.

    Parameters
    ----------
    one : Laid
        Shapes in place.
    place, k : int
        Which place and which shape.
    x, y : array
        Points. [m]
    reach : float
        [m]

    Returns
    -------
    array of bool
        In the shape of the points.
    """
    dx, dy = x - one.x[place, k], y - one.y[place, k]
    if one.round[k]:
        r = one.half_x[k] + reach
        return np.asarray(dx * dx + dy * dy < r * r)
    c, s = one.cos[place, k], one.sin[place, k]
    u = np.maximum(np.abs(dx * c + dy * s) - one.half_x[k], 0.0)
    v = np.maximum(np.abs(dy * c - dx * s) - one.half_y[k], 0.0)
    return np.asarray(u * u + v * v < reach * reach)
