"""Where a piece could stand in a layout: free poses along walls and on the floor."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from designkit.errors import InputError
from designkit.model import Piece, Point
from designkit.plan.case import Case
from designkit.plan.outline import wall_runs
from designkit.plan.pieces import kind_of
from designkit.plan.place import is_on_wall
from designkit.plan.space import Space

__all__ = ["Pose", "free_poses", "stands_at_wall"]

Array = npt.NDArray[np.float64]

# Kinds whose back belongs to a wall, as the trade places them; the others stand free.
_AT_WALL = (
    "sofa", "daybed", "console", "sideboard", "low cabinet", "bookcase", "wardrobe",
    "chest of drawers", "bed", "cot", "bedside table", "desk", "bench", "upright piano",
    "mirror", "picture", "wall shelf", "plant", "floor lamp", "counter",
)  # fmt: skip
STEP = 0.1  # m; distance between poses that are tried
SKIN = 0.002  # m; nearer than this counts as touching


@dataclass(frozen=True, kw_only=True)
class Pose:
    """One free place of a piece: the centre of its footprint and its turn."""

    at: Point
    rotation: float  # [°]
    room: str
    wall: int | None  # the first wall of the face behind it; None: free on the floor
    free: float  # length of the stretch of wall in which it may be moved, or 0 [m]


def stands_at_wall(piece: Piece) -> bool:
    """Whether a piece is placed with its back to a wall.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    bool
        By its kind.

    Examples
    --------
    >>> stands_at_wall(Piece(name="rug", kind="rug", size=(3.0, 2.0, 0.01)))
    False
    """
    return kind_of(piece).name in _AT_WALL or is_on_wall(piece)


def _turned(piece: Piece, at: Array, rotation: float) -> Array:
    """Corners of footprints, n × 4 × 2."""
    w, d, _ = piece.size
    turn = math.radians(rotation)
    c, s = math.cos(turn), math.sin(turn)
    square = np.array([(-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2)])
    square = square @ np.array([[c, s], [-s, c]])
    return np.asarray(at[:, None, :] + square[None, :, :])


def _kept_free(space: Space, piece: Piece) -> list[Polygon]:
    """Floor at openings on which the piece must not stand: leaves, doorways, low windows."""
    found = []
    for at in space.openings:
        for leaf in at.leaves:
            if leaf.here and leaf.base < piece.size[2]:
                found.append(leaf.swing)
        kind = at.opening.kind
        if kind == "window" and piece.size[2] <= at.opening.sill + 1e-6:
            continue
        reach = 0.3 if kind == "window" else max(0.6, at.clear / 2)
        (ax, ay), (bx, by) = at.left, at.right
        nx, ny = at.inward
        found.append(
            Polygon(
                [
                    (ax, ay),
                    (bx, by),
                    (bx + nx * reach, by + ny * reach),
                    (ax + nx * reach, ay + ny * reach),
                ]
            )
        )
    return found


def _free(case: Case, space: Space, piece: Piece, corners: Array, without: Collection[str]) -> (
    npt.NDArray[np.bool_]
):  # fmt: skip
    """Which footprints lie in the space and on nothing."""
    polygons = np.asarray(shapely.polygons(corners))
    floor = space.polygon.buffer(SKIN, join_style="mitre")
    shapely.prepare(floor)
    free = np.asarray(shapely.covers(floor, polygons))
    if not free.any():
        return free
    # Rugs lie under what stands; a rug lies under everything but what is fixed.
    rug = case.value("plan.clear.rug")
    flat = piece.size[2] <= rug
    mount = kind_of(piece).mount
    low = 0.0 if mount == "floor" else 1.0
    blocks = [
        solid.shape
        for solid in case.solids
        if solid.owner not in without
        and solid.owner.split(".")[0] not in without
        and solid.top > max(rug, low)
        and solid.base < piece.size[2] + low
        and not solid.hangs
        and (not flat or solid.group in ("column", "service"))
    ]
    if not flat and mount == "floor":
        blocks += _kept_free(space, piece)
    if blocks:
        inner = np.asarray(shapely.buffer(polygons, -SKIN, join_style="mitre"))
        tree = shapely.STRtree(blocks)
        hit = np.unique(tree.query(inner, predicate="intersects")[0])
        free[hit] = False
    return free


def _stretches(free: Sequence[bool]) -> list[tuple[int, int]]:
    """First and last index of each run of True."""
    runs, start = [], None
    for k, one in enumerate([*free, False]):
        if one and start is None:
            start = k
        elif not one and start is not None:
            runs.append((start, k - 1))
            start = None
    return runs


def _along_walls(
    case: Case, space: Space, piece: Piece, without: Collection[str], near: Point | None
) -> list[Pose]:
    w, d, _ = piece.size
    gap = case.value("plan.place.wall_gap")
    found = []
    for room in space.rooms:
        for run in wall_runs(room, case.home.rooms[room]):
            if run.length < w - SKIN:
                continue
            start, end = np.array(run.start, float), np.array(run.end, float)
            way = (end - start) / run.length
            inward = np.array(run.inward)
            room_along = run.length - w
            count = max(1, math.ceil(room_along / STEP)) + 1 if room_along > SKIN else 1
            along = w / 2 + np.linspace(0.0, max(room_along, 0.0), count)
            at = start + along[:, None] * way + inward * (d / 2 + gap)
            rotation = math.degrees(math.atan2(inward[1], inward[0])) + 90.0
            free = _free(case, space, piece, _turned(piece, at, rotation), without)
            for first, last in _stretches(free.tolist()):
                picked = {first, (first + last) // 2, last}
                if near is not None:
                    away = np.hypot(*(at[first : last + 1] - np.array(near)).T)
                    picked.add(first + int(np.argmin(away)))
                length = float(along[last] - along[first])
                for k in sorted(picked):
                    found.append(
                        Pose(
                            at=(round(float(at[k][0]), 4), round(float(at[k][1]), 4)),
                            rotation=rotation % 360.0,
                            room=room,
                            wall=min(run.walls),
                            free=length,
                        )
                    )
    return found


def _on_floor(
    case: Case, space: Space, piece: Piece, without: Collection[str], near: Point | None
) -> list[Pose]:
    x0, y0, x1, y1 = space.polygon.bounds
    xs, ys = np.arange(x0, x1, 2 * STEP), np.arange(y0, y1, 2 * STEP)
    grid = np.array([(x, y) for x in xs for y in ys])
    if near is not None:
        grid = np.concatenate(([near], grid))
    found = []
    square = abs(piece.size[0] - piece.size[1]) < 1e-6
    for rotation in (0.0,) if square else (0.0, 90.0):
        free = _free(case, space, piece, _turned(piece, grid, rotation), without)
        for x, y in grid[free]:
            at = (round(float(x), 4), round(float(y), 4))
            room = min(
                space.rooms, key=lambda r: space.outlines[r].distance(shapely.points(at[0], at[1]))
            )
            found.append(Pose(at=at, rotation=rotation, room=room, wall=None, free=0.0))
    return found


def free_poses(
    case: Case,
    piece: Piece,
    *,
    without: Collection[str] = (),
    near: Point | None = None,
    most: int = 12,
) -> tuple[Pose, ...]:
    """Places where a piece would stand on free floor.

    Kinds that belong to a wall are tried with their back to each wall, the
    others over the floor, square to the plan. Doorways, leaves and windows
    that the piece would hide are kept free. Use zones and routes are not
    judged here: the findings of a layout do that.

    Parameters
    ----------
    case : Case
        The layout.
    piece : Piece
        What should stand there.
    without : collection of str, optional
        Placements that are taken away first.
    near : Point, optional
        Where it should stand best; nearer places come first. [m]
    most : int, optional
        Places at most.

    Returns
    -------
    tuple of Pose
        Nearest first where `near` is given, else by room and wall.

    Raises
    ------
    InputError
        Fewer than one place is asked for.
    """
    if most < 1:
        raise InputError("most", given=most, allowed="1 or more", mend="ask for a dozen")
    found: list[Pose] = []
    for space in case.spaces.values():
        look = _along_walls if stands_at_wall(piece) else _on_floor
        found += look(case, space, piece, without, near)
    if near is not None:
        spot = near
        found.sort(key=lambda pose: round(math.dist(pose.at, spot), 3))
    if len(found) <= most:
        return tuple(found)
    # half the nearest, half spread over the others, so that another wall is seen too
    head = found[: most // 2]
    rest = found[most // 2 :]
    step = len(rest) / (most - len(head))
    return (*head, *(rest[int(k * step)] for k in range(most - len(head))))
