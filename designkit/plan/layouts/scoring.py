"""What places and pairs of places are worth, term by term.

Each term is a number from -1 to 1 (0: nothing to say), times its weight from
the rules. Terms of one place and of two places go into the tables that the
search proves; terms of the whole layout order the options that are shown.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from designkit.plan.layouts.ground import Ground, Pane
from designkit.plan.layouts.poses import off_ahead
from designkit.plan.layouts.shapes import Poses, outlines
from designkit.plan.layouts.terms import TERMS, weight_rule
from designkit.plan.layouts.things import SEATED, Thing
from designkit.plan.seating import width_distance

__all__ = ["apart_by", "pair_terms", "place_terms", "weights_of"]

Array = npt.NDArray[np.float64]
Terms = dict[str, Array]


def weights_of(ground: Ground) -> Mapping[str, float]:
    """The weight of every term, the project's own before the reference.

    Parameters
    ----------
    ground : Ground
        The space.

    Returns
    -------
    mapping of str to float
        By the term's id.
    """
    return {term.id: ground.value(weight_rule(term.id)) for term in TERMS}


def _ramp(value: Array, full: float, none: float) -> Array:
    """1 at `full`, 0 at `none`, straight between."""
    return np.asarray(np.clip((value - none) / (full - none), 0.0, 1.0))


def _behind(poses: Poses, depth: float, distance: float) -> tuple[Array, Array]:
    """A point behind each place."""
    far = depth / 2 + distance
    return poses.x - poses.sin * far, poses.y + poses.cos * far


def _gap_behind(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Free distance from the middle of the back to the wall behind, 3 m at most."""
    a = np.stack(_behind(poses, thing.size[1], 0.0), axis=1)
    b = np.stack(_behind(poses, thing.size[1], 3.0), axis=1)
    rays = shapely.linestrings(np.stack([a, b], axis=1))
    hit = shapely.intersection(rays, ground.floor.boundary)
    away = shapely.distance(hit, shapely.points(a))
    return np.asarray(np.where(np.isnan(away), 3.0, away))


# --- one place -------------------------------------------------------------------


def place_terms(thing: Thing, ground: Ground, poses: Poses) -> Terms:
    """What each place of one piece is worth by itself.

    Parameters
    ----------
    thing : Thing
        The piece.
    ground : Ground
        The space.
    poses : Poses
        Its places.

    Returns
    -------
    dict of str to array
        A number a place, by term.
    """
    out: Terms = {}
    if not len(poses):
        return out
    role = thing.role
    if role in SEATED:
        share = 1.0 if role == "sofa" else 0.5
        out["view"] = share * _view(thing, ground, poses)
        out["back_window"] = share * _back_to_window(thing, ground, poses)
        out["back_entrance"] = share * _back_to_entrance(thing, ground, poses)
    if thing.has_back and role != "desk":
        out["wall"] = _at_wall(thing, ground, poses)
    if role in ("sofa", "bed", "screen", "storage", "piano", "console"):
        out["centred"] = _centred(thing, ground, poses)
    if role == "dining":
        out.update(_dining(thing, ground, poses))
    if role == "desk":
        out.update(_desk(thing, ground, poses))
    if role == "bed":
        out["bed_place"] = _bed(thing, ground, poses)
    if role in ("screen", "desk", "lamp") and len(ground.sockets):
        away = np.hypot(
            poses.x[:, None] - ground.sockets[None, :, 0],
            poses.y[:, None] - ground.sockets[None, :, 1],
        ).min(axis=1)
        out["socket"] = (2 * _ramp(away, 1.2, 3.5) - 1) * (0.5 if role == "lamp" else 1.0)
    if role == "screen":
        out["glare"] = _glare(ground, poses)
    if role == "plant" and ground.light:
        away = _to_panes(ground.panes, poses)
        out["plant_light"] = 2 * _ramp(away, 1.2, 3.5) - 1
    glass = _glass(thing, ground, poses)
    if glass.any():
        out["glass"] = glass
    sight = _first_sight(thing, ground, poses)
    if sight.any():
        out["first_sight"] = sight
    return out


