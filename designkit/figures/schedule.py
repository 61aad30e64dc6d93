"""Dates counted back from the installation: work, gates, and order by when.

The scale counts down to the day. Black is work where a lost day moves the
day; outline has time in hand; upright ruling waits for a written result; a
heavy stroke with feet is a gate. The accent is today and nothing else.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.budget_paper import LARGER
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    days_text,
    open_sheet,
    sizes_for,
    whole_area,
    wrapped,
)
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import Area, TitleBlock
from designkit.schedule.dates import OrderBy
from designkit.schedule.gates import is_about
from designkit.schedule.network import Dated
from designkit.schedule.programme import Programme
from designkit.units import NBSP

__all__ = ["schedule", "schedule_answer", "schedule_text"]

_FEWEST_ORDERS = 6  # where fewer fit beside the work, the sheet is the next larger one
_BEFORE_TODAY = 8 * 7  # days; what should have begun earlier stands at the edge with its date
_DAY = datetime.timedelta(days=1)


def _count(number: float, word: str) -> str:
    text = f"{number:g}"
    return f"{text}{NBSP}{word}{'' if text == '1' else 's'}"


def _weeks(number: float) -> str:
    return _count(number, "week")


def _lasts(dated: Dated) -> str:
    """How long a task takes: days of work, and weeks of waiting after them."""
    work = math.ceil(dated.step.work - 1e-6)
    wait = float(dated.step.task.lead_weeks or 0)
    if wait:
        return f"{_count(work, 'day')} + {_weeks(wait)}" if work else _weeks(wait)
    if work >= 10 and work % 5 == 0:
        return _weeks(work / 5)
    return _count(work, "day")


def _gate(dated: Dated, *, short: int = 0) -> str:
    """The rule of a gate, or ""; shorter where there is less room."""
    task = dated.step.task
    day = days_text(dated.finish)
    if is_about(task, "sample"):
        if short > 1:
            return "gate: no work before the result"
        if short:
            return f"gate: no scraping or drilling before the result, {day}"
        return f"gate: nothing is scraped, sanded or drilled before the result is here, {day}"
    if is_about(task, "measure"):
        return f"gate: no cloth is cut before {day}"
    return ""


@dataclass(frozen=True, kw_only=True)
class _Order:
    """Things to be ordered by one day."""

    day: datetime.date
    items: tuple[str, ...]
    ids: str
    lasts: float  # weeks to the door of the home
    slack: float
    late: int  # days


def _orders(result: Programme) -> list[_Order]:
    """Open orders, those of one day together, the most urgent first."""
    by: dict[tuple[datetime.date, float], list[OrderBy]] = {}
    for order in result.orders:
        if order.day is not None and order.state != "ordered" and order.lead is not None:
            total = order.lead + order.making + order.transit
            by.setdefault((order.day, total), []).append(order)
    return [
        _Order(
            day=day,
            items=tuple(dict.fromkeys(o.item for o in group)),
            ids=" ".join(o.line for o in group),
            lasts=total,
            slack=group[0].slack,
            late=max(0, (result.today - day).days),
        )
        for (day, total), group in sorted(by.items(), key=lambda pair: pair[0])
    ]


def _listed(order: _Order) -> str:
    """The things of one day in a sentence, the first two by name."""
    if len(order.items) <= 2:
        return " and ".join(order.items)
    return f"{', '.join(order.items[:2])} and {len(order.items) - 2} more"


def _tasks(result: Programme) -> list[Dated]:
    """The chain that decides first, then what has time in hand."""
    return [d for d in result.dated if d.step.critical] + [
        d for d in result.dated if not d.step.critical
    ]


def schedule_answer(result: Programme) -> str:
    """What to do next, in a sentence or three.

    Parameters
    ----------
    result : Programme
        From :func:`designkit.schedule.programme.programme`.

    Returns
    -------
    str
        What is late, what is next, when work begins and what is in hand.
    """
    day = days_text(result.installation, weekday=True)
    orders = _orders(result)
    late = [o for o in orders if o.late]
    said = []
    if late:
        names = ", ".join(f"{_listed(o)} ({days_text(o.day)})" for o in late[:2])
        count = sum(len(o.items) for o in late)
        rest = count - sum(len(o.items) for o in late[:2])
        more = f" and {rest} more" if rest else ""
        said.append(f"{'Late' if count > 1 else 'Late by now'} for {day}: {names}{more}.")
    coming = [o for o in orders if not o.late][:2]
    if coming:
        names = ", then ".join(f"{_listed(o)} by {days_text(o.day)}" for o in coming)
        said.append(f"{'Order next' if late else f'For {day} order'}: {names}.")
    if result.dated:
        begin = days_text(min(d.start for d in result.dated))
        said.append(f"Work must begin by {begin}.")
        if result.days_in_hand is not None and result.days_in_hand < 0:
            said.append(f"It is {_count(-result.days_in_hand, 'work day')} too long for {day}.")
    return " ".join(said) or f"Nothing is left to order for {day}."


def schedule_text(result: Programme) -> str:
    """The dates in words, for who cannot see the sheet.

    Parameters
    ----------
    result : Programme
        From :func:`designkit.schedule.programme.programme`.

    Returns
    -------
    str
        The answer, the work that decides the day, the gates and all order days.
    """
    said = [schedule_answer(result)]
    for dated in _tasks(result):
        task = dated.step.task
        words = f"{task.task}: from {days_text(dated.start)} to {days_text(dated.finish)}"
        if dated.step.critical:
            words += ", a lost day moves the day"
        if gate := _gate(dated):
            words += f", {gate}"
        said.append(words + ".")
    said += [f"Order by {days_text(o.day)}: {'; '.join(o.items)}." for o in _orders(result)]
    return " ".join([*said, *_notes(result)])


def _notes(result: Programme) -> list[str]:
    found = []
    ask = [o.item for o in result.orders if o.state == "ask the supplier"]
    if ask:
        found.append(f"Ask the supplier how long it takes: {'; '.join(ask)}.")
    for finding in result.findings:
        if finding.verdict == "fails":
            what = finding.what[:1].upper() + finding.what[1:]
            found.append(f"{what}: {finding.mend or finding.why}.")
    return found


class _Board:
    """Where days stand on the paper, and the rows under each other."""

    def __init__(
        self, chart: Chart, result: Programme, area: Area, first: datetime.date, pitch: float
    ) -> None:
        self.chart, self.result, self.area, self.pitch = chart, result, area, pitch
        self.first = first
        self.left = area.left + 2.8
        self.right = area.right - 6.0
        self.span = max(7, (result.installation - first).days)
        self.bar = chart.sizes.name * 1.74

    def at(self, day: datetime.date) -> float:
        """The morning of a day. [mm]"""
        share = (day - self.first).days / self.span
        return self.left + min(1.0, max(0.0, share)) * (self.right - self.left)

    def long(self, words: str, size: float, *, bold: bool = False) -> float:
        """Width of a text. [mm]"""
        return lettering.advance(words, size=size, weight="semibold" if bold else "regular")

    def base(self, y: float) -> float:
        """Baseline of a row's text. [mm]"""
        return y - self.pitch / 2 - self.chart.sizes.name / 2

    def task(self, dated: Dated, y: float, before: Dated | None) -> None:
        """One task: its bar, its name beside it, its gate."""
        chart = self.chart
        task, critical = dated.step.task, dated.step.critical
        x0, x1 = self.at(dated.start), self.at(dated.finish + _DAY)
        x1 = max(x1, x0 + 0.8)
        bottom = y - self.pitch / 2 - self.bar / 2
        sample = is_about(task, "sample")
        gate = _gate(dated)
        if before is not None and critical and before.step.task.id in task.after:
            # From the end of one to the beginning of the next; a weekend may lie between.
            end, mid = min(x0, self.at(before.finish + _DAY)), bottom + self.bar / 2
            chart.line(end, bottom + self.pitch, end, mid if end < x0 else bottom + self.bar, 0.22)
            if end < x0:
                chart.line(end, mid, x0, mid, 0.22)
        if sample and task.lead_weeks:
            chart.bar(x0, x1, bottom, self.bar, weight=0.5 if critical else 0.25, ruled=True,
                      about=task.id)  # fmt: skip
        else:
            chart.bar(
                x0,
                x1,
                bottom,
                self.bar,
                fill=ink.INK if critical else "",
                weight=0.0 if critical else 0.25,
                about=task.id,
            )
        begin, end = x0, x1
        if before is not None and critical and before.step.task.id in task.after:
            begin = min(x0, self.at(before.finish + _DAY))
        if gate:
            end = x1 + 1.3
            for up in (bottom - 0.7, bottom + self.bar + 0.7):
                chart.line(x1 - 1.1, up, x1 + 1.1, up, 0.6)
            chart.line(x1, bottom - 0.7, x1, bottom + self.bar + 0.7, 1.0)
        self._beside(dated, y, begin, end, gate, inside=(x0, x1), ruled=sample)

    def _beside(
        self,
        dated: Dated,
        y: float,
        x0: float,
        x1: float,
        gate: str,
        *,
        inside: tuple[float, float],
        ruled: bool,
    ) -> None:
        chart, sizes = self.chart, self.chart.sizes
        critical = dated.step.critical
        base = self.base(y)
        lasts = _lasts(dated)
        long = self.long(lasts, sizes.note)
        # Words on a ruled bar leave some of the ruling to be seen.
        within = (1.8 * long if ruled else long + 2.4) <= inside[1] - inside[0]
        if within:
            middle = sum(inside) / 2
            if ruled:  # a paper ground keeps the words off the ruling
                half = long / 2 + 0.8
                chart.bar(
                    middle - half, middle + half, base - 0.7, sizes.note + 1.4, fill=ink.PAPER
                )
            chart.text(
                middle,
                base + (sizes.name - sizes.note) / 2,
                lasts,
                sizes.note,
                colour=ink.PAPER if critical and not ruled else ink.INK,
                anchor="middle",
            )
        started = "should have begun" if dated.late else "from"
        from_ = f"{started} {days_text(dated.start)}" + ("" if within else f", {lasts}")
        name = dated.step.task.task
        name = name[:1].upper() + name[1:]
        parts = [(name, critical, ink.INK), (gate or from_, dated.late, ink.GREY_1)]
        if gate:
            # A rule that stops work is shortened before it is left out.
            tries = [[parts[0], (_gate(dated, short=short), False, ink.INK)] for short in (0, 1, 2)]
        else:
            tries = [parts]
        self._words([*tries, parts[:1]], base, x0 - 1.8, x1 + 1.8)

    def _words(
        self,
        tries: list[list[tuple[str, bool, str]]],
        base: float,
        left: float,
        right: float,
    ) -> None:
        """A name and its note on the side of a bar where they fit, the fullest that fits."""
        chart, sizes = self.chart, self.chart.sizes
        gap = 2.6

        def total(parts: list[tuple[str, bool, str]]) -> float:
            long = self.long(parts[0][0], sizes.name, bold=parts[0][1])
            return long + sum(gap + self.long(w, sizes.note, bold=b) for w, b, _ in parts[1:])

        room_right = self.right - 1.5 - right
        room_left = left - self.left - 1.5
        for parts in tries:
            rightward = total(parts) <= room_right
            if rightward or total(parts) <= room_left:
                break
        else:
            parts = tries[-1]
            rightward = room_right >= room_left
            words, bold, colour = parts[0]
            short = lettering.shorten(
                words,
                size=sizes.name,
                width=max(room_right, room_left, 6.0),
                weight="semibold" if bold else "regular",
            )
            parts = [(short, bold, colour)]
        x = right if rightward else left - total(parts)
        # Where there is room on neither side, the name stands over its own bar.
        x = max(self.left + 1.5, min(x, self.right - 1.5 - total(parts)))
        for index, (words, bold, colour) in enumerate(parts):
            size = sizes.note if index else sizes.name
            chart.text(x, base, words, size, bold=bold, colour=colour, halo=0.7)
            x += self.long(words, size, bold=bold) + gap

    def _items(self, items: tuple[str, ...], room: float) -> tuple[str, bool]:
        """As many of some things as fit, whole, and whether these are all."""
        size = self.chart.sizes.name
        for count in range(len(items), 0, -1):
            words = "; ".join(items[:count])
            if count < len(items):
                words += f"; {len(items) - count} more"
            words = words[:1].upper() + words[1:]
            if self.long(words, size) <= room:
                return words, count == len(items)
        words = items[0][:1].upper() + items[0][1:]
        return lettering.shorten(words, size=size, width=max(6.0, room)), False

    def order(self, order: _Order, y: float) -> None:
        """One order day: a bar as long as it takes, with the day at its beginning."""
        chart, sizes = self.chart, self.chart.sizes
        due = self.result.installation - datetime.timedelta(days=round(order.slack * 7))
        x0, x1 = self.at(order.day), max(self.at(due), self.at(order.day) + 0.8)
        bottom = y - self.pitch / 2 - self.bar / 2
        base = self.base(y)
        chart.bar(x0, x1, bottom, self.bar, weight=0.25, about=order.ids)
        if self.right - x1 > 1.0:  # what is in hand, up to the day
            mid = bottom + self.bar / 2
            chart.line(x1, mid, self.right, mid, 0.18, dash=(0.6, 0.8))
        day = f"order by {days_text(order.day)}"
        if order.late:
            day = f"{_count(order.late, 'day')} late: {days_text(order.day)}"
        takes = f"takes {_weeks(order.lasts)}, {order.slack:g} in hand"
        dated = self.long(day, sizes.name, bold=True)
        outside = x0 - 1.8 - dated >= self.left + 0.6
        x = x0 + 1.8
        if outside:
            chart.text(x0 - 1.8, base, day, sizes.name, bold=True, anchor="end", halo=0.7)
        elif dated + 3.6 <= x1 - x0:
            chart.text(x, base, day, sizes.name, bold=True)
            x += dated + 2.6
        else:  # a stub of a bar: everything stands after it
            words, _ = self._items(order.items, max(6.0, self.right - 6.0 - x1 - dated))
            chart.text(x1 + 1.8, base, day, sizes.name, bold=True, halo=0.7)
            if self.right - 4.4 - x1 - dated > 12.0:
                chart.text(x1 + 4.4 + dated, base, words, sizes.name, halo=0.7)
            return
        room = x1 - 1.8 - x
        note = self.long(takes, sizes.note)
        words, all_ = self._items(order.items, room)
        before = x0 - 4.4 - dated - self.left - 1.5
        if outside and not all_ and before > room:
            # The bar is too short for its things: they stand before the day.
            words, _ = self._items(order.items, before)
            chart.text(x0 - 4.4 - dated, base, words, sizes.name, anchor="end", halo=0.7)
            if note + 3.0 <= x1 - x0:
                chart.text(x1 - 1.8, base, takes, sizes.note, colour=ink.GREY_1, anchor="end")
            return
        chart.text(x, base, words, sizes.name)
        if self.long(words, sizes.name) + 4.0 + note <= room:
            chart.text(x1 - 1.8, base, takes, sizes.note, colour=ink.GREY_1, anchor="end")


