"""Openings as the walls have them: where they cut, and their glass, leaf and frame.

An opening is listed once, in one room; the room beyond has the same hole in
the wall that stands there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.model import Opening, Point
from designkit.plan.outline import Wall
from designkit.scene.solids import Shell

__all__ = ["Hole", "Rect", "holes", "panes"]

Rect = tuple[float, float, float, float]  # along the wall from, height from, to, to [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Hole:
    """An opening in a wall, as this wall has it."""

    id: str
    opening: Opening
    wall: int
    rect: Rect
    own: bool  # False: the opening stands in the other room's list


def holes(rooms: Shell) -> dict[str, list[Hole]]:
    """The openings of each room, with those that the room beyond has listed.

    Parameters
    ----------
    rooms : Shell
        The rooms that count.

    Returns
    -------
    dict of str to list of Hole
        For each room, in the order of the project.
    """
    found: dict[str, list[Hole]] = {id: [] for id in rooms.rooms}
    for space in rooms.spaces:
        for at in space.openings:
            if at.room not in found:
                continue
            opening = at.opening
            high = min(opening.head, rooms.heights[at.room])
            if at.far:
                wall, a, b = _in_wall(rooms.walls[at.room], (at.left, at.right))
            else:
                wall, a, b = opening.wall, opening.offset, opening.offset + opening.width
            found[at.room].append(
                Hole(
                    id=at.id,
                    opening=opening,
                    wall=wall,
                    rect=(a, opening.sill, b, high),
                    own=not at.far,
                )
            )
    return found


def _in_wall(walls: Sequence[Wall], ends: Sequence[Point]) -> tuple[int, float, float]:
    """The wall nearest to two points, and where along it they are.

    That they lie in a wall at all is checked where spaces are made.
    """
    best = (math.inf, 0, 0.0, 0.0)
    for wall in walls:
        if wall.length <= 0:
            continue
        ux, uy = (
            (wall.end[0] - wall.start[0]) / wall.length,
            (wall.end[1] - wall.start[1]) / wall.length,
        )
        at = [(x - wall.start[0]) * ux + (y - wall.start[1]) * uy for x, y in ends]
        off = [
            abs((x - wall.start[0]) * wall.inward[0] + (y - wall.start[1]) * wall.inward[1])
            for x, y in ends
        ]
        over = max(0.0, -min(at), max(at) - wall.length)
        if max(off) + over < best[0]:
            a, b = max(min(at), 0.0), min(max(at), wall.length)
            best = (max(off) + over, wall.index, a, b)
    return best[1:]


def panes(hole: Hole, *, frame_width: float) -> tuple[list[Rect], list[Rect]]:
    """The glass of a window and its frame, as rectangles on the wall.

    Parameters
    ----------
    hole : Hole
        The opening in its wall.
    frame_width : float
        Face width of frame and of each sash. [m]

    Returns
    -------
    tuple of list
        Glass, frame. A door has its leaf in the place of glass; a passage has
        neither.

    Raises
    ------
    InputError
        The frame is not narrower than half the opening.
    """
    a, low, b, high = hole.rect
    kind = hole.opening.kind
    if kind == "passage":
        return [], []
    if not 0 <= 2 * frame_width < min(b - a, high - low):
        raise InputError(
            f"frame of {hole.id}",
            given=f"{frame_width:g} m",
            allowed=f"under half of the opening, {b - a:g} by {high - low:g} m",
            mend="give a narrower frame",
        )
    sill = low if kind == "door" else low + frame_width
    leaves = max(1, hole.opening.leaves) if kind != "door" else 1
    # Between two leaves their stiles stand side by side.
    between = min(2 * frame_width, (b - a - 2 * frame_width) / (2 * leaves))
    clear = (b - a - 2 * frame_width - (leaves - 1) * between) / leaves
    glass: list[Rect] = []
    frame: list[Rect] = [
        (a, low, a + frame_width, high),
        (b - frame_width, low, b, high),
        (a + frame_width, high - frame_width, b - frame_width, high),
    ]
    if kind != "door":
        frame.append((a + frame_width, low, b - frame_width, sill))
    for n in range(leaves):
        start = a + frame_width + n * (clear + between)
        glass.append((start, sill, start + clear, high - frame_width))
        if n:
            frame.append((start - between, sill, start, high - frame_width))
    return glass, frame
