"""The words of a walk round a room: walls with their lengths, turns, openings."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from designkit import units as convert
from designkit.errors import InputError
from designkit.model import Known, Point, Source
from designkit.units import read, read_number

__all__ = [
    "Item",
    "OpeningKind",
    "SurveyOpening",
    "items_of",
    "known_at_end",
    "leg_of",
    "name_at_end",
    "one_system",
    "read_opening",
    "read_walk",
    "unit_of",
]

OpeningKind = Literal["door", "window", "balcony", "passage"]
Swing = Literal["in", "out", "slide", "none"]
LeafKind = Literal["fixed", "sliding", "hung", "inward", "outward", "tilt-turn"]
_DIRECTIONS = {"right": 0.0, "up": 90.0, "left": 180.0, "down": 270.0}
_WAYS = "right|left|up|down|ahead"
_LONGEST = 60.0  # m; a wall longer than this was read in the wrong unit
_MEASURED = Known(source="measured")


@dataclass(frozen=True, kw_only=True)
class SurveyOpening:
    """An opening as it was measured in a wall."""

    wall: int
    kind: OpeningKind
    width: float  # [m]
    offset: float  # from the corner where the wall begins [m]
    said: str
    sill: float | None = None  # [m]
    head: float | None = None  # [m]
    to: str = ""
    hinge: Literal["left", "right"] | None = None
    swing: Swing = "none"
    thickness: float | None = None  # [m]
    clear: float | None = None  # clear width of the open door [m]
    leaf: LeafKind = "fixed"  # of a window
    leaves: int = 1
    name: str = ""
    known: Known = _MEASURED


@dataclass(frozen=True, kw_only=True)
class Item:
    """One wall as it was written."""

    said: str
    legs: tuple[tuple[float, float | None], ...]  # direction [°], length or None where left open
    known: Known
    openings: tuple[str, ...]


_OPEN = re.compile(r"^(?:\?|…|\.{2,3}|open)?$")


def items_of(text: str) -> list[str]:
    """The walk taken apart, with what stands in brackets left whole.

    Parameters
    ----------
    text : str
        As typed: commas, semicolons or line ends between.

    Returns
    -------
    list of str
        Empty items are left out.

    Raises
    ------
    InputError
        A bracket is left open.

    Examples
    --------
    >>> items_of("right 4,12, up 3 [door 0.9 at 1, name hall]")
    ['right 4,12', 'up 3 [door 0.9 at 1, name hall]']
    """
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


def known_at_end(text: str, units: str, default: Source = "measured") -> tuple[str, Known]:
    """Take source and ± from the end of an item.

    Parameters
    ----------
    text : str
        As "2.60 ± 0.01 plan"; sources are measured, plan, seller, client and guess.
    units : str
        Unit of bare numbers.
    default : str, optional
        The source where none is said.

    Returns
    -------
    tuple of str and Known
        The text without them, and how it is known.

    Raises
    ------
    InputError
        The ± is no length.

    Examples
    --------
    >>> known_at_end("2.60 ± 0.01 plan", "m")
    ('2.60', Known(source='plan', within=0.01))
    """
    source: Source = default
    within: float | None = None
    sources = "|".join(get_args(Source))
    found = re.search(rf"(?:±|\+/-|\+-)\s*(.+?)\s*({sources})?$", text)
    if found:
        within = read(found[1], units=units, what="±")
        if within < 0:
            raise InputError("±", given=found[1], allowed="0 or more", mend="leave the sign out")
        text = text[: found.start()].strip() + (f" {found[2]}" if found[2] else "")
    for word in get_args(Source):
        if re.search(rf"\s{word}$", text):
            source = word
            text = text[: -len(word)].strip()
    return text, Known(source=source, within=within)


def _length(text: str, units: str, said: str) -> float | None:
    if _OPEN.match(text.strip()):
        return None
    length = read(text.strip(), units=units, what=said)
    if not 0 < length <= _LONGEST:
        raise InputError(
            said,
            given=f"{length:g} m",
            allowed=f"more than 0, at most {_LONGEST:g} m",
            mend="turn the direction round, as left for right"
            if length < 0
            else "look at its unit: bare numbers count in " + units,
        )
    return length


def _angle(text: str, said: str) -> float:
    clean = re.sub(r"\s*(?:°|deg(?:rees?)?)\s*$", "", text.strip())
    try:
        number = float(read_number(clean))
    except InputError:
        raise InputError(
            f"angle in {said!r}", given=repr(text), allowed="degrees", mend="as turn 30"
        ) from None
    if not -360 <= number <= 360:
        raise InputError(f"angle in {said!r}", given=number, allowed="-360 to 360°", mend="look")
    return number


def read_walk(
    text: str, *, units: str, source: Source, problems: list[InputError] | None = None
) -> list[Item]:
    """Take a walk apart into its walls.

    Parameters
    ----------
    text : str
        As `designkit.plan.survey.survey` describes it.
    units : str
        Unit of bare numbers.
    source : str
        How lengths are known that say nothing.
    problems : list of InputError, optional
        Takes what cannot be read; the walls before it are given back. Without
        it the first problem is raised.

    Returns
    -------
    list of Item
        One a wall; turns are in the directions of the walls behind them.

    Raises
    ------
    InputError
        An item is no wall and no turn; the message names it.

    Examples
    --------
    >>> [one.legs for one in read_walk("right 4.12, turn 45, ahead 1.2", units="m",
    ...                                source="measured")]
    [((0.0, 4.12),), ((45.0, 1.2),)]
    """
    found: list[Item] = []
    heading: float | None = None
    try:
        for item in items_of(text):
            heading = _take(item, found, heading, units, source)
    except InputError as problem:
        if problems is None:
            raise
        problems.append(problem)
    return found


def _take(
    item: str, found: list[Item], heading: float | None, units: str, source: Source
) -> float | None:
    """Add what one item says to the walls; the direction in which it leaves one."""
    openings = re.findall(r"\[([^\]]*)\]", item)
    plain = " ".join(re.sub(r"\[[^\]]*\]", " ", item).split())
    if not plain and openings and found:
        found[-1] = replace(found[-1], openings=(*found[-1].openings, *openings))
        return heading
    named = f"wall {len(found) + 1}, {plain!r}"
    turn = re.fullmatch(r"turn\s+(.+?)(?:\s+(left|right))?", plain, re.IGNORECASE)
    if turn:
        if heading is None:
            raise _too_soon(item, "turn")
        angle = _angle(turn[1], item)
        return heading + (-angle if (turn[2] or "left").lower() == "right" else angle)
    plain, known = known_at_end(plain, units, source)
    at = re.fullmatch(r"(.+?)\s+at\s+(.+)", plain, re.IGNORECASE)
    words = re.split(r"\b(right|left|up|down|ahead)\b", plain, flags=re.IGNORECASE)
    legs: list[tuple[float, float | None]] = []
    if at and len(words) == 1:
        heading = _angle(at[2], item)
        legs.append((heading, _length(at[1], units, named)))
    elif len(words) >= 3 and not words[0].strip():
        for word, length in zip(words[1::2], words[2::2]):
            key = word.lower()
            if key == "ahead" and heading is None:
                raise _too_soon(item, "ahead")
            way = heading if key == "ahead" and heading is not None else _DIRECTIONS.get(key, 0.0)
            legs.append((way, _length(length, units, named)))
        if len(legs) > 2 or (len(legs) == 2 and any(n is None for _, n in legs)):
            raise InputError(
                named, allowed="one length, or two legs of a wall across",
                mend="put a comma or a new line between two walls",
            )  # fmt: skip
    else:
        raise InputError(
            named,
            allowed="right, up, left, down or ahead with a length; two legs; 1.20 at 45; turn 30",
            mend="write each wall as right 4.12",
        )
    if len(legs) == 1:
        heading = legs[0][0]
    else:
        x, y = leg_of([(a, n or 0.0) for a, n in legs])
        heading = math.degrees(math.atan2(y, x))
    said = " ".join(re.sub(r"\[[^\]]*\]", " ", item).split())
    found.append(Item(said=said, legs=tuple(legs), known=known, openings=tuple(openings)))
    return heading


def _too_soon(item: str, word: str) -> InputError:
    what = "the first turn" if word == "turn" else "ahead"
    return InputError(
        "walk", given=repr(item), allowed=f"a wall before {what}",
        mend="begin with right, up, left or down",
    )  # fmt: skip


def unit_of(angle: float) -> Point:
    """Unit vector of a direction in degrees, exact for right angles.

    Parameters
    ----------
    angle : float
        Counter-clockwise from right. [°]

    Returns
    -------
    Point
        Of length 1.

    Examples
    --------
    >>> unit_of(270.0)
    (0.0, -1.0)
    """
    quarter = angle / 90.0
    if abs(quarter - round(quarter)) < 1e-12:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    return (math.cos(math.radians(angle)), math.sin(math.radians(angle)))


def leg_of(legs: Sequence[tuple[float, float]]) -> Point:
    """Where a wall of one length, or of two legs, leads.

    Parameters
    ----------
    legs : sequence of tuple
        Directions and lengths. [°, m]

    Returns
    -------
    Point
        Extents along x and y. [m]
    """
    x = math.fsum(unit_of(a)[0] * n for a, n in legs)
    y = math.fsum(unit_of(a)[1] * n for a, n in legs)
    return (x, y)


def one_system(text: str, *, units: str) -> None:
    """Refuse feet or inches beside metres in one walk.

    Parameters
    ----------
    text : str
        The walk.
    units : str
        Unit of bare numbers.

    Raises
    ------
    InputError
        Two systems of units stand in it.
    """
    try:
        items = items_of(text)
    except InputError:
        return  # reading the walk says so
    bare = "imperial" if units in convert.IMPERIAL else "metric"
    before, wall = "", 0
    for item in items:
        plain = re.sub(r"\b(?:at|turn)\s+-?[\d.]+\s*(?=$|[,;\]])", " ", item)
        wall += not re.match(r"turn\b|\[", item, re.IGNORECASE)
        found = set()
        if re.search(r"\d\s*(?:'|\"|′|″|ft\b|in\b|inch)", plain):
            found.add("imperial")
        if re.search(r"\d\s*(?:mm|cm|m)\b", plain):
            found.add("metric")
        if re.search(rf"\b(?:{_WAYS})\s+[\d.,]+\s*(?:$|[\[±]|{_WAYS})", plain, re.IGNORECASE):
            found.add(bare)
        if len(found) > 1 or (before and found and found != {before}):
            raise InputError(
                f"wall {wall}, {item!r}",
                given="feet or inches beside metres",
                allowed="one system of units in one walk",
                mend="write all lengths in one unit, or each with its unit in one system",
            )
        before = next(iter(found), before)


_TRAIL = ("sill", "head", "to", "hinge", "thick", "swing", "clear", "leaf", "leaves")


def name_at_end(text: str) -> tuple[str, str]:
    """Take the name from the end of what stands in brackets; it may hold any word.

    Parameters
    ----------
    text : str
        As "door 0.90 at 0.35 name door to the hall".

    Returns
    -------
    tuple of str and str
        The text without it, and the name.

    Examples
    --------
    >>> name_at_end("door 0.90 at 0.35 name door to the hall")
    ('door 0.90 at 0.35', 'door to the hall')
    """
    rest, _, name = text.partition(" name ")
    return rest.strip(), name.strip()


def read_opening(text: str, *, wall: int, length: float, units: str) -> SurveyOpening:
    """Read an opening as it stands in the brackets behind its wall.

    Parameters
    ----------
    text : str
        Kind, width, "at" its distance from the corner where the wall begins or
        "from end"; then sill, head, thick, to, hinge, swing, clear, name; of a
        window leaf (fixed, sliding, hung, inward, outward, tilt-turn) and leaves.
    wall : int
        Index of its wall.
    length : float
        Of the wall. [m]
    units : str
        Unit of bare numbers.

    Returns
    -------
    SurveyOpening
        What was not said is None.

    Raises
    ------
    InputError
        It cannot be read.

    Examples
    --------
    >>> read_opening("door 0.90 from end 0.35", wall=0, length=4.0, units="m").offset
    2.75
    """
    said = " ".join(text.split())
    plain, known = known_at_end(said, units)
    plain, name = name_at_end(plain)
    match = re.fullmatch(
        r"(door|window|balcony|passage)\s+(.+?)\s+(at|from end)\s+(.+?)"
        rf"((?:\s+(?:{'|'.join(_TRAIL)})\s+.+)?)",
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
    width = read(match[2], units=units, what=f"width of {said!r}")
    away = read(match[4], units=units, what=f"distance of {said!r}")
    if width <= 0:
        raise InputError(
            f"width of {said!r}", given=match[2], allowed="more than 0", mend="measure it again"
        )
    words = "|".join(_TRAIL)
    more = dict(re.findall(rf"({words})\s+(.+?)(?=\s+(?:{words})\s|$)", match[5]))
    lengths = {
        key: read(more[key], units=units, what=f"{key} of {said!r}")
        for key in ("sill", "head", "thick", "clear")
        if key in more
    }
    for key, least in (("sill", 0.0), ("head", 0.01), ("thick", 0.01), ("clear", 0.01)):
        if lengths.get(key, least) < least:
            raise InputError(
                f"{key} of {said!r}", given=more[key], allowed="a height or width above the floor"
                if key in ("sill", "head") else "more than 0", mend="measure it again",
            )  # fmt: skip
    if lengths.get("head", math.inf) <= lengths.get("sill", 0.0):
        raise InputError(
            f"head of {said!r}", given=more["head"], allowed="above its sill",
            mend="both are measured from the floor",
        )  # fmt: skip
    offset = away if match[3].lower() == "at" else length - away - width
    hinge = more.get("hinge")
    swing = more.get("swing", "in" if kind == "door" and hinge else "none")
    if hinge not in (None, "left", "right") or swing not in ("in", "out", "slide", "none"):
        raise InputError(
            f"opening {said!r}", given=f"hinge {hinge}, swing {swing}",
            allowed="hinge left or right, swing in, out, slide or none", mend="as seen from inside",
        )  # fmt: skip
    leaf = more.get("leaf", "fixed")
    leaves = more.get("leaves", "1")
    if leaf not in get_args(LeafKind) or not leaves.isdigit() or not 1 <= int(leaves) <= 12:
        raise InputError(
            f"opening {said!r}", given=f"leaf {leaf}, leaves {leaves}",
            allowed=f"leaf {', '.join(get_args(LeafKind))}; 1 to 12 leaves",
            mend="use one of these",
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
        swing=next(s for s in ("in", "out", "slide", "none") if s == swing),
        thickness=lengths.get("thick"),
        clear=lengths.get("clear"),
        leaf=next(one for one in get_args(LeafKind) if one == leaf),
        leaves=int(leaves),
        name=name,
        known=known,
    )
