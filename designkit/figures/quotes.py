"""Quotes against the written scope, line by line, brought to the same work.

Rows are the scope's lines, columns the contractors, all on one scale. A full
bar is the contractor's own price, a hatched one an estimate for what the
contractor leaves out. The accent is the gate: what must be there before any
of it is quoted or scheduled.
"""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Sequence
from decimal import Decimal

from designkit.costs import LevelledQuote, Levelling, QuoteCell, money_text
from designkit.costs.money import currency
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.budget_paper import LARGER
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    Sizes,
    amount_text,
    days_text,
    fitted,
    open_sheet,
    sizes_for,
    whole_area,
    wrapped,
)
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import Area, Sheet, TitleBlock
from designkit.units import NBSP

__all__ = ["quotes", "quotes_text"]

_STATES = {
    "left out": "left out, estimated",
    "missing": "not mentioned, estimated",
    "apart": "priced apart, estimated",
    "unclear": "unclear whether in",
}


def _number(result: Levelling, amount: Decimal) -> str:
    return amount_text(amount, code=result.currency)


def _unit(unit: str) -> str:
    return f"{NBSP}per{NBSP}{unit}" if unit else ""


def _state(cell: QuoteCell, result: Levelling) -> str:
    """The second line of a cell: what is odd about it, and the price of one unit."""
    words = []
    if cell.state == "in another line":
        words.append("in another line")
    elif cell.state != "priced":
        said = _STATES[cell.state]
        if cell.levelled is None:
            said = f"{said.split(',')[0]}, nobody prices it"
        elif not cell.estimate:
            said = said.split(",")[0]
        words.append(said)
    if cell.per_unit is not None and cell.unit not in ("lot", "", "day"):
        words.append(f"{money_text(cell.per_unit, code=result.currency)}{_unit(cell.unit)}")
    return "; ".join(words)


def _validity(quote: LevelledQuote) -> str:
    if not quote.valid_until:
        return "no date to which it holds"
    day = days_text(datetime.date.fromisoformat(quote.valid_until), year=True)
    return f"ran out on {day}" if quote.validity == "has run out" else f"holds until {day}"


def _under(quote: LevelledQuote, result: Levelling) -> list[tuple[str, bool]]:
    """The lines under a levelled total, and whether each is bold."""
    code = result.currency
    said: list[tuple[str, bool]] = []
    if not quote.complete:
        said.append(("not complete: a line has no price", True))
    if quote.estimated:
        said.append((f"{money_text(quote.estimated, code=code)} of it estimated", False))
    if quote.levelled_per_unit is not None:
        words = f"{money_text(quote.levelled_per_unit, code=code)}{_unit(result.unit)}"
        said.append((words, False))
    said.append((f"{money_text(quote.quoted, code=code)} as quoted", False))
    said.append((_validity(quote), quote.validity in ("has run out", "no date")))
    for row in quote.outside:
        amount = "" if row.amount is None else f", {money_text(row.amount, code=code)}"
        said.append((f"outside the scope: {row.line}{amount}", False))
    return said


def quotes_text(result: Levelling) -> str:
    """The comparison in words, for who cannot see the sheet.

    Parameters
    ----------
    result : Levelling
        From :func:`designkit.costs.level`.

    Returns
    -------
    str
        The answer, the gate, each quote with what it leaves out and the
        questions to ask.
    """
    code = result.currency
    said = [result.answer]
    if result.gate is not None:
        said.append(f"Gate: {result.gate.what}; {result.gate.mend}.")
    for quote in result.quotes:
        words = (
            f"{quote.contractor}: {money_text(quote.levelled, code=code)} for the same work, "
            f"{money_text(quote.quoted, code=code)} as quoted, {_validity(quote)}"
        )
        if quote.leaves_out:
            words += f"; {', '.join(quote.leaves_out)}"
        said.append(words + ".")
        if quote.questions:
            said.append("Ask: " + " ".join(quote.questions))
    return " ".join(said)


