"""Wallcovering: strip by strip round the real walls and openings.

The walls are unfolded from the starting line onwards. A strip is as high as
what it has to cover: a strip that lies wholly over a door is the short piece
above it. Lengths, not areas, are cut from rolls; the area method of the trade
stands beside as a sanity band.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import (
    FOOT,
    INCH,
    System,
    area_text,
    length_text,
    positive,
    whole,
)
from designkit.takeoff.rolls import Cutting, Match, Strip, cut_rolls, pitch, strips_per_roll
from designkit.takeoff.surfaces import Hole, WallFace

__all__ = [
    "ROLLS",
    "Drop",
    "Roll",
    "Run",
    "Wallcovering",
    "drops",
    "rolls_by_area",
    "rolls_by_drops",
    "usable_area",
    "wallcovering",
]


@dataclass(frozen=True, kw_only=True)
class Roll:
    """A roll as it is made and sold. [m]"""

    width: float  # trimmed
    length: float  # in one piece
    repeat: float = 0.0
    match: Match = "free"
    singles: int = 1  # priced rolls in one piece: 2 for a double roll
    name: str = ""


ROLLS: Mapping[System, Roll] = {
    "metric": Roll(width=0.53, length=10.05, name="roll 0.53 × 10.05 m"),
    "US": Roll(width=27 * INCH, length=27 * FOOT, singles=2, name="double roll 27 in × 27 ft"),
}


@dataclass(frozen=True, kw_only=True)
class Run:
    """Walls that are hung one after the other from a starting line.

    The starting line is the left edge of the first wall. `closed`: the run
    goes all round, and the last strip meets the first at the kill point.
    """

    name: str
    faces: tuple[WallFace, ...]
    closed: bool = False
    first: float = 0.0  # width of the first strip where it is cut; 0: whole [m]


@dataclass(frozen=True, kw_only=True)
class Drop:
    """One length of wallcovering where it hangs. [m]"""

    id: str
    run: str
    number: int  # of the strip, from the starting line
    left: float  # along the unfolded walls
    right: float
    bottom: float
    top: float

    @property
    def length(self) -> float:
        """Height that it covers."""
        return self.top - self.bottom


@dataclass(frozen=True, kw_only=True, eq=False)
class Wallcovering:
    """Wallcovering of one kind to order."""

    runs: tuple[Run, ...]
    length: float  # [m] along the walls, laps in corners counted
    area: float  # [m²] net of openings
    strips: int
    full_drops: int
    drops: tuple[Drop, ...]
    cutting: Cutting
    cautious: Cutting  # every further roll begins in mid-pattern
    spare: int
    rolls: int  # to order, spare included
    order: int  # in priced (single) rolls
    by_area: tuple[int, int] | None  # sanity band, rolls, or None where it does not hold
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def _check_roll(roll: Roll) -> None:
    mend = "take it from the label of the roll"
    positive("roll width", roll.width, mend=mend)
    positive("roll length", roll.length, mend=mend)
    positive("repeat", roll.repeat, zero=True, mend=mend)
    if roll.singles < 1:
        raise InputError("singles in a roll", given=roll.singles, allowed="1 or more", mend=mend)
    if roll.match != "free" and roll.repeat == 0:
        raise InputError(
            "repeat",
            given="0 m",
            allowed=f"> 0 m for a {roll.match} match",
            mend="take it from the label, or say match=free",
        )


def rolls_by_drops(
    run: float,
    *,
    height: float,
    roll: Roll,
    trim: float | None = None,
    spare: int = 0,
    overrides: Mapping[str, float] | None = None,
) -> tuple[int, int, int]:
    """The trade's count on plain walls: drops, drops from a roll, rolls.

    Parameters
    ----------
    run : float
        Length along the walls, openings not deducted. [m]
    height : float
        Height to cover. [m]
    roll : Roll
        What is hung.
    trim : float, optional
        Added to each drop; by default `takeoff.wallcovering.trim`. [m]
    spare : int, optional
        Rolls kept.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of int
        Drops, drops from a roll, rolls with the spare.

    Raises
    ------
    InputError
        A drop is longer than a roll, or a size is not above zero.

    Examples
    --------
    >>> rolls_by_drops(18.9, height=2.76, trim=0.15, roll=Roll(width=0.535, length=10.0))
    (36, 3, 12)
    """
    _check_roll(roll)
    positive("run", run)
    extra = value("takeoff.wallcovering.trim", overrides) if trim is None else trim
    length = positive("height", height) + positive("trim", extra, zero=True)
    count = whole(run / roll.width)
    cutting = cut_rolls(
        _strips([(i, 0.0, height) for i in range(count)], roll=roll, trim=extra, top=height),
        roll_length=roll.length,
        repeat=roll.repeat,
        match=roll.match,
    )
    each = strips_per_roll(length, roll_length=roll.length, repeat=roll.repeat, match=roll.match)
    return count, each, cutting.count + spare


def usable_area(
    repeat: float, *, height: float | None = None, overrides: Mapping[str, float] | None = None
) -> float:
    """What one metric single roll usually covers, by its repeat (values D17).

    Parameters
    ----------
    repeat : float
        Pattern repeat. [m]
    height : float, optional
        Height of the wall: the table does not hold under 3 ft and over 9 ft. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Usable yield. [m²]

    Raises
    ------
    InputError
        The repeat or the height lies outside the table.

    Examples
    --------
    >>> round(usable_area(0.0) / 0.3048**2)
    25
    """
    positive("repeat", repeat, zero=True)
    if height is not None and not 3 * FOOT - 1e-9 <= height <= 9 * FOOT + 1e-9:
        raise InputError(
            "height of the wall",
            given=f"{height:.3f} m",
            allowed="3 to 9 ft (0.914 to 2.743 m)",
            mend="count strips instead of areas",
        )
    inches = repeat / INCH
    # The printed bands are whole inches: 6.5 in belongs to the next one.
    for upper in (6, 12, 18, 23):
        if inches <= upper + 1e-9:
            return value(f"takeoff.wallcovering.yield.{upper}", overrides)
    raise InputError(
        "repeat",
        given=f"{inches:.1f} in",
        allowed="0 to 23 in (0.584 m)",
        mend="count strips instead of areas",
    )


def rolls_by_area(area: float, *, usable: float) -> int:
    """Single rolls by the area method: one division, rounded up.

    Parameters
    ----------
    area : float
        Walls as the method counts them. [m²]
    usable : float
        What a roll covers. [m²]

    Returns
    -------
    int
        Rolls.

    Raises
    ------
    InputError
        An area is not above zero.

    Examples
    --------
    >>> rolls_by_area(352, usable=30), rolls_by_area(384, usable=25)
    (12, 16)
    """
    return whole(
        positive("area", area, unit="m²") / positive("usable area of a roll", usable, unit="m²")
    )


def _strips(
    pieces: Sequence[tuple[int, float, float]], *, roll: Roll, trim: float, top: float
) -> list[Strip]:
    """Strips with their phases; the pattern hangs from the ceiling line."""
    found = []
    for index, (number, bottom, upper) in enumerate(pieces):
        phase = 0.0
        if roll.repeat and roll.match != "free":
            # The cut begins half a trim above the piece's upper edge.
            phase = top - upper
            if roll.match == "half-drop" and number % 2:
                phase += roll.repeat / 2
            phase %= roll.repeat
            if roll.repeat - phase < 1e-9:
                phase = 0.0
        found.append(Strip(id=str(index), length=upper - bottom + trim, phase=phase))
    return found


def _blocked(
    holes: Sequence[Hole], left: float, right: float, height: float
) -> list[tuple[float, float]]:
    """Heights that are a hole over the whole breadth of a strip."""
    marks = sorted(
        {left, right, *(x for h in holes for x in (h.left, h.right) if left < x < right)}
    )
    common: list[tuple[float, float]] | None = None
    for low, high in itertools.pairwise(marks):
        if high - low < 1e-6:
            continue
        middle = (low + high) / 2
        here = sorted((h.sill, h.head) for h in holes if h.left <= middle <= h.right)
        merged: list[tuple[float, float]] = []
        for sill, head in here:
            if merged and sill <= merged[-1][1] + 1e-9:
                merged[-1] = (merged[-1][0], max(merged[-1][1], head))
            else:
                merged.append((sill, head))
        if common is None:
            common = merged
        else:
            common = [
                (max(a, c), min(b, d))
                for a, b in common
                for c, d in merged
                if min(b, d) - max(a, c) > 1e-9
            ]
    return [(max(0.0, a), min(height, b)) for a, b in common or []]


def drops(
    holes: Sequence[Hole],
    *,
    run: float,
    height: float,
    width: float,
    first: float = 0.0,
    name: str = "",
) -> tuple[Drop, ...]:
    """The lengths that hang, strip by strip from the starting line.

    Parameters
    ----------
    holes : sequence of Hole
        Openings on the unfolded walls.
    run : float
        Length of the unfolded walls. [m]
    height : float
        Height to cover. [m]
    width : float
        Width of a strip. [m]
    first : float, optional
        Width of the first strip, where it is cut; 0: whole. [m]
    name : str, optional
        Name of the run, kept in the drops.

    Returns
    -------
    tuple of Drop
        A strip that crosses an opening only in part is a whole drop, cut round
        the opening.

    Raises
    ------
    InputError
        A size is not above zero.

    Examples
    --------
    >>> door = Hole(id="d", kind="door", left=0.0, right=1.06, sill=0.0, head=2.1)
    >>> [round(d.length, 2) for d in drops([door], run=2.12, height=2.5, width=0.53)]
    [0.4, 0.4, 2.5, 2.5]
    """
    positive("run", run)
    positive("height", height)
    positive("roll width", width)
    found: list[Drop] = []
    left, number = 0.0, 0
    while left < run - 1e-6:
        right = min(run, left + (first if number == 0 and first > 0 else width))
        bottom = 0.0
        for sill, head in [*_blocked(holes, left, right, height), (height, height)]:
            if sill - bottom > 1e-3:
                pieces = sum(1 for d in found if d.number == number)
                found.append(
                    Drop(
                        id=f"{number + 1}{chr(ord('a') + pieces)}",
                        run=name,
                        number=number,
                        left=left,
                        right=right,
                        bottom=bottom,
                        top=sill,
                    )
                )
            bottom = max(bottom, head)
        left, number = right, number + 1
    return tuple(found)


def _unfold(faces: Sequence[WallFace], lap: float) -> tuple[list[Hole], float]:
    """Holes of a run of walls side by side; each corner takes a lap."""
    holes: list[Hole] = []
    run = 0.0
    for index, face in enumerate(faces):
        if index:
            run += lap
        holes += [
            Hole(
                id=h.id,
                kind=h.kind,
                left=run + h.left,
                right=run + h.right,
                sill=h.sill,
                head=h.head,
            )
            for h in face.holes
        ]
        run += face.length
    return holes, run


def _hang(
    run: Run, *, roll: Roll, trim: float, lap: float
) -> tuple[float, float, tuple[Drop, ...], list[Strip]]:
    """Length and height of a run, its drops and what is cut for them."""
    if not run.faces:
        raise InputError("walls", given=0, allowed="one or more", mend="name the walls")
    heights = sorted({face.height for face in run.faces})
    if heights[-1] - heights[0] > 1e-6:
        raise InputError(
            f"height of the walls, {run.name}",
            given=", ".join(f"{h:g} m" for h in heights),
            allowed="one height a run",
            mend="take each height as a run of its own",
        )
    height = positive("height of the walls", heights[0])
    holes, along = _unfold(run.faces, lap)
    if run.closed:
        along += lap
    if not 0 <= run.first <= roll.width:
        raise InputError(
            f"first strip, {run.name}",
            given=f"{run.first:g} m",
            allowed=f"0 to {roll.width:g} m, the roll",
            mend="move the starting line to another wall",
        )
    hung = drops(holes, run=along, height=height, width=roll.width, first=run.first, name=run.name)
    strips = _strips([(d.number, d.bottom, d.top) for d in hung], roll=roll, trim=trim, top=height)
    return along, height, hung, strips


def wallcovering(
    runs: Sequence[Run],
    *,
    roll: Roll,
    trim: float | None = None,
    lap: float | None = None,
    spare: int | None = None,
    cautious: bool = False,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Wallcovering:
    """Wallcovering of one kind to order; off-cuts of one run serve the others.

    Parameters
    ----------
    runs : sequence of Run
        Where it hangs.
    roll : Roll
        What is hung.
    trim : float, optional
        Added to each drop, top and bottom together; by default
        `takeoff.wallcovering.trim`. [m]
    lap : float, optional
        Taken by each corner; by default `takeoff.wallcovering.lap`. [m]
    spare : int, optional
        Rolls kept for repairs; by default `takeoff.wallcovering.spare`.
    cautious : bool, optional
        True: order as if every further roll began in mid-pattern.
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Wallcovering
        Drops where they hang, cuts where they lie on the rolls, and the order.

    Raises
    ------
    InputError
        No wall, walls of different heights in one run, nothing left to cover,
        or a drop longer than a roll.

    Examples
    --------
    >>> wall = WallFace(room="r", wall=0, length=4.0, height=2.5, finish="p", holes=())
    >>> wallcovering([Run(name="r", faces=(wall,))], roll=ROLLS["metric"], spare=0).rolls
    3
    """
    _check_roll(roll)
    ends = value("takeoff.wallcovering.trim", overrides) if trim is None else trim
    positive("trim", ends, zero=True)
    corner = value("takeoff.wallcovering.lap", overrides) if lap is None else lap
    positive("lap", corner, zero=True)
    kept = value("takeoff.wallcovering.spare", overrides) if spare is None else spare
    if kept != int(kept) or kept < 0:
        raise InputError("spare rolls", given=kept, allowed="0, 1, 2 …", mend="count whole rolls")

    def say(x: float) -> str:
        return length_text(x, system)

    why: list[str] = []
    hung: list[Drop] = []
    strips: list[Strip] = []
    length, full, count_strips, tallest = 0.0, 0, 0, 0.0
    for run in runs:
        along, height, its_drops, its_strips = _hang(run, roll=roll, trim=ends, lap=corner)
        whole_drops = sum(1 for d in its_drops if d.length > height - 1e-6)
        number = len({d.number for d in its_drops})
        short = len(its_drops) - whole_drops
        why.append(
            f"{run.name}: {say(along)} along the walls / {say(roll.width)} = "
            f"{along / roll.width:.2f}: {number} strips, {whole_drops} whole drops"
            + (f" and {short} short pieces at openings" if short else "")
        )
        why.append(f"a drop: {say(height)} + {say(ends)} trim = {say(height + ends)}")
        hung += its_drops
        strips += [
            Strip(id=f"{run.name} {d.id}", length=s.length, phase=s.phase)
            for d, s in zip(its_drops, its_strips)
        ]
        length += along
        full += whole_drops
        count_strips += number
        tallest = max(tallest, height)
    if not hung:
        raise InputError(
            "walls",
            given="nothing to cover",
            allowed="some wall beside the openings",
            mend="name the walls and check their openings",
        )

    matched = roll.match != "free"
    usual = cut_rolls(strips, roll_length=roll.length, repeat=roll.repeat, match=roll.match)
    worst = usual
    longest = max(s.length for s in strips)
    if matched:
        # A roll begins anywhere in its pattern: at worst it loses almost a repeat.
        worst = cut_rolls(
            strips,
            roll_length=roll.length,
            repeat=roll.repeat,
            match=roll.match,
            head_loss=min(roll.repeat, roll.length - longest),
        )
        step = pitch(longest, repeat=roll.repeat, match=roll.match)
        why.append(
            f"{roll.match} match, repeat {say(roll.repeat)}: {longest / roll.repeat:.2f} repeats, "
            f"a drop takes {say(step)} of the roll"
        )
    each = strips_per_roll(longest, roll_length=roll.length, repeat=roll.repeat, match=roll.match)
    why.append(
        f"{each} whole drops from {say(roll.length)}; all pieces cut from {usual.count} rolls, "
        + ("no cutting needs fewer" if usual.proven else f"at least {usual.bound} are needed")
    )
    if worst.count != usual.count:
        why.append(f"if every further roll begins in mid-pattern: {worst.count} rolls")
    count = (worst if cautious else usual).count + int(kept)
    if kept:
        why.append(f"+ {int(kept)} spare of the same dye lot = {count} rolls")
    if roll.singles > 1:
        why.append(f"{count} × {roll.singles} = {count * roll.singles} single rolls as priced")
    area = sum(face.net for run in runs for face in run.faces)
    band = None
    if 3 * FOOT <= tallest <= 9 * FOOT + 1e-9 and roll.repeat <= 23 * INCH + 1e-9:
        gross = sum(face.gross for run in runs for face in run.faces)
        # The table is for a metric single roll: scaled to the area of this one.
        scale = roll.width * roll.length / value("takeoff.wallcovering.roll_area", overrides)
        usable = usable_area(roll.repeat, overrides=overrides) * scale
        band = (rolls_by_area(area, usable=usable), rolls_by_area(gross, usable=usable))
        why.append(
            f"beside it, the area method: {area_text(area, system)} net or "
            f"{area_text(gross, system)} gross at {area_text(usable, system)} a roll: "
            f"{band[0]} to {band[1]} rolls"
        )
    cautions = [
        "One dye lot; keep the labels; look at every roll before the first cut.",
        "Hang from a plumb line. The pattern does not meet at the kill point"
        + (
            ", where a run all round ends: choose the corner that is seen least."
            if any(run.closed for run in runs)
            else ": the end of the run."
        ),
        "Old paper or paint in a home that is old or of unknown year is not stripped or sanded "
        "before a sample and its written result.",
    ]
    return Wallcovering(
        runs=tuple(runs),
        length=length,
        area=area,
        strips=count_strips,
        full_drops=full,
        drops=tuple(hung),
        cutting=usual,
        cautious=worst,
        spare=int(kept),
        rolls=count,
        order=count * roll.singles,
        by_area=band,
        why=tuple(why),
        rules=(
            "takeoff.wallcovering.trim",
            "takeoff.wallcovering.lap",
            "takeoff.wallcovering.spare",
        ),
        cautions=tuple(cautions),
    )
