"""Stretched canvas: cut size with the wrap, cutting plan on the roll, bars, weight.

The face is what is seen; the cloth goes round the edge of the bars and is
fixed behind. Bars are mitred, so each of the four is as long as its side.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import (
    System,
    area_text,
    length_text,
    mass_text,
    positive,
    run_text,
    whole,
)
from designkit.takeoff.packing import Laid, Rectangle, pack

__all__ = ["Bar", "Canvas", "bars_from_stock", "canvas"]

_MM = 1000
_TRIES = 600
_RULES = (
    "takeoff.canvas.bar_depth",
    "takeoff.canvas.bar_width",
    "takeoff.canvas.turn",
    "takeoff.canvas.brace_span",
    "takeoff.canvas.saw",
    "takeoff.canvas.mass",
    "takeoff.canvas.bar_density",
    "takeoff.canvas.fixing",
)


@dataclass(frozen=True, kw_only=True)
class Bar:
    """Bars of one length, of all canvases together."""

    what: str  # "upper and lower bar", "upright bar", "brace across" …
    length: float  # [m]
    count: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Canvas:
    """One or more stretched canvases of one size."""

    width: float  # of the face [m]
    height: float  # [m]
    bar_depth: float  # from the wall to the face [m]
    turn: float  # cloth behind the bars, each side [m]
    count: int
    cut: tuple[float, float]  # width and height of one cut [m]
    roll: float  # width of the roll [m]
    turned: bool  # the height lies across the roll
    laid: tuple[Laid, ...]  # [mm]
    proven: bool  # no shorter plan on this roll
    length: float  # of roll that is cut [m]
    run: float  # of roll that is bought [m]
    net: float  # faces [m²]
    order: float  # bought [m²]
    bars: tuple[Bar, ...]
    braces: tuple[int, int]  # upright, across, of one canvas
    stock: float  # length of one bar as it is sold [m]
    sticks: tuple[tuple[float, ...], ...]  # what is sawn from each bar that is bought [m]
    mass: float  # of one, without its fixings [kg]
    hangers: int
    fixing: float  # what each fixing has to be rated for [kg]
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def bars_from_stock(
    lengths: list[float] | tuple[float, ...], *, stock: float, saw: float = 0.003
) -> tuple[tuple[float, ...], ...]:
    """Which bars are sawn from which length of stock, the longest first.

    Parameters
    ----------
    lengths : list of float
        What is needed. [m]
    stock : float
        Length as it is sold. [m]
    saw : float, optional
        Lost at each cut. [m]

    Returns
    -------
    tuple of tuple of float
        One entry a length of stock. [m]

    Raises
    ------
    InputError
        A bar is longer than the stock, or a length is not above zero.

    Examples
    --------
    >>> bars_from_stock([1.2, 0.9, 1.2, 0.9], stock=2.4)
    ((1.2, 0.9), (1.2, 0.9))
    """
    positive("stock length of the bars", stock)
    sticks: list[list[float]] = []
    left: list[float] = []
    for long in sorted((positive("bar", x) for x in lengths), reverse=True):
        if long > stock + 1e-9:
            raise InputError(
                "bar",
                given=f"{long:g} m",
                allowed=f"at most {stock:g} m, one length of stock",
                mend="take longer stock, or make the picture in two panels",
            )
        # The fullest that still holds it; each bar but the first costs a cut.
        room = [(rest, i) for i, rest in enumerate(left) if rest - saw >= long - 1e-9]
        if room:
            i = min(room)[1]
            sticks[i].append(long)
            left[i] -= long + saw
        else:
            sticks.append([long])
            left.append(stock - long)
    return tuple(tuple(stick) for stick in sticks)


def _bars(
    width: float, height: float, *, count: int, span: float, bar_width: float
) -> tuple[tuple[Bar, ...], tuple[int, int]]:
    upright = max(0, math.ceil(width / span - 1e-9) - 1)
    across = max(0, math.ceil(height / span - 1e-9) - 1)
    found = [
        Bar(what="upper and lower bar", length=width, count=2 * count),
        Bar(what="upright bar", length=height, count=2 * count),
    ]
    if upright:
        found.append(
            Bar(what="upright brace", length=height - 2 * bar_width, count=upright * count)
        )
    if across:
        found.append(Bar(what="brace across", length=width - 2 * bar_width, count=across * count))
    return tuple(found), (upright, across)


def canvas(
    size: tuple[float, float],
    *,
    bar_depth: float | None = None,
    turn: float | None = None,
    count: int = 1,
    roll: float | None = None,
    stock: float | None = None,
    walls: str = "",
    drill_gate: bool = False,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Canvas:
    r"""Canvas, bars and weight of a stretched picture.

    .. math:: c = f + 2\,(d + t)

    with the face f, the depth d of the bars and the turn t behind them. A bar
    that is longer than `takeoff.canvas.brace_span` gets a brace at each span.

    Parameters
    ----------
    size : tuple of float
        Width and height of the face. [m]
    bar_depth, turn : float, optional
        By default `takeoff.canvas.bar_depth` and `takeoff.canvas.turn`. [m]
    count : int, optional
        Canvases of this size.
    roll : float, optional
        Width of the roll; by default `takeoff.canvas.roll`. [m]
    stock : float, optional
        Length of one bar as it is sold; by default `takeoff.canvas.stock`. [m]
    walls : str, optional
        What the walls are made of, in the project's words.
    drill_gate : bool, optional
        True: old paint or plaster that was not sampled, so no drilling yet.
    system : {"metric", "US"}, optional
        For the words, and for the step in which the roll is cut.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Canvas
        Cut size, plan on the roll, bars, mass of one.

    Raises
    ------
    InputError
        A number is outside what is allowed, or one cut is wider than the roll
        whichever way it lies.

    Examples
    --------
    >>> made = canvas((1.20, 0.90), bar_depth=0.038, turn=0.050)
    >>> [round(side, 3) for side in made.cut]
    [1.376, 1.076]
    """
    width = positive("width of the picture", size[0])
    height = positive("height of the picture", size[1])
    if count != int(count) or count < 1:
        raise InputError("canvases", given=count, allowed="1 or more", mend="count them")

    def known(what: str, given: float | None, id: str) -> float:
        return positive(what, value(id, overrides) if given is None else given)

    deep = known("depth of the bars", bar_depth, "takeoff.canvas.bar_depth")
    back = known("turn behind the bars", turn, "takeoff.canvas.turn")
    wide_roll = known("width of the roll", roll, "takeoff.canvas.roll")
    bar_width = value("takeoff.canvas.bar_width", overrides)
    if min(width, height) <= 2 * bar_width:
        raise InputError(
            "size of the picture",
            given=f"{width:g} × {height:g} m",
            allowed=f"each side more than two bars, {2 * bar_width:g} m",
            mend="mount it on a board",
        )
    us = ".US" if system == "US" else ""
    sold = known("stock length of the bars", stock, f"takeoff.canvas.stock{us}")
    cut = (width + 2 * (deep + back), height + 2 * (deep + back))
    # Up to the millimetre, deaf to float noise: a cut may not come out short.
    sides = tuple(math.ceil(round(side * _MM, 6)) for side in cut)
    plans = []
    for turned, (across, along) in ((False, sides), (True, sides[::-1])):
        if across > wide_roll * _MM + 1e-6:
            continue
        pieces = [Rectangle(id=str(n + 1), width=across, length=along) for n in range(int(count))]
        plan = pack(pieces, width=math.floor(wide_roll * _MM + 1e-6), tries=_TRIES)
        plans.append((plan.length, turned, plan))
    if not plans:
        raise InputError(
            "width of the roll",
            given=f"{wide_roll:g} m",
            allowed=f"at least {min(cut):.3f} m, the shorter side of one cut",
            mend="take a wider roll, or make the picture in two panels",
        )
    long, turned, plan = min(plans, key=lambda p: (p[0], p[1]))
    length = long / _MM
    step = value(f"takeoff.drapery.step{us}", overrides)
    run = whole(length / step) * step
    bars, braces = _bars(
        width,
        height,
        count=int(count),
        span=value("takeoff.canvas.brace_span", overrides),
        bar_width=bar_width,
    )
    needed = [bar.length for bar in bars for _ in range(bar.count)]
    sticks = bars_from_stock(needed, stock=sold, saw=value("takeoff.canvas.saw", overrides))
    cloth_mass = cut[0] * cut[1] * value("takeoff.canvas.mass", overrides)
    timber = sum(needed) / count * deep * bar_width
    mass = cloth_mass + timber * value("takeoff.canvas.bar_density", overrides)
    hangers = 2
    factor = value("takeoff.canvas.fixing", overrides)
    fixing = mass / hangers * factor

    def say(x: float) -> str:
        return length_text(x, system)

    both = f"{say(width)} × {say(height)}"
    why = [
        f"face {both}; on each side {say(deep)} round the bar and {say(back)} behind it: "
        f"cut {say(cut[0])} × {say(cut[1])}" + (f", {count} of them" if count > 1 else ""),
        f"on a roll {say(wide_roll)} wide"
        + (", the height across the roll" if turned else "")
        + f": {run_text(length, system)} are cut, sold in steps of {run_text(step, system)}"
        + ("" if plan.proven else "; a shorter plan may exist"),
        f"{len(needed)} bars, {say(sum(needed))} in all, from stock of {say(sold)}: {len(sticks)}",
        f"{area_text(cut[0] * cut[1], system)} of canvas and "
        f"{say(sum(needed) / count)} of bar: {mass_text(mass, system)} each",
        f"{mass_text(mass, system)} ÷ {hangers} hangers × {factor:g} = "
        f"{mass_text(fixing, system)}, what each fixing has to be rated for",
    ]
    cautions = [
        "Two fixings, level, one under each end of the upper bar: a wire pulls at each end with "
        "twice the weight where it hangs at 15°.",
        (f"The walls as the project has them: {walls}. " if walls else "")
        + "Brick or concrete: plug and screw; hollow board: into a stud or a batten, or a fixing "
        "rated for it; nothing into loose plaster. A competent person chooses and tests it, and "
        "looks for pipes and cables first.",
        "Above a bed, a seat or a way: a second fixing or a safety cord.",
        "Measure the bars before the canvas is cut; leave the print's edge as the printer asks.",
    ]
    if drill_gate:
        cautions.insert(
            0,
            "No drilling yet: the building counts as old and was not sampled. A sample and its "
            "written result come first.",
        )
    return Canvas(
        width=width,
        height=height,
        bar_depth=deep,
        turn=back,
        count=int(count),
        cut=cut,
        roll=wide_roll,
        turned=turned,
        laid=plan.laid,
        proven=plan.proven,
        length=length,
        run=run,
        net=width * height * count,
        order=run * wide_roll,
        bars=bars,
        braces=braces,
        stock=sold,
        sticks=sticks,
        mass=mass,
        hangers=hangers,
        fixing=fixing,
        why=tuple(why),
        rules=(*_RULES, "takeoff.canvas.roll", f"takeoff.canvas.stock{us}"),
        cautions=tuple(cautions),
    )
