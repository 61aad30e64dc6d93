"""How sure a total is: twenty equally likely outcomes, then the same as a curve.

Both stand on one money axis with one cap line, the only accent. A chance is
said as a count of twenty. A dot stands in a column as wide as itself, and the
columns are laid from the cap, so that no dot stands across it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from decimal import Decimal

from designkit.costs import Budget, BudgetColumn, money_text
from designkit.costs.money import currency
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    Sizes,
    fitted,
    number_text,
    open_sheet,
    sizes_for,
    ticks,
    whole_area,
    wrapped,
)
from designkit.figures.drawing import XY, Circle, Drawing, Line
from designkit.figures.sheet import Area, TitleBlock

__all__ = ["chance", "chance_text", "enough"]

_HIGHEST = 4  # dots above each other; more go to the next column away from the cap
_DASHES: tuple[tuple[float, ...], ...] = (
    (3.4, 1.6),
    (),
    (0.9, 1.1),
    (6.0, 1.2, 0.9, 1.2),
    (1.8, 0.9),
)
_SURE = 0.8  # 16 of 20


def enough(amount: float) -> Decimal:
    """A drawn sum rounded up to three figures, so that it is still enough.

    Parameters
    ----------
    amount : float
        The sum; an estimate has no more than three figures to tell. [currency]

    Returns
    -------
    Decimal
        Rounded up. [currency]

    Examples
    --------
    >>> enough(44_582.4)
    Decimal('44600')
    """
    if amount == 0:
        return Decimal(0)
    step = Decimal(10) ** (math.floor(math.log10(abs(amount))) - 2)
    steps = math.ceil(Decimal(repr(amount)) / step - Decimal("1e-9"))
    return Decimal(int(steps * step)) if step >= 1 else steps * step


class _Scale:
    """The money axis of a sheet."""

    def __init__(self, result: Budget, columns: Sequence[BudgetColumn]) -> None:
        lows = [c.outcome_now.quantile(0.002) for c in columns]
        highs = [c.outcome_now.quantile(0.998) for c in columns]
        low, high = min(lows), max(highs)
        self.cap = None if result.cap is None else float(result.cap)
        span = max(high - low, 0.02 * max(abs(low), abs(high), 1.0))
        self.near = self.cap is not None and low - span <= self.cap <= high + span
        if self.cap is not None and self.near:
            low, high = min(low, self.cap), max(high, self.cap)
        span = max(high - low, span)
        self.low, self.high = low - 0.06 * span, high + 0.06 * span

    def lay(self, left: float, right: float) -> None:
        """Where it stands on the paper."""
        self.left, self.right = left, right
        self.mm = (right - left) / (self.high - self.low)

    def at(self, amount: float) -> float:
        """Where a sum stands. [mm]"""
        return self.left + (amount - self.low) * self.mm


def _question(result: Budget) -> str:
    if result.cap is None:
        return "How far can the sum move?"
    return f"How sure can we be of staying under {money_text(result.cap, code=result.currency)}?"


def _answer(result: Budget) -> str:
    if result.chance_answer:
        return result.chance_answer
    code = result.currency
    return " ".join(
        f"{c.name}: {money_text(enough(c.outcome_now.quantile(_SURE)), code=code)} is enough in "
        f"16 of 20 outcomes."
        for c in result.columns
    )


def chance_text(result: Budget) -> str:
    """The chances in words, for who cannot see the sheet.

    Parameters
    ----------
    result : Budget
        From :func:`designkit.costs.budget`.

    Returns
    -------
    str
        The answer, each scenario with its spread, and what the estimate rests on.
    """
    code = result.currency
    said = [_answer(result)]
    for column in result.columns:
        outcome = column.outcome_now
        twenty = outcome.twenty()
        year = " this year" if column.later else ""
        said.append(
            f"{column.name}{year}, priced at {money_text(column.now, code=code)}: twenty outcomes "
            f"from {money_text(enough(twenty[0]), code=code)} to "
            f"{money_text(enough(twenty[-1]), code=code)}; "
            f"{money_text(enough(outcome.quantile(_SURE)), code=code)} is enough in 16 of 20."
        )
    return " ".join([*said, result.basis + "."])


def _places(values: Sequence[float], under: Sequence[bool], scale: _Scale, wide: float) -> list[XY]:
    """Column and height of each dot, counted from the cap or the left end."""
    origin = scale.at(scale.cap) if scale.cap is not None and scale.near else scale.left
    lowest = math.ceil((scale.left - origin) / wide)
    highest = math.floor((scale.right - origin) / wide) - 1
    heights: dict[int, int] = {}
    places: list[XY] = []
    order = sorted(range(len(values)), key=lambda i: values[i], reverse=True)
    found: dict[int, XY] = {}
    for i in order:
        step = math.floor((scale.at(values[i]) - origin) / wide)
        way = 1
        if scale.cap is not None and scale.near:
            step = min(step, -1) if under[i] else max(step, 0)
            way = -1 if under[i] else 1
        step = min(max(step, lowest), highest)
        while heights.get(step, 0) >= _HIGHEST and lowest <= step + way <= highest:
            step += way
        level = heights.get(step, 0)
        heights[step] = level + 1
        found[i] = (origin + (step + 0.5) * wide, (level + 0.5) * wide)
    places = [found[i] for i in range(len(values))]
    return places


def _under(column: BudgetColumn, scale: _Scale) -> list[bool]:
    """Which of the twenty stay under the cap; all where there is none."""
    count = 20 if scale.cap is None else column.outcome_now.of_twenty(scale.cap)
    return [i < count for i in range(20)]


def _dot(result: Budget, scale: _Scale, row: float) -> float:
    """The largest dot with which no pile is higher than its row. [mm]"""
    wide = 5.4
    while wide > 1.4:
        piles = (
            up + wide / 2
            for column in result.columns
            for _, up in _places(column.outcome_now.twenty(), _under(column, scale), scale, wide)
        )
        if max(piles) <= row - 2.2:
            break
        wide -= 0.4
    return wide


class _Taken:
    """Room that words and lines have taken, as boxes on a coarse list."""

    def __init__(self) -> None:
        self.boxes: list[tuple[float, float, float, float]] = []

    def add(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self.boxes.append((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)))

    def free(self, x0: float, y0: float, x1: float, y1: float) -> bool:
        return not any(
            x0 < right and left < x1 and y0 < top and low < y1
            for left, low, right, top in self.boxes
        )


def _row_words(column: BudgetColumn, result: Budget) -> tuple[str, str, str]:
    """What stands at the right of a row of dots: before, the count, after it."""
    if result.cap is None:
        amount = enough(column.outcome_now.quantile(_SURE))
        return "", "16 of 20", f"under {money_text(amount, code=result.currency)}"
    before, _, count = column.chance_words.rpartition(" than ")
    return (
        f"{before} than" if before else "",
        count,
        "under this year" if column.later else "stay under",
    )


def _draw_dots(
    chart: Chart,
    result: Budget,
    scale: _Scale,
    area: Area,
    top: float,
    row: float,
    dot: float,
    names: float,
) -> float:
    sizes, code = chart.sizes, result.currency
    y = top
    for column in result.columns:
        y -= row
        outcome = column.outcome_now
        values = outcome.twenty()
        limit = scale.cap
        under = _under(column, scale)
        chart.line(scale.left, y, scale.right, y, 0.25)
        fixed = outcome.totals[0] == outcome.totals[-1]
        if fixed:
            x = scale.at(values[0])
            chart.line(x, y, x, y + dot * 1.6, 1.0)
            late = x > (scale.left + scale.right) / 2
            chart.text(
                x - 2.0 if late else x + 2.0,
                y + 1.4,
                "no price has a range: one outcome",
                sizes.note,
                colour=ink.GREY_1,
                anchor="end" if late else "start",
                halo=0.6,
            )
        else:
            places = _places(values, under, scale, dot)
            for (x, up), dark in zip(places, under):
                chart.items.append(
                    Circle(
                        centre=(x, y + up + 0.25),
                        radius=dot / 2 - 0.16,
                        weight=0.3,
                        fill=ink.INK if dark else ink.PAPER,
                        about=column.id,
                    )
                )
            outer = [x for x, _ in places]
            for value, x, side in ((values[0], min(outer), -1), (values[-1], max(outer), 1)):
                words = money_text(enough(value), code=code)
                away = x + side * (dot / 2 + 1.2)
                if limit is not None and scale.near:  # not across the line of the cap
                    long, at = lettering.advance(words, size=sizes.note), scale.at(limit)
                    if side > 0 and away < at + 1.0 < away + long + 2.0:
                        away = at + 1.2
                    elif side < 0 and away - long - 2.0 < at - 1.0 < away:
                        away = at - 1.2
                end = away + side * lettering.advance(words, size=sizes.note)
                if not area.left + names + 1.0 < end < scale.right + 1.0:
                    continue  # the curve below says it, too
                chart.text(
                    away,
                    y + dot / 2 - sizes.note / 2 + 0.2,
                    words,
                    sizes.note,
                    colour=ink.GREY_1,
                    anchor="end" if side < 0 else "start",
                    halo=0.7,
                )
        size = fitted([column.name], size=sizes.head, width=names, floor=sizes.name, bold=True)
        lines = wrapped(column.name, size=size, width=names, bold=True, most=2)
        base = y + sizes.pitch(sizes.note) - 0.6 + (len(lines) - 1) * sizes.pitch(size)
        for line in lines:
            chart.text(area.left, base, line, size, bold=True)
            base -= sizes.pitch(size)
        priced = f"priced at {money_text(column.now, code=code)}"
        small = fitted([priced], size=sizes.note, width=names, floor=ink.SMALLEST)
        chart.text(area.left, y - 0.6, priced, small, colour=ink.GREY_1)
        before, big, words = _row_words(column, result)
        x = scale.right + 3.0
        room = area.right - x
        base = y + sizes.pitch(sizes.note) - 0.6
        size = fitted([big], size=sizes.head, width=room, floor=sizes.name, bold=True)
        chart.text(x, base, big, size, bold=True)
        if before:
            chart.text(x, base + size + sizes.note * 0.6, before, sizes.note)
        small = fitted([words], size=sizes.note, width=room, floor=ink.SMALLEST)
        chart.text(x, y - 0.6, words, small, colour=ink.GREY_1)
    return y


def _draw_curves(
    chart: Chart, result: Budget, scale: _Scale, area: Area, top: float, bottom: float
) -> None:
    sizes, code = chart.sizes, result.currency

    def up(share: float) -> float:
        return bottom + share * (top - bottom)

    x_words = scale.right + 3.0
    for k in (0, 5, 10, 15, 20):
        y = up(k / 20)
        if k:
            chart.line(scale.left, y, scale.right, y, 0.13, colour=ink.GREY_4)
        chart.text(x_words, y - sizes.note / 2, f"{k} of 20", sizes.note, colour=ink.GREY_1)
    for i, words in enumerate(("Chance that the", "sum is enough")):
        chart.text(
            area.left,
            top - sizes.note / 2 - i * sizes.pitch(sizes.note),
            words,
            sizes.note,
            colour=ink.GREY_1,
        )
    chart.line(scale.left, bottom, scale.right, bottom, 0.25)
    taken = _Taken()
    curves: list[list[XY]] = []
    seen: dict[tuple[float, float, float], int] = {}
    names: list[str] = []
    for i, column in enumerate(result.columns):
        outcome = column.outcome_now
        key = (outcome.p10, outcome.p50, outcome.p80)
        if key in seen:  # the same sums: one line with both names
            names[seen[key]] += f", {column.name}"
            continue
        seen[key] = len(curves)
        names.append(column.name)
        sums = outcome.curve(points=121, low=scale.low, high=scale.high)
        points = [(scale.at(v), up(p)) for v, p in sums]
        curves.append(points)
        dash = _DASHES[i % len(_DASHES)] if len(result.columns) > 1 else ()
        chart.items.append(Line(points=tuple(points), weight=0.8, dash=dash, about=column.id))
        for (x0, y0), (x1, y1) in itertools.pairwise(points):
            taken.add(x0 - 0.7, y0 - 0.7, x1 + 0.7, y1 + 0.7)
    cap_x = scale.at(scale.cap) if scale.cap is not None and scale.near else None
    if cap_x is not None:
        taken.add(cap_x - 1.0, bottom, cap_x + 1.0, top + 5)

    def place(
        x: float, y: float, words: str, size: float, *, bold: bool, sides: str, pad: float = 0.4
    ) -> bool:
        weight = "semibold" if bold else "regular"
        long = lettering.advance(words, size=size, weight=weight)
        for far in (1.8, 3.6):
            for side in sides:
                for dy in (0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0):
                    base = y - size / 2 + dy * size * 0.8
                    x0 = x - far - long if side == "l" else x + far
                    x1, y0, y1 = x0 + long, base - 0.3 * size, base + 1.15 * size
                    inside = x0 >= scale.left and x1 <= scale.right and y0 > bottom + 0.6
                    if inside and y1 < top + 4 and taken.free(x0, y0, x1, y1):
                        chart.text(x0, base, words, size, bold=bold, halo=0.7)
                        taken.add(x0 - 0.8, y0 - pad, x1 + 0.8, y1 + pad)
                        return True
        return False

    unique = [result.columns[i] for i in _firsts(result)]
    for column in unique:
        outcome = column.outcome_now
        if outcome.totals[0] == outcome.totals[-1]:
            continue
        sure = outcome.quantile(_SURE)
        x = scale.at(sure)
        words = f"{money_text(enough(sure), code=code)} is enough in 16 of 20"
        chart.line(x, bottom, x, up(_SURE), 0.18, colour=ink.GREY_1, dash=(0.6, 0.8))
        taken.add(x - 0.5, bottom, x + 0.5, up(_SURE))
        if len(unique) <= 3:
            place(x, up(_SURE), words, sizes.note, bold=False, sides="lr")
        chart.items.append(Circle(centre=(x, up(_SURE)), radius=0.85, weight=0.35, fill=ink.PAPER))
    if cap_x is not None and scale.cap is not None:
        chart.line(cap_x, bottom, cap_x, top + 3.0, 0.55, colour=ink.TIMBER)
        for column in unique:
            share = column.outcome_now.chance(scale.cap)
            chart.items.append(
                Circle(centre=(cap_x, up(share)), radius=1.15, fill=ink.TIMBER, about=column.id)
            )
            if len(unique) <= 3 or 0.03 < share < 0.97:
                place(
                    cap_x,
                    up(share),
                    column.chance_words,
                    sizes.name,
                    bold=True,
                    sides="lr",
                    pad=3.0,
                )
    for points, name in zip(curves, names):
        shown = lettering.shorten(name, size=sizes.name, width=44.0, weight="semibold")
        for level in (0.42, 0.3, 0.55, 0.2, 0.66, 0.12, 0.78, 0.9):
            start = next((x for x, y in points if y >= up(level)), None)
            if start is None or len(result.columns) == 1:
                continue
            if place(start, up(level), shown, sizes.name * 1.1, bold=True, sides="rl"):
                break
    scale_ticks, _ = ticks(scale.low, scale.high, most=8)
    sign = currency(code).sign
    longest = max(
        lettering.advance(f"{number_text(t)} {sign}", size=sizes.note) for t in scale_ticks
    )
    pitch = (scale.right - scale.left) / max(1, len(scale_ticks))
    each = max(1, math.ceil((longest + 4.0) / pitch))
    for tick in scale_ticks[::each]:
        x = scale.at(tick)
        chart.line(x, bottom, x, bottom - 0.9, 0.25)
        words = number_text(tick, decimals=0 if scale.high - scale.low > 20 else 2)
        chart.text(
            x, bottom - 2.2 - sizes.note, f"{words}\u00a0{sign}", sizes.note, anchor="middle"
        )
    total = "Total, tax included" if result.with_tax else "Total, before tax"
    chart.text(area.left, bottom - 2.2 - sizes.note, total, sizes.note, colour=ink.GREY_1)


def _firsts(result: Budget) -> list[int]:
    """Columns whose outcomes differ from those before."""
    seen: set[tuple[float, float, float]] = set()
    found = []
    for i, column in enumerate(result.columns):
        o = column.outcome_now
        key = (o.p10, o.p50, o.p80)
        if key not in seen:
            seen.add(key)
            found.append(i)
    return found


def _basis_lines(result: Budget, sizes: Sizes, width: float) -> tuple[str, ...]:
    words = result.basis[:1].upper() + result.basis[1:] + "."
    if any(column.later for column in result.columns):
        words += " Where something is paid next year, this year's sum is drawn."
    return wrapped(words, size=sizes.note, width=width, most=2)


def chance(
    result: Budget,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    note: str = "",
) -> Drawing:
    """The chance of staying under the cap: twenty outcomes and the curve.

    Parameters
    ----------
    result : Budget
        From :func:`designkit.costs.budget`, one to five columns.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`.
    page : bool
        The drawing alone, for a study page.
    note : str
        A few italic words at the top right of the sheet.

    Returns
    -------
    Drawing
        The sheet, or the drawing alone. Drawn sums are rounded up to three
        figures.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.
    """
    count = len(result.columns)
    sheet = None
    if page:
        sizes = sizes_for(width=PAGE_WIDTH, page=True)
        area = whole_area(PAGE_WIDTH, 108.0 + 17.0 * count)
    else:
        sheet = open_sheet(
            block,
            question=_question(result),
            answer=_answer(result),
            paper=paper,
            scale=f"{result.draws:,} draws, seed {result.seed}",
            note=note,
        )
        area, sizes = sheet.area, sizes_for(width=sheet.width, page=False)
    chart = Chart(sizes)
    scale = _Scale(result, result.columns)
    names = 0.145 * area.width
    scale.lay(area.left + names + 3.0, area.right - 0.105 * area.width - 3.0)
    basis = _basis_lines(result, sizes, area.width)
    axis = 2.2 + sizes.note + (len(basis) + 0.3) * sizes.pitch(sizes.note)
    head = sizes.head + 3.0
    room = area.height - axis - 2 * head - 8.0
    row = min(24.0, room * (0.3 + 0.06 * count) / count)
    dot = _dot(result, scale, row)
    y = area.top - sizes.head
    chart.text(area.left, y, "1", sizes.head, bold=True)
    chart.text(area.left + 5.0, y, "Twenty equally likely outcomes", sizes.head, bold=True)
    key = (
        "each dot 1 in 20; filled: under the cap, open: over"
        if result.cap is not None
        else "each dot 1 in 20"
    )
    chart.text(area.right, y, key, sizes.note, colour=ink.GREY_1, anchor="end")
    cap_y = y - sizes.name - 4.0
    if result.cap is not None and scale.cap is not None:
        words = f"the cap, {money_text(result.cap, code=result.currency)}"
        if scale.near:
            long = lettering.advance(words, size=sizes.name, weight="semibold")
            middle = min(max(scale.at(scale.cap), scale.left + long / 2), scale.right - long / 2)
            chart.text(
                middle, cap_y, words, sizes.name, bold=True, colour=ink.TIMBER, anchor="middle"
            )
        else:
            over = scale.cap > scale.high
            chart.text(
                scale.right if over else scale.left,
                cap_y,
                f"{words} →" if over else f"← {words}",
                sizes.name,
                bold=True,
                colour=ink.TIMBER,
                anchor="end" if over else "start",
            )
    first = cap_y - 1.5
    last = first - count * row
    if scale.near and scale.cap is not None:
        x = scale.at(scale.cap)
        chart.line(x, first, x, last, 0.55, colour=ink.TIMBER)
    y = _draw_dots(chart, result, scale, area, first, row, dot, names)
    y -= 6.0 + sizes.head
    chart.text(area.left, y, "2", sizes.head, bold=True)
    chart.text(
        area.left + 5.0,
        y,
        "The same as a curve: pick a sum, read the chance that it is enough",
        sizes.head,
        bold=True,
    )
    bottom = area.bottom + axis + 1.0
    _draw_curves(chart, result, scale, area, y - 7.0, bottom)
    at = bottom - 2.2 - sizes.note
    for words in basis:
        at -= sizes.pitch(sizes.note)
        chart.text(area.left, at - 0.6, words, sizes.note, colour=ink.GREY_1)
    text = chance_text(result)
    if sheet is not None:
        return sheet.drawing(chart.items, title=_question(result), text=text)
    return Drawing(
        width=PAGE_WIDTH,
        height=area.top + 0.5,
        items=tuple(chart.items),
        title=_question(result),
        text=text,
    )
