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
from designkit.plan.layouts.leaf import Blame
from designkit.plan.layouts.tables import NEVER, Tables

__all__ = ["Clock", "Found", "Sums", "beam", "branch", "children", "polish", "polished", "solve"]

Ints = npt.NDArray[np.int64]
Bytes = npt.NDArray[np.uint8]
DEAD = NEVER // 2
SWEEPS = 16
MORE = 20  # times as many nodes while there is no layout yet
LOOK = 48  # places that the beam looks at for each state
TRIES = 12  # moves that are tried in bettering a first layout

Leaf = Callable[[tuple[int, ...]], bool]
Why = Callable[[tuple[int, ...]], Blame]


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


@dataclass(kw_only=True, eq=False)
class _Frame:
    """One depth of the search: the places that are left to try there."""

    places: Ints
    bounds: Ints
    values: Ints
    blocked: Bytes
    score: int
    next: int = 0


class Sums:
    """Tables laid out for the search, with a bound for what is still open.

    Each pair table is split between its two pieces: `share[k, l]` is what place
    q of piece k may count on from piece l, and `rest[k, l]` the most by which a
    pair can still beat the two shares. Any split gives a bound; the shares
    are bettered pair by pair (dual descent), for each depth of the search.

    Parameters
    ----------
    tables : Tables
        The tables.
    sweeps : int, optional
        How often the shares are bettered.
    fast : bool, optional
        Use compiled loops; the numbers are the same.
    """

    def __init__(self, tables: Tables, *, sweeps: int = SWEEPS, fast: bool = False) -> None:
        n = len(tables.things)
        self.n = n
        self.width = max((tables.count(i) for i in range(n)), default=0)
        self.count = [tables.count(i) for i in range(n)]
        self.own = np.full((n, self.width), NEVER, np.int64)
        for i in range(n):
            self.own[i, : self.count[i]] = np.maximum(tables.own[i], NEVER)
        # All pair tables behind one another, so that compiled loops take them as they are.
        sizes = [self.count[i] * (n - i - 1) * self.width for i in range(n)]
        self.row_at = np.cumsum([0, *sizes[:-1]]).astype(np.int64) if n else np.zeros(0, np.int64)
        self.flat = np.empty(sum(sizes), np.int64)
        self.rows: list[Ints] = []
        for i in range(n):
            part = self.flat[self.row_at[i] : self.row_at[i] + sizes[i]]
            row = part.reshape(self.count[i], n - i - 1, self.width)
            for j in range(i + 1, n):
                row[:, j - i - 1, : self.count[j]] = tables.pair[i, j]
                row[:, j - i - 1, self.count[j] :] = NEVER
            self.rows.append(row)
        # later[d][k]: shares of piece k in the others open at depth d; spare[d]: the rests.
        self.later = np.zeros((n + 1, n, self.width), np.int64)
        self.spare = np.zeros(n + 1, np.int64)
        better = _better
        if fast:
            from designkit.plan.layouts.kernels import better_share as better
        share: dict[tuple[int, int], Ints] = {}
        for i in range(n):
            for j in range(i + 1, n):
                table = tables.pair[i, j]
                share[i, j] = _half(table, self.own[j, : self.count[j]])
                share[j, i] = _half(table.T, self.own[i, : self.count[i]])
        for d in range(n):
            held = self.own.copy()
            for i in range(d, n):
                for j in range(d, n):
                    if i != j:
                        held[i, : self.count[i]] += share[i, j]
            for _ in range(sweeps if d == 0 else max(1, sweeps // 3)):
                for i in range(d, n):
                    for j in range(i + 1, n):
                        a, b = held[i, : self.count[i]], held[j, : self.count[j]]
                        mine, yours = better(tables.pair[i, j], a - share[i, j], b - share[j, i])
                        a += mine - share[i, j]
                        b += yours - share[j, i]
                        share[i, j], share[j, i] = mine, yours
            for i in range(d, n):
                self.later[d, i] = np.maximum(held[i] - self.own[i], NEVER)
                for j in range(i + 1, n):
                    self.spare[d] += _rest(tables.pair[i, j], share[i, j], share[j, i])
        self.spare = np.maximum(self.spare, NEVER)

    def learn(self, blame: Blame, places: Sequence[int]) -> None:
        """Forbid a place or a pair of places that exact geometry turned down."""
        if blame.one < 0:
            return
        i, j = blame.one, blame.two
        if i == j:
            self.own[i, places[i]] = NEVER
        else:
            self.rows[i][places[i], j - i - 1, places[j]] = NEVER

    def bar(self, tables: Tables, i: int, j: int) -> None:
        """Forbid more pairs of two pieces, as tables do in which they are forbidden.

        The shares stay: they bound what is less as well.
        """
        if i == j:
            worth = self.own[i, : self.count[i]]
            np.minimum(worth, np.maximum(tables.own[i], NEVER), out=worth)
        else:
            row = self.rows[i][:, j - i - 1, : self.count[j]]
            np.minimum(row, tables.pair[i, j], out=row)


def _half(table: Ints, own: Ints) -> Ints:
    """Half of the best that each place can have, rounded up."""
    if not table.shape[1]:
        return np.full(table.shape[0], NEVER, np.int64)
    best: Ints = np.where(own <= DEAD, NEVER, table).max(axis=1)
    return np.where(best <= DEAD, NEVER, -(-best // 2))


def _better(table: Ints, a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """Shares of one pair that make the two best sums as small as this pair allows.

    `a` and `b` are what the places have without this pair.
    """
    both = table + b[None, :]
    top_a: Ints = both.max(axis=1)
    both = table + a[:, None]
    top_b: Ints = both.max(axis=0)
    mine = np.where(top_a <= DEAD, NEVER, -((a - top_a) // 2))
    yours = np.where(top_b <= DEAD, NEVER, -((b - top_b) // 2))
    return np.where(a <= DEAD, NEVER, mine), np.where(b <= DEAD, NEVER, yours)


def _rest(table: Ints, mine: Ints, yours: Ints) -> int:
    """The most by which a pair beats its two shares, among places that can be."""
    i, j = np.flatnonzero(mine > DEAD), np.flatnonzero(yours > DEAD)
    if not len(i) or not len(j):
        return NEVER
    left = table[np.ix_(i, j)] - mine[i, None] - yours[None, j]
    return max(int(left.max()), NEVER)


def children(
    sums: Sums, d: int, values: Ints, score: int, floor: int, *, most: int | None = None
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
        Score of what stands.
    floor : int
        Bounds below it are left out.
    most : int, optional
        Only so many are looked at, by a cheaper bound.

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
        here = mine + sums.later[d, d, : sums.count[d]]
        quick = score + here + int(rest.sum()) + int(sums.spare[d])
        some = np.flatnonzero((here > DEAD) & (quick >= floor))
        if most is not None and len(some) > most:
            some = np.sort(some[np.argsort(-quick[some], kind="stable")[:most]])
        if not len(some):
            return some, some
        after = values[None, d + 1 :] + sums.rows[d][some]
        after += sums.later[d + 1, d + 1 :][None]
        tops: Ints = after.max(axis=2)
        alive = (tops > DEAD).all(axis=1)
        bound_some = score + mine[some] + tops.sum(axis=1) + int(sums.spare[d + 1])
        bound_some = np.minimum(bound_some, quick[some])
        alive &= bound_some >= floor
        keep = some[alive]
        bound = np.full(sums.count[d], NEVER, np.int64)
        bound[keep] = bound_some[alive]
    order = np.argsort(-bound[keep], kind="stable")
    keep = keep[order]
    return keep, bound[keep]


def beam(
    tables: Tables,
    sums: Sums,
    flow: Flow,
    leaf: Leaf,
    *,
    width: int,
    clock: Clock,
    fast: bool = False,
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
    fast : bool, optional
        Use compiled loops; the answer is the same.

    Returns
    -------
    Found
        The best whole layout of those kept, if any is valid.
    """
    look = _foremost
    if fast:
        from designkit.plan.layouts.kernels import foremost as look
    found = Found()
    states: list[tuple[int, tuple[int, ...], Ints, Bytes]] = [(0, (), sums.own, flow.start)]
    for d in range(sums.n):
        options: list[tuple[int, int, int]] = []
        for s, (score, _, values, _) in enumerate(states):
            wide = len(states) == 1
            if wide or d == sums.n - 1:
                places, bounds = children(sums, d, values, score, DEAD)
            else:
                places, bounds = look(sums, d, values, score, DEAD, LOOK)
            most = len(places) if wide else 8
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
                found.places, found.score = chosen, score
                break
            found.turned_down += 1
    return found


def _foremost(
    sums: Sums, d: int, values: Ints, score: int, floor: int, most: int
) -> tuple[Ints, Ints]:
    return children(sums, d, values, score, floor, most=most)


def polish(
    tables: Tables, flow: Flow, leaf: Leaf, found: Found, *, clock: Clock, rounds: int = 6
) -> None:
    """Better a first layout by moving one piece, then two pieces, at a time.

    Parameters
    ----------
    tables : Tables
        The tables.
    flow : Flow
        Floods.
    leaf : callable
        Decides a whole layout by exact geometry.
    found : Found
        The layout; it is changed.
    clock : Clock
        When to stop.
    rounds : int, optional
        How often all moves are tried.
    """
    n = len(tables.things)
    linked = [
        (i, j)
        for i in range(n)
        for j in range(i + 1, n)
        if min(tables.count(i), tables.count(j)) > 1
        and (np.where(tables.pair[i, j] <= DEAD, 0, tables.pair[i, j]) != 0).any()
    ]
    for _ in range(rounds):
        if found.places is None or clock.over():
            return
        before = found.places
        for i in range(n):
            _move(tables, flow, leaf, found, (i,))
        for i, j in linked:
            _move(tables, flow, leaf, found, (i, j))
        if found.places == before:
            return


def polished(
    tables: Tables,
    flow: Flow,
    leaf: Leaf,
    found: Found,
    *,
    clock: Clock,
    likely: Leaf | None = None,
) -> None:
    """Better a first layout with a quick look at each move, and decide the last exactly.

    Parameters
    ----------
    tables : Tables
        The tables.
    flow : Flow
        Floods.
    leaf : callable
        Decides a whole layout by exact geometry.
    found : Found
        The layout; it is changed.
    clock : Clock
        When to stop.
    likely : callable, optional
        A quick look that turns down nothing that `leaf` takes.
    """
    before = (found.places, found.score)
    polish(tables, flow, likely or leaf, found, clock=clock)
    if likely is None or found.places in (None, before[0]) or leaf(found.places or ()):
        return
    found.places, found.score = before  # by less than a millimetre: once more, exactly
    polish(tables, flow, leaf, found, clock=clock)


def _move(tables: Tables, flow: Flow, leaf: Leaf, found: Found, which: tuple[int, ...]) -> None:
    """Put one or two pieces where the sum is best with the others as they are."""
    assert found.places is not None
    places = list(found.places)
    n = len(places)
    sums = []
    for i in which:
        worth = tables.own[i].copy()
        for k in range(n):
            if k != i and k not in which:
                worth += tables.pair[i, k][:, places[k]] if i < k else tables.pair[k, i][places[k]]
        sums.append(worth)
    rest = found.score
    moves: list[tuple[tuple[int, ...], int]]
    if len(which) == 1:
        (i,) = which
        gain = sums[0] - sums[0][places[i]]
        better = np.flatnonzero(gain > 0)
        order = better[np.argsort(-gain[better], kind="stable")][:TRIES]
        moves = [((int(p),), int(gain[p])) for p in order]
    else:
        i, j = which
        both = sums[0][:, None] + sums[1][None, :] + tables.pair[i, j]
        gain = both - both[places[i], places[j]]
        better = np.flatnonzero(gain.ravel() > 0)
        if not len(better):
            return
        worth = gain.ravel()[better]
        if len(better) > 4 * TRIES:  # the best few, ties by number
            limit = np.partition(worth, len(worth) - TRIES)[len(worth) - TRIES]
            better, worth = better[worth >= limit], worth[worth >= limit]
        order = better[np.argsort(-worth, kind="stable")][:TRIES]
        width = both.shape[1]
        moves = [((int(p // width), int(p % width)), int(gain.ravel()[p])) for p in order]
    for move, more in moves:
        for i, p in zip(which, move):
            places[i] = p
        found.nodes += 1
        if flow.whole(places) and leaf(tuple(places)):
            found.places, found.score = tuple(places), rest + more
            return


def branch(
    sums: Sums,
    flow: Flow,
    leaf: Leaf,
    *,
    why: Why | None = None,
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
    why : callable, optional
        Says how much of a layout that was turned down is to blame.
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
    best = found.score if found.places is not None else DEAD
    top: tuple[int, ...] | None = found.places
    places, bounds = children(sums, 0, sums.own, 0, best)
    stack = [_Frame(places=places, bounds=bounds, values=sums.own, blocked=flow.start, score=0)]
    chosen: list[int] = []
    used = 0
    while stack:
        frame = stack[-1]
        d, k = len(stack) - 1, frame.next
        places, bounds, values = frame.places, frame.bounds, frame.values
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
        # Without a layout yet the search goes on longer.
        if used >= (nodes if top is not None else MORE * nodes) or (
            used % 64 == 63 and clock.over()
        ):
            break
        frame.next = k + 1
        if bound == best and top is not None and (*chosen, p) > top[: d + 1]:
            continue  # at most equal, and with higher places
        used += 1
        after = flow.child(frame.blocked, chosen, d, p)
        if after is None:
            continue
        found.deepest = max(found.deepest, d + 1)
        total = frame.score + int(values[d, p])
        if d == n - 1:
            found.leaves += 1
            whole = (*chosen, p)
            if leaf(whole):
                best, top = total, whole
                found.places, found.score = whole, total
            else:
                found.turned_down += 1
                if why is not None:
                    blame = why(whole)
                    sums.learn(blame, whole)
                    # Back to the last piece that is needed for the failure.
                    while len(stack) > blame.depth:
                        stack.pop()
                        chosen.pop()
            continue
        following = values.copy()
        following[d + 1 :] += sums.rows[d][p]
        np.maximum(following, NEVER, out=following)
        more, their = children(sums, d + 1, following, total, best)
        if len(more):
            chosen.append(p)
            stack.append(
                _Frame(places=more, bounds=their, values=following, blocked=after, score=total)
            )
    found.nodes += used
    found.proven = not stack
    open_bound = max((int(f.bounds[f.next]) for f in stack if f.next < len(f.places)), default=best)
    found.bound = max(best, open_bound) if stack else found.score
    return found


def solve(
    tables: Tables,
    flow: Flow,
    leaf: Leaf,
    *,
    nodes: int,
    clock: Clock,
    why: Why | None = None,
    likely: Leaf | None = None,
    width: int = 24,
    start: Found | None = None,
    sums: Sums | None = None,
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
    why : callable, optional
        Says how much of a layout that was turned down is to blame.
    likely : callable, optional
        A quick look that turns down nothing that `leaf` takes.
    width : int, optional
        Of the beam.
    start : Found, optional
        A first layout; then there is no beam.
    sums : Sums, optional
        The tables laid out, where that is done already.
    fast : bool, optional
        Use compiled loops; the answer is the same.

    Returns
    -------
    Found
        The layout, if there is one, and what is proven of it.
    """
    if sums is None:
        sums = Sums(tables, fast=fast)
    if any(not c for c in sums.count) or not sums.n:
        return Found(proven=True, bound=NEVER)
    if start is None:
        quick = likely or leaf
        start = beam(tables, sums, flow, quick, width=width, clock=clock, fast=fast)
        polish(tables, flow, quick, start, clock=clock)
        if likely is not None and start.places is not None and not leaf(start.places):
            # By less than a millimetre: once more, exactly.
            start = beam(tables, sums, flow, leaf, width=width, clock=clock, fast=fast)
            polish(tables, flow, leaf, start, clock=clock)
    if nodes <= 0:
        start.bound = _root_bound(sums)
        return start
    if fast:
        from designkit.plan.layouts.kernels import branch_fast

        return branch_fast(sums, flow, leaf, why=why, start=start, nodes=nodes, clock=clock)
    return branch(sums, flow, leaf, why=why, start=start, nodes=nodes, clock=clock)


def _root_bound(sums: Sums) -> int:
    _, bounds = children(sums, 0, sums.own, 0, DEAD)
    return int(bounds[0]) if len(bounds) else NEVER


def places_of(found: Sequence[Found]) -> list[tuple[int, ...]]:
    """The layouts among what was found."""
    return [f.places for f in found if f.places is not None]
