"""A closer look round a layout: every piece 5 cm by 5 cm within 20 cm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from designkit.plan.layouts.flow import Flow
from designkit.plan.layouts.ground import Ground
from designkit.plan.layouts.leaf import Exact
from designkit.plan.layouts.poses import poses_from
from designkit.plan.layouts.search import Clock, Found, polished
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.tables import Tables, tables_of
from designkit.plan.layouts.things import Thing

__all__ = ["finer", "refined"]

STEP = 0.05
REACH = 0.20


def finer(
    thing: Thing, poses: Poses, p: int, ground: Ground, *, reach: float, step: float
) -> Poses:
    """Places round one place; what stands at a wall slides along it.

    Parameters
    ----------
    thing : Thing
        The piece.
    poses : Poses
        Its places.
    p : int
        The one to look round.
    ground : Ground
        The space.
    reach, step : float
        How far, and how finely. [m]

    Returns
    -------
    Poses
        The place itself comes first.
    """
    x, y, turn = float(poses.x[p]), float(poses.y[p]), float(poses.turn[p])
    wall = int(poses.wall[p])
    if thing.locked is not None:
        return poses.take(np.array([p]))
    count = round(reach / step)
    c, s = float(poses.cos[p]), float(poses.sin[p])
    raw = [(x, y, turn, wall)]
    for a in range(-count, count + 1):
        for b in range(-count, count + 1):
            if (a, b) == (0, 0) or (wall >= 0 and b):
                continue
            u, v = a * step, b * step
            raw.append((x + c * u - s * v, y + s * u + c * v, turn, wall))
    found = poses_from(thing, ground, raw)
    keep = found.variant == poses.variant[p]
    return found.take(keep)


def refined(
    tables: Tables,
    places: Sequence[int],
    ground: Ground,
    exact: Exact,
    *,
    clock: Clock,
    fast: bool = False,
) -> tuple[Tables, Found] | None:
    """A better layout of the fine places round a layout, by moving one or two pieces at a time.

    Parameters
    ----------
    tables : Tables
        Of the coarse places.
    places : sequence of int
        The layout.
    ground : Ground
        The space.
    exact : Exact
        Decides whole layouts.
    clock : Clock
        When to stop.
    fast : bool, optional
        Use compiled loops.

    Returns
    -------
    tuple of Tables and Found, or None
        None where nothing better is there.
    """
    here = [i for i, p in enumerate(places) if not tables.absent(i, p)]
    things = [tables.things[i] for i in here]
    small = [
        finer(thing, tables.poses[i], places[i], ground, reach=REACH, step=STEP)
        for i, thing in zip(here, things)
    ]
    if any(not len(poses) for poses in small):
        return None
    fine = tables_of(things, small, ground, fast=fast)
    flow = Flow(fine, ground, fast=fast)
    first = Found(places=tuple(0 for _ in things), score=fine.score([0] * len(things)))
    if first.score < 0 and first.score < -(1 << 50):
        return None
    polished(
        fine,
        flow,
        lambda chosen: exact.whole(fine, chosen).ok,
        first,
        clock=clock,
        likely=lambda chosen: exact.likely(fine, chosen),
    )
    return fine, first
