"""What places are worth, and how the whole is balanced, term by term.

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
from designkit.plan.layouts.poses import off_ahead, within_reach
from designkit.plan.layouts.scoring_pairs import ramp, relative, screen_of
from designkit.plan.layouts.shapes import Poses, outlines
from designkit.plan.layouts.terms import TERMS, weight_rule
from designkit.plan.layouts.things import SEATED, Thing

__all__ = ["balance_of", "place_terms", "symmetry_of", "weights_of"]

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
        out["socket"] = (2 * ramp(away, 1.2, 3.5) - 1) * (0.5 if role == "lamp" else 1.0)
    if role == "screen":
        out["glare"] = _glare(ground, poses)
    if role == "plant" and ground.light:
        away = _to_panes(ground.panes, poses)
        out["plant_light"] = 2 * ramp(away, 1.2, 3.5) - 1
    if max(thing.size[:2]) >= 0.9 and role not in ("armchair", "plant", "lamp"):
        askew = _askew(thing, ground, poses)
        if askew.any():
            out["square"] = -askew * (0.5 if role == "low table" else 1.0)
    ways = _in_the_way(thing, ground, poses)
    if ways.any():
        out["straight"] = -ways
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
    """A seat before the glass is at fault only where its back stands above the sill.

    Behind a sill as high as the back, a sofa has a wall at its back and hides no glass.
    """
    worst = np.zeros(len(poses))
    x, y = _behind(poses, thing.size[1], 0.0)
    for pane in ground.panes:
        if thing.back_top <= pane.sill + 0.001:
            continue
        turned = -(poses.sin * -pane.inward[0] - poses.cos * -pane.inward[1])
        share = _before(pane, x, y, thing.size[0] / 2, 1.2)
        worst = np.maximum(worst, np.where(turned > 0.7, share, 0.0))
    return -worst


def _back_to_entrance(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """A back to the entrance is at fault only where a route runs close behind it.

    It does where the passage behind is narrow, or where one comes in close by.
    """
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
    fault = ramp(off, 150.0, 105.0) * ramp(away, 1.5, 6.0)
    behind = _gap_behind(thing, ground, poses)
    close = ((behind >= 0.5) & (behind <= 1.8)) | ((behind >= 0.5) & (away <= 3.0))
    return np.asarray(np.where(close, -fault, 0.0) + 0.4 * (off <= 100.0))


def _side_at_wall(thing: Thing, ground: Ground, poses: Poses) -> npt.NDArray[np.bool_]:
    """Whether the whole of a long side stands at a wall."""
    out = np.zeros(len(poses), bool)
    half, deep = thing.size[0] / 2, thing.size[1] / 2
    walls = ground.floor.boundary
    for side in (-1.0, 1.0):
        ends = [
            shapely.points(
                poses.x + side * half * poses.cos - end * deep * poses.sin,
                poses.y + side * half * poses.sin + end * deep * poses.cos,
            )
            for end in (-0.8, 0.0, 0.8)
        ]
        out |= np.all([shapely.distance(walls, at) <= 0.1 for at in ends], axis=0)
    return out


def _at_wall(thing: Thing, ground: Ground, poses: Poses) -> Array:
    gap = _gap_behind(thing, ground, poses)
    if thing.role == "sofa":
        free = np.where(gap < 0.85, -1.0 + 0.9 * (gap - 0.1), 0.45)
    else:
        free = np.full(len(poses), -1.0)
    at = np.where((gap <= 0.1) & (poses.wall >= 0), 1.0, free)
    if thing.role == "bed" and thing.size[0] < ground.value("plan.clear.bed_two"):
        at = np.maximum(at, np.where(_side_at_wall(thing, ground, poses), 0.5, -1.0))
    if thing.role == "console":  # behind a sofa it is at home
        at = np.maximum(at, 0.0)
    return at


def _askew(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """1 where a large straight-sided piece is square with no wall."""
    if thing.piece.shape == "circle":
        return np.zeros(len(poses))
    off = np.full(len(poses), 45.0)
    for face in ground.faces:
        if face.length < 0.5:  # a step of a curve gives no direction
            continue
        angle = np.degrees(np.arctan2(face.end[1] - face.start[1], face.end[0] - face.start[0]))
        off = np.minimum(off, np.abs((poses.turn - angle + 45.0) % 90.0 - 45.0))
    return ramp(off, 10.0, 2.0)


def _in_the_way(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Share of the straight way between two doors that a piece takes."""
    fault = np.zeros(len(poses))
    for lane, half, area in _lanes(ground):
        near = np.flatnonzero(within_reach(thing, area, poses))
        some = poses.take(near)
        for shape in thing.body if len(near) else ():
            away = np.asarray(shapely.distance(lane, outlines(shape, some)))
            fault[near] = np.maximum(fault[near], ramp(away, half - 0.2, half))
    return fault


def _lanes(ground: Ground) -> list[tuple[shapely.LineString, float, shapely.Polygon]]:
    """Straight lines between two ways out that run free through the empty floor."""
    if "lanes" not in ground.kept:
        half = ground.value("plan.route.main") / 2
        lanes = []
        outs = [way for way in ground.ways if way.out]
        for one, two in itertools.combinations(outs, 2):
            # One steps through a door before one turns.
            line = shapely.LineString(
                [
                    (w.centre[0] + half * w.inward[0], w.centre[1] + half * w.inward[1])
                    for w in (one, two)
                ]
            )
            if line.length > 1e-6 and ground.open_floor.covers(line.buffer(half - 0.05)):
                lanes.append((line, half, line.buffer(half)))
        ground.kept["lanes"] = lanes
    found: list[tuple[shapely.LineString, float, shapely.Polygon]] = ground.kept["lanes"]
    return found


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
        out = np.where(here, ramp(off, 0.05, 0.6), out)
    return out


