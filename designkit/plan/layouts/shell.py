"""The parts of a space as the search sees them: its frame, walls, ways, windows, cells."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from designkit.model import Point
from designkit.plan.case import frame
from designkit.plan.floors import Place

__all__ = ["CELL", "SLACK", "Face", "Frame", "Grid", "Need", "Pane", "Way", "front_of"]

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

CELL = 0.05  # [m] of the circulation grid
# A path is never farther than half a cell's diagonal from the nearest centre, so a
# way of width w keeps cells whose clearance is w/2 - 0.0354 m.
SLACK = 0.071  # [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Frame:
    """The search's own frame: turned by `angle` and moved to `centre`."""

    angle: float  # [°] of the local x axis in the home's frame
    centre: tuple[float, float]  # in the turned frame

    def inward(self, xy: Array) -> Array:
        """Points of the home's frame in the search's own."""
        return np.asarray(np.asarray(xy, dtype=float) @ _axes(self.angle) - np.array(self.centre))

    def outward(self, xy: Array) -> Array:
        """Points of the search's own frame in the home's."""
        moved = np.asarray(xy, dtype=float) + np.array(self.centre)
        return np.asarray(moved @ _axes(self.angle).T)

    def way(self, direction: Point) -> Point:
        """A direction of the home's frame in the search's own."""
        x, y = np.array(direction, dtype=float) @ _axes(self.angle)
        return (float(x), float(y))

    def shape(self, geometry: BaseGeometry) -> BaseGeometry:
        """A geometry of the home's frame in the search's own."""
        out: BaseGeometry = shapely.transform(geometry, self.inward)
        return out


def _axes(angle: float) -> Array:
    if angle == 0.0:
        return np.eye(2)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return np.array([(c, -s), (s, c)])


@dataclass(frozen=True, kw_only=True, eq=False)
class Face:
    """A wall to stand against, in the search's frame."""

    name: str  # "living wall 2"
    room: str
    start: Point
    end: Point
    length: float
    inward: Point
    spans: tuple[tuple[float, float, str], ...]  # openings: from, to, kind

    @property
    def along(self) -> Point:
        """Unit vector from start to end."""
        (x, y), (u, v) = self.start, self.end
        return (u - x) / self.length, (v - y) / self.length


@dataclass(frozen=True, kw_only=True, eq=False)
class Way:
    """A door, balcony door or passage out of the space or within it."""

    id: str
    name: str
    to: str
    line: tuple[Point, Point]  # its clear width
    centre: Point
    inward: Point
    clear: float
    need: float  # kept free before it
    out: bool  # it leads out of the space
    kitchen: bool
    entrance: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Pane:
    """A window, or the glass of a balcony door."""

    id: str
    name: str
    left: Point
    right: Point
    centre: Point
    inward: Point
    width: float
    sill: float
    head: float
    view: bool
    climbed: bool  # a child could fall: opening, over a drop or an unknown one
    window: bool
    visible: bool = True


@dataclass(frozen=True, kw_only=True, eq=False)
class Need:
    """A way that has to stay open, and how wide."""

    id: str
    name: str
    start: Place
    end: Place
    start_at: BaseGeometry | None  # where it starts, for the grid
    end_at: BaseGeometry | None
    width: float  # [m] that is required here
    asked: float  # [m] that was asked for
    piece: str = ""  # the placement that it leads to

    @property
    def level(self) -> float:
        """The width that the grid looks at: down to a decimetre, so that levels are few. [m]"""
        return math.floor(self.width * 10.0 + 1e-9) / 10.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """Cells of 5 cm over the floor, centred on it."""

    x0: float  # centre of the first cell
    y0: float
    cols: int
    rows: int
    inside: Bools  # rows × cols

    @property
    def size(self) -> int:
        """Number of cells."""
        return self.rows * self.cols

    @functools.cached_property
    def centres(self) -> Array:
        """Centres of all cells, row by row."""
        x = self.x0 + CELL * np.arange(self.cols)
        y = self.y0 + CELL * np.arange(self.rows)
        return np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1).reshape(-1, 2)


def front_of(way: Way, depth: float) -> Polygon | None:
    """Floor kept free before a way, in the search's frame."""
    return frame(way.centre, way.inward, way.clear, 0.001, depth)
