"""Lengths of ways on the grid, for the terms of the whole layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import scipy.sparse  # type: ignore[import-untyped]
import scipy.sparse.csgraph  # type: ignore[import-untyped]
import shapely

from designkit.plan.layouts.ground import CELL, SLACK, Ground, Need
from designkit.plan.place import Placed
from designkit.plan.space import obstacles

__all__ = ["bare_length", "lengths_on_grid"]

Bytes = npt.NDArray[np.bool_]


class _Net:
    """Free cells joined to their neighbours, for the ways of one width."""

    def __init__(self, ground: Ground, blocked: Bytes) -> None:
        grid = ground.grid
        free = ~blocked
        number = np.full(free.shape, -1, np.int64)
        number[free] = np.arange(int(free.sum()))
        rows: list[npt.NDArray[np.int64]] = []
        cols: list[npt.NDArray[np.int64]] = []
        cost: list[npt.NDArray[np.float64]] = []
        for dr, dc in ((0, 1), (1, 0), (1, 1), (1, -1), (1, 2), (2, 1), (1, -2), (2, -1)):
            a = number[: grid.rows - dr, max(0, -dc) : grid.cols - max(0, dc)]
            b = number[dr:, max(0, dc) : grid.cols + min(0, dc)]
            both = (a >= 0) & (b >= 0)
            rows.append(a[both])
            cols.append(b[both])
            cost.append(np.full(int(both.sum()), CELL * float(np.hypot(dr, dc))))
        total = int(free.sum())
        self.number = number.ravel()
        self.graph = scipy.sparse.coo_matrix(
            (np.concatenate(cost), (np.concatenate(rows), np.concatenate(cols))),
            shape=(total, total),
        ).tocsr()

    def length(self, ground: Ground, need: Need) -> float | None:
        """The shortest way over free cells from the first place to the second [m]."""
        start = self.number[ground.seeds[f"start {need.id}"]]
        end = self.number[ground.seeds[f"end {need.id}"]]
        start, end = start[start >= 0], end[end >= 0]
        if not len(start) or not len(end):
            return None
        away = scipy.sparse.csgraph.dijkstra(
            self.graph, directed=False, indices=start, min_only=True
        )
        best = float(away[end].min())
        return best if np.isfinite(best) else None


def _level(ground: Ground, need: Need) -> Bytes | None:
    if need.start_at is None or need.end_at is None or need.width <= 1e-6:
        return None
    return ground.shut[ground.levels.index(need.level)]


def bare_length(ground: Ground, need: Need) -> float | None:
    """Length of a way in the empty room.

    Parameters
    ----------
    ground : Ground
        The space.
    need : Need
        The way.

    Returns
    -------
    float or None
        None where there is none. [m]
    """
    kept = ground.kept
    key = f"bare {need.id}"
    if key not in kept:
        blocked = _level(ground, need)
        kept[key] = None if blocked is None else _Net(ground, blocked).length(ground, need)
    found: float | None = kept[key]
    return found


def lengths_on_grid(
    ground: Ground, needs: Sequence[Need], placed: Mapping[str, Placed]
) -> list[float | None]:
    """Lengths of ways past the pieces of a layout.

    Parameters
    ----------
    ground : Ground
        The space.
    needs : sequence of Need
        The ways.
    placed : mapping of str to Placed
        Pieces, in the home's frame.

    Returns
    -------
    list of float or None
        None where the grid shows none. [m]
    """
    shapes = [
        ground.frame.shape(shape)
        for id, shape in obstacles(ground.space, placed, overrides=ground.rules)
        if id in placed
    ]
    taken = shapely.union_all(shapes) if shapes else None
    nets: dict[float, _Net] = {}
    out: list[float | None] = []
    for need in needs:
        blocked = _level(ground, need)
        if blocked is None:
            out.append(None)
            continue
        if need.level not in nets:
            if taken is not None:
                grown = taken.buffer(max(0.0, (need.level - SLACK) / 2), quad_segs=8)
                shapely.prepare(grown)
                centres = ground.grid.centres
                hit = shapely.contains_xy(grown, centres[:, 0], centres[:, 1])
                blocked = blocked | hit.reshape(blocked.shape)
            nets[need.level] = _Net(ground, blocked)
        out.append(nets[need.level].length(ground, need))
    return out
