"""The exact search: depth first, hub first, on whole numbers.

What may still come is bounded by the best of each open piece with what stands
already, and half of the best that it can have with each other open piece.
Children are taken in the order of their bound, then of their place; among
equal sums the lowest places win, so that the answer does not depend on the
machine. Adding a piece only takes floor away, so a closed way prunes exactly.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from designkit.plan.layouts.flow import Flow
from designkit.plan.layouts.tables import NEVER, Tables

__all__ = ["Clock", "Found", "beam", "branch", "solve"]

Ints = npt.NDArray[np.int64]
Bytes = npt.NDArray[np.uint8]
DEAD = NEVER // 2

Leaf = Callable[[tuple[int, ...]], bool]


class Clock:
    """When to stop: a time, a signal from outside, a count of nodes.

    Parameters
    ----------
    seconds : float or None
        From now; None: no limit. [s]
    stop : callable, optional
        Asked now and then; true stops the search.
    tick : callable, optional
        Called now and then with the number of nodes.
    """

    def __init__(
        self,
        seconds: float | None,
        stop: Callable[[], bool] | None = None,
        tick: Callable[[], None] | None = None,
    ) -> None:
        self.end = None if seconds is None else time.perf_counter() + seconds
        self.stop = stop
        self.tick = tick
        self.why = ""

    def over(self) -> bool:
        """Whether to stop now."""
        if self.tick is not None:
            self.tick()
        if self.why:
            return True
        if self.stop is not None and self.stop():
            self.why = "stopped"
        elif self.end is not None and time.perf_counter() > self.end:
            self.why = "time"
        return bool(self.why)


@dataclass(kw_only=True, eq=False)
class Found:
    """What a search found."""

    places: tuple[int, ...] | None = None
    score: int = NEVER  # millionths
    bound: int = NEVER  # no other layout of the set scores more
    proven: bool = False
    nodes: int = 0
    leaves: int = 0
    turned_down: int = 0  # leaves that exact geometry refused
    deepest: int = 0
    pool: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)

    @property
    def gap(self) -> float:
        """What might be missed at most, as a share of the score."""
        if self.places is None or self.proven:
            return 0.0
        return max(0.0, (self.bound - self.score) / max(abs(self.score), 1))


class Sums:
    """Tables laid out for the search: doubled, so that a half of a best is whole."""

    def __init__(self, tables: Tables) -> None:
        n = len(tables.things)
        self.n = n
        self.width = max((tables.count(i) for i in range(n)), default=0)
        self.own = np.full((n, self.width), NEVER, np.int64)
        self.count = [tables.count(i) for i in range(n)]
        for i in range(n):
            worth = tables.own[i]
            self.own[i, : len(worth)] = np.where(worth <= DEAD, NEVER, 2 * worth)
        best = np.zeros((n, n, self.width), np.int64)
        self.rows: list[Ints] = []
        for i in range(n):
            row = np.zeros((self.count[i], n - i - 1, self.width), np.int64)
            for j in range(i + 1, n):
                table = tables.pair[i, j]
                row[:, j - i - 1, : self.count[j]] = np.where(table <= DEAD, NEVER, 2 * table)
                # Half of the doubled best is the best itself.
                best[i, j, : self.count[i]] = _best(table, tables.own[j][None, :])
                best[j, i, : self.count[j]] = _best(table.T, tables.own[i][None, :])
            self.rows.append(row)
        # later[d][k]: what piece k may still have with the others open at depth d.
        self.later = np.zeros((n + 1, n, self.width), np.int64)
        for d in range(n):
            for k in range(d, n):
                for other in range(d, n):
                    if other != k:
                        self.later[d, k] += best[k, other]
        self.later = np.maximum(self.later, NEVER)


def _best(table: Ints, own: Ints) -> Ints:
    """The best pair value of each row, among places that can be at all."""
    if not table.shape[1]:
        return np.full(table.shape[0], NEVER, np.int64)
    out: Ints = np.where(own <= DEAD, NEVER, table).max(axis=1)
    return np.where(out <= DEAD, NEVER, out)


def children(
    sums: Sums, d: int, values: Ints, score: int, floor: int
) -> tuple[Ints, Ints]:
    """Places of piece `d` with the bound of each, best first, those above a floor.

    Parameters
    ----------
    sums : Sums
        The tables.
    d : int
        Depth, which is the number of the piece.
    values : array
        What each place of each piece is worth with what stands.
    score : int
        Doubled score of what stands.
    floor : int
        Doubled; bounds below it are left out.

    Returns
    -------
    tuple of array
        Places and bounds.
    """
    n = sums.n
    mine = values[d, : sums.count[d]]
    if d == n - 1:
        bound = score + mine
        keep = np.flatnonzero((mine > DEAD) & (bound >= floor))
    else:
        # First the cheap bound, then the better one for what is left.
        rest = (values[d + 1 :] + sums.later[d, d + 1 :]).max(axis=1)
        if (rest <= DEAD).any():
            return np.zeros(0, np.int64), np.zeros(0, np.int64)
        quick = score + mine + sums.later[d, d, : sums.count[d]] + int(rest.sum())
        some = np.flatnonzero((mine > DEAD) & (quick >= floor))
        if not len(some):
            return some, some
        after = values[None, d + 1 :] + sums.rows[d][some]
        after += sums.later[d + 1, d + 1 :][None]
        most = after.max(axis=2)
        alive = (most > DEAD).all(axis=1)
        bound_some = score + mine[some] + most.sum(axis=1)
        alive &= bound_some >= floor
        keep = some[alive]
        bound = np.full(sums.count[d], NEVER, np.int64)
        bound[keep] = bound_some[alive]
    order = np.argsort(-bound[keep], kind="stable")
    keep = keep[order]
    return keep, bound[keep]


def beam(
    tables: Tables, sums: Sums, flow: Flow, leaf: Leaf, *, width: int, clock: Clock
) -> Found:
    """A first layout, by keeping the most promising ones at each depth.

    Parameters
    ----------
    tables : Tables
        The tables.
    sums : Sums
        The same laid out.
    flow : Flow
        Floods.
    leaf : callable
        Decides a whole layout by exact geometry.
    width : int
        How many are kept.
    clock : Clock
        When to stop.

    Returns
    -------
    Found
        The best whole layout of those kept, if any is valid.
    """
    found = Found()
    states: list[tuple[int, tuple[int, ...], Ints, Bytes]] = [(0, (), sums.own, flow.start)]
    for d in range(sums.n):
        options: list[tuple[int, int, int]] = []
        for s, (score, _, values, _) in enumerate(states):
            places, bounds = children(sums, d, values, score, 2 * DEAD)
            most = len(places) if d == 0 or len(states) == 1 else 8
            options += [(-int(b), s, int(p)) for p, b in zip(places[:most], bounds[:most])]
        options.sort()
        kept: list[tuple[int, tuple[int, ...], Ints, Bytes]] = []
        for _, s, p in options[: 8 * width]:
            score, chosen, values, blocked = states[s]
            after = flow.child(blocked, chosen, d, p)
            found.nodes += 1
            if after is None:
                continue
            found.deepest = max(found.deepest, d + 1)
            following = values
            if d + 1 < sums.n:
                following = values.copy()
                following[d + 1 :] += sums.rows[d][p]
                np.maximum(following, NEVER, out=following)
            kept.append((score + int(values[d, p]), (*chosen, p), following, after))
            if len(kept) >= width:
                break
        states = kept
        if not states or clock.over():
            break
    else:
        states.sort(key=lambda state: (-state[0], state[1]))
        for score, chosen, _, _ in states:
            found.leaves += 1
            if leaf(chosen):
                found.places, found.score = chosen, score // 2
                break
            found.turned_down += 1
    return found


def branch(
    sums: Sums,
    flow: Flow,
    leaf: Leaf,
    *,
    start: Found | None = None,
    nodes: int,
    clock: Clock,
) -> Found:
    """Search the whole set of places, depth first.

    Parameters
    ----------
    sums : Sums
        The tables laid out.
    flow : Flow
        Floods.
    leaf : callable
        Decides a whole layout by exact geometry.
    start : Found, optional
        A first layout.
    nodes : int
        How many nodes at most.
    clock : Clock
        When to stop.

    Returns
    -------
    Found
        With `proven` true where nothing of the set is better.
    """
    found = start or Found()
    n = sums.n
    best = 2 * found.score if found.places is not None else 2 * DEAD
    top: tuple[int, ...] | None = found.places
    level: list[tuple[Ints, Ints, int, Ints, Bytes, int]] = []
    places, bounds = children(sums, 0, sums.own, 0, best)
    stack = [[places, bounds, 0, sums.own, flow.start, 0]]
    chosen: list[int] = []
    used = 0
    del level
    while stack:
        frame = stack[-1]
        d = len(stack) - 1
        places, bounds, k, values, blocked, score = frame
        if k >= len(places):
            stack.pop()
            if chosen:
                chosen.pop()
            continue
        p, bound = int(places[k]), int(bounds[k])
        if bound < best:
            stack.pop()
            if chosen:
                chosen.pop()
            continue
        if used >= nodes or (used % 64 == 63 and clock.over()):
            break
        frame[2] = k + 1
        if bound == best and top is not None and (*chosen, p) > top[: d + 1]:
            continue  # at most equal, and with higher places
        used += 1
        after = flow.child(blocked, chosen, d, p)
        if after is None:
            continue
        found.deepest = max(found.deepest, d + 1)
        total = score + int(values[d, p])
        if d == n - 1:
            found.leaves += 1
            whole = (*chosen, p)
            if leaf(whole):
                best, top = total, whole
                found.places, found.score = whole, total // 2
            else:
                found.turned_down += 1
            continue
        following = values.copy()
        following[d + 1 :] += sums.rows[d][p]
        np.maximum(following, NEVER, out=following)
        more, their = children(sums, d + 1, following, total, best)
        if len(more):
            chosen.append(p)
            stack.append([more, their, 0, following, after, total])
    found.nodes += used
    found.proven = not stack
    open_bound = max((int(f[1][f[2]]) for f in stack if f[2] < len(f[0])), default=best)
    found.bound = max(best, open_bound) // 2 if stack else found.score
    return found


def solve(
    tables: Tables,
    flow: Flow,
    leaf: Leaf,
    *,
    nodes: int,
    clock: Clock,
    width: int = 24,
    start: Found | None = None,
    fast: bool = False,
) -> Found:
    """The best layout of a set of places: a beam first, then the exact search.

    Parameters
    ----------
    tables : Tables
        What places and pairs are worth.
    flow : Flow
        Floods.
    leaf : callable
        Decides a whole layout by exact geometry.
    nodes : int
        How many nodes the exact search may look at.
    clock : Clock
        When to stop.
    width : int, optional
        Of the beam.
    start : Found, optional
        A first layout; then there is no beam.
    fast : bool, optional
        Use compiled loops; the answer is the same.

    Returns
    -------
    Found
        The layout, if there is one, and what is proven of it.
    """
    sums = Sums(tables)
    if any(not c for c in sums.count) or not sums.n:
        return Found(proven=True, bound=NEVER)
    if start is None:
        start = beam(tables, sums, flow, leaf, width=width, clock=clock)
    if nodes <= 0:
        start.bound = _root_bound(sums)
        return start
    if fast:
        from designkit.plan.layouts.kernels import branch_fast

        return branch_fast(sums, flow, leaf, start=start, nodes=nodes, clock=clock)
    return branch(sums, flow, leaf, start=start, nodes=nodes, clock=clock)


def _root_bound(sums: Sums) -> int:
    _, bounds = children(sums, 0, sums.own, 0, 2 * DEAD)
    return int(bounds[0]) // 2 if len(bounds) else NEVER


def places_of(found: Sequence[Found]) -> list[tuple[int, ...]]:
    """The layouts among what was found."""
    return [f.places for f in found if f.places is not None]
