"""What a walk says about itself: diagonals, columns outside, what is still to measure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon

from designkit.errors import InputError
from designkit.model import Column, Known, Point
from designkit.plan.measure import combined
from designkit.plan.survey_items import OVERHEAD, SurveyService, corner
from designkit.plan.survey_text import SurveyOpening
from designkit.reference import value
from designkit.units import in_sentence, read

__all__ = ["Diagonal", "SurveyWall", "columns_inside", "diagonal", "to_measure"]


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


def _say(length: float, units: str) -> str:
    return in_sentence(round(length, 6), units=units)


def diagonal(
    walls: Sequence[SurveyWall],
    *,
    outline: Sequence[Point],
    given: tuple[int, int, str | float],
    units: str,
    overrides: Mapping[str, float] | None = None,
) -> Diagonal:
    """Hold a measured diagonal against the drawing.

    Parameters
    ----------
    walls : sequence of SurveyWall
        In order.
    outline : sequence of Point
        Corners as drawn. [m]
    given : tuple
        Two corners and the measured distance.
    units : str
        Unit of a bare number.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Diagonal
        Whether it agrees, and why.

    Raises
    ------
    InputError
        There is no such corner, or the distance is no length.
    """
    a, b, text = given
    for end in (a, b):
        if not 0 <= end < len(outline):
            raise InputError(
                "corner of a diagonal", given=end, allowed=f"0 to {len(outline) - 1}",
                mend="corners count from 0, where the walk begins",
            )  # fmt: skip
    if a == b:
        raise InputError("diagonal", given=f"{a} to {b}", allowed="two corners", mend="name two")
    measured = read(text, units=units, what="diagonal")
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
        f"Corner {corner(a)} to corner {corner(b)}: {_say(measured, units)} measured, "
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
                meant = math.degrees(math.acos(cosine))
                drawn = math.degrees(math.acos(max(-1, min(1, now))))
                return (
                    f" It would be so with {meant:.1f}° at corner {corner(middle)}, "
                    f"drawn with {drawn:.1f}°."
                )
    return " Measure it again, and the walls beside it."


def to_measure(
    walls: Sequence[SurveyWall],
    *,
    openings: Sequence[SurveyOpening],
    services: Sequence[SurveyService],
    diagonals: Sequence[Diagonal],
    height: tuple[float | None, Known],
    units: str,
) -> tuple[str, ...]:
    """What nobody has measured, in the order of a walk round the room.

    Parameters
    ----------
    walls : sequence of SurveyWall
        In order.
    openings, services : sequence
        As measured in the walls.
    diagonals : sequence of Diagonal
        As held against the drawing.
    height : tuple of float or None, and Known
        Floor to ceiling, and how it is known. [m]
    units : str
        The project's unit of length.

    Returns
    -------
    tuple of str
        One a measurement.
    """
    found = []
    for wall in walls:
        if not wall.measured:
            found.append(f"wall {wall.index + 1} ({wall.said}): now {_say(wall.length, units)}")
        elif wall.known.source != "measured":
            found.append(f"wall {wall.index + 1} ({wall.said}): known from {wall.known.source}")
        here = [one for one in openings if one.wall == wall.index]
        for one in sorted(here, key=lambda one: one.offset):
            found += _missing(one)
        for service in services:
            there = service.wall == wall.index and service.kind not in OVERHEAD
            if there and service.height is None:
                name = service.name or f"{service.kind} at wall {wall.index + 1}"
                found.append(f"{name}: height above the floor")
    if height[0] is None:
        found.append("height from the floor to the ceiling")
    elif height[1].source != "measured":
        found.append(f"height from the floor to the ceiling: known from {height[1].source}")
    if not diagonals and len(walls) >= 4:
        found.append("a diagonal, to see whether the corners are square")
    found += [
        f"diagonal {corner(d.corners[0])} to {corner(d.corners[1])} again"
        for d in diagonals
        if not d.agrees
    ]
    return tuple(found)


def _missing(one: SurveyOpening) -> list[str]:
    name = one.name or f"{one.kind} in wall {one.wall + 1}"
    found = []
    if one.known.source != "measured":
        found.append(f"{name}: known from {one.known.source}")
    heights = (("sill", one.sill), ("head", one.head))
    missing = [word for word, number in heights if number is None]
    if missing:
        found.append(f"{name}: {' and '.join(missing)} above the floor")
    if one.kind in ("door", "passage") and one.thickness is None:
        found.append(f"{name}: thickness of the wall")
    if one.kind == "door" and one.hinge is None:
        found.append(f"{name}: side of the hinges")
    return found


def columns_inside(columns: Sequence[Column], *, room: Polygon) -> list[InputError]:
    """Columns whose middle lies outside the room.

    Parameters
    ----------
    columns : sequence of Column
        In the frame of the room.
    room : Polygon
        Its outline. [m]

    Returns
    -------
    list of InputError
        One a column.
    """
    return [
        InputError(
            "column",
            given=f"its middle {room.exterior.distance(ShapelyPoint(one.at)):.2f} m outside",
            allowed="within the walls",
            mend="measure it again from the corner, and out from the wall",
        )
        for one in columns
        if not room.buffer(1e-6).covers(ShapelyPoint(one.at))
    ]
