"""Walk the walls with a tape: lengths and turns in plain words become a room.

"right 4.12, up 2.60, left 1.50, up 0.80, left 2.62, down 3.40" goes round the
room once, as one stands before each wall and draws it on paper. Right angles
are taken as such and can be changed: "right 0.60 up 0.60" is a wall across by
its two legs, "1.20 at 45" by length and direction, "turn 30" bends the next
"ahead". What does not close is shown, and spread or put on one wall.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal, get_args

from shapely.geometry import LineString, Polygon

from designkit import units as convert
from designkit.errors import InputError
from designkit.model import Column, Known, Point, Source
from designkit.plan.measure import combined, within_of
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

Rule = Literal["compass", "square"]
OpeningKind = Literal["door", "window", "balcony", "passage"]
_DIRECTIONS = {"right": 0.0, "up": 90.0, "left": 180.0, "down": 270.0}
_LONGEST = 60.0  # m; a wall longer than this was read in the wrong unit


@dataclass(frozen=True, kw_only=True)
class SurveyOpening:
    """An opening as it was measured in a wall."""

    wall: int
    kind: OpeningKind
    width: float  # [m]
    offset: float  # from the corner where the wall begins [m]
    said: str
    sill: float | None = None
    head: float | None = None
    to: str = ""
    hinge: Literal["left", "right"] | None = None
    swing: Literal["in", "out", "slide", "none"] = "none"
    thickness: float | None = None
    name: str = ""
    known: Known = Known(source="measured")


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


# --- spreading ----------------------------------------------------------------


def balance(
    legs: Sequence[Point], *, rule: Rule = "compass", pinned: int | None = None
) -> tuple[Point, ...]:
    r"""Legs of a closed walk, corrected so that they close.

    By the compass rule each leg takes a share of the error by its length,
    which turns it a little. By the square rule (the transit rule of surveyors)
    each leg takes a share of the error along x by its own extent along x, and
    so for y: walls square to the plan stay square.

    .. math:: c_i = -e\,L_i/\sum L  \qquad  c_{x,i} = -e_x\,|x_i|/\sum|x|    [1]_

    Parameters
    ----------
    legs : sequence of Point
        Extents along x and y of each leg, in order. [m]
    rule : str, optional
        "compass" or "square".
    pinned : int, optional
        The leg that takes what it can take along its own direction; the rest
        is spread by the rule.

    Returns
    -------
    tuple of Point
        Legs that add up to nothing. [m]

    Raises
    ------
    InputError
        There are no legs, a number is not finite, or the error has no leg to
        go to.

    Examples
    --------
    >>> balance([(4.0, 0.0), (0.0, 3.0), (-4.02, 0.0), (0.0, -3.0)], rule="square")[0]
    (4.009975062344139, 0.0)

    References
    ----------
    .. [1] C. D. Ghilani and P. R. Wolf, "Elementary Surveying", chapter 10,
       traverse computations (second-hand): compass (Bowditch) and transit rule.
    """
    if not legs or not all(math.isfinite(n) for leg in legs for n in leg):
        raise InputError(
            "legs of a walk", given=len(legs), allowed="finite lengths", mend="measure the walls"
        )
    if rule not in get_args(Rule):
        raise InputError("rule", given=rule, allowed="compass or square", mend="use one of these")
    made = [(float(x), float(y)) for x, y in legs]
    if pinned is not None:
        if not 0 <= pinned < len(made):
            raise InputError(
                "pinned wall", given=pinned, allowed=f"0 to {len(made) - 1}", mend="name a wall"
            )
        x, y = made[pinned]
        long = math.hypot(x, y)
        ex, ey = math.fsum(p[0] for p in made), math.fsum(p[1] for p in made)
        along = (ex * x + ey * y) / long
        made[pinned] = (x - along * x / long, y - along * y / long)
    ex, ey = math.fsum(p[0] for p in made), math.fsum(p[1] for p in made)
    if rule == "compass":
        weight = [(math.hypot(x, y), math.hypot(x, y)) for x, y in made]
    else:
        weight = [(abs(x), abs(y)) for x, y in made]
    if pinned is not None:
        # A pinned wall has had its share; it takes more only where no other can.
        others = [w if k != pinned else (0.0, 0.0) for k, w in enumerate(weight)]
        weight = [
            (
                o[0] if sum(p[0] for p in others) > 1e-9 else w[0],
                o[1] if sum(p[1] for p in others) > 1e-9 else w[1],
            )
            for o, w in zip(others, weight)
        ]
    whole = (math.fsum(w[0] for w in weight), math.fsum(w[1] for w in weight))
    out = []
    for (x, y), (wx, wy) in zip(made, weight):
        if (abs(ex) > 1e-12 and whole[0] < 1e-9) or (abs(ey) > 1e-12 and whole[1] < 1e-9):
            raise InputError(
                "closing error",
                given=f"{ex:.3f}, {ey:.3f} m",
                allowed="a walk with walls along that direction",
                mend="go round the room once",
            )
        cx = -ex * wx / whole[0] if whole[0] > 1e-9 else 0.0
        cy = -ey * wy / whole[1] if whole[1] > 1e-9 else 0.0
        out.append((x + cx, y + cy))
    return tuple(out)


# --- reading ------------------------------------------------------------------


@dataclass
class _Item:
    said: str
    legs: list[tuple[float, float | None]]  # direction [°], length or None where left open
    known: Known
    openings: list[str]


_OPEN = re.compile(r"^(?:\?|…|\.{2,3}|open)?$")


def _items(text: str) -> list[str]:
    """The walk taken apart, with what stands in brackets left whole."""
    parts: list[str] = []
    depth = 0
    buffer = ""
    for k, sign in enumerate(text):
        depth += (sign == "[") - (sign == "]")
        after = text[k + 1 : k + 2]
        cut = sign in ";\n" or (sign == "," and not after.isdigit())
        if cut and depth == 0:
            parts.append(buffer)
            buffer = ""
        else:
            buffer += sign
    parts.append(buffer)
    if depth != 0:
        raise InputError(
            "walk", given="a bracket that is left open", allowed="[door 0.90 at 0.35]",
            mend="close the bracket",
        )  # fmt: skip
    return [part.strip() for part in parts if part.strip()]


def _known(text: str, units: str, default: Source) -> tuple[str, Known]:
    """Take source and ± from the end of an item."""
    source: Source = default
    within: float | None = None
    found = re.search(r"(?:±|\+/-|\+-)\s*(.+?)\s*(measured|plan|seller|guess)?$", text)
    if found:
        within = convert.read(found[1], units=units, what="±")
        text = text[: found.start()].strip() + (f" {found[2]}" if found[2] else "")
    for word in get_args(Source):
        if re.search(rf"\s{word}$", text):
            source = word
            text = text[: -len(word)].strip()
    return text, Known(source=source, within=within)


def _length(text: str, units: str, said: str) -> float | None:
    if _OPEN.match(text.strip()):
        return None
    length = convert.read(text, units=units, what=f"length in {said!r}")
    if not 0 < length <= _LONGEST:
        raise InputError(
            f"length in {said!r}",
            given=f"{length:g} m",
            allowed=f"more than 0, at most {_LONGEST:g} m",
            mend="look at its unit: bare numbers count in " + units,
        )
    return length


def _angle(text: str, said: str) -> float:
    clean = re.sub(r"\s*(?:°|deg(?:rees?)?)\s*$", "", text.strip())
    try:
        number = float(convert.read_number(clean))
    except InputError:
        raise InputError(
            f"angle in {said!r}", given=repr(text), allowed="degrees", mend="as turn 30"
        ) from None
    if not -360 <= number <= 360:
        raise InputError(f"angle in {said!r}", given=number, allowed="-360 to 360°", mend="look")
    return number


def _read_walk(text: str, units: str, default: Source) -> list[_Item]:
    found: list[_Item] = []
    heading: float | None = None
    for item in _items(text):
        openings = re.findall(r"\[([^\]]*)\]", item)
        plain = re.sub(r"\[[^\]]*\]", " ", item).strip()
        plain = " ".join(plain.split())
        if not plain and openings and found:
            found[-1].openings += openings
            continue
        turn = re.fullmatch(r"turn\s+(.+?)(?:\s+(left|right))?", plain, re.IGNORECASE)
        if turn:
            if heading is None:
                raise InputError(
                    "walk", given=repr(item), allowed="a wall before the first turn",
                    mend="begin with right, up, left or down",
                )  # fmt: skip
            angle = _angle(turn[1], item)
            heading += -angle if (turn[2] or "left").lower() == "right" else angle
            continue
        plain, known = _known(plain, units, default)
        at = re.fullmatch(r"(.+?)\s+at\s+(.+)", plain, re.IGNORECASE)
        words = re.split(r"\b(right|left|up|down|ahead)\b", plain, flags=re.IGNORECASE)
        legs: list[tuple[float, float | None]] = []
        if at and len(words) == 1:
            heading = _angle(at[2], item)
            legs.append((heading, _length(at[1], units, item)))
        elif len(words) >= 3 and not words[0].strip():
            for word, length in zip(words[1::2], words[2::2]):
                key = word.lower()
                if key == "ahead":
                    if heading is None:
                        raise InputError(
                            "walk", given=repr(item), allowed="a wall before ahead",
                            mend="begin with right, up, left or down",
                        )  # fmt: skip
                    legs.append((heading, _length(length, units, item)))
                else:
                    legs.append((_DIRECTIONS[key], _length(length, units, item)))
            if len(legs) > 2 or (len(legs) == 2 and any(n is None for _, n in legs)):
                raise InputError(
                    "walk", given=repr(item), allowed="one length, or the two legs of a wall across",
                    mend="put a comma between two walls",
                )  # fmt: skip
        else:
            raise InputError(
                "walk",
                given=repr(item),
                allowed="right, up, left, down or ahead with a length; two legs; "
                "1.20 at 45; turn 30",
                mend="write each wall as right 4.12",
            )
        if len(legs) == 1:
            heading = legs[0][0]
        else:
            x, y = _sum([(a, n or 0.0) for a, n in legs])
            heading = math.degrees(math.atan2(y, x))
        found.append(_Item(said=item, legs=legs, known=known, openings=openings))
    return found


def _unit(angle: float) -> Point:
    """Direction of an angle; exact for right angles."""
    quarter = angle / 90.0
    if abs(quarter - round(quarter)) < 1e-12:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    return (math.cos(math.radians(angle)), math.sin(math.radians(angle)))


def _sum(legs: Sequence[tuple[float, float]]) -> Point:
    x = math.fsum(_unit(a)[0] * n for a, n in legs)
    y = math.fsum(_unit(a)[1] * n for a, n in legs)
    return (x, y)


def _systems(text: str, units: str) -> None:
    """Refuse feet or inches beside metres in one walk."""
    plain = re.sub(r"\b(?:at|turn)\s+-?[\d.]+", " ", text)
    imperial = bool(re.search(r"\d\s*(?:'|\"|′|″|ft\b|in\b|inch)", plain))
    metric = bool(re.search(r"\d\s*(?:mm|cm|m)\b", plain))
    bare = bool(re.search(r"(?:right|left|up|down|ahead)\s+[\d.,]+\s*(?:[,;\[\n]|$)", plain))
    if imperial and (metric or (bare and units in convert.METRIC)):
        raise InputError(
            "walk",
            given="feet or inches beside metres",
            allowed="one system of units in one walk",
            mend="write all lengths in one unit, or each with its unit in one system",
        )


_TRAIL = ("sill", "head", "to", "hinge", "thick", "name", "swing")


def _opening(text: str, wall: int, length: float, units: str) -> SurveyOpening:
    said = " ".join(text.split())
    plain, known = _known(said, units, "measured")
    match = re.fullmatch(
        r"(door|window|balcony|passage)\s+(.+?)\s+(at|from end)\s+(.+?)"
        r"((?:\s+(?:sill|head|to|hinge|thick|name|swing)\s+.+)?)",
        plain,
        re.IGNORECASE,
    )
    if match is None:
        raise InputError(
            f"opening {said!r}",
            allowed="kind, width, and at its distance from the corner where the wall begins "
            "or from end",
            mend="write it as [window 1.60 at 0.90 sill 0.85 head 2.20]",
        )
    kind = next(k for k in get_args(OpeningKind) if k == match[1].lower())
    width = convert.read(match[2], units=units, what=f"width of {said!r}")
    away = convert.read(match[4], units=units, what=f"distance of {said!r}")
    words = "|".join(_TRAIL)
    more = dict(re.findall(rf"({words})\s+(.+?)(?=\s+(?:{words})\s|$)", match[5]))
    lengths = {
        key: convert.read(more[key], units=units, what=f"{key} of {said!r}")
        for key in ("sill", "head", "thick")
        if key in more
    }
    offset = away if match[3].lower() == "at" else length - away - width
    hinge = more.get("hinge")
    swing = more.get("swing", "in" if kind == "door" and hinge else "none")
    if hinge not in (None, "left", "right") or swing not in ("in", "out", "slide", "none"):
        raise InputError(
            f"opening {said!r}", given=f"hinge {hinge}, swing {swing}",
            allowed="hinge left or right, swing in, out, slide or none", mend="as seen from inside",
        )  # fmt: skip
    return SurveyOpening(
        wall=wall,
        kind=kind,
        width=width,
        offset=offset,
        said=said,
        sill=lengths.get("sill", 0.0 if kind != "window" else None),
        head=lengths.get("head"),
        to=more.get("to", ""),
        hinge="left" if hinge == "left" else "right" if hinge else None,
        swing=next(s for s in ("in", "out", "slide", "none") if s == swing),  # type: ignore[arg-type]
        thickness=lengths.get("thick"),
        name=more.get("name", ""),
        known=known,
    )


# --- closing --------------------------------------------------------------------


def _solve(items: Sequence[_Item]) -> tuple[list[Point], list[bool], list[InputError]]:
    """Legs of all walls; lengths that were left open follow from the others."""
    problems: list[InputError] = []
    legs: list[Point] = []
    open_: list[int] = []
    for k, item in enumerate(items):
        if any(n is None for _, n in item.legs):
            open_.append(k)
            legs.append((0.0, 0.0))
        else:
            legs.append(_sum([(a, n or 0.0) for a, n in item.legs]))
    x, y = math.fsum(p[0] for p in legs), math.fsum(p[1] for p in legs)
    lengths: list[float] = []
    if len(open_) == 1:
        ux, uy = _unit(items[open_[0]].legs[0][0])
        lengths = [-(x * ux + y * uy)]
    elif len(open_) == 2:
        (ax, ay), (bx, by) = (_unit(items[k].legs[0][0]) for k in open_)
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
        ux, uy = _unit(items[k].legs[0][0])
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


def _suspects(legs: Sequence[Point], items: Sequence[_Item], error: Point, units: str) -> str:
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
            found.append(
                f"{items[k].said} would close at {convert.in_sentence(meant, units=units)} ({how})"
            )
    return "; ".join(found[:2])


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
        How the closing error is spread; None: "square" where every wall is
        square to the plan, else "compass".
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
    _systems(text, units)
    items = _read_walk(text, units, source)
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
    square = all(abs(x) < 1e-9 or abs(y) < 1e-9 for x, y in legs)
    chosen: Rule = rule or ("square" if square else "compass")
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
            one = _opening(raw, k, walls[k].length, units)
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
        sentence=_sentence(size, perimeter, relative, expected, chosen, pinned, items, area, units)
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
    pinned: int | None, items: Sequence[_Item], area: float | None, units: str,
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
