"""Compiled loops for the search, where numba is there; the answers are the same.

numba is an extra ("fast"): it is imported when a loop is first asked for, and
every loop here does what its counterpart in numpy does, on the same numbers
and in the same order.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Sequence
from types import ModuleType
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from designkit.plan.layouts.ground import CELL, SLACK
from designkit.plan.layouts.shapes import TOUCH, Laid, Poses
from designkit.plan.layouts.tables import NEVER
from designkit.plan.layouts.things import Thing

if TYPE_CHECKING:
    from designkit.plan.layouts.flow import Flow
    from designkit.plan.layouts.search import Clock, Found, Leaf, Sums, Why

__all__ = [
    "Opened",
    "available",
    "better_share",
    "branch_fast",
    "conflict_table",
    "foremost",
]

Ints = npt.NDArray[np.int64]
DEAD = NEVER // 2


def available() -> bool:
    """Whether numba can be imported.

    Returns
    -------
    bool
        True where the extra "fast" is installed.
    """
    return importlib.util.find_spec("numba") is not None


def _loops() -> ModuleType:
    """The compiled loops; numba is imported here and not before."""
    from designkit.plan.layouts import loops

    return loops


# --- what the rest calls ----------------------------------------------------------


def conflict_table(
    one: Thing,
    a: tuple[Laid, Laid],
    places_a: Poses,
    two: Thing,
    b: tuple[Laid, Laid],
    places_b: Poses,
) -> npt.NDArray[np.bool_]:
    """As `tables.conflicts`, over all pairs of places."""
    from designkit.plan.layouts.tables import _ignored

    out = np.zeros((len(places_a), len(places_b)), bool)
    reach = one.reach + two.reach
    runs = (
        (False, places_a, a[0], [False] * len(a[0].half_x), places_b, b[0]),
        (False, places_a, a[1], _ignored(one, two), places_b, b[0]),
        (True, places_b, b[1], _ignored(two, one), places_a, a[0]),
    )
    whole = np.ascontiguousarray
    for flip, p, first, skip, q, second in runs:
        if not len(first.half_x):
            continue
        table = whole(out.T) if flip else out
        _loops().conflicts(
            table, whole(p.x), whole(p.y), reach, whole(first.x), whole(first.y),
            whole(first.cos), whole(first.sin), first.half_x, first.half_y, first.round,
            whole(first.on), np.array(skip, dtype=np.bool_), whole(q.x), whole(q.y),
            whole(second.x), whole(second.y), whole(second.cos), whole(second.sin),
            second.half_x, second.half_y, second.round, TOUCH,
        )  # fmt: skip
        if flip:
            out = whole(table.T)
    return out


class Opened:
    """As `Flow.open`, for one set of ways.

    Parameters
    ----------
    shape : tuple of int
        Rows and columns of the grid.
    checks : sequence of (int, array, array)
        Level, and the cells at both ends of a way.
    minor : int
        The level at which pieces are reached.
    entry : array of int
        Cells of the entrance; empty where nothing need be reached.
    """

    def __init__(
        self,
        shape: tuple[int, int],
        checks: Sequence[tuple[int, Ints, Ints]],
        minor: int,
        entry: Ints,
    ) -> None:
        rows, cols = shape
        none = np.zeros(0, np.int64)
        starts, ends = [c[1] for c in checks], [c[2] for c in checks]
        self.shape = shape
        self.ways = (
            np.array([c[0] for c in checks], dtype=np.int64),
            np.cumsum([0, *map(len, starts)]).astype(np.int64),
            np.concatenate([*starts, none]),
            np.cumsum([0, *map(len, ends)]).astype(np.int64),
            np.concatenate([*ends, none]),
            minor,
            entry,
        )
        cells = rows * cols
        self.scratch = (
            np.zeros(rows + 1, np.int64),
            *(np.empty(cells, np.int64) for _ in range(3)),
            np.zeros(cells, np.uint8),
        )

    def __call__(self, blocked: npt.NDArray[np.uint8], spots: Sequence[Ints]) -> bool:
        at = np.cumsum([0, *map(len, spots)]).astype(np.int64)
        cells = np.concatenate(spots) if len(spots) else np.zeros(0, np.int64)
        found: bool = _loops().opened(blocked, *self.shape, *self.ways, at, cells, *self.scratch)
        return found


def foremost(
    sums: Sums, d: int, values: Ints, score: int, floor: int, most: int
) -> tuple[Ints, Ints]:
    """As `search.children` with `most`, before the last piece."""
    places, bounds = np.empty(sums.width, np.int64), np.empty(sums.width, np.int64)
    k = _loops().foremost(
        sums.n, d, np.array(sums.count, dtype=np.int64), sums.width, values, score, floor,
        sums.flat, sums.row_at, sums.later, sums.spare, most, places, bounds, NEVER, DEAD,
    )  # fmt: skip
    return places[:k], bounds[:k]


def better_share(table: Ints, a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """As `search._better`."""
    mine, yours = np.empty(len(a), np.int64), np.empty(len(b), np.int64)
    _loops().better(table, a, b, mine, yours, NEVER, DEAD)
    return mine, yours


def _flat(parts: list[Any], name: str) -> tuple[npt.NDArray[Any], Ints]:
    """One attribute of all bodies after one another, and where each piece begins."""
    chunks, start, at = [], [], 0
    for part in parts:
        values = getattr(part, name)
        if values.ndim == 1:
            values = np.broadcast_to(values, part.x.shape)
        chunks.append(values.ravel())
        start.append(at)
        at += values.size
    whole = np.concatenate(chunks) if chunks else np.zeros(0)
    return np.ascontiguousarray(whole), np.array(start, dtype=np.int64)


def _stacked(rooms: list[tuple[int, Laid]], count: int) -> Any:
    """Rooms of one piece side by side, as one set of shapes."""

    class _Side:
        x = np.zeros((count, 0))
        y = cos = sin = half_x = half_y = x

    side = _Side()
    if rooms:
        for name in ("x", "y", "cos", "sin"):
            setattr(side, name, np.concatenate([getattr(r, name) for _, r in rooms], axis=1))
        for name in ("half_x", "half_y"):
            wide = np.concatenate([getattr(r, name) for _, r in rooms])
            setattr(side, name, np.broadcast_to(wide, side.x.shape))
    return side


def branch_fast(
    sums: Sums,
    flow: Flow,
    leaf: Leaf,
    *,
    why: Why | None = None,
    start: Found,
    nodes: int,
    clock: Clock,
) -> Found:
    """As `search.branch`.

    Parameters
    ----------
    sums : Sums
        The tables laid out.
    flow : Flow
        Floods.
    leaf : callable
        Decides a whole layout by exact geometry.
    why : callable, optional
        Says how much of a layout that was turned down is to blame.
    start : Found
        A first layout, or none.
    nodes : int
        How many nodes at most.
    clock : Clock
        When to stop.

    Returns
    -------
    Found
        The same as `search.branch` gives.
    """
    from designkit.plan.layouts.search import MORE

    found, n, width = start, sums.n, sums.width
    cells = flow.start.shape[1]
    ground = flow.ground
    counts = np.array(sums.count, dtype=np.int64)
    rows, row_at = sums.flat, sums.row_at
    values = np.full((n + 1, n, width), NEVER, np.int64)
    values[0] = sums.own
    places, bounds = np.zeros((n, width), np.int64), np.zeros((n, width), np.int64)
    at, total_of = np.zeros(n, np.int64), np.zeros(n, np.int64)
    score, chosen = np.zeros(n + 1, np.int64), np.zeros(n, np.int64)
    blocked = np.zeros((n + 1, len(flow.levels), cells), np.uint8)
    blocked[0] = flow.start
    top = np.zeros(n, np.int64)
    has = found.places is not None
    if found.places is not None:
        top[:] = found.places
    best = found.score if has else DEAD
    scratch = np.zeros(width, np.int64)
    names = ("x", "y", "cos", "sin", "half_x", "half_y")
    bodies = {name: _flat(flow.bodies, name) for name in (*names, "round")}
    sides = [_stacked(rooms, len(poses)) for rooms, poses in zip(flow.rooms, flow.tables.poses)]
    rooms = {name: _flat(sides, name) for name in names}
    room_n = np.array([len(r) for r in flow.rooms], dtype=np.int64)
    room_variant = np.full((n, max(1, int(room_n.max(initial=0)))), -1, np.int64)
    absent = np.zeros((n, width), np.bool_)
    variant = np.full((n, width), -2, np.int64)
    for i in range(n):
        room_variant[i, : room_n[i]] = [number for number, _ in flow.rooms[i]]
        variant[i, : len(flow.tables.poses[i])] = flow.tables.poses[i].variant
        absent[i, len(flow.tables.poses[i]) :] = True
    levels = np.array(flow.levels)
    check_level = np.array([c[0] for c in flow.checks], dtype=np.int64)
    starts, ends = [c[1] for c in flow.checks], [c[2] for c in flow.checks]
    check_start_at = np.cumsum([0, *map(len, starts)]).astype(np.int64)
    check_end_at = np.cumsum([0, *map(len, ends)]).astype(np.int64)
    none = np.zeros(0, np.int64)
    args = (
        levels, np.array(flow.shape, dtype=np.int64),
        np.array([ground.grid.x0, ground.grid.y0]), CELL, SLACK, flow.minor,
        bodies["x"][1], bodies["x"][0], bodies["y"][0], bodies["cos"][0], bodies["sin"][0],
        bodies["half_x"][0], bodies["half_y"][0], bodies["round"][0].astype(np.bool_),
        np.array([len(b.half_x) for b in flow.bodies], dtype=np.int64), absent,
        rooms["x"][1], rooms["x"][0], rooms["y"][0], rooms["cos"][0], rooms["sin"][0],
        rooms["half_x"][0], rooms["half_y"][0], room_n, room_variant, variant,
        check_level, check_start_at, np.concatenate([*starts, none]), check_end_at,
        np.concatenate([*ends, none]), flow.entry, np.zeros(cells, np.uint8),
        np.zeros(flow.shape[0] + 1, np.int64), np.empty(cells, np.int64),
        np.empty(cells, np.int64), np.empty(cells, np.int64), scratch, NEVER, DEAD,
    )  # fmt: skip
    kids = _loops().children
    total_of[0] = kids(
        n, 0, counts, width, values[0], 0, best, rows, row_at, sums.later, sums.spare, places[0],
        bounds[0], scratch, NEVER, DEAD,
    )  # fmt: skip
    state = np.array([0, 0, int(has), best, found.deepest, 0], dtype=np.int64)
    advance = _loops().advance
    used = 0
    while True:
        limit = nodes if state[2] else MORE * nodes
        budget = min(limit, (used // 256 + 1) * 256)
        code = advance(
            n, counts, width, rows, row_at, sums.later, sums.spare, values, places,
            bounds, total_of, at, score, chosen, blocked, state, top, budget, *args,
        )  # fmt: skip
        used = int(state[1])
        if code == 0:
            break
        if code == 2:
            if used >= limit or clock.over():
                break
            continue
        found.leaves += 1
        whole = tuple(int(p) for p in chosen)
        if leaf(whole):
            found.places, found.score = whole, int(score[n])
            state[2], state[3] = 1, found.score
            top[:] = whole
        else:
            found.turned_down += 1
            if why is not None:
                blame = why(whole)
                sums.learn(blame, whole)
                if blame.one >= 0 and blame.one == blame.two:
                    values[0, blame.one, whole[blame.one]] = NEVER
                state[0] = min(int(state[0]), blame.depth - 1)
    flow.floods += int(state[5])
    found.nodes += used
    found.deepest = max(found.deepest, int(state[4]))
    depth = int(state[0])
    found.proven = depth < 0
    if found.proven:
        found.bound = found.score
    else:
        best = int(state[3])
        left = [int(bounds[d, at[d]]) for d in range(depth + 1) if at[d] < total_of[d]]
        found.bound = max([best, *left])
    return found