class _Grid:
    """The table of lines and contractors while it is laid out."""

    def __init__(self, result: Levelling, sizes: Sizes, *, width: float) -> None:
        self.result, self.sizes = result, sizes
        count = len(result.quotes)
        self.lines = [cell.text for cell in result.quotes[0].cells]
        self.name_width = min(62.0, max(0.26 * width, 34.0))
        self.gap = 5.0
        self.column = min(62.0, (width - self.name_width) / count)
        self.width = self.name_width + count * self.column
        self.bar = sizes.name * 1.45
        cells = [cell for quote in result.quotes for cell in quote.cells]
        labels = [self.label(cell) for cell in cells]
        room = self.column - self.gap
        self.label_size = fitted(
            labels, size=sizes.name, width=room - 2.0, floor=ink.SMALLEST, bold=True
        )
        self.scale = 0.0
        free = [
            (room - 1.6 - lettering.advance(words, size=self.label_size)) / float(cell.levelled)
            for cell, words in zip(cells, labels)
            if cell.levelled
        ]
        most = max((float(cell.levelled) for cell in cells if cell.levelled), default=0.0)
        if free and min(free) * most >= 3.0:
            self.scale = min(free)
        note = sizes.note
        self.heads = [
            wrapped(words[:1].upper() + words[1:], size=sizes.name, width=self.name_width - 4.0)
            for words in self.lines
        ]
        self.said = [
            [
                wrapped(_state(quote.cells[i], result), size=note, width=room, most=3)
                for quote in result.quotes
            ]
            for i in range(len(self.lines))
        ]
        self.heights = [
            max(
                sizes.name * 1.55
                + 1.5
                + max(len(s) for s in said) * sizes.pitch(note)
                + (note * 0.6 if any(said) else 0.0),
                1.6 + len(head) * sizes.pitch(sizes.name) + 0.4,
            )
            for head, said in zip(self.heads, self.said)
        ]
        self.under = [
            [
                (line, bold)
                for words, bold in _under(quote, result)
                for line in wrapped(words, size=note, width=room, bold=bold, most=3)
            ]
            for quote in result.quotes
        ]
        self.totals = [money_text(quote.levelled, code=result.currency) for quote in result.quotes]
        self.total_size = fitted(
            self.totals, size=sizes.total, width=room, floor=sizes.small, bold=True
        )
        self.names = [
            wrapped(quote.contractor, size=sizes.head, width=room, bold=True, most=2)
            for quote in result.quotes
        ]
        self.head = (
            sizes.head
            + (max(map(len, self.names)) - 1) * sizes.pitch(sizes.head)
            + sizes.pitch(note) * 1.12
            + 2.2
        )
        self.foot = 3.2 + self.total_size + max(map(len, self.under)) * sizes.pitch(note) + 2.0

    def label(self, cell: QuoteCell) -> str:
        """The sum in a cell."""
        if cell.levelled is None:
            return "no price"
        if cell.state == "in another line":
            return "0"
        return _number(self.result, cell.levelled)

    def draw(
        self, chart: Chart, area: Area, rows: Sequence[int], *, total: bool, extra: float
    ) -> float:
        """Heads, some of the rows, and the totals; gives where it ends."""
        sizes, result = self.sizes, self.result
        left, y = area.left, area.top
        right = left + self.width - self.gap
        starts = [left + self.name_width + i * self.column for i in range(len(result.quotes))]
        for x, quote, names in zip(starts, result.quotes, self.names):
            at = y - sizes.head
            for name in names:
                chart.text(x, at, name, sizes.head, bold=True, about=quote.contractor)
                at -= sizes.pitch(sizes.head)
            at += sizes.pitch(sizes.head) - sizes.pitch(sizes.note) * 1.12
            count = len(quote.leaves_out)
            words = f"{count} of {len(quote.cells)} lines open" if count else "every line is priced"
            shown = lettering.shorten(words, size=sizes.note, width=self.column - 1.0)
            chart.text(x, at, shown, sizes.note, colour=ink.GREY_1)
        y -= self.head
        for row in rows:
            chart.line(left, y, right, y, 0.13, colour=ink.GREY_4)
            base = y - 1.5 - sizes.name * 1.22
            at = base
            for words in self.heads[row]:
                chart.text(left, at, words, sizes.name)
                at -= sizes.pitch(sizes.name)
            for x, quote, said in zip(starts, result.quotes, self.said[row]):
                self._cell(chart, quote.cells[row], said, x, base)
            y -= self.heights[row] + extra
        y -= 0.6
        chart.line(left, y, right, y, 0.4)
        if not total:
            return y
        base = y - 3.0 - self.total_size
        label = wrapped(
            "For the same work", size=sizes.name * 1.12, width=self.name_width - 4.0, bold=True
        )
        for i, words in enumerate(label):
            at = base - i * sizes.pitch(sizes.name * 1.12)
            chart.text(left, at, words, sizes.name * 1.12, bold=True)
        for x, sum_, under in zip(starts, self.totals, self.under):
            chart.text(x, base, sum_, self.total_size, bold=True)
            at = base - 0.4
            for words, bold in under:
                at -= sizes.pitch(sizes.note)
                chart.text(x, at, words, sizes.note, bold=bold)
        return y - self.foot

    def _cell(
        self, chart: Chart, cell: QuoteCell, said: tuple[str, ...], x: float, base: float
    ) -> None:
        sizes = self.sizes
        low = base - (self.bar - sizes.name) / 2
        amount = float(cell.levelled or 0)
        long = amount * self.scale
        if long > 0:
            open_ = cell.estimate or cell.state == "unclear"
            chart.bar(
                x,
                x + long,
                low,
                self.bar,
                fill="" if open_ else ink.INK,
                weight=0.22 if open_ else 0.0,
                hatch=open_,
                about=cell.line,
            )
        if self.scale:
            chart.line(x, low - 0.6, x, low + self.bar + 0.6, 0.3)
        chart.text(
            x + long + 1.6 if self.scale else x,
            base + (sizes.name - self.label_size) / 2,
            self.label(cell),
            self.label_size,
            bold=cell.levelled is None,
            colour=ink.GREY_1 if cell.estimate else ink.INK,
        )
        at = base - sizes.pitch(sizes.note) - sizes.note * 0.18
        for words in said:
            chart.text(x, at, words, sizes.note, colour=ink.GREY_1)
            at -= sizes.pitch(sizes.note)


