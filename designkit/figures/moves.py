"""How far each scenario can move, and what moves the sum most.

The two panels beside the table of scenarios. Ranges stand on one money axis
with the cap, the only accent; of what moves the sum, outline is cheaper and
black is dearer than as priced.
"""

from __future__ import annotations

from decimal import Decimal

from designkit.costs import Budget, Driver, RangeBar, money_text
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import (
    Chart,
    Sizes,
    amount_text,
    axis_unit,
    fitted,
    number_text,
    ticks,
    widest,
    wrapped,
)

__all__ = ["draw_drivers", "draw_ranges", "driver_heights", "drivers_head", "ranges_height"]


# --- how far each can move ----------------------------------------------------


def _bar_name(bar: RangeBar, result: Budget, *, first: bool) -> tuple[str, float]:
    phased = any(other.scenario == bar.scenario and other is not bar for other in result.bars)
    if not phased:
        return bar.name, 0.0
    return (f"{bar.name}, this year", 0.0) if first else ("both years", 2.4)


def ranges_height(result: Budget, sizes: Sizes, width: float) -> float:
    """Height of the panel of ranges. [mm]

    Parameters
    ----------
    result : Budget
        As budgeted.
    sizes : Sizes
        Of the chart's text.
    width : float
        Of the panel. [mm]

    Returns
    -------
    float
        [mm]
    """
    above = _above(result, sizes, width)
    row = sizes.name * (4.3 if above else 2.9)
    return sizes.head + sizes.pitch(sizes.note) * 2 + 9.0 + len(result.bars) * row + 8.0


def _above(result: Budget, sizes: Sizes, width: float) -> bool:
    names = [_bar_name(bar, result, first=bar.years == "this year")[0] for bar in result.bars]
    return widest(names, size=sizes.name) + 3.0 > 0.38 * width


