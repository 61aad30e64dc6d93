"""The chance of a total: stratified draws of many uncertain sums.

Each sum is drawn once from each of n equally likely slices of its range (Latin
hypercube). The slices of different sums are matched up so that their rank
correlation is the one asked for ("everything runs high together"), by the
method of Iman and Conover; where none is asked for, chance correlation is
taken out the same way. The matching depends on the sums' names, the seed and
the correlation alone, so a price that changes redraws one column, and two
scenarios are drawn with the same luck.

Draws are float64 and an estimate; the mean in closed form always stands
beside them.
"""

from __future__ import annotations

import hashlib
import math
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from designkit.costs.ranges import (
    SHAPES,
    Floats,
    Range,
    Shape,
    beta_parameters,
    mean,
    triangular_values,
    variance,
)
from designkit.errors import InputError

__all__ = ["Item", "Outcome", "chance_words", "simulate", "together_ranks"]

Progress = Callable[[float], None]
Indices = npt.NDArray[np.intp]
FEWEST_DRAWS = 100
REST = "all smaller sums together"
_TABLE = 1025
_BLOCK = 25
_FEW = 4000  # fewer draws are sorted by comparing


@dataclass(frozen=True, kw_only=True)
class Item:
    """One uncertain sum of a total."""

    slot: str  # its name; equal names are drawn with the same luck
    over: Range
    factor: float = 1.0  # what one of it adds to the total (tax, contingency, fee) [1]


class _Store:
    """Arrays by key, the least used dropped when they take too many bytes."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.held: OrderedDict[Hashable, tuple[Floats, ...]] = OrderedDict()
        self.bytes = 0
        self.lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], tuple[Floats, ...]]) -> tuple[Floats, ...]:
        with self.lock:
            if key in self.held:
                self.held.move_to_end(key)
                return self.held[key]
        made = make()
        size = 0
        for array in made:
            array.flags.writeable = False
            size += array.nbytes
        with self.lock:
            if key not in self.held and size <= self.most:
                self.held[key] = made
                self.bytes += size
                while self.bytes > self.most:
                    _, old = self.held.popitem(last=False)
                    self.bytes -= sum(array.nbytes for array in old)
        return made


_matched = _Store(64_000_000)
_columns = _Store(64_000_000)


def _generator(seed: int, slot: str) -> np.random.Generator:
    # A stream of its own for each name: a new line leaves the others' luck alone.
    name = int.from_bytes(hashlib.sha256(slot.encode()).digest()[:8], "big")
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence([seed, name])))


def together_ranks(
    slots: Sequence[str], *, draws: int, seed: int = 7, together: float = 0.0
) -> tuple[Floats, float, float]:
    r"""Chances in (0, 1), one column a sum, with a given rank correlation.

    Each column holds one value of each of n equal slices. Normal scores in
    random order are freed of their chance correlation E = Q Qᵀ and given the
    wanted one, C = P Pᵀ, by

    .. math:: T = M\,Q^{-T} P^{T}                                       [1]_

    and the slices are put in the order of T. C is set to 2 sin(π r / 6), which
    is the correlation of normal scores whose rank correlation is r.

    Parameters
    ----------
    slots : sequence of str
        Names of the sums, each once.
    draws : int
        Number of draws n.
    seed : int
        Seed of the random order.
    together : float
        Rank correlation r between any two, 0 to 1.

    Returns
    -------
    tuple
        The chances, shape (n, k); the mean rank correlation reached; the
        largest deviation from r of any pair.

    Raises
    ------
    InputError
        A number is outside its range, a name stands twice, or there are too
        few draws for so many sums.

    References
    ----------
    .. [1] R. L. Iman, W. J. Conover, "A distribution-free approach to inducing
       rank correlation among input variables", Communications in Statistics –
       Simulation and Computation 11 (1982) 311–334.
    """
    return _ranks(slots, draws, seed, together, None)


def _ranks(
    slots: Sequence[str],
    draws: int,
    seed: int,
    together: float,
    rest: float | None,
    progress: Progress | None = None,
) -> tuple[Floats, float, float]:
    """As :func:`together_ranks`; `rest` is the last column's correlation of scores."""
    if not 0 <= together <= 1:
        raise InputError("together", given=together, allowed="0 to 1", mend="0: independent")
    if seed < 0:
        raise InputError("seed", given=seed, allowed="0 or more", mend="give a whole number")
    if len(set(slots)) != len(slots):
        twice = next(s for i, s in enumerate(slots) if s in slots[:i])
        raise InputError("slots", given=twice, allowed="each name once", mend="rename one")
    if draws < max(FEWEST_DRAWS, 4 * len(slots)):
        raise InputError(
            "draws",
            given=draws,
            allowed=f"{max(FEWEST_DRAWS, 4 * len(slots))} or more for {len(slots)} sums",
            mend="draw more often",
        )
    key = (tuple(slots), draws, seed, together, rest)
    chances, reached = _matched.get(
        key, lambda: _match(slots, draws, seed, together, rest, progress)
    )
    return chances, float(reached[0]), float(reached[1])


