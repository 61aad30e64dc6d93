"""A checker of proposed layouts that shares no code with the search: shapely and numbers only.

Bodies, floor kept free, doors and ways are built here again from kinds and
sizes, for the kinds that the samples use. It returns what is wrong, in words.
"""

from __future__ import annotations

import math

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from designkit.model import Column, Home, Layout, Opening, Piece, Placement

# Rules as the issue and the project's files state them [m]; typed here again.
SIT, TABLE_FRONT = 0.9144, 0.35
FRONT = {
    "sideboard": 0.6,
    "low cabinet": 0.6,
    "bookcase": 0.6,
    "wardrobe": 0.9,
    "chest of drawers": 0.9,
    "desk": 0.9,
    "upright piano": 0.9,
}
MAIN, MINOR, DOOR_DEPTH, DOOR_WIDTH = 0.9, 0.6, 0.6, 0.8
MM = 0.001
XY = tuple[float, float]


def body(piece: Piece, placement: Placement) -> Polygon:
    w, d, _ = piece.size
    shape = (
        Point(0, 0).buffer(w / 2, quad_segs=24)
        if piece.shape == "circle"
        else box(-w / 2, -d / 2, w / 2, d / 2)
    )
    return _put(shape, placement)


def _put(shape: Polygon, placement: Placement) -> Polygon:
    turned = affinity.rotate(shape, placement.rotation, origin=(0, 0))
    return affinity.translate(turned, *placement.at)


def chairs(home: Home, piece: Piece, placement: Placement) -> list[Polygon]:
    """Floor behind each chair of a table that it needs to sit and rise."""
    if piece.chairs is None:
        return []
    w, d, _ = piece.size
    cw = home.pieces[piece.chairs.piece].size[0]
    out = []
    for k in range(piece.chairs.around):
        strip = box(w / 2, -cw / 2, w / 2 + SIT, cw / 2)
        out.append(affinity.rotate(strip, -90 + 360 * k / piece.chairs.around, origin=(0, 0)))
    for side, t in _spots(piece):
        out.append(
            {
                "front": box(t - cw / 2, -d / 2 - SIT, t + cw / 2, -d / 2),
                "back": box(t - cw / 2, d / 2, t + cw / 2, d / 2 + SIT),
                "left": box(-w / 2 - SIT, t - cw / 2, -w / 2, t + cw / 2),
                "right": box(w / 2, t - cw / 2, w / 2 + SIT, t + cw / 2),
            }[side]
        )
    return [_put(strip, placement) for strip in out]


def seats_of_table(home: Home, piece: Piece, placement: Placement) -> list[Polygon]:
    """Bodies of the chairs as they stand, pushed in by 0.3 m."""
    assert piece.chairs is not None
    w, d, _ = piece.size
    cw, cd, _ = home.pieces[piece.chairs.piece].size
    tuck = min(0.3, cd - 0.15)
    out = []
    for k in range(piece.chairs.around):
        tuck = min(0.3, 0.3 * min(w, d), cd - 0.15)
        reach = w / 2 - tuck
        seat = box(reach, -cw / 2, reach + cd, cw / 2)
        out.append(affinity.rotate(seat, -90 + 360 * k / piece.chairs.around, origin=(0, 0)))
    for side, t in _spots(piece):
        long, far = ((d, tuck), (w, tuck))[side in ("left", "right")]
        edge = long / 2 - far
        out.append(
            {
                "front": box(t - cw / 2, -edge - cd, t + cw / 2, -edge),
                "back": box(t - cw / 2, edge, t + cw / 2, edge + cd),
                "left": box(-edge - cd, t - cw / 2, -edge, t + cw / 2),
                "right": box(edge, t - cw / 2, edge + cd, t + cw / 2),
            }[side]
        )
    return [_put(seat, placement) for seat in out]


def _spots(piece: Piece) -> list[tuple[str, float]]:
    """Side and place along it of every chair at a straight side."""
    assert piece.chairs is not None
    w, d, _ = piece.size
    end = 0.3683
    out = []
    for side, count in (("front", piece.chairs.front), ("back", piece.chairs.back),
                        ("left", piece.chairs.left), ("right", piece.chairs.right)):  # fmt: skip
        long = w if side in ("front", "back") else d
        low, high = -long / 2, long / 2
        if side in ("front", "back"):
            low += end if piece.chairs.left else 0.0
            high -= end if piece.chairs.right else 0.0
        out += [(side, low + (high - low) * (k + 0.5) / count) for k in range(count)]
    return out


