"""Compiled loops for the search, where numba is there; the answers are the same.

numba is an extra ("fast"): it is imported when a loop is first asked for, and
every loop here does what its counterpart in numpy does, on the same numbers
and in the same order.
"""

from __future__ import annotations

import functools
import importlib.util
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from designkit.plan.layouts.ground import CELL, SLACK
from designkit.plan.layouts.shapes import TOUCH, Laid, Poses
from designkit.plan.layouts.tables import NEVER
from designkit.plan.layouts.things import Thing

if TYPE_CHECKING:
    from designkit.plan.layouts.flow import Flow
    from designkit.plan.layouts.search import Clock, Found, Leaf, Sums

__all__ = ["available", "better_share", "branch_fast", "conflict_table", "flood"]

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


@functools.cache
def _compiled(name: str) -> Callable[..., Any]:
    import numba

    made: Callable[..., Any] = numba.njit(cache=True, error_model="numpy")(_LOOPS[name])
    return made


def _inner(name: str) -> Callable[..., Any]:
    return _compiled(name)


# --- loops: plain Python that numba compiles --------------------------------------


def _meets(ax, ay, ac, as_, ahx, ahy, ar, bx, by, bc, bs, bhx, bhy, br, touch):  # type: ignore[no-untyped-def]
    dx, dy = bx - ax, by - ay
    if ar and br:
        return np.hypot(dx, dy) < ahx + bhx - touch
    if ar or br:
        if ar:
            c, s, radius, hx, hy = bc, bs, ahx, bhx, bhy
        else:
            c, s, radius, hx, hy = ac, as_, bhx, ahx, ahy
        u = max(abs(dx * c + dy * s) - hx, 0.0)
        v = max(abs(dy * c - dx * s) - hy, 0.0)
        return u * u + v * v < (radius - touch) ** 2
    rc, rs = abs(ac * bc + as_ * bs), abs(ac * bs - as_ * bc)
    if not abs(dx * ac + dy * as_) < ahx + bhx * rc + bhy * rs - touch:
        return False
    if not abs(dy * ac - dx * as_) < ahy + bhx * rs + bhy * rc - touch:
        return False
    if not abs(dx * bc + dy * bs) < bhx + ahx * rc + ahy * rs - touch:
        return False
    return abs(dy * bc - dx * bs) < bhy + ahx * rs + ahy * rc - touch


def _conflicts(  # type: ignore[no-untyped-def]
    meets, out, x, y, reach, ax, ay, ac, as_, ahx, ahy, ar, aon, askip, u, v, bx, by, bc, bs, bhx,
    bhy, br, touch
):  # fmt: skip
    for i in range(out.shape[0]):
        for j in range(out.shape[1]):
            if out[i, j]:
                continue
            dx, dy = u[j] - x[i], v[j] - y[i]
            if not dx * dx + dy * dy < reach * reach:
                continue
            for s in range(ahx.shape[0]):
                if askip[s] or not aon[i, s]:
                    continue
                for t in range(bhx.shape[0]):
                    if meets(
                        ax[i, s], ay[i, s], ac[i, s], as_[i, s], ahx[s], ahy[s], ar[s],
                        bx[j, t], by[j, t], bc[j, t], bs[j, t], bhx[t], bhy[t], br[t], touch,
                    ):  # fmt: skip
                        out[i, j] = True
                        break
                if out[i, j]:
                    break


def _flood(blocked, rows, cols, seeds, reached, queue):  # type: ignore[no-untyped-def]
    head = tail = 0
    for k in range(seeds.shape[0]):
        cell = seeds[k]
        if not blocked[cell] and not reached[cell]:
            reached[cell] = 1
            queue[tail] = cell
            tail += 1
    while head < tail:
        cell = queue[head]
        head += 1
        c = cell % cols
        if c > 0 and not blocked[cell - 1] and not reached[cell - 1]:
            reached[cell - 1] = 1
            queue[tail] = cell - 1
            tail += 1
        if c < cols - 1 and not blocked[cell + 1] and not reached[cell + 1]:
            reached[cell + 1] = 1
            queue[tail] = cell + 1
            tail += 1
        if cell >= cols and not blocked[cell - cols] and not reached[cell - cols]:
            reached[cell - cols] = 1
            queue[tail] = cell - cols
            tail += 1
        if cell < (rows - 1) * cols and not blocked[cell + cols] and not reached[cell + cols]:
            reached[cell + cols] = 1
            queue[tail] = cell + cols
            tail += 1
    return tail