def _points(pane: Pane, count: int = 7) -> Array:
    t = (np.arange(count) + 0.5)[:, None] / count
    return np.array(pane.left) * (1 - t) + np.array(pane.right) * t + 0.01 * np.array(pane.inward)


def _to_panes(panes: Sequence[Pane], poses: Poses) -> Array:
    every = [
        np.hypot(poses.x - p.centre[0], poses.y - p.centre[1]) - p.width / 2 * 0.5 for p in panes
    ]
    return np.asarray(np.maximum(np.min(every, axis=0), 0.0))


def _view(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Share of the windows worth looking at that lies within the view and is not round a corner."""
    panes = [p for p in ground.panes if p.view]
    worth = 1.0
    if not panes:
        panes, worth = [p for p in ground.panes if p.window], 0.6
    if not panes:
        return np.zeros(len(poses))
    wished = {
        w.end
        for w in ground.home.brief.wishes.values()
        if w.kind == "view" and w.start in (thing.id, thing.item)
    }
    ahead = ground.value("plan.view.ahead")
    total = np.zeros(len(poses))
    most = 0.0
    eyes = np.stack([poses.x, poses.y], axis=1)
    convex = ground.open_floor.convex_hull.area - ground.open_floor.area < 1e-6
    for pane in panes:
        pts = _points(pane)
        seen = off_ahead(poses, pts[:, 0], pts[:, 1]) <= ahead
        if not convex and seen.any():
            i, j = np.nonzero(seen)
            lines = shapely.linestrings(np.stack([eyes[i], pts[j]], axis=1))
            seen[i, j] = shapely.covers(ground.open_floor, lines)
        size = pane.width * (pane.head - pane.sill) * (2.0 if pane.id in wished else 1.0)
        total += seen.mean(axis=1) * size
        most = max(most, size) if not wished or pane.id in wished else most
    # As much as the best window alone is enough; what the brief asks for counts twice.
    worth *= 2.0 if wished else 1.0
    return np.asarray(worth * (2 * np.clip(total / max(most, 1e-9), 0.0, 1.0) - 1.0))


def _before(pane: Pane, x: Array, y: Array, half: Array | float, depth: float) -> Array:
    """Share of a width at points that lies before a window, within a depth of it."""
    (ax, ay), (bx, by) = pane.left, pane.right
    ux, uy = (bx - ax) / pane.width, (by - ay) / pane.width
    t = (x - ax) * ux + (y - ay) * uy
    off = (x - ax) * pane.inward[0] + (y - ay) * pane.inward[1]
    cover = np.minimum(t + half, pane.width) - np.maximum(t - half, 0.0)
    near = (off >= -0.01) & (off <= depth)
    return np.where(near, np.clip(cover / np.maximum(2 * half, 1e-9), 0.0, 1.0), 0.0)


def _back_to_window(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """A seat with its back to the glass is exposed, unless the sill is above its back."""
    worst = np.zeros(len(poses))
    x, y = _behind(poses, thing.size[1], 0.0)
    for pane in ground.panes:
        if pane.sill >= thing.back_top - 0.02:
            continue
        turned = -(poses.sin * -pane.inward[0] - poses.cos * -pane.inward[1])
        share = _before(pane, x, y, thing.size[0] / 2, 1.2)
        worst = np.maximum(worst, np.where(turned > 0.7, share, 0.0))
    return -worst


def _back_to_entrance(thing: Thing, ground: Ground, poses: Poses) -> Array:
    door = ground.entrance
    if door is None:
        return np.zeros(len(poses))
    # In a space of several rooms one comes in by the passage that is seen first.
    here = [w for w in ground.ways if not w.out] if len(ground.space.rooms) > 1 else []
    spots = [door.centre, *(w.centre for w in here)]
    if len(ground.rooms) < len(ground.space.rooms) and here:
        spots = [w.centre for w in here]
    off = np.full(len(poses), 180.0)
    away = np.full(len(poses), np.inf)
    for x, y in spots:
        off = np.minimum(off, off_ahead(poses, np.array([x]), np.array([y]))[:, 0])
        away = np.minimum(away, np.hypot(poses.x - x, poses.y - y))
    fault = _ramp(off, 150.0, 105.0) * _ramp(away, 1.5, 6.0)
    behind = _gap_behind(thing, ground, poses)
    close = (behind >= 0.9) & (behind <= 1.8)
    return np.where(close, 0.4, 1.0) * -fault + 0.4 * (off <= 100.0)


def _at_wall(thing: Thing, ground: Ground, poses: Poses) -> Array:
    gap = _gap_behind(thing, ground, poses)
    if thing.role == "sofa":
        free = np.where(gap < 0.85, -1.0 + 0.9 * (gap - 0.1), 0.45)
    else:
        free = np.full(len(poses), -1.0)
    at = np.where((gap <= 0.1) & (poses.wall >= 0), 1.0, free)
    if thing.role == "console":  # behind a sofa it is at home
        at = np.maximum(at, 0.0)
    return at


def _centred(thing: Thing, ground: Ground, poses: Poses) -> Array:
    out = np.zeros(len(poses))
    for number, face in enumerate(ground.faces):
        here = poses.wall == number
        if not here.any():
            continue
        u = np.array(face.end) - np.array(face.start)
        u /= face.length
        t = (poses.x - face.start[0]) * u[0] + (poses.y - face.start[1]) * u[1]
        marks = [face.length / 2]
        marks += [(a + b) / 2 for a, b, kind in face.spans if kind == "window"]
        cuts = [0.0]
        for a, b, kind in face.spans:
            if kind != "window":
                cuts += [a, b]
        cuts.append(face.length)
        marks += [(a + b) / 2 for a, b in zip(cuts[::2], cuts[1::2])]
        off = np.min([np.abs(t - mark) for mark in marks], axis=0)
        out = np.where(here, _ramp(off, 0.05, 0.6), out)
    return out


def _dining(thing: Thing, ground: Ground, poses: Poses) -> Terms:
    out: Terms = {}
    windows = [p for p in ground.panes if p.window]
    if windows:
        out["dining_light"] = 2 * _ramp(_to_panes(windows, poses), 1.2, 4.5) - 1
    kitchens = [w for w in ground.ways if w.kitchen]
    spots = [w.centre for w in kitchens]
    for room, outline in ground.outlines.items():
        if ground.home.rooms[room].use == "kitchen":
            spots.append((float(outline.centroid.x), float(outline.centroid.y)))
    if spots:
        away = np.min([np.hypot(poses.x - x, poses.y - y) for x, y in spots], axis=0)
        out["dining_kitchen"] = 2 * _ramp(away, 2.0, 6.0) - 1
    if len(ground.outlets):
        away = np.min([np.hypot(poses.x - x, poses.y - y) for x, y in ground.outlets], axis=0)
        out["outlet"] = 2 * _ramp(away, 0.15, 1.8) - 1
    return out


def _desk(thing: Thing, ground: Ground, poses: Poses) -> Terms:
    """One sits at the desk's front and looks towards its back."""
    out: Terms = {}
    sitter = Poses(
        x=poses.x + poses.sin * (thing.size[1] / 2 + 0.3),
        y=poses.y - poses.cos * (thing.size[1] / 2 + 0.3),
        turn=poses.turn + 180.0,
        variant=poses.variant,
        wall=poses.wall,
    )
    windows = [p for p in ground.panes if p.window]
    if windows:
        best = np.full(len(poses), -1.0)
        for pane in windows:
            off = off_ahead(sitter, np.array([pane.centre[0]]), np.array([pane.centre[1]]))[:, 0]
            away = np.hypot(sitter.x - pane.centre[0], sitter.y - pane.centre[1])
            # Best from the side; straight ahead it dazzles, from behind one sits in the light.
            side = 1.6 * _ramp(off, 110.0, 150.0) - 0.6
            side = np.where(off < 40.0, 0.4, side)
            best = np.maximum(best, side * _ramp(away, 1.5, 4.5))
        out["desk_light"] = best
    door = ground.entrance
    if door is not None:
        off = off_ahead(sitter, np.array([door.centre[0]]), np.array([door.centre[1]]))[:, 0]
        out["back_entrance"] = _ramp(off, 110.0, 165.0) - 0.5
    out["wall"] = np.where(poses.wall >= 0, 0.5, 0.0)
    return out


def _bed(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Head at a wall without a window; the door in sight and not straight before the bed."""
    worth = np.where(poses.wall >= 0, 0.6, -1.0)
    x, y = _behind(poses, thing.size[1], 0.0)
    for pane in ground.panes:
        turned = -(poses.sin * -pane.inward[0] - poses.cos * -pane.inward[1])
        share = np.where(turned > 0.7, _before(pane, x, y, thing.size[0] / 2, 0.6), 0.0)
        worth -= share * (0.8 if pane.sill < thing.back_top else 0.4)
    door = ground.entrance
    if door is not None:
        off = off_ahead(poses, np.array([door.centre[0]]), np.array([door.centre[1]]))[:, 0]
        worth += np.where(off <= 100.0, 0.4, -0.3)
        dx, dy = door.centre[0] - poses.x, door.centre[1] - poses.y
        side = np.abs(dx * poses.cos + dy * poses.sin)
        facing = poses.sin * -door.inward[0] - poses.cos * -door.inward[1]
        worth -= np.where((facing > 0.8) & (side < thing.size[0] / 2) & (off < 90), 0.4, 0.0)
    return np.clip(worth, -1.0, 1.0)


def _glare(ground: Ground, poses: Poses) -> Array:
    """Windows that the screen mirrors to the seats, or that shine past it."""
    fault = np.zeros(len(poses))
    for pane in ground.panes:
        pts = _points(pane, 3)
        off = off_ahead(poses, pts[:, 0], pts[:, 1]).min(axis=1)
        away: Array = np.hypot(poses.x - pane.centre[0], poses.y - pane.centre[1])
        mirrored = _ramp(off, 20.0, 60.0) * _ramp(away, 2.0, 9.0)
        x, y = _behind(poses, 0.0, 0.3)
        shine = _before(pane, x, y, 0.6, 1.0)
        fault = np.maximum(fault, np.maximum(mirrored, shine))
    return 0.3 - 1.3 * fault


def _glass(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Share of the glass that a piece hides, as a fault."""
    depth = ground.value("plan.window.before")
    fault = np.zeros(len(poses))
    wide = thing.size[0] / 2
    deep = thing.size[1] / 2
    for pane in ground.panes:
        if thing.top <= pane.sill + 0.001:
            continue
        n = np.array(pane.inward)
        along = np.abs(poses.cos * -n[1] + poses.sin * n[0])
        across = np.sqrt(np.maximum(0.0, 1.0 - along**2))
        half = wide * along + deep * across
        out = wide * across + deep * along
        share = _before(pane, poses.x - n[0] * out, poses.y - n[1] * out, half, depth)
        hidden = share * 2 * half / pane.width
        high = (min(thing.top, pane.head) - pane.sill) / (pane.head - pane.sill)
        fault += np.clip(hidden, 0.0, 1.0) * high * (1.5 if pane.view else 1.0)
    fault = np.clip(4.0 * fault, 0.0, 1.0)
    for leaf, sill in ground.window_leaves:
        if thing.top > sill + 0.001:
            hit = np.zeros(len(poses), bool)
            for shape in thing.body:
                hit |= shapely.intersects(leaf, outlines(shape, poses))
            fault = np.maximum(fault, np.where(hit, 0.4, 0.0))
    return -fault


def _first_sight(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """What stands high, or near, between the entrance and the best window."""
    door = ground.entrance
    if door is None:
        return np.zeros(len(poses))
    spots = [w for w in ground.ways if not w.out and w.inward] or [door]
    if len(ground.rooms) == len(ground.space.rooms):
        spots = [door]
    fault = np.zeros(len(poses))
    radius = min(thing.size[0], thing.size[1]) / 2
    for way in spots[:2]:
        c = np.array(way.centre)
        rel = np.stack([poses.x, poses.y], axis=1) - c
        ahead = rel @ np.array(way.inward)
        side = np.abs(rel @ np.array([-way.inward[1], way.inward[0]]))
        near = (ahead > 0) & (side < 0.7 + radius)
        fault = np.maximum(fault, np.where(near, _ramp(ahead - radius, 0.9, 2.2), 0.0))
        if thing.top > 1.2:
            panes = [p for p in ground.panes if p.view] or list(ground.panes)
            for pane in panes[:2]:
                line = shapely.LineString([way.centre, pane.centre])
                away = np.asarray(shapely.distance(line, shapely.points(poses.x, poses.y)))
                fault = np.maximum(fault, _ramp(away - radius, 0.0, 0.4))
    return -fault


# --- two places ------------------------------------------------------------------


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


def _relative(a: Poses, b: Poses) -> tuple[Array, Array, Array]:
    """Places of b in the own coordinates of a, and the turn between them (0 to 180)."""
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
                out["asked"] = out.get("asked", 0.0) + 2 * _ramp(gap, 0.3, 2.0) - 1
            if relation.other == second.id and relation.kind == "faces":
                pa, pb = (b, a) if flip else (a, b)
                off = off_ahead(pa, pb.x, pb.y)
                worth = 2 * _ramp(off, 5.0, 45.0) - 1
                out["asked"] = out.get("asked", 0.0) + (worth.T if flip else worth)
    return out


def _sofa_screen(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    wide = next((p.size[0] for p in g.home.pieces.values() if p.kind == "screen"), 0.0)
    real = wide > 0.0
    wide = wide or two.size[0] * 0.75
    far = width_distance(wide, angle=g.value("plan.screen.subtense"))
    x, y, turn = _relative(a, b)
    distance = np.hypot(x, y)
    reach = np.minimum(
        _ramp(distance, 0.75 * far, 0.45 * far), _ramp(distance, 1.6 * far, 2.6 * far)
    )
    mine = np.degrees(np.arctan2(np.abs(x), np.maximum(-y, 1e-9)))
    mine = np.where(y >= 0, 180.0, mine)
    back = off_ahead(b, a.x, a.y).T
    worth = (
        reach * _ramp(mine, 10.0, 50.0) * _ramp(back, 15.0, g.value("plan.screen.off_axis") + 15)
    )
    most = 1.0 if real else 0.5
    share = 1.0 if one.role == "sofa" else 0.35
    out = {"screen": share * most * (1.6 * worth - 0.6)}
    if one.role == "sofa":
        out["aligned"] = np.where((turn > 175) & (y < 0), _ramp(np.abs(x), 0.08, 0.4), 0.0)
    return out


def _sofa_table(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    low, high = g.value("plan.clear.sofa_table_min"), g.value("plan.clear.sofa_table_max")
    x, y, turn = _relative(a, b)
    square = np.abs(np.sin(np.radians(turn)))
    deep = two.size[1] / 2 * np.sqrt(1 - square**2) + two.size[0] / 2 * square
    gap = -y - one.size[1] / 2 - deep
    good = np.minimum(_ramp(gap, low - 1e-6, low - 0.1), _ramp(gap, high + 0.005, high + 0.12))
    good = good * _ramp(np.abs(x), 0.2, one.size[0] / 2 + 0.2)
    many = sum(thing.role == "low table" for thing in t)
    return {
        "reach": (2 * good - 1) / many,
        "aligned": np.where(good > 0.5, 0.5 * _ramp(np.abs(x), 0.06, 0.3), 0.0),
    }


def _chair_table(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    x, y, _ = _relative(a, b)
    gap = apart_by(one, a, two, b)
    ahead = _ramp(np.degrees(np.arctan2(np.abs(x), np.maximum(-y, 1e-9))), 45.0, 100.0)
    good = np.minimum(_ramp(gap, 0.5, 1.2), _ramp(gap, 0.28, 0.1)) * np.where(y < 0, ahead, 0.0)
    return {"reach": 0.5 * (1.6 * good - 0.6)}


def _talk(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    near, far = g.value("plan.conversation.near"), g.value("plan.conversation.far")
    limit = g.value("plan.conversation.turn")
    distance = np.hypot(b.x[None, :] - a.x[:, None], b.y[None, :] - a.y[:, None])
    mine, yours = off_ahead(a, b.x, b.y), off_ahead(b, a.x, a.y).T
    holds = 1.0 - 0.5 * (distance - near) / (far - near)
    beyond = 0.5 * _ramp(distance, far, far + 1.5)
    reach = np.where(distance <= far, holds, beyond)
    reach = np.where(distance <= near, _ramp(distance, 1.1, 0.6), reach)
    # A chair at the end of a sofa is turned less to its middle than to its near seat.
    ease = _ramp(np.maximum(mine, yours), limit + 10.0, 125.0) * _ramp(
        (mine + yours) / 2, limit, 110.0
    )
    worth = 2 * reach * ease - 1
    out: Terms = {}
    if one.role == "armchair" and two.role == "armchair":
        x, y, turn = _relative(a, b)
        beside = (turn < 5) & (np.abs(y) < 0.1) & (np.abs(x) < one.size[0] + 0.9)
        worth = np.where(beside, 0.8, worth)
        if one.item == two.item:
            out["pair"] = _mirrored(a, b) * _ramp(distance, 2.6, 4.0) * 2 - 1
    out["talk"] = worth * (1.0 if "sofa" in (one.role, two.role) else 0.5)
    if one.role == "sofa" and two.role == "sofa" and one.item == two.item:
        out["pair"] = _mirrored(a, b) * _ramp(distance, 3.0, 4.5) * 2 - 1
    return out


def _mirrored(a: Poses, b: Poses) -> Array:
    """1 where b is the mirror image of a in the line midway between them."""
    dx = b.x[None, :] - a.x[:, None]
    dy = b.y[None, :] - a.y[:, None]
    axis = 2 * np.degrees(np.arctan2(dy, dx)) + 180.0
    # A turn t has its front at t - 90; mirrored in the bisector it is axis - that.
    want = axis - (a.turn[:, None] - 90.0)
    off = np.abs((b.turn[None, :] - 90.0 - want + 180.0) % 360.0 - 180.0)
    return _ramp(off, 3.0, 25.0)


def _beside(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    """A side table or a lamp beside a seat: shared out over all seats, the best counts most."""
    x, y, _ = _relative(a, b)
    gap = apart_by(one, a, two, b)
    side = np.abs(x) > one.size[0] / 2
    level = _ramp(np.abs(y), 0.35, one.size[1] / 2 + 0.3)
    good = np.where(side, _ramp(gap, 0.12, 0.5) * level, 0.0)
    hosts = sum(thing.role in SEATED for thing in t)
    share = 1.0 if one.role == "sofa" else 0.9
    return {"mates": share * good - 0.5 / max(hosts, 1)}


def _bedside(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    x, y, _ = _relative(a, b)
    gap = apart_by(one, a, two, b)
    head = y > one.size[1] / 2 - two.size[1] / 2 - 0.2
    good = np.where(head & (np.abs(x) > one.size[0] / 2), _ramp(gap, 0.06, 0.3), 0.0)
    return {"mates": 2 * good - 1}


def _two_bedsides(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    x, y, _ = _relative(a, b)
    bed = next((thing.size[0] for thing in t if thing.role == "bed"), 1.6)
    ok = (np.abs(y) < 0.06) & (np.abs(np.abs(x) - bed - 0.06 - one.size[0]) < 0.1)
    return {"pair": np.where(ok, 1.0, -1.0)}


def _desk_chair(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    x, y, turn = _relative(a, b)
    front = -(one.size[1] / 2 + two.size[1] / 2)
    ok = (np.abs(x) < 0.3) & (np.abs(y - front) < 0.25) & (turn > 150.0)
    return {"mates": np.where(ok, 1.0, -1.0)}


def _dining_storage(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    gap = apart_by(one, a, two, b)
    x, y, _ = _relative(a, b)
    line = np.minimum(np.abs(x), np.abs(y))
    return {
        "serve": 2 * _ramp(gap, 1.6, 4.0) - 1,
        "aligned": np.where(gap < 2.2, 0.4 * _ramp(line, 0.05, 0.3), 0.0),
    }


def _sofa_dining(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    gap = apart_by(one, a, two, b)
    x, y, _ = _relative(a, b)
    inside = (y < 0) & (np.abs(x) < one.size[0] / 2) & (gap < 1.8)
    worth = np.where(inside, -1.0, 2 * _ramp(gap, 1.4, 0.4) - 1)
    return {"zones": worth if one.role == "sofa" else 0.5 * worth}


def _sofa_console(
    one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]
) -> Terms:
    x, y, _ = _relative(a, b)
    back = (y > one.size[1] / 2) & (np.abs(x) < 0.2) & (apart_by(one, a, two, b) < 0.1)
    return {"mates": np.where(back & (a.wall[:, None] < 0), 1.0, 0.0)}


def _near_bed(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    gap = apart_by(one, a, two, b)
    return {"serve": 0.4 * (2 * _ramp(gap, 1.2, 3.5) - 1)}


def _bed_desk(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    return {"zones": 2 * _ramp(apart_by(one, a, two, b), 1.0, 0.3) - 1}


def _seat_books(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    gap = apart_by(one, a, two, b)
    return {"serve": 0.3 * (2 * _ramp(gap, 1.5, 4.0) - 1)}


def _stool_at(one: Thing, a: Poses, two: Thing, b: Poses, g: Ground, t: Sequence[Thing]) -> Terms:
    x, y, _ = _relative(a, b)
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


def balance_of(things: Sequence[Thing], places: Sequence[Poses], ground: Ground) -> float:
    """How evenly the bulk of the furniture is spread about the middle of the floor.

    Parameters
    ----------
    things : sequence of Thing
        Pieces.
    places : sequence of Poses
        One place each.
    ground : Ground
        The space.

    Returns
    -------
    float
        1 where its centre is that of the floor, -1 at half the room's width from it.
    """
    bulk = np.array([t.size[0] * t.size[1] * t.size[2] for t in things])
    if not bulk.sum():
        return 0.0
    x = float(sum(m * p.x[0] for m, p in zip(bulk, places)) / bulk.sum())
    y = float(sum(m * p.y[0] for m, p in zip(bulk, places)) / bulk.sum())
    middle = ground.region.centroid
    x0, y0, x1, y1 = ground.region.bounds
    off = np.hypot((x - middle.x) / (x1 - x0), (y - middle.y) / (y1 - y0))
    return float(np.clip(1.0 - 4.0 * off, -1.0, 1.0))


def symmetry_of(things: Sequence[Thing], places: Sequence[Poses]) -> float:
    """How well the seats round the first sofa balance about its axis.

    Parameters
    ----------
    things : sequence of Thing
        Pieces.
    places : sequence of Poses
        One place each.

    Returns
    -------
    float
        1 symmetric, -1 all on one side; 0 without armchairs.
    """
    sofa = next((k for k, t in enumerate(things) if t.role == "sofa"), None)
    chairs = [k for k, t in enumerate(things) if t.role == "armchair"]
    if sofa is None or not chairs:
        return 0.0
    sides = [float(_relative(places[sofa], places[k])[0][0, 0]) for k in chairs]
    lean = abs(sum(sides)) / len(sides)
    return float(np.clip(1.0 - lean / 0.9, -1.0, 1.0))


def each_pair(count: int) -> list[tuple[int, int]]:
    """All pairs of numbers below a count."""
    return list(itertools.combinations(range(count), 2))
