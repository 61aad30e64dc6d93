"""Whether ways stay open: a flood over the grid that only ever errs to the open side.

The grid refuses a place only where its width plus 0.071 m is less than what
is required; what it lets pass is decided by exact geometry (`leaf`).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import scipy.ndimage  # type: ignore[import-untyped]

from designkit.plan.layouts.ground import CELL, SLACK, Ground
from designkit.plan.layouts.shapes import Laid, clearance_below, laid
from designkit.plan.layouts.tables import Tables

if TYPE_CHECKING:
    from designkit.plan.layouts.kernels import Opened

__all__ = ["Flow"]

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

_CROSS = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]])


def _known(labels: npt.NDArray[np.int32], seeds: Ints) -> Bools:
    """Which parts of the floor hold a seed; what is closed is part 0 and holds none."""
    known = np.zeros(int(labels.max()) + 1, bool)
    known[labels[seeds]] = True
    known[0] = False
    return known


class Flow:
    """Floods for one set of tables: what each place closes, and from where it is used.

    Parameters
    ----------
    tables : Tables
        Gives pieces and places.
    ground : Ground
        The space.
    fast : bool, optional
        Flood with compiled loops; the answers are the same.
    """

    def __init__(self, tables: Tables, ground: Ground, *, fast: bool = False) -> None:
        self.ground = ground
        self.tables = tables
        self.levels = ground.levels
        grid = ground.grid
        self.shape = (grid.rows, grid.cols)
        self.start = np.stack([s.ravel() for s in ground.shut]).astype(np.uint8)
        self._masks: dict[tuple[int, int], npt.NDArray[np.uint8]] = {}
        self._uses: dict[tuple[int, int], list[Ints]] = {}
        self.minor = ground.levels.index(ground.minor)
        entrance = ground.entrance
        self.entry = (
            ground.seeds.get(f"way {entrance.id}", np.zeros(0, np.int64))
            if entrance is not None
            else np.zeros(0, np.int64)
        )
        if len(self.entry) and (self.start[self.minor][self.entry] != 0).all():
            self.entry = np.zeros(0, np.int64)  # the building itself shuts the entrance
        self.checks: list[tuple[int, Ints, Ints]] = []
        for need in ground.needs:
            if need.width <= 1e-6 or need.start_at is None or need.end_at is None:
                continue
            self.checks.append(
                (
                    ground.levels.index(need.level),
                    ground.seeds[f"start {need.id}"],
                    ground.seeds[f"end {need.id}"],
                )
            )
        self.bodies = [laid(thing.body, poses) for thing, poses in zip(tables.things, tables.poses)]
        self.rooms: list[list[tuple[int, Laid]]] = []
        for thing, poses in zip(tables.things, tables.poses):
            here = []
            for number, rooms in enumerate(thing.variants):
                for room in rooms:
                    if room.reached:
                        here.append((number, laid([room.shape], poses)))
            self.rooms.append(here)
        self.floods = 0
        self.kernel: Opened | None = None
        if fast:
            from designkit.plan.layouts import kernels

            self.kernel = kernels.Opened(self.shape, self.checks, self.minor, self.entry)

    def _window(self, x: float, y: float, reach: float) -> tuple[slice, slice, Array, Array]:
        grid = self.ground.grid
        c0 = max(0, int(np.floor((x - reach - grid.x0) / CELL)))
        c1 = min(grid.cols, int(np.ceil((x + reach - grid.x0) / CELL)) + 1)
        r0 = max(0, int(np.floor((y - reach - grid.y0) / CELL)))
        r1 = min(grid.rows, int(np.ceil((y + reach - grid.y0) / CELL)) + 1)
        gx = np.asarray(grid.x0 + CELL * np.arange(c0, max(c0, c1))[None, :], dtype=np.float64)
        gy = np.asarray(grid.y0 + CELL * np.arange(r0, max(r0, r1))[:, None], dtype=np.float64)
        return slice(r0, max(r0, r1)), slice(c0, max(c0, c1)), gx, gy

    def mask(self, i: int, p: int) -> npt.NDArray[np.uint8]:
        """Cells that a piece in one place closes, a level a row."""
        key = (i, p)
        if key not in self._masks:
            out = np.zeros((len(self.levels), *self.shape), bool)
            if not self.tables.absent(i, p):
                body = self.bodies[i]
                for k in range(len(body.half_x)):
                    for level, width in enumerate(self.levels):
                        reach = max(0.0, (width - SLACK) / 2)
                        far = float(np.hypot(body.half_x[k], body.half_y[k])) + reach
                        rows, cols, gx, gy = self._window(
                            float(body.x[p, k]), float(body.y[p, k]), far
                        )
                        out[level, rows, cols] |= clearance_below(body, p, k, gx, gy, reach)
            self._masks[key] = out.reshape(len(self.levels), -1).astype(np.uint8)
        return self._masks[key]

    def uses(self, i: int, p: int) -> list[Ints]:
        """Cells from which each floor that a piece is used from is reached."""
        key = (i, p)
        if key not in self._uses:
            found: list[Ints] = []
            if not self.tables.absent(i, p):
                variant = int(self.tables.poses[i].variant[p])
                reach = self.ground.minor / 2 + CELL
                for number, room in self.rooms[i]:
                    if number != variant:
                        continue
                    far = float(np.hypot(room.half_x[0], room.half_y[0])) + reach
                    rows, cols, gx, gy = self._window(float(room.x[p, 0]), float(room.y[p, 0]), far)
                    hit = np.zeros(self.shape, bool)
                    hit[rows, cols] = clearance_below(room, p, 0, gx, gy, reach)
                    hit &= self.ground.grid.inside
                    found.append(np.flatnonzero(hit).astype(np.int64))
            self._uses[key] = found
        return self._uses[key]

    def _labels(self, blocked: npt.NDArray[np.uint8]) -> npt.NDArray[np.int32]:
        labels, _ = scipy.ndimage.label(blocked.reshape(self.shape) == 0, _CROSS)
        out: npt.NDArray[np.int32] = labels.ravel()
        return out

    def child(
        self, blocked: npt.NDArray[np.uint8], chosen: Sequence[int], i: int, p: int
    ) -> npt.NDArray[np.uint8] | None:
        """Add a piece; None where a way is then closed.

        Parameters
        ----------
        blocked : array of uint8
            Closed cells before, a level a row.
        chosen : sequence of int
            Places of the pieces before this one.
        i, p : int
            The piece and its place.

        Returns
        -------
        array or None
            Closed cells after.
        """
        after = blocked | self.mask(i, p)
        self.floods += 1
        if not self.checks and not len(self.entry):
            return after
        spots = [cells for k, place in enumerate((*chosen, p)) for cells in self.uses(k, place)]
        return after if self.open(after, spots) else None

    def whole(self, places: Sequence[int]) -> bool:
        """Whether all ways are open with every piece in its place."""
        blocked = self.start.copy()
        for i, p in enumerate(places):
            blocked |= self.mask(i, p)
        self.floods += 1
        if not self.checks and not len(self.entry):
            return True
        return self.open(blocked, [c for i, p in enumerate(places) for c in self.uses(i, p)])

    def open(self, blocked: npt.NDArray[np.uint8], spots: Sequence[Ints]) -> bool:
        """Whether all ways are open and all spots are reached from the entrance."""
        if self.kernel is not None:
            return self.kernel(blocked, spots)
        done: dict[int, npt.NDArray[np.int32]] = {}
        for level, start, end in self.checks:
            if level not in done:
                done[level] = self._labels(blocked[level])
            labels = done[level]
            if not _known(labels, start)[labels[end]].any():
                return False
        if len(self.entry):
            level = self.minor
            labels = done[level] if level in done else self._labels(blocked[level])
            known = _known(labels, self.entry)
            for cells in spots:
                if not known[labels[cells]].any():
                    return False
        return True