# --- spread and questions -----------------------------------------------------


def _strips(result: Levelling) -> list[tuple[str, str, list[tuple[str, float]]]]:
    """Name, how far apart, and who stands where."""
    found = []
    quoted = [(quote.contractor, float(quote.quoted)) for quote in result.quotes]
    same = [(q.contractor, float(q.levelled)) for q in result.quotes if q.complete]
    for name, spread, sums in (
        ("as quoted", result.spread_quoted, quoted),
        ("for the same work", result.spread_levelled, same),
    ):
        if spread is not None:
            found.append((name, f"dearest {spread:.1f} times the cheapest", sums))
    return found


def _spread_height(result: Levelling, sizes: Sizes) -> float:
    strips = _strips(result)
    if not strips:
        return 0.0
    row = sizes.pitch(sizes.name) + sizes.pitch(sizes.note) + 8.2 + sizes.note
    return sizes.head + 2.5 + len(strips) * row + 5.0


def _short(name: str) -> str:
    """ "Contractor A" stands as "A" on a strip; other names as their first word."""
    last = name.split()[-1] if name.split() else name
    return last if len(last) <= 2 else name.split()[0][:8]


def _draw_spread(chart: Chart, result: Levelling, x: float, top: float, width: float) -> float:
    strips = _strips(result)
    if not strips:
        return top
    sizes = chart.sizes
    y = top - sizes.head
    chart.text(x, y, "How far apart they are", sizes.head, bold=True)
    y -= 2.5
    sums = [v for _, _, points in strips for _, v in points]
    low, high = min(sums), max(sums)
    span = high - low or 1.0
    for name, words, points in strips:
        y -= sizes.pitch(sizes.name)
        chart.text(x, y, name[:1].upper() + name[1:], sizes.name)
        y -= sizes.pitch(sizes.note)
        chart.text(x, y, words, sizes.note, colour=ink.GREY_1)
        y -= 5.6
        start, end = x + 1.0, x + width - 1.0
        chart.line(start, y, end, y, 0.13, colour=ink.GREY_3)
        last = [-1e9, -1e9]
        for who, value in sorted(points, key=lambda p: p[1]):
            at = start + (value - low) / span * (end - start)
            chart.line(at, y - 1.0, at, y + 1.0, 0.7)
            label = _short(who)
            long = lettering.advance(label, size=sizes.note)
            middle = min(max(at, x + long / 2), x + width - long / 2)
            # A name that would touch the one before stands under the line.
            for side, rise in ((0, 1.7), (1, -1.7 - sizes.note)):
                if middle - long / 2 > last[side] + 0.8:
                    chart.text(middle, y + rise, label, sizes.note, anchor="middle")
                    last[side] = middle + long / 2
                    break
        y -= sizes.note + 2.6
    return y - 5.0


def _questions(result: Levelling, sizes: Sizes, width: float) -> list[tuple[str, bool]]:
    """All lines of the panel of questions, and whether each is a name."""
    said: list[tuple[str, bool]] = []
    for quote in result.quotes:
        if not quote.questions:
            continue
        for line in wrapped(quote.contractor, size=sizes.name, width=width, bold=True, most=2):
            said.append((line, True))
        for question in quote.questions:
            for i, line in enumerate(wrapped(question, size=sizes.note, width=width - 3.0)):
                said.append((("– " if i == 0 else "   ") + line, False))
    return said


