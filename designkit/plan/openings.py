"""Openings of a wall: jambs, clear width, leaves and the floor they sweep."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint

from designkit.errors import InputError
from designkit.model import Opening, Point
from designkit.plan.outline import Wall, is_number
from designkit.reference import value

__all__ = [
    "Leaf",
    "OpeningAt",
    "check_meets",
    "check_opening",
    "clear_width",
    "leaf_moves",
    "opening_at",
    "seen_from_far",
    "step",
]

MEETS = 0.05  # m; how well the two faces of a wall must agree with its thickness


@dataclass(frozen=True, kw_only=True, eq=False)
class Leaf:
    """A hung leaf: its hinge, its tip closed and open, the floor it sweeps."""

    pivot: Point
    closed: Point
    opened: Point
    swing: Polygon  # quarter disc
    body: Polygon  # the leaf itself, open at 90°
    base: float
    top: float
    here: bool  # it swings into this space


@dataclass(frozen=True, kw_only=True, eq=False)
class OpeningAt:
    """An opening as it is seen from one room.

    `left` and `right` are its structural edges on the face of that room, seen
    from inside; `clear_left` and `clear_right` bound the clear width.
    """

    id: str
    opening: Opening
    room: str
    to: str
    left: Point
    right: Point
    inward: Point
    clear: float
    clear_left: Point
    clear_right: Point
    strip: Polygon  # the wall's thickness, structural width
    leaves: tuple[Leaf, ...]
    far: bool  # seen from the room the opening leads to

    @property
    def centre(self) -> Point:
        """Middle of the clear width on the room's face. [m]"""
        (ax, ay), (bx, by) = self.clear_left, self.clear_right
        return ((ax + bx) / 2, (ay + by) / 2)


def leaf_moves(opening: Opening) -> str:
    """How the leaf of an opening moves.

    Parameters
    ----------
    opening : Opening
        A balcony door without a swing is taken by its leaf, as a window is.

    Returns
    -------
    str
        "in", "out", "slide" or "none"; in and out as seen from its room.
    """
    if opening.kind == "passage":
        return "none"
    if opening.kind == "window" or (opening.kind == "balcony" and opening.swing == "none"):
        return {"inward": "in", "tilt-turn": "in", "outward": "out", "sliding": "slide"}.get(
            opening.leaf, "none"
        )
    return opening.swing


def clear_width(opening: Opening, *, overrides: Mapping[str, float] | None = None) -> float:
    """Width that one passes through: as written, or the opening less its frames.

    Parameters
    ----------
    opening : Opening
        A door, balcony door or passage; of a window the width between frames.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    float
        A hung leaf stands in the opening at 90° and takes its share; of two
        sliding leaves one stays. [m]

    Raises
    ------
    InputError
        Nothing is left of the width.

    Examples
    --------
    >>> door = Opening(room="hall", wall=0, offset=0.5, width=0.9652, head=2.05, kind="door",
    ...                hinge="left", swing="in")
    >>> round(clear_width(door), 3)
    0.813
    """
    if opening.clear_width is not None:
        clear = opening.clear_width
        if not is_number(clear) or not 0.0 < clear <= opening.width + 1e-9:
            raise InputError(
                "clear width",
                given=clear,
                allowed=f"more than 0, at most the opening's {opening.width} m",
            )
        return clear
    if opening.kind == "passage":
        return opening.width
    clear = opening.width - value("plan.clear.door_frames", overrides)
    moves = leaf_moves(opening)
    if moves in ("in", "out") and opening.kind != "window":
        clear -= min(opening.leaves, 2) * value("plan.clear.door_leaf", overrides)
    if moves == "slide" and opening.leaves > 1:
        clear *= (opening.leaves - 1) / opening.leaves
    if clear <= 0:
        raise InputError(
            "clear width",
            given=f"{clear:.3f} m of an opening of {opening.width} m",
            allowed="more than 0",
            mend="give the structural width, or the clear width itself",
        )
    return clear


