"""What a project takes week by week: with the order, on delivery, the fee.

Columns are weeks on one money axis; the line above them is what has been paid
by the end of each week. What nobody has a day for stands beside, not in a week.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from designkit.costs.cash import Cash, Payment, Week
from designkit.costs.money import money_text
from designkit.days import MONTHS
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.budget_paper import on_paper
from designkit.figures.chart import (
    Chart,
    amount_text,
    axis_unit,
    days_text,
    number_text,
    ticks,
    wrapped,
)
from designkit.figures.drawing import Drawing, Line
from designkit.figures.sheet import Area, TitleBlock

__all__ = ["cash_figure"]


def _sum(payments: Sequence[Payment]) -> Decimal:
    return sum((p.amount for p in payments), Decimal(0))


def _heavy(weeks: Sequence[Week], most: int) -> list[Week]:
    """The weeks that take most, in order of time."""
    best = sorted((w for w in weeks if w.total > 0), key=lambda w: (-w.total, w.monday))[:most]
    return sorted(best, key=lambda w: w.monday)


def _open_words(payments: Sequence[Payment], code: str) -> list[str]:
    sums: dict[str, list[Payment]] = {}
    for one in payments:
        sums.setdefault(one.item, []).append(one)
    ranked = sorted(sums.items(), key=lambda kv: (-_sum(kv[1]), kv[0]))
    said = [f"{item}, {money_text(_sum(ps), code=code)}" for item, ps in ranked[:4]]
    if len(ranked) > 4:
        said.append(f"and {len(ranked) - 4} more")
    return said


def cash_figure(
    result: Cash,
    *,
    name: str = "",
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
) -> Drawing:
    """Payments week by week.

    Parameters
    ----------
    result : Cash
        From `designkit.costs.cash.cash_by_week`.
    name : str, optional
        The scenario in words.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`.
    page : bool
        The drawing alone, for a study page.

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
    code = result.currency
    question = f"When is the money needed{f', {name}' if name else ''}?"
    weeks = result.weeks

    def draw(chart: Chart, area: Area) -> float:
        sizes = chart.sizes
        note = sizes.note
        y = area.top
        if weeks:
            y = _columns(chart, result, area)
        facts = [
            (money_text(result.paid, code=code), "paid before the first week"),
            *(
                [
                    (
                        money_text(_sum(result.undated), code=code),
                        "has no day yet: " + "; ".join(_open_words(result.undated, code)),
                    )
                ]
                if result.undated
                else []
            ),
            *([(money_text(_sum(result.later), code=code), "next year")] if result.later else []),
            (money_text(result.total, code=code), "in all, with tax; contingency apart"),
        ]
        wide = max(lettering.advance(a, size=note, weight="semibold") for a, _ in facts)
        y -= 3.0
        for amount, words in facts:
            y -= sizes.pitch(note)
            last = words.startswith("in all")
            chart.text(area.left + wide, y, amount, note, anchor="end", bold=last)
            lines = wrapped(words, size=note, width=area.width - wide - 4.0, most=3)
            for i, line in enumerate(lines):
                y -= sizes.pitch(note) if i else 0.0
                chart.text(area.left + wide + 3.0, y, line, note, bold=last)
        return y - 1.0

    said = " ".join(
        f"Week of {days_text(w.monday, year=True)}: {money_text(w.total, code=code)}."
        for w in weeks
        if w.total
    )
    return on_paper(
        draw,
        question=question,
        answer=result.answer,
        text=f"{result.answer} {said}",
        code=code,
        block=block,
        paper=paper,
        page=page,
    )


def _columns(chart: Chart, result: Cash, area: Area) -> float:
    sizes, code, weeks = chart.sizes, result.currency, result.weeks
    note = sizes.note
    left, right = area.left + 15.0, area.right - 2.0
    top = area.top - note - 2.0
    line_high, high = 26.0, 52.0
    each = (right - left) / len(weeks)
    wide = min(each * 0.7, 9.0)
    # What has been paid by the end of each week, above.
    floor_line = top - line_high
    total = float(max((w.so_far for w in weeks), default=0)) or 1.0
    chart.text(area.left, area.top - note, "paid by the end of the week", note, colour=ink.GREY_1)
    chart.line(left, floor_line, right, floor_line, 0.13, colour=ink.GREY_3)
    points: list[tuple[float, float]] = []
    last = floor_line + float(result.paid) / total * (line_high - 4.0)
    points.append((left, last))
    for i, week in enumerate(weeks):
        x = left + (i + 0.5) * each
        y = floor_line + float(week.so_far) / total * (line_high - 4.0)
        points += [(x, last), (x, y)]
        last = y
    points.append((right, last))
    chart.items.append(Line(points=tuple(points), weight=0.6))
    end = amount_text(weeks[-1].so_far, code=code)
    chart.text(right, last + 1.4, end, note, bold=True, anchor="end")
    # What each week takes, below.
    head = floor_line - note - 5.0
    chart.text(area.left, head, "each week takes", note, colour=ink.GREY_1)
    base = head - 6.0 - note - high
    most = float(max(w.total for w in weeks)) or 1.0
    unit, word = axis_unit(most, code=code)
    marks, decimals = ticks(0.0, most / unit, most=4)
    scale = high / most
    for mark in marks:
        y = base + mark * unit * scale
        if y > base + high + 0.1:
            continue
        chart.line(left, y, right, y, 0.13, colour=ink.GREY_4)
        words = number_text(mark, decimals=decimals)
        chart.text(left - 1.6, y - note / 2, words, note, anchor="end", colour=ink.GREY_1)
    chart.text(area.left, base + high + 3.0, word, note, colour=ink.GREY_1)
    labelled = {w.monday for w in _heavy(weeks, 6)}
    month, taken = 0, -1e9
    for i, week in enumerate(weeks):
        x = left + (i + 0.5) * each
        y = base
        for amount, style in (
            (week.on_order, "order"),
            (week.on_delivery, "delivery"),
            (week.fee, "fee"),
        ):
            if amount <= 0:
                continue
            tall = float(amount) * scale
            chart.bar(
                x - wide / 2,
                x + wide / 2,
                y,
                tall,
                fill={"order": ink.INK, "delivery": ink.GREY_3, "fee": ""}[style],
                weight=0.2 if style == "fee" else 0.0,
                hatch=style == "fee",
                about=week.monday.isoformat(),
            )
            y += tall
        if week.monday in labelled:
            label = amount_text(week.total.quantize(Decimal(1)), code=code)
            half = lettering.advance(label, size=note) / 2
            if x - half > taken + 0.8 and x + half < right + 2.0:
                chart.text(x, y + 1.2, label, note, anchor="middle", bold=True, halo=0.6)
                taken = x + half
        if week.monday.month != month:
            month = week.monday.month
            edge = left + i * each
            chart.line(edge, base, edge, base - 2.0, 0.25)
            words = MONTHS[month - 1][:3]
            if month == 1 or i == 0:
                words += f" {week.monday.year}"
            room = (
                sum(
                    1
                    for w in weeks[i:]
                    if w.monday.month == month and w.monday.year == week.monday.year
                )
                * each
            )
            if lettering.advance(words, size=note) > room - 1.0:
                words = MONTHS[month - 1][:3]
            if lettering.advance(words, size=note) < room - 0.6:
                chart.text(edge + 0.8, base - 2.4 - note, words, note, colour=ink.GREY_1)
    chart.line(left, base, right, base, 0.4)
    y = base - 2.4 - 2 * note - 2.6
    key = "Black: with the order. Grey: on delivery."
    if any(w.fee for w in weeks):
        key += " Hatched: the studio's fee."
    chart.text(area.left, y, key + " Weeks begin on Monday.", note, colour=ink.GREY_1)
    return y - 1.0
