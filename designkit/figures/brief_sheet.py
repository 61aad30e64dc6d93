"""The brief on a sheet that a client can sign: what is asked, how it stands, who decides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from designkit.analyses.of_asked import cap_words
from designkit.analyses.of_brief import BriefLine, brief_sentence
from designkit.days import day_words
from designkit.figures import ink, marks
from designkit.figures import type as lettering
from designkit.figures.chart import Chart, open_sheet, sizes_for, whole_area, wrapped
from designkit.figures.drawing import Drawing
from designkit.figures.sheet import Area, TitleBlock
from designkit.model import Home
from designkit.plan.case import short_name
from designkit.units import file_text

__all__ = ["brief_answer", "brief_sheets"]

_STATES = ("met", "not met", "measure first", "not asked")
_SIGN = 21.0  # height of the lines to sign on [mm]
_PAGE = 250.0


def brief_answer(home: Home, lines: Sequence[BriefLine]) -> str:
    """The brief in one sentence, and who decides.

    Parameters
    ----------
    home : Home
        With its brief.
    lines : sequence of BriefLine
        From `designkit.analyses.of_asked.asked`.

    Returns
    -------
    str
        One or two sentences.

    Examples
    --------
    >>> brief_answer(Home(name="flat"), [])
    'The brief asks for nothing that can be checked here. Nobody is named who decides.'
    """
    who = home.brief.decides
    words = f"Who decides: {who}" if who else "Nobody is named who decides"
    return f"{brief_sentence(lines)}. {words}."


def _person(home: Home, index: int) -> str:
    person = home.brief.people[index]
    parts = [person.role]
    if person.age is not None:
        parts.append(f"{person.age} years")
    if person.height is not None:
        parts.append(file_text(person.height, units=home.units))
    return ", ".join(parts)


def _facts(home: Home) -> list[tuple[str, bool]]:
    """The left column, line by line: its words, and whether it is a heading."""
    given = home.brief
    keeps = [short_name(home.pieces[id].name) if id in home.pieces else id for id in given.keeps]
    blocks: tuple[tuple[str, Sequence[str]], ...] = (
        ("Who lives here", [_person(home, k) for k in range(len(given.people))]),
        ("What happens here", given.activities),
        ("What stays", keeps),
        ("What is not wanted", given.dislikes),
        (
            "Money and day",
            [
                cap_words(home) or "no cap said",
                f"ready on {day_words(given.date)}" if given.date else "no day said",
            ],
        ),
    )
    found: list[tuple[str, bool]] = []
    for words, lines in blocks:
        found += [(words, True), *((line, False) for line in lines or ["not said"])]
    return found


class _Page:
    """One sheet while it is drawn."""

    def __init__(self, area: Area, width: float, *, page: bool, layout: str) -> None:
        self.area = area
        self.against = f"layout: {layout}" if layout else "no layout is drawn yet"
        self.chart = Chart(sizes_for(width=width, page=page))
        gap = 12.0
        self.left = 0.31 * (area.width - gap)
        self.x = area.left + self.left + gap
        self.right = area.width - self.left - gap

    def heading(self, x: float, y: float, width: float, words: str, note: str = "") -> float:
        chart, sizes = self.chart, self.chart.sizes
        chart.text(x, y, words, sizes.head, bold=True)
        if note:
            room = width - lettering.advance(words, size=sizes.head, weight="semibold") - 6.0
            note = lettering.shorten(note, size=sizes.note, width=room)
            chart.text(x + width, y, note, sizes.note, colour=ink.GREY_2, anchor="end")
        chart.line(x, y - 2.6, x + width, y - 2.6, 0.25)
        return y - 2.6 - sizes.pitch(sizes.name) - 0.6

    def facts(self, facts: Sequence[tuple[str, bool]], *, low: float) -> int:
        """Draw as many lines of the left column as there is room for; how many were drawn."""
        chart, sizes = self.chart, self.chart.sizes
        y = self.area.top - sizes.head
        pitch = sizes.pitch(sizes.name)
        done = 0
        for words, head in facts:
            lines = wrapped(words, size=sizes.name, width=self.left)
            before = 2.6 if head and done else 0.0
            need = before + pitch * (len(lines) - 1 + (1 if head else 0))  # no heading alone
            if y - need < low and done:
                break
            y -= before
            if head:
                chart.text(self.area.left, y, words, sizes.note, colour=ink.GREY_2)
                y -= pitch
            else:
                y = chart.lines(self.area.left, y, self.left, words, sizes.name)
            done += 1
        return done

    def rows(self, lines: Sequence[BriefLine], *, low: float) -> int:
        """Draw as many as there is room for; how many were drawn."""
        if not lines:
            return 0
        chart, sizes = self.chart, self.chart.sizes
        top = self.area.top - sizes.head
        y = self.heading(self.x, top, self.right, "What is asked for", self.against)
        state_at = max(lettering.advance(s, size=sizes.name, weight="semibold") for s in _STATES)
        room = self.right - 7.0 - state_at - 10.0
        wish, found = 0.6 * room, 0.4 * room
        pitch = sizes.pitch(sizes.name)
        for done, line in enumerate(lines):
            silent = line.state == "not asked"
            said = line.measured or (line.why if line.state == "measure first" else "")
            texts = wrapped(line.text, size=sizes.name, width=wish, most=3)
            notes = wrapped(said, size=sizes.name, width=found, most=3)
            tall = max(len(texts), len(notes), 1)
            if y - (tall - 1) * pitch < low and done:
                return done
            side = sizes.name * 1.15
            box = marks.square((self.x, y), filled=line.state == "met", size=side)
            if silent:
                box = replace(box, ink=ink.GREY_3, dash=(0.5, 0.5))
            elif line.state == "measure first":
                box = replace(box, dash=(0.9, 0.6))
            chart.items.append(box)
            grey = ink.GREY_2 if silent else ink.INK
            for k, text in enumerate(texts):
                chart.text(
                    self.x + 7.0, y - k * pitch, text, sizes.name, colour=grey, about=line.id
                )
            at = self.x + 7.0 + wish + 5.0
            for k, text in enumerate(notes):
                chart.text(at, y - k * pitch, text, sizes.name, colour=ink.GREY_1, about=line.id)
            chart.text(
                self.x + self.right,
                y,
                line.state,
                sizes.name,
                bold=line.state == "not met",
                italic=line.state == "measure first",
                colour=grey,
                anchor="end",
                about=line.id,
            )
            y -= (tall - 1) * pitch
            chart.line(self.x, y - 1.9, self.x + self.right, y - 1.9, 0.09, colour=ink.GREY_4)
            y -= pitch + 2.0
        return len(lines)

    def sign(self, home: Home, *, y: float) -> None:
        """Two lines to sign on."""
        chart, sizes = self.chart, self.chart.sizes
        gap = 12.0
        width = (self.area.width - gap) / 2
        decides = home.brief.decides.split(",")[0].strip()
        who = decides or home.brief.client or "the client"
        for x, words in (
            (self.area.left, f"Asked for, and read: {who}"),
            (self.area.left + width + gap, "Taken down: the designer"),
        ):
            day = 0.3 * width
            chart.line(x, y, x + width - day - 4.0, y, 0.25)
            chart.line(x + width - day, y, x + width, y, 0.25)
            chart.text(x, y - 4.2, words, sizes.note, colour=ink.GREY_2)
            chart.text(x + width - day, y - 4.2, "day", sizes.note, colour=ink.GREY_2)


def brief_sheets(
    home: Home,
    lines: Sequence[BriefLine],
    *,
    block: TitleBlock | None = None,
    layout: str = "",
    paper: str = "A4",
    page: bool = False,
) -> tuple[Drawing, ...]:
    """The brief with each wish met, not met or not asked, and lines to sign on.

    Parameters
    ----------
    home : Home
        With its brief.
    lines : sequence of BriefLine
        From `designkit.analyses.of_asked.asked`.
    block : TitleBlock, optional
        What the foot says; needed unless `page`.
    layout : str, optional
        Name of the layout that the wishes are held against.
    paper : str, optional
        A key of `sheet.PAPERS`.
    page : bool, optional
        One drawing without foot and lines to sign on, for a study page.

    Returns
    -------
    tuple of Drawing
        One a sheet; wishes that find no room stand on the next. The client is
        the audience: no price of a line and no supplier is on it.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.

    Examples
    --------
    >>> sheets = brief_sheets(Home(name="flat"), [], page=True)
    >>> len(sheets), sheets[0].width
    (1, 250.0)
    """
    question = "What is asked for, and is it met?"
    answer = brief_answer(home, lines)
    text = f"{answer} " + "; ".join(
        f"{line.state}: {line.text}" + (f" ({line.measured})" if line.measured else "")
        for line in lines
    )
    if page:
        height = 40.0
        while True:  # as high as it needs to be
            drawn = _Page(whole_area(_PAGE, height), _PAGE, page=True, layout=layout)
            facts = drawn.facts(_facts(home), low=1.5) == len(_facts(home))
            if drawn.rows(lines, low=1.5) == len(lines) and facts:
                break
            height += 8.0
        return (
            Drawing(
                width=_PAGE, height=height, items=tuple(drawn.chart.items), title=question,
                text=text,
            ),
        )  # fmt: skip
    many = len(_sheets(home, lines, block, question, answer, layout, paper, text, many=0))
    return _sheets(home, lines, block, question, answer, layout, paper, text, many=many)


def _sheets(
    home: Home,
    lines: Sequence[BriefLine],
    block: TitleBlock | None,
    question: str,
    answer: str,
    layout: str,
    paper: str,
    text: str,
    *,
    many: int,
) -> tuple[Drawing, ...]:
    """The sheets; their number is known after they were laid out once."""
    left = list(lines)
    facts = _facts(home)
    sheets: list[Drawing] = []
    while left or facts or not sheets:
        number = len(sheets) + 1
        if block is not None and many > 1:
            block = replace(block, sheet=number, sheets=many)
        sheet = open_sheet(
            block,
            question=question,
            answer=answer,
            paper=paper,
            scale="",
            note="" if number == 1 else "continued",
        )
        drawn = _Page(sheet.area, sheet.width, page=False, layout=layout)
        low = sheet.area.bottom + _SIGN
        facts = facts[drawn.facts(facts, low=low) :]
        left = left[drawn.rows(left, low=low) :]
        if not left and not facts:
            drawn.sign(home, y=sheet.area.bottom + 8.0)
        sheets.append(sheet.drawing(drawn.chart.items, title=question, text=text))
    return tuple(sheets)
