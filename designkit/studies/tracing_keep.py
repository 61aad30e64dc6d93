"""What "from a plan" keeps: ids and places of rooms, a tracing that is under way."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from designkit.model import Point, Room
from designkit.plan.tracing import Scale, Traced

__all__ = ["free_id", "free_place", "rooms_held", "rooms_of"]


def free_id(name: str, taken: Mapping[str, object]) -> str:
    """An id for a room that no other has.

    Parameters
    ----------
    name : str
        Name of the room.
    taken : mapping of str to object
        Ids that are there.

    Returns
    -------
    str
        Small letters, numbers and lines.

    Examples
    --------
    >>> free_id("Living room", {"living_room": 1})
    'living_room_2'
    """
    stem = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") or "room"
    id, number = stem, 2
    while id in taken:
        id, number = f"{stem}_{number}", number + 1
    return id


def free_place(rooms: Iterable[Room]) -> Point:
    """A place right of the rooms that are there, a metre away.

    Parameters
    ----------
    rooms : iterable of Room
        Of the home.

    Returns
    -------
    tuple of float
        Lower left corner. [m]

    Examples
    --------
    >>> free_place([])
    (0.0, 0.0)
    """
    ends = [x for room in rooms for x, _ in room.outline]
    return (max(ends) + 1.0, 0.0) if ends else (0.0, 0.0)


def rooms_held(kept: Sequence[tuple[str, Traced]]) -> list[dict[str, Any]]:
    """Rooms of a sheet as a draft remembers them.

    Parameters
    ----------
    kept : sequence of (str, Traced)
        Names, and outlines as they stand in the home.

    Returns
    -------
    list of dict of str to Any
        For `rooms_of`.
    """
    return [{"name": name, **asdict(traced)} for name, traced in kept]


def rooms_of(held: Iterable[Mapping[str, Any]]) -> list[tuple[str, Traced]]:
    """Rooms of a sheet from a draft.

    Parameters
    ----------
    held : iterable of mapping of str to Any
        As from `rooms_held`; tuples may have become lists.

    Returns
    -------
    list of (str, Traced)
        Names, and outlines as they stand in the home.

    Raises
    ------
    KeyError, TypeError, ValueError
        The draft is damaged.

    Examples
    --------
    >>> from designkit.plan.tracing import scale_between, trace
    >>> scale = scale_between((0, 0), (400, 0), distance=4.0)
    >>> one = trace([(0, 0), (400, 0), (400, 300), (0, 300)], scale=scale)
    >>> name, again = rooms_of(rooms_held([("hall", one)]))[0]
    >>> name, again.outline == one.outline, again.scale == one.scale
    ('hall', True, True)
    """

    def points(rows: Iterable[Sequence[float]]) -> tuple[Point, ...]:
        return tuple((float(x), float(y)) for x, y in rows)

    found = []
    for row in held:
        rest = {key: row[key] for key in ("area", "within", "area_within", "moved")}
        traced = Traced(
            clicked=points(row["clicked"]),
            outline=points(row["outline"]),
            snapped=tuple(bool(one) for one in row["snapped"]),
            scale=Scale(**row["scale"]),
            **rest,
        )
        found.append((str(row["name"]), traced))
    return found
