"""Pieces as the search sees them: bodies, floor they need, role, and what is asked of them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon, box

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Home, Piece, Placement
from designkit.plan.chairs import chair_places
from designkit.plan.pieces import (
    climb_height,
    is_climbable,
    kind_of,
    parts_of,
    seats_of,
    zone_rules,
    zones_of,
)
from designkit.plan.place import disc
from designkit.reference import value

__all__ = ["Relation", "Room", "Shape", "Thing", "role_of", "things_of"]

Array = npt.NDArray[np.float64]
Role = Literal[
    "sofa",
    "armchair",
    "bed",
    "screen",
    "low table",
    "side table",
    "bedside table",
    "dining",
    "desk",
    "desk chair",
    "storage",
    "tall storage",
    "console",
    "piano",
    "plant",
    "lamp",
    "seat",
    "divider",
    "cot",
]

# Hub first; then what hangs together most closely, so that the bound soon knows it
# (a screen has to do with the sofa alone and can wait).
ORDER: tuple[Role, ...] = (
    "sofa",
    "bed",
    "armchair",
    "low table",
    "bedside table",
    "screen",
    "dining",
    "desk",
    "desk chair",
    "piano",
    "cot",
    "tall storage",
    "storage",
    "console",
    "divider",
    "side table",
    "seat",
    "lamp",
    "plant",
)
_ROLE: Mapping[str, Role] = {
    "sofa": "sofa",
    "daybed": "sofa",
    "armchair": "armchair",
    "bed": "bed",
    "cot": "cot",
    "low cabinet": "screen",
    "low table": "low table",
    "ottoman": "low table",
    "side table": "side table",
    "bedside table": "bedside table",
    "dining table": "dining",
    "counter": "dining",
    "desk": "desk",
    "desk chair": "desk chair",
    "sideboard": "storage",
    "chest of drawers": "storage",
    "bookcase": "tall storage",
    "wardrobe": "tall storage",
    "console": "console",
    "upright piano": "piano",
    "plant": "plant",
    "floor lamp": "lamp",
    "chair": "seat",
    "stool": "seat",
    "high stool": "seat",
    "bench": "seat",
    "divider": "divider",
}
SEATED = ("sofa", "armchair")
HUBS: tuple[Role, ...] = ("sofa", "bed", "dining", "desk", "piano", "screen", "tall storage")


@dataclass(frozen=True, kw_only=True)
class Relation:
    """Something that a piece has to keep to.

    ``faces``: its front looks at a piece, an opening or a column;
    ``against``: its back stands at a wall ("living wall 2", or "wall" for any);
    ``keep out of``: a room, the floor before an opening, or 1 m round a piece;
    ``with``: within reach of another piece.
    """

    piece: str
    kind: Literal["faces", "against", "keep out of", "with"]
    other: str


@dataclass(frozen=True, kw_only=True)
class Shape:
    """A rectangle or a disc in a piece's own coordinates [m]."""

    x: float
    y: float
    half_x: float  # of a disc: its radius
    half_y: float
    turn: float = 0.0  # [°]
    round: bool = False


@dataclass(frozen=True, kw_only=True)
class Room:
    """Floor that the use of a piece needs."""

    shape: Shape
    free_of: bool  # bodies of other pieces may not stand in it
    reached: bool  # a way has to lead to it
    ignores: tuple[str, ...] = ()  # kinds that belong into it


@dataclass(frozen=True, kw_only=True, eq=False)
class Thing:
    """One piece that is placed, or that stays where it is."""

    id: str
    item: str
    piece: Piece
    role: Role
    body: tuple[Shape, ...]  # pushed-in chairs of a table among them
    variants: tuple[tuple[Room, ...], ...]  # ways to use it: of a bed, by its better side
    reach: float  # radius about its centre that holds body and rooms
    top: float
    back_top: float  # of what a person leans on, else its top
    seats: tuple[tuple[float, float, float], ...]  # x, y, facing in its own coordinates
    climbable: bool
    climb: float
    has_back: bool  # it stands with its back to a wall
    symmetric: bool  # turned by half it is the same
    locked: Placement | None
    optional: bool
    relations: tuple[Relation, ...]
    alike: int  # things of one number may change places

    @property
    def size(self) -> tuple[float, float, float]:
        """Width, depth and height of the piece. [m]"""
        return self.piece.size