def _asked_height(lines: Sequence[tuple[str, bool]], sizes: Sizes) -> float:
    if not lines:
        return 0.0
    high = sizes.head + 1.5
    for _, name in lines:
        high += sizes.pitch(sizes.name) + 1.6 if name else sizes.pitch(sizes.note)
    return high + 1.0


def _draw_questions(chart: Chart, lines: Sequence[tuple[str, bool]], x: float, top: float) -> None:
    if not lines:
        return
    sizes = chart.sizes
    y = top - sizes.head
    chart.text(x, y, "To ask", sizes.head, bold=True)
    y -= 1.5
    for words, name in lines:
        if name:
            y -= sizes.pitch(sizes.name) + 1.6
            chart.text(x, y, words, sizes.name, bold=True)
        else:
            y -= sizes.pitch(sizes.note)
            inset = 0.0 if words.startswith("– ") else 2.6
            chart.text(x + inset, y, words.lstrip(" ") if inset else words, sizes.note)


def _draw_gate(chart: Chart, result: Levelling, area: Area, y: float) -> float:
    """The gate as an upright stroke with its rule; gives where it ends."""
    if result.gate is None:
        return y
    sizes = chart.sizes
    room = area.width - 5.0
    heads = wrapped(f"Gate: {result.gate.what}.", size=sizes.name, width=room, bold=True, most=2)
    rest = f"{result.gate.mend[:1].upper()}{result.gate.mend[1:]}."
    lines = wrapped(rest, size=sizes.note, width=room, most=3)
    top = y
    for words in heads:
        y -= sizes.pitch(sizes.name)
        chart.text(area.left + 5.0, y, words, sizes.name, bold=True, colour=ink.TIMBER)
    for words in lines:
        y -= sizes.pitch(sizes.note)
        chart.text(area.left + 5.0, y, words, sizes.note)
    foot = y - 1.0
    for at in (top - 0.6, foot):
        chart.line(area.left, at, area.left + 2.6, at, 0.5, colour=ink.TIMBER)
    chart.line(area.left + 1.3, top - 0.6, area.left + 1.3, foot, 1.0, colour=ink.TIMBER)
    return foot - 5.0


def _gate_height(result: Levelling, sizes: Sizes, width: float) -> float:
    if result.gate is None:
        return 0.0
    room = width - 5.0
    heads = wrapped(f"Gate: {result.gate.what}.", size=sizes.name, width=room, bold=True, most=2)
    rest = wrapped(result.gate.mend, size=sizes.note, width=room, most=3)
    return len(heads) * sizes.pitch(sizes.name) + len(rest) * sizes.pitch(sizes.note) + 6.0


def _key(result: Levelling) -> str:
    sign = currency(result.currency).sign
    open_ = any(c.estimate for q in result.quotes for c in q.cells)
    words = f"Amounts in {sign} as the quotes write them; ask whether tax is in all of them."
    if open_:
        words += " Hatched: estimate, the median of the other quotes, or unclear."
    return words


def quotes(
    result: Levelling,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    note: str = "",
) -> tuple[Drawing, ...]:
    """Quotes for one scope, line by line, brought to the same work.

    What does not fit on A4 or Letter goes on A3 or Tabloid; what does not fit
    there goes on further sheets, the totals on the last one.

    Parameters
    ----------
    result : Levelling
        From :func:`designkit.costs.level`.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`.
    page : bool
        The drawing alone, for a study page.
    note : str
        A few italic words at the top right of the sheets.

    Returns
    -------
    tuple of Drawing
        One, or several where the scope is long.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.
    """
    if page:
        return (_page(result),)
    found = _sheets(result, block=block, paper=paper, note=note)
    if len(found) > 1 and paper in LARGER:
        found = _sheets(result, block=block, paper=LARGER[paper], note=note)
    return found


def _question(result: Levelling) -> str:
    return f"{result.name}: which quote?"


def _widths(width: float, result: Levelling) -> tuple[float, float]:
    panel = 0.29 * width if len(result.quotes) <= 3 else 0.22 * width
    return width - panel - 8.0, panel