def _runs(blocked, rows, cols, at, begin, end, parent):  # type: ignore[no-untyped-def]
    """Runs of free cells, joined with those of the row before; returns how many."""
    m = 0
    at[0] = 0
    for r in range(rows):
        base = r * cols
        above, last = (at[r - 1], at[r]) if r else (0, 0)
        c = 0
        while c < cols:
            if blocked[base + c]:
                c += 1
                continue
            first = c
            while c < cols and not blocked[base + c]:
                c += 1
            begin[m], end[m], parent[m] = first, c, m
            while above < last and end[above] <= first:
                above += 1
            k = above
            while k < last and begin[k] < c:
                one, two = m, k
                while parent[one] != one:
                    parent[one] = parent[parent[one]]
                    one = parent[one]
                while parent[two] != two:
                    parent[two] = parent[parent[two]]
                    two = parent[two]
                if one < two:
                    parent[two] = one
                else:
                    parent[one] = two
                k += 1
            m += 1
        at[r + 1] = m
    return m


def _root(cell, cols, at, begin, end, parent):  # type: ignore[no-untyped-def]
    """The part that a cell belongs to; -1 where it is closed."""
    r = cell // cols
    c = cell - r * cols
    for k in range(at[r], at[r + 1]):
        if begin[k] <= c < end[k]:
            while parent[k] != k:
                k = parent[k]
            return k
    return -1


