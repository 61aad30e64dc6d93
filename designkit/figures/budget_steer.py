"""The best set under the cap, and what each further step of money buys.

Every way to have a line stands on one money axis; what is chosen is filled.
The frontier rises where money buys something and runs level where it does
not; its steps carry numbers, and the words stand under them.
"""

from __future__ import annotations

from decimal import Decimal

from designkit.costs.money import money_text
from designkit.costs.steering import BestSet, Frontier, FrontierStep
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.budget_paper import on_paper
from designkit.figures.chart import Chart, amount_text, axis_unit, number_text, ticks, wrapped
from designkit.figures.drawing import Circle, Drawing, Line
from designkit.figures.sheet import Area, TitleBlock

__all__ = ["best_figure", "frontier_figure"]


class _Axis:
    """One money axis for all rows."""

    def __init__(self, low: float, high: float, left: float, right: float) -> None:
        self.low, self.high = low, high
        self.left, self.right = left, right

    def at(self, amount: Decimal | float) -> float:
        share = (float(amount) - self.low) / ((self.high - self.low) or 1.0)
        return self.left + share * (self.right - self.left)


def best_figure(
    result: BestSet,
    *,
    names: dict[str, str] | None = None,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
) -> Drawing:
    """Each line with its ways on one axis, the chosen filled, the sum against the cap.

    Parameters
    ----------
    result : BestSet
        From :func:`designkit.costs.best_set`.
    names : dict of str to str, optional
        Words for lines by their id, where they should not be the item's.
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
    question = f"What is the best for {money_text(result.cap, code=code)}?"
    answer = result.answer
    named = names or {}

    def draw(chart: Chart, area: Area) -> float:
        sizes = chart.sizes
        note, name = sizes.note, sizes.name
        left_w = min(62.0, area.width * 0.27)
        right_w = min(70.0, area.width * 0.30)
        axis_left, axis_right = area.left + left_w + 4.0, area.right - right_w - 6.0
        costs = [float(c.cost) for options in result.options for c in options]
        low, high = min([0.0, *costs]), max([1.0, *costs])
        axis = _Axis(low, high, axis_left, axis_right)
        y = area.top - note
        chart.text(area.left, y, "line as drawn, and how much it matters", note, colour=ink.GREY_1)
        chart.text(area.right - right_w, y, "chosen", note, colour=ink.GREY_1)
        unit, word = axis_unit(high, code=code)
        marks, decimals = ticks(low / unit, high / unit, most=5)
        for mark in marks:
            chart.text(
                axis.at(mark * unit),
                y,
                number_text(mark, decimals=decimals),
                note,
                anchor="middle",
                colour=ink.GREY_1,
            )
        y -= 2.4
        for options, chosen in zip(result.options, result.choices, strict=True):
            drawn = options[0]
            changed = chosen.line != drawn.line
            heads = wrapped(named.get(drawn.slot, drawn.item), size=name, width=left_w, most=2)
            said = chosen.item if chosen.line else "left out"
            words = wrapped(said, size=note, width=right_w, bold=changed, most=2)
            moved = chosen.cost - drawn.cost
            effect = ""
            if changed and moved:
                effect = f"{'costs' if moved > 0 else 'saves'} {money_text(abs(moved), code=code)}"
            rows = max(
                len(heads) * sizes.pitch(name) + sizes.pitch(note),
                len(words) * sizes.pitch(note) + (sizes.pitch(note) if effect else 0.0),
            )
            high_ = rows + 2.4
            chart.line(area.left, y, area.right, y, 0.13, colour=ink.GREY_4)
            at = y - 1.2 - name
            for line in heads:
                chart.text(area.left, at, line, name)
                at -= sizes.pitch(name)
            at += sizes.pitch(name) - sizes.pitch(note)
            chart.text(area.left, at, f"matters {drawn.weight:g}", note, colour=ink.GREY_1)
            middle = y - high_ / 2
            places = [axis.at(c.cost) for c in options]
            chart.line(min(places), middle, max(places), middle, 0.2, colour=ink.GREY_3)
            for choice, x in zip(options, places, strict=True):
                mine = choice.line == chosen.line
                chart.items.append(
                    Circle(
                        centre=(x, middle),
                        radius=1.7 if mine else 1.3,
                        weight=0.3,
                        fill=ink.INK if mine else ink.PAPER,
                        about=choice.line,
                    )
                )
                if choice is drawn:
                    chart.line(x, middle + 2.6, x, middle + 4.0, 0.5)
            x = axis.at(chosen.cost)
            label = amount_text(chosen.cost, code=code)
            half = lettering.advance(label, size=note) / 2
            x = min(max(x, axis_left + half), axis_right + 6.0 - half)
            chart.text(x, middle - 2.4 - note, label, note, anchor="middle", bold=changed)
            at = y - 1.2 - note
            for line in words:
                chart.text(area.right - right_w, at, line, note, bold=changed)
                at -= sizes.pitch(note)
            if effect:
                chart.text(area.right - right_w, at, effect, note, colour=ink.GREY_1)
            y -= max(high_, note + 9.0)
        chart.line(area.left, y, area.right, y, 0.4)
        return _sum(chart, result, area, y, axis_left, axis_right, word)

    return on_paper(
        draw,
        question=question,
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in (*result.words, *result.why))}",
        code=code,
        block=block,
        paper=paper,
        page=page,
    )


def _sum(
    chart: Chart,
    result: BestSet,
    area: Area,
    y: float,
    axis_left: float,
    axis_right: float,
    unit: str,
) -> float:
    """What is held, what is chosen, and the cap."""
    sizes, code = chart.sizes, result.currency
    note = sizes.note
    top = max(float(result.total), float(result.cap)) * 1.02 or 1.0
    axis = _Axis(0.0, top, axis_left, axis_right)
    high = 6.0
    low = y - 6.0 - high
    chart.text(area.left, low + high / 2, "the whole sum", sizes.name, bold=True)
    held = len(result.held)
    chart.text(
        area.left,
        low + high / 2 - sizes.pitch(note),
        f"{held} line{'' if held == 1 else 's'} without a choice",
        note,
        colour=ink.GREY_1,
    )
    fixed = axis.at(result.fixed)
    end = axis.at(result.total)
    chart.bar(axis.at(0), fixed, low, high, fill=ink.GREY_3)
    chart.bar(fixed, end, low, high, fill=ink.INK)
    cap = axis.at(result.cap)
    chart.line(cap, low - 1.6, cap, low + high + 1.6, 0.55, colour=ink.TIMBER)
    label = f"cap {amount_text(result.cap, code=code)}"
    chart.text(cap, low - 2.4 - note, label, note, anchor="end", colour=ink.TIMBER)
    chart.text(axis.at(0), low - 2.4 - note, "grey: without a choice", note, colour=ink.GREY_1)
    x = max(cap, end) + 3.0
    spare = result.cap - result.total
    words = (
        f"{money_text(result.total, code=code)}, "
        f"{money_text(abs(spare), code=code)} {'to spare' if spare >= 0 else 'over'}"
    )
    at = low + high / 2
    for line in wrapped(words, size=sizes.name, width=area.right - x, bold=True, most=3):
        chart.text(x, at, line, sizes.name, bold=True)
        at -= sizes.pitch(sizes.name)
    y = min(low, at) - 2 * note - 4.0
    for said in (
        f"Filled: chosen. Open: other ways. Stroke above: as drawn. Scale above in {unit}.",
        "Each way with the contingency of its kind of work; tax and fee as the cap counts them.",
    ):
        chart.text(area.left, y, said, note, colour=ink.GREY_1)
        y -= sizes.pitch(note)
    y += sizes.pitch(note)
    return y - 1.0


def _steps(result: Frontier) -> list[tuple[int, FrontierStep]]:
    """The steps that buy something, counted from 1."""
    found = [s for i, s in enumerate(result.steps) if i == 0 or s.better or s.worse]
    return list(enumerate(found, start=1))


def frontier_figure(
    result: Frontier,
    *,
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
    most: int = 14,
) -> Drawing:
    """What each step of money buys, from the cheapest set to the best.

    Parameters
    ----------
    result : Frontier
        From :func:`designkit.costs.frontier`.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str
        A key of `sheet.PAPERS`.
    page : bool
        The drawing alone, for a study page.
    most : int
        Steps whose words are written out, those round the cap first.

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
    question = f"What does one more {money_text(result.step, code=code)} buy?"
    numbered = _steps(result)

    def draw(chart: Chart, area: Area) -> float:
        sizes = chart.sizes
        note = sizes.note
        caps = [float(s.cap) for s in result.steps]
        worths = [s.worth for s in result.steps]
        best = max(worths) or 1
        low_w = min(worths)
        pad = float(result.step)
        axis = _Axis(caps[0] - pad * 0.4, caps[-1] + pad * 0.6, area.left + 16.0, area.right - 2.0)
        high = 46.0 if page else 52.0
        top = area.top - note - 4.0
        floor = top - high

        def rise(worth: int) -> float:
            span = (best - low_w) or 1
            return floor + 4.0 + (worth - low_w) / span * (high - 8.0)

        chart.text(
            area.left,
            area.top - note,
            "worth to the client, by the priorities",
            note,
            colour=ink.GREY_1,
        )
        chart.line(axis.left, floor, axis.right, floor, 0.25)
        for worth in (low_w, best):
            y = rise(worth)
            chart.line(axis.left - 1.2, y, axis.left, y, 0.25)
            share = f"{worth / best * 100:.0f}\u00a0%"
            chart.text(axis.left - 2.0, y - note / 2, share, note, anchor="end", colour=ink.GREY_1)
        unit, word = axis_unit(caps[-1], code=code)
        marks, decimals = ticks(axis.low / unit, axis.high / unit, most=8)
        for mark in marks:
            x = axis.at(mark * unit)
            chart.line(x, floor, x, floor - 1.4, 0.25)
            chart.text(
                x,
                floor - 2.4 - note,
                number_text(mark, decimals=decimals),
                note,
                anchor="middle",
                colour=ink.GREY_1,
            )
        chart.text(
            axis.right,
            floor - 2.4 - sizes.pitch(note) - note,
            f"the cap, {word}",
            note,
            anchor="end",
            colour=ink.GREY_1,
        )
        points: list[tuple[float, float]] = []
        for step in result.steps:
            x, y = axis.at(step.cap), rise(step.worth)
            if points:
                points.append((x, points[-1][1]))
            points.append((x, y))
        points.append((axis.right, points[-1][1]))
        if result.cap is not None and axis.low <= float(result.cap) <= axis.high:
            x = axis.at(result.cap)
            chart.line(x, floor, x, top + 1.0, 0.55, colour=ink.TIMBER)
            chart.text(
                x,
                top + 1.8,
                f"the cap, {amount_text(result.cap, code=code)}",
                note,
                anchor="end" if x > (axis.left + axis.right) / 2 else "start",
                colour=ink.TIMBER,
            )
        chart.items.append(Line(points=tuple(points), weight=0.8))
        shown = _round_cap(numbered, result, most)
        keep = {n for n, _ in shown}
        last = -1e9
        for n, step in numbered:
            x, y = axis.at(step.cap), rise(step.worth)
            chart.items.append(
                Circle(
                    centre=(x, y), radius=0.9, weight=0.25, fill=ink.INK if n in keep else ink.PAPER
                )
            )
            if n in keep and x - last > 3.6:
                chart.text(x - 1.4, y + 1.6, str(n), note, bold=True, anchor="end", halo=0.5)
                last = x
        y = floor - 2.4 - 2 * sizes.pitch(note) - note - 3.0
        wide = max(
            (lettering.advance(amount_text(s.cap, code=code), size=note) for _, s in shown),
            default=10.0,
        )
        for n, step in shown:
            lines = wrapped(step.words, size=note, width=area.width - wide - 16.0, most=3)
            here = result.cap is not None and step.cap == result.cap
            if here:
                chart.line(area.left, y + note + 1.6, area.left, y - 1.0, 1.0, colour=ink.TIMBER)
            chart.text(area.left + 7.0, y, str(n), note, bold=True, anchor="end")
            chart.text(
                area.left + 9.0 + wide, y, amount_text(step.cap, code=code), note, anchor="end"
            )
            for line in lines:
                chart.text(area.left + 13.0 + wide, y, line, note)
                y -= sizes.pitch(note)
            y -= 0.8
        if len(shown) < len(numbered):
            chart.text(
                area.left + 13.0 + wide,
                y,
                f"{len(numbered) - len(shown)} further steps are not written out",
                note,
                colour=ink.GREY_1,
            )
            y -= sizes.pitch(note)
        return y - 1.0

    listed = " ".join(f"{n}: {money_text(s.cap, code=code)}, {s.words}." for n, s in numbered)
    return on_paper(
        draw,
        question=question,
        answer=result.answer,
        text=f"{result.answer} {listed}",
        code=code,
        block=block,
        paper=paper,
        page=page,
    )


def _round_cap(
    numbered: list[tuple[int, FrontierStep]], result: Frontier, most: int
) -> list[tuple[int, FrontierStep]]:
    """The steps whose words are written: those nearest the cap, in order."""
    if len(numbered) <= most:
        return numbered
    cap = result.cap if result.cap is not None else numbered[0][1].cap
    near = sorted(numbered, key=lambda one: (abs(one[1].cap - cap), one[0]))[:most]
    return sorted(near)
