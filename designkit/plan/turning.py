"""Turning and moving points; discs as polygons."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from shapely.geometry import Polygon

from designkit.model import Point

__all__ = ["CIRCLE", "SQUARE", "Array", "axes_of", "disc", "turned"]

Array = npt.NDArray[np.float64]

# 96 corners keep a disc's edge within 0.06 % of its radius (a quarter of a
# millimetre on a table of 0.9 m) and put a corner on each axis.
_TURN = np.linspace(0.0, 2 * np.pi, 96, endpoint=False)
CIRCLE: Array = np.column_stack((np.cos(_TURN), np.sin(_TURN)))
CIRCLE[np.abs(CIRCLE) < 1e-12] = 0.0
SQUARE: Array = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)])


def axes_of(rotation: float) -> Array:
    """The turned x and y axes as columns; quarter turns are exact.

    Parameters
    ----------
    rotation : float
        Counter-clockwise. [°]

    Returns
    -------
    array of shape (2, 2)
        `axes @ point` turns a point about (0, 0).
    """
    quarter, rest = divmod(rotation % 360.0, 90.0)
    if rest == 0.0:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        c, s = math.cos(math.radians(rotation)), math.sin(math.radians(rotation))
    return np.array([(c, -s), (s, c)])


def turned(point: Point, *, at: Point, rotation: float) -> Point:
    """A point of a piece's own coordinates in the home's frame.

    Parameters
    ----------
    point : Point
        In the piece's own coordinates. [m]
    at : Point
        Where the piece's centre stands. [m]
    rotation : float
        Counter-clockwise turn of the piece. [°]

    Returns
    -------
    Point
        In the home's frame. [m]

    Examples
    --------
    >>> turned((0.0, -1.0), at=(2.0, 3.0), rotation=90.0)
    (3.0, 3.0)
    """
    x, y = axes_of(rotation) @ np.array(point, dtype=float)
    return (float(x + at[0]), float(y + at[1]))


def disc(centre: Point, *, diameter: float) -> Polygon:
    """A disc as a polygon of 96 corners.

    Parameters
    ----------
    centre : Point
        Its centre. [m]
    diameter : float
        Its diameter. [m]

    Returns
    -------
    Polygon
        Inscribed in the true circle.

    Examples
    --------
    >>> round(disc((0, 0), diameter=2.0).area, 2)
    3.14
    """
    return Polygon(CIRCLE * (diameter / 2) + np.array(centre, dtype=float))