def zones(
    home: Home, piece: Piece, placement: Placement
) -> list[tuple[list[Polygon], tuple[str, ...]]]:
    """Alternatives of floor kept free; each piece has one list, a bed has two."""
    w, d, _ = piece.size

    def side(word: str, depth: float) -> Polygon:
        strip = {
            "front": box(-w / 2, -d / 2 - depth, w / 2, -d / 2),
            "left": box(-w / 2 - depth, -d / 2, -w / 2, d / 2),
            "right": box(w / 2, -d / 2, w / 2 + depth, d / 2),
        }[word]
        return _put(strip, placement)

    if piece.kind == "bed":
        # wide beds: 0.6 m on both sides; any bed: 0.75 m on its better side
        rest = [0.6] if w >= 1.2 else []
        return [
            ([side(main, 0.75), *(side(other, r) for r in rest)], ("bedside table",))
            for main, other in (("left", "right"), ("right", "left"))
        ]
    if piece.kind in ("sofa", "armchair"):
        return [([side("front", TABLE_FRONT)], ())]
    if piece.kind in FRONT:
        ignored = ("chair", "desk chair", "stool") if piece.kind == "desk" else ()
        return [([side("front", FRONT[piece.kind])], ignored)]
    if piece.chairs is not None:
        return [(chairs(home, piece, placement), ())]
    return [([], ())]


def wrong(
    home: Home, layout: Layout, space: str, widths: dict[str, float] | None = None
) -> list[str]:
    """What is wrong with a layout, in words; empty where it is valid."""
    out: list[str] = []
    floor = _floor(home, space)
    built = [_column(c) for room in space.split("+") for c in home.rooms[room].columns]
    fixed = shapely.union_all(built) if built else Polygon()
    open_floor = floor.difference(fixed)
    items = {
        id: (home.pieces[p.item or id], p)
        for id, p in layout.pieces.items()
        if home.pieces[p.item or id].kind not in ("rug", "screen", "mirror") and _in(p.at, floor)
    }
    bodies = {id: body(piece, p) for id, (piece, p) in items.items()}
    table_chairs = {
        id: seats_of_table(home, piece, p) if piece.chairs else []
        for id, (piece, p) in items.items()
    }
    loose = open_floor.buffer(MM, join_style="mitre")
    for id, shape in bodies.items():
        for part in (shape, *table_chairs[id]):
            if not loose.covers(part):
                out.append(f"{id} is not on the floor")
    ids = list(bodies)
    for k, a in enumerate(ids):
        for b in ids[k + 1 :]:
            for one in (bodies[a], *table_chairs[a]):
                for two in (bodies[b], *table_chairs[b]):
                    if one.buffer(-MM / 2).intersection(two.buffer(-MM / 2)).area > 1e-7:
                        out.append(f"{a} and {b} stand in one another")
    for id, (piece, p) in items.items():
        if not any(
            _zone_free(home, id, strips, ignored, items, bodies, table_chairs, open_floor)
            for strips, ignored in zones(home, piece, p)
        ):
            out.append(f"{id} lacks the floor that its use needs")
    everything = [*bodies.values(), *(c for cs in table_chairs.values() for c in cs)]
    out += _doors(home, space, everything, bodies, fixed)
    out += _ways(home, space, floor, everything, fixed, items, widths or {})
    return out


def _in(at: tuple[float, float], floor: Polygon) -> bool:
    return floor.buffer(0.01).contains(Point(at))


def _column(column: Column) -> Polygon:
    (x, y), (w, d) = column.at, column.size
    if column.shape == "circle":
        return Point(x, y).buffer(w / 2, quad_segs=24)
    shape = box(-w / 2, -d / 2, w / 2, d / 2)
    return affinity.translate(affinity.rotate(shape, column.rotation, origin=(0, 0)), x, y)


def _wall(home: Home, room: str, wall: int) -> tuple[XY, XY, XY]:
    outline = home.rooms[room].outline
    a, b = outline[wall], outline[(wall + 1) % len(outline)]
    long = math.dist(a, b)
    u = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
    n = (-u[1], u[0])
    mid = ((a[0] + b[0]) / 2 + 1e-3 * n[0], (a[1] + b[1]) / 2 + 1e-3 * n[1])
    if not Polygon(outline).contains(Point(mid)):
        n = (-n[0], -n[1])
    return a, u, n


def _floor(home: Home, space: str) -> Polygon:
    rooms = space.split("+")
    shapes = [Polygon(home.rooms[r].outline) for r in rooms]
    for o in home.openings.values():
        if o.kind == "passage" and o.room in rooms and o.to in rooms:
            a, u, n = _wall(home, o.room, o.wall)
            p = (a[0] + u[0] * o.offset, a[1] + u[1] * o.offset)
            q = (p[0] + u[0] * o.width, p[1] + u[1] * o.width)
            t = o.thickness + 0.02
            shapes.append(
                Polygon(
                    [
                        (p[0] + 0.02 * n[0], p[1] + 0.02 * n[1]),
                        (q[0] + 0.02 * n[0], q[1] + 0.02 * n[1]),
                        (q[0] - t * n[0], q[1] - t * n[1]),
                        (p[0] - t * n[0], p[1] - t * n[1]),
                    ]
                )
            )
    joined = shapely.union_all(shapes)
    assert isinstance(joined, Polygon)
    return joined


