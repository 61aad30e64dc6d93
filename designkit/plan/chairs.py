"""Where the chairs of a table stand."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from designkit.errors import InputError
from designkit.model import Piece, Placement, Point
from designkit.plan.pieces import parts_of
from designkit.plan.turning import axes_of, turned
from designkit.reference import value

__all__ = ["chair_places"]


def _spread(count: int, length: float, cut_low: float, cut_high: float) -> list[float]:
    """Centres of places along a side, less what places at its ends take."""
    low, high = -length / 2 + cut_low, length / 2 - cut_high
    if high - low < 0.2 * length:
        low, high = -length / 2, length / 2
    return [low + (high - low) * (i + 0.5) / count for i in range(count)]


def _tuck(table: Piece, chair: Piece, room: float, overrides: Mapping[str, float] | None) -> float:
    """How far a chair goes under the edge, as legs, arms and its back allow."""
    under = min(
        (p.base for p in parts_of(table) if p.base > 0.3),
        default=table.size[2],
    )
    blocks = [
        p.top
        for p in parts_of(chair)
        if p.name != "back" and p.top > under and p.at[1] - p.size[1] / 2 < 0
    ]
    if blocks:
        return 0.0
    return max(0.0, min(value("plan.table.tuck", overrides), room, chair.size[1] - 0.15))


def chair_places(
    table: Piece,
    *,
    id: str,
    placement: Placement,
    chair: Piece,
    overrides: Mapping[str, float] | None = None,
) -> dict[str, Placement]:
    """Where the chairs of a table stand, pushed in.

    Parameters
    ----------
    table : Piece
        A table with `chairs`; without them there are none.
    id : str
        The table's placement id; chairs are named after it.
    placement : Placement
        Where the table stands.
    chair : Piece
        The chair.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    dict of str to Placement
        "table.front1" is the first from the left end of the front side, as the
        table is drawn unturned; "table.around1" stands at the front and the
        others follow counter-clockwise.

    Raises
    ------
    InputError
        A count is below 0, or chairs stand around a table that is not round.
    """
    chairs = table.chairs
    if chairs is None:
        return {}
    counts = (chairs.front, chairs.back, chairs.left, chairs.right, chairs.around)
    if min(counts) < 0:
        raise InputError(f"chairs of {id}", given=min(counts), allowed="0 or more")
    if chairs.around and table.shape != "circle":
        raise InputError(
            f"chairs of {id}",
            given=f"around = {chairs.around}",
            allowed="front, back, left, right at a table with corners",
            mend="write shape = circle, or name the sides",
        )
    w, d, _ = table.size
    out: dict[str, Placement] = {}
    if chairs.around:
        tuck = _tuck(table, chair, 0.3 * min(w, d), overrides)
        reach = w / 2 - tuck + chair.size[1] / 2
        for i in range(chairs.around):
            angle = -90.0 + 360.0 * i / chairs.around
            axis = axes_of(angle) @ np.array((reach, 0.0))
            out[f"{id}.around{i + 1}"] = _at_table(
                placement, (float(axis[0]), float(axis[1])), angle - 90.0, chairs.piece
            )
    end = value("plan.table.end", overrides)
    # (side, count, along x?, sign of the side's direction, turn that faces the table)
    sides = (
        ("front", chairs.front, True, -1.0, 180.0),
        ("back", chairs.back, True, 1.0, 0.0),
        ("left", chairs.left, False, -1.0, 90.0),
        ("right", chairs.right, False, 1.0, 270.0),
    )
    for side, count, along_x, sign, turn in sides:
        if not count:
            continue
        length, across = (w, d) if along_x else (d, w)
        # Only the long sides give way to places at the ends.
        low, high = (chairs.left, chairs.right) if along_x else (0, 0)
        opposite = {
            "front": chairs.back,
            "back": chairs.front,
            "left": chairs.right,
            "right": chairs.left,
        }[side]
        room = across / 2 - 0.05 if opposite else across - 0.1
        reach = across / 2 - _tuck(table, chair, room, overrides) + chair.size[1] / 2
        spots = _spread(count, length, end if low else 0.0, end if high else 0.0)
        for i, s in enumerate(spots, start=1):
            local = (s, sign * reach) if along_x else (sign * reach, s)
            out[f"{id}.{side}{i}"] = _at_table(placement, local, turn, chairs.piece)
    return out


def _at_table(table: Placement, local: Point, turn: float, item: str) -> Placement:
    at = turned(local, at=table.at, rotation=table.rotation)
    return Placement(at=at, rotation=(table.rotation + turn) % 360.0, item=item, room=table.room)
