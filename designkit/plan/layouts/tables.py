"""Tables of what places and pairs of places are worth, in whole numbers.

Scores are rounded once to millionths and kept as 64-bit integers, so that the
search adds without rounding and equal scores are equal. A pair that cannot be
has a number below every sum.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.plan.layouts.ground import Ground
from designkit.plan.layouts.poses import door_spans, off_ahead
from designkit.plan.layouts.scoring import place_terms, weights_of
from designkit.plan.layouts.scoring_pairs import apart_by, pair_terms
from designkit.plan.layouts.shapes import Laid, Poses, laid, meet
from designkit.plan.layouts.things import Thing

__all__ = ["NEVER", "UNIT", "Tables", "conflicts", "tables_of"]

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

UNIT = 1_000_000
NEVER = -(1 << 52)  # below every sum of scores; forty of them still fit 64 bits
NEAR = 1.0  # [m] that "with" and "keep out of" a piece allow


@dataclass(frozen=True, kw_only=True, eq=False)
class Tables:
    """Everything that the exact search adds up.

    The last place of an optional piece is to be left out.
    """

    things: tuple[Thing, ...]
    poses: tuple[Poses, ...]
    own: tuple[Ints, ...]  # a piece: what each place is worth
    pair: Mapping[tuple[int, int], Ints]  # i < j: N_i × N_j
    parts: tuple[tuple[Laid, Laid], ...]  # bodies, and floor kept free, in place

    def count(self, i: int) -> int:
        """Number of places of a piece, being left out among them."""
        return len(self.own[i])

    def absent(self, i: int, p: int) -> bool:
        """Whether this place means that the piece is left out."""
        return self.things[i].optional and p == len(self.poses[i])

    def score(self, places: Sequence[int]) -> int:
        """The sum for one choice of places."""
        total = sum(int(self.own[i][p]) for i, p in enumerate(places))
        return total + sum(int(t[places[i], places[j]]) for (i, j), t in self.pair.items())

    def without(self, i: int, j: int, mask: Bools) -> Tables:
        """The same with some pairs of places of two pieces forbidden."""
        if i == j:
            own = list(self.own)
            own[i] = np.where(mask, NEVER, own[i])
            return dataclasses.replace(self, own=tuple(own))
        pair = dict(self.pair)
        pair[i, j] = np.where(mask, NEVER, pair[i, j])
        return dataclasses.replace(self, pair=pair)


def _bodies(thing: Thing, poses: Poses) -> tuple[Laid, Laid]:
    """Bodies in place, and the floor that each way of use keeps free."""
    bodies = laid(thing.body, poses)
    shapes, on = [], []
    for number, rooms in enumerate(thing.variants):
        for room in rooms:
            if room.free_of:
                shapes.append(room.shape)
                on.append(poses.variant == number)
    mask = np.array(on, dtype=bool).reshape(len(shapes), len(poses)).T
    return bodies, laid(shapes, poses, mask)


def _ignored(thing: Thing, other: Thing) -> list[bool]:
    """Which rooms of a thing the other piece may stand in."""
    return [
        other.piece.kind in room.ignores
        for rooms in thing.variants
        for room in rooms
        if room.free_of
    ]


def conflicts(
    one: Thing, a: tuple[Laid, Laid], two: Thing, b: tuple[Laid, Laid], near: tuple[Ints, Ints]
) -> Bools:
    """Whether pairs of places cannot be: bodies meet, or one stands in the other's floor.

    Parameters
    ----------
    one, two : Thing
        Pieces.
    a, b : (Laid, Laid)
        Their bodies and floors in place.
    near : (array of int, array of int)
        The pairs of places to look at.

    Returns
    -------
    array of bool
        One a pair.
    """
    i, j = near
    hit = np.zeros(len(i), bool)
    runs: list[tuple[Laid, Laid, list[bool], bool]] = [
        (a[0], b[0], [False] * len(a[0].half_x), False),
        (a[1], b[0], _ignored(one, two), False),
        (b[1], a[0], _ignored(two, one), True),
    ]
    for first, second, skip, flip in runs:
        p, q = (j, i) if flip else (i, j)
        for s in range(len(first.half_x)):
            if skip[s]:
                continue
            for t in range(len(second.half_x)):
                left = ~hit & first.on[p, s]
                if left.any():
                    k = np.flatnonzero(left)
                    hit[k] = meet(first, s, p[k], second, t, q[k])
    return hit


def _near(one: Thing, a: Poses, two: Thing, b: Poses) -> tuple[Ints, Ints]:
    dx = b.x[None, :] - a.x[:, None]
    dy = b.y[None, :] - a.y[:, None]
    i, j = np.nonzero(dx * dx + dy * dy < (one.reach + two.reach) ** 2)
    return i, j


def _barred(
    one: Thing,
    a: Poses,
    two: Thing,
    b: Poses,
    ground: Ground,
    spans: Sequence[Sequence[tuple[Array, Array]]],
) -> Bools:
    """Pairs that together leave too little of a door free, or that were asked not to be."""
    out = np.zeros((len(a), len(b)), bool)
    for number, way in enumerate(ground.ways):
        (al, ah), (bl, bh) = spans[0][number], spans[1][number]
        i, j = np.flatnonzero(ah > al), np.flatnonzero(bh > bl)
        if not len(i) or not len(j):
            continue
        low = np.minimum(al[i, None], bl[None, j])
        high = np.maximum(ah[i, None], bh[None, j])
        between = np.maximum(al[i, None], bl[None, j]) - np.minimum(ah[i, None], bh[None, j])
        free = np.maximum(np.maximum(low, way.clear - high), between)
        out[np.ix_(i, j)] |= free < way.need - 1e-6
    for first, second, flip in ((one, two, False), (two, one, True)):
        for relation in first.relations:
            if relation.other != second.id:
                continue
            pa, pb = (b, a) if flip else (a, b)
            if relation.kind == "faces":
                bad = off_ahead(pa, pb.x, pb.y) > 45.0
            else:
                gap = apart_by(first, pa, second, pb)
                bad = gap > NEAR if relation.kind == "with" else gap < NEAR
            out |= bad.T if flip else bad
    return out


def tables_of(
    things: Sequence[Thing],
    poses: Sequence[Poses],
    ground: Ground,
    *,
    fast: bool = False,
) -> Tables:
    """Fill the tables for given places.

    Parameters
    ----------
    things : sequence of Thing
        Pieces, in the order of the search.
    poses : sequence of Poses
        Places of each.
    ground : Ground
        The space.
    fast : bool, optional
        Look for conflicts with compiled loops; the tables are the same.

    Returns
    -------
    Tables
        In millionths.
    """
    weights = weights_of(ground)
    offer = ground.value("plan.score.optional")
    own: list[Ints] = []
    parts = [_bodies(thing, p) for thing, p in zip(things, poses)]
    spans = [
        [door_spans(thing, ground, p, n) for n in range(len(ground.ways))]
        for thing, p in zip(things, poses)
    ]
    for thing, p in zip(things, poses):
        total = np.zeros(len(p))
        for term, values in place_terms(thing, ground, p).items():
            total += weights[term] * values
        whole = np.rint(total * UNIT).astype(np.int64)
        if thing.optional:
            whole = np.append(whole + round(offer * UNIT), 0)
        own.append(whole)
    pair: dict[tuple[int, int], Ints] = {}
    for i in range(len(things)):
        for j in range(i + 1, len(things)):
            pair[i, j] = _pair(things, poses, parts, spans, ground, weights, i, j, fast=fast)
    return Tables(
        things=tuple(things), poses=tuple(poses), own=tuple(own), pair=pair, parts=tuple(parts)
    )


def _pair(
    things: Sequence[Thing],
    poses: Sequence[Poses],
    parts: Sequence[tuple[Laid, Laid]],
    spans: Sequence[Sequence[tuple[Array, Array]]],
    ground: Ground,
    weights: Mapping[str, float],
    i: int,
    j: int,
    *,
    fast: bool,
) -> Ints:
    one, two, a, b = things[i], things[j], poses[i], poses[j]
    total = np.zeros((len(a), len(b)))
    for term, values in pair_terms(one, a, two, b, ground, things=things).items():
        total += weights[term] * values
    whole = np.rint(total * UNIT).astype(np.int64)
    if one.locked is None or two.locked is None:
        if fast:
            from designkit.plan.layouts.kernels import conflict_table

            never = conflict_table(one, parts[i], a, two, parts[j], b)
        else:
            near = _near(one, a, two, b)
            never = np.zeros(whole.shape, bool)
            never[near] = conflicts(one, parts[i], two, parts[j], near)
        never |= _barred(one, a, two, b, ground, (spans[i], spans[j]))
        whole[never] = NEVER
    # A left-out piece has nothing to do with any other.
    whole = np.pad(whole, ((0, int(one.optional)), (0, int(two.optional))))
    if one.alike >= 0 and one.alike == two.alike and _same(a, b):
        # Equal pieces change places without a difference: one order is enough.
        n = whole.shape[0]
        swapped = np.arange(n)[:, None] >= np.arange(n)[None, :]
        if one.optional:
            swapped[-1, -1] = False
        whole[swapped] = NEVER
    return whole


def _same(a: Poses, b: Poses) -> bool:
    return len(a) == len(b) and all(
        np.array_equal(getattr(a, name), getattr(b, name)) for name in ("x", "y", "turn", "variant")
    )
