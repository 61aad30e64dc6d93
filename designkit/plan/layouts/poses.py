"""Candidate places of each piece: from walls, from what it belongs to, and a coarse grid.

Nothing is drawn by lot: equal pieces have equal sets, and a room that is
turned or mirrored has the turned or mirrored set.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError, LookupFailed
from designkit.model import Placement
from designkit.plan.layouts.ground import Face, Ground, front_of
from designkit.plan.layouts.shapes import Poses, outlines
from designkit.plan.layouts.things import Role, Thing

__all__ = [
    "MOST",
    "Sifted",
    "place_at",
    "poses_from",
    "poses_of",
    "sift",
    "within_reach",
]

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Raw = list[tuple[float, float, float, int]]  # x, y, turn, face

MOST = 300  # places a piece
GAP = 0.02  # [m] left between a back and its wall
SHY = 0.05  # [m] left between an end and a corner

# Which roles stand free on the floor, on what step and in how many turns.
FLOAT: Mapping[Role, tuple[float, int]] = {
    "sofa": (0.6, 4),
    "armchair": (0.8, 4),
    "dining": (0.35, 2),
    "desk": (0.7, 4),
    "low table": (0.9, 2),
    "side table": (0.9, 1),
    "seat": (0.7, 4),
    "lamp": (0.8, 1),
    "plant": (0.7, 1),
    "divider": (0.6, 2),
    "cot": (0.8, 4),
    "console": (0.9, 4),
}
WALLED = (
    "sofa",
    "armchair",
    "bed",
    "screen",
    "desk",
    "storage",
    "tall storage",
    "console",
    "piano",
    "cot",
    "seat",
    "side table",
    "plant",
    "lamp",
    "dining",
    "bedside table",
    "divider",
    "low table",
)


class Sifted:
    """Why candidate places of a piece were turned down: how many by what."""

    def __init__(self) -> None:
        self.tried = 0
        self.outside = 0
        self.door = 0
        self.use = 0
        self.safety = 0
        self.asked = 0
        self.kept = 0


def _poses(raw: Raw) -> Poses:
    array = np.array(raw, dtype=float).reshape(-1, 4)
    if len(array):
        # Equal places once, the first of them; to a tenth of a millimetre and degree.
        key = np.round(array[:, :3] * 1e4)
        key[:, 2] %= 360e4
        _, first = np.unique(key, axis=0, return_index=True)
        array = array[np.sort(first)]
    return Poses(
        x=array[:, 0],
        y=array[:, 1],
        turn=array[:, 2] % 360.0,
        variant=np.zeros(len(array), np.int64),
        wall=array[:, 3].astype(np.int64),
    )


def place_at(ground: Ground, placement: Placement, *, depth: float = 0.0) -> Poses:
    """A placement of the home as the one place of a piece.

    Parameters
    ----------
    ground : Ground
        The space.
    placement : Placement
        In the home's frame.
    depth : float, optional
        Of the piece, to tell the wall at its back; 0: no wall is told. [m]

    Returns
    -------
    Poses
        Of length 1.
    """
    ((x, y),) = ground.frame.inward(np.array([placement.at], dtype=float))
    turn = placement.rotation - ground.frame.angle
    wall = -1
    for number, face in enumerate(ground.faces if depth else ()):
        off = (turn - _toward(face.inward) + 180.0) % 360.0 - 180.0
        u = np.array(face.end) - np.array(face.start)
        rel = np.array([x, y]) - np.array(face.start)
        t = float(rel @ u) / face.length
        gap = float(rel @ np.array(face.inward)) - depth / 2
        if abs(off) < 3.0 and -0.02 <= gap <= 0.12 and 0.0 <= t <= face.length:
            wall = number
    return _poses([(float(x), float(y), turn, wall)])


def _toward(inward: tuple[float, float]) -> float:
    """The turn with which a piece looks in a direction (its front is at -y)."""
    turn = math.degrees(math.atan2(inward[1], inward[0])) + 90.0
    near = round(turn / 90.0) * 90.0
    return (near if abs(turn - near) < 1e-9 else turn) % 360.0


# --- walls ---------------------------------------------------------------------


def _along(face: Face, width: float, step: float) -> list[float]:
    """Positions along a wall for something so wide, the same from both ends."""
    low, high = width / 2 + SHY, face.length - width / 2 - SHY
    if high < low:
        return [face.length / 2]
    found = [low, high, face.length / 2]
    half = (high - low) / 2
    count = int(half / step)
    for k in range(1, count + 1):
        found += [face.length / 2 - k * step, face.length / 2 + k * step]
    cuts = [0.0]
    for a, b, _ in face.spans:
        # Centred on an opening, and just beside it.
        found += [(a + b) / 2, a - width / 2 - SHY, b + width / 2 + SHY]
        cuts += [a, b]
    cuts.append(face.length)
    found += [(a + b) / 2 for a, b in zip(cuts[::2], cuts[1::2])]
    return [t for t in found if low - 1e-9 <= t <= high + 1e-9]


def _from_walls(thing: Thing, ground: Ground, step: float) -> Raw:
    w, d, _ = thing.size
    raw: Raw = []
    turns: tuple[float, ...] = (0.0,)
    if thing.role in ("dining", "divider"):
        turns = (0.0, 90.0)
    elif thing.role == "desk":
        turns = (0.0, 180.0, 90.0, -90.0)
    for number, face in enumerate(ground.faces):
        if face.length < 0.25:
            continue
        (ax, ay), (bx, by) = face.start, face.end
        u = ((bx - ax) / face.length, (by - ay) / face.length)
        base = _toward(face.inward)
        for turn in turns:
            wide, deep = (w, d) if turn % 180.0 == 0.0 else (d, w)
            gaps: tuple[float, ...] = (GAP,)
            if thing.role in ("dining", "desk") and turn == 180.0:
                gaps = (0.95,)  # one sits between it and the wall
            if thing.role == "dining":
                gaps = (GAP, 0.95, 1.25)
            elif thing.role == "divider" and turn == 0.0:
                gaps = (0.9,)
            elif thing.role == "sofa":
                gaps = (GAP, 0.95)
            if face.length < wide and gaps[0] == GAP:
                gaps = (_gap_at(thing, ground, face, base + turn, deep), *gaps[1:])
            for gap in gaps:
                off = gap + deep / 2
                for t in _along(face, wide, step):
                    raw.append(
                        (
                            face.start[0] + u[0] * t + face.inward[0] * off,
                            face.start[1] + u[1] * t + face.inward[1] * off,
                            base + turn,
                            number if gap <= 0.3 and turn in (0.0, 90.0, -90.0) else -1,
                        )
                    )
    return raw


def _gap_at(thing: Thing, ground: Ground, face: Face, turn: float, deep: float) -> float:
    """The least gap to a short wall, or a step of a curved one: the ends stand off it."""
    gaps = (GAP, 0.06, 0.12, 0.2, 0.3)
    mid = ((face.start[0] + face.end[0]) / 2, (face.start[1] + face.end[1]) / 2)
    off = np.array(gaps) + deep / 2
    trial = Poses(
        x=mid[0] + face.inward[0] * off,
        y=mid[1] + face.inward[1] * off,
        turn=np.full(len(gaps), turn),
        variant=np.zeros(len(gaps), np.int64),
        wall=np.full(len(gaps), -1),
    )
    ok = np.ones(len(gaps), bool)
    for shape in thing.body:
        ok &= shapely.covers(ground.stand, outlines(shape, trial))
    return gaps[int(np.argmax(ok))] if ok.any() else GAP


def _corners(thing: Thing, ground: Ground) -> Raw:
    """Corners of the room, the piece turned to the middle."""
    w, d, _ = thing.size
    raw: Raw = []
    for face, after in zip(ground.faces, [*ground.faces[1:], *ground.faces[:1]]):
        if math.dist(face.end, after.start) > 1e-6:
            continue
        n = (face.inward[0] + after.inward[0], face.inward[1] + after.inward[1])
        long = math.hypot(*n)
        bend = face.inward[0] * after.inward[0] + face.inward[1] * after.inward[1]
        if long < 0.3 or abs(bend) > 0.7:
            continue
        n = (n[0] / long, n[1] / long)
        off = (w / 2 + d) * 0.75 if thing.piece.shape != "circle" else (w / 2 + SHY) * math.sqrt(2)
        at = (face.end[0] + n[0] * off, face.end[1] + n[1] * off)
        raw.append((at[0], at[1], _toward(n), -1))
    return raw


# --- the floor -----------------------------------------------------------------


def _directions(ground: Ground) -> list[float]:
    """Directions of walls within a quarter turn, the most wall first, three at most."""
    found: dict[float, float] = {}
    for face in ground.faces:
        if face.length < 0.6:
            continue
        angle = round(_toward(face.inward) % 90.0, 3) % 90.0
        for known in found:
            if min(abs(angle - known), 90.0 - abs(angle - known)) < 2.0:
                found[known] += face.length
                break
        else:
            found[angle] = face.length
    order = sorted(found, key=lambda a: (-round(found[a], 6), a))
    return order[:3] or [0.0]


def _on_floor(thing: Thing, ground: Ground, step: float, turns: int) -> Raw:
    raw: Raw = []
    x0, y0, x1, y1 = ground.region.bounds
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    nx, ny = int((x1 - x0) / 2 / step), int((y1 - y0) / 2 / step)
    angles: list[float] = []
    if thing.piece.shape == "circle" and not thing.seats and not thing.piece.chairs:
        angles = [0.0]
    else:
        for k, base in enumerate(_directions(ground)):
            if k and turns == 4 and thing.role != "sofa":
                continue
            angles += [base + 90.0 * t for t in range(4 if not thing.symmetric else 2)][:turns]
            if turns == 2 and not thing.symmetric:
                angles += [base + 180.0, base + 270.0]
    spots = [(cx + i * step, cy + j * step) for j in range(-ny, ny + 1) for i in range(-nx, nx + 1)]
    if thing.role == "dining":
        spots += [(float(x), float(y)) for x, y in ground.outlets]
        for room in ground.rooms:
            a, b, c, d = ground.outlines[room].bounds
            spots.append(((a + c) / 2, (b + d) / 2))
    raw += [(x, y, angle, -1) for x, y in spots for angle in angles]
    return raw


# --- what belongs to another piece ----------------------------------------------


def _offsets(
    thing: Thing, host: Thing, things: Sequence[Thing]
) -> list[tuple[float, float, float]]:
    """Places of a piece in the own coordinates of what it belongs to."""
    w, d, _ = thing.size
    hw, hd, _ = host.size
    role, to = thing.role, host.role
    low = next((t for t in things if t.role == "low table"), None)
    deep = 0.6 if low is None else low.size[1]
    wide = 1.0 if low is None else low.size[0]
    reach = 0.4
    if role == "low table" and to in ("sofa", "armchair"):
        return [(0.0, -(hd / 2 + reach + d / 2), 0.0)]
    if role == "armchair" and to == "sofa":
        front = -(hd / 2 + 2 * reach + deep + d / 2)
        middle = -(hd / 2 + reach + deep / 2)
        side = wide / 2 + reach + d / 2
        edge = max(side, hw / 2 + 0.1 - w / 2)
        return [
            (0.0, front, 180.0),
            (-(w / 2 + 0.15), front, 180.0),
            (w / 2 + 0.15, front, 180.0),
            (-side, middle, 90.0),
            (side, middle, -90.0),
            (-edge, middle - 0.55, 120.0),
            (edge, middle - 0.55, -120.0),
            (-(hw / 2 + d / 2 + 0.25), middle, 90.0),
            (hw / 2 + d / 2 + 0.25, middle, -90.0),
        ]
    if role == "sofa" and to == "sofa":
        front = -(hd / 2 + 2 * reach + deep + d / 2)
        middle = -(hd / 2 + reach + deep / 2)
        side = max(wide / 2 + reach, hw / 2 + 0.15) + d / 2
        return [(0.0, front, 180.0), (-side, middle, 90.0), (side, middle, -90.0)]
    if role in ("side table", "lamp") and to in ("sofa", "armchair"):
        away = hw / 2 + 0.03 + w / 2
        back = hd / 2 - d / 2 if role == "lamp" else 0.0
        return [(-away, back, 0.0), (away, back, 0.0)]
    if role in ("bedside table", "lamp") and to == "bed":
        away = hw / 2 + 0.03 + w / 2
        return [(-away, hd / 2 - d / 2, 0.0), (away, hd / 2 - d / 2, 0.0)]
    if role == "desk chair" and to == "desk":
        return [(0.0, -(hd / 2 + d / 2 + 0.01), 180.0)]
    if role == "seat" and to in ("desk", "piano"):
        return [(0.0, -(hd / 2 + d / 2 + 0.01), 180.0)]
    if role == "seat" and to == "bed":
        return [(0.0, -(hd / 2 + d / 2 + 0.02), 180.0)]
    if role == "console" and to == "sofa":
        return [(0.0, hd / 2 + d / 2 + GAP, 180.0)]
    if role == "plant" and to == "screen":
        away = hw / 2 + 0.1 + w / 2
        return [(-away, 0.0, 0.0), (away, 0.0, 0.0)]
    return []


def _beside(host: Poses, offsets: Sequence[tuple[float, float, float]]) -> Raw:
    c, s = host.cos, host.sin
    raw: Raw = []
    for k in range(len(host)):
        for x, y, turn in offsets:
            raw.append(
                (
                    float(host.x[k] + c[k] * x - s[k] * y),
                    float(host.y[k] + s[k] * x + c[k] * y),
                    float(host.turn[k]) + turn,
                    -1,
                )
            )
    return raw


def seeds_of(poses: Poses, worth: Array, *, most: int) -> npt.NDArray[np.int64]:
    """Places of a hub round which others are set: the best of each wall and each turn.

    Parameters
    ----------
    poses : Poses
        Of the hub.
    worth : array
        What each place is worth by itself.
    most : int
        About how many are wanted.

    Returns
    -------
    array of int
        Of places that are worth the same either all are there or none.
    """
    kind = poses.wall * 1000 + np.where(poses.wall < 0, np.round(poses.turn).astype(np.int64), 0)
    classes = np.unique(kind)
    each = max(2, most // max(1, len(classes)))
    keep = np.zeros(len(poses), bool)
    value = np.round(worth, 5)
    for one in classes:
        here = np.flatnonzero(kind == one)
        ranked = np.sort(value[here])[::-1]
        limit = ranked[min(each, len(ranked)) - 1]
        if len(ranked) > each and ranked[each] == limit and (ranked > limit).any():
            keep[here[value[here] > limit]] = True
        else:
            keep[here[value[here] >= limit]] = True
    return np.flatnonzero(keep)


# --- sifting -------------------------------------------------------------------


def sift(thing: Thing, ground: Ground, poses: Poses, why: Sifted | None = None) -> Poses:
    """Places where a piece can stand by itself, one for each way to use it.

    Parameters
    ----------
    thing : Thing
        The piece.
    ground : Ground
        The space.
    poses : Poses
        Candidates.
    why : Sifted, optional
        Counts what turned the others down.

    Returns
    -------
    Poses
        Within the walls, out of door swings, with the floor that its use needs.
    """
    why = why or Sifted()
    why.tried += len(poses)
    ok = np.ones(len(poses), bool)
    for shape in thing.body:
        left = np.flatnonzero(ok)
        ok[left] = shapely.covers(ground.stand, outlines(shape, poses.take(left)))
    out_of = poses.take(~ok)  # of those, which stand in a wall and which before a door
    inside = np.ones(len(out_of), bool)
    for shape in thing.body:
        left = np.flatnonzero(inside)
        inside[left] = shapely.covers(ground.open_floor, outlines(shape, out_of.take(left)))
    why.outside += int((~inside).sum())
    why.door += int(inside.sum())
    first = poses.take(ok)
    free = _before_doors(thing, ground, first)
    why.door += int((~free).sum())
    first = first.take(free)
    safe = _away_from_drops(thing, ground, first)
    why.safety += int((~safe).sum())
    first = first.take(safe)
    asked = _as_asked(thing, ground, first)
    why.asked += int((~asked).sum())
    first = first.take(asked)
    parts: list[Poses] = []
    fits = np.zeros(len(first), bool)
    for number, rooms in enumerate(thing.variants):
        good = np.ones(len(first), bool)
        for room in rooms:
            if room.free_of:
                made = outlines(room.shape, first)
                good &= shapely.covers(ground.open_floor, made)
        fits |= good
        kept = first.take(good)
        parts.append(
            Poses(
                x=kept.x,
                y=kept.y,
                turn=kept.turn,
                variant=np.full(len(kept), number, np.int64),
                wall=kept.wall,
            )
        )
    why.use += int((~fits).sum())
    out = Poses(
        **{
            name: np.concatenate([getattr(part, name) for part in parts])
            for name in ("x", "y", "turn", "variant", "wall")
        }
    )
    why.kept += len(out)
    return out


def _before_doors(thing: Thing, ground: Ground, poses: Poses) -> Bools:
    """Places that leave enough of each door free, the piece alone."""
    ok = np.ones(len(poses), bool)
    for number, way in enumerate(ground.ways):
        low, high = door_spans(thing, ground, poses, number)
        free = np.maximum(low, way.clear - high)
        ok &= (high <= low) | (free >= way.need - 1e-6)
    return ok


def within_reach(thing: Thing, area: BaseGeometry, poses: Poses) -> Bools:
    """Places from whose centre a piece could reach an area at all.

    Parameters
    ----------
    thing : Thing
        The piece.
    area : geometry
        In the search's frame.
    poses : Poses
        Its places.

    Returns
    -------
    array of bool
        One a place; those left out surely do not meet the area.
    """
    x0, y0, x1, y1 = area.bounds
    dx = np.maximum(np.maximum(x0 - poses.x, poses.x - x1), 0.0)
    dy = np.maximum(np.maximum(y0 - poses.y, poses.y - y1), 0.0)
    return np.asarray(dx * dx + dy * dy <= (thing.reach + 1e-6) ** 2)


def door_spans(thing: Thing, ground: Ground, poses: Poses, number: int) -> tuple[Array, Array]:
    """What each place takes of the width before a door: from, to along it [m].

    Parameters
    ----------
    thing : Thing
        The piece.
    ground : Ground
        The space.
    poses : Poses
        Its places.
    number : int
        Which of the ways.

    Returns
    -------
    tuple of array
        Equal numbers where nothing is taken.
    """
    way = ground.ways[number]
    key = f"front {number}"
    if key not in ground.kept:
        ground.kept[key] = front_of(way, ground.value("plan.clear.door_front_depth"))
        shapely.prepare(ground.kept[key])
    area = ground.kept[key]
    if area is None:
        return np.zeros(len(poses)), np.zeros(len(poses))
    close = np.flatnonzero(within_reach(thing, area, poses))
    if not len(close):
        return np.zeros(len(poses)), np.zeros(len(poses))
    low, high = np.full(len(poses), np.inf), np.full(len(poses), -np.inf)
    a = np.array(way.line[0])
    u = (np.array(way.line[1]) - a) / way.clear
    some = poses.take(close)
    for shape in thing.body:
        made = outlines(shape, some)
        near = np.flatnonzero(shapely.intersects(area, made))
        if not len(near):
            continue
        cut = shapely.intersection(area, made[near])
        for k, piece in zip(close[near].tolist(), cut):
            if piece.area > 1e-9:
                t = (shapely.get_coordinates(piece) - a) @ u
                low[k], high[k] = min(low[k], t.min()), max(high[k], t.max())
    empty = high < low
    return np.where(empty, 0.0, low), np.where(empty, 0.0, high)


def _away_from_drops(thing: Thing, ground: Ground, poses: Poses) -> Bools:
    """Nothing that a child climbs within reach of a window over a drop."""
    ok = np.ones(len(poses), bool)
    if not ground.children:
        return ok
    reach = ground.value("plan.window.reach")
    shapes = list(thing.body) if thing.climbable else list(thing.body[1:])
    if not thing.climbable and thing.piece.chairs is None:
        return ok
    for pane in ground.panes:
        if not pane.climbed:
            continue
        edge = shapely.LineString([pane.left, pane.right])
        for shape in shapes:
            ok &= shapely.distance(edge, outlines(shape, poses)) >= reach - 1e-6
    return ok


def _as_asked(thing: Thing, ground: Ground, poses: Poses) -> Bools:
    """Relations to walls, openings, columns and rooms; those to pieces are in the tables."""
    ok = np.ones(len(poses), bool)
    for relation in thing.relations:
        if relation.kind == "against":
            names = [face.name for face in ground.faces]
            if relation.other == "wall":
                ok &= poses.wall >= 0
            elif relation.other in names:
                ok &= poses.wall == names.index(relation.other)
            else:
                raise LookupFailed(
                    f"wall of {thing.id}",
                    given=relation.other,
                    allowed=", ".join(["wall", *names]),
                    mend="name one of these",
                )
        elif relation.kind == "faces":
            target = _target(ground, relation.other)
            if target is not None:
                ok &= off_ahead(poses, np.array([target[0]]), np.array([target[1]]))[:, 0] <= 45.0
        elif relation.kind == "keep out of":
            ok &= ~_taken(thing, ground, poses, relation.other)
    return ok


def off_ahead(poses: Poses, x: Array, y: Array) -> Array:
    """Angle between straight ahead of each place and each point [°].

    Parameters
    ----------
    poses : Poses
        N places.
    x, y : array
        M points. [m]

    Returns
    -------
    array of shape (N, M)
        0 to 180.
    """
    dx, dy = x[None, :] - poses.x[:, None], y[None, :] - poses.y[:, None]
    fx, fy = poses.sin[:, None], -poses.cos[:, None]
    long = np.maximum(np.hypot(dx, dy), 1e-9)
    return np.asarray(np.degrees(np.arccos(np.clip((dx * fx + dy * fy) / long, -1.0, 1.0))))


def _target(ground: Ground, name: str) -> tuple[float, float] | None:
    for pane in ground.panes:
        if pane.id == name:
            return pane.centre
    for way in ground.ways:
        if way.id == name:
            return way.centre
    for at, shape in zip(ground.space.columns, ground.columns):
        if at.id == name:
            return (float(shape.centroid.x), float(shape.centroid.y))
    return None


def _taken(thing: Thing, ground: Ground, poses: Poses, name: str) -> Bools:
    """Places that stand in a room or before an opening."""
    area = None
    if name in ground.outlines:
        area = ground.outlines[name]
    for pane in ground.panes:
        if pane.id == name:
            (ax, ay), (bx, by), (nx, ny) = pane.left, pane.right, pane.inward
            area = shapely.Polygon([(ax, ay), (bx, by), (bx + nx, by + ny), (ax + nx, ay + ny)])
    for way in ground.ways:
        if way.id == name:
            area = front_of(way, 1.0)
    if area is None:
        return np.zeros(len(poses), bool)  # another piece: a matter of pairs
    inner = area.buffer(-1e-6)
    hit = np.zeros(len(poses), bool)
    for shape in thing.body:
        hit |= shapely.intersects(inner, outlines(shape, poses))
    return hit


# --- all of a piece --------------------------------------------------------------


def poses_of(
    thing: Thing,
    ground: Ground,
    *,
    hosts: Sequence[tuple[Thing, Poses]] = (),
    things: Sequence[Thing] = (),
    most: int = MOST,
    why: Sifted | None = None,
) -> Poses:
    """Candidate places of a piece.

    Parameters
    ----------
    thing : Thing
        The piece.
    ground : Ground
        The space.
    hosts : sequence of (Thing, Poses), optional
        What it may belong to, each with some of its places.
    things : sequence of Thing, optional
        All pieces of the search.
    most : int, optional
        About how many places.
    why : Sifted, optional
        Counts what turned places down.

    Returns
    -------
    Poses
        The same for equal pieces; those that belong to a host come first.

    Raises
    ------
    LookupFailed
        A relation names what is not there.
    InputError
        A relation of this kind cannot be looked at.
    """
    if thing.locked is not None:
        return place_at(ground, thing.locked, depth=thing.size[1])
    _known(thing, ground, things)
    first: list[Raw] = []
    for host, places in hosts:
        offsets = _offsets(thing, host, things)
        if offsets:
            first.append(_beside(places, offsets))
    rest = Sifted()
    near = sift(thing, ground, _poses([p for raw in first for p in raw]), rest)
    room = max(most - len(near), most // 5)
    grow = 1.0
    out = near
    for _ in range(9):
        raw: Raw = []
        if thing.role in WALLED and (thing.role not in ("low table",) or not first):
            raw += _from_walls(thing, ground, 0.3 * grow)
        if thing.role in ("armchair", "plant", "lamp", "seat", "side table"):
            raw += _corners(thing, ground)
        if thing.role in FLOAT:
            step, turns = FLOAT[thing.role]
            raw += _on_floor(thing, ground, step * grow, turns)
        if thing.role == "desk chair" and not first:
            raw += _on_floor(thing, ground, 0.6 * grow, 4)
        rest_of = Sifted()
        more = sift(thing, ground, _poses(raw), rest_of)
        out = _joined(near, more)
        if len(out) - len(near) <= room:
            break
        grow *= max(1.12, math.sqrt((len(out) - len(near)) / room) * 0.98)
    if why is not None:
        for name in vars(why):
            setattr(why, name, getattr(rest, name) + getattr(rest_of, name))
    return out


def poses_from(
    thing: Thing, ground: Ground, near: Sequence[tuple[float, float, float, int]]
) -> Poses:
    """Given places, sifted.

    Parameters
    ----------
    thing : Thing
        The piece.
    ground : Ground
        The space.
    near : sequence of tuple
        x, y [m], turn [°] and face of each.

    Returns
    -------
    Poses
        Those where it can stand.
    """
    return sift(thing, ground, _poses(list(near)))


def _joined(one: Poses, two: Poses) -> Poses:
    every = Poses(
        **{
            name: np.concatenate([getattr(one, name), getattr(two, name)])
            for name in ("x", "y", "turn", "variant", "wall")
        }
    )
    if not len(every):
        return every
    key = np.round(np.stack([every.x, every.y, every.turn, every.variant], axis=1) * 1e4)
    _, first = np.unique(key, axis=0, return_index=True)
    return every.take(np.sort(first))


def _known(thing: Thing, ground: Ground, things: Sequence[Thing]) -> None:
    """Every relation names something that is there."""
    ids = [t.id for t in things]
    openings = [*(pane.id for pane in ground.panes), *(way.id for way in ground.ways)]
    columns = [c.id for c in ground.space.columns]
    for relation in thing.relations:
        known = {
            "against": None,
            "faces": [*ids, *openings, *columns],
            "with": ids,
            "keep out of": [*ids, *ground.outlines, *openings],
        }[relation.kind]
        if known is not None and relation.other not in known:
            raise LookupFailed(
                f"what {thing.id} {relation.kind}",
                given=relation.other,
                allowed=", ".join(dict.fromkeys(known)),
                mend="name one of these",
            )
        if relation.other == thing.id:
            raise InputError(f"relation of {thing.id}", given="itself", allowed="another thing")