def _better(table, a, b, mine, yours, never, dead):  # type: ignore[no-untyped-def]
    n, m = table.shape
    top_b = np.full(m, 4 * never, np.int64)
    for i in range(n):
        top = 4 * never
        for j in range(m):
            left = table[i, j] + b[j]
            top = max(top, left)
            right = table[i, j] + a[i]
            top_b[j] = max(top_b[j], right)
        mine[i] = never if top <= dead or a[i] <= dead else -((a[i] - top) // 2)
    for j in range(m):
        top = top_b[j]
        yours[j] = never if top <= dead or b[j] <= dead else -((b[j] - top) // 2)


def _clear(x, y, cx, cy, c, s, hx, hy, disc, reach):  # type: ignore[no-untyped-def]
    dx, dy = x - cx, y - cy
    if disc:
        r = hx + reach
        return dx * dx + dy * dy < r * r
    u = max(abs(dx * c + dy * s) - hx, 0.0)
    v = max(abs(dy * c - dx * s) - hy, 0.0)
    return u * u + v * v < reach * reach


def _children(n, d, counts, width, values, score, floor, rows, row_at, later, spare, places, bounds, scratch, never, dead):  # type: ignore[no-untyped-def]  # fmt: skip
    """As `search.children`; returns how many there are."""
    count = counts[d]
    if d == n - 1:
        k = 0
        for p in range(count):
            if values[d, p] > dead and score + values[d, p] >= floor:
                places[k] = p
                scratch[k] = score + values[d, p]
                k += 1
    else:
        rest = np.int64(0)
        for other in range(d + 1, n):
            top = 4 * never
            for q in range(width):
                top = max(top, values[other, q] + later[d, other, q])
            if top <= dead:
                return 0
            rest += top
        k = 0
        for p in range(count):
            here = values[d, p] + later[d, d, p]
            if values[d, p] <= dead and here <= dead:
                continue
            quick = score + here + rest + spare[d]
            if here <= dead or quick < floor:
                continue
            total = score + values[d, p] + spare[d + 1]
            alive = True
            for other in range(d + 1, n):
                top = 4 * never
                start = row_at[d] + (p * (n - d - 1) + (other - d - 1)) * width
                for q in range(width):
                    top = max(top, values[other, q] + rows[start + q] + later[d + 1, other, q])
                if top <= dead:
                    alive = False
                    break
                total += top
            if not alive:
                continue
            total = min(total, quick)
            if total >= floor:
                places[k] = p
                scratch[k] = total
                k += 1
    order = np.argsort(-scratch[:k], kind="mergesort")
    kept = places[:k].copy()
    for i in range(k):
        places[i] = kept[order[i]]
        bounds[i] = scratch[order[i]]
    return k


def _advance(  # type: ignore[no-untyped-def]
    runs, root, clear, children, n, counts, width, rows, row_at, later, spare, values, places, bounds, total_of, at,
    score, chosen, blocked, state, top, budget, levels, shape, origin, cell, slack, minor,
    body_from, body_x, body_y, body_c, body_s, body_hx, body_hy, body_r, body_n, absent,
    room_from, room_x, room_y, room_c, room_s, room_hx, room_hy, room_n, room_variant, variant,
    check_level, check_start_at, check_start, check_end_at, check_end, entry, reached,
    run_at, begin, end, parent, scratch, never, dead,
):  # fmt: skip
    """Go on until a whole layout, the end, or the budget; returns 1, 0 or 2.

    state: depth, used, has a best, best, deepest, floods.
    """
    nrows, ncols = shape[0], shape[1]
    while state[0] >= 0:
        d = state[0]
        k = at[d]
        if k >= total_of[d]:
            state[0] -= 1
            continue
        p = places[d, k]
        bound = bounds[d, k]
        if bound < state[3]:
            state[0] -= 1
            continue
        if state[1] >= budget:
            return 2
        at[d] = k + 1
        if bound == state[3] and state[2]:
            # At most equal: only lower places may still win.
            higher = False
            decided = False
            for e in range(d):
                if chosen[e] != top[e]:
                    higher = chosen[e] > top[e]
                    decided = True
                    break
            if not decided:
                higher = p > top[d]
            if higher:
                continue
        state[1] += 1
        chosen[d] = p
        # What the piece closes.
        for level in range(levels.shape[0]):
            for c in range(blocked.shape[2]):
                blocked[d + 1, level, c] = blocked[d, level, c]
        if not absent[d, p]:
            for s in range(body_n[d]):
                b = body_from[d] + p * body_n[d] + s
                for level in range(levels.shape[0]):
                    reach = max(0.0, (levels[level] - slack) / 2)
                    far = np.hypot(body_hx[b], body_hy[b]) + reach
                    c0 = max(0, int(np.floor((body_x[b] - far - origin[0]) / cell)))
                    c1 = min(ncols, int(np.ceil((body_x[b] + far - origin[0]) / cell)) + 1)
                    r0 = max(0, int(np.floor((body_y[b] - far - origin[1]) / cell)))
                    r1 = min(nrows, int(np.ceil((body_y[b] + far - origin[1]) / cell)) + 1)
                    for r in range(r0, r1):
                        y = origin[1] + cell * r
                        for c in range(c0, c1):
                            x = origin[0] + cell * c
                            if clear(x, y, body_x[b], body_y[b], body_c[b], body_s[b], body_hx[b],
                                     body_hy[b], body_r[b], reach):  # fmt: skip
                                blocked[d + 1, level, r * ncols + c] = 1
        state[5] += 1
        ok = True
        done = -1
        for check in range(check_level.shape[0]):
            level = check_level[check]
            if level != done:
                runs(blocked[d + 1, level], nrows, ncols, run_at, begin, end, parent)
                done = level
            hit = False
            for e in range(check_start_at[check], check_start_at[check + 1]):
                part = root(check_start[e], ncols, run_at, begin, end, parent)
                if part >= 0:
                    reached[part] = 1
            for e in range(check_end_at[check], check_end_at[check + 1]):
                part = root(check_end[e], ncols, run_at, begin, end, parent)
                if part >= 0 and reached[part]:
                    hit = True
                    break
            for e in range(check_start_at[check], check_start_at[check + 1]):
                part = root(check_start[e], ncols, run_at, begin, end, parent)
                if part >= 0:
                    reached[part] = 0
            if not hit:
                ok = False
                break
        if ok and entry.shape[0]:
            if done != minor:
                runs(blocked[d + 1, minor], nrows, ncols, run_at, begin, end, parent)
            for e in range(entry.shape[0]):
                part = root(entry[e], ncols, run_at, begin, end, parent)
                if part >= 0:
                    reached[part] = 1
            reach = levels[minor] / 2 + cell
            for e in range(d + 1):
                q = chosen[e]
                if absent[e, q]:
                    continue
                for s in range(room_n[e]):
                    if room_variant[e, s] != variant[e, q]:
                        continue
                    b = room_from[e] + q * room_n[e] + s
                    far = np.hypot(room_hx[b], room_hy[b]) + reach
                    c0 = max(0, int(np.floor((room_x[b] - far - origin[0]) / cell)))
                    c1 = min(ncols, int(np.ceil((room_x[b] + far - origin[0]) / cell)) + 1)
                    r0 = max(0, int(np.floor((room_y[b] - far - origin[1]) / cell)))
                    r1 = min(nrows, int(np.ceil((room_y[b] + far - origin[1]) / cell)) + 1)
                    hit = False
                    for r in range(r0, r1):
                        y = origin[1] + cell * r
                        for k in range(run_at[r], run_at[r + 1]):
                            low, high = max(begin[k], c0), min(end[k], c1)
                            if low >= high:
                                continue
                            part = k
                            while parent[part] != part:
                                part = parent[part]
                            if not reached[part]:
                                continue
                            for c in range(low, high):
                                if clear(
                                    origin[0] + cell * c, y, room_x[b], room_y[b], room_c[b],
                                    room_s[b], room_hx[b], room_hy[b], False, reach,
                                ):  # fmt: skip
                                    hit = True
                                    break
                            if hit:
                                break
                        if hit:
                            break
                    if not hit:
                        ok = False
                        break
                if not ok:
                    break
            for e in range(entry.shape[0]):
                part = root(entry[e], ncols, run_at, begin, end, parent)
                if part >= 0:
                    reached[part] = 0
        if not ok:
            continue
        state[4] = max(state[4], d + 1)
        gained = score[d] + values[d, d, p]
        if d == n - 1:
            score[n] = gained
            return 1
        for other in range(d + 1, n):
            start = row_at[d] + (p * (n - d - 1) + (other - d - 1)) * width
            for q in range(width):
                values[d + 1, other, q] = max(values[d, other, q] + rows[start + q], never)
        score[d + 1] = gained
        found = children(n, d + 1, counts, width, values[d + 1], gained, state[3], rows, row_at,
                         later, spare, places[d + 1], bounds[d + 1], scratch, never, dead)  # fmt: skip
        if found:
            total_of[d + 1] = found
            at[d + 1] = 0
            state[0] += 1
    return 0


_LOOPS: dict[str, Callable[..., Any]] = {
    "meets": _meets,
    "conflicts": _conflicts,
    "flood": _flood,
    "root": _root,
    "runs": _runs,
    "better": _better,
    "clear": _clear,
    "children": _children,
    "advance": _advance,
}


# --- what the rest calls ----------------------------------------------------------


def conflict_table(
    one: Thing, a: tuple[Laid, Laid], places_a: Poses, two: Thing, b: tuple[Laid, Laid], places_b: Poses
) -> npt.NDArray[np.bool_]:
    """As `tables.conflicts`, over all pairs of places."""
    from designkit.plan.layouts.tables import _ignored

    out = np.zeros((len(places_a), len(places_b)), bool)
    reach = one.reach + two.reach
    meets, loop = _compiled("meets"), _compiled("conflicts")
    runs = (
        (out, places_a, a[0], [False] * len(a[0].half_x), places_b, b[0]),
        (out, places_a, a[1], _ignored(one, two), places_b, b[0]),
        (out.T, places_b, b[1], _ignored(two, one), places_a, a[0]),
    )
    for table, p, first, skip, q, second in runs:
        if not len(first.half_x):
            continue
        loop(
            meets, table, p.x, p.y, reach,
            first.x, first.y, first.cos, first.sin, first.half_x, first.half_y, first.round,
            first.on, np.array(skip, dtype=np.bool_), q.x, q.y,
            second.x, second.y, second.cos, second.sin, second.half_x, second.half_y,
            second.round, TOUCH,
        )  # fmt: skip
    return out


def flood(
    blocked: npt.NDArray[np.uint8], rows: int, cols: int, seeds: Ints
) -> npt.NDArray[np.uint8]:
    """Cells that are reached from the seeds over free ones."""
    reached = np.zeros(rows * cols, np.uint8)
    _compiled("flood")(blocked, rows, cols, seeds, reached, np.empty(rows * cols, np.int64))
    return reached


def better_share(table: Ints, a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """As `search._better`."""
    mine, yours = np.empty(len(a), np.int64), np.empty(len(b), np.int64)
    _compiled("better")(table, a, b, mine, yours, NEVER, DEAD)
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
    sums: Sums, flow: Flow, leaf: Leaf, *, start: Found, nodes: int, clock: Clock
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
    found, n, width = start, sums.n, sums.width
    cells = flow.start.shape[1]
    ground = flow.ground
    counts = np.array(sums.count, dtype=np.int64)
    rows = np.concatenate([row.ravel() for row in sums.rows])
    row_at = np.cumsum([0, *(row.size for row in sums.rows[:-1])]).astype(np.int64)
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
    bodies = {name: _flat(flow.bodies, name) for name in ("x", "y", "cos", "sin", "half_x", "half_y", "round")}  # fmt: skip
    sides = [
        _stacked(rooms, len(poses)) for rooms, poses in zip(flow.rooms, flow.tables.poses)
    ]
    rooms = {name: _flat(sides, name) for name in ("x", "y", "cos", "sin", "half_x", "half_y")}
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
    kids = _compiled("children")
    total_of[0] = kids(
        n, 0, counts, width, values[0], 0, best, rows, row_at, sums.later, sums.spare, places[0],
        bounds[0], scratch, NEVER, DEAD,
    )  # fmt: skip
    state = np.array([0, 0, int(has), best, found.deepest, 0], dtype=np.int64)
    advance = _compiled("advance")
    inner = (_compiled("runs"), _compiled("root"), _compiled("clear"), kids)
    used = 0
    while True:
        budget = min(nodes, (used // 256 + 1) * 256)
        code = advance(
            *inner, n, counts, width, rows, row_at, sums.later, sums.spare, values, places,
            bounds, total_of, at, score, chosen, blocked, state, top, budget, *args,
        )  # fmt: skip
        used = int(state[1])
        if code == 0:
            break
        if code == 2:
            if used >= nodes or clock.over():
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