def _order(column: Floats) -> Indices:
    """Places of a column from its least to its largest value, ties as they stand.

    Two passes over 16 binary places of the value, which takes about half as
    long as comparing; values closer than 2e-10 of the width are ties.
    """
    low, high = float(column.min()), float(column.max())
    if high <= low or len(column) < _FEW:
        return np.argsort(column, kind="stable")
    whole = ((column - low) * ((2**32 - 1) / (high - low))).astype(np.uint32)
    first = np.argsort((whole & 0xFFFF).astype(np.uint16), kind="stable")
    upper = (whole >> 16).astype(np.uint16)[first]
    return first[np.argsort(upper, kind="stable")]


def _match(
    slots: Sequence[str],
    draws: int,
    seed: int,
    together: float,
    rest: float | None,
    progress: Progress | None,
) -> tuple[Floats, Floats]:
    from scipy.special import ndtri

    count = len(slots)

    def tell(share: float) -> None:
        if progress is not None:
            progress(share)

    scores = ndtri(np.arange(1, draws + 1) / (draws + 1))
    scores /= math.sqrt(float(np.mean(scores * scores)))
    table = np.empty((draws, count), order="F")
    jitter: list[np.random.Generator] = []
    for j, slot in enumerate(slots):
        luck = _generator(seed, slot)
        table[:, j] = scores[luck.permutation(draws)]
        jitter.append(luck)
        if j % _BLOCK == 0:
            tell(0.2 * j / count)
    if together == 1:
        # No matrix of this correlation has an inverse: all rise in step.
        for j in range(1, count):
            table[:, j] = table[:, 0]
    elif count > 1:
        wanted = np.full((count, count), 2 * math.sin(math.pi * together / 6))
        if rest is not None:
            wanted[-1, :] = wanted[:, -1] = rest
        np.fill_diagonal(wanted, 1.0)
        chance = np.linalg.cholesky(table.T @ table / draws)
        mix = np.linalg.solve(chance.T, np.linalg.cholesky(wanted).T)
        # `mix` is upper triangular: a column needs only those before it, so
        # from the last to the first the table can be overwritten in place.
        for start in reversed(range(0, count, _BLOCK)):
            end = min(start + _BLOCK, count)
            table[:, start:end] = table[:, :end] @ mix[:end, start:end]
            tell(0.4 - 0.2 * start / count)
    slices = np.arange(draws)
    for j in range(count):
        order = _order(table[:, j])
        table[order, j] = (slices + jitter[j].random(draws)) / draws
        if j % _BLOCK == 0:
            tell(0.4 + 0.5 * j / count)
    plain = count if rest is None else count - 1
    if plain < 2:
        return table, np.array([together, 0.0])
    middle = table.mean(axis=0)
    spread = table.T @ table / draws - np.outer(middle, middle)
    scale = np.sqrt(np.diag(spread))
    pairs = (spread / np.outer(scale, scale))[np.triu_indices(plain, 1)]
    return table, np.array([float(pairs.mean()), float(np.abs(pairs - together).max())])


def _beta_values(over: Range, chances: Floats) -> Floats:
    """Quantiles of the beta distribution from a table of its own chances.

    The exact inverse takes 1.5 µs a value; the table is good to 1e-5 of the width.
    """
    from scipy.special import betainc

    # Cosine spacing: close together at both ends, where the curve is flat.
    at = (1 - np.cos(np.linspace(0, math.pi, _TABLE))) / 2
    known = betainc(*beta_parameters(over), at)
    values: Floats = over.low + over.width * np.interp(chances, known, at)
    return values


def _at_or_below(limit: float) -> float:
    # Sums of many floats: the last bits must not decide.
    return limit + 1e-9 * max(1.0, abs(limit))


