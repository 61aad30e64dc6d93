"""Scenarios side by side: what each comes to, what it changes, what moves it.

The same rows in the same order and on one scale in every column. Grey is as
in the first column, black is changed (with the change in words), hatched is
paid next year. The accent is the cap and nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from designkit.costs import Budget, BudgetColumn, BudgetRow, money_text
from designkit.costs.money import currency
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.budget_paper import LARGER
from designkit.figures.chance import chance
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    Sizes,
    amount_text,
    fitted,
    open_sheet,
    sizes_for,
    whole_area,
    widest,
    wrapped,
)
from designkit.figures.drawing import Drawing
from designkit.figures.moves import (
    draw_drivers,
    draw_ranges,
    driver_heights,
    drivers_head,
    ranges_height,
)
from designkit.figures.sheet import Area, TitleBlock

__all__ = ["budget_text", "chance", "scenarios"]

_ZERO = Decimal(0)
_FEWEST_ROWS = 4
_MOST_WORDS = 9  # lines of words in a cell where there is room for them


def _terms(result: Budget) -> str:
    return "tax included" if result.with_tax else "before tax"


@dataclass(frozen=True, kw_only=True)
class _Cell:
    label: str
    later: str  # next year's part where the label does not hold it
    bold: bool
    words: str


class _Table:
    """The table while it is laid out: what stands in each cell and how high rows are."""

    def __init__(self, result: Budget, sizes: Sizes, *, width: float, share: float) -> None:
        self.result, self.sizes = result, sizes
        self.columns = result.columns
        self.rows = list(range(len(result.categories)))
        self.names = [name[:1].upper() + name[1:] for name in result.categories]
        self.name_width = min(
            max(widest(self.names, size=sizes.name) + 4.0, 26.0), 0.17 * width + 2.0
        )
        count = len(self.columns)
        self.gap = 4.0
        self.column = min(64.0, (width * (1 - share) - self.name_width) / count)
        self.width = self.name_width + count * self.column
        self.head_size = fitted(
            (c.name for c in self.columns),
            size=sizes.head,
            width=self.column - self.gap,
            floor=sizes.name * 1.1,
            bold=True,
        )
        self.cut = False  # whether words had to be left out
        self.base = sizes.name * 1.55 + 2.0
        self.bar = sizes.name * 1.45
        self._labels()

    # --- what stands in the cells -------------------------------------------

    def amount(self, amount: Decimal) -> str:
        return amount_text(amount, code=self.result.currency, step=self.result.step)

    def values(self, column: int, row: int) -> tuple[Decimal, Decimal]:
        if row < 0:  # several small rows in one
            rows = [self.columns[column].rows[i] for i in self.small]
            return sum((r.now for r in rows), _ZERO), sum((r.later for r in rows), _ZERO)
        it = self.columns[column].rows[row]
        return it.now, it.later

    small: Sequence[int] = ()

    def cell(self, column: int, row: int) -> _Cell:
        now, later = self.values(column, row)
        label, after = self.amount(now), ""
        if later:
            after = f"{'−' if later < 0 else '+'} {self.amount(abs(later))}"
            if not self.stacked:
                label, after = f"{label} {after}", ""
        if row < 0:
            return _Cell(label=label, later=after, bold=False, words="")
        it = self.columns[column].rows[row]
        bold = it.changed and it.kind == "category"
        return _Cell(label=label, later=after, bold=bold, words="; ".join(it.words))

    def _labels(self) -> None:
        """Bars and labels share a column: the scale is what the worst cell leaves."""
        self.stacked = False
        self.label_size = self.sizes.name
        for stacked in (False, True):
            self.stacked = stacked
            if self._scale() * float(self._largest()) >= 9.0:
                break
        room = self.column - self.gap
        self.label_size = fitted(
            (self.cell(c, r).label for c in range(len(self.columns)) for r in self.rows),
            size=self.sizes.name,
            width=room - 2.0,
            floor=ink.SMALLEST,
            bold=True,
        )
        self.scale = max(0.0, self._scale())
        if self.scale * float(self._largest()) < 3.0:
            self.scale = 0.0  # no room for a bar: the table stands alone
        self.zero = self.scale * float(self._lowest())

    def _largest(self) -> Decimal:
        return max(
            (
                max(abs(v) for v in (*self.values(c, r), sum(self.values(c, r), _ZERO)))
                for c in range(len(self.columns))
                for r in self.rows
            ),
            default=_ZERO,
        )

    def _lowest(self) -> Decimal:
        return max(
            (
                sum((-v for v in self.values(c, r) if v < 0), _ZERO)
                for c in range(len(self.columns))
                for r in self.rows
            ),
            default=_ZERO,
        )

    def _scale(self) -> float:
        low, best = float(self._lowest()), float("inf")
        room = self.column - self.gap - 1.6
        for c in range(len(self.columns)):
            for r in self.rows:
                cell = self.cell(c, r)
                up = float(sum((v for v in self.values(c, r) if v > 0), _ZERO))
                weight = "semibold" if cell.bold else "regular"
                long = lettering.advance(cell.label, size=self.label_size, weight=weight)
                if up + low > 0:
                    best = min(best, (room - long) / (up + low))
        return best if best < float("inf") else 0.0

    # --- how high it is ------------------------------------------------------

    def words(self, column: int, row: int, most: int) -> tuple[str, ...]:
        cell = self.cell(column, row)
        said = "; ".join(w for w in (cell.later and f"{cell.later} next year", cell.words) if w)
        room = self.column - self.gap
        return wrapped(said, size=self.sizes.note, width=room, most=most)

    def lay(self, most: int, base: float) -> None:
        """Heights of the rows with at most so many lines of words."""
        self.base = base
        self.said: dict[tuple[int, int], tuple[str, ...]] = {}
        self.heads: dict[int, tuple[str, ...]] = {}
        self.heights = [self.row_height(r, most) for r in self.rows]

    def row_height(self, row: int, most: int) -> float:
        """One row with at most so many lines of words in a cell."""
        for c in range(len(self.columns)):
            self.said[c, row] = self.words(c, row, most)
        self.heads[row] = wrapped(
            self.name(row), size=self.sizes.name, width=self.name_width - 3.0, most=max(1, most)
        )
        lines = self.lines_in(row)
        named = (len(self.heads[row]) - 1) * self.sizes.pitch(self.sizes.name)
        tail = self.sizes.note * 0.7 if lines else 0.0
        return self.base + max(lines * self.sizes.pitch(self.sizes.note) + tail, named)

    def lines_in(self, row: int) -> int:
        """Lines of words in the fullest cell of a row."""
        return max(len(self.said[c, row]) for c in range(len(self.columns)))

    def name(self, row: int) -> str:
        return f"Other, {len(self.small)} headings" if row < 0 else self.names[row]

    def fit(self, room: float) -> None:
        """Take air away, then words where there are most, then small rows, until the rows fit."""
        tight = self.sizes.name * 1.85
        for base in (self.base, (self.base + tight) / 2, tight):
            self.lay(_MOST_WORDS, base)
            if sum(self.heights) <= room:
                return
        while sum(self.heights) > room:
            lines = [max(self.lines_in(r), len(self.heads[r]) - 1) for r in self.rows]
            most = max(lines)
            if most == 0:
                break
            at = lines.index(most)
            self.cut = True
            self.heights[at] = self.row_height(self.rows[at], most - 1)
        if sum(self.heights) <= room:
            return
        keep = max(_FEWEST_ROWS, int(room / tight) - 1)
        order = sorted(
            range(len(self.names)),
            key=lambda r: (
                -max(abs(sum(self.values(c, r), _ZERO)) for c in range(len(self.columns)))
            ),
        )
        kept = sorted(order[:keep])
        self.small = sorted(order[keep:])
        self.rows = [*kept, -1]
        self._labels()
        self.lay(0, tight)

    def spread(self, room: float, *, pitch: float) -> None:
        """Share out what room is left, up to a comfortable pitch."""
        rest = room - sum(self.heights)
        if rest > 0:
            more = min(rest / len(self.rows), max(0.0, pitch - self.base))
            self.heights = [h + more for h in self.heights]


class _Foot:
    """Totals, what the cap does not hold, and the notes under the table."""

    def __init__(self, table: _Table, *, keys: Sequence[str], gates: Sequence[str]) -> None:
        result, sizes = table.result, table.sizes
        room = table.column - table.gap
        code = result.currency
        self.totals = [money_text(c.now, code=code) for c in result.columns]
        self.total_size = fitted(
            self.totals, size=sizes.total, width=room, floor=sizes.small, bold=True
        )
        self.distance = [
            wrapped(_distance(c, result), size=sizes.note, width=room, most=3)
            for c in result.columns
        ]
        apart = [
            i
            for i, row in enumerate(result.columns[0].apart)
            if any(c.apart[i].total for c in result.columns)
        ]
        self.apart: list[tuple[str, list[str], bool]] = []
        for i in apart:
            row = result.columns[0].apart[i]
            self.apart.append(
                (
                    f"{row.name}, not in the cap" if result.cap is not None else row.name,
                    [_both(c.apart[i], table) for c in result.columns],
                    False,
                )
            )
        if apart:
            years = any(c.later for c in result.columns)
            self.apart.append(
                (
                    "To pay, both years" if years else "To pay in all",
                    [money_text(c.to_pay, code=code) for c in result.columns],
                    True,
                )
            )
        self.notes = [
            wrapped(words, size=sizes.note, width=table.width - 4.0, most=2)
            for words in (" ".join(keys), *gates)
            if words
        ]
        pitch = sizes.pitch(sizes.note)
        self.pitch = pitch
        self.label = wrapped(
            f"Total, {_terms(result)}",
            size=sizes.name * 1.12,
            width=table.name_width - 2.0,
            bold=True,
            most=2,
        )
        lines = max(len(self.label) - 1, *map(len, self.distance))
        self.head = 2.6 + self.total_size + (lines * pitch + 2.2)
        self.row = sizes.name * 2.05
        self.height = self.head + len(self.apart) * self.row + 1.2
        self.notes_height = sum(len(n) for n in self.notes) * pitch + 2.6


def _both(row: BudgetRow, table: _Table) -> str:
    if not row.later:
        return table.amount(row.now)
    sign = "−" if row.later < 0 else "+"
    return f"{table.amount(row.now)} {sign} {table.amount(abs(row.later))}"


def _distance(column: BudgetColumn, result: Budget) -> str:
    """What stands under a total: how far from the cap, and what comes later."""
    code = result.currency
    words = []
    if column.cap_now is not None:
        if column.cap_now == 0:
            words.append("exactly the cap")
        else:
            side = "under" if column.cap_now > 0 else "over"
            words.append(f"{money_text(abs(column.cap_now), code=code)} {side} the cap")
    if column.later:
        words.insert(0, "this year")
        words.append(f"then {money_text(column.later, code=code)} next year")
    return ", ".join(words) if column.later else " ".join(words)


def _question(result: Budget) -> str:
    if result.cap is None:
        return (
            "What does each scenario come to?" if len(result.columns) > 1 else "What does it cost?"
        )
    cap = money_text(result.cap, code=result.currency)
    return (
        f"Which scenario keeps us under {cap}?"
        if len(result.columns) > 1
        else f"Does it stay under {cap}?"
    )


def _keys(result: Budget) -> list[str]:
    sign = currency(result.currency).sign
    said = [f"Amounts in {sign}, {_terms(result)}."]
    rows = [row for column in result.columns for row in column.rows]
    if any(row.changed for row in rows):
        first = result.columns[0].name
        said.append(f"Grey: as in “{first}”. Black: changed.")
    if any(row.later for row in rows):
        said.append("Hatched: paid next year.")
    if any(row.now < 0 or row.later < 0 for row in rows):
        said.append("Outline, to the left: taken off.")
    return said


def _gates(result: Budget) -> list[str]:
    said = [f"Not firm: {finding.what}." for finding in result.gates[:2]]
    if len(result.gates) > 2:
        said[-1] += f" {len(result.gates) - 2} more like this."
    return said


def budget_text(result: Budget) -> str:
    """The scenarios in words, for who cannot see the sheet.

    Parameters
    ----------
    result : Budget
        From :func:`designkit.costs.budget`.

    Returns
    -------
    str
        The answer, each scenario with its total and changes, what moves the
        sum, and what is not firm.
    """
    code = result.currency
    said = [result.answer]
    for column in result.columns:
        words = _distance(column, result)
        text = f"{column.name}: {money_text(column.now, code=code)}{', ' + words if words else ''}."
        changed = [
            f"{row.name} {money_text(row.total, code=code)}"
            + (f" ({'; '.join(row.words)})" if row.words else "")
            for row in (column.rows if column is result.columns[0] else _changed(column))
        ]
        if changed:
            lead = "" if column is result.columns[0] else "Changed: "
            text += f" {lead}{', '.join(changed)}."
        said.append(text)
    if result.drivers:
        name = result.column(result.scenario).name
        said.append(
            f"What moves “{name}” most: "
            + "; ".join(
                f"{d.name} {amount_text(d.low_change, code=code, sign=True)} to "
                f"{money_text(d.high_change, code=code, sign=True)}"
                for d in result.drivers
            )
            + "."
        )
    return " ".join([*said, *_gates(result)])


def _changed(column: BudgetColumn) -> list[BudgetRow]:
    return [row for row in column.rows if row.changed]


def _draw_table(chart: Chart, table: _Table, foot: _Foot, area: Area, head: float) -> float:
    """Heads, rows and totals; gives the height at which they end."""
    sizes, result = chart.sizes, table.result
    left, y = area.left, area.top
    first = result.columns[0]
    lines = [left + table.name_width + i * table.column for i in range(len(table.columns))]
    pitch = sizes.pitch(sizes.note)
    for x, column in zip(lines, table.columns):
        at = chart.lines(
            x,
            y - sizes.head,
            table.column - table.gap,
            column.name,
            table.head_size,
            bold=True,
            most=2,
            about=column.id,
        )
        at += sizes.pitch(table.head_size) - pitch * 1.12
        chart.lines(
            x,
            at,
            table.column - table.gap,
            _subhead(column, first, result),
            sizes.note,
            colour=ink.GREY_1,
            most=2,
        )
    y -= head
    right = left + table.width - table.gap
    for index, row in enumerate(table.rows):
        high = table.heights[index]
        chart.line(left, y, right, y, 0.13, colour=ink.GREY_4)
        base = y - 1.5 - sizes.name * 1.22
        at = base
        for named in table.heads[row]:
            chart.text(left, at, named, sizes.name)
            at -= sizes.pitch(sizes.name)
        for c, x in enumerate(lines):
            _draw_cell(chart, table, c, row, x, base)
        y -= high
    y -= 0.6
    chart.line(left, y, right, y, 0.4)
    base = y - 2.6 - foot.total_size
    size = sizes.name * 1.12
    for i, label in enumerate(foot.label):
        chart.text(left, base - i * sizes.pitch(size), label, size, bold=True)
    for x, total, words in zip(lines, foot.totals, foot.distance):
        chart.text(x, base, total, foot.total_size, bold=True)
        for i, line in enumerate(words):
            chart.text(x, base - (i + 1) * pitch - 0.4, line, sizes.note)
    y -= foot.head
    for name, sums, bold in foot.apart:
        base = y - foot.row + sizes.name * 0.55
        chart.line(left, y, right, y, 0.13, colour=ink.GREY_4)
        shown = lettering.shorten(
            name,
            size=sizes.name,
            width=table.name_width - 2.0,
            weight="semibold" if bold else "regular",
        )
        small = fitted(
            [name], size=sizes.name, width=table.name_width - 2.0, floor=sizes.small, bold=bold
        )
        if small >= sizes.small and lettering.fits([name], size=small, width=table.name_width):
            shown = name
        else:
            small = sizes.name
        chart.text(left, base, shown, small, bold=bold)
        size = fitted(sums, size=sizes.name, width=table.column - 2, floor=ink.SMALLEST, bold=bold)
        for x, sum_ in zip(lines, sums):
            chart.text(x, base, sum_, size, bold=bold, colour=ink.INK if bold else ink.GREY_1)
        y -= foot.row
    return y


def _subhead(column: BudgetColumn, first: BudgetColumn, result: Budget) -> str:
    if column.note:
        return column.note
    if column is first:
        return "as the lines are written" if len(result.columns) > 1 else ""
    count = len(column.changes)
    return f"{count} {'change' if count == 1 else 'changes'}" if count else "nothing changed"


def _head_height(column: BudgetColumn, table: _Table) -> float:
    sizes, room = table.sizes, table.column - table.gap
    names = wrapped(column.name, size=table.head_size, width=room, bold=True, most=2)
    words = _subhead(column, table.columns[0], table.result)
    notes = wrapped(words, size=sizes.note, width=room, most=2)
    return (
        sizes.head
        + (len(names) - 1) * sizes.pitch(table.head_size)
        + (len(notes) + 0.12) * sizes.pitch(sizes.note)
    )


def _draw_cell(chart: Chart, table: _Table, c: int, row: int, x: float, base: float) -> None:
    sizes = chart.sizes
    now, later = table.values(c, row)
    cell = table.cell(c, row)
    it = table.columns[c].rows[row] if row >= 0 else None
    changed = it.changed if it is not None else table.values(0, row) != (now, later)
    zero = x + table.zero
    fill = ink.INK if changed else ink.GREY_3
    low = base - (table.bar - sizes.name) / 2
    up = down = zero
    for value, next_year in ((now, False), (later, True)):
        long = abs(float(value)) * table.scale
        if long < 1e-9:
            continue
        if value > 0:
            start, up = up, up + long
            end = up
        else:
            start, down = down, down - long
            end = down
        if next_year:
            chart.bar(start, end, low, table.bar, weight=0.22, hatch=True)
        elif value < 0:
            chart.bar(start, end, low, table.bar, weight=0.3)
        else:
            chart.bar(start, end, low, table.bar, fill=fill)
    if table.scale:
        chart.line(zero, low - 0.6, zero, low + table.bar + 0.6, 0.3)
    quiet = not changed and c > 0
    chart.text(
        up + 1.6 if table.scale else x,
        base + (sizes.name - table.label_size) / 2,
        cell.label,
        table.label_size,
        bold=cell.bold,
        colour=ink.GREY_1 if quiet else ink.INK,
    )
    y = base - sizes.pitch(sizes.note) - sizes.note * 0.18
    for words in table.said[c, row]:
        chart.text(x, y, words, sizes.note)
        y -= sizes.pitch(sizes.note)


def scenarios(
    result: Budget,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    note: str = "",
) -> Drawing:
    """Scenarios side by side by category, with totals, ranges and drivers.

    Where the words of the changes do not fit on A4 or Letter, the sheet is A3
    or Tabloid.

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
        The sheet, or the drawing alone.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.
    """
    drawing, cut = _build(result, block=block, paper=paper, page=page, note=note)
    if cut and paper in LARGER:
        drawing, _ = _build(result, block=block, paper=LARGER[paper], page=page, note=note)
    return drawing


def _build(
    result: Budget, *, block: TitleBlock | None, paper: str, page: bool, note: str
) -> tuple[Drawing, bool]:
    """The drawing, and whether words had to be left out."""
    sign = currency(result.currency).sign
    sheet = None
    if page:
        area = Area(left=0.5, bottom=0.5, right=PAGE_WIDTH - 0.5, top=1000.0)
        sizes = sizes_for(width=PAGE_WIDTH, page=True)
    else:
        sheet = open_sheet(
            block,
            question=_question(result),
            answer=result.answer,
            paper=paper,
            scale=f"amounts in {sign}, {_terms(result)}",
            note=note,
        )
        area, sizes = sheet.area, sizes_for(width=sheet.width, page=False)
    count = len(result.columns)
    share = {1: 0.34, 2: 0.32, 3: 0.31, 4: 0.27}.get(count, 0.23)
    table = _Table(result, sizes, width=area.width, share=share)
    gap = 12.0
    panel_x = area.left + table.width - table.gap + gap
    panel = min(area.right - panel_x, 112.0)
    chart = Chart(sizes)
    foot = _Foot(table, keys=_keys(result), gates=_gates(result))
    head = 2.2 + max(_head_height(c, table) for c in result.columns)
    fixed = head + foot.height + foot.notes_height + 0.6
    heights = driver_heights(result, sizes, panel)
    ranges = ranges_height(result, sizes, panel)
    drivers = len(heights)
    if page:
        table.fit(1000.0)
        table.spread(len(table.rows) * 1.0 + sum(table.heights), pitch=9.0)
        wanted = ranges + 6.0 + drivers_head(sizes) + sum(heights) + sizes.note + 5.0
        height = max(fixed + sum(table.heights), wanted) + 1.0
        area = whole_area(PAGE_WIDTH, height)
    else:
        room = area.height - fixed
        table.fit(room)
        table.spread(room, pitch=12.0)
        left = area.height - ranges - 6.0 - drivers_head(sizes) - sizes.note - 1.0
        drivers = 0
        while drivers < len(heights) and sum(heights[: drivers + 1]) <= left:
            drivers += 1
    bottom = _draw_table(chart, table, foot, area, head)
    y = bottom - 2.0
    for index, lines in enumerate(foot.notes):
        colour = ink.GREY_1 if index == 0 else ink.INK  # what is not firm is no small print
        for words in lines:
            y -= foot.pitch
            chart.text(area.left, y + sizes.note * 0.4, words, sizes.note, colour=colour)
    edge = panel_x - gap / 2
    chart.line(edge, area.top, edge, bottom, 0.13, colour=ink.GREY_4)
    end = draw_ranges(chart, result, panel_x, area.top, panel)
    if drivers:
        draw_drivers(chart, result, panel_x, end - 6.0, panel, drivers)
    words = budget_text(result)
    title = _question(result)
    if sheet is not None:
        return sheet.drawing(chart.items, title=title, text=words), table.cut
    drawing = Drawing(
        width=PAGE_WIDTH,
        height=area.top + 0.5,
        items=tuple(chart.items),
        title=title,
        text=words,
    )
    return drawing, False