def draw_ranges(chart: Chart, result: Budget, x: float, top: float, width: float) -> float:
    """All ranges on one money axis with the cap.

    Parameters
    ----------
    chart : Chart
        What is drawn on.
    result : Budget
        As budgeted.
    x, top, width : float
        Left edge, upper edge and width of the panel. [mm]

    Returns
    -------
    float
        Where the panel ends below. [mm]
    """
    sizes = chart.sizes
    y = top - sizes.head
    title = "How far each can move"
    size = fitted([title], size=sizes.head, width=width, floor=sizes.name, bold=True)
    chart.text(x, y, title, size, bold=True)
    y -= sizes.pitch(sizes.note) * 1.12
    y = chart.lines(
        x,
        y,
        width,
        "bar: 10th to 80th of 100 outcomes; stroke: as priced",
        sizes.note,
        colour=ink.GREY_1,
        most=2,
    )
    above = _above(result, sizes, width)
    names = [_bar_name(bar, result, first=bar.years == "this year") for bar in result.bars]
    named = 0.0 if above else widest([n for n, _ in names], size=sizes.name) + 2.4
    sums = [v for bar in result.bars for v in (bar.low, bar.high, float(bar.priced))]
    low, high = min(sums), max(sums)
    cap = None if result.cap is None else float(result.cap)
    near = cap is not None and low - 1.2 * (high - low) <= cap <= high + 1.2 * (high - low)
    if cap is not None and near:
        low, high = min(low, cap), max(high, cap)
    if high - low < 1e-6 * max(1.0, abs(high)):
        low, high = low - 0.02 * abs(low) - 1, high + 0.02 * abs(high) + 1
    unit, unit_words = axis_unit(max(abs(low), abs(high)), code=result.currency)
    decimals = 1 if (high - low) / unit < 20 else 0
    label = widest([number_text(v / unit, decimals=decimals) for v in sums], size=sizes.note) + 2.0
    start, end = x + named + label, x + width - label

    def at(value: float) -> float:
        return start + (value - low) / (high - low) * (end - start)

    row = sizes.name * (4.3 if above else 2.9)
    y -= sizes.note * 0.6
    first_y = y - sizes.name - 1.8
    floor = first_y - len(result.bars) * row - sizes.note * 0.8
    if cap is not None and result.cap is not None:
        words = f"cap {money_text(result.cap, code=result.currency)}"
        if near:
            long = lettering.advance(words, size=sizes.name, weight="semibold")
            middle = min(max(at(cap), x + long / 2), x + width - long / 2)
            chart.text(
                middle, y - sizes.name * 0.6, words, sizes.name, bold=True, colour=ink.TIMBER,
                anchor="middle",
            )  # fmt: skip
            chart.line(at(cap), first_y + 0.6, at(cap), floor, 0.5, colour=ink.TIMBER)
        else:
            over = cap > high
            chart.text(
                x + width if over else start,
                y - sizes.name * 0.6,
                f"{words} →" if over else f"← {words}",
                sizes.name,
                bold=True,
                colour=ink.TIMBER,
                anchor="end" if over else "start",
            )
    y = first_y
    thick = sizes.name * 1.25
    for bar, (name, indent) in zip(result.bars, names):
        mid = y - row * (0.7 if above else 0.5)
        room = width - indent if above else named - indent
        shown = lettering.shorten(name, size=sizes.name, width=room)
        chart.text(
            x + indent,
            mid + thick * 0.75 + 0.9 if above else mid - sizes.name / 2,
            shown,
            sizes.name,
            halo=0.6 if above else 0.0,
        )
        x0, x1, xp = at(bar.low), at(bar.high), at(float(bar.priced))
        later = bar.years == "both years" and indent > 0
        base = bar.scenario == result.columns[0].id
        chart.bar(
            x0,
            max(x1, x0 + 0.3),
            mid - thick / 2,
            thick,
            fill="" if later else ink.GREY_3 if base else ink.INK,
            weight=0.22 if later else 0.0,
            hatch=later,
        )
        # White on both sides keeps the stroke apart from the bar that it stands on.
        chart.line(xp, mid - thick * 0.8, xp, mid + thick * 0.8, 1.2, colour=ink.PAPER)
        chart.line(xp, mid - thick * 0.85, xp, mid + thick * 0.85, 0.5)
        ends = (min(x0, xp) - 1.2, max(x1, xp) + 1.2)
        for value, where, anchor in ((bar.low, ends[0], "end"), (bar.high, ends[1], "start")):
            chart.text(
                where,
                mid - sizes.note / 2,
                number_text(value / unit, decimals=decimals),
                sizes.note,
                colour=ink.GREY_1,
                anchor="end" if anchor == "end" else "start",
                halo=0.6,
            )
        y -= row
    chart.line(start - label * 0.4, floor, end + label * 0.4, floor, 0.18)
    scale, digits = ticks(low / unit, high / unit, most=5)
    long = widest([number_text(t, decimals=digits) for t in scale], size=sizes.note) + 2.0
    apart = (scale[-1] - scale[0]) * unit / (high - low) * (end - start) / max(1, len(scale) - 1)
    for tick in scale[:: 1 if long <= apart else max(1, len(scale) - 1)]:
        chart.line(at(tick * unit), floor, at(tick * unit), floor - 0.9, 0.18)
        chart.text(
            at(tick * unit),
            floor - 1.8 - sizes.note,
            number_text(tick, decimals=digits),
            sizes.note,
            colour=ink.GREY_1,
            anchor="middle",
        )
    foot = floor - 1.8 - sizes.note - sizes.pitch(sizes.note)
    chart.text(x + width, foot, f"in {unit_words}", sizes.note, colour=ink.GREY_1, anchor="end")
    return foot


# --- what moves the sum most --------------------------------------------------


def _driver_lines(driver: Driver, sizes: Sizes, width: float) -> tuple[str, ...]:
    name = driver.name[:1].upper() + driver.name[1:]
    return wrapped(name, size=sizes.name, width=width, most=3)


def _long(words: str, size: float) -> float:
    return lettering.advance(words, size=size)


def driver_heights(result: Budget, sizes: Sizes, width: float) -> list[float]:
    """Height of each driver in a panel. [mm]

    Parameters
    ----------
    result : Budget
        As budgeted.
    sizes : Sizes
        Of the chart's text.
    width : float
        Of the panel. [mm]

    Returns
    -------
    list of float
        One for each driver. [mm]
    """
    pitch = sizes.pitch(sizes.name)
    return [
        len(_driver_lines(d, sizes, width)) * pitch + sizes.name * 1.9 + 2.2 for d in result.drivers
    ]


def drivers_head(sizes: Sizes) -> float:
    """Height of the heading of the drivers. [mm]

    Parameters
    ----------
    sizes : Sizes
        Of the chart's text.

    Returns
    -------
    float
        [mm]
    """
    return sizes.head + sizes.pitch(sizes.note) * 1.12 + sizes.note * 1.6


