"""Sizes and heights of luminaires: pendants, chandeliers, rows, heads below."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from designkit.errors import InputError
from designkit.lighting.lamps import LitLamp
from designkit.lighting.point import Source, direct_illuminance
from designkit.lighting.shell import Shell, opening_line
from designkit.model import Finding, Home, Verdict
from designkit.plan.place import Placed
from designkit.reference import value
from designkit.units import short_length

__all__ = [
    "Wash",
    "chandelier_diameter",
    "fixture_findings",
    "pendant_diameters",
    "pendant_heights",
    "row_positions",
    "wash",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class Wash:
    """Direct light of a row of lamps on an upright band."""

    mean: float  # [lx]
    least: float
    most: float
    least_across: float  # least of the means of upright strips

    @property
    def uniformity(self) -> float:
        """Least over mean of the whole band; 0 where no light arrives. [1]"""
        return self.least / self.mean if self.mean else 0.0

    @property
    def across(self) -> float:
        """Least over mean from side to side, each strip taken over its height. [1]

        Spacing changes this one. How the light falls off towards the hem does
        not depend on spacing, and is in `uniformity` only.
        """
        return self.least_across / self.mean if self.mean else 0.0


def pendant_heights(
    ceiling: float, *, overrides: Mapping[str, float] | None = None
) -> tuple[float, float]:
    """Underside of a pendant above a table top, least and most.

    Common practice: 30 to 36 in under an 8 ft ceiling, 3 in more for each foot
    that the ceiling is higher.

    Parameters
    ----------
    ceiling : float
        Ceiling above the floor. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float
        Least and most height above the top. [m]

    Raises
    ------
    InputError
        The ceiling is not above 0.

    Examples
    --------
    >>> [round(h / 0.0254, 6) for h in pendant_heights(9 * 0.3048)]
    [33.0, 39.0]
    """
    if not (math.isfinite(ceiling) and ceiling > 0):
        raise InputError("ceiling", given=f"{ceiling:g} m", allowed="more than 0 m")
    over = max(0.0, ceiling - value("light.pendant.ceiling", overrides))
    rise = over * value("light.pendant.rise", overrides)
    return (
        value("light.pendant.low", overrides) + rise,
        value("light.pendant.high", overrides) + rise,
    )


def pendant_diameters(
    table_width: float, *, overrides: Mapping[str, float] | None = None
) -> tuple[float, float]:
    """Diameter of a pendant over a table, least and most.

    Parameters
    ----------
    table_width : float
        Shorter side of the table, or its diameter. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float
        Half and two thirds of it. [m]

    Raises
    ------
    InputError
        The width is not above 0.

    Examples
    --------
    >>> [round(d, 2) for d in pendant_diameters(0.9)]
    [0.45, 0.6]
    """
    if not (math.isfinite(table_width) and table_width > 0):
        raise InputError("table width", given=f"{table_width:g} m", allowed="more than 0 m")
    return (
        table_width * value("light.pendant.narrow", overrides),
        table_width * value("light.pendant.wide", overrides),
    )


def chandelier_diameter(
    length: float, *, width: float, overrides: Mapping[str, float] | None = None
) -> float:
    """Diameter of a chandelier from the zone that it stands over.

    Common practice: as many inches as the zone has feet of length plus width.
    The zone is the dining or the seating area, not an open-plan room.

    Parameters
    ----------
    length, width : float
        Sides of the zone. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Diameter. [m]

    Raises
    ------
    InputError
        A side is not above 0.

    Examples
    --------
    >>> round(chandelier_diameter(20 * 0.3048, width=16 * 0.3048) / 0.0254, 6)
    36.0
    """
    for what, side in (("length", length), ("width", width)):
        if not (math.isfinite(side) and side > 0):
            raise InputError(f"{what} of the zone", given=f"{side:g} m", allowed="more than 0 m")
    return (length + width) * value("light.chandelier.diameter", overrides)


def row_positions(length: float, *, count: int) -> tuple[float, ...]:
    """Where lamps of a row hang, evenly, with half a step at each end.

    Parameters
    ----------
    length : float
        What the row washes, as the width of a window. [m]
    count : int
        Number of lamps.

    Returns
    -------
    tuple of float
        Distances from one end. [m]

    Raises
    ------
    InputError
        The length is not above 0, or there is no lamp.

    Examples
    --------
    >>> row_positions(3.0, count=3)
    (0.5, 1.5, 2.5)
    """
    if not (math.isfinite(length) and length > 0):
        raise InputError("length", given=f"{length:g} m", allowed="more than 0 m")
    if count < 1:
        raise InputError("count", given=count, allowed="1 or more")
    return tuple(length * (i + 0.5) / count for i in range(count))


def wash(
    sources: Sequence[Source],
    *,
    start: tuple[float, float],
    end: tuple[float, float],
    low: float,
    high: float,
    normal: tuple[float, float],
) -> Wash:
    """Direct light of a row of lamps on an upright band, as drawn drapery.

    Parameters
    ----------
    sources : sequence of Source
        The lamps.
    start, end : tuple of float
        Ends of the band on the plan. [m]
    low, high : float
        Its lower and upper edge. [m]
    normal : tuple of float
        Unit normal on the plan, towards the lamps.

    Returns
    -------
    Wash
        Mean, least and most of a grid of about 10 cm.

    Raises
    ------
    InputError
        The band has no length or no height.
    """
    length = math.dist(start, end)
    if not length > 0 or not high > low:
        raise InputError("band", given=f"{length:g} × {high - low:g} m", allowed="more than 0 m")
    n, m = max(3, round(length / 0.1)), max(3, round((high - low) / 0.1))
    s = (np.arange(n) + 0.5) / n
    z = low + (high - low) * (np.arange(m) + 0.5) / m
    line = np.asarray(start) + s[:, None] * (np.asarray(end) - np.asarray(start))
    points = np.column_stack([np.repeat(line, m, axis=0), np.tile(z, n)])
    lux = direct_illuminance(sources, points=points, normal=(*normal, 0.0)).sum(axis=0)
    return Wash(
        mean=float(lux.mean()),
        least=float(lux.min()),
        most=float(lux.max()),
        least_across=float(lux.reshape(n, m).mean(axis=1).min()),
    )


def fixture_findings(
    home: Home,
    *,
    lamps: Mapping[str, LitLamp],
    placed: Mapping[str, Placed],
    shells: Mapping[str, Shell],
) -> tuple[Finding, ...]:
    """What the hanging luminaires of a layout say about their size and height.

    Parameters
    ----------
    home : Home
        The home.
    lamps : mapping of str to LitLamp
        The lamps of the layout.
    placed : mapping of str to Placed
        Its pieces.
    shells : mapping of str to Shell
        The rooms.

    Returns
    -------
    tuple of Finding
        Heights and diameters over tables, chandeliers and their zones, heads
        under lamps, rows before windows.
    """
    found: list[Finding] = []
    for lamp in lamps.values():
        if not lamp.hangs:
            continue
        under = _table_under(lamp, placed)
        if under is not None:
            found += _over_table(home, lamp, under, shells[lamp.room])
        if lamp.fixture.kind == "chandelier":
            found += _chandelier(home, lamp, under, placed, shells)
        found += _heads(home, lamp, placed)
    for row in _rows(home, lamps, shells):
        found.append(row)
    return tuple(found)


def _table_under(lamp: LitLamp, placed: Mapping[str, Placed]) -> Placed | None:
    if lamp.lamp.over:
        thing = placed[lamp.lamp.over]
        return thing if thing.piece.kind in ("dining table", "desk", "counter") else None
    point = shapely.Point(lamp.at)
    for thing in placed.values():
        if thing.piece.kind in ("dining table", "counter") and thing.footprint.contains(point):
            return thing
    return None


def _over_table(home: Home, lamp: LitLamp, table: Placed, shell: Shell) -> list[Finding]:
    say = partial(short_length, units=home.units)
    low, high = pendant_heights(shell.room.height, overrides=home.rules)
    gap = lamp.base - table.top
    fits = low - 1e-6 <= gap <= high + 1e-6
    name = table.piece.name
    given = lamp.lamp.base is not None
    verdict: Verdict = "measure first" if not given else "passes" if fits else "fails"
    if given and fits:
        mend = ""
    elif given:
        mend = f"Hang it at {say(table.top + (low if gap < low else high))}."
    else:
        mend = f"Write its height: {say(table.top + low)} to {say(table.top + high)}."
    rows = [
        Finding(
            what=f"{lamp.fixture.name} above {name}",
            measured=gap,
            required=low if gap < low else high if gap > high else low,
            verdict=verdict,
            severity="note",
            rule="light.pendant.low" if gap < low or fits else "light.pendant.high",
            why=f"{say(lamp.base)} − {say(table.top)} = {say(gap)}; {say(low)} to {say(high)} "
            f"under a ceiling of {say(shell.room.height)}"
            + ("" if given else "; its height is not given, the usual one is taken"),
            mend=mend,
            about=(lamp.id, table.id),
            at=lamp.at,
        )
    ]
    if lamp.fixture.kind == "pendant" and abs(lamp.fixture.size[0] - lamp.fixture.size[1]) < 0.01:
        small, big = pendant_diameters(
            min(table.piece.size[0], table.piece.size[1]), overrides=home.rules
        )
        wide = lamp.fixture.size[0]
        fits = small - 1e-6 <= wide <= big + 1e-6
        rows.append(
            Finding(
                what=f"Diameter of {lamp.fixture.name} over {name}",
                measured=wide,
                required=small if wide < small or fits else big,
                verdict="passes" if fits else "fails",
                severity="note",
                rule="light.pendant.narrow" if wide < small or fits else "light.pendant.wide",
                why=f"Ø {say(wide)}; half to two thirds of the table's width is "
                f"{say(small)} to {say(big)}; smaller ones may hang in a row",
                mend="" if fits else f"Look for Ø {say(small)} to {say(big)}.",
                about=(lamp.id, table.id),
                at=lamp.at,
            )
        )
    return rows


def _zone(
    home: Home,
    lamp: LitLamp,
    table: Placed | None,
    placed: Mapping[str, Placed],
    shells: Mapping[str, Shell],
) -> tuple[float, float, str] | None:
    """Sides of the zone that a chandelier stands over, and its name."""
    shell = shells[lamp.room]
    area: BaseGeometry
    if table is not None:
        near = value("light.chandelier.near_table", home.rules)
        chairs = [p.footprint for p in placed.values() if p.host == table.id]
        area = table.footprint.buffer(near, join_style="mitre") if chairs else table.footprint
        area = shapely.union_all([area, *chairs])
        words = "the table with its chairs in use" if chairs else "the table"
    else:
        # One seating group: seats that are nearer to each other than a passage.
        seats = [
            p.footprint
            for p in placed.values()
            if p.piece.kind in ("sofa", "armchair", "daybed")
            and shell.outline.contains(p.footprint.centroid)
        ]
        if seats:
            area, words = shapely.union_all(seats), "the seating area"
        elif len(shell.joined) == 1 and _is_rectangle(shell.outline):
            area, words = shell.outline, "the room"
        else:
            return None
    box = shapely.get_coordinates(area.minimum_rotated_rectangle)
    return math.dist(box[0], box[1]), math.dist(box[1], box[2]), words


def _is_rectangle(outline: Polygon) -> bool:
    return bool(outline.area > 0.99 * outline.minimum_rotated_rectangle.area)


def _chandelier(
    home: Home,
    lamp: LitLamp,
    table: Placed | None,
    placed: Mapping[str, Placed],
    shells: Mapping[str, Shell],
) -> list[Finding]:
    zone = _zone(home, lamp, table, placed, shells)
    wide = max(lamp.fixture.size[0], lamp.fixture.size[1])
    what = f"Diameter of {lamp.fixture.name}"
    if zone is None:
        return [
            Finding(
                what=what,
                measured=wide,
                required=None,
                verdict="measure first",
                severity="note",
                rule="light.chandelier.diameter",
                why="the rule is meant for a dining or seating area; "
                "this room is open and no such area is drawn under the lamp",
                mend="Place the seats or the table that it belongs to.",
                about=(lamp.id,),
                at=lamp.at,
            )
        ]
    say = partial(short_length, units=home.units)
    length, width, words = zone
    wanted = chandelier_diameter(length, width=width, overrides=home.rules)
    within = value("light.chandelier.within", home.rules) * wanted
    fits = abs(wide - wanted) <= within
    return [
        Finding(
            what=what,
            measured=wide,
            required=wanted,
            within=within,
            verdict="passes" if fits else "fails",
            severity="note",
            rule="light.chandelier.diameter",
            why=f"{words}: ({say(length)} + {say(width)}) ÷ 12 = {say(wanted)}, "
            f"give or take {say(within)}; this one is {say(wide)}",
            mend="" if fits else f"Look for about {say(wanted)}.",
            about=(lamp.id, *((table.id,) if table else ())),
            at=lamp.at,
        )
    ]


def _heads(home: Home, lamp: LitLamp, placed: Mapping[str, Placed]) -> list[Finding]:
    """A hanging lamp that nothing keeps people from walking into."""
    height = value("light.pendant.stands_under", home.rules)
    tops = [
        p.footprint
        for p in placed.values()
        if height <= p.top <= lamp.base + 1e-9 and p.base < height
    ]
    open_part = lamp.body.footprint.difference(shapely.union_all(tops).buffer(0.02))
    # A rim that overhangs the table by less than a fifth is not walked into.
    free = open_part.area > 0.2 * lamp.body.footprint.area
    if not free:
        return []
    say = partial(short_length, units=home.units)
    wanted = value("plan.height.pendant_free", home.rules)
    verdict: Verdict = "passes" if lamp.base >= wanted - 1e-9 else "fails"
    return [
        Finding(
            what=f"Headroom under {lamp.fixture.name}",
            measured=lamp.base,
            required=wanted,
            verdict=verdict,
            severity="tight",
            rule="plan.height.pendant_free",
            why=f"it hangs over open floor at {say(lamp.base)}; {say(wanted)} where people walk",
            mend="" if verdict == "passes" else f"Raise it to {say(wanted)}, or put a table under.",
            about=(lamp.id,),
            at=lamp.at,
        )
    ]


def _rows(home: Home, lamps: Mapping[str, LitLamp], shells: Mapping[str, Shell]) -> list[Finding]:
    """Three or more pendants in a row before a window wash its drapery."""
    found = []
    reach = value("light.wash.distance", home.rules)
    wanted = value("light.wash.uniformity", home.rules)
    for oid, opening in home.openings.items():
        if opening.kind not in ("window", "balcony") or opening.room not in shells:
            continue
        room = home.rooms[opening.room]
        start, end, inward = opening_line(opening, room)
        along = (end - start) / opening.width
        row = []
        for lamp in lamps.values():
            if not lamp.hangs or lamp.room != opening.room or not lamp.sources:
                continue
            by = np.asarray(lamp.at) - start
            if 0 < by @ inward <= reach and 0 <= by @ along <= opening.width:
                row.append(lamp)
        if len(row) < 3:
            continue
        light = wash(
            [s for lamp in row for s in lamp.sources],
            start=(float(start[0]), float(start[1])),
            end=(float(end[0]), float(end[1])),
            low=opening.sill,
            high=opening.head,
            normal=(float(inward[0]), float(inward[1])),
        )
        even = light.across >= wanted
        steps = row_positions(opening.width, count=len(row))
        found.append(
            Finding(
                what=f"{len(row)} lamps in a row before {opening.name or 'the window'}",
                measured=light.across,
                required=wanted,
                unit="1",
                verdict="passes" if even else "fails",
                severity="note",
                rule="light.wash.uniformity",
                why=f"direct light on the drapery, mean {light.mean:.0f} lx; dimmest strip ÷ mean "
                f"from side to side = {light.across:.2f} ({wanted:g} is our assumption); over the "
                f"whole height, hem to heading, it is {light.uniformity:.2f}",
                mend=""
                if even
                else "Even steps from the left end: "
                + ", ".join(f"{s:.2f}" for s in steps)
                + " m; or hang them farther from the window.",
                about=(oid, *(lamp.id for lamp in row)),
            )
        )
    return found
