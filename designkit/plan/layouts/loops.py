"""The loops that numba compiles; imported by `kernels` when one is first asked for.

Each does what its counterpart in numpy does, on the same numbers and in the
same order. Without numba they are plain Python, slow and right.
"""

# mypy: disable-error-code="no-untyped-def, no-untyped-call, untyped-decorator"

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

numba: Any
try:
    import numba
except ImportError:  # the extra is not installed
    numba = None

__all__ = [
    "advance",
    "better",
    "children",
    "clear",
    "conflicts",
    "foremost",
    "meets",
    "opened",
    "root",
    "runs",
]


def _njit(function: Callable[..., Any]) -> Callable[..., Any]:
    if numba is None:
        return function
    made: Callable[..., Any] = numba.njit(cache=True, error_model="numpy")(function)
    return made


@_njit
def meets(ax, ay, ac, as_, ahx, ahy, ar, bx, by, bc, bs, bhx, bhy, br, touch):
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


@_njit
def conflicts(
    out, x, y, reach, ax, ay, ac, as_, ahx, ahy, ar, aon, askip, u, v, bx, by, bc, bs, bhx,
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


@_njit
def runs(blocked, rows, cols, at, begin, end, parent):
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


@_njit
def root(cell, cols, at, begin, end, parent):
    """The part that a cell belongs to; -1 where it is closed."""
    r = cell // cols
    c = cell - r * cols
    for k in range(at[r], at[r + 1]):
        if begin[k] <= c < end[k]:
            while parent[k] != k:
                k = parent[k]
            return k
    return -1


@_njit
def opened(
    blocked, rows, cols, check_level, check_start_at, check_start, check_end_at, check_end, minor,
    entry, spot_at, spots, at, begin, end, parent, reached,
):  # fmt: skip
    """Whether all ways are open and every spot is reached, by the parts of the free floor."""
    done = -1
    for check in range(check_level.shape[0]):
        if check_level[check] != done:
            done = check_level[check]
            m = runs(blocked[done], rows, cols, at, begin, end, parent)
            reached[:m] = 0
        for e in range(check_start_at[check], check_start_at[check + 1]):
            part = root(check_start[e], cols, at, begin, end, parent)
            if part >= 0:
                reached[part] = 1
        hit = False
        for e in range(check_end_at[check], check_end_at[check + 1]):
            part = root(check_end[e], cols, at, begin, end, parent)
            if part >= 0 and reached[part]:
                hit = True
                break
        if not hit:
            return False
        for e in range(check_start_at[check], check_start_at[check + 1]):
            part = root(check_start[e], cols, at, begin, end, parent)
            if part >= 0:
                reached[part] = 0
    if not entry.shape[0]:
        return True
    if done != minor:
        m = runs(blocked[minor], rows, cols, at, begin, end, parent)
        reached[:m] = 0
    for e in range(entry.shape[0]):
        part = root(entry[e], cols, at, begin, end, parent)
        if part >= 0:
            reached[part] = 1
    for s in range(spot_at.shape[0] - 1):
        hit = False
        for e in range(spot_at[s], spot_at[s + 1]):
            part = root(spots[e], cols, at, begin, end, parent)
            if part >= 0 and reached[part]:
                hit = True
                break
        if not hit:
            return False
    return True


@_njit
def better(table, a, b, mine, yours, never, dead):
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


@_njit
def clear(x, y, cx, cy, c, s, hx, hy, disc, reach):
    dx, dy = x - cx, y - cy
    if disc:
        r = hx + reach
        return dx * dx + dy * dy < r * r
    u = max(abs(dx * c + dy * s) - hx, 0.0)
    v = max(abs(dy * c - dx * s) - hy, 0.0)
    return u * u + v * v < reach * reach


@_njit
def children(
    n, d, counts, width, values, score, floor, rows, row_at, later, spare, places, bounds, scratch,
    never, dead,
):  # fmt: skip
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
        held = np.empty((n, width), np.int64)
        for other in range(d + 1, n):
            top = 4 * never
            for q in range(width):
                top = max(top, values[other, q] + later[d, other, q])
                held[other, q] = values[other, q] + later[d + 1, other, q]
            if top <= dead:
                return 0
            rest += top
        k = 0
        for p in range(count):
            here = values[d, p] + later[d, d, p]
            quick = score + here + rest + spare[d]
            if here <= dead or quick < floor:
                continue
            total = score + values[d, p] + spare[d + 1]
            alive = True
            for other in range(d + 1, n):
                top = 4 * never
                start = row_at[d] + (p * (n - d - 1) + (other - d - 1)) * width
                for q in range(width):
                    top = max(top, held[other, q] + rows[start + q])
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


@_njit
def foremost(
    n, d, counts, width, values, score, floor, rows, row_at, later, spare, most, places, bounds,
    never, dead,
):  # fmt: skip
    """As `search.children` with `most`, before the last piece; returns how many there are."""
    count = counts[d]
    rest = np.int64(0)
    held = np.empty((n, width), np.int64)
    for other in range(d + 1, n):
        top = 4 * never
        for q in range(width):
            top = max(top, values[other, q] + later[d, other, q])
            held[other, q] = values[other, q] + later[d + 1, other, q]
        if top <= dead:
            return 0
        rest += top
    some = np.empty(count, np.int64)
    quick = np.empty(count, np.int64)
    m = 0
    for p in range(count):
        here = values[d, p] + later[d, d, p]
        worth = score + here + rest + spare[d]
        if here > dead and worth >= floor:
            some[m] = p
            quick[m] = worth
            m += 1
    if m > most:
        first = np.sort(np.argsort(-quick[:m], kind="mergesort")[:most])
        for i in range(most):
            some[i] = some[first[i]]
            quick[i] = quick[first[i]]
        m = most
    k = 0
    kept = np.empty(m, np.int64)
    worth_of = np.empty(m, np.int64)
    for i in range(m):
        p = some[i]
        total = score + values[d, p] + spare[d + 1]
        alive = True
        for other in range(d + 1, n):
            top = 4 * never
            start = row_at[d] + (p * (n - d - 1) + (other - d - 1)) * width
            for q in range(width):
                top = max(top, held[other, q] + rows[start + q])
            if top <= dead:
                alive = False
                break
            total += top
        if not alive:
            continue
        total = min(total, quick[i])
        if total >= floor:
            kept[k] = p
            worth_of[k] = total
            k += 1
    order = np.argsort(-worth_of[:k], kind="mergesort")
    for i in range(k):
        places[i] = kept[order[i]]
        bounds[i] = worth_of[order[i]]
    return k


@_njit
def advance(
    n, counts, width, rows, row_at, later, spare, values, places, bounds, total_of, at,
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
        found = children(
            n, d + 1, counts, width, values[d + 1], gained, state[3], rows, row_at, later, spare,
            places[d + 1], bounds[d + 1], scratch, never, dead,
        )  # fmt: skip
        if found:
            total_of[d + 1] = found
            at[d + 1] = 0
            state[0] += 1
    return 0