def role_of(piece: Piece) -> Role | None:
    """What a piece does in a room; None for what does not stand on the floor.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    str or None
        The role by its kind.

    Examples
    --------
    >>> role_of(Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8)))
    'sofa'
    """
    return _ROLE.get(kind_of(piece).name)


def _bodies(piece: Piece, rules: Mapping[str, float]) -> list[Shape]:
    """Few shapes that cover exactly the floor under a piece."""
    low, high = value("plan.clear.rug", rules), value("plan.clear.walk_under", rules)
    shapes: list[tuple[Polygon, Shape]] = []
    for part in parts_of(piece):
        if part.base >= high or part.top <= low:
            continue
        (x, y), (w, d) = part.at, part.size
        if part.shape == "rectangle":
            outline = box(x - w / 2, y - d / 2, x + w / 2, y + d / 2)
            shapes.append((outline, Shape(x=x, y=y, half_x=w / 2, half_y=d / 2)))
        elif abs(w - d) < 1e-6 or part.shape == "ring":
            outline = disc((x, y), diameter=w)
            shapes.append((outline, Shape(x=x, y=y, half_x=w / 2, half_y=w / 2, round=True)))
        else:  # an oval stands in its box
            outline = box(x - w / 2, y - d / 2, x + w / 2, y + d / 2)
            shapes.append((outline, Shape(x=x, y=y, half_x=w / 2, half_y=d / 2)))
    if not shapes:
        w, d, _ = piece.size
        return [Shape(x=0.0, y=0.0, half_x=w / 2, half_y=d / 2)]
    whole = shapely.union_all([outline for outline, _ in shapes])
    x0, y0, x1, y1 = whole.bounds
    hull = box(x0, y0, x1, y1)
    if hull.area - whole.area < 1e-6:
        return [Shape(x=(x0 + x1) / 2, y=(y0 + y1) / 2, half_x=(x1 - x0) / 2, half_y=(y1 - y0) / 2)]
    shapes.sort(key=lambda pair: -pair[0].area)
    kept: list[tuple[Polygon, Shape]] = []
    for outline, shape in shapes:
        if not any(big.buffer(1e-9).covers(outline) for big, _ in kept):
            kept.append((outline, shape))
    return [shape for _, shape in kept]


def _strip(piece: Piece, side: str, depth: float, width: float | None = None) -> Shape:
    w, d, _ = piece.size
    if side in ("front", "back"):
        wide = w if width is None else width
        sign = -1.0 if side == "front" else 1.0
        return Shape(x=0.0, y=sign * (d / 2 + depth / 2), half_x=wide / 2, half_y=depth / 2)
    wide = d if width is None else width
    sign = -1.0 if side == "left" else 1.0
    return Shape(x=sign * (w / 2 + depth / 2), y=0.0, half_x=depth / 2, half_y=wide / 2)


def _rooms(
    home: Home,
    piece: Piece,
    role: Role,
    chairs: Mapping[str, Placement],
    rules: Mapping[str, float],
) -> tuple[tuple[Room, ...], ...]:
    rooms: list[Room] = []
    if role == "bed" and piece.zones is None:
        return _bed_rooms(home, piece, rules)
    for zone in zones_of(piece, overrides=rules):
        ignores: tuple[str, ...] = ()
        for rule in zone_rules().get(piece.kind, ()):
            if rule.words == zone.kind and rule.side == zone.side:
                ignores += rule.not_counting
        rooms.append(
            Room(
                shape=_strip(piece, zone.side, zone.depth, zone.width),
                free_of=True,
                reached=True,
                ignores=ignores,
            )
        )
    if role in SEATED and piece.zones is None:
        # Knees and feet: nothing stands nearer before a seat than a low table does.
        depth = value("plan.clear.sofa_table_min", rules)
        rooms.append(Room(shape=_strip(piece, "front", depth), free_of=True, reached=True))
    if role == "dining" and chairs:
        rooms += _dining_rooms(home, piece, chairs, rules)
    return (tuple(rooms),)


