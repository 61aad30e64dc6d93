"""What stands in the rooms as upright boxes, and what the labels of patches stand for.

Each part is a box about its footprint, a disc a square of the same area. Sticks
(two of three sizes small) and open rings are left out; rugs are told apart.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from designkit.model import Home
from designkit.scene.openings import Hole, holes
from designkit.scene.rays import Target
from designkit.scene.solids import Shell, Solid

__all__ = ["Box", "Boxes", "Numbers", "bounding", "labels_of"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
_CONTACT = 0.005  # heights nearer than this touch [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Boxes:
    """What stands in the rooms, as upright boxes."""

    middle: Array  # (b, 3)
    half: Array  # (b, 3)
    turn: Array  # (b, 2), cosine and sine of its rotation
    label: Ints  # (b,)
    first_face: Ints  # (b,), of its six faces: −x, +x, −y, +y, underside, top

    def inside(self, points: Array) -> NDArray[np.bool_]:
        """Which points lie in a box, for each box: (b, n).

        Parameters
        ----------
        points : Array
            Shape (n, 3). [m]

        Returns
        -------
        NDArray[np.bool_]
            Shape (b, n).
        """
        found = np.zeros((len(self.middle), len(points)), dtype=np.bool_)
        for n in range(len(self.middle)):
            near = np.flatnonzero(np.abs(points[:, 2] - self.middle[n, 2]) <= self.half[n, 2])
            x, y = (points[near, :2] - self.middle[n, :2]).T
            c, s = self.turn[n]
            found[n, near] = (np.abs(c * x + s * y) <= self.half[n, 0]) & (
                np.abs(c * y - s * x) <= self.half[n, 1]
            )
        return found


# --- labels ---------------------------------------------------------------------


def labels_of(home: Home, bodies: Sequence[Solid], rooms: Shell) -> tuple[Target, ...]:
    """What the labels of patches stand for, in their order.

    Parameters
    ----------
    home : Home
        Gives the finishes of the rooms.
    bodies : sequence of Solid
        From `solids`.
    rooms : Shell
        From `shell`.

    Returns
    -------
    tuple of Target
        "beyond"; floor, ceiling and walls of each room; frame and glass or leaf
        of each opening; bodies.
    """
    found = [Target(kind="beyond", owner="", item="beyond", part="", finish="")]
    in_walls = holes(rooms)
    for id in rooms.rooms:
        room = home.rooms[id]
        for kind, finish in (("floor", room.floor), ("ceiling", room.ceiling)):
            found.append(Target(kind=kind, owner=id, item=f"{id}.{kind}", part=kind, finish=finish))
        of_wall = {w.index: room.walls.get(str(w.index), room.wall) for w in rooms.walls[id]}
        for index, finish in of_wall.items():
            found.append(
                Target(
                    kind="wall", owner=id, item=f"{id}.walls", part=f"wall {index}", finish=finish
                )
            )
        for hole in in_walls[id]:
            finish = hole.opening.frame or of_wall[hole.wall]
            door = hole.opening.kind == "door"
            kind, part = ("door leaf", "leaf") if door else ("glass", "glass")
            found.append(
                Target(
                    kind="frame",
                    owner=hole.id,
                    item=f"{hole.id}.frame",
                    part="frame",
                    finish=finish,
                )
            )
            found.append(
                Target(
                    kind=kind,
                    owner=hole.id,
                    item=f"{hole.id}.{part}",
                    part=kind,
                    finish=finish if door else "",
                )
            )
    found.extend(
        Target(kind=b.kind, owner=b.owner, item=b.item, part=b.part, finish=b.finish)
        for b in bodies
    )
    return tuple(found)


class Numbers:
    """Label numbers in the order of `labels_of`, without reading a finish.

    Parameters
    ----------
    bodies : sequence of Solid
        Pieces, lamps and drapery, in order.
    rooms : Shell
        Floors, ceilings and walls.
    in_walls : mapping of str to sequence of Hole
        Openings of each room.
    """

    def __init__(
        self, bodies: Sequence[Solid], rooms: Shell, in_walls: Mapping[str, Sequence[Hole]]
    ):
        self.floor: dict[str, int] = {}
        self.ceiling: dict[str, int] = {}
        self.wall: dict[tuple[str, int], int] = {}
        self.frame: dict[tuple[str, str], int] = {}
        at = 1
        for id in rooms.rooms:
            self.floor[id], self.ceiling[id] = at, at + 1
            at += 2
            for wall in rooms.walls[id]:
                self.wall[id, wall.index] = at
                at += 1
            for hole in in_walls[id]:
                self.frame[id, hole.id] = at  # its glass or leaf is the next
                at += 2
        self.body = at
        self.count = at + len(bodies)


# --- boxes ----------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Box:
    """A box turned about a plumb line, with the label of what it holds."""

    label: int
    middle: tuple[float, float, float]
    half: tuple[float, float, float]
    turn: tuple[float, float]


def _ring_open(shape: Polygon) -> bool:
    if len(shape.interiors) == 0:
        return False
    return float(shape.area) < 0.5 * float(Polygon(shape.exterior).area)


def _rectangle(shape: Polygon) -> tuple[Array, tuple[float, float], tuple[float, float]]:
    """Middle, half sides and turn of the box about a footprint."""
    corners = shapely.get_coordinates(shape.exterior)[:-1]
    if len(corners) > 8 and float(shape.convex_hull.area) - float(shape.area) < 1e-9:
        # Round: a square of the same area, turned as the footprint's first axis is.
        x0, y0, x1, y1 = shape.bounds
        scale = math.sqrt(float(shape.area) / ((x1 - x0) * (y1 - y0)))
        middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        return middle, ((x1 - x0) / 2 * scale, (y1 - y0) / 2 * scale), (1.0, 0.0)
    about = corners if len(corners) == 4 else None
    if about is not None:
        sides = np.roll(about, -1, axis=0) - about
        square = abs(float(sides[0] @ sides[1])) < 1e-6 and np.allclose(sides[0], -sides[2])
        if not square:
            about = None
    if about is None:
        about = shapely.get_coordinates(shape.minimum_rotated_rectangle)[:4]
    one, two = about[1] - about[0], about[2] - about[1]
    length = float(np.linalg.norm(one))
    c, s = one / length
    return about.mean(axis=0), (length / 2, float(np.linalg.norm(two)) / 2), (float(c), float(s))


def bounding(
    bodies: Sequence[Solid], first: int, *, stick: float, rug: float
) -> tuple[list[Box], list[tuple[int, Solid]], int, int]:
    """Boxes, rugs on the floor, and how many parts were left out or simplified.

    Parameters
    ----------
    bodies : sequence of Solid
        Parts of pieces.
    first : int
        Number of the first of them.
    stick : float
        Parts thinner than this in two directions are left out. [m]
    rug : float
        Parts on the floor up to this top lie flat. [m]

    Returns
    -------
    boxes : list of Box
        One a part.
    rugs : list of (int, Solid)
        With their numbers.
    left_out, simplified : int
        Counts.
    """
    found: list[Box] = []
    rugs: list[tuple[int, Solid]] = []
    left_out = simplified = 0
    for n, body in enumerate(bodies):
        if body.transmits:
            continue
        if body.base <= _CONTACT and body.top <= rug:
            rugs.append((first + n, body))
            continue
        middle, half, turn = _rectangle(body.footprint)
        sizes = (2 * half[0], 2 * half[1], body.top - body.base)
        if sum(s < stick for s in sizes) >= 2 or _ring_open(body.footprint):
            left_out += 1
            continue
        # A rectangle that is not the footprint itself is said to be simplified.
        simplified += len(body.footprint.exterior.coords) != 5
        found.append(
            Box(
                label=first + n,
                middle=(float(middle[0]), float(middle[1]), (body.base + body.top) / 2),
                half=(half[0], half[1], (body.top - body.base) / 2),
                turn=turn,
            )
        )
    return found, rugs, left_out, simplified
