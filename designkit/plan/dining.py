"""Findings at tables to sit at: room behind chairs, edge a place; seats by size."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.model import Finding, Side
from designkit.plan.case import Case, Hit, frame, measure_line
from designkit.plan.measure import NOISE, combined
from designkit.plan.outline import is_number
from designkit.plan.pieces import kind_of
from designkit.plan.place import Placed
from designkit.plan.turning import turned
from designkit.reference import value

__all__ = [
    "ChairPlace",
    "chair_places_of",
    "handbook_length",
    "places",
    "room_behind",
    "round_seats",
    "side_seats",
]

NEAR = 0.25  # m; a chair nearer than this to a table stands at it
LOOK = 0.3  # m; how far past a limit one looks for what comes next


@dataclass(frozen=True, kw_only=True, eq=False)
class ChairPlace:
    """A chair at a table: the table's edge before it and the way out from it.

    `side` is the table's own side, "around" at a round one.
    """

    table: str
    chair: str
    side: Side | str
    origin: tuple[float, float]
    outward: tuple[float, float]
    width: float  # [m]


def round_seats(diameter: float, *, overrides: Mapping[str, float] | None = None) -> int:
    """Places round a circular table.

    Parameters
    ----------
    diameter : float
        Of its top. [m]
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    int
        As many as the edge holds (rule plan.table.round_place).

    Raises
    ------
    InputError
        The diameter is not above 0.

    Examples
    --------
    >>> round_seats(1.2)
    5
    """
    if not is_number(diameter) or diameter <= 0:
        raise InputError("diameter", given=diameter, allowed="a number of metres above 0")
    return math.floor(math.pi * diameter / value("plan.table.round_place", overrides) + 1e-9)


def side_seats(
    length: float, *, ends: int = 0, overrides: Mapping[str, float] | None = None
) -> int:
    """Places on one straight side of a table.

    Parameters
    ----------
    length : float
        Of the side. [m]
    ends : int, optional
        Ends of the table at which someone sits: 0, 1 or 2.
    overrides : mapping of str to float, optional
        The project's own rule values.

    Returns
    -------
    int
        As many as the side holds (rules plan.table.place, plan.table.end).

    Raises
    ------
    InputError
        The length is not above 0, or there are not 0 to 2 ends.

    Examples
    --------
    >>> side_seats(1.83), side_seats(1.8, ends=2)
    (3, 1)
    """
    if not is_number(length) or length <= 0:
        raise InputError("length", given=length, allowed="a number of metres above 0")
    if ends not in (0, 1, 2):
        raise InputError("ends", given=ends, allowed="0, 1 or 2")
    rest = length - ends * value("plan.table.end", overrides)
    return max(0, math.floor(rest / value("plan.table.place", overrides) + 1e-9))


def handbook_length(persons: int) -> float:
    r"""Least length of a table with one seat at each end, by an old handbook.

    .. math:: L = 25\,(n/2 - 1) + 29 \text{ in}

    Parameters
    ----------
    persons : int
        An even number, 4 or more.

    Returns
    -------
    float
        Taught, never used as a limit. [m]

    Raises
    ------
    InputError
        The number is odd or under 4.

    References
    ----------
    .. [1] Time-Saver Standards, dining tables: 54, 79, 104 and 129 in for 4,
       6, 8 and 10 persons. The line through the four is ours.

    Examples
    --------
    >>> round(handbook_length(6) / 0.0254)
    79
    """
    if persons < 4 or persons % 2:
        raise InputError("persons", given=persons, allowed="an even number, 4 or more")
    place = value("plan.table.handbook_place")
    return place * (persons / 2 - 1) + 2 * value("plan.table.end")


# --- chairs at tables --------------------------------------------------------


def _tables(case: Case) -> Iterator[Placed]:
    for thing in case.placed.values():
        kind = kind_of(thing.piece).name
        if thing.piece.chairs is not None or kind in ("dining table", "counter"):
            yield thing


def _own_point(table: Placed, point: tuple[float, float]) -> tuple[float, float]:
    """A point of the home's frame in the table's own coordinates."""
    moved = (point[0] - table.at[0], point[1] - table.at[1])
    return turned(moved, at=(0.0, 0.0), rotation=-table.rotation)


def _place_of(table: Placed, chair: Placed) -> ChairPlace:
    x, y = _own_point(table, chair.at)
    w, d, _ = table.piece.size
    side: Side | str
    if table.piece.shape == "circle":
        away = math.hypot(x, y) or 1.0
        edge, out, side = (x / away * w / 2, y / away * w / 2), (x / away, y / away), "around"
    elif abs(y) / d >= abs(x) / w:
        sign = 1.0 if y > 0 else -1.0
        edge, out, side = (x, sign * d / 2), (0.0, sign), "back" if y > 0 else "front"
    else:
        sign = 1.0 if x > 0 else -1.0
        edge, out, side = (sign * w / 2, y), (sign, 0.0), "right" if x > 0 else "left"
    return ChairPlace(
        table=table.id,
        chair=chair.id,
        side=side,
        origin=turned(edge, at=table.at, rotation=table.rotation),
        outward=turned(out, at=(0.0, 0.0), rotation=table.rotation),
        width=chair.piece.size[0],
    )


def _faces(chair: Placed, table: Placed) -> bool:
    if not chair.seats:
        return False
    turn = math.radians(chair.seats[0].facing)
    dx, dy = table.at[0] - chair.at[0], table.at[1] - chair.at[1]
    return dx * math.cos(turn) + dy * math.sin(turn) > 0


def chair_places_of(case: Case) -> dict[str, tuple[ChairPlace, ...]]:
    """The chairs that stand at each table, its own and those placed by hand.

    Parameters
    ----------
    case : Case
        The layout.

    Returns
    -------
    dict of str to tuple of ChairPlace
        By table; a chair placed by hand counts where it faces the table and
        stands at its edge.
    """
    out: dict[str, tuple[ChairPlace, ...]] = {}
    for table in _tables(case):
        found = []
        for chair in case.placed.values():
            form = kind_of(chair.piece).form
            if chair.host == table.id or (
                not chair.host
                and form in ("chair", "stool")
                and chair.footprint.distance(table.footprint) < NEAR
                and _faces(chair, table)
            ):
                found.append(_place_of(table, chair))
        if found:
            out[table.id] = tuple(found)
    return out


def _by_side(all_places: tuple[ChairPlace, ...]) -> dict[str, list[ChairPlace]]:
    sides: dict[str, list[ChairPlace]] = {}
    for place in all_places:
        sides.setdefault(place.side, []).append(place)
    return sides


def room_behind(case: Case) -> Iterator[Finding]:
    """Table edge to the wall or to the next piece, behind every side with chairs.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a side, for the chair that has least; chairs are taken as pulled
        out. To sit and rise is required; the row says what else there is room for.
    """
    sit, walk, serve = (case.value(f"plan.table.{word}") for word in ("sit", "pass", "serve"))
    low, high = case.value("plan.clear.rug"), case.value("plan.clear.walk_under")
    for id, all_places in chair_places_of(case).items():
        table = case.placed[id]
        ignore = {id, *(place.chair for place in all_places)}
        for things in (case.placed, case.lamps):
            ignore |= {name for name, t in things.items() if id in (t.host, t.on)}
        for side, side_places in _by_side(all_places).items():
            worst: tuple[float, Hit | None, ChairPlace] | None = None
            for place in side_places:
                hit = case.reach(
                    case.space_of[id],
                    origin=place.origin,
                    outward=place.outward,
                    width=place.width,
                    search=serve + LOOK,
                    low=low,
                    high=high,
                    ignore=ignore,
                )
                free = serve + LOOK if hit is None else hit.distance
                if worst is None or free < worst[0] - 1e-9:
                    worst = (free, hit, place)
            if worst is not None:
                yield _behind(case, table, side, worst, sit, walk, serve)


def _behind(
    case: Case,
    table: Placed,
    side: str,
    worst: tuple[float, Hit | None, ChairPlace],
    sit: float,
    walk: float,
    serve: float,
) -> Finding:
    free, hit, place = worst
    within = case.spread(table.id, place.outward)
    if hit is None:
        why = f"{case.say(free)} or more from the table edge"
    else:
        within = combined(within, hit.within)
        why = f"{case.say(free)} from the table edge to {case.name(hit.owner)}"
    use = "too little to sit and rise"
    if free >= serve - NOISE:
        use = "room to serve behind"
    elif free >= walk - NOISE:
        use = "room to pass behind"
    elif free >= sit - NOISE:
        use = "room to sit and rise, not to pass behind"
    area = frame(place.origin, place.outward, place.width, 0.0, min(free, sit) or sit)
    mend = ""
    if hit is not None and free < sit - NOISE:
        if case.thing(hit.owner) is None:
            mend = (
                f"Move {case.name(table.id)} {case.amount(sit - free)} away from "
                f"{case.name(hit.owner)}."
            )
        else:
            mend = (
                f"Move {case.name(hit.owner)} {case.amount(sit - free)} away from "
                f"{case.name(table.id)}."
            )
    where = "round it" if side == "around" else f"on its {side} side"
    return case.row(
        f"{case.title(table.id)}: chairs {where}",
        measured=free,
        required=sit,
        within=within,
        rule="plan.table.sit",
        severity="tight",
        why=(
            f"{why}: {use}. Wanted: {case.say(sit)} to sit and rise, {case.say(walk)} where "
            f"someone passes behind, {case.say(serve)} to serve."
        ),
        mend=mend,
        about=(table.id, place.chair, hit.owner if hit is not None and free < sit else ""),
        area=area,
        at=hit.at if hit is not None else None,
        line=measure_line(place.origin, place.outward, hit.at) if hit is not None else (),
    )


def places(case: Case) -> Iterator[Finding]:
    """Table edge a place, straight or round.

    Parameters
    ----------
    case : Case
        The layout.

    Yields
    ------
    Finding
        One a side with chairs; someone at an end takes some length of both sides.
    """
    straight, curved = case.value("plan.table.place"), case.value("plan.table.round_place")
    end = case.value("plan.table.end")
    taught = case.value("plan.table.handbook_width")
    for id, all_places in chair_places_of(case).items():
        table = case.placed[id]
        w, d, _ = table.piece.size
        sides = _by_side(all_places)
        for side, side_places in sides.items():
            count = len(side_places)
            ends = 0
            if side == "around":
                each, need, rule = math.pi * w / count, curved, "plan.table.round_place"
                within = math.pi * case.spread(id, (1.0, 0.0)) / count
                why = f"π × {case.say(w)} of edge for {count}"
            else:
                along_x = side in ("front", "back")
                ends = sum(name in sides for name in ("left", "right")) if along_x else 0
                length = w if along_x else d
                each = max(0.0, length - ends * end) / count
                need, rule = straight, "plan.table.place"
                turn = math.radians(table.rotation)
                axis = (math.cos(turn), math.sin(turn))
                axis = axis if along_x else (-axis[1], axis[0])
                within = case.spread(id, axis) / count
                why = f"{case.say(length)} of edge"
                why += f" less {ends} × {case.say(end)} for those at the ends" if ends else ""
                why += f", for {count}"
            where = "round it" if side == "around" else f"on its {side} side"
            note = ""
            if side in ("front", "back") and {"front", "back"} <= set(sides):
                note = (
                    f" (Taught only: an old handbook wants a table {case.say(taught)} wide; "
                    f"this one has {case.say(d)}.)"
                )
            fits = (
                round_seats(w, overrides=case.rules)
                if side == "around"
                else max(1, math.floor(each * count / need + 1e-9))
            )
            grow = (need - each) * count / (math.pi if side == "around" else 1.0)
            yield case.row(
                f"{case.title(id)}: edge a place {where}",
                measured=each,
                required=need,
                within=within,
                rule=rule,
                severity="inconvenient",
                why=f"{why}: {case.say(each)} each; {case.say(need)} wanted.{note}",
                mend=(
                    f"Seat {fits} {where}, or take a table that is "
                    f"{case.amount(grow)} {'wider' if side == 'around' else 'longer'}."
                    if grow > 0
                    else ""
                ),
                about=(id, *(place.chair for place in side_places)),
                at=table.at,
            )
