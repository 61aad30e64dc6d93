"""Options that truly differ: each is the best among those unlike the ones before."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.tables import Tables
from designkit.plan.layouts.things import HUBS, Thing

__all__ = ["alike_hub", "hubs_of", "unlike"]

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


def hubs_of(tables: Tables) -> tuple[int, int]:
    """The two pieces by which options are told apart; the same twice where there is one.

    Parameters
    ----------
    tables : Tables
        The tables.

    Returns
    -------
    tuple of int
        The first is the lower number.
    """
    loose = [
        i
        for i, thing in enumerate(tables.things)
        if thing.locked is None and not thing.optional and len(tables.poses[i]) > 1
    ]
    ranked = sorted(
        loose,
        key=lambda i: (
            HUBS.index(tables.things[i].role) if tables.things[i].role in HUBS else len(HUBS),
            i,
        ),
    )
    if not ranked:
        return (0, 0)
    first = ranked[0]
    # Of a second hub that is equal to the first nothing would be told.
    other = [i for i in ranked[1:] if tables.things[i].alike != tables.things[first].alike]
    if not other or tables.things[other[0]].role not in ("sofa", "bed", "dining", "desk", "piano"):
        return (first, first)
    return (min(first, other[0]), max(first, other[0]))


def alike_hub(thing: Thing, poses: Poses, x: float, y: float, turn: float, apart: float) -> Bools:
    """Places that count as the same: nearer than `apart`, with the same facing.

    Parameters
    ----------
    thing : Thing
        The hub.
    poses : Poses
        Its places.
    x, y, turn : float
        The place of an earlier option. [m], [°]
    apart : float
        [m]

    Returns
    -------
    array of bool
        One a place.
    """
    near = np.asarray(np.hypot(poses.x - x, poses.y - y) <= apart + 1e-9)
    if thing.symmetric:  # a table that is only turned is no other layout
        return near
    full = 360.0
    off = np.abs((poses.turn - turn + full / 2) % full - full / 2)
    if thing.piece.shape == "circle" and not thing.seats:
        return near
    return np.asarray(near & (off <= 45.0))


def unlike(
    tables: Tables,
    earlier: Sequence[Sequence[tuple[float, float, float] | None]],
    *,
    apart: float,
) -> Tables:
    """The tables with everything forbidden that is like an earlier option.

    Parameters
    ----------
    tables : Tables
        The tables.
    earlier : sequence of sequences
        For each earlier option the place (x, y, turn) of every piece; None
        where it is left out.
    apart : float
        Within which a hub counts as in the same place. [m]

    Returns
    -------
    Tables
        With pairs of the two hubs forbidden.
    """
    i, j = hubs_of(tables)
    out = tables
    for places in earlier:
        masks = []
        for k in (i, j):
            spot = places[k]
            if spot is None:
                masks.append(np.zeros(tables.count(k), bool))
                continue
            mask = alike_hub(tables.things[k], tables.poses[k], *spot, apart)
            masks.append(np.append(mask, False) if tables.things[k].optional else mask)
        both = masks[0] if i == j else masks[0][:, None] & masks[1][None, :]
        out = out.without(i, j, both)
    return out
