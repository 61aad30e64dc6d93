"""Candidates for one place beside each other: size, time, all-in price.

Each candidate is a row on three scales that all rows share; what is beaten in
everything by another is said, not left out. Comfort and look are words, and
the mark is the client's.
"""

from __future__ import annotations

from designkit.costs.candidates import Candidate, CandidateRow, Comparison
from designkit.costs.money import money_text
from designkit.figures import ink
from designkit.figures.budget_paper import on_paper
from designkit.figures.chart import Chart, amount_text, wrapped
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import Area, TitleBlock
from designkit.units import in_sentence

__all__ = ["places_figure"]


def _size(row: CandidateRow, units: str) -> str:
    size = row.candidate.size
    return " × ".join(in_sentence(x, units=units) for x in size)


def _own(one: Candidate) -> list[tuple[str, tuple[str, ...]]]:
    """What is said of it in words: how one sits, how it looks, how it is liked."""
    found = [("comfort", one.comfort), ("look", one.look)]
    if one.mark is not None:
        by = f", {one.mark_by}" if one.mark_by else "; nobody named"
        found.append(("mark", (f"{one.mark} of 5{by}",)))
    return [(head, parts) for head, parts in found if parts]


def places_figure(
    result: Comparison,
    *,
    units: str = "m",
    chosen: str = "",
    block: TitleBlock | None = None,
    paper: str = "A4",
    page: bool = False,
) -> Drawing:
    """Candidates for one place, on shared scales.

    Parameters
    ----------
    result : Comparison
        From `designkit.costs.candidates.compare_candidates`.
    units : str, optional
        The project's unit of length.
    chosen : str, optional
        Id of the candidate that is drawn now.
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
    code, place = result.currency, result.place
    question = f"Which one for {place.name}?"
    most = max(float(r.candidate.high or r.candidate.all_in) for r in result.rows) or 1.0
    weeks = [r.candidate.weeks for r in result.rows if r.candidate.weeks is not None]
    longest = max([*weeks, place.weeks or 0.0, 1.0])

    def draw(chart: Chart, area: Area) -> float:
        sizes = chart.sizes
        note, name = sizes.note, sizes.name
        first = min(74.0, area.width * 0.32)
        rest = area.width - first
        money_x, money_w = area.left + first + 4.0, rest * 0.36
        week_x, week_w = money_x + money_w + 12.0, rest * 0.20
        word_x = week_x + week_w + 8.0
        word_w = area.right - word_x
        y = area.top - note
        for x, words in (
            (area.left, "candidate, width × depth × height"),
            (money_x, "all-in with tax"),
            (week_x, "weeks"),
            (word_x, "against the place"),
        ):
            chart.text(x, y, words, note, colour=ink.GREY_1)
        y -= 2.0
        names = {r.candidate.id: r.candidate.name for r in result.rows}
        for row in result.rows:
            one = row.candidate
            heads = wrapped(one.name, size=name, width=first - 2.0, bold=one.id == chosen, most=2)
            said = [row.fit, *row.words]
            if one.id == chosen:
                said.append("drawn now")
            if row.beaten_by:
                said.append(f"no better in size, price or time than {names[row.beaten_by[0]]}")
            words_ = [
                line for part in said for line in wrapped(part, size=note, width=word_w, most=3)
            ]
            tall = max(
                len(heads) * sizes.pitch(name) + sizes.pitch(note),
                len(words_) * sizes.pitch(note),
                2 * note + 6.0,
            )
            chart.line(area.left, y, area.right, y, 0.13, colour=ink.GREY_4)
            at = y - 1.6 - name
            for line in heads:
                chart.text(area.left, at, line, name, bold=one.id == chosen)
                at -= sizes.pitch(name)
            size_words = _size(row, units)
            chart.text(area.left, at + 0.6, size_words, note, colour=ink.GREY_1)
            low = y - 2.0 - name * 1.5
            scale = (money_w - 26.0) / most
            end = money_x + float(one.all_in) * scale
            chart.bar(
                money_x,
                end,
                low,
                name * 1.5,
                fill=ink.INK if one.id == chosen else ink.GREY_3,
                about=one.id,
            )
            if one.high is not None and one.high > one.all_in:
                far = money_x + float(one.high) * scale
                chart.bar(end, far, low, name * 1.5, weight=0.2, hatch=True)
                end = far
            chart.text(
                end + 1.4, low + name * 0.3, amount_text(one.all_in, code=code), note, bold=True
            )
            if place.cap is not None and float(place.cap) * scale < money_w:
                cap = money_x + float(place.cap) * scale
                chart.line(cap, low - 1.2, cap, low + name * 1.5 + 1.2, 0.5, colour=ink.TIMBER)
            span = (week_w - 14.0) / longest
            if one.weeks is None:
                chart.text(week_x, low + name * 0.3, "ask", note)
            else:
                chart.bar(week_x, week_x + one.weeks * span, low, name * 1.5, fill=ink.GREY_3)
                chart.text(
                    week_x + max(one.weeks * span, 0.0) + 1.4,
                    low + name * 0.3,
                    f"{one.weeks:g}",
                    note,
                )
            if place.weeks is not None:
                at_ = week_x + place.weeks * span
                chart.line(at_, low - 1.2, at_, low + name * 1.5 + 1.2, 0.5, colour=ink.TIMBER)
            at = y - 1.6 - note
            for i, line in enumerate(words_):
                chart.text(word_x, at, line, note, bold=i == 0 and row.fit != "fits")
                at -= sizes.pitch(note)
            y -= tall + 0.6
            for head, parts in _own(one):
                chart.text(area.left, y - note, head, note, colour=ink.GREY_1)
                for line in wrapped(
                    "; ".join(parts), size=note, width=area.right - area.left - 22.0
                ):
                    chart.text(area.left + 22.0, y - note, line, note)
                    y -= sizes.pitch(note)
            y -= 2.0
        chart.line(area.left, y, area.right, y, 0.4)
        keys = ["Black: drawn now."]
        if any(r.candidate.high for r in result.rows):
            keys.append("Hatched: what it could come to.")
        if place.weeks is not None or place.cap is not None:
            keys.append("Timber stroke: the limit.")
        y -= sizes.pitch(note) + 0.6
        chart.text(area.left, y, " ".join(keys), note, colour=ink.GREY_1)
        return y - 1.0

    listed = " ".join(
        f"{r.candidate.name}: {money_text(r.candidate.all_in, code=code)}, {r.fit}"
        + "".join(f"; {head}: {', '.join(parts)}" for head, parts in _own(r.candidate))
        + "."
        for r in result.rows
    )
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