@dataclass(frozen=True, kw_only=True, eq=False)
class Outcome:
    """A total drawn many times; an estimate, with its seed and number of draws."""

    draws: int
    seed: int
    together: float  # the rank correlation asked for
    reached: float  # the mean rank correlation of the draws
    worst: float  # the largest deviation of a pair from what was asked for
    shape: Shape
    uncertain: int  # sums with a range
    mean: float
    deviation: float
    closed_mean: float  # in closed form
    closed_deviation: float | None  # in closed form; None unless independent
    priced: float  # all sums at their likely value
    totals: Floats  # sorted

    def chance(self, limit: float) -> float:
        """The share of the draws at or below a limit.

        Parameters
        ----------
        limit : float
            A cap, in the currency of the draws.

        Returns
        -------
        float
            How likely it is enough. [1]

        Raises
        ------
        InputError
            The limit is not finite.
        """
        if not math.isfinite(limit):
            raise InputError("limit", given=limit, allowed="a finite number", mend="write the cap")
        return float(np.searchsorted(self.totals, _at_or_below(limit), side="right")) / self.draws

    def quantile(self, chance: float) -> float:
        """The total that is enough with a given chance.

        Parameters
        ----------
        chance : float
            0.8 for enough in 8 of 10. [1]

        Returns
        -------
        float
            In the currency of the draws.

        Raises
        ------
        InputError
            The chance is not between 0 and 1.
        """
        if not 0 <= chance <= 1:
            raise InputError("chance", given=chance, allowed="0 to 1", mend="0.8 for 8 of 10")
        # The totals are sorted: the two beside the place are all that numpy needs.
        at = chance * (self.draws - 1)
        low = math.floor(at)
        return float(np.quantile(self.totals[low : low + 2], at - low))

    @property
    def p10(self) -> float:
        """One in ten ends below."""
        return self.quantile(0.1)

    @property
    def p50(self) -> float:
        """Half end below."""
        return self.quantile(0.5)

    @property
    def p80(self) -> float:
        """Eight in ten end below."""
        return self.quantile(0.8)

    @property
    def chance_of_priced(self) -> float:
        """The chance that the sum of the likely values is enough."""
        return self.chance(self.priced)

    def twenty(self) -> tuple[float, ...]:
        """Twenty equally likely totals: the middles of twenty equal slices."""
        return tuple(self.quantile((i + 0.5) / 20) for i in range(20))

    def of_twenty(self, limit: float) -> int:
        """How many of the twenty stay at or below a limit.

        Parameters
        ----------
        limit : float
            A cap, in the currency of the draws.

        Returns
        -------
        int
            0 to 20.
        """
        return sum(total <= _at_or_below(limit) for total in self.twenty())

    def curve(
        self, *, points: int = 161, low: float | None = None, high: float | None = None
    ) -> tuple[tuple[float, float], ...]:
        """Sums and the chance that each is enough, evenly spaced over the draws.

        Parameters
        ----------
        points : int, optional
            How many sums.
        low, high : float, optional
            The first and the last sum; by default the least and the largest draw.

        Returns
        -------
        tuple of (float, float)
            Sum and chance. [currency, 1]

        Raises
        ------
        InputError
            Fewer than two points.
        """
        if points < 2:
            raise InputError("points", given=points, allowed="2 or more", mend="ask for more")
        start = float(self.totals[0]) if low is None else low
        end = float(self.totals[-1]) if high is None else high
        sums = np.linspace(start, end, points)
        chances = np.searchsorted(self.totals, sums, side="right") / self.draws
        return tuple(zip(sums.tolist(), chances.tolist(), strict=True))


def chance_words(outcome: Outcome, *, limit: float) -> str:
    """The chance of a limit as a count of twenty, never "always" or "never".

    Parameters
    ----------
    outcome : Outcome
        The draws.
    limit : float
        The cap. [currency]

    Returns
    -------
    str
        As "19 of 20".
    """
    count = outcome.of_twenty(limit)
    if outcome.totals[0] == outcome.totals[-1]:
        return "20 of 20" if count else "0 of 20"
    if count == 20:
        return "more than 19 of 20"
    return "fewer than 1 of 20" if count == 0 else f"{count} of 20"


def _largest(items: Sequence[Item], shape: Shape, most: int) -> tuple[str, ...]:
    sizes: dict[str, float] = {}
    for item in items:
        size = item.factor**2 * variance(item.over, shape=shape)
        sizes[item.slot] = max(size, sizes.get(item.slot, 0.0))
    if len(sizes) <= most:
        return tuple(sizes)
    chosen = set(sorted(sizes, key=lambda slot: -sizes[slot])[:most])
    return tuple(slot for slot in sizes if slot in chosen)