def _bed_rooms(
    home: Home, piece: Piece, rules: Mapping[str, float]
) -> tuple[tuple[Room, ...], ...]:
    """A bed is used by its better side, left or right; a wide one by both."""
    side = value("plan.clear.bed_side", rules)
    step_free = home.rule_set == "step-free"
    better = value("plan.stepfree.bed_side" if step_free else "plan.clear.bed_main_side", rules)
    wide = piece.size[0] >= value("plan.clear.bed_two", rules)
    ignores: tuple[str, ...] = ()
    for rule in zone_rules().get(piece.kind, ()):
        ignores += rule.not_counting

    def room(word: str, depth: float) -> Room:
        return Room(shape=_strip(piece, word, depth), free_of=True, reached=True, ignores=ignores)

    out = []
    for main, other in (("left", "right"), ("right", "left")):
        rooms = [room(main, better)]
        if wide:
            rooms.append(room(other, side))
        out.append(tuple(rooms))
    return tuple(out)


def _dining_rooms(
    home: Home, piece: Piece, chairs: Mapping[str, Placement], rules: Mapping[str, float]
) -> list[Room]:
    """Floor behind each chair to sit down and rise, as from the table's edge."""
    depth = value("plan.table.sit", rules)
    w, d, _ = piece.size
    assert piece.chairs is not None
    chair = home.pieces[piece.chairs.piece]
    rooms: list[Room] = []
    for placement in chairs.values():
        x, y = placement.at
        if piece.shape == "circle":
            angle = math.atan2(y, x)
            mid = w / 2 + depth / 2
            shape = Shape(
                x=mid * math.cos(angle),
                y=mid * math.sin(angle),
                half_x=chair.size[0] / 2,
                half_y=depth / 2,
                turn=math.degrees(angle) - 90.0,
            )
        elif abs(y) / d >= abs(x) / w:
            sign = 1.0 if y > 0 else -1.0
            shape = Shape(
                x=x, y=sign * (d / 2 + depth / 2), half_x=chair.size[0] / 2, half_y=depth / 2
            )
        else:
            sign = 1.0 if x > 0 else -1.0
            shape = Shape(
                x=sign * (w / 2 + depth / 2), y=y, half_x=depth / 2, half_y=chair.size[0] / 2
            )
        rooms.append(Room(shape=shape, free_of=True, reached=True))
    return rooms


def _seat_shape(chair: Piece, placement: Placement) -> Shape:
    w, d, _ = chair.size
    return Shape(
        x=placement.at[0],
        y=placement.at[1],
        half_x=w / 2,
        half_y=d / 2,
        turn=placement.rotation,
    )


def _far(shape: Shape) -> float:
    if shape.round:
        return math.hypot(shape.x, shape.y) + shape.half_x
    return math.hypot(shape.x, shape.y) + math.hypot(shape.half_x, shape.half_y)


