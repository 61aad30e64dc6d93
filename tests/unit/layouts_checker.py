"""A checker of proposed layouts that shares no code with the search: shapely and the file's numbers.

Bodies, floor kept free, doors and ways are built here again from kinds and
sizes, for the kinds that the samples use. It returns what is wrong, in words.
"""

from __future__ import annotations

import math

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from designkit.model import Home, Layout, Piece, Placement

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


def chairs(home: Home, piece: Piece, placement: Placement) -> list[tuple[Polygon, Polygon]]:
    """Floor behind each chair of a table, and the place it needs to sit and rise."""
    if piece.chairs is None:
        return []
    chair = home.pieces[piece.chairs.piece]
    w, d, _ = piece.size
    cw = chair.size[0]
    out = []
    if piece.chairs.around:
        for k in range(piece.chairs.around):
            angle = -90 + 360 * k / piece.chairs.around
            strip = box(w / 2, -cw / 2, w / 2 + SIT, cw / 2)
            out.append((strip, affinity.rotate(strip, angle, origin=(0, 0))))
        return [(_put(turned, placement), _put(turned, placement)) for _, turned in out]
    end = 0.3683
    for side, count in (("front", piece.chairs.front), ("back", piece.chairs.back),
                        ("left", piece.chairs.left), ("right", piece.chairs.right)):  # fmt: skip
        long = w if side in ("front", "back") else d
        low, high = -long / 2, long / 2
        if side in ("front", "back"):
            low += end if piece.chairs.left else 0.0
            high -= end if piece.chairs.right else 0.0
        for k in range(count):
            t = low + (high - low) * (k + 0.5) / count
            strip = {
                "front": box(t - cw / 2, -d / 2 - SIT, t + cw / 2, -d / 2),
                "back": box(t - cw / 2, d / 2, t + cw / 2, d / 2 + SIT),
                "left": box(-w / 2 - SIT, t - cw / 2, -w / 2, t + cw / 2),
                "right": box(w / 2, t - cw / 2, w / 2 + SIT, t + cw / 2),
            }[side]
            out.append((strip, strip))
    return [(_put(a, placement), _put(b, placement)) for a, b in out]


def seats_of_table(home: Home, piece: Piece, placement: Placement) -> list[Polygon]:
    """Bodies of the chairs as they stand, pushed in as far as 0.3 m."""
    from designkit.plan.place import place_all

    layout = Layout(name="t", pieces={"t": placement})
    placed = place_all({**home.pieces, "t": piece}, layout)
    return [thing.footprint for id, thing in placed.items() if id != "t"]


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
        return [([strip for strip, _ in chairs(home, piece, placement)], ())]
    return [([], ())]


def wrong(
    home: Home, layout: Layout, space: str, widths: dict[str, float] | None = None
) -> list[str]:
    """What is wrong with a layout, in words; empty where it is valid."""
    out: list[str] = []
    floor, inside_doors = _floor(home, space)
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


def _column(column: object) -> Polygon:
    (x, y), (w, d) = column.at, column.size  # type: ignore[attr-defined]
    if column.shape == "circle":  # type: ignore[attr-defined]
        return Point(x, y).buffer(w / 2, quad_segs=24)
    shape = box(-w / 2, -d / 2, w / 2, d / 2)
    return affinity.translate(affinity.rotate(shape, column.rotation, origin=(0, 0)), x, y)  # type: ignore[attr-defined]


def _wall(
    home: Home, room: str, wall: int
) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
    outline = home.rooms[room].outline
    a, b = outline[wall], outline[(wall + 1) % len(outline)]
    long = math.dist(a, b)
    u = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
    n = (-u[1], u[0])
    mid = ((a[0] + b[0]) / 2 + 1e-3 * n[0], (a[1] + b[1]) / 2 + 1e-3 * n[1])
    if not Polygon(outline).contains(Point(mid)):
        n = (-n[0], -n[1])
    return a, u, n


def _floor(home: Home, space: str) -> tuple[Polygon, None]:
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
    return joined, None


def _clear(
    home: Home, o: object
) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float], float]:
    """Ends of the clear width of a way on its room's face, by the middle of its wall's opening.

    The exact place of the frame is left to the project; the middle is enough here,
    because a way that is tried is as wide as the clear width less 5 cm.
    """
    from designkit.plan.space import spaces

    for one in spaces(home).values():
        for at in one.openings:
            if at.opening is o and not at.far:
                return at.clear_left, at.clear_right, at.inward, at.clear
    raise AssertionError("no such opening")


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
        if o.kind != "passage" and o.swing == "in":
            from designkit.plan.space import spaces

            for one in spaces(home).values():
                for at in one.openings:
                    if at.opening is not o or at.far:
                        continue
                    for leaf in at.leaves:
                        swept = leaf.swing.buffer(-2 * MM)
                        for name, shape in bodies.items():
                            if swept.intersection(shape).area > 1e-6:
                                out.append(f"{name} stands in the swing of {id}")
    return out


def _free(home, space, floor, everything, fixed):  # type: ignore[no-untyped-def]
    from designkit.plan.space import spaces

    taken = list(everything)
    pockets = []
    rooms = space.split("+")
    for o in home.openings.values():
        if o.kind == "window" or o.room not in rooms:
            continue
        a, b, n, _ = _clear(home, o)
        pockets.append(Polygon([a, b, (b[0] - 1.0 * n[0], b[1] - 1.0 * n[1]),
                                (a[0] - 1.0 * n[0], a[1] - 1.0 * n[1])]).buffer(1e-6, join_style="mitre"))  # fmt: skip
    for one in spaces(home).values():
        if set(one.rooms) & set(rooms):
            for at in one.openings:
                for leaf in at.leaves:
                    if leaf.here and at.opening.kind != "window":
                        taken.append(leaf.body)
            for service in one.services:
                if service.body is not None and service.base < 2.0 and service.top > 0.03:
                    taken.append(service.body)
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
        if told is not None and told > now + 3 * MM and now < 1.99:
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