def check_opening(id: str, opening: Opening, wall: Wall, height: float) -> None:
    """Refuse an opening that is not in its wall.

    Parameters
    ----------
    id : str
        For messages.
    opening : Opening
        The opening.
    wall : Wall
        The wall it names.
    height : float
        Of the room. [m]

    Raises
    ------
    InputError
        A number is not finite, the opening is off its wall, its head is above
        the ceiling or under its sill, or a leaf that swings names no hinge.
    """
    for word in ("offset", "width", "head", "sill", "thickness"):
        number = getattr(opening, word)
        if not is_number(number) or number < 0:
            raise InputError(
                f"{word} of {id}", given=number, allowed="a finite number of metres, 0 or more"
            )
    if opening.width <= 0 or opening.offset + opening.width > wall.length + 1e-3:
        raise InputError(
            f"opening {id}",
            given=f"from {opening.offset:g} m, {opening.width:g} m wide",
            allowed=f"within wall {opening.wall} of {opening.room}, {wall.length:.3f} m long",
            mend="measure the offset from the wall's first corner as the outline is written",
        )
    if not opening.sill < opening.head <= height + 1e-3:
        raise InputError(
            f"head of {id}",
            given=f"{opening.head:g} m over a sill of {opening.sill:g} m",
            allowed=f"above the sill, at most the room's height of {height:g} m",
        )
    if opening.leaves < 1:
        raise InputError(f"leaves of {id}", given=opening.leaves, allowed="1 or more")
    swings = opening.kind != "window" and leaf_moves(opening) in ("in", "out")
    if swings and opening.hinge is None and opening.leaves == 1:
        raise InputError(
            f"hinge of {id}",
            allowed="left or right, seen from inside the room, facing the opening",
            mend="write the side of the hinges; a leaf that swings has them",
        )


def step(a: Point, u: Point, distance: float) -> Point:
    """A point some way from another.

    Parameters
    ----------
    a : Point
        Where to start. [m]
    u : Point
        Unit vector.
    distance : float
        How far. [m]

    Returns
    -------
    Point
        [m]
    """
    return (a[0] + u[0] * distance, a[1] + u[1] * distance)


def _leaf(
    pivot: Point,
    along: Point,
    out: Point,
    length: float,
    thick: float,
    opening: Opening,
    here: bool,
) -> Leaf:
    turn = np.linspace(0.0, math.pi / 2, 25)
    arc = [
        (
            pivot[0] + length * (math.cos(t) * along[0] + math.sin(t) * out[0]),
            pivot[1] + length * (math.cos(t) * along[1] + math.sin(t) * out[1]),
        )
        for t in turn
    ]
    tip = step(pivot, out, length)
    return Leaf(
        pivot=pivot,
        closed=step(pivot, along, length),
        opened=tip,
        swing=Polygon([pivot, *arc]),
        body=Polygon([pivot, step(pivot, along, thick), step(tip, along, thick), tip]),
        base=opening.sill,
        top=opening.head,
        here=here,
    )


def _leaves(
    opening: Opening,
    left: Point,
    right: Point,
    inward: Point,
    here_in: bool,
    here_out: bool,
    overrides: Mapping[str, float] | None,
) -> tuple[Leaf, ...]:
    moves = leaf_moves(opening)
    if moves not in ("in", "out"):
        return ()
    frame = value("plan.clear.door_frames", overrides) / 2
    thick = value("plan.clear.leaf_thickness", overrides)
    out = inward if moves == "in" else (-inward[0], -inward[1])
    here = here_in if moves == "in" else here_out
    shift = 0.0 if moves == "in" else opening.thickness
    u = ((right[0] - left[0]) / opening.width, (right[1] - left[1]) / opening.width)
    back = (-u[0], -u[1])
    start = step(step(left, u, frame), inward, -shift)
    length = (opening.width - 2 * frame) / opening.leaves
    leaves = []
    for k in range(opening.leaves):
        if 2 * k + 1 == opening.leaves:  # the only leaf, or the middle one of three
            on_left = (opening.hinge or "left") == "left"
        else:  # pairs part in the middle
            on_left = 2 * k < opening.leaves
        if on_left:
            pivot, along = step(start, u, k * length), u
        else:
            pivot, along = step(start, u, (k + 1) * length), back
        leaves.append(_leaf(pivot, along, out, length, thick, opening, here))
    return tuple(leaves)


