"""Rugs: sized to the group that stands on them, and sewn from stock sizes."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import System, area_text, length_text, positive

__all__ = ["Panel", "RugSize", "SewnRug", "StockRug", "door_clears", "rug_size", "sewn_rugs"]

Use = Literal["dining", "sitting"]


@dataclass(frozen=True, kw_only=True, eq=False)
class RugSize:
    """Sizes of rug that suit a group in a room. [m]"""

    least: tuple[float, float]  # width, depth: what the group needs
    most: tuple[float, float]  # what the room leaves with a margin of bare floor
    fits: bool
    why: tuple[str, ...]
    rules: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StockRug:
    """A rug that is sold ready made. [m]"""

    name: str
    width: float
    length: float
    price: float | None = None


@dataclass(frozen=True, kw_only=True)
class Panel:
    """A stock rug where it lies in a sewn one. [m]"""

    rug: StockRug
    x: float
    width: float  # across the seams
    turned: bool  # its length lies across


@dataclass(frozen=True, kw_only=True, eq=False)
class SewnRug:
    """One large rug from stock sizes, all seams parallel. [m]"""

    panels: tuple[Panel, ...]
    width: float  # across the seams, before it is cut to size
    length: float
    seams: int
    seam_length: float
    area: float  # bought [m²]
    waste: float  # share of the bought area that is cut away
    price: float | None  # of the rugs alone
    why: tuple[str, ...]
    cautions: tuple[str, ...]


def rug_size(
    group: tuple[float, float],
    *,
    room: tuple[float, float],
    use: Use = "sitting",
    small_room: bool = False,
    beyond: float | None = None,
    margin: float | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> RugSize:
    """Least and greatest rug for a group of furniture (values D32).

    Parameters
    ----------
    group : tuple of float
        Width and depth of the table, or of the seats' front legs. [m]
    room : tuple of float
        Clear floor in the same directions. [m]
    use : {"dining", "sitting"}, optional
        A dining rug also holds the chairs when they are pulled out.
    small_room : bool, optional
        True: the narrow margin of small rooms.
    beyond : float, optional
        Beyond the group on each side; by default `takeoff.rug.beyond_table`, or
        `takeoff.rug.beyond_seats`. [m]
    margin : float, optional
        Bare floor to the wall; by default `takeoff.rug.margin.low`, or
        `takeoff.rug.margin.small`. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    RugSize
        `fits` is False where the room is too small for both.

    Raises
    ------
    InputError
        Unknown use, or a size that is not above zero.

    Examples
    --------
    >>> rug_size((1.8, 0.9), room=(4.0, 3.6), use="dining").least
    (3.02, 2.12)
    """
    if use not in get_args(Use):
        raise InputError("use", given=use, allowed=", ".join(get_args(Use)), mend="use one of them")
    for name, size in (("group", group), ("room", room)):
        for side in size:
            positive(f"size of the {name}", side)
    beyond_id = "takeoff.rug.beyond_table" if use == "dining" else "takeoff.rug.beyond_seats"
    margin_id = "takeoff.rug.margin.small" if small_room else "takeoff.rug.margin.low"
    out = value(beyond_id, overrides) if beyond is None else positive("beyond", beyond, zero=True)
    bare = value(margin_id, overrides) if margin is None else positive("margin", margin, zero=True)
    least = (round(group[0] + 2 * out, 6), round(group[1] + 2 * out, 6))
    most = (round(room[0] - 2 * bare, 6), round(room[1] - 2 * bare, 6))
    fits = least[0] <= most[0] and least[1] <= most[1]

    def say(x: float) -> str:
        return length_text(x, system)

    return RugSize(
        least=least,
        most=most,
        fits=fits,
        why=(
            f"group {say(group[0])} × {say(group[1])} + {say(out)} on each side: "
            f"at least {say(least[0])} × {say(least[1])}",
            f"room {say(room[0])} × {say(room[1])} − {say(bare)} of bare floor on each side: "
            f"at most {say(most[0])} × {say(most[1])}",
            "a rug fits both" if fits else "the room is too small for both: one gives way",
        ),
        rules=(beyond_id, margin_id),
    )


def sewn_rugs(
    width: float,
    length: float,
    *,
    stock: Sequence[StockRug],
    most_panels: int = 3,
    seam: float | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> tuple[SewnRug, ...]:
    """Ways to make a large rug from stock sizes sewn side by side (values T11).

    Parameters
    ----------
    width, length : float
        Size that is wanted. [m]
    stock : sequence of StockRug
        What is sold.
    most_panels : int, optional
        Rugs in one, at most.
    seam : float, optional
        What a seam takes from both sides together; by default
        `takeoff.rug.seam`. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of SewnRug
        One rug alone first where one is large enough; the cheapest first where
        every rug has a price, else the least area, then the fewest seams.

    Raises
    ------
    InputError
        No stock, a size that is not above zero, or nothing in stock that
        reaches the size with so many panels.

    Examples
    --------
    >>> two = sewn_rugs(3.3, 2.4, stock=[StockRug(name="170 × 240", width=1.7, length=2.4)])[0]
    >>> two.seams, round(two.width, 2)
    (1, 3.38)
    """
    positive("width of the rug", width)
    positive("length of the rug", length)
    if not stock:
        raise InputError("stock rugs", given=0, allowed="one or more", mend="list what is sold")
    if not 1 <= most_panels <= 4:
        raise InputError("panels", given=most_panels, allowed="1 to 4", mend="sew fewer")
    loss = value("takeoff.rug.seam", overrides) if seam is None else seam
    positive("seam", loss, zero=True)
    lies: list[tuple[StockRug, float, float, bool]] = []
    for rug in stock:
        positive(f"width of {rug.name}", rug.width)
        positive(f"length of {rug.name}", rug.length)
        if rug.price is not None:
            positive(f"price of {rug.name}", rug.price, unit="")
        lies.append((rug, rug.width, rug.length, False))
        if abs(rug.width - rug.length) > 1e-9:
            lies.append((rug, rug.length, rug.width, True))
    found: list[SewnRug] = []
    # The target both ways round: seams along its width or along its length.
    targets = (
        [(width, length)] if abs(width - length) < 1e-9 else [(width, length), (length, width)]
    )
    for across, along in targets:
        fitting = [x for x in lies if x[2] >= along - 1e-9]
        for count in range(1, most_panels + 1):
            for group in itertools.combinations_with_replacement(fitting, count):
                total = sum(g[1] for g in group) - (count - 1) * loss
                if total < across - 1e-9:
                    continue
                # A group that reaches without its narrowest rug is a poorer one.
                if count > 1 and total - min(g[1] for g in group) + loss >= across - 1e-9:
                    continue
                panels, x = [], 0.0
                for rug, wide, _, turned in group:
                    panels.append(Panel(rug=rug, x=x, width=wide, turned=turned))
                    x += wide - loss
                area = sum(g[1] * g[2] for g in group)
                priced = [g[0].price for g in group]
                price = None if None in priced else sum(p for p in priced if p is not None)
                names = " + ".join(g[0].name for g in group)
                short = min(g[2] for g in group)
                found.append(
                    SewnRug(
                        panels=tuple(panels),
                        width=total,
                        length=short,
                        seams=count - 1,
                        seam_length=(count - 1) * along,
                        area=area,
                        waste=1 - width * length / area,
                        price=price,
                        why=(
                            f"{names}: {length_text(total, system)} across {count - 1} "
                            f"{'seam' if count == 2 else 'seams'} × {length_text(short, system)}",
                            f"{area_text(area, system)} bought for "
                            f"{area_text(width * length, system)}",
                        ),
                        cautions=(
                            "Same pile, same lot, pile the same way; the seam lies under a table "
                            "or beside a seat; a workroom sews, binds and backs it.",
                        )
                        if count > 1
                        else (),
                    )
                )
    if not found:
        raise InputError(
            "size of the rug",
            given=f"{width:g} × {length:g} m",
            allowed=f"what {most_panels} stock rugs side by side reach",
            mend="take longer stock rugs, more panels, or a rug made to size",
        )
    every = all(one.price is not None for one in found)

    def rank(one: SewnRug) -> tuple[float, float, int]:
        cost = (one.price or 0.0) if every else one.area
        return (round(cost, 9), round(one.area, 9), one.seams)

    return tuple(sorted(found, key=rank))


def door_clears(
    undercut: float, *, rug: float, pad: float, margin: float | None = None
) -> tuple[bool, float]:
    """Whether a door swings over a rug and its pad.

    Parameters
    ----------
    undercut : float
        Gap under the door above the finished floor. [m]
    rug, pad : float
        Thickness of each. [m]
    margin : float, optional
        To spare; by default `takeoff.rug.door_margin`. [m]

    Returns
    -------
    tuple of bool and float
        Whether it clears, and what is left above the rug [m].

    Raises
    ------
    InputError
        A thickness is negative.

    Examples
    --------
    >>> door_clears(0.012, rug=0.010, pad=0.004)[0]
    False
    """
    for name, size in (("undercut", undercut), ("rug", rug), ("pad", pad)):
        positive(f"thickness, {name}", size, zero=True)
    spare = value("takeoff.rug.door_margin") if margin is None else margin
    left = undercut - rug - pad
    return left >= spare - 1e-12, left
