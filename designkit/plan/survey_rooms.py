"""Surveyed rooms as rooms of a home: joined at their passages, as changes of a project."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import shapely
from shapely.geometry import Polygon

from designkit.errors import InputError, LookupFailed
from designkit.model import Edit, Known, Opening, Point, Room, Service
from designkit.plan.measure import combined, within_of
from designkit.plan.survey import Survey
from designkit.plan.survey_items import service_of
from designkit.plan.survey_text import SurveyOpening
from designkit.reference import value
from designkit.units import file_text

__all__ = ["SurveyedRooms", "join_rooms", "room_edits", "room_of"]


_THICKEST = 0.8  # m of wall; a room that is farther away lies elsewhere


@dataclass(frozen=True, kw_only=True, eq=False)
class SurveyedRooms:
    """Rooms in one frame, with their openings."""

    rooms: Mapping[str, Room]
    openings: Mapping[str, Opening]
    services: Mapping[str, Service]
    guessed: tuple[str, ...]  # heights and thicknesses that nobody measured
    to_measure: tuple[str, ...]
    apart: tuple[str, ...] = ()  # rooms that no opening joins to the first


def _number(
    given: float | None,
    rule: str,
    what: str,
    guessed: list[str],
    overrides: Mapping[str, float] | None,
) -> float:
    if given is not None:
        return given
    usual = value(rule, overrides)
    guessed.append(what)
    return usual


def _opening_of(
    id: str,
    room: str,
    one: SurveyOpening,
    guessed: list[str],
    overrides: Mapping[str, float] | None,
) -> Opening:
    name = one.name or one.kind
    before = len(guessed)
    window = one.kind == "window"
    head = _number(
        one.head,
        "plan.survey.window_head" if window else "plan.survey.head",
        f"head of {id}",
        guessed,
        overrides,
    )
    sill = _number(one.sill, "plan.survey.window_sill", f"sill of {id}", guessed, overrides)
    thickness = _number(
        one.thickness, "plan.survey.thickness", f"thickness at {id}", guessed, overrides
    )
    keys = ("head", "sill", "thickness")
    missing = [key for key in keys if f"{key} of {id}" in guessed or f"{key} at {id}" in guessed]
    return Opening(
        room=room,
        wall=one.wall,
        offset=round(one.offset, 6),
        width=one.width,
        head=head,
        sill=sill,
        kind=one.kind,
        name=name if one.name else "",
        to=one.to or ("outside" if window else ""),
        hinge=one.hinge,
        swing=one.swing,
        clear_width=one.clear,
        leaf=one.leaf,
        leaves=one.leaves,
        thickness=thickness,
        known=one.known,
        known_of={key: Known(source="guess") for key in missing} if len(guessed) > before else {},
    )


def _check(id: str, survey: Survey) -> None:
    if survey.problems:
        raise survey.problems[0]
    if survey.area is None:
        raise InputError(
            f"survey of {id}", given="no closed outline", allowed="a walk once round the room",
            mend="go on to the corner where it began",
        )  # fmt: skip


def room_of(
    survey: Survey,
    *,
    id: str = "room",
    name: str = "",
    use: str = "",
    overrides: Mapping[str, float] | None = None,
) -> tuple[Room, dict[str, Opening]]:
    """A survey as a room with its openings.

    Parameters
    ----------
    survey : Survey
        It closes and has no problem.
    id : str, optional
        The room's id.
    name, use : str, optional
        What it is called and used for.
    overrides : mapping of str to float, optional
        The project's own values for what was not measured.

    Returns
    -------
    tuple of Room and dict
        Openings by id, as "living_window_1". Heights that nobody measured are
        usual ones and known as guessed.

    Raises
    ------
    InputError
        The survey has a problem; it is that problem.

    Examples
    --------
    >>> from designkit.plan.survey import survey
    >>> walk = survey("right 4, up 3, left 4 [door 0.9 at 0.5 hinge left], down 3", height=2.6)
    >>> room, openings = room_of(walk, id="study")
    >>> room.outline[2], openings["study_door_1"].wall
    ((4.0, 3.0), 2)
    """
    joined = join_rooms({id: survey}, names={id: name}, uses={id: use}, overrides=overrides)
    return joined.rooms[id], dict(joined.openings)


def _room(
    id: str, survey: Survey, name: str, use: str, guessed: list[str],
    overrides: Mapping[str, float] | None,
) -> Room:  # fmt: skip
    _check(id, survey)
    known_of: dict[str, Known] = {}
    height = survey.height
    if height is None:
        height = value("plan.survey.height", overrides)
        guessed.append(f"height of {id}")
        known_of["height"] = Known(source="guess")
    elif survey.height_known != Known(source="measured"):
        known_of["height"] = survey.height_known
    worst = max(survey.walls, key=lambda wall: wall.within)
    return Room(
        name=name or id,
        outline=survey.outline,
        height=height,
        columns=survey.columns,
        use=use,
        known=Known(source=worst.known.source, within=_widest(survey, overrides)),
        known_of=known_of,
    )


def _widest(survey: Survey, overrides: Mapping[str, float] | None) -> float | None:
    """± of the outline: of its walls, or what the closing error shows, if that is more."""
    most = max(max(wall.within for wall in survey.walls), survey.error_length / 2)
    usual = within_of(
        Known(source=max(survey.walls, key=lambda w: w.within).known.source), overrides=overrides
    )
    return None if abs(most - usual) < 1e-9 else round(most, 4)


@dataclass
class _At:
    """Where a survey lies in the home's frame: turned, then moved."""

    turn: float  # [°], a multiple of 90 where rooms are square
    move: Point

    def __call__(self, point: Point) -> Point:
        quarter = round(self.turn / 90.0)
        if abs(self.turn / 90.0 - quarter) < 1e-9:
            c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[quarter % 4]
        else:
            c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        x, y = point
        return (
            round(x * c - y * s + self.move[0], 6) + 0.0,
            round(x * s + y * c + self.move[1], 6) + 0.0,
        )


