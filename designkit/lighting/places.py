"""Places that want light: rooms, table tops, pages, worktops, faces; and how much."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.room_light import LitHome
from designkit.lighting.shell import room_at
from designkit.model import Home
from designkit.plan.place import Placed
from designkit.reference import all_rows, lookup, value

__all__ = ["Place", "Wanted", "age_factors", "eldest", "places", "wanted_for"]

Array = npt.NDArray[np.float64]

# What a room or a piece counts as among the targets of the trade.
_ROOM_USE = {
    "living": "living",
    "dining": "living",
    "hall": "hall",
    "corridor": "hall",
    "sleeping": "sleeping",
    "bedroom": "sleeping",
}
_PIECE_USE = {"dining table": "dining_table", "counter": "worktop", "desk": "page"}
_READING = ("sofa", "armchair", "daybed")


@dataclass(frozen=True, kw_only=True, eq=False)
class Wanted:
    """How much light a place wants, and who says so."""

    low: float | None  # [lx]; None: no target, the designer's choice
    high: float | None = None
    dimmed: float | None = None
    rule: str = ""
    source: str = "no target: the designer's choice"


@dataclass(frozen=True, kw_only=True, eq=False)
class Place:
    """Something that wants light."""

    id: str  # "room", a placement id, or "sofa seat 2"
    name: str
    room: str
    kind: str  # living, dining_table, hall, sleeping, worktop, page, mirror, ""
    plane: float  # height [m]
    points: Array | None  # (n, 3); None: the mean of the whole room
    normal: tuple[float, float, float] = (0.0, 0.0, 1.0)
    at: tuple[float, float]
    about: tuple[str, ...] = ()
    wanted: Wanted


def eldest(home: Home) -> int | None:
    """Age of the oldest person of the brief; None where no age is given.

    Parameters
    ----------
    home : Home
        With its brief.

    Returns
    -------
    int or None
        Age. [a]
    """
    return max((p.age for p in home.brief.people if p.age is not None), default=None)


def age_factors(
    age: float | None, *, overrides: Mapping[str, float] | None = None
) -> tuple[float, float]:
    """Factors on the least and the most light on a page at an age.

    Parameters
    ----------
    age : float or None
        Age of the reader; None where it is not known. [a]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float
        1 and 1 up to the age of 64.

    Raises
    ------
    InputError
        The age is not from 0 to 130.

    Examples
    --------
    >>> age_factors(70)
    (1.5, 2.0)
    """
    if age is None:
        return 1.0, 1.0
    if not 0 <= age <= 130:
        raise InputError("age", given=age, allowed="0 to 130")
    if age < value("light.age.from", overrides):
        return 1.0, 1.0
    return value("light.age.low", overrides), value("light.age.high", overrides)


def wanted_for(
    kind: str, *, age: float | None = None, overrides: Mapping[str, float] | None = None
) -> Wanted:
    """What a kind of place wants.

    Parameters
    ----------
    kind : str
        living, dining_table, hall, sleeping, worktop, page, mirror; "" for none.
    age : float, optional
        Age of the reader, for a page. [a]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Wanted
        Least, most and dimmed light with its source.

    Raises
    ------
    LookupFailed
        There is no such kind.

    Examples
    --------
    >>> wanted_for("page", age=70).low
    450.0
    """
    if not kind:
        return Wanted(low=None)
    rule = f"light.target.{kind}.low"
    row = lookup(rule)  # says the nearest name where there is none

    def number(part: str) -> float | None:
        id = f"light.target.{kind}.{part}"
        return value(id, overrides) if id in all_rows() else None

    low, high = number("low"), number("high")
    source = "the project's own value" if overrides and rule in overrides else row.source
    if kind == "page":
        by_low, by_high = age_factors(age, overrides=overrides)
        if by_low != 1:
            assert age is not None
            source += f"; × {by_low:g} to {by_high:g} for a reader of {age:g}"
        low = None if low is None else low * by_low
        high = None if high is None else high * by_high
    return Wanted(low=low, high=high, dimmed=number("dimmed"), rule=rule, source=source)


def places(lit: LitHome, *, age: float | None = None) -> tuple[Place, ...]:
    """Everything in a layout that wants light.

    Rooms; dining tables, worktops and desks (mean over the top); a page at each
    seat of a sofa, armchair or daybed; the face before a mirror in a bathroom or
    dressing room; and what the project's targets and the brief's wishes name.

    Parameters
    ----------
    lit : LitHome
        The layout.
    age : float, optional
        Age of the reader; the eldest of the brief where not given. [a]

    Returns
    -------
    tuple of Place
        Rooms first, then pieces in the order of the layout.

    Raises
    ------
    LookupFailed
        A target or a wish names a place that does not exist.
    """
    home, rules = lit.home, lit.home.rules
    reader = eldest(home) if age is None else age
    found: dict[str, Place] = {}
    for id, shell in lit.shells.items():
        kind = _ROOM_USE.get(shell.room.use, "")
        centre = shell.outline.representative_point()
        found[id] = Place(
            id=id,
            name=shell.room.name,
            room=id,
            kind=kind,
            plane=value("light.plane.hall" if kind == "hall" else "light.plane.general", rules),
            points=None,
            at=(float(centre.x), float(centre.y)),
            about=(id,),
            wanted=wanted_for(kind, overrides=rules),
        )
    for id, thing in lit.placed.items():
        kind = _PIECE_USE.get(thing.piece.kind, "")
        if kind:
            found[id] = _top(lit, thing, kind, wanted_for(kind, age=reader, overrides=rules))
        elif thing.piece.kind in _READING:
            for place in _pages(lit, thing, wanted_for("page", age=reader, overrides=rules)):
                found[place.id] = place
        elif thing.piece.kind == "mirror":
            mirror = _face(lit, thing)
            if mirror is not None:
                found[id] = mirror
    _own_targets(lit, found)
    return tuple(found.values())


def _room_of(lit: LitHome, thing: Placed) -> str:
    return thing.room or room_at(lit.shells, at=thing.at, what=f"place of {thing.id}")


def _top(lit: LitHome, thing: Placed, kind: str, wanted: Wanted) -> Place:
    area = thing.footprint
    return Place(
        id=thing.id,
        name=thing.piece.name,
        room=_room_of(lit, thing),
        kind=kind,
        plane=thing.top,
        points=_spread(area, height=thing.top),
        at=thing.at,
        about=(thing.id,),
        wanted=wanted,
    )


def _spread(area: Polygon, *, height: float) -> Array:
    """Points about 15 cm apart all over an area."""
    x0, y0, x1, y1 = area.bounds
    nx, ny = max(3, round((x1 - x0) / 0.15)), max(3, round((y1 - y0) / 0.15))
    x = x0 + (x1 - x0) * (np.arange(nx) + 0.5) / nx
    y = y0 + (y1 - y0) * (np.arange(ny) + 0.5) / ny
    at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    at = at[shapely.contains_xy(area, at[:, 0], at[:, 1])]
    if not len(at):
        at = np.asarray([area.representative_point().coords[0]])
    return np.column_stack([at, np.full(len(at), height)])


def _pages(lit: LitHome, thing: Placed, wanted: Wanted) -> list[Place]:
    rules = lit.home.rules
    up = value("light.page.above_seat", rules)
    before = value("light.page.before_seat", rules)
    tilt = math.radians(value("light.page.tilt", rules))
    room = _room_of(lit, thing)
    out = []
    for number, seat in enumerate(thing.seats, start=1):
        facing = math.radians(seat.facing)
        ahead = np.array([math.cos(facing), math.sin(facing)])
        at = np.asarray(seat.at) + before * ahead
        height = seat.height + up
        # The page leans back towards the reader: its normal points up and to the eyes.
        normal = (*(-math.sin(tilt) * ahead).tolist(), math.cos(tilt))
        one = len(thing.seats) == 1
        out.append(
            Place(
                id=f"{thing.id} page" if one else f"{thing.id} page {number}",
                name=f"page, {thing.piece.name}" + ("" if one else f", seat {number}"),
                room=room,
                kind="page",
                plane=height,
                points=np.array([[*at, height]]),
                normal=(normal[0], normal[1], normal[2]),
                at=(float(at[0]), float(at[1])),
                about=(thing.id,),
                wanted=wanted,
            )
        )
    return out


def _face(lit: LitHome, thing: Placed) -> Place | None:
    room = _room_of(lit, thing)
    if lit.shells[room].room.use not in ("bath", "bathroom", "dressing"):
        return None
    rules = lit.home.rules
    # At 0° the front of a piece looks to −y; the face looks back at the mirror.
    front = math.radians(thing.rotation - 90)
    ahead = np.array([math.cos(front), math.sin(front)])
    at = np.asarray(thing.at) + value("light.mirror.before", rules) * ahead
    height = value("light.mirror.height", rules)
    return Place(
        id=thing.id,
        name=f"face before {thing.piece.name}",
        room=room,
        kind="mirror",
        plane=height,
        points=np.array([[*at, height]]),
        normal=(float(-ahead[0]), float(-ahead[1]), 0.0),
        at=(float(at[0]), float(at[1])),
        about=(thing.id,),
        wanted=wanted_for("mirror", overrides=rules),
    )


def _own_targets(lit: LitHome, found: dict[str, Place]) -> None:
    """What the project and the brief ask for goes before the targets of the trade."""
    asked = [
        (f"targets.{id}", t.place, t.lux, t.plane, t.text or "the project's own target")
        for id, t in lit.home.targets.items()
    ]
    asked += [
        (f"brief.wishes.{id}", w.end, w.at_least, None, f"the brief: {w.text}")
        for id, w in lit.home.brief.wishes.items()
        if w.kind == "light" and w.at_least is not None
    ]
    for what, name, lux, plane, source in asked:
        assert lux is not None
        if not (math.isfinite(lux) and lux > 0):
            raise InputError(f"{what}.lux", given=f"{lux:g} lx", allowed="more than 0 lx")
        matches = [
            p for p in found.values() if name in (p.id, p.kind) or p.id.startswith(f"{name} page")
        ]
        if not matches and name in lit.placed:
            matches = [_top(lit, lit.placed[name], "", Wanted(low=None))]
        if not matches:
            if name in lit.home.pieces:
                continue  # a piece of another layout
            known = [*found, *lit.placed]
            raise LookupFailed(
                f"{what}.place",
                given=name,
                allowed=", ".join(known),
                mend=f"nearest: {nearest(name, known) or 'none'}",
            )
        for place in matches:
            found[place.id] = Place(
                id=place.id,
                name=place.name,
                room=place.room,
                kind=place.kind,
                plane=place.plane if plane is None else plane,
                points=_moved(place.points, plane),
                normal=place.normal,
                at=place.at,
                about=place.about,
                wanted=Wanted(
                    low=lux, dimmed=place.wanted.dimmed, rule=place.wanted.rule, source=source
                ),
            )


def _moved(points: Array | None, plane: float | None) -> Array | None:
    if points is None or plane is None:
        return points
    moved = points.copy()
    moved[:, 2] = plane
    return moved