def _frame(board: _Board, top: float, bottom: float) -> None:
    """Countdown above, months below, today and the day itself."""
    chart, sizes, result = board.chart, board.chart.sizes, board.result
    y = top
    today = f"Today, {days_text(result.today, weekday=True).split(NBSP, 1)[1]}"
    end = f"Installation, {days_text(result.installation, weekday=True)}"
    size = sizes.name * 1.12
    end_from = board.area.right - board.long(end, size, bold=True)
    now = board.at(result.today)
    inside = board.first <= result.today <= result.installation
    if inside:
        at = min(max(now - 2.8, board.area.left), end_from - 4 - board.long(today, size, bold=True))
        chart.text(at, y - size, today, size, bold=True, colour=ink.TIMBER)
    chart.text(board.area.right, y - size, end, size, bold=True, anchor="end")
    y -= size + 2.4
    weeks = board.span / 7
    step = next((s for s in (1, 2, 4, 8, 13, 26, 52) if weeks / s <= 10), 104)
    shown = int(weeks // step) * step
    words_y = y - sizes.note - 0.8
    last = board.right + 8.0
    for count in range(step, shown + 1, step):
        x = board.at(result.installation - datetime.timedelta(days=7 * count))
        chart.line(x, words_y - 1.6, x, bottom, 0.13, colour=ink.GREY_4)
        words = f"{count}{NBSP}weeks before" if count + step > shown else f"{count}"
        if count == 1 == shown:
            words = f"1{NBSP}week before"
        long = board.long(words, sizes.note)
        middle = max(x, board.area.left + long / 2)
        if inside and abs(middle - now) < long / 2 + 1.2:  # not on the line of today
            middle = now + long / 2 + 1.4 if x >= now else now - long / 2 - 1.4
            if middle - long / 2 < board.area.left:
                middle = now + long / 2 + 1.4
        if middle + long / 2 < last - 1.0:
            chart.text(
                middle, words_y, words, sizes.note, colour=ink.GREY_1, anchor="middle", halo=0.6
            )
            last = middle - long / 2
    chart.line(board.left, bottom, board.right, bottom, 0.25)
    month = datetime.date(board.first.year, board.first.month, 1)
    last = board.area.left - 10.0
    while month <= result.installation:
        if month >= board.first:
            x = board.at(month)
            chart.line(x, bottom, x, bottom - 1.0, 0.25)
            words = days_text(month)
            if month.month == 1 or last < board.area.left:
                words = days_text(month, year=True)
            half = board.long(words, sizes.note) / 2
            if x - half > last + 2.0 and x + half <= board.area.right:
                chart.text(
                    x, bottom - 2.0 - sizes.note, words, sizes.note, colour=ink.GREY_1,
                    anchor="middle",
                )  # fmt: skip
                last = x + half
        month = (month.replace(day=28) + datetime.timedelta(days=4)).replace(day=1)
    if inside:
        chart.line(now, y, now, bottom, 0.55, colour=ink.TIMBER)
    chart.line(board.right, y, board.right, bottom, 0.7)


def _key(tasks: Sequence[Dated], orders: Sequence[_Order]) -> str:
    if not tasks:
        return "Outline: as long as it takes. Dashed line: time in hand."
    said = ["Black: a day lost here moves the day.", "Outline: has time in hand."]
    if any(is_about(d.step.task, "sample") for d in tasks):
        said.append("Ruled: waiting for a written result.")
    if any(_gate(d) for d in tasks):
        said.append("Heavy stroke: gate, work stops until it is passed.")
    if orders:
        said.append("Dashed: time in hand.")
    return " ".join(said)


def schedule(
    result: Programme,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    note: str = "",
) -> Drawing:
    """Work, gates and order days, counted back from the installation.

    Where the orders do not fit beside the work on A4 or Letter, the sheet is
    A3 or Tabloid; on that, too, the most urgent come first and the rest are
    named as a count: the list of orders has all of them.

    Parameters
    ----------
    result : Programme
        From :func:`designkit.schedule.programme.programme`.
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
    drawing, shown = _build(result, block=block, paper=paper, page=page, note=note)
    short = len(_orders(result)) > shown
    if short and not page and paper in LARGER:
        drawing, _ = _build(result, block=block, paper=LARGER[paper], page=page, note=note)
    return drawing


def _build(
    result: Programme, *, block: TitleBlock | None, paper: str, page: bool, note: str
) -> tuple[Drawing, int]:
    tasks, orders = _tasks(result), _orders(result)
    question = "What must be ordered by when?"
    sheet = None
    if page:
        sizes = sizes_for(width=PAGE_WIDTH, page=True)
        area = whole_area(PAGE_WIDTH, 1000.0)
    else:
        sheet = open_sheet(
            block,
            question=question,
            answer=schedule_answer(result),
            paper=paper,
            scale="calendar weeks",
            note=note,
        )
        area, sizes = sheet.area, sizes_for(width=sheet.width, page=False)
    notes = [
        line
        for words in (_key(tasks, orders), *_notes(result))
        for line in wrapped(words, size=sizes.note, width=area.width, most=2)
    ]
    top = sizes.name * 1.12 + 2.4 + sizes.note + 4.5
    section = sizes.head + 4.2
    sections = (1 if tasks else 0) + (1 if orders else 0)
    foot = 2.0 + sizes.note + 0.6 + len(notes) * sizes.pitch(sizes.note)
    fixed = top + sections * section + foot + 2.0
    usual, tight = sizes.name * 2.72, sizes.name * 2.2
    if page:
        orders_shown = orders[:16]
        pitch = sizes.name * 2.45
        height = fixed + pitch * (len(tasks) + len(orders_shown)) + 1.0
        if len(orders) > 16:
            height += sizes.pitch(sizes.note) + 0.8
        area = whole_area(PAGE_WIDTH, height)
    else:
        room = area.height - fixed
        count = len(tasks) + len(orders)
        pitch = min(usual, room / max(1, count))
        orders_shown = orders
        if pitch < tight:
            most = int((room - sizes.pitch(sizes.note)) / tight)
            tasks = tasks[: max(0, most - min(len(orders), _FEWEST_ORDERS))]
            orders_shown = orders[: max(0, most - len(tasks))]
            pitch = tight
    # A day that has passed is looked back at.
    first = min(result.today, result.installation)
    limit = first - datetime.timedelta(days=_BEFORE_TODAY)
    starts = [d.start for d in tasks] + [o.day for o in orders_shown]
    if starts:
        first = min(first, max(limit, min(starts)))
    first = min(first, result.installation - datetime.timedelta(days=7))
    chart = Chart(sizes)
    board = _Board(chart, result, area, first, pitch)
    rows = len(tasks) + len(orders_shown)
    bottom = area.top - top - sections * section - rows * pitch - 1.4
    hidden = len(orders) - len(orders_shown)
    left_out = len(_tasks(result)) - len(tasks)
    more = []
    if hidden:
        count = sum(len(o.items) for o in orders[len(orders_shown) :])
        more.append(f"{_count(count, 'later order')} on the list of orders.")
    if left_out:
        more.append(f"{_count(left_out, 'task')} with time in hand not shown.")
    if more:
        bottom -= sizes.pitch(sizes.note) + 0.8
    _frame(board, area.top, bottom)
    y = area.top - top
    if tasks:
        y = _section(board, "In the home", y, section)
        before: Dated | None = None
        for dated in tasks:
            board.task(dated, y, before)
            before = dated
            y -= pitch
    if orders_shown:
        y = _section(board, "Ordered, made elsewhere", y, section)
        for order in orders_shown:
            board.order(order, y)
            y -= pitch
    if more:
        chart.text(board.left + 2.6, y - sizes.note - 0.8, " ".join(more), sizes.note,
                   colour=ink.GREY_1, halo=0.7)  # fmt: skip
    at = bottom - 2.0 - sizes.note - 0.6
    for words in notes:
        at -= sizes.pitch(sizes.note)
        chart.text(area.left, at, words, sizes.note, colour=ink.GREY_1)
    text = schedule_text(result)
    shown = len(orders_shown)
    if sheet is not None:
        return sheet.drawing(chart.items, title=question, text=text), shown
    drawing = Drawing(
        width=PAGE_WIDTH,
        height=area.top + 0.5,
        items=tuple(chart.items),
        title=question,
        text=text,
    )
    return drawing, shown


def _section(board: _Board, words: str, y: float, high: float) -> float:
    size = board.chart.sizes.head
    board.chart.text(board.left + 2.6, y - size - 1.6, words, size, bold=True, halo=0.7)
    return y - high