def thing_of(
    home: Home,
    *,
    id: str,
    item: str,
    rules: Mapping[str, float],
    locked: Placement | None = None,
    optional: bool = False,
    relations: Sequence[Relation] = (),
    alike: int = -1,
) -> Thing:
    """One piece as the search sees it.

    Parameters
    ----------
    home : Home
        Gives the piece.
    id, item : str
        Of the placement and of the piece.
    rules : mapping of str to float
        The project's own rule values.
    locked : Placement, optional
        Where it stays.
    optional : bool, optional
        It may be left out.
    relations : sequence of Relation, optional
        What is asked of it.
    alike : int, optional
        Number of its kind of things that may change places.

    Returns
    -------
    Thing
        Its bodies, the floor it needs and its role.
    """
    piece = home.pieces[item]
    role = role_of(piece) or "seat"
    chairs: dict[str, Placement] = {}
    body = _bodies(piece, rules)
    if piece.chairs is not None:
        chair_id = piece.chairs.piece
        if chair_id not in home.pieces:
            near = nearest(chair_id, home.pieces)
            raise LookupFailed(
                f"chairs of {id}",
                given=chair_id,
                allowed=", ".join(home.pieces),
                mend=f"write {near!r}" if near else "use one of these",
            )
        chair = home.pieces[chair_id]
        chairs = chair_places(
            piece, id=id, placement=Placement(at=(0.0, 0.0)), chair=chair, overrides=rules
        )
        body += [_seat_shape(chair, placement) for placement in chairs.values()]
    variants = _rooms(home, piece, role, chairs, rules)
    tops = [part.top for part in parts_of(piece)]
    backs = [part.top for part in parts_of(piece) if part.name in ("back", "headboard")]
    every = [*body, *(room.shape for rooms in variants for room in rooms)]
    counts = piece.chairs
    even = counts is None or (counts.front == counts.back and counts.left == counts.right)
    return Thing(
        id=id,
        item=item,
        piece=piece,
        role=role,
        body=tuple(body),
        variants=variants,
        reach=max(_far(shape) for shape in every),
        top=max(tops),
        back_top=max(backs, default=max(tops)),
        seats=tuple((s.at[0], s.at[1], s.facing) for s in seats_of(piece)),
        climbable=is_climbable(piece),
        climb=climb_height(piece),
        has_back=role
        in ("sofa", "bed", "screen", "storage", "tall storage", "console", "piano", "cot", "desk"),
        symmetric=role in ("low table", "dining", "divider") and even and piece.parts is None,
        locked=locked,
        optional=optional,
        relations=tuple(r for r in relations if r.piece == id),
        alike=alike,
    )


def things_of(
    home: Home,
    *,
    pieces: Mapping[str, str],
    locked: Mapping[str, Placement],
    optional: Sequence[str] = (),
    relations: Sequence[Relation] = (),
    rules: Mapping[str, float],
) -> tuple[Thing, ...]:
    """All pieces of a search, hub first.

    Parameters
    ----------
    home : Home
        Gives the pieces.
    pieces : mapping of str to str
        Placement id to piece id, of what is placed.
    locked : mapping of str to Placement
        What stays where it is.
    optional : sequence of str, optional
        Placement ids that may be left out.
    relations : sequence of Relation, optional
        What is asked of pieces.
    rules : mapping of str to float
        The project's own rule values.

    Returns
    -------
    tuple of Thing
        Locked ones first, then by role, then by size and id.

    Raises
    ------
    LookupFailed
        A relation or an option names what is not there.
    InputError
        A relation cannot be kept by its kind of piece.
    """
    every = [*pieces, *locked]
    for name in (*optional, *(r.piece for r in relations)):
        if name not in every:
            near = nearest(name, every)
            raise LookupFailed(
                "piece of a relation or option",
                given=name,
                allowed=", ".join(every) or "none",
                mend=f"write {near!r}" if near else "use one of these",
            )
    for relation in relations:
        if relation.kind not in ("faces", "against", "keep out of", "with"):
            raise InputError(
                "relation", given=relation.kind, allowed="faces, against, keep out of, with"
            )
    out: list[Thing] = []
    for id, placement in locked.items():
        out.append(thing_of(home, id=id, item=placement.item or id, rules=rules, locked=placement))
    groups: dict[tuple[object, ...], int] = {}
    loose: list[Thing] = []
    for id, item in pieces.items():
        own = tuple((r.kind, r.other) for r in relations if r.piece == id)
        named = any(r.other == id for r in relations)
        key = (item, own, id in optional) if not named else (id,)
        alike = groups.setdefault(key, len(groups))
        loose.append(
            thing_of(
                home,
                id=id,
                item=item,
                rules=rules,
                optional=id in optional,
                relations=relations,
                alike=alike,
            )
        )
    rank = {role: i for i, role in enumerate(ORDER)}
    loose.sort(
        key=lambda t: (rank[t.role], t.optional, -round(t.size[0] * t.size[1], 6), t.item, t.id)
    )
    return (*out, *loose)