FRAME, LEAF, LEAF_THICK = 0.0508, 0.1016, 0.04


def _clear(home: Home, o: Opening) -> tuple[XY, XY, XY, float]:
    """Ends of the clear width on the room's face, the way inwards, and the width."""
    a, u, n = _wall(home, o.room, o.wall)
    hung = o.kind in ("door", "balcony") and o.swing in ("in", "out") and o.leaves == 1
    clear = o.clear_width
    if clear is None:
        clear = o.width if o.kind == "passage" else o.width - FRAME - (LEAF if hung else 0.0)
    rest = o.width - clear
    frame = min(FRAME / 2, rest / 2)
    # Facing the opening from inside, the right hand is a quarter turn from the way in.
    right = (-n[1], n[0])
    along = u[0] * right[0] + u[1] * right[1] > 0
    left_cut = (rest - frame if o.hinge == "left" else frame) if hung else rest / 2
    low = left_cut if along else rest - left_cut
    p = (a[0] + u[0] * (o.offset + low), a[1] + u[1] * (o.offset + low))
    q = (p[0] + u[0] * clear, p[1] + u[1] * clear)
    return p, q, n, clear


def _leaf(home: Home, o: Opening) -> tuple[Polygon, Polygon]:
    """What a leaf that opens into its room sweeps, and the leaf itself at a right angle."""
    a, u, n = _wall(home, o.room, o.wall)
    right = (-n[1], n[0])
    along = u[0] * right[0] + u[1] * right[1] > 0
    at_start = (o.hinge == "left") == along
    t = o.offset + (FRAME / 2 if at_start else o.width - FRAME / 2)
    pivot = (a[0] + u[0] * t, a[1] + u[1] * t)
    v = u if at_start else (-u[0], -u[1])
    long = o.width - FRAME
    arc = [
        (
            pivot[0] + long * (math.cos(x) * v[0] + math.sin(x) * n[0]),
            pivot[1] + long * (math.cos(x) * v[1] + math.sin(x) * n[1]),
        )
        for x in (math.pi / 2 * k / 32 for k in range(33))
    ]
    tip = (pivot[0] + long * n[0], pivot[1] + long * n[1])
    leaf = Polygon(
        [
            pivot,
            (pivot[0] + LEAF_THICK * v[0], pivot[1] + LEAF_THICK * v[1]),
            (tip[0] + LEAF_THICK * v[0], tip[1] + LEAF_THICK * v[1]),
            tip,
        ]
    )
    return Polygon([pivot, *arc]), leaf


def _swings_in(o: Opening) -> bool:
    return o.kind in ("door", "balcony") and o.swing == "in" and o.leaves == 1


def _services(home: Home, rooms: list[str]) -> list[Polygon]:
    """Bodies of services that stand on the floor at a wall, drawn to the wall's face."""
    out = []
    for s in home.services.values():
        if s.room not in rooms or s.size is None or s.kind == "ceiling outlet":
            continue
        w, d, h = s.size
        base = s.height if s.kind == "radiator" else s.height - h / 2
        if base >= 2.0 or base + h <= 0.03:
            continue
        outline = home.rooms[s.room].outline
        best = None
        for wall in range(len(outline)):
            a, u, n = _wall(home, s.room, wall)
            away = (s.at[0] - a[0]) * n[0] + (s.at[1] - a[1]) * n[1]
            t = (s.at[0] - a[0]) * u[0] + (s.at[1] - a[1]) * u[1]
            long = math.dist(outline[wall], outline[(wall + 1) % len(outline)])
            if -0.01 <= t <= long + 0.01 and abs(away) < 0.3 and (best is None or away < best[0]):
                best = (away, a, u, n, t)
        assert best is not None
        _, a, u, n, t = best
        corners = ((t - w / 2, 0.0), (t + w / 2, 0.0), (t + w / 2, d), (t - w / 2, d))
        p = [(a[0] + u[0] * x + n[0] * y, a[1] + u[1] * x + n[1] * y) for x, y in corners]
        out.append(Polygon(p))
    return out


def _zone_free(home, id, strips, ignored, items, bodies, table_chairs, open_floor):  # type: ignore[no-untyped-def]
    loose = open_floor.buffer(MM, join_style="mitre")
    for strip in strips:
        if not loose.covers(strip):
            return False
        thin = strip.buffer(-MM)
        for other, shape in bodies.items():
            if other == id or items[other][0].kind in ignored:
                continue
            for part in (shape, *table_chairs[other]):
                if thin.intersection(part).area > 1e-7:
                    return False
    return True


