"""What rays meet first when they start in many places: the patches they light or see.

`designkit.scene.rays` answers for one eye and the full parts of every piece.
Here the rays start anywhere, many groups of them at once, and meet the patches
of `designkit.scene.patches`, pieces by their bounding parts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from designkit.scene.bounding import Boxes
from designkit.scene.patches import Level, Patches, Upright

__all__ = ["Met", "meet"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
_NEAR = 1e-6  # nothing nearer to its start than this is met [m]
_BLOCK = 4_000_000  # rays times boxes at a time


@dataclass(frozen=True, kw_only=True, eq=False)
class Met:
    """What each ray meets: its face (−1 none), its patch (−1 none), and how far away [m]."""

    face: Ints
    patch: Ints
    distance: Array


def _uprights(
    walls: tuple[Upright, ...], start: Array, way: Array, best: Array, face: Ints
) -> None:
    for wall in walls:
        across = np.array([-wall.along[1], wall.along[0]])
        speed = way[:, 0] * across[0] + way[:, 1] * across[1]
        t = (
            float(wall.start @ across) - (start[:, 0] * across[0] + start[:, 1] * across[1])
        ) / speed
        ray = np.flatnonzero((t > _NEAR) & (t < best))
        if not len(ray):
            continue
        t = t[ray]
        s = (start[ray, :2] - wall.start) @ wall.along + t * (way[ray, :2] @ wall.along)
        z = start[ray, 2] + t * way[ray, 2]
        on = (s >= -1e-9) & (s <= wall.length + 1e-9) & (z >= wall.base) & (z <= wall.top)
        for a, low, b, high in wall.through:
            on &= ~((s > a) & (s < b) & (z > low) & (z < high))
        best[ray[on]] = t[on]
        face[ray[on]] = wall.face


def _levels(
    levels: tuple[Level, ...], start: Array, way: Array, best: Array, face: Ints, *, single: bool
) -> None:
    for level in levels:
        t = (level.height - start[:, 2]) / way[:, 2]
        ray = np.flatnonzero((t > _NEAR) & (t < best))
        if len(ray) and not single:
            x = start[ray, 0] + t[ray] * way[ray, 0]
            y = start[ray, 1] + t[ray] * way[ray, 1]
            shapely.prepare(level.shape)
            ray = ray[shapely.intersects_xy(level.shape, x, y)]
        best[ray] = t[ray]
        face[ray] = level.face


def _candidates(
    boxes: Boxes, centre: Array, radius: Array, way: Array, used: NDArray[np.bool_] | None
) -> tuple[Ints, Ints]:
    """Which rays may meet which box: those inside the cone about its sphere."""
    to = boxes.middle[None] - centre[:, None]  # (g, b, 3)
    far = np.linalg.norm(to, axis=2)
    reach = np.linalg.norm(boxes.half, axis=1)[None] + radius[:, None]
    near = far <= reach * 1.0001
    sine = np.where(near, 1.0, reach / np.maximum(far, 1e-12))
    least = np.where(near, -2.0, np.sqrt(np.maximum(0.0, 1 - sine**2)) - 1e-6)
    if used is not None:
        least = np.where(used, least, 2.0)
    unit = (to / np.maximum(far, 1e-12)[..., None]).astype(np.float32)
    # Not a matrix product: a thousand small ones on BLAS threads wait for each other
    # longer than they work while another process is busy.
    w = way.astype(np.float32)
    across = w[:, :, None, 0] * unit[:, None, :, 0]
    across += w[:, :, None, 1] * unit[:, None, :, 1]
    across += w[:, :, None, 2] * unit[:, None, :, 2]
    group, ray, box = np.nonzero(across >= least[:, None, :].astype(np.float32) - np.float32(1e-5))
    return group * way.shape[1] + ray, box


def _meet_boxes(boxes: Boxes, start: Array, way: Array, box: Ints) -> tuple[Array, Ints]:
    """Distance to each box from outside it, infinite where it is missed, and the side."""
    away = start - boxes.middle[box]
    c, s = boxes.turn[box, 0], boxes.turn[box, 1]
    best_in = np.full(len(box), -np.inf)
    best_out = np.full(len(box), np.inf)
    side = np.zeros(len(box), dtype=np.int64)
    for axis in range(3):
        if axis == 0:
            at, speed = c * away[:, 0] + s * away[:, 1], c * way[:, 0] + s * way[:, 1]
        elif axis == 1:
            at, speed = c * away[:, 1] - s * away[:, 0], c * way[:, 1] - s * way[:, 0]
        else:
            at, speed = away[:, 2], way[:, 2]
        half = boxes.half[box, axis]
        # A ray along a face divides nought by nought; it then does not enter there.
        still = speed == 0
        speed = np.where(still, 1e-300, speed)
        middle, reach = -at / speed, half / np.abs(speed)
        enter, leave = middle - reach, middle + reach
        later = enter > best_in
        best_in = np.where(later, enter, best_in)
        side = np.where(later, 2 * axis + (speed < 0), side)
        best_out = np.minimum(best_out, leave)
    met = (best_in < best_out) & (best_in > _NEAR)
    return np.where(met, best_in, np.inf), side


def _boxes(
    boxes: Boxes,
    start: Array,
    way: Array,
    centre: Array,
    radius: Array,
    used: NDArray[np.bool_] | None,
    best: Array,
    face: Ints,
) -> None:
    """All groups at once; start and way are (g, k, 3), best and face flat."""
    ray, box = _candidates(boxes, centre, radius, way, used)
    if not len(ray):
        return
    t, side = _meet_boxes(boxes, start.reshape(-1, 3)[ray], way.reshape(-1, 3)[ray], box)
    near = np.flatnonzero(t < best[ray])
    ray, box, t, side = ray[near], box[near], t[near], side[near]
    np.minimum.at(best, ray, t)
    won = t <= best[ray]
    face[ray[won]] = boxes.first_face[box[won]] + side[won]


def meet(
    patches: Patches,
    start: Array,
    way: Array,
    *,
    without: NDArray[np.bool_] | None = None,
) -> Met:
    """What rays meet first, for groups of rays that start near each other.

    Parameters
    ----------
    patches : Patches
        From `patches_of`.
    start : array (g, k, 3) or (g, 1, 3)
        Where the rays start, g groups of k. [m]
    way : array (g, k, 3)
        Unit vectors.
    without : array (g, b) of bool, optional
        Boxes that a group does not meet.

    Returns
    -------
    Met
        For g × k rays in order.
    """
    groups, count = way.shape[:2]
    boxes = patches.boxes
    step = max(1, _BLOCK // max(1, count * max(1, len(boxes.middle))))
    faces, best = [], []
    for n in range(0, groups, step):
        w = way[n : n + step]
        begin = np.ascontiguousarray(np.broadcast_to(start[n : n + step], w.shape))
        flat, flat_way = begin.reshape(-1, 3), w.reshape(-1, 3)
        found = np.full(len(flat), np.inf)
        face = np.full(len(flat), -1, dtype=np.int64)
        # A vertical or level ray divides by zero; infinity then says "never".
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            _uprights(patches.uprights, flat, flat_way, found, face)
            _levels(patches.levels, flat, flat_way, found, face, single=patches.single)
            if len(boxes.middle):
                centre = begin.mean(axis=1)
                radius = np.linalg.norm(begin - centre[:, None], axis=2).max(axis=1)
                used = None if without is None else ~without[n : n + step]
                _boxes(boxes, begin, w, centre, radius, used, found, face)
        faces.append(face)
        best.append(found)
    face, distance = np.concatenate(faces), np.concatenate(best)
    whole = np.broadcast_to(start, way.shape).reshape(-1, 3)
    at = whole + np.where(np.isfinite(distance), distance, 0.0)[:, None] * way.reshape(-1, 3)
    return Met(face=face, patch=patches.faces.at(face, at), distance=distance)
