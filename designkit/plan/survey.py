"""Walk the walls with a tape: lengths and turns in plain words become a room.

"right 4.12, up 2.60, left 1.50, up 0.80, left 2.62, down 3.40" goes round the
room once, as one stands before each wall and draws it on paper. Right angles
are taken as such and can be changed: "right 0.60 up 0.60" is a wall across by
its two legs, "1.20 at 45" by length and direction, "turn 30" bends the next
"ahead". What does not close is shown, and spread or put on one wall.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from shapely.geometry import LineString, Polygon

from designkit.errors import InputError
from designkit.model import Column, Known, Point, Source
from designkit.plan.measure import combined, within_of
from designkit.plan.survey_checks import (
    Diagonal,
    SurveyWall,
    columns_inside,
    diagonal,
    to_measure,
)
from designkit.plan.survey_items import (
    SurveyColumn,
    SurveyService,
    column_of,
    kind_of_item,
    read_column,
    read_service,
)
from designkit.plan.survey_text import (
    Item,
    SurveyOpening,
    known_at_end,
    leg_of,
    one_system,
    read_opening,
    read_walk,
    unit_of,
)
from designkit.plan.traverse import Rule, balance
from designkit.reference import value
from designkit.units import in_sentence, read

__all__ = [
    "Diagonal",
    "Rule",
    "Survey",
    "SurveyOpening",
    "SurveyWall",
    "balance",
    "survey",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class Survey:
    """A room as it was walked."""

    text: str
    walls: tuple[SurveyWall, ...]
    walked: tuple[Point, ...]  # corners as measured; the last is where one arrived
    outline: tuple[Point, ...]  # corners after spreading
    error: Point  # where one arrived, less where one began [m]
    error_length: float  # [m]
    perimeter: float  # as measured [m]
    relative: float  # error as a share of the perimeter
    expected: float  # ± of the error, from the ± of the walls [m]
    rule: Rule
    pinned: int | None
    openings: tuple[SurveyOpening, ...]
    diagonals: tuple[Diagonal, ...]
    columns: tuple[Column, ...]  # in the frame of the walk
    services: tuple[SurveyService, ...]
    piers: tuple[SurveyColumn, ...]  # columns as they were measured from a wall
    height: float | None
    height_known: Known
    area: float | None  # None: it is no room yet [m²]
    problems: tuple[InputError, ...]  # what keeps it from being a room
    to_measure: tuple[str, ...]  # what is still to measure
    sentence: str
    units: str = field(default="m")


# --- closing --------------------------------------------------------------------


def _solve(items: Sequence[Item]) -> tuple[list[Point], list[bool], list[InputError]]:
    """Legs of all walls; lengths that were left open follow from the others."""
    problems: list[InputError] = []
    legs: list[Point] = []
    open_: list[int] = []
    for k, item in enumerate(items):
        if any(n is None for _, n in item.legs):
            open_.append(k)
            legs.append((0.0, 0.0))
        else:
            legs.append(leg_of([(a, n or 0.0) for a, n in item.legs]))
    x, y = math.fsum(p[0] for p in legs), math.fsum(p[1] for p in legs)
    lengths: list[float] = []
    if len(open_) == 1:
        ux, uy = unit_of(items[open_[0]].legs[0][0])
        lengths = [-(x * ux + y * uy)]
    elif len(open_) == 2:
        (ax, ay), (bx, by) = (unit_of(items[k].legs[0][0]) for k in open_)
        cross = ax * by - ay * bx
        if abs(cross) > 1e-6:
            lengths = [(-x * by + y * bx) / cross, (-y * ax + x * ay) / cross]
    if len(open_) > 2 or (len(open_) == 2 and not lengths):
        problems.append(
            InputError(
                "walk",
                given=", ".join(items[k].said for k in open_),
                allowed="one length left open, or two that are not parallel",
                mend="measure one of them",
            )
        )
        return legs, [k not in open_ for k in range(len(items))], problems
    for k, length in zip(open_, lengths):
        ux, uy = unit_of(items[k].legs[0][0])
        if length <= 0.01:
            problems.append(
                InputError(
                    f"wall {k + 1} ({items[k].said})",
                    given=f"{length:.3f} m from the others",
                    allowed="a length above 0",
                    mend="one of the other walls is wrong, or it goes the other way",
                )
            )
            continue
        legs[k] = (ux * length + 0.0, uy * length + 0.0)
    return legs, [k not in open_ for k in range(len(items))], problems


def _suspects(legs: Sequence[Point], items: Sequence[Item], error: Point, units: str) -> str:
    """A wall whose misreading would explain the error: figures swapped, or a round slip."""
    size = math.hypot(*error)
    found = []
    for k, (x, y) in enumerate(legs):
        long = math.hypot(x, y)
        if long < 1e-9 or any(n is None for _, n in items[k].legs):
            continue
        along = (error[0] * x + error[1] * y) / long
        if abs(abs(along) - size) > 0.1 * size:
            continue  # this wall runs another way
        meant = long - along
        if meant <= 0:
            continue
        now, then = f"{long * 1000:.0f}", f"{meant * 1000:.0f}"
        swapped = any(
            abs(float(now[:i] + now[i + 1] + now[i] + now[i + 2 :]) - float(then)) <= 15
            for i in range(len(now) - 1)
        )
        round_slip = any(abs(abs(along) - slip) <= 0.015 for slip in (0.1, 0.2, 0.5, 1.0, 0.3048))
        if swapped or round_slip:
            how = "two figures swapped" if swapped else "a round slip of the tape"
            said = f"wall {k + 1}, {items[k].said} would close at {_say(meant, units)} ({how})"
            found.append((not swapped, said))
    best = min((rank for rank, _ in found), default=False)
    return "; ".join([said for rank, said in found if rank == best][:3])


def _crossings(corners: Sequence[Point]) -> list[tuple[int, int]]:
    count = len(corners)
    lines = [LineString([corners[k], corners[(k + 1) % count]]) for k in range(count)]
    return [
        (a, b)
        for a in range(count)
        for b in range(a + 2, count)
        if not (a == 0 and b == count - 1) and lines[a].intersects(lines[b])
    ]


def survey(
    text: str,
    *,
    units: str = "m",
    diagonals: Sequence[tuple[int, int, str | float]] = (),
    height: str | float | None = None,
    columns: Sequence[Column] = (),
    rule: Rule | None = None,
    pinned: int | None = None,
    source: Source = "measured",
    strict: bool = True,
    overrides: Mapping[str, float] | None = None,
) -> Survey:
    """Read a walk round a room.

    Parameters
    ----------
    text : str
        Walls in order, with commas or line ends between: "right 4.12",
        "up ?" for a length left open, "right 0.60 up 0.60", "1.20 at 45",
        "turn 30", "ahead 2.10"; behind each its ± and source ("± 0.01 plan")
        and its openings in brackets ("[door 0.90 at 0.35 head 2.05 to hall]"),
        so also what `designkit.plan.survey_items` reads.
    units : str, optional
        Unit of bare numbers.
    diagonals : sequence of tuple, optional
        Two corners, counted from 0 where the walk begins, and the measured
        distance.
    height : str or float, optional
        Floor to ceiling; behind it its ± and source, as of a wall.
    columns : sequence of Column, optional
        Columns and piers, from the corner where the walk begins.
    rule : str, optional
        How the closing error is spread; None: "square" where half of the
        walls or more are square to the plan, else "compass".
    pinned : int, optional
        The wall that takes the error along its own direction.
    source : str, optional
        How lengths are known that say nothing.
    strict : bool, optional
        Raise the first problem. False: leave them in `problems`, so that a
        drawing can follow while one types.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Survey
        Its corners start at (0, 0).

    Raises
    ------
    InputError
        An item cannot be read, units are mixed; and, where strict, the walk
        does not close within the limit, walls cross, or an opening is past its
        corner.

    Examples
    --------
    >>> room = survey("right 4.00, up 3.00, left 4.01, down 3.00", height=2.6)
    >>> round(room.error_length, 3), round(room.area, 3)
    (0.01, 12.015)
    """
    problems: list[InputError] = []
    try:
        one_system(text, units=units)
    except InputError as problem:
        if strict:
            raise
        problems.append(problem)
    items = read_walk(text, units=units, source=source, problems=None if strict else problems)
    legs, measured, trouble = _solve(items)
    problems += trouble
    if len(items) < 3:
        problems.append(
            InputError(
                "walk",
                given=f"{len(items)} walls",
                allowed="three or more, once round the room",
                mend="go on to the corner where you began",
            )
        )
    walked: list[Point] = [(0.0, 0.0)]
    for x, y in legs:
        walked.append((walked[-1][0] + x, walked[-1][1] + y))
    error = (math.fsum(p[0] for p in legs), math.fsum(p[1] for p in legs))
    size = math.hypot(*error)
    perimeter = math.fsum(math.hypot(*p) for p in legs)
    relative = size / perimeter if perimeter else 0.0
    spreads = [within_of(item.known, overrides=overrides) for item in items]
    expected = combined(*(s for s, sure in zip(spreads, measured) if sure))
    limit = value("plan.survey.closing", overrides)
    closes = len(items) >= 3 and relative <= limit and not trouble and not problems
    if len(items) >= 3 and not trouble and relative > limit:
        suspect = _suspects(legs, items, error, units)
        problems.append(
            InputError(
                "closing error",
                given=f"{_say(size, units)} in {_say(perimeter, units)}, {relative * 100:.1f} %",
                allowed=f"at most {limit * 100:g} %",
                mend=suspect or f"measure again the walls that run {_runs(error)}",
            )
        )
    straight = sum(abs(x) < 1e-9 or abs(y) < 1e-9 for x, y in legs)
    chosen: Rule = rule or ("square" if 2 * straight >= len(legs) else "compass")
    drawn: Sequence[Point] = legs
    if closes:
        # what was left open is not measured: it takes none of the error
        drawn = balance(legs, rule=chosen, pinned=pinned)
    outline: list[Point] = [(0.0, 0.0)]
    for x, y in drawn[:-1]:
        outline.append((outline[-1][0] + x, outline[-1][1] + y))
    outline = [(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in outline]
    walls = tuple(
        SurveyWall(
            index=k,
            said=item.said,
            leg=legs[k],
            drawn=drawn[k],
            known=item.known,
            within=spreads[k] if measured[k] else expected,
            measured=measured[k],
        )
        for k, item in enumerate(items)
    )
    area: float | None = None
    if closes:
        crossing = _crossings(outline)
        for a, b in crossing[:1]:
            problems.append(
                InputError(
                    "walls",
                    given=f"wall {a + 1} ({items[a].said}) crosses wall {b + 1} ({items[b].said})",
                    allowed="walls that meet at their corners only",
                    mend="look at the directions of both",
                )
            )
        polygon = Polygon(outline)
        if not crossing and polygon.is_valid and polygon.area > 0:
            area = polygon.area
    openings, services, piers, trouble = _at_walls(items, walls, outline, units)
    problems += trouble
    found = [column_of(one, **_frame(outline, one.wall)) for one in piers]
    problems += _overlapping(openings, units)
    checks = tuple(
        diagonal(walls, outline=outline, given=d, units=units, overrides=overrides)
        for d in diagonals
    )
    high, high_known = _height(height, units, source, problems)
    columns = (*columns, *found)
    if area is not None:
        problems += columns_inside(columns, room=Polygon(outline))
    if strict and problems:
        raise problems[0]
    return Survey(
        text=text,
        walls=walls,
        walked=tuple(walked),
        outline=tuple(outline),
        error=error,
        error_length=size,
        perimeter=perimeter,
        relative=relative,
        expected=expected,
        rule=chosen,
        pinned=pinned,
        openings=tuple(openings),
        diagonals=checks,
        columns=tuple(columns),
        services=tuple(services),
        piers=tuple(piers),
        height=high,
        height_known=high_known,
        area=area,
        problems=tuple(problems),
        to_measure=to_measure(
            walls,
            openings=openings,
            services=services,
            diagonals=checks,
            height=(high, high_known),
            units=units,
        ),
        sentence=_sentence(
            size,
            perimeter,
            relative,
            expected,
            chosen,
            pinned,
            items,
            area,
            units,
            _suspects(legs, items, error, units),
        )
        if closes
        else (str(problems[0]) if problems else ""),
        units=units,
    )


def _frame(outline: Sequence[Point], wall: int) -> dict[str, Point]:
    """Where a wall begins, its direction and the direction into the room."""
    a, b = outline[wall], outline[(wall + 1) % len(outline)]
    long = math.dist(a, b) or 1.0
    way = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
    area = math.fsum(
        p[0] * q[1] - q[0] * p[1] for p, q in zip(outline, (*outline[1:], outline[0]), strict=True)
    )
    turn = 1.0 if area >= 0 else -1.0
    return {"start": a, "way": way, "inward": (-way[1] * turn, way[0] * turn)}


def _at_walls(
    items: Sequence[Item], walls: Sequence[SurveyWall], outline: Sequence[Point], units: str
) -> tuple[list[SurveyOpening], list[SurveyService], list[SurveyColumn], list[InputError]]:
    """What stands in brackets behind the walls, and what of it cannot be."""
    openings: list[SurveyOpening] = []
    services: list[SurveyService] = []
    piers: list[SurveyColumn] = []
    problems: list[InputError] = []
    for k, item in enumerate(items):
        long = walls[k].length
        for raw in item.openings:
            try:
                kind = kind_of_item(raw)
                if kind == "opening":
                    one = read_opening(raw, wall=k, length=long, units=units)
                    openings.append(one)
                    problems += _past(one, walls[k], units)
                elif kind == "service":
                    services.append(read_service(raw, wall=k, length=long, units=units))
                else:
                    piers.append(read_column(raw, wall=k, length=long, units=units))
            except InputError as problem:
                problems.append(
                    InputError(
                        f"wall {k + 1} ({item.said}), {problem.what}",
                        given=problem.given,
                        allowed=problem.allowed,
                        mend=problem.mend,
                    )
                )
    return openings, services, piers, problems


def _height(
    height: str | float | None, units: str, source: Source, problems: list[InputError]
) -> tuple[float | None, Known]:
    """Floor to ceiling, and how it is known."""
    if height in (None, ""):
        return None, Known(source=source)
    known = Known(source=source)
    try:
        plain: object = height
        if isinstance(height, str):
            plain, known = known_at_end(" ".join(height.split()), units, source)
        high = read(plain, units=units, what="height of the ceiling")
        if not 0.3 <= high <= 30:
            raise InputError(
                "height of the ceiling", given=height, allowed="0.3 to 30 m",
                mend="look at its unit: bare numbers count in " + units,
            )  # fmt: skip
    except InputError as problem:
        problems.append(problem)
        return None, known
    return high, known


def _say(length: float, units: str) -> str:
    return in_sentence(round(length, 6), units=units)


def _runs(error: Point) -> str:
    if abs(error[0]) > 3 * abs(error[1]):
        return "left and right"
    if abs(error[1]) > 3 * abs(error[0]):
        return "up and down"
    return "both ways"


def _sentence(
    size: float, perimeter: float, relative: float, expected: float, rule: Rule,
    pinned: int | None, items: Sequence[Item], area: float | None, units: str,
    suspect: str,
) -> str:  # fmt: skip
    room = ""
    if area is not None:
        room = f" {in_sentence(area, kind='area', units=units)} of floor."
    if size < 5e-5:
        return f"It closes.{room}"
    how = {
        "square": "spread over the walls, right angles kept",
        "compass": "spread over the walls by their length",
    }[rule]
    if pinned is not None:
        how = f"put on wall {pinned + 1}, {items[pinned].said}"
    text = (
        f"It closes within {_say(size, units)} on {_say(perimeter, units)} "
        f"(1 in {1 / relative:.0f}), {how}."
    )
    if size > 3 * expected:
        text += f" The ± of the walls makes {_say(expected, units)} of it: one may be wrong."
        text += f" {suspect[:1].upper()}{suspect[1:]}." if suspect else ""
    return text + room


def _past(one: SurveyOpening, wall: SurveyWall, units: str) -> list[InputError]:
    end = one.offset + one.width
    slack = wall.within + within_of(one.known)
    if one.offset >= -1e-9 and end <= wall.length + 1e-9:
        return []
    over = max(-one.offset, end - wall.length)
    return [
        InputError(
            f"wall {wall.index + 1}, opening {one.said!r}",
            given=f"{_say(over, units)} past the corner",
            allowed=f"within {wall.said}, {_say(wall.length, units)} long",
            mend="measure its distance from the corner where the wall begins"
            + ("; the ± alone would explain it" if over < slack else ""),
        )
    ]


def _overlapping(openings: Sequence[SurveyOpening], units: str) -> list[InputError]:
    found = []
    for k in {one.wall for one in openings}:
        row = sorted((one for one in openings if one.wall == k), key=lambda one: one.offset)
        for a, b in pairwise(row):
            if a.offset + a.width > b.offset + 1e-9:
                found.append(
                    InputError(
                        f"openings {a.said!r} and {b.said!r}",
                        given=f"{_say(a.offset + a.width - b.offset, units)} of each other",
                        allowed="openings beside each other",
                        mend="measure both from the same corner",
                    )
                )
    return found