def _driver_ends(driver: Driver, code: str, step: Decimal) -> tuple[str, str, str, str]:
    """Value and change at the cheaper end, change and value at the dearer; "" where none."""
    low = high = ""
    if driver.low_change:
        low = amount_text(driver.low_change, code=code, step=step)
    if driver.high_change:
        high = amount_text(driver.high_change, code=code, step=step, sign=True)
    if driver.kind == "choice":  # its name already holds the words of its ends
        return "", low, high, ""
    return driver.low_words if low else "", low, high, driver.high_words if high else ""


def draw_drivers(
    chart: Chart, result: Budget, x: float, top: float, width: float, count: int
) -> float:
    """One thing changed at a time, the largest first; gives where it ends.

    Parameters
    ----------
    chart : Chart
        What is drawn on.
    result : Budget
        As budgeted.
    x, top, width : float
        Left edge, upper edge and width of the panel. [mm]
    count : int
        How many there is room for.

    Returns
    -------
    float
        Where the panel ends below. [mm]
    """
    sizes = chart.sizes
    drivers = result.drivers[:count]
    name = result.column(result.scenario).name
    y = top - sizes.head
    title = "What moves the sum most"
    size = fitted([title], size=sizes.head, width=width, floor=sizes.name, bold=True)
    chart.text(x, y, title, size, bold=True)
    y -= sizes.pitch(sizes.note) * 1.12
    ends = [_driver_ends(d, result.currency, result.step) for d in drivers]
    size, apart = sizes.note, 1.6

    def room_for(parts: tuple[int, ...]) -> float:
        return max(
            (sum(_long(e[i], size) + (apart if e[i] else 0.0) for i in parts) for e in ends),
            default=0.0,
        )

    left, right = room_for((0, 1)), room_for((2, 3))
    if width - left - right < 0.25 * width:  # values are too long for this panel: sums alone
        ends = [("", low, high, "") for _, low, high, _ in ends]
        left, right = room_for((1,)), room_for((2,))
    words = f"“{name}”, one thing changed at a time"
    if left + right > 0.75 * width:  # even the sums are: counted in thousands or millions
        most = max(float(max(-d.low_change, d.high_change)) for d in drivers)
        unit, unit_words = axis_unit(most, code=result.currency)
        plus = [(float(d.low_change) / unit, float(d.high_change) / unit) for d in drivers]
        ends = [
            (
                "",
                number_text(low, decimals=1) if low else "",
                f"+{number_text(high, decimals=1)}" if high else "",
                "",
            )
            for low, high in plus
        ]
        left, right = room_for((1,)), room_for((2,))
        words = f"{unit_words}; {words}"
    shown = lettering.shorten(words, size=sizes.note, width=width)
    chart.text(x, y, shown, sizes.note, colour=ink.GREY_1)
    y -= sizes.note * 1.6
    room = max(4.0, width - left - right)
    lows = max((-float(d.low_change) for d in drivers), default=0.0)
    highs = max((float(d.high_change) for d in drivers), default=0.0)
    scale = room / (lows + highs) if lows + highs else 0.0
    zero = x + left + lows * scale
    thick = sizes.name * 1.3
    heights = driver_heights(result, sizes, width)
    for driver, (value, low, high, other), tall in zip(drivers, ends, heights):
        at = y - sizes.name * 1.2
        for line in _driver_lines(driver, sizes, width):
            chart.text(x, at, line, sizes.name)
            at -= sizes.pitch(sizes.name)
        base = at + 0.3
        low_y = base - (thick - size) / 2
        x0, x1 = zero + float(driver.low_change) * scale, zero + float(driver.high_change) * scale
        if driver.low_change:
            chart.bar(x0, zero, low_y, thick, weight=0.28)
            chart.text(x0 - 1.2, base, low, size, anchor="end")
            if value:
                away = x0 - 1.2 - _long(low, size) - apart
                chart.text(away, base, value, size, colour=ink.GREY_1, anchor="end")
        if driver.high_change:
            chart.bar(zero, x1, low_y, thick, fill=ink.INK)
            chart.text(x1 + 1.2, base, high, size)
            if other:
                away = x1 + 1.2 + _long(high, size) + apart
                chart.text(away, base, other, size, colour=ink.GREY_1)
        chart.line(zero, low_y - 0.7, zero, low_y + thick + 0.7, 0.4)
        y -= tall
    total = result.column(result.scenario)
    priced = f"{money_text(total.total, code=result.currency)} as priced"
    long = lettering.advance(priced, size=size)
    middle = min(max(zero, x + long / 2), x + width - long / 2)
    chart.text(middle, y - size, priced, size, colour=ink.GREY_1, anchor="middle")
    return y - size - 1.0
