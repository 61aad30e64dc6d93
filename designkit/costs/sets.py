"""Sets of choices that no other set beats: one option a slot, exactly.

With whole costs and whole worths the sets that no other beats in both are
carried from slot to slot, and a set that is beaten is dropped [1]_. Nothing
rests on the tolerance of a floating-point solver, and one list answers every
cap. It is never longer than the sum of the worths.

References
----------
.. [1] H. Kellerer, U. Pferschy, D. Pisinger, "Knapsack Problems", Springer
   2004, chapter 11 (multiple choice) and section 3.4 (lists of undominated
   states); from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Sets", "undominated"]

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Sets:
    """Every undominated set: cost and worth rise together."""

    costs: Ints
    worths: Ints
    layers: tuple[tuple[Ints, Ints], ...]  # for each slot: option and place in the rest

    def options(self, place: int) -> tuple[int, ...]:
        """The option of each slot in the set at a place of the list.

        Parameters
        ----------
        place : int
            Where the set stands in the list.

        Returns
        -------
        tuple of int
            One number for each slot.
        """
        chosen = []
        for option, rest in self.layers:
            chosen.append(int(option[place]))
            place = int(rest[place])
        return tuple(chosen)

    def at(self, cap: int) -> int:
        """The place of the set that is worth most at or under a cap; −1: none.

        Parameters
        ----------
        cap : int
            The most that the set may cost, in whole steps.

        Returns
        -------
        int
            Its place in the list; −1 where none is under the cap.
        """
        return int(np.searchsorted(self.costs, cap, side="right")) - 1


def undominated(options: Sequence[Sequence[tuple[int, int]]]) -> Sets:
    """The sets that no other beats, one option a slot.

    Of two sets of equal cost and worth the one stays whose first differing
    slot has the earlier option, so that the same call gives the same set.

    Parameters
    ----------
    options : sequence of sequence of (int, int)
        For each slot its options: cost and worth.

    Returns
    -------
    Sets
        In rising order of cost and of worth.
    """
    costs, worths = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    layers: list[tuple[Ints, Ints]] = []
    # From the last slot to the first: the first slot's option is then the
    # leading one where two sets are alike.
    for offers in reversed(options):
        size = len(costs)
        cost = np.concatenate([costs + c for c, _ in offers])
        worth = np.concatenate([worths + w for _, w in offers])
        option = np.repeat(np.arange(len(offers), dtype=np.int64), size)
        rest = np.tile(np.arange(size, dtype=np.int64), len(offers))
        # lexsort is stable: equal sets stay in the order of the options.
        order = np.lexsort((-worth, cost))
        cost, worth = cost[order], worth[order]
        best = np.maximum.accumulate(worth)
        keep = np.ones(len(worth), dtype=bool)
        keep[1:] = worth[1:] > best[:-1]
        costs, worths = cost[keep], worth[keep]
        layers.append((option[order][keep], rest[order][keep]))
    return Sets(costs=costs, worths=worths, layers=tuple(reversed(layers)))
