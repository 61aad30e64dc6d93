"""What meets what: finishes light to dark on a stair, each pair where its two lines cross.

A swatch stands on each step. Left of it lie the finishes that are lighter, below
it those that are darker: only pairs that touch, or of which one is seen in front
of the other, have a cell. It shows the two edge to edge with ΔL*, then LRV apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import (
    PAGE_WIDTH,
    Chart,
    open_sheet,
    sizes_for,
    whole_area,
    wrapped,
)
from designkit.figures.drawing import Drawing
from designkit.figures.pages import field, rim
from designkit.figures.sheet import Area, TitleBlock
from designkit.palette.contrast import Edge, EdgeLimits
from designkit.palette.finishes import FinishValue, find

__all__ = ["meetings_answer", "meetings_figure", "pairs_of"]

CLASH = ("clash", "clash, within the ±")
NAMES = 52.0  # room for the name right of the last step [mm]
STEP = 9.6  # height of a step [mm]
WIDEST = 21.0  # of a step [mm]
PATCH = 3.6  # height of the two patches [mm]
LEAST = 0.1  # a shorter edge that is only seen in front is left out [m]


def pairs_of(edges: Sequence[Edge], *, least: float = LEAST) -> dict[tuple[str, str], Edge]:
    """Each pair of finishes once; what touches stands for what is only in front.

    Parameters
    ----------
    edges : sequence of Edge
        From `designkit.palette.contrast.edges`.
    least : float, optional
        Shorter edges that are only seen in front are left out. [m]

    Returns
    -------
    dict of (str, str) to Edge
        The longest edge of each pair, strongest first.
    """
    best: dict[tuple[str, str], Edge] = {}
    for edge in edges:
        m = edge.meeting
        if m.finish_a == m.finish_b or (m.how == "in front" and m.length < least):
            continue
        key = (min(m.finish_a, m.finish_b), max(m.finish_a, m.finish_b))
        old = best.get(key)
        if old is None or (m.how == "touch", m.length) > (
            old.meeting.how == "touch",
            old.meeting.length,
        ):
            best[key] = edge
    return dict(sorted(best.items(), key=lambda row: (-round(row[1].contrast.farthest, 6), row[0])))


def meetings_answer(
    edges: Sequence[Edge],
    *,
    finishes: Mapping[str, FinishValue],
    quarrel: Mapping[frozenset[str], str] | None = None,
) -> str:
    """What the meetings say, in a sentence or two.

    Parameters
    ----------
    edges : sequence of Edge
        From `designkit.palette.contrast.edges`.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    quarrel : mapping of frozenset of str to str, optional
        Pair of finishes to what `designkit.palette.undertones.clash` says.

    Returns
    -------
    str
        How many pairs, the strongest edge, what reads as one, undertones.
    """
    pairs = pairs_of(edges)
    if not pairs:
        return "Nothing is known of what meets what."
    found = list(pairs.values())
    strong = [e for e in found if e.called == "strong edge"]
    one = [e for e in found if e.called == "reads as one"]
    unsure = sum(not e.sure for e in found)

    def names(edge: Edge) -> str:
        m = edge.meeting
        return f"{finishes[m.finish_a].name} against {finishes[m.finish_b].name}"

    text = f"{len(found)} pairs of finishes meet; {len(strong)} make a strong edge"
    text += f", most of all {names(found[0])}" if strong else ""
    text += f"; {len(one)} read as one" + (f", {names(one[-1])} most" if one else "") + "."
    if unsure:
        text += f" {unsure} may be called otherwise within their ±."
    said = list((quarrel or {}).values())
    bad, may = said.count("clash"), said.count("clash, within the ±")
    unknown = said.count("not known")
    if bad or may:
        text += f" Undertones clash in {bad} pairs" + (f", may clash in {may}" if may else "") + "."
    elif said:
        text += " No undertones are known to clash"
        text += f"; of {unknown} pairs it is not known." if unknown else "."
    return text


def meetings_figure(
    edges: Sequence[Edge],
    *,
    finishes: Mapping[str, FinishValue],
    quarrel: Mapping[frozenset[str], str] | None = None,
    limits: EdgeLimits | None = None,
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "What meets what, and how far apart are they?",
    answer: str = "",
    paper: str = "A3",
    most: int | None = None,
) -> Drawing:
    """The contrast of finishes that touch or stand in front of each other.

    Parameters
    ----------
    edges : sequence of Edge
        From `designkit.palette.contrast.edges`.
    finishes : mapping of str to FinishValue
        From `resolve_all`.
    quarrel : mapping of frozenset of str to str, optional
        Pair of finishes to what `designkit.palette.undertones.clash` says.
    limits : EdgeLimits, optional
        What is a strong edge and what reads as one.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The chart alone, for a page.
    question, answer : str
        Heading and the sentence under it; `meetings_answer` where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.
    most : int, optional
        Most finishes, those with the longest edges; as many as there is room for.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        Nothing meets, or a sheet has no title block.
    LookupFailed
        A finish or a paper is not there.
    """
    pairs = pairs_of(edges)
    if not pairs:
        raise InputError(
            "edges",
            given="none between two finishes",
            allowed="one or more",
            mend="place pieces, and give walls, floor and pieces a finish",
        )
    for pair in pairs:
        for id in pair:
            find(finishes, id)
    at = limits or EdgeLimits.of()
    answer = answer or meetings_answer(edges, finishes=finishes, quarrel=quarrel)
    if page:
        made = _Stair(pairs, finishes, quarrel or {}, at, page=True, width=PAGE_WIDTH, most=most)
        high = made.needed(PAGE_WIDTH - 1.0)
        made.draw(whole_area(PAGE_WIDTH, high))
        return Drawing(
            width=PAGE_WIDTH,
            height=high,
            items=tuple(made.chart.items),
            title=question,
            text=made.alternative(answer),
        )
    sheet = open_sheet(block, question=question, answer=answer, paper=paper, scale="L* and LRV")
    room = sheet.area.top - sheet.area.bottom
    made = _Stair(pairs, finishes, quarrel or {}, at, page=False, width=sheet.width, most=most)
    made.fit(sheet.area.width, room)
    made.draw(sheet.area)
    return sheet.drawing(made.chart.items, title=question, text=made.alternative(answer))


class _Stair:
    """The stair of swatches in the making."""

    def __init__(
        self,
        pairs: Mapping[tuple[str, str], Edge],
        finishes: Mapping[str, FinishValue],
        quarrel: Mapping[frozenset[str], str],
        limits: EdgeLimits,
        *,
        page: bool,
        width: float,
        most: int | None,
    ) -> None:
        self.every, self.finishes, self.quarrel, self.limits = pairs, finishes, quarrel, limits
        self.sizes = sizes_for(width=width, page=page)
        self.chart = Chart(self.sizes)
        s = self.sizes
        cell = lettering.advance("88", size=s.note, weight="semibold") + 1.2
        self.least = cell + lettering.advance("88", size=s.note) + 3.4
        room = int((width - NAMES - 2.0) // self.least)
        self.order = self._longest(min(room, most or room))

    def _longest(self, most: int) -> list[str]:
        """Finishes with the longest edges, light to dark."""
        lengths: dict[str, float] = {}
        for pair, edge in self.every.items():
            for id in pair:
                lengths[id] = lengths.get(id, 0.0) + edge.meeting.length
        kept = sorted(lengths, key=lambda id: (-round(lengths[id], 6), id))[:most]
        return sorted(kept, key=lambda id: (-round(self.finishes[id].lightness, 6), id))

    def fit(self, width: float, height: float) -> None:
        """Take fewer finishes where the sheet is not high enough."""
        least = PATCH + self.sizes.note + 3.0
        room = int((height - self._foot(width)) // least)
        self.order = self._longest(min(len(self.order), max(2, room)))

    def _words(self) -> str:
        at = self.limits
        shown = {frozenset(p) for p in self.every if p[0] in self.order and p[1] in self.order}
        text = (
            "Each cell: the two edge to edge, ΔL* bold, LRV apart in grey. Underlined: a strong "
            f"edge, ΔL* {at.strong:g} or more; dotted: reads as one, {at.one:g} or less (our "
            f"assumptions); ±: may be called otherwise within the ±. For what people must find, "
            f"LRV {at.adequate:g} apart or more is adequate (BS 8300-2 Annex B). Italic: they do "
            "not touch, one is seen in front of the other."
        )
        if any(self.quarrel.get(p, "") in CLASH for p in shown):
            text += " ≠: their undertones clash, ≠ ± within the ± (author's judgement)."
        left = len(self.every) - len(shown)
        return text + (f" {left} more pairs are not shown." if left else "")

    def _foot(self, width: float) -> float:
        s = self.sizes
        return s.pitch(s.note) * len(wrapped(self._words(), size=s.note, width=width)) + 3.0

    def needed(self, width: float) -> float:
        return STEP * len(self.order) + self._foot(width) + 3.0

    def draw(self, area: Area) -> None:
        s, chart = self.sizes, self.chart
        count = len(self.order)
        wide = min(WIDEST, (area.width - NAMES) / count)
        foot = self._foot(area.width)
        step = min(STEP * 1.5, (area.top - area.bottom - foot) / count)
        for row, id in enumerate(self.order):
            x, top = area.left + row * wide, area.top - row * step
            self._swatch(id, x, top - step + 0.9, wide - 1.6, step - 1.8)
            name = self.finishes[id].name
            words = lettering.shorten(
                f"{name}, L* {self.finishes[id].lightness:.0f}",
                size=s.name,
                width=area.right - x - wide - 0.5,
                weight="semibold",
            )
            chart.text(
                x + wide + 0.4, top - step / 2 - s.name / 2, words, s.name, bold=True, about=id
            )
            for column, other in enumerate(self.order[:row]):
                edge = self.every.get((min(id, other), max(id, other)))
                if edge is not None:
                    self._cell(other, id, edge, area.left + column * wide, top, wide, step)
            if row + 1 < count:
                y = top - step
                chart.line(area.left, y, x + wide, y, 0.13, colour=ink.GREY_4)
        y = area.top - step * count - s.pitch(s.note)
        for line in wrapped(self._words(), size=s.note, width=area.width):
            chart.text(area.left, y, line, s.note, colour=ink.GREY_1)
            y -= s.pitch(s.note)

    def _swatch(self, id: str, x: float, y: float, wide: float, high: float) -> None:
        left = x
        for colour in self.finishes[id].colours:
            part = wide * colour.share
            field(self.chart, left, y, part, high, fill=colour.hex, about=id)
            left += part
        rim(self.chart, x, y, wide, high, weight=0.13)

    def _cell(
        self, a: str, b: str, edge: Edge, x: float, top: float, wide: float, step: float
    ) -> None:
        s, chart = self.sizes, self.chart
        free = step - 1.4 - s.note - 1.9
        high = max(1.2, min(PATCH * 1.5, free))
        half = (wide - 2.4) / 2
        y = top - 0.7 - high
        for n, id in enumerate((a, b)):
            left = x + n * half
            for colour in self.finishes[id].colours:
                field(chart, left, y, half * colour.share, high, fill=colour.hex, about=id)
                left += half * colour.share
        rim(chart, x, y, 2 * half, high, weight=0.13)
        base = y - 0.9 - s.note
        apart = f"{edge.contrast.farthest:.0f}"
        front = edge.meeting.how == "in front"
        chart.text(x, base, apart, s.note, bold=not front, italic=front)
        weight = "regular" if front else "semibold"
        long = lettering.advance(apart, size=s.note, weight=weight)
        if edge.called != "soft edge":
            dash = () if edge.called == "strong edge" else (0.6, 0.6)
            chart.line(x, base - 0.7, x + long, base - 0.7, 0.3, dash=dash)
        at = x + long + 0.5
        if not edge.sure:
            chart.text(at, base, "±", s.note)
            at += lettering.advance("±", size=s.note) + 0.3
        lrv = f"{edge.contrast.lrv:.0f}"
        at += 0.7
        chart.text(at, base, lrv, s.note, colour=ink.GREY_2, italic=front)
        said = self.quarrel.get(frozenset((a, b)), "")
        if said in CLASH:
            at += lettering.advance(lrv, size=s.note) + 0.6
            chart.text(at, base, "≠" if said == "clash" else "≠±", s.note, bold=True)

    def alternative(self, answer: str) -> str:
        met = []
        for (a, b), edge in self.every.items():
            how = "touch" if edge.meeting.how == "touch" else "one in front of the other"
            sure = "" if edge.sure else ", within the ±"
            said = self.quarrel.get(frozenset((a, b)), "")
            tone = f", undertones: {said}" if said in CLASH else ""
            met.append(
                f"{self.finishes[a].name} and {self.finishes[b].name}, {how}: "
                f"ΔL* {edge.contrast.farthest:.0f}, LRV {edge.contrast.lrv:.0f} apart, "
                f"{edge.called}{sure}{tone}."
            )
        return " ".join((answer, *met))
