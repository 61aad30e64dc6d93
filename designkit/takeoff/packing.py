"""Rectangles on a roll: a short cutting plan and a length that no plan beats.

Every piece keeps the way of the cloth: nothing is turned. Sizes are whole
millimetres, so that two plans compare without noise.

The plan is built on the skyline of what is already cut: the lowest stretch is
filled with the piece that fits it best, and the order in which pieces are
tried is improved by exchanges [1]_. The bound comes from dual feasible
functions of the widths [2]_ and from the linear programme over the sets of
pieces that lie side by side [3]_.

References
----------
.. [1] Burke, Kendall & Whitwell, "A new placement heuristic for the orthogonal
   stock-cutting problem", Operations Research 52(4), 2004, for the best fit in
   the lowest stretch; the exchanges here are a seeded annealing.
.. [2] Fekete & Schepers, "New classes of fast lower bounds for bin packing
   problems", Mathematical Programming 91, 2001 (functions from memory).
.. [3] Scheithauer, "LP-based bounds for the container and multi-container
   loading problem", International Transactions in Operational Research 6, 1999
   (from memory), the bar relaxation in two dimensions.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from designkit.errors import InputError

__all__ = ["Laid", "Packing", "Rectangle", "pack", "shortest_length"]


@dataclass(frozen=True, kw_only=True)
class Rectangle:
    """A piece to cut. [mm]"""

    id: str
    width: int  # across the roll
    length: int  # along it
    on_repeat: bool = False  # begins on a whole repeat along the roll
    centred: bool = False  # its middle lies on the middle of a motif across


@dataclass(frozen=True, kw_only=True)
class Laid:
    """A piece where it lies. [mm]"""

    rectangle: Rectangle
    x: int  # from the left selvedge
    y: int  # along the roll

    @property
    def end(self) -> int:
        """Where it ends along the roll."""
        return self.y + self.rectangle.length


@dataclass(frozen=True, kw_only=True, eq=False)
class Packing:
    """A cutting plan. [mm]"""

    laid: tuple[Laid, ...]  # in the order of the roll
    length: int
    bound: int
    tries: int

    @property
    def proven(self) -> bool:
        """No plan is shorter."""
        return self.length == self.bound

    @property
    def gap(self) -> float:
        """How much longer it might be than the shortest, as a share of the bound."""
        return (self.length - self.bound) / self.bound if self.bound else 0.0


def shortest_length(pieces: Sequence[Rectangle], *, width: int) -> int:
    r"""A length of roll that no plan can beat.

    For a dual feasible function f of the width share, any set of pieces side
    by side has :math:`\sum f(w_i / W) \le 1`, so
    :math:`L \ge \sum f(w_i / W)\, l_i`.

    Parameters
    ----------
    pieces : sequence of Rectangle
        What is cut; repeats are left aside, which can only lower the bound.
    width : int
        Of the roll. [mm]

    Returns
    -------
    int
        Lower bound. [mm]
    """
    if not pieces:
        return 0
    best = max(p.length for p in pieces)
    sizes = [(p.width, p.length) for p in pieces]

    def up(total: int, parts: int) -> int:
        return -(-total // parts)

    best = max(best, up(sum(w * n for w, n in sizes), width))
    # Wide pieces count as the whole width, narrow ones as nothing.
    small = sorted({w for w, _ in sizes if 2 * w <= width} | {width - w for w, _ in sizes})
    for limit in small:
        if not 0 < 2 * limit <= width:
            continue
        total = sum(
            (width if w > width - limit else (w if w >= limit else 0)) * n for w, n in sizes
        )
        best = max(best, up(total, width))
    # Rounding down to k-ths: exact multiples keep their share.
    for k in range(1, 13):
        scaled = 0
        for w, n in sizes:
            whole, rest = divmod((k + 1) * w, width)
            scaled += (k * w if rest == 0 else whole * width) * n
        best = max(best, up(scaled, k * width))
    # Rounded up to a whole millimetre, deaf to the solver's last digits.
    return max(best, math.ceil(_side_by_side(pieces, width) - 1e-6))


def _side_by_side(pieces: Sequence[Rectangle], width: int) -> float:
    """Length that the pieces need if each could be cut into slices along the roll.

    The linear programme over all sets of widths that lie side by side: every
    plan is a mixture of such sets, so no plan is shorter.
    """
    need: dict[int, int] = {}
    count: dict[int, int] = {}
    for piece in pieces:
        need[piece.width] = need.get(piece.width, 0) + piece.length
        count[piece.width] = count.get(piece.width, 0) + 1
    widths = sorted(need, reverse=True)
    sets: list[tuple[int, ...]] = []

    def fill(index: int, left: int, chosen: list[int]) -> bool:
        if len(sets) > _MOST_SETS:
            return False
        if index == len(widths):
            # Only sets to which nothing can be added matter.
            if all(chosen[k] == count[w] or w > left for k, w in enumerate(widths)):
                sets.append(tuple(chosen))
            return True
        size = widths[index]
        for number in range(min(count[size], left // size), -1, -1):
            if not fill(index + 1, left - number * size, [*chosen, number]):
                return False
        return True

    if not fill(0, width, []):
        return 0.0
    import numpy as np
    from scipy.optimize import linprog

    solved = linprog(
        np.ones(len(sets)),
        A_ub=-np.array(sets, dtype=float).T,
        b_ub=-np.array([need[w] for w in widths], dtype=float),
        method="highs",
    )
    return float(solved.fun) if solved.status == 0 else 0.0


_Place = tuple[Rectangle, int, int]  # with x and y
_Turn = tuple[Rectangle, bool, int, int]  # to the other side; its width and length
_NEVER = 1 << 60  # beyond any roll
# How much worse a plan may be and still be kept, as a share of its length; and
# the tries of one round. Chosen on the stored instances of the tests.
_HEAT = 0.004
_ROUND = 1000
_MOST_SETS = 3000  # of the linear programme: beyond it the quick bounds stand alone


class _Roll:
    """Skyline of the roll: stretches (x, y, width) from selvedge to selvedge."""

    __slots__ = ("across", "along", "faults", "top", "width", "xs")

    def __init__(
        self, width: int, along: int, across: int, faults: tuple[tuple[int, int], ...]
    ) -> None:
        self.width = width
        self.along = along
        self.across = across
        self.faults = faults
        self.xs: list[tuple[int, int, int]] = [(0, 0, width)]
        self.top = 0

    def lowest(self) -> int:
        xs = self.xs
        best = 0
        for index in range(1, len(xs)):
            if xs[index][1] < xs[best][1]:
                best = index
        return best

    def spot(self, piece: Rectangle, x: int, y: int, room: int) -> tuple[int, int] | None:
        """Where the piece would lie in a stretch, or None."""
        if piece.on_repeat and self.along:
            y = -(-y // self.along) * self.along
        if piece.centred and self.across:
            # Middle of the piece on the middle of a motif, the nearest to the right.
            lead = (self.across - piece.width) // 2
            moved = -(-(x - lead) // self.across) * self.across + lead
            room -= moved - x
            x = moved
        if piece.width > room:
            return None
        if self.faults:
            y = self._clear(piece, y)
        return x, y

    def _clear(self, piece: Rectangle, y: int) -> int:
        moved = True
        while moved:
            moved = False
            for start, end in self.faults:
                if y < end and start < y + piece.length:
                    y = end
                    if piece.on_repeat and self.along:
                        y = -(-y // self.along) * self.along
                    moved = True
        return y

    def lay(self, index: int, piece: Rectangle, x: int, y: int) -> None:
        left, low, room = self.xs[index]
        parts = []
        if x > left:
            parts.append((left, low, x - left))
        end = y + piece.length
        parts.append((x, end, piece.width))
        rest = left + room - x - piece.width
        if rest > 0:
            parts.append((x + piece.width, low, rest))
        self.xs[index : index + 1] = parts
        self._merge()
        self.top = max(self.top, end)

    def lift(self, index: int) -> None:
        """Give up a stretch: it rises to its lower neighbour."""
        xs = self.xs
        if len(xs) == 1:
            # Nothing fits on the bare width although each piece was tried on
            # it: the next repeat along the roll is a new start.
            x, y, room = xs[0]
            xs[0] = (x, y + max(1, self.along), room)
            return
        beside = [xs[i][1] for i in (index - 1, index + 1) if 0 <= i < len(xs)]
        x, _, room = xs[index]
        xs[index] = (x, min(beside), room)
        self._merge()

    def _merge(self) -> None:
        merged = [self.xs[0]]
        for x, y, room in self.xs[1:]:
            if merged[-1][1] == y:
                before = merged[-1]
                merged[-1] = (before[0], y, before[2] + room)
            else:
                merged.append((x, y, room))
        self.xs = merged


def _build(order: Sequence[_Turn], roll: _Roll, *, fit: bool) -> list[_Place]:
    """Fill the lowest stretch again and again.

    `order` is the pieces, and whether each goes to the other side of its
    stretch than the rule says; `fit`: a piece that fits the stretch goes
    before the order.
    """
    left = [
        (p, (p.width, p.length, p.on_repeat, p.centred), p.on_repeat or p.centred, other)
        for p, other, _, _ in order
    ]
    laid: list[_Place] = []
    faulty = bool(roll.faults)
    while left:
        index = roll.lowest()
        xs = roll.xs
        x, y, room = xs[index]
        before = xs[index - 1][1] if index else _NEVER
        after = xs[index + 1][1] if index + 1 < len(xs) else _NEVER
        best_score, number, at_x, at_y = -1, -1, x, y
        seen: set[tuple[int, int, bool, bool]] = set()
        for at, (piece, alike, bound, _) in enumerate(left):
            # Of pieces that are alike only the first can win.
            if alike[0] > room or alike in seen:
                continue
            seen.add(alike)
            new_x, new_y = x, y
            if bound or faulty:
                spot = roll.spot(piece, x, y, room)
                if spot is None:
                    continue
                new_x, new_y = spot
            # A piece that fills the stretch, or ends level with a neighbour,
            # leaves fewer steps; otherwise the order decides.
            end = new_y + alike[1]
            score = 0
            if fit and new_y == y:
                level = end in (before, after)
                score = 3 + level if alike[0] == room else int(level)
            if score > best_score:
                best_score, number, at_x, at_y = score, at, new_x, new_y
                if score == 4 or not fit:
                    break
        if number < 0:
            roll.lift(index)
            continue
        piece, _, _, other = left.pop(number)
        end = at_y + piece.length
        # Against the right neighbour where it ends level with it, or where
        # that is the taller one.
        right = end == after or (end != before and _NEVER > after > before)
        if not piece.centred and right != other:
            at_x = x + room - piece.width
        roll.lay(index, piece, at_x, at_y)
        laid.append((piece, at_x, at_y))
    return laid


def _build_plain(
    order: Sequence[_Turn], width: int, *, area: int, least: int, fit: bool, limit: float
) -> tuple[float, int, list[_Place]] | None:
    """As :func:`_build` on a plain roll, without calls; None once it is worse than a limit.

    A search spends all its time here.
    """
    left = list(order)
    laid: list[_Place] = []
    # The skyline as three lists: from where, how high, how wide.
    at_x, high, wide = [0], [0], [width]
    top, lost = 0, 0
    half = 0.5 / width
    while left:
        low = min(high)
        index = high.index(low)
        x, room = at_x[index], wide[index]
        before = high[index - 1] if index else _NEVER
        after = high[index + 1] if index + 1 < len(high) else _NEVER
        number, best = -1, -1
        if room < least:
            pass
        elif fit:
            to_before, to_after = before - low, after - low
            for at, (_, _, w, n) in enumerate(left):
                if w > room:
                    continue
                if w == room:
                    if n == to_before or n == to_after:  # noqa: SIM109 - half as fast as a tuple
                        number = at
                        break
                    if best < 3:
                        best, number = 3, at
                elif best < 1:
                    if n == to_before or n == to_after:  # noqa: SIM109
                        best, number = 1, at
                    elif best < 0:
                        best, number = 0, at
        else:
            for at, turn in enumerate(left):
                if turn[2] <= room:
                    number = at
                    break
        if number < 0:
            # Nothing fits: the stretch is given up and rises to its lower neighbour.
            to = before if before < after else after
            lost += room * (to - low)
            filled = -(-(area + lost) // width)
            if (top if top > filled else filled) + lost * half > limit:
                return None
            high[index] = to
        else:
            piece, other, w, n = left.pop(number)
            end = low + n
            right = end == after or (end != before and _NEVER > after > before)
            if w == room:
                high[index] = end
            elif right != other:
                at_x[index + 1 : index + 1] = [x + room - w]
                high[index + 1 : index + 1] = [end]
                wide[index] = room - w
                wide[index + 1 : index + 1] = [w]
                x += room - w
                index += 1
            else:
                at_x[index + 1 : index + 1] = [x + w]
                high[index:index] = [end]
                wide[index] = w
                wide[index + 1 : index + 1] = [room - w]
            laid.append((piece, x, low))
            if end > top:
                top = end
        # Stretches of one height are one stretch.
        if index + 1 < len(high) and high[index + 1] == high[index]:
            wide[index] += wide.pop(index + 1)
            del at_x[index + 1], high[index + 1]
        if index and high[index - 1] == high[index]:
            wide[index - 1] += wide.pop(index)
            del at_x[index], high[index]
    return top + lost * half, top, laid


def pack(
    pieces: Sequence[Rectangle],
    *,
    width: int,
    repeat_along: int = 0,
    repeat_across: int = 0,
    faults: Sequence[tuple[int, int]] = (),
    tries: int = 4000,
    seed: int = 1,
) -> Packing:
    """A short cutting plan for pieces on a roll.

    Parameters
    ----------
    pieces : sequence of Rectangle
        What is cut.
    width : int
        Of the roll between the selvedges. [mm]
    repeat_along, repeat_across : int, optional
        Pattern repeat; 0: none. [mm]
    faults : sequence of (int, int), optional
        Stretches of the roll, over its whole width, that no piece may touch. [mm]
    tries : int, optional
        Orders that are tried at most; the search stops when the bound is met.
    seed : int, optional
        Of the exchanges.

    Returns
    -------
    Packing
        The shortest plan found and the bound.

    Raises
    ------
    InputError
        A piece is wider than the roll, has no size, or cannot lie on the motif;
        two pieces have one id.

    Examples
    --------
    >>> tops = [Rectangle(id=str(i), width=600, length=700) for i in range(4)]
    >>> plan = pack(tops, width=1370)
    >>> plan.length, plan.proven
    (1400, True)
    """
    if width <= 0:
        raise InputError(
            "cloth width",
            given=f"{width} mm",
            allowed="> 0 mm",
            mend="take the usable width from the cloth's label",
        )
    if min(repeat_along, repeat_across) < 0:
        raise InputError(
            "repeat",
            given=f"{repeat_along} × {repeat_across} mm",
            allowed="≥ 0 mm",
            mend="take it from the cloth's label, 0 for a plain cloth",
        )
    seen: set[str] = set()
    for piece in pieces:
        if piece.id in seen:
            raise InputError(
                "piece", given=piece.id, allowed="each id once", mend="number the pieces"
            )
        seen.add(piece.id)
        if piece.width <= 0 or piece.length <= 0:
            raise InputError(
                f"piece {piece.id}",
                given=f"{piece.width} × {piece.length} mm",
                allowed="> 0 mm",
                mend="measure it with its seams",
            )
        if piece.width > width:
            raise InputError(
                f"piece {piece.id}",
                given=f"{piece.width} mm",
                allowed=f"at most the cloth, {width} mm",
                mend="turn the cloth, join two widths, or take a wider cloth",
            )
    spans = tuple(sorted((int(a), int(b)) for a, b in faults if b > a))
    bound = shortest_length(pieces, width=width)
    if not pieces:
        return Packing(laid=(), length=0, bound=0, tries=0)

    def fresh() -> _Roll:
        return _Roll(width, repeat_along, repeat_across, spans)

    for piece in pieces:
        if piece.centred and fresh().spot(piece, 0, 0, width) is None:
            raise InputError(
                f"piece {piece.id}",
                given=f"{piece.width} mm on a motif every {repeat_across} mm",
                allowed="a place on the roll with the motif in its middle",
                mend="leave the motif free across, or take a wider cloth",
            )

    orders = [
        sorted(pieces, key=lambda p: (-p.width, -p.length)),
        sorted(pieces, key=lambda p: (-p.length, -p.width)),
        sorted(pieces, key=lambda p: -p.width * p.length),
        sorted(pieces, key=lambda p: (not p.on_repeat, -p.width, -p.length)),
        sorted(pieces, key=lambda p: -(p.width + p.length)),
    ]
    area = sum(p.width * p.length for p in pieces)

    least = min(p.width for p in pieces)
    # Without a repeat there is nothing to lie on: the quick way does.
    bound_along = repeat_along > 0 and any(p.on_repeat for p in pieces)
    bound_across = repeat_across > 0 and any(p.centred for p in pieces)
    plain = not (spans or bound_along or bound_across)

    def tried(
        order: Sequence[_Turn], fit: bool, limit: float
    ) -> tuple[float, int, list[_Place]] | None:
        if plain:
            return _build_plain(order, width, area=area, least=least, fit=fit, limit=limit)
        roll = fresh()
        found = _build(order, roll, fit=fit)
        lost = sum(y * room for _, y, room in roll.xs) - area
        return roll.top + 0.5 * lost / width, roll.top, found

    best: list[_Place] = []
    best_length = 0
    starts: list[tuple[float, list[_Turn]]] = []
    count = 0
    for one in orders:
        count += 1
        sides = [(p, False, p.width, p.length) for p in one]
        made = tried(sides, True, math.inf)
        assert made is not None
        value, length, found = made
        starts.append((value, sides))
        if not best or length < best_length:
            best, best_length = found, length
        if best_length == bound:
            break
    # Exchanges: a worse plan is sometimes kept, less and less often, so that
    # the search leaves a plan that no single exchange betters.
    chance = random.Random(seed)
    starts.sort(key=lambda one: one[0])
    current, order = starts[0]
    fit = True
    start = count
    span = max(1, (tries - start) // max(1, round(tries / _ROUND)))
    while best_length > bound and count < tries and len(pieces) > 1:
        round_, at = divmod(count - start, span)
        if at == 0 and round_:
            # A fresh start from another order, so that no one dead end takes all.
            current, order = starts[round_ % len(starts)]
            fit = True
        heat = _HEAT * (1 - at / span) * current
        count += 1
        changed, new_fit = list(order), fit
        i, j = chance.randrange(len(changed)), chance.randrange(len(changed))
        kind = chance.random()
        if kind < 0.15:
            # All pieces of one size at once: they often lie together.
            size = changed[i][2:]
            moved = [turn for turn in changed if turn[2:] == size]
            changed = [turn for turn in changed if turn[2:] != size]
            changed[j:j] = moved
        elif kind < 0.525:
            changed[i], changed[j] = changed[j], changed[i]
        elif kind < 0.9:
            changed.insert(j, changed.pop(i))
        elif kind < 0.98:
            piece, other, w, n = changed[i]
            changed[i] = (piece, not other, w, n)
        else:
            new_fit = not fit
        # The throw that decides is made first, so that a plan can be given up early.
        limit = current - max(heat, 1e-9) * math.log(1.0 - chance.random())
        made = tried(changed, new_fit, limit)
        if made is None:
            continue
        value, length, found = made
        if length < best_length:
            best, best_length = found, length
        if value <= limit:
            current, order, fit = value, changed, new_fit
    laid = tuple(
        Laid(rectangle=piece, x=x, y=y)
        for piece, x, y in sorted(best, key=lambda one: (one[2], one[1]))
    )
    return Packing(laid=laid, length=best_length, bound=bound, tries=count)
