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

from designkit import units as convert
from designkit.errors import InputError
from designkit.model import Column, Known, Point, Source
from designkit.plan.measure import combined, within_of
from designkit.plan.survey_text import (
    Item,
    SurveyOpening,
    leg_of,
    one_system,
    read_opening,
    read_walk,
    unit_of,
)
from designkit.plan.traverse import Rule, balance
from designkit.reference import value

__all__ = [
    "Diagonal",
    "Rule",
    "Survey",
    "SurveyOpening",
    "SurveyWall",
    "balance",
    "survey",
]


@dataclass(frozen=True, kw_only=True)
class SurveyWall:
    """One wall as it was measured, and as it is drawn after the error is spread."""

    index: int
    said: str
    leg: Point  # as measured [m]
    drawn: Point  # after spreading [m]
    known: Known
    within: float  # ± of its length [m]
    measured: bool  # False: its length was left open and follows from the others

    @property
    def length(self) -> float:
        """Length as drawn. [m]"""
        return math.hypot(*self.drawn)

    @property
    def change(self) -> float:
        """How much the length was changed. [m]"""
        return self.length - math.hypot(*self.leg)


@dataclass(frozen=True, kw_only=True)
class Diagonal:
    """A check from corner to corner: the tape against the drawing."""

    corners: tuple[int, int]
    measured: float  # [m]
    computed: float  # [m]
    within: float  # ± of their difference [m]
    agrees: bool
    why: str


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
    columns: tuple[Column, ...]
    height: float | None
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
                    f"wall {k + 1}, {items[k].said}",
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
            said = f"{items[k].said} would close at {_say(meant, units)} ({how})"
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
        and its openings in brackets ("[door 0.90 at 0.35 head 2.05 to hall]").
    units : str, optional
        Unit of bare numbers.
    diagonals : sequence of tuple, optional
        Two corners, counted from 0 where the walk begins, and the measured
        distance.
    height : str or float, optional
        Floor to ceiling.
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
    one_system(text, units=units)
    items = read_walk(text, units=units, source=source)
    problems: list[InputError] = []
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
    closes = len(items) >= 3 and relative <= limit and not trouble
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
    openings: list[SurveyOpening] = []
    for k, item in enumerate(items):
        for raw in item.openings:
            one = read_opening(raw, wall=k, length=walls[k].length, units=units)
            openings.append(one)
            problems += _past(one, walls[k], units)
    problems += _overlapping(openings, units)
    checks = tuple(_diagonal(walls, outline, d, units, overrides) for d in diagonals)
    high: float | None = None
    if height not in (None, ""):
        high = convert.read(height, units=units, what="height")
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
        height=high,
        area=area,
        problems=tuple(problems),
        to_measure=_to_measure(walls, openings, checks, high, units),
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


def _say(length: float, units: str) -> str:
    return convert.in_sentence(round(length, 6), units=units)


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
        room = f" {convert.in_sentence(area, kind='area', units=units)} of floor."
    if size < 5e-5:
        return f"It closes.{room}"
    how = {
        "square": "spread over the walls, right angles kept",
        "compass": "spread over the walls by their length",
    }[rule]
    if pinned is not None:
        how = f"put on {items[pinned].said}"
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
            f"opening {one.said!r}",
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


def _diagonal(
    walls: Sequence[SurveyWall],
    outline: Sequence[Point],
    given: tuple[int, int, str | float],
    units: str,
    overrides: Mapping[str, float] | None,
) -> Diagonal:
    a, b, text = given
    for corner in (a, b):
        if not 0 <= corner < len(outline):
            raise InputError(
                "corner of a diagonal", given=corner, allowed=f"0 to {len(outline) - 1}",
                mend="corners count from 0, where the walk begins",
            )  # fmt: skip
    if a == b:
        raise InputError("diagonal", given=f"{a} to {b}", allowed="two corners", mend="name two")
    measured = convert.read(text, units=units, what="diagonal")
    computed = math.dist(outline[a], outline[b])
    # The ± of the walls on the way, seen along the diagonal; the shorter way round.
    low, high = sorted((a, b))
    ways = [list(range(low, high)), [*range(high, len(walls)), *range(low)]]
    ux = (outline[b][0] - outline[a][0]) / computed if computed else 1.0
    uy = (outline[b][1] - outline[a][1]) / computed if computed else 0.0
    spread = min(
        combined(
            *(
                walls[k].within * abs(walls[k].drawn[0] * ux + walls[k].drawn[1] * uy)
                / max(walls[k].length, 1e-9)
                for k in way
            )
        )
        for way in ways
    )  # fmt: skip
    within = combined(spread, value("plan.known.measured", overrides))
    off = measured - computed
    agrees = abs(off) <= max(2 * within, value("plan.survey.diagonal", overrides))
    why = (
        f"Corner {a} to corner {b}: {_say(measured, units)} measured, "
        f"{_say(computed, units)} drawn, ± {_say(within, units)}."
    )
    if not agrees:
        why += _corner_angle(outline, a, b, measured)
    return Diagonal(
        corners=(a, b), measured=measured, computed=computed, within=within, agrees=agrees, why=why
    )


def _corner_angle(outline: Sequence[Point], a: int, b: int, measured: float) -> str:
    """The angle at the corner between that would explain the tape."""
    count = len(outline)
    for middle in ((a + 1) % count, (b + 1) % count):
        if {(middle - 1) % count, (middle + 1) % count} == {a, b}:
            one = math.dist(outline[a], outline[middle])
            two = math.dist(outline[b], outline[middle])
            cosine = (one**2 + two**2 - measured**2) / (2 * one * two)
            now = (one**2 + two**2 - math.dist(outline[a], outline[b]) ** 2) / (2 * one * two)
            if abs(cosine) <= 1:
                return (
                    f" It would be so with {math.degrees(math.acos(cosine)):.1f}° at corner "
                    f"{middle}, drawn with {math.degrees(math.acos(max(-1, min(1, now)))):.1f}°."
                )
    return " Measure it again, and the walls beside it."


def _to_measure(
    walls: Sequence[SurveyWall],
    openings: Sequence[SurveyOpening],
    diagonals: Sequence[Diagonal],
    height: float | None,
    units: str,
) -> tuple[str, ...]:
    found = []
    for wall in walls:
        if not wall.measured:
            found.append(f"wall {wall.index + 1} ({wall.said}): now {_say(wall.length, units)}")
        elif wall.known.source != "measured":
            found.append(f"wall {wall.index + 1} ({wall.said}): known from {wall.known.source}")
    if height is None:
        found.append("height from the floor to the ceiling")
    for one in openings:
        name = one.name or f"{one.kind} in wall {one.wall + 1}"
        missing = [
            word
            for word, number in (("sill", one.sill), ("head", one.head))
            if number is None
        ]  # fmt: skip
        if missing:
            found.append(f"{name}: {' and '.join(missing)} above the floor")
        if one.kind in ("door", "passage") and one.thickness is None:
            found.append(f"{name}: thickness of the wall")
        if one.kind == "door" and one.hinge is None:
            found.append(f"{name}: side of the hinges")
    if not diagonals and len(walls) >= 4:
        found.append("a diagonal, to see whether the corners are square")
    found += [f"diagonal {d.corners[0]} to {d.corners[1]} again" for d in diagonals if not d.agrees]
    return tuple(found)
