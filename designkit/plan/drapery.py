"""Drapery in plan and elevation: the track, the stacks when open, the cloth when closed.

Two states count, open for the view and closed for the night. Quantities of
cloth belong to `designkit.takeoff`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import Polygon

from designkit.errors import InputError
from designkit.model import Drape, Opening, Point
from designkit.reference import value

__all__ = ["Curtain", "Drapery", "drapery", "fullness_band", "hem"]

State = Literal["open", "part", "closed"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Curtain:
    """One hanging of a drape in one state: a prism of folded cloth."""

    side: Literal["left", "right"]
    footprint: Polygon
    base: float  # [m]
    top: float  # [m]
    start: float  # [m] along the wall from its first corner
    end: float
    hides: float  # [m] of the glass width


@dataclass(frozen=True, kw_only=True, eq=False)
class Drapery:
    """The geometry of a drape at its opening.

    Left and right are seen from inside the room, facing the opening.
    """

    track: tuple[Point, Point]  # middle of the track in plan, left end first
    track_start: float  # [m] along the wall as written
    track_end: float
    states: Mapping[str, tuple[Curtain, ...]]
    stack: float  # [m] all stacks together, open
    hidden_open: float  # [m] of the glass width that open drapery hides
    share_hidden_open: float
    uncovered_closed: float  # [m] of the opening's width that a closed drape leaves bare
    track_to_clear: float  # [m] track on which open drapery would hide no glass
    fullness: float  # [1]
    fullness_band: tuple[float, float]
    fullness_in_band: bool
    hem: float  # [m] above the floor; 0 where the cloth reaches it
    on_floor: float  # [m] cloth that lies on the floor
    drop: float  # [m] finished length of the cloth
    why: str
    rule: str


def fullness_band(
    heading: str, *, overrides: Mapping[str, float] | None = None
) -> tuple[float, float]:
    """Usual fullness of a heading, lowest and highest.

    Parameters
    ----------
    heading : str
        wave, pinch, pencil, eyelet, tab or sheer.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float
        Width of cloth over width covered. [1]

    Raises
    ------
    InputError
        There is no such heading.

    Examples
    --------
    >>> fullness_band("wave")
    (1.8, 2.2)
    """
    known = ("wave", "pinch", "pencil", "eyelet", "tab", "sheer")
    if heading not in known:
        raise InputError("heading", given=heading, allowed=", ".join(known))
    low = value(f"plan.drapery.fullness.{heading}.low", overrides)
    high = value(f"plan.drapery.fullness.{heading}.high", overrides)
    return low, high


def hem(kind: str, *, overrides: Mapping[str, float] | None = None) -> tuple[float, float]:
    """Height of a hem above the floor and the cloth that lies on it.

    Parameters
    ----------
    kind : str
        clear, kissing, break or puddle.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float
        Height, and length on the floor. [m]

    Raises
    ------
    InputError
        There is no such hem.

    Examples
    --------
    >>> hem("break")
    (0.0, 0.025)
    """
    if kind == "clear":
        return value("plan.drapery.hem_clear", overrides), 0.0
    if kind == "kissing":
        return 0.0, 0.0
    if kind in ("break", "puddle"):
        return 0.0, value(f"plan.drapery.hem_{kind}", overrides)
    raise InputError("hem", given=kind, allowed="clear, kissing, break, puddle")


def drapery(
    drape: Drape,
    *,
    opening: Opening,
    wall: tuple[Point, Point],
    inward: Point,
    ceiling: float,
    drawn: float = 0.5,
    overrides: Mapping[str, float] | None = None,
) -> Drapery:
    """Where a drape hangs, open, half drawn and closed.

    Parameters
    ----------
    drape : Drape
        As drawn in a layout.
    opening : Opening
        That it hangs at; its width counts as the glass. [m]
    wall : (Point, Point)
        The two corners of its wall, as written in the room's outline. [m]
    inward : Point
        Direction from the wall into the room.
    ceiling : float
        Height of the room. [m]
    drawn : float, optional
        Share of the way from open to closed in the state "part". [1]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Drapery
        Prisms of cloth by state, what they hide of the glass, and the hem.

    Raises
    ------
    InputError
        The track does not fit the wall, a size is not positive, or the stacks
        are longer than the track.

    Notes
    -----
    Stack-back is a share of the glass width, split by the draw (common
    practice, no source). The hem is measured left, centre and right after the
    floor and the track are in.

    Examples
    --------
    >>> window = Opening(room="living", wall=0, offset=1, width=3, head=2.4, kind="window")
    >>> cloth = Drape(opening="window", finish="linen", track=4.0)
    >>> found = drapery(
    ...     cloth, opening=window, wall=((0, 0), (5, 0)), inward=(0, 1), ceiling=2.7
    ... )
    >>> round(found.stack, 3), round(found.hidden_open, 3), found.hem
    (1.0, 0.0, 0.0125)
    """
    numbers = {
        "wall": (*wall[0], *wall[1]),
        "inward": inward,
        "ceiling": (ceiling,),
        "track": (drape.track,),
        "opening": (opening.offset, opening.width, opening.sill, opening.head),
    }
    for what, given in numbers.items():
        if not all(math.isfinite(v) for v in given):
            raise InputError(f"drapery, {what}", given=given, allowed="finite numbers")
    if opening.width <= 0:
        raise InputError("window width", given=f"{opening.width} m", allowed="> 0 m")
    if drape.track <= 0:
        raise InputError("track", given=f"{drape.track} m", allowed="> 0 m")
    if not 0 <= drawn <= 1:
        raise InputError("drawn", given=drawn, allowed="0 to 1")
    length = math.dist(*wall)
    size = math.hypot(*inward)
    if length <= 0 or size <= 0:
        raise InputError("wall of a drape", given=wall, allowed="two corners and a way inward")
    along = ((wall[1][0] - wall[0][0]) / length, (wall[1][1] - wall[0][1]) / length)
    into = (inward[0] / size, inward[1] / size)
    if abs(along[0] * into[0] + along[1] * into[1]) > 1e-6:
        raise InputError("inward", given=inward, allowed="square to the wall")
    # Facing the wall from inside, the wall runs from left to right or back.
    to_right = along[0] * into[1] - along[1] * into[0] < 0
    glass = (opening.offset, opening.offset + opening.width)
    start = (
        (glass[0] + glass[1] - drape.track) / 2
        if drape.track_offset is None
        else drape.track_offset
    )
    end = start + drape.track
    if start < -1e-9 or end > length + 1e-9:
        raise InputError(
            "track",
            given=f"{start:.3f} to {end:.3f} m along the wall",
            allowed=f"0 to {length:.3f} m",
            mend="shorten the track or move its start",
        )
    top = ceiling if drape.top is None else drape.top
    base, on_floor = hem(drape.hem, overrides=overrides)
    if not base < top <= ceiling + 1e-9:
        raise InputError(
            "top of the drape", given=f"{top} m", allowed=f"over the hem, up to {ceiling} m"
        )
    band = fullness_band(drape.heading, overrides=overrides)
    fullness = sum(band) / 2 if drape.fullness is None else drape.fullness
    if not math.isfinite(fullness) or fullness < 1:
        raise InputError("fullness", given=fullness, allowed="1 or more")
    share = value("plan.drapery.stack", overrides)
    stack = share * opening.width
    if stack > drape.track + 1e-9:
        raise InputError(
            "track",
            given=f"{drape.track} m",
            allowed=f"over its stack of {stack:.3f} m",
            mend="make the track as wide as the glass and the stack",
        )
    # In terms of "first" and "last" end along the wall as written.
    first: Literal["left", "right"] = "left" if to_right else "right"
    last: Literal["left", "right"] = "right" if to_right else "left"
    hangs: list[tuple[Literal["left", "right"], bool, float, float]] = []
    if drape.draw == "pair":
        hangs = [
            (first, True, stack / 2, drape.track / 2),
            (last, False, stack / 2, drape.track / 2),
        ]
    else:
        hangs = [(drape.draw, drape.draw == first, stack, drape.track)]
    offset = value("plan.drapery.track_offset", overrides)
    depths = {
        "open": value("plan.drapery.depth_open", overrides),
        "closed": value("plan.drapery.depth_closed", overrides),
    }
    shares: dict[str, float] = {"open": 0.0, "part": drawn, "closed": 1.0}
    states: dict[str, tuple[Curtain, ...]] = {}
    for state, part in shares.items():
        depth = depths["open"] + part * (depths["closed"] - depths["open"])
        curtains: list[Curtain] = []
        for side, at_start, least, most in hangs:
            size = least + part * (most - least)
            low, high = (start, start + size) if at_start else (end - size, end)
            curtains.append(
                Curtain(
                    side=side,
                    footprint=_strip(wall[0], along, into, (low, high), offset, depth),
                    base=base,
                    top=top,
                    start=low,
                    end=high,
                    hides=max(0.0, min(high, glass[1]) - max(low, glass[0])),
                )
            )
        states[state] = tuple(sorted(curtains, key=lambda c: c.side))
    hidden = sum(c.hides for c in states["open"])
    covered = max(0.0, min(end, glass[1]) - max(start, glass[0]))
    ends = [
        (
            wall[0][0] + s * along[0] + offset * into[0],
            wall[0][1] + s * along[1] + offset * into[1],
        )
        for s in (start, end)
    ]
    if not to_right:
        ends.reverse()
    split = "half at each end" if drape.draw == "pair" else f"all at the {drape.draw}"
    return Drapery(
        track=(ends[0], ends[1]),
        track_start=start,
        track_end=end,
        states=states,
        stack=stack,
        hidden_open=hidden,
        share_hidden_open=hidden / opening.width,
        uncovered_closed=opening.width - covered,
        track_to_clear=opening.width + stack,
        fullness=fullness,
        fullness_band=band,
        fullness_in_band=band[0] - 1e-9 <= fullness <= band[1] + 1e-9,
        hem=base,
        on_floor=on_floor,
        drop=top - base + on_floor,
        why=f"stack {share:.2f} × {opening.width:.2f} m of glass = {stack:.2f} m, {split}; "
        f"open it hides {hidden:.2f} m of the glass",
        rule="plan.drapery.stack",
    )


def _strip(
    origin: Point,
    along: Point,
    into: Point,
    span: tuple[float, float],
    offset: float,
    depth: float,
) -> Polygon:
    """A rectangle along the wall; folds do not go through the wall."""
    near, far = max(0.0, offset - depth / 2), offset + depth / 2
    corners = ((span[0], near), (span[1], near), (span[1], far), (span[0], far))
    return Polygon(
        [
            (origin[0] + s * along[0] + d * into[0], origin[1] + s * along[1] + d * into[1])
            for s, d in corners
        ]
    )