def opening_at(
    id: str,
    opening: Opening,
    wall: Wall,
    *,
    here_in: bool,
    here_out: bool,
    overrides: Mapping[str, float] | None,
) -> OpeningAt:
    """An opening as it is seen from its own room.

    Parameters
    ----------
    id : str
        The opening's id.
    opening : Opening
        The opening, checked.
    wall : Wall
        The wall it stands in.
    here_in, here_out : bool
        Whether what swings in, or out, sweeps floor of the same space.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    OpeningAt
        Jambs, clear width, leaves.

    Raises
    ------
    InputError
        Nothing is left of the clear width.
    """
    n = wall.inward
    # Facing the opening one looks along -n; the right hand is a quarter turn clockwise from it.
    right_hand = (-n[1], n[0])
    u = (
        (wall.end[0] - wall.start[0]) / wall.length,
        (wall.end[1] - wall.start[1]) / wall.length,
    )
    a = step(wall.start, u, opening.offset)
    b = step(wall.start, u, opening.offset + opening.width)
    same = u[0] * right_hand[0] + u[1] * right_hand[1] > 0
    left, right = (a, b) if same else (b, a)
    clear = clear_width(opening, overrides=overrides)
    rest = opening.width - clear
    frame = min(value("plan.clear.door_frames", overrides) / 2, rest / 2)
    moves = leaf_moves(opening)
    if moves in ("in", "out") and opening.leaves == 1 and opening.kind != "window":
        # The leaf and its stop are on the hinge side, a frame on the other.
        low = rest - frame if opening.hinge == "left" else frame
    else:
        low = rest / 2
    outward = (-n[0], -n[1])
    return OpeningAt(
        id=id,
        opening=opening,
        room=opening.room,
        to=opening.to,
        left=left,
        right=right,
        inward=n,
        clear=clear,
        clear_left=step(left, right_hand, low),
        clear_right=step(left, right_hand, low + clear),
        strip=Polygon(
            [
                left,
                right,
                step(right, outward, opening.thickness),
                step(left, outward, opening.thickness),
            ]
        ),
        leaves=_leaves(opening, left, right, n, here_in, here_out, overrides),
        far=False,
    )


def seen_from_far(near: OpeningAt, room: str, here: bool) -> OpeningAt:
    """The same opening as it is seen from the room it leads to.

    Parameters
    ----------
    near : OpeningAt
        As seen from its own room.
    room : str
        The other room's id.
    here : bool
        Whether its leaves are told here; within one space they are told once.

    Returns
    -------
    OpeningAt
        On the other face of the wall, with left and right changed over.
    """
    outward = (-near.inward[0], -near.inward[1])
    thick = near.opening.thickness
    moves_out = leaf_moves(near.opening) == "out"
    leaves = tuple(
        Leaf(
            pivot=leaf.pivot,
            closed=leaf.closed,
            opened=leaf.opened,
            swing=leaf.swing,
            body=leaf.body,
            base=leaf.base,
            top=leaf.top,
            here=moves_out,
        )
        for leaf in near.leaves
    )
    return OpeningAt(
        id=near.id,
        opening=near.opening,
        room=room,
        to=near.room,
        left=step(near.right, outward, thick),
        right=step(near.left, outward, thick),
        inward=outward,
        clear=near.clear,
        clear_left=step(near.clear_right, outward, thick),
        clear_right=step(near.clear_left, outward, thick),
        strip=near.strip,
        leaves=leaves if here else (),
        far=True,
    )


def check_meets(near: OpeningAt, room: str, polygon: Polygon) -> None:
    """Refuse an opening whose far face is not a wall of the room it leads to.

    Parameters
    ----------
    near : OpeningAt
        As seen from its own room.
    room : str
        The other room's id.
    polygon : Polygon
        The other room's floor.

    Raises
    ------
    InputError
        The message gives the thickness that would meet.
    """
    outward = (-near.inward[0], -near.inward[1])
    gaps = []
    for point in (near.left, near.right):
        far = ShapelyPoint(step(point, outward, near.opening.thickness))
        gaps.append(far.distance(polygon.exterior))
    if max(gaps) <= MEETS:
        return
    middle = ((near.left[0] + near.right[0]) / 2, (near.left[1] + near.right[1]) / 2)
    ray = LineString([middle, step(middle, outward, 3.0)])
    hit = ray.intersection(polygon)
    mend = f"check that {near.id} stands in the wall towards {room}"
    if not hit.is_empty:
        mend = f"write thickness = {hit.distance(ShapelyPoint(middle)):.3f} m, or move the room"
    raise InputError(
        f"opening {near.id}",
        given=f"thickness {near.opening.thickness:g} m, {max(gaps):.3f} m off {room}",
        allowed=f"a wall whose other face is a wall of {room}, within {MEETS:g} m",
        mend=mend,
    )