def _doors(home, space, everything, bodies, fixed):  # type: ignore[no-untyped-def]
    out = []
    rooms = space.split("+")
    for id, o in home.openings.items():
        if o.kind == "window" or o.room not in rooms:
            continue
        a, b, n, clear = _clear(home, o)
        u = ((b[0] - a[0]) / clear, (b[1] - a[1]) / clear)
        spans = []
        front = Polygon(
            [a, b, (b[0] + DOOR_DEPTH * n[0], b[1] + DOOR_DEPTH * n[1]),
             (a[0] + DOOR_DEPTH * n[0], a[1] + DOOR_DEPTH * n[1])]
        )  # fmt: skip
        for shape in everything:
            part = front.intersection(shape)
            if part.area > 1e-7:
                t = [
                    (x - a[0]) * u[0] + (y - a[1]) * u[1] for x, y in shapely.get_coordinates(part)
                ]
                spans.append((min(t), max(t)))
        reached = best = 0.0
        for low, high in sorted(spans):
            best, reached = max(best, low - reached), max(reached, high)
        best = max(best, clear - reached)
        if spans and best < min(DOOR_WIDTH, clear) - 2 * MM:
            out.append(f"too little is free before {id}: {best:.3f} m")
        if _swings_in(o):
            swept = _leaf(home, o)[0].buffer(-2 * MM)
            out += [
                f"{name} stands in the swing of {id}"
                for name, shape in bodies.items()
                if swept.intersection(shape).area > 1e-6
            ]
    return out


def _free(home, space, floor, everything, fixed):  # type: ignore[no-untyped-def]
    rooms = space.split("+")
    taken = [*everything, *_services(home, rooms)]
    pockets = []
    for o in home.openings.values():
        if o.kind == "window" or o.room not in rooms:
            continue
        a, b, n, _ = _clear(home, o)
        pocket = Polygon([a, b, (b[0] - n[0], b[1] - n[1]), (a[0] - n[0], a[1] - n[1])])
        pockets.append(pocket.buffer(1e-6, join_style="mitre"))
        if _swings_in(o):
            taken.append(_leaf(home, o)[1])
    free = shapely.union_all([floor, *pockets]).difference(fixed)
    return free.difference(shapely.union_all(taken)) if taken else free


def _parts(free, width):  # type: ignore[no-untyped-def]
    left = free.buffer(-width / 2, quad_segs=64)
    return [g for g in shapely.get_parts(left) if isinstance(g, Polygon)]


def reached(parts, shape, reach):  # type: ignore[no-untyped-def]
    return {k for k, part in enumerate(parts) if part.distance(shape) <= reach}


def width_by_wear(free, a, b, *, at_most):  # type: ignore[no-untyped-def]
    """The widest way between two door lines by bisection of the worn floor; a little too small."""
    low, high = 0.0, at_most
    for _ in range(14):
        mid = (low + high) / 2
        parts = _parts(free, mid)
        one, two = reached(parts, a, 1e-4), reached(parts, b, 1e-4)
        low, high = (mid, high) if one & two else (low, mid)
    return low


def _ways(home, space, floor, everything, fixed, items, widths):  # type: ignore[no-untyped-def]
    out = []
    rooms = space.split("+")
    free = _free(home, space, floor, everything, fixed)
    bare = _free(home, space, floor, [], fixed)
    lines = {}
    for id, o in home.openings.items():
        if o.room in rooms and o.kind != "window" and not (o.kind == "passage" and o.to in rooms):
            a, b, _, _ = _clear(home, o)
            lines[id] = LineString([a, b])
    entry = next(
        (id for id in lines if home.openings[id].to in ("stair", "outside", "lift", "landing")),
        next((id for id in lines if home.openings[id].kind != "balcony"), None),
    )
    if entry is None:
        return out
    for id, line in lines.items():
        if id == entry:
            continue
        room = width_by_wear(bare, lines[entry], line, at_most=2.0)
        now = width_by_wear(free, lines[entry], line, at_most=2.0)
        if now < min(MAIN, room) - 3 * MM:
            out.append(f"the way {entry} to {id} is {now:.3f} m")
        told = widths.get(f"{entry} to {id}")
        if told is not None and told > now + MM and now < 1.99:
            out.append(f"the way {entry} to {id} is told as {told:.3f} m and is {now:.3f} m")
    parts = _parts(free, MINOR - MM)
    inside = reached(parts, lines[entry], 1e-4)
    if not inside:
        return out
    for id, (piece, p) in items.items():
        choices = zones(home, piece, p)
        if not any(
            all(reached(parts, strip, MINOR / 2 + MM) & inside for strip in strips)
            for strips, _ in choices
        ):
            out.append(f"no way leads to where {id} is used")
    return out