def _page(result: Levelling) -> Drawing:
    sizes = sizes_for(width=PAGE_WIDTH, page=True)
    width = PAGE_WIDTH - 1.0
    main, panel = _widths(width, result)
    grid = _Grid(result, sizes, width=main)
    lines = _questions(result, sizes, panel)
    gate = _gate_height(result, sizes, width)
    key = wrapped(_key(result), size=sizes.note, width=main)
    left = grid.head + sum(grid.heights) + grid.foot + (len(key) + 1) * sizes.pitch(sizes.note)
    right = _spread_height(result, sizes) + _asked_height(lines, sizes)
    height = gate + max(left, right) + 2.0
    area = whole_area(PAGE_WIDTH, height)
    chart = Chart(sizes)
    top = _draw_gate(chart, result, area, area.top)
    area = Area(left=area.left, bottom=area.bottom, right=area.right, top=top)
    end = grid.draw(chart, area, range(len(grid.lines)), total=True, extra=0.0)
    for words in key:
        end -= sizes.pitch(sizes.note)
        chart.text(area.left, end, words, sizes.note, colour=ink.GREY_1)
    x = area.right - panel
    at = _draw_spread(chart, result, x, top, panel)
    _draw_questions(chart, lines, x, at)
    return Drawing(
        width=PAGE_WIDTH,
        height=height,
        items=tuple(chart.items),
        title=_question(result),
        text=quotes_text(result),
    )


def _sheets(
    result: Levelling, *, block: TitleBlock | None, paper: str, note: str
) -> tuple[Drawing, ...]:
    sign = currency(result.currency).sign

    def open_(number: TitleBlock | None) -> Sheet:
        return open_sheet(
            number,
            question=_question(result),
            answer=result.answer,
            paper=paper,
            scale=f"amounts in {sign}",
            note=note,
        )

    sheet = open_(block)
    assert block is not None  # or open_sheet has said so
    sizes = sizes_for(width=sheet.width, page=False)
    main, panel = _widths(sheet.area.width, result)
    grid = _Grid(result, sizes, width=main)
    asked = _questions(result, sizes, panel)
    key = wrapped(_key(result), size=sizes.note, width=main)
    notes = (len(key) + 0.6) * sizes.pitch(sizes.note)
    rows = list(range(len(grid.lines)))
    charts: list[Chart] = []
    total = False
    while not total:
        chart, area = Chart(sizes), sheet.area
        if not charts:
            top = _draw_gate(chart, result, area, area.top)
            area = dataclasses.replace(area, top=top)
        room = area.height - grid.head - notes - 1.0
        here: list[int] = []
        while rows and sum(grid.heights[r] for r in (*here, rows[0])) <= room:
            here.append(rows.pop(0))
        if not here and rows:
            here.append(rows.pop(0))  # one row at least, however small the paper
        rest = room - sum(grid.heights[r] for r in here)
        total = not rows and (rest >= grid.foot or not here)
        extra = max(0.0, min(4.0, (rest - grid.foot) / max(1, len(here)))) if total else 0.0
        end = grid.draw(chart, area, here, total=total, extra=extra)
        for words in key:
            end -= sizes.pitch(sizes.note)
            chart.text(area.left, end - 0.4, words, sizes.note, colour=ink.GREY_1)
        x = area.right - panel
        at = area.top if charts else _draw_spread(chart, result, x, area.top, panel)
        _draw_questions(chart, _fitting(asked, sizes, at - area.bottom), x, at)
        charts.append(chart)
    while asked:  # sheets of questions alone, in columns
        chart, area = Chart(sizes), sheet.area
        x = area.left
        while asked and x + panel <= area.right + 0.1:
            fit = _fitting(asked, sizes, area.height) or [asked.pop(0)]
            _draw_questions(chart, fit, x, area.top)
            x += panel + 8.0
        charts.append(chart)
    found = []
    for number, chart in enumerate(charts, 1):
        title = block.title
        if len(charts) > 1:
            title += f", page {number} of {len(charts)}"
        here_ = open_(dataclasses.replace(block, title=title))
        found.append(here_.drawing(chart.items, title=_question(result), text=quotes_text(result)))
    return tuple(found)


def _fitting(asked: list[tuple[str, bool]], sizes: Sizes, room: float) -> list[tuple[str, bool]]:
    """Takes from the lines that are still to be asked what fits a panel."""
    fit: list[tuple[str, bool]] = []
    while asked and _asked_height([*fit, asked[0]], sizes) <= room:
        fit.append(asked.pop(0))
    while asked and fit and fit[-1][1]:
        asked.insert(0, fit.pop())  # no name without its first question
    return fit