def _dining(thing: Thing, ground: Ground, poses: Poses) -> Terms:
    out: Terms = {}
    windows = [p for p in ground.panes if p.window]
    if windows:
        out["dining_light"] = 2 * ramp(_to_panes(windows, poses), 1.2, 4.5) - 1
    kitchens = [w for w in ground.ways if w.kitchen]
    spots = [w.centre for w in kitchens]
    for room, outline in ground.outlines.items():
        if ground.home.rooms[room].use == "kitchen":
            spots.append((float(outline.centroid.x), float(outline.centroid.y)))
    if spots:
        away = np.min([np.hypot(poses.x - x, poses.y - y) for x, y in spots], axis=0)
        out["dining_kitchen"] = 2 * ramp(away, 2.0, 6.0) - 1
    if len(ground.outlets):
        away = np.min([np.hypot(poses.x - x, poses.y - y) for x, y in ground.outlets], axis=0)
        out["outlet"] = 2 * ramp(away, 0.15, 1.8) - 1
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
            side = 1.6 * ramp(off, 110.0, 150.0) - 0.6
            side = np.where(off < 40.0, 0.4, side)
            best = np.maximum(best, side * ramp(away, 1.5, 4.5))
        out["desk_light"] = best
    door = ground.entrance
    if door is not None:
        off = off_ahead(sitter, np.array([door.centre[0]]), np.array([door.centre[1]]))[:, 0]
        out["back_entrance"] = ramp(off, 110.0, 165.0) - 0.5
    out["wall"] = np.where(poses.wall >= 0, 0.5, 0.0)
    return out


def _bed(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Head at a wall without a window; the door in sight and not straight before the bed."""
    worth = np.where(poses.wall >= 0, 0.6, -1.0)
    if thing.size[0] < ground.value("plan.clear.bed_two"):
        # A single bed stands as well with its long side at a wall.
        worth = np.maximum(worth, np.where(_side_at_wall(thing, ground, poses), 0.3, -1.0))
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
        mirrored = ramp(off, 20.0, 60.0) * ramp(away, 2.0, 9.0)
        # Who watches looks into the window where the screen stands before it, back to it.
        back = poses.sin * pane.inward[0] - poses.cos * pane.inward[1] > 0.7
        shine = np.where(back, _before(pane, poses.x, poses.y, 0.6, 1.3), 0.0)
        fault = np.maximum(fault, np.maximum(mirrored, shine))
    return 0.3 - 1.3 * fault


def _glass(thing: Thing, ground: Ground, poses: Poses) -> Array:
    """Share of the glass that a piece hides, as a fault."""
    depth = ground.value("plan.window.before")
    fault = np.zeros(len(poses))
    wide = thing.size[0] / 2
    deep = thing.size[1] / 2
    top = thing.top
    screen = screen_of(ground) if thing.role == "screen" else None
    if screen is not None:  # it stands on the cabinet
        top, wide = top + screen[2], max(screen[0] / 2, wide if top > 0.6 else 0.0)
    for pane in ground.panes:
        if top <= pane.sill + 0.001:
            continue
        n = np.array(pane.inward)
        along = np.abs(poses.cos * -n[1] + poses.sin * n[0])
        across = np.sqrt(np.maximum(0.0, 1.0 - along**2))
        half = wide * along + deep * across
        out = wide * across + deep * along
        share = _before(pane, poses.x - n[0] * out, poses.y - n[1] * out, half, depth)
        hidden = share * 2 * half / pane.width
        high = (min(top, pane.head) - pane.sill) / (pane.head - pane.sill)
        fault += np.clip(hidden, 0.0, 1.0) * high * (1.5 if pane.view else 1.0)
    fault = np.clip(4.0 * fault, 0.0, 1.0)
    for leaf, sill in ground.window_leaves:
        if thing.top > sill + 0.001:
            near = np.flatnonzero(within_reach(thing, leaf, poses))
            some = poses.take(near)
            for shape in thing.body if len(near) else ():
                hit = shapely.intersects(leaf, outlines(shape, some))
                fault[near] = np.maximum(fault[near], np.where(hit, 0.4, 0.0))
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
        fault = np.maximum(fault, np.where(near, ramp(ahead - radius, 0.9, 2.2), 0.0))
        if thing.top > 1.2:
            panes = [p for p in ground.panes if p.view] or list(ground.panes)
            for pane in panes[:2]:
                line = shapely.LineString([way.centre, pane.centre])
                away = np.asarray(shapely.distance(line, shapely.points(poses.x, poses.y)))
                fault = np.maximum(fault, ramp(away - radius, 0.0, 0.4))
    return -fault


# --- the whole ------------------------------------------------------------------


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
    sides = [float(relative(places[sofa], places[k])[0][0, 0]) for k in chairs]
    lean = abs(sum(sides)) / len(sides)
    return float(np.clip(1.0 - lean / 0.9, -1.0, 1.0))
