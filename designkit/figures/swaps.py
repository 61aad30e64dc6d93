"""Other finishes: how far each single or paired change moves a share, three ways on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.balance_chart import percent
from designkit.figures.chart import PAGE_WIDTH, Chart, open_sheet, sizes_for, whole_area, wrapped
from designkit.figures.drawing import Circle, Drawing, Polygon
from designkit.figures.item_words import swap_words
from designkit.figures.sheet import Area, TitleBlock
from designkit.model import Home

if TYPE_CHECKING:
    from designkit.analyses.swaps import ThreeWaySwap

__all__ = ["SwapRow", "swap_rows", "swaps_answer", "swaps_figure"]

WAYS = ("By area", "By view", "By lit view")
Three = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class SwapRow:
    """One or two changes of finish, and the share that follows three ways."""

    words: str
    changes: int  # 1 or 2
    after: Three  # by area, view, lit view [0–1]
    move: float  # mean of the three moves [1]


def swap_rows(home: Home, found: Sequence[ThreeWaySwap]) -> list[SwapRow]:
    """Swaps in words, for the figure.

    Parameters
    ----------
    home : Home
        Gives things their names.
    found : sequence of ThreeWaySwap
        From `designkit.analyses.swaps.swaps_three_ways`.

    Returns
    -------
    list of SwapRow
        In the same order.
    """
    return [
        SwapRow(
            words=swap_words(home, s),
            changes=len(s.changes),
            after=(s.after.area, s.after.view, s.after.lit),
            move=s.moved.mean,
        )
        for s in found
    ]


def swaps_answer(now: Three, rows: Sequence[SwapRow], *, of: str = "black") -> str:
    """The largest single move, and the largest of two changes, in a sentence.

    Parameters
    ----------
    now : tuple of float
        The share by area, by view, by lit view. [0–1]
    rows : sequence of SwapRow
        In any order.
    of : str, optional
        The class whose share moves.

    Returns
    -------
    str
        With the three shares that follow.
    """
    text = f"Now {of} is {percent(now[0])} % by area, {percent(now[1])} % by view, "
    text += f"{percent(now[2])} % as lit"
    for count, name in ((1, "one change moves it most"), (2, "of two at once")):
        group = sorted((r for r in rows if r.changes == count), key=lambda r: -abs(r.move))
        if group:
            first = group[0]
            three = ", ".join(percent(v) for v in first.after)
            text += f"; {name}: {first.words} ({three} %)"
    return text + "." if rows else text + "; no other finish that there is would move it."


def swaps_figure(
    now: Three,
    rows: Sequence[SwapRow],
    *,
    of: str = "black",
    bands: tuple[tuple[float, float] | None, ...] = (None, None, None),
    under: str = "",
    note: str = "",
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "",
    answer: str = "",
    paper: str = "A4",
) -> Drawing:
    """Single and paired changes of finish, ranked by how far they move a share.

    Parameters
    ----------
    now : tuple of float
        The share by area, by view, by lit view. [0–1]
    rows : sequence of SwapRow
        In the order that they are shown within each group.
    of : str, optional
        The class whose share moves.
    bands : tuple, optional
        From and to for each way, None where none is assumed. [0–1]
    under : str, optional
        Where one looks from, and when.
    note : str, optional
        What the order means, for the foot.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The chart alone, for a page.
    question, answer : str
        Heading and the sentence under it; `swaps_answer` where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        There is no row, or a sheet has no title block.
    LookupFailed
        There is no such paper.
    """
    if not rows:
        raise InputError(
            "swaps", given="none", allowed="one or more", mend="add finishes that could be used"
        )
    question = question or f"Which other finish moves the share of {of} most?"
    answer = answer or swaps_answer(now, rows, of=of)
    text = " ".join(
        (
            answer,
            *(f"{r.words}: {', '.join(f'{percent(v)} %' for v in r.after)}." for r in rows),
            note,
        )
    )
    if page:
        made = _Rows(now, rows, of, bands, under, note, page=True, width=PAGE_WIDTH)
        high = made.needed(PAGE_WIDTH - 1.0)
        made.draw(whole_area(PAGE_WIDTH, high))
        return Drawing(
            width=PAGE_WIDTH, height=high, items=tuple(made.chart.items), title=question, text=text
        )
    sheet = open_sheet(block, question=question, answer=answer, paper=paper, scale="per cent")
    made = _Rows(now, rows, of, bands, under, note, page=False, width=sheet.width)
    made.draw(sheet.area)
    return sheet.drawing(made.chart.items, title=question, text=text)


class _Rows:
    """The rows and their three scales in the making."""

    def __init__(
        self,
        now: Three,
        rows: Sequence[SwapRow],
        of: str,
        bands: tuple[tuple[float, float] | None, ...],
        under: str,
        note: str,
        *,
        page: bool,
        width: float,
    ) -> None:
        self.now, self.of, self.bands, self.under, self.note = now, of, bands, under, note
        self.groups = [
            (name, [r for r in rows if r.changes == count])
            for count, name in ((1, "One change"), (2, "Two changes at once"))
        ]
        self.sizes = sizes_for(width=width, page=page)
        self.chart = Chart(self.sizes)

    def _words(self, width: float) -> float:
        return 0.40 * width

    def _lines(self, row: SwapRow, width: float) -> tuple[str, ...]:
        s = self.sizes
        return wrapped(row.words, size=s.name, width=self._words(width) - 5.0, most=2)

    def _pitch(self, row: SwapRow, width: float) -> float:
        return self.sizes.pitch(self.sizes.name) * len(self._lines(row, width)) + 2.6

    def _head(self) -> float:
        s = self.sizes
        return 2.4 + s.head + s.pitch(s.note) * 2 + 2.0

    def _foot(self, width: float) -> tuple[str, ...]:
        words = (
            f"Line: from the share now to the share that follows. Grey: the band, a studio's "
            f"judgement; none is assumed as lit. {self.note}"
        )
        return wrapped(words, size=self.sizes.note, width=width, most=3)

    def needed(self, width: float) -> float:
        s = self.sizes
        high = self._head()
        for _, group in self.groups:
            if group:
                high += s.pitch(s.name) + 2.4 + sum(self._pitch(r, width) for r in group)
        return high + s.pitch(s.note) * len(self._foot(width)) + 6.0

    def draw(self, area: Area) -> None:
        s, chart = self.sizes, self.chart
        words = self._words(area.width)
        gap = 7.0
        wide = (area.width - words - 2 * gap) / 3
        x = [area.left + words + n * (wide + gap) for n in range(3)]
        rows = [r for _, group in self.groups for r in group]
        number = lettering.advance("88.8 %", size=s.note, weight="semibold") + 2.0
        reach = max([*self.now, *(v for r in rows for v in r.after), 0.01])
        reach = max([reach, *(b[1] for b in self.bands if b)])
        k = (wide - number) / reach
        top = area.top - self._head()
        bottom = top - sum(
            s.pitch(s.name) + 2.4 + sum(self._pitch(r, area.width) for r in group)
            for _, group in self.groups
            if group
        )
        for n, title in enumerate(WAYS):
            band = self.bands[n]
            if band is not None:
                a, b = x[n] + k * band[0], x[n] + k * min(band[1], reach)
                ring = ((a, bottom), (b, bottom), (b, top + 1.0), (a, top + 1.0))
                chart.items.append(Polygon(outline=ring, fill=ink.GREY_5, about="band"))
            chart.line(x[n], area.top, x[n] + wide, area.top, 0.5)
            y = area.top - s.head - 2.4
            chart.text(x[n], y, title, s.head, bold=True)
            y -= s.pitch(s.note) + 0.4
            said = f"now {percent(self.now[n])}\u00a0%"
            chart.text(x[n], y, said, s.note, colour=ink.GREY_1)
            if n and self.under:
                y -= s.pitch(s.note)
                shown = lettering.shorten(self.under, size=s.note, width=wide)
                chart.text(x[n], y, shown, s.note, colour=ink.GREY_2)
            chart.line(x[n], bottom, x[n], top + 1.0, 0.25)
            at = x[n] + k * self.now[n]
            chart.line(at, bottom, at, top + 1.0, 0.25, dash=(1.2, 0.9))
        y = top
        for name, group in self.groups:
            if not group:
                continue
            y -= s.pitch(s.name) + 0.6
            chart.text(area.left, y, name, s.name, bold=True)
            y -= 1.8
            for row in group:
                y = self._row(row, area, y, x, k)
        y -= s.pitch(s.note) + 1.0
        for line in self._foot(area.width):
            chart.text(area.left, y, line, s.note, colour=ink.GREY_2)
            y -= s.pitch(s.note)

    def _row(self, row: SwapRow, area: Area, y: float, x: Sequence[float], k: float) -> float:
        s, chart = self.sizes, self.chart
        high = self._pitch(row, area.width)
        right = x[2] + (area.right - x[2])
        chart.line(area.left, y, right, y, 0.13, colour=ink.GREY_4)
        line = y - s.name - 1.6
        for words in self._lines(row, area.width):
            chart.text(area.left, line, words, s.name)
            line -= s.pitch(s.name)
        middle = y - high / 2
        for n, after in enumerate(row.after):
            a, b = x[n] + k * self.now[n], x[n] + k * after
            moved = abs(after - self.now[n]) >= 0.0005
            if moved:
                chart.line(a, middle, b, middle, 0.8)
            chart.items.append(
                Circle(
                    centre=(b, middle),
                    radius=1.0,
                    weight=0.25,
                    fill=ink.INK if moved else ink.PAPER,
                )
            )
            said = f"{percent(after)}\u00a0%"
            chart.text(
                max(a, b) + 1.8,
                middle - s.note / 2,
                said,
                s.note,
                bold=moved,
                colour=ink.INK if moved else ink.GREY_2,
            )
        return y - high