def _wall_line(survey: Survey, wall: int) -> tuple[Point, Point, Point]:
    """Start, unit direction and inward normal of a wall."""
    points = survey.outline
    a, b = points[wall], points[(wall + 1) % len(points)]
    long = math.dist(a, b)
    way = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
    turn = 1.0 if shapely.is_ccw(shapely.linearrings([*points, points[0]])) else -1.0
    return a, way, (-way[1] * turn, way[0] * turn)


def _middle(survey: Survey, one: SurveyOpening) -> tuple[Point, float]:
    """Middle of an opening and the direction of its inward normal [°]."""
    start, way, inward = _wall_line(survey, one.wall)
    along = one.offset + one.width / 2
    return (
        (start[0] + way[0] * along, start[1] + way[1] * along),
        math.degrees(math.atan2(inward[1], inward[0])),
    )


def join_rooms(
    surveys: Mapping[str, Survey],
    *,
    names: Mapping[str, str] | None = None,
    uses: Mapping[str, str] | None = None,
    anchors: Mapping[str, Point] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> SurveyedRooms:
    """Several surveyed rooms in one frame, joined where an opening leads to the next.

    The first room keeps its frame. Another is laid beside it where both name
    each other in an opening: "[passage 1.25 at 0.60 to hall]" in the living
    room and "[passage 1.25 at 0.30 to living]" in the hall. The wall between
    has the thickness that either gives.

    Parameters
    ----------
    surveys : mapping of str to Survey
        By room id; each closes.
    names, uses : mapping of str to str, optional
        What the rooms are called and used for.
    anchors : mapping of str to Point, optional
        Where the first corner of a room lies, for rooms that no opening joins
        to the first; one that is not named is laid beside the others. Without
        `anchors` such a room is refused. [m]
    overrides : mapping of str to float, optional
        The project's own values for what was not measured.

    Returns
    -------
    SurveyedRooms
        An opening that two rooms share is there once, in the room that was
        surveyed first.

    Raises
    ------
    InputError
        A survey has a problem, the two sides of an opening do not agree, or
        rooms lie on each other.
    LookupFailed
        A room is joined to no other.

    Examples
    --------
    >>> from designkit.plan.survey import survey
    >>> a = survey("right 4, up 3 [passage 1.0 at 1.0 to hall thick 0.15], left 4, down 3")
    >>> b = survey("right 2, up 3, left 2, down 3 [passage 1.0 at 1.0 to living]")
    >>> join_rooms({"living": a, "hall": b}).rooms["hall"].outline[0]
    (4.15, 0.0)
    """
    if not surveys:
        raise InputError("surveys", given="none", allowed="one room or more", mend="walk one room")
    guessed: list[str] = []
    order = list(surveys)
    for id in order:
        _check(id, surveys[id])
    placed: dict[str, _At] = {order[0]: _At(0.0, (anchors or {}).get(order[0], (0.0, 0.0)))}
    apart: list[str] = []
    loose: set[str] = set()  # those, and what is joined to them only
    shared: set[tuple[str, int]] = set()
    rooms_of = _pairs(surveys)
    waiting = order[1:]
    while waiting:
        for id in waiting:
            link = next(((a, m, n) for a, m, n in rooms_of.get(id, ()) if a in placed), None)
            if link is not None:
                placed[id] = _beside(surveys, placed, link, id, overrides)
                loose |= {id} if link[0] in loose else set()
                waiting.remove(id)
                break
        else:
            if anchors is not None:
                known = next((id for id in waiting if id in anchors), waiting[0])
                spot = anchors.get(known) or _clear_of(surveys, placed, known)
                placed[known] = _At(0.0, spot)
                apart.append(known)
                loose.add(known)
                waiting.remove(known)
                continue
            raise LookupFailed(
                "room without a way",
                given=", ".join(waiting),
                allowed="an opening in each of two rooms that leads to the other",
                mend=f"write in {waiting[0]}: [door 0.90 at 0.35 to {order[0]}], and the same "
                f"opening with to {waiting[0]} in {order[0]}",
            )
    for id in order:
        for other, m, n in rooms_of.get(id, ()):
            if order.index(other) < order.index(id):
                shared.add((id, n))
                _agree(surveys[other].openings[m], surveys[id].openings[n], other, id, overrides)
    rooms: dict[str, Room] = {}
    openings: dict[str, Opening] = {}
    services: dict[str, Service] = {}
    counts: dict[tuple[str, str], int] = {}
    for id in order:
        at = placed[id]
        room = _room(
            id, surveys[id], (names or {}).get(id, ""), (uses or {}).get(id, ""), guessed, overrides
        )
        rooms[id] = replace(
            room,
            outline=tuple(at(p) for p in room.outline),
            columns=tuple(
                replace(c, at=at(c.at), rotation=c.rotation + at.turn) for c in room.columns
            ),
        )
        for k, one in enumerate(surveys[id].openings):
            if (id, k) in shared:
                continue
            number = counts[(id, one.kind)] = counts.get((id, one.kind), 0) + 1
            key = f"{id}_{one.kind}_{number}"
            far = next((surveys[o].openings[n] for o, n in _other_sides(rooms_of, id, k)), None)
            if far is not None:
                one = replace(
                    one,
                    thickness=one.thickness if one.thickness is not None else far.thickness,
                    head=one.head if one.head is not None else far.head,
                )
            if {id, one.to} & loose and one.to in surveys and far is None:
                one = _ends_here(one, (id, placed), surveys)
            openings[key] = _opening_of(key, id, one, guessed, overrides)
        for key, service, missing in _services(id, surveys[id], at, rooms[id].height, overrides):
            services[key] = service
            guessed += [f"{what} of {key}" for what in missing]
    _apart(rooms)
    return SurveyedRooms(
        rooms=rooms,
        openings=openings,
        services=services,
        apart=tuple(apart),
        guessed=tuple(guessed),
        to_measure=tuple(f"{id}: {what}" for id in order for what in surveys[id].to_measure),
    )


def _services(
    id: str, survey: Survey, at: _At, ceiling: float, overrides: Mapping[str, float] | None
) -> Iterator[tuple[str, Service, tuple[str, ...]]]:
    """Services of a room by their key, in the home's frame, and what nobody measured of each."""
    counts: dict[str, int] = {}
    for one in survey.services:
        start, way, inward = _wall_line(survey, one.wall)
        made, missing = service_of(
            one,
            room=id,
            ceiling=ceiling,
            start=start,
            way=way,
            inward=inward,
            overrides=overrides,
        )
        number = counts[one.kind] = counts.get(one.kind, 0) + 1
        yield f"{id}_{one.kind.replace(' ', '_')}_{number}", replace(made, at=at(made.at)), missing


def _clear_of(surveys: Mapping[str, Survey], placed: Mapping[str, _At], id: str) -> Point:
    """A place for a room to the right of the others, a metre from them."""
    points = [at(p) for other, at in placed.items() for p in surveys[other].outline]
    own = surveys[id].outline
    return (
        round(max(p[0] for p in points) + 1.0 - min(p[0] for p in own), 6),
        round(min(p[1] for p in points) - min(p[1] for p in own), 6),
    )


_Link = tuple[str, int, int]  # other room, its opening, this room's opening


def _pairs(surveys: Mapping[str, Survey]) -> dict[str, list[_Link]]:
    """Openings of two rooms that lead to each other, the first with the first."""
    found: dict[str, list[_Link]] = {}
    ids = list(surveys)
    for i, a in enumerate(ids):
        for b in ids[i + 1 :]:
            ours = [k for k, one in enumerate(surveys[a].openings) if one.to == b]
            theirs = [k for k, one in enumerate(surveys[b].openings) if one.to == a]
            for m, n in zip(ours, theirs):
                found.setdefault(b, []).append((a, m, n))
                found.setdefault(a, []).append((b, n, m))
    return found


def _other_sides(links: Mapping[str, list[_Link]], id: str, opening: int) -> list[tuple[str, int]]:
    return [(other, m) for other, m, n in links.get(id, ()) if n == opening]


def _beside(
    surveys: Mapping[str, Survey],
    placed: Mapping[str, _At],
    link: _Link,
    id: str,
    overrides: Mapping[str, float] | None,
) -> _At:
    other, m, n = link
    here, there = surveys[other].openings[m], surveys[id].openings[n]
    at = placed[other]
    middle, inward = _middle(surveys[other], here)
    far, far_inward = _middle(surveys[id], there)
    thickness = here.thickness if here.thickness is not None else there.thickness
    if thickness is None:
        thickness = value("plan.survey.thickness", overrides)
    outward = math.radians(inward + at.turn + 180.0)
    spot = at(middle)
    target = (
        spot[0] + math.cos(outward) * thickness,
        spot[1] + math.sin(outward) * thickness,
    )
    turn = (inward + at.turn + 180.0 - far_inward) % 360.0
    moved = _At(turn, (0.0, 0.0))(far)
    return _At(turn, (target[0] - moved[0], target[1] - moved[1]))


def _ends_here(
    one: SurveyOpening, here: tuple[str, Mapping[str, _At]], surveys: Mapping[str, Survey]
) -> SurveyOpening:
    """An opening into a room that nothing joins yet leads nowhere where that lies elsewhere."""
    id, placed = here
    middle, _ = _middle(surveys[id], one)
    there = Polygon([placed[one.to](p) for p in surveys[one.to].outline])
    off = there.exterior.distance(shapely.Point(placed[id](middle)))
    return one if off <= _THICKEST else replace(one, to="")


def _agree(
    one: SurveyOpening, two: SurveyOpening, first: str, second: str,
    overrides: Mapping[str, float] | None,
) -> None:  # fmt: skip
    within = combined(
        within_of(one.known, overrides=overrides), within_of(two.known, overrides=overrides)
    )
    if abs(one.width - two.width) > max(2 * within, value("plan.survey.diagonal", overrides)):
        raise InputError(
            f"opening between {first} and {second}",
            given=f"{one.width:.3f} m and {two.width:.3f} m wide",
            allowed="one width, measured from both rooms",
            mend="measure it again",
        )


def _apart(rooms: Mapping[str, Room]) -> None:
    ids = list(rooms)
    shapes = {id: Polygon(rooms[id].outline) for id in ids}
    for i, a in enumerate(ids):
        for b in ids[i + 1 :]:
            shared = shapes[a].intersection(shapes[b]).area
            if shared > 0.01:
                raise InputError(
                    f"rooms {a} and {b}",
                    given=f"{shared:.2f} m² of floor shared",
                    allowed="rooms beside each other",
                    mend="look at the walls of the opening between them, and which way each "
                    "room was walked",
                )


# --- changes of a project -----------------------------------------------------------


def _length(n: float, units: str) -> str:
    return file_text(n, units=units)


def _known_entry(known: Known, units: str) -> object:
    if known.within is None:
        return known.source
    return {"source": known.source, "within": _length(known.within, units)}


def _room_entry(room: Room, units: str) -> dict[str, object]:
    entry: dict[str, object] = {
        "name": room.name,
        "outline": [[_length(x, units), _length(y, units)] for x, y in room.outline],
        "height": _length(room.height, units),
    }
    if room.columns:
        entry["columns"] = [
            {
                "at": [_length(n, units) for n in c.at],
                "size": [_length(n, units) for n in c.size],
                **({"shape": c.shape} if c.shape != "rectangle" else {}),
                **({"rotation": c.rotation} if c.rotation else {}),
            }
            for c in room.columns
        ]
    if room.use:
        entry["use"] = room.use
    entry["known"] = _known_entry(room.known, units)
    if room.known_of:
        entry["known_of"] = {k: _known_entry(v, units) for k, v in room.known_of.items()}
    return entry


def _opening_entry(one: Opening, units: str) -> dict[str, object]:
    entry: dict[str, object] = {"room": one.room, "wall": one.wall}
    for key in ("offset", "width", "sill", "head"):
        number = getattr(one, key)
        if key != "sill" or number:
            entry[key] = _length(number, units)
    entry["kind"] = one.kind
    for key in ("name", "to", "hinge"):
        if getattr(one, key):
            entry[key] = getattr(one, key)
    if one.swing != "none":
        entry["swing"] = one.swing
    if one.clear_width is not None:
        entry["clear_width"] = _length(one.clear_width, units)
    if one.leaf != "fixed":
        entry["leaf"] = one.leaf
    if one.leaves != 1:
        entry["leaves"] = one.leaves
    entry["thickness"] = _length(one.thickness, units)
    entry["known"] = _known_entry(one.known, units)
    if one.known_of:
        entry["known_of"] = {k: _known_entry(v, units) for k, v in one.known_of.items()}
    return entry


def room_edits(
    joined: SurveyedRooms, *, units: str = "m", raw: Mapping[str, Any] | None = None
) -> tuple[Edit, ...]:
    """The changes that write surveyed rooms into a project.

    Parameters
    ----------
    joined : SurveyedRooms
        From `join_rooms`.
    units : str, optional
        The project's unit of length.
    raw : mapping, optional
        What project.toml says now (`Opened.stored.raw`): rooms and openings of
        the same id are replaced, and openings of these rooms that the survey
        no longer has are taken out. None: the project has none of them.

    Returns
    -------
    tuple of Edit
        Rooms first, then openings. What a room says beside its shell, such as
        its finishes, is kept.

    Examples
    --------
    >>> from designkit.plan.survey import survey
    >>> walk = survey("right 4, up 3, left 4, down 3", height=2.6)
    >>> [edit.path for edit in room_edits(join_rooms({"study": walk}))]
    ['rooms.study']
    """
    rooms = (raw or {}).get("rooms", {})
    openings = (raw or {}).get("openings", {})
    edits = []
    for id, room in joined.rooms.items():
        old = rooms.get(id)
        new = _room_entry(room, units)
        if old is not None:
            shell = ("name", "outline", "height", "columns", "known", "known_of", "use")
            new = {**{k: v for k, v in old.items() if k not in shell}, **new}
            if "use" in old:
                new.setdefault("use", old["use"])
        edits.append(Edit(path=f"rooms.{id}", old=old, new=new))
    for id, old in openings.items():
        if old.get("room") in joined.rooms and id not in joined.openings:
            edits.append(Edit(path=f"openings.{id}", old=old, new=None))
    for id, one in joined.openings.items():
        edits.append(
            Edit(path=f"openings.{id}", old=openings.get(id), new=_opening_entry(one, units))
        )
    return tuple(edits)
