"""What pairs of places are worth, term by term: talk, reach, facing, what belongs together.

Each term is a number from -1 to 1 (0: nothing to say) for every place of one
piece with every place of another.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from designkit.plan.layouts.ground import Ground
from designkit.plan.layouts.poses import off_ahead
from designkit.plan.layouts.shapes import Poses
from designkit.plan.layouts.things import SEATED, Thing
from designkit.plan.seating import width_distance

__all__ = ["apart_by", "pair_terms", "ramp", "relative", "screen_of"]

Array = npt.NDArray[np.float64]
Terms = dict[str, Array]


def ramp(value: Array, full: float, none: float) -> Array:
    """Share of a measure: 1 at `full`, 0 at `none`, straight between.

    Parameters
    ----------
    value : array
        The measure.
    full, none : float
        Where it is met wholly, and not at all; either may be the greater.

    Returns
    -------
    array
        0 to 1.
    """
    return np.asarray(np.clip((value - none) / (full - none), 0.0, 1.0))


def screen_of(ground: Ground) -> tuple[float, float, float] | None:
    """Size of the home's first screen.

    Parameters
    ----------
    ground : Ground
        The space.

    Returns
    -------
    tuple of float or None
        Width, depth and height; None where there is no screen. [m]
    """
    return next((p.size for p in ground.home.pieces.values() if p.kind == "screen"), None)


def apart_by(one: Thing, a: Poses, two: Thing, b: Poses) -> Array:
    """Gap between the outlines of two pieces in all places, by separating axes [m].

    Parameters
    ----------
    one, two : Thing
        Pieces, taken as their outer rectangles.
    a, b : Poses
        Their places, N and M.

    Returns
    -------
    array of shape (N, M)
        At a corner a little less than the true distance; below 0 they meet.
    """
    dx = b.x[None, :] - a.x[:, None]
    dy = b.y[None, :] - a.y[:, None]
    ac, as_, bc, bs = a.cos[:, None], a.sin[:, None], b.cos[None, :], b.sin[None, :]
    rc, rs = np.abs(ac * bc + as_ * bs), np.abs(ac * bs - as_ * bc)
    aw, ad = one.size[0] / 2, one.size[1] / 2
    bw, bd = two.size[0] / 2, two.size[1] / 2
    gap = np.abs(dx * ac + dy * as_) - (aw + bw * rc + bd * rs)
    gap = np.maximum(gap, np.abs(dy * ac - dx * as_) - (ad + bw * rs + bd * rc))
    gap = np.maximum(gap, np.abs(dx * bc + dy * bs) - (bw + aw * rc + ad * rs))
    return np.asarray(np.maximum(gap, np.abs(dy * bc - dx * bs) - (bd + aw * rs + ad * rc)))


def relative(a: Poses, b: Poses) -> tuple[Array, Array, Array]:
    """Places of one piece seen from those of another.

    Parameters
    ----------
    a, b : Poses
        Places, N and M.

    Returns
    -------
    tuple of array of shape (N, M)
        Places of b in the own coordinates of a [m], and the turn between the
        two, 0 to 180 [°].
    """
    dx = b.x[None, :] - a.x[:, None]
    dy = b.y[None, :] - a.y[:, None]
    ac, as_ = a.cos[:, None], a.sin[:, None]
    turn = np.abs((b.turn[None, :] - a.turn[:, None] + 180.0) % 360.0 - 180.0)
    return dx * ac + dy * as_, dy * ac - dx * as_, turn


def pair_terms(
    one: Thing, a: Poses, two: Thing, b: Poses, ground: Ground, *, things: Sequence[Thing]
) -> Terms:
    """What each pair of places of two pieces is worth.

    Parameters
    ----------
    one, two : Thing
        Pieces; which comes first does not matter.
    a, b : Poses
        Their places, N and M.
    ground : Ground
        The space.
    things : sequence of Thing
        All pieces, so that a table for each seat is shared out.

    Returns
    -------
    dict of str to array of shape (N, M)
        By term; empty where the two have nothing to do with each other.
    """
    if not len(a) or not len(b):
        return {}
    key = (one.role, two.role)
    out: Terms = {}
    if key in _PAIRS:
        out = _PAIRS[key](one, a, two, b, ground, things)
    elif (two.role, one.role) in _PAIRS:
        turned = _PAIRS[(two.role, one.role)](two, b, one, a, ground, things)
        out = {term: values.T for term, values in turned.items()}
    for first, second, flip in ((one, two, False), (two, one, True)):
        for relation in first.relations:
            if relation.other == second.id and relation.kind == "with":
                gap = apart_by(one, a, two, b)
                out["asked"] = out.get("asked", 0.0) + 2 * ramp(gap, 0.3, 2.0) - 1
            if relation.other == second.id and relation.kind == "faces":
                pa, pb = (b, a) if flip else (a, b)
                off = off_ahead(pa, pb.x, pb.y)
                worth = 2 * ramp(off, 5.0, 45.0) - 1
                out["asked"] = out.get("asked", 0.0) + (worth.T if flip else worth)
    return out


def _sofa_screen(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    screen = screen_of(g)
    real = screen is not None
    wide = screen[0] if screen is not None else two.size[0] * 0.75
    far = width_distance(wide, angle=g.value("plan.screen.subtense"))
    x, y, turn = relative(a, b)
    distance = np.hypot(x, y)
    reach = np.minimum(ramp(distance, 0.75 * far, 0.45 * far), ramp(distance, 1.6 * far, 2.6 * far))
    mine = np.degrees(np.arctan2(np.abs(x), np.maximum(-y, 1e-9)))
    mine = np.where(y >= 0, 180.0, mine)
    back = off_ahead(b, a.x, a.y).T
    worth = reach * ramp(mine, 10.0, 50.0) * ramp(back, 15.0, g.value("plan.screen.off_axis") + 15)
    most = 1.0 if real else 0.5
    share = 1.0 if one.role == "sofa" else 0.35
    out = {"screen": share * most * (1.6 * worth - 0.6)}
    if one.role == "sofa":
        out["aligned"] = np.where((turn > 175) & (y < 0), ramp(np.abs(x), 0.08, 0.4), 0.0)
    return out


def _sofa_table(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    low, high = g.value("plan.clear.sofa_table_min"), g.value("plan.clear.sofa_table_max")
    x, y, turn = relative(a, b)
    square = np.abs(np.sin(np.radians(turn)))
    deep = two.size[1] / 2 * np.sqrt(1 - square**2) + two.size[0] / 2 * square
    gap = -y - one.size[1] / 2 - deep
    good = np.minimum(ramp(gap, low - 1e-6, low - 0.1), ramp(gap, high + 0.005, high + 0.12))
    good = good * ramp(np.abs(x), 0.2, one.size[0] / 2 + 0.2)
    many = sum(thing.role == "low table" for thing in t)
    return {
        "reach": (2 * good - 1) / many,
        "aligned": np.where(good > 0.5, 0.5 * ramp(np.abs(x), 0.06, 0.3), 0.0),
    }


def _chair_table(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    x, y, _ = relative(a, b)
    gap = apart_by(one, a, two, b)
    ahead = ramp(np.degrees(np.arctan2(np.abs(x), np.maximum(-y, 1e-9))), 45.0, 100.0)
    good = np.minimum(ramp(gap, 0.5, 1.2), ramp(gap, 0.28, 0.1)) * np.where(y < 0, ahead, 0.0)
    return {"reach": 0.5 * (1.6 * good - 0.6)}


def _talk(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    near, far = g.value("plan.conversation.near"), g.value("plan.conversation.far")
    limit = g.value("plan.conversation.turn")
    distance = np.hypot(b.x[None, :] - a.x[:, None], b.y[None, :] - a.y[:, None])
    mine, yours = off_ahead(a, b.x, b.y), off_ahead(b, a.x, a.y).T
    holds = 1.0 - 0.5 * (distance - near) / (far - near)
    beyond = 0.5 * ramp(distance, far, far + 1.5)
    reach = np.where(distance <= far, holds, beyond)
    reach = np.where(distance <= near, ramp(distance, 1.1, 0.6), reach)
    # A chair at the end of a sofa is turned less to its middle than to its near seat.
    ease = ramp(np.maximum(mine, yours), limit + 10.0, 125.0) * ramp(
        (mine + yours) / 2, limit, 110.0
    )
    worth = 2 * reach * ease - 1
    out: Terms = {}
    if one.role == "armchair" and two.role == "armchair":
        x, y, turn = relative(a, b)
        beside = (turn < 5) & (np.abs(y) < 0.1) & (np.abs(x) < one.size[0] + 0.9)
        worth = np.where(beside, 0.8, worth)
        if one.item == two.item:
            out["pair"] = _mirrored(a, b) * ramp(distance, 2.6, 4.0) * 2 - 1
    out["talk"] = worth * (1.0 if "sofa" in (one.role, two.role) else 0.5)
    if one.role == "sofa" and two.role == "sofa" and one.item == two.item:
        out["pair"] = _mirrored(a, b) * ramp(distance, 3.0, 4.5) * 2 - 1
    return out


def _mirrored(a: Poses, b: Poses) -> Array:
    """1 where b is the mirror image of a in the line midway between them."""
    dx = b.x[None, :] - a.x[:, None]
    dy = b.y[None, :] - a.y[:, None]
    axis = 2 * np.degrees(np.arctan2(dy, dx)) + 180.0
    # A turn t has its front at t - 90; mirrored in the bisector it is axis - that.
    want = axis - (a.turn[:, None] - 90.0)
    off = np.abs((b.turn[None, :] - 90.0 - want + 180.0) % 360.0 - 180.0)
    return ramp(off, 3.0, 25.0)


def _beside(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    """A side table or a lamp beside a seat: shared out over all seats, the best counts most."""
    x, y, _ = relative(a, b)
    gap = apart_by(one, a, two, b)
    side = np.abs(x) > one.size[0] / 2
    level = ramp(np.abs(y), 0.35, one.size[1] / 2 + 0.3)
    good = np.where(side, ramp(gap, 0.12, 0.5) * level, 0.0)
    hosts = sum(thing.role in SEATED for thing in t)
    share = 1.0 if one.role == "sofa" else 0.9
    return {"mates": share * good - 0.5 / max(hosts, 1)}


def _bedside(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    x, y, _ = relative(a, b)
    gap = apart_by(one, a, two, b)
    head = y > one.size[1] / 2 - two.size[1] / 2 - 0.2
    good = np.where(head & (np.abs(x) > one.size[0] / 2), ramp(gap, 0.06, 0.3), 0.0)
    return {"mates": 2 * good - 1}


def _two_bedsides(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    x, y, _ = relative(a, b)
    bed = next((thing.size[0] for thing in t if thing.role == "bed"), 1.6)
    ok = (np.abs(y) < 0.06) & (np.abs(np.abs(x) - bed - 0.06 - one.size[0]) < 0.1)
    return {"pair": np.where(ok, 1.0, -1.0)}


def _desk_chair(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    x, y, turn = relative(a, b)
    front = -(one.size[1] / 2 + two.size[1] / 2)
    ok = (np.abs(x) < 0.3) & (np.abs(y - front) < 0.25) & (turn > 150.0)
    return {"mates": np.where(ok, 1.0, -1.0)}


def _dining_storage(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    gap = apart_by(one, a, two, b)
    x, y, _ = relative(a, b)
    line = np.minimum(np.abs(x), np.abs(y))
    return {
        "serve": 2 * ramp(gap, 1.6, 4.0) - 1,
        "aligned": np.where(gap < 2.2, 0.4 * ramp(line, 0.05, 0.3), 0.0),
    }


def _sofa_dining(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    gap = apart_by(one, a, two, b)
    x, y, _ = relative(a, b)
    inside = (y < 0) & (np.abs(x) < one.size[0] / 2) & (gap < 1.8)
    worth = np.where(inside, -1.0, 2 * ramp(gap, 1.4, 0.4) - 1)
    return {"zones": worth if one.role == "sofa" else 0.5 * worth}


def _sofa_console(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    x, y, _ = relative(a, b)
    back = (y > one.size[1] / 2) & (np.abs(x) < 0.2) & (apart_by(one, a, two, b) < 0.1)
    return {"mates": np.where(back & (a.wall[:, None] < 0), 1.0, 0.0)}


def _near_bed(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    gap = apart_by(one, a, two, b)
    return {"serve": 0.4 * (2 * ramp(gap, 1.2, 3.5) - 1)}


def _bed_desk(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    return {"zones": 2 * ramp(apart_by(one, a, two, b), 1.0, 0.3) - 1}


def _seat_books(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    gap = apart_by(one, a, two, b)
    return {"serve": 0.3 * (2 * ramp(gap, 1.5, 4.0) - 1)}


def _stool_at(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    x, y, _ = relative(a, b)
    front = -(one.size[1] / 2 + two.size[1] / 2)
    ok = (np.abs(x) < 0.3) & (np.abs(y - front) < 0.3)
    return {"mates": np.where(ok, 1.0, 0.0)}


_PAIRS = {
    ("sofa", "screen"): _sofa_screen,
    ("armchair", "screen"): _sofa_screen,
    ("bed", "screen"): _sofa_screen,
    ("sofa", "low table"): _sofa_table,
    ("armchair", "low table"): _chair_table,
    ("sofa", "armchair"): _talk,
    ("sofa", "sofa"): _talk,
    ("armchair", "armchair"): _talk,
    ("sofa", "side table"): _beside,
    ("armchair", "side table"): _beside,
    ("sofa", "lamp"): _beside,
    ("armchair", "lamp"): _beside,
    ("bed", "bedside table"): _bedside,
    ("bed", "lamp"): _beside,
    ("bedside table", "bedside table"): _two_bedsides,
    ("desk", "desk chair"): _desk_chair,
    ("desk", "seat"): _stool_at,
    ("piano", "seat"): _stool_at,
    ("dining", "storage"): _dining_storage,
    ("sofa", "dining"): _sofa_dining,
    ("armchair", "dining"): _sofa_dining,
    ("sofa", "console"): _sofa_console,
    ("bed", "tall storage"): _near_bed,
    ("bed", "storage"): _near_bed,
    ("bed", "desk"): _bed_desk,
    ("sofa", "tall storage"): _seat_books,
}
