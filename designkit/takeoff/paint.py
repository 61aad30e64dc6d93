"""Paint: litres from an area, and whole cans from litres.

Cans are counted once, at the end: coats first, then one rounding (values G13).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import (
    FOOT,
    GALLON,
    System,
    area_text,
    positive,
    share_of,
    volume_text,
    whole,
)

__all__ = ["CAN_SIZES", "Cans", "Paint", "cans", "paint", "paint_volume", "spreading_rate"]

CAN_SIZES: Mapping[System, tuple[tuple[float, str], ...]] = {
    "metric": ((10.0, "10 L"), (5.0, "5 L"), (2.5, "2.5 L"), (1.0, "1 L")),
    "US": ((5 * GALLON, "5 gal"), (GALLON, "1 gal"), (GALLON / 4, "1 qt")),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Cans:
    """A set of cans that holds a volume at the least price."""

    counts: tuple[tuple[int, float, str], ...]  # how many, size [L], its name
    volume: float  # bought [L]
    surplus: float  # over the need [L]
    price: float  # in the unit of the prices; relative where none were given

    @property
    def text(self) -> str:
        """The cans in words."""
        return " + ".join(f"{n} × {name}" for n, _, name in self.counts) or "none"


@dataclass(frozen=True, kw_only=True, eq=False)
class Paint:
    """Paint for one area."""

    area: float  # [m²]
    coats: int
    spreading_rate: float  # [m²/L]
    waste: float  # [1]
    net: float  # [L] on the wall
    need: float  # [L] with waste
    cans: Cans
    why: tuple[str, ...]
    rules: tuple[str, ...]


def spreading_rate(square_feet_per_gallon: float) -> float:
    """A US spreading rate in metric units.

    Parameters
    ----------
    square_feet_per_gallon : float
        As the data sheet prints it. [ft²/gal]

    Returns
    -------
    float
        The same rate. [m²/L]

    Raises
    ------
    InputError
        The rate is not above zero.

    Examples
    --------
    >>> round(spreading_rate(350), 2)
    8.59
    """
    rate = positive("spreading rate", square_feet_per_gallon, unit="ft²/gal")
    return rate * FOOT**2 / GALLON


def _coats(coats: float) -> int:
    if not math.isfinite(coats) or coats != int(coats) or coats < 1:
        raise InputError(
            "coats",
            given=coats,
            allowed="a whole number, 1 or more",
            mend="leave the finish out of the take-off if the surface is not painted",
        )
    return int(coats)


def paint_volume(area: float, *, spreading_rate: float, coats: int, waste: float = 0.0) -> float:
    r"""Volume of paint that covers an area.

    .. math:: V = \frac{A\,n}{s}\,(1 + w)

    Parameters
    ----------
    area : float
        Area to paint, openings already deducted. [m²]
    spreading_rate : float
        Area that one litre covers in one coat. [m²/L]
    coats : int
        Number of coats.
    waste : float, optional
        Share added for tray, roller and touch-up. [1]

    Returns
    -------
    float
        Volume, not rounded. [L]

    Raises
    ------
    InputError
        A number is outside what is allowed.

    Examples
    --------
    >>> round(paint_volume(38.6, spreading_rate=8.59, coats=2), 2)
    8.99
    """
    positive("area to paint", area, unit="m²", zero=True)
    positive(
        "spreading rate", spreading_rate, unit="m²/L", mend="take it from the paint's data sheet"
    )
    return area * _coats(coats) / spreading_rate * (1.0 + share_of("paint waste", waste))


def cans(
    volume: float,
    *,
    system: System = "metric",
    sizes: Sequence[tuple[float, str]] | None = None,
    prices: Sequence[float] | None = None,
    exponent: float | None = None,
) -> Cans:
    """Cheapest whole cans that hold a volume, by exact search.

    Parameters
    ----------
    volume : float
        What is needed. [L]
    system : {"metric", "US"}, optional
        Which can sizes are sold.
    sizes : sequence of (float, str), optional
        Size [L] and name of each can, in place of the usual ones.
    prices : sequence of float, optional
        Price of a can of each size, in the order of the sizes.
    exponent : float, optional
        Without prices a can of V litres is taken to cost V to this power, so
        that a larger can is cheaper by the litre; by default
        `takeoff.paint.can_exponent`.

    Returns
    -------
    Cans
        Largest first. Equal prices: the smaller volume, then fewer cans.

    Raises
    ------
    InputError
        No size, a size or price that is not above zero, or lengths that differ.

    Examples
    --------
    >>> cans(8.99).text
    '1 × 10 L'
    >>> cans(2.371 * 3.785411784, system="US").text
    '2 × 1 gal + 2 × 1 qt'
    """
    need = positive("volume of paint", volume, unit="L", zero=True)
    sold = tuple(CAN_SIZES[system] if sizes is None else sizes)
    if not sold:
        raise InputError("can sizes", given=0, allowed="one or more", mend="name a can size")
    for size, name in sold:
        positive(f"can size {name}", size, unit="L")
    if prices is None:
        power = value("takeoff.paint.can_exponent") if exponent is None else exponent
        costs = [size**power for size, _ in sold]
    else:
        if len(prices) != len(sold):
            raise InputError(
                "prices of cans",
                given=len(prices),
                allowed=f"{len(sold)}, one a size",
                mend="give the prices in the order of the sizes",
            )
        costs = [positive("price of a can", p, unit="") for p in prices]

    # Cheapest litre first: then fewer of this can never lowers the bound, and
    # the search may stop at the first count that cannot win.
    order = sorted(range(len(sold)), key=lambda i: (costs[i] / sold[i][0], -sold[i][0]))
    slack = 1e-9 * max(1.0, need)
    best_key: tuple[float, float, int] | None = None
    best: tuple[int, ...] = ()

    def key(counts: list[int]) -> tuple[float, float, int]:
        price = sum(n * costs[i] for n, i in zip(counts, order))
        bought = sum(n * sold[i][0] for n, i in zip(counts, order))
        return round(price, 9), round(bought, 9), sum(counts)

    def search(level: int, counts: list[int], left: float, spent: float) -> None:
        nonlocal best_key, best
        if left <= slack or level == len(order):
            if left <= slack:
                full = counts + [0] * (len(order) - len(counts))
                found = key(full)
                if best_key is None or found < best_key:
                    best_key, best = found, tuple(full)
            return
        size, cost = sold[order[level]][0], costs[order[level]]
        ratio = cost / size
        following = (
            costs[order[level + 1]] / sold[order[level + 1]][0] if level + 1 < len(order) else ratio
        )
        for count in range(max(0, whole(left / size)), -1, -1):
            rest = left - count * size
            bound = spent + count * cost + max(0.0, rest) * following
            if best_key is not None and bound > best_key[0] + 1e-9:
                # A count that overfills may cost more than one can less.
                if rest <= slack:
                    continue
                break
            search(level + 1, [*counts, count], rest, spent + count * cost)

    search(0, [], need, 0.0)
    chosen = sorted(
        ((n, sold[i][0], sold[i][1]) for n, i in zip(best, order) if n), key=lambda c: -c[1]
    )
    bought = sum(n * size for n, size, _ in chosen)
    return Cans(
        counts=tuple(chosen),
        volume=bought,
        surplus=bought - need,
        price=best_key[0] if best_key else 0.0,
    )


def paint(
    area: float,
    *,
    coats: int | None = None,
    spreading_rate: float | None = None,
    waste: float | None = None,
    system: System = "metric",
    sizes: Sequence[tuple[float, str]] | None = None,
    prices: Sequence[float] | None = None,
    primer: bool = False,
    overrides: Mapping[str, float] | None = None,
) -> Paint:
    """Paint to order for one area.

    Parameters
    ----------
    area : float
        Area to paint, openings already deducted. [m²]
    coats : int, optional
        By default `takeoff.paint.coats` (one for primer).
    spreading_rate : float, optional
        By default `takeoff.paint.spread` or `takeoff.paint.spread.primer`. [m²/L]
    waste : float, optional
        By default `takeoff.paint.waste`. [1]
    system : {"metric", "US"}, optional
        Which cans are sold, and the words of the reasons.
    sizes, prices : sequence, optional
        As for `cans`.
    primer : bool, optional
        Take the primer's rate and one coat.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Paint
        Net, with waste, and in whole cans.

    Raises
    ------
    InputError
        A number is outside what is allowed.

    Examples
    --------
    >>> paint(38.6, waste=0).cans.text
    '1 × 10 L'
    """
    rate_id = "takeoff.paint.spread.primer" if primer else "takeoff.paint.spread"
    coat_id = "takeoff.paint.coats.primer" if primer else "takeoff.paint.coats"
    count = _coats(value(coat_id, overrides) if coats is None else coats)
    rate = value(rate_id, overrides) if spreading_rate is None else spreading_rate
    extra = value("takeoff.paint.waste", overrides) if waste is None else waste
    net = paint_volume(area, spreading_rate=rate, coats=count)
    need = paint_volume(area, spreading_rate=rate, coats=count, waste=extra)
    found = cans(
        need,
        system=system,
        sizes=sizes,
        prices=prices,
        exponent=value("takeoff.paint.can_exponent", overrides),
    )
    shown = f"{rate * GALLON / FOOT**2:.0f} ft²/gal" if system == "US" else f"{rate:.2f} m²/L"
    word = "coat" if count == 1 else "coats"
    return Paint(
        area=area,
        coats=count,
        spreading_rate=rate,
        waste=extra,
        net=net,
        need=need,
        cans=found,
        why=(
            f"{area_text(area, system)} × {count} {word} / {shown} = {volume_text(net, system)}",
            f"+ {100 * extra:.0f} % for tray, roller and touch-up = {volume_text(need, system)}",
            f"rounded up once, after the coats: {found.text} = {volume_text(found.volume, system)}",
        ),
        rules=(rate_id, coat_id, "takeoff.paint.waste", "takeoff.paint.can_exponent"),
    )