def simulate(
    items: Sequence[Item],
    *,
    fixed: float = 0.0,
    draws: int = 10_000,
    seed: int = 7,
    together: float = 0.0,
    shape: Shape = "triangular",
    slots: Sequence[str] | None = None,
    most_columns: int = 400,
    progress: Progress | None = None,
) -> Outcome:
    """Draw a total many times.

    Parameters
    ----------
    items : sequence of Item
        The uncertain sums.
    fixed : float
        What is added without doubt. [currency]
    draws : int
        Number of draws.
    seed : int
        Seed; the same seed gives the same draws.
    together : float
        Rank correlation between any two sums, 0 to 1: 0 is independent, 1 is
        everything runs high together.
    shape : str
        "triangular" or "beta".
    slots : sequence of str, optional
        The names that the draws are laid out for, so that several totals share
        them; by default the names of the items.
    most_columns : int
        Beyond so many sums the smaller ones are drawn as one normal sum with
        their mean and deviation in closed form.
    progress : callable, optional
        Told the share that is done, 0 to 1, while the draws are made.

    Returns
    -------
    Outcome
        The draws, sorted, with mean, deviation and closed forms.

    Raises
    ------
    InputError
        A number is outside its range, or a name stands twice.
    """
    if shape not in SHAPES:
        raise InputError("shape", given=shape, allowed=", ".join(SHAPES), mend="use one of these")
    if not math.isfinite(fixed):
        raise InputError("fixed", given=fixed, allowed="a finite number", mend="write the sum")
    names = [item.slot for item in items]
    if len(set(names)) != len(names):
        twice = next(s for i, s in enumerate(names) if s in names[:i])
        raise InputError("items", given=twice, allowed="each name once", mend="rename one")
    open_ = [item for item in items if item.over.width > 0]
    for item in items:
        if not math.isfinite(item.factor) or item.factor < 0:
            raise InputError(
                f"factor of {item.slot}", given=item.factor, allowed=">= 0", mend="give the factor"
            )
        if item.over.width == 0:
            fixed += item.factor * item.over.likely
    laid = list(_largest(open_, shape, most_columns) if slots is None else slots)
    means = [item.factor * mean(item.over, shape=shape) for item in open_]
    spreads = [item.factor * math.sqrt(variance(item.over, shape=shape)) for item in open_]

    index = {slot: j for j, slot in enumerate(laid)}
    small = [i for i, item in enumerate(open_) if item.slot not in index]
    rest: float | None = None
    total = np.full(draws, fixed)
    reached = worst = 0.0
    if small:
        index[REST] = len(laid)
        laid.append(REST)
        sum_ = math.fsum(spreads[i] for i in small)
        squares = math.fsum(spreads[i] ** 2 for i in small)
        # A sum of many goes closer with each other sum than any of its parts.
        # Rounded down, so that a small price that moves keeps the matching.
        score = 2 * math.sin(math.pi * together / 6)
        rest = math.floor(100 * score * sum_ / math.sqrt(squares + score * (sum_**2 - squares)))
        rest /= 100
    if open_:
        chances, reached, worst = _ranks(laid, draws, seed, together, rest, progress)
        layout = (tuple(laid), draws, seed, together, rest)
        for item in open_:
            if item.slot in index:
                column = _column(layout, chances, index[item.slot], item.over, shape)
                total += item.factor * column
        if small:
            from scipy.special import ndtri

            deviation = math.sqrt(squares + together * (sum_**2 - squares))
            total += math.fsum(means[i] for i in small)
            total += deviation * ndtri(chances[:, index[REST]])
    total.sort()
    total.flags.writeable = False
    if progress is not None:
        progress(1.0)
    independent = together == 0 or len(open_) < 2
    return Outcome(
        draws=draws,
        seed=seed,
        together=together,
        reached=reached,
        worst=worst,
        shape=shape,
        uncertain=len(open_),
        mean=float(total.mean()),
        deviation=float(total.std()),
        closed_mean=fixed + math.fsum(means),
        closed_deviation=math.sqrt(math.fsum(s * s for s in spreads)) if independent else None,
        priced=fixed + math.fsum(item.factor * item.over.likely for item in open_),
        totals=total,
    )


def _column(
    layout: tuple[tuple[str, ...], int, int, float, float | None],
    chances: Floats,
    j: int,
    over: Range,
    shape: Shape,
) -> Floats:
    def make() -> tuple[Floats]:
        values = triangular_values if shape == "triangular" else _beta_values
        return (values(over, chances[:, j]),)

    return _columns.get((layout, j, over, shape), make)[0]
