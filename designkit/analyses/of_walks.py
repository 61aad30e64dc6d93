"""The rooms of a home as they were walked: what each walk says, and the home that follows.

A walk that does not close, or that cannot be read to its end, leaves its room
as it was; what is wrong with it is kept beside it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from shapely import union_all
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon

from designkit.errors import DesignkitError, InputError
from designkit.model import Home, Layout, Opening, Point, Room, Service, Walk
from designkit.plan.place import place
from designkit.plan.survey import Rule, Survey, survey
from designkit.plan.survey_items import read_diagonals
from designkit.plan.survey_rooms import SurveyedRooms, join_rooms
from designkit.plan.survey_words import walk_of

__all__ = ["Walked", "survey_of", "walked"]

_SAME = 0.6  # m; a service that moved less is the same one
_OFF = 0.3  # m; the middle of a body is no farther from its wall


@dataclass(frozen=True, kw_only=True, eq=False)
class Walked:
    """A home after its walks were taken in."""

    home: Home
    surveys: Mapping[str, Survey]  # by room; one that cannot be read at all is not there
    problems: Mapping[str, tuple[DesignkitError, ...]]  # by room, "" where rooms do not join
    apart: tuple[str, ...]  # rooms that no opening joins to the first
    guessed: tuple[str, ...]  # heights and thicknesses that nobody measured
    left_out: tuple[str, ...]  # pieces of a sample room that are taken out of the layout


def survey_of(
    walk: Walk, *, units: str, overrides: Mapping[str, float] | None = None
) -> tuple[Survey | None, tuple[DesignkitError, ...]]:
    """A walk as it was typed, with what is wrong with it.

    Parameters
    ----------
    walk : Walk
        As typed, whole or not.
    units : str
        Unit of bare numbers.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of Survey or None, and tuple of DesignkitError
        None where not even the first wall can be read.

    Examples
    --------
    >>> found, wrong = survey_of(Walk(walls="right 4, up 3, left 4, down three"), units="m")
    >>> len(found.walls), str(wrong[0]).split("=")[0]
    (3, "wall 4, 'down three' ")
    """
    problems: list[DesignkitError] = []
    pinned = walk.pinned if walk.spread == "pinned" else None

    rule: Rule | None = None
    if walk.spread == "square" or walk.spread == "compass":
        rule = walk.spread

    def read(pin: int | None) -> Survey:
        return survey(
            walk.walls,
            units=units,
            height=walk.height.strip() or None,
            rule=rule,
            pinned=pin,
            source=walk.source,
            strict=False,
            overrides=overrides,
        )

    try:
        try:
            found = read(pinned)
        except InputError as problem:
            if pinned is None:
                raise
            problems.append(problem)
            found = read(None)
    except InputError as problem:
        return None, (*problems, problem)
    try:
        lines = read_diagonals(walk.diagonals, corners=len(found.outline), units=units)
        if lines:
            found = _with_diagonals(found, walk, lines, units, overrides)
    except InputError as problem:
        problems.append(problem)
    return found, (*found.problems, *problems)


def _with_diagonals(
    found: Survey, walk: Walk, lines: object, units: str, overrides: Mapping[str, float] | None
) -> Survey:
    return survey(
        walk.walls,
        units=units,
        height=walk.height.strip() or None,
        rule=found.rule,
        pinned=found.pinned,
        source=walk.source,
        strict=False,
        overrides=overrides,
        diagonals=lines,  # type: ignore[arg-type]
    )


def walked(home: Home) -> Walked:
    """Take the walks of a home into its rooms, openings and services.

    An opening or a service that was there before keeps its id and what the
    walk does not say of it, such as its view or its circuit.

    Parameters
    ----------
    home : Home
        With its walks.

    Returns
    -------
    Walked
        Rooms without a walk are left as they are.

    Examples
    --------
    >>> home = Home(name="h", walks={"a": Walk(walls="right 4, up 3, left 4, down 3")})
    >>> walked(home).home.rooms["a"].outline[2]
    (4.0, 3.0)
    """
    surveys: dict[str, Survey] = {}
    problems: dict[str, tuple[DesignkitError, ...]] = {}
    order = [*(id for id in home.rooms if id in home.walks), *home.walks]
    for id in dict.fromkeys(order):
        found, wrong = survey_of(home.walks[id], units=home.units, overrides=home.rules)
        if found is not None:
            surveys[id] = _named(found, home)
        if wrong:
            problems[id] = wrong
    whole = {id: s for id, s in surveys.items() if s.area is not None and not s.problems}
    if not whole:
        return Walked(
            home=home, surveys=surveys, problems=problems, apart=(), guessed=(), left_out=()
        )
    try:
        joined = _joined(home, whole)
    except DesignkitError as problem:
        problems[""] = (problem,)
        return Walked(
            home=home, surveys=surveys, problems=problems, apart=(), guessed=(), left_out=()
        )
    sample = [
        id
        for id in whole
        if id in home.rooms and home.rooms[id].known.source == "guess" and _fresh(home, id)
    ]
    new = _with_rooms(home, joined, tuple(whole))
    new = _with_moved(home, new, joined, tuple(whole))
    new, left_out = _without_samples(home, new, sample)
    return Walked(
        home=new,
        surveys=surveys,
        problems=problems,
        apart=tuple(id for id in joined.apart if id in whole),
        guessed=joined.guessed,
        left_out=left_out,
    )


def _named(found: Survey, home: Home) -> Survey:
    """Openings that lead to a room by its name lead to its id."""
    names = {walk.name.casefold(): id for id, walk in home.walks.items() if walk.name}
    names |= {room.name.casefold(): id for id, room in home.rooms.items()}
    known = {*home.rooms, *home.walks}
    openings = tuple(
        one if one.to in known else replace(one, to=names.get(one.to.casefold(), one.to))
        for one in found.openings
    )
    return replace(found, openings=openings)


def _fresh(home: Home, id: str) -> bool:
    """Whether the room is still the guess that a new project begins with."""
    return not any(id == one.room for one in home.services.values())


def _joined(home: Home, whole: Mapping[str, Survey]) -> SurveyedRooms:
    """The rooms in one frame; those that were known before keep their place."""
    beside: dict[str, Survey] = {}
    seen = set(whole)
    waiting = [one.to for survey in whole.values() for one in survey.openings]
    while waiting:  # what a walked room leads to moves with it
        id = waiting.pop()
        if id in seen or id not in home.rooms:
            continue
        seen.add(id)
        found, wrong = survey_of(walk_of(home, id), units=home.units, overrides=home.rules)
        if found is not None and not wrong:
            beside[id] = found
            waiting += [one.to for one in found.openings]
    both = {**beside, **whole}
    walks = {id: both[id] for id in [*home.rooms, *whole] if id in both}
    anchors: dict[str, Point] = {id: home.rooms[id].outline[0] for id in walks if id in home.rooms}
    names = {id: home.walks[id].name for id in whole}
    uses = {id: home.walks[id].use for id in whole}
    for id in beside:
        names[id], uses[id] = home.rooms[id].name, home.rooms[id].use
    try:
        return join_rooms(walks, names=names, uses=uses, anchors=anchors, overrides=home.rules)
    except InputError as problem:
        if not problem.what.startswith("rooms "):
            raise
        # A room grew over one that was only laid beside it: lay it anew.
        first = next(iter(walks))
        kept = {id: at for id, at in anchors.items() if id == first or id in beside}
        return join_rooms(walks, names=names, uses=uses, anchors=kept, overrides=home.rules)


def _with_rooms(home: Home, joined: SurveyedRooms, ids: tuple[str, ...]) -> Home:
    rooms = dict(home.rooms)
    for id in ids:
        rooms[id] = _room(home.rooms.get(id), joined.rooms[id])
    openings = {k: o for k, o in home.openings.items() if o.room not in ids}
    services = {k: s for k, s in home.services.items() if s.room not in ids}
    for id in ids:
        openings.update(_openings(home, joined, id, openings))
        services.update(_services(home, joined, id, services))
    # what was there keeps its place in the file
    return replace(
        home,
        rooms=rooms,
        openings={k: openings[k] for k in [*home.openings, *openings] if k in openings},
        services={k: services[k] for k in [*home.services, *services] if k in services},
    )


def _with_moved(old: Home, new: Home, joined: SurveyedRooms, walked_ids: tuple[str, ...]) -> Home:
    """Rooms that were not walked again and lie elsewhere now, with what stands in them."""
    for id, there in joined.rooms.items():
        if id in walked_ids or id not in old.rooms:
            continue
        room = old.rooms[id]
        dx, dy = (there.outline[0][k] - room.outline[0][k] for k in (0, 1))
        straight = all(
            abs(b[0] - a[0] - dx) < 1e-6 and abs(b[1] - a[1] - dy) < 1e-6
            for a, b in zip(room.outline, there.outline, strict=True)
        )
        if not straight or math.hypot(dx, dy) < 1e-6:
            continue  # where it was, or turned: its own outline holds

        def moved(at: Point, dx: float = dx, dy: float = dy) -> Point:
            return (round(at[0] + dx, 6), round(at[1] + dy, 6))

        floor = Polygon(room.outline)
        new = replace(
            new,
            rooms={
                **new.rooms,
                id: replace(
                    room,
                    outline=tuple(moved(p) for p in room.outline),
                    columns=tuple(replace(c, at=moved(c.at)) for c in room.columns),
                ),
            },
            services={
                k: replace(s, at=moved(s.at)) if s.room == id else s
                for k, s in new.services.items()
            },
            layouts={
                k: replace(
                    layout,
                    pieces={
                        n: replace(spot, at=moved(spot.at))
                        if floor.covers(ShapelyPoint(spot.at))
                        else spot
                        for n, spot in layout.pieces.items()
                    },
                )
                for k, layout in new.layouts.items()
            },
        )
    return new


def _room(old: Room | None, new: Room) -> Room:
    if old is None:
        return new
    columns = list(new.columns)
    for k, one in enumerate(columns):
        finish = next((c.finish for c in old.columns if math.dist(c.at, one.at) < _SAME), "")
        columns[k] = replace(one, finish=finish)
    walls = {k: v for k, v in old.walls.items() if int(k) < len(new.outline)}
    return replace(
        old,
        name=new.name or old.name,
        use=new.use or old.use,
        outline=new.outline,
        height=new.height,
        columns=tuple(columns),
        walls=walls,
        known=new.known,
        known_of={
            **{k: v for k, v in old.known_of.items() if k != "height"},
            **new.known_of,
        },
    )


def _free_key(key: str, taken: Mapping[str, object]) -> str:
    stem, number = key.rsplit("_", 1)
    n = int(number)
    while f"{stem}_{n}" in taken:
        n += 1
    return f"{stem}_{n}"


def _openings(
    home: Home, joined: SurveyedRooms, id: str, taken: Mapping[str, Opening]
) -> dict[str, Opening]:
    """Openings of a room, those that were there before under their own id."""
    old = {k: o for k, o in home.openings.items() if o.room == id}
    found: dict[str, Opening] = {}
    waiting = [(k, o) for k, o in joined.openings.items() if o.room == id]
    for same_wall in (True, False):
        for key, one in list(waiting):
            near = [
                k
                for k, o in old.items()
                if k not in found and o.kind == one.kind and (o.wall == one.wall or not same_wall)
            ]
            if not same_wall:  # it moved to another wall: only if it is plainly the same
                near = [k for k in near if abs(old[k].width - one.width) < 0.01]
            if not near:
                continue
            best = min(near, key=lambda k: abs(old[k].offset - one.offset))
            before = old[best]
            found[best] = replace(
                one,
                name=one.name or before.name,
                view=before.view,
                frame=before.frame,
                glass=before.glass,
                transmittance=before.transmittance,
                drop_outside=before.drop_outside,
            )
            waiting.remove((key, one))
    for key, one in waiting:
        found[_free_key(key, {**taken, **old, **found})] = one
    return found


def _services(
    home: Home, joined: SurveyedRooms, id: str, taken: Mapping[str, Service]
) -> dict[str, Service]:
    """Services of a room, those that were there before under their own id."""
    old = {k: s for k, s in home.services.items() if s.room == id}
    walls = Polygon(joined.rooms[id].outline).exterior
    found: dict[str, Service] = {}
    for key, one in joined.services.items():
        if one.room != id:
            continue
        near = [k for k, s in old.items() if k not in found and s.kind == one.kind]
        best = min(near, key=lambda k: math.dist(old[k].at, one.at), default="")
        if not best:
            found[_free_key(key, {**taken, **old, **found})] = one
            continue
        before = old[best]
        away = math.dist(before.at, one.at)
        stays = away < _SAME
        # a body stands off its wall; the walk tells where on the wall it is
        off = abs(walls.distance(ShapelyPoint(before.at)) - away) < 1e-4 and away < _OFF
        found[best] = replace(
            before,
            at=before.at if off else one.at,
            height=one.height,
            size=one.size if one.size is not None else before.size,
            name=one.name or before.name,
            rotation=before.rotation if stays else 0.0,
        )
    return found


def _without_samples(old: Home, new: Home, rooms: list[str]) -> tuple[Home, tuple[str, ...]]:
    """The sample piece of a new project goes, and guessed ones that stand outside now."""
    if not rooms:
        return new, ()
    floor = union_all([Polygon(room.outline) for room in new.rooms.values()]).buffer(1e-3)
    out: list[str] = []
    layouts: dict[str, Layout] = {}
    for id, layout in new.layouts.items():
        gone = [
            key
            for key, spot in layout.pieces.items()
            if (piece := new.pieces.get(spot.item or key)) is not None
            and piece.known.source == "guess"
            and (
                len(layout.pieces) == 1  # the one that a new project begins with
                or not floor.covers(place(key, piece, spot, base=0.0).footprint)
            )
            and any(
                Polygon(old.rooms[room].outline).covers(ShapelyPoint(spot.at)) for room in rooms
            )
        ]
        hosts = set(gone)
        gone += [k for k, spot in layout.pieces.items() if spot.on in hosts]
        pieces = {k: v for k, v in layout.pieces.items() if k not in gone}
        layouts[id] = replace(layout, pieces=pieces) if gone else layout
        out += [new.pieces[layout.pieces[k].item or k].name for k in gone]
    return replace(new, layouts=layouts), tuple(dict.fromkeys(out))
